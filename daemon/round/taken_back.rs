//! When tickover.toml is corrected: what was read only because it said otherwise counts no more, and that is told once.

use jiff::civil::Date;

use super::open_changes::plain;
use super::{Run, Tells, keeping};
use crate::ledger::{Ledger, Misnamed, ReadAnew, TakenBack};
use crate::origin::SheetName;
use crate::problem::{Place, Problem, Spot, counted};
use crate::settings::{self, AgreedSheet, Settings, SheetNotes};
use crate::watch::Shelf;

/// Under this name the shelf has by what agreement its sheets were read last.
const AGREEMENT: &str = "tickover.toml";
/// Under this one, what is still to be told.
const TO_TELL: &str = "tickover.toml, taken back";

/// Everything in the settings that decides how sheets are read, and the program that reads them.
pub(super) fn agreement(settings: &Settings) -> String {
    let sheets = settings.sheets.iter().map(|sheet| settings::render_sheet(sheet, &SheetNotes::default()));
    let usual =
        format!("{} {:?} {:?}\n", env!("CARGO_PKG_VERSION"), settings.date_order, settings.clock_unit);
    std::iter::once(usual).chain(sheets).collect()
}

/// Whether sheets are read by another agreement than last time.
pub(super) fn is_read_anew(shelf: &Shelf, settings: &Settings) -> bool {
    shelf.noted_changes(AGREEMENT) != agreement(settings)
}

/// What was agreed of the sheets when they were read last; `None` where that was not noted.
pub(super) fn agreed_before(shelf: &Shelf) -> Option<Vec<AgreedSheet>> {
    let noted = shelf.noted_changes(AGREEMENT);
    let (_, sheets) = noted.split_once('\n')?;
    Some(settings::parse(sheets, AGREEMENT).0?.sheets)
}

/// Takes back what the sheets would not give as they are read now, and gives the names that are none, with what is to be
/// told of it all: today where a morning letter tells it, else until one does.
pub(super) fn take_back(
    run: &Run,
    ledger: &mut Ledger,
    read_anew: &[ReadAnew],
    today: Date,
) -> (Misnamed, Vec<Problem>) {
    let shelf = Shelf::at(run.folder.shelf(), run.keeps);
    let (mut misnamed, mut problems) = (Misnamed::new(), Vec::new());
    let mut note = Note::read(&shelf.noted_changes(TO_TELL), today);
    if !read_anew.is_empty() {
        match ledger.take_back(read_anew) {
            Ok(found) => {
                note.lines.extend(found.iter().map(line));
                misnamed.extend(found.into_iter().flat_map(|sheet| sheet.misnamed));
            }
            Err(failure) => problems.push(keeping::as_problem(&failure)),
        }
    }
    let is_told = matches!(run.tells, Tells::Morning | Tells::MorningAgain);
    note.told = note.told.or(is_told.then_some(today));
    if run.keeps && ledger.outlives_the_round() {
        problems.extend(shelf.note_changes(TO_TELL, &note.written()).err().map(|cause| not_noted(&cause)));
    }
    problems.extend(note.lines.iter().filter_map(|line| as_problem(line)));
    (misnamed, problems)
}

/// Notes by what agreement the sheets were read, once what follows from it is kept.
pub(super) fn note_agreement(run: &Run, ledger: &Ledger, settings: &Settings) -> Option<Problem> {
    if !run.keeps || !ledger.outlives_the_round() || ledger.is_taking_back() {
        return None;
    }
    let shelf = Shelf::at(run.folder.shelf(), run.keeps);
    shelf.note_changes(AGREEMENT, &agreement(settings)).err().map(|cause| not_noted(&cause))
}

fn not_noted(cause: &std::io::Error) -> Problem {
    Problem::error(
        Place::file("kept/exports"),
        format!("what was agreed of the sheets cannot be noted: {cause}"),
        "See that the disk has room and may be written to.",
    )
}

/// What is to be told, and the day on which a morning letter does.
struct Note {
    told: Option<Date>,
    lines: Vec<String>,
}

impl Note {
    /// What was told on an earlier day is forgotten.
    fn read(text: &str, today: Date) -> Note {
        let mut lines = text.lines().map(str::to_owned);
        let told = lines.next().and_then(|day| day.parse().ok());
        match told {
            Some(day) if day != today => Note { told: None, lines: Vec::new() },
            told => Note { told, lines: lines.collect() },
        }
    }

    fn written(&self) -> String {
        if self.lines.is_empty() {
            return String::new();
        }
        let told = self.told.map_or_else(|| "not told".to_owned(), |day| day.to_string());
        format!("{told}\n{}\n", self.lines.join("\n"))
    }
}

/// One sheet's line: file, worksheet and what is to be said, with tabs between them.
fn line(taken_back: &TakenBack) -> String {
    let TakenBack { name: SheetName { file, sheet }, counts, misnamed } = taken_back;
    let (none, others): (Vec<_>, Vec<_>) = misnamed.iter().partition(|(_, now)| now.is_none());
    let mut counts: Vec<String> = counts.iter().map(|(kind, count)| counted(*count, kind)).collect();
    let all = taken_back.counts.values().sum::<usize>() + none.len();
    if !none.is_empty() {
        let names = named(none.iter().map(|(name, _)| name.bare().to_owned()));
        counts.insert(0, format!("{} ({names})", counted(none.len(), "machine")));
    }
    let (verb, count) = if all == 1 { ("was", "counts") } else { ("were", "count") };
    let taken_back = format!("{} {verb} misread before, and {count} no more", counts.join(" and "));
    let now =
        others.iter().filter_map(|(name, now)| Some(format!("{} is {}", name.bare(), now.as_ref()?.shown())));
    let put_right = format!(
        "what was read and found of {} under another name counts for the right one ({})",
        counted(others.len(), "machine"),
        named(now)
    );
    let said = [(all > 0).then_some(taken_back), (!others.is_empty()).then_some(put_right)];
    let said: Vec<String> = said.into_iter().flatten().collect();
    let what = format!("tickover.toml says something else of this sheet now: {}", said.join("; "));
    format!("{}\t{}\t{what}", plain(file), plain(sheet.as_deref().unwrap_or_default()))
}

/// Some of the names; the others are counted.
fn named(names: impl Iterator<Item = String>) -> String {
    /// How many are named.
    const NAMED: usize = 4;
    let mut names: Vec<String> = names.collect();
    let more = names.len().saturating_sub(NAMED);
    names.truncate(NAMED);
    names.extend((more > 0).then(|| format!("and {more} more")));
    names.join(", ")
}

fn as_problem(line: &str) -> Option<Problem> {
    let mut parts = line.splitn(3, '\t');
    let (file, sheet, what) = (parts.next()?, parts.next()?, parts.next()?);
    let sheet = (!sheet.is_empty()).then(|| sheet.to_owned());
    let place = Place { file: file.to_owned(), sheet, spot: Spot::Whole };
    let help = "If that is not meant, put tickover.toml right: what the sheet says then counts again.";
    Some(Problem::note(place, what, help))
}
