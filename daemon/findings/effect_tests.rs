//! Tests of what a changed rule says otherwise than the one before.

use std::collections::{BTreeMap, BTreeSet};

use super::life_tests::{cannot_tell, day, judgement, machine, raised, rules};
use super::*;
use crate::yard::Machine;

fn ring(machine: &Machine, verdict: Verdict) -> Judgement {
    judgement("ring", machine, "", verdict)
}

/// What differs, in a few words each.
fn told(effect: &Effect) -> Vec<String> {
    let text =
        |raised: &Option<Raised>| raised.as_ref().map_or("-", |raised| raised.text.as_str()).to_owned();
    let line = |it: &Difference| {
        format!(
            "{:?} {} {} > {} {}",
            it.turn,
            it.machine.as_str(),
            text(&it.before),
            text(&it.after),
            it.missing.join(", ")
        )
    };
    effect.differences.iter().map(|it| line(it).trim_end().to_owned()).collect()
}

#[test]
fn each_thing_is_added_changed_cleared_or_cannot_be_told_any_more() {
    let machines: Vec<Machine> = (1..=7).map(|number| machine(&format!("F{number}"), "", "")).collect();
    let [one, two, three, four, five, six, seven] = &machines[..] else { unreachable!() };
    let names = rules(&["ring"]);
    let lacking = BTreeMap::from([(("ring".to_owned(), six.id.clone()), vec!["handover".to_owned()])]);
    let asked = Asked::of(&names, &machines).with_lacking(&lacking);
    let before = vec![
        ring(one, Verdict::Clear),
        ring(two, raised("in 14 days")),
        ring(three, raised("in 14 days")),
        ring(four, raised("in 14 days")),
        ring(five, raised("in 14 days")),
        ring(six, raised("in 14 days")),
        ring(seven, cannot_tell("clock")),
    ];
    let after = vec![
        ring(one, raised("in 21 days")),
        ring(two, raised("in 14 days")),
        ring(three, raised("in 21 days")),
        ring(four, Verdict::Clear),
        ring(five, cannot_tell("clock")),
        // The sixth does not apply any more, for want of a fact; of the seventh nothing is said at all.
    ];
    let effect = effect(before, after, &asked);
    assert_eq!(
        told(&effect),
        [
            "Added frame F1 - > in 21 days",
            "Changed frame F3 in 14 days > in 21 days",
            "Cleared frame F4 in 14 days > -",
            "CannotTell frame F5 in 14 days > - clock",
            "CannotTell frame F6 in 14 days > - handover",
        ]
    );
    assert_eq!(effect.same, 1);
    let clock = |machine: &Machine| {
        BTreeMap::from([(vec!["clock".to_owned()], BTreeSet::from([machine.id.clone()]))])
    };
    assert_eq!((effect.untold_before, effect.untold_after), (clock(seven), clock(five)));
}

#[test]
fn a_day_a_section_or_haste_is_a_change_as_a_word_is() {
    let machine = machine("F1", "", "");
    let names = rules(&["ring"]);
    let asked = Asked::of(&names, [&machine]);
    let Verdict::Raised(was) = raised("soon") else { unreachable!() };
    let changed = [
        Raised { section: Section::BookIn, ..was.clone() },
        Raised { due: None, ..was.clone() },
        Raised { due_range: Some((day("2026-03-20"), day("2026-03-25"))), ..was.clone() },
        Raised { at_once: true, ..was.clone() },
    ];
    for now in changed {
        let effect =
            effect(vec![ring(&machine, raised("soon"))], vec![ring(&machine, Verdict::Raised(now))], &asked);
        assert_eq!((effect.count(Turn::Changed), effect.same, effect.differences.len()), (1, 0, 1));
    }
}

#[test]
fn each_thing_of_a_machine_is_compared_by_its_key() {
    let machine = machine("F1", "", "");
    let names = rules(&["ring"]);
    let asked = Asked::of(&names, [&machine]);
    let keyed = |key: &str, text: &str| judgement("ring", &machine, key, raised(text));
    let effect = effect(
        vec![keyed("oil", "change it"), keyed("chain", "grease it")],
        vec![keyed("oil", "change it"), keyed("brakes", "bleed them")],
        &asked,
    );
    assert_eq!(told(&effect), ["Added frame F1 - > bleed them", "Cleared frame F1 grease it > -"]);
    assert_eq!(effect.same, 1);
}

#[test]
fn over_many_mornings_each_thing_is_told_on_its_first_in_whatever_order_they_come() {
    let machine = machine("F1", "", "");
    let names = rules(&["ring"]);
    let asked = Asked::of(&names, [&machine]);
    let mornings = [
        ("2026-03-03", raised("in 13 days")),
        ("2026-03-02", raised("in 14 days")),
        ("2026-03-04", Verdict::Clear),
        ("2026-03-05", raised("in 11 days")),
        ("2026-03-06", cannot_tell("clock")),
        ("2026-03-07", cannot_tell("clock")),
    ];
    let mut over = EffectOverDays::default();
    for (date, verdict) in mornings {
        over.add(day(date), effect(vec![], vec![ring(&machine, verdict)], &asked));
    }
    let added = over.of(Turn::Added);
    let told: Vec<_> = added
        .iter()
        .map(|first| (first.day, first.mornings, first.difference.after.as_ref().unwrap().text.as_str()))
        .collect();
    assert_eq!(told, [(day("2026-03-02"), 3, "in 14 days")]);
    assert!(over.of(Turn::Cleared).is_empty());
    let untold = BTreeMap::from([(vec!["clock".to_owned()], BTreeSet::from([machine.id.clone()]))]);
    assert_eq!((over.untold_before, over.untold_after), (BTreeMap::new(), untold), "each machine once");
}
