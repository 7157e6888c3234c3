//! What each way of writing a value must become, case by case.

use jiff::civil::date;

use super::super::cell_words;
use super::super::{CheckResult, EthanolLabel, MachineKind, SpeedSource};
use super::*;

fn cell(text: &str) -> Cell<'_> {
    Cell::Text(text)
}

fn miles_meant(text: &str) -> Option<(i64, Option<DistanceUnit>)> {
    let read = distance(cell(text), &Meaning::default());
    read.ok().flatten().map(|written| (written.tenths, written.unit))
}

#[test]
fn a_distance_keeps_the_unit_of_its_cell_and_nothing_else() {
    let (miles, kilometres) = (Some(DistanceUnit::Miles), Some(DistanceUnit::Kilometres));
    let cases = [
        ("1234", Some((12_340, None))),
        ("1,234", Some((12_340, None))),
        ("1 234", Some((12_340, None))),
        ("1\u{a0}234", Some((12_340, None))),
        ("1,234 mi", Some((12_340, miles))),
        ("1,234 miles", Some((12_340, miles))),
        ("1234Miles", Some((12_340, miles))),
        ("1234 km", Some((12_340, kilometres))),
        ("1234km", Some((12_340, kilometres))),
        ("1234 KMs", Some((12_340, kilometres))),
        ("12.5k", Some((125_000, None))),
        ("12.5k miles", Some((125_000, miles))),
        ("12 k", Some((120_000, None))),
        ("3.75", Some((38, None))),
        ("0", Some((0, None))),
        ("c. 1200", Some((12_000, None))),
        ("5½ miles", Some((55, Some(DistanceUnit::Miles)))),
        ("½", Some((5, None))),
        ("5.5½", None),
        ("1200ish", None),
        ("1234*", None),
        ("1234 bananas", None),
        ("-5", None),
        ("(5)", None),
        ("99,5", None),
        ("10000001", None),
        ("99999999999", None),
    ];
    for (text, expected) in cases {
        assert_eq!(miles_meant(text), expected, "{text}");
    }
    let number = |number| distance(Cell::Number(number), &Meaning::default());
    assert_eq!(number(1234.0), Ok(Some(WrittenDistance { tenths: 12_340, unit: None })));
    assert_eq!(number(46115.0), Ok(Some(WrittenDistance { tenths: 461_150, unit: None })));
    assert_eq!(number(-1.0).unwrap_err().what, "is below zero");
    assert_eq!(number(f64::NAN).unwrap_err().what, "is not a distance");
}

#[test]
fn the_columns_unit_counts_only_where_the_cell_has_none() {
    let meaning = Meaning { distance_unit: Some(DistanceUnit::Kilometres), ..Meaning::default() };
    let unit = |text| distance(cell(text), &meaning).unwrap().unwrap().unit;
    assert_eq!(unit("500"), Some(DistanceUnit::Kilometres));
    assert_eq!(unit("500 miles"), Some(DistanceUnit::Miles));
}

#[test]
fn a_decimal_comma_counts_where_the_column_has_settled_it() {
    let meaning = Meaning { decimal: DecimalMark::Comma, ..Meaning::default() };
    let tenths = |text| distance(cell(text), &meaning).unwrap().unwrap().tenths;
    assert_eq!(tenths("99,5"), 995);
    assert_eq!(tenths("1.649,00"), 16_490);
}

