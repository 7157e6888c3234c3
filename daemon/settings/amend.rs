//! Changes single lines of an owner's settings file and leaves everything else as it was written.

use std::ops::Range;

use super::AgreedSheet;
use super::values::quoted;
use crate::origin::SheetName;
use crate::problem::Spot;

/// What a changed line stands under.
#[derive(Debug, Clone, Copy)]
pub enum Under<'a> {
    /// `[shop]`.
    Shop,
    /// A sheet's `[[sheet]]`.
    Sheet(&'a AgreedSheet),
    /// Its `[sheet.columns]`.
    Columns(&'a AgreedSheet),
}

/// The file with `key` set to a text under a heading. A line of that key is replaced where it stands, also one that
/// is still behind a `#`; without one it comes right below the heading, which is added where it is missing. The lines
/// of a sheet are found by the place that was read with it, so each change needs the file read anew.
pub fn with_value(text: &str, under: Under<'_>, key: &str, value: &str) -> String {
    with_line(text, under, key, &quoted(value))
}

/// The same with a key that is true or false.
pub fn with_yes_or_no(text: &str, under: Under<'_>, key: &str, value: bool) -> String {
    with_line(text, under, key, &value.to_string())
}

/// The same with a value as TOML.
fn with_line(text: &str, under: Under<'_>, key: &str, value: &str) -> String {
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    if let Some(last) = lines.last_mut().filter(|last| !last.ends_with('\n')) {
        last.push('\n');
    }
    let written_key = if matches!(under, Under::Columns(_)) { quoted(key) } else { key.to_owned() };
    let line = format!("{written_key} = {value}\n");
    let Some(range) = range(&lines, under) else {
        let (at, heading) = match under {
            Under::Columns(sheet) => (range_of_sheet(&lines, sheet).end, "[sheet.columns]\n"),
            Under::Shop | Under::Sheet(_) => (lines.len(), "\n[shop]\n"),
        };
        lines.insert(at, format!("{heading}{line}"));
        return lines.concat();
    };
    match range.clone().find(|place| is_of_key(&lines[*place], &written_key)) {
        Some(place) => lines[place] = with_comment_of(&lines[place], &line),
        None => {
            let rows = range.clone().find(|place| is_of_key(&lines[*place], "rows"));
            lines.insert(rows.unwrap_or(range.start) + 1, line);
        }
    }
    lines.concat()
}

/// The file with a sheet's agreement as that of a sheet of this name. How the other file was parted and encoded goes
/// behind a `#`: this one was read without.
pub fn with_sheet_named(text: &str, sheet: &AgreedSheet, name: &SheetName) -> String {
    let mut text = with_value(text, Under::Sheet(sheet), "file", name.file_name());
    if let Some(worksheet) = &name.sheet {
        text = with_value(&text, Under::Sheet(sheet), "sheet", worksheet);
    }
    let is_over = |line: &str| {
        let keys = ["sheet", "delimiter", "encoding"].iter().skip(usize::from(name.sheet.is_some()));
        is_set(line) && keys.into_iter().any(|key| is_of_key(line, key))
    };
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    let range = range_of_sheet(&lines, sheet);
    for line in &mut lines[range] {
        if is_over(line) {
            line.insert_str(0, "# ");
        }
    }
    lines.concat()
}

/// Whether the file sets a key of `[shop]`, and does not leave it behind a `#`.
pub fn sets_in_shop(text: &str, key: &str) -> bool {
    let lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    let range = range(&lines, Under::Shop).unwrap_or_default();
    lines[range].iter().any(|line| is_set(line) && is_of_key(line, key))
}

/// Whether a key of `[shop]` stands in the file behind a `#` only.
pub fn is_open_in_shop(text: &str, key: &str) -> bool {
    let lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    let range = range(&lines, Under::Shop).unwrap_or_default();
    !sets_in_shop(text, key) && lines[range].iter().any(|line| is_of_key(line, key))
}

/// A file in which a key of `[shop]` stands behind a `#`, with a word of why.
pub fn with_open_key(text: &str, key: &str, why: &str) -> String {
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    let range = range(&lines, Under::Shop).unwrap_or_default();
    for line in lines[range].iter_mut().filter(|line| !line.starts_with('#') && is_of_key(line, key)) {
        *line = format!("# {}  # {why}\n", line.trim_end());
    }
    lines.concat()
}

/// A sheet that nobody has decided on: its lines, each behind a `#`.
pub fn behind_a_mark(block: &str) -> String {
    let mark = |line: &str| match line.trim_end() {
        "" => "\n".to_owned(),
        line if line.starts_with('#') => format!("{line}\n"),
        line => format!("# {line}\n"),
    };
    block.lines().map(mark).collect()
}

/// The file without the lines of a sheet that stands behind `#`, as it does until it is decided on.
pub fn without_open_sheet(text: &str, block: &str) -> String {
    let marked = behind_a_mark(block);
    // The file names it, and the worksheet, where it has some.
    let is_name = |line: &&str| ["# [[", "# file =", "# sheet ="].iter().any(|key| line.starts_with(key));
    let first: Vec<&str> = marked.lines().filter(|line| !line.is_empty()).take_while(is_name).collect();
    let lines: Vec<&str> = text.split_inclusive('\n').collect();
    let starts =
        |place: &usize| first.iter().zip(&lines[*place..]).all(|(first, line)| line.trim_end() == *first);
    let Some(start) = (0..lines.len()).find(|place| lines.len() - place >= first.len() && starts(place))
    else {
        return text.to_owned();
    };
    let length = lines[start..].iter().take_while(|line| line.starts_with('#')).count();
    let above = start - usize::from(start > 0 && lines[start - 1].trim().is_empty());
    [&lines[..above], &lines[start + length..]].concat().concat()
}

/// The lines below a heading, up to the next one; its own line is the first. `None` where it is not there.
fn range(lines: &[String], under: Under<'_>) -> Option<Range<usize>> {
    let below = |start: usize| {
        let next = lines[start + 1..].iter().position(|line| line.trim_start().starts_with('['));
        start..next.map_or(lines.len(), |next| start + 1 + next)
    };
    match under {
        Under::Shop => lines.iter().position(|line| is_heading(line, "[shop]")).map(below),
        Under::Sheet(sheet) => Some(range_of_sheet(lines, sheet)),
        Under::Columns(sheet) => {
            let sheet = range_of_sheet(lines, sheet);
            lines
                .get(sheet.end)
                .is_some_and(|line| is_heading(line, "[sheet.columns]"))
                .then(|| below(sheet.end))
        }
    }
}

/// A sheet's own lines, without those of its columns.
fn range_of_sheet(lines: &[String], sheet: &AgreedSheet) -> Range<usize> {
    let read_at = match sheet.place.spot {
        Spot::Text { line, .. } => line.saturating_sub(1).min(lines.len().saturating_sub(1)),
        Spot::Whole | Spot::Cell { .. } => 0,
    };
    let start = (0..=read_at).rev().find(|place| is_heading(&lines[*place], "[[sheet]]")).unwrap_or(read_at);
    let next = lines[start + 1..].iter().position(|line| line.trim_start().starts_with('['));
    start..next.map_or(lines.len(), |next| start + 1 + next)
}

fn is_heading(line: &str, heading: &str) -> bool {
    line.split('#').next().unwrap_or_default().trim() == heading
}

/// Whether a line is not behind a `#`.
fn is_set(line: &str) -> bool {
    !line.trim_start().starts_with('#')
}

/// A new line with what the owner wrote behind the value of the one that it replaces. What stands behind a line that was
/// left open is about its being so.
fn with_comment_of(before: &str, line: &str) -> String {
    let (mut quote, mut is_escaped) = (None, false);
    let starts = |(_, letter): &(usize, char)| {
        match (quote, letter) {
            _ if is_escaped => is_escaped = false,
            (Some('"'), '\\') => is_escaped = true,
            (Some(open), letter) if open == *letter => quote = None,
            (None, '"' | '\'') => quote = Some(*letter),
            (None, '#') => return true,
            _ => {}
        }
        false
    };
    match before.char_indices().find(starts).filter(|_| is_set(before)) {
        Some((at, _)) => format!("{} {}", line.trim_end(), &before[at..]),
        None => line.to_owned(),
    }
}

/// Whether a line, perhaps behind a `#`, gives a key its value.
fn is_of_key(line: &str, key: &str) -> bool {
    let line = line.trim_start().trim_start_matches('#').trim_start();
    line.strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('='))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::parse;

    const FILE: &str = "folders = [\"sheets\"]\n\n[shop]\n# Its name.\nname = \"Yard\" # ours\n# clock_unit = \"miles\"  # or \"km\"\n\n\
                        [[sheet]]\nfile = \"a.csv\"\nrows = \"reading\"\n# dates = \"day first\"  # or not\n[sheet.columns]\n\
                        \"Reg\" = \"mark\"\n# \"Miles\" = \"clock\"  # likely\n\n[[sheet]]\nfile = \"b.csv\"\nrows = \"machine\"";

    fn sheet(text: &str, file: &str) -> AgreedSheet {
        let (settings, problems) = parse(text, "tickover.toml");
        assert_eq!(problems, []);
        settings.unwrap().sheets.into_iter().find(|sheet| sheet.file == file).unwrap()
    }

    #[test]
    fn an_answer_takes_the_place_of_the_line_that_left_it_open() {
        assert!(!sets_in_shop(FILE, "clock_unit") && sets_in_shop(FILE, "name"));
        assert!(
            is_open_in_shop(FILE, "clock_unit")
                && !is_open_in_shop(FILE, "name")
                && !is_open_in_shop(FILE, "zone")
        );
        let text = with_value(FILE, Under::Shop, "clock_unit", "km");
        assert!(text.contains("\nname = \"Yard\" # ours\nclock_unit = \"km\"\n\n[[sheet]]"), "{text}");
        let text = with_value(&text, Under::Sheet(&sheet(&text, "a.csv")), "dates", "month first");
        let text = with_value(&text, Under::Columns(&sheet(&text, "a.csv")), "Miles", "nothing");
        assert!(text.contains("rows = \"reading\"\ndates = \"month first\"\n[sheet.columns]\n\"Reg\" = \"mark\"\n\"Miles\" = \"nothing\"\n\n"), "{text}");
        assert_eq!(sheet(&text, "a.csv").columns.len(), 2);
        assert_eq!(
            with_open_key(&text, "clock_unit", "open"),
            text.replace("clock_unit = \"km\"", "# clock_unit = \"km\"  # open")
        );
    }

    #[test]
    fn an_answer_without_such_a_line_stands_below_its_heading() {
        let text = with_value(FILE, Under::Columns(&sheet(FILE, "a.csv")), "Bay", "nothing");
        assert!(text.contains("[sheet.columns]\n\"Bay\" = \"nothing\"\n\"Reg\""), "{text}");
        let text = with_value(FILE, Under::Sheet(&sheet(FILE, "b.csv")), "dates", "day first");
        assert!(text.ends_with("rows = \"machine\"\ndates = \"day first\"\n"), "{text}");
        let text = with_value(FILE, Under::Columns(&sheet(FILE, "b.csv")), "Ho \"x\"", "handover");
        assert!(
            text.ends_with("rows = \"machine\"\n[sheet.columns]\n\"Ho \\\"x\\\"\" = \"handover\"\n"),
            "{text}"
        );
        assert_eq!(sheet(&text, "b.csv").columns[0].header, "Ho \"x\"");
        let text = with_value("folders = [\"sheets\"]\n", Under::Shop, "clock_unit", "km");
        assert_eq!(text, "folders = [\"sheets\"]\n\n[shop]\nclock_unit = \"km\"\n");
    }

    #[test]
    fn a_sheet_under_another_name_keeps_all_that_the_owner_wrote() {
        let before = "# Ours.\n[[sheet]]  # the stock\nfile = \"a#b.xlsx\" # from the office\nsheet = 'Stock' # the first\n\
                      rows = \"machine\"\n# dates?\n[sheet.columns]\n\"Reg\" = \"mark\" # plate\n";
        let name = |file: &str, sheet: Option<&str>| SheetName {
            file: format!("sheets/{file}"),
            sheet: sheet.map(str::to_owned),
        };
        let after = with_sheet_named(before, &sheet(before, "a#b.xlsx"), &name("c.csv", None));
        assert_eq!(
            after,
            before.replace("\"a#b.xlsx\"", "\"c.csv\"").replace("sheet = 'Stock'", "# sheet = 'Stock'")
        );
        let again = with_sheet_named(&after, &sheet(&after, "c.csv"), &name("d.ods", Some("Bikes")));
        assert!(again.contains("file = \"d.ods\" # from the office\nsheet = \"Bikes\"\nrows"), "{again}");
        let parted = "[[sheet]]\nfile = \"a.csv\"\nrows = \"job\"\ndelimiter = \";\"\n";
        let after = with_sheet_named(parted, &sheet(parted, "a.csv"), &name("b.csv", None));
        assert_eq!(after, "[[sheet]]\nfile = \"b.csv\"\nrows = \"job\"\n# delimiter = \";\"\n");
    }

    #[test]
    fn a_sheet_behind_marks_is_no_sheet_and_goes_when_it_is_decided_on() {
        let block =
            "\n[[sheet]]\nfile = \"log.csv\"\nrows = \"ride\"\n# A column here can be: mark; or nothing.\n";
        let open = format!("{FILE}\n{}", behind_a_mark(block));
        assert_eq!(parse(&open, "tickover.toml").0.unwrap().sheets.len(), 2);
        assert_eq!(without_open_sheet(&open, block), format!("{FILE}\n"));
        assert_eq!(without_open_sheet(FILE, block), FILE);
    }
}
