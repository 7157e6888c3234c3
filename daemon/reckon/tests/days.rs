//! Days that cannot be so, and since when a customer has the machine.

use super::super::marks;
use super::{Given, day, entry, lacks, told};
use crate::units::{Distance, DistanceUnit};
use crate::yard::CheckResult::{Failed, NotDone, Passed};
use crate::yard::{Mark, SpeedSource};

fn doubts(given: &Given) -> Vec<(String, String)> {
    given.stand().doubts.into_iter().map(|doubt| (doubt.key, doubt.what)).collect()
}

fn notes(given: &Given) -> Vec<(String, String)> {
    given.stand().row_notes.into_iter().map(|note| (note.key, note.what)).collect()
}

#[test]
fn every_record_dated_after_today_is_doubted_once() {
    let given = Given::on("2026-03-02")
        .fill("2026-12-20", -1, 50, "E85", true)
        .job("2026-12-02", "first service", -1)
        .job("2026-12-03", "oil change", 900)
        .ride("2026-03-03", 12, 40, Some(SpeedSource::Speedometer))
        .check("2026-03-04", "quality check", Passed, "Ben")
        .check("2026-03-05", "brakes", Failed, "Ben")
        .check("2026-03-06", "torque re-check", NotDone, "");
    let line = |key: &str, what: &str, shown: &str| {
        (key.to_owned(), format!("{what} is dated {shown}, after today, 2 Mar 2026"))
    };
    assert_eq!(
        doubts(&given),
        [
            line("ride in the future 2026-03-03", "the ride at 40 mph", "3 Mar 2026"),
            line("check in the future 2026-03-04", "the check \"quality check\"", "4 Mar 2026"),
            line("check in the future 2026-03-05", "the check \"brakes\"", "5 Mar 2026"),
            line("job in the future 2026-12-02", "the job \"first service\"", "2 Dec 2026"),
            line("day in the future 2026-12-03", "the reading of 900 miles", "3 Dec 2026"),
            line("fill in the future 2026-12-20", "the fill with E85", "20 Dec 2026"),
        ]
    );
    let today = Given::on("2026-03-02").fill("2026-03-02", -1, 50, "E85", true).job("", "oil", -1);
    assert_eq!(doubts(&today), []);
}

#[test]
fn days_of_the_row_that_cannot_be_so_are_noted() {
    let sold = |text: &str| Given::on("2026-03-02").row(|row| row.sold = Some(entry(9, day(text))));
    let line = |key: &str, what: &str| vec![(key.to_owned(), what.to_owned())];
    let mot = |registered: &str, text: &str| {
        Given::on("2026-03-02").registered(registered).row(|row| row.mot_expiry = Some(entry(9, day(text))))
    };
    let mot_far_ahead = |shown: &str| {
        let what =
            format!("the MOT is said to run to {shown}, and no certificate runs for more than 13 months");
        line("MOT far ahead", &what)
    };
    let cases = [
        (mot("2020-04-01", "2027-04-02"), Vec::new()),
        (mot("2020-04-01", "2027-04-03"), mot_far_ahead("3 Apr 2027")),
        // The first test of a new machine, in Northern Ireland.
        (mot("2026-03-01", "2030-03-01"), Vec::new()),
        (mot("2026-03-01", "2062-03-01"), mot_far_ahead("1 Mar 2062")),
        (Given::on("2026-03-02").registered("2026-03-02"), Vec::new()),
        (
            Given::on("2026-03-02").registered("2026-03-03"),
            line(
                "registration in the future",
                "the registration is dated 3 Mar 2026, after today, 2 Mar 2026",
            ),
        ),
        (sold("2026-03-02"), Vec::new()),
        (
            sold("2026-03-03"),
            line("sale in the future", "the sale is dated 3 Mar 2026, after today, 2 Mar 2026"),
        ),
        (Given::on("2026-03-02").handover("2027-03-02"), Vec::new()),
        (
            Given::on("2026-03-02").registered("2026-02-27").handover("2062-03-02"),
            line("handover far ahead", "the handover is dated 2 Mar 2062, more than a year ahead"),
        ),
        (Given::on("2026-03-02").registered("2026-02-01").handover("2025-02-01"), Vec::new()),
        (
            Given::on("2026-03-02").registered("2026-02-01").handover("2025-01-31"),
            line(
                "handover before registration",
                "the handover on 31 Jan 2025 is more than a year before the registration on 1 Feb 2026",
            ),
        ),
    ];
    for (given, expected) in cases {
        assert_eq!(notes(&given), expected);
    }
}

