//! `tickover post check`: tries the mail account step by step, and says what is wrong and what to do.

use std::collections::BTreeSet;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use jiff::tz::TimeZone;

use super::arguments::{PostSubverb, PostVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::post::{
    self, Account, Answer, PASSWORD_VARIABLE, Parcel, Refusal, SecretSource, SendLimits, SetupFault, Step,
    Verdict,
};
use crate::problem::{Severity, counted};
use crate::round::{self, YardFolder};
use crate::settings::{self, MailAccount, Security, Settings};
use crate::today;

/// Nothing stops a check but the end of the program.
static NEVER: AtomicBool = AtomicBool::new(false);

/// Runs the finer verb.
pub(super) fn run(what: &PostVerb) -> u8 {
    let PostSubverb::Check { place, send } = &what.verb;
    let folder = YardFolder::at(&place.yard);
    if !folder.is_laid_out() {
        say::problems(&[round::no_yard(&folder)]);
        return COULD_NOT_RUN;
    }
    let (settings, problems) = settings::load(&folder.settings(), "tickover.toml");
    say::problems(&problems);
    let Some(settings) = settings else { return COULD_NOT_RUN };
    if settings.mail_in_doubt {
        return NEEDS_A_PERSON;
    }
    // What is wrong elsewhere in the settings keeps nothing from being tried, and needs a person all the same.
    let done = if problems.iter().any(|it| it.severity == Severity::Error) { NEEDS_A_PERSON } else { DONE };
    let Some(mail) = &settings.mail else {
        say::out(
            "Letters go to the folder digests/ alone: no mail account is set.\nTo have them sent, fill in [mail] in \
             tickover.toml with what the mail provider tells for programs that send mail: server, security and user. The \
             password never stands there, but in the environment variable TICKOVER_MAIL_PASSWORD, the service manager's \
             credential mail-password, or a file of its own.",
        );
        let Some(address) = send else { return done };
        say::talk(&format!("error: nothing was sent to {address}: there is no account to send it with"));
        return COULD_NOT_RUN;
    };
    match check(&folder, &settings, mail, send.as_deref()) {
        Ok(true) => done,
        Ok(false) => NEEDS_A_PERSON,
        Err(fault) => {
            let aside = fault.aside.map(|words| format!("\nit says: {words}")).unwrap_or_default();
            say::talk(&format!("error: {}{aside}\nhelp: {}", fault.what, fault.help));
            NEEDS_A_PERSON
        }
    }
}

/// Tries the account for all receivers, and sends a short mail where one is asked for; whether all went well.
fn check(
    folder: &YardFolder,
    settings: &Settings,
    mail: &MailAccount,
    send: Option<&str>,
) -> Result<bool, SetupFault> {
    let limits = SendLimits::default();
    say::out(&format!(
        "Trying {}, port {}, {}; each step may take up to {}.",
        mail.server,
        mail.port,
        described(mail.security),
        minutes(limits.connecting.max(limits.greeting).max(limits.command))
    ));
    let account = Account::open(mail, folder.root(), &NEVER)?;
    if let Some(note) = &account.note {
        say::out(&format!("  {note}"));
    }
    if let Some(from) = &account.from {
        say::out(&format!("  {}", told_of(from)));
    }
    let receivers = round::receivers(settings);
    let size = post::last_mail_bytes(&folder.digests(), today::now().to_zoned_datetime(TimeZone::UTC).date());
    let mut reached = |step| say::out(&format!("  {}", reached(step)));
    let answers = post::check(&settings.from, &receivers, size, &account, &limits, &NEVER, &mut reached)?;
    let mut helps = BTreeSet::new();
    for (address, answer) in answers {
        let (line, help) = match answer {
            Answer::Taken => (format!("  {address}: the server takes mail for it"), None),
            Answer::Refused { of, words } => (refused(&address, of, &words), Some(of.help())),
            Answer::Later { words } => (format!("  {address}: not now, {words}"), Some(NOT_NOW)),
        };
        say::out(&line);
        helps.extend(help);
    }
    if receivers.is_empty() {
        // What to do about it was said with the settings.
        say::out("  nobody is named to get the letter");
    }
    let mut all_well = helps.is_empty() && !receivers.is_empty();
    if let Some(address) = send {
        all_well &= trial(settings, &account, address, &limits, &mut helps)?;
    }
    for help in helps {
        say::talk(&format!("help: {help}"));
    }
    Ok(all_well)
}

/// What to do where the server may change its mind.
const NOT_NOW: &str =
    "The server may take it later. If it stays so, ask the mail provider about these words.";
/// What to do where nobody can tell what it did.
const LOOK_THERE: &str = "Look into that mailbox; if nothing is there, try once more.";

/// What to do where the address behind `--send` is refused.
const WRONG_ADDRESS: &str = "Correct the address behind `--send`, or ask whoever runs that mailbox.";

/// A time in whole minutes, for a person who waits.
fn minutes(time: Duration) -> String {
    counted(usize::try_from(time.as_secs().div_ceil(60)).unwrap_or(usize::MAX), "minute")
}

/// A receiver who gets nothing, and whether that is the receiver's address or the letter.
fn refused(address: &str, of: Refusal, words: &str) -> String {
    match of {
        Refusal::Receiver => format!("  {address}: refused, {words}"),
        Refusal::Size => format!("  {address}: a letter as large as the last one is refused, {words}"),
        Refusal::Letter => format!("  {address}: the letter is refused, {words}"),
    }
}

/// Sends the short mail; whether it went.
fn trial(
    settings: &Settings,
    account: &Account,
    address: &str,
    limits: &SendLimits,
    helps: &mut BTreeSet<&'static str>,
) -> Result<bool, SetupFault> {
    let eml = match post::trial_mail(&settings.from, address, today::now()) {
        Ok(eml) => eml,
        Err(failure) => {
            say::talk(&format!("error: cannot {failure}"));
            return Ok(false);
        }
    };
    let receivers = [address.to_owned()];
    let parcel = Parcel { from: &settings.from, receivers: &receivers, eml: &eml };
    // A server may look long into a mail before it answers, and silence would pass for a program that hangs.
    let mut reached = |step| {
        if step == Step::BodyEnded {
            let most = minutes(limits.last_answer);
            say::out(&format!("The short mail is handed over; the server's answer may take up to {most}."));
        }
    };
    let verdicts = post::send(&parcel, account, limits, &NEVER, &mut reached)?;
    let mut all_well = true;
    for (address, verdict) in verdicts {
        let (line, help) = match verdict {
            Verdict::Sent { words } => (format!("A short mail is on its way to {address}: {words}"), None),
            Verdict::Refused { of: Refusal::Receiver, words } => {
                (format!("The server refuses the address {address}: {words}"), Some(WRONG_ADDRESS))
            }
            Verdict::Refused { of, words } => {
                (format!("The server refuses the short mail itself, for {address}: {words}"), Some(of.help()))
            }
            Verdict::Later { words } => {
                (format!("The short mail to {address} was not sent: {words}"), Some(NOT_NOW))
            }
            Verdict::PerhapsSent { words } => (
                format!("Nobody can tell whether the short mail to {address} was sent: {words}"),
                Some(LOOK_THERE),
            ),
        };
        say::out(&line);
        all_well &= help.is_none();
        helps.extend(help);
    }
    Ok(all_well)
}

/// Where the secret came from, and what that means for the long run.
fn told_of(from: &SecretSource) -> String {
    match from {
        SecretSource::Environment => format!(
            "the password comes from the environment variable {PASSWORD_VARIABLE} of this terminal, which a service \
             that starts with the PC does not have"
        ),
        SecretSource::Credential => {
            "the password comes from the service manager's credential mail-password".to_owned()
        }
        SecretSource::File(path) => format!("the password comes from the file `{}`", path.display()),
        SecretSource::Program => "the token comes from the program of `token_command`".to_owned(),
    }
}

/// How the connection is to be secured.
fn described(security: Security) -> &'static str {
    match security {
        Security::Tls => "secured from the first byte",
        Security::StartTls => "secured once greeted",
        Security::Plain => "not secured",
    }
}

/// What a step means.
fn reached(step: Step) -> &'static str {
    match step {
        Step::Connected => "connected",
        Step::Greeted => "greeted: it is a mail server",
        Step::Secured => "secured: its certificate is the right one",
        Step::SignedIn => "signed in, or no sign-in is set",
        Step::SenderTaken => "it takes mail from our sender",
        Step::ReceiversAnswered => "it answers for each receiver:",
        Step::BodyBegins => "it waits for the mail",
        Step::BodyEnds => "the mail goes out",
        Step::BodyEnded => "the mail is handed over",
        Step::Answered => "it has answered to the mail",
    }
}
