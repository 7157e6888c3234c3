//! What a rule says of a machine, and the life of what it raised.

mod finding;
mod life;
#[cfg(test)]
mod life_tests;
mod verdict;

pub use finding::{Finding, FindingId, KeptFinding, State};
pub use life::{Asked, CannotTell, Lives, MACHINE_GONE, RULE_FAILED, RULE_GONE, RuleWords, lives};
pub use verdict::{Judgement, Raised, Section, Verdict};
