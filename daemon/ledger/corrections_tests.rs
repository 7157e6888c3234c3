//! Tests of corrections: cells put right between two exports, and rows that only moved, went or were overwritten.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::tests::{day, keep_records};
use super::*;
use crate::origin::{Entry, Origin, SheetName};
use crate::units::Volume;
use crate::yard::{
    Check, CheckResult, Fill, Identity, Job, MachineRow, Mark, Reading, Record, Ride, WrittenDistance,
};

type Said = (Identity, Record);

/// A cell of the one sheet that all rows here stand in.
fn cell<T>(row: u32, column: u32, value: T) -> Entry<T> {
    let name = SheetName { file: "log.csv".to_owned(), sheet: None };
    Entry::new(value, Origin { name: Arc::new(name), row, column })
}

fn text(row: u32, column: u32, text: &str) -> Option<Entry<String>> {
    (!text.is_empty()).then(|| cell(row, column, text.to_owned()))
}

fn clock(row: u32, column: u32, miles: &str) -> Option<Entry<WrittenDistance>> {
    let tenths = |miles: &str| miles.parse::<i64>().unwrap() * 10;
    (!miles.is_empty()).then(|| cell(row, column, WrittenDistance { tenths: tenths(miles), unit: None }))
}

/// What a row of words says: its number, its kind, the mark, the day, and the values of the kind.
fn said(line: &str) -> Said {
    let words: Vec<&str> = line.split(',').collect();
    let [row, kind, mark, date, values @ ..] = &*words else { panic!("{line} is too short") };
    let row = row.parse().unwrap();
    let date = (!date.is_empty()).then(|| cell(row, 1, day(date)));
    let identity = Identity { mark: Some(cell(row, 0, Mark::new(mark).unwrap())), ..Identity::default() };
    let record = match (*kind, values) {
        ("machine", []) => Record::Machine(Box::<MachineRow>::default()),
        ("reading", [miles]) => {
            Record::Reading(Reading { day: date.unwrap(), clock: clock(row, 2, miles).unwrap() })
        }
        // Its clock stands without a day, so that the day is the one of the export.
        ("undated", [miles]) => {
            let clock = clock(row, 2, miles).unwrap();
            Record::Reading(Reading { day: Entry::new(date.unwrap().value, clock.origin.clone()), clock })
        }
        ("job", [done, miles, by]) => Record::Job(Job {
            day: date,
            done: text(row, 2, done).unwrap(),
            clock: clock(row, 3, miles),
            oil: None,
            by: text(row, 4, by),
            doubt: None,
        }),
        ("check", [item, result]) => {
            let result = if *result == "pass" { CheckResult::Passed } else { CheckResult::Failed };
            let item = text(row, 2, item).unwrap();
            Record::Check(Check {
                day: date,
                time: None,
                item,
                result: cell(row, 3, result),
                remark: None,
                by: None,
            })
        }
        // The second ride of a machine's row stands in columns of its own.
        ("ride" | "second ride", [miles]) => {
            let column = if *kind == "ride" { 5 } else { 8 };
            Record::Ride(Ride {
                day: date.map(|date| cell(row, column, date.value)),
                distance: clock(row, column + 1, miles),
                top_speed: None,
                speed_source: None,
                clock: None,
                by: None,
            })
        }
        ("fill", [litres, grade]) => Record::Fill(Fill {
            day: date,
            clock: None,
            volume: Some(cell(row, 3, Volume::of_millilitres(litres.parse::<i64>().unwrap() * 1000))),
            grade: text(row, 4, grade),
            full: None,
        }),
        _ => panic!("{line} is of no kind"),
    };
    (identity, record)
}

fn export(lines: &[&str]) -> Records {
    Records { records: lines.iter().map(|line| said(line)).collect(), ..Records::default() }
}

/// Keeps the exports but the last, a morning each, and checks which of their records count beside the last: before
/// it is kept, after it is, and in the morning after.
#[track_caller]
fn check(case: &str, exports: &[&[&str]], expected: &[&str]) {
    let mut ledger = Ledger::in_memory().unwrap();
    let (last, earlier) = exports.split_last().unwrap();
    for (morning, lines) in earlier.iter().enumerate() {
        keep_records(&mut ledger, &format!("2026-03-{:02}", morning + 1), &export(lines));
    }
    let last = export(last);
    let expected = export(expected).records;
    assert_eq!(ledger.kept_records(&last).unwrap().records, expected, "{case}: at once");
    // The round that first reads the correction may be of the day on which the slip was read, or of a later one.
    for date in [format!("2026-03-{:02}", earlier.len()), "2026-03-20".to_owned(), "2026-03-21".to_owned()] {
        keep_records(&mut ledger, &date, &last);
        assert_eq!(ledger.kept_records(&last).unwrap().records, expected, "{case}: kept on {date}");
    }
    let all =
        |records: &[Said]| -> BTreeSet<String> { records.iter().map(|said| format!("{said:?}")).collect() };
    let mut everything = expected;
    everything.extend(last.records.into_iter().filter(|(_, record)| !matches!(record, Record::Machine(_))));
    let kept = ledger.kept_records(&Records::default()).unwrap().records;
    assert_eq!(all(&kept), all(&everything), "{case}: once the sheet says none of it any more");
}

