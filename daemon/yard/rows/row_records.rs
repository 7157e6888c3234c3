//! What one row says: the records of its kind, each value with its cell.

use super::row_checks::{checks, checks_of_columns, passed_check, signed_check};
use super::{RowReader, SaysDone, Told};
use crate::origin::{Entry, Origin};
use crate::units::{Days, DistanceUnit, Months, months_after};
use crate::yard::cell_words;
use crate::yard::cells::{self, Unread};
use crate::yard::contact_words::not_to_ring;
use crate::yard::mot_words::{self, NoMot};
use crate::yard::no_work_header::NoWorkHeader;
use crate::yard::outcome_words;
use crate::yard::{
    Field, Fill, Job, MachineRow, Reading, Record, RecordKind, Ride, UnreadDay, WrittenDistance,
};
use jiff::civil::Date;

/// Everything that a row says.
pub(super) fn of_row(row: &mut RowReader<'_, '_>) -> Vec<Record> {
    let clock_unit = row.entry(Field::ClockUnit, |cell, _| cell_words::clock_unit(cell));
    let unit = clock_unit.as_ref().map(|unit| unit.value);
    let mut records = Vec::new();
    match row.sheet.kind {
        RecordKind::Machine => {
            let mut machine = machine(row, clock_unit);
            let (reading, clock_unread) = undated_reading(row, unit);
            machine.clock_unread = clock_unread;
            records.push(Record::Machine(Box::new(machine)));
            records.extend(reading);
            machine_history(row, unit, &mut records);
        }
        RecordKind::Reading => records.extend(reading(row, unit)),
        RecordKind::Job => {
            let jobs = jobs(row, unit);
            let checks: Vec<Record> = jobs.iter().filter_map(passed_check).collect();
            records.extend(jobs.into_iter().chain(checks));
        }
        RecordKind::Check => checks(row, &mut records),
        RecordKind::Ride => records.extend(ride(row, unit)),
        RecordKind::Fill => records.extend(fill(row, unit)),
    }
    records
}

/// What a row says of the machine itself.
fn machine(row: &mut RowReader<'_, '_>, clock_unit: Option<Entry<DistanceUnit>>) -> MachineRow {
    let mut unread = Vec::new();
    let is_sold = is_sold(row);
    let mot = mot_expiry(row);
    let said = MachineRow {
        make: row.text(Field::Make),
        model: row.text(Field::Model),
        kind: row.entry(Field::Kind, |cell, _| cell_words::machine_kind(cell)),
        engine_cc: row.entry(Field::EngineCc, cells::engine_cc),
        clock_unit,
        registered: day_or_why(row, Field::Registered, &mut unread),
        built: row.day(Field::Built),
        arrived: row.day(Field::Arrived),
        sold: day_or_why(row, Field::Sold, &mut unread),
        handover: day_or_why(row, Field::Handover, &mut unread),
        customer: row.text(Field::Customer),
        telephone: telephone(row),
        number_alone: false,
        is_from_logs: false,
        fuel_allowed: row.entry(Field::FuelAllowed, |cell, _| cell_words::ethanol_label(cell)),
        oil_asked: row.text(Field::OilAsked),
        mot_expiry: mot.expiry,
        mot_exempt: mot.exempt,
        warranty_end: row.day(Field::WarrantyEnd),
        note: row.text(Field::Note),
        clock_unread: None,
        unread,
    };
    if is_sold {
        return said;
    }
    MachineRow { sold: None, handover: None, customer: None, telephone: None, ..said }
}

/// Whether no column says that the sale of the row fell through; one that does is told of.
fn is_sold(row: &mut RowReader<'_, '_>) -> bool {
    const NOT_SOLD: Unread = Unread {
        what: "says that the machine was not sold, so that the handover and the customer in its row do not count",
        help: "Take them out of the row, or correct this cell.",
    };
    let no_sale = row.cell(Field::Outcome).filter(|(cell, _)| outcome_words::is_no_sale(*cell));
    if let Some((_, column)) = no_sale {
        row.tell(column, NOT_SOLD);
    }
    no_sale.is_none()
}

