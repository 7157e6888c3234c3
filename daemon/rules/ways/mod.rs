//! Follows every way through a rule, and finds the conditions that never hold, and the answers that no way leads to.
//!
//! What a condition asks is kept for what stands behind it: within its braces it holds, and behind an answer it does not.

mod known;
mod measured;
mod plausible;

use rhai::{ASTNode, Expr, Stmt};

use super::names::{Body, Names};
use super::source::{Slip, Source};
use super::vet_calls::is_comparison;
use known::{Question, Ways};
pub(super) use measured::figure;
use measured::{Sight, links};
use plausible::Told;

/// How deep blocks and conditions are followed; nobody reads more.
const DEEPEST: usize = 24;
/// The most questions that are answered of one file; behind them nothing is said any more.
const QUESTIONS: usize = 4_000;

/// What never holds, and what is never reached.
#[derive(Default)]
pub(super) struct Never {
    /// Conditions that shut themselves out, which is wrong.
    pub(super) slips: Vec<Slip>,
    /// Answers that earlier ones leave nothing to because of a limit with a name, which may be meant.
    pub(super) notes: Vec<Slip>,
}

/// Looks through all functions of a rule.
pub(super) fn look(source: &Source, names: &Names) -> Never {
    let mut never = Never::default();
    let mut questions = QUESTIONS;
    for body in names.bodies.values() {
        let mut walk = Walk {
            source,
            sight: Sight::of(body, names),
            parameters: &body.parameters,
            held: Vec::new(),
            answered: Vec::new(),
            depth: 0,
            questions,
            never: Never::default(),
        };
        walk.function(body);
        questions = walk.questions;
        never.slips.append(&mut walk.never.slips);
        never.notes.append(&mut walk.never.notes);
    }
    never
}

/// A condition that holds at a place, with the ways on which its own braces can be reached.
struct Held<'a> {
    condition: &'a Expr,
    /// Whether it stands in the same condition, and not around it.
    is_beside: bool,
}

/// A walk through one function.
struct Walk<'a> {
    source: &'a Source,
    sight: Sight<'a>,
    /// What the function is asked about.
    parameters: &'a [String],
    /// The conditions within whose braces the walk is, and those before the one in hand that `and` joins to it.
    held: Vec<Held<'a>>,
    /// The conditions behind which the rule has answered.
    answered: Vec<&'a Expr>,
    depth: usize,
    /// How many questions may still be answered.
    questions: usize,
    never: Never,
}

impl<'a> Walk<'a> {
    fn function(&mut self, body: &'a Body) {
        let start = Ways::at_the_start();
        self.block(body.tree.statements(), &start, start.clone());
    }

    /// Goes through a block; `within` are the ways that its braces leave, `ways` those that lead here past all answers.
    /// Gives those that lead on behind it.
    fn block(&mut self, statements: &'a [Stmt], within: &Ways, mut ways: Ways) -> Ways {
        let (names, answered) = (self.sight.count(), self.answered.len());
        let mut ended = None;
        for statement in statements.iter().filter(|statement| !matches!(statement, Stmt::Noop(_))) {
            if self.depth >= DEEPEST || ways.are_none() && ended.is_none() {
                break;
            }
            if let Some(end) = ended {
                self.behind_an_answer(statement, end);
                break;
            }
            self.depth += 1;
            ways = self.statement(statement, within, ways);
            self.depth -= 1;
            if answers(statement) {
                ended = Some(self.source.at(statement.position()));
            }
        }
        self.sight.only(names);
        self.answered.truncate(answered);
        ways
    }

    fn statement(&mut self, statement: &'a Stmt, within: &Ways, ways: Ways) -> Ways {
        match statement {
            Stmt::If(flow, _) => {
                let (yes, no) = (flow.body.statements(), flow.branch.statements());
                return self.branches(&flow.expr, (yes, no), within, ways);
            }
            Stmt::Var(variable, _, _) => {
                let found = self.never.slips.len();
                self.expression(&variable.1, within, &ways);
                let given = (self.never.slips.len() == found).then_some(&variable.1);
                self.sight.add(&variable.0.name, given);
            }
            Stmt::Block(block) => return self.block(block.statements(), within, ways),
            Stmt::Expr(expression) => self.expression(expression, within, &ways),
            Stmt::Return(given, _, _) => {
                if let Some(given) = given {
                    self.expression(given, within, &ways);
                }
                return Ways::none();
            }
            _ => {}
        }
        ways
    }

