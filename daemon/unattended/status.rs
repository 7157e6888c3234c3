//! How the long run stands: written whole after each change, read by a person who asks and by the next start.

use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use serde::{Deserialize, Serialize};

use crate::post;
use crate::problem::counted;
use crate::round::{Answer, Tells};

/// The largest status file that is read; ours is a few kilobytes.
const FILE_BYTES_MOST: u64 = 64 * 1024;
/// So much time is let pass before the file is written again although nothing but the moment has changed, so that an
/// old one shows that something is wrong. Our decision.
const WRITTEN_EVERY: SignedDuration = SignedDuration::from_mins(10);
/// An older file than this is out of date while the long run is at work: the moment stands still for as long as a round
/// takes, which is ended after half an hour, and is written ten minutes later at the latest.
const OLD_AFTER: SignedDuration = SignedDuration::from_mins(45);
/// A letter that is due is begun within half a minute. Where one is due for longer than this and no round was begun, the
/// file is out of date.
const LETTER_LATE_MOST: SignedDuration = SignedDuration::from_mins(5);

/// How the long run stands. No machine and no customer is in it; what is wrong may name an address.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Status {
    /// Since when it runs.
    pub started: Timestamp,
    /// The last moment at which its clock was believed.
    pub seen: Timestamp,
    /// The days that have been told, the newest.
    pub told: BTreeSet<Date>,
    /// The last round that gave an answer.
    pub last_round: Option<LastRound>,
    /// Since when a round is at work.
    #[serde(default)]
    pub at_work: Option<Timestamp>,
    /// When the next letter is due.
    pub next_letter: Option<Timestamp>,
    /// When the next mail in the outbox is to be tried.
    pub next_mail: Option<Timestamp>,
    /// The days of letters dated later than their telling that were spoken of already.
    #[serde(default)]
    pub told_ahead: BTreeSet<Date>,
    /// What went wrong and has not been said by a letter: each `what is wrong; what to do`.
    pub notes: Vec<String>,
    /// Whether the clock has leapt, and is given time to be put right before it is believed.
    #[serde(default)]
    pub clock_suspect: bool,
}

/// What the last round did.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastRound {
    /// When it ended.
    pub at: Timestamp,
    /// How much it was to tell.
    pub tells: Tells,
    /// How many sheets were read.
    pub sheets: usize,
    /// How many machines were judged.
    pub machines: usize,
    /// How many findings are open.
    pub findings: usize,
    /// How much in the sheets was not read, or read with a doubt; the letter lists it at its foot.
    #[serde(default)]
    pub complaints: usize,
    /// How much kept the round from being whole.
    pub trouble: usize,
    /// The first of it in words; it may name an address.
    #[serde(default)]
    pub wrong: Vec<String>,
}

impl LastRound {
    /// What a round's answer leaves to be shown.
    pub(super) fn of(answer: &Answer, tells: Tells, at: Timestamp) -> LastRound {
        LastRound {
            at,
            tells,
            sheets: answer.sheets,
            machines: answer.machines,
            findings: answer.findings,
            complaints: answer.complaints,
            trouble: answer.trouble,
            wrong: answer.wrong.clone(),
        }
    }
}

impl Status {
    /// The status as a file holds it; `None` where there is none or it is not ours.
    pub fn read(path: &Path) -> Option<Status> {
        let mut bytes = Vec::new();
        File::open(path).ok()?.take(FILE_BYTES_MOST).read_to_end(&mut bytes).ok()?;
        serde_json::from_slice(&bytes).ok()
    }

    /// Writes the file whole or not at all.
    pub(super) fn write(&self, path: &Path) -> io::Result<()> {
        post::write_whole(path, serde_json::to_string_pretty(self)?.as_bytes())
    }

