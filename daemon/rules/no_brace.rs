//! A rule file in which a brace is forgotten that opens, read once more as if it stood there: what only comes of it, up to
//! the end of its function and behind it, is not told.

use super::source::{Cause, Slip, Source};

/// The most braces that are put in one after another.
const MOST: usize = 5;

/// What is told of a file, given what was told of it first. A brace is put where one is missing as long as less is
/// told with it; `read` says what is told of a file beside the slips that it is given.
pub(super) fn with_braces(
    source: &Source,
    mut told: Vec<Slip>,
    read: impl Fn(&Source, Vec<Slip>) -> Vec<Slip>,
) -> Vec<Slip> {
    let mut letters = source.letters.clone();
    let mut missing: Vec<Slip> = Vec::new();
    while told.len() > missing.len() + 1 && missing.len() < MOST {
        let is_put_in = |slip: &Slip| missing.iter().any(|known| known.at == slip.at);
        let next = told.iter().find(|slip| matches!(slip.cause, Cause::NoBrace) && !is_put_in(slip)).cloned();
        let Some(slip) = next else { break };
        // It takes the place of a blank, so that all places stay what they are.
        let Some(blank) = slip.at.checked_sub(1).filter(|at| letters[*at] == ' ') else { break };
        letters[blank] = '{';
        missing.push(slip);
        let text: String = letters.iter().collect();
        let anew = read(&Source::new(source.file.clone(), &text, source.last.clone()), missing.clone());
        if anew.len() >= told.len() {
            break;
        }
        told = anew;
    }
    told
}
