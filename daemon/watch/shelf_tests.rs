//! The shelf's life: copies are made, found, aged and taken down.

use std::fs;
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::{Date, date};

use super::shelf::{escaped, original_of};
use super::{Shelf, Whole};

const MONDAY: Date = date(2026, 3, 2);

fn whole(text: &str, second: i64) -> Whole {
    Whole { bytes: text.as_bytes().to_vec(), modified: Timestamp::from_second(second).unwrap() }
}

fn shelf(folder: &Path) -> Shelf {
    Shelf::at(folder.join("exports"), true)
}

/// What lies in the shelf's folder: names, sorted.
fn lying_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder.join("exports")).into_iter().flatten();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn a_copy_is_found_again_with_the_time_of_its_original() {
    let folder = tempfile::tempdir().unwrap();
    let first = whole("Reg\nAB12 CDE\n", 1_772_430_600);
    shelf(folder.path()).put("sheets/stock.csv", &first).unwrap();
    assert_eq!(shelf(folder.path()).names(), ["sheets/stock.csv"]);
    assert_eq!(shelf(folder.path()).copy_of("sheets/stock.csv"), Some(first));
    assert_eq!(shelf(folder.path()).copy_of("sheets/other.csv"), None);
    let second = whole("Reg\n", 1_772_517_000);
    shelf(folder.path()).put("sheets/stock.csv", &second).unwrap();
    assert_eq!(shelf(folder.path()).copy_of("sheets/stock.csv"), Some(second));
    assert_eq!(lying_in(folder.path()), ["sheets%2fstock.csv"]);
}

#[test]
#[cfg(unix)]
fn the_same_bytes_are_not_written_twice() {
    use std::os::unix::fs::MetadataExt;
    let folder = tempfile::tempdir().unwrap();
    let mut shelf = shelf(folder.path());
    let file = || fs::metadata(folder.path().join("exports/a.csv")).unwrap();
    shelf.put("a.csv", &whole("Reg\n", 1_772_430_600)).unwrap();
    let (number, changed) = (file().ino(), (file().ctime(), file().ctime_nsec()));
    shelf.put("a.csv", &whole("Reg\n", 1_772_430_600)).unwrap();
    assert_eq!(
        (file().ino(), (file().ctime(), file().ctime_nsec())),
        (number, changed),
        "nothing is touched"
    );
    shelf.put("a.csv", &whole("Reg\n", 1_772_430_660)).unwrap();
    assert_eq!((file().ino(), file().mtime()), (number, 1_772_430_660), "only the time is new");
    shelf.put("a.csv", &whole("Mrk\n", 1_772_430_660)).unwrap();
    assert_ne!(file().ino(), number, "other bytes of the same length are");
}

#[test]
fn a_shelf_that_does_not_keep_writes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    shelf(folder.path()).put("a.csv", &whole("Reg\n", 1)).unwrap();
    let mut reading = Shelf::at(folder.path().join("exports"), false);
    reading.put("b.csv", &whole("Reg\n", 1)).unwrap();
    reading.put("a.csv", &whole("Mark\n", 2)).unwrap();
    assert_eq!(reading.gone_since("a.csv", MONDAY), MONDAY);
    reading.take_down("a.csv").unwrap();
    assert_eq!(lying_in(folder.path()), ["a.csv"]);
    assert_eq!(reading.copy_of("a.csv"), Some(whole("Reg\n", 1)));
}

#[test]
fn since_when_a_file_is_gone_is_remembered_until_it_is_back() {
    let folder = tempfile::tempdir().unwrap();
    let days = [MONDAY, date(2026, 3, 5), date(2026, 3, 4), date(2026, 3, 1)];
    shelf(folder.path()).put("a.csv", &whole("Reg\n", 1)).unwrap();
    let since = days.map(|day| shelf(folder.path()).gone_since("a.csv", day));
    // A run for an earlier day knows of no later one.
    assert_eq!(since, [MONDAY, MONDAY, MONDAY, date(2026, 3, 1)]);
    assert_eq!(shelf(folder.path()).names(), ["a.csv"], "the note is no copy");
    shelf(folder.path()).put("a.csv", &whole("Reg\n", 1)).unwrap();
    assert_eq!(shelf(folder.path()).gone_since("a.csv", date(2026, 3, 9)), date(2026, 3, 9));
    fs::write(folder.path().join("exports/%gone-a.csv"), "a day").unwrap();
    assert_eq!(
        shelf(folder.path()).gone_since("a.csv", date(2026, 3, 10)),
        date(2026, 3, 10),
        "a note spoilt"
    );
}

