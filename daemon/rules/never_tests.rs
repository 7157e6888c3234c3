//! Conditions that hold for some day or some figure, and so must be let through, and those that hold for none.

use std::collections::BTreeMap;

use super::RuleBook;
use super::tests::file;
use crate::problem::Problem;

/// Everything that is wrong with a rule of these constants and this `judge`.
fn wrong(constants: &str, judge: &str) -> Vec<String> {
    let (book, problems) = of_rule(constants, judge);
    problems.iter().skip(1).chain(book.notes()).map(|problem| problem.what.clone()).collect()
}

/// The book of a rule of these constants and this `judge`, which rings for a note called `demo`, and what is wrong with it.
fn of_rule(constants: &str, judge: &str) -> (RuleBook, Vec<Problem>) {
    let rule = format!(
        "const TITLE = \"Small\";\nconst WHY = \"To try it.\";\n{constants}\nfn judge(machine) {{\n    \
         if machine.note == \"demo\" {{ return ring(`x`); }}\n{judge}\n    clear()\n}}\n\
         const EXAMPLES = [ given(\"a\", #{{ today: \"2026-03-02\", note: \"demo\" }}).expect(\"ring\") ];\n"
    );
    RuleBook::from_files(&[file("small", &rule)], "rules", &BTreeMap::new())
}

/// What is wrong with a condition of an `if`.
fn wrong_in(condition: &str) -> Vec<String> {
    wrong("", &format!("    if {condition} {{ return bench(`y`); }}"))
}

// By the calendar: between the day a month after another and that two months after it lie 27 days at least.
#[test]
fn the_days_between_two_counts_of_months_are_some() {
    for condition in [
        "machine.today > machine.handover + 11.months and machine.today < machine.handover + 12.months",
        "machine.today > machine.handover + 11.months and machine.today < machine.handover + 1.year",
        "machine.registered + 35.months < machine.today and machine.today < machine.registered + 3.years",
        "machine.mot_expiry - 13.months < machine.today and machine.today < machine.mot_expiry - 1.year",
        "machine.handover < machine.today - 11.months and machine.handover > machine.today - 1.year",
        "(machine.today <= machine.handover + 11.months or machine.today >= machine.handover + 1.year)",
        "not (machine.today <= machine.handover + 11.months or machine.today >= machine.handover + 1.year)",
    ] {
        assert_eq!(wrong_in(condition), Vec::<String>::new(), "{condition}");
    }
    let limits = "const FROM = 11.months;\nconst TO = 1.year;";
    for judge in [
        "let late = machine.handover + FROM;\n if machine.today > late and machine.today < machine.handover + TO \
         { return bench(`y`); }",
        "if machine.today > machine.handover + FROM { if machine.today < machine.handover + TO \
         { return bench(`y`); } }",
        "if machine.today <= machine.handover + FROM { return bench(`y`); } \
         else if machine.today < machine.handover + TO { return ring(`z`); }",
    ] {
        assert_eq!(wrong(limits, judge), Vec::<String>::new(), "{judge}");
    }
}

#[test]
fn what_no_count_of_months_is_between_is_still_told() {
    for condition in [
        "machine.today > machine.handover + 12.months and machine.today < machine.handover + 1.year",
        "machine.today >= machine.handover + 12.months and machine.today < machine.handover + 1.year",
        "machine.today > machine.handover + 1.year and machine.today < machine.handover + 11.months",
        "machine.today == machine.handover + 1.year and machine.today != machine.handover + 12.months",
    ] {
        let told = wrong_in(condition);
        assert_eq!(told, ["`machine.today` cannot be both at once, so this never holds"], "{condition}");
    }
}

#[test]
fn a_day_or_a_distance_in_time_that_never_is_is_told() {
    let apart = "no two days of a machine lie as far apart as that";
    let read_later = "no reading counts that is later than today";
    for (condition, expected) in [
        ("machine.today > machine.handover + 36_500.days", apart),
        ("machine.today > machine.handover + 100.years", apart),
        ("machine.today >= machine.sold + 100.years", apart),
        ("machine.today - machine.handover > 40_000.days", apart),
        ("machine.today - machine.built > 55_000.days", apart),
        ("machine.today > date(\"2100-01-01\")", "that day lies too far ahead to be meant"),
        ("machine.clock_day > machine.today", read_later),
        ("machine.stands_until > machine.today", read_later),
        ("machine.today < machine.clock_day", read_later),
        ("machine.clock_day - machine.today > 3.days", read_later),
    ] {
        assert_eq!(wrong_in(condition), [expected], "{condition}");
    }
    for condition in [
        "machine.today > machine.handover + 99.years",
        "machine.today - machine.handover > 36_000.days",
        // A machine of 1885 could be 141 years old in 2026.
        "machine.today - machine.built > 51_000.days",
        "machine.today > machine.registered + 141.years",
        "machine.clock_day <= machine.today and machine.has.mark",
        "machine.clock_day >= machine.today",
        "machine.clock_day > machine.today - 14.days",
        "machine.stands_until == machine.today",
        "machine.mot_expiry > machine.today",
        "machine.handover > machine.today + 3.days",
    ] {
        assert_eq!(wrong_in(condition), Vec::<String>::new(), "{condition}");
    }
}

/// How many of the things that are said of a rule of these constants and this `judge` keep it out of force, and how many
/// are only noted.
fn told_and_noted(constants: &str, judge: &str) -> (Vec<String>, Vec<String>) {
    let (book, problems) = of_rule(constants, judge);
    let whats = |problems: &[Problem]| problems.iter().map(|problem| problem.what.clone()).collect();
    (whats(&problems), whats(book.notes()))
}

// Our decision: whoever sets a limit with a name to nought switches off what it decides, and whoever looks back a hundred
// years means for ever.
#[test]
fn a_limit_with_a_name_that_is_nought_or_for_ever_is_noted_and_holds_no_rule_back() {
    let ahead = "const AHEAD = 0.days;";
    for (constants, judge, noted) in [
        (
            ahead,
            "if machine.handover > machine.today { if machine.handover <= machine.today + AHEAD { return bench(`y`); } }",
            "`machine.handover` cannot be this where line 6 holds, so this never holds",
        ),
        (
            ahead,
            "let end = machine.today + AHEAD;\n\
             if machine.handover > machine.today and machine.handover <= end { return bench(`y`); }",
            "`machine.handover` cannot be both at once, so this never holds",
        ),
        (
            "const NEAR = 0.miles;",
            "if machine.clock < NEAR { return bench(`y`); }",
            "`machine.clock` is never below nought, so this never holds",
        ),
        (
            "const LOOK_BACK = 100.years;",
            "if machine.handover < machine.today - LOOK_BACK { return too_long_ago(); }",
            "no two days of a machine lie as far apart as that",
        ),
    ] {
        let expected = (Vec::new(), vec![noted.to_owned()]);
        assert_eq!(told_and_noted(constants, judge), expected, "{constants} {judge}");
    }
    for (constants, judge) in [
        (
            "const LOW = 9.miles;",
            "if machine.clock > LOW { if machine.clock < 9.miles { return bench(`y`); } }",
        ),
        ("const LOW = -1.miles;", "if machine.clock < LOW { return bench(`y`); }"),
        ("const FAR = 900_000.miles;", "if machine.clock > FAR { return bench(`y`); }"),
    ] {
        let (told, noted) = told_and_noted(constants, judge);
        assert_eq!((told.len(), noted), (2, Vec::new()), "{constants} {judge}: {told:?}");
    }
}