    /// Both sides of an `if`.
    fn branches(
        &mut self,
        condition: &'a Expr,
        (yes, no): (&'a [Stmt], &'a [Stmt]),
        within: &Ways,
        ways: Ways,
    ) -> Ways {
        let found = self.never.slips.len();
        self.condition(condition, within);
        let inside = self.answering(within, condition, true);
        let (into, past) = (self.answering(&ways, condition, true), self.answering(&ways, condition, false));
        if self.never.slips.len() == found && into.are_none() && !inside.are_none() {
            self.never_reached(condition, within);
        }
        self.held.push(Held { condition, is_beside: false });
        let behind_yes = self.block(yes, &inside, into);
        self.held.pop();
        self.answered.push(condition);
        let behind_no = self.block(no, within, past);
        if !behind_yes.are_none() {
            self.answered.pop();
        }
        behind_yes.or(behind_no)
    }

    /// What stands for itself: a condition whose answer is given on, or an `if` that gives a value.
    fn expression(&mut self, expression: &'a Expr, within: &Ways, ways: &Ways) {
        match expression {
            Expr::Stmt(block) => {
                self.block(block.statements(), within, ways.clone());
            }
            Expr::And(..) | Expr::Or(..) => self.condition(expression, within),
            Expr::FnCall(call, _) if call.is_operator_call() => self.condition(expression, within),
            Expr::Dot(..) => self.deadlines(expression),
            _ => {}
        }
    }

    /// The days of an answer, by each of which somebody must be able to act.
    fn deadlines(&mut self, answer: &'a Expr) {
        let Some((_, links)) = links(answer) else { return };
        for link in links {
            let Expr::MethodCall(call, _) = link else { continue };
            let days = call.args.iter().filter(|_| ["by", "between"].contains(&call.name.as_str()));
            for day in days.filter(|day| self.sight.is_no_deadline(day)).collect::<Vec<_>>() {
                let help = "look at the year, or at the count and its unit";
                self.slip(self.place(day), "nobody can act by such a day".to_owned(), help);
            }
        }
    }

    /// The ways on which a condition has this answer.
    fn answering(&mut self, ways: &Ways, condition: &Expr, yes: bool) -> Ways {
        self.depth += 1;
        let condition = self.sight.meant(condition);
        let ways = match condition {
            _ if self.depth > 2 * DEEPEST || self.questions == 0 || ways.are_none() => ways.clone(),
            Expr::And(sides, _) | Expr::Or(sides, _) => {
                // All sides of `and` hold, or the first that does not comes behind those that do; and so with `or`.
                let goes_on = matches!(condition, Expr::And(..));
                let mut all = ways.clone();
                let mut one = Ways::none();
                for side in &***sides {
                    one = one.or(self.answering(&all, side, !goes_on));
                    all = self.answering(&all, side, goes_on);
                }
                if yes == goes_on { all } else { one }
            }
            Expr::FnCall(call, _) if call.name == "!" && call.args.len() == 1 => {
                self.answering(ways, &call.args[0], !yes)
            }
            Expr::BoolConstant(..) => ways.clone(),
            _ => match self.sight.question(condition) {
                Some(question) => {
                    self.questions -= 1;
                    ways.answering(&question, yes)
                }
                None => ways.clone(),
            },
        };
        self.depth -= 1;
        ways
    }

    /// Looks for what never holds in a condition, on the ways within whose braces it stands.
    fn condition(&mut self, condition: &'a Expr, within: &Ways) {
        if self.depth >= DEEPEST || within.are_none() {
            return;
        }
        self.depth += 1;
        match condition {
            Expr::And(sides, _) => {
                let held = self.held.len();
                let mut ways = within.clone();
                for side in &***sides {
                    self.condition(side, &ways);
                    ways = self.answering(&ways, side, true);
                    self.held.push(Held { condition: side, is_beside: true });
                }
                self.held.truncate(held);
            }
            Expr::Or(sides, _) => {
                sides.iter().for_each(|side| self.condition(side, within));
                self.always(sides);
            }
            _ => {
                if let Expr::FnCall(call, _) = condition
                    && let ([denied], "!") = (&*call.args, call.name.as_str())
                {
                    self.condition(denied, &Ways::at_the_start());
                }
                self.single(condition, within);
            }
        }
        self.depth -= 1;
    }

