//! Which examples of a rule have changed, beside an earlier version of it.

use std::collections::BTreeMap;
use std::fmt;

use super::Rule;
use super::examples::Example;

/// What became of an example.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum ExampleChange {
    /// It is new.
    Added {
        /// What it shows.
        name: String,
        /// What the rule must say of it.
        expects: String,
    },
    /// It is not there any more.
    TakenOut {
        /// What it showed.
        name: String,
        /// What the rule had to say of it.
        expected: String,
    },
    /// It expects something else.
    Otherwise {
        /// What it shows.
        name: String,
        /// What the rule had to say of it.
        expected: String,
        /// What the rule must say of it now.
        expects: String,
    },
    /// It has other facts, and expects the same.
    OtherFacts {
        /// What it shows.
        name: String,
    },
}

impl fmt::Display for ExampleChange {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ExampleChange::Added { name, expects } => {
                write!(formatter, "new: \"{name}\" expects \"{expects}\"")
            }
            ExampleChange::TakenOut { name, expected } => {
                write!(formatter, "taken out: \"{name}\" expected \"{expected}\"")
            }
            ExampleChange::Otherwise { name, expected, expects } => {
                write!(formatter, "\"{name}\" expected \"{expected}\", and now \"{expects}\"")
            }
            ExampleChange::OtherFacts { name } => write!(formatter, "\"{name}\" has other facts"),
        }
    }
}

impl Rule {
    /// Which of its examples differ from those of an earlier version: new ones and changed ones as they stand in the
    /// file, then those that were taken out. Of several examples of one name the first is held against the first.
    pub fn example_changes(&self, before: &Rule) -> Vec<ExampleChange> {
        let (now, before) = (self.examples(), before.examples());
        let mut earlier: BTreeMap<&str, Vec<&Example>> = BTreeMap::new();
        for example in before.iter().rev() {
            earlier.entry(&example.name).or_default().push(example);
        }
        let mut changes = Vec::new();
        for example in &now {
            let was = earlier.get_mut(example.name.as_str()).and_then(Vec::pop);
            changes.extend(change(was, example));
        }
        let taken_out = before.iter().filter(|example| {
            let left = earlier.get(example.name.as_str());
            left.is_some_and(|left| left.iter().any(|it| std::ptr::eq(*it, *example)))
        });
        changes.extend(taken_out.map(|example| ExampleChange::TakenOut {
            name: example.name.clone(),
            expected: example.expected.clone(),
        }));
        changes
    }
}

fn change(was: Option<&Example>, now: &Example) -> Option<ExampleChange> {
    let (name, expects) = (now.name.clone(), now.expected.clone());
    let Some(was) = was else { return Some(ExampleChange::Added { name, expects }) };
    if was.expected != now.expected {
        return Some(ExampleChange::Otherwise { name, expected: was.expected.clone(), expects });
    }
    (!was.about.is_same(&now.about)).then_some(ExampleChange::OtherFacts { name })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A rule that rings for a machine past 500 miles, with these examples.
    fn rule(examples: &str) -> Rule {
        let text = format!(
            "const TITLE = \"Far\";\nconst WHY = \"To try examples.\";\n\
             fn judge(machine) {{ if machine.clock > 500.miles {{ return ring(\"far\"); }} clear() }}\n\
             const EXAMPLES = [{examples}];\n"
        );
        Rule::read("far", "far.rhai".to_owned(), &text, Vec::new())
            .unwrap_or_else(|problems| panic!("{problems:?}"))
    }

    fn example(name: &str, miles: u32, expected: &str) -> String {
        format!(
            "given(\"{name}\", #{{ today: \"2026-03-02\", clock: {miles}.miles }}).expect(\"{expected}\"),"
        )
    }

    #[test]
    fn examples_are_added_taken_out_or_changed() {
        let before = [
            example("near", 100, "clear"),
            example("far", 600, "ring"),
            example("twice", 1, "clear"),
            example("twice", 2, "clear"),
            example("gone", 700, "ring"),
            example("other day or clock", 5, "clear"),
        ];
        let after = [
            example("new", 900, "ring"),
            example("far", 400, "clear"),
            example("near", 100, "clear"),
            example("twice", 1, "clear"),
            example("other day or clock", 6, "clear"),
        ];
        let (before, after) = (rule(&before.concat()), rule(&after.concat()));
        let (name, ring, clear) = (|name: &str| name.to_owned(), "ring".to_owned(), "clear".to_owned());
        assert_eq!(
            after.example_changes(&before),
            [
                ExampleChange::Added { name: name("new"), expects: ring.clone() },
                ExampleChange::Otherwise {
                    name: name("far"),
                    expected: ring.clone(),
                    expects: clear.clone()
                },
                ExampleChange::OtherFacts { name: name("other day or clock") },
                ExampleChange::TakenOut { name: name("twice"), expected: clear },
                ExampleChange::TakenOut { name: name("gone"), expected: ring },
            ]
        );
        assert_eq!(after.example_changes(&after), []);
    }
}
