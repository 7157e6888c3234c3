//! What a column is where its header alone does not tell: by the days beside it, by its neighbour, by its values.

use std::ops::RangeInclusive;
use std::rc::Rc;

use jiff::civil::Date;

use super::assign::{Assigned, Assignment, Columns, Found};
use super::header::{Header, is_of};
use super::lookalikes::{self, Like};
use super::settle;
use super::shape::{LEAST_SHARE, SURE_SHARE};
use super::visits::is_asked_for;
use crate::units::Days;
use crate::yard::cells::{self, Meaning};
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// What a field found by its neighbour or its values scores; less than one found by its name.
pub(super) const EVIDENCE_SCORE: f64 = 0.6;

/// How many rows are looked at where columns are compared: more tell nothing more.
pub(super) const ROWS_BESIDE: usize = 5_000;

/// No test is booked farther ahead. Our decision.
const BOOKED_AHEAD: Days = Days(60);

/// Headers that say which machine, by its mark or by its model.
const NAMES_OF_A_MACHINE: [&str; 5] = ["bike", "machine", "vehicle", "motorcycle", "motorbike"];

impl Columns<'_> {
    /// Whether something beside a column tells, or fails to tell where it must, that it is not what its header may be.
    pub(super) fn is_told_against(&mut self, column: usize, field: Field, kind: RecordKind) -> bool {
        let header = &self.headers[column];
        match field {
            Field::Arrived | Field::Handover if header.is_arrived_or_handover(kind) => {
                self.arrived_or_handover(column, kind) != Some(field)
            }
            Field::MotExpiry if header.is_mot_day() => !self.is_mot_expiry(column),
            Field::MotExpiry if header.words() == ["mot"] => self.is_of_the_test_before_sale(column, kind),
            // A `Bike` is a mark or a model, and `FELL 400` could be either by its letters and figures.
            Field::Mark if matches!(header.words().as_slice(), [word] if NAMES_OF_A_MACHINE.contains(&word.as_str())) =>
            {
                let sample = &self.samples[column];
                !sample.is_blank() && sample.share_like(Like::Mark) < LEAST_SHARE
            }
            Field::OilAsked if kind == RecordKind::Machine => self.is_oil_of_last_service(column),
            Field::Clock if kind == RecordKind::Machine => self.length_of_a_ride(column).is_some(),
            Field::Clock | Field::Distance => self.figures_speak_against(column, field, kind),
            // The day on which it was done is the day of the job, or that on which it came in.
            Field::Outcome => {
                !self.samples[column].is_blank() && self.samples[column].share(Shape::Day) >= SURE_SHARE
            }
            // Who rides a road test is no customer.
            Field::Customer if header.words() == ["rider"] => {
                self.headers.iter().any(|other| is_of(other.fields(kind), Field::FirstRideDay))
            }
            Field::Day if kind == RecordKind::Job => self.is_half_a_visit(column),
            _ => false,
        }
    }

    /// Whether most days of an `MOT date` lie after everything else in the sheet, or after the day on which its file was
    /// written and farther than tests are booked, as the end of a certificate does; a test lies before. That all lie behind
    /// does not tell, since a file may be an old one that was copied today. Nothing tells where a time, a fee or a result stands beside it.
    fn is_mot_expiry(&mut self, column: usize) -> bool {
        const BESIDE_A_TEST: [&str; 5] = ["time", "fee", "result", "tester", "slot"];
        let is_beside_a_test =
            |header: &Header| header.words().iter().any(|word| BESIDE_A_TEST.contains(&word.as_str()));
        if self.headers.iter().any(is_beside_a_test) {
            return false;
        }
        let is_telling = |other: &usize| {
            let words = self.headers[*other].words();
            // The first test is years after the registration, so that this tells nothing.
            let says_nothing = |word: &String| {
                matches!(word.as_str(), "mot" | "warranty" | "due" | "reg" | "registered" | "built")
            };
            *other != column && !words.iter().any(says_nothing)
        };
        let others: Vec<usize> = (0..self.headers.len()).filter(is_telling).collect();
        let mut newest: Option<Date> = None;
        for other in others {
            if self.samples[other].share(Shape::Day) >= SURE_SHARE && !self.samples[other].is_blank() {
                newest = newest.max(self.days_in(other).iter().copied().flatten().max());
            }
        }
        let days: Vec<Date> = self.days_in(column).iter().copied().flatten().collect();
        let are_ahead = |of: Date| {
            let ahead = days.iter().filter(|day| **day > of).count();
            ahead as f64 > LEAST_SHARE * days.len() as f64
        };
        newest.is_some_and(are_ahead)
            || self.table.file.written.is_some_and(|written| {
                let beyond_bookings = |day: &Date| Days::between(written, *day) > BOOKED_AHEAD;
                are_ahead(written) && days.iter().any(beyond_bookings)
            })
    }

    /// Why an `MOT date` is taken for the end of a certificate.
    pub(super) fn why_mot_ends(&self, assigned: &Assigned) -> Option<&'static str> {
        let is_told = assigned.field == Field::MotExpiry && self.headers[assigned.column].is_mot_day();
        is_told.then_some("most of its days lie ahead, and tests that were passed lie behind")
    }

    /// Whether nearly all days of a bare `MOT` lie before the handover in their row, or on its day: they are those of the
    /// test before the sale, and the certificate of a machine that is handed over runs on behind it.
    fn is_of_the_test_before_sale(&mut self, column: usize, kind: RecordKind) -> bool {
        let Some(handovers) = self.days_of(Field::Handover, kind) else { return false };
        let own = self.days_in(column);
        let pairs = own.iter().zip(handovers.iter()).filter_map(|(own, handover)| own.zip(*handover));
        let before: Vec<bool> = pairs.map(|(own, handover)| own <= handover).collect();
        let count = before.iter().filter(|before| **before).count();
        count > 0 && count as f64 >= SURE_SHARE * before.len() as f64
    }

    /// Whether a header such as `Delivered` means that the machine came or that it went; `None` where nothing tells.
    fn arrived_or_handover(&mut self, column: usize, kind: RecordKind) -> Option<Field> {
        let by_days = self.told_by_days(column, kind);
        let other = |field: Field| {
            let is_plain = |place: usize| {
                let header = &self.headers[place];
                place != column && is_of(header.fields(kind), field) && !header.is_arrived_or_handover(kind)
            };
            (0..self.headers.len()).any(|place| is_plain(place) && !self.samples[place].is_blank())
        };
        let by_other = match (other(Field::Arrived), other(Field::Handover)) {
            (true, false) => Some(Field::Handover),
            (false, true) => Some(Field::Arrived),
            _ => None,
        };
        match (by_days, by_other) {
            (Some(by_days), Some(by_other)) if by_days != by_other => None,
            (_, Some(Field::Arrived)) if !self.lies_before_handover(column, kind) => None,
            (by_days, by_other) => by_days.or(by_other),
        }
    }

    /// Whether the days of a column mostly lie before the handover that another column tells, as those of an arrival do.
    fn lies_before_handover(&mut self, column: usize, kind: RecordKind) -> bool {
        let is_handover = |place: &usize| {
            let header = &self.headers[*place];
            is_of(header.fields(kind), Field::Handover) && !header.is_arrived_or_handover(kind)
        };
        let handovers: Vec<usize> = (0..self.headers.len()).filter(is_handover).collect();
        let own = self.days_in(column);
        let (mut before, mut others) = (0, 0);
        for handover in handovers {
            for (own, handover) in own.iter().zip(&*self.days_in(handover)) {
                if let Some((own, handover)) = own.zip(*handover) {
                    *(if own < handover { &mut before } else { &mut others }) += 1;
                }
            }
        }
        before > others
    }

    /// Whether nothing tells whether a header such as `Delivered`, beside another that is the handover, means that the
    /// machine came or that it went.
    pub(super) fn may_be_the_handover(&mut self, column: usize, kind: RecordKind) -> bool {
        self.headers[column].is_arrived_or_handover(kind) && self.arrived_or_handover(column, kind).is_none()
    }

    /// The same by the days on which the machines were sold, first registered, inspected or ridden. A machine goes on or
    /// after the day of its sale and comes before it.
    fn told_by_days(&mut self, column: usize, kind: RecordKind) -> Option<Field> {
        /// Longer after its first registration a machine may as well have come in as a used one.
        const NEW_MACHINE_DAYS: i32 = 60;
        // What is done before the handover may be done on the day of the arrival.
        let beside = [
            (Field::Sold, 0, i32::MAX),
            (Field::Registered, 0, NEW_MACHINE_DAYS),
            (Field::InspectionDay, 1, NEW_MACHINE_DAYS),
            (Field::FirstRideDay, 1, NEW_MACHINE_DAYS),
        ];
        let mut said = None;
        for (field, least, most) in beside {
            let Some(days) = self.days_of(field, kind) else { continue };
            let own = self.days_in(column);
            match (said, told(&own, &days, least..=most)) {
                (Some(earlier), Some(now)) if earlier != now => return None,
                (_, now) => said = said.or(now),
            }
        }
        said
    }

    /// The days of the one column whose header is a field, row by row.
    fn days_of(&mut self, field: Field, kind: RecordKind) -> Option<Rc<[Option<Date>]>> {
        let is_it = |place: &usize| is_of(self.headers[*place].fields(kind), field);
        let columns: Vec<usize> = (0..self.headers.len()).filter(is_it).collect();
        let mut holding = columns.into_iter().filter(|column| {
            !self.samples[*column].is_blank() && self.samples[*column].share(field.shape()) >= SURE_SHARE
        });
        match (holding.next(), holding.next()) {
            (Some(column), None) => Some(self.days_in(column)),
            _ => None,
        }
    }

    /// The days of a column, row by row; read once.
    pub(super) fn days_in(&mut self, column: usize) -> Rc<[Option<Date>]> {
        if let Some(days) = self.days.get(&column) {
            return Rc::clone(days);
        }
        let meaning = self.meaning_of_days(column);
        let rows = self.table.rows().part(self.header_row + 1..self.header_row + 1 + ROWS_BESIDE);
        let day = |cell| cells::day(cell, &meaning).ok().flatten();
        let days: Rc<[Option<Date>]> = rows.iter().map(|row| day(row.cell(column))).collect();
        self.days.insert(column, Rc::clone(&days));
        days
    }

    /// How the days of a column are meant: as the columns of the sheet settle it together. Two columns of which one is
    /// read with the day first and the other with the month first say nothing of each other.
    fn meaning_of_days(&mut self, column: usize) -> Meaning {
        if !self.meanings_of_days.contains_key(&column) {
            let mut all: Vec<usize> = (0..self.headers.len()).collect();
            all.retain(|&other| {
                let sample = &mut self.samples[other];
                other == column || (!sample.is_blank() && sample.share(Shape::Day) >= SURE_SHARE)
            });
            let as_day = |column| Assigned { column, field: Field::Handover, score: 0.0, found: Found::Name };
            let as_days: Vec<Assigned> = all.iter().copied().map(as_day).collect();
            let table = self.table.first_rows(self.header_row + 1 + ROWS_BESIDE);
            let settled =
                settle::settle(&table, self.header_row, self.headers, &as_days, None, self.shop_order);
            let meanings = settled.into_iter().map(|settled| settled.meaning);
            self.meanings_of_days.extend(all.into_iter().zip(meanings));
        }
        self.meanings_of_days[&column]
    }

    /// The field of a bare header behind the column that it belongs to, with its score.
    pub(super) fn candidate_beside(&mut self, column: usize, kind: RecordKind) -> Option<(Assigned, f64)> {
        let field = self.beside(column, kind)?;
        let is_borne_out = self.samples[column].share(field.shape()) >= SURE_SHARE;
        let found = Found::Evidence;
        is_borne_out.then_some((Assigned { column, field, score: EVIDENCE_SCORE, found }, EVIDENCE_SCORE))
    }

    /// A machine's row often has a bare `Date` or `By` behind the column that it belongs to: `PDI | Date | By`.
    fn beside(&self, column: usize, kind: RecordKind) -> Option<Field> {
        if kind != RecordKind::Machine {
            return None;
        }
        if self.is_oil_of_last_service(column) {
            return Some(Field::LastServiceOil);
        }
        if let Some(field) = self.length_of_a_ride(column) {
            return Some(field);
        }
        let role = role_of(&self.headers[column].shown)?;
        let owner = (0..column).rev().find(|before| role_of(&self.headers[*before].shown).is_none())?;
        let owner = self.headers[owner].fields(kind).first().map(|(field, _)| *field)?;
        role.beside(owner)
    }

    /// How far which road test went, under a bare `Miles` that stands behind its day, or under `Miles 1` and `Miles 2` beside
    /// two days of road tests. One such column alone is the clock.
    fn length_of_a_ride(&self, column: usize) -> Option<Field> {
        const RIDES: [(Field, Field, &str); 2] = [
            (Field::FirstRideDay, Field::FirstRideDistance, "first"),
            (Field::SecondRideDay, Field::SecondRideDistance, "second"),
        ];
        let of_column = |column: usize| {
            let words = self.headers.get(column)?.words();
            let is_one = |word: &String| {
                matches!(
                    word.as_str(),
                    "miles" | "km" | "distance" | "mileage" | "ridden" | "first" | "second"
                )
            };
            let is_distance =
                words.iter().any(|word| matches!(word.as_str(), "miles" | "km" | "distance" | "mileage"));
            (is_distance && words.iter().all(is_one)).then_some(words)
        };
        let day_of = |field: Field| {
            (0..self.headers.len())
                .find(|other| is_of(self.headers[*other].fields(RecordKind::Machine), field))
        };
        let ride_of = |column: usize| {
            let words = of_column(column)?;
            RIDES.iter().find_map(|(day, distance, which)| {
                let day = day_of(*day)?;
                let is_numbered = words.iter().any(|word| word == which);
                let is_behind =
                    day + 1 == column && !words.iter().any(|word| word == "first" || word == "second");
                (is_numbered || is_behind).then_some(*distance)
            })
        };
        let own = ride_of(column)?;
        let has_other = (0..self.headers.len()).filter_map(ride_of).any(|other| other != own);
        has_other.then_some(own)
    }

    /// Whether a bare `Oil` stands right beside what is told of the last service, and so is the oil that went in then.
    fn is_oil_of_last_service(&self, column: usize) -> bool {
        let is_beside = |other: usize| self.headers.get(other).is_some_and(is_of_last_service);
        let is_told_elsewhere = || {
            self.headers.iter().any(|other| is_of(other.fields(RecordKind::Machine), Field::LastServiceOil))
        };
        is_bare_oil(&self.headers[column])
            && (is_beside(column + 1) || column.checked_sub(1).is_some_and(is_beside))
            && !is_told_elsewhere()
    }

    /// What else a header may mean, in words; `None` where its name means one thing. A bare `Oil` is perhaps the oil of a
    /// service that other columns tell of, a bare `Name` in a log the customer instead of who signed.
    pub(super) fn may_be_another(
        &self,
        assigned: &Assigned,
        assignment: &Assignment,
    ) -> Option<&'static str> {
        let has = |is_it: fn(Field) -> bool| assignment.assigned.iter().any(|taken| is_it(taken.field));
        let header = &self.headers[assigned.column];
        match assigned.field {
            Field::Done if is_asked_for(header) && !has(|field| field == Field::Outcome) => {
                Some("it may be what was asked for, and was not done")
            }
            Field::Day
                if assignment.kind == RecordKind::Job
                    && is_of_what_is_booked(header)
                    && !has(|field| field == Field::Outcome) =>
            {
                Some("it may be when it was only booked, and did not take place")
            }
            Field::Customer
                if assignment.kind == RecordKind::Job
                    && header.words() == ["name"]
                    && !has(|field| field == Field::Telephone) =>
            {
                Some("it may be who did it as well")
            }
            // Beside a telephone number a workshop's diary asks who comes, not who works.
            Field::By
                if assignment.kind == RecordKind::Job
                    && header.words() == ["who"]
                    && has(|field| field == Field::Telephone)
                    && !has(|field| field == Field::Customer) =>
            {
                Some("it may be the customer as well")
            }
            Field::By if header.words() == ["name"] => Some("it may be the customer's name as well"),
            Field::OilAsked
                if is_bare_oil(header)
                    && has(is_last_service)
                    && !has(|field| field == Field::LastServiceOil) =>
            {
                Some("it may be the oil that went in at the last service as well")
            }
            _ => None,
        }
    }

    /// Gives columns whose header says next to nothing, such as `No`, to the one field whose values they hold.
    pub(super) fn add_by_values(&mut self, kind: RecordKind, assigned: &mut Vec<Assigned>) {
        /// Fewer values may look like a field's by chance.
        const LEAST_VALUES: usize = 2;
        for column in self.open_columns(assigned) {
            let Some(vague) = lookalikes::vague(&self.headers[column].shown) else { continue };
            if self.samples[column].count() < LEAST_VALUES {
                continue;
            }
            let is_open = |field: &Field| assigned.iter().all(|taken| taken.field != *field);
            let candidates = lookalikes::fields(vague, kind).iter().filter(|(field, _)| is_open(field));
            let mut fitting =
                candidates.filter(|(_, like)| self.samples[column].share_like(*like) >= SURE_SHARE).filter(
                    |(_, like)| *like != Like::StockNumber || self.samples[column].variety() > OWN_VALUES,
                );
            if let (Some((field, _)), None) = (fitting.next(), fitting.next()) {
                let found = Found::Evidence;
                assigned.push(Assigned { column, field: *field, score: EVIDENCE_SCORE, found });
            }
        }
    }
}

