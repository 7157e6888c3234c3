//! Whose a signature is: whether it names anybody, and whether two may be one person's.
//!
//! Common practice, no source. Two checks that two people must sign are not settled by `ditto`, nor by two names of which
//! nobody can tell that they are two people's.

use super::same::is_among;
use super::words_of;
use crate::units::month_named;

/// What stands where a name is due and names nobody.
const NOBODY: &str = "\
    above absent anybody anyone before blank both ditto done idem illegible mechanic missing mot myself n na nil no nobody \
    none not ok okay one pass passed pending person same see self signature signed somebody someone tba tbc technician tick \
    ticked true unknown unsigned various workshop x y yes";

/// Words that say of a name whose it is or what it signs, and are none themselves.
const BESIDE_A_NAME: &str = "\
    by check date foreman manager mech mechanic on pdi qc sign signature signed tech technician workshop";

/// Titles; alone they may be initials.
const TITLES: &str = "dr miss mr mrs ms sir";

/// What a shop numbers its people by: `Tech 2`.
const NUMBERED: &str = "fitter mech mechanic staff tech technician";

/// Whether a signature names somebody: `Ann`, `AS`, `A. Smith 28/5`, and not `same`, `not signed` or a tick.
pub fn names_somebody(signature: &str) -> bool {
    number(signature).is_some() || !people(signature).is_empty()
}

/// The number by which a signature names somebody, where it does nothing else: `Tech 2`, `T2`, `#27`, `104`. A date is none,
/// and one figure alone may be a tick.
fn number(signature: &str) -> Option<String> {
    let is_number =
        |text: &str| (1..=4).contains(&text.len()) && text.bytes().all(|digit| digit.is_ascii_digit());
    let is_numbered = signature.contains('#');
    let number = match words_of(signature).as_slice() {
        [one] => {
            let letters = one.trim_end_matches(|letter: char| letter.is_ascii_digit());
            let number = &one[letters.len()..];
            let is_role = is_among(letters, NUMBERED);
            let is_code =
                letters.chars().all(char::is_alphabetic) && (1..=3).contains(&letters.chars().count());
            let is_bare = letters.is_empty() && (is_numbered || number.len() > 1);
            (is_number(number) && (is_role || is_code || is_bare))
                .then(|| format!("{}{number}", if is_code { letters } else { "" }))
        }
        [role, number] if is_among(role, NUMBERED) || is_among(role, "no number") => Some(number.clone()),
        [role, no, number] if is_among(role, NUMBERED) && is_among(no, "no number") => Some(number.clone()),
        _ => None,
    };
    let digits =
        |number: &String| number.trim_start_matches(|letter: char| !letter.is_ascii_digit()).to_owned();
    number.filter(|number| is_number(&digits(number))).map(|number| number.trim_start_matches('0').to_owned())
}

/// Whether two numbers may be one person's: `T2` and `Tech 2` may, `T2` and `M2` are two people's.
fn may_be_one_number(left: &str, right: &str) -> bool {
    let digits = |number: &str| number.trim_start_matches(|letter: char| !letter.is_ascii_digit()).to_owned();
    let has_letters = |number: &str| number.starts_with(|letter: char| !letter.is_ascii_digit());
    if has_letters(left) && has_letters(right) { left == right } else { digits(left) == digits(right) }
}

/// Whether two signatures may be one person's: the same words in any order, one the initials of the other (`SV`, `S. Vale`
/// and `Sam Vale`), one of them a part of the other (`Sam` and `Sam Vale`), or one of two who signed together.
/// Two numbers are two people's, and a number may be that of any name.
pub fn may_be_same_person(left: &str, right: &str) -> bool {
    match (number(left), number(right)) {
        (Some(left), Some(right)) => return may_be_one_number(&left, &right),
        (Some(_), None) | (None, Some(_)) => return true,
        (None, None) => {}
    }
    let (left, right) = (people(left), people(right));
    left.iter().any(|left| right.iter().any(|right| may_be_one(left, right) || may_be_one(right, left)))
}

/// The words of each person's name in a signature, as written.
fn people(signature: &str) -> Vec<Vec<String>> {
    if ["n/a", "do."].iter().any(|nobody| signature.trim().eq_ignore_ascii_case(nobody)) {
        return Vec::new();
    }
    let words = |name: &str| {
        let mut after_figure = false;
        let mut words = Vec::new();
        for word in name.split(|letter: char| !letter.is_alphanumeric() && !matches!(letter, '\'' | '’')) {
            let small = words_of(word).concat();
            // The month of a day is no name: `A. Smith 28 May`.
            let is_month = after_figure && month_named(&small).is_some();
            after_figure = small.contains(|letter: char| letter.is_ascii_digit());
            if !(small.is_empty() || is_month || after_figure) {
                words.push(word.to_owned());
            }
        }
        words
    };
    let together = signature.replace(['&', '+', '/', ';'], " and ");
    let mut people: Vec<Vec<String>> = vec![Vec::new()];
    for word in words(&together) {
        match word.to_lowercase().as_str() {
            "and" | "with" => people.push(Vec::new()),
            _ => people.last_mut().expect("one at least is there").push(word),
        }
    }
    for person in &mut people {
        let is_nobodys = |word: &String| {
            let small = word.to_lowercase();
            is_among(&small, NOBODY) || is_among(&small, BESIDE_A_NAME)
        };
        match person.iter().all(is_nobodys) || says_same(person) {
            true => person.clear(),
            false => person.retain(|word| !is_among(&word.to_lowercase(), BESIDE_A_NAME)),
        }
        if person.len() > 1 {
            person.retain(|word| !is_among(&word.to_lowercase(), TITLES));
        }
    }
    people.retain(|person| !person.is_empty());
    people
}

