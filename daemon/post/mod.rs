//! Delivers a letter: builds its mail once, puts it into a folder, and sends it by the shop's mail account.

mod account;
mod eml;
mod error_stream;
mod failure;
mod fault;
mod folder;
mod letter_files;
mod refusal;
mod secret;
#[cfg(test)]
mod secret_tests;
mod smtp;
mod token;
#[cfg(all(test, unix))]
mod token_tests;
mod trial_mail;

pub use account::Account;
pub use eml::{Envelope, as_eml};
pub use failure::PostFailure;
pub use fault::{FaultKind, SetupFault};
pub use folder::{CopyName, deliver_to_folder, free_name, stands_there, takes_copies, write_whole};
pub use letter_files::{
    FolderLetter, forget_letters_before, last_mail_bytes, letter_in_folder, letters_in_folder,
};
pub use refusal::Refusal;
pub use secret::{PASSWORD_VARIABLE, Secret, SecretSource};
pub use smtp::{Answer, Parcel, SendLimits, Step, Verdict, check, reply_line, send};
pub use trial_mail::trial_mail;
