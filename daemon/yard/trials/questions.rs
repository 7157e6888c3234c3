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
        ["What is column `MOT`? \"MOT\" = \"mot expiry\", \"MOT\" = \"mot test day\", \"MOT\" = \"nothing\""]
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
fn one_date_that_speaks_against_the_shops_setting_is_told_with_the_question() {
    let regd = "Reg | Registered\nKM76RAA | 10/05/2026\nKM76RAB | 11/02/2026\nKM76RAC | 11/20/2026\n\
                KM22RAD | 04/10/2022\nKM23RAE | 12/11/2023";
    assert_eq!(
        asked(regd),
        [
            "Which day is `10/05/2026` in this sheet? (`11/20/2026` is a day only with the month first, or it was \
             mistyped; nothing else tells) dates = \"day first\", dates = \"month first\""
        ]
    );
    // Two columns do not both have the same slip of the keyboard.
    let both = "Reg | Registered | Handover\nKM76RAA | 10/05/2026 | 10/07/2026\nKM76RAB | 11/02/2026 | 11/04/2026\n\
                KM76RAC | 11/20/2026 | 12/02/2026\nKM22RAD | 04/10/2022 | 04/12/2022\nKM23RAE | 12/11/2023 | 12/19/2023";
    assert_eq!(asked(both), [""; 0]);
    assert_eq!(
        read(&table("a.csv", both)).0[0],
        "KM76 RAA: machine; registered 2026-10-05, handover 2026-10-07"
    );
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

#[test]
fn a_day_of_the_handover_is_asked_about_under_whatever_header() {
    for header in [
        "Est. delivery",
        "Ready for",
        "Promised",
        "Required by",
        "Customer delivery slot",
        "Handover (provisional)",
        "Hand-over fixed",
    ] {
        assert_eq!(
            asked(&format!("Reg | {header} | PDI\nAB76CDE | 30/11/2026 | pass\nAB76CDF | 28/11/2026 | ")),
            [format!("What is column `{header}`? \"{header}\" = \"handover\", \"{header}\" = \"nothing\"")]
        );
    }
    // These are days of something else.
    for header in ["Finance required by", "Pre-delivery wash", "Tax disc ready", "Deposit paid"] {
        let sheet = format!("Reg | {header} | Sold\nAB76CDE | 30/11/2026 | 20/11/2026");
        assert_eq!(asked(&sheet), [""; 0], "{header}");
    }
}

#[test]
fn a_handover_that_holds_only_words_is_asked_about_and_not_dropped() {
    assert_eq!(
        asked(
            "Reg | Sold | Handover\nHW76AAA | 20/11/2026 | w/c 30/11/2026\nHW76AAB | 21/11/2026 | ASAP\n\
             HW76AAC | 22/11/2026 | Fri 4th Dec\nHW76AAD | 23/11/2026 | tomorrow"
        ),
        ["What is column `Handover`? \"Handover\" = \"handover\", \"Handover\" = \"nothing\""]
    );
}

#[test]
fn figures_before_a_day_of_the_clock_are_asked_about_where_no_clock_is_known() {
    for header in ["Dash km", "Dash"] {
        assert_eq!(
            asked(&format!(
                "Reg | Handover | {header} | Read on\nGX76AAC | 22/09/2026 | 640 | 27/11/2026\n\
                 GX23AAA | 22/12/2023 | 14200 | 27/11/2026"
            )),
            [format!("What is column `{header}`? \"{header}\" = \"clock\", \"{header}\" = \"nothing\"")]
        );
    }
}

#[test]
fn a_delivery_that_does_not_lie_before_the_collection_is_one_question_with_it() {
    let question = |first: &str, second: &str| {
        format!(
            "Which of these columns is the day it goes to the customer (handover)? \"{first}\" = \"handover\" & \
             \"{second}\" = \"nothing\", \"{first}\" = \"nothing\" & \"{second}\" = \"handover\", \"{first}\" = \
             \"nothing\" & \"{second}\" = \"nothing\""
        )
    };
    assert_eq!(
        asked(
            "Reg | Collection date | Delivery date\nFN76AAA | 25/09/2026 | 27/09/2026\n\
             FN76AAB | 26/10/2026 | 28/10/2026"
        ),
        [question("Collection date", "Delivery date")]
    );
    // Some are collected and some are taken to the customer.
    assert_eq!(
        asked(
            "Reg | Sold | Collection date | Delivery\nFN76AAA | 21/09/2026 | 25/09/2026 | \nFN76AAB | 22/10/2026 | | 28/10/2026"
        ),
        [question("Collection date", "Delivery")]
    );
}

#[test]
fn a_book_of_one_visit_each_is_asked_about_whatever_the_header_of_its_day_and_who_stands_beside() {
    // Nobody but the shop can tell when a row was put into the program and when the work was done.
    for day in ["Created at", "Entered", "Logged"] {
        for (beside, cells) in [
            ("", ["", "", ""]),
            (" | Customer", [" | Ann Orchard", " | Bob Meadow", " | Cat Hedge"]),
            (" | Model", [" | Heron", " | Heron", " | Moor 650"]),
            (" | Notes", [" | waits", " | ", " | "]),
        ] {
            let book = format!(
                "{day} | Reg | Work done | Mileage{beside}\n02/03/2026 | AB12CDE | Annual service | 4100{}\n\
                 05/03/2026 | AB13CDE | First service | 610{}\n19/03/2026 | AB14CDE | Brake fluid change | 8020{}",
                cells[0], cells[1], cells[2]
            );
            assert_eq!(
                asked(&book),
                ["What are the rows of this sheet? rows = \"machine\", rows = \"job\", rows = \"nothing\""],
                "{book}"
            );
        }
    }
}
