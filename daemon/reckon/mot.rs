//! The MOT: the certificate's last day, or the day by which the first test is needed, and how early to test.

use jiff::civil::Date;

use super::job_text::{has_words, says_done};
use super::marks::given_from;
use super::subject::{Subject, day_cell};
use super::{Exempt, Fact, Missing, Mot, Reckoned};
use crate::origin::{Entry, Evidence};
use crate::settings::Region;
use crate::units::{Days, Months, months_after, months_before, shown_day};

/// A machine built or registered longer ago than this may be exempt (GOV.UK, historic vehicles: MOT exemption
/// criteria; nidirect for Northern Ireland): whether it is turns on changes that no sheet tells of.
const EXEMPT_AFTER: Months = Months(40 * 12);

/// Once the first test is so long past, its own certificate has run out as well: the machine must have had one
/// since that nobody wrote down.
const FIRST_TEST_SPEAKS_FOR: Months = Months(12);

/// How a machine's MOT stands.
pub(super) fn mot(subject: &Subject<'_>) -> Mot {
    let row = &subject.machine.row;
    let exempt = exempt(subject);
    let (expiry, worked_out) = match &row.mot_expiry {
        None if exempt != Exempt::NotSaid => {
            (Err(Missing::fact("mot expiry, in whose place it is said to be exempt")), false)
        }
        Some(expiry) => {
            let cell = day_cell("MOT expiry", expiry);
            (Ok(Reckoned { value: expiry.value, shown_by: vec![cell] }), false)
        }
        None => (first_needed(subject), true),
    };
    let earliest_test = expiry.clone().and_then(|expiry| {
        let value = earliest_test(expiry.value).ok_or_else(|| Missing::fact("mot expiry"))?;
        Ok(Reckoned { value, shown_by: expiry.shown_by })
    });
    let test = expiry.as_ref().ok().and_then(|known| test_since(subject, known));
    let Some((test, runs_to)) = test else {
        let none = || Err(Missing::fact("MOT test since the one that is written down"));
        return Mot { expiry, exempt, worked_out, earliest_test, tested_on: none(), runs_to: none() };
    };
    let shown_by = || test.shown_by.clone();
    let is_out = expiry.as_ref().is_ok_and(|known| known.value < subject.today);
    let expiry = match is_out {
        // Until then the certificate that is written down holds, whatever came of the test.
        false => expiry,
        true if runs_to < subject.today => Ok(Reckoned { value: runs_to, shown_by: shown_by() }),
        true => Err(Missing::fact("new end of the MOT")),
    };
    let runs_to = Ok(Reckoned { value: runs_to, shown_by: shown_by() });
    Mot { expiry, exempt, worked_out, earliest_test, tested_on: Ok(test), runs_to }
}

/// Whether it is said to be exempt. Where nothing shows it to be old enough, a date that another sheet gives goes before
/// those words; one that is too young for its first test needs none for that. One without a registration is no younger than
/// its mark shows it to be at the most.
fn exempt(subject: &Subject<'_>) -> Exempt {
    let row = &subject.machine.row;
    let Some(said) = row.mot_exempt.as_ref() else {
        return Exempt::NotSaid;
    };
    let said = Evidence::of("MOT expiry", &said.value, &said.origin);
    if is_old_enough(subject, row.registered.as_ref()) || is_old_enough(subject, row.built.as_ref()) {
        return Exempt::Said(vec![said]);
    }
    if row.mot_expiry.is_some() {
        return Exempt::NotSaid;
    }
    let first_test = first_test_after(subject.practice.region);
    match (&row.registered, &row.built) {
        (Some(registered), _) => {
            let needs_none =
                months_after(registered.value, first_test).is_some_and(|first| subject.today < first);
            match needs_none {
                true => Exempt::NotSaid,
                false => Exempt::TooYoung(vec![said, day_cell("registered", registered)]),
            }
        }
        (None, Some(built)) => Exempt::TooYoung(vec![said, day_cell("built", built)]),
        (None, None) => {
            let mark = subject.machine.identity.mark.as_ref();
            let young = mark.filter(|mark| {
                let given = given_from(&mark.value).and_then(|given| months_after(given, EXEMPT_AFTER));
                given.is_some_and(|exempt| subject.today < exempt)
            });
            match young {
                Some(mark) => {
                    Exempt::TooYoung(vec![said, Evidence::of("mark", mark.value.to_string(), &mark.origin)])
                }
                None => Exempt::Said(vec![said]),
            }
        }
    }
}

