//! Reads the settings file: every heading and key is looked at, and everything that is wrong is told at once.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{HEADINGS, Key, TOP};
use super::same::check_key;
use super::sheets::read_sheets;
use super::text::{Fault, Source, is_secret};
use super::values::{Value, list, words};
use super::{Practice, Settings};
use crate::problem::{Problem, counted, nearest};

/// The most problems that are told of one file; more is one broken habit seen many times.
const PROBLEMS_MOST: usize = 50;

/// The most lines that are told of a file that is not TOML; one open quote makes nonsense of all that follows.
const BROKEN_LINES_MOST: usize = 5;

/// The heading below `[practice]`, a table of its own.
const SERVICE_WORDS: &str = "service_words";

/// A key as it stands in the file.
pub(super) type Name<'t> = Spanned<std::borrow::Cow<'t, str>>;

/// What the text of a settings file says, and everything that is wrong with it; `name` is how messages name it.
///
/// `None` when the text is not TOML at all. Else a wrong key keeps its usual value, and its problem says so.
pub fn parse(text: &str, name: &str) -> (Option<Settings>, Vec<Problem>) {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let source = Source::new(name, text);
    let (document, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        let faults = errors.iter().map(|error| syntax(error, text)).collect();
        return (None, told(faults, BROKEN_LINES_MOST, &source));
    }
    let mut faults = Vec::new();
    let mut settings = Settings::default();
    read_document(document.into_inner(), &mut settings, &source, &mut faults);
    check_as_a_whole(&mut settings, text, &mut faults);
    (Some(settings), told(faults, PROBLEMS_MOST, &source))
}

/// The faults as problems in the file's order, cut off where there are too many of them.
fn told(mut faults: Vec<Fault>, most: usize, source: &Source<'_>) -> Vec<Problem> {
    faults.sort_by_key(|fault| fault.span.start);
    let more = faults.split_off(faults.len().min(most)).len();
    let mut problems: Vec<Problem> = faults.into_iter().map(|fault| source.problem(fault)).collect();
    if more > 0 {
        let what = format!("the file has {} besides these", counted(more, "more problem"));
        problems.push(Problem::error(source.whole(), what, "Put the first ones right and look again."));
    }
    problems
}

/// A line that is not TOML, with what the shop's people most likely meant.
fn syntax(error: &toml::de::Error, text: &str) -> Fault {
    let span = error.span().unwrap_or(0..0);
    let line_start =
        text.get(..span.start).and_then(|before| before.rfind('\n')).map_or(0, |newline| newline + 1);
    let line = text.get(line_start..).and_then(|rest| rest.lines().next()).unwrap_or_default();
    let help = if line.contains('\\') {
        "Write a Windows path in single quotes ('D:\\exports') or with forward slashes; nothing runs until then."
    } else {
        "Write one `key = value` a line, texts in quotes; nothing runs until then."
    };
    let message = error.message().lines().next().unwrap_or_default();
    Fault::new(span, format!("this line cannot be read as TOML: {message}"), help)
}

fn read_document(
    document: DeTable<'_>,
    settings: &mut Settings,
    source: &Source<'_>,
    faults: &mut Vec<Fault>,
) {
    let (mut headings, mut top) = (BTreeMap::new(), Vec::new());
    for (name, value) in document {
        if name.get_ref() == "sheet" || HEADINGS.iter().any(|(heading, _)| name.get_ref() == heading) {
            headings.insert(name.get_ref().to_string(), value);
        } else {
            top.push((name, value));
        }
    }
    read_keys(top, TOP, None, settings, faults);
    for (heading, keys) in HEADINGS {
        let Some(value) = headings.remove(heading) else { continue };
        let span = value.span();
        let DeValue::Table(table) = value.into_inner() else {
            let help = format!("Write [{heading}] on a line of its own and its keys below it.");
            faults.push(Fault::new(span, format!("`{heading}` is a heading, not a key"), help));
            continue;
        };
        let mut entries: Vec<_> = table.into_iter().collect();
        if heading == "practice" {
            read_service_words(&mut entries, settings, faults);
        }
        read_keys(entries, keys, Some(heading), settings, faults);
    }
    if let Some(value) = headings.remove("sheet") {
        settings.sheets = read_sheets(value, source, faults);
    }
}

