//! The middle of a row's way: records become machines, machines are reckoned and judged.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::keeping::History;
use crate::findings::{self, Asked, Effect, Judgement, KeptFinding, Lives, RuleWords, Verdict};
use crate::problem::{Place, Problem, counted};
use crate::reckon::{self, Absentee, SheetOfYard};
use crate::rules::{Failure, Rule, RuleBook};
use crate::settings::{Practice, Settings};
use crate::yard::{Machine, MachineId};

/// What was judged.
pub(super) struct Judged {
    pub(super) machines: BTreeMap<MachineId, Arc<Machine>>,
    pub(super) failures: Vec<Failure>,
    lacking: BTreeMap<(String, MachineId), Vec<String>>,
    flooded: BTreeMap<String, usize>,
    /// The machines that are gone from the sheets.
    absentees: Vec<Absentee>,
}

/// What one thread judged.
#[derive(Default)]
struct Part {
    judgements: Vec<Judgement>,
    failures: Vec<Failure>,
    /// The facts for want of which a rule does not apply to a machine.
    lacking: Vec<((String, MachineId), Vec<String>)>,
}

/// What a rule that looks at the whole yard is told beside the machines.
#[derive(Clone, Copy)]
pub(super) struct Known<'a> {
    kept: findings::Kept<'a>,
    sheets: &'a [SheetOfYard],
}

impl<'a> Known<'a> {
    /// What is known today.
    pub(super) fn of(history: &'a History, sheets: &'a [SheetOfYard]) -> Known<'a> {
        let kept = findings::Kept { findings: &history.findings, names: &history.names_gone };
        Known { kept, sheets }
    }

    /// What is known of an earlier morning: neither who was gone then, nor when its sheets were saved.
    pub(super) fn nothing() -> Known<'static> {
        static NO_NAMES: BTreeMap<MachineId, Date> = BTreeMap::new();
        Known { kept: findings::Kept { findings: &[], names: &NO_NAMES }, sheets: &[] }
    }
}

/// Reckons and judges every machine, on as many threads as there are cores; the order of the results is that of the
/// machines, whatever the threads do.
pub(super) fn judge(
    machines: Vec<Arc<Machine>>,
    rules: &RuleBook,
    settings: &Settings,
    known: Known<'_>,
    today: Date,
) -> (Judged, Vec<Judgement>) {
    let practice = &settings.practice;
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let share = machines.len().div_ceil(threads).max(1);
    let parts: Vec<Part> = std::thread::scope(|scope| {
        let at_work: Vec<_> = machines
            .chunks(share)
            .map(|part| scope.spawn(move || judge_part(part, rules, practice, today)))
            .collect();
        at_work.into_iter().map(|part| part.join().expect("judging never panics")).collect()
    });
    // That a machine is gone is no finding of its own to be asked for.
    let absentees = findings::absentees(&known.kept, &machines, |rule| !rules.is_of_yard(rule));
    let yard = reckon::stand_yard(machines.iter().map(Arc::as_ref), absentees, known.sheets.to_vec(), today);
    let yard = Arc::new(yard);
    let of_yard = rules.judge_yard(&yard);
    let machines = machines.into_iter().map(|machine| (machine.id.clone(), machine)).collect();
    let mut judged = Judged {
        machines,
        failures: of_yard.failures,
        lacking: BTreeMap::new(),
        flooded: BTreeMap::new(),
        absentees: yard.absentees.clone(),
    };
    let mut judgements = Vec::new();
    for part in parts {
        judgements.extend(part.judgements);
        judged.failures.extend(part.failures);
        judged.lacking.extend(part.lacking);
    }
    judgements.extend(of_yard.judgements);
    judged.flooded = hold_back(&mut judgements, settings.limits.findings_of_a_rule);
    (judged, judgements)
}

