//! Pieces as bytes, for the way from the reading process to its parent: each one its length, its kind, its content.

use std::io::{self, BufRead, BufReader, Read, Write};

use jiff::civil::DateTime;

use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::Limits;
use crate::sheets::piece::Piece;
use crate::sheets::value::put_text as put_text_cell;
use crate::sheets::{Cell, Fault, Row};

/// The most bytes of a name or a message: a worksheet's name has 31 characters, and a message is a sentence.
const WORDS_BYTES_MAX: usize = 16 * 1024;

/// The largest frame that these limits allow: a row in which every cell is as long as it may be.
pub(super) fn bytes_max(limits: &Limits) -> usize {
    /// A character takes at most four bytes, a cell's own marks five.
    const CHARACTER_BYTES: usize = 4;
    const CELL_BYTES: usize = 5;
    let cell = limits.cell_characters.saturating_mul(CHARACTER_BYTES).saturating_add(CELL_BYTES);
    limits.columns.saturating_mul(cell).max(WORDS_BYTES_MAX).saturating_mul(2)
}

/// How much is handed over at once. The pipe's own few pages would have the two processes wait for each other all along.
const HANDED_OVER_BYTES: usize = 256 * 1024;

/// Writes pieces, many at once; what has not been flushed may not have gone out.
pub(super) struct Writer<W: Write> {
    to: W,
    frames: Vec<u8>,
}

impl<W: Write> Writer<W> {
    /// Nothing written yet.
    pub(super) fn new(to: W) -> Writer<W> {
        Writer { to, frames: Vec::new() }
    }

    /// Writes one piece.
    pub(super) fn write(&mut self, piece: &Piece) -> io::Result<()> {
        let begins_at = self.frames.len();
        self.frames.extend([0; LENGTH_BYTES]);
        put_piece(&mut self.frames, piece);
        let content_at = begins_at + LENGTH_BYTES;
        let length = u32::try_from(self.frames.len() - content_at).map_err(io::Error::other)?;
        self.frames[begins_at..content_at].copy_from_slice(&length.to_le_bytes());
        // The end is handed over at once, so that nobody waits while this process lets go of what it has read.
        if self.frames.len() >= HANDED_OVER_BYTES || *piece == Piece::End { self.flush() } else { Ok(()) }
    }

    /// Hands over what has been written.
    pub(super) fn flush(&mut self) -> io::Result<()> {
        self.to.write_all(&self.frames)?;
        self.frames.clear();
        self.to.flush()
    }
}

/// How many bytes a frame's length takes.
const LENGTH_BYTES: usize = 4;

fn put_piece(frame: &mut Vec<u8>, piece: &Piece) {
    match piece {
        Piece::Sheet { name, counts_from_1904 } => {
            frame.push(b'S');
            frame.push(u8::from(*counts_from_1904));
            put_optional(frame, name.as_deref());
        }
        Piece::Row(row) => {
            frame.push(b'R');
            frame.extend(row.number.to_le_bytes());
            row.cells.iter().for_each(|cell| put_cell(frame, cell));
        }
        Piece::SheetEnds => frame.push(b'W'),
        Piece::Problem(problem) => {
            frame.push(b'P');
            put_problem(frame, problem);
        }
        Piece::Spoilt(problem) => {
            frame.push(b'X');
            put_problem(frame, problem);
        }
        Piece::Void(problem) => {
            frame.push(b'V');
            put_problem(frame, problem);
        }
        Piece::End => frame.push(b'E'),
    }
}

/// Reads pieces.
pub(super) struct Reader<R: Read> {
    from: BufReader<R>,
    bytes_max: usize,
    frame: Vec<u8>,
    /// How many cells the last row had: most often the next one has as many.
    cells: usize,
}

