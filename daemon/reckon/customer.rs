//! Since when a customer has the machine, and whether it was new then.

use jiff::civil::Date;

use super::clock::reading_cell;
use super::marks::{given_from, given_until};
use super::mot::first_test_after;
use super::subject::{Subject, day_cell};
use super::usage::AROUND_HANDOVER;
use super::{Fact, Missing, Reckoned};
use crate::origin::{Entry, Evidence};
use crate::units::{Days, Distance, DistanceUnit, Months, months_after, months_before};
use crate::yard::{Field, Job, Reading};

/// A machine sold so long ago is taken to be with its customer, whoever forgot to write the handover down. Our
/// decision.
const GONE_AFTER: Days = Days(28);

/// Registered no longer than this before its handover, a machine was new, so that its first service is asked for.
/// Our decision.
const NEW_IF_REGISTERED_WITHIN: Months = Months(6);

/// With less than this on its clock a machine was new, however long before it was registered. Our decision.
const NEW_BELOW: Distance = Distance::of(100, DistanceUnit::Miles);

/// The day since when a customer has the machine or will have it.
pub(super) fn customer_since(subject: &Subject<'_>) -> Fact<Date> {
    let row = &subject.machine.row;
    if let Some(handover) = &row.handover {
        return Ok(Reckoned { value: handover.value, shown_by: vec![day_cell("handover", handover)] });
    }
    let registered = row.registered.as_ref().filter(|_| subject.is_sold());
    let registered =
        registered.filter(|registered| is_gone(subject, row.sold.as_ref().unwrap_or(registered)));
    let registered = registered.ok_or_else(|| Missing::fact("handover"))?;
    Ok(Reckoned { value: registered.value, shown_by: vec![day_cell("registered", registered)] })
}

/// Whether a machine that was sold on a day is gone by now, whatever is written down.
fn is_gone(subject: &Subject<'_>, sold: &Entry<Date>) -> bool {
    Days::between(sold.value, subject.today) > GONE_AFTER
}

/// Whether a customer has the machine today who brings it here for its services: the shop handed it over or sold it, or,
/// where no day tells, did a service on it although nothing says that it is the shop's own. A machine that came but for a
/// puncture has its services elsewhere; but of a shop that hands nothing over all are its customers', whatever was done.
pub(super) fn with_customer(subject: &Subject<'_>) -> Fact<bool> {
    let row = &subject.machine.row;
    let since = customer_since(subject).ok().filter(|_| row.handover.is_some() || row.sold.is_some());
    if let Some(since) = since {
        return Ok(Reckoned { value: since.value <= subject.today, shown_by: since.shown_by });
    }
    // Sold, and not yet handed over: a service before that is the shop's own.
    let hands_over = subject.practice.hands_over;
    let visit = first_visit(subject).filter(|_| !hands_over || row.sold.is_none());
    // A service of which nobody wrote the day shows whose machine it is all the same.
    let undated = services_here(subject).find(|job| job.day.is_none() && row.sold.is_none());
    let undated = undated.map(|job| Evidence::of("service here", job.done.value.clone(), &job.done.origin));
    let shown_by: Vec<Evidence> =
        visit.map(|day| day_cell("first service here", day)).or(undated).into_iter().collect();
    if shown_by.is_empty() && hands_over {
        // Written down, and not known: that it was neither handed over nor sold is no answer.
        for (field, fact) in [(Field::Handover, "handover"), (Field::Sold, "day sold")] {
            if row.unread_day(field).is_some() {
                return Err(Missing::fact(fact));
            }
        }
        // Sold long ago, and nothing says when the customer got it.
        if row.sold.as_ref().is_some_and(|sold| is_gone(subject, sold)) {
            return Err(Missing::fact("handover"));
        }
    }
    Ok(Reckoned { value: !shown_by.is_empty() || !hands_over, shown_by })
}

/// The day of the first service that the shop did on a machine which is not its own.
pub(super) fn first_visit<'a>(subject: &Subject<'a>) -> Option<&'a Entry<Date>> {
    let days = services_here(subject).filter_map(|job| job.day.as_ref());
    days.min_by_key(|day| day.value)
}

/// The services that the shop did, by the word itself or its own for one, such as `annual`, on a machine which is not its
/// own.
fn services_here<'s, 'a>(subject: &'s Subject<'a>) -> impl Iterator<Item = &'a Job> + use<'s, 'a> {
    let visits = subject.works().visits().filter(|_| !subject.is_stock());
    visits.filter(|visit| visit.is_of_a_service).map(|visit| visit.job)
}

