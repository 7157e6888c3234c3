//! What stands in for the ledger's outbox while the ledger cannot be used: letters and their mails wait there, and are
//! put back into it as soon as it can.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::exports::day_in_words;
use super::{YardFolder, keeping};
use crate::ledger::{Ledger, LedgerFailure, LetterKind, UnkeptLetter};
use crate::problem::{Place, Problem};

/// The file as problems name it.
const STAND_IN: &str = "kept/stand-in.sqlite3";

/// Puts what waits there back into the ledger; what keeps it from that is told.
pub(super) fn take_in(ledger: &mut Ledger, folder: &YardFolder) -> Option<Problem> {
    let path = folder.stand_in();
    if !path.exists() {
        return None;
    }
    ledger.take_in(&path).err().map(|failure| as_problem(&failure))
}

/// The stand-in, where there is one or `is_needed`; what keeps it from being used is told.
pub(super) fn open(folder: &YardFolder, is_needed: bool) -> Result<Option<Ledger>, Problem> {
    let path = folder.stand_in();
    if !is_needed && !path.exists() {
        return Ok(None);
    }
    Ledger::open(&path).map(Some).map_err(|failure| as_problem(&failure))
}

/// A failure of the stand-in as the letter tells it.
pub(super) fn as_problem(failure: &LedgerFailure) -> Problem {
    keeping::parted(Place::file(STAND_IN), &failure.to_string())
}

/// What the next letter says of letters that the ledger could not keep and that reached nobody. `no_copy` are the days
/// whose letters have no copy in the folder.
pub(super) fn of_unkept(unkept: &[UnkeptLetter], no_copy: &BTreeSet<Date>, today: Date) -> Vec<Problem> {
    let told = |letter: &UnkeptLetter| {
        let day = day_in_words(letter.day, today);
        let which = match letter.kind {
            LetterKind::Morning => format!("the letter of {day}"),
            LetterKind::AtOnce => format!("a letter of {day} about what could not wait"),
        };
        let copy = if no_copy.contains(&letter.day) {
            "it has no copy in digests/ yet"
        } else {
            "its copy lies in digests/"
        };
        Problem::error(
            Place::file("kept/ledger.sqlite3"),
            format!("{which} could not be kept in the ledger when it was written; {copy}"),
            "It reached nobody; what it told and still holds stands in this letter.",
        )
    };
    unkept.iter().map(told).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn a_letter_that_was_not_kept_is_said_with_its_day_and_where_its_copy_lies() {
        let unkept = |kind| UnkeptLetter { day: date(2026, 3, 2), kind };
        let help = "It reached nobody; what it told and still holds stands in this letter.";
        let nowhere = BTreeSet::from([date(2026, 3, 2)]);
        for (letter, no_copy, what) in [
            (
                unkept(LetterKind::Morning),
                &BTreeSet::new(),
                "the letter of Monday 2 March could not be kept in the ledger when it was written; its copy lies in \
                 digests/",
            ),
            (
                unkept(LetterKind::AtOnce),
                &nowhere,
                "a letter of Monday 2 March about what could not wait could not be kept in the ledger when it was written; \
                 it has no copy in digests/ yet",
            ),
        ] {
            let told = of_unkept(&[letter], no_copy, date(2026, 3, 3));
            assert_eq!((told[0].what.as_str(), told[0].help.as_str()), (what, help));
        }
    }
}
