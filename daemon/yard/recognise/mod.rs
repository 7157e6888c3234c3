//! Which column of a sheet is what: found by header and values, agreed by the owner, or left out and listed.

mod agreement;
mod assign;
mod beside;
mod best_total;
mod booked;
mod certain;
mod changes;
mod checks_in_jobs;
mod clock_or_ride;
mod deleted_rows;
mod further_columns;
mod header;
mod header_row;
mod header_words;
mod keys;
mod kind_of_sheet;
mod lookalikes;
mod open_points;
mod order_by_rows;
mod other_tables;
mod perhaps;
mod plain_values;
mod proposal;
mod questions;
mod settle;
mod shape;
pub(super) mod spellings;
mod undated;
mod visits;
mod whole_file;
mod why;

pub use changes::{Change, Compared, Lasts, Terms, compare};
pub use keys::weigh_keys;
pub use kind_of_sheet::is_an_aside;
pub use open_points::no_handover;
pub use proposal::{agreed, not_agreed, open_lines, proposal};
pub use questions::{Answer, Question, Settles, as_elsewhere, handover_question, questions, unit_question};
pub(in crate::yard) use undated::open_day;
pub use whole_file::{dates_proving, tell_of_file};

use std::collections::BTreeMap;

use crate::problem::Problem;
use crate::settings::{AgreedSheet, DateOrder};
use crate::sheets::{Cell, Row, Table};
use crate::yard::cells::Meaning;
use crate::yard::days::ColumnOrder;
use crate::yard::field::Shape;
use crate::yard::{Field, Mark, RecordKind, written_mark};
use agreement::AgreedRows;
use assign::{Assignment, Columns};
use certain::how_sure;
use header::Header;
use header_row::HeaderRow;
use settle::Settled;
use shape::Sample;
use why::Why;

/// How certain it is what a column is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Certainty {
    /// The owner's settings say so.
    Agreed,
    /// Its header is one of the field's spellings, and its values look like it.
    Sure,
    /// Its header or its values leave a doubt; a person should look at it.
    Likely,
}

/// A column that is read.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnRead {
    /// The column, from 0 for A.
    pub index: usize,
    /// Its header as it stands in the sheet; of a header in two rows `Service / Date`.
    pub header: String,
    /// What it is.
    pub field: Field,
    /// How certain that is.
    pub certainty: Certainty,
    /// Why, as a phrase; empty where it was agreed.
    pub why: String,
    /// The other columns that could as well be it, from 0 for A.
    pub rivals: Vec<usize>,
    /// Whether at least half of its values fit; each that does not is told by itself.
    pub is_borne_out: bool,
    /// Up to three of its values, as they stand in the sheet.
    pub examples: Vec<String>,
    /// Whether its dates of figures are read by the shop's setting because nothing in the sheet tells their order.
    pub order_is_assumed: bool,
    /// What decided their order, where that is not the sheet's own dates: `as in Jobs, cell B4: 13/01/2026`.
    pub order_shown_by: Option<String>,
    /// What its dates of figures prove of their order by themselves, or what stands in for that.
    pub(super) proven_order: Option<ColumnOrder>,
    /// The first of these dates, which is one day with the day first and another with the month first.
    pub undecided: Option<String>,
    /// The one date that speaks against that setting, for which nothing else speaks; until it is settled neither it nor
    /// what may be either is taken.
    pub contrary: Option<String>,
    /// Whether distances stand in it of which neither cell nor column says the unit.
    pub unit_is_open: bool,
    /// The bare signs, such as x, that stand in it as results of checks, while nobody has said what they mean.
    pub unsaid_signs: Vec<String>,
    /// Of the day on which a job went out the column of the day on which it came in.
    pub(super) came_in_beside: Option<usize>,
    /// How its figures are meant.
    pub(super) meaning: Meaning,
}

impl ColumnRead {
    /// Whether it holds distances.
    pub fn is_distance(&self) -> bool {
        self.field.shape() == Shape::Distance
    }

    /// Whether it may hold days.
    pub(super) fn holds_days(&self) -> bool {
        matches!(self.field.shape(), Shape::Day | Shape::DayOrFlag | Shape::Result)
    }
}

