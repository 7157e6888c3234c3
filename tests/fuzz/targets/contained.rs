//! What the house contains is no find: another crate's panic on a bad workbook is caught where it is read.

use std::panic::{set_hook, take_hook};

/// Lets a panic of another crate go on to where it is caught, and ends the run by one of ours even where it would be
/// caught. One that nobody catches ends the run in any case.
pub(crate) fn let_others_panic() {
    let usual = take_hook();
    set_hook(Box::new(move |panic| {
        let file = panic.location().map_or("", |place| place.file());
        if file.contains("daemon") || file.contains("doors") {
            usual(panic);
        }
    }));
}
