//! `tickover setup`: look at the shop's own exports, propose which column is what, write what was accepted.

use std::path::{Path, PathBuf};

use super::arguments::Place;
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, morning, say};
use crate::round::{self, YardFolder};

/// Proposes and, where accepted, writes.
pub(super) fn run(place: &Place, accept: bool, files: &[PathBuf]) -> u8 {
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
    say::out(&setup.proposal.text);
    say::problems(&setup.proposal.problems);
    if setup.proposal.agreed.is_empty() {
        say::talk("No sheet was recognised, so nothing was written.");
        return NEEDS_A_PERSON;
    }
    if setup.written {
        say::out(&format!("Written to {}; correct it there.", shown(&folder.settings())));
    } else {
        say::out("Nothing written yet. Run it again with --accept to write this into tickover.toml.");
    }
    if setup.proposal.needs_a_person() { NEEDS_A_PERSON } else { DONE }
}

fn shown(path: &Path) -> String {
    path.display().to_string()
}
