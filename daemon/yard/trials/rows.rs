//! What the rows of whole sheets say: each case with what a person would expect, written by hand.

use super::*;

#[test]
fn a_wide_sheet_gives_each_machine_all_its_records() {
    let table = table(
        "stock.csv",
        "Northgate Motorcycles | | |\n\
         Stock list, printed 30/04/2026 | | |\n\
         \n\
         Stk No. | Reg No. | V.I.N. | Make | Model | Type | CC | Odo (km) | Date 1st Reg | Handover | Customer | Mobile | Max fuel | Oil | MOT due | 1st service | 1st service miles | PDI | PDI by | QC | QC date | Road test 1 | RT1 miles | Last fuel\n\
         S101 | ab12 cde | JX1AA123456789012 | Marlow | Spruce | moped | 49 | 310 | 02/03/2026 | 05/03/2026 | J Carter | 07700 900123 | E5 | 10W-40 MA2 | | | | pass | Sam | ok | 04/03/2026 | 03/03/2026 | 6 | E10\n\
         S102 | | JX1AA123456789013 | Marlow | Heron 125 | motorcycle | 124.7 | 4 | | tbc | | | E10 | | | | | fail | | | | | |\n\
         S103 | AB13 CDE | | Marlow | Heron 125 | m/cycle | 125 | 1204 miles | 31/01/2025 | 01/02/2025 | A Green | | E10 | 10W40 | 30/01/2028 | 14/05/2025 | 512 miles | 30/01/2025 | Jo | yes | 31/01/2025 | | |\n\
         | | | | | | | | | | | | | | | | | | | | | | |\n\
         Total | | | | | | | 1518 | | | | | | | | | | | | | | | |\n\
         * distances as the clock shows them",
    );
    check(
        &table,
        &[
            "AB12 CDE: machine; make Marlow, model Spruce, kind moped, cc 49, registered 2026-03-02, \
             handover 2026-03-05, customer J Carter, telephone 07700 900123, fuel E5, oil 10W-40 MA2",
            "AB12 CDE: reading; on 2026-04-30, clock 310 km",
            "AB12 CDE: check; item pre-delivery inspection, result Passed, by Sam",
            "AB12 CDE: check; on 2026-03-04, item quality check, result Passed",
            "AB12 CDE: ride; on 2026-03-03, distance 6 mi",
            "AB12 CDE: fill; grade E10",
            "stock S102: machine; make Marlow, model Heron 125, kind motorcycle, cc 125, fuel E10",
            "stock S102: reading; on 2026-04-30, clock 4 km",
            "stock S102: check; item pre-delivery inspection, result Failed",
            "stock S102: check; item quality check, result NotDone",
            "AB13 CDE: machine; make Marlow, model Heron 125, kind motorcycle, cc 125, registered 2025-01-31, \
             handover 2025-02-01, customer A Green, fuel E10, oil 10W40, mot 2028-01-30",
            "AB13 CDE: reading; on 2026-04-30, clock 1204 mi",
            "AB13 CDE: job; on 2025-05-14, done first service, clock 512 mi",
            "AB13 CDE: check; on 2025-01-30, item pre-delivery inspection, result Passed, by Jo",
            "AB13 CDE: check; on 2025-01-31, item quality check, result Passed",
        ],
        &[],
    );
}

#[test]
fn a_mileage_log_gives_readings() {
    check(
        &table(
            "mileages.csv",
            "Reg | Date | Miles\nAB12CDE | 13/04/2026 | 1,204\nAB12CDE | 20/04/2026 | 1,310\nAB13CDE | 01/04/2026 | 88 km",
        ),
        &[
            "AB12 CDE: reading; on 2026-04-13, clock 1204 mi",
            "AB12 CDE: reading; on 2026-04-20, clock 1310 mi",
            "AB13 CDE: reading; on 2026-04-01, clock 88 km",
        ],
        &[],
    );
}

