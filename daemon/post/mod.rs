//! Delivers a letter: builds its mail once, and puts it into a folder.

mod copies;
mod eml;
mod failure;
mod folder;

pub use copies::{FolderLetter, forget_letters_before, letters_in_folder};
pub use eml::{Envelope, as_eml};
pub use failure::PostFailure;
pub use folder::{deliver_to_folder, free_edition, write_whole};
