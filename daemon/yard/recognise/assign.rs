//! Which kind of row a sheet has, and which of its columns is which field of that kind.

use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

use jiff::civil::Date;

use super::best_total::best_total;
use super::clock_or_ride::Figures;
use super::header::{Header, is_of};
use super::kind_of_sheet::hinted_kind;
use super::shape::{LEAST_SHARE, SURE_SHARE, Sample};
use super::visits::is_beside_the_job;
use crate::origin::SheetName;
use crate::settings::{DateOrder, words_of};
use crate::sheets::{Cell, Table};
use crate::yard::cells::Meaning;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind, result_words};

/// How much the name counts beside the values.
const NAME_WEIGHT: f64 = 0.7;
/// The score of a header whose values speak against it is at most this: half a name, and less than half of them fit.
const SPOKEN_AGAINST: f64 = NAME_WEIGHT / 2.0 + (1.0 - NAME_WEIGHT) * LEAST_SHARE;
/// How much each place further down in a field's list of spellings takes away: the plainest header wins a tie.
const PLAINER_NAME: f64 = 0.001;
/// A header less like a spelling than this (Jaro-Winkler) suggests nothing. Our decision; the trials hold it to that.
const NEAR_NAME: f64 = 0.90;
/// The same where values cannot tell, since nearly everything is words.
const NEAR_NAME_OF_WORDS: f64 = 0.96;
/// A near name counts only where nothing else comes as close as this.
const CLEAR_MARGIN: f64 = 0.15;
/// What a column of results below an item's name counts; less than a known header.
const ITEM_SCORE: f64 = 0.8;

/// How a column came to its field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Assigned {
    pub(super) column: usize,
    pub(super) field: Field,
    pub(super) score: f64,
    pub(super) found: Found,
}

/// The column that a field got.
pub(super) fn column_of(assigned: &[Assigned], field: Field) -> Option<usize> {
    assigned.iter().find(|taken| taken.field == field).map(|taken| taken.column)
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
    /// The days of the columns that were read as days.
    pub(super) days: BTreeMap<usize, Rc<[Option<Date>]>>,
    /// How the columns that may hold days are meant.
    pub(super) meanings_of_days: BTreeMap<usize, Meaning>,
    /// What the figures of the columns that are a clock's or of rides show.
    pub(super) figures: BTreeMap<usize, Figures>,
    /// Columns whose field was agreed.
    pub(super) agreed: Vec<(usize, Field)>,
    /// Columns that were agreed to be left out.
    pub(super) refused: Vec<usize>,
}

