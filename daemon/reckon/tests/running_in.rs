//! Running-in: stages, limits and rides.

use super::super::{RideAnswer, RideJudged};
use super::{Given, lacks, miles, told};
use crate::units::{Speed, SpeedUnit};
use crate::yard::SpeedSource;

/// The trade's rule of thumb for 125 cc, with the handover on 2 September 2026.
fn machine(today: &str) -> Given {
    Given::on(today)
        .handover("2026-09-02")
        .registered("2026-09-01")
        .plan("first service", (500, 3), (0, 0))
        .stage("first", (500, 3), 40, 45)
        .stage("second", (2500, 6), 50, 55)
}

fn stage(given: &Given) -> Result<Option<String>, String> {
    told(&given.stand().running_in.stage)
}

fn named(name: &str) -> Result<Option<String>, String> {
    Ok(Some(name.to_owned()))
}

fn rides(given: &Given) -> Vec<(String, Option<Speed>, Result<RideAnswer, String>)> {
    let line = |ride: RideJudged| (ride.key, ride.limit, told(&ride.answer));
    given.stand().running_in.rides.into_iter().map(line).collect()
}

fn mph(count: i64) -> Speed {
    Speed::of(count, SpeedUnit::MilesAnHour)
}

#[test]
fn the_figure_and_the_day_themselves_still_belong_to_the_stage() {
    let served = |today: &str| machine(today).job("2026-09-20", "first service", 450);
    assert_eq!(stage(&served("2026-11-25").reading("2026-11-20", 500)), named("first"));
    assert_eq!(stage(&served("2026-11-25").reading("2026-11-20", 501)), named("second"));
    assert_eq!(stage(&served("2026-12-02").reading("2026-11-20", 460)), named("first"));
    assert_eq!(stage(&served("2026-12-03").reading("2026-11-20", 460)), named("second"));
    assert_eq!(stage(&served("2026-11-25").reading("2026-11-20", 2500)), named("second"));
    assert_eq!(stage(&served("2026-11-25").reading("2026-11-20", 2501)), Ok(None));
}

#[test]
fn the_next_stage_begins_only_once_the_first_service_is_done() {
    assert_eq!(stage(&machine("2026-11-25").reading("2026-11-20", 900)), named("first"));
    let served = machine("2026-11-25").reading("2026-11-20", 900).job("2026-11-21", "first service", 905);
    assert_eq!(stage(&served), named("second"));
}

#[test]
fn the_stages_before_the_one_that_the_service_ends_need_no_service() {
    let given = |clock| {
        Given::on("2026-11-25")
            .handover("2026-09-02")
            .plan("first service", (600, 0), (0, 0))
            .stage("1", (100, 0), 30, 0)
            .stage("2", (300, 0), 40, 0)
            .stage("3", (600, 0), 50, 0)
            .reading("2026-11-20", clock)
    };
    assert_eq!(stage(&given(200)), named("2"));
    assert_eq!(stage(&given(301)), named("3"));
    assert_eq!(stage(&given(900)), named("3"));
    assert_eq!(stage(&given(900).job("2026-11-21", "first service", 905)), Ok(None));
}

#[test]
fn what_is_not_known_is_named() {
    assert_eq!(stage(&Given::on("2026-11-25")), lacks("running-in stages in the handbook"));
    let served = |given: Given| given.job("2026-09-20", "first service", -1);
    assert_eq!(stage(&served(machine("2026-11-25"))), lacks("clock reading"));
    let without_plan = Given::on("2026-11-25")
        .handover("2026-09-02")
        .stage("first", (500, 0), 40, 0)
        .reading("2026-11-20", 501);
    assert_eq!(stage(&without_plan), lacks("first service in the handbook"));
    let no_handover = machine("2026-11-25").handover("").row(|row| {
        row.customer = Some(super::entry(9, "K. Lane".to_owned()));
    });
    assert_eq!(stage(&served(no_handover.reading("2026-11-20", 300))), lacks("handover"));
    let stock = machine("2026-11-25").handover("").reading("2026-11-20", 8);
    assert_eq!(stage(&stock), named("first"));
}

#[test]
fn a_machine_that_came_with_more_on_its_clock_is_run_in() {
    let used = Given::on("2026-11-25")
        .handover("2026-10-01")
        .registered("2021-05-01")
        .plan("first service", (500, 3), (0, 0))
        .stage("first", (500, 3), 40, 45)
        .stage("second", (2500, 6), 50, 55)
        .reading("2026-09-20", 8000)
        .ride("2026-10-10", 5, 60, Some(SpeedSource::Satellite));
    assert_eq!(stage(&used), Ok(None));
    let at_the_figure = machine("2026-11-25").reading("2026-09-01", 2500);
    assert_eq!(stage(&at_the_figure), lacks("record of the first service before handover"));
    assert_eq!(told(&used.stand().running_in.top_speed), Ok(None));
    assert_eq!(rides(&used), []);
    let from_its_youth = machine("2026-11-25").reading("2026-01-01", 560).reading("2026-09-01", 2501);
    assert_eq!(stage(&from_its_youth), Ok(None));
}

