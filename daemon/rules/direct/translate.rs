//! Makes a function's tree of the language's own; a function that holds anything unknown is left to the language.

use std::collections::BTreeMap;

use rhai::{ASTFlags, Dynamic, Expr, FnCallExpr, Stmt};

use super::tree::{Comparison, Function, How, IN_BRACKETS, Link, Node, Word};
use crate::rules::answer::RAISING;
use crate::rules::facts::{self, Fact};
use crate::rules::quantity;
use crate::rules::reference::Question;
use crate::rules::sums::Sign;
use crate::rules::value::Value;

/// How deep a tree is followed; the language's own limit on nesting is about this.
const DEEPEST: usize = 64;
/// The most names of a function: half of what the language allows.
const NAMES: usize = 64;

/// A function being translated.
struct Translation<'a> {
    constants: &'a BTreeMap<String, Dynamic>,
    names: Vec<String>,
    most_names: usize,
    depth: usize,
}

/// A function as the direct way runs it; `None` where it holds anything that this way does not know.
pub(in crate::rules) fn function(
    parameters: &[String],
    statements: &[Stmt],
    constants: &BTreeMap<String, Dynamic>,
) -> Option<Function> {
    let mut translation =
        Translation { constants, names: parameters.to_vec(), most_names: parameters.len(), depth: 0 };
    let body = translation.block(statements)?;
    Some(Function { body, parameters: parameters.len(), names: translation.most_names })
}

impl Translation<'_> {
    fn block(&mut self, statements: &[Stmt]) -> Option<Vec<Node>> {
        let names_before = self.names.len();
        let nodes = statements.iter().map(|statement| self.statement(statement)).collect();
        self.names.truncate(names_before);
        nodes
    }

    fn statement(&mut self, statement: &Stmt) -> Option<Node> {
        Some(match statement {
            Stmt::Noop(_) => Node::Block(Vec::new()),
            Stmt::If(flow, _) => {
                let condition = self.boxed(&flow.expr)?;
                let yes = self.block(flow.body.statements())?;
                Node::If(condition, yes, self.block(flow.branch.statements())?)
            }
            Stmt::Var(variable, _, _) => {
                let value = self.boxed(&variable.1)?;
                self.names.push(variable.0.name.to_string());
                self.most_names = self.most_names.max(self.names.len());
                if self.names.len() > NAMES {
                    return None;
                }
                Node::Set(self.names.len() - 1, value)
            }
            Stmt::Assignment(assignment) if !assignment.0.is_op_assignment() => {
                let Expr::Variable(name, _, _) = &assignment.1.lhs else { return None };
                Node::Set(self.place_of(&name.1)?, self.boxed(&assignment.1.rhs)?)
            }
            Stmt::FnCall(call, _) => self.call(call)?,
            Stmt::Block(block) => Node::Block(self.block(block.statements())?),
            Stmt::Expr(expression) => self.node(expression)?,
            Stmt::Return(given, flags, _) if !flags.contains(ASTFlags::BREAK) => Node::Return(match given {
                Some(given) => Some(self.boxed(given)?),
                None => None,
            }),
            _ => return None,
        })
    }

    fn boxed(&mut self, expression: &Expr) -> Option<Box<Node>> {
        self.node(expression).map(Box::new)
    }

    fn nodes<'e>(&mut self, expressions: impl IntoIterator<Item = &'e Expr>) -> Option<Vec<Node>> {
        expressions.into_iter().map(|expression| self.node(expression)).collect()
    }

    fn node(&mut self, expression: &Expr) -> Option<Node> {
        if self.depth >= DEEPEST {
            return None;
        }
        self.depth += 1;
        let node = self.expression(expression);
        self.depth -= 1;
        node
    }

    fn expression(&mut self, expression: &Expr) -> Option<Node> {
        Some(match expression {
            Expr::BoolConstant(yes, _) => Node::Constant(Value::YesNo(*yes)),
            Expr::IntegerConstant(number, _) => Node::Constant(Value::Whole(*number)),
            Expr::StringConstant(text, _) => Node::Constant(Value::from(text.to_string())),
            Expr::InterpolatedString(pieces, _) => Node::Text(self.nodes(&**pieces)?),
            Expr::Variable(name, _, _) => self.name(&name.1)?,
            Expr::Dot(..) => self.chain(expression)?,
            Expr::FnCall(call, _) => self.call(call)?,
            Expr::And(sides, _) => Node::All(self.nodes(&***sides)?),
            Expr::Or(sides, _) => Node::Any(self.nodes(&***sides)?),
            Expr::Coalesce(sides, _) => Node::Fallback(self.nodes(&***sides)?),
            Expr::Stmt(block) => Node::Block(self.block(block.statements())?),
            _ => return None,
        })
    }

    fn place_of(&self, name: &str) -> Option<usize> {
        self.names.iter().rposition(|known| known == name)
    }

    fn name(&self, name: &str) -> Option<Node> {
        let own = self.place_of(name).map(Node::Name);
        own.or_else(|| self.constants.get(name).and_then(Value::of).map(Node::Constant))
    }

    /// A chain of dots.
    fn chain(&mut self, expression: &Expr) -> Option<Node> {
        let mut followers = Vec::new();
        let Expr::Dot(pair, flags, _) = expression else { return None };
        if flags.contains(ASTFlags::NEGATED) {
            return None;
        }
        followed_by(&pair.rhs, &mut followers)?;
        if let ([Expr::Property(name, _)], Some(number)) = (&followers[..], number(&pair.lhs)) {
            return quantity::in_unit(&number, &name.2).map(Node::Constant);
        }
        let first = self.boxed(&pair.lhs)?;
        let mut in_brackets = Vec::new();
        let mut links = Vec::new();
        let mut followers = followers.into_iter().peekable();
        while let Some(follower) = followers.next() {
            match follower {
                Expr::Property(name, _) => {
                    let how = match name.2.as_str() {
                        "has" => How::Has,
                        "maybe" => How::Maybe,
                        name => {
                            links.push(Link::Fact(How::Plain, facts_named(name)?));
                            continue;
                        }
                    };
                    let Some(Expr::Property(name, _)) = followers.next() else { return None };
                    links.push(Link::Fact(how, facts_named(&name.2)?));
                }
                Expr::MethodCall(call, _) => {
                    links.push(link(&call.name, call.args.len())?);
                    in_brackets.extend(self.nodes(&call.args)?);
                }
                _ => return None,
            }
        }
        if let (Node::Name(name), [Link::Fact(how, facts)]) = (&*first, &links[..]) {
            return Some(Node::Fact(*name, *how, facts.clone()));
        }
        (in_brackets.len() <= IN_BRACKETS).then_some(Node::Chain { first, in_brackets, links })
    }

    fn call(&mut self, call: &FnCallExpr) -> Option<Node> {
        let mut sides = self.nodes(&call.args)?;
        if !call.is_operator_call() {
            return Some(Node::Word(word(&call.name, sides.len())?, sides));
        }
        let last = sides.pop()?;
        let Some(first) = sides.pop() else {
            return match call.name.as_str() {
                "!" => Some(Node::Not(Box::new(last))),
                "-" => Some(Node::Negative(Box::new(last))),
                _ => None,
            };
        };
        let both = Box::new([first, last]);
        Some(match call.name.as_str() {
            "==" => Node::Compare(Comparison::Same, both),
            "!=" => Node::Compare(Comparison::Other, both),
            "<" => Node::Compare(Comparison::Less, both),
            "<=" => Node::Compare(Comparison::AtMost, both),
            ">" => Node::Compare(Comparison::More, both),
            ">=" => Node::Compare(Comparison::AtLeast, both),
            "+" => Node::Sum(Sign::Plus, both),
            "-" => Node::Sum(Sign::Minus, both),
            "*" => Node::Sum(Sign::Times, both),
            _ => return None,
        })
    }
}

