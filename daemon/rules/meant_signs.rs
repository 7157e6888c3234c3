//! What is meant by words that stand for a sign, and where a quote is missing or one too many.

use super::language_errors::refused;
use super::outline::Outline;
use super::reference::WORDS;
use super::source::{Cause, Slip, Source};
use crate::problem::is_a_slip_of;

/// Words of plain speech, and of other languages, each with the sign or word of a rule.
const SIGNS: &[(&str, &str)] = &[
    ("und", "and"),
    ("an", "and"),
    ("ad", "and"),
    ("adn", "and"),
    ("nad", "and"),
    ("ro", "or"),
    ("plus", "+"),
    ("oder", "or"),
    ("greater", ">"),
    ("more", ">"),
    ("over", ">"),
    ("above", ">"),
    ("past", ">"),
    ("beyond", ">"),
    ("exceeds", ">"),
    ("after", ">"),
    ("less", "<"),
    ("fewer", "<"),
    ("under", "<"),
    ("below", "<"),
    ("before", "<"),
    ("equals", "=="),
    ("equal", "=="),
];

/// The sign that a word of plain speech stands for.
pub(super) fn sign_of(word: &str) -> Option<&'static str> {
    SIGNS
        .iter()
        .find(|(other, sign)| *other == word && !sign.starts_with(char::is_alphabetic))
        .map(|(_, sign)| *sign)
}

/// The words that begin or join what a rule says.
const KEYWORDS: [&str; 6] = ["return", "const", "else", "let", "and", "not"];
/// Those of other languages that a rule has not, and that are misspelt, too.
const LOOPS: [&str; 2] = ["while", "switch"];

/// A word where a sign belongs.
pub(super) fn word_for_a_sign(at: usize, word: &str, source: &Source) -> Option<Slip> {
    let plain = word.to_lowercase();
    let behind: String = source.letters[at..].iter().skip(word.chars().count() + 1).take(5).collect();
    let meant = match (plain.as_str(), behind.as_str()) {
        ("at", "least") => ">=",
        ("at", behind) if behind.starts_with("most") => "<=",
        ("no", _) => return None,
        (plain, _) => SIGNS.iter().find(|(other, _)| *other == plain)?.1,
    };
    let what = format!("`{word}` is no word of a rule here");
    let slip = Slip::new(at, what, format!("write `{meant}`"));
    let is_one_word = !["<=", ">="].contains(&meant) && !["than", "to"].contains(&behind.trim());
    Some(if is_one_word { slip.written_for(at..at + word.chars().count(), meant) } else { slip })
}

/// A word that begins a sentence, with capitals that an editor or a habit has given it.
pub(super) fn with_capitals(at: usize, word: &str) -> Option<Slip> {
    let plain = word.to_lowercase();
    let known = ["if", "else", "return", "let", "and", "or", "not", "true", "false"];
    (plain != word && known.contains(&plain.as_str())).then(|| {
        Slip::new(at, format!("`{word}` is written in capitals"), format!("write `{plain}`"))
            .written_for(at..at + word.chars().count(), plain)
    })
}

/// A word of a condition that a rule has not, or that its `not` hides: `unless`, `then`, and `IF not`.
pub(super) fn word_of_a_condition(
    at: usize,
    before: &str,
    before_at: usize,
    source: &Source,
    outline: &Outline,
) -> Option<Slip> {
    let slip =
        |at: usize, word: &str, help: &str| Some(Slip::new(at, format!("a rule has no `{word}`"), help));
    if before.to_lowercase() == "unless" {
        return slip(before_at, before, "write `if not (...)`, with the condition between the brackets");
    }
    let word = source.word_at(at);
    if word.to_lowercase() == "then" {
        return slip(at, &word, "write `{` in its place, and `}` where what it decides ends");
    }
    let end = outline.code_before(before_at).filter(|_| before == "not");
    let (first_at, first) =
        end.map_or((before_at, before.to_owned()), |end| Outline::word_that_ends(source, end));
    if ["wenn", "when", "whenever"].contains(&first.to_lowercase().as_str()) {
        return slip(first_at, &first, "write `if`");
    }
    end.and_then(|_| with_capitals(first_at, &first))
}

