//! What becomes of a letter when the mail server, or something on the way, misbehaves: a server of our own on loopback
//! does each thing once, and a verdict within its limit is asked for.

use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use tickover::post::{Account, Parcel, Refusal, Secret, SendLimits, SetupFault, Step, Verdict, send};
use tickover::settings::{MailAccount, Security, SignIn};

use super::mail_server::{Act, GOOD, Script, Secured, Server, certificates};

/// A letter with what is hard on the way: lines that begin with a dot, and one that is nothing else.
pub(super) const LETTER: &[u8] = b"Subject: 1 stays in the yard\r\n\r\n.\r\n..a\r\nb.\r\n";

/// Limits that a test can wait for; on a busy PC, no step of a good server takes as long.
pub(super) const SHORT: SendLimits = SendLimits {
    connecting: Duration::from_secs(3),
    greeting: Duration::from_secs(3),
    command: Duration::from_secs(3),
    piece: Duration::from_secs(3),
    last_answer: Duration::from_secs(3),
    goodbye: Duration::from_secs(1),
    total: Duration::from_secs(12),
};

/// What a machine that has many other things to do may take over a limit.
const LEEWAY: Duration = Duration::from_secs(3);

pub(super) fn settings(port: u16, security: Security, sign_in: SignIn) -> MailAccount {
    let server = "localhost".to_owned();
    MailAccount { server, port, security, sign_in, hello_name: None, ca_file: None, insist_on_plain: false }
}

pub(super) fn with_password() -> SignIn {
    SignIn::Password { user: "garage".to_owned(), file: None }
}

pub(super) fn with_token() -> SignIn {
    SignIn::Token { user: "desk@shop.example".to_owned(), command: Vec::new() }
}

/// An account at a server of ours, with the secret `s3cret` where it signs in.
pub(super) fn account(port: u16, security: Security, sign_in: SignIn) -> Account {
    let secret = (sign_in != SignIn::None).then(|| Secret::in_text(b"s3cret").unwrap());
    let authority = std::fs::read(certificates().join("ca.pem")).unwrap();
    Account::new(settings(port, security, sign_in), secret, Some(&authority)).unwrap()
}

/// An account at a server that asks for nothing.
pub(super) fn plain(port: u16) -> Account {
    let settings = settings(port, Security::Plain, SignIn::None);
    Account::new(settings, None, None).unwrap()
}

/// What came of it, an address a line; a fault of the account is one line.
pub(super) fn said(outcome: Result<Vec<(String, Verdict)>, SetupFault>) -> String {
    let line = |(address, verdict)| match verdict {
        Verdict::Sent { words } => format!("{address} sent: {words}"),
        Verdict::Refused { of: Refusal::Receiver, words } => format!("{address} refused: {words}"),
        Verdict::Refused { of: Refusal::Size, words } => {
            format!("{address}, the letter is too large: {words}")
        }
        Verdict::Refused { of: Refusal::Letter, words } => {
            format!("{address}, the letter is refused: {words}")
        }
        Verdict::Later { words } => format!("{address} later: {words}"),
        Verdict::PerhapsSent { words } => format!("{address} perhaps sent: {words}"),
    };
    match outcome {
        Ok(verdicts) => verdicts.into_iter().map(line).collect::<Vec<_>>().join("\n"),
        Err(fault) => format!("{:?}: {}", fault.kind, fault.what),
    }
}

pub(super) fn sent_by(account: &Account, receivers: &[&str], eml: &[u8], limits: &SendLimits) -> String {
    let receivers: Vec<String> = receivers.iter().map(|receiver| (*receiver).to_owned()).collect();
    let parcel = Parcel { from: "Tickover <desk@shop.example>", receivers: &receivers, eml };
    let begun = Instant::now();
    let outcome = send(&parcel, account, limits, &AtomicBool::new(false), &mut |_| ());
    assert!(begun.elapsed() < limits.total + LEEWAY, "it took {:?}", begun.elapsed());
    said(outcome)
}

