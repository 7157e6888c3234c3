//! How a machine stands on a day: every sum that a rule may ask for, each with the cells that show it.

use std::fmt;
use std::sync::Arc;

use jiff::civil::Date;

use crate::origin::{Evidence, Origin};
use crate::units::{Distance, Speed};

/// The facts that a sum lacked, in the trade's words: `handover`, `clock reading since handover`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing(pub Vec<String>);

impl Missing {
    /// One missing fact.
    pub fn fact(name: &str) -> Missing {
        Missing(vec![name.to_owned()])
    }

    /// Both sums' missing facts, each once.
    #[must_use]
    pub fn and(mut self, other: Missing) -> Missing {
        for name in other.0 {
            if !self.0.contains(&name) {
                self.0.push(name);
            }
        }
        self
    }
}

impl fmt::Display for Missing {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.0.join(", "))
    }
}

/// A sum's result with what shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reckoned<T> {
    /// The result.
    pub value: T,
    /// The cells and rules of thumb that it rests on.
    pub shown_by: Vec<Evidence>,
}

/// A sum's result, or the facts that it lacked. A missing fact is never taken for `no`.
pub type Fact<T> = Result<Reckoned<T>, Missing>;

/// What the odometer says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clock {
    /// The latest reading that no doubt hangs over.
    pub distance: Distance,
    /// Its day.
    pub day: Date,
    /// Whether nobody wrote that day beside it, so that it is the one of the export: it showed this then or before.
    pub is_undated: bool,
}

/// How far the machine goes in a day, by Theil-Sen (Sen 1968) over its readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Usage {
    /// Miles a day, the median slope.
    pub miles_a_day: f64,
    /// The lower end of the 90 % interval, in miles a day, never negative.
    pub lowest: f64,
    /// The upper end of the 90 % interval, in miles a day.
    pub highest: f64,
    /// How many readings it rests on; 2 where only handover and the last reading were there.
    pub readings: usize,
}

/// The days between which something falls due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DueWindow {
    /// The earliest day, at the upper end of the usage interval; today where that lies in the past, although no
    /// reading shows it reached.
    pub earliest: Date,
    /// The likeliest day, or today in the same way.
    pub likeliest: Date,
    /// The latest day, at the lower end of the usage interval, or the date of the plan. An interval that goes down
    /// to nothing is cut off ten years after the last reading.
    pub latest: Date,
    /// Whether the plan's date decides, so that nothing is estimated.
    pub by_date: bool,
}

/// One item of the machine's service plan as it stands today.
#[derive(Debug, Clone, PartialEq)]
pub struct Service {
    /// The item's name in the plan: `first service`.
    pub item: String,
    /// Whether it is the service that ends running-in: `first service`, however the plan writes that.
    pub is_first: bool,
    /// Whether it ages, ridden or not, as brake fluid does: a fluid by its name, or months only and no service.
    pub ages: bool,
    /// The later service of the plan that was done although no job did this one: `annual service on 1 Sep 2027`. Only of
    /// the first service.
    pub overtaken_by: Fact<String>,
    /// The day it was last done; `None` when it never was, or on a day that nobody wrote down.
    pub last_done: Option<Date>,
    /// How long after that service it is due, and so at the latest, in words; `None` where that one does not come into it.
    pub at_the_latest: Option<String>,
    /// Whether it was ever done, on a known day or not.
    pub done: Fact<bool>,
    /// Whether it is over with: an item without a next time that was done.
    pub finished: bool,
    /// The date it is due by; an error when the plan gives months but the day they count from is missing; `None`
    /// when the plan gives none.
    pub due_day: Option<Fact<Date>>,
    /// The figure on the clock at which it is due; `None` when the plan gives none.
    pub due_distance: Option<Fact<Distance>>,
    /// How far the last reading was from that figure, nothing once it is reached; an error where the figure is
    /// meant on another clock than the one that is in now. `None` when the plan gives no figure.
    pub distance_left: Option<Fact<Distance>>,
    /// What the clock before the one that is in now showed last, where the figure is meant on that one.
    pub clock_before: Option<Distance>,
    /// Whether it is due: reading or day has reached it, whichever comes first.
    pub due: Fact<bool>,
    /// Whether it is past its tolerance.
    pub overdue: Fact<bool>,
    /// When it falls due, whichever of date and projected distance comes first.
    pub falls_due: Fact<DueWindow>,
    /// What the item itself rests on: its row of the handbook, the job that did it last.
    pub shown_by: Vec<Evidence>,
}

/// What running-in asks of the machine today.
#[derive(Debug, Clone, PartialEq)]
pub struct RunningIn {
    /// The stage it is in: its name; `None` inside the fact once running-in is over.
    pub stage: Fact<Option<String>>,
    /// The stage's top speed as the speedometer shows it; `None` inside when there is no limit.
    pub top_speed: Fact<Option<Speed>>,
    /// Every ride since handover (and each road test before) that running-in has a limit for.
    pub rides: Vec<RideJudged>,
}

