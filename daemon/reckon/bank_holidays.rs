//! The bank holidays of the United Kingdom's parts, worked out for any year.

use std::collections::BTreeMap;

use jiff::civil::{Date, Weekday, date};

use crate::settings::BankHolidays::{self, EnglandAndWales, NorthernIreland, Scotland};
use crate::units::Days;

/// A holiday on the same day of every year, with its name and that of the weekday kept for it where it falls on a
/// weekend.
struct Fixed {
    month: i8,
    day: i8,
    name: &'static str,
    substitute: &'static str,
    kept_in: &'static [BankHolidays],
}

const ALL: &[BankHolidays] = &[EnglandAndWales, Scotland, NorthernIreland];

/// In the order of the year, in which their substitutes are found.
///
/// Sources: Banking and Financial Dealings Act 1971, schedule 1; St Andrew's Day Bank Holiday (Scotland) Act 2007,
/// section 1; New Year's Day and Christmas Day by proclamation and common law.
const FIXED: [Fixed; 7] = [
    Fixed {
        month: 1,
        day: 1,
        name: "New Year's Day",
        substitute: "New Year's Day (substitute day)",
        kept_in: ALL,
    },
    Fixed {
        month: 1,
        day: 2,
        name: "2 January",
        substitute: "2 January (substitute day)",
        kept_in: &[Scotland],
    },
    Fixed {
        month: 3,
        day: 17,
        name: "St Patrick's Day",
        substitute: "St Patrick's Day (substitute day)",
        kept_in: &[NorthernIreland],
    },
    Fixed {
        month: 7,
        day: 12,
        name: "Battle of the Boyne",
        substitute: "Battle of the Boyne (substitute day)",
        kept_in: &[NorthernIreland],
    },
    Fixed {
        month: 11,
        day: 30,
        name: "St Andrew's Day",
        substitute: "St Andrew's Day (substitute day)",
        kept_in: &[Scotland],
    },
    Fixed {
        month: 12,
        day: 25,
        name: "Christmas Day",
        substitute: "Christmas Day (substitute day)",
        kept_in: ALL,
    },
    Fixed { month: 12, day: 26, name: "Boxing Day", substitute: "Boxing Day (substitute day)", kept_in: ALL },
];

/// A day that a royal proclamation added, or put in another's place.
struct Proclaimed {
    on: Date,
    name: &'static str,
    instead_of: Option<Date>,
    kept_in: &'static [BankHolidays],
}

/// Every proclaimed exception from the rule since 2008; checked against an independent library, see `tests/golden`.
const PROCLAIMED: [Proclaimed; 9] = [
    added(date(2011, 4, 29), "Royal wedding", ALL),
    moved(date(2012, 5, 28), date(2012, 6, 4), SPRING),
    added(date(2012, 6, 5), "Diamond Jubilee", ALL),
    moved(date(2020, 5, 4), date(2020, 5, 8), "Early May bank holiday (VE day)"),
    moved(date(2022, 5, 30), date(2022, 6, 2), SPRING),
    added(date(2022, 6, 3), "Platinum Jubilee", ALL),
    added(date(2022, 9, 19), "State funeral of the Queen", ALL),
    added(date(2023, 5, 8), "Coronation of the King", ALL),
    added(date(2026, 6, 15), "World Cup", &[Scotland]),
];

const SPRING: &str = "Spring bank holiday";

const fn added(on: Date, name: &'static str, kept_in: &'static [BankHolidays]) -> Proclaimed {
    Proclaimed { on, name, instead_of: None, kept_in }
}

const fn moved(from: Date, on: Date, name: &'static str) -> Proclaimed {
    Proclaimed { on, name, instead_of: Some(from), kept_in: ALL }
}

