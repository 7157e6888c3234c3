//! A short-lived sign-in token, as the owner's own program prints it.

use std::io::Read;
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

use super::fault::{FaultKind, SetupFault};
use super::secret::{SECRET_BYTES_MOST, Secret};

/// How long the program may take: it may have to ask its provider.
pub(super) const PROGRAM_MOST: Duration = Duration::from_secs(30);
/// How often a wait looks whether it is to stop.
const LOOK_EVERY: Duration = Duration::from_millis(20);

/// What the program is given of our environment: enough to find itself and its own files, and none of our secrets.
const ENVIRONMENT: [&str; 13] = [
    "PATH",
    "HOME",
    "USER",
    "LANG",
    "XDG_CONFIG_HOME",
    "XDG_RUNTIME_DIR",
    "SYSTEMROOT",
    "SYSTEMDRIVE",
    "USERPROFILE",
    "APPDATA",
    "LOCALAPPDATA",
    "PROGRAMDATA",
    "TEMP",
];

/// Runs the program and takes what it prints for the token. What it says on its error stream goes nowhere: it may
/// hold secrets. A program named with a folder, but not from the root, lies below the yard folder.
pub(super) fn token(
    command: &[String],
    yard: &Path,
    limit: Duration,
    stop: &AtomicBool,
) -> Result<Secret, SetupFault> {
    let Some((program, arguments)) = command.split_first() else { return Err(failed("none is named")) };
    let named = Path::new(program);
    let program = if named.components().count() > 1 { yard.join(named) } else { named.to_owned() };
    let mut child = Command::new(program)
        .args(arguments)
        .env_clear()
        .envs(ENVIRONMENT.iter().filter_map(|name| Some((name, std::env::var_os(name)?))))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|cause| failed(&format!("it does not start ({cause})")))?;
    let printed = printed(&mut child, Instant::now() + limit, stop);
    if printed.is_err() {
        // It may have ended meanwhile; either way nothing of it is to stay.
        let _ = child.kill();
        let _ = child.wait();
    }
    let printed = printed.map_err(failed)?;
    Secret::in_text(printed.trim_ascii()).map_err(|why| failed(&format!("it prints something, but {why}")))
}

/// What the program prints until it ends well. `Err` says what went wrong; the program may then still run.
fn printed(child: &mut Child, end: Instant, stop: &AtomicBool) -> Result<Vec<u8>, &'static str> {
    let output = child.stdout.take().map(read_beside).ok_or("its output cannot be read")?;
    let mut printed = None;
    loop {
        if stop.load(Ordering::Relaxed) {
            return Err("the sending was stopped");
        }
        if Instant::now() >= end {
            return Err("it took too long");
        }
        if printed.is_none() {
            printed = match output.recv_timeout(LOOK_EVERY) {
                Ok(bytes) => Some(bytes),
                Err(RecvTimeoutError::Timeout) => continue,
                Err(RecvTimeoutError::Disconnected) => return Err("its output cannot be read"),
            };
        }
        if printed.as_ref().is_some_and(|bytes| bytes.len() > SECRET_BYTES_MOST) {
            return Err("it prints too much");
        }
        match child.try_wait() {
            Ok(Some(status)) if status.success() => return Ok(printed.unwrap_or_default()),
            Ok(Some(_)) => return Err("it ended with an error"),
            Ok(None) => thread::sleep(LOOK_EVERY),
            Err(_) => return Err("it is lost"),
        }
    }
}

/// Reads the program's output in a thread of its own, so that one that prints nothing holds nobody up. The thread
/// ends with the program's output, which a program of the program's own may keep open.
fn read_beside(output: ChildStdout) -> Receiver<Vec<u8>> {
    let (sender, receiver) = mpsc::channel();
    thread::spawn(move || {
        let mut bytes = Vec::new();
        if output.take(SECRET_BYTES_MOST as u64 + 1).read_to_end(&mut bytes).is_ok() {
            // Nobody waits for it any more once the time is up.
            let _ = sender.send(bytes);
        }
    });
    receiver
}

fn failed(why: &str) -> SetupFault {
    SetupFault::new(FaultKind::TokenProgram, why)
}
