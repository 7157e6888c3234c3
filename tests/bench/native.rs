//! Five of the shipped rules in native Rust, as somebody would write them by hand: verdict, words, key and evidence.

use std::sync::{Arc, LazyLock};

use jiff::civil::Date;
use tickover::findings::{Judgement, Raised, Section, Verdict};
use tickover::origin::{Entry, Evidence};
use tickover::reckon::{Exempt, FillJudged, FuelAnswer, Missing, Reckoned, RideAnswer, RideJudged, Standing};
use tickover::units::{Days, SpeedUnit, shown_day};
use tickover::yard::Machine;

/// The rules of this file, by name.
pub(crate) const NATIVE: [&str; 5] =
    ["missed-checks", "mot-due", "registration-missing", "running-in-breach", "wrong-fuel"];

/// Their names, as answers share them.
static NAMES: LazyLock<[Arc<str>; 5]> = LazyLock::new(|| NATIVE.map(Arc::from));

/// What these rules say of a machine, in the order of their names.
pub(crate) fn judge(machine: &Machine, standing: &Standing, judgements: &mut Vec<Judgement>) {
    if machine.row.sold.is_some() || machine.row.handover.is_some() {
        one("missed-checks", machine, |seen| missed_checks(machine, standing, seen), judgements);
    }
    if machine.identity.mark.is_some() || machine.row.registered.is_some() || standing.mot.expiry.is_ok() {
        one("mot-due", machine, |seen| mot_due(machine, standing, seen), judgements);
    }
    if machine.row.sold.is_some() || machine.row.handover.is_some() {
        one(
            "registration-missing",
            machine,
            |seen| registration_missing(machine, standing, seen),
            judgements,
        );
    }
    for ride in &standing.running_in.rides {
        let of_ride = |seen: &mut Vec<_>| running_in_breach(machine, standing, ride, seen);
        keyed("running-in-breach", machine, &ride.key, of_ride, judgements);
    }
    for fill in &standing.fills {
        let of_fill = |seen: &mut Vec<_>| wrong_fuel(machine, standing, fill, seen);
        keyed("wrong-fuel", machine, &fill.key, of_fill, judgements);
    }
}

fn one(
    rule: &str,
    machine: &Machine,
    judge: impl FnOnce(&mut Vec<Evidence>) -> Result<Verdict, Missing>,
    judgements: &mut Vec<Judgement>,
) {
    keyed(rule, machine, "", judge, judgements);
}

fn keyed(
    rule: &str,
    machine: &Machine,
    key: &str,
    judge: impl FnOnce(&mut Vec<Evidence>) -> Result<Verdict, Missing>,
    judgements: &mut Vec<Judgement>,
) {
    let mut evidence = Vec::new();
    let mut verdict =
        judge(&mut evidence).unwrap_or_else(|missing| Verdict::CannotTell { missing: missing.0 });
    if let Verdict::Raised(raised) = &mut verdict
        && evidence.iter().any(|evidence| evidence.common_practice)
    {
        raised.text += " This is by rule of thumb: look in this machine's own handbook.";
    }
    let rule = NAMES.iter().find(|name| &***name == rule).expect("it is one of them").clone();
    let (machine, key) = (machine.id.clone(), key.to_owned());
    judgements.push(Judgement { rule, machine, key, verdict, evidence });
}

fn see(seen: &mut Vec<Evidence>, evidence: &Evidence) {
    if !seen.contains(evidence) {
        seen.push(evidence.clone());
    }
}

/// A sum's value, with its evidence seen.
fn sum<'a, T>(sum: &'a Result<Reckoned<T>, Missing>, seen: &mut Vec<Evidence>) -> Result<&'a T, Missing> {
    let reckoned = sum.as_ref().map_err(Clone::clone)?;
    reckoned.shown_by.iter().for_each(|evidence| see(seen, evidence));
    Ok(&reckoned.value)
}

/// The day of a cell, with its evidence seen.
fn day(entry: Option<&Entry<Date>>, trade: &str, seen: &mut Vec<Evidence>) -> Result<Date, Missing> {
    let entry = entry.ok_or_else(|| Missing::fact(trade))?;
    see(seen, &Evidence::of(trade, shown_day(entry.value), &entry.origin));
    Ok(entry.value)
}

fn handover(machine: &Machine, seen: &mut Vec<Evidence>) -> Result<Date, Missing> {
    day(machine.row.handover.as_ref(), "handover", seen)
}

fn before(day: Date, days: i64) -> Date {
    Days(days).before(day).expect("within the calendar")
}

fn after(day: Date, days: i64) -> Date {
    Days(days).after(day).expect("within the calendar")
}

fn raised(section: Section, text: String, due: Option<Date>) -> Verdict {
    Verdict::Raised(Raised { section, text, due, due_range: None, at_once: false })
}

