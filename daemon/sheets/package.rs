//! What a zip archive holds, and whether it may be unpacked: both told by its list of entries alone.

use std::io::{Cursor, Read};

use zip::ZipArchive;

use crate::problem::Problem;
use crate::settings::Limits;
use crate::sheets::kind::{SAVE_AGAIN, SAVE_AS, password, refusal};
use crate::sheets::piece::size;

/// The most entries of a workbook's archive; a workbook has a few for each sheet and picture.
const ENTRIES_MAX: usize = 5_000;

/// The workbooks that are zip archives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Package {
    /// Office Open XML in text; with or without macros.
    Xlsx,
    /// Office Open XML in binary records.
    Xlsb,
    /// OpenDocument.
    Ods,
}

/// What the archive is, or why it is not to be unpacked.
///
/// The sizes in the list can be relied on: unpacking stops where an entry turns out larger than it says.
pub(super) fn look(bytes: &[u8], limits: &Limits) -> Result<Package, Box<Problem>> {
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else {
        return Err(refusal("the workbook is cut short or damaged", SAVE_AGAIN).into());
    };
    if archive.len() > ENTRIES_MAX {
        let what = format!("the file is an archive of more than {ENTRIES_MAX} parts, which no workbook has");
        return Err(refusal(&what, SAVE_AS).into());
    }
    let mut unpacked_bytes = 0_u64;
    for index in 0..archive.len() {
        let Ok(entry) = archive.by_index_raw(index) else {
            return Err(refusal("the workbook is cut short or damaged", SAVE_AGAIN).into());
        };
        unpacked_bytes = unpacked_bytes.saturating_add(entry.size());
    }
    if unpacked_bytes > limits.unpacked_bytes {
        let what = format!(
            "the workbook unpacks to {}, more than the {} allowed",
            size(unpacked_bytes),
            size(limits.unpacked_bytes)
        );
        return Err(refusal(
            &what,
            "Split it, save it as .csv, or raise the limit under [limits] in tickover.toml.",
        )
        .into());
    }
    let has = |name: &str| archive.file_names().flatten().any(|part| is_part(&part, name));
    if has("xl/workbook.bin") {
        Ok(Package::Xlsb)
    } else if has("mimetype") && has("content.xml") {
        Ok(Package::Ods)
    } else if has("mimetype") && has("encrypted-package") {
        // From memory: what LibreOffice writes since 24.8 under a password, all parts in one.
        Err(password().into())
    } else if has("[Content_Types].xml") && !has("word/document.xml") && !has("ppt/presentation.xml") {
        Ok(Package::Xlsx)
    } else {
        Err(refusal("the file is an archive or a document, not a workbook that is read here", SAVE_AS).into())
    }
}

/// Whether an entry is the part of this name: capital and small letters of a name are the same (ECMA-376 part 2, section
/// 6.2.2.3), and some programs part folders as Windows does.
fn is_part(entry: &str, name: &str) -> bool {
    let same = |(one, other): (u8, u8)| one.eq_ignore_ascii_case(&other) || (one, other) == (b'\\', b'/');
    entry.len() == name.len() && entry.bytes().zip(name.bytes()).all(same)
}

/// Whether a sheet of an .xlsx has merged cells. They stand behind all others, and to unpack a sheet costs a small part of
/// what it costs to read it.
pub(super) fn has_merged_cells(bytes: &[u8]) -> bool {
    /// ECMA-376 part 1, section 18.3.1.54; whatever prefix stands before it.
    const MERGED: &[u8] = b"mergeCell ";
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else { return false };
    let mut piece = vec![0; 64 * 1024];
    for index in 0..archive.len() {
        let Ok(mut part) = archive.by_index(index) else { continue };
        if !part.name().is_ok_and(|name| name.to_ascii_lowercase().contains("worksheets/")) {
            continue;
        }
        // What ends a piece may begin the word.
        let mut held = 0;
        while let Ok(count @ 1..) = part.read(&mut piece[held..]) {
            let filled = held + count;
            if memchr::memmem::find(&piece[..filled], MERGED).is_some() {
                return true;
            }
            held = filled.min(MERGED.len() - 1);
            piece.copy_within(filled - held..filled, 0);
        }
    }
    false
}
