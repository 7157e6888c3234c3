//! Text files: encodings, delimiters, quotes, blank lines and row numbers.

use encoding_rs::{Encoding, MACINTOSH, UTF_8, UTF_16BE, WINDOWS_1252};

use super::tests::{draw, drawn, drawn_within};
use super::{Reader, read_bytes_as_agreed};
use crate::settings::{Limits, TextForm};

#[track_caller]
fn check(text: &str, expected: &str) {
    assert_eq!(drawn(text.as_bytes()), expected, "reading {text:?}");
}

const TWO_ROWS: &str = "1: Mark | Price | Note\n2: AB12 CDE | £5.00 | café\n";

#[test]
fn the_same_rows_come_from_every_encoding() {
    let text = "Mark,Price,Note\r\nAB12 CDE,£5.00,café\r\n";
    let utf16 = |unit: fn(u16) -> [u8; 2], mark: bool| -> Vec<u8> {
        let mark = mark.then_some(0xfeff);
        mark.into_iter().chain(text.encode_utf16()).flat_map(unit).collect()
    };
    // In Windows-1252 the pound sign is A3 and the accented e is E9.
    let windows = b"Mark,Price,Note\r\nAB12 CDE,\xa35.00,caf\xe9\r\n".to_vec();
    let cases = [
        ("UTF-8", text.as_bytes().to_vec()),
        ("UTF-8 with a mark", [b"\xef\xbb\xbf".as_slice(), text.as_bytes()].concat()),
        ("UTF-16 LE with a mark", utf16(u16::to_le_bytes, true)),
        ("UTF-16 BE with a mark", utf16(u16::to_be_bytes, true)),
        ("UTF-16 LE", utf16(u16::to_le_bytes, false)),
        ("UTF-16 BE", utf16(u16::to_be_bytes, false)),
        ("Windows-1252", windows.clone()),
        ("Windows-1252 behind a mark of UTF-8", [b"\xef\xbb\xbf".to_vec(), windows].concat()),
        ("an end-of-file character of old programs", [text.as_bytes(), b"\x1a"].concat()),
    ];
    for (name, bytes) in cases {
        assert_eq!(drawn(&bytes), TWO_ROWS, "{name}");
    }
}

#[test]
fn the_same_rows_come_with_every_delimiter_and_line_end() {
    for delimiter in [",", ";", "\t", "|"] {
        for line_end in ["\n", "\r\n", "\r"] {
            let text = format!("Mark,Price,Note{line_end}AB12 CDE,£5.00,café").replace(',', delimiter);
            assert_eq!(drawn(text.as_bytes()), TWO_ROWS, "{text:?}");
            let quoted = format!("\"{}\"{line_end}", text.replace(delimiter, &format!("\"{delimiter}\"")))
                .replacen(line_end, &format!("\"{line_end}\""), 1);
            assert_eq!(drawn(quoted.as_bytes()), TWO_ROWS, "{quoted:?}");
        }
    }
}

#[test]
fn the_delimiter_is_the_one_that_makes_a_table() {
    // Decimal commas do not make a column.
    check("Mark;Litres\nAB12;9,5\nXY34;10,1\n", "1: Mark | Litres\n2: AB12 | 9,5\n3: XY34 | 10,1\n");
    check("9,5;1\n8,5;2\n", "1: 9,5 | 1\n2: 8,5 | 2\n");
    // Prose with commas in a column of its own.
    check(
        "Day\tNote\n1 May\tchain, brakes, tyres\n2 May\tchain\n",
        "1: Day | Note\n2: 1 May | chain, brakes, tyres\n3: 2 May | chain\n",
    );
    // The semicolons of letters as web pages write them.
    check(
        "Day\tNote\n1 May\tnew&nbsp;chain &pound;90\n2 May\t&#163;5&nbsp;\n",
        "1: Day | Note\n2: 1 May | new&nbsp;chain &pound;90\n3: 2 May | &#163;5&nbsp;\n",
    );
    // Semicolons inside quoted cells.
    check(
        "Mark,Note\nAB12,\"a; b; c\"\nXY34,\"d; e\"\n",
        "1: Mark | Note\n2: AB12 | a; b; c\n3: XY34 | d; e\n",
    );
    // Money with thousands in quotes.
    check("Mark,Price\nAB12,\"£1,649.00\"\n", "1: Mark | Price\n2: AB12 | £1,649.00\n");
    // One column.
    check("Mark\nAB12 CDE\nXY34 ZZZ\n", "1: Mark\n2: AB12 CDE\n3: XY34 ZZZ\n");
}