/// Runs every case at the same time, each with a server of its own, and compares what came of all of them.
pub(super) fn all_at_once<C: Sync>(cases: &[(&str, C, &str)], run: impl Fn(&C) -> String + Sync) {
    let found: Vec<String> = thread::scope(|scope| {
        let run = &run;
        let running: Vec<_> = cases.iter().map(|(_, case, _)| scope.spawn(move || run(case))).collect();
        running.into_iter().map(|case| case.join().unwrap()).collect()
    });
    let show = |outcomes: Vec<&str>| {
        let lines =
            cases.iter().zip(outcomes).map(|((name, _, _), outcome)| format!("{name}\n    {outcome}"));
        lines.collect::<Vec<_>>().join("\n")
    };
    let expected = show(cases.iter().map(|(_, _, expected)| *expected).collect());
    snapbox::assert_data_eq!(show(found.iter().map(String::as_str).collect()), expected);
}

#[test]
fn each_address_has_the_verdict_that_the_servers_own_words_give_it() {
    let cases = [
        ("good", GOOD, "zoe@shop.example sent: 250 2.0.0 stored"),
        (
            "one of two is not known",
            Script { receiver: ("zoe", Act::Say(b"550 5.1.1 No such user\r\n")), ..GOOD },
            "zoe@shop.example refused: 550 5.1.1 No such user",
        ),
        (
            "a mailbox is full",
            Script { receiver: ("zoe", Act::Say(b"552 5.2.2 over quota\r\n")), ..GOOD },
            "zoe@shop.example later: 552 5.2.2 over quota",
        ),
        (
            "refused as unwanted",
            Script { message: Act::Say(b"554 5.7.1 rejected as spam\r\n"), ..GOOD },
            "zoe@shop.example, the letter is refused: 554 5.7.1 rejected as spam",
        ),
        (
            "refused in two lines",
            Script { message: Act::Say(b"550-5.7.509 first line\r\n550 5.7.509 second line\r\n"), ..GOOD },
            "zoe@shop.example, the letter is refused: 550 5.7.509 first line second line",
        ),
        (
            "too large, said after the upload",
            Script { message: Act::Say(b"552 5.3.4 too large\r\n"), ..GOOD },
            "zoe@shop.example, the letter is too large: 552 5.3.4 too large",
        ),
        (
            "too large, said when the size is told",
            Script {
                hello: Act::Say(b"250-mail.shop.example\r\n250 SIZE\r\n"),
                sender: Act::Say(b"552 5.3.4 too large\r\n"),
                ..GOOD
            },
            "zoe@shop.example, the letter is too large: 552 5.3.4 too large",
        ),
        (
            "too large for what the server offers",
            Script { hello: Act::Say(b"250-mail.shop.example\r\n250 size 20\r\n"), ..GOOD },
            "zoe@shop.example, the letter is too large: the mail has 44 bytes, and the server takes at most 20",
        ),
    ];
    all_at_once(&cases, |script| {
        sent_by(&plain(Server::start(*script).port), &["zoe@shop.example"], LETTER, &SHORT)
    });
}

