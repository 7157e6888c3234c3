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
        let is_password_taken = offered("PLAIN") || offered("LOGIN");
        let words = if offers.is_empty() { "nothing".to_owned() } else { offers.join(", ") };
        let fault = SetupFault::new(FaultKind::NoCommonSignIn, &format!("it offers {words}"));
        Err(match is_token {
            _ if offers.is_empty() => SetupFault { help: NO_OFFER, ..fault },
            false if offered("XOAUTH2") => SetupFault { help: TOKEN_ALONE, ..fault },
            true if is_password_taken => SetupFault { help: PASSWORD_ALONE, ..fault },
            _ => fault,
        })
    }
}

/// What to do where the server takes no password.
const TOKEN_ALONE: &str = "It takes a token alone, and no password: set `sign_in = \"token\"` under [mail], with a \
                           `token_command` that prints one. Ask the mail provider how a program gets it (OAuth).";
/// What to do where it takes no token.
const PASSWORD_ALONE: &str = "It takes a password alone, and no token: set `sign_in = \"password\"` under [mail], take \
                              `token_command` out, and give the password.";
/// What to do where it lets nobody sign in.
const NO_OFFER: &str = "Programs mostly sign in at port 587 with \"starttls\" or 465 with \"tls\": check `port` and \
                        `security` under [mail]. A server that asks for no name takes `sign_in = \"none\"`, without `user`.";
/// What to do where the mail provider has put an end to passwords.
const NO_PASSWORDS: &str = "The provider takes no passwords from programs for this account, so no other password helps. \
                            Set `sign_in = \"token\"` under [mail], with a `token_command`; or have the provider, or \
                            whoever runs the account, allow it again.";

/// A refusal that is not for good is no fault of the password; nor is one by which no password is taken.
fn refused(reply: &Reply, is_token: bool) -> SetupFault {
    let words = reply.words();
    match reply.is_refusal() {
        false => SetupFault::new(FaultKind::SignInLater, &words),
        true if !is_token && no_passwords(&words) => {
            SetupFault::advised(FaultKind::SignInRefused, &words, NO_PASSWORDS)
        }
        true => SetupFault::new(refusal(is_token), &words),
    }
}

/// Whether a refusal says that sign-in by password is turned off. No status tells it (RFC 4954, 6), so the words must:
/// common practice, no source.
fn no_passwords(words: &str) -> bool {
    let words = words.to_lowercase();
    let names_a_way =
        ["basic auth", "smtp auth", "client auth", "authentication method", "password authentication"];
    words.contains("disabled") && names_a_way.iter().any(|way| words.contains(way))
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
    fn words_that_put_an_end_to_passwords_are_told_from_those_about_one() {
        // From memory of what servers say; no source.
        for (words, expected) in [
            ("535 5.7.139 Authentication unsuccessful, basic authentication is disabled.", true),
            (
                "535 5.7.139 SmtpClientAuthentication is disabled: client authentication is disabled for it",
                true,
            ),
            ("535 5.7.8 Password authentication is disabled for this account", true),
            ("535 5.7.8 Username and password not accepted", false),
            ("535 5.7.8 Error: authentication failed: account disabled", false),
            ("534 5.7.9 Application-specific password required", false),
        ] {
            assert_eq!(no_passwords(words), expected, "{words}");
        }
    }

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
