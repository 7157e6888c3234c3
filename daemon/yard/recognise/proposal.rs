//! What `setup` shows of a sheet that it has looked at, and what it writes down as agreed.

use super::agreement::NOTHING;
use super::{Certainty, ColumnRead, ReadAs, machine_of_sheet, undated};
use crate::origin::column_name;
use crate::problem::Place;
use crate::settings::{AgreedColumn, AgreedSheet, DateOrder, TextForm};
use crate::sheets::Table;
use crate::units::{DistanceUnit, SpeedUnit, VolumeUnit};
use crate::yard::days::ColumnOrder;
use crate::yard::field::Shape;

/// The settings file, where what is agreed will stand.
const SETTINGS_FILE: &str = "tickover.toml";

/// A sheet's columns with the evidence, one line each: header, values, field, how sure; then those left out.
pub fn proposal(table: &Table, read_as: &ReadAs) -> String {
    let mut text = format!("{}: ", table.name);
    match read_as.kind.zip(read_as.header_row) {
        Some((kind, row)) => {
            let number = table.row(row).number;
            let of_machine = machine_of_sheet(table, read_as);
            let of_machine =
                of_machine.map(|mark| format!(", each of {mark} by the sheet's name")).unwrap_or_default();
            text.push_str(&format!("one {} a row{of_machine}, headers in row {number}\n", kind.name()));
        }
        None => text.push_str("not read\n"),
    }
    let mut lines: Vec<(usize, [String; 4])> = Vec::new();
    for column in &read_as.columns {
        let how_sure = match column.certainty {
            Certainty::Agreed => "agreed".to_owned(),
            Certainty::Sure => format!("sure: {}", column.why),
            Certainty::Likely => format!("likely, please look: {}", column.why),
        };
        let field = format!("{}{}", column.field.name(), how_meant(column));
        lines.push((
            column.index,
            [heading(column.index, &column.header), shown(&column.examples), field, how_sure],
        ));
    }
    for column in &read_as.left_out {
        let why = format!("left out: {}", column.why);
        lines.push((
            column.index,
            [heading(column.index, &column.header), shown(&column.examples), why, String::new()],
        ));
    }
    lines.sort_by_key(|(index, _)| *index);
    let width = |cell: usize| lines.iter().map(|(_, line)| line[cell].chars().count()).max().unwrap_or(0);
    let widths = [width(0), width(1), width(2)];
    for (_, line) in &lines {
        let padded: Vec<String> = line
            .iter()
            .zip(widths.iter().chain([&0]))
            .map(|(cell, width)| format!("{cell:width$}"))
            .collect();
        text.push_str(&format!("  {}\n", padded.join("  ").trim_end()));
    }
    text
}

pub(super) fn heading(index: usize, header: &str) -> String {
    format!("{} {header}", column_name(u32::try_from(index).unwrap_or(u32::MAX)))
}

/// A column's values, each cut to what a line bears.
pub(super) fn shown(examples: &[String]) -> String {
    /// As many characters of one value as a line of a proposal bears.
    const LONGEST: usize = 18;
    if examples.is_empty() {
        return "(nothing written yet)".to_owned();
    }
    let cut = |value: &String| {
        // A line end inside a cell would break the table.
        let value = value.split_whitespace().collect::<Vec<_>>().join(" ");
        match value.char_indices().nth(LONGEST) {
            Some((end, _)) => format!("{}…", &value[..end]),
            None => value,
        }
    };
    examples.iter().map(cut).collect::<Vec<_>>().join(", ")
}

/// How a column's figures are meant, where that is not plain: `, in km`, `, day first (assumed)`.
fn how_meant(column: &ColumnRead) -> String {
    let meaning = &column.meaning;
    match column.field.shape() {
        Shape::Distance => match meaning.distance_unit {
            Some(DistanceUnit::Miles) => ", in miles".to_owned(),
            Some(DistanceUnit::Kilometres) => ", in km".to_owned(),
            None => String::new(),
        },
        Shape::Speed if meaning.speed_unit == SpeedUnit::KilometresAnHour => ", in km/h".to_owned(),
        Shape::Speed => ", in mph".to_owned(),
        Shape::Volume if meaning.volume_unit != VolumeUnit::Litres => {
            format!(", in {}", meaning.volume_unit.plural())
        }
        Shape::Day | Shape::DayOrFlag => match (meaning.order, column.order_is_assumed) {
            (ColumnOrder::Doubtful(_), _) => ", day or month first (open)".to_owned(),
            (ColumnOrder::Mixed, _) => ", day first and month first mixed".to_owned(),
            (ColumnOrder::Settled(order) | ColumnOrder::Expected(order), is_assumed) => {
                if let Some(cell) = &column.order_shown_by {
                    return format!(", {} ({cell})", order.written());
                }
                match (order, is_assumed) {
                    (DateOrder::DayFirst, true) => ", day first (assumed)".to_owned(),
                    (DateOrder::MonthFirst, true) => ", month first (assumed)".to_owned(),
                    (DateOrder::MonthFirst, false) => ", month first".to_owned(),
                    (DateOrder::DayFirst, false) => String::new(),
                }
            }
        },
        _ => String::new(),
    }
}

