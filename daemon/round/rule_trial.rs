//! A rule file tried before it counts: what it would add, change and clear, today and on earlier mornings.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use std::time::{Duration, Instant};

use jiff::civil::Date;

use super::for_most::for_most;
use super::judging::{Judged, Known};
use super::looked_up::look_up;
use super::silenced::{out_of_proportion, raised_by};
use super::{Run, judging, keeping, machines_of, no_yard, rulebook, sorted_out};
use crate::findings::{Effect, EffectOverDays};
use crate::ledger::Ledger;
use crate::problem::Problem;
use crate::rules::{ExampleChange, Rule, RuleBook, RuleFile};
use crate::settings::Settings;
use crate::units::{Days, shown_day};
use crate::yard::{self, Handbook, Machine, Records};

/// What a rule file would do.
#[derive(Debug, Clone)]
pub struct RuleTrial {
    /// The rule's name.
    pub rule: String,
    /// Its title.
    pub title: String,
    /// What it was held against.
    pub beside: Beside,
    /// Whether it is the file of the yard folder itself.
    pub is_own_file: bool,
    /// Whether it looks at the whole yard, and not at one machine after another.
    pub is_of_yard: bool,
    /// The day that was judged.
    pub today: Date,
    /// How many machines were judged.
    pub machines: usize,
    /// What it would say otherwise.
    pub effect: Effect,
    /// How many examples it has.
    pub examples: usize,
    /// Of which of them it says something else than they expect: until they agree it is not taken into force.
    pub differing: Vec<Problem>,
    /// Which of them differ from those of the rule before.
    pub example_changes: Vec<ExampleChange>,
    /// The same over earlier mornings, where that was asked for.
    pub over: Option<OverTried>,
    /// What kept the trial from being whole: a sheet unreadable, a rule that fails on a machine.
    pub trouble: Vec<Problem>,
}

/// What a rule file was held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// The rule of its name that is in force.
    InForce,
    /// That rule, which says the very same.
    SameText,
    /// Nothing: no rule of its name is in force.
    Nothing,
}

/// Which earlier mornings are to be tried.
#[derive(Debug, Clone, Copy)]
pub struct Over {
    /// So many days back.
    pub days: Days,
    /// For how long at most; mornings that are left then are not tried.
    pub time: Duration,
}

impl Over {
    /// The most days back.
    pub const DAYS_MAX: i64 = 366;
    /// As long as a person waits for an answer about a whole year.
    pub const TIME: Duration = Duration::from_secs(60);
}

/// What came of trying earlier mornings.
#[derive(Debug, Clone, Default)]
pub struct OverTried {
    /// How many days back were asked for.
    pub days: i64,
    /// How many mornings were tried.
    pub mornings: usize,
    /// On how many days no letter was kept; they are left out.
    pub left_out: usize,
    /// The last of the mornings for which there was no time, and how many there are.
    pub no_time_for: Option<(Date, usize)>,
    /// What would have been said otherwise.
    pub effect: EffectOverDays,
    /// How the rule failed on some of the mornings, each place in the file once; told with the trial's trouble.
    failures: Vec<Problem>,
}

impl OverTried {
    /// Notes how the rule failed on a morning, unless it has failed there in the file on another.
    fn note(&mut self, failures: Vec<Problem>, morning: Date) {
        for mut failure in failures {
            if self.failures.iter().all(|known| known.place != failure.place) {
                failure.what = format!("{}, as of {}", failure.what, shown_day(morning));
                self.failures.push(failure);
            }
        }
    }
}

/// Why a rule file was not tried.
#[derive(Debug, Clone)]
pub enum NotTried {
    /// All that is wrong with it.
    Unfit(Vec<Problem>),
    /// Why nothing could be judged.
    CouldNotRun(Vec<Problem>),
}