/// A column that is not read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LeftOut {
    /// The column, from 0 for A.
    pub index: usize,
    /// Its header as it stands in the sheet.
    pub header: String,
    /// Why it is not read, as a phrase.
    pub why: String,
    /// The fields that it may be, where nothing tells which, or whether it is one.
    pub may_be: Vec<Field>,
    /// Whether `tickover.toml` leaves it out.
    pub is_refused: bool,
    /// Whether it looks like a check of the machine.
    pub may_be_a_check: bool,
    /// Up to three of its values, as they stand in the sheet.
    pub examples: Vec<String>,
}

/// How a sheet is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadAs {
    /// What its rows are; `None` when the sheet is left unread.
    pub kind: Option<RecordKind>,
    /// What its rows may be, where nothing tells which of them; then it is left unread.
    pub may_be: Vec<RecordKind>,
    /// The place of the row of headers among the table's rows; `None` when none was found.
    pub header_row: Option<usize>,
    /// The place among the table's rows where another table begins below this one.
    pub ends_before: Option<usize>,
    /// Whether it was agreed what bare signs such as x mean.
    pub ticks_are_agreed: bool,
    /// Whether its rows are checks and no day is read in them.
    pub lacks_days: bool,
    /// Whether it was agreed that checks without a day count.
    pub undated_checks_count: Option<bool>,
    /// The columns that are read, from left to right.
    pub columns: Vec<ColumnRead>,
    /// The columns with a header that are not read, from left to right.
    pub left_out: Vec<LeftOut>,
    /// The cells, by row number and column, that say something which is not taken and for which no earlier export has
    /// anything either.
    pub held: Vec<(u32, usize)>,
    /// What is wrong with the sheet as a whole, or with what was agreed of it.
    pub problems: Vec<Problem>,
    /// What nobody has decided of it, for the letter; `setup` asks it instead.
    pub open: Vec<Problem>,
}

impl ReadAs {
    /// Whether its rows are events, and not machines.
    fn is_log(&self) -> bool {
        self.kind.is_some_and(|kind| kind != RecordKind::Machine)
    }

    /// Whether one of its columns names machines, or may.
    pub fn may_name_a_machine(&self) -> bool {
        self.columns.iter().any(|column| column.field.is_identity())
            || self.left_out.iter().flat_map(|column| &column.may_be).any(|field| field.is_identity())
    }
}

/// Whether the owner agreed to leave a sheet unread.
pub fn is_left_unread(agreed: &AgreedSheet) -> bool {
    agreed.rows.trim().eq_ignore_ascii_case(agreement::NOTHING)
}

/// Finds out what a sheet is. What was agreed goes before anything that is found; `shop_order` decides only where
/// neither the column nor the agreement tells which of day and month comes first.
pub fn recognise(table: &Table, agreed: Option<&AgreedSheet>, shop_order: DateOrder) -> ReadAs {
    recognise_amended(table, agreed, shop_order, &Amendments::default())
}

/// What an earlier export of a sheet tells of its columns that its headers do not tell any more.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Amendments {
    /// What its rows are, where nothing was agreed of it.
    kind: Option<RecordKind>,
    /// The columns that are a field, whatever their headers are now.
    placed: Vec<(usize, Field)>,
    /// The columns that are not read.
    refused: Vec<usize>,
    /// The agreed headers that are gone, of which is told elsewhere.
    told: Vec<String>,
}

