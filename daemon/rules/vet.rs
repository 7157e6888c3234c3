//! Walks a parsed rule before it ever runs: facts, functions, units and missing values, in every branch, also in
//! those that no example reaches.

use rhai::{ASTFlags, Expr, FnCallExpr, Position, Stmt};

use super::facts::Fact;
use super::names::{Names, Role};
use super::reference::WORDS;
use super::sort_of_value::{Kind, Sort};
use super::source::{Cause, Slip, Source};
use super::vet_calls::{self, Operand};
use super::vet_names::{is_unit, lists_of};
use super::vet_sense;
use super::{facts, quantity};
use crate::problem::{is_a_slip_of, nearest};

/// How deep the checker follows a tree; the language's own limit on nesting is lower.
const DEEPEST: usize = 400;
/// The most slips that one walk notes; a function that is called in many ways has each as often.
const SLIPS: usize = 300;

/// A walk through one function or constant.
pub(super) struct Vet<'a> {
    pub(super) source: &'a Source,
    pub(super) names: &'a Names,
    pub(super) role: Role,
    pub(super) scope: Vec<(String, Sort)>,
    depth: usize,
    given: Vec<Sort>,
    /// The fact that was asked for last.
    fact: Option<&'static Fact>,
    /// What was found wrong.
    pub(super) slips: Vec<Slip>,
}

