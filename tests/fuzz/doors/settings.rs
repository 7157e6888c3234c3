//! The settings file, by any text, and what is written of settings that were read.

use tickover::settings::{parse, render};

/// A settings file's bytes; what is no UTF-8 is refused before it comes here.
pub(super) fn settings(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let (settings, problems) = parse(text, "tickover.toml");
    for problem in &problems {
        assert!(!problem.to_string().is_empty());
    }
    let Some(settings) = settings else {
        assert!(!problems.is_empty(), "nothing was read, and nobody is told");
        return;
    };
    let (again, _) = parse(&render(&settings), "tickover.toml");
    assert!(again.is_some(), "what is written cannot be read");
}
