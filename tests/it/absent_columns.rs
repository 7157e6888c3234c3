//! Columns of a machine's sheet that are gone or were emptied, though much hangs on them: the same machines keep what their
//! rows said, and that is said until the column is there again.
//!
//! Where a case can be either, and the thresholds, are our decision.

use serde_json::Value;

use crate::changed_sheets::of_sheets;
use crate::program::Yard;
use crate::shifted::{CHECKS, MACHINES, RIDES, checks};
use crate::withdrawn::without;

/// A yard of these machines, set up and read on Monday 11 May.
fn yard(machines: &str) -> Yard {
    let checks = checks(&CHECKS);
    let sheets = [("machines.csv", machines), ("checks.csv", checks.as_str()), ("rides.csv", RIDES)];
    Yard::in_miles(&sheets, "2026-05-11")
}

fn open(run: &Value, rule: &str) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let open = findings.filter(|it| it["rule"] == rule && it["state"] != "settled");
    open.map(|it| it["text"].as_str().unwrap().to_owned()).collect()
}

/// What is said of the machines' sheet but that nothing proves which of day and month comes first.
fn said(run: &Value) -> Vec<String> {
    let of_machines = |said: &String| {
        said.starts_with("sheets/machines.csv") && !said.contains("which of day and month comes first")
    };
    of_sheets(run).into_iter().filter(of_machines).collect()
}

/// What is not known of a machine, by the words that name it.
fn not_known(run: &Value, rule: &str, stock_no: &str) -> String {
    let all = run["cannot_tell"].as_array().unwrap().iter();
    let of_machine = |it: &&Value| it["rule"] == rule && it["machine"]["stock_no"] == stock_no;
    all.filter(of_machine).map(|it| it["missing"].to_string()).collect()
}

#[test]
fn machines_keep_their_stock_numbers_where_these_are_gone_or_emptied_and_their_marks_are_there() {
    for is_gone in [false, true] {
        let yard = yard(MACHINES);
        let (run, _) = yard.kept_morning("2026-05-11");
        assert_eq!(open(&run, "missed-checks"), [] as [String; 0], "{run:#}");
        for day in ["2026-05-12", "2026-05-13", "2026-05-14", "2026-05-20"] {
            yard.put("sheets/machines.csv", without(MACHINES, &["Stock No"], is_gone));
            let (run, code) = yard.kept_morning(day);
            assert_eq!(open(&run, "missed-checks"), [] as [String; 0], "gone: {is_gone}, on {day}");
            let said = said(&run);
            let line = if is_gone { "nothing" } else { "stock number, right since 2026-05-12" };
            let line = format!("write `\"Stock No\" = \"{line}\"`");
            assert!(
                matches!(&said[..], [one] if one.contains("`Stock No`")
                    && one.contains("what the same rows said before stands")
                    && one.contains(&line)),
                "gone: {is_gone}, on {day}: {said:#?}"
            );
            assert_eq!(code, Some(1), "gone: {is_gone}, on {day}");
        }
        // A check that is open is open still, and a new one counts for its machine.
        let checks = checks(&CHECKS).replace("09/05/2026,S3,QC,pass,TR\n", "09/05/2026,S3,QC,failed,TR\n");
        yard.put("sheets/checks.csv", checks);
        let (run, _) = yard.kept_morning("2026-05-21");
        let found = open(&run, "missed-checks");
        assert!(matches!(&found[..], [one] if one.contains("quality check (failed")), "{found:#?}");
        // With its numbers again, nothing is said any more.
        yard.put("sheets/machines.csv", MACHINES);
        let (run, _) = yard.kept_morning("2026-05-22");
        assert_eq!(said(&run), [] as [String; 0], "gone: {is_gone}");
    }
}

