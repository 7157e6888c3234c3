//! The language's own errors, in words that tell an owner what to write.

use std::collections::BTreeMap;
use std::ops::Range;

use rhai::{EvalAltResult, ParseError, ParseErrorType};

use super::brackets::not_closed;
use super::meant_signs::{
    self, meant_sign, misspelt_or_bare, other_sign, text_without_quotes, with_capitals, word_for_a_sign,
};
use super::misplaced::misplaced;
use super::nested::too_deep;
use super::outline::Outline;
use super::quantity::Misuse;
use super::reference::{REFUSED, WORDS, Word};
use super::side_by_side::{self, Beside};
use super::sort_of_value::Sort;
use super::source::{Cause, Slip, Source};
use super::too_large;
use super::vet_names::is_unit;
use crate::problem::is_a_slip_of;

/// Places of a file for errors that come without one.
#[derive(Default)]
pub(super) struct Places {
    /// Where the name of each constant and function stands.
    pub(super) names: BTreeMap<String, usize>,
}

/// A reading error as a slip.
pub(super) fn of_reading(error: &ParseError, source: &Source, outline: &Outline) -> Slip {
    let at = source.at(error.position());
    let word = source.word_at(at);
    let slip = |what: String, help: String| Slip::new(at, what, help);
    if let Some(slip) = misplaced(error.err_type(), at, &word, source, outline) {
        return slip;
    }
    match error.err_type() {
        ParseErrorType::MissingToken(token, _) => missing_sign(token, at, source, outline),
        ParseErrorType::Reserved(word) => refused(at, word),
        ParseErrorType::UnexpectedEOF => slip(
            "the rule ends in the middle".to_owned(),
            "finish the last sentence or close its bracket".to_owned(),
        ),
        ParseErrorType::ExprExpected(_) if REFUSED.contains(&word.as_str()) => refused(at, &word),
        ParseErrorType::ExprExpected(_) => slip(
            format!("a value is missing before `{word}`"),
            "write the value that should stand here".to_owned(),
        ),
        ParseErrorType::PropertyExpected => after_a_dot(at, &word),
        ParseErrorType::VariableExpected => {
            slip(format!("`{word}` cannot be a name"), "write a name of letters and `_`".to_owned())
        }
        ParseErrorType::VariableExists(name) => {
            slip(format!("there is already a `{name}`"), "give one of the two another name".to_owned())
        }
        ParseErrorType::VariableUndefined(name) => slip(
            format!("nothing here is called `{name}`"),
            "write the name of a constant or of a `let`, or put a text in quotes".to_owned(),
        )
        .of(Cause::NothingCalled(name.clone(), None)),
        ParseErrorType::AssignmentToConstant(name) => {
            slip(format!("`{name}` is a constant"), "use `let` for a value that changes".to_owned())
        }
        ParseErrorType::AssignmentToInvalidLHS(_) => {
            slip("nothing can be put in there".to_owned(), "write `==` to compare".to_owned())
        }
        ParseErrorType::DuplicatedProperty(name) => {
            slip(format!("`{name}` is given twice"), "take one of the two away".to_owned())
        }
        ParseErrorType::MismatchedType(wanted, _) => mismatched(wanted, at, source, outline),
        ParseErrorType::UnknownOperator(sign) if meant_sign(sign).is_some() => {
            let meant = meant_sign(sign).unwrap_or_default();
            slip(format!("`{sign}` is not a sign that a rule knows"), format!("write `{meant}`"))
                .written_for(at..at + sign.chars().count(), meant)
        }
        ParseErrorType::UnknownOperator(sign) if sign == "?" => {
            slip(format!("`{sign}` is not a sign that a rule knows"), "write `??`".to_owned())
                .written_for(at..at + 1, "??")
        }
        ParseErrorType::UnknownOperator(sign) => slip(
            format!("`{sign}` is not a sign that a rule knows"),
            "write ==, !=, <, <=, >, >=, and, or, not".to_owned(),
        ),
        ParseErrorType::ExprTooDeep => too_deep(at, source, outline),
        ParseErrorType::WrongFnDefinition => slip(
            "a function stands inside another".to_owned(),
            "close the function before it with `}`".to_owned(),
        ),
        ParseErrorType::LiteralTooLarge(sort, _) => told(at, too_large::of(sort)),
        ParseErrorType::TooManyFunctions => told(at, too_large::functions()),
        ParseErrorType::BadInput(_) if REFUSED.contains(&word.as_str()) => refused(at, &word),
        ParseErrorType::BadInput(_) => bad_input(at, source, outline),
        other => slip(
            format!("this cannot be read: {}", other.to_string().to_lowercase()),
            "compare the line with the same line of a rule that works".to_owned(),
        ),
    }
}

