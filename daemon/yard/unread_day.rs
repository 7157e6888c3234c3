//! Days of a machine's row that are written down and not known: they can be no reason to say nothing of it.

use super::{Field, MachineRow};
use crate::origin::Origin;

/// Such a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnreadDay {
    /// What it tells of: [`Field::Registered`], [`Field::Sold`] or [`Field::Handover`].
    pub field: Field,
    /// The cell that it stands in.
    pub origin: Origin,
    /// The header of its column, where the column's new values are not taken; `None` where the cell cannot be read.
    pub held: Option<String>,
}

impl UnreadDay {
    /// What facts that lack it are called.
    fn facts(&self) -> &'static [&'static str] {
        match self.field {
            Field::Registered => &["first registration", "registration", "registration day"],
            Field::Sold => &["day sold"],
            _ => &["handover"],
        }
    }

    /// Why it is not known.
    fn why(&self) -> String {
        let column = crate::origin::column_name(self.origin.column);
        self.held.as_ref().map_or_else(
            || format!("{} cannot be read", self.origin.cell()),
            |header| format!("what column {column} `{header}` says now is not taken"),
        )
    }
}

impl MachineRow {
    /// The day that is written down for a field and not known; `None` where a row gives one that is.
    pub fn unread_day(&self, field: Field) -> Option<&UnreadDay> {
        let known = match field {
            Field::Registered => self.registered.is_some(),
            Field::Sold => self.sold.is_some(),
            _ => self.handover.is_some(),
        };
        self.unread.iter().find(|unread| unread.field == field && !known)
    }

    /// A missing fact with why it is not known, where it is a day that is written down.
    pub fn why_unread(&self, fact: &str) -> Option<String> {
        let fields = [Field::Registered, Field::Sold, Field::Handover];
        let mut unread = fields.into_iter().filter_map(|field| self.unread_day(field));
        let unread = unread.find(|unread| unread.facts().contains(&fact))?;
        Some(format!("{fact} ({})", unread.why()))
    }
}
