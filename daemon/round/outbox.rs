//! Sends what waits in the ledger's outbox: each mail noted before it goes out, and what became of it after.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::atomic::AtomicBool;

use jiff::Timestamp;
use jiff::civil::Date;

use super::exports::day_in_words;
use super::{Step, YardFolder, keeping};
use crate::ledger::{DueMail, Ledger, MailFate, MailTrouble, MailVerdict};
use crate::post::{self, Account, Parcel, Refusal, SendLimits, SetupFault, Verdict};
use crate::problem::{Place, Problem, counted};
use crate::settings::{MailAccount, Settings};

/// Where it is wrong when a mail does not get to its receiver: not in any file of the yard.
const MAIL: &str = "outgoing mail";

/// What a sending needs of the round.
pub(super) struct Sending<'a> {
    pub(super) settings: &'a Settings,
    pub(super) folder: &'a YardFolder,
    pub(super) now: Timestamp,
    pub(super) limits: &'a SendLimits,
    /// Whether the letters' copies lie in the folder meanwhile.
    pub(super) has_copies: bool,
    pub(super) stop: &'a AtomicBool,
    pub(super) step: &'a mut dyn FnMut(Step),
}

/// What came of a sending.
#[derive(Debug, Default)]
pub(super) struct Sent {
    /// How many mails a server took for at least one receiver.
    pub(super) mails: usize,
    /// For how many receivers it took them.
    pub(super) receivers: usize,
    /// For how many it did not, or nobody knows.
    pub(super) not_sent: usize,
    /// What a person must know, each once.
    pub(super) problems: Vec<Problem>,
}

impl Sent {
    /// Counts what came of one mail, and says what a person must know of it.
    pub(super) fn note(&mut self, verdicts: &[(String, MailVerdict)]) {
        let taken = verdicts.iter().filter(|(_, verdict)| *verdict == MailVerdict::Sent).count();
        self.mails += usize::from(taken > 0);
        self.receivers += taken;
        self.not_sent += verdicts.len() - taken;
        self.problems.extend(verdicts.iter().filter_map(|(address, verdict)| not_sent(address, verdict)));
    }
}

/// Sends every mail that is due. A fault of the account keeps them all, and is met once.
pub(super) fn send_due(ledger: &mut Ledger, sending: &mut Sending<'_>) -> Sent {
    let mut sent = Sent::default();
    let Some(account) = &sending.settings.mail else { return sent };
    let due = match ledger.mails_due(sending.now) {
        Ok(due) if due.is_empty() => return sent,
        Ok(due) => due,
        Err(failure) => {
            sent.problems.push(keeping::as_problem(&failure));
            return sent;
        }
    };
    let mut account = Account::open(account, sending.folder.root(), sending.stop);
    for mail in &due {
        match send_one(mail, ledger, &mut account, sending, &mut sent) {
            Ok(()) => {}
            Err(problem) => {
                sent.problems.push(problem);
                // What cannot be noted must not go out: nobody would know of it.
                break;
            }
        }
    }
    if let Err(fault) = account {
        let waits =
            if sending.has_copies { "The letter waits, and lies in digests/." } else { "The letter waits." };
        sent.problems.insert(0, of_account(sending.settings.mail.as_ref(), &fault, waits));
    }
    sent
}

