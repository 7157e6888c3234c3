//! Which column of a sheet is what: found by header and values, agreed by the owner, or left out and listed.

use super::assign::{self, Assigned, Assignment, Columns, SURE_SHARE};
use super::cells::Meaning;
use super::field::Shape;
use super::header::Header;
use super::header_row::{self, HeaderRow};
use super::settle::{self, Settled};
use super::shape::Sample;
use super::{Field, RecordKind};
use crate::problem::{Place, Problem, Spot, nearest};
use crate::settings::{AgreedSheet, DateOrder};
use crate::sheets::Table;

/// The word in `tickover.toml` for a sheet or a column that is left unread.
pub(super) const NOTHING: &str = "nothing";

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
    /// Up to three of its values, as they stand in the sheet.
    pub examples: Vec<String>,
    /// Whether its dates of figures are read by the shop's setting because nothing in the sheet tells their order.
    pub order_is_assumed: bool,
    /// How its figures are meant.
    pub(super) meaning: Meaning,
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
    /// Up to three of its values, as they stand in the sheet.
    pub examples: Vec<String>,
}

/// How a sheet is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadAs {
    /// What its rows are; `None` when the sheet is left unread.
    pub kind: Option<RecordKind>,
    /// The place of the row of headers among the table's rows; `None` when none was found.
    pub header_row: Option<usize>,
    /// The columns that are read, from left to right.
    pub columns: Vec<ColumnRead>,
    /// The columns with a header that are not read, from left to right.
    pub left_out: Vec<LeftOut>,
    /// What is wrong with the sheet as a whole, or with what was agreed of it.
    pub problems: Vec<Problem>,
}

/// Finds out what a sheet is. What was agreed goes before anything that is found; `shop_order` decides only where
/// neither the column nor the agreement tells which of day and month comes first.
pub fn recognise(table: &Table, agreed: Option<&AgreedSheet>, shop_order: DateOrder) -> ReadAs {
    let mut read_as = ReadAs::default();
    let agreed_kind = match agreed.and_then(|sheet| agreed_rows(sheet, &mut read_as.problems)) {
        Some(AgreedRows::Nothing) => return read_as,
        Some(AgreedRows::Kind(kind)) => Some(kind),
        None => None,
    };
    if table.rows.is_empty() {
        return read_as;
    }
    let Some(HeaderRow { index, headers }) = header_row::find(table, agreed) else {
        read_as.problems.push(no_headers(table));
        return read_as;
    };
    read_as.header_row = Some(index);
    let samples = (0..headers.len()).map(|column| Sample::of(table, index, column)).collect();
    let mut columns =
        Columns { name: &table.name, headers: &headers, samples, agreed: Vec::new(), refused: Vec::new() };
    if let (Some(sheet), Some(kind)) = (agreed, agreed_kind) {
        take_agreed(sheet, kind, &mut columns, &mut read_as.problems);
    }
    let assignment = match agreed_kind {
        Some(kind) => Some(columns.assign(kind)),
        None => columns.best_kind(),
    };
    let Some(mut assignment) = assignment else {
        read_as.problems.push(no_kind(table, &headers));
        return read_as;
    };
    if agreed_kind.is_some() {
        keep_sure_ones(&mut assignment, &mut columns);
    }
    read_as.kind = Some(assignment.kind);
    if !assignment.assigned.iter().any(|assigned| assigned.field.is_identity()) {
        read_as.problems.push(no_identity(table, &headers));
    }
    let settled = settle::settle(table, index, &headers, &assignment.assigned, agreed, shop_order);
    fill_in(&mut read_as, &mut columns, &assignment, &settled);
    read_as
}

/// What the rows of a sheet were agreed to be.
enum AgreedRows {
    Nothing,
    Kind(RecordKind),
}

