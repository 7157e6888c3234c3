//! The program `tickover`: hands its arguments to the command room.

use std::process::ExitCode;

fn main() -> ExitCode {
    tickover::command::main(std::env::args_os())
}
