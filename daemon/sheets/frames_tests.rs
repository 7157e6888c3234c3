//! Pieces as bytes and back, and bytes that are none of ours.

use jiff::civil::date;

use super::block::Block;
use super::frames;
use super::piece::Piece;
use super::{Cell, Fault};
use crate::problem::{Place, Problem, Spot};

const BYTES_MAX: usize = 1_000;

fn every_kind_of_piece() -> Vec<Piece> {
    let spot = Spot::Cell { row: 14, column: 3 };
    let place = Place { file: String::new(), sheet: Some("Stock".to_owned()), spot };
    let cells = [
        Cell::Blank,
        Cell::Text("café £5 🏍"),
        Cell::Number(-12.5),
        Cell::Day(date(2026, 4, 3).at(14, 30, 15, 0)),
        Cell::Time(-108_300),
        Cell::Flag(true),
        Cell::Flag(false),
        Cell::Fault(Fault::ErrorValue("#N/A")),
        Cell::Fault(Fault::NeverReckoned),
        Cell::Fault(Fault::TooLong(40_000)),
    ];
    let mut block = Block::default();
    for (column, cell) in cells.into_iter().enumerate() {
        block.put(column, cell).unwrap();
    }
    block.end_row(1).unwrap();
    block.put(0, Cell::Text("a")).unwrap();
    block.end_row(u32::MAX).unwrap();
    vec![
        Piece::Sheet { name: Some("Stock".to_owned()), counts_from_1904: true },
        Piece::Sheet { name: None, counts_from_1904: false },
        Piece::Rows(block),
        Piece::Rows(Block::default()),
        Piece::SheetEnds,
        Piece::Problem(Problem::note(place, "what", "help").with_value("value")),
        Piece::Spoilt(Problem::error(Place::file(""), "what", "help")),
        Piece::Void(Problem::error(Place::file(""), "what", "help")),
        Piece::End,
    ]
}

fn bytes_of(pieces: &[Piece]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut writer = frames::Writer::new(&mut bytes);
    for piece in pieces {
        writer.write(piece).unwrap();
    }
    writer.flush().unwrap();
    drop(writer);
    bytes
}

fn pieces_of(bytes: &[u8]) -> Vec<Piece> {
    let mut reader = frames::Reader::new(bytes, BYTES_MAX);
    std::iter::from_fn(|| reader.read()).collect()
}

#[test]
fn every_piece_comes_out_as_it_went_in() {
    let pieces = every_kind_of_piece();
    assert_eq!(pieces_of(&bytes_of(&pieces)), pieces);
}

#[test]
fn a_stream_that_is_cut_anywhere_gives_its_whole_pieces_and_no_end() {
    let pieces = every_kind_of_piece();
    let bytes = bytes_of(&pieces);
    for cut in 0..bytes.len() {
        let read = pieces_of(&bytes[..cut]);
        assert_eq!(read, pieces[..read.len()], "cut at {cut}");
        assert!(!read.contains(&Piece::End), "cut at {cut}");
    }
}

#[test]
fn a_stream_with_any_byte_changed_never_harms() {
    let bytes = bytes_of(&every_kind_of_piece());
    for at in 0..bytes.len() {
        for change in [1, 0x7f, 0xff] {
            let mut bytes = bytes.clone();
            bytes[at] ^= change;
            // Whatever it makes of it, it comes to an end and makes no more than there were.
            assert!(pieces_of(&bytes).len() <= every_kind_of_piece().len() + 1, "byte {at}");
        }
    }
}

#[test]
fn bytes_that_are_none_of_ours_give_nothing() {
    let long = [2_000_u32.to_le_bytes().as_slice(), &[b'E'; 2_000]].concat();
    let cases: [(&str, &[u8]); 7] = [
        ("nothing", b""),
        ("a text", b"error: something\n"),
        ("an unknown kind", b"\x01\0\0\0?"),
        ("a frame without its kind", b"\0\0\0\0"),
        ("more in the frame than the piece", b"\x02\0\0\0EE"),
        ("a cell that announces more text than comes", b"\x0a\0\0\0R\x01\0\0\0t\xff\0\0\0"),
        ("a frame above the limit", &long),
    ];
    for (name, bytes) in cases {
        assert_eq!(pieces_of(bytes), [], "{name}");
    }
}
