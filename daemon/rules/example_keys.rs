//! What an example machine can be given, and how it becomes a machine. It stands on a small handbook page of its
//! own, the trade's rules of thumb, so that no change of the owner's handbook breaks a rule.

use std::sync::Arc;

use jiff::civil::Date;
use rhai::{Dynamic, Map};

use super::examples::{On, wrong_value};
use super::facts::{KINDS, LABELS};
use super::quantity::{Given, Length, Pace, misuse};
use super::reference::day_written;
use super::sort_of_value::Sort;
use crate::origin::{Entry, Origin, SheetName};
use crate::problem::nearest;
use crate::reckon::{Absentee, SheetOfYard, WholeYard, open_days_between, stand_yard};
use crate::settings::ShopDays;
use crate::units::{Days, Distance, DistanceUnit, Months, Speed, SpeedUnit, Volume};
use crate::yard::{
    Check, CheckResult, EthanolLabel, Fill, FrameNumber, HandbookPage, Identity, Job, Machine, MachineId,
    MachineKind, MachineRow, Mark, Reading, Ride, RunningInStage, ServiceItem, SpeaksOf, SpeedSource,
    StockNumber, is_nothing_known,
};

/// How a key's value is written.
#[derive(Clone, Copy)]
pub(super) enum Shape {
    /// One value of a sort; a day is written in quotes.
    One(Sort),
    /// A list of `[day, distance]`.
    Pairs,
    /// A list of `#{ ... }` with these keys.
    Rows(&'static [Key]),
}

/// One key of an example.
pub(super) struct Key {
    /// Its name.
    pub(super) name: &'static str,
    /// How its value is written.
    pub(super) shape: Shape,
    /// What it is, for the reference.
    pub(super) says: &'static str,
}

const fn one(name: &'static str, sort: Sort, says: &'static str) -> Key {
    Key { name, shape: Shape::One(sort), says }
}

use Sort::{Day, Distance as Far, OneOf, Speed as Fast, Text, Volume as Much, Whole, YesNo};

const CLOCKS: &[&str] = &["miles", "km"];
const RESULTS: &[&str] = &["passed", "failed", "not done", "unclear"];
const SOURCES: &[&str] = &["satellite", "speedometer"];

/// All keys, in the order of the reference.
#[rustfmt::skip]
pub(super) const ALL: &[Key] = &[
    one("today", Day, "the day that is judged, which every example needs: \"2026-03-02\""),
    one("mark", Text, "the registration mark; an example without one is stock number 1"),
    one("frame_no", Text, "the frame number"),
    one("stock_no", Text, "the shop's stock number"),
    one("make", Text, "the maker"),
    one("model", Text, "the model"),
    one("kind", OneOf(KINDS), "\"motorcycle\", \"moped\", \"scooter\", \"three-wheeler\" or \"car\""),
    one("engine_cc", Whole, "the engine's size, a plain number"),
    one("clock_unit", OneOf(CLOCKS), "\"miles\" or \"km\""),
    one("registered", Day, "the day of first registration"),
    one("built", Day, "the day it was built"),
    one("arrived", Day, "the day it came into the shop"),
    one("sold", Day, "the day it was sold"),
    one("handover", Day, "the day of its handover"),
    one("customer", Text, "the customer's name"),
    one("telephone", Text, "the customer's telephone number"),
    one("fuel_allowed", OneOf(LABELS), "\"E5\", \"E10\" or \"E85\""),
    one("oil_asked", Text, "the oil it asks for: \"10W-40 MA2\""),
    one("mot_expiry", Day, "the last day of its MOT certificate"),
    one("mot_exempt", Text, "what stands in its place, where that says that it is exempt: \"exempt\""),
    one("warranty_end", Day, "the last day of its warranty"),
    one("note", Text, "what somebody noted"),
    one("clock", Far, "the last reading of its clock: 480.miles"),
    one("clock_day", Day, "the day of that reading, where it is not today"),
    Key { name: "readings", shape: Shape::Pairs, says: "readings: [[\"2026-01-01\", 100.miles], ...]" },
    Key { name: "jobs", shape: Shape::Rows(JOB), says: "jobs: [#{ day, done, clock, oil, by }, ...]" },
    Key { name: "checks", shape: Shape::Rows(CHECK),
        says: "checks: [#{ day, item, result, by }, ...]; result \"passed\", \"failed\", \"not done\" or \"unclear\"" },
    Key { name: "rides", shape: Shape::Rows(RIDE),
        says: "rides: [#{ day, distance, top_speed, source, clock, by }, ...]; source \"satellite\" or \"speedometer\"" },
    Key { name: "fills", shape: Shape::Rows(FILL), says: "fills: [#{ day, grade, litres, clock, full }, ...]" },
];
const JOB: &[Key] = &[
    one("day", Day, ""),
    one("done", Text, ""),
    one("clock", Far, ""),
    one("oil", Text, ""),
    one("by", Text, ""),
];
const CHECK: &[Key] =
    &[one("day", Day, ""), one("item", Text, ""), one("result", OneOf(RESULTS), ""), one("by", Text, "")];
const RIDE: &[Key] = &[
    one("day", Day, ""),
    one("distance", Far, ""),
    one("top_speed", Fast, ""),
    one("source", OneOf(SOURCES), ""),
    one("clock", Far, ""),
    one("by", Text, ""),
];
const FILL: &[Key] = &[
    one("day", Day, ""),
    one("grade", Text, ""),
    one("litres", Much, ""),
    one("clock", Far, ""),
    one("full", YesNo, ""),
];

/// The keys of an example yard.
#[rustfmt::skip]
pub(super) const YARD: &[Key] = &[
    one("today", Day, "the day that is judged, which every example needs: \"2026-03-02\""),
    Key { name: "machines", shape: Shape::Rows(ALL), says: "its machines: [#{ ... }, ...], each with the keys of a machine" },
    Key { name: "gone", shape: Shape::Rows(GONE), says: "machines gone from the sheets: [#{ name, last_named, open }, ...]" },
    Key { name: "sheets", shape: Shape::Rows(SHEET), says: "sheets that were read: [#{ name, renewed }, ...]" },
];
const SHEET: &[Key] = &[one("name", Text, ""), one("renewed", Day, "")];
const GONE: &[Key] = &[one("name", Text, ""), one("last_named", Day, ""), one("open", Whole, "")];

/// The keys of an example machine, for the reference.
pub(super) fn keys() -> impl Iterator<Item = &'static Key> {
    ALL.iter()
}