#[test]
fn a_machine_sold_long_enough_ago_is_with_its_customer_though_nobody_wrote_the_handover_down() {
    let since = |given: &Given| told(&given.stand().customer_since);
    let registered = || Given::on("2026-03-02").registered("2025-12-01");
    let sold = |given: Given, text: &str| given.row(|row| row.sold = Some(entry(9, day(text))));
    let bought = |given: Given| given.row(|row| row.customer = Some(entry(9, "K. Lane".to_owned())));
    let first = || Ok(day("2025-12-01"));
    assert_eq!(since(&registered()), lacks("handover"));
    assert_eq!(since(&bought(registered())), first());
    assert_eq!(since(&sold(registered(), "2026-02-01")), first());
    // Sold four weeks ago it may still be waiting, and a sale to come is none.
    assert_eq!(since(&sold(registered(), "2026-02-02")), lacks("handover"));
    assert_eq!(since(&sold(bought(registered()), "2026-03-09")), lacks("handover"));
    assert_eq!(since(&sold(Given::on("2026-03-02"), "2025-12-01")), lacks("handover"));
    assert_eq!(since(&sold(registered(), "2026-02-01").handover("2026-03-09")), Ok(day("2026-03-09")));
    let plan = |given: Given| given.plan("first service", (500, 3), (0, 0)).service().due_day.unwrap();
    assert_eq!(told(&plan(sold(registered(), "2026-02-20"))), Ok(day("2026-03-01")));
    assert_eq!(told(&plan(sold(registered(), "2026-03-09"))), lacks("handover"));
}

#[test]
fn next_to_nothing_on_the_clock_makes_a_machine_new_however_long_ago_it_was_registered() {
    let new = |given: &Given| told(&given.stand().new_at_handover);
    let registered = |text: &str| Given::on("2026-03-02").registered(text).handover("2026-01-02");
    assert_eq!(new(&registered("2025-07-02")), Ok(true));
    assert_eq!(new(&registered("2025-07-01")), lacks("clock reading at handover"));
    assert_eq!(new(&registered("2025-07-01").reading("2026-01-05", 99).reading("2026-02-01", 400)), Ok(true));
    assert_eq!(new(&registered("2025-07-01").reading("2026-01-05", 100)), Ok(false));
    assert_eq!(
        new(&registered("2025-07-01").reading("2025-07-03", 5).reading("2025-12-20", 2400)),
        Ok(false)
    );
    assert_eq!(new(&registered("2025-07-01").reading("2026-02-01", 60)), Ok(true));
    let changed = registered("2021-07-01").job("2026-01-01", "new clock", -1);
    let changed = changed.reading("2025-12-20", 9000).reading("2026-01-02", 2);
    assert_eq!(new(&changed), lacks("clock reading at handover"));
    assert_eq!(new(&Given::on("2026-03-02").handover("2026-01-02")), Ok(true));
    assert_eq!(new(&Given::on("2026-03-02").registered("2026-01-02")), lacks("handover"));
    // A year on the road without a ride does not make it another's.
    let service = registered("2024-07-01").plan("first service", (500, 3), (0, 0)).reading("2026-01-09", 60);
    assert_eq!(told(service.service().due_day.as_ref().unwrap()), Ok(day("2026-04-02")));
}

#[test]
fn a_machine_of_which_nothing_tells_is_taken_for_new_and_the_evidence_says_so() {
    let shown = |given: &Given| {
        let new = given.stand().new_at_handover.unwrap();
        let evidence: Vec<String> =
            new.shown_by.iter().map(|evidence| format!("{}: {}", evidence.what, evidence.value)).collect();
        (new.value, evidence.join("; "))
    };
    let handed_over = || Given::on("2026-03-02").handover("2026-01-02");
    let taken =
        "new at handover: taken for new: neither registration nor a reading at handover says otherwise";
    assert_eq!(shown(&handed_over()), (true, taken.to_owned()));
    // What the customer rode since says nothing of the day itself.
    assert_eq!(shown(&handed_over().reading("2026-01-04", 150)), (true, taken.to_owned()));
    let used = "reading at handover: 9,000 miles on 20 Dec 2025".to_owned();
    assert_eq!(shown(&handed_over().reading("2025-12-20", 9000)), (false, used));
    let new = "reading at handover: 4 miles on 2 Jan 2026".to_owned();
    assert_eq!(shown(&handed_over().reading("2026-01-02", 4)), (true, new));
}

