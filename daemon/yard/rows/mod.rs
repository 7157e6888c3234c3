//! The rows of a recognised sheet become records; what is no record (titles, totals, footnotes) is passed over.

mod no_work;
mod papers;
mod parted;
mod row_checks;
mod row_records;
mod rows_lost;
mod strays;
mod undated;

use std::collections::{BTreeMap, HashSet};

use jiff::civil::Date;

use crate::origin::{Entry, Origin};
use crate::problem::{Problem, Severity, counted};
use crate::sheets::{Cell, Row, Rows, Table};
use crate::yard::cells::{self, CellRead, Meaning, Unread};
use crate::yard::day_row;
use crate::yard::estimate;
use crate::yard::field::Shape;
use crate::yard::outcome_words;
use crate::yard::recognise::{item_of_sheet, machine_of_sheet};
use crate::yard::{ColumnRead, Field, Identity, Mark, ReadAs, RecordKind, Records};
use rows_lost::RowsLost;
use strays::Strays;

/// How many cells of a column may complain of the same thing one by one; the rest is summed up.
const COMPLAINTS_OF_A_KIND: usize = 5;

/// Reads every row below the headers. `sheet_day` is the day on which the sheet was written, and so the latest on
/// which an undated clock of a machine's row can have been read.
///
/// A cell that cannot be read is a problem, and the other cells of its row still count.
pub fn records(table: &Table, read_as: &ReadAs, sheet_day: Date) -> (Records, Vec<Problem>) {
    let mut records = Records::default();
    let Some(sheet) = Sheet::new(table, read_as, sheet_day) else { return (records, Vec::new()) };
    let mut complaints = Complaints::default();
    let mut strays = Strays::of(&sheet);
    let mut lost = RowsLost::default();
    let mut day_above = None;
    for (index, row) in sheet.body().iter().enumerate() {
        let day = (sheet.kind == RecordKind::Job).then(|| day_row::day_of(row)).flatten();
        if let Some((column, day)) = day {
            day_above = Some(Entry::new(day, table.origin(row, column)));
            continue;
        }
        if !sheet.is_below_its_machine(row) && strays.is_one(index, row) {
            continue;
        }
        if let Some(column) = parted::parted_figure(&sheet, row) {
            let read = sheet.columns.iter().find(|read| read.index == column);
            let subject = read.map_or("figure", |read| read.field.name());
            let origin = table.origin(row, column);
            complaints.tell(column, subject, parted::PARTED, &origin, row.cell(column));
            continue;
        }
        let mut reader =
            RowReader { sheet: &sheet, row, day_above: day_above.as_ref(), complaints: &mut complaints };
        let Some(identity) = reader.identity() else {
            lost.add(&sheet, row);
            continue;
        };
        let said = row_records::of_row(&mut reader);
        let unread = row_records::clock_unread(&reader, &said);
        records.clocks_unread.extend(unread.map(|why| (identity.clone(), why)));
        let beside = row_records::said_beside(&mut reader);
        records.said_beside.extend(beside.map(|(day, row)| (identity.clone(), day, row)));
        records.records.extend(said.into_iter().map(|record| (identity.clone(), record)));
    }
    sheet.no_work.take_back(&mut records.records);
    let mut problems = complaints.into_problems(&sheet);
    problems.extend(sheet.no_work.problems());
    problems.extend(lost.into_problem(&sheet));
    (records, problems)
}

/// A sheet that is known well enough to read its rows.
struct Sheet<'sheet> {
    table: &'sheet Table,
    kind: RecordKind,
    header_row: usize,
    /// Where another table begins below, or how many rows there are.
    ends_before: usize,
    sheet_day: Date,
    /// The mark of the machine that all rows are about, where the sheet's name says so.
    of_machine: Option<Mark>,
    /// The check that all rows are about, where the sheet's name says so.
    item_of_sheet: Option<&'static str>,
    /// Whether any row of a log has its day.
    has_days: bool,
    /// What stands in the way of checks without a day; `None` where they count.
    undated: Option<undated::Why>,
    /// How the column that says whether a job was done says so.
    says_done: SaysDone,
    /// The rows of jobs that another column calls no work done.
    no_work: no_work::NoWork,
    /// The columns that are read.
    columns: &'sheet [ColumnRead],
    /// The cells in whose place nothing stands, as [`ReadAs::held`] has them.
    held: HashSet<(u32, usize)>,
    /// The column of each field, by the field's number.
    by_field: [Option<&'sheet ColumnRead>; Field::COUNT],
}

