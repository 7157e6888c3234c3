//! The order of day and month of a column that is another one now, or is proven no more; and the line that agrees it.

use super::meanings::{Doubt, LEAST_MACHINES, Pair, Told};
use super::values::NEARLY_ALL;
use super::{Lasts, at_the_top, line};
use crate::problem::Problem;
use crate::settings::DateOrder;
use crate::sheets::Cell;
use crate::yard::days::{self, ColumnOrder};

impl Pair<'_> {
    /// The order of day and month.
    pub(super) fn order(&self) -> Option<Told> {
        let agreed = self.terms.order_said_of(self.column);
        let Some(ColumnOrder::Settled(was)) = self.was.proven_order.or(agreed.map(ColumnOrder::Settled))
        else {
            return None;
        };
        match self.column.proven_order {
            None if agreed.is_none() && self.column.order_is_assumed => self.undecided(was),
            Some(ColumnOrder::Settled(now)) if now != was && agreed != Some(now) => self.turned(was, now),
            Some(ColumnOrder::Mixed) if agreed.is_none() => self.mixed(was),
            _ => None,
        }
    }

    /// Nothing in the column tells any more which comes first: it is read as it was.
    fn undecided(&self, was: DateOrder) -> Option<Told> {
        // One date may speak against it, which is a slip where another export has proven the order.
        let is_doubtful = matches!(self.column.meaning.order, ColumnOrder::Doubtful(_));
        let order = if is_doubtful { ColumnOrder::Expected(was) } else { ColumnOrder::Settled(was) };
        let what = format!(
            "nothing in {} tells now which of day and month comes first; it is read {} as before",
            self.subject(),
            was.written()
        );
        let problem = Problem::note(self.now.table.whole(), what, self.agree_order(was));
        // By the shop's setting it would be read so in any case.
        let is_usual = was == self.terms.shop_order && !is_doubtful;
        let lasts = if is_usual { Lasts::Unsaid } else { Lasts::UntilAgreed };
        Some((self.change("order", lasts, problem), Some(Doubt::Order(order))))
    }

    /// The column proves the other order.
    fn turned(&self, was: DateOrder, now: DateOrder) -> Option<Told> {
        let place = self.now.table.whole();
        if self.rows_prove(was, now) {
            let what = format!(
                "the dates in {} had the {} and have the {} now; the same rows show it, and they are read so",
                self.subject(),
                was.written(),
                now.written()
            );
            let is_agreed = self.terms.order_said_of(self.column).is_some();
            let lasts = if is_agreed { Lasts::UntilAgreed } else { Lasts::Once };
            let problem = at_the_top(Problem::note(place, what, self.agree_order(now)));
            return Some((self.change("order", lasts, problem), None));
        }
        let what = format!(
            "the dates in {} had the {}, and look as if they had the {} now; those that may be two days are not read",
            self.subject(),
            was.written(),
            now.written()
        );
        let change = self.change("order", Lasts::Held, Problem::error(place, what, self.agree_order(now)));
        Some((change, Some(Doubt::Order(ColumnOrder::Mixed))))
    }

    /// The column holds both.
    fn mixed(&self, was: DateOrder) -> Option<Told> {
        let what = format!(
            "the dates in {} had the {}, and now some have the other one first; those that may be two days are not read",
            self.subject(),
            was.written()
        );
        let help = "Export it again with one way of writing dates; or, if those that may be two days are as before, \
                    ";
        let help = format!("{help}{}", lower_first(&self.agree_order(was)));
        let change =
            self.change("order", Lasts::UntilAgreed, Problem::error(self.now.table.whole(), what, help));
        Some((change, None))
    }

    /// Whether the same rows mean the same days when each is read by its own order.
    fn rows_prove(&self, was: DateOrder, now: DateOrder) -> bool {
        let day = |cell: Cell<'_>, order: DateOrder| match cell {
            Cell::Text(text) => days::readings(text).in_order(order),
            _ => None,
        };
        let (mut both, mut equal) = (0usize, 0usize);
        for (earlier, later) in self.rows.pairs() {
            let Some(earlier) = day(earlier.cell(self.was.index), was) else { continue };
            both += 1;
            equal += usize::from(day(later.cell(self.column.index), now) == Some(earlier));
        }
        both >= LEAST_MACHINES && equal as f64 >= NEARLY_ALL * both as f64
    }

    /// What to do where an order is right: the sheet has one line for all its dates, and a column one of its own where the
    /// other dates of the sheet would be misread by that.
    pub(super) fn agree_order(&self, order: DateOrder) -> String {
        let is_agreed = self.terms.has_own_order(self.column);
        if !is_agreed && !self.rest_has_another(order) {
            return format!(
                "If that is right, write `dates = \"{}\"` below this sheet's [[sheet]] in tickover.toml.",
                order.written()
            );
        }
        let field = format!("{}, {}", self.column.field.name(), order.written());
        let line = line(&self.column.header, &field);
        format!("If that is right, {}.", self.terms.write(&[line], &[self.column]))
    }

    /// Whether dates in other columns are shown to have another order now.
    fn rest_has_another(&self, order: DateOrder) -> bool {
        let others = self.now.read_as.columns.iter().filter(|column| column.index != self.column.index);
        others.filter(|column| column.holds_days()).any(|column| {
            let is_proven = column.proven_order == Some(ColumnOrder::Settled(order.other()));
            let was = self.before.read_as.columns.iter();
            let mut was = was.filter(|was| was.field == column.field && was.header == column.header);
            let stays = |was| self.beside(was, column).stays_as_it_was(order);
            is_proven || was.next().is_some_and(stays)
        })
    }
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
