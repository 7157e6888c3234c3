//! Rule files, read as text; what is no readable text says why, and how to save it.

use std::fs;
use std::io::{self, Read};
use std::path::Path;

use super::sandbox::FILE_BYTES;
use super::{Rule, RuleFile, links, put_back};
use crate::problem::{Place, Problem, Spot, excerpt};

/// The ending of a rule file.
pub(super) const ENDING: &str = "rhai";

/// Why a file could not be read: where in it, what is wrong, and what to do.
pub(super) type Unread = (Spot, String, String);

impl RuleFile {
    /// Reads one file; problems show it in the given folder, or by its bare name where that is empty.
    pub fn read(path: &Path, shown: &str) -> RuleFile {
        RuleFile::read_by(path, shown, read)
    }

    /// Reads one file of the folder of rules, and none that lies elsewhere.
    pub(super) fn read_in(folder: &Path, path: &Path, shown: &str) -> RuleFile {
        RuleFile::read_by(path, shown, |path| read_in(folder, path))
    }

    fn read_by(path: &Path, shown: &str, read: impl FnOnce(&Path) -> Result<String, Unread>) -> RuleFile {
        let name = path.file_stem().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        if path.extension().is_none_or(|ending| ending != ENDING) {
            let what = format!("the name of a rule file ends in `.{ENDING}`");
            let help = "give it such a name; what has another is never in force";
            return RuleFile {
                name,
                text: Err(Problem::error(Place::file(path.to_string_lossy()), what, help)),
            };
        }
        let text = read(path).map_err(|(spot, what, help)| {
            Problem::error(Place { file: shown_as(&name, shown), sheet: None, spot }, what, help)
        });
        RuleFile { name, text }
    }

    /// Reads the rule and tries it by its own examples, without putting it in force.
    ///
    /// # Errors
    /// Everything that is wrong with it, by its place in the file.
    pub fn vet(&self, shown: &str) -> Result<Rule, Vec<Problem>> {
        self.vet_beside(shown, None)
    }

    /// The same beside the text of that name that was accepted last.
    pub(super) fn vet_beside(&self, shown: &str, accepted: Option<&String>) -> Result<Rule, Vec<Problem>> {
        let text = self.text.as_ref().map_err(|problem| vec![problem.clone()])?;
        let last = put_back::texts(&self.name, accepted);
        Rule::read(&self.name, shown_as(&self.name, shown), text, last)
    }

    /// The same of a file that is to be tried: what it says otherwise than its examples expect comes back beside it.
    ///
    /// # Errors
    /// Everything else that is wrong with it.
    pub fn vet_to_try(&self, shown: &str) -> Result<(Rule, Vec<Problem>), Vec<Problem>> {
        let text = self.text.as_ref().map_err(|problem| vec![problem.clone()])?;
        Rule::read_to_try(&self.name, shown_as(&self.name, shown), text, Vec::new())
    }
}

/// How problems show a rule's file.
pub(super) fn shown_as(name: &str, folder: &str) -> String {
    if folder.is_empty() { format!("{name}.{ENDING}") } else { format!("{folder}/{name}.{ENDING}") }
}

/// The text of a file that somebody has named, wherever it lies.
pub(super) fn read(path: &Path) -> Result<String, Unread> {
    let about = fs::metadata(path).map_err(|error| not_opened(path, &error))?;
    read_ordinary(path, &about, links::Followed::Anywhere)
}

/// The text of a file that lies in a folder. Whoever may write there may not thereby have Tickover read to everybody
/// what else it may read on the PC, or wait for what never comes: a link is followed within the folder only.
pub(super) fn read_in(folder: &Path, path: &Path) -> Result<String, Unread> {
    let path = links::within(folder, path)
        .map_err(|(what, help)| (Spot::Whole, what.to_owned(), help.to_owned()))?;
    let about = fs::symlink_metadata(&path).map_err(|error| not_opened(&path, &error))?;
    read_ordinary(&path, &about, links::Followed::Nowhere)
}

/// The text of a file that is an ordinary one.
fn read_ordinary(path: &Path, about: &fs::Metadata, followed: links::Followed) -> Result<String, Unread> {
    // Looked at before it is opened, since opening a device may set it going; and again after that, since it may have
    // been changed for another meanwhile.
    if !about.is_file() {
        return Err(not_ordinary(about));
    }
    if about.len() > FILE_BYTES {
        return Err(too_large(about.len()));
    }
    let file = links::open(path, followed).map_err(|error| not_opened(path, &error))?;
    let about = file.metadata().map_err(|error| not_opened(path, &error))?;
    if !about.is_file() {
        return Err(not_ordinary(&about));
    }
    let mut bytes = Vec::new();
    file.take(FILE_BYTES + 1).read_to_end(&mut bytes).map_err(|error| not_opened(path, &error))?;
    // It may have grown since it was looked at.
    if bytes.len() as u64 > FILE_BYTES {
        return Err(too_large(bytes.len() as u64));
    }
    text_of(bytes)
}

fn not_ordinary(about: &fs::Metadata) -> Unread {
    let what = if about.is_dir() { "this is a folder, and not a file" } else { "this is no ordinary file" };
    (Spot::Whole, what.to_owned(), "move it out of the folder of rules".to_owned())
}

