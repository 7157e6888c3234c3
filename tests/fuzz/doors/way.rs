//! The rest of a record's way: joined, reckoned, judged by the shipped rules, told in a letter.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use jiff::civil::{Date, date};
use tickover::digest::{Form, Morning, compose};
use tickover::findings::{Finding, Raised, Section, State, Verdict};
use tickover::problem::Problem;
use tickover::reckon::{SheetOfYard, Standing, stand, stand_yard};
use tickover::round::shipped_handbook;
use tickover::rules::{RuleBook, RuleFile, SHIPPED};
use tickover::settings::Practice;
use tickover::units::DistanceUnit;
use tickover::yard::{Handbook, Identity, Machine, MachineId, Records, join};

/// The day of all these mornings.
pub(super) const TODAY: Date = date(2026, 3, 2);

/// The most findings that are put into a letter: each is drawn alike.
const FINDINGS: usize = 20;

static HANDBOOK: LazyLock<Handbook> = LazyLock::new(shipped_handbook);
static PRACTICE: LazyLock<Practice> = LazyLock::new(Practice::default);
static RULES: LazyLock<RuleBook> = LazyLock::new(|| {
    let file = |(name, text): &(&str, &str)| RuleFile {
        name: name.trim_end_matches(".rhai").to_owned(),
        text: Ok((*text).to_owned()),
    };
    let files: Vec<RuleFile> = SHIPPED.iter().map(file).collect();
    let (book, problems) = RuleBook::from_files(&files, "rules", &BTreeMap::new());
    assert!(problems.is_empty(), "a shipped rule is not in force: {problems:?}");
    book
});

/// Takes records as far as the sums of each machine, and `to_the_end` as far as the letter, in which `texts` stand as
/// they are, as telephones among other things.
pub(super) fn on_from(
    records: Records,
    unit: DistanceUnit,
    mut problems: Vec<Problem>,
    texts: &[&str],
    to_the_end: bool,
) {
    let (machines, more) = join(records, Records::default(), &HANDBOOK, unit);
    problems.extend(more);
    let stands = |machine| {
        let standing = stand(&machine, &PRACTICE, TODAY);
        (Arc::new(machine), Arc::new(standing))
    };
    let machines: Vec<(Arc<Machine>, Arc<Standing>)> = machines.into_iter().map(stands).collect();
    if !to_the_end {
        return;
    }
    let mut findings = judged(&machines);
    findings.extend(texts.iter().map(|text| {
        let raised = Raised {
            section: Section::RingToday,
            text: (*text).to_owned(),
            due: None,
            due_range: None,
            at_once: false,
        };
        finding(&Identity::default(), text, raised)
    }));
    let letter = compose(&morning(machines.len(), findings, problems));
    assert!(!letter.text.is_empty() && !letter.html.is_empty());
    assert!(!letter.subject.contains(['\r', '\n']), "a subject of two lines");
}

/// What the shipped rules find, none of which may fail.
fn judged(machines: &[(Arc<Machine>, Arc<Standing>)]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for (machine, standing) in machines {
        let judged = RULES.judge(machine, standing);
        assert!(judged.failures.is_empty(), "a shipped rule fails: {:?}", judged.failures);
        findings.extend(judged.judgements.into_iter().filter_map(|judgement| match judgement.verdict {
            Verdict::Raised(raised) => Some(finding(&machine.identity, "", raised)),
            _ => None,
        }));
    }
    let sheet = SheetOfYard { name: "any.csv".to_owned(), renewed: TODAY, open_days: 0 };
    let yard =
        stand_yard(machines.iter().map(|(machine, _)| machine.as_ref()), Vec::new(), vec![sheet], TODAY);
    let judged = RULES.judge_yard(&Arc::new(yard));
    assert!(judged.failures.is_empty(), "a shipped rule fails: {:?}", judged.failures);
    findings.truncate(FINDINGS);
    findings
}

fn finding(identity: &Identity, text: &str, raised: Raised) -> Finding {
    Finding {
        rule: "any".to_owned(),
        title: "Any".to_owned(),
        machine: MachineId::of(identity).unwrap_or_else(|| MachineId::kept("")),
        identity: identity.clone(),
        machine_name: text.to_owned(),
        customer: Some(text.to_owned()),
        telephone: Some(text.to_owned()),
        key: String::new(),
        raised,
        state: State::New,
        since: TODAY,
        no_longer_told: Vec::new(),
        words_of: None,
        caution: None,
        evidence: Vec::new(),
    }
}

fn morning(machines: usize, findings: Vec<Finding>, complaints: Vec<Problem>) -> Morning {
    Morning {
        today: TODAY,
        shop: "Fenwick Lane Motorcycles".to_owned(),
        findings,
        settled: Vec::new(),
        cannot_tell: Vec::new(),
        too_long_ago: Vec::new(),
        complaints,
        trouble: Vec::new(),
        read: Vec::new(),
        machines,
        rules: Vec::new(),
        ships: std::collections::BTreeSet::new(),
        edits: Vec::new(),
        last_told: None,
        last_letter: String::new(),
        form: Form::Whole,
        first_of_day: None,
    }
}
