//! The values that a calendar has: times of day, days of the week, lists of dates, and how long something is kept.

use std::collections::BTreeSet;

use jiff::civil::{Date, Time, Weekday};
use toml::de::DeValue;

use super::text::Fault;
use super::values::{Value, choice, chosen, entries, line, list, words};
use super::{BankHolidays, ShopDays};
use crate::units::Days;

const WEEKDAYS: [(&str, Weekday); 7] = [
    ("Monday", Weekday::Monday),
    ("Tuesday", Weekday::Tuesday),
    ("Wednesday", Weekday::Wednesday),
    ("Thursday", Weekday::Thursday),
    ("Friday", Weekday::Friday),
    ("Saturday", Weekday::Saturday),
    ("Sunday", Weekday::Sunday),
];

const BANK_HOLIDAYS: [(&str, BankHolidays); 4] = [
    ("England and Wales", BankHolidays::EnglandAndWales),
    ("Scotland", BankHolidays::Scotland),
    ("Northern Ireland", BankHolidays::NorthernIreland),
    ("none", BankHolidays::None),
];

/// The longest stretch of days that one entry of a list stands for: a year.
const STRETCH_MOST: Days = Days(366);

/// A time of day to the minute, such as `"07:30"`.
pub(super) fn time_of_day(value: &Value<'_>) -> Result<Time, Fault> {
    let fault = || {
        let help = "Write hours and minutes from \"00:00\" to \"23:59\", such as \"07:30\".";
        Fault::new(value.span(), "this is no time of day", help)
    };
    let text = match value.get_ref() {
        DeValue::Datetime(moment) if moment.date.is_none() && moment.offset.is_none() => {
            let text = moment.to_string();
            text.strip_suffix(":00").filter(|minutes| minutes.len() == 5).map_or(text.clone(), str::to_owned)
        }
        DeValue::String(_) => line(value)?,
        _ => return Err(fault()),
    };
    let (hours, minutes) = text.split_once(':').ok_or_else(fault)?;
    let number = |digits: &str, lengths: std::ops::RangeInclusive<usize>| {
        let is_number = lengths.contains(&digits.len()) && digits.bytes().all(|digit| digit.is_ascii_digit());
        is_number.then(|| digits.parse::<i8>().ok()).flatten().ok_or_else(fault)
    };
    Time::new(number(hours, 1..=2)?, number(minutes, 2..=2)?, 0, 0).map_err(|_| fault())
}

/// A time of day as TOML.
pub(super) fn written_time_of_day(time: Time) -> String {
    time.strftime("\"%H:%M\"").to_string()
}

/// The days of a week, Monday first. One that cannot be read may be any day, so that all seven count: a letter too
/// many does no harm, a morning without one may.
pub(super) fn weekdays(value: &Value<'_>, faults: &mut Vec<Fault>) -> Option<Vec<Weekday>> {
    let known = faults.len();
    let mut days = list(value, weekday, faults);
    if days.as_ref().is_some_and(Vec::is_empty) && faults.len() == known {
        let help = "Name the days of the week on which the shop is open: [\"Monday\", \"Tuesday\"].";
        faults.push(Fault::new(value.span(), "no day is named, so no letter would ever go out", help));
        return None;
    }
    if let Some(days) = &mut days {
        if faults[known..].iter().any(|fault| fault.what == NO_WEEKDAY) {
            // No morning is missed for a slip: the usual days count with those that could be read.
            days.extend(ShopDays::default().open);
        }
        days.sort_by_key(|day| day.to_monday_zero_offset());
        days.dedup();
    }
    days
}

const NO_WEEKDAY: &str = "this is no day of the week";

/// A day of the week by its English name, or by its first three letters or more.
fn weekday(value: &Value<'_>) -> Result<Weekday, Fault> {
    /// Two letters would leave Tuesday or Thursday, Saturday or Sunday open to a slip.
    const LETTERS_LEAST: usize = 3;
    let text = line(value).unwrap_or_default().to_lowercase();
    let found = WEEKDAYS
        .iter()
        .find(|(name, _)| text.len() >= LETTERS_LEAST && name.to_lowercase().starts_with(&text));
    found.map(|(_, day)| *day).ok_or_else(|| {
        let help = "Write the day's English name, or its first three letters: \"Monday\" or \"Mon\".";
        Fault::new(value.span(), NO_WEEKDAY, help)
    })
}

