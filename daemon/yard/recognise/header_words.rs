//! The words of a header in their usual form, and the keys by which headers that say the same are found.

/// What a text is looked up by: its words in their usual form, run together.
pub(super) fn key_of(text: &str) -> String {
    words(text).concat()
}

/// A text without anything but letters and figures, its long words short; so that `registrationno` is `Reg No.`.
pub(super) fn squeezed(text: &str) -> String {
    const SHORT: [(&str, &str); 9] = [
        ("registration", "reg"),
        ("number", "no"),
        ("odometer", "odo"),
        ("speedometer", "speedo"),
        ("telephone", "tel"),
        ("phone", "tel"),
        ("kilometres", "km"),
        ("1st", "first"),
        ("2nd", "second"),
    ];
    let letters: String = text.to_lowercase().chars().filter(|letter| letter.is_alphanumeric()).collect();
    SHORT.iter().fold(letters, |text, (long, short)| text.replace(long, short))
}

/// What several words are looked up by in whatever order and form they stand: `Date of first reg` and `First reg
/// date` are one, and so are `Date collected`, `Collected on` and `Collection day`. `None` for a single word, whose
/// form may be all that tells it from another.
pub(super) fn key_in_any_order(words: &[String]) -> Option<String> {
    if words.len() < 2 {
        return None;
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let mut roots: Vec<&str> = Vec::new();
    let mut place = 0;
    while let Some(&word) = words.get(place) {
        let (root, taken) = match PHRASES.iter().find(|(phrase, _)| words[place..].starts_with(phrase)) {
            Some((phrase, root)) => (Some(*root), phrase.len()),
            None => (root_of(word, &words, place), 1),
        };
        // A phrase that is all there is stands for itself.
        if taken == words.len() {
            return root.map(str::to_owned);
        }
        roots.extend(root);
        place += taken;
    }
    roots.sort_unstable();
    roots.dedup();
    (roots.len() > 1).then(|| roots.join(" "))
}

/// Whether two headers' words differ by no more than slips of the keyboard: word by word, or all run together. Words
/// that differ more make another header, since a `Service due` is no `Service date`.
pub(super) fn differ_by_slips(one: &[String], other: &[String]) -> bool {
    /// A slip in a shorter word makes another word.
    const LEAST_LETTERS: usize = 5;
    let is_slip = |one: &str, other: &str| {
        let letters = one.chars().count().min(other.chars().count());
        one == other || (letters >= LEAST_LETTERS && is_one_slip(one, other))
    };
    if one.len() == other.len() {
        return one.iter().zip(other).all(|(one, other)| is_slip(one, other));
    }
    let letters = |words: &[String]| words.iter().map(|word| word.chars().count()).sum::<usize>();
    let (one_letters, other_letters) = (letters(one), letters(other));
    // A header that is far longer is told apart without being put together.
    one_letters.min(other_letters) >= 2 * LEAST_LETTERS - 2
        && one_letters.abs_diff(other_letters) <= 1
        && is_one_slip(&one.concat(), &other.concat())
}

/// Whether one letter was added, dropped, changed or swapped with the next, at the most: what is left between the letters
/// that both begin with and those that both end with says it. A distance of strings, which compares each letter with each,
/// took seconds over a long header.
fn is_one_slip(one: &str, other: &str) -> bool {
    let alike = one.chars().zip(other.chars()).take_while(|(one, other)| one == other);
    let begin = alike.map(|(letter, _)| letter.len_utf8()).sum::<usize>();
    let (one, other) = (&one[begin..], &other[begin..]);
    let alike = one.chars().rev().zip(other.chars().rev()).take_while(|(one, other)| one == other);
    let end = alike.map(|(letter, _)| letter.len_utf8()).sum::<usize>();
    let (mut one, mut other) = (one[..one.len() - end].chars(), other[..other.len() - end].chars());
    match (one.next(), one.next(), other.next(), other.next()) {
        (_, None, _, None) => true,
        (first, Some(second), third, Some(fourth)) => {
            (first, Some(second)) == (Some(fourth), third) && one.next().is_none() && other.next().is_none()
        }
        _ => false,
    }
}

/// Several words that are one of the trade's.
const PHRASES: &[(&[&str], &str)] = &[
    (&["pre", "delivery", "inspection"], "pdi"),
    (&["pre", "delivery", "check"], "pdi"),
    (&["pre", "delivery"], "pdi"),
    (&["predelivery", "inspection"], "pdi"),
    (&["predelivery", "check"], "pdi"),
    (&["quality", "control"], "qc"),
    (&["quality", "checked"], "qc"),
    (&["quality", "check"], "qc"),
    (&["second", "checked"], "qc"),
    (&["second", "check"], "qc"),
    (&["double", "checked"], "qc"),
    (&["double", "check"], "qc"),
    (&["final", "check"], "qc"),
    (&["hand", "over"], "handover"),
    (&["handed", "over"], "handover"),
    (&["pick", "up"], "collect"),
    (&["picked", "up"], "collect"),
    (&["road", "tested"], "ride"),
    (&["road", "test"], "ride"),
    (&["rd", "tested"], "ride"),
    (&["rd", "test"], "ride"),
    (&["test", "ride"], "ride"),
    (&["h", "o"], "handover"),
    (&["h", "over"], "handover"),
];

/// What a word among others comes down to; `None` for one that says nothing. The `no` of a number stays.
fn root_of<'text>(word: &'text str, words: &[&'text str], place: usize) -> Option<&'text str> {
    let is_last = place + 1 == words.len();
    let is_at_an_end = is_last || place == 0;
    Some(match word {
        "of" | "the" | "for" | "a" | "an" | "our" | "was" | "were" | "is" | "has" | "been" | "did" | "we"
        | "they" => return None,
        "day" => "date",
        "on" if is_last => "date",
        "on" if words.get(place + 1) == Some(&"date") => return None,
        "when" if is_at_an_end => "date",
        "who" | "whom" if is_at_an_end => "by",
        "collected" | "collection" | "pickup" => "collect",
        "delivered" | "delivery" => "deliver",
        "arrived" | "arrival" => "arrive",
        "sale" | "sales" => "sold",
        "serviced" => "service",
        "inspected" | "inspections" => "inspection",
        "checked" | "checks" => "check",
        "completed" | "completion" => "complete",
        "finished" => "finish",
        "started" => "start",
        "tested" | "tests" => "test",
        "rides" => "ride",
        "filled" | "fills" => "fill",
        "fuelled" | "refuel" | "refuelled" => "fuel",
        "reading" | "readings" => "read",
        "clock" | "speedo" => "odo",
        "mileages" | "milage" | "mlg" => "mileage",
        "hover" | "ho" => "handover",
        "jobs" => "job",
        "worked" | "works" => "work",
        "repairs" | "repaired" => "repair",
        "comments" | "comment" | "remarks" | "remark" | "notes" => "note",
        "items" => "item",
        "results" => "result",
        "signed" | "signature" => "sign",
        "technician" | "fitter" => "mechanic",
        other => other,
    })
}

/// A text's words in lower case, `camelCase` parted, short forms in their usual form.
pub(super) fn words(text: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut word = String::new();
    let letters: Vec<char> = text.chars().collect();
    for (place, &letter) in letters.iter().enumerate() {
        if letter == '#' || letter == '№' {
            close(&mut word, &mut words);
            words.push("no".to_owned());
        } else if matches!(letter, '\'' | '’' | '`') {
            // `customer's` is one word.
        } else if letter == '&' {
            close(&mut word, &mut words);
            words.push("and".to_owned());
        } else if letter.is_alphanumeric() {
            if place > 0 && begins_word(&letters, place) {
                close(&mut word, &mut words);
            }
            word.extend(letter.to_lowercase());
        } else {
            close(&mut word, &mut words);
        }
    }
    close(&mut word, &mut words);
    number_rides(&mut words);
    words
}

/// Brings the letters by which two road tests are told apart to the words of the others: `Ride A`, `Test ride B`.
fn number_rides(words: &mut [String]) {
    for place in 1..words.len() {
        let which = match words[place].as_str() {
            "a" => "first",
            "b" => "second",
            _ => continue,
        };
        if matches!(words[place - 1].as_str(), "ride" | "test") {
            which.clone_into(&mut words[place]);
        }
    }
}

/// Ends a word and brings it to its usual form.
fn close(word: &mut String, words: &mut Vec<String>) {
    if !word.is_empty() {
        let usual = usual_form(word).map(str::to_owned);
        words.push(usual.unwrap_or_else(|| word.clone()));
        word.clear();
    }
}

/// Whether a new word begins inside a run of letters: `regNo`, `VRMNumber`, `Ride1`; but not `KMs`.
fn begins_word(letters: &[char], place: usize) -> bool {
    let (before, here) = (letters[place - 1], letters[place]);
    let small_next = |offset: usize| letters.get(place + offset).is_some_and(|letter| letter.is_lowercase());
    (before.is_lowercase() && here.is_uppercase())
        || (before.is_uppercase() && here.is_uppercase() && small_next(1) && small_next(2))
        || (before.is_alphabetic() && here.is_ascii_digit())
        || (before.is_ascii_digit() && here.is_uppercase())
}

/// The usual form of the short forms and variants that stand in headers.
fn usual_form(word: &str) -> Option<&'static str> {
    Some(match word {
        "number" | "num" | "nr" | "nbr" | "numb" | "nos" => "no",
        "regn" | "regd" | "registration" | "regist" | "registr" | "rego" => "reg",
        "svc" | "serv" | "srv" | "servicing" | "svce" | "services" => "service",
        "odometer" | "odom" | "mileometer" | "milometer" => "odo",
        "speedometer" => "speedo",
        "kms" | "kilometre" | "kilometres" | "kilometer" | "kilometers" => "km",
        "mi" | "mile" | "mls" => "miles",
        "kmh" | "kph" | "kmph" => "kmh",
        "dt" | "dte" => "date",
        "tel" | "phone" | "telno" | "ph" => "telephone",
        "cust" | "customers" | "cus" | "cst" => "customer",
        "veh" => "vehicle",
        "insp" => "inspection",
        "manuf" | "mfr" | "mfg" | "mnfr" => "manufacturer",
        "dist" | "dis" | "dst" => "distance",
        "itm" => "item",
        "res" => "result",
        "chk" => "check",
        "tst" => "test",
        "wrk" => "work",
        "opr" => "operator",
        "lst" => "last",
        "ann" => "annual",
        "spd" => "speed",
        "maximum" => "max",
        "exp" | "expires" | "expiration" | "expired" | "expirydate" => "expiry",
        "deliv" | "del" | "deld" | "dlvd" | "dlvry" | "dlvy" => "delivery",
        "coll" => "collected",
        "mob" => "mobile",
        "cur" | "curr" => "current",
        "prev" => "previous",
        "init" | "inits" => "initials",
        "sig" => "signature",
        "inv" => "invoice",
        "recd" => "received",
        "arr" => "arrived",
        "motd" => "mot",
        "cyl" => "cylinder",
        "fr" | "frm" => "frame",
        "chas" | "ch" => "chassis",
        "lic" => "licence",
        "qty" | "quant" => "quantity",
        "ltr" | "ltrs" | "litre" | "liter" | "liters" | "lt" | "lts" => "litres",
        "gal" | "gals" | "gallon" => "gallons",
        "desc" | "descr" => "description",
        "mech" => "mechanic",
        "eng" => "engine",
        "tech" | "tec" => "technician",
        "warr" | "wty" | "wnty" | "warrantee" => "warranty",
        "req" | "reqd" => "required",
        "1st" | "1" | "one" => "first",
        "2nd" | "2" | "two" => "second",
        _ => return None,
    })
}

/// The words of a text without brackets that only say how to write it: `(km)`, `(dd/mm/yyyy)`, `(Y/N)`. Other
/// brackets change what a header means: `Miles (last service)` are not the miles of today.
pub(super) fn words_of_plain(text: &str) -> Vec<String> {
    let says_how_to_write = |inside: &str| {
        words(inside).iter().all(|word| {
            is_unit(word)
                || matches!(
                    word.as_str(),
                    "d" | "m"
                        | "y"
                        | "dd"
                        | "mm"
                        | "yy"
                        | "yyyy"
                        | "ddmmyy"
                        | "ddmmyyyy"
                        | "yes"
                        | "no"
                        | "n"
                        | "x"
                        | "optional"
                        | "required"
                        | "vrm"
                        | "vrn"
                        | "vin"
                        | "reg"
                        | "uk"
                        | "gb"
                        | "hh"
                        | "ss"
                )
        })
    };
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, behind)) = rest.split_once(['(', '[']) {
        plain.push_str(before);
        let (inside, after) = behind.split_once([')', ']']).unwrap_or((behind, ""));
        plain.push(' ');
        if !says_how_to_write(inside) {
            plain.push_str(inside);
            plain.push(' ');
        }
        rest = after;
    }
    plain.push_str(rest);
    words(&plain)
}

