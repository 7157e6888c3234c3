//! Short words in a job's text that are written with a stroke or with dots of their own: `n/a`, `c/f`, `D.N.A.`.
//!
//! Common practice, no source.

use std::borrow::Cow;

/// A text without the dots of what is short for several words, which end no sentence: `D.N.A.`, `F.O.C.`.
pub(super) fn without_dots_of_its_own(text: &str) -> Cow<'_, str> {
    let is_short = |word: &str| {
        let letters = word.trim_matches(['(', ')', '[', ']', ',', ';', ':']).trim_end_matches('.');
        letters.contains('.')
            && letters
                .split('.')
                .all(|letter| matches!(letter.as_bytes(), [one] if one.is_ascii_alphabetic()))
    };
    if !text.split(' ').any(is_short) {
        return text.into();
    }
    let words: Vec<&str> = text.split(' ').collect();
    let bare = words.iter().enumerate().map(|(place, word)| {
        // A new sentence may begin behind it.
        let next = words.get(place + 1).is_some_and(|next| next.starts_with(char::is_uppercase));
        let ends = if next && word.ends_with('.') { "." } else { "" };
        if is_short(word) { word.replace('.', "") + ends } else { (*word).to_owned() }
    });
    bare.collect::<Vec<_>>().join(" ").into()
}

/// A text with `n/a`, `w/o` and their like as one word, which the stroke would part.
pub(super) fn not_applicable(text: &str) -> Cow<'_, str> {
    const AS_WRITTEN: [(&str, &str); 9] = [
        ("n/a", "na"),
        ("n/d", "undone"),
        ("n/r", "na"),
        ("w/o", "without"),
        ("c/w", "with"),
        ("w/", "with"),
        ("c/f", "cfwd"),
        ("b/f", "bfwd"),
        ("w/c", "commencing"),
    ];
    let word = |part: &str| {
        let bare = part.trim_matches(|letter: char| !letter.is_alphanumeric() && letter != '/');
        let (_, word) = AS_WRITTEN.iter().find(|(written, _)| bare.eq_ignore_ascii_case(written))?;
        Some(part.replace(bare, word))
    };
    match text.split(' ').any(|part| word(part).is_some()) {
        true => {
            let parts = text.split(' ').map(|part| word(part).unwrap_or_else(|| part.to_owned()));
            parts.collect::<Vec<_>>().join(" ").into()
        }
        false => text.into(),
    }
}
