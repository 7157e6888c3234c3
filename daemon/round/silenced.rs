//! An edited rule that now applies to no machine, clears most of what it raised, or lets machines go that it kept in the
//! yard: mostly a slip, and the one that nobody would notice.

use super::held_back;
use crate::findings::{Effect, Judgement, Raised, Section, Turn};
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
    applies_to_none(effect, file).or_else(|| clears_most(was, effect, file)).or_else(|| lets_go(effect, file))
}

/// That an edit leaves a rule no machine to look at. What it raised stays open then, as nothing tells that it is settled,
/// and nothing new is ever found: one machine that it applied to before is enough.
fn applies_to_none(effect: &Effect, file: &str) -> Option<Problem> {
    (effect.applied_before > 0 && effect.applied_after == 0).then(|| {
        Problem::error(
            Place::file(file),
            format!("as this rule is now, it applies to no machine; before, to {}", effect.applied_before),
            "Unless that was meant, look at `applies_to`, and at what `each` lists: does a sheet have what they ask for? \
             What it raised before stays open, and nothing new is found.",
        )
    })
}

/// That an edit raises in another section what kept machines in the yard. Our decision: one machine is enough, since nobody
/// looks for a stop that is not there.
fn lets_go(effect: &Effect, file: &str) -> Option<Problem> {
    let keeps = |raised: &Raised| raised.section == Section::KeepInTheYard;
    let lets_go = effect.differences.iter().filter(|difference| {
        difference.before.as_ref().is_some_and(keeps)
            && difference.after.as_ref().is_some_and(|now| !keeps(now))
    });
    let count = lets_go.count();
    (count > 0).then(|| {
        Problem::error(
            Place::file(file),
            format!(
                "as this rule is now, it does not keep {} in the yard that it kept before",
                counted(count, "machine")
            ),
            "Unless that was meant, write `keep_in_yard(...)` again where it stood before.",
        )
    })
}

fn clears_most(was: usize, effect: &Effect, file: &str) -> Option<Problem> {
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
    use crate::findings::{Difference, Verdict};
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
    fn an_edit_that_lets_a_machine_go_is_told_and_one_that_only_words_a_stop_otherwise_is_not() {
        let in_section = |section: Section| {
            let Verdict::Raised(raised) = raised(0).verdict else { unreachable!("it is raised") };
            Some(Raised { section, ..raised })
        };
        for (before, after, expected) in [
            (Section::KeepInTheYard, Section::PutTheSheetRight, true),
            (Section::KeepInTheYard, Section::KeepInTheYard, false),
            (Section::RingToday, Section::BookIn, false),
        ] {
            let mut effect = cleared_of(1);
            let difference = &mut effect.differences[0];
            (difference.turn, difference.before, difference.after) =
                (Turn::Changed, in_section(before), in_section(after));
            let told = silenced(6, &effect, "rules/far.rhai").map(|problem| problem.what);
            let said = "as this rule is now, it does not keep 1 machine in the yard that it kept before";
            assert_eq!(told, expected.then(|| said.to_owned()), "{before:?} {after:?}");
        }
    }

    #[test]
    fn an_edit_that_leaves_a_rule_no_machine_is_told_with_how_many_it_had() {
        for (before, after, expected) in
            [(8, 0, true), (1, 0, true), (8, 1, false), (0, 0, false), (0, 8, false)]
        {
            let effect = Effect { applied_before: before, applied_after: after, ..Effect::default() };
            let told = silenced(0, &effect, "rules/far.rhai").map(|problem| problem.what);
            let said = format!("as this rule is now, it applies to no machine; before, to {before}");
            assert_eq!(told, expected.then_some(said), "{before} {after}");
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
