//! The one table of the facts that a rule can ask for: getters, checker, suggestions and reference all come from it.

use jiff::civil::Date;
use rhai::Dynamic;

use super::quantity::{Length, Pace, day_shown};
use super::sort::{Kind, Sort};
use super::thing::Thing;
use crate::origin::{Entry, Evidence};
use crate::problem::nearest;
use crate::reckon::{DueWindow, Fact as Sum, FuelAnswer, Missing, OilAnswer, OilJudged, RideAnswer};
use crate::units::{Distance, Speed};
use crate::yard::{EthanolLabel, MachineKind};

/// A fact's value with what shows it.
pub(super) struct Known {
    /// The value as the rule sees it.
    pub(super) value: Dynamic,
    /// What it rests on.
    pub(super) shown_by: Vec<Evidence>,
}

/// A fact, or what it lacks.
pub(super) type Found = Result<Known, Missing>;

/// One fact of a machine or of one of its things.
pub(super) struct Fact {
    /// Of what.
    pub(super) of: Kind,
    /// Its name in a rule.
    pub(super) name: &'static str,
    /// What sort of value it is.
    pub(super) is: Sort,
    /// Its name in the trade, for evidence and for what is missing.
    pub(super) trade: &'static str,
    /// What it is, for the reference.
    pub(super) says: &'static str,
    /// How it is looked up.
    pub(super) get: fn(&Thing, &'static str) -> Found,
}

/// The words of `machine.kind`.
pub(super) const KINDS: &[&str] = &["motorcycle", "moped", "scooter", "three-wheeler", "car"];
/// The words of `machine.fuel_allowed`.
pub(super) const LABELS: &[&str] = &["E5", "E10", "E85"];

const fn fact(
    of: Kind,
    name: &'static str,
    is: Sort,
    trade: &'static str,
    says: &'static str,
    get: fn(&Thing, &'static str) -> Found,
) -> Fact {
    Fact { of, name, is, trade, says, get }
}

/// All facts, in the order of the reference.
pub(super) fn all() -> impl Iterator<Item = &'static Fact> {
    WRITTEN.iter().chain(RECKONED).chain(OF_THINGS)
}

use Kind::{Doubt, Fill, Machine, Oil, Ride, Service};
use Sort::{Day, OneOf, Text, Whole, YesNo};

#[rustfmt::skip]
const WRITTEN: &[Fact] = &[
    fact(Machine, "today", Day, "today", "the day that is judged", |t, _| plain(t.standing().today)),
    fact(Machine, "name", Text, "name", "make, model and mark, as far as known", |t, _| plain(t.subject.machine.name())),
    fact(Machine, "mark", Text, "registration mark", "the registration mark", |t, w| written(&t.subject.machine.identity.mark, w, |mark| mark.to_string())),
    fact(Machine, "frame_no", Text, "frame number", "the frame number", |t, w| written(&t.subject.machine.identity.frame_no, w, |number| number.to_string())),
    fact(Machine, "stock_no", Text, "stock number", "the shop's stock number", |t, w| written(&t.subject.machine.identity.stock_no, w, |number| number.as_str().to_owned())),
    fact(Machine, "make", Text, "make", "the maker", |t, w| written(&t.row().make, w, String::clone)),
    fact(Machine, "model", Text, "model", "the model", |t, w| written(&t.row().model, w, String::clone)),
    fact(Machine, "kind", OneOf(KINDS), "kind of machine", "motorcycle, moped, scooter, three-wheeler or car", |t, w| written(&t.row().kind, w, |kind: &MachineKind| kind.name().to_owned())),
    fact(Machine, "engine_cc", Whole, "engine size", "the engine's size in cc", |t, w| whole(t.row().engine_cc.as_ref(), w)),
    fact(Machine, "registered", Day, "first registration", "the day of first registration", |t, w| day(t.row().registered.as_ref(), w)),
    fact(Machine, "built", Day, "day built", "the day it was built", |t, w| day(t.row().built.as_ref(), w)),
    fact(Machine, "arrived", Day, "arrival", "the day it came into the shop", |t, w| day(t.row().arrived.as_ref(), w)),
    fact(Machine, "sold", Day, "day sold", "the day it was sold", |t, w| day(t.row().sold.as_ref(), w)),
    fact(Machine, "handover", Day, "handover", "the day it was or will be handed over", |t, w| day(t.row().handover.as_ref(), w)),
    fact(Machine, "customer", Text, "customer's name", "the customer's name", |t, w| written(&t.row().customer, w, String::clone)),
    fact(Machine, "telephone", Text, "telephone number", "the customer's telephone number", |t, w| written(&t.row().telephone, w, String::clone)),
    fact(Machine, "fuel_allowed", OneOf(LABELS), "fuel allowed", "the highest petrol label it may be filled with, as its own row says: E5, E10 or E85", |t, w| written(&t.row().fuel_allowed, w, |label: &EthanolLabel| label.name().to_owned())),
    fact(Machine, "oil_asked", Text, "oil asked", "the oil it asks for, as its own row says", |t, w| written(&t.row().oil_asked, w, String::clone)),
    fact(Machine, "warranty_end", Day, "end of warranty", "the last day of its warranty", |t, w| day(t.row().warranty_end.as_ref(), w)),
    fact(Machine, "note", Text, "note", "what somebody noted", |t, w| written(&t.row().note, w, String::clone)),
];

#[rustfmt::skip]
const RECKONED: &[Fact] = &[
    fact(Machine, "clock", Sort::Distance, "clock reading", "the last reading that no doubt hangs over", |t, _| sum(&t.standing().clock, |clock| length(t, clock.distance, false))),
    fact(Machine, "clock_day", Day, "clock reading", "the day of that reading", |t, _| sum(&t.standing().clock, |clock| clock.day)),
    fact(Machine, "clock_today", Sort::Distance, "clock reading", "what the clock likely shows today; always printed with `about`", |t, _| sum(&t.standing().clock_today, |distance| length(t, *distance, true))),
    fact(Machine, "on_the_clock", Text, "clock reading", "the clock in words: `about 480 miles by now; 412 miles on 3 Nov 2026`", on_the_clock),
    fact(Machine, "distance_a_week", Sort::Distance, "pace", "how far it goes in a week; always printed with `about`", |t, _| sum(&t.standing().usage, |usage| a_week(t, usage.miles_a_day))),
    fact(Machine, "stage", Text, "running-in stage", "the running-in stage it is in; not there once running-in is over", |t, w| inner(&t.standing().running_in.stage, w, String::clone)),
    fact(Machine, "stage_top_speed", Sort::Speed, "running-in speed", "the top speed of that stage; not there when there is no limit", |t, w| inner(&t.standing().running_in.top_speed, w, |speed| pace(t, *speed))),
    fact(Machine, "mot_expiry", Day, "MOT expiry", "the last day of its MOT, or the day by which it needs its first", |t, _| sum(&t.standing().mot.expiry, |day| *day)),
    fact(Machine, "mot_worked_out", YesNo, "MOT expiry", "whether that day was worked out from the registration, for want of a certificate's", |t, _| plain(t.standing().mot.worked_out)),
    fact(Machine, "mot_earliest_test", Day, "MOT expiry", "the first day on which a test keeps the renewal date", |t, _| sum(&t.standing().mot.earliest_test, |day| *day)),
    fact(Machine, "anything_open", YesNo, "checks before handover", "whether anything that must be done before handover is not shown to be", anything_open),
    fact(Machine, "left_open", Text, "checks before handover", "what that is, in words: `quality check (not recorded) and second road test (not recorded)`", left_open),
    fact(Machine, "services", Sort::List(Service), "service plan", "the items of its service plan", services),
    fact(Machine, "rides", Sort::List(Ride), "rides", "its rides that running-in has a limit for", |t, _| things(t, Ride, t.standing().running_in.rides.len())),
    fact(Machine, "fills", Sort::List(Fill), "fills", "its fuel fills", |t, _| things(t, Fill, t.standing().fills.len())),
    fact(Machine, "oils", Sort::List(Oil), "oils", "the oil of each of its jobs", |t, _| things(t, Oil, t.standing().oils.len())),
    fact(Machine, "doubts", Sort::List(Doubt), "doubtful readings", "what in its readings, its mark or its frame number cannot be so; none at all is an answer, where there are readings", doubts),
];

#[rustfmt::skip]
const OF_THINGS: &[Fact] = &[
    fact(Service, "item", Text, "service item", "the item's name in the plan", |t, _| plain(t.service().item.clone())),
    fact(Service, "last_done", Day, "last time done", "the day it was last done", |t, w| t.service().last_done.map_or_else(|| lacking(w), plain)),
    fact(Service, "finished", YesNo, "service", "whether it is over with: done, and never due again", |t, _| plain(t.service().finished)),
    fact(Service, "due", YesNo, "service", "whether clock or day has reached it, whichever comes first", |t, _| sum(&t.service().due, |due| *due)),
    fact(Service, "overdue", YesNo, "service", "whether it is past its tolerance", |t, _| sum(&t.service().overdue, |overdue| *overdue)),
    fact(Service, "due_day", Day, "day in the service plan", "the day it is due by", |t, w| t.service().due_day.as_ref().map_or_else(|| lacking(w), |due| sum(due, |day| *day))),
    fact(Service, "due_distance", Sort::Distance, "distance in the service plan", "the figure on the clock at which it is due", |t, w| t.service().due_distance.as_ref().map_or_else(|| lacking(w), |due| sum(due, |distance| length(t, *distance, false)))),
    fact(Service, "terms", Text, "service plan", "the plan in words: `at 500 miles or on 2 May 2026, whichever comes first`", terms),
    fact(Service, "earliest", Day, "day it falls due", "the earliest day on which it is likely to fall due", |t, _| sum(&t.service().falls_due, |window| window.earliest)),
    fact(Service, "likeliest", Day, "day it falls due", "the likeliest day", |t, _| sum(&t.service().falls_due, |window| window.likeliest)),
    fact(Service, "latest", Day, "day it falls due", "the latest day", |t, _| sum(&t.service().falls_due, |window| window.latest)),
    fact(Service, "by_date", YesNo, "day it falls due", "whether the plan's date decides, so that nothing is estimated", |t, _| sum(&t.service().falls_due, |window| window.by_date)),
    fact(Service, "when", Text, "day it falls due", "those days in words: `between 3 and 12 Dec 2026, likeliest 7 Dec 2026`", |t, _| sum(&t.service().falls_due, when)),
    fact(Ride, "day", Day, "day of the ride", "its day", |t, _| plain(t.ride().day)),
    fact(Ride, "top_speed", Sort::Speed, "top speed", "its top speed", |t, w| t.ride().top_speed.map_or_else(|| lacking(w), |speed| plain(pace(t, speed)))),
    fact(Ride, "limit", Sort::Speed, "running-in speed", "the running-in limit that it is held against", |t, w| t.ride().limit.map_or_else(|| lacking(w), |speed| plain(pace(t, speed)))),
    fact(Ride, "too_fast", YesNo, "top speed", "whether it was over the limit as the speedometer shows it", |t, _| sum(&t.ride().answer, |answer| *answer >= RideAnswer::Breach)),
    fact(Ride, "beyond_doubt", YesNo, "top speed", "whether the true speed was over the limit", |t, _| sum(&t.ride().answer, |answer| *answer == RideAnswer::BeyondDoubt)),
    fact(Ride, "perhaps_too_fast", YesNo, "top speed", "whether the speedometer may have shown more than the limit", |t, _| sum(&t.ride().answer, |answer| *answer == RideAnswer::Possible)),
    fact(Fill, "day", Day, "day of the fill", "its day", |t, w| t.fill().day.map_or_else(|| lacking(w), plain)),
    fact(Fill, "grade", Text, "fuel grade", "the grade as written", |t, w| if t.fill().grade.is_empty() { lacking(w) } else { plain(t.fill().grade.clone()) }),
    fact(Fill, "right", YesNo, "fuel grade", "whether the machine may have it", |t, _| sum(&t.fill().answer, |answer| *answer == FuelAnswer::Right)),
    fact(Fill, "too_much_ethanol", YesNo, "fuel grade", "whether it holds more ethanol than the machine may have", |t, _| sum(&t.fill().answer, |answer| *answer == FuelAnswer::TooMuchEthanol)),
    fact(Fill, "not_petrol", YesNo, "fuel grade", "whether it is diesel or gas", |t, _| sum(&t.fill().answer, |answer| *answer == FuelAnswer::NotPetrol)),
    fact(Fill, "miles_a_gallon", Whole, "consumption", "miles to the UK gallon since the last full fill", miles_a_gallon),
    fact(Oil, "day", Day, "day of the job", "the job's day", |t, w| t.oil().day.map_or_else(|| lacking(w), plain)),
    fact(Oil, "text", Text, "oil", "the oil as written", |t, _| plain(t.oil().oil.clone())),
    fact(Oil, "in_the_engine", YesNo, "oil", "whether it is the oil in the engine now", |t, _| plain(t.oil().in_the_engine)),
    fact(Oil, "right", YesNo, "oil", "whether it is the oil asked for", |t, _| sum(&t.oil().answer, |answer| *answer == OilAnswer::Right)),
    fact(Oil, "wrong_class", YesNo, "oil", "whether its class is wrong for the clutch", |t, _| sum(&t.oil().answer, |answer| matches!(answer, OilAnswer::WrongClass(_)))),
    fact(Oil, "wrong_grade", YesNo, "oil", "whether its viscosity is not the one asked for", |t, _| sum(&t.oil().answer, |answer| matches!(answer, OilAnswer::WrongGrade(_)))),
    fact(Oil, "how_wrong", Text, "oil", "what is wrong with it, in words; not there when it is right", |t, w| how_wrong(t.oil(), w)),
    fact(Doubt, "day", Day, "day of the reading", "the day of the doubtful reading; a doubtful mark or frame number has none", |t, w| t.doubt().day.map_or_else(|| lacking(w), plain)),
    fact(Doubt, "what", Text, "doubtful figure", "what cannot be so", |t, _| plain(t.doubt().what.to_owned())),
    fact(Doubt, "likely", Text, "doubtful figure", "the likeliest meaning", |t, _| plain(t.doubt().likely.to_owned())),
];

/// The fact of that kind and name.
pub(super) fn named(kind: Kind, name: &str) -> Option<&'static Fact> {
    all().find(|fact| fact.of == kind && fact.name == name)
}

