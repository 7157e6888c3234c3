//! The settings file `tickover.toml`: read raw with its lines, then checked as a whole.

mod checked;

pub use checked::{AgreedColumn, AgreedSheet, DateOrder, Limits, Practice, Region, Settings};
