//! A column's header without its blanks, dots, case and usual short forms, with the unit that it names.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::header_words::{
    differ_by_slips, key_in_any_order, key_of, squeezed, without_units, words, words_of_plain,
};
use super::spellings;
use crate::settings::DateOrder;
use crate::units::{DistanceUnit, SpeedUnit, VolumeUnit};
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind};

/// The longest text that may be a header; a longer one is a title or a note.
const LONGEST_HEADER: usize = 80;

/// A header as it stands, with everything that its words say by themselves.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Header {
    /// As it stands in the sheet; of a header in two rows `Service / Date`.
    pub(super) shown: String,
    /// What it is looked up by, most exact first: whole, without brackets, each with its words in any order, too;
    /// last without any blanks.
    keys: Vec<String>,
    /// The same without the units that it names.
    keys_without_units: Vec<String>,
    /// The unit of distance that it names.
    pub(super) distance_unit: Option<DistanceUnit>,
    /// The unit of speed that it names.
    pub(super) speed_unit: Option<SpeedUnit>,
    /// The unit of volume that it names.
    pub(super) volume_unit: Option<VolumeUnit>,
    /// The order of day and month that it names, as in `Date (dd/mm/yyyy)`.
    pub(super) order: Option<DateOrder>,
}

impl Header {
    /// A header's text, read.
    pub(super) fn new(text: &str) -> Header {
        let shown = text.split_whitespace().collect::<Vec<_>>().join(" ");
        if shown.len() > LONGEST_HEADER {
            return Header { shown, ..Header::default() };
        }
        let words = words(&shown);
        let plain = words_of_plain(&shown);
        let keys_of = |words: [&[String]; 2]| {
            let keys = words.map(|words| [Some(words.concat()), key_in_any_order(words)]);
            keys.into_iter().flatten().flatten().filter(|key| !key.is_empty()).collect::<Vec<String>>()
        };
        let mut keys = keys_of([&words, &plain]);
        keys.push(squeezed(&shown));
        let keys_without_units = keys_of([&without_units(&words), &without_units(&plain)]);
        let (distance_unit, speed_unit) = units_of_motion(&words);
        Header {
            distance_unit,
            speed_unit,
            volume_unit: only(words.iter().filter_map(|word| VolumeUnit::named(word))),
            order: order_named(&shown),
            shown,
            keys,
            keys_without_units,
        }
    }

    /// A header below another one that several columns share: `Date` below `Service`.
    ///
    /// A group whose name is not known keeps it where it `is_a_group` beyond doubt, since a bare `On` or `Miles` below it
    /// would be taken for something else.
    pub(super) fn below(parent: &str, text: &str, is_a_group: bool) -> Header {
        /// What these are depends on what they stand below: the `Rider` of a road test is no customer.
        const BELOW_ANYTHING: [&str; 27] = [
            "date",
            "day",
            "on",
            "when",
            "by",
            "who",
            "name",
            "rider",
            "miles",
            "mileage",
            "km",
            "type",
            "oil",
            "done",
            "technician",
            "mechanic",
            "fitter",
            "initials",
            "signed",
            "signature",
            "result",
            "ok",
            "passed",
            "pass",
            "at",
            "distance",
            "speed",
        ];
        let joined = Header::new(&format!("{parent} / {text}"));
        let alone = Header::new(text);
        let depends = matches!(alone.words().as_slice(), [word] if BELOW_ANYTHING.contains(&word.as_str()));
        let is_of_a_group = (depends || !alone.is_known()) && Header::new(parent).is_known();
        // Without its unit nothing is left of `cc` but the group above it, and `Machine / cc` is no name of a machine.
        let is_bare_unit = without_units(&alone.words()).is_empty() && alone.is_known();
        let is_of_the_machine = matches!(
            Header::new(parent).words().iter().map(String::as_str).collect::<Vec<_>>()[..],
            ["machine" | "bike" | "vehicle"]
        );
        if is_bare_unit && (is_of_the_machine || !depends) && !joined.is_known_with_its_units() {
            return alone;
        }
        // What stands to the right of a group, or below a title, is none of its columns.
        // What the machine is and shows stands below `Bike details`.
        let is_of_a_machine = words(parent)
            .iter()
            .any(|word| matches!(word.as_str(), "machine" | "bike" | "vehicle" | "details"));
        let may_have_unknown_name = is_a_group && !is_of_a_machine && !Header::new(parent).is_known();
        let is_of_unknown_group = may_have_unknown_name && depends;
        // On a machine's row `Max mph` says nothing without its group, in a log of rides all.
        if may_have_unknown_name && alone.speed_unit.is_some() && !joined.is_known() {
            let Header { keys, keys_without_units, .. } = alone;
            return Header { keys, keys_without_units, ..joined };
        }
        if joined.is_known() || is_of_a_group || is_of_unknown_group { joined } else { alone }
    }

