//! What a job's free text says was done.

use super::another_thing::{is_another_thing_or_a_part, is_book_stamped};
use super::moved_on::{
    called_in_vain, moved_before, moved_on, without_arrows, without_noughts_of_time, without_prices_of_nought,
};
use super::put_off::{begins_with_somebody, put_off, waits_after_work};
use super::strokes_and_dots::{not_applicable, without_dots_of_its_own};
use crate::settings::{first_word, is_among, stands_as_it_is, words_of};
use crate::units::month_in_full;
use crate::yard::may_take_back;

/// The words that turn `first service` into something not done when they stand up to four words before it.
const UNDOING_BEFORE: &str = "\
    abandoned aborted advise advised advises after halted arrange arranging asked asks attend awaiting before book booked booking cancel canceled \
    cancelled cannot cant cnx declined deferred deleted deposit didnt discuss discussed dna dont draft due est estimate \
    estimated explain explained explaining fta hasnt havent isnt missed must need needing needs never next no not outstanding overdue \
    pending postponed prior proforma quotation quote quoted rearranged rebooked recommend recommended refund refunded refused remind \
    reminder \
    rescheduled reversal reversed should since storno tba tbc till todo undone unfinished until void voided want wanted wants wasnt will without wont";

/// The words that turn it into something not done when they stand up to four words behind it.
const UNDOING_BEHIND: &str = "\
    abandoned aborted halted lapsed arrange attend awaiting begun booked booking cancel canceled cancelled cannot \
    cant cnx continued declined deferred delayed deleted didnt dna due est estimate estimated explained fta half hasnt havent herself himself hold \
    incomplete isnt later missed must na needed never next not ongoing ordered outstanding overdue partial partly \
    pending postponed price prices progress quotation quote quoted rearranged rebooked refunded refused reminder reqd \
    required rescheduled reversed should skipped soon started stopped tba tbc themselves todo tomorrow undone unfinished void voided waiting \
    wanted wasnt when will wip wont";

/// The words that say it was done after all, so that what follows them is about something else.
pub(super) const DONE: &str = "carried complete completed done finished performed";

/// The words that call a visit off, or speak of one to come, even from the next part of a sentence:
/// `first service (booked)`, `cancelled: first service`.
const CALLING_OFF: &str = "\
    abandoned aborted halted awaiting begun booked cancel canceled cancelled cnx declined deferred delayed deleted dna draft fta \
    incomplete ongoing partial partly postponed rearranged rebooked refunded refused rescheduled reversal reversed skipped started stopped todo \
    unfinished void voided waiting wip";

/// What may alone stand beside something that was only spoken of: `brake fluid, advisory`.
const ONLY_SPOKEN_OF: &str = "advised advisory recommended";

/// What fetches a machine for something, or does again what was not done well: `collected for annual service`.
const FETCHED_FOR: &str = "booked brought collected dropped recovered";
const DONE_AGAIN: &str = "recheck rectification redo redone rework";

/// The seasons, for what is one.
pub(super) const SEASONS: &str = "autumn spring summer winter";

/// What may stand between something and what is said of it, and adds nothing: the shop's `annual` before `service`, the
/// `brake fluid` before `change`.
const ADDING_NOTHING: &str = "bleed change changing chg chge exchange flush renewal replacement service svc";

/// How something was found, which is no work on it: `valve clearances tight`.
const FOUND_SO: &str = "faulty knocking leaking loose noisy rattling rattly seized tight worn";

/// What leaves open how much of it was done: `annual service excl. oil`.
const LEAVING_OUT: &str = "ex exc except excepting excl excluding minus";

/// What leaves open whether it was: `invoice for annual service`.
const PAPERS_FOR: &str = "bill invoice";

/// What a service is not whole without: `annual service (no oil)`.
const LACKING: &str = "bike brake brakes clearance clearances coolant filter filters fluid key keys oil parts plugs time valve valves";

/// The words that say, with one more at the most, that there is no more than a price or a plan: `quote only`,
/// `est. £180`, `TBC`.
const ONLY_PLANNED: &str = "est estimate estimated quotation quote quoted tba tbc";

/// Behind `in` and a figure: what is still to come, as in `first service in 200 miles`.
const AHEAD: &str = "days kilometres km kms m mi miles months weeks";

/// How many words before and behind are looked at: as far as a sentence's `not` or `booked` mostly reaches. Our
/// decision.
pub(super) const AROUND: usize = 4;

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
    let said = named.and_then(|named| named.places().map(|place| named.said(place)).max());
    at_most_said(said.unwrap_or(Said::Not), text)
}

