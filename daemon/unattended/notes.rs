//! What went wrong in the long run itself, until a letter has said it at its top.

use jiff::Timestamp;
use jiff::ZonedDateTime;
use jiff::civil::Date;

use crate::round::NoRound;

/// The most that waits to be said, so that a letter's top stays readable; what comes later of other kinds is in the log.
const NOTES_MOST: usize = 10;

/// The notes that wait for a letter, in the order in which they came. Each is `what is wrong; what to do`.
#[derive(Debug, Clone, Default)]
pub(super) struct Notes {
    waiting: Vec<String>,
}

impl From<Vec<String>> for Notes {
    fn from(waiting: Vec<String>) -> Notes {
        Notes { waiting }
    }
}

impl Notes {
    /// Everything that waits to be said.
    pub(super) fn all(&self) -> &[String] {
        &self.waiting
    }

    /// A letter has said these.
    pub(super) fn were_told(&mut self, told: &[String]) {
        self.waiting.retain(|note| !told.contains(note));
    }

    /// A round broke off. Further ones that broke off the same way on the same day are the same news.
    pub(super) fn broke_off(&mut self, how: &str, now: &ZonedDateTime) {
        self.add(format!(
            "a round broke off on {}: {how}; see kept/log, and which sheet or rule was changed before",
            now.strftime("%-d %B %Y"),
        ));
    }

    /// A round could not be made, and said why. The same on the same day is the same news.
    pub(super) fn not_made(&mut self, no_round: &NoRound, now: &ZonedDateTime) {
        let NoRound { why, help } = no_round;
        // The first `; ` of a note parts what is wrong from what to do.
        let why = why.replace(';', ",");
        let help = help.trim_end_matches('.');
        self.add(format!("a round could not be made on {} ({why}); {help}", now.strftime("%-d %B %Y")));
    }

    /// The clock stepped far, and was believed in the end.
    pub(super) fn clock_stepped(&mut self, seen: Timestamp, now: &ZonedDateTime) {
        let seen = seen.to_zoned_datetime(now.time_zone().clone());
        self.add(format!(
            "this PC's clock went from {} to {} in one step, or the PC was off meanwhile; see that its date is right",
            seen.strftime("%-d %B %Y, %H:%M"),
            now.strftime("%-d %B %Y, %H:%M"),
        ));
    }

    /// Letters are dated later than today, from a first day to a last one. Whether the clock was ahead then or is behind
    /// now, nobody can know here.
    pub(super) fn letters_ahead(&mut self, first: Date, last: Date) {
        let written = |day: Date| day.strftime("%-d %B %Y").to_string();
        let letters = if first == last {
            format!("a letter dated {}", written(first))
        } else {
            format!("letters dated {} to {}", written(first), written(last))
        };
        self.add(format!(
            "{letters} went out already, so this PC's clock was wrong then or is wrong now, and perhaps no further letter \
             comes for that day; see that its date is right"
        ));
    }

    /// A letter could be kept nowhere; the round has said it as a note.
    pub(super) fn kept_nowhere(&mut self, note: String) {
        self.add(note);
    }

    fn add(&mut self, note: String) {
        if self.waiting.len() < NOTES_MOST && !self.waiting.contains(&note) {
            self.waiting.push(note);
        }
    }
}
