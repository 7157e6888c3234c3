//! Columns whose header alone does not tell what they are: each case with what a person would expect, by hand.

use super::*;

/// Checks which columns of sheets are read, and as what; what is not read is not in the list.
#[track_caller]
fn check_columns(cases: &[(&str, &str, &[&str])]) {
    for (name, lines, expected) in cases {
        assert_eq!(columns_of(&table(name, lines)), owned(expected), "{name}\n{lines}");
    }
}

#[test]
fn delivered_is_the_handover_or_the_arrival_by_the_days_beside_it() {
    check_columns(&[
        (
            "stock.csv",
            "Reg | Registered | Delivered on\nAB12CDE | 08/05/2025 | 12/05/2025\nAB13CDE | 04/09/2025 | 08/09/2025",
            &["machine", "Reg: mark", "Registered: registered", "Delivered on: handover"],
        ),
        (
            "stock.csv",
            "Reg | Sold | Delivered\nAB12CDE | 13/05/2025 | 02/01/2025\nAB13CDE | 14/09/2025 | 08/03/2025",
            &["machine", "Reg: mark", "Sold: sold", "Delivered: arrived"],
        ),
        (
            "stock.csv",
            "Reg | Sold | Delivered\nAB12CDE | 13/05/2025 | 13/05/2025\nAB13CDE | 14/09/2025 | 18/09/2025",
            &["machine", "Reg: mark", "Sold: sold", "Delivered: handover"],
        ),
        // It is inspected and ridden between the two.
        (
            "stock.csv",
            "Reg | PDI date | Road test 1 date | Del'd\nAB12CDE | 10/05/2025 | 10/05/2025 | 13/05/2025\nAB13CDE | 04/09/2025 | 05/09/2025 | 08/09/2025",
            &[
                "machine",
                "Reg: mark",
                "PDI date: pre-delivery inspection day",
                "Road test 1 date: first ride day",
                "Del'd: handover",
            ],
        ),
        (
            "stock.csv",
            "Reg | Del'd | PDI date\nAB12CDE | 02/05/2025 | 10/05/2025\nAB13CDE | 01/09/2025 | 14/09/2025",
            &["machine", "Reg: mark", "Del'd: arrived", "PDI date: pre-delivery inspection day"],
        ),
        // The month comes first, which only one of the columns shows.
        (
            "stock.csv",
            "Reg | PDI date | Del'd\nAB12CDE | 02/03/2026 | 02/16/2026\nAB13CDE | 03/11/2024 | 03/15/2024",
            &["machine", "Reg: mark", "PDI date: pre-delivery inspection day", "Del'd: handover"],
        ),
        // Another column is the arrival, or the handover, already.
        (
            "stock.csv",
            "Reg | Model | Arrived | Date delivered\nAB12CDE | Heron | 13/05/2025 | 20/05/2025",
            &["machine", "Reg: mark", "Model: model", "Arrived: arrived", "Date delivered: handover"],
        ),
        (
            "stock.csv",
            "Reg | Model | Delivery date | Collected\nAB12CDE | Heron | 13/05/2025 | 20/05/2025",
            &["machine", "Reg: mark", "Model: model", "Delivery date: arrived", "Collected: handover"],
        ),
        // A day that is planned is one as well, and so is one with its hour.
        (
            "stock.csv",
            "Reg | Handover date/time | PDI\nAB76CDE | 30/11/2026 10:00 | \nAB76CDF | 28/11/2026 14:30 | ",
            &["machine", "Reg: mark", "Handover date/time: handover", "PDI: pre-delivery inspection"],
        ),
        (
            "stock.csv",
            "Reg | Handover booked | Latest km | Read on\nAB76CDE | 30/11/2026 | 14 | 28/11/2026",
            &["machine", "Reg: mark", "Handover booked: handover", "Latest km: clock", "Read on: clock day"],
        ),
    ]);
}

#[test]
fn delivered_stays_out_where_nothing_tells_what_it_means() {
    let cases = [
        "Reg | Model | Delivered\nAB12CDE | Heron | 13/05/2025",
        // A used machine comes in years after its first registration, too.
        "Reg | Registered | Delivered\nAB12CDE | 13/05/2019 | 13/05/2025\nAB13CDE | 14/09/2018 | 14/06/2025",
        // Half and half.
        "Reg | Sold | Delivered\nAB12CDE | 13/05/2025 | 20/05/2025\nAB13CDE | 14/09/2025 | 10/09/2025",
    ];
    for lines in cases {
        let read_as = recognise(&table("stock.csv", lines), None, DateOrder::DayFirst);
        let left_out: Vec<_> = read_as.left_out.iter().map(|column| column.why.as_str()).collect();
        assert_eq!(left_out, ["it may be the day it arrived or the handover"], "{lines}");
    }
}

