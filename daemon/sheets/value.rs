//! What a workbook stores in a cell becomes one of our cells: days, times, numbers, texts and faults.

use std::borrow::Cow;
use std::fmt::{Display, Write};

use calamine::{Data, DataRef, ExcelDateTime};
use jiff::civil::{Date, DateTime, Time, date};
use jiff::{SignedDuration, Span};

use crate::sheets::{Cell, Fault};

/// What stands for a formula whose value is one of the error values, where the file does not let out which.
pub(super) const FORMULA_IN_ERROR: &str = "formula with an error for a value";

/// The first and last year of a day that a sheet can mean; outside of them a date format sits on some other number.
pub const YEARS: std::ops::RangeInclusive<i16> = 1950..=2100;

const SECONDS_OF_A_DAY: f64 = 86_400.0;

/// Error values as the spreadsheet programs write them into text.
const ERROR_VALUES: [&str; 14] = [
    "#ERROR!",
    "#N/A",
    "#REF!",
    "#DIV/0!",
    "#VALUE!",
    "#NAME?",
    "#NUM!",
    "#NULL!",
    "#DATA!",
    "#GETTING_DATA",
    "#SPILL!",
    "#CALC!",
    "#FIELD!",
    "#BLOCKED!",
];

/// What stands for a value and is none, as the file has it.
pub(super) fn error_value(name: &str) -> Cell<'_> {
    Cell::Fault(Fault::ErrorValue(name))
}

/// The same of a name that is made here, for which `words` gives room.
fn named_error(name: impl Display, words: &mut String) -> Cell<'_> {
    error_value(worded(name, words))
}

/// A text that is made here, and stands in `words`.
pub(super) fn worded(text: impl Display, words: &mut String) -> &str {
    words.clear();
    // A string takes all.
    let _ = write!(words, "{text}");
    words
}

/// The cell of what a workbook holds that is read as a stream. `words` gives room to a text that is made here.
pub(super) fn cell_of<'a>(value: &'a DataRef<'_>, counts_from_1904: bool, words: &'a mut String) -> Cell<'a> {
    match value {
        DataRef::Empty => Cell::Blank,
        DataRef::String(text) => text_cell(text, words),
        DataRef::SharedString(text) => text_cell(text, words),
        DataRef::Int(number) => Cell::Number(*number as f64),
        DataRef::Float(number) => number_cell(*number, words),
        DataRef::Bool(flag) => Cell::Flag(*flag),
        DataRef::DateTime(serial) => serial_cell(serial, counts_from_1904, words),
        DataRef::DateTimeIso(text) => iso_day(text, words),
        DataRef::DurationIso(text) => iso_length(text, words),
        DataRef::Error(error) => named_error(error, words),
    }
}

/// The cell of what a workbook holds that is read as a whole.
pub(super) fn kept_cell_of<'a>(value: &'a Data, counts_from_1904: bool, words: &'a mut String) -> Cell<'a> {
    match value {
        Data::Empty => Cell::Blank,
        Data::String(text) => text_cell(text, words),
        Data::Int(number) => Cell::Number(*number as f64),
        Data::Float(number) => number_cell(*number, words),
        Data::Bool(flag) => Cell::Flag(*flag),
        Data::DateTime(serial) => serial_cell(serial, counts_from_1904, words),
        Data::DateTimeIso(text) => iso_day(text, words),
        Data::DurationIso(text) => iso_length(text, words),
        Data::Error(error) => named_error(error, words),
    }
}

/// A number; what is none, such as one without an end, is a fault.
pub(super) fn number_cell(number: f64, words: &mut String) -> Cell<'_> {
    if number.is_finite() { Cell::Number(number) } else { named_error(number, words) }
}

/// A whole number as its format shows it, with leading zeros to so many figures; any other stays a number.
pub(super) fn with_zeros(number: f64, figures: usize, words: &mut String) -> Cell<'_> {
    /// Up to here a number of this type is exact to the last figure.
    const WHOLE_MAX: f64 = 9_007_199_254_740_992.0;
    if number.fract() != 0.0 || !(0.0..=WHOLE_MAX).contains(&number) {
        return Cell::Number(number);
    }
    Cell::Text(worded(format_args!("{number:0figures$}"), words))
}

