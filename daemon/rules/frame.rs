//! The frame of a rule file: the parts that the loader asks for by name, each as the reference tells of it.

/// The constants that are printed beside what the rule raises.
pub(super) const PRINTED: [&str; 3] = ["TITLE", "WHY", "CAUTION"];
/// The constant that holds a rule's examples.
pub(super) const EXAMPLES: &str = "EXAMPLES";
/// The functions that are asked about a machine, or about the yard.
pub(super) const ASKED: [&str; 3] = ["applies_to", "each", "judge"];

/// One part of a rule file.
pub(super) struct Frame {
    /// How its line begins in the small rule.
    pub(super) opens: &'static str,
    /// How it is written.
    pub(super) written: &'static str,
    /// What it is, in one word or two.
    pub(super) is: &'static str,
    /// What it is for.
    pub(super) says: &'static str,
}

/// All parts, in the order in which a file has them.
#[rustfmt::skip]
pub(super) const FRAME: [Frame; 9] = [
    Frame { opens: "//", written: "// ...", is: "for people",
        says: "nothing behind it on its line is read" },
    Frame { opens: "const TITLE", written: "const TITLE = \"...\";", is: "a text",
        says: "heads what the rule raises; every rule has one of its own" },
    Frame { opens: "const WHY", written: "const WHY = \"...\";", is: "a text",
        says: "why the rule is there; every rule has it" },
    Frame { opens: "const CAUTION", written: "const CAUTION = \"...\";", is: "a text",
        says: "what must be heeded, printed beside what the rule raises; may be left out" },
    Frame { opens: "const LONG", written: "const NAME = ...;", is: "anything",
        says: "a limit, or another value, under a name of your own in capitals" },
    Frame { opens: "fn applies_to", written: "fn applies_to(machine) { ... }", is: "yes or no",
        says: "which machines the rule is about; left out, it is about all" },
    Frame { opens: "fn each", written: "fn each(machine) { ... }", is: "a list",
        says: "what is judged one by one, such as `machine.services`; left out, the machine is judged as one" },
    Frame { opens: "fn judge", written: "fn judge(machine, service) { ... }", is: "an answer",
        says: "what is to be done, ending with `clear()` or another answer; without `each` it is `fn judge(machine)`, and \
               with `yard` in place of `machine` in all three the rule looks at the whole yard" },
    Frame { opens: "const EXAMPLES", written: "const EXAMPLES = [ ... ];", is: "a list of examples",
        says: "what the rule must say of made-up machines, tried whenever the file is read; every rule has at least one" },
];

/// How a part stands in the small rule, in one line.
pub(super) fn in_the_small_rule(part: &Frame) -> String {
    let mut lines = SMALL_RULE.lines().skip_while(|line| !line.starts_with(part.opens));
    let first = lines.next().unwrap_or_default();
    let code = if part.opens == "//" { first } else { first.split("  //").next().unwrap_or_default() };
    let code = code.split_whitespace().collect::<Vec<_>>().join(" ");
    match code.chars().last() {
        Some('{') => format!("{code} ... }}"),
        Some('[') => format!("{code} {} ... ];", lines.next().unwrap_or_default().trim()),
        _ => code,
    }
}

/// A whole rule, as small as one can be and still show all its parts.
pub(super) const SMALL_RULE: &str = r#"// LONG SERVICED: what a line begins with // is for people.
const TITLE   = "Long serviced";                    // heads what the rule raises
const WHY     = "What was done long ago is due.";   // why it is there
const CAUTION = "Brakes are for a technician.";     // printed beside what it raises; may be left out

const LONG    = 24.months;                          // a value of your own, in capitals

fn applies_to(machine) { machine.has.handover }     // may be left out: then it applies to all

fn each(machine) { machine.services }               // may be left out: then `judge` takes the machine alone

fn judge(machine, service) {
    if service.last_done + LONG < machine.today { return ring(`The ${service.item} was done on ${service.last_done}.`); }
    clear()
}

const DONE     = [#{ day: "2023-03-02", done: "annual service, first service, brake fluid" }];
const EXAMPLES = [
    given("three years ago", #{ today: "2026-03-02", handover: "2022-03-02", jobs: DONE }).expect("ring"),
    given("never",           #{ today: "2026-03-02", handover: "2022-03-02" }).expect("cannot tell"),
];
"#;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::RuleFile;

    #[test]
    fn every_part_that_is_asked_for_is_told_of_and_stands_in_the_small_rule() {
        for name in PRINTED.iter().chain(&ASKED).chain([&EXAMPLES]) {
            assert!(FRAME.iter().any(|part| part.written.contains(name)), "{name}");
        }
        for part in &FRAME {
            assert!(SMALL_RULE.lines().any(|line| line.starts_with(part.opens)), "{}", part.written);
        }
    }

    #[test]
    fn the_small_rule_works() {
        let file = RuleFile { name: "small".to_owned(), text: Ok(SMALL_RULE.to_owned()) };
        let problems = file.vet("rules").err().unwrap_or_default();
        assert_eq!(problems, []);
    }
}
