//! A sheet that is named after what is booked: nobody can tell whether its work was done where nothing in it says so.

use super::assign::{Assignment, Columns};
use super::kind_of_sheet::hinted_kind;
use super::visits::is_asked_for;
use crate::origin::SheetName;
use crate::settings::{is_among, words_of};
use crate::yard::{Field, RecordKind};

/// Words in the name of such a sheet. Common practice, no source.
const BOOKED: &str = "appointment appointments appts booked booking bookings calendar diary forthcoming planned planner \
                      scheduled todo upcoming";

/// Words in the headers of what stands in no diary of work to come: that it was done, paid, or has gone out again.
const DONE: &str =
    "carried closed collected complete completed done finished inv invoice invoiced out paid used";

/// Words in the headers of which it is asked anyway whether the work was done, or on which day.
const ASKED_ABOUT: &str = "appointment appt booked booking due planned scheduled slot";

impl Columns<'_> {
    /// Whether jobs stand in a sheet that is named after what is booked, and no column says that they were done: a clock
    /// that was read, the oil that went in, how it came out.
    pub(super) fn may_be_only_booked(&self, assignment: &Assignment) -> bool {
        let has_word =
            |column: usize, list: &str| self.headers[column].words().iter().any(|word| is_among(word, list));
        let says_so = |field: Field| matches!(field, Field::Clock | Field::OilUsed | Field::Outcome);
        let shows_it =
            assignment.assigned.iter().any(|one| says_so(one.field) && !self.samples[one.column].is_blank());
        let is_asked = assignment.assigned.iter().any(|one| match one.field {
            Field::Day => has_word(one.column, ASKED_ABOUT),
            Field::Done => is_asked_for(&self.headers[one.column]),
            _ => false,
        });
        let is_done =
            (0..self.headers.len()).any(|column| has_word(column, DONE) && !self.samples[column].is_blank());
        assignment.kind == RecordKind::Job && is_of_bookings(self.name) && !shows_it && !is_asked && !is_done
    }
}

/// Whether a worksheet is named so, or its file where its own name says nothing of what it holds.
fn is_of_bookings(name: &SheetName) -> bool {
    let is_one = |text: &str| {
        let words = words_of(text);
        words.iter().any(|word| is_among(word, BOOKED)) || words.windows(2).any(|two| two == ["to", "do"])
    };
    let of_sheet = |sheet: &String| SheetName { file: String::new(), sheet: Some(sheet.clone()) };
    match &name.sheet {
        Some(sheet) if is_one(sheet) => true,
        Some(sheet) if hinted_kind(&of_sheet(sheet)).is_some() => false,
        _ => is_one(name.file_name().rsplit_once('.').map_or(name.file_name(), |(stem, _)| stem)),
    }
}
