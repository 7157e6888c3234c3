//! The letter of a round before it is kept: which one, what it tells of, and its mails.

use std::collections::BTreeSet;

use jiff::Timestamp;

use super::Tells;
use super::audience::Audience;
use crate::digest::{self, Letter, Morning};
use crate::findings::{Finding, FindingId, Section};
use crate::ledger::{Edition, LetterKind, LetterWords, OutboxMail};
use crate::post::{self, Envelope, PostFailure};
use crate::problem::Problem;
use crate::settings::Settings;

/// A letter that is to be kept and told.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    /// What it is for.
    pub(super) kind: LetterKind,
    /// The whole of it.
    pub(super) letter: Letter,
    /// The findings that it tells of; `None` for all that there are.
    pub(super) findings: Option<Vec<Finding>>,
    /// Who gets which form of it; nobody, where there is no mail account.
    mails: Vec<(Audience, Letter)>,
}

impl Draft {
    /// The morning letter.
    pub(super) fn of_morning(morning: &Morning, audiences: &[Audience]) -> Draft {
        let letter = digest::compose(morning);
        let mails = audiences.iter().map(|audience| {
            let form = match &audience.sections {
                None => letter.clone(),
                Some(sections) => digest::compose(&morning.in_part(sections)),
            };
            (audience.clone(), form)
        });
        Draft { kind: LetterKind::Morning, mails: mails.collect(), letter, findings: None }
    }

    /// What cannot wait until the next morning; `None` where there is nothing. `told` are the findings that a letter
    /// has told of, `refused` who did not get an earlier one of today.
    pub(super) fn of_what_cannot_wait(
        morning: &Morning,
        told: &BTreeSet<FindingId>,
        refused: &[Problem],
        audiences: &[Audience],
    ) -> Option<Draft> {
        let urgent = Morning { trouble: refused.to_vec(), ..morning.at_once(told)? };
        let letter = digest::compose(&urgent);
        let addresses: Vec<String> = audiences
            .iter()
            .filter(|audience| audience.gets(Section::KeepInTheYard))
            .flat_map(|audience| audience.addresses.iter().cloned())
            .collect();
        let everybody = Audience { sections: None, addresses };
        let mails =
            if everybody.addresses.is_empty() { Vec::new() } else { vec![(everybody, letter.clone())] };
        Some(Draft { kind: LetterKind::AtOnce, mails, letter, findings: Some(urgent.findings) })
    }

    /// Whether it goes out to anybody by mail.
    pub(super) fn is_mailed(&self) -> bool {
        !self.mails.is_empty()
    }

    /// By what it is known whether the letter has anything new to say.
    pub(super) fn words(&self) -> LetterWords {
        let Letter { day: _, subject, text, html, full_list } = self.letter.clone();
        LetterWords { subject, text, html, full_list }
    }

    /// The copy for the folder: the whole letter, addressed to all who get any of it.
    pub(super) fn copy(
        &self,
        message_id: &str,
        settings: &Settings,
        now: Timestamp,
    ) -> Result<Vec<u8>, PostFailure> {
        let to = match self.mails.first() {
            // The first mail is this copy, byte for byte, where it is the whole letter.
            Some((Audience { sections: None, addresses }, _)) => addresses.clone(),
            // A copy in the folder needs no receiver.
            _ if settings.to.is_empty() => vec![settings.from.clone()],
            _ => settings.to.clone(),
        };
        eml(&self.letter, &to, message_id, settings, now)
    }

    /// The mails, each with its finished bytes.
    pub(super) fn mails(
        &self,
        edition: &Edition,
        settings: &Settings,
        now: Timestamp,
    ) -> Result<Vec<OutboxMail>, PostFailure> {
        let numbered = (1..).zip(&self.mails);
        let mails = numbered.map(|(number, (audience, letter))| {
            let message_id = edition.message_id_of(number);
            Ok(OutboxMail {
                number,
                eml: eml(letter, &audience.addresses, &message_id, settings, now)?,
                message_id,
                sections: audience.sections.clone(),
                receivers: audience.addresses.clone(),
            })
        });
        mails.collect()
    }
}

fn eml(
    letter: &Letter,
    to: &[String],
    message_id: &str,
    settings: &Settings,
    now: Timestamp,
) -> Result<Vec<u8>, PostFailure> {
    let envelope = Envelope {
        from: settings.from.clone(),
        to: to.to_vec(),
        message_id: message_id.to_owned(),
        date_seconds: now.as_second(),
    };
    post::as_eml(letter, &envelope)
}

/// Whether a round composes a letter at all, before it is known what there is to say.
pub(super) fn is_asked_for(tells: Tells, has_morning_letter: bool) -> bool {
    match tells {
        Tells::Nothing => false,
        // Before the morning letter everything waits for that.
        Tells::AtOnce => has_morning_letter,
        Tells::Morning => !has_morning_letter,
        Tells::MorningAgain => true,
    }
}
