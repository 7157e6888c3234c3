//! Which kind of row a sheet has, and which of its columns is which field of that kind.

use super::field::Shape;
use super::header::Header;
use super::shape::{LEAST_SHARE, SURE_SHARE, Sample};
use super::{Field, RecordKind};
use crate::origin::SheetName;
use crate::settings::DateOrder;
use crate::sheets::Table;

/// How much the name counts beside the values.
const NAME_WEIGHT: f64 = 0.7;
/// How much each place further down in a field's list of spellings takes away: the plainest header wins a tie.
const PLAINER_NAME: f64 = 0.001;
/// A header less like a spelling than this (Jaro-Winkler) suggests nothing: 5,000 real headers gave 1 in 80 false.
const NEAR_NAME: f64 = 0.90;
/// The same where values cannot tell, since nearly everything is words.
const NEAR_NAME_OF_WORDS: f64 = 0.96;
/// A near name counts only where nothing else comes as close as this.
const CLEAR_MARGIN: f64 = 0.15;
/// How much a file's or a worksheet's name counts: it decides between kinds that explain a sheet alike.
const NAME_HINT: f64 = 0.6;
/// What a column of results below an item's name counts; less than a known header.
const ITEM_SCORE: f64 = 0.8;
/// What speaks against one row a machine when most machines stand in several rows.
const REPEATED_MACHINES: f64 = 1.5;

/// What a plain `Date` speaks against one row a machine; it is the day of a log's row.
const BARE_DATE: f64 = 0.5;

/// How a column came to its field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Assigned {
    pub(super) column: usize,
    pub(super) field: Field,
    pub(super) score: f64,
    pub(super) found: Found,
}

/// What tells that a column is its field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Found {
    /// Its header is one of the field's own spellings, or it was agreed.
    Name,
    /// Its header is nearly one.
    NearName,
    /// Its header says little, and its neighbour or its values say the rest.
    Evidence,
}

/// The fields of all columns for one kind, and how well they explain the sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Assignment {
    pub(super) kind: RecordKind,
    pub(super) assigned: Vec<Assigned>,
    /// Columns whose header is near a spelling, without being clear enough.
    pub(super) suggested: Vec<(usize, Field)>,
    pub(super) total: f64,
}

/// The columns of a sheet as the choice sees them.
pub(super) struct Columns<'sheet> {
    pub(super) name: &'sheet SheetName,
    pub(super) table: &'sheet Table,
    /// The place of the row of headers among the table's rows.
    pub(super) header_row: usize,
    /// Which of day and month comes first where nothing in the sheet tells.
    pub(super) shop_order: DateOrder,
    pub(super) headers: &'sheet [Header],
    pub(super) samples: Vec<Sample<'sheet>>,
    /// Columns whose field was agreed.
    pub(super) agreed: Vec<(usize, Field)>,
    /// Columns that were agreed to be left out.
    pub(super) refused: Vec<usize>,
}

