//! A job's text with the trade's short words written out: `Ann. svc` is an annual service, `B/fluid` brake fluid.
//!
//! The short words are common practice, no source.

use std::borrow::Cow;

/// Short words and what they stand for, wherever they stand.
/// Beside them stand the slips of the keyboard that are met most.
const SHORT: [(&str, &str); 31] = [
    ("annaul", "annual"),
    ("annul", "annual"),
    ("anual", "annual"),
    ("anuual", "annual"),
    ("fisrt", "first"),
    ("frist", "first"),
    ("seervice", "service"),
    ("serivce", "service"),
    ("servce", "service"),
    ("servcie", "service"),
    ("servise", "service"),
    ("servive", "service"),
    ("sevice", "service"),
    ("srevice", "service"),
    ("brk", "brake"),
    ("dot3", "dot 3"),
    ("dot4", "dot 4"),
    ("dot5", "dot 5"),
    ("mls", "miles"),
    ("mnth", "month"),
    ("mnths", "months"),
    ("mth", "month"),
    ("mths", "months"),
    ("serv", "service"),
    ("servc", "service"),
    ("srv", "service"),
    ("srvc", "service"),
    ("svc", "service"),
    ("svce", "service"),
    ("yly", "yearly"),
    ("yrly", "yearly"),
];

/// Short words whose dot ends no sentence: `cust. declined`, `service (ex. coolant)`.
const WITH_A_DOT: &str = "adv appt approx cust ex exc excl inc incl poss prev recd req reqd temp w";

/// Short words that are others where no service stands behind them, with what they stand for: `Ann` may be a person.
const BEFORE_A_SERVICE: [(&str, &str); 5] =
    [("ann", "annual"), ("int", "interim"), ("maj", "major"), ("min", "minor"), ("yr", "year")];

/// What stands right behind a figure, with what it stands for: `12mth`, `4000mi`.
const UNITS: [(&str, &str); 14] = [
    ("km", "km"),
    ("kms", "km"),
    ("mi", "miles"),
    ("mile", "mile"),
    ("miles", "miles"),
    ("mls", "miles"),
    ("mnth", "month"),
    ("month", "month"),
    ("months", "months"),
    ("mth", "month"),
    ("mths", "months"),
    ("year", "year"),
    ("yr", "year"),
    ("yrs", "years"),
];

/// The text with its short words written out.
pub(super) fn in_full(text: &str) -> Cow<'_, str> {
    let words = Words::of(text);
    let mut full = String::new();
    // What of the text is taken over already.
    let mut taken = 0;
    let mut place = 0;
    while place < words.places.len() {
        let (start, mut end) = words.places[place];
        let mut next = place + 1;
        if let Some((long, more)) = words.long(place) {
            end = words.places[place + more].1;
            next += more;
            full.push_str(&text[taken..start]);
            full.push_str(&long);
            // A dot that ends a short word ends no sentence where a service stands behind it.
            taken = end + usize::from(text[end..].starts_with('.') && words.is_service(next));
        } else if words.ends_with_its_own_dot(place) {
            full.push_str(&text[taken..end]);
            taken = end + 1;
        } else if words.stands_in_brackets(place) {
            full.push_str(&text[taken..start - 1]);
            full.push(' ');
            full.push_str(&text[start..end]);
            taken = end + 1;
        }
        place = next;
    }
    if taken == 0 {
        return Cow::Borrowed(text);
    }
    full.push_str(&text[taken..]);
    Cow::Owned(full)
}

/// The words of a text, by where they stand in it.
struct Words<'t> {
    text: &'t str,
    places: Vec<(usize, usize)>,
}

impl<'t> Words<'t> {
    fn of(text: &'t str) -> Words<'t> {
        let mut places: Vec<(usize, usize)> = Vec::new();
        for (start, letter) in text.char_indices().filter(|(_, letter)| letter.is_alphanumeric()) {
            let end = start + letter.len_utf8();
            match places.last_mut() {
                Some(last) if last.1 == start => last.1 = end,
                _ => places.push((start, end)),
            }
        }
        Words { text, places }
    }

    fn word(&self, place: usize) -> &'t str {
        self.places.get(place).map_or("", |(start, end)| &self.text[*start..*end])
    }

    fn is(&self, place: usize, word: &str) -> bool {
        self.word(place).eq_ignore_ascii_case(word)
    }

