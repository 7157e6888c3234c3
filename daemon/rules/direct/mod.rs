//! The direct way of running a rule: its functions as small trees of our own, walked over values without boxes.
//!
//! The language remains the reference. This way knows the plain words only, gives an answer or a missing fact, and the
//! very notes of what was looked at; for whatever it does not know, and wherever a rule fails, nears a limit or gives
//! what it should not, it gives nothing, and the language is asked. So it has no failures of its own, and tests hold
//! each of its answers against the language's.

mod notes;
mod translate;
mod tree;
mod walk;

pub(super) use notes::{Notes, Room};
pub(super) use translate::function;
pub(super) use tree::Function;

use super::facts::Lack;
use super::part::Part;
use super::value::Value;

/// The functions of a rule that are asked about a machine or the yard, as far as this way can run them.
#[derive(Default)]
pub(super) struct Direct {
    /// Whether the rule applies.
    pub(super) applies_to: Option<Function>,
    /// To which things.
    pub(super) each: Option<Function>,
    /// What is said of the machine, or of one of its things.
    pub(super) judge: Option<Function>,
}

/// How a function ended, and what it looked at.
pub(super) struct Ended<'a> {
    /// What it gave, or the fact that it lacked.
    pub(super) gave: Result<Value<'a>, Lack<'a>>,
    /// What it looked at.
    pub(super) notes: Notes<'a>,
}

impl Function {
    /// Runs it on a machine or the yard, and perhaps one of its things; `None` where the language must be asked.
    pub(super) fn run<'a>(
        &'a self,
        whole: Part<'a>,
        thing: Option<Part<'a>>,
        notes: Notes<'a>,
        room: &mut Room<'a>,
    ) -> Option<Ended<'a>> {
        walk::run(self, whole, thing, notes, &mut room.names)
    }
}
