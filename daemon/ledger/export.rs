//! Everything that the ledger keeps as tables of text, which any spreadsheet program opens.

use csv::{Terminator, WriterBuilder};
use rusqlite::Connection;
use rusqlite::types::ValueRef;

use super::body;
use super::failure::Trouble;
use super::places::SheetsByNumber;
use super::words::UNREADABLE;
use crate::origin::Entry;
use crate::yard::{Check, Fill, Identity, Job, Reading, Record, Ride, WrittenDistance};

/// One table of an export.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExportTable {
    /// The name of its file.
    pub file: &'static str,
    /// How many rows it has below its header.
    pub rows: usize,
    /// The file: UTF-8 with a byte-order mark, commas, lines that end in CR LF (RFC 4180).
    pub bytes: Vec<u8>,
}

/// The tables that stand in the ledger as they are exported: the file, its columns, and where they come from. The
/// columns carry the names that they have in the ledger.
const TABLES: [(&str, &str, &str); 8] = [
    (
        "findings.csv",
        "rule, machine, key, state, since, as_of, told, told_settled, section, text, due, body",
        "finding ORDER BY rule, machine, key",
    ),
    (
        "letters.csv",
        "id, day, kind, edition, message_id, made, state, accepted, subject, text, full_list",
        "letter ORDER BY id",
    ),
    ("mails.csv", "id, letter, number, message_id, sections", "mail ORDER BY id"),
    (
        "receivers.csv",
        "mail, address, state, tries, doubts, next_try, words, changed",
        "receiver ORDER BY mail, address",
    ),
    ("rules.csv", "name, source, gone, since", "rule ORDER BY name"),
    ("rule-texts.csv", "id, hash, source", "rule_text ORDER BY id"),
    ("letter-rules.csv", "letter, rule, text", "in_force ORDER BY letter, rule"),
    ("named.csv", "name, last_seen", "named ORDER BY name"),
];

/// The page that lies beside the tables, by its name and text: what each file and column is.
pub const EXPORT_PAGE: (&str, &str) = ("README.txt", include_str!("export.txt"));

/// The names of an export's files.
pub fn export_files() -> impl Iterator<Item = &'static str> {
    let tables = RECORD_FILES.iter().map(|(file, _)| *file).chain(TABLES.iter().map(|(file, ..)| *file));
    tables.chain([EXPORT_PAGE.0])
}

/// The files of the records by their kind, with the columns of that kind.
const RECORD_FILES: [(&str, &[&str]); 5] = [
    ("readings.csv", &["day", "clock", "clock unit"]),
    ("jobs.csv", &["day", "done", "clock", "clock unit", "oil", "by", "doubt"]),
    ("checks.csv", &["day", "item", "result", "remark", "by"]),
    (
        "rides.csv",
        &["day", "distance", "distance unit", "top speed", "speed from", "clock", "clock unit", "by"],
    ),
    ("fills.csv", &["day", "clock", "clock unit", "volume", "grade", "full"]),
];

/// What stands before the columns of each record.
const OF_MACHINE: [&str; 3] = ["mark", "frame number", "stock number"];

/// What stands after them: when the row was first and last seen, where it stood then, and since when it counts no more.
const OF_ROW: [&str; 6] = ["first seen", "last seen", "file", "sheet", "row", "taken back"];

/// Everything that is kept, table by table.
pub(super) fn export(connection: &Connection) -> Result<Vec<ExportTable>, Trouble> {
    let mut tables = record_tables(connection)?;
    for (file, columns, from) in TABLES {
        tables.push(as_kept(connection, file, columns, from)?);
    }
    Ok(tables)
}

