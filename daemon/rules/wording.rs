//! The language's own errors, in words that tell an owner what to write.

use rhai::{EvalAltResult, ParseError, ParseErrorType};

use super::outline::Outline;
use super::quantity::{Misuse, UNITS};
use super::source::{Slip, Source};
use super::words::REFUSED;

/// A reading error as a slip.
pub(super) fn of_reading(error: &ParseError, source: &Source, outline: &Outline) -> Slip {
    let at = source.at(error.position());
    let word = source.word_at(at);
    let slip = |what: String, help: String| Slip { at, length: 0, what, help };
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
        ParseErrorType::PropertyExpected => slip(
            format!("`{word}` cannot follow a dot"),
            "write the name of a fact or a unit after the dot".to_owned(),
        ),
        ParseErrorType::VariableExpected => {
            slip(format!("`{word}` cannot be a name"), "write a name of letters and `_`".to_owned())
        }
        ParseErrorType::VariableExists(name) => {
            slip(format!("there is already a `{name}`"), "give one of the two another name".to_owned())
        }
        ParseErrorType::VariableUndefined(name) => slip(
            format!("nothing here is called `{name}`"),
            "write the name of a constant or of a `let`, or put a text in quotes".to_owned(),
        ),
        ParseErrorType::AssignmentToConstant(name) => {
            slip(format!("`{name}` is a constant"), "use `let` for a value that changes".to_owned())
        }
        ParseErrorType::AssignmentToInvalidLHS(_) => {
            slip("nothing can be put in there".to_owned(), "write `==` to compare".to_owned())
        }
        ParseErrorType::DuplicatedProperty(name) => {
            slip(format!("`{name}` is given twice"), "take one of the two away".to_owned())
        }
        ParseErrorType::MismatchedType(wanted, _) => match outline.code_before(at) {
            Some(sign) if source.letters[sign] == '=' && !"=!<>".contains(source.letters[sign - 1]) => {
                single_equals(sign)
            }
            _ => slip(
                format!("{wanted} is needed here").replace("a boolean expression", "yes or no"),
                "write a comparison, such as `machine.clock > 500.miles`".to_owned(),
            ),
        },
        ParseErrorType::UnknownOperator(sign) => slip(
            format!("`{sign}` is not a sign that a rule knows"),
            "write ==, !=, <, <=, >, >=, and, or, not".to_owned(),
        ),
        ParseErrorType::ExprTooDeep => {
            slip("this sentence is nested too deep".to_owned(), "split it with `let`".to_owned())
        }
        ParseErrorType::WrongFnDefinition => slip(
            "a function stands inside another".to_owned(),
            "close the function before it with `}`".to_owned(),
        ),
        ParseErrorType::LiteralTooLarge(..) | ParseErrorType::TooManyFunctions => slip(
            "this is larger than a rule may be".to_owned(),
            "make it shorter, or make two rules".to_owned(),
        ),
        ParseErrorType::BadInput(_) if REFUSED.contains(&word.as_str()) => refused(at, &word),
        ParseErrorType::BadInput(_) => bad_input(at, source),
        other => slip(
            format!("this cannot be read: {}", other.to_string().to_lowercase()),
            "compare the line with the same line of a rule that works".to_owned(),
        ),
    }
}

fn refused(at: usize, word: &str) -> Slip {
    let help = match word {
        "in" => {
            "compare with `==`, and join with `or`: `machine.kind == \"moped\" or machine.kind == \"scooter\"`"
        }
        "switch" => "use `if ... { } else if ... { } else { }`",
        "for" | "loop" | "while" | "do" => {
            "use `fn each(machine) { machine.fills }` to have every item judged by itself"
        }
        _ => "take it away; `tickover rules words` lists what a rule can say",
    };
    Slip { at, length: 0, what: format!("a rule has no `{word}`"), help: help.to_owned() }
}

