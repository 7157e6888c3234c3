//! Reads the receivers who get only some sections of the letter.

use toml::de::DeValue;

use super::PartReceiver;
use super::Settings;
use super::read::{Name, secrets};
use super::text::{Fault, Source};
use super::values::{Value, list, plain_address, words};

/// The heading below `[letter]`, a table of its own.
pub(super) const IN_PART: &str = "in_part";

/// The most receivers of a part: more people than a small shop has.
const RECEIVERS_MOST: usize = 100;

/// Takes the table of receivers in part out of what stands under `[letter]`.
pub(super) fn read_in_part(
    entries: &mut Vec<(Name<'_>, Value<'_>)>,
    settings: &mut Settings,
    source: &Source<'_>,
    faults: &mut Vec<Fault>,
) {
    let Some(place) = entries.iter().position(|(name, _)| name.get_ref() == IN_PART) else { return };
    let (_, value) = entries.remove(place);
    let span = value.span();
    let mut receivers: Vec<_> = match value.into_inner() {
        DeValue::Table(table) if table.len() <= RECEIVERS_MOST => table.into_iter().collect(),
        _ => {
            let help = "Write [letter.in_part] and below it one \"address\" = [\"section\", …] a line. Until then \
                        nobody gets the letter in part.";
            faults.push(Fault::new(span, "`in_part` is a heading with at most 100 addresses below it", help));
            return;
        }
    };
    receivers.sort_by_key(|(name, _)| name.span().start);
    for (name, value) in receivers {
        let known = faults.len();
        let receiver = part_receiver(&name, &value, source, faults);
        for fault in &mut faults[known..] {
            fault.what = format!("`in_part`: {}", fault.what);
            let gets = if receiver.is_some() { "the other sections" } else { "nothing" };
            fault.help.push_str(&format!(" Until then this receiver gets {gets}."));
        }
        settings.in_part.extend(receiver);
    }
}

/// One receiver with at least one section.
fn part_receiver(
    name: &Name<'_>,
    value: &Value<'_>,
    source: &Source<'_>,
    faults: &mut Vec<Fault>,
) -> Option<PartReceiver> {
    let known = faults.len();
    secrets(name, value, faults);
    if faults.len() > known {
        return None;
    }
    let address = plain_address(name.get_ref().trim(), name.span()).map_err(|fault| faults.push(fault)).ok();
    let known = faults.len();
    let sections = list(value, words, faults)?;
    if sections.is_empty() && faults.len() == known {
        let help = "Name the sections as the letter heads them: [\"On the bench\"].";
        faults.push(Fault::new(value.span(), "no section is named", help));
    }
    let place = source.place(&name.span());
    (!sections.is_empty()).then_some(PartReceiver { place, address: address?, sections })
}
