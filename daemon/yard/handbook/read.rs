//! Reads the three sheets of the handbook; what cannot be read is told and left out.

use std::collections::BTreeMap;

use super::columns::{Line, MODELS, SERVICES, STAGES, rows};
use super::{Handbook, ModelRow, RunningInStage, ServiceItem, SpeaksOf, plain_name};
use crate::origin::{Entry, Origin};
use crate::problem::Problem;
use crate::sheets::Table;
use crate::units::{Distance, DistanceUnit};
use crate::yard::{MachineKind, cell_words, cells};

/// The handbook that its three sheets hold (each in as many files as there are), and what is wrong with them.
///
/// A row of a plan with a cell that cannot be read is left out as a whole: half a row would say that a service is
/// not due where nobody knows. Of two rows that say the same thing the first one counts.
pub fn read_handbook(models: &[Table], services: &[Table], stages: &[Table]) -> (Handbook, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut twins = Twins::default();
    let models = rows(models, &MODELS, &mut problems, |line| {
        let row = model_row(line)?;
        twins.is_first("", &row.speaks_of, line).then_some(row)
    });
    let units: BTreeMap<String, DistanceUnit> = models
        .iter()
        .filter_map(|row| {
            Some((plain_name(&row.speaks_of.model.as_ref()?.value), row.clock_unit.as_ref()?.value))
        })
        .collect();
    let mut twins = Twins::default();
    let services = rows(services, &SERVICES, &mut problems, |line| {
        let row = service_item(line, &units)?;
        twins.is_first(&row.item.value, &row.speaks_of, line).then_some(row)
    });
    let mut twins = Twins::default();
    let stages = rows(stages, &STAGES, &mut problems, |line| {
        let row = running_in_stage(line, &units)?;
        twins.is_first(&row.stage.value, &row.speaks_of, line).then_some(row)
    });
    (Handbook { models, services, stages }, problems)
}

/// The rows seen so far, by what they say of which machines.
#[derive(Default)]
struct Twins {
    seen: BTreeMap<(String, String, Option<MachineKind>, Option<u32>), Origin>,
}

impl Twins {
    /// Whether no row before says the same thing of the same machines; the second one is told.
    fn is_first(&mut self, thing: &str, speaks_of: &SpeaksOf, line: &mut Line<'_>) -> bool {
        let model = speaks_of.model.as_ref().map(|model| plain_name(&model.value)).unwrap_or_default();
        let is_default = model.is_empty();
        let kind = speaks_of.kind.as_ref().filter(|_| is_default).map(|kind| kind.value);
        let engine_cc = speaks_of.engine_cc.as_ref().filter(|_| is_default).map(|cc| cc.value);
        let origin = line.first_cell();
        match self.seen.entry((plain_name(thing), model, kind, engine_cc)) {
            std::collections::btree_map::Entry::Vacant(place) => {
                place.insert(origin);
                true
            }
            std::collections::btree_map::Entry::Occupied(first) => {
                let what = format!("this row is about the same as the one at {}", first.get());
                line.complain("model", &what, "Take one of the two out.");
                false
            }
        }
    }
}

/// Which machines a row speaks of.
fn speaks_of(line: &mut Line<'_>) -> SpeaksOf {
    SpeaksOf {
        model: line.entry("model", |cell, _| cells::text(cell)),
        kind: line.entry("kind", |cell, _| cell_words::machine_kind(cell)),
        engine_cc: line.entry("engine cc", cells::engine_cc),
    }
}

