//! How much of a letter there is room for: mail programs cut long ones, so the letter is trimmed before they do.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use super::page::{Item, Job, Listing, Page, Part};
use super::parts::CROWD;
use super::words::{SENTENCE, one_line};
use crate::findings::Section;

/// The most of each thing that a letter shows.
pub(super) struct Level {
    /// Findings to keep machines in the yard for.
    keep: usize,
    /// Findings of each other section.
    others: usize,
    /// Facts of a finding.
    facts: usize,
    /// Items of a listing.
    items: usize,
    /// Lines under an item.
    lines: usize,
    /// Findings of one rule in a section, where others raise something, too. Those that ship may have more.
    of_rule: usize,
    /// Characters of a finding's words outside the yard's section, in which none are ever cut.
    words: usize,
}

/// Step by step less, until it fits: what must not be ridden away shrinks last, and what is open on it is said
/// whole or not at all. The last step fits however long every string is, since each has its limit (a test holds it to
/// that).
pub(super) const LADDER: [Level; 13] = [
    Level {
        keep: usize::MAX,
        others: usize::MAX,
        of_rule: usize::MAX,
        facts: 8,
        items: 20,
        lines: 8,
        words: usize::MAX,
    },
    Level { keep: usize::MAX, others: 40, of_rule: CROWD, facts: 6, items: 12, lines: 6, words: usize::MAX },
    Level { keep: usize::MAX, others: 20, of_rule: CROWD, facts: 6, items: 12, lines: 6, words: usize::MAX },
    Level {
        keep: usize::MAX,
        others: 12,
        of_rule: CROWD / 2,
        facts: 4,
        items: 8,
        lines: 4,
        words: usize::MAX,
    },
    Level {
        keep: usize::MAX,
        others: 8,
        of_rule: CROWD / 4,
        facts: 4,
        items: 8,
        lines: 4,
        words: usize::MAX,
    },
    Level { keep: usize::MAX, others: 5, of_rule: CROWD / 4, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 80, others: 3, of_rule: CROWD / 4, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 50, others: 3, of_rule: CROWD / 4, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 25, others: 3, of_rule: CROWD / 4, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 12, others: 3, of_rule: CROWD / 4, facts: 2, items: 3, lines: 2, words: SENTENCE },
    Level { keep: 6, others: 2, of_rule: CROWD / 4, facts: 2, items: 2, lines: 2, words: SENTENCE },
    Level { keep: 3, others: 1, of_rule: CROWD / 4, facts: 1, items: 1, lines: 1, words: SENTENCE },
    Level { keep: 1, others: 1, of_rule: CROWD / 4, facts: 1, items: 1, lines: 1, words: SENTENCE },
];

/// How many times as many lines are shown where they run on in one, and so take as much room on a telephone.
const RUN_ON: usize = 3;

/// Of how much trouble at the top it is said what to do; the rest is named in a line that runs on: the first screen is
/// for what must not happen today.
const LOOK_FIRST: usize = 3;

impl Level {
    /// Leaves out of a page what is beyond this level, and counts it.
    pub(super) fn trim(&self, page: &mut Page) {
        let rules: BTreeSet<&str> =
            page.parts.iter().flat_map(|part| &part.jobs).map(|job| job.rule.as_str()).collect();
        let of_rule = if rules.len() > 1 { self.of_rule } else { usize::MAX };
        for part in &mut page.parts {
            self.trim_part(part, of_rule);
        }
        for listing in &mut page.foot {
            self.trim_listing(listing, self.items);
        }
        named_briefly(&mut page.look_first, self.items.min(LOOK_FIRST));
        self.trim_listing(&mut page.look_first, usize::MAX);
    }

    /// The section's findings, of which no rule has more than its share.
    fn trim_part(&self, part: &mut Part, of_rule: usize) {
        let (room, words) = match part.section {
            Section::KeepInTheYard => (self.keep, usize::MAX),
            _ => (self.others, self.words),
        };
        let is_shared = part.jobs.len() > 1;
        let shown = shares(&part.jobs, of_rule, room);
        let mut left_out: Vec<(bool, &str, usize)> = Vec::new();
        for (place, job) in part.jobs.iter_mut().enumerate() {
            let mut more = 0;
            for (number, group) in job.groups.iter_mut().enumerate() {
                part.is_cut |= shorten(&mut group.said_once, words);
                let mut line = 0;
                group.entries.retain(|_| {
                    line += 1;
                    let is_shown = shown.contains(&(place, number, line - 1));
                    more += usize::from(!is_shown);
                    is_shown
                });
                for entry in &mut group.entries {
                    part.is_cut |= shorten(&mut entry.text, words);
                    entry.more_facts = entry.facts.len().saturating_sub(self.facts);
                    entry.facts.truncate(self.facts);
                }
            }
            job.groups.retain(|group| !group.entries.is_empty());
            part.more += more;
            if more > 0 {
                left_out.push((job.ships, &job.title, more));
            }
        }
        part.left_out = if is_shared { named(left_out) } else { String::new() };
        part.jobs.retain(|job| !job.groups.is_empty());
    }

