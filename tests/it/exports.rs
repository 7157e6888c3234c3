//! Sheets that are being written, emptied, gone, renamed or back again: what was read last stands in, and it is said.

use std::fs::{self, File};
use std::io::Write;
use std::os::unix::fs::{MetadataExt as _, PermissionsExt as _, chown};
use std::os::unix::process::CommandExt as _;
use std::path::Path;
use std::process::Command;
use std::time::SystemTime;

use jiff::Timestamp;
use serde_json::Value;

use crate::program::Yard;

const MACHINES: &str = "Reg,Make,Model,Type,cc,Registered,Handover,Customer,Telephone,MOT expiry\n\
    AB12 CDE,Marlow,Spruce,motorcycle,125,01/12/2025,01/12/2025,Ann Other,07700 900123,\n\
    AB13 CDE,Marlow,Spruce,motorcycle,125,15/01/2026,15/01/2026,Bob Other,07700 900124,\n";
const MILEAGES: &str = "Reg,Date,Mileage\nAB12 CDE,20/02/2026,620\nAB13 CDE,25/02/2026,90\n";

/// A yard whose sheets of ten to six on 2 March have been read once, on that morning.
fn yard() -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", MACHINES);
    yard.put("sheets/mileages.csv", MILEAGES);
    for name in ["machines", "mileages"] {
        set_modified(&yard.path().join(format!("sheets/{name}.csv")), "2026-03-02T05:50:00Z");
    }
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    let (run, code) = yard.kept_morning("2026-03-02");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
    assert!(rings_ann(&run));
    yard
}

fn set_modified(path: &Path, moment: &str) {
    let moment = SystemTime::try_from(moment.parse::<Timestamp>().unwrap()).unwrap();
    File::options().append(true).open(path).unwrap().set_modified(moment).unwrap();
}

/// What a run complains of: file, and what is wrong.
fn complaints(run: &Value) -> Vec<(String, String)> {
    let part = |complaint: &Value, name: &str| complaint[name].as_str().unwrap().to_owned();
    let all = run["complaints"].as_array().unwrap().iter();
    all.map(|complaint| (part(complaint, "file"), part(complaint, "problem"))).collect()
}

fn one(file: &str, what: &str) -> Vec<(String, String)> {
    vec![(file.to_owned(), what.to_owned())]
}

/// Whether the run says to ring the machine's owner for the first service.
fn rings_ann(run: &Value) -> bool {
    let mut all = run["findings"].as_array().unwrap().iter();
    all.any(|finding| finding["rule"] == "first-service-due" && finding["machine"]["mark"] == "AB12 CDE")
}

/// The letter of a day names whom to ring, and where.
#[track_caller]
fn names_ann(yard: &Yard, day: &str) {
    let letter = fs::read_to_string(yard.path().join(format!("digests/{day}.txt"))).unwrap();
    assert!(letter.contains("Ann Other") && letter.contains("07700 900123"), "{letter}");
}

#[test]
fn a_sheet_that_is_being_written_is_read_as_it_was() {
    let yard = yard();
    let path = yard.path().join("sheets/mileages.csv");
    let mut writing = File::create(&path).unwrap();
    writing.write_all(b"Reg,Date,Mileage\nAB12 CDE,20/02/20").unwrap();
    let (run, code) = yard.kept_morning("2026-03-03");
    let expected = "this file is being written; its copy of 05:50 on Monday 2 March was read";
    assert_eq!((code, complaints(&run)), (Some(1), one("sheets/mileages.csv", expected)));
    assert!(rings_ann(&run));
    // On the day of the copy nobody needs to act.
    let (run, code) = yard.morning("2026-03-02");
    let expected = "this file is being written; its copy of 05:50 today was read";
    assert_eq!((code, complaints(&run)), (Some(0), one("sheets/mileages.csv", expected)));
    writing.write_all(b"26,640\n").unwrap();
    drop(writing);
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
    assert!(run["findings"].to_string().contains("640 miles"), "{}", run["findings"]);
}

#[test]
fn without_a_copy_a_sheet_that_is_being_written_is_said_and_left_out() {
    let yard = yard();
    let _writing = File::create(yard.path().join("sheets/jobs.csv")).unwrap();
    let (run, code) = yard.morning("2026-03-02");
    assert_eq!((code, complaints(&run)), (Some(1), one("sheets/jobs.csv", "this file is being written")));
    assert!(rings_ann(&run));
}

