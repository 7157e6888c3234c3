//! Intake in every form, each against its floor in the same run: what the parser alone costs for the same file.
//!
//! `cargo bench --bench intake` reads 100,000 rows of 25 columns; `cargo bench --bench intake -- 2000` as many as asked
//! for. The sheets are made once, by make_sheets.py with the libraries that tests/run installs. Floors and readings take
//! turns, so that what else the machine does falls on all of them. Printed are the processor's time of all processes
//! together (the mean of the runs), the time from beginning to end (the fastest run), the ratios of both to the floor,
//! and the most memory that each took. With `outside` among the arguments, other people's readers read the same sheets
//! instead: outside.py says what they need.
#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]

use std::fs;
use std::hint::black_box;
use std::io::{BufReader, Cursor};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use calamine::{DataRef, Reader as _, Xls, Xlsx};
use quick_xml::events::Event;
use tickover::problem::Severity;
use tickover::settings::Limits;
use tickover::sheets::{self, ReadFile, Reader};

const ROWS: u32 = 100_000;
const RUNS: usize = 7;

/// The word that has this program read one file once and say how much memory that took.
const MEASURE: &str = "measure-memory";

/// What a parser alone makes of a file: how many cells, or how much of another kind, it went through.
type Floor = fn(&Path) -> usize;

fn text_floor(path: &Path) -> usize {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_path(path).expect("it was just made");
    let mut record = csv::ByteRecord::new();
    let mut cells = 0;
    while reader.read_byte_record(&mut record).expect("it is well formed") {
        cells += record.len();
    }
    cells
}

/// The same, and every record kept: what it costs to have the whole sheet in memory at all.
fn text_kept(path: &Path) -> Vec<csv::ByteRecord> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_path(path).expect("it was just made");
    reader.byte_records().map(|record| record.expect("it is well formed")).collect()
}

fn xlsx_floor(path: &Path) -> usize {
    let mut book = Xlsx::new(Cursor::new(bytes(path))).expect("it was just made");
    let mut cells = 0;
    for name in book.sheet_names() {
        let mut reader = book.worksheet_cells_reader(&name).expect("it is a sheet");
        while let Some(cell) = reader.next_cell().expect("it is well formed") {
            cells += usize::from(*cell.get_value() != DataRef::Empty);
        }
    }
    cells
}

fn xls_floor(path: &Path) -> usize {
    let mut book: Xls<_> = Xls::new(Cursor::new(bytes(path))).expect("it was just made");
    let names = book.sheet_names();
    names.iter().map(|name| book.worksheet_range(name).expect("it is a sheet").used_cells().count()).sum()
}

fn ods_floor(path: &Path) -> usize {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes(path))).expect("it was just made");
    let part = archive.by_name("content.xml").expect("it has one");
    let mut reader = quick_xml::Reader::from_reader(BufReader::with_capacity(64 * 1024, part));
    let (mut buffer, mut events) = (Vec::new(), 0);
    while reader.read_event_into(&mut buffer).expect("it is well formed") != Event::Eof {
        buffer.clear();
        events += 1;
    }
    events
}

fn bytes(path: &Path) -> Vec<u8> {
    fs::read(path).expect("it was just made")
}

fn read(path: &Path, reader: &Reader) -> ReadFile {
    sheets::read(path, "jobs", &Limits::default(), reader)
}

fn in_child() -> Reader {
    Reader::InChild(env!("CARGO_BIN_EXE_tickover").into())
}

/// What one way of reading took, in milliseconds.
#[derive(Default)]
struct Taken {
    /// Of the processor, in this process and its children together: the mean of all runs.
    work: f64,
    /// From beginning to end, in the fastest run.
    fastest: f64,
}

/// What each of the ways took, several runs in turn.
fn taken(ways: &[(&str, &dyn Fn())]) -> Vec<Taken> {
    let mut taken: Vec<Taken> =
        ways.iter().map(|_| Taken { fastest: f64::INFINITY, ..Taken::default() }).collect();
    for _ in 0..RUNS {
        for ((_, way), taken) in ways.iter().zip(&mut taken) {
            let (work, start) = (work(), Instant::now());
            way();
            taken.fastest = taken.fastest.min(start.elapsed().as_secs_f64() * 1e3);
            taken.work += (self::work() - work) / RUNS as f64;
        }
    }
    taken
}

/// The processor's time that this process and its ended children have had, in milliseconds, as Linux counts it.
fn work() -> f64 {
    /// Linux counts in hundredths of a second.
    const TICK: f64 = 10.0;
    let stat = fs::read_to_string("/proc/self/stat").expect("Linux says");
    let (_, after_name) = stat.rsplit_once(')').expect("the name stands in brackets");
    // Fields 14 to 17 of proc(5), of which the third is the first behind the name.
    let ticks = after_name.split_whitespace().skip(11).take(4);
    ticks.map(|ticks| ticks.parse::<f64>().expect("it is a figure") * TICK).sum()
}