fn missed_checks(
    machine: &Machine,
    standing: &Standing,
    seen: &mut Vec<Evidence>,
) -> Result<Verdict, Missing> {
    let today = standing.today;
    let handover = handover(machine, seen)?;
    let all = &standing.before_handover;
    let shown_by = all.open.iter().flat_map(|check| &check.shown_by).chain(&all.shown_by);
    shown_by.for_each(|evidence| see(seen, evidence));
    if all.open.is_empty() {
        return Ok(Verdict::Clear);
    }
    if handover < before(today, 180) && !all.open.iter().any(|check| check.failed) {
        return Ok(Verdict::TooLongAgo);
    }
    let alike = all.open.chunk_by(|check, next| check.why == next.why).map(|alike| {
        let names: Vec<&str> = alike.iter().map(|check| check.what.as_str()).collect();
        let names = match &names[..] {
            [others @ .., last] if !others.is_empty() => format!("{} and {last}", others.join(", ")),
            names => names.concat(),
        };
        format!("{names} ({})", alike[0].why)
    });
    let open = format!("with this still open: {}", alike.collect::<Vec<_>>().join("; "));
    let when = shown_day(handover);
    Ok(if handover < today {
        let text = format!(
            "Handover was on {when}, {open}. Do not let it go before that is done and written down; if it has gone, have \
             it back."
        );
        raised(Section::KeepInTheYard, text, Some(today))
    } else if handover == today {
        let text =
            format!("Handover is today, {open}. Do not let it go before that is done and written down.");
        raised(Section::KeepInTheYard, text, Some(today))
    } else if handover <= after(today, 7) {
        let text = format!("Handover is on {when}, {open}. Do it and write it down before then.");
        raised(Section::OnTheBench, text, Some(handover))
    } else {
        Verdict::Clear
    })
}

const TOO_YOUNG: &str = "The sheet says that it is exempt from the MOT, and it is less than 40 years old. Look at its papers: \
    write down the day to which its MOT runs, or the day it was built.";

fn mot_due(machine: &Machine, standing: &Standing, seen: &mut Vec<Evidence>) -> Result<Verdict, Missing> {
    let today = standing.today;
    let has_handover = machine.row.handover.is_some();
    let leaves = has_handover && handover(machine, seen)? >= today;
    match &standing.mot.exempt {
        Exempt::NotSaid => {}
        Exempt::Said(shown_by) => {
            shown_by.iter().for_each(|evidence| see(seen, evidence));
            return Ok(Verdict::Clear);
        }
        Exempt::TooYoung(shown_by) => {
            shown_by.iter().for_each(|evidence| see(seen, evidence));
            let section = if leaves { Section::KeepInTheYard } else { Section::PutTheSheetRight };
            return Ok(raised(section, TOO_YOUNG.to_owned(), Some(today)));
        }
    }
    if standing.mot.tested_on.is_ok() && *sum(&standing.mot.runs_to, seen)? >= today {
        return tested(standing, leaves, seen);
    }
    let expiry = *sum(&standing.mot.expiry, seen)?;
    let with_customer =
        *sum(&standing.with_customer, seen)? && (!has_handover || handover(machine, seen)? < today);
    let guessed = standing.mot.worked_out;
    let when = shown_day(expiry);
    if expiry < today {
        let out = if guessed {
            format!("The first MOT was needed by {when}, and no certificate is recorded")
        } else {
            format!("The MOT ran out on {when}")
        };
        if !with_customer {
            if !has_handover && machine.row.sold.is_none() {
                if machine.row.customer.is_none() {
                    return Ok(Verdict::Clear);
                }
                let text = format!("{out}. It may be ridden only to a booked test.");
                return Ok(raised(Section::RingToday, text, Some(today)));
            }
            let text = format!("{out}. Have it tested before it is handed over.");
            return Ok(raised(Section::KeepInTheYard, text, Some(today)));
        }
        if expiry < before(today, 180) {
            let missing = vec!["MOT certificate".to_owned()];
            return Ok(if guessed { Verdict::CannotTell { missing } } else { Verdict::TooLongAgo });
        }
        let text = format!("{out}. It may be ridden only to a booked test: find a day.");
        return Ok(raised(Section::RingToday, text, Some(today)));
    }
    let ahead = if guessed {
        format!("The first MOT is needed by {when}")
    } else {
        format!("The MOT runs out on {when}")
    };
    let earliest = shown_day(*sum(&standing.mot.earliest_test, seen)?);
    let text = format!("{ahead}; a test from {earliest} on keeps that date.");
    Ok(if expiry <= after(today, 14) && with_customer {
        raised(Section::RingToday, text, Some(expiry))
    } else if expiry <= after(today, 42) {
        raised(Section::BookIn, text, Some(expiry))
    } else {
        Verdict::Clear
    })
}

/// Of a machine with an MOT test whose new end is not written down.
fn tested(standing: &Standing, leaves: bool, seen: &mut Vec<Evidence>) -> Result<Verdict, Missing> {
    let day = shown_day(*sum(&standing.mot.tested_on, seen)?);
    let runs_to = shown_day(*sum(&standing.mot.runs_to, seen)?);
    let ask = format!(
        "An MOT test was done on {day}, and its new end is not written down; if it was passed, that is {runs_to} at the latest."
    );
    Ok(if leaves && standing.mot.expiry.is_err() {
        let text = format!("{ask} Look at the certificate before it is handed over.");
        raised(Section::KeepInTheYard, text, Some(standing.today))
    } else {
        raised(Section::PutTheSheetRight, format!("{ask} Write down what the certificate says."), None)
    })
}

