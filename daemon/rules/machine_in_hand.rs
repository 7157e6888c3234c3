//! A machine and its things as a rule holds them, and the witness that notes which facts a rule looked at.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use jiff::civil::Date;
use rhai::{Dynamic, Engine, EvalAltResult, ImmutableString, Position};

use super::facts::{self, Fact};
use super::quantity::{Given, misuse};
use super::sort_of_value::Kind;
use crate::origin::Evidence;
use crate::reckon::{
    Absentee, Fault, FillJudged, Missing, OilJudged, RideJudged, Service, SheetOfYard, Signer, Standing,
    WholeYard,
};
use crate::units::{DistanceUnit, SpeedUnit};
use crate::yard::{Machine, MachineId, MachineRow};

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
        Thing { subject: Arc::clone(self), kind: self.about.kind(), place: 0 }
    }

    /// Begins to ask whether a rule applies, and to what: facts that are not known are noted.
    pub(super) fn begin_asking(&self) {
        *self.witness() = Witness::default();
    }

    /// Begins a judgement: facts that are known are noted.
    pub(super) fn begin_judging(&self) {
        *self.witness() = Witness { judging: true, ..Witness::default() };
    }

    /// The facts seen since the judgement began, each once, in the order in which they were looked at.
    pub(super) fn seen(&self) -> Vec<Evidence> {
        std::mem::take(&mut self.witness().seen)
    }

    /// The facts that were asked for since the asking began and are not known, each once, in the trade's words.
    pub(super) fn lacking(&self) -> Vec<String> {
        std::mem::take(&mut self.witness().lacking)
    }

    /// Notes what a fact rests on.
    pub(super) fn note(&self, shown_by: &[Evidence]) {
        let mut witness = self.witness();
        if witness.judging {
            for evidence in shown_by {
                if !witness.seen.contains(evidence) {
                    witness.seen.push(evidence.clone());
                }
            }
        }
    }

    /// Notes what was asked for and is not known.
    fn note_lacking(&self, missing: Missing) {
        let mut witness = self.witness();
        if !witness.judging {
            for fact in missing.0 {
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

/// A figure that cannot be so, whether of the clock or of what the machine is known by.
pub(super) struct Doubt<'a> {
    key: &'a str,
    /// The day of a doubtful reading.
    pub(super) day: Option<Date>,
    /// What cannot be so.
    pub(super) what: &'a str,
    /// The likeliest meaning.
    pub(super) likely: &'a str,
    shown_by: &'a [Evidence],
}

/// `machine.has`: whether a fact is known.
#[derive(Clone)]
pub(super) struct HasView(Thing);

/// `machine.maybe`: a fact, or nothing where it is not known.
#[derive(Clone)]
pub(super) struct MaybeView(Thing);

impl Thing {
    /// The machine; only facts of a machine and its things ask for it.
    pub(super) fn machine(&self) -> &Machine {
        match &self.subject.about {
            About::Machine(machine, _) => machine,
            About::Yard(_) => unreachable!("the facts of a yard ask for no machine"),
        }
    }

    /// What the machine's rows say.
    pub(super) fn row(&self) -> &MachineRow {
        &self.machine().row
    }

    /// What was reckoned of the machine.
    pub(super) fn standing(&self) -> &Standing {
        match &self.subject.about {
            About::Machine(_, standing) => standing,
            About::Yard(_) => unreachable!("the facts of a yard ask for no machine"),
        }
    }

    /// The whole yard; only its facts and those of its things ask for it.
    pub(super) fn yard(&self) -> &WholeYard {
        match &self.subject.about {
            About::Yard(yard) => yard,
            About::Machine(..) => unreachable!("the facts of a machine ask for no yard"),
        }
    }

    /// The fault in hand.
    pub(super) fn fault(&self) -> &Fault {
        &self.yard().faults[self.place]
    }

    /// The absentee in hand.
    pub(super) fn absentee(&self) -> &Absentee {
        &self.yard().absentees[self.place]
    }

    /// The signer in hand.
    pub(super) fn signer(&self) -> &Signer {
        &self.yard().signers[self.place]
    }

    /// The sheet in hand.
    pub(super) fn sheet(&self) -> &SheetOfYard {
        &self.yard().sheets[self.place]
    }

    /// The machine that an answer about this is of; the whole yard, where it is of none in particular.
    pub(super) fn of_machine(&self) -> MachineId {
        match (&self.subject.about, self.kind) {
            (About::Machine(machine, _), _) => machine.id.clone(),
            (About::Yard(_), Kind::Absentee) => self.absentee().machine.clone(),
            (About::Yard(_), _) => MachineId::whole_yard(),
        }
    }

    /// The unit of the machine's clock.
    pub(super) fn unit(&self) -> DistanceUnit {
        self.machine().clock_unit
    }

    /// The unit of the machine's speedometer.
    pub(super) fn speed_unit(&self) -> SpeedUnit {
        SpeedUnit::beside(self.unit())
    }

    /// The service in hand; only a thing of that kind is made with this place.
    pub(super) fn service(&self) -> &Service {
        &self.standing().services.as_ref().expect("a service in hand comes from a plan")[self.place]
    }

    /// The ride in hand.
    pub(super) fn ride(&self) -> &RideJudged {
        &self.standing().running_in.rides[self.place]
    }

    /// The fill in hand.
    pub(super) fn fill(&self) -> &FillJudged {
        &self.standing().fills[self.place]
    }

    /// The oil in hand.
    pub(super) fn oil(&self) -> &OilJudged {
        &self.standing().oils[self.place]
    }

    /// The doubt in hand: those about readings come first, then those about its own row, then those about mark and
    /// frame number.
    pub(super) fn doubt(&self) -> Doubt<'_> {
        let standing = self.standing();
        if let Some(doubt) = standing.doubts.get(self.place) {
            let (key, what, likely, shown_by) = (&doubt.key, &doubt.what, &doubt.likely, &doubt.shown_by);
            return Doubt { key, day: Some(doubt.day), what, likely, shown_by };
        }
        let mut notes = standing.row_notes.iter().chain(&standing.identity_notes);
        let note = notes.nth(self.place - standing.doubts.len()).expect("a doubt in hand comes from a list");
        Doubt { key: &note.key, day: None, what: &note.what, likely: &note.likely, shown_by: &note.shown_by }
    }

    /// What tells this thing from the machine's others of its kind, in a finding's key.
    pub(super) fn key(&self) -> String {
        match self.kind {
            Kind::Machine | Kind::Yard | Kind::Absentee => String::new(),
            Kind::Signer => self.signer().name.clone(),
            Kind::Sheet => self.sheet().name.clone(),
            Kind::Fault => {
                let model = self.fault().model.as_deref().unwrap_or("no model");
                format!("{model}, {}", self.fault().item)
            }
            Kind::Service => self.service().item.clone(),
            Kind::Ride => self.ride().key.clone(),
            Kind::Fill => self.fill().key.clone(),
            Kind::Oil => self.oil().key.clone(),
            Kind::Doubt => self.doubt().key.to_owned(),
        }
    }

    /// What shows the thing itself.
    pub(super) fn shown_by(&self) -> &[Evidence] {
        match self.kind {
            Kind::Machine | Kind::Yard | Kind::Absentee | Kind::Signer | Kind::Sheet => &[],
            Kind::Fault => &self.fault().shown_by,
            Kind::Service => &self.service().shown_by,
            Kind::Ride => self.ride().answer.as_ref().map_or(&[], |answer| &answer.shown_by),
            Kind::Fill => self.fill().answer.as_ref().map_or(&[], |answer| &answer.shown_by),
            Kind::Oil => self.oil().answer.as_ref().map_or(&[], |answer| &answer.shown_by),
            Kind::Doubt => self.doubt().shown_by,
        }
    }

    /// Some of the machine's things of a kind, by their places, as the list that a rule sees.
    pub(super) fn some(&self, kind: Kind, places: impl Iterator<Item = usize>) -> Dynamic {
        let thing = |place| Dynamic::from(Thing { subject: Arc::clone(&self.subject), kind, place });
        Dynamic::from_array(places.map(thing).collect())
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
            match (fact.get)(thing, fact.trade) {
                Ok(known) => {
                    thing.subject.note(&known.shown_by);
                    Ok(known.value)
                }
                Err(lacking) => missing(lacking),
            }
        });
        engine.register_get(name, move |view: &mut HasView| -> Given<bool> {
            let fact = has(view.0.kind)?;
            match (fact.get)(&view.0, fact.trade) {
                Ok(_) => Ok(true),
                Err(lacking) => {
                    view.0.subject.note_lacking(lacking);
                    Ok(false)
                }
            }
        });
        engine.register_get(name, move |view: &mut MaybeView| -> Given<Dynamic> {
            let fact = maybe(view.0.kind)?;
            match (fact.get)(&view.0, fact.trade) {
                Ok(known) => {
                    view.0.subject.note(&known.shown_by);
                    Ok(known.value)
                }
                Err(lacking) => {
                    view.0.subject.note_lacking(lacking);
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