/// Sends one mail. A fault of the account stays in it, and is the fate of all later ones.
fn send_one(
    mail: &DueMail,
    ledger: &mut Ledger,
    account: &mut Result<Account, SetupFault>,
    sending: &mut Sending<'_>,
    sent: &mut Sent,
) -> Result<(), Problem> {
    let failed = |failure| keeping::as_problem(&failure);
    (sending.step)(Step::Beginning);
    if !ledger.begin_sending(mail, sending.now).map_err(failed)? {
        return Ok(());
    }
    (sending.step)(Step::Begun);
    let receivers: Vec<String> = mail.receivers.iter().map(|receiver| receiver.address.clone()).collect();
    let from = &sending.settings.from;
    let parcel = Parcel { from, receivers: &receivers, eml: &mail.eml };
    let verdicts = match account {
        Err(fault) => all_later(&receivers, fault),
        Ok(open) => {
            let talked = post::send(&parcel, open, sending.limits, sending.stop, &mut |step| {
                if step == post::Step::BodyEnds {
                    // Where that cannot be noted, it is still noted that the mail was begun.
                    let _ = ledger.note_handing_over(mail, sending.now);
                }
                (sending.step)(Step::Talk(step));
            });
            talked.map(|verdicts| verdicts.into_iter().map(kept).collect()).unwrap_or_else(|fault| {
                let verdicts = all_later(&receivers, &fault);
                *account = Err(fault);
                verdicts
            })
        }
    };
    (sending.step)(Step::Noting);
    ledger.note_verdicts(mail, &verdicts, sending.now).map_err(failed)?;
    (sending.step)(Step::Noted);
    match account {
        Ok(_) => sent.note(&verdicts),
        // A fault of the account is said once, for all.
        Err(_) => sent.not_sent += verdicts.len(),
    }
    Ok(())
}

fn all_later(receivers: &[String], fault: &SetupFault) -> Vec<(String, MailVerdict)> {
    let later = MailVerdict::Later { words: fault.what.clone() };
    receivers.iter().map(|address| (address.clone(), later.clone())).collect()
}

/// A verdict as the ledger keeps it.
pub(super) fn kept((address, verdict): (String, Verdict)) -> (String, MailVerdict) {
    let verdict = match verdict {
        Verdict::Sent { .. } => MailVerdict::Sent,
        Verdict::Refused { of, words } => MailVerdict::Refused { words: of.noted(&words) },
        Verdict::Later { words } => MailVerdict::Later { words },
        Verdict::PerhapsSent { words } => MailVerdict::PerhapsSent { words },
    };
    (address, verdict)
}

/// What a person must know of a mail that did not plainly go out.
fn not_sent(address: &str, verdict: &MailVerdict) -> Option<Problem> {
    let (what, words, help) = match verdict {
        MailVerdict::Sent => return None,
        MailVerdict::Refused { words } => {
            ("the mail server refuses the letter for", words, Refusal::of_note(words).help())
        }
        MailVerdict::Later { words } => {
            ("the letter could not be sent yet to", words, "It is tried again by itself.")
        }
        MailVerdict::PerhapsSent { words } => (
            "nobody knows whether the letter has reached",
            words,
            "It is sent once more by itself; two copies are the same letter.",
        ),
    };
    let said = if words.is_empty() { String::new() } else { format!(": {words}") };
    Some(Problem::error(Place::file(MAIL), format!("{what} {address}{said}"), help))
}

/// A fault of the mail account, with what becomes of the letter meanwhile.
pub(super) fn of_account(account: Option<&MailAccount>, fault: &SetupFault, letter: &str) -> Problem {
    let server = account.map(|account| format!(" ({}, port {})", account.server, account.port));
    let what = format!("the letter could not be sent: {}{}", fault.what, server.unwrap_or_default());
    let help = format!("{} {letter} Try the account: tickover post check.", fault.help);
    Problem::error(Place::file("tickover.toml"), what, help)
}

/// What became of the letters of earlier days, for the top of today's: receivers whom the same befell stand together.
/// `no_copy` are the days whose letters have no copy in the folder.
pub(super) fn of_earlier(troubles: &[MailTrouble], no_copy: &BTreeSet<Date>, today: Date) -> Vec<Problem> {
    let mut befell: BTreeMap<(MailFate, Date, u32, &str), Vec<&str>> = BTreeMap::new();
    for MailTrouble { address, fate, since, letters, words } in troubles {
        befell.entry((*fate, *since, *letters, words)).or_default().push(address);
    }
    befell.into_iter().map(|(what, addresses)| earlier(what, &addresses, no_copy, today)).collect()
}

