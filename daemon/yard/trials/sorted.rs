//! Logs of which one column was sorted or shifted without the rest: it is said, and each row keeps what it said; and what an
//! ordinary week does to a log, of which nothing is said. What is expected is what the rows said before; which edits are
//! ordinary is our decision.

use std::collections::BTreeMap;

use super::*;
use crate::units::dice::Dice;
use crate::yard::{Compared, Lasts, Terms, compare};

type Rows = Vec<Vec<String>>;

/// A log by chance: its headers and rows.
#[derive(Clone)]
struct Log {
    file: &'static str,
    headers: &'static [&'static str],
    rows: Rows,
    agreed: Option<AgreedSheet>,
}

impl Log {
    fn table(&self, rows: &Rows) -> Table {
        let name = Arc::new(SheetName { file: self.file.to_owned(), sheet: None });
        let headers = self.headers.iter().map(|header| Cell::Text(header)).collect();
        let rows = rows.iter().map(|row| {
            row.iter().map(|text| if text.is_empty() { Cell::Blank } else { Cell::Text(text) }).collect()
        });
        Table::new(name, false, (1..).zip(std::iter::once::<Vec<Cell<'_>>>(headers).chain(rows)))
    }

    /// The sheet with other rows, beside what it was; `known` are the changes that an earlier morning has found.
    fn compared(&self, now: &Rows, known: &BTreeMap<String, Date>) -> (Compared, Table) {
        let terms = Terms {
            agreed: self.agreed.as_ref(),
            shop_order: DateOrder::DayFirst,
            clock_unit: DistanceUnit::Miles,
            known,
            before: date(2026, 3, 2),
            today: date(2026, 3, 3),
            heeds_right: true,
            is_kept: !known.is_empty(),
        };
        let now = self.table(now);
        (compare(&self.table(&self.rows), &now, &terms), now)
    }

    /// What the rows say, as they are read.
    fn says(&self, (compared, now): &(Compared, Table)) -> Vec<String> {
        let table = compared.stand_in.as_ref().unwrap_or(now);
        said(&records(table, &compared.read_as, WRITTEN).0)
    }

    fn said_before(&self) -> Vec<String> {
        self.says(&self.compared(&self.rows, &BTreeMap::new()))
    }
}

/// What the works, the checks, the people and the fuels of these logs are.
const WORKS: [&str; 8] = [
    "first service",
    "annual service",
    "brake fluid changed",
    "rear tyre",
    "chain adjusted",
    "MOT",
    "front pads",
    "oil and filter",
];
const CHECKS: [&str; 4] = ["PDI", "QC", "brakes", "lights"];
const PEOPLE: [&str; 3] = ["GH", "TR", "KB"];
const GRADES: [&str; 3] = ["E5", "E10", "super unleaded"];

fn pick<'a>(dice: &mut Dice, of: &[&'a str]) -> &'a str {
    of[dice.below(of.len() as u64) as usize]
}

/// The rows of so many events of eight machines, one or two a day.
fn rows(
    dice: &mut Dice,
    count: usize,
    cells: impl Fn(&mut Dice, String, String, u64) -> Vec<String>,
) -> Rows {
    let (mut day, mut clocks) = (date(2025, 11, 3), [0u64; 8]);
    let mut rows = Rows::new();
    for _ in 0..count {
        if !dice.once_in(3) {
            day = crate::units::Days(1 + dice.below(4) as i64).after(day).unwrap();
        }
        let machine = dice.below(8) as usize;
        clocks[machine] += 60 + dice.below(500);
        let written = day.strftime("%d/%m/%Y").to_string();
        rows.push(cells(
            dice,
            written,
            format!("S{}", 101 + machine),
            clocks[machine] + 900 * machine as u64,
        ));
    }
    rows
}

