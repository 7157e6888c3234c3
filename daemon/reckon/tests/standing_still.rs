//! Machines that stand, oil that stays in, and what ages meanwhile; worked out by hand. Common practice, no source.

use super::{Given, day, entry, lacks, miles, told};
use crate::reckon::Missing;
use crate::yard::Reading;

#[test]
fn a_note_says_that_a_machine_is_laid_up_or_in_use_again() {
    for (note, expected) in [
        ("laid up for the winter", true),
        ("SORN since November", true),
        ("Off the road (gearbox)", true),
        ("not laid up this year", false),
        ("was SORN, back on the road in May", false),
        ("no longer stored", false),
        ("collects at 4 pm", false),
    ] {
        let given = Given::on("2026-03-02").row(|row| row.note = Some(entry(9, note.to_owned())));
        assert_eq!(given.stand().stands.laid_up.map(|note| note.is_some()), Ok(expected), "{note}");
    }
}

#[test]
fn a_note_that_only_asks_whether_a_machine_is_laid_up_says_neither() {
    let not_known = Err(Missing::fact("whether it is laid up, which its note only asks"));
    for (note, expected) in [
        ("laid up?", not_known.clone()),
        ("SORN? ask Mr Other", not_known),
        ("laid up? no, back on the road in May", Ok(false)),
        ("laid up since November. Battery?", Ok(true)),
        ("wants a tyre?", Ok(false)),
    ] {
        let given = Given::on("2026-03-02").row(|row| row.note = Some(entry(9, note.to_owned())));
        assert_eq!(given.stand().stands.laid_up.map(|note| note.is_some()), expected, "{note}");
    }
}

#[test]
fn a_customers_machine_stands_since_the_first_reading_that_its_clock_hardly_left() {
    let with = |last: i64| {
        Given::on("2026-03-02")
            .handover("2024-05-02")
            .reading("2025-09-01", 1_000)
            .reading("2025-11-02", 1_204)
            .reading("2026-01-20", 1_210)
            .reading("2026-02-20", last)
            .stand()
            .stands
    };
    // 20 miles are a push round the yard, 21 are a ride.
    assert_eq!(told(&with(1_224).since), Ok(day("2025-11-02")));
    assert_eq!(told(&with(1_225).since), Ok(day("2026-01-20")));
    assert_eq!(told(&with(1_231).since), Ok(day("2026-02-20")));
    assert_eq!(with(1_224).until, day("2026-02-20"));
    let one = Given::on("2026-03-02").handover("2024-05-02").reading("2025-09-01", 1_000);
    assert_eq!(told(&one.stand().stands.since), lacks("a second clock reading"));
}

#[test]
fn an_unsold_machine_stands_since_it_came_or_was_last_ridden() {
    let came = || Given::on("2026-03-02").row(|row| row.arrived = Some(entry(9, day("2025-11-02"))));
    assert_eq!(told(&came().stand().stands.since), Ok(day("2025-11-02")));
    assert_eq!(came().stand().stands.until, day("2026-03-02"));
    let ridden = came().ride("2026-01-20", 5, 30, None).stand().stands;
    assert_eq!(told(&ridden.since), Ok(day("2026-01-20")));
    assert!(ridden.in_stock);
    let listed = || Given::on("2026-03-02").row(|row| row.model = Some(entry(9, "Knot 300".to_owned())));
    assert_eq!(told(&listed().stand().stands.since), lacks("arrival"));
    // Only a log tells of it: nobody knows whether it is the shop's own.
    assert!(!Given::on("2026-03-02").job("2025-11-02", "annual service", 900).stand().stands.in_stock);
}

#[test]
fn a_clock_without_a_day_does_not_say_when_a_machine_was_moved() {
    let stood = |undated: &[(&str, i64)]| {
        let mut given = Given::on("2026-03-09").row(|row| row.arrived = Some(entry(9, day("2025-07-11"))));
        for (row, (exported, clock)) in (20..).zip(undated) {
            given
                .machine
                .readings
                .push(Reading { day: entry(row, day(exported)), clock: entry(row, miles(*clock)) });
        }
        told(&given.stand().stands.since)
    };
    assert_eq!(stood(&[("2026-03-08", 5_000)]), Ok(day("2025-07-11")));
    // It rose from export to export: it was ridden.
    assert_eq!(stood(&[("2026-02-08", 5_000), ("2026-03-08", 5_100)]), Ok(day("2026-03-08")));
}

#[test]
fn only_a_clock_that_rose_tells_of_riding() {
    let listed = || Given::on("2026-03-09").row(|row| row.model = Some(entry(9, "Knot 300".to_owned())));
    let came = || listed().row(|row| row.arrived = Some(entry(10, day("2025-07-11"))));
    let since = |given: Given| told(&given.stand().stands.since);
    assert_eq!(since(listed().reading("2026-03-08", 5_000)), lacks("arrival"));
    assert_eq!(since(came().reading("2026-03-08", 5_000)), Ok(day("2025-07-11")));
    assert_eq!(
        since(came().reading("2025-07-11", 5_000).reading("2026-03-08", 5_004)),
        Ok(day("2025-07-11"))
    );
    assert_eq!(
        since(came().reading("2025-07-11", 5_000).reading("2026-02-08", 5_100)),
        Ok(day("2026-02-08"))
    );
    assert_eq!(since(listed().reading("2025-10-11", 5_000).reading("2026-02-08", 5_000)), lacks("arrival"));
    let ridden =
        listed().reading("2025-10-11", 5_000).reading("2025-11-11", 5_100).reading("2026-02-08", 5_100);
    assert_eq!(since(ridden), Ok(day("2025-11-11")));
}

#[test]
fn the_running_in_oil_is_out_once_a_job_took_it_out() {
    let given = || Given::on("2026-03-02").handover("2025-12-02").plan("first service", (500, 3), (0, 0));
    let out = |given: Given| told(&given.stand().running_in_oil_out);
    assert_eq!(out(given()), Ok(false));
    assert_eq!(out(given().job("2026-02-10", "first service, oil and filter", -1)), Ok(true));
    assert_eq!(out(given().oil_job("2026-02-10", "first service", "10W-40 MA2")), Ok(true));
    assert_eq!(out(given().oil_job("2026-02-10", "oil topped up", "10W-40 MA2")), Ok(false));
    assert_eq!(out(given().job("2026-02-10", "first service, oil not changed", -1)), Ok(false));
    let unknown = lacks("oil that went in at the first service");
    assert_eq!(out(given().job("2026-02-10", "first service", -1)), unknown);
    // A day that has not come took nothing out.
    assert_eq!(out(given().oil_job("2026-03-10", "first service", "10W-40 MA2")), Ok(false));
    let used = given().reading("2025-12-02", 9_000);
    assert_eq!(out(used), lacks("record of the first service before handover"));
}

#[test]
fn what_ages_is_a_fluid_or_goes_by_months_alone() {
    let ages = |item: &str, first: (i64, i64), then: (i64, i64)| {
        Given::on("2026-03-02").handover("2025-03-02").plan(item, first, then).service().ages
    };
    assert!(ages("brake fluid", (0, 24), (0, 24)));
    assert!(ages("Brake fluid", (12_000, 24), (12_000, 24)));
    assert!(ages("fuel hoses", (0, 48), (0, 48)));
    assert!(!ages("annual service", (0, 12), (0, 12)));
    assert!(!ages("valve clearance", (4_000, 24), (4_000, 24)));
}
