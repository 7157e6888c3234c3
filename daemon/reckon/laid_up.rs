//! Whether a machine stands: laid up by its note, unsold in the shop, or with a clock that hardly moves.

use jiff::civil::Date;

use super::clock::reading_cell;
use super::job_text::{has_words, says_done};
use super::subject::{Subject, day_cell};
use super::{Fact, Missing, Reckoned, Stands};
use crate::origin::Evidence;
use crate::units::{Distance, DistanceUnit};
use crate::yard::Reading;

/// What a note says of a machine that is laid up.
const LAID_UP: [&str; 7] =
    ["laid up", "off the road", "sorn", "in storage", "winter storage", "put away", "stored"];

/// What a note says when it is used again.
const IN_USE_AGAIN: [&str; 3] = ["back on the road", "in use again", "no longer"];

/// So far a machine is pushed, or ridden round the yard, and still stands. Our decision.
const HARDLY: Distance = Distance::of(20, DistanceUnit::Miles);

/// Whether, and since when, a machine stands.
pub(super) fn stands(subject: &Subject<'_>) -> Stands {
    let since = if subject.is_stock() { in_the_shop(subject) } else { by_its_clock(subject) };
    let until = if subject.is_stock() { Some(subject.today) } else { last_reading(subject) };
    Stands {
        laid_up: said_laid_up(subject),
        in_stock: subject.is_stock(),
        arrivals_kept: subject.practice.keeps_arrivals,
        since,
        until: until.unwrap_or(subject.today),
    }
}

/// The note that says it is laid up. One that asks, such as `laid up?`, says neither that it is nor that it is not.
fn said_laid_up(subject: &Subject<'_>) -> Result<Option<Evidence>, Missing> {
    let Some(note) = &subject.machine.row.note else { return Ok(None) };
    let says = |text: &str| LAID_UP.iter().any(|phrase| says_done(text, phrase));
    if IN_USE_AGAIN.iter().any(|phrase| has_words(&note.value, phrase)) {
        return Ok(None);
    }
    if says(&note.value) {
        return Ok(Some(Evidence::of("note", &note.value, &note.origin)));
    }
    if note.value.contains('?') && says(&note.value.replace('?', ".")) {
        return Err(Missing::fact("whether it is laid up, which its note only asks"));
    }
    Ok(None)
}

fn last_reading(subject: &Subject<'_>) -> Option<Date> {
    subject.series.trusted.last().map(|reading| reading.day.value)
}

/// The first of the readings at the end among which the clock hardly moves.
fn first_of_the_last<'a>(subject: &Subject<'a>) -> Option<(&'a Reading, &'a Reading)> {
    let trusted = &subject.series.trusted;
    let last = *trusted.last()?;
    let stays = |reading: &&&Reading| last.clock.value - reading.clock.value <= HARDLY;
    let first = trusted.iter().rev().take_while(stays).last().copied().unwrap_or(last);
    Some((first, last))
}

/// Since when the clock of a customer's machine hardly moves; one reading alone says nothing.
fn by_its_clock(subject: &Subject<'_>) -> Fact<Date> {
    if subject.series.trusted.len() < 2 {
        return Err(Missing::fact("a second clock reading"));
    }
    let (first, last) = first_of_the_last(subject).ok_or_else(|| Missing::fact("clock reading"))?;
    let unit = subject.machine.clock_unit;
    let mut shown_by = vec![reading_cell("reading", first, unit)];
    if first.day.value != last.day.value {
        shown_by.push(reading_cell("last reading", last, unit));
    }
    Ok(Reckoned { value: first.day.value, shown_by })
}

/// Since when an unsold machine stands in the shop: since it came or, where it was ridden meanwhile, since then.
fn in_the_shop(subject: &Subject<'_>) -> Fact<Date> {
    let arrived = subject.machine.row.arrived.as_ref().filter(|day| day.value <= subject.today);
    let rides = subject.machine.rides.iter().filter_map(|ride| ride.day.as_ref());
    let ride = rides.filter(|day| day.value <= subject.today).max_by_key(|day| day.value);
    // Only a clock that rose tells of riding: the first reading of all, and those that hardly differ from it, do not.
    let was_ridden = |first: &Reading| {
        subject.series.trusted.first().is_some_and(|reading| !std::ptr::eq(*reading, first))
    };
    let reading = first_of_the_last(subject).filter(|(first, _)| was_ridden(first));
    let candidates = [
        arrived.map(|day| (day.value, day_cell("arrival", day))),
        ride.map(|day| (day.value, day_cell("last ride", day))),
        reading
            .map(|(first, _)| (first.day.value, reading_cell("reading", first, subject.machine.clock_unit))),
    ];
    let latest = candidates.into_iter().flatten().max_by_key(|(day, _)| *day);
    let (value, cell) = latest.ok_or_else(|| Missing::fact("arrival"))?;
    Ok(Reckoned { value, shown_by: vec![cell] })
}