#[test]
fn a_bare_date_or_by_belongs_to_the_column_before_it() {
    check_columns(&[
        (
            "stock.csv",
            "Reg | Customer | PDI | Date | By | QC | Date | By\n\
             AB12CDE | A Green | pass | 13/05/2025 | Sam | pass | 14/05/2025 | Jo",
            &[
                "machine",
                "Reg: mark",
                "Customer: customer",
                "PDI: pre-delivery inspection",
                "Date: pre-delivery inspection day",
                "By: pre-delivery inspection by",
                "QC: quality check",
                "Date: quality check day",
                "By: quality check by",
            ],
        ),
        (
            "stock.csv",
            "Reg | Model | Customer | Odometer | Seen on\nAB12CDE | Heron | A Green | 512 | 13/05/2025",
            &[
                "machine",
                "Reg: mark",
                "Model: model",
                "Customer: customer",
                "Odometer: clock",
                "Seen on: clock day",
            ],
        ),
        // The column before it is nothing to us, so neither is the date.
        (
            "stock.csv",
            "Reg | Model | Customer | Deposit | Date\nAB12CDE | Heron | A Green | 100 | 13/05/2025",
            &["machine", "Reg: mark", "Model: model", "Customer: customer"],
        ),
        // In a log the date is the row's.
        (
            "mileages.csv",
            "Reg | Odometer | Date\nAB12CDE | 512 | 13/05/2025",
            &["reading", "Reg: mark", "Odometer: clock", "Date: day"],
        ),
    ]);
}

#[test]
fn a_header_that_says_next_to_nothing_is_what_its_values_are() {
    check_columns(&[
        (
            "stock.csv",
            "No | Reg | Model\nU101 | AB12CDE | Heron\nU102 | AB13CDE | Heron\nU103 | AB14CDE | Heron",
            &["machine", "No: stock number", "Reg: mark", "Model: model"],
        ),
        // A count of the rows is no stock number, and no second stock number is taken.
        (
            "stock.csv",
            "No | Reg | Model\n1 | AB12CDE | Heron\n2 | AB13CDE | Heron\n3 | AB14CDE | Heron",
            &["machine", "Reg: mark", "Model: model"],
        ),
        (
            "stock.csv",
            "No | Stock no | Model\nU101 | S1 | Heron\nU102 | S2 | Heron",
            &["machine", "Stock no: stock number", "Model: model"],
        ),
        (
            "stock.csv",
            "ID | Model | Customer | Number\nGX3GN125ASD000301 | Heron | A Green | 07700 900601\n\
             GX3GN125ASD000302 | Heron | J Carter | +44 7700 900602",
            &["machine", "ID: frame number", "Model: model", "Customer: customer", "Number: telephone"],
        ),
        (
            "jobs.csv",
            "Ref | Date | Work done | Spec\nAB12 CDE | 13/05/2025 | Oil | 10W-40 MA2\nAB13 CDE | 14/05/2025 | Oil | 5W30",
            &["job", "Ref: mark", "Date: day", "Work done: done", "Spec: oil used"],
        ),
        // The number of a job is not the stock's.
        (
            "jobs.csv",
            "No | Reg | Date | Work done\nJ101 | AB12CDE | 13/05/2025 | Oil\nJ102 | AB13CDE | 14/05/2025 | Oil",
            &["job", "Reg: mark", "Date: day", "Work done: done"],
        ),
    ]);
}

#[test]
fn groups_above_the_headers_say_what_the_names_below_them_mean() {
    check_columns(&[(
        "stock.csv",
        " | | | First Service | \nStock No | Reg | Model | Date | Miles\nS1 | AB12CDE | Heron | 13/05/2025 | 512",
        &[
            "machine",
            "Stock No: stock number",
            "Reg: mark",
            "Model: model",
            "First Service / Date: first service day",
            "First Service / Miles: first service clock",
        ],
    )]);
}

