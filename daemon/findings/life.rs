//! How findings live from day to day: new, open, no longer to be told, settled.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;

use super::answers::{Answers, Fate};
use super::{Asked, Finding, FindingId, Judgement, KeptFinding, State};
use crate::yard::{Identity, MachineId};

/// A rule that lacks a fact for one machine.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CannotTell {
    /// The rule's name.
    pub rule: String,
    /// The rule's title, for people.
    pub title: String,
    /// The machine's lasting name in the ledger.
    pub machine: MachineId,
    /// What the machine is known by.
    pub identity: Identity,
    /// The machine in a person's words.
    pub machine_name: String,
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
    let mut answers = Answers::of(judgements);
    let mut lives = Lives::default();
    let mut standing = standing(kept, asked, today, &mut lives.renamed);

    for (id, (raised, evidence)) in std::mem::take(&mut answers.raised) {
        let before = standing.remove(&id).filter(|before| before.state != State::Settled);
        let since = before.map_or(today, |before| before.since);
        let (machine_name, identity) = asked.named(&id.machine);
        lives.open.push(asked.dressed(
            Finding {
                title: asked.title(&id.rule).to_owned(),
                rule: id.rule,
                machine: id.machine,
                identity,
                machine_name,
                customer: None,
                telephone: None,
                key: id.key,
                raised,
                state: State::Open,
                since,
                no_longer_told: Vec::new(),
                caution: None,
                evidence,
            },
            today,
        ));
    }
    for (id, before) in standing {
        let mut finding = asked.dressed(before, today);
        match answers.fate(&id, asked) {
            Fate::Settled(evidence) => {
                lives.settled.push(Finding { state: State::Settled, evidence, ..finding });
            }
            Fate::Untold(_) if finding.state == State::Settled => lives.settled.push(finding),
            Fate::Untold(missing) => {
                finding.no_longer_told = missing;
                lives.open.push(finding);
            }
        }
    }
    lives.cannot_tell =
        answers.missing.into_iter().map(|(id, missing)| cannot_tell(id, missing, asked)).collect();
    lives.open.sort_by(|left, right| left.place().cmp(&right.place()));
    lives.settled.sort_by(|left, right| left.place().cmp(&right.place()));
    lives
}

/// The kept findings that matter today, under today's names of their machines: open ones, and those that an
/// earlier round of today settled.
fn standing(
    kept: &[KeptFinding],
    asked: &Asked<'_>,
    today: Date,
    renamed: &mut Vec<FindingId>,
) -> BTreeMap<FindingId, Finding> {
    let by_id: BTreeMap<FindingId, &KeptFinding> =
        kept.iter().map(|kept| (kept.finding.id(), kept)).collect();
    let mut standing: BTreeMap<FindingId, Finding> = BTreeMap::new();
    for (id, KeptFinding { finding, as_of }) in by_id {
        if finding.state == State::Settled && *as_of != today {
            continue;
        }
        let mut finding = Finding {
            machine: asked.name_today(&id.machine, &finding.identity),
            // A day in the future was written while the computer's date was wrong.
            since: finding.since.min(today),
            no_longer_told: Vec::new(),
            ..finding.clone()
        };
        let id_today = finding.id();
        if id_today != id {
            renamed.push(id);
        }
        // One finding under two names of its machine stands if either does, since the earlier day.
        if let Some(other) = standing.remove(&id_today) {
            let since = finding.since.min(other.since);
            if finding.state == State::Settled {
                finding = other;
            }
            finding.since = since;
        }
        standing.insert(id_today, finding);
    }
    standing
}

fn cannot_tell(id: FindingId, missing: BTreeSet<String>, asked: &Asked<'_>) -> CannotTell {
    let (machine_name, identity) = asked.named(&id.machine);
    CannotTell {
        title: asked.title(&id.rule).to_owned(),
        rule: id.rule,
        machine: id.machine,
        identity,
        machine_name,
        key: id.key,
        missing: missing.into_iter().collect(),
    }
}
