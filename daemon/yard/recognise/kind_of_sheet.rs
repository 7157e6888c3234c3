//! Which kind of row a sheet has: by the fields that only one kind has, by the sheet's name, by what explains most.

use super::assign::{Assigned, Assignment, Columns, Found};
use super::header::is_of;
use super::shape::{LEAST_SHARE, SURE_SHARE};
use super::visits::Visit;
use crate::origin::SheetName;
use crate::settings::words_of;
use crate::sheets::Cell;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// How much a file's or a worksheet's name counts: it decides between kinds that explain a sheet alike.
const NAME_HINT: f64 = 0.6;
/// What speaks against one row a machine when most machines stand in several rows.
const REPEATED_MACHINES: f64 = 1.5;
/// What a plain `Date` speaks against one row a machine; it is the day of a log's row.
const BARE_DATE: f64 = 0.5;
/// Kinds that explain a sheet as well as this but for this much are not told apart.
const TIE: f64 = 0.02;
/// What decides against a kind, however many columns it explains.
const DECIDED: f64 = 100.0;

impl Columns<'_> {
    /// The kind that explains the sheet best, and another one that it may be as well; `None` when no kind has what it
    /// needs.
    pub(super) fn best_kind(&mut self) -> Option<(Assignment, Option<RecordKind>)> {
        let hint = hinted_kind(self.name);
        let mut kinds: Vec<Assignment> = RecordKind::ALL.into_iter().map(|kind| self.assign(kind)).collect();
        let of = |kind: RecordKind| RecordKind::ALL.iter().position(|other| *other == kind).unwrap_or(0);
        let [machine, job, check, reading] =
            [RecordKind::Machine, RecordKind::Job, RecordKind::Check, RecordKind::Reading].map(of);
        let visit = self.visits(&kinds[job], &kinds[machine]);
        if visit == Visit::Sure {
            kinds[machine].total -= DECIDED;
        }
        if self.says_work(&kinds[job]) {
            kinds[reading].total -= DECIDED;
        }
        if self.is_of_checks(&kinds[check], &kinds[job]) {
            kinds[job].total -= DECIDED;
        }
        if self.is_of_machines_with_items(&kinds[check], &kinds[machine]) {
            kinds[check].total -= DECIDED;
        }
        if says_only_the_clock(&kinds[machine]) && self.is_enough(&kinds[reading]) {
            kinds[machine].total -= DECIDED;
        }
        let mut best: Option<Assignment> = None;
        let mut totals = Vec::new();
        for mut assignment in kinds.iter().filter(|kind| self.is_enough(kind)).cloned().collect::<Vec<_>>() {
            let kind = assignment.kind;
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
            totals.push((kind, assignment.total));
            if best.as_ref().is_none_or(|best| assignment.total > best.total + 1e-9) {
                best = Some(assignment);
            }
        }
        let best = best?;
        let is_tied = |(kind, total): &&(RecordKind, f64)| *kind != best.kind && *total > best.total - TIE;
        let tied = totals.iter().find(is_tied).map(|(kind, _)| *kind);
        let visit_or_machine = match best.kind {
            _ if visit != Visit::Perhaps
                || !self.is_enough(&kinds[job])
                || !self.is_enough(&kinds[machine]) =>
            {
                None
            }
            RecordKind::Machine => Some(RecordKind::Job),
            RecordKind::Job => Some(RecordKind::Machine),
            _ => None,
        };
        let other = self.reading_or_ride(&best, &kinds).or(visit_or_machine).or(tied);
        // A list has each machine once: what else the rows are is asked, whatever they seem to be.
        let is_only_a_machines = |one: &Assigned| self.is_only_of(one, RecordKind::Job);
        if best.kind == RecordKind::Machine
            && other.is_none()
            && !best.assigned.iter().any(is_only_a_machines)
            && self.come_again(&best)
        {
            totals.retain(|(kind, _)| *kind != RecordKind::Machine);
            let next = totals.into_iter().max_by(|one, other| one.1.total_cmp(&other.1));
            return next.map(|(kind, _)| (best, Some(kind)));
        }
        match other.map(of) {
            // The sheet's name decides, whoever signs in another column.
            Some(other) if hint == Some(kinds[other].kind) => Some((kinds.swap_remove(other), None)),
            _ if hint == Some(best.kind) => Some((best, None)),
            _ => Some((best, other)),
        }
    }

    /// Whether the rows say what was done and when, and nothing that only a machine's row says. A job's row may repeat
    /// whose machine it is, and what it is.
    fn visits(&self, job: &Assignment, machine: &Assignment) -> Visit {
        let Some(done) = job.assigned.iter().find(|assigned| assigned.field == Field::Done) else {
            return Visit::No;
        };
        let says_work = done.found == Found::Evidence
            || self.has_word(done.column, WORDS_OF_WORK)
            || self.share_of_work(done.column) >= LEAST_SHARE;
        let is_a_shops_paper =
            (0..self.headers.len()).any(|column| self.has_word(column, WORDS_OF_A_JOB_CARD));
        let is_listed = hinted_kind(self.name) == Some(RecordKind::Machine) && !is_a_shops_paper;
        if (says_work || is_a_shops_paper) && !is_listed { self.visit(job, machine) } else { Visit::No }
    }

    /// Whether results stand in columns of their own beside what only a machine's row says, such as its handover.
    fn is_of_machines_with_items(&self, check: &Assignment, machine: &Assignment) -> bool {
        let has = |field: Field| check.assigned.iter().any(|assigned| assigned.field == field);
        let is_hinted = hinted_kind(self.name) == Some(RecordKind::Check);
        let is_of_a_machine = |assigned: &Assigned| {
            let is_customer = assigned.field == Field::Customer && !has(Field::Day) && !is_hinted;
            is_customer || self.is_only_of(assigned, RecordKind::Check)
        };
        has(Field::CheckItem) && machine.assigned.iter().any(is_of_a_machine)
    }

    /// Whether a machine's field is none that a log of that kind knows by its header, nor one that logs repeat.
    pub(super) fn is_only_of(&self, assigned: &Assigned, log: RecordKind) -> bool {
        let is_repeated = assigned.field.is_identity()
            || assigned.field.is_of_the_machine()
            || matches!(
                assigned.field,
                Field::Customer
                    | Field::Telephone
                    | Field::Registered
                    | Field::Note
                    | Field::Clock
                    | Field::ClockUnit
                    | Field::CheckItem
            );
        let is_known_to_it = || {
            let is_half = log == RecordKind::Job && self.is_half_a_visit(assigned.column);
            !self.headers[assigned.column].fields(log).is_empty() && !is_half
        };
        assigned.found == Found::Name && !is_repeated && !is_known_to_it()
    }

    /// Whether one of these words stands in a column's header.
    fn has_word(&self, column: usize, words: &[&str]) -> bool {
        self.headers[column].words().iter().any(|word| words.contains(&word.as_str()))
    }

    /// Whether the sheet is of what is still to come: what is booked is not done.
    pub(super) fn is_a_diary(&self) -> bool {
        let all = || (0..self.headers.len()).filter(|column| !self.headers[*column].shown.is_empty());
        let is_booking = |column: usize| {
            let words = self.headers[column].words();
            let is_about_booking = |word: &String| WORDS_OF_A_DIARY.contains(&word.as_str());
            let is_beside_it = |word: &String| WORDS_BESIDE_BOOKING.contains(&word.as_str());
            words.iter().any(is_about_booking)
                && words.iter().all(|word| is_about_booking(word) || is_beside_it(word))
        };
        let is_day = |column: usize| {
            is_of(self.headers[column].fields(RecordKind::Reading), Field::Day)
                || (is_booking(column) && self.has_word(column, &["date", "day"]))
        };
        let is_time = |column: usize| self.headers[column].words() == ["time"];
        let has =
            |field: Field| all().any(|column| is_of(self.headers[column].fields(RecordKind::Machine), field));
        // Nobody reads the clock of a machine that has not come.
        let is_clock = |column: usize| {
            is_of(self.headers[column].fields(RecordKind::Job), Field::Clock)
                && !self.samples[column].is_blank()
        };
        let is_done = all().any(|column| self.has_word(column, WORDS_OF_WHAT_IS_DONE) || is_clock(column));
        let is_for_somebody = has(Field::Customer) || has(Field::Telephone);
        let is_booked = all().any(is_booking) && all().any(|column| is_day(column) || is_time(column));
        // A list of machines may have the time of each handover.
        let is_a_list = [Field::Sold, Field::Handover, Field::Make].into_iter().any(has);
        !is_done && !is_a_list && (is_booked || (is_for_somebody && all().any(is_time)))
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
            is_of(self.headers[column].fields(RecordKind::Reading), Field::Day)
                && !self.samples[column].is_blank()
                && self.samples[column].share(Shape::Day) >= SURE_SHARE
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

    /// Whether a kind has the columns without which its rows say nothing.
    pub(super) fn is_enough(&self, assignment: &Assignment) -> bool {
        let has = |field: Field| assignment.assigned.iter().any(|assigned| assigned.field == field);
        match assignment.kind {
            // Numbers alone say nothing of a machine, and `Serial No` or `Stock` stands in many a sheet.
            RecordKind::Machine => assignment.assigned.iter().any(|assigned| !assigned.field.is_identity()),
            RecordKind::Reading => has(Field::Clock) && has(Field::Day),
            RecordKind::Job => {
                let may_have_day = || {
                    assignment.suggested.iter().any(|(_, field)| *field == Field::Day)
                        || self.has_day_rows()
                        || self.has_unread_day()
                };
                (has(Field::Done)
                    && (has(Field::Day) || has(Field::OilUsed) || has(Field::By) || may_have_day()))
                    || (has(Field::Day) && has(Field::OilUsed))
            }
            RecordKind::Check => {
                has(Field::CheckItem)
                    || (has(Field::Result) && (has(Field::Item) || item_of_sheet(self.name).is_some()))
            }
            RecordKind::Ride => {
                let rider = assignment.assigned.iter().find(|assigned| assigned.field == Field::By);
                let is_ridden =
                    rider.is_some_and(|rider| self.has_word(rider.column, &["rider", "ridden", "tester"]));
                has(Field::TopSpeed)
                    || (has(Field::Day) && (has(Field::Distance) || (has(Field::Clock) && is_ridden)))
            }
            RecordKind::Fill => {
                (has(Field::Grade) && has(Field::Day))
                    || assignment.assigned.iter().any(|assigned| {
                        assigned.field == Field::Volume && self.is_of_fuel(assigned.column, assignment)
                    })
            }
        }
    }

    /// Whether a quantity is of fuel: its header or the sheet says so, a grade stands beside it, or litres do, which a
    /// pump counts in hundredths. An invoice counts its lines in pieces under `Qty`, too.
    fn is_of_fuel(&self, column: usize, fill: &Assignment) -> bool {
        const QUANTITIES: &[&str] =
            &["quantity", "qty", "amount", "how", "much", "in", "put", "vol", "volume"];
        let says_only_how_much =
            self.headers[column].words().iter().all(|word| QUANTITIES.contains(&word.as_str()));
        !says_only_how_much
            || self.headers[column].volume_unit.is_some()
            || self.agreed.iter().any(|(agreed, _)| *agreed == column)
            || fill.assigned.iter().any(|one| matches!(one.field, Field::Grade | Field::Full))
            || hinted_kind(self.name) == Some(RecordKind::Fill)
            || self.samples[column].share_where(is_a_fraction) >= LEAST_SHARE
    }
}

