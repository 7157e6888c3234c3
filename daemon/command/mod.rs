//! The command line: what was typed, what is printed, and the exit code.

mod arguments;
mod demo;
mod export;
mod morning;
mod rules;
mod say;
mod setup;

use std::ffi::OsString;
use std::process::ExitCode;

use clap::Parser as _;

use crate::sheets;
use arguments::{Arguments, Verb};

/// Everything was done.
pub const DONE: u8 = 0;
/// Everything that could be was done, and something needs a person: a sheet unreadable, a rule not in force, a
/// letter not delivered.
pub const NEEDS_A_PERSON: u8 = 1;
/// Nothing could be done; the reason was printed.
pub const COULD_NOT_RUN: u8 = 2;

/// Runs what was typed, and says how it went.
pub fn main(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments: Vec<OsString> = arguments.into_iter().collect();
    if arguments.get(1).is_some_and(|verb| verb == sheets::SUBCOMMAND) {
        return sheets::serve_child(arguments.into_iter().skip(2));
    }
    let typed = match Arguments::try_parse_from(arguments) {
        Ok(typed) => typed,
        Err(refusal) => {
            let wanted_help = !refusal.use_stderr();
            // Nothing is left to do when the terminal is gone.
            let _ = refusal.print();
            return ExitCode::from(if wanted_help { DONE } else { COULD_NOT_RUN });
        }
    };
    start_log(typed.verbose);
    ExitCode::from(match typed.verb {
        Verb::Demo { folder } => demo::run(folder),
        Verb::Setup { place, accept, files } => setup::run(&place, accept, &files),
        Verb::Morning { place, today, json, dry_run } => morning::run(&place, today, json, dry_run),
        Verb::Export { place, folder } => export::run(&place, &folder),
        Verb::Rules { what } => rules::run(&what),
    })
}

/// The log goes to the error stream: warnings always, one line a run when asked for.
fn start_log(verbose: bool) {
    let level = if verbose { tracing::Level::INFO } else { tracing::Level::WARN };
    tracing_subscriber::fmt().with_max_level(level).with_writer(std::io::stderr).without_time().init();
}
