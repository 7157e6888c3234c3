//! `tickover export`: everything that is kept, as CSV files.

use std::path::Path;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, DONE, say};
use crate::problem::counted;
use crate::round::{self, YardFolder};

/// Writes everything that the ledger of a yard folder keeps into a folder of its own.
pub(super) fn run(place: &WhichYard, folder: &Path) -> u8 {
    match round::write_out(&YardFolder::at(&place.yard), folder) {
        Ok(written) => {
            for (path, rows) in written {
                say::out(&format!("{}: {}", path.display(), counted(rows, "row")));
            }
            say::talk("README.txt beside them says what each file and column is.");
            say::talk("The rows of machines are in the last copies of your sheets, in kept/exports.");
            DONE
        }
        Err(problem) => {
            say::problems(&[problem]);
            COULD_NOT_RUN
        }
    }
}
