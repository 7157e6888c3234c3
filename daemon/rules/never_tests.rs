//! Conditions that hold for some day or some figure, and so must be let through, and those that hold for none.

use std::collections::BTreeMap;

use super::RuleBook;
use super::tests::file;

/// Everything that is wrong with a rule of these constants and this `judge`, which is told of a note called `demo`.
fn wrong(constants: &str, judge: &str) -> Vec<String> {
    let rule = format!(
        "const TITLE = \"Small\";\nconst WHY = \"To try it.\";\n{constants}\nfn judge(machine) {{\n    \
         if machine.note == \"demo\" {{ return ring(`x`); }}\n{judge}\n    clear()\n}}\n\
         const EXAMPLES = [ given(\"a\", #{{ today: \"2026-03-02\", note: \"demo\" }}).expect(\"ring\") ];\n"
    );
    let (book, problems) = RuleBook::from_files(&[file("small", &rule)], "rules", &BTreeMap::new());
    problems.iter().skip(1).chain(book.notes()).map(|problem| problem.what.clone()).collect()
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
