//! The command line: what was asked for is done, and the exit code says how it went.

use std::ffi::OsString;
use std::process::ExitCode;

use crate::sheets;

/// Does what the arguments ask for; the first is the program's own name.
pub fn main(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    /// Nothing could be run.
    const COULD_NOT_RUN: u8 = 2;
    let mut arguments = arguments.into_iter().skip(1);
    match arguments.next() {
        Some(word) if word == sheets::SUBCOMMAND => sheets::serve_child(arguments),
        _ => ExitCode::from(COULD_NOT_RUN),
    }
}