/// The last day of the MOT: as it stands, or twelve months after the day of the last test, less a day. A test before the old
/// one ran out may have kept the later day: then this is early, and never late. Source: GOV.UK, 'up to a month (minus a day)
/// before it runs out'.
fn mot_expiry(row: &mut RowReader<'_, '_>) -> SaidOfMot {
    let mot = certificate(row);
    let tested = row.day(Field::MotTested);
    let after_test = || {
        let tested = tested?;
        let end = Days(-1).after(months_after(tested.value, Months(12))?)?;
        Some(Entry::new(end, tested.origin))
    };
    SaidOfMot { expiry: mot.expiry.or_else(after_test), ..mot }
}

/// What a row says of its machine's MOT.
#[derive(Default)]
struct SaidOfMot {
    expiry: Option<Entry<Date>>,
    /// What stands in place of the day, where it says that the machine is exempt.
    exempt: Option<Entry<String>>,
}

/// What the cell of the certificate's end says: its day, or that there is none. That there is none yet is for the
/// registration to tell.
fn certificate(row: &mut RowReader<'_, '_>) -> SaidOfMot {
    let said =
        row.cell(Field::MotExpiry).and_then(|(cell, column)| Some((mot_words::no_mot(cell)?, cell, column)));
    match said {
        Some((NoMot::Exempt, cell, column)) => {
            let exempt = Entry::new(cell.shown().trim().to_owned(), row.origin(column));
            SaidOfMot { exempt: Some(exempt), expiry: None }
        }
        Some((NoMot::NotYet, ..)) => SaidOfMot::default(),
        None => SaidOfMot { expiry: row.day(Field::MotExpiry), exempt: None },
    }
}

/// A day of the machine; where one stands there and does not count, that is noted.
fn day_or_why(row: &mut RowReader<'_, '_>, field: Field, unread: &mut Vec<UnreadDay>) -> Option<Entry<Date>> {
    let day = row.read(field, cells::day);
    let (_, column) = row.cell(field)?;
    let is_held = row.is_held(column);
    if day.is_err() || is_held {
        let held = is_held.then(|| column.header.clone());
        unread.push(UnreadDay { field, origin: row.origin(column), held });
    }
    day.unwrap_or_default()
}

/// What a row of a workshop's book says of the machine beside what was done, with the row's day; `None` where it says
/// nothing of it.
pub(super) fn said_beside(row: &mut RowReader<'_, '_>) -> Option<(Option<Date>, MachineRow)> {
    if row.sheet.kind != RecordKind::Job {
        return None;
    }
    let mot = certificate(row);
    let said = MachineRow {
        make: row.text(Field::Make),
        model: row.text(Field::Model),
        customer: row.text(Field::Customer),
        telephone: telephone(row),
        mot_expiry: mot.expiry,
        mot_exempt: mot.exempt,
        ..MachineRow::default()
    };
    let (cell, column) = row.cell(Field::Day).unzip();
    let day = cell.zip(column).and_then(|(cell, column)| cells::day(cell, &column.meaning).ok().flatten());
    let day = day.or(row.day_above.map(|day| day.value));
    (said != MachineRow::default()).then_some((day, said))
}

/// The number to ring: of several columns of numbers the first that is filled, unless another one says that nobody is to
/// be rung.
fn telephone(row: &mut RowReader<'_, '_>) -> Option<Entry<String>> {
    let mut columns = row.sheet.columns_of(Field::Telephone);
    let forbids = row.sheet.columns_of(Field::Telephone).find_map(|column| {
        let text = cells::text(row.cell_of(column)).ok().flatten()?;
        not_to_ring(&text).is_some().then(|| Entry::new(text, row.origin(column)))
    });
    forbids.or_else(|| {
        columns
            .find_map(|column| row.read_column(column, |cell, _| cells::telephone(cell)).unwrap_or_default())
    })
}