#[test]
fn a_day_is_read_from_every_kind_of_cell() {
    let third = date(2026, 4, 3);
    let read = |cell: Cell<'_>| day(cell, &Meaning::default());
    let real = Cell::Day(third.at(14, 30, 0, 0));
    for cell in [
        real,
        Cell::Number(46115.0),
        Cell::Number(46115.604),
        Cell::Number(20_260_403.0),
        cell("46115"),
        cell("03/04/2026"),
        cell("3-Apr-26"),
        cell("20260403"),
        cell("03.04.2026 09:15"),
    ] {
        assert_eq!(read(cell), Ok(Some(third)), "{cell:?}");
    }
    let from_1904 = Meaning { from_1904: true, ..Meaning::default() };
    assert_eq!(day(Cell::Number(44653.0), &from_1904), Ok(Some(third)));
    for nothing in ["tbc", "n/a", "-", "TBA", "unknown", "?", "No"] {
        assert_eq!(read(cell(nothing)), Ok(None), "{nothing}");
    }
    assert_eq!(read(Cell::Blank), Ok(None));
}

#[test]
fn what_is_no_day_says_why() {
    let what = |cell: Cell<'_>| day(cell, &Meaning::default()).unwrap_err().what;
    for cell in [
        cell("Apr-26"),
        cell("12/26"),
        cell("31/02"),
        cell("31/02/2026"),
        cell("soon"),
        Cell::Number(0.0),
        Cell::Flag(true),
    ] {
        assert_eq!(what(cell), "is not a day", "{cell:?}");
    }
    for text in ["3/4", "29/02", "Mon 10 Nov", "10-Nov"] {
        assert_eq!(what(cell(text)), "is a day without a year", "{text}");
    }
    assert_eq!(what(Cell::Number(-1.0)), "is not a day");
    assert_eq!(what(Cell::Number(3_000_000.0)), "is not a day");
    assert_eq!(what(Cell::Day(date(1899, 12, 31).at(0, 0, 0, 0))), "is not a day between 1950 and 2100");
    assert_eq!(what(Cell::Time(52_200)), "is a time without a day");
    let mixed = Meaning { order: ColumnOrder::Mixed, ..Meaning::default() };
    assert!(day(cell("03/04/2026"), &mixed).unwrap_err().what.starts_with("may be one of two days"));
    assert_eq!(day(cell("13/04/2026"), &mixed), Ok(Some(date(2026, 4, 13))));
}

#[test]
fn an_error_value_is_never_a_value() {
    for cell in ["#N/A", "#REF!", "#####"].map(|name| Cell::Fault(Fault::ErrorValue(name))) {
        let meaning = Meaning::default();
        let expected = "is an error value of the spreadsheet program";
        assert_eq!(text(cell).unwrap_err().what, expected);
        assert_eq!(distance(cell, &meaning).unwrap_err().what, expected);
        assert_eq!(day(cell, &meaning).unwrap_err().what, expected);
        assert_eq!(mark(cell).unwrap_err().what, expected);
        assert!(cell_words::check_result(cell).is_err());
        assert!(cell_words::flag(cell).is_err());
    }
    for (fault, expected) in [
        (Fault::NeverReckoned, "is a formula whose value the file does not hold"),
        (Fault::TooLong(40_000), "is longer than a cell may be"),
    ] {
        assert_eq!(distance(Cell::Fault(fault), &Meaning::default()).unwrap_err().what, expected);
    }
}

