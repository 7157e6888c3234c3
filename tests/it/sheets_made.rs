//! Workbooks made here, part by part as ECMA-376 and OpenDocument lay them down: those that no writer makes, and those
//! that would harm a reader.

use std::io::{Cursor, Write};

use zip::ZipWriter;
use zip::write::SimpleFileOptions;

/// A zip archive of these parts.
pub(crate) fn archive(parts: &[(&str, &str)]) -> Vec<u8> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, content) in parts {
        archive.start_file(*name, SimpleFileOptions::default()).expect("a part begins");
        archive.write_all(content.as_bytes()).expect("a part is written");
    }
    archive.finish().expect("the archive is whole").into_inner()
}

/// An .xlsx with these sheets: each its name, its state, and what stands in its `sheetData`.
pub(crate) fn xlsx(sheets: &[(&str, &str, &str)]) -> Vec<u8> {
    xlsx_with_strings(sheets, "<sst/>")
}

/// The same, with a table of shared strings.
pub(crate) fn xlsx_with_strings(sheets: &[(&str, &str, &str)], strings: &str) -> Vec<u8> {
    xlsx_of(sheets, strings, "")
}

/// An .xlsx with one sheet `Stock` whose cells can have the styles 1, 2 and so on: a format for numbers each.
pub(crate) fn xlsx_with_formats(data: &str, formats: &[&str]) -> Vec<u8> {
    let escaped = |code: &str| code.replace('"', "&quot;");
    let listed: String = (164..)
        .zip(formats)
        .map(|(id, code)| format!("<numFmt numFmtId=\"{id}\" formatCode=\"{}\"/>", escaped(code)))
        .collect();
    let styled: String = (164..)
        .zip(formats)
        .map(|(id, _)| format!("<xf numFmtId=\"{id}\" applyNumberFormat=\"1\"/>"))
        .collect();
    let styles = format!("<numFmts>{listed}</numFmts><cellXfs><xf numFmtId=\"0\"/>{styled}</cellXfs>");
    xlsx_of(&[("Stock", "visible", data)], "<sst/>", &styles)
}

fn xlsx_of(sheets: &[(&str, &str, &str)], strings: &str, styles: &str) -> Vec<u8> {
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    const RELATIONS: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let mut listed = String::new();
    let mut related =
        format!("<Relationship Id=\"s\" Type=\"{RELATIONS}/sharedStrings\" Target=\"sharedStrings.xml\"/>");
    related += &format!("<Relationship Id=\"y\" Type=\"{RELATIONS}/styles\" Target=\"styles.xml\"/>");
    let mut parts = Vec::new();
    for (number, (name, state, data)) in sheets.iter().enumerate() {
        listed +=
            &format!("<sheet name=\"{name}\" sheetId=\"{0}\" state=\"{state}\" r:id=\"r{0}\"/>", number + 1);
        related += &format!(
            "<Relationship Id=\"r{0}\" Type=\"{RELATIONS}/worksheet\" Target=\"worksheets/sheet{0}.xml\"/>",
            number + 1
        );
        let sheet = format!("<worksheet xmlns=\"{MAIN}\"><sheetData>{data}</sheetData></worksheet>");
        parts.push((format!("xl/worksheets/sheet{}.xml", number + 1), sheet));
    }
    let strings = strings.replace("<sst", &format!("<sst xmlns=\"{MAIN}\""));
    parts.extend([
        ("[Content_Types].xml".to_owned(), "<Types/>".to_owned()),
        (
            "_rels/.rels".to_owned(),
            format!(
                "<Relationships><Relationship Id=\"w\" Type=\"{RELATIONS}/officeDocument\" \
                 Target=\"xl/workbook.xml\"/></Relationships>"
            ),
        ),
        (
            "xl/workbook.xml".to_owned(),
            format!(
                "<workbook xmlns=\"{MAIN}\" xmlns:r=\"{RELATIONS}\"><sheets>{listed}</sheets></workbook>"
            ),
        ),
        ("xl/_rels/workbook.xml.rels".to_owned(), format!("<Relationships>{related}</Relationships>")),
        ("xl/sharedStrings.xml".to_owned(), strings),
        ("xl/styles.xml".to_owned(), format!("<styleSheet xmlns=\"{MAIN}\">{styles}</styleSheet>")),
    ]);
    let parts: Vec<(&str, &str)> =
        parts.iter().map(|(name, content)| (name.as_str(), content.as_str())).collect();
    archive(&parts)
}

/// An .ods whose one sheet `Stock` holds these rows; `manifest` stands in its list of parts.
pub(crate) fn ods(rows: &str, manifest: &str) -> Vec<u8> {
    let content = format!(
        "<office:document-content xmlns:office=\"urn:oasis:names:tc:opendocument:xmlns:office:1.0\" \
         xmlns:table=\"urn:oasis:names:tc:opendocument:xmlns:table:1.0\" \
         xmlns:text=\"urn:oasis:names:tc:opendocument:xmlns:text:1.0\"><office:body><office:spreadsheet>\
         <table:table table:name=\"Stock\">{rows}</table:table></office:spreadsheet></office:body>\
         </office:document-content>"
    );
    archive(&[
        ("mimetype", "application/vnd.oasis.opendocument.spreadsheet"),
        ("META-INF/manifest.xml", &format!("<manifest:manifest>{manifest}</manifest:manifest>")),
        ("content.xml", &content),
    ])
}