#[test]
fn a_first_line_that_names_the_delimiter_wins_and_is_no_row() {
    check("sep=;\r\na,b;c\r\n", "1: a,b | c\n");
    check("\"sep=;\"\na,b;c\n", "1: a,b | c\n");
    check("SEP=|\na,b|c\n", "1: a,b | c\n");
    check("sep=\t\na,b\tc\n", "1: a,b | c\n");
    check("sep=x\n1,2\n", "1: sep=x\n2: 1 | 2\n");
}

#[test]
fn rows_are_numbered_as_a_spreadsheet_program_shows_them() {
    for line_end in ["\n", "\r\n", "\r"] {
        let text = "\na,b\n\n\n\"c\nd\",e\n  \n,,\nf,g\n\n".replace('\n', line_end);
        // A line break inside quotes does not begin a row.
        assert_eq!(drawn(text.as_bytes()), "2: a | b\n5: c\\nd | e\n8: f | g\n", "{text:?}");
    }
}

#[test]
fn rows_keep_their_numbers_wherever_quotes_come_and_go() {
    for line_end in ["\n", "\r\n", "\r"] {
        // Lines without quotes and rows with them are read in two ways, which take turns; each cell says its own row.
        let quoted = |row: u32| row.is_multiple_of(90) || row.is_multiple_of(97);
        let blank = |row: u32| row.is_multiple_of(7);
        let line = |row: u32| match (blank(row), quoted(row)) {
            (true, _) => line_end.to_owned(),
            (_, true) => format!("\"row {row}, in quotes\",x{line_end}"),
            (_, false) => format!("row {row},x{line_end}"),
        };
        let text: String = (1..=600).map(line).collect();
        let shown = |row: u32| match (blank(row), quoted(row)) {
            (true, _) => String::new(),
            (_, true) => format!("{row}: row {row}, in quotes | x\n"),
            (_, false) => format!("{row}: row {row} | x\n"),
        };
        check(&text, &(1..=600).map(shown).collect::<String>());
        // The last line needs no end.
        check(text.trim_end_matches(['\r', '\n']), &(1..=600).map(shown).collect::<String>());
    }
}

#[test]
fn ragged_rows_are_kept_as_they_are() {
    check("a,b,c\n1\n1,2,3,4\n", "1: a | b | c\n2: 1\n3: 1 | 2 | 3 | 4\n");
}

#[test]
fn wrapping_that_only_keeps_a_spreadsheet_from_making_numbers_is_taken_off() {
    check(
        "=\"00123\",'00123,'+44 7700 900001,\"=\"\"007\"\"\"\n'tis,O'Neil,'90s\n",
        "1: 00123 | 00123 | +44 7700 900001 | 007\n2: 'tis | O'Neil | '90s\n",
    );
}

#[test]
fn cells_are_trimmed_and_cleaned_of_control_characters() {
    check("\u{a0}AB12\u{a0}CDE ,a\u{7}b\u{0}c,\"x\ty\", \n", "1: AB12\u{a0}CDE | abc | x y\n");
    check(
        "a,#N/A,#REF!,Err:502,#1,Err:x\n",
        "1: a | fault #N/A | fault #REF! | fault Err:502 | #1 | Err:x\n",
    );
    check("TRUE,12,2026-04-03,-\n", "1: TRUE | 12 | 2026-04-03 | -\n");
}

