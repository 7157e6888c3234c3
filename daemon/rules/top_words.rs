//! Words at the top of a rule file that stand for `const` or `fn`, or belong elsewhere.

use crate::problem::is_a_slip_of;

/// What to write for a word that does not belong there; with the sign behind it, and the `const` or `fn` on its line.
pub(super) fn help(word: &str, next: Option<&char>, behind: Option<&str>) -> String {
    match word {
        _ if behind.is_some() => {
            format!("take it away: `{}` begins a line", behind.unwrap_or_default())
        }
        _ if is_meant_as(word, "const") || word.to_lowercase() == "constant" => {
            format!("write `const` instead of `{word}`")
        }
        _ if is_meant_as_fn(word) => {
            format!("write `fn` instead of `{word}`")
        }
        "judge" | "applies_to" | "each" => format!("write `fn` before it: `fn {word}(machine)`"),
        "#" | "-" | "/" | "*" | "\u{2013}" | "\u{2014}" | "\u{2022}" => {
            "write // before what is meant for people".to_owned()
        }
        _ if next == Some(&'=') => format!("write `const` before it: `const {word} = ...;`"),
        "let" => "write `const` instead of `let`, and the name in capitals".to_owned(),
        "import" | "export" | "include" | "require" | "use" => {
            "take the line away: a rule has all that it needs in its own file".to_owned()
        }
        "private" => "take `private` away".to_owned(),
        _ => "put it inside a function, or write // before it to make it a comment".to_owned(),
    }
}

/// Whether a word at the top of a rule is another one, in capitals or with a letter amiss.
pub(super) fn is_meant_as(word: &str, other: &str) -> bool {
    word.chars().count() > 2 && is_a_slip_of(word, other)
}

/// Whether a word at the top of a rule stands for `fn`, in capitals or as other languages and hasty hands have it.
pub(super) fn is_meant_as_fn(word: &str) -> bool {
    ["def", "fn", "fnc", "fun", "func", "function", "nf", "sub"].contains(&word.to_lowercase().as_str())
}
