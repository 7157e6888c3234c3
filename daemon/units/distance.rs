//! Distance as the odometer counts it, exact in miles and in kilometres.

use std::fmt;
use std::ops::{Add, Sub};

use super::written::{write_count, write_with_thousands};

/// The unit in which a clock (an odometer) counts, or a limit is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DistanceUnit {
    /// The international mile of 1609.344 m (Units of Measurement Regulations 1995, SI 1995/1804).
    Miles,
    /// 1000 m.
    Kilometres,
}

impl DistanceUnit {
    /// The other one.
    pub fn other(self) -> DistanceUnit {
        match self {
            DistanceUnit::Kilometres => DistanceUnit::Miles,
            DistanceUnit::Miles => DistanceUnit::Kilometres,
        }
    }

    /// The unit that a text such as `mi`, `Miles`, `km` or `kms` names; `None` for anything else.
    pub fn named(text: &str) -> Option<DistanceUnit> {
        match text.trim().trim_end_matches('.').to_ascii_lowercase().as_str() {
            "mi" | "mile" | "miles" | "mls" | "ml" | "m" => Some(DistanceUnit::Miles),
            "km" | "kms" | "k" | "kilometre" | "kilometres" | "kilometer" | "kilometers" => {
                Some(DistanceUnit::Kilometres)
            }
            _ => None,
        }
    }

    /// How a distance of one is written in this unit: `mile` or `km`.
    pub fn singular(self) -> &'static str {
        match self {
            DistanceUnit::Miles => "mile",
            DistanceUnit::Kilometres => "km",
        }
    }

    /// How distances are written in this unit: `miles` or `km`.
    pub fn plural(self) -> &'static str {
        match self {
            DistanceUnit::Miles => "miles",
            DistanceUnit::Kilometres => "km",
        }
    }

    /// A tenth of this unit in steps of 0.1 mm.
    const fn tenth(self) -> i64 {
        match self {
            DistanceUnit::Miles => 1_609_344,
            DistanceUnit::Kilometres => 1_000_000,
        }
    }
}

/// A distance in whole tenths of a millimetre, so that 0.1 mile and 0.1 km are both exact.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, serde::Serialize, serde::Deserialize,
)]
#[serde(transparent)]
pub struct Distance(i64);

impl Distance {
    /// No distance at all.
    pub const ZERO: Distance = Distance(0);

    /// The farthest that an input may claim, ten million miles; more is a slip of the keyboard.
    pub const FARTHEST: Distance = Distance::of(10_000_000, DistanceUnit::Miles);

    /// So many whole miles or kilometres.
    pub const fn of(count: i64, unit: DistanceUnit) -> Distance {
        Distance(count * 10 * unit.tenth())
    }

    /// So many tenths of a mile or kilometre.
    pub const fn of_tenths(tenths: i64, unit: DistanceUnit) -> Distance {
        Distance(tenths * unit.tenth())
    }

    /// So many miles or kilometres with a fraction, rounded to 0.1 mm; for estimates, not for readings.
    pub fn estimated(count: f64, unit: DistanceUnit) -> Distance {
        Distance((count * 10.0 * unit.tenth() as f64).round() as i64)
    }

    /// The distance as a fractional count of the unit, for statistics and drawing.
    pub fn count_in(self, unit: DistanceUnit) -> f64 {
        self.0 as f64 / (10.0 * unit.tenth() as f64)
    }

    /// The distance ready to print in a unit: whole numbers where they are whole, else one decimal,
    /// thousands marked: `1,204 miles`, `3.7 miles`.
    pub fn shown_in(self, unit: DistanceUnit) -> String {
        /// Few are longer than `12,204 miles`.
        const USUAL: usize = 16;
        let mut text = String::with_capacity(USUAL);
        self.write_in(unit, &mut text);
        text
    }

    /// Adds the distance, written in the same way, to a text.
    pub fn write_in(self, unit: DistanceUnit, text: &mut String) {
        let tenths = self.write_count_in(unit, text);
        text.push(' ');
        text.push_str(if tenths == 10 { unit.singular() } else { unit.plural() });
    }

    /// Adds the same without the unit's name: `1,234` or `1,234.5`; gives the tenths that are written.
    pub(super) fn write_count_in(self, unit: DistanceUnit, text: &mut String) -> i64 {
        let tenths = (self.0 as f64 / unit.tenth() as f64).round() as i64;
        if tenths < 0 {
            text.push('-');
        }
        write_with_thousands(tenths.unsigned_abs() / 10, text);
        let tenth = tenths.unsigned_abs() % 10;
        if tenth != 0 {
            text.push('.');
            write_count(tenth, text);
        }
        tenths
    }

    /// The distance rounded to whole units and ready to print, for estimates: `about` is the caller's word.
    pub fn shown_whole_in(self, unit: DistanceUnit) -> String {
        self.in_whole(unit).shown_in(unit)
    }

    /// Adds the distance, rounded in the same way, to a text.
    pub fn write_whole_in(self, unit: DistanceUnit, text: &mut String) {
        self.in_whole(unit).write_in(unit, text);
    }

    fn in_whole(self, unit: DistanceUnit) -> Distance {
        Distance::of(self.count_in(unit).round() as i64, unit)
    }

    /// Whether the distance lies below zero, which no clock can show.
    pub fn is_negative(self) -> bool {
        self.0 < 0
    }

    /// The gap between two distances, whichever is the greater.
    pub fn gap_to(self, other: Distance) -> Distance {
        Distance((self.0 - other.0).abs())
    }

    /// The exact measure in tenths of a millimetre, for the ledger.
    pub const fn tenth_millimetres(self) -> i64 {
        self.0
    }

    /// The distance that [`Distance::tenth_millimetres`] gave.
    pub fn from_tenth_millimetres(measure: i64) -> Distance {
        Distance(measure)
    }
}

impl Add for Distance {
    type Output = Distance;
    fn add(self, other: Distance) -> Distance {
        Distance(self.0.saturating_add(other.0))
    }
}

impl Sub for Distance {
    type Output = Distance;
    fn sub(self, other: Distance) -> Distance {
        Distance(self.0.saturating_sub(other.0))
    }
}

impl fmt::Display for Distance {
    /// In miles, the unit of British roads; use [`Distance::shown_in`] where the machine's own unit is known.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.shown_in(DistanceUnit::Miles))
    }
}