const STRAY: &str = "help: Take the quote mark out, or close it in its own cell.\n";

#[test]
fn a_tab_in_a_quoted_cell_is_a_blank_whether_or_not_the_row_is_a_plain_line() {
    check(
        "Mark\tNote\nAB12 CDE\t\"a\tb\"\nAB13 CDE\t\"a\tb \"\"c\"\"\"\n",
        "1: Mark | Note\n2: AB12 CDE | a b\n3: AB13 CDE | a b \"c\"\n",
    );
}

#[test]
fn a_stray_quote_swallows_no_row() {
    // The quote never closes.
    check(
        "Mark,Part,Miles\nAB14,\"19 inch,300\nCD15,chain,200\nEF16,tyre,100\n",
        &format!(
            "1: Mark | Part | Miles\n2: AB14 | \"19 inch | 300\n3: CD15 | chain | 200\n4: EF16 | tyre | 100\n\
             note: a quote mark opens here and does not close; the row was read as it stands\n  \
             --> f, A2\n{STRAY}"
        ),
    );
    // The next quoted cell closes it; cells that are quoted in good order stay whole.
    check(
        "Mark,Part,Miles\nAB14,\"19 inch,300\nCD15,chain,200\nEF16,\"tyre, front\",100\nGH17,oil,50\n",
        &format!(
            "1: Mark | Part | Miles\n2: AB14 | \"19 inch | 300\n3: CD15 | chain | 200\n\
             4: EF16 | tyre, front | 100\n5: GH17 | oil | 50\n\
             note: a quote mark opens here and does not close; the row was read as it stands\n  \
             --> f, A2\n{STRAY}"
        ),
    );
    // An inch mark in the same column closes it, and all looks in order but for a whole row inside.
    check(
        "Mark,Part,Miles\nAB14,\"19 inch,300\nCD15,chain,200\nEF16,21\",100\n",
        &format!(
            "1: Mark | Part | Miles\n2: AB14 | \"19 inch | 300\n3: CD15 | chain | 200\n4: EF16 | 21\" | 100\n\
             note: a quote mark opens here and does not close; the row was read as it stands\n  \
             --> f, A2\n{STRAY}"
        ),
    );
}

#[test]
fn after_a_stray_quote_cells_of_several_lines_are_still_one_cell() {
    check(
        "Mark,Part,Miles\r\n\r\nAB14,\"19 inch,300\r\nCD15,\"chain,\r\nfront\",200\r\n\r\nEF16,\"tyre,100\r\nGH17,a,1\r\n",
        &format!(
            "1: Mark | Part | Miles\n3: AB14 | \"19 inch | 300\n4: CD15 | chain,\\nfront | 200\n\
             6: EF16 | \"tyre | 100\n7: GH17 | a | 1\n\
             note: 2 quote marks open and do not close, the first here; the rows were read as they stand\n  \
             --> f, A3\n{STRAY}"
        ),
    );
    let hopeless = format!("Mark,Part,Miles\n{}", "AB14,\"19 inch,300\n".repeat(10_002));
    check(
        &hopeless,
        "error: the file has too many quote marks that open and do not close, and was not read\n  --> f\n\
         help: Export it again, with quote marks inside cells doubled.\n",
    );
}

#[test]
fn a_true_cell_of_several_lines_stays_one_cell() {
    check(
        "Mark,Note,Miles,Day\nAB14,\"chain, brakes\ntyres, oil, all done\nlamp\",300,1 May\n",
        "1: Mark | Note | Miles | Day\n2: AB14 | chain, brakes\\ntyres, oil, all done\\nlamp | 300 | 1 May\n",
    );
    check(
        "Mark,Note\nAB14,\"one\n\ntwo \"\"big\"\" ones\"\n",
        "1: Mark | Note\n2: AB14 | one\\n\\ntwo \"big\" ones\n",
    );
}

