//! Whether the words beside a name say that it is not what it names: `not MA2`, `E10 not available`.

/// Whether some words of a text are denied by those up to two before them, or right behind them.
pub(super) fn is_denied(words: &[String], place: usize, length: usize) -> bool {
    const BEFORE: [&str; 9] = ["except", "instead", "isnt", "never", "no", "non", "not", "wasnt", "without"];
    const NOT_HAD: [&str; 5] = ["available", "had", "in", "left", "used"];
    let before = words[..place].iter().rev().take(2).map(String::as_str);
    // `E10 not available, E5` denies the first of them.
    let before: Vec<&str> = before.take_while(|word| !NOT_HAD.contains(word)).collect();
    let behind: Vec<&str> = words[place + length..].iter().take(2).map(String::as_str).collect();
    before.iter().any(|word| BEFORE.contains(word))
        || matches!(behind[..], ["unavailable", ..])
        || matches!(behind[..], ["not", had] if NOT_HAD.contains(&had))
}