fn too_large(bytes: u64) -> Unread {
    /// The bytes of a KiB.
    const KIB: u64 = 1024;
    let what = format!(
        "the rule file is {} KiB large, and a rule may have {} KiB at most",
        bytes.div_ceil(KIB),
        FILE_BYTES / KIB
    );
    (Spot::Whole, what, "take out what is no part of the rule, or make two rules of it".to_owned())
}

fn not_opened(path: &Path, error: &io::Error) -> Unread {
    let (what, help) = match error.kind() {
        io::ErrorKind::NotFound if path.is_symlink() => (links::DEAD.0.to_owned(), links::DEAD.1),
        io::ErrorKind::NotFound => ("there is no such file".to_owned(), "check its name"),
        io::ErrorKind::PermissionDenied => (
            "the rule file may not be read".to_owned(),
            "allow reading it to the user whom Tickover runs as, in the file's properties",
        ),
        _ => (format!("the rule file cannot be read: {error}"), "look whether it opens in an editor"),
    };
    (Spot::Whole, what, help.to_owned())
}

/// The text of a file's bytes, which must be UTF-8.
fn text_of(bytes: Vec<u8>) -> Result<String, Unread> {
    const HELP: &str = "save it again as UTF-8: most editors ask for the encoding in `Save as`";
    if let Some(program) = of_another_program(&bytes) {
        let help = "save it as plain text: most such programs ask for the kind of file in `Save as`; or copy what it says \
                    into a plain editor";
        return Err((Spot::Whole, format!("this is {program}, and no plain text"), help.to_owned()));
    }
    if !bytes.is_empty() && bytes.iter().all(|byte| *byte == 0) {
        let what = "nothing is left in this file: every sign of it is nought".to_owned();
        let help = "put a copy of it back; a PC that was switched off while it was saved leaves such a file";
        return Err((Spot::Whole, what, help.to_owned()));
    }
    if looks_like_utf_32(&bytes) {
        return Err((Spot::Whole, "the rule file is saved as UTF-32".to_owned(), HELP.to_owned()));
    }
    if looks_like_utf_16(&bytes) {
        return Err((Spot::Whole, "the rule file is saved as UTF-16".to_owned(), HELP.to_owned()));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let text = String::from_utf8_lossy(error.as_bytes()).replace("\r\n", "\n").replace('\r', "\n");
        let before =
            String::from_utf8_lossy(&error.as_bytes()[..good]).replace("\r\n", "\n").replace('\r', "\n");
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|letter| *letter != '\n').count() + 1;
        let spot = Spot::Text { line, column, excerpt: excerpt(&text, line, column, 1) };
        let encoding =
            if could_be_windows_1252(error.as_bytes()) { ", but most likely Windows-1252" } else { "" };
        let what =
            format!("the rule file is not saved as UTF-8{encoding}: this is the first sign that shows it");
        (spot, what, HELP.to_owned())
    })
}

/// What program's file it is by its first signs, where it is no plain text.
///
/// Source: the formats' own descriptions: RTF 1.9.1 (`{\rtf`), PKWARE's APPNOTE 4.3.7 (`PK`, 3, 4), [MS-CFB] 2.2
/// (D0 CF 11 E0), ISO 32000 7.5.2 (`%PDF-`).
fn of_another_program(bytes: &[u8]) -> Option<&'static str> {
    /// A file that opens with a tag is a page, whatever it is called.
    const TAGS: [&str; 3] = ["<!doctype", "<html", "<?xml"];
    let start = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    let tag = String::from_utf8_lossy(&start[..start.len().min(TAGS[0].len())]).to_lowercase();
    let begins = |signs: &[u8]| start.starts_with(signs);
    if begins(b"{\\rtf") || begins(b"PK\x03\x04") || begins(b"\xd0\xcf\x11\xe0") {
        Some("a word processor's file")
    } else if begins(b"%PDF-") {
        Some("a PDF")
    } else if TAGS.iter().any(|known| tag.starts_with(known)) {
        Some("a web page")
    } else {
        None
    }
}

/// Whether three of each four bytes are nought, as they are where each sign takes four.
fn looks_like_utf_32(bytes: &[u8]) -> bool {
    /// So many signs tell.
    const SIGNS: usize = 64;
    let (signs, _) = bytes.as_chunks::<4>();
    let plain = |sign: &[u8; 4]| matches!(sign, [_, _, 0, 0] | [0, 0, _, _]) && *sign != [0; 4];
    !signs.is_empty() && signs.iter().take(SIGNS).all(plain)
}

/// Whether bytes begin as UTF-16 does, or hold a zero in every other place, as it does where most of it is plain.
fn looks_like_utf_16(bytes: &[u8]) -> bool {
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return true;
    }
    let zeros = bytes.iter().filter(|byte| **byte == 0).count();
    // Two in five is below what plain text gives, and far above what strays into any other text.
    bytes.len() >= 2 && zeros * 5 >= bytes.len() * 2
}

/// Whether bytes are all signs of Windows-1252, which leaves five numbers without one.
fn could_be_windows_1252(bytes: &[u8]) -> bool {
    !bytes.iter().any(|byte| matches!(byte, 0x00 | 0x81 | 0x8d | 0x8f | 0x90 | 0x9d))
}
