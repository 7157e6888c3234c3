//! Numbers as people write them and a rule does not: with a comma, or as a text with its unit.

use super::outline::Outline;
use super::quantity::UNITS;
use super::sort_of_value::Sort;
use super::source::{Slip, Source};

/// Finds the numbers with a unit in which a comma stands, whether for a decimal point or between thousands.
pub(super) fn with_commas(source: &Source, is_code: impl Fn(usize) -> bool, outline: &mut Outline) {
    let letters = &source.letters;
    let is_figure = |at: usize| letters.get(at).is_some_and(char::is_ascii_digit) && is_code(at);
    let mut at = 0;
    while at < letters.len() {
        let follows_word = at > 0 && (letters[at - 1].is_alphanumeric() || "_.".contains(letters[at - 1]));
        if !is_figure(at) || follows_word {
            at += 1;
            continue;
        }
        let start = at;
        let mut commas = Vec::new();
        while is_figure(at) || (letters.get(at) == Some(&',') && is_figure(at + 1)) {
            if letters[at] == ',' {
                commas.push(at);
            }
            at += 1;
        }
        let number: String = letters[start..at].iter().collect();
        if let (true, Some((decimals, unit))) = (commas.is_empty(), decimals_and_unit(source, at))
            && parts_thousands(&decimals, unit)
        {
            let joined = format!("{number}{}", decimals.trim_start_matches('.'));
            outline.slips.push(
                Slip::new(
                    start,
                    "a point stands between the thousands of this number",
                    format!("leave the point out: `{}`", written(&joined, unit)),
                )
                .marking(number.chars().count() + decimals.chars().count()),
            );
            continue;
        }
        if let (false, Some((decimals, unit))) = (commas.is_empty(), decimals_and_unit(source, at)) {
            outline.slips.push(
                Slip::new(start, "a comma stands in this number", without_comma(&number, &decimals, unit))
                    .marking(number.chars().count()),
            );
            outline.read_as.extend(commas.into_iter().map(|at| (at, "_".to_owned())));
            if letters.get(at) == Some(&' ') {
                outline.read_as.insert(at, ".".to_owned());
            }
        }
    }
}

/// Finds the numbers that the language reads as another than the one that is seen: `0x10`, `1e3`, `10_00`.
pub(super) fn oddly_written(source: &Source, is_code: impl Fn(usize) -> bool, slips: &mut Vec<Slip>) {
    let letters = &source.letters;
    let mut at = 0;
    while at < letters.len() {
        let follows_word = at > 0 && (letters[at - 1].is_alphanumeric() || "_.".contains(letters[at - 1]));
        if !letters[at].is_ascii_digit() || !is_code(at) || follows_word {
            at += 1;
            continue;
        }
        let number = source.word_at(at);
        let length = number.chars().count();
        let figures: String = number.chars().filter(char::is_ascii_digit).collect();
        if is_of_another_base(&number) {
            let what = format!("`{number}` is not written in plain figures");
            let help = "write it as people count, such as `500`".to_owned();
            slips.push(Slip::new(at, what, help).marking(length));
        } else if number.chars().all(|letter| letter.is_ascii_digit() || letter == '_')
            && !parts_each_three(&number)
        {
            let help = if figures.len() > 3 {
                let parted = with_thousands(&figures);
                format!("leave it out: `{figures}`, or write it before each three figures: `{parted}`")
            } else {
                format!("leave it out: `{figures}`")
            };
            let what = format!("the `_` in `{number}` does not part thousands");
            slips.push(Slip::new(at, what, help).marking(length));
        }
        at += length;
    }
}

/// Whether a number is written to another base than ten, or with its power of ten.
fn is_of_another_base(number: &str) -> bool {
    let lower = number.to_lowercase();
    let based = ["0x", "0o", "0b"].iter().any(|base| lower.starts_with(base) && lower.len() > base.len());
    let is_figures = |text: &str| !text.is_empty() && text.chars().all(|letter| letter.is_ascii_digit());
    based || lower.split_once('e').is_some_and(|(figures, power)| is_figures(figures) && is_figures(power))
}

/// Whether each `_` of a number has three figures behind it, and one to three before the first.
fn parts_each_three(number: &str) -> bool {
    let (first, rest) = number.split_once('_').map_or((number, None), |(first, rest)| (first, Some(rest)));
    rest.is_none_or(|rest| (1..=3).contains(&first.len()) && rest.split('_').all(|group| group.len() == 3))
}