#[test]
fn what_stands_below_a_group_is_of_that_group_or_nothing() {
    check_columns(&[(
        "stock.csv",
        "Machine | | Ride 1 | | | PDI | | |\nReg | Model | Date | Miles | Rider | When | Who | Done | Colour\n\
         AB12CDE | Heron | 13/05/2025 | 5 | Sam | 12/05/2025 | Jo | yes | red",
        &[
            "machine",
            "Machine / Reg: mark",
            "Machine / Model: model",
            "Ride 1 / Date: first ride day",
            "Ride 1 / Miles: first ride distance",
            "PDI / When: pre-delivery inspection day",
            "PDI / Who: pre-delivery inspection by",
            "PDI / Done: pre-delivery inspection",
        ],
    )]);
}

#[test]
fn a_unit_below_the_group_of_the_machine_is_a_column_of_its_own() {
    for group in ["Machine", "Bike", "Vehicle", "Bike details"] {
        let lines = format!(
            "{group} | | | | PDI | \nReg | Model | cc | Miles | Date | Tech\n\
             WR76KLB | Thimble 125 | 125 | 12 | 24/11/2026 | Ann\nWR76KLC | Thimble 50 | 50 | 9 | 25/11/2026 | Ben"
        );
        let read_as = recognise(&table("stock.csv", &lines), None, DateOrder::DayFirst);
        let fields: Vec<&str> = read_as.columns.iter().map(|column| column.field.name()).collect();
        assert_eq!(
            fields,
            [
                "mark",
                "model",
                "engine cc",
                "clock",
                "pre-delivery inspection day",
                "pre-delivery inspection by"
            ],
            "{group}"
        );
    }
}

#[test]
fn whoever_did_the_second_check_signed_for_the_quality_check() {
    let by = "quality check by";
    for (header, field) in [
        ("2nd check tech", by),
        ("2nd check initials", by),
        ("2nd check signed", by),
        ("Second check tech", by),
        ("Final check mechanic", by),
        ("Double check done by", by),
        ("QC signed off", by),
        ("PDI signed off", "pre-delivery inspection by"),
    ] {
        let lines =
            format!("Reg | Handover | {header}\nWR76KLB | 13/11/2026 | Ben\nWR76KLC | 14/11/2026 | Jo");
        let expected = ["machine".to_owned(), "Reg: mark".to_owned(), "Handover: handover".to_owned()];
        let expected = [&expected[..], &[format!("{header}: {field}")]].concat();
        assert_eq!(columns_of(&table("stock.csv", &lines)), expected);
    }
    // A tick or a day under the same header says how it came out, or when.
    check_columns(&[
        (
            "stock.csv",
            "Reg | Handover | QC signed off\nWR76KLB | 13/11/2026 | yes",
            &["machine", "Reg: mark", "Handover: handover", "QC signed off: quality check"],
        ),
        (
            "stock.csv",
            "Sale | | 2nd check | \nReg | Handover | Date | Tech\nWR76KLB | 30/11/2026 | 27/11/2026 | Ben",
            &[
                "machine",
                "Reg: mark",
                "Handover: handover",
                "2nd check / Date: quality check day",
                "2nd check / Tech: quality check by",
            ],
        ),
    ]);
}

#[test]
fn a_row_of_units_below_the_headers_is_part_of_them() {
    let sheet = table(
        "stock.csv",
        "Reg | Handover | Odometer | Odometer date\n | (m/d/y) | (km) | (m/d/y)\n\
         MO76AAA | 09/03/2026 | 700 | 11/05/2026\nMO25AAB | 11/02/2025 | 5100 | 11/06/2026",
    );
    let read_as = recognise(&sheet, None, DateOrder::DayFirst);
    assert_eq!(read_as.columns.iter().filter(|column| column.unit_is_open).count(), 0);
    let (records, problems) = records(&sheet, &read_as, date(2026, 11, 30));
    assert_eq!(
        said(&records),
        [
            "MO76 AAA: machine; handover 2026-09-03",
            "MO76 AAA: reading; on 2026-11-05, clock 700 km",
            "MO25 AAB: machine; handover 2025-11-02",
            "MO25 AAB: reading; on 2026-11-06, clock 5100 km",
        ]
    );
    assert_eq!(told(&[read_as.problems, read_as.open, problems].concat()), [""; 0]);
}

#[test]
fn a_line_end_inside_a_cell_does_not_break_the_table_of_a_proposal() {
    let sheet = column("Note", &[Cell::Text("new\nchain")]);
    let shown = proposal(&sheet, &recognise(&sheet, None, DateOrder::DayFirst));
    assert_eq!(shown.lines().count(), 3, "{shown}");
    assert!(shown.contains("new chain"), "{shown}");
}

