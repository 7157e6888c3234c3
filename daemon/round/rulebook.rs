//! The rules in force: those of the yard folder, else those last accepted, else those that ship.

use std::collections::BTreeMap;
use std::fs;

use super::{YardFolder, keeping, zone_of};
use crate::problem::{Place, Problem, counted};
use crate::rules::{self, Rule, RuleBook, RuleFile};
use crate::{settings, today};

/// The rules of a yard folder as a morning of today would take them, and what is wrong with them.
pub fn rules_in_force(folder: &YardFolder) -> (RuleBook, Vec<Problem>) {
    let settings = settings::load(&folder.settings(), "tickover.toml").0.unwrap_or_default();
    let today = today::now().to_zoned_datetime(zone_of(&settings)).date();
    let (ledger, mut problems) = keeping::open_to_read(folder);
    let accepted = ledger.accepted_rules(today).unwrap_or_else(|failure| {
        problems.push(keeping::as_problem(&failure));
        BTreeMap::new()
    });
    let (rules, faults) = load(folder, &accepted);
    problems.extend(faults);
    (rules, problems)
}

/// Loads the rule files. A file that is wrong stays in force as it was last accepted; where the whole folder cannot
/// be read, all of them do, or those that ship where none was ever accepted. Whatever stands in is said.
/// Of each wrong file the first slip is told.
pub(super) fn load(folder: &YardFolder, accepted: &BTreeMap<String, String>) -> (RuleBook, Vec<Problem>) {
    load_telling(folder, accepted, one_a_file)
}

/// The same, with every slip of each file.
pub(super) fn load_with_all_slips(
    folder: &YardFolder,
    accepted: &BTreeMap<String, String>,
) -> (RuleBook, Vec<Problem>) {
    load_telling(folder, accepted, |problems| problems)
}

fn load_telling(
    folder: &YardFolder,
    accepted: &BTreeMap<String, String>,
    told: fn(Vec<Problem>) -> Vec<Problem>,
) -> (RuleBook, Vec<Problem>) {
    if let Err(cause) = fs::read_dir(folder.rules()) {
        let (rules, mut problems) = RuleBook::from_files(&stand_ins(accepted), "rules", accepted);
        problems.push(Problem::error(
            Place::file("rules"),
            format!(
                "the folder of rules cannot be read ({cause}); {} stand in for it",
                if accepted.is_empty() {
                    "the rules as shipped"
                } else {
                    "the rules that were in force before"
                }
            ),
            "Put the folder back, or let the account that runs Tickover read it.",
        ));
        return (rules, problems);
    }
    let (rules, problems) = RuleBook::load_with(&folder.rules(), "rules", accepted);
    let mut problems = told(problems);
    problems.extend(gone(&rules, accepted));
    problems.extend(with_one_title(&rules, accepted));
    if rules.rules().next().is_none() {
        problems.push(Problem::error(
            Place::file("rules"),
            "no rule is in force, so nothing was judged",
            "Put the rule files back; where there is no folder of rules at all, `tickover setup` lays out those that ship.",
        ));
    }
    (rules, problems)
}

/// Of each file the first slip, with what stays in force meanwhile and how many slips more there are: the letter has
/// room for what to do first, and `tickover rules check` names them all.
fn one_a_file(problems: Vec<Problem>) -> Vec<Problem> {
    let mut by_file: BTreeMap<String, Vec<Problem>> = BTreeMap::new();
    for problem in problems {
        by_file.entry(problem.place.file.clone()).or_default().push(problem);
    }
    by_file
        .into_values()
        .map(|mut of_file| {
            if of_file.len() < 2 {
                return of_file.remove(0);
            }
            // What stays in force comes first of a file's problems.
            let stays = of_file.remove(0);
            let mut slip = of_file.remove(0);
            let more = match of_file.len() {
                0 => String::new(),
                more => format!(" {} more: `tickover rules check` names them.", counted(more, "slip")),
            };
            slip.help = format!("{}. Meanwhile {}.{more}", slip.help.trim_end_matches('.'), stays.what);
            slip
        })
        .collect()
}

fn stand_ins(accepted: &BTreeMap<String, String>) -> Vec<RuleFile> {
    let file = |name: &str, text: &str| RuleFile { name: name.to_owned(), text: Ok(text.to_owned()) };
    if accepted.is_empty() {
        return rules::shipped().map(|(name, text)| file(name, text)).collect();
    }
    accepted.iter().map(|(name, text)| file(name, text)).collect()
}

