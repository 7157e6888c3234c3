//! When the day's letter is due: a pure decision, asked again and again against the wall clock.

use std::collections::BTreeSet;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

use crate::reckon::is_open;
use crate::settings::ShopDays;

/// A longer step forward than this is a wrong clock rather than a PC that was off: no shop shuts for so long without
/// a person looking at its PC before it goes on. Our decision.
const FORWARD_MOST: SignedDuration = SignedDuration::from_hours(45 * 24);

/// A longer step back than this is more than a correction by a few hours or a wrong zone. Our decision.
const BACK_MOST: SignedDuration = SignedDuration::from_hours(24);

/// How many days ahead the next letter is looked for: a shop closed for more than a year has no next one.
const DAYS_AHEAD_MOST: usize = 400;

/// What is to be done at a moment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Decision {
    /// The letter of this day, which is today, is due and has not been told.
    Tell(Date),
    /// Nothing is due before this moment; `None` where no open day is in sight.
    Wait(Option<Timestamp>),
    /// The clock has stepped so far from the moment last seen that it may be wrong.
    ClockSuspect {
        /// The moment last seen.
        seen: Timestamp,
    },
}

/// Decides what is due. A day is told when it is open, its letter's time has come and it has not been told; late is
/// better than never, but only on the same day. `last_seen` is the moment of the question before, `None` where that is
/// not known or no longer believed.
pub fn decide(
    now: &ZonedDateTime,
    told: &BTreeSet<Date>,
    days: &ShopDays,
    last_seen: Option<Timestamp>,
) -> Decision {
    if let Some(seen) = last_seen.filter(|seen| is_suspect(*seen, now.timestamp())) {
        return Decision::ClockSuspect { seen };
    }
    let today = now.date();
    let is_due = |day: Date| is_open(days, day) && !told.contains(&day);
    let slot_today = letter_moment(today, days, now.time_zone());
    if is_due(today) && slot_today.is_some_and(|slot| slot <= now.timestamp()) {
        return Decision::Tell(today);
    }
    let next = today.series(jiff::Span::new().days(1)).take(DAYS_AHEAD_MOST).find(|day| is_due(*day));
    Decision::Wait(next.and_then(|day| letter_moment(day, days, now.time_zone())))
}

/// Whether the step from one moment to the next is one that a sound clock does not make.
fn is_suspect(seen: Timestamp, now: Timestamp) -> bool {
    let step = now.duration_since(seen);
    step > FORWARD_MOST || step < -BACK_MOST
}

/// The moment at which a day's letter is due. A time that the clocks skip in spring comes as much later; one that
/// happens twice in autumn counts the first time.
fn letter_moment(day: Date, days: &ShopDays, zone: &TimeZone) -> Option<Timestamp> {
    day.to_datetime(days.letter_at).to_zoned_datetime(zone.clone()).ok().map(|moment| moment.timestamp())
}
