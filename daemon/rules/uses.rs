//! Where a rule's constants, its `let` and its functions are used: what is used nowhere, or only for what is used nowhere,
//! does nothing, however its owner changes it.

use std::collections::BTreeMap;

use rhai::{Expr, FnCallExpr, Position, Stmt};

use super::frame::ASKED;
use super::names::{Body, Names};
use super::outline::{Item, Outline, What};
use super::source::Source;

/// What has a name in a rule.
pub(super) struct Named<'a> {
    /// The name.
    pub(super) name: &'a str,
    /// Where it is given.
    pub(super) at: usize,
    /// As what.
    pub(super) given: Given<'a>,
    /// Each use, by the places among all names of those for which it is used.
    uses: Vec<Vec<usize>>,
    /// Whether it is used for something that counts.
    pub(super) counts: bool,
    /// The constant of the same name, which it hides.
    pub(super) hides: Option<usize>,
}

/// As what a name is given.
pub(super) enum Given<'a> {
    /// A constant at the top.
    Constant,
    /// A `let`, with its value.
    Let(&'a Expr),
    /// What a function of this name has in its brackets.
    Parameter(&'a str),
}

/// All names of a rule, and which of its functions calls which.
#[derive(Default)]
pub(super) struct Uses<'a> {
    /// The names, the constants first.
    pub(super) names: Vec<Named<'a>>,
    /// Each function's calls of others of the file, with their places.
    pub(super) calls: BTreeMap<&'a str, Vec<(&'a str, usize)>>,
}

