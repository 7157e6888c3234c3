//! A machine for a test, put together in a sentence, and the golden tables of `tests/golden`.

mod before_handover;
mod clock;
mod days;
mod fuel_and_oil;
mod golden;
mod job_text;
mod moved_on;
mod named_only;
mod running_in;
mod service;
mod shop_days;
mod standing_still;
mod torque;
mod unnamed;
mod usage;
mod whole_yard;
mod workshop_words;

use std::sync::Arc;

use jiff::civil::Date;

use super::{Fact, Missing, Service, Standing, stand};
use crate::origin::{Entry, Origin, SheetName};
use crate::settings::Practice;
use crate::units::{Distance, DistanceUnit, Months, Speed, SpeedUnit, Volume};
use crate::yard::{
    Check, CheckResult, Fill, FrameNumber, HandbookPage, Identity, Job, Machine, MachineId, MachineRow, Mark,
    Reading, Ride, RunningInStage, ServiceItem, SpeaksOf, SpeedSource,
};

/// A day as a test writes it: `2026-11-25`.
fn day(text: &str) -> Date {
    text.parse().expect("a test's day is a day")
}

fn miles(count: i64) -> Distance {
    Distance::of(count, DistanceUnit::Miles)
}

/// A value in the next free cell of the test's sheet.
fn entry<T>(row: u32, value: T) -> Entry<T> {
    let name = Arc::new(SheetName { file: "yard.csv".to_owned(), sheet: None });
    Entry::new(value, Origin { name, row, column: 0 })
}

/// A machine with its day and its shop.
struct Given {
    machine: Machine,
    practice: Practice,
    today: Date,
    row: u32,
}

impl Given {
    /// A machine of which nothing is known, on a day.
    fn on(today: &str) -> Given {
        let machine = Machine {
            id: MachineId::kept("stock 1"),
            identity: Identity::default(),
            row: MachineRow::default(),
            clock_unit: DistanceUnit::Miles,
            readings: Vec::new(),
            jobs: Vec::new(),
            checks: Vec::new(),
            rides: Vec::new(),
            fills: Vec::new(),
            withdrawn: crate::yard::TakenOut::default(),
            page: HandbookPage::default(),
        };
        Given { machine, practice: Practice::default(), today: day(today), row: 1 }
    }

    fn cell<T>(&mut self, value: T) -> Entry<T> {
        self.row += 1;
        entry(self.row, value)
    }

    fn maybe_day(&mut self, text: &str) -> Option<Entry<Date>> {
        (!text.is_empty()).then(|| self.cell(day(text)))
    }

    fn handover(mut self, text: &str) -> Given {
        self.machine.row.handover = self.maybe_day(text);
        self
    }

    fn registered(mut self, text: &str) -> Given {
        self.machine.row.registered = self.maybe_day(text);
        self
    }

    fn row(mut self, change: impl FnOnce(&mut MachineRow)) -> Given {
        change(&mut self.machine.row);
        self
    }

    fn mark(mut self, text: &str) -> Given {
        self.machine.identity.mark = Some(self.cell(Mark::new(text).expect("a test's mark is one")));
        self
    }

    fn frame_no(mut self, text: &str) -> Given {
        self.machine.identity.frame_no = Some(self.cell(FrameNumber::new(text).expect("a number")));
        self
    }

    fn reading(mut self, text: &str, count: i64) -> Given {
        let distance = Distance::of(count, self.machine.clock_unit);
        let reading = Reading { day: self.cell(day(text)), clock: self.cell(distance) };
        self.machine.readings.push(reading);
        self
    }

    /// A job; without a clock where that is negative, and then without a reading.
    fn job(mut self, text: &str, done: &str, clock: i64) -> Given {
        let clock = (clock >= 0).then(|| self.cell(miles(clock)));
        let job = Job {
            day: self.maybe_day(text),
            done: self.cell(done.to_owned()),
            clock,
            oil: None,
            by: None,
            doubt: None,
        };
        if let (Some(day), Some(clock)) = (&job.day, &job.clock) {
            self.machine.readings.push(Reading { day: day.clone(), clock: clock.clone() });
            self.machine.readings.sort_by_key(|reading| (reading.day.value, reading.clock.value));
        }
        self.machine.jobs.push(job);
        self
    }

    fn oil_job(mut self, text: &str, done: &str, oil: &str) -> Given {
        self = self.job(text, done, -1);
        let oil = self.cell(oil.to_owned());
        self.machine.jobs.last_mut().expect("the job just added").oil = Some(oil);
        self
    }