/// What follows the first dot, one after the other.
fn followed_by<'e>(rest: &'e Expr, followers: &mut Vec<&'e Expr>) -> Option<()> {
    if let Expr::Dot(pair, flags, _) = rest {
        if flags.contains(ASTFlags::NEGATED) {
            return None;
        }
        followed_by(&pair.lhs, followers)?;
        return followed_by(&pair.rhs, followers);
    }
    followers.push(rest);
    Some(())
}

/// A number as it is written.
fn number(written: &Expr) -> Option<Dynamic> {
    match written {
        Expr::IntegerConstant(number, _) => Some(Dynamic::from(*number)),
        Expr::DynamicConstant(number, _) => Some(Dynamic::clone(number)),
        _ => None,
    }
}

/// All facts of a name; there must be one.
fn facts_named(name: &str) -> Option<Vec<&'static Fact>> {
    let named: Vec<&'static Fact> = facts::all().filter(|fact| fact.name == name).collect();
    (!named.is_empty()).then_some(named)
}

fn link(name: &str, in_brackets: usize) -> Option<Link> {
    Some(match (name, in_brackets) {
        ("service", 1) => Link::Question(Question::Service),
        ("has_done", 1) => Link::Question(Question::HasDone),
        ("likely_within", 1) => Link::Question(Question::LikelyWithin),
        ("perhaps_within", 1) => Link::Question(Question::PerhapsWithin),
        ("by", 1) => Link::By,
        ("at_once", 0) => Link::AtOnce,
        ("between", 2) => Link::Between,
        _ => return None,
    })
}

fn word(name: &str, in_brackets: usize) -> Option<Word> {
    if let (Some((_, section)), 1) = (RAISING.iter().find(|(known, _)| *known == name), in_brackets) {
        return Some(Word::Raise(*section));
    }
    Some(match (name, in_brackets) {
        ("clear", 0) => Word::Clear,
        ("too_long_ago", 0) => Word::TooLongAgo,
        ("cannot_tell", 1) => Word::CannotTell,
        ("date", 1) => Word::Date,
        ("earlier", 2) => Word::Earlier,
        ("later", 2) => Word::Later,
        _ => return None,
    })
}
