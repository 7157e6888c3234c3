//! Which files of the folders are found.

use std::fs;
use std::path::Path;
use std::time::{Duration, UNIX_EPOCH};

use jiff::civil::date;
use jiff::tz::TimeZone;

use super::find;
use super::find::find_within;
use crate::settings::{self, AgreedSheet, Limits};

fn put(yard: &Path, name: &str) {
    let path = yard.join(name);
    fs::create_dir_all(path.parent().unwrap()).unwrap();
    fs::write(path, "a\n").unwrap();
}

fn names(yard: &Path, folders: &[&str], limits: &Limits) -> (Vec<String>, Vec<String>) {
    let folders: Vec<String> = folders.iter().map(|&folder| folder.to_owned()).collect();
    let (found, problems) = find(yard, &folders, &[], &TimeZone::UTC, limits);
    (found.into_iter().map(|file| file.name).collect(), problems.iter().map(ToString::to_string).collect())
}

#[test]
fn files_are_found_by_name_in_the_folder_and_one_level_down() {
    let yard = tempfile::tempdir().unwrap();
    let yard = yard.path();
    for name in [
        "sheets/stock.xlsx",
        "sheets/Jobs.csv",
        "sheets/2026/april.csv",
        "sheets/2026/deeper/no.csv",
        "sheets/without ending",
        "more/rides.csv",
        "elsewhere/no.csv",
    ] {
        put(yard, name);
    }
    let expected = [
        "more/rides.csv",
        "sheets/2026/april.csv",
        "sheets/Jobs.csv",
        "sheets/stock.xlsx",
        "sheets/without ending",
    ];
    // A folder that is named twice gives its files once.
    let (found, problems) = names(yard, &["sheets", "more", "sheets/"], &Limits::default());
    assert_eq!(found, expected);
    assert_eq!(problems, [""; 0]);
}

#[test]
fn what_programs_leave_beside_a_document_is_passed_over() {
    let yard = tempfile::tempdir().unwrap();
    for name in [
        ".~lock.stock.xlsx#",
        "~$stock.xlsx",
        "lu1234abcd.tmp",
        "LU5.TMP",
        ".hidden.csv",
        "stock.xlsx.crdownload",
        "stock.csv.part",
        "desktop.ini",
        "Thumbs.db",
    ] {
        put(yard.path(), &format!("sheets/{name}"));
    }
    put(yard.path(), "sheets/.git/config");
    assert_eq!(names(yard.path(), &["sheets"], &Limits::default()), (vec![], vec![]));
}

#[test]
fn a_folder_elsewhere_is_named_in_full() {
    let yard = tempfile::tempdir().unwrap();
    let share = tempfile::tempdir().unwrap();
    put(share.path(), "stock.csv");
    let folder = share.path().to_str().unwrap();
    let (found, problems) = names(yard.path(), &[folder], &Limits::default());
    assert_eq!(found, [format!("{}/stock.csv", folder.replace('\\', "/"))]);
    assert_eq!(problems, [""; 0]);
}

#[test]
fn a_folder_that_is_not_there_is_told_of_and_the_others_and_single_files_are_read() {
    let yard = tempfile::tempdir().unwrap();
    put(yard.path(), "sheets/stock.csv");
    let (found, problems) = names(yard.path(), &["gone", "sheets", "sheets/stock.csv"], &Limits::default());
    assert_eq!(found, ["sheets/stock.csv"]);
    assert_eq!(
        problems,
        ["error: the folder is not there\n  --> gone\n\
             help: Make it, connect the share it lies on, or correct `folders` in the settings.",]
    );
}

#[test]
fn of_too_many_files_the_newest_are_read_and_it_is_told() {
    let yard = tempfile::tempdir().unwrap();
    for (name, day) in [("a.csv", 3), ("b.csv", 1), ("c.csv", 2)] {
        put(yard.path(), &format!("sheets/{name}"));
        let file = fs::File::options().write(true).open(yard.path().join("sheets").join(name)).unwrap();
        file.set_modified(UNIX_EPOCH + Duration::from_secs(day * 86_400)).unwrap();
    }
    let (found, problems) = names(yard.path(), &["sheets"], &Limits { files: 2, ..Limits::default() });
    assert_eq!(found, ["sheets/a.csv", "sheets/c.csv"]);
    assert_eq!(
        problems,
        ["error: the folder holds 3 files; only the newest 2 were read\n  --> sheets\n\
          help: Move old exports elsewhere, or raise the limit under [limits] in tickover.toml."]
    );
}

#[test]
fn the_day_of_the_last_change_is_the_shops_day() {
    let yard = tempfile::tempdir().unwrap();
    put(yard.path(), "sheets/stock.csv");
    let file = fs::File::options().write(true).open(yard.path().join("sheets/stock.csv")).unwrap();
    // 30 June 2026, 23:30 UTC: the next day already in a British summer.
    file.set_modified(UNIX_EPOCH + Duration::from_secs(1_782_862_200)).unwrap();
    for (zone, day) in [("UTC", date(2026, 6, 30)), ("Europe/London", date(2026, 7, 1))] {
        let zone = TimeZone::get(zone).unwrap();
        let (found, _) = find(yard.path(), &["sheets".to_owned()], &[], &zone, &Limits::default());
        assert_eq!(found[0].modified, day, "{zone:?}");
    }
}

