//! Tests of how findings live from day to day.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use jiff::civil::Date;

use super::*;
use crate::origin::{Entry, Evidence, Origin, SheetName};
use crate::units::DistanceUnit;
use crate::yard::{FrameNumber, HandbookPage, Identity, Machine, MachineId, MachineRow, Mark, StockNumber};

pub(super) fn day(text: &str) -> Date {
    text.parse().unwrap()
}

fn today() -> Date {
    day("2026-03-10")
}

fn entry<T>(value: T) -> Entry<T> {
    let name = Arc::new(SheetName { file: "machines.csv".to_owned(), sheet: None });
    Entry::new(value, Origin { name, row: 2, column: 0 })
}

/// A machine by its frame, stock number and mark, each of which may be blank.
pub(super) fn machine(frame_no: &str, stock_no: &str, mark: &str) -> Machine {
    let identity = Identity {
        frame_no: FrameNumber::new(frame_no).map(entry),
        stock_no: StockNumber::new(stock_no).map(entry),
        mark: Mark::new(mark).map(entry),
    };
    Machine {
        id: MachineId::of(&identity).unwrap(),
        identity,
        row: MachineRow { customer: Some(entry("P Marlow".to_owned())), ..MachineRow::default() },
        clock_unit: DistanceUnit::Miles,
        readings: vec![],
        jobs: vec![],
        checks: vec![],
        rides: vec![],
        fills: vec![],
        withdrawn: crate::yard::TakenOut::default(),
        page: HandbookPage::default(),
    }
}

pub(super) fn rules(names: &[&str]) -> BTreeMap<String, RuleWords> {
    let words = |name: &&str| {
        let words = RuleWords { title: format!("Title of {name}"), caution: None };
        ((*name).to_owned(), words)
    };
    names.iter().map(words).collect()
}

pub(super) fn raised(text: &str) -> Verdict {
    Verdict::Raised(Raised {
        section: Section::RingToday,
        text: text.to_owned(),
        due: Some(day("2026-03-20")),
        due_range: None,
        at_once: false,
    })
}

pub(super) fn cannot_tell(missing: &str) -> Verdict {
    Verdict::CannotTell { missing: vec![missing.to_owned()] }
}

pub(super) fn judgement(rule: &str, machine: &Machine, key: &str, verdict: Verdict) -> Judgement {
    Judgement {
        rule: rule.into(),
        machine: machine.id.clone(),
        key: key.to_owned(),
        verdict,
        evidence: vec![Evidence::reckoned("shown by", "today's judgement")],
    }
}

/// What is kept after a round whose letter was accepted, as the ledger does it.
fn kept_after(kept: &[KeptFinding], lives: &Lives, today: Date) -> Vec<KeptFinding> {
    let mut after = untold_after(kept, lives, today);
    let told: BTreeSet<_> = lives.open.iter().chain(&lives.settled).map(Finding::id).collect();
    for kept in after.iter_mut().filter(|kept| told.contains(&kept.finding.id())) {
        let is_settled = kept.finding.state == State::Settled;
        let told = if is_settled { &mut kept.told_settled } else { &mut kept.told };
        *told = Some(told.map_or(today, |told| told.min(today)));
    }
    after
}

/// What is kept after a round that told nothing, or whose letter reached nobody.
fn untold_after(kept: &[KeptFinding], lives: &Lives, today: Date) -> Vec<KeptFinding> {
    let mut after: BTreeMap<FindingId, KeptFinding> =
        kept.iter().map(|kept| (kept.finding.id(), kept.clone())).collect();
    for Renamed { from, to } in &lives.renamed {
        let old = after.remove(from).unwrap();
        let told = old.told;
        let one = after.entry(FindingId { machine: to.clone(), ..from.clone() }).or_insert(old);
        one.told = one.told.into_iter().chain(told).min();
    }
    for finding in lives.open.iter().chain(&lives.settled).chain(&lives.never_told) {
        let finding = Finding { customer: None, telephone: None, ..finding.clone() };
        let before = after.remove(&finding.id());
        let was_settled = before.as_ref().is_some_and(|before| before.finding.state == State::Settled);
        let is_settled = finding.state == State::Settled;
        let lives_on = |before: &KeptFinding| !was_settled || before.finding.since == finding.since;
        let before = before.filter(lives_on);
        let now = KeptFinding {
            as_of: match &before {
                Some(before) if was_settled && is_settled => before.as_of,
                _ => today,
            },
            told: before.as_ref().and_then(|before| before.told),
            told_settled: before.and_then(|before| before.told_settled).filter(|_| is_settled),
            finding,
        };
        after.insert(now.finding.id(), now);
    }
    after.into_values().collect()
}

