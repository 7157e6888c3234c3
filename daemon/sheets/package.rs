//! What a zip archive holds, and whether it may be unpacked: both told by its list of entries alone.

use std::io::{Cursor, Read};

use zip::ZipArchive;

use crate::problem::Problem;
use crate::settings::Limits;
use crate::sheets::kind::{COPY_CELLS, SAVE_AGAIN, SAVE_AS, password, refusal};
use crate::sheets::piece::size;

/// The most entries of a workbook's archive; a workbook has a few for each sheet and picture.
const ENTRIES_MAX: usize = 5_000;

/// A part that unpacks to more bytes than this, and to so many times what it takes, says one thing over and over: cells that
/// differ, if only by their own names, come to some 20 times. Our decision.
const DENSE_BYTES: u64 = 128 * 1024 * 1024;
const DENSE_TIMES: u64 = 250;

/// The most kinds of cells, each a set of fonts, borders and the like, that a workbook is read with: a spreadsheet program
/// stops at 65,490 (its makers' page on its limits), and keeps as many named ones beside them.
pub(super) const STYLES_MAX: usize = 200_000;

/// The most tags of the part in which they stand: those and as many fonts, borders and fills come to fewer.
const STYLE_TAGS_MAX: usize = 2_000_000;

/// The most bytes of a part that lists sheets, names or other parts, which is read as a whole: 60,000 names take four
/// million. Our decision.
const LIST_BYTES_MAX: u64 = 32 * 1024 * 1024;
const LISTS: [&str; 3] = ["workbook.xml", "workbook.bin", ".rels"];

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
    if archive.has_duplicate_names() {
        let what =
            "the workbook has two parts of one name, of which each program reads another; it was not read";
        return Err(refusal(what, SAVE_AGAIN).into());
    }
    may_be_unpacked(&mut archive, limits)?;
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

/// Whether the parts are of a size to be unpacked, by what the list says of each.
fn may_be_unpacked(archive: &mut ZipArchive<Cursor<&[u8]>>, limits: &Limits) -> Result<(), Box<Problem>> {
    let (mut unpacked_bytes, mut is_dense, mut is_long) = (0_u64, false, false);
    for index in 0..archive.len() {
        let Ok(entry) = archive.by_index_raw(index) else {
            return Err(refusal("the workbook is cut short or damaged", SAVE_AGAIN).into());
        };
        unpacked_bytes = unpacked_bytes.saturating_add(entry.size());
        is_long |= entry.size() > LIST_BYTES_MAX && entry.name().is_ok_and(|name| is_list(&name));
        is_dense |= entry.size() > DENSE_BYTES && entry.size() / DENSE_TIMES > entry.compressed_size();
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
    if is_long {
        let most = size(LIST_BYTES_MAX);
        let what =
            format!("the workbook's list of its sheets and names takes more than {most}; it was not read");
        return Err(refusal(&what, COPY_CELLS).into());
    }
    if is_dense {
        let what = format!(
            "a part of the workbook unpacks to more than {DENSE_TIMES} times its size, as no table does; it was not read"
        );
        return Err(refusal(&what, SAVE_AGAIN).into());
    }
    Ok(())
}

/// Whether an entry is a part that lists sheets, names or other parts.
fn is_list(entry: &str) -> bool {
    LISTS.iter().any(|list| entry.to_ascii_lowercase().ends_with(list))
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
    is_in_part(
        bytes,
        |name| name.contains("worksheets/"),
        MERGED.len(),
        |piece| memchr::memmem::find(piece, MERGED).is_some(),
    )
}

/// Whether an .xlsx has more kinds of cells than any workbook; a few bytes each, they take its reader hundreds. They are
/// counted before it reads them.
pub(super) fn has_too_many_styles(bytes: &[u8]) -> bool {
    /// ECMA-376 part 1, section 18.8.45; whatever prefix stands before it.
    const STYLES: [&[u8]; 2] = [b"<xf", b":xf"];
    let (mut styles, mut tags) = (0, 0);
    let is_styles = |name: &str| name.ends_with("styles.xml");
    is_in_part(bytes, is_styles, STYLES[0].len(), |piece| {
        // What is held over from the piece before is shorter than what is looked for, and a tag more matters little.
        tags += memchr::memchr_iter(b'<', piece).count();
        styles += STYLES.iter().map(|style| memchr::memmem::find_iter(piece, style).count()).sum::<usize>();
        styles > STYLES_MAX || tags > STYLE_TAGS_MAX
    })
}

/// Whether something is so of a part with such a name, in small letters: it is unpacked piece by piece and asked of each. A
/// piece begins with the last bytes of the one before it, so that nothing of this length is missed.
fn is_in_part(
    bytes: &[u8],
    is_meant: impl Fn(&str) -> bool,
    length: usize,
    mut is_so: impl FnMut(&[u8]) -> bool,
) -> bool {
    let Ok(mut archive) = ZipArchive::new(Cursor::new(bytes)) else { return false };
    let mut piece = vec![0; 64 * 1024];
    for index in 0..archive.len() {
        let Ok(mut part) = archive.by_index(index) else { continue };
        if !part.name().is_ok_and(|name| is_meant(&name.to_ascii_lowercase().replace('\\', "/"))) {
            continue;
        }
        let mut held = 0;
        while let Ok(count @ 1..) = part.read(&mut piece[held..]) {
            let filled = held + count;
            if is_so(&piece[..filled]) {
                return true;
            }
            held = filled.min(length - 1);
            piece.copy_within(filled - held..filled, 0);
        }
    }
    false
}
