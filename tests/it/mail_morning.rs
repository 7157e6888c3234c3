//! A morning's letter all the way: from the sheets, through the outbox and a real mail server, into the mailboxes.

use std::path::PathBuf;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use jiff::{Timestamp, ToSpan};
use serde_json::json;
use tickover::findings::Section;
use tickover::round::{self, Outcome, Run, Tells, YardFolder};
use tickover::sheets::Reader;
use tickover::today;

use crate::mail_line::{Line, LineState};
use crate::mail_provider::{MailProvider, mail_provider};
use crate::post::{contents, read};
use crate::program::{Yard, printed, repository, said, tickover};

/// Half past seven of the foreign yard's morning, a Monday.
const MORNING: &str = "2025-11-17T07:30:00Z";

/// A shop of the test's own, whose letter goes to these people of it, by this account.
fn shop(to: &str, account: &str) -> Yard {
    let yard = Yard::with_sheets_of(&repository().join("tests/yards/all-logs-csv/sheets"));
    let server = mail_provider();
    let settings = format!(
        "[letter]\nfrom = \"{user}\"\n{to}\n\n[mail]\nserver = \"localhost\"\nuser = \"{user}\"\n\
         ca_file = \"{authority}\"\n{account}\n",
        user = server.user(),
        authority = server.ca_file().display(),
    );
    yard.put("tickover.toml", settings);
    for entry in std::fs::read_dir(repository().join("rules")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        yard.put(&format!("rules/{name}"), std::fs::read(&path).unwrap());
    }
    put_secret(&yard, "mail-password", server.password());
    yard
}

/// A file for nobody else's eyes, as the program wants it.
fn put_secret(yard: &Yard, name: &str, secret: &str) {
    use std::os::unix::fs::PermissionsExt;
    yard.put(name, format!("{secret}\n"));
    std::fs::set_permissions(yard.path().join(name), std::fs::Permissions::from_mode(0o600)).unwrap();
}

/// The account by its password over STARTTLS, on this port.
fn by_password(port: u16) -> String {
    format!(
        "security = \"starttls\"\nport = {port}\nsign_in = \"password\"\npassword_file = \"mail-password\""
    )
}

/// The letter's copy in the yard folder.
fn copy(yard: &Yard, day: &str) -> Vec<u8> {
    std::fs::read(yard.path().join(format!("digests/{day}.eml"))).unwrap()
}

/// The Message-ID of a mail.
fn message_id(eml: &[u8]) -> String {
    let headers = read(eml)["headers"].clone();
    let headers = headers.as_array().unwrap();
    let found = headers.iter().find(|header| header[0] == "Message-ID").unwrap();
    found[1].as_str().unwrap().to_owned()
}

/// Asserts that a mailbox holds this very mail so many times, and nothing else.
fn assert_holds(server: &MailProvider, mailbox: &str, eml: &[u8], count: usize) {
    let there = server.read_all(mailbox);
    assert_eq!(there.len(), count, "{mailbox}");
    for mail in there {
        assert_eq!(String::from_utf8_lossy(mail.as_sent()), String::from_utf8_lossy(eml), "{mailbox}");
    }
}

/// The sections that a mail's plain text heads.
fn sections(eml: &[u8]) -> Vec<&'static str> {
    let text = text(eml);
    Section::ALL
        .into_iter()
        .map(Section::heading)
        .filter(|heading| text.lines().any(|line| line.starts_with(&format!("{heading}: "))))
        .collect()
}

/// Makes a round at a moment, as the long run does.
fn round(yard: &Yard, now: Timestamp, tells: Tells) -> Outcome {
    let run = Run {
        folder: YardFolder::at(yard.path()),
        now,
        today: None,
        keeps: true,
        tells,
        trouble: Vec::new(),
        reader: Reader::InChild(PathBuf::from(env!("CARGO_BIN_EXE_tickover"))),
        patience: Duration::from_secs(20),
    };
    round::make(&run, &AtomicBool::new(false), &mut |_| {}).unwrap_or_else(|why| panic!("{why:?}"))
}