/// The sign that is meant by one of another trade.
pub(super) fn meant_sign(sign: &str) -> Option<&'static str> {
    let signs = [
        ("<>", "!="),
        ("=>", ">="),
        ("=<", "<="),
        ("\u{2260}", "!="),
        ("\u{2265}", ">="),
        ("\u{2264}", "<="),
    ];
    signs.iter().find(|(other, _)| *other == sign).map(|(_, meant)| *meant)
}

/// Such a sign at a place, or one that ends there.
pub(super) fn other_sign(at: usize, source: &Source) -> Option<Slip> {
    [(at, 1), (at, 2), (at.saturating_sub(1), 2)].into_iter().find_map(|(at, length)| {
        let sign: String = source.letters.get(at..at + length)?.iter().collect();
        let meant = meant_sign(&sign)?;
        let what = format!("`{sign}` is not a sign that a rule knows");
        let slip = Slip::new(at, what, format!("write `{meant}`")).marking(length);
        Some(slip.written_for(at..at + length, meant))
    })
}

/// What is said of a quote or a backtick behind which the text seems to go on.
pub(super) fn ends_the_text(sign: char) -> (&'static str, &'static str) {
    if sign == '`' {
        return ("this backtick ends the text", "write ' instead inside a text");
    }
    ("this quote ends the text", "write ' instead inside a text, or the whole text in backticks: `` `...` ``")
}

/// An apostrophe between thousands, or figures that are wider than plain ones.
pub(super) fn odd_sign_for_a_figure(at: usize, source: &Source) -> Option<Slip> {
    let letter = *source.letters.get(at)?;
    let is_figure = |at: usize| source.letters.get(at).is_some_and(char::is_ascii_digit);
    if letter == '\'' && at > 0 && is_figure(at - 1) && is_figure(at + 1) {
        let (_, thousands) = Outline::word_that_ends(source, at - 1);
        let rest = source.word_at(at + 1);
        return Some(
            Slip::new(
                at,
                "an apostrophe stands in this number",
                format!("leave it out: `{thousands}{rest}`, or write `_`: `{thousands}_{rest}`"),
            )
            .marking(1)
            .written_for(at..at + 1, "_"),
        );
    }
    let wide =
        |letter: char| u32::from(letter).checked_sub(u32::from('\u{ff10}')).filter(|figure| *figure < 10);
    wide(letter)?;
    let figures: Vec<u32> = source.letters[at..].iter().map_while(|letter| wide(*letter)).collect();
    let plain: String = figures.iter().filter_map(|figure| char::from_digit(*figure, 10)).collect();
    Some(
        Slip::new(
            at,
            "these are wide figures, which a rule cannot read",
            format!("write plain ones: `{plain}`"),
        )
        .marking(figures.len())
        .written_for(at..at + figures.len(), plain),
    )
}

/// A misspelt `return`, `let` and the like, or an answer without its brackets.
pub(super) fn misspelt_or_bare(at: usize, before: (usize, &str), source: &Source) -> Option<Slip> {
    let (before_at, before) = before;
    if let Some(meant) = KEYWORDS.iter().find(|meant| is_a_slip_of(before, meant) && before != **meant)
        && before.chars().count() > 2
    {
        let what = format!("`{before}` is no word of a rule");
        let stretch = before_at..before_at + before.chars().count();
        return Some(Slip::new(before_at, what, format!("write `{meant}`")).written_for(stretch, *meant));
    }
    if let Some(meant) = LOOPS.iter().find(|meant| is_a_slip_of(before, meant)) {
        return Some(Slip { what: format!("a rule has no `{before}`"), ..refused(before_at, meant) });
    }
    let opens_a_text = matches!(source.letters.get(at), Some('"' | '`'));
    let word = WORDS.iter().find(|word| word.on.is_none() && word.name == before).filter(|_| opens_a_text)?;
    let what = "brackets are missing around this text".to_owned();
    Some(Slip::new(at, what, format!("write `{}`", word.written)).marking(1).of(Cause::NotOpened))
}