    /// A condition that `and` and `or` do not part.
    fn single(&mut self, condition: &'a Expr, within: &Ways) {
        if let Expr::FnCall(call, _) = condition
            && let [left, right] = &*call.args
            && is_comparison(condition)
            && self.sight.is_on_both_sides(left, right)
        {
            let help = "write a limit, or another fact, on one of the two sides";
            let what = "the same stands on both sides, so this says the same of all machines";
            return self.slip(self.place(left), what.to_owned(), help);
        }
        let start = Ways::at_the_start();
        if let Some((question, limits)) = self.limits(condition) {
            for yes in [true, false] {
                if self.answering(&start, condition, yes).are_none() {
                    return self.beyond(condition, &question, limits, yes);
                }
            }
        }
        if !self.answering(within, condition, true).are_none() {
            return;
        }
        let here = self.answering(&start, condition, true);
        if here.are_none() {
            return;
        }
        let other = (0..self.held.len()).rev().find(|at| {
            let held = self.held[*at].condition;
            self.answering(&here, held, true).are_none()
        });
        let (place, written) = self.named(condition);
        let sides = other.map(|at| self.held[at].condition).into_iter().chain([condition]);
        let switches_off = sides.into_iter().any(|side| self.sight.names_nought(side));
        let (what, help) = match other.map(|at| (self.held[at].condition, self.held[at].is_beside)) {
            Some((other, _)) if self.is_unknown_by(condition, other) => {
                let asked = self.words(without_not(other));
                let fact = asked.replace(".has.", ".");
                (
                    format!(
                        "`{fact}` is not known where `not {asked}` holds, so nothing can be told from it here"
                    ),
                    "take the `not` away, if that is what you mean",
                )
            }
            Some((other, true)) if self.is_denied(condition, other) => (
                format!("this asks for `{written}` and for its opposite, so it never holds"),
                "take one of the two away",
            ),
            Some((_, true)) => (
                format!("`{written}` cannot be both at once, so this never holds"),
                "write `or` instead of `and`, or take one of the two away",
            ),
            Some((other, false)) => {
                let line = self.source.line_and_column(self.place(other)).0;
                (
                    format!("`{written}` cannot be this where line {line} holds, so this never holds"),
                    "look at the limits of the two, and at their signs",
                )
            }
            None => (
                "this never holds beside what is asked before it".to_owned(),
                "look at the limits of all of them, and at their signs",
            ),
        };
        self.told(switches_off, place, what, help);
    }

    /// The two sides of a comparison with a figure, and what it asks.
    fn limits(&self, condition: &'a Expr) -> Option<(Question, (&'a Expr, &'a Expr))> {
        let condition = match condition {
            Expr::FnCall(call, _) if call.name == "!" && call.args.len() == 1 => &call.args[0],
            other => other,
        };
        match condition {
            Expr::FnCall(call, _) if call.is_operator_call() && call.args.len() == 2 => {
                Some((self.sight.question(condition)?, (&call.args[0], &call.args[1])))
            }
            Expr::Dot(..) => {
                let (_, links) = links(condition)?;
                let Some(Expr::MethodCall(call, _)) = links.last() else { return None };
                Some((self.sight.question(condition)?, (condition, call.args.first()?)))
            }
            _ => None,
        }
    }

    /// A limit that nothing comes to: the condition never holds, or always does.
    fn beyond(
        &mut self,
        condition: &'a Expr,
        question: &Question,
        (fact, limit): (&'a Expr, &'a Expr),
        never: bool,
    ) {
        let Some(is_above) = plausible::is_above(question) else { return };
        // What no figure is below is often asked for on purpose.
        if !never && (!is_above || plausible::may_always_hold(&question.of)) {
            return;
        }
        let limit = if self.sight.is_figure(limit) { limit } else { fact };
        let (place, written) = self.named(condition);
        match plausible::told(&question.of, is_above) {
            Some(Told::BelowNought) => {
                let what = format!("`{written}` is never below nought, so this never holds");
                let switches_off = self.sight.names_nought(condition);
                self.told(switches_off, place, what, "turn the sign round, or write another limit");
            }
            Some(Told::Apart(what, help)) => {
                let is_never = self.sight.names_a_limit(condition);
                self.told(is_never, self.place(limit), what.to_owned(), help);
            }
            Some(Told::Else(what, help)) => self.slip(self.place(limit), what.to_owned(), help),
            None => {}
        }
    }

    /// An `or` of which one side always holds.
    fn always(&mut self, sides: &'a [Expr]) {
        let start = Ways::at_the_start();
        for (at, side) in sides.iter().enumerate().skip(1) {
            let here = self.answering(&start, side, false);
            let other = sides[..at].iter().find(|other| {
                !here.are_none()
                    && !self.answering(&start, other, false).are_none()
                    && self.answering(&here, other, false).are_none()
            });
            let Some(other) = other else { continue };
            let (place, written) = self.named(side);
            let is_other = matches!(side, Expr::FnCall(call, _) if call.name == "!=");
            let (what, help) = if self.is_denied(side, other) {
                (
                    format!("this asks for `{written}` and for its opposite, so it always holds"),
                    "take one of the two away",
                )
            } else {
                let than = if is_other { "other than one of the two" } else { "one of the two" };
                (
                    format!("`{written}` is always {than}, so this always holds"),
                    "write `and` instead of `or`, or take one of the two away",
                )
            };
            return self.slip(place, what, help);
        }
    }