impl<'sheet> Sheet<'sheet> {
    /// `None` when nothing tells what the rows are or which machine they are about.
    fn new(table: &'sheet Table, read_as: &'sheet ReadAs, sheet_day: Date) -> Option<Sheet<'sheet>> {
        let (kind, header_row) = read_as.kind.zip(read_as.header_row)?;
        let mut by_field = [None; Field::COUNT];
        for column in &read_as.columns {
            by_field[column.field as usize].get_or_insert(column);
        }
        let has_identity = read_as.columns.iter().any(|column| column.field.is_identity());
        let of_machine = machine_of_sheet(table, read_as);
        (has_identity || of_machine.is_some()).then(|| Sheet {
            of_machine,
            table,
            kind,
            header_row,
            ends_before: read_as.ends_before.unwrap_or(table.rows().len()).min(table.rows().len()),
            sheet_day,
            item_of_sheet: item_of_sheet(table, read_as),
            has_days: by_field[Field::Day as usize].is_some_and(|column| has_days(table, header_row, column)),
            undated: undated::Why::of(read_as),
            says_done: by_field[Field::Outcome as usize]
                .map_or(SaysDone::Nowhere, |column| SaysDone::of(table, header_row, column.index)),
            no_work: no_work::NoWork::of(table, read_as),
            columns: &read_as.columns,
            held: read_as.held.iter().copied().collect(),
            by_field,
        })
    }

    /// The rows below the headers.
    fn body(&self) -> Rows<'sheet> {
        self.table.rows().part(self.header_row + 1..self.ends_before)
    }

    /// The column that is a field.
    fn column(&self, field: Field) -> Option<&'sheet ColumnRead> {
        self.by_field[field as usize]
    }

    /// The row in which a row's cell of a column has its value: another one where the cell is merged with one above it.
    /// Headers that reach down are none of a row.
    fn row_of_value(&self, row: Row<'sheet>, column: usize) -> Row<'sheet> {
        let above = self.table.row_of_value(row, column);
        if above.number > self.table.row(self.header_row).number { above } else { row }
    }

    /// The cell of a row in a column, with what is merged.
    fn cell(&self, row: Row<'sheet>, column: usize) -> Cell<'sheet> {
        self.row_of_value(row, column).cell(column)
    }

    /// Whether the cell that names the machine of a row stands above it, and the row itself says something.
    fn is_below_its_machine(&self, row: Row<'sheet>) -> bool {
        let is_above = |column: &ColumnRead| self.row_of_value(row, column.index).number != row.number;
        self.identity_columns().any(is_above)
            && self.columns.iter().any(|column| !row.cell(column.index).is_blank())
    }

    /// The columns that tell which machine a row is about.
    fn identity_columns(&self) -> impl Iterator<Item = &'sheet ColumnRead> {
        self.columns.iter().filter(|column| column.field.is_identity())
    }

    /// The columns that are a field of which there may be several, from left to right.
    fn columns_of(&self, field: Field) -> impl Iterator<Item = &'sheet ColumnRead> + use<'sheet> {
        self.columns.iter().filter(move |column| column.field == field)
    }

    /// The cell of a column's header.
    fn header_origin(&self, column: usize) -> Origin {
        self.table.origin(self.table.row(self.header_row), column)
    }
}

/// Whether any cell of a column holds a day.
fn has_days(table: &Table, header_row: usize, column: &ColumnRead) -> bool {
    let mut rows = table.rows().part(header_row + 1..).iter();
    rows.any(|row| matches!(cells::day(row.cell(column.index), &column.meaning), Ok(Some(_))))
}

/// How a column says that a job was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SaysDone {
    /// By no cell: it names only what was not done, and a blank is no answer.
    Nowhere,
    /// By a bare x.
    ByAnX,
    /// By a word or a tick, beside which an x is a cross.
    InWords,
}

impl SaysDone {
    fn of(table: &Table, header_row: usize, column: usize) -> SaysDone {
        let mut found = SaysDone::Nowhere;
        for row in table.rows().part(header_row + 1..).iter() {
            match row.cell(column) {
                cell if outcome_words::is_x(cell) => found = SaysDone::ByAnX,
                cell if outcome_words::was_done(cell) == Ok(Some(true)) => return SaysDone::InWords,
                _ => {}
            }
        }
        found
    }
}