/// What judging needs beside machines and a day.
struct Bench<'a> {
    settings: &'a Settings,
    /// The rule before: none, or one.
    before: RuleBook,
    /// The rule of the file.
    after: RuleBook,
}

/// Tries a rule file on today's sheets and what the ledger has kept, and on earlier mornings where that is asked for.
/// Nothing is kept, told or taken into force, whatever `run` says.
///
/// # Errors
/// A file that is not fit, with everything that is wrong with it; or no yard folder, or settings that are no TOML.
pub fn try_rule(run: &Run, path: &Path, over: Option<Over>) -> Result<RuleTrial, NotTried> {
    if !run.folder.is_laid_out() {
        return Err(NotTried::CouldNotRun(vec![no_yard(&run.folder)]));
    }
    let shown = path.parent().map_or_else(String::new, |parent| parent.to_string_lossy().into_owned());
    let file = RuleFile::read(path, &shown);
    let not_tried = if path.is_file() { NotTried::Unfit } else { NotTried::CouldNotRun };
    let (rule, differing) = file.vet_to_try(&shown).map_err(not_tried)?;
    let mut look = look_up(run).map_err(NotTried::CouldNotRun)?;
    let today = look.today;
    let is_own_file = is_same_file(path, &run.folder.rules().join(format!("{}.rhai", rule.name)));
    let (standing, _) = rulebook::load(&run.folder, &look.history.rules.accepted);
    let before = text_before(&rule.name, is_own_file, &standing, &look.history.rules.accepted);
    let copied = rulebook::with_title_of_another(&rule, &standing);
    let (name, title, text) = (rule.name.clone(), rule.title.clone(), rule.text.clone());
    let (examples, notes) = (rule.example_count(), rule.notes.clone());
    let bench = Bench {
        settings: &look.settings,
        before: book(before.iter().map(|text| (&*rule.name, text.as_str())), "rules"),
        after: RuleBook::of_one(rule),
    };

    let mut over =
        over.map(|over| bench.over(over, &look.records, &look.handbook, &look.ledger, today)).transpose();
    let (machines, join_problems) =
        machines_of(look.records, &mut look.history, &look.handbook, &look.settings);
    let known = Known::of(&look.history, &look.sheets);
    let OfMachines { judged, effect, slips } = bench.effect(machines, known, today);
    let (machines, failures) = (judged.machines.len(), judged.problems());
    let not_met = judging::texts_not_met(&judged, &bench.after, bench.settings, known, today);
    let problems = [
        look.problems,
        join_problems,
        slips,
        failures,
        copied.into_iter().collect(),
        match &mut over {
            Ok(Some(over)) => std::mem::take(&mut over.failures),
            Ok(None) => Vec::new(),
            Err(problem) => vec![problem.clone()],
        },
    ];
    Ok(RuleTrial {
        beside: match &before {
            None => Beside::Nothing,
            Some(before) if *before == text => Beside::SameText,
            Some(_) => Beside::InForce,
        },
        is_own_file,
        is_of_yard: bench.after.is_of_yard(&name),
        today,
        machines,
        effect,
        examples,
        differing,
        example_changes: bench.after.rules().flat_map(|rule| changed_from(rule, &bench.before)).collect(),
        over: over.ok().flatten(),
        trouble: [sorted_out(problems.concat()).0, notes, not_met].concat(),
        rule: name.to_string(),
        title,
    })
}

/// Which examples of a rule differ from those before.
fn changed_from(rule: &Rule, before: &RuleBook) -> Vec<ExampleChange> {
    before.rule(&rule.name).map(|before| rule.example_changes(before)).unwrap_or_default()
}

/// The text of the rule that judges today under a name. Where the file itself is tried, that is what a round has last
/// accepted; else what the next round would take.
fn text_before(
    name: &str,
    is_own_file: bool,
    in_force: &RuleBook,
    accepted: &BTreeMap<String, String>,
) -> Option<String> {
    if is_own_file {
        return accepted.get(name).cloned();
    }
    in_force.rule(name).map(|rule| rule.text.clone())
}

