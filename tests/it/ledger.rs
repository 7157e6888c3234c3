//! The ledger on real disks: full ones, read-only ones, and runs that are killed in the middle.

use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::Arc;

use jiff::civil::Date;
use tickover::findings::{Finding, Lives, Raised, Section, State};
use tickover::ledger::{
    Ledger, LedgerFailure, LetterKind, LetterState, LetterWords, OutboxLetter, Posting, Round, TellsOf,
};
use tickover::origin::{Entry, Origin, SheetName};
use tickover::units::Days;
use tickover::yard::{Identity, MachineId, Mark, Reading, Record, Records, WrittenDistance};

/// The day of a numbered round.
fn day_of(round: i64) -> Date {
    Days(round).after("2026-01-01".parse().unwrap()).unwrap()
}

/// What the sheets say in a numbered round: readings that no other round's sheets say.
fn records_of(round: i64, count: u32) -> Records {
    let name = Arc::new(SheetName { file: format!("readings-{round}.csv"), sheet: None });
    let entry_at = |row| Origin { name: Arc::clone(&name), row, column: 0 };
    let record = |row: u32| {
        let mark = Entry::new(Mark::new("AB12CDE").unwrap(), entry_at(row));
        let clock = WrittenDistance { tenths: round * 1_000_000 + i64::from(row), unit: None };
        let reading = Reading {
            day: Entry::new(day_of(round), entry_at(row)),
            clock: Entry::new(clock, entry_at(row)),
        };
        (Identity { mark: Some(mark), ..Identity::default() }, Record::Reading(reading))
    };
    Records { records: (2..count + 2).map(record).collect(), ..Records::default() }
}

/// One finding that stands since the first round.
fn lives_of(round: i64) -> Lives {
    let finding = Finding {
        rule: "service-due".to_owned(),
        title: "Service due".to_owned(),
        machine: MachineId::kept("mark AB12CDE"),
        identity: Identity::default(),
        machine_name: "AB12 CDE".to_owned(),
        customer: None,
        telephone: None,
        key: String::new(),
        raised: Raised {
            section: Section::BookIn,
            text: format!("said in round {round}"),
            due: None,
            due_range: None,
            at_once: false,
        },
        state: State::Open,
        since: day_of(0),
        no_longer_told: vec![],
        words_of: None,
        caution: None,
        evidence: vec![],
    };
    Lives { open: vec![finding], ..Lives::default() }
}

fn letter_of(ledger: &Ledger, round: i64) -> OutboxLetter {
    let words = LetterWords {
        subject: format!("Round {round}"),
        text: format!("said in round {round}"),
        html: String::new(),
        full_list: None,
    };
    let edition =
        ledger.edition(day_of(round), LetterKind::Morning, &words, "tickover@shop.example").unwrap();
    OutboxLetter {
        edition,
        words,
        eml: vec![b'.'; 20_000],
        made: format!("{}T07:30:00Z", day_of(round)).parse().unwrap(),
        state: LetterState::Waiting,
        accepted: None,
    }
}

fn keep(ledger: &mut Ledger, round: i64, count: u32) -> Result<(), LedgerFailure> {
    let letter = letter_of(ledger, round);
    let rules = BTreeMap::from([("service-due".to_owned(), format!("// accepted in round {round}"))]);
    ledger.keep(&Round {
        today: day_of(round),
        records: &records_of(round, count),
        lives: &lives_of(round),
        rules: &rules,
        letter: Some(Posting { letter: &letter, mails: &[], tells: TellsOf::Everything }),
    })
}

