//! The machines that the sheets named before and do not name any more, from what was kept of them.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{Finding, KeptFinding, State};
use crate::reckon::Absentee;
use crate::yard::{Identity, Machine, MachineId};

/// What earlier rounds left of machines.
#[derive(Debug, Clone, Copy)]
pub struct Kept<'a> {
    /// The findings.
    pub findings: &'a [KeptFinding],
    /// The names that sheets gave machines before and do not give today, with the last day on which one did.
    pub names: &'a BTreeMap<MachineId, Date>,
    /// The machines of findings that are none, or have left for good: nobody asks for those.
    pub over: &'a BTreeMap<MachineId, &'static str>,
}

/// Who is absent: each machine of an open finding that today's sheets do not list, and each that is known by nothing
/// but its name, of the kind by which the sheets tell machines apart.
///
/// `counts` says whether a rule's findings are about a machine, and not about its being gone.
pub fn absentees(
    kept: &Kept<'_>,
    machines: &[impl AsRef<Machine>],
    counts: impl Fn(&str) -> bool,
) -> Vec<Absentee> {
    let machines: Vec<&Machine> = machines.iter().map(AsRef::as_ref).collect();
    if machines.is_empty() {
        // Nothing could be read, which is said elsewhere; nobody is gone for that.
        return Vec::new();
    }
    let present: BTreeSet<MachineId> =
        machines.iter().flat_map(|machine| names(&machine.id, &machine.identity)).collect();
    let is_there = |names: &[MachineId]| names.iter().any(|name| present.contains(name));
    let mut absent: BTreeMap<&MachineId, Absentee> = BTreeMap::new();
    let open = kept.findings.iter().map(|kept| &kept.finding);
    let open = open.filter(|finding| finding.state != State::Settled && counts(&finding.rule));
    let of_yard = |finding: &&Finding| finding.machine.is_whole_yard();
    for finding in open.filter(|finding| !of_yard(finding)) {
        let names = names(&finding.machine, &finding.identity);
        if is_there(&names) || kept.over.contains_key(&finding.machine) {
            continue;
        }
        let absentee = absent.entry(&finding.machine).or_insert_with(|| Absentee {
            machine: finding.machine.clone(),
            name: finding.machine_name.clone(),
            identity: finding.identity.clone(),
            last_named: names.iter().filter_map(|name| kept.names.get(name)).max().copied(),
            open: 0,
        });
        absentee.open += 1;
    }
    let known: BTreeSet<MachineId> =
        absent.values().flat_map(|absentee| names(&absentee.machine, &absentee.identity)).collect();
    let kind = kind_of_names(&machines);
    let nameless = kept.names.iter().filter(|(name, _)| kind_of(name) == kind && !known.contains(*name));
    for (name, day) in nameless.filter(|(name, _)| !present.contains(*name)) {
        absent.insert(
            name,
            Absentee {
                machine: name.clone(),
                name: name.as_str().to_owned(),
                identity: Identity::default(),
                last_named: Some(*day),
                open: 0,
            },
        );
    }
    absent.into_values().collect()
}

/// What a machine is known by, each in the form of a lasting name.
fn names(id: &MachineId, identity: &Identity) -> Vec<MachineId> {
    MachineId::each(identity).chain([id.clone()]).collect()
}

/// The first word of a lasting name: `frame`, `stock` or `mark`.
fn kind_of(name: &MachineId) -> &str {
    name.as_str().split(' ').next().unwrap_or_default()
}

/// By what kind of name the sheets tell most machines apart; a name of another kind may have moved to another machine.
fn kind_of_names<'m>(machines: &[&'m Machine]) -> &'m str {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for machine in machines {
        *counts.entry(kind_of(&machine.id)).or_default() += 1;
    }
    counts.into_iter().max_by_key(|(_, count)| *count).map(|(kind, _)| kind).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use jiff::civil::date;

    use super::*;
    use crate::origin::{Entry, Origin, SheetName};
    use crate::units::DistanceUnit;
    use crate::yard::{HandbookPage, MachineRow, Mark};

    fn mark(text: &str) -> Identity {
        let name = Arc::new(SheetName { file: "yard.csv".to_owned(), sheet: None });
        let mark = Mark::new(text).expect("a test's mark is one");
        let mark = Some(Entry::new(mark, Origin { name, row: 2, column: 0 }));
        Identity { mark, ..Identity::default() }
    }

    fn machine(text: &str) -> Arc<Machine> {
        let identity = mark(text);
        Arc::new(Machine {
            id: MachineId::of(&identity).expect("a mark is a name"),
            identity,
            row: MachineRow::default(),
            clock_unit: DistanceUnit::Miles,
            readings: Vec::new(),
            jobs: Vec::new(),
            checks: Vec::new(),
            rides: Vec::new(),
            fills: Vec::new(),
            withdrawn: crate::yard::TakenOut::default(),
            page: HandbookPage::default(),
        })
    }

    #[test]
    fn a_name_of_the_kind_that_tells_machines_apart_is_absent_once_no_sheet_gives_it() {
        let names = ["mark AB75CDE", "mark AB75CDF", "stock S9", "frame F1"];
        let names = names.map(|name| (MachineId::kept(name), date(2026, 2, 27))).into_iter().collect();
        let kept = Kept { findings: &[], names: &names, over: &BTreeMap::new() };
        let absent = |machines: &[Arc<Machine>]| -> Vec<String> {
            absentees(&kept, machines, |_| true).into_iter().map(|absent| absent.name).collect()
        };
        // A stock number or frame number may be known of a machine that goes by its mark.
        assert_eq!(absent(&[machine("AB75 CDF"), machine("AB75 CDG")]), ["mark AB75CDE"]);
        // Where no sheet lists machines at all, nobody can be said to be gone.
        assert_eq!(absent(&[]), [] as [&str; 0]);
    }
}
