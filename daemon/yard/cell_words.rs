//! The words that a cell may choose from: yes and no, pass and fail, kinds, grades and units.
//!
//! An unknown word is a fault; it never counts as yes, as a pass or as a kind.

use super::cells::{CellRead, Unread};
use super::days;
use super::pictures::{VARIANT, is_approving, is_cross, is_empty_box, is_picture, is_shade, is_tick};
use super::{CheckResult, EthanolLabel, MachineKind, SpeedSource};
use crate::sheets::Cell;
use crate::units::DistanceUnit;

/// The longest text that is looked up as a word; a longer one is a note.
const LONGEST_WORD: usize = 60;

/// Whether a text says that nothing is known: `tbc`, `n/a`, `-`, `unknown`.
pub(crate) fn is_nothing_known(text: &str) -> bool {
    if text.starts_with(|first: char| first.is_ascii_digit()) {
        return false;
    }
    if text.chars().all(|letter| matches!(letter, '-' | '–' | '—' | '?' | '.' | '_' | '/' | '*' | ' ')) {
        return true;
    }
    const WORDS: [&str; 26] = [
        "tbc",
        "t.b.c.",
        "tba",
        "tbd",
        "n/a",
        "n\\a",
        "na",
        "n.a.",
        "n.a",
        "none",
        "nil",
        "unknown",
        "not known",
        "unkn",
        "pending",
        "awaiting",
        "awaited",
        "null",
        "nan",
        "missing",
        "no data",
        "not given",
        "not recorded",
        "see notes",
        "see note",
        "not yet",
    ];
    text.len() <= 12 && WORDS.iter().any(|word| text.eq_ignore_ascii_case(word))
}

/// Whether a text calls its row a total, an average or a count.
pub(super) fn is_word_for_total(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    // `2 bikes`
    if let Some((count, thing)) = text.split_once(' ')
        && count.bytes().all(|byte| byte.is_ascii_digit())
    {
        const COUNTED: [&str; 9] = [
            "bikes",
            "machines",
            "vehicles",
            "motorcycles",
            "units",
            "total",
            "in stock",
            "in total",
            "rows",
        ];
        return COUNTED.iter().any(|word| thing.trim().eq_ignore_ascii_case(word));
    }
    if counts_a_period(text) {
        return true;
    }
    if !text.starts_with(['T', 't', 'S', 's', 'G', 'g', 'A', 'a', 'C', 'c', 'M', 'm']) {
        return false;
    }
    let first = text.split(|letter: char| !letter.is_alphabetic()).next().unwrap_or_default();
    let is = |word: &str| first.eq_ignore_ascii_case(word);
    let whole = |word: &str| text.trim_end_matches(':').eq_ignore_ascii_case(word);
    is("total")
        || is("totals")
        || is("subtotal")
        || is("sum")
        || ["grand total", "sub total", "sub-total", "average", "averages", "count", "mean"]
            .into_iter()
            .any(whole)
}

/// Whether a text is `Jobs this month` and the like, as the foot of a month's sheet has it.
fn counts_a_period(text: &str) -> bool {
    const PERIODS: [&str; 3] = [" this month", " this week", " this year"];
    const COUNTED: [&str; 9] = [
        "jobs",
        "job cards",
        "services",
        "bikes",
        "machines",
        "vehicles",
        "motorcycles",
        "no of jobs",
        "number of jobs",
    ];
    let text = text.trim().trim_end_matches(':');
    let counted = PERIODS.iter().find_map(|period| {
        let (counted, end) = text.split_at_checked(text.len().checked_sub(period.len())?)?;
        end.eq_ignore_ascii_case(period).then_some(counted)
    });
    counted.is_some_and(|counted| COUNTED.iter().any(|word| counted.eq_ignore_ascii_case(word)))
}

/// What a cell says where a word is due.
enum Said {
    /// Nothing is known.
    Nothing,
    /// A word, plain as [`plain`] makes it.
    Word(String),
    /// A date stands where a word is due; people sign a check with its day.
    Day,
}

fn said(cell: Cell<'_>, fault: Unread) -> Result<Said, Unread> {
    Ok(match cell {
        Cell::Blank => Said::Nothing,
        Cell::Flag(flag) => Said::Word(if flag { "true" } else { "false" }.to_owned()),
        Cell::Number(1.0) => Said::Word("1".to_owned()),
        Cell::Number(0.0) => Said::Word("0".to_owned()),
        Cell::Number(number) => Said::Word(number.to_string()),
        Cell::Day(_) => Said::Day,
        Cell::Text(text) if is_nothing_known(text) => Said::Nothing,
        Cell::Text(text) if text.len() > LONGEST_WORD => return Err(fault),
        Cell::Text(text) if days::readings(text) != days::DayReadings::default() => Said::Day,
        Cell::Text(text) => Said::Word(plain(text)),
        Cell::Time(_) | Cell::Fault(_) => return Err(fault),
    })
}

