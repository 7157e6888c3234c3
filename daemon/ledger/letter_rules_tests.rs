//! Tests of what is noted of the rules that letters rest on, and of what was known on an earlier day.

use super::tests::{day, everything, keep_letter, keep_records, letter, moment, posting, reading_of};
use super::*;
use crate::units::Days;

fn texts(rules: &[(&str, &str)]) -> BTreeMap<String, String> {
    rules.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
}

/// Keeps a round with a letter by these rules, and delivers it where that is asked for.
fn tell(ledger: &mut Ledger, date: &str, words: &str, rules: &[(&str, &str)], accepted: bool) {
    let letter = letter(ledger, date, words);
    let (records, lives, rules) = (Records::default(), Lives::default(), texts(rules));
    let today = day(date);
    let round =
        Round { today, records: &records, lives: &lives, rules: &rules, letter: Some(posting(&letter)) };
    ledger.keep(&round).unwrap();
    if accepted {
        ledger.mark_delivered(&letter.edition, moment(&format!("{date}T08:00:00Z"))).unwrap();
    }
}

fn count(ledger: &Ledger, table: &str) -> i64 {
    ledger.connection.query_row(&format!("SELECT count(*) FROM {table}"), [], |row| row.get(0)).unwrap()
}

#[test]
fn a_letter_names_the_texts_of_its_rules_and_each_text_is_kept_once() {
    let mut ledger = Ledger::in_memory().unwrap();
    tell(&mut ledger, "2026-03-02", "one", &[("a", "first"), ("b", "same")], true);
    tell(&mut ledger, "2026-03-03", "two", &[("a", "first"), ("b", "same")], true);
    tell(&mut ledger, "2026-03-04", "three", &[("a", "second"), ("b", "same"), ("c", "same")], true);
    assert_eq!(count(&ledger, "rule_text"), 3, "first, same, second");
    assert_eq!(count(&ledger, "in_force"), 7);
    let on = |date: &str| ledger.rules_last_told(day(date)).unwrap();
    assert_eq!(on("2026-03-02"), None, "no letter was told before");
    assert_eq!(on("2026-03-03"), Some(texts(&[("a", "first"), ("b", "same")])));
    assert_eq!(on("2026-03-04"), Some(texts(&[("a", "first"), ("b", "same")])), "the same all day");
    assert_eq!(on("2026-03-09"), Some(texts(&[("a", "second"), ("b", "same"), ("c", "same")])));
}

#[test]
fn only_a_letter_that_was_accepted_counts_as_the_last_one() {
    let mut ledger = Ledger::in_memory().unwrap();
    tell(&mut ledger, "2026-03-02", "one", &[("a", "first")], true);
    tell(&mut ledger, "2026-03-03", "two", &[("a", "second")], false);
    assert_eq!(ledger.rules_last_told(day("2026-03-04")).unwrap(), Some(texts(&[("a", "first")])));
}

#[test]
fn a_rule_is_in_force_since_the_day_on_which_its_text_was_first_accepted() {
    let mut ledger = Ledger::in_memory().unwrap();
    for (date, rules, since) in [
        (
            "2026-03-02",
            [("a", "first"), ("b", "same")].as_slice(),
            ["a 2026-03-02", "b 2026-03-02"].as_slice(),
        ),
        ("2026-03-03", &[("a", "second"), ("b", "same")], &["a 2026-03-03", "b 2026-03-02"]),
        ("2026-03-04", &[("a", "second"), ("b", "same")], &["a 2026-03-03", "b 2026-03-02"]),
        ("2026-03-05", &[("a", "second")], &["a 2026-03-03"]),
        ("2026-03-06", &[("a", "first"), ("b", "same")], &["a 2026-03-06", "b 2026-03-06"]),
    ] {
        tell(&mut ledger, date, date, rules, true);
        let known = ledger.rules_since().unwrap();
        let known: Vec<_> = known.into_iter().map(|(name, day)| format!("{name} {day}")).collect();
        assert_eq!(known, since, "{date}");
    }
}

