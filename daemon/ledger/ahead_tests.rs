//! Tests of letters that a clock which was ahead sent before their day: the day is told all the same, and never twice.

use super::tests::{day, keep_letter, letter, moment};
use super::*;

/// Keeps letters in the order in which they went out, each at a moment in March, and gives whether the last one's day
/// has its letter at that moment, before it goes out.
fn is_told(before: &[&str], now: &str) -> bool {
    let mut ledger = Ledger::in_memory().unwrap();
    for (number, made) in before.iter().enumerate() {
        let mut letter = letter(&ledger, &format!("2026-03-{}", &made[..2]), &number.to_string());
        letter.made = moment(&format!("2026-03-{made}:00Z"));
        keep_letter(&mut ledger, &letter).unwrap();
    }
    let (today, now) = (day(&format!("2026-03-{}", &now[..2])), moment(&format!("2026-03-{now}:00Z")));
    let is_told = ledger.has_morning_letter(today, now).unwrap();
    let days = ledger.morning_days(now, 60).unwrap();
    assert_eq!(days.contains(&today), is_told, "{before:?}");
    let is_known = before.iter().any(|made| made[..2] == today.to_string()[8..]);
    let anew = ledger.days_to_tell_anew(now, 60).unwrap();
    assert_eq!(anew.contains(&today), is_known && !is_told, "{before:?}");
    is_told
}

// Our decision: a morning that is missed is worse than a letter too many, and a day told twice is worse than a clock that
// nobody put right.
#[test]
fn a_day_that_was_told_ahead_is_told_anew_once_it_is_plain_that_it_was() {
    for (what, before, now, expected) in [
        ("never told", &["02T07:30"][..], "03T07:30", false),
        ("told", &["02T07:30", "03T07:30"], "03T08:00", true),
        (
            "told ahead, and two earlier days since",
            &["02T07:30", "05T10:00", "03T07:30", "04T07:30"],
            "05T07:30",
            false,
        ),
        (
            "the same, after the moment of that letter",
            &["05T07:30", "03T07:30", "04T07:30"],
            "05T09:00",
            false,
        ),
        ("and now told anew", &["05T10:00", "03T07:30", "04T07:30", "05T07:30"], "05T08:00", true),
        ("told ahead, with a Sunday in between", &["06T07:30", "09T17:00", "07T07:30"], "09T07:30", false),
        ("a missed day told by a clock that was behind", &["04T07:30", "03T12:00"], "04T13:00", true),
        ("told ahead of this very morning", &["02T07:30", "03T16:00"], "03T07:30", true),
        ("two rounds of one earlier day", &["05T07:30", "04T07:30", "04T09:00"], "05T09:00", true),
    ] {
        assert_eq!(is_told(before, now), expected, "{what}");
    }
}

#[test]
fn days_told_by_a_clock_that_is_years_behind_say_nothing_of_today() {
    let mut ledger = Ledger::in_memory().unwrap();
    for date in ["2026-03-05", "2001-01-01", "2001-01-02", "2001-01-03"] {
        let letter = letter(&ledger, date, "one");
        keep_letter(&mut ledger, &letter).unwrap();
    }
    assert!(ledger.has_morning_letter(day("2026-03-05"), moment("2026-03-05T09:00:00Z")).unwrap());
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