/// The lives in lines, one a finding, with all that the letter may say of them.
fn shown(lives: &Lives) -> String {
    let word = |state| serde_json::to_string(&state).unwrap().replace('"', "");
    let mut lines = Vec::new();
    for finding in lives.open.iter().chain(&lives.settled) {
        let evidence: Vec<_> =
            finding.evidence.iter().map(|shown| format!("{}: {}", shown.what, shown.value)).collect();
        let untold = if finding.no_longer_told.is_empty() {
            String::new()
        } else {
            format!(", no longer told for want of {}", finding.no_longer_told.join(" and "))
        };
        lines.push(format!(
            "{} {} `{}` {} since {}{untold} ({})",
            finding.rule,
            finding.machine.as_str(),
            finding.key,
            word(finding.state),
            finding.since,
            evidence.join("; "),
        ));
    }
    for CannotTell { rule, machine, key, missing, .. } in &lives.cannot_tell {
        lines.push(format!("cannot tell: {rule} {} `{key}` {}", machine.as_str(), missing.join(" and ")));
    }
    for Renamed { from, to } in &lives.renamed {
        let FindingId { rule, machine, key } = from;
        lines.push(format!("renamed: {rule} {} `{key}` to {}", machine.as_str(), to.as_str()));
    }
    lines.join("\n")
}

/// What an earlier round left: raised `since`, and cleared `as_of` where it is settled. The letters of both days were
/// accepted.
fn left(rule: &str, machine: &Machine, key: &str, state: State, since: &str, as_of: &str) -> KeptFinding {
    let in_force = rules(&[rule]);
    let asked = Asked::of(&in_force, [machine]);
    let judged = vec![judgement(rule, machine, key, raised("first said"))];
    let mut lives = lives(judged, &asked, &[], day(since));
    let mut finding = lives.open.remove(0);
    (finding.state, finding.customer) = (state, None);
    finding.evidence = vec![Evidence::reckoned("shown by", format!("the round of {as_of}"))];
    let told_settled = (state == State::Settled).then(|| day(as_of));
    KeptFinding { finding, as_of: day(as_of), told: Some(day(since)), told_settled }
}

/// One machine F1 under one rule `oil`, which is in force unless a case says otherwise.
fn check(case: &str, kept: Option<(State, &str, &str)>, answers: &[(&str, Verdict)], expected: &str) {
    let bike = machine("F1", "", "");
    let kept: Vec<_> =
        kept.iter().map(|(state, since, as_of)| left("oil", &bike, "k", *state, since, as_of)).collect();
    let judgements: Vec<_> =
        answers.iter().map(|(key, verdict)| judgement("oil", &bike, key, verdict.clone())).collect();
    let in_force = rules(&["oil"]);
    let asked = Asked::of(&in_force, [&bike]);
    let first = lives(judgements.clone(), &asked, &kept, today());
    assert_eq!(shown(&first), expected, "{case}");
    let kept = kept_after(&kept, &first, today());
    assert_eq!(lives(judgements, &asked, &kept, today()), first, "{case}, a second time on the same day");
}

#[test]
fn each_answer_moves_a_finding_to_its_place() {
    use State::{New, Open};
    let open = Some((Open, "2026-03-01", "2026-03-09"));
    let by_today = "(shown by: today's judgement)";
    check("never heard of", None, &[], "");
    check(
        "raised at first",
        None,
        &[("k", raised("a"))],
        &format!("oil frame F1 `k` new since 2026-03-10 {by_today}"),
    );
    check(
        "raised still",
        open,
        &[("k", raised("b"))],
        &format!("oil frame F1 `k` open since 2026-03-01 {by_today}"),
    );
    check(
        "raised this morning already",
        Some((New, "2026-03-10", "2026-03-10")),
        &[("k", raised("a"))],
        &format!("oil frame F1 `k` new since 2026-03-10 {by_today}"),
    );
    check(
        "new yesterday is open today",
        Some((New, "2026-03-09", "2026-03-09")),
        &[("k", raised("a"))],
        &format!("oil frame F1 `k` open since 2026-03-09 {by_today}"),
    );
    check(
        "cleared",
        open,
        &[("k", Verdict::Clear)],
        &format!("oil frame F1 `k` settled since 2026-03-01 {by_today}"),
    );
    check(
        "cleared as a whole",
        open,
        &[("", Verdict::Clear)],
        &format!("oil frame F1 `k` settled since 2026-03-01 {by_today}"),
    );
    check(
        "not spoken of by a rule that was asked",
        open,
        &[],
        "oil frame F1 `k` settled since 2026-03-01 (Title of oil: asked today, and no longer finds this)",
    );
    check(
        "another thing is raised in its stead",
        open,
        &[("j", raised("a"))],
        &format!(
            "oil frame F1 `j` new since 2026-03-10 {by_today}\noil frame F1 `k` settled since 2026-03-01 (Title of \
             oil: asked today, and no longer finds this)"
        ),
    );
}

