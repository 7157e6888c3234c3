//! What a speed says of a limit that the speedometer shows, after UN Regulation No. 39.

use super::RideAnswer;
use crate::units::Speed;
use crate::yard::SpeedSource;

/// Paragraph 5.3: a speedometer shows at most a tenth and so many km/h more than is true, and never less.
const SHOWS_AT_MOST_MORE: Speed = Speed::of(4, crate::units::SpeedUnit::KilometresAnHour);

/// What a speed says of a limit; `None` when that turns on where the speed was read, and nobody wrote it down.
///
/// A speed whose source is unknown is clear when it would be from a satellite receiver too, and a breach when it
/// is over the limit, which no source makes good.
pub(super) fn answer(speed: Speed, source: Option<SpeedSource>, limit: Speed) -> Option<RideAnswer> {
    let over = speed > limit;
    let answer = match source {
        Some(SpeedSource::Speedometer) | None if over => RideAnswer::Breach,
        Some(SpeedSource::Satellite) if over => RideAnswer::BeyondDoubt,
        Some(SpeedSource::Satellite) if may_have_shown(speed, limit) => RideAnswer::Possible,
        None if may_have_shown(speed, limit) => return None,
        Some(SpeedSource::Speedometer | SpeedSource::Satellite) | None => RideAnswer::Clear,
    };
    Some(answer)
}

/// Whether the speedometer may have shown the limit at a true speed: 1.1 × speed + 4 km/h ≥ limit, in whole
/// numbers so that nothing is rounded.
fn may_have_shown(speed: Speed, limit: Speed) -> bool {
    let tenfold =
        11 * speed.tenth_millimetres_an_hour() + 10 * SHOWS_AT_MOST_MORE.tenth_millimetres_an_hour();
    tenfold >= 10 * limit.tenth_millimetres_an_hour()
}
