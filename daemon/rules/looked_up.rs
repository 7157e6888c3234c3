//! How the facts of the table, and what is asked of a thing in brackets, are looked up and shown.

use std::borrow::Cow;

use jiff::civil::Date;

use super::facts::{Found, Known, Lack};
use super::part::Part;
use super::quantity::{Length, Pace};
use super::sort_of_value::Kind;
use super::value::{Shown, Value};
use crate::origin::{Entry, Evidence};
use crate::reckon::{DueWindow, Exempt, Fact as Sum, Mot, OilAnswer, OilJudged, OpenCheck, Service};
use crate::settings::same_words;
use crate::units::{Days, Distance, DistanceUnit, Speed, shown_day, write_day};
use crate::yard::Field;

/// A value that needs nothing to show it.
pub(super) fn plain<'a>(value: impl Into<Value<'a>>) -> Found<'a> {
    Ok(Known { value: value.into(), shown_by: Shown::Plain })
}

pub(super) fn lacking(trade: &'static str) -> Found<'static> {
    Err(Lack::Fact(trade))
}

/// A text that stands in a cell.
pub(super) fn written<'a, T>(
    entry: &'a Option<Entry<T>>,
    trade: &'static str,
    show: for<'t> fn(&'t T) -> Cow<'t, str>,
) -> Found<'a> {
    in_cell(entry.as_ref(), trade, |value| Value::Text(show(value)))
}

/// A day that stands in a cell.
pub(super) fn day<'a>(entry: Option<&'a Entry<Date>>, trade: &'static str) -> Found<'a> {
    in_cell(entry, trade, |day| Value::Day(*day))
}

/// A whole number that stands in a cell.
pub(super) fn whole<'a>(entry: Option<&'a Entry<u32>>, trade: &'static str) -> Found<'a> {
    in_cell(entry, trade, |count| Value::Whole(i64::from(*count)))
}

fn in_cell<'a, T>(
    entry: Option<&'a Entry<T>>,
    trade: &'static str,
    value: impl FnOnce(&'a T) -> Value<'a>,
) -> Found<'a> {
    let entry = entry.ok_or(Lack::Fact(trade))?;
    Ok(Known { value: value(&entry.value), shown_by: Shown::Cell(trade, &entry.origin) })
}

/// The result of a sum, with what it rests on.
pub(super) fn sum<'a, T, V: Into<Value<'a>>>(sum: &'a Sum<T>, value: impl FnOnce(&'a T) -> V) -> Found<'a> {
    let reckoned = sum.as_ref().map_err(Lack::OfSum)?;
    shown(value(&reckoned.value), &reckoned.shown_by)
}

/// The result of a sum that not every plan asks for.
pub(super) fn planned<'a, T, V: Into<Value<'a>>>(
    planned: &'a Option<Sum<T>>,
    trade: &'static str,
    value: impl FnOnce(&'a T) -> V,
) -> Found<'a> {
    planned.as_ref().map_or_else(|| lacking(trade), |planned| sum(planned, value))
}

/// The result of a sum that may come to nothing, which is told from one that nobody can make.
pub(super) fn inner<'a, T, V: Into<Value<'a>>>(
    sum: &'a Sum<Option<T>>,
    trade: &'static str,
    value: impl FnOnce(&'a T) -> V,
) -> Found<'a> {
    let reckoned = sum.as_ref().map_err(Lack::Unjudged)?;
    let found = reckoned.value.as_ref().ok_or(Lack::Fact(trade))?;
    shown(value(found), &reckoned.shown_by)
}

pub(super) fn things(kind: Kind, count: usize) -> Found<'static> {
    some(kind, 0..count)
}

/// Some of the machine's things of a kind, by their places.
fn some(kind: Kind, places: impl Iterator<Item = usize>) -> Found<'static> {
    Ok(Known { value: Value::List(kind, places.collect()), shown_by: Shown::Plain })
}

pub(super) fn length(thing: Part<'_>, distance: Distance, estimated: bool) -> Length {
    Length { distance, unit: thing.unit(), estimated }
}

pub(super) fn pace(thing: Part<'_>, speed: Speed) -> Pace {
    Pace { speed, unit: thing.speed_unit() }
}

