//! Settles, column by column, how its figures are meant: day or month first, point or comma, which unit.

use super::assign::Assigned;
use super::header::Header;
use super::{order_by_rows, whole_file};
use crate::settings::{AgreedColumn, AgreedSheet, DateOrder};
use crate::sheets::{Cell, Table};
use crate::units::{DecimalMark, DistanceUnit, Number, SpeedUnit, VolumeUnit};
use crate::yard::Field;
use crate::yard::cells::Meaning;
use crate::yard::days::{self, ColumnOrder, DayReadings, OrderVotes};
use crate::yard::field::Shape;
use crate::yard::result_words::Signs;

/// How a column's figures are meant, and whether its dates rest on an assumption.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Settled {
    pub(super) meaning: Meaning,
    /// The first date in it that may be either, where only the shop's setting decided; `None` where something told.
    pub(super) undecided: Option<String>,
    /// The one date that speaks against that setting.
    pub(super) contrary: Option<String>,
    /// What beside the sheet's own dates decided their order, where that did: `as in Jobs, cell B4: 13/01/2026`.
    pub(super) shown_by: Option<String>,
    /// Whether distances stand in it of which neither cell nor column says the unit.
    pub(super) unit_is_open: bool,
    /// What its dates prove by themselves; nothing where one slip of the keyboard does.
    pub(super) proven_order: Option<ColumnOrder>,
}

/// What the cells of one column say by themselves.
#[derive(Debug, Clone, Copy, Default)]
struct Votes {
    order: OrderVotes,
    undecided_days: usize,
    /// Those of them that are parted by points.
    dotted_days: usize,
    /// Days that fit either order, those that are the same day in both among them.
    fitting_days: usize,
    /// Real dates that would be another day with day and month changed round, and those that would be none.
    low_days: usize,
    high_days: usize,
    points: usize,
    commas: usize,
    /// Figures whose thousands may be parted by a comma.
    grouped: usize,
    /// Figures without a unit behind them.
    bare: usize,
}

impl Votes {
    /// Whether one date alone proves the order that is not expected, and stands among some that may be either: one slip
    /// of the keyboard must not turn a column round. A real export has many dates past the twelfth.
    fn is_slip_against(self, expected: DateOrder) -> bool {
        self.order.against(expected) == 1 && self.undecided_days > 0
    }

    /// Points part dates where the day comes first; the month comes first with strokes only. Common practice, no source.
    fn order_of_points(self) -> Option<DateOrder> {
        let is_told = self.undecided_days > 0 && self.dotted_days == self.undecided_days;
        is_told.then_some(DateOrder::DayFirst)
    }

    /// Whether a spreadsheet program that expects the other order has opened the column's dates: it makes real dates
    /// of those that fit, with day and month changed round, and leaves the others as texts. Real dates and texts side
    /// by side show it where each could be on its own side only.
    ///
    /// Where the texts fit only the order that the shop does not write, one real date beside one of them is enough.
    fn are_changed_round(self, expected: DateOrder) -> bool {
        /// Three dates of either kind are so by chance in one column of seventy: 0.39³ × 0.61³ (12 days of a month's
        /// 30.44).
        const LEAST_OF_EITHER: usize = 3;
        let least = if self.order.against(expected) > 0 { 1 } else { LEAST_OF_EITHER };
        let texts = self.order.against(DateOrder::DayFirst) + self.order.against(DateOrder::MonthFirst);
        matches!(self.order.settled(), Some(ColumnOrder::Settled(_)))
            && texts >= least
            && self.low_days >= least
            && self.fitting_days == 0
            && self.high_days == 0
    }
}

