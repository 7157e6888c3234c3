//! Moments that a text file writes in world time, on the shop's own day: half past eleven at night of world time is the next
//! day in a British summer.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::Timestamp;
use jiff::tz::{Offset, TimeZone};

use crate::sheets::{Cell, Table};

/// The same table, with each moment in world time written as the zone's clocks showed it, so that all times of a column are
/// of one zone. Of workbooks none is, whose days are cells of their own.
pub(super) fn in_zone(table: &mut Table, zone: &TimeZone) {
    if table.name.sheet.is_some() {
        return;
    }
    let mut local: HashMap<(u32, usize), String> = HashMap::new();
    for row in table.rows().iter() {
        for (place, cell) in row.cells().enumerate() {
            if let Cell::Text(text) = cell
                && let Some(text) = on_local_day(text, zone)
            {
                local.insert((row.number, place), text);
            }
        }
    }
    if local.is_empty() {
        return;
    }
    let rows = table.rows().iter().map(|row| {
        let cells = row.cells().enumerate();
        let cell = |(place, cell)| local.get(&(row.number, place)).map_or(cell, |text| Cell::Text(text));
        (row.number, cells.map(cell).collect::<Vec<Cell<'_>>>())
    });
    let moved = Table::new(Arc::clone(&table.name), table.counts_from_1904, rows);
    *table = moved;
}

/// The moment as the zone's clocks showed it; `None` where the text is no moment in world time, or the clocks show that.
fn on_local_day(text: &str, zone: &TimeZone) -> Option<String> {
    /// `2026-06-30T23:30Z` is the shortest.
    const SHORTEST: usize = 17;
    let text = text.trim();
    let is_in_world_time = text.ends_with('Z') || text.ends_with("+00:00");
    if text.len() < SHORTEST || !is_in_world_time || text.as_bytes()[4] != b'-' {
        return None;
    }
    let moment = text.parse::<Timestamp>().ok()?;
    let offset = zone.to_offset(moment);
    let local = offset.to_datetime(moment);
    (offset != Offset::UTC).then(|| local.strftime("%Y-%m-%dT%H:%M:%S").to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_in_world_time_is_the_one_that_the_shops_clocks_showed() {
        let zone = TimeZone::get("Europe/London").expect("a zone that there is");
        let cases = [
            ("2026-06-30T23:30:00Z", Some("2026-07-01T00:30:00")),
            ("2026-06-30 23:30:00.25+00:00", Some("2026-07-01T00:30:00")),
            // Winter has world time, and whoever writes an offset writes the day of the place.
            ("2026-12-31T23:30:00Z", None),
            ("2026-06-30T22:59:00Z", Some("2026-06-30T23:59:00")),
            ("2026-06-30T23:30:00+01:00", None),
            ("2026-06-30", None),
            ("a text that is long and ends in Z", None),
        ];
        for (text, expected) in cases {
            assert_eq!(on_local_day(text, &zone).as_deref(), expected, "{text}");
        }
    }
}