/// Checks that the ledger holds each of the rounds from 0 up to some last one as a whole, and gives the last.
fn last_whole_round(ledger: &Ledger, count: u32) -> Option<i64> {
    let records = ledger.kept_records(&Records::default()).unwrap().records;
    let rounds = records.len() as i64 / i64::from(count);
    let expected: Vec<_> = (0..rounds).flat_map(|round| records_of(round, count).records).collect();
    assert!(records == expected, "{} records, and not whole rounds of {count}", records.len());
    let (findings, rules) =
        (ledger.kept_findings(day_of(rounds)).unwrap(), ledger.accepted_rules(day_of(rounds)).unwrap());
    let letters: Vec<_> =
        (0..=rounds).map(|round| ledger.letter_of(day_of(round), LetterKind::Morning).unwrap()).collect();
    let Some(last) = rounds.checked_sub(1).filter(|last| *last >= 0) else {
        assert_eq!((findings.len(), rules.len(), letters), (0, 0, vec![None]));
        return None;
    };
    let said = format!("said in round {last}");
    assert_eq!(
        (findings.len(), findings[0].as_of, &findings[0].finding.raised.text),
        (1, day_of(last), &said)
    );
    assert_eq!(rules, BTreeMap::from([("service-due".to_owned(), format!("// accepted in round {last}"))]));
    assert!(letters[..letters.len() - 1].iter().all(Option::is_some) && letters[letters.len() - 1].is_none());
    let waiting = ledger.waiting_copies().unwrap();
    let days: Vec<_> = waiting.iter().map(|letter| letter.edition.day).collect();
    assert_eq!(
        days,
        (0..rounds).map(day_of).collect::<Vec<_>>(),
        "nothing was delivered, and nothing is lost"
    );
    assert_eq!(waiting.last().map(|letter| &letter.words.text), Some(&said));
    Some(last)
}

/// Where the run that is to be killed keeps its rounds; set only in that run.
const KEEP_IN: &str = "TICKOVER_TEST_KEEPS_ROUNDS_IN";

#[test]
fn a_run_that_is_killed_leaves_whole_rounds_and_all_that_it_had_kept() {
    const KILLS: u32 = 12;
    const RECORDS: u32 = 300;
    if let Some(path) = std::env::var_os(KEEP_IN) {
        keep_rounds_for_ever(Path::new(&path), RECORDS);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut last_before = -1;
    for kill in 0..KILLS {
        let mut run = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "ledger::a_run_that_is_killed_leaves_whole_rounds_and_all_that_it_had_kept"])
            .arg("--nocapture")
            .env(KEEP_IN, &path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        // It is killed a while after it has said that a round was kept: each time at another step of the next one.
        let mut said = BufReader::new(run.stdout.take().unwrap()).lines().map_while(Result::ok);
        let mut acknowledged = None;
        for line in said.by_ref() {
            acknowledged = line.rsplit_once("kept round ").map(|(_, round)| round.parse::<i64>().unwrap());
            if acknowledged.is_some() {
                break;
            }
        }
        for _ in 0..kill * 200_000 {
            std::hint::spin_loop();
        }
        run.kill().unwrap();
        run.wait().unwrap();
        let later = said.filter_map(|line| line.strip_prefix("kept round ")?.parse::<i64>().ok()).last();
        let acknowledged = later.or(acknowledged).expect("the run keeps a round before it is killed");

        let ledger = Ledger::open(&path).unwrap();
        let last = last_whole_round(&ledger, RECORDS).expect("a round that was kept is there");
        assert!(last == acknowledged || last == acknowledged + 1, "{last} kept, {acknowledged} acknowledged");
        assert!(last > last_before);
        last_before = last;
    }
}

/// Keeps one round after the other and says so after each.
fn keep_rounds_for_ever(path: &Path, count: u32) -> ! {
    let mut ledger = Ledger::open(path).unwrap();
    let mut round = last_whole_round(&ledger, count).map_or(0, |last| last + 1);
    let mut parent = std::io::stdout().lock();
    loop {
        keep(&mut ledger, round, count).unwrap();
        writeln!(parent, "kept round {round}").unwrap();
        round += 1;
    }
}

/// A small disk of its own in memory, gone at the end.
#[cfg(target_os = "linux")]
struct SmallDisk(tempfile::TempDir);

#[cfg(target_os = "linux")]
impl SmallDisk {
    fn of(size: &str) -> SmallDisk {
        let folder = tempfile::tempdir().unwrap();
        mount(&["-t", "tmpfs", "-o", &format!("size={size}"), "tmpfs"], folder.path());
        SmallDisk(folder)
    }

    fn path(&self) -> std::path::PathBuf {
        self.0.path().join("ledger.sqlite3")
    }

    /// Fills the disk to the last byte; the disk is full until the file is removed.
    fn fill(&self) -> std::path::PathBuf {
        let path = self.0.path().join("filler");
        let mut filler = std::fs::File::create(&path).unwrap();
        for size in [65_536, 4096, 1] {
            while filler.write_all(&vec![0; size]).is_ok() {}
        }
        path
    }

    fn make_read_only(&self) {
        mount(&["-o", "remount,ro"], self.0.path());
    }
}

