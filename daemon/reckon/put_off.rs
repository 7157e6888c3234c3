//! Whether some words of a job's text refuse or put off what stands beside them: `customer declined`, `next time`.
//!
//! The words are common practice, no source.

use super::job_text::{SEASONS, Said};
use crate::settings::is_among;

/// Who says whether something is to be done.
const WHO: &str = "client cust customer he keeper owner rider she they";

/// What stands before who it is, and before a name.
const ARTICLES: &str = "her his our the";
const TITLES: &str = "miss mr mrs ms";

/// What says that it is not to be done, where nothing else is named behind it.
const REFUSED: &str = "\
    decd decl decline declined declines defer deferred defers didnt doesnt dont postponed refuse refused refuses wont";

/// What somebody says whose answer follows.
const SAYS: &str = "asked asks prefers said say says saying wanted wants";

/// The answers that are a no.
const NO: &str = "another elsewhere herself himself later leave left never next no not themselves wait";

/// What somebody does who has it done later, elsewhere or not at all: `customer to think about it`.
const PUTS_OFF: &str = "\
    arrange be book bring call come confirm consider decide do email get go leave let phone rebook return ring see sort speak \
    text think wait";

/// What may put off the work that it stands close to, whoever does it.
const MAY_PUT_OFF: &str = "bring hold holding left rebook think thinking too";

/// What adds nothing to a refusal or to a later time.
const ADDING_NOTHING: &str = "\
    a about again an and as at back because by cost do due done for get has have help her herself him himself his if in is it \
    job know last later let moment money much my now of off offer on once own payday price ready said so soon that the \
    their them themselves then this till time to today tomorrow too twice until us want wants we when with work";

/// A time to come.
const TIMES: &str = "\
    autumn day days few fortnight later month months mot season service soon spring summer time tomorrow up visit week \
    weekend weeks winter year years";

/// What says of the work before it that it is still to come, alone or with its time.
const TO_COME: &str =
    "another later needed next outstanding overdue pending reqd required soon tomorrow undone wanted";

/// What somebody does who has it done already.
const AFTER_WORK: &str =
    "collect collected collecting collection collects paid pay paying payment pick picking pickup";

/// What else is waited for when the work itself is done: `awaiting tyre`.
const OTHER_WORK: &str = "mot tyre tyres valet wash";

/// What says nothing against the work when somebody does it.
const HARMLESS: &str = "aware happy informed notified pleased present waited waiting";

/// What some words say of what stands beside them: that it was not done, or what may mean so; `None` where they say nothing
/// of it. What stands close to it, behind a dash or a colon, is about it unless it is known not to be.
pub(super) fn put_off(words: &[String], is_close: bool) -> Option<Said> {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let said = behind_somebody(&words);
    let is_somebodys = said.len() < words.len();
    let (first, rest) = said.split_first()?;
    let puts_off = puts_off(first, rest);
    if is_no(first, rest) || is_to_come(first, rest) || (puts_off && (is_somebodys || is_close)) {
        return Some(Said::Not);
    }
    let is_harmless = is_among(first, HARMLESS) && !rest.iter().any(|word| is_among(word, NO));
    let after_work = is_harmless || said.iter().any(|word| is_among(word, AFTER_WORK));
    let may_be_no = *first == "not" || (is_somebodys && !after_work) || is_among(first, MAY_PUT_OFF);
    (puts_off || (is_close && may_be_no)).then_some(Said::Unclear)
}

/// Whether some words begin with who decides, so that a list of works does not go on with them.
pub(super) fn begins_with_somebody(words: &[String]) -> bool {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    behind_somebody(&words).len() < words.len()
}

/// What stands behind who decides: all, where nobody does.
fn behind_somebody<'a, 'w>(words: &'a [&'w str]) -> &'a [&'w str] {
    let article = usize::from(words.first().is_some_and(|word| is_among(word, ARTICLES)));
    match &words[article..] {
        [title, _, rest @ ..] if is_among(title, TITLES) => rest,
        [who, rest @ ..] if is_among(who, WHO) => rest,
        _ => words,
    }
}

/// Whether some words wait for what comes when the work is done: `awaiting collection`, `waiting for customer to collect`,
/// `to be collected`.
pub(super) fn waits_after_work<'w>(words: impl IntoIterator<Item = &'w str>) -> bool {
    const BETWEEN: &str = "a for front his her new on rear the to";
    let mut words = words.into_iter();
    match words.next() {
        Some("awaiting" | "awaits" | "waiting") => {}
        Some("to") if words.next() == Some("be") => {}
        _ => return false,
    }
    let awaited = words.find(|word| !is_among(word, BETWEEN) && !is_among(word, WHO));
    awaited.is_some_and(|word| is_among(word, AFTER_WORK) || is_among(word, OTHER_WORK))
}

/// Whether words are a plain no, and not to another thing: `declined`, `not today`, `leave it for now`.
fn is_no(first: &str, rest: &[&str]) -> bool {
    let adds_nothing = rest.iter().all(|word| is_among(word, ADDING_NOTHING) || is_among(word, TIMES));
    match first {
        "no" => rest.is_empty() || matches!(rest, ["budget" | "funds" | "money" | "thanks" | "thank", ..]),
        "na" => rest.is_empty(),
        "not" => rest.first().is_some_and(|second| {
            is_among(
                second,
                "bothered interested keen necessary needed now req reqd required this today wanted yet",
            )
        }),
        "leave" => adds_nothing,
        "undone" => true,
        _ => is_among(first, REFUSED) && adds_nothing,
    }
}

/// Whether words say that it is still to come: `next time`, `due`, `in spring`.
fn is_to_come(first: &str, rest: &[&str]) -> bool {
    let is_time =
        |word: &&str| is_among(word, TIMES) || is_among(word, "a at due for his her in on the this");
    let is_figure = |word: &&str| word.starts_with(|letter: char| letter.is_ascii_digit());
    match first {
        "due" => rest.iter().all(|word| is_time(word) || is_figure(word) || is_among(word, "now today")),
        "at" => rest.first() == Some(&"next") && rest[1..].iter().all(is_time),
        "in" => rest.last().is_some_and(|word| is_among(word, SEASONS)),
        _ => is_among(first, TO_COME) && rest.iter().all(is_time),
    }
}

/// Whether somebody says no, or will see to it later.
fn puts_off(first: &str, rest: &[&str]) -> bool {
    let adds_nothing = |words: &[&str]| {
        words.iter().all(|word| {
            is_among(word, ADDING_NOTHING)
                || is_among(word, TIMES)
                || is_among(word, PUTS_OFF)
                || is_among(word, NO)
        })
    };
    match first {
        "to" | "will" | "would" | "may" | "might" | "going" | "ll" => {
            let does = rest.iter().find(|word| **word != "to");
            does.is_some_and(|word| is_among(word, PUTS_OFF)) && adds_nothing(rest)
        }
        _ => {
            is_among(first, SAYS)
                && rest.iter().any(|word| is_among(word, NO) || is_among(word, PUTS_OFF))
                && adds_nothing(rest)
        }
    }
}