#[test]
fn an_identifier_is_text_and_what_the_spreadsheet_program_damaged_is_refused() {
    for text in ["  ab12 cde ", "AB12CDE", "AB12\u{a0}CDE", "ab12-cde"] {
        assert_eq!(mark(cell(text)).unwrap().unwrap().as_str(), "AB12CDE", "{text}");
    }
    for none in ["tbc", "unreg", "Not registered", "-", "N/A"] {
        assert_eq!(mark(cell(none)), Ok(None), "{none}");
    }
    assert_eq!(stock_number(Cell::Number(123.0)).unwrap().unwrap().as_str(), "123");
    assert_eq!(stock_number(cell("00123")).unwrap().unwrap().as_str(), "00123");
    assert_eq!(stock_number(cell("12E4")).unwrap().unwrap().as_str(), "12E4");
    let damaged = "was damaged by the spreadsheet program, which cut it to a rounded figure";
    assert_eq!(frame_number(cell("1.23457E+16")).unwrap_err().what, damaged);
    assert_eq!(frame_number(cell("1,23457E+16")).unwrap_err().what, damaged);
    assert_eq!(frame_number(cell("123E+16")).unwrap_err().what, damaged);
    assert_eq!(frame_number(Cell::Number(1.23457e16)).unwrap_err().what, damaged);
    assert_eq!(frame_number(Cell::Number(123.5)).unwrap_err().what, damaged);
    assert_eq!(
        mark(Cell::Day(date(2026, 3, 1).at(0, 0, 0, 0))).unwrap_err().what,
        "was turned into a date by the spreadsheet program"
    );
    for remark in ["SOLD", "1234", "AB12 CDE (sold)", "Printed 03/04/2026"] {
        assert!(mark(cell(remark)).is_err(), "{remark}");
    }
    assert!(stock_number(cell("Yes")).is_err());
    assert!(frame_number(cell("123")).is_err());
    for nothing in [cell("0"), cell("0000"), Cell::Number(0.0)] {
        assert_eq!(stock_number(nothing), Ok(None));
        assert_eq!(frame_number(nothing), Ok(None));
    }
    assert!(mark(cell("this is a long remark about the missing number plate")).is_err());
}

#[test]
fn a_number_that_became_a_date_and_was_written_out_as_text_is_refused() {
    let turned = "was turned into a date by the spreadsheet program";
    for text in
        ["10-Dec", "Dec-10", "1-Mar-26", "10-Dec-2026", "10/12/2026", "2026-12-10", "2026-12-10 00:00:00"]
    {
        assert_eq!(mark(cell(text)).unwrap_err().what, turned, "{text}");
        assert_eq!(stock_number(cell(text)).unwrap_err().what, turned, "{text}");
        assert_eq!(frame_number(cell(text)).unwrap_err().what, turned, "{text}");
    }
    // Marks with the name of a month in them, and stock numbers that a shop makes of the day.
    for text in ["DEC 10", "10 DEC", "MAR 1A", "A1 MAR", "MAR-10", "10-DEC"] {
        assert!(mark(cell(text)).is_ok(), "{text}");
    }
    for text in ["26-04-03", "20260403", "3/12", "S-10"] {
        assert_eq!(stock_number(cell(text)).unwrap().unwrap().as_str(), text);
    }
}

#[test]
fn a_number_that_lost_figures_is_refused_and_one_that_only_gained_a_fraction_is_mended() {
    let damaged = "was damaged by the spreadsheet program, which cut it to a rounded figure";
    for text in ["12345678901234500", "1234567890123450000"] {
        assert_eq!(frame_number(cell(text)).unwrap_err().what, damaged, "{text}");
    }
    assert_eq!(frame_number(cell("12345678901234567")).unwrap().unwrap().as_str(), "12345678901234567");
    assert_eq!(stock_number(cell("101.0")).unwrap().unwrap().as_str(), "101");
    assert_eq!(stock_number(cell("10.10")).unwrap().unwrap().as_str(), "10.10");
    for lost in [cell("7.7009E+09"), cell("4.477E+11"), Cell::Number(7.7e15), Cell::Number(-7.0)] {
        assert_eq!(telephone(lost).unwrap_err().what, damaged, "{lost:?}");
    }
    let day = Cell::Day(date(2026, 4, 3).at(0, 0, 0, 0));
    assert_eq!(telephone(day).unwrap_err().what, "was turned into a date by the spreadsheet program");
}

