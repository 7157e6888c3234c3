//! Tests of the outbox: how each mail stands with each receiver, and that none is sent twice or lost.

use super::tests::{day, everything, letter, moment};
use super::*;
use crate::findings::Section;

/// A ledger with a letter of 2 March, 07:30, in two mails: the whole one to the desk and the owner, and the bench's part.
fn with_letter() -> (Ledger, OutboxLetter) {
    let mut ledger = Ledger::in_memory().unwrap();
    let letter = post(&mut ledger, "2026-03-02", "Monday", LetterKind::Morning);
    (ledger, letter)
}

const DESK: &str = "desk@shop.example";
const OWNER: &str = "owner@shop.example";
const BENCH: &str = "bench@shop.example";

/// Keeps a letter with its two mails, made at 07:30 of its day.
fn post(ledger: &mut Ledger, date: &str, text: &str, kind: LetterKind) -> OutboxLetter {
    let mut outbox = letter(ledger, date, text);
    outbox.edition = ledger.edition(day(date), kind, &outbox.words, "tickover@shop.example").unwrap();
    let mail = |number, sections, receivers: &[&str]| OutboxMail {
        number,
        message_id: outbox.edition.message_id_of(number),
        sections,
        eml: format!("{text}, mail {number}").into_bytes(),
        receivers: receivers.iter().map(|address| (*address).to_owned()).collect(),
    };
    let mails = [mail(1, None, &[DESK, OWNER]), mail(2, Some(vec![Section::OnTheBench]), &[BENCH])];
    let (records, lives, rules) = (Records::default(), Lives::default(), BTreeMap::new());
    let posting = Posting { letter: &outbox, mails: &mails, tells: TellsOf::Everything };
    let round =
        Round { today: day(date), records: &records, lives: &lives, rules: &rules, letter: Some(posting) };
    ledger.keep(&round).unwrap();
    outbox
}

/// A moment of March 2026, such as `02T07:30`.
fn at(text: &str) -> Timestamp {
    moment(&format!("2026-03-{text}:00Z"))
}

fn verdict(word: &str) -> MailVerdict {
    let words = format!("{word}, said the server");
    match word {
        "sent" => MailVerdict::Sent,
        "refused" => MailVerdict::Refused { words },
        "perhaps" => MailVerdict::PerhapsSent { words },
        "later" => MailVerdict::Later { words },
        other => panic!("{other} is no verdict"),
    }
}

/// What is due, in lines: the mail's bytes, and its receivers with their tries.
fn due(ledger: &mut Ledger, now: &str) -> Vec<String> {
    let mails = ledger.mails_due(at(now)).unwrap();
    let sql =
        "SELECT state = 'sending' FROM receiver JOIN mail ON mail.id = mail WHERE eml = ?1 AND address = ?2";
    let shown = |mail: &DueMail| {
        let receivers = mail.receivers.iter().map(|receiver| {
            let asked = ledger.connection.query_row(sql, (&mail.eml, &receiver.address), |row| row.get(0));
            let was_sending = if asked.unwrap() { " (was being sent)" } else { "" };
            format!("{} {}{was_sending}", receiver.address.split('@').next().unwrap(), receiver.tries)
        });
        format!("{}: {}", String::from_utf8_lossy(&mail.eml), receivers.collect::<Vec<_>>().join(", "))
    };
    mails.iter().map(shown).collect()
}

/// How each mail stands with each receiver: state, tries, next try, words.
fn standings(ledger: &Ledger) -> Vec<String> {
    let sql = "SELECT address, state, tries, ifnull(substr(next_try, 9, 8), 'over'), words FROM receiver ORDER BY mail, address";
    let mut statement = ledger.connection.prepare(sql).unwrap();
    let rows = statement.query_map([], |row| {
        let (address, state, next): (String, String, String) = (row.get(0)?, row.get(1)?, row.get(3)?);
        let (tries, words): (u32, String) = (row.get(2)?, row.get(4)?);
        Ok(format!("{} {state} {tries} {next} {words}", address.split('@').next().unwrap())
            .trim_end()
            .to_owned())
    });
    rows.unwrap().collect::<Result<_, _>>().unwrap()
}