#[test]
fn a_refusal_is_the_receivers_the_letters_or_the_senders_by_its_status_wherever_it_is_said() {
    // The statuses: RFC 3463, 3.2 to 3.4 and 3.8; RFC 7372, 3; RFC 7505, 4; 552: RFC 1870, 6. A 5.7.1 that is not said
    // of one receiver is the letter's: our decision.
    let after = |message: &'static [u8]| Script { message: Act::Say(message), ..GOOD };
    let cases = [
        (
            "a mailbox that takes no such size",
            Script { receiver: ("zoe", Act::Say(b"550 5.2.3 longer than this mailbox takes\r\n")), ..GOOD },
            "zoe@shop.example, the letter is too large: 550 5.2.3 longer than this mailbox takes",
        ),
        (
            "too large, by its status alone",
            after(b"554 5.3.4 too big\r\n"),
            "zoe@shop.example, the letter is too large: 554 5.3.4 too big",
        ),
        (
            "too large, by its code alone",
            after(b"552 message exceeds the limit\r\n"),
            "zoe@shop.example, the letter is too large: 552 message exceeds the limit",
        ),
        (
            "a full mailbox is no large letter",
            after(b"552 5.2.2 mailbox full\r\n"),
            "zoe@shop.example refused: 552 5.2.2 mailbox full",
        ),
        (
            "an unknown receiver, said after the message",
            after(b"550 5.1.1 No such user\r\n"),
            "zoe@shop.example refused: 550 5.1.1 No such user",
        ),
        (
            "what stands in it",
            after(b"554 5.6.0 content not allowed\r\n"),
            "zoe@shop.example, the letter is refused: 554 5.6.0 content not allowed",
        ),
        (
            "without a status",
            after(b"554 transaction failed\r\n"),
            "zoe@shop.example, the letter is refused: 554 transaction failed",
        ),
        (
            "the sender, said after the message",
            after(b"550 5.1.8 sender's domain unknown\r\n"),
            "Sender: the mail server takes nothing from this sender: 550 5.1.8 sender's domain unknown",
        ),
        (
            "a sender that this account may not use",
            after(b"550 5.7.23 SPF validation failed\r\n"),
            "Sender: the mail server takes nothing from this sender: 550 5.7.23 SPF validation failed",
        ),
        (
            "the sender, said when the message is to begin",
            Script { data: Act::Say(b"550 5.1.7 bad sender\r\n"), ..GOOD },
            "Sender: the mail server takes nothing from this sender: 550 5.1.7 bad sender",
        ),
        (
            "a sign-in, wanted only then",
            Script { data: Act::Say(b"530 5.7.0 Authentication required\r\n"), ..GOOD },
            "SignInWanted: the mail server wants a sign-in: 530 5.7.0 Authentication required",
        ),
        (
            "the size, said by a status when the sender is told",
            Script { sender: Act::Say(b"554 5.3.4 too big\r\n"), ..GOOD },
            "zoe@shop.example, the letter is too large: 554 5.3.4 too big",
        ),
    ];
    all_at_once(&cases, |script| {
        sent_by(&plain(Server::start(*script).port), &["zoe@shop.example"], LETTER, &SHORT)
    });
}

#[test]
fn what_is_said_around_the_message_counts_as_its_code_says() {
    let cases = [
        (
            "the disk is full",
            Script { message: Act::Say(b"452 4.2.2 mailbox full\r\n"), ..GOOD },
            "zoe@shop.example later: 452 4.2.2 mailbox full",
        ),
        (
            "shutting down at the sender",
            Script { sender: Act::SayAndHangUp(b"421 4.3.2 shutting down\r\n"), ..GOOD },
            "zoe@shop.example later: 421 4.3.2 shutting down",
        ),
        (
            "refused at the message's begin",
            Script { data: Act::Say(b"554 5.5.1 no valid receivers\r\n"), ..GOOD },
            "zoe@shop.example, the letter is refused: 554 5.5.1 no valid receivers",
        ),
        (
            "not now at the message's begin",
            Script { data: Act::Say(b"451 4.3.0 queue is full\r\n"), ..GOOD },
            "zoe@shop.example later: 451 4.3.0 queue is full",
        ),
        (
            "an answer to the message that is none",
            Script { message: Act::Say(b"354 go on\r\n"), ..GOOD },
            "zoe@shop.example perhaps sent: 354 go on",
        ),
        (
            "the goodbye hangs",
            Script { goodbye: Act::Silence, ..GOOD },
            "zoe@shop.example sent: 250 2.0.0 stored",
        ),
        (
            "torn down at the goodbye",
            Script { goodbye: Act::Reset, ..GOOD },
            "zoe@shop.example sent: 250 2.0.0 stored",
        ),
    ];
    all_at_once(&cases, |script| {
        sent_by(&plain(Server::start(*script).port), &["zoe@shop.example"], LETTER, &SHORT)
    });
}

