//! Whether what went into the tank may be there (EN 228, EN 16942).

use std::collections::BTreeSet;

use super::consumption::consumptions;
use super::denied::is_denied;
use super::subject::{Subject, content_keys, handbook_cell};
use super::{Fact, FillJudged, FuelAnswer, Missing, Reckoned};
use crate::origin::Evidence;
use crate::settings::words_of;
use crate::units::shown_day;
use crate::yard::{EthanolLabel, Fill, MachineKind};

/// Words that no petrol pump carries: the labels for diesel and gases of EN 16942, and what people call them.
const NOT_PETROL: [&str; 15] = [
    "adblue", "autogas", "b10", "b100", "b20", "b30", "b7", "cng", "derv", "diesel", "h2", "hydrogen", "lng",
    "lpg", "xtl",
];

/// What a grade as written says. `super`, `premium` and `unleaded` say nothing of the ethanol in it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Grade {
    /// The ethanol labels in it.
    pub(super) ethanol: BTreeSet<EthanolLabel>,
    /// Whether it names something that is no petrol.
    pub(super) not_petrol: bool,
}

/// The labels that stand in a grade as written; `not E10` has none, and nor has `E10?`.
pub(super) fn grade(text: &str) -> Grade {
    let words = words_of(text);
    let mut grade = Grade::default();
    let single = words.iter().enumerate().map(|(place, word)| (place, 1, word.clone()));
    // `E 10` and `B-7` are labels too, but only a letter alone joins with the number behind it.
    let pairs = words.windows(2).enumerate().filter(|(_, pair)| pair[0].len() == 1);
    let joined = pairs.map(|(place, pair)| (place, 2, pair.concat()));
    for (place, length, word) in single.chain(joined) {
        if is_denied(&words, place, length) {
            continue;
        }
        match word.as_str() {
            "e5" => grade.ethanol.insert(EthanolLabel::E5),
            "e10" => grade.ethanol.insert(EthanolLabel::E10),
            "e85" => grade.ethanol.insert(EthanolLabel::E85),
            other => {
                grade.not_petrol |= NOT_PETROL.contains(&other);
                false
            }
        };
    }
    if text.contains('?') {
        grade.ethanol.clear();
    }
    grade
}

/// What a grade says of a machine that may have so much ethanol; `None` for a machine of which nobody wrote it
/// down. Whatever is not known to be a car takes petrol: in a motorcycle dealer's care it is one on two or three wheels,
/// and a warning too many harms no engine.
pub(super) fn answer(
    grade: &Grade,
    allowed: Option<EthanolLabel>,
    kind: Option<MachineKind>,
) -> Result<FuelAnswer, Missing> {
    let takes_petrol = allowed.is_some() || kind != Some(MachineKind::Car);
    let no_label = || Missing::fact("ethanol label of the fill");
    let no_maximum = || Missing::fact("fuel allowed");
    match (grade.ethanol.first(), grade.ethanol.last(), allowed) {
        (None, ..) if grade.not_petrol && takes_petrol => Ok(FuelAnswer::NotPetrol),
        (None, ..) if grade.not_petrol => Err(no_maximum()),
        // A text with both kinds of label says nothing that can be relied on.
        (Some(_), ..) if grade.not_petrol => Err(no_label()),
        (None, _, Some(_)) => Err(no_label()),
        (None, _, None) => Err(no_label().and(no_maximum())),
        (Some(_), Some(_), None) => Err(no_maximum()),
        (Some(least), Some(most), Some(allowed)) => {
            if *most <= allowed {
                Ok(FuelAnswer::Right)
            } else if *least > allowed {
                Ok(FuelAnswer::TooMuchEthanol)
            } else {
                Err(no_label())
            }
        }
        (Some(_), None, _) => unreachable!("a set with a first has a last"),
    }
}

/// The fills of a machine until today, each against its fuel.
pub(super) fn fills(subject: &Subject<'_>) -> Vec<FillJudged> {
    let fills = &subject.machine.fills;
    let fills: Vec<&Fill> = fills.iter().filter(|fill| subject.has_come(fill.day.as_ref())).collect();
    let day = |fill: &Fill| fill.day.as_ref().map(|day| day.value);
    let what = |fill: &Fill| {
        let grade = fill.grade.as_ref().map_or("", |grade| grade.value.trim());
        if grade.is_empty() { "no grade".to_owned() } else { grade.to_owned() }
    };
    let content = |fill: &Fill| {
        let clock = fill.clock.as_ref().map(|clock| clock.value);
        (clock, fill.volume.as_ref().map(|volume| volume.value), fill.full.as_ref().map(|full| full.value))
    };
    let keys = content_keys(&fills, day, what, content);
    fills
        .iter()
        .zip(consumptions(subject, &fills))
        .zip(keys)
        .map(|((fill, consumption), key)| FillJudged {
            key,
            day: day(fill),
            grade: fill.grade.as_ref().map(|grade| grade.value.clone()).unwrap_or_default(),
            answer: judged(subject, fill),
            miles_a_gallon: consumption.miles_a_gallon,
            usually_at_least: consumption.usually_at_least,
        })
        .collect()
}

/// One fill against the machine's fuel: its own row's, else the handbook's.
fn judged(subject: &Subject<'_>, fill: &Fill) -> Fact<FuelAnswer> {
    let machine = subject.machine;
    let page = machine.page.model.as_ref().and_then(|model| model.fuel_allowed.as_ref());
    let (allowed, is_default) = match &machine.row.fuel_allowed {
        Some(own) => (Some(own), false),
        None => (page, machine.page.model_is_default),
    };
    let written = fill.grade.as_ref().map_or("", |grade| grade.value.as_str());
    let kind = machine.row.kind.as_ref().map(|kind| kind.value);
    let value = answer(&grade(written), allowed.map(|allowed| allowed.value), kind)?;
    let mut shown_by = Vec::new();
    if let Some(grade) = &fill.grade {
        let on = fill.day.as_ref().map_or(String::new(), |day| format!(" on {}", shown_day(day.value)));
        shown_by.push(Evidence::of("fill", format!("{}{on}", grade.value), &grade.origin));
    }
    shown_by.extend(allowed.map(|allowed| {
        handbook_cell("fuel allowed", format!("up to {}", allowed.value.name()), allowed, is_default)
    }));
    Ok(Reckoned { value, shown_by })
}
