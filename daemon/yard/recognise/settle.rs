//! Settles, column by column, how its figures are meant: day or month first, point or comma, which unit.

use super::assign::Assigned;
use super::header::Header;
use crate::settings::{AgreedSheet, DateOrder};
use crate::sheets::{Cell, Table};
use crate::units::{DecimalMark, Number, SpeedUnit, VolumeUnit};
use crate::yard::cells::Meaning;
use crate::yard::days::{self, ColumnOrder, OrderVotes};
use crate::yard::field::Shape;

/// How a column's figures are meant, and whether its dates rest on an assumption.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Settled {
    pub(super) meaning: Meaning,
    /// Whether dates in it may be either, and only the shop's setting decided.
    pub(super) order_is_assumed: bool,
}

/// What the cells of one column say by themselves.
#[derive(Debug, Clone, Copy, Default)]
struct Votes {
    order: OrderVotes,
    undecided_days: usize,
    points: usize,
    commas: usize,
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
    let neighbours = order_of_neighbours(&votes);
    let agreed_order = agreed.and_then(|sheet| sheet.date_order);
    let meanings = assigned.iter().zip(votes).map(|(one, votes)| {
        let header = &headers[one.column];
        let told = header.order.or(agreed_order).or(neighbours);
        let order = match votes.order.settled() {
            Some(ColumnOrder::Mixed) => agreed_order.map_or(ColumnOrder::Mixed, ColumnOrder::Settled),
            Some(settled) => settled,
            None => ColumnOrder::Settled(told.unwrap_or(shop_order)),
        };
        let is_decided = votes.order.settled().is_some() || told.is_some();
        let meaning = Meaning {
            order,
            from_1904: table.counts_from_1904,
            decimal: if votes.commas > votes.points { DecimalMark::Comma } else { DecimalMark::Point },
            distance_unit: header.distance_unit.or(agreed.and_then(|sheet| sheet.distances)),
            speed_unit: header.speed_unit.unwrap_or(SpeedUnit::MilesAnHour),
            volume_unit: header.volume_unit.unwrap_or(VolumeUnit::Litres),
        };
        Settled { meaning, order_is_assumed: votes.undecided_days > 0 && !is_decided }
    });
    meanings.collect()
}

/// The order that the other columns of the sheet settle, where they agree.
fn order_of_neighbours(votes: &[Votes]) -> Option<DateOrder> {
    let mut orders = votes.iter().filter_map(|votes| votes.order.settled());
    let first = orders.next()?;
    match first {
        ColumnOrder::Settled(order) if orders.all(|other| other == first) => Some(order),
        _ => None,
    }
}

/// What a column's texts prove; real dates and numbers prove nothing, since they need no order and no mark.
fn votes(table: &Table, header_row: usize, assigned: &Assigned) -> Votes {
    let mut votes = Votes::default();
    let shape = assigned.field.shape();
    let holds_days = matches!(shape, Shape::Day | Shape::DayOrFlag | Shape::Result);
    let holds_numbers = matches!(shape, Shape::Distance | Shape::Speed | Shape::Volume | Shape::Cc);
    if !holds_days && !holds_numbers {
        return votes;
    }
    for row in table.rows.get(header_row + 1..).unwrap_or_default() {
        let Cell::Text(text) = row.cell(assigned.column) else { continue };
        if holds_days {
            let readings = days::readings(text);
            votes.order.count(readings);
            votes.undecided_days += usize::from(readings.is_undecided());
        } else if text.contains([',', '.']) {
            let figures =
                text.trim_end_matches(|letter: char| letter.is_alphabetic() || letter.is_whitespace());
            let readings = Number::readings(figures);
            match readings.proves() {
                Some(DecimalMark::Point) => votes.points += 1,
                Some(DecimalMark::Comma) => votes.commas += 1,
                // `1,234` is how Britain writes it; it counts against a comma that parts the fraction.
                None => votes.points += usize::from(readings.with_point.is_some() && figures.contains(',')),
            }
        }
    }
    votes
}
