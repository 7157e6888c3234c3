//! Sheets that a program or a person has put out of order: each case with what a person would expect, written by hand.

use super::*;

const PARTED: &str = "seems to be parted over two cells at its comma, which moves the cells behind it, so the row was not read";

#[test]
fn a_figure_parted_at_its_comma_gives_no_clock_of_one_mile() {
    let lines = "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 1 | 204\nAB13CDE | 14/04/2026 | 96\nAB14CDE | 15/04/2026 | 12 | 204 miles";
    check(
        &table("mileages.csv", lines),
        &["AB13 CDE: reading; on 2026-04-14, clock 96"],
        &[&format!("C2 `1` the `clock` {PARTED}"), &format!("C4 `12` the `clock` {PARTED}")],
    );
    // A price that nobody reads moves the clock behind it.
    check(
        &table(
            "stock.csv",
            "Reg | Model | Price | Mileage\nAB12CDE | Heron | £1 | 649.00 | 310\nAB13CDE | Heron | £900.00 | 88",
        ),
        &["AB13 CDE: machine; model Heron", "AB13 CDE: reading; on 2026-04-30, clock 88"],
        &[&format!("C2 `£1` the `figure` {PARTED}")],
    );
    // A decimal comma parts a figure, too.
    check(
        &table(
            "fuel.csv",
            "Reg | Date | Litres | Grade\nAB12CDE | 13/04/2026 | 9 | 5 | E10\nAB13CDE | 14/04/2026 | 8.5 | E5\n\
             AB14CDE | 14/04/2026 | 9 | E5 | paid by card",
        ),
        &[
            "AB13 CDE: fill; on 2026-04-14, volume 8.5 litres, grade E5",
            "AB14 CDE: fill; on 2026-04-14, volume 9 litres, grade E5",
        ],
        &[&format!("C2 `9` the `litres` {PARTED}")],
    );
    check(
        &table(
            "mileages.csv",
            "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 620 | 5 km\nAB13CDE | 14/04/2026 | 96",
        ),
        &["AB13 CDE: reading; on 2026-04-14, clock 96"],
        &[&format!("C2 `620` the `clock` {PARTED}")],
    );
    // Cells without a header are nothing unusual by themselves, and a workbook parts nothing.
    check(
        &table(
            "mileages.csv",
            "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 1204 | seen by Sam\nAB13CDE | 14/04/2026 | 9 | 2",
        ),
        &["AB12 CDE: reading; on 2026-04-13, clock 1204", "AB13 CDE: reading; on 2026-04-14, clock 9"],
        &[],
    );
    check(
        &table("Yard.xlsx!Mileages", "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 9 | 204"),
        &["AB12 CDE: reading; on 2026-04-13, clock 9"],
        &[],
    );
}

#[test]
fn of_several_tables_in_a_sheet_one_is_read_and_the_others_are_told() {
    let another = "another table begins here, and was not read";
    check(
        &table(
            "book.csv",
            "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 1204\n\nFuel\nReg | Date | Litres\nAB12CDE | 14/04/2026 | 9.6",
        ),
        &["AB12 CDE: reading; on 2026-04-13, clock 1204"],
        &[&format!("A5 `Reg` {another}")],
    );
    // The one with the most known headers is read, wherever it stands.
    check(
        &table(
            "book.csv",
            "Reg | Date | Miles\nAB12CDE | 14/04/2026 | 960\n\nReg | Make | Model | Handover\nAB12CDE | Marlow | Heron | 13/04/2026",
        ),
        &["AB12 CDE: machine; make Marlow, model Heron, handover 2026-04-13"],
        &[&format!("A1 `Reg` {another}")],
    );
    check(
        &table(
            "book.csv",
            "Reg | Date | Miles | | Reg | Date | Litres\nAB12CDE | 14/04/2026 | 960 | | AB13CDE | 15/04/2026 | 9.6",
        ),
        &["AB12 CDE: reading; on 2026-04-14, clock 960 mi"],
        &[&format!("E1 `Reg` {another}")],
    );
    // A table that is only continued says its headers again, in one row or two.
    check(
        &table(
            "book.csv",
            "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 1204\n\nMAY\nReg | Date | Odometer\nAB13CDE | 14/04/2026 | 96",
        ),
        &["AB12 CDE: reading; on 2026-04-13, clock 1204", "AB13 CDE: reading; on 2026-04-14, clock 96"],
        &[],
    );
    check(
        &table(
            "stock.csv",
            "Reg | Make | Service |\n | | Date | Miles\nAB12CDE | Marlow | 14/05/2025 | 512\nReg | Make | Service |\n \
             | | Date | Miles\nAB13CDE | Marlow | 15/05/2025 | 530",
        ),
        &[
            "AB12 CDE: machine; make Marlow",
            "AB12 CDE: job; on 2025-05-14, done service, clock 512 mi",
            "AB13 CDE: machine; make Marlow",
            "AB13 CDE: job; on 2025-05-15, done service, clock 530 mi",
        ],
        &[],
    );
}

