//! The tests that use the house from outside, in one binary.

mod house;
mod sheets;
#![expect(clippy::unwrap_used, reason = "a test that cannot go on stops there")]

mod digest;
mod mornings;
mod post;