#[test]
fn a_single_stock_number_that_is_blanked_and_a_new_machine_without_one_are_an_ordinary_day() {
    let yard = yard(MACHINES);
    let row = "S4,CE75 ABG,Larkspur 400,,,\n";
    yard.put("sheets/machines.csv", format!("{MACHINES}{row}"));
    yard.kept_morning("2026-05-12");
    let ordinary = format!("{MACHINES}{},CE75 ABH,Larkspur 400,,,\n", row.replace("S4", ""));
    yard.put("sheets/machines.csv", ordinary);
    let (run, _) = yard.kept_morning("2026-05-13");
    assert_eq!(said(&run), [] as [String; 0]);
}

#[test]
fn a_column_of_stock_numbers_that_is_agreed_to_be_blank_or_unread_is_said_no_more() {
    for (agreed, is_gone) in
        [("nothing", true), ("nothing", false), ("stock number, right since 2026-05-12", false)]
    {
        let yard = yard(MACHINES);
        yard.put("sheets/machines.csv", without(MACHINES, &["Stock No"], is_gone));
        yard.kept_morning("2026-05-12");
        let settings = yard.settings();
        let (others, of_machines) = settings.split_at(settings.find("\"machines.csv\"").unwrap());
        let line = "\"Stock No\" = \"stock number\"";
        assert!(of_machines.contains(line), "{settings}");
        let of_machines = of_machines.replacen(line, &format!("\"Stock No\" = \"{agreed}\""), 1);
        yard.put("tickover.toml", format!("{others}{of_machines}"));
        let (run, code) = yard.kept_morning("2026-05-13");
        let said = said(&run);
        assert_eq!((said, code), (Vec::new(), Some(0)), "{agreed}: {:#?}", of_sheets(&run));
    }
}

/// Machines whose handovers are past, to come and not known.
const SOLD: &str = "Stock No,Reg,Model,Customer,Registered,Handover,Mileage,Mileage date\n\
    S1,CE74 ABD,Larkspur 400,Ms A Orchard,04/10/2024,14/04/2026,520,28/04/2026\n\
    S2,CE74 ABE,Larkspur 400,Mr B Meadow,05/10/2024,15/04/2026,212,30/04/2026\n\
    S3,CE74 ABF,Larkspur 400,Ms C Hedge,06/10/2024,16/05/2026,7,30/04/2026\n\
    S4,CE74 ABG,Larkspur 400,,07/10/2024,,9,30/04/2026\n";

#[test]
fn the_last_handovers_stand_where_their_column_is_gone_or_emptied_and_a_new_machine_cannot_be_told() {
    for is_gone in [false, true] {
        let yard = yard(SOLD);
        let (before, _) = yard.kept_morning("2026-05-11");
        let expected = ["missed-checks", "first-service-due", "service-due"].map(|rule| open(&before, rule));
        assert!(!expected[0].is_empty() || !expected[1].is_empty(), "{before:#}");
        let new = "S5,CE74 ABH,Larkspur 400,Mr D New,08/10/2024,20/05/2026,5,30/04/2026\n";
        for day in ["2026-05-12", "2026-05-13", "2026-05-14"] {
            yard.put("sheets/machines.csv", without(&format!("{SOLD}{new}"), &["Handover"], is_gone));
            let (run, code) = yard.kept_morning(day);
            for (rule, expected) in
                ["missed-checks", "first-service-due", "service-due"].iter().zip(&expected)
            {
                assert_eq!(open(&run, rule).len(), expected.len(), "{rule}, gone: {is_gone}, on {day}");
                for stock_no in ["S1", "S2", "S3"] {
                    let unknown = not_known(&run, rule, stock_no);
                    assert_eq!(unknown, not_known(&before, rule, stock_no), "{rule} of {stock_no} on {day}");
                }
            }
            let unknown = not_known(&run, "missed-checks", "S5");
            assert!(unknown.contains("handover"), "gone: {is_gone}, on {day}: {unknown}");
            let said = said(&run);
            assert!(
                matches!(&said[..], [one] if one.contains("`Handover`")
                    && one.contains("of a new row no handover is known")),
                "gone: {is_gone}, on {day}: {said:#?}"
            );
            assert_eq!(code, Some(1));
        }
    }
}
