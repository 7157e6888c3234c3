//! Small .ods workbooks, written here part by part, against what OpenDocument 1.2 says that their cells hold.
//!
//! The section that a case rests on is named beside it; all are of part 1 unless another is named.

use std::io::{Cursor, Write};

use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use crate::settings::Limits;
use crate::sheets::tests::{drawn, drawn_within};

const MEDIA_TYPE: &str = "application/vnd.oasis.opendocument.spreadsheet";

fn archive(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        archive.start_file(*name, SimpleFileOptions::default()).unwrap();
        archive.write_all(content.as_bytes()).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// A workbook with this between the tags of its `content.xml`.
fn workbook(content: &str) -> Vec<u8> {
    let content = format!("<office:document-content>{content}</office:document-content>");
    archive(&[("mimetype", MEDIA_TYPE), ("META-INF/manifest.xml", "<manifest/>"), ("content.xml", &content)])
}

/// A workbook with these sheets, tags and all.
fn sheets(sheets: &str) -> Vec<u8> {
    workbook(&format!("<office:body><office:spreadsheet>{sheets}</office:spreadsheet></office:body>"))
}

/// A workbook with one sheet of these rows.
fn rows(rows: &str) -> Vec<u8> {
    sheets(&format!("<table:table table:name=\"S\">{rows}</table:table>"))
}

fn text(words: &str) -> String {
    format!("<table:table-cell office:value-type=\"string\"><text:p>{words}</text:p></table:table-cell>")
}

/// What one cell becomes.
#[track_caller]
fn check_cell(cell: &str, expected: &str) {
    let expected = match expected {
        "." => "error: the file holds no sheet with anything in it\n  --> f\n\
                help: Export it again, and look whether it holds rows.\n"
            .to_owned(),
        expected => format!("[S]\n1: {expected}\n"),
    };
    assert_eq!(drawn(&rows(&format!("<table:table-row>{cell}</table:table-row>"))), expected, "{cell}");
}

const UNRECKONED: &str =
    "fault formula without a value; open the file in the spreadsheet program and save it once";

#[test]
fn each_type_of_value_is_read_from_its_attribute() {
    // 19.385: the type says which attribute holds the value; 19.367, 19.369, 19.374, 19.381, 19.383: these.
    for (attributes, shown, expected) in [
        ("office:value-type=\"float\" office:value=\"1234\"", "1,234 mi", "number 1234"),
        ("office:value-type=\"float\" office:value=\"-1.25E3\"", "-1250", "number -1250"),
        ("office:value-type=\"percentage\" office:value=\"0.155\"", "15.5%", "number 0.155"),
        (
            "office:value-type=\"currency\" office:currency=\"GBP\" office:value=\"1649\"",
            "£1,649",
            "number 1649",
        ),
        ("office:value-type=\"date\" office:date-value=\"2026-04-03\"", "3 Apr", "day 2026-04-03T00:00:00"),
        (
            "office:value-type=\"date\" office:date-value=\"2026-04-03T14:30:15.5\"",
            "x",
            "day 2026-04-03T14:30:15",
        ),
        ("office:value-type=\"time\" office:time-value=\"PT14H30M00S\"", "14:30", "52200 seconds"),
        (
            "office:value-type=\"time\" office:time-value=\"PT30H05M00.0000000000S\"",
            "30:05",
            "108300 seconds",
        ),
        ("office:value-type=\"boolean\" office:boolean-value=\"true\"", "TRUE", "flag true"),
        ("office:value-type=\"boolean\" office:boolean-value=\"false\"", "WRONG", "flag false"),
        ("office:value-type=\"string\" office:string-value=\"a &amp; b\"", "a", "a & b"),
        ("office:value=\"7\" office:value-type=\"float\"", "7", "number 7"),
        // Our decision: what is no value of its type is a fault, and not nothing.
        ("office:value-type=\"float\" office:value=\"many\"", "many", "fault many"),
        ("office:value-type=\"boolean\" office:boolean-value=\"2\"", "2", "fault 2"),
        ("office:value-type=\"date\" office:date-value=\"1899-12-30\"", "x", "fault 1899-12-30"),
    ] {
        check_cell(
            &format!("<table:table-cell {attributes}><text:p>{shown}</text:p></table:table-cell>"),
            expected,
        );
        check_cell(&format!("<table:covered-table-cell {attributes}/>"), expected);
    }
}

#[test]
fn a_text_is_read_as_its_paragraphs_show_it() {
    for (words, expected) in [
        ("one", "one"),
        ("one</text:p><text:p>two</text:p><text:p/><text:p>four", "one\\ntwo\\n\\nfour"),
        // 6.1.2: white space is one blank, and none at a paragraph's ends; 6.1.3 to 6.1.5: what stands for more.
        ("  one \n\t two  </text:p><text:p> three ", "one two\\nthree"),
        ("one<text:s/>two<text:s text:c=\"3\"/>three", "one two   three"),
        ("one <text:s/>two", "one  two"),
        ("one<text:tab/>two<text:line-break/>three", "one two\\nthree"),
        // 6.1.7, 6.1.8, 7: parts of the text and fields in it.
        ("<text:span>o<text:span>n</text:span></text:span>e<text:a>two</text:a>", "onetwo"),
        ("on <text:date>3 April</text:date>", "on 3 April"),
        ("a &lt;b&gt; &#163;5 &#x41; &amp;amp; <![CDATA[<c> & d]]>", "a <b> £5 A &amp; <c> & d"),
        // 14.1, 6.3.2, 6.4: what stands beside the text.
        ("one<office:annotation><dc:date>2026</dc:date><text:p>no</text:p></office:annotation>", "one"),
        ("one<text:note><text:p>no</text:p></text:note>", "one"),
        (
            "<text:ruby><text:ruby-base>one</text:ruby-base><text:ruby-text>no</text:ruby-text></text:ruby>",
            "one",
        ),
        ("one<draw:frame><draw:text-box><text:p>no</text:p></draw:text-box></draw:frame>", "one"),
        ("one<!-- no -->two", "onetwo"),
    ] {
        check_cell(&text(words), expected);
    }
    // As LibreOffice 7.4 shows them: a text without a type is still a text, and so is one beside an empty value.
    check_cell(
        "<table:table-cell office:value-type=\"string\" office:string-value=\"\"><text:p>one</text:p></table:table-cell>",
        "one",
    );
    check_cell("<table:table-cell><text:p>one</text:p></table:table-cell>", "one");
    check_cell("<table:table-cell>\n <text:p>one</text:p>\n</table:table-cell>", "one");
    check_cell("<table:table-cell office:value-type=\"string\"/>", ".");
    check_cell(&text("<text:s text:c=\"4\"/>"), ".");
}

#[test]
fn a_formula_gives_its_kept_value_or_says_that_it_has_none() {
    let formula = |attributes: &str, content: &str| {
        format!("<table:table-cell table:formula=\"of:=[.B1]\" {attributes}>{content}</table:table-cell>")
    };
    for (cell, expected) in [
        (formula("office:value-type=\"float\" office:value=\"7\"", "<text:p>7</text:p>"), "number 7"),
        (formula("office:value-type=\"string\"", "<text:p>seven</text:p>"), "seven"),
        (formula("office:value-type=\"string\" office:string-value=\"seven\"", ""), "seven"),
        // Nothing is a value, too.
        (formula("office:value-type=\"string\"", ""), "."),
        (formula("", ""), UNRECKONED),
        (formula("office:value-type=\"float\"", ""), UNRECKONED),
        // Errors as programs write them (seen in files of theirs; the standard has no word for them).
        (
            formula(
                "office:value-type=\"string\" office:string-value=\"\" calcext:value-type=\"error\"",
                "<text:p>#N/A</text:p>",
            ),
            "fault #N/A",
        ),
        (
            formula("office:value-type=\"string\" office:string-value=\"\"", "<text:p>Err:502</text:p>"),
            "fault Err:502",
        ),
        (formula("office:value-type=\"float\" office:value=\"7\"", "<text:p>###</text:p>"), "number 7"),
        (formula("calcext:value-type=\"error\"", "<text:p>#WRONG</text:p>"), "fault #WRONG"),
        (
            formula("office:value-type=\"float\" office:value=\"0\"", "<text:p>#DIV/0!</text:p>"),
            "fault #DIV/0!",
        ),
    ] {
        check_cell(&cell, expected);
    }
    check_cell("<table:table-cell table:formula=\"of:=[.B1]\"/>", UNRECKONED);
}

#[test]
fn repeated_cells_and_rows_stand_as_often_as_they_are_repeated() {
    // 19.675, 19.677.
    let sheet = rows(
        "<table:table-column table:number-columns-repeated=\"3\"/>\
         <table:table-header-rows><table:table-row>\
           <table:table-cell table:number-columns-repeated=\"2\" office:value-type=\"string\"><text:p>a</text:p>\
           </table:table-cell><table:table-cell table:number-columns-repeated=\"2\"/>\
           <table:table-cell office:value-type=\"float\" office:value=\"1\"/>\
           <table:table-cell table:number-columns-repeated=\"16379\"/></table:table-row></table:table-header-rows>\
         <table:table-row table:number-rows-repeated=\"3\"/>\
         <table:table-row-group><table:table-rows>\
         <table:table-row table:number-rows-repeated=\"2\" table:visibility=\"collapse\">\
           <table:covered-table-cell/><table:table-cell office:value-type=\"string\"><text:p>b</text:p></table:table-cell>\
         </table:table-row></table:table-rows></table:table-row-group>\
         <table:table-row table:number-rows-repeated=\"1048569\"><table:table-cell/></table:table-row>\
         <table:table-row><table:table-cell office:value-type=\"string\"><text:p>last</text:p></table:table-cell>\
         </table:table-row>",
    );
    assert_eq!(drawn(&sheet), "[S]\n1: a | a | . | . | number 1\n5: . | b\n6: . | b\n1048576: last\n");
}

#[test]
fn repetitions_without_end_end_at_the_limits() {
    let long = |times: u64, cell: &str| {
        format!("<table:table-row table:number-rows-repeated=\"{times}\">{cell}</table:table-row>")
    };
    let wide = |times: u64| {
        format!(
            "<table:table-cell table:number-columns-repeated=\"{times}\" office:value-type=\"string\"><text:p>x</text:p>\
             </table:table-cell>"
        )
    };
    let limits = Limits { columns: 3, rows: 5, cells: 12, cell_characters: 4, ..Limits::default() };
    let split = "help: Split it into several files, or raise the limit under [limits] in tickover.toml.\n";
    let left = "help: Move them further left, or empty them, and save the file again.\n";
    for (content, expected) in [
        (
            long(2, &wide(u64::MAX)),
            format!(
                "[S]\n1: x | x | x\n2: x | x | x\nerror: {} cells beyond column C were not read\n  --> f, S, D1\n{left}",
                2 * (u64::from(u32::MAX) - 3)
            ),
        ),
        (
            long(u64::MAX, &wide(1)),
            format!(
                "error: the sheet has more than 5 rows and was not read\n  --> f, S\n{split}error: the file holds no"
            ),
        ),
        (
            long(5, &wide(3)),
            format!(
                "error: the file has more than 12 cells; nothing was read from here on\n  --> f, S\n{split}"
            ),
        ),
        (
            // A row of which every cell stands outside.
            long(2, &format!("<table:table-cell table:number-columns-repeated=\"9\"/>{}", wide(2))),
            format!("error: 4 cells beyond column C were not read\n  --> f, S, J1\n{left}"),
        ),
    ] {
        let drawn = drawn_within(&rows(&content), &limits);
        assert!(
            drawn.starts_with(expected.trim_end_matches("error: the file holds no")),
            "{content}\n{drawn}"
        );
    }
}

#[test]
fn after_a_sheet_with_too_many_rows_the_next_one_is_read() {
    let row = format!("<table:table-row>{}</table:table-row>", text("x"));
    let content = format!(
        "<table:table table:name=\"Long\">{0}{0}{0}</table:table><table:table table:name=\"Short\">{0}</table:table>\
         <table:table table:name=\"None\"/>",
        row
    );
    assert_eq!(
        drawn_within(&sheets(&content), &Limits { rows: 2, ..Limits::default() }),
        "[Short]\n1: x\nerror: the sheet has more than 2 rows and was not read\n  --> f, Long\n\
         help: Split it into several files, or raise the limit under [limits] in tickover.toml.\n"
    );
}

#[test]
fn a_text_that_is_too_long_is_told_of_by_its_length() {
    let limits = Limits { cell_characters: 4, ..Limits::default() };
    for (words, characters) in [
        ("five5", 5),
        ("<text:s text:c=\"2000000000\"/>x", 2_000_000_001_u64),
        ("a</text:p><text:p>longer than it may be", 23),
        ("££££ and more than four bytes for each", 38),
    ] {
        let drawn =
            drawn_within(&rows(&format!("<table:table-row>{}</table:table-row>", text(words))), &limits);
        let expected = format!(
            "[S]\n1: fault text of {characters} characters\nerror: 1 cell with more than 4 characters was not read\n"
        );
        assert!(drawn.starts_with(&expected), "{words}: {drawn}");
    }
    let four = format!("<table:table-row>{}</table:table-row>", text("🏍🏍🏍🏍"));
    assert_eq!(drawn_within(&rows(&four), &limits), "[S]\n1: 🏍🏍🏍🏍\n");
}

#[test]
fn what_is_hidden_or_no_sheet_of_the_workbook_is_not_read() {
    // 19.611 and 16.2: a sheet's style says whether it shows. 9.9 and 14.6.2: changes, and links to other files.
    let content = "<office:automatic-styles>\
        <style:style style:name=\"h\" style:family=\"table\"><style:table-properties table:display=\"false\"/></style:style>\
        <style:style style:name=\"s\" style:family=\"table\"><style:table-properties table:display=\"true\"/></style:style>\
        </office:automatic-styles><office:body><office:spreadsheet>\
        <table:tracked-changes><table:table table:name=\"past\"><table:table-row>TEXT</table:table-row></table:table>\
        </table:tracked-changes>\
        <table:table table:name=\"A\" table:style-name=\"h\"><table:table-row>TEXT</table:table-row></table:table>\
        <table:table table:name=\"B\" table:style-name=\"s\"><table:shapes><draw:frame><text:p>no</text:p></draw:frame>\
        </table:shapes><table:table-row>TEXT</table:table-row></table:table>\
        <table:table table:name=\"C\" table:style-name=\"h\"/>\
        <table:dde-links><table:dde-link><table:table table:name=\"far\"><table:table-row>TEXT</table:table-row>\
        </table:table></table:dde-link></table:dde-links></office:spreadsheet></office:body>";
    let hidden = |sheet: &str| {
        format!(
            "note: the sheet is hidden and was not read\n  --> f, {sheet}\n\
             help: Show the sheet in the spreadsheet program, if it is meant to be read.\n"
        )
    };
    assert_eq!(
        drawn(&workbook(&content.replace("TEXT", &text("x")))),
        format!("[B]\n1: x\n{}{}", hidden("A"), hidden("C"))
    );
}

fn damaged(why: &str) -> String {
    format!(
        "error: the workbook is damaged and was not read ({why})\n  --> f\n\
         help: Open it in the spreadsheet program and save it again, as .xlsx or .csv; if it was still being copied, \
         wait.\n"
    )
}

#[test]
fn of_a_damaged_workbook_nothing_counts() {
    let sound = format!(
        "<table:table table:name=\"A\"><table:table-row>{}</table:table-row></table:table>",
        text("x")
    );
    let deep = "<a>".repeat(300);
    let broken = |what: &str| sheets(&format!("{sound}{what}"));
    let mut altered = rows(&format!("<table:table-row>{}</table:table-row>", text("altered")));
    // The checksum of the part, in its own header and in the list of parts (APPNOTE.TXT, 4.3.7 and 4.3.12).
    for (mark, at) in [(b"PK\x03\x04", 14), (b"PK\x01\x02", 16)] {
        let begins_at = (0..altered.len()).rev().find(|&place| altered[place..].starts_with(mark)).unwrap();
        altered[begins_at + at] ^= 1;
    }
    for (bytes, why) in [
        (
            broken("</wrong>"),
            "ill-formed document: expected `</office:spreadsheet>`, but `</wrong>` was found",
        ),
        (broken(&deep), "elements nest more than 256 deep"),
        (
            rows(&format!("<table:table-row>{}</table:table-row>", text("&bomb;"))),
            "`&bomb;` stands for nothing",
        ),
        (broken("<table:table table:name=B/>"), "an attribute is out of order"),
        (
            broken("<table:table><table:table-row table:number-rows-repeated=\"-1\"/></table:table>"),
            "something is repeated so many times as no number says",
        ),
        (
            broken(&format!(
                "<table:table><table:table-row table:number-rows-repeated=\"16777216\"/><table:table-row>{}",
                text("x")
            )),
            "a cell stands below row 16777216",
        ),
        (altered, "Invalid checksum"),
    ] {
        assert_eq!(drawn(&bytes), damaged(why));
    }
}

#[test]
fn a_part_longer_than_any_cell_is_not_gathered() {
    let long = "x".repeat(17 * 1024 * 1024);
    for content in [text(&long), format!("<table:table-cell office:string-value=\"{long}\"/>")] {
        assert_eq!(
            drawn(&rows(&format!("<table:table-row>{content}</table:table-row>"))),
            damaged("a part of it is longer than any cell")
        );
    }
}

#[test]
fn a_workbook_under_a_password_or_of_another_kind_is_told_apart() {
    // Part 3, sections 3.3 and 3.4.
    let locked = "<manifest:manifest><manifest:file-entry manifest:full-path=\"content.xml\">\
        <manifest:encryption-data/></manifest:file-entry></manifest:manifest>";
    let bytes = archive(&[
        ("mimetype", MEDIA_TYPE),
        ("META-INF/manifest.xml", locked),
        ("content.xml", "\u{1}\u{2}"),
    ]);
    let whole = archive(&[("mimetype", MEDIA_TYPE), ("encrypted-package", "\u{1}\u{2}")]);
    for bytes in [bytes, whole] {
        assert_eq!(
            drawn(&bytes),
            "error: the workbook is protected with a password\n  --> f\n\
             help: Save a copy without a password into this folder.\n"
        );
    }
    let letter = archive(&[
        ("mimetype", "application/vnd.oasis.opendocument.text"),
        ("content.xml", "<office:document-content/>"),
    ]);
    assert_eq!(
        drawn(&letter),
        "error: the file is a document, not a workbook that is read here\n  --> f\n\
         help: Open it in the program it comes from and save or export it as .xlsx or .csv.\n"
    );
    // A list of parts is not needed to read them.
    let row = format!("<table:table><table:table-row>{}</table:table-row></table:table>", text("x"));
    assert_eq!(
        drawn(&archive(&[("mimetype", MEDIA_TYPE), ("content.xml", &format!("<a>{row}</a>"))])),
        "1: x\n"
    );
}

/// A workbook with these formats, in the part of the sheets or in that of the named styles, and one row of cells.
fn formatted(formats: &str, are_named: bool, cells: &str) -> Vec<u8> {
    let (named, own) = if are_named { (formats, "") } else { ("", formats) };
    let content = format!(
        "<office:document-content><office:automatic-styles>{own}</office:automatic-styles><office:body>\
         <office:spreadsheet><table:table table:name=\"S\"><table:table-row>{cells}</table:table-row></table:table>\
         </office:spreadsheet></office:body></office:document-content>"
    );
    let styles =
        format!("<office:document-styles><office:styles>{named}</office:styles></office:document-styles>");
    archive(&[
        ("mimetype", MEDIA_TYPE),
        ("META-INF/manifest.xml", "<manifest/>"),
        ("styles.xml", &styles),
        ("content.xml", &content),
    ])
}

/// 16.27.2 to 16.27.26: formats. What a cell shows of its number stands in its text (9.1.4).
#[test]
fn a_unit_and_leading_zeros_that_only_the_format_shows_are_read() {
    let number = |value: &str, shown: &str| {
        format!(
            "<table:table-cell table:style-name=\"c\" office:value-type=\"float\" office:value=\"{value}\">\
             <text:p>{shown}</text:p></table:table-cell>"
        )
    };
    let kilometres = "<number:number-style style:name=\"N1\"><number:number number:min-integer-digits=\"1\"/>\
                      <number:text> km</number:text></number:number-style>";
    let zeros = "<number:number-style style:name=\"N2\"><number:number number:min-integer-digits=\"5\"/></number:number-style>";
    let cells = [number("1234", "1,234 km"), number("123", "00123"), number("7", "7")].concat();
    for (format, are_named) in [(kilometres, false), (kilometres, true), (zeros, false), (zeros, true)] {
        assert_eq!(
            drawn(&formatted(format, are_named, &cells)),
            "[S]\n1: 1234 km | 00123 | number 7\n",
            "{format}, {are_named}"
        );
    }
    // Of days and money the words are no unit, and what is shown is not looked at where no format asks for it.
    let others = "<number:date-style style:name=\"N3\"><number:text>km</number:text></number:date-style>\
                  <number:currency-style style:name=\"N4\"><number:text>km</number:text></number:currency-style>";
    assert_eq!(drawn(&formatted(others, false, &number("1234", "1,234 km"))), "[S]\n1: number 1234\n");
    let money = "<table:table-cell office:value-type=\"currency\" office:value=\"5\"><text:p>5 GBP</text:p></table:table-cell>";
    assert_eq!(drawn(&formatted(kilometres, false, money)), "[S]\n1: number 5\n");
}
