//! Plain numbers as people write them in a sheet, exact to a thousandth.

/// A number in whole thousandths, so that what a sheet says is compared exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Number {
    thousandths: i64,
}

impl Number {
    /// So many thousandths.
    pub const fn of_thousandths(thousandths: i64) -> Number {
        Number { thousandths }
    }

    /// A cell's number, rounded to a thousandth; `None` when it is not finite or beyond 10^12.
    pub fn from_cell(value: f64) -> Option<Number> {
        (value.is_finite() && value.abs() < 1e12)
            .then(|| Number { thousandths: (value * 1000.0).round() as i64 })
    }

    /// The number in thousandths.
    pub const fn thousandths(self) -> i64 {
        self.thousandths
    }

    /// The number in tenths, when it has no finer part.
    pub const fn tenths(self) -> Option<i64> {
        if self.thousandths % 100 == 0 { Some(self.thousandths / 100) } else { None }
    }

    /// The number when it is whole.
    pub const fn whole(self) -> Option<i64> {
        if self.thousandths % 1000 == 0 { Some(self.thousandths / 1000) } else { None }
    }
}

/// Which sign parts a number's whole from its fraction; the other one, a blank or an apostrophe marks thousands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum DecimalMark {
    /// `1,234.5`, as in Britain.
    #[default]
    Point,
    /// `1.234,5`, as on the Continent.
    Comma,
}

/// Every number that a text may mean: `1,234` is 1234 with a decimal point, 1.234 with a decimal comma.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct NumberReadings {
    /// What it is when a point parts the fraction; `None` when it is no such number.
    pub with_point: Option<Number>,
    /// What it is when a comma parts the fraction; `None` when it is no such number.
    pub with_comma: Option<Number>,
}

impl NumberReadings {
    /// The reading under one mark; `None` when the text is no number under it.
    pub fn under(self, mark: DecimalMark) -> Option<Number> {
        match mark {
            DecimalMark::Point => self.with_point,
            DecimalMark::Comma => self.with_comma,
        }
    }

    /// The mark that this text by itself proves; `None` when it may be either or is no number.
    pub fn proves(self) -> Option<DecimalMark> {
        match (self.with_point, self.with_comma) {
            (Some(_), None) => Some(DecimalMark::Point),
            (None, Some(_)) => Some(DecimalMark::Comma),
            _ => None,
        }
    }
}

/// The longest text that can be a number; a longer one is a note.
const LONGEST_NUMBER: usize = 40;

/// The most digits before the fraction, so that a count of thousandths never overflows.
const MOST_WHOLE_DIGITS: usize = 12;

impl Number {
    /// Every number that a person's text may mean.
    ///
    /// Currency signs are dropped; `(5.00)` and `5-` are negative; a last `k` means thousands. Marks of thousands
    /// count only where they part groups of three, so that `12,34` is never 1234.
    pub fn readings(text: &str) -> NumberReadings {
        let Some((digits, negative, scale)) = undressed(text) else { return NumberReadings::default() };
        let (digits, part) = vulgar_fraction(digits);
        let read = |decimal: u8, thousands: u8| {
            let whole = match (digits, part) {
                ("", 1..) => 0,
                _ => counted_thousandths(digits, decimal, thousands)?,
            };
            if part > 0 && whole % 1000 != 0 {
                return None;
            }
            let magnitude = (whole + part).checked_mul(scale)?;
            Some(Number { thousandths: if negative { -magnitude } else { magnitude } })
        };
        NumberReadings { with_point: read(b'.', b','), with_comma: read(b',', b'.') }
    }
}

/// A text's digits and marks without sign, currency and `k`; whether it is negative; and what `k` multiplies by.
fn undressed(text: &str) -> Option<(&str, bool, i64)> {
    let mut rest = text.trim();
    if rest.is_empty() || rest.len() > LONGEST_NUMBER {
        return None;
    }
    let mut negative = false;
    if let Some(inner) = rest.strip_prefix('(').and_then(|inner| inner.strip_suffix(')')) {
        (rest, negative) = (inner.trim(), true);
    }
    let minus = ['-', '\u{2212}'];
    let currency = |letter: char| matches!(letter, '£' | '$' | '€') || letter.is_whitespace();
    if let Some(inner) = rest.strip_prefix(minus).or_else(|| rest.strip_suffix(minus)) {
        if negative {
            return None;
        }
        (rest, negative) = (inner, true);
    }
    rest = rest.trim_matches(currency);
    if !negative && let Some(inner) = rest.strip_prefix(minus) {
        (rest, negative) = (inner.trim_start(), true);
    }
    match rest.strip_suffix(['k', 'K']) {
        Some(inner) => Some((inner.trim_end(), negative, 1000)),
        None => Some((rest, negative, 1)),
    }
}

/// The digits before a fraction that is one sign, as in `5½`, and that fraction in thousandths.
fn vulgar_fraction(digits: &str) -> (&str, i64) {
    let fractions = [('½', 500), ('¼', 250), ('¾', 750)];
    let found =
        fractions.iter().find_map(|(sign, part)| Some((digits.strip_suffix(*sign)?.trim_end(), *part)));
    found.unwrap_or((digits, 0))
}