fn logs(seed: u64, count: usize) -> Vec<Log> {
    let dice = &mut Dice::of(seed);
    let own = |cells: &[&str]| cells.iter().map(|cell| (*cell).to_owned()).collect::<Vec<_>>();
    vec![
        Log {
            file: "jobs.csv",
            headers: &["Date", "Stock No", "Work done", "Mileage", "Mechanic"],
            agreed: None,
            rows: rows(dice, count, |dice, day, machine, clock| {
                own(&[&day, &machine, pick(dice, &WORKS), &clock.to_string(), pick(dice, &PEOPLE)])
            }),
        },
        Log {
            file: "mileages.csv",
            headers: &["Stock No", "Date", "Mileage"],
            agreed: None,
            rows: rows(dice, count, |_, day, machine, clock| own(&[&machine, &day, &clock.to_string()])),
        },
        Log {
            file: "road-tests.csv",
            headers: &["Date", "Stock No", "Miles", "Top speed mph", "Ridden by"],
            agreed: None,
            rows: rows(dice, count, |dice, day, machine, _| {
                let (miles, speed) = (4 + dice.below(9), 30 + dice.below(40));
                own(&[&day, &machine, &miles.to_string(), &speed.to_string(), pick(dice, &PEOPLE)])
            }),
        },
        Log {
            file: "checks.csv",
            headers: &["Date", "Stock No", "Check", "Result", "Signed by"],
            agreed: Some(agreement("check", &[("Check", "item"), ("Result", "result")])),
            rows: rows(dice, count, |dice, day, machine, _| {
                let result = if dice.once_in(5) { "failed" } else { "pass" };
                own(&[&day, &machine, pick(dice, &CHECKS), result, pick(dice, &PEOPLE)])
            }),
        },
        Log {
            file: "fuel.csv",
            headers: &["Date", "Stock No", "Litres", "Grade", "Mileage"],
            agreed: None,
            rows: rows(dice, count, |dice, day, machine, clock| {
                let litres = format!("{}.{}", 5 + dice.below(9), dice.below(10));
                own(&[&day, &machine, &litres, pick(dice, &GRADES), &clock.to_string()])
            }),
        },
    ]
}

fn sort_key(text: &str) -> (u64, String) {
    if let [day, month, year] = text.split('/').collect::<Vec<_>>()[..] {
        return (0, format!("{year}{month}{day}"));
    }
    (text.parse::<f64>().map_or(u64::MAX, |figure| (figure * 10.0) as u64), text.to_owned())
}

/// A column sorted, upwards or, where it stands so, downwards.
fn sorted_alone(rows: &Rows, column: usize) -> Rows {
    let mut cells: Vec<String> = rows.iter().map(|row| row[column].clone()).collect();
    cells.sort_by_key(|cell| sort_key(cell));
    if rows.iter().map(|row| &row[column]).eq(&cells) {
        cells.reverse();
    }
    with(rows, column, cells)
}

/// The cells of a column from one row to another moved down by one, the last one in place of the first.
fn moved_down(rows: &Rows, column: usize, part: std::ops::Range<usize>) -> Rows {
    let mut cells: Vec<String> = rows.iter().map(|row| row[column].clone()).collect();
    cells[part].rotate_right(1);
    with(rows, column, cells)
}

/// The same, the first one left blank, as when cells are put in: what stood last stands below all rows.
fn pushed_down(rows: &Rows, column: usize, from: usize) -> Rows {
    let mut cells: Vec<String> = rows.iter().map(|row| row[column].clone()).collect();
    cells.insert(from, String::new());
    let mut rows = rows.clone();
    rows.push(vec![String::new(); rows[0].len()]);
    with(&rows, column, cells)
}

fn with(rows: &Rows, column: usize, cells: Vec<String>) -> Rows {
    let mut rows = rows.clone();
    for (row, cell) in rows.iter_mut().zip(cells) {
        row[column] = cell;
    }
    rows
}

/// What is wrong where a column stands in other rows: it is not said, or what is read is not what was said before.
fn wrongs((log, said): (&Log, &[String]), now: &Rows, what: &str, column: usize, wrongs: &mut Vec<String>) {
    let header = log.headers[column];
    let (mut known, name) = (BTreeMap::new(), format!("{} {header} {what}", log.file));
    for day in ["first", "second"] {
        let compared = log.compared(now, &known);
        let changes = &compared.0.changes;
        let is_it = changes.iter().any(|change| {
            change.lasts == Lasts::Held && change.problem.what.contains(&format!("`{header}`"))
        });
        if !is_it {
            wrongs.push(format!(
                "{name}, {day}: {:?}",
                changes.iter().map(|it| &it.problem.what).collect::<Vec<_>>()
            ));
            return;
        }
        let says = log.says(&compared);
        if let Some(other) = says.iter().find(|says| !said.contains(says)) {
            wrongs.push(format!("{name}, {day}: reads {other}"));
        }
        if let Some(other) = said.iter().find(|said| !says.contains(said)) {
            wrongs.push(format!("{name}, {day}: lacks {other}"));
        }
        known = changes.iter().map(|change| (change.key.clone(), date(2026, 3, 3))).collect();
    }
}

#[test]
fn a_column_of_a_log_that_stands_in_other_rows_is_told_and_each_row_keeps_what_it_said() {
    let mut found = Vec::new();
    let mut tried = 0;
    for (seed, count) in [(1, 24), (2, 8)] {
        for log in logs(seed, count) {
            let said = log.said_before();
            for column in 0..log.headers.len() {
                let half = log.rows.len() / 2;
                for (what, now) in [
                    ("sorted", sorted_alone(&log.rows, column)),
                    ("moved down", moved_down(&log.rows, column, 0..log.rows.len())),
                    ("half moved down", moved_down(&log.rows, column, half..log.rows.len())),
                    ("half pushed down", pushed_down(&log.rows, column, half)),
                ] {
                    let others = now.iter().zip(&log.rows).filter(|(now, was)| now != was).count();
                    if others < 4 {
                        continue;
                    }
                    tried += 1;
                    wrongs((&log, &said), &now, &format!("{what} of {count}"), column, &mut found);
                }
            }
        }
    }
    assert!(found.is_empty(), "{} of {tried}:\n{}", found.len(), found.join("\n"));
}

