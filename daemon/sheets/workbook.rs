//! A workbook becomes pieces: the sheets that show, cell by cell, each by itself so that one error loses one sheet.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::rc::Rc;

use calamine::{
    Data, DataRef, Dimensions, Range, Reader, Sheet, SheetType, SheetVisible, Style, Xls, XlsError, Xlsb,
    XlsbError, Xlsx, XlsxCellReader, XlsxError,
};

use crate::problem::{Problem, Severity};
use crate::settings::Limits;
use crate::sheets::formats::Shown;
use crate::sheets::kind::{self, COPY_CELLS, SAVE_AGAIN, refusal};
use crate::sheets::package::{self, Package, STYLES_MAX};
use crate::sheets::piece::{Full, Give, PROBLEMS_MAX, Piece, SHEETS_MAX, problem};
use crate::sheets::rows::Rows;
use crate::sheets::value::{self, FORMULA_IN_ERROR};
use crate::sheets::watched::{Parts, Watched};
use crate::sheets::{Cell, Fault, ods, unseen};

type Bytes<'a> = Watched<'a>;

/// Why a sheet could not be read to its end.
enum Stop {
    /// Something in the sheet is out of order.
    Damaged(String),
    /// It is made of the same part of the file as a sheet before it.
    Again,
    /// A limit was reached.
    Full(Full),
}

impl From<Full> for Stop {
    fn from(full: Full) -> Stop {
        Stop::Full(full)
    }
}

/// Reads a workbook and gives its pieces, the end among them.
///
/// The crate below is known to panic on damaged files, and to fail an allocation, which ends the process: the first
/// is caught, here and for each sheet; for the second a workbook is read in a process of its own.
pub(super) fn read(bytes: &[u8], limits: &Limits, give: &mut Give<'_>) -> Result<(), Full> {
    let mut rows = Rows::new(limits, give);
    let mut held = Held::default();
    match catch_unwind(AssertUnwindSafe(|| read_kind(bytes, limits, &mut rows, &mut held))) {
        Ok(Err(Full::Gone)) => return Err(Full::Gone),
        Ok(Err(Full::Sheets)) => {
            let what =
                format!("the workbook has more than {SHEETS_MAX} sheets; nothing was read from here on");
            rows.spoil(what, "Split it into several workbooks.")?;
        }
        Ok(Err(Full::Problems)) => {
            let what = format!(
                "more than {PROBLEMS_MAX} problems were found in the workbook; nothing was read from here on"
            );
            rows.spoil(what, "Mend the problems told of first, and save the file again.")?;
        }
        // The other limits have been told of where they were reached.
        Ok(_) => {}
        Err(_) => rows.tell(unreadable("its reader gave up"))?,
    }
    give(Piece::End)
}

/// The one kind of workbook that stands in memory as a whole, and a copy of the cells of the sheet that was read last. To
/// let go of them takes a while, in which the reading can be told of as over.
#[derive(Default)]
struct Held<'a> {
    book: Option<Xls<Bytes<'a>>>,
    values: Range<Data>,
}

fn read_kind<'a>(
    bytes: &'a [u8],
    limits: &Limits,
    rows: &mut Rows<'_>,
    held: &mut Held<'a>,
) -> Result<(), Full> {
    if !bytes.starts_with(b"PK") {
        return read_xls(bytes, rows, held);
    }
    match package::look(bytes, limits) {
        Ok(Package::Xlsx) => read_xlsx(bytes, rows),
        Ok(Package::Xlsb) => read_xlsb(bytes, rows),
        Ok(Package::Ods) => ods::read(bytes, limits, rows),
        Err(refusal) => rows.tell(*refusal),
    }
}

