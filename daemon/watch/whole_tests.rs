//! A file is read whole or not at all, whoever writes it and however.

use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::{Duration, SystemTime};

use super::whole::has_settled;
use super::writer::{self, Writer};
use super::{Looks, NotWhole, Whole};

const BYTES_MAX: u64 = 1_000_000;

/// A folder of the test's own, with a file in it that was last changed a minute ago.
fn settled(bytes: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stock.csv");
    fs::write(&path, bytes).unwrap();
    set_age(&path, 60);
    (folder, path)
}

/// Sets a file's time so many seconds back, or ahead where that is negative.
fn set_age(path: &Path, seconds: i64) {
    let now = SystemTime::try_from(crate::today::now()).unwrap();
    let age = Duration::from_secs(seconds.unsigned_abs());
    let moment = if seconds < 0 { now + age } else { now - age };
    File::options().write(true).open(path).unwrap().set_modified(moment).unwrap();
}

fn read(path: &Path, patience_ms: u64) -> Result<Whole, NotWhole> {
    Looks::at([path], Duration::from_millis(patience_ms)).read_whole(path, BYTES_MAX)
}

/// What a read came to, in a word.
fn outcome(read: &Result<Whole, NotWhole>) -> String {
    match read {
        Ok(whole) => String::from_utf8_lossy(&whole.bytes).into_owned(),
        Err(NotWhole::Unreadable(failure)) => format!("unreadable: {:?}", failure.kind()),
        Err(why) => format!("{why:?}"),
    }
}

#[test]
fn a_file_that_was_left_alone_is_read_at_once() {
    let (_folder, path) = settled(b"Reg\n");
    let whole = read(&path, 0).unwrap();
    assert_eq!(whole.bytes, b"Reg\n");
    let modified = jiff::Timestamp::try_from(fs::metadata(&path).unwrap().modified().unwrap()).unwrap();
    assert_eq!(whole.modified, modified);
}

#[test]
fn what_cannot_be_had_is_said() {
    let (folder, path) = settled(b"");
    assert_eq!(outcome(&read(&path, 0)), "Empty");
    assert_eq!(outcome(&read(&folder.path().join("no.csv"), 0)), "Gone");
    assert_eq!(outcome(&read(folder.path(), 0)), "unreadable: IsADirectory");
    let (_folder, path) = settled(&[b'a'; 11]);
    let read = |most| outcome(&Looks::at([path.as_path()], Duration::ZERO).read_whole(&path, most));
    assert_eq!((read(10).as_str(), read(11).as_str()), ("TooLarge", "aaaaaaaaaaa"));
}

#[test]
fn a_file_that_somebody_holds_open_to_write_is_not_read_however_long_it_stalls() {
    let (_folder, path) = settled(b"old\n");
    let mut writing = File::options().append(true).open(&path).unwrap();
    assert_eq!(outcome(&read(&path, 0)), "BeingWritten", "opened, and nothing written yet");
    writing.write_all(b"half of a ro").unwrap();
    set_age(&path, 3600);
    assert_eq!(outcome(&read(&path, 100)), "BeingWritten", "stalled, with an old time");
    drop(writing);
    set_age(&path, 60);
    assert_eq!(outcome(&read(&path, 0)), "old\nhalf of a ro", "closed");
}

#[test]
fn a_file_that_has_only_just_changed_is_waited_for() {
    let (_folder, path) = settled(b"old\n");
    fs::write(&path, "new\n").unwrap();
    assert_eq!(outcome(&read(&path, 0)), "ChangedJustNow");
    assert_eq!(outcome(&read(&path, 5_000)), "new\n");
}

#[test]
fn an_empty_file_that_has_only_just_been_made_may_still_be_filled() {
    let (_folder, path) = settled(b"old\n");
    File::create(&path).unwrap();
    assert_eq!(outcome(&read(&path, 0)), "ChangedJustNow");
    assert_eq!(outcome(&read(&path, 5_000)), "Empty");
}

#[test]
fn a_file_from_the_future_is_read_once_looks_find_it_unchanged() {
    let (_folder, path) = settled(b"new\n");
    set_age(&path, -86_400);
    assert_eq!(outcome(&read(&path, 0)), "ChangedJustNow");
    assert_eq!(outcome(&read(&path, 5_000)), "new\n");
}

#[test]
fn one_patience_serves_all_files() {
    let (folder, path) = settled(b"old\n");
    let held = folder.path().join("held.csv");
    let _writing = File::create(&held).unwrap();
    fs::write(&path, "new\n").unwrap();
    let mut looks = Looks::at([held.as_path(), path.as_path()], Duration::from_millis(600));
    assert_eq!(outcome(&looks.read_whole(&held, BYTES_MAX)), "BeingWritten");
    assert_eq!(
        outcome(&looks.read_whole(&path, BYTES_MAX)),
        "new\n",
        "it settled while the other was waited for"
    );
}

