//! What is still open before a machine may be handed over. Nothing blank counts as passed.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::checks::{Item, Outcome, check_cell};
use super::subject::{Subject, day_cell};
use super::{BeforeHandover, Missing, OpenCheck, Reckoned, Registration};
use crate::origin::{Entry, Evidence};
use crate::problem::counted;
use crate::settings::{Practice, check_key, may_be_same_person, names_somebody, same_words};
use crate::units::{Distance, Months, months_after, shown_day};
use crate::yard::{Check, CheckResult, Machine, Ride};

/// For so long what was found before a handover is good for it. Our decision; no source.
const GOOD_FOR: Months = Months(12);

/// How a machine stands before its handover.
pub(super) fn before_handover(subject: &Subject<'_>) -> BeforeHandover {
    let handover = match &subject.machine.row.handover {
        Some(handover) => {
            Ok(Reckoned { value: handover.value, shown_by: vec![day_cell("handover", handover)] })
        }
        None => Err(Missing::fact("handover")),
    };
    let mut list = List { open: Vec::new(), shown_by: Vec::new() };
    let practice = subject.practice;
    if practice.keeps_checks {
        list.checks(subject);
    }
    if practice.keeps_road_tests {
        list.rides(subject);
    }
    // What matters most is read first: what failed, then what nobody can read, then what somebody left undone, then what
    // nobody wrote down.
    list.open.sort_by_key(|check| (!check.failed, check.unclear.is_none(), check.shown_by.is_empty()));
    BeforeHandover { handover, open: list.open, not_kept: not_kept(practice), shown_by: list.shown_by }
}

/// What the shop wants before a handover and none of its sheets holds; `None` where they hold all of it.
pub fn not_kept(practice: &Practice) -> Option<Missing> {
    let checks = !practice.keeps_checks && !practice.checks_before_handover.is_empty();
    let road_tests = !practice.keeps_road_tests && practice.rides_before_handover > 0;
    let kinds = [(checks, "checks"), (road_tests, "road tests")].into_iter().filter(|(lacks, _)| *lacks);
    let kinds: Vec<&str> = kinds.map(|(_, kind)| kind).collect();
    (!kinds.is_empty())
        .then(|| Missing::fact(&format!("{}, of which no sheet holds any", kinds.join(" and "))))
}

/// The practice with what the machines' records show a sheet to hold, beside what its columns show: a check, or a blank
/// where one belongs; a road test that lies before its machine's handover. Of one or two that went out without any it may
/// be that they were missed; our decision. And whether any says when a machine came in.
pub fn keeps<'m>(machines: impl Iterator<Item = &'m Machine>, practice: &Practice, today: Date) -> Practice {
    const LEAST_GONE: usize = 3;
    let mut shown = practice.clone();
    let mut gone = 0;
    let mut arrivals = 0;
    for machine in machines {
        let handover = machine.row.handover.as_ref().map(|day| day.value);
        gone += usize::from(handover.is_some_and(|day| day < today));
        let is_before = |ride: &Ride| match (&ride.day, handover) {
            (Some(day), Some(handover)) => day.value <= handover,
            _ => true,
        };
        arrivals += usize::from(machine.row.arrived.is_some());
        shown.keeps_checks |= !machine.checks.is_empty();
        shown.keeps_road_tests |= machine.rides.iter().chain(&machine.withdrawn.rides).any(is_before);
    }
    shown.keeps_checks |= gone < LEAST_GONE;
    shown.keeps_road_tests |= gone < LEAST_GONE;
    shown.keeps_arrivals = arrivals > 0;
    shown
}

/// What is open and what shows the rest to be done, as it comes together.
struct List {
    open: Vec<OpenCheck>,
    shown_by: Vec<Evidence>,
}

impl List {
    fn open(&mut self, what: impl Into<String>, why: impl Into<String>, shown_by: Vec<Evidence>) {
        self.open.push(OpenCheck {
            what: what.into(),
            why: why.into(),
            failed: false,
            unclear: None,
            shown_by,
        });
    }