    /// The status in one line, with moments in coordinated universal time.
    pub(super) fn line(&self) -> String {
        let moment = |moment: Option<Timestamp>| moment.map_or("none".to_owned(), |it| it.to_string());
        let last = self.last_round.as_ref().map(|round| round.at);
        let wrong = self.notes.len() + self.last_round.as_ref().map_or(0, |round| round.trouble);
        let wrong = counted(wrong, "thing");
        format!("last round {}; next letter {}; {wrong} wrong", moment(last), moment(self.next_letter))
    }

    /// Whether this is worth writing over another: it differs by more than the moment last seen, or by much of that.
    pub(super) fn replaces(&self, written: &Status) -> bool {
        *self != Status { seen: self.seen, ..written.clone() }
            || self.seen.duration_since(written.seen).abs() >= WRITTEN_EVERY
    }

    /// Whether a long run that is at work would have written a newer one by now.
    pub fn is_out_of_date(&self, now: Timestamp) -> bool {
        // While the clock is not believed the moment stands still, and no letter is begun.
        if self.clock_suspect {
            return false;
        }
        let is_late = |letter| self.at_work.is_none() && now.duration_since(letter) > LETTER_LATE_MOST;
        now.duration_since(self.seen).abs() > OLD_AFTER || self.next_letter.is_some_and(is_late)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(text: &str) -> Timestamp {
        format!("2026-03-{text}:00Z").parse().unwrap()
    }

    /// A status of Monday 2 March, 09:00, whose next letter is Tuesday's.
    fn of_monday() -> Status {
        let now = moment("02T09:00");
        Status {
            started: now,
            seen: now,
            told: BTreeSet::new(),
            last_round: None,
            at_work: None,
            next_letter: Some(moment("03T07:30")),
            next_mail: None,
            told_ahead: BTreeSet::new(),
            notes: Vec::new(),
            clock_suspect: false,
        }
    }

    #[test]
    fn a_status_that_the_long_run_would_have_replaced_is_out_of_date() {
        let seen = |text: &str| Status { seen: moment(text), ..of_monday() };
        let at_work = |since: &str| Status { at_work: Some(moment(since)), ..seen(since) };
        let suspect = Status { clock_suspect: true, ..of_monday() };
        for (status, now, expected, why) in [
            (of_monday(), "02T09:45", false, "a round may have held the moment still for so long"),
            (of_monday(), "02T09:46", true, "nothing holds it still for longer"),
            (of_monday(), "02T08:14", true, "it was written by a clock that was ahead"),
            (seen("03T07:25"), "03T07:35", false, "the letter is begun soon"),
            (seen("03T07:25"), "03T07:36", true, "the letter was due, and no round was begun"),
            (at_work("03T07:30"), "03T07:47", false, "the round of the letter is at work"),
            (at_work("03T07:30"), "03T08:16", true, "a round is ended sooner"),
            (suspect, "04T09:00", false, "the clock is what is wrong, and that is said"),
        ] {
            assert_eq!(status.is_out_of_date(moment(now)), expected, "{now}: {why}");
        }
    }

    #[test]
    fn a_status_is_written_again_for_the_moment_alone_every_ten_minutes() {
        let seen = |text: &str| Status { seen: moment(text), ..of_monday() };
        let noted = Status { notes: vec!["a round broke off; see kept/log".to_owned()], ..of_monday() };
        for (newer, expected) in
            [(seen("02T09:09"), false), (seen("02T09:10"), true), (seen("02T08:50"), true), (noted, true)]
        {
            assert_eq!(newer.replaces(&of_monday()), expected, "{newer:?}");
        }
    }

    #[test]
    fn the_line_for_the_service_manager_counts_what_is_wrong() {
        let now = moment("02T07:30");
        let status = |notes: usize| Status {
            next_letter: Some(now),
            notes: vec!["a round broke off; see kept/log".to_owned(); notes],
            ..of_monday()
        };
        for (notes, expected) in [(0, "0 things wrong"), (1, "1 thing wrong"), (2, "2 things wrong")] {
            let expected = format!("last round none; next letter 2026-03-02T07:30:00Z; {expected}");
            assert_eq!(status(notes).line(), expected);
        }
    }
}