#[test]
fn what_is_settled_is_told_on_its_day_and_new_when_it_is_raised_again() {
    let settled_before = Some((State::Settled, "2026-03-01", "2026-03-09"));
    let settled_today = Some((State::Settled, "2026-03-01", "2026-03-10"));
    let by_today = "(shown by: today's judgement)";
    check("cleared, never raised", None, &[("k", Verdict::Clear)], "");
    check("settled before and clear", settled_before, &[("k", Verdict::Clear)], "");
    check("settled before and not spoken of", settled_before, &[], "");
    check(
        "settled before and raised again",
        settled_before,
        &[("k", raised("a"))],
        &format!("oil frame F1 `k` new since 2026-03-10 {by_today}"),
    );
    check(
        "settled this morning and clear",
        settled_today,
        &[("k", Verdict::Clear)],
        &format!("oil frame F1 `k` settled since 2026-03-01 {by_today}"),
    );
    check(
        "settled this morning and raised again: nobody was told so on an earlier day",
        settled_today,
        &[("k", raised("a"))],
        &format!("oil frame F1 `k` open since 2026-03-01 {by_today}"),
    );
}

#[test]
fn what_cannot_be_told_any_more_stays_open_and_says_so() {
    use State::{Open, Settled};
    let open = Some((Open, "2026-03-01", "2026-03-09"));
    check(
        "the fact is gone",
        open,
        &[("k", cannot_tell("handover"))],
        "oil frame F1 `k` open since 2026-03-01, no longer told for want of handover (shown by: the round of \
         2026-03-09)\ncannot tell: oil frame F1 `k` handover",
    );
    check(
        "the fact is gone before the rule came to the key",
        open,
        &[("", cannot_tell("handover")), ("j", cannot_tell("fuel grade"))],
        "oil frame F1 `k` open since 2026-03-01, no longer told for want of handover (shown by: the round of \
         2026-03-09)\ncannot tell: oil frame F1 `` handover\ncannot tell: oil frame F1 `j` fuel grade",
    );
    check(
        "another thing cannot be told, and this one is gone",
        open,
        &[("j", cannot_tell("fuel grade"))],
        "oil frame F1 `k` settled since 2026-03-01 (Title of oil: asked today, and no longer finds this)\ncannot \
         tell: oil frame F1 `j` fuel grade",
    );
    check(
        "clear by one answer and not to be told by another",
        open,
        &[("k", Verdict::Clear), ("k", cannot_tell("handover"))],
        "oil frame F1 `k` open since 2026-03-01, no longer told for want of handover (shown by: the round of \
         2026-03-09)\ncannot tell: oil frame F1 `k` handover",
    );
    check("never raised", None, &[("k", cannot_tell("handover"))], "cannot tell: oil frame F1 `k` handover");
    check(
        "settled this morning",
        Some((Settled, "2026-03-01", "2026-03-10")),
        &[("k", cannot_tell("handover"))],
        "oil frame F1 `k` settled since 2026-03-01 (shown by: the round of 2026-03-10)\ncannot tell: oil frame F1 \
         `k` handover",
    );
}

