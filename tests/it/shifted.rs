//! Cells of a log that stand in other rows or columns for a while, or are gone: what they said counts, and no longer than
//! it stands there.
//!
//! The thresholds are our decision; what is expected is reckoned by hand.

use serde_json::Value;

use crate::changed_sheets::of_sheets;
use crate::program::Yard;

pub(crate) const MACHINES: &str = "Stock No,Reg,Model,Customer,Phone,Handover\n\
    S1,CE75 ABD,Larkspur 400,Ms A Orchard,07700 900701,12/05/2026\n\
    S2,CE75 ABE,Larkspur 400,Mr B Meadow,07700 900702,13/05/2026\n\
    S3,CE75 ABF,Larkspur 400,Ms C Hedge,07700 900703,16/05/2026\n";

pub(crate) const RIDES: &str = "Date,Stock No,Miles,Ridden by\n04/05/2026,S1,6,GH\n05/05/2026,S1,6,TR\n\
    05/05/2026,S2,6,GH\n06/05/2026,S2,6,TR\n08/05/2026,S3,6,GH\n09/05/2026,S3,6,TR\n";

/// The checks: of each row the day, the machine, the check, the result and who signed.
pub(crate) const CHECKS: [[&str; 5]; 6] = [
    ["04/05/2026", "S1", "PDI", "pass", "GH"],
    ["05/05/2026", "S2", "PDI", "pass", "GH"],
    ["06/05/2026", "S1", "QC", "pass", "TR"],
    ["07/05/2026", "S2", "QC", "pass", "TR"],
    ["08/05/2026", "S3", "PDI", "pass", "GH"],
    ["09/05/2026", "S3", "QC", "pass", "TR"],
];

pub(crate) fn checks(rows: &[[&str; 5]]) -> String {
    let rows: String = rows.iter().map(|row| format!("{}\n", row.join(","))).collect();
    format!("Date,Stock No,Check,Result,Signed by\n{rows}")
}

/// A yard with these checks, set up and read on Monday 11 May.
fn yard(rows: &[[&str; 5]]) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", MACHINES);
    yard.put("sheets/rides.csv", RIDES);
    yard.put("sheets/checks.csv", checks(rows));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-05-11");
    yard
}

/// What is said of the sheets but that nothing proves which of day and month comes first.
fn said_of_rows(run: &Value) -> Vec<String> {
    let said = of_sheets(run);
    said.into_iter().filter(|said| !said.contains("which of day and month comes first")).collect()
}

