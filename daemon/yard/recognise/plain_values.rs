//! Columns whose header no row of the kind knows, and whose values alone say plainly what they may be: they are asked about.

use super::assign::{Assigned, Columns, is_plain_result};
use super::clock_or_ride::Figures;
use super::header::{Header, is_of};
use super::lookalikes::{self, Like, Vague};
use super::shape::{LEAST_SHARE, SURE_SHARE};
use super::visits::is_asked_for;
use crate::sheets::Cell;
use crate::units::{Number, month_begun};
use crate::yard::days::{self, DayReadings};
use crate::yard::field::Shape;
use crate::yard::no_work_header::NoWorkHeader;
use crate::yard::{Field, RecordKind, outcome_words};

/// Fewer values may look like a field's by chance.
const LEAST_VALUES: usize = 2;

/// Words in the headers of days that are none of the workshop's: papers, money, the office.
const OTHER_DAYS: &str = "tax vat insurance insured ins finance deposit paid payment invoice invoiced dob birth birthday \
                          ordered order advert advertised quote quoted enquiry updated modified created edited saved \
                          synced printed exported v5 v5c keys warranty guarantee due next expiry expires";

/// Words in the headers of days on which something was written down, which may be the only day of a log's row.
const WHEN_WRITTEN: &str = "created modified updated edited saved synced";

/// Words in the headers of days that may be the one of the first registration.
const FIRST_ON_THE_ROAD: &str = "first road licensed licenced registered registration reg dvla";

/// Words in the headers of figures that are no clock's.
const OTHER_FIGURES: &str = "price cost value paid deposit balance total net vat profit margin invoice order ref no id \
                             code key bin bay slot age year yr weight hp bhp power post postcode hours hrs seat height \
                             cc size quantity stock rrp trade sale finance parts labour days qty points left to due";

/// Words in the headers of work that is still to be done.
const STILL_TO_DO: &str =
    "to do todo next due booked plan planned outstanding advisory advisories quote quoted";

/// Words in the headers of how a bill stands, which says nothing of the work on it.
const OF_A_BILL: &str = "account bill billing inv invoice pay payment";

/// Fewer headers that are months may be anything.
pub(super) const LEAST_MONTHS: usize = 3;

