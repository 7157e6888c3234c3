//! The sections of findings: the job said once, the machines under it, most urgent first.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::contact::{contact, number};
use super::page::{self, Entry, Group, Job, Part};
use super::words::{self, NAME, SENTENCE, TEXT, one_line};
use crate::findings::{Finding, FindingId, MACHINE_GONE, RULE_FAILS, RULE_SLOW, Section, State};
use crate::problem::counted;
use crate::yard::MachineId;

/// The day of the letter, and what has moved up since the last.
pub(super) struct Since {
    pub(super) today: Date,
    /// What stood in a less urgent section then, and in which.
    pub(super) moved_up: BTreeMap<FindingId, Section>,
    /// The rules that ship.
    pub(super) ships: BTreeSet<String>,
}

/// A rule of the shop's own that raises more than this in a section stands behind the others there. Our decision: as
/// much as fills a few screens of a telephone.
pub(super) const CROWD: usize = 20;

/// The section's findings; `None` when there are none.
pub(super) fn of(section: Section, findings: &[&Finding], since: &Since) -> Option<Part> {
    let mut findings: Vec<&Finding> =
        findings.iter().copied().filter(|finding| finding.raised.section == section).collect();
    if findings.is_empty() {
        return None;
    }
    findings.sort_by_key(|finding| urgency(finding));
    let mut jobs: Vec<(&str, Vec<&Finding>)> = Vec::new();
    for finding in &findings {
        match jobs.iter_mut().find(|(rule, _)| *rule == finding.rule) {
            Some((_, of_rule)) => of_rule.push(finding),
            None => jobs.push((&finding.rule, vec![finding])),
        }
    }
    // What one rule raises for nearly everything would else stand before all that the others keep in the yard.
    jobs.sort_by_key(|(rule, of_rule)| of_rule.len() > CROWD && !since.ships.contains(*rule));
    Some(Part {
        section,
        count: count(&findings),
        lead: match section {
            Section::KeepInTheYard => "Not to be ridden away until this is done and written down.",
            Section::RingToday | Section::BookIn | Section::OnTheBench | Section::PutTheSheetRight => "",
        },
        jobs: {
            let calls = Calls::of(&findings);
            jobs.into_iter().map(|(_, of_rule)| job(&of_rule, &calls, since)).collect()
        },
        more: 0,
        left_out: String::new(),
        is_cut: false,
    })
}

/// How many machines the findings are about, and whether any is about the whole yard.
fn count(findings: &[&Finding]) -> String {
    let (yard, machines): (Vec<&Finding>, Vec<&Finding>) =
        findings.iter().partition(|finding| finding.machine.is_whole_yard());
    let of_machines = || counted(self::machines(&machines), "machine");
    match (yard.is_empty(), machines.is_empty()) {
        (true, _) => of_machines(),
        (false, true) => "the whole yard".to_owned(),
        (false, false) => format!("{}, and the whole yard", of_machines()),
    }
}

/// How many machines the findings are about.
pub(super) fn machines(findings: &[&Finding]) -> usize {
    findings.iter().map(|finding| &finding.machine).collect::<BTreeSet<_>>().len()
}

/// What decides who comes first: what must be done at once, then the day by which it must be done, then how long it has been open.
fn urgency(finding: &Finding) -> impl Ord + use<'_> {
    let earliest = finding.raised.due_range.map(|(earliest, _)| earliest);
    let due = finding.raised.due.or(earliest).unwrap_or(Date::MAX);
    (
        !finding.raised.at_once,
        due,
        finding.since,
        &finding.machine_name,
        &finding.machine,
        &finding.rule,
        &finding.key,
    )
}

/// One rule's findings in a section, those with the same words under them.
fn job(of_rule: &[&Finding], calls: &Calls<'_>, since: &Since) -> Job {
    let mut groups: Vec<Group> = Vec::new();
    let mut group_of_text: BTreeMap<String, usize> = BTreeMap::new();
    for finding in of_rule {
        let entry = entry(finding, calls, since);
        let group = *group_of_text.entry(entry.text.clone()).or_insert(groups.len());
        if group == groups.len() {
            groups.push(Group { said_once: String::new(), entries: Vec::new() });
        }
        groups[group].entries.push(entry);
    }
    for group in groups.iter_mut().filter(|group| group.entries.len() > 1) {
        group.said_once = group.entries[0].text.clone();
        for entry in &mut group.entries {
            entry.text.clear();
        }
    }
    Job {
        title: page::title(&of_rule[0].title, &of_rule[0].rule),
        rule: of_rule[0].rule.clone(),
        ships: since.ships.contains(&of_rule[0].rule),
        groups,
    }
}

