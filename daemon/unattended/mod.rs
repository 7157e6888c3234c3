//! The long run: when to make a round, one instance, reload, stop, autostart.
//!
//! The keeper is a small process that watches, keeps the time and obeys; it reads no sheet, rule or ledger. Each round
//! is made by a child process of the same program, so that a crash or a hang stays there, and ending it at any moment
//! loses nothing.

pub mod autostart;

mod awake;
mod child;
mod decide;
mod keeper;
mod log_files;
mod long_run;
mod notes;
mod service_manager;
mod shop_settings;
mod signals;
mod status;

#[cfg(test)]
mod decide_tests;
#[cfg(test)]
mod keeper_tests;
#[cfg(test)]
mod season_tests;

pub use child::SUBCOMMAND;
pub use decide::{Decision, decide};
pub use keeper::{Ending, Event, Keeper, Order, Shop, TICK, Turn, Work};
pub use log_files::{LogFiles, journal_listens};
pub use long_run::{Handle, LongRun};
pub use status::{LastRound, Status};
