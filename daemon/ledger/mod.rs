//! The store in `kept/`: everything ever seen, findings and their lives, the rules last accepted, the outbox.
//!
//! One round is one transaction: it is kept as a whole or not at all, whatever happens to the PC meanwhile.

mod accepted;
mod body;
mod copies;
#[cfg(test)]
mod copies_tests;
mod corrections;
#[cfg(test)]
mod corrections_tests;
mod damage;
#[cfg(test)]
mod damage_tests;
mod export;
mod failure;
mod findings;
mod layout;
mod letters;
#[cfg(test)]
mod letters_tests;
mod network;
mod opening;
#[cfg(test)]
mod opening_tests;
mod places;
mod records;
mod retention;
mod spare;
#[cfg(test)]
mod tests;
mod words;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use rusqlite::{Connection, TransactionBehavior};

use crate::findings::{KeptFinding, Lives};
use crate::units::Days;
use crate::yard::Records;
pub use damage::{Mishap, mishaps};
pub use export::{ExportTable, export_files};
pub use failure::LedgerFailure;
use failure::Trouble;
pub use letters::{Edition, LetterState, LetterWords, OutboxLetter, domain_of};
pub use retention::Forgotten;

/// The name of a ledger that is no file.
const IN_MEMORY: &str = ":memory:";

/// The embedded store.
#[derive(Debug)]
pub struct Ledger {
    connection: Connection,
    path: PathBuf,
    keeps: bool,
}

/// What one round leaves behind.
#[derive(Debug)]
pub struct Round<'a> {
    /// The day of the round.
    pub today: Date,
    /// What today's sheets say.
    pub records: &'a Records,
    /// Where the findings are in their lives.
    pub lives: &'a Lives,
    /// The sources of the rules in force, by name; what is not here is not accepted any more.
    pub rules: &'a BTreeMap<String, String>,
    /// The letter that tells of it, if one is to be sent.
    pub letter: Option<&'a OutboxLetter>,
}

impl Ledger {
    /// Opens the ledger to read and to keep; a missing or empty file is begun anew, with its folder.
    pub fn open(path: &Path) -> Result<Ledger, LedgerFailure> {
        Ledger::opened(path, true, opening::to_keep(path, opening::PATIENCE))
    }

    /// Opens the ledger to read only: it answers what is kept, and keeps nothing whatever it is handed.
    ///
    /// So a dry run works, and a round whose ledger cannot be written. Where there is none yet, nothing is kept.
    pub fn open_read_only(path: &Path) -> Result<Ledger, LedgerFailure> {
        Ledger::opened(path, false, opening::to_read(path, opening::PATIENCE))
    }

    /// A ledger that knows nothing and forgets all at the end, for a round that can use no other.
    pub fn in_memory() -> Result<Ledger, LedgerFailure> {
        Ledger::opened(Path::new(IN_MEMORY), true, opening::in_memory())
    }

    /// Whether what is kept here is still there after the round: not so in memory.
    pub fn outlives_the_round(&self) -> bool {
        self.path != Path::new(IN_MEMORY)
    }

    fn opened(
        path: &Path,
        keeps: bool,
        opened: Result<Connection, Trouble>,
    ) -> Result<Ledger, LedgerFailure> {
        let connection = opened.map_err(|trouble| trouble.of(path))?;
        Ok(Ledger { connection, path: path.to_owned(), keeps })
    }

    /// The kept records that today's sheets do not say themselves, with the cells they stood in when last seen.
    ///
    /// Today's records and these together are everything ever seen, but for slips: a kept record is left out when in
    /// its row stands one that the ledger did not know and that differs in one thing. Rows about the machine itself
    /// are not kept.
    pub fn kept_records(&self, beyond: &Records) -> Result<Records, LedgerFailure> {
        records::beyond(&self.connection, beyond).map_err(|trouble| trouble.of(&self.path))
    }

    /// Every finding that was ever raised, as the last round that spoke of it left it.
    pub fn kept_findings(&self) -> Result<Vec<KeptFinding>, LedgerFailure> {
        findings::kept(&self.connection).map_err(|trouble| trouble.of(&self.path))
    }

