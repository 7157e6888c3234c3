//! Every promise, held against what the folder of letters, the mail server and the ledger say.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use jiff::ToSpan as _;
use jiff::civil::{Date, Weekday, date};

use super::letters::Said;
use super::{PROMPT_MINUTES, World};

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
    /// A promise was held, or the trial ends.
    pub(super) fn held(&self, promise: Result<(), String>) {
        promise.unwrap_or_else(|broken| panic!("{}\n{broken}", self.where_it_is()));
    }

    /// A day is over: it has its letter, if it could have.
    pub(super) fn check_day(&mut self, day: Date) {
        let minutes = self.minutes_to_tell.get(&day).copied().unwrap_or_default() / 60;
        let of_day = self.books.model.mornings_of(day);
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
        self.held(self.books.check_receivers());
        self.held(self.books.check_ledger());
        self.check_room();
        self.tally.repeated = self.tally.messages - self.books.model.messages();
        for letter in &self.books.model.letters {
            self.tally.letters += usize::from(!letter.at_once);
            self.tally.at_once += usize::from(letter.at_once);
            let said = |wanted| letter.says.values().filter(|said| **said == wanted).count();
            self.tally.told_new += said(Said::New);
            self.tally.told_settled += said(Said::Settled);
        }
    }

    /// In the folder lies every letter, with its full list where it left something out, and nothing else.
    fn check_files(&self) {
        let entries = fs::read_dir(self.books.yard.digests()).unwrap();
        let mut found: BTreeSet<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        // What lies there for longer than this is taken away.
        let forgotten_before = self.today().saturating_sub(400.days());
        for letter in self.books.model.letters.iter().filter(|letter| letter.day >= forgotten_before) {
            let stem = letter.stem();
            assert!(self.books.model.mornings_of(letter.day) <= 1, "{}: {stem}", self.where_it_is());
            assert!(letter.is_checked, "{}: {stem} has no copy", self.where_it_is());
            assert!(self.days_seen.contains(&letter.day), "{}: {stem}", self.where_it_is());
            assert_ne!(letter.day.weekday(), Weekday::Sunday, "{}: {stem}", self.where_it_is());
            for ending in ["eml", "html", "txt"] {
                assert!(found.remove(&format!("{stem}.{ending}")), "{}: {stem}.{ending}", self.where_it_is());
            }
            found.remove(&format!("{}-full.txt", letter.day));
        }
        found.retain(|name| name[..10].parse::<Date>().is_ok_and(|day| day >= forgotten_before));
        assert_eq!(found, BTreeSet::new(), "{}", self.where_it_is());
    }

    /// Each machine's problem was new once, then open, then settled once, in the letters that are known to have
    /// reached somebody. Only a letter that a wrong clock has dated ahead may be followed by a second 'new'.
    fn check_lives(&self) {
        let mut lives: BTreeMap<&str, Vec<(Date, Said)>> = BTreeMap::new();
        for letter in self.books.model.letters.iter().filter(|letter| letter.accepted) {
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
                    (Said::New, Said::Open | Said::Settled) | (Said::Open, Said::Open | Said::Settled) => {
                        true
                    }
                    (Said::New | Said::Open, Said::New) => before >= day,
                    (Said::Settled, _) => false,
                };
                assert!(is_right, "{place}: {mark} {life:?}");
            }
        }
    }

    /// What is kept is bounded.
    fn check_room(&self) {
        let mut bytes = 0;
        let mut folders = vec![self.books.yard.kept()];
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