/// A figure on the clock. The unit that the row gives for its clock goes before the column's, not before the cell's.
fn read_clock(
    row: &mut RowReader<'_, '_>,
    field: Field,
    unit: Option<DistanceUnit>,
) -> Result<Option<Entry<WrittenDistance>>, Told> {
    row.read(field, |cell, meaning| {
        let meaning = cells::Meaning { distance_unit: unit.or(meaning.distance_unit), ..*meaning };
        cells::clock(cell, &meaning)
    })
}

/// The same where it could be read.
fn clock(
    row: &mut RowReader<'_, '_>,
    field: Field,
    unit: Option<DistanceUnit>,
) -> Option<Entry<WrittenDistance>> {
    read_clock(row, field, unit).unwrap_or_default()
}

/// What a machine's row says of its clock, services, checks, rides and fuel.
fn machine_history(row: &mut RowReader<'_, '_>, unit: Option<DistanceUnit>, records: &mut Vec<Record>) {
    let first =
        Service { day: Field::FirstServiceDay, clock: Field::FirstServiceClock, done: None, oil: None };
    records.extend(first.job(row, unit, "first service"));
    let last = Service {
        day: Field::LastServiceDay,
        clock: Field::LastServiceClock,
        done: Some(Field::LastServiceDone),
        oil: Some(Field::LastServiceOil),
    };
    records.extend(last.job(row, unit, "service"));
    let annual = Service {
        day: Field::AnnualServiceDay,
        clock: Field::AnnualServiceClock,
        done: None,
        oil: Some(Field::AnnualServiceOil),
    };
    records.extend(annual.job(row, unit, "annual service"));
    if let Some(day) = row.day(Field::BrakeFluidDay) {
        let done = Entry::new("brake fluid".to_owned(), day.origin.clone());
        records.push(Record::Job(Job {
            day: Some(day),
            done,
            clock: None,
            oil: None,
            by: None,
            doubt: None,
        }));
    }
    let inspection = [Field::InspectionResult, Field::InspectionDay, Field::InspectionBy];
    records.extend(signed_check(row, inspection, "pre-delivery inspection"));
    let quality = [Field::QualityResult, Field::QualityDay, Field::QualityBy];
    records.extend(signed_check(row, quality, "quality check"));
    checks_of_columns(row, None, None, records);
    for [day, distance, speed] in [
        [Field::FirstRideDay, Field::FirstRideDistance, Field::FirstRideSpeed],
        [Field::SecondRideDay, Field::SecondRideDistance, Field::SecondRideSpeed],
    ] {
        let day = row.day(day);
        let distance = row.entry(distance, cells::distance);
        let top_speed = row.entry(speed, cells::speed);
        if day.is_some() || distance.is_some() || top_speed.is_some() {
            let ride = Ride { day, distance, top_speed, speed_source: None, clock: None, by: None };
            records.push(Record::Ride(ride));
        }
    }
    let (day, grade) = (row.day(Field::LastFillDay), row.text(Field::LastFillGrade));
    if day.is_some() || grade.is_some() {
        records.push(Record::Fill(Fill { day, clock: None, volume: None, grade, full: None }));
    }
}

