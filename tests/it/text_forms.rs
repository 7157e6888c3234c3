//! A text file that is not taken for what it is, and the two lines of the settings that put it right.

use std::fs;

use serde_json::Value;

use crate::program::{MILEAGES, Yard, printed};

/// What a morning has read: each file's name, what it was read as, and how many records it gave.
fn sheets_read(morning: &Value) -> Vec<(String, String, u64)> {
    let text = |sheet: &Value, key: &str| sheet[key].as_str().unwrap().to_owned();
    let sheets = morning["sheets"].as_array().unwrap().iter();
    sheets
        .map(|sheet| (text(sheet, "file"), text(sheet, "read_as"), sheet["records"].as_u64().unwrap()))
        .collect()
}

/// Adds a line to what was agreed of a file.
fn agree(yard: &Yard, file: &str, line: &str) {
    let path = yard.path().join("tickover.toml");
    let settings = fs::read_to_string(&path).unwrap();
    let of_file = format!("file = \"{file}\"\n");
    assert!(settings.contains(&of_file), "{settings}");
    fs::write(&path, settings.replace(&of_file, &format!("{of_file}{line}\n"))).unwrap();
}

#[test]
fn a_delimiter_and_an_encoding_that_are_agreed_are_in_force_before_the_file_is_read() {
    let yard = Yard::of_two_machines();
    let (before, _) = yard.morning("2026-03-02");
    assert_eq!(sheets_read(&before)[1], ("sheets/mileages.csv".to_owned(), "reading".to_owned(), 2));
    yard.put("sheets/mileages.csv", MILEAGES.replace(',', "^"));
    // Its last copy stands in, and that is said.
    let (unread, code) = yard.morning("2026-03-02");
    let unread = unread["complaints"].to_string();
    assert!(unread.contains("sheets/mileages.csv") && unread.contains("its copy of"), "{unread}");
    assert_eq!(code, Some(1));
    agree(&yard, "mileages.csv", "delimiter = \"^\"");
    assert_eq!(sheets_read(&yard.morning("2026-03-02").0), sheets_read(&before));
    // In the wrong encoding nothing of the file makes sense.
    agree(&yard, "mileages.csv", "encoding = \"UTF-16LE\"");
    let (unread, code) = yard.morning("2026-03-02");
    assert!(unread["complaints"].to_string().contains("sheets/mileages.csv"), "{}", unread["complaints"]);
    assert_eq!(code, Some(1));
    let utf_16: Vec<u8> = MILEAGES.replace(',', "^").encode_utf16().flat_map(u16::to_le_bytes).collect();
    yard.put("sheets/mileages.csv", utf_16);
    assert_eq!(sheets_read(&yard.morning("2026-03-02").0), sheets_read(&before));
    // A setup reads it in the same way.
    let setup = printed(&yard.run("setup", &[]));
    assert!(setup.contains("sheets/mileages.csv: one reading a row"), "{setup}");
}

#[test]
fn what_is_agreed_of_every_text_file_is_not_about_the_handbook() {
    let yard = Yard::of_two_machines();
    let (before, _) = yard.morning("2026-03-02");
    let path = yard.path().join("tickover.toml");
    let settings = fs::read_to_string(&path).unwrap();
    fs::write(
        &path,
        format!("{settings}\n[[sheet]]\nfile = \"*.csv\"\nrows = \"nothing\"\ndelimiter = \"|\"\n"),
    )
    .unwrap();
    let (after, _) = yard.morning("2026-03-02");
    // Each text file of the yard has lines of its own, so that these say nothing: of that alone it tells.
    assert_eq!(before["complaints"], serde_json::json!([]));
    let said: Vec<&str> =
        after["complaints"].as_array().unwrap().iter().map(|it| it["problem"].as_str().unwrap()).collect();
    assert_eq!(
        said,
        ["this [[sheet]] is for `*.csv`, of which the one before it counts, so that it never does"]
    );
    assert_eq!(after["findings"], before["findings"]);
}
