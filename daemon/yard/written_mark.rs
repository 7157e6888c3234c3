//! A registration mark as people write it: with points between its groups, with a remark such as its colour behind it.

use super::Mark;
use crate::origin::SheetName;

/// Words behind a mark that say what the machine looks like, and not that it has another mark. `Was KV18 TAA`, `sold` and
/// `old plate` may say so and are none of them. Common practice, no source.
const LOOKS: &str = "amber beige black blue bronze brown burgundy charcoal copper cream dark gold green grey gray gunmetal \
                     ivory light magenta maroon matt metallic navy orange pearl pink purple red silver teal tan turquoise \
                     two-tone violet white yellow bike moped motorbike motorcycle scooter trike";

/// The mark in a text that is more than one: points are dropped, and what stands behind it in brackets or after a blank
/// where it only says what the machine looks like. `None` where it is not certain to be a mark: what is left has not the
/// shape of one with its letter or number of the year, which no remark and no stock number has by chance.
pub(super) fn within(text: &str) -> Option<Mark> {
    let is_part =
        |sign: char| sign.is_whitespace() || matches!(sign, '(' | ')' | '[' | ']' | ',' | ';' | '/');
    let is_look = |word: &&str| LOOKS.split_whitespace().any(|look| word.eq_ignore_ascii_case(look));
    let parts: Vec<&str> = text.split(is_part).filter(|part| !part.is_empty()).collect();
    let looks = parts.iter().rev().take_while(|part| is_look(part)).count();
    let written: String = parts[..parts.len() - looks].concat().chars().filter(|sign| *sign != '.').collect();
    Mark::new(&written).filter(has_its_year)
}

/// The mark of the machine that a whole worksheet is about, where its name is one.
pub(super) fn of_sheet(name: &SheetName) -> Option<Mark> {
    within(name.sheet.as_deref()?)
}

/// Whether a mark has a style of Great Britain that says its year: `AB12 CDE` since 2001, `A123 BCD` and `ABC 123D` before.
/// DVLA, 'Vehicle registration numbers and number plates' (INF104), from memory.
fn has_its_year(mark: &Mark) -> bool {
    // A sign that is neither letter nor figure stands for one that nobody could read.
    let is_whole = mark.as_str().bytes().all(|sign| sign.is_ascii_alphanumeric());
    let groups = groups(mark.as_str());
    is_whole
        && matches!(
            groups[..],
            [(true, 2), (false, 2), (true, 3)]
                | [(true, 1), (false, 1..=3), (true, 3)]
                | [(true, 3), (false, 1..=3), (true, 1)]
        )
}

/// The runs of letters (`true`) and of figures with the length of each.
fn groups(mark: &str) -> Vec<(bool, usize)> {
    let mut groups: Vec<(bool, usize)> = Vec::new();
    for sign in mark.bytes() {
        let is_letter = sign.is_ascii_alphabetic();
        match groups.last_mut() {
            Some((kind, length)) if *kind == is_letter && (is_letter || sign.is_ascii_digit()) => {
                *length += 1
            }
            _ => groups.push((is_letter, 1)),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mark_is_read_through_points_and_a_remark_on_its_looks() {
        for text in [
            "gx.22.pah",
            "GX22-PAH.",
            "gx 22 pah.",
            "GX22PAH (black)",
            "GX22 PAH black",
            "GX22PAH [Matt Black]",
            "GX22PAH, red",
            "GX22PAH red",
            "GX22PAH (scooter)",
        ] {
            assert_eq!(within(text).map(|mark| mark.to_string()).as_deref(), Some("GX22 PAH"), "{text}");
        }
        assert_eq!(within("r.123.abc").map(|mark| mark.to_string()).as_deref(), Some("R123ABC"));
        assert_eq!(within("ABC 123D. (red)").map(|mark| mark.to_string()).as_deref(), Some("ABC123D"));
    }

    #[test]
    fn what_may_be_another_mark_or_none_is_no_mark() {
        for text in [
            "GX22PAH (was KV18TAA)",
            "GX22PAH (sold)",
            "GX22PAH (not yet)",
            "GX22PAH / KV18TAA",
            "GX22PAH?",
            "GX22PA?",
            "GX22PAH (old)",
            "12.5",
            "A.1",
            "Heron.400",
            "7 TAD (red)",
            "black",
            "",
            "()",
            "GX22 (black) PAH",
            "ÄX22PAH.",
            "GX?2 PAH",
            "A?BCD",
            "R&DEP",
            "ABC?D",
        ] {
            assert_eq!(within(text), None, "{text}");
        }
    }
}
