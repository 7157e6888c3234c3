//! How much of a letter there is room for: mail programs cut long ones, so the letter is trimmed before they do.

use super::page::{Item, Listing, Page, Part};
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
}

/// Step by step less, until it fits: what must not be ridden away shrinks last. The last step fits however long every
/// string is, since each is cut on its own (a test holds it to that).
pub(super) const LADDER: [Level; 12] = [
    Level { keep: usize::MAX, others: usize::MAX, facts: 8, items: 20, lines: 8 },
    Level { keep: usize::MAX, others: 40, facts: 6, items: 12, lines: 6 },
    Level { keep: usize::MAX, others: 20, facts: 6, items: 12, lines: 6 },
    Level { keep: usize::MAX, others: 12, facts: 4, items: 8, lines: 4 },
    Level { keep: usize::MAX, others: 8, facts: 4, items: 8, lines: 4 },
    Level { keep: usize::MAX, others: 5, facts: 3, items: 5, lines: 3 },
    Level { keep: 80, others: 3, facts: 3, items: 5, lines: 3 },
    Level { keep: 50, others: 3, facts: 3, items: 5, lines: 3 },
    Level { keep: 25, others: 3, facts: 3, items: 5, lines: 3 },
    Level { keep: 12, others: 3, facts: 2, items: 3, lines: 2 },
    Level { keep: 6, others: 2, facts: 2, items: 2, lines: 2 },
    Level { keep: 3, others: 1, facts: 1, items: 1, lines: 1 },
];

/// How many times as many lines are shown where they run on in one, and so take as much room on a telephone.
const RUN_ON: usize = 3;

/// How much trouble stands at the top: the first screen is for what must not happen today.
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
        self.trim_listing(&mut page.look_first, self.items.min(LOOK_FIRST));
    }

    /// The section's findings, those in front first.
    fn trim_part(&self, part: &mut Part) {
        let mut room = if part.section == Section::KeepInTheYard { self.keep } else { self.others };
        for group in part.jobs.iter_mut().flat_map(|job| &mut job.groups) {
            let shown = group.entries.len().min(room);
            room -= shown;
            part.more += group.entries.len() - shown;
            group.entries.truncate(shown);
            for entry in &mut group.entries {
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
