//! An edited rule that now applies to no machine, clears most of what it raised, or lets machines go that it kept in the
//! yard: mostly a slip, and the one that nobody would notice.

use super::for_most::as_much_again;
use super::held_back;
use crate::findings::{Effect, Judgement, Raised, Section, Turn};
use crate::problem::{Place, Problem, counted};

/// Fewer findings than this are cleared one by one, and named with the edit. Our decision.
const FEWEST: usize = 3;

/// How many findings a rule raised, of all that the rules said.
pub(super) fn raised_by(rule: &str, said: &[Judgement]) -> usize {
    said.iter().filter(|judgement| *judgement.rule == *rule && held_back::was_raised(judgement)).count()
}

/// That an edit silences a rule, or adds as much again as it raised; the latter not where a flood of it is told already.
pub(super) fn out_of_proportion(was: usize, effect: &Effect, file: &str, is_flood: bool) -> Option<Problem> {
    let added = || if is_flood { None } else { as_much_again(was, effect, file) };
    silenced(was, effect, file).or_else(added)
}

/// That an edit clears most of what a rule raised; `was` is how many findings those were.
///
/// 'Most' is more than half. Our decision: a limit that is moved on purpose clears some, and what is missing from a
/// letter nobody misses. What the rule can no longer tell stays open, and is not cleared.
fn silenced(was: usize, effect: &Effect, file: &str) -> Option<Problem> {
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
    use crate::findings::Verdict;
    use crate::round::effects_for_tests::{effect_of, raised};

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
            let mut effect = effect_of(Turn::Changed, 1);
            let difference = &mut effect.differences[0];
            (difference.before, difference.after) = (in_section(before), in_section(after));
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
            let told =
                silenced(raised_by("far", &before), &effect_of(Turn::Cleared, cleared), "rules/far.rhai");
            assert_eq!(told.is_some(), expected, "{cleared} of {was}");
        }
        let before: Vec<Judgement> = (0..6).map(raised).collect();
        let problem =
            silenced(raised_by("far", &before), &effect_of(Turn::Cleared, 4), "rules/far.rhai").unwrap();
        assert_eq!(problem.what, "as this rule is now, it clears 4 of the 6 findings that it raised before");
    }
}
