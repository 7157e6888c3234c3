//! The slip of the hand that most likely made a reading that cannot be so.

use jiff::civil::Date;

use super::clock::{UNLIKELY_A_DAY, miles_for};
use crate::units::{Days, Distance, DistanceUnit};
use crate::yard::Reading;

/// What a figure most likely should have been, and how it came to be written.
pub(super) struct Slip {
    /// 0 for a slip that few figures allow, 1 for one that almost any figure does.
    pub(super) rank: u8,
    /// Whether two neighbouring digits changed places. Of the slips that may be behind one reading it is the commonest
    /// (common practice, no source) and goes first; but most figures have one that fits, so that it does not tell
    /// which of two readings is wrong.
    pub(super) swapped: bool,
    /// The slip in words.
    pub(super) words: String,
    /// What was meant.
    pub(super) meant: Distance,
}

/// The likeliest slip behind a reading that does not fit between its trusted neighbours: of those that would
/// make it fit, a doubled digit, two swapped ones or the wrong unit before others, and then the one that lands
/// nearest to where it was to be expected. `None` when none would.
pub(super) fn likely_slip(
    reading: &Reading,
    before: Option<&Reading>,
    behind: Option<&Reading>,
    unit: DistanceUnit,
) -> Option<Slip> {
    let expected = match (before, behind) {
        (Some(before), Some(behind)) => between(before, behind, reading),
        (Some(beside), None) | (None, Some(beside)) => beside.clock.value,
        (None, None) => return None,
    };
    let day = reading.day.value;
    let fits = |meant: Distance| {
        before.is_none_or(|before| is_believable(before.day.value, before.clock.value, day, meant))
            && behind.is_none_or(|behind| is_believable(day, meant, behind.day.value, behind.clock.value))
    };
    slips(reading.clock.value, unit)
        .into_iter()
        .filter(|slip| fits(slip.meant))
        .min_by_key(|slip| (if slip.swapped { 0 } else { slip.rank }, slip.meant.gap_to(expected)))
}

/// The figures that were meant if one of two equal neighbouring digits was typed twice.
pub(super) fn typed_twice(written: Distance, unit: DistanceUnit) -> Vec<Slip> {
    let digits = digits(written, unit).unwrap_or_default();
    fewer_digits(&digits, unit).into_iter().filter(|slip| slip.rank == 0).collect()
}

/// Whether a machine goes from one figure to the other in those days as a matter of course.
fn is_believable(from: Date, start: Distance, to: Date, end: Distance) -> bool {
    start <= end && end - start <= miles_for(UNLIKELY_A_DAY, from, to)
}

/// Where the clock stood on the reading's day, if the machine went evenly from one neighbour to the other.
fn between(before: &Reading, behind: &Reading, reading: &Reading) -> Distance {
    let whole = Days::between(before.day.value, behind.day.value).0.max(1) as f64;
    let part = Days::between(before.day.value, reading.day.value).0 as f64;
    let gone = (behind.clock.value - before.clock.value).count_in(DistanceUnit::Miles);
    before.clock.value + Distance::estimated(gone * part / whole, DistanceUnit::Miles)
}

/// Every slip that could have made a figure.
fn slips(written: Distance, unit: DistanceUnit) -> Vec<Slip> {
    let mut slips = unit_slips(written, unit);
    let Some(digits) = digits(written, unit) else { return slips };
    slips.extend(fewer_digits(&digits, unit));
    slips.extend(swapped_digits(&digits, unit));
    for place in 0..=digits.len() {
        for digit in b'0'..=b'9' {
            let mut more = digits.clone();
            more.insert(place, digit);
            if let Some(meant) = figure(&more, unit) {
                slips.push(Slip { rank: 1, swapped: false, meant, words: "a digit was dropped".to_owned() });
            }
        }
    }
    slips
}

/// The digits of a whole figure; `None` for one with a tenth or below nothing.
fn digits(written: Distance, unit: DistanceUnit) -> Option<Vec<u8>> {
    let whole = written.count_in(unit).round() as i64;
    let is_whole = !written.is_negative() && Distance::of(whole, unit) == written;
    is_whole.then(|| whole.to_string().bytes().collect())
}

/// Every figure with one digit less.
fn fewer_digits(digits: &[u8], unit: DistanceUnit) -> Vec<Slip> {
    let mut slips = Vec::new();
    for place in 0..digits.len() {
        let mut fewer = digits.to_vec();
        fewer.remove(place);
        let twice = [place.wrapping_sub(1), place + 1]
            .iter()
            .any(|beside| digits.get(*beside) == Some(&digits[place]));
        if let Some(meant) = figure(&fewer, unit) {
            let (rank, how) =
                if twice { (0, "a digit was typed twice") } else { (1, "there is a digit too many") };
            slips.push(Slip {
                rank,
                swapped: false,
                meant,
                words: format!("{how}: {} was meant", meant.shown_in(unit)),
            });
        }
    }
    slips
}

/// Every figure with two neighbouring digits the other way round.
fn swapped_digits(digits: &[u8], unit: DistanceUnit) -> Vec<Slip> {
    let swapped = (1..digits.len()).filter(|place| digits[*place] != digits[place - 1]).filter_map(|place| {
        let mut swapped = digits.to_vec();
        swapped.swap(place - 1, place);
        let meant = figure(&swapped, unit)?;
        let words = format!("two digits were swapped: {} was meant", meant.shown_in(unit));
        Some(Slip { rank: 1, swapped: true, meant, words })
    });
    swapped.collect()
}

/// The count that was written in the other unit than the clock's.
fn unit_slips(written: Distance, unit: DistanceUnit) -> Vec<Slip> {
    let (other, how) = match unit {
        DistanceUnit::Miles => (DistanceUnit::Kilometres, "kilometres were written for miles"),
        DistanceUnit::Kilometres => (DistanceUnit::Miles, "miles were written for kilometres"),
    };
    let meant = Distance::estimated(written.count_in(unit), other);
    vec![Slip {
        rank: 0,
        swapped: false,
        meant,
        words: format!("{how}: {} was meant", meant.shown_whole_in(unit)),
    }]
}

/// The distance that a row of digits counts; `None` for a leading zero or no digit at all.
fn figure(digits: &[u8], unit: DistanceUnit) -> Option<Distance> {
    if digits.first() == Some(&b'0') {
        return None;
    }
    let count: i64 = std::str::from_utf8(digits).ok()?.parse().ok()?;
    Some(Distance::of(count, unit)).filter(|distance| *distance <= Distance::FARTHEST)
}
