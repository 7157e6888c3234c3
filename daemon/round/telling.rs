//! The last steps of a row's way: findings become a letter, and the letter is kept and put into its folder.

use std::path::PathBuf;

use jiff::civil::Date;

use crate::digest::{self, Letter, Morning, RuleInForce};
use crate::findings::Lives;
use crate::ledger::{Edition, Ledger, LetterState, LetterWords, OutboxLetter};
use crate::post::{self, Envelope};
use crate::problem::{Place, Problem};
use crate::rules::RuleBook;
use crate::settings::Settings;
use crate::today;

use super::intake::SheetRead;
use super::judging::Judged;
use super::keeping::{self, Kept};
use super::report::{CannotTellLine, ComplaintLine, DeliveryLine, FindingLine, RuleLine, SheetLine};
use super::{Delivered, Outcome, Report, Run};

/// All that there is to tell.
pub(super) struct Told<'a> {
    pub(super) today: Date,
    pub(super) settings: &'a Settings,
    pub(super) sheets: &'a [SheetRead],
    pub(super) judged: &'a Judged,
    pub(super) lives: &'a Lives,
    pub(super) rules: &'a RuleBook,
    pub(super) rule_problems: &'a [Problem],
    pub(super) complaints: Vec<Problem>,
    pub(super) trouble: Vec<Problem>,
    pub(super) last_told: Option<Date>,
}

/// Composes the letter, keeps the round, puts the letter into the folder; whatever of this fails is told.
pub(super) fn tell(mut told: Told<'_>, kept: &Kept<'_>, ledger: &mut Ledger, run: &Run) -> Outcome {
    let mut letter = digest::compose(&told.morning());
    let mut delivery = Delivery::none(if run.keeps { Delivered::Not } else { Delivered::DryRun });
    if run.keeps {
        match keep_and_deliver(&letter, &told, kept, ledger, run) {
            Ok(done) => delivery = done,
            Err(problem) => {
                // The letter in hand must say itself that it was not kept or delivered.
                told.trouble.insert(0, problem);
                letter = digest::compose(&told.morning());
                match deliver_unkept(&letter, &told, run) {
                    Ok(paths) => (delivery.paths, delivery.state) = (paths, Delivered::Now),
                    Err(problem) => told.trouble.insert(0, problem),
                }
            }
        }
    }
    let report = told.report(&delivery);
    tracing::info!(
        sheets = told.sheets.len(),
        machines = report.machines,
        findings = told.lives.open.len(),
        complaints = told.complaints.len(),
        trouble = told.trouble.len(),
        "morning done"
    );
    Outcome { report, letter, trouble: told.trouble, delivered: delivery.paths }
}

/// What became of the letter.
struct Delivery {
    message_id: Option<String>,
    state: Delivered,
    paths: Vec<PathBuf>,
}

impl Delivery {
    fn none(state: Delivered) -> Delivery {
        Delivery { message_id: None, state, paths: Vec::new() }
    }
}

/// Keeps the round and its letter in one transaction, then puts the letter into its folder.
fn keep_and_deliver(
    letter: &Letter,
    told: &Told<'_>,
    kept: &Kept<'_>,
    ledger: &mut Ledger,
    run: &Run,
) -> Result<Delivery, Problem> {
    let kept_in_ledger = |failure| keeping::as_problem(&failure);
    let words = LetterWords {
        subject: letter.subject.clone(),
        text: letter.text.clone(),
        html: letter.html.clone(),
        full_list: letter.full_list.clone(),
    };
    let earlier = ledger.letter_of(told.today).map_err(kept_in_ledger)?;
    let same = earlier.filter(|earlier| earlier.words == words);
    let edition = ledger.edition(told.today, &words, &told.settings.from).map_err(kept_in_ledger)?;
    let outbox = match same {
        Some(outbox) => outbox,
        None => OutboxLetter {
            eml: mail(letter, told.settings, &edition)?,
            edition: edition.clone(),
            words,
            state: LetterState::Waiting,
        },
    };
    ledger.keep(&kept.with(Some(&outbox))).map_err(kept_in_ledger)?;
    // What waits from an earlier day goes first: the folder was full, or the run was killed before this step.
    for waiting in ledger.outbox().map_err(kept_in_ledger)? {
        if waiting.edition != edition {
            deliver(&waiting, run)?;
            ledger.mark_delivered(&waiting.edition).map_err(kept_in_ledger)?;
        }
    }
    let paths = deliver(&outbox, run)?;
    ledger.mark_delivered(&edition).map_err(kept_in_ledger)?;
    let was_delivered = outbox.state == LetterState::Delivered;
    let state = if was_delivered { Delivered::Before } else { Delivered::Now };
    Ok(Delivery { message_id: Some(edition.message_id), state, paths })
}

