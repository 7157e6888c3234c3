//! Tests of the copies, of what is forgotten, and of the room that is set aside.

use std::fs;

use super::layout_tests::layout_1;
use super::tests::{day, everything, finding, keep_letter, keep_records, letter, one_of_each, posting};
use super::*;
use crate::findings::State;

fn names_in(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

fn begun(folder: &Path) -> (PathBuf, Ledger) {
    let path = folder.join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    keep_records(&mut ledger, "2026-03-01", &one_of_each());
    (path, ledger)
}

#[test]
fn a_copy_has_everything_and_is_made_once_a_day() {
    let folder = tempfile::tempdir().unwrap();
    let (path, mut ledger) = begun(folder.path());
    assert!(ledger.wants_copy(day("2026-03-01")));
    ledger.make_copy(day("2026-03-01")).unwrap();
    assert!(!ledger.wants_copy(day("2026-03-01")) && ledger.wants_copy(day("2026-03-02")));
    let copies = path.with_file_name("copies");
    assert_eq!(names_in(&copies), ["ledger-2026-03-01.sqlite3"]);
    let before = everything(&ledger);
    let later = letter(&ledger, "2026-03-02", "later");
    keep_letter(&mut ledger, &later).unwrap();
    let copy = Ledger::open_read_only(&copies.join("ledger-2026-03-01.sqlite3")).unwrap();
    assert_eq!(everything(&copy), before);

    for mut never in [Ledger::in_memory().unwrap(), Ledger::open_read_only(&path).unwrap()] {
        keep_records(&mut never, "2026-03-02", &one_of_each());
        assert!(!never.wants_copy(day("2026-03-02")));
    }
}

#[test]
fn a_ledger_is_copied_before_its_layout_changes_or_not_changed() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    layout_1(&path);
    let before = fs::read(&path).unwrap();
    let copies = path.with_file_name("copies");
    fs::write(&copies, "a file in the way").unwrap();
    let refused = Ledger::open_mended(&path, day("2026-03-07"), false).unwrap_err();
    assert!(matches!(refused, LedgerFailure::NotCopied { .. }), "{refused:?}");
    let layout_of = |path: &Path| -> i64 {
        let file = Connection::open(path).unwrap();
        file.pragma_query_value(None, "user_version", |row| row.get(0)).unwrap()
    };
    assert_eq!(layout_of(&path), 1);
    assert_eq!(fs::read(&path).unwrap().len(), before.len());

    fs::remove_file(&copies).unwrap();
    let (ledger, mishap) = Ledger::open_mended(&path, day("2026-03-07"), false).unwrap();
    assert_eq!(mishap, None);
    let brought_up = everything(&ledger);
    drop(ledger);
    let names = names_in(&copies);
    let [name] = &names[..] else { panic!("one copy, not {names:?}") };
    assert!(name.starts_with("ledger-2026-03-0") && name.ends_with("-before-layout-5.sqlite3"), "{name}");
    assert_eq!((layout_of(&path), layout_of(&copies.join(name))), (layout::NEWEST, 1));

    // It can take the place of the one that it was made of.
    fs::write(&path, "no ledger").unwrap();
    let (ledger, mishap) = Ledger::open_mended(&path, day("2026-03-07"), false).unwrap();
    assert!(mishap.is_some());
    let without_mark = |text: &str| text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(without_mark(&everything(&ledger)), without_mark(&brought_up));
}

#[test]
fn copies_are_kept_for_a_fortnight_and_the_last_three_however_old() {
    let folder = tempfile::tempdir().unwrap();
    let (path, ledger) = begun(folder.path());
    let copies = path.with_file_name("copies");
    for number in 0..40 {
        let today = crate::units::Days(number).after(day("2026-03-01")).unwrap();
        ledger.make_copy(today).unwrap();
    }
    let names = names_in(&copies);
    assert_eq!(
        (names.len(), &*names[0]),
        (15, "ledger-2026-03-26.sqlite3"),
        "today's and those of 14 days before"
    );
    assert_eq!(names[14], "ledger-2026-04-09.sqlite3");

    fs::write(copies.join(".ledger.sqlite3.part"), "half").unwrap();
    fs::write(copies.join(".ledger.sqlite3.part-journal"), "half").unwrap();
    fs::write(copies.join("notes.txt"), "the owner's").unwrap();
    ledger.make_copy(day("2027-01-01")).unwrap();
    let left =
        ["ledger-2026-04-08.sqlite3", "ledger-2026-04-09.sqlite3", "ledger-2027-01-01.sqlite3", "notes.txt"];
    assert_eq!(names_in(&copies), left);
}

