//! Whether a job was done, as a column beside it says: `done`, `no show`, `cancelled`, `awaiting parts`.
//!
//! Common practice, no source. What could mean either is a fault and counts as not done: a service asked for once too
//! often does less harm than one that was never asked for.

use super::cell_words::{flag, is_nothing_known, plain};
use super::cells::{CellRead, Unread};
use super::pictures::{VARIANT, has_other_picture, is_approving, is_picture, is_shade};
use crate::settings::is_among;
use crate::sheets::Cell;

/// What says that a job was not done, or is still to come, wherever it stands in the cell.
const NOT_DONE: &str = "\
    abandoned aborted arrived await awaited awaiting booked booking cancel canceled cancelled cancels cnx confirmed \
    credited declined deferred deleted dna dns draft due estimate estimated failed fail forma fta hold incomplete later missed need needs \
    never new no noshow not open outstanding overdue part partial partly pending postponed proforma progress \
    provisional quotation quote quoted rearranged rebooked refund refunded refused rescheduled reversal reversed scheduled \
    skipped started tba tbc tbd todo void voided waiting wip wont";

/// The same in more than one word.
const PHRASES: [&str; 10] = [
    "credit memo",
    "credit note",
    "did not attend",
    "didnt attend",
    "didnt come",
    "failed to attend",
    "on order",
    "sales order",
    "to do",
    "turned away",
];

/// What says that it was, as the first word of the cell.
const DONE: &str = "\
    attended carried closed collected complete completed delivered done finished fitted fixed invoice invoiced ok okay paid \
    pass passed performed ready receipt repaired returned serviced signed";

/// Whether the job beside a cell was done; `None` where the cell says nothing.
pub(super) fn was_done(cell: Cell<'_>) -> CellRead<bool> {
    const NEITHER: Unread = Unread {
        what: "does not say whether the job was done, and it counts as not done",
        help: "Write done or not done.",
    };
    let Cell::Text(text) = cell else { return flag(cell).map_err(|_| NEITHER) };
    // As PostgreSQL writes true and false ("Boolean Type" in its manual).
    match text.trim() {
        "t" => return Ok(Some(true)),
        "f" => return Ok(Some(false)),
        _ => {}
    }
    if text.contains('?') && text.chars().any(char::is_alphanumeric) {
        return Err(NEITHER);
    }
    let without_signs = without_signs(text);
    let text = match &without_signs {
        Some((text, _)) if text.contains(char::is_alphanumeric) => text,
        Some((rest, done)) if rest.trim().is_empty() => return done.map(Some).ok_or(NEITHER),
        Some(_) => return Err(NEITHER),
        None => text,
    };
    if let Some(percent) = text.trim().strip_suffix('%').and_then(|figure| figure.trim().parse::<u32>().ok())
    {
        return Ok(Some(percent >= 100));
    }
    let said = plain(text);
    let words: Vec<&str> = said.split(' ').collect();
    let says = |phrase: &str| format!(" {said} ").contains(&format!(" {phrase} "));
    // `n/a` and a dash say nothing; `pending` does.
    let is_not_done = words.iter().any(|word| is_among(word, NOT_DONE)) || PHRASES.into_iter().any(says);
    let is_done = is_among(words[0], DONE) || says("all done") || says("work done");
    match () {
        () if is_done && (is_not_done || has_other_picture(&said)) => Err(NEITHER),
        () if is_not_done => Ok(Some(false)),
        () if is_nothing_known(text) => Ok(None),
        () if is_done => Ok(Some(true)),
        () => flag(cell).map_err(|_| NEITHER),
    }
}

/// A text without the thumbs, the dots of green and red, and the plain shapes in it, and what they say of a job where they
/// stand alone: a thumb up, green or a filled shape that it was done, a thumb down, red or an empty one that it was not;
/// `None` where it has none.
fn without_signs(text: &str) -> Option<(String, Option<bool>)> {
    let is_done = |sign: char| is_approving(sign) || "●⬤★⭐■◆".contains(sign);
    let is_not_done = |sign: char| "👎🔴🟥○◯☆◇".contains(sign);
    let is_sign = |sign: char| is_done(sign) || is_not_done(sign);
    if !text.contains(is_sign) {
        return None;
    }
    let rest: String =
        text.chars().filter(|sign| !is_sign(*sign) && !is_shade(*sign) && *sign != VARIANT).collect();
    let done = match (text.contains(is_done), text.contains(is_not_done)) {
        (true, true) => None,
        (done, _) => Some(done),
    };
    Some((rest, done))
}

/// Whether a cell holds pictures alone, of which nobody knows what they say of the job beside them.
pub(super) fn is_a_sign_beside_work(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let text = text.trim();
    !text.is_empty()
        && text.chars().all(|sign| is_picture(sign) || sign == VARIANT)
        && was_done(cell).is_err()
}

/// Whether a cell says in words, and not by a bare no, that the job beside it was not done.
pub(super) fn says_not_done_in_words(cell: Cell<'_>) -> bool {
    matches!(cell, Cell::Text(_)) && flag(cell).is_err() && was_done(cell) == Ok(Some(false))
}

