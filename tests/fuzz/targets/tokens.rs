//! Changes a rule file word by word, as an owner does who takes one word for another: libFuzzer by itself changes
//! bytes, and hardly anything that it makes of a rule is still one.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use tickover::rules::SHIPPED;

/// The most changes at a time.
const CHANGES: usize = 4;

/// What may be written in place of anything: every word and sign of the rules that ship, and some that none has.
static POOL: LazyLock<Vec<String>> = LazyLock::new(|| {
    let more = [
        "[", "]", "[]", "#{", "{", "}", "(", ")", "-", "*", "0", "9000000", "1.5", "()", "`${", "}`", "km",
        "mph",
    ];
    let mut pool: BTreeSet<String> = more.into_iter().map(str::to_owned).collect();
    for (_, text) in SHIPPED {
        pool.extend(tokens(text).into_iter().filter(|token| !token.trim().is_empty()).map(str::to_owned));
    }
    pool.into_iter().collect()
});

/// The text with a few of its words changed, taken out, doubled, or put elsewhere.
pub(super) fn changed(text: &str, seed: u32) -> String {
    let mut dice = Dice(u64::from(seed) + 1);
    let mut tokens: Vec<String> = tokens(text).into_iter().map(str::to_owned).collect();
    if tokens.is_empty() {
        tokens = SHIPPED[dice.below(SHIPPED.len())].1.lines().map(|line| format!("{line}\n")).collect();
    }
    for _ in 0..=dice.below(CHANGES) {
        let at = dice.below(tokens.len());
        let elsewhere = dice.below(tokens.len());
        match dice.below(6) {
            0 => tokens[at].clear(),
            1 => tokens.swap(at, elsewhere),
            2 => tokens[at] = tokens[elsewhere].clone(),
            3 => tokens.insert(at, POOL[dice.below(POOL.len())].clone()),
            // A word for a word, a number for a number: what is made of it may well be a rule.
            4 => {
                let alike: Vec<&String> = POOL.iter().filter(|other| is_like(other, &tokens[at])).collect();
                if !alike.is_empty() {
                    tokens[at] = alike[dice.below(alike.len())].clone();
                }
            }
            _ => tokens[at] = POOL[dice.below(POOL.len())].clone(),
        }
    }
    tokens.concat()
}

/// Words and numbers, texts in double quotes, blanks, and all other signs one by one.
fn tokens(text: &str) -> Vec<&str> {
    let mut tokens = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let is_of_word = |letter: char| letter.is_alphanumeric() || letter == '_';
        let length = match first {
            '"' => rest[1..].find(['"', '\n']).map_or(rest.len(), |end| end + 2),
            _ if is_of_word(first) => rest.find(|letter| !is_of_word(letter)).unwrap_or(rest.len()),
            _ if first.is_whitespace() => {
                rest.find(|letter: char| !letter.is_whitespace()).unwrap_or(rest.len())
            }
            _ => first.len_utf8(),
        };
        let (token, after) = rest.split_at(length.min(rest.len()));
        tokens.push(token);
        rest = after;
    }
    tokens
}

fn is_like(one: &str, other: &str) -> bool {
    let kind = |token: &str| match token.chars().next() {
        Some(first) if first.is_ascii_digit() => 0,
        Some(first) if first.is_uppercase() => 1,
        Some(first) if first.is_alphabetic() => 2,
        Some('"') => 3,
        _ => 4,
    };
    kind(one) == kind(other)
}

/// A repeatable sequence of figures (the 64-bit LCG of Knuth's MMIX).
struct Dice(u64);

impl Dice {
    fn below(&mut self, bound: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("31 bits fit") % bound.max(1)
    }
}
