//! The door of this room: a path, or the bytes of a file, become its tables and problems.

use std::borrow::Cow;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use crate::problem::{Place, Problem, Severity};
use crate::settings::{Limits, TextForm};
use crate::sheets::gathering::Tables;
use crate::sheets::kind::{self, Kind};
use crate::sheets::piece::{Full, Give, Piece, size};
use crate::sheets::rows::Rows;
use crate::sheets::{Table, child, text, workbook};

/// Where workbooks are taken apart. Text files never need a process of their own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reader {
    /// In a process of its own, so that a bad file cannot take the house down; the path is this program.
    InChild(PathBuf),
    /// Here: for the process that was started for it, and for tests with files of their own.
    Here,
}

/// What came of a file.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadFile {
    /// Its sheets that hold anything and could be read, in the file's order.
    pub tables: Vec<Table>,
    /// What a person should know of it; an error where something was not read.
    pub problems: Vec<Problem>,
}

/// Reads a file. `name` is its name as messages give it: below the yard folder, with forward slashes.
pub fn read(path: &Path, name: &str, limits: &Limits, reader: &Reader) -> ReadFile {
    read_as_agreed(path, name, TextForm::default(), limits, reader)
}

/// Reads a file of which was agreed how it is written, should it be a text file.
pub fn read_as_agreed(path: &Path, name: &str, form: TextForm, limits: &Limits, reader: &Reader) -> ReadFile {
    match bytes_of(path, name, limits) {
        Ok(bytes) => read_bytes_as_agreed(bytes, name, form, limits, reader),
        Err(problem) => ReadFile { tables: Vec::new(), problems: vec![*problem] },
    }
}

/// Reads a file whose bytes are known already. Those of a text file are best given away, as its table keeps them.
pub fn read_bytes<'b>(
    bytes: impl Into<Cow<'b, [u8]>>,
    name: &str,
    limits: &Limits,
    reader: &Reader,
) -> ReadFile {
    read_bytes_as_agreed(bytes, name, TextForm::default(), limits, reader)
}

/// Reads a file whose bytes are known already, and of which was agreed how it is written, should it be a text file.
pub fn read_bytes_as_agreed<'b>(
    bytes: impl Into<Cow<'b, [u8]>>,
    name: &str,
    form: TextForm,
    limits: &Limits,
    reader: &Reader,
) -> ReadFile {
    let bytes = bytes.into();
    if bytes.len() as u64 > limits.file_bytes {
        return ReadFile { tables: Vec::new(), problems: vec![too_large(name, limits)] };
    }
    let mut read = match (kind::of(bytes, form.encoding), reader) {
        (Ok(Kind::Text(decoded)), _) => gather(name, limits, |limits, give| {
            text::read(decoded, form, &mut Rows::new(limits, give))?;
            give(Piece::End)
        }),
        (Ok(Kind::Workbook(bytes)), Reader::Here) => {
            gather(name, limits, |limits, give| workbook::read(&bytes, limits, give))
        }
        (Ok(Kind::Workbook(bytes)), Reader::InChild(program)) => child::read(program, &bytes, name, limits),
        (Err(mut problem), _) => {
            problem.place.file = name.to_owned();
            ReadFile { tables: Vec::new(), problems: vec![*problem] }
        }
    };
    if read.tables.is_empty() && !read.problems.iter().any(|problem| problem.severity == Severity::Error) {
        let what = "the file holds no sheet with anything in it";
        read.problems.push(Problem::error(
            Place::file(name),
            what,
            "Export it again, and look whether it holds rows.",
        ));
    }
    read
}

/// Collects what is said of a file in this same process.
fn gather(
    name: &str,
    limits: &Limits,
    say: impl FnOnce(&Limits, &mut Give<'_>) -> Result<(), Full>,
) -> ReadFile {
    let mut tables = Tables::of_this_process(name, limits);
    // A limit that stops the saying has been told of as a problem.
    let _ = say(limits, &mut |piece| tables.take(piece));
    tables.finished()
}

/// The bytes of a file, or why there are none.
fn bytes_of(path: &Path, name: &str, limits: &Limits) -> Result<Vec<u8>, Box<Problem>> {
    let failed = |error: io::Error| Box::new(not_opened(&error, name));
    let file = File::open(path).map_err(failed)?;
    let metadata = file.metadata().map_err(failed)?;
    if metadata.is_dir() {
        return Err(not_opened(&io::ErrorKind::IsADirectory.into(), name).into());
    }
    if metadata.len() > limits.file_bytes {
        return Err(too_large(name, limits).into());
    }
    let mut bytes = Vec::with_capacity(usize::try_from(metadata.len()).unwrap_or_default().saturating_add(1));
    // One byte more than allowed tells a file that has grown since.
    file.take(limits.file_bytes.saturating_add(1)).read_to_end(&mut bytes).map_err(failed)?;
    Ok(bytes)
}

/// A file that is larger than the settings allow.
pub fn too_large(name: &str, limits: &Limits) -> Problem {
    let what = format!("the file is larger than the {} allowed", size(limits.file_bytes));
    Problem::error(Place::file(name), what, "Split it, or raise the limit under [limits] in tickover.toml.")
}

/// A file that could not be opened or read.
pub fn not_opened(error: &io::Error, name: &str) -> Problem {
    /// What Windows says of a file that another program keeps to itself.
    const SHARING_VIOLATION: i32 = 32;
    let (what, help) = match error.kind() {
        io::ErrorKind::NotFound => ("the file is not there".to_owned(), "Export it again."),
        io::ErrorKind::IsADirectory => ("this is a folder, not a file".to_owned(), "Name a file in it."),
        io::ErrorKind::PermissionDenied => (
            "the file may not be read".to_owned(),
            "Give the account that runs this program the right to read it.",
        ),
        _ if cfg!(windows) && error.raw_os_error() == Some(SHARING_VIOLATION) => {
            ("the file is open in another program".to_owned(), "Save and close it there.")
        }
        _ => (
            format!("the file could not be read ({error})"),
            "Look whether the disk or the share is in order.",
        ),
    };
    Problem::error(Place::file(name), what, help)
}