    /// Whether it stands below the name of a group that nobody knows: `Second look / On`.
    pub(super) fn is_in_an_unknown_group(&self) -> bool {
        self.is_below_an_unknown_name() && !self.is_known()
    }

    /// The same of a machine's row, which knows less: `Run out 1 / Max mph`.
    pub(super) fn is_in_an_unknown_group_of_a_machine(&self) -> bool {
        self.is_below_an_unknown_name() && self.fields(RecordKind::Machine).is_empty()
    }

    fn is_below_an_unknown_name(&self) -> bool {
        self.shown.rsplit_once(" / ").is_some_and(|(group, _)| !Header::new(group).is_known())
    }

    /// Whether some kind of row knows it with the units that it names.
    fn is_known_with_its_units(&self) -> bool {
        self.keys.iter().any(|key| KNOWN.contains_key(key.as_str()))
    }

    /// Takes the unit or the order of dates that stands in a row of its own below it: `(km)`, `(dd/mm/yy)`.
    pub(super) fn take_unit_below(&mut self, text: &str) {
        let below = Header::new(text);
        self.distance_unit = self.distance_unit.or(below.distance_unit);
        self.speed_unit = self.speed_unit.or(below.speed_unit);
        self.volume_unit = self.volume_unit.or(below.volume_unit);
        self.order = self.order.or(below.order);
    }

    /// The fields that rows of a kind know by exactly this header, each with the spelling's place in its list, where
    /// the plainest stands first.
    pub(super) fn fields(&self, kind: RecordKind) -> &'static [(Field, usize)] {
        let keys = self.keys.iter().chain(&self.keys_without_units);
        known(keys, kind)
    }

    /// Whether the units that it names are of what the field measures; `Oil litres` is no oil. Where the unit is part
    /// of the field's own spelling, as in `600 mile service`, it fits.
    pub(super) fn has_units_of(&self, field: Field, kind: RecordKind) -> bool {
        let is_measured = match field.shape() {
            Shape::Distance | Shape::Speed => self.volume_unit.is_none(),
            Shape::Volume => self.distance_unit.is_none() && self.speed_unit.is_none(),
            _ => self.distance_unit.is_none() && self.speed_unit.is_none() && self.volume_unit.is_none(),
        };
        is_measured || is_of(known(self.keys.iter(), kind), field)
    }

    /// Whether its words are a field's own name.
    pub(super) fn is_named_as(&self, field: Field) -> bool {
        self.words() == words(field.name())
    }

    /// Whether it calls a day the MOT's without saying whether the test was or the certificate ends on it.
    pub(super) fn is_mot_day(&self) -> bool {
        self.keys.iter().any(|key| key == "date mot")
    }

    /// Its words in their usual form.
    pub(super) fn words(&self) -> Vec<String> {
        words(&self.shown)
    }

    /// Whether its words leave it open whether the machine came or went on that day, as `Delivered` does.
    pub(super) fn is_arrived_or_handover(&self, kind: RecordKind) -> bool {
        let fields = self.fields(kind);
        is_of(fields, Field::Arrived) && is_of(fields, Field::Handover)
    }

    /// Whether it says when a service, or the brake fluid, is due next.
    pub(super) fn is_when_serviced_next(&self) -> bool {
        let words = self.words();
        let has = |any: [&str; 2]| words.iter().any(|word| any.contains(&word.as_str()));
        has(["next", "due"]) && has(["service", "fluid"])
    }

    /// The fact of the machine that this is, which only a sheet with one row a machine tells.
    pub(super) fn fact_of_the_machine(&self) -> Option<Field> {
        let mut fields = self.fields(RecordKind::Machine).iter().map(|(field, _)| *field);
        fields.find(|field| field.is_of_the_machine())
    }

    /// Whether some kind of row knows it.
    pub(super) fn is_known(&self) -> bool {
        self.keys.iter().chain(&self.keys_without_units).any(|key| KNOWN.contains_key(key.as_str()))
    }

    /// Whether two headers are the same but for blanks, dots, case and short forms.
    pub(super) fn is_same(&self, other: &Header) -> bool {
        !self.shown.is_empty() && self.keys.first() == other.keys.first()
    }

    /// How like a field's nearest spelling the header is, from 0 to 1 (Jaro-Winkler), short forms written out; 0 where
    /// they differ by more than slips of the keyboard.
    pub(super) fn likeness(&self, field: Field, kind: RecordKind) -> f64 {
        let own = self.words();
        let spellings = WHOLE.get(&(kind, field)).map_or(&[][..], Vec::as_slice);
        spellings
            .iter()
            .filter(|spelling| differ_by_slips(&own, spelling))
            .map(|spelling| strsim::jaro_winkler(&own.concat(), &spelling.concat()))
            .fold(0.0, f64::max)
    }
}

