//! Every promise, held against what the folder of letters, the mail server and the ledger say.

use std::collections::BTreeMap;
use std::fs;

use jiff::civil::{Date, Weekday, date};
use rusqlite::Connection;

use super::letters::Said;
use super::model::Promised;
use super::{PROMPT_MINUTES, World, mail, said_once};

/// The bank holidays of England and Wales in the year of these trials.
///
/// Source: the list at gov.uk/bank-holidays for 2024 and 2025; from memory.
const BANK_HOLIDAYS: [Date; 12] = [
    date(2024, 1, 1),
    date(2024, 3, 29),
    date(2024, 4, 1),
    date(2024, 5, 6),
    date(2024, 5, 27),
    date(2024, 8, 26),
    date(2024, 12, 25),
    date(2024, 12, 26),
    date(2025, 1, 1),
    date(2025, 4, 18),
    date(2025, 4, 21),
    date(2025, 5, 5),
];

/// The most that a year of a small shop may keep, in bytes.
const KEPT_BYTES_MOST: u64 = 64 * 1024 * 1024;

/// Whether the shop is open, on the days for which bank holidays are listed here.
fn is_open(day: Date) -> bool {
    day.weekday() != Weekday::Sunday && !BANK_HOLIDAYS.contains(&day)
}

impl World {
    /// Each letter whose copy has come says what was promised, and is the letter that went out.
    pub(super) fn check_letters(&mut self) {
        let unchecked = self.model.letters.iter().enumerate().filter(|(_, letter)| !letter.is_checked);
        let waiting: Vec<(usize, Promised)> = unchecked.map(|(at, letter)| (at, letter.clone())).collect();
        for (at, letter) in waiting {
            let stem = letter.stem();
            let (Ok(text), Ok(eml)) =
                (fs::read_to_string(self.copy_of(&stem, "txt")), fs::read(self.copy_of(&stem, "eml")))
            else {
                continue;
            };
            assert_eq!(said_once(&text), letter.says, "{}: the letter {stem}\n{text}", self.where_it_is());
            if let Some(sent) = self.model.message(&mail::message_id(&eml)) {
                assert!(*sent == eml, "{}: {stem}.eml is not what went out", self.where_it_is());
            }
            self.model.letters[at].is_checked = true;
        }
    }

    /// A day is over: it has its letter, if it could have.
    pub(super) fn check_day(&mut self, day: Date) {
        let minutes = self.minutes_to_tell.get(&day).copied().unwrap_or_default() / 60;
        let of_day = self.model.letters.iter().filter(|letter| letter.day == day && !letter.at_once).count();
        if !is_open(day) {
            assert_eq!(of_day, 0, "{}: {day} was closed", self.where_it_is());
        } else if minutes >= PROMPT_MINUTES {
            assert_eq!(of_day, 1, "{}: {day} with {minutes} minutes to tell it", self.where_it_is());
        }
    }

    /// All is over, and what waited has had its time.
    pub(super) fn check_all(&mut self) {
        self.check_files();
        self.check_lives();
        self.check_receivers();
        self.check_ledger();
        for letter in &self.model.letters {
            self.tally.letters += usize::from(!letter.at_once);
            self.tally.at_once += usize::from(letter.at_once);
            let said = |wanted| letter.says.values().filter(|said| **said == wanted).count();
            self.tally.told_new += said(Said::New);
            self.tally.told_settled += said(Said::Settled);
        }
    }

    /// In the folder lies every letter, and nothing else.
    fn check_files(&self) {
        let mut expected: Vec<String> = Vec::new();
        for letter in &self.model.letters {
            assert!(letter.is_checked, "{}: {} has no copy", self.where_it_is(), letter.stem());
            assert!(self.days_seen.contains(&letter.day), "{}: {}", self.where_it_is(), letter.stem());
            assert_ne!(letter.day.weekday(), Weekday::Sunday, "{}: {}", self.where_it_is(), letter.stem());
            expected.extend(["eml", "html", "txt"].map(|ending| format!("{}.{ending}", letter.stem())));
        }
        expected.sort();
        let entries = fs::read_dir(self.yard.digests()).unwrap();
        let mut found: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        found.sort();
        assert_eq!(found, expected, "{}", self.where_it_is());
    }

    /// Each machine's problem was new once, then open, then settled once, in the letters that are known to have
    /// reached somebody. Only a letter that a wrong clock has dated ahead may be followed by a second 'new'.
    fn check_lives(&self) {
        let mut lives: BTreeMap<&str, Vec<(Date, Said)>> = BTreeMap::new();
        for letter in self.model.letters.iter().filter(|letter| letter.accepted) {
            for (mark, said) in &letter.says {
                lives.entry(mark).or_default().push((letter.day, *said));
            }
        }
        for (mark, life) in &lives {
            let place = self.where_it_is();
            assert_eq!(life[0].1, Said::New, "{place}: {mark} {life:?}");
            for pair in life.windows(2) {
                let ((before, first), (day, second)) = (pair[0], pair[1]);
                let is_right = match (first, second) {
                    (Said::New, Said::Open | Said::Settled) | (Said::Open, Said::Open | Said::Settled) => true,
                    (Said::New | Said::Open, Said::New) => before >= day,
                    (Said::Settled, _) => false,
                };
                assert!(is_right, "{place}: {mark} {life:?}");
            }
        }
    }

    /// Each receiver had each letter, or the next one says that it did not.
    fn check_receivers(&self) {
        let letters = &self.model.letters;
        for (at, letter) in letters.iter().enumerate() {
            let next = letters[at + 1..].iter().find(|next| !next.at_once && next.day > letter.day);
            let Some(next) = next else { continue };
            let text = fs::read_to_string(self.copy_of(&next.stem(), "txt")).unwrap();
            let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
            for receiver in letter.receivers().iter().filter(|who| !letter.reached.contains(**who)) {
                assert!(
                    words.contains(receiver),
                    "{}: {receiver} has no letter {}, and {} says nothing of it\n{text}",
                    self.where_it_is(),
                    letter.stem(),
                    next.stem()
                );
            }
        }
    }

    /// The ledger is sound, and what is kept is bounded.
    fn check_ledger(&self) {
        let ledger = Connection::open(self.yard.ledger()).unwrap();
        let sound: String = ledger.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
        assert_eq!(sound, "ok", "{}", self.where_it_is());
        let days: i64 = ledger
            .query_row("SELECT count(*) - count(DISTINCT day) FROM letter WHERE kind = 'morning'", [], |row| row.get(0))
            .unwrap();
        assert_eq!(days, 0, "{}: a day has two morning letters", self.where_it_is());
        let mut bytes = 0;
        let mut folders = vec![self.yard.kept()];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let entry = entry.unwrap();
                let about = entry.metadata().unwrap();
                bytes += about.len();
                if about.is_dir() {
                    folders.push(entry.path());
                }
            }
        }
        assert!(bytes < KEPT_BYTES_MOST, "{}: {bytes} bytes are kept", self.where_it_is());
    }
}
