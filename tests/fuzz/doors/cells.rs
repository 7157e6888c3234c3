//! Values of cells, each tried as every field of every kind of row: days, distances, speeds, marks, frame numbers,
//! telephones, oils, results.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use jiff::civil::DateTime;
use tickover::origin::SheetName;
use tickover::problem::{Place, Problem};
use tickover::settings::{AgreedColumn, AgreedSheet, DateOrder, TextForm};
use tickover::sheets::{Cell, Fault, Table};
use tickover::units::DistanceUnit;
use tickover::yard::{Field, ReadAs, RecordKind, Records, recognise, records};

use super::way;

/// The most values of one run.
const VALUES: usize = 3;

/// The first line says how the sheet reads: `m` for the month first, `k` for kilometres, `4` for days from 1904.
/// Each further line is a value: a number where it can be one, `@` before a real date, `#` before an error value.
pub(super) fn cells(bytes: &[u8]) {
    Given::of(&String::from_utf8_lossy(bytes)).read();
}

/// The same values on their way from the cells to what is known of each machine, which takes far longer than to read
/// them; with a `j` in the first line as far as the letter.
pub(super) fn machines(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let given = Given::of(&text);
    let (records, problems) = given.read();
    way::on_from(records, given.unit(), problems, &given.values, given.how.contains('j'));
}

/// What is to be tried, by the lines of the input.
struct Given<'text> {
    how: &'text str,
    values: Vec<&'text str>,
}

impl Given<'_> {
    fn of(text: &str) -> Given<'_> {
        let mut lines = text.lines();
        let how = lines.next().unwrap_or_default();
        Given { how, values: lines.take(VALUES).collect() }
    }

    fn unit(&self) -> DistanceUnit {
        if self.how.contains('k') { DistanceUnit::Kilometres } else { DistanceUnit::Miles }
    }

    /// The rows of all kinds in which the values stand, and what is told of their cells.
    fn read(&self) -> (Records, Vec<Problem>) {
        let table = table(&self.values, self.how.contains('4'));
        let (month_first, in_kilometres) = (self.how.contains('m'), self.how.contains('k'));
        let mut all = Records::default();
        let mut problems = Vec::new();
        for kind in RecordKind::ALL {
            let (more, complaints) =
                records(&table, &SHEETS[&(kind, month_first, in_kilometres)], way::TODAY);
            all.records.extend(more.records);
            problems.extend(complaints);
        }
        (all, problems)
    }
}

/// How a sheet of each kind reads, by whether the month comes first and distances are kilometres. Agreed once, with
/// no value yet, since to recognise so many columns takes far longer than to read them.
static SHEETS: LazyLock<BTreeMap<(RecordKind, bool, bool), ReadAs>> = LazyLock::new(|| {
    let mut sheets = BTreeMap::new();
    for kind in RecordKind::ALL {
        for (month_first, order) in [(false, DateOrder::DayFirst), (true, DateOrder::MonthFirst)] {
            for (in_kilometres, unit) in [(false, DistanceUnit::Miles), (true, DistanceUnit::Kilometres)] {
                let read_as = recognise(&table(&[], false), Some(&agreed(kind, order, unit)), order);
                assert_eq!(read_as.kind, Some(kind), "the sheet is not what was agreed");
                assert!(read_as.columns.len() > 5, "the columns are not what was agreed");
                sheets.insert((kind, month_first, in_kilometres), read_as);
            }
        }
    }
    sheets
});

/// What the header of a field says; made so that no other is like it.
fn header(field: Field) -> String {
    format!("The {} here", field.name())
}

fn agreed(kind: RecordKind, order: DateOrder, unit: DistanceUnit) -> AgreedSheet {
    let place = Place::file("tickover.toml");
    let column = |field: &Field| AgreedColumn::plain(place.clone(), &header(*field), field.name());
    AgreedSheet {
        file: "any.csv".to_owned(),
        sheet: None,
        rows: kind.name().to_owned(),
        columns: Field::ALL.iter().map(column).collect(),
        date_order: Some(order),
        distances: Some(unit),
        down_to: None,
        ticks: None,
        undated_checks_count: None,
        text_form: TextForm::default(),
        place: place.clone(),
    }
}

/// A row of headers; then for each value a row in which it stands everywhere, and one where the machine is known.
fn table(values: &[&str], counts_from_1904: bool) -> Table {
    let headers: Vec<String> = Field::ALL.iter().map(|field| header(*field)).collect();
    let headers: Vec<Cell<'_>> = headers.iter().map(|header| Cell::Text(header)).collect();
    let mut rows = vec![(1, headers)];
    for (number, value) in (2..).step_by(2).zip(values) {
        let everywhere = Field::ALL.iter().map(|_| text(value)).collect();
        let known = |field: &Field| match field {
            Field::Mark => text("AB12 CDE"),
            Field::FrameNumber | Field::StockNumber => Cell::Blank,
            _ => cell(value),
        };
        rows.push((number, everywhere));
        rows.push((number + 1, Field::ALL.iter().map(known).collect()));
    }
    let name = Arc::new(SheetName { file: "any.csv".to_owned(), sheet: None });
    Table::new(name, counts_from_1904, rows)
}

fn text(value: &str) -> Cell<'_> {
    let value = value.trim();
    if value.is_empty() { Cell::Blank } else { Cell::Text(value) }
}

fn cell(value: &str) -> Cell<'_> {
    if let Some(day) = value.strip_prefix('@').and_then(|day| day.parse::<DateTime>().ok()) {
        return Cell::Day(day);
    }
    if value.starts_with('#') {
        return Cell::Fault(Fault::ErrorValue(value));
    }
    match value.parse::<f64>() {
        // No file gives any other.
        Ok(number) if number.is_finite() => Cell::Number(number),
        _ => text(value),
    }
}
