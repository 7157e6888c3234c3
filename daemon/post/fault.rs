//! What keeps every letter from going out: the account, the network or the server, with what to do about it.

use std::fmt;

/// Which fault it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FaultKind {
    /// The server's name is not known.
    ServerNotFound,
    /// Nothing listens on the port.
    PortClosed,
    /// The server cannot be reached.
    Unreachable,
    /// The connection stands and nothing is said.
    Silent,
    /// Something else than a mail server answers.
    NotMail,
    /// It is the server that mail is fetched from.
    Incoming,
    /// The server greets us by sending us away.
    TurnedAway,
    /// The name that this PC gives is not taken.
    HelloRefused,
    /// The connection broke off before the letter's turn.
    BrokenOff,
    /// The certificate is another server's.
    WrongName,
    /// The certificate is signed by nobody that this PC trusts, or by itself.
    UnknownSigner,
    /// The certificate has run out or is not valid yet.
    Expired,
    /// TLS was spoken to a port that does not speak it from the first byte.
    PlainPort,
    /// TLS came to nothing for another reason.
    NotSecured,
    /// The server offers no STARTTLS, or refused it.
    NoStartTls,
    /// Letter and secret would go over the network for all to read.
    OpenSecret,
    /// The file with the certificate authority cannot be used.
    AuthorityFile,
    /// There is no password anywhere.
    NoPassword,
    /// A password is there and cannot be used.
    Password,
    /// The program that prints the token failed.
    TokenProgram,
    /// User name or password are not taken.
    SignInRefused,
    /// The token is not taken.
    TokenRefused,
    /// The server cannot sign anybody in just now.
    SignInLater,
    /// The server offers no way to sign in that we know.
    NoCommonSignIn,
    /// The server wants a sign-in and the settings name none.
    SignInWanted,
    /// The server takes nothing from this sender, or the sender is no address.
    Sender,
}

/// A fault of the account as a whole: nothing was sent to anybody, and the letter waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetupFault {
    /// Which one.
    pub kind: FaultKind,
    /// What is wrong, as a lower-case phrase without a full stop, with the words of the server or system.
    pub what: String,
    /// What to do about it.
    pub help: &'static str,
    /// What a program of the owner's said on its error stream, in plain words: for a terminal, and never for a letter.
    pub aside: Option<String>,
}

impl SetupFault {
    /// The fault with its words; `words` are what the server or system said, or empty.
    pub(super) fn new(kind: FaultKind, words: &str) -> SetupFault {
        let what = if words.is_empty() { what(kind).to_owned() } else { format!("{}: {words}", what(kind)) };
        SetupFault { kind, what, help: help(kind), aside: None }
    }

    /// The same, where more is known of what to do than the kind tells.
    pub(super) fn advised(kind: FaultKind, words: &str, help: &'static str) -> SetupFault {
        SetupFault { help, ..SetupFault::new(kind, words) }
    }
}

impl fmt::Display for SetupFault {
    /// What is wrong and what to do, on one line.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{}. {}", self.what, self.help)
    }
}

impl std::error::Error for SetupFault {}

/// What each fault is.
fn what(kind: FaultKind) -> &'static str {
    match kind {
        FaultKind::ServerNotFound => "the mail server's name is not known",
        FaultKind::PortClosed => "nothing takes mail at this server and port",
        FaultKind::Unreachable => "the mail server cannot be reached",
        FaultKind::Silent => "the mail server takes the call and says nothing",
        FaultKind::NotMail => "what answers is no mail server",
        FaultKind::Incoming => "what answers is the server for incoming mail, which sends none",
        FaultKind::TurnedAway => "the mail server sends us away",
        FaultKind::HelloRefused => "the mail server does not take the name that this PC gives",
        FaultKind::BrokenOff => "the talk with the mail server broke off before the letter's turn",
        FaultKind::WrongName => "the certificate is another server's",
        FaultKind::UnknownSigner => "nobody that this PC trusts has signed the mail server's certificate",
        FaultKind::Expired => "the mail server's certificate is not valid today",
        FaultKind::PlainPort => "this port does not speak TLS from the first byte",
        FaultKind::NotSecured => "no secured connection came about",
        FaultKind::NoStartTls => "the mail server does not secure the connection",
        FaultKind::OpenSecret => "letter and password would go over the network for all to read",
        FaultKind::AuthorityFile => "the certificate authority's file cannot be used",
        FaultKind::NoPassword => "there is no password for the mail account",
        FaultKind::Password => "the password for the mail account cannot be used",
        FaultKind::TokenProgram => "the program that prints the sign-in token failed",
        FaultKind::SignInRefused => "the mail server does not take this sign-in",
        FaultKind::TokenRefused => "the mail server does not take this sign-in token",
        FaultKind::SignInLater => "the mail server can sign nobody in just now",
        FaultKind::NoCommonSignIn => "the mail server offers no way to sign in that fits the settings",
        FaultKind::SignInWanted => "the mail server wants a sign-in",
        FaultKind::Sender => "the mail server takes nothing from this sender",
    }
}

