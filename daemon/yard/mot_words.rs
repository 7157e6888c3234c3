//! What people write in place of the last day of an MOT: that the machine is exempt, or that it needs none yet.
//!
//! The words are common practice, no source.

use crate::settings::{is_among, words_of};
use crate::sheets::Cell;

/// What a cell says in place of a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum NoMot {
    /// That the machine needs none, mostly for its age.
    Exempt,
    /// That it needs none yet: its first one is to come.
    NotYet,
}

/// What leaves open whether it is so, or says the opposite.
const IN_DOUBT: &str = "\
    applied apply ask check chk claim claimed failed if isnt lost maybe non not nt possibly query refused should sorn tbc \
    till unsure until untill when";

/// The longest text of which anything is understood, in words.
const MOST_WORDS: usize = 8;

/// What a cell says in place of the day; `None` where it says anything else.
pub(super) fn no_mot(cell: Cell<'_>) -> Option<NoMot> {
    let Cell::Text(text) = cell else { return None };
    let words = words_of(text);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if words.len() > MOST_WORDS || text.contains('?') || text.contains("mot.") {
        return None;
    }
    if is_not_yet(&words) {
        return Some(NoMot::NotYet);
    }
    // `not required` and `not needed` are no doubt.
    let needs_none = words.windows(2).any(|pair| {
        is_among(pair[0], "mot no none not")
            && is_among(pair[1], "applicable necessary needed req reqd required")
    }) && words.iter().any(|word| is_among(word, "no none not"));
    let in_doubt = |word: &&str| is_among(word, IN_DOUBT) && !(needs_none && *word == "not");
    if words.iter().any(in_doubt) || (needs_none && words.iter().filter(|word| **word == "not").count() > 1) {
        return None;
    }
    let is_exempt = words.iter().any(|word| is_among(word, "exempt exempted exemption historic historical"));
    (is_exempt || needs_none || is_of_forty_years(&words)).then_some(NoMot::Exempt)
}

/// Whether words say that the first one is still to come: `not due yet`, `under 3 years`, `new`.
fn is_not_yet(words: &[&str]) -> bool {
    const BESIDE: &str =
        "a an any bike due first is machine mot needed no none not old reqd required still too";
    let is_yet = |word: &&str| is_among(word, "yet new under less below");
    let is_young = words.windows(2).any(|pair| is_among(pair[0], "under below than") && is_of_three(pair[1]));
    let may_stand = |word: &&str| {
        is_yet(word)
            || is_among(word, BESIDE)
            || (is_young && (is_of_three(word) || is_among(word, "than years yrs yr")))
    };
    words.iter().any(is_yet) && words.iter().all(may_stand)
}

fn is_of_three(word: &str) -> bool {
    is_among(word, "3 3yr 3yrs 3years 4 4yr 4yrs three four")
}

/// Whether words give forty years as its age: `over 40 yrs`, `n/a 40+ years`.
fn is_of_forty_years(words: &[&str]) -> bool {
    const BESIDE: &str =
        "a age and bike by due is mot more n na no none old over plus than to vehicle yr yrs year years";
    let is_forty = |word: &&str| is_among(word, "40 40yr 40yrs 40years forty");
    let is_age = |word: &&str| is_among(word, "over plus more old yr yrs year years 40yr 40yrs 40years");
    words.iter().any(is_forty)
        && words.iter().any(is_age)
        && words.iter().all(|word| is_forty(word) || is_among(word, BESIDE))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_says_that_a_machine_needs_no_mot_is_told_from_what_leaves_it_open() {
        // Common practice, no source.
        let exempt = [
            "exempt",
            "EXEMPT",
            "Exempt (historic)",
            "MOT exempt",
            "Exempt - 1972",
            "n/a - over 40 yrs",
            "N/A (40+ years old)",
            "40yrs+",
            "over 40",
            "Historic",
            "historic vehicle",
            "not required",
            "No MOT required",
            "none needed",
            "V112 exempt",
            "exempt from MOT",
        ];
        let not_yet = [
            "not due yet",
            "Not yet required",
            "New",
            "new bike",
            "under 3 yrs",
            "no MOT yet",
            "too new",
            "< 3 yrs less than 3 years",
        ];
        let open = [
            "exempt?",
            "not exempt",
            "isn't exempt",
            "non-exempt",
            "exempt until 01/03/2027",
            "check if exempt",
            "exemption applied for",
            "not required?",
            "none",
            "n/a",
            "expired",
            "failed",
            "SORN",
            "40",
            "new tyre needed",
            "May 2026",
            "14 days",
            "under 3 advisories",
            "",
        ];
        let read = |text: &&str| no_mot(Cell::Text(text));
        for text in &exempt {
            assert_eq!(read(text), Some(NoMot::Exempt), "{text}");
        }
        for text in &not_yet {
            assert_eq!(read(text), Some(NoMot::NotYet), "{text}");
        }
        for text in &open {
            assert_eq!(read(text), None, "{text}");
        }
    }
}
