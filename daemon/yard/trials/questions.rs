//! What is asked of a sheet, and what each answer would write: each case by hand.

use super::*;
use crate::units::DistanceUnit as Unit;

/// Each question of a sheet: what is asked, then its answers as lines of the settings.
fn asked(lines: &str) -> Vec<String> {
    let read_as = recognise(&table("a.csv", lines), None, DateOrder::DayFirst);
    let shown = |question: Question| {
        assert!(!question.samples.is_empty(), "{} has no sample", question.asked);
        assert_eq!(question.usual, None, "{}", question.asked);
        let answers: Vec<String> =
            question.answers.iter().map(|answer| answer.settles.lines().join(" & ")).collect();
        format!("{} {}", question.asked, answers.join(", "))
    };
    questions(&read_as).into_iter().map(shown).collect()
}

#[test]
fn nothing_is_asked_where_the_evidence_decides() {
    for lines in [
        "Reg | Model | Handover\nAB12CDE | Heron | 13/04/2026\nAB13CDE | Heron | 03/04/2026",
        "Date | Reg | Mileage\n2026-04-03 | AB12CDE | 1204",
        "Reg | Date in | Date out | Work done\nAB12CDE | 13/04/2026 | 14/04/2026 | Oil",
        // Where points part a date the day comes first.
        "Reg | Model | Handover\nAB12CDE | Heron | 09.11.2025\nAB13CDE | Heron | 03.04.2026",
        // Two columns that say the same are no question.
        "Reg | Vehicle reg | Model\nAB12CDE | AB12CDE | Heron\nAB13CDE | AB13CDE | Heron",
    ] {
        assert_eq!(asked(lines), [""; 0], "{lines}");
    }
}

#[test]
fn two_columns_that_could_both_be_the_handover_are_one_question() {
    assert_eq!(
        asked("Reg | Model | Handed over | Collection date\nAB12CDE | Heron | 13/04/2026 | 15/04/2026"),
        [
            "Which of these columns is the day it goes to the customer (handover)? \"Handed over\" = \"handover\" & \"Collection date\" = \"nothing\", \
          \"Handed over\" = \"nothing\" & \"Collection date\" = \"handover\", \
          \"Handed over\" = \"nothing\" & \"Collection date\" = \"nothing\""
        ]
    );
}

#[test]
fn a_column_that_may_be_one_of_two_fields_or_likely_one_is_asked() {
    assert_eq!(
        asked("Reg | Model | Delivered\nAB12CDE | Heron | 13/05/2025"),
        [
            "What is column `Delivered`? \"Delivered\" = \"arrived\", \"Delivered\" = \"handover\", \"Delivered\" = \"nothing\""
        ]
    );
    assert_eq!(
        asked("Reg | Collected | MOT\nAB15CDE | 13/05/2026 | 11/05/2026"),
        ["What is column `MOT`? \"MOT\" = \"mot expiry\", \"MOT\" = \"nothing\""]
    );
    assert_eq!(
        asked("Reg | Date | Mileege\nAB12CDE | 13/04/2026 | 100"),
        [
            "Is column `Mileege` what the clock showed? (its header is nearly one of this field's; its one value fits) \
          \"Mileege\" = \"clock\", \"Mileege\" = \"nothing\""
        ]
    );
    assert_eq!(
        asked("Reg | Oil grade | Model | Last service date\nAB12CDE | 10W-40 | FELL 400 | 13/05/2025"),
        [
            "Is column `Oil grade` the oil that it asks for? (by its header; it may be the oil that went in at the last service as well) \
          \"Oil grade\" = \"oil asked\", \"Oil grade\" = \"last service oil\", \"Oil grade\" = \"nothing\""
        ]
    );
}

#[test]
fn the_order_of_day_and_month_is_asked_once_for_all_columns_that_leave_it_open() {
    let sheet = "Reg | Sold | Handover | MOT due\nAB12CDE | 05/05/2026 | 07/05/2026 | 09/05/2029\nAB13CDE | 03/04/2026 | 04/04/2026 | 01/02/2029";
    assert_eq!(
        asked(sheet),
        ["Which day is `03/04/2026` in this sheet? dates = \"day first\", dates = \"month first\""]
    );
    let questions = questions(&recognise(&table("a.csv", sheet), None, DateOrder::DayFirst));
    let said: Vec<_> = questions[0].answers.iter().map(|answer| answer.said.as_str()).collect();
    assert_eq!(said, ["3 April 2026: the day comes first", "4 March 2026: the month comes first"]);
    assert_eq!(questions[0].samples.len(), 3);
}

#[test]
fn what_clocks_count_in_is_asked_once_for_the_shop() {
    let unit = |sheets: &[&str]| {
        let sheets: Vec<Table> = sheets.iter().map(|lines| table("a.csv", lines)).collect();
        let read: Vec<ReadAs> =
            sheets.iter().map(|sheet| recognise(sheet, None, DateOrder::DayFirst)).collect();
        unit_question(sheets.iter().map(|sheet| &*sheet.name).zip(&read))
    };
    let odo = "Date | Reg | Odo\n13/04/2026 | AB12CDE | 1204";
    let question =
        unit(&[odo, "Reg | Model | Clock\nAB12CDE | Heron | 1204"]).expect("nothing says the unit");
    assert_eq!((question.samples.len(), question.usual), (2, None));
    let settles: Vec<_> = question.answers.into_iter().map(|answer| answer.settles).collect();
    assert_eq!(settles, [Settles::ClockUnit(Unit::Miles), Settles::ClockUnit(Unit::Kilometres)]);
    // Whoever writes `mileage` mostly means miles: that is usual, and still asked.
    let usual =
        unit(&["Date | Reg | Mileage\n13/04/2026 | AB12CDE | 1204"]).and_then(|question| question.usual);
    assert_eq!(usual, Some(0));
    // The header, every cell, or a column says it.
    for told in [
        "Date | Reg | Odo km\n13/04/2026 | AB12CDE | 1204",
        "Date | Reg | Odo\n13/04/2026 | AB12CDE | 1204 km",
        "Date | Reg | Odo | Unit\n13/04/2026 | AB12CDE | 1204 | km",
    ] {
        assert_eq!(unit(&[told]), None, "{told}");
    }
}
