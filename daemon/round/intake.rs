//! The first steps of a row's way: files become tables, tables become records.

use std::collections::{BTreeSet, HashSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::civil::Date;

use crate::digest;
use crate::ledger::ReadAnew;
use crate::origin::{Origin, SheetName, named};
use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::{self, AgreedSheet, Limits, Practice, Settings};
use crate::sheets::{self, Reader, Table};
use crate::watch::Shelf;
use crate::yard::{self, ColumnRead, Field, Handbook, ReadAs, RecordKind, Records, Witness};

use super::changes::{self, Changes, MissingMachines, SheetSays};
use super::exports::{Earlier, Export, Exports};
use super::gone::{self, Present};
use super::in_place::InPlace;
use super::new_sheets::{self, Beside, NewSheet, Renamed};
use super::open_changes::OpenChanges;
use super::withdrawn::SheetTold;
use super::{Run, handed_on, known_again, second_block, stale, taken_back, zone_of};

/// One sheet with what it was taken for.
pub(super) struct SheetRead {
    pub(super) name: Arc<SheetName>,
    pub(super) read_as: &'static str,
    pub(super) records: usize,
    pub(super) modified: Date,
}

impl SheetRead {
    /// The sheet as the letter tells of it.
    pub(super) fn line(&self) -> digest::SheetRead {
        digest::SheetRead {
            file: self.name.file.clone(),
            sheet: self.name.sheet.clone(),
            records: self.records,
            read_as: self.read_as.to_owned(),
            modified: self.modified,
        }
    }
}

/// Everything that the sheets of the yard folder say.
#[derive(Default)]
pub(super) struct Intake {
    pub(super) sheets: Vec<SheetRead>,
    pub(super) records: Records,
    pub(super) problems: Vec<Problem>,
    /// The sheets that nobody agreed on.
    new: Vec<NewSheet>,
    /// The worksheets that only go by another name now.
    renamed: Renamed,
    /// How many names of machines and of worksheets are noted.
    names_noted: (usize, usize),
    /// How the columns of each sheet are read that was read itself.
    pub(super) told: Vec<SheetTold>,
    /// By which of them each record is told, as far as that is known; what stands in for missing rows comes behind.
    pub(super) witnesses: Vec<Option<Arc<Witness>>>,
    /// The names of the files that are there.
    pub(super) present: BTreeSet<String>,
    /// Which of them stand in the place of others.
    pub(super) in_place: InPlace,
    /// The cells in which it is said in words that a check is not done.
    pub(super) said_no: HashSet<Origin>,
    /// The machines that sheets lack, until all have been read.
    missing: Vec<MissingMachines>,
    /// How many files had not settled.
    pub(super) unsettled: usize,
    /// The tabs of logs in which nothing stands below the headers, and what is to be said of them unless another tab of
    /// their workbook has such rows.
    blank_tabs: Vec<(Arc<SheetName>, Problem)>,
    /// Where sheets are read by another agreement than last time: what their last exports say by it.
    pub(super) read_anew: Vec<ReadAnew>,
    /// The first column of distances of which nothing says the unit, and whether a column says it for each machine.
    unit_is_open: Option<Problem>,
    unit_is_told: bool,
    /// Of the first sheet of machines that no column tells a handover, and whether another sheet tells it.
    no_handover: Option<Problem>,
    handover_is_told: bool,
    /// Whether a sheet is there for checks, and one for road tests, whether anything stands in them or not.
    keeps_checks: bool,
    keeps_road_tests: bool,
    /// The sheets that look like lists of machines and that the owner leaves unread.
    machines_left_unread: Vec<Place>,
}

/// Whether a column was agreed to be the handover.
fn is_handover_agreed(settings: &Settings) -> bool {
    let mut columns = settings.sheets.iter().flat_map(|sheet| &sheet.columns);
    columns.any(|column| column.field == Field::Handover.name())
}

/// Reads all sheets; the settings then have what these show, or the agreement, to be kept of what is done before a handover.
pub(super) fn take_in_all(run: &Run, mut settings: Settings, today: Date) -> (Intake, Settings) {
    let mut intake = take_in(run, &settings, today);
    let shelf = Shelf::at(run.folder.shelf(), run.keeps);
    known_again::remember(run, &shelf, (&mut intake.records, &mut intake.problems), (&settings.gone, today));
    handed_on::remember(run, &shelf, &mut intake.records, today);
    let is_agreed =
        |kind: RecordKind| settings.sheets.iter().any(|sheet| RecordKind::named(&sheet.rows) == Some(kind));
    let keeps_checks = intake.keeps_checks || is_agreed(RecordKind::Check);
    let keeps_road_tests = intake.keeps_road_tests || is_agreed(RecordKind::Ride);
    settings.practice = Practice { keeps_checks, keeps_road_tests, ..settings.practice };
    (intake, settings)
}

/// Reads every sheet of the folders that the settings name, and of those that are gone the last copy. A file that
/// cannot be read never stops the others.
fn take_in(run: &Run, settings: &Settings, today: Date) -> Intake {
    let (root, zone) = (run.folder.root(), zone_of(settings));
    let (files, problems) = sheets::find(root, &settings.folders, &settings.sheets, &zone, &settings.limits);
    let mut exports = Exports::at(files.iter().map(|file| file.path.as_path()), run, settings, today);
    let renamed = new_sheets::renamed_before(&exports.shelf);
    let mut intake = Intake { problems, renamed, ..Intake::default() };
    let (mut contents, mut unread, mut names) = (BTreeSet::new(), Vec::new(), Vec::new());
    exports.present = files.iter().map(|file| file.name.clone()).collect();
    let gives = |table: &Table| recognise(table, settings).kind.is_some();
    let is_read_anew = taken_back::is_read_anew(&exports.shelf, settings);
    for file in &files {
        let mut export = exports.read(&file.path, &file.name, &gives);
        contents.extend(export.content);
        if export.read.tables.is_empty() {
            unread.push(file.name.as_str());
        }
        let settings = &*exports.in_place.settings(&export.read.tables, settings);
        if is_read_anew {
            intake.read_anew.extend(read_anew(&export, &exports, settings, today));
        }
        let (open, of_export) = take_in_export(&mut export, settings, today, &mut intake);
        intake.note_names(run, &exports.shelf, today);
        exports.keep(&file.name, &mut export, &open);
        names.extend(of_export);
    }
    let mut new = std::mem::take(&mut intake.new);
    let present = Present {
        root,
        settings,
        today,
        names: files.iter().map(|file| file.name.as_str()).collect(),
        contents: &contents,
        sheets: &intake.sheets,
        records: &intake.records,
    };
    let gone = gone::read(&present, &mut exports, |export| kinds_of(export, settings));
    gone::say(&present, &gone, &mut intake.problems);
    for (_, mut gone) in gone {
        names.extend(take_in_export(&mut gone.export, settings, today, &mut intake).1);
    }
    let missing = std::mem::take(&mut intake.missing).into_iter();
    let missing: Vec<_> = missing.filter_map(|missing| missing.beyond(&intake.records)).collect();
    for missing in missing {
        intake.problems.push(missing.problem);
        intake.records.records.extend(missing.records);
    }
    let is_empty = intake.sheets.is_empty() && files.is_empty();
    intake.problems.extend(is_empty.then(|| no_sheet(settings)));
    let of_copies = intake.sheets.iter().map(|sheet| sheet.modified);
    let newest = files.iter().map(|file| file.modified).chain(of_copies).max();
    // A day that is only asked for makes no export older than it is.
    let day = today.min(run.now.to_zoned_datetime(zone).date());
    intake.problems.extend(newest.and_then(|newest| stale::problem(newest, day, settings)));
    intake.problems.extend(second_block::say(&settings.sheets, &names));
    let is_missed = |agreed: &&AgreedSheet| is_missed(agreed, &names, &unread);
    for agreed in settings.sheets.iter().filter(is_missed) {
        let like = in_its_place(agreed, settings, &exports.in_place, &intake.sheets);
        intake.problems.push(missed(agreed, like, &exports.in_place));
        // That it is new is said with that.
        new.retain(|new| new.holds_back() || like.is_none_or(|like| *new.name != *like));
    }
    // Of a file that only goes by another name now nothing was agreed before, either.
    new.retain(|new| new.holds_back() || exports.in_place.of(&new.name.file).is_none());
    intake.in_place = exports.in_place.clone();
    std::mem::take(&mut exports.in_place).note(&exports.shelf, &exports.present);
    intake.present = std::mem::take(&mut exports.present);
    intake.problems.extend(new_sheets::say(run, &exports.shelf, &new, today));
    intake.say_what_is_open(run, settings);
    intake.unsettled = exports.unsettled;
    intake.problems.append(&mut exports.problems);
    intake
}

/// What the last export of a file says as it is read now, beside how it was read by what was agreed then.
fn read_anew(export: &Export, exports: &Exports<'_>, settings: &Settings, today: Date) -> Vec<ReadAnew> {
    let before = taken_back::agreed_before(&exports.shelf).map(|mut before| {
        before.extend(exports.in_place.agreed(&export.read.tables, &before, settings.date_order));
        before
    });
    changes::read_anew(export, settings, before.as_deref(), today)
}

impl Intake {
    /// Notes which machines and worksheets have got another name, before a file's copy takes the place of the one by which
    /// they are known. Nothing is taken out of any, and most files have none.
    fn note_names(&mut self, run: &Run, shelf: &Shelf, today: Date) {
        let names = self.records.known_as.len() + self.records.handed_on.len();
        let found = (names, self.renamed.len());
        if found != self.names_noted {
            known_again::note(run, shelf, &self.records, today);
            handed_on::note(run, shelf, &self.records);
            new_sheets::note_renamed(run, shelf, &self.renamed);
            self.names_noted = found;
        }
    }

    /// Notes whether a sheet is one for checks or road tests. A column of which it is still open whether it holds checks
    /// may hold one that failed; of one that is left out nothing is known, and nobody is called back for it.
    fn note_what_is_kept(&mut self, read_as: &ReadAs) {
        let may_be = read_as.left_out.iter().flat_map(|column| column.may_be.iter().copied());
        for field in read_as.columns.iter().map(|column| column.field).chain(may_be) {
            let is_ride = field.event().is_some_and(|event| event.ends_with(" ride"));
            self.keeps_road_tests |= is_ride;
            self.keeps_checks |=
                (field.is_check_before_a_handover() && !is_ride) || field == Field::CheckItem;
        }
        self.keeps_checks |= read_as.kind == Some(RecordKind::Check);
        self.keeps_road_tests |= read_as.kind == Some(RecordKind::Ride);
    }

    /// Says what no sheet tells of all machines.
    fn say_what_is_open(&mut self, run: &Run, settings: &Settings) {
        let blank_tabs = alone_and_blank(self);
        self.problems.extend(blank_tabs);
        self.problems.extend(no_machines(self));
        let is_open = !self.unit_is_told && is_unit_open(run.folder.settings());
        self.problems.extend(self.unit_is_open.take().filter(|_| is_open));
        // Of a column that was agreed and is gone it is said that it is gone.
        let is_told = self.handover_is_told || is_handover_agreed(settings) || !settings.practice.hands_over;
        self.problems.extend(self.no_handover.take().filter(|_| !is_told));
    }
}

/// What is said of the tabs of logs in which nothing stands, where no other tab of the workbook has rows of the kind.
fn alone_and_blank(intake: &mut Intake) -> Vec<Problem> {
    let blank_tabs = std::mem::take(&mut intake.blank_tabs);
    let sheets = &intake.sheets;
    let has_sibling = |name: &SheetName| {
        let own = sheets.iter().find(|sheet| *sheet.name == *name);
        own.is_some_and(|own| {
            let is_alike = |sheet: &&SheetRead| sheet.read_as == own.read_as && sheet.name.file == name.file;
            sheets.iter().filter(is_alike).any(|sheet| sheet.records > 0)
        })
    };
    blank_tabs.into_iter().filter(|(name, _)| !has_sibling(name)).map(|(_, problem)| problem).collect()
}

/// Whether `setup` left it open what the shop's clocks count in, and nobody has answered since.
fn is_unit_open(settings: PathBuf) -> bool {
    fs::read_to_string(settings).is_ok_and(|text| settings::is_open_in_shop(&text, "clock_unit"))
}

/// A column of which nothing says what it counts in.
fn unit_open(table: &Table, read_as: &ReadAs) -> Option<Problem> {
    let column = read_as.columns.iter().find(|column| column.unit_is_open)?;
    let cell = table.origin(table.row(read_as.header_row?), column.index);
    let what = "nobody has said yet what the clocks count in: they are taken for miles, and where it is km all is wrong by more than half";
    let help = "Run `tickover setup`, which asks, or take the # before `clock_unit` in tickover.toml away.";
    let problem = Problem::note(&cell, what, help).with_value(column.header.clone());
    Some(Problem { hides_what_is_due: true, ..problem })
}

fn no_sheet(settings: &Settings) -> Problem {
    Problem::error(
        Place::file(settings.folders.join(", ")),
        "there is no sheet to read",
        "Drop the shop's exports there, or name the right folders in tickover.toml.",
    )
}

/// Takes in all sheets of a file; gives what has changed in it and is open, and the names of its sheets.
fn take_in_export(
    export: &mut Export,
    settings: &Settings,
    today: Date,
    intake: &mut Intake,
) -> (OpenChanges, Vec<Arc<SheetName>>) {
    let mut names = Vec::new();
    if is_unit_agreed(&export.read.tables, settings) {
        export.read.problems.retain(|problem| !sheets::is_of_unseen_unit(problem));
    }
    intake.problems.append(&mut export.read.problems);
    let modified = export.modified.unwrap_or(today);
    let mut changes = Changes::of(export, settings, today);
    let earlier = export.earlier.as_ref().map_or(&[][..], Earlier::rows);
    let beside = Beside { tables: &export.read.tables, earlier, settings };
    for table in &export.read.tables {
        let mut says = changes.read(table, modified);
        let new = NewSheet::of(table, (&says.read_as, &says.records), &beside, &mut intake.renamed);
        if let Some(new) = &new {
            new.hold_back(&says.read_as, &mut says.records);
            says.is_held |= new.holds_back();
        }
        intake.new.extend(new);
        take_in_table(table, says, modified, intake);
        let is_left_unread = agreed_for(table, &settings.sheets).is_some_and(yard::is_left_unread);
        if is_left_unread
            && yard::recognise(table, None, settings.date_order).kind == Some(RecordKind::Machine)
        {
            intake.machines_left_unread.push(table.whole());
        }
        names.push(Arc::clone(&table.name));
    }
    for (table, mut says) in changes.worksheets_gone() {
        // What did not count while it was there does not count because it is gone.
        let new = NewSheet::of(&table, (&says.read_as, &says.records), &beside, &mut intake.renamed);
        if let Some(new) = new {
            new.hold_back(&says.read_as, &mut says.records);
        }
        take_in_table(&table, says, modified, intake);
        names.push(table.name);
    }
    intake.problems.append(&mut changes.problems);
    (changes.open, names)
}

/// What kinds of rows an export gives.
fn kinds_of(export: &Export, settings: &Settings) -> BTreeSet<&'static str> {
    let kinds = export.read.tables.iter().filter_map(|table| recognise(table, settings).kind);
    kinds.map(|kind| kind.name()).collect()
}