#[test]
fn miles_are_the_distance_in_a_ride_log_and_the_clock_in_a_mileage_log() {
    check(
        &table("Yard.xlsx!Road tests", "Plate | Date | Miles | Rider\nAB12CDE | 13/04/2026 | 6.2 | Sam"),
        &["AB12 CDE: ride; on 2026-04-13, distance 6.2 mi, by Sam"],
        &[],
    );
    check(
        &table(
            "gps.csv",
            "Name | Ride date | Distance km | Top speed km/h | Measured by\nA Green | 13/04/2026 | 10 | 72 | GPS",
        ),
        &[],
        &["A1 `` no column tells which machine a row is about, so the sheet is not read"],
    );
    check(
        &table(
            "gps.csv",
            "Registration | Ride date | Distance km | Max mph | Measured by | Odo\nAB12CDE | 13/04/2026 | 10 | 45 | GPS | 100",
        ),
        &["AB12 CDE: ride; on 2026-04-13, distance 10 km, top speed 45 mph, by source Satellite, clock 100"],
        &[],
    );
}

#[test]
fn a_job_log_a_fuel_log_and_a_check_log_give_their_records() {
    check(
        &table(
            "job cards.csv",
            "Job No | Date Completed | Bike Reg | Model | Work Carried Out | Mileage | Oil Used | Technician\n\
             1 | 14-Apr-26 | AB12 CDE | Heron 125 | First service | 512 | 10W40 MA2 | Sam\n\
             2 | 15-Apr-26 | AB12 CDE | Heron 125 | Brake fluid | tbc | | Jo\n\
             3 | 16-Apr-26 | AB13 CDE | | | 88 | | Jo",
        ),
        &[
            "AB12 CDE: job; on 2026-04-14, done First service, clock 512, oil 10W40 MA2, by Sam",
            "AB12 CDE: job; on 2026-04-15, done Brake fluid, by Jo",
            "AB13 CDE: reading; on 2026-04-16, clock 88",
        ],
        &["E4 `` the `done` is blank, so nothing tells what was done"],
    );
    check(
        &table(
            "fuel.csv",
            "VRM | Date | Odometer | Qty (L) | Grade | Full?\nAB12CDE | 14/04/2026 | 512 | 6.2 | E10 | Y\nAB12CDE | 20/04/2026 | 640 | 2 gal | super | no",
        ),
        &[
            "AB12 CDE: fill; on 2026-04-14, clock 512, volume 6.2 litres, grade E10, full true",
            "AB12 CDE: fill; on 2026-04-20, clock 640, volume 9.09 litres, grade super, full false",
        ],
        &[],
    );
    check(
        &table(
            "checks.csv",
            "Stock No | Date | Item | Result | Checked by\nS1 | 14/04/2026 | Brakes | pass | Sam\nS1 | 14/04/2026 | Horn | | Sam\nS1 | 14/04/2026 | Chain | looks nice | Sam",
        ),
        &[
            "stock S1: check; on 2026-04-14, item Brakes, result Passed, by Sam",
            "stock S1: check; on 2026-04-14, item Horn, result NotDone, by Sam",
            "stock S1: check; on 2026-04-14, item Chain, result Unclear, by Sam",
        ],
        &["D4 `looks nice` the `result` does not say pass or fail"],
    );
}

#[test]
fn a_wide_check_sheet_gives_an_item_for_each_column() {
    check(
        &table(
            "PDI sheets.csv",
            "Stock | Date | Front brake | Tyres | Steering head | Horn | Done by\nS1 | 14/04/2026 | ✓ | ✓ | x | | Sam\nS2 | | ok | | ok | |",
        ),
        &[
            "stock S1: check; on 2026-04-14, item Front brake, result Passed, by Sam",
            "stock S1: check; on 2026-04-14, item Tyres, result Passed, by Sam",
            "stock S1: check; on 2026-04-14, item Steering head, result Unclear, by Sam",
            "stock S1: check; on 2026-04-14, item Horn, result NotDone, by Sam",
            "stock S2: check; item Front brake, result Undated",
            "stock S2: check; item Tyres, result NotDone",
            "stock S2: check; item Steering head, result Undated",
            "stock S2: check; item Horn, result NotDone",
        ],
        &[
            "E2 `x` a bare `x` may mean done or failed: by this cell no check is passed, and none failed",
            "C3 `` no day can be read beside a check: by 2 cells no check is passed",
        ],
    );
    check(
        &table("Book.xlsx!QC", "Reg | Date | Result | By\nAB12CDE | 14/04/2026 | pass | Jo"),
        &["AB12 CDE: check; on 2026-04-14, item quality check, result Passed, by Jo"],
        &[],
    );
}