/// What a ride's speed says of the running-in limit of its day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RideAnswer {
    /// Below anything the speedometer could have shown over the limit.
    Clear,
    /// A true speed at which the speedometer may have shown more than the limit (UN R39, paragraph 5.3).
    Possible,
    /// The speedometer showed more than the limit.
    Breach,
    /// More than the limit, wherever the speed was read; as nobody wrote that down, nobody can tell whether it was true.
    BreachUnsourced,
    /// The true speed was above the limit.
    BeyondDoubt,
}

/// One ride against the running-in limit of its day.
#[derive(Debug, Clone, PartialEq)]
pub struct RideJudged {
    /// The ride's key among this machine's rides: its day and its top speed, with a count where several have both.
    pub key: String,
    /// Its day; today for a ride without a day, whose answer then lacks just that.
    pub day: Date,
    /// Its top speed, where one was recorded.
    pub top_speed: Option<Speed>,
    /// The limit it is held against: that of a short burst where the stage has one, else the stage's.
    pub limit: Option<Speed>,
    /// What its speed says.
    pub answer: Fact<RideAnswer>,
}

/// What a fill's grade says of the machine's fuel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FuelAnswer {
    /// A label that the machine may have.
    Right,
    /// More ethanol than the machine may have (EN 228, EN 16942).
    TooMuchEthanol,
    /// A diesel or gas label in a petrol machine: it must not be started.
    NotPetrol,
}

/// One fill against the machine's fuel.
#[derive(Debug, Clone, PartialEq)]
pub struct FillJudged {
    /// The fill's key among this machine's fills: its day and its grade, with a count where several have both.
    pub key: String,
    /// Its day, where one was recorded.
    pub day: Option<Date>,
    /// The grade as written; empty when nothing was.
    pub grade: String,
    /// What the grade says.
    pub answer: Fact<FuelAnswer>,
    /// Miles to the UK gallon since the last full fill, where both are full and nothing between is unknown.
    pub miles_a_gallon: Option<f64>,
    /// The least miles to the gallon that would be no surprise after this machine's own earlier fills; less is a
    /// drop worth a look. `None` while there are too few of them.
    pub usually_at_least: Option<f64>,
}

/// What the oil that went in says of what the machine asks.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum OilAnswer {
    /// The grade and the class asked for.
    Right,
    /// The wrong class for the clutch, in words: `MB where MA2 is asked`.
    WrongClass(String),
    /// Not the viscosity asked for, in words.
    WrongGrade(String),
}

/// The oil of one job against what the machine asks.
#[derive(Debug, Clone, PartialEq)]
pub struct OilJudged {
    /// The job's key among this machine's oil jobs: its day and its oil, with a count where several have both.
    pub key: String,
    /// Its day, where one was recorded.
    pub day: Option<Date>,
    /// The oil as written.
    pub oil: String,
    /// Whether it is the oil in the engine now: no later job put another in.
    pub in_the_engine: bool,
    /// What it says.
    pub answer: Fact<OilAnswer>,
}

/// One thing that must be done before handover and is not shown to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenCheck {
    /// What it is, in the shop's words: `quality check`, `second road test`.
    pub what: String,
    /// Why it is open: `not recorded`, `failed on 3 Nov`, `signed by the same person`.
    pub why: String,
    /// Whether it was done and failed, and is not only waiting to be done.
    pub failed: bool,
    /// The cell that keeps it open because it does not say pass or fail.
    pub unclear: Option<Origin>,
    /// What shows it; a check that nobody recorded has nothing to show.
    pub shown_by: Vec<Evidence>,
}

/// How the machine stands before its handover.
#[derive(Debug, Clone, PartialEq)]
pub struct BeforeHandover {
    /// The handover's day.
    pub handover: Fact<Date>,
    /// Everything still open; nothing blank counts as passed. What failed comes first, what nobody recorded last.
    pub open: Vec<OpenCheck>,
    /// What nobody can tell to be open or done, since no sheet of the shop holds any of it.
    pub not_kept: Option<Missing>,
    /// What shows the rest to be done.
    pub shown_by: Vec<Evidence>,
}

/// Whether the machine is shown to be registered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Registration {
    /// What is lacking; `None` where a day that has come or a mark shows it.
    pub lacks: Option<String>,
    /// What shows it.
    pub shown_by: Vec<Evidence>,
}

/// How the machine stands with its torque re-check, which is due after the first ride.
#[derive(Debug, Clone, PartialEq)]
pub struct Torque {
    /// The day of the first ride.
    pub first_ride: Fact<Date>,
    /// The day of the last torque check that passed.
    pub checked_on: Fact<Date>,
    /// Whether one passed after the first ride.
    pub rechecked: Fact<bool>,
    /// Whether the last of them failed or was not done, so that it is among the checks that are open.
    pub open: bool,
}