/// Words in the header of what was done.
const WORDS_OF_WORK: &[&str] = &[
    "work",
    "works",
    "done",
    "carried",
    "service",
    "serviced",
    "job",
    "jobs",
    "repair",
    "repairs",
    "op",
    "operation",
    "complaint",
    "complaints",
];

/// Words that stand in the headers of job cards and invoices only.
const WORDS_OF_A_JOB_CARD: &[&str] =
    &["job", "wip", "ro", "op", "labour", "technician", "mechanic", "fitter", "hours", "invoice", "vat"];

/// Words in the headers of a diary.
const WORDS_OF_A_DIARY: &[&str] =
    &["booked", "booking", "bookings", "appointment", "appointments", "appt", "slot", "est", "estimated"];

/// Words that may stand beside them in the same header.
const WORDS_BESIDE_BOOKING: &[&str] = &["by", "for", "date", "time", "day", "hours", "no", "ref", "on"];

/// Words in the headers of what is done; with them a booked time is only one more column.
const WORDS_OF_WHAT_IS_DONE: &[&str] = &[
    "done",
    "carried",
    "completed",
    "complete",
    "used",
    "finished",
    "closed",
    "miles",
    "km",
    "litres",
    "speed",
];

/// Whether a cell is a figure with a fraction.
fn is_a_fraction(cell: Cell<'_>) -> bool {
    let whole =
        |text: &str| text.rsplit(['.', ',']).next().is_none_or(|part| part.bytes().all(|sign| sign == b'0'));
    match cell {
        Cell::Number(figure) => figure.fract() != 0.0,
        Cell::Text(text) => {
            text.contains(['.', ',']) && text.bytes().any(|sign| sign.is_ascii_digit()) && !whole(text.trim())
        }
        _ => false,
    }
}

