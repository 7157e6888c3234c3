//! Reads the shop's files through the shelf: whole, or else as they were when they last were whole.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::{self, AgreedSheet, DateOrder, Limits, Settings};
use crate::sheets::{self, ReadFile, Reader, Table};
use crate::units::Days;
use crate::watch::{Content, Looks, NotWhole, Shelf, Whole};
use crate::yard;

use super::gone::without_figures;
use super::in_place::{self, InPlace};
use super::open_changes::OpenChanges;
use super::{Run, local_days, zone_of};

/// For how many days the copy of a file that is gone stands in for it: a fortnight's holiday of whoever exports. Our
/// decision.
const GONE_DAYS: Days = Days(14);

/// Whether a table gives rows of any kind.
pub(super) type Gives<'a> = &'a dyn Fn(&Table) -> bool;

/// How long after that it lies there still, and counts no more: longer than a wrong clock stays unnoticed. Our
/// decision.
const TAKEN_DOWN: Days = Days(60);

/// What came of one file.
#[derive(Default)]
pub(super) struct Export {
    /// Its tables, and what is wrong with it.
    pub(super) read: ReadFile,
    /// The day, in the shop's zone, on which what was read was last changed; `None` where nothing was read.
    pub(super) modified: Option<Date>,
    /// What the file itself holds; `None` where that was not to be had.
    pub(super) content: Option<Content>,
    /// The file itself, of which a copy is to be kept.
    whole: Option<Whole>,
    /// Whether a copy was kept of it, or of an export of that name before it.
    pub(super) is_known: bool,
    /// The export before it, where that was another one.
    pub(super) earlier: Option<Earlier>,
}

/// The last export of a file, with which a new one is compared.
pub(super) struct Earlier {
    /// The tables of the last one before the file changed its shape.
    pub(super) shape: Vec<Table>,
    /// The day on which that one was written.
    pub(super) shape_day: Date,
    /// Those of the last one that was whole, where that is another one.
    later: Option<Vec<Table>>,
    /// The day on which the last whole one was written, and the moment in words.
    pub(super) modified: Date,
    pub(super) moment: String,
    /// What had changed when the file was last looked at, and since when.
    pub(super) open: OpenChanges,
    shape_whole: Whole,
    later_whole: Option<Whole>,
}

impl Earlier {
    /// Whether the file had changed its shape already when it was last looked at.
    pub(super) fn is_of_another_shape(&self) -> bool {
        self.later.is_some()
    }

    /// The tables of the last export that was whole.
    pub(super) fn rows(&self) -> &[Table] {
        self.later.as_deref().unwrap_or(&self.shape)
    }
}

/// A copy whose original is gone, and still counts.
pub(super) struct Gone {
    /// The copy's tables, with nothing said yet of the file's being gone.
    pub(super) export: Export,
    /// What the copy holds.
    pub(super) content: Content,
    /// The day on which the file was first missed.
    pub(super) since: Date,
    /// The last day on which its copy counts.
    pub(super) until: Date,
    /// When the copy's bytes were last changed, in words.
    pub(super) copied: String,
}

/// Reads files, and remembers which of them the shelf had not known and which have not settled.
pub(super) struct Exports<'a> {
    looks: Looks,
    pub(super) shelf: Shelf,
    limits: &'a Limits,
    /// By what the owner agreed of it each text file is read.
    agreed: &'a [AgreedSheet],
    /// Which of day and month comes first where nothing else tells.
    order: DateOrder,
    reader: &'a Reader,
    zone: TimeZone,
    today: Date,
    /// The names of the files that are there.
    pub(super) present: BTreeSet<String>,
    /// Which files stand in the place of others that are gone.
    pub(super) in_place: InPlace,
    /// The files that had no copy before this round.
    pub(super) first_seen: BTreeSet<String>,
    /// How many files may well be whole a little later.
    pub(super) unsettled: usize,
    /// What keeps copies from being made.
    pub(super) problems: Vec<Problem>,
}