/// Whether it was agreed of every sheet of a file that has distances what they are counted in.
fn is_unit_agreed(tables: &[Table], settings: &Settings) -> bool {
    let is_agreed =
        |table: &&Table| agreed_for(table, &settings.sheets).is_some_and(|agreed| agreed.distances.is_some());
    let is_without = |table: &Table| !recognise(table, settings).columns.iter().any(ColumnRead::is_distance);
    tables.iter().any(|table| is_agreed(&table))
        && tables.iter().all(|table| is_agreed(&table) || is_without(table))
}

/// Whether a sheet that was agreed is not there. Of a file of which nothing was read the reason has been said.
fn is_missed(agreed: &AgreedSheet, names: &[Arc<SheetName>], unread: &[&str]) -> bool {
    let is_known =
        names.iter().any(|name| agreed.is_for(name)) || unread.iter().any(|file| is_for(agreed, file));
    !yard::is_left_unread(agreed) && !is_known
}

/// What to do about it; `like` is the one sheet that looks like it.
fn missed(agreed: &AgreedSheet, like: Option<&SheetName>, in_place: &InPlace) -> Problem {
    let sheet = named(&agreed.file, agreed.sheet.as_deref());
    let what = format!("the sheet {sheet} was agreed, and is not among those that were read");
    let Some(like) = like else {
        let help = "Export it again, or correct or take out its [[sheet]].";
        return Problem::error(agreed.place.clone(), what, help);
    };
    let is_known = in_place.of(&like.file).is_some_and(|old| is_for(agreed, old));
    let meanwhile = if is_known {
        "until then it is read as was agreed of that one"
    } else {
        "what was agreed of the columns is not used until then"
    };
    // A text file has no worksheets: beside one that is named it would never be found.
    let worksheet = agreed.sheet.as_ref().filter(|_| like.sheet.is_none());
    let take_out =
        worksheet.map(|sheet| format!(" and take `sheet = {sheet:?}` out of it")).unwrap_or_default();
    let help = format!(
        "If it is, write {} in its [[sheet]]{take_out}; {meanwhile}. Otherwise export it again, or take out its [[sheet]].",
        new_sheets::lines(like).join(" and ")
    );
    Problem::error(agreed.place.clone(), format!("{what}; the new sheet {like} looks like it"), help)
}

