//! Machines that have left for good, and sheets that are meant to be smaller: the line that says so, and what follows.

use serde_json::Value;

use crate::changed_sheets::{HEADERS, finding, is_silent, machines, of_sheets, open, says, sheet, yard};
use crate::program::Yard;

/// How many findings of a machine are open, and how many are told as settled.
fn of_machine(run: &Value, mark: &str) -> (usize, usize) {
    let findings = run["findings"].as_array().unwrap().iter();
    let all: Vec<&Value> = findings.filter(|it| it["machine"]["mark"] == mark).collect();
    let settled = all.iter().filter(|it| it["state"] == "settled").count();
    (all.len() - settled, settled)
}

fn write(yard: &Yard, from: &str, to: &str) {
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    assert!(settings.contains(from), "{settings}");
    yard.put("tickover.toml", settings.replace(from, to));
}

#[test]
fn a_machine_that_has_left_for_good_is_told_of_no_more_once_the_line_of_the_letter_is_written() {
    let yard = yard();
    // A shop that keeps checks, so that those that are not there are missed.
    yard.put("sheets/checks.csv", "Date,Reg,Item,Result\n12/12/2025,AB11 CDE,Chain,ok\n");
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    assert!(!finding(&yard.morning("2026-03-03").0, "missed-checks", "AB10 CDE").is_empty());
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[1..]));
    let (run, _) = yard.kept_morning("2026-03-03");
    let (before, _) = of_machine(&run, "AB10 CDE");
    assert!(before >= 2, "{}", run["findings"]);
    let line = "gone = [\"AB10 CDE\"]";
    let shown = yard.letter_in_a_line("2026-03-03");
    let said = format!("If it has left for good, write its name under [shop] in tickover.toml: {line}");
    assert!(shown.contains(&said), "{shown}");
    write(&yard, "gone = []", line);
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
    assert_eq!(of_machine(&run, "AB10 CDE"), (0, before), "{}", run["findings"]);
    assert!(
        yard.letter_in_a_line("2026-03-04").contains("tickover.toml says that the machine has left for good")
    );
    let (run, _) = yard.kept_morning("2026-03-05");
    assert_eq!((of_machine(&run, "AB10 CDE"), open(&run, "gone-from-sheets")), ((0, 0), 0));
    // What was read of it stays.
    let place = yard.path().join("all of it");
    yard.run("export", &[place.to_str().unwrap()]);
    assert!(std::fs::read_to_string(place.join("readings.csv")).unwrap().contains("AB10"));
}

#[test]
fn a_machine_that_a_sheet_lists_is_told_of_whatever_the_settings_say() {
    let yard = yard();
    let (before, _) = yard.morning("2026-03-03");
    write(&yard, "gone = []", "gone = [\"ab10cde\", \"AB99 XYZ\"]");
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!((of_machine(&run, "AB10 CDE"), code), (of_machine(&before, "AB10 CDE"), Some(1)));
    let said = of_sheets(&run);
    assert!(
        said[0].contains("`gone` says that `ab10cde` has left for good, and a sheet lists it"),
        "{said:?}"
    );
    assert!(said[1].contains("`gone` names `AB99 XYZ`, and nothing is known of such a machine"), "{said:?}");
}

#[test]
fn a_smaller_sheet_counts_at_once_where_the_settings_say_so_and_a_still_smaller_one_is_held() {
    let yard = yard();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..5]));
    let (run, _) = yard.kept_morning("2026-03-03");
    says(&run, &["5 machines now, and had 12", "write `down_to = 5` in its [[sheet]] in tickover.toml"]);
    write(&yard, "rows = \"machine\"", "rows = \"machine\"\ndown_to = 5");
    let (run, _) = yard.kept_morning("2026-03-03");
    is_silent(&run);
    assert_eq!((run["machines"].as_u64(), open(&run, "gone-from-sheets")), (Some(5), 7));
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..1]));
    let (run, _) = yard.kept_morning("2026-03-04");
    says(&run, &["1 machine now, and had 5 machines", "`down_to = 1`"]);
    assert_eq!(run["machines"], 5);
}

#[test]
fn of_a_small_list_all_but_one_are_held_too_and_a_machine_that_has_left_is_not_missing() {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..4]));
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    for (left, is_held) in [(2, false), (1, true)] {
        yard.put("sheets/machines.csv", sheet(&HEADERS, &machines()[..left]));
        let (run, _) = yard.morning("2026-03-03");
        assert_eq!((of_sheets(&run).len(), run["machines"] == 4), (usize::from(is_held), is_held), "{left}");
    }
    write(&yard, "gone = []", "gone = [\"AB11 CDE\", \"AB12 CDE\"]");
    let (run, _) = yard.morning("2026-03-03");
    is_silent(&run);
    assert_eq!(run["machines"], 1);
}
