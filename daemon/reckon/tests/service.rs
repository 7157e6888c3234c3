//! The service plan: due, overdue, and when.

use super::super::{DueWindow, Service, Standing};
use super::{Given, day, either_way, entry, lacks, miles, told};
use crate::origin::Evidence;
use crate::units::{Days, Months};

/// A machine new at its handover on 2 September 2026, with the trade's usual first service.
fn new_machine(today: &str) -> Given {
    Given::on(today).handover("2026-09-02").registered("2026-09-01").plan("first service", (500, 3), (0, 0))
}

fn due_and_overdue(service: &Service) -> (Result<bool, String>, Result<bool, String>) {
    (told(&service.due), told(&service.overdue))
}

fn on(text: &str, by_date: bool) -> DueWindow {
    DueWindow { earliest: day(text), likeliest: day(text), latest: day(text), by_date }
}

#[test]
fn it_is_due_at_its_distance_and_overdue_past_it() {
    for (clock, due, overdue) in [(499, false, false), (500, true, false), (501, true, true)] {
        let service = new_machine("2026-11-25").reading("2026-11-20", clock).service();
        assert_eq!(due_and_overdue(&service), (Ok(due), Ok(overdue)), "{clock}");
        assert_eq!(told(service.due_distance.as_ref().unwrap()), Ok(miles(500)));
    }
}

#[test]
fn it_is_due_on_its_date_and_overdue_past_it() {
    for (today, due, overdue) in
        [("2026-12-01", false, false), ("2026-12-02", true, false), ("2026-12-03", true, true)]
    {
        let service = new_machine(today).reading("2026-11-20", 120).service();
        assert_eq!(due_and_overdue(&service), (Ok(due), Ok(overdue)), "{today}");
        assert_eq!(told(service.due_day.as_ref().unwrap()), Ok(day("2026-12-02")));
    }
}

#[test]
fn it_is_overdue_only_past_the_tolerance_of_the_handbook() {
    let mut given = new_machine("2026-11-25").reading("2026-11-20", 550);
    given.machine.page.services[0].tolerance = Some(entry(9, miles(50)));
    assert_eq!(due_and_overdue(&given.service()), (Ok(true), Ok(false)));
    let mut given = new_machine("2026-12-09").reading("2026-11-20", 120);
    given.machine.page.services[0].tolerance_days = Some(entry(9, Days(7)));
    assert_eq!(due_and_overdue(&given.service()), (Ok(true), Ok(false)));
    given.today = day("2026-12-10");
    assert_eq!(due_and_overdue(&given.service()), (Ok(true), Ok(true)));
}

#[test]
fn a_missing_reading_is_never_a_no() {
    let service = new_machine("2026-11-25").service();
    assert_eq!(due_and_overdue(&service), (lacks("clock reading"), lacks("clock reading")));
    // The date alone is enough for a yes.
    let service = new_machine("2026-12-02").service();
    assert_eq!(due_and_overdue(&service), (Ok(true), lacks("clock reading")));
}

#[test]
fn the_handovers_reading_says_no_for_a_week() {
    let name = "clock reading since handover";
    let service = new_machine("2026-09-09").reading("2026-09-02", 6).service();
    assert_eq!(told(&service.due), Ok(false));
    let service = new_machine("2026-09-10").reading("2026-09-02", 6).service();
    assert_eq!(due_and_overdue(&service), (lacks(name), lacks(name)));
}

#[test]
fn months_count_from_handover_else_from_registration_of_a_sold_machine() {
    let plan = |given: Given| given.plan("first service", (0, 3), (0, 0)).service().due_day.unwrap();
    let sold = Given::on("2026-11-25")
        .registered("2026-09-01")
        .row(|row| row.customer = Some(entry(9, "K. Lane".into())));
    assert_eq!(told(&plan(sold)), Ok(day("2026-12-01")));
    let stock = Given::on("2026-11-25").registered("2026-09-01");
    assert_eq!(told(&plan(stock)), lacks("handover"));
    let booked = Given::on("2026-11-25").registered("2026-09-01").handover("2026-11-28");
    assert_eq!(told(&plan(booked)), Ok(day("2027-02-28")));
}

