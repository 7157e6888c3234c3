//! The brackets of a rule file: what closes which, and what is said of one that closes nothing.

use super::source::{Cause, Slip};

/// What is said of a bracket that closes nothing.
pub(super) fn closes_nothing(at: usize, letter: char) -> Slip {
    let help = format!("take it away, or write `{}` where it should begin", opener(letter));
    Slip::new(at, format!("this `{letter}` closes nothing"), help).marking(1).of(Cause::ClosesNothing)
}

/// What is said of a bracket that is never closed, with the word behind it.
pub(super) fn not_closed(at: usize, sign: char, next: &str) -> Slip {
    let (what, help) = if sign == '(' && next == "return" {
        ("this `(` stands where `{` belongs".to_owned(), "write `{`, and `}` where it ends".to_owned())
    } else {
        (format!("this `{sign}` is never closed"), format!("write `{}` where it should end", closer(sign)))
    };
    Slip::new(at, what, help).marking(1)
}

/// What closes a bracket.
pub(super) fn closer(sign: char) -> char {
    match sign {
        '(' => ')',
        '[' => ']',
        _ => '}',
    }
}

/// What opens one that this closes.
fn opener(sign: char) -> char {
    match sign {
        ')' => '(',
        ']' => '[',
        _ => '{',
    }
}
