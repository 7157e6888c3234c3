//! What an edit does and what a rule raises, made up for tests.

use crate::findings::{Difference, Effect, Judgement, Raised, Section, Turn, Verdict};
use crate::yard::MachineId;

/// The effect of an edit by which so many findings take one turn.
pub(super) fn effect_of(turn: Turn, count: usize) -> Effect {
    let difference = |number: usize| Difference {
        turn,
        machine_name: String::new(),
        machine: machine(number),
        key: String::new(),
        before: None,
        after: None,
        missing: Vec::new(),
    };
    Effect { differences: (0..count).map(difference).collect(), ..Effect::default() }
}

/// What the rule `far` says of a machine where it raises something.
pub(super) fn raised(number: usize) -> Judgement {
    let raised = Raised {
        section: Section::RingToday,
        text: "far".to_owned(),
        due: None,
        due_range: None,
        at_once: false,
    };
    judgement(number, Verdict::Raised(raised))
}

/// What the rule `far` says of a machine.
pub(super) fn judgement(number: usize, verdict: Verdict) -> Judgement {
    Judgement {
        rule: "far".into(),
        machine: machine(number),
        key: String::new(),
        verdict,
        evidence: Vec::new(),
    }
}

fn machine(number: usize) -> MachineId {
    MachineId::kept(&format!("mark {number}"))
}
