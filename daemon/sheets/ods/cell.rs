//! One cell of an .ods sheet: its value stands in its attributes, or else in its text.

use std::io::Read;

use quick_xml::escape::{resolve_predefined_entity, unescape};
use quick_xml::events::{BytesRef, BytesStart, Event};

use super::events::{Damage, Events, attribute, attributes};
use super::words::Words;
use crate::sheets::formats::Shown;
use crate::sheets::value::{self, is_error_value};
use crate::sheets::{Cell, Fault};

/// One cell after the other: first what its attributes say, then what it is.
#[derive(Default)]
pub(super) struct Reckoned {
    /// How many times the cell stands side by side.
    pub(super) times: u32,
    /// Over how many rows it reaches.
    pub(super) rows_spanned: u32,
    /// The value that its attributes give; in the end the cell itself.
    cell: Kept,
    /// Room for a text that is made.
    words: String,
    /// Whether formats of the workbook show more of a number than its value holds.
    pub(super) formats_show_more: bool,
    is_number: bool,
    has_formula: bool,
    is_text: bool,
    is_error: bool,
}

/// A cell that keeps its text itself, as the file's events do not last.
#[derive(Default)]
struct Kept {
    /// The cell without its text, if it has one.
    cell: Cell<'static>,
    text: String,
}

impl Kept {
    fn put(&mut self, cell: Cell<'_>) {
        self.cell = match cell {
            Cell::Text(text) | Cell::Fault(Fault::ErrorValue(text)) => {
                self.text.clear();
                self.text.push_str(text);
                if matches!(cell, Cell::Text(_)) { Cell::Text("") } else { value::error_value("") }
            }
            Cell::Blank => Cell::Blank,
            Cell::Number(number) => Cell::Number(number),
            Cell::Day(day) => Cell::Day(day),
            Cell::Time(seconds) => Cell::Time(seconds),
            Cell::Flag(flag) => Cell::Flag(flag),
            Cell::Fault(Fault::NeverReckoned) => Cell::Fault(Fault::NeverReckoned),
            Cell::Fault(Fault::TooLong(characters)) => Cell::Fault(Fault::TooLong(characters)),
        };
    }

    fn get(&self) -> Cell<'_> {
        match self.cell {
            Cell::Text(_) => Cell::Text(&self.text),
            Cell::Fault(Fault::ErrorValue(_)) => value::error_value(&self.text),
            cell => cell,
        }
    }
}

impl Reckoned {
    /// The cell, once it has ended.
    pub(super) fn cell(&self) -> Cell<'_> {
        self.cell.get()
    }

    /// Takes the attributes of the next cell. Of several values the first counts.
    pub(super) fn begin(&mut self, element: &BytesStart<'_>) -> Result<(), Damage> {
        (self.times, self.rows_spanned) = (1, 1);
        self.cell.put(Cell::Blank);
        (self.is_number, self.has_formula, self.is_text, self.is_error) = (false, false, false, false);
        for attribute in attributes(element) {
            let (key, value) = attribute?;
            match key {
                "table:number-columns-repeated" => self.times = times(value)?,
                "table:number-rows-spanned" => self.rows_spanned = times(value)?,
                "table:formula" => self.has_formula = !value.is_empty(),
                "office:value-type" => (self.is_text, self.is_number) = (value == "string", value == "float"),
                "calcext:value-type" => self.is_error = value == "error",
                _ if self.cell.get().is_blank() && !value.is_empty() => self.take_value(key, value)?,
                _ => {}
            }
        }
        Ok(())
    }

    /// The cell has ended without anything between its tags.
    pub(super) fn end_without_words(&mut self, words: &mut Words) {
        words.clear();
        self.end(words);
    }

    /// Reads what stands between the tags of the cell, to its end.
    pub(super) fn end_with_words<R: Read>(
        &mut self,
        events: &mut Events<R>,
        words: &mut Words,
    ) -> Result<(), Damage> {
        words.clear();
        // What it shows matters where it has no value of its own, or where that may be none: a formula whose value is an
        // error has, in the files of some programs, 0 for a value. So it does where formats show units.
        let may_show_more = self.formats_show_more && self.is_number;
        if self.cell.get().is_blank() || self.has_formula || self.is_error || may_show_more {
            read_words(events, words)?;
        } else {
            events.skip()?;
        }
        self.end(words);
        Ok(())
    }

    fn end(&mut self, words: &Words) {
        let shown = words.text();
        // A column that is too narrow for a number shows `###`, which says nothing of its value.
        let is_error = self.is_error || (is_error_value(shown) && shown.bytes().any(|byte| byte != b'#'));
        if is_error && !shown.is_empty() {
            self.cell.put(value::error_value(shown));
            return;
        }
        if self.formats_show_more
            && self.is_number
            && let Cell::Number(number) = self.cell.get()
            && let Some(more) = Shown::in_text(number, shown)
        {
            self.cell.put(more.cell(number, &mut self.words));
        }
        if self.cell.get().is_blank() {
            self.cell.put(words.cell(&mut self.words));
        }
        if self.cell.get().is_blank() && self.has_formula && !self.is_text {
            self.cell.put(Cell::Fault(Fault::NeverReckoned));
        }
    }

    /// Takes the value that an attribute gives, if it is one of those that give one.
    fn take_value(&mut self, key: &str, value: &str) -> Result<(), Damage> {
        let (cell, words) = (&mut self.cell, &mut self.words);
        match key {
            "office:value" => cell.put(match value.trim().parse() {
                Ok(number) => value::number_cell(number, words),
                Err(_) => value::error_value(value),
            }),
            "office:string-value" => cell.put(value::text_cell(&unescape(value)?, words)),
            "office:date-value" => cell.put(value::iso_day(&unescape(value)?, words)),
            "office:time-value" => cell.put(value::iso_length(&unescape(value)?, words)),
            "office:boolean-value" if value.eq_ignore_ascii_case("true") => cell.put(Cell::Flag(true)),
            "office:boolean-value" if value.eq_ignore_ascii_case("false") => cell.put(Cell::Flag(false)),
            "office:boolean-value" => cell.put(value::error_value(value)),
            _ => {}
        }
        Ok(())
    }
}

