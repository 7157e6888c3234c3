//! The time that rules may take of one round, so that nobody waits for the letter: each by itself, and all together.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

use super::RuleBook;
use super::rule::Seniority;
use super::sandbox::{ROUND, counts, counts_of_round, share};

/// How long each rule of a book may take of a round, and took so far, on all threads together.
pub struct Allowance {
    /// How long the slow answers of one rule may take, in nanoseconds, as all of it.
    share: u64,
    /// When all that the rules took together stops one, and the part that each may go on to take then.
    stops: Vec<Option<u64>>,
    /// What the slow answers of each rule took, by its place in its book.
    taken: Vec<AtomicU64>,
    /// What each rule took, but for quick answers.
    spent: Vec<AtomicU64>,
    /// The same of all rules.
    all: AtomicU64,
}

/// Why a rule is not asked any more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum UsedUp {
    /// Its slow answers took all that a rule has.
    ItsOwn(Duration),
    /// All rules together took all that a round has for them, and this is one of the costly ones.
    TheRounds(Duration),
}

impl Allowance {
    /// That of a round. Of all rules together, those that are new stop first, when half of it is gone; then those that
    /// were in force before; those that ship, as they ship, do not stop for the others.
    pub fn of(book: &RuleBook) -> Allowance {
        let none = || (0..book.rules.len()).map(|_| AtomicU64::new(0)).collect();
        let stops = |seniority: Seniority| match seniority {
            Seniority::Shipped => None,
            Seniority::InForce => Some(nanoseconds(ROUND)),
            Seniority::New => Some(nanoseconds(ROUND / 2)),
        };
        Allowance {
            share: nanoseconds(share(book.rules.len())),
            stops: book.rules.iter().map(|rule| stops(rule.seniority)).collect(),
            taken: none(),
            spent: none(),
            all: AtomicU64::new(0),
        }
    }

    /// The rules that are not asked any more, with why: what they would have said of the rest is not known.
    pub fn used_up<'a>(&'a self, book: &'a RuleBook) -> impl Iterator<Item = (&'a str, UsedUp)> {
        book.rules.iter().enumerate().filter_map(|(place, rule)| {
            let why = if self.of_its_own(place).is_none() {
                UsedUp::ItsOwn(Duration::from_nanos(self.share))
            } else {
                self.stopped(place).then_some(UsedUp::TheRounds(ROUND))?
            };
            Some((&*rule.name, why))
        })
    }

    /// How much a rule has left, by its place; `None` once it is not asked any more.
    pub(super) fn left(&self, place: usize) -> Option<Duration> {
        let own = self.of_its_own(place)?;
        let Some(rest) = self.of_its_part(place) else { return Some(own) };
        (rest > 0).then(|| own.min(Duration::from_nanos(rest)))
    }

    fn of_its_own(&self, place: usize) -> Option<Duration> {
        let left = self.share.saturating_sub(self.taken[place].load(Ordering::Relaxed));
        (left > 0).then(|| Duration::from_nanos(left))
    }

    /// Whether all rules together took too long and this one its part of it.
    fn stopped(&self, place: usize) -> bool {
        self.of_its_part(place) == Some(0)
    }

    /// What a rule may still take once all rules together took too long, `None` before that: one that costs next to nothing
    /// goes on, and one that has not been asked yet cannot take more than a quarter of its part, however many of them there
    /// are.
    fn of_its_part(&self, place: usize) -> Option<u64> {
        let stop = self.stops[place].filter(|stop| self.all.load(Ordering::Relaxed) > *stop)?;
        let part = stop / u64::try_from(self.stops.len()).unwrap_or(u64::MAX).max(1);
        Some((part / 4).saturating_sub(self.spent[place].load(Ordering::Relaxed)))
    }

    /// Notes that a rule took so long for so many answers.
    pub(super) fn take(&self, place: usize, time: Duration, answers: usize) {
        let spent = nanoseconds(counts_of_round(time, answers));
        if spent > 0 {
            self.spent[place].fetch_add(spent, Ordering::Relaxed);
            self.all.fetch_add(spent, Ordering::Relaxed);
        }
        let counted = nanoseconds(counts(time, answers));
        if counted > 0 {
            self.taken[place].fetch_add(counted, Ordering::Relaxed);
        }
    }
}

fn nanoseconds(time: Duration) -> u64 {
    u64::try_from(time.as_nanos()).unwrap_or(u64::MAX)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::super::shipped::shipped;
    use super::super::tests::{file, small};
    use super::*;

    /// Rules in the order of their names: one that was in force and is quick, one that was and is costly, one that
    /// ships, and a new one.
    fn four() -> RuleBook {
        let text = |title: &str| small("bench(`Look at it.`)", "bench").replace("Small", title);
        let (name, shipped) = shipped().nth(7).unwrap();
        let files = [
            file("a-quick", &text("Quick")),
            file("b-costly", &text("Costly")),
            file(name, shipped),
            file("new", &text("New")),
        ];
        let accepted = [("a-quick", text("Before")), ("b-costly", text("Before"))];
        let accepted: BTreeMap<String, String> =
            accepted.into_iter().map(|(name, text)| (name.to_owned(), text)).collect();
        RuleBook::from_files(&files, "rules", &accepted).0
    }

    /// The rules that are used up after each of four has taken so many answers of so many microseconds.
    fn used_up(answers: [u64; 4], micros: u64) -> Vec<String> {
        let book = four();
        let allowance = Allowance::of(&book);
        for (place, answers) in answers.into_iter().enumerate() {
            for _ in 0..answers {
                allowance.take(place, Duration::from_micros(micros), 1);
            }
        }
        let line = |(name, why)| match why {
            UsedUp::ItsOwn(_) => format!("{name}: its own"),
            UsedUp::TheRounds(_) => format!("{name}: the round's"),
        };
        allowance.used_up(&book).map(line).collect()
    }

    #[test]
    fn of_all_rules_together_the_new_ones_stop_first_then_the_costly_and_never_those_that_ship() {
        assert_eq!(&*four().rules[2].name, "mot-due");
        // 150 microseconds an answer are too quick to count for a rule by itself.
        assert_eq!(used_up([0, 0, 0, 10_000], 150), [] as [&str; 0]);
        assert_eq!(used_up([0, 0, 0, 10_001], 150), ["new: the round's"]);
        assert_eq!(used_up([1, 19_000, 0, 600], 150), [] as [&str; 0], "what was in force may take more");
        assert_eq!(used_up([1, 19_000, 0, 3_000], 150), ["b-costly: the round's", "new: the round's"]);
        assert_eq!(used_up([1, 0, 90_000, 1], 150), [] as [&str; 0]);
        // Quick answers count for nothing, however many.
        assert_eq!(used_up([400_000, 0, 0, 400_000], 19), [] as [&str; 0]);
        assert_eq!(used_up([0, 0, 0, 10_000], 501), ["new: its own"]);
    }
}