/// Sends all that is due, with one verdict a receiver.
fn send(ledger: &mut Ledger, now: &str, verdicts: &[(&str, &str)]) {
    for mail in ledger.mails_due(at(now)).unwrap() {
        if !ledger.begin_sending(&mail, at(now)).unwrap() {
            continue;
        }
        let verdict_of = |receiver: &DueReceiver| {
            let (_, word) = verdicts.iter().find(|(address, _)| *address == receiver.address).unwrap();
            (receiver.address.clone(), verdict(word))
        };
        let verdicts: Vec<_> = mail.receivers.iter().map(verdict_of).collect();
        ledger.note_verdicts(&mail, &verdicts, at(now)).unwrap();
    }
}

fn accepted(ledger: &Ledger, date: &str) -> Option<Timestamp> {
    ledger.letter_of(day(date), LetterKind::Morning).unwrap().unwrap().accepted
}

#[test]
fn a_mail_is_due_until_each_of_its_receivers_has_a_verdict_for_good() {
    let (mut ledger, _) = with_letter();
    assert_eq!(ledger.next_mail_moment(at("02T07:31")).unwrap(), Some(at("02T07:30")));
    assert_eq!(due(&mut ledger, "02T07:30"), ["Monday, mail 1: desk 0, owner 0", "Monday, mail 2: bench 0"]);
    send(&mut ledger, "02T07:30", &[(DESK, "refused"), (OWNER, "later"), (BENCH, "sent")]);
    assert_eq!(
        standings(&ledger),
        [
            "desk refused 1 over refused, said the server",
            "owner waiting 1 02T07:31 later, said the server",
            "bench sent 1 over"
        ]
    );
    assert_eq!(due(&mut ledger, "02T07:30"), [""; 0]);
    assert_eq!(ledger.next_mail_moment(at("02T07:30")).unwrap(), Some(at("02T07:31")));
    assert_eq!(due(&mut ledger, "02T07:31"), ["Monday, mail 1: owner 1"]);
    send(&mut ledger, "02T07:31", &[(OWNER, "perhaps")]);
    assert_eq!(due(&mut ledger, "02T07:45"), [""; 0]);
    send(&mut ledger, "02T07:46", &[(OWNER, "perhaps")]);
    assert_eq!(standings(&ledger)[1], "owner perhaps sent 3 over perhaps, said the server");
    assert_eq!(ledger.next_mail_moment(at("02T08:00")).unwrap(), None);
}

#[test]
fn a_letter_is_accepted_once_a_server_took_it_for_somebody() {
    for (case, verdicts, expected) in [
        ("nobody", [(DESK, "refused"), (OWNER, "later"), (BENCH, "refused")], false),
        ("one", [(DESK, "refused"), (OWNER, "later"), (BENCH, "sent")], true),
        ("perhaps one", [(DESK, "later"), (OWNER, "perhaps"), (BENCH, "later")], true),
    ] {
        let (mut ledger, letter) = with_letter();
        ledger.mark_delivered(&letter.edition, at("02T07:30")).unwrap();
        assert_eq!(accepted(&ledger, "2026-03-02"), None, "{case}: the copy in the folder is read by nobody");
        send(&mut ledger, "02T07:30", &verdicts);
        assert_eq!(accepted(&ledger, "2026-03-02"), expected.then(|| at("02T07:30")), "{case}");
        let told = expected.then(|| day("2026-03-02"));
        assert_eq!(ledger.last_told_before(day("2026-03-03")).unwrap(), told, "{case}");
        assert!(ledger.has_morning_letter(day("2026-03-02")).unwrap(), "{case}");
    }
}

