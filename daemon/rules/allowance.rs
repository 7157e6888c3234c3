//! The time that the slow answers of each rule may take of one round, so that nobody waits for the letter.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use super::RuleBook;
use super::sandbox::{counts, share};

/// How long the slow answers of each rule of a book may take of a round, and took so far, on all threads together.
pub struct Allowance {
    /// In nanoseconds, as all of it.
    share: u64,
    /// By the place of each rule in its book.
    taken: Vec<AtomicU64>,
}

impl Allowance {
    /// That of a round.
    pub fn of(book: &RuleBook) -> Allowance {
        let rules = book.rules.len();
        let taken = (0..rules).map(|_| AtomicU64::new(0)).collect();
        Allowance { share: nanoseconds(share(rules)), taken }
    }

    /// How much each rule has.
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

    /// Notes that a rule took so long for so many answers.
    pub(super) fn take(&self, place: usize, time: Duration, answers: usize) {
        let counted = nanoseconds(counts(time, answers));
        if counted > 0 {
            self.taken[place].fetch_add(counted, Ordering::Relaxed);
        }
    }
}

fn nanoseconds(time: Duration) -> u64 {
    u64::try_from(time.as_nanos()).unwrap_or(u64::MAX)
}
