//! The letter before it is drawn: every line worded and made safe, nothing yet said of how it looks.

use std::collections::BTreeMap;

use super::contact::Contact;
use super::earlier_letter;
use super::foot;
use super::headline::{self, Head};
use super::morning::Morning;
use super::parts::{self, Since};
use super::trim::Level;
use super::words::{self, NAME, SENTENCE, VALUE, one_line};
use crate::findings::{Finding, Section, State};
use crate::origin::Evidence;
use crate::problem::{Problem, Severity};

/// The caution that stands under every letter.
const GENERAL_CAUTION: &str =
    "Tickover cannot see the machine. The maker's handbook and a qualified technician decide.";

/// A whole letter.
#[derive(Debug, Clone)]
pub(super) struct Page {
    /// What matters, cut for a mail's subject.
    pub(super) subject: String,
    /// The first words.
    pub(super) head: Head,
    /// What keeps the letter from being whole.
    pub(super) look_first: Listing,
    /// The sections that have something in them.
    pub(super) parts: Vec<Part>,
    /// What is not open any more, then what the letter rests on: all that needs nobody today.
    pub(super) foot: Vec<Listing>,
    /// The caution that stands under every letter.
    pub(super) caution: &'static str,
}

/// One section of findings.
#[derive(Debug, Clone)]
pub(super) struct Part {
    /// Which.
    pub(super) section: Section,
    /// How many machines are in it.
    pub(super) count: String,
    /// What it asks, where the heading does not say it.
    pub(super) lead: &'static str,
    /// What is to be done, one for each rule, most urgent first.
    pub(super) jobs: Vec<Job>,
    /// How many findings were left out.
    pub(super) more: usize,
    /// Of which rules these are; empty where the section has one rule only.
    pub(super) left_out: String,
    /// Whether words of one were cut.
    pub(super) is_cut: bool,
}

impl Part {
    /// The section's heading.
    pub(super) fn heading(&self) -> &'static str {
        self.section.heading()
    }

    /// Whether its machines must not be ridden away.
    pub(super) fn keeps(&self) -> bool {
        self.section == Section::KeepInTheYard
    }
}

/// What one rule raised in a section.
#[derive(Debug, Clone)]
pub(super) struct Job {
    /// The rule's title.
    pub(super) title: String,
    /// The rule's name.
    pub(super) rule: String,
    /// Whether the rule ships.
    pub(super) ships: bool,
    /// The findings, those with the same words together.
    pub(super) groups: Vec<Group>,
}

impl Job {
    /// The cautions of the findings that are shown, each once.
    pub(super) fn cautions(&self) -> Vec<&str> {
        let mut cautions: Vec<&str> = Vec::new();
        for caution in self.groups.iter().flat_map(|group| &group.entries).map(|entry| entry.caution.as_str())
        {
            if !caution.is_empty() && !cautions.contains(&caution) {
                cautions.push(caution);
            }
        }
        cautions
    }
}

/// Findings of one rule with the same words.
#[derive(Debug, Clone)]
pub(super) struct Group {
    /// The words that all of them share, said once above them; empty where there is one finding.
    pub(super) said_once: String,
    /// The findings.
    pub(super) entries: Vec<Entry>,
}

/// One finding.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    /// The machine in a person's words.
    pub(super) machine: String,
    /// What it is; empty where it was said once above.
    pub(super) text: String,
    /// Whom it concerns.
    pub(super) contact: Contact,
    /// By when; empty where no day is known.
    pub(super) by: String,
    /// How long it has been known.
    pub(super) life: String,
    /// What else there is to say of it, a sentence each.
    pub(super) remarks: Vec<String>,
    /// The facts that show it, with their cells.
    pub(super) facts: Vec<String>,
    /// How many facts were left out.
    pub(super) more_facts: usize,
    /// The caution that goes with it; empty where there is none.
    pub(super) caution: String,
}

/// A list of the foot, or of the trouble at the top.
#[derive(Debug, Clone, Default)]
pub(super) struct Listing {
    /// Its heading.
    pub(super) heading: String,
    /// What it means, in a sentence; may be empty.
    pub(super) lead: &'static str,
    /// What is in it.
    pub(super) items: Vec<Item>,
    /// How many items were left out.
    pub(super) more: usize,
}