fn told(at: usize, (what, help): (String, &str)) -> Slip {
    Slip::new(at, what, help)
}

/// A value of another sort than its place asks for.
fn mismatched(wanted: &str, at: usize, source: &Source, outline: &Outline) -> Slip {
    let slip = |what: String, help: &str| Slip::new(at, what, help);
    match outline.code_before(at) {
        Some(sign) if source.letters[sign] == '=' && !"=!<>".contains(source.letters[sign - 1]) => {
            side_by_side::single_equals(sign, source)
        }
        _ if source.letters.get(at) == Some(&'"') => slip(
            "a text alone is neither yes nor no".to_owned(),
            "write the whole comparison on each side: `machine.kind == \"moped\" or machine.kind == \"scooter\"`",
        ),
        _ => slip(
            format!("{wanted} is needed here").replace("a boolean expression", "yes or no"),
            "write a comparison, such as `machine.clock > 500.miles`",
        ),
    }
}

/// What stands behind a dot and is neither a fact nor a unit.
fn after_a_dot(at: usize, word: &str) -> Slip {
    if word.chars().all(|letter| letter.is_ascii_digit()) {
        return unreadable_number(at);
    }
    let what = format!("`{word}` cannot follow a dot");
    let goes_on = ["and", "or", "not"].contains(&word);
    let help = if word.chars().any(char::is_alphanumeric) && !goes_on {
        "write the name of a fact or a unit after the dot"
    } else {
        "take the dot away, or write the name of a fact or a unit after it"
    };
    Slip::new(at, what, help)
}

fn unreadable_number(at: usize) -> Slip {
    let help = "write figures, at most one decimal point, then the unit: `2.5.litres`".to_owned();
    Slip::new(at, "this number cannot be read", help).marking(1)
}

pub(super) fn refused(at: usize, word: &str) -> Slip {
    let help = match word {
        "in" => {
            "compare with `==`, and join with `or`: `machine.kind == \"moped\" or machine.kind == \"scooter\"`"
        }
        "null" | "nil" | "undefined" | "None" | "void" => "ask whether a fact is known: `machine.has.clock`",
        "switch" => "use `if ... { } else if ... { } else { }`",
        "call" => "write `ring(...)` to have somebody rung",
        "#" | "--" => "write `//` before what is meant for people",
        "for" | "loop" | "while" | "do" => {
            "use `fn each(machine) { machine.fills }` to have every item judged by itself"
        }
        _ => "take it away; `tickover rules words` lists what a rule can say",
    };
    Slip::new(at, format!("a rule has no `{word}`"), help)
}

/// A sign that is missing between two things that stand side by side.
struct Gap<'a> {
    /// Which sign the language asks for.
    token: &'a str,
    /// The last character of what stands before it, and the word that ends there, with its beginning.
    before: usize,
    before_word: String,
    before_at: usize,
    /// What stands behind it.
    at: usize,
    word: String,
}

impl Gap<'_> {
    fn slip(&self, at: usize, what: impl Into<String>, help: impl Into<String>) -> Slip {
        Slip::new(at, what, help)
    }

    /// The blank right before what stands behind.
    fn blank(&self, source: &Source) -> Option<Range<usize>> {
        let blank = self.at.checked_sub(1).filter(|at| source.letters.get(*at) == Some(&' '))?;
        Some(blank..self.at)
    }
}

