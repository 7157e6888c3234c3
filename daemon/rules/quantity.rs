//! Values that carry their unit, as a rule sees them, and the sums and comparisons between them.
//!
//! The language by itself answers `false` to any comparison of two unlike things, without a word. So every
//! comparison that touches one of our values is registered, and unlike ones are errors.

use std::cmp::Ordering;
use std::fmt;

use jiff::civil::Date;
use rhai::{Dynamic, Engine, EvalAltResult, Position};

use super::answer::Answer;
use super::machine_in_hand::{HasView, MaybeView, Thing};
use super::numbers::written;
use super::sort_of_value::Sort;
use super::sums;
use super::value::Value;
use crate::units::{Days, Distance, DistanceUnit, Months, Speed, SpeedUnit, Volume, shown_day};

/// What a function of ours gives back to the language.
pub(super) type Given<T> = Result<T, Box<EvalAltResult>>;

/// Something that a running rule must not do, with what to write instead.
#[derive(Debug, Clone)]
pub(super) struct Misuse {
    /// What is wrong.
    pub(super) what: String,
    /// What to write.
    pub(super) help: String,
}

/// Stops the rule with a misuse; the language adds the place.
pub(super) fn misuse<T>(what: impl Into<String>, help: impl Into<String>) -> Given<T> {
    let misuse = Misuse { what: what.into(), help: help.into() };
    Err(Box::new(EvalAltResult::ErrorRuntime(Dynamic::from(misuse), Position::NONE)))
}

/// A distance with the unit that it is printed in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Length {
    /// The distance.
    pub(super) distance: Distance,
    /// The unit it was written in, or that of the machine's clock.
    pub(super) unit: DistanceUnit,
    /// Whether it is an estimate, which is printed with `about`.
    pub(super) estimated: bool,
}

/// Two distances are the same, or one is more, whatever unit each is printed in.
impl PartialEq for Length {
    fn eq(&self, other: &Length) -> bool {
        self.distance == other.distance
    }
}

impl PartialOrd for Length {
    fn partial_cmp(&self, other: &Length) -> Option<Ordering> {
        self.distance.partial_cmp(&other.distance)
    }
}

impl Length {
    /// Adds it to a text that prints it.
    pub(super) fn print_into(self, text: &mut String) {
        if self.estimated {
            text.push_str("about ");
            self.distance.write_whole_in(self.unit, text);
        } else {
            self.distance.write_in(self.unit, text);
        }
    }
}

impl fmt::Display for Length {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut text = String::new();
        self.print_into(&mut text);
        formatter.write_str(&text)
    }
}

/// A speed with the unit that it is printed in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    /// The speed.
    pub(super) speed: Speed,
    /// The unit it was written in, or that of the machine's clock.
    pub(super) unit: SpeedUnit,
}

/// As with distances.
impl PartialEq for Pace {
    fn eq(&self, other: &Pace) -> bool {
        self.speed == other.speed
    }
}

impl PartialOrd for Pace {
    fn partial_cmp(&self, other: &Pace) -> Option<Ordering> {
        self.speed.partial_cmp(&other.speed)
    }
}

impl fmt::Display for Pace {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str(&self.speed.shown_in(self.unit))
    }
}

/// The units that may follow a number and a dot, with the sort they make.
pub(super) const UNITS: [(&str, Sort); 15] = [
    ("mile", Sort::Distance),
    ("miles", Sort::Distance),
    ("km", Sort::Distance),
    ("mph", Sort::Speed),
    ("kmh", Sort::Speed),
    ("day", Sort::Days),
    ("days", Sort::Days),
    ("week", Sort::Days),
    ("weeks", Sort::Days),
    ("month", Sort::Months),
    ("months", Sort::Months),
    ("year", Sort::Months),
    ("years", Sort::Months),
    ("litre", Sort::Volume),
    ("litres", Sort::Volume),
];

