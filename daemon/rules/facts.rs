//! The one table of the facts that a rule can ask for: getters, checker, suggestions and reference come from it.

use super::looked_up::{
    a_week, ageing, anything_open, counted, day, doubts, falls_due, how_wrong, identity_doubts, inner,
    is_registered, lacking, left_open, length, miles_a_gallon, missed, mot_exempt, mot_exempt_doubted,
    mot_worked_out, noted_as_laid_up, on_the_clock, pace, plain, planned, services, sum, terms, things,
    unusually_thirsty, usually_at_least, when, whole, written,
};
use super::other_names;
use super::part::Part;
use super::sort_of_value::{Kind, Sort};
use super::value::{Shown, Value};
use crate::problem::nearest;
use crate::reckon::{FuelAnswer, Missing, OilAnswer, RideAnswer};
use crate::yard::{EthanolLabel, MachineKind};

/// A fact's value with what shows it.
pub(super) struct Known<'a> {
    /// The value.
    pub(super) value: Value<'a>,
    /// What it rests on.
    pub(super) shown_by: Shown<'a>,
}

/// What is missing where a fact is not known; put into words only where somebody is told.
#[derive(Clone)]
pub(super) enum Lack<'a> {
    /// The fact itself, by its name in the trade.
    Fact(&'static str),
    /// What a sum lacked.
    OfSum(&'a Missing),
    /// The same, of a fact that says most by not being there: that it is not there cannot be told either.
    Unjudged(&'a Missing),
    /// A fact that no table names.
    Other(String),
}

impl Lack<'_> {
    /// The missing facts in the trade's words.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        let (one, several): (Option<&str>, &[String]) = match self {
            Lack::Fact(name) => (Some(name), &[]),
            Lack::OfSum(missing) | Lack::Unjudged(missing) => (None, &missing.0),
            Lack::Other(name) => (Some(name), &[]),
        };
        one.into_iter().chain(several.iter().map(String::as_str))
    }

    /// Whether even `has` and `maybe` cannot tell.
    pub(super) fn is_unjudged(&self) -> bool {
        matches!(self, Lack::Unjudged(_))
    }

    /// The same, each as its own text.
    pub(super) fn missing(&self) -> Missing {
        Missing(self.names().map(str::to_owned).collect())
    }
}

/// A fact, or what it lacks.
pub(super) type Found<'a> = Result<Known<'a>, Lack<'a>>;

/// How a fact is looked up, given its name in the trade.
type Get = for<'a> fn(Part<'a>, &'static str) -> Found<'a>;

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
    pub(super) get: Get,
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
    get: Get,
) -> Fact {
    Fact { of, name, is, trade, says, get }
}

/// All facts, in the order of the reference.
pub(super) fn all() -> impl Iterator<Item = &'static Fact> {
    WRITTEN.iter().chain(RECKONED).chain(OF_THINGS).chain(OF_THE_YARD)
}

use Kind::{Absentee, Doubt, Fault, Fill, Machine, Oil, Ride, Service, Sheet, Signer, Yard};
use Sort::{Day, OneOf, Text, Whole, YesNo};