/// One line of a listing with what stands under it.
#[derive(Debug, Clone, Default)]
pub(super) struct Item {
    /// The line itself.
    pub(super) said: String,
    /// What stands under it.
    pub(super) lines: Vec<String>,
    /// Whether these are short and run on in one line.
    pub(super) run_on: bool,
    /// How many of these were left out.
    pub(super) more: usize,
}

impl Page {
    /// The whole letter of a morning, nothing left out.
    pub(super) fn of(morning: &Morning) -> Page {
        let shown: Vec<&Finding> = morning.findings.iter().filter(|finding| is_shown(finding)).collect();
        let since = Since {
            today: morning.today,
            moved_up: earlier_letter::moved_up(&morning.last_letter, &shown),
            ships: morning.ships.clone(),
        };
        let head = headline::of(morning, &shown, &since.moved_up);
        Page {
            subject: head.subject(),
            head,
            look_first: look_first(&morning.trouble, &morning.complaints),
            parts: Section::ALL
                .into_iter()
                .filter_map(|section| parts::of(section, &shown, &since))
                .collect(),
            foot: foot::of(morning),
            caution: GENERAL_CAUTION,
        }
    }

    /// The same letter, with no more in it than the level has room for.
    pub(super) fn within(&self, level: &Level) -> Page {
        let mut page = self.clone();
        level.trim(&mut page);
        page
    }

    /// Whether anything was left out.
    pub(super) fn is_trimmed(&self) -> bool {
        let listings = || self.foot.iter().chain([&self.look_first]);
        self.parts.iter().any(|part| part.more > 0 || part.is_cut)
            || self.look_first.items.iter().any(|trouble| trouble.run_on)
            || self.entries().any(|entry| entry.more_facts > 0)
            || listings().any(|listing| listing.more > 0)
            || listings().flat_map(|listing| &listing.items).any(|item| item.more > 0)
    }

    /// All the findings in it.
    fn entries(&self) -> impl Iterator<Item = &Entry> {
        self.parts
            .iter()
            .flat_map(|part| &part.jobs)
            .flat_map(|job| &job.groups)
            .flat_map(|group| &group.entries)
    }
}

/// Whether a finding is told today. One that was put off waits for its day, unless its machine must not be ridden
/// away: an answer does not mend a brake.
fn is_shown(finding: &Finding) -> bool {
    finding.state != State::PutOff || finding.raised.section == Section::KeepInTheYard
}

/// The trouble at the top, two lines each, then what is open and may hide what is due, and the days that could not be
/// read and do.
fn look_first(trouble: &[Problem], complaints: &[Problem]) -> Listing {
    /// How much trouble goes before those days, so that they are not among what is only named.
    const BEFORE: usize = 2;
    let item = |problem: &Problem| Item {
        said: complaint(problem),
        lines: vec![words::stopped(&words::capitalised(&one_line(&problem.help, SENTENCE)))],
        ..Item::default()
    };
    let mut items: Vec<Item> = trouble.iter().map(item).collect();
    let is_open = |problem: &&Problem| problem.hides_what_is_due && problem.severity == Severity::Note;
    items.extend(complaints.iter().filter(is_open).map(item));
    let at = items.len().min(BEFORE);
    items.splice(at..at, hidden(complaints));
    Listing { heading: earlier_letter::LOOK_FIRST.to_owned(), items, ..Listing::default() }
}

/// The cells that could not be read although something due, or whether a machine may leave, hangs on them: days first, then
/// by what is to be done about them.
fn hidden(complaints: &[Problem]) -> Vec<Item> {
    /// What every message of a day that is no day tells to write.
    const A_DAY: &str = "3 Apr 2026";
    let is_hiding = |problem: &&Problem| problem.hides_what_is_due && problem.severity == Severity::Error;
    let mut by_help: BTreeMap<(bool, &str), Vec<&Problem>> = BTreeMap::new();
    for problem in complaints.iter().filter(is_hiding) {
        let is_day = problem.help.contains(A_DAY);
        by_help.entry((!is_day, if is_day { "" } else { &problem.help })).or_default().push(problem);
    }
    let line = |problem: &&Problem| {
        format!("{} — {}", words::capitalised(&one_line(&problem.what, SENTENCE)), place(problem))
    };
    let items = by_help.into_iter().map(|((_, help), mut cells)| {
        cells.sort();
        let said = match help {
            "" => format!(
                "A day that could not be read hides what is due by it: nobody can tell. Write it as {A_DAY}."
            ),
            help => words::stopped(&format!(
                "What could not be read here hides what is due, or whether a machine may leave. {}",
                one_line(help, SENTENCE)
            )),
        };
        Item { said, lines: cells.iter().map(line).collect(), ..Item::default() }
    });
    items.collect()
}

