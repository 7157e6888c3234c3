//! A cell in eight bytes: what it is, and its value or where that stands in its block.

use jiff::civil::{Date, DateTime, Time};

/// What a packed cell is. The values go over to the parent as they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    Blank,
    /// A stretch of the block's text.
    Text,
    /// The name of an error value, a stretch of the block's text.
    ErrorValue,
    /// One of the block's wide values: the bits of a number.
    Number,
    /// One of the block's wide values: so many seconds.
    Time,
    /// One of the block's wide values: so many characters.
    TooLong,
    /// A day with its time.
    Day,
    True,
    False,
    NeverReckoned,
}

const SORTS: [Sort; 10] = [
    Sort::Blank,
    Sort::Text,
    Sort::ErrorValue,
    Sort::Number,
    Sort::Time,
    Sort::TooLong,
    Sort::Day,
    Sort::True,
    Sort::False,
    Sort::NeverReckoned,
];

/// A cell as its block keeps it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Packed {
    /// Where the cell's text begins, or the place of its wide value, or its year, month and day.
    at: u32,
    /// The sort in the highest bits; below it how long the text is, or the day's second.
    what: u32,
}

/// How many bits the length of a text has.
const LENGTH_BITS: u32 = 28;

/// The longest text of one cell, in bytes: 256 MB, which is four times the largest file that is read.
pub(super) const LENGTH_MAX: usize = (1 << LENGTH_BITS) - 1;

impl Packed {
    /// How many bytes it takes.
    pub(super) const BYTES: usize = 8;

    /// A cell that is its sort and no more.
    pub(super) const fn bare(sort: Sort) -> Packed {
        Packed { at: 0, what: (sort as u32) << LENGTH_BITS }
    }

    /// A cell with a wide value, or with a text no longer than [`LENGTH_MAX`]: `None` where its place is too far off.
    pub(super) fn of(sort: Sort, at: usize, length: usize) -> Option<Packed> {
        let (at, length) = (u32::try_from(at).ok()?, u32::try_from(length).ok()?);
        Some(Packed { at, what: (sort as u32) << LENGTH_BITS | length })
    }

    /// A day. Parts of a second are no sheet's.
    pub(super) fn of_day(day: DateTime) -> Packed {
        let part = |part: i8| u32::from(part.cast_unsigned());
        let second = (part(day.hour()) * 60 + part(day.minute())) * 60 + part(day.second());
        let [high, low] = day.year().to_be_bytes();
        let at = u32::from_be_bytes([high, low, day.month().cast_unsigned(), day.day().cast_unsigned()]);
        Packed { at, what: (Sort::Day as u32) << LENGTH_BITS | second }
    }

    /// What the cell is; a sort that there is not is none.
    pub(super) fn sort(self) -> Option<Sort> {
        SORTS.get((self.what >> LENGTH_BITS) as usize).copied()
    }

    pub(super) fn is_blank(self) -> bool {
        self == Packed::default()
    }

    /// The place of its text or wide value.
    pub(super) fn at(self) -> usize {
        self.at as usize
    }

    /// How many bytes its text has.
    pub(super) fn length(self) -> usize {
        self.what as usize & LENGTH_MAX
    }

    /// Its day; `None` where it holds none.
    pub(super) fn day(self) -> Option<DateTime> {
        let [high, low, month, day] = self.at.to_be_bytes();
        let (year, month, day) = (i16::from_be_bytes([high, low]), month.cast_signed(), day.cast_signed());
        let second = self.length();
        let part = |part: usize| i8::try_from(part).ok();
        let time = Time::new(part(second / 3600)?, part(second / 60 % 60)?, part(second % 60)?, 0).ok()?;
        Some(Date::new(year, month, day).ok()?.to_datetime(time))
    }

    /// The same cell in a block in which its text or wide value stands so much further on.
    pub(super) fn moved(self, text: u32, wide: u32) -> Packed {
        let by = match self.sort() {
            Some(Sort::Text | Sort::ErrorValue) => text,
            Some(Sort::Number | Sort::Time | Sort::TooLong) => wide,
            _ => 0,
        };
        Packed { at: self.at.saturating_add(by), ..self }
    }

    pub(super) fn to_bytes(self) -> [u8; Packed::BYTES] {
        let ([a, b, c, d], [e, f, g, h]) = (self.at.to_le_bytes(), self.what.to_le_bytes());
        [a, b, c, d, e, f, g, h]
    }

    pub(super) fn from_bytes([a, b, c, d, e, f, g, h]: [u8; Packed::BYTES]) -> Packed {
        Packed { at: u32::from_le_bytes([a, b, c, d]), what: u32::from_le_bytes([e, f, g, h]) }
    }
}