impl Columns<'_> {
    /// The kind that explains the sheet best; `None` when no kind has what it needs.
    pub(super) fn best_kind(&mut self) -> Option<Assignment> {
        let hint = hinted_kind(self.name);
        let mut best: Option<Assignment> = None;
        for kind in RecordKind::ALL {
            let mut assignment = self.assign(kind);
            if !is_enough(&assignment, self.name) {
                continue;
            }
            assignment.total += if hint == Some(kind) { NAME_HINT } else { 0.0 };
            if kind != RecordKind::Machine {
                assignment.total += self.repeated_facts(&assignment);
            }
            if kind == RecordKind::Machine && self.machines_repeat(&assignment) {
                assignment.total -= REPEATED_MACHINES;
            }
            if kind == RecordKind::Machine && self.has_bare_date(&assignment) {
                assignment.total -= BARE_DATE;
            }
            if best.as_ref().is_none_or(|best| assignment.total > best.total + 1e-9) {
                best = Some(assignment);
            }
        }
        best
    }

    /// The fields of one kind, best scores first; each field and each column once.
    pub(super) fn assign(&mut self, kind: RecordKind) -> Assignment {
        let mut candidates = self.exact_candidates(kind);
        candidates.sort_by(|(one, plainness), (other, other_plainness)| {
            other_plainness
                .total_cmp(plainness)
                .then(one.column.cmp(&other.column))
                .then(one.field.cmp(&other.field))
        });
        let agreed = self.agreed.iter().map(|&(column, field)| Assigned {
            column,
            field,
            score: 1.0,
            found: Found::Name,
        });
        let mut assigned: Vec<Assigned> = agreed.collect();
        for (candidate, _) in candidates {
            let is_free =
                |taken: &Assigned| taken.column != candidate.column && taken.field != candidate.field;
            if assigned.iter().all(is_free) {
                assigned.push(candidate);
            }
        }
        self.drop_shared_numbers(kind, &mut assigned);
        if kind == RecordKind::Check {
            self.add_items(&mut assigned);
        }
        self.add_by_values(kind, &mut assigned);
        let mut suggested = self.add_near_names(kind, &mut assigned);
        for column in self.open_columns(&assigned) {
            if self.headers[column].is_arrived_or_handover(kind) {
                suggested.extend([(column, Field::Arrived), (column, Field::Handover)]);
            }
        }
        assigned.sort_by_key(|assigned| assigned.column);
        // What only evidence tells says little of what the rows are.
        let by_name = assigned.iter().filter(|assigned| assigned.found != Found::Evidence);
        let total = by_name.map(|assigned| assigned.score).sum();
        Assignment { kind, assigned, suggested, total }
    }

    /// Takes away numbers that many machines share beside numbers that they do not: a `Stock` that counts pieces
    /// would join all machines into one.
    fn drop_shared_numbers(&self, kind: RecordKind, assigned: &mut Vec<Assigned>) {
        /// Below this share of the other number's variety a number is no machine's own.
        const OWN_NUMBER: f64 = 0.5;
        let variety = |taken: &Assigned| self.samples[taken.column].variety();
        let is_number =
            |taken: &Assigned| taken.field.is_identity() && !self.samples[taken.column].is_short();
        let most = assigned.iter().filter(|taken| is_number(taken)).map(variety).fold(0.0, f64::max);
        let is_agreed = |taken: &Assigned| self.agreed.iter().any(|(column, _)| *column == taken.column);
        if kind == RecordKind::Machine {
            assigned
                .retain(|taken| !is_number(taken) || is_agreed(taken) || variety(taken) >= OWN_NUMBER * most);
        }
    }

    /// The columns with a header that are no field yet and may become one.
    pub(super) fn open_columns(&self, assigned: &[Assigned]) -> Vec<usize> {
        let is_open = |column: &usize| {
            !self.headers[*column].shown.is_empty()
                && !self.refused.contains(column)
                && assigned.iter().all(|taken| taken.column != *column)
        };
        (0..self.headers.len()).filter(is_open).collect()
    }

    /// Every column with every field that knows its header by name, and its score with the plainness of the name.
    fn exact_candidates(&mut self, kind: RecordKind) -> Vec<(Assigned, f64)> {
        let mut candidates = Vec::new();
        for (column, header) in self.headers.iter().enumerate() {
            if self.refused.contains(&column) {
                continue;
            }
            let fields = header.fields(kind);
            let decided = if header.is_arrived_or_handover(kind) {
                self.arrived_or_handover(column, kind)
            } else {
                None
            };
            for &(field, place) in fields {
                if matches!(field, Field::Arrived | Field::Handover)
                    && header.is_arrived_or_handover(kind)
                    && decided != Some(field)
                {
                    continue;
                }
                let sample = &mut self.samples[column];
                let share = if sample.is_blank() { LEAST_SHARE } else { sample.share(field.shape()) };
                let speaks_against = share < LEAST_SHARE;
                // Values of which most are unknown words mean that the column is about something else.
                if speaks_against && is_choice(field.shape()) && !sample.is_short() {
                    continue;
                }
                let name = if speaks_against { NAME_WEIGHT / 2.0 } else { NAME_WEIGHT };
                let score = name + (1.0 - NAME_WEIGHT) * share;
                let candidate = Assigned { column, field, score, found: Found::Name };
                candidates.push((candidate, score - PLAINER_NAME * place as f64));
            }
            candidates.extend(self.candidate_beside(column, kind));
        }
        candidates
    }

    /// Gives columns whose header is nearly a spelling to fields that nothing else claims; returns the doubtful ones.
    fn add_near_names(&mut self, kind: RecordKind, assigned: &mut Vec<Assigned>) -> Vec<(usize, Field)> {
        let open_columns = self.open_columns(assigned);
        let open_fields: Vec<Field> = Field::of(kind)
            .filter(|field| *field != Field::CheckItem && assigned.iter().all(|taken| taken.field != *field))
            .collect();
        let mut near: Vec<Assigned> = Vec::new();
        for &column in &open_columns {
            let known = self.headers[column].fields(kind);
            // A field that knows the header by name has been judged by its values already.
            for &field in open_fields.iter().filter(|field| known.iter().all(|(known, _)| known != *field)) {
                let likeness = self.headers[column].likeness(field, kind);
                let shape = field.shape();
                let says_little = matches!(shape, Shape::Words | Shape::Anything | Shape::Stock);
                let least = if says_little { NEAR_NAME_OF_WORDS } else { NEAR_NAME };
                let share = if likeness >= least { self.samples[column].share(shape) } else { 0.0 };
                if share >= SURE_SHARE && !self.samples[column].is_blank() {
                    let score = NAME_WEIGHT * likeness + (1.0 - NAME_WEIGHT) * share;
                    near.push(Assigned { column, field, score, found: Found::NearName });
                }
            }
        }
        let competes = |one: &Assigned, other: &Assigned| {
            (one.column == other.column) != (one.field == other.field)
                && other.score > one.score - CLEAR_MARGIN
        };
        let (clear, doubtful): (Vec<Assigned>, Vec<Assigned>) =
            near.iter().partition(|one| !near.iter().any(|other| competes(one, other)));
        assigned.extend(clear);
        doubtful.into_iter().map(|one| (one.column, one.field)).collect()
    }

    /// In a check sheet with one row a machine every further column of results is an item.
    fn add_items(&mut self, assigned: &mut Vec<Assigned>) {
        if assigned.iter().any(|taken| taken.field == Field::Item) {
            return;
        }
        let mut open = self.open_columns(assigned);
        open.retain(|column| !is_beside_an_item(&self.headers[*column].shown));
        let (blank, filled): (Vec<usize>, Vec<usize>) =
            open.into_iter().partition(|column| self.samples[*column].is_blank());
        let mut items: Vec<usize> = filled
            .into_iter()
            .filter(|column| self.samples[*column].share(Shape::Result) >= SURE_SHARE)
            .collect();
        let has_item_name = |column: &usize| is_item_name(&self.headers[*column].shown);
        let named = items.iter().filter(|column| has_item_name(column)).count();
        if items.is_empty() || (named < 2 && hinted_kind(self.name) != Some(RecordKind::Check)) {
            return;
        }
        // A column of brakes in which nobody has written anything is an item that is not done.
        items.extend(blank.into_iter().filter(has_item_name));
        let item =
            |column| Assigned { column, field: Field::CheckItem, score: ITEM_SCORE, found: Found::Name };
        assigned.extend(items.into_iter().map(item));
    }

    /// What columns count that only repeat what each row's machine is; they explain themselves in any log.
    fn repeated_facts(&self, assignment: &Assignment) -> f64 {
        /// Less than half a column that is read, since what they say is lost.
        const REPEATED_FACT: f64 = 0.4;
        let open = self.open_columns(&assignment.assigned).into_iter();
        let facts = open.filter(|column| self.headers[*column].fact_of_the_machine().is_some());
        facts.count() as f64 * REPEATED_FACT
    }

    /// Whether a column of days is left over, or is the clock's only by its place, whose header is that of a log's day.
    fn has_bare_date(&mut self, assignment: &Assignment) -> bool {
        let mut open = self.open_columns(&assignment.assigned);
        let of_clock = assignment
            .assigned
            .iter()
            .filter(|assigned| assigned.field == Field::ClockDay && assigned.found == Found::Evidence);
        open.extend(of_clock.map(|assigned| assigned.column));
        open.into_iter().any(|column| {
            let is_day = |(field, _): &(Field, usize)| *field == Field::Day;
            self.headers[column].fields(RecordKind::Reading).iter().any(is_day)
                && !self.samples[column].is_blank()
                && self.samples[column].share(Shape::Day) >= SURE_SHARE
        })
    }

    /// Whether another column could as well be the same field: one of the same header, or a second number of the
    /// machine, as of one taken in part exchange.
    pub(super) fn has_rival(&mut self, assigned: &Assigned, assignment: &Assignment) -> bool {
        let others = self.open_columns(&assignment.assigned);
        others.into_iter().any(|other| {
            let knows = |(field, _): &(Field, usize)| *field == assigned.field;
            let is_same = self.headers[other].is_same(&self.headers[assigned.column]);
            let is_number =
                assigned.field.is_identity() && self.headers[other].fields(assignment.kind).iter().any(knows);
            (is_same || is_number)
                && !self.samples[other].is_blank()
                && self.samples[other].share(assigned.field.shape()) >= SURE_SHARE
        })
    }

    /// Whether most machines of a sheet stand in several of its rows, as in a log.
    fn machines_repeat(&self, assignment: &Assignment) -> bool {
        /// Below this share of different marks the rows are a log's.
        const LOG_VARIETY: f64 = 0.6;
        let identities = assignment.assigned.iter().filter(|assigned| assigned.field.is_identity());
        let variety = identities.map(|assigned| self.samples[assigned.column].variety());
        variety
            .fold(None, |most: Option<f64>, one| Some(most.map_or(one, |most| most.max(one))))
            .is_some_and(|variety| variety < LOG_VARIETY)
    }
}

