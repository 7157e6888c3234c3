//! Whether the ledger lies on another PC's disk, where its write-ahead log is not safe (sqlite.org/wal.html).

use std::path::Path;

/// The kind of network disk that a folder lies on, such as `cifs`; `None` for a disk of this PC, and where it
/// cannot be told.
#[cfg(target_os = "linux")]
pub(super) fn network_disk(folder: &Path) -> Option<String> {
    let folder = folder.canonicalize().ok()?;
    let mounts = std::fs::read_to_string("/proc/self/mountinfo").ok()?;
    kind_of_disk(&mounts, &folder).filter(|kind| is_of_network(kind)).map(str::to_owned)
}

/// The kind of network disk that a folder lies on; `None` for a disk of this PC, and where it cannot be told.
///
/// A drive letter that stands for a shared folder is found out: the whole path of what lies there is the share's.
#[cfg(windows)]
pub(super) fn network_disk(folder: &Path) -> Option<String> {
    use std::path::{Component, Prefix};
    let folder = folder.canonicalize().ok()?;
    let Some(Component::Prefix(prefix)) = folder.components().next() else { return None };
    let is_share = matches!(prefix.kind(), Prefix::UNC(..) | Prefix::VerbatimUNC(..));
    is_share.then(|| "a shared folder".to_owned())
}

/// Elsewhere there is no way to ask without naming the system's own calls.
#[cfg(not(any(target_os = "linux", windows)))]
pub(super) fn network_disk(_folder: &Path) -> Option<String> {
    None
}

/// The file systems of Linux that reach another PC: the kernel's own, and those that a program serves (`fuse.`).
///
/// `9p` and `virtiofs` are not among them: they mostly reach the disk of the PC that this one runs inside.
#[cfg(target_os = "linux")]
const OF_NETWORK: [&str; 17] = [
    "afs",
    "ceph",
    "cifs",
    "coda",
    "davfs",
    "fuse.ceph-fuse",
    "fuse.curlftpfs",
    "fuse.davfs",
    "fuse.glusterfs",
    "fuse.gvfsd-fuse",
    "fuse.rclone",
    "fuse.sshfs",
    "ncpfs",
    "nfs",
    "nfs4",
    "smb3",
    "smbfs",
];

#[cfg(target_os = "linux")]
fn is_of_network(kind: &str) -> bool {
    OF_NETWORK.contains(&kind)
}

/// The file system of a whole path, by the kernel's list of what is mounted where (proc_pid_mountinfo(5)): the one
/// mounted nearest above it, and of several in one place the last.
#[cfg(target_os = "linux")]
fn kind_of_disk<'m>(mounts: &'m str, path: &Path) -> Option<&'m str> {
    let mounted = mounts.lines().filter_map(|line| {
        let (before, after) = line.split_once(" - ")?;
        let place = unescaped(before.split(' ').nth(4)?);
        path.starts_with(&place).then_some((place.len(), after.split(' ').next()?))
    });
    mounted.max_by_key(|(length, _)| *length).map(|(_, kind)| kind)
}

/// A path of the list as it is: blanks and the like stand there as three octal figures behind a backslash.
#[cfg(target_os = "linux")]
fn unescaped(written: &str) -> String {
    [("\\040", " "), ("\\011", "\t"), ("\\012", "\n"), ("\\134", "\\")]
        .iter()
        .fold(written.to_owned(), |text, (code, sign)| text.replace(code, sign))
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::*;

    /// In the form of proc_pid_mountinfo(5); the first line is that page's own example.
    const MOUNTS: &str = "\
36 35 98:0 /mnt1 /mnt2 rw,noatime master:1 - ext3 /dev/root rw,errors=continue
1 0 8:1 / / rw,relatime - ext4 /dev/sda1 rw
50 1 0:44 / /srv/share rw,relatime shared:9 - cifs //pc.example/share rw,vers=3.0
51 1 0:45 / /srv/my\\040share rw - nfs4 nas.example:/shop rw
52 1 0:46 / /home/a/box rw,nosuid - fuse.sshfs a@nas.example: rw
53 50 8:2 / /srv/share/own rw - xfs /dev/sdb1 rw
54 1 8:3 / /srv/twice rw - ext4 /dev/sdc1 rw
55 54 0:47 / /srv/twice rw - nfs nas.example:/twice rw
";

    #[test]
    fn the_disk_of_a_folder_is_that_of_the_nearest_mount_above_it() {
        for (path, kind, of_network) in [
            ("/mnt2/yard/kept", "ext3", false),
            ("/home/a/yard/kept", "ext4", false),
            ("/srv/share/yard/kept", "cifs", true),
            ("/srv/shared/yard/kept", "ext4", false),
            ("/srv/share/own/kept", "xfs", false),
            ("/srv/my share/kept", "nfs4", true),
            ("/home/a/box/kept", "fuse.sshfs", true),
            ("/srv/twice/kept", "nfs", true),
        ] {
            assert_eq!(kind_of_disk(MOUNTS, Path::new(path)), Some(kind), "{path}");
            assert_eq!(is_of_network(kind), of_network, "{path}");
        }
        assert_eq!(kind_of_disk("no list at all\n - \n", Path::new("/")), None);
    }

    #[test]
    fn the_kernel_s_own_list_can_be_read() {
        let mounts = std::fs::read_to_string("/proc/self/mountinfo").unwrap();
        assert!(
            kind_of_disk(&mounts, Path::new("/proc/self")).is_some_and(|kind| kind == "proc"),
            "{mounts}"
        );
    }
}
