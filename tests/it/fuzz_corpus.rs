//! What the fuzzers kept goes through the same doors without them: nothing panics, and what the doors assert holds.

use std::collections::BTreeSet;
use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};

use doors::{DOORS, enter};

#[path = "../fuzz/doors/mod.rs"]
mod doors;

/// The most files of the whole corpus, so that it stays cheap to keep and to walk through.
const FILES_MOST: usize = 220;
/// The most bytes of the whole corpus.
const BYTES_MOST: usize = 2 * 1024 * 1024;

fn corpus() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/corpus")
}

/// What is kept for a door, by the files' names.
fn kept(door: &str) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = fs::read_dir(corpus().join(door))
        .unwrap()
        .map(|entry| entry.unwrap())
        .map(|entry| (entry.file_name().to_string_lossy().into_owned(), fs::read(entry.path()).unwrap()))
        .collect();
    files.sort();
    files
}

fn walk(door: &str) {
    let files = kept(door);
    assert!(files.len() >= 10, "only {} files are kept for `{door}`", files.len());
    for (name, bytes) in files {
        let walked = catch_unwind(|| enter(door, &bytes));
        assert!(walked.is_ok(), "{door}/{name} panics, as shown above");
    }
}

#[test]
fn what_the_fuzzer_kept_of_text_files_is_read() {
    walk("text");
}

#[test]
fn what_the_fuzzer_kept_of_rows_is_read_alike_however_it_is_quoted() {
    walk("quoted");
}

#[test]
fn what_the_fuzzer_kept_of_sheets_is_recognised() {
    walk("sheet");
}

#[test]
fn what_the_fuzzer_kept_of_workbooks_is_read() {
    walk("workbook");
}

#[test]
fn what_the_fuzzer_kept_of_the_parts_of_workbooks_is_read() {
    walk("parts");
}

#[test]
fn what_the_fuzzer_kept_of_a_reading_process_is_heard() {
    walk("frames");
}

#[test]
fn what_the_fuzzer_kept_of_cells_is_read_as_every_field() {
    walk("cells");
}

#[test]
fn what_the_fuzzer_kept_of_cells_becomes_machines() {
    walk("machines");
}

#[test]
fn what_the_fuzzer_kept_of_settings_is_read() {
    walk("settings");
}

#[test]
fn what_the_fuzzer_kept_of_rules_is_vetted_and_judged() {
    walk("rule");
}

#[test]
fn what_the_fuzzer_kept_of_a_mail_servers_replies_is_heard() {
    walk("reply");
}

#[test]
fn the_corpus_is_small_and_has_a_folder_for_each_door_and_no_other() {
    let folders: BTreeSet<String> = fs::read_dir(corpus())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_eq!(folders, DOORS.iter().map(|(door, _)| (*door).to_owned()).collect());
    let all: Vec<(String, Vec<u8>)> = DOORS.iter().flat_map(|(door, _)| kept(door)).collect();
    assert!(all.len() <= FILES_MOST, "{} files are kept", all.len());
    let bytes: usize = all.iter().map(|(_, bytes)| bytes.len()).sum();
    assert!(bytes <= BYTES_MOST, "{bytes} bytes are kept");
}
