//! A rule file by any text: vetted, tried by its examples, and asked about machines and their yard beside a rule that
//! works.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use tickover::findings::Verdict;
use tickover::reckon::{SheetOfYard, Standing, WholeYard, stand, stand_yard};
use tickover::round::shipped_handbook;
use tickover::rules::{Judged, RuleBook, RuleFile};
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

/// Three machines: one of which a little of everything is known, one of another kind, one with a mark alone.
const MACHINES: &str = "Reg,Make,Model,Type,cc,Registered,Sold,Handover,Customer,Telephone,MOT expiry\n\
    AB12 CDE,Marlow,Spruce,motorcycle,125,01/12/2025,20/11/2025,01/12/2025,Ann Other,07700 900123,01/03/2026\n\
    AB13 CDE,Marlow,Wren,scooter,50,01/06/2022,,,Bob Other,,\n\
    AB14 CDE,,,,,,,,,,\n";
/// Their logs.
const LOGS: [(&str, &str); 4] = [
    (
        "mileages.csv",
        "Reg,Date,Mileage\nAB12 CDE,05/12/2025,40\nAB12 CDE,05/01/2026,220\nAB12 CDE,20/02/2026,412\nAB13 CDE,01/02/2026,9000\n",
    ),
    (
        "rides.csv",
        "Reg,Date,Miles,Top speed mph,Read from\nAB12 CDE,01/12/2025,5.2,36,GPS\nAB12 CDE,02/12/2025,6.0,62,speedo\n",
    ),
    (
        "fuel.csv",
        "date,plate,litres,pump label,brimmed,odometer\n15 Dec 2025,AB12 CDE,8.1,E10,y,60\n8 Jan 2026,AB12 CDE,9.0,E5,y,230\n",
    ),
    (
        "jobs.csv",
        "Reg,Date,Job,Mileage,Oil\nAB13 CDE,01/02/2026,annual service,9000,10W40 MA2\nAB12 CDE,05/01/2026,oil change,220,10w-30\n",
    ),
];

type Standings = Vec<(Arc<Machine>, Arc<Standing>)>;

static YARD: LazyLock<(Standings, Arc<WholeYard>)> = LazyLock::new(|| {
    let mut all = Records::default();
    for (name, text) in [("machines.csv", MACHINES)].into_iter().chain(LOGS) {
        let read = read_bytes(text.as_bytes(), name, &Limits::default(), &Reader::Here);
        let read_as = recognise(&read.tables[0], None, DateOrder::DayFirst);
        let (rows, _) = records(&read.tables[0], &read_as, way::TODAY);
        assert!(!rows.records.is_empty(), "{name} has rows");
        all.records.extend(rows.records);
    }
    let (machines, _) = join(all, Records::default(), &shipped_handbook(), DistanceUnit::Miles);
    assert_eq!(machines.len(), 3);
    let sheets = vec![SheetOfYard { name: "fuel.csv".to_owned(), renewed: way::TODAY, open_days: 5 }];
    let yard = stand_yard(machines.iter(), Vec::new(), sheets, way::TODAY);
    let stands = |machine| {
        let standing = stand(&machine, &Practice::default(), way::TODAY);
        (Arc::new(machine), Arc::new(standing))
    };
    (machines.into_iter().map(stands).collect(), Arc::new(yard))
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
    let (machines, yard) = &*YARD;
    for (machine, standing) in machines {
        let judged = book.judge(machine, standing);
        look_at(&judged);
        let good = judged.judgements.iter().find(|judgement| &*judgement.rule == "good");
        assert!(
            good.is_some_and(|judgement| judgement.verdict == Verdict::Clear),
            "a good rule is not asked"
        );
    }
    look_at(&book.judge_yard(yard));
}

/// What may fail is the odd rule alone, and in words of ours: what the language beneath says by itself is told by no
/// vetting, and helps nobody.
fn look_at(judged: &Judged) {
    for failure in &judged.failures {
        assert_eq!(failure.rule, "any", "a good rule fails beside it");
        let said = failure.problem.to_string();
        let bare =
            ["the rule stopped:", "this has no such fact", "does not work with these values", "must give"];
        assert!(!bare.iter().any(|words| said.contains(words)), "vetting has let this through: {said}");
    }
}