/// Digits with one kind of decimal mark and strict groups of three, as thousandths; finer parts are rounded.
fn counted_thousandths(text: &str, decimal: u8, thousands: u8) -> Option<i64> {
    let bytes = text.as_bytes();
    let (whole, fraction) = match bytes.iter().position(|byte| *byte == decimal) {
        Some(place) => (&text[..place], &text[place + 1..]),
        None => (text, ""),
    };
    let parted = bytes.contains(&decimal);
    if fraction.bytes().any(|byte| !byte.is_ascii_digit()) || (whole.is_empty() && fraction.is_empty()) {
        return None;
    }
    let whole = grouped(whole, thousands)?;
    if parted && fraction.is_empty() && whole == 0 {
        return None;
    }
    let mut thousandths = whole.checked_mul(1000)?;
    let mut worth = 100;
    for (place, digit) in fraction.bytes().enumerate().take(4) {
        let digit = i64::from(digit - b'0');
        thousandths += if place < 3 { digit * worth } else { i64::from(digit >= 5) };
        worth /= 10;
    }
    Some(thousandths)
}

/// Whole digits, either plain or in groups of three parted by one and the same sign.
fn grouped(text: &str, thousands: u8) -> Option<i64> {
    let (mut value, mut digits, mut since_mark) = (0_i64, 0, 0);
    let mut mark = None;
    for letter in text.chars() {
        if let Some(digit) = letter.to_digit(10) {
            value = value * 10 + i64::from(digit);
            digits += 1;
            since_mark += 1;
            if digits > MOST_WHOLE_DIGITS {
                return None;
            }
            continue;
        }
        let is_mark =
            letter == char::from(thousands) || matches!(letter, '\'' | '’') || letter.is_whitespace();
        let fits = if mark.is_none() { (1..=3).contains(&since_mark) } else { since_mark == 3 };
        if !is_mark || !fits || mark.is_some_and(|earlier| earlier != letter) {
            return None;
        }
        (mark, since_mark) = (Some(letter), 0);
    }
    (mark.is_none() || since_mark == 3).then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A text's two readings in thousandths.
    fn both(text: &str) -> (Option<i64>, Option<i64>) {
        let readings = Number::readings(text);
        (readings.with_point.map(Number::thousandths), readings.with_comma.map(Number::thousandths))
    }

    #[test]
    fn a_text_keeps_every_number_that_it_may_mean() {
        let cases = [
            ("1234", Some(1_234_000), Some(1_234_000)),
            ("1,234", Some(1_234_000), Some(1_234)),
            ("1.234", Some(1_234), Some(1_234_000)),
            ("1 234", Some(1_234_000), Some(1_234_000)),
            ("1\u{a0}234", Some(1_234_000), Some(1_234_000)),
            ("1'234", Some(1_234_000), Some(1_234_000)),
            ("1,234.5", Some(1_234_500), None),
            ("1.234,5", None, Some(1_234_500)),
            ("99,5", None, Some(99_500)),
            ("1.649,00", None, Some(1_649_000)),
            ("£1,649.00", Some(1_649_000), None),
            ("(5.00)", Some(-5_000), None),
            ("-£5.00", Some(-5_000), None),
            ("£-5.00", Some(-5_000), None),
            ("5-", Some(-5_000), Some(-5_000)),
            ("\u{2212}7", Some(-7_000), Some(-7_000)),
            ("12.5k", Some(12_500_000), None),
            ("12,345,678", Some(12_345_678_000), None),
            ("12.", Some(12_000), None),
            (".5", Some(500), None),
            ("0.0005", Some(1), None),
            ("1,2345", None, Some(1_235)),
        ];
        for (text, with_point, with_comma) in cases {
            assert_eq!(both(text), (with_point, with_comma), "{text}");
        }
    }

    #[test]
    fn a_text_that_only_looks_like_a_number_is_none() {
        for text in [
            "",
            " ",
            "-",
            ".",
            ",",
            "c. 1200",
            "1200ish",
            "1234*",
            "~1200",
            "12,34,56",
            "1 2345",
            "1,234 567",
            "--5",
            "(-5)",
            "1.2.3",
            "1e5",
            "1.23457E+16",
            "tbc",
            "k",
            "0044 7700",
            "1234567890123",
        ] {
            let readings = Number::readings(text);
            assert!(readings.with_point.is_none() && readings.with_comma.is_none(), "{text}: {readings:?}");
        }
    }

    #[test]
    fn a_text_proves_its_decimal_mark_only_where_it_has_one_reading() {
        assert_eq!(Number::readings("1,234.5").proves(), Some(DecimalMark::Point));
        assert_eq!(Number::readings("99,5").proves(), Some(DecimalMark::Comma));
        assert_eq!(Number::readings("1,234").proves(), None);
        assert_eq!(Number::readings("1234").proves(), None);
        assert_eq!(Number::readings("1,234").under(DecimalMark::Point), Number::from_cell(1234.0));
        assert_eq!(Number::readings("1,234").under(DecimalMark::Comma), Number::from_cell(1.234));
        assert_eq!(Number::readings("99,5").under(DecimalMark::Point), None);
    }
}
