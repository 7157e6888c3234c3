//! What machines were known by before their rows said something else, remembered from round to round.

use std::collections::{BTreeMap, HashSet};

use jiff::civil::Date;

use super::Run;
use super::open_changes::plain;
use crate::ledger::Misnamed;
use crate::problem::{Place, Problem, Spot, counted};
use crate::units::{Days, shown_day};
use crate::watch::{CHANGES_BYTES_MAX, Shelf};
use crate::yard::{HandedOn, Identity, KnownAs, MachineId, Mark, Record, Records, Sureness};

/// Under this name the shelf has them.
const NOTE: &str = "names before";

/// The most bytes of the note: what is longer is not read again.
const NOTE_BYTES: usize = CHANGES_BYTES_MAX;

/// Behind the day on which names were found that it has no room for.
const NO_ROOM: &str = "no room";

/// So many machines are named that go by another name; the others are counted. Our decision.
const NAMED: usize = 12;

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
        keep(shelf, &all(shelf, &records.known_as, today), (NOTE_BYTES, today));
    }
}

/// What is remembered, and what has been found today.
fn all(shelf: &Shelf, found: &[KnownAs], today: Date) -> Vec<Remembered> {
    let mut remembered = read(&shelf.noted_changes(NOTE));
    let mut names: HashSet<(MachineId, MachineId)> =
        remembered.iter().map(|one| (one.known.was.clone(), one.known.by.clone())).collect();
    for known in found {
        if names.insert((known.was.clone(), known.by.clone())) {
            // What was known by the name that is gone now goes with it.
            for one in remembered.iter_mut().filter(|one| one.known.by == known.was) {
                if one.known.was != known.by {
                    one.known.by = known.by.clone();
                    one.known.sureness = one.known.sureness.max(known.sureness);
                }
            }
            remembered.push(Remembered { since: today, listed: today, known: known.clone() });
        }
    }
    remembered
}

/// Notes the newest of them, as many as there is room for; gives since when there has been none for all.
fn keep(shelf: &Shelf, remembered: &[Remembered], (bytes_most, today): (usize, Date)) -> Option<Date> {
    let first_line = |day: Date| format!("{day}\t{NO_ROOM}\n");
    let mut room = bytes_most.saturating_sub(first_line(today).len());
    let lines: Vec<String> = remembered.iter().map(written).collect();
    let fits = |line: &&String| {
        let is_room = line.len() <= room;
        room = room.saturating_sub(line.len());
        is_room
    };
    let kept = lines.iter().rev().take_while(fits).count();
    let before = no_room(&shelf.noted_changes(NOTE));
    let is_news = |day: &Date| !lines.is_empty() && Days::between(*day, today) < SAID;
    let since = before.filter(is_news).or_else(|| (kept < lines.len()).then_some(today));
    let note = [since.map(first_line).unwrap_or_default(), lines[lines.len() - kept..].concat()].concat();
    // Where it cannot be noted, what keeps the shelf from being written is said already.
    let _ = shelf.note_changes(NOTE, &note);
    since
}

/// Since when there has been no room for all names.
fn no_room(note: &str) -> Option<Date> {
    note.lines().next()?.strip_suffix(NO_ROOM)?.trim_end().parse().ok()
}

