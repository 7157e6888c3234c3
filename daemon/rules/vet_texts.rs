//! What stands in a text: values that can be printed, and what was meant as a value and would print as it stands.

use rhai::{Expr, Stmt};

use super::facts;
use super::reference::text_of;
use super::sort_of_value::{Kind, Sort};
use super::vet::Vet;

impl Vet<'_> {
    /// Where the value of a `${...}` stands.
    pub(super) fn place_in_text(&self, piece: &Expr) -> usize {
        let inner = match piece {
            Expr::Stmt(block) => block.statements().first().map(Stmt::position),
            _ => None,
        };
        self.source.at(inner.unwrap_or_else(|| piece.start_position()))
    }

    /// Whether nothing stands between the braces of a `${}`, which is told.
    pub(super) fn is_empty_place(&mut self, piece: &Expr) -> bool {
        let is_empty = match piece {
            Expr::Unit(_) => true,
            Expr::Stmt(block) => block.is_empty(),
            _ => false,
        };
        if is_empty {
            let at = self.place_in_text(piece);
            self.slip(
                at,
                "nothing stands in this `${}`",
                "write a fact between its braces: `${machine.clock}`",
            );
        }
        is_empty
    }

    /// A text prints as it stands, also what was meant to be a value in it.
    pub(super) fn plain(&mut self, text: &str, at: usize) {
        if let Some(value) = meant_as_a_value(text, |name| self.is_name_of_a_value(name)) {
            let what = format!("`{value}` would print just so, and not as the value");
            let name = value.trim_matches(['$', '{', '}', '(', ')']);
            let in_backticks = self.source.letters.get(at) == Some(&'`');
            let also = if in_backticks { "" } else { ", and the whole text in backticks: `` `...` ``" };
            self.slip(at, what, format!("write `${{{name}}}`{also}"));
        }
    }

    pub(super) fn printable(&mut self, sort: Sort, at: usize) {
        match sort {
            Sort::YesNo => {
                let help = match self.asked_whether_known(at) {
                    Some(fact) => format!("write `${{{fact}}}`, which prints the fact itself"),
                    None => "print what is to be said then: `${if machine.mot_worked_out { \"...\" } else { \"...\" }}`"
                        .to_owned(),
                };
                self.slip(at, "this is yes or no, and would print as `true` or `false`", help);
            }
            Sort::Perhaps(_) => {
                self.slip(
                    at,
                    "this may be missing, and would print as nothing",
                    "write `?? \"...\"` after it, with what to print then",
                );
            }
            Sort::Nothing
            | Sort::Has(_)
            | Sort::Maybe(_)
            | Sort::List(_)
            | Sort::Thing(_)
            | Sort::Rows
            | Sort::Map
            | Sort::Answer
            | Sort::Sometimes
            | Sort::Mixed => {
                self.slip(at, format!("{} cannot be printed in a text", sort.words()), "name one fact of it");
            }
            _ => {}
        }
    }
}

impl Vet<'_> {
    /// Whether a name is one of a fact, a limit, or a value of the rule's own.
    fn is_name_of_a_value(&self, name: &str) -> bool {
        let first = name.split('.').next().unwrap_or(name);
        let last = name.rsplit('.').next().unwrap_or(name);
        self.scope.iter().any(|(own, _)| own == first)
            || self.names.constants.contains_key(first)
            || Kind::named(first).is_some()
            || facts::all().any(|fact| fact.name == last)
    }

    /// A text that is written out, here or as a constant, and where it stands.
    pub(super) fn text_written(&self, written: &Expr) -> Option<(String, usize)> {
        match written {
            Expr::StringConstant(text, position) => Some((text.to_string(), self.source.at(*position))),
            _ => {
                let (name, at) = self.constant(written)?;
                Some((text_of(self.names.values.get(name)?)?, at))
            }
        }
    }

    /// How many characters a text has at least, without its blanks, which may be at its ends.
    pub(super) fn least_length(&self, text: &Expr) -> usize {
        let of = |text: &str| text.chars().filter(|letter| !letter.is_whitespace()).count();
        match text {
            Expr::InterpolatedString(pieces, _) => pieces.iter().map(|piece| self.least_length(piece)).sum(),
            Expr::FnCall(call, _) if call.name == "+" && call.args.len() == 2 => {
                call.args.iter().map(|side| self.least_length(side)).sum()
            }
            Expr::Stmt(block) => match block.statements() {
                [Stmt::Expr(only)] => self.least_length(only),
                _ => 0,
            },
            _ => self.text_written(text).map_or(0, |(text, _)| of(&text)),
        }
    }

    /// The fact of which `has` asks at a place, and nothing else: `machine.clock` of `machine.has.clock`.
    fn asked_whether_known(&self, at: usize) -> Option<String> {
        let rest = self.source.letters.get(at..)?.iter();
        let written: String =
            rest.take_while(|letter| letter.is_alphanumeric() || "_.".contains(**letter)).collect();
        let (thing, fact) = written.split_once(".has.")?;
        let is_all = self.source.letters.get(at + written.chars().count()) == Some(&'}');
        (is_all && !fact.contains('.')).then(|| format!("{thing}.{fact}"))
    }
}

/// What looks like a value in a text that prints as it stands: `{who}`, `$who`, `$(who)`, or `${who}` where no value can be.
fn meant_as_a_value(text: &str, is_known: impl Fn(&str) -> bool) -> Option<&str> {
    let starts = text.match_indices(['{', '$']).map(|(at, _)| at);
    starts.into_iter().find_map(|at| {
        let inner = text[at..].trim_start_matches(['$', '{']);
        let inner = if text[at..].starts_with("$(") { &text[at + 2..] } else { inner };
        let opened = text[at..].len() - inner.len();
        let is_of_name = |letter: char| letter.is_ascii_alphanumeric() || "_.".contains(letter);
        let name = inner.find(|letter| !is_of_name(letter)).map_or(inner, |end| &inner[..end]);
        let name = name.trim_end_matches('.');
        let begins = name.starts_with(|letter: char| letter.is_ascii_alphabetic());
        let closed = inner[name.len()..].starts_with(['}', ')']);
        let dollar_alone = opened == 1 && text[at..].starts_with('$');
        // A word in braces may be meant as one: `{brakes}`.
        let is_meant = text[at..].starts_with("${") || is_known(name);
        (begins && is_meant && (closed || dollar_alone))
            .then(|| &text[at..at + opened + name.len() + usize::from(closed)])
    })
}
