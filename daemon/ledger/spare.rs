//! Spare room on the disk, given up when it is full, so that a round and its letter can still be kept.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::LedgerFailure;

/// What a round with a long letter takes, and then some.
const SPARE_BYTES: u64 = 2 * 1024 * 1024;

fn file_of(ledger: &Path) -> PathBuf {
    ledger.with_file_name("spare")
}

/// Sets the room aside, unless it is.
pub(super) fn set_aside(ledger: &Path) -> Result<(), LedgerFailure> {
    let path = file_of(ledger);
    match fs::metadata(&path) {
        Ok(there) if there.is_file() && there.len() == SPARE_BYTES => return Ok(()),
        // A pipe would keep whoever opens it waiting.
        Ok(there) if !there.is_file() => {
            let what = if there.is_dir() { "a folder" } else { "something that is no file" };
            return Err(LedgerFailure::SpareNotMade { path, why: format!("{what} stands in its place") });
        }
        _ => {}
    }
    fill(&path).map_err(|cause| {
        // Half of it would keep room from the round and give it none.
        let _ = fs::remove_file(&path);
        let why = cause.to_string();
        match cause.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                LedgerFailure::NoSpareRoom { path: ledger.to_owned(), why }
            }
            _ => LedgerFailure::SpareNotMade { path, why },
        }
    })
}

/// Writes what no disk can store in less room, or as a hole: each word follows from the one before
/// (G. Marsaglia, "Xorshift RNGs", 2003).
fn fill(path: &Path) -> io::Result<()> {
    let mut file = io::BufWriter::new(File::create(path)?);
    let mut word: u64 = 0x9E37_79B9_7F4A_7C15;
    for _ in 0..SPARE_BYTES / 8 {
        word ^= word << 13;
        word ^= word >> 7;
        word ^= word << 17;
        file.write_all(&word.to_le_bytes())?;
    }
    file.into_inner()?.sync_all()
}

/// Gives the room up; whether there was any.
pub(super) fn give_up(ledger: &Path) -> bool {
    fs::remove_file(file_of(ledger)).is_ok()
}
