//! The foot of the letter: what is settled, what could not be told, what the letter rests on.

use std::collections::{BTreeMap, BTreeSet};

use super::earlier_letter;
use super::edits;
use super::morning::{Morning, RuleInForce, SheetRead};
use super::page::{self, Item, Listing};
use super::words::{self, NAME, SENTENCE, one_line};
use crate::findings::{CannotTell, Finding, Section, State};
use crate::problem::{Problem, Severity, counted};
use crate::yard::MachineId;

/// The foot's listings, those that have something in them.
pub(super) fn of(morning: &Morning) -> Vec<Listing> {
    let unasked = [cannot_tell(&morning.cannot_tell), too_long_ago(&morning.too_long_ago)];
    [settled(morning), put_off(morning)]
        .into_iter()
        .chain(unasked)
        .chain([complaints(&morning.complaints)])
        .chain([edits::of(&morning.edits, morning.today), read(morning), rules(&morning.rules)])
        .filter(|listing| !listing.items.is_empty())
        .collect()
}

/// What was open in the last letter and is not any more, with the facts that cleared it.
fn settled(morning: &Morning) -> Listing {
    let kept: BTreeSet<_> = morning
        .findings
        .iter()
        .filter(|finding| finding.raised.section == Section::KeepInTheYard)
        .map(|finding| &finding.machine)
        .collect();
    let mut by_rule: BTreeMap<(String, &str), Vec<&Finding>> = BTreeMap::new();
    for finding in &morning.settled {
        by_rule.entry((page::title(&finding.title, &finding.rule), &finding.rule)).or_default().push(finding);
    }
    let items = by_rule.into_iter().map(|((said, _), mut findings)| {
        findings.sort_by_key(|finding| (&finding.machine_name, &finding.machine, &finding.key));
        let line = |finding: &&Finding| {
            let mut line = page::machine(finding);
            let facts: Vec<String> = finding.evidence.iter().map(page::fact).collect();
            if !facts.is_empty() {
                line = format!("{line}: {}", whole_facts(&facts));
            }
            let still =
                kept.contains(&finding.machine).then_some(" It is still to be kept in the yard, see above.");
            format!("{}{}", words::stopped(&line), still.unwrap_or_default())
        };
        Item { said, lines: findings.iter().map(line).collect(), ..Item::default() }
    });
    let since = match morning.last_told {
        Some(day) => format!("the last letter, {}", words::day(day, morning.today)),
        None => "the last letter".to_owned(),
    };
    Listing {
        heading: format!("Settled since {since}: {}", morning.settled.len()),
        items: items.collect(),
        ..Listing::default()
    }
}

/// What an answer put off, so that nobody takes it for settled.
fn put_off(morning: &Morning) -> Listing {
    let waiting: Vec<&Finding> = morning
        .findings
        .iter()
        .filter(|finding| finding.state == State::PutOff && finding.raised.section != Section::KeepInTheYard)
        .collect();
    let mut by_title: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for finding in &waiting {
        by_title.entry(page::title(&finding.title, &finding.rule)).or_default().push(page::machine(finding));
    }
    Listing {
        heading: format!("Put off by an answer: {}", waiting.len()),
        lead: "Each comes back on the day that was agreed.",
        items: by_title.into_iter().map(|(title, machines)| named(title, machines)).collect(),
        more: 0,
    }
}

/// As many facts as a sentence bears, none of them cut.
fn whole_facts(facts: &[String]) -> String {
    let mut said = one_line(&facts[0], SENTENCE);
    for fact in &facts[1..] {
        if said.chars().count() + fact.chars().count() > SENTENCE {
            return format!("{said}; and more");
        }
        said = format!("{said}; {fact}");
    }
    said
}

/// What no rule could say; machines that lack the same fact are one line.
fn cannot_tell(cannot_tell: &[CannotTell]) -> Listing {
    let mut by_fact: BTreeMap<(String, String), BTreeMap<&MachineId, String>> = BTreeMap::new();
    for untold in cannot_tell {
        let missing: BTreeSet<&str> = untold.missing.iter().map(String::as_str).collect();
        let missing = words::facts(missing);
        let missing =
            if missing.is_empty() { "a fact that the rule does not name".to_owned() } else { missing };
        let title = page::title(&untold.title, &untold.rule);
        let name = page::first_name(&[&untold.machine_name]);
        by_fact.entry((title, missing)).or_default().insert(&untold.machine, name);
    }
    let items = by_fact.into_iter().map(|((title, missing), machines)| {
        let count = counted(machines.len(), "machine");
        named(format!("{title}: {count}; not known: {missing}"), machines.into_values().collect())
    });
    Listing {
        heading: format!("Could not be told: {}", cannot_tell.len()),
        lead: "A missing fact is not a pass. Nobody knows whether these are due until it is written down.",
        items: items.collect(),
        more: 0,
    }
}