impl<'a> Uses<'a> {
    /// Looks through a file all of which could be read.
    pub(super) fn of(source: &'a Source, outline: &'a Outline, names: &'a Names) -> Uses<'a> {
        let mut uses = Uses::default();
        let mut constants = BTreeMap::new();
        for item in outline.items.iter().filter(|item| matches!(item.what, What::Constant)) {
            constants.insert(item.name.as_str(), uses.add(&item.name, item.name_at, Given::Constant, None));
        }
        let mut parameters = BTreeMap::new();
        for item in &outline.items {
            let What::Function { parameters: own } = &item.what else { continue };
            let places = own.iter().map(|name| {
                let hides = constants.get(name.as_str()).copied();
                uses.add(name, place_of(source, item, name), Given::Parameter(&item.name), hides)
            });
            parameters.insert(item.name.as_str(), places.collect::<Vec<usize>>());
        }
        let mut walk = Walk {
            source,
            bodies: &names.bodies,
            constants,
            parameters,
            own: Vec::new(),
            within: Vec::new(),
            function: "",
            uses,
        };
        for (name, tree) in &names.written {
            // What is printed and what is tried count by themselves.
            let counts = super::vet_unused::KNOWN.contains(&name.as_str());
            walk.within =
                walk.constants.get(name.as_str()).filter(|_| !counts).copied().into_iter().collect();
            for statement in tree.statements() {
                if let Stmt::Var(variable, _, _) = statement {
                    walk.expression(&variable.1);
                }
            }
        }
        walk.within.clear();
        for (name, body) in &names.bodies {
            walk.function = name;
            let own = walk.parameters.get(name.as_str()).cloned().unwrap_or_default();
            walk.own = body.parameters.iter().map(String::as_str).zip(own).collect();
            walk.block(body.tree.statements());
        }
        walk.uses.count();
        walk.uses
    }

    fn add(&mut self, name: &'a str, at: usize, given: Given<'a>, hides: Option<usize>) -> usize {
        self.names.push(Named { name, at, given, uses: Vec::new(), counts: false, hides });
        self.names.len() - 1
    }

    /// Finds what counts: what is used, and not only for what does not count itself.
    fn count(&mut self) {
        let mut goes_on = true;
        while goes_on {
            goes_on = false;
            for at in 0..self.names.len() {
                let is_for_nothing = |one: &Vec<usize>| one.iter().any(|other| !self.names[*other].counts);
                if !self.names[at].counts && self.names[at].uses.iter().any(|one| !is_for_nothing(one)) {
                    self.names[at].counts = true;
                    goes_on = true;
                }
            }
        }
    }

    /// Whether a name is used at all.
    pub(super) fn is_used(&self, named: &Named<'_>) -> bool {
        !named.uses.is_empty()
    }

    /// The `let` or the parameter that does nothing itself, and for which a name is used; `None` where there is no such.
    pub(super) fn used_for(&self, named: &Named<'_>) -> Option<&Named<'a>> {
        let mut others = named.uses.iter().flatten().map(|other| &self.names[*other]);
        others.find(|other| !other.counts && !matches!(other.given, Given::Constant))
    }

    /// The calls by which a function comes back to itself, where it does: each function's name, and where it calls the next.
    pub(super) fn circle(&self) -> Option<Vec<(&'a str, usize)>> {
        self.calls.keys().find_map(|name| {
            let mut way = Vec::new();
            let mut seen = Vec::new();
            self.leads_to(name, name, &mut way, &mut seen).then_some(way)
        })
    }

    /// The call by which functions go deeper than so many, where one does; only where none comes back to itself.
    pub(super) fn too_deep(&self, most: usize) -> Option<usize> {
        let mut depths = BTreeMap::new();
        let first = ASKED.into_iter().find(|asked| self.depth(asked, &mut depths) > most)?;
        let (mut from, mut at) = (first, None);
        for _ in 0..most {
            let calls = self.calls.get(from)?;
            let (called, place) = calls.iter().max_by_key(|(called, _)| depths.get(called).copied())?;
            (from, at) = (*called, Some(*place));
        }
        at
    }

    /// How many functions deep the calls of one go, itself counted.
    fn depth(&self, name: &'a str, depths: &mut BTreeMap<&'a str, usize>) -> usize {
        if let Some(depth) = depths.get(name) {
            return *depth;
        }
        let calls = self.calls.get(name).into_iter().flatten();
        let depth = 1 + calls.map(|(called, _)| self.depth(called, depths)).max().unwrap_or(0);
        depths.insert(name, depth);
        depth
    }

    fn leads_to(
        &self,
        from: &'a str,
        to: &str,
        way: &mut Vec<(&'a str, usize)>,
        seen: &mut Vec<&'a str>,
    ) -> bool {
        for (called, at) in self.calls.get(from).into_iter().flatten() {
            way.push((from, *at));
            if *called == to {
                return true;
            }
            if !seen.contains(called) {
                seen.push(called);
                if self.leads_to(called, to, way, seen) {
                    return true;
                }
            }
            way.pop();
        }
        false
    }
}

/// A walk through one function or constant after another.
struct Walk<'a> {
    source: &'a Source,
    bodies: &'a BTreeMap<String, Body>,
    constants: BTreeMap<&'a str, usize>,
    /// The places of what each function has in its brackets.
    parameters: BTreeMap<&'a str, Vec<usize>>,
    /// The names that can be seen, beside the constants.
    own: Vec<(&'a str, usize)>,
    /// The names that the expression in hand is for.
    within: Vec<usize>,
    /// The function in hand.
    function: &'a str,
    uses: Uses<'a>,
}

impl<'a> Walk<'a> {
    fn block(&mut self, statements: &'a [Stmt]) {
        let count = self.own.len();
        statements.iter().for_each(|statement| self.statement(statement));
        self.own.truncate(count);
    }

    fn statement(&mut self, statement: &'a Stmt) {
        match statement {
            Stmt::If(flow, _) => {
                self.expression(&flow.expr);
                self.block(flow.body.statements());
                self.block(flow.branch.statements());
            }
            Stmt::Var(variable, _, _) => {
                let name = variable.0.name.as_str();
                let at = self.source.at(variable.0.pos);
                let hides = self.constants.get(name).copied();
                let named = self.uses.add(name, at, Given::Let(&variable.1), hides);
                self.used_by(named, &variable.1);
                self.own.push((name, named));
            }
            Stmt::Assignment(assignment) => match &assignment.1.lhs {
                Expr::Variable(name, _, _) if self.own(&name.1).is_some() => {
                    let named = self.own(&name.1).unwrap_or_default();
                    self.used_by(named, &assignment.1.rhs);
                }
                _ => self.expression(&assignment.1.rhs),
            },
            Stmt::FnCall(call, position) => self.call(call, *position),
            Stmt::Block(block) => self.block(block.statements()),
            Stmt::Expr(expression) => self.expression(expression),
            Stmt::Return(Some(given), _, _) => self.expression(given),
            _ => {}
        }
    }

    /// An expression that is for one name alone.
    fn used_by(&mut self, named: usize, expression: &'a Expr) {
        self.within.push(named);
        self.expression(expression);
        self.within.pop();
    }

    fn own(&self, name: &str) -> Option<usize> {
        self.own.iter().rev().find(|(known, _)| *known == name).map(|(_, named)| *named)
    }

    fn expression(&mut self, expression: &'a Expr) {
        match expression {
            Expr::Variable(name, _, _) => {
                if let Some(named) =
                    self.own(&name.1).or_else(|| self.constants.get(name.1.as_str()).copied())
                {
                    let within = self.within.clone();
                    self.uses.names[named].uses.push(within);
                }
            }
            Expr::Dot(pair, _, _) | Expr::Index(pair, _, _) => {
                self.expression(&pair.lhs);
                self.expression(&pair.rhs);
            }
            Expr::FnCall(call, position) => self.call(call, *position),
            Expr::MethodCall(call, _) => call.args.iter().for_each(|side| self.expression(side)),
            Expr::And(sides, _) | Expr::Or(sides, _) | Expr::Coalesce(sides, _) => {
                sides.iter().for_each(|side| self.expression(side));
            }
            Expr::InterpolatedString(pieces, _) | Expr::Array(pieces, _) => {
                pieces.iter().for_each(|piece| self.expression(piece));
            }
            Expr::Map(entries, _) => entries.0.iter().for_each(|(_, value)| self.expression(value)),
            Expr::Stmt(block) => self.block(block.statements()),
            _ => {}
        }
    }

    fn call(&mut self, call: &'a FnCallExpr, position: Position) {
        let name = call.name.as_str();
        let takes = self.parameters.get(name).filter(|takes| takes.len() == call.args.len()).cloned();
        let own = takes.filter(|_| !call.is_operator_call() && self.bodies.contains_key(name));
        for (place, argument) in call.args.iter().enumerate() {
            match &own {
                Some(takes) => self.used_by(takes[place], argument),
                None => self.expression(argument),
            }
        }
        if own.is_some() {
            let at = self.source.at(position);
            self.uses.calls.entry(self.function).or_default().push((name, at));
        }
    }
}

/// Where a name stands in a function's brackets.
fn place_of(source: &Source, item: &Item, name: &str) -> usize {
    let is_of_word = |at: usize| source.letters[at].is_alphanumeric() || source.letters[at] == '_';
    let behind = item.name_at + item.name.chars().count();
    let mut places = behind..item.whole.end.min(source.letters.len());
    let place = places.find(|at| !is_of_word(at - 1) && source.word_at(*at) == name);
    place.unwrap_or(item.name_at)
}

/// Whether a function is asked from outside, so that its brackets are what every rule has there.
pub(super) fn is_asked(function: &str) -> bool {
    ASKED.contains(&function)
}