impl<'a> Exports<'a> {
    /// Looks at all the files for the first time.
    pub(super) fn at<'p>(
        paths: impl IntoIterator<Item = &'p Path>,
        run: &'a Run,
        settings: &'a Settings,
        today: Date,
    ) -> Exports<'a> {
        let shelf = Shelf::at(run.folder.shelf(), run.keeps);
        Exports {
            looks: Looks::at(paths, run.patience),
            in_place: InPlace::noted(&shelf),
            shelf,
            limits: &settings.limits,
            agreed: &settings.sheets,
            order: settings.date_order,
            reader: &run.reader,
            zone: zone_of(settings),
            today,
            present: BTreeSet::new(),
            first_seen: BTreeSet::new(),
            unsettled: 0,
            problems: Vec::new(),
        }
    }

    /// The same for the handbook's sheets, of which nothing can be agreed: what is agreed of `*.csv` is not about them.
    pub(super) fn of_handbook(self) -> Exports<'a> {
        Exports { agreed: &[], ..self }
    }

    /// Reads a file, or where it is not to be had, or gives nothing any more, its last copy; that is said.
    pub(super) fn read(&mut self, path: &Path, name: &str, gives: Gives<'_>) -> Export {
        let whole = match self.looks.read_whole(path, self.limits.file_bytes) {
            Ok(whole) => whole,
            Err(why) => return self.read_copy_instead(&why, name, gives),
        };
        let mut export = Export { content: Some(whole.content()), ..self.export(&whole, name) };
        if export.read.tables.iter().any(gives) {
            export.is_known = self.shelf.holds(name);
            export.earlier = self.earlier(name, &whole, &export.read.tables);
            export.whole = Some(whole);
        } else {
            self.take_copy(&mut export, name, gives);
        }
        export
    }

    /// The copy of a file that is gone, while it counts. One that counts no more is taken down.
    pub(super) fn read_gone(&mut self, name: &str) -> Option<Gone> {
        let since = self.shelf.gone_since(name, self.today);
        let until = GONE_DAYS.after(since).unwrap_or(since);
        if self.today > until {
            // By a clock that is ahead for a while it is not thrown away yet.
            if TAKEN_DOWN.after(until).is_none_or(|last| self.today > last) {
                self.take_down(name);
            }
            return None;
        }
        let Some(copy) = self.shelf.copy_of(name) else {
            self.take_down(name);
            return None;
        };
        let (content, copied) = (copy.content(), self.moment(copy.modified));
        Some(Gone { export: self.export(&copy, name), content, since, until, copied })
    }

    /// Takes a copy down that stands in for nothing any more.
    pub(super) fn take_down(&mut self, name: &str) {
        if let Err(cause) = self.shelf.take_down(name) {
            self.note_unkept(name, &cause);
        }
    }

    fn export(&self, whole: &Whole, name: &str) -> Export {
        let read = self.read_whole(whole, name);
        Export { read, modified: Some(self.day(whole.modified)), ..Export::default() }
    }

    /// What stands in it, parted and encoded as the owner agreed.
    fn read_whole(&self, whole: &Whole, name: &str) -> ReadFile {
        let form = settings::text_form_of(name, self.agreed);
        let mut read = sheets::read_bytes_as_agreed(&whole.bytes, name, form, self.limits, self.reader);
        for table in &mut read.tables {
            local_days::in_zone(table, &self.zone);
        }
        yard::tell_of_file(&mut read.tables, Some(self.day(whole.modified)));
        read
    }

    /// The export before this one; `None` where there was none, or the same.
    fn earlier(&mut self, name: &str, whole: &Whole, tables: &[Table]) -> Option<Earlier> {
        let known_by = if self.shelf.holds(name) {
            name.to_owned()
        } else {
            let old = self.predecessor(name, tables)?;
            self.in_place.add(name, &old);
            old
        };
        let open = OpenChanges::read(&self.shelf.noted_changes(&known_by));
        let copy = self.shelf.copy_of(&known_by)?;
        let before = self.shelf.export_before(&known_by).filter(|_| !open.is_outdated(self.today));
        // What is still to be agreed is asked for as long as it is, without the export from before it.
        if before.is_none() && copy.bytes == whole.bytes && open.is_empty() {
            return None;
        }
        let tables = |whole: &Whole| self.read_whole(whole, name).tables;
        let (modified, moment) = (self.day(copy.modified), self.moment(copy.modified));
        let (shape_whole, later_whole) = match before {
            Some(before) => (before, Some(copy)),
            None => (copy, None),
        };
        Some(Earlier {
            shape: tables(&shape_whole),
            shape_day: self.day(shape_whole.modified),
            later: later_whole.as_ref().map(tables),
            modified,
            moment,
            open,
            shape_whole,
            later_whole,
        })
    }

    /// The last of a dated series before this file, else the one of the same name and another ending, else one that says
    /// the same, where it lies there no more.
    fn predecessor(&self, name: &str, tables: &[Table]) -> Option<String> {
        let series = without_figures(name);
        let is_gone = |other: &&String| !self.present.contains(*other);
        let names = self.shelf.names();
        let gone = names.iter().filter(is_gone);
        let of_series = |other: &&String| other.as_str() < name && without_figures(other) == series;
        let found = gone.clone().rfind(of_series);
        let of_stem = |other: &&String| without_ending(other) == without_ending(name);
        let says_the_same = |other: &&String| {
            let is_of_handbook = [name, other.as_str()].iter().any(|name| name.starts_with("handbook/"));
            let copy = self.shelf.copy_of(other).filter(|_| !is_of_handbook);
            let before = copy.map(|copy| self.read_whole(&copy, other).tables);
            before.is_some_and(|before| in_place::says_the_same(&before, tables, self.agreed, self.order))
        };
        let found = found.or_else(|| gone.clone().rfind(of_stem));
        found.or_else(|| gone.clone().rfind(says_the_same)).cloned()
    }

    /// Keeps the copy of what was read, once it is known what has changed in it. One that lacks what the last one had is
    /// not kept while that is open; of one that has changed its shape the last one before that is kept, too.
    pub(super) fn keep(&mut self, name: &str, export: &mut Export, open: &OpenChanges) {
        let Some(whole) = export.whole.take() else { return };
        let earlier = export.earlier.take();
        let kept = self.keep_beside(name, earlier.as_ref(), open);
        match (kept, earlier) {
            (Err(cause), _) => self.note_unkept(name, &cause),
            (Ok(()), Some(earlier)) if open.holds_copy() => {
                if !self.shelf.holds(name) {
                    self.keep_copy(name, &earlier.later_whole.unwrap_or(earlier.shape_whole));
                }
            }
            (Ok(()), _) => self.keep_copy(name, &whole),
        }
    }

    fn keep_beside(&self, name: &str, earlier: Option<&Earlier>, open: &OpenChanges) -> io::Result<()> {
        self.shelf.forget_that_it_is_gone(name)?;
        match earlier.filter(|_| open.is_of_shape() && !open.is_outdated(self.today)) {
            Some(earlier) if self.shelf.export_before(name).is_none() => {
                self.shelf.keep_the_export_before(name, &earlier.shape_whole)?;
            }
            Some(_) => {}
            None => self.shelf.forget_the_export_before(name)?,
        }
        self.shelf.note_changes(name, &open.written())
    }

    fn read_copy_instead(&mut self, why: &NotWhole, name: &str, gives: Gives<'_>) -> Export {
        let mut export = Export::default();
        export.read.problems.push(not_whole(why, name, self.limits, self.reader));
        self.unsettled += usize::from(why.may_settle());
        let is_of_today = self.take_copy(&mut export, name, gives) == Some(self.today);
        if why.may_settle() && is_of_today {
            // It will be read in its time, and nothing is missed meanwhile.
            export.read.problems[0].severity = Severity::Note;
        }
        export
    }

    /// Puts the last copy, where there is one that gives anything, in the place of a file that gives nothing, says so
    /// where it is said what is wrong with the file, and gives the copy's day.
    fn take_copy(&self, export: &mut Export, name: &str, gives: Gives<'_>) -> Option<Date> {
        let Some(copy) = self.shelf.copy_of(name) else {
            if self.shelf.may_hold(name) {
                let said = what_is_wrong(&mut export.read.problems, name);
                said.what = format!(
                    "{}; its copy in kept/exports cannot be read either, and nothing was read in its place",
                    said.what
                );
            }
            return None;
        };
        let stand_in = self.export(&copy, name);
        if !stand_in.read.tables.iter().any(gives) {
            return None;
        }
        let said = what_is_wrong(&mut export.read.problems, name);
        said.what = format!("{}; its copy of {} was read", said.what, self.moment(copy.modified));
        export.read.problems.extend(stand_in.read.problems);
        export.read.tables = stand_in.read.tables;
        export.modified = stand_in.modified;
        export.modified
    }

    fn keep_copy(&mut self, name: &str, whole: &Whole) {
        if !self.shelf.holds(name) {
            self.first_seen.insert(name.to_owned());
        }
        if let Err(cause) = self.shelf.put(name, whole) {
            self.note_unkept(name, &cause);
        }
    }

    /// One full disk keeps every copy from being made, and is said once.
    fn note_unkept(&mut self, name: &str, cause: &io::Error) {
        if self.problems.is_empty() {
            self.problems.push(Problem::error(
                Place::file("kept/exports"),
                format!("the copy of {name} cannot be kept: {cause}"),
                "See that the disk has room and may be written to. The sheet itself was read.",
            ));
        }
    }

    fn day(&self, moment: Timestamp) -> Date {
        moment.to_zoned_datetime(self.zone.clone()).date()
    }

    /// A moment as people say it: `05:50 today`, `05:50 on Monday 2 March`.
    fn moment(&self, moment: Timestamp) -> String {
        let moment = moment.to_zoned_datetime(self.zone.clone());
        let time = moment.strftime("%H:%M");
        match moment.date() {
            day if day == self.today => format!("{time} today"),
            day => format!("{time} on {}", day_in_words(day, self.today)),
        }
    }
}

