//! The process that reads a workbook: started by the parent with limits on memory and time, and not trusted by it.

use std::ffi::OsString;
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, Command, ExitCode, ExitStatus, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::Duration;

use crate::problem::counted;
use crate::settings::Limits;
use crate::sheets::confine::{self, Leash};
use crate::sheets::gathering::Tables;
use crate::sheets::kind::{SAVE_AGAIN, refusal};
use crate::sheets::piece::{Full, Piece, size};
use crate::sheets::{ReadFile, frames, workbook};

/// The hidden subcommand under which this program reads one workbook; its arguments are the limits.
pub const SUBCOMMAND: &str = "read-workbook";

/// How often, and how many times, the parent looks whether a reading process that has said everything has ended: two
/// seconds, where an end takes milliseconds.
const LOOK_EVERY: Duration = Duration::from_millis(5);
const LOOKS_MAX: usize = 400;

/// How the reading ended, as the parent saw it.
enum Ending {
    Whole(ReadFile),
    Slow,
    TooMuch,
    Died(Option<ExitStatus>),
    NotStarted(std::io::Error),
}

/// Reads a workbook in a process of its own. `program` is this program.
pub(super) fn read(program: &Path, bytes: &[u8], name: &str, limits: &Limits) -> ReadFile {
    let seconds = counted(usize::try_from(limits.reader_seconds).unwrap_or(usize::MAX), "second");
    let (what, help) = match read_within(program, bytes, name, limits) {
        Ending::Whole(read) => return read,
        Ending::Slow => (
            format!("the workbook was not read within {seconds}"),
            "Save it again as .xlsx or .csv; if it truly is that large, raise the limit under [limits] in tickover.toml.",
        ),
        Ending::TooMuch => {
            ("the workbook gave more than the limits allow, and was not read".to_owned(), SAVE_AGAIN)
        }
        Ending::Died(status) if confine::out_of_time(status) => (
            format!("the workbook took more than {seconds} of work and was not read"),
            "Save it again as .xlsx or .csv; if it truly is that large, raise the limit under [limits] in tickover.toml.",
        ),
        Ending::Died(_) => (
            format!(
                "the workbook is damaged, or needs more than {} of memory, and was not read",
                size(limits.reader_bytes)
            ),
            SAVE_AGAIN,
        ),
        Ending::NotStarted(error) => (
            format!("the process that reads workbooks could not be started ({error})"),
            "Install the program again; until then, save the workbook as .csv.",
        ),
    };
    let mut problem = refusal(&what, help);
    problem.place.file = name.to_owned();
    ReadFile { tables: Vec::new(), problems: vec![problem] }
}

fn read_within(program: &Path, bytes: &[u8], name: &str, limits: &Limits) -> Ending {
    let mut command = Command::new(program);
    command.arg(SUBCOMMAND).args(arguments(limits));
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
    confine::strip(&mut command);
    let mut child = match command.spawn() {
        Ok(child) => child,
        Err(error) => return Ending::NotStarted(error),
    };
    let _leash = Leash::of(&child);
    let (Some(mut to_child), Some(from_child)) = (child.stdin.take(), child.stdout.take()) else {
        stop(&mut child);
        return Ending::Died(None);
    };
    confine::widen(&to_child);
    confine::widen(&from_child);
    thread::scope(|scope| {
        // A child that ends early leaves the pipe broken, which its ending tells better.
        scope.spawn(move || drop(to_child.write_all(bytes)));
        let (tell, told) = mpsc::channel();
        scope.spawn(move || {
            // The parent may have stopped waiting.
            let _ = tell.send(hear(from_child, name, limits));
        });
        let heard = told.recv_timeout(Duration::from_secs(limits.reader_seconds));
        let status = match heard {
            // Only of a child that has not said all is it asked how it ended.
            Ok(Heard::BrokenOff) => wait_briefly(&mut child),
            _ => None,
        };
        stop(&mut child);
        match heard {
            Ok(Heard::Whole(read)) => Ending::Whole(read),
            Ok(Heard::BrokenOff) => Ending::Died(status),
            Ok(Heard::TooMuch) => Ending::TooMuch,
            Err(_) => Ending::Slow,
        }
    })
}