#[test]
fn the_top_speed_is_that_of_the_stage() {
    assert_eq!(
        told(&machine("2026-11-25").reading("2026-11-20", 300).stand().running_in.top_speed),
        Ok(Some(mph(40)))
    );
    let none = Given::on("2026-11-25").stage("first", (500, 0), 0, 0).reading("2026-11-20", 300);
    assert_eq!(told(&none.stand().running_in.top_speed), lacks("top speed in the handbook"));
}

#[test]
fn a_ride_is_held_against_the_burst_limit_of_its_own_day() {
    let given = machine("2026-11-25")
        .reading("2026-09-10", 100)
        .ride("2026-09-12", 20, 45, Some(SpeedSource::Speedometer))
        .ride("2026-09-12", 20, 46, Some(SpeedSource::Speedometer))
        .ride("2026-09-13", 20, 46, Some(SpeedSource::Satellite))
        .ride("2026-09-14", 20, 44, Some(SpeedSource::Satellite))
        .job("2026-09-20", "first service", 505)
        .ride("2026-09-21", 20, 55, Some(SpeedSource::Speedometer));
    let ride = |key: &str, limit, answer| (key.to_owned(), Some(mph(limit)), Ok(answer));
    assert_eq!(
        rides(&given),
        [
            ride("2026-09-12 45 mph", 45, RideAnswer::Clear),
            ride("2026-09-12 46 mph", 45, RideAnswer::Breach),
            ride("2026-09-13 46 mph", 45, RideAnswer::BeyondDoubt),
            ride("2026-09-14 44 mph", 45, RideAnswer::Possible),
            ride("2026-09-21 55 mph", 55, RideAnswer::Clear),
        ]
    );
}

#[test]
fn a_road_test_before_handover_has_the_first_stages_limit() {
    let given = machine("2026-11-25").ride("2026-09-01", 5, 50, Some(SpeedSource::Satellite));
    assert_eq!(rides(&given), [("2026-09-01 50 mph".to_owned(), Some(mph(45)), Ok(RideAnswer::BeyondDoubt))]);
    let on_the_day = machine("2026-11-25").ride("2026-09-02", 5, 30, Some(SpeedSource::Satellite));
    assert_eq!(rides(&on_the_day), [("2026-09-02 30 mph".to_owned(), Some(mph(45)), Ok(RideAnswer::Clear))]);
}

#[test]
fn a_ride_of_which_something_is_not_known_is_not_clear() {
    let given = machine("2026-11-25")
        .reading("2026-09-10", 100)
        .ride("2026-09-12", 20, -1, None)
        .ride("2026-09-13", 20, 44, None)
        .ride("2026-09-14", 20, 46, None)
        .ride("2026-12-14", 20, 30, None)
        .ride("", 20, 46, None);
    let source = lacks("what the top speed was read from");
    assert_eq!(
        rides(&given),
        [
            ("2026-09-12 no speed".to_owned(), Some(mph(45)), lacks("top speed of the ride")),
            ("2026-09-13 44 mph".to_owned(), Some(mph(45)), source),
            ("2026-09-14 46 mph".to_owned(), Some(mph(45)), Ok(RideAnswer::BreachUnsourced)),
            ("no day 46 mph".to_owned(), None, lacks("day of the ride")),
        ]
    );
}

#[test]
fn what_a_breach_rests_on_is_shown_in_the_units_of_the_machine() {
    let mut given = machine("2026-11-25").reading("2026-09-10", 100).ride(
        "2026-09-12",
        20,
        46,
        Some(SpeedSource::Speedometer),
    );
    given.machine.page.stages_are_default = true;
    let shown = |given: &Given| -> Vec<String> {
        let rides = given.stand().running_in.rides;
        let shown_by = rides[0].answer.as_ref().unwrap().shown_by.iter();
        shown_by.map(|it| format!("{}: {} {}", it.what, it.value, it.common_practice)).collect()
    };
    assert_eq!(
        shown(&given),
        [
            "ride: 12 Sep 2026 false",
            "top speed of the ride: 46 mph on the speedometer false",
            "last reading before the ride: 100 miles on 10 Sep 2026 false",
            "running-in stage: first true",
            "short bursts up to: 45 mph true",
        ]
    );
    given.machine.clock_unit = crate::units::DistanceUnit::Kilometres;
    assert_eq!(shown(&given)[1], "top speed of the ride: 74 km/h on the speedometer false");
}

#[test]
fn a_rides_own_clock_decides_over_an_earlier_reading() {
    let mut given = machine("2026-11-25")
        .reading("2026-09-10", 100)
        .job("2026-09-20", "first service", 490)
        .ride("2026-09-21", 20, 50, Some(SpeedSource::Speedometer));
    given.machine.rides[0].clock = Some(super::entry(9, miles(510)));
    assert_eq!(rides(&given), [("2026-09-21 50 mph".to_owned(), Some(mph(55)), Ok(RideAnswer::Clear))]);
}

