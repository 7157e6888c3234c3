//! A call to the mail server up to the point where the letter's turn comes: connected, secured, greeted, signed in.

use std::io;
use std::net::IpAddr;

use tokio::net::{TcpStream, lookup_host};
use tokio::time::timeout;

use super::sign_in::sign_in;
use super::wire::{Break, Pace, Reply, Wire, shown};
use super::{SendLimits, Step, tls};
use crate::post::Account;
use crate::post::fault::{FaultKind, SetupFault};
use crate::settings::{MailAccount, Security};

/// The most addresses of one server that are tried.
const ADDRESSES_MOST: usize = 8;

/// Why there is no call to send the letter by.
#[derive(Debug)]
pub(super) enum Ended {
    /// A fault of the account, the network or the server.
    Fault(SetupFault),
    /// We were told to stop.
    Stopped,
}

impl From<SetupFault> for Ended {
    fn from(fault: SetupFault) -> Ended {
        Ended::Fault(fault)
    }
}

impl From<Break> for Ended {
    fn from(broken: Break) -> Ended {
        match broken {
            Break::Stopped => Ended::Stopped,
            broken => SetupFault::new(FaultKind::BrokenOff, &broken.words()).into(),
        }
    }
}

/// A server that is ready to take a letter.
pub(super) struct Call {
    pub(super) wire: Wire,
    /// The ways to sign in that the server offers, in capitals.
    pub(super) sign_in_offers: Vec<String>,
    /// The largest letter that the server takes, in bytes; `None` where it does not say, 0 where it has no limit (RFC
    /// 1870, 3).
    pub(super) size_most: Option<u64>,
    /// Whether the server offers to secure the connection.
    offers_security: bool,
}

/// Calls the server, and announces each step as it is reached.
pub(super) async fn open(
    account: &Account,
    hello_name: &str,
    limits: &SendLimits,
    pace: &Pace<'_>,
    step: &mut dyn FnMut(Step),
) -> Result<Call, Ended> {
    let stream = connect(account, limits, pace).await?;
    step(Step::Connected);
    if !may_be_said(&account.settings, stream.peer_addr().ok().map(|address| address.ip())) {
        return Err(SetupFault::new(FaultKind::OpenSecret, "").into());
    }
    let mut call = Call {
        wire: Wire::new(Box::new(stream)),
        sign_in_offers: Vec::new(),
        size_most: None,
        offers_security: false,
    };
    if account.settings.security == Security::Tls {
        call = secured(call, account, limits, pace).await?;
        step(Step::Secured);
    }
    let greeting = call.wire.hear(limits.greeting, pace).await.map_err(not_greeted)?;
    if !greeting.is_good() {
        return Err(turned_away(&greeting).into());
    }
    say_hello(&mut call, hello_name, limits, pace).await?;
    step(Step::Greeted);
    if account.settings.security == Security::StartTls {
        if !call.offers_security {
            return Err(SetupFault::new(FaultKind::NoStartTls, "it does not offer STARTTLS").into());
        }
        let reply = call.wire.ask("STARTTLS\r\n", limits.command, pace).await?;
        if reply.code != 220 {
            return Err(SetupFault::new(FaultKind::NoStartTls, &reply.words()).into());
        }
        call = secured(call, account, limits, pace).await?;
        // What was offered in the open may have been written by somebody in between (RFC 3207, 4.2).
        say_hello(&mut call, hello_name, limits, pace).await?;
        step(Step::Secured);
    }
    sign_in(&mut call, account, limits, pace).await?;
    step(Step::SignedIn);
    Ok(call)
}

/// Whether anything may be said over a connection to this address. In the open only to this PC, unless the owner
/// insists: a name that meant this one when the settings were written may mean another one by now.
fn may_be_said(settings: &MailAccount, address: Option<IpAddr>) -> bool {
    let is_this_pc = address.is_some_and(|address| address.is_loopback());
    settings.security != Security::Plain || is_this_pc || settings.insist_on_plain
}

/// A connection to the first of the server's addresses that takes one.
async fn connect(account: &Account, limits: &SendLimits, pace: &Pace<'_>) -> Result<TcpStream, Ended> {
    let server = account.settings.server.as_str();
    let found = pace.within(limits.connecting, async {
        Ok(lookup_host((server, account.settings.port)).await.map(Iterator::collect::<Vec<_>>))
    });
    let mut addresses = match found.await {
        Ok(Ok(addresses)) if !addresses.is_empty() => addresses,
        Ok(found) => {
            let words = found.err().map(|cause| shown(&cause.to_string())).unwrap_or_default();
            return Err(SetupFault::new(FaultKind::ServerNotFound, &words).into());
        }
        Err(Break::Stopped) => return Err(Ended::Stopped),
        Err(broken) => return Err(SetupFault::new(FaultKind::ServerNotFound, &broken.words()).into()),
    };
    addresses.truncate(ADDRESSES_MOST);
    // An address that nobody answers at must leave time for the next one.
    let share = limits.connecting / u32::try_from(addresses.len()).unwrap_or(1);
    let mut last = io::Error::from(io::ErrorKind::TimedOut);
    for address in addresses {
        let tried = pace.within(limits.connecting, async {
            Ok(timeout(share, TcpStream::connect(address)).await.map_err(io::Error::from).flatten())
        });
        match tried.await {
            Ok(Ok(stream)) => return Ok(stream),
            Ok(Err(cause)) => last = cause,
            Err(Break::Stopped) => return Err(Ended::Stopped),
            Err(_) => break,
        }
    }
    let kind = match last.kind() {
        io::ErrorKind::ConnectionRefused => FaultKind::PortClosed,
        _ => FaultKind::Unreachable,
    };
    Err(SetupFault::new(kind, &shown(&last.to_string())).into())
}

