//! Which names are the same however they are written: a service item, a check before handover.

use std::borrow::Cow;

/// The ways in which the trade writes the two checks before handover; the first of each stands for all.
const FAMILIES: [&[&str]; 2] = [
    &[
        "pdi",
        "pdi check",
        "pdi inspection",
        "full pdi",
        "new bike pdi",
        "pre del",
        "pre del inspection",
        "pre delivery inspection pdi",
        "pre delivery",
        "pre delivery check",
        "pre delivery inspection",
        "predelivery",
        "predelivery check",
        "predelivery inspection",
    ],
    &[
        "qc",
        "quality check",
        "quality chk",
        "quality control",
        "quality control check",
        "quality inspection",
        "final quality check",
        "final qc",
        "pdi quality check",
        "second check",
        "second person check",
        "2nd check",
    ],
];

/// Words that stand beside a check's name in a header or a cell and do not make another check of it.
const BESIDE: [&str; 13] = [
    "and",
    "by",
    "complete",
    "completed",
    "date",
    "done",
    "off",
    "ok",
    "passed",
    "result",
    "sheet",
    "signed",
    "status",
];

/// A text in small letters, as words of letters and digits; apostrophes vanish, all else parts words.
pub fn words_of(text: &str) -> Vec<String> {
    if let Some(words) = plain_words(text) {
        return words.map(str::to_ascii_lowercase).collect();
    }
    text.to_lowercase()
        .chars()
        .filter(|letter| !matches!(letter, '\'' | '’'))
        .collect::<String>()
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// The first word of a text, in letters as they stand there where that saves a copy.
pub fn first_word(text: &str) -> Option<Cow<'_, str>> {
    match plain_words(text) {
        Some(mut words) => words.next().map(Cow::Borrowed),
        None => words_of(text).into_iter().next().map(Cow::Owned),
    }
}

/// Whether two texts are the same words, whatever their case, blanks and punctuation.
pub fn same_words(left: &str, right: &str) -> bool {
    let (Some(mut left_words), Some(mut right_words)) = (plain_words(left), plain_words(right)) else {
        return words_of(left) == words_of(right);
    };
    loop {
        match (left_words.next(), right_words.next()) {
            (None, None) => return true,
            (Some(left), Some(right)) if left.eq_ignore_ascii_case(right) => {}
            _ => return false,
        }
    }
}

/// Whether the words of a text are parts of it but for their capitals: letters that are not ASCII's may become others when
/// they are made small, and an apostrophe inside a word vanishes.
pub fn stands_as_it_is(text: &str) -> bool {
    text.is_ascii() && !text.contains('\'')
}

/// The words of a text as they stand in it, which costs no copy; `None` where an apostrophe or a letter that is not
/// ASCII's may make others of them.
fn plain_words(text: &str) -> Option<impl Iterator<Item = &str>> {
    stands_as_it_is(text)
        .then(|| text.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty()))
}

/// A check's name in the one form by which its ways of writing are compared: `P.D.I. done` is
/// `pdi`, as is `Pre-delivery inspection`.
pub fn check_key(name: &str) -> String {
    let mut words = words_of(name);
    words.retain(|word| !BESIDE.contains(&word.as_str()));
    let letters = words.iter().take_while(|word| word.len() == 1).count();
    if letters > 1 {
        let joined: String = words.drain(..letters).collect();
        words.insert(0, joined);
    }
    let key = words.join(" ");
    let family = FAMILIES.iter().find(|family| family.contains(&key.trim_start_matches("the ")));
    match family {
        Some(family) => family[0].to_owned(),
        None => key,
    }
}

/// Whether a word is one of a list's, in which blanks part them.
pub fn is_among(word: &str, list: &str) -> bool {
    list.split_whitespace().any(|listed| listed == word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_two_checks_are_known_however_they_are_written() {
        for name in ["P.D.I. done", "PDI inspection", "Full PDI", "Pre-delivery inspection (PDI)", "Pre-del"]
        {
            assert_eq!(check_key(name), "pdi", "{name}");
        }
        for name in ["Final quality check", "QC", "Quality chk", "PDI quality check", "Second person check"] {
            assert_eq!(check_key(name), "qc", "{name}");
        }
        for name in ["Final check", "Brakes", "Front brake", "Quality of the paint", ""] {
            assert!(!["pdi", "qc"].contains(&check_key(name).as_str()), "{name}");
        }
    }

    #[test]
    fn texts_of_the_same_words_are_the_same_with_and_without_a_copy_of_them() {
        let cases = [
            ("Brake fluid", "brake  FLUID.", true),
            ("brake-fluid", "Brake fluid", true),
            ("owner's", "owners", true),
            ("Öl", "öl", true),
            ("", " - ", true),
            ("brake fluid", "brake", false),
            ("brake", "brake fluid", false),
            ("brake fluid", "brakefluid", false),
            ("", "brake", false),
        ];
        for (left, right, expected) in cases {
            assert_eq!(same_words(left, right), expected, "{left} {right}");
            assert_eq!(words_of(left) == words_of(right), expected, "{left} {right}");
        }
    }
    #[test]
    fn the_words_of_a_text_are_its_letters_and_figures_in_small_letters() {
        let cases: [(&str, &[&str], Option<&str>); 6] = [
            ("Brake-FLUID, 2nd (DOT 4)", &["brake", "fluid", "2nd", "dot", "4"], Some("Brake")),
            ("  Chain_adjusted\n", &["chain", "adjusted"], Some("Chain")),
            ("Owner's OWN", &["owners", "own"], Some("owners")),
            ("ÖL: 1 Liter", &["öl", "1", "liter"], Some("öl")),
            (" - ", &[], None),
            ("", &[], None),
        ];
        for (text, words, first) in cases {
            assert_eq!(words_of(text), words, "{text}");
            assert_eq!(first_word(text).as_deref(), first, "{text}");
        }
    }
}
