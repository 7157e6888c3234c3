//! Which of day and month comes first where a sheet's own dates leave it open: by the other sheets of its file, by its
//! rows, and else asked. The order of each case was worked out by hand.

use super::*;

/// How each sheet of one workbook is read: its columns of days as the proposal shows them, and what is asked.
fn of_workbook(sheets: &[(&str, &str)]) -> Vec<String> {
    let mut tables: Vec<Table> =
        sheets.iter().map(|(name, lines)| table(&format!("book.xlsx!{name}"), lines)).collect();
    tell_of_file(&mut tables, Some(WRITTEN));
    tables.iter().map(shown).collect()
}

/// A sheet of a file of its own.
fn of_file(lines: &str) -> String {
    let mut tables = [table("log.csv", lines)];
    tell_of_file(&mut tables, Some(WRITTEN));
    shown(&tables[0])
}

fn shown(table: &Table) -> String {
    let read_as = recognise(table, None, DateOrder::DayFirst);
    let by: Vec<&str> =
        read_as.columns.iter().filter_map(|column| column.order_shown_by.as_deref()).collect();
    let order = agreed(table, &read_as).date_order.map_or("nothing written", DateOrder::written);
    let asked: Vec<String> = questions(&read_as).into_iter().map(|question| question.asked).collect();
    [order.to_owned()]
        .into_iter()
        .chain(by.first().map(|by| (*by).to_owned()))
        .chain(asked)
        .collect::<Vec<_>>()
        .join("; ")
}

const STOCK: (&str, &str) =
    ("Stock", "Reg | Model | Handover\nAB12CDE | Heron | 03/04/2026\nAB13CDE | Heron | 05/04/2026");
const FILLS: (&str, &str) = ("Fuel", "Reg | Date | Litres | Grade\nAB12CDE | 02/03/2026 | 9.5 | E10");

#[test]
fn one_date_of_a_workbook_decides_all_its_sheets_where_it_bears_out_the_shops_setting() {
    let jobs = ("Jobs", "Reg | Date | Work done\nAB12CDE | 02/01/2026 | Oil\nAB13CDE | 13/01/2026 | Chain");
    let as_jobs = "day first; as in Jobs, cell B3: 13/01/2026";
    assert_eq!(of_workbook(&[STOCK, jobs, FILLS]), [as_jobs, "nothing written", as_jobs]);
}

#[test]
fn one_date_of_a_workbook_against_the_shops_setting_decides_nothing_and_two_do() {
    let one = ("Jobs", "Reg | Date | Work done\nAB12CDE | 02/01/2026 | Oil\nAB13CDE | 01/13/2026 | Chain");
    let asked = "nothing written; Which day is `03/04/2026` in this sheet?";
    assert_eq!(of_workbook(&[STOCK, one])[0], asked);
    let two = ("Jobs", "Reg | Date | Work done\nAB12CDE | 01/14/2026 | Oil\nAB13CDE | 01/13/2026 | Chain");
    assert_eq!(of_workbook(&[STOCK, two])[0], "month first; as in Jobs, cell B2: 01/14/2026");
    // One program does not write both.
    let both = ("Jobs", "Reg | Date | Work done\nAB12CDE | 01/14/2026 | Oil\nAB13CDE | 13/01/2026 | Chain");
    assert_eq!(of_workbook(&[STOCK, both])[0], asked);
}

#[test]
fn what_decides_is_in_the_proposal_and_read_so() {
    let jobs = table(
        "book.xlsx!Jobs",
        "Reg | Date | Work done\nAB12CDE | 01/14/2026 | Oil\nAB13CDE | 01/13/2026 | Chain",
    );
    let mut tables = [table("book.xlsx!Stock", STOCK.1), jobs];
    tell_of_file(&mut tables, Some(WRITTEN));
    let read_as = recognise(&tables[0], None, DateOrder::DayFirst);
    let shown = proposal(&tables[0], &read_as);
    assert!(shown.contains("handover, month first (as in Jobs, cell B2: 01/14/2026)"), "{shown}");
    let (records, _) = records(&tables[0], &read_as, WRITTEN);
    assert_eq!(said(&records)[0], "AB12 CDE: machine; model Heron, handover 2026-03-04");
}

