//! Settings that a full disk, a power cut or a slip took away: nobody waits for mail in vain, and nothing is forgotten.

use std::fs;

use jiff::civil::{Date, date};
use tickover::round::{self, Outcome, Tells, YardFolder};

use crate::world::mail::Server;
use crate::world::sheets::Sheets;
use crate::world::yard;

/// The morning of a day, with its letter's text.
fn morning(folder: &YardFolder, day: Date) -> (Outcome, String) {
    let now = format!("{day}T07:30:00Z").parse().unwrap();
    let outcome = round::morning(&yard::run(folder, now, day, Tells::Morning, &[])).unwrap();
    let text = fs::read_to_string(folder.digests().join(format!("{day}.txt"))).unwrap();
    (outcome, text.split_whitespace().collect::<Vec<_>>().join(" "))
}

/// A yard whose letter of Monday, 4 March 2024 was mailed.
fn told_by_mail() -> (tempfile::TempDir, YardFolder, Server) {
    let server = Server::start();
    let (folder, yard) = yard::new(server.port, "bank_holidays = \"none\"");
    let mut sheets = Sheets::in_yard(yard.root());
    sheets.add();
    sheets.save(false, "2024-03-04T05:50:00Z".parse().unwrap());
    assert_eq!(morning(&yard, date(2024, 3, 4)).0.answer.sent, 2);
    (folder, yard, server)
}

#[test]
fn settings_that_were_emptied_or_cut_off_are_said_and_the_mail_goes_on() {
    let (_folder, yard, server) = told_by_mail();
    let whole = fs::read_to_string(yard.settings()).unwrap();
    for (day, left) in [(date(2024, 3, 5), ""), (date(2024, 3, 6), &whole[..whole.find("[mail]").unwrap()])] {
        fs::write(yard.settings(), left).unwrap();
        let before = server.count();
        let (outcome, text) = morning(&yard, day);
        assert!(server.count() > before && outcome.answer.sent > 0, "{left:?}");
        assert!(text.contains("The settings file ") && text.contains("lies in kept/tickover.toml"), "{text}");
        assert!(outcome.needs_a_person());
        assert_eq!(fs::read_to_string(yard.kept().join("tickover.toml")).unwrap(), whole);
    }
}

#[test]
fn a_mail_account_that_was_taken_out_is_missed_in_the_next_letter_and_not_for_ever() {
    let (_folder, yard, server) = told_by_mail();
    let whole = fs::read_to_string(yard.settings()).unwrap();
    fs::write(yard.settings(), format!("{}# this is all\n", &whole[..whole.find("[mail]").unwrap()]))
        .unwrap();
    let before = server.count();
    let said = [5, 6].map(|day| {
        let (_, text) = morning(&yard, date(2024, 3, day));
        text.contains("The letter before this one was to go out by mail")
    });
    assert_eq!(said, [true, false]);
    assert_eq!(server.count(), before);
}

#[test]
fn a_mail_account_that_cannot_be_used_any_more_is_said_to_be_so_and_not_to_be_gone() {
    let (_folder, yard, server) = told_by_mail();
    let whole = fs::read_to_string(yard.settings()).unwrap();
    // An account that signs in with a password needs a user.
    fs::write(yard.settings(), format!("{}# this is all\n", whole.replace("sign_in = \"none\"\n", "")))
        .unwrap();
    let before = server.count();
    let (_, text) = morning(&yard, date(2024, 3, 5));
    let said = "The letter before this one was to go out by mail, and this one only lies in digests/, as [mail] cannot be \
                used as it is written";
    assert!(text.contains(said) && text.contains("`user`"), "{text}");
    assert!(!text.contains("Put [mail] back"), "{text}");
    assert_eq!(server.count(), before);
}

#[test]
fn something_in_the_place_of_the_folder_kept_keeps_no_letter_from_going_out() {
    let (_folder, yard, server) = told_by_mail();
    fs::rename(yard.kept(), yard.root().join("kept elsewhere")).unwrap();
    fs::write(yard.kept(), "in the way").unwrap();
    let before = server.count();
    let (outcome, text) = morning(&yard, date(2024, 3, 5));
    assert!(server.count() > before && outcome.answer.sent > 0);
    assert!(text.contains("it was put beside as kept-was-no-folder"), "{text}");
    assert_eq!(fs::read_to_string(yard.root().join("kept-was-no-folder")).unwrap(), "in the way");
    assert!(yard.ledger().is_file());
}