/// The call over a secured connection. What the server said before does not count any more.
async fn secured(call: Call, account: &Account, limits: &SendLimits, pace: &Pace<'_>) -> Result<Call, Ended> {
    let connector = account.tls.as_ref().expect("an account with security has what secures it");
    let Some(stream) = call.wire.into_stream() else {
        let words = "it went on talking in the open after it had agreed to secure the connection";
        return Err(SetupFault::new(FaultKind::NotSecured, words).into());
    };
    let securing = pace.within(limits.greeting, async {
        Ok(tls::secure(connector, &account.settings.server, stream).await)
    });
    match securing.await {
        Ok(Ok(stream)) => Ok(Call { wire: Wire::new(stream), sign_in_offers: Vec::new(), ..call }),
        Ok(Err(cause)) => Err(tls::fault(&cause).into()),
        Err(Break::Stopped) => Err(Ended::Stopped),
        Err(broken) => Err(SetupFault::new(FaultKind::NotSecured, &broken.words()).into()),
    }
}

/// What it means that no greeting came.
fn not_greeted(broken: Break) -> Ended {
    match broken {
        Break::TooLate => SetupFault::new(FaultKind::Silent, "").into(),
        // The greetings of IMAP (RFC 9051, 7.1) and POP3 (RFC 1939, 4).
        Break::Nonsense(said)
            if ["* OK", "* PREAUTH", "* BYE", "+OK"].iter().any(|it| said.starts_with(it)) =>
        {
            SetupFault::new(FaultKind::Incoming, &format!("it says `{said}`")).into()
        }
        Break::Nonsense(said) => SetupFault::new(FaultKind::NotMail, &format!("it says `{said}`")).into(),
        Break::Stopped | Break::Gone(_) => broken.into(),
    }
}

/// Says who calls, and takes note of what the server offers (RFC 5321, 4.1.1.1).
async fn say_hello(call: &mut Call, name: &str, limits: &SendLimits, pace: &Pace<'_>) -> Result<(), Ended> {
    let reply = call.wire.ask(&format!("EHLO {name}\r\n"), limits.command, pace).await?;
    if !reply.is_good() {
        // 554 is no word about a name (RFC 5321, 4.3.2).
        let is_about_the_name = reply.is_refusal() && reply.code != 554;
        let refused = || SetupFault::new(FaultKind::HelloRefused, &reply.words());
        return Err(if is_about_the_name { refused() } else { turned_away(&reply) }.into());
    }
    call.note_offers(&reply);
    Ok(())
}

/// A server that will not talk to us: for now, or for good (RFC 5321, 3.1 and 4.2.1), which nobody need wait out.
fn turned_away(reply: &Reply) -> SetupFault {
    let for_good = "It will not pass by itself. Ask the mail provider about these words, or, where they speak of this PC's \
                    address, the broadband provider; and check that `server` and `port` under [mail] are the ones for \
                    programs that sign in.";
    let words = reply.words();
    if reply.is_refusal() {
        SetupFault::advised(FaultKind::TurnedAway, &words, for_good)
    } else {
        SetupFault::new(FaultKind::TurnedAway, &words)
    }
}

impl Call {
    /// The first line of the reply names the server; each other one is an offer.
    fn note_offers(&mut self, reply: &Reply) {
        (self.sign_in_offers, self.size_most, self.offers_security) = (Vec::new(), None, false);
        for line in reply.lines.iter().skip(1) {
            let line = line.to_ascii_uppercase();
            // Some servers write AUTH=PLAIN for the sake of clients from before the standard.
            let mut words = line.split([' ', '=']).filter(|word| !word.is_empty());
            match words.next() {
                Some("STARTTLS") => self.offers_security = true,
                Some("SIZE") => {
                    self.size_most = Some(words.next().and_then(|most| most.parse().ok()).unwrap_or(0))
                }
                Some("AUTH") => self.sign_in_offers.extend(words.map(str::to_owned)),
                _ => {}
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::SignIn;

    #[test]
    fn in_the_open_nothing_is_said_but_to_this_pc_unless_the_owner_insists() {
        let said = |security, insist_on_plain, address: &str| {
            let account = MailAccount {
                server: "localhost".to_owned(),
                port: 25,
                security,
                sign_in: SignIn::None,
                hello_name: None,
                ca_file: None,
                insist_on_plain,
            };
            may_be_said(&account, address.parse().ok())
        };
        for (security, insists, address, expected) in [
            (Security::Plain, false, "127.0.0.1", true),
            (Security::Plain, false, "::1", true),
            (Security::Plain, false, "192.0.2.7", false),
            (Security::Plain, false, "2001:db8::7", false),
            (Security::Plain, false, "not known", false),
            (Security::Plain, true, "192.0.2.7", true),
            (Security::Tls, false, "192.0.2.7", true),
            (Security::StartTls, false, "192.0.2.7", true),
        ] {
            assert_eq!(said(security, insists, address), expected, "{security:?} {insists} {address}");
        }
    }
}
