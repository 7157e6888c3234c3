//! A machine and its things as a rule holds them, and the witness that notes which facts a rule looked at.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rhai::{Dynamic, Engine, EvalAltResult, ImmutableString, Position};

use super::facts::{self, Fact, Found, Known, Lack};
use super::part::Part;
use super::quantity::{Given, misuse};
use super::sort_of_value::Kind;
use super::value::{Shown, Value};
use crate::origin::Evidence;
use crate::reckon::{Missing, Standing, WholeYard};
use crate::yard::Machine;

/// What a rule is asked about.
#[derive(Clone)]
pub(super) enum About {
    /// One machine: what the sheets say of it, and what was reckoned.
    Machine(Arc<Machine>, Arc<Standing>),
    /// The whole yard.
    Yard(Arc<WholeYard>),
}

impl About {
    /// What a rule about it has in its hand first.
    pub(super) fn kind(&self) -> Kind {
        match self {
            About::Machine(..) => Kind::Machine,
            About::Yard(_) => Kind::Yard,
        }
    }
}

impl About {
    /// Whether two say the same. How a machine stands follows from its facts and the day.
    pub(super) fn is_same(&self, other: &About) -> bool {
        match (self, other) {
            (About::Machine(one, standing), About::Machine(other, others)) => {
                one == other && standing.today == others.today
            }
            (About::Yard(one), About::Yard(other)) => one == other,
            _ => false,
        }
    }
}

/// What a rule is asked about on one day, with the note of what it looked at.
pub(super) struct Subject {
    about: About,
    witness: Mutex<Witness>,
}

/// What the rule under way looked at, and looked for in vain.
#[derive(Default)]
struct Witness {
    judging: bool,
    seen: Vec<Evidence>,
    lacking: Vec<String>,
}

impl Subject {
    /// A machine or the yard, ready to be judged.
    pub(super) fn new(about: About) -> Arc<Subject> {
        Arc::new(Subject { about, witness: Mutex::default() })
    }

    /// The whole of it, as a rule's first parameter.
    pub(super) fn in_hand(self: &Arc<Subject>) -> Thing {
        self.thing(self.about.kind(), 0)
    }

    /// One of its things, as a rule's second parameter.
    pub(super) fn thing(self: &Arc<Subject>, kind: Kind, place: usize) -> Thing {
        Thing { subject: Arc::clone(self), kind, place }
    }

    /// The whole of it.
    pub(super) fn whole(&self) -> Part<'_> {
        Part { about: &self.about, kind: self.about.kind(), place: 0 }
    }

    /// Begins to ask whether a rule applies, and to what: facts that are not known are noted.
    pub(super) fn begin_asking(&self) {
        *self.witness() = Witness::default();
    }

    /// Begins a judgement of something that this shows: facts that are known are noted.
    pub(super) fn begin_judging(&self, shown_by: &[Evidence]) {
        *self.witness() = Witness { judging: true, ..Witness::default() };
        self.note(&Known { value: Value::Nothing, shown_by: Shown::Sum(shown_by) });
    }

    /// The facts seen since the judgement began, and those that were asked for in vain since the asking began: each
    /// once, in the order in which they were looked at or for, the latter in the trade's words.
    pub(super) fn noted(&self) -> (Vec<Evidence>, Vec<String>) {
        let witness = std::mem::take(&mut *self.witness());
        (witness.seen, witness.lacking)
    }

    /// Notes what a fact rests on.
    fn note(&self, known: &Known<'_>) {
        let mut witness = self.witness();
        if witness.judging {
            known.shown_by.each(&known.value, |evidence| {
                if !witness.seen.contains(&*evidence) {
                    witness.seen.push(evidence.into_owned());
                }
            });
        }
    }

    /// Notes what was asked for and is not known.
    fn note_lacking(&self, lack: &Lack<'_>) {
        let mut witness = self.witness();
        if !witness.judging {
            for fact in lack.missing().0 {
                if !witness.lacking.contains(&fact) {
                    witness.lacking.push(fact);
                }
            }
        }
    }

    fn witness(&self) -> MutexGuard<'_, Witness> {
        self.witness.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// A machine, or one of its things, in a rule's hand. A clone costs one count.
#[derive(Clone)]
pub(super) struct Thing {
    /// The machine.
    pub(super) subject: Arc<Subject>,
    /// Which of its things.
    pub(super) kind: Kind,
    /// The place among things of that kind; 0 for the machine itself.
    pub(super) place: usize,
}

