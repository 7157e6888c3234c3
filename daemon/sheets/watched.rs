//! The bytes of a workbook, read with a note of where: two sheets that are read from one place are made of one part.

use std::cell::Cell;
use std::collections::BTreeSet;
use std::io::{self, Cursor, Read, Seek, SeekFrom};
use std::rc::Rc;

/// The bytes of a workbook.
pub(super) struct Watched<'a> {
    bytes: Cursor<&'a [u8]>,
    /// Where reading was last begun anew: the first byte of the part that was opened last.
    place: Rc<Cell<u64>>,
}

/// The parts of a workbook of which a sheet has been read.
pub(super) struct Parts {
    place: Rc<Cell<u64>>,
    read: BTreeSet<u64>,
}

impl<'a> Watched<'a> {
    pub(super) fn new(bytes: &'a [u8]) -> Watched<'a> {
        Watched { bytes: Cursor::new(bytes), place: Rc::default() }
    }

    /// None read yet.
    pub(super) fn parts(&self) -> Parts {
        Parts { place: Rc::clone(&self.place), read: BTreeSet::new() }
    }
}

impl Parts {
    /// Whether the part that has just been opened is that of no sheet before; asked of each sheet once, before anything
    /// else is opened.
    pub(super) fn is_new(&mut self) -> bool {
        self.read.insert(self.place.get())
    }
}

impl Read for Watched<'_> {
    #[inline]
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        self.bytes.read(into)
    }
}

impl Seek for Watched<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let place = self.bytes.seek(to)?;
        if matches!(to, SeekFrom::Start(_)) {
            self.place.set(place);
        }
        Ok(place)
    }
}
