//! How findings live from day to day: new, open, no longer to be told, settled.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::{Finding, FindingId, Judgement, KeptFinding, Raised, State, Verdict};
use crate::origin::Evidence;
use crate::yard::{Identity, Machine, MachineId};

/// The fact that is missing when a finding's machine stands in no sheet any more.
pub const MACHINE_GONE: &str = "the machine in the sheets";
/// The fact that is missing when a finding's rule is not in force.
pub const RULE_GONE: &str = "the rule in force";
/// The fact that is missing when a finding's rule failed on its machine.
pub const RULE_FAILED: &str = "the rule's answer, since it failed on this machine";

/// What a rule in force adds to each of its findings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleWords {
    /// Its title, for headings.
    pub title: String,
    /// The caution that goes with its findings, where they touch brakes, tyres, steering, fuel or roadworthiness.
    pub caution: Option<String>,
}

/// What today's round asked: each rule in force of each machine, whether it applied or not, but for failures.
#[derive(Debug, Clone)]
pub struct Asked<'a> {
    /// The rules in force, by name.
    pub rules: &'a BTreeMap<String, RuleWords>,
    /// The machines in the sheets.
    pub machines: Vec<&'a Machine>,
    /// The rules that failed on a machine, so that there is no answer.
    pub failed: &'a BTreeSet<(String, MachineId)>,
}

/// A rule that lacks a fact for one machine.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct CannotTell {
    /// The rule's name.
    pub rule: String,
    /// The machine's lasting name in the ledger.
    pub machine: MachineId,
    /// Which of the machine's things it is about; empty where there is one.
    pub key: String,
    /// The missing facts in the trade's words, each once, in the order of the alphabet.
    pub missing: Vec<String>,
}

/// Where all findings are in their lives today.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lives {
    /// What stands, most urgent first: new, open, and open although it can no longer be told.
    pub open: Vec<Finding>,
    /// What was settled today, with the evidence that cleared it.
    pub settled: Vec<Finding>,
    /// Every answer that lacked a fact, also where a finding stands because of it; by rule, machine and key.
    pub cannot_tell: Vec<CannotTell>,
    /// What kept findings were known by whose machine has another lasting name now; they stand above under it.
    pub renamed: Vec<FindingId>,
}

/// The findings of a day from what the rules say today and what earlier rounds left.
///
/// The result does not depend on the order of judgements, machines or kept findings, and a second round of the
/// same day over the same sheets gives the same again.
pub fn lives(judgements: Vec<Judgement>, asked: &Asked<'_>, kept: &[KeptFinding], today: Date) -> Lives {
    let machines: BTreeMap<&MachineId, &Machine> =
        asked.machines.iter().map(|machine| (&machine.id, *machine)).collect();
    let dresser = Dresser { rules: asked.rules, machines: &machines };
    let mut answers = Answers::of(judgements);
    let mut lives = Lives::default();
    let mut standing = unsettled(kept, &machines, today, &mut lives.renamed);

    for (id, (raised, evidence)) in std::mem::take(&mut answers.raised) {
        let open_since =
            standing.remove(&id).filter(|kept| kept.state != State::Settled).map(|kept| kept.since);
        // A day in the future was written by a clock that was wrong once.
        let since = open_since.map_or(today, |since| since.min(today));
        lives.open.push(dresser.dressed(id, raised, since, today, evidence));
    }
    for (id, kept) in standing {
        let settled_before = kept.state == State::Settled;
        let mut finding =
            Finding { since: kept.since.min(today), ..dresser.redressed(kept, &id.machine, today) };
        match answers.fate(&id, asked, &machines) {
            Fate::Settled(evidence) => {
                lives.settled.push(Finding {
                    state: State::Settled,
                    evidence,
                    no_longer_told: vec![],
                    ..finding
                });
            }
            Fate::Untold(_) if settled_before => lives.settled.push(finding),
            Fate::Untold(missing) => {
                finding.no_longer_told = missing;
                lives.open.push(finding);
            }
        }
    }
    lives.cannot_tell = answers.cannot_tell();
    lives.open.sort_by(|left, right| left.place().cmp(&right.place()));
    lives.settled.sort_by(|left, right| left.place().cmp(&right.place()));
    lives
}

