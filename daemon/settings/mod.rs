//! The settings file `tickover.toml`: read with its lines, checked as a whole, and written out with an explanation
//! of every key.

mod amend;
mod checked;
mod day_values;
mod in_part;
mod keys;
mod mail;
mod read;
mod render;
mod same;
mod sheets;
mod signer;
mod text;
mod text_form;
mod values;
mod whole;

#[cfg(test)]
mod dice_tests;
#[cfg(test)]
mod long_run_tests;
#[cfg(test)]
mod tests;

use std::fs::{self, File};
use std::io::{self, Read};
use std::path::Path;

use crate::problem::{Place, Problem};

pub use amend::{
    Under, behind_a_mark, is_open_in_shop, sets_in_shop, with_open_key, with_sheet_named, with_value,
    with_yes_or_no, without_open_sheet,
};
pub use checked::{
    AgreedColumn, AgreedSheet, BankHolidays, DateOrder, Limits, MailAccount, PartReceiver, Practice, Region,
    Retention, Security, Settings, ShopDays, SignIn, Ticks,
};
pub use read::parse;
pub use render::{SheetNotes, render, render_sheet};
pub use same::{check_key, first_word, is_among, same_words, stands_as_it_is, words_of};
pub use signer::{may_be_same_person, names_somebody};
pub use text_form::{TextForm, text_form_of};

/// The largest settings file that is read: a shop's own is a few kilobytes.
const FILE_BYTES_MOST: u64 = 1024 * 1024;

/// The settings of a yard folder, and everything that is wrong with them.
///
/// `name` is how messages name the file. A missing file gives the usual settings and a note. `None` means that
/// the file cannot be read at all, so that nothing can run; one wrong key only falls back to its usual value.
pub fn load(path: &Path, name: &str) -> (Option<Settings>, Vec<Problem>) {
    let bytes = match bytes_of(path) {
        Ok(bytes) => bytes,
        Err(failure) if failure.kind() == io::ErrorKind::NotFound => {
            let what = "there is no settings file yet, so the usual settings count";
            let help = "Run `tickover setup` with the shop's own exports; it writes one.";
            return (Some(Settings::default()), vec![Problem::note(Place::file(name), what, help)]);
        }
        Err(failure) => {
            let help = "Check that the file may be read by the account that Tickover runs under.";
            let what = format!("the settings cannot be read: {failure}");
            return (None, vec![Problem::error(Place::file(name), what, help)]);
        }
    };
    if bytes.len() as u64 > FILE_BYTES_MOST {
        let what = "the settings file is larger than 1 MB";
        let help = "Check that it is the right file; `tickover setup` writes a fresh one.";
        return (None, vec![Problem::error(Place::file(name), what, help)]);
    }
    match String::from_utf8(bytes) {
        Ok(text) => parse(&text, name),
        Err(failure) => (None, vec![not_utf8(failure.as_bytes(), failure.utf8_error().valid_up_to(), name)]),
    }
}

/// The file's bytes, one more than the most at the most.
fn bytes_of(path: &Path) -> io::Result<Vec<u8>> {
    // To open a pipe would wait for somebody to write to it.
    if !fs::metadata(path)?.is_file() {
        return Err(io::Error::other("it is no ordinary file"));
    }
    let mut bytes = Vec::new();
    File::open(path)?.take(FILE_BYTES_MOST + 1).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The problem of a file that was saved in another encoding, with the first line that shows it.
fn not_utf8(bytes: &[u8], valid_up_to: usize, name: &str) -> Problem {
    let line = bytes[..valid_up_to].iter().filter(|byte| **byte == b'\n').count() + 1;
    let what = format!("the settings file is not saved as UTF-8 (seen in line {line})");
    Problem::error(Place::file(name), what, "Save it again and choose the encoding UTF-8.")
}
