//! Tests of opening: files that others hold, that a newer program wrote, or that are no ledgers at all.

use std::time::Duration;

use super::tests::{day, everything, keep_letter, keep_records, letter, one_of_each, words};
use super::*;

#[test]
fn a_ledger_that_is_opened_to_read_keeps_nothing_and_leaves_no_file() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut none = Ledger::open_read_only(&path).unwrap();
    keep_records(&mut none, "2026-03-05", &one_of_each());
    assert_eq!(none.kept_records(&Records::default()).unwrap().records, []);
    assert!(!path.exists());

    let mut ledger = Ledger::open(&path).unwrap();
    keep_records(&mut ledger, "2026-03-05", &one_of_each());
    let letter = letter(&ledger, "2026-03-05", "one");
    keep_letter(&mut ledger, &letter).unwrap();
    drop(ledger);

    let mut reader = Ledger::open_read_only(&path).unwrap();
    let before = everything(&reader);
    keep_records(&mut reader, "2026-03-06", &Records::default());
    reader.mark_delivered(&letter.edition, letter.made).unwrap();
    assert_eq!(everything(&reader), before);
    assert_eq!(reader.kept_records(&Records::default()).unwrap().records, one_of_each().records);
    let same =
        reader.edition(day("2026-03-05"), LetterKind::Morning, &words("one"), "a@shop.example").unwrap();
    assert_eq!(same, letter.edition);
    drop(reader);
    let files: Vec<_> =
        std::fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().file_name()).collect();
    assert_eq!(files, ["ledger.sqlite3"]);
}

#[test]
fn a_ledger_that_another_run_writes_to_says_so_and_can_still_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ours = Ledger::open(&path).unwrap();
    keep_records(&mut ours, "2026-03-05", &one_of_each());
    ours.connection.busy_timeout(Duration::from_millis(20)).unwrap();
    let expected = format!(
        "the ledger {} is in use by another run; wait until that one is done, or end it, and run again",
        path.display()
    );

    let theirs = Ledger::open(&path).unwrap();
    theirs.connection.execute_batch("BEGIN IMMEDIATE").unwrap();
    let failure = opening::to_keep(&path, Duration::from_millis(20)).unwrap_err().of(&path);
    assert_eq!(failure.to_string(), expected);
    let (records, lives, rules) = (Records::default(), Lives::default(), BTreeMap::new());
    let round =
        Round { today: day("2026-03-06"), records: &records, lives: &lives, rules: &rules, letter: None };
    assert_eq!(ours.keep(&round).unwrap_err().to_string(), expected);
    let reader = Ledger::open_read_only(&path).unwrap();
    assert_eq!(reader.kept_records(&Records::default()).unwrap().records, one_of_each().records);

    theirs.connection.execute_batch("COMMIT").unwrap();
    ours.keep(&round).unwrap();
}

#[test]
fn a_ledger_of_a_newer_program_is_refused_in_words_and_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let ledger = Ledger::open(&path).unwrap();
    ledger.connection.pragma_update(None, "user_version", layout::NEWEST + 6).unwrap();
    drop(ledger);
    let before = std::fs::read(&path).unwrap();
    for opened in [Ledger::open(&path), Ledger::open_read_only(&path)] {
        assert_eq!(
            opened.unwrap_err().to_string(),
            format!(
                "the ledger {} was written by a newer Tickover (layout 11, and this one knows up to 5); install the newer \
                 one again",
                path.display()
            )
        );
    }
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

/// The failure's kind and what is wrong, for files that are no ledgers.
fn refused(path: &Path) -> [String; 2] {
    [Ledger::open(path), Ledger::open_read_only(path)].map(|opened| match opened {
        Ok(_) => "opened".to_owned(),
        Err(LedgerFailure::Damaged { what, .. }) => what.to_owned(),
        Err(LedgerFailure::Unreachable { .. }) => "unreachable".to_owned(),
        Err(other) => format!("{other:?}"),
    })
}

