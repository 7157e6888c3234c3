//! The tests that use the house from outside, in one binary.

mod golden;