#[test]
fn garbled_letters_are_told_of_and_not_mended_in_silence() {
    check(
        "Mark,Price\nAB12,Â£5\nXY34,Â£6\n",
        "1: Mark | Price\n2: AB12 | Â£5\n3: XY34 | Â£6\n\
         note: letters look garbled, as when a file is saved in one encoding and opened in another\n  \
         --> f, B2: `Â£5`\nhelp: Export the file again as CSV in UTF-8.\n",
    );
    check("Mark,Note\nAB12,hors d'œuvre\n", "1: Mark | Note\n2: AB12 | hors d'œuvre\n");
}

#[test]
fn every_limit_is_told_of_and_none_is_passed_over_in_silence() {
    let limits = Limits { rows: 2, columns: 2, cells: 5, cell_characters: 3, ..Limits::default() };
    let split = "help: Split it into several files, or raise the limit under [limits] in tickover.toml.\n";
    let cases = [
        ("a\n\n\nb\n", "1: a\n4: b\n".to_owned()),
        ("a\nb\nc\n", format!("error: the sheet has more than 2 rows and was not read\n  --> f\n{split}")),
        (
            "a,b,c\nd,e,,f\n",
            "1: a | b\n2: d | e\nerror: 2 cells beyond column B were not read\n  --> f, C1\n\
             help: Move them further left, or empty them, and save the file again.\n"
                .to_owned(),
        ),
        (
            "abcd,ééé\n",
            "1: fault text of 4 characters | ééé\n\
             error: 1 cell with more than 3 characters was not read\n  --> f, A1\n\
             help: Shorten the text, and save the file again.\n"
                .to_owned(),
        ),
    ];
    for (text, expected) in cases {
        assert_eq!(drawn_within(text.as_bytes(), &limits), expected, "{text:?}");
    }
    // A sign of one byte in Windows-1252 takes three in the text that is kept.
    let short = Limits { file_bytes: 5, ..Limits::default() };
    assert_eq!(
        drawn_within(b"\x80\x80,b\n", &short),
        format!(
            "error: the file holds more than 5 bytes of text; nothing was read from here on\n  --> f\n{split}"
        )
    );
    let few = Limits { cells: 3, ..Limits::default() };
    assert_eq!(
        drawn_within(b"a,b\nc,d\n", &few),
        format!("error: the file has more than 3 cells; nothing was read from here on\n  --> f\n{split}")
    );
    let small = Limits { file_bytes: 3, ..Limits::default() };
    assert_eq!(
        drawn_within(b"a,b\n", &small),
        "error: the file is larger than the 3 bytes allowed\n  --> f\n\
         help: Split it, or raise the limit under [limits] in tickover.toml.\n"
    );
}