    /// What stands between a word and the next one.
    fn gap(&self, place: usize) -> &'t str {
        let end = self.places[place].1;
        let next = self.places.get(place + 1).map_or(self.text.len(), |(start, _)| *start);
        &self.text[end..next]
    }

    /// Whether a word is that of a service, short or not.
    fn is_service(&self, place: usize) -> bool {
        let short = SHORT.iter().filter(|(_, long)| *long == "service").map(|(short, _)| *short);
        short.chain(["service"]).any(|word| self.is(place, word))
    }

    /// Whether the dot behind a word is its own, and something of the same sentence follows.
    fn ends_with_its_own_dot(&self, place: usize) -> bool {
        let next = self.word(place + 1);
        self.gap(place).starts_with('.')
            && next.starts_with(|letter: char| letter.is_lowercase() || letter.is_ascii_digit())
            && WITH_A_DOT.split(' ').any(|word| self.is(place, word))
    }

    /// Whether a word stands alone in brackets, and says what the words before them are about: `fluid change (brakes)`.
    fn stands_in_brackets(&self, place: usize) -> bool {
        let (start, end) = self.places[place];
        self.text[..start].ends_with('(')
            && self.text[end..].starts_with(')')
            && ["brake", "brakes"].iter().any(|word| self.is(place, word))
    }

    /// What a short word stands for, and how many words behind it belong to it.
    fn long(&self, place: usize) -> Option<(String, usize)> {
        let word = self.word(place);
        let joined = |mark: &[&str], next: &[&str]| {
            let gap = self.gap(place).trim();
            mark.contains(&gap) && next.iter().any(|next| self.is(place + 1, next))
        };
        if word.eq_ignore_ascii_case("b") && joined(&["/", "."], &["fluid", "fl"]) {
            return Some(("brake fluid".to_owned(), 1));
        }
        if word.eq_ignore_ascii_case("v") && joined(&["/"], &["clearance", "clearances"]) {
            return Some(("valve clearances".to_owned(), 1));
        }
        if word.eq_ignore_ascii_case("oil") && joined(&["+", "&", "/"], &["filter", "filters"]) {
            return Some(("oil and filter".to_owned(), 1));
        }
        let listed = |list: &[(&str, &str)], word: &str| {
            list.iter()
                .find(|(short, _)| word.eq_ignore_ascii_case(short))
                .map(|(_, long)| (*long).to_owned())
        };
        if word.starts_with(|letter: char| letter.is_ascii_digit()) {
            return self.figure(place, |unit| listed(&UNITS, unit));
        }
        let before_a_service = || listed(&BEFORE_A_SERVICE, word).filter(|_| self.is_service(place + 1));
        listed(&SHORT, word).or_else(before_a_service).map(|long| (long, 0))
    }

    /// A figure whose unit stands right behind it, in thousands (`6k`), or parted at them (`4,000`).
    fn figure(&self, place: usize, unit: impl Fn(&str) -> Option<String>) -> Option<(String, usize)> {
        let word = self.word(place);
        let digits = word.bytes().take_while(u8::is_ascii_digit).count();
        let (figure, behind) = word.split_at(digits);
        if behind.eq_ignore_ascii_case("k") {
            return Some((format!("{figure}000"), 0));
        }
        if let Some(unit) = unit(behind) {
            return Some((format!("{figure} {unit}"), 0));
        }
        let next = self.word(place + 1);
        let is_parted = behind.is_empty() && digits <= 3 && self.gap(place) == ",";
        (is_parted && next.len() == 3 && next.bytes().all(|digit| digit.is_ascii_digit()))
            .then(|| (format!("{figure}{next}"), 1))
    }
}

#[cfg(test)]
mod tests {
    use super::in_full;

    #[test]
    fn the_trades_short_words_are_written_out_and_others_left_as_they_are() {
        for (text, expected) in [
            ("Full svc", "Full service"),
            ("Anual sevice", "annual service"),
            ("svc - cust. declined", "service - cust declined"),
            ("Washed cust. Then service", "Washed cust. Then service"),
            ("Ann. service", "annual service"),
            ("Ann svc.", "annual service."),
            ("Ann booked service", "Ann booked service"),
            ("Yrly service", "yearly service"),
            ("12mth service", "12 month service"),
            ("12 mth. service", "12 month service"),
            ("4,000 mile service", "4000 mile service"),
            ("6k Svc; washed", "6000 service; washed"),
            ("4000mi serv", "4000 miles service"),
            ("B/fluid & service", "brake fluid & service"),
            ("DOT4 change", "dot 4 change"),
            ("Oil + filter", "oil and filter"),
            ("fluid change (brakes)", "fluid change  brakes"),
            ("fluid (brakes, clutch)", "fluid (brakes, clutch)"),
            ("500m service", "500m service"),
            ("10,4 mm", "10,4 mm"),
            ("1st svc. Booked for MOT", "1st service. Booked for MOT"),
            ("Prüfung, svc", "Prüfung, service"),
            ("b", "b"),
            ("", ""),
        ] {
            assert_eq!(in_full(text), expected, "{text}");
        }
    }
}
