//! The cells of workbooks: days, times, lengths of time and faults.
//!
//! The serial day numbers are those of ECMA-376 part 1, section 18.17.4 (date and time representation): in the 1900
//! system 1 is 1 January 1900 and 60 is skipped by the calendar, in the 1904 system 0 is 1 January 1904.

use calamine::{Data, ExcelDateTime, ExcelDateTimeType};

use super::tests::draw_cell;
use super::value::kept_cell_of;

#[track_caller]
fn check(value: Data, counts_from_1904: bool, expected: &str) {
    let shown = format!("{value:?}");
    let mut words = String::new();
    assert_eq!(draw_cell(kept_cell_of(&value, counts_from_1904, &mut words)), expected, "{shown}");
}

fn serial(number: f64) -> Data {
    Data::DateTime(ExcelDateTime::new(number, ExcelDateTimeType::DateTime, false))
}

fn length(number: f64) -> Data {
    Data::DateTime(ExcelDateTime::new(number, ExcelDateTimeType::TimeDelta, false))
}

#[test]
fn a_day_number_is_the_day_that_the_spreadsheet_program_shows() {
    check(serial(46_115.0), false, "day 2026-04-03T00:00:00");
    check(serial(44_653.0), true, "day 2026-04-03T00:00:00");
    check(serial(46_115.604_166_666_664), false, "day 2026-04-03T14:30:00");
    check(serial(46_115.999_999_9), false, "day 2026-04-04T00:00:00");
    check(serial(45_351.0), false, "day 2024-02-29T00:00:00");
    check(serial(18_264.0), false, "day 1950-01-01T00:00:00");
    check(serial(73_415.0), false, "day 2100-12-31T00:00:00");
}

#[test]
fn a_day_number_that_no_sheet_can_mean_is_a_fault() {
    for (number, shown) in [
        (18_263.0, "fault day number 18263"),
        (73_416.0, "fault day number 73416"),
        (60.0, "fault day number 60"),
        (1.0, "fault day number 1"),
        (-1.0, "fault day number -1"),
        (3_000_000.0, "fault day number 3000000"),
        (1e300, &format!("fault day number {}", 1e300)),
        (f64::NAN, "fault NaN"),
    ] {
        check(serial(number), false, shown);
    }
    check(Data::Float(f64::INFINITY), false, "fault inf");
}

#[test]
fn a_time_is_never_a_day() {
    check(serial(14.5 / 24.0), false, "52200 seconds");
    check(serial(0.0), false, "0 seconds");
    check(length((30.0 * 60.0 + 5.0) / 1_440.0), false, "108300 seconds");
    check(length(46_115.0), false, "3984336000 seconds");
}

#[test]
fn days_and_times_in_iso_8601_are_read() {
    for (text, shown) in [
        ("2026-04-03", "day 2026-04-03T00:00:00"),
        ("2026-04-03T14:30:15", "day 2026-04-03T14:30:15"),
        ("2026-04-03T14:30:15.750", "day 2026-04-03T14:30:15"),
        ("2026-04-03T14:30:15.5000000000", "day 2026-04-03T14:30:15"),
        ("2026-04-03T14:30:00Z", "day 2026-04-03T14:30:00"),
        ("14:30:00", "52200 seconds"),
        ("1899-12-30", "fault 1899-12-30"),
        ("2026-02-31", "2026-02-31"),
        ("soon", "soon"),
    ] {
        check(Data::DateTimeIso(text.to_owned()), false, shown);
    }
    for (text, shown) in [
        ("PT14H30M00S", "52200 seconds"),
        ("PT30H05M00S", "108300 seconds"),
        ("P1DT2H", "93600 seconds"),
        ("PT90M", "5400 seconds"),
        ("PT10H5M3.5S", "36303 seconds"),
        ("PT30H05M00.0000000000S", "108300 seconds"),
        ("-PT1H", "-3600 seconds"),
        ("P1M", "P1M"),
        ("long", "long"),
    ] {
        check(Data::DurationIso(text.to_owned()), false, shown);
    }
}

#[test]
fn numbers_flags_texts_and_errors_keep_their_kind() {
    use calamine::CellErrorType::{Div0, NA};
    for (value, shown) in [
        (Data::Empty, "."),
        (Data::String(" \u{a0}\t".to_owned()), "."),
        (Data::Int(1_234), "number 1234"),
        (Data::Float(1_234.0), "number 1234"),
        (Data::Float(-0.5), "number -0.5"),
        (Data::Bool(true), "flag true"),
        (Data::Bool(false), "flag false"),
        (Data::String("TRUE".to_owned()), "TRUE"),
        (Data::String("00123".to_owned()), "00123"),
        (Data::String("a\r\nb\rc_\u{7}".to_owned()), "a\\nb\\nc_"),
        (Data::String("#N/A".to_owned()), "fault #N/A"),
        (Data::String(" #REF! ".to_owned()), "fault #REF!"),
        (Data::String("####".to_owned()), "fault ####"),
        (Data::String("##".to_owned()), "##"),
        (Data::String("Err:522".to_owned()), "fault Err:522"),
        (Data::String("#1 spare".to_owned()), "#1 spare"),
        (Data::Error(NA), "fault #N/A"),
        (Data::Error(Div0), "fault #DIV/0!"),
    ] {
        check(value, false, shown);
    }
}

#[test]
fn a_cell_is_shown_as_a_person_would_copy_it() {
    use super::{Cell, Fault};
    use jiff::civil::date;
    for (cell, shown) in [
        (Cell::Blank, ""),
        (Cell::Text("00123"), "00123"),
        (Cell::Number(1_234.0), "1234"),
        (Cell::Number(12.5), "12.5"),
        (Cell::Day(date(2026, 4, 3).at(14, 30, 0, 0)), "2026-04-03"),
        (Cell::Time(52_200), "14:30"),
        (Cell::Time(108_300), "30:05"),
        (Cell::Time(-3_900), "-1:05"),
        (Cell::Flag(true), "TRUE"),
        (Cell::Fault(Fault::ErrorValue("#N/A")), "#N/A"),
        (
            Cell::Fault(Fault::NeverReckoned),
            "formula without a value; open the file in the spreadsheet program and save it once",
        ),
        (Cell::Fault(Fault::TooLong(1)), "text of 1 character"),
    ] {
        assert_eq!(cell.shown(), shown, "{cell:?}");
    }
}

#[test]
fn a_text_that_is_plain_has_nothing_to_clean_or_to_trim() {
    use super::value::is_plain;
    let odd = |character: char| {
        character.is_control() || (character.is_whitespace() && character != ' ') || character == '\u{200b}'
    };
    for character in (0..0x1_0000).filter_map(char::from_u32) {
        let text = format!("a {character}1");
        assert!(!(is_plain(&text) && odd(character)), "{character:?}");
        // What is written in these parts is known to be plain: pounds, degrees, letters with accents.
        let is_usual = matches!(character, ' '..='~' | '\u{a1}'..='\u{7ff}');
        assert_eq!(is_plain(&text), is_usual, "{character:?}");
    }
    assert!(is_plain("") && !is_plain("a\u{feff}"));
}

#[test]
fn a_format_of_zeros_gives_the_figures_that_it_shows() {
    use super::value::with_zeros;
    for (number, figures, shown) in [
        (123.0, 5, "00123"),
        (0.0, 2, "00"),
        (1_234_567.0, 5, "1234567"),
        (12.5, 5, "number 12.5"),
        (-7.0, 3, "number -7"),
    ] {
        assert_eq!(draw_cell(with_zeros(number, figures, &mut String::new())), shown, "{number}");
    }
}