/// Whether a machine built or registered on that day may be exempt by now.
fn is_old_enough(subject: &Subject<'_>, day: Option<&Entry<Date>>) -> bool {
    let exempt = day.and_then(|day| months_after(day.value, EXEMPT_AFTER));
    exempt.is_some_and(|exempt| exempt <= subject.today)
}

/// The last test that was done when the MOT was to be renewed, or later, and the day to which it carries.
///
/// Source: GOV.UK, `up to a month (minus a day) before it runs out` keeps the date; on any other day a certificate is
/// for 12 months less a day. Of 29 February the earlier day is taken: our decision.
fn test_since(subject: &Subject<'_>, known: &Reckoned<Date>) -> Option<(Reckoned<Date>, Date)> {
    const YEAR: Months = Months(12);
    let earliest = earliest_test(known.value)?;
    let tests = subject.machine.jobs.iter().filter(|job| job.doubt.is_none() && is_test(&job.done.value));
    let days = tests.filter_map(|job| Some((job.day.as_ref()?, &job.done)));
    let has_come = days.filter(|(day, _)| (earliest..=subject.today).contains(&day.value));
    let (day, done) = has_come.max_by_key(|(day, _)| day.value)?;
    // A test that failed then or since leaves the machine without one.
    let failed = subject.machine.jobs.iter().filter(|job| has_failed(&job.done.value));
    let failed = failed.filter_map(|job| job.day.as_ref()).any(|failed| {
        (day.value..=subject.today).contains(&failed.value)
            && !(failed.value == day.value && says_passed(&done.value))
    });
    if failed {
        return None;
    }
    let keeps_the_date = day.value <= known.value;
    let runs_to = match keeps_the_date {
        true => months_after(known.value, YEAR)?,
        false => Days(1).before(months_after(day.value, YEAR)?)?,
    };
    let mut shown_by = vec![day_cell("MOT test", day), Evidence::of("job", done.value.clone(), &done.origin)];
    shown_by.extend(known.shown_by.iter().cloned());
    Some((Reckoned { value: day.value, shown_by }, runs_to))
}

/// Whether a job's text says that the machine was tested, and not that it failed, nor that it was only got ready for the
/// test or mended after it. Common practice, no source.
fn is_test(done: &str) -> bool {
    const NO_TEST: [&str; 35] = [
        "about mot",
        "duplicate mot",
        "pre mot",
        "for mot",
        "mot advisories",
        "mot advisory",
        "mot cert",
        "mot certificate",
        "mot check over",
        "mot duplicate",
        "mot ends",
        "mot exempt",
        "mot exp",
        "mot expired",
        "mot expires",
        "mot lapsed",
        "mot out",
        "mot ran out",
        "mot expiry",
        "mot fee",
        "mot from",
        "mot history",
        "mot prep",
        "mot preparation",
        "mot reminder",
        "mot repair",
        "mot repairs",
        "mot station",
        "mot till",
        "mot to",
        "mot work",
        "pass mot",
        "re mot",
        "to mot",
        "to pass",
    ];
    let done = &with_the_test_alone(done);
    says_done(done, "mot")
        && !done.contains("(mot)")
        && !NO_TEST.iter().any(|phrase| has_words(done, phrase))
        && (!says_failed(done) || says_passed(done))
}