#[test]
fn that_no_copy_could_be_made_is_known_the_day_after() {
    let folder = tempfile::tempdir().unwrap();
    let (path, mut ledger) = begun(folder.path());
    let uncopied = |ledger: &Ledger, today| ledger.uncopied_since(day(today)).unwrap();
    let copies = path.with_file_name("copies");
    let tell = |ledger: &mut Ledger, date| {
        let letter = letter(ledger, date, "told");
        keep_letter(ledger, &letter).unwrap();
    };
    tell(&mut ledger, "2026-03-01");
    assert_eq!(uncopied(&ledger, "2026-03-01"), None, "the day's copy comes after its letter");
    fs::write(&copies, "a file in the way").unwrap();
    let failure = ledger.make_copy(day("2026-03-01")).unwrap_err().to_string();
    assert!(failure.starts_with("no copy of the ledger could be made at "), "{failure}");
    tell(&mut ledger, "2026-03-02");
    tell(&mut ledger, "2026-03-03");
    assert_eq!(uncopied(&ledger, "2026-03-03"), Some(day("2026-03-01")));
    fs::remove_file(&copies).unwrap();
    ledger.make_copy(day("2026-03-03")).unwrap();
    assert_eq!(uncopied(&ledger, "2026-03-03"), Some(day("2026-03-01")), "the same all day");
    assert_eq!(uncopied(&ledger, "2026-03-04"), None);
    assert_eq!(uncopied(&ledger, "2026-03-06"), None, "a closed day has nothing to copy");
}

/// Keeps a day's round: of each mark a reading of that day, of the first also a finding, and a letter.
fn keep_day(ledger: &mut Ledger, today: Date, marks: &[&str], letter_of: usize) {
    let mut records = Records::default();
    for mark in marks {
        records.records.push(super::tests::reading_of("log.csv", mark, today));
    }
    let lives =
        Lives { open: vec![finding("a", "mark AB12CDE", State::Open, "2026-03-01")], ..Lives::default() };
    let lives = if marks.contains(&"AB12CDE") { lives } else { Lives::default() };
    let mut letter = letter(ledger, &today.to_string(), &format!("{today} {}", "x".repeat(letter_of)));
    letter.eml = vec![7; letter_of];
    let rules = BTreeMap::new();
    let round =
        Round { today, records: &records, lives: &lives, rules: &rules, letter: Some(posting(&letter)) };
    ledger.keep(&round).unwrap();
    ledger.mark_delivered(&letter.edition, letter.made).unwrap();
}

#[test]
fn a_machine_that_no_sheet_names_for_long_is_forgotten_and_no_other() {
    let mut ledger = Ledger::in_memory().unwrap();
    let unseen = crate::units::Days(100);
    keep_day(&mut ledger, day("2026-03-01"), &["AB12CDE", "CD34EFG"], 10);
    keep_day(&mut ledger, day("2026-03-02"), &["CD34EFG"], 10);
    keep_day(&mut ledger, day("2026-06-05"), &["CD34EFG"], 10);
    assert_eq!(
        ledger.forget(day("2026-06-09"), unseen).unwrap(),
        Forgotten::default(),
        "100 days are not past"
    );
    let before = everything(&ledger);
    assert!(before.contains("AB12CDE"));
    let forgotten = ledger.forget(day("2026-06-10"), unseen).unwrap();
    assert_eq!(forgotten, Forgotten { records: 1, settled: 0, open: 1 });
    assert!(!everything(&ledger).contains("AB12CDE"), "nothing of it is left");
    let left = ledger.kept_records(&Records::default()).unwrap().records;
    assert_eq!(left.len(), 3, "what the other was long ago stays, since sheets still name it");
    assert_eq!(ledger.forget(day("2026-06-10"), unseen).unwrap(), Forgotten::default());
}

#[test]
fn what_is_about_the_whole_yard_is_not_forgotten_for_naming_no_machine() {
    let mut ledger = Ledger::in_memory().unwrap();
    keep_day(&mut ledger, day("2026-03-01"), &["CD34EFG"], 10);
    let mut of_yard = finding("repeated-fault", "the whole yard", State::Open, "2026-03-02");
    of_yard.identity = crate::yard::Identity::default();
    let lives = Lives { open: vec![of_yard], ..Lives::default() };
    let (rules, records) = (BTreeMap::new(), Records::default());
    let today = day("2026-03-02");
    ledger.keep(&Round { today, records: &records, lives: &lives, rules: &rules, letter: None }).unwrap();
    let forgotten = ledger.forget(day("2027-03-02"), crate::units::Days(100)).unwrap();
    assert_eq!(forgotten.open, 0);
    assert_eq!(ledger.kept_findings(day("2027-03-02")).unwrap().len(), 1);
}

#[test]
fn a_name_that_no_sheet_gives_any_more_is_known_with_its_last_day() {
    let mut ledger = Ledger::in_memory().unwrap();
    keep_day(&mut ledger, day("2026-03-01"), &["AB12CDE", "CD34EFG"], 10);
    keep_day(&mut ledger, day("2026-03-02"), &["CD34EFG"], 10);
    let today = Records {
        records: vec![super::tests::reading_of("log.csv", "CD34EFG", day("2026-03-03"))],
        ..Records::default()
    };
    let gone = |today: &Records, on: &str| ledger.names_gone(today, day(on)).unwrap();
    let name = |text: &str| crate::yard::MachineId::kept(text);
    assert_eq!(
        gone(&today, "2026-03-03").into_iter().collect::<Vec<_>>(),
        [(name("mark AB12CDE"), day("2026-03-01"))]
    );
    assert_eq!(gone(&Records::default(), "2026-03-03").len(), 2);
    // What a clock that was ahead wrote has not been yet.
    assert_eq!(gone(&Records::default(), "2026-03-01").len(), 1);
}