pub(super) fn a_week(thing: Part<'_>, miles_a_day: f64) -> Length {
    /// Days in a week.
    const WEEK: f64 = 7.0;
    length(thing, Distance::estimated(miles_a_day * WEEK, DistanceUnit::Miles), true)
}

pub(super) fn on_the_clock<'a>(thing: Part<'a>, _trade: &'static str) -> Found<'a> {
    /// Few are longer.
    const USUAL: usize = 64;
    let standing = thing.standing();
    if let Some(unread) = &standing.clock_unread {
        return shown(&unread.value, std::slice::from_ref(unread));
    }
    let clock = standing.clock.as_ref().map_err(Lack::OfSum)?;
    let mut text = String::with_capacity(USUAL);
    let mut estimated: &[Evidence] = &[];
    let is_of_today = clock.value.day == standing.today;
    if let (false, Ok(estimate)) = (is_of_today, &standing.clock_today) {
        estimated = &estimate.shown_by;
        length(thing, estimate.value, true).print_into(&mut text);
        text.push_str(" by now; ");
    }
    clock.value.distance.write_in(thing.unit(), &mut text);
    if is_of_today {
        text.push_str(" today");
    } else {
        text.push_str(if clock.value.is_undated { " by " } else { " on " });
        write_day(clock.value.day, &mut text);
    }
    Ok(Known { value: text.into(), shown_by: Shown::Sums(&clock.shown_by, estimated) })
}

/// A count.
pub(super) fn counted(count: usize) -> Found<'static> {
    Ok(Known { value: Value::Whole(count as i64), shown_by: Shown::Plain })
}

/// A value with what shows it.
pub(super) fn shown<'a>(value: impl Into<Value<'a>>, shown_by: &'a [Evidence]) -> Found<'a> {
    Ok(Known { value: value.into(), shown_by: Shown::Sum(shown_by) })
}

/// What something lacks, in words; a missing fact where it lacks nothing.
pub(super) fn missed<'a>(lacks: Option<&'a String>, trade: &'static str) -> Found<'a> {
    lacks.map_or_else(|| lacking(trade), plain)
}