#[test]
fn a_cell_that_was_put_right_leaves_no_trace_of_the_slip() {
    // A log says more of the machine, so that a later day is none that overwrote the last.
    let more = ["3,reading,AA1,2026-02-01,900", "4,check,AA1,2026-02-01,chain,pass"];
    for (case, slip, right) in [
        ("the day of a reading", "2,reading,AA1,2026-12-12,950", "2,reading,AA1,2026-02-12,950"),
        ("the year of a reading", "2,reading,AA1,2025-02-12,950", "2,reading,AA1,2026-02-12,950"),
        ("the mark of a reading", "2,reading,AA1,2026-02-20,5200", "2,reading,BB2,2026-02-20,5200"),
        (
            "a later day of a check",
            "2,check,AA1,2026-02-20,brakes,pass",
            "2,check,AA1,2026-02-21,brakes,pass",
        ),
        ("the clock of a reading", "2,reading,AA1,2026-02-20,9500", "2,reading,AA1,2026-02-20,950"),
        ("the mark of a fill", "2,fill,AA1,2026-02-20,5,B7", "2,fill,BB2,2026-02-20,5,B7"),
        ("the day of a fill", "2,fill,AA1,2026-02-20,5,E5", "2,fill,AA1,2026-02-21,5,E5"),
        ("the day of a ride", "2,ride,AA1,2026-02-20,60", "2,ride,AA1,2026-02-19,60"),
        ("a later day of a ride", "2,ride,AA1,2026-02-19,60", "2,ride,AA1,2026-02-20,60"),
        ("the mark of a ride", "2,ride,AA1,2026-02-20,60", "2,ride,BB2,2026-02-20,60"),
        ("the day of a job", "2,job,AA1,2026-12-02,service,495,", "2,job,AA1,2026-02-12,service,495,"),
        ("a later day of a job", "2,job,AA1,2026-02-02,service,495,", "2,job,AA1,2026-02-12,service,495,"),
        ("a day that was missing", "2,job,AA1,,service,,", "2,job,AA1,2026-02-12,service,,"),
        ("who did a job", "2,job,AA1,2026-02-02,service,495,Ann", "2,job,AA1,2026-02-02,service,495,Bob"),
        ("the mark of a check", "2,check,AA1,2026-02-20,brakes,fail", "2,check,BB2,2026-02-20,brakes,fail"),
        ("the day of a check", "2,check,AA1,2026-03-02,brakes,fail", "2,check,AA1,2026-02-28,brakes,fail"),
        ("the item of a check", "2,check,AA1,2026-02-20,brakes,pass", "2,check,AA1,2026-02-20,tyres,pass"),
    ] {
        let [slip, right]: [&[&str]; 2] = [&[slip, more[0], more[1]], &[right, more[0], more[1]]];
        check(case, &[slip, right], &[]);
        check(&format!("{case}, and thought better of"), &[slip, right, slip], &[]);
    }
}

