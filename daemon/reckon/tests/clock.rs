//! Which readings are trusted, and what is said of the others.

use super::super::Doubt;
use super::{Given, lacks, miles, told};
use crate::units::DistanceUnit;

/// The clock that is trusted (-1 for none) and what is said of the rest.
fn check(readings: &[(&str, i64)], clock: i64, doubts: &[(&str, &str, &str)]) {
    let given =
        readings.iter().fold(Given::on("2026-11-25"), |given, (day, count)| given.reading(day, *count));
    let standing = given.stand();
    let expected = if clock < 0 { lacks("clock reading") } else { Ok(miles(clock)) };
    assert_eq!(told(&standing.clock).map(|clock| clock.distance), expected, "{readings:?}");
    let said = |doubt: &Doubt| (doubt.key.clone(), doubt.what.clone(), doubt.likely.clone());
    let found: Vec<(String, String, String)> = standing.doubts.iter().map(said).collect();
    let expected: Vec<(String, String, String)> =
        doubts.iter().map(|(key, what, likely)| ((*key).into(), (*what).into(), (*likely).into())).collect();
    assert_eq!(found, expected, "{readings:?}");
}

#[test]
fn readings_that_rise_leave_no_doubt() {
    check(&[("2026-10-01", 100), ("2026-10-20", 100), ("2026-11-03", 412)], 412, &[]);
    check(&[("2026-10-01", 100), ("2026-10-01", 112), ("2026-10-01", 112)], 112, &[]);
}

#[test]
fn no_reading_is_no_clock() {
    check(&[], -1, &[]);
}

#[test]
fn a_last_reading_below_the_one_before_is_doubted_and_the_earlier_kept() {
    let what = "the clock goes down from 1,204 miles on 1 Nov 2026 to 1,180 miles on 3 Nov 2026";
    let likely = "one of the two is mistyped, or another clock was put in";
    check(
        &[("2026-10-01", 900), ("2026-11-01", 1204), ("2026-11-03", 1180)],
        1204,
        &[("clock goes down 2026-11-03", what, likely)],
    );
}

#[test]
fn of_two_that_speak_against_each_other_alone_the_earlier_is_kept() {
    let what = "the clock goes down from 1,204 miles on 1 Oct 2026 to 1,180 miles on 3 Oct 2026";
    check(
        &[("2026-09-01", 900), ("2026-10-01", 1204), ("2026-10-03", 1180), ("2026-11-01", 1300)],
        1300,
        &[("clock goes down 2026-10-03", what, "one of the two is mistyped, or another clock was put in")],
    );
}

#[test]
fn of_two_that_speak_against_each_other_an_unlikely_pace_is_the_slip() {
    let what = "the clock goes down from 12,044 miles on 1 Oct 2026 to 1,260 miles on 1 Nov 2026";
    check(
        &[("2026-09-01", 900), ("2026-10-01", 12_044), ("2026-11-01", 1260)],
        1260,
        &[("clock goes down 2026-10-01", what, "a digit was typed twice: 1,204 miles was meant")],
    );
}

#[test]
fn a_dropped_digit_is_told_from_the_readings_around_it() {
    let what = "the clock goes down from 1,204 miles on 1 Oct 2026 to 125 miles on 15 Oct 2026";
    check(
        &[("2026-10-01", 1204), ("2026-10-15", 125), ("2026-11-01", 1300), ("2026-11-10", 1350)],
        1350,
        &[("clock goes down 2026-10-15", what, "a digit was dropped")],
    );
}

#[test]
fn a_doubled_digit_is_told_from_the_readings_around_it() {
    let what = "the clock goes down from 12,244 miles on 15 Oct 2026 to 1,260 miles on 1 Nov 2026";
    check(
        &[("2026-09-01", 1100), ("2026-10-15", 12_244), ("2026-11-01", 1260), ("2026-11-10", 1300)],
        1300,
        &[("clock goes down 2026-10-15", what, "a digit was typed twice: 1,224 miles was meant")],
    );
}

#[test]
fn kilometres_written_for_miles_are_told_from_the_readings_around_them() {
    let what = "the clock goes down from 805 miles on 15 Oct 2026 to 620 miles on 1 Nov 2026";
    let likely = "kilometres were written for miles: 500 miles was meant";
    check(
        &[("2026-10-01", 400), ("2026-10-15", 805), ("2026-11-01", 620), ("2026-11-10", 700)],
        700,
        &[("clock goes down 2026-10-15", what, likely)],
    );
}

