//! Fuzzes the door `machines`.
#![no_main]

#[path = "../doors/mod.rs"]
mod doors;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::enter("machines", bytes));