fn missing_sign(token: &str, at: usize, source: &Source, outline: &Outline) -> Slip {
    let before = outline.code_before(at).unwrap_or(0);
    let (before_at, before_word) = Outline::word_that_ends(source, before);
    let gap = Gap { token, before, before_word, before_at, at, word: source.word_at(at) };
    let (word, before_word) = (gap.word.as_str(), gap.before_word.as_str());
    if word == "in"
        && let Some(slip) = missing_between(&gap, source)
    {
        return slip;
    }
    if REFUSED.contains(&word) {
        return refused(at, word);
    }
    // The language looks for no value where it would be too deep.
    if before_word == "return" && token == ";" && word.starts_with(char::is_alphabetic) {
        return too_deep(at, source, outline);
    }
    let after_number = source.letters.get(before).is_some_and(char::is_ascii_digit);
    if after_number && is_unit(word) {
        let number = number_that_ends(before, source);
        return side_by_side::no_dot(
            at,
            &format!("{number}.{word}"),
            gap.blank(source).map(|blank| (blank, ".")),
        );
    }
    if let Some(slip) = else_or_if(&gap, source) {
        return slip;
    }
    let beside = Beside { token, before: (before_at, before_word), end: before, behind: (at, word) };
    let known = meant_signs::word_of_a_condition(at, before_word, before_at, source, outline)
        .or_else(|| side_by_side::meant(&beside, source, outline))
        .or_else(|| side_by_side::compared_in_words(at, source))
        .or_else(|| letter_for_a_figure(&gap, source))
        .or_else(|| dot_before_a_day(&gap, source))
        .or_else(|| other_sign(at, source))
        .or_else(|| with_capitals(before_at, before_word))
        .or_else(|| with_capitals(at, word))
        .or_else(|| missing_between(&gap, source))
        .or_else(|| word_for_a_sign(at, word, source))
        .or_else(|| text_without_quotes(at, source, outline))
        .or_else(|| misspelt_or_bare(at, (before_at, before_word), source));
    match known {
        Some(slip) => slip,
        None if token == ";" => missing_semicolon(&gap, source, outline),
        None => missing_other(&gap, source),
    }
}

/// An `else` or `else if` that is written otherwise: `elseif`, and `} esle {`.
fn else_or_if(gap: &Gap<'_>, source: &Source) -> Option<Slip> {
    let is_one = |word: &str| ["elseif", "elif", "elsif", "elsf"].contains(&word.to_lowercase().as_str());
    let written = [(gap.before_at, &gap.before_word), (gap.at, &gap.word)];
    if let Some((at, word)) = written.into_iter().find(|(_, word)| is_one(word)) {
        let slip = gap.slip(at, format!("a rule has no `{word}`"), "write `else if`");
        return Some(slip.written_for(at..at + word.len(), "else if"));
    }
    let closes = source.letters.get(gap.before) == Some(&'}') && gap.token == ";";
    let is_else = gap.word != "else" && gap.word.len() > 2 && is_a_slip_of(&gap.word, "else");
    (closes && is_else).then(|| {
        let slip = gap.slip(gap.at, format!("`{}` is no word of a rule", gap.word), "write `else`");
        slip.written_for(gap.at..gap.at + gap.word.chars().count(), "else")
    })
}

/// A letter that looks like a figure, at the end of a number: `18O`.
fn letter_for_a_figure(gap: &Gap<'_>, source: &Source) -> Option<Slip> {
    let adjacent = gap.at == gap.before + 1 && source.letters.get(gap.before)?.is_ascii_digit();
    let meant = as_figures(&gap.word).filter(|_| adjacent)?;
    let number = format!("{}{meant}", number_that_ends(gap.before, source));
    let figure = if gap.word.to_lowercase().starts_with('o') { "nought" } else { "one" };
    let help = format!("write a {figure}: `{number}`");
    let stretch = gap.before + 1 - number_that_ends(gap.before, source).len()..gap.at + gap.word.len();
    Some(gap.slip(gap.at, "a letter stands in this number", help).written_for(stretch, number))
}

