//! The only place that asks what day and time it is; everything else is told.

use jiff::civil::Date;
use jiff::tz::TimeZone;

/// The civil day that it is now in a time zone.
#[expect(clippy::disallowed_methods, reason = "this room is the one that asks")]
pub fn day_in(zone: &TimeZone) -> Date {
    jiff::Timestamp::now().to_zoned_datetime(zone.clone()).date()
}

/// The instant that it is now, as seconds since 1970 in UTC; for the date line of a letter.
#[expect(clippy::disallowed_methods, reason = "this room is the one that asks")]
pub fn second() -> i64 {
    jiff::Timestamp::now().as_second()
}
