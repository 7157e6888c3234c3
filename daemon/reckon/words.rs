//! What a job's free text says was done.

use crate::settings::words_of;

/// The words that turn `first service` into something not done when they stand up to three words before it.
const UNDOING_BEFORE: &str = "\
    after asked asks awaiting before book booked cancelled cannot cant declined deferred didnt \
    dont due hasnt havent isnt missed must need needing needs never next no not outstanding \
    overdue pending postponed prior quote quoted refused remind should since till until want \
    wanted wants wasnt will without wont";

/// The words that turn it into something not done when they stand up to four words behind it.
const UNDOING_BEHIND: &str = "\
    awaiting booked cancelled cannot cant declined deferred didnt due hasnt havent isnt later \
    missed must needed never next not outstanding overdue pending postponed refused required \
    should tomorrow wanted wasnt will wont";

/// The words that say it was done after all, so that what follows them is about something else.
const DONE: &str = "carried complete completed done finished performed";

/// How many words before and behind are looked at.
const BEFORE: usize = 3;
const BEHIND: usize = 4;

/// Whether a job's text says that something was done: the phrase stands in it as whole words, and the words
/// around it in the same part of the sentence do not take it back (`no first service yet`, `first service due`,
/// `torque re-check after first service`).
///
/// A text that could mean either counts as not done: a service asked for once too often does less harm than one
/// that was never asked for.
pub(super) fn says_done(text: &str, phrase: &str) -> bool {
    let phrase = words_of(phrase);
    if phrase.is_empty() {
        return false;
    }
    text.split_inclusive(['.', ',', ';', ':', '(', ')', '/', '+', '&', '!', '?', '\n'])
        .filter(|part| !part.ends_with('?'))
        .map(words_of)
        .any(|part| {
            let mut places = part.windows(phrase.len()).enumerate();
            places.any(|(place, window)| window == phrase && !taken_back(&part, place, phrase.len()))
        })
}

/// Whether the words around a phrase say that it was not done.
fn taken_back(part: &[String], place: usize, length: usize) -> bool {
    let before = &part[place.saturating_sub(BEFORE)..place];
    if before.iter().any(|word| is_among(word, UNDOING_BEFORE)) {
        return true;
    }
    let behind: Vec<&str> = part[place + length..].iter().take(BEHIND).map(String::as_str).collect();
    for (index, word) in behind.iter().enumerate() {
        if is_among(word, DONE) {
            return false;
        }
        let still_to_come = *word == "to" && matches!(behind.get(index + 1), Some(&("do" | "be" | "come")));
        if still_to_come || is_among(word, UNDOING_BEHIND) {
            return true;
        }
    }
    false
}

/// Whether a word is one of a list's.
fn is_among(word: &str, list: &str) -> bool {
    list.split_whitespace().any(|listed| listed == word)
}
