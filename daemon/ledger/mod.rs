//! The store in `kept/`: everything ever seen, findings and their lives, the rules last accepted, the outbox.
//!
//! One round is one transaction: it is kept as a whole or not at all, whatever happens to the PC meanwhile.

mod accepted;
mod ahead;
#[cfg(test)]
mod ahead_tests;
mod body;
mod care;
mod completed;
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
#[cfg(test)]
mod layout_tests;
mod letter_rules;
#[cfg(test)]
mod letter_rules_tests;
mod letters;
#[cfg(test)]
mod letters_tests;
mod mails;
#[cfg(test)]
mod mails_tests;
mod network;
mod next_try;
mod opening;
#[cfg(test)]
mod opening_tests;
mod pending;
mod places;
mod read_otherwise;
mod records;
mod records_by_day;
mod retention;
mod spare;
mod stand_in;
#[cfg(test)]
mod stand_in_tests;
#[cfg(test)]
mod tests;
mod told;
#[cfg(test)]
mod told_tests;
mod witnesses;
mod words;

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use jiff::civil::Date;
use rusqlite::{Connection, TransactionBehavior};

use crate::findings::{FindingId, KeptFinding, Lives};
use crate::origin::Origin;
use crate::yard::{MachineId, Records, Witness};
pub use damage::{Mishap, mishaps};
pub use export::{EXPORT_PAGE, ExportTable, export_files};
pub use failure::LedgerFailure;
use failure::Trouble;
pub use letters::{Edition, LetterKind, LetterState, LetterWords, OutboxLetter, domain_of};
pub use mails::{DueMail, DueReceiver, MailFate, MailState, MailTrouble, MailVerdict, OutboxMail};
use pending::Pending;
pub use pending::{SeenLast, Unsaid};
use read_otherwise::Otherwise;
pub use read_otherwise::{Misnamed, ReadAnew, TakenBack};
pub use records::{Content, contents};
pub use records_by_day::RecordsByDay;
pub use retention::{Forgotten, LETTER_DAYS};
pub use stand_in::{UnkeptLetter, is_unsent};
pub use told::TellsOf;

/// The name of a ledger that is no file.
const IN_MEMORY: &str = ":memory:";

/// The embedded store.
#[derive(Debug)]
pub struct Ledger {
    connection: Connection,
    path: PathBuf,
    keeps: bool,
    /// What was read otherwise than it is now, and goes with the next round that is kept.
    otherwise: Otherwise,
    /// What is known of today's sheets, and is noted with the next round that is kept.
    pending: Pending,
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
    pub letter: Option<Posting<'a>>,
}

