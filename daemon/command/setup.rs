//! `tickover setup`: look at the shop's own exports, propose which column is what, write what was accepted.

use std::path::PathBuf;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, morning, say};
use crate::problem::counted;
use crate::round::{self, YardFolder};

/// Proposes and, where accepted, writes.
pub(super) fn run(place: &WhichYard, accept: bool, files: &[PathBuf]) -> u8 {
    let folder = YardFolder::at(&place.yard);
    if let Err(problem) = folder.lay_out() {
        say::problems(&[problem]);
        return COULD_NOT_RUN;
    }
    let setup = match round::set_up(&folder, files, accept, &morning::reader()) {
        Ok(setup) => setup,
        Err(problems) => {
            say::problems(&problems);
            return COULD_NOT_RUN;
        }
    };
    say::out(&setup.text);
    say::problems(&setup.problems);
    let settings = folder.settings();
    let settings = settings.display();
    let new = counted(setup.recognised, "new sheet");
    say::out(&match (setup.recognised, setup.written) {
        (0, _) if setup.agreed_before > 0 => format!("Nothing new; {settings} stays as it is."),
        (0, _) => format!(
            "No sheet was recognised, so nothing was written. Drop the shop's exports into {} and run it again.",
            folder.sheets().display()
        ),
        (_, true) => format!("{new} written to {settings}; correct it there."),
        (_, false) => {
            format!("{new}, not written yet. Run it again with --accept to add this to {settings}.")
        }
    });
    let nothing = setup.recognised == 0 && setup.agreed_before == 0;
    if nothing || setup.needs_a_person() { NEEDS_A_PERSON } else { DONE }
}
