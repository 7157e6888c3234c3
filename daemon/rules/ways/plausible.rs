//! What a fact can be at all: below and above, a limit has been mistyped. Each bound is our decision, wide enough for
//! any machine that a small dealer may ever see.

use super::known::{Left, Question};
use super::measured::Scale;
use crate::rules::compared_texts::same;
use crate::rules::facts;
use crate::rules::sort_of_value::Sort;
use crate::units::{Distance, DistanceUnit, Speed, SpeedUnit};

/// The bounds of some facts.
struct Bounds {
    names: &'static [&'static str],
    scale: Scale,
    low: i64,
    high: i64,
    /// What is wrong with a limit below them.
    below: Told,
    /// And above them.
    above: Told,
}

/// What is said of a limit that nothing comes to, and what to do.
#[derive(Clone, Copy)]
pub(super) enum Told {
    /// It is below nought.
    BelowNought,
    /// It lies farther off than any two days do: an owner's way to say never.
    Apart(&'static str, &'static str),
    /// Something else.
    Else(&'static str, &'static str),
}

const FIGURE: &str = "look at the figure and its unit";
const SO_FAR: Told = Told::Else("no machine comes as far as that", FIGURE);
const SO_FAST: Told = Told::Else("no machine on the road is as fast as that", FIGURE);
const SO_MANY: Told = Told::Else("that is more than can be counted here", "look at the figure");
const ENGINE: Told = Told::Else(
    "no machine has an engine of that size",
    "write the size in cc, such as `125`: a plain number without a unit",
);

/// A figure of a plain number, in thousandths.
const fn number(count: i64) -> i64 {
    count * 1_000
}

const fn miles(count: i64) -> i64 {
    Distance::of(count, DistanceUnit::Miles).tenth_millimetres()
}

/// No two days of a machine in a shop lie a hundred years apart; from the day it was built, or first registered, a
/// hundred and fifty. Our decision.
const CENTURY: i64 = 36_500;
const OLDEST: i64 = 54_750;
const APART: Told = Told::Apart("no two days of a machine lie as far apart as that", FIGURE);
const READ_LATER: Told =
    Told::Else("no reading counts that is later than today", "turn the sign round, or name another day");

const fn apart(scale: Scale, high: i64, above: Told, most: i64) -> Bounds {
    Bounds { names: &[], scale, low: -most, high, below: APART, above }
}

/// How far one day lies behind another, in days; and in months, each of them two, as half of one is what lies between.
const BETWEEN: [Bounds; 2] = [
    apart(Scale::Days, CENTURY - 1, APART, CENTURY - 1),
    apart(Scale::Months, 2 * 100 * 12 - 1, APART, 2 * 100 * 12 - 1),
];
const SINCE_BUILT: [Bounds; 2] = [
    apart(Scale::Days, OLDEST - 1, APART, OLDEST - 1),
    apart(Scale::Months, 2 * 150 * 12 - 1, APART, 2 * 150 * 12 - 1),
];
/// How far the day of the last reading lies behind today.
const READ: [Bounds; 2] =
    [apart(Scale::Days, 0, READ_LATER, CENTURY - 1), apart(Scale::Months, 0, READ_LATER, 2 * 100 * 12 - 1)];

/// Days are counted from 1 January 1970; these are 1 January 1885, the year of the first motorcycle, and 2200.
const FIRST_DAY: i64 = -31_045;
const LAST_DAY: i64 = 84_006;
/// 1 January 2020: no letter of this program was ever written before.
const FIRST_TODAY: i64 = 18_262;
/// 1 January 2100: no machine that is in a shop today waits for anything then.
const LAST_DEADLINE: i64 = 47_482;
/// No plan counts more days or months from anything.
const DAYS_AHEAD: i64 = 20 * 366;
const MONTHS_AHEAD: i64 = 20 * 12;

const BOUNDS: [Bounds; 10] = [
    Bounds {
        names: &["clock", "clock_today", "due_distance"],
        scale: Scale::Length,
        low: 0,
        high: miles(500_000),
        below: Told::BelowNought,
        above: SO_FAR,
    },
    // What is overdue has less than nothing left.
    Bounds {
        names: &["distance_left"],
        scale: Scale::Length,
        low: miles(-500_000),
        high: miles(500_000),
        below: SO_FAR,
        above: SO_FAR,
    },
    Bounds {
        names: &["distance_a_week"],
        scale: Scale::Length,
        low: 0,
        high: miles(20_000),
        below: Told::BelowNought,
        above: SO_FAR,
    },
    Bounds {
        names: &["limit", "stage_top_speed", "top_speed"],
        scale: Scale::Pace,
        low: 0,
        high: Speed::of(300, SpeedUnit::MilesAnHour).tenth_millimetres_an_hour(),
        below: Told::BelowNought,
        above: SO_FAST,
    },
    Bounds {
        names: &["engine_cc"],
        scale: Scale::Number,
        low: number(20),
        high: number(10_000),
        below: ENGINE,
        above: ENGINE,
    },
    Bounds {
        names: &["machines", "open", "open_days_since", "signed", "signed_checks", "signer_count"],
        scale: Scale::Number,
        low: 0,
        high: number(1_000_000),
        below: Told::BelowNought,
        above: SO_MANY,
    },
    Bounds {
        names: &["miles_a_gallon", "usually_at_least"],
        scale: Scale::Number,
        low: 0,
        high: number(1_000),
        below: Told::BelowNought,
        above: Told::Else("no machine goes as far on a gallon as that", "look at the figure"),
    },
    Bounds {
        names: &["likely_within()", "perhaps_within()"],
        scale: Scale::Days,
        low: 0,
        high: 100 * 366,
        below: Told::Else(
            "this looks ahead, and the count of days goes back",
            "write a count above nought; what has fallen due already is asked for with `service.due`",
        ),
        above: Told::Else("nothing is planned as far ahead as that", FIGURE),
    },
    Bounds {
        names: &["today"],
        scale: Scale::Days,
        low: FIRST_TODAY,
        high: LAST_DEADLINE,
        below: Told::Else("no letter was ever written for a day as long ago as that", "look at the year"),
        above: Told::Else("that day lies too far ahead to be meant", "look at the year"),
    },
    Bounds {
        names: &[],
        scale: Scale::Days,
        low: FIRST_DAY,
        high: LAST_DAY,
        below: Told::Else("there was no motorcycle on the road yet by that day", "look at the year"),
        above: Told::Else("that day lies too far ahead to be meant", "look at the year"),
    },
];

