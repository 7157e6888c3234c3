//! How the long run stands: written whole after each change, read by a person who asks and by the next start.

use std::collections::BTreeSet;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use crate::post;
use crate::problem::counted;
use crate::round::{Answer, Tells};

/// The largest status file that is read; ours is a few kilobytes.
const FILE_BYTES_MOST: u64 = 64 * 1024;

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

    /// Whether two differ by more than the moment last seen.
    pub(super) fn differs_from(&self, other: &Status) -> bool {
        *self != Status { seen: self.seen, ..other.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_line_for_the_service_manager_counts_what_is_wrong() {
        let now: Timestamp = "2026-03-02T07:30:00Z".parse().unwrap();
        let status = |notes: usize| Status {
            started: now,
            seen: now,
            told: BTreeSet::new(),
            last_round: None,
            next_letter: Some(now),
            next_mail: None,
            told_ahead: BTreeSet::new(),
            notes: vec!["a round broke off; see kept/log".to_owned(); notes],
            clock_suspect: false,
        };
        for (notes, expected) in [(0, "0 things wrong"), (1, "1 thing wrong"), (2, "2 things wrong")] {
            let expected = format!("last round none; next letter 2026-03-02T07:30:00Z; {expected}");
            assert_eq!(status(notes).line(), expected);
        }
    }
}
