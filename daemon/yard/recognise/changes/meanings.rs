//! Columns whose figures are meant otherwise than before: the order of day and month, or the unit of a distance.

use std::cell::OnceCell;

use super::fallen::Clocks;
use super::filled_marks;
use super::held::HeldCell;
use super::moved::{self, Moved};
use super::other_machines;
use super::other_values;
use super::sorted_alone;
use super::values::{self, Altered, MOST};
use super::{
    Change, ColumnRead, Header, Lasts, MatchedRows, ReadAs, Side, Terms, at_the_top, column_in_words, line,
    of_its_time, turned,
};
use crate::problem::Problem;
use crate::sheets::{Row, Table};
use crate::units::{Days, DistanceUnit};
use crate::yard::Field;
use crate::yard::cells::Meaning;
use crate::yard::days::ColumnOrder;
use crate::yard::field::Shape;

/// So many kilometres are a mile (the Weights and Measures Act 1985, schedule 1: exactly).
const KILOMETRES_A_MILE: f64 = 1.609_344;

/// How far a figure may be from another one times that: a day's or two days' riding. Our decision.
pub(super) const TOLERANCE: f64 = 0.03;

/// Smaller figures are near each other by chance. Our decision.
pub(super) const LEAST_MILES: f64 = 100.0;

/// With fewer machines a change of all figures by that much may be chance. Our decision.
pub(super) const LEAST_MACHINES: usize = 3;

/// Of so few all must have changed, and beyond what chance does. Our decision.
pub(super) const LEAST_OF_FEW: usize = 2;

/// What days and clocks that are others are known by, before their header.
const OTHER_DAYS: &str = "other days";
const OTHER_CLOCKS: &str = "other clocks";

/// A day that moved by no more than this was put off. Our decision.
const PUT_OFF: Days = Days(31);

/// What was found of the columns that are read.
#[derive(Default)]
pub(super) struct Watched {
    pub(super) changes: Vec<Change>,
    /// The columns whose last values stand, by their places before and now.
    pub(super) held: Vec<(usize, usize)>,
    /// The cells whose last values stand, in columns that are read.
    pub(super) held_cells: Vec<HeldCell>,
    /// The columns of such cells of which nothing is taken in a new row, by their places before and now.
    pub(super) shifted: Vec<(usize, usize)>,
    /// Those that are told as a whole to say other things, held or taken to be meant.
    pub(super) moved: Vec<(usize, usize)>,
    doubted: Vec<(usize, Doubt)>,
}

impl Watched {
    /// Tells of columns that say other things, and has their last values stand unless they are meant. A clock in a
    /// machine's row has none that could stand on another day.
    fn tell(&mut self, moved: Moved, now: &Side<'_>, terms: &Terms<'_>) {
        self.moved.extend(&moved.columns);
        let is_right = terms.is_said_right(&moved.change.key, moved.named.iter().map(String::as_str));
        if is_right {
            self.changes.push(Change { lasts: Lasts::SaidRight, ..moved.change });
            return;
        }
        self.changes.push(moved.change);
        for (was, place) in moved.columns {
            let is_clock = now.column(place).is_some_and(|column| column.field == Field::Clock);
            if is_clock && !now.is_log() {
                self.doubted.push((place, Doubt::All));
            } else {
                self.held.push((was, place));
                self.doubted.push((place, Doubt::Held));
            }
        }
    }

    /// Notes a change of one column, and what is not taken from it unless the owner has said that it is right.
    fn take(&mut self, pair: &Pair<'_>, change: Change, doubt: Option<Doubt>) {
        let header = pair.column.header.as_str();
        if change.lasts == Lasts::Held && pair.terms.is_said_right(&change.key, [header]) {
            self.changes.push(Change { lasts: Lasts::SaidRight, ..change });
            return;
        }
        self.changes.push(change);
        if matches!(doubt, Some(Doubt::Held)) {
            self.held.push((pair.was.index, pair.column.index));
        }
        match doubt {
            Some(Doubt::Cells(cells)) => return self.held_cells.extend(cells),
            Some(Doubt::Shifted(cells)) => {
                self.shifted.push((pair.was.index, pair.column.index));
                return self.held_cells.extend(cells);
            }
            _ => {}
        }
        self.doubted.extend(doubt.map(|doubt| (pair.column.index, doubt)));
    }

