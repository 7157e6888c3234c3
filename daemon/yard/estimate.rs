//! Figures that somebody has estimated, as `8,120 (est)` and `c. 7000` say of themselves.

/// What is written before such a figure, longer words first. Common practice, no source.
const BEFORE: [&str; 17] = [
    "approximately",
    "estimated",
    "approx.",
    "roughly",
    "approx",
    "around",
    "about",
    "circa",
    "est.",
    "est",
    "abt",
    "ca.",
    "ca",
    "c.",
    "c",
    "~",
    "≈",
];

/// What is written behind it.
const BEHIND: [&str; 11] = [
    "(estimated)",
    "(estimate)",
    "(approx.)",
    "(approx)",
    "(est.)",
    "(est)",
    "estimated",
    "approx.",
    "approx",
    "est.",
    "est",
];

/// The figure of an estimate without the word that says so; `None` where a text does not call itself one.
pub(super) fn bare(text: &str) -> Option<&str> {
    let text = text.trim();
    // A plain figure, as nearly all are.
    if text.bytes().all(|byte| byte.is_ascii_digit() || byte == b',' || byte == b'.') {
        return None;
    }
    let starts_with_figure = |rest: &&str| rest.starts_with(|letter: char| letter.is_ascii_digit());
    let before = BEFORE.iter().find_map(|word| {
        let (start, rest) = text.split_at_checked(word.len())?;
        start.eq_ignore_ascii_case(word).then(|| rest.trim_start()).filter(starts_with_figure)
    });
    let behind = || {
        BEHIND.iter().find_map(|word| {
            let (rest, end) = text.split_at_checked(text.len().checked_sub(word.len())?)?;
            end.eq_ignore_ascii_case(word).then(|| rest.trim_end()).filter(starts_with_figure)
        })
    };
    before.or_else(behind)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_that_calls_itself_an_estimate_is_parted_from_the_word() {
        for (text, figure) in [
            ("8,120 (est)", "8,120"),
            ("c. 7000", "7000"),
            ("c7000", "7000"),
            ("approx 7,000", "7,000"),
            ("Approx. 7000 miles", "7000 miles"),
            ("~7000", "7000"),
            ("7k est.", "7k"),
            ("about 12 km", "12 km"),
        ] {
            assert_eq!(bare(text), Some(figure), "{text}");
        }
        for text in ["7000", "7000?", "TMU", "cat", "est", "7000/7012", "ca", "700O", "c. a lot", "est tbc"] {
            assert_eq!(bare(text), None, "{text}");
        }
    }
}
