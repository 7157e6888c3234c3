//! Onboarding: looks at a shop's own exports, proposes which column is what with the evidence, and writes it down.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::asking::SheetAsked;
use super::in_place::InPlace;
use super::not_there::{self, NotThere};
use super::{YardFolder, intake, put, zone_of};
use crate::origin::SheetName;
use crate::problem::{Place, Problem, Severity};
use crate::settings::{self, DateOrder, Settings, Under};
use crate::sheets::{self, Reader, Table};
use crate::watch::{Shelf, Whole};
use crate::yard::{self, Question, ReadAs, RecordKind, Settles};

/// What a setup found, asks and writes.
#[derive(Debug)]
pub struct Setup {
    /// For a person: every sheet with its columns, the evidence, and what was left out.
    pub text: String,
    /// What could not be read or recognised.
    pub problems: Vec<Problem>,
    /// How many sheets the settings knew already; they stay as they were agreed.
    pub agreed_before: usize,
    /// Whether the settings were written.
    pub written: bool,
    settings: Settings,
    /// The owner's settings as they are written; `None` where there are none yet.
    own: Option<String>,
    /// The places that the settings do not name yet.
    added: Vec<String>,
    sheets: Vec<SheetAsked>,
    /// The agreed sheets that are not there.
    not_there: Vec<NotThere>,
    /// What the shop's clocks count in.
    unit: OfShop,
    /// Whether the shop hands machines over.
    handovers: OfShop,
    /// How the dates of another sheet read, as was answered.
    order: Option<DateOrder>,
}

/// How far a question about the shop is.
#[derive(Debug, Clone, PartialEq)]
enum OfShop {
    /// The owner's settings say it.
    Known,
    /// Nobody was asked yet.
    NotAsked,
    /// It was left for later, or the sheets answer it themselves.
    Open(Option<Question>),
    /// It was answered, or taken as usual.
    Answered(Settles),
}

/// A question of a setup, and which sheet it is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// The sheet as a person calls it; `None` where it is about the shop.
    pub of: Option<String>,
    /// What is asked.
    pub question: Question,
    place: Option<usize>,
    /// Which of the agreed sheets that are not there it may be.
    not_there: Option<usize>,
}

/// Looks at the exports (without any, at everything in the yard's folders). What stands in the settings already is the
/// owner's and stays as it is.
///
/// # Errors
/// Settings that are no TOML.
pub fn set_up(folder: &YardFolder, files: &[PathBuf], reader: &Reader) -> Result<Setup, Vec<Problem>> {
    let mut settings = Settings::default();
    let mut own = None;
    if folder.settings().is_file() {
        let (kept, problems) = settings::load(&folder.settings(), "tickover.toml");
        settings = kept.ok_or(problems)?;
        own = Some(fs::read_to_string(folder.settings()).map_err(|cause| {
            let help = "Check that it may be read, and that it is a text file in UTF-8.";
            vec![Problem::error(Place::file("tickover.toml"), format!("cannot be read: {cause}"), help)]
        })?);
    }
    let of_shop = |key| {
        let is_known = own.as_ref().is_some_and(|text| settings::sets_in_shop(text, key));
        if is_known { OfShop::Known } else { OfShop::NotAsked }
    };
    let mut setup = Setup {
        text: String::new(),
        problems: Vec::new(),
        agreed_before: 0,
        written: false,
        unit: of_shop(CLOCK_UNIT),
        handovers: of_shop(HANDS_OVER),
        added: places(folder, &settings, files),
        settings,
        own,
        sheets: Vec::new(),
        not_there: Vec::new(),
        order: None,
    };
    let missing = files.iter().filter(|file| !file.exists()).map(|file| {
        let what = "there is no such file or folder";
        Problem::error(Place::file(file.to_string_lossy()), what, "Check how it is written.")
    });
    setup.problems.extend(missing);
    if !folder.is_laid_out() {
        // What is only shown lays nothing out.
        setup.settings.folders.clear();
    }
    setup.settings.folders.extend(setup.added.iter().cloned());
    setup.look(folder, files, reader);
    Ok(setup)
}

/// The key under `[shop]` that says what clocks count in.
const CLOCK_UNIT: &str = "clock_unit";
/// The key there that says whether machines are handed over.
const HANDS_OVER: &str = "hands_over";