#[test]
fn a_connection_that_breaks_tells_a_letter_not_sent_from_one_perhaps_sent() {
    let hung_up = "zoe@shop.example later: the connection broke off (the server hung up)";
    let perhaps_hung_up = "zoe@shop.example perhaps sent: the connection broke off (the server hung up)";
    let torn = "zoe@shop.example later: the connection broke off (it was torn down)";
    let perhaps_torn = "zoe@shop.example perhaps sent: the connection broke off (it was torn down)";
    let late = "zoe@shop.example later: the server did not answer in time";
    let perhaps_late = "zoe@shop.example perhaps sent: the server did not answer in time";
    let cases = [
        ("hangs up at the sender", Script { sender: Act::HangUp, ..GOOD }, hung_up),
        ("hangs up at the receiver", Script { receiver: ("zoe", Act::HangUp), ..GOOD }, hung_up),
        (
            "hangs up at DATA",
            Script { data: Act::HangUp, ..GOOD },
            "zoe@shop.example later: the connection broke off (the server hung up)",
        ),
        ("hangs up after storing", Script { message: Act::HangUp, ..GOOD }, perhaps_hung_up),
        (
            "hangs up in the middle of its answer",
            Script { message: Act::SayAndHangUp(b"250 2.0.0 que"), ..GOOD },
            perhaps_hung_up,
        ),
        ("resets at the sender", Script { sender: Act::Reset, ..GOOD }, torn),
        ("resets at the receiver", Script { receiver: ("zoe", Act::Reset), ..GOOD }, torn),
        ("resets at DATA", Script { data: Act::Reset, ..GOOD }, torn),
        (
            "resets in the middle of a small message",
            Script { in_the_middle: true, message: Act::Reset, ..GOOD },
            perhaps_torn,
        ),
        ("resets after the whole message", Script { message: Act::Reset, ..GOOD }, perhaps_torn),
        ("silent at the sender", Script { sender: Act::Silence, ..GOOD }, late),
        ("silent at the receiver", Script { receiver: ("zoe", Act::Silence), ..GOOD }, late),
        ("silent at DATA", Script { data: Act::Silence, ..GOOD }, late),
        ("silent after the message", Script { message: Act::Silence, ..GOOD }, perhaps_late),
        (
            "drips its answer to the message",
            Script { message: Act::Drip(1_000, b"250 2.0.0 slow\r\n"), ..GOOD },
            perhaps_late,
        ),
        (
            "drips its answer to the sender",
            Script { sender: Act::Drip(1_000, b"250 2.1.0 slow\r\n"), ..GOOD },
            late,
        ),
        (
            "takes eight seconds to store",
            Script { message: Act::Late(8_000, b"250 2.0.0 late\r\n"), ..GOOD },
            perhaps_late,
        ),
    ];
    all_at_once(&cases, |script| {
        sent_by(&plain(Server::start(*script).port), &["zoe@shop.example"], LETTER, &SHORT)
    });
}

#[test]
fn an_answer_after_eight_seconds_is_waited_for_where_the_limit_allows_it() {
    let server = Server::start(Script { message: Act::Late(8_000, b"250 2.0.0 late\r\n"), ..GOOD });
    let limits = SendLimits { last_answer: Duration::from_secs(20), total: Duration::from_secs(30), ..SHORT };
    let outcome = sent_by(&plain(server.port), &["zoe@shop.example"], LETTER, &limits);
    assert_eq!(outcome, "zoe@shop.example sent: 250 2.0.0 late");
}

#[test]
fn a_large_message_that_breaks_in_the_middle_is_surely_not_sent() {
    let server = Server::start(Script { in_the_middle: true, message: Act::Reset, ..GOOD });
    let large = b"a line of a very long list of machines\r\n".repeat(500_000);
    let outcome = sent_by(&plain(server.port), &["zoe@shop.example"], &large, &SHORT);
    assert!(outcome.starts_with("zoe@shop.example later: the connection broke off"), "{outcome}");
}

