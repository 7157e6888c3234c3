//! What a sheet has taken back of what it said counts no more: what it had settled is open again, and that is told once.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::fmt::Write as _;
use std::io;
use std::sync::Arc;

use jiff::civil::Date;

use super::gone::without_figures;
use super::intake::Intake;
use super::open_changes::plain;
use super::{Run, Tells, keeping};
use crate::ledger::{Content, Ledger, LedgerFailure, Unsaid, contents};
use crate::origin::{Origin, SheetName};
use crate::problem::{Place, Problem, Spot, counted};
use crate::sheets::Table;
use crate::units::shown_day;
use crate::watch::Shelf;
use crate::yard::{
    self, CheckResult, ColumnsRead, DatedClocks, Fate, How, Identity, Record, Records, RowsLacking,
    SheetToday, Standing, Witness, parts,
};

/// Under this name the shelf has what was taken back, until it is kept and told.
const TAKEN_BACK: &str = "taken back by sheets";

/// The most bytes of that note: what is kept of a day's corrections is a few hundred.
const NOTE_BYTES_MAX: usize = 60 * 1024;

/// So much of one sheet is no day's corrections. Our decision.
const MOST_AT_ONCE: usize = 100;

/// So many readings of one sheet are told one by one; the others are counted. Our decision.
const READINGS_TOLD: usize = 4;

type Said = (Identity, Record);

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

/// A sheet that was read itself, and by which columns it tells what it says.
pub(super) struct SheetTold {
    pub(super) name: Arc<SheetName>,
    /// The name that it had in its last export.
    pub(super) before: Option<Arc<SheetName>>,
    pub(super) columns: ColumnsRead,
    pub(super) rows: RowsLacking,
}

impl SheetTold {
    /// Whether what a sheet of that name said is this one's to take back.
    fn follows(&self, name: &SheetName, intake: &Intake) -> bool {
        let is_earlier = || {
            let own = &self.name;
            let is_of_series = without_figures(&own.file) == without_figures(&name.file);
            let is_in_its_place = intake.in_place.of(&own.file) == Some(&name.file);
            // A text file has no worksheets, and its workbook had some.
            let was_named_so = self.before.as_deref().is_some_and(|before| before.sheet == name.sheet);
            (own.sheet == name.sheet || was_named_so)
                && (is_of_series || is_in_its_place)
                && !intake.present.contains(&name.file)
        };
        *self.name == *name || self.before.as_deref() == Some(name) || is_earlier()
    }
}

