//! What is held back of what rules say, so that neither one that raises too much nor one that takes too long keeps the
//! letter from saying the rest.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::findings::{Judgement, RULE_SLOW, Verdict};
use crate::problem::{Place, Problem, counted};
use crate::rules::{self, Allowance, RuleBook, UsedUp};
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

/// The most findings of one rule about one machine that are told: more than anybody acts on one by one. The rules
/// that ship have no such limit: they raise one for each ride that was too fast, and a tracker brings hundreds. Our decision.
const OF_A_MACHINE: usize = 20;

/// What a rule raises for one machine, and for how many others as much.
struct Crowd {
    machine: String,
    findings: usize,
    others: usize,
}

/// The rules of which something was held back.
#[derive(Default)]
pub(super) struct HeldBack {
    /// Those that raise more than is told, with how much.
    pub(super) flooding: BTreeMap<String, usize>,
    /// Those that raise more for one machine than is told, with how much, and for which.
    crowding: BTreeMap<String, Crowd>,
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

    /// Takes back what a rule raises for one machine beyond the limit: of that it cannot tell. What must be done at once
    /// stays first, then what the rule came to last, which mostly is the newest.
    pub(super) fn beyond_of(&mut self, name: impl Fn() -> String, judgements: &mut [Judgement]) {
        // So it is with nearly every machine.
        if judgements.len() <= OF_A_MACHINE {
            return;
        }
        let mut raised: BTreeMap<Arc<str>, Vec<&mut Judgement>> = BTreeMap::new();
        for judgement in judgements.iter_mut().filter(|it| matches!(it.verdict, Verdict::Raised(_))) {
            raised.entry(Arc::clone(&judgement.rule)).or_default().push(judgement);
        }
        raised.retain(|rule, of_rule| of_rule.len() > OF_A_MACHINE && !rules::ships(rule));
        for (rule, mut of_rule) in raised {
            let findings = of_rule.len();
            of_rule.reverse();
            of_rule.sort_by_key(|it| !matches!(&it.verdict, Verdict::Raised(raised) if raised.at_once));
            for judgement in of_rule.into_iter().skip(OF_A_MACHINE) {
                judgement.verdict =
                    Verdict::CannotTell { missing: vec![format!("{NO_ROOM}{OF_A_MACHINE} for a machine")] };
                judgement.evidence = Vec::new();
            }
            let crowd = Crowd { machine: name(), findings, others: 0 };
            self.crowd(rule.to_string(), crowd);
        }
    }

    /// Notes what a rule raises for one machine; of several that with the most stands for all.
    fn crowd(&mut self, rule: String, crowd: Crowd) {
        match self.crowding.get_mut(&rule) {
            Some(known) => {
                let others = known.others + crowd.others + 1;
                if crowd.findings > known.findings {
                    *known = crowd;
                }
                known.others = others;
            }
            None => {
                self.crowding.insert(rule, crowd);
            }
        }
    }

    /// Adds what was raised elsewhere.
    pub(super) fn and(&mut self, other: HeldBack) {
        for (rule, count) in other.flooding {
            *self.flooding.entry(rule).or_default() += count;
        }
        for (rule, crowd) in other.crowding {
            self.crowd(rule, crowd);
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
        let crowding = self.crowding.iter().map(move |(rule, crowd)| {
            let others = match crowd.others {
                0 => String::new(),
                others => format!(", and too many for {}", counted(others, "other machine")),
            };
            Problem::error(
                place(rule),
                format!(
                    "this rule raises {} findings for {}{others}; {OF_A_MACHINE} of a machine are told",
                    crowd.findings, crowd.machine
                ),
                "Let it raise one for a machine, and say in that what it found; or look at its limits.",
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
        flooding.chain(crowding).chain(slow)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::{Raised, Section};

    fn said(rule: &str, number: usize, at_once: bool) -> Judgement {
        let section = Section::KeepInTheYard;
        let text = format!("thing {number}");
        Judgement {
            rule: rule.into(),
            machine: MachineId::kept("mark AB25CDE"),
            key: number.to_string(),
            verdict: Verdict::Raised(Raised { section, text, due: None, due_range: None, at_once }),
            evidence: Vec::new(),
        }
    }

    #[test]
    fn of_what_a_rule_raises_for_all_machines_no_more_is_told_than_the_limit() {
        let mut judgements: Vec<Judgement> = (0..5).map(|number| said("many", number, false)).collect();
        judgements.extend((0..3).map(|number| said("few", number, false)));
        let mut held_back = HeldBack::default();
        held_back.beyond(3, &mut judgements);
        held_back.only_beyond(3);
        let is_told = |it: &Judgement| matches!(it.verdict, Verdict::Raised(_));
        let told: Vec<bool> = judgements.iter().map(is_told).collect();
        assert_eq!(told, [true, true, true, false, false, true, true, true]);
        let problems: Vec<String> = held_back.problems().map(|problem| problem.what).collect();
        assert_eq!(problems, ["this rule raises 5 findings, more than are told"]);
    }

    #[test]
    fn of_what_a_rule_raises_for_one_machine_no_more_is_told_than_anybody_acts_on() {
        let mut judgements: Vec<Judgement> =
            (0..25).map(|number| said("many", number, number == 1)).collect();
        judgements.extend((0..20).map(|number| said("few", number, false)));
        judgements.extend((0..125).map(|number| said("running-in-breach", number, false)));
        let mut held_back = HeldBack::default();
        held_back.beyond_of(|| "AB25 CDE".to_owned(), &mut judgements);
        let told = |rule: &str| {
            let told = judgements.iter().filter(|it| &*it.rule == rule);
            told.filter(|it| matches!(it.verdict, Verdict::Raised(_)))
                .map(|it| it.key.clone())
                .collect::<Vec<_>>()
        };
        assert_eq!((told("few").len(), told("running-in-breach").len()), (20, 125));
        let expected: Vec<String> =
            std::iter::once(1).chain(6..25).map(|number| number.to_string()).collect();
        assert_eq!(told("many"), expected, "what must be done at once, and the last");
        assert!(judgements.iter().all(was_raised), "an edit is told by what it raises, told or not");
        let problems: Vec<String> = held_back.problems().map(|problem| problem.what).collect();
        assert_eq!(problems, ["this rule raises 25 findings for AB25 CDE; 20 of a machine are told"]);
    }
}
