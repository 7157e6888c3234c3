//! Days as people write them: every day that a text may mean, and which of day and month a column puts first.

use jiff::civil::{Date, Time, Weekday};

use super::day_forms;
use crate::settings::DateOrder;
use crate::sheets;
use crate::units::month_named;

/// The longest text that is tried as a day; a longer one is a note.
const LONGEST_DAY: usize = 48;

/// Every day that a text may mean: `03/04/2026` is 3 April with the day first, 4 March with the month first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct DayReadings {
    /// The day meant when the day comes first; `None` when there is none such.
    pub(super) day_first: Option<Date>,
    /// The day meant when the month comes first; `None` when there is none such.
    pub(super) month_first: Option<Date>,
}

impl DayReadings {
    /// A text that can mean one day only, whatever comes first.
    fn sure(day: Option<Date>) -> DayReadings {
        DayReadings { day_first: day, month_first: day }
    }

    /// The order that this text by itself proves; `None` when either will do or it is no day.
    pub(super) fn proves(self) -> Option<DateOrder> {
        match (self.day_first, self.month_first) {
            (Some(_), None) => Some(DateOrder::DayFirst),
            (None, Some(_)) => Some(DateOrder::MonthFirst),
            _ => None,
        }
    }

    /// The day meant when this one comes first; `None` when there is none such.
    pub(super) fn in_order(self, order: DateOrder) -> Option<Date> {
        match order {
            DateOrder::DayFirst => self.day_first,
            DateOrder::MonthFirst => self.month_first,
        }
    }

    /// Whether the two orders make different days of this text.
    pub(super) fn is_undecided(self) -> bool {
        self.day_first.is_some() && self.month_first.is_some() && self.day_first != self.month_first
    }

    /// The day meant, or that it is none, or that the column leaves it open which of two it is.
    pub(super) fn under(self, order: ColumnOrder) -> DayRead {
        let day = match order {
            ColumnOrder::Settled(DateOrder::DayFirst) => self.day_first.or(self.month_first),
            ColumnOrder::Settled(DateOrder::MonthFirst) => self.month_first.or(self.day_first),
            ColumnOrder::Expected(DateOrder::DayFirst) => self.day_first,
            ColumnOrder::Expected(DateOrder::MonthFirst) => self.month_first,
            ColumnOrder::Doubtful(order) if self.proves().is_some_and(|proven| proven != order) => {
                return DayRead::Against;
            }
            ColumnOrder::Doubtful(_) | ColumnOrder::Mixed if self.is_undecided() => {
                return DayRead::Undecided;
            }
            ColumnOrder::Doubtful(_) | ColumnOrder::Mixed => self.day_first.or(self.month_first),
        };
        day.map_or(DayRead::NoDay, DayRead::Day)
    }
}

/// Which of day and month a column's dates of figures put first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ColumnOrder {
    /// One order holds for the whole column.
    Settled(DateOrder),
    /// One order is expected, and a date that proves the other one is a slip of the keyboard.
    Expected(DateOrder),
    /// One order is expected for want of evidence, and one date proves the other: a slip of the keyboard, or the only
    /// evidence that there is. Until a person says which, neither that date nor one that may be either is taken.
    Doubtful(DateOrder),
    /// The column holds both kinds, so that a date that may be either is not taken.
    Mixed,
}

/// What a text turned out to be under its column's order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DayRead {
    /// One day.
    Day(Date),
    /// One of two days, and nothing tells which.
    Undecided,
    /// A day in the order only for which nothing else speaks.
    Against,
    /// No day at all.
    NoDay,
}

/// What a column's cells say of the order of day and month.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct OrderVotes {
    day_first: usize,
    month_first: usize,
}

impl OrderVotes {
    /// Counts one cell's text.
    pub(super) fn count(&mut self, readings: DayReadings) {
        match readings.proves() {
            Some(DateOrder::DayFirst) => self.day_first += 1,
            Some(DateOrder::MonthFirst) => self.month_first += 1,
            None => {}
        }
    }

    /// How many dates prove that the other order holds.
    pub(super) fn against(self, order: DateOrder) -> usize {
        match order {
            DateOrder::DayFirst => self.month_first,
            DateOrder::MonthFirst => self.day_first,
        }
    }

    /// What the column settles by itself; `None` when every date in it may be either.
    pub(super) fn settled(self) -> Option<ColumnOrder> {
        match (self.day_first, self.month_first) {
            (0, 0) => None,
            (_, 0) => Some(ColumnOrder::Settled(DateOrder::DayFirst)),
            (0, _) => Some(ColumnOrder::Settled(DateOrder::MonthFirst)),
            _ => Some(ColumnOrder::Mixed),
        }
    }
}

