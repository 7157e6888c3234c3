//! Tests of damage: whatever becomes of the file, what is kept is sound, or it was set aside and that is said.

use std::fs;

use super::tests::{day, everything, finding, keep_letter, keep_records, letter, one_of_each};
use super::*;
use crate::findings::State;

const TODAY: &str = "2026-03-06";

/// A folder with a ledger of 5 March: records, a finding, a rule and a letter, with the bytes of its file.
fn yard() -> (tempfile::TempDir, PathBuf, Vec<u8>) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    keep_records(&mut ledger, "2026-03-05", &one_of_each());
    let lives = Lives { open: vec![finding("a", "frame F1", State::New, "2026-03-05")], ..Lives::default() };
    let rules = BTreeMap::from([("a".to_owned(), "// source\n".repeat(200))]);
    let records = Records::default();
    let round =
        Round { today: day("2026-03-05"), records: &records, lives: &lives, rules: &rules, letter: None };
    ledger.keep(&round).unwrap();
    let letter = letter(&ledger, "2026-03-05", &"a long letter\n".repeat(1000));
    keep_letter(&mut ledger, &letter).unwrap();
    drop(ledger);
    let bytes = fs::read(&path).unwrap();
    (folder, path, bytes)
}

fn copy_of_today(path: &Path) {
    Ledger::open(path).unwrap().make_copy(day("2026-03-05")).unwrap();
}

fn opened(path: &Path) -> (Ledger, Option<Mishap>) {
    Ledger::open_mended(path, day(TODAY), false).unwrap()
}

/// What the ledger keeps, but for the mark that tells it from others.
fn kept(ledger: &Ledger) -> String {
    ledger.connection.execute("UPDATE store SET id = 'any'", []).unwrap();
    everything(ledger)
}