/// What a word is in figures whose letters look like figures, and that is nothing else.
pub(super) fn as_figures(word: &str) -> Option<String> {
    let figure = |letter: char| match letter {
        'O' | 'o' => Some('0'),
        'l' | 'I' => Some('1'),
        figure => figure.is_ascii_digit().then_some(figure),
    };
    word.chars().map(figure).collect()
}

/// A day behind an answer whose dot is missing: `ring(...) by(...)`.
fn dot_before_a_day(gap: &Gap<'_>, source: &Source) -> Option<Slip> {
    let word = WORDS.iter().find(|word| word.name == gap.word && word.on == Some(Sort::Answer))?;
    let behind_brackets = source.letters.get(gap.before) == Some(&')');
    behind_brackets
        .then(|| gap.slip(gap.at, "a dot is missing before this", format!("write `{}`", word.written)))
}

/// A sentence ends, or something else is missing that the language takes for its end.
fn missing_semicolon(gap: &Gap<'_>, source: &Source, outline: &Outline) -> Slip {
    let (word, before_word) = (gap.word.as_str(), gap.before_word.as_str());
    let is_name = names_a_value(gap.before_at, source, outline);
    if is_name && (word.starts_with(char::is_alphabetic) || word == "-") {
        let help = format!("write `_` where a blank or a dash would be: `{before_word}_...`");
        return gap.slip(gap.before_at, "a name is one word", help);
    }
    if is_name {
        let help = format!("write one `=` between `{before_word}` and its value");
        return gap.slip(gap.before, "an `=` is missing here", help).marking(1);
    }
    if word == ","
        && let Some(slip) = side_by_side::comma(gap.at, source)
    {
        return slip;
    }
    if is_unit(word) && before_word.is_empty() {
        let number: String = number_that_ends(gap.before.saturating_sub(1), source);
        let help = format!("take it away: `{number}.{word}`");
        return gap.slip(gap.at.saturating_sub(1), "a blank stands before this unit", help);
    }
    if is_unit(word) {
        let help = format!("write figures, a dot and the unit: `14.{word}`");
        return gap.slip(gap.before_at, format!("`{before_word}` is no number"), help);
    }
    if [':', '!', '@', '#', '$'].contains(&source.letters.get(gap.at).copied().unwrap_or(' ')) {
        return bad_input(gap.at, source, outline);
    }
    if source.line_and_column(gap.before).0 == source.line_and_column(gap.at).0 {
        if source.line(gap.at).starts_with("const ") {
            let help = "write `;` before it, and `//` before what is meant for people";
            return gap.slip(gap.at, format!("the value ends before `{word}`"), help);
        }
        let help = "write what joins the two, such as `==`, `and` or a dot; or `;` where a sentence ends";
        return gap.slip(gap.at, format!("something is missing before `{word}`"), help);
    }
    gap.slip(gap.before, "a `;` is missing here", "write `;` at the end of this line")
        .marking(1)
        .of(Cause::NoSemicolon)
}

/// A colon, a comma or a brace is missing.
fn missing_other(gap: &Gap<'_>, source: &Source) -> Slip {
    let (at, token, word) = (gap.at, gap.token, gap.word.as_str());
    if source.letters.get(at) == Some(&'=') && source.letters.get(at + 1) != Some(&'=') {
        return if token == ":" { colon_missing(at) } else { side_by_side::single_equals(at, source) };
    }
    let are_words = [&gap.before_word, &gap.word].iter().all(|word| word.starts_with(char::is_alphabetic));
    match token {
        "{" if word == ";" => {
            gap.slip(at, "this `;` ends the condition too early", "take it away: `{` follows the condition")
        }
        "{" if gap.before_word == "else" => {
            let help = format!("write `{{` before `{word}`, and `}}` where that ends");
            gap.slip(at, "braces are missing behind `else`", help).of(Cause::NoBrace)
        }
        "{" => {
            let help = "join comparisons with `and` or `or`, and write `{` behind the condition";
            let what = format!("the condition ends before `{word}`, and no `{{` follows");
            gap.slip(at, what, help).of(Cause::NoBrace)
        }
        "," if are_words => {
            let help = "write `,`; or, if this is a text, put it in quotes";
            gap.slip(at, format!("`,` is missing before `{word}`"), help)
        }
        _ => {
            let slip =
                gap.slip(at, format!("`{token}` is missing before `{word}`"), format!("write `{token}`"));
            match gap.blank(source) {
                Some(blank) if token.chars().count() == 1 => slip.written_for(blank, token),
                _ => slip,
            }
        }
    }
}

