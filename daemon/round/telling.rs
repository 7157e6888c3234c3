//! The last steps of a row's way: findings become a letter, the letter is kept, put into its folder, and sent.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::answer::Answer;
use super::audience::{self, Audience};
use super::draft::{self, Draft};
use super::intake::SheetRead;
use super::judging::Judged;
use super::letter_copies::{Copies, put_down};
use super::outbox::{self, Sending, Sent};
use super::report::{
    CannotTellLine, ComplaintLine, DeliveryLine, EditLine, FindingLine, RuleLine, SheetLine,
};
use super::{Delivered, Outcome, Report, Run, Step, Tells, keeping, rules_in_short, unkept};
use crate::digest::{self, FirstOfDay, Form, Letter, Morning, RuleEdit, RuleInForce};
use crate::findings::{FindingId, Lives};
use crate::ledger::{self, Ledger, LetterKind, LetterState, OutboxLetter, Posting, Round};
use crate::post::{self, SendLimits};
use crate::problem::{Place, Problem};
use crate::rules::{self, RuleBook};
use crate::settings::Settings;

/// How many of the days that have their letter the long run is told, newest first: as many as it remembers.
const DAYS_TOLD: u32 = 60;

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
    /// What the letter of that day said.
    pub(super) last_letter: String,
    /// How the copies of earlier letters stand.
    pub(super) copies: Copies,
    /// What a letter has told of already.
    pub(super) told: BTreeSet<FindingId>,
    /// The day's first letter, where this is to be a second one.
    pub(super) first_of_day: Option<FirstOfDay>,
    /// Whom the mail server has refused an earlier letter of today.
    pub(super) refused_today: Vec<Problem>,
    /// The rules that are in force otherwise than for the last letter, or not any more.
    pub(super) edits: Vec<RuleEdit>,
    /// Whether a file had not settled.
    pub(super) unsettled: bool,
}

/// What the steps after judging need beside what there is to tell.
pub(super) struct Means<'a> {
    pub(super) run: &'a Run,
    pub(super) ledger: &'a mut Ledger,
    pub(super) stop: &'a AtomicBool,
    pub(super) step: &'a mut dyn FnMut(Step),
}

/// Composes what is asked for, keeps the round, puts the letter into its folder and sends what waits; whatever of this
/// fails is told.
pub(super) fn tell(mut told: Told<'_>, round: &Round<'_>, mut means: Means<'_>) -> Outcome {
    let (audiences, problems) = audience::audiences(told.settings);
    told.trouble.extend(problems);
    // Without an account letters go to the folder only. Where one was meant and cannot be used, they wait for it.
    let has_account = told.settings.mail.is_some() || told.settings.mail_in_doubt;
    let audiences = if has_account { audiences } else { Vec::new() };
    if means.run.keeps {
        let is_letter = means.run.tells != Tells::Nothing;
        told.trouble.extend(told.copies.problems(&means.run.folder, is_letter, told.today));
    }
    let outcome = if !means.run.keeps {
        let draft = Draft::of_morning(&told.morning(), &audiences);
        Telling { letter: Some(draft.letter), ..Telling::of(Delivered::DryRun) }
    } else if !means.ledger.outlives_the_round() {
        unkept::tell(&mut told, &audiences, &mut means)
    } else {
        match keep(&mut told, &audiences, round, &mut means) {
            Ok(kept) => deliver_kept(kept, &mut told, &mut means),
            Err(problem) => {
                // The letter in hand must say itself that it was not kept.
                told.trouble.insert(0, problem);
                unkept::tell(&mut told, &audiences, &mut means)
            }
        }
    };
    told.outcome(outcome, &means)
}

/// What became of a round's letters and mails.
pub(super) struct Telling {
    /// The letter of this round, if one was composed.
    pub(super) letter: Option<Letter>,
    pub(super) message_id: Option<String>,
    pub(super) state: Delivered,
    pub(super) paths: Vec<PathBuf>,
    /// Whether a letter of this round reached somebody.
    pub(super) accepted: bool,
    /// Whether the day has its morning letter although no ledger says so.
    pub(super) has_letter: bool,
    pub(super) sent: Sent,
    /// When a mail is to be tried that the ledger does not know of.
    pub(super) next_mail: Option<Timestamp>,
    /// That the letter is kept nowhere, for the next one to say: `what is wrong; what to do`.
    pub(super) kept_nowhere: Option<String>,
    /// When the letter of the round was made, where somebody had it before.
    pub(super) had_since: Option<Timestamp>,
}

impl Telling {
    pub(super) fn of(state: Delivered) -> Telling {
        Telling {
            letter: None,
            message_id: None,
            state,
            paths: Vec::new(),
            accepted: false,
            has_letter: false,
            sent: Sent::default(),
            next_mail: None,
            kept_nowhere: None,
            had_since: None,
        }
    }
}