fn registration_missing(
    machine: &Machine,
    standing: &Standing,
    seen: &mut Vec<Evidence>,
) -> Result<Verdict, Missing> {
    let today = standing.today;
    standing.registration.shown_by.iter().for_each(|evidence| see(seen, evidence));
    let Some(why) = &standing.registration.lacks else { return Ok(Verdict::Clear) };
    let handover = handover(machine, seen)?;
    let when = shown_day(handover);
    Ok(if handover < before(today, 180) {
        Verdict::TooLongAgo
    } else if handover < today {
        let text = format!(
            "Handover was on {when}, but {why}. If it has gone, find day and mark and write them down; if not, it stays."
        );
        raised(Section::KeepInTheYard, text, Some(today))
    } else if handover == today {
        let text = format!(
            "Handover is today, but {why}. Do not let it go before it is registered and that is written down."
        );
        raised(Section::KeepInTheYard, text, Some(today))
    } else if handover <= after(today, 14) {
        let text = format!(
            "Handover is on {when}, but {why}. Register it, and write day and mark down before then."
        );
        raised(Section::PutTheSheetRight, text, Some(handover))
    } else {
        Verdict::Clear
    })
}

fn running_in_breach(
    machine: &Machine,
    standing: &Standing,
    ride: &RideJudged,
    seen: &mut Vec<Evidence>,
) -> Result<Verdict, Missing> {
    let today = standing.today;
    if let Ok(answer) = &ride.answer {
        answer.shown_by.iter().for_each(|evidence| see(seen, evidence));
    }
    if ride.day < before(today, 90) {
        return Ok(Verdict::TooLongAgo);
    }
    let with_customer = machine.row.handover.is_some() && handover(machine, seen)? <= ride.day;
    let answer = *sum(&ride.answer, seen)?;
    if answer == RideAnswer::Clear {
        return Ok(Verdict::Clear);
    }
    let unit = SpeedUnit::beside(machine.clock_unit);
    let top = ride.top_speed.ok_or_else(|| Missing::fact("top speed"))?.shown_in(unit);
    let when = shown_day(ride.day);
    let limit = ride.limit.ok_or_else(|| Missing::fact("running-in speed"))?.shown_in(unit);
    Ok(if answer >= RideAnswer::Breach && with_customer {
        let text = format!("{top} on {when}, where running-in allows {limit}. Explain why that matters.");
        raised(Section::RingToday, text, Some(today))
    } else if answer >= RideAnswer::Breach {
        let text = format!(
            "{top} on {when}, before the handover, where running-in allows {limit}. Speak with whoever rode."
        );
        raised(Section::OnTheBench, text, Some(today))
    } else {
        let text = format!(
            "A true {top} on {when}: the speedometer may have shown more than the {limit} allowed. Ask next time."
        );
        raised(Section::OnTheBench, text, None)
    })
}

fn wrong_fuel(
    machine: &Machine,
    standing: &Standing,
    fill: &FillJudged,
    seen: &mut Vec<Evidence>,
) -> Result<Verdict, Missing> {
    let today = standing.today;
    if let Ok(answer) = &fill.answer {
        answer.shown_by.iter().for_each(|evidence| see(seen, evidence));
        if answer.value == FuelAnswer::Right {
            return Ok(Verdict::Clear);
        }
    }
    let day = fill.day.ok_or_else(|| Missing::fact("day of the fill"))?;
    if day < before(today, 90) {
        return Ok(Verdict::TooLongAgo);
    }
    let with_customer = if machine.row.handover.is_some() {
        handover(machine, seen)? < today
    } else {
        *sum(&standing.with_customer, seen)? || machine.row.customer.is_some() && machine.row.sold.is_none()
    };
    let answer = *sum(&fill.answer, seen)?;
    if fill.grade.is_empty() {
        return Err(Missing::fact("fuel grade"));
    }
    let (grade, when) = (&fill.grade, shown_day(day));
    let (section, text, at_once) = if answer == FuelAnswer::NotPetrol {
        let what = format!("Filled with {grade} on {when}, which is not petrol. Do not start it");
        if with_customer {
            (Section::RingToday, format!("{what}; it is fetched and the tank is drained."), true)
        } else {
            (Section::KeepInTheYard, format!("{what}; drain tank and lines first."), true)
        }
    } else {
        let what = format!("Filled with {grade} on {when}, more ethanol than it may have");
        if with_customer {
            let ask = "Ask for the right label from now on, and not to let this tank stand.";
            (Section::RingToday, format!("{what}. {ask}"), false)
        } else {
            (
                Section::KeepInTheYard,
                format!("{what}. Drain it and fill the right label before it goes."),
                false,
            )
        }
    };
    Ok(Verdict::Raised(Raised { section, text, due: Some(today), due_range: None, at_once }))
}