/// Takes back what a rule raises beyond the limit, so that one slip in a rule cannot bury the letter: of the rest it
/// cannot tell. Gives the rules and how many each raised.
fn hold_back(judgements: &mut [Judgement], most: usize) -> BTreeMap<String, usize> {
    let mut raised: BTreeMap<String, usize> = BTreeMap::new();
    for judgement in judgements.iter_mut().filter(|it| matches!(it.verdict, Verdict::Raised(_))) {
        let count = raised.entry(judgement.rule.clone()).or_default();
        *count += 1;
        if *count > most {
            judgement.verdict =
                Verdict::CannotTell { missing: vec![format!("room: it raises more than {most}")] };
        }
    }
    raised.retain(|_, count| *count > most);
    raised
}

fn judge_part(machines: &[Arc<Machine>], rules: &RuleBook, practice: &Practice, today: Date) -> Part {
    let mut part = Part::default();
    for machine in machines {
        let standing = Arc::new(reckon::stand(machine, practice, today));
        let verdicts = rules.judge(machine, &standing);
        part.judgements.extend(verdicts.judgements);
        part.failures.extend(verdicts.failures);
        let lacking = verdicts.not_applying.into_iter().filter(|rule| !rule.missing.is_empty());
        part.lacking.extend(lacking.map(|rule| ((rule.rule, machine.id.clone()), rule.missing)));
    }
    part
}

impl Judged {
    /// The failures as problems, one for each rule with the count of the machines that it failed on: a rule that
    /// fails on every machine is said once.
    pub(super) fn problems(&self) -> Vec<Problem> {
        let mut by_rule: BTreeMap<&str, Vec<&Failure>> = BTreeMap::new();
        for failure in &self.failures {
            by_rule.entry(&failure.rule).or_default().push(failure);
        }
        let failed = by_rule.into_values().map(|failures| {
            let first = failures[0];
            let name = self
                .machines
                .get(&first.machine)
                .map_or_else(|| first.machine.as_str().to_owned(), |machine| machine.name());
            let others = match failures.len() - 1 {
                0 => String::new(),
                others => format!(" and {}", counted(others, "other machine")),
            };
            let mut problem = first.problem.clone();
            problem.what = format!("{} (on {name}{others})", problem.what);
            problem
        });
        let flooded = self.flooded.iter().map(|(rule, count)| {
            Problem::error(
                Place::file(format!("rules/{rule}.rhai")),
                format!("this rule raises {count} findings, more than are told"),
                "Look at its limits; the most that one rule may raise stands in tickover.toml under [limits].",
            )
        });
        failed.chain(flooded).collect()
    }
}

/// Where all findings are in their lives, after today's judgements.
pub(super) fn lives(
    judgements: Vec<Judgement>,
    judged: &Judged,
    rules: &RuleBook,
    kept: &[KeptFinding],
    today: Date,
) -> Lives {
    let words = words(rules);
    let not_in_force = rules.not_in_force().iter().cloned().collect();
    let asked = Asked::of(&words, judged.machines.values().map(Arc::as_ref))
        .with_not_in_force(&not_in_force)
        .with_lacking(&judged.lacking)
        .with_absent(&judged.absentees);
    findings::lives(judgements, &asked, kept, today)
}

/// What a changed rule says of the machines otherwise than it said before; `judged` and `rules` are those of after.
pub(super) fn effect(
    before: Vec<Judgement>,
    after: Vec<Judgement>,
    judged: &Judged,
    rules: &RuleBook,
) -> Effect {
    let words = words(rules);
    let machines = judged.machines.values().map(Arc::as_ref);
    let asked = Asked::of(&words, machines).with_lacking(&judged.lacking).with_absent(&judged.absentees);
    findings::effect(before, after, &asked)
}

/// What the rules in force add to each of their findings.
fn words(rules: &RuleBook) -> BTreeMap<String, RuleWords> {
    let words = |rule: &Rule| RuleWords { title: rule.title.clone(), caution: rule.caution.clone() };
    rules.rules().map(|rule| (rule.name.clone(), words(rule))).collect()
}
