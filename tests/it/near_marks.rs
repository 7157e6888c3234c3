//! Marks in a log that no listed machine has: which machine was meant, as it is told the staff. Worked out by hand.

use crate::program::Yard;

/// What is said of one mark in a log, beside machines of these marks.
fn help_with(written: &str, listed: &[&str]) -> String {
    let yard = Yard::empty();
    let rows: String = listed.iter().map(|mark| format!("{mark},Wisp,18/03/2026,20/03/2026\n")).collect();
    yard.put("sheets/machines.csv", format!("Reg,Model,Registered,Handover\n{rows}"));
    let first = listed[0];
    yard.put(
        "sheets/log.csv",
        format!("Date,Reg,Miles\n28/11/2026,{written},1510\n27/11/2026,{first},500\n"),
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    let (run, _) = yard.morning("2026-11-30");
    let complaints = run["complaints"].as_array().unwrap();
    let is_it =
        |what: &&serde_json::Value| what["problem"].as_str().unwrap().contains("no machine that is listed");
    complaints.iter().find(is_it).map(ToString::to_string).unwrap_or_else(|| panic!("{run}"))
}

#[test]
fn a_sign_that_looks_like_another_goes_before_any_other_letter() {
    for (written, meant, other) in [
        ("NV26 KB0", "NV26 KBO", "NV26 KBA"),
        ("NV26 K8D", "NV26 KBD", "NV26 KAD"),
        ("NV2G KBD", "NV26 KBD", "NV25 KBD"),
        ("NS26 KBD", "N526 KBD", "NA26 KBD"),
        ("NI26 KBD", "N126 KBD", "NA26 KBD"),
        ("NVZ6 KBD", "NV26 KBD", "NV16 KBD"),
        ("NV26 KDB", "NV26 KBD", "NV26 KDA"),
    ] {
        let said = help_with(written, &[other, meant]);
        // A mark that is none of today's style is written without its blank.
        let named = [meant.to_owned(), meant.replace(' ', "")].map(|mark| format!("Did you mean {mark}? "));
        assert!(named.iter().any(|named| said.contains(named)), "{written}: {said}");
    }
}

#[test]
fn machines_that_come_equally_near_are_all_named_and_none_of_more_than_three() {
    let said = help_with("NV26 KBX", &["NV26 KBA", "NV26 KBC", "NV26 KBD"]);
    assert!(said.contains("Did you mean NV26 KBA or NV26 KBC or NV26 KBD? "), "{said}");
    let said = help_with("NV26 KBX", &["NV26 KBA", "NV26 KBC", "NV26 KBD", "NV26 KBE"]);
    assert!(!said.contains("Did you mean") && said.contains("Correct the cell"), "{said}");
}
