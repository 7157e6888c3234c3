//! Letters that the ledger cannot keep, and copies that find no place, while the mail server is there or not: nothing is
//! lost, and the next letter says it.

use std::fs;
use std::path::PathBuf;
use std::process::Command;
use std::sync::atomic::AtomicBool;
use std::time::Duration;

use jiff::{Timestamp, ToSpan};
use rusqlite::Connection;
use tickover::round::{self, Outcome, Run, Tells, YardFolder};
use tickover::sheets::Reader;

use crate::mail_line::{Line, LineState};
use crate::mail_server::{GOOD, Server};
use crate::post::{contents, read};
use crate::program::{Yard, repository};

/// Half past seven of the foreign yard's morning, a Monday.
const MORNING: &str = "2025-11-17T07:30:00Z";

fn morning() -> Timestamp {
    MORNING.parse().unwrap()
}

/// A shop whose letters go to its desk by a server of ours, over a line that can be down.
struct Shop {
    yard: Yard,
    server: Server,
    line: Line,
}

impl Shop {
    /// One that has kept something before.
    fn new() -> Shop {
        let yard = Yard::with_sheets_of(&repository().join("tests/yards/all-logs-csv/sheets"));
        let server = Server::start(GOOD);
        let line = Line::to(server.port);
        yard.put(
            "tickover.toml",
            format!(
                "[letter]\nfrom = \"desk@shop.example\"\nto = [\"zoe@shop.example\"]\n\n[mail]\nserver = \"localhost\"\n\
                 port = {}\nsecurity = \"none\"\nsign_in = \"none\"\n",
                line.port()
            ),
        );
        for entry in fs::read_dir(repository().join("rules")).unwrap() {
            let path = entry.unwrap().path();
            yard.put(
                &format!("rules/{}", path.file_name().unwrap().to_string_lossy()),
                fs::read(&path).unwrap(),
            );
        }
        fs::create_dir_all(yard.path().join("digests")).unwrap();
        let shop = Shop { yard, server, line };
        shop.round(morning() - 20.hours(), Tells::Nothing, &[]);
        shop
    }

    fn round(&self, now: Timestamp, tells: Tells, trouble: &[String]) -> Outcome {
        let run = Run {
            folder: YardFolder::at(self.yard.path()),
            now,
            today: None,
            keeps: true,
            tells,
            trouble: trouble.to_vec(),
            reader: Reader::InChild(PathBuf::from(env!("CARGO_BIN_EXE_tickover"))),
            patience: Duration::from_secs(20),
        };
        round::make(&run, &AtomicBool::new(false), &mut |_| {}).unwrap_or_else(|why| panic!("{why:?}"))
    }

    /// Holds the ledger, so that no round can keep anything in it.
    fn hold_ledger(&self) -> Connection {
        let holder = Connection::open(self.yard.path().join("kept/ledger.sqlite3")).unwrap();
        holder.execute_batch("BEGIN EXCLUSIVE").unwrap();
        holder
    }

    fn stand_in(&self) -> PathBuf {
        self.yard.path().join("kept/stand-in.sqlite3")
    }

    fn digests(&self) -> PathBuf {
        self.yard.path().join("digests")
    }

    fn copy(&self, day: &str) -> Vec<u8> {
        fs::read(self.digests().join(format!("{day}.eml"))).unwrap()
    }

    /// The mails that the server has, as they were written.
    fn mails(&self) -> Vec<String> {
        let mails = self.server.messages();
        // The dots at the begin of lines are doubled on the way (RFC 5321, 4.5.2).
        mails.iter().map(|mail| String::from_utf8_lossy(mail).replace("\r\n..", "\r\n.")).collect()
    }

    /// The top of the last mail's plain text, on one line.
    fn last_top(&self) -> String {
        let mails = self.mails();
        let text = contents(&read(mails.last().expect("a mail was sent").as_bytes())).swap_remove(0);
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        text.split(" Ring today: ").next().unwrap_or_default().to_owned()
    }

