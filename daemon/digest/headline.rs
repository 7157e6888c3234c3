//! What matters, in a line: the letter's subject and its first words.

use std::collections::BTreeMap;

use super::earlier_letter;
use super::form::Form;
use super::morning::Morning;
use super::parts::machines;
use super::words::{NAME, one_line};
use crate::findings::{Finding, FindingId, Section, State};
use crate::problem::counted;

/// The longest subject, in characters: more is cut off by telephones, and one long word must never make a header
/// line that mail servers refuse.
const SUBJECT: usize = 70;
/// How many sections the headline names: a third would be cut off by a telephone.
const NAMED: usize = 2;

/// The letter's first words.
#[derive(Debug, Clone)]
pub(super) struct Head {
    /// What matters, in one to three pieces.
    pub(super) headlines: Vec<String>,
    /// The day and the shop.
    pub(super) dated: String,
    /// What the headline had no room for, or that there is nothing to do; may be empty.
    pub(super) rest: String,
}

impl Head {
    /// The letter's subject: what matters, cut where telephones cut it.
    pub(super) fn subject(&self) -> String {
        one_line(&self.headlines.join(", "), SUBJECT)
    }
}

/// The first words of a morning's letter; `shown` are the findings that it tells of, `moved_up` what stands in a more
/// urgent section than in the last.
pub(super) fn of(morning: &Morning, shown: &[&Finding], moved_up: &BTreeMap<FindingId, Section>) -> Head {
    let counts: Vec<String> = Section::ALL.into_iter().filter_map(|section| count(section, shown)).collect();
    let (named, unnamed) = counts.split_at(counts.len().min(NAMED));
    let mut said = named.to_vec();
    if !named.is_empty() && !morning.trouble.is_empty() {
        said.push(format!("{} to look at first", morning.trouble.len()));
    }
    let before = match (&morning.form, &morning.first_of_day) {
        (Form::AtOnce, _) => "Now: ",
        (_, Some(_)) => "Again: ",
        (_, None) => "",
    };
    if let Some(first) = said.first_mut() {
        first.insert_str(0, before);
    }
    if said.is_empty() {
        // What is open, or cannot be read, may hide that there is something to do.
        let mut hiding = morning.complaints.iter().filter(|problem| problem.hides_what_is_due);
        said.push(match morning.trouble.first().or_else(|| hiding.next()) {
            Some(trouble) => one_line(&format!("Look first: {}", trouble.what), SUBJECT),
            None if morning.machines == 0 => "No machine was read today".to_owned(),
            None => "Nothing new to do today".to_owned(),
        });
    }
    let shop = one_line(&morning.shop, NAME);
    let day = morning.today.strftime("%A %-d %B %Y");
    let rest = match &morning.first_of_day {
        _ if counts.is_empty() => nothing_due(morning),
        Some(_) => also(unnamed),
        None => rest(unnamed, shown, moved_up, !morning.trouble.is_empty()),
    };
    let again = morning.first_of_day.as_ref().map(|first| first.said(shown, &morning.trouble));
    let rest = again.into_iter().chain([rest]).filter(|said| !said.is_empty()).collect::<Vec<_>>().join(" ");
    Head {
        headlines: said,
        dated: if shop.is_empty() { day.to_string() } else { format!("{day}, {shop}") },
        rest: with_form(&morning.form, rest),
    }
}

/// What a reader must know of the letter's form, before the rest. What was told at once is all new.
fn with_form(form: &Form, rest: String) -> String {
    match form {
        Form::Whole => rest,
        Form::Part(_) => format!("{} {rest}", form.said()),
        Form::AtOnce => form.said(),
    }
}

/// A section's count in the words of a headline; `None` when it has nothing.
fn count(section: Section, shown: &[&Finding]) -> Option<String> {
    let of_section: Vec<&Finding> =
        shown.iter().copied().filter(|finding| finding.raised.section == section).collect();
    let count = machines(&of_section);
    let words = match (section, count) {
        (_, 0) => return None,
        (Section::KeepInTheYard, 1) => "stays in the yard",
        (Section::KeepInTheYard, _) => "stay in the yard",
        (Section::RingToday, _) => "to ring",
        (Section::BookIn, _) => "to book in",
        (Section::OnTheBench, _) => "on the bench",
        (Section::PutTheSheetRight, _) => "to put right in the sheets",
    };
    Some(format!("{count} {words}"))
}

/// The sections that the headline does not name, and how much of it all is new. Of what is to be looked at first nobody
/// knows whether it was told before.
fn rest(
    unnamed: &[String],
    shown: &[&Finding],
    moved_up: &BTreeMap<FindingId, Section>,
    to_look_at: bool,
) -> String {
    let moved = shown.iter().filter(|finding| moved_up.contains_key(&finding.id()));
    let moved: Vec<String> = moved.map(|finding| earlier_letter::in_section(finding)).collect();
    let new = shown.iter().filter(|finding| finding.state == State::New).count();
    let fresh = match (new, shown.len()) {
        (0, _) if !moved.is_empty() => "Nothing else is new since the last letter.".to_owned(),
        (0, _) if to_look_at => "Of what is to do, nothing is new since the last letter.".to_owned(),
        (0, _) => "Nothing is new since the last letter.".to_owned(),
        (new, all) if new == all => "All of it is new.".to_owned(),
        (1, all) => format!("1 of {} is new.", counted(all, "finding")),
        (new, all) => format!("{new} of {} are new.", counted(all, "finding")),
    };
    let moved = match earlier_letter::named(moved) {
        none if none.is_empty() => none,
        moved => format!("Moved up since the last letter: {moved}."),
    };
    [also(unnamed), moved, fresh].into_iter().filter(|said| !said.is_empty()).collect::<Vec<_>>().join(" ")
}

/// The sections that the headline does not name; empty where it names all.
fn also(unnamed: &[String]) -> String {
    if unnamed.is_empty() { String::new() } else { format!("Also {}.", unnamed.join(", ")) }
}

/// The one line of a morning on which there is nothing to do. What nobody could judge is never counted as well.
fn nothing_due(morning: &Morning) -> String {
    let looked_at = match morning.machines {
        0 => return "There is no machine in what was read, so nothing could be judged.".to_owned(),
        1 => "1 machine was looked at".to_owned(),
        many => format!("{} were looked at", counted(many, "machine")),
    };
    if matches!(morning.form, Form::Part(_)) {
        return format!("{looked_at}, and nothing is due in these sections as far as the sheets tell.");
    }
    let unjudged = morning.cannot_tell.len() + morning.complaints.len() + morning.trouble.len();
    match (unjudged, morning.findings.is_empty()) {
        (0, true) => format!("{looked_at} and nothing is due."),
        (0, false) => format!("{looked_at} and nothing is due but what was put off."),
        (_, _) => {
            format!(
                "{looked_at}. Nothing is due as far as the sheets tell, and not all could be told: see below."
            )
        }
    }
}