/// How many times something is repeated; more than a sheet has room for is as much as there is room for.
pub(super) fn times(text: &str) -> Result<u32, Damage> {
    let text = text.trim();
    if text.is_empty() || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(Damage("something is repeated so many times as no number says".to_owned()));
    }
    Ok(text.parse().unwrap_or(u32::MAX).max(1))
}

/// Reads the text of a cell that has just begun, to the cell's end. Annotations, pictures and whatever else stands in a
/// cell beside its text are passed over.
fn read_words<R: Read>(events: &mut Events<R>, words: &mut Words) -> Result<(), Damage> {
    let cell = events.depth();
    // The depth of the paragraph under way.
    let mut paragraph = None;
    loop {
        let depth = events.depth();
        match events.next()? {
            Event::Start(element) => match element.name().0 {
                "text:p" | "text:h" => {
                    words.paragraph();
                    paragraph.get_or_insert(depth + 1);
                }
                "text:note" | "text:ruby-text" => events.skip()?,
                name if name.starts_with("text:") => mark(&element, words)?,
                _ => events.skip()?,
            },
            Event::Empty(element) => match element.name().0 {
                "text:p" | "text:h" => words.paragraph(),
                _ => mark(&element, words)?,
            },
            Event::Text(text) if paragraph.is_some() => words.characters(&text),
            Event::CData(text) if paragraph.is_some() => words.characters(&text),
            Event::GeneralRef(reference) => {
                let mut bytes = [0; 4];
                words.characters(character(&reference)?.encode_utf8(&mut bytes));
            }
            Event::End(_) if depth == cell => return Ok(()),
            Event::End(_) if paragraph == Some(depth) => paragraph = None,
            _ => {}
        }
    }
}

/// Puts what an element stands for: blanks, a tab, a line break; most stand for nothing themselves.
fn mark(element: &BytesStart<'_>, words: &mut Words) -> Result<(), Damage> {
    match element.name().0 {
        "text:s" => {
            let count = attribute(element, "text:c")?;
            let count = count.map_or(Ok(1), |count| times(&count))?;
            words.blanks(usize::try_from(count).unwrap_or(usize::MAX));
        }
        "text:tab" => words.break_off("\t"),
        "text:line-break" => words.break_off("\n"),
        _ => {}
    }
    Ok(())
}

/// The character that a reference stands for. Those that a file defines itself are not followed.
fn character(reference: &BytesRef<'_>) -> Result<char, Damage> {
    if let Some(character) = reference.resolve_char_ref()? {
        return Ok(character);
    }
    resolve_predefined_entity(reference)
        .and_then(|text| text.chars().next())
        .ok_or_else(|| Damage(format!("`&{};` stands for nothing", &**reference)))
}
