//! The rules that a new yard folder starts with; from then on they are the owner's.

use std::collections::BTreeMap;

/// The shipped rule files: file name and text.
pub const SHIPPED: &[(&str, &str)] = &[
    ("brake-fluid-due.rhai", include_str!("../../rules/brake-fluid-due.rhai")),
    ("doubtful-mark.rhai", include_str!("../../rules/doubtful-mark.rhai")),
    ("doubtful-reading.rhai", include_str!("../../rules/doubtful-reading.rhai")),
    ("first-service-due.rhai", include_str!("../../rules/first-service-due.rhai")),
    ("gone-from-sheets.rhai", include_str!("../../rules/gone-from-sheets.rhai")),
    ("laid-up.rhai", include_str!("../../rules/laid-up.rhai")),
    ("missed-checks.rhai", include_str!("../../rules/missed-checks.rhai")),
    ("mot-due.rhai", include_str!("../../rules/mot-due.rhai")),
    ("registration-missing.rhai", include_str!("../../rules/registration-missing.rhai")),
    ("repeated-fault.rhai", include_str!("../../rules/repeated-fault.rhai")),
    ("running-in-breach.rhai", include_str!("../../rules/running-in-breach.rhai")),
    ("running-in-oil-still-in.rhai", include_str!("../../rules/running-in-oil-still-in.rhai")),
    ("service-due.rhai", include_str!("../../rules/service-due.rhai")),
    ("sheet-not-renewed.rhai", include_str!("../../rules/sheet-not-renewed.rhai")),
    ("torque-recheck-missed.rhai", include_str!("../../rules/torque-recheck-missed.rhai")),
    ("wrong-fuel.rhai", include_str!("../../rules/wrong-fuel.rhai")),
    ("wrong-oil.rhai", include_str!("../../rules/wrong-oil.rhai")),
];

/// The rules that ship, each by its name with its text.
pub fn shipped() -> impl Iterator<Item = (&'static str, &'static str)> {
    SHIPPED.iter().map(|(file, text)| (file.trim_end_matches(".rhai"), *text))
}

/// The text of the rule of that name as it ships.
pub(super) fn shipped_text(name: &str) -> Option<&'static str> {
    shipped().find(|(shipped, _)| *shipped == name).map(|(_, text)| text)
}

/// Whether a rule of that name ships.
pub fn ships(name: &str) -> bool {
    shipped_text(name).is_some()
}

/// Whether a rule of that name is no new one: it ships, or was accepted before.
pub fn is_known(name: &str, accepted: &BTreeMap<String, String>) -> bool {
    accepted.contains_key(name) || ships(name)
}
