//! What a speed says of a limit that the speedometer shows, after UN Regulation No. 39.

use super::RideAnswer;
use crate::units::Speed;
use crate::yard::SpeedSource;

/// Paragraph 5.3: a speedometer shows at most a tenth and so many km/h more than is true, and never less.
const SHOWS_AT_MOST_MORE: Speed = Speed::of(4, crate::units::SpeedUnit::KilometresAnHour);

/// What a speed says of a limit; `None` when that turns on where the speed was read, and nobody wrote it down.
///
/// A speed whose source is unknown is clear when it would be from a satellite receiver too, and a breach when it
/// is over the limit, which no source makes good. What is over the limit even after all that a speedometer may show too
/// much was truly too fast, whatever it was read from.
pub(super) fn answer(speed: Speed, source: Option<SpeedSource>, limit: Speed) -> Option<RideAnswer> {
    let over = speed > limit;
    let answer = match source {
        Some(SpeedSource::Speedometer) | None if is_truly_over(speed, limit) => RideAnswer::BeyondDoubt,
        Some(SpeedSource::Speedometer) if over => RideAnswer::Breach,
        None if over => RideAnswer::BreachUnsourced,
        Some(SpeedSource::Satellite) if over => RideAnswer::BeyondDoubt,
        Some(SpeedSource::Satellite) if may_have_shown(speed, limit) => RideAnswer::Possible,
        None if may_have_shown(speed, limit) => return None,
        Some(SpeedSource::Speedometer | SpeedSource::Satellite) | None => RideAnswer::Clear,
    };
    Some(answer)
}

/// Whether the speedometer may have shown the limit at a true speed: 1.1 × speed + 4 km/h ≥ limit.
fn may_have_shown(speed: Speed, limit: Speed) -> bool {
    shown_at_most_tenfold(speed) >= 10 * limit.tenth_millimetres_an_hour()
}

/// Whether no speedometer shows so much while the true speed is within the limit: speed > 1.1 × limit + 4 km/h.
fn is_truly_over(shown: Speed, limit: Speed) -> bool {
    10 * shown.tenth_millimetres_an_hour() > shown_at_most_tenfold(limit)
}

/// Ten times what a speedometer shows at most at a true speed, in whole numbers so that nothing is rounded.
fn shown_at_most_tenfold(speed: Speed) -> i64 {
    11 * speed.tenth_millimetres_an_hour() + 10 * SHOWS_AT_MOST_MORE.tenth_millimetres_an_hour()
}