impl Setup {
    /// Looks at every export that was named.
    fn look(&mut self, folder: &YardFolder, files: &[PathBuf], reader: &Reader) {
        let settings = self.settings.clone();
        let (found, problems) = sheets::find(
            folder.root(),
            &settings.folders,
            &settings.sheets,
            &zone_of(&settings),
            &settings.limits,
        );
        self.problems.extend(problems);
        let named = |path: &Path| {
            files.is_empty()
                || files.iter().any(|file| same_place(file, path) || (file.is_dir() && holds(file, path)))
        };
        let mut looked_at = Vec::new();
        for export in found.iter().filter(|found| named(&found.path)) {
            let form = settings::text_form_of(&export.name, &settings.sheets);
            let mut read = sheets::read_as_agreed(&export.path, &export.name, form, &settings.limits, reader);
            yard::tell_of_file(&mut read.tables, Some(export.modified));
            self.problems.extend(read.problems);
            for table in read.tables {
                let read_as = intake::recognise(&table, &self.settings);
                looked_at.push((table, read_as));
            }
        }
        yard::weigh_keys(&mut looked_at);
        let read_names: Vec<SheetName> =
            looked_at.iter().map(|(table, _)| SheetName::clone(&table.name)).collect();
        for (table, read_as) in looked_at {
            self.look_at_table(table, read_as);
        }
        let found = found.iter().map(|found| found.name.clone()).collect();
        let in_place = InPlace::noted(&Shelf::at(folder.shelf(), false));
        self.not_there = not_there::find(&settings.sheets, (&found, &read_names), &self.sheets, &in_place);
    }

    fn look_at_table(&mut self, table: Table, mut read_as: ReadAs) {
        // What stands there for the other worksheets' sake names no machine.
        let is_known = self.settings.sheets.iter().any(|agreed| agreed.is_for(&table.name));
        if !read_as.may_name_a_machine() && !is_known && yard::is_an_aside(&table.name) {
            let left_out = std::mem::take(&mut read_as.left_out);
            read_as = ReadAs { may_be: RecordKind::ALL.to_vec(), left_out, ..ReadAs::default() };
        }
        // What is left out stands beside its column, and what is open is asked.
        let errors = read_as.problems.iter().filter(|problem| problem.severity == Severity::Error);
        self.problems.extend(errors.cloned());
        self.text.push_str(&yard::proposal(&table, &read_as));
        let known = self.settings.sheets.iter().find(|agreed| agreed.is_for(&table.name)).cloned();
        if known.is_some() {
            self.text.push_str("  as agreed in tickover.toml, which stays as it is\n");
            self.agreed_before += 1;
        }
        if known.is_some() || read_as.kind.is_some() || !read_as.may_be.is_empty() {
            self.sheets.push(SheetAsked::of(table, read_as, known));
        }
        self.text.push('\n');
    }

    /// The next question; one at a time, since the next may hang on its answer.
    pub fn next_question(&mut self) -> Option<Asked> {
        for (place, not_there) in self.not_there.iter_mut().enumerate().filter(|(_, it)| !it.is_asked) {
            not_there.is_asked = true;
            if let Some(like) = not_there.like {
                let sheet = &self.sheets[like];
                let question = not_there.question(&sheet.table, sheet.samples());
                return Some(Asked {
                    of: Some(sheet.name()),
                    question,
                    place: Some(like),
                    not_there: Some(place),
                });
            }
        }
        for place in 0..self.sheets.len() {
            if let Some(mut question) = self.sheets[place].next() {
                let others = self.sheets.iter().map(|sheet| &sheet.table);
                let others = others.filter(|table| table.name != self.sheets[place].table.name);
                yard::as_elsewhere(&mut question, || yard::dates_proving(others));
                // Exports of one program mostly write their dates alike.
                let order = self.order.map(Settles::Dates);
                question.usual = question.usual.or_else(|| {
                    question.answers.iter().position(|answer| Some(&answer.settles) == order.as_ref())
                });
                let of = Some(self.named_with(place, |other| other.awaits(&question)));
                return Some(Asked { of, question, place: Some(place), not_there: None });
            }
        }
        let ask = |question| Asked { of: None, question, place: None, not_there: None };
        if self.unit == OfShop::NotAsked {
            self.unit = OfShop::Open(None);
            let sheets = self.sheets.iter().map(|sheet| (&*sheet.table.name, &sheet.read_as));
            if let Some(question) = yard::unit_question(sheets) {
                return Some(ask(question));
            }
        }
        if self.handovers == OfShop::NotAsked {
            self.handovers = OfShop::Open(None);
            let machines: Vec<&SheetAsked> =
                self.sheets.iter().filter(|sheet| sheet.read_as.kind == Some(RecordKind::Machine)).collect();
            // One sheet that tells the handovers will do.
            if machines.iter().all(|sheet| sheet.tells_no_handover()) {
                let of_kind = |kind| self.sheets.iter().filter(move |sheet| sheet.read_as.kind == Some(kind));
                // Where nothing lists the machines, a log of jobs may be that of a shop that only services.
                let asked = match machines.is_empty() {
                    false => machines,
                    true if self.hands_over_for_sure() => Vec::new(),
                    true => of_kind(RecordKind::Job).collect(),
                };
                let sheets = asked.into_iter().map(|sheet| (&*sheet.table.name, &sheet.read_as));
                return yard::handover_question(sheets).map(ask);
            }
        }
        None
    }

