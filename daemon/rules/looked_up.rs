//! How the facts of the table are looked up, put into the language's values, and shown.

use jiff::civil::Date;
use rhai::Dynamic;

use super::facts::{Found, Known};
use super::machine_in_hand::Thing;
use super::quantity::{Length, Pace};
use super::sort_of_value::Kind;
use crate::origin::{Entry, Evidence};
use crate::reckon::{DueWindow, Fact as Sum, Missing, OilAnswer, OilJudged};
use crate::units::{Distance, DistanceUnit, Speed, shown_day};

/// A value that needs nothing to show it.
pub(super) fn plain(value: impl Into<Value>) -> Found {
    Ok(Known { value: value.into().0, shown_by: Vec::new() })
}

pub(super) fn lacking(trade: &str) -> Found {
    Err(Missing::fact(trade))
}

/// A text that stands in a cell.
pub(super) fn written<T>(entry: &Option<Entry<T>>, trade: &'static str, show: fn(&T) -> String) -> Found {
    let entry = entry.as_ref().ok_or_else(|| Missing::fact(trade))?;
    let shown = show(&entry.value);
    let shown_by = vec![Evidence::of(trade, &shown, &entry.origin)];
    Ok(Known { value: Value::from(shown).0, shown_by })
}

/// A day that stands in a cell.
pub(super) fn day(entry: Option<&Entry<Date>>, trade: &'static str) -> Found {
    let entry = entry.ok_or_else(|| Missing::fact(trade))?;
    let shown_by = vec![Evidence::of(trade, shown_day(entry.value), &entry.origin)];
    Ok(Known { value: Value::from(entry.value).0, shown_by })
}

/// A whole number that stands in a cell.
pub(super) fn whole(entry: Option<&Entry<u32>>, trade: &'static str) -> Found {
    let entry = entry.ok_or_else(|| Missing::fact(trade))?;
    let shown_by = vec![Evidence::of(trade, entry.value, &entry.origin)];
    Ok(Known { value: Dynamic::from(i64::from(entry.value)), shown_by })
}

/// The result of a sum, with what it rests on.
pub(super) fn sum<T, V: Into<Value>>(sum: &Sum<T>, value: impl FnOnce(&T) -> V) -> Found {
    let reckoned = sum.as_ref().map_err(Clone::clone)?;
    Ok(Known { value: value(&reckoned.value).into().0, shown_by: reckoned.shown_by.clone() })
}

/// The result of a sum that not every plan asks for.
pub(super) fn planned<T, V: Into<Value>>(
    planned: &Option<Sum<T>>,
    trade: &str,
    value: impl FnOnce(&T) -> V,
) -> Found {
    planned.as_ref().map_or_else(|| lacking(trade), |planned| sum(planned, value))
}

/// The result of a sum that may come to nothing.
pub(super) fn inner<T, V: Into<Value>>(
    sum: &Sum<Option<T>>,
    trade: &str,
    value: impl FnOnce(&T) -> V,
) -> Found {
    let reckoned = sum.as_ref().map_err(Clone::clone)?;
    let found = reckoned.value.as_ref().ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: value(found).into().0, shown_by: reckoned.shown_by.clone() })
}

pub(super) fn things(thing: &Thing, kind: Kind, count: usize) -> Found {
    Ok(Known { value: thing.some(kind, 0..count), shown_by: Vec::new() })
}

pub(super) fn length(thing: &Thing, distance: Distance, estimated: bool) -> Length {
    Length { distance, unit: thing.unit(), estimated }
}

pub(super) fn pace(thing: &Thing, speed: Speed) -> Pace {
    Pace { speed, unit: thing.speed_unit() }
}

pub(super) fn a_week(thing: &Thing, miles_a_day: f64) -> Length {
    /// Days in a week.
    const WEEK: f64 = 7.0;
    length(thing, Distance::estimated(miles_a_day * WEEK, DistanceUnit::Miles), true)
}