/// Whether a shape is one of a few words to choose from, none of which says whether something was done.
fn is_choice(shape: Shape) -> bool {
    matches!(shape, Shape::Kind | Shape::Unit | Shape::Label | Shape::Source)
}

/// Whether a kind has the columns without which its rows say nothing.
fn is_enough(assignment: &Assignment, name: &SheetName) -> bool {
    let has = |field: Field| assignment.assigned.iter().any(|assigned| assigned.field == field);
    match assignment.kind {
        // A number alone says nothing of a machine, and `Serial No` or `Stock` stands in many a sheet.
        RecordKind::Machine => assignment.assigned.len() > 1,
        RecordKind::Reading => has(Field::Clock) && has(Field::Day),
        RecordKind::Job => has(Field::Done) && (has(Field::Day) || has(Field::OilUsed) || has(Field::By)),
        RecordKind::Check => {
            has(Field::CheckItem)
                || (has(Field::Result) && (has(Field::Item) || item_of_sheet(name).is_some()))
        }
        RecordKind::Ride => has(Field::TopSpeed) || (has(Field::Distance) && has(Field::Day)),
        RecordKind::Fill => has(Field::Volume) || (has(Field::Grade) && has(Field::Day)),
    }
}

/// The check that a whole sheet is about, where its name says so.
pub(super) fn item_of_sheet(name: &SheetName) -> Option<&'static str> {
    let named = |word: &str| name_words(name).iter().any(|one| one == word);
    if named("pdi") || named("predelivery") {
        Some("pre-delivery inspection")
    } else if named("qc") || named("quality") {
        Some("quality check")
    } else {
        None
    }
}