#[test]
fn what_stands_below_a_merged_cell_is_told_and_not_taken_for_a_heading() {
    check(
        &table(
            "jobs.csv",
            "Reg | Date | Work done | Mileage\nAB12CDE | 13/04/2026 | First service | 600\n | | Chain |\n\
             AB13CDE | 13/04/2026 | Service | 5\nMAY\nAB14CDE | 14/05/2026 | Service | 9",
        ),
        &[
            "AB12 CDE: job; on 2026-04-13, done First service, clock 600",
            "AB13 CDE: job; on 2026-04-13, done Service, clock 5",
            "AB14 CDE: job; on 2026-05-14, done Service, clock 9",
        ],
        &["C3 `Chain` the `done` stands in a row that names no machine"],
    );
}

#[test]
fn a_merged_cell_holds_for_all_its_rows() {
    let lines = "Reg | Date | Work done | Mileage\n | | |\nAB12CDE | 13/04/2026 | First service | 600\n | | Chain |\n\
                 | 20/04/2026 | Rear tyre | 688\nAB13CDE | 13/04/2026 | Service | 5\n | | Chain |";
    let merged = |column, first_row, last_row| Merged { column, first_row, last_row };
    // The header reaches down to row 2, the mark to row 5, the day to row 4; below row 6 nothing is merged.
    let merged = vec![merged(0, 1, 2), merged(0, 3, 5), merged(1, 3, 4)];
    check(
        &table("jobs.xlsx", lines).with_merged(merged),
        &[
            "AB12 CDE: job; on 2026-04-13, done First service, clock 600",
            "AB12 CDE: job; on 2026-04-13, done Chain",
            "AB12 CDE: job; on 2026-04-20, done Rear tyre, clock 688",
            "AB13 CDE: job; on 2026-04-13, done Service, clock 5",
        ],
        &["C7 `Chain` the `done` stands in a row that names no machine"],
    );
}