#[test]
fn a_done_first_service_is_over_with() {
    let service = new_machine("2026-11-25").job("2026-11-20", "1st service, oil and filter", 480).service();
    assert!(service.finished);
    assert_eq!(service.last_done, Some(day("2026-11-20")));
    assert_eq!(due_and_overdue(&service), (Ok(false), Ok(false)));
    assert_eq!((service.due_day, service.due_distance), (None, None));
    assert_eq!(told(&service.falls_due), lacks("a next time in the handbook"));
}

#[test]
fn a_first_service_of_an_unknown_day_is_done_all_the_same() {
    let service = new_machine("2026-11-25").job("", "first service", -1).service();
    assert_eq!(
        (service.done.as_ref().unwrap().value, service.finished, service.last_done),
        (true, true, None)
    );
    let service = new_machine("2026-11-25").job("2026-11-26", "first service", -1).service();
    assert_eq!((service.done.as_ref().unwrap().value, service.finished), (false, false));
}

#[test]
fn a_job_that_only_speaks_of_the_service_does_not_do_it() {
    let service = new_machine("2026-11-25").job("2026-11-20", "puncture; first service due", 510).service();
    assert_eq!((service.finished, told(&service.due)), (false, Ok(true)));
}

#[test]
fn a_job_dated_after_today_has_not_been_done() {
    let service = new_machine("2026-12-25").job("2026-12-28", "first service", -1).service();
    assert_eq!((service.finished, told(&service.due)), (false, Ok(true)));
}

#[test]
fn a_missed_first_service_does_not_hide_behind_a_later_one() {
    let given = new_machine("2027-11-25").plan("annual service", (0, 12), (0, 12)).job(
        "2027-09-01",
        "annual service",
        2400,
    );
    let services = given.stand().services.unwrap();
    assert_eq!(due_and_overdue(&services[0]), (Ok(true), Ok(true)));
    assert_eq!(due_and_overdue(&services[1]), (Ok(false), Ok(false)));
}

#[test]
fn later_ones_count_from_the_last_one_done() {
    let given = new_machine("2027-03-01")
        .plan("oil change", (500, 0), (2000, 12))
        .job("2026-11-20", "oil change", 480)
        .job("2027-02-20", "oil change", 2700);
    let service = given.stand().services.unwrap().remove(1);
    assert_eq!(told(service.due_distance.as_ref().unwrap()), Ok(miles(4700)));
    assert_eq!(told(service.due_day.as_ref().unwrap()), Ok(day("2028-02-20")));
    assert_eq!(told(&service.due), Ok(false));
}

#[test]
fn a_last_one_without_a_clock_makes_the_next_unknown_until_its_date() {
    let name = "clock reading at the last oil change";
    let given = |today| {
        Given::on(today)
            .handover("2026-09-02")
            .plan("oil change", (500, 0), (2000, 12))
            .job("2026-11-20", "oil change", -1)
            .reading("2027-02-20", 2700)
    };
    let service = given("2027-03-01").service();
    assert_eq!(told(service.due_distance.as_ref().unwrap()), lacks(name));
    assert_eq!(due_and_overdue(&service), (lacks(name), lacks(name)));
    assert_eq!(told(&given("2027-11-20").service().due), Ok(true));
    // Another reading of the job's own day knows as well.
    let service = given("2027-03-01").reading("2026-11-20", 480).service();
    assert_eq!(told(service.due_distance.as_ref().unwrap()), Ok(miles(2480)));
}

#[test]
fn a_last_one_without_a_day_makes_the_next_date_unknown() {
    let given = Given::on("2027-03-01").handover("2026-09-02").plan("brake fluid", (0, 24), (0, 24)).job(
        "",
        "brake fluid change",
        480,
    );
    let service = given.service();
    assert_eq!(told(&service.due), lacks("day of the last brake fluid"));
    assert_eq!(service.last_done, None);
}

#[test]
fn what_fell_due_in_other_hands_cannot_be_told() {
    let used = || Given::on("2026-11-25").handover("2026-10-01").registered("2021-05-01");
    let name = "record of the first service before handover";
    let service = used().plan("first service", (500, 3), (0, 0)).reading("2026-09-20", 8000).service();
    assert_eq!(due_and_overdue(&service), (lacks(name), lacks(name)));
    let service = used().plan("first service", (500, 3), (0, 0)).service();
    assert_eq!(told(&service.due), lacks(name));
    let at_the_figure = new_machine("2026-11-25").reading("2026-09-02", 500).service();
    assert_eq!(told(&at_the_figure.due), lacks(name));
    let below_it = new_machine("2026-11-25").reading("2026-09-02", 499).reading("2026-09-30", 520).service();
    assert_eq!(told(&below_it.due), Ok(true));
    // What comes again is due so long after handover at the latest.
    let service = used().plan("brake fluid", (0, 24), (0, 24)).reading("2026-09-20", 8000).service();
    assert_eq!(told(service.due_day.as_ref().unwrap()), Ok(day("2028-10-01")));
}

