//! How a check came out, from whatever people write: a bare word, a word with a remark, or a remark alone.
//!
//! Good and bad in one cell, or a remark that names neither, is never a pass. A bare x is the commonest tick of one shop
//! and the failure of another, so that only the shop's settings say what it means. Common practice, no source.

use super::CheckResult;
use super::cell_words::{check_result, is_bare_result, plain};
use super::cells::Unread;
use super::pictures::is_one_sign;
use crate::settings::Ticks;
use crate::sheets::Cell;

/// What a cell says of a check.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct ResultSaid {
    pub(super) result: CheckResult,
    /// What is written, where that is more than the bare result.
    pub(super) remark: Option<String>,
    /// Why the result is unclear; `None` for one that is understood, and for a bare sign, of which is told once.
    pub(super) unread: Option<Unread>,
}

/// What the bare signs of a column mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Signs {
    /// What the shop says; `None` where nobody has said it.
    pub(super) ticks: Option<Ticks>,
    /// Whether the column asks if a whole inspection was done, to which a yes is a yes: only an x is in doubt there.
    pub(super) yes_is_done: bool,
}

/// What a cell says of a check, where its column's bare signs mean this.
pub(super) fn said(cell: Cell<'_>, Signs { ticks, yes_is_done }: Signs) -> ResultSaid {
    let written = || Some(cell.shown().trim().to_owned()).filter(|written| !written.is_empty());
    let bare = |result| ResultSaid { result, remark: None, unread: None };
    let is_x = |sign: &str| sign.eq_ignore_ascii_case("x");
    match (bare_sign(cell), ticks) {
        (Some(sign), _) if yes_is_done && !is_x(&sign) && !is_one_sign(&sign) => {
            return bare(CheckResult::Passed);
        }
        (Some(sign), Some(Ticks::OnlyXFailed)) if is_x(&sign) => return bare(CheckResult::Failed),
        (Some(_), Some(Ticks::Done | Ticks::OnlyXFailed)) => return bare(CheckResult::Passed),
        (Some(_), Some(Ticks::Failed)) => return bare(CheckResult::Failed),
        (Some(_), None) => {
            return ResultSaid { result: CheckResult::Unclear, remark: written(), unread: None };
        }
        (None, _) => {}
    }
    match check_result(cell) {
        Ok(result) => {
            ResultSaid { result, remark: written().filter(|_| !is_bare_result(cell)), unread: None }
        }
        Err(unread) => match judged(cell) {
            Some(result) => ResultSaid { result, remark: written(), unread: None },
            None => ResultSaid { result: CheckResult::Unclear, remark: written(), unread: Some(unread) },
        },
    }
}

/// The sign in a cell that holds nothing else and says of a check whatever the shop means by it: x, TRUE, Y or 1, or a
/// picture such as 👍.
pub(super) fn bare_sign(cell: Cell<'_>) -> Option<String> {
    is_bare_sign(&cell.shown()).then(|| cell.shown().trim().to_owned())
}

/// Whether a text is such a sign.
pub fn is_bare_sign(text: &str) -> bool {
    ["x", "true", "y", "1"].iter().any(|sign| text.trim().eq_ignore_ascii_case(sign))
        || is_one_sign(text.trim())
}

/// Whether a filled cell says how a check came out, by whatever sign or remark.
pub(super) fn is_understood(cell: Cell<'_>) -> bool {
    said(cell, Signs::default()).unread.is_none()
}

/// The result that a longer text is certain of.
fn judged(cell: Cell<'_>) -> Option<CheckResult> {
    let Cell::Text(text) = cell else { return None };
    let words = plain(text);
    let words: Vec<&str> = words.split(' ').collect();
    if says_failed(&words) {
        return Some(CheckResult::Failed);
    }
    (!text.contains('?') && is_pass_with_remark(&words)).then_some(CheckResult::Passed)
}

/// Whether a word of failing stands anywhere in a text, and nothing before it denies it.
pub(super) fn says_failed(words: &[&str]) -> bool {
    const FAILED: [&str; 13] = [
        "fail",
        "fails",
        "failed",
        "failing",
        "failure",
        "failures",
        "reject",
        "rejected",
        "refused",
        "nok",
        "unsafe",
        "dangerous",
        "unroadworthy",
    ];
    const PHRASES: [&[&str]; 9] = [
        &["not", "pass"],
        &["not", "passed"],
        &["no", "pass"],
        &["didnt", "pass"],
        &["wont", "pass"],
        &["not", "ok"],
        &["not", "okay"],
        &["no", "good"],
        &["not", "good"],
    ];
    const DENIES: [&str; 9] = ["no", "not", "non", "never", "without", "nothing", "none", "zero", "0"];
    let is_denied = |place: usize| place > 0 && DENIES.contains(&words[place - 1]);
    words.iter().enumerate().any(|(place, word)| FAILED.contains(word) && !is_denied(place))
        || PHRASES.iter().any(|phrase| words.windows(phrase.len()).any(|words| words == *phrase))
}

