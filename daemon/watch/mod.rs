//! Says that a folder has changed and settled, and reads a file only when nobody is writing it; never acts itself.

mod events;
mod places;
mod shelf;
mod signature;
mod watching;
mod whole;
mod writer;

pub use places::Places;
pub use shelf::{CHANGES_BYTES_MAX, Shelf};
pub use watching::{Notice, Watch};
pub use whole::{Content, Looks, NotWhole, Whole};

#[cfg(test)]
mod shelf_tests;
#[cfg(test)]
mod watching_tests;
#[cfg(test)]
mod whole_tests;