fn recognise_amended(
    table: &Table,
    agreed: Option<&AgreedSheet>,
    shop_order: DateOrder,
    amendments: &Amendments,
) -> ReadAs {
    let mut read_as = ReadAs::default();
    let mut agreed_kind = match agreed.and_then(|sheet| agreement::agreed_rows(sheet, &mut read_as.problems))
    {
        Some(AgreedRows::Nothing) => return read_as,
        Some(AgreedRows::Kind(kind)) => Some(kind),
        None => None,
    };
    if table.rows().is_empty() {
        return read_as;
    }
    let Some(HeaderRow { index, mut headers }) = header_row::find(table, agreed) else {
        read_as.problems.push(no_headers(table));
        return read_as;
    };
    read_as.header_row = Some(index);
    let others = other_tables::find(table, index, &headers);
    read_as.problems.extend(others.problems);
    read_as.ends_before = others.below;
    headers.truncate(others.beside.unwrap_or(headers.len()));
    let shortened = others.below.map(|below| table.first_rows(below));
    let table = shortened.as_ref().unwrap_or(table);
    let agreed = agreed.filter(|sheet| agreement::is_meant_for(sheet, table, &headers));
    agreed_kind = agreed.and(agreed_kind).or(amendments.kind);
    let samples = (0..headers.len()).map(|column| Sample::of(table, index, column)).collect();
    let mut columns = Columns {
        name: &table.name,
        table,
        header_row: index,
        shop_order,
        headers: &headers,
        samples,
        days: BTreeMap::new(),
        meanings_of_days: BTreeMap::new(),
        figures: BTreeMap::new(),
        agreed: amendments.placed.clone(),
        refused: amendments.refused.clone(),
    };
    if let (Some(sheet), Some(kind)) = (agreed, agreed_kind) {
        agreement::take_agreed(sheet, kind, &amendments.told, &mut columns, &mut read_as.problems);
    }
    if let Some(assignment) = assignment_of(&mut columns, agreed_kind, &mut read_as) {
        read(&mut columns, assignment, agreed, &mut read_as);
    }
    read_as
}

/// What the rows and columns are; `None` (and told as open) where nothing tells what the rows are, or which of two kinds.
fn assignment_of(
    columns: &mut Columns<'_>,
    agreed_kind: Option<RecordKind>,
    read_as: &mut ReadAs,
) -> Option<Assignment> {
    let (table, index) = (columns.table, columns.header_row);
    if let Some(kind) = agreed_kind {
        return Some(columns.assign(kind));
    }
    if columns.is_a_diary() {
        read_as.problems.push(diary(table, index));
        return None;
    }
    let (why, may_be) = match columns.best_kind() {
        Some((assignment, None)) if columns.may_be_only_booked(&assignment) => {
            read_as.open.push(open_points::of_bookings(table, index));
            ("nothing tells whether its work was done or only booked".to_owned(), vec![RecordKind::Job])
        }
        Some((assignment, None)) => return Some(assignment),
        Some((assignment, Some(other))) => {
            let may_be = RecordKind::ALL.into_iter().filter(|kind| [assignment.kind, other].contains(kind));
            let may_be: Vec<RecordKind> = may_be.collect();
            read_as.open.push(open_points::of_kind(table, index, &may_be));
            (format!("nothing tells whether a row is {}", open_points::either(&may_be)), may_be)
        }
        None => {
            read_as.open.push(no_kind(table, columns.headers));
            ("nothing tells what the rows are".to_owned(), RecordKind::ALL.to_vec())
        }
    };
    read_as.may_be = may_be;
    for (index, header) in columns.headers.iter().enumerate().filter(|(_, header)| !header.shown.is_empty()) {
        read_as.left_out.push(LeftOut {
            index,
            header: header.shown.clone(),
            why: why.clone(),
            may_be: Vec::new(),
            is_refused: false,
            may_be_a_check: false,
            examples: columns.samples[index].examples(),
        });
    }
    None
}

/// Writes down how the columns of a sheet of known rows are read.
fn read(
    columns: &mut Columns<'_>,
    mut assignment: Assignment,
    agreed: Option<&AgreedSheet>,
    read_as: &mut ReadAs,
) {
    let (table, index, headers) = (columns.table, columns.header_row, columns.headers);
    if agreed.is_some_and(|sheet| !sheet.columns.is_empty()) {
        keep_sure_ones(&mut assignment, columns);
    }
    read_as.kind = Some(assignment.kind);
    read_as.ticks_are_agreed = agreed.is_some_and(|sheet| sheet.ticks.is_some());
    read_as.lacks_days = columns.lacks_days(assignment.kind, &assignment.assigned);
    read_as.undated_checks_count = agreed.and_then(|sheet| sheet.undated_checks_count);
    let settled = settle::settle(table, index, headers, &assignment.assigned, agreed, columns.shop_order);
    fill_in(read_as, columns, &assignment, settled);
    let may_name_one = |column: &LeftOut| column.may_be.iter().any(|field| field.is_identity());
    let names_a_machine = assignment.assigned.iter().any(|assigned| assigned.field.is_identity());
    if !names_a_machine
        && !read_as.left_out.iter().any(may_name_one)
        && machine_of_sheet(table, read_as).is_none()
    {
        read_as.problems.push(no_identity(table, index, headers));
    }
    read_as.problems.extend(columns.deleted_rows(assignment.kind, &assignment.assigned));
    let months = columns.months_across(&assignment.assigned);
    read_as.problems.extend(open_points::of_months(table, index, headers, &months));
    read_as.open = open_points::of_columns(table, index, read_as);
}

