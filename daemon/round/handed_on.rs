//! Marks that were handed on from one machine to another, remembered from round to round: what was done under one before
//! that day stays with the machine whose it was.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::open_changes::plain;
use super::{Run, known_again};
use crate::problem::{Place, Problem};
use crate::units::{Days, shown_day};
use crate::watch::{CHANGES_BYTES_MAX, Shelf};
use crate::yard::{Former, HandedOn, Identity, MachineId, Mark, Record, Records};

/// Under this name the shelf has them.
const NOTE: &str = "marks handed on";

/// For how many days it is said. Our decision.
const SAID: Days = Days(7);

/// Notes what has been found so far, so that a round that ends here loses nothing.
pub(super) fn note(run: &Run, shelf: &Shelf, records: &Records) {
    if run.keeps && !records.handed_on.is_empty() {
        keep(shelf, &all(shelf, &records.handed_on));
    }
}

/// Adds to what the sheets say the marks that earlier rounds have seen handed on.
pub(super) fn remember(run: &Run, shelf: &Shelf, records: &mut Records) {
    note(run, shelf, records);
    records.handed_on = all(shelf, &records.handed_on);
}

/// What is remembered, and what has been found today. While the list of before is kept, the same is found again each day:
/// the first day on which it was found stands.
fn all(shelf: &Shelf, found: &[HandedOn]) -> Vec<HandedOn> {
    let mut all = read(&shelf.noted_changes(NOTE));
    for one in found.iter().filter_map(|one| known_before(one.clone(), shelf)) {
        let last = all.iter().rev().find(|other| other.mark == one.mark);
        if last.is_none_or(|last| last.to != one.to) {
            all.push(one);
        }
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

/// A mark with whose it was: where the last list gave it to none, it may have been taken off a machine earlier.
fn known_before(one: HandedOn, shelf: &Shelf) -> Option<HandedOn> {
    match one.from {
        Former::NotListed => {
            let from = known_again::machine_with(shelf, &one.mark).filter(|from| *from != one.to)?;
            Some(HandedOn { from: Former::Machine(from), ..one })
        }
        Former::Machine(_) | Former::Unknown => Some(one),
    }
}

/// What is said of them, for a week.
pub(super) fn problems(records: &Records, today: Date) -> Vec<Problem> {
    let rows = records.records.iter().filter(|(_, record)| matches!(record, Record::Machine(_)));
    let mut listed: BTreeMap<MachineId, &Identity> = BTreeMap::new();
    for (identity, _) in rows {
        listed.extend(MachineId::each(identity).map(|name| (name, identity)));
    }
    let is_news = |one: &&HandedOn| Days::between(one.on, today) < SAID;
    let said = |one: &HandedOn| {
        let identity =
            listed.get(&one.mark).filter(|identity| MachineId::each(identity).any(|name| name == one.to))?;
        let mark =
            Mark::new(one.mark.bare()).map_or_else(|| one.mark.bare().to_owned(), |mark| mark.to_string());
        let former = match &one.from {
            Former::Machine(from) => listed.get(from).map(|identity| identity.shown()),
            Former::Unknown | Former::NotListed => None,
        };
        let day = shown_day(one.on);
        let (whose, counts) = match former {
            Some(former) => (former.clone(), format!("counts for {former} still")),
            None => {
                ("another machine".to_owned(), "counts for none, as nobody can tell whose it is".to_owned())
            }
        };
        let what = format!(
            "this mark was that of {whose} until {day}: what was written down under it before {counts}"
        );
        let help = "If that is right, do nothing. What is of another machine needs its frame number or stock number beside it.";
        Some(Problem::note(Place::from(identity.cell()?), what, help).with_value(mark))
    };
    records.handed_on.iter().filter(is_news).filter_map(said).collect()
}

/// One line of the note: the day, the mark, whose it was and whose it is, with tabs between.
fn written(one: &HandedOn) -> String {
    let HandedOn { mark, from, to, on } = one;
    let from = match from {
        Former::Machine(from) => plain(from.as_str()),
        Former::Unknown | Former::NotListed => String::new(),
    };
    format!("{on}\t{}\t{from}\t{}\n", plain(mark.as_str()), plain(to.as_str()))
}

/// Reads the note; a line that is none is passed over.
fn read(note: &str) -> Vec<HandedOn> {
    let line = |line: &str| {
        let mut parts = line.splitn(4, '\t');
        let (on, mark) = (parts.next()?.parse().ok()?, MachineId::kept(parts.next()?));
        let from = match parts.next()? {
            "" => Former::Unknown,
            from => Former::Machine(MachineId::kept(from)),
        };
        Some(HandedOn { mark, from, to: MachineId::kept(parts.next()?), on })
    };
    note.lines().filter_map(line).collect()
}
