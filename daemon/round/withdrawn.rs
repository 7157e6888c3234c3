//! What a sheet has taken back of what it said counts no more: what it had settled is open again, and that is told once.

use std::collections::{BTreeSet, HashSet};
use std::fmt::Write as _;
use std::io;

use jiff::civil::Date;

use super::intake::Intake;
use super::{Run, Tells, keeping};
use crate::ledger::{Content, Ledger, contents};
use crate::origin::Origin;
use crate::problem::{Place, Problem, Spot};
use crate::units::shown_day;
use crate::watch::Shelf;
use crate::yard::{self, CheckResult, How, Identity, Record, SheetSide, Withdrawn, parts};

/// Under this name the shelf has what was taken back, until it is kept and told.
const TAKEN_BACK: &str = "taken back by sheets";

/// The most bytes of that note: what is kept of a day's corrections is a few hundred.
const NOTE_BYTES_MAX: usize = 60 * 1024;

/// So much of one sheet is no day's corrections. Our decision.
const MOST_AT_ONCE: usize = 100;

/// One thing that a sheet has taken back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Line {
    /// What it was, as the ledger knows it.
    content: Content,
    place: Place,
    /// What to say of it; nothing where what stands there now says all of it, and more.
    what: String,
    /// The day whose morning letter tells it.
    told: Option<Date>,
}

/// What a sheet has taken back since its last export, which was written on that day. Where it is more than a day's
/// corrections nothing is taken back, and a problem says so.
pub(super) fn lines(
    before: &SheetSide<'_>,
    now: &SheetSide<'_>,
    until: Date,
) -> Result<Vec<Line>, Box<Problem>> {
    let still: HashSet<Content> = contents(now.said).map(|(content, _)| content).collect();
    let had: Vec<(Content, _)> = contents(before.said).collect();
    let gone: Vec<_> = had.iter().filter(|(content, _)| !still.contains(content)).copied().collect();
    let had: HashSet<Content> = had.into_iter().map(|(content, _)| content).collect();
    let new = contents(now.said).filter(|(content, _)| !had.contains(content));
    let new: Vec<_> = new.map(|(_, said)| said).collect();
    let said: Vec<_> = gone.iter().map(|(_, said)| *said).collect();
    let withdrawn = yard::withdrawn((before, now), &said, &new);
    if withdrawn.len() > MOST_AT_ONCE {
        return Err(Box::new(too_many(now, withdrawn.len(), until)));
    }
    let line = |withdrawn: Withdrawn<'_>| {
        let (content, _) = gone.iter().find(|(_, said)| std::ptr::eq(*said, withdrawn.said))?;
        let (identity, record) = withdrawn.said;
        let (what, cell) = words(identity, record, withdrawn.how, until)?;
        Some(Line { content: *content, place: Place::from(&cell), what, told: None })
    };
    Ok(withdrawn.into_iter().filter_map(line).collect())
}

fn too_many(now: &SheetSide<'_>, count: usize, until: Date) -> Problem {
    let what = format!(
        "{} that this sheet told of until {} stand there no more, or say something else, which is more than a day's \
         corrections: they count on",
        format_args!("{count} checks, rides or services"),
        shown_day(until)
    );
    let help = "Look whether it is the right export. What is done by mistake among them must be taken out a few at a time.";
    Problem::error(now.table.whole(), what, help)
}

/// The cells of a sheet in which it stands in words that a check is not done.
pub(super) fn said_no(side: &SheetSide<'_>) -> HashSet<Origin> {
    let results = side.said.records.iter().filter_map(|(_, record)| match record {
        Record::Check(check) if check.result.value == CheckResult::NotDone => Some(&check.result.origin),
        _ => None,
    });
    let cells: BTreeSet<&Origin> = results.collect();
    let rows: BTreeSet<u32> = cells.iter().map(|cell| cell.row).collect();
    let rows = side.table.rows().iter().filter(|row| rows.contains(&row.number));
    let mut said = HashSet::new();
    for row in rows {
        let in_row = cells.iter().filter(|cell| cell.row == row.number);
        said.extend(
            in_row.filter(|cell| !row.cell(cell.column as usize).is_blank()).map(|cell| (*cell).clone()),
        );
    }
    said
}

/// What is said of something that was taken back, and where it stood.
fn words(identity: &Identity, record: &Record, how: How, until: Date) -> Option<(String, Origin)> {
    let cell =
        parts(record).into_iter().find(|part| matches!(part.what, "result" | "done" | "clock" | "distance"));
    let cell = cell.map_or_else(|| identity.cell().cloned(), |part| Some(part.cell.clone()))?;
    let thing = match record {
        Record::Check(check) => check.item.value.as_str(),
        Record::Job(job) => job.done.value.as_str(),
        Record::Ride(_) => "ride",
        Record::Reading(_) => "reading",
        Record::Machine(_) | Record::Fill(_) => return None,
    };
    let of = record.day().map(|day| format!(" of {}", shown_day(day))).unwrap_or_default();
    let now = match how {
        How::Blank => "is blank or says no now",
        How::Otherwise => "is another one now",
        How::RowGone => "is gone with its row",
        How::Moved => "stands in another machine's row now",
        How::Fuller => return Some((String::new(), cell)),
    };
    let then = match record {
        Record::Reading(_) => "it counts no more",
        _ => "it counts no more, and what it had settled is open again",
    };
    let until = shown_day(until);
    let what = format!("{}: the {thing}{of} stood here until {until}, and {now}: {then}", identity.shown());
    Some((plain(&what), cell))
}

