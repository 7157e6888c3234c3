//! The command line: what was typed, what is printed, and the exit code.

mod arguments;
mod asking;
mod autostart;
mod demo;
mod do_round;
mod export;
mod log;
mod morning;
mod post;
mod rule_trial;
mod rules;
mod run;
mod say;
mod setup;
mod status;

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
    #[cfg(windows)]
    if arguments.get(1).is_some_and(|verb| verb == crate::unattended::autostart::SUBCOMMAND) {
        return run::as_service(arguments.into_iter().skip(2));
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
    if !matches!(typed.verb, Verb::Run { .. }) {
        log::of_command(typed.verbose);
    }
    ExitCode::from(match typed.verb {
        Verb::Demo { folder } => demo::run(folder),
        Verb::Setup { place, accept, files } => setup::run(&place, accept, &files),
        Verb::Morning { place, today, json, dry_run } => morning::run(&place, today, json, dry_run),
        Verb::Export { place, folder } => export::run(&place, &folder),
        Verb::DoRound { place, tells, today, trouble, until_input_ends } => {
            do_round::run(&place, tells, today, trouble, until_input_ends)
        }
        Verb::Run { place } => run::run(&place),
        Verb::Status { place } => status::run(&place),
        Verb::Autostart { verb } => autostart::run(&verb),
        Verb::Post { what } => post::run(&what),
        Verb::Rules { what } => rules::run(&what),
    })
}