/// What is missing between two things that stand side by side and that an owner takes for one.
fn missing_between(gap: &Gap<'_>, source: &Source) -> Option<Slip> {
    let (before, at, token) = (gap.before, gap.at, gap.token);
    let (before_word, word) = (gap.before_word.as_str(), gap.word.as_str());
    let slip = |at: usize, what: &str, help: String| Some(Slip::new(at, what, help));
    let letter = |at: usize| source.letters.get(at).copied().unwrap_or(' ');
    let is_figure = |at: usize| letter(at).is_ascii_digit();
    if is_figure(before) && is_figure(at) {
        let number = number_that_ends(before, source);
        return slip(
            at,
            "a blank stands in this number",
            format!("leave it out: `{number}{word}`, or write `_`: `{number}_{word}`"),
        );
    }
    if is_figure(before) && letter(at) == ',' && is_figure(at + 1) {
        let number = number_that_ends(before, source);
        let help = format!("leave it out: `{number}{}`", source.word_at(at + 1));
        return slip(at, "a comma stands in this number", help);
    }
    if before_word == "machine" && token != "," {
        let fact = if letter(at) == ',' { source.word_at(at + 1) } else { word.to_owned() };
        let stands_between = if letter(at) == ',' { at } else { before + 1 };
        let slip = gap.slip(at, "a dot is missing before this", format!("write `machine.{fact}`"));
        return Some(slip.written_for(stands_between..stands_between + 1, "."));
    }
    if word == "is" || before_word == "is" || (before_word == "not" && letter(at) == '"') {
        let behind = source.letters[at..].iter().skip_while(|letter| letter.is_alphabetic());
        let behind: String = behind.skip(1).take("not".len()).collect();
        let sign = if before_word == "not" || behind == "not" { "!=" } else { "==" };
        let help = format!("write `==` for is, and `!=` for is not; here `{sign}`");
        let words = if before_word == "is" || before_word == "not" {
            gap.before_at..gap.before + 1
        } else {
            at..at + if sign == "!=" { "is not".len() } else { "is".len() }
        };
        return Some(side_by_side::with_signs(at, help, words, sign));
    }
    let is_called = |word: &&Word| word.name == before_word && word.on == Some(Sort::Answer);
    if let Some(called) = WORDS.iter().find(is_called).filter(|_| letter(at) != '(') {
        let slip = gap.slip(at, "brackets are missing before this", format!("write `{}`", called.written));
        return Some(slip.of(Cause::NotOpened));
    }
    if let (sign @ ('"' | '`'), true) = (letter(before), at == before + 1 && letter(at).is_alphabetic()) {
        let (what, help) = meant_signs::ends_the_text(sign);
        return slip(before, what, help.to_owned());
    }
    if matches!(
        (before_word, word),
        ("book", "in")
            | ("keep", "in")
            | ("fix", "sheet")
            | ("at", "once")
            | ("cannot", "tell")
            | ("does", "not")
    ) {
        let whole =
            if before_word == "keep" { "keep_in_yard".to_owned() } else { format!("{before_word}_{word}") };
        let slip = gap.slip(at, "this is one word", format!("write `{whole}`"));
        let is_whole = before_word != "keep";
        let stretch = gap.before_at..at + word.chars().count();
        return Some(if is_whole { slip.written_for(stretch, whole) } else { slip });
    }
    None
}

