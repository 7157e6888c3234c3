//! The mail account's password: where it may come from, and a type that shows it to nobody.

use std::ffi::OsString;
use std::fmt;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::fault::{FaultKind, SetupFault};

/// The environment variable that may hold the password.
const VARIABLE: &str = "TICKOVER_MAIL_PASSWORD";
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

/// The password from the first place that has one: the environment, the service manager's credential, the file of
/// the settings.
pub(super) fn password(
    environment: &dyn Fn(&str) -> Option<OsString>,
    file: Option<&Path>,
) -> Result<Secret, SetupFault> {
    if let Some(value) = environment(VARIABLE) {
        let secret = Secret::in_text(value.as_encoded_bytes());
        return secret.map_err(|why| unusable(&format!("{VARIABLE} is set, but {why}")));
    }
    if let Some(folder) = environment(CREDENTIALS.0) {
        let path = PathBuf::from(folder).join(CREDENTIALS.1);
        // The service manager sees to who may read it.
        if path.exists() {
            return read(&path);
        }
    }
    let Some(path) = file else { return Err(SetupFault::new(FaultKind::NoPassword, "")) };
    if !path.exists() {
        let words = format!("`{}` is not there", path.display());
        return Err(SetupFault::new(FaultKind::NoPassword, &words));
    }
    if let Some(words) = readable_by_others(path) {
        return Err(unusable(&words));
    }
    read(path)
}

/// The secret in a file.
fn read(path: &Path) -> Result<Secret, SetupFault> {
    let failure = |why: &str| unusable(&format!("`{}`: {why}", path.display()));
    if !path.is_file() {
        return Err(failure("it is no file"));
    }
    let bytes = start_of(path).map_err(|cause| failure(&cause.to_string()))?;
    Secret::in_text(&bytes).map_err(failure)
}

/// A file's bytes, one more than the most at the most.
fn start_of(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(SECRET_BYTES_MOST as u64 + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

fn unusable(words: &str) -> SetupFault {
    SetupFault::new(FaultKind::Password, words)
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
