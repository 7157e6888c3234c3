//! What the shipped rules say, in their own words, where a careless word would mislead.

use std::sync::Arc;

use super::tests::{machine, said, shipped_book};
use crate::findings::Verdict;
use crate::reckon::stand;
use crate::settings::Practice;
use crate::yard::Machine;

/// What one shipped rule says of a machine.
fn rule(name: &str, facts: &str) -> String {
    let all = said(&shipped_book(), facts);
    let ours = all.lines().filter(|line| line.starts_with(name));
    ours.map(|line| line[name.len()..].trim().to_owned()).collect::<Vec<_>>().join("\n")
}

#[test]
fn after_a_change_of_clock_the_first_service_cannot_be_told() {
    let facts = r#"today: "2026-03-02", handover: "2026-01-02", jobs: [#{ day: "2026-02-20", done: "new clock fitted" }],
        readings: [["2026-01-02", 3.miles], ["2026-02-19", 230.miles], ["2026-02-21", 1.mile], ["2026-03-01", 9.miles]]"#;
    let unknown = "[] cannot tell: distance on the clock before it was changed";
    assert_eq!(rule("first-service-due", facts), unknown);
    let by_date = facts.replace("2026-01-02", "2025-12-16");
    let expected = "[] RingToday by 2026-03-16: The first service falls due at 500 miles \
                    on the clock before this one, last read at 230 miles, or on 16 Mar 2026, whichever comes first; \
                    9 miles on 1 Mar 2026.";
    assert_eq!(rule("first-service-due", &by_date), expected);
}

#[test]
fn a_projection_that_has_come_is_no_day_of_the_past() {
    let facts = r#"today: "2026-03-02", handover: "2025-12-20",
        readings: [["2025-12-20", 3.miles], ["2025-12-28", 120.miles], ["2026-01-09", 300.miles]]"#;
    let expected = "[] RingToday by 2026-03-02: The first service has likely come due by now: at 500 miles or on \
                    20 Mar 2026, whichever comes first; about 1,072 miles by now; 300 miles on 9 Jan 2026.";
    assert_eq!(rule("first-service-due", facts), expected);
}

#[test]
fn what_is_due_today_is_due_and_what_is_past_was() {
    let facts = |today: &str| {
        format!(
            r#"today: "{today}", handover: "2025-03-02", clock: 3_000.miles,
            jobs: [#{{ day: "2025-05-02", done: "first service" }}]"#
        )
    };
    let said = |today, is, day| {
        format!(
            "[first service] clear\n[annual service] RingToday by {today}: The annual service {is} due on \
                 2 Mar 2026: 3,000 miles today. Find a day.\n[brake fluid] {day}"
        )
    };
    assert_eq!(rule("service-due", &facts("2026-03-02")), said("2026-03-02", "is", "clear"));
    assert_eq!(rule("service-due", &facts("2026-03-03")), said("2026-03-03", "was", "clear"));
}

#[test]
fn the_first_service_is_told_of_once_however_the_handbook_writes_it() {
    let facts = r#"today: "2026-03-02", handover: "2026-01-02", registered: "2026-01-02", clock: 610.miles"#;
    let (machine, _) = machine(facts);
    let told = |item: &str| {
        let mut machine = Machine::clone(&machine);
        machine.page.services[0].item.value = item.to_owned();
        let standing = stand(&machine, &Practice::default(), "2026-03-02".parse().unwrap());
        let judged = shipped_book().judge(&Arc::new(machine), &Arc::new(standing));
        let raised =
            judged.judgements.into_iter().filter(|judgement| matches!(judgement.verdict, Verdict::Raised(_)));
        let about =
            raised.map(|judgement| judgement.rule.to_string()).filter(|rule| rule.ends_with("service-due"));
        about.collect::<Vec<_>>()
    };
    for item in ["first service", "First service", "FIRST  SERVICE", "first-service", "First service."] {
        assert_eq!(told(item), ["first-service-due"], "{item}");
    }
}

#[test]
fn a_machine_registered_long_before_its_handover_is_new_with_nothing_on_its_clock() {
    let facts = |first: i64| {
        format!(
            r#"today: "2026-03-02", registered: "2025-06-01", handover: "2026-01-02",
            readings: [["2026-01-02", {first}.miles], ["2026-03-01", 900.miles]]"#
        )
    };
    let expected = "[] RingToday by 2026-03-02: The first service was due at 500 miles: about 915 miles by now; 900 miles on 1 Mar 2026. Find a day at once; gentle riding until then.";
    assert_eq!(rule("first-service-due", &facts(5)), expected);
    assert_eq!(rule("first-service-due", &facts(300)), "");
}

#[test]
fn whether_it_was_new_is_said_to_be_taken_or_not_known_and_never_left_out() {
    let new = |facts: &str| {
        let (machine, standing) = machine(facts);
        let judged = shipped_book().judge(&machine, &standing).judgements;
        let ours = judged.into_iter().find(|judgement| &*judgement.rule == "first-service-due").unwrap();
        let evidence = ours.evidence.into_iter().find(|evidence| evidence.what == "new at handover");
        evidence.map(|evidence| evidence.value.clone())
    };
    let facts = r#"today: "2026-03-02", handover: "2026-01-02", clock: 610.miles"#;
    let taken = "taken for new: neither registration nor a reading at handover says otherwise";
    assert_eq!(new(facts).as_deref(), Some(taken));
    assert_eq!(new(&format!(r#"{facts}, registered: "2025-12-30""#)), None);
    let unknown = r#"today: "2026-03-02", handover: "2026-01-02", registered: "2021-05-01""#;
    assert_eq!(rule("first-service-due", unknown), "[] cannot tell: clock reading at handover");
}

#[test]
fn a_machine_sold_without_a_day_of_handover_has_its_first_service_from_its_registration() {
    let facts = r#"today: "2026-03-02", registered: "2025-12-03", customer: "K. Lane", clock: 60.miles"#;
    let expected = "[] RingToday by 2026-03-03: The first service falls due at 500 miles or \
                    on 3 Mar 2026, whichever comes first; 60 miles today.";
    assert_eq!(rule("first-service-due", facts), expected);
    assert_eq!(rule("first-service-due", &facts.replace("customer", "note")), "");
}

#[test]
fn what_is_dated_after_today_is_put_right_and_not_judged() {
    let facts = r#"today: "2026-03-02", fuel_allowed: "E5", clock: 60.miles,
        fills: [#{ day: "2026-12-20", grade: "E85" }]"#;
    let expected = "[fill in the future 2026-12-20] PutTheSheetRight by 2026-03-02: the fill with E85 is dated 20 Dec \
                    2026, after today, 2 Mar 2026; most likely day, month or year is mistyped. Look at the clock or \
                    the job card, and correct the cell.";
    assert_eq!(rule("doubtful-reading", facts), expected);
    assert_eq!(rule("wrong-fuel", facts), "");
}

#[test]
fn a_pace_of_two_readings_is_no_rule_of_thumb() {
    let facts = r#"today: "2026-03-02", registered: "2026-02-02", handover: "2026-02-02",
        readings: [["2026-02-02", 4.miles], ["2026-02-16", 200.miles]]"#;
    assert!(!rule("first-service-due", facts).contains("rule of thumb"));
}
