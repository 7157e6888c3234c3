//! Letters sent through a real mail server and read back out of its mailboxes: what postfix and dovecot make of our side
//! of the conversation, which was written from the standards alone.

use std::sync::atomic::AtomicBool;
use std::time::Duration;

use serde_json::json;
use tickover::digest::{Letter, compose};
use tickover::post::{
    Account, Envelope, FaultKind, Parcel, Secret, SendLimits, SetupFault, Verdict, as_eml, send,
};
use tickover::settings::{MailAccount, Security, SignIn};

use crate::mail_provider::{MailProvider, mail_provider};
use crate::mornings::{crowd, full, small};
use crate::post::{contents, read};

/// A letter of the demo's mornings as a mail from the account's own user, under a name of the test's own.
struct Mail {
    envelope: Envelope,
    eml: Vec<u8>,
}

impl Mail {
    fn of(server: &MailProvider, letter: &Letter, name: &str, to: &[String]) -> Mail {
        let envelope = Envelope {
            from: format!("Tickover <{}>", server.user()),
            to: to.to_vec(),
            message_id: format!("<digest.2026-03-02.1.{name}@shop.example>"),
            date_seconds: 1_772_436_600,
        };
        let eml = as_eml(letter, &envelope).unwrap();
        Mail { envelope, eml }
    }

    /// Sends it by an account, waiting no longer than tests may.
    fn send(&self, settings: MailAccount, secret: &str) -> Result<Vec<(String, Verdict)>, SetupFault> {
        let authority = settings.ca_file.as_ref().map(|path| std::fs::read(path).unwrap());
        let secret = Secret::in_text(secret.as_bytes()).unwrap();
        let account = Account::new(settings, Some(secret), authority.as_deref())?;
        let seconds = Duration::from_secs;
        let limits = SendLimits { greeting: seconds(15), total: seconds(120), ..SendLimits::default() };
        let Mail { envelope: Envelope { from, to, .. }, eml } = self;
        send(&Parcel { from, receivers: to, eml }, &account, &limits, &AtomicBool::new(false), &mut |_| {})
    }

    /// How often a mailbox holds it, byte for byte as it was sent.
    fn copies(&self, server: &MailProvider, mailbox: &str) -> usize {
        let there = server.read_back(mailbox, &self.envelope.message_id);
        for mail in &there {
            assert_eq!(
                String::from_utf8_lossy(mail.as_sent()),
                String::from_utf8_lossy(&self.eml),
                "{mailbox}"
            );
        }
        there.len()
    }
}

/// What became of a mail for each address: the verdict and what the server said, without its number for the mail.
fn verdicts(sent: Result<Vec<(String, Verdict)>, SetupFault>) -> Vec<(String, String)> {
    let said = |verdict| match verdict {
        Verdict::Sent { words } => {
            format!("sent: {}", words.split_once("queued as").expect("postfix says so").0)
        }
        Verdict::Refused { of, words } => format!("refused: {}", of.noted(&words)),
        Verdict::Later { words } => format!("later: {words}"),
        Verdict::PerhapsSent { words } => format!("perhaps sent: {words}"),
    };
    let sent = sent.unwrap_or_else(|fault| panic!("nothing was sent: {fault}"));
    sent.into_iter().map(|(address, verdict)| (address, said(verdict))).collect()
}

/// The account with its user's password over STARTTLS.
fn starttls(server: &MailProvider) -> MailAccount {
    server.account(Security::StartTls, server.ports().starttls)
}

const SENT: &str = "sent: 250 2.0.0 Ok: ";

#[test]
fn a_letter_comes_into_each_mailbox_byte_for_byte() {
    let server = mail_provider();
    let ports = server.ports();
    for (shop, security, port, morning) in [
        ("by-starttls", Security::StartTls, ports.starttls, small()),
        ("by-tls", Security::Tls, ports.tls, full()),
        ("with-a-list", Security::Tls, ports.tls, crowd(2_000)),
    ] {
        let to =
            [format!("The workshop <workshop@{shop}.example>"), format!("Zoë Alder <desk@{shop}.example>")];
        let letter = compose(&morning);
        let mail = Mail::of(server, &letter, shop, &to);
        let sent = mail.send(server.account(security, port), server.password());
        assert_eq!(verdicts(sent), to.map(|address| (address, SENT.to_owned())));
        for mailbox in ["workshop", "desk"] {
            let mailbox = format!("{mailbox}@{shop}.example");
            let there = server.read_back(&mailbox, &mail.envelope.message_id);
            assert_eq!(there.len(), 1, "{mailbox}");
            assert_eq!(String::from_utf8_lossy(there[0].as_sent()), String::from_utf8_lossy(&mail.eml));
            // What the server itself reads in it: whose mail it is, and that it has two forms.
            let described = &there[0].described;
            for part in [
                "((\"Tickover\" NIL \"desk\" \"shop.example\"))".to_owned(),
                format!("((\"The workshop\" NIL \"workshop\" \"{shop}.example\")(\"=?utf-8?b?"),
                format!("\"{}\")", mail.envelope.message_id),
                "(\"text\" \"plain\" (\"charset\" \"utf-8\") NIL NIL \"quoted-printable\"".to_owned(),
                "(\"text\" \"html\" (\"charset\" \"utf-8\") NIL NIL \"quoted-printable\"".to_owned(),
                "\"alternative\" (\"boundary\" \"=_tickover_letter\")".to_owned(),
            ] {
                assert!(described.contains(&part), "{part} is not in {described}");
            }
            let read = read(there[0].as_sent());
            assert_eq!(read["faults"], json!([]));
            let parts = [&letter.text, &letter.html].into_iter().chain(&letter.full_list);
            assert_eq!(contents(&read), parts.cloned().collect::<Vec<_>>());
        }
    }
}

