//! Days of the same rows that are what they were with day and month changed round, and what stands beside them.

use jiff::civil::Date;

use super::meanings::{Doubt, LEAST_MACHINES, LEAST_OF_FEW, Pair, Told, agree_order, in_words, other};
use super::values::MOST;
use super::{Change, Lasts, at_the_top};
use crate::problem::{Problem, counted};
use crate::settings::DateOrder;
use crate::sheets::Cell;
use crate::yard::cells;
use crate::yard::days::{self, ColumnOrder};
use crate::yard::field::Shape;

/// How many days of the same rows are what they were with day and month changed round.
#[derive(Default)]
struct Turns {
    /// Texts that are the same day with the other one first.
    of_texts: usize,
    /// Real dates that are the other day.
    of_dates: usize,
    /// Days that could have become another one so, and are what they were.
    stayed: usize,
    /// Days that have changed in another way.
    otherwise: usize,
}

impl Turns {
    /// Whether that is what has become of the column, and not a few slips that were put right.
    fn are_most(&self) -> bool {
        /// A day's work may change a day or two besides. Our decision.
        const NEARLY_ALL: f64 = 0.9;
        let turned = self.of_texts + self.of_dates;
        let are_all = turned >= LEAST_OF_FEW && self.otherwise + self.stayed == 0;
        (turned >= LEAST_MACHINES || are_all)
            && turned as f64 >= NEARLY_ALL * (turned + self.otherwise) as f64
            && turned as f64 >= MOST * (turned + self.stayed) as f64
    }

    /// Whether a column that was turned round has not been put back.
    fn are_some(&self) -> bool {
        /// A day or two may be put right by themselves. Our decision.
        const SOME: f64 = 0.2;
        let turned = self.of_texts + self.of_dates;
        turned as f64 >= SOME * (turned + self.stayed + self.otherwise) as f64
    }
}

/// What real dates that were changed round are known by, before their header; and what stands beside them.
const CHANGED_ROUND: &str = "changed round";
const BESIDE: &str = "beside changed round";