/// What sheets have taken back of all that they ever said; where that is more than a day's corrections, a problem.
fn found(ledger: &mut Ledger, intake: &Intake) -> Result<(Vec<Line>, Vec<Problem>), LedgerFailure> {
    let (unsaid, seen) = ledger.unsaid(&intake.records)?;
    let mut said: HashMap<&SheetName, Vec<&Said>> = HashMap::new();
    for one in &intake.records.records[..intake.witnesses.len()] {
        if let Some(cell) = one.0.cell() {
            said.entry(&cell.name).or_default().push(one);
        }
    }
    let mut with_content: HashMap<&SheetName, Vec<(Content, &Said)>> = HashMap::new();
    for (content, one) in contents(&intake.records) {
        if let Some(cell) = one.0.cell() {
            with_content.entry(&cell.name).or_default().push((content, one));
        }
    }
    let mut by_sheet: BTreeMap<&SheetName, Vec<&Unsaid>> = BTreeMap::new();
    for one in &unsaid {
        if let Some(cell) = one.said.0.cell() {
            by_sheet.entry(&cell.name).or_default().push(one);
        }
    }
    let all = intake.records.records.iter().chain(unsaid.iter().map(|one| &one.said));
    let dated_clocks = DatedClocks::of(all);
    let (mut lines, mut problems) = (Vec::new(), Vec::new());
    for told in &intake.told {
        let of_it = by_sheet.iter().filter(|(name, _)| told.follows(name, intake));
        let unsaid: Vec<&Unsaid> = of_it.flat_map(|(_, of_sheet)| of_sheet).copied().collect();
        let with_content = with_content.get(&*told.name).map(Vec::as_slice).unwrap_or_default();
        let seen_on = |content: &Content| seen.get(content).and_then(Option::as_deref);
        let still = with_content.iter().filter_map(|(content, _)| seen_on(content));
        let last_read = still.chain(unsaid.iter().map(|one| one.last_seen.as_str())).max();
        let is_new = |(content, _): &&(Content, &Said)| seen_on(content) < last_read;
        let is_unknown = |(content, _): &&(Content, &Said)| !seen.contains_key(content);
        let new: Vec<&Said> = with_content.iter().filter(is_new).map(|(_, one)| *one).collect();
        let never_said: Vec<&Said> = with_content.iter().filter(is_unknown).map(|(_, one)| *one).collect();
        let standing = unsaid.iter().map(|one| Standing {
            said: &one.said,
            witness: &one.witness,
            is_let_go: one.is_let_go,
            is_of_last: Some(one.last_seen.as_str()) == last_read,
            is_ahead: is_after(one.said.1.day(), &one.last_seen),
        });
        let standing: Vec<Standing<'_>> = standing.collect();
        let said = said.get(&*told.name).map(Vec::as_slice).unwrap_or_default();
        let sheet = SheetToday {
            columns: &told.columns,
            said,
            new: &new,
            never_said: &never_said,
            rows: told.rows,
            dated_clocks: &dated_clocks,
        };
        let fates = yard::fates(&sheet, &standing);
        let let_go = unsaid.iter().zip(&fates).filter(|(_, fate)| **fate == Fate::LetGo);
        ledger.let_go(let_go.map(|(one, _)| one.content));
        match of_sheet(told, unsaid.into_iter().zip(fates)) {
            Ok(of_sheet) => lines.extend(of_sheet),
            Err(problem) => problems.push(*problem),
        }
    }
    Ok((lines, problems))
}

/// Whether a day lies after the one on which a sheet last named it.
fn is_after(day: Option<Date>, last_seen: &str) -> bool {
    day.zip(last_seen.parse().ok()).is_some_and(|(day, seen): (Date, Date)| day > seen)
}

/// What one sheet has taken back. Where it is more than a day's corrections nothing is taken back, and a problem says so.
fn of_sheet<'u>(
    told: &SheetTold,
    fates: impl Iterator<Item = (&'u Unsaid, Fate)>,
) -> Result<Vec<Line>, Box<Problem>> {
    let mut lines: Vec<Line> = Vec::new();
    let (mut readings, mut others, mut last_told) = (0, 0, None);
    for (one, fate) in fates {
        let Fate::TakenBack(how) = fate else { continue };
        let (identity, record) = &one.said;
        let Some(until) = one.last_seen.parse().ok() else { continue };
        let Some((mut what, cell)) = words(identity, record, how, until) else { continue };
        let is_reading = matches!(record, Record::Reading(_));
        readings += usize::from(is_reading);
        // What only says the same in other letters takes back nothing.
        others += usize::from(!is_reading && !what.is_empty());
        match is_reading {
            true if readings > READINGS_TOLD => what.clear(),
            true => last_told = Some(lines.len()),
            false => {}
        }
        lines.push(Line { content: one.content, place: Place::from(&cell), what, told: None });
    }
    // Clocks that were put back as a whole leave no other way out.
    if others > MOST_AT_ONCE {
        return Err(Box::new(too_many(&told.name, others)));
    }
    if let Some(more) = readings.checked_sub(READINGS_TOLD).filter(|more| *more > 0)
        && let Some(last) = last_told
    {
        lines[last]
            .what
            .push_str(&format!("; so it is with {} of this sheet", counted(more, "more reading")));
    }
    Ok(lines)
}

fn too_many(name: &SheetName, count: usize) -> Problem {
    let place = Place { sheet: name.sheet.clone(), ..Place::file(name.file.clone()) };
    let what = format!(
        "{count} checks, rides or services that this sheet told of stand there no more, or say something else, which is \
         more than a day's corrections: they count on"
    );
    let help = "Look whether it is the right export. What is done by mistake among them must be taken out a few at a time.";
    Problem::error(place, what, help)
}

