//! The records of all sheets and the kept history become one machine each.

mod handed_on;
mod history;
mod logs;
mod naming;
mod new_mark;
mod resale;
mod rows;
mod said_beside;
mod zeros;

#[cfg(test)]
mod tests;

use std::collections::{BTreeMap, HashMap};

use super::{
    Handbook, HandbookPage, HandedOn, Identity, KnownAs, Machine, MachineId, MachineKind, MachineRow, Record,
    Records,
};
use crate::origin::{Entry, Origin};
use crate::problem::Problem;
use crate::units::DistanceUnit;
use handed_on::Handed;
use history::History;
use jiff::civil::Date;
use naming::Naming;
use said_beside::SaidBeside;

/// What a row of a log said, and whether only the ledger still has it.
struct Log {
    identity: Identity,
    record: Record,
    is_kept: bool,
    /// Whether its sheet has taken it back.
    is_withdrawn: bool,
}

/// What rows of logs say beside their records.
struct Beside {
    clocks_unread: Vec<(Identity, Entry<String>)>,
    said: Vec<(Identity, Option<Date>, MachineRow)>,
    known_as: Vec<KnownAs>,
    handed_on: Vec<HandedOn>,
}

/// Joins what the sheets say now and what the ledger kept of earlier ones into machines, sorted by their ids.
///
/// Rows about a machine are told apart by frame number, stock number and mark; the rows of logs join them. Where
/// no sheet lists the machines, they are made from the logs. `clock_unit` is the shop's, for a machine of which
/// neither its row nor its page of the handbook says what its clock counts in. The result does not depend on the
/// order of rows or files. Kept records of machines that no sheet lists any more are left alone.
pub fn join(
    current: Records,
    kept: Records,
    handbook: &Handbook,
    clock_unit: DistanceUnit,
) -> (Vec<Machine>, Vec<Problem>) {
    join_all(current, kept, Records::default(), handbook, clock_unit)
}

/// The same, with what sheets have taken back of what they said.
pub fn join_all(
    current: Records,
    kept: Records,
    withdrawn: Records,
    handbook: &Handbook,
    clock_unit: DistanceUnit,
) -> (Vec<Machine>, Vec<Problem>) {
    let mut problems = Vec::new();
    let (mut machine_rows, mut logs) = (Vec::new(), Vec::new());
    for (identity, record) in current.records {
        match record {
            Record::Machine(row) => machine_rows.push((identity, *row)),
            record => logs.push(Log { identity, record, is_kept: false, is_withdrawn: false }),
        }
    }
    // What a row said of the machine itself is worth nothing once the sheet says something else.
    let kept = kept.records.into_iter().filter(|(_, record)| !matches!(record, Record::Machine(_)));
    logs.extend(kept.map(|(identity, record)| Log { identity, record, is_kept: true, is_withdrawn: false }));
    let withdrawn = withdrawn.records.into_iter();
    logs.extend(withdrawn.map(|(identity, record)| Log {
        identity,
        record,
        is_kept: true,
        is_withdrawn: true,
    }));
    if machine_rows.is_empty() {
        machine_rows = made_from_logs(&logs);
    }
    let beside = Beside {
        clocks_unread: current.clocks_unread,
        said: current.said_beside,
        known_as: current.known_as,
        handed_on: current.handed_on,
    };
    let machines = machines(machine_rows, logs, beside, &mut problems);
    let mut pages = Pages { handbook, found: HashMap::new() };
    let mut machines: Vec<Machine> = machines
        .into_iter()
        .filter_map(|(identity, row, history)| {
            let id = MachineId::of(&identity)?;
            let page = pages.page(&row);
            let of_model = page.model.as_ref().and_then(|model| model.clock_unit.as_ref());
            let unit = row.clock_unit.as_ref().or(of_model).map_or(clock_unit, |unit| unit.value);
            Some(history.machine(id, identity, row, page, unit))
        })
        .collect();
    machines.sort_by(|one, other| one.id.cmp(&other.id));
    problems.extend(new_mark::of_machines(&machines));
    problems.sort();
    (machines, problems)
}