/// A title or reason whose quotes are both gone: `const TITLE = Long ride;`
pub(super) fn text_without_quotes(at: usize, source: &Source, outline: &Outline) -> Option<Slip> {
    let (line, column) = source.line_and_column(at);
    let start = at - (column - 1);
    let written: String = source.letters[start..].iter().take_while(|letter| **letter != '\n').collect();
    let name = ["TITLE", "WHY", "CAUTION"].into_iter().find(|name| {
        let mut words = written.split_whitespace();
        words.next() == Some("const") && words.next() == Some(name)
    })?;
    let value = start + written.chars().position(|letter| letter == '=')? + 1;
    let value = (value..at).find(|at| !source.letters[*at].is_whitespace())?;
    debug_assert_eq!(source.line_and_column(value).0, line, "a line is one line");
    (outline.may_name(value) && source.letters[value] != '`').then(|| {
        Slip::new(
            value,
            "a text stands in quotes",
            format!("write it between two quotes: `const {name} = \"...\";`"),
        )
    })
}

/// What is said of a quote whose text does not end in its line: it is the one that is missing, or one too many.
pub(super) fn unclosed(letters: &[char], at: usize, quote: char) -> Slip {
    let start = letters[..at].iter().rposition(|letter| *letter == '\n').map_or(0, |start| start + 1);
    let rest = letters[at + 1..].iter().take_while(|letter| **letter != '\n');
    let ends_there = rest.clone().all(|letter| letter.is_whitespace() || ";,)]}".contains(*letter));
    let earlier: Vec<usize> =
        (start..at).filter(|at| letters[*at] == '"' && (*at == 0 || letters[*at - 1] != '\\')).collect();
    let slip = |at: usize, what: &str, help: &str| Slip::new(at, what, help).marking(1);
    let begins_a_value = |at: usize| {
        let before = letters[start..at].iter().rev().find(|letter| !letter.is_whitespace());
        before.is_none_or(|letter| "=(,:[!<>".contains(*letter))
    };
    let odd_quote = |at: &usize| ['\'', '\u{b4}', '"'].contains(&letters[*at]) && begins_a_value(*at);
    let goes_on = rest.clone().next().is_none_or(|letter| ").;, ".contains(*letter));
    let pair: Vec<usize> = (start..at).filter(|at| letters[*at] == '`').collect();
    match (quote, &earlier[..]) {
        ('`', _) if goes_on && !begins_a_value(at) && !pair.is_empty() => {
            let ends = pair[pair.len() - 1];
            slip(ends, "this backtick ends the text", "write ' instead inside a text")
        }
        ('`', _) if goes_on && !begins_a_value(at) => match (start..at).find(odd_quote) {
            Some(begins) => slip(
                begins,
                "this text ends with a backtick and begins with none",
                "write a backtick here, too",
            )
            .written_for(begins..begins + 1, "`"),
            None => slip(at, "this text is not closed", "write ` at its end"),
        },
        ('"', _) if begins_a_value(at) && rest.clone().filter(|letter| **letter == '`').count() == 1 => {
            slip(at, "this text ends with a backtick and begins with none", "write a backtick here, too")
                .written_for(at..at + 1, "`")
        }
        ('"', []) if ends_there && rest.count() > 0 && !begins_a_value(at) => {
            slip(at, "this quote ends a text that has none where it begins", "write \" before its first word")
        }
        ('"', [.., begins, ends]) if ends_there && begins_a_value(*begins) && !begins_a_value(at) => slip(
            *ends,
            "this quote ends the text",
            "write ' instead inside a text, or the whole text in backticks: `` `...` ``",
        ),
        _ => slip(at, "this text is not closed", &format!("write {quote} at its end")),
    }
}

/// Where a day of figures begins whose first or second stroke stands at a place, and how it is written in a rule.
pub(super) fn day_of_figures(at: usize, source: &Source) -> Option<(usize, String)> {
    let is_of_day = |letter: &char| letter.is_ascii_digit() || *letter == '/';
    let start =
        source.letters[..at].iter().rposition(|letter| !is_of_day(letter)).map_or(0, |start| start + 1);
    let written: String = source.letters[start..].iter().take_while(|letter| is_of_day(letter)).collect();
    let [day, month, year] = written.split('/').collect::<Vec<_>>()[..] else { return None };
    let year = if year.len() == 2 { format!("20{year}") } else { year.to_owned() };
    let day: i8 = day.parse().ok()?;
    let day = jiff::civil::Date::new(year.parse().ok()?, month.parse().ok()?, day).ok()?;
    Some((start, day.to_string()))
}