fn read_xls<'a>(bytes: &'a [u8], rows: &mut Rows<'_>, held: &mut Held<'a>) -> Result<(), Full> {
    let Held { book, values } = held;
    let book = match Xls::new(Watched::new(bytes)) {
        Ok(read) => book.insert(read),
        Err(XlsError::Password) => return rows.tell(kind::password()),
        // A workbook scrambled in the oldest way shows only by a code page that makes no sense.
        Err(error) if error.to_string().contains("odepage") => return rows.tell(kind::password()),
        Err(error) => return rows.tell(unreadable(&error.to_string())),
    };
    let counts_from_1904 = book.has_1904_epoch();
    if let Some(note) = unseen::unit_in_xls(bytes) {
        rows.tell(note)?;
    }
    read_sheets(book, rows, counts_from_1904, |book: &mut Xls<Bytes<'_>>, name, rows| {
        // Those of the sheet before give their memory to this one's.
        *values = Range::empty();
        *values = book.worksheet_range(name).map_err(|error| Stop::Damaged(error.to_string()))?;
        let mut words = String::new();
        let (first_row, first_column) = values.start().unwrap_or_default();
        for (row, cells) in (first_row..).zip(values.rows()) {
            for (column, value) in (first_column..).zip(cells).filter(|(_, value)| **value != Data::Empty) {
                rows.cell(row, column, value::kept_cell_of(value, counts_from_1904, &mut words))?;
            }
        }
        note_merged(&book.merge_cells_by_sheet_name(name).unwrap_or_default(), rows);
        if let Ok(formulas) = book.worksheet_formula(name)
            && let Some(note) = unseen::never_reckoned(name, values, &formulas)
        {
            rows.tell(note)?;
        }
        Ok(())
    })
}

fn read_xlsx(bytes: &[u8], rows: &mut Rows<'_>) -> Result<(), Full> {
    if package::has_too_many_styles(bytes) {
        let what = format!("the workbook has more than {STYLES_MAX} kinds of cells, and was not read");
        return rows.tell(refusal(&what, COPY_CELLS));
    }
    let watched = Watched::new(bytes);
    let mut parts = watched.parts();
    let mut book = match Xlsx::new(watched) {
        Ok(book) => book,
        Err(XlsxError::Password) => return rows.tell(kind::password()),
        Err(error) => return rows.tell(unreadable(&error.to_string())),
    };
    let counts_from_1904 = book.has_1904_epoch();
    // Each is found out for the first sheet, and holds for all.
    let (mut merges, mut styles) = (None, None);
    read_sheets(&mut book, rows, counts_from_1904, |book: &mut Xlsx<Bytes<'_>>, name, rows| {
        let damaged = |error: XlsxError| Stop::Damaged(error.to_string());
        let (mut words, mut shown_words) = (String::new(), String::new());
        let mut cells = book.worksheet_cells_reader(name).map_err(damaged)?;
        once(&mut parts)?;
        let mut shown = BTreeMap::new();
        let styles = styles.get_or_insert_with(|| styles_that_show_more(cells.styles()));
        if !styles.is_empty() {
            shown = shown_by_formats(&mut cells, styles, rows.cells_max());
            drop(cells);
            cells = book.worksheet_cells_reader(name).map_err(damaged)?;
        }
        while let Some(record) = cells.next_cell_with_formula_metadata().map_err(damaged)? {
            let (row, column) = record.pos;
            let is_unvalued = record.formula.is_some() && record.value == DataRef::Empty;
            let cell = match value::cell_of(&record.value, counts_from_1904, &mut words) {
                _ if is_unvalued => Cell::Fault(Fault::NeverReckoned),
                Cell::Number(number) => match shown.get(&record.pos) {
                    Some(shown) => shown.cell(number, &mut shown_words),
                    None => Cell::Number(number),
                },
                cell => cell,
            };
            rows.cell(row, column, cell)?;
        }
        drop(cells);
        let cells = rows.cells_so_far();
        let are_any = if cells > CELLS_LOOKED_THROUGH {
            rows.tell(merged_unread(name))?;
            false
        } else {
            cells <= CELLS_MERGED_BY_HAND || *merges.get_or_insert_with(|| package::has_merged_cells(bytes))
        };
        if are_any {
            note_merged(&merged_in(book, name), rows);
        }
        Ok(())
    })
}

/// The cells of a sheet that are merged. A second pass, since they stand behind all others.
fn merged_in(book: &mut Xlsx<Bytes<'_>>, name: &str) -> Vec<Dimensions> {
    // The first pass has read the sheet; what is wrong behind its cells costs no more than these.
    let read = catch_unwind(AssertUnwindSafe(|| book.merge_cells_by_sheet_name(name)));
    read.ok().and_then(Result::ok).unwrap_or_default()
}