#[rustfmt::skip]
const WRITTEN: &[Fact] = &[
    fact(Machine, "today", Day, "today", "the day that is judged", |thing, _| plain(thing.standing().today)),
    fact(Machine, "name", Text, "name", "make, model and mark, as far as known",
        |thing, _| plain(thing.machine().name())),
    fact(Machine, "mark", Text, "registration mark", "the registration mark",
        |thing, trade| written(&thing.machine().identity.mark, trade, |mark| mark.to_string().into())),
    fact(Machine, "frame_no", Text, "frame number", "the frame number",
        |thing, trade| written(&thing.machine().identity.frame_no, trade, |number| number.to_string().into())),
    fact(Machine, "stock_no", Text, "stock number", "the shop's stock number",
        |thing, trade| written(&thing.machine().identity.stock_no, trade, |number| number.as_str().into())),
    fact(Machine, "make", Text, "make", "the maker", |thing, trade| written(&thing.row().make, trade, |text| text.as_str().into())),
    fact(Machine, "model", Text, "model", "the model", |thing, trade| written(&thing.row().model, trade, |text| text.as_str().into())),
    fact(Machine, "kind", OneOf(KINDS), "kind of machine", "motorcycle, moped, scooter, three-wheeler or car",
        |thing, trade| written(&thing.row().kind, trade, |kind: &MachineKind| kind.name().into())),
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
        |thing, trade| written(&thing.row().customer, trade, |text| text.as_str().into())),
    fact(Machine, "telephone", Text, "telephone number", "the customer's telephone number",
        |thing, trade| written(&thing.row().telephone, trade, |text| text.as_str().into())),
    fact(Machine, "fuel_allowed", OneOf(LABELS), "fuel allowed",
        "the highest petrol label it may be filled with, as its own row says: E5, E10 or E85",
        |thing, trade| written(&thing.row().fuel_allowed, trade, |label: &EthanolLabel| label.name().into())),
    fact(Machine, "oil_asked", Text, "oil asked", "the oil it asks for, as its own row says",
        |thing, trade| written(&thing.row().oil_asked, trade, |text| text.as_str().into())),
    fact(Machine, "warranty_end", Day, "end of warranty", "the last day of its warranty",
        |thing, trade| day(thing.row().warranty_end.as_ref(), trade)),
    fact(Machine, "note", Text, "note", "what somebody noted",
        |thing, trade| written(&thing.row().note, trade, |text| text.as_str().into())),
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
        "the clock in words: `about 480 miles by now; 412 miles on 3 Nov 2026`, or why what was written down does not count",
        on_the_clock),
    fact(Machine, "distance_a_week", Sort::Distance, "pace",
        "how far it goes in a week; always printed with `about`",
        |thing, _| sum(&thing.standing().usage, |usage| a_week(thing, usage.miles_a_day))),
    fact(Machine, "stage", Text, "running-in stage",
        "the running-in stage it is in; not there once running-in is over; where nobody can tell, `has` and `maybe` cannot either",
        |thing, trade| inner(&thing.standing().running_in.stage, trade, String::as_str)),
    fact(Machine, "stage_top_speed", Sort::Speed, "running-in speed",
        "the top speed of that stage; not there when there is no limit; where nobody can tell, `has` and `maybe` cannot either",
        |thing, trade| inner(&thing.standing().running_in.top_speed, trade, |speed| pace(thing, *speed))),
    fact(Machine, "customer_since", Day, "handover",
        "the day since when a customer has had it or will have it: handover, else the registration of one that was sold",
        |thing, _| sum(&thing.standing().customer_since, |day| *day)),
    fact(Machine, "with_customer", YesNo, "handover",
        "whether a customer has it today who brings it here: since that day or, where no day tells, as a service shows that the shop did on it; yes for all where the shop hands nothing over",
        |thing, _| sum(&thing.standing().with_customer, |with| *with)),
    fact(Machine, "new_at_handover", YesNo, "clock reading at handover",
        "whether it was new on that day: just registered, or with next to nothing on its clock; yes where neither is known and its mark is not much older",
        |thing, _| sum(&thing.standing().new_at_handover, |new| *new)),
    fact(Machine, "mot_expiry", Day, "MOT expiry",
        "the last day of its MOT, or the day by which it needs its first",
        |thing, _| sum(&thing.standing().mot.expiry, |day| *day)),
    fact(Machine, "mot_exempt", YesNo, "MOT expiry",
        "whether the sheet says in place of that day that it is exempt; no for one that is too young to need its first test",
        |thing, _| mot_exempt(&thing.standing().mot)),
    fact(Machine, "mot_exempt_doubted", YesNo, "MOT expiry",
        "whether it is said to be exempt although its registration, the day it was built or its mark shows less than 40 years",
        |thing, _| mot_exempt_doubted(&thing.standing().mot)),
    fact(Machine, "mot_worked_out", YesNo, "MOT expiry",
        "whether that day was worked out from the registration, for want of a certificate's; not known where there is no such day",
        |thing, _| mot_worked_out(&thing.standing().mot)),
    fact(Machine, "mot_earliest_test", Day, "MOT expiry",
        "the first day on which a test keeps the renewal date",
        |thing, _| sum(&thing.standing().mot.earliest_test, |day| *day)),
    fact(Machine, "mot_tested_on", Day, "MOT test since the one that is written down",
        "the day of an MOT test that a job tells of, where nobody has written down the new end",
        |thing, _| sum(&thing.standing().mot.tested_on, |day| *day)),
    fact(Machine, "mot_runs_to", Day, "MOT test since the one that is written down",
        "the day to which that test carries at the latest, if it was passed",
        |thing, _| sum(&thing.standing().mot.runs_to, |day| *day)),
    fact(Machine, "anything_open", YesNo, "checks before handover",
        "whether anything that must be done before handover is not shown to be",
        anything_open),
    fact(Machine, "anything_failed", YesNo, "checks before handover",
        "whether any of that was done and failed, and nothing shows it put right",
        |thing, _| plain(thing.standing().before_handover.open.iter().any(|check| check.failed))),
    fact(Machine, "left_open", Text, "checks before handover",
        "what that is, in words, with what failed first: `brakes (failed on 3 Nov 2026); quality check and second road test (not recorded)`",
        left_open),
    fact(Machine, "is_registered", YesNo, "registration",
        "whether it is shown to be registered: by a day that has come or, where no day is written, by a mark",
        |thing, _| is_registered(thing)),
    fact(Machine, "why_not_registered", Text, "registration",
        "what that lacks, in words; not there when it is registered",
        |thing, trade| missed(thing.standing().registration.lacks.as_ref(), trade)),
    fact(Machine, "first_ride", Day, "first ride", "the day of its first ride, road tests among them",
        |thing, _| sum(&thing.standing().torque.first_ride, |day| *day)),
    fact(Machine, "torque_checked_on", Day, "torque re-check", "the day of its last torque check that passed",
        |thing, _| sum(&thing.standing().torque.checked_on, |day| *day)),
    fact(Machine, "torque_rechecked", YesNo, "torque re-check",
        "whether a torque check passed on a day after its first ride",
        |thing, _| sum(&thing.standing().torque.rechecked, |yes| *yes)),
    fact(Machine, "torque_check_open", YesNo, "torque re-check",
        "whether its last torque check failed or was not done; it is then among what is left open before handover",
        |thing, _| plain(thing.standing().torque.open)),
    fact(Machine, "running_in_oil_out", YesNo, "oil that went in at the first service",
        "whether a job took out the oil with which it was new",
        |thing, _| sum(&thing.standing().running_in_oil_out, |out| *out)),
    fact(Machine, "in_stock", YesNo, "sale", "whether it stands in the shop: it is listed there, and no customer, sale or handover is written down",
        |thing, _| plain(thing.standing().stands.in_stock)),
    fact(Machine, "arrivals_kept", YesNo, "arrival",
        "whether any sheet says when machines came into the shop; where none does, the letter says so once for all of them",
        |thing, _| plain(thing.standing().stands.arrivals_kept)),
    fact(Machine, "noted_as_laid_up", YesNo, "note", "whether its note says that it is laid up, stored or off the road; not known where it only asks: `laid up?`",
        |thing, _| noted_as_laid_up(thing)),
    fact(Machine, "stands_since", Day, "clock reading",
        "the day since when it has hardly moved: by its readings, or, unsold in the shop, since it came or was last ridden",
        |thing, _| sum(&thing.standing().stands.since, |day| *day)),
    fact(Machine, "stands_until", Day, "clock reading",
        "the day until when that is known: today in the shop, else that of its last reading",
        |thing, _| plain(thing.standing().stands.until)),
    fact(Machine, "services", Sort::List(Service), "service plan", "the items of its service plan", services),
    fact(Machine, "ageing", Sort::List(Service), "service plan",
        "those items of its service plan that age, ridden or not, as brake fluid does", ageing),
    fact(Machine, "rides", Sort::List(Ride), "rides", "its rides that running-in has a limit for",
        |thing, _| things(Ride, thing.standing().running_in.rides.len())),
    fact(Machine, "fills", Sort::List(Fill), "fills", "its fuel fills",
        |thing, _| things(Fill, thing.standing().fills.len())),
    fact(Machine, "oils", Sort::List(Oil), "oils", "the oil of each of its jobs",
        |thing, _| things(Oil, thing.standing().oils.len())),
    fact(Machine, "doubts", Sort::List(Doubt), "doubtful readings",
        "what in its readings and days cannot be so; none is an answer, where there are readings",
        doubts),
    fact(Machine, "identity_doubts", Sort::List(Doubt), "doubtful marks",
        "what in its mark and frame number looks mistyped; none is an answer, where there is either",
        identity_doubts),
];