/// Whether a text has nothing in it that is cleaned or trimmed away but the blank of ASCII, as nearly all are: no
/// character that controls something, and no other blank. Some that have neither are not found out to be so.
pub(super) fn is_plain(text: &str) -> bool {
    is_plain_parted_by(b' ', text)
}

/// The same of all the parts of a text between such a character.
pub(super) fn is_plain_parted_by(delimiter: u8, text: &str) -> bool {
    /// What leads the characters from 0x80 to 0xBF, of which those up to the blank that does not break are not plain.
    const LEADS_CONTROLS: u8 = 0xc2;
    const LAST_ODD: u8 = 0xa0;
    let bytes = text.as_bytes();
    // All of them are looked at, since that is faster than to stop at the first that is not plain. From 0xE0 on a byte
    // leads characters of which some are blanks.
    let (is_plain, all) = bytes.iter().fold((true, 0), |(is_plain, all), byte| {
        (is_plain & (matches!(byte, b' '..=b'~' | 0x80..0xe0) | (*byte == delimiter)), all | byte)
    });
    let is_odd = |at: usize| bytes.get(at + 1).is_none_or(|next| *next <= LAST_ODD);
    is_plain && (all.is_ascii() || !memchr::memchr_iter(LEADS_CONTROLS, bytes).any(is_odd))
}

/// A text, trimmed and without control characters; a line break inside it stays, as `\n`. `words` gives room to one that
/// is not a part of what was given.
pub(super) fn text_cell<'a>(text: &'a str, words: &'a mut String) -> Cell<'a> {
    if is_plain(text) { plain_cell(text) } else { any_text_cell(text, words) }
}

/// The same for a text that [`is_plain`].
pub(super) fn plain_cell(text: &str) -> Cell<'_> {
    trimmed_cell(text.trim_ascii())
}

fn trimmed_cell(text: &str) -> Cell<'_> {
    if text.is_empty() {
        Cell::Blank
    } else if is_error_value(text) {
        error_value(text)
    } else {
        Cell::Text(text)
    }
}

fn any_text_cell<'a>(text: &'a str, words: &'a mut String) -> Cell<'a> {
    let outside = |character: char| {
        character.is_whitespace() || character.is_control() || matches!(character, '\u{feff}' | '\u{200b}')
    };
    let text = text.trim_matches(outside);
    if !text.chars().any(char::is_control) {
        return trimmed_cell(text);
    }
    let text = text.replace("\r\n", "\n").replace('\r', "\n").replace('\t', " ");
    words.clear();
    words.extend(text.chars().filter(|&character| character == '\n' || !character.is_control()));
    Cell::Text(words)
}

/// Whether a trimmed text is one of the error values.
pub(super) fn is_error_value(text: &str) -> bool {
    if !matches!(text.as_bytes().first(), Some(b'#' | b'E')) {
        return false;
    }
    if let Some(number) = text.strip_prefix("Err:") {
        return number.len() == 3 && number.bytes().all(|byte| byte.is_ascii_digit());
    }
    // `####` is what a column too narrow for its number shows.
    ERROR_VALUES.contains(&text) || (text.len() > 2 && text.bytes().all(|byte| byte == b'#'))
}

/// A number with a date or time format.
fn serial_cell<'a>(serial: &ExcelDateTime, counts_from_1904: bool, words: &'a mut String) -> Cell<'a> {
    let number = serial.as_f64();
    if !number.is_finite() {
        return named_error(number, words);
    }
    // Below 1 there is no day, only a time of day.
    if serial.is_duration() || (0.0..1.0).contains(&number) {
        return Cell::Time((number * SECONDS_OF_A_DAY).round() as i64);
    }
    match day_of_serial(number, counts_from_1904) {
        Some(day) => Cell::Day(day),
        None => named_error(format_args!("day number {number}"), words),
    }
}

