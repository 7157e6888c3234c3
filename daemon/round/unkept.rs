//! A letter that the ledger cannot keep: it and its mails are kept by the ledger's stand-in, or else told all the same,
//! once, as far as the folder shows.

use std::sync::atomic::AtomicBool;

use super::audience::Audience;
use super::draft::Draft;
use super::exports::day_in_words;
use super::outbox::{self, Sent};
use super::telling::{Means, Telling, Told, deliver_kept, not_delivered};
use super::{Delivered, Step, stand_in};
use crate::ledger::{
    self, Edition, Ledger, LedgerFailure, LetterKind, LetterState, OutboxLetter, Posting, TellsOf,
};
use crate::post::{self, Account, CopyName, Parcel, PostFailure, SendLimits, Verdict};
use crate::problem::Problem;

/// Keeps the letter in the stand-in, puts it into its folder, beside what is there of the day, and sends it and what
/// waits, if the day is not told yet. Without a stand-in each of these is done once.
pub(super) fn tell(told: &mut Told<'_>, audiences: &[Audience], means: &mut Means<'_>) -> Telling {
    let stand_in = stand_in::open(&means.run.folder, false).unwrap_or_else(|problem| {
        told.trouble.push(problem);
        None
    });
    if let Some(stand_in) = &stand_in {
        let problems =
            of_earlier(stand_in, told).unwrap_or_else(|failure| vec![stand_in::as_problem(&failure)]);
        told.trouble.extend(problems);
    }
    let has_letter = has_letter(told, stand_in.as_ref(), means);
    let Some(draft) = told.draft(means.run, has_letter, audiences) else {
        // The day has its letter: the long run need not ask for it again and again.
        return Telling { has_letter, ..send_what_waits(stand_in, told, means) };
    };
    let name = name(&draft, stand_in.as_ref(), told, means);
    // A run by hand that has nothing else to say than the last one tells it no second time.
    let folder = means.run.folder.digests();
    let last = CopyName { edition: name.edition.saturating_sub(1), ..name };
    if last.edition > 0 && post::letter_in_folder(&folder, last).text == draft.letter.text {
        let telling = send_what_waits(stand_in, told, means);
        return Telling { has_letter, letter: Some(draft.letter), state: Delivered::Before, ..telling };
    }
    match keep(&draft, name, told, means) {
        Ok((outbox, stand_in)) => {
            let has_letter = has_letter || draft.kind == LetterKind::Morning;
            Telling { has_letter, ..deliver(Some((outbox, draft)), stand_in, told, means) }
        }
        Err(problem) => {
            if !told.trouble.contains(&problem) {
                told.trouble.push(problem);
            }
            tell_once(&draft, name, has_letter, told, means)
        }
    }
}

/// What befell letters that the stand-in keeps from days before.
fn of_earlier(stand_in: &Ledger, told: &Told<'_>) -> Result<Vec<Problem>, LedgerFailure> {
    let (no_copy, today) = (&told.copies.missing, told.today);
    let mut problems = stand_in::of_unkept(&stand_in.unkept_letters(today)?, no_copy, today);
    problems.extend(outbox::of_earlier(&stand_in.mail_troubles(today)?, no_copy, today));
    Ok(problems)
}

/// Whether the day has its morning letter, as far as the folder and the stand-in show.
fn has_letter(told: &Told<'_>, stand_in: Option<&Ledger>, means: &Means<'_>) -> bool {
    let first = CopyName { day: told.today, at_once: false, edition: 1 };
    let is_kept = |ledger: &Ledger| ledger.has_morning_letter(told.today).unwrap_or(false);
    let folder = means.run.folder.digests();
    (post::stands_there(&folder, first) && !is_still_to_be_sent(first, told, means))
        || stand_in.is_some_and(is_kept)
        || is_kept(means.ledger)
}

/// Whether a copy in the folder is of a letter that nothing keeps and that has not gone out.
fn is_still_to_be_sent(name: CopyName, told: &Told<'_>, means: &Means<'_>) -> bool {
    let message_id = || post::letter_in_folder(&means.run.folder.digests(), name).message_id;
    told.settings.mail.is_some() && message_id().is_some_and(|message_id| ledger::is_unsent(&message_id))
}