/// The day of a serial day number, whose workbook counts from 1900 or 1904; `None` outside 1950 to 2100.
pub(super) fn day_of_serial(serial: f64, from_1904: bool) -> Option<Date> {
    sheets::day_of_serial(serial.floor(), from_1904).map(|day| day.date())
}

/// The day itself when it lies in the years that count.
pub(super) fn within_years(day: Date) -> Option<Date> {
    sheets::YEARS.contains(&day.year()).then_some(day)
}

/// One run of a text: figures with how many there are, or a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Token<'text> {
    Figures { value: i32, count: usize },
    Word(&'text str),
}

/// Every day that a text may mean; a time of day after it is ignored. A weekday before it must be that of the day.
pub(super) fn readings(text: &str) -> DayReadings {
    let text = text.trim();
    let usual = day_forms::usual(text);
    let text = usual.as_deref().unwrap_or(text);
    let all = readings_on_any_weekday(text);
    let Some(weekday) = weekday_before(text) else { return all };
    let is_on_it = |day: &Date| day.weekday() == weekday;
    DayReadings { day_first: all.day_first.filter(is_on_it), month_first: all.month_first.filter(is_on_it) }
}

/// Whether a text is a day but for the weekday before it, on which that day does not fall.
pub(super) fn is_on_another_weekday(text: &str) -> bool {
    let usual = day_forms::usual(text.trim());
    let text = usual.as_deref().unwrap_or(text);
    readings(text) == DayReadings::default() && readings_on_any_weekday(text) != DayReadings::default()
}

fn readings_on_any_weekday(text: &str) -> DayReadings {
    let text = text.trim();
    if text.len() > LONGEST_DAY || !text.bytes().any(|byte| byte.is_ascii_digit()) {
        return DayReadings::default();
    }
    // `03/04/2026 at 9:15`, or the time below the day in the same cell.
    let parted = ['@', '\n'].iter().find_map(|sign| text.split_once(*sign)).or(text.split_once(" at "));
    if let Some((day, time)) = parted {
        let (day, time) = (day.trim_end(), time.trim_start());
        return if is_time_of_day("", time) && !time.is_empty() {
            readings_on_any_weekday(day)
        } else {
            DayReadings::default()
        };
    }
    let rest = without_weekday(text);
    let Some((first, gap, rest)) = token_and_gap(rest) else { return DayReadings::default() };
    if let Token::Figures { value, count: 8 } = first {
        let day = is_time_of_day(gap, rest).then(|| day_of(value / 10_000, value / 100 % 100, value % 100));
        return DayReadings::sure(day.flatten());
    }
    let Some((second, second_gap, rest)) = token_and_gap(rest) else { return DayReadings::default() };
    let Some((third, last_gap, rest)) = token_and_gap(rest) else { return DayReadings::default() };
    if !is_time_of_day(last_gap, rest) {
        return DayReadings::default();
    }
    let (gap, second_gap) = (gap.trim(), second_gap.trim());
    match (first, second, third) {
        (Token::Figures { .. }, Token::Figures { .. }, Token::Figures { .. })
            if gap != second_gap || !matches!(gap, "/" | "-" | "\u{2011}" | "–" | "." | "") =>
        {
            DayReadings::default()
        }
        (first, second, third) => joined(first, second, third),
    }
}

/// Whether a text is a day and a month without a year, as a diary has it: `10/11`, `Mon 10 Nov`. A month and a year, such as
/// `12/26` or `Dec 26`, is none.
pub(super) fn is_without_year(text: &str) -> bool {
    let text = text.trim();
    let text = without_weekday(text);
    let begins_with_day = text.starts_with(|sign: char| sign.is_ascii_digit());
    // A leap year has every day.
    let in_a_year = |sign: char| readings(&format!("{text}{sign}2024")).day_first.is_some();
    text.len() <= LONGEST_DAY
        && begins_with_day
        && readings(text) == DayReadings::default()
        && ['/', '-', ' '].into_iter().any(in_a_year)
}

