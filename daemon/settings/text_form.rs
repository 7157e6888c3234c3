//! How a text file is written, where the owner says so: what parts its cells, and its encoding.

use encoding_rs::Encoding;
use toml::de::DeValue;

use super::AgreedSheet;
use super::text::Fault;
use super::values::{Value, quoted, words};
use crate::origin::SheetName;

/// What was agreed of how a text file is written; what is `None` the file itself decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct TextForm {
    /// The character that parts cells.
    pub delimiter: Option<u8>,
    /// The encoding of its characters.
    pub encoding: Option<&'static Encoding>,
}

/// How a file is written, as far as the settings say so: by the first of its agreements as a text file.
pub fn text_form_of(file: &str, agreed: &[AgreedSheet]) -> TextForm {
    let name = SheetName { file: file.to_owned(), sheet: None };
    agreed.iter().find(|sheet| sheet.is_for(&name)).map(|sheet| sheet.text_form).unwrap_or_default()
}

/// The word for the one delimiter that does not show.
const TAB: &str = "tab";

/// `","`, `";"`, `"|"`, `"tab"`, or any other mark that a program may part cells by.
pub(super) fn delimiter(value: &Value<'_>) -> Result<u8, Fault> {
    // A tab between quotes is what is meant; elsewhere in the settings it is a slip.
    if matches!(value.get_ref(), DeValue::String(text) if text.as_ref() == "\t") {
        return Ok(b'\t');
    }
    let text = words(value)?;
    match text.as_bytes() {
        [mark] if mark.is_ascii_punctuation() && *mark != b'"' => Ok(*mark),
        _ if text.eq_ignore_ascii_case(TAB) => Ok(b'\t'),
        _ => Err(Fault::new(
            value.span(),
            "this cannot part cells",
            "Write \",\" or \";\" or \"tab\" or \"|\", or the one mark that the file has between its cells.",
        )),
    }
}

/// A delimiter as TOML.
pub(super) fn written_delimiter(delimiter: u8) -> String {
    if delimiter == b'\t' { quoted(TAB) } else { quoted(&char::from(delimiter).to_string()) }
}

/// An encoding by any of the names that the Encoding Standard of the WHATWG knows it by (section 4.2).
pub(super) fn encoding(value: &Value<'_>) -> Result<&'static Encoding, Fault> {
    let text = words(value)?;
    Encoding::for_label_no_replacement(text.as_bytes()).ok_or_else(|| {
        Fault::new(
            value.span(),
            "no encoding that is read here has this name",
            "Write \"UTF-8\" or \"Windows-1252\" or \"UTF-16LE\" or \"UTF-16BE\", or export the file as UTF-8.",
        )
    })
}

/// An encoding as TOML.
pub(super) fn written_encoding(encoding: &'static Encoding) -> String {
    quoted(encoding.name())
}

#[cfg(test)]
mod tests {
    use encoding_rs::{UTF_8, UTF_16LE, WINDOWS_1252};

    use super::*;
    use crate::settings::tests::check;

    /// The agreement of a sheet with these lines, of which nothing is told.
    fn agreed(lines: &str) -> Vec<AgreedSheet> {
        check(lines, &[]).expect("the lines are TOML").sheets
    }

    #[test]
    fn a_file_is_written_as_the_first_agreement_of_its_name_says() {
        let sheets = agreed(
            "[[sheet]]\nfile = \"stock.csv\"\nsheet = \"Stock\"\nrows = \"machine\"\n\
             [[sheet]]\nfile = \"stock*\"\nrows = \"machine\"\ndelimiter = \"|\"\n\
             [[sheet]]\nfile = \"stock.*\"\nrows = \"machine\"\nencoding = \"utf-16\"\n",
        );
        let bar = TextForm { delimiter: Some(b'|'), encoding: None };
        for (file, form) in [
            ("sheets/stock.csv", bar),
            ("stock.csv", bar),
            ("C:/exports/stock-old.txt", bar),
            ("sheets/old-stock.csv", TextForm::default()),
        ] {
            assert_eq!(text_form_of(file, &sheets), form, "{file}");
        }
    }

    #[test]
    fn delimiters_and_encodings_go_by_several_names() {
        let written = |key: &str, value: &str| {
            let sheets = agreed(&format!("[[sheet]]\nfile = \"f\"\nrows = \"job\"\n{key} = {value}\n"));
            sheets[0].text_form
        };
        let delimiters = [
            ("\",\"", b','),
            ("\";\"", b';'),
            ("\"|\"", b'|'),
            ("\"tab\"", b'\t'),
            ("\"Tab\"", b'\t'),
            ("\"\\t\"", b'\t'),
            ("'^'", b'^'),
        ];
        for (value, delimiter) in delimiters {
            assert_eq!(written("delimiter", value).delimiter, Some(delimiter), "{value}");
        }
        // The names are those of the Encoding Standard of the WHATWG, section 4.2.
        let encodings = [
            ("\"UTF-8\"", UTF_8),
            ("\"utf8\"", UTF_8),
            ("\"Windows-1252\"", WINDOWS_1252),
            ("\"ISO-8859-1\"", WINDOWS_1252),
            ("\"UTF-16LE\"", UTF_16LE),
            ("\"UTF-16\"", UTF_16LE),
        ];
        for (value, encoding) in encodings {
            assert_eq!(written("encoding", value).encoding, Some(encoding), "{value}");
        }
    }

    #[test]
    fn what_cannot_part_cells_or_is_no_encoding_is_told_and_the_file_decides() {
        let cannot = "help: Write \",\" or \";\" or \"tab\" or \"|\", or the one mark that the file has between its \
                      cells. (`delimiter`) Until then the file itself decides.";
        let settings = check(
            "[[sheet]]\nfile = \"f\"\nrows = \"job\"\ndelimiter = \", \"\nencoding = \"DOS\"\n\
             [[sheet]]\nfile = \"g\"\nrows = \"job\"\ndelimiter = \"comma\"\n\
             [[sheet]]\nfile = \"h\"\nsheet = \"Jobs\"\nrows = \"job\"\nencoding = \"UTF-8\"\n",
            &[
                "error: no encoding that is read here has this name\n  --> tickover.toml:5:12: `\"DOS\"`\n  |\n\
                 5 | encoding = \"DOS\"\n  |            ^^^^^\n\
                 help: Write \"UTF-8\" or \"Windows-1252\" or \"UTF-16LE\" or \"UTF-16BE\", or export the file as \
                 UTF-8. (`encoding`) Until then the file itself decides.",
                &format!(
                    "error: this cannot part cells\n  --> tickover.toml:9:13: `\"comma\"`\n  |\n\
                     9 | delimiter = \"comma\"\n  |             ^^^^^^^\n{cannot}"
                ),
                "error: `encoding` is for a text file, and only a workbook has a `sheet`\n  \
                 --> tickover.toml:14:1: `encoding`\n   |\n14 | encoding = \"UTF-8\"\n   | ^^^^^^^^\n\
                 help: Take one of the two out.",
            ],
        );
        let sheets = settings.expect("wrong keys do not stop the run").sheets;
        // A blank behind the mark is a slip, and no mark of its own.
        assert_eq!(sheets[0].text_form, TextForm { delimiter: Some(b','), encoding: None });
        assert_eq!(sheets[1].text_form, TextForm::default());
    }
}