/// The letter's name: that of a copy whose letter is still to be sent, else one that neither the folder nor a ledger that can be read has given.
fn name(draft: &Draft, stand_in: Option<&Ledger>, told: &Told<'_>, means: &Means<'_>) -> CopyName {
    let at_once = draft.kind == LetterKind::AtOnce;
    let free = post::free_name(&means.run.folder.digests(), told.today, at_once);
    let last = |ledger: &Ledger| {
        let letter = ledger.letter_of(told.today, draft.kind).ok().flatten();
        letter.map_or(0, |letter| letter.edition.number)
    };
    let before = CopyName { edition: free.edition.saturating_sub(1), ..free };
    let free = if before.edition > 0 && is_still_to_be_sent(before, told, means) { before } else { free };
    let given = stand_in.map_or(0, last).max(last(means.ledger));
    CopyName { edition: free.edition.max(given + 1), ..free }
}

/// Keeps the letter with its mails in the stand-in, which is made where there is none.
fn keep(
    draft: &Draft,
    name: CopyName,
    told: &Told<'_>,
    means: &mut Means<'_>,
) -> Result<(OutboxLetter, Ledger), Problem> {
    let failed = |failure: LedgerFailure| stand_in::as_problem(&failure);
    let not_made = |failure: PostFailure| not_delivered(&failure);
    let mut stand_in =
        stand_in::open(&means.run.folder, true)?.expect("one that is needed is made, or it is said why not");
    let store = stand_in.store().map_err(failed)?;
    let (settings, made) = (told.settings, means.run.now);
    let edition = Edition::unkept(name.day, draft.kind, name.edition, &store, &settings.from);
    let eml = draft.copy(&edition.message_id, settings, made).map_err(not_made)?;
    let mails = draft.mails(&edition, settings, made).map_err(not_made)?;
    let tells = match &draft.findings {
        None => TellsOf::Everything,
        Some(findings) => TellsOf::Only(findings),
    };
    let state = LetterState::Waiting;
    let outbox = OutboxLetter { edition, words: draft.words(), eml, made, state, accepted: None };
    (means.step)(Step::Keeping);
    stand_in.keep_letter(&Posting { letter: &outbox, mails: &mails, tells }, told.lives).map_err(failed)?;
    (means.step)(Step::Kept);
    Ok((outbox, stand_in))
}

/// Sends what waits in the stand-in, where there is one, and tells nothing new.
fn send_what_waits(stand_in: Option<Ledger>, told: &mut Told<'_>, means: &mut Means<'_>) -> Telling {
    match stand_in {
        Some(stand_in) => deliver(None, stand_in, told, means),
        None => Telling::of(Delivered::NoLetter),
    }
}

/// Puts what waits in the stand-in into the folder and sends what is due, as is done from the ledger.
fn deliver(
    kept: Option<(OutboxLetter, Draft)>,
    mut stand_in: Ledger,
    told: &mut Told<'_>,
    means: &mut Means<'_>,
) -> Telling {
    let kept = kept.map(|(outbox, draft)| (outbox, draft.letter));
    let mut beside =
        Means { run: means.run, ledger: &mut stand_in, stop: means.stop, step: &mut *means.step };
    let telling = deliver_kept(kept, told, &mut beside);
    let next_mail = stand_in.next_mail_moment(means.run.now).unwrap_or_else(|failure| {
        told.trouble.push(stand_in::as_problem(&failure));
        None
    });
    Telling { next_mail, ..telling }
}

