//! The system's signals become happenings of the long run.

use std::io;

use super::long_run::Handle;

/// Listens for the signals that end the long run or ask it to look again, until the process ends.
///
/// # Errors
/// What the system says when it takes no listener.
#[cfg(unix)]
pub(super) fn listen(handle: Handle) -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    let mut signals = signal_hook::iterator::Signals::new([SIGTERM, SIGINT, SIGHUP])?;
    std::thread::spawn(move || {
        for signal in signals.forever() {
            if signal == SIGHUP { handle.look_again() } else { handle.stop() }
        }
    });
    Ok(())
}

/// Listens for Ctrl-C at the console; a service is stopped through its handle.
#[cfg(windows)]
pub(super) fn listen(handle: Handle) -> io::Result<()> {
    ctrlc::set_handler(move || handle.stop()).map_err(io::Error::other)
}
