//! Tables become typed records, and the records of all sheets and the kept history become one machine each.
//! The trade's words live here.

mod agreement;
mod assign;
mod cells;
mod correction;
mod days;
mod evidence;
mod field;
mod handbook;
mod header;
mod header_row;
mod header_words;
mod identity;
mod join;
mod kind_of_sheet;
mod kinds;
mod machine;
mod proposal;
mod recognise;
mod record;
mod row_records;
mod rows;
mod settle;
mod shape;
mod spellings;
mod strays;
mod values;
mod why;
mod words;

pub use correction::Correction;
pub use field::{Field, RecordKind};
pub use handbook::{
    Handbook, HandbookPage, ModelRow, RunningInStage, SHIPPED_HANDBOOK, ServiceItem, SpeaksOf, read_handbook,
};
pub use identity::{FrameNumber, Identity, MachineId, Mark, StockNumber};
pub use join::join;
pub use kinds::{CheckResult, EthanolLabel, MachineKind, SpeedSource};
pub use machine::Machine;
pub use proposal::{agreed, not_agreed, proposal};
pub use recognise::{Certainty, ColumnRead, LeftOut, ReadAs, recognise};
pub use record::{Check, Fill, Job, MachineRow, Reading, Record, Records, Ride, WrittenDistance};
pub use rows::records;

#[cfg(test)]
mod trials;
