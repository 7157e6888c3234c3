//! What is said of a text, a list or a rule that is larger than one may be, always with the figure.

use super::sandbox::{FUNCTIONS, MAP, NAMES, TEXT_BYTES, WRITTEN_LIST};

/// What is wrong, and what to do.
type Told = (String, &'static str);

/// Of something that the language calls by its own name, such as `Length of string`.
pub(super) fn of(sort: &str) -> Told {
    let sort = sort.to_lowercase();
    if sort.contains("string") {
        let what = format!(
            "the text here is longer than {TEXT_BYTES} letters, the most of one, and of all those of a list"
        );
        return (what, "make it shorter");
    }
    if sort.contains("array") {
        return (
            format!("this list is longer than {WRITTEN_LIST} entries, the most of one"),
            "leave out what no example needs, or make two lists",
        );
    }
    (
        format!("more than {MAP} facts stand in these `#{{ ... }}` together, the most of one list"),
        "leave out what no example needs, or make two lists",
    )
}

/// Of a rule's functions.
pub(super) fn functions() -> Told {
    (format!("a rule has {FUNCTIONS} functions at most"), "take out what it does without, or make two rules")
}

/// Of the names within a rule.
pub(super) fn names() -> Told {
    (
        format!("a rule has {NAMES} names at most"),
        "take out the `let`s that it does without, or make two rules",
    )
}
