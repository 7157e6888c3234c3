//! What a program of the owner's says on its error stream: its end, and of that only what can be no secret.

use std::io::Read;
use std::process::ChildStderr;
use std::sync::mpsc::{self, Receiver};
use std::thread;

/// How much of the stream's end is kept, in bytes.
const END_BYTES: usize = 2_000;
/// How many of its last lines are shown: a program that breaks off says why there.
const LINES_MOST: usize = 3;
/// The most that is shown, in characters.
const SHOWN_MOST: usize = 300;
/// The longest word that is shown, in letters; tokens and keys are longer.
const WORD_MOST: usize = 20;
/// The longest number that is shown, in figures: codes of a protocol have three.
const FIGURES_MOST: usize = 3;
/// What stands for what is not shown.
const HIDDEN: &str = "…";

/// Reads the stream in a thread of its own until it ends, and then gives its end. What comes before is read, too, so that
/// the program is never held up.
pub(super) fn end_beside(mut stream: ChildStderr) -> Receiver<Vec<u8>> {
    let (sender, receiver) = mpsc::channel();
    thread::spawn(move || {
        let (mut end, mut piece) = (Vec::new(), [0; 1024]);
        while let Ok(count @ 1..) = stream.read(&mut piece) {
            end.extend_from_slice(&piece[..count]);
            end.drain(..end.len().saturating_sub(END_BYTES));
        }
        // Nobody waits for it any more once the time is up.
        let _ = sender.send(end);
    });
    receiver
}

/// The plain words of what was said, on one line; `None` where there are none. Whatever may be a secret is left out: a
/// word with figures or signs in it, a long one, one with capitals inside, and what follows a secret's name.
pub(super) fn plain_words(said: &[u8]) -> Option<String> {
    let text = String::from_utf8_lossy(said);
    let mut lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    lines.drain(..lines.len().saturating_sub(LINES_MOST));
    let lines: Vec<String> =
        lines.into_iter().map(plain_line).filter(|line| line.contains(char::is_alphabetic)).collect();
    let shown: String = lines.join(" / ").chars().take(SHOWN_MOST).collect();
    (!shown.is_empty()).then_some(shown)
}

fn plain_line(line: &str) -> String {
    let mut shown: Vec<&str> = Vec::new();
    for word in line.split_whitespace() {
        let word = if is_plain(word) { word } else { HIDDEN };
        if word != HIDDEN || shown.last() != Some(&HIDDEN) {
            shown.push(word);
        }
        if gives_away(word) {
            shown.push(HIDDEN);
            break;
        }
    }
    shown.join(" ")
}

/// Whether a word can only be a word, or a short number.
fn is_plain(word: &str) -> bool {
    let bare = word.trim_matches(|sign: char| ".,;:!?()[]'\"`".contains(sign));
    let letters = bare.chars().count();
    let is_number = letters <= FIGURES_MOST && bare.bytes().all(|byte| byte.is_ascii_digit());
    let is_word = bare.chars().all(|letter| letter.is_alphabetic() || "-_'".contains(letter));
    let is_calm =
        bare.chars().zip(bare.chars().skip(1)).all(|(one, next)| !one.is_lowercase() || !next.is_uppercase());
    letters > 0 && (is_number || is_word && is_calm && letters <= WORD_MOST)
}

/// Whether a secret may follow: its name with a colon.
fn gives_away(word: &str) -> bool {
    let name = word.to_lowercase();
    let names =
        ["password", "passphrase", "passwd", "pwd", "pass", "secret", "token", "key", "code", "bearer"];
    (name.ends_with(':') || name == "bearer")
        && names.iter().any(|secret| name.trim_end_matches(':').ends_with(secret))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_words_that_can_be_no_secret_are_shown() {
        for (said, expected) in [
            ("refresh token expired", Some("refresh token expired")),
            (
                "error: HTTP 400 (invalid_grant): sign in again",
                Some("error: HTTP 400 (invalid_grant): sign in again"),
            ),
            ("no network: mail.shop.example", Some("no network: …")),
            ("refused ya29.token s3cret sooner", Some("refused … sooner")),
            ("token: abcdef", Some("token: …")),
            ("the password: correct horse battery", Some("the password: …")),
            ("Authorization: Bearer abcdef", Some("Authorization: Bearer …")),
            ("access_token=abcdef", None),
            ("got dGhpcyBpcyBub rest", Some("got … rest")),
            ("of abcdefghijklmnopqrstu", Some("of …")),
            ("pin 123456", Some("pin …")),
            ("a\nb\n\nc\nd", Some("b / c / d")),
            ("\u{1b}[31mred", None),
            ("hunter2", None),
            ("", None),
        ] {
            assert_eq!(plain_words(said.as_bytes()).as_deref(), expected, "{said}");
        }
        let long = plain_words("word ".repeat(1_000).as_bytes()).unwrap();
        assert_eq!(long.chars().count(), SHOWN_MOST);
    }
}