/// What a text says, no more than it says of anything: beside a cross, an empty box or a paper that is taken back nobody can
/// tell what of it was done.
pub(super) fn at_most_said(said: Said, text: &str) -> Said {
    if said == Said::Not {
        return said;
    }
    let words = words_of(text);
    // What keeps the wind out is no paper.
    let is_a_thing =
        |place: usize| words.get(place + 1).is_some_and(|next| is_among(next, "excluder excluders"));
    let names_one = |(place, word): (usize, &String)| is_among(word, TAKEN_BACK) && !is_a_thing(place);
    let is_taken_back =
        words.iter().enumerate().any(names_one) || words.windows(2).any(is_a_paper_taken_back);
    if is_taken_back || may_take_back(text) { Said::Unclear } else { said }
}

/// What says of a paper that it is none, or is none any more.
const TAKEN_BACK: &str = "deleted draft proforma refunded reversal reversed storno voided";

fn is_a_paper_taken_back(words: &[String]) -> bool {
    let [first, second] = words else { return false };
    matches!((first.as_str(), second.as_str()), ("credit", "memo" | "note") | ("pro", "forma"))
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
        if surely_lacks_phrase(text, phrase) {
            return None;
        }
        let phrase = words_of(phrase);
        let text = without_arrows(text);
        let text = without_prices_of_nought(&text);
        let text = without_noughts_of_time(&text);
        let text = not_applicable(&without_dots_of_its_own(&text)).into_owned();
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
        let adds_nothing = |word: &&String| is_among(word, ADDING_NOTHING);
        let end = start + length;
        let length = length + part[end..].iter().take(1).filter(adds_nothing).count();
        let behind = self.parts.get(place + 1).filter(|_| !ends_sentence(written));
        let behind = behind.filter(|_| start + length == part.len());
        let before = place.checked_sub(1).map(|before| &self.parts[before]).filter(|_| start == 0);
        let before = before.filter(|(written, _)| !ends_sentence(written));
        if [before, behind].into_iter().flatten().any(|(_, words)| calls_off(words)) {
            return Said::Not;
        }
        let governed = self.governed_from_before(place);
        if governed == Some(Said::Not) {
            return Said::Not;
        }
        let is_dashed = is_dashed_at(written, start + length);
        let beside = behind.map(|(written, words)| (written.as_str(), words.as_slice()));
        let next = self.parts.get(place + 1).map_or(&[][..], |(_, words)| words.as_slice());
        if taken_back(part, start, length)
            || is_another_thing_or_a_part(part, start, length, is_dashed, next)
            || is_of_another_time(part, start, length)
        {
            return Said::Not;
        }
        let next = (start + length == part.len()).then(|| self.parts.get(place + 1)).flatten();
        let answers = [
            put_off(&part[start + length..], is_dashed),
            before.and_then(|(written, words)| put_off_before(written, words)),
            next.and_then(|(next, words)| put_off_behind(written, next, words)),
            self.moved_on(place, start, length),
        ];
        let answer = answers.into_iter().flatten().min().unwrap_or(Said::Done);
        let rest: Vec<&str> = part[start + length..].iter().map(String::as_str).collect();
        let is_open = governed.is_some()
            || self.is_governed_from_behind(place)
            || self.is_broken_off_behind(place)
            || (!is_dashed && is_book_stamped(&rest));
        match is_open || leaves_open(written, part, start, length, beside) {
            true => answer.min(Said::Unclear),
            false => answer,
        }
    }
}

/// What the clauses right beside a place say of it, where they move it or leave it as it was.
impl Named {
    fn moved_on(&self, place: usize, start: usize, length: usize) -> Option<Said> {
        let (written, part) = &self.parts[place];
        let next = || self.parts.get(place + 1).filter(|_| !ends_sentence(written));
        // `n/s` is a side and `0.5` half an hour.
        let is_whole = |place: usize| {
            let (written, _) = &self.parts[place];
            let begins_with_digit =
                |(next, _): &(String, _)| next.starts_with(|sign: char| sign.is_ascii_digit());
            let is_decimal =
                written.ends_with('.') && self.parts.get(place + 1).is_some_and(begins_with_digit);
            let is_one_letter = words_of(written).last().is_some_and(|word| word.chars().nth(1).is_none());
            let is_side = is_one_letter && written.ends_with('/');
            !is_decimal && !is_side
        };
        let rest = &part[start + length..];
        let behind = match (rest, next()) {
            ([], Some((_, words))) if is_whole(place + 1) => moved_on(words, !written.ends_with([',', ';'])),
            ([], _) => None,
            _ if is_whole(place) => moved_on(rest, true).or_else(|| called_in_vain(rest, &next()?.1)),
            _ => None,
        };
        let heads = place.checked_sub(1).map(|before| &self.parts[before]);
        let before = match heads {
            Some((written, words)) if start == 0 && written.ends_with([':', ')']) => moved_before(words),
            _ => moved_before(&part[..start]),
        };
        behind.into_iter().chain(before).min()
    }
}