/// `machine.has`: whether a fact is known.
#[derive(Clone)]
pub(super) struct HasView(Thing);

/// `machine.maybe`: a fact, or nothing where it is not known.
#[derive(Clone)]
pub(super) struct MaybeView(Thing);

impl Thing {
    /// What is in the hand.
    pub(super) fn part(&self) -> Part<'_> {
        Part { about: &self.subject.about, kind: self.kind, place: self.place }
    }

    /// Notes what shows a fact, and gives its value to the language; stops the rule where it is missing.
    pub(super) fn answered(&self, found: Found<'_>) -> Given<Dynamic> {
        match found {
            Ok(known) => {
                self.subject.note(&known);
                Ok(self.in_language(known.value))
            }
            Err(lack) => missing(lack.missing()),
        }
    }

    /// A value as the language has it; things come with the machine that they are of.
    fn in_language(&self, value: Value<'_>) -> Dynamic {
        let thing = |kind, place| Dynamic::from(Thing { subject: Arc::clone(&self.subject), kind, place });
        match value {
            Value::Nothing => Dynamic::UNIT,
            Value::YesNo(yes) => yes.into(),
            Value::Whole(number) => number.into(),
            Value::Text(text) => text.into_owned().into(),
            Value::Day(day) => Dynamic::from(day),
            Value::Days(days) => Dynamic::from(days),
            Value::Months(months) => Dynamic::from(months),
            Value::Length(length) => Dynamic::from(length),
            Value::Pace(pace) => Dynamic::from(pace),
            Value::Volume(volume) => Dynamic::from(volume),
            Value::Thing(kind, place) => thing(kind, place),
            Value::List(kind, places) => {
                Dynamic::from_array(places.into_iter().map(|place| thing(kind, place)).collect())
            }
            Value::Answer(answer) => Dynamic::from(answer),
        }
    }
}

/// Stops the rule because a fact is missing: its verdict is then that it cannot tell.
pub(super) fn missing<T>(missing: Missing) -> Given<T> {
    Err(Box::new(EvalAltResult::ErrorRuntime(Dynamic::from(missing), Position::NONE)))
}

/// Teaches an engine all facts, each as `machine.x`, `machine.has.x` and `machine.maybe.x`.
pub(super) fn register(engine: &mut Engine) {
    let mut names: Vec<&'static str> = facts::all().map(|fact| fact.name).collect();
    names.sort_unstable();
    names.dedup();
    for name in names {
        let same: Vec<&'static Fact> = facts::all().filter(|fact| fact.name == name).collect();
        let found = move |kind: Kind| match same.iter().find(|fact| fact.of == kind) {
            Some(fact) => Ok(*fact),
            None => unknown(kind, name),
        };
        let (has, maybe) = (found.clone(), found.clone());
        engine.register_get(name, move |thing: &mut Thing| -> Given<Dynamic> {
            let fact = found(thing.kind)?;
            thing.answered((fact.get)(thing.part(), fact.trade))
        });
        engine.register_get(name, move |view: &mut HasView| -> Given<bool> {
            let fact = has(view.0.kind)?;
            match (fact.get)(view.0.part(), fact.trade) {
                Ok(_) => Ok(true),
                Err(lack) if lack.is_unjudged() => missing(lack.missing()),
                Err(lack) => {
                    view.0.subject.note_lacking(&lack);
                    Ok(false)
                }
            }
        });
        engine.register_get(name, move |view: &mut MaybeView| -> Given<Dynamic> {
            let fact = maybe(view.0.kind)?;
            match (fact.get)(view.0.part(), fact.trade) {
                found @ Ok(_) => view.0.answered(found),
                Err(lack) if lack.is_unjudged() => missing(lack.missing()),
                Err(lack) => {
                    view.0.subject.note_lacking(&lack);
                    Ok(Dynamic::UNIT)
                }
            }
        });
    }
    engine
        .register_get("has", |thing: &mut Thing| HasView(thing.clone()))
        .register_get("maybe", |thing: &mut Thing| MaybeView(thing.clone()))
        .register_indexer_get(|thing: &mut Thing, name: ImmutableString| -> Given<Dynamic> {
            unknown(thing.kind, &name)
        });
}

fn unknown<T>(kind: Kind, name: &str) -> Given<T> {
    let (what, help) = facts::no_such(kind, name);
    misuse(what, help)
}
