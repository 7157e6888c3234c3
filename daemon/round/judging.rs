//! The middle of a row's way: records become machines, machines are reckoned and judged.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;

use super::held_back::HeldBack;
use super::keeping::History;
use crate::findings::{self, Asked, Effect, Judgement, Lives, RuleWords, Verdict};
use crate::problem::{Place, Problem, counted};
use crate::reckon::{self, Absentee, SheetOfYard};
use crate::rules::{Allowance, Failure, Rule, RuleBook};
use crate::settings::{Practice, Settings};
use crate::yard::{Machine, MachineId};

/// What was judged.
pub(super) struct Judged {
    pub(super) machines: BTreeMap<MachineId, Arc<Machine>>,
    pub(super) failures: Vec<Failure>,
    lacking: BTreeMap<(String, MachineId), Vec<String>>,
    /// The rules that can tell of no machine whether they apply, each with what they lack.
    of_none: BTreeMap<Arc<str>, BTreeSet<String>>,
    held_back: HeldBack,
    /// The machines that are gone from the sheets.
    absentees: Vec<Absentee>,
    /// That no sheet holds what is wanted before a handover.
    not_kept: Vec<Problem>,
}

/// What one thread judged.
#[derive(Default)]
struct Part {
    /// How many machines stand in the shop of which nobody can tell since when.
    in_stock_untold: usize,
    judgements: Vec<Judgement>,
    failures: Vec<Failure>,
    /// Of how many machines each rule cannot tell whether it applies.
    unsure: BTreeMap<Arc<str>, usize>,
    /// The facts for want of which a rule does not apply to a machine.
    lacking: Vec<((String, MachineId), Vec<String>)>,
    held_back: HeldBack,
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
        let kept =
            findings::Kept { findings: &history.findings, names: &history.names_gone, over: &history.over };
        Known { kept, sheets }
    }

    /// What is known of an earlier morning: neither who was gone then, nor when its sheets were saved.
    pub(super) fn nothing() -> Known<'static> {
        static NO_NAMES: BTreeMap<MachineId, Date> = BTreeMap::new();
        static NONE: BTreeMap<MachineId, &str> = BTreeMap::new();
        Known { kept: findings::Kept { findings: &[], names: &NO_NAMES, over: &NONE }, sheets: &[] }
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
    let most = settings.limits.findings_of_a_rule;
    let practice = &reckon::keeps(machines.iter().map(Arc::as_ref), &settings.practice, today);
    let not_kept = not_kept(&machines, practice, settings);
    let mut untold = 0;
    let allowance = Allowance::of(rules);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let share = machines.len().div_ceil(threads).max(1);
    let parts: Vec<Part> = std::thread::scope(|scope| {
        let at_work: Vec<_> = machines
            .chunks(share)
            .map(|part| {
                let allowance = &allowance;
                scope.spawn(move || judge_part(part, rules, (practice, most), allowance, today))
            })
            .collect();
        at_work.into_iter().map(|part| part.join().expect("judging never panics")).collect()
    });
    // That a machine is gone is no finding of its own to be asked for.
    let absentees = findings::absentees(&known.kept, &machines, |rule| !rules.is_of_yard(rule));
    let yard = reckon::stand_yard(machines.iter().map(Arc::as_ref), absentees, known.sheets.to_vec(), today);
    let yard = Arc::new(yard);
    let of_yard = rules.judge_yard_within(&allowance, &yard);
    let machines: BTreeMap<MachineId, Arc<Machine>> =
        machines.into_iter().map(|machine| (machine.id.clone(), machine)).collect();
    let mut judged = Judged {
        machines,
        failures: of_yard.failures,
        lacking: BTreeMap::new(),
        of_none: BTreeMap::new(),
        held_back: HeldBack::default(),
        absentees: yard.absentees.clone(),
        not_kept: not_kept.into_iter().collect(),
    };
    let (mut judgements, mut unsure) = (Vec::new(), BTreeMap::<Arc<str>, usize>::new());
    for part in parts {
        judgements.extend(part.judgements);
        judged.failures.extend(part.failures);
        judged.lacking.extend(part.lacking);
        judged.held_back.and(part.held_back);
        part.unsure.into_iter().for_each(|(rule, count)| *unsure.entry(rule).or_default() += count);
        untold += part.in_stock_untold;
    }
    unsure.retain(|_, count| *count == judged.machines.len());
    judged.of_none =
        unsure.into_keys().map(|rule| (Arc::clone(&rule), lacked_by(&rule, &judgements))).collect();
    judged.not_kept.extend(no_arrivals(untold, practice, settings));
    let mut raised_by_yard = of_yard.judgements;
    judged.held_back.beyond(most, &mut raised_by_yard);
    judgements.extend(raised_by_yard);
    // The first of all, as they stand here, whichever thread came to them first; a later part's are beyond anyway.
    HeldBack::default().beyond(most, &mut judgements);
    judged.held_back.only_beyond(most);
    let all = judged.machines.keys().chain(judged.absentees.iter().map(|absentee| &absentee.machine));
    judged.held_back.too_slow(rules, &allowance, all, &mut judgements);
    judged.failures.retain(|failure| !judged.held_back.is_slow(&failure.rule));
    (judged, judgements)
}