/// Adds to what the sheets say the names that earlier rounds have seen, and tells of the new ones. A name that a row gives
/// again needs nothing.
pub(super) fn remember(
    run: &Run,
    shelf: &Shelf,
    (records, problems): (&mut Records, &mut Vec<Problem>),
    (gone, today): (&[String], Date),
) {
    let mut remembered = all(shelf, &std::mem::take(&mut records.known_as), today);
    if remembered.is_empty() {
        return;
    }
    let listed: BTreeMap<MachineId, &Identity> = names_listed(&records.records).collect();
    let put_right: Vec<Remembered> =
        remembered.extract_if(.., |one| listed.contains_key(&one.known.was)).collect();
    // A mark that was taken off one machine and stands at another one now.
    let found: Vec<MachineId> = records.handed_on.iter().map(|one| one.mark.clone()).collect();
    let handed = put_right.iter().filter_map(|one| handed_on(one, &listed, today));
    records.handed_on.extend(handed.filter(|one| !found.contains(&one.mark) && !found.contains(&one.from)));
    let mut told = Vec::new();
    remembered.retain(|one| {
        Days::between(one.listed, today) <= UNLISTED && !gone.iter().any(|name| one.known.was.is_called(name))
    });
    let elsewhere: HashSet<MachineId> = records
        .records
        .iter()
        .filter(|(_, record)| !matches!(record, Record::Machine(_)))
        .flat_map(|(identity, _)| MachineId::each(identity))
        .collect();
    for one in &mut remembered {
        // The wrong name of a machine that has its right one again is no news.
        let is_of = |right: &Remembered| [&one.known.by, &one.known.was].contains(&&right.known.by);
        if one.since == today && put_right.iter().any(is_of) {
            one.since = SAID.before(today).unwrap_or(today);
        }
        // What was likely another mark, and is put back, was one.
        if put_right
            .iter()
            .any(|right| (&right.known.was, &right.known.by) == (&one.known.by, &one.known.was))
        {
            one.known.sureness = Sureness::Named;
        }
        let Some(identity) = listed.get(&one.known.by) else { continue };
        one.listed = today;
        if Days::between(one.since, today) < SAID {
            let is_elsewhere = elsewhere.contains(&one.known.was);
            told.push((&*one, *identity, is_elsewhere));
        }
    }
    let more = told.iter().skip(NAMED).count();
    problems.extend(
        told.iter()
            .take(NAMED)
            .filter_map(|(one, identity, is_elsewhere)| said(one, identity, *is_elsewhere)),
    );
    problems.extend(told.get(NAMED).and_then(|(_, identity, _)| and_more(more, identity)));
    let is_listed =
        |one: &&Remembered| one.known.sureness != Sureness::Likely && listed.contains_key(&one.known.by);
    let known_as: Vec<KnownAs> = remembered.iter().filter(is_listed).map(|one| one.known.clone()).collect();
    records.known_as = known_as;
    if run.keeps && keep(shelf, &remembered, (NOTE_BYTES, today)).is_some() {
        problems.extend(listed.values().next().and_then(|identity| not_all(identity)));
    }
}

/// The mark that a machine had before, where another one has it now.
fn handed_on(one: &Remembered, listed: &BTreeMap<MachineId, &Identity>, today: Date) -> Option<HandedOn> {
    let KnownAs { was, by, .. } = &one.known;
    let (has_it, had_it) = (listed.get(was)?, listed.get(by)?);
    let is_other = !MachineId::each(has_it).any(|name| name == *by) && !has_it.shares_a_name(had_it);
    let is_mark = was.as_str().starts_with("mark ");
    (is_mark && is_other).then(|| HandedOn {
        mark: was.clone(),
        from: by.clone(),
        to: None,
        instead_of: None,
        on: today,
        is_news: true,
    })
}

/// What each such name means today, so that what was found under it is found of the same machine.
pub(super) fn names_now(records: &Records) -> Misnamed {
    let mut now = Misnamed::new();
    if records.known_as.is_empty() {
        return now;
    }
    let mut listed: BTreeMap<MachineId, &Identity> = BTreeMap::new();
    for (name, identity) in names_listed(&records.records) {
        listed.entry(name).or_insert(identity);
    }
    for KnownAs { was, by, .. } in &records.known_as {
        now.extend(listed.get(by).map(|identity| (was.clone(), Some((*identity).clone()))));
    }
    now
}

/// The names that the rows of machines give, each with all that its row calls the machine.
pub(super) fn names_listed(records: &[(Identity, Record)]) -> impl Iterator<Item = (MachineId, &Identity)> {
    let rows = records.iter().filter(|(_, record)| matches!(record, Record::Machine(_)));
    rows.flat_map(|(identity, _)| MachineId::each(identity).map(move |name| (name, identity)))
}

/// What is said of a name that is another one now; a stock number that is blank is one that was taken away, as of a machine that
/// is sold.
fn said(one: &Remembered, identity: &Identity, is_elsewhere: bool) -> Option<Problem> {
    let was = one.known.was.bare();
    let is_blank = one.known.was.as_str().starts_with("stock ") && identity.stock_no.is_none();
    if is_blank || (one.known.sureness == Sureness::Likely && !is_elsewhere) {
        return None;
    }
    let mark = Mark::new(was).filter(|_| one.known.was.as_str().starts_with("mark "));
    let was = mark.map_or_else(|| was.to_owned(), |mark| mark.to_string());
    // Where nothing else names it any more it was corrected everywhere.
    if one.known.sureness != Sureness::Named && is_elsewhere {
        return another_mark(one, &was, identity);
    }
    let what = format!(
        "this machine was known as {was} until {}, and no list has that now; what is said of {was} elsewhere still counts \
         for it",
        shown_day(one.since)
    );
    let help =
        "If that is a slip, correct the cell; if it has got another name, use it in the other sheets, too.";
    Some(Problem::note(Place::from(identity.cell()?), what, help).with_value(identity.shown()))
}

