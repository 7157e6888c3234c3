//! The one table of the facts that a rule can ask for: getters, checker, suggestions and reference come from it.

use jiff::civil::Date;
use rhai::Dynamic;

use super::machine_in_hand::Thing;
use super::quantity::{Length, Pace};
use super::sort_of_value::{Kind, Sort};
use crate::origin::{Entry, Evidence};
use crate::problem::nearest;
use crate::reckon::{DueWindow, Fact as Sum, FuelAnswer, Missing, OilAnswer, OilJudged, RideAnswer};
use crate::units::{Distance, Speed, shown_day};
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
    fact(Machine, "today", Day, "today", "the day that is judged", |thing, _| plain(thing.standing().today)),
    fact(Machine, "name", Text, "name", "make, model and mark, as far as known",
        |thing, _| plain(thing.subject.machine.name())),
    fact(Machine, "mark", Text, "registration mark", "the registration mark",
        |thing, trade| written(&thing.subject.machine.identity.mark, trade, |mark| mark.to_string())),
    fact(Machine, "frame_no", Text, "frame number", "the frame number",
        |thing, trade| written(&thing.subject.machine.identity.frame_no, trade, |number| number.to_string())),
    fact(Machine, "stock_no", Text, "stock number", "the shop's stock number",
        |thing, trade| written(&thing.subject.machine.identity.stock_no, trade, |number| number.as_str().to_owned())),
    fact(Machine, "make", Text, "make", "the maker", |thing, trade| written(&thing.row().make, trade, String::clone)),
    fact(Machine, "model", Text, "model", "the model", |thing, trade| written(&thing.row().model, trade, String::clone)),
    fact(Machine, "kind", OneOf(KINDS), "kind of machine", "motorcycle, moped, scooter, three-wheeler or car",
        |thing, trade| written(&thing.row().kind, trade, |kind: &MachineKind| kind.name().to_owned())),
    fact(Machine, "engine_cc", Whole, "engine size", "the engine's size in cc",
        |thing, trade| whole(thing.row().engine_cc.as_ref(), trade)),
    fact(Machine, "registered", Day, "first registration", "the day of first registration",
        |thing, trade| day(thing.row().registered.as_ref(), trade)),
    fact(Machine, "built", Day, "day built", "the day it was built", |thing, trade| day(thing.row().built.as_ref(), trade)),
    fact(Machine, "arrived", Day, "arrival", "the day it came into the shop",
        |thing, trade| day(thing.row().arrived.as_ref(), trade)),
    fact(Machine, "sold", Day, "day sold", "the day it was sold", |thing, trade| day(thing.row().sold.as_ref(), trade)),
    fact(Machine, "handover", Day, "handover", "the day it was or will be handed over",
        |thing, trade| day(thing.row().handover.as_ref(), trade)),
    fact(Machine, "customer", Text, "customer's name", "the customer's name",
        |thing, trade| written(&thing.row().customer, trade, String::clone)),
    fact(Machine, "telephone", Text, "telephone number", "the customer's telephone number",
        |thing, trade| written(&thing.row().telephone, trade, String::clone)),
    fact(Machine, "fuel_allowed", OneOf(LABELS), "fuel allowed",
        "the highest petrol label it may be filled with, as its own row says: E5, E10 or E85",
        |thing, trade| written(&thing.row().fuel_allowed, trade, |label: &EthanolLabel| label.name().to_owned())),
    fact(Machine, "oil_asked", Text, "oil asked", "the oil it asks for, as its own row says",
        |thing, trade| written(&thing.row().oil_asked, trade, String::clone)),
    fact(Machine, "warranty_end", Day, "end of warranty", "the last day of its warranty",
        |thing, trade| day(thing.row().warranty_end.as_ref(), trade)),
    fact(Machine, "note", Text, "note", "what somebody noted",
        |thing, trade| written(&thing.row().note, trade, String::clone)),
];

