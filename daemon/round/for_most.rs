//! An edited rule that now raises for most of the machines that it is asked of, or as much again as before: mostly a slip
//! in a limit or in a sign.

use std::collections::BTreeSet;

use super::held_back;
use crate::findings::{Effect, Judgement, Turn};
use crate::problem::{Place, Problem, counted};
use crate::yard::MachineId;

/// Fewer machines than this are no flood: each can be looked at by itself. Our decision.
const FEWEST: usize = 10;

/// That an edit makes a rule raise for most machines, with how many it raised for before.
///
/// 'Most' is more than half of those that it answers for, and more than twice as many as before. Our decision: what a
/// rule looks for is the exception in a yard, and a limit that is moved on purpose adds some. A limit of 10 for 10,000,
/// or a sign turned round, makes the exceptions the rule. What has always been raised for most is no slip of today.
pub(super) fn for_most(rule: &str, before: &[Judgement], after: &[Judgement], file: &str) -> Option<Problem> {
    let of_rule = |judgement: &&Judgement| *judgement.rule == *rule && !judgement.machine.is_whole_yard();
    let asked: BTreeSet<&MachineId> =
        after.iter().filter(of_rule).map(|judgement| &judgement.machine).collect();
    let raised_for = |judgements: &[Judgement]| {
        let raised = judgements.iter().filter(of_rule).filter(|it| held_back::was_raised(it));
        raised.map(|judgement| judgement.machine.clone()).collect::<BTreeSet<_>>().len()
    };
    let (was, now) = (raised_for(before), raised_for(after));
    if now < FEWEST || now * 2 <= asked.len() || now <= was * 2 {
        return None;
    }
    let was = if was == 0 { "none".to_owned() } else { was.to_string() };
    Some(Problem::error(
        Place::file(file),
        format!(
            "as this rule is now, it raises for {now} of the {} that it applies to; before, for {was}",
            counted(asked.len(), "machine")
        ),
        "Look at what was changed: a figure with too few or too many noughts, another unit, a sign turned round. What it \
         raises stands meanwhile.",
    ))
}

/// That an edit adds as much as a rule raised before, or more; `was` is how much that was.
///
/// Our decision: a limit that is moved on purpose adds some, and of one or two findings it easily makes twice as many. Of
/// a few more, each is named with the edit.
pub(super) fn as_much_again(was: usize, effect: &Effect, file: &str) -> Option<Problem> {
    /// Fewer before than this, or fewer added, are looked at one by one.
    const FEWEST_BEFORE: usize = 3;
    const FEWEST_ADDED: usize = 5;
    let added = effect.count(Turn::Added);
    if was < FEWEST_BEFORE || added < FEWEST_ADDED || added < was {
        return None;
    }
    Some(Problem::error(
        Place::file(file),
        format!(
            "as this rule is now, it adds {added} to the {} that it raised before",
            counted(was, "finding")
        ),
        "Unless that was meant, look at what was changed: a figure with too few or too many noughts, another unit, a sign \
         turned round. What it adds stands meanwhile.",
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Verdict;
    use crate::round::effects_for_tests::{effect_of, judgement, raised};

    /// What a rule says of so many machines, of which it raises for the first few.
    fn said(machines: usize, raises: usize) -> Vec<Judgement> {
        let said = |number| if number < raises { raised(number) } else { judgement(number, Verdict::Clear) };
        (0..machines).map(said).collect()
    }

    #[test]
    fn an_edit_that_adds_as_much_again_is_told_with_both_counts() {
        for (was, added, expected) in [
            (8, 9, true),
            (8, 8, true),
            (8, 7, false),
            (3, 5, true),
            (3, 4, false),
            (2, 5, false),
            (0, 5, false),
        ] {
            let told = as_much_again(was, &effect_of(Turn::Added, added), "rules/far.rhai")
                .map(|problem| problem.what);
            let said =
                format!("as this rule is now, it adds {added} to the {was} findings that it raised before");
            assert_eq!(told, expected.then_some(said), "{was} and {added}");
        }
    }

    #[test]
    fn an_edit_that_raises_for_most_machines_is_told_with_the_count_before() {
        let told = |machines, before, after| {
            for_most("far", &said(machines, before), &said(machines, after), "rules/far.rhai").is_some()
        };
        for (machines, before, after, expected) in [
            (51, 3, 26, true),
            (51, 3, 25, false),
            (51, 13, 27, true),
            (51, 13, 26, false),
            (19, 0, 10, true),
            (9, 0, 9, false),
            (51, 30, 51, false),
        ] {
            assert_eq!(told(machines, before, after), expected, "{machines}: {before} to {after}");
        }
        let problem = for_most("far", &[], &said(12, 12), "rules/far.rhai").unwrap();
        assert_eq!(
            problem.what,
            "as this rule is now, it raises for 12 of the 12 machines that it applies to; before, for none"
        );
        assert_eq!(for_most("near", &[], &said(12, 12), "rules/near.rhai"), None);
    }
}
