//! Which names are the same however they are written: a service item, a person, a check before handover.

/// The ways in which the trade writes the two checks before handover.
const FAMILIES: [&[&str]; 2] = [
    &[
        "pdi",
        "pre delivery",
        "pre delivery check",
        "pre delivery inspection",
        "predelivery",
        "predelivery check",
        "predelivery inspection",
    ],
    &["qc", "quality check", "quality control", "quality inspection", "second check", "2nd check"],
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
    text.to_lowercase()
        .chars()
        .filter(|letter| !matches!(letter, '\'' | '’'))
        .collect::<String>()
        .split(|letter: char| !letter.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// Whether two texts are the same words, whatever their case, blanks and punctuation.
pub fn same_words(left: &str, right: &str) -> bool {
    words_of(left) == words_of(right)
}

/// A check's name in the one form by which its ways of writing are compared: `P.D.I. done` is
/// `pre delivery inspection`, as is `PDI`.
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
        Some(family) => family.iter().max_by_key(|name| name.len()).map_or(key, |name| (*name).to_owned()),
        None => key,
    }
}