fn colon_missing(at: usize) -> Slip {
    let what = "a fact of an example has a colon".to_owned();
    Slip::new(at, what, "write `:` instead of `=`").marking(1).written_for(at..at + 1, ":")
}

/// Whether the word that begins at a character stands behind `const` or `let`, and so is a name.
fn names_a_value(at: usize, source: &Source, outline: &Outline) -> bool {
    outline
        .code_before(at)
        .is_some_and(|end| ["const", "let"].contains(&Outline::word_that_ends(source, end).1.as_str()))
}

/// The whole number whose last figure stands at a place.
pub(super) fn number_that_ends(at: usize, source: &Source) -> String {
    let start = source.letters[..=at].iter().rposition(|letter| !letter.is_ascii_digit() && *letter != '_');
    source.letters[start.map_or(0, |start| start + 1)..=at].iter().collect()
}

fn bad_input(at: usize, source: &Source, outline: &Outline) -> Slip {
    let letter = source.letters.get(at).copied().unwrap_or(' ');
    if letter == ':' {
        return colon(at, source, outline);
    }
    if let Some(slip) = other_sign(at, source) {
        return slip;
    }
    let before = outline.code_before(at).unwrap_or(0);
    if source.letters.get(before) == Some(&'(') && source.word_at(at) == "return" {
        return not_closed(before, '(', "return");
    }
    if at > 0 && source.letters.get(at - 1) == Some(&'\\') {
        let what = "a text has no `\\`".to_owned();
        return Slip::new(at - 1, what, "write `/` instead").marking(1);
    }
    if source.letters.get(before) == Some(&'%') {
        let help = "write the figure that it comes to".to_owned();
        return Slip::new(before, "a rule has no `%`", help).marking(1);
    }
    if letter.is_ascii_alphabetic() || matches!(letter, ';' | ')' | ']' | '}') {
        let word = source.word_at(at);
        let what = format!("a value is missing before `{word}`");
        return Slip::new(at, what, "write it there, or take the sign or word away");
    }
    if let Some(slip) = meant_signs::odd_sign_for_a_figure(at, source) {
        return slip;
    }
    let (what, help) = match letter {
        '=' => return side_by_side::single_equals(at, source),
        '#' => (
            "this `#` stands alone",
            "write `#{` without a blank before an example's facts, and `//` before a comment",
        ),
        '\u{a0}' | '\u{202f}' | '\u{2007}' => {
            ("this is a no-break space, which looks like a blank and is none", "write an ordinary blank")
        }
        blank if blank.is_whitespace() => {
            ("this is an uncommon blank, which a rule cannot read", "write an ordinary blank")
        }
        '“' | '”' | '„' | '‘' | '’' => {
            ("these are a word processor's quotes", "write plain quotes: \"...\"")
        }
        '«' | '»' | '‹' | '›' => {
            ("these are no quotes that a rule knows", "write plain quotes: \"...\"")
        }
        '\'' => ("a text stands in double quotes", "write \"...\""),
        '\u{b4}' => (
            "this is an accent, and no backtick",
            "write a backtick before the text and one behind it: `` `...` ``",
        ),
        '–' | '—' => ("this is a long dash", "write a plain `-`"),
        '0'..='9' => return unreadable_number(at),
        '\u{2026}' => {
            ("these are the three dots of a word processor", "write what belongs there, or delete them")
        }
        '×' => ("this is no sign of a rule", "write `*`"),
        '£' => ("a rule has no pounds", "write the plain number"),
        _ => ("this sign has no meaning in a rule", "take it away, or put it inside a text"),
    };
    Slip::new(at, what, help).marking(1)
}

