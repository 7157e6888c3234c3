//! Whether the shop's records would show that an item of the service plan was done, so that none shows it was not.

use jiff::civil::Date;

use super::Missing;
use super::customer::{first_visit, is_new_after, new_at_handover, on_the_road_from, shows_next_to_nothing};
use super::history::{HAD_KEEPERS_AFTER, first_figure, first_months};
use super::subject::Subject;
use crate::units::{Days, months_after};
use crate::yard::ServiceItem;

/// What would tell since when the shop has had a machine.
const SINCE_WHEN: &str = "handover, sale or arrival here";

/// How old a clock reading may be to say that a machine which is not the shop's own has not gone far. Our decision.
const READING_LASTS: Days = Days(28);

/// What must be known before anybody can say that an item which no job did was never done; `None` where that can be
/// said already.
///
/// Records say 'never' of the time alone that they cover. They cover what matters where the item has not come due in
/// all of the machine's life, where the shop had it new, and where it came due only since the shop has had it. In all
/// other cases it may have been done elsewhere, by somebody whose records are not here. Our decision, as the safe one.
pub(super) fn needed_to_say_never(subject: &Subject<'_>, item: &ServiceItem) -> Option<Missing> {
    if has_not_come_due(subject, item) {
        return None;
    }
    let Some(since) = known_since(subject) else {
        return (!is_young_and_from_here(subject)).then(|| Missing::fact(SINCE_WHEN));
    };
    let before = || {
        let before = if subject.machine.row.handover.is_some() { "handover" } else { "the shop had it" };
        Missing(vec![format!("record of the {} before {before}", item.item.value)])
    };
    let series = Some(&subject.series).filter(|series| series.change.is_none());
    let then = series.and_then(|series| series.on_or_before(since));
    // One that was read later shows at least as much as there was then.
    let then_or_later = then.or_else(|| series.and_then(|series| series.trusted.first().copied()));
    if let Some(figure) = first_figure(item)
        && then.is_some_and(|reading| reading.clock.value >= figure.value)
    {
        return Some(before());
    }
    if was_new(subject, since) {
        return None;
    }
    // Where that hangs on whether the machine was new, what would tell is easier to find than a record.
    let unseen = || new_at_handover(subject).err().filter(|_| has_gone_out(subject)).unwrap_or_else(before);
    if let Some(figure) = first_figure(item)
        && then_or_later.is_none_or(|reading| reading.clock.value >= figure.value)
    {
        return Some(unseen());
    }
    let months = first_months(item)?;
    match on_the_road_from(subject) {
        Some(from) => months_after(from, months.value).is_some_and(|due| due <= since).then(unseen),
        None => Some(Missing::fact("registration day")),
    }
}

/// Whether nothing in the machine's whole life has brought the item due yet, whoever had it. Of its months that is said
/// from the earliest day on which it can have come on the road; where nothing tells that day, of the shop's own machine
/// alone, and only while its clock shows it to be new.
fn has_not_come_due(subject: &Subject<'_>, item: &ServiceItem) -> bool {
    let by_distance = first_figure(item).is_none_or(|figure| {
        subject.series.change.is_none()
            && subject.clock.as_ref().is_ok_and(|clock| {
                let age = Days::between(clock.value.day, subject.today);
                (subject.is_stock() || age <= READING_LASTS) && clock.value.distance < figure.value
            })
    });
    let by_day = first_months(item).is_none_or(|months| match on_the_road_from(subject) {
        Some(from) => months_after(from, months.value).is_none_or(|due| subject.today < due),
        None => subject.is_stock() && shows_next_to_nothing(subject),
    });
    by_distance && by_day
}

/// The day since when the shop has had the machine: it handed it over, took it in, sold it, or did a service on it.
fn known_since(subject: &Subject<'_>) -> Option<Date> {
    let row = &subject.machine.row;
    let arrived = row.arrived.as_ref().filter(|day| day.value <= subject.today);
    let came = if row.handover.is_some() {
        subject.handed_over().or(arrived)
    } else {
        let sold = row.sold.as_ref().filter(|day| day.value <= subject.today);
        arrived.or(sold).or_else(|| first_visit(subject))
    };
    came.map(|day| day.value)
}

/// Whether the shop sold or handed the machine over, or will.
fn has_gone_out(subject: &Subject<'_>) -> bool {
    let row = &subject.machine.row;
    row.handover.is_some() || row.sold.is_some()
}

/// Whether the machine was new when the shop had it, so that all of its life is in the shop's records.
fn was_new(subject: &Subject<'_>, since: Date) -> bool {
    let by_handover = has_gone_out(subject) && new_at_handover(subject).is_ok_and(|new| new.value);
    let registered = subject.machine.row.registered.as_ref();
    by_handover || registered.is_some_and(|registered| is_new_after(registered.value, since))
}

/// Where no day tells since when: whether the machine is the shop's own, or was registered for its customer, and has
/// been on the road for too short a time to have had other keepers.
fn is_young_and_from_here(subject: &Subject<'_>) -> bool {
    let registered = subject.machine.row.registered.as_ref();
    let is_young = registered.is_some_and(|registered| {
        months_after(registered.value, HAD_KEEPERS_AFTER).is_none_or(|year| subject.today < year)
    });
    is_young && (subject.is_stock() || subject.is_sold())
}