fn morning() -> Timestamp {
    MORNING.parse().unwrap()
}

/// What stands in a mail's plain text.
fn text(eml: &[u8]) -> String {
    contents(&read(eml)).swap_remove(0)
}

#[test]
fn the_program_sends_each_person_their_sections_and_keeps_a_copy() {
    let server = mail_provider();
    let by_token = format!(
        "security = \"tls\"\nport = {}\nsign_in = \"token\"\ntoken_command = [\"echo\", \"{}\"]",
        server.ports().tls,
        server.token(),
    );
    for (name, account) in [("password", by_password(server.ports().starttls)), ("token", by_token)] {
        let domain = format!("morning-by-{name}.example");
        let to = format!(
            "to = [\"workshop@{domain}\", \"desk@{domain}\"]\n[letter.in_part]\n\"owner@{domain}\" = [\"On the bench\"]"
        );
        let yard = shop(&to, &account);
        let output = yard.run("morning", &["--today", "2025-11-17"]);
        assert_eq!((output.status.code(), said(&output).as_str()), (Some(0), ""), "{name}");
        let eml = copy(&yard, "2025-11-17");
        assert_holds(server, &format!("workshop@{domain}"), &eml, 1);
        assert_holds(server, &format!("desk@{domain}"), &eml, 1);
        assert_eq!(sections(&eml), ["Ring today", "On the bench"], "{}", text(&eml));

        let in_part = server.read_all(&format!("owner@{domain}"));
        assert_eq!(in_part.len(), 1, "{name}");
        let in_part = in_part[0].as_sent();
        let mail = read(in_part);
        assert_eq!(mail["faults"], json!([]));
        assert_eq!(mail["to"], json!([["", format!("owner@{domain}")]]));
        assert_ne!(message_id(in_part), message_id(&eml));
        assert_eq!(sections(in_part), ["On the bench"], "{}", text(in_part));

        // A second run of the day has nothing more to say.
        let again = yard.run("morning", &["--today", "2025-11-17"]);
        assert_eq!((again.status.code(), said(&again).as_str()), (Some(0), ""), "{name}");
        assert_holds(server, &format!("workshop@{domain}"), &eml, 1);
        assert_eq!(server.read_all(&format!("owner@{domain}")).len(), 1, "{name}");
    }
}

#[test]
fn a_check_of_the_account_goes_all_the_way_and_leaves_nothing_behind() {
    let server = mail_provider();
    let account = by_password(server.ports().starttls);
    let yard = shop("to = [\"workshop@checked.example\", \"gone@checked.example\"]", &account);
    let place = yard.path().to_string_lossy().into_owned();
    let output = tickover(["post", "check", "--yard", &place]);
    let words = format!("{}{}", printed(&output), said(&output));
    assert_eq!(output.status.code(), Some(1), "{words}");
    assert!(words.contains("550 5.1.1 <gone@checked.example>: Recipient address rejected"), "{words}");
    assert_eq!(server.read_all("workshop@checked.example").len(), 0);

    let output = tickover(["post", "check", "--yard", &place, "--send", "workshop@checked.example"]);
    assert!(
        printed(&output).contains("A short mail is on its way to workshop@checked.example: 250 2.0.0 Ok")
    );
    let there = server.read_all("workshop@checked.example");
    assert_eq!(there.len(), 1);
    assert_eq!(read(there[0].as_sent())["faults"], json!([]));
}