#[rustfmt::skip]
const OF_THINGS: &[Fact] = &[
    fact(Service, "item", Text, "service item", "the item's name in the plan",
        |thing, _| plain(&thing.service().item)),
    fact(Service, "is_first", YesNo, "service item", "whether it is the first service, however the plan writes that",
        |thing, _| plain(thing.service().is_first)),
    fact(Service, "ages", YesNo, "service item",
        "whether it ages, ridden or not, as brake fluid does: a fluid by its name, or months only and no service",
        |thing, _| plain(thing.service().ages)),
    fact(Service, "last_done", Day, "last time done", "the day it was last done",
        |thing, trade| thing.service().last_done.map_or_else(|| lacking(trade), plain)),
    fact(Service, "overtaken_by", Text, "later service",
        "of the first service: the later one that was done although this one is not recorded: `annual service on 1 Sep 2026`",
        |thing, _| sum(&thing.service().overtaken_by, String::as_str)),
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
        |thing, _| match &thing.ride().answer {
            Ok(answer) if answer.value == RideAnswer::BreachUnsourced => {
                Err(Lack::Other("what the top speed was read from".to_owned()))
            }
            answer => sum(answer, |answer| *answer == RideAnswer::BeyondDoubt),
        }),
    fact(Ride, "perhaps_too_fast", YesNo, "top speed",
        "whether the speedometer may have shown more than the limit",
        |thing, _| sum(&thing.ride().answer, |answer| *answer == RideAnswer::Possible)),
    fact(Fill, "day", Day, "day of the fill", "its day",
        |thing, trade| thing.fill().day.map_or_else(|| lacking(trade), plain)),
    fact(Fill, "grade", Text, "fuel grade", "the grade as written",
        |thing, trade| if thing.fill().grade.is_empty() { lacking(trade) } else { plain(&thing.fill().grade) }),
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
    fact(Oil, "text", Text, "oil", "the oil as written", |thing, _| plain(&thing.oil().oil)),
    fact(Oil, "in_the_engine", YesNo, "oil", "whether it is the oil in the engine now",
        |thing, _| plain(thing.oil().in_the_engine)),
    fact(Oil, "right", YesNo, "oil", "whether it is the oil asked for",
        |thing, _| sum(&thing.oil().answer, |answer| *answer == OilAnswer::Right)),
    fact(Oil, "wrong_class", YesNo, "oil", "whether its class is wrong for the clutch",
        |thing, _| sum(&thing.oil().answer, |answer| matches!(answer, OilAnswer::WrongClass(_)))),
    fact(Oil, "wrong_grade", YesNo, "oil", "whether its viscosity is not the one asked for",
        |thing, _| sum(&thing.oil().answer, |answer| matches!(answer, OilAnswer::WrongGrade(_)))),
    fact(Oil, "how_wrong", Text, "oil", "what is wrong with it, in words; not there when it is right; where nobody can tell, `has` and `maybe` cannot either",
        |thing, trade| how_wrong(thing.oil(), trade)),
    fact(Doubt, "day", Day, "day of the reading",
        "the day of the doubtful record; a doubtful mark, frame number or day of its own row has none",
        |thing, trade| thing.doubt().day.map_or_else(|| lacking(trade), plain)),
    fact(Doubt, "what", Text, "doubtful figure", "what cannot be so",
        |thing, _| plain(thing.doubt().what)),
    fact(Doubt, "likely", Text, "doubtful figure", "the likeliest meaning",
        |thing, _| plain(thing.doubt().likely)),
];