fn measure(path: &Path, name: &str, floor: Floor, through_child: bool) {
    let whole = read(path, &Reader::Here);
    // Of so large a workbook it is noted that merged cells are not looked for.
    let sound = whole.problems.iter().all(|problem| problem.severity == Severity::Note);
    assert!(sound, "the sheet is sound: {:?}", whole.problems);
    drop(whole);
    let alone = || assert!(floor(path) > 0);
    let here = || drop(black_box(read(path, &Reader::Here)));
    let child = || drop(black_box(read(path, &in_child())));
    let kept = || drop(black_box(text_kept(path)));
    let mut ways: Vec<(&str, &dyn Fn())> =
        vec![("the parser alone (the floor)", &alone), ("sheets, here", &here)];
    if through_child {
        ways.push(("sheets, through the child", &child));
    } else {
        ways.push(("the parser, its records kept", &kept));
    }
    let taken = taken(&ways);
    for ((what, _), way) in ways.iter().zip(&taken) {
        println!(
            "{name:<5} {what:<30} {:>9.1} {:>7.2} {:>9.1} {:>7.2}",
            way.work,
            way.work / taken[0].work,
            way.fastest,
            way.fastest / taken[0].fastest
        );
    }
    memory(path, name, through_child);
}

/// Prints the most memory that reading a file took: in one process, or in this one and its child.
fn memory(path: &Path, name: &str, through_child: bool) {
    let (here, _) = most_of_both(path, "here");
    println!("{name:<5} most memory, here: {here:.0} MB");
    if through_child {
        let (parent, child) = most_of_both(path, "child");
        println!(
            "{name:<5} most memory, through the child: {parent:.0} MB, and the child's own {child:.0} MB"
        );
    }
}

/// The most memory of a fresh process that reads a file, and of the process that it starts, looked at until it ends.
fn most_of_both(path: &Path, how: &str) -> (f64, f64) {
    let this = std::env::current_exe().expect("this program has a path");
    let mut parent = Command::new(this)
        .args([MEASURE, how])
        .arg(path)
        .stdout(Stdio::piped())
        .spawn()
        .expect("this program runs");
    let children = format!("/proc/{0}/task/{0}/children", parent.id());
    let mut most = 0.0_f64;
    while parent.try_wait().expect("it can be asked").is_none() {
        let child = fs::read_to_string(&children).unwrap_or_default();
        most = most.max(most_memory(child.trim()).unwrap_or(0.0));
        thread::sleep(Duration::from_millis(1));
    }
    let output = parent.wait_with_output().expect("it has ended");
    let own = String::from_utf8_lossy(&output.stdout).trim().parse().expect("it prints a figure");
    (own, most)
}

/// The most memory that a process has had, in megabytes, as Linux counts it.
fn most_memory(process: &str) -> Option<f64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    Some(line.trim().strip_suffix(" kB")?.parse::<f64>().ok()? / 1024.0)
}

/// A path below the repository.
fn repository(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// Runs a script, and says whether it ended well.
fn python(script: &[PathBuf]) -> bool {
    let python = repository("target/python/bin/python");
    Command::new(python).args(script).status().expect("tests/run has installed it").success()
}

/// Makes the sheets, unless they are there.
fn make_sheets(rows: u32) -> PathBuf {
    let folder = repository("target/bench");
    let script = [repository("tests/bench/make_sheets.py"), rows.to_string().into(), folder.clone()];
    assert!(python(&script), "the sheets are made");
    folder
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [word, how, path] = arguments.as_slice()
        && word == MEASURE
    {
        let reader = if how == "child" { in_child() } else { Reader::Here };
        let whole = read(Path::new(path), &reader);
        println!("{}", most_memory("self").expect("Linux says"));
        drop(whole);
        return;
    }
    let rows = arguments.iter().find_map(|argument| argument.parse().ok()).unwrap_or(ROWS);
    let only = ["csv", "xlsx", "xls", "ods"].into_iter().find(|form| arguments.iter().any(|it| it == form));
    let folder = make_sheets(rows);
    if arguments.iter().any(|argument| argument == "outside") {
        let this = std::env::current_exe().expect("this program has a path");
        let script = [repository("tests/bench/outside.py"), rows.to_string().into(), folder, this];
        let ended = python(&script);
        assert!(ended, "the other readers are installed");
        return;
    }
    println!("{rows} rows of 25 columns; {RUNS} runs of each, in turn");
    println!("{:<36} {:>9} {:>7} {:>9} {:>7}", "", "work ms", "floors", "fastest", "floors");
    let forms: [(&str, Floor, bool); 4] = [
        ("csv", text_floor, false),
        ("xlsx", xlsx_floor, true),
        ("xls", xls_floor, true),
        ("ods", ods_floor, true),
    ];
    for (form, floor, through_child) in forms {
        if only.is_none_or(|only| only == form) {
            measure(&folder.join(format!("jobs-{rows}.{form}")), form, floor, through_child);
        }
    }
}
