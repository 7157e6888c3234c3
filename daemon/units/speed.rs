//! Speed, exact in miles and in kilometres an hour.

use std::fmt;

use super::DistanceUnit;

/// The unit in which a speedometer or a road test gives a speed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SpeedUnit {
    /// Miles an hour.
    MilesAnHour,
    /// Kilometres an hour.
    KilometresAnHour,
}

impl SpeedUnit {
    /// The unit that a text such as `mph`, `km/h` or `kph` names; `None` for anything else.
    pub fn named(text: &str) -> Option<SpeedUnit> {
        match text.trim().trim_end_matches('.').to_ascii_lowercase().as_str() {
            "mph" | "mi/h" | "miles per hour" | "miles an hour" => Some(SpeedUnit::MilesAnHour),
            "km/h" | "kmh" | "kph" | "kmph" | "kilometres an hour" | "kilometres per hour" => {
                Some(SpeedUnit::KilometresAnHour)
            }
            _ => None,
        }
    }

    /// The unit of the speedometer that stands beside a clock in this unit.
    pub fn beside(clock_unit: DistanceUnit) -> SpeedUnit {
        match clock_unit {
            DistanceUnit::Miles => SpeedUnit::MilesAnHour,
            DistanceUnit::Kilometres => SpeedUnit::KilometresAnHour,
        }
    }

    /// The distance that is covered in an hour at a speed of one.
    fn distance(self) -> DistanceUnit {
        match self {
            SpeedUnit::MilesAnHour => DistanceUnit::Miles,
            SpeedUnit::KilometresAnHour => DistanceUnit::Kilometres,
        }
    }

    fn short(self) -> &'static str {
        match self {
            SpeedUnit::MilesAnHour => "mph",
            SpeedUnit::KilometresAnHour => "km/h",
        }
    }
}

/// A speed, held as the distance covered in one hour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Speed(super::Distance);

impl Speed {
    /// So many tenths of a mile or kilometre an hour.
    pub const fn of_tenths(tenths: i64, unit: SpeedUnit) -> Speed {
        match unit {
            SpeedUnit::MilesAnHour => Speed(super::Distance::of_tenths(tenths, DistanceUnit::Miles)),
            SpeedUnit::KilometresAnHour => {
                Speed(super::Distance::of_tenths(tenths, DistanceUnit::Kilometres))
            }
        }
    }

    /// So many whole miles or kilometres an hour.
    pub const fn of(count: i64, unit: SpeedUnit) -> Speed {
        Speed::of_tenths(count * 10, unit)
    }

    /// The exact measure in tenths of a millimetre an hour, for sums that must not round.
    pub fn tenth_millimetres_an_hour(self) -> i64 {
        self.0.tenth_millimetres()
    }

    /// The speed that [`Speed::tenth_millimetres_an_hour`] gave.
    pub fn from_tenth_millimetres_an_hour(measure: i64) -> Speed {
        Speed(super::Distance::from_tenth_millimetres(measure))
    }

    /// The speed ready to print: `40 mph`, `45 km/h`, one decimal where it is not whole.
    pub fn shown_in(self, unit: SpeedUnit) -> String {
        let mut text = String::new();
        self.write_in(unit, &mut text);
        text
    }

    /// Adds the speed, written in the same way, to a text.
    pub fn write_in(self, unit: SpeedUnit, text: &mut String) {
        self.0.write_count_in(unit.distance(), text);
        text.push(' ');
        text.push_str(unit.short());
    }
}

impl fmt::Display for Speed {
    /// In miles an hour, the unit of British roads.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.shown_in(SpeedUnit::MilesAnHour))
    }
}
