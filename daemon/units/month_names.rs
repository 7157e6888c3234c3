//! The names of the months: in full, and shortened to their first three letters.

use jiff::civil::Date;

const NAMES: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

/// The shortened name of a day's month.
pub(super) fn short_month(day: Date) -> &'static str {
    &NAMES[usize::from(day.month().unsigned_abs()) - 1][..3]
}

/// The month that a name in full, its first three letters or `sept` mean.
pub fn month_named(word: &str) -> Option<i32> {
    match word.len() {
        3 => month_begun(word),
        4 if word.eq_ignore_ascii_case("sept") => Some(9),
        _ => month_in_full(word),
    }
}

/// The month that a name in full means.
pub fn month_in_full(word: &str) -> Option<i32> {
    month_of(|name| name.eq_ignore_ascii_case(word))
}

/// The month whose first three letters a word begins with, whatever stands behind them.
pub fn month_begun(word: &str) -> Option<i32> {
    let begun = word.get(..3)?;
    month_of(|name| name[..3].eq_ignore_ascii_case(begun))
}

fn month_of(is_it: impl Fn(&str) -> bool) -> Option<i32> {
    (1..).zip(NAMES).find(|(_, name)| is_it(name)).map(|(number, _)| number)
}

#[cfg(test)]
mod tests {
    use super::{month_begun, month_in_full, month_named};

    #[test]
    fn a_month_is_known_in_full_shortened_or_by_its_beginning_as_each_user_asks() {
        for (word, named, in_full, begun) in [
            ("september", Some(9), Some(9), Some(9)),
            ("MAY", Some(5), Some(5), Some(5)),
            ("Sept", Some(9), None, Some(9)),
            ("dec", Some(12), None, Some(12)),
            ("Decem", None, None, Some(12)),
            ("de", None, None, None),
            ("märz", None, None, None),
            ("", None, None, None),
        ] {
            assert_eq!(
                (month_named(word), month_in_full(word), month_begun(word)),
                (named, in_full, begun),
                "{word}"
            );
        }
    }
}