/// A line with the names of machines under it.
fn named(said: String, mut machines: Vec<String>) -> Item {
    machines.sort();
    Item { said, lines: machines, run_on: true, more: 0 }
}

/// What is out or open for so long that no rule asks for it any more: counted, so that nobody takes it for settled.
fn too_long_ago(too_long_ago: &[CannotTell]) -> Listing {
    /// How many machines of a rule are named; a shop that begins with years of sheets has hundreds.
    const NAMED: usize = 6;
    let mut by_rule: BTreeMap<String, BTreeMap<&MachineId, String>> = BTreeMap::new();
    for old in too_long_ago {
        let name = page::first_name(&[&old.machine_name]);
        by_rule.entry(page::title(&old.title, &old.rule)).or_default().insert(&old.machine, name);
    }
    let items = by_rule.into_iter().map(|(title, machines)| {
        let count = machines.len();
        let mut item =
            named(format!("{title}: {}", counted(count, "machine")), machines.into_values().collect());
        item.lines.truncate(NAMED);
        if count > NAMED {
            item.lines.push(format!("and {} more", count - NAMED));
        }
        item
    });
    Listing {
        heading: format!("Too long ago to be asked for: {}", too_long_ago.len()),
        lead: "Nothing in the sheets shows these put right, and no rule asks for them any more.",
        items: items.collect(),
        more: 0,
    }
}

/// What in the sheets could not be read; the same complaint is said once, with its cells under it.
fn complaints(complaints: &[Problem]) -> Listing {
    let mut by_words: BTreeMap<(Severity, &str, &str), Vec<&Problem>> = BTreeMap::new();
    // What hides something due stands at the top.
    let complaints: Vec<&Problem> = complaints.iter().filter(|problem| !problem.hides_what_is_due).collect();
    for &problem in &complaints {
        by_words.entry((problem.severity, &problem.what, &problem.help)).or_default().push(problem);
    }
    let items = by_words.into_iter().map(|((_, what, help), mut problems)| {
        problems.sort();
        let what = words::capitalised(&one_line(what, SENTENCE));
        let times = if problems.len() > 1 { format!(" ({} times)", problems.len()) } else { String::new() };
        let what = words::stopped(&format!("{what}{times}"));
        let help = words::stopped(&words::capitalised(&one_line(help, SENTENCE)));
        Item {
            said: format!("{what} {help}"),
            lines: problems.into_iter().map(page::place).collect(),
            ..Item::default()
        }
    });
    Listing {
        heading: format!("{}: {}", earlier_letter::NOT_READ, complaints.len()),
        items: items.collect(),
        ..Listing::default()
    }
}

/// What was read, and how old it was.
fn read(morning: &Morning) -> Listing {
    let line = |sheet: &SheetRead| {
        let mut name = one_line(&sheet.file, NAME);
        if let Some(worksheet) = &sheet.sheet {
            name = format!("{name}, {}", one_line(worksheet, NAME));
        }
        let saved = words::day(sheet.modified, morning.today);
        // A row of a machine holds more records than one: its services, checks and rides.
        let read = match one_line(&sheet.read_as, NAME) {
            nothing if nothing == "nothing" => "not read".to_owned(),
            kind => format!("one {kind} a row, {}", counted(sheet.records, "record")),
        };
        Item { said: format!("{name}: {read}; saved {saved}."), ..Item::default() }
    };
    Listing {
        heading: format!("{}: {}", earlier_letter::READ, counted(morning.machines, "machine")),
        items: morning.read.iter().map(line).collect(),
        ..Listing::default()
    }
}

/// Which rules judged, and which did not.
fn rules(rules: &[RuleInForce]) -> Listing {
    let in_force: Vec<String> =
        rules.iter().filter(|rule| rule.in_force).map(|rule| page::title(&rule.title, &rule.rule)).collect();
    let judged = (!in_force.is_empty()).then(|| Item {
        said: format!("{} in force", in_force.len()),
        lines: in_force,
        run_on: true,
        more: 0,
    });
    let is_told = |rule: &&RuleInForce| !rule.in_force || rule.problem.is_some() || !rule.notes.is_empty();
    let faulty = rules.iter().filter(is_told).map(|rule| {
        let title = page::title(&rule.title, &rule.rule);
        let state = match (rule.in_force, &rule.problem) {
            (true, Some(_)) => "an earlier version is in force",
            (true, None) => "in force, with something to look at",
            (false, _) => "not in force",
        };
        let lines = rule.problem.iter().chain(&rule.notes).map(page::complaint).collect();
        Item { said: format!("{title}: {state}"), lines, ..Item::default() }
    });
    Listing {
        heading: "Rules".to_owned(),
        items: judged.into_iter().chain(faulty).collect(),
        ..Listing::default()
    }
}