impl Columns<'_> {
    /// The columns that nothing has taken and nothing else is suggested for, with the fields that lack a column and whose
    /// values plainly stand there.
    pub(super) fn by_plain_values(
        &mut self,
        kind: RecordKind,
        assigned: &[Assigned],
        suggested: &[(usize, Field)],
    ) -> Vec<(usize, Field)> {
        let mut found = Vec::new();
        for column in self.open_columns(assigned) {
            // `Put in` is how much or what: no litres are written as E5. And `Type` is of the machine or of the work.
            let is_of_fuel =
                kind == RecordKind::Fill && self.samples[column].share(Shape::Grade) >= SURE_SHARE;
            let is_of_outcomes = kind == RecordKind::Job && self.may_say_what_was_done(column);
            let header = &self.headers[column];
            let is_of_a_field = !header.fields(kind).is_empty() && !is_of_fuel && !is_of_the_papers(header);
            let is_of_something =
                is_of_a_field || header.fact_of_the_machine().is_some() || header.is_when_serviced_next();
            let is_known =
                (is_of_something && !is_of_outcomes) || suggested.iter().any(|(other, _)| *other == column);
            let is_said_once = is_of_brake_fluid(header)
                || (kind == RecordKind::Machine && self.may_say_that_a_sale_is_off(column));
            let least = if is_said_once { 1 } else { LEAST_VALUES };
            if !is_known && self.samples[column].count() >= least {
                found.extend(
                    self.fields_of_values(column, kind, assigned).into_iter().map(|field| (column, field)),
                );
            }
        }
        found
    }

    /// What the values of a column may be, of what the sheet has no column for.
    fn fields_of_values(&mut self, column: usize, kind: RecordKind, assigned: &[Assigned]) -> Vec<Field> {
        let has = |field: Field| assigned.iter().any(|taken| taken.field == field);
        let lacks_identity = self.lacks_identity(assigned);
        let (header, sample) = (&self.headers[column], &mut self.samples[column]);
        if !has(Field::Mark) && sample.share_like(Like::Mark) >= SURE_SHARE {
            return vec![Field::Mark];
        }
        let may_number =
            lookalikes::vague(&header.shown) == Some(Vague::Number) || may_be_a_key(header, lacks_identity);
        let is_numbered = may_number
            && sample.share_where(is_numbered) >= SURE_SHARE
            && (lacks_identity || (kind == RecordKind::Machine && sample.variety() > 0.9));
        let is_figured = kind == RecordKind::Machine
            && lookalikes::vague(&header.shown) == Some(Vague::Number)
            && sample.share_where(is_short_number) >= SURE_SHARE
            && sample.variety() > 0.9;
        // Where a log names its machines by nothing else, figures under `Key` do.
        let is_key = kind != RecordKind::Machine
            && lacks_identity
            && has_word_of(header, KEYS)
            && may_be_a_key(header, true)
            && sample.share_where(is_short_number) >= SURE_SHARE;
        if (is_numbered || ((is_figured || is_key) && !self.counts_rows(column))) && !has(Field::StockNumber)
        {
            return vec![Field::StockNumber];
        }
        let sample = &mut self.samples[column];
        let rings = matches!(kind, RecordKind::Machine | RecordKind::Job);
        if rings && sample.share_like(Like::Telephone) >= SURE_SHARE {
            return vec![Field::Telephone];
        }
        if kind == RecordKind::Fill && !has(Field::Grade) && sample.share(Shape::Grade) >= SURE_SHARE {
            return vec![Field::Grade];
        }
        if kind == RecordKind::Machine && header.is_in_an_unknown_group_of_a_machine() {
            return self.fields_of_a_group(column, &has);
        }
        if sample.share_where(is_plainly_a_day) >= SURE_SHARE && !is_another_day(kind, header, &has) {
            return self.days_asked(kind, header, &has);
        }
        if let Some(field) = self.field_of_a_log(column, kind, &has) {
            return vec![field];
        }
        if has(Field::LastServiceDay)
            && !has(Field::LastServiceClock)
            && self.is_at_the_last_service(column, assigned)
        {
            let clock = Some(Field::Clock).filter(|clock| !has(*clock));
            return [Field::LastServiceClock].into_iter().chain(clock).collect();
        }
        let is_sold = has(Field::Handover) || has(Field::Customer);
        if kind == RecordKind::Machine
            && is_sold
            && !has(Field::Outcome)
            && self.may_say_that_a_sale_is_off(column)
        {
            return vec![Field::Outcome];
        }
        if kind == RecordKind::Job && !has(Field::Outcome) && self.may_say_what_was_done(column) {
            return vec![Field::Outcome];
        }
        if has(Field::Done) && self.may_be_further_work(column, kind) {
            return vec![Field::Done];
        }
        let lacks_last_work = has(Field::LastServiceDay) && !has(Field::LastServiceDone);
        if lacks_last_work && self.may_be_last_work(column) {
            return vec![Field::LastServiceDone];
        }
        if !has(Field::Clock) && self.may_be_a_clock(column, kind) {
            return vec![Field::Clock];
        }
        Vec::new()
    }

    /// Whether no column names the machines of a sheet, nor plainly holds their marks.
    fn lacks_identity(&self, assigned: &[Assigned]) -> bool {
        !assigned.iter().any(|taken| taken.field.is_identity())
            && !self.samples.iter().any(|other| other.share_like(Like::Mark) >= SURE_SHARE)
    }

    /// The days that a column may be. Where another one says by its header that it is of the brake fluid, this one is not
    /// asked about as that.
    fn days_asked(&self, kind: RecordKind, header: &Header, has: &impl Fn(Field) -> bool) -> Vec<Field> {
        let is_told_elsewhere = !is_of_brake_fluid(header) && self.headers.iter().any(is_of_brake_fluid);
        days_wanted(kind, header, &|field| has(field) || (field == Field::BrakeFluidDay && is_told_elsewhere))
    }

    /// How far rides went, or who made checks, where no column of a log tells it yet.
    fn field_of_a_log(&self, column: usize, kind: RecordKind, has: &impl Fn(Field) -> bool) -> Option<Field> {
        let header = &self.headers[column];
        let may_be_a_length = || {
            header.speed_unit.is_none()
                && header.volume_unit.is_none()
                && !has_word_of(header, OTHER_FIGURES)
                && self.samples[column].share_where(is_a_figure) >= SURE_SHARE
        };
        match kind {
            RecordKind::Ride if !has(Field::Distance) && !has(Field::Clock) && may_be_a_length() => {
                Some(Field::Distance)
            }
            RecordKind::Check if !has(Field::By) && self.may_be_a_signature(column) => Some(Field::By),
            _ => None,
        }
    }

    /// Whether a column under a header that nobody knows holds a few names again and again, as those of who checked do.
    fn may_be_a_signature(&self, column: usize) -> bool {
        /// So many words a name has at the most.
        const WORDS_OF_A_NAME: usize = 3;
        let (header, sample) = (&self.headers[column], &self.samples[column]);
        let is_name = |cell: Cell<'_>| match cell {
            Cell::Text(text) => {
                text.split_whitespace().count() <= WORDS_OF_A_NAME
                    && text.chars().all(|letter| letter.is_alphabetic() || " .-'’".contains(letter))
                    && text.chars().any(char::is_alphabetic)
            }
            _ => false,
        };
        !header.is_known()
            && sample.share_where(is_name) >= SURE_SHARE
            && sample.variety() <= LEAST_SHARE
            && sample.share_where(is_plain_result) == 0.0
    }

    /// Whether a column numbers its rows 1, 2, 3, so that it is no number of the machines.
    fn counts_rows(&self, column: usize) -> bool {
        let rows = self.table.rows().part(self.header_row + 1..);
        let filled = rows.iter().map(|row| row.cell(column)).filter(|cell| !cell.is_blank());
        (1..).zip(filled).all(|(number, cell)| whole(cell) == Some(number))
    }

    /// Whether cells of a column such as `Status` say that a machine was not sold after all.
    fn may_say_that_a_sale_is_off(&self, column: usize) -> bool {
        const OF_A_SALE: &str = "status state sale sales deal stage order progress outcome";
        has_word_of(&self.headers[column], OF_A_SALE)
            && self.samples[column].share_where(outcome_words::is_no_sale) > 0.0
    }

    /// Whether a column of a log of jobs may say which were done: by its words, or by signs under a header that says so.
    fn may_say_what_was_done(&mut self, column: usize) -> bool {
        let is_headed_so = is_of(self.headers[column].fields(RecordKind::Job), Field::Outcome);
        let has_signs = || self.samples[column].share_where(outcome_words::is_a_sign_beside_work) > 0.0;
        (is_headed_so && has_signs()) || self.says_that_some_were_not_done(column)
    }

    /// Whether the words of a column, whatever its header, say of some jobs that they were done and of others that they were
    /// not, as a `Type` of invoices, quotes and credit notes does.
    fn says_that_some_were_not_done(&mut self, column: usize) -> bool {
        let header = &self.headers[column];
        let is_of_a_bill = has_word_of(header, OF_A_BILL) && has_word_of(header, "state status");
        if NoWorkHeader::of(&header.shown).is_some() || is_of_a_bill {
            return false;
        }
        let sample = &mut self.samples[column];
        let says = |done: bool| sample.share_where(|cell| says_in_words(cell, done)) > 0.0;
        says(true) && says(false) && sample.share(Shape::Outcome) >= SURE_SHARE
    }

    /// Whether a column is a bare `At` behind the day of the last service, with figures of a clock.
    fn is_at_the_last_service(&mut self, column: usize, assigned: &[Assigned]) -> bool {
        let day = assigned.iter().find(|taken| taken.field == Field::LastServiceDay);
        matches!(self.headers[column].words().as_slice(), [word] if word == "at")
            && day.is_some_and(|day| day.column + 1 == column)
            && self.samples[column].share(Shape::Distance) >= SURE_SHARE
    }

    /// What a column below a group of unknown name may be: of a check or a road test when it was, who did it, how far and
    /// how fast it went, how it came out.
    fn fields_of_a_group(&mut self, column: usize, has: &impl Fn(Field) -> bool) -> Vec<Field> {
        const DAYS: &[Field] = &[
            Field::InspectionDay,
            Field::QualityDay,
            Field::FirstRideDay,
            Field::SecondRideDay,
            Field::LastServiceDay,
            Field::Handover,
        ];
        const BY: &[Field] = &[Field::InspectionBy, Field::QualityBy];
        const DISTANCES: &[Field] =
            &[Field::FirstRideDistance, Field::SecondRideDistance, Field::LastServiceClock];
        const SPEEDS: &[Field] = &[Field::FirstRideSpeed, Field::SecondRideSpeed];
        const RESULTS: &[Field] = &[Field::InspectionResult, Field::QualityResult, Field::CheckItem];
        let header = &self.headers[column];
        let words = header.words();
        let is_speed = header.speed_unit.is_some() || has_word_of(header, "speed");
        let last = words.last().map(String::as_str).unwrap_or_default();
        let sample = &mut self.samples[column];
        let fields = match last {
            _ if sample.share_where(is_plainly_a_day) >= SURE_SHARE => DAYS,
            "by" | "who" | "initials" | "signed" | "signature" | "name" | "technician" | "mechanic"
            | "fitter" | "rider" => BY,
            _ if is_speed && sample.share(Shape::Speed) >= SURE_SHARE => SPEEDS,
            _ if sample.share(Shape::Distance) >= SURE_SHARE => DISTANCES,
            _ if sample.share(Shape::Result) >= SURE_SHARE => RESULTS,
            _ => &[],
        };
        fields.iter().copied().filter(|field| *field == Field::CheckItem || !has(*field)).collect()
    }

    /// Whether cells of a machine's row name work, as what was done at its last service does; what is still to be done is
    /// none.
    fn may_be_last_work(&self, column: usize) -> bool {
        let header = &self.headers[column];
        self.share_of_work(column) >= SURE_SHARE && !is_asked_for(header) && !has_word_of(header, STILL_TO_DO)
    }

    /// Whether a column's figures may be what clocks show: in a log they rise with the days, on machines' rows they are
    /// whole and as large as a clock's.
    fn may_be_a_clock(&mut self, column: usize, kind: RecordKind) -> bool {
        let header = &self.headers[column];
        let sample = &mut self.samples[column];
        if has_word_of(header, OTHER_FIGURES)
            || header.speed_unit.is_some()
            || header.volume_unit.is_some()
            || sample.share(Shape::Distance) < SURE_SHARE
            || is_a_months(header)
        {
            return false;
        }
        match kind {
            RecordKind::Machine => {
                sample.share_where(is_large_figure) >= SURE_SHARE && sample.share_where(is_year) < SURE_SHARE
            }
            RecordKind::Check | RecordKind::Ride => false,
            RecordKind::Reading | RecordKind::Job | RecordKind::Fill => {
                self.figures(column) == Figures::Rising
            }
        }
    }

    /// The columns of figures under the names of months, where there are several: a column a month says on no day what the
    /// clock showed.
    pub(super) fn months_across(&mut self, assigned: &[Assigned]) -> Vec<usize> {
        let mut months = self.open_columns(assigned);
        months.retain(|&column| {
            let sample = &mut self.samples[column];
            is_a_months(&self.headers[column])
                && !sample.is_blank()
                && sample.share(Shape::Distance) >= SURE_SHARE
        });
        if months.len() < LEAST_MONTHS { Vec::new() } else { months }
    }
}