/// Source: DVLA INF104: 19 was given from 1 March to 31 August 2019, 25 to 31 August 2025, 75 to 28 February 2026.
#[test]
fn a_machine_whose_mark_is_long_older_than_its_handover_is_not_taken_for_new() {
    const MISSING: &str =
        "registration day or clock reading at handover (the mark is older than the handover)";
    let new = |given: &Given| told(&given.stand().new_at_handover);
    let marked = |mark: &str| Given::on("2026-11-30").mark(mark).handover("2026-05-06");
    // The customer's own miles tell nothing of the day of the handover.
    assert_eq!(new(&marked("WN19 FGH").reading("2026-11-20", 8800)), lacks(MISSING));
    assert_eq!(new(&marked("WN25 FGH")), lacks(MISSING));
    assert_eq!(new(&marked("WN75 FGH")), Ok(true));
    assert_eq!(new(&marked("WN26 FGH")), Ok(true));
    // A new machine may be given an older mark, and the sheets say so.
    assert_eq!(new(&marked("WN19 FGH").registered("2026-05-01")), Ok(true));
    assert_eq!(new(&marked("WN19 FGH").reading("2026-05-06", 4)), Ok(true));
    assert_eq!(new(&marked("WN19 FGH").reading("2026-05-06", 8100)), Ok(false));
    // An end that no test until today can have given is that of a first MOT, three years after registration.
    let tested = |text: &str| {
        let expiry = day(text);
        marked("WN19 FGH").row(|row| row.mot_expiry = Some(entry(9, expiry)))
    };
    assert_eq!(new(&tested("2029-05-01")), Ok(true));
    assert_eq!(new(&tested("2028-04-01")), lacks(MISSING));
    assert_eq!(new(&tested("2027-12-30")), lacks(MISSING));
    // Letters that give no date say nothing of age.
    assert_eq!(new(&marked("FEZ 123")), Ok(true));
    let service =
        |mark: &str| marked(mark).plan("first service", (500, 3), (0, 0)).reading("2026-11-20", 8800);
    assert_eq!(
        told(&service("WN19 FGH").service().due),
        lacks("record of the first service before handover")
    );
    assert_eq!(told(&service("WN26 FGH").service().due), Ok(true));
}

#[test]
fn a_mark_tells_the_last_day_it_was_first_given() {
    let until = |mark: &str| marks::given_until(&Mark::new(mark).unwrap()).map(|day| day.to_string());
    for (mark, day) in [
        ("WN19 FGH", "2019-08-31"),
        ("WN75 FGH", "2026-02-28"),
        ("Y123 ABC", "2001-08-31"),
        ("A123 ABC", "1984-07-31"),
        ("ABC 123Y", "1983-07-31"),
    ] {
        assert_eq!(until(mark), Some(day.to_owned()), "{mark}");
    }
    assert_eq!(until("Q123 ABC"), None);
}

#[test]
fn a_new_machine_is_told_by_its_clock_in_kilometres_too() {
    let mut given = Given::on("2026-03-02").registered("2025-06-01").handover("2026-01-02");
    given.machine.clock_unit = DistanceUnit::Kilometres;
    let given = given.reading("2026-01-02", 160);
    assert!(Distance::of(160, DistanceUnit::Kilometres) < super::miles(100));
    assert_eq!(told(&given.stand().new_at_handover), Ok(true));
}

#[test]
fn whether_a_machine_sold_long_ago_is_with_its_customer_cannot_be_told_without_a_handover() {
    let sold = |on: &str| {
        let sold = Some(entry(9, day(on)));
        told(&Given::on("2026-11-25").row(|row| row.sold = sold).stand().with_customer)
    };
    assert_eq!(sold("2026-11-20"), Ok(false), "made ready for its customer");
    assert_eq!(sold("2026-10-20"), lacks("handover"));
}