#[test]
fn a_finding_stands_while_its_rule_or_machine_is_gone() {
    let bike = machine("F1", "", "");
    let other = machine("F2", "", "");
    let kept = [left("oil", &bike, "k", State::Open, "2026-03-01", "2026-03-09")];
    let (oil, fuel) = (rules(&["oil"]), rules(&["fuel"]));
    let broken = BTreeSet::from(["oil".to_owned()]);
    let lacking = BTreeMap::from([(("oil".to_owned(), bike.id.clone()), vec!["handover".to_owned()])]);
    let cases = [
        (Asked::of(&fuel, [&bike]).with_not_in_force(&broken), RULE_GONE),
        (Asked::of(&oil, [&other]), MACHINE_GONE),
        (Asked::of(&oil, [&bike]).with_lacking(&lacking), "handover"),
    ];
    for (asked, missing) in cases {
        let lives = lives(vec![], &asked, &kept, today());
        let expected = format!(
            "oil frame F1 `k` open since 2026-03-01, no longer told for want of {missing} (shown by: the round of \
             2026-03-09)"
        );
        assert_eq!(shown(&lives), expected);
        assert_eq!(lives.open[0].title, "Title of oil");
        assert_eq!(lives.open[0].machine_name, "frame F1");
    }
}

#[test]
fn what_ends_without_being_put_right_says_so() {
    let bike = machine("F1", "", "");
    let kept = [left("oil", &bike, "k", State::Open, "2026-03-01", "2026-03-09")];
    let old = judgement("oil", &bike, "k", Verdict::TooLongAgo);
    let bare = Judgement { evidence: vec![], ..judgement("oil", &bike, "k", Verdict::Clear) };
    let (oil, fuel) = (rules(&["oil"]), rules(&["fuel"]));
    let cases = [
        (vec![old], &oil, "Title of oil: not put right, but too long ago to be asked for any more"),
        (vec![bare], &oil, "Title of oil: asked today, and no longer finds this"),
        (vec![], &fuel, "oil: taken out of the folder of rules"),
    ];
    for (judgements, rules, expected) in cases {
        let lives = lives(judgements, &Asked::of(rules, [&bike]), &kept, today());
        let shown: Vec<_> =
            lives.settled[0].evidence.iter().map(|it| format!("{}: {}", it.what, it.value)).collect();
        assert_eq!(shown, [expected]);
        assert!(lives.open.is_empty());
    }
}

#[test]
fn what_was_done_since_is_settled_although_nobody_can_tell_when_it_is_due_again() {
    let bike = machine("F1", "", "");
    let done = |day: &str| vec![Evidence::reckoned("last done", format!("oil on {day}"))];
    let mut kept = left("oil", &bike, "k", State::Open, "2026-03-01", "2026-03-09");
    kept.finding.evidence = done("2 Mar 2025");
    for (last, settled) in [("2 Mar 2025", 0), ("1 Mar 2024", 0), ("9 Mar 2026", 1)] {
        let untold = Judgement { evidence: done(last), ..judgement("oil", &bike, "k", cannot_tell("clock")) };
        let oil = rules(&["oil"]);
        let lives = lives(vec![untold], &Asked::of(&oil, [&bike]), std::slice::from_ref(&kept), today());
        assert_eq!((lives.settled.len(), lives.open.len()), (settled, 1 - settled), "{last}");
        assert_eq!(lives.cannot_tell[0].missing, ["clock"]);
    }
}

#[test]
fn a_clock_that_was_ahead_once_leaves_no_finding_in_the_future() {
    let new = "oil frame F1 `k` new since 2026-03-10 (shown by: today's judgement)";
    check("raised", Some((State::New, "2099-01-01", "2099-01-01")), &[("k", raised("a"))], new);
    check("settled", Some((State::Settled, "2026-03-01", "2099-01-01")), &[("k", raised("a"))], new);
}

#[test]
fn a_finding_follows_its_machine_to_another_lasting_name() {
    let cases = [
        (
            "a frame number is written in",
            machine("", "S7", ""),
            vec![machine("F1", "S7", "")],
            Some("frame F1"),
        ),
        (
            "the frame numbers are not exported",
            machine("F1", "", "AB12CDE"),
            vec![machine("", "S7", "AB12CDE")],
            Some("stock S7"),
        ),
        ("the mark has moved", machine("F1", "", "AB12CDE"), vec![machine("F2", "", "AB12CDE")], None),
        (
            "two could be it",
            machine("", "", "AB12CDE"),
            vec![machine("F1", "", "AB12CDE"), machine("F2", "", "AB12CDE")],
            None,
        ),
        ("nothing in common", machine("", "S7", ""), vec![machine("F1", "S8", "")], None),
    ];
    for (case, before, machines, expected) in cases {
        let kept = [left("oil", &before, "k", State::Open, "2026-03-01", "2026-03-09")];
        let in_force = rules(&["oil"]);
        let asked = Asked::of(&in_force, &machines);
        let judgements: Vec<_> =
            machines.iter().map(|machine| judgement("oil", machine, "k", raised("a"))).collect();
        let first = lives(judgements.clone(), &asked, &kept, today());
        let since: BTreeMap<_, _> =
            first.open.iter().map(|finding| (finding.machine.as_str(), finding.since.to_string())).collect();
        let mut expected_since: BTreeMap<_, _> =
            machines.iter().map(|machine| (machine.id.as_str(), "2026-03-10".to_owned())).collect();
        expected_since.insert(expected.unwrap_or(before.id.as_str()), "2026-03-01".to_owned());
        assert_eq!(since, expected_since, "{case}");
        let kept = kept_after(&kept, &first, today());
        let again = lives(judgements, &asked, &kept, today());
        assert_eq!((again.open, again.settled), (first.open, first.settled), "{case}, a second time");
        assert_eq!(again.renamed, [], "{case}, a second time");
    }
}