/// Whether a remark beside a job says that the visit did not take place, as `DNA` or `cancelled by customer` does. Other words
/// there speak of anything: `new tyres needed soon` takes nothing back.
pub(super) fn calls_off(cell: Cell<'_>) -> bool {
    const CALLED_OFF: [&str; 9] =
        ["dna", "fta", "cnx", "noshow", "cancelled", "canceled", "postponed", "rebooked", "rescheduled"];
    const IN_WORDS: [&str; 9] = [
        "no show",
        "did not attend",
        "didnt attend",
        "did not turn up",
        "didnt turn up",
        "didnt come",
        "failed to attend",
        "not attended",
        "not done",
    ];
    /// What may stand beside such words and changes nothing; anything else may be what was called off: `DNA MOT so rebooked`.
    const BESIDE: &str = "a again by called cust customer day due for illness in morning n next no of on phoned rang \
                          reason rider sick text texted the today to til till until week work";
    let Cell::Text(text) = cell else { return false };
    let is_beside = |word: &str| {
        CALLED_OFF.contains(&word)
            || BESIDE.split_whitespace().any(|other| other == word)
            || word.contains(|letter: char| letter.is_ascii_digit())
    };
    let mut said = format!(" {} ", plain(text).replace([',', ';', '(', ')', '/', '-', ':', '.'], " "));
    let phrases =
        IN_WORDS.into_iter().filter(|phrase| said.contains(&format!(" {phrase} "))).collect::<Vec<_>>();
    for phrase in &phrases {
        said = said.replacen(&format!(" {phrase} "), " ", 1);
    }
    let mut words = said.split_whitespace();
    let is_said = !phrases.is_empty() || said.split_whitespace().any(|word| CALLED_OFF.contains(&word));
    is_said && words.all(is_beside)
}

/// Whether a cell says that a machine was not sold to the customer beside it: the sale fell through, or the machine is the
/// shop's own.
pub(super) fn is_no_sale(cell: Cell<'_>) -> bool {
    const OFF: &str = "cancel cancelled canceled cancels cnx lost withdrawn refunded abandoned declined demo demonstrator \
                       courtesy loan loaner hire";
    const PHRASES: [&str; 4] = ["fell through", "no sale", "not sold", "did not complete"];
    let Cell::Text(text) = cell else { return false };
    let said = plain(text);
    said.split(' ').any(|word| OFF.split_whitespace().any(|off| off == word))
        || PHRASES.iter().any(|phrase| format!(" {said} ").contains(&format!(" {phrase} ")))
}

/// Whether a cell holds a bare x, which is a tick where nothing else in its column is one, and else a cross.
pub(super) fn is_x(cell: Cell<'_>) -> bool {
    matches!(cell, Cell::Text(text) if text.trim().eq_ignore_ascii_case("x"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_remark_calls_a_visit_off_only_in_words_for_that() {
        // What workshops write; common practice, no source.
        for text in [
            "DNA",
            "D.N.A.",
            "no show",
            "Cancelled by customer",
            "customer did not attend",
            "rang 9am - no show",
        ] {
            assert!(calls_off(Cell::Text(text)), "{text}");
        }
        for text in ["", "new tyres needed soon", "front pads low", "part fitted", "no charge", "next: MOT"] {
            assert!(!calls_off(Cell::Text(text)), "{text}");
        }
        assert!(!calls_off(Cell::Blank));
    }

    #[test]
    fn a_word_beside_a_job_says_whether_it_was_done_and_an_unknown_one_says_neither() {
        // What workshops write; common practice, no source.
        for text in [
            "Y",
            "yes",
            "✓",
            "Done",
            "Completed",
            "complete - JB",
            "Collected",
            "OK",
            "all done",
            "Invoice",
            "100%",
            "10/11/2025",
            "t",
        ] {
            assert_eq!(was_done(Cell::Text(text)), Ok(Some(true)), "{text}");
        }
        for text in [
            "N",
            "no",
            "✗",
            "DNA",
            "D.N.A.",
            "No show",
            "no-show",
            "Cancelled",
            "cancelled by customer",
            "customer did not attend",
            "FTA",
            "CNX",
            "Not done",
            "Part done",
            "Awaiting parts",
            "parts on order",
            "pending",
            "TBC",
            "In progress",
            "f",
            "⬜",
            "❌",
            "Credit note",
            "Sales order",
            "Pro forma",
            "Quote",
            "50%",
        ] {
            assert_eq!(was_done(Cell::Text(text)), Ok(Some(false)), "{text}");
        }
        for text in ["-", "n/a", "unknown"] {
            assert_eq!(was_done(Cell::Text(text)), Ok(None), "{text}");
        }
        for text in [
            "JB",
            "done?",
            "Done, not finished",
            "see over",
            "amber",
            "🚧",
            "🏁",
            "👍👎",
            "👍?",
            "done ⏳",
            "☐ done",
        ] {
            assert!(was_done(Cell::Text(text)).is_err(), "{text}");
        }
        assert_eq!(was_done(Cell::Flag(false)), Ok(Some(false)));
        assert_eq!(was_done(Cell::Blank), Ok(None));
    }

    #[test]
    fn plain_signs_say_whether_a_job_was_done_and_others_say_neither() {
        for text in ["👍", "👍🏽", "👍 done", "●", "🟢"] {
            assert_eq!(was_done(Cell::Text(text)), Ok(Some(true)), "{text}");
        }
        for text in ["👎", "○", "🔴", "Booking", "Draft invoice", "👍 not finished"] {
            assert_eq!(was_done(Cell::Text(text)), Ok(Some(false)), "{text}");
        }
        for text in ["🏁", "👍👎", "👍?"] {
            assert!(was_done(Cell::Text(text)).is_err(), "{text}");
        }
        assert!(is_a_sign_beside_work(Cell::Text("🏁")) && !is_a_sign_beside_work(Cell::Text("👍")));
    }
}