/// A table of the ledger as it stands there.
fn as_kept(
    connection: &Connection,
    file: &'static str,
    columns: &str,
    from: &str,
) -> Result<ExportTable, Trouble> {
    let mut table = Table::new(file, columns.split(", ").map(str::to_owned).collect());
    let mut statement = connection.prepare(&format!("SELECT {columns} FROM {from}"))?;
    let count = statement.column_count();
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let mut cells = Vec::with_capacity(count);
        for column in 0..count {
            cells.push(match row.get_ref(column)? {
                ValueRef::Null => String::new(),
                ValueRef::Integer(number) => number.to_string(),
                ValueRef::Text(text) => std::str::from_utf8(text).map_err(|_| UNREADABLE)?.to_owned(),
                ValueRef::Real(_) | ValueRef::Blob(_) => return Err(UNREADABLE),
            });
        }
        table.add(cells);
    }
    Ok(table.finished())
}

/// The records, one table for each kind.
fn record_tables(connection: &Connection) -> Result<Vec<ExportTable>, Trouble> {
    let mut tables = RECORD_FILES.map(|(file, columns)| {
        let header = OF_MACHINE.iter().chain(columns).chain(&OF_ROW);
        Table::new(file, header.map(|name| (*name).to_owned()).collect())
    });
    let sheets = SheetsByNumber::read(connection)?;
    let mut statement =
        connection.prepare("SELECT first_seen, last_seen, body, withdrawn FROM record ORDER BY id")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (identity, record) = body::read(row.get_ref(2)?.as_str().map_err(|_| UNREADABLE)?, &sheets)?;
        let Some((table, cells)) = said(&record) else { return Err(UNREADABLE) };
        let names = identity.names().map(|name| name.unwrap_or_default().to_owned());
        let seen = [row.get(0)?, row.get(1)?];
        let taken_back = row.get::<_, Option<String>>(3)?.unwrap_or_default();
        let cells = names.into_iter().chain(cells).chain(seen).chain(place(&identity));
        tables[table].add(cells.chain([taken_back]).collect());
    }
    Ok(tables.map(Table::finished).into())
}

/// Where the row of a record stood: file, worksheet, row.
fn place(identity: &Identity) -> [String; 3] {
    match identity.cell() {
        Some(cell) => {
            [cell.name.file.clone(), cell.name.sheet.clone().unwrap_or_default(), cell.row.to_string()]
        }
        None => Default::default(),
    }
}

/// Which of [`RECORD_FILES`] a record belongs to, and its cells there.
fn said(record: &Record) -> Option<(usize, Vec<String>)> {
    Some(match record {
        Record::Machine(_) => return None,
        Record::Reading(Reading { day, clock }) => {
            let [figure, unit] = distance(Some(clock));
            (0, vec![day.value.to_string(), figure, unit])
        }
        Record::Job(Job { day, done, clock, oil, by, doubt }) => {
            let [figure, unit] = distance(clock.as_ref());
            (1, vec![shown(day), done.value.clone(), figure, unit, shown(oil), shown(by), shown(doubt)])
        }
        Record::Check(Check { day, time: _, item, result, remark, by }) => (
            2,
            vec![
                shown(day),
                item.value.clone(),
                word(&result.value),
                remark.clone().unwrap_or_default(),
                shown(by),
            ],
        ),
        Record::Ride(Ride { day, distance: ridden, top_speed, speed_source, clock, by }) => {
            let [far, far_unit] = distance(ridden.as_ref());
            let [figure, unit] = distance(clock.as_ref());
            let source = speed_source.as_ref().map(|source| word(&source.value)).unwrap_or_default();
            (3, vec![shown(day), far, far_unit, shown(top_speed), source, figure, unit, shown(by)])
        }
        Record::Fill(Fill { day, clock, volume, grade, full }) => {
            let [figure, unit] = distance(clock.as_ref());
            let full = full.as_ref().map_or("", |full| if full.value { "yes" } else { "no" });
            (4, vec![shown(day), figure, unit, shown(volume), shown(grade), full.to_owned()])
        }
    })
}

fn shown<T: ToString>(entry: &Option<Entry<T>>) -> String {
    entry.as_ref().map(|entry| entry.value.to_string()).unwrap_or_default()
}

