//! What stood in a row and stands in a column that is gone or empty now still stands: an event is one, however much of
//! its row is read.

use std::collections::{HashMap, HashSet};

use rusqlite::Connection;

use super::corrections::SaidToday;
use super::failure::Trouble;
use super::records::{self, Content, contents};
use crate::origin::{Origin, SheetName};
use crate::yard::{CheckResult, Identity, Record, Records, parts};

/// Today's records, with what their rows said once and do not say any more. What was taken back or was let go is not among
/// it, nor is a result in whose cell a no stands in words.
pub(super) fn completed(
    connection: &Connection,
    current: &Records,
    said_no: &HashSet<Origin>,
    withdrawing: &HashSet<Content>,
) -> Result<Records, Trouble> {
    let said_today: Vec<SaidToday<'_>> = contents(current).collect();
    let known = records::known(connection)?;
    let mut completed = current.clone();
    // Only what was never said is completed by what was.
    if said_today.iter().all(|(content, _)| known.contains_key(content)) {
        return Ok(completed);
    }
    let mut before = Before::read(connection, &said_today, withdrawing)?;
    let mut is_new = said_today.iter().map(|(content, _)| !known.contains_key(content));
    for said in &mut completed.records {
        // Rows about the machine itself have no content.
        let is_new = records::kind(&said.1).is_some() && is_new.next().unwrap_or(false);
        if let Some(was) = is_new.then(|| before.take(said, said_no)).flatten() {
            complete(&mut said.1, was);
        }
    }
    Ok(completed)
}

/// A sheet, and a name that a row of it gives its machine: which of its names, and the name.
type Named = (SheetName, usize, String);

/// What sheets said once, counts still, and is not said so today.
struct Before {
    said: Vec<Option<(Identity, Record)>>,
    by_name: HashMap<Named, Vec<usize>>,
}

impl Before {
    fn read(
        connection: &Connection,
        said_today: &[SaidToday<'_>],
        withdrawing: &HashSet<Content>,
    ) -> Result<Before, Trouble> {
        let contents_today: HashSet<&Content> = said_today.iter().map(|(content, _)| content).collect();
        let (_, unsaid) = records::known_and_unsaid(connection, &contents_today, "")?;
        let mut before = Before { said: Vec::new(), by_name: HashMap::new() };
        for kept in &unsaid {
            let Some(sheet) = kept.said.0.cell().map(|cell| &*cell.name) else { continue };
            if kept.is_let_go || kept.is_withdrawn || withdrawing.contains(&kept.content) {
                continue;
            }
            for named in named(sheet, &kept.said.0) {
                before.by_name.entry(named).or_default().push(before.said.len());
            }
            before.said.push(Some(kept.said.clone()));
        }
        Ok(before)
    }

    /// What a row said before that says less now; each counts for one row.
    fn take(&mut self, now: &(Identity, Record), said_no: &HashSet<Origin>) -> Option<Record> {
        let cell = now.0.cell()?;
        let there = named(&cell.name, &now.0).filter_map(|named| self.by_name.get(&named)).flatten();
        let says_less = |place: &&usize| {
            self.said[**place].as_ref().is_some_and(|was| says_less(&now.1, &was.1, said_no))
        };
        let stood_here = |place: usize| {
            let was = self.said[place].as_ref().and_then(|(identity, _)| identity.cell());
            was.is_some_and(|was| was.row == cell.row)
        };
        let found = there.filter(says_less).copied();
        let place = found.min_by_key(|place| (!stood_here(*place), *place))?;
        Some(self.said[place].take()?.1)
    }
}

/// The names that a row of a sheet gives its machine.
fn named<'i>(sheet: &'i SheetName, identity: &'i Identity) -> impl Iterator<Item = Named> + 'i {
    let names = identity.names().into_iter().enumerate();
    names.filter_map(|(kind, name)| Some((sheet.clone(), kind, name?.to_owned())))
}

/// Whether a record says nothing else than another one, and less.
fn says_less(now: &Record, was: &Record, said_no: &HashSet<Origin>) -> bool {
    let is_blank = match now {
        Record::Check(check) => {
            check.result.value == CheckResult::NotDone && !said_no.contains(&check.result.origin)
        }
        _ => false,
    };
    let said = parts(was);
    let is_said = |part: &crate::yard::Part<'_>| {
        (is_blank && part.what == "result")
            || said.iter().any(|other| other.what == part.what && other.value == part.value)
    };
    let says = parts(now);
    let same_kind = records::kind(now) == records::kind(was);
    let is_not_done = matches!(was, Record::Check(check) if check.result.value == CheckResult::NotDone);
    same_kind && says.iter().all(is_said) && (says.len() < said.len() || (is_blank && !is_not_done))
}

/// Fills in what a record does not say.
fn complete(now: &mut Record, was: Record) {
    fn or<T>(now: &mut Option<T>, was: Option<T>) {
        if now.is_none() {
            *now = was;
        }
    }
    match (now, was) {
        (Record::Job(now), Record::Job(was)) => {
            or(&mut now.day, was.day);
            or(&mut now.clock, was.clock);
            or(&mut now.oil, was.oil);
            or(&mut now.by, was.by);
        }
        (Record::Check(now), Record::Check(was)) => {
            or(&mut now.day, was.day);
            or(&mut now.by, was.by);
            now.result = was.result;
        }
        (Record::Ride(now), Record::Ride(was)) => {
            or(&mut now.day, was.day);
            or(&mut now.distance, was.distance);
            or(&mut now.top_speed, was.top_speed);
            or(&mut now.speed_source, was.speed_source);
            or(&mut now.clock, was.clock);
            or(&mut now.by, was.by);
        }
        (Record::Fill(now), Record::Fill(was)) => {
            or(&mut now.day, was.day);
            or(&mut now.clock, was.clock);
            or(&mut now.volume, was.volume);
            or(&mut now.grade, was.grade);
            or(&mut now.full, was.full);
        }
        _ => {}
    }
}
