//! Which column is what, whatever the headers: each case with what a person would expect, written by hand.

use super::*;

#[test]
fn headers_in_two_rows_are_joined() {
    let table = table(
        "stock.csv",
        "Stock list\nReg | Make | Service | | Sale | | PDI | \n | | Date | Miles | Date | Customer | Result | By\n\
         AB12 CDE | Marlow | 14/05/2025 | 512 | 01/02/2025 | A Green | pass | Sam",
    );
    check(
        &table,
        &[
            "AB12 CDE: machine; make Marlow, sold 2025-02-01, customer A Green",
            "AB12 CDE: job; on 2025-05-14, done service, clock 512 mi",
            "AB12 CDE: check; item pre-delivery inspection, result Passed, by Sam",
        ],
        &[],
    );
    let headers: Vec<_> = recognise(&table, None, DateOrder::DayFirst)
        .columns
        .into_iter()
        .map(|column| column.header)
        .collect();
    assert_eq!(
        headers,
        [
            "Reg",
            "Make",
            "Service / Date",
            "Service / Miles",
            "Sale / Date",
            "Sale / Customer",
            "PDI / Result",
            "PDI / By"
        ]
    );
}

#[test]
fn one_date_settles_its_column_and_its_neighbours() {
    let days = |texts: &[&str], order: DateOrder| -> Vec<String> {
        let table = column("Handover", &texts.iter().copied().map(Cell::Text).collect::<Vec<_>>());
        let read_as = recognise(&table, None, order);
        let (records, problems) = records(&table, &read_as, WRITTEN);
        let days = records.records.iter().map(|(_, record)| match record {
            Record::Machine(row) => {
                row.handover.as_ref().map_or("none".to_owned(), |day| day.value.to_string())
            }
            other => format!("{other:?}"),
        });
        days.chain(told(&problems)).collect()
    };
    assert_eq!(days(&["03/04/2026", "13/04/2026"], DateOrder::DayFirst), ["2026-04-03", "2026-04-13"]);
    assert_eq!(days(&["03/04/2026", "04/13/2026"], DateOrder::MonthFirst), ["2026-03-04", "2026-04-13"]);
    assert_eq!(
        days(&["03/04/2026", "04/13/2026", "04/14/2026"], DateOrder::DayFirst),
        ["2026-03-04", "2026-04-13", "2026-04-14"]
    );
    // One date against the shop's setting may be a slip of the keyboard, however few stand beside it.
    for texts in [&["03/04/2026", "04/13/2026"][..], &["03/04/2026", "05/06/2026", "04/13/2026"]] {
        let said = days(texts, DateOrder::DayFirst);
        assert!(said[..texts.len()].iter().all(|day| day == "none"), "{said:?}");
        assert!(said.last().unwrap().contains("`04/13/2026`"), "{said:?}");
    }
    assert_eq!(days(&["03/04/2026"], DateOrder::DayFirst), ["2026-04-03"]);
    assert_eq!(days(&["03/04/2026"], DateOrder::MonthFirst), ["2026-03-04"]);
    assert_eq!(
        days(&["03/04/2026", "13/04/2026", "04/13/2026"], DateOrder::DayFirst),
        [
            "none",
            "2026-04-13",
            "2026-04-13",
            "B2 `03/04/2026` the `handover` may be one of two days: the column may hold dates with the day first and \
             with the month first",
        ]
    );
    // One column of the sheet is written month first by its program, so the other one is, too.
    check(
        &table("stock.csv", "Reg | Sold | Handover\nAB12CDE | 04/13/2026 | 05/04/2026"),
        &["AB12 CDE: machine; sold 2026-04-13, handover 2026-05-04"],
        &[],
    );
}

#[test]
fn a_decimal_comma_is_settled_by_its_column() {
    let clocks = |texts: &[&str]| -> Vec<i64> {
        let table = column("Mileage", &texts.iter().copied().map(Cell::Text).collect::<Vec<_>>());
        let (records, _) = records(&table, &recognise(&table, None, DateOrder::DayFirst), WRITTEN);
        let clock = |record: &Record| match record {
            Record::Reading(reading) => Some(reading.clock.value.tenths),
            _ => None,
        };
        records.records.iter().filter_map(|(_, record)| clock(record)).collect()
    };
    assert_eq!(clocks(&["99,5", "1.649,00"]), [995, 16_490]);
    assert_eq!(clocks(&["1,234"]), [12_340]);
    // One slip of the keyboard does not turn thousands into fractions.
    assert_eq!(clocks(&["1,234", "2,345", "12,50"]), [12_340, 23_450]);
}

