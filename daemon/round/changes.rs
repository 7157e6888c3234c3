//! A sheet beside its last export: what changed is said, and nothing is taken to be gone because an export lacks it.

use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet, HashSet};
use std::sync::Arc;

use jiff::civil::Date;

use super::exports::{Earlier, Export, day_in_words};
use super::fewer::{self, fewer};
use super::intake::{agreed_for, recognise};
use super::open_changes::{OpenChanges, is_open_still, meant_from};
use super::withdrawn;
use crate::ledger::{Misnamed, ReadAnew};
use crate::origin::{Origin, SheetName};
use crate::problem::{Place, Problem, Severity, Spot};
use crate::settings::{AgreedSheet, Settings};
use crate::sheets::Table;
use crate::units::Days;
use crate::yard::{
    self, ColumnsRead, Compared, HandedOn, Identity, KnownAs, Lasts, MachineId, ReadAs, Record, RecordKind,
    Records, RowsLacking, SameRest, Terms,
};

/// What the rows that a sheet lacks are known by from day to day.
const FEWER: &str = "fewer";
/// What a worksheet that is gone is known by.
const GONE: &str = "gone";

/// A file's sheets, looked at one after the other.
pub(super) struct Changes<'a> {
    earlier: Option<&'a Earlier>,
    /// The sheets that the file has now.
    tables: &'a [Table],
    settings: &'a Settings,
    today: Date,
    /// What is open after this look.
    pub(super) open: OpenChanges,
    pub(super) problems: Vec<Problem>,
}

/// What a sheet says, with what stands in from its last export.
pub(super) struct SheetSays {
    pub(super) read_as: ReadAs,
    pub(super) records: Records,
    pub(super) problems: Vec<Problem>,
    /// Whether it is said already that rows or columns are missing, or do not count.
    pub(super) is_held: bool,
    /// The machines that it lacks.
    pub(super) missing: Option<MissingMachines>,
    /// How its columns are read, and the name that it had in its last export; `None` where its last export was read in its
    /// place.
    pub(super) columns: Option<(ColumnsRead, Option<Arc<SheetName>>)>,
    pub(super) rows: RowsLacking,
    /// The cells in which it says in words that a check is not done.
    pub(super) said_no: HashSet<Origin>,
    /// What its machines were known by in its last export, and are not now.
    pub(super) known_as: Vec<KnownAs>,
    /// The marks that another of its machines has now.
    pub(super) handed_on: Vec<HandedOn>,
}

/// Machines that a sheet lacks, as they stood in its last export, with what is to be said of it. They may have moved to
/// another sheet.
pub(super) struct MissingMachines {
    pub(super) records: Vec<(Identity, Record)>,
    pub(super) problem: Problem,
}

/// A sheet's last export, read as it was then.
struct LastRead<'e> {
    earlier: &'e Earlier,
    before: &'e Table,
    compared: Compared,
    /// The day of that export.
    day: Date,
    said: OnceCell<Records>,
}

impl LastRead<'_> {
    /// The sheet, with the last values of what was held.
    fn table(&self) -> &Table {
        self.compared.stand_in.as_ref().unwrap_or(self.before)
    }

    /// What it said, which takes as long as reading it.
    fn said(&self) -> &Records {
        self.said.get_or_init(|| yard::records(self.table(), &self.compared.read_as, self.day).0)
    }
}

impl MissingMachines {
    /// Without those that other sheets list; `None` where none is left.
    pub(super) fn beyond(mut self, listed: &Records) -> Option<MissingMachines> {
        let rows = listed.records.iter().filter(|(_, record)| matches!(record, Record::Machine(_)));
        let named: BTreeSet<(usize, &str)> = rows.flat_map(|(identity, _)| fewer::names(identity)).collect();
        self.records.retain(|(identity, _)| fewer::names(identity).all(|name| !named.contains(&name)));
        (!self.records.is_empty()).then_some(self)
    }
}

