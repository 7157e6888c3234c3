//! What a job's free text says was done.

use std::borrow::Cow;

use crate::settings::{stands_as_it_is, words_of};

/// The words that turn `first service` into something not done when they stand up to four words before it.
const UNDOING_BEFORE: &str = "\
    advise advised advises after arrange arranging asked asks attend awaiting before book booked booking cancel canceled \
    cancelled cannot cant cnx declined deferred didnt discuss discussed dna dont due est estimate \
    estimated fta hasnt havent isnt missed must need needing needs never next no not outstanding overdue \
    pending postponed prior quotation quote quoted rearranged rebooked recommend recommended refused remind \
    rescheduled should since tba tbc till until void want wanted wants wasnt will without wont";

/// The words that turn it into something not done when they stand up to four words behind it.
const UNDOING_BEHIND: &str = "\
    abandoned aborted arrange attend awaiting begun booked booking cancel canceled cancelled cannot \
    cant cnx continued declined deferred delayed didnt dna due est estimate estimated fta half hasnt havent herself himself hold \
    incomplete isnt later missed must na needed never next not ongoing ordered outstanding overdue partial partly \
    pending postponed price prices progress quotation quote quoted rearranged rebooked refused reminder reqd \
    required rescheduled should skipped started stopped tba tbc themselves tomorrow unfinished void waiting \
    wanted wasnt when will wip wont";

/// The words that say it was done after all, so that what follows them is about something else.
const DONE: &str = "carried complete completed done finished performed";

/// The words that call a visit off, or speak of one to come, even from the next part of a sentence:
/// `first service (booked)`, `cancelled: first service`.
const CALLING_OFF: &str = "\
    abandoned aborted awaiting begun booked cancel canceled cancelled cnx declined deferred delayed dna fta \
    incomplete ongoing partial partly postponed rearranged rebooked refused rescheduled skipped started stopped \
    unfinished void waiting wip";

/// What may alone stand beside something that was only spoken of: `brake fluid, advisory`.
const ONLY_SPOKEN_OF: &str = "advised advisory recommended";

/// What makes another thing of what it follows: `annual service kit`, `annual service light`.
const ANOTHER_THING: &str =
    "complaint deposit indicator kit kits lamp light pack parts plan reminder voucher warning";

/// What is bought, fetched or asked for something that is done later or elsewhere: `parts for annual service`.
const BOUGHT_FOR: &str =
    "bits called cost enquired filter filters kit kits left off oil parts plugs price prices rang";

/// How much of it was done, where that was not all: `part annual service`, `half of the annual service`.
const PART_OF_IT: &str = "half most part partial partly some";

/// What was looked at and no more, before `only`: `annual service inspection only`.
const LOOKED_AT: &str = "check checked filter inspected inspection labour look looked oil parts";

/// What leaves open how much of it was done, or whether: `annual service excl. oil`, `invoice for annual service`.
const LEAVING_OPEN: &str = "bill except excepting excl excluding invoice minus";

/// What a service is not whole without: `annual service (no oil)`.
const LACKING: &str = "brakes filter filters fluid oil parts plugs time";

/// The words that say, with one more at the most, that there is no more than a price or a plan: `quote only`,
/// `est. £180`, `TBC`.
const ONLY_PLANNED: &str = "est estimate estimated quotation quote quoted tba tbc";

/// Behind `in` and a figure: what is still to come, as in `first service in 200 miles`.
const AHEAD: &str = "days kilometres km kms m mi miles months weeks";

/// How many words before and behind are looked at: as far as a sentence's `not` or `booked` mostly reaches. Our
/// decision.
const AROUND: usize = 4;

/// What a job's text says of something.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Said {
    /// That it was not done, or nothing at all.
    Not,
    /// What may mean that it was done, or not.
    Unclear,
    /// That it was done.
    Done,
}

/// Whether a job's text says that something was done: the phrase stands in it as whole words, and the words
/// around it in the same part of the sentence do not take it back (`no first service yet`, `first service due`,
/// `torque re-check after first service`).
///
/// A text that could mean either counts as not done: a service asked for once too often does less harm than one
/// that was never asked for.
pub(super) fn says_done(text: &str, phrase: &str) -> bool {
    said(text, phrase) == Said::Done
}

/// What a job's text says of something, of all places where it is named.
pub(super) fn said(text: &str, phrase: &str) -> Said {
    let named = Named::in_text(text, phrase);
    named.and_then(|named| named.places().map(|place| named.said(place)).max()).unwrap_or(Said::Not)
}

/// A text part by part, with what is looked for in it.
pub(super) struct Named {
    /// Each part of a sentence as written, and its words.
    pub(super) parts: Vec<(String, Vec<String>)>,
    phrase: Vec<String>,
}

/// Where a phrase stands: in which part, at which of its words, and how many words it has there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) part: usize,
    pub(super) start: usize,
    pub(super) length: usize,
}

impl Named {
    /// A text that may have a phrase; `None` where it surely has not.
    pub(super) fn in_text(text: &str, phrase: &str) -> Option<Named> {
        let phrase = words_of(phrase);
        if surely_lacks(text, phrase.first()?) {
            return None;
        }
        let text = not_applicable(text);
        let parts = text.split_inclusive(['.', ',', ';', ':', '(', ')', '/', '+', '&', '!', '?', '\n']);
        let parts = parts.map(|part| (part.to_owned(), words_of(part))).collect();
        Some(Named { parts, phrase })
    }

