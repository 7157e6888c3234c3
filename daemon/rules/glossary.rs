//! Words of the trade, and signs, that stand in rules and that no fact explains.

/// Each with what it means.
///
/// Source: from memory of GOV.UK for SORN and of JASO T 903 for the classes of oil; the rest common practice, no source.
#[rustfmt::skip]
pub(super) const GLOSSARY: [(&str, &str); 13] = [
    ("PDI", "pre-delivery inspection: a new machine gone over before its customer has it"),
    ("QC", "quality check: a second person looks at what was done"),
    ("torque re-check", "bolts brought to their figure again once they have settled on the first miles"),
    ("running-in", "the first miles of a new engine, with a top speed for each stage"),
    ("stage", "a part of running-in, with its own distance and top speed; the handbook sheet has them"),
    ("tolerance", "how far past its day or distance a service may be before it counts as overdue; the handbook sheet has it"),
    ("SORN", "Statutory Off Road Notification: told to be off the road, where the machine may then not be ridden or left"),
    ("10W-40", "how thick an oil is: cold before the dash, hot behind it"),
    ("JASO MA, MA2", "oil for a clutch that runs in it; MA2 grips more than MA"),
    ("JASO MB", "more slippery oil, for scooters with a dry clutch: it makes a wet clutch slip"),
    ("E5, E10, B7", "petrol with at most 5 or 10 parts of ethanol in a hundred; B7 is diesel"),
    ("#{ ... }", "the facts of an example: a name, a colon and a value each, with commas between"),
    ("machine.maybe.x ?? y", "the fact x, or y where it is not known"),
];