/// Each machine's identity, its row and what was recorded of it.
fn machines(
    mut machine_rows: Vec<(Identity, MachineRow)>,
    mut logs: Vec<Log>,
    beside: Beside,
    problems: &mut Vec<Problem>,
) -> Vec<(Identity, MachineRow, History)> {
    machine_rows.sort_by(|(one, _), (other, _)| first_cell(one).cmp(&first_cell(other)));
    zeros::put_back(&mut machine_rows, problems);
    let identities: Vec<&Identity> = machine_rows.iter().map(|(identity, _)| identity).collect();
    let (mut naming, machine_of_row) = Naming::of(&identities, problems);
    naming.know_again(&beside.known_as, &identities, &machine_of_row);
    let mut handed = Handed::of(&beside.handed_on, (&identities, &machine_of_row));
    handed.leave_to_numbers(&mut logs);
    let machine_of_log = naming.machines_of_logs(&logs, problems);
    let doubted: Vec<_> = identities
        .iter()
        .zip(&machine_of_row)
        .map(|(identity, machine)| machine.map(|machine| naming.doubted(machine, identity)))
        .collect();
    let mut unread: BTreeMap<usize, Entry<String>> = BTreeMap::new();
    for (identity, why) in beside.clocks_unread {
        if let Some(machine) = naming.machine_of(&identity) {
            unread.insert(machine, why);
        }
    }
    let mut said: BTreeMap<usize, SaidBeside> = BTreeMap::new();
    let mut unlisted = Vec::new();
    for (identity, day, row) in beside.said {
        if handed.is_doubted(&identity, day) {
            continue;
        }
        if let Some(machine) = naming.machine_of(&identity) {
            said.entry(machine).or_default().add(day, row);
        } else {
            unlisted.push((identity, row));
        }
    }
    let count = naming.count();

    let mut rows_of_machine: Vec<Vec<(Identity, MachineRow)>> = (0..count).map(|_| Vec::new()).collect();
    for (place, (mut identity, row)) in machine_rows.into_iter().enumerate() {
        let (Some(machine), Some(doubted)) = (machine_of_row[place], doubted[place]) else { continue };
        identity.stock_no = identity.stock_no.filter(|_| !doubted.stock_no);
        identity.mark = identity.mark.filter(|_| !doubted.mark);
        rows_of_machine[machine].push((identity, row));
    }
    let mut histories: Vec<History> = (0..count).map(|_| History::default()).collect();
    for (log, machine) in logs.into_iter().zip(machine_of_log) {
        if let Some(machine) = machine {
            handed.add(log, machine, &mut histories);
        }
    }
    problems.extend(handed.problems());
    let machines: Vec<(Identity, MachineRow, History)> = rows_of_machine
        .into_iter()
        .zip(histories)
        .enumerate()
        .map(|(machine, (rows, history))| {
            let (identity, mut row) = rows::merged(rows, problems);
            row.clock_unread = row.clock_unread.or_else(|| unread.remove(&machine));
            if let Some(said) = said.remove(&machine) {
                said.fill_in(&identity, &mut row, problems);
            }
            (identity, row, history)
        })
        .collect();
    let listed = machines.iter().map(|(identity, row, _)| (identity, row));
    problems.extend(new_mark::of_unlisted(&unlisted, listed));
    machines
}

/// A row about each machine that the logs name, where no sheet lists the machines.
fn made_from_logs(logs: &[Log]) -> Vec<(Identity, MachineRow)> {
    let mut named: BTreeMap<naming::Names<'_>, &Identity> = BTreeMap::new();
    for log in logs.iter().filter(|log| !log.is_withdrawn) {
        let first = named.entry(naming::names(&log.identity)).or_insert(&log.identity);
        if first_cell(&log.identity) < first_cell(first) {
            *first = &log.identity;
        }
    }
    let row = || MachineRow { is_from_logs: true, ..MachineRow::default() };
    named.into_values().map(|identity| (identity.clone(), row())).collect()
}

/// The first cell of a row that names its machine; `None` when none does.
fn first_cell(identity: &Identity) -> Option<&Origin> {
    let mark = identity.mark.as_ref().map(|mark| &mark.origin);
    let frame_no = identity.frame_no.as_ref().map(|frame_no| &frame_no.origin);
    let stock_no = identity.stock_no.as_ref().map(|stock_no| &stock_no.origin);
    [mark, frame_no, stock_no].into_iter().flatten().min()
}

/// Pages of the handbook, each looked up once: a shop has many machines of few models.
struct Pages<'h> {
    handbook: &'h Handbook,
    found: HashMap<PageKey, HandbookPage>,
}

/// What a page depends on: make, model, kind and engine size.
type PageKey = (Option<String>, Option<String>, Option<MachineKind>, Option<u32>);

impl Pages<'_> {
    fn page(&mut self, row: &MachineRow) -> HandbookPage {
        let key = (
            row.make.as_ref().map(|make| make.value.clone()),
            row.model.as_ref().map(|model| model.value.clone()),
            row.kind.as_ref().map(|kind| kind.value),
            row.engine_cc.as_ref().map(|engine_cc| engine_cc.value),
        );
        self.found.entry(key).or_insert_with(|| self.handbook.page(row)).clone()
    }
}
