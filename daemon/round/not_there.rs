//! Sheets that were agreed and are not there any more, as `setup` finds them: which new sheet may be one of them is
//! asked, and which lines can be taken out is said.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::asking::SheetAsked;
use super::in_place::{self, InPlace};
use crate::origin::{SheetName, named};
use crate::problem::Problem;
use crate::settings::AgreedSheet;
use crate::sheets::Table;
use crate::yard::{self, Answer, Question, RecordKind, Settles};

/// So much of the columns that were agreed another sheet must have to be asked about. Our decision.
const MOST: f64 = 0.5;

/// An agreed sheet that is not there.
#[derive(Debug)]
pub(super) struct NotThere {
    pub(super) agreed: AgreedSheet,
    /// Among the sheets that were looked at, the one that may be it.
    pub(super) like: Option<usize>,
    /// Whether it was asked, and answered that it is.
    pub(super) is_asked: bool,
    pub(super) is_found: bool,
}

/// The agreed sheets that are not among those that were found. Of a file of which nothing was read it is not known.
pub(super) fn find(
    agreed: &[AgreedSheet],
    (found, read): (&BTreeSet<String>, &[SheetName]),
    sheets: &[SheetAsked],
    in_place: &InPlace,
) -> Vec<NotThere> {
    let is_there = |agreed: &&AgreedSheet| {
        let is_unread = |file: &&String| {
            super::intake::is_for(agreed, file) && read.iter().all(|name| name.file != **file)
        };
        read.iter().any(|name| agreed.is_for(name)) || found.iter().any(|file| is_unread(&file))
    };
    let gone = agreed.iter().filter(|agreed| !yard::is_left_unread(agreed) && !is_there(agreed));
    let mut taken = BTreeSet::new();
    gone.map(|agreed| {
        let mut like: Vec<(f64, usize)> = sheets
            .iter()
            .enumerate()
            .filter(|(place, sheet)| !sheet.is_known() && !taken.contains(place))
            .filter_map(|(place, sheet)| Some((likeness(agreed, sheet, in_place)?, place)))
            .collect();
        like.sort_by(|(one, _), (other, _)| other.total_cmp(one));
        let like = match &like[..] {
            [(best, place), others @ ..] if others.first().is_none_or(|(next, _)| next < best) => {
                Some(*place)
            }
            _ => None,
        };
        taken.extend(like);
        NotThere { agreed: agreed.clone(), like, is_asked: false, is_found: false }
    })
    .collect()
}

/// How much of what was agreed a new sheet has; `None` where it cannot be the same.
fn likeness(agreed: &AgreedSheet, sheet: &SheetAsked, in_place: &InPlace) -> Option<f64> {
    let kind = RecordKind::named(&agreed.rows)?;
    let looks = &sheet.read_as;
    if looks.kind != Some(kind) && !looks.may_be.contains(&kind) {
        return None;
    }
    if in_place.of(&sheet.table.name.file).is_some_and(|old| super::intake::is_for(agreed, old)) {
        return Some(1.0);
    }
    let has = in_place::as_of(agreed, &sheet.table, looks).columns.len();
    let share = has as f64 / agreed.columns.len().max(1) as f64;
    (share >= MOST).then_some(share)
}

impl NotThere {
    /// How a person calls it.
    fn name(&self) -> String {
        named(&self.agreed.file, self.agreed.sheet.as_deref())
    }

    /// Whether the new sheet is this one.
    pub(super) fn question(&self, table: &Table, samples: Vec<String>) -> Question {
        let name: &Arc<SheetName> = &table.name;
        Question {
            asked: format!(
                "The sheet {} was agreed, and is not there any more. Is this one it, under another name?",
                self.name()
            ),
            samples,
            answers: vec![
                Answer {
                    said: "yes: what was agreed of that one holds for this one".to_owned(),
                    settles: Settles::Renamed(SheetName::clone(name)),
                },
                Answer { said: "no: it is another sheet".to_owned(), settles: Settles::Another },
            ],
            usual: None,
        }
    }

    /// What to say of it where no other sheet was found to be it.
    pub(super) fn problem(&self) -> Problem {
        let what = format!("the sheet {} was agreed, and is not there any more", self.name());
        let help = "Export it again; or, if it is not used any more, take out its [[sheet]]: the lines from that heading \
                    down to the next one.";
        Problem::error(self.agreed.place.clone(), what, help)
    }
}
