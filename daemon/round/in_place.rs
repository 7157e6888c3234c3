//! A file that came as another one went, and holds the same under another name: it is read as was agreed of that one
//! until somebody agrees on it.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::intake::{agreed_for, is_for};
use super::open_changes::plain;
use crate::settings::{AgreedSheet, DateOrder, Settings, TextForm};
use crate::sheets::Table;
use crate::watch::Shelf;
use crate::yard::{self, Identity, MachineId, ReadAs, Record, RecordKind};

/// Under this name the shelf has which files stand in the place of which.
const NOTE: &str = "in the place of";

/// So much of what a file said that is gone another one must say to be taken for it. Our decision.
const MOST: f64 = 0.5;

/// So little may be the same by chance. Our decision.
const LEAST: usize = 2;

/// Each file's name, with the name of the one in whose place it stands.
#[derive(Debug, Clone, Default)]
pub(super) struct InPlace(BTreeMap<String, String>);

impl InPlace {
    /// As it was noted. A line that is none is passed over.
    pub(super) fn noted(shelf: &Shelf) -> InPlace {
        let note = shelf.noted_changes(NOTE);
        let parts = note.lines().filter_map(|line| line.split_once('\t'));
        InPlace(parts.map(|(new, old)| (new.to_owned(), old.to_owned())).collect())
    }

    /// Notes that one stands in the place of another, or of the one in whose place that stood.
    pub(super) fn add(&mut self, new: &str, old: &str) {
        let old = self.of(old).unwrap_or(old).to_owned();
        self.0.insert(new.to_owned(), old);
    }

    /// The name of the file in whose place this one stands.
    pub(super) fn of(&self, new: &str) -> Option<&str> {
        self.0.get(new).map(String::as_str)
    }

    /// Keeps it for the next round: as long as the new file is there and the old one is not.
    pub(super) fn note(mut self, shelf: &Shelf, present: &BTreeSet<String>) {
        self.0.retain(|new, old| present.contains(new) && !present.contains(old));
        let lines = self.0.iter().map(|(new, old)| format!("{}\t{}\n", plain(new), plain(old)));
        // Where it cannot be noted the sheet is read by its looks; what keeps the shelf from being written is said.
        let _ = shelf.note_changes(NOTE, &lines.collect::<String>());
    }

    /// The settings as they count for the sheets of a file.
    pub(super) fn settings<'s>(&self, tables: &[Table], settings: &'s Settings) -> Cow<'s, Settings> {
        let agreed = self.agreed(tables, &settings.sheets, settings.date_order);
        if agreed.is_empty() {
            return Cow::Borrowed(settings);
        }
        let mut settings = settings.clone();
        settings.sheets.extend(agreed);
        Cow::Owned(settings)
    }

    /// What was agreed of the file in whose place these sheets stand, as if of them; nothing of those that somebody has
    /// agreed on.
    pub(super) fn agreed(
        &self,
        tables: &[Table],
        agreed: &[AgreedSheet],
        order: DateOrder,
    ) -> Vec<AgreedSheet> {
        let as_if = |table: &Table| {
            let old = self.of(&table.name.file).filter(|_| agreed_for(table, agreed).is_none())?;
            let looks = yard::recognise(table, None, order);
            let is_like = |agreed: &&AgreedSheet| {
                is_for(agreed, old)
                    && RecordKind::named(&agreed.rows).is_some_and(|kind| Some(kind) == looks.kind)
            };
            let mut like = agreed.iter().filter(is_like);
            let by_name = like.clone().find(|agreed| agreed.sheet == table.name.sheet);
            let only = || like.next().filter(|_| like.next().is_none());
            Some(as_of(by_name.or_else(only)?, table, &looks))
        };
        tables.iter().filter_map(as_if).collect()
    }
}

/// An agreement as if of another sheet. The columns that this one has not are looked for by their names alone.
pub(super) fn as_of(agreed: &AgreedSheet, table: &Table, looks: &ReadAs) -> AgreedSheet {
    let read = looks.columns.iter().map(|column| column.header.as_str());
    let headers: BTreeSet<&str> =
        read.chain(looks.left_out.iter().map(|column| column.header.as_str())).collect();
    AgreedSheet {
        file: table.name.file.clone(),
        sheet: table.name.sheet.clone(),
        text_form: TextForm::default(),
        columns: agreed
            .columns
            .iter()
            .filter(|column| headers.contains(column.header.as_str()))
            .cloned()
            .collect(),
        ..agreed.clone()
    }
}

/// Whether a file says most of what one that is gone said: of the same machines, in logs on the same days.
pub(super) fn says_the_same(gone: &[Table], now: &[Table], agreed: &[AgreedSheet], order: DateOrder) -> bool {
    let read = |tables: &[Table]| {
        let rows = tables.iter().filter_map(|table| rows(table, agreed, order));
        rows.collect::<Vec<_>>()
    };
    // What a workbook of several sheets said is found again sheet by sheet, or not at all.
    let [(kind, before)] = &read(gone)[..] else { return false };
    let same = |now: &Rows| before.intersection(now).count();
    let most = read(now).iter().filter(|(other, _)| other == kind).map(|(_, now)| same(now)).max();
    most.is_some_and(|same| {
        same >= LEAST.min(before.len()) && same > 0 && same as f64 >= MOST * before.len() as f64
    })
}

/// What tells rows apart, whatever their figures count in and whichever of day and month comes first: the machine, and
/// the year, month and day.
type Rows = BTreeSet<(MachineId, Option<[i16; 3]>)>;

fn rows(table: &Table, agreed: &[AgreedSheet], order: DateOrder) -> Option<(RecordKind, Rows)> {
    let read_as = yard::recognise(table, agreed_for(table, agreed), order);
    let kind = read_as.kind?;
    let (said, _) = yard::records(table, &read_as, Date::MAX);
    let of_kind = |record: &Record| kind != RecordKind::Machine || matches!(record, Record::Machine(_));
    let said = said.records.iter().filter(|(_, record)| of_kind(record));
    let row = |(identity, record): &(Identity, Record)| {
        let day = record.day().map(|day| {
            let (month, day_of_month) = (i16::from(day.month()), i16::from(day.day()));
            [day.year(), month.min(day_of_month), month.max(day_of_month)]
        });
        Some((MachineId::each(identity).next()?, day))
    };
    Some((kind, said.filter_map(row).collect()))
}
