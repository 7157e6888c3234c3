//! The letter's other forms: for somebody who gets only some of its sections, and for what cannot wait until morning.

use std::collections::BTreeSet;

use super::morning::Morning;
use crate::findings::{FindingId, Section, State};

/// Which letter it is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Form {
    /// The morning letter with everything in it.
    #[default]
    Whole,
    /// A copy of the morning letter for somebody who gets only these sections.
    Part(Vec<Section>),
    /// What was found since the morning letter and must not leave the yard today.
    AtOnce,
}

impl Form {
    /// What a reader must know of the form, in a sentence; empty for the whole letter.
    pub(super) fn said(&self) -> String {
        match self {
            Form::Whole => String::new(),
            Form::Part(sections) => {
                let headings: Vec<&str> = sections.iter().map(|section| section.heading()).collect();
                match &headings[..] {
                    [all @ .., last] if !all.is_empty() => {
                        format!("This copy has only {} and {last}.", all.join(", "))
                    }
                    headings => format!("This copy has only {}.", headings.concat()),
                }
            }
            Form::AtOnce => {
                "Found since the last letter, and told at once. All else waits for the next morning letter."
                    .to_owned()
            }
        }
    }
}

impl Morning {
    /// The morning as somebody is told it who gets only these sections. What is wrong with the sheets in detail goes
    /// with the section that puts them right; what keeps the letter from being whole goes to everybody.
    #[must_use]
    pub fn in_part(&self, sections: &[Section]) -> Morning {
        let has = |section: &Section| sections.contains(section);
        let mut part = Morning { form: Form::Part(sections.to_vec()), ..self.clone() };
        part.findings.retain(|finding| has(&finding.raised.section));
        part.settled.retain(|finding| has(&finding.raised.section));
        if !has(&Section::PutTheSheetRight) {
            part.cannot_tell.clear();
            part.too_long_ago.clear();
            part.complaints.clear();
            part.edits.clear();
        }
        part
    }

    /// What of it cannot wait until the next morning: machines that must not leave the yard today, and of which no
    /// letter has told yet. `told` are the findings that a letter told of today already. `None` where there is nothing.
    pub fn at_once(&self, told: &BTreeSet<FindingId>) -> Option<Morning> {
        let mut urgent = self.clone();
        urgent.findings.retain(|finding| {
            let today = finding.raised.at_once || finding.raised.due.is_none_or(|due| due <= self.today);
            finding.raised.section == Section::KeepInTheYard
                && finding.state == State::New
                && finding.no_longer_told.is_empty()
                && today
                && !told.contains(&finding.id())
        });
        if urgent.findings.is_empty() {
            return None;
        }
        Some(Morning {
            form: Form::AtOnce,
            settled: Vec::new(),
            cannot_tell: Vec::new(),
            too_long_ago: Vec::new(),
            complaints: Vec::new(),
            trouble: Vec::new(),
            read: Vec::new(),
            rules: Vec::new(),
            edits: Vec::new(),
            first_of_day: None,
            ..urgent
        })
    }
}