pub(super) fn on_the_clock(thing: &Thing, _trade: &'static str) -> Found {
    let standing = thing.standing();
    let clock = standing.clock.as_ref().map_err(Clone::clone)?;
    let read = clock.value.distance.shown_in(thing.unit());
    let mut shown_by = clock.shown_by.clone();
    let shown = if clock.value.day == standing.today {
        format!("{read} today")
    } else if let Ok(estimate) = &standing.clock_today {
        shown_by.extend(estimate.shown_by.iter().cloned());
        let now = length(thing, estimate.value, true);
        format!("{now} by now; {read} on {}", shown_day(clock.value.day))
    } else {
        format!("{read} on {}", shown_day(clock.value.day))
    };
    Ok(Known { value: Value::from(shown).0, shown_by })
}

/// A count.
pub(super) fn counted(count: usize) -> Found {
    Ok(Known { value: Dynamic::from(count as i64), shown_by: Vec::new() })
}

/// A value with what shows it.
pub(super) fn shown(value: impl Into<Value>, shown_by: &[Evidence]) -> Found {
    Ok(Known { value: value.into().0, shown_by: shown_by.to_vec() })
}

/// What something lacks, in words; a missing fact where it lacks nothing.
pub(super) fn missed(lacks: Option<&String>, trade: &str) -> Found {
    lacks.map_or_else(|| lacking(trade), |lacks| plain(lacks.clone()))
}

pub(super) fn noted_as_laid_up(thing: &Thing) -> Found {
    let note = thing.standing().stands.laid_up.as_ref();
    shown(note.is_some(), note.map(std::slice::from_ref).unwrap_or_default())
}

pub(super) fn ageing(thing: &Thing, _trade: &'static str) -> Found {
    let services = thing.standing().services.as_ref().map_err(Clone::clone)?;
    let places = (0..services.len()).filter(|place| services[*place].ages);
    Ok(Known { value: thing.some(Kind::Service, places), shown_by: Vec::new() })
}

pub(super) fn services(thing: &Thing, _trade: &'static str) -> Found {
    let services = thing.standing().services.as_ref().map_err(Clone::clone)?;
    things(thing, Kind::Service, services.len())
}

/// Without a single reading nothing can be doubted, and so nothing is in order either.
pub(super) fn doubts(thing: &Thing, _trade: &'static str) -> Found {
    let standing = thing.standing();
    let count = standing.doubts.len() + standing.row_notes.len();
    match &standing.clock {
        Err(lacking) if count == 0 => Err(lacking.clone()),
        _ => things(thing, Kind::Doubt, count),
    }
}

/// Where neither is written down, neither can be doubted, and neither is in order.
pub(super) fn identity_doubts(thing: &Thing, _trade: &'static str) -> Found {
    let identity = &thing.machine().identity;
    if identity.mark.is_none() && identity.frame_no.is_none() {
        return Err(Missing::fact("mark or frame number"));
    }
    // They come after the doubts of readings and days.
    let standing = thing.standing();
    let first = standing.doubts.len() + standing.row_notes.len();
    let doubts = thing.some(Kind::Doubt, first..first + standing.identity_notes.len());
    Ok(Known { value: doubts, shown_by: Vec::new() })
}

pub(super) fn anything_open(thing: &Thing, _trade: &'static str) -> Found {
    let before = &thing.standing().before_handover;
    // What is open comes first, so that what passed does not take its place among the facts of a letter.
    let shown_by = before.open.iter().flat_map(|check| &check.shown_by).chain(&before.shown_by);
    Ok(Known { value: Dynamic::from(!before.open.is_empty()), shown_by: shown_by.cloned().collect() })
}

pub(super) fn left_open(thing: &Thing, trade: &'static str) -> Found {
    let open = &thing.standing().before_handover.open;
    if open.is_empty() {
        return lacking(trade);
    }
    // Why is said once for all that it is true of: a wide sheet may leave dozens of checks blank.
    let alike = open.chunk_by(|check, next| check.why == next.why);
    let shown = alike.map(|alike| {
        let names: Vec<&str> = alike.iter().map(|check| check.what.as_str()).collect();
        format!("{} ({})", listed(&names), alike[0].why)
    });
    let value = shown.collect::<Vec<_>>().join("; ");
    let shown_by = open.iter().flat_map(|check| check.shown_by.iter().cloned()).collect();
    Ok(Known { value: Value::from(value).0, shown_by })
}