/// Notes what sheets have taken back, before their new copies take the place of those that said it.
pub(super) fn note_down(shelf: &Shelf, found: &[Line]) -> io::Result<()> {
    if found.is_empty() {
        return Ok(());
    }
    let mut lines = read(&shelf.noted_changes(TAKEN_BACK));
    add(&mut lines, found);
    write(shelf, &lines)
}

fn add(lines: &mut Vec<Line>, found: &[Line]) {
    for line in found {
        if lines.iter().all(|noted| noted.content != line.content) {
            lines.push(line.clone());
        }
    }
}

fn write(shelf: &Shelf, lines: &[Line]) -> io::Result<()> {
    let note: String = lines.iter().map(written).collect();
    if note.len() > NOTE_BYTES_MAX {
        return Err(io::Error::other("it is more than a day's corrections"));
    }
    shelf.note_changes(TAKEN_BACK, &note)
}

/// Has what sheets have taken back count no more, fills in what their rows only lack for want of a column, and adds
/// what is to be told: today where a morning letter tells it, else until one does.
pub(super) fn withdraw(run: &Run, ledger: &mut Ledger, intake: &mut Intake, today: Date) {
    let shelf = Shelf::at(run.folder.shelf(), run.keeps);
    let mut problems = Vec::new();
    let mut lines = read(&shelf.noted_changes(TAKEN_BACK));
    add(&mut lines, &intake.withdrawn);
    let said: HashSet<Content> = contents(&intake.records).map(|(content, _)| content).collect();
    lines.retain(|line| !said.contains(&line.content));
    let last_told = ledger.last_told_before(today).ok().flatten();
    match ledger.withdraw(lines.iter().map(|line| line.content)) {
        Ok(known) => lines.retain(|line| match known.get(&line.content) {
            None => !ledger.outlives_the_round(),
            Some(is_kept) => !is_kept || line.told.is_none_or(|told| told >= today || last_told < Some(told)),
        }),
        Err(failure) => problems.push(keeping::as_problem(&failure)),
    }
    let is_told = matches!(run.tells, Tells::Morning | Tells::MorningAgain);
    for line in lines.iter_mut().filter(|line| is_told && line.told.is_none_or(|told| told < today)) {
        line.told = Some(today);
    }
    if run.keeps && ledger.outlives_the_round() {
        problems.extend(write(&shelf, &lines).err().map(|cause| not_noted(&cause)));
    }
    problems.extend(lines.into_iter().filter(|line| !line.what.is_empty()).map(as_problem));
    match ledger.completed(&intake.records, &intake.said_no) {
        Ok(completed) => intake.records = completed,
        Err(failure) => problems.push(keeping::as_problem(&failure)),
    }
    intake.problems.extend(problems);
}

fn as_problem(line: Line) -> Problem {
    let help = "If that is right, do nothing. If not, write it there again: then it counts again.";
    Problem::note(line.place, line.what, help)
}

pub(super) fn not_noted(cause: &io::Error) -> Problem {
    Problem::error(
        Place::file("kept/exports"),
        format!("what sheets have taken back cannot be noted, and may count on: {cause}"),
        "See that the disk has room and may be written to, and look whether what is called done is done.",
    )
}

/// A text on one line and without tabs.
fn plain(text: &str) -> String {
    text.replace(|letter: char| letter.is_control(), " ")
}

/// One line of the note: the day told, the content, file, worksheet, row, column and what is to be said, with tabs between.
fn written(line: &Line) -> String {
    let Line { content, place, what, told } = line;
    let told = told.map_or_else(|| "not told".to_owned(), |day| day.to_string());
    let mut figures = String::new();
    for byte in content {
        let _ = write!(figures, "{byte:02x}");
    }
    let (row, column) = match place.spot {
        Spot::Cell { row, column } => (row, column),
        Spot::Whole | Spot::Text { .. } => (0, 0),
    };
    let (file, sheet) = (plain(&place.file), plain(place.sheet.as_deref().unwrap_or_default()));
    format!("{told}\t{figures}\t{file}\t{sheet}\t{row}\t{column}\t{what}\n")
}

/// Reads the note; a line that is none is passed over.
fn read(note: &str) -> Vec<Line> {
    let line = |line: &str| {
        let mut parts = line.splitn(7, '\t');
        let told = parts.next()?.parse().ok();
        let figures = parts.next()?;
        let mut content: Content = [0; 32];
        for (place, byte) in content.iter_mut().enumerate() {
            *byte = u8::from_str_radix(figures.get(2 * place..2 * place + 2)?, 16).ok()?;
        }
        let (file, sheet) = (parts.next()?.to_owned(), parts.next()?);
        let sheet = (!sheet.is_empty()).then(|| sheet.to_owned());
        let spot = Spot::Cell { row: parts.next()?.parse().ok()?, column: parts.next()?.parse().ok()? };
        Some(Line { content, place: Place { file, sheet, spot }, what: parts.next()?.to_owned(), told })
    };
    note.lines().filter_map(line).collect()
}