/// What is open of the machines' checks and rides.
fn open(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let open = findings.filter(|it| it["rule"] == "missed-checks" && it["state"] != "settled");
    open.map(|it| it["text"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_bad_result_counts_no_more_once_its_row_says_again_what_it_said_whoever_signed_meanwhile() {
    for bad in [["09/05/2026", "S3", "QC", "TR", "pass"], ["09/05/2026", "S3", "QC", "failed", "GH"]] {
        let yard = yard(&CHECKS);
        assert_eq!(open(&yard.kept_morning("2026-05-11").0), Vec::<String>::new());
        let mut rows = CHECKS;
        rows[5] = bad;
        yard.put("sheets/checks.csv", checks(&rows));
        let (run, _) = yard.kept_morning("2026-05-12");
        assert_eq!(open(&run).len(), 1, "{bad:?}: {:#?}", open(&run));
        yard.put("sheets/checks.csv", checks(&CHECKS));
        for day in ["2026-05-13", "2026-05-13", "2026-05-14", "2026-05-18"] {
            let (run, _) = yard.kept_morning(day);
            assert_eq!(open(&run), Vec::<String>::new(), "{bad:?} on {day}");
        }
        // The bad one written again counts again.
        yard.put("sheets/checks.csv", checks(&rows));
        let (run, _) = yard.kept_morning("2026-05-19");
        assert_eq!(open(&run).len(), 1, "{bad:?}: {:#?}", open(&run));
    }
}

#[test]
fn a_bad_result_that_is_put_right_on_the_same_day_leaves_nothing_open() {
    for bad in [
        ["09/05/2026", "S3", "QC", "TR", "pass"],
        ["09/05/2026", "S3", "QC", "failed", "GH"],
        ["09/05/2026", "S3", "QC", "failed", "TR"],
        ["09/05/2026", "S3", "QC", "pss", "TR"],
    ] {
        let yard = yard(&CHECKS);
        let mut rows = CHECKS;
        rows[5] = bad;
        yard.kept_morning("2026-05-12");
        yard.put("sheets/checks.csv", checks(&rows));
        let (run, _) = yard.kept_morning("2026-05-12");
        assert_eq!(open(&run).len(), 1, "{bad:?}: {:#?}", open(&run));
        yard.put("sheets/checks.csv", checks(&CHECKS));
        let (run, _) = yard.kept_morning("2026-05-12");
        assert_eq!(open(&run), [] as [String; 0], "{bad:?}: {:#?}", of_sheets(&run));
        let (run, _) = yard.kept_morning("2026-05-13");
        assert_eq!(open(&run), [] as [String; 0], "{bad:?}");
    }
}

#[test]
fn a_bad_result_that_stood_beside_a_good_one_counts_on_when_it_is_taken_out_on_the_same_day() {
    let yard = yard(&CHECKS);
    let mut rows = CHECKS.to_vec();
    rows.insert(5, ["09/05/2026", "S3", "QC", "failed", "GH"]);
    yard.put("sheets/checks.csv", checks(&rows));
    assert_eq!(open(&yard.kept_morning("2026-05-12").0).len(), 1);
    yard.put("sheets/checks.csv", checks(&CHECKS));
    for day in ["2026-05-12", "2026-05-13"] {
        let (run, _) = yard.kept_morning(day);
        assert_eq!(open(&run).len(), 1, "{day}: {:#?}", open(&run));
    }
}

#[test]
fn checks_and_results_that_had_exchanged_their_places_for_a_day_leave_nothing_open() {
    let yard = yard(&CHECKS);
    let mut rows = CHECKS;
    for row in &mut rows {
        row.swap(2, 3);
    }
    yard.put("sheets/checks.csv", checks(&rows));
    yard.kept_morning("2026-05-12");
    yard.put("sheets/checks.csv", checks(&CHECKS));
    for day in ["2026-05-13", "2026-05-14"] {
        let (run, _) = yard.kept_morning(day);
        assert_eq!(open(&run), Vec::<String>::new(), "{day}: {:#?}", of_sheets(&run));
    }
}

#[test]
fn a_bad_result_whose_row_is_gone_or_stands_beside_a_good_one_counts_on() {
    let failed = ["09/05/2026", "S3", "QC", "failed", "GH"];
    // The row that failed is taken out, and another one stands: what a log lacks settles nothing.
    let mut rows = CHECKS.to_vec();
    rows.push(failed);
    let yard = yard(&rows);
    assert_eq!(open(&yard.kept_morning("2026-05-11").0).len(), 1);
    yard.put("sheets/checks.csv", checks(&CHECKS));
    for day in ["2026-05-12", "2026-05-13"] {
        assert_eq!(open(&yard.kept_morning(day).0).len(), 1, "{day}");
    }
}

/// The first five checks: of the third machine no quality check.
const FIVE: usize = 5;

/// These checks with a column moved on by one row, the last cell to the top.
fn moved_on(column: usize) -> Vec<[&'static str; 5]> {
    let mut rows = CHECKS[..FIVE].to_vec();
    for (number, row) in rows.iter_mut().enumerate() {
        row[column] = CHECKS[(number + FIVE - 1) % FIVE][column];
    }
    rows
}

#[test]
fn a_column_of_a_log_that_was_moved_alone_stands_as_it_was_and_that_is_said_until_it_is_put_back() {
    for (column, header) in [(0, "column A `Date`"), (1, "column B `Stock No`")] {
        let yard = yard(&CHECKS[..FIVE]);
        let before = open(&yard.kept_morning("2026-05-11").0);
        assert!(matches!(&before[..], [one] if one.contains("quality check")), "{before:#?}");
        let moved = moved_on(column);
        for day in ["2026-05-12", "2026-05-13", "2026-05-19"] {
            yard.put("sheets/checks.csv", checks(&moved));
            let (run, code) = yard.kept_morning(day);
            let said = of_sheets(&run);
            assert!(
                said.iter()
                    .any(|said| said.contains(header) && said.contains("what the same rows said before")),
                "{header} on {day}: {said:#?}"
            );
            assert_eq!((open(&run).len(), code), (1, Some(1)), "{header} on {day}: {:#?}", open(&run));
            assert!(open(&run)[0].contains("quality check"), "{header} on {day}: {:#?}", open(&run));
        }
        // A quality check that is done while it stands so is known once it is put back.
        yard.put("sheets/checks.csv", checks(&CHECKS));
        for day in ["2026-05-20", "2026-05-21"] {
            let (run, _) = yard.kept_morning(day);
            assert_eq!((open(&run), said_of_rows(&run)), (Vec::new(), Vec::new()), "{header} on {day}");
        }
    }
}

#[test]
fn a_log_that_is_sorted_by_whole_rows_or_has_new_ones_is_an_ordinary_day() {
    for column in [1, 2, 4] {
        let yard = yard(&CHECKS);
        let mut rows = CHECKS.to_vec();
        rows.push(["12/05/2026", "S3", "PDI", "pass", "GH"]);
        rows.sort_by_key(|row| row[column]);
        yard.put("sheets/checks.csv", checks(&rows));
        let (run, _) = yard.kept_morning("2026-05-12");
        assert_eq!((open(&run), said_of_rows(&run)), (Vec::new(), Vec::new()), "{column}");
    }
}