#[test]
fn whether_an_item_that_fell_due_in_other_hands_was_done_cannot_be_told() {
    // Our decision: the shop's records begin with the handover, and what they do not hold was not for that left undone.
    let used = || Given::on("2026-11-25").handover("2026-10-01").registered("2021-05-01");
    let first = |given: Given| told(&given.plan("first service", (500, 3), (0, 0)).service().done);
    let bought = || used().reading("2026-09-20", 20_000);
    assert_eq!(first(bought()), lacks("record of the first service before handover"));
    assert_eq!(first(bought().job("2026-10-20", "first service", 20_300)), Ok(true));
    // Nobody knows whether it was new: a reading would tell.
    assert_eq!(first(used()), lacks("clock reading at handover"));
    // What falls due in the shop's own time is in its records, or was not done.
    let fluid = |given: Given| told(&given.plan("brake fluid", (30_000, 0), (30_000, 0)).service().done);
    assert_eq!(fluid(bought()), Ok(false));
}

#[test]
fn that_an_item_was_never_done_is_said_of_no_more_than_the_shops_records_cover() {
    // Our decision, as the safe one. What falls due, and on what, is the test's own plan.
    let fluid = |given: Given| told(&given.plan("brake fluid", (0, 24), (0, 24)).service().done);
    let annual = |given: Given| told(&given.plan("annual service", (4000, 12), (4000, 12)).service().done);
    let first = |given: Given| told(&given.plan("first service", (500, 3), (0, 0)).service().done);
    let on = || Given::on("2026-11-25");
    let old = || on().registered("2018-05-01").reading("2026-11-25", 21_000);
    let customer = |given: Given| given.row(|row| row.customer = Some(entry(9, "A. Rider".to_owned())));
    let sold = |given: Given, on: &str| given.row(|row| row.sold = Some(entry(9, day(on))));
    let arrived = |given: Given, on: &str| given.row(|row| row.arrived = Some(entry(9, day(on))));

    // Nothing tells since when the shop has had it, so that it may have been done anywhere.
    let since_when = || lacks("handover, sale or arrival here");
    assert_eq!(fluid(old()), since_when());
    assert_eq!(annual(old()), since_when());
    assert_eq!(fluid(customer(old())), since_when());
    assert_eq!(fluid(on().mark("AB18 CDE").reading("2026-11-25", 21_000)), since_when());
    assert_eq!(first(on().mark("AB76 CDE").reading("2026-11-25", 610)), since_when());
    assert_eq!(fluid(old().handover("2026-12-01")), since_when());
    assert_eq!(fluid(on()), since_when());

    // It fell due before that.
    let before = |item: &str| lacks(&format!("record of the {item} before the shop had it"));
    assert_eq!(fluid(sold(old(), "2026-10-01")), before("brake fluid"));
    assert_eq!(fluid(arrived(old(), "2026-10-01")), before("brake fluid"));
    assert_eq!(first(arrived(old(), "2026-10-01").reading("2026-09-30", 20_900)), before("first service"));
    // By the day, though not by the distance.
    let slow = || on().registered("2018-05-01").handover("2026-10-01").reading("2026-09-30", 3_000);
    assert_eq!(annual(slow()), lacks("record of the annual service before handover"));

    // It fell due since, or has not at all; or the shop had it new.
    let recent = || on().registered("2026-10-01").reading("2026-11-25", 610);
    assert_eq!(first(sold(recent(), "2026-10-05")), Ok(false));
    assert_eq!(first(customer(recent())), Ok(false));
    assert_eq!(first(arrived(recent(), "2026-10-02")), Ok(false));
    assert_eq!(fluid(arrived(on().registered("2024-12-01"), "2026-10-01")), Ok(false));
    assert_eq!(fluid(on().registered("2024-12-01")), Ok(false));
    assert_eq!(
        first(on().frame_no("ZZ9AA000X00000001").handover("2026-10-01").reading("2026-11-25", 610)),
        Ok(false)
    );
    assert_eq!(fluid(sold(on().registered("2018-05-01"), "2018-05-03")), Ok(false));
}