/// The kept findings that matter today, under today's names of their machines: open ones, and those that an
/// earlier round of today settled.
fn unsettled(
    kept: &[KeptFinding],
    machines: &BTreeMap<&MachineId, &Machine>,
    today: Date,
    renamed: &mut Vec<FindingId>,
) -> BTreeMap<FindingId, Finding> {
    let mut standing: BTreeMap<FindingId, Finding> = BTreeMap::new();
    for KeptFinding { finding, as_of } in kept {
        if finding.state == State::Settled && *as_of != today {
            continue;
        }
        let mut id = finding.id();
        if !machines.contains_key(&id.machine)
            && let Some(machine) = known_otherwise(&finding.identity, machines)
        {
            renamed
                .push(std::mem::replace(&mut id, FindingId { machine: machine.id.clone(), ..finding.id() }));
        }
        match standing.get_mut(&id) {
            // The same finding under two names of one machine: it stands if either does, since the earlier day.
            Some(other) => {
                let since = other.since.min(finding.since);
                if other.state == State::Settled {
                    *other = finding.clone();
                }
                other.since = since;
            }
            None => {
                standing.insert(id, finding.clone());
            }
        }
    }
    renamed.sort();
    standing
}

/// The one machine that shares a mark, frame or stock number with a machine that is gone and differs in none.
///
/// So a finding stays with its machine when the sheets begin to give a frame number, or cease to.
fn known_otherwise<'a>(gone: &Identity, machines: &BTreeMap<&MachineId, &'a Machine>) -> Option<&'a Machine> {
    let mut alike = machines.values().filter(|machine| is_alike(gone, &machine.identity));
    match (alike.next(), alike.next()) {
        (Some(machine), None) => Some(machine),
        _ => None,
    }
}

/// Whether two rows of names share one and differ in none that both have.
fn is_alike(one: &Identity, other: &Identity) -> bool {
    fn agree<T: PartialEq>(
        one: Option<&crate::origin::Entry<T>>,
        other: Option<&crate::origin::Entry<T>>,
    ) -> Option<bool> {
        Some(one?.value == other?.value)
    }
    let agreed = [
        agree(one.frame_no.as_ref(), other.frame_no.as_ref()),
        agree(one.stock_no.as_ref(), other.stock_no.as_ref()),
        agree(one.mark.as_ref(), other.mark.as_ref()),
    ];
    agreed.contains(&Some(true)) && !agreed.contains(&Some(false))
}

/// What became of a finding that is not raised today.
enum Fate {
    /// Nothing is left of it, and this shows so.
    Settled(Vec<Evidence>),
    /// It cannot be told, for want of these facts.
    Untold(Vec<String>),
}

/// The day's judgements by what they are about.
#[derive(Default)]
struct Answers {
    raised: BTreeMap<FindingId, (Raised, Vec<Evidence>)>,
    cleared: BTreeMap<FindingId, Vec<Evidence>>,
    missing: BTreeMap<FindingId, BTreeSet<String>>,
}

impl Answers {
    fn of(judgements: Vec<Judgement>) -> Answers {
        let mut answers = Answers::default();
        let mut raised: BTreeMap<FindingId, Vec<(Raised, Vec<Evidence>)>> = BTreeMap::new();
        for Judgement { rule, machine, key, verdict, evidence } in judgements {
            let id = FindingId { rule, machine, key };
            match verdict {
                Verdict::Raised(what) => raised.entry(id).or_default().push((what, evidence)),
                Verdict::CannotTell { missing } => answers.missing.entry(id).or_default().extend(missing),
                Verdict::Clear => {
                    let shown_by = answers.cleared.entry(id).or_default();
                    shown_by.extend(evidence);
                    shown_by.sort();
                    shown_by.dedup();
                }
            }
        }
        for (id, mut alike) in raised {
            // A rule that gives two findings the same key loses neither: the later ones are numbered.
            alike.sort_by(|(left, left_shown), (right, right_shown)| {
                let place = |raised: &Raised| (raised.section, raised.due.is_none(), raised.due);
                (place(left), &left.text, left.due_range, left_shown).cmp(&(
                    place(right),
                    &right.text,
                    right.due_range,
                    right_shown,
                ))
            });
            alike.dedup();
            for (count, raised) in alike.into_iter().enumerate() {
                let key = if count == 0 { id.key.clone() } else { format!("{} ({})", id.key, count + 1) };
                answers.raised.insert(FindingId { key: key.trim().to_owned(), ..id.clone() }, raised);
            }
        }
        answers
    }