    /// Asserts that the last mail says something at its top; there, sentences begin with a capital.
    fn says(&self, said: &str) {
        let top = self.last_top();
        assert!(top.to_lowercase().contains(&said.to_lowercase()), "not said: {said}\n{top}");
    }
}

/// Runs a command of mounting, which needs the rights of root.
fn mounting(program: &str, arguments: &[&str]) {
    let done = Command::new(program).args(arguments).status().unwrap();
    assert!(done.success(), "{program} {arguments:?} needs the rights of root");
}

const MONDAY: &str = "2025-11-17";
const TUESDAY: &str = "2025-11-18";
const UNKEPT: &str = "the letter of Monday 17 November could not be kept in the ledger when it was written; its copy lies in digests/";

#[test]
fn a_letter_that_was_neither_kept_nor_sent_goes_out_later_while_the_ledger_is_still_held() {
    let shop = Shop::new();
    let holder = shop.hold_ledger();
    shop.line.set(LineState::Down);
    let outcome = shop.round(morning(), Tells::Morning, &[]);
    assert!(!outcome.answer.told_now && outcome.answer.told.contains(&"2025-11-17".parse().unwrap()));
    assert_eq!(outcome.answer.next_mail, Some(morning() + 1.minutes()));
    assert!(outcome.needs_a_person() && shop.mails().is_empty());
    let eml = String::from_utf8(shop.copy(MONDAY)).unwrap();

    // The day has its letter: no second one is made, and this one goes out once the server is there.
    shop.line.set(LineState::Up);
    let outcome = shop.round(morning() + 2.minutes(), Tells::Morning, &[]);
    assert_eq!((outcome.answer.sent, outcome.answer.next_mail), (1, None));
    assert_eq!(shop.mails(), std::slice::from_ref(&eml));

    drop(holder);
    let outcome = shop.round(morning() + 1.hours(), Tells::Nothing, &[]);
    assert_eq!((outcome.answer.sent, outcome.answer.next_mail), (0, None));
    assert!(!shop.stand_in().exists());
    assert_eq!(shop.mails(), [eml]);

    shop.round(morning() + 24.hours(), Tells::Morning, &[]);
    assert_eq!(shop.mails().len(), 2);
    assert!(!shop.last_top().contains("could not be kept"), "it was kept and sent: {}", shop.last_top());
    shop.says("Nothing is new since the last letter.");
}

#[test]
fn a_letter_that_was_neither_kept_nor_sent_is_taken_in_and_sent_by_the_ledger() {
    let shop = Shop::new();
    let holder = shop.hold_ledger();
    shop.line.set(LineState::Down);
    shop.round(morning(), Tells::Morning, &[]);
    drop(holder);
    shop.line.set(LineState::Up);
    let outcome = shop.round(morning() + 2.minutes(), Tells::Nothing, &[]);
    assert_eq!((outcome.answer.sent, outcome.answer.next_mail), (1, None));
    assert!(outcome.answer.told.contains(&"2025-11-17".parse().unwrap()));
    assert!(!shop.stand_in().exists());
    assert_eq!(shop.mails(), [String::from_utf8(shop.copy(MONDAY)).unwrap()]);
}

#[test]
fn the_next_letter_says_which_one_could_not_be_kept_and_whom_it_did_not_reach() {
    for is_held_on_tuesday in [false, true] {
        let shop = Shop::new();
        let mut holder = Some(shop.hold_ledger());
        shop.line.set(LineState::Down);
        shop.round(morning(), Tells::Morning, &[]);
        if !is_held_on_tuesday {
            holder = None;
        }
        shop.line.set(LineState::Up);
        let outcome = shop.round(morning() + 24.hours(), Tells::Morning, &[]);
        assert!(outcome.answer.told_now);
        shop.says(UNKEPT);
        shop.says("the letter of Monday 17 November did not reach zoe@shop.example");
        // Nobody has read what the first letter told of as new.
        shop.says("All of it is new.");
        assert_eq!(shop.mails(), [String::from_utf8(shop.copy(TUESDAY)).unwrap()]);

        drop(holder);
        shop.round(morning() + 48.hours(), Tells::Morning, &[]);
        assert!(!shop.last_top().contains("could not be kept in the ledger"), "{}", shop.last_top());
        assert_eq!(shop.mails().len(), 2);
    }
}