#[test]
fn the_units_of_cell_header_row_and_agreement_go_in_that_order() {
    check(
        &table(
            "stock.csv",
            "Reg | Miles | Odo unit\nAB12CDE | 100 | km\nAB13CDE | 100 | \nAB14CDE | 100 mi | km",
        ),
        &[
            "AB12 CDE: machine; unit km",
            "AB12 CDE: reading; on 2026-04-30, clock 100 km",
            "AB13 CDE: machine",
            "AB13 CDE: reading; on 2026-04-30, clock 100 mi",
            "AB14 CDE: machine; unit km",
            "AB14 CDE: reading; on 2026-04-30, clock 100 mi",
        ],
        &[],
    );
    let table = table("m.csv", "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 100");
    let agreed = AgreedSheet { distances: Some(DistanceUnit::Kilometres), ..agreement("reading", &[]) };
    let read_as = recognise(&table, Some(&agreed), DateOrder::DayFirst);
    assert_eq!(
        said(&records(&table, &read_as, WRITTEN).0),
        ["AB12 CDE: reading; on 2026-04-13, clock 100 km"]
    );
}

#[test]
fn what_the_owner_agreed_goes_before_what_is_found() {
    let table = table(
        "m.csv",
        "Bike | When seen | Figure | Colour | Date\nAB12CDE | 13/04/2026 | 100 | red | 01/01/2020",
    );
    let agreed = agreement(
        "reading",
        &[("bike", "mark"), ("When  seen", "day"), ("Figure", "clock"), ("Date", "nothing")],
    );
    let read_as = recognise(&table, Some(&agreed), DateOrder::DayFirst);
    assert_eq!(read_as.problems, []);
    let read: Vec<_> = read_as
        .columns
        .iter()
        .map(|column| (column.header.as_str(), column.field, column.certainty))
        .collect();
    assert_eq!(
        read,
        [
            ("Bike", Field::Mark, Certainty::Agreed),
            ("When seen", Field::Day, Certainty::Agreed),
            ("Figure", Field::Clock, Certainty::Agreed),
        ]
    );
    let left_out: Vec<_> =
        read_as.left_out.iter().map(|column| format!("{}: {}", column.header, column.why)).collect();
    assert_eq!(
        left_out,
        ["Colour: no field of a reading has a header like it", "Date: tickover.toml leaves it out"]
    );
    assert_eq!(said(&records(&table, &read_as, WRITTEN).0), ["AB12 CDE: reading; on 2026-04-13, clock 100"]);
}

#[test]
fn a_sheet_that_is_agreed_to_be_nothing_is_left_alone() {
    let table = table("prices.csv", "Part | Price\nFilter | 5.00");
    let read_as = recognise(&table, Some(&agreement("nothing", &[])), DateOrder::DayFirst);
    assert_eq!(read_as, ReadAs::default());
}

#[test]
fn what_was_agreed_wrongly_is_told_with_the_nearest_word() {
    let table = table("m.csv", "Reg | Date | Mileage\nAB12CDE | 13/04/2026 | 100");
    let agreed = agreement("reading", &[("Mileag", "clock"), ("Reg", "marck"), ("Date", "day")]);
    let problems = recognise(&table, Some(&agreed), DateOrder::DayFirst).problems;
    assert_eq!(
        told(&problems),
        [
            "tickover.toml `Mileag` no column of m.csv has this header",
            "tickover.toml `marck` this is no field that is known"
        ]
    );
    assert!(problems[0].help.starts_with("Did you mean `Mileage`? "), "{}", problems[0].help);
    assert!(
        problems[1].help.starts_with("Did you mean `mark`? A reading has: mark, frame number, "),
        "{}",
        problems[1].help
    );
    let problems = recognise(&table, Some(&agreement("readings", &[])), DateOrder::DayFirst).problems;
    assert_eq!(told(&problems), ["tickover.toml `readings` these rows are of no kind that is known"]);
    assert_eq!(
        problems[0].help,
        "Did you mean `reading`? Write machine, reading, job, check, ride, fill, or nothing to leave the sheet \
         unread. Until then the sheet is read as it looks."
    );
}

