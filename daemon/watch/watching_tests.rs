//! What is noticed, how often, and what is not.

use std::fs::{self, File};
use std::path::Path;
use std::sync::mpsc::{self, Receiver};
use std::thread;
use std::time::{Duration, Instant};

use super::watching::Pace;
use super::{Notice, Places, Watch};
use crate::settings::Limits;

/// Fast, and by the system's events alone: the next look without one is a minute away.
const BY_EVENTS: Pace = Pace {
    sweep: Duration::from_secs(60),
    tick: Duration::from_millis(50),
    quiet: Duration::from_millis(250),
    patience: Duration::from_secs(60),
};

/// Fast, by looking often.
const BY_LOOKING: Pace = Pace { sweep: Duration::from_millis(100), ..BY_EVENTS };

/// How long a test waits for a notice before it fails.
const LONG: Duration = Duration::from_secs(10);

/// A yard under watch.
struct Yard {
    folder: tempfile::TempDir,
    notices: Receiver<Notice>,
    watch: Option<Watch>,
}

impl Yard {
    fn watched(pace: Pace) -> Yard {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in [
            ("tickover.toml", ""),
            ("sheets/stock.csv", "Reg\n"),
            ("sheets/2026/jobs.csv", "Reg\n"),
            ("rules/mot-due.rhai", "clear()"),
            ("handbook/models.csv", "Model\n"),
            ("answers/answers.xlsx", "one"),
            ("digests/2026-03-02.txt", "letter"),
            ("kept/ledger.sqlite3", "ledger"),
        ] {
            put(folder.path(), name, text);
        }
        let places = Places {
            yard: folder.path().to_owned(),
            folders: vec!["sheets".to_owned()],
            agreed: Vec::new(),
            limits: Limits::default(),
        };
        let (tell, notices) = mpsc::channel();
        let watch = Watch::at_pace(pace, places, move |notice| drop(tell.send(notice)));
        // The watch has begun once it had its first look and what it stirred has settled.
        thread::sleep(2 * pace.quiet);
        Yard { folder, notices, watch: Some(watch) }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// One change is noticed, once.
    #[track_caller]
    fn expect_one(&self, of: &str) {
        assert_eq!(self.notices.recv_timeout(LONG).ok(), Some(Notice::Changed), "{of} is noticed");
        self.expect_none(&format!("{of}, a second time"));
    }

    #[track_caller]
    fn expect_none(&self, of: &str) {
        assert_eq!(self.notices.recv_timeout(2 * BY_EVENTS.quiet).ok(), None, "{of}");
    }
}

fn put(folder: &Path, name: &str, text: &str) {
    let path = folder.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, text).unwrap();
}

#[test]
fn every_way_of_saving_is_noticed_once() {
    let yard = Yard::watched(BY_EVENTS);
    let sheets = yard.path().join("sheets");
    yard.expect_none("nothing happened");
    fs::write(sheets.join("stock.csv"), "Reg\nAB12 CDE\n").unwrap();
    yard.expect_one("truncated and written");
    fs::write(sheets.join("stock.tmp"), "Reg\n").unwrap();
    fs::rename(sheets.join("stock.tmp"), sheets.join("stock.csv")).unwrap();
    yard.expect_one("renamed over");
    put(yard.path(), "elsewhere.csv", "Reg\n");
    fs::rename(yard.path().join("elsewhere.csv"), sheets.join("mileages.csv")).unwrap();
    yard.expect_one("renamed in");
    fs::remove_file(sheets.join("mileages.csv")).unwrap();
    yard.expect_one("deleted");
    File::create(sheets.join("mileages.csv")).unwrap();
    yard.expect_one("an empty file");
    fs::write(sheets.join("2026/jobs.csv"), "Reg\nAB12 CDE\n").unwrap();
    yard.expect_one("one folder down");
}

