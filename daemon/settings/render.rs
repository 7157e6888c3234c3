//! Writes the settings as a complete `tickover.toml`, with every key explained by a comment.

use super::in_part::IN_PART;
use super::keys::{HEADINGS, Key, LIMITS, TOP};
use super::mail::{self, MAIL};
use super::read::SERVICE_WORDS;
use super::sheets::written_column;
use super::text_form::{written_delimiter, written_encoding};
use super::values::{quoted, quoted_list, written_date_order, written_ticks, written_unit};
use super::{AgreedSheet, MailAccount, PartReceiver, Settings};

/// The width that comments are wrapped to: what a plain editor's window shows.
const WIDTH: usize = 100;

/// The settings as a complete file. Reading it again gives the same settings.
pub fn render(settings: &Settings) -> String {
    let mut file = String::new();
    comment(
        &mut file,
        "Tickover's settings for this yard folder. A line that begins with # is an explanation.",
    );
    comment(
        &mut file,
        "Change what stands right of an equals sign. Secrets never stand here: the password for the mail comes \
         from outside this file, see [mail].",
    );
    file.push('\n');
    keys(&mut file, TOP, settings, None);
    let usual = Settings::default();
    for (heading, its_keys) in HEADINGS {
        file.push_str(&format!("\n[{heading}]\n"));
        if heading == "limits" {
            comment(
                &mut file,
                "What is read from outside has a limit. To change one, take the # before its key away. 1 MB is \
                 1,048,576 bytes.",
            );
        }
        keys(&mut file, its_keys, settings, std::ptr::eq(its_keys, LIMITS).then_some(&usual));
        match heading {
            "practice" => service_words(&mut file, settings),
            "letter" => in_part(&mut file, &settings.in_part),
            MAIL => mail_account(&mut file, settings.mail.as_ref()),
            _ => {}
        }
    }
    sheets(&mut file, &settings.sheets);
    file
}

/// Keys with their explanations; one that has its usual value is a comment itself where `usual` is given.
fn keys(file: &mut String, keys: &[Key], settings: &Settings, usual: Option<&Settings>) {
    for key in keys {
        comment(file, key.explained);
        let value = (key.written)(settings);
        let is_usual = usual.is_some_and(|usual| (key.written)(usual) == value);
        file.push_str(&format!("{}{} = {value}\n", if is_usual { "# " } else { "" }, key.name));
    }
}

fn service_words(file: &mut String, settings: &Settings) {
    file.push_str(&format!("\n[practice.{SERVICE_WORDS}]\n"));
    comment(
        file,
        "The words by which the text of a job is known as an item of the service plan: the item's name in \
         handbook/service.csv, then what the workshop writes.",
    );
    for (item, wordings) in &settings.practice.service_words {
        let line = format!("{} = {}", quoted(item), quoted_list(wordings));
        if line.chars().count() <= WIDTH {
            file.push_str(&format!("{line}\n"));
            continue;
        }
        let wordings: Vec<String> =
            wordings.iter().map(|wording| format!("    {},\n", quoted(wording))).collect();
        file.push_str(&format!("{} = [\n{}]\n", quoted(item), wordings.concat()));
    }
}

fn in_part(file: &mut String, receivers: &[PartReceiver]) {
    file.push_str(&format!("\n[letter.{IN_PART}]\n"));
    comment(
        file,
        "Who gets only some sections: the address, then the sections' headings, which are \"Keep in the yard\", \"Ring \
         today\", \"Book in\", \"On the bench\" and \"Put the sheet right\".",
    );
    if receivers.is_empty() {
        file.push_str("# \"bench@shop.example\" = [\"On the bench\", \"Book in\"]\n");
    }
    for receiver in receivers {
        file.push_str(&format!("{} = {}\n", quoted(&receiver.address), quoted_list(&receiver.sections)));
    }
}

/// The account; what is not set stands there as an example behind a #.
fn mail_account(file: &mut String, account: Option<&MailAccount>) {
    comment(
        file,
        "The account that the letter is sent by. While nothing is set here it only goes into digests/. Take the # \
         before a key away to set it; `server` and `user` are mostly enough. `tickover post check` tries it.",
    );
    file.push('\n');
    for key in mail::KEYS {
        comment(file, key.explained);
        match account.and_then(key.written) {
            Some(value) => file.push_str(&format!("{} = {value}\n", key.name)),
            None => file.push_str(&format!("# {} = {}\n", key.name, key.example)),
        }
    }
}