/// The seven rules of RFC 4180, section 2, each with an example of its own.
#[test]
fn the_rules_of_rfc_4180_hold() {
    // 1 and 2: a record a line; the last may go without its line end.
    check("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "1: aaa | bbb | ccc\n2: zzz | yyy | xxx\n");
    check("aaa,bbb,ccc\r\nzzz,yyy,xxx", "1: aaa | bbb | ccc\n2: zzz | yyy | xxx\n");
    // 3 and 4: a header is a record like the others; spaces belong to a field, but we trim them.
    check("field_name,field name\r\naaa, bbb\r\n", "1: field_name | field name\n2: aaa | bbb\n");
    // 5: fields may be quoted. 6: fields with line breaks, quotes and commas are.
    check("\"aaa\",\"b\r\nbb\",\"c,cc\"\r\nzzz,yyy,xxx", "1: aaa | b\\nbb | c,cc\n2: zzz | yyy | xxx\n");
    // 7: a quote inside is doubled.
    check("\"aaa\",\"b\"\"bb\",\"ccc\"", "1: aaa | b\"bb | ccc\n");
}

#[test]
fn one_line_with_a_quote_out_of_order_is_parted_cell_by_cell() {
    let stray =
        "note: a quote mark opens here and does not close; the row was read as it stands\n  --> f, A2\n";
    check(
        "Mark,Part,Size,Note\nAB14,\"chain,10,\"see page 4, 5\"\nCD15,tyre,17,\"a, b\"\n",
        &format!(
            "1: Mark | Part | Size | Note\n2: AB14 | \"chain | 10 | see page 4, 5\n3: CD15 | tyre | 17 | a, b\n\
             {stray}{STRAY}"
        ),
    );
    // Quotes in the middle of text are plain characters everywhere.
    check(
        "Mark,Part\nAB14,19\" wheel\nCD15,a \"big\" one\n",
        "1: Mark | Part\n2: AB14 | 19\" wheel\n3: CD15 | a \"big\" one\n",
    );
}

/// Reads bytes as the file `f` of which was agreed how it is written.
#[track_caller]
fn check_as_agreed(bytes: &[u8], delimiter: Option<u8>, encoding: Option<&'static Encoding>, expected: &str) {
    let form = TextForm { delimiter, encoding };
    let read = read_bytes_as_agreed(bytes, "f", form, &Limits::default(), &Reader::Here);
    assert_eq!(draw(&read), expected, "reading {:?} as {form:?}", String::from_utf8_lossy(bytes));
}

#[test]
fn an_agreed_delimiter_counts_for_more_than_what_the_text_looks_like() {
    check_as_agreed(b"a,b;c,d\n1,5;2,5\n", Some(b';'), None, "1: a,b | c,d\n2: 1,5 | 2,5\n");
    check_as_agreed(b"a;b^c\n1;2^3\n", Some(b'^'), None, "1: a;b | c\n2: 1;2 | 3\n");
    check_as_agreed(b"a,b\n", Some(b'\t'), None, "1: a,b\n");
    // A first line that names another one is still no row.
    check_as_agreed(b"sep=;\na,b;c\n", Some(b','), None, "1: a | b;c\n");
    // Quotes, and what a stray one swallows, go by it, too.
    check_as_agreed(
        b"a|b|c\n1|\"x, y|z\n2|\"p|q\"|r\n",
        Some(b'|'),
        None,
        &format!(
            "1: a | b | c\n2: 1 | \"x, y | z\n3: 2 | p|q | r\n\
             note: a quote mark opens here and does not close; the row was read as it stands\n  --> f, A2\n{STRAY}"
        ),
    );
}

#[test]
fn an_agreed_encoding_counts_unless_the_file_is_marked() {
    // In the old set of Apple's computers the pound sign is A3 and the accented e is 8E.
    let apple = b"Mark,Price,Note\nAB12 CDE,\xa35.00,caf\x8e\n";
    check_as_agreed(apple, None, Some(MACINTOSH), TWO_ROWS);
    // UTF-16 in which no letter has a zero byte cannot be told from anything else.
    let greek: Vec<u8> = "\u{3b1}\u{3b2},\u{3b3}".encode_utf16().flat_map(u16::to_be_bytes).collect();
    check_as_agreed(&greek, None, Some(UTF_16BE), "1: \u{3b1}\u{3b2} | \u{3b3}\n");
    // Valid UTF-8 that is meant otherwise.
    check_as_agreed(
        "é\n".as_bytes(),
        None,
        Some(WINDOWS_1252),
        "1: Ã©\nnote: letters look garbled, as when a file is saved in one encoding and opened in another\n  --> f, A1: `Ã©`\nhelp: Export the file again as CSV in UTF-8.\n",
    );
    // The Encoding Standard of the WHATWG, section 6, 'decode': a byte order mark counts for more than any label.
    check_as_agreed("\u{feff}café\n".as_bytes(), None, Some(WINDOWS_1252), "1: café\n");
    // A mark that the text does not keep to is none.
    check_as_agreed(b"\xef\xbb\xbfcaf\x8e\n", None, Some(MACINTOSH), "1: café\n");
    check_as_agreed(
        b"caf\xe9\n",
        None,
        Some(UTF_8),
        "1: caf\u{fffd}\nnote: some characters could not be made out\n  --> f\n\
         help: Correct the `encoding` of this file in tickover.toml, or take it out.\n",
    );
}
