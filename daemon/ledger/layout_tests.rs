//! Tests of an older ledger: what it becomes, and what it answers where it must stay as it is.

use super::tests::{day, everything, keep_records, moment, one_of_each};
use super::*;
use crate::findings::State;

/// A ledger of layout 1, with the content that its last program would have left on 5 March: letters of three days, the
/// last of them still to be delivered, and findings that they told of.
pub(super) fn layout_1(path: &Path) {
    let connection = Connection::open(path).unwrap();
    connection.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(())).unwrap();
    connection.execute_batch(layout::STEPS[0]).unwrap();
    connection.pragma_update(None, "user_version", 1).unwrap();
    connection.pragma_update(None, "application_id", 0x5449_434B).unwrap();
    let body = r#"{"title":"Wrong oil","machine_name":"AB12 CDE","names":{"mark":null,"frame_no":null,"stock_no":null},"due_range":null,"at_once":false,"no_longer_told":[],"caution":null,"evidence":[]}"#;
    for (key, state, since, as_of) in [
        ("open, told on its first day", "open", "2026-03-03", "2026-03-05"),
        ("open, told on the day after", "open", "2026-03-02", "2026-03-05"),
        ("new, its letter waits", "new", "2026-03-05", "2026-03-05"),
        ("settled, and told so", "settled", "2026-03-03", "2026-03-04"),
        ("settled, and its letter waits", "settled", "2026-03-03", "2026-03-05"),
    ] {
        let sql = "INSERT INTO finding VALUES ('wrong-oil', 'frame F1', ?1, ?2, ?3, ?4, 'on_the_bench', 'a', NULL, ?5)";
        connection.execute(sql, [key, state, since, as_of, body]).unwrap();
    }
    for (date, edition, state) in [
        ("2026-03-03", 1, "superseded"),
        ("2026-03-03", 2, "delivered"),
        ("2026-03-04", 1, "delivered"),
        ("2026-03-05", 1, "waiting"),
    ] {
        let sql = "INSERT INTO letter VALUES (?1, ?2, ?3, 's', ?3, 'h', NULL, x'2E', ?4)";
        let text = format!("<{date}.{edition}>");
        connection.execute(sql, rusqlite::params![date, edition, text, state]).unwrap();
    }
    connection.execute("INSERT INTO rule VALUES ('wrong-oil', 'source', NULL)", []).unwrap();
}

/// What a ledger made from `layout_1` answers.
fn check_answers(ledger: &Ledger) {
    let findings: Vec<_> = ledger
        .kept_findings(day("2026-03-05"))
        .unwrap()
        .into_iter()
        .map(|kept| (kept.finding.key, kept.finding.state, kept.told, kept.told_settled))
        .collect();
    let told = |date| Some(day(date));
    assert_eq!(
        findings,
        [
            ("new, its letter waits".to_owned(), State::New, None, None),
            ("open, told on its first day".to_owned(), State::Open, told("2026-03-03"), None),
            ("open, told on the day after".to_owned(), State::Open, told("2026-03-03"), None),
            ("settled, and its letter waits".to_owned(), State::Settled, told("2026-03-03"), None),
        ],
        "what is settled and told so is not asked for"
    );
    let letter = ledger.letter_of(day("2026-03-03"), LetterKind::Morning).unwrap().unwrap();
    assert_eq!((letter.edition.number, letter.edition.message_id.as_str()), (2, "<2026-03-03.2>"));
    assert_eq!((letter.words.text.as_str(), letter.eml.as_slice()), ("<2026-03-03.2>", b".".as_slice()));
    assert_eq!(
        (letter.state, letter.accepted),
        (LetterState::Delivered, Some(moment("2026-03-03T00:00:00Z")))
    );
    let waiting: Vec<_> =
        ledger.waiting_copies().unwrap().into_iter().map(|letter| letter.edition.day).collect();
    assert_eq!(waiting, [day("2026-03-05")]);
    assert_eq!(ledger.last_told_before(day("2026-03-06")).unwrap(), Some(day("2026-03-04")));
    assert_eq!(ledger.accepted_rules(day("2026-03-05")).unwrap()["wrong-oil"], "source");
    assert_eq!(ledger.mail_troubles(day("2026-03-06")).unwrap(), []);
}

#[test]
fn a_ledger_of_layout_1_is_brought_up_with_all_that_it_holds() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    layout_1(&path);
    let mut ledger = Ledger::open(&path).unwrap();
    check_answers(&ledger);
    let waiting = ledger.waiting_copies().unwrap().remove(0);
    ledger.mark_delivered(&waiting.edition, moment("2026-03-05T09:00:00Z")).unwrap();
    assert_eq!(ledger.last_told_before(day("2026-03-06")).unwrap(), Some(day("2026-03-05")));
    keep_records(&mut ledger, "2026-03-05", &one_of_each());
    let before = everything(&ledger);
    drop(ledger);
    assert_eq!(everything(&Ledger::open(&path).unwrap()), before, "a second opening changes nothing");
}

