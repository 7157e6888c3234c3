//! An .ods workbook becomes rows while it is inflated, however large it would be: OpenDocument 1.2, part 1.

mod cell;
mod events;
mod number_styles;
mod words;

#[cfg(test)]
mod tests;

use std::collections::BTreeSet;
use std::io::{Cursor, Read};

use quick_xml::events::{BytesStart, Event};
use zip::ZipArchive;
use zip::result::ZipError;

use self::cell::{Reckoned, times};
use self::events::{Damage, Events, attribute};
use self::number_styles::NumberStyles;
use self::words::Words;
use crate::problem::Severity;
use crate::settings::Limits;
use crate::sheets::kind::{self, SAVE_AS, refusal};
use crate::sheets::piece::{Full, problem};
use crate::sheets::rows::Rows;
use crate::sheets::workbook::unreadable;

/// What the part `mimetype` of a spreadsheet begins with; that of a template goes on.
const MEDIA_TYPE: &[u8] = b"application/vnd.oasis.opendocument.spreadsheet";

/// The most styles that hide a sheet; each hidden sheet has one at most.
const HIDING_STYLES_MAX: usize = 10_000;

/// Sheets have a million rows in most programs, 16 million in some; a cell below that is no sheet's.
const ROWS_MAX: u32 = 16 * 1024 * 1024;

/// Why reading stopped.
enum Stop {
    /// The file is damaged.
    Damaged(Damage),
    /// A limit was reached.
    Full(Full),
}

impl From<Damage> for Stop {
    fn from(damage: Damage) -> Stop {
        Stop::Damaged(damage)
    }
}

impl From<quick_xml::Error> for Stop {
    fn from(error: quick_xml::Error) -> Stop {
        Stop::Damaged(error.into())
    }
}

impl From<Full> for Stop {
    fn from(full: Full) -> Stop {
        Stop::Full(full)
    }
}

/// Reads all sheets that show. A file that turns out to be damaged is void as a whole, since its sheets share one part,
/// of which the checksum comes last.
pub(super) fn read(bytes: &[u8], limits: &Limits, rows: &mut Rows<'_>) -> Result<(), Full> {
    match read_archive(bytes, limits, rows) {
        Ok(()) => Ok(()),
        Err(Stop::Full(full)) => Err(full),
        Err(Stop::Damaged(Damage(why))) => rows.void(unreadable(&why)),
    }
}

fn read_archive(bytes: &[u8], limits: &Limits, rows: &mut Rows<'_>) -> Result<(), Stop> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(Damage::from)?;
    let mut media_type = Vec::new();
    let part = archive.by_name("mimetype").map_err(Damage::from)?;
    part.take(MEDIA_TYPE.len() as u64).read_to_end(&mut media_type).map_err(Damage::from)?;
    if media_type != MEDIA_TYPE {
        let what = "the file is a document, not a workbook that is read here";
        return Ok(rows.void(refusal(what, SAVE_AS))?);
    }
    if is_under_a_password(&mut archive)? {
        return Ok(rows.void(kind::password())?);
    }
    let number_styles = named_styles(&mut archive)?;
    let content = archive.by_name("content.xml").map_err(Damage::from)?;
    let reading = Reading {
        events: Events::of(content),
        words: Words::new(limits.cell_characters),
        cell: Reckoned::default(),
        hiding_styles: BTreeSet::new(),
        number_styles,
    };
    reading.read(rows)
}

/// The formats of the styles that have a name of their own, which stand in another part than the sheets.
fn named_styles(archive: &mut ZipArchive<Cursor<&[u8]>>) -> Result<NumberStyles, Damage> {
    let mut number_styles = NumberStyles::default();
    let styles = match archive.by_name("styles.xml") {
        Ok(part) => part,
        Err(ZipError::FileNotFound) => return Ok(number_styles),
        Err(error) => return Err(error.into()),
    };
    let mut events = Events::of(styles);
    loop {
        match events.next()? {
            Event::Eof => return Ok(number_styles),
            event => number_styles.take(&event)?,
        }
    }
}

/// Whether the list of parts says of any that it is encrypted (OpenDocument 1.2, part 3, section 3.4).
fn is_under_a_password(archive: &mut ZipArchive<Cursor<&[u8]>>) -> Result<bool, Damage> {
    let manifest = match archive.by_name("META-INF/manifest.xml") {
        Ok(part) => part,
        // What is in the file can be read without a list of it.
        Err(ZipError::FileNotFound) => return Ok(false),
        Err(error) => return Err(error.into()),
    };
    let mut events = Events::of(manifest);
    loop {
        match events.next()? {
            Event::Start(element) | Event::Empty(element)
                if element.name().0 == "manifest:encryption-data" =>
            {
                return Ok(true);
            }
            Event::Eof => return Ok(false),
            _ => {}
        }
    }
}

/// The reading of one workbook.
struct Reading<R: Read> {
    events: Events<R>,
    words: Words,
    cell: Reckoned,
    /// The names of the styles that hide a sheet; they stand before the sheets.
    hiding_styles: BTreeSet<String>,
    /// What the formats show; they stand there, too.
    number_styles: NumberStyles,
}