/// Reads the keys under one heading (`None`: above the first one); what counts until a fault is put right is told.
fn read_keys(
    entries: Vec<(Name<'_>, Value<'_>)>,
    keys: &[Key],
    heading: Option<&str>,
    settings: &mut Settings,
    faults: &mut Vec<Fault>,
) {
    for (name, value) in entries {
        let Some(key) = keys.iter().find(|key| name.get_ref() == key.name) else {
            faults.extend(unknown(&name, &value, keys, heading));
            continue;
        };
        let known = faults.len();
        (key.read)(&value, settings, faults);
        let counts = format!(" Until then it is {}.", (key.written)(settings));
        for fault in &mut faults[known..] {
            fault.what = format!("`{}`: {}", key.name, fault.what);
            fault.help.push_str(&counts);
        }
    }
}

/// What is wrong with a key that there is not, or that must not be; a secret below it is told, too.
fn unknown(name: &Name<'_>, value: &Value<'_>, keys: &[Key], heading: Option<&str>) -> Vec<Fault> {
    let place = heading.map_or("above the first heading".to_owned(), |heading| format!("under [{heading}]"));
    let lower = (heading == Some("practice")).then_some(SERVICE_WORDS);
    let allowed: Vec<&str> = keys.iter().map(|key| key.name).chain(lower).collect();
    unknown_key(name, value, &place, &allowed)
}

/// As [`unknown`], for any place with its allowed keys.
pub(super) fn unknown_key(name: &Name<'_>, value: &Value<'_>, place: &str, allowed: &[&str]) -> Vec<Fault> {
    /// The longest key that a message repeats, in characters.
    const SHOWN_MOST: usize = 60;
    let mut faults = Vec::new();
    let key: String = name.get_ref().chars().take(SHOWN_MOST).collect();
    if !is_secret(&key) {
        let is_heading = matches!(value.get_ref(), DeValue::Table(_)) && allowed.iter().eq(&[TOP[0].name]);
        let (what, help) = if is_heading {
            let headings = HEADINGS.map(|(heading, _)| heading);
            let near = nearest(&key, headings).map(|near| format!("Did you mean [{near}]? "));
            let all = headings.map(|heading| format!("[{heading}]")).join(", ");
            let help = format!("{}The headings are {all} and [[sheet]].", near.unwrap_or_default());
            (format!("there is no heading [{key}]"), help)
        } else {
            (format!("there is no setting `{key}` {place}"), way_out(&key, place, allowed))
        };
        faults.push(Fault::new(name.span(), what, help));
    }
    secrets(name, value, &mut faults);
    faults
}

/// Where a key belongs, or what it may have been meant to be.
fn way_out(key: &str, place: &str, allowed: &[&str]) -> String {
    let elsewhere = HEADINGS.iter().find(|(_, keys)| keys.iter().any(|known| key == known.name));
    let first = if let Some((heading, _)) = elsewhere {
        format!("Move it under [{heading}]. ")
    } else if TOP.iter().any(|known| key == known.name) {
        "Move it above the first [heading]. ".to_owned()
    } else {
        nearest(key, allowed.iter().copied())
            .map(|near| format!("Did you mean `{near}`? "))
            .unwrap_or_default()
    };
    format!("{first}Allowed {place}: {}.", allowed.join(", "))
}

/// Tells of every secret in what there is no setting for; TOML's own limit on depth ends the descent.
fn secrets(name: &Name<'_>, value: &Value<'_>, faults: &mut Vec<Fault>) {
    if is_secret(name.get_ref()) {
        let what =
            "a secret must not stand in the settings, which are copied, kept and sent to whoever helps";
        let help = "Take this line out and change the secret, as it may have been copied already. The mail password \
                    comes from an environment variable, a file that only Tickover may read, or the service \
                    manager's credential.";
        faults.push(Fault::new(name.span(), what, help));
    }
    let below: Vec<&Value<'_>> = match value.get_ref() {
        DeValue::Array(array) => array.iter().collect(),
        _ => vec![value],
    };
    for table in below.into_iter().filter_map(|value| value.get_ref().as_table()) {
        table.iter().for_each(|(name, value)| secrets(name, value, faults));
    }
}