/// How each assigned column is meant, in the order of the assigned ones.
pub(super) fn settle(
    table: &Table,
    header_row: usize,
    headers: &[Header],
    assigned: &[Assigned],
    agreed: Option<&AgreedSheet>,
    shop_order: DateOrder,
) -> Vec<Settled> {
    let votes: Vec<Votes> = assigned.iter().map(|one| votes(table, header_row, one)).collect();
    let agreed_order = agreed.and_then(|sheet| sheet.date_order);
    let own_order = |one: &Assigned| order_of_column(agreed, &headers[one.column]);
    // A column of which the owner has said it tells nothing of the others.
    let silent = assigned.iter().zip(&votes).filter(|(one, _)| own_order(one).is_none());
    let neighbours =
        order_beside(silent.map(|(_, votes)| *votes).collect(), agreed_order.unwrap_or(shop_order));
    let told_of_sheet = |one: &Assigned, votes: &Votes| {
        let said = own_order(one).or(headers[one.column].order).or(agreed_order);
        said.or(neighbours).or(votes.order_of_points())
    };
    let is_open =
        |(one, votes): (&Assigned, &Votes)| votes.undecided_days > 0 && told_of_sheet(one, votes).is_none();
    let beyond = if assigned.iter().zip(&votes).any(is_open) {
        whole_file::order_of_file(&table.file, shop_order)
            .or_else(|| order_by_rows::order_by_rows(table, header_row, assigned))
    } else {
        None
    };
    let meanings = assigned.iter().zip(votes).map(|(one, votes)| {
        let header = &headers[one.column];
        let agreed_order = own_order(one).or(agreed_order);
        let of_sheet = told_of_sheet(one, &votes);
        let beyond = beyond.as_ref().filter(|_| of_sheet.is_none() && votes.undecided_days > 0);
        let told = of_sheet.or(beyond.map(|(order, _)| *order));
        let order = order_of(&votes, told, (agreed_order, shop_order));
        let is_slip = matches!(order, ColumnOrder::Expected(_) | ColumnOrder::Doubtful(_));
        let is_own = votes.order.settled().is_some() && !is_slip;
        let is_decided = is_own || told.is_some();
        let shown_by = beyond.filter(|_| !is_own);
        let meaning = Meaning {
            order,
            from_1904: table.counts_from_1904,
            may_be_changed_round: votes.are_changed_round(agreed_order.unwrap_or(shop_order)),
            decimal_is_shown: votes.commas + votes.points > 0,
            thousands_by_comma: votes.grouped > votes.commas,
            decimal: if votes.commas > votes.points { DecimalMark::Comma } else { DecimalMark::Point },
            distance_unit: unit_of_column(agreed, header)
                .or(header.distance_unit)
                .or(agreed.and_then(|sheet| sheet.distances)),
            speed_unit: header.speed_unit.unwrap_or(SpeedUnit::MilesAnHour),
            volume_unit: header.volume_unit.unwrap_or(VolumeUnit::Litres),
            signs: Signs {
                ticks: agreed.and_then(|sheet| sheet.ticks),
                yes_is_done: matches!(one.field, Field::InspectionResult | Field::QualityResult),
            },
        };
        let is_assumed = votes.undecided_days > 0 && !is_decided;
        Settled {
            meaning,
            undecided: is_assumed.then(|| first_undecided(table, header_row, one.column)).flatten(),
            contrary: match order {
                ColumnOrder::Doubtful(order) => first_against(order, table, header_row, one.column),
                _ => None,
            },
            unit_is_open: one.field.shape() == Shape::Distance
                && votes.bare > 0
                && meaning.distance_unit.is_none(),
            // The next export may lack what decided it.
            proven_order: votes
                .order
                .settled()
                .filter(|_| !is_slip)
                .or(shown_by.map(|(order, _)| ColumnOrder::Settled(*order))),
            shown_by: shown_by.map(|(_, cell)| cell.clone()),
        }
    });
    meanings.collect()
}

/// What the owner has said of that one column's distances, which counts before its header.
fn unit_of_column(agreed: Option<&AgreedSheet>, header: &Header) -> Option<DistanceUnit> {
    said_of(agreed, header).find_map(|column| column.distances)
}

/// Which of day and month comes first in that one column, as the owner has said it.
fn order_of_column(agreed: Option<&AgreedSheet>, header: &Header) -> Option<DateOrder> {
    said_of(agreed, header).find_map(|column| column.date_order)
}

/// What the owner has said of the column with that header.
fn said_of<'a>(
    agreed: Option<&'a AgreedSheet>,
    header: &'a Header,
) -> impl Iterator<Item = &'a AgreedColumn> {
    let is_it = |said: &Header| said.shown == header.shown || said.is_same(header);
    let columns = agreed.into_iter().flat_map(|sheet| &sheet.columns);
    columns.filter(move |column| is_it(&Header::new(&column.header)))
}

/// The first date of a column that is one day with the day first and another with the month first.
fn first_undecided(table: &Table, header_row: usize, column: usize) -> Option<String> {
    first_date(table, header_row, column, DayReadings::is_undecided)
}

/// The first date of a column that proves the other order.
fn first_against(order: DateOrder, table: &Table, header_row: usize, column: usize) -> Option<String> {
    first_date(table, header_row, column, |readings| readings.proves().is_some_and(|proven| proven != order))
}

