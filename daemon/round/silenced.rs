//! An edited rule that now clears most of what it raised: mostly a slip, and the one that nobody would notice.

use super::held_back;
use crate::findings::{Effect, Judgement, Turn};
use crate::problem::{Place, Problem, counted};

/// Fewer findings than this are cleared one by one, and named with the edit. Our decision.
const FEWEST: usize = 3;

/// How many findings a rule raised, of all that the rules said.
pub(super) fn raised_by(rule: &str, said: &[Judgement]) -> usize {
    said.iter().filter(|judgement| *judgement.rule == *rule && held_back::was_raised(judgement)).count()
}

/// That an edit clears most of what a rule raised; `was` is how many findings those were.
///
/// 'Most' is more than half. Our decision: a limit that is moved on purpose clears some, and what is missing from a
/// letter nobody misses. What the rule can no longer tell stays open, and is not cleared.
pub(super) fn silenced(was: usize, effect: &Effect, file: &str) -> Option<Problem> {
    let cleared = effect.count(Turn::Cleared);
    if cleared < FEWEST || cleared * 2 <= was {
        return None;
    }
    Some(Problem::error(
        Place::file(file),
        format!(
            "as this rule is now, it clears {cleared} of the {} that it raised before",
            counted(was, "finding")
        ),
        "Unless that was meant, look at what was changed: a figure with too few or too many noughts, another unit, a sign \
         turned round, a `clear()` that comes too early. What it clears is not in the letter any more.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::{Difference, Raised, Section, Verdict};
    use crate::yard::MachineId;

    /// What an edit does that clears so many.
    fn cleared_of(count: usize) -> Effect {
        let difference = |number: usize| Difference {
            turn: Turn::Cleared,
            machine_name: String::new(),
            machine: MachineId::kept(&format!("mark {number}")),
            key: String::new(),
            before: None,
            after: None,
            missing: Vec::new(),
        };
        Effect { differences: (0..count).map(difference).collect(), ..Effect::default() }
    }

    fn raised(number: usize) -> Judgement {
        Judgement {
            rule: "far".into(),
            machine: MachineId::kept(&format!("mark {number}")),
            key: String::new(),
            verdict: Verdict::Raised(Raised {
                section: Section::RingToday,
                text: "far".to_owned(),
                due: None,
                due_range: None,
                at_once: false,
            }),
            evidence: Vec::new(),
        }
    }

    #[test]
    fn an_edit_that_clears_most_of_what_a_rule_raised_is_told_with_both_counts() {
        for (was, cleared, expected) in [
            (6, 6, true),
            (6, 4, true),
            (6, 3, false),
            (5, 3, true),
            (2, 2, false),
            (3, 3, true),
            (0, 0, false),
        ] {
            let before: Vec<Judgement> = (0..was).map(raised).collect();
            let told = silenced(raised_by("far", &before), &cleared_of(cleared), "rules/far.rhai");
            assert_eq!(told.is_some(), expected, "{cleared} of {was}");
        }
        let before: Vec<Judgement> = (0..6).map(raised).collect();
        let problem = silenced(raised_by("far", &before), &cleared_of(4), "rules/far.rhai").unwrap();
        assert_eq!(problem.what, "as this rule is now, it clears 4 of the 6 findings that it raised before");
    }
}
