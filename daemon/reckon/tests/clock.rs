//! Which readings are trusted, and what is said of the others.

use super::super::Doubt;
use super::super::clock::Series;
use super::{Given, entry, lacks, miles, told};
use crate::units::{Days, DistanceUnit};

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
fn the_likelier_slip_decides_which_of_the_last_two_is_wrong() {
    let what = "the clock goes down from 950 miles on 2 Nov 2026 to 645 miles on 24 Nov 2026";
    let likely = "kilometres were written for miles: 590 miles was meant";
    check(
        &[("2026-10-05", 540), ("2026-11-02", 950), ("2026-11-24", 645)],
        645,
        &[("clock goes down 2026-11-02", what, likely)],
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
fn two_swapped_digits_are_likelier_than_another_unit() {
    let mut given = Given::on("2026-11-25");
    given.machine.clock_unit = DistanceUnit::Kilometres;
    let given = given
        .reading("2026-09-01", 3900)
        .reading("2026-10-01", 4204)
        .reading("2026-10-15", 4024)
        .reading("2026-11-01", 4300)
        .reading("2026-11-10", 4350);
    let doubts = given.stand().doubts;
    assert_eq!(doubts.len(), 1);
    assert_eq!(doubts[0].what, "the clock goes down from 4,204 km on 1 Oct 2026 to 4,024 km on 15 Oct 2026");
    assert_eq!(doubts[0].likely, "two digits were swapped: 4,204 km was meant");
}

#[test]
fn while_no_later_reading_settles_it_the_one_before_may_be_the_slip() {
    let what = "the clock goes down from 12,094 miles on 15 Sep 2026 to 1,260 miles on 1 Nov 2026";
    let before = "in the reading before, there is a digit too many: 1,204 miles was meant";
    let likely = &format!("a digit was dropped; or, {before}");
    check(
        &[("2026-06-01", 900), ("2026-09-15", 12_094), ("2026-11-01", 1260)],
        12_094,
        &[("clock goes down 2026-11-01", what, likely)],
    );
}

#[test]
fn more_than_a_thousand_miles_a_day_are_not_believed() {
    check(&[("2026-11-01", 100), ("2026-11-02", 1100)], 1100, &[]);
    let what = "1,001 miles in 1 day are more than can be ridden";
    let likely = "a digit was typed twice: 101 miles was meant";
    check(&[("2026-11-01", 100), ("2026-11-02", 1101)], 100, &[("impossible pace 2026-11-02", what, likely)]);
    let what = "5,000 miles in 2 days are more than can be ridden";
    check(
        &[("2026-10-01", 20), ("2026-10-20", 250), ("2026-10-22", 5250), ("2026-10-30", 300)],
        300,
        &[("impossible pace 2026-10-22", what, "there is a digit too many: 250 miles was meant")],
    );
}

#[test]
fn no_machine_is_ridden_day_after_day_for_weeks_as_far_as_it_may_go_in_a_few() {
    // 7 days of 1,000 miles and 85 of 250, and 7 of 1,000 miles alone: our decision.
    check(&[("2026-06-13", 6100), ("2026-09-13", 34_350)], 34_350, &[]);
    check(&[("2026-09-06", 6100), ("2026-09-13", 13_100)], 13_100, &[]);
    let what = "28,251 miles in 92 days are more than can be ridden";
    // 34,351 km are 21,344.7 miles.
    let likely = "kilometres were written for miles: 21,345 miles was meant";
    check(
        &[("2026-06-13", 6100), ("2026-09-13", 34_351)],
        6100,
        &[("impossible pace 2026-09-13", what, likely)],
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

/// Numbers from 0 up to a limit that look like chance, always the same ones (Knuth's MMIX generator).
fn chance(state: &mut u64, limit: i64) -> i64 {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    ((*state >> 33) % limit.unsigned_abs()) as i64
}

/// A machine with readings that rise, but for some that are anything; the rows in a chance order.
fn any_machine(state: &mut u64) -> (Given, Given) {
    let (mut at, mut day) = (chance(state, 500), super::day("2026-01-01"));
    let mut readings = Vec::new();
    for _ in 0..chance(state, 14) {
        day = Days(chance(state, 20)).after(day).unwrap();
        at += chance(state, 400);
        let shown = if chance(state, 4) == 0 { chance(state, 20_000) } else { at };
        readings.push((day.to_string(), shown));
    }
    let with = |readings: &[(String, i64)]| {
        readings.iter().fold(Given::on("2026-08-01"), |given, (day, count)| given.reading(day, *count))
    };
    let sorted = with(&readings);
    for place in (1..readings.len()).rev() {
        readings.swap(place, chance(state, place as i64 + 1) as usize);
    }
    (sorted, with(&readings))
}

#[test]
fn of_any_readings_the_trusted_never_fall_and_the_order_of_the_rows_does_not_matter() {
    let mut state = 1968;
    let said = |doubts: &[Doubt]| {
        doubts
            .iter()
            .map(|doubt| (doubt.key.clone(), doubt.what.clone(), doubt.likely.clone()))
            .collect::<Vec<_>>()
    };
    let mut doubted = 0;
    for _ in 0..2_000 {
        let (given, shuffled) = any_machine(&mut state);
        let series = Series::of(&given.machine, given.today);
        for pair in series.trusted.windows(2) {
            let days = Days::between(pair[0].day.value, pair[1].day.value).0;
            let gone = pair[1].clock.value - pair[0].clock.value;
            assert!(
                !gone.is_negative() && gone <= miles(1_000 * days.max(1)),
                "{:?}",
                given.machine.readings
            );
        }
        let other = Series::of(&shuffled.machine, shuffled.today);
        assert_eq!(said(&series.doubts), said(&other.doubts));
        let clocks = |series: &Series<'_>| {
            series.trusted.iter().map(|it| (it.day.value, it.clock.value)).collect::<Vec<_>>()
        };
        assert_eq!(clocks(&series), clocks(&other));
        doubted += series.doubts.len();
    }
    assert!(doubted > 2_000, "{doubted} doubts: the readings tried the rule");
}

/// Handed over on 5 January 2026 at 3 miles, with a pace of about 8 miles a day until 1 February.
fn last_is(count: i64, later: &[(&str, i64)]) -> (Option<i64>, Vec<(String, String, String)>) {
    let given = Given::on("2026-03-02")
        .handover("2026-01-05")
        .reading("2026-01-05", 3)
        .reading("2026-01-20", 120)
        .reading("2026-02-01", 231)
        .reading("2026-02-10", count);
    let standing = later.iter().fold(given, |given, (day, count)| given.reading(day, *count)).stand();
    let clock = standing.clock.ok().map(|clock| clock.value.distance.count_in(DistanceUnit::Miles) as i64);
    let said = |doubt: Doubt| (doubt.key, doubt.what, doubt.likely);
    (clock, standing.doubts.into_iter().map(said).collect())
}

#[test]
fn a_doubled_digit_in_the_last_reading_is_told_from_the_machines_own_pace() {
    let doubt = (
        "far beyond its pace 2026-02-10".to_owned(),
        "2,100 miles in 9 days are far beyond its own pace of about 8 miles a day".to_owned(),
        "a digit was typed twice: 231 miles was meant".to_owned(),
    );
    assert_eq!(last_is(2331, &[]), (Some(231), vec![doubt]));
    // No equal neighbours, a step of less than twenty times the pace, or a figure that would not fit either.
    assert_eq!(last_is(2341, &[]), (Some(2341), vec![]));
    assert_eq!(last_is(1100, &[]), (Some(1100), vec![]));
    assert_eq!(last_is(2200, &[]), (Some(2200), vec![]));
    // A later reading past it shows that it was so.
    assert_eq!(last_is(2331, &[("2026-02-20", 2400)]), (Some(2400), vec![]));
}

#[test]
fn a_machine_that_was_merely_ridden_more_is_never_doubted() {
    let mut state = 1977;
    for _ in 0..2_000 {
        let pace = chance(&mut state, 40);
        let (mut at, mut day) = (chance(&mut state, 5_000), super::day("2026-01-01"));
        let mut given = Given::on("2026-12-01");
        for _ in 0..3 + chance(&mut state, 8) {
            given = given.reading(&day.to_string(), at);
            let days = 5 + chance(&mut state, 20);
            day = Days(days).after(day).unwrap();
            at += days * pace * (50 + chance(&mut state, 100)) / 100;
        }
        let days = 1 + chance(&mut state, 20);
        // Up to seven times as much, or a tour of up to a hundred miles a day.
        let tour = chance(&mut state, 100);
        let more = days * (pace * (1 + chance(&mut state, 7))).min(200).max(tour);
        let day = Days(days).after(day).unwrap();
        let given = given.reading(&day.to_string(), at + more);
        let found = given.stand();
        assert_eq!(found.doubts, [], "{:?}", given.machine.readings);
        assert_eq!(told(&found.clock).map(|clock| clock.distance), Ok(miles(at + more)));
    }
}

#[test]
fn a_clock_that_does_not_count_is_told_apart_from_one_that_nobody_wrote_down() {
    let unread = |given: Given| {
        let unread = given.stand().clock_unread;
        unread.map(|unread| (unread.value.clone(), unread.origin.as_ref().map(ToString::to_string)))
    };
    let refused = || {
        let why = "the clock `c. 1400` cannot be read".to_owned();
        Given::on("2026-03-02").row(|row| row.clock_unread = Some(entry(4, why)))
    };
    let (why, cell) = unread(refused()).expect("it was written down");
    assert_eq!(why, "the clock `c. 1400` cannot be read");
    assert!(cell.is_some_and(|cell| cell.contains("A4")));
    // An earlier one that was read counts on.
    assert_eq!(unread(refused().reading("2026-02-01", 1300)), None);
    let ahead = unread(Given::on("2026-03-02").reading("2026-03-09", 40)).map(|(why, _)| why);
    assert_eq!(ahead.as_deref(), Some("the clock is dated 9 Mar 2026, after today"));
    assert_eq!(unread(Given::on("2026-03-02")), None);
}
