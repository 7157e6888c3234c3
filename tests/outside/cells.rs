//! Prints what the program reads of each file, one line of JSON a file, for the scripts beside it.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use tickover::settings::Limits;
use tickover::sheets::{Cell, ReadFile, Reader, read};

fn main() {
    let mut arguments = std::env::args().skip(1);
    let program = arguments.next().expect("the first argument is the program, which reads workbooks");
    let reader = Reader::InChild(PathBuf::from(program));
    for file in std::io::stdin().lines() {
        let file = file.expect("the names of the files come as lines of UTF-8");
        let read = read(Path::new(&file), "f", &Limits::default(), &reader);
        write_line(&json!({ "file": file, "tables": tables(&read), "problems": problems(&read) }));
    }
}

#[expect(clippy::print_stdout, reason = "it is what this is for")]
fn write_line(line: &Value) {
    println!("{line}");
}

fn tables(read: &ReadFile) -> Vec<Value> {
    let table = |table: &tickover::sheets::Table| {
        let rows = table.rows().iter();
        let rows = rows.map(|row| json!([row.number, row.cells().map(cell).collect::<Vec<_>>()]));
        json!({ "sheet": table.name.sheet, "rows": rows.collect::<Vec<_>>() })
    };
    read.tables.iter().map(table).collect()
}

fn cell(cell: Cell<'_>) -> Value {
    match cell {
        Cell::Blank => Value::Null,
        Cell::Text(text) => json!(text),
        Cell::Number(number) => json!(number),
        Cell::Day(day) => json!({ "day": day.to_string() }),
        Cell::Time(seconds) => json!({ "seconds": seconds }),
        Cell::Flag(flag) => json!(flag),
        Cell::Fault(fault) => json!({ "fault": fault.shown() }),
    }
}

fn problems(read: &ReadFile) -> Vec<Value> {
    let problem = |problem: &tickover::problem::Problem| {
        json!({
            "severity": format!("{:?}", problem.severity),
            "sheet": problem.place.sheet,
            "what": problem.what,
        })
    };
    read.problems.iter().map(problem).collect()
}
