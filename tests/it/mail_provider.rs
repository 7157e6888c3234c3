//! The real mail server that the tests send to: postfix and dovecot, started once for all tests that ask for it.

use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::OnceLock;

use serde::Deserialize;
use tickover::settings::{MailAccount, Security, SignIn};

use crate::program::{python, repository};

/// The running server. It stops by itself once this process, whose end of its standard input it watches, has gone.
pub(crate) struct MailProvider {
    ready: Ready,
    #[expect(dead_code, reason = "holds the server's standard input open")]
    process: Child,
}

/// What the server prints once it takes mail.
#[derive(Deserialize)]
struct Ready {
    place: PathBuf,
    ports: Ports,
    user: String,
    password: String,
    token: String,
    expired_token: String,
}

/// The server's ports on this PC.
#[derive(Deserialize)]
pub(crate) struct Ports {
    /// SMTP with STARTTLS.
    pub(crate) starttls: u16,
    /// SMTP with TLS from the first byte; so are the next three.
    pub(crate) tls: u16,
    /// With a certificate for another name.
    pub(crate) wrong_name: u16,
    /// With a certificate that is no longer valid.
    pub(crate) expired: u16,
    /// With a certificate that nobody else has signed.
    pub(crate) self_signed: u16,
    /// The mailboxes.
    imaps: u16,
}

/// A mail as a mailbox holds it.
#[derive(Deserialize)]
pub(crate) struct MailInBox {
    /// Its bytes, all of them plain letters.
    bytes: String,
    /// What the server made of it: its envelope and the structure of its body (RFC 3501, 7.4.2).
    pub(crate) described: String,
}

impl MailInBox {
    /// The mail as it was sent: without the lines that each server on its way puts before it (RFC 5321, 4.4).
    pub(crate) fn as_sent(&self) -> &[u8] {
        let mut rest = self.bytes.as_str();
        while ["Return-Path:", "Delivered-To:", "Received:"].iter().any(|name| rest.starts_with(name)) {
            rest = after_first_header(rest);
        }
        rest.as_bytes()
    }
}

/// What follows the first header with its continuation lines.
fn after_first_header(mail: &str) -> &str {
    let mut rest = mail;
    loop {
        rest = rest.split_once("\r\n").map_or("", |(_, rest)| rest);
        if !rest.starts_with([' ', '\t']) {
            return rest;
        }
    }
}

/// The server, started by the first test that asks. Without it, each of them fails and says why.
pub(crate) fn mail_provider() -> &'static MailProvider {
    static SERVER: OnceLock<Result<MailProvider, String>> = OnceLock::new();
    SERVER.get_or_init(start).as_ref().unwrap_or_else(|why| panic!("there is no mail server: {why}"))
}

fn start() -> Result<MailProvider, String> {
    let mut process = Command::new(python())
        .arg(repository().join("tests/mail/server.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|failure| failure.to_string())?;
    let mut line = String::new();
    let stdout = process.stdout.take().expect("it was asked for");
    BufReader::new(stdout).read_line(&mut line).map_err(|failure| failure.to_string())?;
    let ready = serde_json::from_str(&line).map_err(|_| "it did not start, as it says above".to_owned())?;
    Ok(MailProvider { ready, process })
}

impl MailProvider {
    pub(crate) fn ports(&self) -> &Ports {
        &self.ready.ports
    }

    /// Who may sign in and send in this name.
    pub(crate) fn user(&self) -> &str {
        &self.ready.user
    }

    /// Everybody's password.
    pub(crate) fn password(&self) -> &str {
        &self.ready.password
    }

    /// A token that the user may sign in with.
    pub(crate) fn token(&self) -> &str {
        &self.ready.token
    }

    /// One that was right a minute ago.
    pub(crate) fn expired_token(&self) -> &str {
        &self.ready.expired_token
    }

    /// The certificate that signed the server's.
    pub(crate) fn ca_file(&self) -> PathBuf {
        self.ready.place.join("certificates/ca.pem")
    }

    /// The account as settings give it.
    pub(crate) fn account(&self, security: Security, port: u16) -> MailAccount {
        MailAccount {
            server: "localhost".to_owned(),
            port,
            security,
            sign_in: SignIn::Password { user: self.user().to_owned(), file: None },
            hello_name: None,
            insist_on_plain: false,
            ca_file: Some(self.ca_file().to_string_lossy().into_owned()),
        }
    }

    /// The mails of a Message-ID in somebody's mailbox, once the server has put everything that it took into one.
    pub(crate) fn read_back(&self, mailbox: &str, message_id: &str) -> Vec<MailInBox> {
        self.read(&[mailbox, message_id])
    }

    /// All mails in somebody's mailbox, after the same wait.
    pub(crate) fn read_all(&self, mailbox: &str) -> Vec<MailInBox> {
        self.read(&[mailbox])
    }

    fn read(&self, wanted: &[&str]) -> Vec<MailInBox> {
        let mut reader = Command::new(python())
            .arg(repository().join("tests/mail/read_back.py"))
            .arg(&self.ready.place)
            .arg(self.ready.ports.imaps.to_string())
            .args(wanted)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("Python can be run");
        let mut stdin = reader.stdin.take().expect("it was asked for");
        stdin.write_all(self.password().as_bytes()).expect("it reads the password");
        drop(stdin);
        let output = reader.wait_with_output().expect("it ends by itself");
        serde_json::from_slice(&output.stdout).expect("it prints the mails, or says above why not")
    }
}
