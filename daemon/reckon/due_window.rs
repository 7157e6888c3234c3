//! When an item of the service plan falls due, or the day on which it did.

use jiff::civil::Date;

use super::projection::reached;
use super::service::Planned;
use super::{DueWindow, Fact, Missing, Reckoned};
use crate::units::Distance;

impl Planned<'_, '_> {
    /// When the item falls due, or the day it did. Unless it is due already, every part of the plan must be
    /// known, since the unknown one may come first.
    pub(super) fn falls_due(
        &self,
        day: Option<&Fact<Date>>,
        distance: Option<&Fact<Distance>>,
        due: &Fact<bool>,
    ) -> Fact<DueWindow> {
        if due.as_ref().is_ok_and(|due| due.value) {
            return Ok(self.fell_due(day, distance, due));
        }
        let by_day = day
            .cloned()
            .map(|day| day.map(|day| Reckoned { value: on_day(day.value), shown_by: day.shown_by }));
        let by_distance = distance.map(|distance| self.projected(distance.clone()?));
        match (by_day, by_distance) {
            (None, None) => Err(Missing::fact("distance or months in the handbook")),
            (Some(part), None) | (None, Some(part)) => part,
            (Some(Err(left)), Some(Err(right))) => Err(left.and(right)),
            (Some(Err(missing)), Some(Ok(_))) | (Some(Ok(_)), Some(Err(missing))) => Err(missing),
            (Some(Ok(day)), Some(Ok(projected))) => {
                let value = cut_off(projected.value, day.value.likeliest);
                let shown_by = projected.shown_by.into_iter().chain(day.shown_by).collect();
                Ok(Reckoned { value, shown_by })
            }
        }
    }

    /// The day on which an item that is due fell due: its date, or the first reading at its distance.
    fn fell_due(
        &self,
        day: Option<&Fact<Date>>,
        distance: Option<&Fact<Distance>>,
        due: &Fact<bool>,
    ) -> Reckoned<DueWindow> {
        let by_day = day.and_then(|day| day.as_ref().ok()).map(|day| day.value);
        let by_day = by_day.filter(|day| *day <= self.subject.today);
        let by_distance = distance
            .and_then(|distance| distance.as_ref().ok())
            .and_then(|distance| {
                let mut readings = self.subject.series.trusted.iter();
                readings.find(|reading| self.shown_at_least(reading.clock.value) >= distance.value)
            })
            .map(|reading| reading.day.value);
        let value = match (by_day, by_distance) {
            (Some(day), Some(read)) if read < day => DueWindow { by_date: false, ..on_day(read) },
            (Some(day), _) => on_day(day),
            (None, read) => DueWindow { by_date: false, ..on_day(read.unwrap_or(self.subject.today)) },
        };
        let shown_by = due.as_ref().map(|due| due.shown_by.clone()).unwrap_or_default();
        Reckoned { value, shown_by }
    }

    /// When the clock reaches a distance that it is not at yet, as the pace has it. Days that lie in the past,
    /// where the last reading is old, become today: it has likely been reached by now.
    fn projected(&self, distance: Reckoned<Distance>) -> Fact<DueWindow> {
        let clock = self.subject.clock.clone()?;
        self.clock_can_say_no(clock.value.day)?;
        let usage = self.subject.usage.clone()?;
        let reached = reached(&clock.value, &usage.value, distance.value)
            .ok_or_else(|| Missing::fact("readings to project from"))?;
        let today = self.subject.today;
        let value = DueWindow {
            earliest: reached.earliest.max(today),
            likeliest: reached.likeliest.max(today),
            latest: reached.latest.max(today),
            by_date: false,
        };
        let shown_by = usage.shown_by.into_iter().chain(distance.shown_by).collect();
        Ok(Reckoned { value, shown_by })
    }
}

/// The window of a date that the plan gives.
fn on_day(day: Date) -> DueWindow {
    DueWindow { earliest: day, likeliest: day, latest: day, by_date: true }
}

/// A projected window cut off by a date that may come first.
fn cut_off(window: DueWindow, day: Date) -> DueWindow {
    if day <= window.earliest {
        return on_day(day);
    }
    DueWindow {
        earliest: window.earliest,
        likeliest: window.likeliest.min(day),
        latest: window.latest.min(day),
        by_date: false,
    }
}
