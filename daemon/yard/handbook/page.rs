//! What the handbook says of one machine: its model's own rows, else the defaults that come nearest to it.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::{Handbook, HandbookPage, ModelRow, RunningInStage, ServiceItem, SpeaksOf, plain_name, same_name};
use crate::yard::{MachineKind, MachineRow};

impl Handbook {
    /// What the handbook says of a machine.
    ///
    /// A model's row is the machine's own when it names the machine's model, or its make and model. Where the
    /// machine does not give its kind or engine size, its model's row does. A machine of unknown size gets no
    /// default that is for a size.
    pub fn page(&self, machine: &MachineRow) -> HandbookPage {
        let names = Names::of(machine);
        let own = nearest_own(&self.models, &names, |row: &ModelRow| &row.speaks_of);
        let own_row = own.first().copied();
        let facts = own_row.map(|row| &row.speaks_of);
        let subject = Subject {
            kind: machine
                .kind
                .as_ref()
                .or(facts.and_then(|facts| facts.kind.as_ref()))
                .map(|kind| kind.value),
            engine_cc: machine
                .engine_cc
                .as_ref()
                .or(facts.and_then(|facts| facts.engine_cc.as_ref()))
                .map(|engine_cc| engine_cc.value),
        };
        let model = own_row.or_else(|| {
            let defaults = self.models.iter().filter(|row| subject.nearness(&row.speaks_of).is_some());
            // Of equally near ones the first counts, as everywhere in the handbook.
            defaults.rev().max_by_key(|row| subject.nearness(&row.speaks_of))
        });
        let own_services = nearest_own(&self.services, &names, |item: &ServiceItem| &item.speaks_of);
        let services_are_default = own_services.is_empty();
        let services = if services_are_default { self.default_services(&subject) } else { own_services };
        let own_stages = nearest_own(&self.stages, &names, |stage: &RunningInStage| &stage.speaks_of);
        let stages_are_default = own_stages.is_empty();
        let mut stages = if stages_are_default { self.default_stages(&subject) } else { own_stages };
        stages.sort_by_key(|stage| end_of(stage));
        HandbookPage {
            model: model.cloned(),
            model_is_default: model.is_some() && own_row.is_none(),
            services_are_default: services_are_default && !services.is_empty(),
            services: services.into_iter().cloned().collect(),
            stages_are_default: stages_are_default && !stages.is_empty(),
            stages: stages.into_iter().cloned().collect(),
        }
    }

    /// Of each item the default that comes nearest, in the sheet's order.
    fn default_services(&self, subject: &Subject) -> Vec<&ServiceItem> {
        let fitting =
            || self.services.iter().filter_map(|item| Some((subject.nearness(&item.speaks_of)?, item)));
        let mut nearest: BTreeMap<String, Nearness> = BTreeMap::new();
        for (nearness, item) in fitting() {
            let best = nearest.entry(plain_name(&item.item.value)).or_insert(nearness);
            *best = nearness.max(*best);
        }
        fitting()
            .filter(|(nearness, item)| nearest.get(&plain_name(&item.item.value)) == Some(nearness))
            .map(|(_, item)| item)
            .collect()
    }

    /// The stages of the default that comes nearest; stages of two defaults are never mixed.
    fn default_stages(&self, subject: &Subject) -> Vec<&RunningInStage> {
        let nearest = self.stages.iter().filter_map(|stage| subject.nearness(&stage.speaks_of)).max();
        let Some(nearest) = nearest else { return Vec::new() };
        self.stages.iter().filter(|stage| subject.nearness(&stage.speaks_of) == Some(nearest)).collect()
    }
}

/// Where a stage ends, for sorting; one without an end comes last.
fn end_of(stage: &RunningInStage) -> impl Ord + use<> {
    let distance = stage.up_to.as_ref().map(|up_to| up_to.value);
    let months = stage.up_to_months.as_ref().map(|months| months.value);
    (distance.is_none() && months.is_none(), distance, months)
}

/// The names that a machine's rows go by: make and model first, since it says more.
struct Names(Vec<String>);

impl Names {
    fn of(machine: &MachineRow) -> Names {
        let Some(model) = machine.model.as_ref().map(|model| model.value.clone()) else {
            return Names(Vec::new());
        };
        let full = machine.make.as_ref().map(|make| format!("{} {model}", make.value));
        Names(full.into_iter().chain([model]).collect())
    }
}

/// The rows that name the machine: by make and model if there are any, else by its model alone.
fn nearest_own<'h, T>(rows: &'h [T], names: &Names, speaks_of: impl Fn(&T) -> &SpeaksOf) -> Vec<&'h T> {
    for name in &names.0 {
        let named =
            |row: &&T| speaks_of(row).model.as_ref().is_some_and(|model| same_name(&model.value, name));
        let own: Vec<&T> = rows.iter().filter(named).collect();
        if !own.is_empty() {
            return own;
        }
    }
    Vec::new()
}

/// How near a default comes to a machine: one for its kind beats one for its size, the smallest size beats others.
type Nearness = (bool, bool, Reverse<u32>);

/// What decides which defaults count for a machine.
struct Subject {
    kind: Option<MachineKind>,
    engine_cc: Option<u32>,
}

impl Subject {
    /// How near a default comes; `None` where it is not a default, or not for this machine.
    fn nearness(&self, speaks_of: &SpeaksOf) -> Option<Nearness> {
        if speaks_of.model.is_some() {
            return None;
        }
        let kind = speaks_of.kind.as_ref().map(|kind| kind.value);
        let up_to_cc = speaks_of.engine_cc.as_ref().map(|engine_cc| engine_cc.value);
        let is_kind = kind.is_none() || kind == self.kind;
        let is_size = up_to_cc.is_none_or(|most| self.engine_cc.is_some_and(|engine_cc| engine_cc <= most));
        (is_kind && is_size).then_some((
            kind.is_some(),
            up_to_cc.is_some(),
            Reverse(up_to_cc.unwrap_or(u32::MAX)),
        ))
    }
}