/// The day and time of a serial day number; `None` outside the years that a sheet can mean.
pub fn day_of_serial(number: f64, counts_from_1904: bool) -> Option<DateTime> {
    // In 1900 workbooks day 60 is a 29 February that never was, so that later days count from 30 December 1899.
    let base = if counts_from_1904 { date(1904, 1, 1) } else { date(1899, 12, 30) };
    let seconds = (number * SECONDS_OF_A_DAY).round();
    // The farthest day that the calendar's type holds lies within this many seconds of either base.
    const SECONDS_MAX: f64 = 300_000_000_000.0;
    if seconds.abs() > SECONDS_MAX {
        return None;
    }
    let day = base.at(0, 0, 0, 0).checked_add(SignedDuration::from_secs(seconds as i64)).ok()?;
    YEARS.contains(&day.year()).then_some(day)
}

/// The cell of a text that does not last.
fn own_text_cell<'a>(text: &str, words: &'a mut String) -> Cell<'a> {
    let mut cleared = String::new();
    match text_cell(text, &mut cleared) {
        Cell::Text(text) => Cell::Text(worded(text, words)),
        Cell::Fault(Fault::ErrorValue(name)) => named_error(name, words),
        _ => Cell::Blank,
    }
}

/// A date, a date with time, or a time, as ISO 8601 writes them.
pub(super) fn iso_day<'a>(text: &str, words: &'a mut String) -> Cell<'a> {
    if let Some(day) = plain_day(text) {
        return Cell::Day(day);
    }
    let text = short_fraction(text);
    let plain = text.trim().trim_end_matches(['Z', 'z']);
    if let Ok(day) =
        plain.parse::<DateTime>().or_else(|_| plain.parse::<Date>().map(|day| day.at(0, 0, 0, 0)))
    {
        let day = day.with().subsec_nanosecond(0).build().unwrap_or(day);
        return if YEARS.contains(&day.year()) { Cell::Day(day) } else { named_error(text, words) };
    }
    match plain.trim_start_matches(['T', 't']).parse::<Time>() {
        Ok(time) => Cell::Time(
            i64::from(time.hour()) * 3600 + i64::from(time.minute()) * 60 + i64::from(time.second()),
        ),
        Err(_) => own_text_cell(&text, words),
    }
}

/// A day or time with no more than nine figures behind the point of its seconds, which is as many as the calendar's parser
/// knows; some programs write ten.
fn short_fraction(text: &str) -> Cow<'_, str> {
    const FIGURES_MAX: usize = 9;
    let Some((before, behind)) = text.split_once('.') else { return Cow::Borrowed(text) };
    let figures = behind.bytes().take_while(u8::is_ascii_digit).count();
    if figures <= FIGURES_MAX {
        return Cow::Borrowed(text);
    }
    Cow::Owned(format!("{before}.{}{}", &behind[..FIGURES_MAX], &behind[figures..]))
}

/// A date without a time in its most usual form, `2026-04-03`, of a year that a sheet can mean; the calendar's own parser,
/// which knows all forms, takes several times as long.
fn plain_day(text: &str) -> Option<DateTime> {
    let figures: &[u8; 10] = text.as_bytes().try_into().ok()?;
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = *figures else { return None };
    let number = |figures: &[u8]| {
        figures.iter().try_fold(0_i16, |number, figure| {
            figure.is_ascii_digit().then(|| number * 10 + i16::from(figure - b'0'))
        })
    };
    let (year, month, day) = (number(&[y1, y2, y3, y4])?, number(&[m1, m2])?, number(&[d1, d2])?);
    let day = Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()?;
    YEARS.contains(&year).then(|| day.at(0, 0, 0, 0))
}

/// A length of time as ISO 8601 writes it, such as `PT30H05M00S`; also above a day.
pub(super) fn iso_length<'a>(text: &str, words: &'a mut String) -> Cell<'a> {
    let Ok(span) = short_fraction(text).trim().parse::<Span>() else { return own_text_cell(text, words) };
    if span.get_years() != 0 || span.get_months() != 0 {
        return own_text_cell(text, words);
    }
    let days = i64::from(span.get_weeks()) * 7 + i64::from(span.get_days());
    let hours = days * 24 + i64::from(span.get_hours());
    Cell::Time(hours * 3600 + span.get_minutes() * 60 + span.get_seconds())
}