/// Whether a header is that of days that are none of the workshop's. The day on which a row was written down may be the
/// only one of a log, and what runs out may be the MOT.
fn is_another_day(kind: RecordKind, header: &Header, has: &impl Fn(Field) -> bool) -> bool {
    let is_only_day = kind != RecordKind::Machine && !has(Field::Day) && has_word_of(header, WHEN_WRITTEN);
    let is_expiry = kind == RecordKind::Machine && header.words() == ["expiry"];
    has_word_of(header, OTHER_DAYS) && !is_of_the_papers(header) && !is_only_day && !is_expiry
}

/// The days that matter for rows of a kind and lack a column.
fn days_wanted(kind: RecordKind, header: &Header, has: &impl Fn(Field) -> bool) -> Vec<Field> {
    if kind != RecordKind::Machine {
        return if has(Field::Day) { Vec::new() } else { vec![Field::Day] };
    }
    if header.words() == ["expiry"] {
        return if has(Field::MotExpiry) { Vec::new() } else { vec![Field::MotExpiry] };
    }
    if is_of_brake_fluid(header) {
        return if has(Field::BrakeFluidDay) { Vec::new() } else { vec![Field::BrakeFluidDay] };
    }
    let is_read_on = has(Field::Clock) && !has(Field::ClockDay);
    let speaks_of_the_road =
        (has_word_of(header, FIRST_ON_THE_ROAD) || is_of_the_papers(header)) && !has(Field::Registered);
    // Beside a handover a day with a word for a header is one of the office's: `V5 sent`, `Valeted`.
    let says_nothing = header.words().iter().all(|word| word.len() <= 3);
    if has(Field::Handover) && !is_read_on && !says_nothing {
        return if speaks_of_the_road { vec![Field::Registered] } else { Vec::new() };
    }
    let others = [
        Field::Handover,
        Field::Arrived,
        Field::LastServiceDay,
        Field::MotExpiry,
        Field::ClockDay,
        Field::Registered,
        Field::BrakeFluidDay,
    ];
    // The first answer is the one that the header speaks for.
    let first = speaks_of_the_road.then_some(Field::Registered);
    let others = others.into_iter().filter(|field| Some(*field) != first);
    let is_wanted = |field: &Field| !has(*field) && (*field != Field::ClockDay || is_read_on);
    first.into_iter().chain(others).filter(is_wanted).collect()
}

