//! What tells one state of a file from another without reading it.

use std::fs::Metadata;
use std::time::SystemTime;

use jiff::Timestamp;

/// A file's identity, length and times: two looks that find the same found the file unchanged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Signature {
    /// Which file lies under the name; a file that was renamed over another is another one.
    identity: Identity,
    /// Its length in bytes.
    pub(super) length: u64,
    /// When its bytes last changed, as its system says; `None` where it does not.
    modified: Option<SystemTime>,
    /// When the file last changed in any way: new bytes of the same length whose time was set back show here alone.
    changed: Option<(i64, i64)>,
}

/// What stays the same while a file or folder is the same one.
pub(super) type Identity = (u64, u64);

impl Signature {
    pub(super) fn of(metadata: &Metadata) -> Signature {
        Signature {
            identity: identity(metadata),
            length: metadata.len(),
            modified: metadata.modified().ok(),
            changed: changed(metadata),
        }
    }

    /// When the file's bytes last changed; `None` where the system cannot tell.
    pub(super) fn modified(&self) -> Option<Timestamp> {
        Timestamp::try_from(self.modified?).ok()
    }
}

/// The device and the number that the file has on it.
#[cfg(unix)]
pub(super) fn identity(metadata: &Metadata) -> Identity {
    use std::os::unix::fs::MetadataExt;
    (metadata.dev(), metadata.ino())
}

/// Elsewhere the moment of creation must do.
#[cfg(not(unix))]
pub(super) fn identity(metadata: &Metadata) -> Identity {
    let created =
        metadata.created().ok().and_then(|moment| moment.duration_since(SystemTime::UNIX_EPOCH).ok());
    created.map_or((0, 0), |since| (since.as_secs(), u64::from(since.subsec_nanos())))
}

#[cfg(unix)]
fn changed(metadata: &Metadata) -> Option<(i64, i64)> {
    use std::os::unix::fs::MetadataExt;
    Some((metadata.ctime(), metadata.ctime_nsec()))
}

#[cfg(not(unix))]
fn changed(_metadata: &Metadata) -> Option<(i64, i64)> {
    None
}