#[test]
fn a_row_that_moved_went_or_rolled_out_is_no_correction() {
    let (brakes, tyres, chain) = (
        "2,check,AA1,2026-03-01,brakes,pass",
        "3,check,AA1,2026-03-01,tyres,pass",
        "4,check,AA1,2026-03-01,chain,pass",
    );
    let (tyres_up, chain_up) = ("2,check,AA1,2026-03-01,tyres,pass", "3,check,AA1,2026-03-01,chain,pass");
    let new = "4,check,AA1,2026-03-02,lights,pass";
    let (one, two) = ("2,fill,AA1,2026-02-01,5,E5", "3,fill,AA1,2026-02-08,5,E5");
    for (case, first, second, kept) in [
        ("a row was deleted", &[brakes, tyres, chain][..], &[tyres_up, chain_up][..], &[brakes][..]),
        ("the window moved on", &[brakes, tyres, chain], &[tyres_up, chain_up, new], &[brakes]),
        ("the last row was deleted", &[brakes, tyres], &[brakes], &[tyres]),
        ("nothing is left", &[brakes], &[], &[brakes]),
        (
            "the newest stands first",
            &["2,fill,AA1,2026-02-08,5,E5", "3,fill,AA1,2026-02-01,5,E5"],
            &["2,fill,AA1,2026-02-15,5,E5", "3,fill,AA1,2026-02-08,5,E5"],
            &["3,fill,AA1,2026-02-01,5,E5"],
        ),
        ("a fill rolled out", &[one, two], &["2,fill,AA1,2026-02-08,5,E5"], &[one]),
        (
            "two differ",
            &["2,reading,AA1,2026-02-01,900"],
            &["2,reading,BB2,2026-02-01,950"],
            &["2,reading,AA1,2026-02-01,900"],
        ),
        (
            "the next row down",
            &["2,reading,AA1,2026-12-12,900"],
            &["3,reading,AA1,2026-02-12,900"],
            &["2,reading,AA1,2026-12-12,900"],
        ),
    ] {
        check(case, &[first, second], kept);
    }
}

#[test]
fn what_had_rolled_out_before_is_not_put_right_by_what_stands_there_later() {
    let exports: [&[&str]; 3] = [
        &["2,fill,AA1,2026-01-01,5,E5", "3,fill,AA1,2026-01-08,5,E5"],
        &["2,fill,AA1,2026-01-08,5,E5"],
        &["2,fill,AA1,2026-01-08,5,E5", "3,fill,AA1,2026-01-15,5,E5"],
    ];
    check("a shorter export, then a longer one", &exports, &["2,fill,AA1,2026-01-01,5,E5"]);
}

#[test]
fn a_sheet_that_overwrites_keeps_its_history() {
    let (machine, other) = ("2,machine,AA1,", "3,machine,BB2,");
    for (case, was, now, kept) in [
        ("a further reading", "2,reading,AA1,2026-02-01,900", "2,reading,AA1,2026-02-08,950", true),
        ("a clock that stood still", "2,reading,AA1,2026-02-01,900", "2,reading,AA1,2026-02-08,900", true),
        ("a clock without a day", "2,undated,AA1,2026-03-01,900", "2,undated,AA1,2026-03-02,900", true),
        ("it went on", "2,undated,AA1,2026-03-01,900", "2,undated,AA1,2026-03-02,950", true),
        ("the next service", "2,job,AA1,2025-02-01,service,500,", "2,job,AA1,2026-02-01,service,4000,", true),
        ("the next, no clock", "2,job,AA1,2025-02-01,service,,", "2,job,AA1,2026-02-01,service,,", true),
        (
            "its day put right",
            "2,job,AA1,2026-02-20,service,500,",
            "2,job,AA1,2026-02-02,service,500,",
            false,
        ),
        ("without a clock", "2,job,AA1,2026-12-02,service,,", "2,job,AA1,2026-02-12,service,,", false),
        ("a service without a day", "2,job,AA1,,service,500,", "2,job,AA1,,service,4000,", true),
        ("passed again", "2,check,AA1,2026-02-01,brakes,pass", "2,check,AA1,2026-02-08,brakes,pass", true),
        (
            "failed, then passed",
            "2,check,AA1,2026-02-01,brakes,fail",
            "2,check,AA1,2026-02-08,brakes,pass",
            true,
        ),
        ("the first ride's day", "2,ride,AA1,2026-02-01,5", "2,ride,AA1,2026-02-02,5", false),
        ("a ride in other columns", "2,ride,AA1,2026-02-01,5", "2,second ride,AA1,2026-02-02,5", true),
    ] {
        let kept: &[&str] = if kept { &[was] } else { &[] };
        check(case, &[&[machine, was, other], &[machine, now, other]], kept);
    }
}

#[test]
fn a_machine_whose_row_moved_down_keeps_what_stood_in_its_old_row() {
    let exports: [&[&str]; 2] = [
        &["2,machine,AA1,", "2,reading,AA1,2026-03-01,1"],
        &["2,machine,BB2,", "2,reading,BB2,2026-03-01,1", "3,machine,AA1,", "3,reading,AA1,2026-03-02,9"],
    ];
    check("another machine was put in above", &exports, &["2,reading,AA1,2026-03-01,1"]);
    let exports: [&[&str]; 2] = [
        &["2,machine,AA1,", "2,reading,AA1,2026-03-01,1"],
        &["2,machine,BB2,", "2,reading,BB2,2026-03-01,1"],
    ];
    check("its mark was put right", &exports, &[]);
}