/// Takes the table of service words out of what stands under `[practice]`.
fn read_service_words(
    entries: &mut Vec<(Name<'_>, Value<'_>)>,
    settings: &mut Settings,
    faults: &mut Vec<Fault>,
) {
    /// The most items that a service plan is known to have, many times over.
    const ITEMS_MOST: usize = 500;
    let Some(place) = entries.iter().position(|(name, _)| name.get_ref() == SERVICE_WORDS) else { return };
    let (_, value) = entries.remove(place);
    let span = value.span();
    let table = match value.into_inner() {
        DeValue::Table(table) if table.len() <= ITEMS_MOST => table,
        _ => {
            let help = "Write [practice.service_words] and below it one \"item\" = [\"wording\", …] a line. Until \
                        then the usual words count.";
            faults.push(Fault::new(
                span,
                "`service_words` is a heading with at most 500 items below it",
                help,
            ));
            return;
        }
    };
    let known = faults.len();
    settings.practice.service_words = table
        .into_iter()
        .filter_map(|(item, value)| Some((item.into_inner().trim().to_owned(), list(&value, words, faults)?)))
        .collect();
    for fault in &mut faults[known..] {
        fault.what = format!("`service_words`: {}", fault.what);
        fault.help.push_str(" Until then this wording does not count.");
    }
}

/// What only shows when all keys are known.
fn check_as_a_whole(settings: &mut Settings, text: &str, faults: &mut Vec<Fault>) {
    checks_once_each(&mut settings.practice, text, faults);
    second_person(&mut settings.practice, text, faults);
    let practice = &mut settings.practice;
    if practice.ride_days_before_handover > practice.rides_before_handover {
        let what = format!(
            "`ride_days_before_handover`: {} cannot be on {}",
            counted(practice.rides_before_handover, "ride"),
            counted(practice.ride_days_before_handover, "different day")
        );
        let help = format!(
            "Lower it, or raise `rides_before_handover`. Until then {} are asked for.",
            counted(practice.ride_days_before_handover, "ride")
        );
        let keys = ["ride_days_before_handover", "rides_before_handover"];
        faults.push(Fault::new(key_span(text, &keys), what, help));
        practice.rides_before_handover = practice.ride_days_before_handover;
    }
}

/// Takes a check out that stands in the list twice in two ways of writing: nobody records it twice.
fn checks_once_each(practice: &mut Practice, text: &str, faults: &mut Vec<Fault>) {
    let mut kept: Vec<String> = Vec::new();
    for check in std::mem::take(&mut practice.checks_before_handover) {
        let Some(same) = kept.iter().find(|other| check_key(other) == check_key(&check)) else {
            kept.push(check);
            continue;
        };
        let what = format!("`checks_before_handover`: \"{same}\" and \"{check}\" are the same check");
        let help = format!("Take one of them out. Until then only \"{same}\" is asked for.");
        faults.push(Fault::new(key_span(text, &["checks_before_handover"]), what, help));
    }
    practice.checks_before_handover = kept;
}

/// Sees to it that the second person's check is one of the list, and not the first, whose signer it is held
/// against: else one person could pass a machine alone, with nothing said.
fn second_person(practice: &mut Practice, text: &str, faults: &mut Vec<Fault>) {
    let second = practice.second_person_check.clone();
    if second.is_empty() {
        return;
    }
    let keys = ["second_person_check", "checks_before_handover"];
    let wanted = &practice.checks_before_handover;
    let Some(place) = wanted.iter().position(|check| check_key(check) == check_key(&second)) else {
        let what = format!("`second_person_check`: \"{second}\" is not among `checks_before_handover`");
        let help = "Name one of these checks, or \"\" for none. Until then it is asked for all the same.";
        faults.push(Fault::new(key_span(text, &keys), what, help));
        practice.checks_before_handover.push(second);
        return;
    };
    if place > 0 {
        return;
    }
    let others = wanted.iter().skip(1).rev().cloned().chain(Practice::default().checks_before_handover);
    let other = others.into_iter().find(|other| check_key(other) != check_key(&second));
    let other = other.expect("the usual checks are two");
    let what = format!(
        "`second_person_check`: \"{second}\" is the first of `checks_before_handover`, so that nobody else is asked"
    );
    let help = format!(
        "Name a later one of these checks, or \"\" for none. Until then another person must sign \"{other}\"."
    );
    faults.push(Fault::new(key_span(text, &keys), what, help));
    if wanted.len() == 1 {
        practice.checks_before_handover.push(other.clone());
    }
    practice.second_person_check = other;
}

/// Where the first of some keys that is there stands, at the start of a line; the file's start where none is.
fn key_span(text: &str, keys: &[&str]) -> std::ops::Range<usize> {
    for key in keys {
        let mut start = 0;
        for line in text.split_inclusive('\n') {
            let indent = line.len() - line.trim_start().len();
            if line.trim_start().strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('=')) {
                return start + indent..start + indent + key.len();
            }
            start += line.len();
        }
    }
    0..0
}