/// The days that three tokens in a row may mean.
fn joined(first: Token, second: Token, third: Token) -> DayReadings {
    use Token::{Figures, Word};
    match (first, second, third) {
        (
            Figures { value: year, count: 4 },
            Figures { value: month, .. },
            Figures { value: day, count: 1 | 2 },
        ) => DayReadings::sure(day_of(year, month, day)),
        (Figures { value: year, count: 4 }, Word(month), Figures { value: day, count: 1 | 2 }) => {
            DayReadings::sure(month_named(month).and_then(|month| day_of(year, month, day)))
        }
        (
            Figures { value: one, count: 1 | 2 },
            Figures { value: other, count: 1 | 2 },
            Figures { value, count },
        ) => {
            let Some(year) = full_year(value, count) else { return DayReadings::default() };
            DayReadings { day_first: day_of(year, other, one), month_first: day_of(year, one, other) }
        }
        (Figures { value: day, count: 1 | 2 }, Word(month), Figures { value, count })
        | (Word(month), Figures { value: day, count: 1 | 2 }, Figures { value, count }) => {
            let year = full_year(value, count);
            let day = year.zip(month_named(month)).and_then(|(year, month)| day_of(year, month, day));
            DayReadings::sure(day)
        }
        _ => DayReadings::default(),
    }
}

/// A day of the calendar in the years that count.
fn day_of(year: i32, month: i32, day: i32) -> Option<Date> {
    let (year, month, day) = (year.try_into().ok()?, month.try_into().ok()?, day.try_into().ok()?);
    Date::new(year, month, day).ok().and_then(within_years)
}

/// A year of four figures as it stands; one of two figures lies in 1951 to 2050.
fn full_year(value: i32, count: usize) -> Option<i32> {
    match count {
        4 => Some(value),
        2 if value <= 50 => Some(2000 + value),
        2 => Some(1900 + value),
        _ => None,
    }
}

/// The text behind a weekday's name and the comma that may follow it.
fn without_weekday(text: &str) -> &str {
    match weekday_before(text) {
        Some(_) => text
            .trim_start_matches(|letter: char| letter.is_ascii_alphabetic())
            .trim_start_matches([',', '.', ' ']),
        None => text,
    }
}

/// The weekday whose name, or its first three letters or more, a text begins with.
fn weekday_before(text: &str) -> Option<Weekday> {
    const WEEKDAYS: [&str; 7] =
        ["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"];
    let end = text.find(|letter: char| !letter.is_ascii_alphabetic()).unwrap_or(text.len());
    let word = &text[..end];
    let is_it = |day: &str| day.len() >= word.len() && day[..word.len()].eq_ignore_ascii_case(word);
    let place = WEEKDAYS.iter().position(|day| word.len() >= 3 && is_it(day))?;
    Weekday::from_monday_zero_offset(i8::try_from(place).ok()?).ok()
}

/// The next run of figures or letters, the signs behind it (without the `st` of `1st`), and the rest.
fn token_and_gap(text: &str) -> Option<(Token<'_>, &str, &str)> {
    let first = text.bytes().next()?;
    let end_of =
        |is_part: fn(&u8) -> bool| text.bytes().position(|byte| !is_part(&byte)).unwrap_or(text.len());
    let (token, mut end) = if first.is_ascii_digit() {
        let end = end_of(u8::is_ascii_digit);
        let value = (end <= 8).then(|| text[..end].parse().ok()).flatten()?;
        (Token::Figures { value, count: end }, end)
    } else if first.is_ascii_alphabetic() {
        let end = end_of(u8::is_ascii_alphabetic);
        (Token::Word(&text[..end]), end)
    } else {
        return None;
    };
    let rest = &text[end..];
    let is_ordinal = ["st", "nd", "rd", "th"]
        .iter()
        .any(|ending| rest.get(..2).is_some_and(|next| next.eq_ignore_ascii_case(ending)))
        && !rest[2..].starts_with(|letter: char| letter.is_ascii_alphabetic());
    if matches!(token, Token::Figures { count: 1 | 2, .. }) && is_ordinal {
        end += 2;
    }
    let rest = &text[end..];
    let gap = rest.find(|letter: char| letter.is_ascii_alphanumeric()).unwrap_or(rest.len());
    let is_gap = rest[..gap]
        .chars()
        .all(|sign| matches!(sign, ' ' | '\u{a0}' | '/' | '-' | '\u{2011}' | '–' | '.' | ',' | '\''));
    // `of` as in `3rd of April` is part of the gap.
    let behind = rest[gap..].strip_prefix("of ").unwrap_or(&rest[gap..]);
    is_gap.then_some((token, &rest[..gap], behind))
}

