//! What an .xls or .xlsb holds and its reader does not show: units that only a format writes behind the figures, and
//! formulas that were never reckoned.

use std::io::{Cursor, Read};

use calamine::{Data, Range};
use zip::ZipArchive;

use crate::problem::{Problem, Severity, counted};
use crate::sheets::piece::problem;
use crate::units::DistanceUnit;

/// The part of an .xlsb in which its formats stand.
const XLSB_STYLES: &str = "xl/styles.bin";

/// A note where a format of the .xls shows the unit of a distance.
pub(super) fn unit_in_xls(bytes: &[u8]) -> Option<Problem> {
    // A text of the file has one byte a letter, or two ([MS-XLS], section 2.5.293).
    unit_in_formats(bytes, &[1, 2]).map(|unit| unseen(&unit, ".xls"))
}

/// The same of an .xlsb.
pub(super) fn unit_in_xlsb(bytes: &[u8]) -> Option<Problem> {
    let mut styles = Vec::new();
    let mut archive = ZipArchive::new(Cursor::new(bytes)).ok()?;
    // Its size has been counted with the others of the archive, before anything was unpacked.
    archive.by_name(XLSB_STYLES).ok()?.read_to_end(&mut styles).ok()?;
    unit_in_formats(&styles, &[2]).map(|unit| unseen(&unit, ".xlsb"))
}

fn unseen(unit: &str, form: &str) -> Problem {
    problem(
        Severity::Note,
        None,
        format!("{UNSEEN_UNIT}`{unit}` behind the figures, which cannot be seen in an {form}"),
        format!(
            "Save it as .xlsx, or write `distances = \"{}\"` below `rows` in each of its [[sheet]] in tickover.toml.",
            plural(unit)
        ),
    )
}

/// What the note of such a unit begins with.
const UNSEEN_UNIT: &str = "a format of its cells shows ";

/// Whether a problem tells of a unit that cannot be seen, which is settled once the units of the file's sheets are agreed.
pub fn is_of_unseen_unit(problem: &Problem) -> bool {
    problem.severity == Severity::Note && problem.what.starts_with(UNSEEN_UNIT)
}

/// The unit as it is agreed in the settings.
fn plural(unit: &str) -> &'static str {
    DistanceUnit::named(unit).unwrap_or(DistanceUnit::Miles).plural()
}

/// The unit of a distance in quotes behind the figures of a format, such as `#,##0" km"`. It is looked for in the bytes as
/// they are, with one of so many a letter: no other text of a workbook reads like that.
fn unit_in_formats(bytes: &[u8], widths: &[usize]) -> Option<String> {
    memchr::memchr_iter(b'"', bytes)
        .find_map(|at| widths.iter().find_map(|&width| unit_from_quote(bytes, at, width)))
}

/// The same of the words that a quote at this place opens.
fn unit_from_quote(bytes: &[u8], at: usize, width: usize) -> Option<String> {
    /// Longer words are no unit.
    const LETTERS_MAX: usize = 16;
    let letter = |at: usize| {
        let letter = bytes.get(at..at + width)?;
        letter[1..].iter().all(|&byte| byte == 0).then(|| char::from(letter[0]))
    };
    let mut before = (1..).map_while(|letters| letter(at.checked_sub(letters * width)?));
    let figure = before.find(|letter| !matches!(letter, ' ' | '\\'))?;
    if !matches!(figure, '0' | '#' | '?') {
        return None;
    }
    let behind = (1..=LETTERS_MAX).map_while(|letters| letter(at + letters * width));
    let words: String = behind.clone().take_while(|&letter| letter != '"').collect();
    let is_closed = behind.clone().any(|letter| letter == '"');
    let unit = words.trim();
    // A mere `m` or `k` may be a million or a thousand.
    let is_unit = is_closed && unit.len() > 1 && DistanceUnit::named(unit).is_some();
    is_unit.then(|| unit.to_owned())
}

/// A note where a sheet of an .xls has formulas and none of them a value. Some programs keep them without one; the file
/// cannot tell that from a text without a letter, which one formula or another may well have.
pub(super) fn never_reckoned(sheet: &str, values: &Range<Data>, formulas: &Range<String>) -> Option<Problem> {
    let (first_row, first_column) = formulas.start()?;
    let mut count = 0;
    for (row, column, formula) in formulas.used_cells() {
        if formula.is_empty() {
            continue;
        }
        let place = |first: u32, index: usize| u32::try_from(index).ok()?.checked_add(first);
        let value = values.get_value((place(first_row, row)?, place(first_column, column)?));
        let is_blank = |value: &Data| matches!(value, Data::Empty) || *value == Data::String(String::new());
        if !value.is_none_or(is_blank) {
            return None;
        }
        count += 1;
    }
    (count > 0).then(|| {
        problem(
            Severity::Note,
            Some(sheet),
            format!("of {} in this sheet none has a value", counted(count, "formula")),
            "Open the file in the spreadsheet program and save it once, if there should be any.",
        )
    })
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use zip::ZipWriter;
    use zip::write::SimpleFileOptions;

    use super::*;

    #[test]
    fn an_xlsb_has_its_formats_in_a_part_of_their_own() {
        let book = |format: &str| {
            let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
            archive.start_file(XLSB_STYLES, SimpleFileOptions::default()).unwrap();
            let wide: Vec<u8> = format.encode_utf16().flat_map(u16::to_le_bytes).collect();
            archive.write_all(&wide).unwrap();
            archive.finish().unwrap().into_inner()
        };
        let told = unit_in_xlsb(&book("#,##0\" miles\"")).map(|note| note.what);
        let expected =
            "a format of its cells shows `miles` behind the figures, which cannot be seen in an .xlsb";
        assert_eq!(told.as_deref(), Some(expected));
        assert_eq!(unit_in_xlsb(&book("#,##0")), None);
    }

    #[test]
    fn the_unit_of_a_distance_is_seen_behind_the_figures_of_a_format_alone() {
        for (text, unit) in [
            ("..#,##0\" km\"..", Some("km")),
            ("0.0\"miles\"", Some("miles")),
            ("#,##0\\ \"mi\"", Some("mi")),
            ("0 \"km\"", Some("km")),
            ("\"£\"#,##0.00;0\" KM\"", Some("KM")),
            ("0\" pcs\"", None),
            ("0\"k\"", None),
            ("he rode \"km\"", None),
            ("km\"", None),
            ("\" km\"0", None),
            ("0\" km", None),
            ("0\"km a hundred and more letters\"", None),
            ("", None),
        ] {
            let latin: Vec<u8> = text.chars().map(|letter| letter as u8).collect();
            let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
            assert_eq!(unit_in_formats(&latin, &[1]).as_deref(), unit, "{text}");
            assert_eq!(unit_in_formats(&wide, &[2]).as_deref(), unit, "{text}, two bytes a letter");
            assert_eq!(unit_in_formats(&wide, &[1]), None, "{text}");
        }
    }
}