/// Whether the machine was new when a customer got it: as its registration tells, else its clock at that time.
///
/// Where nobody wrote the registration down, and no reading up to the handover says otherwise, it is taken for new,
/// and the evidence says so: a shop that sells new machines and has no such column must be told of their first
/// services, and one asked for once too often does less harm than one that was never asked for. One registered long
/// before, of which no reading tells, stays unknown, and so does one whose mark is so old: it is a used machine, or a
/// new one that was given an older mark.
pub(super) fn new_at_handover(subject: &Subject<'_>) -> Fact<bool> {
    let row = &subject.machine.row;
    let since = customer_since(subject)?.value;
    let by_clock = |reading: &Reading| Reckoned {
        value: reading.clock.value < NEW_BELOW,
        shown_by: vec![reading_cell("reading at handover", reading, subject.machine.clock_unit)],
    };
    let Some(registered) = &row.registered else {
        // A reading after the handover may be the customer's own miles.
        let before = subject.series.on_or_before(since).filter(|_| subject.series.change.is_none());
        return match before {
            Some(before) => Ok(by_clock(before)),
            None if on_the_road_by(subject).is_some_and(|by| !is_new_after(by, since)) => Err(Missing::fact(
                "registration day or clock reading at handover (the mark is older than the handover)",
            )),
            None => Ok(Reckoned { value: true, shown_by: vec![taken_for_new()] }),
        };
    };
    let day = row.handover.as_ref().or(row.sold.as_ref()).unwrap_or(registered).value;
    if is_new_after(registered.value, day) {
        return Ok(Reckoned { value: true, shown_by: vec![day_cell("registered", registered)] });
    }
    let reading = reading_at(subject, day).ok_or_else(|| Missing::fact("clock reading at handover"))?;
    Ok(by_clock(reading))
}

/// The day by which a machine was on the road: its registration, else that which its first MOT counts from, else the
/// last on which its mark was first given. A mark may look older than its machine, so that alone it proves nothing.
pub(super) fn on_the_road_by(subject: &Subject<'_>) -> Option<Date> {
    let registered = subject.machine.row.registered.as_ref().map(|registered| registered.value);
    registered
        .or_else(|| first_mot_counts_from(subject))
        .or_else(|| given_until(&subject.machine.identity.mark.as_ref()?.value))
}

/// The earliest day on which a machine can have come on the road: its registration, else that which its first MOT counts
/// from, else the later of the day it was built and the first on which its mark was given. No mark makes a machine look
/// younger than it is (the rule for
/// private number plates; from memory).
pub(super) fn on_the_road_from(subject: &Subject<'_>) -> Option<Date> {
    let row = &subject.machine.row;
    let registered = row.registered.as_ref().map(|registered| registered.value);
    registered.or_else(|| first_mot_counts_from(subject)).or_else(|| {
        let mark = subject.machine.identity.mark.as_ref();
        let built = row.built.as_ref().map(|built| built.value);
        built.max(mark.and_then(|mark| given_from(&mark.value)))
    })
}

/// Whether a machine's one clock shows so little that it is new.
pub(super) fn shows_next_to_nothing(subject: &Subject<'_>) -> bool {
    let clock = subject.clock.as_ref().ok().filter(|_| subject.series.change.is_none());
    clock.is_some_and(|clock| clock.value.distance < NEW_BELOW)
}

/// The registration that an MOT's end counts from, where no test can have given so late an end: it lasts a year and a
/// month less a day at the most (as `mot` has it, with its sources), so that this is the day of the first test.
fn first_mot_counts_from(subject: &Subject<'_>) -> Option<Date> {
    /// No test done until today gives a later end than so many months from now.
    const LONGEST: Months = Months(13);
    let expiry = subject.machine.row.mot_expiry.as_ref()?.value;
    let is_first = months_after(subject.today, LONGEST)? < expiry;
    is_first.then(|| months_before(expiry, first_test_after(subject.practice.region)))?
}

/// Whether a machine that was first registered on a day is new at a handover, whatever its clock shows.
pub(super) fn is_new_after(registered: Date, handover: Date) -> bool {
    months_after(registered, NEW_IF_REGISTERED_WITHIN).is_some_and(|last| handover <= last)
}

/// What is said of a machine that nothing shows to be new or used.
fn taken_for_new() -> Evidence {
    let why = "taken for new: neither registration nor a reading at handover says otherwise";
    Evidence::reckoned("new at handover", why)
}

/// The reading that tells of the clock on a day: that of the days around it, else the last before, else the first
/// after. `None` where another clock was put in, which says nothing of that time.
fn reading_at<'a>(subject: &Subject<'a>, day: Date) -> Option<&'a Reading> {
    let series = &subject.series;
    if series.change.is_some() {
        return None;
    }
    let away = |reading: &&&Reading| Days::between(day, reading.day.value).0.abs();
    let nearest = series.trusted.iter().min_by_key(away).copied();
    nearest
        .filter(|reading| Days::between(day, reading.day.value).0.abs() <= AROUND_HANDOVER.0)
        .or_else(|| series.on_or_before(day))
        .or_else(|| series.trusted.first().copied())
}
