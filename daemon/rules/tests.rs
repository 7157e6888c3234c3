//! Tests of the rules as a whole.

use std::collections::BTreeMap;

use super::*;

/// A rule file with a name and a text.
pub(super) fn file(name: &str, text: &str) -> RuleFile {
    RuleFile { name: name.to_owned(), text: Ok(text.to_owned()) }
}

/// The shipped rules, as a folder would give them.
fn shipped() -> Vec<RuleFile> {
    SHIPPED.iter().map(|(name, text)| file(name.trim_end_matches(".rhai"), text)).collect()
}

#[test]
fn the_shipped_rules_pass_their_own_examples() {
    let (book, problems) = RuleBook::from_files(&shipped(), "rules", &BTreeMap::new());
    let problems: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(problems.join("\n\n"), "");
    assert_eq!(book.rules().count(), 8);
}