/// Whether a signature only points at another one, or says that there is none: `same as PDI`, `not signed off yet`.
fn says_same(person: &[String]) -> bool {
    const POINTING: &str = "above before ditto nobody not same see unknown unsigned";
    person.iter().any(|word| is_among(&word.to_lowercase(), POINTING))
}

/// Whether a person may be the one whose name is longer, or the same.
fn may_be_one(short: &[String], long: &[String]) -> bool {
    let small = |words: &[String]| words.iter().map(|word| words_of(word).concat()).collect::<Vec<_>>();
    let (short_words, long_words) = (small(short), small(long));
    let initials = |words: &mut dyn Iterator<Item = &String>| -> String {
        words.filter_map(|word| word.chars().next()).collect()
    };
    let forwards = initials(&mut long_words.iter());
    let backwards = initials(&mut long_words.iter().rev());
    let joined = short_words.concat();
    let ends: String = forwards.chars().take(1).chain(backwards.chars().take(1)).collect();
    if long.len() > 1 && [&forwards, &backwards, &ends].contains(&&joined) {
        return true;
    }
    if let ([short], [long]) = (short, long)
        && may_be_initials(short)
        && !may_be_initials(long)
    {
        return joined.chars().next() == forwards.chars().next();
    }
    // Each of its words is one of the other's, whole, cut short, or its first letter; two initials turned round are no name:
    // `J Smith` and `S Jones`.
    let is_whole = |word: &String| word.chars().nth(1).is_some();
    let mut wholes = short_words.iter().filter(|word| is_whole(word)).peekable();
    let shares_a_whole = wholes.peek().is_none()
        || wholes.any(|word| long_words.iter().any(|other| is_whole(other) && may_be_one_name(word, other)));
    let mut left = long_words.clone();
    (short_words.len() == 1 || shares_a_whole)
        && short_words.len() <= left.len()
        && short_words.iter().all(|word| {
            let found = left.iter().position(|other| may_be_one_name(word, other));
            found.map(|place| left.remove(place)).is_some()
        })
}

/// Whether a word is written as initials are: two or three capitals.
fn may_be_initials(word: &str) -> bool {
    matches!(word.chars().count(), 2 | 3) && word.chars().all(char::is_uppercase)
}

/// Whether two words may be one name: the same, the first letter of it, or short for it (`Rob`, `Robert`).
fn may_be_one_name(left: &str, right: &str) -> bool {
    let is_short = |short: &str, long: &str| {
        let letters = short.chars().count();
        long.starts_with(short) && (letters == 1 || letters > 2)
    };
    left == right || is_short(left, right) || is_short(right, left)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_signatures_may_be_one_persons() {
        let cases = [
            ("Sam Vale", "sam vale", true),
            ("SV", "Sam Vale", true),
            ("S. Vale", "Sam Vale", true),
            ("S V", "Sam Vale", true),
            ("S.V.", "SV", true),
            ("Sam", "Sam Vale", true),
            ("Vale", "Sam Vale", true),
            ("Vale, Sam", "Sam Vale", true),
            ("VS", "Sam Vale", true),
            ("Mr Vale", "Sam Vale", true),
            ("Sam (QC)", "Sam", true),
            ("SV 3/4", "SV 4/4", true),
            ("Sam + Jo", "Jo", true),
            ("SV", "Sam", true),
            ("S", "Sam", true),
            ("SV", "Sam B Vale", true),
            ("Rob Vale", "Robert Vale", true),
            ("JR", "Sam Vale", false),
            ("Jo Vale", "Sam Vale", false),
            ("Sam Vale", "Sam Dale", false),
            ("DH", "DB", false),
            ("DH", "Sam", false),
            ("Jo", "John", false),
            ("Sam 3 May", "May 3 May", false),
            ("Tech 1", "Tech 2", false),
            ("Tech1", "tech no. 2", false),
            ("Tech 1", "Tech 01", true),
            ("Tech 1", "Mech 1", true),
            ("Tech 1", "Sam", true),
            ("T1", "T2", false),
            ("T2", "Tech 2", true),
            ("T2", "M2", false),
            ("14", "27", false),
            ("#7", "No. 2", false),
            ("Staff 12", "Staff 14", false),
            ("J Smith", "S Jones", false),
            ("A Brown", "B Adams", false),
        ];
        for (left, right, expected) in cases {
            assert_eq!(may_be_same_person(left, right), expected, "{left} {right}");
            assert_eq!(may_be_same_person(right, left), expected, "{right} {left}");
        }
    }

    #[test]
    fn a_signature_names_somebody_or_nobody() {
        for name in [
            "AS",
            "as",
            "Ann",
            "A.",
            "Ann Smith 28/5",
            "O'Neil",
            "Noah",
            "May",
            "Ann & Ben",
            "DO",
            "DR",
            "Mechanic Jo",
            "Tech 1",
            "LM1",
            "104",
            "#7",
        ] {
            assert!(names_somebody(name), "{name}");
        }
        for none in [
            "same",
            "as above",
            "AS ABOVE",
            "Same as PDI",
            "see above",
            "not signed",
            "x",
            "-",
            "✓",
            "28/5",
            "mechanic",
            "Mech 28/5",
            "both",
            "BOTH",
            "do.",
            "MOT",
        ] {
            assert!(!names_somebody(none), "{none}");
        }
    }
}
