//! What keeps the ledger itself in order: copies, spare room, forgetting, and everything written out.

use jiff::civil::Date;

use super::{
    ExportTable, Forgotten, Ledger, LedgerFailure, LetterKind, OutboxLetter, copies, damage, export, letters,
    network, retention, spare,
};
use crate::units::Days;

impl Ledger {
    /// Whether the ledger knows of a letter, however far that has come.
    pub fn has_letter(&self, day: Date, kind: LetterKind, number: u32) -> Result<bool, LedgerFailure> {
        letters::has(&self.connection, day, kind, number).map_err(|trouble| trouble.of(&self.path))
    }

    /// Puts a letter back that was told without this ledger, so that it is not told again; one whose edition or
    /// Message-ID is known already stays as it is.
    pub fn put_back(&mut self, letter: &OutboxLetter) -> Result<(), LedgerFailure> {
        if !self.keeps {
            return Ok(());
        }
        letters::put_back(&self.connection, letter).map_err(|trouble| trouble.of(&self.path))
    }

    /// Whether the day's copy is still to be made; never of a ledger that keeps nothing, or only in memory.
    pub fn wants_copy(&self, today: Date) -> bool {
        self.outlives_the_round() && !copies::is_made(&self.path, today)
    }

    /// On how many of the fourteen days before a day a copy was made: a clock that has leapt shows by it.
    pub fn days_copied_before(&self, today: Date) -> usize {
        if self.outlives_the_round() { copies::days_before(&self.path, today) } else { 0 }
    }

    /// Makes the day's copy in `copies/` beside the ledger, and removes those older than a fortnight.
    pub fn make_copy(&self, today: Date) -> Result<(), LedgerFailure> {
        copies::make_nightly(&self.connection, &self.path, today)
    }

    /// Sets room aside beside the ledger, unless it is there, to be given up when the disk is full and a round must still
    /// be kept.
    pub fn set_room_aside(&self) -> Result<(), LedgerFailure> {
        if !self.outlives_the_round() {
            return Ok(());
        }
        spare::set_aside(&self.path)
    }

    /// The kind of network disk that the ledger lies on, such as `cifs`, where its last rounds may be lost; `None` for a
    /// disk of this PC, and where it cannot be told.
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

    /// Since which day before today no copy could be made; `None` when all is copied.
    pub fn uncopied_since(&self, today: Date) -> Result<Option<Date>, LedgerFailure> {
        copies::uncopied_since(&self.connection, &self.path, today).map_err(|trouble| trouble.of(&self.path))
    }
}
