//! Reads the settings file: every heading and key is looked at, and everything that is wrong is told at once.

use std::collections::BTreeMap;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Settings;
use super::in_part::read_in_part;
use super::keys::{HEADINGS, Key, TOP, names_under};
use super::mail::{MAIL, read_mail};
use super::sheets::read_sheets;
use super::text::{Fault, Source, is_secret, secret_fault};
use super::values::{Value, list, words};
use super::whole::check_as_a_whole;
use crate::problem::{Problem, counted, nearest};

/// The most problems that are told of one file; more is one broken habit seen many times.
const PROBLEMS_MOST: usize = 50;

/// The most lines that are told of a file that is not TOML; one open quote makes nonsense of all that follows.
const BROKEN_LINES_MOST: usize = 5;

/// The keys that are true or false.
const YES_OR_NO: [&str; 3] = ["tell_at_once", "insist_on_plain", "hands_over"];

/// The heading below `[practice]`, a table of its own.
pub(super) const SERVICE_WORDS: &str = "service_words";

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
    if let Some((key, yes)) = meant_yes_or_no(line) {
        let help = format!("Write `{key} = {yes}`, in small letters and without quotes.");
        return Fault::new(span, format!("`{key}` must be true or false"), help);
    }
    let help = if line.contains('\\') {
        "Write a Windows path in single quotes ('D:\\exports') or with forward slashes."
    } else {
        "Write one `key = value` a line, texts in quotes."
    };
    let message = error.message().lines().next().unwrap_or_default();
    Fault::new(span, format!("this line cannot be read as TOML: {message}"), help)
}

/// The key of a line that says yes or no in another way than TOML's, with what it means.
fn meant_yes_or_no(line: &str) -> Option<(&'static str, bool)> {
    let (key, value) = line.split_once('=')?;
    let key = YES_OR_NO.iter().find(|known| **known == key.trim())?;
    let word = value.split('#').next().unwrap_or_default().trim().to_lowercase();
    match word.as_str() {
        "yes" | "y" | "on" | "true" => Some((key, true)),
        "no" | "n" | "off" | "false" => Some((key, false)),
        _ => None,
    }
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
            settings.mail_in_doubt |= heading == MAIL;
            continue;
        };
        let mut entries: Vec<_> = table.into_iter().collect();
        match heading {
            "practice" => read_service_words(&mut entries, settings, faults),
            "letter" => read_in_part(&mut entries, settings, source, faults),
            _ => {}
        }
        if heading == MAIL {
            read_mail(entries, &span, settings, faults);
        } else {
            read_keys(entries, keys, Some(heading), settings, faults);
        }
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
            faults.extend(unknown(&name, &value, heading));
            continue;
        };
        let known = faults.len();
        (key.read)(&value, settings, faults);
        let counts = until_then(key.name, &(key.written)(settings));
        for fault in &mut faults[known..] {
            fault.what = format!("`{}`: {}", key.name, fault.what);
            fault.help.push_str(&counts);
        }
    }
}

/// What counts until a key is put right; a list in which nothing can be read is said in words.
fn until_then(name: &str, written: &str) -> String {
    match (name, written) {
        ("closed_on", "[]") => " Until then no day is closed by it: the shop counts as open.".to_owned(),
        ("open_on", "[]") => " Until then no day is opened by it.".to_owned(),
        (_, "[]") => " Until then it names nothing.".to_owned(),
        _ => format!(" Until then it is {written}."),
    }
}

/// What is wrong with a key that there is not, or that must not be; a secret below it is told, too.
pub(super) fn unknown(name: &Name<'_>, value: &Value<'_>, heading: Option<&str>) -> Vec<Fault> {
    let place = heading.map_or("above the first heading".to_owned(), |heading| format!("under [{heading}]"));
    unknown_key(name, value, &place, &names_under(heading))
}

/// As [`unknown`], for any place with its allowed keys.
pub(super) fn unknown_key(name: &Name<'_>, value: &Value<'_>, place: &str, allowed: &[&str]) -> Vec<Fault> {
    /// The longest key that a message repeats, in characters: more than any of ours has.
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
    let elsewhere = HEADINGS.iter().find(|(heading, _)| names_under(Some(heading)).contains(&key));
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
pub(super) fn secrets(name: &Name<'_>, value: &Value<'_>, faults: &mut Vec<Fault>) {
    if is_secret(name.get_ref()) {
        faults.push(secret_fault(name.span()));
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
