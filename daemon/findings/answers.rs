//! A day's judgements by what they are about, and what they make of a finding that is not raised again.

use std::collections::{BTreeMap, BTreeSet};

use super::{Asked, FindingId, Judgement, Raised, Verdict};
use crate::origin::Evidence;
use crate::reckon::day_last_done;

/// The day's judgements by what they are about.
#[derive(Default)]
pub(super) struct Answers {
    /// What is raised, and what shows it.
    pub(super) raised: BTreeMap<FindingId, (Raised, Vec<Evidence>)>,
    /// The missing facts where a rule cannot tell.
    pub(super) missing: BTreeMap<FindingId, BTreeSet<String>>,
    /// What shows that it was done last, where a rule cannot tell whether it is due again.
    done: BTreeMap<FindingId, Evidence>,
    /// What shows that there is nothing to do.
    cleared: BTreeMap<FindingId, Vec<Evidence>>,
    /// What is too long ago to be asked for.
    pub(super) too_long_ago: BTreeSet<FindingId>,
}

/// What became of a finding that is not raised today.
pub(super) enum Fate {
    /// Nothing is left of it, and this shows so.
    Settled(Vec<Evidence>),
    /// It cannot be told, for want of these facts.
    Untold(Vec<String>),
}

impl Answers {
    pub(super) fn of(judgements: Vec<Judgement>) -> Answers {
        let mut answers = Answers::default();
        let mut raised: BTreeMap<FindingId, Vec<(Raised, Vec<Evidence>)>> = BTreeMap::new();
        for Judgement { rule, machine, key, verdict, evidence } in judgements {
            let id = FindingId { rule: rule.to_string(), machine, key };
            match verdict {
                Verdict::Raised(what) => raised.entry(id).or_default().push((what, evidence)),
                Verdict::CannotTell { missing } => {
                    if let Some(done) = evidence.into_iter().find(|shown| day_last_done(shown).is_some()) {
                        answers.done.insert(id.clone(), done);
                    }
                    answers.missing.entry(id).or_default().extend(missing);
                }
                Verdict::TooLongAgo => {
                    answers.too_long_ago.insert(id);
                }
                Verdict::Clear => answers.cleared.entry(id).or_default().extend(evidence),
            }
        }
        for shown_by in answers.cleared.values_mut() {
            shown_by.sort();
            shown_by.dedup();
        }
        for (id, mut alike) in raised {
            alike.sort_by(|left, right| urgency(left).cmp(&urgency(right)));
            alike.dedup();
            for raised in alike {
                let free = answers.free_id(&id);
                answers.raised.insert(free, raised);
            }
        }
        answers
    }

    /// The id itself, or a numbered one: a rule that gives two findings the same key loses neither.
    fn free_id(&self, id: &FindingId) -> FindingId {
        let mut free = id.clone();
        let mut count = 1;
        while self.raised.contains_key(&free) {
            count += 1;
            free.key = format!("{} ({count})", id.key).trim_start().to_owned();
        }
        free
    }

    /// What became of a finding that was raised on some evidence, and is not among the raised now.
    pub(super) fn fate(&self, id: &FindingId, raised_on: &[Evidence], asked: &Asked<'_>) -> Fate {
        let said = |words: &str| Fate::Settled(vec![Evidence::reckoned(asked.title(&id.rule), words)]);
        if let Some(words) = asked.is_over(&id.machine) {
            return said(words);
        }
        // A rule that speaks of none of the machine's things in particular speaks of all of them.
        let whole_machine = FindingId { key: String::new(), ..id.clone() };
        // What it asked for is known to be done; whether that is due again is another matter.
        let known = raised_on.iter().filter_map(day_last_done).max();
        let is_later = |done: &&Evidence| day_last_done(done).is_some_and(|day| known < Some(day));
        if let Some(done) = self.done.get(id).filter(is_later) {
            return Fate::Settled(vec![done.clone()]);
        }
        for id in [id, &whole_machine] {
            if let Some(missing) = self.missing.get(id) {
                return Fate::Untold(missing.iter().cloned().collect());
            }
        }
        // A rule that looks at the whole yard answers also for a machine that the sheets do not list any more.
        let answers = |id: &FindingId| self.too_long_ago.contains(id) || self.cleared.contains_key(id);
        if ![id, &whole_machine].into_iter().any(answers)
            && let Some(missing) = asked.not_asked(&id.rule, &id.machine)
        {
            return Fate::Untold(missing);
        }
        if !asked.has_rule(&id.rule) {
            return said("taken out of the folder of rules");
        }
        if [id, &whole_machine].iter().any(|id| self.too_long_ago.contains(id)) {
            return said("not put right, but too long ago to be asked for any more");
        }
        match self.cleared.get(id).or_else(|| self.cleared.get(&whole_machine)) {
            Some(shown_by) if !shown_by.is_empty() => Fate::Settled(shown_by.clone()),
            _ => said("asked today, and no longer finds this"),
        }
    }
}

/// What findings of one key are ordered by: all that they say, the most urgent first.
fn urgency((raised, evidence): &(Raised, Vec<Evidence>)) -> impl Ord {
    let Raised { section, text, due, due_range, at_once } = raised;
    (*section, !*at_once, due.is_none(), *due, text, *due_range, evidence)
}
