//! Signing in to a mail server: with a password (RFC 4954; PLAIN, RFC 4616, or LOGIN) or with a token (XOAUTH2).

use super::SendLimits;
use super::call::{Call, Ended};
use super::wire::{Pace, Reply};
use crate::post::fault::{FaultKind, SetupFault};
use crate::post::{Account, Secret};
use crate::settings::SignIn;

/// Signs in where the settings say so.
pub(super) async fn sign_in(
    call: &mut Call,
    account: &Account,
    limits: &SendLimits,
    pace: &Pace<'_>,
) -> Result<(), Ended> {
    let (user, is_token) = match &account.settings.sign_in {
        SignIn::None => return Ok(()),
        SignIn::Password { user, .. } => (user, false),
        SignIn::Token { user, .. } => (user, true),
    };
    let Some(secret) = &account.secret else { return Err(SetupFault::new(FaultKind::NoPassword, "").into()) };
    let mut lines = lines(&call.sign_in_offers, user, is_token, secret)?;
    call.wire.hide([secret.revealed().to_owned()]);
    call.wire.hide(lines.last().and_then(|line| line.rsplit(' ').next()).map(str::to_owned));
    // A refused token is explained in a challenge, which wants an empty answer before the refusal itself.
    lines.push(String::new());
    let mut last = None;
    for line in lines {
        let reply = call.wire.ask(&format!("{line}\r\n"), limits.command, pace).await?;
        match reply.code {
            235 => return Ok(()),
            334 => last = Some(reply),
            _ => return Err(refused(&reply, is_token).into()),
        }
    }
    let words = last.map(|reply| reply.words()).unwrap_or_default();
    Err(SetupFault::new(refusal(is_token), &words).into())
}

/// What is to be said, line by line, in the first way that the server offers and the settings can; the secret is the
/// last word of the last line.
fn lines(offers: &[String], user: &str, is_token: bool, secret: &Secret) -> Result<Vec<String>, SetupFault> {
    let offered = |way: &str| offers.iter().any(|offer| offer == way);
    let secret = secret.revealed();
    if is_token && offered("XOAUTH2") {
        let token = format!("user={user}\u{1}auth=Bearer {secret}\u{1}\u{1}");
        Ok(vec![format!("AUTH XOAUTH2 {}", base64(token.as_bytes()))])
    } else if !is_token && offered("PLAIN") {
        Ok(vec![format!("AUTH PLAIN {}", base64(format!("\0{user}\0{secret}").as_bytes()))])
    } else if !is_token && offered("LOGIN") {
        Ok(vec!["AUTH LOGIN".to_owned(), base64(user.as_bytes()), base64(secret.as_bytes())])
    } else {
        let offers = if offers.is_empty() { "nothing".to_owned() } else { offers.join(", ") };
        Err(SetupFault::new(FaultKind::NoCommonSignIn, &format!("it offers {offers}")))
    }
}

/// A refusal that is not for good is no fault of the password.
fn refused(reply: &Reply, is_token: bool) -> SetupFault {
    let kind = if reply.is_refusal() { refusal(is_token) } else { FaultKind::SignInLater };
    SetupFault::new(kind, &reply.words())
}

/// What a refusal for good is a fault of.
fn refusal(is_token: bool) -> FaultKind {
    if is_token { FaultKind::TokenRefused } else { FaultKind::SignInRefused }
}

/// Bytes in letters that every server takes (RFC 4648, 4).
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |place: usize| u32::from(three.get(place).copied().unwrap_or_default());
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        for place in 0..4 {
            let is_filled = place <= three.len();
            let letter = LETTERS[(bits >> (18 - 6 * place) & 63) as usize];
            text.push(if is_filled { char::from(letter) } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_written_as_rfc_4648_section_10_shows() {
        for (bytes, expected) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(bytes.as_bytes()), expected);
        }
    }
}