/// Has the other days of a sheet share what became of one of its columns, since a program writes all of them in one order:
/// texts are read in that order, and real dates that may be two days do not count.
pub(super) fn with_neighbours(found: &mut [(Pair<'_>, Option<Told>)]) {
    let said = |key: &str| found.iter().any(|(pair, told)| is_of(pair, told.as_ref(), key));
    let are_dates_turned = said(CHANGED_ROUND);
    let texts = found.iter().find_map(|(pair, told)| pair.texts_turned(told.as_ref()?));
    for (pair, told) in found.iter_mut().filter(|(pair, told)| pair.is_open(told.as_ref())) {
        let beside = are_dates_turned.then(|| pair.beside_turned_dates()).flatten();
        let beside = beside.or_else(|| pair.beside_turned_texts(texts?));
        *told = beside.or(told.take());
    }
}

fn is_of(pair: &Pair<'_>, told: Option<&Told>, what: &str) -> bool {
    told.is_some_and(|(change, _)| change.key == pair.key(what))
}

impl Pair<'_> {
    /// Whether the days of the same rows are what they were with day and month changed round, whatever the column proves
    /// by itself.
    pub(super) fn turned_round(&self) -> Option<Told> {
        let (ColumnOrder::Settled(was) | ColumnOrder::Expected(was)) = self.was.meaning.order else {
            return None;
        };
        let now = other(was);
        let is_proven = self.column.proven_order == Some(ColumnOrder::Settled(now));
        let turns = self.turns(now);
        let is_known = turns.of_dates > 0 && self.terms.is_known(&self.key(CHANGED_ROUND));
        let are_turned = turns.are_most() || (is_known && turns.are_some());
        if is_proven || self.is_order_agreed_now() || !are_turned {
            return None;
        }
        let place = self.now.table.whole();
        if turns.of_dates > 0 {
            return Some(self.dates_changed_round());
        }
        let what = format!(
            "the dates in {} had the {} and have the {} now; the same rows show it, and they are read so",
            self.subject(),
            in_words(was),
            in_words(now)
        );
        let problem = at_the_top(Problem::note(place, what, agree_order(now)));
        let change = Change { key: self.turned_key(now), lasts: Lasts::UntilAgreed, problem };
        Some((change, Some(Doubt::Order(ColumnOrder::Settled(now)))))
    }

    /// What a column whose days are turned round is known by from day to day.
    fn turned_key(&self, now: DateOrder) -> String {
        format!("turned {} {}", in_words(now), self.column.header)
    }

    /// Whether the owner has said of the days since they were turned round which way they are.
    pub(super) fn is_order_agreed_now(&self) -> bool {
        let agreed = self.terms.agreed.and_then(|sheet| sheet.date_order);
        agreed.is_some_and(|agreed| self.terms.is_known(&self.turned_key(agreed)))
    }

    /// A spreadsheet program that expects the other order has made real dates of the texts that fit.
    fn dates_changed_round(&self) -> Told {
        let what = format!(
            "the dates in {} are what they were with day and month changed round, as a spreadsheet program does that \
             expects the other order; what the same rows said before stands",
            self.subject()
        );
        (self.held(CHANGED_ROUND, what), Some(Doubt::Held))
    }

    /// How the days of the same rows have changed, where the texts now may have the other order.
    fn turns(&self, now: DateOrder) -> Turns {
        let mut turns = Turns::default();
        for (earlier, later) in self.rows().pairs() {
            let (earlier, later) = (earlier.cell(self.was.index), later.cell(self.column.index));
            let Ok(Some(was)) = cells::day(earlier, &self.was.meaning) else { continue };
            if later.is_blank() {
                continue;
            }
            let is_same = matches!(cells::day(later, &self.column.meaning), Ok(Some(day)) if day == was);
            let turned = Date::new(was.year(), was.day(), was.month()).ok().filter(|day| *day != was);
            match later {
                // A day above the twelfth cannot be another day, and shows nothing.
                _ if is_same => turns.stayed += usize::from(turned.is_some()),
                Cell::Text(text) if days::readings(text).in_order(now) == Some(was) => turns.of_texts += 1,
                Cell::Day(day) if Some(day.date()) == turned => turns.of_dates += 1,
                _ => turns.otherwise += 1,
            }
        }
        turns
    }

    /// Whether a column of days shows nothing by itself.
    fn is_open(&self, told: Option<&Told>) -> bool {
        let is_undecided =
            |(change, _): &Told| change.key == self.key("order") && change.lasts != Lasts::Held;
        let holds_days = matches!(self.column.field.shape(), Shape::Day | Shape::DayOrFlag | Shape::Result);
        holds_days && self.column.proven_order.is_none() && told.is_none_or(is_undecided)
    }

    /// The order in which the texts of this column stand now, where the same rows show that they were turned.
    fn texts_turned(&self, (change, doubt): &Told) -> Option<DateOrder> {
        match doubt {
            Some(Doubt::Order(ColumnOrder::Settled(order))) if change.key == self.turned_key(*order) => {
                Some(*order)
            }
            _ => None,
        }
    }

    /// The real dates that are new beside a column whose dates were changed round, and may be two days.
    fn beside_turned_dates(&self) -> Option<Told> {
        let rows = self.rows();
        let stayed: Vec<u32> = rows
            .pairs()
            .filter(|(earlier, later)| {
                let cells = (earlier.cell(self.was.index), later.cell(self.column.index));
                let day = |cell, meaning| cells::day(cell, meaning).ok().flatten();
                day(cells.0, &self.was.meaning) == day(cells.1, &self.column.meaning)
            })
            .map(|(_, later)| later.number)
            .collect();
        let may_be_two = |cell: Cell<'_>| match cell {
            Cell::Day(day) => day.day() <= 12 && day.day() != day.month(),
            _ => false,
        };
        let body = self.now.body();
        let doubtful = body
            .iter()
            .filter(|row| may_be_two(row.cell(self.column.index)) && !stayed.contains(&row.number))
            .count();
        if doubtful == 0 {
            return None;
        }
        let what = format!(
            "{} stands beside dates that were changed round, and has {} that may be two days; what the same rows said before \
             stands",
            self.subject(),
            counted(doubtful, "new date")
        );
        Some((self.held(BESIDE, what), Some(Doubt::Held)))
    }

    /// That texts which may be two days are read in the order of the texts beside them.
    fn beside_turned_texts(&self, order: DateOrder) -> Option<Told> {
        let turns = self.turns(order);
        let is_the_same = self.column.meaning.order == ColumnOrder::Settled(order);
        if self.is_order_agreed_now() || is_the_same || turns.stayed > 0 {
            return None;
        }
        let what = format!(
            "the dates in {} are read {}, as those beside them that the same rows show to be so",
            self.subject(),
            in_words(order)
        );
        let problem = at_the_top(Problem::note(self.now.table.whole(), what, agree_order(order)));
        let change = Change { key: self.turned_key(order), lasts: Lasts::UntilAgreed, problem };
        Some((change, Some(Doubt::Order(ColumnOrder::Settled(order)))))
    }
}