/// The cells of a sheet in which it stands in words that a check is not done.
pub(super) fn said_no(table: &Table, said: &Records) -> HashSet<Origin> {
    let results = said.records.iter().filter_map(|(_, record)| match record {
        Record::Check(check) if check.result.value == CheckResult::NotDone => Some(&check.result.origin),
        _ => None,
    });
    let cells: BTreeSet<&Origin> = results.collect();
    let rows: BTreeSet<u32> = cells.iter().map(|cell| cell.row).collect();
    let rows = table.rows().iter().filter(|row| rows.contains(&row.number));
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
        Record::Fill(_) => "fill",
        Record::Machine(_) => return None,
    };
    let of = record.day().map(|day| format!(" of {}", shown_day(day))).unwrap_or_default();
    let now = match how {
        How::Blank => "is blank or says no now",
        How::Otherwise => "is another one now",
        How::RowGone => "is gone with its row",
        How::Moved => "stands in another machine's row now",
        How::Fuller | How::StandsOnce => return Some((String::new(), cell)),
    };
    let then = match record {
        Record::Reading(_) | Record::Fill(_) => "it counts no more",
        _ => "it counts no more, and what it alone had settled is open again",
    };
    let until = shown_day(until);
    let what = format!("{}: the {thing}{of} stood here until {until}, and {now}: {then}", identity.shown());
    Some((plain(&what), cell))
}

fn add(lines: &mut Vec<Line>, found: &[Line]) {
    for line in found {
        if lines.iter().all(|noted| noted.content != line.content) {
            lines.push(line.clone());
        }
    }
}

fn write(shelf: &Shelf, lines: &[Line]) -> io::Result<()> {
    let (silent, said): (Vec<&Line>, Vec<&Line>) = lines.iter().partition(|line| line.what.is_empty());
    let mut note: String = said.into_iter().map(written).collect();
    if note.len() > NOTE_BYTES_MAX {
        return Err(io::Error::other("it is more than a day's corrections"));
    }
    // Of those that are not told the ledger knows, and the next round would find them again.
    for line in silent.into_iter().map(written) {
        if note.len() + line.len() <= NOTE_BYTES_MAX {
            note.push_str(&line);
        }
    }
    shelf.note_changes(TAKEN_BACK, &note)
}

/// Has what sheets have taken back count no more, fills in what their rows only lack for want of a column, and adds
/// what is to be told: today where a morning letter tells it, else until one does.
pub(super) fn withdraw(run: &Run, ledger: &mut Ledger, intake: &mut Intake, today: Date) {
    let shelf = Shelf::at(run.folder.shelf(), run.keeps);
    let mut problems = Vec::new();
    let mut lines = read(&shelf.noted_changes(TAKEN_BACK));
    match found(ledger, intake) {
        Ok((found, too_many)) => {
            add(&mut lines, &found);
            problems.extend(too_many);
        }
        Err(failure) => problems.push(keeping::as_problem(&failure)),
    }
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
        Ok(completed) => {
            intake.records = completed;
            ledger.note_witnesses(witnesses(intake));
        }
        Err(failure) => problems.push(keeping::as_problem(&failure)),
    }
    intake.problems.extend(problems);
}

/// By which columns today's records are told.
fn witnesses(intake: &Intake) -> Vec<(Content, Arc<Witness>)> {
    let records = intake.records.records.iter().enumerate();
    // Of rows about the machine itself nothing is kept.
    let places =
        records.filter(|(_, (_, record))| !matches!(record, Record::Machine(_))).map(|(place, _)| place);
    let contents = contents(&intake.records).zip(places);
    let witness = |((content, _), place): ((Content, _), usize)| {
        Some((content, intake.witnesses.get(place)?.as_ref().map(Arc::clone)?))
    };
    contents.filter_map(witness).collect()
}

fn as_problem(line: Line) -> Problem {
    let help = "If that is right, do nothing. If not, write it there again: then it counts again.";
    Problem::note(line.place, line.what, help)
}

fn not_noted(cause: &io::Error) -> Problem {
    Problem::error(
        Place::file("kept/exports"),
        format!("what sheets have taken back cannot be noted, and may count on: {cause}"),
        "See that the disk has room and may be written to, and look whether what is called done is done.",
    )
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
