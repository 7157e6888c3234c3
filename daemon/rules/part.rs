//! What a rule is asked about, part by part: the machine or the yard itself, and each of its things.

use jiff::civil::Date;

use super::machine_in_hand::About;
use super::sort_of_value::Kind;
use crate::origin::Evidence;
use crate::reckon::{
    Absentee, Fault, FillJudged, OilJudged, RideJudged, Service, SheetOfYard, Signer, Standing, WholeYard,
};
use crate::units::{DistanceUnit, SpeedUnit};
use crate::yard::{Machine, MachineId, MachineRow};

/// A machine, or the yard, or one of its things.
#[derive(Clone, Copy)]
pub(super) struct Part<'a> {
    /// What the rule is asked about.
    pub(super) about: &'a About,
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

impl<'a> Part<'a> {
    /// Another thing of the same machine or yard.
    pub(super) fn other(self, kind: Kind, place: usize) -> Part<'a> {
        Part { kind, place, ..self }
    }

    /// The machine; only facts of a machine and its things ask for it.
    pub(super) fn machine(self) -> &'a Machine {
        match self.about {
            About::Machine(machine, _) => machine,
            About::Yard(_) => unreachable!("the facts of a yard ask for no machine"),
        }
    }

    /// What the machine's rows say.
    pub(super) fn row(self) -> &'a MachineRow {
        &self.machine().row
    }

    /// What was reckoned of the machine.
    pub(super) fn standing(self) -> &'a Standing {
        match self.about {
            About::Machine(_, standing) => standing,
            About::Yard(_) => unreachable!("the facts of a yard ask for no machine"),
        }
    }

    /// Whether there is no reading that could be doubted, and nothing else of the machine is.
    pub(super) fn has_nothing_to_doubt(self) -> bool {
        let About::Machine(_, standing) = self.about else { return false };
        standing.clock.is_err() && standing.doubts.is_empty() && standing.row_notes.is_empty()
    }

    /// The whole yard; only its facts and those of its things ask for it.
    pub(super) fn yard(self) -> &'a WholeYard {
        match self.about {
            About::Yard(yard) => yard,
            About::Machine(..) => unreachable!("the facts of a machine ask for no yard"),
        }
    }

    /// The fault in hand.
    pub(super) fn fault(self) -> &'a Fault {
        &self.yard().faults[self.place]
    }

    /// The absentee in hand.
    pub(super) fn absentee(self) -> &'a Absentee {
        &self.yard().absentees[self.place]
    }

    /// The signer in hand.
    pub(super) fn signer(self) -> &'a Signer {
        &self.yard().signers[self.place]
    }

    /// The sheet in hand.
    pub(super) fn sheet(self) -> &'a SheetOfYard {
        &self.yard().sheets[self.place]
    }

    /// The machine that an answer about this is of; the whole yard, where it is of none in particular.
    pub(super) fn of_machine(self) -> MachineId {
        match (self.about, self.kind) {
            (About::Machine(machine, _), _) => machine.id.clone(),
            (About::Yard(_), Kind::Absentee) => self.absentee().machine.clone(),
            (About::Yard(_), _) => MachineId::whole_yard(),
        }
    }

    /// The unit of the machine's clock.
    pub(super) fn unit(self) -> DistanceUnit {
        self.machine().clock_unit
    }

    /// The unit of the machine's speedometer.
    pub(super) fn speed_unit(self) -> SpeedUnit {
        SpeedUnit::beside(self.unit())
    }

    /// The service in hand; only a thing of that kind is made with this place.
    pub(super) fn service(self) -> &'a Service {
        &self.standing().services.as_ref().expect("a service in hand comes from a plan")[self.place]
    }

    /// The ride in hand.
    pub(super) fn ride(self) -> &'a RideJudged {
        &self.standing().running_in.rides[self.place]
    }

    /// The fill in hand.
    pub(super) fn fill(self) -> &'a FillJudged {
        &self.standing().fills[self.place]
    }

    /// The oil in hand.
    pub(super) fn oil(self) -> &'a OilJudged {
        &self.standing().oils[self.place]
    }

    /// The doubt in hand: those about readings come first, then those about its own row, then those about mark and
    /// frame number.
    pub(super) fn doubt(self) -> Doubt<'a> {
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
    pub(super) fn key(self) -> String {
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
    pub(super) fn shown_by(self) -> &'a [Evidence] {
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
}
