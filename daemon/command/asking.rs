//! Asks a person at the terminal, one question at a time, each with what it is seen by and numbered answers.

use std::io::{self, BufRead, Write};

use crate::problem::harmless;
use crate::yard::Question;

/// How often an answer that is none is asked for again.
const TRIES: usize = 3;

/// The longest line that is read as an answer.
const LINE_BYTES_MOST: u64 = 1_000;

/// The place of the answer; `None` where it is left for later: by 0, at the end of the input, or after a few answers
/// that are none. An empty line takes an answer only where one is marked as usual.
///
/// # Errors
/// A terminal that cannot be read or written.
pub(super) fn ask(
    of: Option<&str>,
    question: &Question,
    input: &mut dyn BufRead,
    output: &mut dyn Write,
) -> io::Result<Option<usize>> {
    let of = of.map(|of| format!("{of}: ")).unwrap_or_default();
    writeln!(output, "{}", harmless(&format!("{of}{}", question.asked)))?;
    for sample in &question.samples {
        writeln!(output, "      {}", harmless(sample))?;
    }
    for (number, answer) in (1..).zip(&question.answers) {
        let usual = if question.usual == Some(number - 1) { "  (usual: Enter takes it)" } else { "" };
        writeln!(output, "  {number}  {}{usual}", harmless(&answer.said))?;
    }
    writeln!(output, "  0  decide later")?;
    let most = question.answers.len();
    for _ in 0..TRIES {
        write!(output, "Answer, 0 to {most}: ")?;
        output.flush()?;
        let Some(line) = line(input)? else {
            writeln!(output)?;
            break;
        };
        match (line.trim(), question.usual) {
            ("", Some(usual)) => return Ok(Some(usual)),
            ("0", _) => break,
            (typed, _) => match typed.parse::<usize>() {
                Ok(number) if (1..=most).contains(&number) => return Ok(Some(number - 1)),
                _ => writeln!(output, "Type one of the numbers 0 to {most}; 0 leaves it for later.")?,
            },
        }
    }
    writeln!(output, "Left for later.")?;
    Ok(None)
}

/// One line; `None` at the end of the input. What is longer than an answer can be is dropped.
fn line(input: &mut dyn BufRead) -> io::Result<Option<String>> {
    let mut line = Vec::new();
    let mut limited = io::Read::take(&mut *input, LINE_BYTES_MOST);
    if limited.read_until(b'\n', &mut line)? == 0 {
        return Ok(None);
    }
    while !line.ends_with(b"\n") {
        let held = input.fill_buf()?;
        let (length, is_end) = match held.iter().position(|byte| *byte == b'\n') {
            Some(end) => (end + 1, true),
            None => (held.len(), held.is_empty()),
        };
        input.consume(length);
        if is_end {
            break;
        }
    }
    Ok(Some(String::from_utf8_lossy(&line).into_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::settings::DateOrder;
    use crate::yard::{Answer, Settles};

    fn question(usual: Option<usize>) -> Question {
        let answer = |said: &str, order| Answer { said: said.to_owned(), settles: Settles::Dates(order) };
        Question {
            asked: "Which day is `03/04/2026`?".to_owned(),
            samples: vec!["C Handover: 03/04/2026".to_owned()],
            answers: vec![answer("3 April", DateOrder::DayFirst), answer("4 March", DateOrder::MonthFirst)],
            usual,
        }
    }

    fn answered(typed: &str, usual: Option<usize>) -> (Option<usize>, String) {
        let mut output = Vec::new();
        let answer = ask(Some("stock.csv"), &question(usual), &mut typed.as_bytes(), &mut output).unwrap();
        (answer, String::from_utf8(output).unwrap())
    }

    #[test]
    fn a_number_is_the_answer_and_everything_else_is_asked_again_a_few_times() {
        let long = format!("{}2\n1\n", "x".repeat(5_000));
        let cases = [
            ("1\n", Some(0)),
            (" 2 \n", Some(1)),
            ("2", Some(1)),
            ("0\n1\n", None),
            ("", None),
            ("3\n-1\nyes\n1\n", None),
            ("\nmaybe\n2\n", Some(1)),
            ("\n\n\n1\n", None),
            (&long, Some(0)),
        ];
        for (typed, answer) in cases {
            assert_eq!(answered(typed, None).0, answer, "{typed:?}");
        }
    }

    #[test]
    fn enter_takes_only_what_is_marked_as_usual() {
        assert_eq!(answered("\n", Some(1)).0, Some(1));
        let (answer, shown) = answered("\n", None);
        assert_eq!(answer, None);
        assert_eq!(
            shown,
            "stock.csv: Which day is `03/04/2026`?\n      C Handover: 03/04/2026\n  1  3 April\n  2  4 March\n  0  decide \
             later\nAnswer, 0 to 2: Type one of the numbers 0 to 2; 0 leaves it for later.\nAnswer, 0 to 2: \nLeft for \
             later.\n"
        );
        assert!(answered("\n", Some(1)).1.contains("  2  4 March  (usual: Enter takes it)\n"));
    }
}