/// The clock of a machine's row; without a day of its own it was read on the sheet's day at the latest. Where it stands
/// there and does not count, the second part says why: whoever wrote it down must not be told that nobody did.
fn undated_reading(
    row: &mut RowReader<'_, '_>,
    unit: Option<DistanceUnit>,
) -> (Option<Record>, Option<Entry<String>>) {
    let clock = read_clock(row, Field::Clock, unit);
    let day = row.read(Field::ClockDay, cells::day);
    let unread = |field: Field, what: fn(String) -> String| {
        let (cell, column) = row.cell(field)?;
        Some(Entry::new(what(cell.shown()), row.origin(column)))
    };
    match (clock, day) {
        (Ok(None), Ok(Some(day))) if row.cell(Field::Clock).is_none() => {
            let why = "a day on which the clock was read is there, and no column is read as the clock";
            (None, Some(Entry::new(why.to_owned(), day.origin)))
        }
        (Ok(None), _) => (None, None),
        (Err(Told), _) => {
            (None, unread(Field::Clock, |written| format!("the clock `{written}` cannot be read")))
        }
        // A day that cannot be read must not make an old reading today's.
        (Ok(Some(_)), Err(Told)) => {
            let what = |written| format!("the day `{written}` on which the clock was read cannot be read");
            (None, unread(Field::ClockDay, what))
        }
        (Ok(Some(clock)), Ok(day)) => {
            let day = day.unwrap_or_else(|| Entry::new(row.sheet.sheet_day, clock.origin.clone()));
            (Some(Record::Reading(Reading { day, clock })), None)
        }
    }
}

/// Why the clock that stands in a row of a log does not count; `None` where it does, or none stands there.
pub(super) fn clock_unread(row: &RowReader<'_, '_>, said: &[Record]) -> Option<Entry<String>> {
    let (cell, column) = row.cell(Field::Clock).filter(|(cell, _)| !cell.is_blank())?;
    if row.sheet.kind == RecordKind::Machine || said.iter().any(tells_clock) {
        return None;
    }
    let day = row.cell(Field::Day).filter(|(cell, _)| !cell.is_blank());
    let (why, column) = match (cells::clock(cell, &column.meaning), day) {
        // Words for a clock that nobody read.
        (Ok(None), _) => return None,
        (Err(_), _) => (format!("the clock `{}` cannot be read", cell.shown()), column),
        (Ok(Some(_)), None) if row.has_day_held() => {
            (format!("the day beside the clock `{}` does not count", cell.shown()), column)
        }
        (Ok(Some(_)), None) => (format!("the clock `{}` has no day beside it", cell.shown()), column),
        (Ok(Some(_)), Some((day, column))) => {
            (format!("the day `{}` on which the clock was read cannot be read", day.shown()), column)
        }
    };
    Some(Entry::new(why, row.origin(column)))
}

/// Whether a record has what the clock showed on a day.
fn tells_clock(record: &Record) -> bool {
    match record {
        Record::Machine(_) | Record::Check(_) => false,
        Record::Reading(_) => true,
        Record::Job(job) => job.day.is_some() && job.clock.is_some(),
        Record::Ride(ride) => ride.day.is_some() && ride.clock.is_some(),
        Record::Fill(fill) => fill.day.is_some() && fill.clock.is_some(),
    }
}

/// The columns of one service on a machine's row.
struct Service {
    day: Field,
    clock: Field,
    done: Option<Field>,
    oil: Option<Field>,
}

impl Service {
    /// The job that the columns tell of; `usual` is what was done where no column says it.
    fn job(self, row: &mut RowReader<'_, '_>, unit: Option<DistanceUnit>, usual: &str) -> Option<Record> {
        // A no stands for the whole service, whatever its other cells say still.
        if row.cell(self.day).is_some_and(|(cell, _)| matches!(cell_words::flag(cell), Ok(Some(false)))) {
            return None;
        }
        let (day, day_origin) = service_day(row, self.day);
        let clock = clock(row, self.clock, unit);
        let done = self.done.and_then(|field| row.text(field));
        let oil = self.oil.and_then(|field| row.text(field));
        let shown_by: Option<Origin> = day_origin
            .or_else(|| clock.as_ref().map(|clock| clock.origin.clone()))
            .or_else(|| oil.as_ref().map(|oil| oil.origin.clone()));
        let done = match (done, shown_by) {
            (Some(done), _) => done,
            (None, Some(origin)) => Entry::new(usual.to_owned(), origin),
            (None, None) => return None,
        };
        Some(Record::Job(Job { day, done, clock, oil, by: None, doubt: None }))
    }
}