#[test]
fn a_server_that_takes_no_more_of_a_message_holds_nobody_up() {
    let server = Server::start(Script { in_the_middle: true, message: Act::Late(60_000, b""), ..GOOD });
    let large = b"a line of a very long list of machines\r\n".repeat(500_000);
    let outcome = sent_by(&plain(server.port), &["zoe@shop.example"], &large, &SHORT);
    assert_eq!(outcome, "zoe@shop.example later: the server did not answer in time");
}

#[test]
fn the_bytes_arrive_as_they_are_and_only_to_those_whom_the_server_takes() {
    let no_such = Act::Say(b"550 5.1.1 No such user\r\n");
    let size = Act::Say(b"250-mail.shop.example\r\n250 SIZE 1000000\r\n");
    let server = Server::start(Script { hello: size, receiver: ("gone", no_such), ..GOOD });
    let receivers = ["gone@shop.example", "Zoe Alder <zoe@shop.example>"];
    assert_eq!(
        sent_by(&plain(server.port), &receivers, LETTER, &SHORT),
        "gone@shop.example refused: 550 5.1.1 No such user\nZoe Alder <zoe@shop.example> sent: 250 2.0.0 stored"
    );
    assert_eq!(
        server.lines(),
        [
            "EHLO shop.example",
            "MAIL FROM:<desk@shop.example> SIZE=44",
            "RCPT TO:<gone@shop.example>",
            "RCPT TO:<zoe@shop.example>",
            "DATA",
            "QUIT",
        ]
    );
    // The dots at the begin of lines are doubled on the way (RFC 5321, 4.5.2).
    assert_eq!(
        String::from_utf8(server.messages().concat()).unwrap(),
        "Subject: 1 stays in the yard\r\n\r\n..\r\n...a\r\nb.\r\n"
    );
}

#[test]
fn what_is_held_against_one_receiver_alone_is_no_fault_of_the_account() {
    let forbidden = Act::Say(b"550 5.7.1 Not for everybody\r\n");
    let server = Server::start(Script { receiver: ("all", forbidden), ..GOOD });
    assert_eq!(
        sent_by(&plain(server.port), &["all@shop.example", "zoe@shop.example"], LETTER, &SHORT),
        "all@shop.example refused: 550 5.7.1 Not for everybody\nzoe@shop.example sent: 250 2.0.0 stored"
    );
}

#[test]
fn where_nobody_is_taken_no_message_is_begun() {
    let no_such = Act::Say(b"550 5.1.1 No such user\r\n");
    let server = Server::start(Script { receiver: ("", no_such), ..GOOD });
    assert_eq!(
        sent_by(&plain(server.port), &["gone@shop.example"], LETTER, &SHORT),
        "gone@shop.example refused: 550 5.1.1 No such user"
    );
    let expected =
        ["EHLO shop.example", "MAIL FROM:<desk@shop.example>", "RCPT TO:<gone@shop.example>", "QUIT"];
    assert_eq!(server.lines(), expected);
}

#[test]
fn a_server_that_wants_to_see_us_twice_takes_the_letter_the_second_time() {
    let grey = Act::Say(b"451 4.7.1 Greylisted, try again later\r\n");
    let server = Server::start_in_turn(&[Script { receiver: ("zoe", grey), ..GOOD }, GOOD]);
    let account = plain(server.port);
    let send = || sent_by(&account, &["zoe@shop.example"], LETTER, &SHORT);
    assert_eq!(send(), "zoe@shop.example later: 451 4.7.1 Greylisted, try again later");
    assert_eq!(send(), "zoe@shop.example sent: 250 2.0.0 stored");
    assert_eq!(server.messages().len(), 1);
}

