//! Printing: what was asked for goes to the output, talk goes to the error stream.

use std::io::Write as _;

use crate::problem::Problem;

/// Text without what a terminal would act on instead of showing: a sheet or rule file may hold anything.
fn harmless(text: &str) -> String {
    let acts = |letter: char| {
        (letter.is_control() && letter != '\n' && letter != '\t')
            || matches!(letter, '\u{200E}' | '\u{200F}' | '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}')
    };
    text.trim_end_matches('\n').replace(acts, "\u{FFFD}")
}

/// Prints what was asked for. A reader that went away (`tickover morning | head`) is no failure.
pub(super) fn out(text: &str) {
    let mut output = std::io::stdout().lock();
    let _ = writeln!(output, "{}", harmless(text));
}

/// Prints a word to the person at the terminal.
pub(super) fn talk(text: &str) {
    let mut output = std::io::stderr().lock();
    let _ = writeln!(output, "{}", harmless(text));
}

/// Prints problems, each with where it is and what to do.
pub(super) fn problems(problems: &[Problem]) {
    for problem in problems {
        talk(&format!("{problem}\n"));
    }
}