/// What makes a plan or a refusal of a list that begins with it.
const GOVERNING: &str = "\
    adv advise advised advises booked declined est estimate estimated needs quote quoted recommend recommended refused";

/// The same at a list's end.
const GOVERNING_BEHIND: &str = "\
    advised declined deferred due needed outstanding overdue quote quoted recommended refused reqd requested required";

/// What heads a list of what is to be done: `needs:`, `to do next time:`.
const HEADS: &str = "\
    adv advise advised advisories booked booking declined due est estimate for in needed needs next outstanding pending \
    plan planned quote quoted recommend recommended refused req reqd requested required service time to do todo visit";

/// Lists whose first or last word is about all that they name.
impl Named {
    /// What the beginning of the list that a part goes on with says of it, where that is a plan or a refusal: `quoted annual
    /// service + brake fluid`, `needs: brake fluid, chain`.
    fn governed_from_before(&self, part: usize) -> Option<Said> {
        const SOMEBODY: &str = "client cust customer owner";
        const PAPERS: &str = "estimate est quotation quote reminder reminders";
        let is_done = |word: &String| is_among(word, DONE) || is_among(word, "changed pass passed replaced");
        if self.parts[part].1.iter().any(is_done) {
            return None;
        }
        let is_head = |(written, words): &(String, Vec<String>)| {
            let of_a_paper = words.iter().any(|word| is_among(word, PAPERS));
            let is_plan = !words.is_empty() && words.iter().all(|word| is_among(word, HEADS));
            written.ends_with(':') && (of_a_paper || is_plan)
        };
        let in_sentence = (0..part).rev().take_while(|before| !ends_sentence(&self.parts[*before].0));
        if in_sentence.clone().any(|before| is_head(&self.parts[before])) {
            return Some(Said::Not);
        }
        let begins = |first: Option<usize>, list: &str| {
            let words = first.into_iter().flat_map(|first| &self.parts[first].1);
            words.skip_while(|word| is_among(word, SOMEBODY)).take(1).any(|word| is_among(word, list))
        };
        let joined = in_sentence.clone().take_while(|before| joins(&self.parts[*before].0)).last();
        // A comma may end what the paper is about.
        let listed = |before: &usize| joins(&self.parts[*before].0) || self.parts[*before].0.ends_with(',');
        match () {
            () if begins(joined, GOVERNING) => Some(Said::Not),
            () if begins(in_sentence.take_while(listed).last(), PAPERS) => Some(Said::Unclear),
            () => None,
        }
    }

    /// Whether the list that a part is of may be booked or refused as a whole: `MOT & service booked 3 June`.
    fn is_governed_from_behind(&self, part: usize) -> bool {
        let is_joined = |(written, _): &&(String, Vec<String>)| joins(written) || written.ends_with('/');
        let behind = self.parts[part..].iter().take_while(is_joined).count();
        if behind == 0 {
            return false;
        }
        let last = self.parts.get(part + behind).map_or(&[][..], |(_, words)| words);
        let booked = last.iter().position(|word| is_among(word, "booked rebooked"));
        let is_time = |word: &&String| {
            month_in_full(word).is_some()
                || is_among(word, "at in next on time visit")
                || begins_with_figure(&[(*word).clone()])
        };
        let mut backwards = last.iter().rev().skip_while(is_time);
        let ends = [backwards.next(), backwards.next()].map(|word| word.map_or("", String::as_str));
        let is_put_off = is_among(ends[0], GOVERNING_BEHIND) && !ends[1].is_empty();
        booked.is_some_and(|place| place > 0 && last.get(place + 1).is_none_or(|next| next != "for"))
            || is_put_off
            || matches!(ends, ["order", "on" | "to"] | ["come" | "do" | "follow", "to"])
    }