#[test]
fn titles_totals_headings_repeated_headers_and_footnotes_are_no_records() {
    let table = table(
        "mileages.csv",
        "Mileage log 2026\n\nReg | Date | Mileage\nAB12CDE | 13/04/2026 | 1204\n\n | | \nMARCH\nReg | Date | Mileage\n\
         Page 2\nPage 3 of 3\nAB13CDE | 14/04/2026 | 96\nTotals | | 1300\n | | 1300\nPrinted by the office on 30/04/2026\nE&OE",
    );
    check(
        &table,
        &["AB12 CDE: reading; on 2026-04-13, clock 1204", "AB13 CDE: reading; on 2026-04-14, clock 96"],
        &[],
    );
}

#[test]
fn bare_figures_below_the_last_machine_are_no_records_where_they_are_sums_or_averages() {
    let lines = "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 1204\n | | 50\nAB13CDE | 14/04/2026 | 96\n | | 1300\n\
                 | | 650\n | | 651";
    check(
        &table("mileages.csv", lines),
        &["AB12 CDE: reading; on 2026-04-13, clock 1204", "AB13 CDE: reading; on 2026-04-14, clock 96"],
        &[
            "C3 `50` the `clock` stands in a row that names no machine",
            "C7 `651` the `clock` stands in a row that names no machine",
        ],
    );
}

#[test]
fn a_row_with_values_but_no_machine_is_told() {
    check(
        &table(
            "mileages.csv",
            "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 1204\n | 14/04/2026 | 96\nAB13CDE | 15/04/2026 | 10\n | 16/04/2026 | 11",
        ),
        &["AB12 CDE: reading; on 2026-04-13, clock 1204", "AB13 CDE: reading; on 2026-04-15, clock 10"],
        &[
            "B3 `14/04/2026` the `day` stands in a row that names no machine",
            "B5 `16/04/2026` the `day` stands in a row that names no machine",
        ],
    );
}

#[test]
fn what_cannot_be_read_is_told_and_the_rest_of_the_row_counts() {
    let table = table(
        "stock.csv",
        "Reg | VIN | Model | Mileage | Handover | Fuel allowed\n\
         AB12CDE | 1.23457E+16 | Heron | 1200ish | 31/02/2026 | super\n\
         AB13CDE | JX1AA123456789012 | Spruce | #N/A | 13/04/2026 | E5",
    );
    let read_as = recognise(&table, None, DateOrder::DayFirst);
    let (records, problems) = records(&table, &read_as, WRITTEN);
    assert_eq!(
        said(&records),
        ["AB12 CDE: machine; model Heron", "AB13 CDE: machine; model Spruce, handover 2026-04-13, fuel E5",]
    );
    assert_eq!(
        told(&problems),
        [
            "B2 `1.23457E+16` the `frame number` was damaged by the spreadsheet program, which cut it to a rounded figure",
            "E2 `31/02/2026` the `handover` is not a day",
            "F2 `super` the `fuel allowed` is no ethanol label",
            "D2 `1200ish` the `clock` is not a distance",
            "D3 `#N/A` the `clock` is an error value of the spreadsheet program",
        ]
    );
    assert_eq!(
        problems[1].to_string(),
        "error: the `handover` is not a day\n  --> stock.csv, E2: `31/02/2026`\n\
         help: Write day, month and year, such as 3 Apr 2026 or 2026-04-03."
    );
}

#[test]
fn many_faults_of_a_kind_are_summed_up_and_none_is_lost() {
    let mut lines = "Reg | Date | Mileage\n".to_owned();
    (10..22).for_each(|number| lines.push_str(&format!("AB{number}CDE | 13/04/2026 | {number} or so\n")));
    lines.push_str("AB90CDE | 14/04/2026 | 5");
    check(
        &table("mileages.csv", &lines),
        &["AB90 CDE: reading; on 2026-04-14, clock 5"],
        &[
            "C2 `10 or so` the `clock` is not a distance",
            "C3 `11 or so` the `clock` is not a distance",
            "C4 `12 or so` the `clock` is not a distance",
            "C5 `13 or so` the `clock` is not a distance",
            "C6 `14 or so` the `clock` is not a distance",
            "C1 `Mileage` the `clock` is not a distance in 7 more cells of column C",
        ],
    );
}