/// `None` where it cannot be told which machines the row speaks of; other cells that cannot be read are only told.
fn model_row(line: &mut Line<'_>) -> Option<ModelRow> {
    let speaks_of = speaks_of(line);
    if !line.is_sound() {
        return None;
    }
    let row = ModelRow {
        speaks_of,
        clock_unit: line.entry("clock unit", |cell, _| cell_words::clock_unit(cell)),
        fuel_allowed: line.entry("highest ethanol label", |cell, _| cell_words::ethanol_label(cell)),
        oil: line.entry("oil", |cell, _| cells::text(cell)),
        tank: line.entry("tank litres", cells::volume),
    };
    // A remark on a line of its own is no default for every machine.
    let says_something = row.speaks_of.model.is_some()
        || row.clock_unit.is_some()
        || row.fuel_allowed.is_some()
        || row.oil.is_some()
        || row.tank.is_some();
    says_something.then_some(row)
}

/// Which machines a row of a plan speaks of; its bare figures then count as that model's clock does, else in miles.
fn planned_for(line: &mut Line<'_>, units: &BTreeMap<String, DistanceUnit>) -> SpeaksOf {
    let speaks_of = speaks_of(line);
    let model = speaks_of.model.as_ref().map(|model| plain_name(&model.value));
    let unit = model.and_then(|model| units.get(&model)).copied();
    line.count_in(unit.unwrap_or(DistanceUnit::Miles));
    speaks_of
}

fn distance(line: &mut Line<'_>, name: &str) -> Option<Entry<Distance>> {
    // The line has given the cell a unit, so that the one named here never counts.
    line.entry(name, cells::distance).map(|entry| entry.map(|written| written.resolved(DistanceUnit::Miles)))
}

fn service_item(line: &mut Line<'_>, units: &BTreeMap<String, DistanceUnit>) -> Option<ServiceItem> {
    let speaks_of = planned_for(line, units);
    let item = line.entry("item", |cell, _| cells::text(cell));
    let first_at = distance(line, "first at");
    let first_after = line.entry("first after months", cells::months);
    let then_every = distance(line, "then every");
    let then_every_months = line.entry("then every months", cells::months);
    let tolerance = distance(line, "tolerance");
    let tolerance_days = line.entry("tolerance days", cells::day_count).map(|days| days.map(|days| days.0));
    if item.is_none() {
        line.complain(
            "item",
            "this row names no item of the plan",
            "Write what is done, such as first service.",
        );
    }
    let never =
        first_at.is_none() && first_after.is_none() && then_every.is_none() && then_every_months.is_none();
    if never && line.is_sound() {
        let help =
            "Write a distance (first at, then every) or months (first after months, then every months).";
        line.complain("item", "this row does not say when the item is due", help);
    }
    let no_distance = then_every.as_ref().is_some_and(|every| every.value == Distance::ZERO);
    let no_months = then_every_months.as_ref().is_some_and(|months| months.value.0 == 0);
    if no_distance || no_months {
        let help = "Write how far or how many months lie between two times, or leave the cell blank.";
        line.complain("item", "this item would be due again at once", help);
    }
    if !line.is_sound() {
        return None;
    }
    Some(ServiceItem {
        speaks_of,
        item: item?,
        first_at,
        first_after,
        then_every,
        then_every_months,
        tolerance,
        tolerance_days,
    })
}

fn running_in_stage(line: &mut Line<'_>, units: &BTreeMap<String, DistanceUnit>) -> Option<RunningInStage> {
    let speaks_of = planned_for(line, units);
    let stage = line.entry("stage", |cell, _| cells::text(cell));
    let up_to = distance(line, "up to");
    let up_to_months = line.entry("up to months", cells::months);
    let top_speed = line.entry("top speed", cells::speed);
    let burst_speed = line.entry("burst speed", cells::speed);
    if stage.is_none() {
        line.complain("stage", "this row names no stage", "Write its number or name, such as 1 or first.");
    }
    if let (Some(top), Some(burst)) = (&top_speed, &burst_speed)
        && burst.value < top.value
    {
        let help = "Write the speed of a short burst, which is the higher one, or leave the cell blank.";
        line.complain("burst speed", "the short burst is slower than the top speed", help);
    }
    if !line.is_sound() {
        return None;
    }
    Some(RunningInStage { speaks_of, stage: stage?, up_to, up_to_months, top_speed, burst_speed })
}
