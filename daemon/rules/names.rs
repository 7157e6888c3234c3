//! What the checker knows of a rule file beside the function that it walks: constants, functions, and how they are
//! called.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use rhai::{AST, Dynamic, Expr, Stmt};

use super::facts::Fact;
use super::sort_of_value::Sort;

/// What a function of a rule must give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Role {
    /// `applies_to`: yes or no.
    AppliesTo,
    /// `each`: a list of the machine's things.
    Each,
    /// `judge`: an answer.
    Judge,
    /// A helper of the owner's: anything.
    Helper,
    /// The value of a constant.
    Constant,
}

/// What the checker knows of the file beside the function that it walks.
#[derive(Default)]
pub(super) struct Names {
    /// The constants with their sorts.
    pub(super) constants: BTreeMap<String, Sort>,
    /// Where the value of each begins.
    pub(super) places: BTreeMap<String, usize>,
    /// As they are written.
    pub(super) written: BTreeMap<String, AST>,
    /// The values of those that were made.
    pub(super) values: BTreeMap<String, Dynamic>,
    /// The functions with the number of their parameters.
    pub(super) functions: BTreeMap<String, usize>,
    /// The functions that could be read.
    pub(super) bodies: BTreeMap<String, Body>,
    /// The owner's own functions that calls were followed into, with what each call gave them and got.
    followed: RefCell<Vec<Followed>>,
    /// The names that something wrong has been said of: one cause, however often it is met.
    told: RefCell<BTreeSet<String>>,
    /// The lists that were looked at by what an example takes them for.
    listed: RefCell<BTreeSet<String>>,
    /// The texts that facts are compared with, each with its place.
    compared: RefCell<Vec<(&'static Fact, String, usize)>>,
}

/// A function as it was read.
pub(super) struct Body {
    /// The names of its parameters.
    pub(super) parameters: Vec<String>,
    /// Its statements.
    pub(super) tree: AST,
    /// Where its closing brace stands.
    pub(super) end: usize,
    /// Whether nothing of it is left out or left open.
    pub(super) is_whole: bool,
}

/// One way in which a function is called.
struct Followed {
    name: String,
    takes: Vec<Sort>,
    gives: Sort,
}

impl Names {
    /// Whether nothing wrong has been said of a name so far; from now on it has.
    pub(super) fn is_first(&self, name: &str) -> bool {
        self.told.borrow_mut().insert(name.to_owned())
    }

    /// Whether something wrong has been said of such a name.
    pub(super) fn is_told(&self, is_such: impl Fn(&str) -> bool) -> bool {
        self.told.borrow().iter().any(|name| is_such(name))
    }

    /// What a constant is written as, the first time that an example names it.
    pub(super) fn first_listed(&self, name: &str) -> Option<&Expr> {
        let written = self.written.get(name)?;
        let Some(Stmt::Var(variable, _, _)) = written.statements().first() else { return None };
        self.listed.borrow_mut().insert(name.to_owned()).then_some(&variable.1)
    }

    /// Notes that a fact is compared with a text.
    pub(super) fn compares(&self, fact: &'static Fact, text: &str, at: usize) {
        /// The most of one file; a rule has a few.
        const TEXTS: usize = 200;
        let mut compared = self.compared.borrow_mut();
        if compared.len() < TEXTS && compared.iter().all(|(_, _, known)| *known != at) {
            compared.push((fact, text.to_owned(), at));
        }
    }

    /// The texts that facts are compared with.
    pub(super) fn compared(&self) -> Vec<(&'static Fact, String, usize)> {
        self.compared.borrow().clone()
    }

    /// Whether any call was followed into a function.
    pub(super) fn is_called(&self, name: &str) -> bool {
        self.followed.borrow().iter().any(|call| call.name == name)
    }

    /// Whether a function gave an answer where it was called.
    pub(super) fn gives_an_answer(&self, name: &str) -> bool {
        self.followed.borrow().iter().any(|call| call.name == name && call.gives == Sort::Answer)
    }

    /// What a call gives that was followed before.
    pub(super) fn followed(&self, name: &str, takes: &[Sort]) -> Option<Sort> {
        let followed = self.followed.borrow();
        followed.iter().find(|call| call.name == name && call.takes == takes).map(|call| call.gives)
    }

    /// Begins to follow a call, and gives its number; `None` once enough have been followed.
    pub(super) fn begin(&self, name: &str, takes: &[Sort]) -> Option<usize> {
        /// The most ways of calling that are followed; a rule has a few.
        const FOLLOWED: usize = 200;
        let mut followed = self.followed.borrow_mut();
        let call = Followed { name: name.to_owned(), takes: takes.to_vec(), gives: Sort::Unknown };
        (followed.len() < FOLLOWED).then(|| {
            followed.push(call);
            followed.len() - 1
        })
    }

    /// Ends following a call: what it gives is known.
    pub(super) fn end(&self, call: usize, gives: Sort) {
        self.followed.borrow_mut()[call].gives = gives;
    }
}
