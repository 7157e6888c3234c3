//! What keeps an account from sending anything: the server, the certificate, the sign-in. Nothing is handed over, the
//! secret stays hidden, and what to do is said.

use std::net::TcpListener;
use std::sync::atomic::AtomicBool;
use std::time::{Duration, Instant};

use tickover::post::{Account, Answer, FaultKind, Parcel, Refusal, SendLimits, check, send};
use tickover::problem::steers;
use tickover::settings::{MailAccount, Security, SignIn};

use super::mail_faults::{
    LETTER, SHORT, STARTTLS, account, all_at_once, plain, sent_by, settings, with_password, with_token,
};
use super::mail_server::{Act, GOOD, Script, Secured, Server};

const SENT: &str = "zoe@shop.example sent: 250 2.0.0 stored";

fn sent(account: &Account) -> String {
    sent_by(account, &["zoe@shop.example"], LETTER, &SHORT)
}

#[test]
fn a_server_that_is_none_or_says_nothing_is_said_with_its_words() {
    let cases = [
        (
            "speaks of web pages",
            Script { greeting: Act::SayAndHangUp(b"HTTP/1.1 400 Bad Request\r\n\r\n"), ..GOOD },
            "NotMail: what answers is no mail server: it says `HTTP/1.1 400 Bad Request`",
        ),
        (
            "silent",
            Script { greeting: Act::Silence, ..GOOD },
            "Silent: the mail server takes the call and says nothing",
        ),
        (
            "drips its greeting",
            Script { greeting: Act::Drip(1_000, b"220 slow\r\n"), ..GOOD },
            "Silent: the mail server takes the call and says nothing",
        ),
        (
            "says one line without an end",
            Script { greeting: Act::Endless(&[b'2'; 4_096]), ..GOOD },
            "NotMail: what answers is no mail server: it says \
             `22222222222222222222222222222222222222222222222222222222222222222222222222222222`",
        ),
        (
            "says lines without end",
            Script { greeting: Act::Endless(b"220-still here\r\n"), ..GOOD },
            "NotMail: what answers is no mail server: it says `220-still here`",
        ),
        (
            "is busy",
            Script { greeting: Act::SayAndHangUp(b"421 too many connections\r\n"), ..GOOD },
            "TurnedAway: the mail server sends us away: 421 too many connections",
        ),
        (
            "wants nobody",
            Script { greeting: Act::Say(b"554 no mail here\r\n"), ..GOOD },
            "TurnedAway: the mail server sends us away: 554 no mail here",
        ),
        (
            "hangs up at once",
            Script { greeting: Act::HangUp, ..GOOD },
            "BrokenOff: the talk with the mail server broke off before the letter's turn: the connection broke off (the \
             server hung up)",
        ),
    ];
    all_at_once(&cases, |script| sent(&plain(Server::start(*script).port)));
}

#[test]
fn a_server_that_does_not_get_on_with_us_is_said_with_its_words() {
    let cases = [
        (
            "is torn down at our hello",
            Script { hello: Act::Reset, ..GOOD },
            "BrokenOff: the talk with the mail server broke off before the letter's turn: the connection broke off (it \
             was torn down)",
        ),
        (
            "does not take our name",
            Script { hello: Act::Say(b"504 5.5.2 <shop.example>: not a full name\r\n"), ..GOOD },
            "HelloRefused: the mail server does not take the name that this PC gives: 504 5.5.2 <shop.example>: not a \
             full name",
        ),
        (
            "answers with two codes at once",
            Script { hello: Act::Say(b"250-mail.shop.example\r\n550 no\r\n"), ..GOOD },
            "BrokenOff: the talk with the mail server broke off before the letter's turn: the server's answer makes no \
             sense: `550 no`",
        ),
        (
            "wants a sign-in",
            Script { sender: Act::Say(b"530 5.7.0 Authentication required\r\n"), ..GOOD },
            "SignInWanted: the mail server wants a sign-in: 530 5.7.0 Authentication required",
        ),
        (
            "wants a sign-in, and says so only to the receiver",
            Script {
                receiver: ("", Act::Say(b"553 5.7.1 Sender address rejected: not logged in\r\n")),
                ..GOOD
            },
            "SignInWanted: the mail server wants a sign-in: 553 5.7.1 Sender address rejected: not logged in",
        ),
        (
            "takes nothing from this sender",
            Script { sender: Act::Say(b"553 5.7.1 not owned by user garage\r\n"), ..GOOD },
            "Sender: the mail server takes nothing from this sender: 553 5.7.1 not owned by user garage",
        ),
        (
            "talks out of turn",
            Script { greeting: Act::Say(b"220 ready\r\n250 ok\r\n"), ..GOOD },
            "BrokenOff: the talk with the mail server broke off before the letter's turn: the server's answer makes no \
             sense: `250 ok`",
        ),
    ];
    all_at_once(&cases, |script| sent(&plain(Server::start(*script).port)));
}

