//! What has changed in a file's sheets and is neither undone nor agreed yet, with the day on which it was first seen.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use crate::reckon::{is_open, next_open};
use crate::settings::ShopDays;
use crate::units::Days;
use crate::yard::Lasts;

/// For how long an export from before a change is kept to be compared with: it holds what is personal. Our decision.
const COMPARED_FOR: Days = Days(60);

/// One change as it is told apart from others: its worksheet, and what it is.
type Name = (String, String);

/// The open changes of one file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct OpenChanges {
    since: BTreeMap<Name, Date>,
    of_shape: bool,
    holds_copy: bool,
}

impl OpenChanges {
    /// Reads what was noted: a line each, with tabs between day, worksheet and change. A line that is none is passed over.
    pub(super) fn read(note: &str) -> OpenChanges {
        let line = |line: &str| {
            let mut parts = line.splitn(3, '\t');
            let day = parts.next()?.parse().ok()?;
            Some(((parts.next()?.to_owned(), parts.next()?.to_owned()), day))
        };
        OpenChanges { since: note.lines().filter_map(line).collect(), ..OpenChanges::default() }
    }

    /// What is to be noted.
    pub(super) fn written(&self) -> String {
        let line = |((sheet, key), day): (&Name, &Date)| format!("{day}\t{sheet}\t{key}\n");
        self.since.iter().map(line).collect()
    }

    /// Whether nothing is open.
    pub(super) fn is_empty(&self) -> bool {
        self.since.is_empty()
    }

    /// Whether they have stood too long for an export from before them to be kept still.
    pub(super) fn is_outdated(&self, today: Date) -> bool {
        let first = self.since.values().min();
        first.is_some_and(|first| COMPARED_FOR.after(*first).is_none_or(|last| today > last))
    }

    /// What the changes of a worksheet are known by.
    pub(super) fn keys(&self, sheet: Option<&str>) -> BTreeSet<String> {
        let sheet = plain(sheet.unwrap_or_default());
        let of_sheet = self.since.keys().filter(|(other, _)| *other == sheet);
        of_sheet.map(|(_, key)| key.clone()).collect()
    }

    /// The day on which a change was first seen.
    pub(super) fn since(&self, sheet: Option<&str>, key: &str, today: Date) -> Date {
        let name = (plain(sheet.unwrap_or_default()), plain(key));
        self.since.get(&name).copied().unwrap_or(today).min(today)
    }

    /// Adds a change that is open.
    pub(super) fn add(&mut self, sheet: Option<&str>, key: &str, since: Date, is_of_shape: bool) {
        self.since.insert((plain(sheet.unwrap_or_default()), plain(key)), since);
        self.of_shape |= is_of_shape;
        self.holds_copy |= !is_of_shape;
    }

    /// Whether one of them is of columns, so that the export before it is to be compared with still.
    pub(super) fn is_of_shape(&self) -> bool {
        self.of_shape
    }

    /// Whether the new export lacks what the last one had, so that it must not take that one's place.
    pub(super) fn holds_copy(&self) -> bool {
        self.holds_copy
    }
}

/// A text on one line and without tabs.
fn plain(text: &str) -> String {
    text.replace(|letter: char| letter.is_control(), " ")
}

/// The day from which on a change that stays is taken to be meant: the third open day on which it is so.
pub(super) fn meant_from(since: Date, days: &ShopDays) -> Option<Date> {
    let first = if is_open(days, since) { since } else { next_open(days, since)? };
    next_open(days, next_open(days, first)?)
}

/// Whether a change is open today.
pub(super) fn is_open_still(lasts: Lasts, since: Date, days: &ShopDays, today: Date) -> bool {
    match lasts {
        Lasts::Once => false,
        Lasts::UntilAgreed | Lasts::Unsaid => true,
        Lasts::ForDays => meant_from(since, days).is_none_or(|meant| today < meant),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_change_is_taken_to_be_meant_on_the_third_open_day() {
        // 2026: 1 March is a Sunday; Sundays are closed, and so are Good Friday and Easter Monday (3 and 6 April).
        let days = ShopDays::default();
        for (since, meant) in [
            (date(2026, 3, 2), date(2026, 3, 4)),
            (date(2026, 3, 6), date(2026, 3, 9)),
            (date(2026, 3, 1), date(2026, 3, 4)),
            (date(2026, 4, 2), date(2026, 4, 7)),
        ] {
            assert_eq!(meant_from(since, &days), Some(meant), "{since}");
            let is_open = |day| is_open_still(Lasts::ForDays, since, &days, day);
            assert!(is_open(since) && !is_open(meant), "{since}");
        }
    }

    #[test]
    fn what_is_noted_is_read_again_and_a_line_that_is_none_is_passed_over() {
        let mut open = OpenChanges::default();
        open.add(Some("Stock"), "gone clock\tMileage", date(2026, 3, 2), true);
        open.add(None, "fewer", date(2026, 3, 4), false);
        assert!(open.is_of_shape() && open.holds_copy());
        let read = OpenChanges::read(&format!("rubbish\n2026-13-01\tx\ty\n{}", open.written()));
        assert_eq!(read.written(), open.written());
        assert_eq!(read.since(None, "fewer", date(2026, 3, 9)), date(2026, 3, 4));
        assert_eq!(read.since(None, "other", date(2026, 3, 9)), date(2026, 3, 9));
        // By a clock that was ahead nothing began in the future.
        assert_eq!(read.since(None, "fewer", date(2026, 3, 3)), date(2026, 3, 3));
        assert_eq!(read.keys(Some("Stock")).into_iter().collect::<Vec<_>>(), ["gone clock Mileage"]);
        assert!(!read.is_outdated(date(2026, 5, 1)) && read.is_outdated(date(2026, 5, 2)));
    }
}
