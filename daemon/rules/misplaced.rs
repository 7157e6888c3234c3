//! Words that a rule knows, where they say nothing: an `else` behind no `if`, a `fn` before a call.

use rhai::ParseErrorType;

use super::language_errors::refused;
use super::outline::Outline;
use super::source::{Slip, Source};

/// What is said of such a word, where a reading error comes of one.
pub(super) fn misplaced(
    error: &ParseErrorType,
    at: usize,
    word: &str,
    source: &Source,
    outline: &Outline,
) -> Option<Slip> {
    let slip = |what: String, help: &str| Some(Slip::new(at, what, help));
    let ends = matches!(error, ParseErrorType::MissingToken(token, _) if token == ";");
    let is_begun = matches!(error, ParseErrorType::ExprExpected(_) | ParseErrorType::BadInput(_));
    match (error, word) {
        (_, "else") if ends || is_begun => {
            let before = source.letters.get(outline.code_before(at)?)?;
            if matches!(before, ';' | '}' | ')') { stray_else(at) } else { None }
        }
        (_, "fn") if ends => {
            let before = outline.code_before(at)?;
            let is_in_line = source.line_and_column(before).0 == source.line_and_column(at).0;
            let help = "take it away: `ring(...)` or `mine(machine)` calls a function by its name alone";
            if is_in_line { slip("`fn` makes a function, and calls none".to_owned(), help) } else { None }
        }
        (ParseErrorType::FnMissingName, _) => {
            let help = "call a function by its name alone, without `fn`; one that is made begins its line: `fn mine(machine) {`";
            slip(format!("`{word}` cannot be the name of a function"), help)
        }
        (ParseErrorType::UnknownOperator(sign), _) if sign == "--" => Some(refused(at, sign)),
        _ => None,
    }
}

fn stray_else(at: usize) -> Option<Slip> {
    let help = "write it right behind the `}` of its `if`: no `;`, no answer and no `let` stands between";
    Some(Slip::new(at, "this `else` belongs to no `if`", help))
}
