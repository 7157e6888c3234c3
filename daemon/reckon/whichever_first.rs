//! Whichever comes first: two parts of a plan, of which either may be unknown.

use super::{Fact, Reckoned};

/// True when either part that a plan gives says so, false when all that it gives say no, else what the unknown
/// one lacks; `None` when the plan gives neither. What shows the parts that decide is kept.
pub(super) fn first_of(left: Option<Fact<bool>>, right: Option<Fact<bool>>) -> Option<Fact<bool>> {
    match (left, right) {
        (Some(left), Some(right)) => Some(either(left, right)),
        (part, None) | (None, part) => part,
    }
}

fn either(left: Fact<bool>, right: Fact<bool>) -> Fact<bool> {
    match (left, right) {
        (Ok(left), Ok(right)) => {
            let value = left.value || right.value;
            let deciding = [left, right].into_iter().filter(|part| part.value == value);
            Ok(Reckoned { value, shown_by: deciding.flat_map(|part| part.shown_by).collect() })
        }
        (Ok(known), Err(_)) | (Err(_), Ok(known)) if known.value => Ok(known),
        (Ok(_), Err(missing)) | (Err(missing), Ok(_)) => Err(missing),
        (Err(left), Err(right)) => Err(left.and(right)),
    }
}
