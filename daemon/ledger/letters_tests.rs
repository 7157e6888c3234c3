//! Tests of the outbox: what makes a letter another one, and what its Message-ID is.

use std::collections::BTreeSet;

use super::tests::{day, keep_letter, letter, words};
use super::*;

#[test]
fn a_letter_that_says_the_same_again_is_the_same_letter() {
    let mut ledger = Ledger::in_memory().unwrap();
    let first = letter(&ledger, "2026-03-05", "one");
    assert_eq!(first.edition.number, 1);
    keep_letter(&mut ledger, &first).unwrap();
    assert_eq!(ledger.waiting_copies().unwrap(), std::slice::from_ref(&first));

    let mut again = letter(&ledger, "2026-03-05", "one");
    assert_eq!(again.edition, first.edition);
    again.eml = b"another date line".to_vec();
    keep_letter(&mut ledger, &again).unwrap();
    assert_eq!(ledger.waiting_copies().unwrap(), std::slice::from_ref(&first), "the bytes of the first time");

    ledger.mark_delivered(&first.edition, first.made).unwrap();
    let delivered =
        OutboxLetter { state: LetterState::Delivered, accepted: Some(first.made), ..first.clone() };
    assert_eq!(ledger.waiting_copies().unwrap(), []);
    assert_eq!(ledger.letter_of(day("2026-03-05"), LetterKind::Morning).unwrap().as_ref(), Some(&delivered));
    keep_letter(&mut ledger, &first).unwrap();
    assert_eq!(
        ledger.letter_of(day("2026-03-05"), LetterKind::Morning).unwrap(),
        Some(delivered),
        "and it is not sent once more"
    );
    assert_eq!(ledger.letter_of(day("2026-03-06"), LetterKind::Morning).unwrap(), None);
}

#[test]
fn a_letter_that_says_something_else_is_the_next_edition_and_supersedes_what_waits_of_its_day() {
    let mut ledger = Ledger::in_memory().unwrap();
    let mut ids = BTreeSet::new();
    for (date, text, number, days_waiting) in [
        ("2026-03-05", "one", 1, 1),
        ("2026-03-05", "two", 2, 1),
        ("2026-03-05", "one", 3, 1),
        ("2026-03-06", "one", 1, 2),
    ] {
        let letter = letter(&ledger, date, text);
        assert_eq!(letter.edition.number, number);
        assert!(ids.insert(letter.edition.message_id.clone()), "each edition has a Message-ID of its own");
        keep_letter(&mut ledger, &letter).unwrap();
        let waiting = ledger.waiting_copies().unwrap();
        assert_eq!(waiting.last(), Some(&letter));
        assert_eq!(
            waiting.len(),
            days_waiting,
            "the day's older ones give way; another day's goes on waiting"
        );
    }
    let late = letter(&ledger, "2026-03-04", "yesterday's");
    keep_letter(&mut ledger, &late).unwrap();
    let waiting: Vec<_> =
        ledger.waiting_copies().unwrap().into_iter().map(|letter| letter.edition.day).collect();
    assert_eq!(waiting, ["2026-03-04", "2026-03-05", "2026-03-06"].map(day), "oldest first");
}

#[test]
fn a_message_id_ends_in_the_senders_domain_and_never_breaks_its_header() {
    let ledger = Ledger::in_memory().unwrap();
    let store: String = ledger.connection.query_row("SELECT id FROM store", [], |row| row.get(0)).unwrap();
    assert_eq!((store.len(), store.chars().all(|letter| letter.is_ascii_hexdigit())), (12, true));
    for (sender, domain) in [
        ("tickover@shop.example", "shop.example"),
        ("Tickover <tickover@shop.example>", "shop.example"),
        ("\"a@b\"@mail.shop.example", "mail.shop.example"),
        ("nobody", "tickover.invalid"),
        ("", "tickover.invalid"),
        ("a@", "tickover.invalid"),
        ("a@b..c", "tickover.invalid"),
        ("a@shop.example\r\nBcc: x@shop.example\r\n", "shop.example"),
        ("a@shop.example\r\nBcc: x", "tickover.invalid"),
        ("a@shop example", "tickover.invalid"),
        ("a@müller.example", "tickover.invalid"),
    ] {
        let edition = ledger.edition(day("2026-03-05"), LetterKind::Morning, &words("one"), sender).unwrap();
        assert_eq!(edition.message_id, format!("<digest.2026-03-05.1.{store}@{domain}>"), "{sender}");
    }
    let other = Ledger::in_memory().unwrap();
    let edition =
        other.edition(day("2026-03-05"), LetterKind::Morning, &words("one"), "a@shop.example").unwrap();
    assert!(!edition.message_id.contains(&store), "two ledgers share no Message-ID");
}

#[test]
fn the_day_last_told_is_the_last_delivered_one_before_today() {
    let mut ledger = Ledger::in_memory().unwrap();
    let told = |ledger: &Ledger, today| ledger.last_told_before(day(today)).unwrap();
    assert_eq!(told(&ledger, "2026-03-06"), None);
    for (date, delivered) in [("2026-03-04", true), ("2026-03-05", false), ("2026-03-06", true)] {
        let letter = letter(&ledger, date, "one");
        keep_letter(&mut ledger, &letter).unwrap();
        if delivered {
            ledger.mark_delivered(&letter.edition, letter.made).unwrap();
        }
    }
    assert_eq!(told(&ledger, "2026-03-06"), Some(day("2026-03-04")));
    assert_eq!(told(&ledger, "2026-03-07"), Some(day("2026-03-06")));
    assert_eq!(told(&ledger, "2026-03-04"), None);
}

#[test]
fn a_letter_whose_full_list_alone_differs_is_another_edition() {
    let mut ledger = Ledger::in_memory().unwrap();
    let first = letter(&ledger, "2026-03-05", "one");
    keep_letter(&mut ledger, &first).unwrap();
    let other = LetterWords { full_list: None, ..words("one") };
    assert_eq!(
        ledger.edition(day("2026-03-05"), LetterKind::Morning, &other, "a@shop.example").unwrap().number,
        2
    );
}
