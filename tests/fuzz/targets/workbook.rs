//! Fuzzes the door `workbook`.
#![no_main]

mod contained;
#[path = "../doors/mod.rs"]
mod doors;

libfuzzer_sys::fuzz_target!(init: contained::let_others_panic(), |bytes: &[u8]| doors::enter("workbook", bytes));