    /// The other sheets of the same columns as one, such as the tabs of other years.
    fn of_the_same_columns(&self, place: usize) -> impl Iterator<Item = usize> {
        let sheet = &self.sheets[place];
        let is_alike =
            move |other: &usize| *other != place && self.sheets[*other].is_of_the_same_columns(sheet);
        (0..self.sheets.len()).filter(is_alike)
    }

    /// A sheet as a person calls it, with those of the same columns of which the same is asked.
    fn named_with(&self, place: usize, is_asked_as_well: impl Fn(&SheetAsked) -> bool) -> String {
        let others = self.of_the_same_columns(place).map(|other| &self.sheets[other]);
        let others: Vec<String> =
            others.filter(|other| is_asked_as_well(other)).map(SheetAsked::short_name).collect();
        match &others[..] {
            [] => self.sheets[place].name(),
            others => format!("{} ({} alike)", self.sheets[place].name(), others.join(", ")),
        }
    }

    /// Whether a sheet shows that machines are handed over: by the day of it, or by the checks and road tests before it.
    fn hands_over_for_sure(&self) -> bool {
        self.sheets.iter().any(|sheet| {
            matches!(sheet.read_as.kind, Some(RecordKind::Ride | RecordKind::Check))
                || !sheet.tells_no_handover()
                || sheet.read_as.columns.iter().any(|column| column.field.is_before_a_handover())
        })
    }

    /// Takes the answer to a question by its place among the answers; `None` leaves it for later.
    pub fn take(&mut self, asked: Asked, answer: Option<usize>) {
        if let (Some(place), Some(not_there)) = (asked.place, asked.not_there) {
            let not_there = &mut self.not_there[not_there];
            self.sheets[place].take_name(asked.question, answer, &not_there.agreed, &self.settings);
            not_there.is_found = self.sheets[place].is_known();
            self.agreed_before += usize::from(not_there.is_found);
            return;
        }
        if let Some(place) = asked.place {
            let chosen = answer.and_then(|answer| asked.question.answers.get(answer));
            if let Some(Settles::Dates(order)) = chosen.map(|answer| &answer.settles) {
                self.order = Some(*order);
            }
            let others = self.of_the_same_columns(place);
            for other in others.filter(|other| *other > place).collect::<Vec<_>>() {
                self.sheets[other].take_as_well(&asked.question, answer, &self.settings);
            }
            self.sheets[place].take(asked.question, answer, &self.settings);
            return;
        }
        let is_of_handovers =
            asked.question.answers.iter().any(|answer| matches!(answer.settles, Settles::HandsOver(_)));
        let of_shop = if is_of_handovers { &mut self.handovers } else { &mut self.unit };
        let chosen = answer.and_then(|answer| asked.question.answers.get(answer));
        *of_shop = match chosen.map(|answer| answer.settles.clone()) {
            Some(settles) => OfShop::Answered(settles),
            None => OfShop::Open(Some(asked.question)),
        };
    }

    /// How many sheets were recognised that the settings did not know.
    pub fn recognised(&self) -> usize {
        let is_new = |sheet: &&SheetAsked| !sheet.is_known() && !sheet.is_held();
        self.sheets.iter().filter(is_new).filter(|sheet| sheet.read_as.may_be.is_empty()).count()
    }

