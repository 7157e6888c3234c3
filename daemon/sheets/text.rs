//! A text file becomes one table; rows that a stray quote has swallowed are given back.

use std::ops::Range;

use crate::problem::{Problem, Severity, Spot};
use crate::settings::TextForm;
use crate::sheets::dialect::{self, Dialect};
use crate::sheets::encoding::Decoded;
use crate::sheets::field::{each_quoted_end, plain_field, unwrapped};
use crate::sheets::piece::{Full, place, problem};
use crate::sheets::quotes;
use crate::sheets::rows::Rows;
use crate::sheets::value::{is_plain_parted_by, text_cell};

/// Reads the text of a file as one sheet.
pub(super) fn read(decoded: Decoded<'_>, form: TextForm, rows: &mut Rows<'_>) -> Result<(), Full> {
    let text = decoded.text.into_owned();
    let dialect = dialect::of(&text, form.delimiter);
    rows.begin_in_text(&text)?;
    if decoded.damaged {
        let help = match form.encoding {
            Some(_) => "Correct the `encoding` of this file in tickover.toml, or take it out.",
            None => "Export the file again as CSV in UTF-8, if letters are missing.",
        };
        rows.tell(problem(Severity::Note, None, "some characters could not be made out", help))?;
    }
    let outcome = rows.count_text(text.len()).and_then(|()| Reading::new(&text, dialect).read(rows));
    rows.end_with_text(text, outcome)
}

/// The reader of delimited text, as every part of this room uses it.
pub(super) fn reader(text: &str, delimiter: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter)
        .from_reader(text.as_bytes())
}

/// After so many rows that are lines, told by their quotes, the next one that may be more is taken to be far.
const ROWS_IN_ORDER: usize = 4;

/// The most stray quote marks of a text; each makes the reader begin anew, which takes its time.
const STRAYS_MAX: usize = 10_000;

/// The reading of one text.
struct Reading<'a> {
    text: &'a str,
    delimiter: u8,
    /// How many delimiters a row of this file usually has.
    usual: usize,
    /// The number of the row read last, as a spreadsheet program counts: blank lines count, a line break inside
    /// quotes does not.
    row: u32,
    /// The rows in which a quote opens that does not close.
    strays: Vec<u32>,
    first_garbled: Option<(u32, u32, String)>,
    /// Room for the text of a cell that is not as the file has it.
    words: String,
}