/// What was agreed; `None` (and told) when its word is not known.
fn agreed_rows(agreed: &AgreedSheet, problems: &mut Vec<Problem>) -> Option<AgreedRows> {
    if agreed.rows.trim().eq_ignore_ascii_case(NOTHING) {
        return Some(AgreedRows::Nothing);
    }
    if let Some(kind) = RecordKind::named(&agreed.rows) {
        return Some(AgreedRows::Kind(kind));
    }
    let allowed = RecordKind::ALL.map(RecordKind::name);
    let near = nearest(&agreed.rows, allowed.into_iter().chain([NOTHING]));
    let meant = near.map(|word| format!("Did you mean `{word}`? ")).unwrap_or_default();
    let help = format!(
        "{meant}Write {}, or {NOTHING} to leave the sheet unread. Until then the sheet is read as it looks.",
        allowed.join(", ")
    );
    let what = "these rows are of no kind that is known";
    problems.push(Problem::error(agreed.place.clone(), what, help).with_value(agreed.rows.clone()));
    None
}

/// Looks up the agreed columns in the sheet, and says which of them cannot be.
fn take_agreed(
    agreed: &AgreedSheet,
    kind: RecordKind,
    columns: &mut Columns<'_>,
    problems: &mut Vec<Problem>,
) {
    for column in &agreed.columns {
        let header = Header::new(&column.header);
        let taken = |index: usize| {
            columns.agreed.iter().any(|(taken, _)| *taken == index) || columns.refused.contains(&index)
        };
        let exact = |other: &Header| other.shown == header.shown;
        let find = |fits: &dyn Fn(&Header) -> bool| {
            columns.headers.iter().enumerate().find(|(index, other)| fits(other) && !taken(*index))
        };
        let found = find(&exact).or_else(|| find(&|other| other.is_same(&header))).map(|(index, _)| index);
        let Some(index) = found else {
            problems.push(header_gone(column, columns));
            continue;
        };
        if column.field.trim().eq_ignore_ascii_case(NOTHING) {
            columns.refused.push(index);
            continue;
        }
        match Field::named(&column.field, kind) {
            Some(field)
                if field != Field::CheckItem && columns.agreed.iter().any(|(_, taken)| *taken == field) =>
            {
                let help = "Keep one of the two lines. Until then the first one counts.";
                let what = format!("two columns are agreed to be the {}", field.name());
                problems
                    .push(Problem::error(column.place.clone(), what, help).with_value(column.header.clone()));
                columns.refused.push(index);
            }
            Some(field) => columns.agreed.push((index, field)),
            None => problems.push(unknown_field(column, kind)),
        }
    }
}

fn header_gone(column: &crate::settings::AgreedColumn, columns: &Columns<'_>) -> Problem {
    let near = nearest(&column.header, columns.headers.iter().map(|header| header.shown.as_str()));
    let meant = near.filter(|near| !near.is_empty()).map(|near| format!("Did you mean `{near}`? "));
    let help = format!(
        "{}Write the header as it stands in the sheet, or take the line out. Until then the column is looked for \
         by its name alone.",
        meant.unwrap_or_default()
    );
    let file = columns.name.file.as_str();
    Problem::error(column.place.clone(), format!("no column of {file} has this header"), help)
        .with_value(column.header.clone())
}

fn unknown_field(column: &crate::settings::AgreedColumn, kind: RecordKind) -> Problem {
    let names: Vec<&str> = Field::of(kind).map(Field::name).collect();
    let near = nearest(&column.field, names.iter().copied());
    let meant = near.map(|name| format!("Did you mean `{name}`? ")).unwrap_or_default();
    let help = format!(
        "{meant}A {} has: {}; or {NOTHING} to leave the column out. Until then the column is looked for by its \
         name alone.",
        kind.name(),
        names.join(", ")
    );
    Problem::error(column.place.clone(), "this is no field that is known", help)
        .with_value(column.field.clone())
}

/// Of a sheet that was agreed only what is agreed or sure is read: the rest was left out when it was agreed.
fn keep_sure_ones(assignment: &mut Assignment, columns: &mut Columns<'_>) {
    let (kept, doubtful): (Vec<Assigned>, Vec<Assigned>) =
        assignment.assigned.iter().partition(|assigned| certainty(assigned, columns) != Certainty::Likely);
    assignment.assigned = kept;
    assignment.suggested.extend(doubtful.into_iter().map(|one| (one.column, one.field)));
}