    fn fate(&self, id: &FindingId, asked: &Asked<'_>, machines: &BTreeMap<&MachineId, &Machine>) -> Fate {
        let untold = |missing: &str| Fate::Untold(vec![missing.to_owned()]);
        if let Some(missing) = self.missing.get(id) {
            return Fate::Untold(missing.iter().cloned().collect());
        }
        if let Some(evidence) = self.cleared.get(id) {
            return Fate::Settled(evidence.clone());
        }
        let Some(words) = asked.rules.get(&id.rule) else { return untold(RULE_GONE) };
        if !machines.contains_key(&id.machine) {
            return untold(MACHINE_GONE);
        }
        if asked.failed.contains(&(id.rule.clone(), id.machine.clone())) {
            return untold(RULE_FAILED);
        }
        // A missing fact may be the very thing that hid the finding, whatever key it stands under.
        let missing: BTreeSet<&String> = self
            .missing
            .iter()
            .filter(|(other, _)| other.rule == id.rule && other.machine == id.machine)
            .flat_map(|(_, missing)| missing)
            .collect();
        if !missing.is_empty() {
            return Fate::Untold(missing.into_iter().cloned().collect());
        }
        let of_the_machine = FindingId { key: String::new(), ..id.clone() };
        Fate::Settled(self.cleared.get(&of_the_machine).cloned().unwrap_or_else(|| {
            vec![Evidence::reckoned(&words.title, "asked today, and no longer finds this")]
        }))
    }

    fn cannot_tell(self) -> Vec<CannotTell> {
        let listed = |(id, missing): (FindingId, BTreeSet<String>)| CannotTell {
            rule: id.rule,
            machine: id.machine,
            key: id.key,
            missing: missing.into_iter().collect(),
        };
        self.missing.into_iter().map(listed).collect()
    }
}

/// Gives findings what the letter says of their rule and machine.
struct Dresser<'a> {
    rules: &'a BTreeMap<String, RuleWords>,
    machines: &'a BTreeMap<&'a MachineId, &'a Machine>,
}

impl Dresser<'_> {
    /// A finding that is raised today.
    fn dressed(
        &self,
        id: FindingId,
        raised: Raised,
        since: Date,
        today: Date,
        evidence: Vec<Evidence>,
    ) -> Finding {
        let bare = Finding {
            title: id.rule.clone(),
            machine_name: id.machine.as_str().to_owned(),
            rule: id.rule,
            machine: id.machine.clone(),
            identity: Identity::default(),
            customer: None,
            telephone: None,
            key: id.key,
            raised,
            state: State::Open,
            since,
            no_longer_told: Vec::new(),
            caution: None,
            evidence,
        };
        self.redressed(bare, &id.machine, today)
    }

    /// The same finding with today's words of its rule and machine; what is gone leaves what was kept.
    fn redressed(&self, mut finding: Finding, machine: &MachineId, today: Date) -> Finding {
        if finding.state != State::Settled {
            finding.state = if finding.since >= today { State::New } else { State::Open };
        }
        finding.no_longer_told.clear();
        finding.machine = machine.clone();
        if let Some(words) = self.rules.get(&finding.rule) {
            finding.title.clone_from(&words.title);
            finding.caution.clone_from(&words.caution);
        }
        if let Some(machine) = self.machines.get(machine) {
            let text = |entry: &Option<crate::origin::Entry<String>>| {
                entry.as_ref().map(|entry| entry.value.clone())
            };
            finding.identity = machine.identity.clone();
            finding.machine_name = machine.name();
            finding.customer = text(&machine.row.customer);
            finding.telephone = text(&machine.row.telephone);
        }
        finding
    }
}