/// What to say of a key that there is not.
pub(super) fn no_such(allowed: &[Key], name: &str) -> (String, String) {
    let names = || allowed.iter().map(|key| key.name);
    let other = super::other_names::fact(name).filter(|fact| names().any(|known| known == *fact));
    let help = match other.or_else(|| nearest(name, names())) {
        Some(near) => format!("write `{near}` if that is what you mean"),
        None => format!("write one of {}", names().collect::<Vec<_>>().join(", ")),
    };
    (format!("an example machine has no `{name}`"), help)
}

/// What is given of one thing; each value is taken out by its name.
struct Facts(Map);

impl Facts {
    /// Refuses names that are not in the table.
    fn new(map: Map, allowed: &[Key]) -> Given<Facts> {
        match map.keys().find(|name| !allowed.iter().any(|key| key.name == name.as_str())) {
            Some(name) => {
                let (what, help) = no_such(allowed, name);
                misuse(what, help)
            }
            None => Ok(Facts(map)),
        }
    }

    /// A text; one without a letter or a figure, such as `?`, is as little known as in a sheet.
    fn text(&mut self, name: &str) -> Given<Option<Entry<String>>> {
        let text = self.value(name, Text, |value| {
            value.clone().into_immutable_string().ok().map(|text| text.to_string())
        })?;
        Ok(text.filter(|text| text.value.contains(char::is_alphanumeric)))
    }

    /// A text that must be one of some words.
    fn word<T>(
        &mut self,
        name: &str,
        asked: Sort,
        meaning: impl Fn(&str) -> Option<T>,
    ) -> Given<Option<Entry<T>>> {
        self.value(name, asked, |value| meaning(&value.clone().into_immutable_string().ok()?))
    }