/// A file's name without the ending that says its format.
fn without_ending(name: &str) -> &str {
    let from = name.rfind('/').map_or(0, |slash| slash + 1);
    name[from..].rfind('.').map_or(name, |point| &name[..from + point])
}

/// A day as people say it, with the year where it is not this one.
pub(super) fn day_in_words(day: Date, today: Date) -> String {
    let pattern = if day.year() == today.year() { "%A %-d %B" } else { "%A %-d %B %Y" };
    day.strftime(pattern).to_string()
}

/// Where it is said what is wrong with a file that gives nothing. What is wrong with a single cell of it is not that.
fn what_is_wrong<'p>(problems: &'p mut Vec<Problem>, name: &str) -> &'p mut Problem {
    let is_error = |problem: &Problem| {
        problem.severity == Severity::Error && !matches!(problem.place.spot, Spot::Cell { .. })
    };
    let index = problems.iter().position(is_error).unwrap_or_else(|| {
        problems.push(gives_nothing(name));
        problems.len() - 1
    });
    &mut problems[index]
}

fn gives_nothing(name: &str) -> Problem {
    let help = "Export it again, with the headers that it had.";
    Problem::error(Place::file(name), "nothing in this file can be taken for rows any more", help)
}

/// What to do about a file whose bytes are not to be had, where it has no copy.
fn not_whole(why: &NotWhole, name: &str, limits: &Limits, reader: &Reader) -> Problem {
    let later = |what: &str| {
        let help = "Save it and close it in the other program; the next run reads it.";
        Problem::error(Place::file(name), what, help)
    };
    match why {
        NotWhole::BeingWritten => later("this file is being written"),
        NotWhole::ChangedJustNow => later("this file has only just changed, and may not be complete"),
        NotWhole::ChangedWhileRead => later("this file changed while it was read"),
        NotWhole::Empty => sheets::read_bytes(&[], name, limits, reader)
            .problems
            .pop()
            .unwrap_or_else(|| Problem::error(Place::file(name), "the file is empty", "Export it again.")),
        NotWhole::Gone => sheets::not_opened(&io::ErrorKind::NotFound.into(), name),
        NotWhole::TooLarge => sheets::too_large(name, limits),
        NotWhole::Unreadable(cause) => sheets::not_opened(cause, name),
    }
}