/// The one sheet of the same kind of rows of which nothing is agreed; first of all those of a file that stands in the
/// place of that one.
fn in_its_place<'s>(
    agreed: &AgreedSheet,
    settings: &Settings,
    in_place: &InPlace,
    sheets: &'s [SheetRead],
) -> Option<&'s SheetName> {
    let is_agreed = |name: &SheetName| settings.sheets.iter().any(|agreed| agreed.is_for(name));
    let alike = sheets.iter().filter(|sheet| sheet.read_as == agreed.rows.trim());
    let mut like = alike.map(|sheet| sheet.name.as_ref()).filter(|name| !is_agreed(name));
    let takes_its_place = |name: &&SheetName| in_place.of(&name.file).is_some_and(|old| is_for(agreed, old));
    let replacing = like.clone().find(takes_its_place);
    replacing.or_else(|| like.next().filter(|_| like.next().is_none()))
}

/// That every list of machines is left unread: what is known of them grows old, and nobody would see it.
fn no_machines(intake: &Intake) -> Option<Problem> {
    let is_read = intake.sheets.iter().any(|sheet| sheet.read_as == RecordKind::Machine.name());
    let place = intake.machines_left_unread.first().filter(|_| !is_read)?;
    let what = "no sheet of machines is read: `rows = \"nothing\"` leaves this one out, and what was known of the machines \
                grows old";
    let help = "If it lists the shop's machines, write `rows = \"machine\"` in its [[sheet]] in tickover.toml. Otherwise \
                export a list of the machines into this folder.";
    Some(Problem::error(place.clone(), what, help))
}

