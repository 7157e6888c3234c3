//! An oil as people write it, read as SAE J300 viscosity grades and JASO T 903 classes.

use std::collections::BTreeSet;
use std::fmt;

use super::denied::is_denied;
use crate::settings::words_of;

/// The winter grades of SAE J300 (January 2015).
const WINTER: [u8; 6] = [0, 5, 10, 15, 20, 25];

/// The grades of SAE J300 (January 2015) at 100 °C.
const HOT: [u8; 8] = [8, 12, 16, 20, 30, 40, 50, 60];

/// A viscosity grade of SAE J300: `10W-40`, or a single grade `30`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Viscosity {
    winter: Option<u8>,
    hot: Option<u8>,
}

impl Viscosity {
    /// A grade, when the standard has it.
    fn new(winter: Option<u8>, hot: Option<u8>) -> Option<Viscosity> {
        let known =
            winter.is_none_or(|winter| WINTER.contains(&winter)) && hot.is_none_or(|hot| HOT.contains(&hot));
        known.then_some(Viscosity { winter, hot })
    }
}

impl fmt::Display for Viscosity {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.winter, self.hot) {
            (Some(winter), Some(hot)) => write!(formatter, "{winter}W-{hot}"),
            (Some(winter), None) => write!(formatter, "{winter}W"),
            (None, Some(hot)) => write!(formatter, "SAE {hot}"),
            (None, None) => Ok(()),
        }
    }
}

/// A class of JASO T 903, by what the oil does to a wet clutch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum JasoClass {
    /// For wet clutches, in the range of MA1 or MA2.
    Ma,
    /// The lower part of that range.
    Ma1,
    /// The higher part of that range.
    Ma2,
    /// Low friction, for engines without a clutch in their oil.
    Mb,
}

impl JasoClass {
    /// The class as it stands on the bottle.
    pub(super) fn name(self) -> &'static str {
        match self {
            JasoClass::Ma => "MA",
            JasoClass::Ma1 => "MA1",
            JasoClass::Ma2 => "MA2",
            JasoClass::Mb => "MB",
        }
    }
}

/// What a text says of an oil.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct OilText {
    /// The grades in it.
    pub(super) viscosities: BTreeSet<Viscosity>,
    /// The classes in it.
    pub(super) classes: BTreeSet<JasoClass>,
    /// Whether it has the shape of a grade that SAE J300 does not have, such as 15W-45.
    pub(super) no_such_grade: bool,
    /// Whether it says in so many words that it is an oil for cars.
    pub(super) for_cars: bool,
}

/// What a text says of an oil. What it denies or asks is no part of it: `10W-40 not MA2`, `MA2?`.
pub(super) fn oil_text(text: &str) -> OilText {
    // In `MA-2` the hyphen joins; in `MA 2 litres` the blank does not.
    let joined = text.to_lowercase().replace("ma-1", "ma1").replace("ma-2", "ma2");
    let words: Vec<String> = words_of(&joined).into_iter().flat_map(class_apart).collect();
    let mut oil = OilText { for_cars: says_for_cars(&words), ..OilText::default() };
    if text.contains('?') {
        return oil;
    }
    let told = words.iter().enumerate().filter(|(place, _)| !is_denied(&words, *place, 1));
    oil.classes.extend(told.filter_map(|(_, word)| class(word)));
    let mut rest = words.as_slice();
    while let [_, behind @ ..] = rest {
        match grade_at(rest) {
            Some((_, length)) if is_denied(&words, words.len() - rest.len(), length) => {
                rest = &rest[length..]
            }
            Some((found, length)) => {
                oil.no_such_grade |= found.is_none();
                oil.viscosities.extend(found);
                rest = &rest[length..];
            }
            None => rest = behind,
        }
    }
    oil
}

/// The class that a word is.
fn class(word: &str) -> Option<JasoClass> {
    match word {
        "ma" => Some(JasoClass::Ma),
        "ma1" => Some(JasoClass::Ma1),
        "ma2" => Some(JasoClass::Ma2),
        "mb" => Some(JasoClass::Mb),
        _ => None,
    }
}

/// A word, or grade and class apart where they were written as one: `10w40ma2`.
fn class_apart(word: String) -> Vec<String> {
    let behind_grade = |class: &str| {
        word.strip_suffix(class).is_some_and(|grade| grade.ends_with(|letter: char| letter.is_ascii_digit()))
    };
    match ["ma", "ma1", "ma2", "mb"].into_iter().find(|class| behind_grade(class)) {
        Some(class) => vec![word[..word.len() - class.len()].to_owned(), class.to_owned()],
        None => vec![word],
    }
}

/// Whether some words say that an oil is for cars, and not that it is not.
fn says_for_cars(words: &[String]) -> bool {
    let mut cars = words.iter().enumerate().filter(|(_, word)| matches!(word.as_str(), "car" | "cars"));
    cars.any(|(place, _)| !is_denied(words, place, 1))
}

/// A grade that begins with the first of some words, and how many of them it takes; `None` inside when it has
/// the shape of one, but the standard does not have it.
fn grade_at(words: &[String]) -> Option<(Option<Viscosity>, usize)> {
    let number = |word: Option<&String>| word.and_then(|word| word.parse::<u8>().ok());
    let first = words.first()?;
    if let Some(hot) = first.strip_prefix("sae").and_then(|hot| hot.parse().ok()) {
        return Some((Viscosity::new(None, Some(hot)), 1));
    }
    if first == "sae" && number(words.get(1)).is_some() && words.get(2).is_none_or(|word| word != "w") {
        return Some((Viscosity::new(None, number(words.get(1))), 2));
    }
    let (winter, hot, taken) = match first.split_once('w') {
        Some((winter, hot)) => (winter.to_owned(), hot.to_owned(), 1),
        // `10 W 40`, `10 w40`.
        None => {
            let hot = words.get(1)?.strip_prefix('w')?;
            (first.clone(), hot.to_owned(), 2)
        }
    };
    let winter: u8 = winter.parse().ok()?;
    if !hot.is_empty() {
        return Some((Viscosity::new(Some(winter), Some(hot.parse().ok()?)), taken));
    }
    match number(words.get(taken)) {
        Some(hot) => Some((Viscosity::new(Some(winter), Some(hot)), taken + 1)),
        None => Some((Viscosity::new(Some(winter), None), taken)),
    }
}
