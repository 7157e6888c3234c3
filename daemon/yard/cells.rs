//! One cell becomes one value of the trade, nothing known, or a fault in words; never a guess.

use jiff::civil::{Date, Time};

use super::cell_words::is_nothing_known;
use super::damage;
use super::days::{self, ColumnOrder, DayRead};
use super::estimate;
use super::result_words::Signs;
use super::{FrameNumber, Mark, StockNumber, WrittenDistance, written_mark};
use crate::origin::Origin;
use crate::problem::Problem;
use crate::settings::DateOrder;
use crate::sheets::{Cell, Fault};
use crate::units::{
    Days, DecimalMark, Distance, DistanceUnit, Months, Number, Speed, SpeedUnit, Volume, VolumeUnit,
};

/// Why a cell gave no value, in words that follow the field's name, and what to do about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Unread {
    /// What is wrong, to be read after the field's name: `is not a day`.
    pub(super) what: &'static str,
    /// What to do, as a short sentence in the imperative.
    pub(super) help: &'static str,
}

impl Unread {
    /// The fault as a problem at its cell; `subject` is the field's name.
    pub(super) fn problem(self, subject: &str, origin: &Origin, cell: Cell<'_>) -> Problem {
        Problem::error(origin, format!("the {subject} {}", self.what), self.help).with_value(cell.shown())
    }
}

/// A cell's value; `None` where it says that nothing is known.
pub(super) type CellRead<T> = Result<Option<T>, Unread>;

/// How the cells of a column are meant, as far as header, neighbouring cells and settings tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Meaning {
    /// Which of day and month comes first.
    pub(super) order: ColumnOrder,
    /// Whether serial day numbers count from 1904.
    pub(super) from_1904: bool,
    /// Whether real dates may have day and month changed round, as the texts beside them show.
    pub(super) may_be_changed_round: bool,
    /// Which sign parts a fraction.
    pub(super) decimal: DecimalMark,
    /// Whether the column shows which sign that is, so that `1.234` can be one thing only.
    pub(super) decimal_is_shown: bool,
    /// Whether the column has thousands parted by a comma, as in `30,100`: beside them a `1.900` may be thousands, too.
    pub(super) thousands_by_comma: bool,
    /// The unit of a distance without one; `None` leaves it to the machine's clock.
    pub(super) distance_unit: Option<DistanceUnit>,
    /// The unit of a speed without one.
    pub(super) speed_unit: SpeedUnit,
    /// The unit of a volume without one.
    pub(super) volume_unit: VolumeUnit,
    /// What bare signs such as x say of a check.
    pub(super) signs: Signs,
}

impl Default for Meaning {
    /// As a British shop writes: day first, decimal point, miles an hour, litres; distances as the clock counts.
    fn default() -> Meaning {
        Meaning {
            order: ColumnOrder::Settled(DateOrder::DayFirst),
            from_1904: false,
            may_be_changed_round: false,
            decimal: DecimalMark::Point,
            decimal_is_shown: false,
            thousands_by_comma: false,
            distance_unit: None,
            speed_unit: SpeedUnit::MilesAnHour,
            volume_unit: VolumeUnit::Litres,
            signs: Signs::default(),
        }
    }
}

/// What a cell holds once blanks, words for `not known` and error values are out of the way.
enum Held<'cell> {
    Nothing,
    Text(&'cell str),
    Number(f64),
    Day(Date),
    Time,
    Flag,
}