#[test]
fn another_file_of_the_folder_is_told_beside_the_answer_and_decides_nothing() {
    let stock = table("stock.csv", STOCK.1);
    let jobs = table("sheets/jobs.csv", "Reg | Date | Work done\nAB13CDE | 13/01/2026 | Chain");
    let mut asked = questions(&recognise(&stock, None, DateOrder::DayFirst));
    as_elsewhere(&mut asked[0], || dates_proving([&jobs]));
    let said: Vec<_> = asked[0].answers.iter().map(|answer| answer.said.as_str()).collect();
    assert_eq!(
        said,
        [
            "3 April 2026: the day comes first, as in jobs.csv, cell B2: 13/01/2026",
            "4 March 2026: the month comes first"
        ]
    );
    assert_eq!(asked[0].usual, None);
}

#[test]
fn rows_that_could_not_be_so_decide_the_order() {
    for (lines, expected) in [
        // Written on 30 April 2026: three readings would be of days to come.
        (
            "Reg | Date | Mileage\nAB12CDE | 02/03/2026 | 100\nAB13CDE | 03/05/2026 | 90\nAB12CDE | 03/06/2026 | 140\n\
             AB13CDE | 02/09/2026 | 60\nAB12CDE | 03/04/2026 | 120",
            "month first; B3 `03/05/2026` would be 3 May 2026, yet to come",
        ),
        // Each machine's clock would fall.
        (
            "Reg | Date | Mileage\nAB12CDE | 02/03/2025 | 1100\nAB12CDE | 01/04/2025 | 1400\nAB12CDE | 03/02/2025 | 900\n\
             AB12CDE | 05/01/2025 | 500\nAB12CDE | 04/03/2025 | 1200",
            "day first; the clock in row 2 would have fallen since 4 Jan 2025",
        ),
        // A log that is written down day by day.
        (
            "Reg | Date | Work done\nAB12CDE | 05/11/2025 | Oil\nAB13CDE | 09/11/2025 | Chain\nAB14CDE | 02/12/2025 | Oil\n\
             AB12CDE | 08/12/2025 | Tyre\nAB13CDE | 03/01/2026 | Oil\nAB14CDE | 06/01/2026 | Oil\n\
             AB15CDE | 01/02/2026 | Oil\nAB12CDE | 05/02/2026 | Oil\nAB13CDE | 02/03/2026 | Oil\nAB14CDE | 09/03/2026 | Oil",
            "day first; B4 `02/12/2025` would be 12 Feb 2025, behind 11 Sep 2025",
        ),
        // No machine is serviced before it is registered.
        (
            "Reg | Registered | First service date\nAB12CDE | 02/11/2025 | 03/10/2025\nAB13CDE | 04/12/2025 | 06/10/2025\n\
             AB14CDE | 03/12/2025 | 07/02/2025\nAB15CDE | 01/02/2025 | 03/02/2025",
            "month first; by C2 `03/10/2025` it would be serviced before it was registered",
        ),
    ] {
        assert_eq!(of_file(lines), expected, "{lines}");
    }
}

#[test]
fn rows_that_may_be_either_are_asked_about() {
    for lines in [
        // Sorted as texts: they rise with the month first although it is the day that stands first.
        "Reg | Date | Work done\nAB12CDE | 01/02/2026 | Oil\nAB13CDE | 02/01/2026 | Chain\nAB14CDE | 02/04/2026 | Oil\n\
         AB12CDE | 03/01/2026 | Tyre\nAB13CDE | 03/04/2026 | Oil\nAB14CDE | 04/02/2026 | Oil\nAB15CDE | 05/01/2026 | Oil",
        // They rise in both orders.
        "Reg | Date | Work done\nAB12CDE | 01/02/2026 | Oil\nAB13CDE | 02/02/2026 | Chain\nAB14CDE | 03/02/2026 | Oil\n\
         AB12CDE | 05/02/2026 | Tyre\nAB13CDE | 06/02/2026 | Oil\nAB14CDE | 07/02/2026 | Oil",
        // Jobs that are booked for days to come.
        "Reg | Date | Work done\nAB12CDE | 05/06/2026 | Oil\nAB13CDE | 02/05/2026 | Chain\nAB14CDE | 01/07/2026 | Oil\n\
         AB12CDE | 04/06/2026 | Oil",
        // Two of them only.
        "Reg | Date | Mileage\nAB12CDE | 02/03/2026 | 100\nAB13CDE | 03/05/2026 | 90\nAB12CDE | 03/06/2026 | 140",
    ] {
        let shown = of_file(lines);
        assert!(shown.starts_with("nothing written; Which day is"), "{shown}\n{lines}");
    }
}
