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
        // From another day, or to one.
        ["brought", "forward" | "fwd"] => Some(Said::Unclear),
        [carries, away, ref rest @ ..] if is_among(carries, CARRIES) && is_among(away, AWAY) => {
            is_until(rest).then_some(Said::Not)
        }
        [moved, "to" | "until" | "till" | "by" | "into", when, ..]
            if is_among(moved, MOVES) && is_when(when) =>
        {
            Some(Said::Not)
        }
        [moved, "to", "another" | "other", ..] if is_among(moved, MOVES) => Some(Said::Unclear),
        ["part" | "phase" | "stage", first, "of", last] | [first, "of", last] if is_before(first, last) => {
            Some(Said::Unclear)
        }
        ["part" | "phase" | "stage", "1" | "one"] => Some(Said::Unclear),
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
        ["nohours", ..] => true,
        ["wrong", _, came] if is_among(came, "arrived came delivered ordered sent supplied") => true,
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

/// What is said of work behind which somebody was called and did not answer: of what, nobody can tell.
pub(super) fn called_in_vain(words: &[String], next: &[String]) -> Option<Said> {
    let [called, whom @ ..] = words else { return None };
    let is_called = is_among(called, "called phoned rang tried")
        && whom.iter().all(|word| is_among(word, "calling client cust customer her him owner ringing them"));
    let is_in_vain =
        matches!(next, [no, answer, ..] if no == "no" && is_among(answer, "answer reply response"));
    (is_called && is_in_vain).then_some(Said::Unclear)
}

/// Whether one of several parts is not the last of them.
fn is_before(first: &str, last: &str) -> bool {
    first.parse::<u32>().ok().zip(last.parse::<u32>().ok()).is_some_and(|(first, last)| first < last)
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

/// A text in which no time at all is one word: of `annual service 0.0h` nobody can tell what was done.
pub(super) fn without_noughts_of_time(text: &str) -> Cow<'_, str> {
    const HOURS: [&str; 5] = ["h", "hour", "hours", "hr", "hrs"];
    let is_nought =
        |figure: &str| figure.starts_with('0') && figure.chars().all(|sign| matches!(sign, '0' | '.' | ','));
    let words: Vec<&str> = text.split(' ').collect();
    let of = |word: &str| word.trim_matches(['(', ')', '[', ']', ',', ';']).to_lowercase();
    let mut said: Vec<&str> = Vec::with_capacity(words.len());
    let mut place = 0;
    while place < words.len() {
        let word = of(words[place]);
        let figure =
            HOURS.iter().filter_map(|hours| word.strip_suffix(hours)).find(|figure| is_nought(figure));
        let has_hours = words.get(place + 1).is_some_and(|next| HOURS.contains(&of(next).as_str()));
        let taken = if figure.is_some() { 1 } else { 1 + usize::from(is_nought(&word) && has_hours) };
        let is_none = figure.is_some() || taken == 2;
        said.push(if is_none { "nohours" } else { words[place] });
        place += taken;
    }
    match said.contains(&"nohours") {
        true => said.join(" ").into(),
        false => text.into(),
    }
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