/// Of a sheet whose columns were agreed only these and the sure ones are read: the rest was left out then.
fn keep_sure_ones(assignment: &mut Assignment, columns: &mut Columns<'_>) {
    let mut kept = Vec::new();
    let mut doubtful = Vec::new();
    for assigned in &assignment.assigned {
        let sure = how_sure(assigned, assignment, columns);
        if sure.certainty != Certainty::Likely {
            kept.push(*assigned);
            continue;
        }
        doubtful.push((assigned.column, assigned.field));
        doubtful.extend(sure.rivals.into_iter().map(|rival| (rival, assigned.field)));
    }
    assignment.assigned = kept;
    assignment.suggested.extend(doubtful);
}

/// Writes down what is read and what is not, and why.
fn fill_in(read_as: &mut ReadAs, columns: &mut Columns<'_>, assignment: &Assignment, settled: Vec<Settled>) {
    let (table, header_row) = (columns.table, columns.header_row);
    for (assigned, settled) in assignment.assigned.iter().zip(settled) {
        let sure = how_sure(assigned, assignment, columns);
        read_as.columns.push(ColumnRead {
            index: assigned.column,
            header: columns.headers[assigned.column].shown.clone(),
            field: assigned.field,
            certainty: sure.certainty,
            why: sure.why,
            rivals: sure.rivals,
            is_borne_out: sure.is_borne_out,
            examples: columns.samples[assigned.column]
                .examples_read(assigned.field.shape(), &settled.meaning),
            order_is_assumed: settled.undecided.is_some(),
            order_shown_by: settled.shown_by,
            undecided: settled.undecided,
            contrary: settled.contrary,
            unit_is_open: settled.unit_is_open,
            unsaid_signs: match (assigned.field.shape(), settled.meaning.signs) {
                (Shape::Result, signs) if signs.ticks.is_none() => {
                    columns.samples[assigned.column].unclear_signs(signs)
                }
                _ => Vec::new(),
            },
            proven_order: settled.proven_order,
            came_in_beside: columns.came_in_beside(assigned, assignment),
            meaning: settled.meaning,
        });
    }
    for (index, header) in columns.headers.iter().enumerate() {
        let is_read = assignment.assigned.iter().any(|assigned| assigned.column == index);
        if header.shown.is_empty() || is_read {
            continue;
        }
        let why = Why::of(index, columns, assignment);
        let may_be = match &why {
            Why::MayBe(fields) => fields.clone(),
            // Whoever calls a column as we call the field means it, whatever stands there today.
            // A check before a handover that cannot be read is kept all the same.
            Why::Unlike(field)
                if header.is_named_as(*field)
                    || matches!(field, Field::Handover | Field::Day)
                    || field.is_check_before_a_handover() =>
            {
                vec![*field]
            }
            Why::Unknown(kind) if columns.may_hold_checks(index, *kind) => vec![Field::CheckItem],
            _ => Vec::new(),
        };
        let holds_something = !columns.samples[index].is_blank();
        let is_missed = matches!(why, Why::Unlike(_)) || (matches!(why, Why::WorkedOut) && holds_something);
        if is_missed && may_be.is_empty() {
            let cell = table.origin(table.row(header_row), index);
            let help = "Agree in tickover.toml what it is, or that it is nothing.";
            let problem = Problem::note(&cell, format!("this column is left out: {why}"), help);
            read_as.problems.push(problem.with_value(header.shown.clone()));
        }
        let may_be_a_check = may_be == [Field::CheckItem];
        read_as.left_out.push(LeftOut {
            index,
            header: header.shown.clone(),
            why: why.to_string(),
            may_be,
            is_refused: why == Why::Refused,
            may_be_a_check,
            examples: columns.samples[index].examples(),
        });
    }
    if assignment.kind == RecordKind::Job {
        read_as.problems.extend(columns.checks_in_jobs(assignment));
    }
}