#[test]
fn two_findings_of_one_key_are_both_kept() {
    let bike = machine("F1", "", "");
    let later = Verdict::Raised(Raised {
        section: Section::KeepInTheYard,
        text: "more urgent".to_owned(),
        due: None,
        due_range: None,
        at_once: false,
    });
    let mut judgements = vec![
        judgement("oil", &bike, "", raised("a")),
        judgement("oil", &bike, "", later),
        judgement("oil", &bike, "", raised("a")),
        judgement("oil", &bike, "(2)", raised("the rule's own")),
    ];
    let in_force = rules(&["oil"]);
    let asked = Asked::of(&in_force, [&bike]);
    let expected = ["", "(2)", "(2) (2)"]
        .map(|key| format!("oil frame F1 `{key}` new since 2026-03-10 (shown by: today's judgement)"))
        .join("\n");
    assert_eq!(shown(&lives(judgements.clone(), &asked, &[], today())), expected);
    judgements.reverse();
    assert_eq!(shown(&lives(judgements, &asked, &[], today())), expected);
}

#[test]
fn findings_stand_by_section_then_day_then_machine_then_rule_then_key() {
    let bikes = [machine("F1", "", ""), machine("F2", "", "")];
    let raise = |rule: &str, bike: usize, key: &str, section, due: Option<&str>| {
        let raised =
            Raised { section, text: String::new(), due: due.map(day), due_range: None, at_once: false };
        judgement(rule, &bikes[bike], key, Verdict::Raised(raised))
    };
    use Section::{KeepInTheYard, OnTheBench};
    let mut judgements = vec![
        raise("a", 0, "5", OnTheBench, Some("2026-03-01")),
        raise("b", 1, "4", KeepInTheYard, None),
        raise("a", 1, "3", KeepInTheYard, Some("2026-03-12")),
        raise("b", 0, "2b", KeepInTheYard, Some("2026-03-12")),
        raise("b", 0, "2a", KeepInTheYard, Some("2026-03-12")),
        raise("a", 0, "1", KeepInTheYard, Some("2026-03-12")),
        raise("b", 1, "0", KeepInTheYard, Some("2026-03-11")),
    ];
    let in_force = rules(&["a", "b"]);
    let asked = Asked::of(&in_force, &bikes);
    for _ in 0..judgements.len() {
        judgements.rotate_left(3);
        let lives = lives(judgements.clone(), &asked, &[], today());
        let keys: Vec<_> = lives.open.iter().map(|finding| finding.key.as_str()).collect();
        assert_eq!(keys, ["0", "1", "2a", "2b", "3", "4", "5"]);
    }
}

#[test]
fn a_finding_is_dressed_in_todays_words_of_its_rule_and_machine() {
    let bike = machine("F1", "", "AB12CDE");
    let caution = Some("Do not start the engine.".to_owned());
    let rules = BTreeMap::from([(
        "oil".to_owned(),
        RuleWords { title: "Wrong oil".to_owned(), caution: caution.clone() },
    )]);
    let mut kept = left("oil", &bike, "k", State::Open, "2026-03-01", "2026-03-09");
    kept.finding.machine_name = "an older name".to_owned();
    let asked = Asked::of(&rules, [&bike]);
    let judged = vec![judgement("oil", &bike, "k", cannot_tell("handover"))];
    let lives = lives(judged, &asked, &[kept], today());
    let finding = &lives.open[0];
    assert_eq!(
        (
            finding.title.as_str(),
            &finding.caution,
            finding.machine_name.as_str(),
            finding.customer.as_deref()
        ),
        ("Wrong oil", &caution, "AB12 CDE", Some("P Marlow"))
    );
    assert_eq!(finding.identity, bike.identity);
}

