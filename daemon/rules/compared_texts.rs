//! Texts compared as people read them: capitals and blanks make no other word of one.

use std::cmp::Ordering;

use rhai::{Engine, ImmutableString};

/// How two texts stand to each other, whatever their capitals and blanks: `AB75 CDE` is `ab75cde`, and `Chain` is
/// `chain`. Nobody who writes a rule sees how each sheet writes a word, and one that is missed for that is missed in
/// silence.
pub(super) fn compared(left: &str, right: &str) -> Ordering {
    if left == right {
        return Ordering::Equal;
    }
    if left.is_ascii() && right.is_ascii() {
        return plainly_read_as(left).cmp(plainly_read_as(right));
    }
    read_as(left).cmp(read_as(right))
}

/// Whether two texts are the same to whoever reads them.
pub(super) fn same(left: &str, right: &str) -> bool {
    compared(left, right) == Ordering::Equal
}

/// A text as it is read: two that are read as one are one.
pub(super) fn read_as(text: &str) -> impl Iterator<Item = char> {
    text.chars().filter(|letter| !letter.is_whitespace()).flat_map(char::to_lowercase)
}

/// The same of a text of ASCII's letters alone, as most are: rules compare texts for every machine.
fn plainly_read_as(text: &str) -> impl Iterator<Item = u8> {
    text.bytes()
        .filter(|letter| !char::from(*letter).is_whitespace())
        .map(|letter| letter.to_ascii_lowercase())
}

/// Teaches an engine to compare texts so. It has its own way for two texts, which it must be told not to take.
pub(super) fn register(engine: &mut Engine) {
    type Text = ImmutableString;
    engine.set_fast_operators(false);
    engine
        .register_fn("==", |left: Text, right: Text| same(&left, &right))
        .register_fn("!=", |left: Text, right: Text| !same(&left, &right))
        .register_fn("<", |left: Text, right: Text| compared(&left, &right).is_lt())
        .register_fn("<=", |left: Text, right: Text| compared(&left, &right).is_le())
        .register_fn(">", |left: Text, right: Text| compared(&left, &right).is_gt())
        .register_fn(">=", |left: Text, right: Text| compared(&left, &right).is_ge());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capitals_and_blanks_make_no_other_word_of_a_text() {
        for (left, right) in [
            ("Chain", "chain"),
            (" front  brake ", "Front Brake"),
            ("AB75 CDE", "ab75cde"),
            ("e10", "E 10"),
            ("Zo\u{cb}", "zo\u{eb}"),
            ("\u{a0}B7", "b7"),
        ] {
            assert!(same(left, right), "{left} {right}");
        }
        for (left, right) in [("chain", "chains"), ("E5", "E10"), ("", "a"), ("AB75 CDE", "AB75 CDF")] {
            assert!(!same(left, right), "{left} {right}");
        }
        assert_eq!(compared("chain", "Drive belt"), Ordering::Less, "in the order of a dictionary");
    }
}