#[rustfmt::skip]
const OF_THE_YARD: &[Fact] = &[
    fact(Yard, "today", Day, "today", "the day that is judged", |thing, _| plain(thing.yard().today)),
    fact(Yard, "machines", Whole, "machines", "how many machines the sheets list",
        |thing, _| counted(thing.yard().machines)),
    fact(Yard, "faults", Sort::List(Fault), "faults",
        "the checks that failed within the last year, each by model; none is an answer",
        |thing, _| things(Fault, thing.yard().faults.len())),
    fact(Yard, "absentees", Sort::List(Absentee), "absentees",
        "the machines that the sheets named before and do not name any more; none is an answer",
        |thing, _| things(Absentee, thing.yard().absentees.len())),
    fact(Yard, "signers", Sort::List(Signer), "signers",
        "who signed checks of the last 90 days, whoever signed most first",
        |thing, _| things(Signer, thing.yard().signers.len())),
    fact(Yard, "signer_count", Whole, "signers", "how many people that are",
        |thing, _| counted(thing.yard().signers.len())),
    fact(Yard, "signed_checks", Whole, "signers", "how many checks they signed",
        |thing, _| counted(thing.yard().signers.iter().map(|signer| signer.signed).sum())),
    fact(Yard, "sheets", Sort::List(Sheet), "sheets", "the sheets that were read",
        |thing, _| things(Sheet, thing.yard().sheets.len())),
    fact(Yard, "last_renewed", Day, "sheets", "the day on which the newest of them was saved",
        |thing, trade| thing.yard().sheets.iter().map(|sheet| sheet.renewed).max().map_or_else(|| lacking(trade), plain)),
    fact(Signer, "name", Text, "name", "the name as it was signed", |thing, _| plain(&thing.signer().name)),
    fact(Signer, "signed", Whole, "checks", "how many checks of the last 90 days", |thing, _| counted(thing.signer().signed)),
    fact(Sheet, "name", Text, "sheet", "its file, with its worksheet where it has one",
        |thing, _| plain(&thing.sheet().name)),
    fact(Sheet, "renewed", Day, "sheet", "the day on which it was last saved", |thing, _| plain(thing.sheet().renewed)),
    fact(Sheet, "open_days_since", Whole, "sheet", "how many open days have gone by since, today not counted",
        |thing, _| counted(thing.sheet().open_days)),
    fact(Fault, "model", Text, "model", "make and model of the machines",
        |thing, trade| missed(thing.fault().model.as_ref(), trade)),
    fact(Fault, "item", Text, "check", "the check that failed", |thing, _| plain(&thing.fault().item)),
    fact(Fault, "machines", Whole, "machines", "on how many machines of that model it failed, whether it passed since or not",
        |thing, _| counted(thing.fault().machines)),
    fact(Fault, "named", Text, "machines", "those machines by their marks", |thing, _| plain(&thing.fault().named)),
    fact(Fault, "last", Day, "day of the check", "the day on which it last failed",
        |thing, trade| thing.fault().last.map_or_else(|| lacking(trade), plain)),
    fact(Absentee, "name", Text, "name", "the machine as it was last named",
        |thing, _| plain(&thing.absentee().name)),
    fact(Absentee, "last_named", Day, "day last named in a sheet", "the last day on which a sheet named it",
        |thing, trade| thing.absentee().last_named.map_or_else(|| lacking(trade), plain)),
    fact(Absentee, "open", Whole, "open findings", "how many findings of it stand open",
        |thing, _| counted(thing.absentee().open)),
];