/// Names as a sentence has them: `quality check, tyres and wheels`.
fn listed(names: &[&str]) -> String {
    match names {
        [others @ .., last] if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        names => names.concat(),
    }
}

pub(super) fn terms(thing: &Thing, trade: &'static str) -> Found {
    let service = thing.service();
    let distance = service.due_distance.as_ref().and_then(|due| due.as_ref().ok());
    let day = service.due_day.as_ref().and_then(|due| due.as_ref().ok());
    let shown_by =
        distance.iter().flat_map(|due| &due.shown_by).chain(day.iter().flat_map(|due| &due.shown_by));
    let shown_by = shown_by.cloned().collect();
    let distance = distance.map(|due| {
        let figure = format!("at {}", due.value.shown_in(thing.unit()));
        service.clock_before.map_or(figure.clone(), |last| {
            format!("{figure} on the clock before this one, last read at {},", last.shown_in(thing.unit()))
        })
    });
    let day = day.map(|due| format!("on {}", shown_day(due.value)));
    let value = match (distance, day) {
        (Some(distance), Some(day)) => format!("{distance} or {day}, whichever comes first"),
        (Some(only), None) | (None, Some(only)) => only.trim_end_matches(',').to_owned(),
        (None, None) => return lacking(trade),
    };
    Ok(Known { value: Value::from(value).0, shown_by })
}

/// Whether the projection has come, though no reading shows it, or when it comes.
pub(super) fn falls_due(thing: &Thing, window: &DueWindow) -> String {
    if thing.service().due.as_ref().is_ok_and(|due| due.value) {
        format!("fell due {}", when(window))
    } else if !window.by_date && window.likeliest <= thing.standing().today {
        "has likely come due by now".to_owned()
    } else {
        format!("falls due {}", when(window))
    }
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

pub(super) fn miles_a_gallon(thing: &Thing, trade: &'static str) -> Found {
    let found = thing.fill().miles_a_gallon.ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: Dynamic::from(found.round() as i64), shown_by: Vec::new() })
}

pub(super) fn usually_at_least(thing: &Thing, trade: &'static str) -> Found {
    let found = thing.fill().usually_at_least.ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: Dynamic::from(found.round() as i64), shown_by: Vec::new() })
}

pub(super) fn unusually_thirsty(thing: &Thing, trade: &'static str) -> Found {
    match (thing.fill().miles_a_gallon, thing.fill().usually_at_least) {
        (Some(now), Some(least)) => plain(now < least),
        _ => lacking(trade),
    }
}

pub(super) fn how_wrong(oil: &OilJudged, trade: &'static str) -> Found {
    let answer = oil.answer.as_ref().map_err(Clone::clone)?;
    match &answer.value {
        OilAnswer::Right => lacking(trade),
        OilAnswer::WrongClass(how) | OilAnswer::WrongGrade(how) => {
            Ok(Known { value: Value::from(how.clone()).0, shown_by: answer.shown_by.clone() })
        }
    }
}

/// A value of the language, made from one of ours.
pub(super) struct Value(Dynamic);

impl From<String> for Value {
    fn from(text: String) -> Value {
        Value(text.into())
    }
}

impl From<bool> for Value {
    fn from(yes: bool) -> Value {
        Value(yes.into())
    }
}

impl From<Date> for Value {
    fn from(day: Date) -> Value {
        Value(Dynamic::from(day))
    }
}

impl From<Length> for Value {
    fn from(length: Length) -> Value {
        Value(Dynamic::from(length))
    }
}

impl From<Pace> for Value {
    fn from(pace: Pace) -> Value {
        Value(Dynamic::from(pace))
    }
}