/// The plain word in a cell; a day is a fault.
fn word(cell: Cell<'_>, fault: Unread) -> CellRead<String> {
    match said(cell, fault)? {
        Said::Nothing => Ok(None),
        Said::Word(word) => Ok(Some(word)),
        Said::Day => Err(fault),
    }
}

/// A text in lower case with full stops dropped and every other sign but letters, figures and pictures a blank.
pub(super) fn plain(text: &str) -> String {
    let mut words = String::with_capacity(text.len());
    for letter in text.chars() {
        if letter.is_alphanumeric() || is_picture(letter) {
            words.extend(letter.to_lowercase());
        } else if !matches!(letter, '.' | '\'' | VARIANT) && !words.is_empty() && !words.ends_with(' ') {
            words.push(' ');
        }
    }
    words.truncate(words.trim_end().len());
    words
}

/// Whether a word is made of such letters alone.
fn is_all(word: &str, is_one: impl Fn(char) -> bool) -> bool {
    !word.is_empty() && word.chars().all(is_one)
}

/// A word without the ticks and thumbs about it, which say no more than it does: `✅ pass`.
fn without_ticks(word: &str) -> Option<&str> {
    let bare = word
        .trim_matches(|letter| is_tick(letter) || is_approving(letter) || is_shade(letter) || letter == ' ');
    (!bare.is_empty() && bare.len() < word.len()).then_some(bare)
}

/// Yes or no; a day means yes, since people write the day on which it was done.
pub(super) fn flag(cell: Cell<'_>) -> CellRead<bool> {
    const NEITHER: Unread = Unread { what: "is neither yes nor no", help: "Write yes or no." };
    match said(cell, NEITHER)? {
        Said::Nothing => Ok(None),
        Said::Day => Ok(Some(true)),
        Said::Word(word) => match word.as_str() {
            "yes" | "y" | "true" | "1" | "done" | "ok" | "okay" | "x" | "full" | "tick" | "ticked"
            | "complete" | "completed" | "brim" | "brimmed" | "filled" => Ok(Some(true)),
            "no" | "n" | "false" | "0" | "not done" | "part" | "partial" | "partly" | "half" | "splash" => {
                Ok(Some(false))
            }
            word if is_all(word, is_tick) => Ok(Some(true)),
            word if is_all(word, |letter| is_cross(letter) || is_empty_box(letter)) => Ok(Some(false)),
            _ => Err(NEITHER),
        },
    }
}

/// How an inspection item came out. A blank, and any word for `not yet`, is not done; a day means passed.
pub(super) fn check_result(cell: Cell<'_>) -> Result<CheckResult, Unread> {
    const UNKNOWN: Unread = Unread {
        what: "does not say pass or fail",
        help: "Write pass or fail, or leave the cell blank while it is not done.",
    };
    // Somebody who asks has not signed, and a star sends to a note.
    if matches!(cell, Cell::Text(text) if text.contains(['?', '*']) && !is_nothing_known(text)) {
        return Err(UNKNOWN);
    }
    let word = match said(cell, UNKNOWN)? {
        Said::Nothing => return Ok(CheckResult::NotDone),
        Said::Day => return Ok(CheckResult::Passed),
        Said::Word(word) => word,
    };
    if let Some(result) = result_word(&word) {
        return Ok(result);
    }
    if signed_day(cell).is_some() {
        return Ok(CheckResult::Passed);
    }
    // A remark behind a word for failed changes nothing; behind a word for passed it may, unless it is the day.
    let (first, remark) = word.split_once(' ').ok_or(UNKNOWN)?;
    let is_day = days::readings(remark) != days::DayReadings::default();
    match result_word(first) {
        Some(CheckResult::Failed) if !matches!(first, "no" | "x") => Ok(CheckResult::Failed),
        Some(CheckResult::Passed) if is_day => Ok(CheckResult::Passed),
        _ => Err(UNKNOWN),
    }
}

/// Whether a cell holds a result that is understood, and nothing that a person would want to read beside it.
pub(super) fn is_bare_result(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return true };
    let word = plain(text);
    let behind = word.split_once(' ').map_or("", |(_, behind)| behind);
    is_nothing_known(text)
        || word.is_empty()
        || result_word(&word).is_some()
        || signed_day(cell).is_some()
        || [text, behind].into_iter().any(|text| days::readings(text) != days::DayReadings::default())
}