/// What to say of a fact that there is not.
pub(super) fn no_such(kind: Kind, name: &str) -> (String, String) {
    let what = format!("{} has no `{name}`", kind.with_article());
    let names = all().filter(|fact| fact.of == kind).map(|fact| fact.name);
    let help = match nearest(name, names) {
        Some(near) => {
            format!("write `{near}` if that is what you mean; `tickover rules words` lists all facts")
        }
        None => "look the fact up in what `tickover rules words` lists".to_owned(),
    };
    (what, help)
}

/// A value that needs nothing to show it.
fn plain(value: impl Into<Value>) -> Found {
    Ok(Known { value: value.into().0, shown_by: Vec::new() })
}

fn lacking(trade: &str) -> Found {
    Err(Missing::fact(trade))
}

/// A text that stands in a cell.
fn written<T>(entry: &Option<Entry<T>>, trade: &'static str, show: fn(&T) -> String) -> Found {
    let entry = entry.as_ref().ok_or_else(|| Missing::fact(trade))?;
    let shown = show(&entry.value);
    let shown_by = vec![Evidence::of(trade, &shown, &entry.origin)];
    Ok(Known { value: Value::from(shown).0, shown_by })
}

/// A day that stands in a cell.
fn day(entry: Option<&Entry<Date>>, trade: &'static str) -> Found {
    let entry = entry.ok_or_else(|| Missing::fact(trade))?;
    let shown_by = vec![Evidence::of(trade, day_shown(entry.value), &entry.origin)];
    Ok(Known { value: Value::from(entry.value).0, shown_by })
}

