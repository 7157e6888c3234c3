//! Sends a mail to a server and says for each address what became of it: our own conversation, since only its steps
//! tell a letter that was lost from one that was stored.

mod call;
mod limits;
mod mail;
mod people;
mod sign_in;
pub(super) mod tls;
mod wire;

use std::sync::atomic::AtomicBool;

use super::{Account, FaultKind, Refusal, SetupFault};
use crate::settings::SignIn;
use mail::{after, ask_for_all, hand_over};
use people::People;
use wire::{Pace, shown};

pub use limits::SendLimits;
pub use wire::reply_line;

/// A mail with the people it is for.
#[derive(Debug, Clone, Copy)]
pub struct Parcel<'a> {
    /// The sender, as an address with or without a name.
    pub from: &'a str,
    /// The receivers, in the same form.
    pub receivers: &'a [String],
    /// The mail's bytes, sent as they are.
    pub eml: &'a [u8],
}

/// What became of the mail for one address.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    /// The server has it and answers for it.
    Sent {
        /// What the server said, mostly with its own number for the mail.
        words: String,
    },
    /// The server, or the address itself, refuses for good.
    Refused {
        /// What is refused.
        of: Refusal,
        /// Why.
        words: String,
    },
    /// It has it not, and may take it later.
    Later {
        /// Why.
        words: String,
    },
    /// The whole mail was handed over and no answer came: the server may have it or not.
    PerhapsSent {
        /// What came instead.
        words: String,
    },
}

/// What a server says to an address before it has seen the mail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// It would take a mail for it.
    Taken,
    /// It refuses for good.
    Refused {
        /// What is refused.
        of: Refusal,
        /// Why.
        words: String,
    },
    /// Not now.
    Later {
        /// Why.
        words: String,
    },
}

/// How far a sending has come; each is announced once it is reached, in this order but for `Secured`, which comes
/// before `Greeted` where the connection is secured from the first byte.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Step {
    /// The connection stands.
    Connected,
    /// The server has greeted and said what it offers.
    Greeted,
    /// Nobody in between can read or change anything any more.
    Secured,
    /// The server takes us for the account's owner, or nobody asked.
    SignedIn,
    /// The server takes mail from the sender.
    SenderTaken,
    /// The server has answered to every receiver.
    ReceiversAnswered,
    /// The server waits for the message, of which nothing has been said.
    BodyBegins,
    /// The whole message but its last line was handed over, and that is about to be.
    BodyEnds,
    /// The whole message was handed over; nothing was answered.
    BodyEnded,
    /// The server has answered to the message.
    Answered,
}

/// Sends a mail and gives one verdict for each receiver, in their order.
///
/// Ends within the limits' total, and soon after `stop` is set: with `Later` before the message's end was handed over,
/// and `PerhapsSent` after it.
///
/// # Errors
/// What keeps the account from sending anything at all: nothing was handed over.
pub fn send(
    parcel: &Parcel<'_>,
    account: &Account,
    limits: &SendLimits,
    stop: &AtomicBool,
    step: &mut dyn FnMut(Step),
) -> Result<Vec<(String, Verdict)>, SetupFault> {
    let people = People::of(parcel.from, parcel.receivers)?;
    if people.addresses().next().is_none() {
        // There is nobody to ask for, and so no call to make.
        return Ok(people.with(Vec::new(), refused_address));
    }
    let answers = talk(async {
        let pace = Pace::new(limits.total, stop);
        let size = parcel.eml.len() as u64;
        let (call, answers) = ask_for_all(&people, Some(size), account, limits, &pace, step).await?;
        let Some(mut call) = call else { return Ok(verdicts(answers, None)) };
        let taken = answers.contains(&Answer::Taken);
        let verdict =
            if taken { Some(hand_over(&mut call, parcel.eml, limits, &pace, step).await) } else { None };
        // What became of the mail is known by now; a goodbye that fails changes nothing.
        let _ = call.wire.ask("QUIT\r\n", limits.goodbye, &pace).await;
        let signs_in = account.settings.sign_in != SignIn::None;
        Ok(verdicts(answers, verdict.transpose().map_err(after(signs_in))?.as_ref()))
    })?;
    Ok(people.with(answers, refused_address))
}

/// A receiver whose address is none.
fn refused_address(words: String) -> Verdict {
    Verdict::Refused { of: Refusal::Receiver, words }
}

/// Goes as far as a sending of `size` bytes does without a mail, and gives the server's answer to each receiver, in
/// their order. Without a receiver it goes as far as the sender.
///
/// # Errors
/// What keeps the account from sending anything at all.
pub fn check(
    from: &str,
    receivers: &[String],
    size: Option<u64>,
    account: &Account,
    limits: &SendLimits,
    stop: &AtomicBool,
    step: &mut dyn FnMut(Step),
) -> Result<Vec<(String, Answer)>, SetupFault> {
    let people = People::of(from, receivers)?;
    let answers = talk(async {
        let pace = Pace::new(limits.total, stop);
        let (call, answers) = ask_for_all(&people, size, account, limits, &pace, step).await?;
        if let Some(mut call) = call {
            // The server forgets a mail that was begun, also where one of these goes wrong.
            let _ = call.wire.ask("RSET\r\n", limits.goodbye, &pace).await;
            let _ = call.wire.ask("QUIT\r\n", limits.goodbye, &pace).await;
        }
        Ok(answers)
    })?;
    Ok(people.with(answers, |words| Answer::Refused { of: Refusal::Receiver, words }))
}

/// What became of the mail for each address: for those that were taken, what the server said to the mail itself.
fn verdicts(answers: Vec<Answer>, mail: Option<&Verdict>) -> Vec<Verdict> {
    let verdict = |answer| match answer {
        Answer::Refused { of, words } => Verdict::Refused { of, words },
        Answer::Later { words } => Verdict::Later { words },
        Answer::Taken => mail.cloned().expect("a mail is handed over where an address was taken"),
    };
    answers.into_iter().map(verdict).collect()
}

/// Holds a conversation in a small runtime of its own, which ends with it.
fn talk<T>(conversation: impl Future<Output = Result<T, SetupFault>>) -> Result<T, SetupFault> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().map_err(|cause| {
        SetupFault::new(FaultKind::BrokenOff, &format!("no network ({})", shown(&cause.to_string())))
    })?;
    let told = runtime.block_on(conversation);
    // Dropping it would wait for a name server that does not answer.
    runtime.shutdown_background();
    told
}