fn judge_part(
    machines: &[Arc<Machine>],
    rules: &RuleBook,
    (practice, most): (&Practice, usize),
    allowance: &Allowance,
    today: Date,
) -> Part {
    let mut part = Part::default();
    for machine in machines {
        let standing = Arc::new(reckon::stand(machine, practice, today));
        let mut verdicts = rules.judge_within(allowance, machine, &standing);
        part.in_stock_untold += usize::from(standing.stands.in_stock && standing.stands.since.is_err());
        part.held_back.beyond_of(|| machine.name(), &mut verdicts.judgements);
        part.held_back.beyond(most, &mut verdicts.judgements);
        part.judgements.extend(verdicts.judgements);
        part.failures.extend(verdicts.failures);
        verdicts.unsure.into_iter().for_each(|rule| *part.unsure.entry(rule).or_default() += 1);
        let lacking = verdicts.not_applying.into_iter().filter(|rule| !rule.missing.is_empty());
        part.lacking.extend(lacking.map(|rule| ((rule.rule.to_string(), machine.id.clone()), rule.missing)));
    }
    part
}

/// What a rule lacks, on whatever machine.
fn lacked_by(rule: &str, judgements: &[Judgement]) -> BTreeSet<String> {
    let lacking = judgements.iter().filter(|judgement| *judgement.rule == *rule);
    let facts = lacking.filter_map(|judgement| match &judgement.verdict {
        Verdict::CannotTell { missing } => Some(missing),
        _ => None,
    });
    facts.flatten().cloned().collect()
}

/// That a rule can tell of no machine whether it applies: it judges none, as if it were not in force.
fn judges_none(rule: &str, facts: &BTreeSet<String>, machines: usize) -> Problem {
    /// The most facts that are named.
    const NAMED: usize = 5;
    let named: Vec<&str> = facts.iter().map(String::as_str).take(NAMED).collect();
    let of = match machines {
        1 => "the one machine".to_owned(),
        many => format!("any of {}", counted(many, "machine")),
    };
    Problem::error(
        Place::file(format!("rules/{rule}.rhai")),
        format!(
            "this rule judges no machine: it cannot tell of {of} whether it applies, for want of: {}",
            named.join(", ")
        ),
        "see that a sheet has a column with it, or have `applies_to` ask first whether it is known: `machine.has.clock`",
    )
}