/// What is wrong and where: `Miles are compared with kilometres — rules/wrong-oil.rhai:21:27.`
pub(super) fn complaint(problem: &Problem) -> String {
    let what = words::capitalised(&one_line(&problem.what, SENTENCE));
    words::stopped(&format!("{what} — {}", place(problem)))
}

/// Where a problem is and what stands there: ``bikes.xlsx, Stock, D14: `31/02/2026` ``.
pub(super) fn place(problem: &Problem) -> String {
    let place = one_line(&problem.place.to_string(), 2 * NAME);
    let value = one_line(&problem.value, VALUE);
    if value.is_empty() { place } else { format!("{place}: `{value}`") }
}

/// One fact with its cell: `last reading 480 miles — mileages.csv, C14`.
pub(super) fn fact(evidence: &Evidence) -> String {
    let value = one_line(&evidence.value, VALUE);
    // A cell without a value says that it is blank: its name alone would read as if all were there.
    let value = if value.is_empty() { "blank" } else { &value };
    let mut said = format!("{} {value}", one_line(&evidence.what, NAME)).trim_start().to_owned();
    if evidence.common_practice {
        said.push_str(" (a rule of thumb, not this model's handbook)");
    }
    if let Some(origin) = &evidence.origin {
        said.push_str(" — ");
        said.push_str(&one_line(&origin.to_string(), 2 * NAME));
    }
    said
}

/// The machine as a person names it; never empty.
pub(super) fn machine(finding: &Finding) -> String {
    first_name(&[&finding.machine_name, &finding.identity.shown(), finding.machine.as_str()])
}

/// The first name that has anything in it, made safe.
pub(super) fn first_name(names: &[&str]) -> String {
    names
        .iter()
        .map(|name| one_line(name, NAME))
        .find(|name| !name.is_empty())
        .unwrap_or_else(|| "a machine without a name".to_owned())
}

/// The rule as a person names it; never empty.
pub(super) fn title(title: &str, rule: &str) -> String {
    let title = one_line(title, NAME);
    if title.is_empty() { one_line(rule, NAME) } else { title }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Place;

    #[test]
    fn what_hides_something_due_keeps_the_help_that_fits_it() {
        let hiding = |file: &str, what: &str, help: &str| {
            let problem = Problem::error(Place::file(file), what, help);
            Problem { hides_what_is_due: true, ..problem }
        };
        let not_a_day = "Write day, month and year, such as 3 Apr 2026 or 2026-04-03.";
        let complaints = [
            hiding(
                "a.xlsx",
                "the `handover` is a formula without a value",
                "Open the file and save it once.",
            ),
            hiding("b.csv", "the `handover` is not a day", not_a_day),
            hiding("a.csv", "the `sold` is a time without a day", "Write the day, such as 3 Apr 2026."),
            Problem::error(Place::file("d.csv"), "hides nothing", ""),
        ];
        let said: Vec<(String, Vec<String>)> =
            hidden(&complaints).into_iter().map(|item| (item.said, item.lines)).collect();
        let lines = |lines: &[&str]| lines.iter().map(|line| (*line).to_owned()).collect::<Vec<String>>();
        assert_eq!(
            said,
            [
                (
                    "A day that could not be read hides what is due by it: nobody can tell. Write it as 3 Apr 2026."
                        .to_owned(),
                    lines(&["The `sold` is a time without a day — a.csv", "The `handover` is not a day — b.csv"])
                ),
                (
                    "What could not be read here hides what is due, or whether a machine may leave. Open the file and \
                     save it once."
                        .to_owned(),
                    lines(&["The `handover` is a formula without a value — a.xlsx"])
                ),
            ]
        );
    }
}