    /// What a machine is known by; `TBC` and the like are no such thing, as in a sheet.
    fn known<T>(&mut self, name: &str, meaning: impl Fn(&str) -> Option<T>) -> Given<Option<Entry<T>>> {
        let said = self.0.get(name).and_then(|value| value.clone().into_immutable_string().ok());
        if said.is_some_and(|text| is_nothing_known(&text.trim().to_lowercase())) {
            self.0.remove(name);
        }
        self.word(name, Text, meaning)
    }

    fn day(&mut self, name: &str) -> Given<Option<Entry<Date>>> {
        self.value(name, Day, day)
    }

    fn distance(&mut self, name: &str) -> Given<Option<Entry<Distance>>> {
        self.value(name, Far, distance)
    }

    fn value<T>(
        &mut self,
        name: &str,
        asked: Sort,
        read: impl Fn(&Dynamic) -> Option<T>,
    ) -> Given<Option<Entry<T>>> {
        let Some(value) = self.0.remove(name) else { return Ok(None) };
        match read(&value) {
            Some(read) => Ok(Some(entry(read))),
            None => wrong_value(name, asked, &value),
        }
    }

    /// The rows of a list, each as given.
    fn rows(&mut self, name: &str, allowed: &[Key]) -> Given<Vec<Facts>> {
        let Some(value) = self.0.remove(name) else { return Ok(Vec::new()) };
        let Ok(rows) = value.clone().into_array() else { return wrong_value(name, Sort::Rows, &value) };
        rows.into_iter()
            .map(|row| match row.try_cast_result::<Map>() {
                Ok(map) => Facts::new(map, allowed),
                Err(row) => wrong_value(name, Sort::Map, &row),
            })
            .collect()
    }
}

fn day(value: &Dynamic) -> Option<Date> {
    if value.is::<Date>() {
        return value.clone().try_cast::<Date>();
    }
    day_written(&value.clone().into_immutable_string().ok()?).ok()
}

fn distance(value: &Dynamic) -> Option<Distance> {
    Some(value.clone().try_cast::<Length>()?.distance)
}

/// A value of an example; the cell that it came from is the first of a sheet called `example`.
fn entry<T>(value: T) -> Entry<T> {
    let name = Arc::new(SheetName { file: "example".to_owned(), sheet: None });
    Entry::new(value, Origin { name, row: 1, column: 0 })
}

/// The machine that an example describes, and its day.
pub(super) fn machine(map: Map) -> Given<On> {
    let mut facts = Facts::new(map, ALL)?;
    let Some(today) = facts.day("today")? else {
        return misuse("an example needs its day", "write `today: \"2026-03-02\"` into it");
    };
    let clock_unit = facts.word("clock_unit", OneOf(CLOCKS), DistanceUnit::named)?;
    let mut machine = Machine {
        id: MachineId::kept("example"),
        identity: identity(&mut facts)?,
        row: MachineRow { clock_unit: clock_unit.clone(), ..row(&mut facts)? },
        clock_unit: clock_unit.map_or(DistanceUnit::Miles, |unit| unit.value),
        readings: Vec::new(),
        jobs: jobs(&mut facts)?,
        checks: checks(&mut facts)?,
        rides: rides(&mut facts)?,
        fills: fills(&mut facts)?,
        withdrawn: crate::yard::TakenOut::default(),
        page: page(),
    };
    machine.readings = readings(&mut facts, &machine, &today)?;
    Ok((machine, today.value))
}

/// An example yard as it stands on its day.
pub(super) fn yard(map: Map) -> Given<WholeYard> {
    let mut facts = Facts::new(map, YARD)?;
    let Some(today) = facts.day("today")? else {
        return misuse("an example needs its day", "write `today: \"2026-03-02\"` into it");
    };
    let mut machines = Vec::new();
    for (place, Facts(mut row)) in facts.rows("machines", ALL)?.into_iter().enumerate() {
        row.insert("today".into(), Dynamic::from(today.value));
        let (mut machine, _) = self::machine(row)?;
        machine.id = MachineId::kept(&format!("example {place}"));
        machines.push(machine);
    }
    let mut absentees = Vec::new();
    for (place, mut row) in facts.rows("gone", GONE)?.into_iter().enumerate() {
        absentees.push(Absentee {
            machine: MachineId::kept(&format!("gone {place}")),
            name: row.text("name")?.map_or_else(|| "a machine".to_owned(), |name| name.value),
            identity: Identity::default(),
            last_named: row.day("last_named")?.map(|day| day.value),
            open: row
                .value("open", Whole, |value| value.as_int().ok()?.try_into().ok())?
                .map_or(0, |open| open.value),
        });
    }
    let mut sheets = Vec::new();
    for mut row in facts.rows("sheets", SHEET)? {
        let renewed = row.day("renewed")?.unwrap_or_else(|| today.clone()).value;
        let yesterday = Days(1).before(today.value).unwrap_or(today.value);
        sheets.push(SheetOfYard {
            name: row.text("name")?.map_or_else(|| "a sheet".to_owned(), |name| name.value),
            renewed,
            open_days: open_days_between(&ShopDays::default(), renewed, yesterday).len(),
        });
    }
    Ok(stand_yard(&machines, absentees, sheets, today.value))
}

