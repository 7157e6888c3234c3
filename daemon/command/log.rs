//! Where the log goes: to the error stream, and for the long run into files of its own.

use std::fmt;
use std::panic;
use std::sync::Mutex;

use jiff::tz::TimeZone;
use tracing_subscriber::fmt::format::Writer;
use tracing_subscriber::fmt::time::FormatTime;
use tracing_subscriber::fmt::writer::MakeWriterExt as _;

use crate::round::YardFolder;
use crate::today;
use crate::unattended::{LogFiles, journal_listens};

/// The log of a single command: warnings always, one line a run when asked for.
pub(super) fn of_command(verbose: bool) {
    let level = if verbose { tracing::Level::INFO } else { tracing::Level::WARN };
    tracing_subscriber::fmt().with_max_level(level).with_writer(std::io::stderr).without_time().init();
}

/// The log of the long run: always to its files, so that one place is right on every PC, and to the system's journal as
/// well where that listens. The time is that of the shop's zone.
pub(super) fn of_long_run(folder: &YardFolder, zone: TimeZone) {
    let files = Mutex::new(LogFiles::in_folder(folder.logs()));
    let log = tracing_subscriber::fmt().with_max_level(tracing::Level::INFO).with_target(false);
    let log = log.with_timer(ShopTime(zone));
    if journal_listens() {
        log.with_writer(files.and(std::io::stderr)).init();
    } else {
        log.with_writer(files).init();
    }
}

/// Lets a broken promise of the program's own tell its place and nothing of what was at hand, which may be personal.
pub(super) fn only_places_of_panics() {
    panic::set_hook(Box::new(|panic| {
        let place = panic.location().map_or_else(String::new, ToString::to_string);
        tracing::error!("a broken promise of the program's own at {place}");
    }));
}

/// The time of a line, as the shop's own watches show it.
struct ShopTime(TimeZone);

impl FormatTime for ShopTime {
    fn format_time(&self, writer: &mut Writer<'_>) -> fmt::Result {
        write!(writer, "{}", today::now().to_zoned_datetime(self.0.clone()).strftime("%Y-%m-%d %H:%M:%S%:z"))
    }
}