/// Whether a text in brackets is nothing but a unit or how a date is written.
pub(super) fn says_how_to_write(text: &str) -> bool {
    let inside = text.trim().strip_prefix(['(', '[']).and_then(|text| text.strip_suffix([')', ']']));
    let is_part_of_a_date = |word: &String| word.chars().all(|letter| matches!(letter, 'd' | 'm' | 'y'));
    let words = inside.map(words).unwrap_or_default();
    !words.is_empty() && words.iter().all(|word| is_unit(word) || is_part_of_a_date(word))
}

/// Whether a word is a unit, and so need not be part of a field's name.
fn is_unit(word: &str) -> bool {
    matches!(word, "km" | "miles" | "mph" | "kmh" | "l" | "litres" | "ml" | "gallons" | "cc" | "h")
}

/// A header's words without its units.
pub(super) fn without_units(words: &[String]) -> Vec<String> {
    let is_before_a_unit = |place: usize| words.get(place + 1).is_some_and(|next| is_unit(next));
    let is_of_a_unit = |place: usize, word: &str| is_unit(word) || (word == "in" && is_before_a_unit(place));
    let others = words.iter().enumerate().filter(|(place, word)| !is_of_a_unit(*place, word));
    others.map(|(_, word)| word.clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_slip_is_what_the_distance_of_strings_says() {
        // Every pair of words of up to five letters out of three, against the distance of another crate.
        let mut words = vec![String::new()];
        for length in 0..5 {
            let longest: Vec<String> =
                words.iter().filter(|word| word.chars().count() == length).cloned().collect();
            words.extend(
                longest.iter().flat_map(|word| ["a", "b", "\u{e9}"].map(|letter| format!("{word}{letter}"))),
            );
        }
        assert_eq!(words.len(), 364);
        for one in &words {
            for other in &words {
                let expected = strsim::osa_distance(one, other) <= 1;
                assert_eq!(is_one_slip(one, other), expected, "{one:?} {other:?}");
            }
        }
    }
}
