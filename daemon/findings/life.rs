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

/// A kept finding whose machine has another lasting name now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Renamed {
    /// What it was known by.
    pub from: FindingId,
    /// The machine's name today; rule and key are the same.
    pub to: MachineId,
}

/// Where all findings are in their lives today.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lives {
    /// What stands, most urgent first: new, open, and open although it can no longer be told.
    pub open: Vec<Finding>,
    /// What was told of and is settled, with the evidence that cleared it; here until a letter of an earlier day has
    /// told so.
    pub settled: Vec<Finding>,
    /// What was settled before any letter told of it: it is kept, and there is nothing to tell.
    pub never_told: Vec<Finding>,
    /// Every answer that lacked a fact, also where a finding stands because of it; by rule, machine and key.
    pub cannot_tell: Vec<CannotTell>,
    /// What is too long ago to be asked for, and nobody has put right.
    pub too_long_ago: Vec<CannotTell>,
    /// What kept findings were known by whose machine has another lasting name now; they stand above under it.
    pub renamed: Vec<Renamed>,
}

/// The findings of a day from what the rules say today and what earlier rounds left.
///
/// The result does not depend on the order of judgements, machines or kept findings. A second round of the same day
/// over the same sheets gives the same again, whether a letter of the day was accepted meanwhile or not: what is new
/// and what is over is decided by what letters of earlier days told.
pub fn lives(judgements: Vec<Judgement>, asked: &Asked<'_>, kept: &[KeptFinding], today: Date) -> Lives {
    let mut answers = Answers::of(judgements);
    let mut lives = Lives::default();
    let mut standing = standing(kept, asked, today, &mut lives.renamed);

    for (id, (raised, evidence)) in std::mem::take(&mut answers.raised) {
        // One that was settled, and is raised again before anybody was told so, has stood all along.
        let before = standing.remove(&id);
        let (machine_name, identity) = asked.named(&id.machine);
        lives.open.push(asked.dressed(Finding {
            title: asked.title(&id.rule).to_owned(),
            rule: id.rule,
            machine: id.machine,
            identity,
            machine_name,
            customer: None,
            telephone: None,
            key: id.key,
            raised,
            state: before.as_ref().map_or(State::New, |before| before.raised_on(today)),
            since: before.map_or(today, |before| before.finding.since),
            no_longer_told: Vec::new(),
            words_of: None,
            caution: None,
            evidence,
        }));
    }
    for (id, before) in standing {
        let state = before.raised_on(today);
        let settled = if before.told.is_some() { &mut lives.settled } else { &mut lives.never_told };
        let mut finding = asked.dressed(before.finding);
        match answers.fate(&id, &finding.evidence, asked) {
            Fate::Settled(evidence) => {
                settled.push(Finding { state: State::Settled, evidence, words_of: None, ..finding });
            }
            Fate::Untold(_) if finding.state == State::Settled => settled.push(finding),
            Fate::Untold(missing) => {
                (finding.state, finding.no_longer_told) = (state, missing);
                lives.open.push(finding);
            }
        }
    }
    lives.cannot_tell =
        answers.missing.into_iter().map(|(id, missing)| cannot_tell(id, missing, asked)).collect();
    let too_long_ago = std::mem::take(&mut answers.too_long_ago);
    lives.too_long_ago = too_long_ago.into_iter().map(|id| cannot_tell(id, BTreeSet::new(), asked)).collect();
    for findings in [&mut lives.open, &mut lives.settled, &mut lives.never_told] {
        findings.sort_by(|left, right| left.place().cmp(&right.place()));
    }
    lives
}

/// The kept findings that matter today, under today's names of their machines.
fn standing(
    kept: &[KeptFinding],
    asked: &Asked<'_>,
    today: Date,
    renamed: &mut Vec<Renamed>,
) -> BTreeMap<FindingId, KeptFinding> {
    let by_id: BTreeMap<FindingId, &KeptFinding> =
        kept.iter().map(|kept| (kept.finding.id(), kept)).collect();
    let mut standing: BTreeMap<FindingId, KeptFinding> = BTreeMap::new();
    for (id, kept) in by_id.into_iter().filter(|(_, kept)| kept.matters_on(today)) {
        let mut kept = kept.clone();
        kept.finding.machine = asked.name_today(&id.machine, &kept.finding.identity);
        // A day in the future was written while the PC's date was wrong.
        kept.finding.since = kept.finding.since.min(today);
        kept.finding.words_of = words_of(&kept).map(|day| day.min(today));
        kept.finding.no_longer_told.clear();
        let id_today = kept.finding.id();
        if id_today != id {
            renamed.push(Renamed { from: id, to: id_today.machine.clone() });
        }
        let kept = match standing.remove(&id_today) {
            Some(other) => one_of(other, kept),
            None => kept,
        };
        standing.insert(id_today, kept);
    }
    standing
}

/// The day of a kept finding's words: that of the round that kept it, unless that one could not raise it either.
fn words_of(kept: &KeptFinding) -> Option<Date> {
    let was_raised = kept.finding.no_longer_told.is_empty();
    kept.finding.words_of.or(Some(kept.as_of).filter(|_| was_raised))
}

/// One finding under two names of its machine stands if either does, since the earlier day, and was told of if
/// either was.
fn one_of(one: KeptFinding, other: KeptFinding) -> KeptFinding {
    let since = one.finding.since.min(other.finding.since);
    let told = one.told.into_iter().chain(other.told).min();
    let mut stands = if other.finding.state == State::Settled { one } else { other };
    stands.finding.since = since;
    stands.told = told;
    stands
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
