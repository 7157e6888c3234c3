//! Columns whose figures are meant otherwise than before: the order of day and month, or the unit of a distance.

use super::{Change, ColumnRead, Lasts, MatchedRows, ReadAs, Side, Terms, column_in_words};
use crate::problem::Problem;
use crate::settings::DateOrder;
use crate::sheets::{Cell, Row, Table};
use crate::units::DistanceUnit;
use crate::yard::Field;
use crate::yard::cell_words;
use crate::yard::cells;
use crate::yard::days::{self, ColumnOrder};
use crate::yard::field::Shape;

/// So many kilometres are a mile (the Weights and Measures Act 1985, schedule 1: exactly).
const KILOMETRES_A_MILE: f64 = 1.609_344;

/// How far a figure may be from another one times that: a day's or two days' riding. Our decision.
const TOLERANCE: f64 = 0.03;

/// With fewer machines a change of all figures by that much may be chance. Our decision.
const LEAST_MACHINES: usize = 3;

/// The share of machines whose figures must have changed alike: most. Our decision.
const MOST: f64 = 0.6;

/// Looks at every column that is read now and was read before; what is doubtful is taken from what is read.
pub(super) fn watch(before: &Side<'_>, now: &Table, read_as: &mut ReadAs, terms: &Terms<'_>) -> Vec<Change> {
    let mut changes = Vec::new();
    let mut doubted: Vec<(usize, Doubt)> = Vec::new();
    {
        let Some(side) = Side::of(now, read_as) else { return changes };
        for column in &read_as.columns {
            let same = |was: &&ColumnRead| {
                was.field == column.field && (column.field != Field::CheckItem || was.header == column.header)
            };
            let Some(was) = before.read_as.columns.iter().find(same) else { continue };
            let pair = Pair { before, now: &side, was, column, terms };
            let found = match column.field.shape() {
                Shape::Day | Shape::DayOrFlag | Shape::Result => pair.order(),
                Shape::Distance => pair.unit(),
                _ => None,
            };
            if let Some((change, doubt)) = found {
                changes.push(change);
                doubted.extend(doubt.map(|doubt| (column.index, doubt)));
            }
        }
    }
    for (index, doubt) in doubted {
        match doubt {
            Doubt::Order(order) => {
                for column in read_as.columns.iter_mut().filter(|column| column.index == index) {
                    column.meaning.order = order;
                }
            }
            Doubt::All => read_as.columns.retain(|column| column.index != index),
        }
    }
    changes
}

/// What is not taken from a column.
enum Doubt {
    /// Its dates are of this order, or of none.
    Order(ColumnOrder),
    /// Everything in it.
    All,
}

/// A column in both exports.
struct Pair<'p> {
    before: &'p Side<'p>,
    now: &'p Side<'p>,
    was: &'p ColumnRead,
    column: &'p ColumnRead,
    terms: &'p Terms<'p>,
}