#[test]
fn knowing_less_of_a_machines_age_gives_no_surer_no() {
    // Marks of 25 are given from 1 March 2025, those of 24 from 1 March 2024, those of 74 and 75 from 1 September.
    let fluid = |given: Given| told(&given.plan("brake fluid", (0, 24), (0, 24)).service().done);
    let annual = |given: Given| told(&given.plan("annual service", (4000, 12), (4000, 12)).service().done);
    let on = || Given::on("2026-06-02");
    let read = |given: Given, clock: i64| given.reading("2026-06-01", clock);
    let since_when = || lacks("handover, sale or arrival here");
    assert_eq!(annual(read(on().mark("AB25 CDE"), 900)), since_when());
    assert_eq!(annual(read(on().registered("2025-04-02"), 900)), since_when());
    assert_eq!(annual(read(on().mark("AB75 CDE"), 900)), Ok(false));
    assert_eq!(fluid(on().mark("AB24 CDE")), since_when());
    assert_eq!(fluid(on().mark("AB74 CDE")), Ok(false));
    let built = |given: Given, text: &str| given.row(|row| row.built = Some(entry(9, day(text))));
    assert_eq!(fluid(built(on(), "2019-04-02")), since_when());
    assert_eq!(fluid(built(on(), "2024-07-01")), Ok(false));
    // A mark may look older than its machine; one that was built after it was first given is no older than that.
    assert_eq!(fluid(built(on().mark("AB24 CDE"), "2024-07-01")), Ok(false));

    // Of the shop's own machine whose age nobody knows, a clock that shows next to nothing tells that it is new.
    let arrived = || on().row(|row| row.arrived = Some(entry(9, day("2026-04-02"))));
    assert_eq!(fluid(read(arrived(), 99)), Ok(false));
    assert_eq!(fluid(read(arrived(), 100)), lacks("registration day"));
    assert_eq!(fluid(read(arrived(), 9000)), lacks("registration day"));
    // It had the mark for two years by then, or may have.
    let with_mark = |mark: &str| read(arrived().mark(mark), 9000);
    assert_eq!(fluid(with_mark("AB24 CDE")), lacks("record of the brake fluid before the shop had it"));
    assert_eq!(fluid(with_mark("AB74 CDE")), Ok(false));
}

#[test]
fn a_change_of_clock_makes_the_distance_unknown() {
    let name = "distance on the clock before it was changed";
    let given = Given::on("2026-11-25")
        .plan("oil change", (500, 0), (2000, 0))
        .job("2026-06-01", "oil change", 12_000)
        .job("2026-10-28", "new clock", -1)
        .reading("2026-11-01", 5);
    assert_eq!(told(&given.service().due), lacks(name));
    let since = given.job("2026-11-05", "oil change", 20).reading("2026-11-10", 60);
    assert_eq!(told(&since.service().due), Ok(false));
    let at_once = Given::on("2026-11-25")
        .plan("oil change", (500, 0), (2000, 0))
        .reading("2026-06-01", 12_000)
        .job("2026-10-28", "new clock, oil change", 2)
        .reading("2026-11-10", 60);
    assert_eq!(told(&at_once.service().due), Ok(false));
}

#[test]
fn what_the_new_clock_shows_alone_can_be_enough() {
    for (clock, due) in [(2004, lacks("distance on the clock before it was changed")), (2005, Ok(true))] {
        let given = Given::on("2026-11-25")
            .plan("oil change", (500, 0), (2000, 0))
            .job("2026-06-01", "oil change", 12_000)
            .job("2026-08-28", "new clock", -1)
            .reading("2026-09-01", 5)
            .reading("2026-11-20", clock);
        assert_eq!(told(&given.service().due), due, "{clock}");
    }
}

#[test]
fn a_machine_without_a_plan_cannot_be_judged() {
    assert_eq!(Given::on("2026-11-25").stand().services.unwrap_err().to_string(), "model in the handbook");
}

#[test]
fn a_plan_without_a_limit_says_nothing() {
    let service = Given::on("2026-11-25").plan("chain", (0, 0), (0, 0)).service();
    let name = "distance or months in the handbook";
    assert_eq!(due_and_overdue(&service), (lacks(name), lacks(name)));
    assert_eq!(told(&service.falls_due), lacks(name));
}