    /// What was left for later, a question with its sheet.
    pub fn open(&self) -> Vec<(Option<String>, &Question)> {
        let of_sheets = (0..self.sheets.len()).flat_map(|place| {
            let is_said = move |question: &Question| {
                let mut others = self.of_the_same_columns(place);
                others.any(|other| other < place && self.sheets[other].has_left(question))
            };
            let later = self.sheets[place].later.iter().filter(move |question| !is_said(question));
            later.map(move |question| {
                (Some(self.named_with(place, |other| other.has_left(question))), question)
            })
        });
        let of_shop = [&self.unit, &self.handovers].into_iter().filter_map(|of_shop| match of_shop {
            OfShop::Open(Some(question)) => Some((None, question)),
            _ => None,
        });
        of_sheets.chain(of_shop).collect()
    }

    /// What to do about the agreed sheets that are not there and of which no other was found to be one. While that is
    /// open, it is listed with what is open.
    pub fn not_there(&self) -> Vec<Problem> {
        let is_held = |it: &NotThere| it.like.is_some_and(|like| self.sheets[like].is_held());
        let gone = self.not_there.iter().filter(|it| !it.is_found && !is_held(it));
        gone.map(NotThere::problem).collect()
    }

    /// Whether there is anything to write.
    pub fn has_news(&self) -> bool {
        let is_new = |sheet: &SheetAsked| !sheet.is_known() && !sheet.is_held();
        let is_answered = self.sheets.iter().any(|sheet| is_new(sheet) || sheet.is_answered());
        let is_of_shop = |of_shop: &OfShop| matches!(of_shop, OfShop::Answered(_));
        is_answered || (self.own.is_some() && (is_of_shop(&self.unit) || is_of_shop(&self.handovers)))
    }

    /// Whether a sheet was not read or not recognised, or something is open.
    pub fn needs_a_person(&self) -> bool {
        self.problems.iter().any(|problem| problem.severity == Severity::Error) || !self.open().is_empty()
    }

    /// Adds what is sure and what was answered to the settings; what is open stands there behind a `#`.
    ///
    /// # Errors
    /// Settings that cannot be written.
    pub fn write(&mut self, folder: &YardFolder) -> Result<(), Vec<Problem>> {
        let is_first = self.own.is_none();
        let mut text = match self.own.take() {
            None => settings::render(&self.settings),
            Some(text) => with_folders(text, &self.settings, &self.added, &mut self.problems),
        };
        text = self.with_answers_of_shop(text, is_first);
        let mut by_hand = Vec::new();
        for sheet in &self.sheets {
            text = sheet.amend(text, &mut by_hand);
        }
        for sheet in self.sheets.iter().filter(|sheet| !sheet.is_known() && !sheet.is_held()) {
            let block = sheet.block();
            if text.contains(&block) {
                continue;
            }
            text = format!("{}{block}", settings::without_open_sheet(&text, &block));
        }
        put(&folder.settings(), text.as_bytes()).map_err(|problem| vec![problem])?;
        self.written = true;
        keep_what_was_agreed(folder, &self.settings);
        let by_hand = by_hand.into_iter().map(|line| {
            let what = format!("this answer could not be written: {line}");
            Problem::error(
                Place::file("tickover.toml"),
                what,
                "Write the line into the sheet's [[sheet]] yourself.",
            )
        });
        self.problems.extend(by_hand);
        Ok(())
    }
}

impl Setup {
    /// The settings with what was answered of the shop; what was not stands behind a `#` in new ones.
    fn with_answers_of_shop(&self, mut text: String, is_first: bool) -> String {
        for of_shop in [&self.unit, &self.handovers] {
            text = match of_shop {
                OfShop::Answered(Settles::ClockUnit(unit)) => {
                    settings::with_value(&text, Under::Shop, CLOCK_UNIT, unit.plural())
                }
                OfShop::Answered(Settles::HandsOver(hands_over)) => {
                    settings::with_yes_or_no(&text, Under::Shop, HANDS_OVER, *hands_over)
                }
                _ => text,
            };
        }
        if is_first && matches!(self.unit, OfShop::Open(_) | OfShop::NotAsked) {
            let why = "or \"km\": not answered yet, and miles until then";
            text = settings::with_open_key(&text, CLOCK_UNIT, why);
        }
        let is_open = match self.handovers {
            OfShop::Open(Some(_)) => true,
            OfShop::Open(None) | OfShop::NotAsked => !self.hands_over_for_sure(),
            OfShop::Known | OfShop::Answered(_) => false,
        };
        if is_first && is_open {
            let why = "or false: not answered yet; no column tells a handover";
            text = settings::with_open_key(&text, HANDS_OVER, why);
        }
        text
    }
}

