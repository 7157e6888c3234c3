//! What is open before handover, the MOT, and notes on marks and frame numbers.

use super::super::OpenCheck;
use super::{Given, day, entry, lacks, told};
use crate::settings::Region;
use crate::yard::CheckResult::{Failed, NotDone, Passed, Unclear};

/// What is open and why.
fn open(given: &Given) -> Vec<String> {
    let line = |open: OpenCheck| format!("{}: {}", open.what, open.why);
    given.stand().before_handover.open.into_iter().map(line).collect()
}

/// A machine of which all but its checks is in order.
fn ridden() -> Given {
    Given::on("2026-11-25")
        .handover("2026-11-25")
        .registered("2026-11-20")
        .ride("2026-11-21", 5, 30, None)
        .ride("2026-11-22", 5, 30, None)
}

/// A machine of which all but its rides is in order.
fn checked() -> Given {
    Given::on("2026-11-25")
        .handover("2026-11-25")
        .registered("2026-11-20")
        .check("2026-11-20", "PDI", Passed, "J. Miller")
        .check("2026-11-21", "QC", Passed, "K. Lane")
}

#[test]
fn a_machine_with_everything_done_has_nothing_open() {
    let given = checked().ride("2026-11-21", 5, 30, None).ride("2026-11-22", 5, 30, None);
    assert_eq!(open(&given), [] as [&str; 0]);
    assert_eq!(told(&given.stand().before_handover.handover), Ok(day("2026-11-25")));
    assert_eq!(given.stand().before_handover.shown_by.len(), 4);
}

#[test]
fn a_machine_of_which_nothing_is_recorded_has_everything_open() {
    let given = Given::on("2026-11-25");
    assert_eq!(
        open(&given),
        [
            "pre-delivery inspection: not recorded",
            "quality check: not recorded",
            "2 road tests: not recorded",
        ]
    );
    assert_eq!(told(&given.stand().before_handover.handover), lacks("handover"));
}

#[test]
fn a_wanted_check_is_known_however_it_is_written() {
    for item in
        ["Pre-Delivery Inspection", "PDI", "P.D.I.", "p d i done", "Predelivery check", "PDI complete"]
    {
        let given = ridden().check("2026-11-20", item, Passed, "J. Miller").check(
            "2026-11-21",
            "Second check",
            Passed,
            "K. Lane",
        );
        assert_eq!(open(&given), [] as [&str; 0], "{item}");
    }
    let given = ridden().check("2026-11-20", "PDI brakes", Passed, "J. Miller");
    assert_eq!(open(&given)[0], "pre-delivery inspection: not recorded");
}

#[test]
fn a_check_stays_open_until_it_has_passed_after_all_else() {
    let inspection = "pre-delivery inspection";
    let both = "failed and passed on 20 Nov 2026, and nothing says which came last";
    let unclear = "the result of 21 Nov 2026 does not say pass or fail";
    let cases: [(&[(&str, crate::yard::CheckResult)], &str); 14] = [
        (&[("2026-11-20", Failed)], "failed on 20 Nov 2026"),
        (&[("2026-11-20", Failed), ("2026-11-21", Passed)], ""),
        (&[("2026-11-20", Passed), ("2026-11-21", Failed)], "failed on 21 Nov 2026"),
        (&[("2026-11-20", Failed), ("2026-11-20", Passed)], both),
        (&[("2026-11-20", Failed), ("", Passed)], "failed on 20 Nov 2026"),
        (&[("", Failed), ("2026-11-21", Passed)], "failed, on an unknown day"),
        (&[("", NotDone)], "not done"),
        (&[("", NotDone), ("2026-11-21", Passed)], ""),
        (&[("2026-11-20", Passed), ("2026-11-21", NotDone)], "not done on 21 Nov 2026"),
        (&[("2026-11-20", Passed), ("2026-11-21", Unclear)], unclear),
        (&[("2026-11-21", Unclear), ("2026-11-21", Passed)], unclear),
        (&[("2026-11-20", Unclear), ("2026-11-21", Passed)], ""),
        (&[("2026-11-21", Passed), ("", Unclear)], "the result does not say pass or fail"),
        (&[("2026-11-20", Failed), ("2026-11-21", Unclear)], "failed on 20 Nov 2026"),
    ];
    for (checks, why) in cases {
        let given = ridden().check("2026-11-22", "QC", Passed, "K. Lane");
        let given =
            checks.iter().fold(given, |given, (day, result)| given.check(day, "PDI", *result, "J. Miller"));
        let expected = if why.is_empty() { Vec::new() } else { vec![format!("{inspection}: {why}")] };
        assert_eq!(open(&given), expected, "{checks:?}");
    }
}

