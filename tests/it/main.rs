//! The tests that use the house from outside, in one binary.

mod sheets;
mod sheets_made;
