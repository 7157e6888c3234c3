//! Reads the shop's files through the shelf: whole, or else as they were when they last were whole.

use std::collections::BTreeSet;
use std::io;
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::problem::{Place, Problem, Severity};
use crate::settings::{self, AgreedSheet, Limits, Settings};
use crate::sheets::{self, ReadFile, Reader, Table};
use crate::units::Days;
use crate::watch::{Content, Looks, NotWhole, Shelf, Whole};

use super::{Run, zone_of};

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
    reader: &'a Reader,
    zone: TimeZone,
    today: Date,
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
        Exports {
            looks: Looks::at(paths, run.patience),
            shelf: Shelf::at(run.folder.shelf(), run.keeps),
            limits: &settings.limits,
            agreed: &settings.sheets,
            reader: &run.reader,
            zone: zone_of(settings),
            today,
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
            self.keep_copy(name, &whole);
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
        let form = settings::text_form_of(name, self.agreed);
        let read = sheets::read_bytes_as_agreed(&whole.bytes, name, form, self.limits, self.reader);
        Export { read, modified: Some(self.day(whole.modified)), content: None }
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

/// A day as people say it, with the year where it is not this one.
pub(super) fn day_in_words(day: Date, today: Date) -> String {
    let pattern = if day.year() == today.year() { "%A %-d %B" } else { "%A %-d %B %Y" };
    day.strftime(pattern).to_string()
}

/// Where it is said what is wrong with a file that gives nothing.
fn what_is_wrong<'p>(problems: &'p mut Vec<Problem>, name: &str) -> &'p mut Problem {
    let is_error = |problem: &Problem| problem.severity == Severity::Error;
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