    /// The wanted checks in the shop's order, the signature of the second person, then every other item that
    /// was recorded.
    fn checks(&mut self, subject: &Subject<'_>) {
        let wanted = &subject.practice.checks_before_handover;
        let mut items = items(subject);
        let mut first_signed: Option<&Check> = None;
        for (place, name) in wanted.iter().enumerate() {
            let recorded = items.remove(&check_key(name));
            let item =
                Item { name: name.clone(), checks: recorded.map_or_else(Vec::new, |item| item.checks) };
            let is_second = check_key(name) == check_key(&subject.practice.second_person_check);
            let Some(passed) = self.item(&item) else { continue };
            if let Some(on) = too_old(subject, passed.day.as_ref()) {
                let why = format!("passed on {}, {}", shown_day(on), long_before(subject));
                self.open(name.clone(), why, vec![check_cell(passed)]);
            }
            if place == 0 {
                first_signed = Some(passed);
            } else if is_second {
                self.second_person(name, passed, &wanted[0], first_signed);
            }
        }
        for item in items.into_values() {
            self.item(&item);
        }
    }

    /// One item; gives the check that shows it to have passed.
    fn item<'a>(&mut self, item: &Item<'a>) -> Option<&'a Check> {
        match item.outcome() {
            Outcome::Passed(check) => {
                self.shown_by.push(check_cell(check));
                Some(check)
            }
            Outcome::Failed(why, shown_by) => {
                self.open.push(OpenCheck {
                    what: item.name.clone(),
                    why,
                    failed: true,
                    unclear: None,
                    shown_by,
                });
                None
            }
            Outcome::Unclear(why, check) => {
                let shown_by = vec![check_cell(check)];
                let unclear = Some(check.result.origin.clone());
                self.open.push(OpenCheck { what: item.name.clone(), why, failed: false, unclear, shown_by });
                None
            }
            Outcome::Open(why, shown_by) => {
                self.open(item.name.clone(), why, shown_by);
                None
            }
        }
    }

    /// Whether the second check was signed by another person than the first. Where the first is open itself,
    /// there is nobody yet to compare with. A word that names nobody, such as `ditto`, is no signature.
    fn second_person(&mut self, name: &str, passed: &Check, first_name: &str, first: Option<&Check>) {
        let signer = |check: &Check| {
            check.by.as_ref().map(|by| by.value.trim().to_owned()).filter(|by| !by.is_empty())
        };
        let Some(second_signer) = signer(passed) else {
            return self.open(name, "signed by nobody", vec![check_cell(passed)]);
        };
        if !names_somebody(&second_signer) {
            let why = format!("signed \"{second_signer}\", which names nobody");
            return self.open(name, why, vec![check_cell(passed)]);
        }
        let Some(first) = first else { return };
        let shown_by = vec![check_cell(first), check_cell(passed)];
        match signer(first) {
            None => self.open(
                name,
                format!("nobody signed the {first_name}, so that nothing shows a second person"),
                shown_by,
            ),
            Some(first_signer) if !names_somebody(&first_signer) => {
                let why = format!(
                    "the {first_name} is signed \"{first_signer}\", which names nobody, so that nothing shows a second \
                     person"
                );
                self.open(name, why, shown_by);
            }
            Some(first_signer) if same_words(&first_signer, &second_signer) => {
                self.open(name, format!("signed by the same person as the {first_name}"), shown_by);
            }
            Some(first_signer) if may_be_same_person(&first_signer, &second_signer) => {
                let why =
                    format!("signed by {second_signer}, who may be the {first_signer} of the {first_name}");
                self.open(name, why, shown_by);
            }
            Some(_) => {}
        }
    }

    /// The road tests until the handover: how many, on how many days, how far.
    fn rides(&mut self, subject: &Subject<'_>) {
        let practice = subject.practice;
        let last = subject.handed_over().map_or(subject.today, |handover| handover.value);
        let rides = &subject.machine.rides;
        let counting: Vec<&Ride> =
            rides.iter().filter(|ride| ride.day.as_ref().is_some_and(|day| day.value <= last)).collect();
        let (old, counting): (Vec<&Ride>, Vec<&Ride>) =
            counting.into_iter().partition(|ride| too_old(subject, ride.day.as_ref()).is_some());
        let last_old = old.iter().filter_map(|ride| ride.day.as_ref()).map(|day| day.value).max();
        let undated = rides.iter().filter(|ride| ride.day.is_none()).count();
        let cells: Vec<Evidence> = counting
            .iter()
            .filter_map(|ride| ride.day.as_ref())
            .map(|day| day_cell("road test", day))
            .collect();
        let days: BTreeSet<Date> =
            counting.iter().filter_map(|ride| ride.day.as_ref()).map(|day| day.value).collect();
        let wanted = practice.rides_before_handover;
        if counting.len() < wanted {
            let mut why = match counting.len() {
                0 => "not recorded".to_owned(),
                done => format!("{done} of {wanted} recorded"),
            };
            if let Some(last_old) = last_old {
                let rides = counted(old.len(), "more ride");
                let when = long_before(subject);
                why.push_str(&format!("; {rides} until {}, {when}", shown_day(last_old)));
            }
            if undated > 0 {
                why.push_str(&format!("; {} without a day", counted(undated, "more ride")));
            }
            self.open(road_test(counting.len(), wanted), why, cells.clone());
        } else if days.len() < practice.ride_days_before_handover {
            let on: Vec<String> = days.iter().map(|day| shown_day(*day)).collect();
            let what = format!("road tests on {}", counted(practice.ride_days_before_handover, "day"));
            self.open(what, format!("all on {}", on.join(" and ")), cells.clone());
        }
        self.ride_distance(subject, &counting, &cells);
        self.shown_by.extend(cells);
    }

    /// How far the road tests went in all; without any, their number says enough.
    fn ride_distance(&mut self, subject: &Subject<'_>, rides: &[&Ride], cells: &[Evidence]) {
        let wanted = subject.practice.ride_distance_before_handover;
        let known = rides.iter().filter_map(|ride| ride.distance.as_ref());
        let gone = known.fold(Distance::ZERO, |gone, distance| gone + distance.value);
        if rides.is_empty() || gone >= wanted {
            return;
        }
        let unknown = rides.iter().filter(|ride| ride.distance.is_none()).count();
        let mut why = format!("{} of {} recorded", subject.shown(gone), subject.shown(wanted));
        if unknown > 0 {
            why.push_str(&format!("; {} without a distance", counted(unknown, "ride")));
        }
        self.open("road test distance", why, cells.to_vec());
    }
}

