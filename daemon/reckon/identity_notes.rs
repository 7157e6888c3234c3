//! What looks mistyped in a machine's mark or its frame number; notes only, since neither need be wrong.

use super::marks::{given_from, style};
use super::subject::{Subject, day_cell};
use super::{Note, frame_number};
use crate::origin::Evidence;
use crate::units::shown_day;

/// Frame numbers nearly of the right length; a much shorter one is the shop's own short form.
const NEARLY: std::ops::RangeInclusive<usize> = 15..=19;

/// What looks mistyped.
pub(super) fn identity_notes(subject: &Subject<'_>) -> Vec<Note> {
    [mark_shape(subject), mark_age(subject), frame_shape(subject), frame_check_digit(subject)]
        .into_iter()
        .flatten()
        .collect()
}

/// A note under a key.
pub(super) fn note(key: &str, what: String, likely: &str, shown_by: Vec<Evidence>) -> Option<Note> {
    Some(Note { key: key.to_owned(), what, likely: likely.to_owned(), shown_by })
}

/// A mark of no shape that is given here.
fn mark_shape(subject: &Subject<'_>) -> Option<Note> {
    let mark = subject.machine.identity.mark.as_ref()?;
    if style(&mark.value).is_some() {
        return None;
    }
    let what = format!("{} has none of the shapes of a United Kingdom mark", mark.value);
    let likely = "it is mistyped, or a foreign or trade mark";
    note("mark's shape", what, likely, vec![Evidence::of("mark", &mark.value, &mark.origin)])
}

/// A mark that was not given yet when the machine was registered: a mark may look older than its machine, but
/// not newer.
fn mark_age(subject: &Subject<'_>) -> Option<Note> {
    let mark = subject.machine.identity.mark.as_ref()?;
    let registered = subject.machine.row.registered.as_ref()?;
    let from = given_from(&mark.value).filter(|from| *from > registered.value)?;
    let what = format!(
        "{} was first given on {}, after the registration on {}",
        mark.value,
        shown_day(from),
        shown_day(registered.value)
    );
    let likely = "the mark or the day is mistyped, or the mark is another machine's";
    let shown_by = vec![Evidence::of("mark", &mark.value, &mark.origin), day_cell("registered", registered)];
    note("mark's age", what, likely, shown_by)
}

/// A frame number of nearly the right length, or with a letter that none has.
fn frame_shape(subject: &Subject<'_>) -> Option<Note> {
    let frame_no = subject.machine.identity.frame_no.as_ref()?;
    let length = frame_no.value.as_str().chars().count();
    let what = if length == frame_number::LENGTH {
        if frame_number::check_digit(&frame_no.value).is_some() {
            return None;
        }
        format!("{} has a character that no frame number has", frame_no.value)
    } else if NEARLY.contains(&length) {
        format!("{} has {length} characters instead of {}", frame_no.value, frame_number::LENGTH)
    } else {
        return None;
    };
    let shown_by = vec![Evidence::of("frame number", &frame_no.value, &frame_no.origin)];
    note("frame number's shape", what, "I stands for 1, O or Q for 0, or one is missing or twice", shown_by)
}

/// A frame number from North America whose check digit does not fit.
fn frame_check_digit(subject: &Subject<'_>) -> Option<Note> {
    let frame_no = subject.machine.identity.frame_no.as_ref()?;
    if !frame_number::check_digit_is_wrong(&frame_no.value) {
        return None;
    }
    let what = format!("the check digit of {} does not fit its other characters", frame_no.value);
    let shown_by = vec![Evidence::of("frame number", &frame_no.value, &frame_no.origin)];
    note("frame number's check digit", what, "a character is mistyped", shown_by)
}
