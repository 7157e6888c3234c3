//! Tickover reads a small motorcycle dealer's own sheets each morning and writes to the workshop: who must do
//! what today, by when, and why.
//!
//! The rooms stand in the order in which a row of a sheet goes through the house; a room uses only rooms above it.

pub mod units;

pub mod origin;

pub mod problem;

pub mod today;

pub mod settings;

pub mod sheets;

pub mod yard;

pub mod reckon;

pub mod findings;

pub mod rules;

pub mod ledger;

pub mod digest;

pub mod post;

pub mod watch;

pub mod round;

pub mod unattended;

pub mod command;