#[test]
fn texts_and_telephone_numbers_are_kept_as_written() {
    assert_eq!(text(Cell::Number(1234.0)), Ok(Some("1234".to_owned())));
    assert_eq!(text(Cell::Number(12.5)), Ok(Some("12.5".to_owned())));
    assert_eq!(text(cell("10W-40 MA2")), Ok(Some("10W-40 MA2".to_owned())));
    assert_eq!(text(cell("n/a")), Ok(None));
    assert_eq!(telephone(Cell::Number(7_700_900_123.0)), Ok(Some("07700900123".to_owned())));
    assert_eq!(telephone(cell("1632960123")), Ok(Some("01632960123".to_owned())));
    assert_eq!(telephone(cell("7700900123.0")), Ok(Some("07700900123".to_owned())));
    assert_eq!(telephone(Cell::Number(447_700_900_123.0)), Ok(Some("+447700900123".to_owned())));
    assert_eq!(telephone(cell("447700900123")), Ok(Some("+447700900123".to_owned())));
    for kept in ["01632 960123", "+44 7700 900123", "960123", "01632 960123 / 07700 900123", "9990000000"] {
        assert_eq!(telephone(cell(kept)), Ok(Some(kept.to_owned())));
    }
}

#[test]
fn speeds_volumes_and_spans_take_the_unit_in_the_cell() {
    let meaning = Meaning::default();
    let mph = |count| Ok(Some(Speed::of(count, SpeedUnit::MilesAnHour)));
    assert_eq!(speed(cell("62"), &meaning), mph(62));
    assert_eq!(speed(cell("62mph"), &meaning), mph(62));
    assert_eq!(speed(cell("45 km/h"), &meaning), Ok(Some(Speed::of(45, SpeedUnit::KilometresAnHour))));
    assert!(speed(cell("62 knots"), &meaning).is_err());
    assert!(speed(cell("4000"), &meaning).is_err());
    let litres = |millilitres| Ok(Some(Volume::of_millilitres(millilitres)));
    assert_eq!(volume(cell("6.2"), &meaning), litres(6_200));
    assert_eq!(volume(cell("6.2 L"), &meaning), litres(6_200));
    assert_eq!(volume(cell("850ml"), &meaning), litres(850));
    assert_eq!(volume(cell("2 gallons"), &meaning), Ok(Some(Volume::of_gallons(2))));
    assert!(volume(cell("620"), &meaning).is_err());
    assert!(volume(cell("-1"), &meaning).is_err());
    assert_eq!(months(cell("12"), &meaning), Ok(Some(Months(12))));
    assert_eq!(months(cell("2 years"), &meaning), Ok(Some(Months(24))));
    assert!(months(cell("1.5"), &meaning).is_err());
    assert_eq!(day_count(cell("2 weeks"), &meaning), Ok(Some(Days(14))));
    assert_eq!(engine_cc(cell("124.7cc"), &meaning), Ok(Some(125)));
    assert_eq!(engine_cc(Cell::Number(49.0), &meaning), Ok(Some(49)));
    assert_eq!(engine_cc(cell("electric"), &meaning), Ok(None));
    assert!(engine_cc(cell("0"), &meaning).is_err());
    assert!(engine_cc(cell("1.2 litre"), &meaning).is_err());
}

#[test]
fn yes_and_no_are_read_and_nothing_else() {
    for cell in
        [Cell::Flag(true), Cell::Number(1.0), cell("Y"), cell("yes"), cell("done"), cell("✓"), cell("3/4/26")]
    {
        assert_eq!(cell_words::flag(cell), Ok(Some(true)), "{cell:?}");
    }
    for cell in [Cell::Flag(false), Cell::Number(0.0), cell("N"), cell("No."), cell("✗")] {
        assert_eq!(cell_words::flag(cell), Ok(Some(false)), "{cell:?}");
    }
    assert_eq!(cell_words::flag(Cell::Blank), Ok(None));
    assert!(cell_words::flag(cell("maybe")).is_err());
    assert!(cell_words::flag(Cell::Number(2.0)).is_err());
}

