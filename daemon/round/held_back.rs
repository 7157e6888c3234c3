//! What is held back of what rules say, so that neither one that raises too much nor one that takes too long keeps the
//! letter from saying the rest.

use std::collections::BTreeMap;

use crate::findings::{Judgement, RULE_SLOW, Verdict};
use crate::problem::{Place, Problem};
use crate::rules::{Allowance, RuleBook, UsedUp};
use crate::yard::MachineId;

/// What is missing where a rule raises more than is told.
const NO_ROOM: &str = "room: it raises more than ";

/// Whether something is raised, or would be if there were room for it.
pub(super) fn was_raised(judgement: &Judgement) -> bool {
    match &judgement.verdict {
        Verdict::Raised(_) => true,
        Verdict::CannotTell { missing } => matches!(&missing[..], [one] if one.starts_with(NO_ROOM)),
        Verdict::Clear | Verdict::TooLongAgo => false,
    }
}

/// The rules of which something was held back.
#[derive(Default)]
pub(super) struct HeldBack {
    /// Those that raise more than is told, with how much.
    pub(super) flooding: BTreeMap<String, usize>,
    /// Those that took too much time, with whose.
    slow: BTreeMap<String, UsedUp>,
}

impl HeldBack {
    /// Takes back what a rule raises beyond the limit: of that it cannot tell. What was raised before counts, too.
    pub(super) fn beyond(&mut self, most: usize, judgements: &mut [Judgement]) {
        for judgement in judgements.iter_mut().filter(|it| matches!(it.verdict, Verdict::Raised(_))) {
            let count = self.flooding.entry(judgement.rule.to_string()).or_default();
            *count += 1;
            if *count > most {
                judgement.verdict = Verdict::CannotTell { missing: vec![format!("{NO_ROOM}{most}")] };
                judgement.evidence = Vec::new();
            }
        }
    }

    /// Adds what was raised elsewhere.
    pub(super) fn and(&mut self, other: HeldBack) {
        for (rule, count) in other.flooding {
            *self.flooding.entry(rule).or_default() += count;
        }
    }

    /// Forgets the rules that raise no more than is told.
    pub(super) fn only_beyond(&mut self, most: usize) {
        self.flooding.retain(|_, count| *count > most);
    }

    /// Takes back all that was said by rules that took all of their time: which machines they came to hung on the PC.
    /// Of each machine, and of the yard, they cannot tell.
    pub(super) fn too_slow<'m>(
        &mut self,
        rules: &RuleBook,
        allowance: &Allowance,
        machines: impl Iterator<Item = &'m MachineId> + Clone,
        judgements: &mut Vec<Judgement>,
    ) {
        let slow: BTreeMap<&str, UsedUp> = allowance.used_up(rules).collect();
        judgements.retain(|judgement| !slow.contains_key(&*judgement.rule));
        for (rule, used_up) in slow {
            self.slow.insert(rule.to_owned(), used_up);
            let missing = vec![RULE_SLOW.to_owned()];
            let of_yard = rules.is_of_yard(rule).then(MachineId::whole_yard);
            judgements.extend(machines.clone().cloned().chain(of_yard).map(|machine| Judgement {
                rule: rule.into(),
                machine,
                key: String::new(),
                verdict: Verdict::CannotTell { missing: missing.clone() },
                evidence: Vec::new(),
            }));
        }
    }

    /// Whether nothing that a rule says counts today, since it took all of its time.
    pub(super) fn is_slow(&self, rule: &str) -> bool {
        self.slow.contains_key(rule)
    }

    /// What the letter says of it.
    pub(super) fn problems(&self) -> impl Iterator<Item = Problem> {
        let place = |rule: &str| Place::file(format!("rules/{rule}.rhai"));
        let flooding = self.flooding.iter().map(move |(rule, count)| {
            Problem::error(
                place(rule),
                format!("this rule raises {count} findings, more than are told"),
                "Look at its limits; the most that one rule may raise stands in tickover.toml under [limits].",
            )
        });
        let slow = self.slow.iter().map(move |(rule, used_up)| {
            let why = match used_up {
                UsedUp::ItsOwn(time) => format!(
                    "its slow answers took more than the {:.1} seconds that it has for all machines",
                    time.as_secs_f64()
                ),
                UsedUp::TheRounds(time) => format!(
                    "the {:.1} seconds that a round has for all rules are used up, and this \
                     is one of the costly ones",
                    time.as_secs_f64()
                ),
            };
            Problem::error(
                place(rule),
                format!("this rule takes too long: {why}, so nothing that it says counts today"),
                "Make it simpler: a rule is a few comparisons. What it raised before stays open meanwhile.",
            )
        });
        flooding.chain(slow)
    }
}
