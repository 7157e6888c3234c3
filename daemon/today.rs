//! The only place that asks what day and time it is; everything else is told.

use jiff::Timestamp;

/// The moment that it is now.
#[expect(clippy::disallowed_methods, reason = "this room is the one that asks")]
pub fn now() -> Timestamp {
    Timestamp::now()
}