/// Whether a header is the day that stands in the registration document, and not one on which the paper came or went.
fn is_of_the_papers(header: &Header) -> bool {
    let mut words = header.words();
    words.retain(|word| word != "date" && word != "day");
    words.len() < header.words().len() && matches!(words.concat().as_str(), "v5" | "v5c")
}

/// Words in the headers of the numbers by which a shop knows its machines.
const KEYS: &str = "no tag key board asset book bk fleet unit peg hook label bike machine tally disc";

/// Whether a header may be that of the numbers by which the shop knows its machines: a tag, a board, a book; where nothing
/// else names the machines of a sheet, nearly any may be.
fn may_be_a_key(header: &Header, lacks_identity: bool) -> bool {
    const OTHER_NUMBERS: &str = "invoice order part parts engine policy quote job ticket receipt account postcode post size \
                                 tyre vat wip ro telephone mobile model price spec colour code oil";
    !has_word_of(header, OTHER_NUMBERS) && (lacks_identity || has_word_of(header, KEYS))
}

fn is_of_brake_fluid(header: &Header) -> bool {
    let words = header.words();
    words.iter().any(|word| word == "fluid") || words.concat() == "bf"
}

fn has_word_of(header: &Header, list: &str) -> bool {
    header.words().iter().any(|word| list.split_whitespace().any(|one| one == word))
}