impl<'a> Changes<'a> {
    pub(super) fn of(export: &'a Export, settings: &'a Settings, today: Date) -> Changes<'a> {
        Changes {
            earlier: export.earlier.as_ref(),
            tables: &export.read.tables,
            settings,
            today,
            open: OpenChanges::default(),
            problems: Vec::new(),
        }
    }

    /// The sheet of an earlier export that is the same: of the same name, else the only one of its kind whose name is gone.
    fn earlier_of<'t>(&self, earlier: &'t [Table], table: &Table) -> Option<&'t Table> {
        let kind = |table: &Table| recognise(table, self.settings).kind;
        of_name(earlier, &table.name).or_else(|| {
            let is_gone = |other: &&Table| of_name(self.tables, &other.name).is_none();
            let mut gone = earlier.iter().filter(is_gone).filter(|other| kind(other) == kind(table));
            gone.next().filter(|_| gone.next().is_none())
        })
    }

    /// Reads a sheet beside its last export.
    pub(super) fn read(&mut self, table: &Table, modified: Date) -> SheetSays {
        let said = self.problems.len();
        let compared = self.compared(table);
        let lacks = self.problems[said..].iter().any(|problem| problem.severity == Severity::Error);
        let stand_in = compared.stand_in.as_ref().unwrap_or(table);
        let (mut records, problems) = yard::records(stand_in, &compared.read_as, modified.min(self.today));
        let last = self.earlier.and_then(|earlier| self.last_read(earlier, table));
        let is_list = compared.read_as.kind == Some(RecordKind::Machine) && !compared.is_lost;
        let of_list = last.as_ref().filter(|_| is_list);
        let known_as = of_list.map(|last| {
            let before = (last.table(), &last.compared.read_as);
            let same_rest = || SameRest::of(before, (stand_in, &compared.read_as));
            let handed_on = yard::handed_on(last.said(), &records, same_rest, self.today);
            (yard::known_as(last.said(), &records, same_rest, &handed_on), handed_on)
        });
        let (known_as, handed_on) = known_as.unwrap_or_default();
        let mut rows = RowsLacking::Few;
        let (is_held, missing) = match &last {
            Some(last) => self.make_up_for_missing(last, table, &compared, (&mut records, &mut rows)),
            None => (false, None),
        };
        let said_no = withdrawn::said_no(stand_in, &records);
        let is_held = is_held || lacks;
        let name_before = last.map(|last| Arc::clone(&last.before.name));
        let columns =
            (!compared.is_lost).then(|| (ColumnsRead::of(stand_in, &compared.read_as), name_before));
        SheetSays {
            read_as: compared.read_as,
            records,
            problems,
            is_held,
            missing,
            columns,
            rows,
            said_no,
            known_as,
            handed_on,
        }
    }

    /// A sheet's last export as it was read then: where its columns had changed already, beside the one before that.
    fn last_read<'e>(&self, earlier: &'e Earlier, table: &Table) -> Option<LastRead<'e>> {
        let before = self.earlier_of(earlier.rows(), table)?;
        let shape = self.earlier_of(&earlier.shape, table);
        let compared = match shape.filter(|_| earlier.is_of_another_shape()) {
            None => Compared { read_as: recognise(before, self.settings), ..Compared::default() },
            Some(shape) => {
                // What did not count then was not said then, whatever the owner has said of it since.
                let heeds_right = !earlier.open.holds_back();
                let known = self.known(earlier, before);
                let terms = Terms { heeds_right, ..self.terms(before, earlier, &known) };
                yard::compare(shape, before, &terms)
            }
        };
        let day = earlier.modified.min(self.today);
        Some(LastRead { earlier, before, compared, day, said: OnceCell::new() })
    }

    /// The columns, compared with those of the last export before they changed.
    fn compared(&mut self, table: &Table) -> Compared {
        let alone = || Compared { read_as: recognise(table, self.settings), ..Compared::default() };
        let Some(earlier) = self.earlier else { return alone() };
        let Some(before) = self.earlier_of(&earlier.shape, table) else { return alone() };
        let sheet = table.name.sheet.as_deref();
        let known = self.known(earlier, table);
        let mut compared = yard::compare(before, table, &self.terms(table, earlier, &known));
        for change in std::mem::take(&mut compared.changes) {
            let since = earlier.open.since(sheet, &change.key, self.today);
            if self.is_over(change.lasts, since) {
                continue;
            }
            match change.lasts {
                Lasts::Once => {}
                Lasts::SaidRight => self.open.note_as_right(sheet, &change.key, since),
                Lasts::Held => self.open.hold(sheet, &change.key, since),
                _ => self.open.add(sheet, &change.key, since, !compared.is_lost),
            }
            if matches!(change.lasts, Lasts::Unsaid | Lasts::SaidRight) {
                continue;
            }
            let mut problem = change.problem;
            if change.lasts == Lasts::Held && since < self.today {
                let day = Days::between(since, self.today).0 + 1;
                problem.what = format!("{}; today is day {day} of this", problem.what);
            }
            if compared.is_lost {
                problem.what = format!("{}; its export of {} was read", problem.what, earlier.moment);
            }
            // Of columns that changed together it is said once.
            if !self.problems.contains(&problem) {
                self.problems.push(problem);
            }
        }
        compared
    }

    /// The changes of a sheet that an earlier round has found.
    fn known(&self, earlier: &Earlier, table: &Table) -> BTreeMap<String, Date> {
        earlier.open.known(table.name.sheet.as_deref(), self.today)
    }

    fn terms<'t>(&'t self, table: &Table, earlier: &Earlier, known: &'t BTreeMap<String, Date>) -> Terms<'t> {
        Terms {
            agreed: agreed_for(table, &self.settings.sheets),
            shop_order: self.settings.date_order,
            clock_unit: self.settings.clock_unit,
            known,
            before: earlier.shape_day,
            today: self.today,
            heeds_right: true,
            is_kept: earlier.is_of_another_shape(),
        }
    }

    /// Whether a change has stood so long that it is taken to be meant.
    fn is_over(&self, lasts: Lasts, since: Date) -> bool {
        lasts == Lasts::ForDays && !is_open_still(lasts, since, &self.settings.days, self.today)
    }

    /// Looks whether the sheet lacks too much of what its last export said, and gives the machines that it lacks.
    fn make_up_for_missing(
        &mut self,
        last: &LastRead<'_>,
        table: &Table,
        compared: &Compared,
        (records, rows): (&mut Records, &mut RowsLacking),
    ) -> (bool, Option<MissingMachines>) {
        let earlier = last.earlier;
        let Some(kind) = last.compared.read_as.kind else { return (false, None) };
        if kind != RecordKind::Machine && !compared.is_lost && has_as_many_rows(last.before, table) {
            return (false, None);
        }
        if compared.is_lost {
            records.records.clone_from(&last.said().records);
            return (true, None);
        }
        let Some(fewer) = fewer(kind, last.said(), records, (&self.settings.gone, self.today)) else {
            return (false, None);
        };
        *rows = RowsLacking::ManyAsMeant;
        let sheet = table.name.sheet.as_deref();
        let since = earlier.open.since(sheet, FEWER, self.today);
        let lasts = if fewer.is_all { Lasts::UntilAgreed } else { Lasts::ForDays };
        let down_to = agreed_for(table, &self.settings.sheets).and_then(|agreed| agreed.down_to);
        if self.is_over(lasts, since) || down_to.is_some_and(|right| fewer.count >= right) {
            return (false, None);
        }
        *rows = RowsLacking::Many;
        self.open.add(sheet, FEWER, since, false);
        let meanwhile = if fewer.missing.is_empty() {
            "what was read before still counts"
        } else {
            "those that are missing were read from that one"
        };
        let what = format!(
            "this sheet has {} now, and had {} in its export of {}; {meanwhile}",
            fewer.now, fewer.before, earlier.moment
        );
        let help = if fewer.is_all {
            "Export it again. If this sheet is not used any more, agree `rows = \"nothing\"` for it in tickover.toml."
                .to_owned()
        } else {
            format!(
                "{} To have it count at once, write `down_to = {}` in its [[sheet]] in tickover.toml.",
                self.help(since),
                fewer.count
            )
        };
        let problem = Problem::error(table.whole(), what, help);
        if fewer.missing.is_empty() {
            self.problems.push(problem);
            return (true, None);
        }
        (true, Some(MissingMachines { records: fewer.missing, problem }))
    }

    /// The worksheets that the last export had and this one lacks, where no new one takes their place, as they were.
    pub(super) fn worksheets_gone(&mut self) -> Vec<(Table, SheetSays)> {
        let Some(earlier) = self.earlier else { return Vec::new() };
        let mut gone = Vec::new();
        for table in earlier.rows() {
            let Some(sheet) = table.name.sheet.as_deref() else { continue };
            let read_as = recognise(table, self.settings);
            let Some(kind) = read_as.kind else { continue };
            let takes_its_place = |other: &Table| {
                of_name(earlier.rows(), &other.name).is_none()
                    && recognise(other, self.settings).kind == Some(kind)
            };
            let is_there = of_name(self.tables, &table.name).is_some();
            if is_there || self.tables.iter().any(takes_its_place) {
                continue;
            }
            let since = earlier.open.since(Some(sheet), GONE, self.today);
            if self.is_over(Lasts::ForDays, since) {
                continue;
            }
            self.open.add(Some(sheet), GONE, since, false);
            let place =
                Place { file: table.name.file.clone(), sheet: Some(sheet.to_owned()), spot: Spot::Whole };
            let what = format!("this worksheet is gone; it was read from the export of {}", earlier.moment);
            self.problems.push(Problem::error(place, what, self.help(since)));
            let (records, problems) = yard::records(table, &read_as, earlier.modified.min(self.today));
            gone.push((
                table.clone(),
                SheetSays {
                    read_as,
                    records,
                    problems,
                    is_held: true,
                    missing: None,
                    columns: None,
                    rows: RowsLacking::Few,
                    said_no: HashSet::new(),
                    known_as: Vec::new(),
                    handed_on: Vec::new(),
                },
            ));
        }
        gone
    }

    /// What to do about an export that lacks what it had.
    fn help(&self, since: Date) -> String {
        let from = meant_from(since, &self.settings.days);
        let from = from.map_or_else(|| "the third open day".to_owned(), |day| day_in_words(day, self.today));
        format!("Export it again. If it is right, do nothing: from {from} on it counts as it is.")
    }
}