/// A text with `M.O.T.` as one word, since its points would part it into letters, and without where and when the test was:
/// wherever it was tested, it was.
fn with_the_test_alone(done: &str) -> String {
    done.to_lowercase()
        .replace("m.o.t.", "mot ")
        .replace("m.o.t", "mot")
        .replace("mot'd", "mot done")
        .replace(" elsewhere", "")
        .replace(" at another garage", "")
        .replace(" at other garage", "")
        .replace(" last week", "")
}

/// Whether a job's text says that the machine was tested and failed.
fn has_failed(done: &str) -> bool {
    let done = &with_the_test_alone(done);
    has_words(done, "mot") && says_failed(done) && !says_passed(done)
}

fn says_failed(done: &str) -> bool {
    const FAILED: [&str; 8] =
        ["mot f", "dangerous", "fail", "failed", "failure", "fails", "refusal", "refused"];
    FAILED.iter().any(|word| has_words(done, word))
}

fn says_passed(done: &str) -> bool {
    ["pass", "passed"].iter().any(|word| has_words(done, word))
}

/// The first day on which a test keeps the renewal date: the expiry less a month, and a day.
///
/// Source: GOV.UK, `up to a month (minus a day) before it runs out`; 15 May gives 16 April. The month is taken
/// first, then the day, so that 28 February gives 29 January. `None` before the calendar begins.
pub(super) fn earliest_test(expiry: Date) -> Option<Date> {
    Days(1).after(months_before(expiry, Months(1))?)
}

/// The months from first registration to the first test: Road Traffic Act 1988, section 47, in Great Britain;
/// nidirect, the MOT scheme, in Northern Ireland.
pub(super) fn first_test_after(region: Region) -> Months {
    match region {
        Region::GreatBritain => Months(36),
        Region::NorthernIreland => Months(48),
    }
}

/// The day by which the first test is needed. The law's words need it on the anniversary itself, GOV.UK's by the
/// anniversary; the earlier is taken.
fn first_needed(subject: &Subject<'_>) -> Fact<Date> {
    let row = &subject.machine.row;
    if is_old_enough(subject, row.built.as_ref()) || is_old_enough(subject, row.registered.as_ref()) {
        return Err(Missing::fact("whether it is exempt by age").and(Missing::fact("mot expiry")));
    }
    let registered =
        row.registered.as_ref().ok_or_else(|| Missing::fact("mot expiry or registration day"))?;
    let after = first_test_after(subject.practice.region);
    let needed = months_after(registered.value, after)
        .ok_or_else(|| Missing::fact("mot expiry or registration day"))?;
    if months_after(needed, FIRST_TEST_SPEAKS_FOR).is_some_and(|ended| ended < subject.today) {
        return Err(Missing::fact("mot expiry"));
    }
    let shown_by = vec![
        day_cell("registered", registered),
        Evidence::reckoned("first MOT", format!("{after} after, by {}", shown_day(needed))),
    ];
    Ok(Reckoned { value: needed, shown_by })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_test_is_told_from_what_is_done_before_and_after_it() {
        // Common practice, no source.
        for text in [
            "MOT",
            "M.O.T.",
            "Annual service + MOT",
            "MOT & service",
            "MOT passed",
            "MOT pass, 2 advisories",
            "MOT'd",
        ] {
            assert!(is_test(text), "{text}");
        }
        for text in [
            "MOT failed",
            "MOT - FAIL, front brake",
            "pre-MOT check",
            "MOT prep",
            "MOT due",
            "MOT booked",
            "MOT & service booked 3 June",
            "MOT exp 12/5",
            "MOT F - headlamp aim",
            "No MOT",
            "MOT?",
            "MOT repairs",
            "MOT certificate copied",
            "took to MOT station",
            "MOT exempt",
            "rang re MOT",
            "front pads to pass MOT",
            "bulb (MOT)",
            "Brakes for MOT",
            "Motor rebuilt",
            "Service",
        ] {
            assert!(!is_test(text), "{text}");
        }
        assert!(is_test("MOT failed, retested and passed"));
        assert!(has_failed("M.O.T. failed") && !has_failed("MOT failed, retested and passed"));
    }
}
