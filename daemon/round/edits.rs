//! The owner's edits since the last letter: which rules are new, changed or gone, and what that does today.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::for_most::for_most;
use super::judging::{self, Judged, Known};
use super::keeping::EarlierRules;
use super::rule_trial;
use super::silenced::{out_of_proportion, raised_by};
use crate::digest::{RuleBecame, RuleEdit};
use crate::findings::Judgement;
use crate::problem::Problem;
use crate::rules::{Rule, RuleBook};
use crate::settings::Settings;

/// What the owner's edits come to.
#[derive(Default)]
pub(super) struct Edited {
    /// Each edit with what it does.
    pub(super) edits: Vec<RuleEdit>,
    /// Those that make a rule raise for most machines, or much more than before, clear most of what it raised, or apply to
    /// none.
    pub(super) slips: Vec<Problem>,
}

/// The rules that differ from those that the last letter rests on, or are gone, by name, each with what it says
/// otherwise of today's machines. Whatever the day's own letters told, it is the same all day.
pub(super) fn edits(
    earlier: &EarlierRules,
    rules: &RuleBook,
    judged: &Judged,
    judgements: &[Judgement],
    (settings, known): (&Settings, Known<'_>),
    today: Date,
) -> Edited {
    // Of a letter whose rules nobody noted it cannot be told what has changed since.
    let Some(told) = &earlier.told else { return Edited::default() };
    let edited = edited(told, rules, earlier, today);
    if edited.is_empty() {
        return Edited::default();
    }
    let texts = edited.keys().filter_map(|name| told.get_key_value(*name));
    let before = rule_trial::book(texts.map(|(name, text)| (name.as_str(), text.as_str())), "rules");
    let machines = judged.machines.values().cloned().collect();
    let (_, said_before) = judging::judge(machines, &before, settings, known, today);
    let of = |judgements: &[Judgement], name: &str| -> Vec<Judgement> {
        judgements.iter().filter(|judgement| *judgement.rule == *name).cloned().collect()
    };
    let edit = |(name, became): (&str, RuleBecame)| {
        let can_tell = matches!(became, RuleBecame::New { .. }) || before.rule(name).is_some();
        let effect = || judging::effect(of(&said_before, name), of(judgements, name), judged, rules);
        let changes = |(now, before): (&Rule, &Rule)| now.example_changes(before);
        let examples = rules.rule(name).zip(before.rule(name)).map(changes).unwrap_or_default();
        let examples = examples.iter().map(ToString::to_string).collect();
        RuleEdit { rule: name.to_owned(), became, effect: can_tell.then(effect), examples }
    };
    let file = |name: &str| format!("rules/{name}.rhai");
    let of_machines = edited.keys().filter(|name| !rules.is_of_yard(name));
    let mut slips: Vec<Problem> =
        of_machines.filter_map(|name| for_most(name, &said_before, judgements, &file(name))).collect();
    let edits: Vec<RuleEdit> = edited.into_iter().map(edit).collect();
    // Of a rule that was taken out, that it is gone is told.
    let changed = edits.iter().filter(|edit| matches!(edit.became, RuleBecame::Changed { .. }));
    let large = changed.filter_map(|edit| {
        let (was, effect, file) =
            (raised_by(&edit.rule, &said_before), edit.effect.as_ref()?, file(&edit.rule));
        let is_flood = slips.iter().any(|slip| slip.place.file == file);
        out_of_proportion(was, effect, &file, is_flood)
    });
    let large: Vec<Problem> = large.collect();
    slips.extend(large);
    Edited { edits, slips }
}

/// What became of each rule that is not as it was told. Of a file that is there and not in force its own problem tells.
fn edited<'a>(
    told: &'a BTreeMap<String, String>,
    rules: &'a RuleBook,
    earlier: &EarlierRules,
    today: Date,
) -> BTreeMap<&'a str, RuleBecame> {
    let in_force = rules.rules().filter_map(|rule| {
        let since = since(rule, earlier, today);
        match told.get(&*rule.name) {
            None => Some((&*rule.name, RuleBecame::New { since })),
            Some(text) if *text != rule.text => Some((&*rule.name, RuleBecame::Changed { since })),
            Some(_) => None,
        }
    });
    let is_gone = |name: &&String| rules.rule(name).is_none() && !rules.not_in_force().contains(name);
    let gone = told.keys().filter(is_gone).map(|name| (name.as_str(), RuleBecame::TakenOut));
    in_force.chain(gone).collect()
}

/// Since when a rule is in force as it stands: since this round, unless an earlier one has accepted it.
fn since(rule: &Rule, earlier: &EarlierRules, today: Date) -> Date {
    let is_known = earlier.accepted.get(&*rule.name) == Some(&rule.text);
    let since = earlier.since.get(&*rule.name).filter(|_| is_known);
    since.map_or(today, |since| (*since).min(today))
}
