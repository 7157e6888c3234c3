//! What an earlier letter said, read from its plain text: what is new in a second one of the day, and what has moved to a
//! more urgent section since the last.

use std::collections::BTreeMap;

use super::page;
use super::parts;
use super::words::one_line;
use crate::findings::{Finding, FindingId, Section, State};
use crate::problem::Problem;

/// The heading of the trouble at the top of a letter.
pub(super) const LOOK_FIRST: &str = "Look at this first";
/// What the heading begins with of what could not be read, or was read with a doubt.
pub(super) const NOT_READ: &str = "Not read, or read with a doubt";
/// What the heading begins with of what was read.
pub(super) const READ: &str = "What was read";
/// How many machines a letter names at its top; they stand below as well.
const NAMED: usize = 6;
/// The longest that its first words get, in characters: half a telephone's screen.
const SAID: usize = 600;

/// The first letter of the day, which somebody has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FirstOfDay {
    /// The time of day at which it was made, as people write it; empty where nobody knows.
    pub at: String,
    /// All that it said, in plain text.
    pub text: String,
}

impl FirstOfDay {
    /// What a reader must know of the second letter, in two sentences.
    pub(super) fn said(&self, shown: &[&Finding], trouble: &[Problem]) -> String {
        let at = if self.at.is_empty() { "before".to_owned() } else { format!("at {}", self.at) };
        let blocks = blocks(&self.text);
        let mut fresh: Vec<String> = Section::ALL
            .into_iter()
            .flat_map(|section| shown.iter().filter(move |finding| finding.raised.section == section))
            .filter(|finding| !stands_in(&blocks, finding))
            .map(|finding| in_section(finding))
            .collect();
        fresh.dedup();
        let all = one_blank(&self.text);
        let untold =
            trouble.iter().filter(|problem| !all.contains(&one_blank(&page::complaint(problem)))).count();
        if untold > 0 {
            fresh.insert(0, format!("{untold} to look at first"));
        }
        let what = if fresh.is_empty() {
            "No machine is new in it; what else has changed stands below.".to_owned()
        } else {
            format!("New or changed since then: {}.", named(fresh))
        };
        one_line(&format!("This is a second letter of today; the first went out {at}. {what}"), SAID)
    }
}

/// A machine with the section in which it stands.
pub(super) fn in_section(finding: &Finding) -> String {
    format!("{} ({})", page::machine(finding), finding.raised.section.heading())
}

/// Whether a letter says nothing that an earlier one of its day did not, both in plain text with everything in them.
/// Trouble that is over is nothing to tell, nor is a doubt, nor how many rows were read.
pub fn adds_nothing(text: &str, earlier: &str) -> bool {
    let (mut now, mut before) = (blocks(text), blocks(earlier));
    for blocks in [&mut now, &mut before] {
        // The first words count what stands below.
        blocks.remove(&Place::default());
    }
    let mut is_among_earlier = |is_it: fn(&Place) -> bool| {
        let (now, before) = (take(&mut now, is_it), take(&mut before, is_it));
        now.split("* ").all(|said| before.contains(said.trim()))
    };
    let is_told = is_among_earlier(|place| place.heading == LOOK_FIRST)
        && is_among_earlier(|place| place.title.starts_with(NOT_READ));
    for blocks in [&mut now, &mut before] {
        take(blocks, |place| place.title.starts_with(READ));
    }
    is_told && now == before
}

/// What stands in a more urgent section than in the last letter, by what it is known by; without what is new in itself.
pub(super) fn moved_up(last_letter: &str, shown: &[&Finding]) -> BTreeMap<FindingId, Section> {
    let blocks = blocks(last_letter);
    let stood = |finding: &Finding, section: Section| {
        let (title, machine) =
            (page::title(&finding.title, &finding.rule), one_blank(&page::machine(finding)));
        let heading = format!("{}: ", section.heading());
        let mut there =
            blocks.iter().filter(|(place, _)| place.heading.starts_with(&heading) && place.title == title);
        there.any(|(_, said)| said.contains(&machine))
    };
    let before = |finding: &Finding| {
        let now = finding.raised.section;
        let less_urgent = Section::ALL.into_iter().skip_while(|section| *section != now).skip(1);
        let is_old = finding.state != State::New && !stood(finding, now);
        less_urgent.into_iter().find(|section| is_old && stood(finding, *section))
    };
    shown.iter().filter_map(|finding| Some((finding.id(), before(finding)?))).collect()
}

/// The first few of the names, and how many more there are.
pub(super) fn named(mut names: Vec<String>) -> String {
    names.dedup();
    if names.len() > NAMED {
        let more = names.len() - NAMED;
        names.truncate(NAMED);
        names.push(format!("and {more} more"));
    }
    names.join("; ")
}

/// Takes the words of some places out of a letter.
fn take(blocks: &mut BTreeMap<Place, String>, is_it: impl Fn(&Place) -> bool) -> String {
    let (taken, left) = std::mem::take(blocks).into_iter().partition(|(place, _)| is_it(place));
    *blocks = left;
    let taken: BTreeMap<Place, String> = taken;
    taken.into_values().collect::<Vec<_>>().join(" ")
}

/// A place of a letter in plain text: the heading of a section, and below it the rule's title, or that of a listing at the
/// letter's foot.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Place {
    heading: String,
    title: String,
}

/// What a letter in plain text says at each place, on one line.
fn blocks(text: &str) -> BTreeMap<Place, String> {
    let mut blocks: BTreeMap<Place, String> = BTreeMap::new();
    let mut place = Place::default();
    let mut lines = text.lines().peekable();
    while let Some(line) = lines.next() {
        let mark = lines.peek().and_then(|under| underline(under)).filter(|_| !line.is_empty());
        match mark {
            Some('=') => place = Place { heading: line.to_owned(), title: String::new() },
            Some(_) => line.clone_into(&mut place.title),
            None if underline(line).is_some() => {}
            None => {
                // Word by word: a letter of thousands of findings is not put together anew for each of its lines.
                let said = blocks.entry(place.clone()).or_default();
                for word in line.split_whitespace() {
                    if !said.is_empty() {
                        said.push(' ');
                    }
                    said.push_str(word);
                }
            }
        }
    }
    blocks
}

/// The mark that a line below a heading is made of; `None` where it is no such line.
fn underline(line: &str) -> Option<char> {
    let mark = line.chars().next().filter(|mark| "=-".contains(*mark))?;
    line.chars().all(|letter| letter == mark).then_some(mark)
}

/// Whether a letter told of a finding in the same section, under the same title and in the same words.
fn stands_in(blocks: &BTreeMap<Place, String>, finding: &Finding) -> bool {
    let title = page::title(&finding.title, &finding.rule);
    let heading = format!("{}: ", finding.raised.section.heading());
    let (machine, text) = (one_blank(&page::machine(finding)), one_blank(&parts::text(finding)));
    blocks
        .iter()
        .filter(|(place, _)| place.heading.starts_with(&heading) && place.title == title)
        .any(|(_, said)| said.contains(&machine) && said.contains(&text))
}

/// Words with one blank between them.
fn one_blank(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}
