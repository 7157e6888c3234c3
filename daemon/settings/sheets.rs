//! Reads what was agreed of each sheet: the `[[sheet]]` tables of the settings file.

use toml::de::{DeTable, DeValue};

use super::read::unknown_key;
use super::text::{Fault, Source};
use super::text_form::{delimiter, encoding};
use super::values::{Value, count, date_order, ticks, unit, words, yes_or_no};
use super::{AgreedColumn, AgreedSheet, DateOrder, TextForm};
use crate::problem::Place;
use crate::units::DistanceUnit;

/// The most sheets that can be agreed; a shop has a dozen.
const SHEETS_MOST: usize = 200;

/// The most columns of a sheet that can be agreed: as many as are read by default.
const COLUMNS_MOST: usize = 512;

const KEYS: [&str; 11] = [
    "file",
    "sheet",
    "rows",
    "delimiter",
    "encoding",
    "dates",
    "distances",
    "down_to",
    "ticks",
    "undated_checks_count",
    "columns",
];

/// More machines or rows than any sheet has.
const ROWS_MOST: u64 = 10_000_000;

/// The agreed sheets in the file's order. One that lacks its file or its rows is left out and told.
pub(super) fn read_sheets(
    value: Value<'_>,
    source: &Source<'_>,
    faults: &mut Vec<Fault>,
) -> Vec<AgreedSheet> {
    let span = value.span();
    let array = match value.into_inner() {
        DeValue::Array(array) if array.len() <= SHEETS_MOST => array,
        DeValue::Array(_) => {
            let help = format!("Keep it to {SHEETS_MOST}; a * in a file's name takes a whole series.");
            faults.push(Fault::new(span, "there are too many sheets", help));
            return Vec::new();
        }
        _ => {
            let help = "Write it with two brackets, [[sheet]], since there can be several.";
            faults.push(Fault::new(span, "this sheet is written with one bracket", help));
            return Vec::new();
        }
    };
    let mut sheets: Vec<AgreedSheet> = Vec::new();
    for value in array {
        let span = value.span();
        let DeValue::Table(table) = value.into_inner() else {
            faults.push(Fault::new(span, "a sheet is a heading with keys below it", "Write [[sheet]]."));
            continue;
        };
        let Some(sheet) = read_sheet(&table, &span, source, faults) else { continue };
        match sheets.iter().find(|other| same_sheet(other, &sheet)) {
            Some(other) => {
                let what = format!("the sheet {} is agreed twice", shown(&sheet));
                let help = format!("Take one out; until then only the first one counts, at {}.", other.place);
                faults.push(Fault::new(span, what, help));
            }
            None => sheets.push(sheet),
        }
    }
    sheets
}

fn same_sheet(one: &AgreedSheet, other: &AgreedSheet) -> bool {
    one.file.to_lowercase() == other.file.to_lowercase() && one.sheet == other.sheet
}

/// A sheet as a message names it.
fn shown(sheet: &AgreedSheet) -> String {
    match &sheet.sheet {
        Some(worksheet) => format!("{}, {worksheet}", sheet.file),
        None => sheet.file.clone(),
    }
}

fn read_sheet(
    table: &DeTable<'_>,
    span: &std::ops::Range<usize>,
    source: &Source<'_>,
    faults: &mut Vec<Fault>,
) -> Option<AgreedSheet> {
    for (name, value) in table.iter().filter(|(name, _)| !KEYS.contains(&name.get_ref().as_ref())) {
        faults.extend(unknown_key(name, value, "under [[sheet]]", &KEYS));
    }
    let unless = |key: &str, consequence: &str| format!(" (`{key}`) Until then {consequence}.");
    let file = taken(table, "file", words, &unless("file", "this sheet is not agreed"), faults);
    let rows = taken(table, "rows", words, &unless("rows", "this sheet is not agreed"), faults);
    let sheet = taken(table, "sheet", words, &unless("sheet", "every worksheet is meant"), faults);
    let date_order = taken(table, "dates", date_order, &unless("dates", "[shop] decides"), faults);
    let distances = taken(table, "distances", unit, &unless("distances", "[shop] decides"), faults);
    let down_to = taken(
        table,
        "down_to",
        |value| count(value, 0..=ROWS_MOST),
        &unless("down_to", "what is missing is held for a while"),
        faults,
    );
    let ticks = taken(table, "ticks", ticks, &unless("ticks", "a bare x or tick is no result"), faults);
    let undated_checks_count = taken(
        table,
        "undated_checks_count",
        yes_or_no,
        &unless("undated_checks_count", "a check without a day does not count"),
        faults,
    );
    let text_form = read_text_form(table, faults);
    let columns = read_columns(table, source, faults);
    for (key, missing) in [("file", !table.contains_key("file")), ("rows", !table.contains_key("rows"))] {
        if missing {
            let help = format!("Add a line `{key} = \"…\"` below it. Until then this sheet is not agreed.");
            faults.push(Fault::new(span.clone(), format!("this sheet lacks `{key}`"), help));
        }
    }
    Some(AgreedSheet {
        place: source.place(span),
        file: file?,
        sheet,
        rows: rows?,
        columns,
        date_order,
        distances,
        down_to: down_to.and_then(|count| usize::try_from(count).ok()),
        ticks,
        undated_checks_count,
        text_form,
    })
}