impl<'a> Reading<'a> {
    fn new(text: &'a str, dialect: Dialect) -> Reading<'a> {
        let text = &text[dialect.begins_at..];
        let usual = quotes::usual_delimiters(text, dialect.delimiter);
        Reading {
            text,
            delimiter: dialect.delimiter,
            usual,
            row: 0,
            strays: Vec::new(),
            first_garbled: None,
            words: String::new(),
        }
    }

    fn read(mut self, rows: &mut Rows<'_>) -> Result<(), Full> {
        let mut begins_at = Some(0);
        while let Some(at) = begins_at {
            if self.strays.len() > STRAYS_MAX {
                return Err(Full::Quotes);
            }
            let at = self.read_lines(at, rows)?;
            begins_at = self.read_from(at, rows)?;
        }
        self.tell_of_strays(rows)?;
        self.tell_of_garbled(rows)
    }

    /// Reads on from a line's beginning as long as a row is a line, told by its quotes, and gives back where the first begins
    /// that may be more. That a row is a line is told faster than by a reader that looks at each character for itself.
    fn read_lines(&mut self, begins_at: usize, rows: &mut Rows<'_>) -> Result<usize, Full> {
        let bytes = self.text.as_bytes();
        let mut at = begins_at;
        while at < bytes.len() {
            let line_ends_at =
                memchr::memchr2(b'\r', b'\n', &bytes[at..]).map_or(bytes.len(), |end| at + end);
            let line = &self.text[at..line_ends_at];
            // A blank line counts, and is no row.
            if !line.is_empty() && !self.give_line(line, rows)? {
                break;
            }
            self.row += 1;
            at = line_ends_at + line_end(&self.text[line_ends_at..]);
        }
        Ok(at)
    }

    /// Reads on from a line's beginning to the text's end, to where rows are lines again, or to a row with a stray quote.
    /// That row is read by itself, and where the next one begins is given back.
    fn read_from(&mut self, begins_at: usize, rows: &mut Rows<'_>) -> Result<Option<usize>, Full> {
        let mut reader = reader(&self.text[begins_at..], self.delimiter);
        let mut record = csv::StringRecord::new();
        let mut record_begins_at = begins_at;
        let mut rows_in_order = 0;
        // The text is valid UTF-8 and rows may be ragged, which leaves the reader nothing to fail of.
        while reader.read_record(&mut record).unwrap_or(false) {
            let read = usize::try_from(reader.position().byte()).unwrap_or(usize::MAX);
            let ends_at = begins_at.saturating_add(read).min(self.text.len());
            let stretch = &self.text[self.skip_blank_lines(record_begins_at..ends_at)];
            self.row += 1;
            let line = quotes::first_line(stretch);
            let is_in_order = each_quoted_end(line.as_bytes(), self.delimiter, |_| {});
            rows_in_order = if is_in_order { rows_in_order + 1 } else { 0 };
            if quotes::swallowed(stretch, &record, self.delimiter, self.usual) {
                self.strays.push(self.row);
                let cells = quotes::cells_of_line(line, self.delimiter);
                self.give(self.row - 1, false, cells.iter().map(AsRef::as_ref), rows)?;
                let line_ends_at = ends_at - stretch.len() + line.len();
                return Ok(Some(line_ends_at + line_end(&self.text[line_ends_at..])));
            }
            let is_plain = self.is_plain(record.as_slice(), b' ');
            self.give(self.row - 1, is_plain, record.iter(), rows)?;
            if rows_in_order == ROWS_IN_ORDER {
                return Ok(Some(ends_at + self.rest_of_line_end(ends_at)));
            }
            record_begins_at = ends_at;
        }
        Ok(None)
    }

    /// Counts the blank lines that the reader has passed over in silence; what is left is the record itself.
    fn skip_blank_lines(&mut self, stretch: Range<usize>) -> Range<usize> {
        let bytes = self.text.as_bytes();
        let mut at = stretch.start + self.rest_of_line_end(stretch.start);
        while at < stretch.end && matches!(bytes[at], b'\r' | b'\n') {
            at += line_end(&self.text[at..]);
            self.row += 1;
        }
        at.min(stretch.end)..stretch.end
    }

    /// The reader stops between the two characters of a line end.
    fn rest_of_line_end(&self, at: usize) -> usize {
        let bytes = self.text.as_bytes();
        usize::from(at > 0 && bytes[at - 1] == b'\r' && bytes.get(at) == Some(&b'\n'))
    }

    /// Gives the line behind the row read last; `false` where its quotes are not in order.
    fn give_line(&mut self, line: &str, rows: &mut Rows<'_>) -> Result<bool, Full> {
        let (row, delimiter) = (self.row, self.delimiter);
        let is_plain = self.is_plain(line, delimiter);
        if is_plain && rows.line(row, line, delimiter)? {
            return Ok(true);
        }
        if line.contains('"') {
            return Ok(false);
        }
        self.give(row, is_plain, line.split(char::from(delimiter)), rows)?;
        Ok(true)
    }

    /// Whether all fields of such a text, parted by this character, are plain, and none is the first that looks garbled.
    fn is_plain(&self, text: &str, parted_by: u8) -> bool {
        is_plain_parted_by(parted_by, text)
            && (text.is_ascii() || self.first_garbled.is_some() || !looks_garbled(text))
    }

    /// Gives the row read last, whose fields are all plain or perhaps not.
    fn give<'b>(
        &mut self,
        row: u32,
        are_plain: bool,
        fields: impl Iterator<Item = &'b str>,
        rows: &mut Rows<'_>,
    ) -> Result<(), Full> {
        rows.begin_row(row)?;
        for (column, field) in (0..).zip(fields) {
            let cell = if are_plain {
                plain_field(field)
            } else {
                if self.first_garbled.is_none() && looks_garbled(field) {
                    self.first_garbled = Some((row + 1, column, field.to_owned()));
                }
                text_cell(unwrapped(field), &mut self.words)
            };
            rows.cell_of_row(column, cell)?;
        }
        Ok(())
    }

    fn tell_of_strays(&self, rows: &mut Rows<'_>) -> Result<(), Full> {
        let Some(&first) = self.strays.first() else { return Ok(()) };
        let what = match self.strays.len() {
            1 => "a quote mark opens here and does not close; the row was read as it stands".to_owned(),
            more => {
                format!(
                    "{more} quote marks open and do not close, the first here; the rows were read as they stand"
                )
            }
        };
        let place = place(None, Spot::Cell { row: first, column: 0 });
        rows.tell(Problem::note(place, what, "Take the quote mark out, or close it in its own cell."))
    }

    fn tell_of_garbled(&mut self, rows: &mut Rows<'_>) -> Result<(), Full> {
        let Some((row, column, field)) = self.first_garbled.take() else { return Ok(()) };
        let place = place(None, Spot::Cell { row, column });
        let what = "letters look garbled, as when a file is saved in one encoding and opened in another";
        rows.tell(Problem::note(place, what, "Export the file again as CSV in UTF-8.").with_value(field))
    }
}

/// How many bytes the line end at the beginning of a text takes; 0 where the text does not begin with one.
fn line_end(text: &str) -> usize {
    if text.starts_with("\r\n") { 2 } else { usize::from(text.starts_with(['\r', '\n'])) }
}

/// Marks of UTF-8 taken for Windows-1252 (`Â£5`), and of the pound sign of DOS (`œ5`).
fn looks_garbled(field: &str) -> bool {
    /// What leads `Â`, `Ã`, `â` and `œ`.
    const LEADS: [u8; 2] = [0xc3, 0xc5];
    if memchr::memchr2(LEADS[0], LEADS[1], field.as_bytes()).is_none() {
        return false;
    }
    field.contains("Â£")
        || field.contains("Ã©")
        || field.contains("â€")
        || field.char_indices().any(|(at, character)| {
            character == 'œ'
                && field[at + character.len_utf8()..].starts_with(|next: char| next.is_ascii_digit())
        })
}
