//! The closed room in which rules run: no disk, no time of day, no loops, no other rule; and a limit on everything.

use std::sync::LazyLock;
use std::time::Duration;

use rhai::packages::{ArithmeticPackage, BasicStringPackage, LogicPackage, Package};
use rhai::{Engine, OptimizationLevel, Token};

use super::compared_texts;
use super::reference::{self, REFUSED};
use super::time_allowed::is_late;

/// The largest rule file; the time to read one grows with the square of its statements.
pub(super) const FILE_BYTES: u64 = 64 * 1024;
/// The most rule files of a folder: more than anybody reads, and each takes its time at every round.
pub(super) const FILES: usize = 200;
/// The most that all rule files of a folder may have together, in bytes: ten times what ours have. A rule takes up to
/// eighty times its size of memory, and all of them are held at once.
pub(super) const FOLDER_BYTES: usize = 512 * 1024;
/// The most entries of a folder that are looked at for rule files: as many as take a second on a slow disk.
pub(super) const ENTRIES: usize = 100_000;
/// The most steps of one call; far more than any judgement of one machine needs.
const STEPS: u64 = 20_000;
/// How deep functions may call each other: more than a person can follow.
pub(super) const CALL_DEPTH: usize = 16;
/// How deep expressions may nest: more than a person can read, and less than the stack bears.
const NESTING: usize = 48;
/// The longest text, in bytes: many times what a letter shows of one.
pub(super) const TEXT_BYTES: usize = 4_096;
/// The longest list of a machine's things; a tracker may bring several trips a day for years.
pub(super) const LIST: usize = 20_000;
/// The longest list that is written in a file, which is that of its examples.
pub(super) const WRITTEN_LIST: usize = 1_000;
/// The most entries of a `#{ ... }`, or of all those in a list together: a yard with five hundred checks, which is more
/// than an example has to give.
pub(super) const MAP: usize = 2_000;
/// The most values of a rule that have a name: several times those of ours.
pub(super) const NAMES: usize = 128;
/// The most functions of a rule: several times those of ours.
pub(super) const FUNCTIONS: usize = 32;
/// The most examples of a rule: each takes its time whenever the file is read, and nobody reads more.
pub(super) const EXAMPLES: usize = 200;

/// How long one answer may take before it counts: many times what ours take on the slowest PC, so that a rule which
/// judges thousands of rides is not taken for a slow one.
const ANSWER: Duration = Duration::from_micros(200);
/// The longest that the slow answers of one rule may take of a round, over all machines together: the letter has to
/// wait for it.
const RULE: Duration = Duration::from_secs(3);
/// The longest that the slow answers of all rules may take, which very many of them share.
const SLOW: Duration = Duration::from_secs(60);
/// What all rules together may take of a round, but for quick answers, as those of ours are: one rule by itself may take
/// as much. Whoever waits for the letter waits for half of it, on two cores.
pub(super) const ROUND: Duration = RULE;
/// How long one answer may take before it counts there: twenty times what ours take.
const QUICK: Duration = Duration::from_micros(20);

/// The two readers of the language: one keeps the file's tree as written, the other makes it ready to run.
pub(super) struct Sandbox {
    /// Keeps the tree as written, and does not mind names that it cannot see.
    pub(super) reader: Engine,
    /// Writes the constants into the functions, and refuses names that it cannot see.
    pub(super) runner: Engine,
}

/// The sandbox, made once; it never changes.
pub(super) static SANDBOX: LazyLock<Sandbox> = LazyLock::new(|| {
    let mut reader = engine();
    reader.set_optimization_level(OptimizationLevel::None);
    reader.set_max_array_size(WRITTEN_LIST);
    let mut runner = engine();
    runner.set_strict_variables(true);
    Sandbox { reader, runner }
});

/// How long the slow answers of each of so many rules may take of a round.
pub(super) fn share(rules: usize) -> Duration {
    RULE.min(SLOW / u32::try_from(rules).unwrap_or(u32::MAX).max(1))
}

/// What counts of a time that so many answers took.
pub(super) fn counts(time: Duration, answers: usize) -> Duration {
    time.saturating_sub(ANSWER.saturating_mul(u32::try_from(answers).unwrap_or(u32::MAX)))
}

/// What counts for the whole round of a time that so many answers took.
pub(super) fn counts_of_round(time: Duration, answers: usize) -> Duration {
    let is_quick = time <= QUICK.saturating_mul(u32::try_from(answers).unwrap_or(u32::MAX));
    if is_quick { Duration::ZERO } else { time }
}

fn engine() -> Engine {
    // Neither `Engine::new` nor the core package: they bring `sleep` and `exit`.
    let mut engine = Engine::new_raw();
    for module in [
        ArithmeticPackage::new().as_shared_module(),
        LogicPackage::new().as_shared_module(),
        BasicStringPackage::new().as_shared_module(),
    ] {
        engine.register_global_module(module);
    }
    engine
        .set_max_operations(STEPS)
        .set_max_call_levels(CALL_DEPTH)
        .set_max_expr_depths(NESTING, NESTING)
        .set_max_string_size(TEXT_BYTES)
        .set_max_array_size(LIST)
        .set_max_map_size(MAP)
        .set_max_variables(NAMES)
        .set_max_functions(FUNCTIONS)
        .set_allow_looping(false)
        .set_allow_anonymous_fn(false)
        .set_allow_shadowing(false)
        .set_allow_switch_expression(false);
    engine.on_progress(|steps| {
        /// Asking the time costs as much as a quick step, and the slowest ones take longer by far; every 16th asks.
        const BETWEEN_LOOKS: u64 = 0xf;
        (steps & BETWEEN_LOOKS == 0 && is_late()).then(|| "took too long".into())
    });
    for word in REFUSED {
        engine.disable_symbol(word);
    }
    plain_words(&mut engine);
    reference::register(&mut engine);
    compared_texts::register(&mut engine);
    engine
}

/// `and`, `or` and `not` in place of signs.
#[expect(deprecated, reason = "not deprecated but called volatile; the version is pinned and tests hold it")]
fn plain_words(engine: &mut Engine) {
    engine.on_parse_token(|token, _, _| match &token {
        Token::Identifier(word) => match word.as_str() {
            "and" => Token::And,
            "or" => Token::Or,
            "not" => Token::Bang,
            _ => token,
        },
        _ => token,
    });
}
