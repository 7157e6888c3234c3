//! Words that an owner may well write for those of a rule, each with the one that is meant.

use super::sort_of_value::Kind;

/// For units.
const UNITS: &[(&str, &str)] = &[
    ("mi", "miles"),
    ("m", "miles"),
    ("mls", "miles"),
    ("kms", "km"),
    ("kilometre", "km"),
    ("kilometres", "km"),
    ("kilometer", "km"),
    ("kilometers", "km"),
    ("kph", "kmh"),
    ("kmph", "kmh"),
    ("d", "days"),
    ("wk", "weeks"),
    ("wks", "weeks"),
    ("fortnight", "weeks"),
    ("fortnights", "weeks"),
    ("mth", "months"),
    ("mths", "months"),
    ("yr", "years"),
    ("yrs", "years"),
    ("l", "litres"),
    ("ltr", "litres"),
    ("liter", "litres"),
    ("liters", "litres"),
    ("meile", "miles"),
    ("meilen", "miles"),
    ("tag", "days"),
    ("tage", "days"),
    ("woche", "weeks"),
    ("wochen", "weeks"),
    ("monat", "months"),
    ("monate", "months"),
    ("jahr", "years"),
    ("jahre", "years"),
];

/// For words that stand alone.
const WORDS_ALONE: &[(&str, &str)] = &[
    ("today", "machine.today"),
    ("now", "machine.today"),
    ("yes", "true"),
    ("no", "false"),
    ("ja", "true"),
    ("nein", "false"),
    ("true", "true"),
    ("false", "false"),
    ("has", "machine.has"),
    ("maybe", "machine.maybe"),
];

/// For answers.
const ANSWERS: &[(&str, &str)] = &[
    ("phone", "ring"),
    ("telephone", "ring"),
    ("call", "ring"),
    ("ring_today", "ring"),
    ("book", "book_in"),
    ("workshop", "bench"),
    ("on_the_bench", "bench"),
    ("keep", "keep_in_yard"),
    ("hold", "keep_in_yard"),
    ("keep_in_the_yard", "keep_in_yard"),
    ("correct", "fix_sheet"),
    ("put_the_sheet_right", "fix_sheet"),
    ("ok", "clear"),
    ("fine", "clear"),
    ("nothing", "clear"),
    ("unknown", "cannot_tell"),
];

/// For facts.
const FACTS: &[(&str, &str)] = &[
    ("mileage", "clock"),
    ("miles", "clock"),
    ("odometer", "clock"),
    ("reading", "clock"),
    ("reg", "mark"),
    ("registration", "mark"),
    ("plate", "mark"),
    ("vin", "frame_no"),
    ("chassis", "frame_no"),
    ("frame", "frame_no"),
    ("stock", "stock_no"),
    ("owner", "customer"),
    ("phone", "telephone"),
    ("type", "kind"),
    ("delivered", "handover"),
    ("delivery", "handover"),
    ("cc", "engine_cc"),
];

/// The unit that such a word stands for.
pub(super) fn unit(word: &str) -> Option<&'static str> {
    meant(UNITS, word)
}

/// What is counted by a plain number, and written behind one as if it were a unit.
pub(super) fn is_counted(word: &str) -> bool {
    let more = ["checks", "faults", "people", "jobs", "times", "cc"];
    more.contains(&word) || Kind::ALL.iter().any(|kind| word.strip_suffix('s') == Some(kind.word()))
}

/// The word, or the fact with its machine, that such a word stands for.
pub(super) fn word(word: &str) -> Option<&'static str> {
    meant(WORDS_ALONE, word)
}

/// The answer that such a word stands for.
pub(super) fn answer(word: &str) -> Option<&'static str> {
    meant(ANSWERS, word)
}

/// The fact that such a word stands for.
pub(super) fn fact(word: &str) -> Option<&'static str> {
    meant(FACTS, word)
}

fn meant(words: &[(&str, &'static str)], word: &str) -> Option<&'static str> {
    let word = word.to_lowercase();
    words.iter().find(|(other, _)| *other == word).map(|(_, meant)| *meant)
}

#[cfg(test)]
mod tests {
    use super::super::reference::WORDS;
    use super::super::{facts, quantity};
    use super::*;

    #[test]
    fn what_is_meant_is_always_a_word_of_a_rule_and_the_other_never_is() {
        let is_unit = |word: &str| quantity::UNITS.iter().any(|(unit, _)| *unit == word);
        let is_answer = |word: &str| WORDS.iter().any(|known| known.on.is_none() && known.name == word);
        let is_fact = |word: &str| facts::named(Kind::Machine, word).is_some();
        for (other, meant) in UNITS {
            assert!(is_unit(meant) && !is_unit(other), "{other}");
        }
        for (other, meant) in ANSWERS {
            assert!(is_answer(meant) && !is_answer(other), "{other}");
        }
        for (other, meant) in FACTS {
            assert!(is_fact(meant) && !is_fact(other), "{other}");
        }
    }
}