/// The day in a cell and the initials behind it, as people sign a check: `10/05/2026 SV`.
pub(super) fn signed_day(cell: Cell<'_>) -> Option<(Cell<'_>, String)> {
    /// Two letters behind a day that are nobody's initials: not good, not done, in progress, a time of day.
    const NO_INITIALS: [&str; 9] = ["NG", "ND", "NR", "NA", "NO", "IP", "AM", "PM", "XX"];
    let Cell::Text(text) = cell else { return None };
    let (day, initials) = text.rsplit_once(' ')?;
    let is_signed = initials.len() == 2
        && initials.bytes().all(|byte| byte.is_ascii_uppercase())
        && result_word(&initials.to_lowercase()).is_none()
        && !NO_INITIALS.contains(&initials)
        && days::readings(day) != days::DayReadings::default();
    is_signed.then(|| (Cell::Text(day.trim()), initials.to_owned()))
}

/// The result that a plain word stands for.
fn result_word(word: &str) -> Option<CheckResult> {
    Some(match word {
        "pass" | "passed" | "p" | "ok" | "okay" | "done" | "yes" | "y" | "true" | "1" | "complete"
        | "completed" | "good" | "fine" | "satisfactory" | "sat" | "checked" | "tick" | "ticked"
        | "all ok" | "all good" | "no faults" | "no fault found" | "no issues" | "nff" | "clear"
        | "signed off" | "finished" | "passed ok" => CheckResult::Passed,
        "fail" | "failed" | "f" | "x" | "no" | "not ok" | "bad" | "faulty" | "fault" | "defect"
        | "defective" | "nok" | "reject" | "rejected" | "advisory" | "advise" | "advised" | "minor"
        | "major" | "dangerous" | "worn" | "leak" | "leaking" | "loose" | "repair" | "replace"
        | "attention" | "adjust" | "needs attention" | "needs work" | "unsatisfactory" | "unsat"
        | "refused" => CheckResult::Failed,
        "not done" | "todo" | "to do" | "n" | "0" | "false" | "open" | "outstanding" | "due"
        | "in progress" | "started" | "part" | "partial" | "part done" | "booked" | "waiting" | "on hold"
        | "not checked" | "not finished" | "incomplete" | "skipped" | "later" => CheckResult::NotDone,
        word if is_all(word, is_tick) => CheckResult::Passed,
        word if is_all(word, is_cross) => CheckResult::Failed,
        word if is_all(word, is_empty_box) => CheckResult::NotDone,
        word => {
            return without_ticks(word).and_then(result_word).filter(|result| *result == CheckResult::Passed);
        }
    })
}

/// What kind of machine it is.
pub(super) fn machine_kind(cell: Cell<'_>) -> CellRead<MachineKind> {
    const UNKNOWN: Unread = Unread {
        what: "is no kind of machine that is known",
        help: "Write motorcycle, moped, scooter, three-wheeler or car.",
    };
    let Some(word) = word(cell, UNKNOWN)? else { return Ok(None) };
    Ok(Some(match word.as_str() {
        "motorcycle" | "motorcycles" | "motorbike" | "motor bike" | "motor cycle" | "bike" | "m cycle"
        | "mcycle" | "mc" | "m c" | "m bike" | "geared" | "geared bike" | "l3" | "l3e" | "125" | "125cc"
        | "naked" | "roadster" | "sports" | "adventure" | "commuter" | "learner" | "cruiser" | "trail"
        | "solo" => MachineKind::Motorcycle,
        "moped" | "mopeds" | "50" | "50cc" | "50 cc" | "am" | "l1" | "l1e" | "l1e b" | "ped" => {
            MachineKind::Moped
        }
        "scooter" | "scooters" | "scoot" | "auto scooter" | "twist and go" | "twist go" | "maxi scooter" => {
            MachineKind::Scooter
        }
        "three wheeler" | "3 wheeler" | "threewheeler" | "3wheeler" | "trike" | "tricycle" | "l5" | "l5e"
        | "l2" | "l2e" => MachineKind::ThreeWheeler,
        "car" | "cars" | "auto" | "motor car" | "motorcar" | "m1" | "hatchback" | "saloon" | "estate" => {
            MachineKind::Car
        }
        word if is_motorcycle_with_more(word) => MachineKind::Motorcycle,
        _ => return Err(UNKNOWN),
    }))
}

/// Whether a motorcycle is described further, as in `125 motorcycle`, and not called anything else besides.
fn is_motorcycle_with_more(text: &str) -> bool {
    const OTHERS: [&str; 12] = [
        "moped", "mopeds", "scooter", "scooters", "three", "3", "wheeler", "wheeled", "trike", "car", "quad",
        "trailer",
    ];
    let has = |words: &[&str]| text.split(' ').any(|word| words.contains(&word));
    has(&["motorcycle", "motorbike"]) && !has(&OTHERS) && !text.split(' ').any(denies)
}

