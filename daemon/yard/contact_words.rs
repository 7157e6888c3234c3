//! What people write beside a customer's name or in place of a telephone number that forbids to ring: `no calls`,
//! `deceased`.
//!
//! The words are common practice, no source. The law (UK GDPR, article 21) lets nobody be contacted against an objection;
//! from memory.

use crate::settings::{is_among, words_of};

/// Why somebody is not to be rung.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NotToRing {
    /// It is asked not to: `NO CALLS`, `email only`.
    Asked,
    /// The customer is said to have died.
    Died,
}

/// What a call is called, as a verb and as a thing.
const TO_RING: &str =
    "call called calling contact contacted phone phoned phoning ring ringing rung tel telephone telephoned";
const CALLS: &str = "call calls contact phonecalls ringing";

/// What else a customer may be told by, behind `only by`.
const OTHER_WAYS: &str = "email emails letter letters mail post posted sms text texts write writing";

/// What bounds the time at which somebody is not to be rung, so that there is another at which they are.
const AT_TIMES: &str = "\
    after am at before between daytime during evening evenings friday late monday morning mornings on pm saturday sunday \
    thursday tuesday unless until wednesday weekdays weekend weekends when while";

/// Where somebody is not to be rung, so that there is another place at which they are.
const PLACES: &str = "home house landline mobile office work";

/// Why the customer is not to be rung whose name or number these words are; `None` where nothing forbids it.
pub fn not_to_ring(text: &str) -> Option<NotToRing> {
    let words = words_of(&text.to_lowercase().replace("e-mail", "email").replace("r.i.p", "rip"));
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if has_died(text, &words) {
        return Some(NotToRing::Died);
    }
    let asked = (0..words.len()).find_map(|place| forbids(&words[..place], &words[place..]));
    // `do not email, ring` forbids another thing than that.
    let rings_otherwise = |rest: &[&str]| {
        let is_denied = |place: usize| place > 0 && is_among(rest[place - 1], "dont never no nor not or");
        rest.iter()
            .enumerate()
            .any(|(place, word)| is_among(word, "call phone ring use") && !is_denied(place))
    };
    asked.filter(|rest| !rings_otherwise(rest)).map(|_| NotToRing::Asked)
}

fn has_died(text: &str, words: &[&str]) -> bool {
    let pair = |first: &str, second: &str| words.windows(2).any(|pair| pair[0] == first && pair[1] == second);
    words.iter().any(|word| is_among(word, "deceased decd died"))
        || text.split(|letter: char| !letter.is_alphanumeric()).any(|word| word == "RIP")
        || text.contains("R.I.P")
        || pair("passed", "away")
        || pair("estate", "of")
        || pair("exors", "of")
        || pair("executors", "of")
        || matches!(words, ["the", "late", _, ..])
}

/// The words behind what forbids a call at all times and places, where words begin with that.
fn forbids<'w, 'a>(before: &[&str], words: &'w [&'a str]) -> Option<&'w [&'a str]> {
    let length = match words {
        ["do", "not", verb, ..] if is_among(verb, TO_RING) => 3,
        ["not", "to", "be", verb, ..] if is_among(verb, TO_RING) => 4,
        ["dont" | "never", verb, ..] if is_among(verb, TO_RING) => 2,
        ["no", "phone" | "tel" | "telephone", calls, ..] if is_among(calls, CALLS) => 3,
        ["no", "contact", rest @ ..] if !matches!(rest, [] | ["please", ..]) => return None,
        ["no", calls, ..] if is_among(calls, CALLS) => 2,
        [
            "email" | "mail" | "post" | "sms" | "text" | "texts" | "letter" | "letters" | "writing",
            "only",
            ..,
        ] if !before.last().is_some_and(|word| is_among(word, "and or")) => 2,
        ["only", "by" | "via", way, ..] if is_among(way, OTHER_WAYS) => 3,
        ["opted", "out", ..] | ["opt", "out", ..] => 2,
        [first, ..] if before.is_empty() && is_among(first, "dnc dnr") => 1,
        _ => return None,
    };
    let rest = &words[length..];
    let is_bounded = rest.iter().take(2).any(|word| is_among(word, AT_TIMES))
        || rest.first().is_some_and(|word| is_among(word, PLACES));
    (!is_bounded).then_some(rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn who_is_not_to_be_rung_is_told_from_who_is_not_to_be_rung_at_some_times() {
        // Common practice, no source.
        let asked = [
            "NO CALLS",
            "no phone calls please",
            "do not ring",
            "DON'T CALL",
            "Do not contact",
            "never ring",
            "not to be phoned",
            "email only",
            "E-mail only",
            "01632 960001 text only",
            "texts only 07700 900123",
            "by post only",
            "only by email",
            "opted out",
            "J. Rider - DO NOT PHONE",
            "01632 960004 (NO CALLS)",
            "DNC",
        ];
        let died = [
            "DECEASED",
            "dec'd",
            "G. Rider (deceased)",
            "RIP",
            "R.I.P.",
            "died Oct 25",
            "passed away",
            "Exors of G. Rider",
            "Estate of the late G. Rider",
            "The late G. Rider",
            "deceased - do not ring",
        ];
        let may_be_rung = [
            "01632 960004",
            "01632 960004 do not ring before 9",
            "no calls after 6pm",
            "07700 900123 (don't call at work)",
            "ring late",
            "Rip Rider",
            "D. Late",
            "A. Post",
            "Real Estate Rider",
            "work phone",
            "no contact number",
            "do not text, ring 01632 960001",
            "do not ring home, use mobile",
            "call or text only",
            "",
        ];
        for text in asked {
            assert_eq!(not_to_ring(text), Some(NotToRing::Asked), "{text}");
        }
        for text in died {
            assert_eq!(not_to_ring(text), Some(NotToRing::Died), "{text}");
        }
        for text in may_be_rung {
            assert_eq!(not_to_ring(text), None, "{text}");
        }
    }
}