/// A sheet with more cells was mostly written by a program, which merges none; to read it twice would cost much for
/// nothing, so it is looked first whether there are any. Our decision.
const CELLS_MERGED_BY_HAND: usize = 100_000;

/// In a sheet with still more even that look would cost more than the whole may; it is said. Our decision.
const CELLS_LOOKED_THROUGH: usize = 1_000_000;

/// That merged cells of a sheet were not looked for.
fn merged_unread(name: &str) -> Problem {
    let what = format!(
        "the sheet has more than {CELLS_LOOKED_THROUGH} cells, in which merged ones are not looked for"
    );
    let help = "If a cell is merged with those below it, write its value into each of them, or save the sheet as .csv.";
    problem(Severity::Note, Some(name), what, help)
}

/// Notes the cells that reach down over others.
fn note_merged(merged: &[Dimensions], rows: &mut Rows<'_>) {
    for Dimensions { start: (first_row, column), end: (last_row, _) } in merged {
        rows.merged(*column, *first_row, *last_row);
    }
}

/// What each style of the workbook shows more than a value holds; none at all where no style does, as in most.
fn styles_that_show_more(styles: &[Style]) -> Vec<Option<Rc<Shown>>> {
    let shown: Vec<_> = styles.iter().map(|style| Shown::of(style).map(Rc::new)).collect();
    if shown.iter().any(Option::is_some) { shown } else { Vec::new() }
}

/// The cells whose format shows more than their value holds. A pass of its own, made only where a format of the workbook
/// asks for it, and over no more cells than may be read.
fn shown_by_formats(
    cells: &mut XlsxCellReader<'_, Bytes<'_>>,
    styles: &[Option<Rc<Shown>>],
    cells_max: usize,
) -> BTreeMap<(u32, u32), Rc<Shown>> {
    let mut shown = BTreeMap::new();
    // What is wrong with the sheet is told by the pass that follows.
    for _ in 0..=cells_max {
        let Ok(Some((row, column, style))) = cells.next_style_id() else { break };
        if let Some(Some(format)) = styles.get(style) {
            shown.insert((row, column), Rc::clone(format));
        }
    }
    shown
}

/// Goes on only where the part that has just been opened is that of no sheet before.
fn once(parts: &mut Parts) -> Result<(), Stop> {
    if parts.is_new() { Ok(()) } else { Err(Stop::Again) }
}

fn read_xlsb(bytes: &[u8], rows: &mut Rows<'_>) -> Result<(), Full> {
    let watched = Watched::new(bytes);
    let mut parts = watched.parts();
    let mut book = match Xlsb::new(watched) {
        Ok(book) => book,
        Err(XlsbError::Password) => return rows.tell(kind::password()),
        Err(error) => return rows.tell(unreadable(&error.to_string())),
    };
    let counts_from_1904 = book.has_1904_epoch();
    if let Some(note) = unseen::unit_in_xlsb(bytes) {
        rows.tell(note)?;
    }
    read_sheets(&mut book, rows, counts_from_1904, |book: &mut Xlsb<Bytes<'_>>, name, rows| {
        let damaged = |error: XlsbError| Stop::Damaged(error.to_string());
        drop(book.worksheet_cells_reader(name).map_err(damaged)?);
        once(&mut parts)?;
        let mut formulas = Formulas::new(xlsb_formulas(book, name), Fault::ErrorValue(FORMULA_IN_ERROR));
        let mut words = String::new();
        let mut cells = book.worksheet_cells_reader(name).map_err(damaged)?;
        while let Some(cell) = cells.next_cell().map_err(damaged)? {
            let (row, column) = cell.get_position();
            formulas.give_unvalued_before((row, column), rows)?;
            rows.cell(row, column, value::cell_of(cell.get_value(), counts_from_1904, &mut words))?;
        }
        Ok(formulas.give_rest(rows)?)
    })
}

