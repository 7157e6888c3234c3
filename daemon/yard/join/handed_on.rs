//! What was done under a mark before another machine had it: it passes nothing and settles nothing for either of the two.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::Log;
use super::history::History;
use crate::origin::{Entry, Origin};
use crate::problem::{Problem, counted};
use crate::units::shown_day;
use crate::yard::{CheckResult, HandedOn, Identity, MachineId, Mark, Record};

/// The marks that were handed on.
pub(super) struct Handed {
    by_mark: BTreeMap<Mark, Before>,
    /// The cells of these marks in the rows of today's lists, which are about the machine that has it now.
    listed: BTreeSet<Origin>,
}

/// What is known of a mark from before another machine had it.
struct Before {
    until: Date,
    /// The machine that had it, where it is listed, and how it is named.
    from: Option<usize>,
    was: String,
    /// Where it stands now, if that is to be told; how many rows of logs are in doubt.
    told_at: Option<Origin>,
    doubts: usize,
}

const HELP: &str = "In those sheets, write the mark that it has now beside what is the former machine's, or its frame number or \
                    stock number: then it counts.";

/// How a name is told: a mark as it is written.
fn shown(name: &MachineId) -> String {
    let mark = name.as_str().strip_prefix("mark ").and_then(Mark::new);
    mark.map_or_else(|| name.as_str().to_owned(), |mark| format!("what is {mark} now"))
}

impl Handed {
    pub(super) fn of(
        handed_on: &[HandedOn],
        (identities, machine_of_row): (&[&Identity], &[Option<usize>]),
    ) -> Handed {
        let mut by_mark = BTreeMap::new();
        for one in handed_on {
            let Some(mark) = one.mark.as_str().strip_prefix("mark ").and_then(Mark::new) else { continue };
            let mut listed = identities.iter().zip(machine_of_row);
            let from = listed.find(|(identity, _)| MachineId::each(identity).any(|name| name == one.from));
            let from = from.and_then(|(_, machine)| *machine);
            let cells = identities.iter().filter_map(|identity| identity.mark.as_ref());
            let cell = cells.filter(|cell| cell.value == mark).map(|cell| cell.origin.clone()).min();
            let told_at = cell.filter(|_| one.is_news);
            let before = Before { until: one.on, from, was: shown(&one.from), told_at, doubts: 0 };
            by_mark.insert(mark, before);
        }
        let cells = identities.iter().filter_map(|identity| identity.mark.as_ref());
        let listed = cells.filter(|mark| by_mark.contains_key(&mark.value));
        let listed = listed.map(|mark| mark.origin.clone()).collect();
        Handed { by_mark, listed }
    }

    /// What is known of the mark of a row that is of a day before another machine had it, or of none.
    fn before(&self, identity: &Identity, day: Option<Date>) -> Option<&Before> {
        if self.by_mark.is_empty() {
            return None;
        }
        let before = self.by_mark.get(&identity.mark.as_ref()?.value)?;
        day.is_none_or(|day| day < before.until).then_some(before)
    }

    /// What is to be told of the marks under which something is in doubt.
    pub(super) fn problems(&self) -> impl Iterator<Item = Problem> {
        let doubted = self.by_mark.iter().filter(|(_, before)| before.doubts > 0);
        doubted.filter_map(|(mark, before)| {
            let what = format!(
                "until {} {mark} was the mark of {}: of {} of other sheets under it from before nobody can tell whose it is, and it settles \
                 nothing for either",
                shown_day(before.until),
                before.was,
                counted(before.doubts, "row"),
            );
            let problem = Problem::note(before.told_at.as_ref()?, what, HELP).with_value(mark.to_string());
            Some(Problem { hides_what_is_due: true, ..problem })
        })
    }

    /// Leaves rows from before to their frame number or stock number, where they have one.
    pub(super) fn leave_to_numbers(&self, logs: &mut [Log]) {
        if self.by_mark.is_empty() {
            return;
        }
        for Log { identity, record, .. } in logs {
            let has_number = identity.frame_no.is_some() || identity.stock_no.is_some();
            if has_number && self.before(identity, record.day()).is_some() {
                identity.mark = None;
            }
        }
    }

    /// Whether what a row says beside its record may be of the machine that had its mark before.
    pub(super) fn is_doubted(&self, identity: &Identity, day: Option<Date>) -> bool {
        self.before(identity, day).is_some()
    }

    /// Adds what a row of a log says to the history of its machine; where that is in doubt, to both as a doubt.
    pub(super) fn add(&mut self, log: Log, machine: usize, histories: &mut [History]) {
        let before = self.before(&log.identity, log.record.day());
        let is_row = |mark: &Entry<Mark>| !log.is_kept && self.listed.contains(&mark.origin);
        let is_its_own = log.is_withdrawn || log.identity.mark.as_ref().is_some_and(is_row);
        let before = before.filter(|_| !is_its_own);
        let Some(before) = before else {
            return histories[machine].add(log);
        };
        let Some(mark) = &log.identity.mark else { return };
        let from = before.from;
        let why = format!("under {}, another machine's mark until {}", mark.value, shown_day(before.until));
        let record = match log.record {
            Record::Job(mut job) => {
                job.doubt = Some(Entry::new(why, mark.origin.clone()));
                Record::Job(job)
            }
            Record::Check(mut check) => {
                check.result.value = CheckResult::Unclear;
                check.remark = Some(why);
                Record::Check(check)
            }
            // A clock of another machine would be worse than none.
            _ => return,
        };
        if let Some(before) = self.by_mark.get_mut(&mark.value) {
            before.doubts += 1;
        }
        for machine in BTreeSet::from_iter([Some(machine), from]).into_iter().flatten() {
            let (identity, record) = (log.identity.clone(), record.clone());
            histories[machine].add(Log { identity, record, ..log });
        }
    }
}
