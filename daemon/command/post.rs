//! `tickover post check`: tries the mail account step by step, and says what is wrong and what to do.

use std::sync::atomic::AtomicBool;

use super::arguments::{PostSubverb, PostVerb};
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::post::{self, Account, Answer, Parcel, PostFailure, SendLimits, SetupFault, Step, Verdict};
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
    let Some(mail) = &settings.mail else {
        say::out(
            "Letters go to the folder digests/ alone: no mail account is set.\nTo have them sent, fill in [mail] in \
             tickover.toml with what the mail provider tells for programs that send mail: server, security and user. The \
             password never stands there, but in the environment variable TICKOVER_MAIL_PASSWORD, the service manager's \
             credential mail-password, or a file of its own.",
        );
        return DONE;
    };
    match check(&folder, &settings, mail, send.as_deref()) {
        Ok(true) => DONE,
        Ok(false) => NEEDS_A_PERSON,
        Err(fault) => {
            say::talk(&format!("error: {}\nhelp: {}", fault.what, fault.help));
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
    say::out(&format!("Trying {}, port {}, {}.", mail.server, mail.port, described(mail.security)));
    let account = Account::open(mail, folder.root(), &NEVER)?;
    let mut receivers = settings.to.clone();
    for receiver in &settings.in_part {
        if !receivers.contains(&receiver.address) {
            receivers.push(receiver.address.clone());
        }
    }
    let limits = SendLimits::default();
    let mut reached = |step| say::out(reached(step));
    let answers = post::check(&settings.from, &receivers, &account, &limits, &NEVER, &mut reached)?;
    let mut all_well = true;
    for (address, answer) in answers {
        let (line, is_well) = match answer {
            Answer::Taken => (format!("  {address}: the server takes mail for it"), true),
            Answer::Refused { words } => (format!("  {address}: refused, {words}"), false),
            Answer::Later { words } => (format!("  {address}: not now, {words}"), false),
        };
        say::out(&line);
        all_well &= is_well;
    }
    if let Some(address) = send {
        all_well &= trial(settings, &account, address)?;
    }
    if !all_well {
        say::talk("help: Correct the address, or ask the mail provider about these words.");
    }
    Ok(all_well)
}

/// Sends the short mail; whether it went.
fn trial(settings: &Settings, account: &Account, address: &str) -> Result<bool, SetupFault> {
    let eml = match post::trial_mail(&settings.from, address, today::now()) {
        Ok(eml) => eml,
        Err(failure) => {
            say_failure(&failure);
            return Ok(false);
        }
    };
    let receivers = [address.to_owned()];
    let parcel = Parcel { from: &settings.from, receivers: &receivers, eml: &eml };
    let verdicts = post::send(&parcel, account, &SendLimits::default(), &NEVER, &mut |_| ())?;
    let mut all_well = true;
    for (address, verdict) in verdicts {
        let (line, is_well) = match verdict {
            Verdict::Sent { words } => (format!("A short mail is on its way to {address}: {words}"), true),
            Verdict::Refused { words } => (format!("The short mail to {address} is refused: {words}"), false),
            Verdict::Later { words } => (format!("The short mail to {address} was not sent: {words}"), false),
            Verdict::PerhapsSent { words } => {
                (format!("Nobody can tell whether the short mail to {address} was sent: {words}"), false)
            }
        };
        say::out(&line);
        all_well &= is_well;
    }
    Ok(all_well)
}

fn say_failure(failure: &PostFailure) {
    say::talk(&format!("error: cannot {failure}"));
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
        Step::Connected => "  connected",
        Step::Greeted => "  greeted: it is a mail server",
        Step::Secured => "  secured: its certificate is the right one",
        Step::SignedIn => "  signed in, or no sign-in is set",
        Step::SenderTaken => "  it takes mail from our sender",
        Step::ReceiversAnswered => "  it answers for each receiver:",
        Step::BodyBegins => "  it waits for the mail",
        Step::BodyEnded => "  the mail is handed over",
        Step::Answered => "  it has answered to the mail",
    }
}