#[test]
fn every_kind_of_date_cell_is_the_same_day() {
    let third = date(2026, 4, 3).at(0, 0, 0, 0);
    let cells = [Cell::Day(third), Cell::Number(46115.0), Cell::Text("2026-04-03"), Cell::Text("46115")];
    check(
        &column("Handover", &cells),
        &[
            "AB02 CDE: machine; handover 2026-04-03",
            "AB03 CDE: machine; handover 2026-04-03",
            "AB04 CDE: machine; handover 2026-04-03",
            "AB05 CDE: machine; handover 2026-04-03",
        ],
        &[],
    );
    let mut from_1904 = column("Handover", &[Cell::Number(44653.0)]);
    from_1904.counts_from_1904 = true;
    check(&from_1904, &["AB02 CDE: machine; handover 2026-04-03"], &[]);
    // Whoever looks at what is proposed sees the day, too.
    let read_as = recognise(&from_1904, None, DateOrder::DayFirst);
    assert_eq!(read_as.columns[1].examples, ["44653 = 2026-04-03"]);
    check(
        &column("Mileage", &[Cell::Number(46115.0)]),
        &["AB02 CDE: machine", "AB02 CDE: reading; on 2026-04-30, clock 46115"],
        &[],
    );
}

#[test]
fn a_day_in_a_done_column_is_done_on_that_day_and_a_blank_is_not_done() {
    check(
        &table(
            "stock.csv",
            "Reg | PDI done | QC | QC date | 1st service | Last service | Last service type | Oil used\n\
             AB12CDE | 03/03/2026 | yes | 04/03/2026 | yes | 13/04/2026 | Oil and filter | 10W-40 MA2\n\
             AB13CDE | | no | | no | | |\n\
             AB14CDE | n/a | Sam | | 13/05/2026 | done | | 10W-40",
        ),
        &[
            "AB12 CDE: machine",
            "AB12 CDE: job; done first service",
            "AB12 CDE: job; on 2026-04-13, done Oil and filter, oil 10W-40 MA2",
            "AB12 CDE: check; on 2026-03-03, item pre-delivery inspection, result Passed",
            "AB12 CDE: check; on 2026-03-04, item quality check, result Passed",
            "AB13 CDE: machine",
            "AB13 CDE: check; item pre-delivery inspection, result NotDone",
            "AB13 CDE: check; item quality check, result Failed",
            "AB14 CDE: machine",
            "AB14 CDE: job; on 2026-05-13, done first service",
            "AB14 CDE: job; done service, oil 10W-40",
            "AB14 CDE: check; item pre-delivery inspection, result NotDone",
            "AB14 CDE: check; item quality check, result Unclear",
        ],
        &["C4 `Sam` the `quality check` does not say pass or fail"],
    );
}

#[test]
fn an_item_has_a_column_of_its_own_but_not_its_day_or_who_signed() {
    check(
        &table(
            "stock.csv",
            "Reg | Model | Customer | Torque re-check\nAB12CDE | Heron | A Green | 13/04/2026\nAB13CDE | Heron | | ",
        ),
        &[
            "AB12 CDE: machine; model Heron, customer A Green",
            "AB12 CDE: check; on 2026-04-13, item Torque re-check, result Passed",
            "AB13 CDE: machine; model Heron",
            "AB13 CDE: check; item Torque re-check, result NotDone",
        ],
        &[],
    );
    check(
        &table(
            "checks.csv",
            "Reg | Torque check | Torque check date | Brake check\nAB12CDE | OK | 13/04/2026 | fail\nAB13CDE | x | | ok",
        ),
        &[
            "AB12 CDE: check; item Torque check, result Passed",
            "AB12 CDE: check; item Brake check, result Failed",
            "AB13 CDE: check; item Torque check, result Unclear",
            "AB13 CDE: check; item Brake check, result Passed",
        ],
        &["B3 `x` a bare `x` may mean done or failed: by this cell no check is passed, and none failed"],
    );
}

