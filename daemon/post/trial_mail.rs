//! A short mail that shows whether the account works.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::eml::bare_address;
use super::{Envelope, PostFailure, as_eml};
use crate::digest::Letter;

/// The mail that `post check` sends: it tells of no machine and nobody, so that it may go to any address.
pub fn trial_mail(from: &str, to: &str, now: Timestamp) -> Result<Vec<u8>, PostFailure> {
    let sender = bare_address("the sender's", from)?;
    let domain = sender.rsplit('@').next().unwrap_or_default();
    let text = "Tickover can send mail by this account.\n\nThis mail was asked for to try it; nothing is to be done.\n";
    let letter = Letter {
        day: now.to_zoned_datetime(TimeZone::UTC).date(),
        subject: "Tickover can send mail".to_owned(),
        text: text.to_owned(),
        html: "<!DOCTYPE html>\n<html lang=\"en-GB\"><head><meta charset=\"utf-8\"><title>Tickover can send mail</title></head>\n\
               <body><p>Tickover can send mail by this account.</p>\n\
               <p>This mail was asked for to try it; nothing is to be done.</p></body></html>\n"
            .to_owned(),
        full_list: None,
    };
    let envelope = Envelope {
        from: from.to_owned(),
        to: vec![to.to_owned()],
        message_id: format!("<trial.{}@{domain}>", now.as_millisecond()),
        date_seconds: now.as_second(),
    };
    as_eml(&letter, &envelope)
}
