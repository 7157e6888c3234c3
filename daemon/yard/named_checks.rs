//! What a job's text may name instead of a job: one of the two checks before handover, or a road test.

use crate::settings::{check_key, words_of};

/// Whether a text is the name of a check before handover and no more, whoever says how it came out.
pub(super) fn is_check(text: &str) -> bool {
    let key = check_key(text);
    ["pre-delivery inspection", "quality check"].into_iter().any(|check| check_key(check) == key)
}

/// Whether a text names such a check and says that it was passed, as `PDI done` does. The name alone may be of one that
/// failed.
pub(super) fn is_passed_check(text: &str) -> bool {
    const PASSED: [&str; 5] = ["complete", "completed", "done", "ok", "passed"];
    is_check(text) && words_of(text).iter().any(|word| PASSED.contains(&word.as_str()))
}

/// Whether a text is the name of a road test and no more: `Road test`, `2nd test ride`.
pub(super) fn is_road_test(text: &str) -> bool {
    const WHICH: [&str; 7] = ["1", "2", "1st", "2nd", "first", "second", "done"];
    const ROAD_TESTS: [&str; 7] =
        ["ride", "road test", "road tested", "roadtest", "rt", "shakedown ride", "test ride"];
    let mut words = words_of(text);
    words.retain(|word| !WHICH.contains(&word.as_str()));
    ROAD_TESTS.contains(&words.join(" ").as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_check_is_passed_only_where_its_text_says_so() {
        // Common practice, no source.
        for text in ["PDI done", "P.D.I. complete", "Pre-delivery inspection - passed", "QC ok"] {
            assert!(is_passed_check(text), "{text}");
        }
        for text in ["PDI", "Quality check", "2nd check"] {
            assert!(is_check(text) && !is_passed_check(text), "{text}");
        }
        for text in
            ["PDI not done", "PDI failed", "PDI and first service", "Oil change done", "Brakes ok", ""]
        {
            assert!(!is_check(text), "{text}");
        }
    }

    #[test]
    fn a_road_test_is_one_where_nothing_else_is_named() {
        for text in ["Road test", "2nd road test", "Road test 1", "Test ride"] {
            assert!(is_road_test(text), "{text}");
        }
        for text in ["Road test after brake pads", "Brakes, road tested", "Service", ""] {
            assert!(!is_road_test(text), "{text}");
        }
    }
}
