//! One pass through all of it; the only place where the steps meet.

mod answer;
mod asking;
mod audience;
mod changes;
mod draft;
mod edits;
#[cfg(test)]
mod effects_for_tests;
mod exports;
mod fewer;
mod for_most;
mod gone;
mod handed_on;
mod held_back;
mod in_force;
mod in_place;
mod intake;
mod judging;
mod keeping;
mod known_again;
mod left_for_good;
mod letter_copies;
mod local_days;
mod lock;
mod looked_up;
mod new_sheets;
mod not_there;
mod open_changes;
mod outbox;
mod report;
mod rule_trial;
mod rulebook;
mod rules_asked;
mod rules_in_short;
mod second_block;
mod setup;
mod silenced;
mod stale;
mod stand_in;
mod step;
mod taken_back;
mod telling;
mod unclear_checks;
mod unkept;
mod withdrawn;
mod write_out;
mod yard_folder;

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::digest::Letter;
use crate::ledger::Round;
use crate::problem::{Place, Problem, Severity, Spot};
use crate::reckon::{self, SheetOfYard};
use crate::settings::Settings;
use crate::sheets::Reader;
use crate::units::Days;
use crate::yard;

pub use answer::{Answer, NoRound, Tells};
pub use audience::receivers;
pub use in_force::settings_in_force;
use intake::SheetRead;
pub use intake::shipped_handbook;
use judging::Known;
pub use lock::Lock;
use report::ComplaintLine;
pub use report::{Delivered, Report};
pub use rule_trial::{Beside, NotTried, Over, OverTried, RuleTrial, try_rule};
pub use rulebook::rules_in_force;
pub use rules_asked::{RulesAsked, Said, ask_rules};
pub use setup::{Asked, Setup, set_up};
pub use step::Step;
use telling::Means;
pub use write_out::write_out;
pub use yard_folder::YardFolder;
pub(crate) use yard_folder::{cannot_write, put, put_if_missing};

/// How long a run waits for files that are being written: as long as a person does who sees nothing happen. The long
/// run looks again by itself.
pub const PATIENCE: Duration = Duration::from_secs(6);

/// What a round is asked to do.
#[derive(Debug, Clone)]
pub struct Run {
    /// The yard folder.
    pub folder: YardFolder,
    /// The moment that it is.
    pub now: Timestamp,
    /// The day to run for; `None` for the day that it is in the settings' zone.
    pub today: Option<Date>,
    /// Whether it keeps and delivers, or only tells what it would.
    pub keeps: bool,
    /// How much it is to tell.
    pub tells: Tells,
    /// What stands at the top of its letter beside what it finds itself: what went wrong since the last round, each
    /// as `what is wrong; what to do`.
    pub trouble: Vec<String>,
    /// How workbooks are read.
    pub reader: Reader,
    /// How long to wait, for all files together, until those that are being written have settled.
    pub patience: Duration,
}

/// What a round did.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// For other programs.
    pub report: Report,
    /// For people; `None` where there was nothing to tell.
    pub letter: Option<Letter>,
    /// What stands at the top of the letter: what kept the round from being whole.
    pub trouble: Vec<Problem>,
    /// The files that hold the letter now.
    pub delivered: Vec<PathBuf>,
    /// The time of day since which somebody has this very letter, so that nothing more was told; empty where it is not
    /// known, `None` where nobody had it.
    pub had_since: Option<String>,
    /// For the long run.
    pub answer: Answer,
}

impl Outcome {
    /// Whether something of the round itself, and not of a single cell, needs a person.
    pub fn needs_a_person(&self) -> bool {
        self.trouble.iter().any(|problem| problem.severity == Severity::Error)
    }

    /// Adds what went wrong once the letter was written.
    fn add_trouble(&mut self, problems: Vec<Problem>) {
        self.report.complaints.extend(problems.iter().map(ComplaintLine::from));
        self.answer.add_trouble(&problems);
        self.trouble.extend(problems);
    }
}

/// Reads, judges, keeps, composes and delivers.
///
/// # Errors
/// Only what leaves nothing to be done: no yard folder, settings that are no TOML, or another round at work.
pub fn morning(run: &Run) -> Result<Outcome, Vec<Problem>> {
    make(run, &AtomicBool::new(false), &mut |_| {})
}