#[test]
fn a_clock_takes_its_own_day_and_never_one_that_cannot_be_read() {
    check(
        &table(
            "stock.csv",
            "Reg | Model | Customer | Mileage | Mileage date\nAB12CDE | Heron | A Green | 900 | 13/04/2026\n\
             AB13CDE | Heron | J Carter | 80 |\nAB14CDE | Heron | J Carter | 70 | 31/02/2026\nAB15CDE | Heron | | tbc | 14/04/2026",
        ),
        &[
            "AB12 CDE: machine; model Heron, customer A Green",
            "AB12 CDE: reading; on 2026-04-13, clock 900",
            "AB13 CDE: machine; model Heron, customer J Carter",
            "AB13 CDE: reading; on 2026-04-30, clock 80",
            "AB14 CDE: machine; model Heron, customer J Carter",
            "AB15 CDE: machine; model Heron",
        ],
        &["E4 `31/02/2026` the `clock day` is not a day"],
    );
    check(
        &table("mileages.csv", "Reg | Date | Mileage\nAB12CDE | | 900\nAB12CDE | 14/04/2026 | 910"),
        &["AB12 CDE: reading; on 2026-04-14, clock 910"],
        &["C2 `900` the `clock` has no day beside it"],
    );
}

#[test]
fn a_row_is_known_by_whichever_number_it_has() {
    let table = table(
        "sheets/a.csv",
        "Reg | VIN | Stock No | Model\ntbc | jx1-aa 123456789012 | 00123 | Heron\nAB12CDE | | | Heron\nunreg | | | Heron",
    );
    let read_as = recognise(&table, None, DateOrder::DayFirst);
    let (records, problems) = records(&table, &read_as, WRITTEN);
    let identity = &records.records[0].0;
    assert_eq!(identity.mark, None);
    assert_eq!(identity.frame_no.as_ref().unwrap().value.as_str(), "JX1AA123456789012");
    let stock_no = identity.stock_no.as_ref().unwrap();
    assert_eq!(
        (stock_no.value.as_str(), stock_no.origin.to_string()),
        ("00123", "sheets/a.csv, C2".to_owned())
    );
    assert_eq!(said(&records).len(), 2);
    assert_eq!(
        told(&problems),
        [
            "A4 `unreg` the `mark` stands in a row that names no machine",
            "sheets/a.csv `` 1 row names no machine that can be read, and nothing that it says counts: A4 `unreg`",
        ]
    );
}

#[test]
fn counts_of_machines_are_no_machines() {
    let head = "Stock No | Reg | Model\nS1 | AB12CDE | FELL 400\nS2 | AB13CDE | FELL 400\n";
    for last in [
        "Total | 14 |",
        "Total | 2 |",
        "Count | 2 |",
        "TOTAL BIKES | 2 |",
        "TOTAL BIKES | | 2",
        " | 2 |",
        "2 | | ",
        "2 bikes | |",
        "2 in stock | |",
    ] {
        check(
            &table("stock.csv", &format!("{head}{last}")),
            &["AB12 CDE: machine; model FELL 400", "AB13 CDE: machine; model FELL 400"],
            &[],
        );
    }
    // A total loss is a machine, and so is the third of machines that are numbered 1, 2, 3.
    check(
        &table(
            "stock.csv",
            "Stock No | Reg | Model | Note\n14 | | FELL 400 | Total loss\n2 | | FELL 400 |\n3 | | |",
        ),
        &[
            "stock 14: machine; model FELL 400, note Total loss",
            "stock 2: machine; model FELL 400",
            "stock 3: machine",
        ],
        &[],
    );
}