#[test]
fn the_rules_of_a_letter_are_forgotten_with_its_words() {
    let mut ledger = Ledger::in_memory().unwrap();
    tell(&mut ledger, "2026-03-02", "one", &[("a", "old"), ("b", "same")], true);
    tell(&mut ledger, "2026-08-03", "two", &[("a", "new"), ("b", "same")], true);
    ledger.forget(day("2026-06-10"), Days(100)).unwrap();
    assert_eq!((count(&ledger, "rule_text"), count(&ledger, "in_force")), (3, 4), "100 days are not past");
    ledger.forget(day("2026-06-11"), Days(100)).unwrap();
    assert_eq!((count(&ledger, "rule_text"), count(&ledger, "in_force")), (2, 2));
    assert!(!everything(&ledger).contains("\"old\""), "{}", everything(&ledger));
    ledger.forget(day("2028-06-11"), Days(5000)).unwrap();
    assert_eq!((count(&ledger, "rule_text"), count(&ledger, "in_force")), (0, 0), "400 days for any letter");
}

#[test]
fn a_text_that_is_not_the_one_it_is_known_as_is_damage() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("ledger.sqlite3");
    let mut ledger = Ledger::open(&path).unwrap();
    tell(&mut ledger, "2026-03-02", "one", &[("a", "500.miles")], true);
    ledger.make_copy(day("2026-03-02")).unwrap();
    ledger.connection.execute("UPDATE rule_text SET source = '900.miles'", []).unwrap();
    drop(ledger);
    let (ledger, mishap) = Ledger::open_mended(&path, day("2026-03-03"), true).unwrap();
    assert!(mishap.is_some(), "it was set aside");
    assert_eq!(ledger.rules_last_told(day("2026-03-03")).unwrap(), Some(texts(&[("a", "500.miles")])));
}

#[test]
fn on_an_earlier_day_only_what_a_round_had_seen_by_then_is_known() {
    let mut ledger = Ledger::in_memory().unwrap();
    let readings = |rows: &[(&str, &str)]| Records {
        records: rows.iter().map(|(mark, date)| reading_of("log.csv", mark, day(date))).collect(),
        ..Records::default()
    };
    let first = readings(&[("AB12CDE", "2026-02-20")]);
    let second = readings(&[("AB12CDE", "2026-02-20"), ("CD34EFG", "2026-02-10")]);
    keep_records(&mut ledger, "2026-03-02", &first);
    keep_records(&mut ledger, "2026-03-04", &second);
    // The first has rolled out of the sheet, and a third has come that no round has kept.
    let current = readings(&[("CD34EFG", "2026-02-10"), ("EF56GHJ", "2026-03-05")]);
    let by_day = ledger.records_by_day(&current).unwrap();
    let seen = |date: &str| {
        let (said, kept) = by_day.seen_by(day(date));
        let marks = |records: Records| {
            let marks = records.records.into_iter().map(|(identity, _)| identity.mark.unwrap().value);
            marks.map(|mark| mark.to_string()).collect::<Vec<_>>().join(", ")
        };
        (marks(said), marks(kept))
    };
    let expected = |said: &str, kept: &str| (said.to_owned(), kept.to_owned());
    assert_eq!(seen("2026-03-01"), expected("", ""));
    assert_eq!(seen("2026-03-02"), expected("", "AB12 CDE"));
    assert_eq!(seen("2026-03-03"), expected("", "AB12 CDE"));
    assert_eq!(seen("2026-03-04"), expected("CD34 EFG", "AB12 CDE"));
    assert_eq!(seen("2026-03-09"), expected("CD34 EFG", "AB12 CDE"), "the third is in no kept round");
}

#[test]
fn a_letter_that_says_the_same_again_keeps_the_rules_that_it_was_made_by() {
    let mut ledger = Ledger::in_memory().unwrap();
    tell(&mut ledger, "2026-03-02", "one", &[("a", "first")], true);
    tell(&mut ledger, "2026-03-02", "one", &[("a", "// noted\nfirst")], false);
    assert_eq!(ledger.rules_last_told(day("2026-03-03")).unwrap(), Some(texts(&[("a", "first")])));
    let other = letter(&ledger, "2026-03-02", "two");
    keep_letter(&mut ledger, &other).unwrap();
    assert_eq!(count(&ledger, "in_force"), 1, "a letter by no rule names none");
}