#[test]
fn it_falls_due_when_the_pace_reaches_the_distance_or_on_its_date() {
    // 300 miles in 30 days, from two readings 5 to 20 a day: 200 miles to go.
    let given = Given::on("2026-10-10")
        .handover("2026-09-02")
        .registered("2026-09-01")
        .reading("2026-10-02", 300)
        .plan("first service", (500, 3), (0, 0));
    let expected = DueWindow {
        earliest: day("2026-10-12"),
        likeliest: day("2026-10-22"),
        latest: day("2026-11-11"),
        by_date: false,
    };
    assert_eq!(told(&given.service().falls_due), Ok(expected));
    let mut soon = given;
    soon.machine.page.services[0].first_after = Some(entry(9, Months(1)));
    soon.today = day("2026-10-01");
    soon.machine.readings[0].day.value = day("2026-10-01");
    assert_eq!(told(&soon.service().falls_due), Ok(on("2026-10-02", true)));
}

#[test]
fn a_part_of_a_day_counts_as_one() {
    // 270 miles in 30 days, 4.5 to 18 a day: 230 miles to go are 12.8, 25.6 and 51.1 days.
    let given = Given::on("2026-10-10")
        .handover("2026-09-02")
        .registered("2026-09-01")
        .reading("2026-10-02", 270)
        .plan("first service", (500, 0), (0, 0));
    let expected = DueWindow {
        earliest: day("2026-10-15"),
        likeliest: day("2026-10-28"),
        latest: day("2026-11-23"),
        by_date: false,
    };
    assert_eq!(told(&given.service().falls_due), Ok(expected));
}

#[test]
fn a_date_on_the_earliest_day_decides() {
    let mut given = Given::on("2026-10-10")
        .handover("2026-09-02")
        .registered("2026-09-01")
        .reading("2026-10-02", 300)
        .plan("first service", (500, 1), (0, 0));
    given.machine.row.handover.as_mut().unwrap().value = day("2026-09-12");
    // 300 miles in 20 days, at most 30 a day: 200 miles to go are 6.7 days, of which 8 are over.
    let expected = DueWindow {
        earliest: day("2026-10-10"),
        likeliest: day("2026-10-12"),
        latest: day("2026-10-12"),
        by_date: false,
    };
    assert_eq!(told(&given.service().falls_due), Ok(expected));
    given.machine.readings[0].clock.value = miles(200);
    // 10 a day, at most 20: 300 miles to go are 15 days, and the date comes first.
    assert_eq!(told(&given.service().falls_due), Ok(on("2026-10-12", true)));
    given.machine.readings[0].clock.value = miles(250);
    // 12.5 a day, at most 25: 250 miles to go are 10 days, which is the date itself.
    assert_eq!(told(&given.service().falls_due), Ok(on("2026-10-12", true)));
}

#[test]
fn a_date_cuts_the_projected_window_off() {
    // 10 miles a day, 5 to 20: 500 miles are reached between 2 November and 26 December.
    let given = Given::on("2026-10-20")
        .handover("2026-10-01")
        .registered("2026-09-30")
        .reading("2026-10-15", 140)
        .plan("first service", (500, 2), (0, 0));
    let expected = DueWindow {
        earliest: day("2026-11-02"),
        likeliest: day("2026-11-20"),
        latest: day("2026-12-01"),
        by_date: false,
    };
    assert_eq!(told(&given.service().falls_due), Ok(expected));
}

#[test]
fn a_window_never_hides_that_the_distance_may_come_first() {
    let service = new_machine("2026-11-25").plan("x", (0, 0), (0, 0)).reading("2026-09-02", 6).service();
    assert_eq!(told(&service.falls_due), lacks("clock reading since handover"));
    let used = Given::on("2026-11-25").handover("2026-10-01").reading("2026-11-20", 320).plan(
        "first service",
        (500, 3),
        (0, 0),
    );
    assert_eq!(told(&used.service().falls_due), lacks("readings to project from"));
    let by_date_alone = Given::on("2026-11-25").handover("2026-10-01").plan("brake fluid", (0, 24), (0, 24));
    assert_eq!(told(&by_date_alone.service().falls_due), Ok(on("2028-10-01", true)));
}