/// Whether two paths lead to one file.
fn is_same_file(one: &Path, other: &Path) -> bool {
    match (one.canonicalize(), other.canonicalize()) {
        (Ok(one), Ok(other)) => one == other,
        _ => false,
    }
}

/// The rules of these texts, which were vetted before; one that this program cannot read any more is left out.
pub(super) fn book<'a>(texts: impl IntoIterator<Item = (&'a str, &'a str)>, shown: &str) -> RuleBook {
    let file = |(name, text): (&str, &str)| RuleFile { name: name.to_owned(), text: Ok(text.to_owned()) };
    let files: Vec<RuleFile> = texts.into_iter().map(file).collect();
    RuleBook::from_files(&files, shown, &BTreeMap::new()).0.as_written()
}

/// What a rule file would say otherwise of some machines.
struct OfMachines {
    /// They, with what the file ran into.
    judged: Judged,
    effect: Effect,
    /// That it raises for most of them or as much again, clears most of what was raised, or applies to none.
    slips: Vec<Problem>,
}

impl Bench<'_> {
    /// What the file would say otherwise of these machines.
    fn effect(&self, machines: Vec<Arc<Machine>>, known: Known<'_>, today: Date) -> OfMachines {
        let (_, before) = judging::judge(machines.clone(), &self.before, self.settings, known, today);
        let (judged, after) = judging::judge(machines, &self.after, self.settings, known, today);
        let of_machines = self.after.rules().filter(|rule| !self.after.is_of_yard(&rule.name));
        let flood = of_machines.filter_map(|rule| for_most(&rule.name, &before, &after, rule.file()));
        let mut slips: Vec<Problem> = flood.collect();
        let was: Vec<usize> = self.after.rules().map(|rule| raised_by(&rule.name, &before)).collect();
        let effect = judging::effect(before, after, &judged, &self.after);
        let is_flood = !slips.is_empty();
        let large = |(rule, was): (&Rule, usize)| out_of_proportion(was, &effect, rule.file(), is_flood);
        slips.extend(self.after.rules().zip(was).filter_map(large));
        OfMachines { judged, effect, slips }
    }

    /// What it would have said otherwise on earlier mornings, the latest tried first.
    fn over(
        &self,
        over: Over,
        current: &Records,
        handbook: &Handbook,
        ledger: &Ledger,
        today: Date,
    ) -> Result<OverTried, Problem> {
        let begun = Instant::now();
        let failed = |failure| keeping::as_problem(&failure);
        let days = over.days.0.clamp(1, Over::DAYS_MAX);
        let first = Days(days).before(today).unwrap_or(Date::MIN);
        // There may be letters of days to come, where the clock was wrong once.
        let most = 2 * u32::try_from(Over::DAYS_MAX).unwrap_or(u32::MAX);
        let mornings = ledger.morning_days(most).map_err(failed)?;
        let mornings: Vec<Date> = mornings.range(first..today).copied().collect();
        let records = ledger.records_by_day(current).map_err(failed)?;
        let left_out = usize::try_from(days).unwrap_or_default().saturating_sub(mornings.len());
        let mut tried = OverTried { days, left_out, ..OverTried::default() };
        for (left, morning) in mornings.iter().enumerate().rev() {
            if begun.elapsed() >= over.time {
                tried.no_time_for = Some((*morning, left + 1));
                break;
            }
            let (said, kept) = records.seen_by(*morning);
            let (machines, _) = yard::join(said, kept, handbook, self.settings.clock_unit);
            let machines = machines.into_iter().map(Arc::new).collect();
            let OfMachines { judged, effect, .. } = self.effect(machines, Known::nothing(), *morning);
            tried.effect.add(*morning, effect);
            tried.mornings += 1;
            tried.note(judged.problems(), *morning);
        }
        Ok(tried)
    }
}