#[test]
fn a_letter_that_is_nowhere_is_made_again_and_says_so() {
    let shop = Shop::new();
    let holder = shop.hold_ledger();
    shop.line.set(LineState::Down);
    fs::create_dir(shop.stand_in()).unwrap();
    fs::remove_dir_all(shop.digests()).unwrap();
    shop.yard.put("digests", "a file where the folder should be");
    let outcome = shop.round(morning(), Tells::Morning, &[]);
    assert!(!outcome.answer.told.contains(&"2025-11-17".parse().unwrap()), "{:?}", outcome.answer);
    let note = outcome.answer.kept_nowhere.expect("it is nowhere");
    assert!(
        note.starts_with(
            "the letter of Monday 17 November 2025 could at first not be kept, has no copy in digests/, and did not go \
             out by mail; "
        ),
        "{note}"
    );

    drop(holder);
    fs::remove_dir(shop.stand_in()).unwrap();
    fs::remove_file(shop.digests()).unwrap();
    shop.line.set(LineState::Up);
    let outcome = shop.round(morning() + 5.minutes(), Tells::Morning, &[note]);
    assert!(outcome.answer.told_now && outcome.answer.kept_nowhere.is_none());
    shop.says("the letter of Monday 17 November 2025 could at first not be kept");
    assert_eq!(shop.mails(), [String::from_utf8(shop.copy(MONDAY)).unwrap()]);
}

/// What becomes of a letter while `kept/` has no room at all: neither a ledger nor what stands in for it can be made.
fn on_a_full_disk(shop: &Shop, rounds: impl FnOnce()) {
    let kept = shop.yard.path().join("kept");
    let kept = kept.to_str().unwrap();
    mounting("mount", &["-t", "tmpfs", "-o", "size=32k", "tmpfs", kept]);
    rounds();
    mounting("umount", &[kept]);
    assert!(!shop.stand_in().exists());
}

/// A morning on which the disk is full and the mail server down.
fn told_to_the_folder_alone(shop: &Shop) {
    shop.line.set(LineState::Down);
    let outcome = shop.round(morning(), Tells::Morning, &[]);
    assert!(!outcome.answer.told_now && outcome.answer.told.is_empty(), "{:?}", outcome.answer);
    assert!(outcome.answer.kept_nowhere.is_none() && shop.mails().is_empty());
    assert!(!shop.copy(MONDAY).is_empty());
    shop.line.set(LineState::Up);
}

#[test]
fn a_letter_that_nothing_keeps_is_tried_again_until_it_goes_out_and_then_no_more() {
    let shop = Shop::new();
    on_a_full_disk(&shop, || {
        told_to_the_folder_alone(&shop);
        for (minutes, sent) in [(5, 1), (10, 0)] {
            let outcome = shop.round(morning() + minutes.minutes(), Tells::Morning, &[]);
            assert_eq!(outcome.answer.sent, sent);
            assert!(outcome.answer.told.contains(&"2025-11-17".parse().unwrap()));
        }
    });
    assert_eq!(shop.mails(), [String::from_utf8(shop.copy(MONDAY)).unwrap()]);
    assert!(!shop.digests().join("2025-11-17-2.eml").exists());
    shop.round(morning() + 24.hours(), Tells::Morning, &[]);
    shop.says("Nothing is new since the last letter.");
    assert!(!shop.last_top().contains("could not be kept"), "it went out: {}", shop.last_top());
}

