//! What is new or not taken clears no check before a handover; what is expected is reckoned by hand.

use serde_json::Value;

use crate::changed_sheets::says;
use crate::program::Yard;

/// What keeps a machine in the yard, by its stock number: the open findings about checks before handover.
fn kept_in(run: &Value, stock_no: &str) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let of_machine = findings.filter(|it| {
        it["rule"] == "missed-checks" && it["machine"]["stock_no"] == stock_no && it["state"] != "settled"
    });
    of_machine.map(|it| it["text"].as_str().unwrap().to_owned()).collect()
}

/// Three machines whose inspections and quality checks are signed by day, the third without a quality check; each with
/// another cell in a further column, which is not there where its header is blank.
fn signed(header: &str, further: [&str; 3]) -> String {
    let rows = [
        "S1,CE75 ABD,Larkspur 400,Ms A Orchard,14/05/2026,04/05/2026,GH,06/05/2026,TR",
        "S2,CE75 ABE,Larkspur 400,Mr B Meadow,15/05/2026,05/05/2026,GH,07/05/2026,TR",
        "S3,CE75 ABF,Larkspur 400,Ms C Hedge,16/05/2026,08/05/2026,GH,,",
    ];
    let comma = if header.is_empty() { "" } else { "," };
    let headers =
        format!("Stock No,Reg,Model,Customer,Handover,PDI date,PDI by,QC date,QC by{comma}{header}\n");
    let rows = rows.iter().zip(further).map(|(row, cell)| format!("{row}{comma}{cell}\n"));
    std::iter::once(headers).chain(rows).collect()
}

#[test]
fn a_new_column_beside_an_agreed_one_of_the_same_check_passes_none_until_it_is_agreed() {
    for (header, looks_like, cells, failures) in [
        ("Final inspection", "quality check", ["yes"; 3], ""),
        // Of one that was blank on its first day it is asked as well.
        ("Final inspection", "quality check", [""; 3], ""),
        ("QC result", "quality check", ["failed", "ok", "ok"], "; in 1 cell it says no or failed"),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", signed("", [""; 3]));
        yard.run("setup", &["--accept"]);
        let (first, _) = yard.kept_morning("2026-05-11");
        let open = kept_in(&first, "S3");
        assert!(open.len() == 1 && open[0].contains("quality check"), "{open:?}");
        for (day, cells) in [
            ("2026-05-12", cells),
            ("2026-05-13", cells.map(|cell| if cell.is_empty() { "yes" } else { cell })),
        ] {
            yard.put("sheets/machines.csv", signed(header, cells));
            let (run, code) = yard.kept_morning(day);
            says(
                &run,
                &[&format!("column J `{header}` is new and looks like the {looks_like}; it is not read")],
            );
            says(&run, &[&format!("what it would settle stays open{failures}.")]);
            assert_eq!((code, kept_in(&run, "S3")), (Some(1), open.clone()), "{header} {day}");
        }
    }
}

/// Eight machines with a model, registered and handed over on days of their own, all checks signed; and further rows.
fn handed_over(headers: [&str; 2], further: &[&str]) -> String {
    let row = |number: usize| {
        let (registered, handover) =
            (format!("{:02}/03/2026", 3 + number), format!("{:02}/04/2026", 13 + number));
        format!(
            "CE75 AB{},Larkspur 400,Ms A Orchard,{registered},{handover}\n",
            char::from(b'D' + number as u8)
        )
    };
    let headers = format!("Reg,Model,Customer,{},{}\n", headers[0], headers[1]);
    let further = further.iter().map(|row| format!("{row}\n"));
    std::iter::once(headers).chain((0..8).map(row)).chain(further).collect()
}

/// What the rules cannot tell of a machine and for want of what, by the rule's name.
fn cannot_tell(run: &Value, rule: &str, mark: &str) -> Vec<String> {
    let lines = run["cannot_tell"].as_array().unwrap().iter();
    lines
        .filter(|it| it["rule"] == rule && it.to_string().contains(mark))
        .map(|it| it["missing"].to_string())
        .collect()
}

#[test]
fn of_a_new_machine_whose_days_stand_in_held_columns_nobody_can_tell_whether_it_may_leave() {
    // Handed over on 14 May, with nothing done; the headers of the two days have been exchanged.
    let new = "CE26 XGD,Fennel 125,Ms Z New,08/05/2026,14/05/2026";
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", handed_over(["Registered", "Handover"], &[]));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-05-11");
    for day in ["2026-05-12", "2026-05-13", "2026-05-14"] {
        yard.put("sheets/machines.csv", handed_over(["Handover", "Registered"], &[new]));
        let (run, code) = yard.kept_morning(day);
        says(&run, &["as if their headers had been exchanged"]);
        assert_eq!(code, Some(1));
        let handover = r#"["handover (what column D `Handover` says now is not taken)"]"#;
        for rule in ["missed-checks", "registration-missing", "first-service-due", "brake-fluid-due"] {
            assert_eq!(
                cannot_tell(&run, rule, "CE26 XGD"),
                [handover],
                "{day} {rule}: {}",
                run["cannot_tell"]
            );
        }
        // The others stand as they were.
        assert_eq!(cannot_tell(&run, "missed-checks", "CE75"), [] as [String; 0], "{day}");
    }
}