/// The problems of a sheet's cells, of which many of a kind are summed up.
#[derive(Default)]
struct Complaints {
    problems: Vec<Problem>,
    counts: BTreeMap<(usize, Unread), (usize, &'static str)>,
    /// The first bare sign of which nobody has said what it means, where it stands, and how many there are.
    signs: Option<(String, Origin, usize)>,
    /// The first result that passes no check for want of a day, where it stands, and how many there are.
    undated: Option<(Origin, usize)>,
}

impl Complaints {
    /// Tells of a cell, one by one up to a few of a kind.
    fn tell(
        &mut self,
        column: usize,
        subject: &'static str,
        unread: Unread,
        origin: &Origin,
        cell: Cell<'_>,
    ) -> Option<&mut Problem> {
        let (count, _) = self.counts.entry((column, unread)).or_insert((0, subject));
        *count += 1;
        if *count > COMPLAINTS_OF_A_KIND {
            return None;
        }
        self.problems.push(unread.problem(&format!("`{subject}`"), origin, cell));
        self.problems.last_mut()
    }

    /// All problems, with a sum for each kind of which only the first few were told.
    fn into_problems(self, sheet: &Sheet<'_>) -> Vec<Problem> {
        let mut problems = self.problems;
        problems.extend(self.signs.map(|(sign, origin, count)| unsaid_signs(&sign, &origin, count)));
        let undated = self.undated.zip(sheet.undated.as_ref());
        problems.extend(undated.map(|((origin, count), why)| why.problem(&origin, count)));
        for ((column, unread), (count, subject)) in self.counts {
            if count <= COMPLAINTS_OF_A_KIND {
                continue;
            }
            let more = counted(count - COMPLAINTS_OF_A_KIND, "more cell");
            let letters = crate::origin::column_name(u32::try_from(column).unwrap_or(u32::MAX));
            let what = format!("the `{subject}` {} in {more} of column {letters}", unread.what);
            let header = sheet.columns.iter().find(|read| read.index == column);
            let hides = header.is_some_and(|read| read.field.is_what_due_hangs_on());
            let header = header.map(|read| read.header.clone()).unwrap_or_default();
            let problem = Problem::error(&sheet.header_origin(column), what, unread.help).with_value(header);
            problems.push(Problem { hides_what_is_due: hides, ..problem });
        }
        problems
    }
}

/// What is told once of a sheet in whose checks bare signs stand.
fn unsaid_signs(sign: &str, first: &Origin, count: usize) -> Problem {
    let cells =
        if count == 1 { "this cell".to_owned() } else { format!("{} of this sheet", counted(count, "cell")) };
    let what =
        format!("a bare `{sign}` may mean done or failed: by {cells} no check is passed, and none failed");
    let help = "Run `tickover setup`, which asks, or write `ticks = \"done\"` or `ticks = \"failed\"` into this sheet's \
                [[sheet]] in tickover.toml.";
    let problem = Problem::note(first, what, help).with_value(sign);
    Problem { hides_what_is_due: true, ..problem }
}

/// One row, read field by field.
struct RowReader<'row, 'sheet> {
    sheet: &'row Sheet<'sheet>,
    row: Row<'sheet>,
    /// The day of a job's row that stands in a row of its own above it.
    day_above: Option<&'row Entry<Date>>,
    complaints: &'row mut Complaints,
}

/// A cell was told to be unreadable.
struct Told;

impl<'sheet> RowReader<'_, 'sheet> {
    /// The cell of a field; `None` when the sheet has no such column.
    fn cell(&self, field: Field) -> Option<(Cell<'sheet>, &'sheet ColumnRead)> {
        self.sheet.column(field).map(|column| (self.cell_of(column), column))
    }

