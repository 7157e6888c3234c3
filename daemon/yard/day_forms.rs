//! Days as a program set to German, or a database, writes them, brought to a form that is read everywhere.

/// The names of months in German and the English ones; those that are written alike are left out.
const MONTHS: [(&str, &str); 14] = [
    ("januar", "January"),
    ("jänner", "January"),
    ("februar", "February"),
    ("märz", "March"),
    ("maerz", "March"),
    ("mär", "March"),
    ("mrz", "March"),
    ("mai", "May"),
    ("juni", "June"),
    ("juli", "July"),
    ("oktober", "October"),
    ("okt", "October"),
    ("dezember", "December"),
    ("dez", "December"),
];

/// The weekdays in German with their short forms, from Monday on.
const WEEKDAYS: [(&str, &str, &str); 7] = [
    ("montag", "mo", "Monday"),
    ("dienstag", "di", "Tuesday"),
    ("mittwoch", "mi", "Wednesday"),
    ("donnerstag", "do", "Thursday"),
    ("freitag", "fr", "Friday"),
    ("samstag", "sa", "Saturday"),
    ("sonntag", "so", "Sunday"),
];

/// The longest text that is looked at; a longer one is a note.
const LONGEST: usize = 48;

/// A day's text in its usual form: `Sa., 7. Februar 2026` as `Saturday., 7. February 2026`; `None` where it has that form
/// already, or is no day.
pub(super) fn usual(text: &str) -> Option<String> {
    let bytes = text.as_bytes();
    if bytes.len() > LONGEST || !bytes.iter().any(u8::is_ascii_digit) {
        return None;
    }
    if let Some(day) = day_before_time_of_points(text) {
        return Some(day.to_owned());
    }
    if !text.chars().any(char::is_alphabetic) {
        return None;
    }
    let (text, has_hour) = match text.len().checked_sub(3).and_then(|at| text.split_at_checked(at)) {
        Some((before, end)) if end.eq_ignore_ascii_case("uhr") => (before.trim_end(), true),
        _ => (text, false),
    };
    let mut written = String::with_capacity(text.len() + 8);
    let mut is_changed = has_hour;
    let mut rest = text;
    while let Some(next) = rest.chars().next() {
        let end =
            rest.find(|letter: char| letter.is_alphabetic() != next.is_alphabetic()).unwrap_or(rest.len());
        let (part, behind) = rest.split_at(end);
        let english = if next.is_alphabetic() { english(part, written.is_empty(), behind) } else { None };
        is_changed |= english.is_some();
        written.push_str(english.unwrap_or(part));
        rest = behind;
    }
    is_changed.then_some(written)
}

/// The English word for a German one. The short form of a weekday begins a text and has a sign behind it: `So` is a word.
fn english(word: &str, is_first: bool, behind: &str) -> Option<&'static str> {
    let word = word.to_lowercase();
    if let Some((_, month)) = MONTHS.iter().find(|(german, _)| *german == word) {
        return Some(month);
    }
    let is_short = is_first && behind.starts_with(['.', ',']);
    let weekday = WEEKDAYS.iter().find(|(long, short, _)| *long == word || (is_short && *short == word));
    weekday.filter(|_| is_first).map(|(_, _, english)| *english)
}

/// The day before a time that is parted by points and hangs on it by a hyphen, as databases write it:
/// `2026-02-07-14.32.11.123`.
fn day_before_time_of_points(text: &str) -> Option<&str> {
    let (day, time) = text.split_at_checked("2026-02-07".len())?;
    let time = time.strip_prefix('-')?;
    let parts: Vec<&str> = time.split('.').collect();
    let is_number = |part: &&str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit());
    let is_time = matches!(parts.len(), 3 | 4)
        && parts.iter().all(is_number)
        && parts[..3].iter().all(|part| part.len() == 2);
    (is_time && day.bytes().filter(|byte| *byte == b'-').count() == 2).then_some(day)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::super::days;

    #[test]
    fn a_day_as_a_german_program_or_a_database_writes_it_is_read() {
        // The forms are those of CLDR's German dates and of DB2's timestamps; from memory. 7 February 2026 is a Saturday.
        let seventh = Some(date(2026, 2, 7));
        for text in [
            "7. Februar 2026",
            "07. Feb. 2026",
            "Samstag, 7. Februar 2026",
            "Sa., 7. Feb. 2026",
            "2026-02-07-14.32.11.123",
            "2026-02-07-14.32.11",
        ] {
            let read = days::readings(text);
            assert_eq!((read.day_first, read.month_first), (seventh, seventh), "{text}");
        }
        // Which of day and month comes first, points do not tell.
        for text in ["Sa., 07.02.2026", "7.2.2026 14:32 Uhr", "07.02.2026, 14:32 Uhr"] {
            assert_eq!(days::readings(text).day_first, seventh, "{text}");
        }
        let cases = [("1. März 2026", (3, 1)), ("24. Dez. 2026", (12, 24)), ("2. Mai 2026", (5, 2))];
        for (text, (month, day)) in cases {
            assert_eq!(days::readings(text).day_first, Some(date(2026, month, day)), "{text}");
        }
    }

    #[test]
    fn what_is_not_certainly_a_day_is_none() {
        for text in [
            "So., 07.02.2026",
            "7. Februa 2026",
            "31. Februar 2026",
            "So 7 of 2026",
            "2026-02-07-14.32",
            "2026-02-07-1.2.3",
            "Uhr",
            "Mai 2026",
        ] {
            assert_eq!(days::readings(text), days::DayReadings::default(), "{text}");
        }
        assert!(days::is_on_another_weekday("So., 07.02.2026"));
    }
}