fn sheets(file: &mut String, sheets: &[AgreedSheet]) {
    file.push('\n');
    comment(
        file,
        "What `tickover setup` and you agreed of each sheet, one [[sheet]] each. file: its name, where * stands \
         for any run of characters. sheet: the worksheet; left out for a text file. rows: what a row is, machine, \
         reading, job, check, ride or fill, or nothing to leave the sheet unread. delimiter and \
         encoding: what parts the cells of a text file (\",\", \";\", \"tab\", \"|\") and how its letters are stored \
         (\"UTF-8\", \"Windows-1252\", \"UTF-16LE\"), where it is not taken for what it is; a byte order mark in the \
         file still counts. dates and distances: how its dates of figures read and what its distances count in, where its cells do not tell; see [shop]. down_to: how few machines or rows are right, where it had many more before. \
         ticks: what a bare x or a picture such as 👍, or a TRUE, Y or 1 under a part such as Brakes, says of a check: done, failed or only x failed; until it is said, none is a \
         pass. undated_checks_count: true where the checks of a log count although no day stands beside them. \
         [sheet.columns]: each header with the field that it is; behind a distance may stand what it counts in, whatever its \
         header says (\"clock in km\"), behind a day which of day and month comes first in that column alone (\"handover, \
         month first\"), and behind any field since when its new values are right, as the letter gives it \
         (\"clock, right since 2026-03-02\").",
    );
    for sheet in sheets {
        file.push_str(&render_sheet(sheet, &SheetNotes::default()));
    }
}

/// What is written beside a newly agreed sheet for the owner to correct it by.
#[derive(Debug, Clone, Default)]
pub struct SheetNotes {
    /// Its keys that nobody has settled, each as a line with its choices.
    pub open: Vec<String>,
    /// Every field that a column of such a sheet can be.
    pub fields: Vec<&'static str>,
    /// The columns that were not agreed: header, the field that it may be (or nothing), and why it was left out.
    pub left_out: Vec<(String, String, String)>,
}

/// One sheet as it stands in the settings, to be put at the end of the file.
pub fn render_sheet(sheet: &AgreedSheet, notes: &SheetNotes) -> String {
    let mut file = String::new();
    file.push_str(&format!("\n[[sheet]]\nfile = {}\n", quoted(&sheet.file)));
    if let Some(worksheet) = &sheet.sheet {
        file.push_str(&format!("sheet = {}\n", quoted(worksheet)));
    }
    file.push_str(&format!("rows = {}\n", quoted(&sheet.rows)));
    if let Some(delimiter) = sheet.text_form.delimiter {
        file.push_str(&format!("delimiter = {}\n", written_delimiter(delimiter)));
    }
    if let Some(encoding) = sheet.text_form.encoding {
        file.push_str(&format!("encoding = {}\n", written_encoding(encoding)));
    }
    if let Some(order) = sheet.date_order {
        file.push_str(&format!("dates = {}\n", written_date_order(order)));
    }
    if let Some(unit) = sheet.distances {
        file.push_str(&format!("distances = {}\n", written_unit(unit)));
    }
    if let Some(count) = sheet.down_to {
        file.push_str(&format!("down_to = {count}\n"));
    }
    if let Some(ticks) = sheet.ticks {
        file.push_str(&format!("ticks = {}\n", written_ticks(ticks)));
    }
    if let Some(count) = sheet.undated_checks_count {
        file.push_str(&format!("undated_checks_count = {count}\n"));
    }
    for line in &notes.open {
        file.push_str(&format!(
            "# {}\n",
            line.chars().filter(|letter| !letter.is_control()).collect::<String>()
        ));
    }
    if !sheet.columns.is_empty() {
        file.push_str("[sheet.columns]\n");
    }
    for column in &sheet.columns {
        file.push_str(&format!("{} = {}\n", quoted(&column.header), quoted(&written_column(column))));
    }
    for (header, field, why) in &notes.left_out {
        let why: String = why.chars().filter(|letter| !letter.is_control()).collect();
        file.push_str(&format!("# {} = {}  # {why}\n", quoted(header), quoted(field)));
    }
    if !notes.fields.is_empty() {
        comment(&mut file, &format!("A column here can be: {}; or nothing.", notes.fields.join(", ")));
    }
    file
}

/// A comment, wrapped at blanks.
fn comment(file: &mut String, words: &str) {
    let mut width = 0;
    for word in words.split(' ') {
        let start = width == 0 || width + 1 + word.chars().count() > WIDTH;
        if start {
            file.push_str(if width == 0 { "# " } else { "\n# " });
            width = 2;
        } else {
            file.push(' ');
            width += 1;
        }
        file.push_str(word);
        width += word.chars().count();
    }
    file.push('\n');
}
