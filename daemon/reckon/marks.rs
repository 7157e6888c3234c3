//! The styles of United Kingdom registration marks, and the days on which a mark can first have been given.

use jiff::civil::Date;

use crate::units::{Days, Months, months_after};
use crate::yard::Mark;

/// The style of a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Style {
    /// Two letters, two digits, three letters: since 1 September 2001.
    Current,
    /// A letter of the year before digits and three letters: 1983 to 2001.
    Prefix,
    /// Three letters, digits and a letter of the year: 1963 to 1983.
    Suffix,
    /// A machine whose age or identity is not known.
    Q,
    /// Northern Ireland: letters with an I or Z, and digits; says nothing of age.
    NorthernIreland,
    /// Before February 1963: letters and digits in either order.
    Dateless,
}

/// The letters of years before August 1983 with the month they began in.
const SUFFIX_YEARS: [(u8, i16, i8); 21] = [
    (b'A', 1963, 2),
    (b'B', 1964, 1),
    (b'C', 1965, 1),
    (b'D', 1966, 1),
    (b'E', 1967, 1),
    (b'F', 1967, 8),
    (b'G', 1968, 8),
    (b'H', 1969, 8),
    (b'J', 1970, 8),
    (b'K', 1971, 8),
    (b'L', 1972, 8),
    (b'M', 1973, 8),
    (b'N', 1974, 8),
    (b'P', 1975, 8),
    (b'R', 1976, 8),
    (b'S', 1977, 8),
    (b'T', 1978, 8),
    (b'V', 1979, 8),
    (b'W', 1980, 8),
    (b'X', 1981, 8),
    (b'Y', 1982, 8),
];

/// The letters of years from August 1983 on with the month they began in.
const PREFIX_YEARS: [(u8, i16, i8); 21] = [
    (b'A', 1983, 8),
    (b'B', 1984, 8),
    (b'C', 1985, 8),
    (b'D', 1986, 8),
    (b'E', 1987, 8),
    (b'F', 1988, 8),
    (b'G', 1989, 8),
    (b'H', 1990, 8),
    (b'J', 1991, 8),
    (b'K', 1992, 8),
    (b'L', 1993, 8),
    (b'M', 1994, 8),
    (b'N', 1995, 8),
    (b'P', 1996, 8),
    (b'R', 1997, 8),
    (b'S', 1998, 8),
    (b'T', 1999, 3),
    (b'V', 1999, 9),
    (b'W', 2000, 3),
    (b'X', 2000, 9),
    (b'Y', 2001, 3),
];

/// The month in which marks of today's style took over from the letters of years.
const CURRENT_FROM: (i16, i8) = (2001, 9);

/// The style of a mark; `None` when it has none of the shapes (a foreign or trade mark, or a slip).
pub(super) fn style(mark: &Mark) -> Option<Style> {
    let text = mark.as_str().as_bytes();
    let (front, rest) = text.split_at(run(text, u8::is_ascii_alphabetic));
    let (digits, back) = rest.split_at(run(rest, u8::is_ascii_digit));
    if !back.iter().all(u8::is_ascii_uppercase) || !front.iter().all(u8::is_ascii_uppercase) {
        return None;
    }
    let number_up_to = |most: usize| (1..=most).contains(&digits.len()) && digits[0] != b'0';
    match (front.len(), digits.len(), back.len()) {
        (2, 2, 3) if all(front, in_current) && is_age(digits) && all(back, |at| at != b'I' && at != b'Q') => {
            Some(Style::Current)
        }
        (1, 1..=3, 3) if number_up_to(3) && all(back, in_current) => match front[0] {
            b'Q' => Some(Style::Q),
            letter => year(&PREFIX_YEARS, letter).map(|_| Style::Prefix),
        },
        (3, 1..=3, 1) if number_up_to(3) && all(front, in_current) => {
            year(&SUFFIX_YEARS, back[0]).map(|_| Style::Suffix)
        }
        (2..=3, 1..=4, 0) if number_up_to(4) && is_northern_irish(front) => Some(Style::NorthernIreland),
        (letters @ 1..=3, 1..=4, 0) | (0, 1..=4, letters @ 1..=3)
            if number_up_to(if letters == 3 { 3 } else { 4 })
                && all(front, in_current)
                && all(back, in_current) =>
        {
            Some(Style::Dateless)
        }
        _ => None,
    }
}

/// The first day on which a mark of that shape was given; `None` for a style without a date.
pub(super) fn given_from(mark: &Mark) -> Option<Date> {
    let text = mark.as_str().as_bytes();
    let (year, month) = match style(mark)? {
        Style::Current => {
            let age = i16::from(text[2] - b'0') * 10 + i16::from(text[3] - b'0');
            if age > 50 { (2000 + age - 50, 9) } else { (2000 + age, 3) }
        }
        Style::Prefix => year(&PREFIX_YEARS, *text.first()?)?,
        Style::Suffix => year(&SUFFIX_YEARS, *text.last()?)?,
        Style::Q | Style::NorthernIreland | Style::Dateless => return None,
    };
    Date::new(year, month, 1).ok()
}

/// The last day on which a mark of that shape was given; `None` for a style without a date.
///
/// Source: DVLA INF104: an age identifier is given for half a year, a letter of the year until the next one began.
pub(super) fn given_until(mark: &Mark) -> Option<Date> {
    /// The months for which one of today's age identifiers is given.
    const HALF_A_YEAR: Months = Months(6);
    let from = given_from(mark)?;
    let next = match style(mark)? {
        Style::Current => months_after(from, HALF_A_YEAR)?,
        _ => {
            let mut begun = SUFFIX_YEARS.iter().chain(&PREFIX_YEARS).map(|(_, year, month)| (*year, *month));
            let (year, month) =
                begun.find(|begun| *begun > (from.year(), from.month())).unwrap_or(CURRENT_FROM);
            Date::new(year, month, 1).ok()?
        }
    };
    Days(1).before(next)
}

/// How many bytes from the start are of a sort.
fn run(text: &[u8], is: impl Fn(&u8) -> bool) -> usize {
    text.iter().take_while(|letter| is(letter)).count()
}

fn all(letters: &[u8], is: impl Fn(u8) -> bool) -> bool {
    letters.iter().all(|letter| is(*letter))
}

/// The year letter's first month.
fn year(years: &[(u8, i16, i8)], letter: u8) -> Option<(i16, i8)> {
    years.iter().find(|(known, ..)| *known == letter).map(|(_, year, month)| (*year, *month))
}

/// The letters of every style: without I, Q and Z (but for the last three of today's, which may have Z).
fn in_current(letter: u8) -> bool {
    !matches!(letter, b'I' | b'Q' | b'Z')
}

/// The age numbers given so far and to come: 02 to 49 from March, 51 to 99 from September.
fn is_age(digits: &[u8]) -> bool {
    !matches!(digits, b"00" | b"01" | b"50")
}

/// An I or a Z among the last two letters, as the counties of Northern Ireland have it.
fn is_northern_irish(letters: &[u8]) -> bool {
    let pair = &letters[letters.len() - 2..];
    let head_fits = letters.len() == 2 || in_current(letters[0]);
    let pair_fits = match pair {
        [first, b'Z'] => matches!(first, b'A'..=b'P' | b'R'..=b'Y'),
        [b'I', last] => matches!(last, b'A'..=b'P' | b'R'..=b'Z'),
        [first, b'I'] => matches!(first, b'A'..=b'P' | b'R'..=b'Y'),
        _ => false,
    };
    head_fits && pair_fits
}