#[test]
fn what_is_due_says_on_which_day_it_fell_due() {
    let by_date = new_machine("2026-12-10").reading("2026-11-20", 120).service();
    assert_eq!(told(&by_date.falls_due), Ok(on("2026-12-02", true)));
    let by_distance =
        new_machine("2026-12-10").reading("2026-11-20", 520).reading("2026-11-22", 540).service();
    assert_eq!(told(&by_distance.falls_due), Ok(on("2026-11-20", false)));
}

#[test]
fn what_it_rests_on_is_shown_with_its_cells_and_rules_of_thumb() {
    let mut given = new_machine("2026-11-25").reading("2026-11-20", 520);
    given.machine.page.services_are_default = true;
    let service = given.service();
    let line = |evidence: &Evidence| {
        let cell = evidence.origin.as_ref().map(|origin| origin.to_string()).unwrap_or_default();
        format!("{} = {} [{cell}] {}", evidence.what, evidence.value, evidence.common_practice)
    };
    let shown: Vec<String> =
        service.shown_by.iter().chain(&service.due.unwrap().shown_by).map(line).collect();
    assert_eq!(
        shown,
        [
            "service plan = first service [yard.csv, A4] true",
            "last reading = 520 miles on 20 Nov 2026 [yard.csv, A8] false",
            "first at = 500 miles [yard.csv, A5] true",
        ]
    );
}

#[test]
fn a_window_that_lies_in_the_past_has_likely_come_by_today() {
    // 10 miles a day, 5 to 20: 200 miles to go are 10 to 40 days from 2 October.
    let given = |today| {
        Given::on(today).handover("2026-09-02").registered("2026-09-01").reading("2026-10-02", 300).plan(
            "first service",
            (500, 0),
            (0, 0),
        )
    };
    let window = |earliest: &str, likeliest: &str, latest: &str| {
        let (earliest, likeliest, latest) = (day(earliest), day(likeliest), day(latest));
        Ok(DueWindow { earliest, likeliest, latest, by_date: false })
    };
    let falls_due = |today| told(&given(today).service().falls_due);
    assert_eq!(falls_due("2026-10-15"), window("2026-10-15", "2026-10-22", "2026-11-11"));
    assert_eq!(falls_due("2026-10-30"), window("2026-10-30", "2026-10-30", "2026-11-11"));
    assert_eq!(falls_due("2026-12-01"), window("2026-12-01", "2026-12-01", "2026-12-01"));
}

#[test]
fn the_distance_left_is_nothing_once_reached_and_unknown_once_the_clock_was_changed() {
    let left = |given: Given| given.service().distance_left.as_ref().map(told);
    assert_eq!(left(new_machine("2026-11-25").reading("2026-11-20", 120)), Some(Ok(miles(380))));
    assert_eq!(left(new_machine("2026-11-25").reading("2026-11-20", 620)), Some(Ok(miles(0))));
    assert_eq!(left(new_machine("2026-11-25")), Some(lacks("clock reading")));
    let months_only = Given::on("2026-11-25").plan("brake fluid", (0, 24), (0, 24));
    assert_eq!(left(months_only), None);
    // At 2,500 on 1 June, and 600 more until the clock was changed: it went at least 4,990 on both.
    let changed = |clock| {
        Given::on("2026-03-02")
            .handover("2025-01-10")
            .plan("annual service", (2500, 12), (2500, 12))
            .job("2025-06-01", "annual service", 2500)
            .reading("2025-09-01", 3100)
            .job("2025-10-01", "new clock fitted", -1)
            .reading("2025-10-05", 2)
            .reading("2025-12-01", 1000)
            .reading("2026-03-01", clock)
    };
    let name = "distance on the clock before it was changed";
    assert_eq!(left(changed(1892)), Some(lacks(name)));
    assert_eq!(changed(1892).service().clock_before, Some(miles(3100)));
    assert_eq!(left(changed(1902)), Some(Ok(miles(0))));
    assert_eq!(told(&changed(1902).service().falls_due), Ok(on("2026-03-01", false)));
}

#[test]
fn a_service_of_which_nobody_wrote_what_it_was_may_have_done_what_has_come_due() {
    let annual = |done: &str, on: &str| {
        let given = Given::on("2026-05-18").handover("2024-09-20").registered("2024-09-15");
        let given =
            given.plan("annual service", (0, 12), (0, 12)).job(on, done, 4000).reading("2026-05-10", 4900);
        either_way(&given, |service| &service.due)
    };
    let unnamed = || lacks("what was done at the last service");
    for (done, on, expected) in [
        ("service", "2026-03-01", unnamed()),
        ("Last service", "2026-03-01", unnamed()),
        ("annual service", "2026-03-01", Ok(false)),
        ("new chain", "2026-03-01", Ok(true)),
        // One before the handover was another's.
        ("service", "2024-09-01", Ok(true)),
    ] {
        assert_eq!(annual(done, on), expected, "{done} {on}");
    }
}