#[test]
fn of_two_results_of_one_day_the_times_say_which_came_last() {
    let both = "failed and passed on 20 Nov 2026, and nothing says which came last";
    let failed = "failed on 20 Nov 2026";
    let cases: [(&[(&str, crate::yard::CheckResult)], &str); 7] = [
        (&[("09:00", Failed), ("16:00", Passed)], ""),
        (&[("16:00", Passed), ("09:00", Failed)], ""),
        (&[("09:00", Passed), ("16:00", Failed)], failed),
        (&[("09:00", Failed), ("09:00", Passed)], both),
        (&[("09:00", Failed), ("", Passed)], both),
        (&[("", Failed), ("16:00", Passed)], both),
        (&[("09:00", Failed), ("", Failed), ("16:00", Passed)], both),
    ];
    for (checks, why) in cases {
        let mut given = ridden().check("2026-11-22", "QC", Passed, "K. Lane");
        for (time, result) in checks {
            given = given.check("2026-11-20", "PDI", *result, "J. Miller");
            let check = given.machine.checks.last_mut().expect("the check just added");
            check.time = time.parse().ok();
        }
        let expected =
            if why.is_empty() { Vec::new() } else { vec![format!("pre-delivery inspection: {why}")] };
        assert_eq!(open(&given), expected, "{checks:?}");
    }
}

#[test]
fn a_pass_dated_after_today_has_not_happened() {
    let given =
        ridden().check("2026-11-26", "PDI", Passed, "J. Miller").check("2026-11-21", "QC", Passed, "K. Lane");
    assert_eq!(open(&given), ["pre-delivery inspection: not recorded"]);
}

#[test]
fn a_check_planned_for_a_later_day_keeps_nothing_in_the_yard() {
    let given = checked().ride("2026-11-21", 5, 30, None).ride("2026-11-22", 5, 30, None);
    assert_eq!(open(&given.check("2026-12-09", "torque re-check", NotDone, "")), [] as [&str; 0]);
}

#[test]
fn the_quality_check_is_another_persons() {
    let signed = |first: &str, second: &str| {
        ridden().check("2026-11-20", "PDI", Passed, first).check("2026-11-21", "QC", Passed, second)
    };
    assert_eq!(open(&signed("J. Miller", "K. Lane")), [] as [&str; 0]);
    assert_eq!(
        open(&signed("J. Miller", "j miller")),
        ["quality check: signed by the same person as the pre-delivery inspection"]
    );
    assert_eq!(open(&signed("J. Miller", "")), ["quality check: signed by nobody"]);
    assert_eq!(
        open(&signed("", "K. Lane")),
        ["quality check: nobody signed the pre-delivery inspection, so that nothing shows a second person"]
    );
}

#[test]
fn what_was_found_more_than_a_year_before_the_handover_says_nothing_of_it() {
    let checked_on =
        |day: &str| open(&ridden().check(day, "PDI", Passed, "Ann").check("2026-11-21", "QC", Passed, "Ben"));
    assert_eq!(checked_on("2025-11-25"), [] as [&str; 0]);
    assert_eq!(
        checked_on("2025-11-24"),
        ["pre-delivery inspection: passed on 24 Nov 2025, more than a year before the handover"]
    );
    let old = checked().ride("2025-11-20", 5, 30, None).ride("2025-11-24", 5, 30, None);
    let none = "not recorded; 2 more rides until 24 Nov 2025, more than a year before the handover";
    assert_eq!(open(&old), [format!("2 road tests: {none}")]);
    let one = old.ride("2026-11-21", 5, 30, None);
    let more = "1 of 2 recorded; 2 more rides until 24 Nov 2025, more than a year before the handover";
    assert_eq!(open(&one)[..1], [format!("second road test: {more}")]);
    // Handed over long ago, and checked before that.
    let given = Given::on("2028-11-25").handover("2026-11-25").registered("2026-11-20");
    let given = given.check("2026-11-20", "PDI", Passed, "Ann").check("2026-11-21", "QC", Passed, "Ben");
    let given = given.ride("2026-11-21", 5, 30, None).ride("2026-11-22", 5, 30, None);
    assert_eq!(open(&given), [] as [&str; 0]);
    let for_sale = Given::on("2028-11-25").check("2026-11-20", "PDI", Passed, "Ann");
    assert_eq!(open(&for_sale)[0], "pre-delivery inspection: passed on 20 Nov 2026, more than a year ago");
}