/// The ethanol label in a text such as `E5`, `max E5` or `Unleaded (E10)`. A trade name such as `super` is none.
pub(super) fn ethanol_label(cell: Cell<'_>) -> CellRead<EthanolLabel> {
    const NO_LABEL: Unread = Unread {
        what: "is no ethanol label",
        help: "Write the highest label that the handbook allows: E5, E10 or E85.",
    };
    const TWO_LABELS: Unread = Unread {
        what: "names two different ethanol labels",
        help: "Write only the highest label that the handbook allows: E5, E10 or E85.",
    };
    const DENIED: Unread = Unread {
        what: "does not plainly allow an ethanol label",
        help: "Write the highest label that the handbook allows and nothing else: E5, E10 or E85.",
    };
    let Some(word) = word(cell, NO_LABEL)? else { return Ok(None) };
    // `Not E10` must never be taken for E10.
    if word.split(' ').any(denies) || cell.shown().contains('?') {
        return Err(DENIED);
    }
    let mut found = None;
    for part in word.replace("e 5", "e5").replace("e 10", "e10").replace("e 85", "e85").split(' ') {
        let label = match part {
            "e5" => EthanolLabel::E5,
            "e10" => EthanolLabel::E10,
            "e85" => EthanolLabel::E85,
            _ => continue,
        };
        match found {
            Some(earlier) if earlier != label => return Err(TWO_LABELS),
            _ => found = Some(label),
        }
    }
    found.map(Some).ok_or(NO_LABEL)
}

/// Whether a word says that what stands beside it is not so.
fn denies(word: &str) -> bool {
    const DENIALS: [&str; 24] = [
        "no",
        "not",
        "non",
        "n",
        "nor",
        "neither",
        "never",
        "cannot",
        "cant",
        "dont",
        "doesnt",
        "isnt",
        "wont",
        "mustnt",
        "without",
        "except",
        "avoid",
        "false",
        "below",
        "under",
        "less",
        "banned",
        "forbidden",
        "prohibited",
    ];
    DENIALS.contains(&word)
        || (word.starts_with("un") && word != "unleaded")
        || word.starts_with("incompat")
        || word.chars().any(is_cross)
}

/// Whether a text names what a pump gives: a label, a trade name, or another fuel. An octane number is none of them.
pub(super) fn is_pump_grade(cell: Cell<'_>) -> bool {
    const FUELS: [&str; 18] = [
        "unleaded", "petrol", "super", "premium", "regular", "standard", "diesel", "ethanol", "derv",
        // The labels of diesel and of gases (EN 16942).
        "b7", "b10", "b20", "b30", "xtl", "h2", "cng", "lpg", "lng",
    ];
    if matches!(ethanol_label(cell), Ok(Some(_))) {
        return true;
    }
    let Cell::Text(text) = cell else { return false };
    text.len() <= LONGEST_WORD && plain(text).split(' ').any(|word| FUELS.contains(&word))
}

/// What a ride's top speed was read from.
pub(super) fn speed_source(cell: Cell<'_>) -> CellRead<SpeedSource> {
    const UNKNOWN: Unread =
        Unread { what: "is not one that is known", help: "Write GPS, or speedometer for the machine's own." };
    let Some(word) = word(cell, UNKNOWN)? else { return Ok(None) };
    Ok(Some(match word.as_str() {
        "gps" | "tracker" | "sat nav" | "satnav" | "satellite" | "gnss" | "phone" | "phone gps" | "app"
        | "true" | "gps tracker" | "data logger" | "logger" => SpeedSource::Satellite,
        "speedo" | "speedometer" | "clock" | "clocks" | "dash" | "dashboard" | "display" | "displayed"
        | "indicated" | "own speedo" | "machine" | "bike" => SpeedSource::Speedometer,
        _ => return Err(UNKNOWN),
    }))
}

/// The unit that a clock counts in; a speedometer in mph goes with a clock in miles.
pub(super) fn clock_unit(cell: Cell<'_>) -> CellRead<DistanceUnit> {
    const UNKNOWN: Unread = Unread { what: "is no unit of a clock", help: "Write miles or km." };
    let Some(word) = word(cell, UNKNOWN)? else { return Ok(None) };
    match word.as_str() {
        "mph" | "imperial" | "uk" => Ok(Some(DistanceUnit::Miles)),
        "kmh" | "km h" | "kph" | "metric" => Ok(Some(DistanceUnit::Kilometres)),
        word => DistanceUnit::named(word).map(Some).ok_or(UNKNOWN),
    }
}