#[test]
fn a_sheet_of_something_else_is_told_once() {
    check(
        &table("prices.csv", "Part | Price\nFilter | 5.00\nPlug | 3.10"),
        &[],
        &["prices.csv `` no row of headers was found in this sheet"],
    );
    check(&table("empty.csv", ""), &[], &[]);
    check(&table("stock.csv", "Reg | Make | Model"), &[], &[]);
}

#[test]
fn of_two_columns_for_one_field_one_is_read_and_the_other_listed() {
    let table = table(
        "stock.csv",
        "Registration | Part exchange reg | Reg | Model | Colour\n02/03/2026 | AB99 XYZ | AB12CDE | Heron | red",
    );
    let read_as = recognise(&table, None, DateOrder::DayFirst);
    assert_eq!(
        proposal(&table, &read_as),
        "stock.csv: one machine a row, headers in row 1\n\
         \u{20} A Registration       02/03/2026  registered, day first (assumed)                       sure: by its header; its one value fits\n\
         \u{20} B Part exchange reg  AB99 XYZ    left out: no field of a machine has a header like it\n\
         \u{20} C Reg                AB12CDE     mark                                                  sure: by its header; its one value fits\n\
         \u{20} D Model              Heron       model                                                 sure: by its header\n\
         \u{20} E Colour             red         left out: no field of a machine has a header like it\n"
    );
    let two = self::table("stock.csv", "Reg | Reg No | Model\nAB12CDE | AB13CDE | Heron");
    let read_as = recognise(&two, None, DateOrder::DayFirst);
    assert_eq!(said(&records(&two, &read_as, WRITTEN).0), ["AB12 CDE: machine; model Heron"]);
    assert_eq!(read_as.left_out[0].why, "column `Reg` is taken as the mark already");
}

#[test]
fn a_near_name_is_taken_only_where_nothing_competes() {
    let table = table("m.csv", "Registraton | Date | Mileege\nAB12CDE | 13/04/2026 | 100");
    let read_as = recognise(&table, None, DateOrder::DayFirst);
    let read: Vec<_> = read_as
        .columns
        .iter()
        .map(|column| (column.header.as_str(), column.field, column.certainty))
        .collect();
    assert_eq!(
        read,
        [
            ("Registraton", Field::Mark, Certainty::Likely),
            ("Date", Field::Day, Certainty::Sure),
            ("Mileege", Field::Clock, Certainty::Likely),
        ]
    );
}

#[test]
fn a_header_of_words_with_a_slip_is_asked_about_and_one_that_says_no_work_is_told_so() {
    for header in ["Modle", "Mdoel"] {
        let table =
            table("bikes.csv", &format!("Reg | Make | {header} | Colour\nAB12CDE | Marlow | Heron | red"));
        let read_as = recognise(&table, None, DateOrder::DayFirst);
        let asked: Vec<_> =
            read_as.left_out.iter().map(|column| (&*column.header, &*column.may_be)).collect();
        assert_eq!(asked, [(header, &[Field::Model][..]), ("Colour", &[])]);
    }
    let table =
        table("jobs.csv", "Date | Reg | Work done | Cancelled\n20/07/2025 | AB12CDE | First service | No");
    let read_as = recognise(&table, None, DateOrder::DayFirst);
    let cancelled = read_as.left_out.iter().find(|column| column.header == "Cancelled").unwrap();
    assert!(
        cancelled.why.contains("where it says yes, the work of its row is not done"),
        "{}",
        cancelled.why
    );
}

