//! What spreadsheet programs make of a text that they take for a number or a date, and what is certain to undo.

use super::days;
use crate::units::month_named;

/// Whether a text is a figure such as `1.23457E+16`, which a spreadsheet program makes of a long number.
pub(super) fn is_rounded_figure(text: &str) -> bool {
    let Some((figure, power)) = text.split_once(['E', 'e']) else { return false };
    let is_figure = figure.starts_with(|first: char| first.is_ascii_digit())
        && figure.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','));
    let signed = power.strip_prefix(['+', '-']);
    let figures = signed.unwrap_or(power);
    is_figure
        && !figures.is_empty()
        && is_figures(figures)
        && (signed.is_some() || figure.contains(['.', ',']))
}

/// Whether a text is a long number written out, of which only the first fifteen figures were kept.
pub(super) fn is_cut_figure(text: &str) -> bool {
    /// A spreadsheet program keeps so many figures of a number and fills up with zeros.
    const FIGURES_KEPT: usize = 15;
    text.len() > FIGURES_KEPT + 1
        && is_figures(text)
        && text.bytes().skip(FIGURES_KEPT).all(|figure| figure == b'0')
}

/// Whether a text is a date as spreadsheet programs write one out again that they made of `DEC 10` or `12/10`:
/// `10-Dec`, `Dec-10`, `10-Dec-26`, `10/12/2026`, `2026-12-10 00:00:00`. A date typed by hand with blanks is none.
pub(super) fn is_date_again(text: &str) -> bool {
    let is_month =
        |word: &str| word.len() == 3 && month_named(word).is_some() && word.bytes().any(|b| b > b'Z');
    let is_short = |figures: &str| (1..=2).contains(&figures.len()) && is_figures(figures);
    if let Some((before, behind)) = text.split_once('-')
        && ((is_short(before) && is_month(behind)) || (is_month(before) && is_short(behind)))
    {
        return true;
    }
    // A stock number may be `26-04-03`; with all four figures of the year it is a date.
    let parts: Vec<&str> = text.split(' ').next().unwrap_or_default().split(['-', '/', '.']).collect();
    let [first, middle, last] = parts[..] else { return false };
    let has_year = [first, last].iter().any(|part| part.len() == 4 && is_figures(part)) || is_month(middle);
    has_year && days::readings(text) != days::DayReadings::default()
}

/// A whole number without the `.0` that programs give to a column of numbers with gaps: `101.0`.
pub(super) fn without_point_nought(text: &str) -> &str {
    text.strip_suffix(".0").filter(|figures| !figures.is_empty() && is_figures(figures)).unwrap_or(text)
}

/// The telephone number whose leading zero or plus sign was dropped when it was taken for a number.
pub(super) fn with_leading_zero(text: &str) -> Option<String> {
    /// What British numbers begin with behind the zero or 44.
    const BEGINNINGS: [char; 4] = ['1', '2', '3', '7'];
    if !is_figures(text) {
        return None;
    }
    match text.len() {
        10 if text.starts_with(BEGINNINGS) => Some(format!("0{text}")),
        12 if text.strip_prefix("44").is_some_and(|rest| rest.starts_with(BEGINNINGS)) => {
            Some(format!("+{text}"))
        }
        _ => None,
    }
}

fn is_figures(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}