/// What is to be written into the settings: the sure columns; a sheet that is not read is agreed to be nothing.
pub fn agreed(table: &Table, read_as: &ReadAs) -> AgreedSheet {
    let place = Place::file(SETTINGS_FILE);
    let mut columns: Vec<AgreedColumn> = Vec::new();
    for column in read_as.columns.iter().filter(|column| column.certainty != Certainty::Likely) {
        // A header that stands twice can be written down once only.
        if columns.iter().all(|other| other.header != column.header) {
            columns.push(AgreedColumn::plain(place.clone(), &column.header, column.field.name()));
        }
    }
    AgreedSheet {
        place,
        file: table.name.file_name().to_owned(),
        sheet: table.name.sheet.clone(),
        rows: read_as.kind.map_or(NOTHING, |kind| kind.name()).to_owned(),
        columns,
        date_order: shown_order(read_as),
        distances: None,
        down_to: None,
        ticks: None,
        undated_checks_count: None,
        text_form: TextForm::default(),
    }
}

/// The order of the sheet's dates, where something else than they decided it: the next export may lack that.
fn shown_order(read_as: &ReadAs) -> Option<DateOrder> {
    let shown = read_as.columns.iter().find(|column| column.order_shown_by.is_some())?;
    match shown.meaning.order {
        ColumnOrder::Settled(order) | ColumnOrder::Expected(order) => Some(order),
        ColumnOrder::Doubtful(_) | ColumnOrder::Mixed => None,
    }
}

/// The columns that [`agreed`] leaves out: header, the field that it may be, and why it was left out.
pub fn not_agreed(read_as: &ReadAs) -> Vec<(String, String, String)> {
    let likely = read_as.columns.iter().filter(|column| column.certainty == Certainty::Likely);
    let likely = likely.map(|column| {
        let why = format!("or \"{NOTHING}\"; likely: {}", column.why);
        (column.index, column.header.clone(), column.field.name().to_owned(), why)
    });
    let left_out = read_as.left_out.iter().map(|column| {
        let is_rival = |other: &&ColumnRead| other.rivals.contains(&column.index);
        let rival = read_as.columns.iter().find(is_rival).map(|other| other.field);
        let mut choices = column.may_be.iter().copied().chain(rival).map(|field| field.name());
        let field = choices.next().unwrap_or_default().to_owned();
        let others: Vec<String> = choices.map(|name| format!("or \"{name}\"; ")).collect();
        (column.index, column.header.clone(), field, format!("{}{}", others.concat(), column.why))
    });
    let mut columns: Vec<_> = likely.chain(left_out).collect();
    columns.sort_by_key(|(index, ..)| *index);
    columns.into_iter().map(|(_, header, field, why)| (header, field, why)).collect()
}

/// The keys of a sheet that nobody has settled, each with its choices: a line of the settings behind a #.
pub fn open_lines(read_as: &ReadAs) -> Vec<String> {
    let undecided = read_as.columns.iter().find_map(|column| column.undecided.as_ref());
    let contrary = read_as.columns.iter().find_map(|column| column.contrary.as_ref());
    let against = contrary.map(|text| format!(", and only {text} speaks against the shop's setting"));
    let against = against.unwrap_or_default();
    let line = |text: &String| {
        format!("dates = \"day first\"  # or \"month first\": nothing tells which day {text} is{against}")
    };
    let signs = read_as.columns.iter().find_map(|column| column.unsaid_signs.first());
    let of_signs = |sign: &String| {
        format!(
            "ticks = \"done\"  # or \"failed\" or \"only x failed\": nothing tells what a bare {sign} says of a check"
        )
    };
    let undated = undated::open_line(read_as);
    undecided.map(line).into_iter().chain(signs.map(of_signs)).chain(undated).collect()
}