#[test]
fn only_a_known_word_is_a_pass() {
    let result = |text| cell_words::check_result(cell(text));
    for text in
        ["Pass", "PASSED", "O.K.", "✓", "done", "Yes", "03/04/2026", "no faults", "Pass 03/04/2026", "✔✔"]
    {
        assert_eq!(result(text), Ok(CheckResult::Passed), "{text}");
    }
    for text in ["Fail", "x", "No", "advisory", "Advisory: chain worn", "fail - pads", "✗", "minor", "not ok"]
    {
        assert_eq!(result(text), Ok(CheckResult::Failed), "{text}");
    }
    for text in ["", "n/a", "TBC", "pending", "not done", "N", "in progress", "-"] {
        assert_eq!(result(text), Ok(CheckResult::NotDone), "{text}");
    }
    assert_eq!(cell_words::check_result(Cell::Blank), Ok(CheckResult::NotDone));
    assert_eq!(cell_words::check_result(Cell::Flag(true)), Ok(CheckResult::Passed));
    assert_eq!(cell_words::check_result(Cell::Day(date(2026, 4, 3).at(0, 0, 0, 0))), Ok(CheckResult::Passed));
    for text in ["JB", "ok but leaking", "pass, pads low", "see Sam", "5"] {
        assert!(result(text).is_err(), "{text}");
    }
}

#[test]
fn a_picture_is_read_where_it_is_plain_and_never_passed_over() {
    // The names that Unicode gives them (Ballot Box, White Heavy Check Mark, Cross Mark, Thumbs Down Sign …).
    let result = |text| cell_words::check_result(cell(text));
    for text in ["✅", "✔\u{fe0f}", "✅ Pass", "pass ✓", "✔ ok"] {
        assert_eq!(result(text), Ok(CheckResult::Passed), "{text}");
    }
    for text in ["☐", "⬜", "□", "🔲", "⬜\u{fe0f}"] {
        assert_eq!(result(text), Ok(CheckResult::NotDone), "{text}");
        assert_eq!(cell_words::flag(cell(text)), Ok(Some(false)), "{text}");
    }
    for text in [
        "👎",
        "🔴",
        "🟠",
        "⏳",
        "➖",
        "⚠ ok",
        "⚠\u{fe0f} ok",
        "ok 🔴",
        "✅ no",
        "☐ ok",
        "\"",
        "•",
        "ok*",
        "pass *",
    ] {
        assert!(result(text).is_err(), "{text}");
    }
    for text in ["🚧", "⭕", "👎", "yes 👎", "\"", "•"] {
        assert!(cell_words::flag(cell(text)).is_err(), "{text}");
    }
}