#[test]
fn what_is_no_sheet_and_what_the_yard_keeps_is_passed_over() {
    let yard = tempfile::tempdir().unwrap();
    for name in ["stock.csv", "tickover.toml", "manual.PDF", "rules/own.csv", "kept/own.csv", "old/stock.csv"]
    {
        put(yard.path(), name);
    }
    let (found, problems) = names(yard.path(), &["."], &Limits::default());
    assert_eq!(found, ["old/stock.csv", "stock.csv"]);
    assert_eq!(problems, [""; 0]);
}

#[test]
fn below_a_folder_elsewhere_nothing_is_read() {
    let (yard, elsewhere) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    put(elsewhere.path(), "stock.csv");
    put(elsewhere.path(), "private/letters.csv");
    let folder = elsewhere.path().to_string_lossy().into_owned();
    let (found, _) = names(yard.path(), &[&folder], &Limits::default());
    assert_eq!(found, [format!("{}/stock.csv", folder.replace('\\', "/"))]);
}

#[test]
fn a_folder_with_too_many_entries_is_told_of() {
    let yard = tempfile::tempdir().unwrap();
    for name in ["a.csv", "b.csv", "c.csv"] {
        put(yard.path(), &format!("sheets/{name}"));
    }
    for (entries_max, files, problems) in [
        (3, 3, ""),
        (
            2,
            2,
            "error: the folder holds more than 2 entries; the others were not looked at\n  --> sheets\n\
             help: Keep only the sheets in it, or name a folder in the settings that holds only them.",
        ),
    ] {
        let (found, told) =
            find_within(yard.path(), (&["sheets".to_owned()], &[]), &TimeZone::UTC, 100, entries_max);
        let told: String = told.iter().map(ToString::to_string).collect();
        assert_eq!((found.len(), told.as_str()), (files, problems));
    }
}

#[test]
fn an_editors_backup_and_a_copy_beside_its_sheet_are_no_sheets() {
    let yard = tempfile::tempdir().unwrap();
    let backups = ["stock.csv~", "stock.csv.bak", "stock.bak", "stock.csv.old", "stock.xlsx.orig"];
    let copies = [
        "Copy of stock.csv",
        "stock - Copy.csv",
        "stock (copy).csv",
        "stock.csv.gz",
        "stock (conflicted copy 2026-06-01).csv",
        "stock (front desk's conflicted copy 2026-06-01 093011).csv",
        "stock.sync-conflict-20260615-073000-K4M7Q2A.csv",
        "stock_conflict-20260615-073000.csv",
    ];
    let on_their_way = ["~syncthing~stock.csv", "stock.csv.tmp", "stock.csv.part", "stock.csv.crdownload"];
    // A copy whose sheet is not there may be all that there is.
    let sheets = ["stock.csv", "Copy of jobs.csv", "stock copybook.csv"];
    for name in backups.iter().chain(&copies).chain(&on_their_way).chain(&sheets) {
        put(yard.path(), &format!("sheets/{name}"));
    }
    let (found, problems) = names(yard.path(), &["sheets"], &Limits::default());
    assert_eq!(found, ["sheets/Copy of jobs.csv", "sheets/stock copybook.csv", "sheets/stock.csv"]);
    assert_eq!(problems.len(), copies.len());
    for problem in problems {
        assert!(problem.starts_with("note: this file is a copy of stock.csv by its name"), "{problem}");
    }
}

#[test]
fn a_copy_or_an_old_file_that_was_agreed_under_its_own_name_is_read() {
    let yard = tempfile::tempdir().unwrap();
    let all = ["stock.csv", "stock - Copy.csv", "jobs.old", "rides.bak", "more.bak"];
    for name in all {
        put(yard.path(), &format!("sheets/{name}"));
    }
    let found = |files: &[&str]| {
        let agreed: Vec<AgreedSheet> = files.iter().map(|file| agreed(file)).collect();
        let folders = ["sheets".to_owned()];
        let (found, problems) = find(yard.path(), &folders, &agreed, &TimeZone::UTC, &Limits::default());
        (found.into_iter().map(|file| file.name).collect::<Vec<_>>(), problems.len())
    };
    let named = ["stock - Copy.csv", "sheets/jobs.old", "rides.bak"];
    let read = ["sheets/jobs.old", "sheets/rides.bak", "sheets/stock - Copy.csv", "sheets/stock.csv"];
    assert_eq!(found(&named), (read.map(str::to_owned).to_vec(), 0));
    // A series takes none of them.
    assert_eq!(found(&["stock*.csv", "*.old", "*"]), (vec!["sheets/stock.csv".to_owned()], 1));
}

fn agreed(file: &str) -> AgreedSheet {
    let text = format!("[[sheet]]\nfile = {file:?}\nrows = \"machine\"\n");
    settings::parse(&text, "tickover.toml").0.unwrap().sheets.into_iter().next().unwrap()
}
