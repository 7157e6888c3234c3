//! Tests of the stand-in: what it kept is in the ledger afterwards, once, with what became of each mail.

use super::tests::{day, letter, moment};
use super::*;

const FROM: &str = "tickover@shop.example";
const DESK: &str = "desk@shop.example";
const OWNER: &str = "owner@shop.example";

/// A moment of March 2026, such as `02T07:30`.
fn at(text: &str) -> Timestamp {
    moment(&format!("2026-03-{text}:00Z"))
}

/// Keeps a morning letter of 2 March in a stand-in, as one mail to the desk and the owner.
fn stand_in(path: &Path, number: u32, text: &str) -> (Ledger, OutboxLetter) {
    let mut stand_in = Ledger::open(path).unwrap();
    let store = stand_in.store().unwrap();
    let mut outbox = letter(&stand_in, "2026-03-02", text);
    outbox.edition = Edition::unkept(day("2026-03-02"), LetterKind::Morning, number, &store, FROM);
    outbox.made = at("02T07:30");
    let mail = OutboxMail {
        number: 1,
        message_id: outbox.edition.message_id_of(1),
        sections: None,
        eml: text.as_bytes().to_vec(),
        receivers: vec![DESK.to_owned(), OWNER.to_owned()],
    };
    let posting = Posting { letter: &outbox, mails: &[mail], tells: TellsOf::Everything };
    stand_in.keep_letter(&posting, &Lives::default()).unwrap();
    (stand_in, outbox)
}

/// Sends what is due, the desk's with this verdict and the owner's in vain.
fn send(ledger: &mut Ledger, now: &str, desk: &MailVerdict) {
    let mails = ledger.mails_due(at(now)).unwrap();
    assert_eq!(mails.len(), 1);
    assert!(ledger.begin_sending(&mails[0], at(now)).unwrap());
    let later = MailVerdict::Later { words: "450 not now".to_owned() };
    let verdicts = [(DESK.to_owned(), desk.clone()), (OWNER.to_owned(), later)];
    ledger.note_verdicts(&mails[0], &verdicts, at(now)).unwrap();
}

fn files(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name.starts_with("stand-in"))
        .collect();
    names.sort();
    names
}

#[test]
fn what_the_stand_in_kept_is_in_the_ledger_once_and_goes_on_from_there() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stand-in.sqlite3");
    let (mut beside, outbox) = stand_in(&path, 1, "Monday");
    send(&mut beside, "02T07:30", &MailVerdict::Later { words: "421 busy".to_owned() });
    assert_eq!(beside.next_mail_moment(at("02T07:30")).unwrap(), Some(at("02T07:31")));
    drop(beside);

    let mut ledger = Ledger::open(&folder.path().join("ledger.sqlite3")).unwrap();
    let copy = std::fs::read(&path).unwrap();
    ledger.take_in(&path).unwrap();
    assert_eq!(files(folder.path()), [""; 0]);
    let kept = ledger.letter_of(day("2026-03-02"), LetterKind::Morning).unwrap().unwrap();
    assert_eq!(kept, OutboxLetter { state: LetterState::Waiting, accepted: None, ..outbox.clone() });
    assert!(ledger.mails_due(at("02T07:30")).unwrap().is_empty(), "it keeps to its time");

    // The stand-in could not be removed: nothing comes a second time.
    std::fs::write(&path, copy).unwrap();
    ledger.take_in(&path).unwrap();
    send(&mut ledger, "02T07:31", &MailVerdict::Sent);
    let kept = ledger.letter_of(day("2026-03-02"), LetterKind::Morning).unwrap().unwrap();
    assert_eq!((kept.edition, kept.accepted), (outbox.edition, Some(at("02T07:31"))));
    assert_eq!(ledger.unkept_letters(day("2026-03-03")).unwrap(), [], "it reached the desk");
}

#[test]
fn a_letter_that_reached_nobody_is_told_of_until_one_is_accepted() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stand-in.sqlite3");
    drop(stand_in(&path, 1, "Monday"));
    let mut ledger = Ledger::open(&folder.path().join("ledger.sqlite3")).unwrap();
    ledger.take_in(&path).unwrap();
    let of = |date: &str| ledger.unkept_letters(day(date)).unwrap();
    let monday = UnkeptLetter { day: day("2026-03-02"), kind: LetterKind::Morning };
    assert_eq!(of("2026-03-02"), [], "it is the day's own");
    assert_eq!(of("2026-03-03"), std::slice::from_ref(&monday));
    assert_eq!(of("2026-03-04"), [monday]);
}

#[test]
fn a_number_that_the_ledger_has_given_already_becomes_the_next_one() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("stand-in.sqlite3");
    let mut ledger = Ledger::open(&folder.path().join("ledger.sqlite3")).unwrap();
    let own = letter(&ledger, "2026-03-02", "of the ledger");
    ledger.put_back(&own).unwrap();
    let (beside, unkept) = stand_in(&path, 1, "of the stand-in");
    drop(beside);
    ledger.take_in(&path).unwrap();
    let last = ledger.letter_of(day("2026-03-02"), LetterKind::Morning).unwrap().unwrap();
    assert_eq!((last.edition.number, last.words), (2, unkept.words));
    assert_eq!(last.edition.message_id, unkept.edition.message_id);
}

#[test]
fn a_letter_that_no_ledger_numbered_is_known_by_its_name() {
    let edition = |store| Edition::unkept(day("2026-03-02"), LetterKind::AtOnce, 2, store, FROM);
    assert_eq!(edition("").message_id, "<at-once.2026-03-02.2.unkept@shop.example>");
    assert_eq!(edition("ab12").message_id, "<at-once.2026-03-02.2.ab12.unkept@shop.example>");
    let unsent = Edition::unsent(day("2026-03-02"), LetterKind::AtOnce, 2, FROM).message_id;
    assert_eq!(unsent, "<at-once.2026-03-02.2.unsent.unkept@shop.example>");
    for (message_id, expected) in [
        (unsent.as_str(), true),
        ("<digest.2026-03-02.1.unkept@shop.example>", false),
        ("<digest.2026-03-02.1.ab12.unkept@shop.example>", false),
        ("<digest.2026-03-02.1.ab12@x.unsent.unkept>", false),
        ("<digest.2026-03-02.1.notunsent.unkept@shop.example>", false),
    ] {
        assert_eq!(is_unsent(message_id), expected, "{message_id}");
    }
}