#[test]
fn one_mistyped_date_does_not_turn_its_column_round() {
    let lines = "Reg | Date | Mileage\nAB12CDE | 02/03/2026 | 100\nAB13CDE | 03/03/2026 | 100\n\
                 AB14CDE | 04/03/2026 | 100\nAB15CDE | 03/15/2026 | 100";
    // Nothing proves the day first either: until a person says which, only what is one day in both is read.
    let open =
        "may be one of two days, and what little tells which comes first, day or month, is contradictory";
    check(
        &table("mileages.csv", lines),
        &["AB13 CDE: reading; on 2026-03-03, clock 100"],
        &[
            "B1 `Date` nothing tells which of day and month comes first in dates such as `02/03/2026`, and `03/15/2026` \
             speaks against what the shop's setting says: neither it nor those are read until it is settled",
            &format!("B2 `02/03/2026` the `day` {open}"),
            &format!("B4 `04/03/2026` the `day` {open}"),
            "B5 `03/15/2026` the `day` is a day only if the other of day and month comes first than the shop's setting \
             says",
        ],
    );
    // Once it is settled that the day comes first, the one date is mistyped.
    let agreed = AgreedSheet { date_order: Some(DateOrder::DayFirst), ..agreement("reading", &[]) };
    let sheet = table("mileages.csv", lines);
    let (settled, problems) =
        records(&sheet, &recognise(&sheet, Some(&agreed), DateOrder::DayFirst), WRITTEN);
    assert_eq!(
        said(&settled),
        [
            "AB12 CDE: reading; on 2026-03-02, clock 100",
            "AB13 CDE: reading; on 2026-03-03, clock 100",
            "AB14 CDE: reading; on 2026-03-04, clock 100",
        ]
    );
    assert_eq!(told(&problems), ["B5 `03/15/2026` the `day` is not a day"]);
    // Where many dates prove the month first, it is first.
    let lines = "Reg | Date | Mileage\nAB12CDE | 02/03/2026 | 100\nAB13CDE | 03/23/2026 | 100\n\
                 AB14CDE | 04/03/2026 | 100\nAB15CDE | 03/15/2026 | 100\nAB16CDE | 05/06/2026 | 100";
    check(
        &table("mileages.csv", lines),
        &[
            "AB12 CDE: reading; on 2026-02-03, clock 100",
            "AB13 CDE: reading; on 2026-03-23, clock 100",
            "AB14 CDE: reading; on 2026-04-03, clock 100",
            "AB15 CDE: reading; on 2026-03-15, clock 100",
            "AB16 CDE: reading; on 2026-05-06, clock 100",
        ],
        &[],
    );
}

#[test]
fn a_day_with_initials_signs_a_check_and_a_day_with_a_word_does_not() {
    let lines = "Reg | Model | PDI\nAB12CDE | FELL 400 | 10/05/2026 SV\nAB13CDE | FELL 400 | Pass\n\
                 AB14CDE | FELL 400 | 10/05/2026 NG\nAB15CDE | FELL 400 | 10/05/2026 AM";
    check(
        &table("stock.csv", lines),
        &[
            "AB12 CDE: machine; model FELL 400",
            "AB12 CDE: check; on 2026-05-10, item pre-delivery inspection, result Passed, by SV",
            "AB13 CDE: machine; model FELL 400",
            "AB13 CDE: check; item pre-delivery inspection, result Passed",
            "AB14 CDE: machine; model FELL 400",
            "AB14 CDE: check; item pre-delivery inspection, result Unclear",
            "AB15 CDE: machine; model FELL 400",
            "AB15 CDE: check; item pre-delivery inspection, result Unclear",
        ],
        &[
            "C4 `10/05/2026 NG` the `pre-delivery inspection` does not say pass or fail",
            "C5 `10/05/2026 AM` the `pre-delivery inspection` does not say pass or fail",
        ],
    );
}

#[test]
fn a_clock_that_stands_in_a_machines_row_and_cannot_be_read_is_not_taken_for_one_that_nobody_wrote() {
    let unread = |lines: &str| -> Vec<String> {
        let sheet = table("stock.csv", lines);
        let (records, _) = records(&sheet, &recognise(&sheet, None, DateOrder::DayFirst), WRITTEN);
        let rows = records.records.iter().filter_map(|(_, record)| match record {
            Record::Machine(row) => Some(row.clock_unread.as_ref()),
            _ => None,
        });
        let shown = |entry: &Entry<String>| format!("{} {}", entry.origin.cell(), entry.value);
        rows.map(|entry| entry.map(shown).unwrap_or_default()).collect()
    };
    assert_eq!(
        unread(
            "Reg | Handover | Mileage | Read on\n\
             AB12CDE | 12/01/2026 | 1400? | 13/04/2026\n\
             AB13CDE | 13/01/2026 | 1400 | 32/13/2026\n\
             AB14CDE | 14/01/2026 | | 13/04/2026\n\
             AB15CDE | 15/01/2026 | 1400 | 13/04/2026"
        ),
        [
            "C2 the clock `1400?` cannot be read",
            "D3 the day `32/13/2026` on which the clock was read cannot be read",
            "",
            "",
        ]
    );
    assert_eq!(
        unread("Reg | Handover | Wheel turns | Read on\nAB12CDE | 12/01/2026 | 1400 | 13/04/2026"),
        ["D2 a day on which the clock was read is there, and no column is read as the clock"]
    );
}
