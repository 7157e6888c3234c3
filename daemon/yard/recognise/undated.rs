//! A log of checks in which no day is read: what it says has passed may have been years ago, and is asked about.

use super::assign::{Assigned, Columns, column_of};
use super::proposal::{heading, shown};
use super::questions::{Answer, Question, Settles};
use super::shape::LEAST_SHARE;
use super::{LeftOut, ReadAs};
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// What says in `tickover.toml` whether such checks count.
const KEY: &str = "undated_checks_count";

impl Columns<'_> {
    /// Whether the rows are checks, one item each, and nothing in them is read for the day on which it was checked.
    pub(super) fn lacks_days(&mut self, kind: RecordKind, assigned: &[Assigned]) -> bool {
        let result = column_of(assigned, Field::Result).filter(|_| kind == RecordKind::Check);
        let Some(result) = result else { return false };
        column_of(assigned, Field::Day).is_none() && self.samples[result].share(Shape::Day) < LEAST_SHARE
    }
}

/// The column that may be the day of a log of checks in which no other day is read.
pub(in crate::yard) fn open_day(read_as: &ReadAs) -> Option<&LeftOut> {
    let has_day = read_as.columns.iter().any(|column| column.field == Field::Day);
    let may_be_it = |column: &&LeftOut| column.may_be.contains(&Field::Day);
    let is_of_checks = read_as.kind == Some(RecordKind::Check) && !has_day;
    read_as.left_out.iter().find(may_be_it).filter(|_| is_of_checks)
}

/// Whether nobody has said of such a log if its checks count, and no column of it is asked about that may be the day.
fn is_open(read_as: &ReadAs) -> bool {
    read_as.lacks_days && read_as.undated_checks_count.is_none() && open_day(read_as).is_none()
}

/// What is asked of it.
pub(super) fn question(read_as: &ReadAs) -> Option<Question> {
    let sample =
        |index, header: &str, examples: &[String]| format!("{}: {}", heading(index, header), shown(examples));
    let answer =
        |said: &str, count| Answer { said: said.to_owned(), settles: Settles::UndatedChecksCount(count) };
    is_open(read_as).then(|| Question {
        asked: "No column of this sheet tells on which day a check was done. Do its checks count for the next handover all \
                the same?"
            .to_owned(),
        samples: read_as
            .columns
            .iter()
            .map(|column| sample(column.index, &column.header, &column.examples))
            .collect(),
        answers: vec![
            answer("no: the day will stand in a column `Date`", false),
            answer("yes: each row is of the machine as it stands now", true),
        ],
        usual: None,
    })
}

/// The line that stands behind a # where it was not asked.
pub(super) fn open_line(read_as: &ReadAs) -> Option<String> {
    is_open(read_as).then(|| {
        format!(
            "{KEY} = false  # or true: no column tells on which day a check was done; until then none counts"
        )
    })
}