#[test]
fn a_server_that_cannot_be_reached_is_said() {
    // A port that nobody listens on: it was ours a moment ago.
    let port = TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port();
    let outcome = sent(&plain(port));
    assert!(outcome.starts_with("PortClosed: nothing takes mail at this server and port"), "{outcome}");

    // A name that no name server is asked for, since it cannot be one.
    let settings = MailAccount {
        server: "mail..shop.example".to_owned(),
        ..settings(25, Security::Plain, SignIn::None)
    };
    let outcome = sent(&Account::new(settings, None, None).unwrap());
    assert!(outcome.starts_with("ServerNotFound: the mail server's name is not known"), "{outcome}");
}

#[test]
fn only_the_right_certificate_is_taken_and_nothing_is_said_to_any_other() {
    let tls = |certificate| Script { secured: Secured::FromTheFirstByte(certificate), ..GOOD };
    let starttls = |certificate| Script { secured: Secured::OnRequest(certificate), hello: STARTTLS, ..GOOD };
    let cases = [
        ("good, from the first byte", (Security::Tls, tls("server")), SENT),
        ("good, on request", (Security::StartTls, starttls("server")), SENT),
        ("another name", (Security::Tls, tls("wrong")), "WrongName"),
        ("another name, on request", (Security::StartTls, starttls("wrong")), "WrongName"),
        ("expired", (Security::Tls, tls("expired")), "Expired"),
        ("expired, on request", (Security::StartTls, starttls("expired")), "Expired"),
        ("signed by itself", (Security::Tls, tls("self")), "UnknownSigner"),
        ("signed by itself, on request", (Security::StartTls, starttls("self")), "UnknownSigner"),
        ("TLS to a port that does not speak it", (Security::Tls, GOOD), "PlainPort"),
        ("a plain hello to a port of TLS", (Security::StartTls, tls("server")), "Silent"),
        (
            "silent where TLS should begin",
            (Security::Tls, Script { greeting: Act::Silence, ..GOOD }),
            "NotSecured",
        ),
        ("security is not offered", (Security::StartTls, GOOD), "NoStartTls"),
        (
            "security is offered and refused",
            (
                Security::StartTls,
                Script { hello: STARTTLS, start_tls: Act::Say(b"454 4.7.0 not now\r\n"), ..GOOD },
            ),
            "NoStartTls",
        ),
        (
            "something is slipped in before the connection is secured",
            (
                Security::StartTls,
                Script { start_tls: Act::Say(b"220 go ahead\r\n250 AUTH PLAIN\r\n"), ..starttls("server") },
            ),
            "NotSecured",
        ),
    ];
    all_at_once(&cases, |(security, script)| {
        let server = Server::start(*script);
        let outcome = sent(&account(server.port, *security, with_password()));
        if outcome == SENT {
            return outcome;
        }
        let said = server.lines().join(" ");
        assert!(!said.contains("AUTH") && !said.contains("MAIL"), "{said}");
        outcome.split(':').next().unwrap_or_default().to_owned()
    });
}

#[test]
fn an_authority_that_this_pc_does_not_know_is_not_trusted() {
    let server = Server::start(Script { secured: Secured::FromTheFirstByte("server"), ..GOOD });
    let settings = settings(server.port, Security::Tls, SignIn::None);
    let outcome = sent(&Account::new(settings.clone(), None, None).unwrap());
    assert!(outcome.starts_with("UnknownSigner"), "{outcome}");
    for (pem, expected) in [
        (&b""[..], "the certificate authority's file cannot be used: there is no certificate in it"),
        (
            b"-----BEGIN CERTIFICATE-----\nnot one",
            "the certificate authority's file cannot be used: it is damaged or not in PEM",
        ),
    ] {
        let fault = Account::new(settings.clone(), None, Some(pem)).err().unwrap();
        assert_eq!((fault.kind, fault.what.as_str()), (FaultKind::AuthorityFile, expected));
    }
}