#[test]
fn a_sheet_that_is_gone_is_read_from_its_copy_for_a_fortnight() {
    let yard = yard();
    let path = yard.path().join("sheets/machines.csv");
    fs::remove_file(&path).unwrap();
    let copy = "its copy of 05:50 on Monday 2 March was read";
    for (day, since) in [
        ("03", "is gone"),
        ("05", "has been gone since Tuesday 3 March"),
        ("17", "has been gone since Tuesday 3 March"),
    ] {
        let (run, code) = yard.kept_morning(&format!("2026-03-{day}"));
        let mut told = complaints(&run);
        told.retain(|(file, _)| file != "sheets");
        assert_eq!(
            (code, told),
            (Some(1), one("sheets/machines.csv", &format!("this file {since}; {copy}")))
        );
        assert!(rings_ann(&run));
        names_ann(&yard, &format!("2026-03-{day}"));
    }
    let (run, _) = yard.kept_morning("2026-03-18");
    let told = complaints(&run);
    assert!(
        told.iter().any(|(file, what)| file == "tickover.toml" && what.contains("machines.csv")),
        "{told:?}"
    );
    assert!(told.iter().all(|(file, _)| file != "sheets/machines.csv"), "{told:?}");
    yard.put("sheets/machines.csv", MACHINES);
    let (run, code) = yard.kept_morning("2026-03-19");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
}

#[cfg(unix)]
#[test]
fn what_stands_in_the_place_of_a_sheet_is_said() {
    type Put = fn(&std::path::Path);
    let cases: [(Put, &str); 3] = [
        (|path| fs::create_dir(path).unwrap(), "a folder"),
        (
            |path| assert!(std::process::Command::new("mkfifo").arg(path).status().unwrap().success()),
            "something that is no file",
        ),
        (|path| std::os::unix::fs::symlink("nowhere", path).unwrap(), "a link that leads nowhere"),
    ];
    for (put, what) in cases {
        let yard = yard();
        let path = yard.path().join("sheets/machines.csv");
        fs::remove_file(&path).unwrap();
        put(&path);
        let (run, code) = yard.kept_morning("2026-03-03");
        let expected = format!(
            "this file is gone, and {what} stands in its place; its copy of 05:50 on Monday 2 March was read"
        );
        assert_eq!((code, complaints(&run)), (Some(1), one("sheets/machines.csv", &expected)));
        assert!(rings_ann(&run));
        let letter = fs::read_to_string(yard.path().join("digests/2026-03-03.txt")).unwrap();
        let letter = letter.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(letter.contains("Take away what stands there. Put it back."), "{letter}");
    }
}

#[test]
fn a_sheet_that_is_back_is_gone_no_more() {
    let yard = yard();
    let path = yard.path().join("sheets/machines.csv");
    fs::remove_file(&path).unwrap();
    yard.kept_morning("2026-03-03");
    yard.put("sheets/machines.csv", MACHINES);
    let (run, code) = yard.kept_morning("2026-03-04");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
    fs::remove_file(&path).unwrap();
    let (run, _) = yard.kept_morning("2026-03-05");
    assert!(complaints(&run)[0].1.starts_with("this file is gone; "), "counted anew: {:?}", complaints(&run));
}

#[test]
fn what_cannot_be_read_any_more_is_read_as_it_was() {
    let copy = "; its copy of 05:50 on Monday 2 March was read";
    for (bytes, what) in [(&b""[..], "empty"), (b"\x00\x01\x02\xff", "")] {
        let yard = yard();
        yard.put("sheets/machines.csv", bytes);
        let (run, code) = yard.kept_morning("2026-03-03");
        let told = complaints(&run);
        assert!(told.len() == 1 && told[0].1.contains(what) && told[0].1.ends_with(copy), "{told:?}");
        assert_eq!(code, Some(1));
        assert!(rings_ann(&run));
        names_ann(&yard, "2026-03-03");
    }
}

#[test]
fn of_a_folder_that_is_gone_one_line_is_said() {
    let yard = yard();
    fs::rename(yard.path().join("sheets"), yard.path().join("elsewhere")).unwrap();
    let (run, code) = yard.kept_morning("2026-03-03");
    let expected = "this folder is gone; the copies of its 2 files were read";
    assert_eq!((code, complaints(&run)), (Some(1), one("sheets", expected)));
    assert!(rings_ann(&run));
    names_ann(&yard, "2026-03-03");
    fs::rename(yard.path().join("elsewhere"), yard.path().join("sheets")).unwrap();
    let (run, code) = yard.kept_morning("2026-03-04");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
}

