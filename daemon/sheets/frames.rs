//! Pieces as bytes, for the way from the reading process to its parent: each one its length, its kind, its content.

use std::io::{self, Read, Write};

use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::Limits;
use crate::sheets::Merged;
use crate::sheets::block::{Block, Place as RowPlace};
use crate::sheets::packed::Packed;
use crate::sheets::piece::Piece;
use crate::sheets::rows::GIVEN_ON_BYTES;

/// The most bytes of a name or a message: a worksheet's name has 31 characters, and a message is a sentence.
const WORDS_BYTES_MAX: usize = 16 * 1024;

/// The largest frame that these limits allow: rows that are all but enough to be given on, and one more in which every
/// cell is as long as it may be.
pub(super) fn bytes_max(limits: &Limits) -> usize {
    /// A character takes at most four bytes.
    const CHARACTER_BYTES: usize = 4;
    const CELL_BYTES: usize = Packed::BYTES + size_of::<u64>();
    let cell = limits.cell_characters.saturating_mul(CHARACTER_BYTES).saturating_add(CELL_BYTES);
    // A row that is given on has a cell at least, which takes as much as the row's own figures.
    let row = limits.columns.saturating_mul(cell).saturating_add(GIVEN_ON_BYTES);
    row.max(WORDS_BYTES_MAX).saturating_mul(3)
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
        Piece::Rows(block) => {
            frame.push(b'R');
            put_block(frame, block);
        }
        Piece::Merged(merged) => {
            frame.push(b'M');
            for Merged { column, first_row, last_row } in merged {
                [column, first_row, last_row].iter().for_each(|part| frame.extend(part.to_le_bytes()));
            }
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
    from: R,
    bytes_max: usize,
    frame: Vec<u8>,
}

impl<R: Read> Reader<R> {
    /// Nothing read yet; no frame may be longer than so many bytes.
    pub(super) fn new(from: R, bytes_max: usize) -> Reader<R> {
        Reader { from, bytes_max, frame: Vec::new() }
    }

    /// The next piece; `None` where there is none, or where what comes is not one of ours.
    pub(super) fn read(&mut self) -> Option<Piece> {
        let mut length = [0; LENGTH_BYTES];
        self.from.read_exact(&mut length).ok()?;
        let length = usize::try_from(u32::from_le_bytes(length)).ok()?;
        if length > self.bytes_max {
            return None;
        }
        // Grows with what really comes, not with what was announced.
        self.frame.clear();
        self.from.by_ref().take(length as u64).read_to_end(&mut self.frame).ok()?;
        if self.frame.len() < length { None } else { whole_piece(&self.frame) }
    }
}

/// The one piece that a frame holds.
fn whole_piece(mut frame: &[u8]) -> Option<Piece> {
    let piece = take_piece(&mut frame)?;
    frame.is_empty().then_some(piece)
}

fn take_piece(rest: &mut &[u8]) -> Option<Piece> {
    Some(match take(rest)? {
        [b'S'] => {
            let [counts_from_1904] = take(rest)?;
            Piece::Sheet { name: take_optional(rest)?, counts_from_1904: counts_from_1904 == 1 }
        }
        [b'R'] => Piece::Rows(take_block(rest)?),
        [b'M'] => {
            const BYTES: usize = 3 * size_of::<u32>();
            let of = |[column, first_row, last_row]: [[u8; 4]; 3]| {
                let [column, first_row, last_row] = [column, first_row, last_row].map(u32::from_le_bytes);
                Merged { column, first_row, last_row }
            };
            Piece::Merged(take_all(rest, rest.len() / BYTES, of)?)
        }
        [b'W'] => Piece::SheetEnds,
        [b'P'] => Piece::Problem(take_problem(rest)?),
        [b'X'] => Piece::Spoilt(take_problem(rest)?),
        [b'V'] => Piece::Void(take_problem(rest)?),
        [b'E'] => Piece::End,
        _ => return None,
    })
}

/// Rows of a workbook as they stand in memory: how much there is of each part of the block, then the parts.
fn put_block(frame: &mut Vec<u8>, block: &Block) {
    for count in [block.rows.len(), block.cells.len(), block.wide.len()] {
        // What is not told of in full makes no whole frame.
        frame.extend(u32::try_from(count).unwrap_or(u32::MAX).to_le_bytes());
    }
    for row in &block.rows {
        [row.number, row.begins_at, row.ends_at].iter().for_each(|part| frame.extend(part.to_le_bytes()));
    }
    put_all(frame, &block.cells, |cell| cell.to_bytes());
    put_all(frame, &block.wide, |value| value.to_le_bytes());
    frame.extend(block.text.as_bytes());
}

/// Things of the same length each. Room is made for all of them at once, not asked for by each.
fn put_all<T, const BYTES: usize>(frame: &mut Vec<u8>, things: &[T], bytes_of: impl Fn(&T) -> [u8; BYTES]) {
    let begin_at = frame.len();
    frame.resize(begin_at + things.len() * BYTES, 0);
    let (places, _) = frame[begin_at..].as_chunks_mut();
    for (place, thing) in places.iter_mut().zip(things) {
        *place = bytes_of(thing);
    }
}

/// The text is all that is left of the frame.
fn take_block(rest: &mut &[u8]) -> Option<Block> {
    let counts = [take(rest)?, take(rest)?, take(rest)?];
    let [rows, cells, wide] = counts.map(|count| usize::try_from(u32::from_le_bytes(count)).ok());
    let rows = take_all(rest, rows?, |[number, begins_at, ends_at]: [[u8; 4]; 3]| {
        let [number, begins_at, ends_at] = [number, begins_at, ends_at].map(u32::from_le_bytes);
        RowPlace { number, begins_at, ends_at, is_line: false }
    })?;
    let cells = take_all(rest, cells?, |[cell]: [[u8; Packed::BYTES]; 1]| Packed::from_bytes(cell))?;
    let wide = take_all(rest, wide?, |[value]: [[u8; 8]; 1]| u64::from_le_bytes(value))?;
    let text = std::str::from_utf8(std::mem::take(rest)).ok()?.to_owned();
    let block = Block::of_parts(text, wide, cells, rows);
    block.is_sound().then_some(block)
}

/// So many things of a few words each, if that much has come.
fn take_all<T, const BYTES: usize, const WORDS: usize>(
    rest: &mut &[u8],
    count: usize,
    of: impl Fn([[u8; BYTES]; WORDS]) -> T,
) -> Option<Vec<T>> {
    let (things, after) = rest.split_at_checked(count.checked_mul(BYTES * WORDS)?)?;
    *rest = after;
    let (words, _) = things.as_chunks::<BYTES>();
    let (things, _) = words.as_chunks::<WORDS>();
    Some(things.iter().map(|thing| of(*thing)).collect())
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
    Some(Problem { severity, ..Problem::error(place, what, help) }.with_value(value))
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