    /// Whether one of two conditions is the other with a `not` before it, and neither compares.
    fn is_denied(&self, one: &Expr, other: &Expr) -> bool {
        let compares = |side: &Expr| matches!(side, Expr::FnCall(call, _) if call.args.len() == 2);
        !compares(without_not(one)) && !compares(without_not(other))
    }

    /// Whether one condition holds only where a fact that the other needs is not known.
    fn is_unknown_by(&self, one: &Expr, other: &Expr) -> bool {
        let question = |side: &Expr| self.sight.question(without_not(side));
        let (Some(one), Some(other)) = (question(one), question(other)) else { return false };
        one.needs.contains(&other.of)
    }

    /// An `if` to which earlier answers leave nothing.
    fn never_reached(&mut self, condition: &'a Expr, within: &Ways) {
        let here = self.answering(within, condition, true);
        let answered = self.answered.clone();
        let one = answered.into_iter().find(|other| self.answering(&here, other, false).are_none());
        let what = match one {
            Some(other) => {
                let line = self.source.line_and_column(self.place(other)).0;
                format!("this is never reached: line {line} has answered for all that it lets through")
            }
            None => "this is never reached: the lines before have answered for all that it lets through"
                .to_owned(),
        };
        let at = self.place(condition);
        // A limit that has a name is set to what switches an answer off; figures in the conditions themselves are not.
        if one.is_some_and(|one| [one, condition].iter().all(|side| self.names_no_limit(side))) {
            return self.slip(at, what, "write the one that lets less through first, or take this one away");
        }
        let help = "look at the limits of the two, and at which stands first".to_owned();
        self.never.notes.push(Slip::new(at, what, help));
    }

    /// Whether a condition names nothing but what the function is asked about.
    fn names_no_limit(&self, condition: &Expr) -> bool {
        let mut names = false;
        condition.walk(&mut Vec::new(), &mut |nodes| {
            if let Some(ASTNode::Expr(Expr::Variable(name, _, _))) = nodes.last() {
                names |= !self.parameters.contains(&name.1.to_string());
            }
            true
        });
        !names
    }

    /// What stands behind an answer.
    fn behind_an_answer(&mut self, statement: &Stmt, end: usize) {
        let line = self.source.line_and_column(end).0;
        let at = self.source.at(statement.position());
        let what = format!("this is never reached: line {line} has always answered");
        let help = "take it away, or write an `if` before that answer".to_owned();
        self.never.notes.push(Slip::new(at, what, help));
    }

    /// Tells what is wrong; or notes it, where a limit with a name makes it so that may be set to just that.
    fn told(&mut self, may_be_meant: bool, at: usize, what: String, help: &str) {
        let told = if may_be_meant { &mut self.never.notes } else { &mut self.never.slips };
        told.push(Slip::new(at, what, help));
    }

    fn slip(&mut self, at: usize, what: String, help: &str) {
        self.never.slips.push(Slip::new(at, what, help));
    }

    /// Where a condition's value stands, and how it is written.
    fn named(&self, condition: &Expr) -> (usize, String) {
        let value = match without_not(condition) {
            Expr::FnCall(call, _) if call.is_operator_call() && call.args.len() == 2 => {
                if self.sight.is_figure(&call.args[0]) { &call.args[1] } else { &call.args[0] }
            }
            other => other,
        };
        (self.place(value), self.words(value))
    }

    /// A value as it is written, up to its first blank or bracket.
    fn words(&self, value: &Expr) -> String {
        let rest = self.source.letters[self.place(value).min(self.source.letters.len())..].iter();
        rest.take_while(|letter| letter.is_alphanumeric() || "_.".contains(**letter)).collect()
    }

    /// Where an expression begins; a comparison's own place is that of its sign.
    fn place(&self, expression: &Expr) -> usize {
        match expression {
            Expr::FnCall(call, _) if call.is_operator_call() && call.args.len() == 2 => {
                self.place(&call.args[0])
            }
            Expr::And(sides, _) | Expr::Or(sides, _) if !sides.is_empty() => self.place(&sides[0]),
            _ => self.source.at(expression.start_position()),
        }
    }
}

/// A condition without the `not` before it.
fn without_not(condition: &Expr) -> &Expr {
    match condition {
        Expr::FnCall(call, _) if call.name == "!" && call.args.len() == 1 => &call.args[0],
        other => other,
    }
}

/// Whether a statement always ends in an answer, whatever way leads through it.
fn answers(statement: &Stmt) -> bool {
    let block = |statements: &[Stmt]| statements.last().is_some_and(answers);
    match statement {
        Stmt::Return(..) => true,
        Stmt::If(flow, _) => block(flow.body.statements()) && block(flow.branch.statements()),
        Stmt::Block(inner) => block(inner.statements()),
        _ => false,
    }
}