fn certainty(assigned: &Assigned, columns: &mut Columns<'_>) -> Certainty {
    if columns.agreed.iter().any(|(column, _)| *column == assigned.column) {
        return Certainty::Agreed;
    }
    let shape = assigned.field.shape();
    // Words and free text can be no surer than their header.
    let least = if matches!(shape, Shape::Anything) { 0.0 } else { SURE_SHARE };
    let is_sure = assigned.is_exact && columns.samples[assigned.column].share(shape) >= least;
    if is_sure { Certainty::Sure } else { Certainty::Likely }
}

/// Writes down what is read and what is not, and why.
fn fill_in(read_as: &mut ReadAs, columns: &mut Columns<'_>, assignment: &Assignment, settled: &[Settled]) {
    for (assigned, settled) in assignment.assigned.iter().zip(settled) {
        read_as.columns.push(ColumnRead {
            index: assigned.column,
            header: columns.headers[assigned.column].shown.clone(),
            field: assigned.field,
            certainty: certainty(assigned, columns),
            examples: columns.samples[assigned.column].examples(),
            order_is_assumed: settled.order_is_assumed,
            meaning: settled.meaning,
        });
    }
    for (index, header) in columns.headers.iter().enumerate() {
        let is_read = assignment.assigned.iter().any(|assigned| assigned.column == index);
        if header.shown.is_empty() || is_read {
            continue;
        }
        read_as.left_out.push(LeftOut {
            index,
            header: header.shown.clone(),
            why: why_left_out(index, columns, assignment),
            examples: columns.samples[index].examples(),
        });
    }
}

/// Why a column is not read, as a phrase.
fn why_left_out(index: usize, columns: &Columns<'_>, assignment: &Assignment) -> String {
    if columns.refused.contains(&index) {
        return "tickover.toml leaves it out".to_owned();
    }
    let known = columns.headers[index].fields(assignment.kind);
    let taker = known.iter().find_map(|field| assignment.assigned.iter().find(|taken| taken.field == *field));
    if let Some(taker) = taker {
        let other = &columns.headers[taker.column].shown;
        return format!("column `{other}` is taken as the {} already", taker.field.name());
    }
    if let Some(field) = known.first() {
        return format!("by its header it is the {}, but its values do not look like one", field.name());
    }
    let suggested: Vec<&str> = assignment
        .suggested
        .iter()
        .filter(|(column, _)| *column == index)
        .map(|(_, field)| field.name())
        .collect();
    if suggested.is_empty() {
        format!("no field of a {} has a header like it", assignment.kind.name())
    } else {
        format!("it may be the {}", suggested.join(" or the "))
    }
}

/// The sheet as a whole.
fn whole(table: &Table) -> Place {
    Place { file: table.name.file.clone(), sheet: table.name.sheet.clone(), spot: Spot::Whole }
}

/// How to leave a sheet alone that is none of ours.
const LEAVE_UNREAD: &str = "If it is not for Tickover, agree `rows = \"nothing\"` for it in tickover.toml.";

fn no_headers(table: &Table) -> Problem {
    let help = format!(
        "Put a row above the data that names each column, such as Reg, Date, Mileage, or agree its headers in \
         tickover.toml. {LEAVE_UNREAD}"
    );
    Problem::error(whole(table), "no row of headers was found in this sheet", help)
}

fn no_kind(table: &Table, headers: &[Header]) -> Problem {
    let help = format!(
        "Its headers are {}. Agree in tickover.toml what its rows and columns are. {LEAVE_UNREAD}",
        listed(headers)
    );
    Problem::error(whole(table), "nothing tells what the rows of this sheet are", help)
}

fn no_identity(table: &Table, headers: &[Header]) -> Problem {
    let help = format!(
        "Looked for a registration mark, a frame number or a stock number among {}. Add such a column, or agree in \
         tickover.toml which one it is. {LEAVE_UNREAD}",
        listed(headers)
    );
    Problem::error(
        whole(table),
        "no column tells which machine a row is about, so the sheet is not read",
        help,
    )
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
    if has_item { None } else { assign::item_of_sheet(&table.name) }
}