#[test]
fn only_sure_columns_are_written_down_and_reading_by_them_gives_the_same() {
    let table = table(
        "sheets/Stock list.xlsx!Bikes",
        "Reg | Mileege | Make | Handover | Colour\nAB12CDE | 100 | Marlow | 13/04/2026 | red",
    );
    let found = recognise(&table, None, DateOrder::DayFirst);
    let agreed = agreed(&table, &found);
    assert_eq!(
        (agreed.file.as_str(), agreed.sheet.as_deref(), agreed.rows.as_str()),
        ("Stock list.xlsx", Some("Bikes"), "machine")
    );
    let columns: Vec<_> =
        agreed.columns.iter().map(|column| (column.header.as_str(), column.field.as_str())).collect();
    assert_eq!(columns, [("Reg", "mark"), ("Make", "make"), ("Handover", "handover")]);
    let read_as = recognise(&table, Some(&agreed), DateOrder::DayFirst);
    assert_eq!(
        said(&records(&table, &read_as, WRITTEN).0),
        ["AB12 CDE: machine; make Marlow, handover 2026-04-13"]
    );
    assert_eq!(read_as.left_out[0].why, "it may be the clock");
}

#[test]
fn the_kind_of_a_sheet_follows_from_its_columns_first_and_from_its_name_in_a_tie() {
    let cases: [(&str, &str, &[&str]); 10] = [
        (
            "mileages.csv",
            "Reg | Date | Miles\nAB12CDE | 13/04/2026 | 10",
            &["reading", "Reg: mark", "Date: day", "Miles: clock"],
        ),
        (
            "a.csv",
            "Reg | Date | Type | Miles\nAB12CDE | 13/04/2026 | First service | 10",
            &["job", "Reg: mark", "Date: day", "Type: done", "Miles: clock"],
        ),
        (
            "stock.csv",
            "Reg | Make | Model | Date | Mileage\nAB12CDE | Marlow | Heron | 13/04/2026 | 10",
            &["machine", "Reg: mark", "Make: make", "Model: model", "Mileage: clock"],
        ),
        (
            "road tests.csv",
            "Reg | Date | Miles\nAB12CDE | 13/04/2026 | 10",
            &["ride", "Reg: mark", "Date: day", "Miles: distance"],
        ),
        (
            "a.csv",
            "Bike | Date | Service type | Miles\nAB12CDE | 13/04/2026 | First | 10",
            &["job", "Bike: mark", "Date: day", "Service type: done", "Miles: clock"],
        ),
        (
            "a.csv",
            "Reg | Make | Model | Date | Mileage\nAB12CDE | Marlow | Heron | 13/04/2026 | 10",
            &["reading", "Reg: mark", "Date: day", "Mileage: clock"],
        ),
        (
            "a.csv",
            "Reg | Make | Model | Customer | Phone | Mileage | Contact\nAB12CDE | Marlow | Heron | A Green | 07700 900123 | 10 | 01632 960123",
            &[
                "machine",
                "Reg: mark",
                "Make: make",
                "Model: model",
                "Customer: customer",
                "Phone: telephone",
                "Mileage: clock",
                "Contact: telephone",
            ],
        ),
        (
            "a.csv",
            "Reg | Date | Miles | Litres | Fuel\nAB12CDE | 13/04/2026 | 10 | 4.5 | E5",
            &["fill", "Reg: mark", "Date: day", "Miles: clock", "Litres: litres", "Fuel: grade"],
        ),
        (
            "a.csv",
            "Reg | Date | Date | Mileage\nAB12CDE | 13/04/2026 | 14/04/2026 | 10",
            &["reading", "Reg: mark", "Date: day?", "Mileage: clock"],
        ),
        (
            "a.csv",
            "Reg | Plate | Date | Mileage\nAB12CDE | AB13CDE | 14/04/2026 | 10",
            &["reading", "Reg: mark?", "Date: day", "Mileage: clock"],
        ),
    ];
    for (name, lines, expected) in cases {
        assert_eq!(columns_of(&table(name, lines)), owned(expected), "{lines}");
    }
}

#[test]
fn a_column_of_something_else_is_left_out_and_told_although_its_header_fits() {
    let mut lines = "Reg | Stock | Type | Model\n".to_owned();
    for number in 10..20 {
        lines.push_str(&format!("AB{number}CDE | {} | Sport | Heron\n", number % 2 + 1));
    }
    let table = table("a.csv", &lines);
    assert_eq!(columns_of(&table), ["machine", "Reg: mark", "Model: model"]);
    let problems = recognise(&table, None, DateOrder::DayFirst).problems;
    assert_eq!(
        told(&problems),
        [
            "B1 `Stock` this column is left out: by its header it is the stock number, but its values do not look \
             like one",
            "C1 `Type` this column is left out: by its header it is the kind, but its values do not look like one",
        ]
    );
    assert!(problems.iter().all(|problem| problem.severity == Severity::Note));
}