/// The day of a service and the cell that shows it to be done; a plain yes has a cell but no day.
fn service_day(row: &mut RowReader<'_, '_>, field: Field) -> (Option<Entry<Date>>, Option<Origin>) {
    let Some((cell, column)) = row.cell(field) else { return (None, None) };
    let origin = row.origin(column);
    match (cells::day(cell, &column.meaning), cell_words::flag(cell)) {
        (Ok(Some(day)), _) => (Some(Entry::new(day, origin.clone())), Some(origin)),
        (Ok(None), _) | (Err(_), Ok(Some(false) | None)) => (None, None),
        (Err(_), Ok(Some(true))) => (None, Some(origin)),
        (Err(unread), Err(_)) => {
            row.tell(column, unread);
            (None, None)
        }
    }
}

/// A row of a mileage log.
fn reading(row: &mut RowReader<'_, '_>, unit: Option<DistanceUnit>) -> Option<Record> {
    const NO_DAY: Unread =
        Unread { what: "has no day beside it", help: "Write the day on which the clock was read." };
    let clock = clock(row, Field::Clock, unit);
    let day = row.read(Field::Day, cells::day);
    match (clock, day) {
        (Some(clock), Ok(Some(day))) => Some(Record::Reading(Reading { day, clock })),
        (Some(_), Ok(None)) if !row.has_day_held() => {
            let (_, column) = row.cell(Field::Clock)?;
            row.tell(column, NO_DAY);
            None
        }
        (None, _) | (_, Err(Told) | Ok(None)) => None,
    }
}

/// The jobs of a row of a job log: one a column of works that is filled, all done on its day. A row that does not say what was
/// done still tells what the clock showed.
fn jobs(row: &mut RowReader<'_, '_>, unit: Option<DistanceUnit>) -> Vec<Record> {
    const NOT_SAID: Unread = Unread {
        what: "is blank, so nothing tells what was done",
        help: "Write what was done, such as first service.",
    };
    const NO_DAY: Unread = Unread {
        what: "is blank beside a job, so nothing tells when it was done",
        help: "Write the day in each row: a blank is not taken for the day above it.",
    };
    let day_read = row.read(Field::Day, cells::day);
    let has_none = matches!(day_read, Ok(None)) && !row.has_day_held();
    let lacks_day = has_none && row.sheet.has_days && row.day_above.is_none();
    // Only a row that holds nothing but a day says it for those below.
    let day_above = row.day_above.filter(|_| has_none).cloned();
    let day = day_read.unwrap_or_default().or(day_above);
    let clock = clock(row, Field::Clock, unit);
    // What has come in and not gone out is not done yet; a day to come is the one that was agreed for it.
    let is_in = day.as_ref().is_none_or(|day| day.value > row.sheet.sheet_day);
    if let Some(came_in) = came_in(row).filter(|_| is_in) {
        return clock.map(|clock| Record::Reading(Reading { day: came_in, clock })).into_iter().collect();
    }
    let reading = |(day, clock)| Record::Reading(Reading { day, clock });
    if !counts_as_work(row) {
        return day.zip(clock).map(reading).into_iter().collect();
    }
    let oil = row.text(Field::OilUsed);
    let by = row.text(Field::By);
    let mut works = works(row).into_iter();
    let done = match works.next() {
        Some(Ok(done)) => Some(done),
        Some(Err(Told)) => None,
        None => oil.clone(),
    };
    if let Some(done) = done {
        if let Some((_, column)) = row.cell(Field::Day).filter(|(cell, _)| lacks_day && cell.is_blank()) {
            row.tell(column, NO_DAY);
        }
        let first = Job { day, done, clock, oil, by, doubt: None };
        let further = works.flatten().map(|done| Job { done, oil: None, ..first.clone() });
        let further: Vec<_> = further.collect();
        return std::iter::once(first).chain(further).map(Record::Job).collect();
    }
    let is_blank = row.cell(Field::Done).filter(|(cell, _)| cell.is_blank());
    if let (Some((_, column)), true) = (is_blank, day.is_some() || clock.is_some()) {
        row.tell(column, NOT_SAID);
    }
    day.zip(clock).map(reading).into_iter().collect()
}