/// Whether a log has about as many rows as before, so that nothing needs to be compared one by one.
fn has_as_many_rows(before: &Table, now: &Table) -> bool {
    /// Titles, totals and unreadable rows are among them.
    const NEARLY: f64 = 0.9;
    now.rows().len() as f64 >= NEARLY * before.rows().len() as f64
}

/// What the export that a file was last read from says as it is read now; only where the new one has the same headers, so
/// that it is the agreement that has changed, and not the sheet.
///
/// `agreed_before` is what was agreed when it was read last.
pub(super) fn read_anew(
    export: &Export,
    settings: &Settings,
    agreed_before: Option<&[AgreedSheet]>,
    today: Date,
) -> Vec<ReadAnew> {
    let earlier = export.earlier.as_ref();
    if !export.is_known || earlier.is_some_and(Earlier::is_of_another_shape) {
        return Vec::new();
    }
    let tables = earlier.map_or(export.read.tables.as_slice(), Earlier::rows);
    let day = earlier.map(|earlier| earlier.modified).or(export.modified).unwrap_or(today).min(today);
    let mut anew = Vec::new();
    for table in tables {
        let read_as = recognise(table, settings);
        let now = of_name(&export.read.tables, &table.name).map(|now| recognise(now, settings));
        // A slip in the settings takes nothing back.
        let is_sound = read_as.problems.iter().all(|problem| problem.severity != Severity::Error);
        let is_left_unread = agreed_for(table, &settings.sheets).is_some_and(yard::is_left_unread);
        let is_read = is_sound && (read_as.kind.is_some() || is_left_unread);
        if is_read && now.is_some_and(|now| headers(&now) == headers(&read_as)) {
            let (records, _) = yard::records(table, &read_as, day);
            let before = agreed_before.filter(|_| read_as.kind.is_some()).map(|agreed| {
                let read_before = yard::recognise(table, agreed_for(table, agreed), settings.date_order);
                yard::records(table, &read_before, day).0
            });
            let misnamed = before.map(|before| misnamed(&before, &records)).unwrap_or_default();
            anew.push(ReadAnew { table: table.clone(), kind: read_as.kind, records, misnamed });
        }
    }
    anew
}

