//! What the sheets and the ledger hold today, looked up for a person at the terminal: nothing is kept, told or changed.

use std::collections::BTreeSet;

use jiff::civil::Date;

use super::keeping::History;
use super::{Run, in_force, intake, keeping, no_yard, sheets_of, withdrawn, zone_of};
use crate::ledger::Ledger;
use crate::problem::Problem;
use crate::reckon::SheetOfYard;
use crate::settings::Settings;
use crate::yard::{Handbook, Records};

/// What a round would begin with.
pub(super) struct LookedUp {
    pub(super) settings: Settings,
    pub(super) today: Date,
    pub(super) records: Records,
    pub(super) sheets: Vec<SheetOfYard>,
    pub(super) handbook: Handbook,
    pub(super) ledger: Ledger,
    pub(super) history: History,
    /// What could not be read of all this.
    pub(super) problems: Vec<Problem>,
}

/// Reads it, whatever `run` says of keeping.
///
/// # Errors
/// No yard folder, or settings that are no TOML.
pub(super) fn look_up(run: &Run) -> Result<LookedUp, Vec<Problem>> {
    let run = &Run { keeps: false, ..run.clone() };
    if !run.folder.is_laid_out() {
        return Err(vec![no_yard(&run.folder)]);
    }
    let (settings, settings_problems) = in_force::settings_in_force(&run.folder, false)?;
    let today = run.today.unwrap_or_else(|| run.now.to_zoned_datetime(zone_of(&settings)).date());
    let (mut intake, settings) = intake::take_in_all(run, settings, today);
    let (handbook, handbook_problems) = intake::take_in_handbook(run, &settings, today);
    let (mut ledger, ledger_problems) = keeping::open(&run.folder, false, false, today);
    withdrawn::withdraw(run, &mut ledger, &mut intake, today);
    let mut history = keeping::history(&ledger, &intake.records, &BTreeSet::new(), today);
    let of_history = std::mem::take(&mut history.problems);
    let problems =
        [settings_problems, ledger_problems, of_history, intake.problems, handbook_problems].concat();
    let sheets = sheets_of(&intake.sheets, &settings, today);
    Ok(LookedUp { settings, today, records: intake.records, sheets, handbook, ledger, history, problems })
}
