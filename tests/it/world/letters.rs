//! What a letter says, read back from its plain text as a person would read it.

use std::collections::BTreeMap;

/// What a letter says of a machine.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Said {
    New,
    Open,
    Settled,
}

/// The headings of the sections in which machines stand.
const SECTIONS: [&str; 5] =
    ["Keep in the yard:", "Ring today:", "Book in:", "On the bench:", "Put the sheet right:"];

/// What a letter's text says of each machine, by mark. A machine that is named twice has two entries.
pub(crate) fn said(text: &str) -> Vec<(String, Said)> {
    let lines: Vec<&str> = text.lines().collect();
    let mut found = Vec::new();
    let mut paragraph = String::new();
    let (mut in_section, mut in_settled) = (false, false);
    for (index, line) in lines.iter().enumerate() {
        let underline = lines.get(index + 1).copied().unwrap_or_default();
        let is_heading = !line.is_empty() && ["===", "---"].iter().any(|mark| underline.starts_with(mark));
        if is_heading || line.trim().is_empty() {
            take(&mut paragraph, in_section, in_settled, &mut found);
        }
        if is_heading {
            let is_part = SECTIONS.iter().any(|section| line.starts_with(section));
            let is_job = in_section && underline.starts_with('-') && ["Held back", "Bench"].contains(line);
            in_section = is_part || is_job;
            in_settled = line.starts_with("Settled since");
        } else {
            paragraph.push_str(line.trim());
            paragraph.push(' ');
        }
    }
    take(&mut paragraph, in_section, in_settled, &mut found);
    found
}

fn take(paragraph: &mut String, in_section: bool, in_settled: bool, found: &mut Vec<(String, Said)>) {
    let text = std::mem::take(paragraph).trim().to_owned();
    if in_settled {
        found.extend(marks(&text).into_iter().map(|mark| (mark, Said::Settled)));
    } else if in_section && text.starts_with("* ") {
        let said =
            match (text.contains("new today") || text.contains("new since"), text.contains("open since")) {
                (true, false) => Said::New,
                (false, true) => Said::Open,
                _ => panic!("neither new nor open: {text}"),
            };
        // Below the machine's name the facts may name its mark again.
        let mark = marks(&text).into_iter().next().unwrap_or_else(|| panic!("no mark: {text}"));
        found.push((mark, said));
    }
}

/// The marks in a text: two letters, two figures, a blank, three letters.
fn marks(text: &str) -> Vec<String> {
    let letters: Vec<char> = text.chars().collect();
    letters
        .windows(8)
        .filter(|window| {
            window.iter().enumerate().all(|(place, letter)| match place {
                0 | 1 | 5..=7 => letter.is_ascii_uppercase(),
                2 | 3 => letter.is_ascii_digit(),
                _ => *letter == ' ',
            })
        })
        .map(|window| window.iter().collect())
        .collect()
}

/// The same, where no machine may stand twice.
pub(crate) fn said_once(text: &str) -> BTreeMap<String, Said> {
    let all = said(text);
    let by_mark: BTreeMap<String, Said> = all.iter().cloned().collect();
    assert_eq!(by_mark.len(), all.len(), "a machine stands in the letter twice:\n{text}");
    by_mark
}