fn earlier(
    (fate, since, letters, words): (MailFate, Date, u32, &str),
    addresses: &[&str],
    no_copy: &BTreeSet<Date>,
    today: Date,
) -> Problem {
    let lies = match (letters, no_copy.range(since..).next()) {
        (_, Some(_)) => "",
        (0 | 1, None) => " The letter lies in digests/.",
        (_, None) => " The letters lie in digests/.",
    };
    let since = day_in_words(since, today);
    let letters = match letters {
        0 | 1 => format!("the letter of {since}"),
        more => format!("the last {} since {since}", counted(more as usize, "letter")),
    };
    let addresses = addresses.join(", ");
    let (what, help) = match fate {
        MailFate::Refused => (
            format!("the mail server refused {letters} for {addresses}"),
            format!("{}{lies}", Refusal::of_note(words).help()),
        ),
        MailFate::NotSent => (
            format!("{letters} did not reach {addresses}"),
            format!("Try the account: tickover post check.{lies}"),
        ),
        MailFate::PerhapsTwice => (
            format!(
                "{letters} may have come twice to {addresses}, since a sending of it broke off at its end"
            ),
            "Two copies of one day are the same letter; nothing needs to be done.".to_owned(),
        ),
        MailFate::PerhapsSent => (
            format!("nobody knows whether {letters} reached {addresses}, so that it may have come twice"),
            "Two copies of one day are the same letter; nothing needs to be done.".to_owned(),
        ),
    };
    let said = if words.is_empty() { String::new() } else { format!(": {words}") };
    let (place, what) = (Place::file(MAIL), format!("{what}{said}"));
    match fate {
        // Nobody has to do anything about it.
        MailFate::PerhapsSent | MailFate::PerhapsTwice => Problem::note(place, what, help),
        MailFate::Refused | MailFate::NotSent => Problem::error(place, what, help),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    #[test]
    fn receivers_whom_the_same_befell_are_told_in_one_line() {
        let trouble = |address: &str, fate, letters, words: &str| MailTrouble {
            address: address.to_owned(),
            fate,
            since: date(2026, 3, 2),
            letters,
            words: words.to_owned(),
        };
        let troubles = [
            trouble("desk@shop.example", MailFate::NotSent, 1, "the mail server cannot be reached"),
            trouble("gone@shop.example", MailFate::Refused, 3, "550 5.1.1 no such user"),
            trouble("bench@shop.example", MailFate::NotSent, 1, "the mail server cannot be reached"),
        ];
        let nothing = BTreeSet::new();
        let told: Vec<String> =
            of_earlier(&troubles, &nothing, date(2026, 3, 5)).into_iter().map(|it| it.what).collect();
        assert_eq!(
            told,
            [
                "the mail server refused the last 3 letters since Monday 2 March for gone@shop.example: 550 5.1.1 no \
                 such user",
                "the letter of Monday 2 March did not reach desk@shop.example, bench@shop.example: the mail server \
                 cannot be reached",
            ]
        );
    }
    #[test]
    fn what_to_do_fits_what_was_refused_and_where_the_letter_lies() {
        let troubles = |letters, words: &str| {
            [MailTrouble {
                address: "desk@shop.example".to_owned(),
                fate: MailFate::Refused,
                since: date(2026, 3, 2),
                letters,
                words: words.to_owned(),
            }]
        };
        let large = Refusal::Size.noted("552 5.3.4 too large");
        let blocked = BTreeSet::from([date(2026, 3, 3)]);
        for (letters, words, no_copy, what, help) in [
            (
                1,
                "550 5.1.1 no such user",
                &BTreeSet::new(),
                "the mail server refused the letter of Monday 2 March for desk@shop.example: 550 5.1.1 no such user",
                "Correct the address under [letter] in tickover.toml, or ask whoever runs that mailbox. The letter lies in \
                 digests/.",
            ),
            (
                2,
                large.as_str(),
                &blocked,
                "the mail server refused the last 2 letters since Monday 2 March for desk@shop.example: the letter is too \
                 large, 552 5.3.4 too large",
                "No address is wrong. Ask the mail provider to take larger mails, or name receivers that get only some \
                 sections under [letter.in_part] in tickover.toml.",
            ),
        ] {
            let told = of_earlier(&troubles(letters, words), no_copy, date(2026, 3, 5));
            assert_eq!((told[0].what.as_str(), told[0].help.as_str()), (what, help));
        }
    }
}