#[test]
fn an_agreement_for_any_worksheet_leaves_the_others_of_the_workbook_alone() {
    let agreed = agreement("reading", &[("Seen on", "day"), ("Figure", "clock")]);
    let other = table("Book.xlsx!Fuel", "Reg | Date | Litres\nAB12CDE | 13/04/2026 | 5");
    let read_as = recognise(&other, Some(&agreed), DateOrder::DayFirst);
    assert_eq!((read_as.kind, read_as.problems), (Some(RecordKind::Fill), Vec::new()));
    let meant = table("Book.xlsx!Clocks", "Reg | Seen on | Figure\nAB12CDE | 13/04/2026 | 5");
    let read_as = recognise(&meant, Some(&agreed), DateOrder::DayFirst);
    assert_eq!(said(&records(&meant, &read_as, WRITTEN).0), ["AB12 CDE: reading; on 2026-04-13, clock 5"]);
}

#[test]
fn a_header_or_an_agreement_can_say_which_of_day_and_month_comes_first() {
    let handover = |header: &str, agreed: Option<&AgreedSheet>| {
        let table = table("stock.csv", &format!("Reg | {header}\nAB12CDE | 03/04/2026"));
        let read_as = recognise(&table, agreed, DateOrder::DayFirst);
        (said(&records(&table, &read_as, WRITTEN).0), read_as.columns[1].order_is_assumed)
    };
    let (third, march) = ("AB12 CDE: machine; handover 2026-04-03", "AB12 CDE: machine; handover 2026-03-04");
    assert_eq!(handover("Handover", None), (owned(&[third]), true));
    assert_eq!(handover("Handover (mm/dd/yyyy)", None), (owned(&[march]), false));
    let agreed = AgreedSheet { date_order: Some(DateOrder::MonthFirst), ..agreement("machine", &[]) };
    assert_eq!(handover("Handover", Some(&agreed)), (owned(&[march]), false));
    // Where a column holds both kinds, the agreement decides what its sure dates cannot.
    let mixed = column("Handover", &["03/04/2026", "13/04/2026", "04/13/2026"].map(Cell::Text));
    let read_as = recognise(&mixed, Some(&agreed), DateOrder::DayFirst);
    assert_eq!(
        said(&records(&mixed, &read_as, WRITTEN).0),
        [
            "AB02 CDE: machine; handover 2026-03-04",
            "AB03 CDE: machine; handover 2026-04-13",
            "AB04 CDE: machine; handover 2026-04-13",
        ]
    );
}

#[test]
fn a_slip_in_a_short_column_does_not_make_it_doubtful() {
    let table =
        table("m.csv", "Reg | Date | Mileage\nAB12CDE | 31/02/2026 | 12OO\nAB13CDE | 13/04/2026 | 10");
    assert_eq!(columns_of(&table), ["reading", "Reg: mark", "Date: day", "Mileage: clock"]);
    let read_as = recognise(
        &table,
        Some(&agreed(&table, &recognise(&table, None, DateOrder::DayFirst))),
        DateOrder::DayFirst,
    );
    let (records, problems) = records(&table, &read_as, WRITTEN);
    assert_eq!(said(&records), ["AB13 CDE: reading; on 2026-04-13, clock 10"]);
    assert_eq!(
        told(&problems),
        ["C2 `12OO` the `clock` is not a distance", "B2 `31/02/2026` the `day` is not a day"]
    );
}