/// A whole number that stands in a cell.
fn whole(entry: Option<&Entry<u32>>, trade: &'static str) -> Found {
    let entry = entry.ok_or_else(|| Missing::fact(trade))?;
    let shown_by = vec![Evidence::of(trade, entry.value, &entry.origin)];
    Ok(Known { value: Dynamic::from(i64::from(entry.value)), shown_by })
}

/// The result of a sum, with what it rests on.
fn sum<T, V: Into<Value>>(sum: &Sum<T>, value: impl FnOnce(&T) -> V) -> Found {
    let reckoned = sum.as_ref().map_err(Clone::clone)?;
    Ok(Known { value: value(&reckoned.value).into().0, shown_by: reckoned.shown_by.clone() })
}

/// The result of a sum that may come to nothing.
fn inner<T, V: Into<Value>>(sum: &Sum<Option<T>>, trade: &str, value: impl FnOnce(&T) -> V) -> Found {
    let reckoned = sum.as_ref().map_err(Clone::clone)?;
    let found = reckoned.value.as_ref().ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: value(found).into().0, shown_by: reckoned.shown_by.clone() })
}

fn things(thing: &Thing, kind: Kind, count: usize) -> Found {
    Ok(Known { value: thing.all(kind, count), shown_by: Vec::new() })
}

