//! The letter's turn: sender, receivers, and the message itself.

use super::call::{self, Call, Ended};
use super::people::People;
use super::wire::{Break, Pace, Reply};
use super::{Answer, SendLimits, Step, Verdict};
use crate::post::fault::{FaultKind, SetupFault};
use crate::post::{Account, Refusal};
use crate::settings::SignIn;

/// The pieces in which a message is handed over, in bytes.
const PIECE: usize = 16 * 1024;

/// Calls the server, tells it of the sender and of a mail of `size` bytes, and asks for every receiver. There is no
/// call where we were told to stop.
pub(super) async fn ask_for_all(
    people: &People,
    size: Option<u64>,
    account: &Account,
    limits: &SendLimits,
    pace: &Pace<'_>,
    step: &mut dyn FnMut(Step),
) -> Result<(Option<Call>, Vec<Answer>), SetupFault> {
    let everybody = |answer: &Answer| people.addresses().map(|_| answer.clone()).collect();
    let hello_name = account.settings.hello_name.as_deref().unwrap_or(people.domain());
    let mut call = match call::open(account, hello_name, limits, pace, step).await {
        Ok(call) => call,
        Err(Ended::Fault(fault)) => return Err(fault),
        Err(Ended::Stopped) => return Ok((None, everybody(&not_now(&Break::Stopped)))),
    };
    let signs_in = account.settings.sign_in != SignIn::None;
    match ask_for_sender(&mut call, &people.sender, size, limits, pace).await.map_err(after(signs_in))? {
        Answer::Taken => step(Step::SenderTaken),
        answer => return Ok((Some(call), everybody(&answer))),
    }
    let mut answers = Vec::new();
    let mut against_us = Vec::new();
    for address in people.addresses() {
        let asked = call.wire.ask(&format!("RCPT TO:<{address}>\r\n"), limits.command, pace).await;
        answers.push(match asked {
            // RFC 5321, 4.5.3.1.10: here, 552 is to be taken for 'too many just now'.
            Ok(reply) if reply.code == 552 => Answer::Later { words: reply.words() },
            Ok(reply) => {
                against_us.extend(reply.may_be_against_the_sender().then(|| reply.words()));
                answer(&reply)
            }
            Err(broken) => not_now(&broken),
        });
    }
    match against_us.first() {
        // Many servers say only now what they have against the sender, to each receiver alike. Were it taken for a
        // refusal of these, a slip in the settings would end the letter for good.
        Some(words) if against_us.len() == answers.len() => {
            let is_sender = signs_in && !words.starts_with("530");
            let kind = if is_sender { FaultKind::Sender } else { FaultKind::SignInWanted };
            Err(after(signs_in)(SetupFault::new(kind, words)))
        }
        _ => {
            if !answers.is_empty() {
                step(Step::ReceiversAnswered);
            }
            Ok((Some(call), answers))
        }
    }
}

/// A fault with what to do about it by now: a server that still wants a sign-in after one means something else.
pub(super) fn after(signs_in: bool) -> impl Fn(SetupFault) -> SetupFault {
    let help = "The sign-in went well, and it wants another one all the same. Check `server` and `port` under [mail], and ask \
                the mail provider whether this account may send by it.";
    move |fault| match fault.kind {
        FaultKind::SignInWanted if signs_in => SetupFault { help, ..fault },
        _ => fault,
    }
}

/// Tells the server of the sender and the size. The sender is the account's own, so that a refusal is the account's
/// fault, unless it is the mail that is too large.
async fn ask_for_sender(
    call: &mut Call,
    sender: &str,
    size: Option<u64>,
    limits: &SendLimits,
    pace: &Pace<'_>,
) -> Result<Answer, SetupFault> {
    let mut size_told = String::new();
    if let (Some(size), Some(most)) = (size, call.size_most) {
        if most > 0 && size > most {
            let words = format!("the mail has {size} bytes, and the server takes at most {most}");
            return Ok(Answer::Refused { of: Refusal::Size, words });
        }
        size_told = format!(" SIZE={size}");
    }
    let asked = call.wire.ask(&format!("MAIL FROM:<{sender}>{size_told}\r\n"), limits.command, pace).await;
    let reply = match asked {
        Ok(reply) => reply,
        Err(broken) => return Ok(not_now(&broken)),
    };
    match reply.code {
        530 => Err(SetupFault::new(FaultKind::SignInWanted, &reply.words())),
        // Too large for this server.
        _ if reply.is_about_size() => Ok(Answer::Refused { of: Refusal::Size, words: reply.words() }),
        _ if reply.is_refusal() => Err(SetupFault::new(FaultKind::Sender, &reply.words())),
        _ => Ok(answer(&reply)),
    }
}

