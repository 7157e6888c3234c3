//! Findings with their history become a letter: what must not happen today, what to do, and why.

mod contact;
mod earlier_letter;
mod edits;
mod foot;
mod form;
mod headline;
mod morning;
mod page;
mod parts;
mod telephone;
mod trim;
mod words;

use askama::Template;
use jiff::civil::Date;

pub use earlier_letter::{FirstOfDay, adds_nothing};
pub use edits::{RuleBecame, RuleEdit};
pub use form::Form;
pub use morning::{Letter, Morning, RuleInForce, SheetRead};
pub use words::one_line;

use page::Page;

/// The largest HTML of a letter, in bytes. Gmail is seen to cut a letter at 99 to 105 kB, a whole thread counted
/// together (people's measurements, no official figure), so there is some room left.
const HTML_BYTES: usize = 80_000;
/// Where plain text is folded, in characters (RFC 5322, 2.1.1: lines should be no longer than 78).
const TEXT_WIDTH: usize = 76;

/// The letter's page for a mail program.
#[derive(Template)]
#[template(path = "letter.html", config = "daemon/digest/askama.toml")]
struct Html<'a> {
    page: &'a Page,
    full_list: &'a str,
}

/// The letter's plain text.
#[derive(Template)]
#[template(path = "letter.txt", config = "daemon/digest/askama.toml")]
struct Text<'a> {
    page: &'a Page,
    full_list: &'a str,
}

impl Text<'_> {
    /// A line of marks as long as the heading above it.
    fn underline(&self, mark: &str, heading: impl AsRef<str>) -> String {
        mark.repeat(heading.as_ref().chars().count().min(TEXT_WIDTH))
    }
}

/// The letter of a morning. The same morning gives the same letter.
pub fn compose(morning: &Morning) -> Letter {
    let whole = Page::of(morning);
    let full_list = full_list_name(morning.today);
    let mut page = whole.within(&trim::LADDER[0]);
    let mut html = drawn(&Html { page: &page, full_list: &full_list });
    for level in &trim::LADDER[1..] {
        if html.len() <= HTML_BYTES {
            break;
        }
        page = whole.within(level);
        html = drawn(&Html { page: &page, full_list: &full_list });
    }
    Letter {
        day: morning.today,
        subject: page.subject.clone(),
        text: folded(&drawn(&Text { page: &page, full_list: &full_list })),
        html,
        full_list: page.is_trimmed().then(|| folded(&drawn(&Text { page: &whole, full_list: &full_list }))),
    }
}

/// The name of the file that has everything, where a day's letter had to leave something out.
pub fn full_list_name(day: Date) -> String {
    format!("{day}-full.txt")
}

/// A template with its values in it.
fn drawn(template: &impl Template) -> String {
    template.render().expect("our templates print strings and numbers, and writing to a string cannot fail")
}

/// The text with long lines folded under their own beginning, and never two empty lines in a row.
fn folded(text: &str) -> String {
    let mut folded = String::new();
    let mut line_before_empty = true;
    for line in text.lines() {
        let line = line.trim_end();
        if !line.is_empty() || !line_before_empty {
            fold_line(line, &mut folded);
        }
        line_before_empty = line.is_empty();
    }
    folded.truncate(folded.trim_end().len());
    folded.push('\n');
    folded
}

/// One line, folded at blanks; the rest stands under its beginning, after a bullet's own width.
fn fold_line(line: &str, folded: &mut String) {
    let text = line.trim_start_matches([' ', '*']);
    let indent = line.len() - text.len();
    folded.push_str(&line[..indent]);
    let mut column = indent;
    for (place, word) in text.split(' ').enumerate() {
        let length = word.chars().count();
        if place > 0 && column + 1 + length > TEXT_WIDTH {
            folded.push('\n');
            folded.extend(std::iter::repeat_n(' ', indent));
            column = indent;
        } else if place > 0 {
            folded.push(' ');
            column += 1;
        }
        folded.push_str(word);
        column += length;
    }
    folded.push('\n');
}