    fn check(mut self, text: &str, item: &str, result: CheckResult, by: &str) -> Given {
        let by = (!by.is_empty()).then(|| self.cell(by.to_owned()));
        let check = Check {
            day: self.maybe_day(text),
            time: None,
            item: self.cell(item.to_owned()),
            result: self.cell(result),
            remark: None,
            by,
        };
        self.machine.checks.push(check);
        self
    }

    /// A ride; without a distance or speed where that is negative.
    fn ride(mut self, text: &str, far: i64, mph: i64, source: Option<SpeedSource>) -> Given {
        let speed = Speed::of(mph, SpeedUnit::MilesAnHour);
        let ride = Ride {
            day: self.maybe_day(text),
            distance: (far >= 0).then(|| self.cell(miles(far))),
            top_speed: (mph >= 0).then(|| self.cell(speed)),
            speed_source: source.map(|source| self.cell(source)),
            clock: None,
            by: None,
        };
        self.machine.rides.push(ride);
        self
    }

    /// A fill; without a clock, litres or grade where those are negative or empty.
    fn fill(mut self, text: &str, clock: i64, decilitres: i64, grade: &str, full: bool) -> Given {
        let fill = Fill {
            day: self.maybe_day(text),
            clock: (clock >= 0).then(|| self.cell(miles(clock))),
            volume: (decilitres >= 0).then(|| self.cell(Volume::of_millilitres(decilitres * 100))),
            grade: (!grade.is_empty()).then(|| self.cell(grade.to_owned())),
            full: Some(self.cell(full)),
        };
        self.machine.fills.push(fill);
        self
    }

    /// A plan's item: first at miles or months, then every miles or months; 0 gives none.
    fn plan(mut self, item: &str, first: (i64, i64), then: (i64, i64)) -> Given {
        let item = ServiceItem {
            speaks_of: SpeaksOf::default(),
            item: self.cell(item.to_owned()),
            first_at: (first.0 > 0).then(|| self.cell(miles(first.0))),
            first_after: (first.1 > 0).then(|| self.cell(Months(first.1))),
            then_every: (then.0 > 0).then(|| self.cell(miles(then.0))),
            then_every_months: (then.1 > 0).then(|| self.cell(Months(then.1))),
            tolerance: None,
            tolerance_days: None,
        };
        self.machine.page.services.push(item);
        self
    }

    /// A running-in stage: up to miles or months, top speed and burst speed in mph; 0 gives none.
    fn stage(mut self, name: &str, up_to: (i64, i64), top: i64, burst: i64) -> Given {
        let speed = |mph: i64| Speed::of(mph, SpeedUnit::MilesAnHour);
        let stage = RunningInStage {
            speaks_of: SpeaksOf::default(),
            stage: self.cell(name.to_owned()),
            up_to: (up_to.0 > 0).then(|| self.cell(miles(up_to.0))),
            up_to_months: (up_to.1 > 0).then(|| self.cell(Months(up_to.1))),
            top_speed: (top > 0).then(|| self.cell(speed(top))),
            burst_speed: (burst > 0).then(|| self.cell(speed(burst))),
        };
        self.machine.page.stages.push(stage);
        self
    }

    fn stand(&self) -> Standing {
        stand(&self.machine, &self.practice, self.today)
    }

    /// The plan's only item.
    fn service(&self) -> Service {
        self.stand().services.expect("the test gave a plan").remove(0)
    }
}

/// What a sum of the plan's only item comes to whichever way a service without a name is taken, or what it hangs on.
fn either_way(given: &Given, sum: impl Fn(&Service) -> &Fact<bool>) -> Result<bool, String> {
    let standing = given.stand();
    let of = |standing: &Standing| told(sum(&standing.services.as_ref().expect("the test gave a plan")[0]));
    let first = of(&standing);
    match &standing.otherwise {
        Some(otherwise) if of(&otherwise.standing) != first => lacks(&otherwise.hangs_on.to_string()),
        _ => first,
    }
}

/// A fact as a test compares it: its value, or what was missing.
fn told<T: Clone>(fact: &Fact<T>) -> Result<T, String> {
    fact.as_ref().map(|reckoned| reckoned.value.clone()).map_err(Missing::to_string)
}

/// What a fact lacks.
fn lacks<T>(name: &str) -> Result<T, String> {
    Err(name.to_owned())
}
