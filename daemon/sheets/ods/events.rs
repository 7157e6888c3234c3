//! The XML of one part of the archive, event by event, inflated as it is read: no more of it in memory than one event.

use std::io::{self, BufReader, Read};

use quick_xml::escape::{EscapeError, unescape};
use quick_xml::events::{BytesStart, Event};
use zip::result::ZipError;

/// How much is inflated at once.
const INFLATED_BYTES: usize = 64 * 1024;

/// The longest tag or stretch of text. A cell's text can be read that is far longer than a cell may be, so that it is
/// told of and the rest of the sheet counts.
const EVENT_BYTES_MAX: usize = 16 * 1024 * 1024;

/// How deep elements may nest: a sheet's own some 20.
const DEPTH_MAX: usize = 256;

/// Why the XML cannot be read on.
#[derive(Debug)]
pub(super) struct Damage(pub(super) String);

impl From<quick_xml::Error> for Damage {
    fn from(error: quick_xml::Error) -> Damage {
        match error {
            quick_xml::Error::Io(error) => Damage(error.to_string()),
            error => Damage(error.to_string()),
        }
    }
}

impl From<io::Error> for Damage {
    fn from(error: io::Error) -> Damage {
        Damage(error.to_string())
    }
}

impl From<ZipError> for Damage {
    fn from(error: ZipError) -> Damage {
        Damage(error.to_string())
    }
}

impl From<EscapeError> for Damage {
    fn from(error: EscapeError) -> Damage {
        Damage(error.to_string())
    }
}

/// Reads the events of one part.
pub(super) struct Events<R: Read> {
    reader: quick_xml::Reader<BufReader<Measured<R>>>,
    buffer: Vec<u8>,
    depth: usize,
}

impl<R: Read> Events<R> {
    /// Nothing read yet.
    pub(super) fn of(part: R) -> Events<R> {
        let part = Measured { part, left: EVENT_BYTES_MAX };
        let part = BufReader::with_capacity(INFLATED_BYTES, part);
        Events { reader: quick_xml::Reader::from_reader(part), buffer: Vec::new(), depth: 0 }
    }

    /// How many elements are open; one that has just begun counts.
    pub(super) fn depth(&self) -> usize {
        self.depth
    }

    /// The next event. The end of the part comes only once all elements are closed and its checksum was right.
    ///
    /// What the crate gives is handed on as it is, and where it is wanted: there are ten million events in a large sheet,
    /// and to move one costs as much as to read it.
    #[expect(clippy::inline_always, reason = "measured: a tenth of the time that a sheet takes")]
    #[inline(always)]
    pub(super) fn next(&mut self) -> Result<Event<'_>, quick_xml::Error> {
        self.buffer.clear();
        self.reader.get_mut().get_mut().left = EVENT_BYTES_MAX;
        let event = self.reader.read_event_into(&mut self.buffer);
        match &event {
            Ok(Event::Start(_)) if self.depth == DEPTH_MAX => {
                return Err(io::Error::other(format!("elements nest more than {DEPTH_MAX} deep")).into());
            }
            Ok(Event::Start(_)) => self.depth += 1,
            Ok(Event::End(_)) => self.depth -= 1,
            Ok(Event::Eof) if self.depth > 0 => return Err(io::Error::other("it ends too early").into()),
            _ => {}
        }
        event
    }

    /// Reads on until no more than so many elements are open.
    pub(super) fn leave_to(&mut self, depth: usize) -> Result<(), Damage> {
        while self.depth > depth {
            self.next()?;
        }
        Ok(())
    }

    /// Passes over the element that has just begun.
    pub(super) fn skip(&mut self) -> Result<(), Damage> {
        self.leave_to(self.depth.saturating_sub(1))
    }
}

/// An attribute of an element by its name, with its references resolved.
pub(super) fn attribute(element: &BytesStart<'_>, name: &str) -> Result<Option<String>, Damage> {
    for attribute in attributes(element) {
        let (key, value) = attribute?;
        if key == name {
            return Ok(Some(unescape(value)?.into_owned()));
        }
    }
    Ok(None)
}

/// The attributes of an element, each its name and its value as it is written. A sheet has more attributes than anything
/// else, and the crate's own way through them checks what does not matter here, such as whether one stands there twice.
pub(super) fn attributes<'a>(
    element: &'a BytesStart<'_>,
) -> impl Iterator<Item = Result<(&'a str, &'a str), Damage>> {
    let mut rest = element.attributes_raw();
    std::iter::from_fn(move || {
        rest = rest.trim_ascii_start();
        if rest.is_empty() {
            return None;
        }
        let attribute = first_attribute(rest);
        rest = attribute.map_or("", |(_, _, after)| after);
        let damage = || Damage("an attribute is out of order".to_owned());
        Some(attribute.map(|(key, value, _)| (key, value)).ok_or_else(damage))
    })
}

/// The name and the value of the first attribute, and what follows it.
#[inline]
fn first_attribute(text: &str) -> Option<(&str, &str, &str)> {
    let (key, rest) = text.split_at_checked(memchr::memchr(b'=', text.as_bytes())?)?;
    let rest = rest[1..].trim_ascii_start();
    let quote = *rest.as_bytes().first().filter(|quote| matches!(quote, b'"' | b'\''))?;
    let rest = &rest[1..];
    let (value, rest) = rest.split_at_checked(memchr::memchr(quote, rest.as_bytes())?)?;
    Some((key.trim_ascii_end(), value, &rest[1..]))
}

/// What is inflated, of which one event may take only so much.
struct Measured<R: Read> {
    part: R,
    left: usize,
}

impl<R: Read> Read for Measured<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.left == 0 {
            return Err(io::Error::other("a part of it is longer than any cell"));
        }
        let count = self.part.read(buffer)?;
        self.left = self.left.saturating_sub(count);
        Ok(count)
    }
}
