//! Tables become typed records, and the records of all sheets and the kept history become one machine each.
//! The trade's words live here.

mod cell_words;
mod cells;
mod choices;
mod contact_words;
mod correction;
mod damage;
mod day_forms;
mod day_row;
mod days;
mod estimate;
mod field;
mod handbook;
mod handed_on;
mod identity;
mod join;
mod known_as;
mod machine;
mod mot_words;
mod named_checks;
mod near_marks;
mod no_work_header;
mod outcome_words;
mod pictures;
mod recognise;
mod record;
mod record_parts;
mod result_words;
mod rows;
mod same_rest;
mod unread_day;
mod withdrawn;
mod written_mark;

pub(crate) use cell_words::is_nothing_known;
pub use choices::{CheckResult, EthanolLabel, MachineKind, SpeedSource};
pub use contact_words::{NotToRing, not_to_ring};
pub use correction::{Correction, is_put_back};
pub use field::{Field, RecordKind};
pub use handbook::{
    Handbook, HandbookPage, ModelRow, RunningInStage, SHIPPED_HANDBOOK, ServiceItem, SpeaksOf, read_handbook,
};
pub use handed_on::{HandedOn, handed_on};
pub use identity::{FrameNumber, Identity, MachineId, Mark, StockNumber};
pub use join::{join, join_all};
pub use known_as::{KnownAs, known_as};
pub use machine::{Machine, TakenOut};
pub use pictures::may_take_back;
pub use recognise::{
    Answer, Certainty, Change, ColumnRead, Compared, Lasts, LeftOut, Question, ReadAs, Settles, Terms,
    agreed, as_elsewhere, compare, dates_proving, handover_question, is_an_aside, is_left_unread,
    no_handover, not_agreed, open_lines, proposal, questions, recognise, tell_of_file, unit_question,
    weigh_keys,
};
pub use record::{Check, Fill, Job, MachineRow, Reading, Record, Records, Ride, WrittenDistance};
pub use record_parts::{Part, parts};
pub use result_words::is_bare_sign;
pub use rows::records;
pub use same_rest::{SameRest, Sureness};
pub use unread_day::UnreadDay;
pub use withdrawn::{
    ColumnsRead, DatedClocks, Fate, How, RowsLacking, SheetToday, Standing, ToldBy, Witness, fates,
};

#[cfg(test)]
mod trials;