/// The first date of a column that reads like that.
fn first_date(
    table: &Table,
    header_row: usize,
    column: usize,
    is_one: impl Fn(DayReadings) -> bool,
) -> Option<String> {
    let rows = table.rows().part(header_row + 1..);
    let mut cells = rows.iter().map(|row| row.cell(column));
    let is_one = |cell: &Cell<'_>| matches!(cell, Cell::Text(text) if is_one(days::readings(text)));
    cells.find(is_one).map(|cell| cell.shown())
}

/// The order of a column, by its dates and by what else tells it.
fn order_of(
    votes: &Votes,
    told: Option<DateOrder>,
    (agreed, shop_order): (Option<DateOrder>, DateOrder),
) -> ColumnOrder {
    let expected = told.unwrap_or(shop_order);
    match votes.order.settled() {
        Some(ColumnOrder::Settled(_)) if votes.is_slip_against(expected) => match told {
            Some(told) => ColumnOrder::Expected(told),
            None => ColumnOrder::Doubtful(expected),
        },
        Some(ColumnOrder::Mixed) => agreed.map_or(ColumnOrder::Mixed, ColumnOrder::Settled),
        Some(settled) => settled,
        None => ColumnOrder::Settled(expected),
    }
}

/// The order that the columns of a sheet show together.
fn order_beside(votes: Vec<Votes>, expected: DateOrder) -> Option<DateOrder> {
    order_of_neighbours(&votes, expected).or_else(|| order_of_all(&votes, expected))
}

/// The order that is not expected, where dates of two columns prove it and none of any column the expected one: one
/// slip of the keyboard does not happen in two columns.
fn order_of_all(votes: &[Votes], expected: DateOrder) -> Option<DateOrder> {
    let other = expected.other();
    let is_expected_anywhere = votes.iter().any(|votes| votes.order.against(other) > 0);
    let proving = votes.iter().filter(|votes| votes.order.against(expected) > 0).count();
    (proving > 1 && !is_expected_anywhere).then_some(other)
}

/// The order that the columns of the sheet settle, where they agree and no slip of the keyboard does.
fn order_of_neighbours(votes: &[Votes], expected: DateOrder) -> Option<DateOrder> {
    let sound = votes.iter().filter(|votes| !votes.is_slip_against(expected));
    let mut orders = sound.filter_map(|votes| votes.order.settled());
    let first = orders.next()?;
    match first {
        ColumnOrder::Settled(order) if orders.all(|other| other == first) => Some(order),
        _ => None,
    }
}

/// What a column's texts prove; real dates and numbers need no order and no mark, and only show whether they were
/// changed round.
fn votes(table: &Table, header_row: usize, assigned: &Assigned) -> Votes {
    let mut votes = Votes::default();
    let shape = assigned.field.shape();
    let holds_days = matches!(shape, Shape::Day | Shape::DayOrFlag | Shape::Result);
    let holds_numbers = matches!(shape, Shape::Distance | Shape::Speed | Shape::Volume | Shape::Cc);
    if !holds_days && !holds_numbers {
        return votes;
    }
    for row in table.rows().part(header_row + 1..).iter() {
        let text = match row.cell(assigned.column) {
            Cell::Text(text) => text,
            Cell::Day(day) if holds_days => {
                votes.low_days += usize::from(day.day() <= 12 && day.day() != day.month());
                votes.high_days += usize::from(day.day() > 12);
                continue;
            }
            Cell::Number(_) => {
                votes.bare += 1;
                continue;
            }
            _ => continue,
        };
        votes.bare += usize::from(text.trim_end().ends_with(|letter: char| letter.is_ascii_digit()));
        if holds_days {
            let readings = days::readings(text);
            votes.order.count(readings);
            votes.undecided_days += usize::from(readings.is_undecided());
            votes.dotted_days +=
                usize::from(readings.is_undecided() && text.contains('.') && !text.contains('/'));
            votes.fitting_days += usize::from(readings.day_first.is_some() && readings.month_first.is_some());
        } else if text.contains([',', '.']) {
            let figures =
                text.trim_end_matches(|letter: char| letter.is_alphabetic() || letter.is_whitespace());
            let readings = Number::readings(figures);
            let is_grouped = figures.contains(',') && readings.with_point.is_some();
            votes.grouped += usize::from(is_grouped);
            match readings.proves() {
                Some(DecimalMark::Point) => votes.points += 1,
                Some(DecimalMark::Comma) => votes.commas += 1,
                // `1,234` is how Britain writes it; it counts against a comma that parts the fraction.
                None => votes.points += usize::from(is_grouped),
            }
        }
    }
    votes
}
