//! Spans of the calendar: days are counted, months follow the calendar, and the two never mix.

use std::fmt;

use jiff::civil::Date;

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
        let span = jiff::Span::new().try_days(self.0).ok()?;
        day.checked_add(span).ok()
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
    /// The months, as they are shortened.
    const MONTHS: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    // By hand, and not by a pattern that is read anew each time: a round writes thousands of days.
    let month = MONTHS[usize::from(day.month().unsigned_abs()) - 1];
    format!("{} {month} {:04}", day.day(), day.year())
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
    use super::shown_day;

    #[test]
    fn a_day_is_written_as_a_person_writes_it() {
        assert_eq!(shown_day(jiff::civil::date(2026, 11, 3)), "3 Nov 2026");
    }
}