    /// The sources of the rules as they were last accepted, by name, with those that an earlier round of today found
    /// gone.
    pub fn accepted_rules(&self, today: Date) -> Result<BTreeMap<String, String>, LedgerFailure> {
        accepted::kept(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The edition that a letter with these words is or would be.
    ///
    /// It is the day's last one where that says the same already, so that telling again has the same Message-ID;
    /// else one more. The Message-ID ends in the domain of the sender's address.
    pub fn edition(&self, day: Date, words: &LetterWords, sender: &str) -> Result<Edition, LedgerFailure> {
        letters::edition_of(&self.connection, day, words, sender).map_err(|trouble| trouble.of(&self.path))
    }

    /// The last letter of a day, however far it has come; `None` when the day has none.
    pub fn letter_of(&self, day: Date) -> Result<Option<OutboxLetter>, LedgerFailure> {
        letters::last_of(&self.connection, day).map_err(|trouble| trouble.of(&self.path))
    }

    /// The last day before today whose letter was delivered; `None` when none was.
    pub fn last_told_before(&self, today: Date) -> Result<Option<Date>, LedgerFailure> {
        letters::last_told_before(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The letters that wait to be delivered, oldest first.
    pub fn outbox(&self) -> Result<Vec<OutboxLetter>, LedgerFailure> {
        letters::waiting(&self.connection).map_err(|trouble| trouble.of(&self.path))
    }

    /// Keeps a round, as a whole or not at all. Keeping the same round of a day again changes nothing.
    pub fn keep(&mut self, round: &Round<'_>) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        let mut keep = || keep_all(&mut self.connection, round).map_err(|trouble| trouble.of(&self.path));
        match keep() {
            Err(LedgerFailure::DiskFull { .. }) if spare::give_up(&self.path) => keep(),
            kept => kept,
        }
    }

    /// Puts a letter back that a lost ledger had delivered, so that it is not told again; one whose edition or Message-ID
    /// is known already stays as it is.
    pub fn put_back(&mut self, letter: &OutboxLetter) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        letters::put_back(&self.connection, letter).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whether the day's copy is still to be made; never of a ledger that keeps nothing, or only in memory.
    pub fn wants_copy(&self, today: Date) -> bool {
        self.keeps && self.outlives_the_round() && !copies::is_made(&self.path, today)
    }

    /// Makes the day's copy in `copies/` beside the ledger, and removes those older than a fortnight.
    pub fn make_copy(&self, today: Date) -> Result<(), LedgerFailure> {
        copies::make_nightly(&self.connection, &self.path, today)
    }

    /// Sets room aside beside the ledger, unless it is there, to be given up when the disk is full and a round must still
    /// be kept.
    pub fn set_room_aside(&self) -> Result<(), LedgerFailure> {
        if !self.keeps || !self.outlives_the_round() {
            return Ok(());
        }
        spare::set_aside(&self.path)
            .map_err(|cause| LedgerFailure::NoSpareRoom { path: self.path.clone(), why: cause.to_string() })
    }

    /// The kind of network disk that the ledger lies on, such as `cifs`, where its last rounds may be lost; `None` for a
    /// disk of this machine, and where it cannot be told.
    pub fn network_disk(&self) -> Option<String> {
        self.path.parent().and_then(network::network_disk)
    }

    /// Forgets what is personal of machines that no sheet has named for so many days, and the words of letters older
    /// than that or than 400 days. What is forgotten leaves the ledger's copies as they have had their time.
    pub fn forget(&mut self, today: Date, unseen: Days) -> Result<Forgotten, LedgerFailure> {
        if !self.keeps {
            return Ok(Forgotten::default());
        }
        if let Some(since) = unseen.before(today).filter(|_| self.outlives_the_round()) {
            damage::forget_before(&self.path, since);
        }
        retention::forget(&mut self.connection, today, unseen).map_err(|trouble| trouble.of(&self.path))
    }

    /// Everything that is kept, as tables for a spreadsheet program.
    pub fn export(&self) -> Result<Vec<ExportTable>, LedgerFailure> {
        export::export(&self.connection).map_err(|trouble| trouble.of(&self.path))
    }

    /// The day of the last round before today that no copy holds: since then none could be made. `None` when all is
    /// copied.
    pub fn uncopied_since(&self, today: Date) -> Result<Option<Date>, LedgerFailure> {
        copies::uncopied_since(&self.connection, &self.path, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// Notes that a letter was delivered, so that it waits no more.
    pub fn mark_delivered(&mut self, edition: &Edition) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        letters::delivered(&self.connection, edition).map_err(|trouble| trouble.of(&self.path))
    }
}

fn keep_all(connection: &mut Connection, round: &Round<'_>) -> Result<(), Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    records::keep(&change, round.records, round.today)?;
    findings::keep(&change, round.lives, round.today)?;
    retention::note_names(&change, round.records, round.today)?;
    accepted::keep(&change, round.rules, round.today)?;
    if let Some(letter) = round.letter {
        letters::keep(&change, letter)?;
    }
    change.commit()?;
    Ok(())
}