#[test]
fn names_that_stand_together_are_one_machine_s() {
    let mut ledger = Ledger::in_memory().unwrap();
    // Long ago a row knew the machine by mark and frame number; since then sheets name it by its frame number alone.
    let all = one_of_each();
    keep_records(&mut ledger, "2026-03-01", &all);
    let (mut identity, record) = all.records[0].clone();
    identity.mark = None;
    identity.stock_no = None;
    identity.frame_no.as_mut().unwrap().origin.row = 99;
    let only_frame = Records { records: vec![(identity, record)], ..Records::default() };
    keep_records(&mut ledger, "2027-03-01", &only_frame);
    let forgotten = ledger.forget(day("2027-03-02"), crate::units::Days(100)).unwrap();
    assert_eq!(forgotten.records, 4, "only those of the machine that is known by its stock number");
    assert_eq!(ledger.kept_records(&Records::default()).unwrap().records.len(), 6);
}

#[test]
fn what_is_forgotten_is_not_in_the_file_any_more() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    keep_day(&mut ledger, day("2026-03-01"), &["AB12CDE", "CD34EFG"], 10);
    keep_day(&mut ledger, day("2026-09-01"), &["CD34EFG"], 10);
    let holds =
        |name: &str| fs::read(&path).unwrap().windows(name.len()).any(|bytes| bytes == name.as_bytes());
    drop(ledger);
    assert!(holds("AB12CDE"));
    let mut ledger = Ledger::open(&path).unwrap();
    ledger.forget(day("2026-09-01"), crate::units::Days(100)).unwrap();
    drop(ledger);
    assert!(!holds("AB12CDE") && holds("CD34EFG"));
}

#[test]
fn over_two_years_the_file_stops_growing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    // A day in memory is quicker, and takes as many pages.
    ledger.connection.pragma_update(None, "synchronous", "off").unwrap();
    let pages = |ledger: &Ledger| -> i64 {
        ledger.connection.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap()
    };
    let marks = ["AB12CDE", "CD34EFG", "EF56GHJ", "GH78JKL", "JK90LMN", "LM12NPR", "NP34RST", "RS56TUV"];
    let mut after_a_while = 0;
    for number in 0..730 {
        let today = crate::units::Days(number).after(day("2026-03-01")).unwrap();
        // Each machine is in the sheets for 90 days; then others are.
        let mark = format!("{}{}", marks[(number as usize / 90) % 8], number / 90);
        keep_day(&mut ledger, today, &[&mark], 2_000);
        ledger.forget(today, crate::units::Days(180)).unwrap();
        if number == 430 {
            after_a_while = pages(&ledger);
        }
    }
    // Each day brought a letter of 8 kB and a reading; what stays of it for ever is that there was the letter.
    let in_the_end = pages(&ledger);
    let a_day = (in_the_end - after_a_while) * 4096 / (729 - 430);
    assert!(a_day < 1_000, "{a_day} bytes a day: {after_a_while} pages, then {in_the_end}");
    let letters: i64 =
        ledger.connection.query_row("SELECT count(*) FROM letter", [], |row| row.get(0)).unwrap();
    assert_eq!(letters, 730, "that there was each letter is still known");
}

#[test]
fn the_room_that_is_set_aside_is_made_once_and_holds_no_hole() {
    let folder = tempfile::tempdir().unwrap();
    let (path, ledger) = begun(folder.path());
    let spare = path.with_file_name("spare");
    fs::write(&spare, "half").unwrap();
    ledger.set_room_aside().unwrap();
    let file = fs::metadata(&spare).unwrap();
    assert_eq!(file.len(), 2 * 1024 * 1024);
    #[cfg(unix)]
    assert!(
        std::os::unix::fs::MetadataExt::blocks(&file) * 512 >= file.len(),
        "the disk has really given it"
    );
    let made = file.modified().unwrap();
    ledger.set_room_aside().unwrap();
    assert_eq!(fs::metadata(&spare).unwrap().modified().unwrap(), made);
}

#[test]
fn what_stands_where_the_room_should_be_is_said_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (path, ledger) = begun(folder.path());
    let spare = path.with_file_name("spare");
    let said = |what: &str| {
        format!(
            "no room could be set aside for the day when the disk is full: {} could not be made ({what} stands in its \
             place); take away what stands there, or let the account that runs Tickover write its folder",
            spare.display()
        )
    };
    fs::create_dir(&spare).unwrap();
    assert_eq!(ledger.set_room_aside().unwrap_err().to_string(), said("a folder"));
    assert!(spare.is_dir());
    #[cfg(unix)]
    {
        fs::remove_dir(&spare).unwrap();
        assert!(std::process::Command::new("mkfifo").arg(&spare).status().unwrap().success());
        assert_eq!(ledger.set_room_aside().unwrap_err().to_string(), said("something that is no file"));
    }
}
