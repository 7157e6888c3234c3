//! The system's own word that something happened in a folder, which only makes the watch look sooner.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::sync::mpsc::SyncSender;
use std::time::SystemTime;

use notify::event::{AccessKind, AccessMode, EventKind, ModifyKind};
use notify::{Event, RecommendedWatcher, RecursiveMode, Watcher};

use super::signature::{Identity, identity};
use crate::sheets;

/// The folders that give events, as far as the system gives any.
#[derive(Debug)]
pub(super) struct Events {
    watcher: Result<RecommendedWatcher, String>,
    armed: BTreeMap<PathBuf, Folder>,
    /// Whether it was said that there are none.
    is_said: bool,
}

/// Which folder lies under a name: one that was removed and made again gives no events until it is asked anew, and may
/// well have the number of the old one.
#[derive(Debug, PartialEq, Eq)]
struct Folder {
    identity: Identity,
    created: Option<SystemTime>,
}

impl Events {
    /// Events that wake whoever waits at the other end; none yet.
    pub(super) fn new(wake: SyncSender<()>) -> Events {
        let watcher = notify::recommended_watcher(move |event: notify::Result<Event>| {
            if event.map_or(true, |event| matters(&event)) {
                // Where a call to look waits already, one more says nothing new.
                let _ = wake.try_send(());
            }
        });
        let watcher = watcher.map_err(without_paths);
        Events { watcher, armed: BTreeMap::new(), is_said: false }
    }

    /// Asks for events of just these folders. Gives the reason, once, where the system has none to give.
    pub(super) fn arm(&mut self, folders: &BTreeSet<PathBuf>) -> Option<String> {
        let refused = match &mut self.watcher {
            Err(why) => Some(why.clone()),
            Ok(watcher) => arm(watcher, &mut self.armed, folders),
        };
        refused.filter(|_| !std::mem::replace(&mut self.is_said, true))
    }
}

/// Asks for events of just these folders; gives the reason where the system has none to give of one.
fn arm(
    watcher: &mut RecommendedWatcher,
    armed: &mut BTreeMap<PathBuf, Folder>,
    folders: &BTreeSet<PathBuf>,
) -> Option<String> {
    armed.retain(|path, folder| {
        let stays = folders.contains(path) && folder_at(path).as_ref() == Some(folder);
        if !stays {
            // A folder that is gone has been forgotten already.
            let _ = watcher.unwatch(path);
        }
        stays
    });
    let mut refused = None;
    for path in folders {
        if armed.contains_key(path) {
            continue;
        }
        let Some(folder) = folder_at(path) else { continue };
        match watcher.watch(path, RecursiveMode::NonRecursive) {
            Ok(()) => _ = armed.insert(path.clone(), folder),
            // One that has just gone is no fault of the system.
            Err(_) if !path.is_dir() => {}
            Err(failure) => refused = Some(without_paths(failure)),
        }
    }
    refused
}

/// What the system says, for the log: the name of a folder or file may be a person's.
fn without_paths(failure: notify::Error) -> String {
    notify::Error { paths: Vec::new(), ..failure }.to_string()
}

fn folder_at(path: &Path) -> Option<Folder> {
    let metadata = fs::metadata(path).ok().filter(Metadata::is_dir)?;
    Some(Folder { identity: identity(&metadata), created: metadata.created().ok() })
}

/// Whether an event can mean that a file has new bytes, came or went. That a file was opened to be read cannot: this
/// program reads the files itself, and would wake itself.
fn matters(event: &Event) -> bool {
    let is_change = match event.kind {
        EventKind::Any | EventKind::Other | EventKind::Create(_) | EventKind::Remove(_) => true,
        EventKind::Modify(kind) => !matches!(kind, ModifyKind::Metadata(_)),
        EventKind::Access(kind) => kind == AccessKind::Close(AccessMode::Write),
    };
    let is_beside = |path: &PathBuf| path.file_name().is_some_and(sheets::is_passed_over);
    is_change && (event.paths.is_empty() || !event.paths.iter().all(is_beside))
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc;

    use notify::event::{CreateKind, DataChange, MetadataKind, RemoveKind, RenameMode};

    use super::*;

    #[test]
    fn only_what_can_mean_new_bytes_matters() {
        let close = |mode| EventKind::Access(AccessKind::Close(mode));
        let data = EventKind::Modify(ModifyKind::Data(DataChange::Any));
        let cases: [(EventKind, &[&str], bool); 12] = [
            (EventKind::Create(CreateKind::File), &["sheets/a.csv"], true),
            (EventKind::Remove(RemoveKind::Folder), &["sheets"], true),
            (data, &["sheets/a.csv"], true),
            (EventKind::Modify(ModifyKind::Name(RenameMode::To)), &["sheets/a.csv"], true),
            (EventKind::Modify(ModifyKind::Name(RenameMode::Both)), &["sheets/a.tmp", "sheets/a.csv"], true),
            (EventKind::Modify(ModifyKind::Metadata(MetadataKind::Any)), &["sheets/a.csv"], false),
            (close(AccessMode::Write), &["sheets/a.csv"], true),
            (close(AccessMode::Read), &["sheets/a.csv"], false),
            (EventKind::Access(AccessKind::Open(AccessMode::Any)), &["sheets/a.csv"], false),
            (EventKind::Other, &[], true),
            (data, &["sheets/.~lock.a.csv#"], false),
            (data, &["sheets/~$a.xlsx", "sheets/lu1.tmp"], false),
        ];
        for (kind, paths, expected) in cases {
            let event = Event { paths: paths.iter().map(PathBuf::from).collect(), ..Event::new(kind) };
            assert_eq!(matters(&event), expected, "{event:?}");
        }
    }

    #[test]
    fn that_there_are_no_events_is_said_once() {
        let folder = tempfile::tempdir().unwrap();
        let folders = BTreeSet::from([folder.path().to_owned()]);
        let watcher = Err("too many watches".to_owned());
        let mut events = Events { watcher, armed: BTreeMap::new(), is_said: false };
        assert_eq!(events.arm(&folders).as_deref(), Some("too many watches"));
        assert_eq!(events.arm(&folders), None);
    }

    #[test]
    fn what_the_system_says_is_logged_without_the_names_of_folders_or_files() {
        let failure = notify::Error::generic("too many watches").add_path("/home/j.smith/exports".into());
        assert!(failure.to_string().contains("j.smith"));
        assert_eq!(without_paths(failure), "too many watches");
    }

    #[test]
    fn a_folder_that_is_not_there_is_no_fault_of_the_system() {
        let folder = tempfile::tempdir().unwrap();
        let (wake, _woken) = mpsc::sync_channel(1);
        let mut events = Events::new(wake);
        let folders = BTreeSet::from([folder.path().join("gone"), folder.path().to_owned()]);
        assert_eq!(events.arm(&folders), None);
        assert_eq!(events.armed.keys().collect::<Vec<_>>(), [folder.path()]);
    }
}