/// The places to be read that the settings do not name yet: a file that lies elsewhere, or a whole folder where one
/// was given.
fn places(folder: &YardFolder, settings: &Settings, files: &[PathBuf]) -> Vec<String> {
    let mut added: Vec<String> = Vec::new();
    let sheets = folder.sheets().canonicalize().unwrap_or_else(|_| folder.sheets());
    for file in files {
        let Ok(place) = file.canonicalize() else { continue };
        let is_known = settings.folders.iter().any(|known| {
            folder.root().join(known).canonicalize().is_ok_and(|known| {
                known == place
                    || place.parent() == Some(&known)
                    || (known == sheets && place.starts_with(&known))
            })
        });
        let written = as_people_write(&place);
        if !is_known && !added.contains(&written) {
            added.push(written);
        }
    }
    added
}

/// A whole path without the `\\?\` that Windows puts before one.
fn as_people_write(path: &Path) -> String {
    let text = path.to_string_lossy();
    match text.strip_prefix(r"\\?\UNC\") {
        Some(share) => format!(r"\\{share}"),
        None => text.strip_prefix(r"\\?\").unwrap_or(&text).to_owned(),
    }
}

/// Keeps a copy of each export that has none yet, so that the first round can tell what has changed since it was agreed.
/// Where that cannot be, the first round has nothing to compare with, and says itself what keeps copies from being made.
fn keep_what_was_agreed(folder: &YardFolder, settings: &Settings) {
    let mut shelf = Shelf::at(folder.shelf(), true);
    let (found, _) = sheets::find(
        folder.root(),
        &settings.folders,
        &settings.sheets,
        &zone_of(settings),
        &settings.limits,
    );
    for export in found.iter().filter(|export| !shelf.holds(&export.name)).collect::<Vec<_>>() {
        let known = fs::metadata(&export.path).ok().filter(|known| known.len() <= settings.limits.file_bytes);
        let modified = known.and_then(|known| Timestamp::try_from(known.modified().ok()?).ok());
        let Some(modified) = modified else { continue };
        if let Ok(bytes) = fs::read(&export.path) {
            let _ = shelf.put(&export.name, &Whole { bytes, modified });
        }
    }
}

/// The owner's settings with more places in the list of folders, all else as it was written.
fn with_folders(text: String, settings: &Settings, added: &[String], problems: &mut Vec<Problem>) -> String {
    if added.is_empty() {
        return text;
    }
    let key = |line: &str| {
        line.trim_start().strip_prefix("folders").is_some_and(|rest| rest.trim_start().starts_with('='))
    };
    let rendered = settings::render(settings);
    let wanted = rendered.lines().find(|line| key(line)).unwrap_or_default();
    // Only above the first heading is it the key that is meant.
    let mut at = 0;
    let mut found = None;
    for line in text.split_inclusive('\n').take_while(|line| !line.trim_start().starts_with('[')) {
        if key(line) && line.trim_end().ends_with(']') {
            found = Some(at..at + line.trim_end().len());
        }
        at += line.len();
    }
    match found {
        Some(place) => format!("{}{wanted}{}", &text[..place.start], &text[place.end..]),
        None => {
            problems.push(Problem::error(
                Place::file("tickover.toml"),
                format!("the key `folders` does not name {} yet", added.join(", ")),
                format!("Write it at the top of the file: {wanted}"),
            ));
            text
        }
    }
}

fn same_place(left: &Path, right: &Path) -> bool {
    matches!((left.canonicalize(), right.canonicalize()), (Ok(left), Ok(right)) if left == right)
}

fn holds(folder: &Path, file: &Path) -> bool {
    matches!((folder.canonicalize(), file.canonicalize()), (Ok(folder), Ok(file)) if file.starts_with(&folder))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_whole_path_is_written_as_people_write_it() {
        // Microsoft, 'Naming Files, Paths, and Namespaces', of what canonical paths begin with there.
        let cases = [
            (r"\\?\C:\exports\fuel.csv", r"C:\exports\fuel.csv"),
            (r"\\?\UNC\PC\exports\fuel.csv", r"\\PC\exports\fuel.csv"),
            ("/srv/exports/fuel.csv", "/srv/exports/fuel.csv"),
        ];
        for (path, written) in cases {
            assert_eq!(as_people_write(Path::new(path)), written);
        }
    }
}
