//! Quantities that carry their unit; the rest of the house never holds a bare number of miles or days.

#[cfg(test)]
pub(crate) mod dice;
mod distance;
mod month_names;
mod number;
mod span;
mod speed;
mod volume;
mod written;

pub use distance::{Distance, DistanceUnit};
pub use month_names::{month_begun, month_in_full, month_named};
pub use number::{DecimalMark, Number, NumberReadings};
pub use span::{Days, Months, months_after, months_before, shown_day, write_day};
pub use speed::{Speed, SpeedUnit};
pub use volume::{Volume, VolumeUnit};