/// What was heard of a reading process.
pub enum Heard {
    /// All that it had to say of the file.
    Whole(ReadFile),
    /// Its words stopped before their end, or are none of ours.
    BrokenOff,
    /// More than the limits allow.
    TooMuch,
}

/// Takes down what a reading process says of the file with this name. Whatever the bytes are, what comes of them keeps
/// to the limits.
pub fn hear(said: impl Read, name: &str, limits: &Limits) -> Heard {
    let mut tables = Tables::new(name, limits);
    let mut said = frames::Reader::new(said, frames::bytes_max(limits));
    while let Some(piece) = said.read() {
        let last = piece == Piece::End;
        if tables.take(piece).is_err() {
            return Heard::TooMuch;
        }
        if last {
            break;
        }
    }
    tables.whole().map_or(Heard::BrokenOff, Heard::Whole)
}

/// How the child ended, if it does within a moment.
fn wait_briefly(child: &mut Child) -> Option<ExitStatus> {
    for _ in 0..LOOKS_MAX {
        match child.try_wait() {
            Ok(None) => thread::sleep(LOOK_EVERY),
            Ok(status) => return status,
            Err(_) => return None,
        }
    }
    None
}

/// Ends the child, whatever it does, and takes its status so that nothing of it stays behind.
fn stop(child: &mut Child) {
    // It fails only for a child that has ended already.
    let _ = child.kill();
    // What hangs in the system, as on a dead share, may never go, and is not waited for.
    let _ = wait_briefly(child);
}

/// Limits as the child's arguments, in the order in which [`limits_of`] takes them.
fn arguments(limits: &Limits) -> [String; 8] {
    [
        limits.file_bytes.to_string(),
        limits.unpacked_bytes.to_string(),
        limits.rows.to_string(),
        limits.columns.to_string(),
        limits.cells.to_string(),
        limits.cell_characters.to_string(),
        limits.reader_bytes.to_string(),
        limits.reader_seconds.to_string(),
    ]
}

/// The limits that the parent gave as arguments; `None` where they are not what a parent gives.
fn limits_of(arguments: impl IntoIterator<Item = OsString>) -> Option<Limits> {
    let numbers: Option<Vec<u64>> =
        arguments.into_iter().map(|argument| argument.to_str()?.parse().ok()).collect();
    let numbers: [u64; 8] = numbers?.try_into().ok()?;
    let [file_bytes, unpacked_bytes, rows, columns, cells, cell_characters, reader_bytes, reader_seconds] =
        numbers;
    let size = |number: u64| usize::try_from(number).ok();
    Some(Limits {
        file_bytes,
        unpacked_bytes,
        rows: size(rows)?,
        columns: size(columns)?,
        cells: size(cells)?,
        cell_characters: size(cell_characters)?,
        reader_bytes,
        reader_seconds,
        ..Limits::default()
    })
}

/// What the hidden subcommand does: reads one workbook from the standard input, under the limits that its arguments
/// give, and writes its pieces to the standard output. Of use to nobody but the parent.
pub fn serve_child(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    /// What the command line gives when something could not run.
    const COULD_NOT_RUN: u8 = 2;
    let Some(limits) = limits_of(arguments) else { return ExitCode::from(COULD_NOT_RUN) };
    confine::confine(&limits);
    let mut bytes = Vec::new();
    if std::io::stdin().lock().take(limits.file_bytes).read_to_end(&mut bytes).is_err() {
        return ExitCode::from(COULD_NOT_RUN);
    }
    if say(&bytes, &limits, std::io::stdout().lock()) {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(COULD_NOT_RUN)
    }
}

/// Reads one workbook and says it as a reading process does; `false` where it could not say all.
pub fn say(bytes: &[u8], limits: &Limits, to: impl Write) -> bool {
    let mut out = frames::Writer::new(to);
    workbook::read(bytes, limits, &mut |piece| out.write(&piece).map_err(|_| Full::Gone)).is_ok()
}
