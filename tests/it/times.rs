//! Times of day beside days: they say which of two checks came last, and on which of the shop's days a ride was.
//!
//! World time and British summer time: ISO 8601, and the tz database's Europe/London.

use crate::program::Yard;
use crate::withdrawn::before_handover;

const SALES: &str = "Reg,Model,Registered,Handover\nKX76 ABD,Knot 300,2026-06-25,2026-07-03\n";
const CHECKS: &str = "Date,Reg,Item,Result,By\n2026-06-28 09:00,KX76 ABD,PDI,ok,Ann\n";

/// What is open of the machine on 2 July with these checks of its quality and these rides.
fn open(quality: &[&str], rides: &[&str]) -> String {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", SALES);
    let quality: String =
        quality.iter().map(|row| format!("{},KX76 ABD,QC,{},Bo\n", &row[..16], &row[17..])).collect();
    yard.put("sheets/checks.csv", format!("{CHECKS}{quality}"));
    let rides: String = rides.iter().map(|day| format!("{day},KX76 ABD,6,40,Ann\n")).collect();
    yard.put("sheets/rides.csv", format!("Date,Reg,Miles ridden,Top speed mph,Rider\n{rides}"));
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.kept_morning("2026-07-02");
    before_handover(&run, "KX76 ABD")
}

const TWO_DAYS: [&str; 2] = ["2026-06-29T09:00:00Z", "2026-06-30T09:00:00Z"];

#[test]
fn of_two_checks_of_one_day_the_later_one_counts() {
    let (failed, passed) = ("2026-06-29 09:00 FAIL", "2026-06-29 16:00 ok");
    for rows in [[failed, passed], [passed, failed]] {
        assert_eq!(open(&rows, &TWO_DAYS), "", "{rows:?}");
    }
    let later = open(&["2026-06-29 09:00 ok", "2026-06-29 16:00 FAIL"], &TWO_DAYS);
    assert!(later.contains("quality check (failed on 29 Jun 2026"), "{later}");
}

#[test]
fn a_ride_late_at_night_in_world_time_is_of_the_shops_next_day() {
    let passed = ["2026-06-29 16:00 ok"];
    let one_day = open(&passed, &["2026-06-30T23:30:00Z", "2026-07-01T09:00:00Z"]);
    assert!(one_day.contains("road test"), "{one_day}");
    assert_eq!(open(&passed, &["2026-06-30T23:30:00Z", "2026-06-30T09:00:00Z"]), "");
}
