//! Days of a machine's own row that cannot be so: a handover years away, a sale that is still to come.

use jiff::civil::Date;

use super::Note;
use super::identity_notes::note;
use super::mot::first_test_after;
use super::subject::{Subject, day_cell};
use crate::origin::Entry;
use crate::settings::Region;
use crate::units::{Months, months_after, shown_day};

/// A handover further ahead than this, or longer before the registration, is a slip. Our decision.
const A_YEAR: Months = Months(12);

/// The longest that a certificate may still run: a year (Road Traffic Act 1988, s.47), and the month by which a test may come
/// before the old one ends (GOV.UK, "Getting an MOT").
const LONGEST_MOT: Months = Months(13);

/// What looks mistyped.
pub(super) fn row_notes(subject: &Subject<'_>) -> Vec<Note> {
    let row = &subject.machine.row;
    [
        to_come(subject, "registration", row.registered.as_ref()),
        to_come(subject, "sale", row.sold.as_ref()),
        handover_far_ahead(subject),
        handover_before_registration(subject),
        mot_far_ahead(subject),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// A day after today of something that is written down once it has been.
fn to_come(subject: &Subject<'_>, name: &str, day: Option<&Entry<Date>>) -> Option<Note> {
    let day = day.filter(|day| day.value > subject.today)?;
    let (shown, today) = (shown_day(day.value), shown_day(subject.today));
    let what = format!("the {name} is dated {shown}, after today, {today}");
    let likely = "the day is mistyped, or still to come";
    note(&format!("{name} in the future"), what, likely, vec![day_cell(name, day)])
}

fn handover_far_ahead(subject: &Subject<'_>) -> Option<Note> {
    let handover = subject.machine.row.handover.as_ref()?;
    if handover.value <= months_after(subject.today, A_YEAR)? {
        return None;
    }
    let what = format!("the handover is dated {}, more than a year ahead", shown_day(handover.value));
    note("handover far ahead", what, "the year is mistyped", vec![day_cell("handover", handover)])
}

fn handover_before_registration(subject: &Subject<'_>) -> Option<Note> {
    let row = &subject.machine.row;
    let (handover, registered) = (row.handover.as_ref()?, row.registered.as_ref()?);
    if months_after(handover.value, A_YEAR)? >= registered.value {
        return None;
    }
    let what = format!(
        "the handover on {} is more than a year before the registration on {}",
        shown_day(handover.value),
        shown_day(registered.value)
    );
    let shown_by = vec![day_cell("handover", handover), day_cell("registered", registered)];
    note("handover before registration", what, "one of the two is mistyped", shown_by)
}

/// An end of the MOT that no certificate has, and no wait for the first test either, which is longest in Northern Ireland.
fn mot_far_ahead(subject: &Subject<'_>) -> Option<Note> {
    let row = &subject.machine.row;
    let expiry = row.mot_expiry.as_ref()?;
    let longest_first = first_test_after(Region::NorthernIreland);
    let first_from = row.registered.as_ref().map_or(subject.today, |registered| registered.value);
    if expiry.value <= months_after(subject.today, LONGEST_MOT)?
        || expiry.value <= months_after(first_from, longest_first)?
    {
        return None;
    }
    let what = format!(
        "the MOT is said to run to {}, and no certificate runs for more than 13 months",
        shown_day(expiry.value)
    );
    note("MOT far ahead", what, "the year is mistyped", vec![day_cell("MOT expiry", expiry)])
}
