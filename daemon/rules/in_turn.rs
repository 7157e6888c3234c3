//! The files of a folder vetted in turn, with one time for them all: what is in force first, what is new last.

use std::collections::BTreeMap;
use std::time::Duration;

use super::files::shown_as;
use super::rule::Rule;
use super::time_allowed::at_work;
use super::{RuleFile, is_known};
use crate::problem::{Place, Problem};

/// When a file is vetted.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Turn {
    /// It has the words that ship, or those that were accepted last. Such a one is vetted however late it is: what
    /// somebody drops beside it puts no rule out of force.
    InForce,
    /// Its name is known, and its words are other ones.
    Edited,
    /// Its name is new.
    New,
}

impl Turn {
    fn of(file: &RuleFile, accepted: &BTreeMap<String, String>) -> Turn {
        let known = accepted.get(&file.name);
        match &file.text {
            Ok(text) if known == Some(text) || Rule::is_shipped(text) => Turn::InForce,
            _ if is_known(&file.name, accepted) => Turn::Edited,
            _ => Turn::New,
        }
    }
}

/// What came of vetting each file, in their order; once they have been at work for so long together, no other is begun
/// that is not in force.
pub(super) fn vetted(
    files: &[RuleFile],
    shown: &str,
    accepted: &BTreeMap<String, String>,
    time: Duration,
) -> Vec<Result<Rule, Vec<Problem>>> {
    let mut in_turn: Vec<(usize, &RuleFile)> = files.iter().enumerate().collect();
    in_turn.sort_by_cached_key(|(_, file)| Turn::of(file, accepted));
    let began = at_work();
    let vet = |(place, file): (usize, &RuleFile)| {
        let is_late = at_work().saturating_sub(began) >= time && Turn::of(file, accepted) > Turn::InForce;
        // What could not be read takes no time, and is told as that.
        let result = if is_late && file.text.is_ok() {
            Err(vec![no_time(&file.name, shown, time)])
        } else {
            file.vet_beside(shown, accepted.get(&file.name))
        };
        (place, result)
    };
    let mut vetted: Vec<_> = in_turn.into_iter().map(vet).collect();
    vetted.sort_by_key(|(place, _)| *place);
    vetted.into_iter().map(|(_, result)| result).collect()
}

/// That a file was not vetted.
fn no_time(name: &str, shown: &str, time: Duration) -> Problem {
    let seconds = time.as_secs();
    Problem::error(
        Place::file(shown_as(name, shown)),
        format!(
            "there was no time to try this file: all rule files together may take {seconds} s, and those in force go first"
        ),
        "make the examples fewer or smaller, of this file and of others that are new, or move away the rules that nobody \
         needs",
    )
}

#[cfg(test)]
mod tests {
    use super::super::tests::{file, small};
    use super::super::{RuleBook, shipped};
    use super::*;

    #[test]
    fn once_the_time_of_a_folder_is_used_up_what_is_in_force_goes_on_and_no_other_file_is_begun() {
        let text = small("clear()", "clear");
        let edited = text.replace("A test.", "Another test.");
        let (shipped, shipped_text) = shipped().next().unwrap();
        let files = [
            file("a-new", &text),
            file("edited", &edited),
            file("kept", &text),
            file(shipped, shipped_text),
            file("wrong", "?"),
        ];
        let accepted = ["edited", "kept"].map(|name| (name.to_owned(), text.clone())).into();
        let in_force = |time: Duration| {
            let (book, problems) = RuleBook::from_files_within(time, &files, "rules", &accepted);
            let in_force: Vec<(String, bool)> =
                book.rules().map(|rule| (rule.name.to_string(), book.is_as_it_was(&rule.name))).collect();
            (in_force, problems)
        };
        let rules = |rules: &[(&str, bool)]| -> Vec<(String, bool)> {
            let mut rules: Vec<_> = rules.iter().map(|(name, was)| ((*name).to_owned(), *was)).collect();
            rules.sort();
            rules
        };
        let (all, problems) = in_force(Duration::from_secs(30));
        assert_eq!(all, rules(&[("a-new", false), ("edited", false), ("kept", false), (shipped, false)]));
        assert!(problems.iter().all(|problem| problem.place.file == "rules/wrong.rhai"), "{problems:?}");

        let (late, problems) = in_force(Duration::ZERO);
        assert_eq!(late, rules(&[("edited", true), ("kept", false), (shipped, false)]));
        let of = |file: &str| -> Vec<&str> {
            let of_file = problems.iter().filter(|problem| problem.place.file == file);
            of_file.map(|problem| problem.what.as_str()).collect()
        };
        let no_time = "there was no time to try this file: all rule files together may take 0 s, and those in force go first";
        assert_eq!(of("rules/a-new.rhai"), ["`a-new` is not in force", no_time]);
        assert_eq!(of("rules/edited.rhai"), ["`edited` stays in force as it last was", no_time]);
        assert_eq!(of("rules/wrong.rhai"), ["`wrong` is not in force", no_time]);
        assert_eq!(problems.len(), 6);
    }

    #[test]
    fn what_is_in_force_is_vetted_before_what_was_edited_and_that_before_what_is_new() {
        let text = small("clear()", "clear");
        let accepted = BTreeMap::from([("kept".to_owned(), text.clone())]);
        let turn = |name: &str, text: &str| Turn::of(&file(name, text), &accepted);
        let (shipped, shipped_text) = shipped().next().unwrap();
        for (name, text, expected) in [
            ("kept", text.as_str(), Turn::InForce),
            (shipped, shipped_text, Turn::InForce),
            ("kept", "other", Turn::Edited),
            (shipped, "other", Turn::Edited),
            ("new", &text, Turn::New),
        ] {
            assert!(turn(name, text) == expected, "{name}: {text}");
        }
        assert!(Turn::InForce < Turn::Edited && Turn::Edited < Turn::New);
    }
}