/// The bank holidays of a year, each with its name. One that falls on a weekend stands there, and its substitute on
/// the next weekday that is free: a small shop is closed on both.
///
/// By the statute's rule with the exceptions that were proclaimed from 2008 on. The rule goes on into any later
/// year; a day that is proclaimed after this was built is not known, and belongs into the settings' `closed_on`.
pub fn bank_holidays(whose: BankHolidays, year: i16) -> BTreeMap<Date, &'static str> {
    let mut holidays: BTreeMap<Date, &'static str> = moving(whose, year).into_iter().collect();
    let fixed = FIXED.iter().filter(|fixed| fixed.kept_in.contains(&whose));
    let fixed: Vec<(Date, &Fixed)> =
        fixed.filter_map(|fixed| Some((Date::new(year, fixed.month, fixed.day).ok()?, fixed))).collect();
    holidays.extend(fixed.iter().map(|(day, fixed)| (*day, fixed.name)));
    // Only now, since a substitute gives way to every holiday that stands on its own weekday.
    for (day, fixed) in fixed.iter().filter(|(day, _)| is_weekend(*day)) {
        let free = |day: &Date| !is_weekend(*day) && !holidays.contains_key(day);
        let substitute = (1..=DAYS_TO_SUBSTITUTE).filter_map(|days| Days(days).after(*day)).find(free);
        holidays.extend(substitute.map(|day| (day, fixed.substitute)));
    }
    let of_year = PROCLAIMED.iter().filter(|proclaimed| proclaimed.on.year() == year);
    for proclaimed in of_year.filter(|proclaimed| proclaimed.kept_in.contains(&whose)) {
        if let Some(usual) = proclaimed.instead_of {
            holidays.remove(&usual);
        }
        holidays.insert(proclaimed.on, proclaimed.name);
    }
    holidays
}

/// More days than any substitute lies behind its holiday: a weekend, and another holiday or two after it.
const DAYS_TO_SUBSTITUTE: i64 = 7;

fn is_weekend(day: Date) -> bool {
    matches!(day.weekday(), Weekday::Saturday | Weekday::Sunday)
}

/// The holidays that move with Easter or with the days of the week, none of which can fall on a weekend.
fn moving(whose: BankHolidays, year: i16) -> Vec<(Date, &'static str)> {
    /// Counts from the month's end.
    const LAST: i8 = -1;
    let monday = |month: i8, nth: i8| {
        Date::new(year, month, 1).and_then(|first| first.nth_weekday_of_month(nth, Weekday::Monday)).ok()
    };
    let from_easter = |days: i64| Days(days).after(easter(year)?);
    let (easter_monday, summer) = match whose {
        BankHolidays::None => return Vec::new(),
        Scotland => (None, monday(8, 1)),
        EnglandAndWales | NorthernIreland => (from_easter(1), monday(8, LAST)),
    };
    let days = [
        (from_easter(-2), "Good Friday"),
        (easter_monday, "Easter Monday"),
        (monday(5, 1), "Early May bank holiday"),
        (monday(5, LAST), SPRING),
        (summer, "Summer bank holiday"),
    ];
    days.into_iter().filter_map(|(day, name)| Some((day?, name))).collect()
}

/// Easter Sunday by the Gregorian computus; `None` outside the calendar.
///
/// Source: the anonymous algorithm in Meeus, Astronomical Algorithms, chapter 8, with his letters.
pub(super) fn easter(year: i16) -> Option<Date> {
    let year_number = i32::from(year);
    let a = year_number.rem_euclid(19);
    let (b, c) = (year_number.div_euclid(100), year_number.rem_euclid(100));
    let (d, e) = (b.div_euclid(4), b.rem_euclid(4));
    let f = (b + 8).div_euclid(25);
    let g = (b - f + 1).div_euclid(3);
    let h = (19 * a + b - d - g + 15).rem_euclid(30);
    let (i, k) = (c / 4, c % 4);
    let l = (32 + 2 * e + 2 * i - h - k).rem_euclid(7);
    let m = (a + 11 * h + 22 * l) / 451;
    let n = h + l - 7 * m + 114;
    let (month, day) = (n / 31, n % 31 + 1);
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}