fn missing_sign(token: &str, at: usize, source: &Source, outline: &Outline) -> Slip {
    let word = source.word_at(at);
    if REFUSED.contains(&word.as_str()) {
        return refused(at, &word);
    }
    let before = outline.code_before(at).unwrap_or(0);
    let after_number = source.letters.get(before).is_some_and(char::is_ascii_digit);
    if after_number && UNITS.iter().any(|(unit, _)| *unit == word) {
        let number = number_that_ends(before, source);
        return Slip {
            at,
            length: 0,
            what: "the dot before the unit is missing".to_owned(),
            help: format!("write `{number}.{word}`"),
        };
    }
    if token == ";" && [':', '!', '@', '#', '$'].contains(&source.letters.get(at).copied().unwrap_or(' ')) {
        return bad_input(at, source);
    }
    if token == ";" && ["AND", "OR", "NOT", "And", "Or", "Not"].contains(&word.as_str()) {
        let what = format!("`{word}` is written in capitals");
        return Slip { at, length: 0, what, help: format!("write `{}`", word.to_lowercase()) };
    }
    if token == ";" {
        return Slip {
            at: before,
            length: 1,
            what: "a `;` is missing here".to_owned(),
            help: "write `;` at the end of this line".to_owned(),
        };
    }
    if source.letters.get(at) == Some(&'=') && source.letters.get(at + 1) != Some(&'=') {
        return single_equals(at);
    }
    Slip {
        at,
        length: 0,
        what: format!("`{token}` is missing before `{word}`"),
        help: format!("write `{token}`"),
    }
}

fn single_equals(at: usize) -> Slip {
    let what = "a single `=` does not compare".to_owned();
    Slip { at, length: 1, what, help: "write `==`".to_owned() }
}

fn number_that_ends(at: usize, source: &Source) -> String {
    let start = source.letters[..=at].iter().rposition(|letter| !letter.is_ascii_digit() && *letter != '_');
    source.letters[start.map_or(0, |start| start + 1)..=at].iter().collect()
}

fn bad_input(at: usize, source: &Source) -> Slip {
    let letter = source.letters.get(at).copied().unwrap_or(' ');
    let (what, help) = match letter {
        '“' | '”' | '„' | '‘' | '’' => {
            ("these are a word processor's quotes", "write plain quotes: \"...\"")
        }
        '\'' => ("a text stands in double quotes", "write \"...\""),
        '–' | '—' => ("this is a long dash", "write a plain `-`"),
        '0'..='9' => (
            "this number cannot be read",
            "write figures, at most one decimal point, then the unit: `2.5.litres`",
        ),
        '£' => ("a rule has no pounds", "write the plain number"),
        _ => ("this sign has no meaning in a rule", "take it away, or put it inside a text"),
    };
    Slip { at, length: 1, what: what.to_owned(), help: help.to_owned() }
}

/// An error of a running rule as a slip.
pub(super) fn of_running(error: &EvalAltResult, source: &Source) -> Slip {
    let error = error.unwrap_inner();
    let at = source.at(error.position());
    let slip = |what: String, help: &str| Slip { at, length: 0, what, help: help.to_owned() };
    match error {
        EvalAltResult::ErrorRuntime(value, _) => match value.read_lock::<Misuse>() {
            Some(misuse) => slip(misuse.what.clone(), &misuse.help),
            None => slip(format!("the rule stopped: {value}"), "look at this line"),
        },
        EvalAltResult::ErrorTooManyOperations(_) | EvalAltResult::ErrorTerminated(..) => {
            slip("the rule takes too long".to_owned(), "make it simpler; a rule is a few comparisons")
        }
        EvalAltResult::ErrorStackOverflow(_) => {
            slip("a function calls itself without end".to_owned(), "take that call away")
        }
        EvalAltResult::ErrorDataTooLarge(..) | EvalAltResult::ErrorTooManyVariables(_) => {
            slip("this grows larger than a rule may".to_owned(), "make the text or the list shorter")
        }
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
