//! The rules that a new yard folder starts with; from then on they are the owner's.

/// The shipped rule files: file name and text.
pub const SHIPPED: &[(&str, &str)] = &[
    ("doubtful-reading.rhai", include_str!("../../rules/doubtful-reading.rhai")),
    ("first-service-due.rhai", include_str!("../../rules/first-service-due.rhai")),
    ("missed-checks.rhai", include_str!("../../rules/missed-checks.rhai")),
    ("mot-due.rhai", include_str!("../../rules/mot-due.rhai")),
    ("running-in-breach.rhai", include_str!("../../rules/running-in-breach.rhai")),
    ("service-due.rhai", include_str!("../../rules/service-due.rhai")),
    ("wrong-fuel.rhai", include_str!("../../rules/wrong-fuel.rhai")),
    ("wrong-oil.rhai", include_str!("../../rules/wrong-oil.rhai")),
];
