//! Tables become typed records, and the records of all sheets and the kept history become one machine each.
//! The trade's words live here.

mod cells;
mod days;
mod handbook;
mod identity;
mod join;
mod kinds;
mod machine;
mod record;
mod words;

pub use handbook::{
    Handbook, HandbookPage, ModelRow, RunningInStage, SHIPPED_HANDBOOK,
    ServiceItem, SpeaksOf, read_handbook,
};
pub use identity::{FrameNumber, Identity, MachineId, Mark, StockNumber};
pub use join::join;
pub use kinds::{CheckResult, EthanolLabel, MachineKind, SpeedSource};
pub use machine::Machine;
pub use record::{Check, Fill, Job, MachineRow, Reading, Record, Records, Ride, WrittenDistance};