    /// Where the phrase stands.
    pub(super) fn places(&self) -> impl Iterator<Item = Place> {
        self.parts.iter().enumerate().flat_map(move |(part, (_, words))| {
            let windows = words.windows(self.phrase.len()).enumerate();
            let found = windows.filter(|(_, window)| *window == self.phrase);
            found.map(move |(start, window)| Place { part, start, length: window.len() })
        })
    }

    /// What the words around one place say of it.
    pub(super) fn said(&self, Place { part: place, start, length }: Place) -> Said {
        let (written, part) = &self.parts[place];
        if written.ends_with('?') {
            return Said::Not;
        }
        // The shop's `annual` stands before a word that adds nothing.
        let adds_nothing = |word: &&String| matches!(word.as_str(), "service" | "svc");
        let end = start + length;
        let length = length + part[end..].iter().take(1).filter(adds_nothing).count();
        let behind = self.parts.get(place + 1).filter(|_| !ends_sentence(written));
        let behind = behind.filter(|_| start + length == part.len());
        let before = place.checked_sub(1).map(|before| &self.parts[before]).filter(|_| start == 0);
        let before = before.filter(|(written, _)| !ends_sentence(written));
        if [before, behind].into_iter().flatten().any(|(_, words)| calls_off(words)) {
            return Said::Not;
        }
        if taken_back(part, start, length) || is_another_thing_or_a_part(part, start, length) {
            return Said::Not;
        }
        let beside = behind.map(|(written, words)| (written.as_str(), words.as_slice()));
        match leaves_open(written, part, start, length, beside) {
            true => Said::Unclear,
            false => Said::Done,
        }
    }
}

/// Whether the words around a phrase make another thing or a part of it: `annual service kit`, `parts for annual
/// service`, `half of the annual service`, `annual service inspection only`.
fn is_another_thing_or_a_part(part: &[String], place: usize, length: usize) -> bool {
    const JOINING: &str = "a an her his its of the their";
    let mut before = part[..place].iter().rev().map(String::as_str);
    let nearest = before.by_ref().find(|word| !is_among(word, JOINING));
    let bought = nearest == Some("for") && before.next().is_some_and(|word| is_among(word, BOUGHT_FOR));
    let behind = &part[place + length..];
    let looked_at = |pair: &[String]| is_among(&pair[0], LOOKED_AT) && pair[1] == "only";
    bought
        || nearest.is_some_and(|word| is_among(word, PART_OF_IT))
        || behind.first().is_some_and(|word| is_among(word, ANOTHER_THING) || word == "part")
        || behind.windows(2).take(AROUND).any(looked_at)
}

/// Whether what stands beside a phrase leaves open how much of it was done, or whether it was.
fn leaves_open(
    written: &str,
    part: &[String],
    place: usize,
    length: usize,
    beside: Option<(&str, &[String])>,
) -> bool {
    let near = &part[place.saturating_sub(AROUND)..place];
    let behind = part[place + length..].iter().take(AROUND);
    let next = beside.and_then(|(_, words)| words.first());
    let lacks = |pair: &[String]| is_among(&pair[0], "no without") && is_among(&pair[1], LACKING);
    let lacking = part[place + length..].windows(2).next().is_some_and(lacks)
        || beside.is_some_and(|(_, words)| words.windows(2).next().is_some_and(lacks));
    lacking
        || near.iter().chain(behind).chain(next).any(|word| is_among(word, LEAVING_OPEN))
        || is_share(written)
        || beside.is_some_and(|(written, words)| is_share(written) && begins_with_figure(words))
}

fn begins_with_figure(words: &[String]) -> bool {
    words.first().is_some_and(|word| word.starts_with(|letter: char| letter.is_ascii_digit()))
}

/// Whether a part of a sentence gives a share of a hundred, and not all of it.
fn is_share(written: &str) -> bool {
    written.contains('%') && !words_of(written).iter().any(|word| word == "100")
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
pub(super) fn surely_lacks(text: &str, word: &str) -> bool {
    stands_as_it_is(text)
        && !text.as_bytes().windows(word.len()).any(|part| part.eq_ignore_ascii_case(word.as_bytes()))
}

/// Whether a text has a phrase as whole words, whatever stands around it.
pub(super) fn has_words(text: &str, phrase: &str) -> bool {
    let (text, phrase) = (words_of(text), words_of(phrase));
    !phrase.is_empty() && text.windows(phrase.len()).any(|window| window == phrase)
}

/// Whether nothing after a part of a text belongs to its sentence.
pub(super) fn ends_sentence(part: &str) -> bool {
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
        ["not", second, ..] => is_among(second, "all done complete completed finished finish quite"),
        ["to", second, ..] => is_among(second, "be come complete do finish"),
        ["half" | "part"] => true,
        ["half" | "part", second] => is_among(second, "complete completed done finished only"),
        [only] if is_among(only, ONLY_SPOKEN_OF) => true,
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
        let still_to_come =
            *word == "to" && matches!(behind.get(index + 1), Some(&("do" | "be" | "come" | "finish")));
        let next = behind.get(index + 1);
        let advised = is_among(word, ONLY_SPOKEN_OF) && next.is_none();
        let no_show = *word == "no" && next == Some(&"show");
        let on_order = *word == "on" && next == Some(&"order");
        let ahead = *word == "in" && behind.get(index + 2).is_some_and(|unit| is_among(unit, AHEAD));
        if still_to_come || advised || no_show || on_order || ahead || is_among(word, UNDOING_BEHIND) {
            return true;
        }
    }
    false
}

/// Whether a word is one of a list's.
pub(super) fn is_among(word: &str, list: &str) -> bool {
    list.split_whitespace().any(|listed| listed == word)
}