#[cfg(target_os = "linux")]
impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg(self.0.path()).status();
    }
}

/// Mounts, or fails the test: what was not tried must not count as passed.
#[cfg(target_os = "linux")]
fn mount(options: &[&str], folder: &Path) {
    let mounted = Command::new("mount").args(options).arg(folder).status();
    assert!(
        mounted.as_ref().is_ok_and(std::process::ExitStatus::success),
        "CANNOT TEST FULL AND READ-ONLY DISKS: mounting a small tmpfs failed ({mounted:?}); run these tests as root"
    );
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_full_disk_nothing_of_the_round_is_kept_and_all_goes_on_once_there_is_room() {
    const RECORDS: u32 = 500;
    let disk = SmallDisk::of("4m");
    let path = disk.path();
    let full = format!(
        "the disk of the ledger {} is full, and nothing of this run was kept; free some space and run again",
        path.display()
    );

    let filler = disk.fill();
    assert_eq!(Ledger::open(&path).unwrap_err().to_string(), full, "there is no room to begin a ledger");
    std::fs::remove_file(filler).unwrap();

    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 0, RECORDS).unwrap();
    let filler = disk.fill();
    assert_eq!(keep(&mut ledger, 1, RECORDS).unwrap_err().to_string(), full);
    assert_eq!(last_whole_round(&ledger, RECORDS), Some(0), "what was kept before is still read");
    drop(ledger);
    let reader = Ledger::open_read_only(&path).unwrap();
    assert_eq!(last_whole_round(&reader, RECORDS), Some(0), "also by a later run");
    drop(reader);

    std::fs::remove_file(filler).unwrap();
    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 1, RECORDS).unwrap();
    assert_eq!(last_whole_round(&ledger, RECORDS), Some(1));
}

#[cfg(target_os = "linux")]
#[test]
fn on_a_full_disk_a_copy_leaves_nothing_half_and_the_last_ones_stay() {
    const RECORDS: u32 = 3_000;
    let disk = SmallDisk::of("8m");
    let path = disk.path();
    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 0, RECORDS).unwrap();
    ledger.make_copy(day_of(0)).unwrap();
    let copies = path.with_file_name("copies");
    let first = copies.join(format!("ledger-{}.sqlite3", day_of(0)));
    let whole = std::fs::read(&first).unwrap();
    let filler = disk.fill();
    // Room for half a copy.
    let full = std::fs::metadata(&filler).unwrap().len();
    std::fs::File::options()
        .write(true)
        .open(&filler)
        .unwrap()
        .set_len(full - whole.len() as u64 / 2)
        .unwrap();
    let failure = ledger.make_copy(day_of(1)).unwrap_err().to_string();
    assert!(failure.contains("the disk is full"), "{failure}");
    let left: Vec<_> = std::fs::read_dir(&copies).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(left, std::slice::from_ref(&first));
    assert_eq!(std::fs::read(&first).unwrap(), whole);
    std::fs::remove_file(filler).unwrap();
    ledger.make_copy(day_of(1)).unwrap();
    assert_eq!(last_whole_round(&Ledger::open_read_only(&first).unwrap(), RECORDS), Some(0));
}

#[cfg(target_os = "linux")]
#[test]
fn the_room_that_was_set_aside_keeps_the_rounds_of_a_full_disk() {
    const RECORDS: u32 = 500;
    let disk = SmallDisk::of("8m");
    let path = disk.path();
    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 0, RECORDS).unwrap();
    ledger.set_room_aside().unwrap();
    let filler = disk.fill();
    keep(&mut ledger, 1, RECORDS).unwrap();
    assert_eq!(last_whole_round(&ledger, RECORDS), Some(1));
    assert!(!path.with_file_name("spare").exists());
    let failure = ledger.set_room_aside().unwrap_err().to_string();
    assert!(failure.contains("is nearly full: no room could be set aside"), "{failure}");
    assert!(!path.with_file_name("spare").exists(), "half of it helps nobody");
    drop(ledger);

    // Also where there is no room even to open it.
    std::fs::remove_file(filler).unwrap();
    Ledger::open(&path).unwrap().set_room_aside().unwrap();
    let _filler = disk.fill();
    let (mut ledger, mishap) = Ledger::open_mended(&path, day_of(2), false).unwrap();
    assert_eq!(mishap, None);
    keep(&mut ledger, 2, RECORDS).unwrap();
    assert_eq!(last_whole_round(&ledger, RECORDS), Some(2));
}