    /// Whether a later part of the sentence says that the work was broken off, or waits: `found a leak, not continuing`,
    /// `shims on order`.
    fn is_broken_off_behind(&self, part: usize) -> bool {
        let ends = |(written, _): &&(String, Vec<String>)| !ends_sentence(written);
        let rest = self.parts.len().min(part + 1 + self.parts[part..].iter().take_while(ends).count());
        self.parts[part + 1..rest].iter().any(|(_, words)| {
            let words: Vec<&str> = words.iter().map(String::as_str).collect();
            match words.as_slice() {
                ["not", second, ..] => is_among(second, "completed continued continuing finished proceeding"),
                ["both" | "all", undone, ..] => is_among(undone, UNDOING_BEHIND),
                [thing, "on" | "to", "order" | "follow", ..] => {
                    is_among(thing, "filter gasket gaskets part parts shim shims")
                }
                _ => false,
            }
        })
    }
}

/// Whether a part of a sentence is joined with the next one as another of a list.
fn joins(part: &str) -> bool {
    part.ends_with(['+', '&'])
}

/// What the part before something says of it: `next time: annual service`. What somebody says before a comma is of what
/// comes before that.
fn put_off_before(written: &str, words: &[String]) -> Option<Said> {
    let is_close = written.ends_with(':');
    put_off(words, is_close).filter(|_| is_close || !begins_with_somebody(words))
}

/// What the part behind something says of it, unless it leads to another: `next service: May`. What the next sentence says
/// may be of something else.
fn put_off_behind(written: &str, next: &str, words: &[String]) -> Option<Said> {
    if next.ends_with(':') {
        return None;
    }
    let answer = put_off(words, written.ends_with([':', '(']));
    match ends_sentence(written) {
        true => answer.filter(|_| begins_with_somebody(words)).map(|_| Said::Unclear),
        false => answer,
    }
}

/// Whether a dash between blanks stands behind so many words of a part.
fn is_dashed_at(written: &str, words: usize) -> bool {
    let written = written.replace(['–', '—'], "-");
    let mut count = 0;
    let pieces: Vec<&str> = written.split(" - ").collect();
    pieces[..pieces.len() - 1].iter().any(|piece| {
        count += words_of(piece).len();
        count == words
    })
}

/// Whether the words around a phrase speak of another time: `last annual service 2024`, `annual service in spring`.
fn is_of_another_time(part: &[String], place: usize, length: usize) -> bool {
    let is_year = |word: &String| {
        word.len() == 4 && word.starts_with("20") && word.bytes().all(|digit| digit.is_ascii_digit())
    };
    let behind = &part[place + length..];
    let is_last = place.checked_sub(1).is_some_and(|before| part[before] == "last");
    let was = behind.first().is_some_and(|word| is_among(word, "ago at in on was"));
    let in_season = behind.first().is_some_and(|word| word == "in")
        && behind.iter().skip(1).take(2).any(|word| is_among(word, SEASONS));
    let is_dated =
        begins_with_figure(behind) || behind.first().is_some_and(|word| month_in_full(word).is_some());
    in_season || (is_last && (was || is_dated || behind.iter().take(AROUND).any(is_year)))
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
    let behind = &part[place + length..];
    let next = beside.map_or(&[][..], |(_, words)| words);
    // `no brake issues` lacks nothing.
    let is_good =
        |third: Option<&String>| third.is_some_and(|word| is_among(word, "fault faults issue issues"));
    let begins_with_lack = |words: &[String]| match words {
        [no, part, rest @ ..] => {
            is_among(no, "no without") && is_among(part, LACKING) && !is_good(rest.first())
        }
        _ => false,
    };
    let is_open = |words: &[String], reach: usize, list: &str| {
        let mut near = words.iter().enumerate().take(reach);
        near.any(|(index, word)| is_among(word, list) && !is_numbered(&words[index + 1..]))
    };
    // `worn pads replaced` is of other things.
    let found_so = [behind, next]
        .into_iter()
        .any(|words| words.len() <= 2 && words.last().is_some_and(|word| is_among(word, FOUND_SO)));
    found_so
        || begins_with_lack(behind)
        || begins_with_lack(next)
        || is_open(near, AROUND, PAPERS_FOR)
        || is_open(behind, 1, PAPERS_FOR)
        || is_open(near, AROUND, LEAVING_OUT)
        || is_open(behind, AROUND, LEAVING_OUT)
        || (next.first().is_some_and(|first| first != "part") && is_open(next, 2, LEAVING_OUT))
        || is_fetched_or_redone(&part[..place])
        || behind.first().is_some_and(|word| is_among(word, DONE_AGAIN))
        || is_done_elsewhere(behind)
        || (behind.len() > 1 && behind[0] == "in" && month_in_full(&behind[1]).is_some())
        || is_share(written)
        || beside.is_some_and(|(written, words)| is_share(written) && begins_with_figure(words))
}