/// Tells a letter that nothing keeps, once it goes out. Until then its copy has a name by which it is known that it has
/// not, so that it is made and tried again.
fn tell_once(
    draft: &Draft,
    name: CopyName,
    has_letter: bool,
    told: &mut Told<'_>,
    means: &mut Means<'_>,
) -> Telling {
    let sender = &told.settings.from;
    let edition = Edition::unkept(name.day, draft.kind, name.edition, "", sender);
    let unsent = Edition::unsent(name.day, draft.kind, name.edition, sender);
    let mut telling = Telling { letter: Some(draft.letter.clone()), ..Telling::of(Delivered::Not) };
    let first = if draft.is_mailed() { &unsent } else { &edition };
    copy(draft, name, first, &mut telling, told, means);
    let mut may_be_there = false;
    match send(draft, &edition, told, means) {
        Ok((sent, perhaps)) => (telling.sent, may_be_there) = (sent, perhaps),
        Err(failure) => told.trouble.insert(0, not_delivered(&failure)),
    }
    told.trouble.append(&mut telling.sent.problems);
    if may_be_there {
        copy(draft, name, &edition, &mut telling, told, means);
    }
    let is_copied = telling.state == Delivered::Now;
    telling.accepted = telling.sent.mails > 0 || (!draft.is_mailed() && is_copied);
    telling.has_letter =
        has_letter || draft.kind == LetterKind::Morning && (may_be_there || telling.accepted);
    telling.kept_nowhere = (!is_copied).then(|| kept_nowhere(&edition, telling.accepted));
    telling
}

/// Puts the copy of a letter that nothing keeps into the folder.
fn copy(
    draft: &Draft,
    name: CopyName,
    edition: &Edition,
    telling: &mut Telling,
    told: &mut Told<'_>,
    means: &mut Means<'_>,
) {
    (means.step)(Step::Copying);
    let copied = draft
        .copy(&edition.message_id, told.settings, means.run.now)
        .and_then(|eml| post::deliver_to_folder(&means.run.folder.digests(), name, &draft.letter, &eml));
    match copied {
        Ok(paths) => {
            (means.step)(Step::Copied);
            telling.state = Delivered::Now;
            telling.message_id = Some(edition.message_id.clone());
            telling.paths = paths;
        }
        Err(failure) => told.note_no_copy(&failure),
    }
}

/// What a later letter says of one that is kept nowhere, as `what is wrong; what to do`.
fn kept_nowhere(edition: &Edition, is_mailed: bool) -> String {
    let which = match edition.kind {
        LetterKind::Morning => "the letter",
        LetterKind::AtOnce => "a letter about what could not wait",
    };
    // Whatever the day is, its year belongs to it.
    let day = day_in_words(edition.day, jiff::civil::Date::MIN);
    let mailed = if is_mailed { "though it went out by mail" } else { "and did not go out by mail" };
    format!(
        "{which} of {day} could at first not be kept, has no copy in digests/, {mailed}; see that this PC's disk \
         has room, and that the account that runs Tickover may write to kept/ and digests/"
    )
}

/// Sends the letter's mails, each once: there is nothing to note in what became of them. Also gives whether one may have
/// reached somebody.
fn send(
    draft: &Draft,
    edition: &Edition,
    told: &Told<'_>,
    means: &mut Means<'_>,
) -> Result<(Sent, bool), PostFailure> {
    let (mut sent, mut perhaps) = (Sent::default(), false);
    let Some(mail) = &told.settings.mail else { return Ok((sent, perhaps)) };
    let mails = draft.mails(edition, told.settings, means.run.now)?;
    let stop: &AtomicBool = means.stop;
    let of_account = |fault| {
        let letter = "The letter is kept nowhere, so that the next one tells it all again.";
        outbox::of_account(Some(mail), &fault, letter)
    };
    let account = match Account::open(mail, means.run.folder.root(), stop) {
        Ok(account) => account,
        Err(fault) => {
            sent.problems.push(of_account(fault));
            return Ok((sent, perhaps));
        }
    };
    for mail in &mails {
        let parcel = Parcel { from: &told.settings.from, receivers: &mail.receivers, eml: &mail.eml };
        let step = &mut |step| (means.step)(Step::Talk(step));
        match post::send(&parcel, &account, &SendLimits::default(), stop, step) {
            Ok(verdicts) => {
                let may_be_there =
                    |verdict: &Verdict| matches!(verdict, Verdict::Sent { .. } | Verdict::PerhapsSent { .. });
                perhaps |= verdicts.iter().any(|(_, verdict)| may_be_there(verdict));
                sent.note(verdicts.into_iter().map(outbox::kept).collect::<Vec<_>>().as_slice());
            }
            Err(fault) => {
                sent.problems.push(of_account(fault));
                break;
            }
        }
    }
    Ok((sent, perhaps))
}