#[test]
fn a_file_that_is_no_ledger_is_refused_and_not_touched() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    keep_records(&mut ledger, "2026-03-05", &one_of_each());
    drop(ledger);
    let sound = std::fs::read(&path).unwrap();
    let foreign = folder.path().join("foreign");
    Connection::open(&foreign).unwrap().execute_batch("CREATE TABLE invoice (customer TEXT)").unwrap();
    let foreign = std::fs::read(&foreign).unwrap();

    let (parts, not) = ("parts of it are missing or overwritten", "it is not a ledger");
    let mut overwritten = sound.clone();
    overwritten[4096 * 3..4096 * 4].fill(0xAA);
    let text = "mark,miles\n".repeat(1000);
    let cases: [(&str, &[u8], &str); 8] = [
        ("a text file", b"mark,miles\nAB12 CDE,1204\n", not),
        ("a long text file", text.as_bytes(), not),
        ("two bytes", b"SQ", not),
        ("the first half", &sound[..sound.len() / 2], parts),
        ("one page", &sound[..4096], parts),
        ("the header only", &sound[..100], parts),
        ("a page in the middle overwritten", &overwritten, parts),
        ("another program's store", &foreign, "it is another program's file"),
    ];
    for (case, content, expected) in cases {
        std::fs::write(&path, content).unwrap();
        assert_eq!(refused(&path), [expected, expected], "{case}");
        assert_eq!(std::fs::read(&path).unwrap(), content, "{case}");
    }

    // SQLite takes a file of one byte for an empty one.
    for content in ["", "S"] {
        std::fs::write(&path, content).unwrap();
        assert_eq!(refused(&path), ["opened", "opened"], "an empty file is a ledger that was never begun");
    }
    let directory = folder.path().join("a folder");
    std::fs::create_dir(&directory).unwrap();
    assert_eq!(refused(&directory), ["unreachable", "unreachable"]);
    let below_a_file = path.join("ledger.sqlite3");
    assert_eq!(
        refused(&below_a_file),
        ["unreachable", "opened"],
        "nothing can be kept there, and nothing is"
    );
}

#[test]
fn a_ledger_whose_beginning_was_cut_off_is_begun_again() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let cut_off = Connection::open(&path).unwrap();
    cut_off.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(())).unwrap();
    drop(cut_off);
    assert!(std::fs::metadata(&path).unwrap().len() > 0);
    let mut ledger = Ledger::open(&path).unwrap();
    keep_records(&mut ledger, "2026-03-05", &one_of_each());
    assert_eq!(ledger.kept_records(&Records::default()).unwrap().records, one_of_each().records);
}

#[test]
fn any_overwritten_byte_is_read_refused_or_harmless_and_never_a_panic() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    keep_records(&mut ledger, "2026-03-05", &one_of_each());
    drop(ledger);
    let sound = std::fs::read(&path).unwrap();
    let (mut read, mut refused) = (0, 0);
    // A prime step meets headers, cells and free space alike.
    for place in (0..sound.len()).step_by(113) {
        let mut content = sound.clone();
        content[place] ^= 0xFF;
        std::fs::write(&path, &content).unwrap();
        let tried = Ledger::open_read_only(&path).and_then(|ledger| {
            ledger.kept_findings(day("2026-03-05"))?;
            ledger.accepted_rules(day("2026-03-05"))?;
            ledger.waiting_copies()?;
            ledger.mail_troubles(day("2026-03-06"))?;
            ledger.kept_records(&Records::default())
        });
        match tried {
            Ok(_) => read += 1,
            Err(_) => refused += 1,
        }
    }
    assert!(read > 0 && refused > 0, "{read} read, {refused} refused");
}

#[test]
fn the_store_survives_a_power_cut_as_far_as_it_can() {
    let folder = tempfile::tempdir().unwrap();
    let ledger = Ledger::open(&folder.path().join("ledger.sqlite3")).unwrap();
    let setting = |name: &str| -> String {
        ledger
            .connection
            .pragma_query_value(None, name, |row| row.get_ref(0).map(|value| format!("{value:?}")))
            .unwrap()
    };
    // 2 is FULL (sqlite.org/pragma.html#pragma_synchronous).
    assert_eq!(setting("synchronous"), "Integer(2)");
    assert_eq!(setting("journal_mode"), "Text(\"wal\")".replace("\"wal\"", "[119, 97, 108]"));
    assert_eq!(setting("foreign_keys"), "Integer(1)");
    assert_eq!(setting("trusted_schema"), "Integer(0)");
}
