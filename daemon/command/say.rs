//! Printing: what was asked for goes to the output, talk goes to the error stream.

use std::io::Write as _;

use crate::problem::{Problem, harmless};

/// Prints what was asked for. A reader that went away (`tickover morning | head`) is no failure.
pub(super) fn out(text: &str) {
    to(&mut std::io::stdout().lock(), text);
}

/// Prints to an output that is held already.
pub(super) fn to(output: &mut dyn std::io::Write, text: &str) {
    let _ = writeln!(output, "{}", shown(text));
}

/// Prints a word to the person at the terminal.
pub(super) fn talk(text: &str) {
    let mut output = std::io::stderr().lock();
    let _ = writeln!(output, "{}", shown(text));
}

/// Prints problems, each with where it is and what to do.
pub(super) fn problems(problems: &[Problem]) {
    for problem in problems {
        talk(&format!("{problem}\n"));
    }
}

/// Text without what a terminal would act on instead of showing, line by line: a sheet or rule file may hold
/// anything.
fn shown(text: &str) -> String {
    text.trim_end_matches('\n').split('\n').map(harmless).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_is_printed_steers_the_terminal() {
        // A server's greeting, say: a colour, a bell, the same as one sign, and a line that would overwrite another.
        let printed = shown("Wrong: \u{1b}[31mred\u{7} \u{9b}0m\rover\nNext");
        assert_eq!(printed, "Wrong: \u{fffd}[31mred\u{fffd} \u{fffd}0m over\nNext");
    }
}
