//! The letters' copies in `digests/`: those of earlier days that still wait are put there, and what is in the way is told
//! by the letter in hand.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;

use super::exports::day_in_words;
use super::{Step, YardFolder, keeping};
use crate::digest::Letter;
use crate::ledger::{Ledger, LetterKind, LetterWords, OutboxLetter};
use crate::post::{self, CopyName, PostFailure};
use crate::problem::{Place, Problem};

/// The folder as problems name it.
const FOLDER: &str = "digests";
/// What becomes of a copy once its place is free.
const BY_ITSELF: &str = "The copies are put there by themselves once they can be.";

/// How the copies of the letters of earlier days stand.
#[derive(Debug, Default)]
pub(super) struct Copies {
    /// The days of letters whose copies wait in vain.
    pub(super) missing: BTreeSet<Date>,
    /// Why, with the days that it keeps from their place.
    reasons: BTreeMap<(String, String), BTreeSet<Date>>,
    /// Whether the folder takes no copy of the letter in hand either.
    pub(super) own_is_blocked: bool,
    /// What else went wrong.
    problems: Vec<Problem>,
}

/// Puts the copies of earlier days' letters that wait into the folder: it was full then, or the run was killed.
pub(super) fn put_down_earlier(
    ledger: &mut Ledger,
    folder: &YardFolder,
    today: Date,
    now: Timestamp,
    step: &mut dyn FnMut(Step),
) -> Copies {
    let mut copies = Copies::default();
    let waiting = ledger.waiting_copies().unwrap_or_else(|failure| {
        copies.problems.push(keeping::as_problem(&failure));
        Vec::new()
    });
    for letter in waiting.iter().filter(|letter| letter.edition.day < today) {
        if !ledger.outlives_the_round() {
            // That it is there could not be noted.
            copies.missing.insert(letter.edition.day);
            continue;
        }
        match put_down(letter, folder, step) {
            Ok(_) => {
                let noted = ledger.mark_delivered(&letter.edition, now);
                copies.problems.extend(noted.err().map(|failure| keeping::as_problem(&failure)));
            }
            Err(failure) => {
                copies.missing.insert(letter.edition.day);
                copies.reasons.entry(failure.parts()).or_default().insert(letter.edition.day);
            }
        }
    }
    copies
}

/// Puts a letter's copy into the folder as the ledger kept it, and gives the files.
pub(super) fn put_down(
    letter: &OutboxLetter,
    folder: &YardFolder,
    step: &mut dyn FnMut(Step),
) -> Result<Vec<PathBuf>, PostFailure> {
    let LetterWords { subject, text, html, full_list } = letter.words.clone();
    let day = letter.edition.day;
    let words = Letter { day, subject, text, html, full_list };
    let at_once = letter.edition.kind == LetterKind::AtOnce;
    let name = CopyName { day, at_once, edition: letter.edition.number };
    step(Step::Copying);
    let paths = post::deliver_to_folder(&folder.digests(), name, &words, &letter.eml)?;
    step(Step::Copied);
    Ok(paths)
}

impl Copies {
    /// What the letter in hand says of the copies: of its own, where the folder takes none, and of those of earlier days.
    /// `is_letter` is whether there is one in hand.
    pub(super) fn problems(&mut self, folder: &YardFolder, is_letter: bool, today: Date) -> Vec<Problem> {
        let mut problems = self.problems.clone();
        let mut reasons = self.reasons.clone();
        let own = is_letter.then(|| post::takes_copies(&folder.digests()).err()).flatten();
        self.own_is_blocked = own.is_some();
        if let Some(failure) = own {
            let of_own = failure.parts();
            let earlier = reasons.remove(&of_own).unwrap_or_default();
            problems.push(blocked("this letter", &earlier, &of_own, today));
        }
        problems.extend(reasons.iter().map(|(reason, days)| blocked("", days, reason, today)));
        problems
    }
}

/// How many days are named; of more, only the first is.
const DAYS_NAMED: usize = 3;

/// That nothing gets to its place in the folder.
fn blocked(own: &str, earlier: &BTreeSet<Date>, (why, help): &(String, String), today: Date) -> Problem {
    let mut days: Vec<String> = earlier.iter().map(|day| day_in_words(*day, today)).collect();
    if days.len() > DAYS_NAMED {
        days = vec![format!("{} days since {}", days.len(), days[0])];
    }
    let letters = if earlier.len() == 1 { "the letter" } else { "the letters" };
    let of = match (own, days.is_empty()) {
        (own, true) => own.to_owned(),
        ("", false) => format!("{letters} of {}", days.join(", ")),
        (own, false) => format!("{own} and of {letters} of {}", days.join(", ")),
    };
    let copy =
        if own.is_empty() && earlier.len() == 1 || earlier.is_empty() { "the copy" } else { "the copies" };
    let what = format!("{copy} of {of} could not be put into digests/: {why}");
    Problem::error(Place::file(FOLDER), what, format!("{help} {BY_ITSELF}"))
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn which_copies_are_missing_is_said_with_why_and_what_to_do() {
        let why = ("something of that name is in the way".to_owned(), "Move it elsewhere.".to_owned());
        let days = |days: &[i8]| days.iter().map(|day| date(2026, 3, *day)).collect();
        for (own, earlier, what) in [
            ("this letter", days(&[]), "the copy of this letter"),
            ("", days(&[2]), "the copy of the letter of Monday 2 March"),
            ("", days(&[2, 3]), "the copies of the letters of Monday 2 March, Tuesday 3 March"),
            ("", days(&[2, 3, 4, 5]), "the copies of the letters of 4 days since Monday 2 March"),
            ("this letter", days(&[2]), "the copies of this letter and of the letter of Monday 2 March"),
        ] {
            let problem = blocked(own, &earlier, &why, date(2026, 3, 5));
            let expected =
                format!("{what} could not be put into digests/: something of that name is in the way");
            assert_eq!(problem.what, expected);
            assert_eq!(
                problem.help,
                "Move it elsewhere. The copies are put there by themselves once they can be."
            );
        }
    }
}
