//! Links in the folder of rules, and opening what lies there without ever waiting for it.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// What is wrong with a link, and what to do.
type Wrong = (&'static str, &'static str);

/// A link that leads to nothing.
pub(super) const DEAD: Wrong = (
    "this is a link to a file that is not there",
    "put the file back to where the link points, or delete the link",
);

const ELSEWHERE: Wrong = (
    "this is a link to what does not lie in the folder of rules, and such a link is not followed",
    "put the file itself there in place of the link",
);

const IN_A_CIRCLE: Wrong =
    ("this link leads to others without an end", "put the file itself there in place of the link");

/// The most links that lead to one file.
const LINKS: usize = 8;

/// Whether a link that a path ends in is followed when it is opened.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Followed {
    /// Wherever it leads.
    Anywhere,
    /// To no place: what was looked at is opened, or nothing.
    Nowhere,
}

/// The file that a path in a folder leads to, where that lies in the folder, too. Only the link itself is looked at:
/// what lies elsewhere may be a share that never answers.
pub(super) fn within(folder: &Path, path: &Path) -> Result<PathBuf, Wrong> {
    let mut path = path.to_owned();
    for _ in 0..LINKS {
        match fs::symlink_metadata(&path) {
            Ok(about) if about.is_symlink() => {}
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Err(DEAD),
            // What else is wrong with it shows when it is opened.
            Ok(_) | Err(_) => return Ok(path),
        }
        let target = fs::read_link(&path).map_err(|_| ELSEWHERE)?;
        let name = target.file_name().ok_or(ELSEWHERE)?;
        let of_target = target.parent().unwrap_or(Path::new(""));
        let is_here = of_target.as_os_str().is_empty()
            || of_target == Path::new(".")
            || of_target == folder
            || fs::canonicalize(folder).is_ok_and(|folder| folder == of_target);
        if !is_here {
            return Err(ELSEWHERE);
        }
        path = folder.join(name);
    }
    Err(IN_A_CIRCLE)
}

/// Opens a file to be read. Opening a pipe waits until somebody writes into it, and reading some of the system's files
/// until there is something to tell: neither is waited for.
pub(super) fn open(path: &Path, followed: Followed) -> io::Result<File> {
    let mut options = fs::OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt as _;
        let links = if followed == Followed::Nowhere { libc::O_NOFOLLOW } else { 0 };
        options.custom_flags(libc::O_NONBLOCK | libc::O_NOCTTY | links);
    }
    #[cfg(not(unix))]
    let _ = followed;
    options.open(path)
}
