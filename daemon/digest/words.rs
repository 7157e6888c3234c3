//! The letter's words: strings from outside made safe to print, and days as people say them.

use jiff::ToSpan;
use jiff::civil::Date;

/// The longest name of a machine, customer, sheet or rule, in characters: two lines of a telephone; longer ones are
/// cut.
pub(super) const NAME: usize = 80;
/// The longest words of a finding, in characters: as long as a rule can make a text, so that none is cut by itself. What
/// is still open on a machine, and what to do with it, mostly stand at their end.
pub(super) const TEXT: usize = 4_096;
/// The longest sentence of a complaint, in characters: what is longer nobody reads at half past seven.
pub(super) const SENTENCE: usize = 300;
/// The longest value of a cell, in characters: enough to find it in the sheet.
pub(super) const VALUE: usize = 80;

/// A string from outside on one line: runs of blanks, line breaks and control characters become one blank, marks
/// that turn or hide writing are dropped, and what is longer than `longest` characters is cut with `…`.
pub fn one_line(text: &str, longest: usize) -> String {
    let mut line = String::new();
    let mut length = 0;
    let mut blank_before = false;
    for letter in text.chars().filter(|letter| !is_hidden(*letter)) {
        if letter.is_whitespace() || letter.is_control() {
            blank_before = length > 0;
            continue;
        }
        let room_needed = usize::from(blank_before) + 1;
        if length + room_needed > longest {
            return cut(&line, longest);
        }
        if blank_before {
            line.push(' ');
        }
        line.push(letter);
        length += room_needed;
        blank_before = false;
    }
    line
}

/// Missing facts in words, as they stand after `not known:`. A rule's short word for one may be that of the thing that is
/// missing itself.
pub(super) fn facts<'a>(missing: impl IntoIterator<Item = &'a str>) -> String {
    let in_words = |fact: &'a str| match fact {
        "handover" => "the day of the handover",
        "torque re-check" => "whether there was a torque re-check",
        "first ride" => "the day of the first ride",
        other => other,
    };
    one_line(&missing.into_iter().map(in_words).collect::<Vec<_>>().join(", "), SENTENCE)
}

/// The line with `…` after it, at most `longest` characters in all.
fn cut(line: &str, longest: usize) -> String {
    let kept: String = line.chars().take(longest.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// Whether a character turns the direction of writing or cannot be seen, so that a cell could pass for another.
fn is_hidden(letter: char) -> bool {
    matches!(letter,
        '\u{ad}' | '\u{61c}' | '\u{180e}' | '\u{200b}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fff9}'..='\u{fffb}' | '\u{e0000}'..='\u{e007f}')
}

/// A day in a letter of another day: `Fri 6 Mar`, with the year where it is not this one.
pub(super) fn day(day: Date, today: Date) -> String {
    let pattern = if day.year() == today.year() { "%a %-d %b" } else { "%a %-d %b %Y" };
    day.strftime(pattern).to_string()
}

/// By when somebody must have acted: `By tomorrow, Tue 3 Mar`.
pub(super) fn by(due: Date, today: Date) -> String {
    let named = day(due, today);
    let tomorrow = today.checked_add(1.day()).ok();
    if due < today {
        format!("Was to be done by {named}")
    } else if due == today {
        format!("By today, {named}")
    } else if Some(due) == tomorrow {
        format!("By tomorrow, {named}")
    } else {
        format!("By {named}")
    }
}

/// The sentence with its first letter in upper case.
pub(super) fn capitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The sentence with a full stop, unless it ends like one.
pub(super) fn stopped(sentence: &str) -> String {
    if sentence.is_empty() || sentence.ends_with(['.', '!', '?', '…']) {
        sentence.to_owned()
    } else {
        format!("{sentence}.")
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_string_from_outside_is_one_harmless_line() {
        let cases = [
            ("Larkfield 125", "Larkfield 125"),
            ("  two\r\n\r\nlines\tand\0no  ", "two lines and no"),
            ("a\u{2028}b\u{85}c\u{7f}d\u{1b}[31me", "a b c d [31me"),
            ("exe.\u{202e}fdp\u{202c} \u{2066}x\u{2069}", "exe.fdp x"),
            ("zero\u{200b}width\u{feff}", "zerowidth"),
            ("Zoë 🏍\u{fe0f} Łukasz", "Zoë 🏍\u{fe0f} Łukasz"),
            ("123456789 123", "123456789 123"),
            ("123456789 123456789 123", "123456789 12345678…"),
            ("123456789 123456789\u{200b} ", "123456789 123456789"),
            ("123456789 12345678 3", "123456789 12345678…"),
            ("123456789 123456789 ", "123456789 123456789"),
            ("\u{202e}\r\n", ""),
        ];
        for (given, expected) in cases {
            assert_eq!(one_line(given, 19), expected, "{given:?}");
        }
    }

    #[test]
    fn days_are_said_as_people_say_them() {
        let today = date(2026, 3, 2);
        let cases = [
            (date(2026, 2, 24), "Was to be done by Tue 24 Feb"),
            (date(2026, 3, 2), "By today, Mon 2 Mar"),
            (date(2026, 3, 3), "By tomorrow, Tue 3 Mar"),
            (date(2026, 3, 6), "By Fri 6 Mar"),
            (date(2027, 1, 4), "By Mon 4 Jan 2027"),
        ];
        for (due, expected) in cases {
            assert_eq!(by(due, today), expected);
        }
        assert_eq!(by(Date::MAX, Date::MAX), "By today, Fri 31 Dec");
    }

    #[test]
    fn a_sentence_begins_and_ends_like_one() {
        let cases = [
            ("the day is not a day", "The day is not a day."),
            ("Écru", "Écru."),
            ("Why?", "Why?"),
            ("", ""),
        ];
        for (given, expected) in cases {
            assert_eq!(stopped(&capitalised(given)), expected);
        }
    }
}