#[test]
fn words_that_name_nobody_are_no_signature() {
    let signed = |first: &str, second: &str| {
        open(&ridden().check("2026-11-20", "PDI", Passed, first).check("2026-11-21", "QC", Passed, second))
    };
    for word in [
        "same",
        "Same as above",
        "as above",
        "ditto",
        "\"",
        "''",
        "not signed",
        "unsigned",
        "nobody",
        "no one",
        "x",
        "X",
        "yes",
        "Y",
        "✓",
        "ok",
        "done",
        "28/5",
        "signed",
        "see PDI",
        "QC",
    ] {
        let second = format!("quality check: signed \"{word}\", which names nobody");
        assert_eq!(signed("Ann", word), [second], "{word}");
        let first = format!(
            "quality check: the pre-delivery inspection is signed \"{word}\", which names nobody, so that nothing \
             shows a second person"
        );
        assert_eq!(signed(word, "Ben"), [first], "{word}");
    }
}

#[test]
fn two_signatures_that_may_be_one_persons_are_not_two_persons() {
    let signed = |first: &str, second: &str| {
        open(&ridden().check("2026-11-20", "PDI", Passed, first).check("2026-11-21", "QC", Passed, second))
    };
    for (first, second) in [
        ("Ann (QC)", "Ann"),
        ("AS 28/5", "AS 29/5"),
        ("AS 28 May", "AS 29 May"),
        ("Ann & Ben", "Ben"),
        ("Ann/Ben", "Ben"),
        ("Ann and Ben", "Ben"),
        ("Ann", "Ann Smith"),
        ("Ann Smith", "Smith, Ann"),
        ("Ann", "Mrs Ann"),
        ("AS", "Ann Smith"),
        ("SA", "Smith, Ann"),
        ("A.", "Ann"),
        ("Ann", "Anne"),
        ("AS", "Ann"),
        ("A Smith", "Smith"),
        ("Ann", "Ann B Smith"),
    ] {
        for (first, second) in [(first, second), (second, first)] {
            let expected = format!(
                "quality check: signed by {second}, who may be the {first} of the pre-delivery inspection"
            );
            assert_eq!(signed(first, second), [expected], "{first}, {second}");
        }
    }
    for (first, second) in [
        ("AS", "BJ"),
        ("AS", "AJ"),
        ("Ann Smith", "Ben Jones"),
        ("Ann Smith", "Ann Jones"),
        ("Ann Smith", "Ben Smith"),
        ("Ann", "Ben"),
        ("AS", "Ben Jones"),
        ("A. Smith", "B. Smith"),
        ("Ann (PDI)", "Ben (QC)"),
        ("Ann Smith", "BJ"),
        ("May", "Ann"),
        ("Ann 28/5", "Ben 28/5"),
    ] {
        for (first, second) in [(first, second), (second, first)] {
            assert_eq!(signed(first, second), [] as [&str; 0], "{first}, {second}");
        }
    }
}

#[test]
fn any_other_check_that_failed_or_is_blank_is_open() {
    let given = checked()
        .ride("2026-11-21", 5, 30, None)
        .ride("2026-11-22", 5, 30, None)
        .check("2026-11-20", "Brakes", Failed, "J. Miller")
        .check("2026-11-20", "chain", Failed, "J. Miller")
        .check("2026-11-21", "Chain", Passed, "J. Miller")
        .check("", "lights", NotDone, "")
        .check("2026-11-20", "tyres", Passed, "J. Miller");
    assert_eq!(open(&given), ["Brakes: failed on 20 Nov 2026", "lights: not done"]);
}