#[test]
fn kinds_labels_sources_and_units_are_chosen_from_known_words() {
    let kind = |text| cell_words::machine_kind(cell(text));
    assert_eq!(kind("M/cycle"), Ok(Some(MachineKind::Motorcycle)));
    assert_eq!(kind("Bike"), Ok(Some(MachineKind::Motorcycle)));
    assert_eq!(cell_words::machine_kind(Cell::Number(50.0)), Ok(Some(MachineKind::Moped)));
    assert_eq!(kind("Scooter"), Ok(Some(MachineKind::Scooter)));
    assert_eq!(kind("3-wheeler"), Ok(Some(MachineKind::ThreeWheeler)));
    assert_eq!(kind("CAR"), Ok(Some(MachineKind::Car)));
    assert_eq!(kind("tbc"), Ok(None));
    for motorcycle in [
        "Naked",
        "Roadster",
        "Sports",
        "Adventure",
        "Commuter",
        "Learner",
        "Cruiser",
        "Trail",
        "Solo",
        "Motorcycle - naked",
        "125 motorcycle",
    ] {
        assert_eq!(kind(motorcycle), Ok(Some(MachineKind::Motorcycle)), "{motorcycle}");
    }
    for unknown in ["boat", "quad bike", "motorcycle or scooter", "three-wheeled motorcycle", "sports car"] {
        assert!(kind(unknown).is_err(), "{unknown}");
    }
    assert!(kind("03/04/2026").is_err());

    let label = |text| cell_words::ethanol_label(cell(text));
    assert_eq!(label("e10"), Ok(Some(EthanolLabel::E10)));
    assert_eq!(label("max E5"), Ok(Some(EthanolLabel::E5)));
    assert_eq!(label("Unleaded (E 10)"), Ok(Some(EthanolLabel::E10)));
    for none in [
        "super",
        "premium 97",
        "E5/E10",
        "B7",
        "unleaded",
        "Not E10",
        "No E10",
        "E10 no",
        "Not suitable for E10",
        "E10 not allowed",
        "E10 unsuitable",
        "E10 incompatible",
        "E10 ✗",
        "never E10",
        "don't use E10",
        "E10?",
        "below E10",
        "E5 (not E10)",
    ] {
        assert!(label(none).is_err(), "{none}");
    }

    let source = |text| cell_words::speed_source(cell(text));
    assert_eq!(source("GPS"), Ok(Some(SpeedSource::Satellite)));
    assert_eq!(source("Sat-Nav"), Ok(Some(SpeedSource::Satellite)));
    assert_eq!(source("speedo"), Ok(Some(SpeedSource::Speedometer)));
    assert_eq!(source("dash"), Ok(Some(SpeedSource::Speedometer)));
    assert!(source("guess").is_err());

    let unit = |text| cell_words::clock_unit(cell(text));
    assert_eq!(unit("mph"), Ok(Some(DistanceUnit::Miles)));
    assert_eq!(unit("KM"), Ok(Some(DistanceUnit::Kilometres)));
    assert_eq!(unit("km/h"), Ok(Some(DistanceUnit::Kilometres)));
    assert!(unit("leagues").is_err());
}

#[test]
fn no_text_whatsoever_brings_a_reader_down() {
    // A linear congruential generator (Knuth's MMIX constants): the same texts in every run.
    let mut state = 20_260_403_u64;
    let mut next = |below: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % below
    };
    let pieces: Vec<char> =
        "0123456789 0123456789-/.,:()£kKmMlLE+eéßİ№#'’\u{a0}\u{2212}✓✗aprAPRstndthTZ[]".chars().collect();
    let meaning = Meaning::default();
    for _ in 0..20_000 {
        let length = next(24);
        let text: String = (0..length).map(|_| pieces[next(pieces.len())]).collect();
        let cell = cell(&text);
        let fits = |year: i16| (1950..=2100).contains(&year);
        assert!(day(cell, &meaning).ok().flatten().is_none_or(|day| fits(day.year())), "{text}");
        let read = distance(cell, &meaning).ok().flatten();
        assert!(read.is_none_or(|read| (0..=1_000_000_000).contains(&read.tenths)), "{text}");
        let _ = (
            speed(cell, &meaning),
            volume(cell, &meaning),
            months(cell, &meaning),
            engine_cc(cell, &meaning),
        );
        let _ = (mark(cell), frame_number(cell), stock_number(cell), telephone(cell));
        let _ = (cell_words::check_result(cell), cell_words::flag(cell), cell_words::ethanol_label(cell));
    }
}

#[test]
fn a_time_beside_a_day_is_known_in_each_writing_and_an_impossible_one_is_none() {
    let cases = [
        ("05/02/2027 16:00", Some((16, 0, 0))),
        ("2027-02-05T09:05:30Z", Some((9, 5, 30))),
        ("2027-02-05 09:05:30.123", Some((9, 5, 30))),
        ("5 Feb 2027, 2:30 pm", Some((14, 30, 0))),
        ("5 Feb 2027 12:15am", Some((0, 15, 0))),
        ("05/02/2027 00:00", None),
        ("13/06/2026 24:61", None),
        ("05/02/2027", None),
        ("note: 5", None),
    ];
    for (text, expected) in cases {
        let time = time(cell(text)).map(|time| (time.hour(), time.minute(), time.second()));
        assert_eq!(time, expected, "{text}");
    }
}
