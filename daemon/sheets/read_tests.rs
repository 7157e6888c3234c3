//! Files that cannot be opened, and rows that come out of order.

use std::io;

use super::block::Block;
use super::gathering::Tables;
use super::piece::Piece;
use super::read::not_opened;
use super::tests::draw;
use super::{Cell, Reader, read};
use crate::problem::Problem;
use crate::settings::Limits;

#[test]
fn a_file_that_cannot_be_opened_says_why() {
    let yard = tempfile::tempdir().unwrap();
    let limits = Limits::default();
    let missing = read(&yard.path().join("gone.csv"), "sheets/gone.csv", &limits, &Reader::Here);
    assert_eq!(
        draw(&missing),
        "error: the file is not there\n  --> sheets/gone.csv\nhelp: Export it again.\n"
    );
    let folder = read(yard.path(), "sheets", &limits, &Reader::Here);
    assert_eq!(
        draw(&folder),
        "error: this is a folder, not a file\n  --> sheets\nhelp: Name a file in it.\n"
    );
    std::fs::write(yard.path().join("large.csv"), "a,b\n").unwrap();
    let small = Limits { file_bytes: 3, ..Limits::default() };
    let large = read(&yard.path().join("large.csv"), "sheets/large.csv", &small, &Reader::Here);
    assert_eq!(
        draw(&large),
        "error: the file is larger than the 3 bytes allowed\n  --> sheets/large.csv\n\
         help: Split it, or raise the limit under [limits] in tickover.toml.\n"
    );
    assert_eq!(
        not_opened(&io::ErrorKind::PermissionDenied.into(), "f").to_string(),
        "error: the file may not be read\n  --> f\n\
         help: Give the account that runs this program the right to read it."
    );
    assert_eq!(
        not_opened(&io::Error::other("it broke"), "f").to_string(),
        "error: the file could not be read (it broke)\n  --> f\n\
         help: Look whether the disk or the share is in order."
    );
}

fn row(number: u32, cells: &[&str]) -> Piece {
    let mut block = Block::default();
    for (column, cell) in cells.iter().enumerate().filter(|(_, cell)| !cell.is_empty()) {
        block.put(column, Cell::Text(cell)).unwrap();
    }
    block.end_row(number).unwrap();
    Piece::Rows(block)
}

#[test]
fn rows_that_come_out_of_order_are_put_in_order() {
    let limits = Limits::default();
    let mut tables = Tables::new("f", &limits);
    let sheet = Piece::Sheet { name: None, counts_from_1904: false };
    let rows = [row(3, &["c"]), row(1, &["a"]), row(3, &["", "d"]), row(2, &["b"])];
    for piece in [sheet].into_iter().chain(rows).chain([Piece::SheetEnds, Piece::End]) {
        tables.take(piece).unwrap();
    }
    assert_eq!(draw(&tables.whole().unwrap()), "1: a\n2: b\n3: c | d\n");
}

#[test]
fn a_sheet_that_does_not_end_does_not_count() {
    let limits = Limits::default();
    let sheet = |name: &str| Piece::Sheet { name: Some(name.to_owned()), counts_from_1904: false };
    let mut tables = Tables::new("f", &limits);
    for piece in [sheet("A"), row(1, &["a"]), Piece::SheetEnds, sheet("B"), row(1, &["b"]), sheet("C")] {
        tables.take(piece).unwrap();
    }
    let why = Problem::error(crate::problem::Place::file(""), "what", "Help.");
    tables.take(Piece::Spoilt(why)).unwrap();
    assert!(tables.take(row(1, &["c"])).is_err(), "a row without a sheet");
    tables.take(Piece::End).unwrap();
    assert_eq!(draw(&tables.whole().unwrap()), "[A]\n1: a\nerror: what\n  --> f\nhelp: Help.\n");
    assert_eq!(Tables::new("f", &limits).whole(), None);
}

#[test]
fn a_reading_process_that_sends_more_than_allowed_is_stopped() {
    let limits = Limits { rows: 2, columns: 2, cells: 3, file_bytes: 3, ..Limits::default() };
    let sheet = || Piece::Sheet { name: None, counts_from_1904: false };
    let note = || Piece::Problem(Problem::note(crate::problem::Place::file(""), "what", "Help."));
    let cases: [(&str, Vec<Piece>); 6] = [
        ("rows", vec![sheet(), row(1, &["a"]), row(2, &["b"]), row(3, &["c"])]),
        ("columns", vec![sheet(), row(1, &["", "", "a"])]),
        ("cells", vec![sheet(), row(1, &["", "a"]), row(2, &["", "b"])]),
        ("text", vec![sheet(), row(1, &["abcd"])]),
        ("sheets", (0..1_001).map(|_| sheet()).collect()),
        ("problems", (0..1_001).map(|_| note()).collect()),
    ];
    for (name, pieces) in cases {
        let mut tables = Tables::new("f", &limits);
        let (last, before) = pieces.split_last().unwrap();
        for piece in before {
            tables.take(piece.clone()).unwrap();
        }
        assert!(tables.take(last.clone()).is_err(), "{name}");
    }
}
