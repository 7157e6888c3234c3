//! Days, moments and the house's few words as columns of text.

use jiff::Timestamp;
use jiff::civil::Date;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::failure::Trouble;

/// What is said where a kept value is not what this program writes.
pub(super) const UNREADABLE: Trouble = Trouble::Damaged("a kept value is not what belongs there");

/// The day that a column holds.
pub(super) fn day(text: &str) -> Result<Date, Trouble> {
    text.parse().map_err(|_| UNREADABLE)
}

/// The moment that a column holds.
pub(super) fn moment(text: &str) -> Result<Timestamp, Trouble> {
    text.parse().map_err(|_| UNREADABLE)
}

/// A moment as a column holds it: to the whole second below, so that texts compare as moments do.
pub(super) fn written_moment(moment: Timestamp) -> String {
    Timestamp::from_second(moment.as_second()).unwrap_or(moment).to_string()
}

/// The word of a few that a column holds.
pub(super) fn word<T: DeserializeOwned>(text: &str) -> Result<T, Trouble> {
    serde_json::from_value(text.into()).map_err(|_| UNREADABLE)
}

/// A word of a few as a column holds it.
pub(super) fn written_word<T: Serialize>(word: &T) -> String {
    match serde_json::to_value(word) {
        Ok(serde_json::Value::String(text)) => text,
        _ => unreachable!("only words of a few are written so"),
    }
}

/// A body as its column holds it.
pub(super) fn written_body<T: Serialize>(body: &T) -> String {
    serde_json::to_string(body).expect("texts, numbers and days can always be written to memory")
}

/// The body that a column holds. What the parser says may quote a kept value, so it goes no further.
pub(super) fn body<T: DeserializeOwned>(text: &str) -> Result<T, Trouble> {
    serde_json::from_str(text).map_err(|_| UNREADABLE)
}
