//! Results of checks that nobody can read, and that leave it open whether a machine may leave: they go to the letter's top.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use crate::origin::Origin;
use crate::problem::{Place, Problem, Severity};
use crate::reckon;
use crate::settings::Practice;
use crate::units::Days;
use crate::yard::{CheckResult, Machine, MachineId};

/// Longer after its handover an unreadable result hides nothing any more: as long as the shipped rule asks for what was
/// left open.
const ASKED_FOR: Days = Days(180);

/// Raises what was complained of in the cell of a result, where its check is open for that alone and its machine has not
/// been gone for long, and names the machine there.
pub(super) fn raise(
    complaints: &mut [Problem],
    machines: &BTreeMap<MachineId, Arc<Machine>>,
    practice: &Practice,
    today: Date,
) {
    let mut open: BTreeMap<Place, (String, String)> = BTreeMap::new();
    for machine in machines.values() {
        if !machine.checks.iter().any(|check| check.result.value == CheckResult::Unclear) {
            continue;
        }
        let handover = machine.row.handover.as_ref().map(|day| day.value);
        if handover.is_some_and(|day| ASKED_FOR.before(today).is_some_and(|first| day < first)) {
            continue;
        }
        let checks = reckon::stand(machine, practice, today).before_handover.open;
        let unclear = checks.into_iter().filter_map(|check| Some((check.unclear?, check.what)));
        let place = |cell: &Origin| Place::from(cell);
        open.extend(unclear.map(|(cell, what)| (place(&cell), (what, machine.name()))));
    }
    // What a bare sign means is told of the sheet as a whole.
    for problem in complaints.iter_mut().filter(|problem| problem.severity == Severity::Error) {
        if let Some((check, machine)) = open.get(&problem.place) {
            problem.what =
                format!("{}: nobody can tell whether its {check} is passed: {}", machine, problem.what);
            problem.hides_what_is_due = true;
        }
    }
}
