//! The fields of a text file: where those of a line end, and which cell one is.

use crate::sheets::Cell;
use crate::sheets::value::plain_cell;

const QUOTE: u8 = b'"';

/// Tells where each field of a line without quotes ends, the last one at the line's end. Eight bytes are looked at at
/// once: a field has hardly more, so that to search for each delimiter by itself takes longer.
pub(super) fn each_end(line: &[u8], delimiter: u8, mut tell: impl FnMut(usize)) {
    /// Of each of eight bytes, its lowest bit, its highest, and all but the highest.
    const LOW: u64 = 0x0101_0101_0101_0101;
    const HIGH: u64 = LOW << 7;
    const REST: u64 = !HIGH;
    let (words, rest) = line.as_chunks::<8>();
    let mut begins_at = 0;
    for word in words {
        // A byte that is the delimiter becomes zero, and only of those the highest bit is then left.
        let other = u64::from_le_bytes(*word) ^ (LOW * u64::from(delimiter));
        let mut found = !(((other & REST) + REST) | other | REST);
        while found != 0 {
            tell(begins_at + found.trailing_zeros() as usize / 8);
            found &= found - 1;
        }
        begins_at += word.len();
    }
    for (at, byte) in (begins_at..).zip(rest) {
        if *byte == delimiter {
            tell(at);
        }
    }
    tell(line.len());
}

/// The same of a line in which every quote opens a field or closes it; `false` as soon as one does neither, as one that is
/// doubled, or closed on another line, and where a tab that parts the fields stands in one: there it is no plain character.
pub(super) fn each_quoted_end(line: &[u8], delimiter: u8, mut tell: impl FnMut(usize)) -> bool {
    let mut begins_at = 0;
    loop {
        let rest = &line[begins_at..];
        let length = if rest.first() == Some(&QUOTE) {
            let Some(inside) = memchr::memchr(QUOTE, &rest[1..]) else { return false };
            if delimiter.is_ascii_control() && rest[1..=inside].contains(&delimiter) {
                return false;
            }
            inside + 2
        } else {
            memchr::memchr2(delimiter, QUOTE, rest).unwrap_or(rest.len())
        };
        match rest.get(length) {
            Some(next) if *next == delimiter => tell(begins_at + length),
            Some(_) => return false,
            None => {
                tell(line.len());
                return true;
            }
        }
        begins_at += length + 1;
    }
}

/// The cell of a field of such a line, which is plain.
pub(super) fn field_of_line(field: &str) -> Cell<'_> {
    let inside = field.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
    plain_field(inside.unwrap_or(field))
}

/// The cell of a field that is plain ([`super::value::is_plain`]). Most begin and end as only a text does that stands as it is.
pub(super) fn plain_field(field: &str) -> Cell<'_> {
    match field.as_bytes() {
        [] => Cell::Blank,
        [b' ' | b'=' | b'\'' | b'#' | b'E', ..] | [.., b' '] => plain_cell(unwrapped(field)),
        _ => Cell::Text(field),
    }
}

/// The text inside of the two ways in which programs keep a spreadsheet from making a number of it: `="00123"` and
/// a leading apostrophe before figures.
pub(super) fn unwrapped(field: &str) -> &str {
    let trimmed = field.trim();
    if !trimmed.starts_with(['=', '\'']) {
        return field;
    }
    if let Some(inner) = trimmed.strip_prefix("=\"").and_then(|rest| rest.strip_suffix('"')) {
        return inner;
    }
    match trimmed.strip_prefix('\'') {
        Some(rest) if is_figures(rest) => rest,
        _ => field,
    }
}

fn is_figures(text: &str) -> bool {
    text.bytes().any(|byte| byte.is_ascii_digit())
        && text.bytes().all(|byte| byte.is_ascii_digit() || b" +-./,".contains(&byte))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fields_of_a_line_end_where_its_delimiters_stand() {
        let ends = |line: &str, delimiter| {
            let mut ends = Vec::new();
            each_end(line.as_bytes(), delimiter, |end| ends.push(end));
            ends
        };
        assert_eq!(ends("", b','), [0]);
        assert_eq!(ends(",", b','), [0, 1]);
        assert_eq!(ends("AB12 CDE,1204,,x", b','), [8, 13, 14, 16]);
        // Bytes that differ from the delimiter in one bit, on both sides of it and of the eight.
        let alike = "-,.+,(,l\u{ac},-,,,,,,,,,l,,.";
        let expected: Vec<usize> = alike.match_indices(',').map(|(at, _)| at).chain([alike.len()]).collect();
        assert_eq!(ends(alike, b','), expected);
        // Each place of a longer line, told one by one.
        for delimiter in [b',', b';', b'\t', b'|'] {
            for at in 0..40 {
                let mut line = [b'a'; 40];
                line[at] = delimiter;
                let line = String::from_utf8(line.to_vec()).unwrap();
                assert_eq!(ends(&line, delimiter), [at, 40]);
            }
        }
    }

    /// Against another reader: what is said to be in order has the fields that the csv crate finds.
    #[test]
    fn the_fields_of_a_line_with_quotes_are_those_that_another_reader_finds() {
        let mut in_order = 0_usize;
        // All lines of up to seven of these characters.
        for length in 1..=7_u32 {
            for number in 0..4_usize.pow(length) {
                let letter = |place: u32| ['a', ',', '"', ' '][number / 4_usize.pow(place) % 4];
                let line: String = (0..length).map(letter).collect();
                let mut begins_at = 0;
                let mut fields = Vec::new();
                let is_in_order = each_quoted_end(line.as_bytes(), b',', |end| {
                    let field = &line[begins_at..end];
                    let inside = field.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
                    fields.push(inside.unwrap_or(field));
                    begins_at = end + 1;
                });
                if is_in_order {
                    let mut reader =
                        csv::ReaderBuilder::new().has_headers(false).from_reader(line.as_bytes());
                    let record = reader.records().next().unwrap().unwrap();
                    assert!(record.iter().eq(fields.iter().copied()), "{line}: {fields:?}");
                    in_order += 1;
                }
            }
        }
        // Every line without a quote is one, and so are many more.
        assert!(in_order > (1..=7).map(|length| 3_usize.pow(length)).sum::<usize>());
    }
}