#[test]
fn somebody_unknown_keeps_the_letter_from_nobody_else() {
    let server = mail_provider();
    let to = ["gone@unknown.example", "workshop@unknown.example", "desk@elsewhere.test"].map(str::to_owned);
    let mail = Mail::of(server, &compose(&small()), "unknown", &to);
    let refused = [
        "refused: 550 5.1.1 <gone@unknown.example>: Recipient address rejected: User unknown in virtual mailbox table",
        SENT,
        "refused: 550 5.4.4 <desk@elsewhere.test>: Recipient address rejected: no mail leaves this PC",
    ];
    let expected: Vec<_> = to.into_iter().zip(refused.map(str::to_owned)).collect();
    assert_eq!(verdicts(mail.send(starttls(server), server.password())), expected);
    assert_eq!(mail.copies(server, "workshop@unknown.example"), 1);
}

#[test]
fn a_letter_that_is_sent_once_more_is_the_same_mail_again() {
    let server = mail_provider();
    let mail = Mail::of(server, &compose(&small()), "twice", &["owner@twice.example".to_owned()]);
    for _ in 0..2 {
        verdicts(mail.send(starttls(server), server.password()));
    }
    assert_eq!(mail.copies(server, "owner@twice.example"), 2);
}

/// Asserts that each account sends nothing to anybody of a shop, and for which reason; the secret stands in no words.
fn assert_nothing_is_sent(shop: &str, cases: &[(&str, MailAccount, &str, FaultKind)]) {
    let server = mail_provider();
    let mailbox = format!("workshop@{shop}.example");
    let mail = Mail::of(server, &compose(&small()), shop, std::slice::from_ref(&mailbox));
    for (case, settings, secret, expected) in cases {
        let fault = mail.send(settings.clone(), secret).expect_err(case);
        assert_eq!(fault.kind, *expected, "{case}: {fault}");
        assert!(!fault.to_string().contains(secret), "{case}: {fault}");
    }
    assert_eq!(mail.copies(server, &mailbox), 0);
}

#[test]
fn a_sign_in_that_is_not_right_sends_nothing() {
    let server = mail_provider();
    let by = |sign_in| MailAccount { sign_in, ..starttls(server) };
    let user = server.user().to_owned();
    let token = by(SignIn::Token { user, command: vec!["not-run-here".to_owned()] });
    assert_nothing_is_sent(
        "not-signed-in",
        &[
            ("a wrong password", starttls(server), "wrong horse", FaultKind::SignInRefused),
            ("no password but a part of it", starttls(server), "grün & öl", FaultKind::SignInRefused),
            ("a token of yesterday", token.clone(), server.expired_token(), FaultKind::TokenRefused),
            ("no token at all", token, "made up", FaultKind::TokenRefused),
            ("no sign-in", by(SignIn::None), server.password(), FaultKind::SignInWanted),
        ],
    );
}

#[test]
fn a_connection_that_others_could_hear_or_answer_sends_nothing() {
    let server = mail_provider();
    let ports = server.ports();
    let tls = |port| server.account(Security::Tls, port);
    let starttls_to_tls = server.account(Security::StartTls, ports.tls);
    let trusting_nobody = MailAccount { ca_file: None, ..starttls(server) };
    let password = server.password();
    assert_nothing_is_sent(
        "not-secured",
        &[
            ("a certificate for another name", tls(ports.wrong_name), password, FaultKind::WrongName),
            ("a certificate that has run out", tls(ports.expired), password, FaultKind::Expired),
            ("a certificate signed by itself", tls(ports.self_signed), password, FaultKind::UnknownSigner),
            ("no ca_file", trusting_nobody, password, FaultKind::UnknownSigner),
            ("TLS where STARTTLS is spoken", tls(ports.starttls), password, FaultKind::PlainPort),
            ("STARTTLS where TLS is spoken", starttls_to_tls, password, FaultKind::Silent),
        ],
    );
}

#[test]
fn a_sender_that_is_not_the_accounts_own_is_a_fault_of_the_account() {
    let server = mail_provider();
    let to = ["workshop@not-own.example".to_owned(), "desk@not-own.example".to_owned()];
    let mut mail = Mail::of(server, &compose(&small()), "not-own", &to);
    mail.envelope.from = "owner@shop.example".to_owned();
    let fault =
        mail.send(starttls(server), server.password()).expect_err("postfix refuses it to each receiver");
    assert_eq!(
        fault.to_string(),
        "the mail server takes nothing from this sender: 553 5.7.1 <owner@shop.example>: Sender address rejected: not \
         owned by user desk@shop.example. Set `from` under [letter] to the mail account's own address. If it is that, ask the mail \
         provider about these words."
    );
}

#[test]
fn a_token_signs_in_as_a_password_does() {
    let server = mail_provider();
    let to = ["workshop@token.example".to_owned()];
    let mail = Mail::of(server, &compose(&small()), "token", &to);
    let sign_in = SignIn::Token {
        user: server.user().to_owned(),
        command: vec!["echo".to_owned(), server.token().to_owned()],
    };
    let sent = mail.send(MailAccount { sign_in, ..starttls(server) }, server.token());
    assert_eq!(verdicts(sent), to.map(|address| (address, SENT.to_owned())));
    assert_eq!(mail.copies(server, "workshop@token.example"), 1);
}
