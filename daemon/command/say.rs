//! Printing: what was asked for goes to the output, talk goes to the error stream.

use std::io::Write as _;

use crate::problem::Problem;

/// Prints what was asked for. A reader that went away (`tickover morning | head`) is no failure.
pub(super) fn out(text: &str) {
    let mut output = std::io::stdout().lock();
    let _ = writeln!(output, "{}", text.trim_end_matches('\n'));
}

/// Prints a word to the person at the terminal.
pub(super) fn talk(text: &str) {
    let mut output = std::io::stderr().lock();
    let _ = writeln!(output, "{}", text.trim_end_matches('\n'));
}

/// Prints problems, each with where it is and what to do.
pub(super) fn problems(problems: &[Problem]) {
    for problem in problems {
        talk(&format!("{problem}\n"));
    }
}
