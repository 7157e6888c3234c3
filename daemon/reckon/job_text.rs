//! What a job's free text says was done.

use std::borrow::Cow;

use crate::settings::{stands_as_it_is, words_of};

/// The words that turn `first service` into something not done when they stand up to four words before it.
const UNDOING_BEFORE: &str = "\
    after arrange arranging asked asks attend awaiting before book booked booking cancel canceled \
    cancelled cannot cant cnx declined deferred didnt discuss discussed dna dont due est estimate \
    estimated fta hasnt havent isnt missed must need needing needs never next no not outstanding overdue \
    pending postponed prior quotation quote quoted rearranged rebooked refused remind rescheduled should \
    since tba tbc till until want wanted wants wasnt will without wont";

/// The words that turn it into something not done when they stand up to four words behind it.
const UNDOING_BEHIND: &str = "\
    abandoned aborted arrange attend awaiting booked booking cancel canceled cancelled cannot cant cnx \
    declined deferred didnt dna due est estimate estimated fta half hasnt havent herself himself hold \
    incomplete isnt later missed must na needed never next not ordered outstanding overdue partial partly \
    pending postponed price prices quotation quote quoted rearranged rebooked refused reminder reqd \
    required rescheduled should skipped started stopped tba tbc themselves tomorrow unfinished waiting \
    wanted wasnt when will wip wont";

/// The words that say it was done after all, so that what follows them is about something else.
const DONE: &str = "carried complete completed done finished performed";

/// The words that call a visit off, or speak of one to come, even from the next part of a sentence:
/// `first service (booked)`, `cancelled: first service`.
const CALLING_OFF: &str = "\
    abandoned aborted booked cancel canceled cancelled cnx declined deferred dna fta incomplete postponed \
    rearranged rebooked refused rescheduled skipped unfinished";

/// The words that say, with one more at the most, that there is no more than a price or a plan: `quote only`,
/// `est. £180`, `TBC`.
const ONLY_PLANNED: &str = "est estimate estimated quotation quote quoted tba tbc";

/// Behind `in` and a figure: what is still to come, as in `first service in 200 miles`.
const AHEAD: &str = "days kilometres km kms m mi miles months weeks";

/// How many words before and behind are looked at: as far as a sentence's `not` or `booked` mostly reaches. Our
/// decision.
const AROUND: usize = 4;

/// Whether a job's text says that something was done: the phrase stands in it as whole words, and the words
/// around it in the same part of the sentence do not take it back (`no first service yet`, `first service due`,
/// `torque re-check after first service`).
///
/// A text that could mean either counts as not done: a service asked for once too often does less harm than one
/// that was never asked for.
pub(super) fn says_done(text: &str, phrase: &str) -> bool {
    let phrase = words_of(phrase);
    if phrase.first().is_none_or(|first| surely_lacks(text, first)) {
        return false;
    }
    let text = not_applicable(text);
    let parts = text.split_inclusive(['.', ',', ';', ':', '(', ')', '/', '+', '&', '!', '?', '\n']);
    let parts: Vec<(&str, Vec<String>)> = parts.map(|part| (part, words_of(part))).collect();
    parts.iter().enumerate().any(|(place, (written, part))| {
        let off_before = place.checked_sub(1).is_some_and(|before| {
            let (written, words) = &parts[before];
            !ends_sentence(written) && calls_off(words)
        });
        let off_behind =
            !ends_sentence(written) && parts.get(place + 1).is_some_and(|(_, words)| calls_off(words));
        let mut places = part.windows(phrase.len()).enumerate().filter(|(_, window)| *window == phrase);
        !written.ends_with('?')
            && places.any(|(start, _)| {
                // The shop's `annual` stands before a word that adds nothing.
                let adds_nothing = |word: &&String| matches!(word.as_str(), "service" | "svc");
                let end = start + phrase.len();
                let length = phrase.len() + part[end..].iter().take(1).filter(adds_nothing).count();
                let off = (off_before && start == 0) || (off_behind && start + length == part.len());
                !off && !taken_back(part, start, length)
            })
    })
}

/// A text with `n/a` as one word, which the stroke would part.
fn not_applicable(text: &str) -> Cow<'_, str> {
    let is_it = |part: &str| part.eq_ignore_ascii_case("n/a");
    match text.split(' ').any(is_it) {
        true => text
            .split(' ')
            .map(|part| if is_it(part) { "na" } else { part })
            .collect::<Vec<_>>()
            .join(" ")
            .into(),
        false => text.into(),
    }
}

/// Whether a text has a word nowhere, told without parting it into words: most texts have none of what is asked for, and
/// each is asked for much. Of a text whose words are no parts of it nothing is said.
fn surely_lacks(text: &str, word: &str) -> bool {
    stands_as_it_is(text)
        && !text.as_bytes().windows(word.len()).any(|part| part.eq_ignore_ascii_case(word.as_bytes()))
}

/// Whether a text has a phrase as whole words, whatever stands around it.
pub(super) fn has_words(text: &str, phrase: &str) -> bool {
    let (text, phrase) = (words_of(text), words_of(phrase));
    !phrase.is_empty() && text.windows(phrase.len()).any(|window| window == phrase)
}

/// Whether nothing after a part of a text belongs to its sentence.
fn ends_sentence(part: &str) -> bool {
    part.ends_with(['.', '!', '\n'])
}

/// Whether a part of a sentence does nothing but call a visit off, or speak of one to come: `cancelled`,
/// `booked in for 3 May`, `no show`; in `declined new tyres` it is about something else.
fn calls_off(part: &[String]) -> bool {
    let part: Vec<&str> = part.iter().map(String::as_str).collect();
    match part.as_slice() {
        ["no", "show", ..]
        | ["did", "not", "attend", ..]
        | ["didnt", "attend", ..]
        | ["not", "attended", ..]
        | ["failed", "to", "attend", ..]
        | ["parts", "on", "order", ..] => true,
        [first] | [first, _] if is_among(first, ONLY_PLANNED) => true,
        [first, second, _, ..] => {
            is_among(first, CALLING_OFF) && matches!(*second, "in" | "for" | "by" | "to" | "until")
        }
        [first, ..] => is_among(first, CALLING_OFF),
        [] => false,
    }
}

/// Whether the words around a phrase say that it was not done.
fn taken_back(part: &[String], place: usize, length: usize) -> bool {
    let before = &part[place.saturating_sub(AROUND)..place];
    if before.iter().any(|word| is_among(word, UNDOING_BEFORE)) {
        return true;
    }
    let behind: Vec<&str> = part[place + length..].iter().take(AROUND).map(String::as_str).collect();
    for (index, word) in behind.iter().enumerate() {
        if is_among(word, DONE) {
            return false;
        }
        let still_to_come = *word == "to" && matches!(behind.get(index + 1), Some(&("do" | "be" | "come")));
        let next = behind.get(index + 1);
        let no_show = *word == "no" && next == Some(&"show");
        let on_order = *word == "on" && next == Some(&"order");
        let ahead = *word == "in" && behind.get(index + 2).is_some_and(|unit| is_among(unit, AHEAD));
        if still_to_come || no_show || on_order || ahead || is_among(word, UNDOING_BEHIND) {
            return true;
        }
    }
    false
}

/// Whether a word is one of a list's.
fn is_among(word: &str, list: &str) -> bool {
    list.split_whitespace().any(|listed| listed == word)
}