/// Whether a machine's row would say no more than what its clock shows, as a log of readings does.
fn says_only_the_clock(machine: &Assignment) -> bool {
    machine.assigned.iter().all(|assigned| {
        assigned.field.is_identity()
            || matches!(assigned.field, Field::Clock | Field::ClockDay | Field::ClockUnit)
    })
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

/// Whether a worksheet is there for the sake of the others, by its name: what can be chosen in their cells, how they are
/// filled in, what they come to.
pub fn is_an_aside(name: &SheetName) -> bool {
    const ASIDES: [&str; 16] = [
        "contents",
        "cover",
        "dashboard",
        "drop downs",
        "dropdowns",
        "guide",
        "help",
        "how to use",
        "instructions",
        "list",
        "lists",
        "lookup",
        "lookups",
        "notes",
        "read me",
        "readme",
    ];
    let named = name.sheet.as_ref().map(|sheet| words_of(sheet).join(" "));
    named.is_some_and(|named| ASIDES.contains(&named.as_str()))
}

/// The words of a file's and its worksheet's name.
fn name_words(name: &SheetName) -> Vec<String> {
    let file = name.file_name();
    let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
    let text = format!("{stem} {}", name.sheet.as_deref().unwrap_or_default()).to_lowercase();
    text.split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The kind that the name of the worksheet or the file hints at.
pub(super) fn hinted_kind(name: &SheetName) -> Option<RecordKind> {
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