#[rustfmt::skip]
const RECKONED: &[Fact] = &[
    fact(Machine, "clock", Sort::Distance, "clock reading", "the last reading that no doubt hangs over",
        |thing, _| sum(&thing.standing().clock, |clock| length(thing, clock.distance, false))),
    fact(Machine, "clock_day", Day, "clock reading", "the day of that reading",
        |thing, _| sum(&thing.standing().clock, |clock| clock.day)),
    fact(Machine, "clock_today", Sort::Distance, "clock reading",
        "what the clock likely shows today; always printed with `about`",
        |thing, _| sum(&thing.standing().clock_today, |distance| length(thing, *distance, true))),
    fact(Machine, "on_the_clock", Text, "clock reading",
        "the clock in words: `about 480 miles by now; 412 miles on 3 Nov 2026`",
        on_the_clock),
    fact(Machine, "distance_a_week", Sort::Distance, "pace",
        "how far it goes in a week; always printed with `about`",
        |thing, _| sum(&thing.standing().usage, |usage| a_week(thing, usage.miles_a_day))),
    fact(Machine, "stage", Text, "running-in stage",
        "the running-in stage it is in; not there once running-in is over",
        |thing, trade| inner(&thing.standing().running_in.stage, trade, String::clone)),
    fact(Machine, "stage_top_speed", Sort::Speed, "running-in speed",
        "the top speed of that stage; not there when there is no limit",
        |thing, trade| inner(&thing.standing().running_in.top_speed, trade, |speed| pace(thing, *speed))),
    fact(Machine, "customer_since", Day, "handover",
        "the day since when a customer has had it or will have it: handover, else the registration of one that was sold",
        |thing, _| sum(&thing.standing().customer_since, |day| *day)),
    fact(Machine, "new_at_handover", YesNo, "clock reading at handover",
        "whether it was new on that day: just registered, or with next to nothing on its clock; yes where neither is known",
        |thing, _| sum(&thing.standing().new_at_handover, |new| *new)),
    fact(Machine, "mot_expiry", Day, "MOT expiry",
        "the last day of its MOT, or the day by which it needs its first",
        |thing, _| sum(&thing.standing().mot.expiry, |day| *day)),
    fact(Machine, "mot_worked_out", YesNo, "MOT expiry",
        "whether that day was worked out from the registration, for want of a certificate's",
        |thing, _| plain(thing.standing().mot.worked_out)),
    fact(Machine, "mot_earliest_test", Day, "MOT expiry",
        "the first day on which a test keeps the renewal date",
        |thing, _| sum(&thing.standing().mot.earliest_test, |day| *day)),
    fact(Machine, "anything_open", YesNo, "checks before handover",
        "whether anything that must be done before handover is not shown to be",
        anything_open),
    fact(Machine, "anything_failed", YesNo, "checks before handover",
        "whether any of that was done and failed, and nothing shows it put right",
        |thing, _| plain(thing.standing().before_handover.open.iter().any(|check| check.failed))),
    fact(Machine, "left_open", Text, "checks before handover",
        "what that is, in words: `quality check (not recorded) and second road test (not recorded)`",
        left_open),
    fact(Machine, "services", Sort::List(Service), "service plan", "the items of its service plan", services),
    fact(Machine, "rides", Sort::List(Ride), "rides", "its rides that running-in has a limit for",
        |thing, _| things(thing, Ride, thing.standing().running_in.rides.len())),
    fact(Machine, "fills", Sort::List(Fill), "fills", "its fuel fills",
        |thing, _| things(thing, Fill, thing.standing().fills.len())),
    fact(Machine, "oils", Sort::List(Oil), "oils", "the oil of each of its jobs",
        |thing, _| things(thing, Oil, thing.standing().oils.len())),
    fact(Machine, "doubts", Sort::List(Doubt), "doubtful readings",
        "what in its readings, days, mark or frame number cannot be so; none is an answer, where there are readings",
        doubts),
];