impl<'a> Vet<'a> {
    /// A walk with the given parameters in sight.
    pub(super) fn new(
        source: &'a Source,
        names: &'a Names,
        role: Role,
        scope: Vec<(String, Sort)>,
    ) -> Vet<'a> {
        Vet { source, names, role, scope, depth: 0, given: Vec::new(), fact: None, slips: Vec::new() }
    }

    /// Walks a function's body, whose closing brace stands at `end`, and gives the sort of what it returns.
    pub(super) fn function(&mut self, statements: &[Stmt], end: usize) -> Sort {
        let last = self.block(statements);
        let place = statements.last().map_or(end, |statement| self.source.at(statement.position()));
        let ends = !matches!(last, Sort::Nothing | Sort::Sometimes);
        if !ends && !matches!(self.role, Role::Helper | Role::Constant) {
            let (what, help) = match self.role {
                Role::Judge => (
                    "`judge` can end without an answer",
                    "write `clear()` as its last line if there is nothing to do",
                ),
                Role::AppliesTo => {
                    ("`applies_to` can end without yes or no", "write `true` or `false` as its last line")
                }
                _ => (
                    "`each` can end without a list",
                    "write a list such as `machine.services` as its last line",
                ),
            };
            self.slip(end, what, help);
        } else {
            self.gives(last, place);
        }
        self.given.iter().copied().reduce(Sort::or).unwrap_or(Sort::Unknown)
    }

    /// Follows a call into a function of the owner's, with the sorts that this call gives it.
    pub(super) fn follow(&mut self, name: &str, takes: Vec<Sort>) -> Sort {
        /// How much closer a followed call comes to the deepest tree.
        const STEP: usize = 10;
        let Some(body) = self.names.bodies.get(name) else { return Sort::Unknown };
        if let Some(known) = self.names.followed(name, &takes) {
            return known;
        }
        if self.depth + STEP > DEEPEST {
            return self.too_deep(body.end);
        }
        // Until it is walked, its answer is not known: a function may call itself, which is told elsewhere.
        let Some(call) = self.names.begin(name, &takes) else { return self.too_deep(body.end) };
        let scope = body.parameters.iter().cloned().zip(takes).collect();
        let mut inner = Vet::new(self.source, self.names, Role::Helper, scope);
        inner.depth = self.depth + STEP;
        let gives = inner.function(body.tree.statements(), body.end);
        let gives = if body.is_whole { gives } else { Sort::Unknown };
        inner.slips.truncate(SLIPS.saturating_sub(self.slips.len()));
        self.slips.append(&mut inner.slips);
        self.names.end(call, gives);
        gives
    }

    /// What cannot be followed is not let through.
    fn too_deep(&mut self, at: usize) -> Sort {
        self.slip(at, "this is nested too deep to be checked", "make it simpler, or make two rules");
        Sort::Unknown
    }

    /// Notes a wrong place.
    pub(super) fn slip(&mut self, at: usize, what: impl Into<String>, help: impl Into<String>) {
        self.slip_of(Cause::Itself, at, what, help);
    }

    /// The same with what the vetters are to know of it.
    fn slip_of(&mut self, cause: Cause, at: usize, what: impl Into<String>, help: impl Into<String>) {
        if self.slips.len() >= SLIPS {
            return;
        }
        self.slips.push(Slip::new(at, what, help).of(cause));
    }

    /// Checks what the function gives back against what its name promises.
    fn gives(&mut self, sort: Sort, at: usize) {
        // An empty list says nothing of what the list is of.
        if (self.role, sort) != (Role::Each, Sort::Rows) {
            self.given.push(sort);
        }
        let each = lists_of(self.whole());
        let wrong = match self.role {
            Role::Judge if !sort.fits(Sort::Answer) => {
                ("`judge` must give an answer", "write `clear()`, `ring(...)`, `bench(...)` and the like")
            }
            Role::AppliesTo if !sort.fits(Sort::YesNo) => {
                ("`applies_to` must give yes or no", "write a comparison, such as `machine.has.handover`")
            }
            Role::Each if !sort.is_open() && !matches!(sort, Sort::List(_) | Sort::Rows) => {
                ("`each` must give a list", each.as_str())
            }
            _ => return,
        };
        let what = format!("{}, and this is {}", wrong.0, sort.words());
        self.slip(at, what, wrong.1);
    }

    fn block(&mut self, statements: &[Stmt]) -> Sort {
        let names_before = self.scope.len();
        let mut last = Sort::Nothing;
        for (place, statement) in statements.iter().enumerate() {
            last = self.statement(statement);
            if matches!(last, Sort::Answer | Sort::Sometimes) && place + 1 < statements.len() {
                let at = self.answer_place(statement);
                let what = "this answer gets lost, because the rule goes on after it";
                self.slip_of(Cause::AnswerLost, at, what, "write `return` before it and `;` after it");
            }
        }
        self.scope.truncate(names_before);
        last
    }

    /// Where the answer of a statement stands: inside an `if`, not at its beginning.
    fn answer_place(&self, statement: &Stmt) -> usize {
        let inner = match statement {
            Stmt::If(flow, _) if matches!(flow.body.statements().last(), None | Some(Stmt::Return(..))) => {
                flow.branch.statements().last()
            }
            Stmt::If(flow, _) => flow.body.statements().last(),
            Stmt::Block(block) => block.statements().last(),
            _ => None,
        };
        inner.map_or_else(|| self.source.at(statement.position()), |inner| self.answer_place(inner))
    }

    fn statement(&mut self, statement: &Stmt) -> Sort {
        if self.depth >= DEEPEST {
            return self.too_deep(self.source.at(statement.position()));
        }
        self.depth += 1;
        let sort = self.statement_sort(statement);
        self.depth -= 1;
        sort
    }

    fn statement_sort(&mut self, statement: &Stmt) -> Sort {
        let at = self.source.at(statement.position());
        match statement {
            Stmt::Noop(_) => Sort::Nothing,
            Stmt::If(flow, _) => {
                let condition = self.expression(&flow.expr);
                self.wants(Sort::YesNo, condition, self.place(&flow.expr), "`if`");
                vet_sense::condition(self, &flow.expr);
                let yes = self.block(flow.body.statements());
                let no = self.block(flow.branch.statements());
                yes.or(no)
            }
            Stmt::Var(variable, _, _) => {
                let sort = self.expression(&variable.1);
                let mut sort = self.settled(sort, self.place(&variable.1));
                let name = variable.0.name.to_string();
                if sort == Sort::Nothing {
                    let what = format!("`{name}` is given no value");
                    self.slip(at, what, format!("write its value: `{name} = ...;`"));
                    sort = Sort::Unknown;
                }
                self.scope.push((name, sort));
                Sort::Nothing
            }
            Stmt::Assignment(assignment) => {
                self.assignment(&assignment.1.lhs, &assignment.1.rhs, at);
                Sort::Nothing
            }
            Stmt::FnCall(call, position) => self.call(call, *position),
            Stmt::Block(block) => self.block(block.statements()),
            Stmt::Expr(expression) => self.expression(expression),
            Stmt::Return(given, flags, position) if !flags.contains(ASTFlags::BREAK) => {
                let sort = given.as_ref().map_or(Sort::Nothing, |given| self.expression(given));
                let place =
                    given.as_ref().map_or_else(|| self.source.at(*position), |given| self.place(given));
                self.gives(sort, place);
                Sort::Gone
            }
            _ => {
                self.slip(at, "a rule cannot do this", "use `if`, `let` and `return` only");
                Sort::Unknown
            }
        }
    }

    /// Only a rule's own `let` can be given another value, and only one of the same sort.
    fn assignment(&mut self, changed: &Expr, value: &Expr, at: usize) {
        let place = self.place(value);
        let sort = self.expression(value);
        let sort = self.settled(sort, place);
        let Expr::Variable(name, _, _) = changed else {
            return self.slip(
                at,
                "a rule cannot change a fact",
                "write `==` to compare, or `let` for a value of your own",
            );
        };
        let own = self.scope.iter().rev().find(|(known, _)| *known == name.1.as_str()).map(|(_, sort)| *sort);
        match own {
            Some(before) if sort.fits(before) => {}
            Some(before) => {
                let what = format!("`{}` is {}, and this is {}", name.1, before.words(), sort.words());
                self.slip(place, what, "use another `let` for it");
            }
            None => {
                let place = self.place(changed);
                let help = "write `==` to compare, or `let` for a value of your own";
                self.slip(place, format!("`{}` cannot be changed", name.1), help);
                self.scope.push((name.1.to_string(), sort));
            }
        }
    }

    /// Where an expression begins; a sum begins with its first value, not with its sign.
    pub(super) fn place(&self, expression: &Expr) -> usize {
        match expression {
            Expr::FnCall(call, _) if call.is_operator_call() && call.args.len() == 2 => {
                self.place(&call.args[0])
            }
            _ => self.source.at(expression.start_position()),
        }
    }

    /// The sort of an expression.
    pub(super) fn expression(&mut self, expression: &Expr) -> Sort {
        if self.depth >= DEEPEST {
            return self.too_deep(self.source.at(expression.position()));
        }
        // More is not told, and to look for what each may mean takes its time.
        if self.slips.len() >= SLIPS {
            return Sort::Unknown;
        }
        self.depth += 1;
        let sort = self.expression_sort(expression);
        self.depth -= 1;
        sort
    }

    fn expression_sort(&mut self, expression: &Expr) -> Sort {
        let at = self.source.at(expression.position());
        match expression {
            Expr::BoolConstant(..) => Sort::YesNo,
            Expr::IntegerConstant(..) => Sort::Whole,
            Expr::DynamicConstant(value, _) => quantity::sort_of(value),
            Expr::StringConstant(text, _) => {
                self.plain(text, at);
                Sort::Text
            }
            Expr::CharConstant(..) => {
                self.slip(at, "a text stands in double quotes", "write \"...\"");
                Sort::Unknown
            }
            Expr::InterpolatedString(pieces, _) => {
                for piece in pieces {
                    if let Expr::StringConstant(text, _) = piece {
                        self.plain(text, at);
                        continue;
                    }
                    if self.is_empty_place(piece) {
                        continue;
                    }
                    let sort = self.expression(piece);
                    self.printable(sort, self.place_in_text(piece));
                }
                Sort::Text
            }
            Expr::Array(items, _) => {
                for item in items {
                    self.expression(item);
                }
                if !items.is_empty() {
                    self.for_examples_only(at);
                }
                Sort::Rows
            }
            Expr::Map(entries, _) => {
                for (_, value) in &entries.0 {
                    self.expression(value);
                }
                self.for_examples_only(at);
                Sort::Map
            }
            Expr::Unit(_) => Sort::Nothing,
            Expr::Variable(name, _, _) => self.variable(&name.1, at),
            Expr::Dot(pair, flags, _) => {
                if flags.contains(ASTFlags::NEGATED) {
                    self.slip(at, "`?.` does not help in a rule", "write `machine.maybe.x ?? fallback`");
                }
                let held = self.expression(&pair.lhs);
                let found = self.slips.len();
                let sort = self.chain(held, &pair.rhs, Some(&pair.lhs));
                match sort {
                    _ if self.slips.len() > found => self.forget(held, &pair.lhs),
                    Sort::Answer => vet_sense::days(self, &pair.lhs, &pair.rhs),
                    _ => self.named_before_a_dot(&pair.lhs, &pair.rhs),
                }
                sort
            }
            Expr::FnCall(call, position) => self.call(call, *position),
            Expr::And(sides, _) | Expr::Or(sides, _) => self.joined(sides),
            Expr::Coalesce(sides, position) => self.fallback(sides, *position),
            Expr::Stmt(block) => self.block(block.statements()),
            _ => {
                self.slip(at, "a rule cannot do this", "ask for facts with a dot, such as `machine.clock`");
                Sort::Unknown
            }
        }
    }

    /// What `and` or `or` joins.
    fn joined(&mut self, sides: &[Expr]) -> Sort {
        for side in sides {
            let sort = self.expression(side);
            let place = self.place(side);
            self.wants(Sort::YesNo, sort, place, "each side of `and` and `or`");
            vet_sense::condition(self, side);
        }
        Sort::YesNo
    }

    fn variable(&mut self, name: &str, at: usize) -> Sort {
        let local = self.scope.iter().rev().find(|(known, _)| known == name).map(|(_, sort)| *sort);
        if let Some(sort) = local.or_else(|| self.names.constants.get(name).copied()) {
            if local.is_none() && matches!(sort, Sort::Rows | Sort::Map) {
                self.for_examples_only(at);
            }
            return sort;
        }
        if self.is_told_before_it(name, at) {
            return Sort::Unknown;
        }
        // Said once a file; of `machine` once a function, since each names its own.
        let once = if name == "machine" { format!("machine of {:?}", self.role) } else { name.to_owned() };
        let is_asked = matches!(self.role, Role::AppliesTo | Role::Each | Role::Judge);
        let is_machine = name == "machine" && is_asked && self.whole() == Kind::Machine;
        let meant = if is_machine { Sort::Thing(Kind::Machine) } else { Sort::Unknown };
        if !self.names.is_first(&once) {
            return meant;
        }
        let known = self.scope.iter().map(|(known, _)| known.as_str());
        let near = nearest(name, known.chain(self.names.constants.keys().map(String::as_str)));
        let help = match (self.role, near) {
            _ if self.as_it_is_meant(name, at).is_some() => {
                format!("write `{}`", self.as_it_is_meant(name, at).unwrap_or_default())
            }
            (Role::Judge, _) if self.second_called(name).is_some() => {
                let second = self.second_called(name).unwrap_or_default();
                format!(
                    "`judge` calls it `{second}` in its brackets: write `{name}` there, or `{second}` here"
                )
            }
            (role @ Role::Judge, _) if name != "yard" && Kind::named(name).is_some() => {
                self.in_brackets(role, name)
            }
            (_, Some(near)) => format!("write `{near}` if that is what you mean"),
            (role, _) if Kind::named(name).is_some() => self.in_brackets(role, name),
            _ if is_unit(name) => format!("write a number and a dot before a unit: `14.{name}`"),
            _ if is_a_slip_of(name, "true") => "write `true` if that is what you mean".to_owned(),
            _ if is_a_slip_of(name, "false") => "write `false` if that is what you mean".to_owned(),
            _ => "define it with `const` or `let`, or put a text in quotes".to_owned(),
        };
        let near = self.as_it_is_meant(name, at).or(near.map(str::to_owned));
        let cause = Cause::NothingCalled(name.to_owned(), near);
        self.slip_of(cause, at, format!("nothing here is called `{name}`"), help);
        meant
    }

    /// Says no more of a value that has nothing behind a dot: it was taken for another sort of thing throughout.
    fn forget(&mut self, held: Sort, written: &Expr) {
        if let (Expr::Variable(name, _, _), false) = (written, matches!(held, Sort::Thing(_)))
            && let Some((_, sort)) = self.scope.iter_mut().rev().find(|(known, _)| *known == name.1.as_str())
        {
            *sort = Sort::Unknown;
        }
    }

    /// What follows a dot.
    fn chain(&mut self, held: Sort, rest: &Expr, written: Option<&Expr>) -> Sort {
        match rest {
            Expr::Property(name, position) => self.property(held, &name.2, *position, written),
            Expr::MethodCall(call, position) => {
                let held = self.settled(held, self.source.at(*position));
                vet_calls::method(self, held, call, *position)
            }
            Expr::Dot(pair, flags, _) => {
                if flags.contains(ASTFlags::NEGATED) {
                    let at = self.source.at(rest.position());
                    self.slip(at, "`?.` does not help in a rule", "write `machine.maybe.x ?? fallback`");
                }
                let held = self.chain(held, &pair.lhs, written);
                self.chain(held, &pair.rhs, None)
            }
            _ => {
                let at = self.source.at(rest.position());
                self.slip(at, "a rule cannot do this", "ask for facts with a dot, such as `machine.clock`");
                Sort::Unknown
            }
        }
    }

    fn property(&mut self, held: Sort, name: &str, position: Position, written: Option<&Expr>) -> Sort {
        let at = self.source.at(position);
        match held {
            Sort::Thing(kind) if name == "has" => Sort::Has(kind),
            Sort::Thing(kind) if name == "maybe" => Sort::Maybe(kind),
            Sort::Thing(kind) | Sort::Has(kind) | Sort::Maybe(kind) => {
                let Some(fact) = facts::named(kind, name) else {
                    let (what, help) = facts::no_such(kind, name);
                    self.slip(at, what, help);
                    return Sort::Unknown;
                };
                self.fact = matches!(held, Sort::Thing(_)).then_some(fact);
                match held {
                    Sort::Has(_) => Sort::YesNo,
                    Sort::Maybe(_) => Sort::Perhaps(&fact.is),
                    _ => fact.is,
                }
            }
            held if held.is_number() => self.unit(name, at, written),
            held if held.is_open() => Sort::Unknown,
            held => {
                let help = match held {
                    _ if matches!(name, "has" | "maybe") => {
                        format!("write it behind the machine and before the fact: `machine.{name}.clock`")
                    }
                    Sort::Perhaps(_) => "write the fallback first: `(machine.maybe.x ?? ...)`".to_owned(),
                    Sort::List(kind) => {
                        let list = kind.word();
                        format!("have each item judged by itself: `fn each(machine) {{ machine.{list}s }}`")
                    }
                    _ => match WORDS.iter().find(|word| word.on == Some(held) && word.name == name) {
                        Some(word) => format!("write it with brackets: `{}`", word.written),
                        None => "look it up in what `tickover rules words` lists".to_owned(),
                    },
                };
                self.slip(at, format!("{} has no `{name}`", held.words()), help);
                Sort::Unknown
            }
        }
    }

    fn fallback(&mut self, sides: &[Expr], position: Position) -> Sort {
        let mut sorts = sides.iter().map(|side| (self.place(side), side)).collect::<Vec<_>>();
        let (_, first) = sorts.remove(0);
        let first = self.expression(first);
        let inner = match first {
            Sort::Perhaps(inner) => *inner,
            sort if sort.is_open() => Sort::Unknown,
            sort => {
                let at = self.source.at(position);
                self.slip(
                    at,
                    format!("`??` does nothing here, since before it stands {}", sort.words()),
                    "write `machine.maybe.x ?? fallback`",
                );
                sort
            }
        };
        let mut result = inner;
        for (at, side) in sorts {
            let written = self.expression(side);
            let sort = if let Sort::Perhaps(other) = written { *other } else { written };
            result = match (written, sort.fits(inner)) {
                // What comes last may be missing again.
                (Sort::Perhaps(_), true) => written,
                // A text may stand in for anything that is only printed, and is none of the words of a fact.
                _ if sort.is_text() => Sort::Text,
                (_, true) => inner,
                (_, false) => {
                    let what = format!("the fallback is {}, but the fact is {}", sort.words(), inner.words());
                    self.slip(at, what, "write a fallback of the same sort");
                    inner
                }
            };
        }
        result
    }

    /// Lists of the owner's own, and what stands in `#{ ... }`, are of no use to a function, and could grow large there.
    fn for_examples_only(&mut self, at: usize) {
        if self.role != Role::Constant {
            let help = "compare with `==` and join with `or`: `machine.kind == \"moped\" or machine.kind == \"scooter\"`";
            self.slip(at, "only examples have lists written in them", help);
        }
    }

    /// Takes a value that must be there; a `maybe` without a fallback is a slip, and so is a list that is kept.
    pub(super) fn settled(&mut self, sort: Sort, at: usize) -> Sort {
        if let Sort::List(kind) = sort {
            let list = kind.word();
            let help = format!("have each item judged by itself: `fn each(machine) {{ machine.{list}s }}`");
            self.slip(at, "a list can only be what `each` gives", help);
            return Sort::Unknown;
        }
        let Sort::Perhaps(inner) = sort else { return sort };
        self.slip(
            at,
            "this may be missing, and nothing says what then",
            "write `?? ...` after it, with what to take then",
        );
        *inner
    }

    /// Checks that a value is of the sort that its place asks.
    pub(super) fn wants(&mut self, asked: Sort, sort: Sort, at: usize, place: &str) {
        let sort = self.settled(sort, at);
        if !sort.fits(asked) {
            let word = self.source.word_at(at);
            let constant = self.names.constants.contains_key(&word);
            if constant && !self.names.is_first(&word) {
                return;
            }
            let what = format!("{place} asks for {}, and this is {}", asked.words(), sort.words());
            let help = match (asked, sort) {
                (Sort::YesNo, Sort::Thing(Kind::Machine)) => "name a fact: `machine.has.handover`".to_owned(),
                (Sort::YesNo, _) => {
                    "write a comparison, such as `machine.clock > 500.miles`, or ask `machine.has.x`"
                        .to_owned()
                }
                (Sort::Day, Sort::Text | Sort::Whole | Sort::Decimal) => {
                    "write `date(\"2026-03-02\")`".to_owned()
                }
                (Sort::Day, Sort::Days | Sort::Months) => {
                    "add it to a day: `machine.today + 3.days`".to_owned()
                }
                (Sort::Days, _) if constant => {
                    format!("write a count of days where `{word}` is set, such as `14.days`")
                }
                (Sort::Days, Sort::Whole) => "write the unit: `14.days`".to_owned(),
                (Sort::Text, Sort::Whole | Sort::Decimal) => "write it in quotes".to_owned(),
                (Sort::Text, _) => "put it into a text: `` `${...}` ``".to_owned(),
                _ => format!("write {}", asked.words()),
            };
            self.slip(at, what, help);
        }
    }

    fn call(&mut self, call: &FnCallExpr, position: Position) -> Sort {
        let at = self.source.at(position);
        if call.is_operator_call() {
            let operands: Vec<Operand<'_>> = call
                .args
                .iter()
                .map(|written| {
                    let place = self.place(written);
                    self.fact = None;
                    let sort = self.expression(written);
                    let fact = self.fact.take().filter(|_| matches!(written, Expr::Dot(..)));
                    Operand { sort: self.settled(sort, place), at: place, fact, written }
                })
                .collect();
            return vet_calls::operator(self, &call.name, &operands, at);
        }
        vet_calls::function(self, call, at)
    }
}