#[test]
fn a_letter_that_nothing_kept_is_made_anew_on_its_day_and_told_of_on_the_next() {
    let shop = Shop::new();
    on_a_full_disk(&shop, || told_to_the_folder_alone(&shop));
    assert!(shop.round(morning() + 5.minutes(), Tells::Morning, &[]).answer.told_now);
    assert_eq!(shop.mails(), [String::from_utf8(shop.copy(MONDAY)).unwrap()]);

    let shop = Shop::new();
    on_a_full_disk(&shop, || told_to_the_folder_alone(&shop));
    assert!(shop.round(morning() + 24.hours(), Tells::Morning, &[]).answer.told_now);
    shop.says(UNKEPT);
    shop.says("It reached nobody; what it told and still holds stands in this letter.");
    shop.says("All of it is new.");
}

/// What the letters of three mornings say of the copies, the first two with the folder out of use.
fn with_folder_out_of_use(shop: &Shop, why: &str, free: impl FnOnce()) {
    let outcome = shop.round(morning(), Tells::Morning, &[]);
    assert!(outcome.answer.told_now && outcome.needs_a_person());
    shop.says(&format!("the copy of this letter could not be put into digests/: {why}"));
    let told: Vec<_> = outcome.trouble.iter().filter(|problem| problem.place.file == "digests").collect();
    assert_eq!(told.len(), 1, "it is said once: {told:?}");

    shop.round(morning() + 24.hours(), Tells::Morning, &[]);
    shop.says(&format!(
        "the copies of this letter and of the letter of Monday 17 November could not be put into digests/: {why}"
    ));
    shop.says("The copies are put there by themselves once they can be.");

    free();
    let outcome = shop.round(morning() + 48.hours(), Tells::Morning, &[]);
    assert!(!outcome.needs_a_person(), "{:?}", outcome.trouble);
    let texts = shop.mails();
    assert!(!shop.last_top().contains("could not be put into digests/"), "{}", shop.last_top());
    for (number, day) in [MONDAY, TUESDAY, "2025-11-19"].into_iter().enumerate() {
        assert_eq!(texts[number], String::from_utf8(shop.copy(day)).unwrap(), "{day}");
    }
}

#[test]
fn something_in_the_way_of_the_copies_stands_at_the_top_of_the_letters() {
    let shop = Shop::new();
    fs::remove_dir_all(shop.digests()).unwrap();
    shop.yard.put("digests", "a file where the folder should be");
    with_folder_out_of_use(&shop, "something of that name is in the way", || {
        fs::remove_file(shop.digests()).unwrap();
    });
}

#[test]
fn a_full_or_read_only_disk_of_the_copies_stands_at_the_top_of_the_letters() {
    for (options, why) in [("size=32k", "the disk is full"), ("ro", "the disk can only be read")] {
        let shop = Shop::new();
        let folder = shop.digests();
        let folder = folder.to_str().unwrap();
        mounting("mount", &["-t", "tmpfs", "-o", options, "tmpfs", folder]);
        with_folder_out_of_use(&shop, why, || mounting("umount", &[folder]));
    }
}

#[test]
fn advice_of_an_account_says_that_the_letter_lies_in_the_folder_only_where_it_does() {
    let shop = Shop::new();
    shop.line.set(LineState::Down);
    let of_account = |outcome: Outcome| {
        let found =
            outcome.trouble.iter().find(|problem| problem.what.starts_with("the letter could not be sent"));
        found.unwrap_or_else(|| panic!("{:?}", outcome.trouble)).help.clone()
    };
    let help = of_account(shop.round(morning(), Tells::Morning, &[]));
    assert!(
        help.ends_with("The letter waits, and lies in digests/. Try the account: tickover post check."),
        "{help}"
    );
    fs::remove_dir_all(shop.digests()).unwrap();
    shop.yard.put("digests", "a file where the folder should be");
    let help = of_account(shop.round(morning() + 24.hours(), Tells::Morning, &[]));
    assert!(help.ends_with("The letter waits. Try the account: tickover post check."), "{help}");
}
