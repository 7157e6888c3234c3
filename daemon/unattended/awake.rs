//! How long the PC has been awake, and whether its clock is believed.

use std::time::Duration;

use jiff::Timestamp;

/// The most that one turn counts for: turns come at least every half minute, so that a longer step is a PC that slept
/// or a clock that was set.
const TURN_MOST: Duration = Duration::from_secs(60);

/// How long a clock that may be wrong is given to be put right from the network: long enough for a PC that has just
/// been switched on, short enough for the letter of half past seven. Our decision.
pub(super) const HOLD_OFF: Duration = Duration::from_secs(15 * 60);

/// The time that has gone by while the PC was awake. Unlike the wall clock it never goes back and never leaps, so that
/// limits and pauses are measured by it.
#[derive(Debug, Clone, Default)]
pub(super) struct Awake {
    last_turn: Option<Timestamp>,
    total: Duration,
}

impl Awake {
    /// Counts a turn at this moment, and gives the time awake since the start.
    pub(super) fn turn(&mut self, now: Timestamp) -> Duration {
        if let Some(last) = self.last_turn {
            let step = Duration::try_from(now.duration_since(last)).unwrap_or_default();
            self.total += step.min(TURN_MOST);
        }
        self.last_turn = Some(now);
        self.total
    }
}
