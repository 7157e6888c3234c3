//! Columns whose header says that a row is no work done, with a yes, a tick or a day in them: `Cancelled`, `No show`, `Quote
//! only`, `Refunded`.
//!
//! Common practice, no source.

use super::cell_words::{flag, is_nothing_known};
use super::cells;
use crate::settings::{is_among, words_of};
use crate::sheets::Cell;

/// What a yes below such a header says of its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ByAYes {
    /// It is no work done.
    NoWork,
    /// Nobody can tell: what was refunded may have been done, and so may what was done under a warranty that was refused.
    Perhaps,
    /// The same, and it may take back an earlier row.
    PerhapsTakenBack,
}

/// A header that says so.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct NoWorkHeader {
    pub(super) by_a_yes: ByAYes,
    /// Whether its columns hold sums, of which any but nought is a yes.
    holds_sums: bool,
    /// Whether a remark there is most likely why: `Cancelled`, with `snow`. What was `Declined` may be another thing.
    holds_reasons: bool,
}

/// What says so alone, or with what adds nothing.
const CALLED_OFF: &str = "cancelled canceled cancellation cnx deleted dna dns fta noshow void voided";
const CALLED_OFF_IN_WORDS: [&[&str]; 6] = [
    &["no", "show"],
    &["did", "not", "attend"],
    &["didnt", "attend"],
    &["failed", "to", "attend"],
    &["not", "attended"],
    &["turned", "away"],
];

/// The same of a visit that may have taken place on another day.
const PUT_OFF: &str = "postponed rebooked rescheduled";

/// The same of what was never begun or finished, beside which a day may be another one's.
const NOT_DONE: &str = "abandoned aborted declined draft proforma refused rejected undone";
const NOT_DONE_IN_WORDS: [&[&str]; 2] = [&["not", "done"], &["pro", "forma"]];

/// What says so beside `only`, and else perhaps.
const PLANS: &str = "estimate quotation quote";

const REFUNDED: &str = "credited refunded reversed";
const REFUNDS: &str = "refund refunds reversal";
const REFUNDS_IN_WORDS: [&[&str]; 2] = [&["credit", "memo"], &["credit", "note"]];

/// What may stand beside such words and adds nothing.
const ADDING_NOTHING: &str = "\
    appointment appt bill booking by cust customer entry flag if in inv invoice is it job line n row the visit was y yes";
const OF_A_DAY: &str = "at date day on when";

/// Beside a word for refused, it is not the work that was.
const CLAIMS: &str = "claim warranty";

impl NoWorkHeader {
    /// What a header says; `None` where it does not say that rows are no work.
    pub(super) fn of(header: &str) -> Option<NoWorkHeader> {
        let words = words_of(header);
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let without = |phrase: &[&str]| {
            let place = words.windows(phrase.len()).position(|window| window == phrase)?;
            Some([&words[..place], &words[place + phrase.len()..]].concat())
        };
        let rest_beside = |phrases: &[&[&str]], list: &str| {
            let word = words.iter().find(|word| is_among(word, list)).map(std::slice::from_ref);
            phrases.iter().copied().chain(word).find_map(without)
        };
        let adds_nothing = |rest: &[&str], more: &str| {
            rest.iter().all(|word| is_among(word, ADDING_NOTHING) || is_among(word, more))
        };
        let says = |by_a_yes| NoWorkHeader { by_a_yes, holds_sums: false, holds_reasons: false };
        if let Some(rest) = rest_beside(&CALLED_OFF_IN_WORDS, CALLED_OFF) {
            let said = NoWorkHeader { holds_reasons: true, ..says(ByAYes::NoWork) };
            return adds_nothing(&rest, OF_A_DAY).then_some(said);
        }
        if let Some(rest) = rest_beside(&[], PUT_OFF) {
            let said = NoWorkHeader { holds_reasons: true, ..says(ByAYes::Perhaps) };
            return adds_nothing(&rest, "for from on to until").then_some(said);
        }
        if let Some(rest) = rest_beside(&NOT_DONE_IN_WORDS, NOT_DONE) {
            let is_of_a_claim = rest.iter().any(|word| is_among(word, CLAIMS));
            let by_a_yes = if is_of_a_claim { ByAYes::Perhaps } else { ByAYes::NoWork };
            return adds_nothing(&rest, CLAIMS).then_some(says(by_a_yes));
        }
        if let Some(rest) = rest_beside(&[], PLANS) {
            let by_a_yes = if rest.contains(&"only") { ByAYes::NoWork } else { ByAYes::Perhaps };
            // Beside its price a machine is not asked whether it was one.
            return (!header.contains('£') && adds_nothing(&rest, "only")).then_some(says(by_a_yes));
        }
        let (rest, by_a_yes) = rest_beside(&[], REFUNDED)
            .map(|rest| (rest, ByAYes::Perhaps))
            .or_else(|| Some((rest_beside(&REFUNDS_IN_WORDS, REFUNDS)?, ByAYes::PerhapsTakenBack)))?;
        let said = NoWorkHeader { holds_sums: true, ..says(by_a_yes) };
        adds_nothing(&rest, "amount only value").then_some(said)
    }