/// The fields of the first key that rows of a kind know.
fn known<'key>(keys: impl Iterator<Item = &'key String>, kind: RecordKind) -> &'static [(Field, usize)] {
    let mut keys = keys;
    keys.find_map(|key| KNOWN.get(key.as_str()).and_then(|kinds| kinds.get(&kind))).map_or(&[], Vec::as_slice)
}

/// Whether a field is among those that a header may be.
pub(super) fn is_of(fields: &[(Field, usize)], field: Field) -> bool {
    fields.iter().any(|(known, _)| *known == field)
}

/// The words of each spelling, kind by kind and field by field.
type Words = BTreeMap<(RecordKind, Field), Vec<Vec<String>>>;

/// The words of every field's spellings, as a mistyped header is compared with them.
static WHOLE: LazyLock<Words> = LazyLock::new(|| {
    let all = RecordKind::ALL.into_iter().flat_map(|kind| Field::of(kind).map(move |field| (kind, field)));
    let whole = |kind, field| {
        spellings::of(field, kind).flat_map(|spelling| [words(spelling), written_out(spelling)]).collect()
    };
    all.map(|(kind, field)| ((kind, field), whole(kind, field))).collect()
});

/// A spelling's words with the short forms written out, as a mistyped header is likely to have them.
fn written_out(spelling: &str) -> Vec<String> {
    let long = |word| match word {
        "reg" => "registration",
        "no" => "number",
        "odo" => "odometer",
        "speedo" => "speedometer",
        other => other,
    };
    spelling.split(' ').map(long).map(str::to_owned).collect()
}

/// Every spelling's key with the fields that it stands for, kind by kind, and its place in each one's list.
type Known = BTreeMap<String, BTreeMap<RecordKind, Vec<(Field, usize)>>>;

static KNOWN: LazyLock<Known> = LazyLock::new(|| {
    let mut known = Known::new();
    for kind in RecordKind::ALL {
        for field in Field::of(kind) {
            for (place, spelling) in spellings::of(field, kind).enumerate() {
                let keys =
                    [Some(key_of(spelling)), key_in_any_order(&words(spelling)), Some(squeezed(spelling))];
                for key in keys.into_iter().flatten() {
                    let fields = known.entry(key).or_default().entry(kind).or_default();
                    if fields.iter().all(|(other, _)| *other != field) {
                        fields.push((field, place));
                    }
                }
            }
        }
    }
    known
});

/// The units of distance and of speed among a header's words; a header that names both kinds names none.
fn units_of_motion(words: &[String]) -> (Option<DistanceUnit>, Option<SpeedUnit>) {
    let mut distances = Vec::new();
    let mut speeds = Vec::new();
    for (place, word) in words.iter().enumerate() {
        match word.as_str() {
            "mph" => speeds.push(SpeedUnit::MilesAnHour),
            "kmh" => speeds.push(SpeedUnit::KilometresAnHour),
            "km" if words.get(place + 1).is_some_and(|next| next == "h" || next == "hr") => {
                speeds.push(SpeedUnit::KilometresAnHour);
            }
            "km" => distances.push(DistanceUnit::Kilometres),
            "miles" => distances.push(DistanceUnit::Miles),
            _ => {}
        }
    }
    (only(distances.into_iter()), only(speeds.into_iter()))
}