/// A word of a few as the ledger writes it.
fn word<T: serde::Serialize>(value: &T) -> String {
    super::words::written_word(value).replace('_', " ")
}

/// The figure and the unit; no unit where the row does not say it.
fn distance(entry: Option<&Entry<WrittenDistance>>) -> [String; 2] {
    let Some(Entry { value: WrittenDistance { tenths, unit }, .. }) = entry else {
        return Default::default();
    };
    let sign = if *tenths < 0 { "-" } else { "" };
    let (whole, tenth) = (tenths.unsigned_abs() / 10, tenths.unsigned_abs() % 10);
    let figure = if tenth == 0 { format!("{sign}{whole}") } else { format!("{sign}{whole}.{tenth}") };
    [figure, unit.as_ref().map(word).unwrap_or_default()]
}

/// A table while it is written.
struct Table {
    file: &'static str,
    rows: usize,
    writer: csv::Writer<Vec<u8>>,
}

impl Table {
    fn new(file: &'static str, header: Vec<String>) -> Table {
        // Without the mark spreadsheet programs take UTF-8 for an older encoding.
        let beginning = "\u{feff}".as_bytes().to_vec();
        let writer = WriterBuilder::new().terminator(Terminator::CRLF).from_writer(beginning);
        let mut table = Table { file, rows: 0, writer };
        table.write(header);
        table
    }

    fn add(&mut self, cells: Vec<String>) {
        self.rows += 1;
        self.write(cells);
    }

    fn write(&mut self, cells: Vec<String>) {
        let cells = cells.into_iter().map(harmless_cell);
        self.writer.write_record(cells).expect("rows of one width can always be written to memory");
    }

    fn finished(self) -> ExportTable {
        let bytes = self.writer.into_inner().expect("text can always be written to memory");
        ExportTable { file: self.file, rows: self.rows, bytes }
    }
}

/// A cell that no spreadsheet program takes for a formula: one that begins with `=`, `+`, `-`, `@`, a tab or a line end
/// gets a `'` before it (OWASP, "CSV Injection"). One that begins with `'` gets another, so that taking the first `'`
/// away gives back what is kept.
fn harmless_cell(cell: String) -> String {
    if cell.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\'']) { format!("'{cell}") } else { cell }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Section;

    /// What the page says under a file's name, up to the next file's.
    fn said_of(file: &str) -> &'static str {
        let page = EXPORT_PAGE.1;
        let begin = page.find(&format!("\n{file}")).map(|place| place + 1);
        let rest = begin.and_then(|begin| page.get(begin..)).unwrap_or_default();
        rest.split_once("\n\n").map_or(rest, |(here, _)| here)
    }

    #[test]
    fn the_page_beside_the_tables_explains_every_file_column_and_section() {
        let page = EXPORT_PAGE.1;
        // At the begin of a line, alone or in a row of names before the explanation.
        let explains = |text: &str, column: &str| {
            let names = text.lines().filter_map(|line| line.strip_prefix("  ")?.split("  ").next());
            names.flat_map(|names| names.split(", ")).any(|name| name == column)
        };
        for (file, columns, _) in TABLES {
            for column in columns.split(", ") {
                assert!(explains(said_of(file), column), "{file}: {column}");
            }
        }
        for (file, columns) in RECORD_FILES {
            assert!(page.contains(&format!("\n{file} ")), "{file}");
            for column in columns.iter().chain(&OF_MACHINE).chain(&OF_ROW) {
                assert!(explains(said_of("  mark"), column), "{file}: {column}");
            }
        }
        for section in Section::ALL {
            let is_explained = |line: &str| {
                let mut parts = line.split("  ").map(str::trim).filter(|part| !part.is_empty());
                parts.next() == Some(&super::super::words::written_word(&section))
                    && parts.next() == Some(section.heading())
            };
            assert!(page.lines().any(is_explained), "{section:?}");
        }
    }
}
