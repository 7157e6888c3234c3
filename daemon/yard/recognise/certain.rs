//! How certain it is what a column is, and why, in words for the person who is asked.

use super::assign::{Assigned, Assignment, Columns, Found};
use super::{Certainty, Header};
use crate::yard::Field;
use crate::yard::field::Shape;

/// How certain it is what a column is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct HowSure {
    pub(super) certainty: Certainty,
    /// Why, as a phrase: `by its header; all 12 values fit`.
    pub(super) why: String,
    /// The other columns that could as well be it.
    pub(super) rivals: Vec<usize>,
    /// Whether at least half of its values fit.
    pub(super) is_borne_out: bool,
}

/// How certain it is that an assigned column is its field.
pub(super) fn how_sure(assigned: &Assigned, assignment: &Assignment, columns: &mut Columns<'_>) -> HowSure {
    if columns.agreed.iter().any(|(column, _)| *column == assigned.column) {
        return HowSure {
            certainty: Certainty::Agreed,
            why: String::new(),
            rivals: Vec::new(),
            is_borne_out: true,
        };
    }
    let rivals = columns.rivals(assigned, assignment);
    let is_borne_out = columns.samples[assigned.column].bears_out(assigned.field.shape());
    let another = columns.may_be_another(assigned, assignment);
    let found = match assigned.found {
        Found::Name => "by its header",
        Found::NearName => "its header is nearly one of this field's",
        Found::Evidence => "by what stands in it and beside it",
    };
    let rival =
        rivals.first().map(|rival| format!("column {} may be it as well", headed(&columns.headers[*rival])));
    // Whatever is written fits these.
    let tells_nothing = matches!(assigned.field.shape(), Shape::Anything | Shape::Words);
    let fitting = columns.samples[assigned.column].fitting(assigned.field.shape()).filter(|_| !tells_nothing);
    let came_in = columns.came_in_beside(assigned, assignment).map(|column| {
        format!(
            "{} is when it came in: until it has gone out it is not done",
            headed(&columns.headers[column])
        )
    });
    let mot_ends = columns.why_mot_ends(assigned).map(str::to_owned);
    let is_outcome = assigned.field == Field::Outcome && columns.samples[assigned.column].count() > 0;
    let outcome = is_outcome.then(|| {
        "what is not done by it, or blank where other rows say done, does not count as done".to_owned()
    });
    let reasons =
        [Some(found.to_owned()), fitting, rival, another.map(str::to_owned), mot_ends, came_in, outcome];
    let is_sure = assigned.found != Found::NearName && is_borne_out && rivals.is_empty() && another.is_none();
    HowSure {
        certainty: if is_sure { Certainty::Sure } else { Certainty::Likely },
        why: reasons.into_iter().flatten().collect::<Vec<_>>().join("; "),
        rivals,
        is_borne_out,
    }
}

fn headed(header: &Header) -> String {
    format!("`{}`", header.shown)
}
