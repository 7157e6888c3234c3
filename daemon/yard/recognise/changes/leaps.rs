//! Clocks that are several times what they were: single ones on the same day, of which one figure is a slip and nobody can
//! tell which; or most of them as many times as each other, which neither riding nor another unit does.

use super::held::HeldCell;
use super::meanings::{Doubt, LEAST_MACHINES, LEAST_MILES, Pair, TOLERANCE, Told, ratios};
use super::moved::mark_of;
use super::sorted_alone;
use super::values::{self, MOST};
use crate::problem::counted;
use crate::yard::Field;

/// What such clocks are known by, before their header.
const LEAPS: &str = "leaps";

/// So many machines are named; the others are counted.
const NAMED: usize = 3;

/// What clocks are known by that stand in other rows, before their header.
const ELSEWHERE: &str = "elsewhere";

/// What figures are known by that are all as many times what they were, before their header.
const TIMES: &str = "times";

impl Pair<'_> {
    /// Most clocks are as many times what they were, whatever days stand beside them.
    pub(super) fn multiplied(&self) -> Option<Told> {
        if self.column.field != Field::Clock || self.is_unit_agreed_now() {
            return None;
        }
        let of_rows = self.times(self.figures_of_rows());
        let (times, count, all) = of_rows.or_else(|| self.times(&self.figures_of_new_rows()))?;
        let what = format!(
            "{count} of {all} figures in {} are {times:.1} times what they were, which neither riding nor another unit does; \
             it is not read, \
             and what was read before still counts",
            self.subject()
        );
        Some((self.held(TIMES, what), Some(Doubt::All)))
    }

    /// Clocks that say each what another row's said, however few: riding leaves none of them what another one was.
    pub(super) fn in_other_rows(&self) -> Option<Told> {
        if self.column.field != Field::Clock {
            return None;
        }
        let cells = self.rows.pairs().map(|(earlier, later)| {
            (mark_of(earlier.cell(self.was.index)), mark_of(later.cell(self.column.index)))
        });
        let others: Vec<(u64, u64)> = cells.filter(|(was, is)| was != is).collect();
        // Those that are ridden on meanwhile are what none was.
        let stays = || self.figures_of_rows().iter().any(|(was, is)| is < was);
        let is_known = self.terms.is_known(&self.key(ELSEWHERE)) && stays();
        if !(is_known || sorted_alone::stand_elsewhere(&others, 0)) {
            return None;
        }
        let what = format!(
            "in {} of {} rows {} says what other rows said before, as after a sort without the rest; it is not read, and what \
             was read before still counts",
            others.len(),
            self.rows.pairs().count(),
            self.subject()
        );
        Some((self.held(ELSEWHERE, what), Some(Doubt::All)))
    }

    /// As how many times what they were most of these figures are, how many, and of how many.
    fn times(&self, figures: &[(f64, f64)]) -> Option<(f64, usize, usize)> {
        /// From here on it is no more what is ridden. Our decision.
        const LEAST_TIMES: f64 = 1.5;
        /// Those that have not come back to this are no others yet. Our decision.
        const STILL: f64 = 1.3;
        let figures: Vec<_> = figures.iter().copied().filter(|(was, _)| *was >= LEAST_MILES).collect();
        let mut ratios = ratios(&figures);
        ratios.sort_by(f64::total_cmp);
        let middle = *ratios.get(ratios.len() / 2)?;
        let near = ratios.iter().filter(|ratio| (*ratio / middle - 1.0).abs() <= TOLERANCE).count();
        let is_most = near >= LEAST_MACHINES && near as f64 >= MOST * ratios.len() as f64;
        let is_so = is_most && middle >= LEAST_TIMES;
        let stays = self.terms.is_known(&self.key(TIMES)) && middle >= STILL;
        (is_so || stays).then_some((middle, near, ratios.len()))
    }

    /// The clocks that leapt though the day beside them stayed, or by a digit more where none stands there. The last ones stand meanwhile.
    pub(super) fn leaps(&self) -> Option<Told> {
        if self.column.field != Field::Clock || self.is_unit_agreed_now() {
            return None;
        }
        let (mut cells, mut names, mut undated) = (Vec::new(), Vec::new(), 0);
        for (earlier, later) in self.rows.pairs() {
            let both = self.measure_before(earlier).zip(self.measure_now(later));
            let is_of_that_day = values::is_of_the_same_day((earlier, self.before), (later, self.now));
            let has_a_digit_more = values::has_a_digit_more(
                (earlier, self.before, self.was.index),
                (later, self.now, self.column.index),
            );
            if !(is_of_that_day || has_a_digit_more) || !both.is_some_and(|(was, is)| values::leaps(was, is))
            {
                continue;
            }
            if !self.is_behind_a_service(earlier) && !self.is_put_right((earlier, later)) {
                undated += usize::from(has_a_digit_more);
                cells.push(HeldCell { row: later.number, was: self.was.index, place: self.column.index });
                let name = self.now.read_as.columns.iter().find(|column| column.field.is_identity());
                names.extend(name.map(|column| later.cell(column.index).shown()));
            }
        }
        if cells.is_empty() {
            return None;
        }
        let more = names.len().saturating_sub(NAMED);
        names.truncate(NAMED);
        if more > 0 {
            names.push(format!("and {more} more"));
        }
        let why = match undated {
            0 => "the day beside it stayed",
            some if some == cells.len() => "it has the digits of before and one more",
            _ => "the day beside it stayed, or it has the digits of before and one more",
        };
        let what = format!(
            "{} in {} rose to three times what it was or more, and {why} ({}); what was read there before stands",
            counted(cells.len(), "figure"),
            self.subject(),
            names.join(", ")
        );
        Some((self.held(LEAPS, what), Some(Doubt::Cells(cells))))
    }

    /// Whether a clock was behind the last service in its row, so that it was the slip, and has been put right.
    fn is_behind_a_service(&self, earlier: crate::sheets::Row<'_>) -> bool {
        let of_service = |field: Field| {
            matches!(field, Field::LastServiceClock | Field::FirstServiceClock | Field::AnnualServiceClock)
        };
        let columns = self.before.read_as.columns.iter().filter(|column| of_service(column.field));
        let mut clocks = columns.filter_map(|column| values::miles(earlier, column, self.before, self.terms));
        let clock = self.measure_before(earlier).unwrap_or_default();
        clocks.any(|service| service > clock)
    }
}