/// That no sheet holds checks, or road tests: nobody can say that one was missed, nor that all were done. Only where a
/// machine goes to a customer.
fn not_kept(machines: &[Arc<Machine>], practice: &Practice, settings: &Settings) -> Option<Problem> {
    let missing = reckon::not_kept(practice)?;
    let goes = |machine: &Arc<Machine>| machine.row.handover.is_some() || machine.row.sold.is_some();
    if !practice.hands_over || !machines.iter().any(goes) {
        return None;
    }
    let what = format!("it cannot be told what was done before a handover: {missing}");
    let help = "Export the sheet in which that is written down to here, too. If it is kept on paper only, empty \
                `checks_before_handover` and `second_person_check` and set the two counts of rides to 0 below [practice] in \
                tickover.toml.";
    let problem = Problem::note(Place::file(settings.folders.join(", ")), what, help);
    Some(Problem { hides_what_is_due: true, ..problem })
}

/// That no sheet says when machines came into the shop: how long one has stood there can be told of none that was not
/// ridden meanwhile.
fn no_arrivals(untold: usize, practice: &Practice, settings: &Settings) -> Option<Problem> {
    let what = format!(
        "no sheet says when machines came into the shop: whether {} stood there too long cannot be told",
        counted(untold, "machine")
    );
    let help = "Add a column `Arrived` to the sheet of the stock, with the day on which each came in.";
    (untold > 0 && !practice.keeps_arrivals)
        .then(|| Problem::note(Place::file(settings.folders.join(", ")), what, help))
}

/// What the rules compare facts with that no sheet holds today, while one holds nearly the same.
pub(super) fn texts_not_met(
    judged: &Judged,
    rules: &RuleBook,
    settings: &Settings,
    known: Known<'_>,
    today: Date,
) -> Vec<Problem> {
    if !rules.compares_texts() {
        return Vec::new();
    }
    let machines = judged.machines.values();
    let (absentees, sheets) = (judged.absentees.clone(), known.sheets.to_vec());
    let yard = reckon::stand_yard(machines.clone().map(Arc::as_ref), absentees, sheets, today);
    let stands = |machine: &Arc<Machine>| Arc::new(reckon::stand(machine, &settings.practice, today));
    let machines = machines.map(|machine| (Arc::clone(machine), stands(machine)));
    rules.texts_not_met(machines, Arc::new(yard))
}

impl Judged {
    /// Whether a rule failed on a machine, or took all of its time; each is said by itself.
    pub(super) fn has_failed(&self, rule: &str) -> bool {
        self.failures.iter().any(|failure| failure.rule == rule) || self.held_back.is_slow(rule)
    }

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
            // It may fail on many things of one machine.
            let machines: BTreeSet<&MachineId> = failures.iter().map(|failure| &failure.machine).collect();
            let others = match machines.len() - 1 {
                0 => String::new(),
                others => format!(" and {}", counted(others, "other machine")),
            };
            let mut problem = first.problem.clone();
            problem.what = format!("{} (on {name}{others})", problem.what);
            problem
        });
        let of_none = self.of_none.iter().map(|(rule, facts)| judges_none(rule, facts, self.machines.len()));
        failed.chain(of_none).chain(self.held_back.problems()).collect()
    }

    /// What no sheet holds: what is done before a handover, the days on which machines came in; no rule's fault.
    pub(super) fn not_kept(&self) -> Vec<Problem> {
        self.not_kept.clone()
    }
}

/// Where all findings are in their lives, after today's judgements.
pub(super) fn lives(
    judgements: Vec<Judgement>,
    judged: &Judged,
    rules: &RuleBook,
    history: &History,
    today: Date,
) -> Lives {
    let words = words(rules);
    let not_in_force = rules.not_in_force().iter().cloned().collect();
    let asked = Asked::of(&words, judged.machines.values().map(Arc::as_ref))
        .with_not_in_force(&not_in_force)
        .with_lacking(&judged.lacking)
        .with_absent(&judged.absentees)
        .with_over(&history.over);
    findings::lives(judgements, &asked, &history.findings, today)
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
    rules.rules().map(|rule| (rule.name.to_string(), words(rule))).collect()
}