/// Whether a machine was fetched for what these words stand before, or it was done again.
fn is_fetched_or_redone(before: &[String]) -> bool {
    let mut before =
        before.iter().rev().map(String::as_str).filter(|word| !is_among(word, "a an her his its of the"));
    match before.next() {
        Some("for") => before.next().is_some_and(|word| is_among(word, FETCHED_FOR)),
        // What is named may be no more than when something else was done, or is to be.
        Some("at") => before.next().is_some(),
        Some(nearest) => is_among(nearest, DONE_AGAIN),
        None => false,
    }
}

/// Whether somebody else did it, of whose work no sheet tells: `at another garage`, `by previous owner`.
fn is_done_elsewhere(behind: &[String]) -> bool {
    const OTHER: &str = "another by different last main other prev previous selling";
    const SOMEBODY: &str = "dealer dealers garage keeper owner shop workshop";
    let is_another = |pair: &[String]| is_among(&pair[0], OTHER) && is_among(&pair[1], SOMEBODY);
    // `done at last service`: this row is of another visit.
    let is_earlier =
        |pair: &[String]| pair[0] == "last" && is_among(&pair[1], "mot month service time visit week year");
    behind.windows(2).any(|pair| is_another(pair) || is_earlier(pair))
        || behind.iter().any(|word| word == "elsewhere")
}

/// Whether the number of an invoice stands behind it, so that it names a sheet of paper: `invoice 1042`.
fn is_numbered(behind: &[String]) -> bool {
    let behind = behind.strip_prefix(&["no".to_owned()]).unwrap_or(behind);
    begins_with_figure(behind)
}

fn begins_with_figure(words: &[String]) -> bool {
    words.first().is_some_and(|word| word.starts_with(|letter: char| letter.is_ascii_digit()))
}

/// Whether a part of a sentence gives a share of a hundred, and not all of it.
fn is_share(written: &str) -> bool {
    written.contains('%') && !words_of(written).iter().any(|word| word == "100")
}

/// Whether a text has a word nowhere, told without parting it into words: most texts have none of what is asked for, and
/// each is asked for much. Of a text whose words are no parts of it nothing is said.
pub(super) fn surely_lacks(text: &str, word: &str) -> bool {
    stands_as_it_is(text)
        && !text.as_bytes().windows(word.len()).any(|part| part.eq_ignore_ascii_case(word.as_bytes()))
}

/// The same of a phrase, told by its first word; one without any stands nowhere.
pub(super) fn surely_lacks_phrase(text: &str, phrase: &str) -> bool {
    first_word(phrase).is_none_or(|first| surely_lacks(text, &first))
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
    if waits_after_work(part.iter().copied()) {
        return false;
    }
    match part.as_slice() {
        ["no", "show", ..]
        | ["did", "not", "attend", ..]
        | ["didnt", "attend", ..]
        | ["not", "attended", ..]
        | ["failed", "to", "attend", ..]
        | ["parts", "on", "order", ..]
        | ["left", "as" | "because" | "due" | "until", ..]
        | ["sent" | "turned", "away" | "home", ..]
        | ["unable", "to", ..]
        | ["could", "not", ..]
        | ["couldnt", ..] => true,
        ["not", second, ..] => is_among(
            second,
            "all complete completed continuing done finish finished proceeding quite started",
        ),
        ["to", second, ..] => is_among(second, "be come complete do finish follow"),
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
        if is_among(word, DONE) || waits_after_work(part[place + length + index..].iter().map(String::as_str))
        {
            return false;
        }
        let still_to_come = *word == "to"
            && matches!(behind.get(index + 1), Some(&("do" | "be" | "come" | "finish" | "follow")));
        let next = behind.get(index + 1);
        let advised = is_among(word, ONLY_SPOKEN_OF) && next.is_none();
        let no_show = *word == "no" && next == Some(&"show");
        let on_order = *word == "on" && next == Some(&"order");
        let ahead = *word == "in" && behind.get(index + 2).is_some_and(|unit| is_among(unit, AHEAD));
        // `as quoted` and `as booked` say that it was.
        if index.checked_sub(1).is_some_and(|before| is_among(behind[before], "as per")) {
            continue;
        }
        if still_to_come || advised || no_show || on_order || ahead || is_among(word, UNDOING_BEHIND) {
            return true;
        }
    }
    false
}
