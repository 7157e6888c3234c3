//! Spans of the calendar: days are counted, months follow the calendar, and the two never mix.

use std::fmt;

use jiff::SignedDuration;
use jiff::civil::Date;

use super::month_names::short_month;
use super::written::write_count;

/// A count of days.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Days(pub i64);

/// A count of calendar months, each as long as the calendar makes it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Months(pub i64);

impl Days {
    /// The days from one day to a later one; negative when it is the earlier.
    pub fn between(from: Date, to: Date) -> Days {
        Days((to - from).get_days().into())
    }

    /// The day so many days after another, or `None` past the end of the calendar.
    pub fn after(self, day: Date) -> Option<Date> {
        /// The seconds of a day of the calendar, which has no clock to be changed.
        const SECONDS: i64 = 24 * 60 * 60;
        day.checked_add(SignedDuration::from_secs(self.0.checked_mul(SECONDS)?)).ok()
    }

    /// The day so many days before another, or `None` past the end of the calendar.
    pub fn before(self, day: Date) -> Option<Date> {
        Days(self.0.checked_neg()?).after(day)
    }
}

/// The corresponding day so many months after a base day, or that month's last day where there is none.
///
/// Always count from the base day: 31 January and two months is 31 March, although 31 January and one month
/// is 28 February. Source: Dodds v Walker \[1981\] 1 WLR 1027 (House of Lords). `None` past the calendar's end.
pub fn months_after(base: Date, months: Months) -> Option<Date> {
    let span = jiff::Span::new().try_months(months.0).ok()?;
    base.checked_add(span).ok()
}

/// The corresponding day so many months before a base day, or that month's last day where there is none.
pub fn months_before(base: Date, months: Months) -> Option<Date> {
    months_after(base, Months(months.0.checked_neg()?))
}

/// A day as a British reader writes it: `3 Nov 2026`.
pub fn shown_day(day: Date) -> String {
    /// The longest is `30 Nov 2026`.
    const USUAL: usize = 11;
    let mut text = String::with_capacity(USUAL);
    write_day(day, &mut text);
    text
}

/// Adds a day, written in the same way, to a text.
pub fn write_day(day: Date, text: &mut String) {
    write_count(day.day().unsigned_abs().into(), text);
    text.extend([" ", short_month(day), " "]);
    match day.year() {
        year @ 1_000.. => write_count(year.unsigned_abs().into(), text),
        year => text.push_str(&format!("{year:04}")),
    }
}

impl fmt::Display for Days {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{} {}", self.0, if self.0 == 1 { "day" } else { "days" })
    }
}

impl fmt::Display for Months {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{} {}", self.0, if self.0 == 1 { "month" } else { "months" })
    }
}

#[cfg(test)]
mod tests {
    use super::{Days, shown_day};
    use jiff::civil::{Date, date};

    #[test]
    fn a_day_is_written_as_a_person_writes_it() {
        assert_eq!(shown_day(date(2026, 11, 3)), "3 Nov 2026");
        assert_eq!(shown_day(date(2026, 1, 30)), "30 Jan 2026");
        assert_eq!(shown_day(date(826, 11, 3)), "3 Nov 0826");
    }

    #[test]
    fn days_are_counted_over_leap_days_and_not_beyond_the_calendar() {
        assert_eq!(Days(1).after(date(2028, 2, 28)), Some(date(2028, 2, 29)));
        assert_eq!(Days(366).after(date(2028, 1, 1)), Some(date(2029, 1, 1)));
        assert_eq!(Days(60).before(date(2027, 3, 1)), Some(date(2026, 12, 31)));
        assert_eq!(Days(0).after(date(2026, 3, 2)), Some(date(2026, 3, 2)));
        for days in [1, i64::MAX, i64::MAX / 86_400] {
            assert_eq!(Days(days).after(Date::MAX), None, "{days}");
            assert_eq!(Days(days).before(Date::MIN), None, "{days}");
        }
        assert_eq!(Days(i64::MIN).before(date(2026, 3, 2)), None);
    }
}