/// Keeps the round and its letter in one transaction, and gives the letter as it is kept: with its Message-ID, and
/// the very bytes of an earlier run of the day that said the same.
fn keep(
    told: &mut Told<'_>,
    audiences: &[Audience],
    round: &Round<'_>,
    means: &mut Means<'_>,
) -> Result<Option<(OutboxLetter, Letter)>, Problem> {
    let failed = |failure| keeping::as_problem(&failure);
    let has_letter = means.ledger.has_morning_letter(told.today).map_err(failed)?;
    let draft = told.draft(means.run, has_letter, audiences);
    let now = means.run.now;
    let Some(draft) = draft else {
        (means.step)(Step::Keeping);
        means.ledger.keep(&Round { letter: None, ..*round }).map_err(failed)?;
        (means.step)(Step::Kept);
        return Ok(None);
    };
    let earlier = means.ledger.letter_of(told.today, draft.kind).map_err(failed)?;
    let first = match draft.kind {
        LetterKind::Morning if has_letter => {
            means.ledger.first_accepted(told.today, draft.kind).map_err(failed)?
        }
        _ => None,
    };
    let said_before = earlier.filter(|earlier| match &first {
        // Nobody has it yet: what is told is how it is now.
        None => earlier.words == draft.words(),
        Some(_) => digest::adds_nothing(draft.words().whole(), earlier.words.whole()),
    });
    let draft = match first {
        Some(first) if said_before.is_none() => {
            told.first_of_day = Some(told.first(&first));
            told.draft(means.run, has_letter, audiences).unwrap_or(draft)
        }
        _ => draft,
    };
    let words = draft.words();
    let outbox = match said_before {
        Some(outbox) => outbox,
        None => {
            let from = &told.settings.from;
            let edition = means.ledger.edition(told.today, draft.kind, &words, from).map_err(failed)?;
            let eml = draft.copy(&edition.message_id, told.settings, now);
            let eml = eml.map_err(|failure| not_delivered(&failure))?;
            OutboxLetter { edition, words, eml, made: now, state: LetterState::Waiting, accepted: None }
        }
    };
    let mails = draft.mails(&outbox.edition, told.settings, outbox.made);
    let mails = mails.map_err(|failure| not_delivered(&failure))?;
    let tells = match &draft.findings {
        None => ledger::TellsOf::Everything,
        Some(findings) => ledger::TellsOf::Only(findings),
    };
    let posting = Posting { letter: &outbox, mails: &mails, tells };
    (means.step)(Step::Keeping);
    means.ledger.keep(&Round { letter: Some(posting), ..*round }).map_err(failed)?;
    (means.step)(Step::Kept);
    Ok(Some((outbox, draft.letter)))
}

/// Puts the round's letter into its folder, and before it what waits from earlier rounds of the day: the folder was full
/// then, or the run was killed. Then sends what is due. A letter that finds no room goes on waiting, and never keeps
/// another from its place.
pub(super) fn deliver_kept(
    kept: Option<(OutboxLetter, Letter)>,
    told: &mut Told<'_>,
    means: &mut Means<'_>,
) -> Telling {
    let waiting = means.ledger.waiting_copies().unwrap_or_else(|failure| {
        told.trouble.push(keeping::as_problem(&failure));
        Vec::new()
    });
    let own = kept.as_ref().map(|(outbox, _)| outbox.edition.clone());
    let today = told.today;
    let of_today = waiting.iter().filter(|waiting| waiting.edition.day >= today);
    for earlier in of_today.filter(|waiting| Some(&waiting.edition) != own.as_ref()) {
        copy(earlier, told, means);
    }
    let mut telling = match kept {
        None => Telling::of(Delivered::NoLetter),
        Some((outbox, letter)) => {
            let paths = copy(&outbox, told, means);
            let state = match (&paths, outbox.state) {
                (None, _) => Delivered::Not,
                (Some(_), LetterState::Delivered) => Delivered::Before,
                (Some(_), LetterState::Waiting | LetterState::Superseded) => Delivered::Now,
            };
            Telling {
                letter: Some(letter),
                message_id: Some(outbox.edition.message_id.clone()),
                paths: paths.unwrap_or_default(),
                had_since: outbox.accepted.map(|_| outbox.made),
                ..Telling::of(state)
            }
        }
    };
    if means.run.tells == Tells::MorningAgain
        && let Err(failure) = means.ledger.try_now(means.run.now)
    {
        told.trouble.push(keeping::as_problem(&failure));
    }
    telling.sent = outbox::send_due(
        means.ledger,
        &mut Sending {
            settings: told.settings,
            folder: &means.run.folder,
            now: means.run.now,
            limits: &SendLimits::default(),
            has_copies: telling.state != Delivered::Not && told.copies.missing.is_empty(),
            stop: means.stop,
            step: means.step,
        },
    );
    telling.accepted = own.is_some_and(|own| {
        let kept = means.ledger.letter_of(own.day, own.kind);
        matches!(kept, Ok(Some(letter)) if letter.accepted.is_some())
    });
    told.trouble.append(&mut telling.sent.problems);
    telling
}