#[test]
fn a_letter_waits_for_a_server_that_is_down_and_goes_out_as_it_was_written() {
    let server = mail_provider();
    let line = Line::to(server.ports().starttls);
    line.set(LineState::Down);
    let yard = shop("to = [\"workshop@down.example\"]", &by_password(line.port()));
    let output = yard.run("morning", &["--today", "2025-11-17"]);
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    assert!(said(&output).contains("mail"), "{}", said(&output));
    let eml = copy(&yard, "2025-11-17");
    assert_eq!(server.read_all("workshop@down.example").len(), 0);

    line.set(LineState::Up);
    let outcome = round(&yard, today::now() + 2.minutes(), Tells::Nothing);
    assert_eq!((outcome.answer.sent, outcome.answer.next_mail), (1, None));
    assert_holds(server, "workshop@down.example", &eml, 1);
}

#[test]
fn a_letter_that_waits_in_vain_gives_way_to_the_next_which_says_so() {
    let server = mail_provider();
    let line = Line::to(server.ports().starttls);
    line.set(LineState::Down);
    let yard = shop("to = [\"workshop@vain.example\"]", &by_password(line.port()));
    assert!(!round(&yard, morning(), Tells::Morning).answer.told_now);
    assert!(!round(&yard, morning() + 1.hours(), Tells::Nothing).answer.told_now);

    line.set(LineState::Up);
    assert!(round(&yard, morning() + 24.hours(), Tells::Morning).answer.told_now);
    let second = copy(&yard, "2025-11-18");
    assert_holds(server, "workshop@vain.example", &second, 1);
    let told = text(&second);
    assert!(told.lines().take(12).any(|line| line.contains("workshop@vain.example")), "{told}");
    // Nobody has read what the first letter told of as new.
    assert!(told.contains("\nAll of it is new.\n"), "{told}");
    assert_eq!(round(&yard, morning() + 26.hours(), Tells::Nothing).answer.next_mail, None);
}

#[test]
fn what_the_server_refuses_stands_at_the_top_of_the_next_days_letter() {
    let server = mail_provider();
    let account = by_password(server.ports().starttls);
    let yard = shop("to = [\"workshop@refused.example\", \"gone@refused.example\"]", &account);
    let outcome = round(&yard, morning(), Tells::Morning);
    assert!(outcome.needs_a_person());
    assert!(outcome.answer.told_now);
    let first = copy(&yard, "2025-11-17");
    assert!(!text(&first).contains("gone@refused.example"), "{}", text(&first));

    round(&yard, morning() + 24.hours(), Tells::Morning);
    let second = copy(&yard, "2025-11-18");
    let told = text(&second);
    let at = told.find("gone@refused.example").unwrap_or_else(|| panic!("it is not said:\n{told}"));
    assert!(told[at..].contains("550 5.1.1"), "{told}");
    assert!(told.lines().take(12).any(|line| line.contains("gone@refused.example")), "{told}");
    for eml in [first, second] {
        assert_eq!(server.read_back("workshop@refused.example", &message_id(&eml)).len(), 1);
    }
}

#[test]
fn a_letter_whose_answer_was_lost_is_sent_once_more_and_no_further() {
    let server = mail_provider();
    let line = Line::to(server.ports().starttls);
    let yard = shop("to = [\"workshop@lost.example\"]", &by_password(line.port()));
    // The letter is longer than all that is said before it, so that the line goes dead while it is handed over.
    line.set(LineState::DeadOnceAnsweredAfter { bytes: 8_000 });
    let outcome = round(&yard, morning(), Tells::Morning);
    assert!(outcome.needs_a_person(), "{:?}", outcome.trouble);
    let eml = copy(&yard, "2025-11-17");
    assert!(eml.len() > 10_000, "the letter has only {} bytes", eml.len());
    assert_holds(server, "workshop@lost.example", &eml, 1);

    line.set(LineState::Up);
    assert_eq!(round(&yard, morning() + 14.minutes(), Tells::Nothing).answer.sent, 0);
    assert_eq!(round(&yard, morning() + 16.minutes(), Tells::Nothing).answer.sent, 1);
    assert_eq!(round(&yard, morning() + 90.minutes(), Tells::Nothing).answer.sent, 0);
    assert_holds(server, "workshop@lost.example", &eml, 2);
}