/// Rides (day and miles, negative for none) and what is open then.
type Case<'a> = (&'a [(&'a str, i64)], &'a [&'a str]);

#[test]
fn what_failed_is_named_first_then_what_was_not_done_then_what_nobody_wrote_down() {
    let given = Given::on("2026-11-25")
        .check("2026-11-20", "Battery", NotDone, "")
        .check("2026-11-20", "Tyres", Failed, "J. Miller")
        .check("2026-11-20", "Cables", NotDone, "")
        .check("2026-11-20", "Wheels", Failed, "J. Miller");
    let names: Vec<String> = given.stand().before_handover.open.into_iter().map(|check| check.what).collect();
    let unwritten = ["pre-delivery inspection", "quality check", "2 road tests"];
    assert_eq!(names, [&["Tyres", "Wheels", "Battery", "Cables"][..], &unwritten].concat());
}

#[test]
fn two_road_tests_on_two_days_of_ten_miles_in_all_are_wanted() {
    let cases: [Case<'_>; 7] = [
        (&[("2026-11-21", 10)], &["second road test: 1 of 2 recorded"]),
        (
            &[("2026-11-21", 4)],
            &["second road test: 1 of 2 recorded", "road test distance: 4 miles of 10 miles recorded"],
        ),
        (&[("2026-11-21", 5), ("2026-11-21", 5)], &["road tests on 2 days: all on 21 Nov 2026"]),
        (
            &[("2026-11-21", 5), ("2026-11-22", -1)],
            &["road test distance: 5 miles of 10 miles recorded; 1 ride without a distance"],
        ),
        (&[("2026-11-21", 10), ("", 5)], &["second road test: 1 of 2 recorded; 1 more ride without a day"]),
        (&[("2026-11-21", 10), ("2026-11-26", 5)], &["second road test: 1 of 2 recorded"]),
        (&[("2026-11-21", 10), ("2026-11-22", -1)], &[]),
    ];
    for (rides, expected) in cases {
        let given = rides.iter().fold(checked(), |given, (day, far)| given.ride(day, *far, 30, None));
        assert_eq!(open(&given), expected, "{rides:?}");
    }
}

#[test]
fn a_machine_is_registered_by_a_day_that_has_come_or_by_its_mark() {
    let lacks = |given: Given| given.stand().registration.lacks;
    let with_mark = |registered: &str| Given::on("2026-11-25").registered(registered).mark("AB76 CDE");
    assert_eq!(lacks(with_mark("2026-11-26")).as_deref(), Some("registered only on 26 Nov 2026"));
    assert_eq!(lacks(with_mark("2026-11-25")), None);
    assert_eq!(lacks(with_mark("")), None);
    let unknown = "neither a day of registration nor a mark is recorded";
    assert_eq!(lacks(Given::on("2026-11-25")).as_deref(), Some(unknown));
}

#[test]
fn the_certificates_day_wins_over_arithmetic() {
    let given = Given::on("2026-11-25")
        .registered("2023-12-01")
        .row(|row| row.mot_expiry = Some(entry(9, day("2027-05-15"))));
    let mot = given.stand().mot;
    assert_eq!((told(&mot.expiry), mot.worked_out), (Ok(day("2027-05-15")), false));
    assert_eq!(told(&mot.earliest_test), Ok(day("2027-04-16")));
}

#[test]
fn without_a_certificate_the_first_test_is_worked_out_while_that_says_something() {
    let on = |registered: &str, region: Region| {
        let mut given = Given::on("2026-11-25").registered(registered);
        given.practice.region = region;
        let mot = given.stand().mot;
        assert!(mot.worked_out);
        told(&mot.expiry)
    };
    assert_eq!(on("2023-12-01", Region::GreatBritain), Ok(day("2026-12-01")));
    assert_eq!(on("2023-12-01", Region::NorthernIreland), Ok(day("2027-12-01")));
    assert_eq!(on("2022-11-25", Region::GreatBritain), Ok(day("2025-11-25")));
    assert_eq!(on("2022-11-24", Region::GreatBritain), lacks("mot expiry"));
    assert_eq!(on("", Region::GreatBritain), lacks("mot expiry or registration day"));
    assert_eq!(on("1986-11-25", Region::GreatBritain), lacks("whether it is exempt by age, mot expiry"));
}

#[test]
fn a_mark_newer_than_its_machine_and_a_frame_number_of_sixteen_are_noted() {
    let notes = |given: Given| -> Vec<String> {
        given.stand().identity_notes.into_iter().map(|note| format!("{}: {}", note.key, note.what)).collect()
    };
    assert_eq!(
        notes(Given::on("2026-11-25").mark("ab12cde").registered("2011-11-03").frame_no("ZZ9AA000X0000001")),
        [
            "mark's age: AB12 CDE was first given on 1 Mar 2012, after the registration on 3 Nov 2011",
            "frame number's shape: ZZ9AA000X0000001 has 16 characters instead of 17",
        ]
    );
    assert_eq!(
        notes(Given::on("2026-11-25").mark("AA01 AAA").frame_no("1M8GDM9A0KP042788")),
        [
            "mark's shape: AA01 AAA has none of the shapes of a United Kingdom mark",
            "frame number's check digit: the check digit of 1M8GDM9A0KP042788 does not fit its other characters",
        ]
    );
    let right =
        Given::on("2026-11-25").mark("AB12 CDE").registered("2012-03-01").frame_no("ZZ9AA000X00000001");
    assert_eq!(notes(right), [] as [&str; 0]);
    assert_eq!(notes(Given::on("2026-11-25").frame_no("00123456")), [] as [&str; 0]);
}