/// The days of a week as TOML.
pub(super) fn written_weekdays(days: &[Weekday]) -> String {
    let names: Vec<String> = days.iter().map(|day| chosen(&WEEKDAYS, day)).collect();
    format!("[{}]", names.join(", "))
}

/// Whose bank holidays: `"Scotland"`.
pub(super) fn bank_holidays(value: &Value<'_>) -> Result<BankHolidays, Fault> {
    choice(value, &BANK_HOLIDAYS)
}

/// Whose bank holidays, as TOML.
pub(super) fn written_bank_holidays(whose: BankHolidays) -> String {
    chosen(&BANK_HOLIDAYS, &whose)
}

/// A list of dates and stretches of dates, as the days in order, each once.
pub(super) fn dates(value: &Value<'_>, faults: &mut Vec<Fault>) -> Option<Vec<Date>> {
    let stretches = entries(value, stretch, faults)?;
    let days: BTreeSet<Date> = stretches.into_iter().flat_map(|(_, days)| days).collect();
    Some(days.into_iter().collect())
}

/// One date, or the days from one to another: `"2026-12-24"`, `"2026-08-03 to 2026-08-14"`.
fn stretch(value: &Value<'_>) -> Result<Vec<Date>, Fault> {
    let fault = |what: &str| {
        let help =
            "Write the year first, as \"2026-12-24\"; several days on end as \"2026-12-24 to 2026-12-31\".";
        Fault::new(value.span(), what, help)
    };
    let text = match value.get_ref() {
        DeValue::Datetime(moment) => moment.to_string(),
        _ => line(value)?,
    };
    let (first, last) = text.split_once(" to ").unwrap_or((&text, &text));
    let (Some(first), Some(last)) = (date(first), date(last)) else { return Err(fault("this is no date")) };
    if last < first {
        return Err(fault("this stretch ends before it begins"));
    }
    if Days::between(first, last) >= STRETCH_MOST {
        return Err(fault("this stretch is longer than a year"));
    }
    Ok((0..=Days::between(first, last).0).filter_map(|days| Days(days).after(first)).collect())
}

/// A date in the one form that nobody can mistake (ISO 8601, calendar date, extended).
fn date(text: &str) -> Option<Date> {
    let text = text.trim();
    let is_date = text.len() == "2026-12-24".len()
        && text.bytes().enumerate().all(|(place, byte)| match place {
            4 | 7 => byte == b'-',
            _ => byte.is_ascii_digit(),
        });
    is_date.then(|| text.parse().ok()).flatten()
}

/// Dates in order as TOML, days on end as one stretch.
pub(super) fn written_dates(dates: &[Date]) -> String {
    let on_end = |left: &Date, right: &Date| Days(1).after(*left) == Some(*right);
    let written =
        dates.chunk_by(on_end).flat_map(|stretch| stretch.chunks(STRETCH_MOST.0 as usize)).map(|stretch| {
            match stretch {
                [first, .., last] => format!("\"{first} to {last}\""),
                [one] => format!("\"{one}\""),
                [] => String::new(),
            }
        });
    format!("[{}]", written.collect::<Vec<_>>().join(", "))
}

/// The days of a year, for how long something is kept; whether a leap day lies in it does not matter there.
const YEAR: u32 = 365;

/// How long something is kept, from a month to thirty years, in days: `"3 years"` or `"400 days"`.
pub(super) fn days_kept(value: &Value<'_>) -> Result<u32, Fault> {
    const LEAST: u32 = 30;
    const MOST: u32 = 30 * YEAR;
    let fault = || {
        let help = "Write a number of years or days from \"30 days\" to \"30 years\", such as \"3 years\".";
        Fault::new(value.span(), "this is no length of time that can be used here", help)
    };
    let text = words(value)?;
    let (number, unit) = text.split_once(' ').ok_or_else(fault)?;
    let number: u32 = number.parse().map_err(|_| fault())?;
    let days = match unit.trim() {
        "day" | "days" => Some(number),
        "year" | "years" => number.checked_mul(YEAR),
        _ => None,
    };
    days.filter(|days| (LEAST..=MOST).contains(days)).ok_or_else(fault)
}

/// How long something is kept, as TOML, in years where they come out whole.
pub(super) fn written_days_kept(days: u32) -> String {
    let (number, unit) = if days.is_multiple_of(YEAR) { (days / YEAR, "year") } else { (days, "day") };
    format!("\"{number} {unit}{}\"", if number == 1 { "" } else { "s" })
}
