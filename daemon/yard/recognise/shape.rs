//! What the values of a column look like: which share of them could be a field's.

use super::lookalikes::{self, Like};
use crate::sheets::{Cell, Table};
use crate::units::DecimalMark;
use crate::yard::cells::{self, Meaning};
use crate::yard::field::Shape;
use crate::yard::result_words::{self, Signs};
use crate::yard::{CheckResult, cell_words, contact_words, days, mot_words, outcome_words};

/// Below this share of fitting values they speak against a field.
pub(super) const LEAST_SHARE: f64 = 0.5;

/// From this share of fitting values on they bear out what a header says.
pub(super) const SURE_SHARE: f64 = 0.8;

/// How many filled cells of a column are looked at; more add nothing to a share.
const SAMPLED_CELLS: usize = 200;

/// How many rows, evenly spread, are searched for them.
const SAMPLED_ROWS: usize = 5_000;

/// How well a shape that nearly anything fits can speak for a field.
const WEAK_EVIDENCE: f64 = 0.9;

/// A column's filled cells, some of them, and the shares reckoned so far.
pub(super) struct Sample<'table> {
    cells: Vec<Cell<'table>>,
    from_1904: bool,
    shares: [Option<f64>; Shape::COUNT],
}

impl<'table> Sample<'table> {
    /// A sample of a column below the row of headers.
    pub(super) fn of(table: &'table Table, header_row: usize, column: usize) -> Sample<'table> {
        let rows = table.rows().part(header_row + 1..);
        let header = table.rows().get(header_row).map(|row| row.cell(column));
        let cells = rows
            .iter()
            .step_by(rows.len().div_ceil(SAMPLED_ROWS).max(1))
            .filter(|row| !row.cells().any(cell_words::is_word_for_total))
            .map(|row| row.cell(column))
            // A header that is repeated further down says nothing of the values.
            .filter(|cell| is_filled(*cell) && header != Some(*cell))
            .take(SAMPLED_CELLS)
            .collect();
        Sample { cells, from_1904: table.counts_from_1904, shares: [None; Shape::COUNT] }
    }

    /// Whether nothing is written in the column.
    pub(super) fn is_blank(&self) -> bool {
        self.cells.is_empty()
    }

    /// How many filled cells there are, up to as many as are looked at.
    pub(super) fn count(&self) -> usize {
        self.cells.len()
    }

    /// How many of the filled cells could be of that shape, as `all 12` or `9 of 12`; of a blank column nothing.
    pub(super) fn fitting(&mut self, shape: Shape) -> Option<String> {
        let all = self.cells.len();
        // Where nearly anything fits, a value that does counts as a little less than one.
        let fitting = (self.share(shape) * all as f64).ceil() as usize;
        match all {
            0 => None,
            1 if fitting == 1 => Some("its one value fits".to_owned()),
            _ if fitting == all => Some(format!("all {all} values fit")),
            _ => Some(format!("{fitting} of {all} values fit")),
        }
    }

    /// Whether there are values, and none of them can be of that shape; a slip or two may look so by chance.
    pub(super) fn is_none_of(&mut self, shape: Shape) -> bool {
        /// So many cells may all be slips.
        const SLIPS: usize = 2;
        self.cells.len() > SLIPS && self.share(shape) == 0.0
    }

    /// The share of the filled cells that look like something without a header to say so.
    pub(super) fn share_like(&self, like: Like) -> f64 {
        self.share_where(|cell| lookalikes::is_like(cell, like))
    }

    /// The share of the filled cells that are something.
    pub(super) fn share_where(&self, is_one: impl Fn(Cell<'_>) -> bool) -> f64 {
        let fitting = self.cells.iter().filter(|cell| is_one(**cell)).count();
        if self.cells.is_empty() { 0.0 } else { fitting as f64 / self.cells.len() as f64 }
    }

    /// Whether there is too little written in the column to judge it by its values alone.
    pub(super) fn is_short(&self) -> bool {
        /// With fewer cells a slip or two look like a column of something else.
        const ENOUGH_CELLS: usize = 5;
        self.cells.len() < ENOUGH_CELLS
    }

    /// The share of the filled cells that a field of that shape could hold, from 0 to 1; of a blank column 1.
    pub(super) fn share(&mut self, shape: Shape) -> f64 {
        let (cells, from_1904) = (&self.cells, self.from_1904);
        *self.shares[shape as usize].get_or_insert_with(|| {
            let fitting: f64 = cells.iter().map(|cell| fit(*cell, shape, from_1904)).sum();
            if cells.is_empty() { 1.0 } else { fitting / cells.len() as f64 }
        })
    }

    /// Whether the values bear out what the header says: at least half of them fit. The others are slips, each of
    /// which is told when its row is read.
    pub(super) fn bears_out(&mut self, shape: Shape) -> bool {
        // Whatever is written fits these, so that the header alone decides.
        shape == Shape::Anything || self.share(shape) >= LEAST_SHARE || self.are_days_without_year(shape)
    }

    /// Whether a field of days would hold them but for their year, which each cell is then said to lack.
    pub(super) fn are_days_without_year(&self, shape: Shape) -> bool {
        let is_one = |cell: Cell<'_>| matches!(cell, Cell::Text(text) if days::is_without_year(text));
        shape == Shape::Day && self.share_where(is_one) >= SURE_SHARE
    }

    /// The share of different values among the filled cells.
    pub(super) fn variety(&self) -> f64 {
        let different: std::collections::BTreeSet<String> =
            self.cells.iter().map(|cell| cell.shown().to_uppercase()).collect();
        if self.cells.is_empty() { 1.0 } else { different.len() as f64 / self.cells.len() as f64 }
    }

    /// The first few different values, as a person would copy them.
    pub(super) fn examples(&self) -> Vec<String> {
        self.first_few(|cell| cell.shown())
    }

    /// The same for a column that is read in a certain way: of a day's serial number nobody sees the day.
    pub(super) fn examples_read(&self, shape: Shape, meaning: &Meaning) -> Vec<String> {
        let holds_days = matches!(shape, Shape::Day | Shape::DayOrFlag);
        self.first_few(|cell| {
            let shown = cell.shown();
            let is_serial = shown.len() <= SERIAL_FIGURES && shown.bytes().all(|byte| byte.is_ascii_digit());
            let day = cells::day(cell, meaning).ok().flatten().filter(|_| holds_days && is_serial);
            day.map_or(shown.clone(), |day| format!("{shown} = {day}"))
        })
    }

    /// The bare signs that stand in it, such as x, and say nothing of a check as they are meant, each once.
    pub(super) fn unclear_signs(&self, meant: Signs) -> Vec<String> {
        let is_unclear = |cell: &&Cell<'_>| result_words::said(**cell, meant).result == CheckResult::Unclear;
        let signs = self.cells.iter().filter(is_unclear).filter_map(|cell| result_words::bare_sign(*cell));
        signs.collect::<std::collections::BTreeSet<String>>().into_iter().collect()
    }

    fn first_few(&self, shown: impl Fn(Cell<'_>) -> String) -> Vec<String> {
        /// As many as a line of a proposal holds.
        const EXAMPLES: usize = 3;
        let mut examples: Vec<String> = Vec::new();
        for cell in &self.cells {
            let shown = shown(*cell);
            if !examples.contains(&shown) {
                examples.push(shown);
            }
            if examples.len() == EXAMPLES {
                break;
            }
        }
        examples
    }
}

/// The serial number of a day has so many figures at the most.
const SERIAL_FIGURES: usize = 5;

/// Whether a cell says anything.
pub(super) fn is_filled(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Blank => false,
        Cell::Text(text) => !cell_words::is_nothing_known(text),
        _ => true,
    }
}

/// How well a filled cell fits a shape, from 0 to 1.
fn fit(cell: Cell<'_>, shape: Shape, from_1904: bool) -> f64 {
    let meaning = Meaning { from_1904, ..Meaning::default() };
    let is_day = || cells::day(cell, &meaning).is_ok();
    // Which sign parts a fraction is settled later, by the whole column.
    let comma = Meaning { decimal: DecimalMark::Comma, ..meaning };
    let fits = match shape {
        Shape::Mark => is_like_mark(cell),
        Shape::Frame => identifier_like(cell, |length, figures| (8..=20).contains(&length) && figures >= 2),
        // A mark may be anybody's number, but it is a mark first.
        Shape::Stock if lookalikes::is_like(cell, Like::Mark) => return WEAK_EVIDENCE,
        Shape::Stock => identifier_like(cell, |length, figures| length <= 16 && figures >= 1),
        // Who is not to be rung has no number, and none is wanted.
        Shape::Telephone if forbids_to_ring(cell) => return WEAK_EVIDENCE,
        Shape::Telephone => is_like_telephone(cell),
        Shape::Kind => cell_words::machine_kind(cell).is_ok(),
        Shape::Cc => cells::engine_cc(cell, &meaning).is_ok(),
        Shape::Unit => cell_words::clock_unit(cell).is_ok(),
        Shape::Label => cell_words::ethanol_label(cell).is_ok(),
        Shape::Grade => cell_words::is_pump_grade(cell),
        Shape::Source => cell_words::speed_source(cell).is_ok(),
        // What says that there is no such day speaks neither for one nor against it.
        Shape::Day if mot_words::no_mot(cell).is_some() => return WEAK_EVIDENCE,
        Shape::Day => is_day(),
        Shape::Distance => cells::distance(cell, &meaning).is_ok() || cells::distance(cell, &comma).is_ok(),
        Shape::Speed => cells::speed(cell, &meaning).is_ok() || cells::speed(cell, &comma).is_ok(),
        Shape::Volume => cells::volume(cell, &meaning).is_ok() || cells::volume(cell, &comma).is_ok(),
        Shape::Flag => cell_words::flag(cell).is_ok(),
        // A column of days has a field of its own.
        Shape::Result if is_day() => return WEAK_EVIDENCE,
        Shape::Result => result_words::is_understood(cell),
        // The day on which it was done has a field of its own.
        Shape::Outcome => !is_day() && outcome_words::was_done(cell).is_ok(),
        Shape::DayOrFlag => is_day() || cell_words::flag(cell).is_ok(),
        Shape::Words if is_day() => false,
        Shape::Words => match cell {
            Cell::Text(text) if text.chars().any(char::is_alphabetic) => return WEAK_EVIDENCE,
            _ => false,
        },
        Shape::Anything => return WEAK_EVIDENCE,
    };
    f64::from(u8::from(fits))
}

/// Whether a cell could be a registration mark: a short run of letters and figures, both present.
fn is_like_mark(cell: Cell<'_>) -> bool {
    let Ok(Some(mark)) = cells::mark(cell) else { return false };
    let mark = mark.as_str();
    mark.len() <= 8
        && mark.bytes().any(|byte| byte.is_ascii_digit())
        && mark.bytes().any(|byte| byte.is_ascii_alphabetic())
}

/// Whether a cell is one run of letters and figures of a certain length and count of figures.
fn identifier_like(cell: Cell<'_>, fits: impl FnOnce(usize, usize) -> bool) -> bool {
    let Ok(Some(number)) = cells::stock_number(cell) else { return false };
    let text = number.as_str();
    let plain = text.bytes().all(|byte| byte.is_ascii_alphanumeric() || b" -/.*#".contains(&byte));
    plain && fits(text.len(), text.bytes().filter(u8::is_ascii_digit).count())
}

fn forbids_to_ring(cell: Cell<'_>) -> bool {
    matches!(cell, Cell::Text(text) if contact_words::not_to_ring(text).is_some())
}

/// Whether a cell has the figures of a telephone number and little else.
fn is_like_telephone(cell: Cell<'_>) -> bool {
    let Ok(Some(text)) = cells::telephone(cell) else { return false };
    let figures = text.bytes().filter(u8::is_ascii_digit).count();
    let letters = text.chars().filter(|letter| letter.is_alphabetic()).count();
    (6..=26).contains(&figures) && letters <= 12 && !matches!(cell, Cell::Day(_))
}