/// What stands in each column of what was done that is filled: a row may have several, as `Job 1` and `Job 2`.
fn works(row: &mut RowReader<'_, '_>) -> Vec<Result<Entry<String>, Told>> {
    let columns = row.sheet.columns_of(Field::Done);
    columns.filter_map(|column| row.read_column(column, |cell, _| cells::text(cell)).transpose()).collect()
}

/// Whether a row is of work that was done, or takes back what another one says was.
fn counts_as_work(row: &mut RowReader<'_, '_>) -> bool {
    let (number, no_work) = (row.row.number, &row.sheet.no_work);
    no_work.is_credit(number) || (!no_work.is_planned(number) && was_done(row))
}

/// Whether the column that says whether a job was done does not deny it. What cannot be read there is told, and denies it;
/// a blank does so where other rows say that theirs were done.
fn was_done(row: &mut RowReader<'_, '_>) -> bool {
    if row.cell(Field::Note).is_some_and(|(note, _)| outcome_words::calls_off(note)) {
        return false;
    }
    let Some((cell, column)) = row.cell(Field::Outcome) else { return true };
    // A yes below `Cancelled` is told of by `NoWork`.
    if NoWorkHeader::of(&column.header).is_some() {
        return true;
    }
    let others = row.sheet.says_done;
    if outcome_words::is_x(cell) {
        return others != SaysDone::InWords;
    }
    match row.read(Field::Outcome, |cell, _| outcome_words::was_done(cell)) {
        Ok(done) => done.map_or(others == SaysDone::Nowhere, |done| done.value),
        Err(Told) => false,
    }
}

/// The day on which a job came in, where the day of the job is that on which it went out.
fn came_in(row: &RowReader<'_, '_>) -> Option<Entry<Date>> {
    let went_out = row.sheet.column(Field::Day)?;
    let column = went_out.came_in_beside?;
    let day = cells::day(row.sheet.cell(row.row, column), &went_out.meaning).ok().flatten()?;
    Some(Entry::new(day, row.sheet.table.origin(row.sheet.row_of_value(row.row, column), column)))
}

/// A row of a ride log.
fn ride(row: &mut RowReader<'_, '_>, unit: Option<DistanceUnit>) -> Option<Record> {
    let ride = Ride {
        day: row.day(Field::Day),
        distance: row.entry(Field::Distance, cells::distance),
        top_speed: row.entry(Field::TopSpeed, cells::speed),
        speed_source: row.entry(Field::SpeedSource, |cell, _| cell_words::speed_source(cell)),
        clock: clock(row, Field::Clock, unit),
        by: row.text(Field::By),
    };
    let says_something =
        ride.day.is_some() || ride.distance.is_some() || ride.top_speed.is_some() || ride.clock.is_some();
    says_something.then_some(Record::Ride(ride))
}

/// A row of a fuel log.
fn fill(row: &mut RowReader<'_, '_>, unit: Option<DistanceUnit>) -> Option<Record> {
    let fill = Fill {
        day: row.day(Field::Day),
        clock: clock(row, Field::Clock, unit),
        volume: row.entry(Field::Volume, cells::volume),
        grade: row.text(Field::Grade),
        full: row.entry(Field::Full, |cell, _| cell_words::flag(cell)),
    };
    let says_something =
        fill.day.is_some() || fill.clock.is_some() || fill.volume.is_some() || fill.grade.is_some();
    says_something.then_some(Record::Fill(fill))
}