    /// The same with what all cells of its column say together.
    pub(super) fn over<'c>(self, cells: impl Iterator<Item = Cell<'c>>) -> NoWorkColumn {
        let (mut all, mut remarks, mut has_ticks) = (0, 0, false);
        for cell in cells {
            let answer = self.answer(cell);
            all += 1;
            remarks += usize::from(answer == Answer::Remark);
            has_ticks |= answer == Answer::Yes;
        }
        NoWorkColumn { header: self, has_ticks, takes_remarks: self.holds_reasons && 2 * remarks < all }
    }

    fn answer(self, cell: Cell<'_>) -> Answer {
        match cell {
            Cell::Blank | Cell::Time(_) | Cell::Fault(_) => return Answer::No,
            Cell::Text(text) if is_nothing_known(text) => return Answer::No,
            Cell::Text(text) if text.trim().eq_ignore_ascii_case("x") => return Answer::AnX,
            _ if self.holds_sums && is_a_sum(cell) => return Answer::Yes,
            _ => {}
        }
        match flag(cell) {
            // Only what is called off has a day of its own.
            Ok(Some(true)) if !self.holds_reasons && is_a_day(cell) => Answer::No,
            Ok(Some(true)) => Answer::Yes,
            Ok(Some(false) | None) => Answer::No,
            Err(_) => match cell {
                Cell::Text(_) => Answer::Remark,
                _ => Answer::No,
            },
        }
    }
}

/// A column under such a header.
#[derive(Debug, Clone, Copy)]
pub(super) struct NoWorkColumn {
    header: NoWorkHeader,
    /// Whether a yes other than an x stands in it, so that an x is most likely a cross.
    has_ticks: bool,
    /// Whether a remark is why a row is no work. What stands in most rows calls nothing off: `live`.
    takes_remarks: bool,
}

impl NoWorkColumn {
    /// What one of its cells says of the row; `None` where it says nothing.
    pub(super) fn said(self, cell: Cell<'_>) -> Option<ByAYes> {
        let by_a_yes = self.header.by_a_yes;
        match self.header.answer(cell) {
            Answer::Yes => Some(by_a_yes),
            Answer::AnX => Some(if self.has_ticks { by_a_yes.in_doubt() } else { by_a_yes }),
            Answer::Remark => self.takes_remarks.then(|| by_a_yes.in_doubt()),
            Answer::No => None,
        }
    }
}

impl ByAYes {
    fn in_doubt(self) -> ByAYes {
        match self {
            ByAYes::NoWork | ByAYes::Perhaps => ByAYes::Perhaps,
            ByAYes::PerhapsTakenBack => ByAYes::PerhapsTakenBack,
        }
    }
}

/// What a cell below such a header answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Answer {
    No,
    Yes,
    AnX,
    Remark,
}