/// The same, with a flag that ends the talk with a mail server soon, and told of each step that leaves a trace outside
/// this process just before and after it.
///
/// # Errors
/// As [`morning`].
pub fn make(run: &Run, stop: &AtomicBool, step: &mut dyn FnMut(Step)) -> Result<Outcome, Vec<Problem>> {
    if !run.folder.is_laid_out() {
        return Err(vec![no_yard(&run.folder)]);
    }
    if run.keeps {
        run.folder.make_way_for_kept();
    }
    let _turn = run.keeps.then(|| lock::turn(&run.folder)).transpose().map_err(|problem| vec![problem])?;
    let (settings, settings_problems) = settings_in_force(&run.folder, run.keeps)?;
    let today = run.today.unwrap_or_else(|| run.now.to_zoned_datetime(zone_of(&settings)).date());

    let (mut intake, settings) = intake::take_in_all(run, settings, today);
    let (handbook, handbook_problems) = intake::take_in_handbook(run, &settings, today);
    let (mut ledger, ledger_problems) = keeping::open(&run.folder, run.keeps, settings.mail.is_some(), today);
    let (misnamed, taken_back) = taken_back::take_back(run, &mut ledger, &intake.read_anew, today);
    withdrawn::withdraw(run, &mut ledger, &mut intake, today);
    let mail_problem = keeping::mail_turned_off(&ledger, &settings, today);
    let copies = letter_copies::put_down_earlier(&mut ledger, &run.folder, today, run.now, step);
    let mut history = keeping::history(&ledger, &intake.records, &copies.missing, today);
    history.put_all_names_right(&misnamed, &intake.records);
    let current = intake.records.clone();
    let (machines, join_problems) = machines_of(intake.records, &mut history, &handbook, &settings);
    let (rules, rule_problems) = rulebook::load(&run.folder, &history.rules.accepted);
    let sheets = sheets_of(&intake.sheets, &settings, today);
    let known = Known::of(&history, &sheets);
    let (judged, judgements) = judging::judge(machines, &rules, &settings, known, today);
    let edited = edits::edits(&history.rules, &rules, &judged, &judgements, (&settings, known), today);
    let lives = judging::lives(judgements, &judged, &rules, &history, today);

    let mut complained = intake.problems;
    unclear_checks::raise(&mut complained, &judged.machines, &settings.practice, today);
    let problems = [
        run.trouble.iter().map(|words| keeping::parted(Place::file("tickover run"), words)).collect(),
        settings_problems,
        mail_problem.into_iter().collect(),
        run.folder.in_the_way_of_kept().into_iter().collect(),
        ledger_problems,
        history.problems,
        rule_problems.clone(),
        complained,
        taken_back,
        handbook_problems,
        join_problems,
        judged.problems(),
        [judged.not_kept(), edited.slips].concat(),
    ]
    .concat();
    let (trouble, complaints) = sorted_out(problems);
    let told = telling::Told {
        today,
        settings: &settings,
        sheets: &intake.sheets,
        judged: &judged,
        lives: &lives,
        rules: &rules,
        rule_problems: &rule_problems,
        complaints,
        trouble,
        last_told: history.last_told,
        last_letter: history.last_letter,
        copies,
        told: history.told,
        first_of_day: None,
        refused_today: history.refused_today,
        edits: edited.edits,
        unsettled: intake.unsettled > 0,
    };
    let accepted = rules.accepted();
    let round = Round { today, records: &current, lives: &lives, rules: &accepted, letter: None };
    let mut outcome = telling::tell(told, &round, Means { run, ledger: &mut ledger, stop, step });
    outcome.add_trouble(taken_back::note_agreement(run, &ledger, &settings).into_iter().collect());
    outcome.add_trouble(keeping::care_for(&mut ledger, &run.folder, &settings, today));
    Ok(outcome)
}

/// The machines as today's sheets and the kept history have them; what was open of those that have left for good is
/// settled in that history.
fn machines_of(
    current: yard::Records,
    history: &mut keeping::History,
    handbook: &yard::Handbook,
    settings: &Settings,
) -> (Vec<Arc<yard::Machine>>, Vec<Problem>) {
    let (earlier, gone) = (std::mem::take(&mut history.records), std::mem::take(&mut history.withdrawn));
    let (machines, mut problems) = yard::join_all(current, earlier, gone, handbook, settings.clock_unit);
    problems.extend(left_for_good::settle(history, machines.iter(), &settings.gone));
    (machines.into_iter().map(Arc::new).collect(), problems)
}

/// The sheets that were read, as a rule that looks at the whole yard sees them.
fn sheets_of(sheets: &[SheetRead], settings: &Settings, today: Date) -> Vec<SheetOfYard> {
    let of_yard = |sheet: &SheetRead| {
        let yesterday = Days(1).before(today).unwrap_or(today);
        let open = reckon::open_days_between(&settings.days, sheet.modified, yesterday).len();
        SheetOfYard { name: sheet.name.to_string(), renewed: sheet.modified, open_days: open }
    };
    sheets.iter().map(of_yard).collect()
}

fn zone_of(settings: &Settings) -> TimeZone {
    TimeZone::get(&settings.zone).unwrap_or(TimeZone::UTC)
}

/// What to do about a folder that is no yard folder.
pub(crate) fn no_yard(folder: &YardFolder) -> Problem {
    Problem::error(
        Place::file(folder.root().to_string_lossy()),
        "this is no yard folder: it has neither tickover.toml nor a folder sheets",
        "Name the right one with --yard, or make it one: tickover setup --yard DIR FILES… --accept.",
    )
}

/// What keeps the round from being whole stands at the top of the letter; what is wrong with single cells, and what
/// a person should merely know of, stands at its foot.
fn sorted_out(problems: Vec<Problem>) -> (Vec<Problem>, Vec<Problem>) {
    problems.into_iter().partition(|problem| {
        problem.severity == Severity::Error && !matches!(problem.place.spot, Spot::Cell { .. })
    })
}