    /// The listing's items, and the lines under each.
    fn trim_listing(&self, listing: &mut Listing, items_most: usize) {
        listing.more = listing.items.len().saturating_sub(items_most);
        listing.items.truncate(items_most);
        for Item { lines, run_on, more, .. } in &mut listing.items {
            let lines_most = if *run_on { RUN_ON * self.lines } else { self.lines };
            *more = lines.len().saturating_sub(lines_most);
            lines.truncate(lines_most);
        }
    }
}

/// The place of a line: of its job, of the group in that, of the entry in that.
type Line = (usize, usize, usize);

/// The lines that there is room for. The rules take turns, and each gives first one line to each of its machines, so that
/// none takes the room of another; of two lines one is for the rules that ship, however many others there are.
fn shares(jobs: &[Job], of_rule: usize, room: usize) -> BTreeSet<Line> {
    let turns = |ships: bool| {
        let mut lines: Vec<(usize, Line)> = Vec::new();
        for (place, job) in jobs.iter().enumerate().filter(|(_, job)| job.ships == ships) {
            let most = if ships { usize::MAX } else { of_rule };
            lines.extend(machine_by_machine(place, job).into_iter().take(most).enumerate());
        }
        lines.sort_by_key(|(turn, (place, ..))| (*turn, *place));
        lines.into_iter().map(|(_, line)| line)
    };
    let (mut shipped, mut others) = (turns(true), turns(false));
    let pairs = std::iter::from_fn(|| match (shipped.next(), others.next()) {
        (None, None) => None,
        pair => Some(pair),
    });
    pairs.flat_map(|(first, second)| first.into_iter().chain(second)).take(room).collect()
}

/// The lines of a job: the first of each machine, then the second of each.
fn machine_by_machine(place: usize, job: &Job) -> Vec<Line> {
    let mut of_machine: BTreeMap<&str, usize> = BTreeMap::new();
    let mut lines: Vec<(usize, Line)> = Vec::new();
    for (number, group) in job.groups.iter().enumerate() {
        for (line, entry) in group.entries.iter().enumerate() {
            let count = of_machine.entry(&entry.machine).or_default();
            lines.push((*count, (place, number, line)));
            *count += 1;
        }
    }
    lines.sort_by_key(|(count, _)| *count);
    lines.into_iter().map(|(_, line)| line).collect()
}

/// Of which rules something was left out, and how much: first those that ship, then those with the most.
fn named(mut left_out: Vec<(bool, &str, usize)>) -> String {
    /// The most that are named: the line is no list.
    const NAMED: usize = 3;
    /// The longest that each is shown, in characters.
    const BRIEF: usize = 30;
    left_out.sort_by_key(|(ships, _, more)| (!ships, Reverse(*more)));
    let named = left_out.iter().take(NAMED);
    let mut said: Vec<String> =
        named.map(|(_, title, more)| format!("{} {more}", one_line(title, BRIEF))).collect();
    let rest: usize = left_out.iter().skip(NAMED).map(|(_, _, more)| more).sum();
    if rest > 0 {
        said.push(format!("other rules {rest}"));
    }
    if said.is_empty() { String::new() } else { format!("Of these: {}", said.join(", ")) }
}

/// Cuts words that are longer, and says whether it did.
fn shorten(words: &mut String, longest: usize) -> bool {
    let is_longer = words.chars().count() > longest;
    if is_longer {
        *words = one_line(words, longest);
    }
    is_longer
}

/// Leaves of all trouble beyond the first few nothing but its name.
fn named_briefly(look_first: &mut Listing, first: usize) {
    if look_first.items.len() <= first {
        return;
    }
    let others = look_first.items.split_off(first);
    let named = |item: Item| item.said.trim_end_matches('.').to_owned();
    look_first.items.push(Item {
        said: format!("And {} more, in the full list with what to do:", others.len()),
        lines: others.into_iter().map(named).collect(),
        run_on: true,
        more: 0,
    });
}