/// Whether a header is that of the day for which a visit was booked.
fn is_of_what_is_booked(header: &Header) -> bool {
    let words = header.words();
    let has = |list: &[&str]| words.iter().any(|word| list.contains(&word.as_str()));
    has(&["booked", "booking", "appointment", "appt"]) && !has(&["in"])
}

/// Whether a header is `Oil`, `Oil type` or `Oil grade`, which does not say whether it is asked for or went in.
fn is_bare_oil(header: &Header) -> bool {
    matches!(
        header.words().iter().map(String::as_str).collect::<Vec<_>>()[..],
        ["oil"] | ["oil", "type" | "grade"]
    )
}

fn is_last_service(field: Field) -> bool {
    matches!(field, Field::LastServiceDay | Field::LastServiceClock | Field::LastServiceDone)
}

fn is_of_last_service(header: &Header) -> bool {
    header.fields(RecordKind::Machine).iter().any(|(field, _)| is_last_service(*field))
}

/// Above this share of different values each machine has its own.
const OWN_VALUES: f64 = 0.9;

/// What days say beside the days of a sale: the same row's day is on or after it, or before it, in nearly all rows.
/// Only days so many days after it are taken for `after`.
fn told(own: &[Option<Date>], other: &[Option<Date>], days_later: RangeInclusive<i32>) -> Option<Field> {
    /// One row may be a slip.
    const LEAST_ROWS: usize = 2;
    let days_after: Vec<i32> = own
        .iter()
        .zip(other)
        .filter_map(|(own, other)| Some((own.as_ref()?.since(*other.as_ref()?)).ok()?.get_days()))
        .collect();
    let after = days_after.iter().filter(|days| days_later.contains(days)).count();
    let before = days_after.iter().filter(|days| **days < 0).count();
    let telling = after + before;
    if telling < LEAST_ROWS || (telling as f64) < LEAST_SHARE * days_after.len() as f64 {
        return None;
    }
    let is_nearly_all = |count: usize| count as f64 >= SURE_SHARE * telling as f64;
    match (is_nearly_all(after), is_nearly_all(before)) {
        (true, _) => Some(Field::Handover),
        (_, true) => Some(Field::Arrived),
        _ => None,
    }
}