/// The words of a file's and its worksheet's name.
fn name_words(name: &SheetName) -> Vec<String> {
    let file = name.file.rsplit('/').next().unwrap_or_default();
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let text = format!("{stem} {}", name.sheet.as_deref().unwrap_or_default()).to_lowercase();
    text.split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The kind that the name of the worksheet or the file hints at.
fn hinted_kind(name: &SheetName) -> Option<RecordKind> {
    let kind_of = |word: &String| match word.as_str() {
        "mileage" | "mileages" | "odo" | "odometer" | "odometers" | "readings" | "reading" | "clocks" => {
            Some(RecordKind::Reading)
        }
        "job" | "jobs" | "jobcards" | "service" | "services" | "servicing" | "repairs" | "work"
        | "workshop" => Some(RecordKind::Job),
        "pdi" | "pdis" | "check" | "checks" | "checklist" | "checklists" | "inspection" | "inspections"
        | "qc" | "quality" | "torque" => Some(RecordKind::Check),
        "ride" | "rides" | "road" | "roadtests" | "roadtest" | "trips" | "trip" | "gps" | "tracker" => {
            Some(RecordKind::Ride)
        }
        "fuel" | "fuels" | "fill" | "fills" | "petrol" | "refuels" | "fuelling" => Some(RecordKind::Fill),
        "stock" | "machines" | "machine" | "bikes" | "vehicles" | "customers" | "sales" | "sold" | "mot"
        | "mots" => Some(RecordKind::Machine),
        _ => None,
    };
    // A worksheet's own name stands behind its file's and speaks first.
    name_words(name).iter().rev().find_map(kind_of)
}

/// Whether a header says when an item was checked or by whom, and so is none itself.
fn is_beside_an_item(header: &str) -> bool {
    let last =
        header.rsplit(|letter: char| !letter.is_alphanumeric()).next().unwrap_or_default().to_lowercase();
    matches!(last.as_str(), "date" | "day" | "on" | "by" | "when" | "who" | "initials" | "signed" | "time")
}

/// Whether a header names a part or a point that a workshop inspects.
fn is_item_name(header: &str) -> bool {
    const PARTS: &str = "brake tyre tire light lamp chain belt steering head horn mirror fluid oil coolant torque \
                         battery wheel spoke fork suspension shock cable clutch throttle lever stand exhaust \
                         indicator switch bolt axle bearing leak fuel pressure tread sprocket pads pdi quality";
    let header = header.to_lowercase();
    PARTS.split(' ').any(|part| header.contains(part))
}
