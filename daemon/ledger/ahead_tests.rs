//! Tests of letters that a clock which was ahead sent before their day: the day is told all the same, and never twice.

use super::tests::{day, keep_letter, letter};
use super::*;

/// Keeps letters of days in March in the order in which they went out, and gives whether a day then has its letter.
fn is_told(before: &[&str], today: &str) -> bool {
    let mut ledger = Ledger::in_memory().unwrap();
    for (number, date) in before.iter().enumerate() {
        let letter = letter(&ledger, &format!("2026-03-{date}"), &number.to_string());
        keep_letter(&mut ledger, &letter).unwrap();
    }
    let is_known = before.contains(&today);
    let today = day(&format!("2026-03-{today}"));
    let is_told = ledger.has_morning_letter(today).unwrap();
    let days = ledger.morning_days(60).unwrap();
    assert_eq!(days.contains(&today), is_told, "{before:?}");
    let anew = ledger.days_to_tell_anew(60).unwrap();
    assert_eq!(anew.contains(&today), is_known && !is_told, "{before:?}");
    is_told
}

// Our decision: no day is told twice as long as a clock that was behind may explain the order of the letters; beyond that a
// morning that is missed is worse than a letter too many.
#[test]
fn a_day_that_was_told_ahead_is_told_anew_once_it_is_plain_that_it_was() {
    for (what, before, today, expected) in [
        ("never told", &["02"][..], "03", false),
        ("told", &["02", "03"], "03", true),
        ("told ahead, and two earlier days since", &["02", "05", "03", "04"], "05", false),
        ("and now told anew", &["05", "03", "04", "05"], "05", true),
        ("told ahead, with a Sunday in between", &["06", "09", "07"], "09", true),
        ("told ahead, and one earlier day since", &["03", "02"], "03", true),
        ("two rounds of one earlier day", &["05", "04", "04"], "05", true),
    ] {
        assert_eq!(is_told(before, today), expected, "{what}");
    }
}

#[test]
fn days_told_by_a_clock_that_is_years_behind_say_nothing_of_today() {
    let mut ledger = Ledger::in_memory().unwrap();
    for date in ["2026-03-05", "2001-01-01", "2001-01-02", "2001-01-03"] {
        let letter = letter(&ledger, date, "one");
        keep_letter(&mut ledger, &letter).unwrap();
    }
    assert!(ledger.has_morning_letter(day("2026-03-05")).unwrap());
}

#[test]
fn a_letter_that_went_out_before_an_earlier_days_is_known_to_be_out_of_order() {
    let mut ledger = Ledger::in_memory().unwrap();
    for date in ["2026-03-02", "2026-03-05", "2026-03-03"] {
        let letter = letter(&ledger, date, "one");
        keep_letter(&mut ledger, &letter).unwrap();
    }
    let known = ["2026-03-02", "2026-03-03", "2026-03-04", "2026-03-05"]
        .map(|date| ledger.is_out_of_order(day(date)).unwrap());
    assert_eq!(known, [false, false, false, true]);
}