/// How a text file is written. Beside the name of a worksheet it would never count, since only a workbook has those.
fn read_text_form(table: &DeTable<'_>, faults: &mut Vec<Fault>) -> TextForm {
    for (name, _) in table.iter().filter(|_| table.contains_key("sheet")) {
        let key = name.get_ref();
        if ["delimiter", "encoding"].contains(&key.as_ref()) {
            let what = format!("`{key}` is for a text file, and only a workbook has a `sheet`");
            faults.push(Fault::new(name.span(), what, "Take one of the two out."));
        }
    }
    let follows = |key: &str| format!(" (`{key}`) Until then the file itself decides.");
    TextForm {
        delimiter: taken(table, "delimiter", delimiter, &follows("delimiter"), faults),
        encoding: taken(table, "encoding", encoding, &follows("encoding"), faults),
    }
}

/// The value of a key where it is there and right; the fault is told with what follows from it.
fn taken<T>(
    table: &DeTable<'_>,
    key: &str,
    read: impl Fn(&Value<'_>) -> Result<T, Fault>,
    follows: &str,
    faults: &mut Vec<Fault>,
) -> Option<T> {
    match read(table.get(key)?) {
        Ok(value) => Some(value),
        Err(mut fault) => {
            fault.help.push_str(follows);
            faults.push(fault);
            None
        }
    }
}

fn read_columns(table: &DeTable<'_>, source: &Source<'_>, faults: &mut Vec<Fault>) -> Vec<AgreedColumn> {
    let Some(value) = table.get("columns") else { return Vec::new() };
    let columns = match value.get_ref() {
        DeValue::Table(columns) if columns.len() <= COLUMNS_MOST => columns,
        _ => {
            let help = "Write [sheet.columns] and below it one \"Header\" = \"field\" a line. Until then its \
                        columns are not agreed.";
            faults.push(Fault::new(
                value.span(),
                "`columns` is a heading with at most 512 keys below it",
                help,
            ));
            return Vec::new();
        }
    };
    let mut entries: Vec<_> = columns.iter().collect();
    entries.sort_by_key(|(header, _)| header.span().start);
    let mut agreed = Vec::new();
    for (header, value) in entries {
        match words(value) {
            Ok(text) => match agreed_column(&text) {
                Some(column) => {
                    let (place, header) = (source.place(&header.span()), header.get_ref().to_string());
                    agreed.push(AgreedColumn { place, header, ..column });
                }
                None => faults.push(Fault::new(
                    value.span(),
                    "what stands behind the comma is not known",
                    "Write `right since` and the day that the letter gives: \"clock, right since 2026-03-02\"; or `day first` or \
                     `month first`. Until then this column is not agreed.",
                )),
            },
            Err(mut fault) => {
                fault.help.push_str(" Until then this column is not agreed.");
                faults.push(fault);
            }
        }
    }
    agreed
}

/// A field, with what its distances count in, which of day and month comes first and since when its values are right,
/// where that stands behind it: `clock in km, right since 2026-03-02`; `None` where nobody can tell what stands behind it.
fn agreed_column(text: &str) -> Option<AgreedColumn> {
    let mut parts = text.split(',');
    let text = parts.next()?;
    let (mut date_order, mut right_since) = (None, None);
    for part in parts {
        let part: String = part.split_whitespace().collect::<Vec<_>>().join(" ");
        let orders = [DateOrder::DayFirst, DateOrder::MonthFirst];
        match orders.into_iter().find(|order| order.written() == part) {
            Some(order) if date_order.is_none() => date_order = Some(order),
            None if right_since.is_none() => {
                right_since = Some(part.strip_prefix("right since ")?.parse().ok()?);
            }
            _ => return None,
        }
    }
    let (field, distances) = [(" in km", DistanceUnit::Kilometres), (" in miles", DistanceUnit::Miles)]
        .into_iter()
        .find_map(|(ending, unit)| Some((text.trim().strip_suffix(ending)?, Some(unit))))
        .unwrap_or((text, None));
    let column = AgreedColumn::plain(Place::file(""), "", field.trim());
    Some(AgreedColumn { distances, date_order, right_since, ..column })
}

/// What stands behind a header, as [`agreed_column`] reads it.
pub(super) fn written_column(column: &AgreedColumn) -> String {
    let unit = match column.distances {
        Some(DistanceUnit::Kilometres) => " in km",
        Some(DistanceUnit::Miles) => " in miles",
        None => "",
    };
    let order = column.date_order.map(|order| format!(", {}", order.written())).unwrap_or_default();
    let since = column.right_since.map(|day| format!(", right since {day}")).unwrap_or_default();
    format!("{}{unit}{order}{since}", column.field)
}