#[test]
fn until_the_first_service_is_done_no_clock_is_needed() {
    let given = machine("2026-11-25").ride("2026-11-12", 20, 60, Some(SpeedSource::Satellite));
    let beyond_doubt = || ("2026-11-12 60 mph".to_owned(), Some(mph(45)), Ok(RideAnswer::BeyondDoubt));
    assert_eq!(rides(&given), [beyond_doubt()]);
    assert_eq!(rides(&given.reading("2026-11-11", 2900)), [beyond_doubt()]);
    assert_eq!(stage(&machine("2026-11-25")), named("first"));
}

/// What one ride on 27 February 2026 is found to be, after the handover on 20 December and the first service.
fn ride_between(
    speed: i64,
    served: (&str, i64),
    readings: &[(&str, i64)],
) -> (Option<Speed>, Result<RideAnswer, String>) {
    let given = Given::on("2026-03-02")
        .handover("2025-12-20")
        .plan("first service", (500, 3), (0, 0))
        .stage("first", (500, 3), 40, 45)
        .stage("second", (2500, 6), 50, 55)
        .job(served.0, "first service", served.1)
        .ride("2026-02-27", 12, speed, Some(SpeedSource::Speedometer));
    let given = readings.iter().fold(given, |given, (day, count)| given.reading(day, *count));
    let (_, limit, answer) = rides(&given).remove(0);
    (limit, answer)
}

#[test]
fn a_ride_between_two_readings_is_judged_only_where_both_say_the_same() {
    let unknown = || (None, lacks("clock at the ride"));
    let served = ("2026-02-01", 490);
    // 490 on 1 February is the first stage, 900 on 28 February the second.
    assert_eq!(ride_between(50, served, &[("2026-02-28", 900)]), unknown());
    assert_eq!(ride_between(56, served, &[("2026-02-28", 900)]), (Some(mph(55)), Ok(RideAnswer::Breach)));
    assert_eq!(ride_between(45, served, &[("2026-02-28", 900)]), (Some(mph(55)), Ok(RideAnswer::Clear)));
    assert_eq!(ride_between(50, served, &[("2026-02-28", 500)]), (Some(mph(45)), Ok(RideAnswer::Breach)));
    // The last stage ends at 2,500.
    let late = ("2026-01-02", 490);
    let either = [("2026-01-05", 2400), ("2026-03-01", 2900)];
    assert_eq!(ride_between(60, late, &either), unknown());
    assert_eq!(ride_between(55, late, &either), (Some(mph(55)), Ok(RideAnswer::Clear)));
}

#[test]
fn a_reading_of_the_rides_own_day_decides() {
    let served = ("2026-02-01", 490);
    let readings = [("2026-02-27", 498), ("2026-02-28", 900)];
    assert_eq!(ride_between(50, served, &readings), (Some(mph(45)), Ok(RideAnswer::Breach)));
}

#[test]
fn without_a_later_reading_the_pace_says_how_far_the_clock_can_have_gone() {
    let unknown = || (None, lacks("clock at the ride"));
    // About 11 miles a day until 1 February: 490 has long become more than 500.
    let pace = [("2025-12-20", 3), ("2026-01-10", 240)];
    assert_eq!(ride_between(50, ("2026-02-01", 490), &pace), unknown());
    // About 1 mile a day, at most 2: 40 stays below 500.
    let slow = [("2025-12-20", 3), ("2026-01-10", 20)];
    assert_eq!(ride_between(50, ("2026-02-01", 40), &slow), (Some(mph(45)), Ok(RideAnswer::Breach)));
    // Without a pace a reading is good for a week.
    assert_eq!(ride_between(50, ("2026-02-20", 490), &[]), (Some(mph(45)), Ok(RideAnswer::Breach)));
    assert_eq!(ride_between(50, ("2026-02-19", 490), &[]), unknown());
}

#[test]
fn the_order_of_the_rows_leaves_every_rides_key() {
    let given = machine("2026-11-25")
        .ride("2026-09-12", 20, 46, Some(SpeedSource::Speedometer))
        .ride("2026-09-12", 30, 46, Some(SpeedSource::Satellite))
        .ride("2026-09-12", 20, 52, Some(SpeedSource::Satellite));
    let said = |given: &Given| {
        let mut rides = rides(given);
        rides.sort_by(|one, other| one.0.cmp(&other.0));
        rides
    };
    let mut turned = machine("2026-11-25");
    turned.machine.rides = given.machine.rides.iter().rev().cloned().collect();
    assert_eq!(said(&given), said(&turned));
    let keys: Vec<String> = said(&given).into_iter().map(|(key, ..)| key).collect();
    assert_eq!(keys, ["2026-09-12 46 mph", "2026-09-12 46 mph (2)", "2026-09-12 52 mph"]);
}

#[test]
fn a_ride_of_a_day_to_come_is_not_judged() {
    let given = machine("2026-11-25").ride("2026-12-14", 20, 60, Some(SpeedSource::Satellite));
    assert_eq!(rides(&given), []);
}