/// The cell's content; an error value is a fault, a blank or a word such as `tbc` is nothing.
fn held(cell: Cell<'_>) -> Result<Held<'_>, Unread> {
    Ok(match cell {
        Cell::Blank => Held::Nothing,
        Cell::Text(text) if is_nothing_known(text) => Held::Nothing,
        Cell::Text(text) => Held::Text(text.trim()),
        Cell::Number(number) => Held::Number(number),
        Cell::Day(day) => Held::Day(day.date()),
        Cell::Time(_) => Held::Time,
        Cell::Flag(_) => Held::Flag,
        Cell::Fault(Fault::ErrorValue(_)) => return Err(ERROR_VALUE),
        Cell::Fault(Fault::NeverReckoned) => return Err(NEVER_RECKONED),
        Cell::Fault(Fault::TooLong(_)) => return Err(TOO_LONG),
    })
}

const ERROR_VALUE: Unread = Unread {
    what: "is an error value of the spreadsheet program",
    help: "Correct the formula in this cell, or write the value itself.",
};
const NEVER_RECKONED: Unread = Unread {
    what: "is a formula whose value the file does not hold",
    help: "Open the file in the spreadsheet program and save it once, so that the values are stored.",
};
const TOO_LONG: Unread = Unread {
    what: "is longer than a cell may be",
    help: "Shorten it, or raise `cell_characters` in tickover.toml.",
};
const DAMAGED: Unread = Unread {
    what: "was damaged by the spreadsheet program, which cut it to a rounded figure",
    help: "Type it again from the papers, in a column that is formatted as text.",
};
const DATE_FOR_A_NUMBER: Unread =
    Unread { what: "is a date", help: "Write the number itself, and format the cell as text or number." };
const DATE_FOR_A_MARK: Unread = Unread {
    what: "was turned into a date by the spreadsheet program",
    help: "Type it again in a cell that is formatted as text.",
};
const NOT_AN_IDENTIFIER: Unread = Unread {
    what: "is not one that a machine can have",
    help: "Write the number with its figures, at most 40 signs, and keep remarks in another column.",
};

/// A cell's text; a number is written without a needless `.0`, a date as 2026-04-03.
pub(super) fn text(cell: Cell<'_>) -> CellRead<String> {
    Ok(match held(cell)? {
        Held::Nothing => None,
        Held::Text(text) => Some(text.to_owned()),
        Held::Number(number) => Some(number_as_text(number)),
        Held::Day(_) | Held::Time | Held::Flag => Some(cell.shown()),
    })
}

/// A number as it was typed: 1234 and not 1234.0.
fn number_as_text(number: f64) -> String {
    /// From here on a 64-bit float does not hold every whole number.
    const EXACT_BELOW: f64 = 9_007_199_254_740_992.0;
    if number.fract() == 0.0 && number.abs() < EXACT_BELOW {
        (number as i64).to_string()
    } else {
        number.to_string()
    }
}

/// A telephone number as written; the leading zero that a spreadsheet program drops is put back.
pub(super) fn telephone(cell: Cell<'_>) -> CellRead<String> {
    match held(cell)? {
        Held::Nothing => Ok(None),
        Held::Text(text) if damage::is_rounded_figure(text) => Err(DAMAGED),
        Held::Number(number) if number.abs() >= 1e15 || number.fract() != 0.0 || number < 0.0 => Err(DAMAGED),
        Held::Day(_) | Held::Time => Err(DATE_FOR_A_MARK),
        Held::Text(_) | Held::Number(_) | Held::Flag => {
            let Some(text) = text(cell)? else { return Ok(None) };
            let figures = damage::without_point_nought(&text);
            Ok(Some(damage::with_leading_zero(figures).unwrap_or_else(|| figures.to_owned())))
        }
    }
}

/// The text of an identifier, or the fault that the spreadsheet program did to it.
fn identifier(cell: Cell<'_>) -> CellRead<String> {
    match held(cell)? {
        Held::Nothing => Ok(None),
        Held::Text(text) if damage::is_rounded_figure(text) || damage::is_cut_figure(text) => Err(DAMAGED),
        Held::Text(text) if damage::is_date_again(text) => Err(DATE_FOR_A_MARK),
        // A figure that fills the place of a number that nobody knows would join all such machines into one.
        Held::Text(text) if text.bytes().all(|byte| byte == b'0') => Ok(None),
        Held::Number(0.0) => Ok(None),
        Held::Text(text) => Ok(Some(damage::without_point_nought(text).to_owned())),
        // A spreadsheet program keeps fifteen figures of a number and fills up with zeros.
        Held::Number(number) if number.abs() >= 1e15 || number.fract() != 0.0 || number < 0.0 => Err(DAMAGED),
        Held::Number(number) => Ok(Some(number_as_text(number))),
        Held::Day(_) | Held::Time => Err(DATE_FOR_A_MARK),
        Held::Flag => Err(NOT_AN_IDENTIFIER),
    }
}

/// A registration mark; words for a machine that has none yet are nothing known.
pub(super) fn mark(cell: Cell<'_>) -> CellRead<Mark> {
    const NONE_YET: [&str; 9] = [
        "unreg",
        "unreg.",
        "unregistered",
        "not registered",
        "no reg",
        "no plate",
        "new",
        "new bike",
        "not reg",
    ];
    if let Cell::Text(text) = cell
        && NONE_YET.iter().any(|word| text.eq_ignore_ascii_case(word))
    {
        return Ok(None);
    }
    let Some(text) = identifier(cell)? else { return Ok(None) };
    if let Some(mark) = written_mark::within(&text) {
        return Ok(Some(mark));
    }
    // Every mark has letters and figures and nothing else; the rest is a remark.
    let mark = Mark::new(&text).filter(|mark| {
        let mark = mark.as_str();
        mark.chars().count() <= LONGEST_MARK
            && mark.chars().all(char::is_alphanumeric)
            && mark.chars().any(|letter| letter.is_ascii_digit())
            && mark.chars().any(char::is_alphabetic)
    });
    mark.map(Some).ok_or(NOT_A_MARK)
}

/// No country's marks are longer, in letters and figures.
const LONGEST_MARK: usize = 10;

const NOT_A_MARK: Unread = Unread {
    what: "is not one that a machine can have",
    help: "Write the letters and figures of the number plate only, and keep remarks in another column.",
};

/// A frame number.
pub(super) fn frame_number(cell: Cell<'_>) -> CellRead<FrameNumber> {
    /// No maker's frame numbers are shorter.
    const SHORTEST: usize = 4;
    let Some(text) = identifier(cell)? else { return Ok(None) };
    let number =
        FrameNumber::new(&text).filter(|number| number.as_str().len() >= SHORTEST && has_figure(&text));
    number.map(Some).ok_or(NOT_AN_IDENTIFIER)
}

/// A stock number.
pub(super) fn stock_number(cell: Cell<'_>) -> CellRead<StockNumber> {
    let Some(text) = identifier(cell)? else { return Ok(None) };
    StockNumber::new(&text).filter(|_| has_figure(&text)).map(Some).ok_or(NOT_AN_IDENTIFIER)
}

/// Whether a text has a figure, as every number of a machine has; `yes` and `in` are none.
fn has_figure(text: &str) -> bool {
    text.bytes().any(|byte| byte.is_ascii_digit())
}

const CHANGED_ROUND: Unread = Unread {
    what: "may have its day and month changed round: the spreadsheet program has taken only those dates of this column \
           for dates that fit another order",
    help: "Export the sheet again, and do not open it in a spreadsheet program before; or write this date anew.",
};

/// The time of the day that a cell holds, where it tells one.
pub(super) fn time(cell: Cell<'_>) -> Option<Time> {
    match cell {
        Cell::Day(day) => Some(day.time()).filter(|time| *time != Time::midnight()),
        Cell::Text(text) => days::time_of_day(text),
        _ => None,
    }
}

/// A day: a real date, a serial day number, or a text in one of the usual ways.
pub(super) fn day(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Date> {
    const NOUGHT: Unread = Unread {
        what: "is the day from which programs count, which they write where no day was given",
        help: "Write the day, or leave the cell blank.",
    };
    let day = day_as_written(cell, meaning)?;
    if day == Some(COUNTED_FROM) { Err(NOUGHT) } else { Ok(day) }
}

/// The nought of the clock by which most programs count (POSIX). A machine that was first registered on that very day is
/// told of once, and nothing else is.
const COUNTED_FROM: Date = jiff::civil::date(1970, 1, 1);

fn day_as_written(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Date> {
    const NO_DAY: Unread =
        Unread { what: "is not a day", help: "Write day, month and year, such as 3 Apr 2026 or 2026-04-03." };
    const FAR_OFF: Unread = Unread {
        what: "is not a day between 1950 and 2100",
        help: "Write day, month and year, such as 3 Apr 2026 or 2026-04-03.",
    };
    const ONE_OF_TWO: Unread = Unread {
        what: "may be one of two days: the column may hold dates with the day first and with the month first",
        help: "Write the month as a word, such as 3 Apr 2026, or add `dates` to this sheet in tickover.toml.",
    };
    const DOUBTFUL: Unread = Unread {
        what: "may be one of two days, and what little tells which comes first, day or month, is contradictory",
        help: "Write the month as a word, such as 3 Apr 2026, or add `dates` to this sheet in tickover.toml.",
    };
    const AGAINST: Unread = Unread {
        what: "is a day only if the other of day and month comes first than the shop's setting says",
        help: "If it was mistyped, correct it; if all dates of the sheet are written so, add `dates` to this sheet in \
               tickover.toml.",
    };
    const NO_YEAR: Unread = Unread {
        what: "is a day without a year",
        help: "Export the column with its year, such as 3 Apr 2026: which year is meant, nobody can tell.",
    };
    const OTHER_WEEKDAY: Unread = Unread {
        what: "does not fall on the weekday that stands before it",
        help: "Correct the weekday or the day: which of the two is right, nobody can tell.",
    };
    const NO_DATE: Unread =
        Unread { what: "is a time without a day", help: "Write the day, such as 3 Apr 2026." };
    match held(cell)? {
        Held::Nothing => Ok(None),
        Held::Day(day) if meaning.may_be_changed_round && day.day() != day.month() => Err(CHANGED_ROUND),
        Held::Day(day) => days::within_years(day).map(Some).ok_or(FAR_OFF),
        Held::Number(number) => {
            let day = days::day_of_serial(number, meaning.from_1904);
            day.or_else(|| day_of_eight_figures(number)).map(Some).ok_or(NO_DAY)
        }
        Held::Time => Err(NO_DATE),
        Held::Flag => Err(NO_DAY),
        // `Sold: no` says that the day has not come.
        Held::Text(text)
            if ["no", "n", "not sold", "not done"].iter().any(|no| text.eq_ignore_ascii_case(no)) =>
        {
            Ok(None)
        }
        Held::Text(text) => match days::readings(damage::without_point_nought(text)).under(meaning.order) {
            DayRead::Day(day) => Ok(Some(day)),
            DayRead::Undecided if meaning.order == ColumnOrder::Mixed => Err(ONE_OF_TWO),
            DayRead::Undecided => Err(DOUBTFUL),
            DayRead::Against => Err(AGAINST),
            DayRead::NoDay if days::is_without_year(text) => Err(NO_YEAR),
            DayRead::NoDay if days::is_on_another_weekday(text) => Err(OTHER_WEEKDAY),
            DayRead::NoDay => serial_in_text(text, meaning.from_1904).map(Some).ok_or(NO_DAY),
        },
    }
}

/// 20260403, which a workbook holds as a number.
fn day_of_eight_figures(number: f64) -> Option<Date> {
    (number.fract() == 0.0 && (1e7..1e8).contains(&number))
        .then(|| days::readings(&number_as_text(number)))
        .and_then(|readings| readings.day_first)
}

/// A serial day number in a text file, such as `46115` or `46115.5`.
fn serial_in_text(text: &str, from_1904: bool) -> Option<Date> {
    let (whole, fraction) = text.split_once('.').unwrap_or((text, "0"));
    let is_figures = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let serial = (whole.len() == 5 && is_figures(whole) && is_figures(fraction)).then(|| whole.parse().ok());
    serial.flatten().and_then(|serial| days::day_of_serial(serial, from_1904))
}

/// A plain number.
pub(super) fn number(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Number> {
    match measured(cell, meaning, NOT_A_NUMBER)? {
        None => Ok(None),
        Some((number, "")) => Ok(Some(number)),
        Some(_) => Err(NOT_A_NUMBER),
    }
}

const NOT_A_NUMBER: Unread =
    Unread { what: "is not a number", help: "Write figures only, such as 1234 or 1,234.5." };

/// A number with the letters behind it; the letters are empty where there are none. What is no number at all is
/// the fault given.
fn measured<'cell>(cell: Cell<'cell>, meaning: &Meaning, fault: Unread) -> CellRead<(Number, &'cell str)> {
    let text = match held(cell)? {
        Held::Nothing => return Ok(None),
        Held::Number(number) => {
            return Number::from_cell(number).map(|number| Some((number, ""))).ok_or(fault);
        }
        Held::Day(_) | Held::Time => return Err(DATE_FOR_A_NUMBER),
        Held::Flag => return Err(fault),
        Held::Text(text) => text,
    };
    let letters = text.find(|letter: char| letter.is_alphabetic()).unwrap_or(text.len());
    let (mut figures, mut unit) = text.split_at(letters);
    // A `k` by itself means thousands, so it stays with the figures: `12.5k`, `12.5k miles`.
    let behind_k = unit.strip_prefix(['k', 'K']).filter(|rest| rest.is_empty() || rest.starts_with(' '));
    if let Some(rest) = behind_k {
        (figures, unit) = (&text[..=letters], rest);
    }
    let readings = Number::readings(figures);
    readings.under(meaning.decimal).map(|number| Some((number, unit.trim()))).ok_or(fault)
}

/// An engine's size in cubic centimetres, to the nearest one: `125`, `124.7cc`. An electric one has none.
pub(super) fn engine_cc(cell: Cell<'_>, meaning: &Meaning) -> CellRead<u32> {
    const NOT_CC: Unread = Unread {
        what: "is not an engine size in cc",
        help: "Write cubic centimetres from 1 to 10,000, such as 125.",
    };
    if let Cell::Text(text) = cell
        && matches!(text.to_ascii_lowercase().as_str(), "electric" | "ev" | "elec")
    {
        return Ok(None);
    }
    let Some((number, unit)) = measured(cell, meaning, NOT_CC)? else { return Ok(None) };
    let is_cc = matches!(unit.to_ascii_lowercase().as_str(), "" | "cc" | "c.c." | "ccm" | "cm3" | "cm³");
    let cc = u32::try_from((number.thousandths() + 500) / 1000).ok();
    cc.filter(|cc| is_cc && (1..=10_000).contains(cc)).map(Some).ok_or(NOT_CC)
}

/// A cell whose figure is an estimate, without the word that says so.
fn without_estimate(cell: Cell<'_>) -> Cell<'_> {
    match cell {
        Cell::Text(text) => estimate::bare(text).map_or(cell, Cell::Text),
        _ => cell,
    }
}

/// A distance to the nearest tenth. The cell's own unit counts before the column's.
pub(super) fn distance(cell: Cell<'_>, meaning: &Meaning) -> CellRead<WrittenDistance> {
    let cell = without_estimate(cell);
    const NO_DISTANCE: Unread = Unread {
        what: "is not a distance",
        help: "Write the figure, with miles or km behind it where the column mixes them.",
    };
    const PRICE: Unread =
        Unread { what: "is a price", help: "Write the distance, and prices in a column of their own." };
    const NEGATIVE: Unread = Unread { what: "is below zero", help: "Write the figure that the clock shows." };
    const TOO_FAR: Unread =
        Unread { what: "is more than ten million miles", help: "Write the figure that the clock shows." };
    if matches!(cell, Cell::Text(text) if text.contains(['£', '$', '€'])) {
        return Err(PRICE);
    }
    let Some((number, unit)) = measured(cell, meaning, NO_DISTANCE)? else { return Ok(None) };
    let unit = match unit {
        "" => meaning.distance_unit,
        unit => Some(DistanceUnit::named(unit).ok_or(NO_DISTANCE)?),
    };
    let tenths = (number.thousandths() + 50).div_euclid(100);
    let written = WrittenDistance { tenths, unit };
    if tenths < 0 {
        return Err(NEGATIVE);
    }
    // In kilometres the figure may be higher; in an unknown unit miles bound it.
    if tenths > 1_000_000_000 || written.resolved(DistanceUnit::Miles) > Distance::FARTHEST {
        return Err(TOO_FAR);
    }
    Ok(Some(written))
}

/// The figure on a clock. A clock shows no thousandths, so that `1.234` is more likely 1,234 than 1.2: where nothing
/// else in the column tells, or its thousands are parted by commas, it is neither.
pub(super) fn clock(cell: Cell<'_>, meaning: &Meaning) -> CellRead<WrittenDistance> {
    const POINT_OR_THOUSANDS: Unread = Unread {
        what: "may be thousands parted by a point, or a figure with a fraction",
        help: "Write the figure that the clock shows, without a point.",
    };
    let cell = without_estimate(cell);
    if let Cell::Text(text) = cell
        && (!meaning.decimal_is_shown || meaning.thousands_by_comma)
        && !text.starts_with('0')
        && text.contains('.')
    {
        let figures = text.trim_end_matches(|letter: char| letter.is_alphabetic() || letter == ' ');
        let readings = Number::readings(figures);
        if readings.with_point.is_some() && readings.with_comma.is_some_and(|number| number.whole().is_some())
        {
            return Err(POINT_OR_THOUSANDS);
        }
    }
    distance(cell, meaning)
}

/// A speed to the nearest tenth.
pub(super) fn speed(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Speed> {
    /// No road machine is faster, in tenths of a mile or kilometre an hour.
    const FASTEST_TENTHS: i64 = 4_000;
    const NO_SPEED: Unread =
        Unread { what: "is not a speed", help: "Write the figure, with mph or km/h behind it." };
    const TOO_FAST: Unread =
        Unread { what: "is not a speed between 0 and 400", help: "Write the highest speed of the ride." };
    let Some((number, unit)) = measured(cell, meaning, NO_SPEED)? else { return Ok(None) };
    let unit = match unit {
        "" => meaning.speed_unit,
        unit => SpeedUnit::named(unit).ok_or(NO_SPEED)?,
    };
    let tenths = (number.thousandths() + 50).div_euclid(100);
    if !(0..=FASTEST_TENTHS).contains(&tenths) {
        return Err(TOO_FAST);
    }
    Ok(Some(Speed::of_tenths(tenths, unit)))
}

/// A volume of fuel or oil.
pub(super) fn volume(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Volume> {
    const NO_VOLUME: Unread =
        Unread { what: "is not a volume", help: "Write litres, or put the unit behind the figure." };
    const TOO_MUCH: Unread =
        Unread { what: "is not between 0 and 200 litres", help: "Write the volume in litres." };
    let Some((number, unit)) = measured(cell, meaning, NO_VOLUME)? else { return Ok(None) };
    let unit = match unit {
        "" => meaning.volume_unit,
        unit => VolumeUnit::named(unit).ok_or(NO_VOLUME)?,
    };
    let volume = Volume::of_thousandths(number.thousandths(), unit);
    if volume < Volume::of_millilitres(0) || volume > Volume::MOST_IN_A_FILL {
        return Err(TOO_MUCH);
    }
    Ok(Some(volume))
}

/// A span of calendar months: `6`, `6 months`, `2 years`.
pub(super) fn months(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Months> {
    const NO_MONTHS: Unread =
        Unread { what: "is not a count of months", help: "Write whole months from 0 to 1200, such as 12." };
    let count = span(cell, meaning, NO_MONTHS, |unit| match unit {
        "" | "m" | "mth" | "mths" | "mo" | "mos" | "month" | "months" => Some(1),
        "y" | "yr" | "yrs" | "year" | "years" => Some(12),
        _ => None,
    })?;
    Ok(count.map(Months))
}

/// A count of days: `14`, `14 days`, `2 weeks`.
pub(super) fn day_count(cell: Cell<'_>, meaning: &Meaning) -> CellRead<Days> {
    const NO_DAYS: Unread =
        Unread { what: "is not a count of days", help: "Write whole days from 0 to 1200, such as 14." };
    let count = span(cell, meaning, NO_DAYS, |unit| match unit {
        "" | "d" | "day" | "days" => Some(1),
        "w" | "wk" | "wks" | "week" | "weeks" => Some(7),
        _ => None,
    })?;
    Ok(count.map(Days))
}

/// A whole count whose unit is worth so many.
fn span(
    cell: Cell<'_>,
    meaning: &Meaning,
    fault: Unread,
    worth: impl FnOnce(&str) -> Option<i64>,
) -> CellRead<i64> {
    /// A hundred years of months; more is a slip of the keyboard.
    const LONGEST: i64 = 1_200;
    let Some((number, unit)) = measured(cell, meaning, fault)? else { return Ok(None) };
    let unit = unit.trim_end_matches('.').to_ascii_lowercase();
    let count = number.whole().zip(worth(&unit)).map(|(count, worth)| count.saturating_mul(worth));
    count.filter(|count| (0..=LONGEST).contains(count)).map(Some).ok_or(fault)
}

#[cfg(test)]
#[path = "cells_tests.rs"]
mod tests;