/// A number of a rule in thousandths; the limit keeps every later sum far from the ends of the type.
fn thousandths(number: &Dynamic) -> Given<i64> {
    /// Ten million of anything is a slip of the keyboard.
    const MOST: i64 = 10_000_000_000;
    let text = number.to_string();
    let (whole, fraction) = text.split_once('.').unwrap_or((&text, ""));
    let negative = whole.starts_with('-');
    let kept = format!("{fraction:0<3}");
    let parsed = (fraction.len() <= 3)
        .then(|| {
            let whole: i64 = whole.trim_start_matches('-').parse().ok()?;
            whole.checked_mul(1000)?.checked_add(kept.parse().ok()?).filter(|count| *count <= MOST)
        })
        .flatten();
    match parsed {
        Some(count) => Ok(if negative { -count } else { count }),
        None => misuse(
            format!("`{text}` is too large or too fine a number"),
            "write a number below ten million with at most three decimals",
        ),
    }
}

/// A number with a unit.
fn with_unit(number: &Dynamic, name: &str) -> Given<Dynamic> {
    if !number.is_int() && !number.is_decimal() {
        return misuse(
            format!("{} cannot carry the unit `{name}`", words_of(number)),
            format!("write a number before it: `14.{name}`"),
        );
    }
    let count = thousandths(number)?;
    let whole = || if count % 1000 == 0 { Ok(count / 1000) } else { whole_only(count / 1000, name) };
    let tenths = || if count % 100 == 0 { Ok(count / 100) } else { tenths_only(name) };
    let length = |unit| -> Given<Length> {
        Ok(Length { distance: Distance::of_tenths(tenths()?, unit), unit, estimated: false })
    };
    let pace = |unit| -> Given<Pace> { Ok(Pace { speed: Speed::of_tenths(tenths()?, unit), unit }) };
    Ok(match name {
        "mile" | "miles" => Dynamic::from(length(DistanceUnit::Miles)?),
        "km" => Dynamic::from(length(DistanceUnit::Kilometres)?),
        "mph" => Dynamic::from(pace(SpeedUnit::MilesAnHour)?),
        "kmh" => Dynamic::from(pace(SpeedUnit::KilometresAnHour)?),
        "day" | "days" => Dynamic::from(Days(whole()?)),
        "week" | "weeks" => Dynamic::from(Days(whole()? * 7)),
        "month" | "months" => Dynamic::from(Months(whole()?)),
        "year" | "years" => Dynamic::from(Months(whole()? * 12)),
        _ => Dynamic::from(Volume::of_millilitres(count)),
    })
}

/// A number with a unit, outside the language; `None` where the two do not go together.
pub(super) fn in_unit(number: &Dynamic, name: &str) -> Option<Value<'static>> {
    UNITS.iter().find(|(unit, _)| *unit == name)?;
    with_unit(number, name).ok().and_then(|value| Value::of(&value))
}

/// What is wrong with a number as a count of a unit.
pub(super) fn misuse_of_unit(number: &Dynamic, unit: &str) -> Option<Misuse> {
    let error = with_unit(number, unit).err()?;
    match *error {
        EvalAltResult::ErrorRuntime(value, _) => value.try_cast::<Misuse>(),
        _ => None,
    }
}

fn whole_only<T>(below: i64, name: &str) -> Given<T> {
    let (below, above) = (written(&below.to_string(), name), written(&(below + 1).to_string(), name));
    let units = written("", name);
    misuse(format!("{} are whole", units.trim_start_matches('.')), format!("write `{below}` or `{above}`"))
}

fn tenths_only<T>(name: &str) -> Given<T> {
    misuse(format!("`{name}` have one decimal at most"), "write a number such as 2.5")
}

/// A value in words, for messages: `14 days`, `the plain number 500`, `the text "ring"`.
pub(super) fn words_of(value: &Dynamic) -> String {
    let read = |shown: Option<String>| shown.unwrap_or_default();
    if value.is_unit() {
        "nothing".to_owned()
    } else if value.is_int() || value.is_decimal() {
        format!("the plain number {value}")
    } else if value.is_string() {
        format!("the text \"{value}\"")
    } else if value.is_bool() {
        if value.as_bool() == Ok(true) { "yes".to_owned() } else { "no".to_owned() }
    } else if value.is::<Date>() {
        read(value.clone().try_cast::<Date>().map(shown_day))
    } else if value.is::<Days>() {
        read(value.clone().try_cast::<Days>().map(|days| days.to_string()))
    } else if value.is::<Months>() {
        read(value.clone().try_cast::<Months>().map(|months| months.to_string()))
    } else if value.is::<Length>() {
        read(value.clone().try_cast::<Length>().map(|length| length.to_string()))
    } else if value.is::<Pace>() {
        read(value.clone().try_cast::<Pace>().map(|pace| pace.to_string()))
    } else if value.is::<Volume>() {
        read(value.clone().try_cast::<Volume>().map(|volume| volume.to_string()))
    } else {
        sort_of(value).words()
    }
}