#[test]
fn a_mail_that_the_program_ended_over_is_sent_again_with_the_same_bytes() {
    let (mut ledger, _) = with_letter();
    let mails = ledger.mails_due(at("02T07:30")).unwrap();
    assert!(ledger.begin_sending(&mails[0], at("02T07:30")).unwrap());
    assert_eq!(accepted(&ledger, "2026-03-02"), None, "nobody knows whether it went out");
    assert_eq!(
        due(&mut ledger, "02T07:30"),
        ["Monday, mail 1: desk 1 (was being sent), owner 1 (was being sent)", "Monday, mail 2: bench 0"]
    );
    let again = ledger.mails_due(at("02T07:30")).unwrap().remove(0);
    assert_eq!(again.eml, mails[0].eml, "the same bytes, and so the same Message-ID");
    assert!(ledger.begin_sending(&again, at("02T07:30")).unwrap());
    assert_eq!(due(&mut ledger, "02T07:30"), ["Monday, mail 2: bench 0"], "a second time it waits a minute");
    // Of the owner there is no verdict: the program ended between two of them.
    ledger.note_verdicts(&again, &[(DESK.to_owned(), MailVerdict::Sent)], at("02T07:30")).unwrap();
    assert_eq!(due(&mut ledger, "02T07:31")[0], "Monday, mail 1: owner 2 (was being sent)");
}

#[test]
fn a_mail_whose_end_was_going_out_when_the_program_ended_waits_and_is_told_as_perhaps_come_twice() {
    let (mut ledger, _) = with_letter();
    let mail = ledger.mails_due(at("02T07:30")).unwrap().remove(0);
    assert!(ledger.begin_sending(&mail, at("02T07:30")).unwrap());
    assert!(ledger.is_sending());
    ledger.note_handing_over(&mail, at("02T07:30")).unwrap();
    assert_eq!(due(&mut ledger, "02T07:44"), ["Monday, mail 2: bench 0"], "a second copy is not wanted soon");
    let fates = |ledger: &Ledger| -> Vec<MailFate> {
        ledger.mail_troubles(day("2026-03-03")).unwrap().into_iter().map(|trouble| trouble.fate).collect()
    };
    assert_eq!(fates(&ledger), [MailFate::NotSent, MailFate::PerhapsSent, MailFate::PerhapsSent]);
    send(&mut ledger, "02T07:45", &[(DESK, "sent"), (OWNER, "sent"), (BENCH, "sent")]);
    assert_eq!(standings(&ledger)[..2], ["desk sent 2 over", "owner sent 2 over"]);
    assert!(!ledger.is_sending());
    assert_eq!(fates(&ledger), [MailFate::PerhapsTwice; 2]);
}

#[test]
fn a_verdict_ends_the_doubt_in_which_a_mail_was_while_its_end_went_out() {
    for (word, expected) in [
        ("sent", "desk sent 1 over"),
        ("refused", "desk refused 1 over refused, said the server"),
        ("later", "desk waiting 1 02T07:31 later, said the server"),
        ("perhaps", "desk perhaps sent 1 02T07:45 perhaps, said the server"),
    ] {
        let (mut ledger, _) = with_letter();
        let mail = ledger.mails_due(at("02T07:30")).unwrap().remove(0);
        ledger.note_handing_over(&mail, at("02T07:30")).unwrap();
        assert_eq!(standings(&ledger)[0], "desk waiting 0 02T07:30", "it was never begun");
        assert!(ledger.begin_sending(&mail, at("02T07:30")).unwrap());
        ledger.note_handing_over(&mail, at("02T07:30")).unwrap();
        ledger.note_verdicts(&mail, &[(DESK.to_owned(), verdict(word))], at("02T07:30")).unwrap();
        assert_eq!(standings(&ledger)[0], expected);
        let doubts: u32 = ledger
            .connection
            .query_row("SELECT doubts FROM receiver WHERE address = ?1", [DESK], |row| row.get(0))
            .unwrap();
        assert_eq!(doubts, u32::from(word == "perhaps"), "{word}");
    }
}