/// Whether the machine stands unused.
#[derive(Debug, Clone, PartialEq)]
pub struct Stands {
    /// The note that says it is laid up; not known where the note asks it.
    pub laid_up: Result<Option<Evidence>, Missing>,
    /// Whether it stands in the shop, not sold.
    pub in_stock: bool,
    /// Whether any sheet says when machines came into the shop.
    pub arrivals_kept: bool,
    /// Since when it stands.
    pub since: Fact<Date>,
    /// Until when that is known: today in the shop, else its last reading.
    pub until: Date,
}

/// How the machine's MOT stands. The certificate's date always wins over arithmetic.
#[derive(Debug, Clone, PartialEq)]
pub struct Mot {
    /// The last day of the certificate, or the day by which the first one is needed.
    pub expiry: Fact<Date>,
    /// Whether the sheet says that it is exempt, in the words that stand in place of the certificate's end.
    pub exempt: Exempt,
    /// Whether that day was worked out from the registration, for want of a certificate's.
    pub worked_out: bool,
    /// The first day on which a test keeps the renewal date: a month less a day before the expiry.
    pub earliest_test: Fact<Date>,
    /// The day of a test that was done when it was time for one, and whose new end nobody has written down.
    pub tested_on: Fact<Date>,
    /// The last day to which such a test carries, if it was passed.
    pub runs_to: Fact<Date>,
}

/// Whether a machine is said to be exempt from the MOT.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Exempt {
    /// Nothing says so, or it is so young that it needs none yet.
    NotSaid,
    /// The sheet says so, and nothing against it.
    Said(Vec<Evidence>),
    /// The sheet says so, and its registration or mark shows that it is not old enough.
    TooYoung(Vec<Evidence>),
}

/// Something in the readings, or in the day of another record, that cannot be so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// Its key among this machine's doubts: what it is and the day.
    pub key: String,
    /// The day of the doubtful reading or record.
    pub day: Date,
    /// What cannot be so: `the clock goes down from 1,204 to 1,180 miles`.
    pub what: String,
    /// The likeliest meaning: `a digit was dropped`, `kilometres written for miles`.
    pub likely: String,
    /// The cells that show it.
    pub shown_by: Vec<Evidence>,
}

/// Something in the machine's mark, frame number or the days of its own row that looks mistyped; never an error.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// Its key among this machine's notes: what it is about.
    pub key: String,
    /// What looks wrong: `AB12 CDE was first given on 1 Mar 2012, after the registration on 3 Nov 2011`.
    pub what: String,
    /// The likeliest meaning.
    pub likely: String,
    /// The cells that show it.
    pub shown_by: Vec<Evidence>,
}

/// How a machine stands if something that nobody knows is not so.
#[derive(Debug, Clone, PartialEq)]
pub struct Otherwise {
    /// The same day, with that one thing taken the other way.
    pub standing: Arc<Standing>,
    /// What would tell which of the two is so.
    pub hangs_on: Missing,
}

/// How a machine stands on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The day.
    pub today: Date,
    /// The last reading that no doubt hangs over.
    pub clock: Fact<Clock>,
    /// Why the only clocks that somebody wrote down do not count, as a sentence says it.
    pub clock_unread: Option<Evidence>,
    /// What the clock likely shows today; printed as an estimate, always.
    pub clock_today: Fact<Distance>,
    /// How far it goes in a day.
    pub usage: Fact<Usage>,
    /// The items of its service plan; an error when the handbook has no plan for it. A service of which nobody wrote
    /// which it was is taken to have done each of them that it may have done.
    pub services: Result<Vec<Service>, Missing>,
    /// How it stands if that service did none of them; `None` where there is no such service.
    pub otherwise: Option<Otherwise>,
    /// What running-in asks.
    pub running_in: RunningIn,
    /// Its fills.
    pub fills: Vec<FillJudged>,
    /// The oil of its jobs.
    pub oils: Vec<OilJudged>,
    /// The day since when a customer has had it or will have it: the handover, else the registration of a machine
    /// that was sold and whose handover nobody wrote down. Its first service's months count from it.
    pub customer_since: Fact<Date>,
    /// Whether a customer has it today who brings it here for its services: since that day or, where no day tells, since
    /// the shop did a service on it that is not its own; yes for all where the shop hands nothing over.
    pub with_customer: Fact<bool>,
    /// Whether it was new on that day; taken for new, and the evidence says so, where a machine was handed over and
    /// nothing tells.
    pub new_at_handover: Fact<bool>,
    /// How it stands before handover.
    pub before_handover: BeforeHandover,
    /// Whether it is registered.
    pub registration: Registration,
    /// Its torque re-check.
    pub torque: Torque,
    /// Whether the running-in oil came out.
    pub running_in_oil_out: Fact<bool>,
    /// Whether it stands unused.
    pub stands: Stands,
    /// Its MOT.
    pub mot: Mot,
    /// What in its readings, and in the days of its records, cannot be so.
    pub doubts: Vec<Doubt>,
    /// What in the days of its own row looks mistyped.
    pub row_notes: Vec<Note>,
    /// What in its mark and its frame number looks mistyped.
    pub identity_notes: Vec<Note>,
}