/// What a value can be before anything is asked of it; `None` where nobody can say.
pub(super) fn at_first(of: &str) -> Option<Left> {
    bounds(of).map(|bounds| Left::Figure(bounds.low, bounds.high))
}

/// Whether the limit of a question lies above all that its value can be, or below; `None` where it is within.
pub(super) fn is_above(question: &Question) -> Option<bool> {
    let bounds = bounds(&question.of)?;
    [&question.yes, &question.no].into_iter().find_map(|answers| {
        let beyond = |is_beyond: fn(&Bounds, i64, i64) -> bool| {
            answers
                .iter()
                .all(|answer| matches!(answer, Left::Figure(low, high) if is_beyond(bounds, *low, *high)))
        };
        if beyond(|bounds, low, _| low > bounds.high) {
            Some(true)
        } else {
            beyond(|bounds, _, high| high < bounds.low).then_some(false)
        }
    })
}

/// What is said of a limit of such a value: below its bounds, or above them.
pub(super) fn told(of: &str, is_above: bool) -> Option<Told> {
    bounds(of).map(|bounds| if is_above { bounds.above } else { bounds.below })
}

/// Whether a value is one of which an owner may well say what always holds: that a reading is no later than today.
pub(super) fn may_always_hold(of: &str) -> bool {
    between(of).is_some_and(|bounds| bounds.high == 0)
}

/// The bounds of how far one day lies behind another, where a value is that.
fn between(of: &str) -> Option<&'static Bounds> {
    let (scale, written) = of.split_once(':')?;
    let (later, earlier) = match scale {
        "days" => written.split_once(" less ")?,
        "months" => written.strip_prefix("after ")?.split_once(" up to ").map(|(from, to)| (to, from))?,
        _ => return None,
    };
    let (later, earlier) = (day_of(later)?, day_of(earlier)?);
    let is_day_of_reading = |day: &str| ["clock_day", "stands_until"].contains(&day);
    let of_scale = |all: &'static [Bounds; 2]| all.iter().find(|bounds| bounds.scale.sign() == scale);
    if is_day_of_reading(later.1) && earlier.1 == "today" && later.0 == earlier.0 {
        return of_scale(&READ);
    }
    let old = [later.1, earlier.1].iter().any(|day| ["built", "registered"].contains(day));
    of_scale(if old { &SINCE_BUILT } else { &BETWEEN })
}

/// The thing and the fact, where a value is one fact that is a day.
fn day_of(written: &str) -> Option<(&str, &str)> {
    let (thing, name) = written.rsplit_once('.')?;
    facts::all().any(|fact| fact.name == name && fact.is == Sort::Day).then_some((thing, name))
}

/// The fact that a value is, by its scale and its last word.
fn bounds(of: &str) -> Option<&'static Bounds> {
    if let Some(bounds) = between(of) {
        return Some(bounds);
    }
    let (scale, name) = fact_of(of)?;
    let is_day = || facts::all().any(|fact| fact.name == name && fact.is == Sort::Day);
    let of_scale = |bounds: &&Bounds| bounds.scale.sign() == scale;
    let named = BOUNDS.iter().filter(of_scale).find(|bounds| bounds.names.contains(&name));
    named.or_else(|| BOUNDS.iter().filter(of_scale).find(|bounds| bounds.names.is_empty() && is_day()))
}

/// The scale of a value and the name of its fact, where it is one fact and nothing else.
fn fact_of(of: &str) -> Option<(&str, &str)> {
    let (scale, written) = of.split_once(':')?;
    let is_one = !written.contains(" less ") && !written.starts_with("after ");
    let is_name = |name: &&str| {
        name.trim_end_matches("()").chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_')
    };
    let name = written.rsplit_once('.').filter(|_| is_one).map(|(_, name)| name).filter(is_name)?;
    Some((scale, name))
}

/// Whether a fact is counted in whole numbers.
pub(super) fn is_whole(of: &str) -> bool {
    fact_of(of).is_some_and(|(_, name)| facts::all().any(|fact| fact.name == name && fact.is == Sort::Whole))
}

/// Whether nobody can act by a day: a fixed one, or so many days and months before or after another.
pub(super) fn is_no_deadline(is_fixed: bool, days: i64, months: i64) -> bool {
    if is_fixed {
        return !(FIRST_TODAY..LAST_DEADLINE).contains(&days);
    }
    days.saturating_abs() > DAYS_AHEAD || months.saturating_abs() > MONTHS_AHEAD
}

/// Whether all words that a fact can be have been shut out.
pub(super) fn is_no_word_left(of: &str, left: &Left) -> bool {
    let Left::OtherWord(others) = left else { return false };
    let Some((_, name)) = fact_of(of) else { return false };
    let words = facts::all().filter(|fact| fact.name == name).find_map(|fact| match fact.is {
        Sort::OneOf(words) => Some(words),
        _ => None,
    });
    words.is_some_and(|words| words.iter().all(|word| others.iter().any(|other| same(other, word))))
}