#[test]
fn the_settings_the_rules_the_handbook_and_the_answers_are_watched_too() {
    let yard = Yard::watched(BY_EVENTS);
    for name in
        ["tickover.toml", "rules/mot-due.rhai", "rules/ours.rhai", "handbook/models.csv", "answers/new.xlsx"]
    {
        put(yard.path(), name, "something new");
        yard.expect_one(name);
    }
}

#[test]
fn what_tickover_writes_itself_and_what_lies_beside_a_document_is_not_noticed() {
    let yard = Yard::watched(BY_LOOKING);
    for name in [
        "kept/ledger.sqlite3-wal",
        "kept/exports/stock.csv",
        "digests/2026-03-03.txt",
        "sheets/.~lock.stock.csv#",
        "sheets/~$stock.xlsx",
        "sheets/lu1234.tmp",
        "sheets/stock.xlsx.part",
    ] {
        put(yard.path(), name, "something new");
        fs::remove_file(yard.path().join(name)).unwrap();
    }
    for name in ["sheets/stock.csv", "rules/mot-due.rhai", "tickover.toml"] {
        fs::read(yard.path().join(name)).unwrap();
    }
    yard.expect_none("none of these");
}

#[test]
fn a_burst_of_a_hundred_saves_is_noticed_once() {
    let quiet = Duration::from_millis(1_000);
    let yard = Yard::watched(Pace { quiet, ..BY_EVENTS });
    for number in 0..100 {
        put(yard.path(), &format!("sheets/{}.csv", number % 10), &format!("{number}\n"));
        thread::sleep(Duration::from_millis(5));
    }
    yard.expect_one("the burst");
}

#[test]
fn what_goes_on_changing_is_noticed_all_the_same() {
    let yard = Yard::watched(Pace { patience: Duration::from_millis(800), ..BY_EVENTS });
    let until = Instant::now() + Duration::from_millis(2_500);
    let mut length = 0;
    while Instant::now() < until {
        length += 1;
        put(yard.path(), "sheets/log.csv", &"a".repeat(length));
        thread::sleep(Duration::from_millis(20));
    }
    let told = yard.notices.try_iter().count();
    assert!((1..=3).contains(&told), "told {told} times in 2.5 s with a patience of 0.8 s");
    put(yard.path(), "sheets/log.csv", "its end");
    assert_eq!(yard.notices.recv_timeout(Duration::from_secs(20)), Ok(Notice::Changed));
}

#[test]
fn what_no_event_tells_of_is_found_by_looking() {
    let yard = Yard::watched(BY_LOOKING);
    let path = yard.path().join("sheets/stock.csv");
    let modified = fs::metadata(&path).unwrap().modified().unwrap();
    let touched = modified - Duration::from_secs(60);
    // Opened to be read, so that no event says that it was written.
    File::open(&path).unwrap().set_modified(touched).unwrap();
    yard.expect_one("a new time");
    fs::write(&path, "Mrk\n").unwrap();
    File::options().append(true).open(&path).unwrap().set_modified(touched).unwrap();
    yard.expect_one("new bytes of the same length, with the old time");
}

#[test]
fn a_folder_that_went_and_came_back_is_watched_again() {
    let yard = Yard::watched(BY_EVENTS);
    let sheets = yard.path().join("sheets");
    for _ in 0..2 {
        fs::remove_dir_all(&sheets).unwrap();
        yard.expect_one("the folder is gone");
        put(yard.path(), "sheets/stock.csv", "Reg\n");
        yard.expect_one("the folder is back");
        put(yard.path(), "sheets/stock.csv", "Reg\nAB12 CDE\n");
        yard.expect_one("a save in the new folder");
    }
}

#[test]
fn a_watch_that_is_dropped_ends_at_once() {
    let mut yard = Yard::watched(BY_EVENTS);
    put(yard.path(), "sheets/stock.csv", "Reg\nAB12 CDE\n");
    let start = Instant::now();
    drop(yard.watch.take());
    assert!(start.elapsed() < Duration::from_secs(1), "it took {:?}", start.elapsed());
    assert_eq!(yard.notices.iter().count(), 0, "and nobody tells any more");
}
