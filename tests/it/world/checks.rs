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

/// Of so many days on which a round broke off a letter speaks in any case.
const DAYS_LISTED: usize = 5;

/// The most that a year of a small shop may keep, in bytes: our decision. Its letters' words come to two megabytes, which
/// stand in the ledger and in each of a fortnight's copies; those that a wrong clock has dated come on top.
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

    /// A day is over: it has its letter, if it could have, and no second one.
    pub(super) fn check_day(&mut self, day: Date) {
        let minutes = self.minutes_to_tell.get(&day).copied().unwrap_or_default() / 60;
        let model = &self.books.model;
        let of_day = model.letters.iter().enumerate().filter(|(_, it)| it.day == day && !it.at_once);
        let (on_day, others): (Vec<_>, Vec<_>) = of_day.partition(|(at, _)| self.sent_on[*at] == day);
        let told = on_day.len();
        if !is_open(day) {
            assert_eq!((told, others.len()), (0, 0), "{}: {day} was closed", self.where_it_is());
            return;
        }
        // A letter that a clock which was ahead sent before its day looks like that of a day before which the clock is
        // behind for a while, until those of earlier days have come after it: nobody can tell the two, and a day that
        // may have been told is not told again.
        let may_be_told =
            others.iter().any(|(at, _)| self.sent_on[*at] < day && model.earlier_days_after(*at) < 2);
        assert!(told <= 1, "{}: {day} was told {told} times", self.where_it_is());
        if minutes >= PROMPT_MINUTES && !may_be_told {
            assert_eq!(told, 1, "{}: {day} with {minutes} minutes to tell it", self.where_it_is());
        }
        self.tally.days_told += told;
        self.tally.days_in_doubt += usize::from(minutes >= PROMPT_MINUTES && told == 0);
    }

    /// All is over, and what waited has had its time.
    pub(super) fn check_all(&mut self) {
        self.check_files();
        self.check_lives();
        self.check_what_went_wrong();
        self.held(self.books.check_receivers(self.forgotten_before()));
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

    /// What lies in the folder from before this day is taken away.
    fn forgotten_before(&self) -> Date {
        self.today().saturating_sub(400.days())
    }

    /// In the folder lies every letter, with its full list where it left something out, and nothing else.
    fn check_files(&self) {
        let entries = fs::read_dir(self.books.yard.digests()).unwrap();
        let mut found: BTreeSet<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        let forgotten_before = self.forgotten_before();
        for letter in self.books.model.letters.iter().filter(|letter| letter.day >= forgotten_before) {
            let stem = letter.stem();
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

    /// A round that broke off is said at the top of the next letter, as long as there are not too many to be listed.
    fn check_what_went_wrong(&mut self) {
        let forgotten_before = self.forgotten_before();
        for (at, days) in self.to_say.iter().filter(|(_, days)| days.len() <= DAYS_LISTED) {
            let letter = &self.books.model.letters[*at];
            // One that a clock which was years behind has dated is taken away as soon as the clock is right.
            if letter.day < forgotten_before {
                continue;
            }
            let text = self.books.all_of(letter);
            for day in days {
                let said = format!("A round broke off on {}", day.strftime("%-d %B %Y"));
                let stem = letter.stem();
                assert!(text.contains(&said), "{}: {stem} does not say: {said}\n{text}", self.where_it_is());
            }
            self.tally.broke_off_told += days.len();
        }
    }

    /// What is kept is bounded.
    fn check_room(&mut self) {
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
        self.tally.bytes_kept = bytes;
        assert!(bytes < KEPT_BYTES_MOST, "{}: {bytes} bytes are kept", self.where_it_is());
    }
}
