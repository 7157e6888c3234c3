//! The kinds of value that a setting can have, each read with its faults and written back as TOML.

use std::ops::{Range, RangeInclusive};

use jiff::tz::TimeZone;
use toml::Spanned;
use toml::de::DeValue;

use super::text::Fault;
use super::{DateOrder, Region, Ticks};
use crate::problem::nearest;
use crate::units::{Distance, DistanceUnit};

/// A value with the place it stands at.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// The longest text of a setting, in characters: more than any path or name of a shop.
const TEXT_MOST: usize = 300;

/// The most entries of a list: more folders or receivers than a small shop has.
const LIST_MOST: usize = 100;

/// A text of one line, trimmed; it may be empty.
pub(super) fn line(value: &Value<'_>) -> Result<String, Fault> {
    let DeValue::String(text) = value.get_ref() else {
        return Err(Fault::new(value.span(), "this must be a text", "Put it in quotes: \"…\"."));
    };
    if text.chars().any(char::is_control) {
        let help = "Take line breaks and tabs out; in a Windows path use single quotes ('D:\\exports') or \
                    forward slashes.";
        return Err(Fault::new(value.span(), "this text holds a line break or a tab", help));
    }
    if text.chars().count() > TEXT_MOST {
        let help = format!("Shorten it to {TEXT_MOST} characters.");
        return Err(Fault::new(value.span(), "this text is too long", help));
    }
    Ok(text.trim().to_owned())
}

/// A text of one line with something in it.
pub(super) fn words(value: &Value<'_>) -> Result<String, Fault> {
    let text = line(value)?;
    if text.is_empty() {
        return Err(Fault::new(value.span(), "this text is empty", "Write something, or take the line out."));
    }
    Ok(text)
}

