//! A text file becomes one table; rows that a stray quote has swallowed are given back.

use std::ops::Range;

use crate::problem::{Problem, Severity, Spot};
use crate::sheets::dialect::{self, Dialect};
use crate::sheets::encoding::Decoded;
use crate::sheets::piece::{Full, place, problem};
use crate::sheets::quotes;
use crate::sheets::rows::Rows;
use crate::sheets::value::text_cell;

/// Reads the text of a file as one sheet.
pub(super) fn read(decoded: &Decoded, rows: &mut Rows<'_>) -> Result<(), Full> {
    let dialect = dialect::of(&decoded.text);
    rows.begin(None, false)?;
    if decoded.damaged {
        rows.tell(problem(
            Severity::Note,
            None,
            "some characters could not be made out",
            "Export the file again as CSV in UTF-8, if letters are missing.",
        ))?;
    }
    let outcome = Reading::new(&decoded.text, dialect).read(rows);
    rows.end_as(outcome)
}

/// The reader of delimited text, as every part of this room uses it.
pub(super) fn reader(text: &str, delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes())
}

/// The reading of one text.
struct Reading<'a> {
    text: &'a str,
    delimiter: u8,
    /// How many delimiters a line of this file usually has.
    usual: usize,
    /// The number of the row read last, as a spreadsheet program counts: blank lines count, a line break inside
    /// quotes does not.
    row: u32,
    first_garbled: Option<(u32, u32, String)>,
}

impl<'a> Reading<'a> {
    fn new(text: &'a str, dialect: Dialect) -> Reading<'a> {
        let text = &text[dialect.begins_at..];
        let usual = quotes::usual_delimiters(text, dialect.delimiter);
        Reading { text, delimiter: dialect.delimiter, usual, row: 0, first_garbled: None }
    }

    fn read(mut self, rows: &mut Rows<'_>) -> Result<(), Full> {
        let mut reader = reader(self.text, self.delimiter);
        let mut record = csv::StringRecord::new();
        let mut begins_at = 0;
        // The text is valid UTF-8 and rows may be ragged, which leaves the reader nothing to fail of.
        while reader.read_record(&mut record).unwrap_or(false) {
            let ends_at = usize::try_from(reader.position().byte()).unwrap_or(self.text.len());
            let stretch = self.skip_blank_lines(begins_at..ends_at.min(self.text.len()));
            begins_at = ends_at;
            if quotes::swallowed(&self.text[stretch.clone()], &record, self.delimiter, self.usual) {
                self.reread(stretch, rows)?;
            } else {
                self.row += 1;
                self.give(&record, rows)?;
            }
        }
        self.tell_of_garbled(rows)
    }

    /// Counts the blank lines that the reader has passed over in silence; what is left is the record itself.
    fn skip_blank_lines(&mut self, stretch: Range<usize>) -> Range<usize> {
        let bytes = self.text.as_bytes();
        let mut at = stretch.start;
        // The reader stops between the two characters of a line end.
        if at > 0 && bytes[at - 1] == b'\r' && bytes.get(at) == Some(&b'\n') {
            at += 1;
        }
        while at < stretch.end && matches!(bytes[at], b'\r' | b'\n') {
            at += if bytes[at..].starts_with(b"\r\n") { 2 } else { 1 };
            self.row += 1;
        }
        at.min(stretch.end)..stretch.end
    }

    /// Reads a stretch that a stray quote has swallowed anew, line by line.
    fn reread(&mut self, stretch: Range<usize>, rows: &mut Rows<'_>) -> Result<(), Full> {
        let first = self.row + 1;
        for line in quotes::lines(&self.text[stretch]) {
            self.row += 1;
            let record = quotes::line_alone(line, self.delimiter);
            self.give(&record, rows)?;
        }
        let what = format!(
            "a quote mark in row {first} opens and does not close; rows {first} to {} were read line by line",
            self.row
        );
        let spot = Spot::Cell { row: first, column: 0 };
        rows.tell(Problem::note(
            place(None, spot),
            what,
            "Take the quote mark out, or close it in its own cell.",
        ))
    }

    fn give(&mut self, record: &csv::StringRecord, rows: &mut Rows<'_>) -> Result<(), Full> {
        for (column, field) in record.iter().enumerate() {
            let column = u32::try_from(column).unwrap_or(u32::MAX);
            if self.first_garbled.is_none() && looks_garbled(field) {
                self.first_garbled = Some((self.row, column, field.to_owned()));
            }
            rows.cell(self.row - 1, column, text_cell(unwrapped(field)))?;
        }
        Ok(())
    }

    fn tell_of_garbled(&mut self, rows: &mut Rows<'_>) -> Result<(), Full> {
        let Some((row, column, field)) = self.first_garbled.take() else { return Ok(()) };
        let place = place(None, Spot::Cell { row, column });
        let what = "letters look garbled, as when a file is saved in one encoding and opened in another";
        rows.tell(Problem::note(place, what, "Export the file again as CSV in UTF-8.").with_value(field))
    }
}

/// The text inside of the two ways in which programs keep a spreadsheet from making a number of it: `="00123"` and
/// a leading apostrophe before figures.
fn unwrapped(field: &str) -> &str {
    let trimmed = field.trim();
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

/// Marks of UTF-8 taken for Windows-1252 (`Â£5`), and of the pound sign of DOS (`œ5`).
fn looks_garbled(field: &str) -> bool {
    field.contains("Â£")
        || field.contains("Ã©")
        || field.contains("â€")
        || field.char_indices().any(|(at, character)| {
            character == 'œ'
                && field[at + character.len_utf8()..].starts_with(|next: char| next.is_ascii_digit())
        })
}