/// Figures with a `_` before each three of them, from the right.
fn with_thousands(figures: &str) -> String {
    let mut parted = String::new();
    for (place, figure) in figures.chars().enumerate() {
        if place > 0 && (figures.len() - place).is_multiple_of(3) {
            parted.push('_');
        }
        parted.push(figure);
    }
    parted
}

/// Whether decimals can only be three figures of a larger number: nothing but litres is counted in thousandths.
fn parts_thousands(decimals: &str, unit: &str) -> bool {
    decimals.len() == ".000".len() && !unit.starts_with("litre")
}

/// What stands behind a number: its decimals with their point, if there are any, and its unit.
fn decimals_and_unit(source: &Source, from: usize) -> Option<(String, &'static str)> {
    let rest = source.letters.get(from..)?;
    if rest.first() == Some(&' ') {
        // The dot before the unit is missing as well.
        let word = source.word_at(from + 1);
        return UNITS.iter().find(|(unit, _)| *unit == word).map(|(unit, _)| (String::new(), *unit));
    }
    let figures = rest.iter().skip(1).take_while(|letter| letter.is_ascii_digit()).count();
    let length = if figures == 0 { 0 } else { figures + 1 };
    if rest.first() != Some(&'.') || rest.get(length) != Some(&'.') {
        return None;
    }
    let word = source.word_at(from + length + 1);
    let unit = UNITS.iter().map(|(unit, _)| *unit).find(|unit| *unit == word)?;
    Some((rest[..length].iter().collect(), unit))
}

/// A number with commas, as it should be written: they stand for a point, or between thousands.
fn without_comma(number: &str, decimals: &str, unit: &str) -> String {
    let thousands = number.split(',').skip(1).all(|group| group.len() == 3);
    let (whole, after_last) = number.rsplit_once(',').unwrap_or((number, ""));
    let counted_whole =
        UNITS.iter().any(|(known, sort)| *known == unit && matches!(sort, Sort::Days | Sort::Months));
    if thousands || !decimals.is_empty() {
        let (joined, parted) = (number.replace(',', ""), number.replace(',', "_"));
        format!("leave the comma out: `{joined}{decimals}.{unit}`, or `{parted}{decimals}.{unit}`")
    } else if counted_whole {
        format!("write a whole number: `{}`", written(&whole.replace(',', ""), unit))
    } else {
        format!("write a point: `{}.{after_last}.{unit}`", whole.replace(',', ""))
    }
}

/// A number with a unit as a rule writes it: `1.day`, `14.days`.
pub(super) fn written(number: &str, unit: &str) -> String {
    let one = unit.strip_suffix('s').unwrap_or(unit);
    // Only these have a name for many; `km` and `mph` are the same for one.
    let many = matches!(one, "mile" | "day" | "week" | "month" | "year" | "litre");
    if many && number != "1" { format!("{number}.{one}s") } else { format!("{number}.{one}") }
}

/// A number that is written in words, up to ninety-nine: `forty`.
pub(super) fn of_words(words: &str) -> Option<u32> {
    const UP_TO_TWENTY: [&str; 20] = [
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
        "twenty",
    ];
    const TENS: [&str; 7] = ["thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];
    let words = words.to_lowercase();
    let place = |list: &[&str], word: &str| list.iter().position(|known| *known == word);
    let single = |word: &str| {
        place(&UP_TO_TWENTY, word).map(|at| at + 1).or_else(|| place(&TENS, word).map(|at| (at + 3) * 10))
    };
    let number = match words.split_once('_') {
        Some((tens, ones)) => single(tens)? + single(ones).filter(|ones| *ones < 10)?,
        None => single(&words)?,
    };
    u32::try_from(number).ok()
}

/// A text that is a number with its unit, as it should be written, and what it then is: `"14 days"` is `14.days`.
pub(super) fn in_quotes(text: &str) -> Option<(String, Sort)> {
    let text = text.trim();
    let figures = text.chars().take_while(|letter| letter.is_ascii_digit() || "_,".contains(*letter)).count();
    let (number, unit) = text.split_at(figures);
    let unit = unit.trim_start_matches(|letter: char| letter == '.' || letter.is_whitespace()).to_lowercase();
    let (unit, sort) = UNITS.iter().find(|(known, _)| *known == unit)?;
    let number = number.replace([',', '_'], "");
    (!number.is_empty()).then(|| (format!("{number}.{unit}"), *sort))
}
