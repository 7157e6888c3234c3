//! Whom a finding concerns, and how they are told: by ringing, or not by ringing where the sheet forbids it.

use super::telephone::{Number, numbers};
use super::words::{NAME, one_line};
use crate::findings::Finding;
use crate::yard::{NotToRing, not_to_ring};

/// Whom a finding concerns: words, numbers to ring, words.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Contact {
    /// What stands before the numbers, with its last blank.
    pub(super) before: String,
    /// The numbers.
    pub(super) numbers: Vec<Number>,
    /// What stands after them.
    pub(super) after: &'static str,
}

impl Contact {
    /// Whether there is nobody to name.
    pub(super) fn is_empty(&self) -> bool {
        self.before.is_empty() && self.numbers.is_empty() && self.after.is_empty()
    }

    fn of_words(before: String) -> Contact {
        Contact { before, ..Contact::default() }
    }
}

/// Whom it concerns. Where somebody is to be rung, what is missing for that, or forbids it, is said.
pub(super) fn contact(finding: &Finding) -> Contact {
    let name = one_line(finding.customer.as_deref().unwrap_or_default(), NAME);
    let written = one_line(finding.telephone.as_deref().unwrap_or_default(), NAME);
    if let Some((why, said)) = forbidden(finding) {
        return Contact::of_words(not_rung(finding, why, &name, &one_line(said, NAME)));
    }
    let numbers = if has_figures(&written) { numbers(&written) } else { Vec::new() };
    let rings = finding.raised.section.rings();
    if rings && numbers.is_empty() && !written.is_empty() {
        let whom = if name.is_empty() { "the customer" } else { &name };
        return Contact::of_words(format!("Ring {whom}: no number in the sheets, only `{written}`"));
    }
    let (before, after) = match (rings, name.is_empty(), numbers.is_empty()) {
        (true, false, false) => (format!("Ring {name} on "), ""),
        (true, false, true) => (format!("Ring {name}: "), "no number in the sheets"),
        (true, true, false) => ("Ring ".to_owned(), ", no name beside it in the sheets"),
        (true, true, true) => ("Ring the customer: ".to_owned(), "no name and no number in the sheets"),
        (false, false, false) => (format!("{name}, "), ""),
        (false, _, _) => (name, ""),
    };
    Contact { before, numbers, after }
}

/// What of a finding's customer forbids to ring, with the words that do; that they have died goes before all else.
fn forbidden(finding: &Finding) -> Option<(NotToRing, &str)> {
    let said = [&finding.customer, &finding.telephone].into_iter().flatten();
    let said = said.filter_map(|text| Some((not_to_ring(text)?, text.as_str())));
    said.max_by_key(|(why, _)| *why)
}

/// Who is not rung, why, and what is done instead.
fn not_rung(finding: &Finding, why: NotToRing, name: &str, said: &str) -> String {
    let whom = if name.is_empty() || name == said { "the customer" } else { name };
    match why {
        NotToRing::Died => format!(
            "Nobody is rung or written to: the sheet says of {whom} `{said}`. Write down who has the machine now"
        ),
        NotToRing::Asked if finding.raised.section.rings() => {
            format!("Do not ring {whom}: the sheet says `{said}`. Write by post, or as it says")
        }
        NotToRing::Asked => format!("{whom}, not to be rung: the sheet says `{said}`"),
    }
}

/// Whether what stands for a telephone number has any figure of one.
fn has_figures(written: &str) -> bool {
    written.bytes().any(|byte| byte.is_ascii_digit())
}

/// The number that somebody is rung on, by which two findings are one call.
pub(super) fn number(finding: &Finding) -> Option<&str> {
    let number = finding.telephone.as_deref().filter(|number| has_figures(number));
    number.filter(|_| forbidden(finding).is_none())
}