#[test]
fn a_point_that_may_part_thousands_gives_no_clock_of_one_mile() {
    let read = |texts: &[&str]| {
        let cells: Vec<_> = texts.iter().copied().map(Cell::Text).collect();
        let (said, told) = read(&column("Mileage", &cells));
        let clocks =
            said.into_iter().filter_map(|line| line.split_once("clock ").map(|(_, clock)| clock.to_owned()));
        (clocks.collect::<Vec<_>>(), told)
    };
    let doubt = "the `clock` may be thousands parted by a point, or a figure with a fraction";
    let (clocks, told) = read(&["1.234", "12.345 km", "960"]);
    assert_eq!(clocks, ["960"]);
    assert_eq!(told, [format!("B2 `1.234` {doubt}"), format!("B3 `12.345 km` {doubt}")]);
    // One figure elsewhere in the column tells.
    assert_eq!(read(&["1.234", "12,5"]).0, ["1234", "12.5"]);
    assert_eq!(read(&["1.234", "12.5"]).0, ["1.2", "12.5"]);
    assert_eq!(read(&["1,234", "0.250"]).0, ["1234", "0.3"]);
    // Beside thousands that are parted by commas a point may part them by a slip.
    let (clocks, told) = read(&["1.900", "30,100", "2600.0"]);
    assert_eq!(
        (clocks, told),
        (vec!["30100".to_owned(), "2600".to_owned()], vec![format!("B2 `1.900` {doubt}")])
    );
    // What a machine costs is no clock.
    let (clocks, told) = read(&["£4,100", "960", "1,204"]);
    assert_eq!(
        (clocks, told),
        (vec!["960".to_owned(), "1204".to_owned()], vec!["B2 `£4,100` the `clock` is a price".to_owned()])
    );
    // A satellite's distances have three places.
    check(
        &table(
            "Road tests.csv",
            "Reg | Date | Distance\nAB12CDE | 13/04/2026 | 6.214\nAB13CDE | 13/04/2026 | 5.125",
        ),
        &["AB12 CDE: ride; on 2026-04-13, distance 6.2", "AB13 CDE: ride; on 2026-04-13, distance 5.1"],
        &[],
    );
}

#[test]
fn real_dates_among_texts_that_fit_another_order_are_not_believed() {
    let real = |month: i8, day: i8| Cell::Day(date(2026, month, day).at(0, 0, 0, 0));
    let text = Cell::Text;
    let (doubted, believed) = (
        "may have its day and month changed round: the spreadsheet program has taken only those dates of this column \
         for dates that fit another order",
        "AB04 CDE: machine; handover 2026-05-05",
    );
    // 3 April, 5 May, 6 April and 1 February as a program sees them that expects the month first.
    let opened = [real(3, 4), text("13/04/2026"), real(5, 5), real(4, 6), text("14/04/2026"), real(1, 2)];
    let with_third = [&opened[..], &[text("28/02/2026")]].concat();
    check(
        &column("Handover", &with_third),
        &[
            "AB02 CDE: machine",
            "AB03 CDE: machine; handover 2026-04-13",
            believed,
            "AB05 CDE: machine",
            "AB06 CDE: machine; handover 2026-04-14",
            "AB07 CDE: machine",
            "AB08 CDE: machine; handover 2026-02-28",
        ],
        &[
            &format!("B2 `2026-03-04` the `handover` {doubted}"),
            &format!("B5 `2026-04-06` the `handover` {doubted}"),
            &format!("B7 `2026-01-02` the `handover` {doubted}"),
        ],
    );
    // One real date past the twelfth, one text that fits either order, or a handful of dates alone show nothing.
    for sound in [
        [&with_third[..], &[real(4, 21)]].concat(),
        [&with_third[..], &[text("03/04/2026")]].concat(),
        opened.to_vec(),
    ] {
        assert_eq!(read(&column("Handover", &sound)).1, Vec::<String>::new());
    }
}

#[test]
fn marks_and_numbers_that_became_dates_or_figures_are_told_and_the_rest_of_the_row_is_lost_with_them() {
    check(
        &table(
            "stock.csv",
            "Reg | Stock No | Model | Phone\n10-Dec | | Heron | 07700 900123\n | 12/10/2026 | Heron |\n\
             AB13CDE | 101.0 | Heron | 7.7009E+09\nAB14CDE | S102 | Heron | 7700900123",
        ),
        &["AB13 CDE: machine; model Heron", "AB14 CDE: machine; model Heron, telephone 07700900123"],
        &[
            "A2 `10-Dec` the `mark` was turned into a date by the spreadsheet program",
            "B3 `12/10/2026` the `stock number` was turned into a date by the spreadsheet program",
            "D4 `7.7009E+09` the `telephone` was damaged by the spreadsheet program, which cut it to a rounded figure",
            "stock.csv `` 2 rows name no machine that can be read, and nothing that they say counts: A2 `10-Dec`, B3 `12/10/2026`",
        ],
    );
}