fn identity(facts: &mut Facts) -> Given<Identity> {
    let mut identity = Identity {
        mark: facts.known("mark", Mark::new)?,
        frame_no: facts.known("frame_no", FrameNumber::new)?,
        stock_no: facts.known("stock_no", StockNumber::new)?,
    };
    if identity.is_unknown() {
        identity.stock_no = StockNumber::new("1").map(entry);
    }
    Ok(identity)
}

fn row(facts: &mut Facts) -> Given<MachineRow> {
    Ok(MachineRow {
        make: facts.text("make")?,
        model: facts.text("model")?,
        kind: facts.word("kind", OneOf(KINDS), kind)?,
        engine_cc: facts.value("engine_cc", Whole, |value| value.as_int().ok()?.try_into().ok())?,
        clock_unit: None,
        registered: facts.day("registered")?,
        built: facts.day("built")?,
        arrived: facts.day("arrived")?,
        sold: facts.day("sold")?,
        handover: facts.day("handover")?,
        customer: facts.text("customer")?,
        telephone: facts.text("telephone")?,
        number_alone: false,
        is_from_logs: false,
        fuel_allowed: facts.word("fuel_allowed", OneOf(LABELS), label)?,
        oil_asked: facts.text("oil_asked")?,
        mot_expiry: facts.day("mot_expiry")?,
        mot_exempt: facts.text("mot_exempt")?,
        warranty_end: facts.day("warranty_end")?,
        note: facts.text("note")?,
        clock_unread: None,
        unread: Vec::new(),
    })
}

fn kind(word: &str) -> Option<MachineKind> {
    use MachineKind::{Car, Moped, Motorcycle, Scooter, ThreeWheeler};
    [Motorcycle, Moped, Scooter, ThreeWheeler, Car].into_iter().find(|kind| kind.name() == word)
}

fn label(word: &str) -> Option<EthanolLabel> {
    [EthanolLabel::E5, EthanolLabel::E10, EthanolLabel::E85].into_iter().find(|label| label.name() == word)
}

fn jobs(facts: &mut Facts) -> Given<Vec<Job>> {
    let rows = facts.rows("jobs", JOB)?;
    rows.into_iter()
        .map(|mut row| {
            Ok(Job {
                day: row.day("day")?,
                done: row.text("done")?.unwrap_or_else(|| entry(String::new())),
                clock: row.distance("clock")?,
                oil: row.text("oil")?,
                by: row.text("by")?,
                doubt: None,
            })
        })
        .collect()
}

fn checks(facts: &mut Facts) -> Given<Vec<Check>> {
    let result = |word: &str| match word {
        "passed" => Some(CheckResult::Passed),
        "failed" => Some(CheckResult::Failed),
        "not done" => Some(CheckResult::NotDone),
        "unclear" => Some(CheckResult::Unclear),
        _ => None,
    };
    let rows = facts.rows("checks", CHECK)?;
    rows.into_iter()
        .map(|mut row| {
            Ok(Check {
                day: row.day("day")?,
                time: None,
                item: row.text("item")?.unwrap_or_else(|| entry(String::new())),
                result: row
                    .word("result", OneOf(RESULTS), result)?
                    .unwrap_or_else(|| entry(CheckResult::NotDone)),
                remark: None,
                by: row.text("by")?,
            })
        })
        .collect()
}

