//! A short-lived sign-in token, as the owner's own program prints it.

use std::io::{self, Read};
use std::path::Path;
use std::process::{Child, ChildStdout, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError};
use std::thread;
use std::time::{Duration, Instant};

use super::error_stream::{end_beside, plain_words};
use super::fault::{FaultKind, SetupFault};
use super::secret::{SECRET_BYTES_MOST, Secret};

/// How long the program may take: it may have to ask its provider.
pub(super) const PROGRAM_MOST: Duration = Duration::from_secs(30);
/// How long a program that was ended is waited for: one that hangs in the system, as on a dead share, may never go.
const ENDING_MOST: Duration = Duration::from_secs(5);
/// How long the end of its error stream is waited for once it is gone.
const ASIDE_WITHIN: Duration = Duration::from_millis(500);
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

/// What went wrong with the program, and what to do about it.
type Failure = (String, &'static str);

/// What to do about a program that runs and gives no token.
const BY_HAND: &str = "Run it by hand, as the account that runs Tickover, and put right what it says there: it must print \
                       the token and nothing else, in 30 seconds.";

/// Runs the program and takes what it prints for the token. Of what it says on its error stream, which may hold secrets,
/// only plain words are kept, and only beside a fault. A program named with a folder, but not from the root, lies below the yard folder.
pub(super) fn token(
    command: &[String],
    yard: &Path,
    limit: Duration,
    stop: &AtomicBool,
) -> Result<Secret, SetupFault> {
    let failed = |(words, help): Failure| SetupFault::advised(FaultKind::TokenProgram, &words, help);
    let Some((program, arguments)) = command.split_first() else {
        let help = "Name it as `token_command` under [mail].";
        return Err(failed(("none is named".to_owned(), help)));
    };
    let named = Path::new(program);
    let path = if named.components().count() > 1 { yard.join(named) } else { named.to_owned() };
    let mut child = Command::new(path)
        .args(arguments)
        .env_clear()
        .envs(ENVIRONMENT.iter().filter_map(|name| Some((name, std::env::var_os(name)?))))
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|cause| failed(not_started(program, &cause)))?;
    let aside = child.stderr.take().map(end_beside);
    let printed = printed(&mut child, Instant::now() + limit, stop);
    if printed.is_err() {
        // It may have ended meanwhile; either way nothing of it is to stay.
        let _ = child.kill();
        let _ = ended_within(&mut child, ENDING_MOST);
    }
    printed.and_then(|printed| token_in(printed.trim_ascii())).map_err(|failure| {
        // A program of the program's own may keep the stream open; nobody waits for that.
        let said = aside.and_then(|said| said.recv_timeout(ASIDE_WITHIN).ok());
        SetupFault { aside: said.and_then(|said| plain_words(&said)), ..failed(failure) }
    })
}

/// What it means that the program does not start.
fn not_started(program: &str, cause: &io::Error) -> Failure {
    match cause.kind() {
        io::ErrorKind::NotFound => (
            format!("`{program}` is not there"),
            "Install it, or write its whole path in `token_command` under [mail]; a service does not look for programs \
             where a terminal does.",
        ),
        io::ErrorKind::PermissionDenied => (
            format!("`{program}` may not be run by this account"),
            "Let the account that runs Tickover run it (on Linux: chmod +x).",
        ),
        _ => (
            format!("`{program}` does not start ({cause})"),
            "Name a program that runs as `token_command` under [mail].",
        ),
    }
}

/// The token in what the program printed. Nothing of that is ever shown: it may be a password.
fn token_in(printed: &[u8]) -> Result<Secret, Failure> {
    if printed.is_empty() {
        return Err(("it prints nothing".to_owned(), BY_HAND));
    }
    let help = "It must print the token alone: not the whole answer that the provider gave, and no password.";
    let secret =
        Secret::in_text(printed).map_err(|why| (format!("what it prints is no token: {why}"), help))?;
    if !is_token(secret.revealed()) {
        return Err(("what it prints is no token: it has signs that no token has".to_owned(), help));
    }
    Ok(secret)
}

/// Whether a text has the form of a token (RFC 6750, 2.1).
fn is_token(text: &str) -> bool {
    let body = text.trim_end_matches('=');
    !body.is_empty() && body.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"-._~+/".contains(&byte))
}

/// What the program prints until it ends well. `Err` says what went wrong; the program may then still run.
fn printed(child: &mut Child, end: Instant, stop: &AtomicBool) -> Result<Vec<u8>, Failure> {
    let lost = || ("its output cannot be read".to_owned(), BY_HAND);
    let output = child.stdout.take().map(read_beside).ok_or_else(lost)?;
    let mut printed = None;
    loop {
        if stop.load(Ordering::Relaxed) {
            return Err(("the sending was stopped".to_owned(), "It is made again by itself."));
        }
        if Instant::now() >= end {
            let help = "It must end within 30 seconds. Run it by hand, as the account that runs Tickover: it may wait for \
                        somebody to type, or for a network that is not there.";
            return Err(("it took too long".to_owned(), help));
        }
        if printed.is_none() {
            printed = match output.recv_timeout(LOOK_EVERY) {
                Ok(bytes) => Some(bytes),
                Err(RecvTimeoutError::Timeout) => continue,
                Err(RecvTimeoutError::Disconnected) => return Err(lost()),
            };
        }
        if printed.as_ref().is_some_and(|bytes| bytes.len() > SECRET_BYTES_MOST) {
            return Err(("it prints too much".to_owned(), BY_HAND));
        }
        match child.try_wait() {
            Ok(Some(status)) if status.success() => return Ok(printed.unwrap_or_default()),
            Ok(Some(status)) => return Err((how(status), BY_HAND)),
            Ok(None) => thread::sleep(LOOK_EVERY),
            Err(_) => return Err(("it is lost".to_owned(), BY_HAND)),
        }
    }
}

/// How it ended, where it did not end well.
fn how(status: ExitStatus) -> String {
    match status.code() {
        Some(code) => format!("it ended with exit code {code}"),
        None => "the system ended it".to_owned(),
    }
}

/// Its status, if it ends within that time.
pub(super) fn ended_within(child: &mut Child, most: Duration) -> Option<ExitStatus> {
    let end = Instant::now() + most;
    loop {
        match child.try_wait() {
            Ok(None) if Instant::now() < end => thread::sleep(LOOK_EVERY),
            Ok(status) => return status,
            Err(_) => return None,
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