    /// Takes what is doubtful from what is read.
    fn take_away(&mut self, before: &Side<'_>, read_as: &mut ReadAs) {
        for (index, doubt) in std::mem::take(&mut self.doubted) {
            let meaning = match doubt {
                Doubt::Cells(_) | Doubt::Shifted(_) => continue,
                Doubt::All => {
                    read_as.columns.retain(|column| column.index != index);
                    continue;
                }
                Doubt::Order(order) => read_as
                    .columns
                    .iter()
                    .find(|column| column.index == index)
                    .map(|column| Meaning { order, ..column.meaning }),
                Doubt::Held => {
                    let was = self.held.iter().find(|(_, now)| *now == index);
                    was.and_then(|(was, _)| before.column(*was)).map(|was| was.meaning)
                }
            };
            for column in read_as.columns.iter_mut().filter(|column| column.index == index) {
                column.meaning = meaning.unwrap_or(column.meaning);
                column.order_is_assumed = false;
                column.undecided = None;
            }
        }
    }
}

/// Looks at every column that is read now and was read before; what is doubtful is taken from what is read. Of those in
/// `held` the last values stand already.
pub(super) fn watch(
    before: &Side<'_>,
    now: &Table,
    read_as: &mut ReadAs,
    terms: &Terms<'_>,
    held: Vec<(usize, usize)>,
) -> Watched {
    let doubted = held.iter().map(|(_, now)| (*now, Doubt::Held)).collect();
    let mut watched = Watched { held, doubted, ..Watched::default() };
    let Some(side) = Side::of(now, read_as) else { return watched };
    let of_rows = || {
        let of_other_rows = sorted_alone::find(before, &side, terms);
        let of_others = of_other_rows.or_else(|| other_machines::find(before, &side, terms));
        of_others.or_else(|| filled_marks::find(before, &side, terms))
    };
    if let Some(one) = before.is_log().then(of_rows).flatten() {
        watched.tell(one, &side, terms);
        let names_rows = |(was, _): &(usize, usize)| {
            let field = before.column(*was).map(|column| column.field);
            field.is_some_and(|field| field.is_identity() || matches!(field, Field::Day | Field::Item))
        };
        // By what names them the rows are other ones now, and nothing can be told of the rest.
        if watched.held.iter().any(names_rows) {
            watched.take_away(before, read_as);
            return watched;
        }
    }
    for one in moved::find(before, &side, terms, &watched.moved) {
        watched.tell(one, &side, terms);
    }
    let mut told: Vec<usize> = watched.held.iter().chain(&watched.moved).map(|(_, now)| *now).collect();
    let mut found = Vec::new();
    for column in read_as.columns.iter().filter(|column| !told.contains(&column.index)) {
        let same = |was: &&ColumnRead| {
            was.field == column.field
                && (!column.field.may_have_many_columns() || was.header == column.header)
        };
        let Some(was) = before.read_as.columns.iter().find(same) else { continue };
        let rows = MatchedRows::of_column(before, &side, was);
        let pair = Pair::of((before, &side), (was, column), terms, rows);
        let one = match column.field.shape() {
            Shape::Day | Shape::DayOrFlag | Shape::Result => {
                let of_order = pair.turned_round().or_else(|| pair.order());
                let of_days = of_order.or_else(|| pair.other_days()).or_else(|| pair.moved_together());
                of_days.or_else(|| pair.in_a_row()).or_else(|| pair.at_once())
            }
            Shape::Distance => {
                let of_all = pair.unit().or_else(|| pair.exactly_kilometres());
                let of_most = of_all.or_else(|| pair.other_clocks()).or_else(|| pair.multiplied());
                of_most.or_else(|| pair.in_other_rows()).or_else(|| pair.leaps())
            }
            _ => pair.at_once(),
        };
        found.push((pair, one));
    }
    turned::with_neighbours(&mut found);
    units_together(&mut found, &side, terms);
    for (pair, one) in found {
        let Some((change, doubt)) = one else {
            watched.changes.extend(pair.fallen());
            continue;
        };
        told.push(pair.column.index);
        watched.take(&pair, change, doubt);
    }
    for one in other_values::find(before, &side, terms, &told) {
        watched.tell(one, &side, terms);
    }
    watched.take_away(before, read_as);
    watched
}