#[test]
fn an_address_with_odd_signs_is_refused_before_the_server_hears_of_it() {
    let server = Server::start(GOOD);
    let odd = [
        "zoe@shop.example>\r\nRCPT TO:<all@shop.example",
        "zoe",
        "\"zoe alder\"@shop.example",
        "\u{142}ukasz@shop.example",
        "",
    ];
    let outcome = sent_by(&plain(server.port), &odd, LETTER, &SHORT);
    assert_eq!(outcome.matches(" refused: cannot use `").count(), odd.len(), "{outcome}");
    assert_eq!(server.lines(), Vec::<String>::new());

    let mixed = ["zoe", "zoe@shop.example"];
    assert_eq!(
        sent_by(&plain(server.port), &mixed, LETTER, &SHORT),
        "zoe refused: cannot use `zoe` as a receiver's address: it has not the form of an address; write it as \
         desk@shop.example or Name <desk@shop.example>\nzoe@shop.example sent: 250 2.0.0 stored"
    );
}

#[test]
fn a_stop_ends_a_sending_soon_with_what_can_be_known() {
    let cases = [
        ("before anything was said", Script { greeting: Act::Silence, ..GOOD }, "later"),
        ("before the receivers", Script { receiver: ("", Act::Silence), ..GOOD }, "later"),
        ("before the message", Script { data: Act::Silence, ..GOOD }, "later"),
        ("after the message", Script { message: Act::Silence, ..GOOD }, "perhaps sent"),
    ];
    for (name, script, expected) in cases {
        let (server, stop) = (Server::start(script), AtomicBool::new(false));
        let receivers = ["zoe@shop.example".to_owned()];
        let parcel = Parcel { from: "desk@shop.example", receivers: &receivers, eml: LETTER };
        let patient = SendLimits::default();
        let account = plain(server.port);
        let (outcome, took) = thread::scope(|scope| {
            let sending = scope.spawn(|| send(&parcel, &account, &patient, &stop, &mut |_| ()));
            // Until the server has heard all that it is going to hear.
            thread::sleep(Duration::from_millis(700));
            stop.store(true, Ordering::Relaxed);
            let stopped = Instant::now();
            (sending.join().unwrap(), stopped.elapsed())
        });
        assert_eq!(said(outcome), format!("zoe@shop.example {expected}: the sending was stopped"), "{name}");
        assert!(took < Duration::from_secs(1), "{name}: {took:?}");
    }
}

#[test]
fn each_step_is_announced_as_it_is_reached() {
    let server = Server::start(Script { secured: Secured::OnRequest("server"), hello: STARTTLS, ..GOOD });
    let receivers = ["zoe@shop.example".to_owned()];
    let parcel = Parcel { from: "desk@shop.example", receivers: &receivers, eml: LETTER };
    let mut steps = Vec::new();
    let account = account(server.port, Security::StartTls, with_password());
    // How many messages the server holds at each step, so that what stands before and after the message is sure.
    let mut note = |step| steps.push((step, server.messages().len()));
    send(&parcel, &account, &SHORT, &AtomicBool::new(false), &mut note).unwrap();
    let stored = steps.iter().find(|(step, _)| *step == Step::Answered).unwrap().1;
    let begun = steps.iter().find(|(step, _)| *step == Step::BodyBegins).unwrap().1;
    assert_eq!((begun, stored), (0, 1));
    assert_eq!(
        steps.into_iter().map(|(step, _)| step).collect::<Vec<_>>(),
        [
            Step::Connected,
            Step::Greeted,
            Step::Secured,
            Step::SignedIn,
            Step::SenderTaken,
            Step::ReceiversAnswered,
            Step::BodyBegins,
            Step::BodyEnds,
            Step::BodyEnded,
            Step::Answered,
        ]
    );
}

/// The offer to secure the connection.
pub(super) const STARTTLS: Act = Act::Say(b"250-mail.shop.example\r\n250 STARTTLS\r\n");
