//! A letter that the ledger cannot keep: told all the same, once as far as the folder shows, and numbered by it.

use std::sync::atomic::AtomicBool;

use super::audience::Audience;
use super::draft::Draft;
use super::outbox::{self, Sent};
use super::telling::{Means, Telling, Told, not_delivered};
use super::{Delivered, Step};
use crate::ledger::{Edition, LetterKind, domain_of};
use crate::post::{self, Account, CopyName, Parcel, PostFailure, SendLimits};
use crate::problem::Problem;

/// Puts the letter into its folder, beside what is there of the day, and sends it, if the day is not told yet.
pub(super) fn tell(told: &mut Told<'_>, audiences: &[Audience], means: &mut Means<'_>) -> Telling {
    let folder = means.run.folder.digests();
    let first = CopyName { day: told.today, at_once: false, edition: 1 };
    let has_letter = post::stands_there(&folder, first);
    let Some(draft) = told.draft(means.run, has_letter, audiences) else {
        // The day's letter stands in the folder: the long run need not ask for it again and again.
        return Telling { has_letter, ..Telling::of(Delivered::NoLetter) };
    };
    let name = post::free_name(&folder, told.today, draft.kind == LetterKind::AtOnce);
    let edition = edition(name, draft.kind, &told.settings.from);
    let mut telling = Telling { letter: Some(draft.letter.clone()), ..Telling::of(Delivered::Not) };
    (means.step)(Step::Copying);
    let copied = draft
        .copy(&edition.message_id, told.settings, means.run.now)
        .and_then(|eml| post::deliver_to_folder(&folder, name, &draft.letter, &eml));
    match copied {
        Ok(paths) => {
            (means.step)(Step::Copied);
            telling.state = Delivered::Now;
            telling.message_id = Some(edition.message_id.clone());
            telling.paths = paths;
        }
        Err(failure) => told.trouble.insert(0, not_delivered(&failure)),
    }
    match send(&draft, &edition, told, means) {
        Ok(sent) => telling.sent = sent,
        Err(failure) => told.trouble.insert(0, not_delivered(&failure)),
    }
    told.trouble.append(&mut telling.sent.problems);
    telling.has_letter = has_letter || draft.kind == LetterKind::Morning;
    telling.accepted = telling.sent.mails > 0 || (audiences.is_empty() && telling.state == Delivered::Now);
    telling
}

/// The edition of a letter that no ledger numbers. The same letter, told again after a restart with the folder
/// unchanged, has the same Message-ID.
fn edition(name: CopyName, kind: LetterKind, from: &str) -> Edition {
    let word = if name.at_once { "at-once" } else { "digest" };
    let CopyName { day, edition: number, .. } = name;
    let message_id = format!("<{word}.{day}.{number}.unkept@{}>", domain_of(from));
    Edition { day, kind, number, message_id }
}

/// Sends the letter's mails, each once: there is nothing to note in what became of them.
fn send(
    draft: &Draft,
    edition: &Edition,
    told: &Told<'_>,
    means: &mut Means<'_>,
) -> Result<Sent, PostFailure> {
    let mut sent = Sent::default();
    let Some(account) = &told.settings.mail else { return Ok(sent) };
    let mails = draft.mails(edition, told.settings, means.run.now)?;
    let stop: &AtomicBool = means.stop;
    let account = match Account::open(account, means.run.folder.root(), stop) {
        Ok(account) => account,
        Err(fault) => {
            sent.problems.push(outbox::of_account(told.settings.mail.as_ref(), &fault));
            return Ok(sent);
        }
    };
    for mail in &mails {
        let parcel = Parcel { from: &told.settings.from, receivers: &mail.receivers, eml: &mail.eml };
        let step = &mut |step| (means.step)(Step::Talk(step));
        match post::send(&parcel, &account, &SendLimits::default(), stop, step) {
            Ok(verdicts) => sent.note(verdicts.into_iter().map(outbox::kept).collect::<Vec<_>>().as_slice()),
            Err(fault) => {
                let problem: Problem = outbox::of_account(told.settings.mail.as_ref(), &fault);
                sent.problems.push(problem);
                break;
            }
        }
    }
    Ok(sent)
}