/// Puts a letter into its folder as the ledger kept it.
fn deliver(outbox: &OutboxLetter, run: &Run) -> Result<Vec<PathBuf>, Problem> {
    let Edition { day, number, .. } = outbox.edition;
    let words = outbox.words.clone();
    let letter = Letter {
        day,
        subject: words.subject,
        text: words.text,
        html: words.html,
        full_list: words.full_list,
    };
    post::deliver_to_folder(&run.folder.digests(), day, number, &letter, &outbox.eml).map_err(not_delivered)
}

/// Puts a letter into its folder that the ledger could not keep; it has a Message-ID of its day all the same.
fn deliver_unkept(letter: &Letter, told: &Told<'_>, run: &Run) -> Result<Vec<PathBuf>, Problem> {
    let domain = told.settings.from.rsplit_once('@').map_or("localhost", |(_, domain)| domain);
    let message_id = format!("<digest.{}.unkept@{}>", told.today, domain.trim_end_matches('>'));
    let edition = Edition { day: told.today, number: 1, message_id };
    let eml = mail(letter, told.settings, &edition)?;
    post::deliver_to_folder(&run.folder.digests(), told.today, 1, letter, &eml).map_err(not_delivered)
}

fn mail(letter: &Letter, settings: &Settings, edition: &Edition) -> Result<Vec<u8>, Problem> {
    let envelope = Envelope {
        from: settings.from.clone(),
        // A copy in the folder needs no receiver; the settings' own problem says that there is none.
        to: if settings.to.is_empty() { vec![settings.from.clone()] } else { settings.to.clone() },
        message_id: edition.message_id.clone(),
        date_seconds: today::second(),
    };
    post::as_eml(letter, &envelope).map_err(not_delivered)
}

fn not_delivered(failure: post::PostFailure) -> Problem {
    let text = failure.to_string();
    let (what, help) = text.split_once("; ").unwrap_or((&text, "see that its disk is sound"));
    Problem::error(Place::file("digests"), what, keeping::sentence(help))
}

impl Told<'_> {
    fn morning(&self) -> Morning {
        Morning {
            today: self.today,
            shop: self.settings.shop.clone(),
            findings: self.lives.open.clone(),
            settled: self.lives.settled.clone(),
            cannot_tell: self.lives.cannot_tell.clone(),
            complaints: self.complaints.clone(),
            trouble: self.trouble.clone(),
            read: self.sheets.iter().map(SheetRead::line).collect(),
            machines: self.judged.machines.len(),
            rules: self.rules_in_force(),
            last_told: self.last_told,
        }
    }

    fn rules_in_force(&self) -> Vec<RuleInForce> {
        let mut rules: Vec<RuleInForce> = self
            .rules
            .rules()
            .map(|rule| RuleInForce {
                rule: rule.name.clone(),
                title: rule.title.clone(),
                in_force: true,
                problem: self.problem_of(&rule.name),
            })
            .collect();
        rules.extend(self.rules.not_in_force().iter().map(|name| RuleInForce {
            rule: name.clone(),
            title: name.clone(),
            in_force: false,
            problem: self.problem_of(name),
        }));
        rules.sort_by(|left, right| left.rule.cmp(&right.rule));
        rules
    }

    /// What is wrong with a rule's file: before it stands what stays in force, which the list says by itself.
    fn problem_of(&self, rule: &str) -> Option<Problem> {
        let file = format!("rules/{rule}.rhai");
        self.rule_problems.iter().filter(|problem| problem.place.file == file).nth(1).cloned()
    }

    fn report(&self, delivery: &Delivery) -> Report {
        let complaints = self.trouble.iter().chain(&self.complaints).map(ComplaintLine::from).collect();
        Report {
            today: self.today,
            sheets: self.sheets.iter().map(SheetLine::from).collect(),
            machines: self.judged.machines.len(),
            findings: self.lives.open.iter().chain(&self.lives.settled).map(FindingLine::from).collect(),
            cannot_tell: self.lives.cannot_tell.iter().map(CannotTellLine::from).collect(),
            complaints,
            rules: self.rules_in_force().into_iter().map(RuleLine::from).collect(),
            delivery: DeliveryLine {
                message_id: delivery.message_id.clone(),
                to: "digests".to_owned(),
                state: delivery.state,
            },
        }
    }
}