#[test]
fn what_is_taken_down_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut shelf = shelf(folder.path());
    shelf.put("a.csv", &whole("Reg\n", 1)).unwrap();
    shelf.gone_since("a.csv", MONDAY);
    shelf.take_down("a.csv").unwrap();
    shelf.take_down("never.csv").unwrap();
    assert_eq!((shelf.names(), shelf.copy_of("a.csv"), lying_in(folder.path())), (vec![], None, vec![]));
}

#[test]
fn what_has_no_room_is_refused_and_the_copy_before_stays() {
    let folder = tempfile::tempdir().unwrap();
    let mut shelf = Shelf::with_room(folder.path().join("exports"), true, 10);
    shelf.put("a.csv", &whole("12345", 1)).unwrap();
    shelf.put("b.csv", &whole("12345", 1)).unwrap();
    assert!(shelf.put("c.csv", &whole("1", 1)).is_err());
    assert!(shelf.put("a.csv", &whole("123456", 1)).is_err());
    assert_eq!(shelf.copy_of("a.csv"), Some(whole("12345", 1)));
    shelf.put("a.csv", &whole("1234", 2)).unwrap();
    shelf.put("c.csv", &whole("1", 1)).unwrap();
    assert!(shelf.put(&"long".repeat(60), &whole("", 1)).is_err(), "a name too long for a copy");
}

#[test]
fn a_name_becomes_that_of_its_copy_and_back() {
    let cases = [
        ("stock.csv", "stock.csv"),
        ("sheets/2026/April stock.xlsx", "sheets%2f2026%2fApril stock.xlsx"),
        ("/mnt/share/a.csv", "%2fmnt%2fshare%2fa.csv"),
        ("C:/Users/Kay/a.csv", "C%3a%2fUsers%2fKay%2fa.csv"),
        ("//server/share/a.csv", "%2f%2fserver%2fshare%2fa.csv"),
        ("../elsewhere/.hidden", "%2e.%2felsewhere%2f.hidden"),
        ("100%.csv", "100%25.csv"),
        ("%gone-a.csv", "%25gone-a.csv"),
        ("ends in a dot.", "ends in a dot%2e"),
        ("Größe 表.csv", "Größe 表.csv"),
        ("a\nb", "a%0ab"),
    ];
    for (name, copy) in cases {
        assert_eq!(escaped(name).as_deref(), Some(copy));
        assert_eq!(original_of(copy).as_deref(), Some(name));
    }
    for no_copy in [".stock.csv.part", "%gone-a.csv", "a%2", "%ff.csv"] {
        assert_eq!(original_of(no_copy), None, "{no_copy}");
    }
}

#[test]
fn a_copy_that_is_taken_down_takes_what_lies_beside_it_along() {
    let folder = tempfile::tempdir().unwrap();
    let mut shelf = Shelf::at(folder.path().join("shelf"), true);
    let whole = |text: &str| Whole {
        bytes: text.as_bytes().to_vec(),
        modified: "2026-03-02T05:50:00Z".parse().unwrap(),
    };
    let name = "sheets/machines.csv";
    shelf.put(name, &whole("new")).unwrap();
    shelf.keep_the_export_before(name, &whole("old")).unwrap();
    shelf.note_changes(name, "something\n").unwrap();
    assert_eq!(shelf.export_before(name), Some(whole("old")));
    assert_eq!(shelf.noted_changes(name), "something\n");
    // What lies beside copies is none itself.
    assert_eq!(Shelf::at(folder.path().join("shelf"), true).names(), [name]);
    shelf.take_down(name).unwrap();
    assert_eq!(std::fs::read_dir(folder.path().join("shelf")).unwrap().count(), 0);
}
