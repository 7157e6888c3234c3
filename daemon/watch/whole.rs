//! Reads a file whole: its bytes only once it has settled, and never half of an old version and half of a new one.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, Instant};

use jiff::Timestamp;

use super::signature::Signature;
use super::writer::{self, Writer};
use crate::today;

/// How long a file that nobody has open must have been left alone: a program that saves in several goes closes the
/// file between them. With 0.3 s none of 26 versions was read torn, in 590 looks at a writer that stalls.
const QUIET: Duration = Duration::from_millis(300);

/// Where the system does not tell of writers, so far apart must two looks be that find the same.
const LOOKS_APART: Duration = Duration::from_secs(2);

/// And so old the last change: of waits from 0.5 to 6.5 s, one of 5 s was the shortest with which nothing half-written
/// was read, but for a file that had just been emptied.
const AGE: Duration = Duration::from_secs(5);

/// On a share, times and lengths come late, too: clients keep them for up to half a minute (nfs(5), acregmin 3 s,
/// acdirmin 30 s; from memory).
const AGE_ON_SHARE: Duration = Duration::from_secs(30);

/// How long to wait before looking again: short beside what settles, long beside what a look takes.
const PAUSE: Duration = Duration::from_millis(50);

/// All bytes of one version of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Whole {
    /// The bytes.
    pub bytes: Vec<u8>,
    /// When the file was last changed.
    pub modified: Timestamp,
}

/// What bytes come to: the same for the same bytes, whatever the file's name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Content([u8; 32]);

impl Whole {
    /// What the bytes come to.
    pub fn content(&self) -> Content {
        Content(*blake3::hash(&self.bytes).as_bytes())
    }
}

/// Why a file's bytes cannot be had now.
#[derive(Debug)]
pub enum NotWhole {
    /// A program has it open for writing.
    BeingWritten,
    /// It changed so short a time ago that its writer may not be done.
    ChangedJustNow,
    /// It changed while it was read.
    ChangedWhileRead,
    /// It has settled, and holds nothing.
    Empty,
    /// There is no file of that name any more.
    Gone,
    /// It is larger than may be read.
    TooLarge,
    /// It cannot be opened or read.
    Unreadable(io::Error),
}

impl NotWhole {
    /// Whether the file may be had a moment later without anybody's doing.
    pub fn may_settle(&self) -> bool {
        matches!(self, NotWhole::BeingWritten | NotWhole::ChangedJustNow | NotWhole::ChangedWhileRead)
    }
}

impl From<io::Error> for NotWhole {
    fn from(failure: io::Error) -> NotWhole {
        match failure.kind() {
            io::ErrorKind::NotFound => NotWhole::Gone,
            _ => NotWhole::Unreadable(failure),
        }
    }
}

/// Looks at files until they have settled, with one patience for all of them: while one is waited for, the others
/// settle.
#[derive(Debug)]
pub struct Looks {
    until: Instant,
    seen: BTreeMap<PathBuf, (Signature, Instant)>,
}

impl Looks {
    /// Looks at all the files for the first time.
    pub fn at<'a>(paths: impl IntoIterator<Item = &'a Path>, patience: Duration) -> Looks {
        let now = Instant::now();
        let look = |path: &Path| Some((path.to_owned(), (Signature::of(&fs::metadata(path).ok()?), now)));
        Looks { until: now + patience, seen: paths.into_iter().filter_map(look).collect() }
    }

    /// The bytes of a file, waited for as long as patience lasts.
    ///
    /// # Errors
    /// Why there are none, after the last look.
    pub fn read_whole(&mut self, path: &Path, bytes_max: u64) -> Result<Whole, NotWhole> {
        loop {
            match self.look(path, bytes_max) {
                Err(why) if why.may_settle() && Instant::now() + PAUSE <= self.until => thread::sleep(PAUSE),
                settled => return settled,
            }
        }
    }

    /// One look at a file.
    fn look(&mut self, path: &Path, bytes_max: u64) -> Result<Whole, NotWhole> {
        // A pipe would keep whoever opens it waiting.
        let metadata = fs::metadata(path)?;
        if !metadata.is_file() {
            let kind =
                if metadata.is_dir() { io::ErrorKind::IsADirectory } else { io::ErrorKind::Unsupported };
            return Err(NotWhole::Unreadable(kind.into()));
        }
        let Some((file, writer)) = writer::open(path)? else { return Err(NotWhole::BeingWritten) };
        let before = Signature::of(&file.metadata()?);
        let unchanged_for = self.unchanged_for(path, &before);
        if before.length > bytes_max {
            return Err(NotWhole::TooLarge);
        }
        let modified = before.modified().unwrap_or(Timestamp::UNIX_EPOCH);
        let age = Duration::try_from(today::now().duration_since(modified)).ok();
        if writer == Writer::Somebody {
            return Err(NotWhole::BeingWritten);
        }
        if !has_settled(writer, age, unchanged_for) {
            return Err(NotWhole::ChangedJustNow);
        }
        if before.length == 0 {
            return Err(NotWhole::Empty);
        }
        let bytes = bytes_of(&file, before.length)?;
        let after = Signature::of(&file.metadata()?);
        // Another file may have taken the name meanwhile.
        let of_name = Signature::of(&fs::metadata(path)?);
        if after != before || of_name != before || bytes.len() as u64 != before.length {
            return Err(NotWhole::ChangedWhileRead);
        }
        Ok(Whole { bytes, modified })
    }

    /// For how long looks have found the file as it is now.
    fn unchanged_for(&mut self, path: &Path, signature: &Signature) -> Duration {
        let now = Instant::now();
        match self.seen.get(path) {
            Some((seen, since)) if seen == signature => now - *since,
            _ => {
                self.seen.insert(path.to_owned(), (signature.clone(), now));
                Duration::ZERO
            }
        }
    }
}

/// Whether a file has been left alone for long enough. `age` is how long ago it says that it was changed, `None` where
/// that lies ahead: another PC's clock is wrong then, and looks alone count.
pub(super) fn has_settled(writer: Writer, age: Option<Duration>, unchanged_for: Duration) -> bool {
    let is_older_than = |least: Duration| age.is_none_or(|age| age >= least);
    match writer {
        Writer::Nobody => age.is_some_and(|age| age >= QUIET) || unchanged_for >= QUIET,
        Writer::Somebody => false,
        Writer::Untold { on_share: false } => unchanged_for >= LOOKS_APART && is_older_than(AGE),
        Writer::Untold { on_share: true } => unchanged_for >= LOOKS_APART && is_older_than(AGE_ON_SHARE),
    }
}

fn bytes_of(file: &File, length: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    // One byte more than expected tells a file that has grown since.
    file.take(length.saturating_add(1)).read_to_end(&mut bytes)?;
    Ok(bytes)
}
