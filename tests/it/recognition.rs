//! What each column of the invented shop and of the foreign yards is, held against tables written by hand.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use tickover::settings::{DateOrder, Limits};
use tickover::sheets::{Reader, read};
use tickover::yard::{self, Certainty};

use crate::program::repository;

/// One row of a table of columns.
#[derive(Debug, serde::Deserialize)]
struct Line {
    file: String,
    sheet: String,
    rows: String,
    header: String,
    /// Blank for a column that is nothing to us.
    field: String,
}

/// Each sheet, by its file and its worksheet, with the kind of its rows and one line a column.
type Sheets = BTreeMap<(String, String), (String, Vec<String>)>;

fn expected(columns: &Path) -> Sheets {
    let mut sheets = Sheets::new();
    let lines = csv::Reader::from_path(columns).unwrap().deserialize().collect::<Result<Vec<Line>, _>>();
    for line in lines.unwrap() {
        let (_, columns) = sheets.entry((line.file, line.sheet)).or_insert((line.rows, Vec::new()));
        columns.push(format!("{}: {}", line.header, line.field));
    }
    sheets
}

fn recognised(folder: &Path) -> Sheets {
    let reader = Reader::InChild(PathBuf::from(env!("CARGO_BIN_EXE_tickover")));
    let mut sheets = Sheets::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let file = path.file_name().unwrap().to_string_lossy().into_owned();
        for table in read(&path, &file, &Limits::default(), &reader).tables {
            let read_as = yard::recognise(&table, None, DateOrder::DayFirst);
            let doubt = |certainty| if certainty == Certainty::Likely { " (likely)" } else { "" };
            let read = read_as.columns.iter().map(|column| {
                let field = format!("{}{}", column.field.name(), doubt(column.certainty));
                (column.index, format!("{}: {field}", column.header))
            });
            let left_out =
                read_as.left_out.iter().map(|column| (column.index, format!("{}: ", column.header)));
            let mut columns: Vec<(usize, String)> = read.chain(left_out).collect();
            columns.sort();
            let kind = read_as.kind.map_or("nothing", |kind| kind.name()).to_owned();
            let sheet = table.name.sheet.clone().unwrap_or_default();
            let columns = columns.into_iter().map(|(_, column)| column).collect();
            sheets.insert((file.clone(), sheet), (kind, columns));
        }
    }
    sheets
}

#[test]
fn every_column_of_the_shop_and_of_the_foreign_yards_is_recognised_for_what_it_is() {
    for yard in [
        "examples/shop",
        "tests/yards/all-logs-csv",
        "tests/yards/one-wide-workbook",
        "tests/yards/other-habits",
    ] {
        let yard = repository().join(yard);
        let (found, expected) = (recognised(&yard.join("sheets")), expected(&yard.join("columns.csv")));
        assert!(expected.values().any(|(_, columns)| columns.len() > 3), "{} has columns", yard.display());
        assert_eq!(found, expected, "{}", yard.display());
    }
}