/// Has columns whose figures have changed their unit together told in one sentence, with all their lines.
fn units_together(found: &mut [(Pair<'_>, Option<Told>)], now: &Side<'_>, terms: &Terms<'_>) {
    for unit in [DistanceUnit::Miles, DistanceUnit::Kilometres] {
        let (of_unit, columns): (Vec<usize>, Vec<&ColumnRead>) = (0..)
            .zip(&*found)
            .filter(|(_, (pair, told))| {
                let is_it = told.as_ref().is_some_and(|(change, _)| change.key == unit_key(pair.column));
                is_it && pair.was.header == pair.column.header && pair.unit_shown(false) == Some((unit, true))
            })
            .map(|(place, (pair, _))| (place, pair.column))
            .unzip();
        if of_unit.len() < 2 {
            continue;
        }
        let names: Vec<String> = columns
            .iter()
            .map(|column| format!("{} `{}`", column_in_words(column.index), column.header))
            .collect();
        let lines: Vec<String> = columns.iter().map(|column| unit_line(column, unit)).collect();
        let (is, was) = (unit.plural(), unit.other().plural());
        let what = format!(
            "most figures in {} have changed as if they were {was} before and {is} now; they are not read",
            names.join(" and ")
        );
        let help =
            format!("If they are {is} now, {}. Otherwise export it again.", terms.write(&lines, &columns));
        for place in of_unit {
            if let Some((change, _)) = &mut found[place].1 {
                change.problem = Problem::error(now.table.whole(), what.clone(), help.clone());
            }
        }
    }
}

/// What was found of a column, with what is not taken from it.
pub(super) type Told = (Change, Option<Doubt>);

/// What is not taken from a column.
pub(super) enum Doubt {
    /// Its dates are of this order, or of none.
    Order(ColumnOrder),
    /// Everything in it.
    All,
    /// Everything in it, and what the same rows said before stands.
    Held,
    /// These cells of it, in which the last values stand.
    Cells(Vec<HeldCell>),
    /// The same, and what stands in its new rows.
    Shifted(Vec<HeldCell>),
}

/// A column in both exports.
pub(super) struct Pair<'p> {
    pub(super) before: &'p Side<'p>,
    pub(super) now: &'p Side<'p>,
    pub(super) was: &'p ColumnRead,
    pub(super) column: &'p ColumnRead,
    pub(super) terms: &'p Terms<'p>,
    /// The rows that are in both, whatever they say there.
    pub(super) rows: MatchedRows<'p>,
    /// What a log says of each machine, once it has been looked up.
    pub(super) clocks: Clocks,
    /// What the same rows said and say, once they have been read for it.
    pub(super) figures: OnceCell<Vec<(f64, f64)>>,
}

impl<'p> Pair<'p> {
    pub(super) fn of(
        (before, now): (&'p Side<'p>, &'p Side<'p>),
        (was, column): (&'p ColumnRead, &'p ColumnRead),
        terms: &'p Terms<'p>,
        rows: MatchedRows<'p>,
    ) -> Pair<'p> {
        Pair { before, now, was, column, terms, rows, clocks: Clocks::default(), figures: OnceCell::new() }
    }
}

