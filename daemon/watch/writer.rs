//! Asks the system whether a file is still open for writing somewhere.

use std::fs::File;
use std::io;
use std::path::Path;

/// What the system knows of a file's writers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Writer {
    /// No program has it open for writing.
    Nobody,
    /// Some program has.
    Somebody,
    /// The system does not say, or knows only of the programs of this PC.
    #[cfg_attr(
        windows,
        expect(dead_code, reason = "Windows always says, since a writer's file is not opened there")
    )]
    Untold {
        /// Whether the file lies on another PC, whose times and lengths come late.
        on_share: bool,
    },
}

/// Opens a file to read, and says who writes it; `None` where that program keeps it to itself.
#[cfg(not(windows))]
pub(super) fn open(path: &Path) -> io::Result<Option<(File, Writer)>> {
    let file = File::open(path)?;
    let writer = writer_of(&file);
    Ok(Some((file, writer)))
}

/// Opens a file to read, and says who writes it: whoever opens a file without letting others write it is refused
/// while somebody does. That handle is closed at once, so that no program finds its own file held.
#[cfg(windows)]
pub(super) fn open(path: &Path) -> io::Result<Option<(File, Writer)>> {
    use std::os::windows::fs::OpenOptionsExt;
    const FILE_SHARE_READ: u32 = 1;
    const FILE_SHARE_DELETE: u32 = 4;
    /// Another program keeps the file, or a part of it, to itself.
    const VIOLATIONS: [i32; 2] = [32, 33];
    let alone = File::options().read(true).share_mode(FILE_SHARE_READ | FILE_SHARE_DELETE).open(path);
    match alone {
        Ok(alone) => {
            drop(alone);
            File::open(path).map(|file| Some((file, Writer::Nobody)))
        }
        Err(failure) if failure.raw_os_error().is_some_and(|code| VIOLATIONS.contains(&code)) => Ok(None),
        Err(failure) => Err(failure),
    }
}

/// Takes the kernel's lease on the file, which it refuses while the file is open for writing anywhere on this PC
/// (fcntl(2), F_SETLEASE), and gives it back at once.
#[cfg(target_os = "linux")]
#[expect(unsafe_code, reason = "neither std nor a safe crate of ours asks for a lease")]
fn writer_of(file: &File) -> Writer {
    use std::os::fd::AsRawFd;
    /// Chooses the signal by which the kernel asks a lease back (fcntl(2)).
    const F_SETSIG: libc::c_int = 10;
    if is_on_share(file) {
        return Writer::Untold { on_share: true };
    }
    let descriptor = file.as_raw_fd();
    // SAFETY: the calls take plain numbers, and the descriptor is open as long as `file` is borrowed.
    let refused = unsafe {
        // Where a writer comes in that very moment the kernel asks for the lease by SIGIO, which ends a process that
        // does not expect it; SIGURG is passed over by one that does not.
        if libc::fcntl(descriptor, F_SETSIG, libc::SIGURG) != 0 {
            return Writer::Untold { on_share: false };
        }
        let refused = libc::fcntl(descriptor, libc::F_SETLEASE, libc::F_RDLCK) != 0;
        let why = io::Error::last_os_error();
        libc::fcntl(descriptor, libc::F_SETLEASE, libc::F_UNLCK);
        refused.then_some(why)
    };
    match refused {
        None => Writer::Nobody,
        Some(why) if why.raw_os_error() == Some(libc::EAGAIN) => Writer::Somebody,
        // Another's file, or a file system that has no leases.
        Some(_) => Writer::Untold { on_share: false },
    }
}

/// Whether a file lies on another PC, of whose programs this one's kernel knows nothing (statfs(2)).
#[cfg(target_os = "linux")]
#[expect(unsafe_code, reason = "std does not say what file system a file is on")]
fn is_on_share(file: &File) -> bool {
    use std::os::fd::AsRawFd;
    /// NFS, SMB in three generations, 9P, Ceph, AFS, Coda, VirtualBox, and FUSE, which may be anything
    /// (linux/magic.h, statfs(2)).
    const SHARES: [u32; 10] = [
        0x6969,
        0x517b,
        0xff53_4d42,
        0xfe53_4d42,
        0x0102_1997,
        0x00c3_6400,
        0x5346_414f,
        0x7375_7245,
        0x786f_4256,
        0x6573_5546,
    ];
    let mut answer = std::mem::MaybeUninit::<libc::statfs>::zeroed();
    // SAFETY: the kernel fills a structure that is ours, of the type it asks for, and zeros are a valid one.
    let kind = unsafe {
        if libc::fstatfs(file.as_raw_fd(), answer.as_mut_ptr()) != 0 {
            return true;
        }
        answer.assume_init().f_type
    };
    // The number has 32 bits, whatever the width of its field.
    SHARES.contains(&(kind as u32))
}

/// Other systems have no such question.
#[cfg(not(any(target_os = "linux", windows)))]
fn writer_of(_file: &File) -> Writer {
    Writer::Untold { on_share: false }
}