/// Puts a letter's copy into the folder as the ledger kept it, and notes that it is there.
fn copy(outbox: &OutboxLetter, told: &mut Told<'_>, means: &mut Means<'_>) -> Option<Vec<PathBuf>> {
    match put_down(outbox, &means.run.folder, means.step) {
        Ok(paths) => {
            if let Err(failure) = means.ledger.mark_delivered(&outbox.edition, means.run.now) {
                told.trouble.push(keeping::as_problem(&failure));
            }
            Some(paths)
        }
        Err(failure) => {
            told.note_no_copy(&failure);
            None
        }
    }
}

pub(super) fn not_delivered(failure: &post::PostFailure) -> Problem {
    keeping::parted(Place::file("digests"), &format!("failed to {failure}"))
}

/// What the long run needs to know that only the ledger does.
struct OfLedger {
    /// The days that have their morning letter.
    told: BTreeSet<Date>,
    /// The days that are told anew.
    to_tell_anew: BTreeSet<Date>,
    /// When the next mail is to be tried.
    next_mail: Option<Timestamp>,
}

impl Told<'_> {
    /// Notes that a copy did not get to its place. One blocked folder keeps every letter from it, and is said once.
    pub(super) fn note_no_copy(&mut self, failure: &post::PostFailure) {
        let problem = not_delivered(failure);
        if !self.copies.own_is_blocked && !self.trouble.contains(&problem) {
            self.trouble.push(problem);
        }
    }

    /// The letter that the round is to tell, if there is anything to say.
    pub(super) fn draft(&self, run: &Run, has_letter: bool, audiences: &[Audience]) -> Option<Draft> {
        if !draft::is_asked_for(run.tells, has_letter) {
            return None;
        }
        match run.tells {
            Tells::AtOnce => {
                Draft::of_what_cannot_wait(&self.morning(), &self.told, &self.refused_today, audiences)
            }
            Tells::Nothing | Tells::Morning | Tells::MorningAgain => {
                Some(Draft::of_morning(&self.morning(), audiences))
            }
        }
    }

    pub(super) fn morning(&self) -> Morning {
        Morning {
            today: self.today,
            shop: self.settings.shop.clone(),
            findings: self.lives.open.clone(),
            settled: self.lives.settled.clone(),
            cannot_tell: self.lives.cannot_tell.clone(),
            too_long_ago: self.lives.too_long_ago.clone(),
            complaints: self.complaints.clone(),
            trouble: rules_in_short::in_short(&self.trouble),
            read: self.sheets.iter().map(SheetRead::line).collect(),
            machines: self.judged.machines.len(),
            rules: self.rules_in_force(),
            ships: rules::shipped().map(|(name, _)| name.to_owned()).collect(),
            edits: self.edits.clone(),
            last_told: self.last_told,
            last_letter: self.last_letter.clone(),
            form: Form::Whole,
            first_of_day: self.first_of_day.clone(),
        }
    }

    /// The day's first letter as a second one speaks of it.
    fn first(&self, letter: &OutboxLetter) -> FirstOfDay {
        FirstOfDay { at: self.time_of(letter.made), text: letter.words.whole().to_owned() }
    }

    /// The time of day at which a letter was made; empty for one that was put back from its copy, of which only the day
    /// is known.
    fn time_of(&self, made: Timestamp) -> String {
        let begun = self.today.to_zoned_datetime(TimeZone::UTC).map(|begun| begun.timestamp());
        if begun.is_ok_and(|begun| begun == made) {
            return String::new();
        }
        made.to_zoned_datetime(super::zone_of(self.settings)).strftime("%H:%M").to_string()
    }

    fn rules_in_force(&self) -> Vec<RuleInForce> {
        let mut rules: Vec<RuleInForce> = self
            .rules
            .rules()
            .map(|rule| {
                // What is wrong with a rule that judges as its file says is no reason why an earlier one does.
                let (problem, other) = match self.problem_of(&rule.name) {
                    Some(problem) if self.rules.is_as_it_was(&rule.name) => (Some(problem), None),
                    other => (None, other),
                };
                RuleInForce {
                    rule: rule.name.to_string(),
                    title: rule.title.clone(),
                    in_force: true,
                    problem,
                    notes: other.into_iter().chain(self.notes_of(&rule.name)).collect(),
                }
            })
            .collect();
        rules.extend(self.rules.not_in_force().iter().map(|name| RuleInForce {
            rule: name.clone(),
            title: name.clone(),
            in_force: false,
            problem: self.problem_of(name),
            notes: Vec::new(),
        }));
        rules.sort_by(|left, right| left.rule.cmp(&right.rule));
        rules
    }

    /// What the owner of a rule may not have meant.
    fn notes_of(&self, rule: &str) -> Vec<Problem> {
        let file = format!("rules/{rule}.rhai");
        self.rules.notes().iter().filter(|note| note.place.file == file).cloned().collect()
    }

    /// What is wrong with a rule's file.
    fn problem_of(&self, rule: &str) -> Option<Problem> {
        let file = format!("rules/{rule}.rhai");
        self.rule_problems.iter().find(|problem| problem.place.file == file).cloned()
    }

    /// What the round did, for people and for programs.
    fn outcome(mut self, telling: Telling, means: &Means<'_>) -> Outcome {
        // Until a morning letter has told it, it is wrong in every round, and not only in that which met it.
        self.trouble.append(&mut self.refused_today);
        let known = self.of_ledger(means);
        let complaints = self.trouble.iter().chain(&self.complaints).map(ComplaintLine::from).collect();
        let report = Report {
            today: self.today,
            sheets: self.sheets.iter().map(SheetLine::from).collect(),
            machines: self.judged.machines.len(),
            findings: self.lives.open.iter().chain(&self.lives.settled).map(FindingLine::from).collect(),
            cannot_tell: self.lives.cannot_tell.iter().map(CannotTellLine::from).collect(),
            complaints,
            rules: self.rules_in_force().into_iter().map(RuleLine::from).collect(),
            edits: self.edits.iter().map(EditLine::from).collect(),
            delivery: DeliveryLine {
                message_id: telling.message_id.clone(),
                to: "digests".to_owned(),
                state: telling.state,
                sent: telling.sent.receivers,
                not_sent: telling.sent.not_sent,
            },
        };
        let had_since = telling.had_since.map(|made| self.time_of(made));
        let answer = self.answer(&telling, means.run.tells, known);
        tracing::info!(
            sheets = answer.sheets,
            machines = answer.machines,
            findings = answer.findings,
            complaints = answer.complaints,
            trouble = answer.trouble,
            letter = telling.letter.is_some(),
            sent = answer.sent,
            "round done"
        );
        Outcome {
            report,
            letter: telling.letter,
            trouble: self.trouble,
            delivered: telling.paths,
            had_since,
            answer,
        }
    }

    /// What the long run is told as the ledger has it. What it does not say any more is trouble: the long run then goes by
    /// what it knows itself.
    fn of_ledger(&mut self, means: &Means<'_>) -> OfLedger {
        let told = means.ledger.morning_days(DAYS_TOLD);
        let to_tell_anew = means.ledger.days_to_tell_anew(DAYS_TOLD);
        let next_mail = means.ledger.next_mail_moment(means.run.now);
        let failures = [told.as_ref().err(), to_tell_anew.as_ref().err(), next_mail.as_ref().err()];
        for failure in failures.into_iter().flatten() {
            let problem = keeping::as_problem(failure);
            if !self.trouble.contains(&problem) {
                self.trouble.push(problem);
            }
        }
        OfLedger {
            told: told.unwrap_or_default(),
            to_tell_anew: to_tell_anew.unwrap_or_default(),
            next_mail: next_mail.unwrap_or_default(),
        }
    }

    /// What the long run needs to know of the round.
    fn answer(&self, telling: &Telling, tells: Tells, known: OfLedger) -> Answer {
        let OfLedger { mut told, to_tell_anew, next_mail } = known;
        let is_morning = matches!(tells, Tells::Morning | Tells::MorningAgain);
        if telling.has_letter || (telling.accepted && is_morning) {
            told.insert(self.today);
        }
        let mut answer = Answer {
            today: self.today,
            to_tell_anew: to_tell_anew.difference(&told).copied().collect(),
            told,
            told_now: telling.accepted,
            next_mail: [next_mail, telling.next_mail].into_iter().flatten().min(),
            unsettled: self.unsettled,
            sheets: self.sheets.len(),
            machines: self.judged.machines.len(),
            findings: self.lives.open.len(),
            complaints: self.complaints.len(),
            trouble: 0,
            wrong: Vec::new(),
            sent: telling.sent.mails,
            kept_nowhere: telling.kept_nowhere.clone(),
        };
        answer.add_trouble(&self.trouble);
        answer
    }
}