/// Whether a header is a month, with its year or without: `Jan 26`, `March`, `2026-03-01`.
pub(super) fn is_a_months(header: &Header) -> bool {
    let shown = header.shown.to_lowercase();
    let mut parts = shown.split(|letter: char| !letter.is_alphanumeric()).filter(|part| !part.is_empty());
    let Some(first) = parts.next() else { return false };
    let letters: String = first.chars().take_while(|letter| letter.is_alphabetic()).collect();
    let is_named = month_begun(&letters).is_some() && letters.len() <= "september".len();
    let is_rest_figures = shown.chars().filter(|letter| letter.is_ascii_digit()).count() <= 4
        && parts.all(|part| part.bytes().all(|byte| byte.is_ascii_digit()));
    (is_named && is_rest_figures) || (shown.len() >= 8 && days::readings(&shown) != DayReadings::default())
}

/// Whether a cell is a day that nothing else is written like: a bare figure may be a serial number, and a clock.
pub(super) fn is_plainly_a_day(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Day(_) => true,
        Cell::Text(text) => days::readings(text) != DayReadings::default(),
        _ => false,
    }
}

/// Letters and figures without blanks, as a shop numbers what is its own.
fn is_numbered(cell: Cell<'_>) -> bool {
    let Cell::Text(text) = cell else { return false };
    let has = |is: fn(char) -> bool| text.chars().any(is);
    text.len() <= 10
        && text.chars().all(|letter| letter.is_alphanumeric() || letter == '-')
        && has(char::is_alphabetic)
        && has(char::is_numeric)
}

/// A bare figure of few digits, as a shop numbers its stock.
fn is_short_number(cell: Cell<'_>) -> bool {
    whole(cell).is_some_and(|figure| (1..=999_999).contains(&figure))
}

/// The whole figure of a cell.
fn whole(cell: Cell<'_>) -> Option<i64> {
    match cell {
        Cell::Text(text) => Number::readings(text).with_point?.whole(),
        Cell::Number(_) => Number::readings(&cell.shown()).with_point?.whole(),
        _ => None,
    }
}

/// Whether a cell is a figure, with a fraction or without.
fn is_a_figure(cell: Cell<'_>) -> bool {
    match cell {
        Cell::Number(_) => true,
        Cell::Text(text) => {
            let read = Number::readings(text);
            read.with_point.is_some() || read.with_comma.is_some()
        }
        _ => false,
    }
}

fn is_large_figure(cell: Cell<'_>) -> bool {
    whole(cell).is_some_and(|figure| (100..=300_000).contains(&figure))
}

fn is_year(cell: Cell<'_>) -> bool {
    whole(cell).is_some_and(|figure| (1950..=2050).contains(&figure))
}

/// Whether a cell says in words that a job was done, or that it was not; a bare sign may speak of anything.
fn says_in_words(cell: Cell<'_>, done: bool) -> bool {
    matches!(cell, Cell::Text(text) if text.len() > 2) && outcome_words::was_done(cell) == Ok(Some(done))
}