#[test]
fn how_long_is_quiet_depends_on_what_the_system_tells() {
    let [local, share] = [false, true].map(|on_share| Writer::Untold { on_share });
    // Writer, age in seconds by the file's own time (None: it lies ahead), seconds between looks that found the same.
    let cases = [
        (Writer::Somebody, Some(3600.0), 3600.0, false),
        (Writer::Nobody, Some(0.2), 0.0, false),
        (Writer::Nobody, Some(0.3), 0.0, true),
        (Writer::Nobody, Some(0.1), 0.3, true),
        (Writer::Nobody, None, 0.0, false),
        (Writer::Nobody, None, 0.3, true),
        (local, Some(3600.0), 0.0, false),
        (local, Some(3600.0), 1.9, false),
        (local, Some(3600.0), 2.0, true),
        (local, Some(4.0), 2.5, false),
        (local, Some(5.0), 2.5, true),
        (local, None, 1.0, false),
        (local, None, 2.0, true),
        (share, Some(3600.0), 1.0, false),
        (share, Some(29.0), 20.0, false),
        (share, Some(30.0), 2.0, true),
        (share, None, 2.0, true),
    ];
    for (writer, age, unchanged_for, expected) in cases {
        let settled =
            has_settled(writer, age.map(Duration::from_secs_f64), Duration::from_secs_f64(unchanged_for));
        assert_eq!(settled, expected, "{writer:?} {age:?} {unchanged_for}");
    }
}

#[test]
fn a_writer_that_comes_while_the_question_is_asked_ends_nobody() {
    let (_folder, path) = settled(b"old\n");
    let coming_and_going = path.clone();
    let writer = thread::spawn(move || {
        for _ in 0..3_000 {
            drop(File::options().append(true).open(&coming_and_going).unwrap());
        }
    });
    let mut answers = 0;
    while !writer.is_finished() {
        assert!(matches!(writer::open(&path).unwrap(), Some((_, Writer::Nobody | Writer::Somebody))));
        answers += 1;
    }
    writer.join().unwrap();
    assert!(answers > 0);
    assert_eq!(writer::open(&path).unwrap().unwrap().1, Writer::Nobody);
}

/// How a program saves a new version.
type Save = fn(&Path, &[u8]);

/// Truncates the file and fills it piece by piece.
fn in_place(path: &Path, bytes: &[u8]) {
    let mut file = File::create(path).unwrap();
    for piece in bytes.chunks(bytes.len() / 8) {
        thread::sleep(Duration::from_millis(5));
        file.write_all(piece).unwrap();
    }
}

/// Writes beside the file, and gives the new one the old one's name.
fn renamed_over(path: &Path, bytes: &[u8]) {
    let beside = path.with_extension("tmp");
    in_place(&beside, bytes);
    fs::rename(beside, path).unwrap();
}

/// Takes the old one away, then writes the new one.
fn deleted_first(path: &Path, bytes: &[u8]) {
    let _ = fs::remove_file(path);
    in_place(path, bytes);
}

/// A version: its number in every line, and at the end how many lines there are.
fn version(number: usize) -> Vec<u8> {
    let lines = 1_000 + 37 * number;
    format!("{}end of {lines}\n", format!("version {number:03}\n").repeat(lines)).into_bytes()
}

/// Whether bytes are one version from its first line to its last.
fn is_whole(bytes: &[u8]) -> bool {
    (0..VERSIONS).any(|number| version(number) == bytes)
}

const VERSIONS: usize = 10;

#[test]
fn of_many_versions_none_is_ever_read_torn() {
    let saves: [(&str, Save, bool); 3] = [
        ("in place", in_place, true),
        ("renamed over", renamed_over, false),
        ("deleted first", deleted_first, true),
    ];
    thread::scope(|scope| {
        for (name, save, tears) in saves {
            scope.spawn(move || {
                let (_folder, path) = settled(&version(0));
                let saved = path.clone();
                let writer = thread::spawn(move || {
                    for number in 1..VERSIONS {
                        save(&saved, &version(number));
                        // Some versions stay long enough to be read, others do not.
                        thread::sleep(Duration::from_millis(if number % 3 == 0 { 600 } else { 100 }));
                    }
                });
                let (mut accepted, mut torn_by_plain_reading) = (0, 0);
                while !writer.is_finished() {
                    if let Ok(whole) = read(&path, 20) {
                        assert!(is_whole(&whole.bytes), "{name}: {} bytes were read torn", whole.bytes.len());
                        accepted += 1;
                    }
                    let plain = fs::read(&path).unwrap_or_default();
                    torn_by_plain_reading += usize::from(!is_whole(&plain));
                }
                writer.join().unwrap();
                assert_eq!(read(&path, 5_000).unwrap().bytes, version(VERSIONS - 1), "{name}: the last one");
                assert!(accepted > 0, "{name}: some were read");
                assert!(!tears || torn_by_plain_reading > 0, "{name}: this trial can tear what is read");
            });
        }
    });
}
