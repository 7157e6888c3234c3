//! The letters that a clock which was ahead sent before their day, so that the day itself has not been told.

use std::collections::BTreeSet;

use jiff::civil::Date;
use rusqlite::Connection;

use super::failure::Trouble;
use super::words::day;

/// Of how many earlier days the letters were kept after a morning letter. What lies more than a month before is the work
/// of a clock that is years behind.
const EARLIER_DAYS_AFTER: &str = "(SELECT count(DISTINCT earlier.day) FROM letter AS earlier \
     WHERE earlier.kind = 'morning' AND earlier.id > letter.id AND earlier.day < letter.day \
     AND earlier.day >= date(letter.day, '-31 days'))";

/// Whether a morning letter was sent ahead: those of two earlier days were kept after it. A single one proves nothing: a
/// clock that is behind for a while tells a missed day after a later one, too, and no day may be told twice.
fn sent_ahead() -> String {
    format!("({EARLIER_DAYS_AFTER} >= 2)")
}

/// The newest days that have their morning letter.
pub(super) fn days_told(connection: &Connection, most: u32) -> Result<BTreeSet<Date>, Trouble> {
    let sql = format!(
        "SELECT DISTINCT day FROM letter WHERE kind = 'morning' AND NOT {} ORDER BY day DESC LIMIT ?1",
        sent_ahead()
    );
    days(connection, &sql, most)
}

/// The newest days of which there are only letters that were sent ahead.
pub(super) fn days_to_tell_anew(connection: &Connection, most: u32) -> Result<BTreeSet<Date>, Trouble> {
    let sql = format!(
        "SELECT day FROM letter WHERE kind = 'morning' GROUP BY day HAVING min({}) = 1 \
         ORDER BY day DESC LIMIT ?1",
        sent_ahead()
    );
    days(connection, &sql, most)
}

fn days(connection: &Connection, sql: &str, most: u32) -> Result<BTreeSet<Date>, Trouble> {
    let mut statement = connection.prepare(sql)?;
    let mut rows = statement.query([most])?;
    let mut days = BTreeSet::new();
    while let Some(row) = rows.next()? {
        days.insert(day(&row.get::<_, String>(0)?)?);
    }
    Ok(days)
}

/// Whether a day's morning letter is kept, however far it has come.
pub(super) fn has_morning(connection: &Connection, day: Date) -> Result<bool, Trouble> {
    let sql = format!(
        "SELECT EXISTS (SELECT 1 FROM letter WHERE day = ?1 AND kind = 'morning' AND NOT {})",
        sent_ahead()
    );
    Ok(connection.query_row(&sql, [day.to_string()], |row| row.get(0))?)
}

/// Whether a letter of the day was kept before that of an earlier day: then the clock was wrong for one of them.
pub(super) fn is_out_of_order(connection: &Connection, day: Date) -> Result<bool, Trouble> {
    let sql = format!(
        "SELECT EXISTS (SELECT 1 FROM letter WHERE day = ?1 AND kind = 'morning' AND {EARLIER_DAYS_AFTER} > 0)"
    );
    Ok(connection.query_row(&sql, [day.to_string()], |row| row.get(0))?)
}