/// What a server offers once the connection is secured, and what it says in a sign-in.
const PLAIN: Act = Act::Say(b"250-mail.shop.example\r\n250 AUTH PLAIN LOGIN\r\n");
const LOGIN: Act = Act::Say(b"250-mail.shop.example\r\n250 auth=login\r\n");
const TOKEN: Act = Act::Say(b"250-mail.shop.example\r\n250 AUTH XOAUTH2\r\n");
const NONE: Act = Act::Say(b"250 mail.shop.example\r\n");
const WELCOME: Act = Act::Say(b"235 2.7.0 welcome\r\n");
const ASK_USER: Act = Act::Say(b"334 VXNlcm5hbWU6\r\n");
const ASK_PASSWORD: Act = Act::Say(b"334 UGFzc3dvcmQ6\r\n");
const WRONG: Act = Act::Say(b"535 5.7.8 wrong password\r\n");
const BUSY: Act = Act::Say(b"454 4.7.0 try later\r\n");
/// Why a token is refused: `{"status":"401"}`.
const CHALLENGE: Act = Act::Say(b"334 eyJzdGF0dXMiOiI0MDEifQ==\r\n");

#[test]
fn a_sign_in_is_made_in_a_way_that_the_server_offers() {
    let script = |hello_secured, sign_in| Script {
        secured: Secured::FromTheFirstByte("server"),
        hello_secured,
        sign_in,
        ..GOOD
    };
    let cases = [
        ("PLAIN", (with_password(), script(PLAIN, &[WELCOME])), SENT),
        ("LOGIN", (with_password(), script(LOGIN, &[ASK_USER, ASK_PASSWORD, WELCOME])), SENT),
        ("XOAUTH2", (with_token(), script(TOKEN, &[WELCOME])), SENT),
        (
            "a wrong password",
            (with_password(), script(PLAIN, &[WRONG])),
            "SignInRefused: the mail server does not take this sign-in: 535 5.7.8 wrong password",
        ),
        (
            "a wrong password in LOGIN",
            (with_password(), script(LOGIN, &[ASK_USER, ASK_PASSWORD, WRONG])),
            "SignInRefused: the mail server does not take this sign-in: 535 5.7.8 wrong password",
        ),
        (
            "a wrong token, explained first",
            (with_token(), script(TOKEN, &[CHALLENGE, WRONG])),
            "TokenRefused: the mail server does not take this sign-in token: 535 5.7.8 wrong password",
        ),
        (
            "questions without end",
            (with_password(), script(LOGIN, &[ASK_USER])),
            "SignInRefused: the mail server does not take this sign-in: 334 VXNlcm5hbWU6",
        ),
        (
            "not now",
            (with_password(), script(PLAIN, &[BUSY])),
            "SignInLater: the mail server can sign nobody in just now: 454 4.7.0 try later",
        ),
        (
            "hangs up",
            (with_password(), script(PLAIN, &[Act::HangUp])),
            "BrokenOff: the talk with the mail server broke off before the letter's turn: the connection broke off (the \
             server hung up)",
        ),
        (
            "a password where only tokens are taken",
            (with_password(), script(TOKEN, &[WELCOME])),
            "NoCommonSignIn: the mail server offers no way to sign in that fits the settings: it offers XOAUTH2",
        ),
        (
            "a token where only passwords are taken",
            (with_token(), script(PLAIN, &[WELCOME])),
            "NoCommonSignIn: the mail server offers no way to sign in that fits the settings: it offers PLAIN, LOGIN",
        ),
        (
            "no sign-in at all once secured",
            (with_password(), script(NONE, &[WELCOME])),
            "NoCommonSignIn: the mail server offers no way to sign in that fits the settings: it offers nothing",
        ),
    ];
    all_at_once(&cases, |(sign_in, script)| {
        let server = Server::start(*script);
        sent(&account(server.port, Security::Tls, sign_in.clone()))
    });
}

#[test]
fn a_sign_in_has_the_form_that_its_standard_asks_for() {
    // PLAIN: RFC 4616, 2. LOGIN: no standard, common practice. XOAUTH2: no standard either; the form that its two large
    // providers publish for developers. Each was encoded with Python's base64.
    let script = |hello_secured, sign_in| Script {
        secured: Secured::FromTheFirstByte("server"),
        hello_secured,
        sign_in,
        ..GOOD
    };
    let welcome: &[Act] = &[Act::Say(b"235 2.7.0 welcome\r\n")];
    let login: &[Act] =
        &[Act::Say(b"334 VXNlcm5hbWU6\r\n"), Act::Say(b"334 UGFzc3dvcmQ6\r\n"), Act::Say(b"235 welcome\r\n")];
    for (sign_in, offer, replies, expected) in [
        (
            with_password(),
            &b"250-x\r\n250 AUTH LOGIN PLAIN\r\n"[..],
            welcome,
            vec!["AUTH PLAIN AGdhcmFnZQBzM2NyZXQ="],
        ),
        (with_password(), b"250-x\r\n250 AUTH LOGIN\r\n", login, vec!["AUTH LOGIN", "Z2FyYWdl", "czNjcmV0"]),
        (
            with_token(),
            b"250-x\r\n250 AUTH PLAIN XOAUTH2\r\n",
            welcome,
            vec!["AUTH XOAUTH2 dXNlcj1kZXNrQHNob3AuZXhhbXBsZQFhdXRoPUJlYXJlciBzM2NyZXQBAQ=="],
        ),
    ] {
        let server = Server::start(script(Act::Say(offer), replies));
        assert_eq!(sent(&account(server.port, Security::Tls, sign_in)), SENT);
        let lines = server.lines();
        assert_eq!(lines[1..lines.len() - 4], expected);
    }
}