/// The fact of that kind and name.
pub(super) fn named(kind: Kind, name: &str) -> Option<&'static Fact> {
    all().find(|fact| fact.of == kind && fact.name == name)
}

/// What to say of a fact that there is not.
pub(super) fn no_such(kind: Kind, name: &str) -> (String, String) {
    let what = format!("{} has no `{name}`", kind.with_article());
    let names = all().filter(|fact| fact.of == kind).map(|fact| fact.name).chain(["has", "maybe"]);
    let known = |fact: &&str| named(kind, fact).is_some();
    if let Some(fact) = name.strip_prefix("has_").filter(known) {
        return (what, format!("write a dot: `has.{fact}`"));
    }
    let other = other_names::fact(name).filter(known);
    let help = match other.or_else(|| nearest(name, names)) {
        Some(near) => {
            format!("write `{near}` if that is what you mean; `tickover rules words` lists all facts")
        }
        None => "look the fact up in what `tickover rules words` lists".to_owned(),
    };
    (what, help)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_in_a_word_before_a_fact_is_told_with_the_word_that_is_meant() {
        for (slip, meant) in [("haz", "has"), ("maybee", "maybe"), ("customr_since", "customer_since")] {
            let (what, help) = no_such(Kind::Machine, slip);
            assert_eq!(what, format!("a machine has no `{slip}`"));
            assert!(help.starts_with(&format!("write `{meant}` if that is what you mean")), "{help}");
        }
    }
}