impl Pair<'_> {
    pub(super) fn subject(&self) -> String {
        format!("{} `{}`", column_in_words(self.column.index), self.column.header)
    }

    pub(super) fn change(&self, what: &str, lasts: Lasts, problem: Problem) -> Change {
        Change { key: self.key(what), lasts, problem }
    }

    /// What a change of the column is known by from day to day.
    pub(super) fn key(&self, what: &str) -> String {
        format!("{what} {}", self.column.header)
    }

    /// That the column says other things, which do not count until the owner says that they are right.
    pub(super) fn held(&self, what: &str, said: String) -> Change {
        let help = self.terms.look_at(&self.key(what), &[self.column]);
        self.change(what, Lasts::Held, Problem::error(self.now.table.whole(), said, help))
    }

    /// The unit of a distance.
    fn unit(&self) -> Option<Told> {
        // Once the owner has agreed a change of unit, only figures that show another one speak of it.
        let is_known = self.terms.is_known(&unit_key(self.column)) && !self.is_read_by_another_unit();
        let is_noted = of_its_time::noted_unit(self.column, self.terms).is_some();
        if let Some((now, is_shown)) = self.unit_shown(is_known && !is_noted) {
            let is_agreed =
                self.terms.unit_said_of(self.column) == Some(now) && !self.is_read_by_another_unit();
            return (!is_agreed).then(|| self.figures_changed(now, is_shown));
        }
        if self.is_read_by_another_unit() {
            return None;
        }
        if self.column.field == Field::Clock {
            let of_new = ratios(&self.figures_of_new_rows());
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
        let problem = at_the_top(Problem::note(self.now.table.whole(), what, help));
        Some((self.change("says unit", Lasts::Once, problem), None))
    }

    /// What the figures look to count in now, where that is another unit than before, and whether the rows show it.
    fn unit_shown(&self, is_known: bool) -> Option<(DistanceUnit, bool)> {
        let ratios = ratios(self.figures_of_rows());
        let near = |factor: f64| ratios.iter().filter(|ratio| is_near(**ratio, factor)).count();
        let is_most = |count: usize| count >= LEAST_MACHINES && count as f64 >= MOST * ratios.len() as f64;
        let (more, less) = (near(KILOMETRES_A_MILE), near(1.0 / KILOMETRES_A_MILE));
        // Riding takes the figures further from what they were; only those that come back to it end the doubt.
        let stays = is_known && !ratios.is_empty() && !is_most(near(1.0));
        let mean = ratios.iter().map(|ratio| ratio.ln()).sum::<f64>();
        let now = if mean > 0.0 { DistanceUnit::Kilometres } else { DistanceUnit::Miles };
        // Read by the line that says so, most figures must be what they were.
        let is_shown = is_most(if mean > 0.0 { more } else { less });
        (is_most(more) || is_most(less) || stays).then_some((now, is_shown))
    }

    /// What the figures count in now, as far as a change of it that is known has not been undone.
    pub(super) fn unit_stays_changed(&self) -> Option<DistanceUnit> {
        self.unit_shown(true).map(|(now, _)| now)
    }

    /// Whether the earlier export is read by the unit of its time, which was another one under the same header.
    fn is_read_by_another_unit(&self) -> bool {
        self.was.header == self.column.header
            && self.was.meaning.distance_unit != self.column.meaning.distance_unit
    }

    /// The figures have changed by the factor between miles and kilometres, and nothing says why; or a header says that
    /// they have, and they have not.
    fn figures_changed(&self, now: DistanceUnit, is_shown: bool) -> Told {
        let line = self.terms.write(&[unit_line(self.column, now)], &[self.column]);
        let (now, was) = (now.plural(), now.other().plural());
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
                if is_shown {
                    format!("If they are {now} now, {line}. Otherwise export it again.")
                } else {
                    "Put the figures right, and export it again.".to_owned()
                },
            ),
        };
        let problem = Problem::error(self.now.table.whole(), what, help);
        (Change { key: unit_key(self.column), lasts: Lasts::Held, problem }, Some(self.figures()))
    }

    /// Whether some figures are exactly what they were in the other unit: riding does not do that.
    fn exactly_kilometres(&self) -> Option<Told> {
        /// Figures are rounded to whole ones.
        const ROUNDED: f64 = 0.51;
        if self.column.field != Field::Clock || self.is_unit_agreed_now() {
            return None;
        }
        let figures = self.figures_of_rows();
        let exact = |factor: f64| {
            let is_exact =
                |(was, is): &&(f64, f64)| *was >= LEAST_MILES && (is - was * factor).abs() <= ROUNDED;
            figures.iter().filter(is_exact).count()
        };
        let (more, less) = (exact(KILOMETRES_A_MILE), exact(1.0 / KILOMETRES_A_MILE));
        let count = more.max(less);
        if count < LEAST_MACHINES && (count < LEAST_OF_FEW || count < figures.len()) {
            return None;
        }
        let (was, now) = if more > less { ("miles", "km") } else { ("km", "miles") };
        let what = format!(
            "{count} figures in {} are exactly what they were in {was}, in {now}; the column is not read, and what was read \
             before still counts",
            self.subject()
        );
        let help = format!("Export it again in one unit, or write `{now}` behind each of these figures.");
        let problem = Problem::error(self.now.table.whole(), what, help);
        Some((self.change("some unit", Lasts::Held, problem), Some(Doubt::All)))
    }

    /// Whether the owner has said of the figures since they changed what they count in.
    pub(super) fn is_unit_agreed_now(&self) -> bool {
        let is_said = |what: &str| self.terms.is_known(&self.key(what));
        self.terms.unit_said_of(self.column).is_some() && (is_said("unit") || is_said("some unit"))
    }

    /// What is not taken of figures that are in doubt: a clock has none that could stand on another day.
    fn figures(&self) -> Doubt {
        if self.column.field == Field::Clock { Doubt::All } else { Doubt::Held }
    }

    /// Most of the same rows have another day.
    fn other_days(&self) -> Option<Told> {
        let altered = self.altered(OTHER_DAYS).filter(|_| !self.is_order_agreed_now())?;
        let what = format!(
            "{} of {} rows have another day in {} than before, by more than a month; what they said before stands",
            altered.others,
            altered.rows,
            self.subject()
        );
        Some((self.held(OTHER_DAYS, what), Some(Doubt::Held)))
    }

    /// Most of the same rows have a clock that fell, or that nobody can have ridden up to.
    fn other_clocks(&self) -> Option<Told> {
        let altered = self.altered(OTHER_CLOCKS).filter(|_| !self.is_unit_agreed_now())?;
        let what = format!(
            "{} of {} figures in {} fell, or rose by more than can have been ridden; it is not read, and what was read \
             before still counts",
            altered.others,
            altered.rows,
            self.subject()
        );
        Some((self.held(OTHER_CLOCKS, what), Some(Doubt::All)))
    }

    /// What the same rows show of a column under the same header; of one that was renamed the owner has been asked.
    /// What is known from an earlier round ends once the sheet has been put back, and not before.
    fn altered(&self, what: &str) -> Option<Altered> {
        let is_same = Header::new(&self.was.header).is_same(&Header::new(&self.column.header));
        if !is_same {
            return None;
        }
        let key = self.key(what);
        let between = self.terms.days_between(&key);
        let columns = ((self.before, self.was), (self.now, self.column));
        let altered = values::altered(&self.rows, columns.0, columns.1, self.terms, PUT_OFF, between);
        let is_so = if self.terms.is_known(&key) { altered.speak_against() } else { altered.are_most() };
        is_so.then_some(altered)
    }

    /// The new rows count in another unit than those before them.
    fn new_figures_differ(&self, is_more: bool) -> Told {
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
        (self.change("new unit", Lasts::Held, problem), Some(Doubt::All))
    }

    /// What the same rows said and say, each in its own unit where one is written.
    pub(super) fn figures_of_rows(&self) -> &[(f64, f64)] {
        let both = |(earlier, later)| Some((self.measure_before(earlier)?, self.measure_now(later)?));
        self.figures.get_or_init(|| self.rows.pairs().filter_map(both).collect())
    }

    /// The highest figure that each machine of a log had, and the lowest of its new ones.
    pub(super) fn figures_of_new_rows(&self) -> Vec<(f64, f64)> {
        let both = |(had, new): (Vec<Row<'_>>, Vec<Row<'_>>)| {
            let had = had.into_iter().filter_map(|row| self.measure_before(row)).reduce(f64::max)?;
            let new = new.into_iter().filter_map(|row| self.measure_now(row)).reduce(f64::min)?;
            Some((had, new))
        };
        MatchedRows::new_rows(self.before, self.now).into_iter().filter_map(both).collect()
    }

    pub(super) fn measure_before(&self, row: Row<'_>) -> Option<f64> {
        self.measure(row, self.was, self.before)
    }

    pub(super) fn measure_now(&self, row: Row<'_>) -> Option<f64> {
        self.measure(row, self.column, self.now)
    }

    /// The distance in a row, in miles; `None` where there is none above nought.
    fn measure(&self, row: Row<'_>, column: &ColumnRead, side: &Side<'_>) -> Option<f64> {
        values::miles(row, column, side, self.terms).filter(|miles| *miles > 0.0)
    }
}

/// What says of this column alone what its distances count in: others of the sheet may count in what they did.
fn unit_line(column: &ColumnRead, unit: DistanceUnit) -> String {
    line(&column.header, &format!("{} in {}", column.field.name(), unit.plural()))
}

/// What a change of unit is known by from day to day.
pub(super) fn unit_key(column: &ColumnRead) -> String {
    format!("unit {}", column.header)
}

/// By how much each figure is more than it was.
pub(super) fn ratios(figures: &[(f64, f64)]) -> Vec<f64> {
    figures.iter().map(|(was, is)| is / was).collect()
}

fn is_near(ratio: f64, factor: f64) -> bool {
    (ratio / factor - 1.0).abs() <= TOLERANCE
}
