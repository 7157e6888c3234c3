//! What an owner may not have meant, and may have: said of a rule, which is in force all the same.

use super::examples::Example;
use super::names::Names;
use super::outline::Outline;
use super::source::{Slip, Source};
use super::value::Value;
use super::vet_unused;
use super::ways;

/// What an example expects that shows the rule raising nothing.
const RAISES_NOTHING: [&str; 4] = ["clear", "too long ago", "cannot tell", "does not apply"];

/// Limits of the rules that ship, of which the first is reached later than the second; with what it means if it is not.
const ORDERED: [(&str, &str, &str); 1] =
    [("RING_AHEAD", "BOOK_AHEAD", "so that it is rung before it would be booked in")];

/// All that is noted of a rule in which nothing is wrong.
pub(super) fn notes(
    source: &Source,
    outline: &Outline,
    names: &Names,
    never_reached: Vec<Slip>,
    examples: &[Example],
) -> Vec<Slip> {
    let turned = turned(outline, names);
    // What comes of two limits that are turned is not said once more.
    let reach = if turned.is_empty() { never_reached } else { Vec::new() };
    let unraised = without_raising(outline, examples);
    [vet_unused::notes(source, outline), turned, reach].into_iter().flatten().chain(unraised).collect()
}

/// Two limits that are known from the rules that ship, the wrong way round.
fn turned(outline: &Outline, names: &Names) -> Vec<Slip> {
    let value = |name: &str| names.values.get(name).and_then(Value::of);
    let turned = ORDERED.iter().filter_map(|(first, second, so)| {
        let (one, other) = (value(first)?, value(second)?);
        let (figure, other_figure) = (ways::figure(&one)?, ways::figure(&other)?);
        (figure.1 == other_figure.1 && figure.0 > other_figure.0).then_some(())?;
        let (one, other) = (one.printed()?, other.printed()?);
        let item = outline.items.iter().find(|item| item.name == *first)?;
        Some(Slip::new(
            item.name_at,
            format!("`{first}` is {one}, and `{second}` only {other}, {so}"),
            "write the longer of the two behind the other name, unless you mean it so",
        ))
    });
    turned.collect()
}

/// That no example shows the rule raising: with a sign turned round, or a limit never met, it would pass them all.
fn without_raising(outline: &Outline, examples: &[Example]) -> Option<Slip> {
    let item = outline.items.iter().find(|item| item.name == "EXAMPLES")?;
    let raises = |example: &Example| !RAISES_NOTHING.contains(&example.expected.as_str());
    (!examples.iter().any(raises)).then(|| Slip::new(item.name_at, "no example shows the rule raising anything", "add one of a machine that it must raise, with `.expect(\"ring\")` or the like: it shows at once if a \
               sign is turned round"
            .to_owned()))
}