/// Where formulas stand in a sheet. The reader below passes over those whose value is an error, as if the cell were
/// blank; a place from here without a value from there is such a one. Of a formula that it cannot take apart it does not
/// say where it stands: such a one in error stays a blank.
fn xlsb_formulas(book: &mut Xlsb<Bytes<'_>>, name: &str) -> Vec<(u32, u32)> {
    /// More formulas that cannot be read one after the other mean that the reader stands still.
    const FAILURES_MAX: usize = 1_000;
    let mut places = Vec::new();
    // It can fail on one formula and go on with the next, and panic on a damaged one, which loses us only these.
    let _ = catch_unwind(AssertUnwindSafe(|| {
        let Ok(mut cells) = book.worksheet_cells_reader(name) else { return };
        let mut failures = 0;
        while failures < FAILURES_MAX {
            match cells.next_formula() {
                Ok(Some(formula)) => {
                    places.push(formula.get_position());
                    failures = 0;
                }
                Ok(None) | Err(XlsbError::Io(_)) => break,
                Err(_) => failures += 1,
            }
        }
    }));
    places
}

/// Reads every sheet that shows, each by itself; charts are passed over, hidden sheets are told of.
fn read_sheets<'a, Book: Reader<Bytes<'a>>>(
    book: &mut Book,
    rows: &mut Rows<'_>,
    counts_from_1904: bool,
    mut read_sheet: impl FnMut(&mut Book, &str, &mut Rows<'_>) -> Result<(), Stop>,
) -> Result<(), Full> {
    for Sheet { name, typ, visible } in book.sheets_metadata().to_vec() {
        if typ != SheetType::WorkSheet {
            continue;
        }
        if visible != SheetVisible::Visible {
            let help = "Show the sheet in the spreadsheet program, if it is meant to be read.";
            let what = "the sheet is hidden and was not read";
            rows.tell(problem(Severity::Note, Some(&name), what, help))?;
            continue;
        }
        rows.begin(Some(&name), counts_from_1904)?;
        let outcome = catch_unwind(AssertUnwindSafe(|| read_sheet(book, &name, rows)))
            .unwrap_or_else(|_| Err(Stop::Damaged("its reader gave up".to_owned())));
        match outcome {
            Ok(()) => rows.end_as(Ok(()))?,
            Err(Stop::Full(full)) => rows.end_as(Err(full))?,
            // No spreadsheet program writes such a file; one that names a part over and over would be read for hours.
            Err(Stop::Again) => {
                let what = "the sheet is made of the same part of the file as one before it; nothing was read from here on";
                return rows.spoil(what, SAVE_AGAIN);
            }
            Err(Stop::Damaged(why)) => {
                let what = format!("the sheet is damaged and was not read ({})", short(&why));
                rows.spoil(what, SAVE_AGAIN)?;
            }
        }
    }
    Ok(())
}

/// The places of a sheet's formulas, for the cells in which a formula stands and no value comes.
struct Formulas {
    places: std::iter::Peekable<std::vec::IntoIter<(u32, u32)>>,
    /// What to give in place of the value.
    fault: Fault<'static>,
}

impl Formulas {
    fn new(places: Vec<(u32, u32)>, fault: Fault<'static>) -> Formulas {
        Formulas { places: places.into_iter().peekable(), fault }
    }

    /// Called with the place of the next value: formulas before it have none.
    fn give_unvalued_before(&mut self, value: (u32, u32), rows: &mut Rows<'_>) -> Result<(), Full> {
        while let Some((row, column)) = self.places.next_if(|&place| place <= value) {
            if (row, column) != value {
                rows.cell(row, column, Cell::Fault(self.fault))?;
            }
        }
        Ok(())
    }

    fn give_rest(self, rows: &mut Rows<'_>) -> Result<(), Full> {
        for (row, column) in self.places {
            rows.cell(row, column, Cell::Fault(self.fault))?;
        }
        Ok(())
    }
}

/// A workbook that cannot be read at all.
pub(super) fn unreadable(why: &str) -> Problem {
    refusal(&format!("the workbook is damaged and was not read ({})", short(why)), SAVE_AGAIN)
}

/// The reader's own words, cut to what fits a message.
fn short(why: &str) -> String {
    /// A line or two of a letter.
    const CHARACTERS_MAX: usize = 120;
    why.chars().filter(|character| !character.is_control()).take(CHARACTERS_MAX).collect()
}