#[test]
fn verdicts_count_once_and_only_for_what_was_begun() {
    let (mut ledger, _) = with_letter();
    let mail = ledger.mails_due(at("02T07:30")).unwrap().remove(0);
    let before = everything(&ledger);
    let sent =
        [(DESK.to_owned(), MailVerdict::Sent), ("stranger@shop.example".to_owned(), MailVerdict::Sent)];
    ledger.note_verdicts(&mail, &sent, at("02T07:30")).unwrap();
    assert_eq!(everything(&ledger), before, "it was never begun");
    assert!(ledger.begin_sending(&mail, at("02T07:30")).unwrap());
    ledger.note_verdicts(&mail, &sent, at("02T07:30")).unwrap();
    let before = everything(&ledger);
    ledger.note_verdicts(&mail, &[(DESK.to_owned(), verdict("later"))], at("02T07:40")).unwrap();
    assert_eq!(everything(&ledger), before, "it was sent");
}

#[test]
fn two_processes_cannot_both_begin_one_mail() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut one = Ledger::open(&path).unwrap();
    post(&mut one, "2026-03-02", "Monday", LetterKind::Morning);
    let mut other = Ledger::open(&path).unwrap();
    let mails = [
        one.mails_due(at("02T07:30")).unwrap().remove(0),
        other.mails_due(at("02T07:30")).unwrap().remove(0),
    ];
    assert_eq!(mails[0], mails[1]);
    let begun = std::thread::scope(|scope| {
        let first = scope.spawn(|| one.begin_sending(&mails[0], at("02T07:30")).unwrap());
        let second = scope.spawn(|| other.begin_sending(&mails[1], at("02T07:30")).unwrap());
        [first.join().unwrap(), second.join().unwrap()]
    });
    assert_eq!(begun.iter().filter(|begun| **begun).count(), 1, "{begun:?}");
    assert_eq!(standings(&one)[..2], ["desk sending 1 02T07:30", "owner sending 1 02T07:30"]);
}

#[test]
fn an_older_letter_gives_way_to_a_newer_one() {
    use LetterKind::{AtOnce, Morning};
    let all = |word: &'static str| [(DESK, word), (OWNER, word), (BENCH, word)];
    let states = |ledger: &Ledger| -> Vec<String> {
        standings(ledger)
            .iter()
            .map(|line| {
                line.split(' ')
                    .skip(1)
                    .take_while(|word| word.parse::<u32>().is_err())
                    .collect::<Vec<_>>()
                    .join(" ")
            })
            .collect()
    };
    // The older letter's verdicts, the newer letter and its verdicts, and how the older one stands then.
    for (case, older, day_and_kind, newer, expected) in [
        ("the next day's is taken", (Morning, "later"), ("2026-03-03", Morning), "sent", "given up"),
        ("the next day's is not", (Morning, "later"), ("2026-03-03", Morning), "refused", "waiting"),
        ("perhaps taken before", (Morning, "perhaps"), ("2026-03-03", Morning), "sent", "perhaps sent"),
        (
            "the day's next edition, taken or not",
            (Morning, "later"),
            ("2026-03-02", Morning),
            "later",
            "given up",
        ),
        (
            "one that tells at once tells not all",
            (Morning, "later"),
            ("2026-03-02", AtOnce),
            "sent",
            "waiting",
        ),
        ("two at once tell different things", (AtOnce, "later"), ("2026-03-02", AtOnce), "sent", "waiting"),
        (
            "a morning letter tells of what was told at once",
            (AtOnce, "later"),
            ("2026-03-02", Morning),
            "sent",
            "given up",
        ),
        ("but not when it reaches nobody", (AtOnce, "later"), ("2026-03-02", Morning), "later", "waiting"),
    ] {
        let mut ledger = Ledger::in_memory().unwrap();
        post(&mut ledger, "2026-03-02", "older", older.0);
        send(&mut ledger, "02T07:30", &all(older.1));
        post(&mut ledger, day_and_kind.0, "newer", day_and_kind.1);
        // Only the newer one is due at its moment; the older one's next try is later.
        let now = if day_and_kind.0 == "2026-03-02" { "02T07:30" } else { "03T07:30" };
        let newest = ledger.mails_due(at(now)).unwrap();
        for mail in newest.iter().filter(|mail| mail.eml.starts_with(b"newer")) {
            assert!(ledger.begin_sending(mail, at(now)).unwrap(), "{case}");
            let verdicts: Vec<_> =
                mail.receivers.iter().map(|receiver| (receiver.address.clone(), verdict(newer))).collect();
            ledger.note_verdicts(mail, &verdicts, at(now)).unwrap();
        }
        for mail in newest.iter().filter(|mail| mail.eml.starts_with(b"older")) {
            assert_eq!(ledger.begin_sending(mail, at(now)).unwrap(), expected == "waiting", "{case}");
        }
        ledger.mails_due(at(now)).unwrap();
        let state = states(&ledger)[0].replace("sending", "waiting");
        assert_eq!(state, expected, "{case}");
    }
}