/// What a bare header says of the column before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Day,
    By,
    Result,
}

/// The role of a header that needs another one to say anything; `None` for every other header.
fn role_of(shown: &str) -> Option<Role> {
    let plain: Vec<String> =
        shown.split(|letter: char| !letter.is_alphanumeric()).map(str::to_lowercase).collect();
    let plain: Vec<&str> = plain.iter().map(String::as_str).filter(|word| !word.is_empty()).collect();
    Some(match plain.join(" ").as_str() {
        "date" | "day" | "on" | "when" | "seen on" | "read on" | "taken on" | "checked on" | "done on"
        | "date done" | "date read" | "date seen" | "date taken" | "date checked" | "dated" | "noted on" => {
            Role::Day
        }
        "by" | "who" | "by who" | "by whom" | "done by" | "signed" | "signed by" | "initials"
        | "checked by" => Role::By,
        "result" | "outcome" | "ok" | "passed" | "pass" | "pass fail" | "done" => Role::Result,
        _ => return None,
    })
}

impl Role {
    /// The field that it makes of a column behind one of this field.
    fn beside(self, owner: Field) -> Option<Field> {
        use Field::{
            AnnualServiceClock, AnnualServiceDay, AnnualServiceOil, Clock, ClockDay, FirstRideDay,
            FirstRideDistance, FirstRideSpeed, FirstServiceClock, FirstServiceDay, InspectionBy,
            InspectionDay, InspectionResult, LastServiceClock, LastServiceDay, LastServiceDone,
            LastServiceOil, QualityBy, QualityDay, QualityResult, SecondRideDay, SecondRideDistance,
            SecondRideSpeed,
        };
        Some(match (owner, self) {
            (Clock, Role::Day) => ClockDay,
            (FirstServiceDay | FirstServiceClock, Role::Day) => FirstServiceDay,
            (AnnualServiceDay | AnnualServiceClock | AnnualServiceOil, Role::Day) => AnnualServiceDay,
            (LastServiceDay | LastServiceDone | LastServiceClock | LastServiceOil, Role::Day) => {
                LastServiceDay
            }
            (InspectionResult | InspectionDay | InspectionBy, Role::Day) => InspectionDay,
            (InspectionResult | InspectionDay, Role::By) => InspectionBy,
            (InspectionResult | InspectionDay, Role::Result) => InspectionResult,
            (QualityResult | QualityDay | QualityBy, Role::Day) => QualityDay,
            (QualityResult | QualityDay, Role::By) => QualityBy,
            (QualityResult | QualityDay, Role::Result) => QualityResult,
            (FirstRideDay | FirstRideDistance | FirstRideSpeed, Role::Day) => FirstRideDay,
            (SecondRideDay | SecondRideDistance | SecondRideSpeed, Role::Day) => SecondRideDay,
            _ => return None,
        })
    }
}