#[test]
fn of_a_machine_whose_handover_cannot_be_read_nobody_can_tell_whether_it_may_leave() {
    // June has no 31st; and a known machine's day comes to stand in a column that is held.
    let new = "CE26 XGD,Fennel 125,Ms Z New,08/05/2026,31/06/2026";
    let yard = Yard::empty();
    let blank = "CE26 XGE,Fennel 125,Ms Y New,07/05/2026,";
    yard.put("sheets/machines.csv", handed_over(["Registered", "Handover"], &[new, blank]));
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.kept_morning("2026-05-11");
    let missing = |run: &Value, mark: &str| cannot_tell(run, "missed-checks", mark);
    assert_eq!(missing(&run, "CE26 XGD"), [r#"["handover (E10 cannot be read)"]"#], "{}", run["cannot_tell"]);
    // Nothing stands in the cell: it is no machine to be handed over.
    assert_eq!(missing(&run, "CE26 XGE"), [] as [String; 0]);
    let filled = "CE26 XGE,Fennel 125,Ms Y New,07/05/2026,14/05/2026";
    yard.put("sheets/machines.csv", handed_over(["Handover", "Registered"], &[filled]));
    let (run, _) = yard.kept_morning("2026-05-12");
    let held = r#"["handover (what column D `Handover` says now is not taken)"]"#;
    assert_eq!(missing(&run, "CE26 XGE"), [held], "{}", run["cannot_tell"]);
}

#[test]
fn what_a_new_file_says_is_done_lets_no_machine_go_until_somebody_says_that_it_belongs_there() {
    let stray = "Stock No,QC date,QC by\nS3,30/04/2026,TR\nS2,30/04/2026,TR\n";
    let yard = || {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", signed("", [""; 3]));
        yard.run("setup", &["--accept"]);
        let (run, _) = yard.kept_morning("2026-05-11");
        assert!(kept_in(&run, "S3")[0].contains("quality check"), "{run:#}");
        yard.put("sheets/stray.csv", stray);
        for day in ["2026-05-12", "2026-05-13"] {
            let (run, code) = yard.kept_morning(day);
            says(
                &run,
                &[
                    "sheets/stray.csv: this sheet is new",
                    "do not count until you say so (quality check of stock S3 in B2 and 1 more)",
                    "This is said until then.",
                ],
            );
            assert!(kept_in(&run, "S3")[0].contains("quality check"), "{day}: {run:#}");
            assert_eq!(code, Some(1));
        }
        yard
    };
    // It goes, and what it said goes with it.
    let stray_goes = yard();
    std::fs::remove_file(stray_goes.path().join("sheets/stray.csv")).unwrap();
    for day in ["2026-05-14", "2026-06-05"] {
        let (run, _) = stray_goes.kept_morning(day);
        assert!(kept_in(&run, "S3")[0].contains("quality check"), "{day}: {run:#}");
    }
    // It is agreed, and counts.
    let agreed = yard();
    let settings = agreed.settings();
    let lines = "[[sheet]]\nfile = \"stray.csv\"\nrows = \"machine\"\n";
    agreed.put("tickover.toml", format!("{settings}\n{lines}"));
    let (run, _) = agreed.kept_morning("2026-05-14");
    assert!(!kept_in(&run, "S3").iter().any(|text| text.contains("quality check")), "{run:#}");
}

#[test]
fn a_check_that_failed_in_a_new_file_counts_at_once_and_the_next_of_a_dated_series_is_no_new_one() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", signed("", [""; 3]));
    let checks = |result: &str| format!("Date,Stock No,Check,Result,By\n30/04/2026,S3,QC,{result},TR\n");
    yard.put("sheets/checks 2026-04.csv", checks("passed").replace("S3", "S2"));
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-05-11");
    yard.put("sheets/bad.csv", checks("failed"));
    let (run, _) = yard.kept_morning("2026-05-12");
    assert!(kept_in(&run, "S3")[0].contains("quality check (failed"), "{run:#}");
    std::fs::remove_file(yard.path().join("sheets/bad.csv")).unwrap();
    yard.put("sheets/checks 2026-05.csv", checks("passed").replace("30/04", "13/05"));
    let (run, _) = yard.kept_morning("2026-05-14");
    assert!(!kept_in(&run, "S3").iter().any(|text| text.contains("quality check")), "{run:#}");
}
