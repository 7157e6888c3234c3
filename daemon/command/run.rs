//! `tickover run`: the long run, in the foreground, until it is told to end.

use std::panic;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, DONE, log, morning, say};
use crate::round::YardFolder;
use crate::unattended::LongRun;
#[cfg(windows)]
use crate::unattended::autostart;

/// Runs until Ctrl-C, or until the service manager says so.
pub(super) fn run(place: &WhichYard) -> u8 {
    let folder = YardFolder::at(&place.yard);
    let run = match LongRun::of(folder.clone(), morning::program()) {
        Ok(run) => run,
        Err(problem) => {
            say::problems(&[problem]);
            return COULD_NOT_RUN;
        }
    };
    if let Err(cause) = run.listen_to_signals() {
        say::talk(&format!("error: nothing could tell it to end: {cause}"));
        return COULD_NOT_RUN;
    }
    make_ready(&folder);
    let (yard, logs) = (folder.root().display(), folder.logs());
    say::talk(&format!("Tickover is at work in {yard}. Its log is in {}. Ctrl-C ends it.", logs.display()));
    run.go();
    DONE
}

/// Runs as a service of Windows, until its service manager says so.
#[cfg(windows)]
pub(super) fn as_service(arguments: impl IntoIterator<Item = std::ffi::OsString>) -> std::process::ExitCode {
    autostart::serve(arguments, morning::program(), make_ready)
}

/// What a long run needs of this room: its log, and an end when it is no longer whole.
fn make_ready(folder: &YardFolder) {
    log::of_long_run(folder, LongRun::zone_of(folder));
    end_when_any_thread_fails();
}

/// A long run of which one thread has gone would look well and do half its work; the service manager starts a whole one
/// anew.
fn end_when_any_thread_fails() {
    log::only_places_of_panics();
    let tell = panic::take_hook();
    panic::set_hook(Box::new(move |panic| {
        tell(panic);
        end();
    }));
}

#[expect(clippy::exit, reason = "other threads may hang, and rounds may be ended at any moment")]
fn end() -> ! {
    /// What Rust itself gives after a panic, so that the service manager sees a failure and starts a new run.
    const PANICKED: i32 = 101;
    std::process::exit(PANICKED)
}