#[test]
fn of_many_sheets_that_are_gone_one_line_is_said() {
    let yard = yard();
    for name in ["one", "two", "three"] {
        yard.put(&format!("sheets/log {name}.csv"), MILEAGES.replace("620", &format!("62{}", name.len())));
    }
    yard.kept_morning("2026-03-02");
    for entry in fs::read_dir(yard.path().join("sheets")).unwrap() {
        fs::remove_file(entry.unwrap().path()).unwrap();
    }
    let (run, code) = yard.kept_morning("2026-03-03");
    let expected = "5 files of this folder are gone, the first of them (sheets/log one.csv) since Tuesday 3 March; \
                    their copies were read";
    assert_eq!((code, complaints(&run)), (Some(1), one("sheets", expected)));
    assert!(rings_ann(&run));
}

#[test]
fn a_renamed_sheet_and_the_next_of_a_dated_series_are_not_missed() {
    let yard = yard();
    let sheets = yard.path().join("sheets");
    yard.put("sheets/jobs 2026-03-02.csv", "Reg,Date,Work done,Mileage\nAB13 CDE,20/02/2026,New chain,80\n");
    fs::copy(sheets.join("mileages.csv"), sheets.join("log of March.csv")).unwrap();
    yard.kept_morning("2026-03-02");
    fs::rename(sheets.join("log of March.csv"), sheets.join("log.csv")).unwrap();
    fs::remove_file(sheets.join("jobs 2026-03-02.csv")).unwrap();
    yard.put("sheets/jobs 2026-03-03.csv", "Reg,Date,Work done,Mileage\nAB13 CDE,03/03/2026,New tyre,95\n");
    let (run, code) = yard.kept_morning("2026-03-03");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
    let mut copies: Vec<_> = fs::read_dir(yard.path().join("kept/exports"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("sheets"))
        .collect();
    copies.sort();
    let expected = ["jobs 2026-03-03.csv", "log.csv", "machines.csv", "mileages.csv"];
    assert_eq!(copies, expected.map(|name| format!("sheets%2f{name}")));
}

#[test]
fn a_second_sheet_of_machines_that_is_gone_is_missed_although_there_is_a_first() {
    let yard = yard();
    // A column for a check shows that the shop keeps them, so that those that are not there are missed.
    let coming = "Reg,Make,Sold,Handover,PDI\nAB14 CDE,Marlow,27/02/2026,02/03/2026,\n";
    yard.put("sheets/coming.csv", coming);
    yard.kept_morning("2026-03-02");
    fs::remove_file(yard.path().join("sheets/coming.csv")).unwrap();
    for day in ["2026-03-03", "2026-03-04"] {
        // The others come fresh every day.
        yard.put("sheets/machines.csv", MACHINES);
        let (run, code) = yard.kept_morning(day);
        let told = complaints(&run);
        assert!(
            told.iter().any(|(file, what)| file == "sheets/coming.csv" && what.contains("gone")),
            "{told:?}"
        );
        let mut findings = run["findings"].as_array().unwrap().iter();
        let keeps = |it: &Value| it["rule"] == "missed-checks" && it["machine"]["mark"] == "AB14 CDE";
        assert!(code == Some(1) && findings.any(keeps), "{}", run["findings"]);
    }
}

#[test]
fn a_sheet_of_the_handbook_that_is_gone_is_read_from_its_copy() {
    let yard = yard();
    let path = yard.path().join("handbook/service.csv");
    set_modified(&path, "2026-03-02T05:50:00Z");
    yard.kept_morning("2026-03-02");
    let handbook = fs::read(&path).unwrap();
    fs::remove_file(&path).unwrap();
    let (run, code) = yard.kept_morning("2026-03-03");
    let expected = "this file is gone; its copy of 05:50 on Monday 2 March was read";
    assert_eq!((code, complaints(&run)), (Some(1), one("handbook/service.csv", expected)));
    fs::write(&path, handbook).unwrap();
    let (run, code) = yard.kept_morning("2026-03-04");
    assert_eq!((code, complaints(&run)), (Some(0), vec![]));
}

#[test]
fn a_dry_run_reads_copies_and_makes_none() {
    let yard = yard();
    let copies = yard.path().join("kept/exports");
    fs::remove_dir_all(&copies).unwrap();
    yard.morning("2026-03-02");
    assert!(!copies.exists());
    yard.kept_morning("2026-03-02");
    fs::remove_file(yard.path().join("sheets/machines.csv")).unwrap();
    let (run, _) = yard.morning("2026-03-03");
    assert!(complaints(&run)[0].1.starts_with("this file is gone; its copy of "), "{:?}", complaints(&run));
    assert!(!copies.join("%gone-sheets%2fmachines.csv").exists());
}

#[test]
fn exports_that_have_stopped_coming_are_said() {
    let yard = yard();
    for name in ["machines", "mileages"] {
        // Long before any day on which this test can run: a Friday.
        set_modified(&yard.path().join(format!("sheets/{name}.csv")), "2020-01-10T05:50:00Z");
    }
    let stale = one("sheets", "no new export has come since Friday 10 January");
    for (day, expected) in [("2020-01-14", vec![]), ("2020-01-15", stale)] {
        let (run, _) = yard.morning(day);
        let mut told = complaints(&run);
        told.retain(|(file, _)| file == "sheets");
        assert_eq!(told, expected, "{day}");
    }
}

#[test]
fn the_next_of_a_dated_series_that_has_no_rows_replaces_nothing() {
    let yard = yard();
    let jobs = "Reg,Date,Work done,Mileage\nAB13 CDE,20/02/2026,New chain,80\n";
    yard.put("sheets/jobs 2026-03-02.csv", jobs);
    yard.kept_morning("2026-03-02");
    fs::remove_file(yard.path().join("sheets/jobs 2026-03-02.csv")).unwrap();
    yard.put("sheets/jobs 2026-03-03.csv", "Reg,Date,Work done,Mileage\n");
    let (run, _) = yard.kept_morning("2026-03-03");
    let told = complaints(&run);
    let is_missed =
        |(file, what): &(String, String)| file == "sheets/jobs 2026-03-02.csv" && what.contains("gone");
    assert!(told.iter().any(is_missed), "{told:?}");
}

/// Someone who is not root, to whom the system refuses what its mode refuses ('nobody' on most systems).
const STRANGER: u32 = 65534;

/// Gives everything in a folder to the stranger.
fn give_away(folder: &Path) {
    chown(folder, Some(STRANGER), Some(STRANGER)).unwrap();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            give_away(&path);
        } else {
            chown(path, Some(STRANGER), Some(STRANGER)).unwrap();
        }
    }
}