/// The day of a check or ride that was so long before the handover, or before today where that has no day, that it says
/// nothing of the machine that is handed over: it was of an earlier sale, or has stood since.
fn too_old(subject: &Subject<'_>, day: Option<&Entry<Date>>) -> Option<Date> {
    let day = day?.value;
    let until = subject.machine.row.handover.as_ref().map_or(subject.today, |handover| handover.value);
    months_after(day, GOOD_FOR).filter(|last| *last < until).map(|_| day)
}

/// How it is said that something was so long before.
fn long_before(subject: &Subject<'_>) -> &'static str {
    match subject.machine.row.handover {
        Some(_) => "more than a year before the handover",
        None => "more than a year ago",
    }
}

/// Registered: a day that has come, or, where no day is known, a mark.
pub(super) fn registration(subject: &Subject<'_>) -> Registration {
    match (&subject.machine.row.registered, &subject.machine.identity.mark) {
        (Some(registered), _) if registered.value > subject.today => Registration {
            lacks: Some(format!("registered only on {}", shown_day(registered.value))),
            shown_by: vec![day_cell("registered", registered)],
        },
        (Some(registered), _) => {
            Registration { lacks: None, shown_by: vec![day_cell("registered", registered)] }
        }
        (None, Some(mark)) => {
            let cell = Evidence::of("mark", &mark.value, &mark.origin);
            Registration { lacks: None, shown_by: vec![cell] }
        }
        (None, None) => Registration {
            lacks: Some("neither a day of registration nor a mark is recorded".to_owned()),
            shown_by: Vec::new(),
        },
    }
}

/// The recorded checks by item.
fn items<'a>(subject: &Subject<'a>) -> BTreeMap<String, Item<'a>> {
    let mut items: BTreeMap<String, Item<'_>> = BTreeMap::new();
    for check in &subject.machine.checks {
        let to_come = check.day.as_ref().is_some_and(|day| day.value > subject.today);
        if to_come && check.result.value == CheckResult::NotDone {
            // Planned for a later day: a torque re-check after the first miles.
            continue;
        }
        let item = items
            .entry(check_key(&check.item.value))
            .or_insert_with(|| Item { name: check.item.value.clone(), checks: Vec::new() });
        // A pass dated after today shows nothing yet: its item stays open without it.
        if !(to_come && check.result.value == CheckResult::Passed) {
            item.checks.push(check);
        }
    }
    items
}

/// The road tests that are still to come: `road tests`, `second road test`.
fn road_test(done: usize, wanted: usize) -> String {
    const ORDINALS: [&str; 6] = ["first", "second", "third", "fourth", "fifth", "sixth"];
    match (done, wanted - done) {
        (0, 1) => "road test".to_owned(),
        (done, 1) => ORDINALS
            .get(done)
            .map_or_else(|| "one more road test".to_owned(), |ordinal| format!("{ordinal} road test")),
        (0, missing) => counted(missing, "road test"),
        (_, missing) => counted(missing, "more road test"),
    }
}
