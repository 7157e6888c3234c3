//! Values with the places they were read from, as the ledger writes them: `[value, sheet, row, column]`.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use rusqlite::{Connection, params};
use serde::{Deserialize, Serialize};

use super::failure::Trouble;
use super::words::UNREADABLE;
use crate::origin::{Entry, Origin, SheetName};
use crate::yard::{FrameNumber, Identity, Mark, StockNumber};

/// A place in a sheet: the sheet's number in the ledger, the row from 1, the column from 0.
#[derive(Debug, Clone, Copy, Serialize, Deserialize)]
pub(super) struct CellPlace(pub(super) i64, u32, u32);

/// A value and its place.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Kept<T>(T, i64, u32, u32);

/// What a machine or a row is known by.
#[derive(Debug, Serialize, Deserialize)]
pub(super) struct KeptNames {
    mark: Option<Kept<String>>,
    frame_no: Option<Kept<String>>,
    stock_no: Option<Kept<String>>,
}

/// The sheets of the ledger by number, for reading.
pub(super) struct SheetsByNumber(BTreeMap<i64, Arc<SheetName>>);

impl SheetsByNumber {
    pub(super) fn read(connection: &Connection) -> Result<SheetsByNumber, Trouble> {
        let mut statement = connection.prepare("SELECT id, file, sheet FROM sheet")?;
        let rows = statement.query_map([], |row| {
            Ok((row.get(0)?, Arc::new(SheetName { file: row.get(1)?, sheet: row.get(2)? })))
        })?;
        Ok(SheetsByNumber(rows.collect::<Result<_, _>>()?))
    }

    pub(super) fn origin(&self, place: CellPlace) -> Result<Origin, Trouble> {
        let CellPlace(sheet, row, column) = place;
        let name = self.0.get(&sheet).ok_or(UNREADABLE)?;
        Ok(Origin { name: Arc::clone(name), row, column })
    }

    pub(super) fn entry<T>(&self, kept: Kept<T>) -> Result<Entry<T>, Trouble> {
        let Kept(value, sheet, row, column) = kept;
        Ok(Entry { value, origin: self.origin(CellPlace(sheet, row, column))? })
    }

    pub(super) fn maybe<T>(&self, kept: Option<Kept<T>>) -> Result<Option<Entry<T>>, Trouble> {
        kept.map(|kept| self.entry(kept)).transpose()
    }

    pub(super) fn identity(&self, names: KeptNames) -> Result<Identity, Trouble> {
        Ok(Identity {
            mark: self.name(names.mark, Mark::new)?,
            frame_no: self.name(names.frame_no, FrameNumber::new)?,
            stock_no: self.name(names.stock_no, StockNumber::new)?,
        })
    }

    fn name<T>(
        &self,
        kept: Option<Kept<String>>,
        named: impl FnOnce(&str) -> Option<T>,
    ) -> Result<Option<Entry<T>>, Trouble> {
        let Some(entry) = self.maybe(kept)? else { return Ok(None) };
        let value = named(&entry.value).ok_or(UNREADABLE)?;
        Ok(Some(Entry { value, origin: entry.origin }))
    }
}

/// The sheets of the ledger by name, for writing; a sheet that is new to it gets a number.
pub(super) struct SheetsByName<'a> {
    connection: &'a Connection,
    numbers: HashMap<Arc<SheetName>, i64>,
}

impl<'a> SheetsByName<'a> {
    pub(super) fn read(connection: &'a Connection) -> Result<SheetsByName<'a>, Trouble> {
        let SheetsByNumber(sheets) = SheetsByNumber::read(connection)?;
        let numbers = sheets.into_iter().map(|(number, name)| (name, number)).collect();
        Ok(SheetsByName { connection, numbers })
    }

    pub(super) fn place(&mut self, origin: &Origin) -> Result<CellPlace, Trouble> {
        let number = match self.numbers.get(&origin.name) {
            Some(number) => *number,
            None => {
                self.connection.execute(
                    "INSERT INTO sheet (file, sheet) VALUES (?1, ?2)",
                    params![origin.name.file, origin.name.sheet],
                )?;
                let number = self.connection.last_insert_rowid();
                self.numbers.insert(Arc::clone(&origin.name), number);
                number
            }
        };
        Ok(CellPlace(number, origin.row, origin.column))
    }

    pub(super) fn kept<T: Clone>(&mut self, entry: &Entry<T>) -> Result<Kept<T>, Trouble> {
        let CellPlace(sheet, row, column) = self.place(&entry.origin)?;
        Ok(Kept(entry.value.clone(), sheet, row, column))
    }

    pub(super) fn maybe<T: Clone>(&mut self, entry: &Option<Entry<T>>) -> Result<Option<Kept<T>>, Trouble> {
        entry.as_ref().map(|entry| self.kept(entry)).transpose()
    }

    pub(super) fn names(&mut self, identity: &Identity) -> Result<KeptNames, Trouble> {
        Ok(KeptNames {
            mark: self.name(&identity.mark, Mark::as_str)?,
            frame_no: self.name(&identity.frame_no, FrameNumber::as_str)?,
            stock_no: self.name(&identity.stock_no, StockNumber::as_str)?,
        })
    }

    fn name<T>(
        &mut self,
        entry: &Option<Entry<T>>,
        text: impl FnOnce(&T) -> &str,
    ) -> Result<Option<Kept<String>>, Trouble> {
        let Some(entry) = entry else { return Ok(None) };
        let CellPlace(sheet, row, column) = self.place(&entry.origin)?;
        Ok(Some(Kept(text(&entry.value).to_owned(), sheet, row, column)))
    }
}