fn is_a_day(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Day(_) => true,
        Cell::Text(_) => matches!(cells::day(cell, &cells::Meaning::default()), Ok(Some(_))),
        _ => false,
    }
}

/// Whether a cell holds a sum of money that is not nought.
fn is_a_sum(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Number(sum) => sum != 0.0,
        Cell::Text(text) => {
            let bare = text.trim().trim_start_matches(['-', '£', ' ']);
            bare.starts_with(|sign: char| sign.is_ascii_digit())
                && bare.contains(|sign| matches!(sign, '1'..='9'))
                && bare.chars().all(|sign| sign.is_ascii_digit() || matches!(sign, '.' | ','))
        }
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_says_that_rows_are_no_work_only_where_it_speaks_of_the_row() {
        for header in [
            "Cancelled",
            "Cancelled?",
            "is_cancelled",
            "Cancelled by customer",
            "Job cancelled",
            "Cancelled Y/N",
            "Cancelled on",
            "Void",
            "Deleted",
            "deleted_at",
            "No show",
            "No-show",
            "DNA",
            "Draft",
            "Estimate only",
            "Quote only",
            "Not done",
            "Declined",
        ] {
            let said = NoWorkHeader::of(header).map(|said| said.by_a_yes);
            assert_eq!(said, Some(ByAYes::NoWork), "{header}");
        }
        for header in ["Refunded", "Credited", "Warranty rejected", "Claim refused", "Quote", "Estimate"] {
            let said = NoWorkHeader::of(header).map(|said| said.by_a_yes);
            assert_eq!(said, Some(ByAYes::Perhaps), "{header}");
        }
        for header in ["Refund", "Refund amount", "Credit note"] {
            let said = NoWorkHeader::of(header).map(|said| said.by_a_yes);
            assert_eq!(said, Some(ByAYes::PerhapsTakenBack), "{header}");
        }
        for header in [
            "Deposit refunded",
            "Brake fluid declined",
            "Extras declined",
            "Quote no",
            "Quote accepted",
            "Quoted",
            "Estimate date",
            "Estimate £",
            "Credit",
            "Void check",
            "MOT cancelled",
            "Warranty",
            "Done",
            "",
        ] {
            assert_eq!(NoWorkHeader::of(header), None, "{header}");
        }
    }

    #[test]
    fn a_yes_a_tick_or_a_day_says_so_and_a_no_or_a_blank_does_not() {
        let said = |header: &str, cell: &str, others: &[&str]| {
            let cells = others.iter().map(|text| Cell::Text(text)).chain([Cell::Text(cell)]);
            NoWorkHeader::of(header).unwrap().over(cells).said(Cell::Text(cell))
        };
        for yes in ["Yes", "y", "TRUE", "1", "✓", "x", "X", "03/02/2027"] {
            assert_eq!(said("Cancelled", yes, &["No", "No"]), Some(ByAYes::NoWork), "{yes}");
        }
        for no in ["No", "n", "FALSE", "0", "❌", "-", "n/a", "⬜"] {
            assert_eq!(said("Cancelled", no, &["Yes", "No"]), None, "{no}");
        }
        assert_eq!(said("Cancelled", "x", &["✓", "x"]), Some(ByAYes::Perhaps), "an x beside a tick");
        let few = ["No", "No", "No", "No"];
        assert_eq!(said("Cancelled", "snow", &few), Some(ByAYes::Perhaps));
        assert_eq!(said("Cancelled", "live", &["live", "live", "Yes"]), None);
        assert_eq!(said("Declined", "new tyres", &few), None);
        assert_eq!(said("Draft", "03/02/2027", &few), None);
        assert_eq!(said("Refund", "£180.00", &[]), Some(ByAYes::PerhapsTakenBack));
        assert_eq!(said("Refund", "0.00", &[]), None);
        assert_eq!(NoWorkHeader::of("Void").unwrap().over(std::iter::empty()).said(Cell::Blank), None);
    }
}
