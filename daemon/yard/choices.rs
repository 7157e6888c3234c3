//! What a machine, a check, a fuel label and the source of a speed can be: the few kinds of each.

/// What kind of machine it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MachineKind {
    /// A motorcycle with a gearbox in the engine's oil.
    Motorcycle,
    /// A two-wheeler of at most 50 cc (or 4 kW) and 45 km/h: L1 of the MOT inspection manual for motorcycles.
    Moped,
    /// A scooter above the moped's limits.
    Scooter,
    /// A three-wheeler.
    ThreeWheeler,
    /// A car in the shop's care.
    Car,
}

impl MachineKind {
    /// The kind in the trade's word.
    pub fn name(self) -> &'static str {
        match self {
            MachineKind::Motorcycle => "motorcycle",
            MachineKind::Moped => "moped",
            MachineKind::Scooter => "scooter",
            MachineKind::ThreeWheeler => "three-wheeler",
            MachineKind::Car => "car",
        }
    }
}

/// A fuel pump's label after EN 16942, ordered by how much ethanol there may be in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EthanolLabel {
    /// Petrol with at most 5 % ethanol (EN 228, Table 2).
    E5,
    /// Petrol with at most 10 % ethanol (EN 228, Table 1).
    E10,
    /// Petrol with up to 85 % ethanol.
    E85,
}

impl EthanolLabel {
    /// The label as it stands on the pump.
    pub fn name(self) -> &'static str {
        match self {
            EthanolLabel::E5 => "E5",
            EthanolLabel::E10 => "E10",
            EthanolLabel::E85 => "E85",
        }
    }
}

/// How one inspection item came out. A blank is never a pass: a check without a result is `NotDone`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckResult {
    /// Done, and nothing found.
    Passed,
    /// Done, and something found that is not yet put right.
    Failed,
    /// Said to be done, and nothing found, in a log of checks that does not tell on which day: it shows nothing of the
    /// machine as it is handed over.
    Undated,
    /// Not done, not finished, or nothing written.
    NotDone,
    /// Something is written that is neither plainly good nor plainly bad: nobody can tell, and it is never a pass.
    Unclear,
}

/// What a ride's top speed was read from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SpeedSource {
    /// A satellite receiver or tracker: the true speed.
    Satellite,
    /// The machine's own speedometer, which may show more than is true.
    Speedometer,
}