/// A mark shows it where no day is written; where one is and is not known, that may be still to come.
pub(super) fn is_registered(thing: Part<'_>) -> Found<'_> {
    let registration = &thing.standing().registration;
    if registration.lacks.is_none() && thing.row().unread_day(Field::Registered).is_some() {
        return lacking("registration");
    }
    shown(registration.lacks.is_none(), &registration.shown_by)
}

pub(super) fn noted_as_laid_up(thing: Part<'_>) -> Found<'_> {
    let note = thing.standing().stands.laid_up.as_ref().map_err(Lack::OfSum)?.as_ref();
    shown(note.is_some(), note.map(std::slice::from_ref).unwrap_or_default())
}

pub(super) fn ageing<'a>(thing: Part<'a>, _trade: &'static str) -> Found<'a> {
    let services = thing.standing().services.as_ref().map_err(Lack::OfSum)?;
    some(Kind::Service, (0..services.len()).filter(|place| services[*place].ages))
}

pub(super) fn services<'a>(thing: Part<'a>, _trade: &'static str) -> Found<'a> {
    let services = thing.standing().services.as_ref().map_err(Lack::OfSum)?;
    things(Kind::Service, services.len())
}

/// Without a single reading nothing can be doubted, and so nothing is in order either.
pub(super) fn doubts<'a>(thing: Part<'a>, _trade: &'static str) -> Found<'a> {
    let standing = thing.standing();
    let count = standing.doubts.len() + standing.row_notes.len();
    match &standing.clock {
        Err(lacking) if count == 0 => Err(Lack::OfSum(lacking)),
        _ => things(Kind::Doubt, count),
    }
}

/// Where neither is written down, neither can be doubted, and neither is in order.
pub(super) fn identity_doubts<'a>(thing: Part<'a>, _trade: &'static str) -> Found<'a> {
    let identity = &thing.machine().identity;
    if identity.mark.is_none() && identity.frame_no.is_none() {
        return Err(Lack::Fact("mark or frame number"));
    }
    // They come after the doubts of readings and days.
    let standing = thing.standing();
    let first = standing.doubts.len() + standing.row_notes.len();
    some(Kind::Doubt, first..first + standing.identity_notes.len())
}

pub(super) fn anything_open<'a>(thing: Part<'a>, _trade: &'static str) -> Found<'a> {
    let before = &thing.standing().before_handover;
    if let (true, Some(not_kept)) = (before.open.is_empty(), &before.not_kept) {
        return Err(Lack::OfSum(not_kept));
    }
    // What is open comes first, so that what passed does not take its place among the facts of a letter.
    let shown_by = Shown::Checks(&before.open, &before.shown_by);
    Ok(Known { value: Value::YesNo(!before.open.is_empty()), shown_by })
}

pub(super) fn left_open<'a>(thing: Part<'a>, trade: &'static str) -> Found<'a> {
    let open = &thing.standing().before_handover.open;
    if open.is_empty() {
        return lacking(trade);
    }
    let mut text = String::new();
    // Why is said once for all that it is true of: a wide sheet may leave dozens of checks blank.
    for alike in open.chunk_by(|check, next| check.why == next.why) {
        let before = if text.is_empty() { "" } else { "; " };
        text.push_str(before);
        list(alike, &mut text);
        text.extend([" (", &alike[0].why, ")"]);
    }
    Ok(Known { value: text.into(), shown_by: Shown::Checks(open, &[]) })
}

/// Checks as a sentence has them: `quality check, tyres and wheels`.
fn list(checks: &[OpenCheck], text: &mut String) {
    for (place, check) in checks.iter().enumerate() {
        let before = match place {
            0 => "",
            _ if place + 1 == checks.len() => " and ",
            _ => ", ",
        };
        text.extend([before, &check.what]);
    }
}

pub(super) fn terms<'a>(thing: Part<'a>, trade: &'static str) -> Found<'a> {
    /// Few are longer.
    const USUAL: usize = 64;
    let service = thing.service();
    let distance = service.due_distance.as_ref().and_then(|due| due.as_ref().ok());
    let day = service.due_day.as_ref().and_then(|due| due.as_ref().ok());
    let shown_by = [distance.map(|due| &due.shown_by), day.map(|due| &due.shown_by)];
    // What has fallen due by its distance did not fall due on a day that is to come.
    let is_by_distance = service.due.as_ref().is_ok_and(|due| due.value) && distance.is_some();
    let day = day.filter(|due| !is_by_distance || due.value <= thing.standing().today);
    let mut text = String::with_capacity(USUAL);
    if service.at_the_latest.is_some() {
        text.push_str("at the latest ");
    }
    if let Some(due) = distance {
        text.push_str("at ");
        due.value.write_in(thing.unit(), &mut text);
        if let Some(last) = service.clock_before {
            text.push_str(" on the clock before this one, last read at ");
            last.write_in(thing.unit(), &mut text);
            text.push_str(if day.is_some() { "," } else { "" });
        }
    }
    if let Some(due) = day {
        text.push_str(if distance.is_some() { " or on " } else { "on " });
        write_day(due.value, &mut text);
    }
    match (distance, day) {
        (Some(_), Some(_)) => text.push_str(", whichever comes first"),
        (None, None) => {
            // The plan is known; what its months count from is not.
            let missing = service.due_day.as_ref().and_then(|due| due.as_ref().err());
            return missing.map_or_else(|| lacking(trade), |missing| Err(Lack::OfSum(missing)));
        }
        _ => {}
    }
    text += &whichever(service);
    let [of_distance, of_day] = shown_by.map(|sum| sum.map(Vec::as_slice).unwrap_or_default());
    Ok(Known { value: text.into(), shown_by: Shown::Sums(of_distance, of_day) })
}

/// Whether the projection has come, though no reading shows it, or when it comes.
pub(super) fn falls_due(thing: Part<'_>, window: &DueWindow) -> String {
    if thing.service().due.as_ref().is_ok_and(|due| due.value) {
        format!("fell due {}", when(window))
    } else if !window.by_date && window.likeliest <= thing.standing().today {
        "has likely come due by now".to_owned()
    } else if !window.by_date || thing.service().at_the_latest.is_none() {
        format!("falls due {}", when(window))
    } else {
        format!("falls due at the latest {}{}", when(window), whichever(thing.service()))
    }
}

/// How a day follows from a service of which nobody knows which it was, where one does.
fn whichever(service: &Service) -> String {
    service.at_the_latest.as_ref().map_or_else(String::new, |after| format!(", {after}"))
}

pub(super) fn when(window: &DueWindow) -> String {
    if window.by_date || window.earliest == window.latest {
        return format!("on {}", shown_day(window.likeliest));
    }
    let (earliest, latest) = (window.earliest, window.latest);
    let same_year = earliest.year() == latest.year();
    let earliest = if same_year && earliest.month() == latest.month() {
        earliest.strftime("%-d").to_string()
    } else if same_year {
        earliest.strftime("%-d %b").to_string()
    } else {
        shown_day(earliest)
    };
    format!("between {earliest} and {}, likeliest {}", shown_day(window.latest), shown_day(window.likeliest))
}

pub(super) fn miles_a_gallon<'a>(thing: Part<'a>, trade: &'static str) -> Found<'a> {
    let found = thing.fill().miles_a_gallon.ok_or(Lack::Fact(trade))?;
    Ok(Known { value: Value::Whole(found.round() as i64), shown_by: Shown::Plain })
}

pub(super) fn usually_at_least<'a>(thing: Part<'a>, trade: &'static str) -> Found<'a> {
    let found = thing.fill().usually_at_least.ok_or(Lack::Fact(trade))?;
    Ok(Known { value: Value::Whole(found.round() as i64), shown_by: Shown::Plain })
}

pub(super) fn unusually_thirsty<'a>(thing: Part<'a>, trade: &'static str) -> Found<'a> {
    match (thing.fill().miles_a_gallon, thing.fill().usually_at_least) {
        (Some(now), Some(least)) => plain(now < least),
        _ => lacking(trade),
    }
}

pub(super) fn how_wrong<'a>(oil: &'a OilJudged, trade: &'static str) -> Found<'a> {
    let answer = oil.answer.as_ref().map_err(Lack::Unjudged)?;
    match &answer.value {
        OilAnswer::Right => lacking(trade),
        OilAnswer::WrongClass(how) | OilAnswer::WrongGrade(how) => shown(how, &answer.shown_by),
    }
}

/// Whether it is said to be exempt from the MOT.
pub(super) fn mot_exempt(mot: &Mot) -> Found<'_> {
    match &mot.exempt {
        Exempt::NotSaid => plain(false),
        Exempt::Said(shown_by) | Exempt::TooYoung(shown_by) => shown(true, shown_by),
    }
}

/// Whether that is said of one that is not old enough.
pub(super) fn mot_exempt_doubted(mot: &Mot) -> Found<'_> {
    match &mot.exempt {
        Exempt::TooYoung(shown_by) => shown(true, shown_by),
        Exempt::NotSaid | Exempt::Said(_) => plain(false),
    }
}

