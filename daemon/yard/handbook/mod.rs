//! What the makers say of their models: service plan, running-in, fuel and oil; three sheets that the owner keeps.

mod columns;
mod page;
mod read;

#[cfg(test)]
mod tests;

pub use read::read_handbook;

use super::{EthanolLabel, MachineKind};
use crate::origin::Entry;
use crate::units::{Distance, DistanceUnit, Months, Speed, Volume};

/// Which machines a handbook row speaks of: a model by name, or a default for a kind, an engine size, or all.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SpeaksOf {
    /// The model, as the owner writes it in the machines sheet; `None` makes the row a default.
    pub model: Option<Entry<String>>,
    /// The kind that a default is for; `None` for every kind.
    pub kind: Option<Entry<MachineKind>>,
    /// The largest engine in cc that a default is for; `None` for every size.
    pub engine_cc: Option<Entry<u32>>,
}

/// A row of `handbook/models.csv`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ModelRow {
    /// Which machines it speaks of. With a model, kind and engine size are facts of that model instead.
    pub speaks_of: SpeaksOf,
    /// The unit of the model's clock.
    pub clock_unit: Option<Entry<DistanceUnit>>,
    /// The highest ethanol label that it may be filled with.
    pub fuel_allowed: Option<Entry<EthanolLabel>>,
    /// The oil it asks for, as written.
    pub oil: Option<Entry<String>>,
    /// What its tank holds.
    pub tank: Option<Entry<Volume>>,
}

/// A row of `handbook/service.csv`: one item of a service plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ServiceItem {
    /// Which machines it speaks of.
    pub speaks_of: SpeaksOf,
    /// The item: `first service`, `brake fluid`.
    pub item: Entry<String>,
    /// The figure on the clock at which it is due for the first time.
    pub first_at: Option<Entry<Distance>>,
    /// The months after handover (else registration) at which it is due for the first time.
    pub first_after: Option<Entry<Months>>,
    /// The distance after which it is due again.
    pub then_every: Option<Entry<Distance>>,
    /// The months after which it is due again.
    pub then_every_months: Option<Entry<Months>>,
    /// How far past its distance it is due before it is overdue; none is 0.
    pub tolerance: Option<Entry<Distance>>,
    /// How many days past its date it is due before it is overdue; none is 0.
    pub tolerance_days: Option<Entry<i64>>,
}

/// A row of `handbook/running-in.csv`: one stage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunningInStage {
    /// Which machines it speaks of.
    pub speaks_of: SpeaksOf,
    /// The stage's number or name, as written.
    pub stage: Entry<String>,
    /// The figure on the clock up to which it lasts (that figure still belongs to it).
    pub up_to: Option<Entry<Distance>>,
    /// The months from handover up to which it lasts.
    pub up_to_months: Option<Entry<Months>>,
    /// The highest speed, as the machine's own speedometer shows it.
    pub top_speed: Option<Entry<Speed>>,
    /// The highest speed of a short burst, as the speedometer shows it.
    pub burst_speed: Option<Entry<Speed>>,
}

/// All rows of the three sheets.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Handbook {
    /// The models and the defaults of kinds.
    pub models: Vec<ModelRow>,
    /// The service plans.
    pub services: Vec<ServiceItem>,
    /// The running-in stages.
    pub stages: Vec<RunningInStage>,
}

/// What the handbook says of one machine: its model's rows, or the defaults where the model has none.
///
/// An entry is a default exactly where the flag beside it says so; a finding that rests on it must say so too.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HandbookPage {
    /// Its model's row, or the nearest default.
    pub model: Option<ModelRow>,
    /// Whether `model` is a default and not this model's own row.
    pub model_is_default: bool,
    /// Its service plan.
    pub services: Vec<ServiceItem>,
    /// Whether the plan is a default and not this model's own.
    pub services_are_default: bool,
    /// Its running-in stages, first to last.
    pub stages: Vec<RunningInStage>,
    /// Whether the stages are a default and not this model's own.
    pub stages_are_default: bool,
}

/// The handbook of a new yard folder: its three sheets by file name. The models are for the owner to fill in; the
/// service plans and running-in stages are rules of thumb of the trade until then.
pub const SHIPPED_HANDBOOK: [(&str, &str); 3] = [
    ("models.csv", include_str!("models.csv")),
    ("service.csv", include_str!("service.csv")),
    ("running-in.csv", include_str!("running-in.csv")),
];

/// Whether two names are the same but for case and blanks.
fn same_name(one: &str, other: &str) -> bool {
    plain_letters(one).eq(plain_letters(other))
}

/// A name in lower case without blanks, as a key.
fn plain_name(name: &str) -> String {
    plain_letters(name).collect()
}

fn plain_letters(name: &str) -> impl Iterator<Item = char> {
    name.chars().filter(|letter| !letter.is_whitespace()).flat_map(char::to_lowercase)
}
