//! A second letter of a day: only where there is more to tell, and it says that it is one.

use std::fs;

use serde_json::Value;

use crate::mail_server::{Act, GOOD, Script, Server};
use crate::program::{MACHINES, MILEAGES, Yard, printed, said};

/// What a morning by hand prints.
fn morning(yard: &Yard) -> String {
    let run = yard.run("morning", &["--today", "2026-03-03"]);
    assert_eq!(run.status.code(), Some(0), "{}", said(&run));
    printed(&run)
}

fn letter(yard: &Yard, name: &str) -> Option<String> {
    let text = fs::read_to_string(yard.path().join("digests").join(name)).ok()?;
    Some(text.split_whitespace().collect::<Vec<_>>().join(" "))
}

#[test]
fn a_morning_by_hand_goes_out_again_only_with_more_in_it_and_says_so_at_its_top() {
    let yard = Yard::of_two_machines();
    assert!(!morning(&yard).contains("Already told"), "the first goes out");
    let first = letter(&yard, "2026-03-03.txt").unwrap();
    assert!(!first.contains("second letter"), "{first}");

    let again = morning(&yard);
    assert!(again.contains("Already told at "), "{again}");
    assert!(again.contains("nothing has been added since, so no letter goes out again."), "{again}");
    assert_eq!(letter(&yard, "2026-03-03-2.txt"), None);

    // A machine comes in whose handover is today, with nothing done.
    let more = "AB14 CDE,Marlow,Spruce,motorcycle,125,01/03/2026,03/03/2026,Cam Other,\n";
    yard.put("sheets/machines.csv", format!("{MACHINES}{more}"));
    let changed = morning(&yard);
    assert!(!changed.contains("Already told"), "{changed}");
    let second = letter(&yard, "2026-03-03-2.txt").unwrap();
    assert!(second.starts_with("Again: "), "{second}");
    let (_, top) = second.split_once("This is a second letter of today; the first went out at ").unwrap();
    let (top, _) = top.split_once("Keep in the yard: ").unwrap();
    assert!(top.contains("New or changed since then: Marlow Spruce, AB14 CDE (Keep in the yard)"), "{top}");
    assert!(!top.contains("All of it is new"), "{top}");
    assert!(!top.contains("AB12 CDE"), "it stood in the first: {top}");

    assert!(morning(&yard).contains("Already told at "), "the second adds nothing to itself");
    assert_eq!(letter(&yard, "2026-03-03-3.txt"), None);
}

#[test]
fn a_morning_by_hand_with_less_to_tell_than_the_first_letter_sends_no_second_one() {
    let yard = Yard::of_two_machines();
    // A row whose day there is not.
    yard.put("sheets/mileages.csv", format!("{MILEAGES}AB12 CDE,31/02/2026,640\n"));
    let first = yard.run("morning", &["--today", "2026-03-03"]);
    assert!(!printed(&first).contains("Already told"), "{}", said(&first));
    let told = letter(&yard, "2026-03-03.txt").unwrap();
    assert!(told.contains("31/02/2026"), "{told}");
    yard.put("sheets/mileages.csv", MILEAGES);
    let again = printed(&yard.run("morning", &["--today", "2026-03-03"]));
    assert!(again.contains("Already told at "), "{again}");
    assert_eq!(letter(&yard, "2026-03-03-2.txt"), None);
}

/// What a round that the long run asks for answers.
fn round(yard: &Yard, tells: &str) -> Value {
    let round = yard.run("do-round", &["--tells", tells, "--today", "2026-03-03"]);
    serde_json::from_slice(&round.stdout).unwrap_or_else(|_| panic!("{}", said(&round)))
}

#[test]
fn a_letter_told_at_once_names_whom_the_server_refused_before_it_and_so_does_every_round() {
    let yard = Yard::of_two_machines();
    let server =
        Server::start(Script { receiver: ("gone", Act::Say(b"550 5.1.1 No such user\r\n")), ..GOOD });
    yard.put(
        "tickover.toml",
        format!(
            "[letter]\nfrom = \"desk@shop.example\"\nto = [\"desk@shop.example\", \"gone@shop.example\"]\n\n[mail]\n\
             server = \"localhost\"\nport = {}\nsecurity = \"none\"\nsign_in = \"none\"\n",
            server.port
        ),
    );
    let refused = "outgoing mail: the mail server refused the letter of Tuesday 3 March for gone@shop.example: 550 5.1.1 No \
                   such user";
    let met = round(&yard, "morning");
    assert_eq!(
        met["wrong"][0],
        "outgoing mail: the mail server refuses the letter for gone@shop.example: 550 5.1.1 No such user"
    );
    assert_eq!((&round(&yard, "nothing")["wrong"][0], server.messages().len()), (&Value::from(refused), 1));

    let more = "AB14 CDE,Marlow,Spruce,motorcycle,125,01/03/2026,03/03/2026,Cam Other,\n";
    yard.put("sheets/machines.csv", format!("{MACHINES}{more}"));
    let at_once = round(&yard, "at-once");
    assert_eq!(at_once["wrong"][1], refused, "{at_once}");
    assert_eq!(server.messages().len(), 2);
    let text = letter(&yard, "2026-03-03-at-once.txt").unwrap();
    let said = "Look at this first ================== * The mail server refused the letter of Tuesday 3 March for \
                gone@shop.example: 550 5.1.1 No such user — outgoing mail. Correct the address";
    assert!(text.contains(said), "{text}");
}
