//! A file becomes tables of cells with origins; this room knows no word of the trade.

mod block;
mod cell;
mod child;
mod confine;
mod dialect;
mod encoding;
mod field;
mod find;
mod formats;
mod frames;
mod gathering;
mod kind;
mod ods;
mod package;
mod packed;
mod piece;
mod quotes;
mod read;
mod rows;
mod table;
mod text;
mod unseen;
mod value;
mod watched;
mod workbook;

pub use cell::{Cell, Fault};
pub use child::{Heard, SUBCOMMAND, hear, say, serve_child};
pub use find::{FoundFile, find, is_passed_over};
pub use read::{
    ReadFile, Reader, not_opened, read, read_as_agreed, read_bytes, read_bytes_as_agreed, too_large,
};
pub use table::{AboutFile, DatesProving, Merged, Row, Rows, Table};
pub use unseen::is_of_unseen_unit;
pub use value::{YEARS, day_of_serial};

#[cfg(test)]
mod find_tests;
#[cfg(test)]
mod frames_tests;
#[cfg(test)]
mod kind_tests;
#[cfg(test)]
mod read_tests;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod text_tests;
#[cfg(test)]
mod value_tests;