#[test]
fn the_headers_of_more_shops_are_known_on_a_machines_row() {
    for (header, field, value) in [
        ("VIN (17)", "frame number", "JX1AA123456789012"),
        ("Job bag no", "stock number", "S2401"),
        ("Make/brand", "make", "Fell"),
        ("Manufactured by", "make", "Fell"),
        ("Model/Type", "model", "FELL 400"),
        ("Mod.", "model", "FELL 400"),
        ("M/C type", "kind", "motorcycle"),
        ("Motorcycle/Scooter", "kind", "scooter"),
        ("CCs", "engine cc", "399"),
        ("M or K", "clock unit", "miles"),
        ("Date Mfd", "built", "13/05/2025"),
        ("Date delivered to us", "arrived", "13/05/2025"),
        ("Deal done", "sold", "13/05/2025"),
        ("Owner/keeper", "customer", "Sam Hill"),
        ("Runs on", "fuel allowed", "E5"),
        ("Max ethanol label", "fuel allowed", "E10"),
        ("Handbook oil spec", "oil asked", "10W-40"),
        ("Guarantee expires", "warranty end", "13/05/2027"),
        ("Wnty exp", "warranty end", "13/05/2027"),
        ("Any other info", "note", "two keys"),
        ("Annual service", "annual service day", "13/05/2025"),
        ("Last annual service (date)", "annual service day", "13/05/2025"),
        ("Last annual service (miles)", "annual service clock", "2400"),
        ("Annual service oil", "annual service oil", "10W-40"),
        ("Brake fluid changed", "brake fluid day", "13/05/2025"),
        ("Last fuel fill", "last fill day", "13/05/2025"),
        ("Date of last fill", "last fill day", "13/05/2025"),
        ("Pre delivery inspection", "pre-delivery inspection day", "13/05/2025"),
        ("PDI P/F", "pre-delivery inspection", "P"),
        ("QC checker", "quality check by", "Sam"),
        ("Test 1 date", "first ride day", "13/05/2025"),
        ("Road test 1 mileage", "first ride distance", "12"),
    ] {
        let lines = format!(
            "Plate | Handover | {header}\nAB12CDE | 13/06/2025 | {value}\nAB13CDE | 14/06/2025 | {value}\nAB14CDE | 14/06/2025 | {value}"
        );
        let expected = ["machine", "Plate: mark", "Handover: handover", &format!("{header}: {field}")];
        assert_eq!(columns_of(&table("stock.csv", &lines)), expected, "{header}");
    }
}

#[test]
fn an_annual_service_a_change_of_brake_fluid_and_a_last_fill_are_records_of_their_own() {
    let lines = "Reg | Annual service date | Annual service mileage | Annual service oil | Brake fluid changed | Last fill date | Last fill grade\n\
                 AB12CDE | 13/05/2025 | 2400 | 10W-40 | 14/05/2025 | 15/05/2025 | E5";
    check(
        &table("stock.csv", lines),
        &[
            "AB12 CDE: machine",
            "AB12 CDE: job; on 2025-05-13, done annual service, clock 2400, oil 10W-40",
            "AB12 CDE: job; on 2025-05-14, done brake fluid",
            "AB12 CDE: fill; on 2025-05-15, grade E5",
        ],
        &[],
    );
}

#[test]
fn a_bare_oil_beside_the_last_service_went_in_then() {
    let row =
        "AB12CDE | 13/05/2025 | first service | 612 | 10W-40\nAB13CDE | 14/05/2025 | annual | 900 | 10W-40";
    let beside = format!("Reg | Last service date | Last service type | Last service miles | Oil\n{row}");
    assert_eq!(columns_of(&table("stock.csv", &beside)).last().unwrap(), "Oil: last service oil");
    let elsewhere = "Reg | Oil grade | Model | Last service date\nAB12CDE | 10W-40 | FELL 400 | 13/05/2025";
    assert_eq!(columns_of(&table("stock.csv", elsewhere))[2], "Oil grade: oil asked?");
    let alone = "Reg | Oil type | Model\nAB12CDE | 10W-40 | FELL 400";
    assert_eq!(columns_of(&table("stock.csv", alone))[2], "Oil type: oil asked");
}

#[test]
fn a_column_that_says_when_a_service_is_due_is_left_out_with_a_word_for_it() {
    let told_of = |lines: &str| read(&table("stock.csv", lines)).1;
    assert_eq!(
        told_of(
            "Reg | Handover | Last service date | Next service due | Next service miles\n\
             AB24CDE | 13/05/2025 | 21/10/2025 | 21/04/2026 | 7000 miles"
        ),
        [
            "D1 `Next service due` this column is left out: when a service is due is worked out from the last one and the \
             handbook, and a day or distance that has passed here is not told",
            "E1 `Next service miles` this column is left out: when a service is due is worked out from the last one and the \
             handbook, and a day or distance that has passed here is not told",
        ]
    );
    assert_eq!(told_of("Reg | Handover | Next service due\nAB24CDE | 13/05/2025 |"), [""; 0]);
}
