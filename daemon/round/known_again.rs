//! What machines were known by before their rows said something else, remembered from round to round.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::Run;
use crate::ledger::Misnamed;
use crate::problem::{Place, Problem};
use crate::units::{Days, shown_day};
use crate::watch::Shelf;
use crate::yard::{Identity, KnownAs, MachineId, Mark, Record, Records};

/// Under this name the shelf has them.
const NOTE: &str = "names before";

/// The most names that are remembered, so that the note stays small.
const REMEMBERED: usize = 1_000;

/// For how many days it is said that a machine goes by another name: a slip is corrected by then. Our decision.
const SAID: Days = Days(7);

/// For how long a name is remembered of a machine that no sheet lists meanwhile. Our decision.
const UNLISTED: Days = Days(60);

/// Since when a name is not given any more, and when its machine was listed last.
struct Remembered {
    since: Date,
    listed: Date,
    known: KnownAs,
}

/// Notes what has been found so far, so that a round that ends here loses nothing.
pub(super) fn note(run: &Run, shelf: &Shelf, records: &Records, today: Date) {
    if run.keeps && !records.known_as.is_empty() {
        keep(shelf, &all(shelf, &records.known_as, today));
    }
}

/// What is remembered, and what has been found today.
fn all(shelf: &Shelf, found: &[KnownAs], today: Date) -> Vec<Remembered> {
    let mut remembered = read(&shelf.noted_changes(NOTE));
    for known in found {
        if remembered.iter().all(|other| other.known != *known) {
            remembered.push(Remembered { since: today, listed: today, known: known.clone() });
        }
    }
    remembered
}

fn keep(shelf: &Shelf, remembered: &[Remembered]) {
    let newest = remembered.len().saturating_sub(REMEMBERED);
    let note: String = remembered[newest..].iter().map(written).collect();
    // Where it cannot be noted, what keeps the shelf from being written is said already.
    let _ = shelf.note_changes(NOTE, &note);
}

/// Adds to what the sheets say the names that earlier rounds have seen, and tells of the new ones. A name that a row gives
/// again needs nothing.
pub(super) fn remember(
    run: &Run,
    shelf: &Shelf,
    (records, problems): (&mut Records, &mut Vec<Problem>),
    today: Date,
) {
    let mut remembered = all(shelf, &std::mem::take(&mut records.known_as), today);
    if remembered.is_empty() {
        return;
    }
    let mut listed: BTreeMap<MachineId, &Identity> = BTreeMap::new();
    for (identity, _) in records.records.iter().filter(|(_, record)| matches!(record, Record::Machine(_))) {
        listed.extend(MachineId::each(identity).map(|name| (name, identity)));
    }
    let put_right: Vec<Remembered> =
        remembered.extract_if(.., |one| listed.contains_key(&one.known.was)).collect();
    remembered.retain(|one| Days::between(one.listed, today) <= UNLISTED);
    for one in &mut remembered {
        // The wrong name of a machine that has its right one again is no news.
        let is_of = |right: &Remembered| [&one.known.by, &one.known.was].contains(&&right.known.by);
        if one.since == today && put_right.iter().any(is_of) {
            one.since = SAID.before(today).unwrap_or(today);
        }
        let Some(identity) = listed.get(&one.known.by) else { continue };
        one.listed = today;
        if Days::between(one.since, today) < SAID {
            problems.extend(said(one, identity));
        }
    }
    let is_listed = |one: &&Remembered| listed.contains_key(&one.known.by);
    let known_as: Vec<KnownAs> = remembered.iter().filter(is_listed).map(|one| one.known.clone()).collect();
    records.known_as = known_as;
    if run.keeps {
        keep(shelf, &remembered);
    }
}

/// What each such name means today, so that what was found under it is found of the same machine.
pub(super) fn names_now(records: &Records) -> Misnamed {
    let mut now = Misnamed::new();
    if records.known_as.is_empty() {
        return now;
    }
    let rows = records.records.iter().filter(|(_, record)| matches!(record, Record::Machine(_)));
    let rows: Vec<&Identity> = rows.map(|(identity, _)| identity).collect();
    for KnownAs { was, by } in &records.known_as {
        let row = rows.iter().find(|identity| MachineId::each(identity).any(|name| name == *by));
        now.extend(row.map(|identity| (was.clone(), Some((*identity).clone()))));
    }
    now
}

/// What is said of a name that is another one now; one that is only blank is missed by nobody while it still counts.
fn said(one: &Remembered, identity: &Identity) -> Option<Problem> {
    let was = one.known.was.bare();
    let is_blank = match one.known.was.as_str().split(' ').next() {
        Some("frame") => identity.frame_no.is_none(),
        Some("stock") => identity.stock_no.is_none(),
        _ => identity.mark.is_none(),
    };
    if is_blank {
        return None;
    }
    let mark = Mark::new(was).filter(|_| one.known.was.as_str().starts_with("mark "));
    let was = mark.map_or_else(|| was.to_owned(), |mark| mark.to_string());
    let what = format!(
        "this machine was known as {was} until {}, and no list has that now; what is said of {was} elsewhere still counts \
         for it",
        shown_day(one.since)
    );
    let help =
        "If that is a slip, correct the cell; if it has got another name, use it in the other sheets, too.";
    Some(Problem::note(Place::from(identity.cell()?), what, help).with_value(identity.shown()))
}

/// One line of the note: the two days and the two names, with tabs between.
fn written(one: &Remembered) -> String {
    let Remembered { since, listed, known: KnownAs { was, by } } = one;
    let plain = |name: &MachineId| name.as_str().replace(|letter: char| letter.is_control(), " ");
    format!("{since}\t{listed}\t{}\t{}\n", plain(was), plain(by))
}

/// Reads the note; a line that is none is passed over.
fn read(note: &str) -> Vec<Remembered> {
    let line = |line: &str| {
        let mut parts = line.splitn(4, '\t');
        let (since, listed) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
        let (was, by) = (MachineId::kept(parts.next()?), MachineId::kept(parts.next()?));
        Some(Remembered { since, listed, known: KnownAs { was, by } })
    };
    note.lines().filter_map(line).collect()
}