fn length(thing: &Thing, distance: Distance, estimated: bool) -> Length {
    Length { distance, unit: thing.unit(), estimated }
}

fn pace(thing: &Thing, speed: Speed) -> Pace {
    Pace { speed, unit: thing.speed_unit() }
}

fn a_week(thing: &Thing, miles_a_day: f64) -> Length {
    /// Days in a week.
    const WEEK: f64 = 7.0;
    length(thing, Distance::estimated(miles_a_day * WEEK, crate::units::DistanceUnit::Miles), true)
}

fn on_the_clock(thing: &Thing, _trade: &'static str) -> Found {
    let standing = thing.standing();
    let clock = standing.clock.as_ref().map_err(Clone::clone)?;
    let read = clock.value.distance.shown_in(thing.unit());
    let mut shown_by = clock.shown_by.clone();
    let shown = if clock.value.day == standing.today {
        format!("{read} today")
    } else if let Ok(estimate) = &standing.clock_today {
        shown_by.extend(estimate.shown_by.iter().cloned());
        let now = length(thing, estimate.value, true);
        format!("{now} by now; {read} on {}", day_shown(clock.value.day))
    } else {
        format!("{read} on {}", day_shown(clock.value.day))
    };
    Ok(Known { value: Value::from(shown).0, shown_by })
}

