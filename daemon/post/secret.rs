//! The mail account's password: where it may come from, and a type that shows it to nobody.

use std::ffi::OsString;
use std::fmt;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::fault::{FaultKind, SetupFault};

/// The environment variable that may hold the password.
pub const PASSWORD_VARIABLE: &str = "TICKOVER_MAIL_PASSWORD";
/// The folder in which a service manager puts credentials, and the one of them that is ours.
const CREDENTIALS: (&str, &str) = ("CREDENTIALS_DIRECTORY", "mail-password");
/// The longest password or token, in bytes. Tokens of some providers take 3,000; RFC 4954, 4 lets a server's line for
/// one take 12,288 bytes, of which it fills four for each three of its own.
pub(super) const SECRET_BYTES_MOST: usize = 8_000;

/// A password or token. Nothing that is printed of it shows it.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

impl Secret {
    /// The secret in what a file, an environment or a program gave; one line end at its end, and the mark that some
    /// editors set at a text's begin, do not belong to it. `Err` says what is wrong, and nothing of the secret.
    pub fn in_text(bytes: &[u8]) -> Result<Secret, &'static str> {
        if bytes.len() > SECRET_BYTES_MOST {
            return Err("it is too long");
        }
        let text = std::str::from_utf8(bytes).map_err(|_| "it is not saved as UTF-8")?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let text = text.strip_suffix('\n').map_or(text, |line| line.strip_suffix('\r').unwrap_or(line));
        if text.trim().is_empty() {
            return Err("it is empty");
        }
        if text.chars().any(char::is_control) {
            return Err("it is more than one line, or no plain text");
        }
        Ok(Secret(text.to_owned()))
    }

    /// The secret itself, for the server alone.
    pub(super) fn revealed(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("Secret(hidden)")
    }
}

impl fmt::Display for Secret {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("(hidden)")
    }
}

/// Where a secret came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SecretSource {
    /// The environment variable.
    Environment,
    /// The service manager's credential.
    Credential,
    /// The file of the settings.
    File(PathBuf),
    /// The program that prints a token.
    Program,
}

/// A secret with where it came from.
#[derive(Debug)]
pub(super) struct Found {
    pub(super) secret: Secret,
    pub(super) from: SecretSource,
    /// What should be known of the places that were looked at before.
    pub(super) note: Option<String>,
}

/// The password from the first place that has one: the environment, the service manager's credential, the file of
/// the settings. An environment variable with nothing in it is none, and is spoken of.
pub(super) fn password(
    environment: &dyn Fn(&str) -> Option<OsString>,
    file: Option<&Path>,
) -> Result<Found, SetupFault> {
    let variable = environment(PASSWORD_VARIABLE);
    let is_blank = variable.as_ref().is_some_and(|value| value.to_string_lossy().trim().is_empty());
    let note =
        is_blank.then(|| format!("{PASSWORD_VARIABLE} is set with nothing in it, which counts as none"));
    if let Some(value) = variable.filter(|_| !is_blank) {
        let unusable = |why| {
            let help = "Set it anew, to the password alone on one line; or unset it, and give the password in a file.";
            unusable(&format!("{PASSWORD_VARIABLE} is set, but {why}"), help)
        };
        let secret = Secret::in_text(value.as_encoded_bytes()).map_err(unusable)?;
        return Ok(Found { secret, from: SecretSource::Environment, note });
    }
    if let Some(folder) = environment(CREDENTIALS.0) {
        let path = PathBuf::from(folder).join(CREDENTIALS.1);
        // The service manager sees to who may read it.
        if path.exists() {
            return Ok(Found { secret: read(&path, &|_| None)?, from: SecretSource::Credential, note });
        }
    }
    match file {
        None => Err(SetupFault::new(FaultKind::NoPassword, &note.unwrap_or_default())),
        Some(path) => {
            let secret = read(path, &readable_by_others)?;
            Ok(Found { secret, from: SecretSource::File(path.to_owned()), note })
        }
    }
}

/// The secret in a file, unless `objection` has a word against the file.
fn read(path: &Path, objection: &dyn Fn(&Path) -> Option<String>) -> Result<Secret, SetupFault> {
    let shown = path.display();
    let found = fs::metadata(path).map_err(|cause| unreadable(path, &cause))?;
    if found.is_dir() {
        let help = "Name the file itself as `password_file` under [mail], not the folder that it lies in.";
        return Err(unusable(&format!("`{shown}` is a folder"), help));
    }
    if !found.is_file() {
        let help = "Name a plain file as `password_file` under [mail].";
        return Err(unusable(&format!("`{shown}` is no file"), help));
    }
    if let Some(words) = objection(path) {
        let help = "Run that as the account to which the file belongs. If others may have read it, change the password.";
        return Err(unusable(&words, help));
    }
    let bytes = start_of(path).map_err(|cause| unreadable(path, &cause))?;
    Secret::in_text(&bytes).map_err(|why| {
        let help = "Save the password alone in it, as plain text (UTF-8) on one line.";
        unusable(&format!("`{shown}`: {why}"), help)
    })
}

/// A file's bytes, one more than the most at the most.
fn start_of(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(SECRET_BYTES_MOST as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// What it means that a file cannot be had.
pub(super) fn unreadable(path: &Path, cause: &io::Error) -> SetupFault {
    let shown = path.display();
    let lost = path.parent().filter(|folder| !folder.as_os_str().is_empty() && !folder.is_dir());
    match (cause.kind(), lost) {
        (io::ErrorKind::PermissionDenied, _) => unusable(
            &format!("the account that runs this may not read `{shown}`"),
            "Give the file to the account that runs Tickover, and let nobody else read it.",
        ),
        (io::ErrorKind::NotFound | io::ErrorKind::NotADirectory, Some(folder)) => SetupFault::advised(
            FaultKind::NoPassword,
            &format!("`{shown}` is not there, since its folder `{}` is not", folder.display()),
            "Reconnect the disk or share that it lies on, or name a file on this PC's own disk as `password_file` under \
             [mail].",
        ),
        (io::ErrorKind::NotFound, None) => {
            SetupFault::new(FaultKind::NoPassword, &format!("`{shown}` is not there"))
        }
        _ => unusable(
            &format!("`{shown}` cannot be read ({cause})"),
            "See that the disk or share that it lies on is there and sound.",
        ),
    }
}

fn unusable(words: &str, help: &'static str) -> SetupFault {
    SetupFault::advised(FaultKind::Password, words, help)
}

/// What is to be said of a file that other users of this PC may read.
#[cfg(unix)]
fn readable_by_others(path: &Path) -> Option<String> {
    use std::os::unix::fs::PermissionsExt as _;
    /// The rights of the group and of all others.
    const OTHERS: u32 = 0o077;
    let mode = path.metadata().ok()?.permissions().mode();
    let path = path.display();
    (mode & OTHERS != 0).then(|| format!("others may read `{path}`; run: chmod 600 '{path}'"))
}

/// Windows gives a file the rights of its folder, and has no short word for who may read it.
#[cfg(not(unix))]
fn readable_by_others(_path: &Path) -> Option<String> {
    None
}
