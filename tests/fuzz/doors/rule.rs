//! A rule file by any text: vetted, tried by its examples, and asked about a machine beside a rule that works.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use tickover::findings::Verdict;
use tickover::reckon::{Standing, stand};
use tickover::round::shipped_handbook;
use tickover::rules::{RuleBook, RuleFile};
use tickover::settings::{DateOrder, Limits, Practice};
use tickover::sheets::{Reader, read_bytes};
use tickover::units::DistanceUnit;
use tickover::yard::{Machine, Records, join, recognise, records};

use super::way;

/// A rule that works, to stand beside every other.
const GOOD: &str = r#"
const TITLE = "Good";
const WHY   = "It works.";
fn judge(machine) { clear() }
const EXAMPLES = [ given("any", #{ today: "2026-03-02" }).expect("clear") ];
"#;

/// A machine of which a little of everything is known.
const SHEET: &str = "Reg,Make,Model,Type,cc,Registered,Handover,Customer,Telephone,MOT expiry,Mileage,Mileage date\n\
    AB12 CDE,Marlow,Spruce,motorcycle,125,01/12/2025,01/12/2025,Ann Other,07700 900123,,412,20/02/2026\n";

static MACHINE: LazyLock<(Arc<Machine>, Arc<Standing>)> = LazyLock::new(|| {
    let read = read_bytes(SHEET.as_bytes(), "machines.csv", &Limits::default(), &Reader::Here);
    let read_as = recognise(&read.tables[0], None, DateOrder::DayFirst);
    let (rows, _) = records(&read.tables[0], &read_as, way::TODAY);
    let (machines, _) = join(rows, Records::default(), &shipped_handbook(), DistanceUnit::Miles);
    let machine = Arc::new(machines.into_iter().next().expect("the sheet has a machine"));
    let standing = Arc::new(stand(&machine, &Practice::default(), way::TODAY));
    (machine, standing)
});

/// A rule file's bytes; what is no UTF-8, or too large, is refused before it comes here.
pub(super) fn rule(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let file = |name: &str, text: &str| RuleFile { name: name.to_owned(), text: Ok(text.to_owned()) };
    let files = [file("any", text), file("good", GOOD)];
    let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
    for problem in &problems {
        assert!(!problem.to_string().is_empty());
    }
    assert!(book.rule("any").is_some() || !problems.is_empty(), "a rule is not in force, and nobody is told");
    let (machine, standing) = &*MACHINE;
    let judged = book.judge(machine, standing);
    for failure in &judged.failures {
        assert_eq!(failure.rule, "any", "a good rule fails beside it");
        assert!(!failure.problem.to_string().is_empty());
    }
    let good = judged.judgements.iter().find(|judgement| judgement.rule == "good");
    assert!(good.is_some_and(|judgement| judgement.verdict == Verdict::Clear), "a good rule is not asked");
}