/// What a morning complains of that is made by somebody to whom access can be refused: to root it never is.
fn complaints_of_a_stranger(yard: &Yard, today: &str) -> Vec<(String, String)> {
    // The program itself may lie where the stranger may not go.
    let program = yard.path().join("program");
    fs::copy(env!("CARGO_BIN_EXE_tickover"), &program).unwrap();
    let mut command = Command::new(&program);
    if fs::metadata("/proc/self").unwrap().uid() == 0 {
        give_away(yard.path());
        command.uid(STRANGER).gid(STRANGER);
    }
    let output = command
        .current_dir(yard.path())
        .args(["morning", "--json", "--dry-run", "--today", today, "--yard", "."])
        .output()
        .unwrap();
    let run = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)));
    complaints(&run)
}

fn set_mode(yard: &Yard, name: &str, mode: u32) {
    fs::set_permissions(yard.path().join(name), fs::Permissions::from_mode(mode)).unwrap();
}

#[test]
fn what_may_not_be_read_is_not_called_gone() {
    let yard = yard();
    set_mode(&yard, "handbook", 0);
    set_mode(&yard, "sheets", 0);
    let said = complaints_of_a_stranger(&yard, "2026-03-03");
    assert_eq!(said.len(), 4, "{said:?}");
    let of = |file: &str| said.iter().find(|(name, _)| name == file).map(|(_, what)| what.as_str());
    assert_eq!(of("sheets"), Some("this folder may not be read; the copies of its 2 files were read"));
    for name in ["models", "service", "running-in"] {
        let said = of(&format!("handbook/{name}.csv")).unwrap();
        assert!(said.starts_with("the file may not be read; its copy of "), "{said}");
        assert!(said.ends_with(" was read"), "{said}");
    }
    set_mode(&yard, "sheets", 0o755);
    set_mode(&yard, "handbook", 0o755);
}

#[test]
fn a_sheet_that_may_not_be_read_and_whose_copy_may_not_be_either_is_said_to_be_missing_altogether() {
    let said = "the file may not be read; its copy in kept/exports cannot be read either, and nothing was read in its place";
    for shut in ["kept/exports", "kept/exports/sheets%2fmileages.csv"] {
        let yard = yard();
        set_mode(&yard, "sheets/mileages.csv", 0);
        set_mode(&yard, shut, 0);
        let told = complaints_of_a_stranger(&yard, "2026-03-03");
        let of_sheet = told.iter().find(|(name, _)| name == "sheets/mileages.csv");
        assert_eq!(of_sheet.map(|(_, what)| what.as_str()), Some(said), "{shut}: {told:?}");
        set_mode(&yard, shut, 0o755);
    }
}