    /// A column's cell of this row.
    fn cell_of(&self, column: &ColumnRead) -> Cell<'sheet> {
        self.sheet.cell(self.row, column.index)
    }

    /// Whether what stands in a column's cell of this row is not taken.
    fn is_held(&self, column: &ColumnRead) -> bool {
        self.sheet.held.contains(&(self.row.number, column.index))
    }

    /// Whether a day stands in this row that is not taken. Why, is said of the whole sheet.
    fn has_day_held(&self) -> bool {
        self.sheet.column(Field::Day).is_some_and(|column| self.is_held(column))
    }

    /// Where a column's cell of this row stands.
    fn origin(&self, column: &ColumnRead) -> Origin {
        self.sheet.table.origin(self.sheet.row_of_value(self.row, column.index), column.index)
    }

    /// A field's value; nothing where there is no such column or nothing is known; `Told` when it was unreadable.
    fn read<T>(
        &mut self,
        field: Field,
        read: impl FnOnce(Cell<'_>, &Meaning) -> CellRead<T>,
    ) -> Result<Option<Entry<T>>, Told> {
        match self.sheet.column(field) {
            Some(column) => self.read_column(column, read),
            None => Ok(None),
        }
    }

    /// The same of one column, where a field has several.
    fn read_column<T>(
        &mut self,
        column: &ColumnRead,
        read: impl FnOnce(Cell<'_>, &Meaning) -> CellRead<T>,
    ) -> Result<Option<Entry<T>>, Told> {
        let cell = self.cell_of(column);
        if cell.is_blank() {
            return Ok(None);
        }
        match read(cell, &column.meaning) {
            Ok(value) => {
                self.tell_estimate(column, cell);
                Ok(value.map(|value| Entry::new(value, self.origin(column))))
            }
            Err(unread) => {
                self.tell(column, unread);
                Err(Told)
            }
        }
    }

    /// A field's value where it could be read.
    fn entry<T>(
        &mut self,
        field: Field,
        read: impl FnOnce(Cell<'_>, &Meaning) -> CellRead<T>,
    ) -> Option<Entry<T>> {
        self.read(field, read).unwrap_or_default()
    }

    /// A field's text where there is one.
    fn text(&mut self, field: Field) -> Option<Entry<String>> {
        self.entry(field, |cell, _| cells::text(cell))
    }

    /// A field's day where there is one.
    fn day(&mut self, field: Field) -> Option<Entry<Date>> {
        self.entry(field, cells::day)
    }

    /// Complains of a cell of this row.
    fn tell(&mut self, column: &ColumnRead, unread: Unread) {
        let cell = self.cell_of(column);
        let origin = self.origin(column);
        let told = self.complaints.tell(column.index, column.field.name(), unread, &origin, cell);
        if let Some(problem) = told.filter(|_| column.field.is_what_due_hangs_on()) {
            problem.hides_what_is_due = true;
        }
    }

    /// Notes that the figure of a distance is an estimate by its own words.
    fn tell_estimate(&mut self, column: &ColumnRead, cell: Cell<'_>) {
        const ESTIMATE: Unread = Unread {
            what: "is an estimate, and is taken for the figure that stands there",
            help: "Write what the clock shows once somebody has read it.",
        };
        let Cell::Text(text) = cell else { return };
        if column.field.shape() != Shape::Distance || estimate::bare(text).is_none() {
            return;
        }
        let origin = self.origin(column);
        let told = self.complaints.tell(column.index, column.field.name(), ESTIMATE, &origin, cell);
        if let Some(problem) = told {
            problem.severity = Severity::Note;
        }
    }

    /// Takes down that a bare sign stands in a cell of this row.
    fn tell_sign(&mut self, column: &ColumnRead) {
        let (cell, origin) = (self.cell_of(column), self.origin(column));
        let first = || (cell.shown().trim().to_owned(), origin, 0);
        self.complaints.signs.get_or_insert_with(first).2 += 1;
    }

    /// Which machine the row is about; `None` (and told) when nothing in it says so.
    fn identity(&mut self) -> Option<Identity> {
        const NO_MACHINE: Unread = Unread {
            what: "stands in a row that names no machine",
            help: "Write the registration mark, frame number or stock number of the machine in this row. A cell that was \
                   merged with others may stand in the first of its rows only: undo that, and write it in each.",
        };
        if let Some(mark) = &self.sheet.of_machine {
            let origin = self.sheet.header_origin(0);
            return Some(Identity { mark: Some(Entry::new(mark.clone(), origin)), ..Identity::default() });
        }
        let mark = self.read(Field::Mark, |cell, _| cells::mark(cell));
        let frame_no = self.read(Field::FrameNumber, |cell, _| cells::frame_number(cell));
        let stock_no = self.read(Field::StockNumber, |cell, _| cells::stock_number(cell));
        let is_told = mark.is_err() || frame_no.is_err() || stock_no.is_err();
        let identity = Identity {
            mark: mark.unwrap_or_default(),
            frame_no: frame_no.unwrap_or_default(),
            stock_no: stock_no.unwrap_or_default(),
        };
        if !identity.is_unknown() {
            return Some(identity);
        }
        let filled = self.sheet.columns.iter().find(|column| !self.row.cell(column.index).is_blank());
        if let Some(column) = filled.filter(|_| !is_told) {
            self.tell(column, NO_MACHINE);
        }
        None
    }
}