/// The rules that have another's title: most likely a copy, by which everything is told twice.
fn with_one_title(book: &RuleBook, accepted: &BTreeMap<String, String>) -> Vec<Problem> {
    let is_new = |rule: &&Rule| !rules::is_known(&rule.name, accepted);
    let mut in_order: Vec<&Rule> = book.rules().collect();
    // The copy is the one that was not there before.
    in_order.sort_by_key(is_new);
    let mut known: Vec<&Rule> = Vec::new();
    let mut told = Vec::new();
    for rule in in_order {
        let Some(other) = known.iter().find(|other| other.has_title_of(rule)) else {
            known.push(rule);
            continue;
        };
        let (first, title) = (format!("{}.rhai", other.name), &rule.title);
        let place = Place::file(format!("rules/{}.rhai", rule.name));
        told.push(if rule.text == other.text {
            Problem::error(
                place,
                format!("this is a copy of `{first}`, word for word, and both judge, so all is told twice"),
                "Take the copy out of the folder of rules; if it is to be a rule of its own, change it, and give it a \
                 TITLE of its own.",
            )
        } else {
            Problem::error(
                place,
                format!("this rule and `{first}` have one title, \"{title}\", so all is told twice"),
                "Take the copy out of the folder of rules, or give one of them another TITLE.",
            )
        });
    }
    told
}

/// That a rule which is tried has the title of another in force.
pub(super) fn with_title_of_another(rule: &Rule, in_force: &RuleBook) -> Option<Problem> {
    let has_its_title = |other: &&Rule| other.name != rule.name && other.has_title_of(rule);
    let other = in_force.rules().find(has_its_title)?;
    Some(Problem::error(
        Place::file(format!("{}.rhai", rule.name)),
        format!(
            "`{}` is in force with the same title, \"{}\": all would be told twice",
            other.name, rule.title
        ),
        "Name the file as that one if it is to take its place, or give it another TITLE.",
    ))
}

/// The rules that were in force and whose files are not there any more, each said on the first day only. A file that
/// has another name now is another rule: what it raises is a finding of its own.
fn gone(rules: &RuleBook, accepted: &BTreeMap<String, String>) -> Vec<Problem> {
    let renamed = |name: &String| {
        let text = accepted.get(name)?;
        rules.rules().find(|rule| rule.text == *text && !accepted.contains_key(&*rule.name))
    };
    let is_there = |name: &String| rules.rule(name).is_some() || rules.not_in_force().contains(name);
    accepted
        .keys()
        .filter(|name| !is_there(name))
        .map(|name| {
            let place = Place::file(format!("rules/{name}.rhai"));
            if let Some(rule) = renamed(name) {
                let new = &rule.name;
                return Problem::error(
                    place,
                    format!("this rule's file is called `{new}.rhai` now, and judges under that name"),
                    "What it raised is settled under the old name and told anew under the new one; this is said \
                     today only.",
                );
            }
            Problem::error(
                place,
                "this rule's file is gone, and nothing is judged by it any more",
                "Put it back unless it was taken out on purpose; this is said today only.",
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rule_file_with_another_name_is_told_as_that_and_not_as_gone() {
        let yard = tempfile::tempdir().unwrap();
        let folder = YardFolder::at(yard.path());
        fs::create_dir(folder.rules()).unwrap();
        let text = "const TITLE = \"Any\";\nconst WHY = \"None.\";\nfn judge(machine) { clear() }\n\
                    const EXAMPLES = [given(\"any\", #{ today: \"2026-03-02\" }).expect(\"clear\")];\n";
        fs::write(folder.rules().join("any.rhai"), text).unwrap();
        let accepted = load(&folder, &BTreeMap::new()).0.accepted();
        let said = || {
            let problems = load(&folder, &accepted).1;
            problems.into_iter().map(|problem| (problem.place.file, problem.what)).collect::<Vec<_>>()
        };
        assert_eq!(said(), []);
        fs::rename(folder.rules().join("any.rhai"), folder.rules().join("all.rhai")).unwrap();
        let renamed = "this rule's file is called `all.rhai` now, and judges under that name";
        assert_eq!(said(), [("rules/any.rhai".to_owned(), renamed.to_owned())]);

        // Without its ending it is no rule, and lies there unread.
        fs::rename(folder.rules().join("all.rhai"), folder.rules().join("any")).unwrap();
        let said = said();
        let unread = "this file is not read, since its name does not end in `.rhai`";
        assert!(said.contains(&("rules/any".to_owned(), unread.to_owned())), "{said:?}");
        let gone = "this rule's file is gone, and nothing is judged by it any more";
        assert!(said.contains(&("rules/any.rhai".to_owned(), gone.to_owned())), "{said:?}");
    }
}
