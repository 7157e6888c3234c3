//! The rules in force: those of the yard folder, else those last accepted, else those that ship.

use std::collections::BTreeMap;
use std::fs;

use super::{YardFolder, keeping, zone_of};
use crate::problem::{Place, Problem, counted};
use crate::rules::{self, RuleBook, RuleFile};
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
pub(super) fn load(folder: &YardFolder, accepted: &BTreeMap<String, String>) -> (RuleBook, Vec<Problem>) {
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
    let mut problems = one_a_file(problems);
    problems.extend(gone(&rules, accepted));
    problems.extend(with_one_title(&rules));
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
        return rules::SHIPPED
            .iter()
            .map(|(name, text)| file(name.trim_end_matches(".rhai"), text))
            .collect();
    }
    accepted.iter().map(|(name, text)| file(name, text)).collect()
}

/// The rules that have another's title: most likely a copy, by which everything is told twice.
fn with_one_title(rules: &RuleBook) -> Vec<Problem> {
    let mut by_title: BTreeMap<&str, &str> = BTreeMap::new();
    rules
        .rules()
        .filter_map(|rule| {
            let first = by_title.insert(&rule.title, &rule.name)?;
            Some(Problem::error(
                Place::file(format!("rules/{}.rhai", rule.name)),
                format!("this rule and `{first}` have one title, \"{}\", so all is told twice", rule.title),
                "Take the copy out of the folder of rules, or give one of them another TITLE.",
            ))
        })
        .collect()
}

/// The rules that were in force and whose files are not there any more, each said on the first day only.
fn gone(rules: &RuleBook, accepted: &BTreeMap<String, String>) -> Vec<Problem> {
    let is_there = |name: &String| rules.rule(name).is_some() || rules.not_in_force().contains(name);
    accepted
        .keys()
        .filter(|name| !is_there(name))
        .map(|name| {
            Problem::error(
                Place::file(format!("rules/{name}.rhai")),
                "this rule's file is gone, and nothing is judged by it any more",
                "Put it back unless it was taken out on purpose; this is said today only.",
            )
        })
        .collect()
}