/// The one value that all of them are; `None` where there is none, or where they differ.
fn only<T: PartialEq>(mut values: impl Iterator<Item = T>) -> Option<T> {
    let first = values.next()?;
    values.all(|value| value == first).then_some(first)
}

/// The order of day and month that a header such as `Date (dd/mm/yy)` asks for.
fn order_named(shown: &str) -> Option<DateOrder> {
    let lower = shown.to_ascii_lowercase();
    let says = |first: char, second: char| {
        ['/', '-', '.', ' '].iter().any(|sign| {
            lower.contains(&format!("{first}{first}{sign}{second}{second}"))
                || lower.contains(&format!("{first}{sign}{second}{sign}"))
        })
    };
    match (says('d', 'm'), says('m', 'd')) {
        (true, false) => Some(DateOrder::DayFirst),
        (false, true) => Some(DateOrder::MonthFirst),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_header_is_known_whatever_its_blanks_dots_and_case() {
        let cases = [
            (RecordKind::Machine, "V.R.M.", Field::Mark),
            (RecordKind::Machine, "Reg No.", Field::Mark),
            (RecordKind::Machine, "REGN", Field::Mark),
            (RecordKind::Machine, "regNo", Field::Mark),
            (RecordKind::Machine, "Registration", Field::Mark),
            (RecordKind::Machine, "Number  plate", Field::Mark),
            (RecordKind::Machine, "reg_number", Field::Mark),
            (RecordKind::Machine, "Reg #", Field::Mark),
            (RecordKind::Machine, "V.I.N", Field::FrameNumber),
            (RecordKind::Machine, "Chassis", Field::FrameNumber),
            (RecordKind::Machine, "Stock No", Field::StockNumber),
            (RecordKind::Machine, "M.O.T. Due", Field::MotExpiry),
            (RecordKind::Machine, "MoT expiry date", Field::MotExpiry),
            (RecordKind::Machine, "Odo (km)", Field::Clock),
            (RecordKind::Machine, "Mileage km", Field::Clock),
            (RecordKind::Machine, "KMs", Field::Clock),
            (RecordKind::Machine, "lastServiceDate", Field::LastServiceDay),
            (RecordKind::Machine, "Date of 1st Registration", Field::Registered),
            (RecordKind::Machine, "Tel. No.", Field::Telephone),
            (RecordKind::Machine, "Date 1st Reg", Field::Registered),
            (RecordKind::Machine, "registrationno", Field::Mark),
            (RecordKind::Machine, "mobilenumber", Field::Telephone),
            (RecordKind::Machine, "motexpirydate", Field::MotExpiry),
            (RecordKind::Machine, "Expiry date of MOT", Field::MotExpiry),
            (RecordKind::Machine, "Miles (last service)", Field::LastServiceClock),
            (RecordKind::Reading, "Miles", Field::Clock),
            (RecordKind::Ride, "Miles", Field::Distance),
            (RecordKind::Ride, "Top speed mph", Field::TopSpeed),
            (RecordKind::Ride, "Max. speed (km/h)", Field::TopSpeed),
            (RecordKind::Fill, "Qty (L)", Field::Volume),
            (RecordKind::Job, "Date (dd/mm/yyyy)", Field::Day),
        ];
        for (kind, text, field) in cases {
            assert!(Header::new(text).fields(kind).iter().any(|(known, _)| *known == field), "{text}");
        }
    }

    #[test]
    fn a_header_names_its_units() {
        let header = Header::new("Odo (km)");
        assert_eq!((header.distance_unit, header.speed_unit), (Some(DistanceUnit::Kilometres), None));
        let header = Header::new("Top speed km/h");
        assert_eq!((header.distance_unit, header.speed_unit), (None, Some(SpeedUnit::KilometresAnHour)));
        assert_eq!(Header::new("Speed MPH").speed_unit, Some(SpeedUnit::MilesAnHour));
        assert_eq!(Header::new("Miles").distance_unit, Some(DistanceUnit::Miles));
        assert_eq!(Header::new("Miles/km").distance_unit, None);
        assert_eq!(Header::new("Mileage").distance_unit, None);
        assert_eq!(Header::new("Qty (L)").volume_unit, Some(VolumeUnit::Litres));
        assert_eq!(Header::new("Gals").volume_unit, Some(VolumeUnit::Gallons));
        assert_eq!(Header::new("Date (dd/mm/yyyy)").order, Some(DateOrder::DayFirst));
        assert_eq!(Header::new("Date MM-DD-YY").order, Some(DateOrder::MonthFirst));
        assert_eq!(Header::new("Date").order, None);
    }

    #[test]
    fn every_field_has_at_least_eight_spellings() {
        for kind in RecordKind::ALL {
            // Beside the work these are told by a plain header and by where it stands: see `visits`.
            let is_beside = |field: &Field| {
                kind == RecordKind::Job && matches!(field, Field::Make | Field::Model | Field::Note)
            };
            let by_header = Field::of(kind).filter(|field| *field != Field::CheckItem && !is_beside(field));
            for field in by_header {
                let keys: std::collections::BTreeSet<_> = spellings::of(field, kind).map(key_of).collect();
                assert!(keys.len() >= 8, "{} of a {} has {keys:?}", field.name(), kind.name());
            }
        }
    }

    #[test]
    fn a_spelling_that_two_fields_share_is_told_apart_by_the_shape_or_the_days_of_its_values() {
        for (key, kinds) in KNOWN.iter() {
            for fields in kinds.values() {
                if is_of(fields, Field::Arrived) && is_of(fields, Field::Handover) && fields.len() == 2 {
                    continue;
                }
                let shapes: std::collections::BTreeSet<_> =
                    fields.iter().map(|(field, _)| field.shape()).collect();
                assert_eq!(shapes.len(), fields.len(), "{key}: {fields:?}");
            }
        }
    }

    #[test]
    fn every_spelling_is_known_in_every_dress() {
        let dresses: [fn(&str) -> String; 5] = [
            str::to_uppercase,
            |text| text.replace(' ', "."),
            |text| text.replace(' ', "_"),
            |text| text.replace(' ', ""),
            |text| format!(" {}: ", text.replace(' ', "  ")),
        ];
        for kind in RecordKind::ALL {
            for field in Field::of(kind) {
                for (spelling, dress) in
                    spellings::of(field, kind).flat_map(|spelling| dresses.map(|dress| (spelling, dress)))
                {
                    let header = Header::new(&dress(spelling));
                    let is_known = header.fields(kind).iter().any(|(known, _)| *known == field);
                    assert!(is_known, "`{}` is the {} of a {}", header.shown, field.name(), kind.name());
                }
            }
        }
    }

    #[test]
    fn a_headers_words_may_stand_in_any_order_and_form() {
        let cases = [
            ("Collected on", Field::Handover),
            ("Day of collection", Field::Handover),
            ("Date picked up", Field::Handover),
            ("Customer collected", Field::Handover),
            ("H/O date", Field::Handover),
            ("On the road date", Field::Registered),
            ("Came in on", Field::Arrived),
            ("Date sold on", Field::Sold),
            ("PDI'd on", Field::InspectionDay),
            ("Pre-delivery check date", Field::InspectionDay),
            ("Who did PDI", Field::InspectionBy),
            ("Date of quality control", Field::QualityDay),
            ("Test ride 1 date", Field::FirstRideDay),
            ("Odo read on", Field::ClockDay),
            ("Date 1st serviced", Field::FirstServiceDay),
            ("Miles when last serviced", Field::LastServiceClock),
        ];
        for (text, field) in cases {
            let fields = Header::new(text).fields(RecordKind::Machine).to_vec();
            assert!(fields.iter().any(|(known, _)| *known == field), "{text}: {fields:?}");
        }
    }

    #[test]
    fn no_text_whatsoever_brings_a_header_down() {
        let letters = ["№", "İ", "'", "\u{a0}", "\u{2212}", "(", "/", "K", "m", "9", " ", "ß"];
        for (first, second) in letters.iter().flat_map(|one| letters.iter().map(move |two| (one, two))) {
            for third in letters {
                let text = format!("{first}{second}{third}");
                assert!(Header::new(&text).shown.chars().count() <= 3, "{text}");
            }
        }
    }

    #[test]
    fn other_headers_are_not_known() {
        for text in [
            "Mileage (when sold)",
            "Colour",
            "Price",
            "Region",
            "Vintage",
            "",
            "Insurance group",
            "Road tax",
            "Postcode",
        ] {
            let header = Header::new(text);
            assert!(!header.is_known() || text.is_empty(), "{text}");
        }
    }
}