/// The names that rows gave their machines as they were read before, and none does now.
fn misnamed(before: &Records, now: &Records) -> Misnamed {
    let still: BTreeSet<MachineId> =
        now.records.iter().flat_map(|(identity, _)| MachineId::each(identity)).collect();
    let row = |identity: &Identity| identity.cell().map(|cell| cell.row);
    let by_row: BTreeMap<u32, &Identity> =
        now.records.iter().filter_map(|(identity, _)| Some((row(identity)?, identity))).collect();
    let mut misnamed = Misnamed::new();
    for (identity, _) in &before.records {
        let now = row(identity).and_then(|row| by_row.get(&row)).copied();
        for name in MachineId::each(identity).filter(|name| !still.contains(name)) {
            let known = misnamed.entry(name).or_insert_with(|| now.cloned());
            // Somebody's name stands in the rows of many machines.
            if known.as_ref().map(Identity::names) != now.map(Identity::names) {
                *known = None;
            }
        }
    }
    misnamed
}

/// The headers of a sheet from left to right.
fn headers(read_as: &ReadAs) -> Vec<(usize, &str)> {
    let read = read_as.columns.iter().map(|column| (column.index, column.header.as_str()));
    let left_out = read_as.left_out.iter().map(|column| (column.index, column.header.as_str()));
    let mut headers: Vec<_> = read.chain(left_out).collect();
    headers.sort_unstable();
    headers
}

fn of_name<'t>(tables: &'t [Table], name: &SheetName) -> Option<&'t Table> {
    // The next of a dated series has another file's name.
    tables.iter().find(|table| table.name.sheet == name.sheet)
}