#[cfg(target_os = "linux")]
#[test]
fn a_damaged_ledger_on_a_full_disk_waits_for_room_and_its_copy_is_not_forgotten() {
    const RECORDS: u32 = 500;
    let disk = SmallDisk::of("8m");
    let path = disk.path();
    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 0, RECORDS).unwrap();
    ledger.make_copy(day_of(0)).unwrap();
    drop(ledger);
    std::fs::write(&path, "no ledger").unwrap();
    let filler = disk.fill();
    for _ in 0..2 {
        let refused = Ledger::open_mended(&path, day_of(1), false).unwrap_err();
        assert!(matches!(refused, LedgerFailure::NotRestored { .. }), "{refused:?}");
        assert!(!path.exists(), "no new ledger hides the copy");
    }
    std::fs::remove_file(filler).unwrap();
    let (ledger, mishap) = Ledger::open_mended(&path, day_of(1), false).unwrap();
    assert!(mishap.is_some());
    assert_eq!(last_whole_round(&ledger, RECORDS), Some(0));
}

#[cfg(target_os = "linux")]
#[test]
fn a_read_only_disk_is_no_damage() {
    let disk = SmallDisk::of("8m");
    let path = disk.path();
    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 0, 10).unwrap();
    ledger.make_copy(day_of(0)).unwrap();
    drop(ledger);
    disk.make_read_only();
    let refused = Ledger::open_mended(&path, day_of(1), false).unwrap_err();
    assert!(matches!(refused, LedgerFailure::ReadOnly { .. }), "{refused:?}");
    assert!(path.exists() && !path.with_file_name("set-aside").exists());
}

#[cfg(target_os = "linux")]
#[test]
fn a_ledger_on_a_read_only_disk_says_so_and_is_still_read() {
    const RECORDS: u32 = 10;
    let disk = SmallDisk::of("4m");
    let path = disk.path();
    let mut ledger = Ledger::open(&path).unwrap();
    keep(&mut ledger, 0, RECORDS).unwrap();
    drop(ledger);
    disk.make_read_only();

    assert_eq!(
        Ledger::open(&path).unwrap_err().to_string(),
        format!(
            "the ledger {} can be read but not written; let the account that runs Tickover write the file and its \
             folder",
            path.display()
        )
    );
    let mut reader = Ledger::open_read_only(&path).unwrap();
    assert_eq!(last_whole_round(&reader, RECORDS), Some(0));
    keep(&mut reader, 1, RECORDS).unwrap();
    assert_eq!(last_whole_round(&reader, RECORDS), Some(0));

    let missing = path.with_file_name("missing.sqlite3");
    assert!(matches!(Ledger::open(&missing), Err(LedgerFailure::Unreachable { .. })));
    let none = Ledger::open_read_only(&missing).unwrap();
    assert_eq!(last_whole_round(&none, RECORDS), None);
}

#[cfg(target_os = "linux")]
#[test]
fn rounds_that_a_crash_left_unmerged_are_read_on_a_read_only_disk_or_the_ledger_is_refused() {
    const RECORDS: u32 = 10;
    let (database, log, index) = ("ledger.sqlite3", "ledger.sqlite3-wal", "ledger.sqlite3-shm");
    let folder = tempfile::tempdir().unwrap();
    let mut ledger = Ledger::open(&folder.path().join(database)).unwrap();
    keep(&mut ledger, 0, RECORDS).unwrap();
    let left_by_a_crash = |files: &[&str]| {
        let disk = SmallDisk::of("4m");
        for file in files {
            std::fs::copy(folder.path().join(file), disk.path().with_file_name(file)).unwrap();
        }
        disk.make_read_only();
        disk
    };

    let disk = left_by_a_crash(&[database, log, index]);
    let reader = Ledger::open_read_only(&disk.path()).unwrap();
    assert_eq!(last_whole_round(&reader, RECORDS), Some(0));
    drop(reader);

    // Without its index the log cannot be read there, and what is in it must not be passed over.
    let disk = left_by_a_crash(&[database, log]);
    let refused = Ledger::open_read_only(&disk.path());
    assert!(matches!(refused, Err(LedgerFailure::Unreachable { .. })), "{refused:?}");
}