#[test]
fn miles_written_for_kilometres_are_told_on_a_clock_in_kilometres() {
    let mut given = Given::on("2026-11-25");
    given.machine.clock_unit = DistanceUnit::Kilometres;
    let given = given
        .reading("2026-10-01", 900)
        .reading("2026-10-15", 621)
        .reading("2026-11-01", 1100)
        .reading("2026-11-10", 1200);
    let doubts = given.stand().doubts;
    assert_eq!(doubts.len(), 1);
    assert_eq!(doubts[0].what, "the clock goes down from 900 km on 1 Oct 2026 to 621 km on 15 Oct 2026");
    assert_eq!(doubts[0].likely, "miles were written for kilometres: 999 km was meant");
}

#[test]
fn while_no_later_reading_settles_it_the_one_before_may_be_the_slip() {
    let what = "the clock goes down from 12,044 miles on 15 Sep 2026 to 1,260 miles on 1 Nov 2026";
    let likely =
        "a digit was dropped; or, in the reading before, a digit was typed twice: 1,204 miles was meant";
    check(
        &[("2026-06-01", 900), ("2026-09-15", 12_044), ("2026-11-01", 1260)],
        12_044,
        &[("clock goes down 2026-11-01", what, likely)],
    );
}

#[test]
fn more_than_a_thousand_miles_a_day_are_not_believed() {
    check(&[("2026-11-01", 100), ("2026-11-02", 1100)], 1100, &[]);
    let what = "1,001 miles in 1 day are more than can be ridden";
    let likely =
        "a digit was typed twice: 101 miles was meant; or, in the reading before, a digit was dropped";
    check(&[("2026-11-01", 100), ("2026-11-02", 1101)], 100, &[("impossible pace 2026-11-02", what, likely)]);
    let what = "5,000 miles in 2 days are more than can be ridden";
    check(
        &[("2026-10-01", 20), ("2026-10-20", 250), ("2026-10-22", 5250), ("2026-10-30", 300)],
        300,
        &[("impossible pace 2026-10-22", what, "there is a digit too many: 250 miles was meant")],
    );
}

#[test]
fn two_readings_below_the_others_are_another_clock_and_the_series_starts_anew() {
    let what = "the clock goes down from 12,300 miles on 1 Oct 2026 to 5 miles on 1 Nov 2026";
    let likely = "another clock was put in and no job says so, or the readings before are another machine's";
    check(
        &[("2026-09-01", 12_000), ("2026-10-01", 12_300), ("2026-11-01", 5), ("2026-11-10", 120)],
        120,
        &[("clock starts anew 2026-11-01", what, likely)],
    );
}

#[test]
fn a_new_clock_that_a_job_tells_of_is_no_doubt() {
    let given = Given::on("2026-11-25")
        .reading("2026-10-01", 12_300)
        .job("2026-10-28", "new speedometer fitted", -1)
        .reading("2026-11-01", 5);
    let standing = given.stand();
    assert_eq!(told(&standing.clock).map(|clock| clock.distance), Ok(miles(5)));
    assert_eq!(standing.doubts, []);
}

#[test]
fn a_reading_of_a_day_to_come_is_doubted_and_never_counts() {
    let what = "the reading of 900 miles is dated 1 Dec 2026, after today, 25 Nov 2026";
    check(
        &[("2026-11-01", 412), ("2026-12-01", 900)],
        412,
        &[("day in the future 2026-12-01", what, "day, month or year is mistyped")],
    );
}

#[test]
fn the_order_of_the_rows_does_not_matter() {
    let readings = [("2026-10-01", 1204), ("2026-10-15", 125), ("2026-11-01", 1300), ("2026-11-10", 1350)];
    let forth = readings.iter().fold(Given::on("2026-11-25"), |given, (day, at)| given.reading(day, *at));
    let back =
        readings.iter().rev().fold(Given::on("2026-11-25"), |given, (day, at)| given.reading(day, *at));
    let said = |given: &Given| {
        given
            .stand()
            .doubts
            .into_iter()
            .map(|doubt| (doubt.key, doubt.what, doubt.likely))
            .collect::<Vec<_>>()
    };
    assert_eq!(said(&forth), said(&back));
    assert_eq!(told(&forth.stand().clock), told(&back.stand().clock));
}
