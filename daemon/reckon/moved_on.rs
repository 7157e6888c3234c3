//! Whether what stands right beside a job's name says that it was moved to another day, left as it was, or only entered:
//! `annual service: N`, `c/f`, `moved to 12/3`, `email sent`.
//!
//! Common practice, no source. A clause counts only where its own first words say so: in `annual service, MOT moved to
//! 12/3` it is the MOT that was moved.

use std::borrow::Cow;

use super::job_text::Said;
use crate::settings::is_among;
use crate::units::month_named;

/// What a column of yes and no, or of numbers, says of what was not done.
const NONE: &str = "0 0x false n nil no none null x0 zero";

/// What moves work to another day, with a day behind it.
const MOVES: &str = "bumped deferred move moved moving shifted slipped transfer transferred";

/// What moves it with one of `AWAY` behind it: `carried over`, `put back`.
const CARRIES: &str = "bring brought carried carry carrying held pushed put roll rolled";
const AWAY: &str = "back forward fwd over";

/// What a day or a time to come begins with.
const WHEN: &str = "\
    fortnight fri later mon month sat sun this thu thur thurs tomorrow tue tues wed week wk friday monday next saturday sunday thursday tuesday wednesday";

/// Where work waits: `on the list`.
const WAITING: &str = "backlog diary list queue";

/// How a customer is written to about work.
const MESSAGES: &str = "email emails letter mail message msg reminder sms text txt voicemail whatsapp";

/// What carries nothing from one word to the next.
const ARTICLES: &str = "a our the";

fn without_articles(words: &[String]) -> Vec<&str> {
    words.iter().map(String::as_str).filter(|word| !is_among(word, ARTICLES)).collect()
}

/// What a clause right behind something says of it; `None` where it says nothing of it. `is_close` tells that no comma
/// stands between.
pub(super) fn moved_on(words: &[String], is_close: bool) -> Option<Said> {
    let words = without_articles(words);
    let said_no = if is_close { Said::Not } else { Said::Unclear };
    match *words.as_slice() {
        [none] | ["qty" | "quantity", none] if is_among(none, NONE) => Some(said_no),
        [carried] if is_among(carried, "backlog cfwd diary diarised") => Some(Said::Not),
        [moved] if is_among(moved, MOVES) => Some(Said::Unclear),
        [carries, away, ref rest @ ..] if is_among(carries, CARRIES) && is_among(away, AWAY) => {
            is_until(rest).then_some(Said::Not)
        }
        [moved, "to" | "until" | "till" | "by" | "into", when, ..]
            if is_among(moved, MOVES) && is_when(when) =>
        {
            Some(Said::Not)
        }
        [moved, "to", "another" | "other", ..] if is_among(moved, MOVES) => Some(Said::Unclear),
        ["commencing", ..] | ["week" | "wk", "commencing", ..] => Some(Said::Not),
        ["see", "next", what, ..] if is_when(what) => Some(Said::Not),
        ["see", "next", "visit"] => Some(Said::Unclear),
        ["in" | "on", waits] | ["in" | "on", "waiting", waits] if is_among(waits, WAITING) => Some(Said::Not),
        // Behind a comma the customer hears that it is done: `annual service, text sent, paid`.
        _ => (is_only_entered(&words) && (is_close || !is_message(&words))).then_some(Said::Unclear),
    }
}

/// What stands right before something, as `c/f: annual service` has it.
pub(super) fn moved_before(words: &[String]) -> Option<Said> {
    let words = without_articles(words);
    match *words.as_slice() {
        [moved] if is_among(moved, MOVES) || is_among(moved, "backlog cfwd") => Some(Said::Not),
        [carries, away] if is_among(carries, "brought bring") && is_among(away, AWAY) => Some(Said::Unclear),
        [carries, away] if is_among(carries, CARRIES) && is_among(away, AWAY) => Some(Said::Not),
        ["null"] => Some(Said::Unclear),
        _ => is_only_entered(&words).then_some(Said::Unclear),
    }
}

/// Whether a clause speaks of the entry and not of work: it was credited, written about or entered by mistake.
fn is_only_entered(words: &[&str]) -> bool {
    match *words {
        ["bfwd" | "credit" | "credited" | "duplicate" | "error" | "refund"] | ["bfwd", "from", ..] => true,
        ["credited", "back"] | ["written", "off"] => true,
        ["wrong", what, ..] => is_among(what, "bike bikes customer machine mark reg"),
        ["booked" | "entered" | "keyed", "in", "error"] | ["test", "entry" | "line"] => true,
        ["ran", "out", "of", "time", "for", ..] => false,
        ["ran", "out", "of", ..] | ["short", "of", ..] => true,
        _ => is_message(words),
    }
}

/// Whether a clause says that somebody was written to or called.
fn is_message(words: &[&str]) -> bool {
    match *words {
        [message, "left" | "sent"] | ["left" | "sent", message] => is_among(message, MESSAGES),
        ["called" | "phoned" | "rang", "no", "answer" | "reply"] | ["e", "mail", "sent"] => true,
        _ => false,
    }
}

/// Whether nothing but a time to come stands behind `carried over`: `put back together` moves nothing.
fn is_until(rest: &[&str]) -> bool {
    match *rest {
        [] => true,
        ["by" | "for" | "from" | "till" | "to" | "until", when, ..] => is_when(when),
        [when, ..] => is_when(when),
    }
}

fn is_when(word: &str) -> bool {
    is_among(word, WHEN)
        || month_named(word).is_some()
        || word.starts_with(|letter: char| letter.is_ascii_digit())
}

/// A text in which an arrow to a day says in words what it means: `annual service → 12/3`.
pub(super) fn without_arrows(text: &str) -> Cow<'_, str> {
    const HEADS: [char; 4] = ['>', '→', '➔', '➡'];
    if !text.contains(HEADS) {
        return text.into();
    }
    let mut stretches = text.split(HEADS);
    let mut said = stretches.next().unwrap_or_default().to_owned();
    for behind in stretches {
        let behind = behind.trim_start_matches('\u{fe0f}');
        let next: String =
            behind.trim_start().chars().take_while(|letter| letter.is_alphanumeric()).collect();
        if is_when(&next.to_lowercase()) {
            said.truncate(said.trim_end_matches(['-', '=', ' ']).len());
            said.push_str(": moved to");
        }
        said.push(' ');
        said.push_str(behind);
    }
    said.into()
}

/// A text without what costs nothing: in `annual service £0.00` the nought is a price and no count.
pub(super) fn without_prices_of_nought(text: &str) -> Cow<'_, str> {
    if !text.contains('£') {
        return text.into();
    }
    let mut kept = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(pound) = rest.find('£') {
        let (before, priced) = rest.split_at(pound);
        let behind = priced['£'.len_utf8()..].trim_start_matches(' ');
        let is_of_it = |sign: char| sign.is_ascii_digit() || matches!(sign, '.' | ',');
        let figure = &behind[..behind.find(|sign| !is_of_it(sign)).unwrap_or(behind.len())];
        let figure = figure.trim_end_matches(['.', ',']);
        let is_nought = figure.starts_with('0') && !figure.contains(|sign| matches!(sign, '1'..='9'));
        kept.push_str(before);
        kept.push(if is_nought { ' ' } else { '£' });
        rest = if is_nought { &behind[figure.len()..] } else { &priced['£'.len_utf8()..] };
    }
    kept.push_str(rest);
    kept.into()
}