/// Hands the message over and says what became of it, for everybody whom the server takes it for.
///
/// # Errors
/// The server has something against the sender, which is the account's fault and not the letter's.
pub(super) async fn hand_over(
    call: &mut Call,
    eml: &[u8],
    limits: &SendLimits,
    pace: &Pace<'_>,
    step: &mut dyn FnMut(Step),
) -> Result<Verdict, SetupFault> {
    match call.wire.ask("DATA\r\n", limits.command, pace).await {
        Ok(reply) if reply.code == 354 => step(Step::BodyBegins),
        Ok(reply) if reply.is_refusal() => return refused(&reply),
        Ok(reply) => return Ok(Verdict::Later { words: reply.words() }),
        Err(broken) => return Ok(Verdict::Later { words: broken.words() }),
    }
    for piece in dotted(eml).chunks(PIECE) {
        // Without its last line a message is none, and no server keeps it.
        if let Err(broken) = call.wire.say(piece, limits.piece, pace).await {
            return Ok(Verdict::Later { words: broken.words() });
        }
    }
    // From the first byte of the last line on, whatever goes wrong here says nothing of what the server did.
    let perhaps = |broken: Break| Verdict::PerhapsSent { words: broken.words() };
    if let Err(broken) = call.wire.say(b".\r\n", limits.piece, pace).await {
        return Ok(perhaps(broken));
    }
    step(Step::BodyEnded);
    let heard = call.wire.hear(limits.last_answer, pace).await;
    if heard.is_ok() {
        step(Step::Answered);
    }
    Ok(match heard {
        Err(broken) => perhaps(broken),
        Ok(reply) if reply.is_good() => Verdict::Sent { words: reply.words() },
        Ok(reply) if reply.is_refusal() => return refused(&reply),
        Ok(reply) if reply.code / 100 == 4 => Verdict::Later { words: reply.words() },
        Ok(reply) => Verdict::PerhapsSent { words: reply.words() },
    })
}

/// What a refusal of the message is about: mostly the letter. Many servers say only here what they have against the
/// sender or a receiver.
fn refused(reply: &Reply) -> Result<Verdict, SetupFault> {
    let words = reply.words();
    let of = match reply {
        _ if reply.code == 530 => return Err(SetupFault::new(FaultKind::SignInWanted, &words)),
        _ if reply.is_against_the_sender() => return Err(SetupFault::new(FaultKind::Sender, &words)),
        _ if reply.is_about_size() => Refusal::Size,
        _ if reply.is_against_a_receiver() => Refusal::Receiver,
        _ => Refusal::Letter,
    };
    Ok(Verdict::Refused { of, words })
}

/// What a reply says of a sender or receiver.
fn answer(reply: &Reply) -> Answer {
    if reply.is_good() {
        Answer::Taken
    } else if reply.is_refusal() {
        let of = if reply.is_about_size() { Refusal::Size } else { Refusal::Receiver };
        Answer::Refused { of, words: reply.words() }
    } else {
        Answer::Later { words: reply.words() }
    }
}

fn not_now(broken: &Break) -> Answer {
    Answer::Later { words: broken.words() }
}

/// A message as it goes over the wire (RFC 5321, 4.5.2): a dot at the begin of a line is doubled, so that none of its
/// lines is taken for the end, and it ends with a line end. A lone `\n` counts as a line's end here, as it does for some
/// servers.
fn dotted(eml: &[u8]) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(eml.len() + 2);
    let mut is_begin = true;
    for byte in eml {
        if is_begin && *byte == b'.' {
            bytes.push(b'.');
        }
        bytes.push(*byte);
        is_begin = *byte == b'\n';
    }
    if !bytes.ends_with(b"\r\n") {
        bytes.extend_from_slice(b"\r\n");
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_of_a_message_is_taken_for_its_end() {
        // The first two from RFC 5321, 4.5.2; the others are our decision.
        for (eml, expected) in [
            ("a\r\nb\r\n", "a\r\nb\r\n"),
            (".\r\n..a\r\n", "..\r\n...a\r\n"),
            ("a", "a\r\n"),
            ("a\n.\nb", "a\n..\nb\r\n"),
            ("a\r\n.", "a\r\n..\r\n"),
            ("", "\r\n"),
        ] {
            assert_eq!(String::from_utf8(dotted(eml.as_bytes())).unwrap(), expected, "{eml:?}");
        }
    }
}