/// Whether the day of an MOT was worked out; where there is no such day, neither was it.
pub(super) fn mot_worked_out(mot: &Mot) -> Found<'_> {
    mot.expiry.as_ref().map_err(Lack::OfSum)?;
    plain(mot.worked_out)
}

/// Whether a day of the time in which a service falls due is at most so many days ahead.
pub(super) fn falls_due_within(thing: Part<'_>, days: Days, day: fn(&DueWindow) -> Date) -> Found<'_> {
    let limit = days.after(thing.standing().today);
    sum(&thing.service().falls_due, |window| limit.is_none_or(|limit| day(window) <= limit))
}

/// The item of the machine's plan with that name, whatever its capitals and punctuation.
pub(super) fn service<'a>(thing: Part<'a>, item: &str) -> Found<'a> {
    let services = thing.standing().services.as_ref().map_err(Lack::OfSum)?;
    let same = |service: &Service| same_words(&service.item, item);
    let Some(place) = services.iter().position(same) else {
        return Err(Lack::Other(format!("`{item}` in the service plan")));
    };
    let shown_by = Shown::Sum(&services[place].shown_by);
    Ok(Known { value: Value::Thing(Kind::Service, place), shown_by })
}

/// Whether the item of the machine's plan with that name was ever done.
pub(super) fn has_done<'a>(thing: Part<'a>, item: &str) -> Found<'a> {
    let Known { value: Value::Thing(kind, place), .. } = service(thing, item)? else {
        unreachable!("a service is a thing")
    };
    sum(&thing.other(kind, place).service().done, |done| *done)
}