/// How to leave a sheet alone that is none of ours.
const LEAVE_UNREAD: &str = "If it is not for Tickover, agree `rows = \"nothing\"` for it in tickover.toml.";

fn no_headers(table: &Table) -> Problem {
    /// As many rows are searched for headers that are months.
    const ROWS_ABOVE: usize = 20;
    let is_a_month = |cell: Cell<'_>| plain_values::is_a_months(&Header::new(&cell.shown()));
    let months = |row: Row<'_>| row.cells().filter(|cell| is_a_month(*cell)).count();
    if table.rows().iter().take(ROWS_ABOVE).any(|row| months(row) >= plain_values::LEAST_MONTHS) {
        return open_points::of_a_month_a_column(table);
    }
    let help = format!(
        "Put a row above the data that names each column, such as Reg, Date, Mileage, or agree its headers in \
         tickover.toml. {LEAVE_UNREAD}"
    );
    Problem::error(table.whole(), "no row of headers was found in this sheet", help)
}

fn no_kind(table: &Table, headers: &[Header]) -> Problem {
    let months = headers.iter().filter(|header| plain_values::is_a_months(header)).count();
    if months >= plain_values::LEAST_MONTHS {
        return open_points::of_a_month_a_column(table);
    }
    let help = format!(
        "Its headers are {}. Agree in tickover.toml what its rows and columns are. {LEAVE_UNREAD}",
        listed(headers)
    );
    Problem::error(table.whole(), "nothing tells what the rows of this sheet are", help)
}

fn diary(table: &Table, header_row: usize) -> Problem {
    let help = format!("What is booked is not done. {LEAVE_UNREAD}");
    let what = "this looks like a diary of what is booked, so the sheet is not read";
    Problem::error(&table.origin(table.row(header_row), 0), what, help)
}

fn no_identity(table: &Table, header_row: usize, headers: &[Header]) -> Problem {
    let help = format!(
        "Looked for a registration mark, a frame number or a stock number among {}. Add such a column, or agree in \
         tickover.toml which one it is. {LEAVE_UNREAD}",
        listed(headers)
    );
    let what = "no column tells which machine a row is about, so the sheet is not read";
    Problem::error(&table.origin(table.row(header_row), 0), what, help)
}

/// The headers of a sheet in a sentence, cut after a few.
fn listed(headers: &[Header]) -> String {
    /// As many headers as a sentence bears.
    const LISTED: usize = 12;
    let shown: Vec<&str> =
        headers.iter().map(|header| header.shown.as_str()).filter(|text| !text.is_empty()).collect();
    let mut text =
        shown.iter().take(LISTED).map(|header| format!("`{header}`")).collect::<Vec<_>>().join(", ");
    if shown.len() > LISTED {
        text.push_str(&format!(" and {} more", shown.len() - LISTED));
    }
    text
}

/// The check that all rows of a sheet are about, where its name says so and no column does.
pub(super) fn item_of_sheet(table: &Table, read_as: &ReadAs) -> Option<&'static str> {
    let has_item = read_as.columns.iter().any(|column| column.field == Field::Item);
    if has_item { None } else { kind_of_sheet::item_of_sheet(&table.name) }
}

/// The mark of the machine that all rows of a log are about, where no column tells and its worksheet is named by it: a shop
/// may keep a worksheet for each machine.
pub(super) fn machine_of_sheet(table: &Table, read_as: &ReadAs) -> Option<Mark> {
    let may_name_one = read_as.columns.iter().any(|column| column.field.is_identity())
        || read_as.left_out.iter().flat_map(|column| &column.may_be).any(|field| field.is_identity());
    if read_as.is_log() && !may_name_one { written_mark::of_sheet(&table.name) } else { None }
}
