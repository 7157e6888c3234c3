//! What has changed in a file's sheets and is neither undone nor agreed yet, with the day on which it was first seen.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::reckon::{is_open, next_open};
use crate::settings::ShopDays;
use crate::units::Days;
use crate::yard::Lasts;

/// For how long an export from before a change is kept to be compared with: it holds what is personal. Our decision.
const COMPARED_FOR: Days = Days(60);

/// One change as it is told apart from others: its worksheet, and what it is.
type Name = (String, String);

/// Stands behind the day of a change by which something doubtful does not count.
const HELD: &str = " held";

/// When a change was first seen, and whether something doubtful does not count by it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Since {
    day: Date,
    is_held: bool,
}

/// The open changes of one file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct OpenChanges {
    since: BTreeMap<Name, Since>,
    of_shape: bool,
    holds_copy: bool,
}

impl OpenChanges {
    /// Reads what was noted: a line each, with tabs between day, worksheet and change. A line that is none is passed over.
    pub(super) fn read(note: &str) -> OpenChanges {
        let line = |line: &str| {
            let mut parts = line.splitn(3, '\t');
            let day = parts.next()?;
            let is_held = day.ends_with(HELD);
            let day = day.strip_suffix(HELD).unwrap_or(day).parse().ok()?;
            Some(((parts.next()?.to_owned(), parts.next()?.to_owned()), Since { day, is_held }))
        };
        OpenChanges { since: note.lines().filter_map(line).collect(), ..OpenChanges::default() }
    }

    /// What is to be noted.
    pub(super) fn written(&self) -> String {
        let line = |((sheet, key), since): (&Name, &Since)| {
            let held = if since.is_held { HELD } else { "" };
            format!("{}{held}\t{sheet}\t{key}\n", since.day)
        };
        self.since.iter().map(line).collect()
    }

    /// Whether nothing is open.
    pub(super) fn is_empty(&self) -> bool {
        self.since.is_empty()
    }

    /// Whether they have stood too long for an export from before them to be kept still. Without it what is doubtful
    /// would count.
    pub(super) fn is_outdated(&self, today: Date) -> bool {
        let first = self.since.values().map(|since| since.day).min();
        !self.holds_back()
            && first.is_some_and(|first| COMPARED_FOR.after(first).is_none_or(|last| today > last))
    }

    /// What the changes of a worksheet are known by, each with the day on which it was first seen.
    pub(super) fn known(&self, sheet: Option<&str>, today: Date) -> BTreeMap<String, Date> {
        let sheet = plain(sheet.unwrap_or_default());
        let of_sheet = self.since.iter().filter(|((other, _), _)| *other == sheet);
        of_sheet.map(|((_, key), since)| (key.clone(), since.day.min(today))).collect()
    }

    /// The day on which a change was first seen.
    pub(super) fn since(&self, sheet: Option<&str>, key: &str, today: Date) -> Date {
        let name = (plain(sheet.unwrap_or_default()), plain(key));
        self.since.get(&name).map_or(today, |since| since.day.min(today))
    }

    /// Adds a change that is open.
    pub(super) fn add(&mut self, sheet: Option<&str>, key: &str, since: Date, is_of_shape: bool) {
        self.note(sheet, key, since, false);
        self.of_shape |= is_of_shape;
        self.holds_copy |= !is_of_shape;
    }

    /// Adds a change of columns by which something doubtful does not count.
    pub(super) fn hold(&mut self, sheet: Option<&str>, key: &str, since: Date) {
        self.note(sheet, key, since, true);
        self.of_shape = true;
    }

    /// Notes a change that the owner has said to be right: for the comparison with an export from before it it is one
    /// still.
    pub(super) fn note_as_right(&mut self, sheet: Option<&str>, key: &str, since: Date) {
        self.note(sheet, key, since, false);
    }

    fn note(&mut self, sheet: Option<&str>, key: &str, day: Date, is_held: bool) {
        let name = (plain(sheet.unwrap_or_default()), plain(key));
        self.since.insert(name, Since { day, is_held });
    }

    /// Whether something doubtful does not count by one of them.
    pub(super) fn holds_back(&self) -> bool {
        self.since.values().any(|since| since.is_held)
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

/// A text on one line and without tabs, as a note has it.
pub(super) fn plain(text: &str) -> String {
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
        Lasts::Once | Lasts::SaidRight => false,
        Lasts::UntilAgreed | Lasts::Held | Lasts::Unsaid => true,
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
        let known = read.known(Some("Stock"), date(2026, 3, 9));
        assert_eq!(
            known.into_iter().collect::<Vec<_>>(),
            [("gone clock Mileage".to_owned(), date(2026, 3, 2))]
        );
        assert!(!read.is_outdated(date(2026, 5, 1)) && read.is_outdated(date(2026, 5, 2)));
        // What is doubtful would count without the export from before it.
        open.hold(None, "other clocks Mileage", date(2026, 3, 5));
        let read = OpenChanges::read(&open.written());
        assert_eq!(read.written(), open.written());
        assert!(!read.is_outdated(date(2027, 5, 2)));
    }
}