#[rustfmt::skip]
const OF_THINGS: &[Fact] = &[
    fact(Service, "item", Text, "service item", "the item's name in the plan",
        |thing, _| plain(thing.service().item.clone())),
    fact(Service, "is_first", YesNo, "service item", "whether it is the first service, however the plan writes that",
        |thing, _| plain(thing.service().is_first)),
    fact(Service, "last_done", Day, "last time done", "the day it was last done",
        |thing, trade| thing.service().last_done.map_or_else(|| lacking(trade), plain)),
    fact(Service, "finished", YesNo, "service", "whether it is over with: done, and never due again",
        |thing, _| plain(thing.service().finished)),
    fact(Service, "due", YesNo, "service", "whether clock or day has reached it, whichever comes first",
        |thing, _| sum(&thing.service().due, |due| *due)),
    fact(Service, "overdue", YesNo, "service", "whether it is past its tolerance",
        |thing, _| sum(&thing.service().overdue, |overdue| *overdue)),
    fact(Service, "due_day", Day, "day in the service plan", "the day it is due by",
        |thing, trade| planned(&thing.service().due_day, trade, |day| *day)),
    fact(Service, "due_distance", Sort::Distance, "distance in the service plan",
        "the figure on the clock at which it is due",
        |thing, trade| planned(&thing.service().due_distance, trade, |distance| length(thing, *distance, false))),
    fact(Service, "distance_left", Sort::Distance, "distance in the service plan",
        "how far the last reading was from that figure; not known once another clock was put in",
        |thing, trade| planned(&thing.service().distance_left, trade, |left| length(thing, *left, false))),
    fact(Service, "terms", Text, "service plan",
        "the plan in words: `at 500 miles or on 2 May 2026, whichever comes first`",
        terms),
    fact(Service, "earliest", Day, "day it falls due", "the earliest day on which it is likely to fall due",
        |thing, _| sum(&thing.service().falls_due, |window| window.earliest)),
    fact(Service, "likeliest", Day, "day it falls due", "the likeliest day",
        |thing, _| sum(&thing.service().falls_due, |window| window.likeliest)),
    fact(Service, "latest", Day, "day it falls due", "the latest day",
        |thing, _| sum(&thing.service().falls_due, |window| window.latest)),
    fact(Service, "by_date", YesNo, "day it falls due",
        "whether the plan's date decides, so that nothing is estimated",
        |thing, _| sum(&thing.service().falls_due, |window| window.by_date)),
    fact(Service, "when", Text, "day it falls due",
        "those days in words: `between 3 and 12 Dec 2026, likeliest 7 Dec 2026`",
        |thing, _| sum(&thing.service().falls_due, when)),
    fact(Service, "falls_due", Text, "day it falls due",
        "the same as a sentence has it: `falls due on 7 Dec 2026`, or `has likely come due by now`",
        |thing, _| sum(&thing.service().falls_due, |window| falls_due(thing, window))),
    fact(Ride, "day", Day, "day of the ride", "its day", |thing, _| plain(thing.ride().day)),
    fact(Ride, "top_speed", Sort::Speed, "top speed", "its top speed",
        |thing, trade| thing.ride().top_speed.map_or_else(|| lacking(trade), |speed| plain(pace(thing, speed)))),
    fact(Ride, "limit", Sort::Speed, "running-in speed", "the running-in limit that it is held against",
        |thing, trade| thing.ride().limit.map_or_else(|| lacking(trade), |speed| plain(pace(thing, speed)))),
    fact(Ride, "too_fast", YesNo, "top speed", "whether it was over the limit as the speedometer shows it",
        |thing, _| sum(&thing.ride().answer, |answer| *answer >= RideAnswer::Breach)),
    fact(Ride, "beyond_doubt", YesNo, "top speed", "whether the true speed was over the limit",
        |thing, _| sum(&thing.ride().answer, |answer| *answer == RideAnswer::BeyondDoubt)),
    fact(Ride, "perhaps_too_fast", YesNo, "top speed",
        "whether the speedometer may have shown more than the limit",
        |thing, _| sum(&thing.ride().answer, |answer| *answer == RideAnswer::Possible)),
    fact(Fill, "day", Day, "day of the fill", "its day",
        |thing, trade| thing.fill().day.map_or_else(|| lacking(trade), plain)),
    fact(Fill, "grade", Text, "fuel grade", "the grade as written",
        |thing, trade| if thing.fill().grade.is_empty() { lacking(trade) } else { plain(thing.fill().grade.clone()) }),
    fact(Fill, "right", YesNo, "fuel grade", "whether the machine may have it",
        |thing, _| sum(&thing.fill().answer, |answer| *answer == FuelAnswer::Right)),
    fact(Fill, "too_much_ethanol", YesNo, "fuel grade",
        "whether it holds more ethanol than the machine may have",
        |thing, _| sum(&thing.fill().answer, |answer| *answer == FuelAnswer::TooMuchEthanol)),
    fact(Fill, "not_petrol", YesNo, "fuel grade", "whether it is diesel or gas",
        |thing, _| sum(&thing.fill().answer, |answer| *answer == FuelAnswer::NotPetrol)),
    fact(Fill, "miles_a_gallon", Whole, "consumption", "miles to the UK gallon since the last full fill",
        miles_a_gallon),
    fact(Fill, "usually_at_least", Whole, "usual consumption",
        "the least miles to the gallon that would be no surprise after its earlier fills", usually_at_least),
    fact(Fill, "unusually_thirsty", YesNo, "usual consumption", "whether it did fewer miles to the gallon than that",
        unusually_thirsty),
    fact(Oil, "day", Day, "day of the job", "the job's day",
        |thing, trade| thing.oil().day.map_or_else(|| lacking(trade), plain)),
    fact(Oil, "text", Text, "oil", "the oil as written", |thing, _| plain(thing.oil().oil.clone())),
    fact(Oil, "in_the_engine", YesNo, "oil", "whether it is the oil in the engine now",
        |thing, _| plain(thing.oil().in_the_engine)),
    fact(Oil, "right", YesNo, "oil", "whether it is the oil asked for",
        |thing, _| sum(&thing.oil().answer, |answer| *answer == OilAnswer::Right)),
    fact(Oil, "wrong_class", YesNo, "oil", "whether its class is wrong for the clutch",
        |thing, _| sum(&thing.oil().answer, |answer| matches!(answer, OilAnswer::WrongClass(_)))),
    fact(Oil, "wrong_grade", YesNo, "oil", "whether its viscosity is not the one asked for",
        |thing, _| sum(&thing.oil().answer, |answer| matches!(answer, OilAnswer::WrongGrade(_)))),
    fact(Oil, "how_wrong", Text, "oil", "what is wrong with it, in words; not there when it is right",
        |thing, trade| how_wrong(thing.oil(), trade)),
    fact(Doubt, "day", Day, "day of the reading",
        "the day of the doubtful record; a doubtful mark, frame number or day of its own row has none",
        |thing, trade| thing.doubt().day.map_or_else(|| lacking(trade), plain)),
    fact(Doubt, "what", Text, "doubtful figure", "what cannot be so",
        |thing, _| plain(thing.doubt().what.to_owned())),
    fact(Doubt, "likely", Text, "doubtful figure", "the likeliest meaning",
        |thing, _| plain(thing.doubt().likely.to_owned())),
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
    let shown_by = vec![Evidence::of(trade, shown_day(entry.value), &entry.origin)];
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

/// The result of a sum that not every plan asks for.
fn planned<T, V: Into<Value>>(planned: &Option<Sum<T>>, trade: &str, value: impl FnOnce(&T) -> V) -> Found {
    planned.as_ref().map_or_else(|| lacking(trade), |planned| sum(planned, value))
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
        format!("{now} by now; {read} on {}", shown_day(clock.value.day))
    } else {
        format!("{read} on {}", shown_day(clock.value.day))
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
fn falls_due(thing: &Thing, window: &DueWindow) -> String {
    if thing.service().due.as_ref().is_ok_and(|due| due.value) {
        format!("fell due {}", when(window))
    } else if !window.by_date && window.likeliest <= thing.standing().today {
        "has likely come due by now".to_owned()
    } else {
        format!("falls due {}", when(window))
    }
}

fn when(window: &DueWindow) -> String {
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

fn miles_a_gallon(thing: &Thing, trade: &'static str) -> Found {
    let found = thing.fill().miles_a_gallon.ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: Dynamic::from(found.round() as i64), shown_by: Vec::new() })
}

fn usually_at_least(thing: &Thing, trade: &'static str) -> Found {
    let found = thing.fill().usually_at_least.ok_or_else(|| Missing::fact(trade))?;
    Ok(Known { value: Dynamic::from(found.round() as i64), shown_by: Vec::new() })
}

fn unusually_thirsty(thing: &Thing, trade: &'static str) -> Found {
    match (thing.fill().miles_a_gallon, thing.fill().usually_at_least) {
        (Some(now), Some(least)) => plain(now < least),
        _ => lacking(trade),
    }
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