/// Whether a file is the one that was agreed, whichever of its sheets is meant.
pub(super) fn is_for(agreed: &AgreedSheet, file: &str) -> bool {
    agreed.is_for(&SheetName { file: file.to_owned(), sheet: agreed.sheet.clone() })
}

fn take_in_table(table: &Table, says: SheetSays, modified: Date, intake: &mut Intake) {
    let SheetSays {
        read_as,
        records,
        problems,
        is_held,
        missing,
        mut columns,
        rows,
        said_no,
        known_as,
        handed_on,
    } = says;
    intake.records.known_as.extend(known_as);
    intake.records.handed_on.extend(handed_on);
    intake.missing.extend(missing);
    let witness = |(_, record): &(_, _)| columns.as_mut().map(|(columns, _)| columns.witness(record));
    intake.witnesses.extend(records.records.iter().map(witness));
    intake.told.extend(columns.map(|(columns, before)| SheetTold {
        name: Arc::clone(&table.name),
        before,
        columns,
        rows,
    }));
    intake.said_no.extend(said_no);
    intake.note_what_is_kept(&read_as);
    let of_sheet = read_as.problems.iter().chain(&read_as.open);
    intake.problems.extend(of_sheet.cloned().map(of_whole_sheet));
    intake.unit_is_told |= read_as.columns.iter().any(|column| column.field == Field::ClockUnit);
    if intake.unit_is_open.is_none() {
        intake.unit_is_open = unit_open(table, &read_as);
    }
    let no_handover = yard::no_handover(table, &read_as);
    intake.handover_is_told |= read_as.kind == Some(RecordKind::Machine) && no_handover.is_none();
    intake.no_handover = intake.no_handover.take().or(no_handover);
    let says_nothing = problems.is_empty();
    intake.problems.extend(problems);
    if read_as.kind.is_some() && records.records.is_empty() && !is_held {
        let place = Place { sheet: table.name.sheet.clone(), ..Place::file(table.name.file.clone()) };
        let problem = Problem::error(
            place,
            "this sheet has headers and no row that could be read",
            "Export it again, and look whether it holds rows.",
        );
        // A month's tab is laid out before anything happens in it.
        if says_nothing && table.name.sheet.is_some() && read_as.kind != Some(RecordKind::Machine) {
            intake.blank_tabs.push((Arc::clone(&table.name), problem));
        } else {
            intake.problems.push(problem);
        }
    }
    intake.sheets.push(SheetRead {
        name: Arc::clone(&table.name),
        read_as: read_as.kind.map_or("nothing", |kind| kind.name()),
        records: records.records.len(),
        modified,
    });
    intake.records.records.extend(records.records);
    intake.records.clocks_unread.extend(records.clocks_unread);
    intake.records.said_beside.extend(records.said_beside);
}

