//! What a file is by its bytes, and the words for one that cannot be read.

use super::tests::drawn;

/// A file that cannot be read says so in one problem with these words, and gives nothing.
#[track_caller]
fn check(bytes: &[u8], what: &str, help: &str) {
    assert_eq!(drawn(bytes), format!("error: {what}\n  --> f\nhelp: {help}\n"), "{}", bytes.escape_ascii());
}

const SAVE_AS: &str = "Open it in the program it comes from and save or export it as .xlsx or .csv.";
const SAVE_AGAIN: &str = "Open it in the spreadsheet program and save it again, as .xlsx or .csv; if it was still being copied, wait.";
const LOOK: &str = "Export it again, and look whether it holds rows.";

#[test]
fn a_file_that_is_no_sheet_says_what_it_is() {
    let page = "the file is a web page, whatever its name says";
    let picture = "the file is a picture, not a sheet";
    let cases: [(&[u8], &str); 14] = [
        (b"<html><table><tr><td>AB12</td></tr></table></html>", page),
        (b"\xef\xbb\xbf\r\n<!DOCTYPE html>\n<html></html>", page),
        (b"<TABLE border=1><tr>", page),
        (
            b"<?xml version=\"1.0\"?><office:document xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\">",
            "the file is a flat OpenDocument sheet (.fods), which is not read here",
        ),
        (
            b"<?xml version=\"1.0\"?><Workbook xmlns=\"urn:schemas-microsoft-com:office:spreadsheet\">",
            "the file is a sheet in XML of 2003, which is not read here",
        ),
        (b"<?xml version=\"1.0\"?><invoice/>", "the file is XML, not a sheet"),
        (b"%PDF-1.7\n", "the file is a PDF document, not a sheet"),
        (b"\x89PNG\r\n\x1a\n\0\0", picture),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", picture),
        (b"\x1f\x8b\x08\0\0\0", "the file is a compressed archive, not a sheet"),
        (b"ID;PWXL;N;E\nC;Y1;X1;K\"Mark\"\n", "the file is a sheet in the SYLK form, which is not read here"),
        (b"\x09\x00\x04\x00\x02\x00\x10\x00", "the file is a sheet of a form that is too old to be read"),
        (b"\x7fELF\x02\x01\x01\0\0\0\0\x03\x04\x05", "the file is neither text nor a workbook that is read here"),
        (b"SQLite format 3\0", "the file is a database, not a sheet"),
    ];
    for (bytes, what) in cases {
        check(bytes, what, SAVE_AS);
    }
}

#[test]
fn a_file_with_nothing_in_it_is_told_of() {
    check(b"", "the file is empty", "Export it again; if it is still being written, wait.");
    check(b"\n\r\n  \n,,,\n", "the file holds no sheet with anything in it", LOOK);
    check(b"\xef\xbb\xbf", "the file holds no sheet with anything in it", LOOK);
}

#[test]
fn an_archive_that_is_cut_short_or_no_workbook_is_told_of() {
    check(b"PK\x03\x04half a workbook", "the workbook is cut short or damaged", SAVE_AGAIN);
    // An archive without an entry: its end record alone.
    let empty = [b"PK\x05\x06".as_slice(), &[0; 18]].concat();
    check(&empty, "the file is an archive or a document, not a workbook that is read here", SAVE_AS);
}

#[test]
fn a_workbook_under_a_password_says_so() {
    let mut bytes = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".to_vec();
    bytes.resize(1_024, 0);
    bytes.extend("EncryptedPackage".encode_utf16().flat_map(u16::to_le_bytes));
    check(
        &bytes,
        "the workbook is protected with a password",
        "Save a copy without a password into this folder.",
    );
}
