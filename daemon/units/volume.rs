//! Volume of fuel and oil.

use std::fmt;

/// The unit in which a sheet gives a volume.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum VolumeUnit {
    /// Litres.
    #[default]
    Litres,
    /// Thousandths of a litre.
    Millilitres,
    /// UK gallons of 4.54609 l.
    Gallons,
}

impl VolumeUnit {
    /// The unit that a text such as `L`, `ltrs`, `ml` or `gal` names; `None` for anything else.
    pub fn named(text: &str) -> Option<VolumeUnit> {
        match text.trim().trim_end_matches('.').to_ascii_lowercase().as_str() {
            "l" | "lt" | "ltr" | "ltrs" | "litre" | "litres" | "liter" | "liters" => Some(VolumeUnit::Litres),
            "ml" | "cc" | "millilitre" | "millilitres" => Some(VolumeUnit::Millilitres),
            "gal" | "gals" | "gall" | "galls" | "gallon" | "gallons" => Some(VolumeUnit::Gallons),
            _ => None,
        }
    }

    /// The unit in words: `litres`.
    pub fn plural(self) -> &'static str {
        match self {
            VolumeUnit::Litres => "litres",
            VolumeUnit::Millilitres => "millilitres",
            VolumeUnit::Gallons => "gallons",
        }
    }
}

/// A volume in whole hundredths of a millilitre, so that a litre and a UK gallon (4.54609 l) are both exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(transparent)]
pub struct Volume(i64);

impl Volume {
    /// The most that one fill may claim; more is a slip of the keyboard.
    pub const MOST_IN_A_FILL: Volume = Volume::of_millilitres(200_000);

    /// So many millilitres.
    pub const fn of_millilitres(millilitres: i64) -> Volume {
        Volume(millilitres * 100)
    }

    /// So many UK gallons of 4.54609 l (Units of Measurement Regulations 1995, SI 1995/1804).
    pub const fn of_gallons(gallons: i64) -> Volume {
        Volume(gallons * 454_609)
    }

    /// So many thousandths of a litre, millilitre or gallon, cut to whole hundredths of a millilitre.
    pub const fn of_thousandths(thousandths: i64, unit: VolumeUnit) -> Volume {
        match unit {
            VolumeUnit::Litres => Volume(thousandths.saturating_mul(100)),
            VolumeUnit::Millilitres => Volume(thousandths / 10),
            VolumeUnit::Gallons => Volume(thousandths.saturating_mul(454_609) / 1000),
        }
    }

    /// The volume as a fractional count of litres, for statistics.
    pub fn litres(self) -> f64 {
        self.0 as f64 / 100_000.0
    }

    /// The volume as a fractional count of UK gallons, for statistics.
    pub fn gallons(self) -> f64 {
        self.0 as f64 / 454_609.0
    }
}

impl fmt::Display for Volume {
    /// In litres with at most two decimals: `6.2 litres`.
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = format!("{:.2}", self.litres());
        let text = text.trim_end_matches('0').trim_end_matches('.');
        write!(formatter, "{text} {}", if text == "1" { "litre" } else { "litres" })
    }
}
