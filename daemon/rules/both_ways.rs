//! A rule asked both ways where something that nobody knows decides: what it says either way is so.

use std::sync::Arc;

use super::Judged;
use super::direct::Room;
use super::machine_in_hand::{About, Subject};
use super::rule::Rule;
use crate::findings::Verdict;
use crate::reckon::Missing;

/// What rules are asked about, and how it stands otherwise, where that is not known.
pub(super) struct Ways {
    subject: Arc<Subject>,
    otherwise: Option<(Arc<Subject>, Missing)>,
}

impl Ways {
    /// A machine or the yard, ready to be judged.
    pub(super) fn new(about: About) -> Ways {
        let otherwise = match &about {
            About::Machine(machine, standing) => standing.otherwise.as_ref().map(|otherwise| {
                let about = About::Machine(Arc::clone(machine), Arc::clone(&otherwise.standing));
                (Subject::new(about), otherwise.hangs_on.clone())
            }),
            About::Yard(_) => None,
        };
        Ways { subject: Subject::new(about), otherwise }
    }

    /// What a rule says of it.
    pub(super) fn ask<'a>(&'a self, rule: &'a Rule, room: &mut Room<'a>, judged: &mut Judged) {
        let Some((otherwise, hangs_on)) = self.otherwise.as_ref().filter(|_| rule.asks_of_services) else {
            return rule.ask(&self.subject, room, judged);
        };
        let (mut first, mut second) = (Judged::default(), Judged::default());
        rule.ask(&self.subject, room, &mut first);
        if first.failures.is_empty() {
            rule.ask(otherwise, room, &mut second);
        }
        // A rule that fails has said what it can.
        let said = match (first.failures.is_empty(), second.failures.is_empty()) {
            (false, _) => first,
            (true, false) => second,
            (true, true) => agreed(first, second, hangs_on),
        };
        judged.judgements.extend(said.judgements);
        judged.failures.extend(said.failures);
        judged.not_applying.extend(said.not_applying);
        judged.unsure.extend(said.unsure);
    }
}

/// What a rule says either way, each answer by its key; what it says one way alone cannot be told. Where it does not apply
/// it raises nothing.
fn agreed(mut first: Judged, second: Judged, hangs_on: &Missing) -> Judged {
    let mut others = second.judgements;
    for judgement in &mut first.judgements {
        let other = others.iter().position(|other| other.key == judgement.key);
        let other = other.map_or(Verdict::Clear, |place| others.remove(place).verdict);
        let verdict = std::mem::replace(&mut judgement.verdict, Verdict::Clear);
        judgement.verdict = either_way(verdict, other, hangs_on);
    }
    for mut other in others {
        other.verdict = either_way(Verdict::Clear, other.verdict, hangs_on);
        if other.verdict != Verdict::Clear {
            first.not_applying.clear();
            first.judgements.push(other);
        }
    }
    first
}

/// What is so whichever of two verdicts is right. The second is that of a machine of which less was done, so that what it
/// does not raise is not to be raised, and what is raised although more was done is to be raised. What is more urgent because
/// more was done is said of the work itself, and whether it was done nobody knows.
fn either_way(first: Verdict, second: Verdict, hangs_on: &Missing) -> Verdict {
    use Verdict::{CannotTell, Clear, Raised, TooLongAgo};
    let missing = |missing: Missing| CannotTell { missing: missing.0 };
    match (first, second) {
        (first, second) if first == second => first,
        (Raised(one), Raised(other)) if one.section < other.section => missing(hangs_on.clone()),
        (Raised(raised), Raised(_) | TooLongAgo | CannotTell { .. }) => Raised(raised),
        (CannotTell { .. }, Clear) => Clear,
        (CannotTell { missing: one }, CannotTell { missing: other }) => {
            missing(Missing(one).and(Missing(other)))
        }
        (CannotTell { missing: lacking }, Raised(_) | TooLongAgo) => {
            missing(hangs_on.clone().and(Missing(lacking)))
        }
        (Raised(_) | Clear | TooLongAgo, _) => missing(hangs_on.clone()),
    }
}
