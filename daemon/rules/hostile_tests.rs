//! Scripts that mean harm, or grow without end: each is refused or stopped, quickly, and hurts only its own rule.

use std::collections::BTreeMap;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use super::tests::{file, machine};
use super::{Rule, RuleBook, time_allowed};
use crate::findings::Verdict;
use scripts::{rule, scripts, tree_of_calls};

#[path = "../../tests/it/hostile_scripts.rs"]
mod scripts;

/// The longest that reading and trying one hostile file may take.
const QUICK: Duration = Duration::from_secs(1);

/// A rule that works, to stand beside every hostile one.
const GOOD: &str = r#"
const TITLE = "Good";
const WHY   = "It works.";
fn judge(machine) { clear() }
const EXAMPLES = [ given("any", #{ today: "2026-03-02" }).expect("clear") ];
"#;

/// How long this thread has been at work: on a PC with much else to do, most of the time on the wall is waiting.
fn at_work() -> Duration {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    // Its first figure is the time on the processor in nanoseconds (Linux, `Documentation/scheduler/sched-stats.rst`).
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds =
        told.as_deref().and_then(|told| told.split(' ').next()).and_then(|first| first.parse().ok());
    nanoseconds.map_or_else(|| START.elapsed(), Duration::from_nanos)
}

#[test]
fn a_hostile_script_is_stopped_within_a_second_and_hurts_only_its_own_rule() {
    let scripts = scripts();
    assert!(scripts.len() >= 110, "only {} scripts", scripts.len());
    for (what, text) in scripts {
        let files = [file("bad", &text), file("good", GOOD)];
        let began = at_work();
        let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
        let took = at_work() - began;
        assert!(took < QUICK, "{what} took {took:?}");
        let in_force: Vec<&str> = book.rules().map(|rule| &*rule.name).collect();
        assert_eq!(in_force, ["good"], "{what} got into force");
        assert!(
            problems.iter().all(|problem| problem.place.file == "rules/bad.rhai"),
            "{what}: {problems:?}"
        );
    }
    assert!(at_work() > Duration::ZERO, "nobody told how long it took");
}

#[test]
fn a_rule_that_runs_wild_on_one_machine_is_stopped_there_and_hurts_nothing_else() {
    let wild = rule(&tree_of_calls(), "if machine.has.sold { a0(); }");
    let (book, problems) =
        RuleBook::from_files(&[file("bad", &wild), file("good", GOOD)], "rules", &BTreeMap::new());
    assert_eq!(problems, []);
    let (machine, standing) = machine("today: \"2026-03-02\", sold: \"2026-02-02\"");
    let began = Instant::now();
    let judged = book.judge(&machine, &standing);
    assert!(began.elapsed() < QUICK, "{:?}", began.elapsed());
    let whats: Vec<&str> = judged.failures.iter().map(|failure| failure.problem.what.as_str()).collect();
    assert_eq!(whats, ["the rule takes too long"]);
    let verdicts: Vec<&Verdict> = judged.judgements.iter().map(|judgement| &judgement.verdict).collect();
    assert!(matches!(verdicts[..], [Verdict::CannotTell { .. }, Verdict::Clear]), "{verdicts:?}");
}

#[test]
fn examples_are_not_tried_once_the_time_of_their_file_is_used_up() {
    let read = || Rule::read_and_tried("good", "rules/good.rhai".to_owned(), GOOD, Vec::new());
    assert_eq!(read().map(|(rule, _)| rule.name).ok(), Some("good".into()));
    let problems = time_allowed::with_none_left(read).err().unwrap();
    let said: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let expected = "error: the examples take too long: 0 of 1 were tried in the time that a file has\n  \
                    --> rules/good.rhai:5:20\n";
    assert!(said.len() == 1 && said[0].starts_with(expected), "{said:?}");
}