#[test]
fn whether_an_item_was_ever_done_cannot_be_told_where_a_service_without_a_name_may_have_been_it() {
    let done = |item: &str, first: (i64, i64), done: &str, on: &str, clock: i64| {
        let given = Given::on("2026-05-18").handover("2024-09-20").registered("2024-09-15");
        either_way(&given.plan(item, first, (0, 24)).job(on, done, clock), |service| &service.done)
    };
    let unnamed = || lacks("what was done at the last service");
    for (item, first, job, on, clock, expected) in [
        ("brake fluid", (0, 24), "brake fluid", "2025-02-20", 900, Ok(true)),
        // It was done, though nobody knows when.
        ("brake fluid", (0, 24), "brake fluid", "", -1, Ok(true)),
        ("brake fluid", (0, 24), "service", "2025-02-20", 900, unnamed()),
        ("brake fluid", (0, 24), "service", "", -1, unnamed()),
        ("brake fluid", (0, 24), "new chain", "2025-02-20", 900, Ok(false)),
        // One before the handover was another's, and one to come is none.
        ("brake fluid", (0, 24), "service", "2024-09-01", 1, Ok(false)),
        ("brake fluid", (0, 24), "service", "2026-05-19", 900, Ok(false)),
        ("first service", (500, 3), "service", "2024-11-02", 505, unnamed()),
        ("first service", (500, 3), "service", "2024-11-02", 250, unnamed()),
        ("first service", (500, 3), "service", "2024-11-02", 249, Ok(false)),
        ("first service", (500, 3), "service", "2024-11-02", -1, unnamed()),
        ("first service", (500, 3), "first service", "2024-11-02", 200, Ok(true)),
    ] {
        assert_eq!(done(item, first, job, on, clock), expected, "{item} {job} {on} {clock}");
    }
}

#[test]
fn a_service_without_a_name_is_reckoned_both_ways() {
    let given = |done: &str| {
        let given = Given::on("2026-05-18").handover("2024-09-20").registered("2024-09-15");
        given.plan("annual service", (4000, 12), (4000, 12)).job("2025-05-10", done, 4200).stand()
    };
    let item = |standing: &Standing| standing.services.as_ref().unwrap()[0].clone();
    let standing = given("service");
    let (done, otherwise) = (item(&standing), item(&standing.otherwise.as_ref().unwrap().standing));
    assert_eq!(told(done.due_day.as_ref().unwrap()), Ok(day("2026-05-10")));
    assert_eq!(told(done.due_distance.as_ref().unwrap()), Ok(miles(8200)));
    assert_eq!(
        done.at_the_latest.as_deref(),
        Some("4,000 miles or 12 months after the last service, of which the sheets do not say which it was")
    );
    assert_eq!(done.last_done, None);
    assert_eq!(told(otherwise.due_day.as_ref().unwrap()), Ok(day("2025-09-20")));
    assert_eq!(otherwise.at_the_latest, None);
    assert_eq!((told(&done.due), told(&otherwise.due)), (Ok(true), Ok(true)));
    // One that has a name hangs on nothing.
    assert!(given("annual service").otherwise.is_none());
}

#[test]
fn a_later_service_overtakes_a_first_one_that_nobody_recorded() {
    let overtaken = |at: &str, done: &str| {
        let given = new_machine("2028-03-09").plan("annual service", (4_000, 12), (4_000, 12));
        given.job(at, done, 6_010).service().overtaken_by.ok().map(|by| by.value)
    };
    assert_eq!(overtaken("2028-01-20", "Annual service").as_deref(), Some("Annual service on 20 Jan 2028"));
    // Done in the shop before it was sold, it says nothing; nor does what is no service, nor the first one itself.
    for (at, done) in
        [("2026-09-01", "Annual service"), ("2028-01-20", "Brake fluid"), ("2026-11-20", "First service")]
    {
        assert_eq!(overtaken(at, done), None, "{done}");
    }
}
