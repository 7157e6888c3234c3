//! The last steps of a row's way: findings become a letter, and the letter is kept and put into its folder.

use std::path::PathBuf;

use jiff::Timestamp;
use jiff::civil::Date;

use crate::digest::{self, Form, Letter, Morning, RuleInForce};
use crate::findings::Lives;
use crate::ledger::{
    Edition, Ledger, LetterKind, LetterState, LetterWords, OutboxLetter, Posting, Round, Tells, domain_of,
};
use crate::post::{self, Envelope};
use crate::problem::{Place, Problem};
use crate::rules::RuleBook;
use crate::settings::Settings;

use super::intake::SheetRead;
use super::judging::Judged;
use super::keeping;
use super::report::{CannotTellLine, ComplaintLine, DeliveryLine, FindingLine, RuleLine, SheetLine};
use super::{Delivered, Outcome, Report, Run};

/// All that there is to tell.
pub(super) struct Told<'a> {
    pub(super) now: Timestamp,
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

/// Composes the letter, keeps the round, puts the letter into its folder; whatever of this fails is told.
pub(super) fn tell(mut told: Told<'_>, round: &Round<'_>, ledger: &mut Ledger, run: &Run) -> Outcome {
    let mut letter = digest::compose(&told.morning());
    let delivery = if !run.keeps {
        Delivery { message_id: None, state: Delivered::DryRun, paths: Vec::new() }
    } else if !ledger.outlives_the_round() {
        deliver_unkept(&letter, &mut told, run)
    } else {
        match keep(&letter, &told, round, ledger) {
            Ok(outbox) => deliver_kept(&outbox, &mut told, ledger, run),
            Err(problem) => {
                // The letter in hand must say itself that it was not kept.
                told.trouble.insert(0, problem);
                letter = digest::compose(&told.morning());
                deliver_unkept(&letter, &mut told, run)
            }
        }
    };
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

/// Keeps the round and its letter in one transaction, and gives the letter as it is kept: with its Message-ID, and
/// the very bytes of an earlier run of the day that said the same.
fn keep(
    letter: &Letter,
    told: &Told<'_>,
    round: &Round<'_>,
    ledger: &mut Ledger,
) -> Result<OutboxLetter, Problem> {
    let words = LetterWords {
        subject: letter.subject.clone(),
        text: letter.text.clone(),
        html: letter.html.clone(),
        full_list: letter.full_list.clone(),
    };
    let failed = |failure| keeping::as_problem(&failure);
    let earlier = ledger.letter_of(told.today, LetterKind::Morning).map_err(failed)?;
    let outbox = match earlier.filter(|earlier| earlier.words == words) {
        Some(outbox) => outbox,
        None => {
            let edition = ledger
                .edition(told.today, LetterKind::Morning, &words, &told.settings.from)
                .map_err(failed)?;
            let eml = mail(letter, told.settings, &edition.message_id, told.now)?;
            OutboxLetter { edition, words, eml, made: told.now, state: LetterState::Waiting, accepted: None }
        }
    };
    let posting = Posting { letter: &outbox, mails: &[], tells: Tells::Everything };
    ledger.keep(&Round { letter: Some(posting), ..*round }).map_err(failed)?;
    Ok(outbox)
}

/// Puts the day's letter into its folder, and before it what waits from earlier days: the folder was full then, or the
/// run was killed. A letter that finds no room goes on waiting, and never keeps another from its place.
fn deliver_kept(outbox: &OutboxLetter, told: &mut Told<'_>, ledger: &mut Ledger, run: &Run) -> Delivery {
    let waiting = ledger.waiting_copies().unwrap_or_else(|failure| {
        told.trouble.push(keeping::as_problem(&failure));
        Vec::new()
    });
    for earlier in waiting.iter().filter(|waiting| waiting.edition != outbox.edition) {
        deliver(earlier, told, ledger, run);
    }
    let paths = deliver(outbox, told, ledger, run);
    let state = match (&paths, outbox.state) {
        (None, _) => Delivered::Not,
        (Some(_), LetterState::Delivered) => Delivered::Before,
        (Some(_), LetterState::Waiting | LetterState::Superseded) => Delivered::Now,
    };
    Delivery { message_id: Some(outbox.edition.message_id.clone()), state, paths: paths.unwrap_or_default() }
}

/// Puts a letter into its folder as the ledger kept it, and notes that it is there.
fn deliver(
    outbox: &OutboxLetter,
    told: &mut Told<'_>,
    ledger: &mut Ledger,
    run: &Run,
) -> Option<Vec<PathBuf>> {
    let Edition { day, number, .. } = outbox.edition;
    let words = outbox.words.clone();
    let letter = Letter {
        day,
        subject: words.subject,
        text: words.text,
        html: words.html,
        full_list: words.full_list,
    };
    match post::deliver_to_folder(&run.folder.digests(), day, number, &letter, &outbox.eml) {
        Ok(paths) => {
            if let Err(failure) = ledger.mark_delivered(&outbox.edition, told.now) {
                told.trouble.push(keeping::as_problem(&failure));
            }
            Some(paths)
        }
        Err(failure) => {
            let problem = not_delivered(&failure);
            // One blocked folder keeps every letter from its place, and is said once.
            if !told.trouble.contains(&problem) {
                told.trouble.push(problem);
            }
            None
        }
    }
}

/// Puts a letter that the ledger could not keep into its folder, beside what is there of the day.
fn deliver_unkept(letter: &Letter, told: &mut Told<'_>, run: &Run) -> Delivery {
    let folder = run.folder.digests();
    let number = post::free_edition(&folder, told.today);
    let domain = domain_of(&told.settings.from);
    let message_id = format!("<digest.{}.{number}.unkept@{domain}>", told.today);
    let delivered = mail(letter, told.settings, &message_id, told.now).and_then(|eml| {
        post::deliver_to_folder(&folder, told.today, number, letter, &eml)
            .map_err(|failure| not_delivered(&failure))
    });
    match delivered {
        Ok(paths) => Delivery { message_id: Some(message_id), state: Delivered::Now, paths },
        Err(problem) => {
            told.trouble.insert(0, problem);
            Delivery { message_id: None, state: Delivered::Not, paths: Vec::new() }
        }
    }
}

fn mail(letter: &Letter, settings: &Settings, message_id: &str, now: Timestamp) -> Result<Vec<u8>, Problem> {
    let envelope = Envelope {
        from: settings.from.clone(),
        // A copy in the folder needs no receiver.
        to: if settings.to.is_empty() { vec![settings.from.clone()] } else { settings.to.clone() },
        message_id: message_id.to_owned(),
        date_seconds: now.as_second(),
    };
    post::as_eml(letter, &envelope).map_err(|failure| not_delivered(&failure))
}

fn not_delivered(failure: &post::PostFailure) -> Problem {
    keeping::parted(Place::file("digests"), &format!("failed to {failure}"))
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
            form: Form::Whole,
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

    /// What is wrong with a rule's file.
    fn problem_of(&self, rule: &str) -> Option<Problem> {
        let file = format!("rules/{rule}.rhai");
        self.rule_problems.iter().find(|problem| problem.place.file == file).cloned()
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