/// The entries of a list that can be read, each once; the faults of the others.
pub(super) fn list<T: PartialEq>(
    value: &Value<'_>,
    entry: impl Fn(&Value<'_>) -> Result<T, Fault>,
    faults: &mut Vec<Fault>,
) -> Option<Vec<T>> {
    let mut once = Vec::new();
    for (span, entry) in entries(value, entry, faults)? {
        if once.contains(&entry) {
            faults.push(Fault::new(span, "this stands in the list twice", "Take one of them out."));
        } else {
            once.push(entry);
        }
    }
    Some(once)
}

/// The entries of a list that can be read, with their places; the faults of the others.
pub(super) fn entries<T>(
    value: &Value<'_>,
    entry: impl Fn(&Value<'_>) -> Result<T, Fault>,
    faults: &mut Vec<Fault>,
) -> Option<Vec<(Range<usize>, T)>> {
    let DeValue::Array(array) = value.get_ref() else {
        faults.push(Fault::new(value.span(), "this must be a list", "Write it as [\"…\", \"…\"]."));
        return None;
    };
    if array.len() > LIST_MOST {
        let help = format!("Keep it to {LIST_MOST} entries.");
        faults.push(Fault::new(value.span(), "this list is too long", help));
        return None;
    }
    let mut entries = Vec::new();
    for value in array.iter() {
        match entry(value) {
            Ok(entry) => entries.push((value.span(), entry)),
            Err(fault) => faults.push(fault),
        }
    }
    Some(entries)
}

/// One of a few words; case does not matter.
pub(super) fn choice<T: Copy>(value: &Value<'_>, choices: &[(&str, T)]) -> Result<T, Fault> {
    let text = words(value)?;
    if let Some((_, chosen)) = choices.iter().find(|(word, _)| word.eq_ignore_ascii_case(&text)) {
        return Ok(*chosen);
    }
    let allowed = choices.iter().map(|(word, _)| format!("\"{word}\"")).collect::<Vec<_>>().join(" or ");
    let help = format!("Write {allowed}.");
    Err(Fault::new(value.span(), "this is not one of the words allowed here", help))
}

const UNITS: [(&str, DistanceUnit); 2] = [("miles", DistanceUnit::Miles), ("km", DistanceUnit::Kilometres)];
const DATE_ORDERS: [(&str, DateOrder); 2] =
    [("day first", DateOrder::DayFirst), ("month first", DateOrder::MonthFirst)];
const TICKS: [(&str, Ticks); 3] =
    [("done", Ticks::Done), ("failed", Ticks::Failed), ("only x failed", Ticks::OnlyXFailed)];
const REGIONS: [(&str, Region); 2] =
    [("Great Britain", Region::GreatBritain), ("Northern Ireland", Region::NorthernIreland)];

/// `"miles"` or `"km"`.
pub(super) fn unit(value: &Value<'_>) -> Result<DistanceUnit, Fault> {
    choice(value, &UNITS)
}

/// `"day first"` or `"month first"`.
pub(super) fn date_order(value: &Value<'_>) -> Result<DateOrder, Fault> {
    choice(value, &DATE_ORDERS)
}

/// `"done"`, `"failed"` or `"only x failed"`.
pub(super) fn ticks(value: &Value<'_>) -> Result<Ticks, Fault> {
    choice(value, &TICKS)
}

/// `"Great Britain"` or `"Northern Ireland"`.
pub(super) fn region(value: &Value<'_>) -> Result<Region, Fault> {
    choice(value, &REGIONS)
}

/// The word of a choice, as TOML.
pub(super) fn chosen<T: PartialEq>(choices: &[(&str, T)], value: &T) -> String {
    let word = choices.iter().find(|(_, choice)| choice == value).map(|(word, _)| *word);
    quoted(word.expect("every value of the enum has its word in the list of choices"))
}

/// A unit as TOML.
pub(super) fn written_unit(unit: DistanceUnit) -> String {
    chosen(&UNITS, &unit)
}

/// A date order as TOML.
pub(super) fn written_date_order(order: DateOrder) -> String {
    chosen(&DATE_ORDERS, &order)
}

/// What bare signs mean, as TOML.
pub(super) fn written_ticks(ticks: Ticks) -> String {
    chosen(&TICKS, &ticks)
}

/// A region as TOML.
pub(super) fn written_region(region: Region) -> String {
    chosen(&REGIONS, &region)
}

/// The name of a time zone that the calendar knows, in its usual spelling.
pub(super) fn zone(value: &Value<'_>) -> Result<String, Fault> {
    let text = words(value)?;
    if let Some(name) = TimeZone::get(&text).ok().and_then(|zone| zone.iana_name().map(str::to_owned)) {
        return Ok(name);
    }
    let known: Vec<String> = jiff::tz::db().available().map(|zone| zone.to_string()).collect();
    let near =
        nearest(&text, known.iter().map(String::as_str)).map(|near| format!("Did you mean \"{near}\"? "));
    let help = format!("{}A shop in the United Kingdom writes \"Europe/London\".", near.unwrap_or_default());
    Err(Fault::new(value.span(), "no time zone has this name", help))
}

/// `true` or `false`.
pub(super) fn yes_or_no(value: &Value<'_>) -> Result<bool, Fault> {
    match value.get_ref() {
        DeValue::Boolean(yes) => Ok(*yes),
        _ => Err(Fault::new(
            value.span(),
            "this must be true or false",
            "Write true or false, without quotes.",
        )),
    }
}

/// One email address without a name around it.
pub(super) fn address(value: &Value<'_>) -> Result<String, Fault> {
    plain_address(&line(value)?, value.span())
}

/// As [`address`], for a text that stands anywhere.
pub(super) fn plain_address(text: &str, span: Range<usize>) -> Result<String, Fault> {
    /// The longest address that a mail server must take (RFC 5321, 4.5.3.1.3, less the brackets).
    const ADDRESS_MOST: usize = 254;
    let fault = |what: &str| {
        Fault::new(span.clone(), what, "Write one plain address, such as \"workshop@shop.example\".")
    };
    if text
        .chars()
        .any(|letter| letter.is_whitespace() || letter.is_control() || "<>()[],;:\\\"".contains(letter))
    {
        return Err(fault("an address has no blanks, brackets, commas or quotes"));
    }
    let Some((person, host)) = text.split_once('@') else {
        return Err(fault("this is no email address: it has no @"));
    };
    if host.contains('@') {
        return Err(fault("this is no email address: it has more than one @"));
    }
    let dotted_well = |part: &str| part.split('.').all(|piece| !piece.is_empty());
    if !dotted_well(person) || !dotted_well(host) || text.len() > ADDRESS_MOST {
        return Err(fault(
            "this is no email address: something beside the @ or a dot is missing, or it is too long",
        ));
    }
    Ok(text.to_owned())
}

/// A whole number inside a range.
pub(super) fn count(value: &Value<'_>, allowed: RangeInclusive<u64>) -> Result<u64, Fault> {
    let help = format!("Write a whole number from {} to {}, without quotes.", allowed.start(), allowed.end());
    let number = match value.get_ref() {
        DeValue::Integer(digits) => i64::from_str_radix(digits.as_str(), digits.radix()).ok(),
        _ => return Err(Fault::new(value.span(), "this must be a whole number", help)),
    };
    number
        .and_then(|number| u64::try_from(number).ok())
        .filter(|number| allowed.contains(number))
        .ok_or_else(|| Fault::new(value.span(), "this number is out of range", help))
}

/// The units of a size, largest first; in bytes.
const SIZES: [(&str, u64); 4] = [("GB", 1 << 30), ("MB", 1 << 20), ("KB", 1 << 10), ("bytes", 1)];

/// A size such as `"64 MB"`, in bytes.
pub(super) fn size(value: &Value<'_>, allowed: RangeInclusive<u64>) -> Result<u64, Fault> {
    let range = format!("from {} to {}", written_size(*allowed.start()), written_size(*allowed.end()));
    let help = format!("Write a size {range}, such as \"64 MB\".");
    let DeValue::String(text) = value.get_ref() else {
        return Err(Fault::new(value.span(), "this must be a size with its unit", help));
    };
    let text = text.trim();
    let (digits, unit) =
        text.split_at(text.find(|letter: char| !letter.is_ascii_digit()).unwrap_or(text.len()));
    let unit = SIZES.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit.trim()));
    let (Ok(number), Some((_, bytes))) = (digits.parse::<u64>(), unit) else {
        return Err(Fault::new(value.span(), "this is not a size", help));
    };
    number
        .checked_mul(*bytes)
        .filter(|bytes| allowed.contains(bytes))
        .ok_or_else(|| Fault::new(value.span(), "this size is out of range", help))
}

