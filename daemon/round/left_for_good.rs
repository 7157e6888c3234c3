//! Machines that have left for good, as the owner wrote: what was open of them is settled, and nothing more is told.

use super::keeping::History;
use crate::problem::{Place, Problem};
use crate::yard::{Identity, Machine, MachineId};

/// What shows that a finding of such a machine is settled.
const LEFT: &str = "tickover.toml says that the machine has left for good";

/// Whether the owner's list names a machine by any of its names.
pub(super) fn is_left(identity: &Identity, gone: &[String]) -> bool {
    MachineId::each(identity).any(|name| is_named(&name, gone))
}

fn is_named(name: &MachineId, gone: &[String]) -> bool {
    gone.iter().any(|written| name.is_called(written))
}

/// Settles what is open of the machines that have left, as far as no sheet lists them. What the list says in vain is told.
pub(super) fn settle<'m>(
    history: &mut History,
    machines: impl Iterator<Item = &'m Machine> + Clone,
    gone: &[String],
) -> Vec<Problem> {
    if gone.is_empty() {
        return Vec::new();
    }
    let mut problems = Vec::new();
    for written in gone {
        let one = std::slice::from_ref(written);
        let was_named = history.names_gone.keys().any(|name| is_named(name, one))
            || history.findings.iter().any(|kept| is_left(&kept.finding.identity, one));
        match machines.clone().find(|machine| is_left(&machine.identity, one)) {
            Some(machine) => problems.push(still_listed(written, machine)),
            None if !was_named => problems.push(unknown(written)),
            None => {}
        }
    }
    let mut names = Vec::new();
    for kept in &history.findings {
        let finding = &kept.finding;
        if is_left(&finding.identity, gone) || is_named(&finding.machine, gone) {
            names.extend(MachineId::each(&finding.identity));
            history.over.insert(finding.machine.clone(), LEFT);
        }
    }
    history.names_gone.retain(|name, _| !is_named(name, gone) && !names.contains(name));
    problems
}

fn still_listed(written: &str, machine: &Machine) -> Problem {
    let place = machine.identity.cell().map(|cell| format!(" ({cell})")).unwrap_or_default();
    Problem::error(
        Place::file("tickover.toml"),
        format!(
            "`gone` says that `{written}` has left for good, and a sheet lists it{place}: it is told of as before"
        ),
        "Take its row out of the sheet, or its name out of `gone`.",
    )
}

fn unknown(written: &str) -> Problem {
    Problem::note(
        Place::file("tickover.toml"),
        format!("`gone` names `{written}`, and nothing is known of such a machine"),
        "Write its mark, stock number or frame number as the sheets did, or take it out.",
    )
}
