//! One machine in the shop's care: everything that all sheets and the kept history say of it.

use super::{Check, Fill, HandbookPage, Identity, Job, MachineId, MachineRow, Reading, Ride};
use crate::units::DistanceUnit;

/// A motorcycle, moped, scooter, three-wheeler or car in the shop's care.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// Its lasting name in the ledger.
    pub id: MachineId,
    /// What it is known by.
    pub identity: Identity,
    /// What the rows about it say, joined; of two that clash the later file's row counts, and a problem says so.
    pub row: MachineRow,
    /// The unit that its clock counts in: its row's, else its handbook's, else the shop's setting.
    pub clock_unit: DistanceUnit,
    /// Its readings by day, then by clock; those that other records carry (jobs, rides, fills) are among them.
    pub readings: Vec<Reading>,
    /// Its finished jobs by day; those without a day come last.
    pub jobs: Vec<Job>,
    /// Its checks by day; those without a day come last.
    pub checks: Vec<Check>,
    /// Its rides by day; those without a day come last.
    pub rides: Vec<Ride>,
    /// Its fills by day; those without a day come last.
    pub fills: Vec<Fill>,
    /// What its sheets have taken back of it.
    pub withdrawn: TakenOut,
    /// What the handbook says of its model, or of its kind where it says nothing of the model.
    pub page: HandbookPage,
}

/// What sheets said of a machine and have taken back: it settles nothing, and what it raised stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct TakenOut {
    /// Jobs by day.
    pub jobs: Vec<Job>,
    /// Rides by day.
    pub rides: Vec<Ride>,
}

impl Machine {
    /// The machine in a person's words: `Marlow Spruce 125, AB12 CDE`; only what is known.
    pub fn name(&self) -> String {
        let known =
            [&self.row.make, &self.row.model].map(|entry| entry.as_ref().map(|entry| entry.value.as_str()));
        let model = known.iter().flatten().copied().collect::<Vec<_>>().join(" ");
        let shown = self.identity.shown();
        if model.is_empty() { shown } else { format!("{model}, {shown}") }
    }
}
