//! What a file is, told by its bytes and never by its name.

use std::borrow::Cow;

use encoding_rs::Encoding;

use crate::problem::{Problem, Severity};
use crate::sheets::encoding;
use crate::sheets::piece::problem;

/// What the bytes of a file are.
#[derive(Debug, PartialEq)]
pub(super) enum Kind<'a> {
    /// Text, decoded.
    Text(encoding::Decoded<'a>),
    /// A zip archive (.xlsx, .xlsm, .xlsb or .ods, or no workbook at all) or a compound file (.xls, or a workbook under a
    /// password).
    Workbook(Cow<'a, [u8]>),
}

/// How far into a file its first words are looked for, in bytes: a page, which comments and blank lines may fill.
const HEAD_BYTES: usize = 4_096;

/// What a person should do with a file that is no sheet that we read.
pub(super) const SAVE_AS: &str =
    "Open it in the program it comes from and save or export it as .xlsx or .csv.";

/// What a person should do with a workbook, or a sheet of one, that is out of order.
pub(super) const SAVE_AGAIN: &str = "Open it in the spreadsheet program and save it again, as .xlsx or .csv; if it was still being copied, wait.";

/// What a person should do with a workbook that has more beside its cells than a table needs.
pub(super) const COPY_CELLS: &str = "Copy its cells into a new workbook and save that, as .xlsx or .csv.";

/// What a person should do with a workbook under a password.
const NO_PASSWORD: &str = "Save a copy without a password into this folder.";

/// Files that are no text, by their first bytes.
const BINARIES: [(&[u8], &str); 10] = [
    (b"%PDF", "the file is a PDF document, not a sheet"),
    (b"\x89PNG", "the file is a picture, not a sheet"),
    (b"\xff\xd8\xff", "the file is a picture, not a sheet"),
    (b"GIF8", "the file is a picture, not a sheet"),
    (b"\x1f\x8b", "the file is a compressed archive, not a sheet"),
    (b"7z\xbc\xaf", "the file is a compressed archive, not a sheet"),
    (b"Rar!", "the file is a compressed archive, not a sheet"),
    (b"{\\rtf", "the file is a text document, not a sheet"),
    (b"SQLite format 3", "the file is a database, not a sheet"),
    (b"ID;P", "the file is a sheet in the SYLK form, which is not read here"),
];

/// Worksheets of the programs before .xls as we know it: a bare BIFF record of version 2, 3 or 4.
const BARE_WORKSHEETS: [&[u8]; 3] = [b"\x09\x00\x04\x00", b"\x09\x02\x06\x00", b"\x09\x04\x06\x00"];

/// What the file is, or why it cannot be read. For a text an encoding may have been agreed.
pub(super) fn of<'a>(
    bytes: Cow<'a, [u8]>,
    agreed: Option<&'static Encoding>,
) -> Result<Kind<'a>, Box<Problem>> {
    if bytes.is_empty() {
        return Err(
            refusal("the file is empty", "Export it again; if it is still being written, wait.").into()
        );
    }
    if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") {
        return Ok(Kind::Workbook(bytes));
    }
    if bytes.starts_with(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1") {
        // Programs put a workbook under a password into a compound file with a stream of this name.
        return if has_stream(&bytes, "EncryptedPackage") || is_scrambled(&bytes) {
            Err(password().into())
        } else {
            Ok(Kind::Workbook(bytes))
        };
    }
    if let Some((_, what)) = BINARIES.iter().find(|(magic, _)| bytes.starts_with(magic)) {
        return Err(refusal(what, SAVE_AS).into());
    }
    if BARE_WORKSHEETS.iter().any(|magic| bytes.starts_with(magic)) {
        return Err(refusal("the file is a sheet of a form that is too old to be read", SAVE_AS).into());
    }
    let decoded = encoding::decode(bytes, agreed);
    if let Some(what) = markup(&decoded.text) {
        return Err(refusal(what, SAVE_AS).into());
    }
    if !looks_like_text(&decoded.text) {
        return Err(refusal("the file is neither text nor a workbook that is read here", SAVE_AS).into());
    }
    Ok(Kind::Text(decoded))
}

/// The problem of a workbook that only opens with a password.
pub(super) fn password() -> Problem {
    refusal("the workbook is protected with a password", NO_PASSWORD)
}

/// A problem of the whole file that keeps it from being read.
pub(super) fn refusal(what: &str, help: &str) -> Problem {
    problem(Severity::Error, None, what, help)
}

/// What a text that is no table but marked up is; `None` where it is none.
fn markup(text: &str) -> Option<&'static str> {
    let text = text.trim_start();
    if !text.starts_with('<') {
        return None;
    }
    let head: String = text.chars().take(HEAD_BYTES).collect::<String>().to_ascii_lowercase();
    if head.contains("office:document") || head.contains("urn:oasis:names:tc:opendocument") {
        return Some("the file is a flat OpenDocument sheet (.fods), which is not read here");
    }
    if head.contains("urn:schemas-microsoft-com:office:spreadsheet") && head.starts_with("<?xml") {
        return Some("the file is a sheet in XML of 2003, which is not read here");
    }
    let html = ["<!doctype html", "<html", "<head", "<body", "<table", "<meta", "<style", "<div"];
    if html.iter().any(|tag| head.contains(tag)) {
        return Some("the file is a web page, whatever its name says");
    }
    head.starts_with("<?xml").then_some("the file is XML, not a sheet")
}

/// Whether control characters are rare enough for a text.
fn looks_like_text(text: &str) -> bool {
    let head = text.chars().take(HEAD_BYTES);
    let (mut all, mut odd) = (0_usize, 0_usize);
    for character in head {
        all += 1;
        let usual = matches!(character, '\t' | '\n' | '\r' | '\u{c}' | '\u{1a}');
        odd += usize::from(character == '\u{fffd}' || (character.is_control() && !usual));
    }
    // A short text may hold one or two that stand in the way of nothing.
    odd <= 2 || odd * 50 <= all
}

/// Whether a compound file lists a stream of this name.
fn has_stream(bytes: &[u8], name: &str) -> bool {
    /// An entry of its list begins with the name, in UTF-16 (MS-CFB, section 2.6.1). Sectors, and the header before them,
    /// are a multiple of an entry's length.
    const ENTRY_BYTES: usize = 128;
    let name: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
    bytes.chunks(ENTRY_BYTES).any(|entry| entry.starts_with(&name))
}

/// Whether the records of an .xls say, behind the first one, that a password is needed for the rest ([MS-XLS], sections
/// 2.4.21 BOF, 2.4.117 FilePass, 2.4.349 WriteProtect). The oldest of the ways to scramble leaves all else as it was, so
/// that the rest would be read as nonsense.
fn is_scrambled(bytes: &[u8]) -> bool {
    /// A stream begins at a sector, the smallest of which are so many bytes ([MS-CFB], section 2.2).
    const SECTOR_BYTES: usize = 64;
    const BEGINNINGS: [&[u8]; 2] = [b"\x09\x08\x10\x00\x00\x06\x05\x00", b"\x09\x08\x08\x00\x00\x05\x05\x00"];
    const WRITE_PROTECT: &[u8] = b"\x86\x00\x00\x00";
    bytes.chunks(SECTOR_BYTES).any(|sector| {
        let Some(begin) = BEGINNINGS.iter().find(|begin| sector.starts_with(begin)) else { return false };
        let rest = sector.get(4 + usize::from(begin[2])..).unwrap_or_default();
        rest.strip_prefix(WRITE_PROTECT).unwrap_or(rest).starts_with(b"\x2f\x00")
    })
}
