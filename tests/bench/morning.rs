//! The morning of a large yard, stage by stage, each against the floor: what the parsers alone cost for its files.
//!
//! `cargo bench` makes 10,000 machines with 200,000 readings from a fixed seed, as text and as a workbook, and prints
//! the median of five runs of each stage with its ratio to the floor of the same run.
#![expect(clippy::print_stdout, reason = "a benchmark prints what it measured")]

mod large_yard;

use std::hint::black_box;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use calamine::{Reader as _, Xlsx, open_workbook};
use jiff::civil::{Date, date};
use large_yard::{READINGS_EACH, rows, write_text};
use tickover::reckon;
use tickover::round::{self, Run, YardFolder};
use tickover::rules::RuleBook;
use tickover::settings::Settings;
use tickover::sheets::{self, Reader};
use tickover::yard::{self, Records};

const MACHINES: u32 = 10_000;
const RUNS: usize = 5;
const TODAY: Date = date(2026, 3, 2);

fn write_workbook(path: &Path, rows: &[Vec<String>]) {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let sheet = workbook.add_worksheet();
    for (number, row) in rows.iter().enumerate() {
        for (column, value) in row.iter().enumerate() {
            let (number, column) = (number as u32, column as u16);
            match value.parse::<f64>() {
                Ok(figure) => sheet.write_number(number, column, figure).expect("within a sheet"),
                Err(_) => sheet.write_string(number, column, value).expect("within a sheet"),
            };
        }
    }
    workbook.save(path).expect("the temporary folder can be written");
}

/// The median of several runs.
fn median<T>(mut run: impl FnMut() -> T) -> Duration {
    let mut times: Vec<Duration> = (0..RUNS)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed()
        })
        .collect();
    times.sort();
    times[RUNS / 2]
}

fn text_floor(paths: &[&Path]) -> u64 {
    let mut cells = 0;
    for path in paths {
        let mut reader =
            csv::ReaderBuilder::new().has_headers(false).from_path(path).expect("it was just written");
        let mut record = csv::ByteRecord::new();
        while reader.read_byte_record(&mut record).expect("it is well formed") {
            cells += record.len() as u64;
        }
    }
    cells
}

fn workbook_floor(path: &Path) -> u64 {
    let mut workbook: Xlsx<_> = open_workbook(path).expect("it was just written");
    let names = workbook.sheet_names();
    let mut cells = 0;
    for name in names {
        let mut reader = workbook.worksheet_cells_reader(&name).expect("it is a sheet");
        while reader.next_cell().expect("it is well formed").is_some() {
            cells += 1;
        }
    }
    cells
}

fn line(stage: &str, time: Duration, floor: Duration) {
    println!(
        "{stage:<58} {:>9.1} ms {:>8.2}",
        time.as_secs_f64() * 1e3,
        time.as_secs_f64() / floor.as_secs_f64()
    );
}

fn main() {
    let temporary = tempfile::tempdir().expect("a temporary folder can be made");
    let folder = YardFolder::at(temporary.path());
    folder.lay_out().expect("a temporary folder can be laid out");
    let (machines, readings) = rows(MACHINES);
    let machines_path = folder.sheets().join("machines.csv");
    let readings_path = folder.sheets().join("mileages.csv");
    write_text(&machines_path, &machines);
    write_text(&readings_path, &readings);
    let workbook_path = temporary.path().join("mileages.xlsx");
    write_workbook(&workbook_path, &readings);
    let settings = Settings::default();
    let limits = &settings.limits;
    let program = Reader::InChild(env!("CARGO_BIN_EXE_tickover").into());

    println!("{MACHINES} machines, {} readings; medians of {RUNS} runs", MACHINES * READINGS_EACH);
    println!("{:<58} {:>12} {:>8}", "stage", "time", "floors");

    let floor = median(|| text_floor(&[&machines_path, &readings_path]));
    line("text: the csv crate alone (the floor)", floor, floor);
    let read = |path: &Path| sheets::read(path, "sheet", limits, &Reader::Here);
    line("text: sheets", median(|| (read(&machines_path), read(&readings_path))), floor);
    let tables = [read(&machines_path), read(&readings_path)];
    let records = || {
        let mut all = Records::default();
        for table in tables.iter().flat_map(|read| &read.tables) {
            let read_as = yard::recognise(table, None, settings.date_order);
            all.records.extend(yard::records(table, &read_as, TODAY).0.records);
        }
        all
    };
    line("text: recognise and make records", median(records), floor);
    let all = records();
    let handbook = round::shipped_handbook();
    let join = || yard::join(all.clone(), Records::default(), &handbook, settings.clock_unit).0;
    line("join (with a copy of the records)", median(join), floor);
    let machines: Vec<_> = join().into_iter().map(Arc::new).collect();
    let stand = || {
        machines.iter().map(|machine| reckon::stand(machine, &settings.practice, TODAY)).collect::<Vec<_>>()
    };
    line("reckon, one core", median(stand), floor);
    let standings: Vec<_> = stand().into_iter().map(Arc::new).collect();
    let (rules, _) = RuleBook::load(&folder.rules(), "rules");
    let judge = || {
        machines
            .iter()
            .zip(&standings)
            .map(|(machine, standing)| rules.judge(machine, standing).judgements.len())
            .sum::<usize>()
    };
    let judging = median(judge);
    line("rules, one core", judging, floor);
    let each = judging.as_secs_f64() * 1e9 / (f64::from(MACHINES) * rules.rules().count() as f64);
    println!("{:<58} {each:>9.0} ns", "rules, for one rule and machine");
    whole_mornings(&folder, &program, floor);

    let floor = median(|| workbook_floor(&workbook_path));
    line("workbook: calamine's cells alone (the floor)", floor, floor);
    line(
        "workbook: sheets, through the child process",
        median(|| sheets::read(&workbook_path, "sheet", limits, &program)),
        floor,
    );
}

/// The whole way, as the program goes it.
fn whole_mornings(folder: &YardFolder, program: &Reader, floor: Duration) {
    let morning = |keeps| {
        round::morning(&Run {
            folder: folder.clone(),
            now: tickover::today::now(),
            today: Some(TODAY),
            keeps,
            tells: round::Tells::MorningAgain,
            trouble: Vec::new(),
            reader: program.clone(),
            patience: round::PATIENCE,
        })
        .expect("the yard folder is in order")
    };
    line("the whole morning, nothing kept", median(|| morning(false)), floor);
    let start = Instant::now();
    morning(true);
    line("the whole morning, first time kept (one run)", start.elapsed(), floor);
    line("the whole morning, kept again", median(|| morning(true)), floor);
}
