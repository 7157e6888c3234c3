//! The rules of a yard folder asked of today's machines, to see what they run into there; nobody is told.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::judging::{self, Known};
use super::looked_up::look_up;
use super::{Run, edits, held_back, machines_of, rulebook, sorted_out};
use crate::findings::{Judgement, Verdict};
use crate::problem::{Place, Problem, counted};
use crate::rules::RuleBook;
use crate::yard::MachineId;

/// What came of asking all rules.
pub struct RulesAsked {
    /// The rules in force, and those that the files would take into force.
    pub rules: RuleBook,
    /// The day that was judged.
    pub today: Date,
    /// How many machines there are.
    pub machines: usize,
    /// What each rule said, by its name.
    pub said: BTreeMap<String, Said>,
    /// What is wrong with the files, what the rules run into, and what could not be read.
    pub problems: Vec<Problem>,
}

/// Of how many machines a rule said what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Said {
    /// To how many it applies.
    pub applies_to: usize,
    /// For how many it raises something.
    pub raises: usize,
    /// Of how many it cannot tell, and raises nothing for them.
    pub cannot_tell: usize,
}

/// Asks each rule of the yard folder about today's machines.
///
/// # Errors
/// No yard folder, or settings that are no TOML.
pub fn ask_rules(run: &Run) -> Result<RulesAsked, Vec<Problem>> {
    let mut look = look_up(run)?;
    let (rules, rule_problems) = rulebook::load_with_all_slips(&run.folder, &look.history.rules.accepted);
    let (machines, join_problems) =
        machines_of(look.records, &mut look.history, &look.handbook, &look.settings);
    let known = Known::of(&look.history, &look.sheets);
    let (judged, judgements) = judging::judge(machines, &rules, &look.settings, known, look.today);
    let edited =
        edits::edits(&look.history.rules, &rules, &judged, &judgements, (&look.settings, known), look.today);
    let said: BTreeMap<String, Said> =
        rules.rules().map(|rule| (rule.name.to_string(), said_of(&rule.name, &judgements))).collect();
    let untold = rules
        .rules()
        .filter(|rule| !judged.has_failed(&rule.name))
        .filter_map(|rule| never_tells(&rule.name, said[&*rule.name], &judgements));
    let untold: Vec<Problem> = untold.collect();
    let not_met = judging::texts_not_met(&judged, &rules, &look.settings, known, look.today);
    let of_rules = [rule_problems, rules.notes().to_vec(), judged.problems(), edited.slips, untold, not_met];
    let of_sheets = sorted_out([look.problems, join_problems].concat()).0;
    Ok(RulesAsked {
        today: look.today,
        machines: judged.machines.len(),
        said,
        problems: [of_rules.concat(), of_sheets].concat(),
        rules,
    })
}

/// Of how many machines a rule says what; a rule of the whole yard speaks of it as one.
fn said_of(rule: &str, judgements: &[Judgement]) -> Said {
    let of_rule = judgements.iter().filter(|judgement| *judgement.rule == *rule);
    let machines = |which: fn(&Judgement) -> bool| -> BTreeSet<&MachineId> {
        of_rule.clone().filter(|judgement| which(judgement)).map(|judgement| &judgement.machine).collect()
    };
    let raises = machines(held_back::was_raised);
    let cannot_tell = machines(|judgement| matches!(judgement.verdict, Verdict::CannotTell { .. }));
    Said {
        applies_to: machines(|_| true).len(),
        raises: raises.len(),
        cannot_tell: cannot_tell.difference(&raises).count(),
    }
}

/// That a rule cannot tell of any machine that it applies to: it asks for what no sheet holds.
fn never_tells(rule: &str, said: Said, judgements: &[Judgement]) -> Option<Problem> {
    /// The most facts that are named.
    const NAMED: usize = 5;
    if said.applies_to == 0 || said.cannot_tell < said.applies_to {
        return None;
    }
    let missing =
        judgements.iter().filter(|judgement| *judgement.rule == *rule).filter_map(
            |judgement| match &judgement.verdict {
                Verdict::CannotTell { missing } => Some(missing),
                _ => None,
            },
        );
    let missing: BTreeSet<&str> = missing.flatten().map(String::as_str).collect();
    let named: Vec<&str> = missing.iter().copied().take(NAMED).collect();
    Some(Problem::note(
        Place::file(format!("rules/{rule}.rhai")),
        format!(
            "of {} that it applies to this rule can tell nothing, for want of: {}",
            match said.applies_to {
                1 => "the one machine".to_owned(),
                many => format!("all {}", counted(many, "machine")),
            },
            named.join(", ")
        ),
        "see that a sheet has a column with it, or ask first whether it is known: `machine.has.clock`",
    ))
}
