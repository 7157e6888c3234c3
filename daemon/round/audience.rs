//! Who gets which letter: receivers with the same sections get the same mail.

use std::collections::BTreeMap;

use crate::findings::Section;
use crate::problem::{Place, Problem, nearest};
use crate::settings::Settings;

/// Receivers who get the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Audience {
    /// The sections that they get, in the letter's order; `None` for the whole letter.
    pub(super) sections: Option<Vec<Section>>,
    /// Their addresses, each once.
    pub(super) addresses: Vec<String>,
}

impl Audience {
    /// Whether they get a section.
    pub(super) fn gets(&self, section: Section) -> bool {
        self.sections.as_ref().is_none_or(|sections| sections.contains(&section))
    }
}

/// The audiences of the settings: those who get the whole letter first. A section that is none is said, and its
/// receiver gets the whole letter: nobody misses a line for a slip of the keyboard.
pub(super) fn audiences(settings: &Settings) -> (Vec<Audience>, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut by_sections: BTreeMap<Option<Vec<Section>>, Vec<String>> = BTreeMap::new();
    if !settings.to.is_empty() {
        by_sections.insert(None, settings.to.clone());
    }
    for receiver in &settings.in_part {
        let (mut sections, mut all_known) = (Vec::new(), true);
        for name in &receiver.sections {
            match section(name) {
                Some(section) => sections.push(section),
                None => {
                    all_known = false;
                    problems.push(no_section(&receiver.place, name));
                }
            }
        }
        sections.sort_unstable();
        sections.dedup();
        let is_part = all_known && !sections.is_empty() && sections.len() < Section::ALL.len();
        let sections = is_part.then_some(sections);
        by_sections.entry(sections).or_default().push(receiver.address.clone());
    }
    let mut audiences: Vec<Audience> = Vec::new();
    let mut known: Vec<String> = Vec::new();
    for (sections, addresses) in by_sections {
        let addresses: Vec<String> =
            addresses.into_iter().filter(|address| !known.contains(address)).collect();
        known.extend(addresses.iter().cloned());
        if !addresses.is_empty() {
            audiences.push(Audience { sections, addresses });
        }
    }
    (audiences, problems)
}

/// Everybody who gets a letter or a part of one, each once.
pub fn receivers(settings: &Settings) -> Vec<String> {
    audiences(settings).0.into_iter().flat_map(|audience| audience.addresses).collect()
}

/// The section of a heading, however it is cased.
fn section(name: &str) -> Option<Section> {
    Section::ALL.into_iter().find(|section| section.heading().eq_ignore_ascii_case(name.trim()))
}

fn no_section(place: &Place, name: &str) -> Problem {
    let headings = Section::ALL.map(Section::heading);
    let meant =
        nearest(name, headings).map(|meant| format!(" Did you mean \"{meant}\"?")).unwrap_or_default();
    Problem::error(
        place.clone(),
        format!("the letter has no section \"{name}\"; this receiver gets the whole letter"),
        format!("Write one of: {}.{meant}", headings.join(", ")),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::PartReceiver;

    fn receiver(address: &str, sections: &[&str]) -> PartReceiver {
        PartReceiver {
            place: Place::file("tickover.toml"),
            address: address.to_owned(),
            sections: sections.iter().map(|section| (*section).to_owned()).collect(),
        }
    }

    fn audience(sections: Option<&[Section]>, addresses: &[&str]) -> Audience {
        Audience {
            sections: sections.map(<[Section]>::to_vec),
            addresses: addresses.iter().map(|address| (*address).to_owned()).collect(),
        }
    }

    #[test]
    fn receivers_with_the_same_sections_get_one_mail() {
        let settings = Settings {
            to: vec!["desk@shop.example".to_owned()],
            in_part: vec![
                receiver("bench@shop.example", &["On the bench", "Book in"]),
                receiver("second.bench@shop.example", &["book in", "ON THE BENCH", "Book in"]),
                receiver("office@shop.example", &["Put the sheet right"]),
            ],
            ..Settings::default()
        };
        let expected = vec![
            audience(None, &["desk@shop.example"]),
            audience(
                Some(&[Section::BookIn, Section::OnTheBench]),
                &["bench@shop.example", "second.bench@shop.example"],
            ),
            audience(Some(&[Section::PutTheSheetRight]), &["office@shop.example"]),
        ];
        assert_eq!(audiences(&settings), (expected, Vec::new()));
    }

    #[test]
    fn a_section_that_is_none_never_costs_a_receiver_a_line() {
        let settings = Settings {
            to: Vec::new(),
            in_part: vec![receiver("bench@shop.example", &["On the bnch", "Book in"])],
            ..Settings::default()
        };
        let (audiences, problems) = audiences(&settings);
        assert_eq!(audiences, [audience(None, &["bench@shop.example"])]);
        assert_eq!(
            problems[0].help,
            "Write one of: Keep in the yard, Ring today, Book in, On the bench, Put the sheet right. Did you mean \
             \"On the bench\"?"
        );
    }

    #[test]
    fn who_gets_the_whole_letter_gets_no_second_copy_in_part() {
        let settings = Settings {
            to: vec!["desk@shop.example".to_owned()],
            in_part: vec![receiver("desk@shop.example", &["Book in"]), receiver("all@shop.example", &[])],
            ..Settings::default()
        };
        let expected = vec![audience(None, &["desk@shop.example", "all@shop.example"])];
        assert_eq!(audiences(&settings).0, expected);
    }
}