/// A `:` where none may stand: mostly behind the first fact of an example whose `{` lacks its `#`.
fn colon(at: usize, source: &Source, outline: &Outline) -> Slip {
    let name_end = outline.code_before(at).unwrap_or(0);
    let (name_at, name) = Outline::word_that_ends(source, name_end);
    if names_a_value(name_at, source, outline) {
        let what = "an `=` is missing here".to_owned();
        let help = format!("write `=` between `{name}` and its value, not `:`");
        return Slip::new(at, what, help).marking(1);
    }
    // The name may stand in quotes, as other languages have it.
    let quoted = source.letters.get(name_end) == Some(&'"');
    let opens =
        quoted.then(|| source.letters[..name_end].iter().rposition(|letter| *letter == '"')).flatten();
    let brace = outline.code_before(opens.unwrap_or(name_at)).filter(|at| source.letters[*at] == '{');
    match brace.filter(|at| *at == 0 || source.letters[at - 1] != '#') {
        Some(open) => {
            Slip::new(open, "a `#` is missing before this `{`", "write `#{` before the facts").marking(1)
        }
        None => Slip::new(at, "this sign has no meaning in a rule", "take it away, or put it inside a text")
            .marking(1),
    }
}

/// Where an error arose: at its own place, or, since not every error has one, where the function or constant is named.
fn place_of(error: &EvalAltResult, name: &str, source: &Source, places: &Places) -> usize {
    let position = error.position();
    if position.is_none() { places.names.get(name).copied().unwrap_or(0) } else { source.at(position) }
}

/// An error of a rule that ran, or of a constant that was made, as a slip; with the name of the function or constant.
pub(super) fn of_running(error: &EvalAltResult, name: &str, source: &Source, places: &Places) -> Slip {
    let error = error.unwrap_inner();
    let at = place_of(error, name, source, places);
    let slip = |what: String, help: &str| Slip::new(at, what, help);
    match error {
        EvalAltResult::ErrorRuntime(value, _) => match value.read_lock::<Misuse>() {
            Some(misuse) => slip(misuse.what.clone(), &misuse.help),
            None => slip(format!("the rule stopped: {value}"), "look at this line"),
        },
        EvalAltResult::ErrorTooManyOperations(_) | EvalAltResult::ErrorTerminated(..) => {
            slip("the rule takes too long".to_owned(), "make it simpler; a rule is a few comparisons")
        }
        EvalAltResult::ErrorStackOverflow(_) => {
            slip("functions call each other too deep".to_owned(), "put what they do into fewer functions")
        }
        EvalAltResult::ErrorDataTooLarge(sort, _) => told(at, too_large::of(sort)),
        EvalAltResult::ErrorTooManyVariables(_) => told(at, too_large::names()),
        EvalAltResult::ErrorArithmetic(..) => slip(
            "this sum has no result".to_owned(),
            "use smaller numbers, and divide by nothing but a number above 0",
        ),
        EvalAltResult::ErrorFunctionNotFound(call, _) => slip(
            format!("`{}` does not work with these values", plain_call(call)),
            "give it values of the sort that `tickover rules words` says",
        ),
        EvalAltResult::ErrorVariableNotFound(name, _) => {
            slip(format!("nothing here is called `{name}`"), "define it further up with `const`")
                .of(Cause::NothingCalled(name.clone(), None))
        }
        EvalAltResult::ErrorDotExpr(..) | EvalAltResult::ErrorPropertyNotFound(..) => {
            slip("this has no such fact".to_owned(), "look the fact up in what `tickover rules words` lists")
        }
        EvalAltResult::ErrorMismatchDataType(wanted, got, _) => slip(
            format!("{} is needed here, not {}", plain_type(wanted), plain_type(got)),
            "write a comparison, such as `machine.clock > 500.miles`",
        ),
        other => slip(format!("the rule stopped: {other}"), "compare the line with a rule that works"),
    }
}

/// `+ (i64, string)` as `+`.
fn plain_call(call: &str) -> &str {
    call.split([' ', '(']).next().unwrap_or(call)
}

fn plain_type(name: &str) -> &str {
    match name {
        "bool" => "yes or no",
        "i64" | "decimal" => "a plain number",
        "string" => "a text",
        "()" => "nothing",
        _ => "another sort of value",
    }
}
