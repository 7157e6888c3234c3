//! What a rule says of a machine, and the life of what it raised.

mod absent;
mod answers;
mod asked;
mod effect;
#[cfg(test)]
mod effect_tests;
mod finding;
mod life;
#[cfg(test)]
mod life_tests;
mod verdict;

pub use absent::{Kept, absentees};
pub use asked::{Asked, MACHINE_GONE, RULE_FAILS, RULE_GONE, RULE_SLOW, RuleWords};
pub use effect::{Difference, Effect, EffectOverDays, First, Turn, Untold, effect};
pub use finding::{Finding, FindingId, KeptFinding, State};
pub use life::{CannotTell, Lives, Renamed, lives};
pub use verdict::{Judgement, Raised, Section, Verdict};