impl<R: Read> Reader<R> {
    /// Nothing read yet; no frame may be longer than so many bytes.
    pub(super) fn new(from: R, bytes_max: usize) -> Reader<R> {
        Reader {
            from: BufReader::with_capacity(HANDED_OVER_BYTES, from),
            bytes_max,
            frame: Vec::new(),
            cells: 0,
        }
    }

    /// The next piece; `None` where there is none, or where what comes is not one of ours.
    pub(super) fn read(&mut self) -> Option<Piece> {
        let mut length = [0; LENGTH_BYTES];
        self.from.read_exact(&mut length).ok()?;
        let length = usize::try_from(u32::from_le_bytes(length)).ok()?;
        if length > self.bytes_max {
            return None;
        }
        if let Some(frame) = self.from.buffer().get(..length) {
            let piece = whole_piece(frame, &mut self.cells)?;
            self.from.consume(length);
            return Some(piece);
        }
        // Grows with what really comes, not with what was announced.
        self.frame.clear();
        self.from.by_ref().take(length as u64).read_to_end(&mut self.frame).ok()?;
        if self.frame.len() < length { None } else { whole_piece(&self.frame, &mut self.cells) }
    }
}

/// The one piece that a frame holds.
fn whole_piece(mut frame: &[u8], cells: &mut usize) -> Option<Piece> {
    let piece = take_piece(&mut frame, cells)?;
    frame.is_empty().then_some(piece)
}

fn take_piece(rest: &mut &[u8], cells_before: &mut usize) -> Option<Piece> {
    Some(match take(rest)? {
        [b'S'] => {
            let [counts_from_1904] = take(rest)?;
            Piece::Sheet { name: take_optional(rest)?, counts_from_1904: counts_from_1904 == 1 }
        }
        [b'R'] => {
            let number = u32::from_le_bytes(take(rest)?);
            // Each cell takes at least one byte, so that this is no more than what came.
            let mut cells = Vec::with_capacity((*cells_before).min(rest.len()));
            while !rest.is_empty() {
                cells.push(Cell::Blank);
                take_cell(rest, cells.last_mut()?)?;
            }
            cells.shrink_to_fit();
            *cells_before = cells.len();
            Piece::Row(Row { number, cells })
        }
        [b'W'] => Piece::SheetEnds,
        [b'P'] => Piece::Problem(take_problem(rest)?),
        [b'X'] => Piece::Spoilt(take_problem(rest)?),
        [b'V'] => Piece::Void(take_problem(rest)?),
        [b'E'] => Piece::End,
        _ => return None,
    })
}

fn put_cell(frame: &mut Vec<u8>, cell: &Cell) {
    match cell {
        Cell::Blank => frame.push(b'-'),
        Cell::Text(text) => {
            frame.push(b't');
            put_text(frame, text);
        }
        Cell::Number(number) => {
            frame.push(b'n');
            frame.extend(number.to_le_bytes());
        }
        Cell::Day(day) => {
            frame.push(b'd');
            frame.extend(day.year().to_le_bytes());
            frame.extend(
                [day.month(), day.day(), day.hour(), day.minute(), day.second()].map(i8::cast_unsigned),
            );
        }
        Cell::Time(seconds) => {
            frame.push(b's');
            frame.extend(seconds.to_le_bytes());
        }
        Cell::Flag(flag) => frame.push(if *flag { b'y' } else { b'x' }),
        Cell::Fault(Fault::ErrorValue(name)) => {
            frame.push(b'f');
            put_text(frame, name);
        }
        Cell::Fault(Fault::NeverReckoned) => frame.push(b'u'),
        Cell::Fault(Fault::TooLong(characters)) => {
            frame.push(b'l');
            frame.extend((*characters as u64).to_le_bytes());
        }
    }
}