/// Whether nothing but a time of day stands behind a date: `09:15`, `T14:30:15Z`, `T1430`, `2:30 pm`, `9.15`, `9am`.
fn is_time_of_day(gap: &str, rest: &str) -> bool {
    if rest.is_empty() {
        return gap.trim().is_empty() || gap.trim() == ".";
    }
    let behind_t = rest.strip_prefix(['T', 't']);
    let rest = without_zone(behind_t.unwrap_or(rest));
    let half = ["am", "pm", "a.m.", "p.m."].iter().find_map(|half| without_end(rest, half));
    let time = half.unwrap_or(rest).trim_end();
    let figures = time.bytes().take_while(u8::is_ascii_digit).count();
    let is_parted_by_point = time[figures..].starts_with('.') && matches!(gap.trim(), "" | ",");
    let is_all_of_times = |part: &str| {
        part.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b':' | b'.' | b' ' | b'+' | b'-'))
    };
    match &time[figures..] {
        // The short form of ISO 8601 has no colons.
        "" if behind_t.is_some() => matches!(figures, 4 | 6),
        "" => half.is_some() && (1..=2).contains(&figures),
        behind => {
            (1..=2).contains(&figures)
                && (behind.starts_with(':') || is_parted_by_point)
                && is_all_of_times(behind)
        }
    }
}

/// The time of day that stands in a text, as `9:15`, `16:00:30` or `2:30 pm`; midnight is what programs write where they
/// know none.
pub(super) fn time_of_day(text: &str) -> Option<Time> {
    let (before, behind) = text.split_once(':')?;
    let hour_begins = before.trim_end_matches(|letter: char| letter.is_ascii_digit()).len();
    let mut parts = behind.split(|letter: char| !letter.is_ascii_digit());
    let (minute, second) = (parts.next()?, parts.next().filter(|_| behind.get(2..3) == Some(":")));
    let hour: i8 = before[hour_begins..].parse().ok()?;
    let half = behind.to_ascii_lowercase().replace('.', "");
    let hour = match (half.contains("pm"), half.contains("am"), hour) {
        (true, _, 1..=11) => hour + 12,
        (_, true, 12) => 0,
        _ => hour,
    };
    let second = second.map_or(Some(0), |second| second.parse().ok())?;
    let time = Time::new(hour, minute.parse().ok()?, second, 0).ok()?;
    (minute.len() == 2 && time != Time::midnight()).then_some(time)
}

/// A time without the name of its zone: the day stands as written, whatever the zone.
fn without_zone(time: &str) -> &str {
    const ZONES: [&str; 4] = ["z", "gmt", "utc", "bst"];
    ZONES.iter().find_map(|zone| without_end(time, zone)).unwrap_or(time).trim_end()
}