#[test]
fn a_server_that_offers_its_sign_in_only_in_the_open_hears_no_password() {
    let hello = Act::Say(b"250-mail.shop.example\r\n250-AUTH PLAIN LOGIN\r\n250 STARTTLS\r\n");
    let hello_secured = Act::Say(b"250 mail.shop.example\r\n");
    let server =
        Server::start(Script { secured: Secured::OnRequest("server"), hello, hello_secured, ..GOOD });
    let outcome = sent(&account(server.port, Security::StartTls, with_password()));
    assert!(outcome.starts_with("NoCommonSignIn"), "{outcome}");
    assert_eq!(server.lines(), ["EHLO shop.example", "STARTTLS", "EHLO shop.example"]);
}

#[test]
fn a_password_goes_in_the_open_to_this_machine_alone() {
    let hello = Act::Say(b"250-mail.shop.example\r\n250 AUTH PLAIN\r\n");
    let server = Server::start(Script { hello, ..GOOD });
    assert_eq!(sent(&account(server.port, Security::Plain, with_password())), SENT);
}

#[test]
fn a_server_that_repeats_our_secret_does_not_get_it_shown() {
    const ECHO: Act = Act::Say(b"535 garage / s3cret / AGdhcmFnZQBzM2NyZXQ= is wrong\r\n");
    let script = Script { secured: Secured::FromTheFirstByte("server"), sign_in: &[ECHO], ..GOOD };
    let account = account(Server::start(script).port, Security::Tls, with_password());
    assert_eq!(
        sent(&account),
        "SignInRefused: the mail server does not take this sign-in: 535 garage / (hidden) / (hidden) is wrong"
    );
    let told = Script {
        secured: Secured::FromTheFirstByte("server"),
        receiver: ("zoe", Act::Say(b"550 you said s3cret\r\n")),
        ..GOOD
    };
    let server = Server::start(told);
    let account = super::mail_faults::account(server.port, Security::Tls, with_password());
    assert_eq!(sent(&account), "zoe@shop.example refused: 550 you said (hidden)");
}

#[test]
fn a_sender_that_is_no_address_is_a_fault_of_the_settings() {
    let receivers = ["zoe@shop.example".to_owned()];
    let parcel = Parcel { from: "the desk", receivers: &receivers, eml: LETTER };
    let server = Server::start(GOOD);
    let fault = send(&parcel, &plain(server.port), &SHORT, &AtomicBool::new(false), &mut |_| ()).unwrap_err();
    assert_eq!(fault.kind, FaultKind::Sender);
    assert_eq!(server.lines(), Vec::<String>::new());
}

#[test]
fn this_pc_calls_itself_as_the_settings_say_and_never_by_its_own_name() {
    for (set, expected) in
        [(None, "EHLO shop.example"), (Some("pc.garage.example"), "EHLO pc.garage.example")]
    {
        let server = Server::start(GOOD);
        let hello_name = set.map(str::to_owned);
        let settings = MailAccount { hello_name, ..settings(server.port, Security::Plain, SignIn::None) };
        assert_eq!(sent(&Account::new(settings, None, None).unwrap()), SENT);
        assert_eq!(server.lines()[0], expected);
    }
}

