//! Whether the words around a service in a job's text make another thing or a part of it: `annual service kit`.
//!
//! The words are common practice, no source.

use super::job_text::{AROUND, DONE};
use crate::settings::is_among;

/// What makes another thing of what it follows: `annual service kit`, `annual service light`.
const ANOTHER_THING: &str = "book books bulletin complaint deposit history indicator interval intervals kit kits lamp light manual pack parts plan record records \
     refund refunded reminder schedule sticker voucher warning";

/// What is bought, fetched or asked for something that is done later or elsewhere: `parts for annual service`.
const BOUGHT_FOR: &str = "bits called collect collecting collection cost deposit enquired filter filters kit kits left off oil parts plugs price prices rang";

/// What speaks of something that was done before, or is to come: `told about annual service`, `comeback from annual service`.
const SPEAKING_OF: &str = "about concerning from pre re regarding";

/// How much of it was done, where that was not all: `part annual service`, `half of the annual service`.
const PART_OF_IT: &str = "half most part partial partly some";

/// What was looked at and no more, before `only`: `annual service inspection only`.
const LOOKED_AT: &str = "check checked filter inspected inspection labour look looked oil parts";

/// Whether the words around a phrase make another thing or a part of it: `annual service kit`, `parts for annual
/// service`, `half of the annual service`, `annual service inspection only`.
///
/// Behind a dash a plan is one of works, a deposit was paid and a light reset.
pub(super) fn is_another_thing_or_a_part(
    part: &[String],
    place: usize,
    length: usize,
    is_dashed: bool,
    next: &[String],
) -> bool {
    const JOINING: &str = "a an her his its of the their";
    let mut before = part[..place].iter().rev().map(String::as_str);
    let nearest = before.by_ref().find(|word| !is_among(word, JOINING));
    let second = before.next();
    let bought = nearest == Some("for")
        && second.is_some_and(|word| is_among(word, BOUGHT_FOR) || before.next() == Some("deposit"));
    let in_part = |word: &str| is_among(word, PART_OF_IT);
    let part_done = nearest.is_some_and(|word| is_among(word, DONE)) && second.is_some_and(in_part);
    let behind = &part[place + length..];
    let looked_at = |pair: &[String]| is_among(&pair[0], LOOKED_AT) && pair[1] == "only";
    let other_thing = |word: &String| is_among(word, ANOTHER_THING) || word == "part";
    bought
        || part_done
        || nearest.is_some_and(|word| in_part(word) || is_among(word, SPEAKING_OF))
        || (behind.first().is_some_and(other_thing) && !says_what_it_came_to(behind, is_dashed, next))
        || behind.windows(2).take(AROUND).any(looked_at)
}

/// Whether what looks like another thing says what the work came to: `parts and labour`, or behind a dash `deposit paid`.
fn says_what_it_came_to(behind: &[String], is_dashed: bool, next: &[String]) -> bool {
    let behind: Vec<&str> = behind.iter().map(String::as_str).collect();
    match behind.as_slice() {
        ["parts", "and", "labour", ..] | ["parts", "labour", ..] => true,
        _ if is_book_stamped(&behind) => true,
        ["parts"] => next.first().is_some_and(|word| word == "labour"),
        ["plan"] | ["deposit", "paid"] => is_dashed,
        [.., "reset"] => is_dashed,
        _ => false,
    }
}

/// Whether a service's book was stamped, which tells of the service behind a dash, and else perhaps: `service book stamped`.
pub(super) fn is_book_stamped(behind: &[&str]) -> bool {
    let is_book = |word: &&str| is_among(word, "book books history manual record records");
    behind.first().is_some_and(is_book)
        && behind.iter().any(|word| is_among(word, "done filled signed stamped updated"))
}