/// Whether a text says that a check passed and adds what does not take it back: `pass with advisory`, as the MOT's
/// testers say it, or `ok after adjustment`.
fn is_pass_with_remark(words: &[&str]) -> bool {
    const PUT_RIGHT: [&str; 16] = [
        "adj",
        "adjust",
        "adjusted",
        "adjusting",
        "adjustment",
        "bled",
        "bleeding",
        "cleaned",
        "cleaning",
        "repair",
        "repaired",
        "replaced",
        "replacement",
        "replacing",
        "tightened",
        "tightening",
    ];
    const TAKES_BACK: [&str; 12] =
        ["but", "except", "leak", "leaking", "leaks", "major", "must", "need", "needs", "no", "not", "until"];
    let [first, rest @ ..] = words else { return false };
    if !matches!(*first, "pass" | "passed" | "ok" | "okay")
        || words.iter().any(|word| TAKES_BACK.contains(word))
    {
        return false;
    }
    match rest {
        ["after", rest @ ..] => rest.iter().any(|word| PUT_RIGHT.contains(word)),
        ["with" | "w", next, ..] | [next, ..] => {
            matches!(*next, "adv" | "advs" | "advisory" | "advisories" | "advisorys")
        }
        [] => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_of_failing_anywhere_is_a_failure_and_is_quoted() {
        // What workshops write; common practice, no source.
        for text in [
            "Front brake binding - FAIL",
            "binding - FAIL",
            "pads low, failed",
            "NOT PASSED",
            "nok",
            "NOK - leak",
            "no good",
            "ok, then failed on the road",
            "FAIL?",
            "the rear brake would not release after the second ride and so it failed in the end",
        ] {
            let said = said(Cell::Text(text), Signs::default());
            assert_eq!((said.result, said.unread), (CheckResult::Failed, None), "{text}");
            assert_eq!(said.remark.as_deref(), (text != "nok").then_some(text));
        }
    }

    #[test]
    fn good_and_bad_in_one_cell_or_a_bare_remark_is_unclear_and_told() {
        for text in [
            "ok but leaking",
            "pass, pads low",
            "pads gone",
            "binding",
            "low",
            "JB",
            "5",
            "pass?",
            "no failures",
            "not failed",
            "pass with advisory but must not leave",
            "ok after lunch",
        ] {
            let said = said(Cell::Text(text), Signs::default());
            assert_eq!((said.result, said.remark.as_deref()), (CheckResult::Unclear, Some(text)), "{text}");
            assert!(said.unread.is_some(), "{text}");
        }
        assert_eq!(said(Cell::Number(7.0), Signs::default()).result, CheckResult::Unclear);
    }

    #[test]
    fn a_pass_with_a_remark_is_a_pass_and_a_bare_result_has_no_remark() {
        for text in
            ["pass with advisory", "Passed w/ advisories", "PASS - adv: rear tyre 2 mm", "ok after adj"]
        {
            let said = said(Cell::Text(text), Signs::default());
            let expected = (CheckResult::Passed, Some(text), None);
            assert_eq!((said.result, said.remark.as_deref(), said.unread), expected, "{text}");
        }
        for (text, result) in [
            ("ok", CheckResult::Passed),
            ("03/04/2026", CheckResult::Passed),
            ("10/05/2026 SV", CheckResult::Passed),
            ("Pass 03/04/2026", CheckResult::Passed),
            ("FAILED", CheckResult::Failed),
            ("", CheckResult::NotDone),
            ("tbc", CheckResult::NotDone),
        ] {
            let said = said(Cell::Text(text), Signs::default());
            assert_eq!((said.result, said.remark, said.unread), (result, None, None), "{text}");
        }
        let blank = said(Cell::Blank, Signs::default());
        assert_eq!((blank.result, blank.remark), (CheckResult::NotDone, None));
    }

    #[test]
    fn a_bare_sign_says_only_what_the_shop_means_by_it() {
        let (x, others) = ("x", ["TRUE", "Y", "1"]);
        for (ticks, of_x, of_others) in [
            (None, CheckResult::Unclear, CheckResult::Unclear),
            (Some(Ticks::Done), CheckResult::Passed, CheckResult::Passed),
            (Some(Ticks::Failed), CheckResult::Failed, CheckResult::Failed),
            (Some(Ticks::OnlyXFailed), CheckResult::Failed, CheckResult::Passed),
        ] {
            let signs = Signs { ticks, yes_is_done: false };
            let asks = Signs { ticks, yes_is_done: true };
            assert_eq!(said(Cell::Text(x), asks).result, of_x, "{ticks:?}");
            assert_eq!(said(Cell::Text("Y"), asks).result, CheckResult::Passed, "{ticks:?}");
            assert_eq!(said(Cell::Text(x), signs).result, of_x, "{ticks:?}");
            for sign in others {
                assert_eq!(said(Cell::Text(sign), signs).result, of_others, "{sign} {ticks:?}");
            }
            assert_eq!(said(Cell::Flag(true), signs).result, of_others, "{ticks:?}");
            assert_eq!(said(Cell::Number(1.0), signs).result, of_others, "{ticks:?}");
            // A box that nobody has ticked, and a blank, are not done, whatever a tick means.
            for cell in
                [Cell::Flag(false), Cell::Number(0.0), Cell::Text("FALSE"), Cell::Text("n"), Cell::Blank]
            {
                assert_eq!(said(cell, signs).result, CheckResult::NotDone, "{cell:?} {ticks:?}");
            }
        }
        let unsaid = said(Cell::Text("X"), Signs::default());
        assert_eq!((unsaid.remark.as_deref(), unsaid.unread), (Some("X"), None));
    }
}
