//! What is not known of a machine is told as missing, and never as a no.

use std::collections::BTreeMap;

use super::tests::{file, read, said, small};

#[test]
fn a_blank_make_of_an_example_is_as_little_known_as_in_a_sheet() {
    let (book, _) =
        read(&[file("small", &small("bench(`${machine.make}`)", "cannot tell"))], &BTreeMap::new());
    for make in ["", "  ", "?", "-"] {
        let told = said(&book, &format!(r#"today: "2026-03-02", make: "{make}""#));
        assert_eq!(told, "small [] cannot tell: make", "{make}");
    }
}

#[test]
fn whether_the_true_speed_was_too_high_cannot_be_told_without_a_source() {
    let rule = small("let fast = machine.rides; bench(`x`)", "bench");
    let rule = rule.replace("fn judge(machine) { let fast = machine.rides; bench(`x`) }", "fn each(machine) { machine.rides }\nfn judge(machine, ride) { if ride.beyond_doubt { return ring(`true`); } bench(`shown`) }");
    let rule = rule.replace("expect(\"bench\")", "expect(\"does not apply\")");
    let (book, problems) = read(&[file("small", &rule)], &BTreeMap::new());
    assert_eq!(problems, "");
    for (speed, source, expected) in [
        (50, "", "cannot tell: what the top speed was read from"),
        (50, r#", source: "speedometer""#, "shown"),
        (120, r#", source: "speedometer""#, "true"),
        (120, "", "true"),
        (50, r#", source: "satellite""#, "true"),
    ] {
        let ride = format!(r##"#{{ day: "2026-02-20", top_speed: {speed}.mph, clock: 200.miles{source} }}"##);
        let told = said(&book, &format!(r#"today: "2026-03-02", handover: "2026-02-02", rides: [{ride}]"#));
        assert!(told.ends_with(expected), "{told}");
    }
}