/// What is wrong with a sheet's headers is wrong with all its rows, and stands at the top of the letter: not among the
/// slips in single cells.
fn of_whole_sheet(mut problem: Problem) -> Problem {
    if problem.severity == Severity::Error && matches!(problem.place.spot, Spot::Cell { .. }) {
        problem.place.spot = Spot::Whole;
    }
    problem
}

/// What a table is taken for: as agreed in the settings, else as its headers and values say.
pub(super) fn recognise(table: &Table, settings: &Settings) -> ReadAs {
    yard::recognise(table, agreed_for(table, &settings.sheets), settings.date_order)
}

pub(super) fn agreed_for<'a>(table: &Table, agreed: &'a [AgreedSheet]) -> Option<&'a AgreedSheet> {
    agreed.iter().find(|sheet| sheet.is_for(&table.name))
}

/// Reads the owner's handbook; for a sheet that is gone its last copy stands in for a while, then the shipped rules of
/// thumb, and a problem says so.
pub(super) fn take_in_handbook(run: &Run, settings: &Settings, today: Date) -> (Handbook, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut tables: Vec<Vec<Table>> = Vec::new();
    let paths = yard::SHIPPED_HANDBOOK.map(|(file, _)| run.folder.handbook().join(file));
    let mut exports = Exports::at(paths.iter().map(PathBuf::as_path), run, settings, today).of_handbook();
    for ((file, shipped), path) in yard::SHIPPED_HANDBOOK.iter().zip(&paths) {
        let name = format!("handbook/{file}");
        let read = if path.is_file() || gone::is_shut_away(path) {
            let mut export = exports.read(path, &name, &|_| true);
            exports.keep(&name, &mut export, &OpenChanges::default());
            export.read
        } else if let Some(gone) = exports.read_gone(&name) {
            problems.push(gone::of_file(&name, &gone, gone::in_place_of(path), today));
            gone.export.read
        } else {
            problems.push(handbook_missing(&name, path));
            sheets::read_bytes(shipped.as_bytes(), &name, &settings.limits, &run.reader)
        };
        problems.extend(read.problems);
        tables.push(read.tables);
    }
    problems.append(&mut exports.problems);
    let [models, services, stages] = &tables[..] else { unreachable!("the handbook has three sheets") };
    let (handbook, faults) = yard::read_handbook(models, services, stages);
    problems.extend(faults);
    (handbook, problems)
}

fn handbook_missing(name: &str, path: &Path) -> Problem {
    Problem::error(
        Place::file(name),
        "this sheet of the handbook is missing; the trade's rules of thumb stand in for it",
        format!(
            "Run `tickover setup`, which lays a fresh one at {}, then fill in your models.",
            path.display()
        ),
    )
}

/// The handbook as it ships, for a yard of which nothing else is known.
pub fn shipped_handbook() -> Handbook {
    let limits = Limits::default();
    let tables = yard::SHIPPED_HANDBOOK
        .map(|(file, text)| sheets::read_bytes(text.as_bytes(), file, &limits, &Reader::Here).tables);
    let [models, services, stages] = &tables;
    yard::read_handbook(models, services, stages).0
}
