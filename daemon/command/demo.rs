//! `tickover demo`: a yard folder with an invented shop's sheets, and its morning on a fixed day.

use std::fs::{self, File, FileTimes};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

use jiff::civil::{Date, date};
use jiff::tz::TimeZone;

use super::{COULD_NOT_RUN, morning, say};
use crate::problem::{Place, Problem};
use crate::round::{self, Run, Tells, YardFolder};
use crate::today;

/// The day of the demo, so that it always tells the same story.
const TODAY: Date = date(2026, 3, 2);

/// The invented shop's sheets, below `sheets/`.
const SHEETS: [(&str, &[u8]); 7] = [
    ("fuel.csv", include_bytes!("../../examples/shop/sheets/fuel.csv")),
    ("inspections.xls", include_bytes!("../../examples/shop/sheets/inspections.xls")),
    ("machines.xlsx", include_bytes!("../../examples/shop/sheets/machines.xlsx")),
    ("mileages.csv", include_bytes!("../../examples/shop/sheets/mileages.csv")),
    ("part exchange.xls", include_bytes!("../../examples/shop/sheets/part exchange.xls")),
    ("road tests.csv", include_bytes!("../../examples/shop/sheets/road tests.csv")),
    ("workshop jobs.ods", include_bytes!("../../examples/shop/sheets/workshop jobs.ods")),
];

/// The invented makers' handbook, below `handbook/`.
const HANDBOOK: [(&str, &[u8]); 3] = [
    ("models.csv", include_bytes!("../../examples/shop/handbook/models.csv")),
    ("running-in.csv", include_bytes!("../../examples/shop/handbook/running-in.csv")),
    ("service.csv", include_bytes!("../../examples/shop/handbook/service.csv")),
];

/// Sets the folder up as the invented owner would, whose clocks count in miles.
fn set_up(yard: &YardFolder) -> Result<(), Vec<Problem>> {
    let mut setup = round::set_up(yard, &[], &morning::reader())?;
    while let Some(asked) = setup.next_question() {
        let answer = asked.of.is_none().then_some(0);
        setup.take(asked, answer);
    }
    setup.write(yard)
}

/// Makes the folder, sets it up as an owner would, and runs its morning.
pub(super) fn run(folder: PathBuf) -> u8 {
    let yard = YardFolder::at(&folder);
    if let Err(problem) = refuse_other_folders(&yard).and_then(|()| fill(&yard)) {
        say::problems(&[problem]);
        return COULD_NOT_RUN;
    }
    if !yard.settings().is_file()
        && let Err(problems) = set_up(&yard)
    {
        say::problems(&problems);
        return COULD_NOT_RUN;
    }
    let run = Run {
        folder: yard,
        now: today::now(),
        today: Some(TODAY),
        keeps: true,
        tells: Tells::MorningAgain,
        trouble: Vec::new(),
        reader: morning::reader(),
        patience: round::PATIENCE,
    };
    match round::morning(&run) {
        Ok(outcome) => {
            if let Some(letter) = &outcome.letter {
                say::out(&letter.text);
            }
            say::problems(&outcome.trouble);
            for path in &outcome.delivered {
                say::out(&path.display().to_string());
            }
            morning::exit_code(&outcome)
        }
        Err(problems) => {
            say::problems(&problems);
            COULD_NOT_RUN
        }
    }
}

/// Somebody's own folder is not to be filled with an invented shop.
fn refuse_other_folders(yard: &YardFolder) -> Result<(), Problem> {
    let empty = fs::read_dir(yard.root()).map_or(true, |mut entries| entries.next().is_none());
    if empty || yard.sheets().join(SHEETS[2].0).is_file() {
        return Ok(());
    }
    Err(Problem::error(
        Place::file(yard.root().to_string_lossy()),
        "this folder holds something else already",
        "Name an empty or new folder: tickover demo DIR.",
    ))
}

/// Lays out the folder; what is there already stays as it is, so that a rule edited in the demo is judged by.
fn fill(yard: &YardFolder) -> Result<(), Problem> {
    for folder in [yard.sheets(), yard.handbook()] {
        fs::create_dir_all(&folder).map_err(|cause| round::cannot_write(&folder, &cause))?;
    }
    for (name, content) in SHEETS {
        put(&yard.sheets().join(name), content)?;
    }
    for (name, content) in HANDBOOK {
        put(&yard.handbook().join(name), content)?;
    }
    yard.lay_out()
}

/// Writes a file as exported at ten to six on the demo's day.
fn put(path: &Path, content: &[u8]) -> Result<(), Problem> {
    if !round::put_if_missing(path, content)? {
        return Ok(());
    }
    let exported = TODAY.at(5, 50, 0, 0).to_zoned_datetime(TimeZone::UTC).ok();
    let exported = exported.and_then(|moment| SystemTime::try_from(moment.timestamp()).ok());
    if let (Some(exported), Ok(file)) = (exported, File::options().write(true).open(path)) {
        // A file that keeps the time of its writing only looks newer in the letter's last lines.
        let _ = file.set_times(FileTimes::new().set_modified(exported));
    }
    Ok(())
}