/// What to do about each, for somebody who has never heard of mail servers.
fn help(kind: FaultKind) -> &'static str {
    match kind {
        FaultKind::ServerNotFound | FaultKind::NotMail => {
            "Check `server` and `port` under [mail] against what the mail provider tells, and that this PC is online."
        }
        FaultKind::PortClosed | FaultKind::PlainPort => {
            "Check `port` and `security` under [mail]: mostly 587 with \"starttls\", or 465 with \"tls\"."
        }
        FaultKind::Unreachable => {
            "Check that this PC is online; a firewall or the broadband provider may keep the port shut."
        }
        FaultKind::Silent => {
            "It may be busy. If it stays so, the port may want TLS from the first byte: try 465 with \"tls\"."
        }
        FaultKind::Incoming => {
            "Write the server for outgoing mail (SMTP) as `server` under [mail], with its own `port`: mostly 465 with \
             \"tls\", or 587 with \"starttls\"."
        }
        FaultKind::TurnedAway | FaultKind::BrokenOff | FaultKind::SignInLater => {
            "It mostly passes by itself. If it stays so, ask the mail provider about these words."
        }
        FaultKind::HelloRefused => "Set `hello_name` under [mail] to a full name such as pc.shop.example.",
        FaultKind::WrongName => {
            "Nothing was sent, as this may be somebody else's server. Write `server` as the mail provider tells it."
        }
        FaultKind::UnknownSigner => {
            "Nothing was sent. If the server is your own, name its authority's file as `ca_file` under [mail]; else ask \
             the mail provider, and whether a virus scanner looks into mails."
        }
        FaultKind::Expired => "Nothing was sent. Check this PC's date and time, then ask the mail provider.",
        FaultKind::NotSecured | FaultKind::NoStartTls => {
            "Nothing was sent, neither password nor letter. Try port 465 with \"tls\"; if that fails too, ask the mail \
             provider, and try from another network."
        }
        FaultKind::OpenSecret => "Nothing was sent. Set `security` under [mail] to \"starttls\" or \"tls\".",
        FaultKind::AuthorityFile => {
            "Name a PEM file that may be read as `ca_file` under [mail], or take the line out."
        }
        FaultKind::NoPassword => {
            "Give it in one of three ways: the environment variable TICKOVER_MAIL_PASSWORD, the service manager's \
             credential mail-password, or a file that only Tickover may read, named as `password_file` under [mail]."
        }
        FaultKind::Password => {
            "Save it as plain text (UTF-8) on one line, in a file that only Tickover may read."
        }
        FaultKind::TokenProgram => {
            "Run it by hand, as the account that runs Tickover: it must print the token and nothing else, in 30 seconds."
        }
        FaultKind::SignInRefused => {
            "Check user name and password. Many providers take no account password from programs but an app password, \
             made in the account's security settings; it ends when the account's own password is changed."
        }
        FaultKind::TokenRefused => {
            "The token may have run out, be for another user, or not be meant for sending mail; or the program prints a \
             password, which is no token. Check `user` and `token_command` under [mail] against what the mail provider \
             tells of OAuth."
        }
        FaultKind::NoCommonSignIn => {
            "Ask the mail provider how programs sign in: with a password, or with a token (OAuth, XOAUTH2); set `sign_in`."
        }
        FaultKind::SignInWanted => {
            "Take the line `sign_in = \"none\"` under [mail] out, set `user` there, and give its password."
        }
        FaultKind::Sender => {
            "Set `from` under [letter] to the mail account's own address. If it is that, ask the mail provider about these \
             words."
        }
    }
}