/// A letter that is handed to the ledger to be sent.
#[derive(Debug, Clone, Copy)]
pub struct Posting<'a> {
    /// The letter.
    pub letter: &'a OutboxLetter,
    /// Its mails; none where it only goes to the folder.
    pub mails: &'a [OutboxMail],
    /// What it tells of.
    pub tells: TellsOf<'a>,
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

    /// Whether what is kept here is still there after the round: not so in memory, or where nothing is kept at all.
    pub fn outlives_the_round(&self) -> bool {
        self.keeps && self.path != Path::new(IN_MEMORY)
    }

    fn opened(
        path: &Path,
        keeps: bool,
        opened: Result<Connection, Trouble>,
    ) -> Result<Ledger, LedgerFailure> {
        let connection = opened.map_err(|trouble| trouble.of(path))?;
        Ok(Ledger {
            connection,
            path: path.to_owned(),
            keeps,
            otherwise: Otherwise::default(),
            pending: Pending::default(),
        })
    }

    /// The kept records that today's sheets do not say themselves, with the cells they stood in when last seen.
    ///
    /// Today's records and these together are everything ever seen, but for slips: a kept record is left out when in
    /// its row stands one that the ledger did not know and that differs in one thing. Rows about the machine itself
    /// are not kept.
    pub fn kept_records(&self, beyond: &Records) -> Result<Records, LedgerFailure> {
        Ok(self.kept_and_withdrawn(beyond)?.0)
    }

    /// The same, and beside it what sheets have taken back of what they said: it settles nothing any more, and what it
    /// had raised stands.
    pub fn kept_and_withdrawn(&self, beyond: &Records) -> Result<(Records, Records), LedgerFailure> {
        records::beyond(&self.connection, beyond, &self.otherwise, &self.pending.withdrawing)
            .map_err(|trouble| trouble.of(&self.path))
    }

    /// Today's records, each with what its row said when its sheet was read last and says no more since a column is gone
    /// or empty: so one ride stays one. `said_no` are the cells in which it is said in words that a check is not done.
    pub fn completed(&self, current: &Records, said_no: &HashSet<Origin>) -> Result<Records, LedgerFailure> {
        completed::completed(&self.connection, current, said_no, &self.pending.withdrawing)
            .map_err(|trouble| trouble.of(&self.path))
    }

    /// Has these count no more that sheets have taken back: from here on, and for good with the next round that is kept.
    /// Gives those of them that the ledger has, and whether it is noted already.
    pub fn withdraw(
        &mut self,
        contents: impl Iterator<Item = Content>,
    ) -> Result<HashMap<Content, bool>, LedgerFailure> {
        let known = records::known(&self.connection).map_err(|trouble| trouble.of(&self.path))?;
        let withdrawn: HashMap<Content, bool> =
            contents.filter_map(|content| Some((content, known.get(&content)?.is_withdrawn))).collect();
        self.pending.withdrawing.extend(withdrawn.keys());
        Ok(withdrawn)
    }

    /// What sheets said once, counts still, and is not said today; beside it what is known of what they say today.
    pub fn unsaid(&self, current: &Records) -> Result<(Vec<Unsaid>, SeenLast), LedgerFailure> {
        let found = pending::unsaid(&self.connection, current).map_err(|trouble| trouble.of(&self.path));
        let (mut unsaid, seen) = found?;
        let Otherwise { wrong, renamed, .. } = &self.otherwise;
        unsaid.retain(|one| !wrong.contains(&one.content) && !renamed.contains_key(&one.content));
        Ok((unsaid, seen))
    }

    /// Notes with the next round that is kept that sheets need not say these any more.
    pub fn let_go(&mut self, contents: impl IntoIterator<Item = Content>) {
        self.pending.letting_go.extend(contents);
    }

    /// Notes with the next round that is kept by which columns these are told.
    pub fn note_witnesses(&mut self, witnesses: impl IntoIterator<Item = (Content, Arc<Witness>)>) {
        self.pending.witnesses.extend(witnesses);
    }

    /// Takes back what sheets gave only because they were read otherwise than they are now: from here on it does not
    /// count, or counts for the machine that its row names, and the next round that is kept writes it so.
    pub fn take_back(&mut self, sheets: &[ReadAnew]) -> Result<Vec<TakenBack>, LedgerFailure> {
        let found = read_otherwise::find(&self.connection, sheets).map_err(|trouble| trouble.of(&self.path));
        let (otherwise, taken_back) = found?;
        self.otherwise = otherwise;
        Ok(taken_back)
    }

    /// Whether what was taken back is still to be removed.
    pub fn is_taking_back(&self) -> bool {
        !self.otherwise.wrong.is_empty() || !self.otherwise.misnamed.is_empty()
    }

    /// The names that sheets gave machines before and do not give in these records, each in the form of a machine's
    /// lasting name, with the last day on which one did.
    pub fn names_gone(
        &self,
        records: &Records,
        today: Date,
    ) -> Result<BTreeMap<MachineId, Date>, LedgerFailure> {
        let gone = retention::names_gone(&self.connection, records, today);
        let mut gone = gone.map_err(|trouble| trouble.of(&self.path))?;
        gone.retain(|name, _| !self.otherwise.misnamed.contains_key(name));
        Ok(gone)
    }

    /// Everything ever seen with the day on which a round first saw it: what the sheets say today, and what they do not.
    pub fn records_by_day(&self, current: &Records) -> Result<RecordsByDay, LedgerFailure> {
        records_by_day::by_day(&self.connection, current, &self.pending.withdrawing)
            .map_err(|trouble| trouble.of(&self.path))
    }

    /// The findings that can matter on a day, as the last round that spoke of each left it: those that are open, that
    /// were settled on that day, or of which no letter of an earlier day has told that they are settled.
    pub fn kept_findings(&self, today: Date) -> Result<Vec<KeptFinding>, LedgerFailure> {
        findings::kept(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The sources of the rules as they were last accepted, by name, with those that an earlier round of today found
    /// gone.
    pub fn accepted_rules(&self, today: Date) -> Result<BTreeMap<String, String>, LedgerFailure> {
        accepted::kept(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// Since which day each rule is in force as it was last accepted, by name; without those of which nobody knows.
    pub fn rules_since(&self) -> Result<BTreeMap<String, Date>, LedgerFailure> {
        accepted::since(&self.connection).map_err(|trouble| trouble.of(&self.path))
    }

    /// The texts of the rules that the last accepted morning letter before today rests on, by name; `None` where there
    /// is no such letter, or it is from before anybody noted them.
    pub fn rules_last_told(&self, today: Date) -> Result<Option<BTreeMap<String, String>>, LedgerFailure> {
        letter_rules::last_told_before(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The edition that a letter with these words is or would be.
    ///
    /// It is the day's last one of its kind where that says the same already, so that telling again has the same
    /// Message-ID; else one more. The Message-ID ends in the domain of the sender's address.
    pub fn edition(
        &self,
        day: Date,
        kind: LetterKind,
        words: &LetterWords,
        sender: &str,
    ) -> Result<Edition, LedgerFailure> {
        letters::edition_of(&self.connection, day, kind, words, sender)
            .map_err(|trouble| trouble.of(&self.path))
    }

    /// The last letter of a day and kind, however far it has come; `None` when the day has none.
    pub fn letter_of(&self, day: Date, kind: LetterKind) -> Result<Option<OutboxLetter>, LedgerFailure> {
        letters::last_of(&self.connection, day, kind).map_err(|trouble| trouble.of(&self.path))
    }

    /// The newest days that have their morning letter, however far that has come; `most` of them at the most.
    pub fn morning_days(&self, most: u32) -> Result<BTreeSet<Date>, LedgerFailure> {
        ahead::days_told(&self.connection, most).map_err(|trouble| trouble.of(&self.path))
    }

    /// The newest days of which there are only letters that a clock which was ahead sent before them.
    pub fn days_to_tell_anew(&self, most: u32) -> Result<BTreeSet<Date>, LedgerFailure> {
        ahead::days_to_tell_anew(&self.connection, most).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whether a day has its morning letter, however far that has come: then the day needs no other. One that a clock
    /// which was ahead sent before its day does not count.
    pub fn has_morning_letter(&self, day: Date) -> Result<bool, LedgerFailure> {
        ahead::has_morning(&self.connection, day).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whether a morning letter of the day was kept before that of an earlier day: the clock was wrong for one of them.
    pub fn is_out_of_order(&self, day: Date) -> Result<bool, LedgerFailure> {
        ahead::is_out_of_order(&self.connection, day).map_err(|trouble| trouble.of(&self.path))
    }

    /// The last day before today whose morning letter was accepted; `None` when none was.
    pub fn last_told_before(&self, today: Date) -> Result<Option<Date>, LedgerFailure> {
        letters::last_told_before(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The last morning letter of a day before today that was accepted; `None` when none was.
    pub fn last_letter_before(&self, today: Date) -> Result<Option<OutboxLetter>, LedgerFailure> {
        letters::last_before(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whether the last morning letter of the days before today was to be mailed to anybody.
    pub fn was_mailed_before(&self, today: Date) -> Result<bool, LedgerFailure> {
        mails::was_mailed_before(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The letters whose copy waits to be put into the folder, oldest first.
    pub fn waiting_copies(&self) -> Result<Vec<OutboxLetter>, LedgerFailure> {
        letters::waiting_copies(&self.connection).map_err(|trouble| trouble.of(&self.path))
    }

    /// The findings that letters of a day which are not accepted yet will have told of as open.
    pub fn to_be_told(&self, day: Date) -> Result<BTreeSet<FindingId>, LedgerFailure> {
        told::to_be_told(&self.connection, day).map_err(|trouble| trouble.of(&self.path))
    }

    /// Keeps a round, as a whole or not at all. Keeping the same round of a day again changes nothing.
    pub fn keep(&mut self, round: &Round<'_>) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        let Ledger { connection, path, otherwise, pending, .. } = self;
        let mut keep = || keep_all(connection, round, otherwise, pending).map_err(|trouble| trouble.of(path));
        match keep() {
            Err(LedgerFailure::DiskFull { .. }) if spare::give_up(path) => keep()?,
            kept => kept?,
        }
        self.otherwise = Otherwise::default();
        self.pending = Pending::default();
        Ok(())
    }

    /// Notes that a letter's copy stands in the folder. One without receivers is accepted with that.
    pub fn mark_delivered(&mut self, edition: &Edition, now: Timestamp) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        mails::copy_delivered(&mut self.connection, edition, now).map_err(|trouble| trouble.of(&self.path))
    }

    /// The mails that are to be tried now, those of the newest letter first; from a ledger that keeps nothing, none.
    ///
    /// A mail that the program ended over is among them. What a later letter has superseded, or what is more than two
    /// days old, is given up first.
    pub fn mails_due(&mut self, now: Timestamp) -> Result<Vec<DueMail>, LedgerFailure> {
        if !self.keeps {
            return Ok(Vec::new());
        }
        mails::due(&mut self.connection, now).map_err(|trouble| trouble.of(&self.path))
    }

    /// Has every mail that waits for its next try tried now: a person has mended the account, and looks on.
    pub fn try_now(&mut self, now: Timestamp) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        mails::try_now(&self.connection, now).map_err(|trouble| trouble.of(&self.path))
    }

    /// The moment of the next try of any mail, which may have passed; `None` where none is to be tried.
    pub fn next_mail_moment(&self, now: Timestamp) -> Result<Option<Timestamp>, LedgerFailure> {
        mails::next_moment(&self.connection, now).map_err(|trouble| trouble.of(&self.path))
    }

    /// Notes that a due mail is being sent, before anything of it goes out. `false` when it must not be: another run
    /// has begun it since it was asked for, or a later letter was accepted.
    pub fn begin_sending(&mut self, mail: &DueMail, now: Timestamp) -> Result<bool, LedgerFailure> {
        if !self.keeps {
            return Ok(false);
        }
        mails::begin(&mut self.connection, mail, now).map_err(|trouble| trouble.of(&self.path))
    }

    /// Notes that all of a mail but its end is handed over, before the end is: should the program end from now on, nobody
    /// knows whether the server has it.
    pub fn note_handing_over(&mut self, mail: &DueMail, now: Timestamp) -> Result<(), LedgerFailure> {
        mails::hand_over(&mut self.connection, mail, now).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whether a mail was begun of which nothing more is known.
    pub fn is_sending(&self) -> bool {
        mails::is_sending(&self.connection).unwrap_or(false)
    }

    /// Notes what came of sending a mail, by address. The first one that the server took, or perhaps took, makes its
    /// letter an accepted one; an address without a verdict is tried again.
    pub fn note_verdicts(
        &mut self,
        mail: &DueMail,
        verdicts: &[(String, MailVerdict)],
        now: Timestamp,
    ) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        mails::note_verdicts(&mut self.connection, mail, verdicts, now)
            .map_err(|trouble| trouble.of(&self.path))
    }

    /// What kept the letters of earlier days from their receivers, from the last accepted one on, by address: for the
    /// top of today's letter. Whatever becomes of today's own letter, it is the same all day.
    pub fn mail_troubles(&self, today: Date) -> Result<Vec<MailTrouble>, LedgerFailure> {
        mails::troubles(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whom the mail server has refused a letter of today: for a letter of today that comes after it.
    pub fn refused_on(&self, today: Date) -> Result<Vec<MailTrouble>, LedgerFailure> {
        mails::refused_on(&self.connection, today).map_err(|trouble| trouble.of(&self.path))
    }

    /// The first letter of a day and kind that has reached somebody.
    pub fn first_accepted(&self, day: Date, kind: LetterKind) -> Result<Option<OutboxLetter>, LedgerFailure> {
        letters::first_accepted(&self.connection, day, kind).map_err(|trouble| trouble.of(&self.path))
    }
}

fn keep_all(
    connection: &mut Connection,
    round: &Round<'_>,
    otherwise: &Otherwise,
    pending: &Pending,
) -> Result<(), Trouble> {
    let change = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    records::remove(&change, &otherwise.wrong)?;
    records::rename(&change, &otherwise.renamed)?;
    retention::forget_names(&change, otherwise.misnamed.keys())?;
    // What a sheet says again counts again.
    records::withdraw(&change, pending, round.today)?;
    records::keep(&change, round.records, pending, round.today)?;
    findings::keep(&change, round.lives, round.today)?;
    retention::note_names(&change, round.records, round.today)?;
    accepted::keep(&change, round.rules, round.today)?;
    if let Some(Posting { letter, mails, tells }) = round.letter {
        let id = match letters::keep(&change, letter)? {
            letters::Kept::Before(id) => {
                // An account that was set up after the letter was made is to get it, too.
                if !mails::has_any(&change, id)? {
                    mails::keep(&change, id, letter.made, mails)?;
                }
                id
            }
            letters::Kept::Now(id) => {
                letter_rules::keep(&change, id, round.rules)?;
                mails::keep(&change, id, letter.made, mails)?;
                id
            }
        };
        told::will_tell(&change, id, tells, round.lives)?;
    }
    change.commit()?;
    Ok(())
}