/// One finding.
fn entry(finding: &Finding, calls: &Calls<'_>, since: &Since) -> Entry {
    let by = finding.raised.due.map(|due| words::by(due, since.today)).unwrap_or_default();
    let life = match since.moved_up.get(&finding.id()) {
        Some(before) => {
            format!("moved up from {}; {}", before.heading(), life(finding, since.today))
        }
        None => life(finding, since.today),
    };
    Entry {
        machine: page::machine(finding),
        text: text(finding),
        contact: contact(finding),
        life: if by.is_empty() { words::capitalised(&life) } else { life },
        by,
        remarks: remarks(finding, calls, since.today),
        facts: finding.evidence.iter().map(page::fact).collect(),
        more_facts: 0,
        caution: finding.caution.as_ref().map(|caution| one_line(caution, SENTENCE)).unwrap_or_default(),
    }
}

/// What a finding says, as a sentence.
pub(super) fn text(finding: &Finding) -> String {
    words::stopped(&words::capitalised(&one_line(&finding.raised.text, TEXT)))
}

/// When it likely falls due, and how long it has been known.
fn life(finding: &Finding, today: Date) -> String {
    let since = words::day(finding.since, today);
    let known = match finding.state {
        State::New if finding.since == today => "new today".to_owned(),
        // It came up on a day on which no letter went out.
        State::New => format!("new since {since}"),
        State::Open | State::Settled => format!("open since {since}"),
        State::PutOff => format!("put off by an answer, open since {since}"),
    };
    let Some((earliest, latest)) = finding.raised.due_range else { return known };
    let (earliest, latest) = (words::day(earliest, today), words::day(latest, today));
    let likely = if earliest == latest { earliest } else { format!("{earliest} to {latest}") };
    format!("likely due {likely}, an estimate; {known}")
}

/// What else there is to say: why it still stands, and what belongs into the same call.
fn remarks(finding: &Finding, calls: &Calls<'_>, today: Date) -> Vec<String> {
    let mut remarks: Vec<String> = not_anew(finding, today).into_iter().collect();
    if finding.no_longer_told.iter().any(|fact| fact == MACHINE_GONE) {
        let name = finding.identity.written().unwrap_or_else(|| finding.machine.bare().to_owned());
        remarks.push(format!(
            "If it has left for good, write its name under [shop] in tickover.toml: gone = [\"{}\"]",
            one_line(&name, NAME)
        ));
    }
    if finding.raised.section == Section::RingToday {
        let also = calls.beside(finding);
        if !also.is_empty() {
            let also: Vec<String> = also.into_iter().map(|(rule, title)| page::title(title, rule)).collect();
            remarks.push(format!("In the same call: {}.", one_line(&also.join(", "), SENTENCE)));
        }
    }
    remarks
}

/// Why it was not judged anew, and of which day its words and figures are then.
fn not_anew(finding: &Finding, today: Date) -> Option<String> {
    let first = finding.no_longer_told.first()?;
    let as_it_was =
        finding.words_of.map(|day| format!(" as it was on {}", words::day(day, today))).unwrap_or_default();
    if let Some(place) = first.strip_prefix(RULE_FAILS) {
        let place = one_line(place, 2 * NAME);
        return Some(format!(
            "It stands{as_it_was} and could not be judged anew: its rule breaks off on this machine today {place}."
        ));
    }
    if first == RULE_SLOW {
        return Some(format!(
            "It stands{as_it_was} and could not be judged anew: its rule takes too long today."
        ));
    }
    let missing = words::facts(finding.no_longer_told.iter().map(String::as_str));
    Some(format!(
        "It stays open{as_it_was}, although nobody can tell any more whether it still is; not known: {missing}."
    ))
}

/// The rules of a section's findings, by what makes two of them one call: the same machine, or the same number.
struct Calls<'a> {
    of_machine: BTreeMap<&'a MachineId, BTreeSet<Rule<'a>>>,
    of_number: BTreeMap<&'a str, BTreeSet<Rule<'a>>>,
}

/// A rule's name and title.
type Rule<'a> = (&'a str, &'a str);

impl<'a> Calls<'a> {
    fn of(findings: &[&'a Finding]) -> Calls<'a> {
        let mut calls = Calls { of_machine: BTreeMap::new(), of_number: BTreeMap::new() };
        for finding in findings {
            let rule = (finding.rule.as_str(), finding.title.as_str());
            calls.of_machine.entry(&finding.machine).or_default().insert(rule);
            if let Some(number) = number(finding) {
                calls.of_number.entry(number).or_default().insert(rule);
            }
        }
        calls
    }

    /// The other rules to speak of in the call that a finding asks for.
    fn beside(&self, finding: &Finding) -> BTreeSet<Rule<'a>> {
        let of_machine = self.of_machine.get(&finding.machine);
        let of_number = number(finding).and_then(|number| self.of_number.get(number));
        let rules = of_machine.into_iter().chain(of_number).flatten().copied();
        rules.filter(|(rule, _)| *rule != finding.rule).collect()
    }
}