/// Takes a cell into a blank one, where it stays: moving a cell costs as much as taking one.
fn take_cell(rest: &mut &[u8], cell: &mut Cell) -> Option<()> {
    *cell = match take(rest)? {
        [b'-'] => return Some(()),
        [b't'] => {
            put_text_cell(take_text(rest)?, cell);
            return Some(());
        }
        [b'n'] => Cell::Number(f64::from_le_bytes(take(rest)?)),
        [b'd'] => {
            let year = i16::from_le_bytes(take(rest)?);
            let [month, day, hour, minute, second] = take::<5>(rest)?.map(u8::cast_signed);
            Cell::Day(DateTime::new(year, month, day, hour, minute, second, 0).ok()?)
        }
        [b's'] => Cell::Time(i64::from_le_bytes(take(rest)?)),
        [b'y'] => Cell::Flag(true),
        [b'x'] => Cell::Flag(false),
        [b'f'] => Cell::Fault(Fault::error_value(take_text(rest)?)),
        [b'u'] => Cell::Fault(Fault::NeverReckoned),
        [b'l'] => Cell::Fault(Fault::TooLong(usize::try_from(u64::from_le_bytes(take(rest)?)).ok()?)),
        _ => return None,
    };
    Some(())
}

/// A problem of a sheet or a cell; what it says of the file is added by the parent.
fn put_problem(frame: &mut Vec<u8>, problem: &Problem) {
    frame.push(match problem.severity {
        Severity::Error => b'e',
        Severity::Note => b'n',
    });
    put_optional(frame, problem.place.sheet.as_deref());
    match problem.place.spot {
        Spot::Cell { row, column } => {
            frame.push(1);
            frame.extend(row.to_le_bytes());
            frame.extend(column.to_le_bytes());
        }
        Spot::Whole | Spot::Text { .. } => frame.push(0),
    }
    put_text(frame, &problem.value);
    put_text(frame, &problem.what);
    put_text(frame, &problem.help);
}

fn take_problem(rest: &mut &[u8]) -> Option<Problem> {
    let severity = match take(rest)? {
        [b'e'] => Severity::Error,
        [b'n'] => Severity::Note,
        _ => return None,
    };
    let sheet = take_optional(rest)?;
    let spot = match take(rest)? {
        [0] => Spot::Whole,
        [1] => Spot::Cell { row: u32::from_le_bytes(take(rest)?), column: u32::from_le_bytes(take(rest)?) },
        _ => return None,
    };
    let place = Place { file: String::new(), sheet, spot };
    let [value, what, help] = [take_words(rest)?, take_words(rest)?, take_words(rest)?];
    Some(Problem { severity, place, value, what, help })
}

fn put_optional(frame: &mut Vec<u8>, text: Option<&str>) {
    frame.push(u8::from(text.is_some()));
    put_text(frame, text.unwrap_or_default());
}

fn take_optional(rest: &mut &[u8]) -> Option<Option<String>> {
    let [present] = take(rest)?;
    let text = take_words(rest)?;
    Some((present == 1).then_some(text))
}

fn put_text(frame: &mut Vec<u8>, text: &str) {
    // A cell's text is far shorter than this; a longer one would fail the frame's own length.
    let length = u32::try_from(text.len()).unwrap_or(u32::MAX);
    frame.extend(length.to_le_bytes());
    frame.extend(text.as_bytes());
}

fn take_text<'a>(rest: &mut &'a [u8]) -> Option<&'a str> {
    let length = usize::try_from(u32::from_le_bytes(take(rest)?)).ok()?;
    let (text, after) = rest.split_at_checked(length)?;
    *rest = after;
    std::str::from_utf8(text).ok()
}

fn take_words(rest: &mut &[u8]) -> Option<String> {
    take_text(rest).filter(|text| text.len() <= WORDS_BYTES_MAX).map(str::to_owned)
}

/// The next bytes, as many as are asked for.
fn take<const COUNT: usize>(rest: &mut &[u8]) -> Option<[u8; COUNT]> {
    let (bytes, after) = rest.split_first_chunk()?;
    *rest = after;
    Some(*bytes)
}