impl Pair<'_> {
    fn rows(&self) -> MatchedRows<'_> {
        MatchedRows::of(self.before, self.now, &[self.was.index])
    }

    fn subject(&self) -> String {
        format!("{} `{}`", column_in_words(self.column.index), self.column.header)
    }

    fn change(&self, what: &str, lasts: Lasts, problem: Problem) -> Change {
        Change { key: format!("{what} {}", self.column.header), lasts, problem }
    }

    /// The order of day and month.
    fn order(&self) -> Option<(Change, Option<Doubt>)> {
        let agreed = self.terms.agreed.and_then(|sheet| sheet.date_order);
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
    fn undecided(&self, was: DateOrder) -> Option<(Change, Option<Doubt>)> {
        // One date may speak against it, which is a slip where another export has proven the order.
        let is_doubtful = matches!(self.column.meaning.order, ColumnOrder::Doubtful(_));
        if was == self.terms.shop_order && !is_doubtful {
            return None;
        }
        let order = if is_doubtful { ColumnOrder::Expected(was) } else { ColumnOrder::Settled(was) };
        let what = format!(
            "nothing in {} tells now which of day and month comes first; it is read {} as before",
            self.subject(),
            in_words(was)
        );
        let problem = Problem::note(self.now.table.whole(), what, agree_order(was));
        Some((self.change("order", Lasts::UntilAgreed, problem), Some(Doubt::Order(order))))
    }

    /// The column proves the other order.
    fn turned(&self, was: DateOrder, now: DateOrder) -> Option<(Change, Option<Doubt>)> {
        let place = self.now.table.whole();
        if self.rows_prove(was, now) {
            let what = format!(
                "the dates in {} had the {} and have the {} now; the same rows show it, and they are read so",
                self.subject(),
                in_words(was),
                in_words(now)
            );
            let is_agreed = self.terms.agreed.is_some_and(|sheet| sheet.date_order.is_some());
            let lasts = if is_agreed { Lasts::UntilAgreed } else { Lasts::Once };
            return Some((self.change("order", lasts, Problem::note(place, what, agree_order(now))), None));
        }
        let what = format!(
            "the dates in {} had the {}, and look as if they had the {} now; those that may be two days are not read",
            self.subject(),
            in_words(was),
            in_words(now)
        );
        let change = self.change("order", Lasts::UntilAgreed, Problem::error(place, what, agree_order(now)));
        Some((change, Some(Doubt::Order(ColumnOrder::Mixed))))
    }

    /// The column holds both.
    fn mixed(&self, was: DateOrder) -> Option<(Change, Option<Doubt>)> {
        let what = format!(
            "the dates in {} had the {}, and now some have the other one first; those that may be two days are not read",
            self.subject(),
            in_words(was)
        );
        let help = "Export it again with one way of writing dates; or, if those that may be two days are as before, \
                    ";
        let help = format!("{help}{}", lower_first(&agree_order(was)));
        let change =
            self.change("order", Lasts::UntilAgreed, Problem::error(self.now.table.whole(), what, help));
        Some((change, None))
    }

    /// Whether the same rows mean the same days when each is read by its own order.
    fn rows_prove(&self, was: DateOrder, now: DateOrder) -> bool {
        let day = |cell: Cell<'_>, order: DateOrder| match cell {
            Cell::Text(text) => {
                let readings = days::readings(text);
                match order {
                    DateOrder::DayFirst => readings.day_first,
                    DateOrder::MonthFirst => readings.month_first,
                }
            }
            _ => None,
        };
        let rows = self.rows();
        let (mut both, mut equal) = (0usize, 0usize);
        for (earlier, later) in rows.pairs() {
            let Some(earlier) = day(earlier.cell(self.was.index), was) else { continue };
            both += 1;
            equal += usize::from(day(later.cell(self.column.index), now) == Some(earlier));
        }
        both >= LEAST_MACHINES && equal as f64 >= 0.9 * both as f64
    }

    /// The unit of a distance.
    fn unit(&self) -> Option<(Change, Option<Doubt>)> {
        let ratios = self.ratios();
        let near = |factor: f64| ratios.iter().filter(|ratio| is_near(**ratio, factor)).count();
        let is_most = |count: usize| count >= LEAST_MACHINES && count as f64 >= MOST * ratios.len() as f64;
        let (more, less) = (near(KILOMETRES_A_MILE), near(1.0 / KILOMETRES_A_MILE));
        // Riding takes the figures further from what they were; only those that come back to it end the doubt.
        let is_known = self.terms.known.contains(&format!("unit {}", self.column.header));
        let stays = is_known && !ratios.is_empty() && !is_most(near(1.0));
        if is_most(more) || is_most(less) || stays {
            let mean = ratios.iter().map(|ratio| ratio.ln()).sum::<f64>();
            let now = if mean > 0.0 { DistanceUnit::Kilometres } else { DistanceUnit::Miles };
            let agreed = self.terms.agreed.and_then(|sheet| sheet.distances);
            return (agreed != Some(now)).then(|| self.figures_changed(now));
        }
        if self.column.field == Field::Clock {
            let of_new = self.ratios_of_new_rows();
            let near = |factor: f64| of_new.iter().filter(|ratio| is_near(**ratio, factor)).count();
            let (more, less) = (near(KILOMETRES_A_MILE), near(1.0 / KILOMETRES_A_MILE));
            let most = more.max(less);
            if most >= LEAST_MACHINES && most as f64 >= MOST * of_new.len() as f64 {
                return Some(self.new_figures_differ(more > less));
            }
        }
        let (was, now) = (self.was.meaning.distance_unit, self.column.meaning.distance_unit);
        let now = now.filter(|now| *now != was.unwrap_or(self.terms.clock_unit))?;
        let what =
            format!("the distances in {} are in {} now, and are read so", self.subject(), now.plural());
        let help = "If they are not, put the header right.";
        let problem = Problem::note(self.now.table.whole(), what, help);
        Some((self.change("says unit", Lasts::Once, problem), None))
    }

    /// The figures have changed by the factor between miles and kilometres, and nothing says why; or a header says that
    /// they have, and they have not.
    fn figures_changed(&self, now: DistanceUnit) -> (Change, Option<Doubt>) {
        let was = match now {
            DistanceUnit::Kilometres => DistanceUnit::Miles,
            DistanceUnit::Miles => DistanceUnit::Kilometres,
        };
        let (now, was) = (now.plural(), was.plural());
        let said = self.column.meaning.distance_unit;
        let (what, help) = match said.filter(|_| self.column.header != self.was.header) {
            Some(said) => (
                format!(
                    "{} says {} now, and its figures do not fit that; it is not read",
                    self.subject(),
                    said.plural()
                ),
                "Put the header or the figures right, and export it again.".to_owned(),
            ),
            None => (
                format!(
                    "most figures in {} have changed as if they were {was} before and {now} now; it is not read",
                    self.subject()
                ),
                format!(
                    "If they are {now} now, write `distances = \"{now}\"` below this sheet's [[sheet]] in tickover.toml. \
                     Otherwise export it again."
                ),
            ),
        };
        let problem = Problem::error(self.now.table.whole(), what, help);
        (self.change("unit", Lasts::UntilAgreed, problem), Some(Doubt::All))
    }

    /// The new rows count in another unit than those before them.
    fn new_figures_differ(&self, is_more: bool) -> (Change, Option<Doubt>) {
        let unit = if is_more { DistanceUnit::Kilometres } else { DistanceUnit::Miles }.plural();
        let what = format!(
            "the new figures in {} look like {unit}, unlike those before them; the column is not read, and what was read \
             before still counts",
            self.subject()
        );
        let help = format!(
            "If they are {unit}, write so behind each new figure: `1,204 {unit}`. Otherwise put them right."
        );
        let problem = Problem::error(self.now.table.whole(), what, help);
        (self.change("new unit", Lasts::UntilAgreed, problem), Some(Doubt::All))
    }

    /// By how much each row's figure is more than it was, each in its own unit where one is written.
    fn ratios(&self) -> Vec<f64> {
        let ratio = |(earlier, later)| Some(self.measure_now(later)? / self.measure_before(earlier)?);
        self.rows().pairs().filter_map(ratio).collect()
    }

    /// By how much the lowest of each machine's new figures is more than the highest that it had.
    fn ratios_of_new_rows(&self) -> Vec<f64> {
        let ratio = |(had, new): (Vec<Row<'_>>, Vec<Row<'_>>)| {
            let had = had.into_iter().filter_map(|row| self.measure_before(row)).reduce(f64::max)?;
            let new = new.into_iter().filter_map(|row| self.measure_now(row)).reduce(f64::min)?;
            Some(new / had)
        };
        MatchedRows::new_rows(self.before, self.now).into_iter().filter_map(ratio).collect()
    }

    fn measure_before(&self, row: Row<'_>) -> Option<f64> {
        self.measure(row, self.was, self.before)
    }

    fn measure_now(&self, row: Row<'_>) -> Option<f64> {
        self.measure(row, self.column, self.now)
    }

    /// The distance in a row, in miles; `None` where there is none.
    fn measure(&self, row: Row<'_>, column: &ColumnRead, side: &Side<'_>) -> Option<f64> {
        let written = cells::distance(row.cell(column.index), &column.meaning).ok().flatten()?;
        let of_row = side.read_as.columns.iter().find(|column| column.field == Field::ClockUnit);
        let of_row = of_row.and_then(|unit| cell_words::clock_unit(row.cell(unit.index)).ok().flatten());
        let unit = of_row.unwrap_or(self.terms.clock_unit);
        let miles = written.resolved(unit).count_in(DistanceUnit::Miles);
        (miles > 0.0).then_some(miles)
    }
}

fn is_near(ratio: f64, factor: f64) -> bool {
    (ratio / factor - 1.0).abs() <= TOLERANCE
}

fn in_words(order: DateOrder) -> &'static str {
    match order {
        DateOrder::DayFirst => "day first",
        DateOrder::MonthFirst => "month first",
    }
}

fn agree_order(order: DateOrder) -> String {
    format!(
        "If that is right, write `dates = \"{}\"` below this sheet's [[sheet]] in tickover.toml.",
        in_words(order)
    )
}

fn lower_first(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
