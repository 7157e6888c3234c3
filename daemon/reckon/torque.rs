//! The torque re-check: whether it was done after the machine's first ride, when what has settled shows.

use jiff::civil::Date;

use super::checks::check_cell;
use super::job_text::says_done;
use super::subject::{Subject, day_cell};
use super::{Fact, Missing, Reckoned, Torque};
use crate::origin::Evidence;
use crate::settings::words_of;
use crate::units::shown_day;
use crate::yard::{Check, CheckResult, Ride};

/// What a job's text says when bolts were checked with the torque wrench.
const CHECKED: [&str; 10] = [
    "torque check",
    "torque checked",
    "torque checks",
    "torque chk",
    "torque chkd",
    "torque re check",
    "torque recheck",
    "torques checked",
    "re torqued",
    "retorqued",
];

/// How a machine stands with its torque re-check.
pub(super) fn torque(subject: &Subject<'_>) -> Torque {
    let first_ride = first_ride(subject);
    let checked = checked(subject);
    let latest = checked.iter().flatten().max_by_key(|(day, _)| *day).cloned();
    let checked_on = latest.map(|(value, cell)| Reckoned { value, shown_by: vec![cell] });
    Torque {
        rechecked: first_ride.clone().and_then(|ride| rechecked(&ride, &checked)),
        first_ride,
        checked_on: checked_on.ok_or_else(not_recorded),
        open: open(subject),
    }
}

fn not_recorded() -> Missing {
    Missing::fact("torque re-check")
}

/// The day of the first ride that anybody wrote down, road tests among them.
fn first_ride(subject: &Subject<'_>) -> Fact<Date> {
    let come = |ride: &&Ride| ride.day.as_ref().is_some_and(|day| day.value <= subject.today);
    let days = subject.machine.rides.iter().filter(come).filter_map(|ride| ride.day.as_ref());
    let first = days.min_by_key(|day| day.value).ok_or_else(|| Missing::fact("first ride"))?;
    Ok(Reckoned { value: first.value, shown_by: vec![day_cell("first ride", first)] })
}

/// The torque checks that passed, each with its day; `None` for one of an unknown day.
fn checked(subject: &Subject<'_>) -> Vec<Option<(Date, Evidence)>> {
    let come = |day: Option<Date>| day.is_none_or(|day| day <= subject.today);
    let day = |check: &Check| check.day.as_ref().map(|day| day.value);
    let checks = of_torque(subject).filter(|check| check.result.value == CheckResult::Passed);
    let checks = checks.filter(|check| is_of_all_bolts(&check.item.value));
    let checks = checks.filter(|check| come(day(check)));
    let checks = checks.map(|check| day(check).map(|day| (day, check_cell(check))));
    let jobs = subject.machine.jobs.iter().filter(|job| subject.has_come(job.day.as_ref()));
    let jobs = jobs.filter(|job| job.doubt.is_none());
    let jobs = jobs.filter(|job| CHECKED.iter().any(|phrase| says_done(&job.done.value, phrase)));
    let jobs = jobs.filter(|job| {
        let parts = job.done.value.split([',', ';', '.', '+', '&', '\n']);
        parts.filter(|part| torque_words(part).next().is_some()).all(is_of_all_bolts)
    });
    let jobs = jobs.map(|job| {
        let day = job.day.as_ref()?.value;
        let shown = format!("{} on {}", job.done.value, shown_day(day));
        Some((day, Evidence::of("job", shown, &job.done.origin)))
    });
    checks.chain(jobs).collect()
}

/// Whether one of the checks came after the first ride. What is of the very day of that ride may have come before it.
fn rechecked(ride: &Reckoned<Date>, checked: &[Option<(Date, Evidence)>]) -> Fact<bool> {
    let with = |cell: &Evidence| ride.shown_by.iter().chain([cell]).cloned().collect();
    let mut dated: Vec<&(Date, Evidence)> = checked.iter().flatten().collect();
    dated.sort_by_key(|(day, _)| *day);
    match dated.last() {
        Some((day, cell)) if *day > ride.value => Ok(Reckoned { value: true, shown_by: with(cell) }),
        _ if checked.iter().any(Option::is_none) => Err(Missing::fact("day of the torque re-check")),
        Some((day, _)) if *day == ride.value => {
            Err(Missing(vec![format!("which came first on {}, ride or torque check", shown_day(*day))]))
        }
        Some((_, cell)) => Ok(Reckoned { value: false, shown_by: with(cell) }),
        None => Err(not_recorded()),
    }
}

/// Whether the last that is written of it is that it failed or was not done: then it is among what is left open.
fn open(subject: &Subject<'_>) -> bool {
    let come = of_torque(subject).filter(|check| subject.has_come(check.day.as_ref()));
    let last = come.max_by_key(|check| {
        (check.day.as_ref().map(|day| day.value), check.result.value != CheckResult::Passed)
    });
    last.is_some_and(|check| check.result.value != CheckResult::Passed)
}

fn of_torque<'a>(subject: &Subject<'a>) -> impl Iterator<Item = &'a Check> {
    let checks = subject.machine.checks.iter();
    checks.filter(|check| torque_words(&check.item.value).next().is_some())
}

/// The places of a text's words that begin as `torque` does.
fn torque_words(text: &str) -> impl Iterator<Item = usize> + use<> {
    let words = words_of(text).into_iter().enumerate();
    words
        .filter(|(_, word)| word.starts_with("torque") || word.starts_with("retorque"))
        .map(|(place, _)| place)
}

/// Whether what was checked is that the bolts hold, and neither a tool nor a part of them alone, nor only planned:
/// `torque wrench calibration`, `rear wheel only`, `re-check booked`, `re-check (to do)`. Common practice, no source.
fn is_of_all_bolts(text: &str) -> bool {
    const OTHER_THINGS: [&str; 9] =
        ["arm", "converter", "driver", "limiter", "screwdriver", "sensor", "spec", "specs", "wrench"];
    const WITH: [&str; 3] = ["by", "using", "with"];
    const TO_COME: [&str; 4] = ["be", "do", "follow", "go"];
    const TAKING_BACK: [&str; 26] = [
        "awaiting",
        "booked",
        "booking",
        "calibrated",
        "calibration",
        "due",
        "later",
        "missing",
        "need",
        "needed",
        "needs",
        "no",
        "not",
        "only",
        "open",
        "outstanding",
        "overdue",
        "pending",
        "planned",
        "required",
        "skipped",
        "tba",
        "tbc",
        "tbd",
        "todo",
        "waiting",
    ];
    let words = words_of(text);
    let is_other_thing = |place: usize| {
        let is_tool_used = place > 0 && WITH.contains(&words[place - 1].as_str());
        let next = words.get(place + 1);
        !is_tool_used && next.is_some_and(|word| OTHER_THINGS.contains(&word.as_str()))
    };
    let is_taken_back = |word: &String| TAKING_BACK.contains(&word.as_str());
    let is_to_come = words.windows(2).any(|two| two[0] == "to" && TO_COME.contains(&two[1].as_str()));
    !text.contains('?')
        && !is_to_come
        && !words.iter().any(is_taken_back)
        && !torque_words(text).any(is_other_thing)
}
