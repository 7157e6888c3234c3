//! What a number's format shows and its value does not hold: leading zeros, and a unit behind the figures.
//!
//! The codes are those of ECMA-376 part 1, section 18.8.31 (number formats).

use calamine::Style;

use super::Cell;
use super::value;

/// What a format adds to a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Shown {
    /// Zeros in front, to so many figures: a stock number that reads 00123 is stored as 123.
    Zeros(usize),
    /// Words behind the figures: a clock that reads 1234 km is stored as 1234.
    Unit(String),
}

impl Shown {
    /// What a style's format adds; `None` for most.
    pub(super) fn of(style: &Style) -> Option<Shown> {
        let code = &style.number_format.as_ref()?.format_code;
        if code.len() > 1 && code.bytes().all(|byte| byte == b'0') {
            return Some(Shown::Zeros(code.len()));
        }
        unit_behind_figures(code).map(Shown::Unit)
    }

    /// The number as the format shows it.
    pub(super) fn cell<'a>(&self, number: f64, words: &'a mut String) -> Cell<'a> {
        match self {
            Shown::Zeros(figures) => value::with_zeros(number, *figures, words),
            Shown::Unit(unit) => Cell::Text(value::worded(format_args!("{number} {unit}"), words)),
        }
    }
}

/// The words behind the figures of a format such as `#,##0" km"` or `0.0\ \m\i`.
fn unit_behind_figures(code: &str) -> Option<String> {
    // The first section is for numbers from zero on.
    let section = code.split(';').next()?;
    let behind = section.trim_start_matches(['#', '0', '?', ',', '.']);
    let figures = &section[..section.len() - behind.len()];
    let behind = if figures.is_empty() { section.strip_prefix("General")? } else { behind };
    // A comma without a digit behind it shows thousands of the value.
    if figures.ends_with(',') || figures.contains(",.") {
        return None;
    }
    let mut words = String::new();
    let (mut characters, mut is_quoted) = (behind.chars(), false);
    while let Some(character) = characters.next() {
        match character {
            '"' => is_quoted = !is_quoted,
            _ if is_quoted => words.push(character),
            '\\' => words.extend(characters.next()),
            ' ' => words.push(' '),
            _ => return None,
        }
    }
    let words = words.trim();
    // A mere `k` would make thousands of the figure.
    let is_unit = words.len() > 1 && words.chars().all(|letter| letter.is_alphabetic() || letter == '/');
    is_unit.then(|| words.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_words_behind_the_figures_are_a_unit() {
        for (code, unit) in [
            ("#,##0\" km\"", Some("km")),
            ("0\" miles\"", Some("miles")),
            ("0.0 \"mi\";-0.0 \"mi\"", Some("mi")),
            ("0\\ \\k\\m", Some("km")),
            ("General\" km/h\"", Some("km/h")),
            ("General", None),
            ("#,##0", None),
            ("00000", None),
            ("0.0,\"km\"", None),
            ("0,\" km\"", None),
            ("0\"k\"", None),
            ("0%", None),
            ("\"£\"#,##0.00", None),
            ("dd/mm/yyyy", None),
            ("0\"-\"00", None),
            ("0\" no. 7\"", None),
            ("[Red]0\" km\"", None),
            ("", None),
        ] {
            assert_eq!(unit_behind_figures(code).as_deref(), unit, "{code}");
        }
    }
}
