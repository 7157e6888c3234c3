//! Pictures among the letters of a text: ticks, crosses, empty boxes, thumbs and coloured dots. What one says that is not
//! listed here nobody knows.

/// Says only whether the picture before it is drawn in colour.
pub(super) const VARIANT: char = '\u{fe0f}';

/// Whether a letter is a picture that means something by itself: a tick, a box, a thumb, a coloured dot. The blocks of
/// Unicode that hold such: Miscellaneous Technical, Geometric Shapes to Dingbats, Miscellaneous Symbols and Arrows, and the
/// plane of pictographs.
pub(super) fn is_picture(letter: char) -> bool {
    is_tick(letter)
        || is_cross(letter)
        || matches!(letter, '\u{2300}'..='\u{23ff}' | '\u{25a0}'..='\u{27bf}' | '\u{2b00}'..='\u{2bff}' | '\u{1f000}'..='\u{1faff}')
}

/// A tick.
pub(super) fn is_tick(letter: char) -> bool {
    matches!(letter, '✓' | '✔' | '☑' | '✅' | '√' | '🗸')
}

/// A picture that approves of what stands beside it, as in `OK👍`.
pub(super) fn is_approving(letter: char) -> bool {
    matches!(letter, '👍' | '👌' | '🆗' | '🟢' | '🟩' | '💚' | '💯')
}

/// The colour of the skin of the picture before it.
pub(super) fn is_shade(letter: char) -> bool {
    matches!(letter, '\u{1f3fb}'..='\u{1f3ff}')
}

/// Whether a text is one picture that a shop may put for done, or for failed: it approves, or is a plain filled shape. An
/// empty one (`○`), a red one or any other is not among them.
pub(super) fn is_one_sign(text: &str) -> bool {
    let mut letters = text.chars().filter(|letter| *letter != VARIANT && !is_shade(*letter));
    let is_plain = |letter: char| matches!(letter, '●' | '⬤' | '★' | '⭐' | '■' | '◆');
    letters.next().is_some_and(|first| is_approving(first) || is_plain(first)) && letters.next().is_none()
}

/// A cross.
pub(super) fn is_cross(letter: char) -> bool {
    matches!(letter, '✗' | '✘' | '✕' | '✖' | '❌' | '☒' | '×')
}

/// A box that nobody has ticked.
pub(super) fn is_empty_box(letter: char) -> bool {
    matches!(letter, '☐' | '□' | '▢' | '◻' | '◽' | '▫' | '⬜' | '🔲' | '🔳')
}

/// Whether a plain text holds a picture that is neither tick nor cross, so that its words alone do not say what it says.
pub(super) fn has_other_picture(plain: &str) -> bool {
    plain.chars().any(|letter| is_picture(letter) && !is_tick(letter) && !is_cross(letter))
}

/// Whether a text about work holds a sign by which part of it may not have been done: a cross, an empty box (`☐`, `[ ]`), what
/// is struck out (`~~service~~`), or a picture that is neither a tick nor plainly harmless. Common practice, no source.
pub fn may_take_back(text: &str) -> bool {
    const HARMLESS: &str = "👍👌🎉🔧🔩🔨🛠⚙🏍🛵🚚⛽🛞🔋📝⭐";
    let is_doubtful = |letter: char| is_picture(letter) && !is_tick(letter) && !HARMLESS.contains(letter);
    text.contains("[ ]") || text.contains("[]") || text.contains("~~") || text.chars().any(is_doubtful)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sign_that_may_take_work_back_is_seen_and_a_harmless_one_is_not() {
        for text in [
            "❌ Annual service",
            "Annual service ⏳",
            "☐ service",
            "[ ] service",
            "~~service~~",
            "service 🔴",
            "🚫",
        ] {
            assert!(may_take_back(text), "{text}");
        }
        for text in [
            "✅ Annual service",
            "service 👍",
            "🔧 service",
            "[x] service",
            "service - £180 (inc. VAT)",
            "½ inch",
        ] {
            assert!(!may_take_back(text), "{text}");
        }
    }
}