/// What is said of a row that has another mark and says all the rest as before.
fn another_mark(one: &Remembered, was: &str, identity: &Identity) -> Option<Problem> {
    let is = identity.shown();
    let (why, counts, help) = match one.known.sureness {
        Sureness::Likely => (
            "its customer",
            format!("what is said of {was} elsewhere does not count for it"),
            format!(
                "If it is the same machine, write {is} in the place of {was} in the other sheets, too: then it does."
            ),
        ),
        Sureness::Rest | Sureness::Named => (
            "all the rest of its row",
            format!("what is said of {was} elsewhere counts for it"),
            format!(
                "If that is right, write {is} in the other sheets, too. If it is another machine, write `gone = [{was:?}]` under \
                 [shop] in tickover.toml: then it counts no more."
            ),
        ),
    };
    let what = format!(
        "this looks like the machine that was {was} until {}, under another mark: {why} is as before, and no list has {was} \
         now; {counts}",
        shown_day(one.since)
    );
    let problem = Problem::note(Place::from(identity.cell()?), what, help).with_value(is);
    Some(Problem { hides_what_is_due: true, ..problem })
}

/// That more machines go by another name than are named.
fn and_more(more: usize, identity: &Identity) -> Option<Problem> {
    let what = format!(
        "{} {} known by another name until lately, and no list has that now; what is said under it elsewhere still counts",
        counted(more, "more machine"),
        if more == 1 { "was" } else { "were" }
    );
    let help = "If the list was numbered anew, use the new names in the other sheets, too.";
    let cell = identity.cell()?;
    Some(Problem::note(Place { spot: Spot::Whole, ..Place::from(cell) }, what, help))
}

/// That not all names are remembered.
fn not_all(identity: &Identity) -> Option<Problem> {
    let what = "too many machines have got another name at once: not all of the old ones are remembered, and what was done \
                under the others may be rung for as if it had not been";
    let help =
        "If the export is wrong, export it again. Otherwise use the new names in the other sheets, too.";
    let cell = identity.cell()?;
    Some(Problem::error(Place { spot: Spot::Whole, ..Place::from(cell) }, what, help))
}

/// One line of the note: the two days and the two names, with tabs between, and what else than a name shows it.
fn written(one: &Remembered) -> String {
    let Remembered { since, listed, known: KnownAs { was, by, sureness } } = one;
    let by_what = match sureness {
        Sureness::Named => "",
        Sureness::Rest => "\trest",
        Sureness::Likely => "\tlikely",
    };
    format!("{since}\t{listed}\t{}\t{}{by_what}\n", plain(was.as_str()), plain(by.as_str()))
}

/// Reads the note; a line that is none is passed over.
fn read(note: &str) -> Vec<Remembered> {
    let line = |line: &str| {
        let mut parts = line.splitn(5, '\t');
        let (since, listed) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
        let (was, by) = (MachineId::kept(parts.next()?), MachineId::kept(parts.next()?));
        let sureness = match parts.next() {
            None => Sureness::Named,
            Some("rest") => Sureness::Rest,
            Some(_) => Sureness::Likely,
        };
        Some(Remembered { since, listed, known: KnownAs { was, by, sureness } })
    };
    note.lines().filter_map(line).collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn names_for_which_the_note_has_no_room_are_said_for_a_week() {
        let folder = tempfile::tempdir().unwrap();
        let shelf = Shelf::at(folder.path(), true);
        let names = |numbers: std::ops::Range<u32>| -> Vec<KnownAs> {
            let name = |number: u32| MachineId::kept(&format!("stock {number}"));
            numbers
                .map(|number| KnownAs {
                    was: name(number),
                    by: name(number + 5_000),
                    sureness: Sureness::Named,
                })
                .collect()
        };
        let remembered =
            || read(&shelf.noted_changes(NOTE)).into_iter().map(|one| one.known).collect::<Vec<_>>();
        let first = date(2026, 3, 2);
        // The first line takes 19 bytes, and each other one 44.
        let room = 400;
        assert_eq!(keep(&shelf, &all(&shelf, &names(1_000..1_008), first), (room, first)), None);
        assert_eq!(remembered(), names(1_000..1_008));
        // A name that is found again is remembered once.
        assert_eq!(keep(&shelf, &all(&shelf, &names(1_000..1_010), first), (room, first)), Some(first));
        assert_eq!(remembered(), names(1_002..1_010));
        for (day, since) in [(date(2026, 3, 8), Some(first)), (date(2026, 3, 9), None)] {
            assert_eq!(keep(&shelf, &all(&shelf, &[], day), (room, day)), since, "{day}");
        }
    }
}
