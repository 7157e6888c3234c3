//! Telephone numbers as a sheet has them, and which of them a telephone may dial.

use super::words::one_line;

/// The longest cell of telephone numbers that is printed, in characters: three numbers, or one with a note.
const LONGEST: usize = 60;
/// The fewest digits that are dialled; fewer is an extension or a mistake.
const FEWEST_DIGITS: usize = 7;
/// The most digits of a number (ITU-T E.164), and two more for an international prefix.
const MOST_DIGITS: usize = 17;

/// One number as it is printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Number {
    /// As the sheet has it.
    pub(super) shown: String,
    /// The address that dials it, made of digits alone; `None` where it is not sure what to dial.
    pub(super) link: Option<String>,
}

/// The numbers of one cell; people write two with a stroke or a comma between.
pub(super) fn numbers(cell: &str) -> Vec<Number> {
    one_line(cell, LONGEST)
        .split(['/', ',', ';'])
        .map(str::trim)
        .filter(|shown| !shown.is_empty())
        .map(|shown| Number {
            shown: shown.to_owned(),
            link: dialled(shown).map(|number| format!("tel:{number}")),
        })
        .collect()
}

/// What to dial: digits, with a plus in front where the number is international. A number that does not begin with
/// 0 or + has lost something on its way through a spreadsheet, and one with letters in it is no number.
fn dialled(shown: &str) -> Option<String> {
    if !shown.chars().all(|letter| letter.is_ascii_digit() || " +-.()".contains(letter)) {
        return None;
    }
    let (plus, rest) = match shown.strip_prefix('+') {
        // The national 0 that some write into an international number is never dialled.
        Some(rest) => ("+", rest.replacen("(0)", "", 1)),
        None => ("", shown.to_owned()),
    };
    let digits: String = rest.chars().filter(char::is_ascii_digit).collect();
    let dialable = (FEWEST_DIGITS..=MOST_DIGITS).contains(&digits.len())
        && !rest.contains('+')
        && (plus == "+" || digits.starts_with('0'));
    dialable.then(|| format!("{plus}{digits}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_surely_a_number_is_dialled() {
        let cases = [
            ("07700 900123", "07700 900123 = tel:07700900123"),
            ("(01632) 960-123", "(01632) 960-123 = tel:01632960123"),
            ("+44 (0)1632 960123", "+44 (0)1632 960123 = tel:+441632960123"),
            ("0044 1632 960123", "0044 1632 960123 = tel:00441632960123"),
            (
                "01632 960001 / 07700 900123",
                "01632 960001 = tel:01632960001 | 07700 900123 = tel:07700900123",
            ),
            ("7700900123", "7700900123"),
            ("07700 900123 (evenings)", "07700 900123 (evenings)"),
            ("7.70E+09", "7.70E+09"),
            ("07700 900123;ext=1\"><script>", "07700 900123 = tel:07700900123 | ext=1\"><script>"),
            ("07700 900123\r\nBcc: x", "07700 900123 Bcc: x"),
            ("112", "112"),
            ("0123456789012345678", "0123456789012345678"),
            ("07700+900123", "07700+900123"),
            (" \r\n/", ""),
        ];
        for (cell, expected) in cases {
            let shown = |number: Number| match number.link {
                Some(link) => format!("{} = {link}", number.shown),
                None => number.shown,
            };
            let found: Vec<String> = numbers(cell).into_iter().map(shown).collect();
            assert_eq!(found.join(" | "), expected, "{cell:?}");
        }
    }
}