#[test]
fn a_check_goes_as_far_as_the_receivers_and_sends_nothing() {
    let server =
        Server::start(Script { receiver: ("gone", Act::Say(b"550 5.1.1 No such user\r\n")), ..GOOD });
    let receivers = ["zoe@shop.example", "gone@shop.example", "zoe"].map(str::to_owned);
    let stop = AtomicBool::new(false);
    let answers =
        check("desk@shop.example", &receivers, None, &plain(server.port), &SHORT, &stop, &mut |_| ())
            .unwrap();
    let (addresses, answers): (Vec<String>, Vec<Answer>) = answers.into_iter().unzip();
    assert_eq!(addresses, receivers);
    assert_eq!(answers[0], Answer::Taken);
    let words = "550 5.1.1 No such user".to_owned();
    assert_eq!(answers[1], Answer::Refused { of: Refusal::Receiver, words });
    assert!(
        matches!(&answers[2], Answer::Refused { words, .. } if words.starts_with("cannot use `zoe`")),
        "{answers:?}"
    );
    let lines = server.lines();
    assert_eq!(lines.last().unwrap(), "QUIT");
    assert!(lines.contains(&"RSET".to_owned()) && !lines.contains(&"DATA".to_owned()), "{lines:?}");
    assert_eq!(server.messages(), Vec::<Vec<u8>>::new());
}

#[test]
fn a_check_for_nobody_goes_as_far_as_the_sender() {
    let server = Server::start(GOOD);
    let stop = AtomicBool::new(false);
    let answers = check("desk@shop.example", &[], None, &plain(server.port), &SHORT, &stop, &mut |_| ());
    assert_eq!(answers, Ok(Vec::new()));
    let expected = ["EHLO shop.example", "MAIL FROM:<desk@shop.example>", "RSET", "QUIT"];
    assert_eq!(server.lines(), expected);
}

#[test]
fn a_check_tells_of_a_letter_that_is_larger_than_the_server_takes() {
    let size = Act::Say(b"250-mail.shop.example\r\n250 SIZE 1000\r\n");
    let server = Server::start(Script { hello: size, ..GOOD });
    let receivers = ["zoe@shop.example".to_owned()];
    let stop = AtomicBool::new(false);
    let account = plain(server.port);
    for (bytes, expected) in [
        (1_000, Answer::Taken),
        (
            1_001,
            Answer::Refused {
                of: Refusal::Size,
                words: "the mail has 1001 bytes, and the server takes at most 1000".to_owned(),
            },
        ),
    ] {
        let answers =
            check("desk@shop.example", &receivers, Some(bytes), &account, &SHORT, &stop, &mut |_| ())
                .unwrap();
        assert_eq!(answers, [("zoe@shop.example".to_owned(), expected)]);
    }
}

#[test]
fn whatever_bytes_a_server_sends_a_sending_ends_in_time_with_a_verdict() {
    /// How many servers of nonsense.
    const SERVERS: u64 = 60;
    let soon = Duration::from_millis(500);
    let total = Duration::from_secs(4);
    let limits =
        SendLimits { greeting: soon, command: soon, last_answer: soon, goodbye: soon, total, ..SHORT };
    let begun = Instant::now();
    std::thread::scope(|scope| {
        for seed in 1..=SERVERS {
            scope.spawn(move || {
                let server = Server::start(nonsense(seed));
                let security = [Security::Plain, Security::Plain, Security::StartTls, Security::Tls]
                    [(seed % 4) as usize];
                let account = account(server.port, security, with_password());
                let outcome = sent_by(&account, &["zoe@shop.example"], LETTER, &limits);
                let is_surely_sent = outcome.contains(" sent: 2") && server.messages().is_empty();
                assert!(!outcome.is_empty() && !is_surely_sent, "{seed}: {outcome}");
                let acts = outcome.chars().any(|letter| letter != '\n' && steers(letter));
                assert!(!acts, "{seed}: a terminal would act on {outcome:?}");
            });
        }
    });
    assert!(begun.elapsed() < Duration::from_secs(30), "{:?}", begun.elapsed());
}

/// A server that is right up to some step and says bytes by chance from there on; the same ones for the same seed.
fn nonsense(seed: u64) -> Script {
    // Xorshift (Marsaglia, 2003).
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    let mut chance = move |below: u64| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        state % below
    };
    let length = 1 + chance(3_000);
    // Mostly what replies are made of, so that more than the first byte is read.
    let signs = b"0123456789255535- \r\n\r\n250-354 \0\x1b[\x07\x9b\xff\xc3\xa9=.";
    let bytes: Vec<u8> = (0..length).map(|_| signs[chance(signs.len() as u64) as usize]).collect();
    let said = Act::Say(bytes.leak());
    let hello = Act::Say(b"250-mail.shop.example\r\n250 AUTH PLAIN\r\n");
    match chance(6) {
        0 => Script { greeting: said, ..GOOD },
        1 => Script { hello: said, ..GOOD },
        2 => Script { hello, sender: said, ..GOOD },
        3 => Script { hello, receiver: ("", said), ..GOOD },
        4 => Script { hello, data: said, ..GOOD },
        _ => Script { hello, message: said, ..GOOD },
    }
}
