//! Delivers a letter: builds its mail once, and puts it into a folder.

mod eml;
mod failure;
mod folder;

pub use eml::{Envelope, as_eml};
pub use failure::PostFailure;
pub use folder::{CopyName, deliver_to_folder, free_name, stands_there, write_whole};