/// A text without its last word or letter, in whatever case; `None` where it ends otherwise.
fn without_end<'text>(text: &'text str, end: &str) -> Option<&'text str> {
    let at = text.len().checked_sub(end.len())?;
    text.get(at..).filter(|last| last.eq_ignore_ascii_case(end)).map(|_| &text[..at])
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_text_keeps_every_day_that_it_may_mean() {
        let third = Some(date(2026, 4, 3));
        let cases = [
            ("03/04/2026", third, Some(date(2026, 3, 4))),
            ("3/4/26", third, Some(date(2026, 3, 4))),
            ("03.04.2026 09:15", third, Some(date(2026, 3, 4))),
            ("03-04-2026", third, Some(date(2026, 3, 4))),
            ("3 4 2026", third, Some(date(2026, 3, 4))),
            ("13/04/2026", Some(date(2026, 4, 13)), None),
            ("04/13/2026", None, Some(date(2026, 4, 13))),
            ("04/04/2026", Some(date(2026, 4, 4)), Some(date(2026, 4, 4))),
            ("3-Apr-26", third, third),
            ("3Apr2026", third, third),
            ("3rd April 2026", third, third),
            ("3rd of April 2026", third, third),
            ("3 April 26", third, third),
            ("April 3, 2026", third, third),
            ("Apr 3rd 2026", third, third),
            ("Fri 3 Apr 2026", third, third),
            ("Friday, 3 April 2026", third, third),
            ("2026-04-03", third, third),
            ("2026/04/03", third, third),
            ("2026-04-03T14:30:15", third, third),
            ("2026-04-03T14:30:15Z", third, third),
            ("2026-04-03 14:30:15.000", third, third),
            ("2026-Apr-03", third, third),
            ("20260403", third, third),
            ("03/04/2026 02:30 PM", third, Some(date(2026, 3, 4))),
            ("3/4/26 9am", third, Some(date(2026, 3, 4))),
            ("03/04/2026 9.15", third, Some(date(2026, 3, 4))),
            ("03/04/2026, 9.15 p.m.", third, Some(date(2026, 3, 4))),
            ("03/04/2026 @ 09:15", third, Some(date(2026, 3, 4))),
            ("03/04/2026 at 9:15", third, Some(date(2026, 3, 4))),
            ("03/04/2026\n09:15", third, Some(date(2026, 3, 4))),
            ("03/04/2026 09:15 BST", third, Some(date(2026, 3, 4))),
            ("03\u{2011}04\u{2011}2026", third, Some(date(2026, 3, 4))),
            ("03–04–2026", third, Some(date(2026, 3, 4))),
            ("03 / 04 / 2026", third, Some(date(2026, 3, 4))),
            ("2026-04-03T14:30:15+01:00", third, third),
            ("2026-04-03 14:30:00 UTC", third, third),
            ("20260403T1430", third, third),
            ("20260403T143015Z", third, third),
            ("3 Apr '26", third, third),
            ("3. April 2026", third, third),
            ("Thurs 2nd Apr 2026", Some(date(2026, 4, 2)), Some(date(2026, 4, 2))),
            ("1 Sept 2026", Some(date(2026, 9, 1)), Some(date(2026, 9, 1))),
            ("1/1/50", Some(date(2050, 1, 1)), Some(date(2050, 1, 1))),
            ("1/1/51", Some(date(1951, 1, 1)), Some(date(1951, 1, 1))),
            ("29/02/2024", Some(date(2024, 2, 29)), None),
        ];
        for (text, day_first, month_first) in cases {
            assert_eq!(readings(text), DayReadings { day_first, month_first }, "{text}");
        }
    }

    #[test]
    fn a_text_that_names_no_whole_day_is_none() {
        for text in [
            "",
            "Apr-26",
            "3/4",
            "3 Apr",
            "31/02/2026",
            "29/02/2026",
            "13/13/2026",
            "tbc",
            "n/a",
            "-",
            "46115",
            "2026",
            "12.5",
            "03/04-2026",
            "3/4/026",
            "3/4/12026",
            "01/01/1949",
            "01/01/2101",
            "14:30",
            "03/04/2026 approx",
            "3 Apx 2026",
            "M 3 2026",
            "ABC 3 2026",
            "1.2.3.2026",
            "20261301",
            "03/04/2026 and 5",
            "03/04/2026 9",
            "03/04/2026 or 10",
            "03/04/2026 at the show",
            "03/04/2026 @",
            "20260403T14",
            "03042026",
            "2026-W14-5",
            "2026-093",
            "03/04/2026 - 05/04/2026",
            "3/4 May 2026",
            "Apr 2026",
            "3 Ma 2026",
            "3 Aprilish 2026",
            "é 3 2026",
            "3/é/2026",
        ] {
            assert_eq!(readings(text), DayReadings::default(), "{text}");
        }
    }

    #[test]
    fn a_serial_number_is_a_day_under_its_own_count() {
        assert_eq!(day_of_serial(46115.0, false), Some(date(2026, 4, 3)));
        assert_eq!(day_of_serial(46115.75, false), Some(date(2026, 4, 3)));
        assert_eq!(day_of_serial(44653.0, true), Some(date(2026, 4, 3)));
        for none in [0.0, -1.0, 0.604, 60.0, 2026.0, 3_000_000.0, f64::NAN, f64::INFINITY] {
            assert_eq!(day_of_serial(none, false), None, "{none}");
        }
    }

    #[test]
    fn one_figure_above_twelve_settles_a_column_and_two_kinds_leave_it_open() {
        let settled = |texts: &[&str]| {
            let mut votes = OrderVotes::default();
            texts.iter().for_each(|text| votes.count(readings(text)));
            votes.settled()
        };
        assert_eq!(settled(&["03/04/2026", "2026-04-13"]), None);
        assert_eq!(settled(&["03/04/2026", "13/04/2026"]), Some(ColumnOrder::Settled(DateOrder::DayFirst)));
        assert_eq!(settled(&["03/04/2026", "04/13/2026"]), Some(ColumnOrder::Settled(DateOrder::MonthFirst)));
        assert_eq!(settled(&["13/04/2026", "04/13/2026"]), Some(ColumnOrder::Mixed));
        assert_eq!(readings("03/04/2026").under(ColumnOrder::Mixed), DayRead::Undecided);
        assert_eq!(readings("13/04/2026").under(ColumnOrder::Mixed), DayRead::Day(date(2026, 4, 13)));
        assert_eq!(readings("tbc").under(ColumnOrder::Mixed), DayRead::NoDay);
    }
}
