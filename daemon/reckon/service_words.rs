//! Which item of the plan a job's words name: by the trade's words for it, by the distance or the months that they give, or
//! by none, so that they say no more than that it was a service.
//!
//! The words are common practice, no source. All texts are in full, as `in_full` gives them.

use super::changed::JOINING;
use super::history::{self, first_figure};
use super::job_text::says_done;
use super::oil::OTHER_OILS;
use crate::settings::{is_among, words_of};
use crate::units::{Distance, DistanceUnit, Months};
use crate::yard::ServiceItem;

/// The words for the service of every twelve months.
const YEARLY: [&str; 6] =
    ["annual", "annual service", "service annual", "yearly service", "12 month service", "12 months service"];

/// The words for a change of brake fluid that do not name it. Brakes are bled to change what is in them.
const BRAKE_FLUID: [&str; 25] = [
    "bf change",
    "bf changed",
    "bleed brake",
    "bleed brakes",
    "bled brake",
    "bled brakes",
    "bled the brakes",
    "brake bled",
    "brake bleed",
    "brake flush",
    "brake flushed",
    "brake system flush",
    "brake system flushed",
    "brakes bled",
    "brakes flushed",
    "change dot 4",
    "changed dot 4",
    "dot 4 change",
    "dot 4 changed",
    "dot 4 flush",
    "fluid change brakes",
    "fluid changed brakes",
    "flushed brakes",
    "new dot 4",
    "renewed dot 4",
];

/// The words for coolant that do not name it.
const COOLANT: [&str; 2] = ["anti freeze", "antifreeze"];

/// The words for a check of the valve clearances that do not name it so.
const VALVES: [&str; 17] = [
    "shims done",
    "tappets adjusted",
    "tappets checked",
    "tappets done",
    "tappets set",
    "v clearance",
    "v clearances",
    "valve adjustment",
    "valve check",
    "valve clearance",
    "valve clearances",
    "valve clnc",
    "valves adj",
    "valves adjusted",
    "valves checked",
    "valves done",
    "valves set",
];

/// The words for a service at which the engine's oil is changed and little else is done.
const OIL: [&str; 6] =
    ["interim service", "minor service", "oil and filter", "oil change", "oil changed", "oil service"];

/// What stands before a service and does not say which: `general service`, `12000 mile service`, `third service`. What does
/// say which, as `full` does, names nothing where the plan has no item of that name.
const SAYING_NOTHING: &str = "\
    2nd 3rd 4th 5th 6th a all annual autumn basic big bike cycle dealer fifth for fourth full fully general had in km \
    kms large last machine main major mi mile miles month monthly months moped mot motorbike motorcycle normal on our \
    out periodic pre regular routine scheduled scooter season seasonal second sixth spring standard summer the third \
    today usual vehicle was winter year yearly years";

/// What makes another thing of a service that stands before it: `service light reset`.
const ANOTHER_THING: &str = "\
    area bay book books bulletin call campaign charge department dept due history indicator interval intervals kit kits \
    lamp light manual part parts plan record reminder sheet stamp stand station";

/// What is serviced by itself: `service forks`.
const PARTS: &str = "\
    brake brakes caliper calipers calliper callipers carb carbs carburettor chain clutch fork forks front injector \
    injectors rear shock suspension wheel wheels";

/// Words by which the trade knows an item of the plan.
pub(super) fn trade_wordings(item: &ServiceItem) -> &'static [&'static str] {
    let words = words_of(&item.item.value);
    let has = |word: &str| words.iter().any(|known| known == word);
    if has("fluid") && (has("brake") || has("brakes")) {
        &BRAKE_FLUID
    } else if has("coolant") {
        &COOLANT
    } else if has("valve") || has("valves") {
        &VALVES
    } else if has("oil") && !OTHER_OILS.iter().any(|other| has(other)) {
        &OIL
    } else if has("service") && item.then_every_months.as_ref().is_some_and(|every| every.value == YEAR) {
        &YEARLY
    } else {
        &[]
    }
}

const YEAR: Months = Months(12);

/// The item that a service is named after by its distance or months, where the plan has exactly one of them:
/// `4000 mile service`.
pub(super) fn named_by_interval<'s>(
    text: &str,
    unit: DistanceUnit,
    plan: &'s [ServiceItem],
) -> Option<&'s ServiceItem> {
    let intervals = intervals(text, unit);
    let mut named = plan.iter().filter(|item| intervals.iter().any(|interval| interval.is_of(item)));
    named.next().filter(|_| named.next().is_none())
}

/// What a service is named after.
#[derive(Debug, PartialEq, Eq)]
enum Interval {
    Distance(Distance),
    Months(Months),
}

impl Interval {
    fn is_of(&self, item: &ServiceItem) -> bool {
        match self {
            Interval::Distance(distance) => [first_figure(item), item.then_every.as_ref()]
                .into_iter()
                .flatten()
                .any(|figure| figure.value == *distance),
            Interval::Months(months) => {
                history::is_service(item)
                    && item.then_every_months.as_ref().is_some_and(|every| every.value == *months)
            }
        }
    }
}

/// The distances and months right before a service that was done.
fn intervals(text: &str, clock_unit: DistanceUnit) -> Vec<Interval> {
    let pieces = pieces(text);
    let before = pieces.iter().flat_map(|piece| {
        let places = (0..piece.len()).filter(|place| is_service(&piece[*place]));
        places.map(|place| (&piece[..place], &piece[place]))
    });
    before
        .filter_map(|(before, service)| {
            let interval = interval(before, clock_unit)?;
            // The words that belong to the service, so that what calls it off is looked for around all of them.
            let says_which = before.iter().rposition(|word| !says_nothing(word)).map_or(0, |other| other + 1);
            let named = format!("{} {service}", before[says_which..].join(" "));
            says_done(text, &named).then_some(interval)
        })
        .collect()
}

