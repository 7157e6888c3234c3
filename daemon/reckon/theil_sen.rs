//! The median slope through points with its interval, after Theil and Sen.

/// The normal distribution's 5 % point: both ends of a 90 % interval.
pub(super) const Z_90_PERCENT: f64 = -1.644_853_626_951_472_9;

/// A median slope with both ends of its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slope {
    pub(super) median: f64,
    pub(super) lowest: f64,
    pub(super) highest: f64,
}

/// The Theil-Sen slope of points (x, y) with its interval (Sen 1968), step for step as `scipy.stats.theilslopes`
/// reckons it; `z` is the normal distribution's lower point for the interval, negative. `None` when all x are
/// the same.
pub(super) fn theil_sen(points: &[(f64, f64)], z: f64) -> Option<Slope> {
    let mut slopes = Vec::with_capacity(points.len() * points.len() / 2);
    for (x, y) in points {
        let later = points.iter().filter(|(later, _)| later > x);
        slopes.extend(later.map(|(later, height)| (height - y) / (later - x)));
    }
    slopes.sort_by(f64::total_cmp);
    let last = slopes.len().checked_sub(1)?;
    let middle = slopes.len() / 2;
    let median =
        if slopes.len() % 2 == 1 { slopes[middle] } else { (slopes[middle - 1] + slopes[middle]) / 2.0 };
    let ties =
        ties(points.iter().map(|(x, _)| *x).collect()) + ties(points.iter().map(|(_, y)| *y).collect());
    let deviation = ((spread(points.len()) - ties) / 18.0).max(0.0).sqrt();
    let pairs = slopes.len() as f64;
    let upper = ((pairs - z * deviation) / 2.0).round_ties_even() as usize;
    let lower = ((pairs + z * deviation) / 2.0).round_ties_even() - 1.0;
    Some(Slope {
        median,
        lowest: slopes[(lower.max(0.0) as usize).min(last)],
        highest: slopes[upper.min(last)],
    })
}

/// Eighteen times the variance of Kendall's score of so many values.
fn spread(count: usize) -> f64 {
    let count = count as f64;
    count * (count - 1.0) * (2.0 * count + 5.0)
}

/// What equal values take from that.
fn ties(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.chunk_by(|left, right| left == right).map(|equal| spread(equal.len())).sum()
}
