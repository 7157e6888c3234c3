//! Pieces as bytes, for the way from the reading process to its parent: each one its length, its kind, its content.

use std::io::{self, Read, Write};

use jiff::civil::DateTime;

use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::Limits;
use crate::sheets::piece::Piece;
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

/// Writes one piece.
pub(super) fn write(to: &mut impl Write, piece: &Piece) -> io::Result<()> {
    let mut frame = Vec::new();
    match piece {
        Piece::Sheet { name, counts_from_1904 } => {
            frame.push(b'S');
            frame.push(u8::from(*counts_from_1904));
            put_optional(&mut frame, name.as_deref());
        }
        Piece::Row(row) => {
            frame.push(b'R');
            frame.extend(row.number.to_le_bytes());
            row.cells.iter().for_each(|cell| put_cell(&mut frame, cell));
        }
        Piece::SheetEnds => frame.push(b'W'),
        Piece::Problem(problem) => {
            frame.push(b'P');
            put_problem(&mut frame, problem);
        }
        Piece::Spoilt(problem) => {
            frame.push(b'X');
            put_problem(&mut frame, problem);
        }
        Piece::End => frame.push(b'E'),
    }
    let length = u32::try_from(frame.len()).map_err(io::Error::other)?;
    to.write_all(&length.to_le_bytes())?;
    to.write_all(&frame)
}

/// Reads the next piece; `None` where there is none, or where what comes is not one of ours.
pub(super) fn read(from: &mut impl Read, bytes_max: usize) -> Option<Piece> {
    let mut length = [0; 4];
    from.read_exact(&mut length).ok()?;
    let length = usize::try_from(u32::from_le_bytes(length)).ok()?;
    if length > bytes_max {
        return None;
    }
    // Grows with what really comes, not with what was announced.
    let mut frame = Vec::new();
    from.take(length as u64).read_to_end(&mut frame).ok()?;
    if frame.len() < length {
        return None;
    }
    let mut rest = frame.as_slice();
    let piece = take_piece(&mut rest)?;
    rest.is_empty().then_some(piece)
}

fn take_piece(rest: &mut &[u8]) -> Option<Piece> {
    Some(match take(rest)? {
        [b'S'] => {
            let [counts_from_1904] = take(rest)?;
            Piece::Sheet { name: take_optional(rest)?, counts_from_1904: counts_from_1904 == 1 }
        }
        [b'R'] => {
            let number = u32::from_le_bytes(take(rest)?);
            let mut cells = Vec::new();
            while !rest.is_empty() {
                cells.push(take_cell(rest)?);
            }
            cells.shrink_to_fit();
            Piece::Row(Row { number, cells })
        }
        [b'W'] => Piece::SheetEnds,
        [b'P'] => Piece::Problem(take_problem(rest)?),
        [b'X'] => Piece::Spoilt(take_problem(rest)?),
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

fn take_cell(rest: &mut &[u8]) -> Option<Cell> {
    Some(match take(rest)? {
        [b'-'] => Cell::Blank,
        [b't'] => Cell::Text(take_text(rest)?.into()),
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
    })
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