#[test]
fn a_letter_that_was_never_tried_is_given_up_after_two_days() {
    let (mut ledger, _) = with_letter();
    assert_eq!(due(&mut ledger, "04T07:29").len(), 2);
    assert_eq!(due(&mut ledger, "04T07:30"), [""; 0]);
    assert_eq!(standings(&ledger)[0], "desk given up 0 over");
    assert_eq!(accepted(&ledger, "2026-03-02"), None);
}

#[test]
fn a_clock_that_was_ahead_once_keeps_no_mail_waiting() {
    let (mut ledger, _) = with_letter();
    send(&mut ledger, "03T07:30", &[(DESK, "later"), (OWNER, "later"), (BENCH, "later")]);
    assert_eq!(ledger.next_mail_moment(at("02T07:35")).unwrap(), Some(at("02T07:35")));
    assert_eq!(due(&mut ledger, "02T07:35"), ["Monday, mail 1: desk 1, owner 1", "Monday, mail 2: bench 1"]);
}

#[test]
fn the_next_letter_tells_what_did_not_reach_whom_and_says_the_same_all_day() {
    let (mut ledger, _) = with_letter();
    send(&mut ledger, "02T07:30", &[(DESK, "sent"), (OWNER, "refused"), (BENCH, "later")]);
    assert_eq!(ledger.mail_troubles(day("2026-03-02")).unwrap(), [], "the letter's own day");
    let trouble = |address: &str, fate, since: &str, letters, words: &str| MailTrouble {
        address: address.to_owned(),
        fate,
        since: day(since),
        letters,
        words: words.to_owned(),
    };
    let expected = [
        trouble(BENCH, MailFate::NotSent, "2026-03-02", 1, "later, said the server"),
        trouble(OWNER, MailFate::Refused, "2026-03-02", 1, "refused, said the server"),
    ];
    assert_eq!(ledger.mail_troubles(day("2026-03-03")).unwrap(), expected);

    post(&mut ledger, "2026-03-03", "Tuesday", LetterKind::Morning);
    assert_eq!(ledger.mail_troubles(day("2026-03-03")).unwrap(), expected, "it waits");
    let all = |word| [(DESK, word), (OWNER, word), (BENCH, word)];
    send(&mut ledger, "03T07:30", &all("perhaps"));
    ledger.mails_due(at("03T07:31")).unwrap();
    assert!(standings(&ledger)[2].starts_with("bench given up"), "{:?}", standings(&ledger));
    assert_eq!(ledger.mail_troubles(day("2026-03-03")).unwrap(), expected, "Monday's is given up for it");
    let perhaps =
        |address| trouble(address, MailFate::PerhapsSent, "2026-03-03", 1, "perhaps, said the server");
    assert_eq!(
        ledger.mail_troubles(day("2026-03-04")).unwrap(),
        [perhaps(BENCH), perhaps(DESK), perhaps(OWNER)]
    );
}

