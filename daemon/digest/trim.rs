//! How much of a letter there is room for: mail programs cut long ones, so the letter is trimmed before they do.

use super::page::{Item, Listing, Page, Part};
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
    /// Characters of a finding's words outside the yard's section, in which none are ever cut.
    words: usize,
}

/// Step by step less, until it fits: what must not be ridden away shrinks last, and what is open on it is said
/// whole or not at all. The last step fits however long every string is, since each has its limit (a test holds it to
/// that).
pub(super) const LADDER: [Level; 13] = [
    Level { keep: usize::MAX, others: usize::MAX, facts: 8, items: 20, lines: 8, words: usize::MAX },
    Level { keep: usize::MAX, others: 40, facts: 6, items: 12, lines: 6, words: usize::MAX },
    Level { keep: usize::MAX, others: 20, facts: 6, items: 12, lines: 6, words: usize::MAX },
    Level { keep: usize::MAX, others: 12, facts: 4, items: 8, lines: 4, words: usize::MAX },
    Level { keep: usize::MAX, others: 8, facts: 4, items: 8, lines: 4, words: usize::MAX },
    Level { keep: usize::MAX, others: 5, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 80, others: 3, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 50, others: 3, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 25, others: 3, facts: 3, items: 5, lines: 3, words: SENTENCE },
    Level { keep: 12, others: 3, facts: 2, items: 3, lines: 2, words: SENTENCE },
    Level { keep: 6, others: 2, facts: 2, items: 2, lines: 2, words: SENTENCE },
    Level { keep: 3, others: 1, facts: 1, items: 1, lines: 1, words: SENTENCE },
    Level { keep: 1, others: 1, facts: 1, items: 1, lines: 1, words: SENTENCE },
];

/// How many times as many lines are shown where they run on in one, and so take as much room on a telephone.
const RUN_ON: usize = 3;

/// Of how much trouble at the top it is said what to do; the rest is named in a line that runs on: the first screen is
/// for what must not happen today.
const LOOK_FIRST: usize = 3;

impl Level {
    /// Leaves out of a page what is beyond this level, and counts it.
    pub(super) fn trim(&self, page: &mut Page) {
        for part in &mut page.parts {
            self.trim_part(part);
        }
        for listing in &mut page.foot {
            self.trim_listing(listing, self.items);
        }
        named_briefly(&mut page.look_first, self.items.min(LOOK_FIRST));
        self.trim_listing(&mut page.look_first, usize::MAX);
    }

    /// The section's findings, those in front first.
    fn trim_part(&self, part: &mut Part) {
        let (mut room, words) = match part.section {
            Section::KeepInTheYard => (self.keep, usize::MAX),
            _ => (self.others, self.words),
        };
        for group in part.jobs.iter_mut().flat_map(|job| &mut job.groups) {
            part.is_cut |= shorten(&mut group.said_once, words);
            let shown = group.entries.len().min(room);
            room -= shown;
            part.more += group.entries.len() - shown;
            group.entries.truncate(shown);
            for entry in &mut group.entries {
                part.is_cut |= shorten(&mut entry.text, words);
                entry.more_facts = entry.facts.len().saturating_sub(self.facts);
                entry.facts.truncate(self.facts);
            }
        }
        for job in &mut part.jobs {
            job.groups.retain(|group| !group.entries.is_empty());
        }
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