fn services(thing: &Thing, _trade: &'static str) -> Found {
    let services = thing.standing().services.as_ref().map_err(Clone::clone)?;
    things(thing, Service, services.len())
}

/// Without a single reading nothing can be doubted, and so nothing is in order either.
fn doubts(thing: &Thing, _trade: &'static str) -> Found {
    let standing = thing.standing();
    let count = standing.doubts.len() + standing.identity_notes.len();
    match &standing.clock {
        Err(lacking) if count == 0 => Err(lacking.clone()),
        _ => things(thing, Doubt, count),
    }
}

fn anything_open(thing: &Thing, _trade: &'static str) -> Found {
    let before = &thing.standing().before_handover;
    Ok(Known { value: Dynamic::from(!before.open.is_empty()), shown_by: before.shown_by.clone() })
}

fn left_open(thing: &Thing, trade: &'static str) -> Found {
    let open = &thing.standing().before_handover.open;
    let shown: Vec<String> = open.iter().map(|check| format!("{} ({})", check.what, check.why)).collect();
    let value = match shown.split_last() {
        None => return lacking(trade),
        Some((only, [])) => only.clone(),
        Some((last, others)) => format!("{} and {last}", others.join(", ")),
    };
    let shown_by = open.iter().flat_map(|check| check.shown_by.iter().cloned()).collect();
    Ok(Known { value: Value::from(value).0, shown_by })
}

fn terms(thing: &Thing, trade: &'static str) -> Found {
    let service = thing.service();
    let distance = service.due_distance.as_ref().and_then(|due| due.as_ref().ok());
    let day = service.due_day.as_ref().and_then(|due| due.as_ref().ok());
    let shown_by =
        distance.iter().flat_map(|due| &due.shown_by).chain(day.iter().flat_map(|due| &due.shown_by));
    let shown_by = shown_by.cloned().collect();
    let distance = distance.map(|due| format!("at {}", due.value.shown_in(thing.unit())));
    let day = day.map(|due| format!("on {}", day_shown(due.value)));
    let value = match (distance, day) {
        (Some(distance), Some(day)) => format!("{distance} or {day}, whichever comes first"),
        (Some(only), None) | (None, Some(only)) => only,
        (None, None) => return lacking(trade),
    };
    Ok(Known { value: Value::from(value).0, shown_by })
}

fn when(window: &DueWindow) -> String {
    if window.by_date || window.earliest == window.latest {
        return format!("on {}", day_shown(window.likeliest));
    }
    let (earliest, latest) = (window.earliest, window.latest);
    let same_year = earliest.year() == latest.year();
    let earliest = if same_year && earliest.month() == latest.month() {
        earliest.strftime("%-d").to_string()
    } else if same_year {
        earliest.strftime("%-d %b").to_string()
    } else {
        day_shown(earliest)
    };
    format!("between {earliest} and {}, likeliest {}", day_shown(window.latest), day_shown(window.likeliest))
}

fn miles_a_gallon(thing: &Thing, trade: &'static str) -> Found {
    let found = thing.fill().miles_a_gallon.ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: Dynamic::from(found.round() as i64), shown_by: Vec::new() })
}

fn how_wrong(oil: &OilJudged, trade: &'static str) -> Found {
    let answer = oil.answer.as_ref().map_err(Clone::clone)?;
    match &answer.value {
        OilAnswer::Right => lacking(trade),
        OilAnswer::WrongClass(how) | OilAnswer::WrongGrade(how) => {
            Ok(Known { value: Value::from(how.clone()).0, shown_by: answer.shown_by.clone() })
        }
    }
}

/// A value of the language, made from one of ours.
struct Value(Dynamic);

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
