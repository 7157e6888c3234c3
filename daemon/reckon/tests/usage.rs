//! The pace of a machine and where it leads.

use super::{Given, lacks, miles, told};

const MISSING: &str = "readings to project from";

fn pace(given: &Given) -> Result<String, String> {
    told(&given.stand().usage).map(|usage| {
        let shown = [usage.miles_a_day, usage.lowest, usage.highest].map(|pace| format!("{pace:.3}"));
        format!("{} from {}", shown.join(" "), usage.readings)
    })
}

/// Source: `scipy.stats.theilslopes([5, 90, 300], [0, 10, 30], alpha=0.9)`, a row of `theil_sen.csv`.
#[test]
fn three_readings_over_a_fortnight_give_a_pace() {
    let given =
        Given::on("2026-11-25").reading("2026-10-01", 5).reading("2026-10-11", 90).reading("2026-10-31", 300);
    assert_eq!(pace(&given), Ok("9.833 8.500 10.500 from 3".to_owned()));
}

#[test]
fn too_few_readings_or_too_short_a_span_give_none() {
    let given = Given::on("2026-11-25").reading("2026-10-01", 5).reading("2026-11-01", 300);
    assert_eq!(pace(&given), lacks(MISSING));
    let given =
        Given::on("2026-11-25").reading("2026-10-01", 5).reading("2026-10-05", 50).reading("2026-10-14", 90);
    assert_eq!(pace(&given), lacks(MISSING));
}

#[test]
fn readings_of_one_day_count_once() {
    let given =
        Given::on("2026-11-25").reading("2026-10-01", 5).reading("2026-10-01", 9).reading("2026-11-01", 300);
    assert_eq!(pace(&given), lacks(MISSING));
}

#[test]
fn readings_of_more_than_a_year_ago_do_not_count() {
    let given = Given::on("2026-11-25")
        .reading("2025-10-01", 5)
        .reading("2026-09-01", 300)
        .reading("2026-11-01", 400);
    assert_eq!(pace(&given), lacks(MISSING));
}

#[test]
fn the_time_in_the_shop_is_no_part_of_the_customers_pace() {
    let given = Given::on("2026-11-25")
        .handover("2026-10-01")
        .reading("2026-06-01", 2)
        .reading("2026-09-30", 14)
        .reading("2026-10-31", 314);
    // 300 miles in 31 days; from two readings the interval is our decision: half to twice.
    assert_eq!(pace(&given), Ok("9.677 4.839 19.355 from 2".to_owned()));
}

#[test]
fn a_machine_new_at_handover_began_at_nothing() {
    let given =
        Given::on("2026-11-25").handover("2026-10-01").registered("2026-09-20").reading("2026-10-31", 300);
    assert_eq!(pace(&given), Ok("10.000 5.000 20.000 from 2".to_owned()));
}

#[test]
fn a_used_machines_clock_at_handover_is_never_taken_for_nothing() {
    let given =
        Given::on("2026-11-25").handover("2026-10-01").registered("2024-03-01").reading("2026-10-31", 8300);
    assert_eq!(pace(&given), lacks(MISSING));
    let given = Given::on("2026-11-25").handover("2026-10-01").reading("2026-10-31", 300);
    assert_eq!(pace(&given), lacks(MISSING));
}

#[test]
fn a_reading_of_the_handover_alone_is_no_pace() {
    let given =
        Given::on("2026-11-25").handover("2026-10-01").registered("2026-09-20").reading("2026-10-01", 6);
    assert_eq!(pace(&given), lacks(MISSING));
}

#[test]
fn the_clock_today_is_carried_on_from_the_last_reading() {
    let given =
        Given::on("2026-11-10").handover("2026-10-01").registered("2026-09-20").reading("2026-10-31", 300);
    assert_eq!(told(&given.stand().clock_today), Ok(miles(400)));
    let read_today = Given::on("2026-11-10").reading("2026-11-10", 412);
    assert_eq!(told(&read_today.stand().clock_today), Ok(miles(412)));
    let unknown = Given::on("2026-11-10").reading("2026-11-09", 412);
    assert_eq!(told(&unknown.stand().clock_today), lacks(MISSING));
}

#[test]
fn the_pace_shows_its_readings_and_is_no_rule_of_thumb() {
    let given =
        Given::on("2026-11-25").handover("2026-10-01").registered("2026-09-20").reading("2026-10-31", 300);
    let shown: Vec<(String, String, bool)> = given
        .stand()
        .usage
        .unwrap()
        .shown_by
        .into_iter()
        .map(|evidence| (evidence.what.clone(), evidence.value.clone(), evidence.common_practice))
        .collect();
    let line = |what: &str, value: &str, common: bool| (what.to_owned(), value.to_owned(), common);
    assert_eq!(
        shown,
        [
            line("registered, so new at handover", "20 Sep 2026", false),
            line("last reading", "300 miles on 31 Oct 2026", false),
            line("pace", "10.0 miles a day, 5.0 to 20.0 likely, from 2 readings", false),
        ]
    );
}

#[test]
fn a_pace_without_a_spread_is_said_without_one() {
    let given = Given::on("2026-11-25")
        .reading("2026-08-01", 10)
        .reading("2026-09-01", 41)
        .reading("2026-10-01", 71)
        .reading("2026-11-01", 102);
    let shown_by = given.stand().usage.unwrap().shown_by;
    let pace = shown_by.into_iter().find(|evidence| evidence.what == "pace").unwrap();
    assert_eq!(pace.value, "1.0 miles a day, from 4 readings");
}
