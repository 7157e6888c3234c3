//! What is known of the values on the ways to a place in a rule: each way is one answer to every question so far.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::plausible;

/// The most ways that are told apart; where there are more, only what all have in common is kept.
const WAYS: usize = 24;
/// The most values of one way; what is asked of more is not kept.
const VALUES: usize = 48;

/// What a value can still be.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Left {
    /// A figure between these two, both included, in the smallest step of its unit.
    Figure(i64, i64),
    /// This very word.
    Word(Rc<str>),
    /// Any word but these.
    OtherWord(Vec<Rc<str>>),
}

impl Left {
    /// Yes or no.
    pub(super) fn yes_or_no(yes: bool) -> Left {
        let figure = i64::from(yes);
        Left::Figure(figure, figure)
    }

    /// What is left where both hold; `None` where nothing is.
    fn and(&self, other: &Left) -> Option<Left> {
        match (self, other) {
            (Left::Figure(low, high), Left::Figure(other_low, other_high)) => {
                let (low, high) = (*low.max(other_low), *high.min(other_high));
                (low <= high).then_some(Left::Figure(low, high))
            }
            (Left::Word(one), Left::Word(other)) => (one == other).then(|| self.clone()),
            (Left::Word(word), Left::OtherWord(others)) | (Left::OtherWord(others), Left::Word(word)) => {
                (!others.contains(word)).then(|| Left::Word(Rc::clone(word)))
            }
            (Left::OtherWord(one), Left::OtherWord(other)) => {
                let more = other.iter().filter(|word| !one.contains(word));
                Some(Left::OtherWord(one.iter().chain(more).cloned().collect()))
            }
            // Two sorts of value are told of elsewhere.
            _ => Some(self.clone()),
        }
    }

    /// What is left where either may hold; `None` where that says nothing.
    fn or(&self, other: &Left) -> Option<Left> {
        match (self, other) {
            (Left::Figure(low, high), Left::Figure(other_low, other_high)) => {
                Some(Left::Figure(*low.min(other_low), *high.max(other_high)))
            }
            _ => (self == other).then(|| self.clone()),
        }
    }
}

/// One question of a condition: of which value, what it is where the answer is yes, and where it is no.
pub(super) struct Question {
    /// The value, as the same value is always written.
    pub(super) of: Rc<str>,
    /// What the value can be, where it is so.
    pub(super) yes: Vec<Left>,
    /// What it can be, where it is not.
    pub(super) no: Vec<Left>,
    /// The facts that must be known for any answer, each as `has` asks for it.
    pub(super) needs: Vec<Rc<str>>,
}

/// What is known on one way.
type Way = BTreeMap<Rc<str>, Left>;

/// All ways to a place; where there is none, it is never reached.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ways(Vec<Way>);

impl Ways {
    /// Where a function begins: nothing has been asked.
    pub(super) fn at_the_start() -> Ways {
        Ways(vec![Way::new()])
    }

    /// None at all.
    pub(super) fn none() -> Ways {
        Ways(Vec::new())
    }

    /// Whether there is none.
    pub(super) fn are_none(&self) -> bool {
        self.0.is_empty()
    }

    /// The ways on which a question has this answer.
    pub(super) fn answering(&self, question: &Question, yes: bool) -> Ways {
        let answers = if yes { &question.yes } else { &question.no };
        let known = Left::yes_or_no(true);
        let mut ways = Ways::none();
        for way in &self.0 {
            let mut way = way.clone();
            if question.needs.iter().all(|need| narrow(&mut way, need, &known)) {
                for answer in answers {
                    let mut way = way.clone();
                    if narrow(&mut way, &question.of, answer) {
                        ways.add(way);
                    }
                }
            }
        }
        ways.few()
    }

    /// These ways and those.
    pub(super) fn or(mut self, others: Ways) -> Ways {
        others.0.into_iter().for_each(|way| self.add(way));
        self.few()
    }

    /// Adds a way, unless one is there that leaves all that it leaves.
    fn add(&mut self, way: Way) {
        let leaves_as_much = |wide: &Way, narrow: &Way| {
            wide.iter()
                .all(|(of, left)| narrow.get(of).is_some_and(|other| left.and(other).as_ref() == Some(other)))
        };
        if !self.0.iter().any(|known| leaves_as_much(known, &way)) {
            self.0.retain(|known| !leaves_as_much(&way, known));
            self.0.push(way);
        }
    }

    /// Not too many of them: else one, of what they have in common.
    fn few(self) -> Ways {
        if self.0.len() <= WAYS {
            return self;
        }
        let common = self.0.into_iter().reduce(|one, other| {
            let both = one.iter().filter_map(|(of, left)| Some((Rc::clone(of), left.or(other.get(of)?)?)));
            both.collect()
        });
        Ways(common.into_iter().collect())
    }
}

/// Takes in what is learnt of a value; whether anything is left of it.
fn narrow(way: &mut Way, of: &Rc<str>, learnt: &Left) -> bool {
    let before = way.get(of).cloned().or_else(|| plausible::at_first(of));
    let left = match before {
        Some(before) => before.and(learnt),
        None => Some(learnt.clone()),
    };
    let Some(left) = left.filter(|left| !plausible::is_no_word_left(of, left)) else { return false };
    if way.len() < VALUES || way.contains_key(of) {
        way.insert(Rc::clone(of), left);
    }
    true
}
