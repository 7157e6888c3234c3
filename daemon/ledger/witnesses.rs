//! By which columns the records of the ledger are told: each set of columns once, by its number.

use std::collections::BTreeMap;

use rusqlite::Connection;

use super::failure::Trouble;
use super::words::{body, written_body};
use crate::yard::Witness;

/// The witnesses of a ledger; one that is new to it gets a number.
pub(super) struct Witnesses<'a> {
    connection: &'a Connection,
    by_number: BTreeMap<i64, Witness>,
}

impl<'a> Witnesses<'a> {
    pub(super) fn read(connection: &'a Connection) -> Result<Witnesses<'a>, Trouble> {
        let mut statement = connection.prepare("SELECT id, columns FROM witness")?;
        let mut rows = statement.query([])?;
        let mut by_number = BTreeMap::new();
        while let Some(row) = rows.next()? {
            by_number.insert(row.get(0)?, body(&row.get::<_, String>(1)?)?);
        }
        Ok(Witnesses { connection, by_number })
    }

    /// The witness of a record, by its number; one without columns where nobody noted any.
    pub(super) fn of(&self, number: Option<i64>) -> Witness {
        number.and_then(|number| self.by_number.get(&number)).cloned().unwrap_or_default()
    }

    /// The number of what a record is told by today, with what it was told by before and is not today.
    pub(super) fn joined(
        &mut self,
        today: Option<&Witness>,
        before: Option<i64>,
    ) -> Result<Option<i64>, Trouble> {
        let Some(today) = today.filter(|today| !today.is_unknown()) else { return Ok(before) };
        let was = before.and_then(|number| self.by_number.get(&number));
        if was == Some(today) {
            return Ok(before);
        }
        let joined = was.map_or_else(|| today.clone(), |was| today.with_what_was_known(was));
        if let Some((number, _)) = self.by_number.iter().find(|(_, known)| **known == joined) {
            return Ok(Some(*number));
        }
        let mut add = self.connection.prepare_cached("INSERT INTO witness (columns) VALUES (?1)")?;
        let number = add.insert([written_body(&joined)])?;
        self.by_number.insert(number, joined);
        Ok(Some(number))
    }
}