/// A run of numbers that is the same each time (Knuth's MMIX linear congruence).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}

#[test]
fn over_many_mornings_a_second_round_changes_nothing_and_no_raised_thing_is_lost() {
    const MORNINGS: u64 = 400;
    let all_bikes = [machine("F1", "", ""), machine("", "S1", "AB12CDE"), machine("", "", "CD34EFG")];
    let names = ["oil", "fuel", "mot"];
    let mut numbers = Numbers(7);
    let mut kept: Vec<KeptFinding> = Vec::new();
    for morning in 0..MORNINGS {
        let today = crate::units::Days(morning as i64).after(day("2025-01-01")).unwrap();
        let bikes: Vec<_> = all_bikes.iter().filter(|_| numbers.below(8) > 0).cloned().collect();
        let in_force: Vec<_> = names.into_iter().filter(|_| numbers.below(8) > 0).collect();
        let mut judgements = Vec::new();
        for bike in &bikes {
            for rule in &in_force {
                if numbers.below(10) == 0 {
                    judgements.push(judgement(rule, bike, "", cannot_tell("a rule that works")));
                    continue;
                }
                for key in ["", "a", "b"] {
                    match numbers.below(6) {
                        0 | 1 => {
                            judgements.push(judgement(rule, bike, key, raised(&numbers.below(9).to_string())))
                        }
                        2 => judgements.push(judgement(rule, bike, key, Verdict::Clear)),
                        3 if numbers.below(3) == 0 => {
                            judgements.push(judgement(rule, bike, key, cannot_tell("handover")));
                        }
                        _ => {}
                    }
                }
            }
        }
        let in_force = rules(&in_force);
        let asked = Asked::of(&in_force, &bikes);
        let first = lives(judgements.clone(), &asked, &kept, today);
        let open_before: BTreeSet<_> = kept
            .iter()
            .filter(|kept| kept.finding.state != State::Settled)
            .map(|kept| kept.finding.id())
            .collect();
        let spoken_of: BTreeSet<_> =
            first.open.iter().chain(&first.settled).map(super::Finding::id).collect();
        assert!(open_before.is_subset(&spoken_of), "no open finding goes without a word on {today}");
        for judged in judgements.iter().filter(|judged| matches!(judged.verdict, Verdict::Raised(_))) {
            assert!(first.open.iter().any(|finding| {
                (finding.rule.as_str(), &finding.machine, &finding.key)
                    == (&*judged.rule, &judged.machine, &judged.key)
                    && finding.no_longer_told.is_empty()
            }));
        }
        assert!(first.open.iter().all(|finding| (finding.state == State::New) == (finding.since == today)));
        assert_eq!(first.never_told, [], "each was told of on the day on which it was raised");
        kept = kept_after(&kept, &first, today);
        judgements.reverse();
        kept.reverse();
        assert_eq!(lives(judgements, &asked, &kept, today), first, "a second round on {today}");
    }
}

#[test]
fn what_can_no_longer_be_told_keeps_the_day_of_its_words() {
    let bike = machine("", "", "AB12 CDE");
    let in_force = rules(&["service-due"]);
    let asked = Asked::of(&in_force, [&bike]);
    let said = |verdict: Verdict| vec![judgement("service-due", &bike, "", verdict)];
    let mut kept = Vec::new();
    for (today, verdict, expected) in [
        ("2026-03-02", raised("due"), None),
        ("2026-03-03", cannot_tell("clock"), Some("2026-03-02")),
        // A round made twice says the same.
        ("2026-03-03", cannot_tell("clock"), Some("2026-03-02")),
        ("2026-03-05", cannot_tell("a rule that works (rules/x.rhai:1:1)"), Some("2026-03-02")),
        ("2026-03-06", raised("due"), None),
        ("2026-03-07", cannot_tell("clock"), Some("2026-03-06")),
    ] {
        let lives = lives(said(verdict), &asked, &kept, day(today));
        assert_eq!(lives.open[0].words_of, expected.map(day), "{today}");
        kept = kept_after(&kept, &lives, day(today));
    }
    // Of one that an earlier version kept so, nobody knows.
    kept[0].finding.words_of = None;
    let lives = lives(said(cannot_tell("clock")), &asked, &kept, day("2026-03-08"));
    assert_eq!(lives.open[0].words_of, None);
}