impl Columns<'_> {
    /// The fields of one kind, each field and each column once, so that all together explain the sheet best.
    pub(super) fn assign(&mut self, kind: RecordKind) -> Assignment {
        let candidates = self.exact_candidates(kind);
        let agreed = self.agreed.iter().map(|&(column, field)| Assigned {
            column,
            field,
            score: 1.0,
            found: Found::Name,
        });
        let mut assigned: Vec<Assigned> = agreed.collect();
        // What its values speak against explains nothing: it has only what nothing else wants.
        let (borne_out, spoken_against): (Vec<_>, Vec<_>) =
            candidates.into_iter().partition(|(candidate, _)| candidate.score > SPOKEN_AGAINST);
        assigned.extend(chosen(&borne_out, &assigned));
        assigned.extend(chosen(&spoken_against, &assigned));
        self.drop_shared_numbers(kind, &mut assigned);
        match kind {
            RecordKind::Check => self.add_items(&mut assigned),
            RecordKind::Machine => self.add_items_of_a_machine(&mut assigned),
            RecordKind::Job => self.add_beside_the_work(&mut assigned),
            _ => {}
        }
        self.add_by_values(kind, &mut assigned);
        self.add_further_columns(kind, &mut assigned);
        let mut suggested = self.add_near_names(kind, &mut assigned);
        suggested.extend(self.perhaps(kind, &assigned));
        assigned.sort_by_key(|assigned| assigned.column);
        // What only evidence tells says little of what the rows are.
        let is_beside = |field: Field| kind == RecordKind::Job && is_beside_the_job(field);
        let by_name = assigned
            .iter()
            .filter(|assigned| assigned.found != Found::Evidence && !is_beside(assigned.field));
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
            for &(field, place) in header.fields(kind) {
                if !header.has_units_of(field, kind)
                    || self.is_told_against(column, field, kind)
                    || (field == Field::Done && self.is_outdone(column))
                {
                    continue;
                }
                let sample = &mut self.samples[column];
                let lacks_year = sample.are_days_without_year(field.shape());
                let share = match () {
                    () if sample.is_blank() => LEAST_SHARE,
                    () if lacks_year => SURE_SHARE,
                    () => sample.share(field.shape()),
                };
                let speaks_against = share < LEAST_SHARE;
                // Values of which most are unknown words mean that the column is about something else.
                let is_about_another = speaks_against && is_choice(field.shape());
                let is_judged = !sample.is_short() || (sample.count() > 1 && share == 0.0);
                let is_something_else = sample.is_none_of(field.shape()) && !lacks_year;
                if (is_about_another && is_judged) || is_something_else {
                    continue;
                }
                let name = if speaks_against { NAME_WEIGHT / 2.0 } else { NAME_WEIGHT };
                let score = name + (1.0 - NAME_WEIGHT) * share;
                let candidate = Assigned { column, field, score, found: Found::Name };
                candidates.push((candidate, score - PLAINER_NAME * place as f64));
            }
            candidates.extend(self.candidate_beside(column, kind));
            candidates.extend(self.candidate_by_figures(column, kind));
            candidates.extend(self.candidate_by_items(column, kind));
            candidates.extend(self.candidate_by_results(column, kind));
            candidates.extend(self.candidate_by_by(column, kind));
            candidates.extend(self.candidate_by_work(column, kind));
        }
        candidates
    }

    /// Gives columns whose header is nearly a spelling to fields that nothing else claims; returns the doubtful ones, and
    /// those of words that are less near: `Modle`.
    fn add_near_names(&mut self, kind: RecordKind, assigned: &mut Vec<Assigned>) -> Vec<(usize, Field)> {
        let open_columns = self.open_columns(assigned);
        let open_fields: Vec<Field> = Field::of(kind)
            .filter(|field| *field != Field::CheckItem && assigned.iter().all(|taken| taken.field != *field))
            .collect();
        let (mut near, mut may_be): (Vec<Assigned>, Vec<(usize, Field)>) = (Vec::new(), Vec::new());
        for &column in &open_columns {
            let known = self.headers[column].fields(kind);
            // A field that knows the header by name has been judged by its values already.
            for &field in open_fields.iter().filter(|field| known.iter().all(|(known, _)| known != *field)) {
                let likeness = self.headers[column].likeness(field, kind);
                let shape = field.shape();
                let says_little = matches!(shape, Shape::Words | Shape::Anything | Shape::Stock);
                let share = if likeness >= NEAR_NAME { self.samples[column].share(shape) } else { 0.0 };
                if share < SURE_SHARE || self.samples[column].is_blank() {
                    continue;
                }
                if says_little && likeness < NEAR_NAME_OF_WORDS {
                    may_be.push((column, field));
                } else {
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
        may_be.retain(|(column, field)| {
            assigned.iter().all(|taken| taken.column != *column && taken.field != *field)
        });
        doubtful.into_iter().map(|one| (one.column, one.field)).chain(may_be).collect()
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
        let has_item_name = |column: &usize| is_item_name(&self.headers[*column].shown);
        let mut items = filled;
        items.retain(|column| {
            let sample = &mut self.samples[*column];
            sample.share(Shape::Result) >= SURE_SHARE
                && (has_item_name(column) || sample.share(Shape::Day) < LEAST_SHARE)
        });
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

    /// A machine's row may have a column for each point of its inspection, too.
    fn add_items_of_a_machine(&mut self, assigned: &mut Vec<Assigned>) {
        /// Fewer columns named after parts may say what the machine has.
        const LEAST_ITEMS: usize = 3;
        let mut items = self.open_columns(assigned);
        items.retain(|column| self.may_be_an_item(*column, RecordKind::Machine));
        if items.len() >= LEAST_ITEMS {
            let item =
                |column| Assigned { column, field: Field::CheckItem, score: ITEM_SCORE, found: Found::Name };
            assigned.extend(items.into_iter().map(item));
        }
    }

    /// Whether a column that nothing has taken is named after a part and holds results, in a sheet whose rows can have
    /// checks.
    pub(super) fn may_be_an_item(&mut self, column: usize, kind: RecordKind) -> bool {
        let (header, sample) = (&self.headers[column], &mut self.samples[column]);
        Field::of(kind).any(|field| field == Field::CheckItem)
            && is_item_name(&header.shown)
            && !is_beside_an_item(&header.shown)
            && !sample.is_blank()
            && sample.share(Shape::Result) >= SURE_SHARE
            // A `no` may stand for a day, too.
            && (sample.share(Shape::Day) < LEAST_SHARE || sample.share(Shape::Flag) >= SURE_SHARE)
    }

    /// Whether a column that nothing has taken is named after what is checked and holds anything that may be a result: one
    /// that is plain, or, under a bare name such as `Brakes`, remarks in words. It is asked about, and never left out
    /// unsaid.
    pub(super) fn may_hold_checks(&mut self, column: usize, kind: RecordKind) -> bool {
        let (header, sample) = (&self.headers[column], &mut self.samples[column]);
        Field::of(kind).any(|field| field == Field::CheckItem)
            && is_item_name(&header.shown)
            && !is_beside_an_item(&header.shown)
            && !sample.is_blank()
            && (sample.share(Shape::Day) < LEAST_SHARE || sample.share(Shape::Flag) >= SURE_SHARE)
            && (sample.share_where(is_plain_result) > 0.0
                || (is_bare_item_name(&header.shown) && sample.share_where(is_remark) >= LEAST_SHARE))
    }

    /// The other columns that could as well be the same field: of the same header, a second number of the machine, as of
    /// one taken in part exchange, or a second day or distance that the field knows by name.
    pub(super) fn rivals(&mut self, assigned: &Assigned, assignment: &Assignment) -> Vec<usize> {
        let has_arrived = assignment.assigned.iter().any(|taken| taken.field == Field::Arrived);
        let mut others = self.open_columns(&assignment.assigned);
        others.retain(|&other| {
            let knows = is_of(self.headers[other].fields(assignment.kind), assigned.field)
                && self.headers[other].has_units_of(assigned.field, assignment.kind);
            let is_same = self.headers[other].is_same(&self.headers[assigned.column]);
            (is_same || (knows && decides(assigned.field) && !self.are_in_and_out(assigned.column, other)))
                && (!self.is_told_against(other, assigned.field, assignment.kind)
                    || (assigned.field == Field::Handover
                        && !has_arrived
                        && self.may_be_the_handover(other, assignment.kind)))
                && !self.samples[other].is_blank()
                && self.samples[other].share(assigned.field.shape()) >= SURE_SHARE
                && !self.say_the_same(assigned.column, other)
        });
        others
    }

    /// Whether two columns are when a job came in and when it went out, of which the one that is taken will do.
    fn are_in_and_out(&self, taken: usize, other: usize) -> bool {
        self.goes_out_after(taken, other) || self.goes_out_after(other, taken)
    }

    /// Whether a column is when a job went out, and another when it came in.
    pub(super) fn goes_out_after(&self, out: usize, came_in: usize) -> bool {
        const OUT: &str = "out closed close finished finish completed completion done end invoice invoiced after collected picked went \
             gone back returned";
        const IN: &str = "in opened open started start begun before booked arrived came dropped brought";
        let has = |column: usize, words: &str| {
            self.headers[column].words().iter().any(|word| words.split(' ').any(|one| one == word))
        };
        has(out, OUT) && has(came_in, IN)
    }

    /// The column of the day on which a job came in, where the one that is taken is when it went out.
    pub(super) fn came_in_beside(&mut self, taken: &Assigned, assignment: &Assignment) -> Option<usize> {
        if assignment.kind != RecordKind::Job || taken.field != Field::Day {
            return None;
        }
        let mut came_in = self.open_columns(&assignment.assigned);
        came_in.retain(|&column| {
            self.goes_out_after(taken.column, column)
                && !self.samples[column].is_blank()
                && self.samples[column].share(Shape::Day) >= SURE_SHARE
        });
        came_in.first().copied()
    }

    /// Whether two columns hold the same in every row in which both are filled, so that either will do.
    fn say_the_same(&self, one: usize, other: usize) -> bool {
        let rows = self.table.rows().part(self.header_row + 1..);
        let mut both = rows
            .iter()
            .take(SAMPLED_PAIRS)
            .map(|row| (row.cell(one), row.cell(other)))
            .filter(|(one, other)| !one.is_blank() && !other.is_blank())
            .peekable();
        both.peek().is_some() && both.all(|(one, other)| one.shown().eq_ignore_ascii_case(&other.shown()))
    }
}

/// How many rows of two columns are compared.
const SAMPLED_PAIRS: usize = 1_000;

/// Whether a machine's name, a due day or a clock hangs on a field, so that the plainer of two names is not enough.
fn decides(field: Field) -> bool {
    field.is_identity() || matches!(field.shape(), Shape::Day | Shape::DayOrFlag | Shape::Distance)
}

/// The candidates that explain the most together, beside the columns and fields that are taken.
fn chosen(candidates: &[(Assigned, f64)], taken: &[Assigned]) -> Vec<Assigned> {
    /// A score in whole numbers, so that sums are exact.
    const PARTS: f64 = 1e9;
    /// What each place further to the right takes away: of equals the first column has the field.
    const FURTHER_RIGHT: i64 = 10;
    let is_free = |candidate: &Assigned| {
        taken.iter().all(|taken| taken.column != candidate.column && taken.field != candidate.field)
    };
    let free: Vec<&(Assigned, f64)> = candidates.iter().filter(|(candidate, _)| is_free(candidate)).collect();
    let columns: Vec<usize> =
        free.iter().map(|(one, _)| one.column).collect::<BTreeSet<_>>().into_iter().collect();
    let fields: Vec<Field> =
        free.iter().map(|(one, _)| one.field).collect::<BTreeSet<_>>().into_iter().collect();
    let mut weights = vec![vec![0; columns.len()]; fields.len()];
    let place_of = |candidate: &Assigned| {
        Some((fields.binary_search(&candidate.field).ok()?, columns.binary_search(&candidate.column).ok()?))
    };
    for (candidate, plainness) in &free {
        if let Some((field, column)) = place_of(candidate) {
            let weight = (plainness * PARTS) as i64 - FURTHER_RIGHT * column as i64;
            weights[field][column] = weights[field][column].max(weight);
        }
    }
    let given = best_total(&weights);
    let is_given = |candidate: &Assigned| {
        place_of(candidate).is_some_and(|(field, column)| given[field] == Some(column))
    };
    let mut chosen: Vec<Assigned> = Vec::new();
    for (candidate, _) in free.into_iter().filter(|(candidate, _)| is_given(candidate)) {
        if chosen.iter().all(|other| other.column != candidate.column) {
            chosen.push(*candidate);
        }
    }
    chosen
}

/// Whether a shape is one of a few words to choose from.
fn is_choice(shape: Shape) -> bool {
    matches!(shape, Shape::Kind | Shape::Unit | Shape::Label | Shape::Grade | Shape::Source | Shape::Outcome)
}

/// Whether a header says when an item was checked or by whom, and so is none itself.
fn is_beside_an_item(header: &str) -> bool {
    let last =
        header.rsplit(|letter: char| !letter.is_alphanumeric()).next().unwrap_or_default().to_lowercase();
    matches!(last.as_str(), "date" | "day" | "on" | "by" | "when" | "who" | "initials" | "signed" | "time")
}

/// Whether a header names a part or a point that a workshop inspects.
pub(super) fn is_item_name(header: &str) -> bool {
    const PARTS: &str = "brake tyre tire light lamp chain belt steering head horn mirror fluid oil coolant torque \
                         battery wheel spoke fork suspension shock cable clutch throttle lever stand exhaust \
                         indicator switch bolt axle bearing leak fuel pressure tread sprocket pads pdi quality";
    let header = header.to_lowercase();
    PARTS.split(' ').any(|part| header.contains(part))
}

/// Whether a header names what is checked before a machine leaves and nothing beside it, as `Front brakes` does and
/// `Brake type` does not.
fn is_bare_item_name(header: &str) -> bool {
    const NAMES: &str = "brake brakes tyre tyres tire tires light lights chain steering wheel wheels horn pdi qc quality \
                         check checks checked inspection torque condition safety front rear f r nsf nsr ok";
    let words = words_of(header);
    !words.is_empty() && words.iter().all(|word| NAMES.split_whitespace().any(|name| name == word))
}

/// Whether a cell says plainly how a check came out. A figure does not: a 1 may be a count.
pub(super) fn is_plain_result(cell: Cell<'_>) -> bool {
    !matches!(cell, Cell::Number(_) | Cell::Day(_)) && result_words::is_understood(cell)
}

/// Whether a cell holds words and no figures: a size or a part number is no remark.
fn is_remark(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    text.chars().any(char::is_alphabetic) && !text.chars().any(|letter| letter.is_ascii_digit())
}
