//! Values that look like one field only, for columns whose header says next to nothing: a frame number of 17 letters
//! and figures, a telephone number, a grade of oil.

use crate::sheets::Cell;
use crate::yard::cell_words;
use crate::yard::cells;
use crate::yard::days;
use crate::yard::{Field, RecordKind};

/// A header that says next to nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Vague {
    /// `No`, `Ref`: some number or other.
    Number,
    /// `Type`, `Spec`: what something is, without saying what.
    What,
}

/// What a value looks like; each is narrow enough to need no header that names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Like {
    /// A mark of Great Britain or Northern Ireland as they have been issued since 1983.
    Mark,
    /// 17 letters and figures without I, O and Q (ISO 3779).
    FrameNumber,
    /// Letters and figures, as a shop numbers its stock: `S2401`.
    StockNumber,
    /// A British telephone number.
    Telephone,
    /// A grade of SAE J300, such as 10W-40.
    Oil,
    /// An ethanol label.
    Label,
    /// Passed or failed.
    Result,
    /// A satellite receiver or a speedometer.
    SpeedSource,
}

/// How vague a header is; `None` for one that says what it is.
pub(super) fn vague(shown: &str) -> Option<Vague> {
    let plain: Vec<String> = shown
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    let all = |words: &[&str]| plain.iter().all(|word| words.contains(&word.as_str()));
    if all(&["no", "nos", "nr", "number", "ref", "reference", "id", "ident", "code", "our"]) {
        // `#` and `№` have no letters at all.
        return (!plain.is_empty() || shown.contains(['#', '№'])).then_some(Vague::Number);
    }
    all(&[
        "type", "spec", "grade", "kind", "which", "what", "used", "product", "status", "state", "source",
        "value",
    ])
    .then_some(Vague::What)
}

/// The fields that such a header can be in rows of a kind, each with what its values look like.
pub(super) fn fields(vague: Vague, kind: RecordKind) -> &'static [(Field, Like)] {
    match (vague, kind) {
        (Vague::Number, RecordKind::Machine) => &[
            (Field::Mark, Like::Mark),
            (Field::FrameNumber, Like::FrameNumber),
            (Field::StockNumber, Like::StockNumber),
            (Field::Telephone, Like::Telephone),
        ],
        // A job or a check may have a number of its own that looks like the stock's.
        (Vague::Number, _) => &[(Field::Mark, Like::Mark), (Field::FrameNumber, Like::FrameNumber)],
        (Vague::What, RecordKind::Job) => &[(Field::OilUsed, Like::Oil)],
        (Vague::What, RecordKind::Check) => &[(Field::Result, Like::Result)],
        (Vague::What, RecordKind::Ride) => &[(Field::SpeedSource, Like::SpeedSource)],
        (Vague::What, RecordKind::Fill) => &[(Field::Grade, Like::Label)],
        (Vague::What, RecordKind::Machine | RecordKind::Reading) => &[],
    }
}

/// Whether a filled cell looks like it.
pub(super) fn is_like(cell: Cell<'_>, like: Like) -> bool {
    match like {
        Like::Mark => is_like_british_mark(cell),
        Like::FrameNumber => is_like_frame_number(cell),
        Like::StockNumber => is_like_stock_number(cell),
        Like::Telephone => is_like_british_telephone(cell),
        Like::Oil => is_like_oil(cell),
        Like::Label => matches!(cell_words::ethanol_label(cell), Ok(Some(_))),
        Like::Result => !matches!(cell, Cell::Day(_)) && cell_words::check_result(cell).is_ok(),
        Like::SpeedSource => matches!(cell_words::speed_source(cell), Ok(Some(_))),
    }
}

/// A text's letters and figures in capitals without its blanks; `None` for any other cell.
fn run(cell: Cell<'_>) -> Option<String> {
    let Cell::Text(text) = cell else { return None };
    let run: String = text
        .chars()
        .filter(|letter| !letter.is_whitespace() && *letter != '-')
        .flat_map(char::to_uppercase)
        .collect();
    run.bytes().all(|byte| byte.is_ascii_alphanumeric()).then_some(run)
}

/// A text with a letter for each letter and a 9 for each figure: `AB12 CDE` is `AA99AAA`.
fn pattern(run: &str) -> String {
    run.bytes().map(|byte| if byte.is_ascii_digit() { '9' } else { 'A' }).collect()
}

/// The patterns of the marks issued from 2001 on and from 1983 on, and of Northern Ireland's, which have an I or a Z
/// among their letters; common knowledge. Older marks look like models: `JET 125`.
fn is_like_british_mark(cell: Cell<'_>) -> bool {
    let Some(run) = run(cell) else { return false };
    match pattern(&run).as_str() {
        "AA99AAA" | "A9AAA" | "A99AAA" | "A999AAA" => true,
        "AAA9999" | "AAA999" => run.contains(['I', 'Z']),
        _ => false,
    }
}

fn is_like_frame_number(cell: Cell<'_>) -> bool {
    let Some(run) = run(cell) else { return false };
    let has = |is: fn(&u8) -> bool| run.bytes().any(|byte| is(&byte));
    run.len() == 17
        && !run.contains(['I', 'O', 'Q'])
        && has(u8::is_ascii_digit)
        && has(u8::is_ascii_alphabetic)
}

/// One or two letters before three or more figures, as nothing else in a machine's row is written.
fn is_like_stock_number(cell: Cell<'_>) -> bool {
    let Some(run) = run(cell) else { return false };
    let letters = run.bytes().take_while(u8::is_ascii_alphabetic).count();
    let figures = run.len() - letters;
    (1..=3).contains(&letters)
        && (2..=6).contains(&figures)
        && run.bytes().skip(letters).all(|byte| byte.is_ascii_digit())
        && days::readings(&run) == days::DayReadings::default()
        && !matches!(cell_words::ethanol_label(cell), Ok(Some(_)))
}

/// Ten or eleven figures with a leading 0, or +44 and the rest.
fn is_like_british_telephone(cell: Cell<'_>) -> bool {
    let Ok(Some(text)) = cells::telephone(cell) else { return false };
    if !text.chars().all(|letter| letter.is_ascii_digit() || " +()-".contains(letter)) {
        return false;
    }
    let figures: String = text.chars().filter(char::is_ascii_digit).collect();
    match figures.strip_prefix("44") {
        Some(rest) if text.starts_with(['+', '(']) => (9..=11).contains(&rest.len()),
        _ => figures.starts_with('0') && !figures.starts_with("00") && (10..=11).contains(&figures.len()),
    }
}

/// A winter grade of SAE J300 before a W: `10W-40`, `10w40 MA2`.
fn is_like_oil(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let text = text.to_ascii_uppercase();
    text.split_once('W').is_some_and(|(before, behind)| {
        let winter =
            before.trim_end().rsplit(|letter: char| !letter.is_ascii_digit()).next().unwrap_or_default();
        let hot: String =
            behind.trim_start_matches([' ', '-', '/']).chars().take_while(char::is_ascii_digit).collect();
        matches!(winter, "0" | "5" | "10" | "15" | "20" | "25") && hot.len() == 2
    })
}
