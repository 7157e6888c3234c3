//! What the owner has said of a change: that values which looked wrong are right, and what a column's distances count in.

use jiff::civil::Date;

use super::{ColumnRead, Header, Terms, line};
use crate::settings::{AgreedColumn, DateOrder};
use crate::units::{Days, DistanceUnit};

impl Terms<'_> {
    /// Whether an earlier round has found a change.
    pub(super) fn is_known(&self, key: &str) -> bool {
        self.known_since(key).is_some()
    }

    fn known_since(&self, key: &str) -> Option<Date> {
        // As it is noted: on one line.
        let noted = key.replace(|letter: char| letter.is_control(), " ");
        self.known.get(&noted).copied()
    }

    /// The day on which a change was first seen.
    pub(super) fn since(&self, key: &str) -> Date {
        self.known_since(key).unwrap_or(self.today)
    }

    /// How many days lay between the export before a change and the day on which it was first seen. What was doubtful
    /// then does not become believable because days pass.
    pub(super) fn days_between(&self, key: &str) -> Days {
        Days::between(self.before, self.since(key))
    }

    /// Whether the owner has said of all of these columns that what was seen that day is right.
    pub(super) fn is_said_right<'h>(&self, key: &str, headers: impl IntoIterator<Item = &'h str>) -> bool {
        let since = Some(self.since(key));
        let is_right = |header| self.agreed_column(header).is_some_and(|column| column.right_since == since);
        self.heeds_right && headers.into_iter().all(is_right)
    }

    /// What a column's distances count in, as the owner says it of the column, or of the sheet where its header is silent.
    pub(super) fn unit_said_of(&self, column: &ColumnRead) -> Option<DistanceUnit> {
        let of_sheet = || {
            let is_silent = Header::new(&column.header).distance_unit.is_none();
            self.agreed.and_then(|sheet| sheet.distances).filter(|_| is_silent)
        };
        self.agreed_column(&column.header).and_then(|agreed| agreed.distances).or_else(of_sheet)
    }

    /// Which of day and month comes first in a column, as the owner says it of the column or else of the sheet.
    pub(super) fn order_said_of(&self, column: &ColumnRead) -> Option<DateOrder> {
        let of_column = self.agreed_column(&column.header).and_then(|agreed| agreed.date_order);
        of_column.or(self.agreed.and_then(|sheet| sheet.date_order))
    }

    /// Whether the owner says of that one column which of day and month comes first.
    pub(super) fn has_own_order(&self, column: &ColumnRead) -> bool {
        self.agreed_column(&column.header).is_some_and(|agreed| agreed.date_order.is_some())
    }

    fn agreed_column(&self, header: &str) -> Option<&AgreedColumn> {
        let wanted = Header::new(header);
        let is_it =
            |column: &&AgreedColumn| column.header == header || Header::new(&column.header).is_same(&wanted);
        self.agreed?.columns.iter().find(is_it)
    }

    /// What to do about columns that say other things.
    pub(super) fn look_at(&self, key: &str, columns: &[&ColumnRead]) -> String {
        let lines: Vec<String> = columns.iter().map(|column| self.right_line(key, column)).collect();
        format!(
            "Look whether the right values stand there, and export it again. If they are right as they are, {}; until then \
             they do not count.",
            self.write(&lines, columns)
        )
    }

    /// The line that says of a column that its values are right.
    pub(super) fn right_line(&self, key: &str, column: &ColumnRead) -> String {
        let agreed = self.agreed_column(&column.header);
        let unit = agreed.and_then(|agreed| agreed.distances);
        let unit = unit.map(|unit| format!(" in {}", unit.plural())).unwrap_or_default();
        let order = agreed.and_then(|agreed| agreed.date_order);
        let order = order.map(|order| format!(", {}", order.written())).unwrap_or_default();
        let field = format!("{}{unit}{order}, right since {}", column.field.name(), self.since(key));
        line(&column.header, &field)
    }

    /// Where lines of columns are to be written: `write … in tickover.toml in place of the line of that header`.
    pub(super) fn write(&self, lines: &[String], columns: &[&ColumnRead]) -> String {
        let lines = lines.join(" and ");
        let is_there = |column: &&ColumnRead| self.agreed_column(&column.header).is_some();
        match (self.agreed, columns) {
            (None, _) => format!(
                "run `tickover setup` with this file, which writes its columns into tickover.toml, and put {lines} there"
            ),
            (Some(_), [one]) if is_there(one) => {
                format!("write {lines} in tickover.toml in place of the line of that header")
            }
            (Some(_), several) if several.iter().all(is_there) => {
                format!("write {lines} in tickover.toml in place of the lines of these headers")
            }
            (Some(_), _) => format!("write {lines} below this sheet's [sheet.columns] in tickover.toml"),
        }
    }
}