/// The distance or the months that some words end with.
fn interval(words: &[String], clock_unit: DistanceUnit) -> Option<Interval> {
    /// No plan has longer ones.
    const LONGEST: i64 = 1_000_000;
    let count = |figure: &str| figure.parse::<i64>().ok().filter(|count| (1..LONGEST).contains(count));
    let distance = |count, unit| Some(Interval::Distance(Distance::of(count, unit)));
    let (last, before) = words.split_last()?;
    match (before.last().and_then(|figure| count(figure)), last.as_str()) {
        (Some(count), "mi" | "mile" | "miles") => distance(count, DistanceUnit::Miles),
        (Some(count), "km" | "kms") => distance(count, DistanceUnit::Kilometres),
        (Some(count), "month" | "months" | "monthly") => Some(Interval::Months(Months(count))),
        (Some(count), "year" | "years" | "yearly") => Some(Interval::Months(Months(count * YEAR.0))),
        _ => distance(count(last)?, clock_unit),
    }
}

/// Whether a job's text says of some service that it was done, and not of which: alone, or beside other works.
pub(super) fn is_bare_service(text: &str) -> bool {
    let is_bare = |piece: &Vec<String>, place: usize| {
        let (before, behind) = (&piece[..place], &piece[place + 1..]);
        let says_which = !before.iter().all(|word| says_nothing(word));
        let is_another = behind.first().is_some_and(|word| is_among(word, ANOTHER_THING));
        let is_part = !behind.is_empty() && behind.iter().all(|word| is_among(word, PARTS));
        !says_which && !is_another && !is_part
    };
    let bare = |piece: &Vec<String>| {
        let mut places = (0..piece.len()).filter(|place| is_service(&piece[*place]));
        places.any(|place| is_bare(piece, place) && says_done(text, &piece[..=place].join(" ")))
    };
    pieces(text).iter().any(bare)
}

/// The words of each work that a text speaks of.
fn pieces(text: &str) -> Vec<Vec<String>> {
    const MARKS: [char; 14] = ['.', ',', ';', ':', '(', ')', '/', '+', '&', '!', '?', '\n', '–', '|'];
    let parts = text.split(" - ").flat_map(|part| part.split(MARKS));
    let mut pieces = Vec::new();
    for words in parts.map(words_of) {
        pieces.extend(words.split(|word| is_among(word, JOINING)).map(<[String]>::to_vec));
    }
    pieces
}

/// Whether a word is that for a service.
pub(super) fn is_service(word: &str) -> bool {
    matches!(word, "service" | "serviced")
}

/// Whether a word before a service does not say which it was.
fn says_nothing(word: &str) -> bool {
    word.bytes().all(|letter| letter.is_ascii_digit()) || is_among(word, SAYING_NOTHING)
}

#[cfg(test)]
mod tests {
    use super::super::short_words::in_full;
    use super::{Interval, intervals, is_bare_service};
    use crate::units::{Distance, DistanceUnit, Months};

    #[test]
    fn a_service_that_was_done_is_named_by_the_distance_or_the_months_before_it() {
        let miles = |count| Some(Interval::Distance(Distance::of(count, DistanceUnit::Miles)));
        let months = |count| Some(Interval::Months(Months(count)));
        for (text, named) in [
            ("4000 mile service", miles(4000)),
            ("MOT and 4,000 mile svc", miles(4000)),
            ("6k service", miles(6000)),
            ("1000 km service", Some(Interval::Distance(Distance::of(1000, DistanceUnit::Kilometres)))),
            ("12mth service", months(12)),
            ("2 year service", months(24)),
            ("Service at 4000 miles", None),
            ("CNX: 4000 mile service", None),
            ("no 4000 mile service", None),
            ("4000 mile service due", None),
            ("Service", None),
        ] {
            let found = intervals(&in_full(text), DistanceUnit::Miles);
            assert_eq!(found, Vec::from_iter(named), "{text}");
        }
    }

    #[test]
    fn a_text_that_says_no_more_than_that_it_was_a_service_is_told_from_one_that_says_which() {
        for (text, is_bare) in [
            ("Service", true),
            ("Serviced", true),
            ("Last service", true),
            ("Svc", true),
            ("Service & MOT", true),
            ("Service + MOT", true),
            ("MOT and service", true),
            ("Service, MOT", true),
            ("MOT service", true),
            ("Service; new tyre", true),
            ("Service new tyre", true),
            ("Service chain adjusted", true),
            ("New chain, bike serviced", true),
            ("Fully serviced", true),
            ("Full svc", true),
            ("6k service", true),
            ("24 month service", true),
            ("Service - rear tyre", true),
            ("Service inc. plugs", true),
            ("Interim service", false),
            ("Minor service", false),
            ("First service", false),
            ("Fork service", false),
            ("Brakes serviced", false),
            ("Service brakes", false),
            ("Service front forks", false),
            ("Service light reset", false),
            ("Service book stamped", false),
            ("Service due", false),
            ("Service booked for May", false),
            ("No service yet", false),
            ("CNX: annual service", false),
            ("Full service, booked in for May", false),
            ("needs service", false),
            ("Service?", false),
            ("Serviceable", false),
            ("New tyre", false),
            ("", false),
        ] {
            assert_eq!(is_bare_service(&in_full(text)), is_bare, "{text}");
        }
    }
}