#[test]
fn troubles_of_letters_that_nobody_got_add_up_until_one_is_got() {
    let mut ledger = Ledger::in_memory().unwrap();
    for date in ["02", "03", "04"] {
        post(&mut ledger, &format!("2026-03-{date}"), date, LetterKind::Morning);
        send(
            &mut ledger,
            &format!("{date}T07:30"),
            &[(DESK, "refused"), (OWNER, "refused"), (BENCH, "refused")],
        );
    }
    let troubles = |ledger: &Ledger, today: &str| -> Vec<(Date, u32)> {
        let troubles = ledger.mail_troubles(day(today)).unwrap().into_iter();
        troubles.map(|trouble| (trouble.since, trouble.letters)).collect()
    };
    assert_eq!(troubles(&ledger, "2026-03-05"), [(day("2026-03-02"), 3); 3]);
    post(&mut ledger, "2026-03-05", "05", LetterKind::Morning);
    send(&mut ledger, "05T07:30", &[(DESK, "sent"), (OWNER, "sent"), (BENCH, "sent")]);
    assert_eq!(troubles(&ledger, "2026-03-06"), []);
}

#[test]
fn each_letter_that_tells_at_once_counts_and_of_a_days_morning_letters_the_last() {
    use LetterKind::{AtOnce, Morning};
    for (kind, expected) in [(Morning, 1), (AtOnce, 2)] {
        let mut ledger = Ledger::in_memory().unwrap();
        for text in ["one", "two"] {
            post(&mut ledger, "2026-03-02", text, kind);
            send(&mut ledger, "02T07:30", &[(DESK, "refused"), (OWNER, "refused"), (BENCH, "refused")]);
        }
        let troubles = ledger.mail_troubles(day("2026-03-03")).unwrap();
        let letters: Vec<_> = troubles.iter().map(|trouble| trouble.letters).collect();
        assert_eq!(letters, [expected; 3], "{kind:?}");
    }
}

#[test]
fn a_letter_that_says_the_same_again_keeps_the_mails_of_the_first_time() {
    let (mut ledger, letter) = with_letter();
    send(&mut ledger, "02T07:30", &[(DESK, "sent"), (OWNER, "later"), (BENCH, "sent")]);
    let before = everything(&ledger);
    assert_eq!(post(&mut ledger, "2026-03-02", "Monday", LetterKind::Morning).edition, letter.edition);
    assert_eq!(everything(&ledger), before);
}

#[test]
fn no_message_id_is_kept_twice() {
    let (mut ledger, letter) = with_letter();
    let ids: Vec<_> = (1..=3).map(|mail| letter.edition.message_id_of(mail)).collect();
    let (name, domain) = letter.edition.message_id.rsplit_once('@').unwrap();
    let expected = [
        letter.edition.message_id.clone(),
        format!("{name}.part2@{domain}"),
        format!("{name}.part3@{domain}"),
    ];
    assert_eq!(ids, expected);
    let other = OutboxLetter {
        edition: Edition { day: day("2026-03-03"), ..letter.edition.clone() },
        words: super::tests::words("another"),
        ..letter.clone()
    };
    let (records, lives, rules) = (Records::default(), Lives::default(), BTreeMap::new());
    let mut keep = |letter: &OutboxLetter, mails: &[OutboxMail]| {
        let posting = Posting { letter, mails, tells: TellsOf::Everything };
        let today = letter.edition.day;
        ledger.keep(&Round { today, records: &records, lives: &lives, rules: &rules, letter: Some(posting) })
    };
    keep(&other, &[]).expect_err("the letter's own");
    let edition = Edition { message_id: "<new@shop.example>".to_owned(), ..other.edition.clone() };
    let mail =
        OutboxMail { number: 1, message_id: ids[1].clone(), sections: None, eml: vec![], receivers: vec![] };
    keep(&OutboxLetter { edition, ..other }, &[mail]).expect_err("a mail's");
    assert_eq!(
        ledger.letter_of(day("2026-03-03"), LetterKind::Morning).unwrap(),
        None,
        "nothing is left of either"
    );
}