/// The sort of a value that a constant was given.
pub(super) fn sort_of(value: &Dynamic) -> Sort {
    if value.is_unit() {
        Sort::Nothing
    } else if value.is_bool() {
        Sort::YesNo
    } else if value.is_int() {
        Sort::Whole
    } else if value.is_decimal() {
        Sort::Decimal
    } else if value.is_string() {
        Sort::Text
    } else if value.is_array() {
        Sort::Rows
    } else if value.is_map() {
        Sort::Map
    } else if let Some(thing) = value.read_lock::<Thing>() {
        Sort::Thing(thing.kind)
    } else {
        custom_sort(value)
    }
}

fn custom_sort(value: &Dynamic) -> Sort {
    if value.is::<Date>() {
        Sort::Day
    } else if value.is::<Days>() {
        Sort::Days
    } else if value.is::<Months>() {
        Sort::Months
    } else if value.is::<Length>() {
        Sort::Distance
    } else if value.is::<Pace>() {
        Sort::Speed
    } else if value.is::<Volume>() {
        Sort::Volume
    } else if value.is::<Answer>() {
        Sort::Answer
    } else {
        Sort::Unknown
    }
}

/// The comparisons between two values of one type, and the refusal of all others that touch it.
macro_rules! comparisons {
    ($engine:expr, $type:ty) => {
        $engine.register_fn("==", |left: $type, right: $type| left == right);
        $engine.register_fn("!=", |left: $type, right: $type| left != right);
        $engine.register_fn(">", |left: $type, right: $type| left > right);
        $engine.register_fn(">=", |left: $type, right: $type| left >= right);
        $engine.register_fn("<", |left: $type, right: $type| left < right);
        $engine.register_fn("<=", |left: $type, right: $type| left <= right);
        refusals!($engine, $type);
    };
}

/// The refusal of every comparison between a type and anything else.
macro_rules! refusals {
    ($engine:expr, $type:ty) => {
        for sign in ["==", "!=", ">", ">=", "<", "<="] {
            $engine.register_fn(sign, |left: $type, right: Dynamic| unlike(&Dynamic::from(left), &right));
            $engine.register_fn(sign, |left: Dynamic, right: $type| unlike(&left, &Dynamic::from(right)));
        }
    };
}

fn unlike(left: &Dynamic, right: &Dynamic) -> Given<bool> {
    let help = match (sort_of(left), sort_of(right)) {
        (Sort::Days, Sort::Months) | (Sort::Months, Sort::Days) => {
            "add the months to a day and compare days: `machine.today > machine.sold + 1.month`".to_owned()
        }
        (quantity, number) | (number, quantity) if number.is_number() && quantity.unit().is_some() => {
            format!("write the unit after the number: `500.{}`", quantity.unit().unwrap_or_default())
        }
        _ => "compare two values of the same sort".to_owned(),
    };
    misuse(format!("cannot compare {} with {}", words_of(left), words_of(right)), help)
}

/// Teaches an engine all units, comparisons and sums.
pub(super) fn register(engine: &mut Engine) {
    for (name, _) in UNITS {
        engine.register_get(name, move |number: &mut Dynamic| with_unit(number, name));
    }
    comparisons!(engine, Length);
    comparisons!(engine, Pace);
    comparisons!(engine, Volume);
    comparisons!(engine, Date);
    comparisons!(engine, Days);
    comparisons!(engine, Months);
    refusals!(engine, Thing);
    refusals!(engine, HasView);
    refusals!(engine, MaybeView);
    refusals!(engine, Answer);
    for name in ["to_string", "print", "to_debug"] {
        engine
            .register_fn(name, |length: &mut Length| length.to_string())
            .register_fn(name, |pace: &mut Pace| pace.to_string())
            .register_fn(name, |volume: &mut Volume| volume.to_string())
            .register_fn(name, |day: &mut Date| shown_day(*day))
            .register_fn(name, |days: &mut Days| days.to_string())
            .register_fn(name, |months: &mut Months| months.to_string());
    }
    sums::register(engine);
}