#[test]
fn an_mot_date_is_the_end_of_a_certificate_only_where_it_lies_ahead_of_everything_else() {
    check_columns(&[
        (
            "stock.csv",
            "Reg | Arrived | MOT date\nAB12CDE | 13/05/2025 | 20/02/2026\nAB13CDE | 14/05/2025 | 21/11/2025",
            &["machine", "Reg: mark", "Arrived: arrived", "MOT date: mot expiry"],
        ),
        (
            "stock.csv",
            "Reg | Arrived | MOT date\nAB12CDE | 13/05/2025 | 20/02/2025\nAB13CDE | 14/05/2025 | 21/11/2024",
            &["machine", "Reg: mark", "Arrived: arrived"],
        ),
        (
            "stock.csv",
            "Reg | Model | Date of MOT\nAB12CDE | Heron | 20/02/2025",
            &["machine", "Reg: mark", "Model: model"],
        ),
    ]);
}

/// Common practice, no source: a used machine is tested for its sale, and its certificate then runs on for a year.
#[test]
fn an_mot_that_lies_before_the_handover_in_nearly_every_row_may_be_the_test_before_the_sale() {
    let sheet = |rows: &[&str]| format!("Reg | Collected | MOT\n{}", rows.join("\n"));
    let tested = sheet(&[
        "AB15 CDE | 20/04/2026 | 18/04/2026",
        "AB16 CDF | 22/06/2026 | 15/06/2026",
        "AB17 CDG | 22/08/2026 | 22/08/2026",
    ]);
    let ends = sheet(&[
        "AB15 CDE | 20/04/2026 | 17/04/2027",
        "AB16 CDF | 22/06/2026 | 14/06/2027",
        "AB17 CDG | 22/08/2026 | 15/08/2026",
    ]);
    let unknown = sheet(&["AB15 CDE | | 18/04/2026", "AB16 CDF | | 15/06/2026"]);
    let read: &[&str] = &["machine", "Reg: mark", "Collected: handover", "MOT: mot expiry"];
    check_columns(&[
        ("stock.csv", &tested, &read[..3]),
        ("stock.csv", &ends, read),
        ("stock.csv", &unknown, read),
    ]);
}

#[test]
fn what_makes_another_thing_of_a_header_is_no_slip_of_the_keyboard() {
    let left_out = [
        "Service booked",
        "First service due",
        "Warranty start",
        "MOT station",
        "Unregistered",
        "Order date",
        "Date notified",
        "In service",
        "P/X mileage",
        "Oil level",
        "Fuel level",
        "Next service",
        "Sale expected",
        "Customer no",
        "Service plan",
        "Insurance expiry",
        "Delivery address",
        "Sold by",
        "Handover time",
    ];
    // That is when it was tested, and no end of a certificate.
    let lines = "Reg | Model | Last MOT\nAB12CDE | Heron | 13/05/2025\nAB13CDE | Heron | 14/05/2025";
    assert_eq!(
        columns_of(&table("stock.csv", lines)),
        ["machine", "Reg: mark", "Model: model", "Last MOT: mot test day"]
    );
    for header in left_out {
        let lines =
            format!("Reg | Model | {header}\nAB12CDE | Heron | 13/05/2025\nAB13CDE | Heron | 14/05/2025");
        assert_eq!(
            columns_of(&table("stock.csv", &lines)),
            ["machine", "Reg: mark", "Model: model"],
            "{header}"
        );
    }
}

#[test]
fn a_bike_is_a_mark_only_where_its_values_have_the_shape_of_one() {
    let lines = "Date | Bike | Reg/Frame | Job | Oil\n\
                 13/05/2025 | Fell 400 | NR26 EFG | Chain | 10W-40\n14/05/2025 | Jet 125 | NR26 EFH | Tyre | 5W-30";
    let expected = ["job", "Date: day", "Reg/Frame: mark", "Job: done", "Oil: oil used"];
    assert_eq!(columns_of(&table("a.csv", lines)), expected);
}

#[test]
fn an_exact_name_stays_sure_although_a_good_part_of_its_values_are_slips() {
    let lines = "Reg | Date | Mileage\nAB12CDE | 13/05/2025 | 100\nAB13CDE | 14/05/2025 | 12OO\n\
                 AB14CDE | 15/05/2025 | tba soon\nAB15CDE | 16/05/2025 | 400\nAB16CDE | 17/05/2025 | 500\n\
                 Reg | Date | Mileage\nTotal | | 1000";
    assert_eq!(columns_of(&table("a.csv", lines)), ["reading", "Reg: mark", "Date: day", "Mileage: clock"]);
}