#[test]
fn an_endless_answer_of_a_server_is_kept_in_part() {
    let (mut ledger, _) = with_letter();
    let mail = ledger.mails_due(at("02T07:30")).unwrap().remove(0);
    assert!(ledger.begin_sending(&mail, at("02T07:30")).unwrap());
    let words = "ä".repeat(100_000);
    ledger.note_verdicts(&mail, &[(DESK.to_owned(), MailVerdict::Later { words })], at("02T07:30")).unwrap();
    assert!(standings(&ledger)[0].ends_with(&format!(" {}", "ä".repeat(500))));
}

#[test]
fn a_person_need_not_wait_for_the_next_try_but_a_mail_that_perhaps_went_out_does() {
    let (mut ledger, _) = with_letter();
    for mail in ledger.mails_due(at("02T07:30")).unwrap() {
        assert!(ledger.begin_sending(&mail, at("02T07:30")).unwrap());
        let word = |address: &str| if address == DESK { "perhaps" } else { "later" };
        let verdicts: Vec<_> =
            mail.receivers.iter().map(|it| (it.address.clone(), verdict(word(&it.address)))).collect();
        ledger.note_verdicts(&mail, &verdicts, at("02T07:30")).unwrap();
    }
    assert_eq!(due(&mut ledger, "02T07:30"), Vec::<String>::new());
    ledger.try_now(at("02T07:30")).unwrap();
    let now = due(&mut ledger, "02T07:30").join("; ");
    assert!(now.contains("bench 1") && now.contains("owner 1") && !now.contains("desk"), "{now}");
}

#[test]
fn finished_bytes_are_kept_for_a_month_and_as_long_as_something_waits_for_them() {
    let (mut ledger, letter) = with_letter();
    let bytes = |ledger: &Ledger| -> (i64, i64, i64) {
        let one = |sql| ledger.connection.query_row(sql, [], |row| row.get(0)).unwrap();
        (
            one("SELECT length(eml) FROM letter"),
            one("SELECT length(eml) FROM mail WHERE number = 1"),
            one("SELECT length(eml) FROM mail WHERE number = 2"),
        )
    };
    let whole = bytes(&ledger);
    let bench = ledger.mails_due(at("02T07:30")).unwrap().remove(1);
    ledger.begin_sending(&bench, at("02T07:30")).unwrap();
    ledger.note_verdicts(&bench, &[(BENCH.to_owned(), MailVerdict::Sent)], at("02T07:31")).unwrap();
    let unseen = crate::units::Days(180);
    ledger.forget(day("2026-04-02"), unseen).unwrap();
    assert_eq!(bytes(&ledger), whole, "a month is not past");
    ledger.forget(day("2026-04-03"), unseen).unwrap();
    assert_eq!(bytes(&ledger), (whole.0, whole.1, 0), "neither the copy nor the desk's mail has gone out");
    ledger.mark_delivered(&letter.edition, at("03T07:30")).unwrap();
    assert_eq!(ledger.mails_due(at("31T07:30")).unwrap(), [], "it is given up after two days");
    ledger.forget(day("2026-04-03"), unseen).unwrap();
    assert_eq!(bytes(&ledger), (0, 0, 0));
    let kept = ledger.letter_of(day("2026-03-02"), LetterKind::Morning).unwrap().unwrap();
    assert_eq!(kept.words, letter.words, "what it said stays");
}
