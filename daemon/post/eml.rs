//! A letter as the bytes of a mail: built once, then stored, and sent as they are however often it takes.

use std::time::{Duration, SystemTime};

use lettre::Message;
use lettre::message::header::{ContentTransferEncoding, ContentType, HeaderName, HeaderValue};
use lettre::message::{Attachment, Body, Mailbox, MultiPart, SinglePart};

use super::PostFailure;
use crate::digest::{Letter, full_list_name, one_line};

/// The longest address with its name, in characters; a header line must stay below 998 bytes (RFC 5322, 2.1.1), also
/// when every letter takes many.
const ADDRESS: usize = 150;
/// The longest subject, in characters; ours have at most 70.
const SUBJECT: usize = 100;
/// The longest message id, in bytes: one header line must hold it (RFC 5322, 2.1.1).
const MESSAGE_ID: usize = 250;
/// The largest full list that goes with the mail, in bytes; a larger one is in the folder only, since many mail
/// servers refuse mails of more than 10 MB.
const ATTACHED: usize = 4_000_000;

/// What separates the parts. `=_` can stand neither in quoted-printable nor in base64 (RFC 2045, 6.7), so no letter
/// can hold one of these; and being fixed, the same letter always gives the same bytes.
const LETTER_BOUNDARY: &str = "=_tickover_letter";
/// The same, for the letter with a list attached.
const PARTS_BOUNDARY: &str = "=_tickover_parts";

/// What is written on the mail.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Envelope {
    /// The sender: `desk@shop.example` or `Name <desk@shop.example>`.
    pub from: String,
    /// The receivers, each in the same form.
    pub to: Vec<String>,
    /// The mail's lasting name, with its angle brackets: the same letter sent again keeps it.
    pub message_id: String,
    /// The mail's moment, in seconds since 1970 in UTC.
    pub date_seconds: i64,
}

/// The mail of a letter. The same letter and envelope give the same bytes.
pub fn as_eml(letter: &Letter, envelope: &Envelope) -> Result<Vec<u8>, PostFailure> {
    let from = mailbox("the sender's", &envelope.from)?;
    let list_id = format!("Morning letter <tickover.{}>", from.email.domain());
    let mut mail = Message::builder()
        .message_id(Some(message_id(&envelope.message_id)?))
        .date(moment(envelope.date_seconds)?)
        .from(from)
        .subject(header_text(&letter.subject, SUBJECT))
        // A program wrote this and nobody's absence note should answer it (RFC 3834, 5; [MS-OXCMAIL] 2.1.3.2.20: `All`
        // would keep failure notices away, too).
        .raw_header(header("Auto-Submitted", "auto-generated"))
        .raw_header(header("X-Auto-Response-Suppress", "OOF, AutoReply"))
        // Something fixed to sort by (RFC 2919).
        .raw_header(header("List-Id", &list_id));
    if envelope.to.is_empty() {
        return Err(PostFailure::NoReceiver);
    }
    for receiver in &envelope.to {
        mail = mail.to(mailbox("a receiver's", receiver)?);
    }
    let both = MultiPart::alternative()
        .boundary(LETTER_BOUNDARY)
        .singlepart(part(ContentType::TEXT_PLAIN, &letter.text))
        .singlepart(part(ContentType::TEXT_HTML, &letter.html));
    let whole = match letter.full_list.as_ref().filter(|list| list.len() <= ATTACHED) {
        None => both,
        Some(list) => MultiPart::mixed().boundary(PARTS_BOUNDARY).multipart(both).singlepart(
            Attachment::new(full_list_name(letter.day))
                .body(encoded(list, ContentTransferEncoding::Base64), ContentType::TEXT_PLAIN),
        ),
    };
    let mail = mail.multipart(whole).map_err(|source| PostFailure::Mail { source })?;
    Ok(mail.formatted())
}

/// One form of the letter, in quoted-printable whatever it holds.
fn part(kind: ContentType, text: &str) -> SinglePart {
    SinglePart::builder().content_type(kind).body(encoded(text, ContentTransferEncoding::QuotedPrintable))
}

/// A text in an encoding that takes every text.
fn encoded(text: &str, encoding: ContentTransferEncoding) -> Body {
    Body::new_with_encoding(text.to_owned(), encoding)
        .expect("quoted-printable and base64 take every text; only the 7-bit and 8-bit encodings refuse some")
}

/// An address with its name, made safe first: the mail library panics at a line break in a name.
fn mailbox(whose: &'static str, given: &str) -> Result<Mailbox, PostFailure> {
    let given = header_text(given, ADDRESS);
    let failure = |why| PostFailure::Address { whose, given: given.clone(), why };
    let mailbox: Mailbox = given.parse().map_err(|_| failure("it has not the form of an address"))?;
    if !AsRef::<str>::as_ref(&mailbox.email).is_ascii() {
        return Err(failure("it has letters that many mail servers do not take"));
    }
    Ok(mailbox)
}

/// A text from outside for a header line. What looks like an encoded word (RFC 2047, 2) is broken up: the mail library
/// writes it as it stands, and readers would decode it into other words.
fn header_text(text: &str, longest: usize) -> String {
    one_line(text, longest).replace("=?", "= ?")
}

/// The address alone, without the name that may stand before it, for the server.
pub(super) fn bare_address(whose: &'static str, given: &str) -> Result<String, PostFailure> {
    /// The longest address that a mail server must take (RFC 5321, 4.5.3.1.3, less the brackets).
    const LONGEST: usize = 254;
    let address = mailbox(whose, given)?.email.to_string();
    let is_plain = address.bytes().all(|byte| byte.is_ascii_graphic() && !b"<>".contains(&byte));
    if is_plain && address.len() <= LONGEST {
        return Ok(address);
    }
    let given = one_line(given, ADDRESS);
    Err(PostFailure::Address {
        whose,
        given,
        why: "it is too long, or has signs that many mail servers do not take",
    })
}

/// The message id, when it has the form of one.
fn message_id(given: &str) -> Result<String, PostFailure> {
    let inner = given.strip_prefix('<').and_then(|rest| rest.strip_suffix('>')).unwrap_or_default();
    let plain = inner.bytes().all(|byte| byte.is_ascii_graphic() && !b"<>()[],;:\\\"".contains(&byte));
    let halves: Vec<&str> = inner.split('@').collect();
    if plain && given.len() <= MESSAGE_ID && halves.len() == 2 && halves.iter().all(|half| !half.is_empty()) {
        Ok(given.to_owned())
    } else {
        Err(PostFailure::MessageId { given: one_line(given, ADDRESS) })
    }
}

/// The moment of the mail's date line.
fn moment(seconds: i64) -> Result<SystemTime, PostFailure> {
    /// 1 January 2100: whatever lies beyond is not this morning.
    const LATEST: u64 = 4_102_444_800;
    u64::try_from(seconds)
        .ok()
        .filter(|seconds| *seconds < LATEST)
        .map(|seconds| SystemTime::UNIX_EPOCH + Duration::from_secs(seconds))
        .ok_or(PostFailure::Moment { seconds })
}

/// One more header line; its name is one of our constants.
fn header(name: &'static str, value: &str) -> HeaderValue {
    HeaderValue::new(HeaderName::new_from_ascii_str(name), value.to_owned())
}

#[cfg(test)]
#[path = "eml_tests.rs"]
mod tests;