fn rides(facts: &mut Facts) -> Given<Vec<Ride>> {
    let source = |word: &str| match word {
        "satellite" => Some(SpeedSource::Satellite),
        "speedometer" => Some(SpeedSource::Speedometer),
        _ => None,
    };
    let rows = facts.rows("rides", RIDE)?;
    rows.into_iter()
        .map(|mut row| {
            Ok(Ride {
                day: row.day("day")?,
                distance: row.distance("distance")?,
                top_speed: row
                    .value("top_speed", Fast, |value| Some(value.clone().try_cast::<Pace>()?.speed))?,
                speed_source: row.word("source", OneOf(SOURCES), source)?,
                clock: row.distance("clock")?,
                by: row.text("by")?,
            })
        })
        .collect()
}

fn fills(facts: &mut Facts) -> Given<Vec<Fill>> {
    let rows = facts.rows("fills", FILL)?;
    rows.into_iter()
        .map(|mut row| {
            Ok(Fill {
                day: row.day("day")?,
                clock: row.distance("clock")?,
                volume: row.value("litres", Much, |value| value.clone().try_cast::<Volume>())?,
                grade: row.text("grade")?,
                full: row.value("full", YesNo, |value| value.as_bool().ok())?,
            })
        })
        .collect()
}

/// All readings by day, then by clock; those that jobs, rides and fills carry are among them.
fn readings(facts: &mut Facts, machine: &Machine, today: &Entry<Date>) -> Given<Vec<Reading>> {
    let mut readings = Vec::new();
    let clock_day = facts.day("clock_day")?;
    if let Some(clock) = facts.distance("clock")? {
        readings.push(beside(clock_day.unwrap_or_else(|| today.clone()), clock));
    }
    if let Some(value) = facts.0.remove("readings") {
        let pairs = value.clone().into_array().unwrap_or_default();
        for pair in &pairs {
            let pair = pair.clone().into_array().unwrap_or_default();
            let (Some(day), Some(clock), 2) =
                (pair.first().and_then(day), pair.get(1).and_then(distance), pair.len())
            else {
                return misuse("a reading is a day and a distance", "write [\"2026-01-01\", 100.miles]");
            };
            readings.push(beside(entry(day), entry(clock)));
        }
    }
    let carried = machine.jobs.iter().map(|job| (&job.day, &job.clock));
    let carried = carried.chain(machine.rides.iter().map(|ride| (&ride.day, &ride.clock)));
    for (day, clock) in carried.chain(machine.fills.iter().map(|fill| (&fill.day, &fill.clock))) {
        if let (Some(day), Some(clock)) = (day, clock) {
            readings.push(beside(day.clone(), clock.clone()));
        }
    }
    readings.sort_by_key(|reading| (reading.day.value, reading.clock.value));
    Ok(readings)
}

/// A reading with its day in the cell beside it: in one cell with it nobody would have written the day down.
fn beside(day: Entry<Date>, clock: Entry<Distance>) -> Reading {
    let origin = Origin { column: clock.origin.column + 1, ..day.origin };
    Reading { day: Entry::new(day.value, origin), clock }
}

/// The trade's rules of thumb (common practice, no source): they are for examples only.
fn page() -> HandbookPage {
    let miles = |count| Some(entry(Distance::of(count, DistanceUnit::Miles)));
    let months = |count| Some(entry(Months(count)));
    let speed = |count| Some(entry(Speed::of(count, SpeedUnit::MilesAnHour)));
    let item = |name: &str, first_at, first_after, then_every_months| ServiceItem {
        speaks_of: SpeaksOf::default(),
        item: entry(name.to_owned()),
        first_at,
        first_after,
        then_every: None,
        then_every_months,
        tolerance: None,
        tolerance_days: None,
    };
    let stage = |name: &str, up_to, up_to_months, top_speed, burst_speed| RunningInStage {
        speaks_of: SpeaksOf::default(),
        stage: entry(name.to_owned()),
        up_to,
        up_to_months,
        top_speed,
        burst_speed,
    };
    HandbookPage {
        services: vec![
            item("first service", miles(500), months(3), None),
            item("annual service", None, months(12), months(12)),
            item("brake fluid", None, months(24), months(24)),
        ],
        stages: vec![
            stage("1", miles(500), months(3), speed(40), speed(45)),
            stage("2", miles(2_500), months(6), speed(50), speed(55)),
        ],
        ..HandbookPage::default()
    }
}