impl<R: Read> Reading<R> {
    fn read(mut self, rows: &mut Rows<'_>) -> Result<(), Stop> {
        let mut style = None;
        loop {
            let event = self.events.next()?;
            self.number_styles.take(&event)?;
            let (Event::Start(element) | Event::Empty(element)) = &event else {
                match event {
                    Event::Eof => return Ok(()),
                    _ => continue,
                }
            };
            let is_empty = matches!(event, Event::Empty(_));
            match element.name().0 {
                "style:style" => style = attribute(element, "style:name")?,
                "style:table-properties" => {
                    if attribute(element, "table:display")?.is_some_and(|display| display == "false") {
                        self.hiding_styles.extend(style.take());
                    }
                    if self.hiding_styles.len() > HIDING_STYLES_MAX {
                        return Err(
                            Damage("more styles hide a sheet than there can be sheets".to_owned()).into()
                        );
                    }
                }
                "table:table" => {
                    self.cell.formats_show_more = self.number_styles.show_more;
                    let name = attribute(element, "table:name")?;
                    let style = attribute(element, "table:style-name")?;
                    let is_hidden = style.is_some_and(|style| self.hiding_styles.contains(&style));
                    self.read_sheet(name.as_deref(), is_hidden, is_empty, rows)?;
                }
                // Cells of the past, and of other files.
                "table:tracked-changes" | "table:dde-links" if !is_empty => self.events.skip()?,
                _ => {}
            }
        }
    }

    fn read_sheet(
        &mut self,
        name: Option<&str>,
        is_hidden: bool,
        is_empty: bool,
        rows: &mut Rows<'_>,
    ) -> Result<(), Stop> {
        let sheet = self.events.depth();
        if is_hidden {
            let help = "Show the sheet in the spreadsheet program, if it is meant to be read.";
            rows.tell(problem(Severity::Note, name, "the sheet is hidden and was not read", help))?;
        } else {
            rows.begin(name, false)?;
            let outcome = if is_empty { Ok(()) } else { self.read_rows(rows) };
            match outcome {
                Ok(()) => rows.end_as(Ok(()))?,
                Err(Stop::Full(full)) => rows.end_as(Err(full))?,
                Err(damaged) => return Err(damaged),
            }
        }
        // A sheet of which reading has stopped is passed over to its end.
        if is_empty { Ok(()) } else { Ok(self.events.leave_to(sheet - 1)?) }
    }

    /// Reads the rows of the sheet that has just begun, to its end. They can stand in groups, and among columns,
    /// drawings and forms.
    fn read_rows(&mut self, rows: &mut Rows<'_>) -> Result<(), Stop> {
        let sheet = self.events.depth();
        let mut row = 0_u32;
        while self.events.depth() >= sheet {
            let event = self.events.next()?;
            let (Event::Start(element) | Event::Empty(element)) = &event else { continue };
            let is_empty = matches!(event, Event::Empty(_));
            match element.name().0 {
                "table:table-row" => {
                    let times = repeated(element, "table:number-rows-repeated")?;
                    if !is_empty {
                        self.read_row(row, rows)?;
                        rows.repeat_row(row, times - 1)?;
                    }
                    row = row.saturating_add(times);
                }
                "table:table-header-rows" | "table:table-rows" | "table:table-row-group" => {}
                _ if is_empty => {}
                _ => self.events.skip()?,
            }
        }
        Ok(())
    }

    /// Reads the cells of the row that has just begun, to its end.
    fn read_row(&mut self, row: u32, rows: &mut Rows<'_>) -> Result<(), Stop> {
        let depth = self.events.depth();
        let mut column = 0_u32;
        while self.events.depth() >= depth {
            match self.events.next()? {
                Event::Start(element) if is_cell(&element) => {
                    self.cell.begin(&element)?;
                    self.cell.end_with_words(&mut self.events, &mut self.words)?;
                }
                Event::Empty(element) if is_cell(&element) => {
                    self.cell.begin(&element)?;
                    self.cell.end_without_words(&mut self.words);
                }
                Event::Start(_) => {
                    self.events.skip()?;
                    continue;
                }
                _ => continue,
            }
            if row >= ROWS_MAX && !self.cell.cell().is_blank() {
                return Err(Damage(format!("a cell stands below row {ROWS_MAX}")).into());
            }
            rows.cells(row, column, self.cell.times, self.cell.cell())?;
            rows.merged(column, row, row.saturating_add(self.cell.rows_spanned - 1));
            column = column.saturating_add(self.cell.times);
        }
        Ok(())
    }
}

/// Whether an element is a cell; one that another covers keeps what stood in it.
fn is_cell(element: &BytesStart<'_>) -> bool {
    matches!(element.name().0, "table:table-cell" | "table:covered-table-cell")
}

fn repeated(element: &BytesStart<'_>, name: &str) -> Result<u32, Damage> {
    attribute(element, name)?.map_or(Ok(1), |count| times(&count))
}
