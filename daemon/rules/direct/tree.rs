//! What a function of a rule is made of, as the direct way has it.

use crate::findings::Section;
use crate::rules::facts::Fact;
use crate::rules::reference::Question;
use crate::rules::sums::Sign;
use crate::rules::value::Value;

/// A function of a rule.
pub(in crate::rules) struct Function {
    /// Its body.
    pub(super) body: Vec<Node>,
    /// How many parameters it has; their values come first among its names.
    pub(super) parameters: usize,
    /// How many names it has in use at most.
    pub(super) names: usize,
}

/// The most values that stand in all brackets of a chain of dots.
pub(super) const IN_BRACKETS: usize = 4;

/// A piece of a function. What it holds is walked in the order in which the language does it.
pub(super) enum Node {
    /// A constant, or a number with its unit.
    Constant(Value<'static>),
    /// The value of a name: of a parameter or a `let`.
    Name(usize),
    /// A text with values in it.
    Text(Vec<Node>),
    /// A fact of what a name stands for: nearly every chain of dots is one.
    Fact(usize, How, Vec<&'static Fact>),
    /// What stands in the brackets of a chain of dots is worked out first, then its beginning, then link after link.
    Chain { first: Box<Node>, in_brackets: Vec<Node>, links: Vec<Link> },
    /// A fact that is known, else the next.
    Fallback(Vec<Node>),
    /// `and`
    All(Vec<Node>),
    /// `or`
    Any(Vec<Node>),
    /// `not`
    Not(Box<Node>),
    /// A minus before a value.
    Negative(Box<Node>),
    /// A comparison of two values.
    Compare(Comparison, Box<[Node; 2]>),
    /// A sum of two values.
    Sum(Sign, Box<[Node; 2]>),
    /// A word with brackets that stands by itself.
    Word(Word, Vec<Node>),
    /// `if`, with what comes of it either way.
    If(Box<Node>, Vec<Node>, Vec<Node>),
    /// What stands in braces; it is worth what its last piece is.
    Block(Vec<Node>),
    /// `let`, or another value for a name.
    Set(usize, Box<Node>),
    /// `return`
    Return(Option<Box<Node>>),
}

/// What follows a dot.
pub(super) enum Link {
    /// A fact, with all facts of that name: of which thing, shows when it is walked.
    Fact(How, Vec<&'static Fact>),
    /// A question with one value in its brackets.
    Question(Question),
    /// `.by(day)`
    By,
    /// `.at_once()`
    AtOnce,
    /// `.between(earliest, latest)`
    Between,
}

/// How a fact is asked for.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum How {
    /// `machine.x`
    Plain,
    /// `machine.has.x`
    Has,
    /// `machine.maybe.x`
    Maybe,
}

/// A word with brackets that stands by itself.
pub(super) enum Word {
    /// One that raises something.
    Raise(Section),
    /// `clear()`
    Clear,
    /// `too_long_ago()`
    TooLongAgo,
    /// `cannot_tell("...")`
    CannotTell,
    /// `date("...")`
    Date,
    /// `earlier(day, day)`
    Earlier,
    /// `later(day, day)`
    Later,
}

/// A comparison.
#[derive(Clone, Copy)]
pub(super) enum Comparison {
    /// `==`
    Same,
    /// `!=`
    Other,
    /// `<`
    Less,
    /// `<=`
    AtMost,
    /// `>`
    More,
    /// `>=`
    AtLeast,
}