/// A size as TOML, in the largest unit that gives a whole number.
pub(super) fn written_size(bytes: u64) -> String {
    let fitting = SIZES.iter().find(|(_, unit)| bytes.is_multiple_of(*unit));
    let (name, unit) = fitting.expect("every size is a whole number of bytes");
    format!("\"{} {name}\"", bytes / unit)
}

/// A distance such as `"10 miles"` or `"16.5 km"`.
pub(super) fn distance(value: &Value<'_>) -> Result<Distance, Fault> {
    let text = line(value)?;
    let fault = || {
        let help = "Write it with its unit, such as \"10 miles\" or \"16.5 km\".";
        Fault::new(value.span(), "this is not a distance", help)
    };
    let end = text.find(|letter: char| !letter.is_ascii_digit() && letter != '.').unwrap_or(text.len());
    let (digits, unit) = text.split_at(end);
    let unit = DistanceUnit::named(unit).ok_or_else(fault)?;
    let (whole, tenth) = digits.split_once('.').unwrap_or((digits, "0"));
    if whole.is_empty() || whole.len() > 6 || tenth.len() != 1 {
        return Err(fault());
    }
    let tenths: i64 = format!("{whole}{tenth}").parse().map_err(|_| fault())?;
    Ok(Distance::of_tenths(tenths, unit))
}

/// A distance as TOML, in the unit in which it is written exactly.
pub(super) fn written_distance(distance: Distance) -> String {
    let tenths_in = |unit| (distance.count_in(unit) * 10.0).round() as i64;
    let exact = |unit: &DistanceUnit| Distance::of_tenths(tenths_in(*unit), *unit) == distance;
    let units = [DistanceUnit::Miles, DistanceUnit::Kilometres];
    let unit = units.into_iter().find(exact).unwrap_or(DistanceUnit::Miles);
    let (whole, tenth) = (tenths_in(unit) / 10, tenths_in(unit) % 10);
    let name = if tenths_in(unit) == 10 { unit.singular() } else { unit.plural() };
    if tenth == 0 { format!("\"{whole} {name}\"") } else { format!("\"{whole}.{tenth} {name}\"") }
}

/// A text as a TOML string on one line, whatever stands in it; good for a key, too.
pub(super) fn quoted(text: &str) -> String {
    let mut written = String::from('"');
    for letter in text.chars() {
        match letter {
            '"' => written.push_str("\\\""),
            '\\' => written.push_str("\\\\"),
            control if control.is_control() => written.push_str(&format!("\\u{:04X}", u32::from(control))),
            letter => written.push(letter),
        }
    }
    written.push('"');
    written
}

/// A list of texts as TOML.
pub(super) fn quoted_list(entries: &[String]) -> String {
    format!("[{}]", entries.iter().map(|entry| quoted(entry)).collect::<Vec<_>>().join(", "))
}
