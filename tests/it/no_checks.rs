//! A shop of which no sheet holds checks or road tests: what is said of it and of its machines, worked out by hand.

use crate::program::Yard;

/// Sold last summer, in December, handed over four days ago, and going out on Friday.
const MACHINES: &str = "Reg,Model,Registered,Handover,Customer,Phone\n\
    KX25 ABC,Knot 300,01/07/2025,02/07/2025,M Hall,01632 960115\n\
    KX75 ABD,Knot 300,01/12/2025,02/12/2025,K Poole,01632 960112\n\
    KX75 ABE,Knot 300,03/03/2026,05/03/2026,T Ash,01632 960113\n\
    KX75 ABF,Knot 300,06/03/2026,13/03/2026,N Low,01632 960114\n";

/// The JSON of the morning of 9 March 2026 and its letter in one line.
fn told(sheets: &[(&str, &str)], amend: impl Fn(String) -> String) -> (serde_json::Value, String) {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", MACHINES);
    for (file, text) in sheets {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    yard.put("tickover.toml", amend(yard.settings()));
    (yard.morning("2026-03-09").0, yard.letter_in_a_line("2026-03-09"))
}

/// The marks of which the rule of checks before handover raises something, and of which it cannot tell.
fn before_handover(run: &serde_json::Value) -> [Vec<String>; 2] {
    ["findings", "cannot_tell"].map(|list| {
        let of_rule = run[list].as_array().unwrap().iter().filter(|one| one["rule"] == "missed-checks");
        let mut marks: Vec<String> =
            of_rule.map(|one| one["machine"]["mark"].as_str().unwrap().to_owned()).collect();
        marks.sort();
        marks
    })
}

const NOT_KEPT: &str =
    "It cannot be told what was done before a handover: checks and road tests, of which no sheet holds any";

#[test]
fn nothing_is_called_back_where_no_sheet_holds_checks_and_that_is_said_once_at_the_top() {
    let (run, letter) = told(&[], |settings| settings);
    let [raised, untold] = before_handover(&run);
    assert_eq!(raised, [""; 0], "{letter}");
    // Within a week of its handover somebody still knows what was done: our decision.
    assert_eq!(untold, ["KX75 ABE", "KX75 ABF"], "{letter}");
    assert_eq!(letter.matches(NOT_KEPT).count(), 1, "{letter}");
    let (top, _) = letter.split_once("Could not be told").unwrap();
    assert!(top.contains(NOT_KEPT) && !letter.contains("have it back"), "{letter}");
}

#[test]
fn of_two_machines_that_went_out_without_a_check_both_may_have_been_missed() {
    let (run, letter) = {
        let yard = Yard::empty();
        let last_two: String = MACHINES
            .lines()
            .filter(|line| !line.contains("ABC"))
            .fold(String::new(), |all, line| all + line + "\n");
        yard.put("sheets/machines.csv", last_two);
        yard.run("setup", &["--accept"]);
        (yard.morning("2026-03-09").0, yard.letter_in_a_line("2026-03-09"))
    };
    assert_eq!(before_handover(&run)[0].len(), 3, "{letter}");
    assert!(!letter.contains("of which no sheet holds any"), "{letter}");
}

#[test]
fn one_check_in_a_sheet_shows_that_checks_are_kept_and_the_others_are_missed() {
    let checks = "Date,Reg,Item,Result,By\n04/03/2026,KX75 ABE,PDI,pass,Ann\n";
    let (run, letter) = told(&[("sheets/checks.csv", checks)], |settings| settings);
    let [raised, untold] = before_handover(&run);
    assert_eq!(
        (raised, untold.len()),
        (vec!["KX75 ABD".into(), "KX75 ABE".into(), "KX75 ABF".into()], 0),
        "{letter}"
    );
    assert!(letter.contains(
        "It cannot be told what was done before a handover: road tests, of which no sheet holds any"
    ));
    assert!(!letter.contains("road test distance") && !letter.contains("2 road tests (not"), "{letter}");
}

#[test]
fn a_blank_column_of_checks_is_a_sheet_that_holds_them() {
    let wide = MACHINES.replace("Phone\n", "Phone,PDI,QC,Road test 1,Road test 2\n");
    let wide: String = wide
        .lines()
        .enumerate()
        .map(|(row, line)| format!("{line}{}\n", if row == 0 { "" } else { ",,,," }))
        .collect();
    let (run, letter) = told(&[("sheets/machines.csv", &wide)], |settings| settings);
    assert_eq!(before_handover(&run)[0].len(), 3, "{letter}");
}

#[test]
fn a_shop_that_wants_no_checks_is_told_nothing_of_them() {
    let none = |settings: String| {
        let none = [
            ("checks_before_handover", "[]"),
            ("second_person_check", "\"\""),
            ("rides_before_handover", "0"),
            ("ride_days_before_handover", "0"),
        ];
        none.iter().fold(settings, |settings, (key, none)| {
            settings.replace(&format!("\n{key} = "), &format!("\n{key} = {none} # "))
        })
    };
    let (run, letter) = told(&[], none);
    assert_eq!(before_handover(&run), [vec![""; 0], vec![""; 0]], "{letter}");
    assert!(!letter.contains("before a handover"), "{letter}");
}