#[test]
fn a_ledger_of_layout_1_that_is_opened_to_read_answers_and_stays_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    layout_1(&path);
    let before = std::fs::read(&path).unwrap();
    let mut ledger = Ledger::open_read_only(&path).unwrap();
    check_answers(&ledger);
    keep_records(&mut ledger, "2026-03-06", &one_of_each());
    assert_eq!(ledger.kept_records(&Records::default()).unwrap().records, []);
    assert!(!ledger.outlives_the_round(), "nothing is kept in it");
    drop(ledger);
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

/// A ledger of layout 2 as its last program would have left it on 5 March: a letter that was accepted that day, with a
/// mail, and a rule.
fn layout_2(path: &Path) {
    let connection = Connection::open(path).unwrap();
    connection.pragma_update_and_check(None, "journal_mode", "wal", |_| Ok(())).unwrap();
    for step in &layout::STEPS[..2] {
        connection.execute_batch(step).unwrap();
    }
    connection.pragma_update(None, "user_version", 2).unwrap();
    connection.pragma_update(None, "application_id", 0x5449_434B).unwrap();
    connection
        .execute_batch(
            "INSERT INTO letter VALUES (7, '2026-03-05', 'morning', 1, '<a@shop.example>', '2026-03-05T07:30:00Z', 's', \
             't', 'h', NULL, x'2E', 'delivered', '2026-03-05T07:31:00Z'); \
             INSERT INTO mail VALUES (1, 7, 1, '<a@shop.example>', NULL, x'2E'); \
             INSERT INTO receiver VALUES (1, 'desk@shop.example', 'sent', 1, 0, NULL, '', '2026-03-05T07:31:00Z'); \
             INSERT INTO rule VALUES ('wrong-oil', 'source', NULL);",
        )
        .unwrap();
}

#[test]
fn a_ledger_of_layout_2_is_copied_and_brought_up_and_knows_of_its_letters_only_what_was_noted() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    layout_2(&path);
    let rules = BTreeMap::from([("wrong-oil".to_owned(), "source".to_owned())]);
    let check = |ledger: &Ledger| {
        let letter = ledger.letter_of(day("2026-03-05"), LetterKind::Morning).unwrap().unwrap();
        assert_eq!(letter.edition.message_id, "<a@shop.example>");
        assert_eq!(ledger.last_told_before(day("2026-03-06")).unwrap(), Some(day("2026-03-05")));
        assert_eq!(ledger.accepted_rules(day("2026-03-06")).unwrap(), rules);
        assert_eq!(ledger.rules_last_told(day("2026-03-06")).unwrap(), None, "nobody noted its rules");
        assert_eq!(ledger.rules_since().unwrap(), BTreeMap::new(), "nor since when they are in force");
    };
    let before = std::fs::read(&path).unwrap();
    check(&Ledger::open_read_only(&path).unwrap());
    assert_eq!(std::fs::read(&path).unwrap(), before, "one that is only read stays as it is");

    let mut ledger = Ledger::open(&path).unwrap();
    check(&ledger);
    let copy = folder.path().join("copies/ledger-2026-03-05-before-layout-5.sqlite3");
    let layout: i64 =
        Connection::open(&copy).unwrap().pragma_query_value(None, "user_version", |row| row.get(0)).unwrap();
    assert_eq!(layout, 2, "it was copied first");

    let letter = super::tests::letter(&ledger, "2026-03-06", "the next");
    let round = Round {
        today: day("2026-03-06"),
        records: &Records::default(),
        lives: &Lives::default(),
        rules: &rules,
        letter: Some(super::tests::posting(&letter)),
    };
    ledger.keep(&round).unwrap();
    ledger.mark_delivered(&letter.edition, moment("2026-03-06T07:30:00Z")).unwrap();
    assert_eq!(ledger.rules_last_told(day("2026-03-07")).unwrap(), Some(rules.clone()));
    assert_eq!(ledger.rules_since().unwrap(), BTreeMap::new(), "its text has not changed since");
}

#[test]
fn every_layout_is_reached_by_its_steps_alone() {
    let by_steps = Connection::open_in_memory().unwrap();
    for step in layout::STEPS {
        by_steps.execute_batch(step).unwrap();
    }
    let schema = |connection: &Connection| -> Vec<String> {
        let mut statement =
            connection.prepare("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY 1").unwrap();
        statement.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
    };
    let ledger = Ledger::in_memory().unwrap();
    assert_eq!(schema(&ledger.connection), schema(&by_steps));
    assert_eq!(layout::NEWEST, 5);
}
