//! Single clocks that are several times what they were on the same day: one of the two figures is a slip, and nobody can
//! tell which.

use super::held::HeldCell;
use super::meanings::{Doubt, Pair, Told};
use super::values;
use crate::problem::counted;
use crate::yard::Field;

/// What such clocks are known by, before their header.
const LEAPS: &str = "leaps";

/// So many machines are named; the others are counted.
const NAMED: usize = 3;

impl Pair<'_> {
    /// The clocks that leapt though the day beside them stayed. The last ones stand meanwhile.
    pub(super) fn leaps(&self) -> Option<Told> {
        if self.column.field != Field::Clock || self.is_unit_agreed_now() {
            return None;
        }
        let (mut cells, mut names) = (Vec::new(), Vec::new());
        for (earlier, later) in self.rows.pairs() {
            let both = self.measure_before(earlier).zip(self.measure_now(later));
            let is_of_that_day = values::is_of_the_same_day((earlier, self.before), (later, self.now));
            let may_be_so = self.is_behind_a_service(earlier);
            if is_of_that_day && !may_be_so && both.is_some_and(|(was, is)| values::leaps(was, is)) {
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
        let what = format!(
            "{} in {} rose to three times what it was or more, and the day beside it stayed ({}); what was read there before \
             stands",
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
