//! The torque re-check, worked out by hand. Common practice, no source: it comes after the first ride.

use super::{Given, day, lacks, told};
use crate::yard::CheckResult::{Failed, NotDone, Passed};

/// First ridden on 26 November.
fn ridden() -> Given {
    Given::on("2026-11-30").ride("2026-11-27", 5, 30, None).ride("2026-11-26", 5, 30, None)
}

#[test]
fn a_torque_check_counts_only_after_the_first_ride() {
    let cases = [
        ("2026-11-25", Ok(false)),
        ("2026-11-26", lacks("which came first on 26 Nov 2026, ride or torque check")),
        ("2026-11-27", Ok(true)),
        ("2026-12-01", lacks("torque re-check")),
        ("", lacks("day of the torque re-check")),
    ];
    for (on, expected) in cases {
        let torque = ridden().check(on, "Torque re-check", Passed, "Ann").stand().torque;
        assert_eq!(told(&torque.rechecked), expected, "{on}");
        assert_eq!(told(&torque.first_ride), Ok(day("2026-11-26")));
        assert!(!torque.open, "{on}");
    }
}

#[test]
fn a_torque_check_may_stand_among_the_jobs_under_several_names() {
    for (done, expected) in [
        ("Torque re-check", Ok(true)),
        ("torque check, chain adjusted", Ok(true)),
        ("wheel spindle torque checked", Ok(true)),
        ("torque checked with torque wrench, oil only", Ok(true)),
        ("torque check due", lacks("torque re-check")),
        ("torque check to do", lacks("torque re-check")),
        ("torque wrench calibrated", lacks("torque re-check")),
    ] {
        let torque = ridden().job("2026-11-28", done, -1).stand().torque;
        assert_eq!(told(&torque.rechecked), expected, "{done}");
    }
}

#[test]
fn a_torque_check_that_failed_or_was_left_out_is_open_until_it_passes() {
    let with = |result| ridden().check("2026-11-27", "torque check", result, "Ann");
    assert!(with(Failed).stand().torque.open);
    assert!(with(NotDone).stand().torque.open);
    assert!(!with(Failed).check("2026-11-28", "torque check", Passed, "Ann").stand().torque.open);
    // Planned for a day that has not come.
    assert!(!ridden().check("2026-12-02", "torque check", NotDone, "").stand().torque.open);
}

#[test]
fn a_check_that_names_another_thing_or_a_part_of_the_bolts_is_no_torque_check() {
    for item in [
        "torque wrench calibration",
        "Torque wrench",
        "torque sensor",
        "torque re-check rear wheel only",
        "Torque (front only)",
        "torque re-check booked",
        "torque re-check due",
        "torque re-check (to do)",
        "Torque re-check - still to be done",
        "torque to follow",
        "torque re-check awaiting ride",
        "torque re-check skipped",
    ] {
        let torque = ridden().check("2026-11-28", item, Passed, "Ann").stand().torque;
        assert_eq!(told(&torque.rechecked), lacks("torque re-check"), "{item}");
    }
    for item in
        ["Torque", "Torques", "torque re-check", "Torque check all bolts", "Retorque", "wheel spindle torque"]
    {
        let torque = ridden().check("2026-11-28", item, Passed, "Ann").stand().torque;
        assert_eq!(told(&torque.rechecked), Ok(true), "{item}");
    }
    for done in ["torque check rear wheel only", "torque check (front only)"] {
        let torque = ridden().job("2026-11-28", done, -1).stand().torque;
        assert_eq!(told(&torque.rechecked), lacks("torque re-check"), "{done}");
    }
    // A part of the bolts that failed is open all the same.
    assert!(
        ridden().check("2026-11-27", "torque re-check rear wheel only", Failed, "Ann").stand().torque.open
    );
}

#[test]
fn without_a_ride_nothing_has_settled() {
    let torque = Given::on("2026-11-30").check("2026-11-25", "torque", Passed, "Ann").stand().torque;
    assert_eq!(told(&torque.rechecked), lacks("first ride"));
    assert_eq!(told(&torque.checked_on), Ok(day("2026-11-25")));
}