#[test]
fn checks_and_results_whose_headers_were_exchanged_are_told_and_each_row_keeps_what_it_said() {
    let mut found = Vec::new();
    for (seed, count) in [(21, 24), (22, 6)] {
        let log = &logs(seed, count)[3];
        let said = log.said_before();
        let mut cells = log.rows.clone();
        cells.iter_mut().for_each(|row| row.swap(2, 3));
        wrongs((log, &said), &cells, "exchanged", 3, &mut found);
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn columns_that_were_sorted_while_new_rows_came_or_with_their_neighbour_are_told() {
    let mut found = Vec::new();
    for seed in [31, 32] {
        let grown = logs(seed, 30);
        for log in grown {
            let was = Log { rows: log.rows[..26].to_vec(), ..log.clone() };
            let said = was.said_before();
            for column in 0..log.headers.len() {
                let now = sorted_alone(&log.rows, column);
                let compared = was.compared(&now, &BTreeMap::new());
                let header = format!("`{}`", log.headers[column]);
                let changes = compared.0.changes.iter().filter(|change| change.lasts == Lasts::Held);
                if !changes.clone().any(|change| change.problem.what.contains(&header)) {
                    found.push(format!("{} {header} of {seed} is not told", log.file));
                }
                let says = was.says(&compared);
                let lacks = said.iter().filter(|said| !says.contains(said)).count();
                if lacks > 0 {
                    found.push(format!("{} {header} of {seed} lacks {lacks}: {says:#?}", log.file));
                }
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// What is noted of a sheet that has nothing but an ordinary week behind it.
fn noted(log: &Log, now: &Rows) -> Vec<String> {
    let (compared, _) = log.compared(now, &BTreeMap::new());
    let said =
        compared.changes.iter().filter(|change| !matches!(change.lasts, Lasts::Unsaid | Lasts::SaidRight));
    said.map(|change| change.problem.what.clone()).collect()
}

#[test]
fn an_ordinary_week_of_a_log_is_no_change_of_its_columns() {
    let mut found = Vec::new();
    for (seed, count) in [(11, 24), (12, 8), (13, 40), (14, 5), (15, 30)] {
        let dice = &mut Dice::of(seed);
        let grown = logs(seed, count + count / 4 + 1);
        for (log, grown) in logs(seed, count).into_iter().zip(grown) {
            let log = &log;
            let mut weeks =
                vec![("grown", [&log.rows[..], &grown.rows[grown.rows.len() - count / 4 - 1..]].concat())];
            let mut newest_first = weeks[0].1.clone();
            newest_first.reverse();
            weeks.push(("newest first", newest_first));
            weeks.push(("the oldest gone", weeks[0].1[count / 4..].to_vec()));
            for column in 0..log.headers.len() {
                let mut whole = weeks[0].1.clone();
                whole.sort_by_key(|row| sort_key(&row[column]));
                weeks.push(("sorted whole", whole));
                // Two slips put right, each by what stands elsewhere, and one word that is another everywhere.
                let mut slips = weeks[0].1.clone();
                for _ in 0..2 {
                    let (one, other) = (dice.below(count as u64) as usize, dice.below(count as u64) as usize);
                    slips[one][column] = log.rows[other][column].clone();
                }
                if count > 8 {
                    weeks.push(("two slips put right", slips));
                }
                let mut exchanged = log.rows.clone();
                let (one, other) = (exchanged[0][column].clone(), exchanged[1][column].clone());
                (exchanged[0][column], exchanged[1][column]) = (other, one);
                if count > 8 {
                    weeks.push(("two cells exchanged", exchanged));
                }
            }
            // A word of the numbers by which machines are known is another matter: nobody would know whose the rows are.
            for (word, other) in [("service", "svc"), ("pass", "ok"), ("GH", "G Hart"), ("E10", "95 E10")] {
                let replaced =
                    log.rows.iter().map(|row| row.iter().map(|cell| cell.replace(word, other)).collect());
                weeks.push(("a word replaced", replaced.collect()));
            }
            for (what, now) in weeks {
                // A clock that leaps is told of whatever else is ordinary.
                let mut noted = noted(log, &now);
                noted.retain(|said| !said.contains("rose to three times"));
                if !noted.is_empty() {
                    found.push(format!("{} of {count}, {what}: {noted:?}", log.file));
                }
            }
        }
    }
    assert!(found.is_empty(), "{}:\n{}", found.len(), found.join("\n"));
}
