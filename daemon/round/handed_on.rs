//! Marks that another machine has now, remembered from round to round.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::open_changes::plain;
use super::{Run, known_again};
use crate::units::Days;
use crate::watch::{CHANGES_BYTES_MAX, Shelf};
use crate::yard::{HandedOn, Identity, MachineId, Records};

/// Under this name the shelf has them.
const NOTE: &str = "marks handed on";

/// For how many days it is said at the top. Our decision.
const SAID: Days = Days(7);

/// Notes what has been found so far, so that a round that ends here loses nothing.
pub(super) fn note(run: &Run, shelf: &Shelf, records: &Records) {
    if run.keeps && !records.handed_on.is_empty() {
        keep(shelf, &all(shelf, &records.handed_on));
    }
}

/// What is remembered, and what has been found today. A mark that goes back was never another machine's, which is noted as
/// one that was its own; the same found twice changes nothing.
fn all(shelf: &Shelf, found: &[HandedOn]) -> Vec<HandedOn> {
    let mut all = read(&shelf.noted_changes(NOTE));
    for one in found {
        let was = all.iter().position(|other| other.mark == one.mark).map(|place| all.remove(place));
        let now = match was {
            Some(was) if was.is_back(one) && !was.is_same_move(one) => {
                HandedOn { from: one.mark.clone(), on: one.on, ..was }
            }
            Some(was) if was.on == one.on => was,
            _ => one.clone(),
        };
        all.push(now);
    }
    all
}

/// Notes the newest of them, as many as there is room for.
fn keep(shelf: &Shelf, all: &[HandedOn]) {
    let mut room = CHANGES_BYTES_MAX;
    let lines: Vec<String> = all.iter().map(written).collect();
    let fits = |line: &&String| {
        let is_room = line.len() <= room;
        room = room.saturating_sub(line.len());
        is_room
    };
    let kept = lines.iter().rev().take_while(fits).count();
    // Where it cannot be noted, what keeps the shelf from being written is said already.
    let _ = shelf.note_changes(NOTE, &lines[lines.len() - kept..].concat());
}

/// Adds to what the sheets say the marks that earlier rounds have seen handed on.
pub(super) fn remember(run: &Run, shelf: &Shelf, records: &mut Records, today: Date) {
    let mut all = all(shelf, &std::mem::take(&mut records.handed_on));
    let listed: BTreeMap<MachineId, &Identity> = known_again::names_listed(&records.records).collect();
    // A mark that stands beside the number of the machine whose it was is that one's again.
    all.retain(|one| {
        let has_it = listed.get(&one.mark);
        has_it.is_none_or(|identity| MachineId::each(identity).all(|name| name != one.from))
    });
    for one in &mut all {
        one.is_news = Days::between(one.on, today) < SAID;
    }
    if run.keeps && (!all.is_empty() || !shelf.noted_changes(NOTE).is_empty()) {
        keep(shelf, &all);
    }
    records.handed_on = all;
}

/// One line of the note: the day, the mark, whose it was, whose it is, and instead of which mark, with tabs between.
fn written(one: &HandedOn) -> String {
    let HandedOn { mark, from, to, instead_of, on, is_news: _ } = one;
    let name = |name: &Option<MachineId>| plain(name.as_ref().map_or("", MachineId::as_str));
    format!("{on}\t{}\t{}\t{}\t{}\n", plain(mark.as_str()), plain(from.as_str()), name(to), name(instead_of))
}

/// Reads the note; a line that is none is passed over.
fn read(note: &str) -> Vec<HandedOn> {
    let line = |line: &str| {
        let mut parts = line.splitn(5, '\t');
        let on = parts.next()?.parse().ok()?;
        let (mark, from) = (MachineId::kept(parts.next()?), MachineId::kept(parts.next()?));
        let mut name = || parts.next().filter(|name| !name.is_empty()).map(MachineId::kept);
        Some(HandedOn { mark, from, to: name(), instead_of: name(), on, is_news: false })
    };
    note.lines().filter_map(line).collect()
}
