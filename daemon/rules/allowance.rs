//! The time that each rule may take of one round, so that a slow one makes nobody wait for the letter.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use super::RuleBook;
use super::sandbox::share;

/// How long each rule of a book may take of a round, and has taken so far, on all threads together.
pub struct Allowance {
    /// In nanoseconds, as all of it.
    share: u64,
    /// By the place of each rule in its book.
    taken: Vec<AtomicU64>,
}

impl Allowance {
    /// That of a round over so many machines.
    pub fn of(book: &RuleBook, machines: usize) -> Allowance {
        let rules = book.rules.len();
        let taken = (0..rules).map(|_| AtomicU64::new(0)).collect();
        Allowance { share: nanoseconds(share(rules, machines)), taken }
    }

    /// How long each rule may take.
    pub fn share(&self) -> Duration {
        Duration::from_nanos(self.share)
    }

    /// The rules that have taken all of theirs: what they would have said of the rest is not known.
    pub fn used_up<'a>(&'a self, book: &'a RuleBook) -> impl Iterator<Item = &'a str> {
        let names = book.rules.iter().enumerate().filter(|(place, _)| self.left(*place).is_none());
        names.map(|(_, rule)| rule.name.as_str())
    }

    /// How much a rule has left, by its place; `None` once nothing is.
    pub(super) fn left(&self, place: usize) -> Option<Duration> {
        let left = self.share.saturating_sub(self.taken[place].load(Ordering::Relaxed));
        (left > 0).then(|| Duration::from_nanos(left))
    }

    /// Notes that a rule has taken so long.
    pub(super) fn take(&self, place: usize, time: Duration) {
        self.taken[place].fetch_add(nanoseconds(time), Ordering::Relaxed);
    }
}

fn nanoseconds(time: Duration) -> u64 {
    u64::try_from(time.as_nanos()).unwrap_or(u64::MAX)
}
