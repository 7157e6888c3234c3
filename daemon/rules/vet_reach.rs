//! An answer that is never reached: whatever its condition lets through, an earlier one has answered already.

use rhai::{Expr, Stmt};

use super::names::Names;
use super::source::{Slip, Source};
use super::value::Value;
use super::vet_limits::order;

/// How deep blocks are followed; nobody reads more.
const DEEPEST: usize = 20;

/// The conditions of a rule's functions that are never reached.
pub(super) fn notes(source: &Source, names: &Names) -> Vec<Slip> {
    let mut reach = Reach { source, names, slips: Vec::new() };
    for body in names.bodies.values() {
        reach.block(body.tree.statements(), 0);
    }
    reach.slips
}

struct Reach<'a> {
    source: &'a Source,
    names: &'a Names,
    slips: Vec<Slip>,
}

/// One part of a condition, as its words and signs.
type Part = Vec<String>;

impl Reach<'_> {
    fn block(&mut self, statements: &[Stmt], depth: usize) {
        let mut before: Vec<(usize, Vec<Part>)> = Vec::new();
        for statement in statements.iter().filter(|_| depth < DEEPEST) {
            let Stmt::If(flow, _) = statement else {
                // What is given another value may hold now.
                if matches!(statement, Stmt::Assignment(_)) {
                    before.clear();
                }
                continue;
            };
            let at = self.source.at(flow.expr.start_position()).min(self.place(&flow.expr));
            let parts = self.parts(at);
            let over = before.iter().find(|(_, earlier)| self.covers(earlier, &parts)).map(|(at, _)| *at);
            if let Some(earlier) = over {
                let line = self.source.line_and_column(earlier).0;
                self.slips.push(Slip {
                    at,
                    length: 0,
                    what: format!(
                        "this is never reached: line {line} has answered for all that it lets through"
                    ),
                    help: "look at the limits of the two, and at which stands first".to_owned(),
                });
            }
            if matches!(flow.body.statements().last(), Some(Stmt::Return(..))) {
                before.push((at, parts));
            }
            self.block(flow.body.statements(), depth + 1);
            self.block(flow.branch.statements(), depth + 1);
        }
    }

    /// Where an expression begins; a comparison's own place is that of its sign.
    fn place(&self, expression: &Expr) -> usize {
        match expression {
            Expr::FnCall(call, _) if call.is_operator_call() && !call.args.is_empty() => {
                self.place(&call.args[0])
            }
            Expr::And(sides, _) | Expr::Or(sides, _) if !sides.is_empty() => self.place(&sides[0]),
            _ => self.source.at(expression.start_position()),
        }
    }

    /// What a condition joins by `and`; one that is joined by `or`, or holds a block of its own, is one part.
    fn parts(&self, at: usize) -> Vec<Part> {
        let condition: String =
            self.source.letters[at..].iter().take_while(|letter| **letter != '{').collect();
        let words = words(&condition);
        if words.iter().any(|word| matches!(word.as_str(), "or" | "||" | "??" | "#" | "$")) {
            return vec![words];
        }
        words.split(|word| word == "and" || word == "&&").map(<[String]>::to_vec).collect()
    }

    /// Whether all that the later condition lets through, the earlier one does.
    fn covers(&self, earlier: &[Part], later: &[Part]) -> bool {
        earlier.iter().all(|one| later.iter().any(|other| self.follows(one, other)))
    }

    /// Whether the later part can only hold where the earlier one does: the same but for one limit, which is no wider.
    fn follows(&self, earlier: &Part, later: &Part) -> bool {
        if earlier == later {
            return true;
        }
        if earlier.len() != later.len() {
            return false;
        }
        let mut unlike = (0..earlier.len()).filter(|at| earlier[*at] != later[*at]);
        let (Some(at), None) = (unlike.next(), unlike.next()) else { return false };
        let value = |name: &String| self.names.values.get(name).and_then(Value::of);
        let (Some(one), Some(other)) = (value(&earlier[at]), value(&later[at])) else { return false };
        let Some(order) = order(&other, &one) else { return false };
        match reaches_farther(&earlier[..at], &earlier[at + 1..]) {
            Some(true) => order.is_le(),
            Some(false) => order.is_ge(),
            None => false,
        }
    }
}

/// Whether a condition lets more through the larger its limit is, from what stands before it and after it; `None` where
/// that cannot be said.
fn reaches_farther(before: &[String], after: &[String]) -> Option<bool> {
    let before: Vec<&str> = before.iter().map(String::as_str).collect();
    if let [.., "likely_within" | "perhaps_within", "("] = before[..] {
        return (after == [")"] && !before.contains(&"not")).then_some(true);
    }
    if !after.is_empty() || before.iter().any(|word| matches!(*word, "not" | "!" | "(" | "*" | "/")) {
        return None;
    }
    let sign = before.iter().position(|word| matches!(*word, "<" | "<=" | ">" | ">="))?;
    let grows = before[sign].starts_with('<');
    match before.last() {
        Some(&"-") => Some(!grows),
        Some(&"+") => Some(grows),
        Some(last) if *last == before[sign] => Some(grows),
        _ => None,
    }
}

/// The words and signs of a condition, each by itself, without blanks and remarks.
fn words(condition: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let is_of_word = |letter: char| letter.is_alphanumeric() || "_.\"".contains(letter);
    for line in condition.lines() {
        let code = line.split("//").next().unwrap_or_default();
        for piece in code.split_whitespace() {
            let mut last = None;
            for letter in piece.chars() {
                let sort = if is_of_word(letter) {
                    0
                } else if "<>=!&|?".contains(letter) {
                    1
                } else {
                    2
                };
                match (words.last_mut(), last) {
                    (Some(word), Some(same)) if same == sort && sort != 2 => word.push(letter),
                    _ => words.push(letter.to_string()),
                }
                last = Some(sort);
            }
        }
    }
    words
}
