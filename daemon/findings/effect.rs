//! What a changed rule says otherwise than the one before: what it adds, changes and clears, on one day or on many.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::answers::{Answers, Fate};
use super::{Asked, FindingId, Judgement, Raised};
use crate::yard::MachineId;

/// What a changed rule says of the machines of one day, beside what was said before the change.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Effect {
    /// Where the two differ: by what became of it, then by machine and key.
    pub differences: Vec<Difference>,
    /// How much both raise in the same words.
    pub same: usize,
    /// The machines of which the rule before could not tell.
    pub untold_before: Untold,
    /// The machines of which the changed rule cannot tell.
    pub untold_after: Untold,
    /// To how many machines the rule before applied; a rule of the whole yard applies to none.
    pub applied_before: usize,
    /// To how many the changed rule applies.
    pub applied_after: usize,
}

/// The machines of which a rule cannot tell, by the facts that are missing.
pub type Untold = BTreeMap<Vec<String>, BTreeSet<MachineId>>;

/// One thing of one machine of which the changed rule says something else.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Difference {
    /// What becomes of it.
    pub turn: Turn,
    /// The machine in a person's words.
    pub machine_name: String,
    /// The machine's lasting name.
    pub machine: MachineId,
    /// Which of the machine's things; empty where there is one.
    pub key: String,
    /// What was raised before.
    pub before: Option<Raised>,
    /// What is raised now.
    pub after: Option<Raised>,
    /// The facts that are missing, where it cannot be told any more.
    pub missing: Vec<String>,
}

/// What becomes of something that a rule raises.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Turn {
    /// It is raised, and was not.
    Added,
    /// It is raised in other words, for somebody else, or by another day.
    Changed,
    /// It was raised, and there is nothing to do any more.
    Cleared,
    /// It was raised, and now a fact is missing to say so: it stays open, for a missing fact is not a pass.
    CannotTell,
}

impl Turn {
    /// All of them, in the order in which they are told.
    pub const ALL: [Turn; 4] = [Turn::Added, Turn::Changed, Turn::Cleared, Turn::CannotTell];
}

impl Effect {
    /// How much takes this turn.
    pub fn count(&self, turn: Turn) -> usize {
        self.of(turn).count()
    }

    /// What takes this turn.
    pub fn of(&self, turn: Turn) -> impl Iterator<Item = &Difference> {
        self.differences.iter().filter(move |difference| difference.turn == turn)
    }
}

/// What the judgements after a change of one rule say otherwise than those before it; `asked` is who was asked after
/// it.
pub fn effect(before: Vec<Judgement>, after: Vec<Judgement>, asked: &Asked<'_>) -> Effect {
    let (applied_before, applied_after) = (applied(&before), applied(&after));
    let (before, mut after) = (Answers::of(before), Answers::of(after));
    let mut effect = Effect {
        untold_before: untold(&before.missing),
        untold_after: untold(&after.missing),
        applied_before,
        applied_after,
        ..Effect::default()
    };
    let mut raised_after = std::mem::take(&mut after.raised);
    for (id, (was, raised_on)) in before.raised {
        let (turn, now, missing) = match raised_after.remove(&id) {
            Some((now, _)) if now == was => {
                effect.same += 1;
                continue;
            }
            Some((now, _)) => (Turn::Changed, Some(now), Vec::new()),
            None => match after.fate(&id, &raised_on, asked) {
                Fate::Settled(_) => (Turn::Cleared, None, Vec::new()),
                Fate::Untold(missing) => (Turn::CannotTell, None, missing),
            },
        };
        effect.differences.push(Difference { missing, ..difference(id, turn, Some(was), now, asked) });
    }
    let added =
        raised_after.into_iter().map(|(id, (now, _))| difference(id, Turn::Added, None, Some(now), asked));
    effect.differences.extend(added);
    effect.differences.sort();
    effect
}

fn difference(
    id: FindingId,
    turn: Turn,
    before: Option<Raised>,
    after: Option<Raised>,
    asked: &Asked<'_>,
) -> Difference {
    let (machine_name, _) = asked.named(&id.machine);
    Difference { turn, machine_name, machine: id.machine, key: id.key, before, after, missing: Vec::new() }
}

/// To how many machines a rule applies that says this.
fn applied(judgements: &[Judgement]) -> usize {
    let machines = judgements.iter().map(|judgement| &judgement.machine);
    machines.filter(|machine| !machine.is_whole_yard()).collect::<BTreeSet<_>>().len()
}

fn untold(missing: &BTreeMap<FindingId, BTreeSet<String>>) -> Untold {
    let mut untold = Untold::new();
    for (id, facts) in missing {
        untold.entry(facts.iter().cloned().collect()).or_default().insert(id.machine.clone());
    }
    untold
}

/// What a changed rule would have said otherwise on some mornings, each thing once.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct EffectOverDays {
    /// The machines of which the rule before could not tell on some morning.
    pub untold_before: Untold,
    /// Those of which the changed rule could not.
    pub untold_after: Untold,
    firsts: BTreeMap<(Turn, MachineId, String), First>,
}

/// One thing that would have been said otherwise, on its first morning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct First {
    /// The first morning.
    pub day: Date,
    /// On how many mornings in all.
    pub mornings: usize,
    /// What would have been said otherwise on the first of them.
    pub difference: Difference,
}

impl EffectOverDays {
    /// Adds a morning; in whatever order they come, the first is the earliest.
    pub fn add(&mut self, day: Date, effect: Effect) {
        for (untold, of_day) in
            [(&mut self.untold_before, effect.untold_before), (&mut self.untold_after, effect.untold_after)]
        {
            for (facts, machines) in of_day {
                untold.entry(facts).or_default().extend(machines);
            }
        }
        for difference in effect.differences {
            let key = (difference.turn, difference.machine.clone(), difference.key.clone());
            match self.firsts.get_mut(&key) {
                None => _ = self.firsts.insert(key, First { day, mornings: 1, difference }),
                Some(first) => {
                    first.mornings += 1;
                    if day < first.day {
                        (first.day, first.difference) = (day, difference);
                    }
                }
            }
        }
    }

    /// What takes this turn, the earliest first.
    pub fn of(&self, turn: Turn) -> Vec<&First> {
        let mut firsts: Vec<&First> =
            self.firsts.values().filter(|first| first.difference.turn == turn).collect();
        firsts.sort_by(|left, right| (left.day, &left.difference).cmp(&(right.day, &right.difference)));
        firsts
    }
}