fn set_aside(path: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(path.with_file_name("set-aside")) else { return Vec::new() };
    let mut names: Vec<_> =
        entries.map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// Puts a damaged file in the ledger's place, opens it, and demands that what is kept then is sound or that the file
/// was set aside untouched and its copy took its place. Gives whether the damage was noticed.
fn check(path: &Path, sound: &str, damaged: &[u8], case: &str) -> bool {
    let _ = fs::remove_dir_all(path.with_file_name("set-aside"));
    fs::write(path, damaged).unwrap();
    let (ledger, mishap) = opened(path);
    let records = ledger.kept_records(&Records::default()).unwrap().records;
    assert_eq!(records, one_of_each().records, "{case}: every record says what it said");
    ledger.kept_findings(day(TODAY)).unwrap();
    let Some(mishap) = mishap else {
        assert_eq!(set_aside(path), [""; 0], "{case}: nothing is set aside without a word");
        return false;
    };
    assert_eq!(kept(&ledger), sound, "{case}: the copy has all");
    assert_eq!(set_aside(path), ["ledger-2026-03-06.sqlite3", "ledger-2026-03-06.txt"], "{case}");
    let aside = path.with_file_name("set-aside").join("ledger-2026-03-06.sqlite3");
    assert!(fs::read(aside).unwrap() == damaged, "{case}: it is set aside as it was found");
    assert_eq!(mishaps(path), [mishap], "{case}");
    true
}

#[test]
fn a_page_that_is_overwritten_is_noticed_or_holds_nothing() {
    let (_folder, path, bytes) = yard();
    copy_of_today(&path);
    let sound = kept(&opened(&path).0);
    let pages = bytes.len() / 4096;
    assert!(pages > 10, "{pages} pages");
    let mut noticed = 0;
    for page in 0..pages {
        for (fill, what) in [(0x00, "nothing"), (0xAA, "garbage")] {
            let mut damaged = bytes.clone();
            damaged[page * 4096..(page + 1) * 4096].fill(fill);
            let case = format!("page {} of {pages} overwritten with {what}", page + 1);
            noticed += usize::from(check(&path, &sound, &damaged, &case));
        }
    }
    // Of the pages that are not noticed each is the middle of a letter's mail, which has no form to break.
    assert!(noticed >= 2 * pages - 8, "{noticed} of {}", 2 * pages);
}

#[test]
fn a_byte_that_is_turned_never_changes_what_a_record_says() {
    let (_folder, path, bytes) = yard();
    copy_of_today(&path);
    let sound = kept(&opened(&path).0);
    let mut noticed = 0;
    // A prime step, so that every part of the pages has its turn.
    for place in (0..bytes.len()).step_by(509) {
        let mut damaged = bytes.clone();
        damaged[place] ^= 0x15;
        noticed += usize::from(check(&path, &sound, &damaged, &format!("byte {place} turned")));
    }
    assert!(noticed > 0);
}

#[test]
fn a_ledger_that_was_cut_short_is_set_aside_wherever_it_was_cut() {
    let (_folder, path, bytes) = yard();
    copy_of_today(&path);
    let sound = kept(&opened(&path).0);
    for length in (1..bytes.len().div_ceil(1024)).map(|kilobytes| kilobytes * 1024) {
        assert!(check(&path, &sound, &bytes[..length], &format!("cut at {length}")), "cut at {length}");
    }
}

#[test]
fn what_took_the_place_of_the_ledger_is_set_aside_and_said() {
    let foreign = tempfile::NamedTempFile::new().unwrap();
    Connection::open(foreign.path()).unwrap().execute_batch("CREATE TABLE invoice (customer TEXT)").unwrap();
    let foreign = fs::read(foreign.path()).unwrap();
    let cases: [(&[u8], &str); 4] = [
        (b"butter, eggs and oil", "it is not a ledger"),
        (&[0xAA; 20_000], "it is not a ledger"),
        (&foreign, "it is another program's file"),
        (b"SQLite format 3\0", "it is not a ledger"),
    ];
    for (there, what) in cases {
        let (_folder, path, _) = yard();
        copy_of_today(&path);
        let sound = kept(&opened(&path).0);
        assert!(check(&path, &sound, there, what));
        let expected = format!(
            "the ledger could not be used ({what}): it was set aside as kept/set-aside/ledger-2026-03-06.sqlite3, and \
             its copy of 5 Mar 2026 was put in its place; what only exports since 5 Mar 2026 said may be missing, and \
             what was found since may be told as new once more. See that the PC's disk is sound"
        );
        assert_eq!(mishaps(&path), [Mishap { day: day(TODAY), words: expected }]);
    }
}

#[test]
fn a_header_that_names_a_format_of_no_sqlite_is_damage_although_sqlite_calls_it_an_error() {
    let (_folder, path, bytes) = yard();
    copy_of_today(&path);
    let sound = kept(&opened(&path).0);
    let mut damaged = bytes;
    // The schema format number, 1 to 4 (sqlite.org/fileformat.html, 1.3.9).
    damaged[47] = 9;
    assert!(check(&path, &sound, &damaged, "its tables are not a ledger's"));
    assert!(mishaps(&path)[0].words.contains("(its tables are not a ledger's)"), "{:?}", mishaps(&path));
}

#[test]
fn a_damaged_ledger_that_cannot_be_set_aside_is_left_and_said() {
    let (_folder, path, bytes) = yard();
    fs::write(path.with_file_name("set-aside"), "a file stands where the folder should").unwrap();
    fs::write(&path, &bytes[..5000]).unwrap();
    let failure = Ledger::open_mended(&path, day(TODAY), false).unwrap_err().to_string();
    let parts = [
        "cannot be used (parts of it are missing or overwritten), and could not be set aside: ",
        "write its folder",
    ];
    assert!(parts.iter().all(|part| failure.contains(part)), "{failure}");
    assert!(fs::read(&path).unwrap() == bytes[..5000]);
}

#[test]
fn a_ledger_that_is_gone_comes_back_from_its_copy() {
    type Change = fn(&Path);
    let cases: [(Change, &str); 4] = [
        (|path| fs::remove_file(path).unwrap(), "it is gone, and only its copies are left"),
        (|path| fs::write(path, "").unwrap(), "it is empty, and only its copies are left"),
        (
            |path| {
                fs::write(path, "").unwrap();
                fs::write(path.with_file_name("ledger.sqlite3-wal"), [7; 5000]).unwrap();
            },
            "it is empty, and only its log is left",
        ),
        (
            |path| {
                fs::remove_file(path).unwrap();
                fs::create_dir(path).unwrap();
                fs::write(path.join("something"), "of the owner's").unwrap();
            },
            "a folder stands in its place",
        ),
    ];
    for (change, what) in cases {
        let (_folder, path, _) = yard();
        copy_of_today(&path);
        let sound = kept(&opened(&path).0);
        change(&path);
        let (ledger, mishap) = opened(&path);
        let words = mishap.unwrap().words;
        assert!(words.starts_with(&format!("the ledger could not be used ({what}): ")), "{words}");
        assert_eq!(kept(&ledger), sound, "{what}");
        drop(ledger);
        assert_eq!(opened(&path).1, None, "{what}: it is mended once");
    }
}

#[test]
fn a_log_beside_a_ledger_that_is_empty_is_set_aside_with_it() {
    let (_folder, path, _) = yard();
    fs::write(&path, "").unwrap();
    fs::write(path.with_file_name("ledger.sqlite3-wal"), [7; 5000]).unwrap();
    let (ledger, mishap) = opened(&path);
    assert_eq!(ledger.kept_records(&Records::default()).unwrap().records, []);
    let aside = ["ledger-2026-03-06.sqlite3", "ledger-2026-03-06.sqlite3-wal", "ledger-2026-03-06.txt"];
    assert_eq!(set_aside(&path), aside);
    assert_eq!(
        mishap.unwrap().words,
        "the ledger could not be used (it is empty, and only its log is left): it was set aside as \
         kept/set-aside/ledger-2026-03-06.sqlite3, and as there was no sound copy, a new one was begun; what only \
         exports before today said is missing, and what was open may be told as new once more. See that the PC's \
         disk is sound"
    );
}

#[test]
fn the_newest_copy_that_is_sound_takes_the_place() {
    let (_folder, path, bytes) = yard();
    let mut ledger = Ledger::open(&path).unwrap();
    ledger.make_copy(day("2026-03-04")).unwrap();
    let later = letter(&ledger, "2026-03-06", "of the 6th");
    keep_letter(&mut ledger, &later).unwrap();
    ledger.make_copy(day("2026-03-05")).unwrap();
    drop(ledger);
    let copies = path.with_file_name("copies");
    // Newer ones, of which none can be used: two damaged, one of a newer program, one dated by a clock gone wrong.
    fs::write(copies.join("ledger-2026-03-06.sqlite3"), &bytes[..bytes.len() / 2]).unwrap();
    fs::write(copies.join("ledger-2026-03-05-before-layout-9.sqlite3"), "no ledger").unwrap();
    fs::copy(copies.join("ledger-2026-03-04.sqlite3"), copies.join("ledger-2099-01-01.sqlite3")).unwrap();
    let newer = copies.join("ledger-2026-03-05.sqlite3");
    fs::copy(&newer, copies.join("kept")).unwrap();
    Connection::open(&newer).unwrap().pragma_update(None, "user_version", layout::NEWEST + 1).unwrap();
    fs::rename(copies.join("kept"), copies.join("ledger-2026-03-03.sqlite3")).unwrap();

    fs::write(&path, "no ledger").unwrap();
    let (ledger, mishap) = opened(&path);
    assert!(mishap.unwrap().words.contains("its copy of 4 Mar 2026 was put in its place"));
    assert_eq!(ledger.letter_of(day("2026-03-06"), LetterKind::Morning).unwrap(), None);
    drop(ledger);
    fs::remove_file(copies.join("ledger-2026-03-04.sqlite3")).unwrap();
    fs::write(&path, "no ledger").unwrap();
    assert!(opened(&path).1.unwrap().words.contains("its copy of 3 Mar 2026 was put in its place"));
}

#[test]
fn a_ledger_from_a_copy_gives_its_letters_names_of_its_own() {
    let (_folder, path, _) = yard();
    copy_of_today(&path);
    let mut ledger = Ledger::open(&path).unwrap();
    let lost = letter(&ledger, TODAY, "told by the ledger that was lost");
    keep_letter(&mut ledger, &lost).unwrap();
    drop(ledger);
    fs::write(&path, "no ledger").unwrap();
    let (mut ledger, _) = opened(&path);
    let next = letter(&ledger, TODAY, "told by the one from the copy");
    assert_eq!(next.edition.number, lost.edition.number);
    assert_ne!(next.edition.message_id, lost.edition.message_id);

    // Once the letter is put back by its copy in the folder, the next one is one more.
    ledger.put_back(&lost).unwrap();
    ledger.put_back(&lost).unwrap();
    assert_eq!(ledger.waiting_copies().unwrap().len(), 1, "only the letter of the 5th still waits");
    assert_eq!(
        ledger.letter_of(day(TODAY), LetterKind::Morning).unwrap().unwrap().state,
        LetterState::Delivered
    );
    assert_eq!(letter(&ledger, TODAY, "told by the one from the copy").edition.number, 2);
    assert_eq!(letter(&ledger, TODAY, "told by the ledger that was lost").edition, lost.edition);
}

#[test]
fn what_is_no_damage_is_left_alone() {
    let (_folder, path, _) = yard();
    copy_of_today(&path);
    let newer = Connection::open(&path).unwrap();
    newer.pragma_update(None, "user_version", layout::NEWEST + 1).unwrap();
    newer.close().unwrap();
    let before = fs::read(&path).unwrap();
    let refused = Ledger::open_mended(&path, day(TODAY), false).unwrap_err();
    assert!(matches!(refused, LedgerFailure::Newer { .. }), "{refused:?}");
    assert_eq!((set_aside(&path), fs::read(&path).unwrap() == before), (vec![], true));

    let known = Connection::open(&path).unwrap();
    known.pragma_update(None, "user_version", layout::NEWEST).unwrap();
    known.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let refused = Ledger::open_mended(&path, day(TODAY), false).unwrap_err();
    assert!(matches!(refused, LedgerFailure::Locked { .. }), "{refused:?}");
    assert_eq!(set_aside(&path), [""; 0]);
}

#[test]
fn only_the_last_five_that_were_set_aside_stay() {
    let (_folder, path, _) = yard();
    for date in
        ["2026-03-07", "2026-03-08", "2026-03-08", "2026-03-09", "2026-03-10", "2026-03-11", "2026-03-12"]
    {
        fs::write(&path, "no ledger").unwrap();
        Ledger::open_mended(&path, day(date), false).unwrap();
    }
    let stem = |name: String| name.strip_suffix(".sqlite3").map(str::to_owned);
    let left: Vec<_> = set_aside(&path).into_iter().filter_map(stem).collect();
    let expected = [
        "ledger-2026-03-08-2",
        "ledger-2026-03-09",
        "ledger-2026-03-10",
        "ledger-2026-03-11",
        "ledger-2026-03-12",
    ];
    assert_eq!(left, expected);
    let days: Vec<_> = mishaps(&path).into_iter().map(|mishap| mishap.day).collect();
    assert_eq!(days, ["2026-03-08", "2026-03-09", "2026-03-10", "2026-03-11", "2026-03-12"].map(day));
}
