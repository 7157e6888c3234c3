//! `tickover setup`: look at the shop's own exports, propose which column is what, ask, write what was accepted.

use std::io::{self, IsTerminal as _};
use std::path::PathBuf;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, asking, morning, say};
use crate::problem::counted;
use crate::round::{self, Setup, YardFolder};
use crate::yard::{Answer, Question, Settles};

/// Proposes, asks where somebody is there to answer, and writes what was accepted.
pub(super) fn run(place: &WhichYard, accept: bool, files: &[PathBuf]) -> u8 {
    let folder = YardFolder::at(&place.yard);
    let is_asked = !accept && io::stdin().is_terminal() && io::stdout().is_terminal();
    // Where nobody can agree to anything all is only shown.
    if (accept || is_asked)
        && let Err(problem) = folder.lay_out()
    {
        say::problems(&[problem]);
        return COULD_NOT_RUN;
    }
    let mut setup = match round::set_up(&folder, files, &morning::reader()) {
        Ok(setup) => setup,
        Err(problems) => {
            say::problems(&problems);
            return COULD_NOT_RUN;
        }
    };
    say::out(&setup.text);
    let needed = setup.needs_a_person();
    say::problems(&std::mem::take(&mut setup.problems));
    let is_accepted = if is_asked { asked(&mut setup) } else { left_open(&mut setup, accept) };
    if is_accepted
        && setup.has_news()
        && let Err(problems) = setup.write(&folder)
    {
        say::problems(&problems);
        return COULD_NOT_RUN;
    }
    let not_there = setup.not_there();
    setup.problems.extend(not_there);
    say::problems(&setup.problems);
    say::out(&open_questions(&setup));
    say::out(&end(&setup, &folder));
    let nothing = setup.recognised() == 0 && setup.agreed_before == 0;
    // Whoever reads the exit code alone must not take what nobody has accepted for done.
    let unwritten = !is_asked && !is_accepted && setup.has_news();
    if nothing || needed || unwritten || setup.needs_a_person() { NEEDS_A_PERSON } else { DONE }
}

/// Asks one question after another, and at the end whether it is to be written.
fn asked(setup: &mut Setup) -> bool {
    let (mut input, mut output) = (io::stdin().lock(), io::stdout().lock());
    while let Some(asked) = setup.next_question() {
        // A terminal that cannot be read answers nothing.
        let answer =
            asking::ask(asked.of.as_deref(), &asked.question, &mut input, &mut output).unwrap_or(None);
        setup.take(asked, answer);
        say::to(&mut output, "");
    }
    if !setup.has_news() {
        return false;
    }
    let answer = |said: &str| Answer { said: said.to_owned(), settles: Settles::Rows("") };
    let question = Question {
        asked: "Write all this into tickover.toml? Every line of it can be changed there later.".to_owned(),
        samples: Vec::new(),
        answers: vec![answer("yes"), answer("no, leave tickover.toml as it is")],
        usual: Some(0),
    };
    asking::ask(None, &question, &mut input, &mut output).unwrap_or(None) == Some(0)
}

/// Leaves every question open but those that have a usual answer, which are said.
fn left_open(setup: &mut Setup, accept: bool) -> bool {
    while let Some(asked) = setup.next_question() {
        let usual = asked.question.usual;
        if let Some(answer) = usual.and_then(|usual| asked.question.answers.get(usual)) {
            let of = asked.of.as_ref().map(|of| format!("{of}: ")).unwrap_or_default();
            say::out(&format!(
                "Taken as usual: {of}{} {} ({}).\n",
                asked.question.asked,
                answer.said,
                answer.settles.lines().join(", ")
            ));
        }
        setup.take(asked, usual);
    }
    accept
}

/// What is left open, each with its choices as lines of the settings.
fn open_questions(setup: &Setup) -> String {
    let mut text = String::new();
    for (of, question) in setup.open() {
        let of = of.map(|of| format!("{of}: ")).unwrap_or_default();
        text.push_str(&format!("Open: {of}{}\n", question.asked));
        for sample in &question.samples {
            text.push_str(&format!("      {sample}\n"));
        }
        for answer in &question.answers {
            text.push_str(&format!("  {}  ({})\n", answer.settles.lines().join(" and "), answer.said));
        }
        text.push('\n');
    }
    text
}

/// What became of it, in a sentence.
fn end(setup: &Setup, folder: &YardFolder) -> String {
    let settings = folder.settings();
    let settings = settings.display();
    let new = counted(setup.recognised(), "new sheet");
    let open = match setup.open().len() {
        0 => String::new(),
        1 => " 1 question is open, see above: the lines to choose from stand there behind a #.".to_owned(),
        many => {
            format!(" {many} questions are open, see above: the lines to choose from stand there behind a #.")
        }
    };
    match (setup.recognised(), setup.written) {
        (0, false) if setup.agreed_before > 0 => format!("Nothing new; {settings} stays as it is."),
        (0, false) => format!(
            "No sheet was recognised, so nothing was written. Drop the shop's exports into {} and run it again.",
            folder.sheets().display()
        ),
        (0, true) => format!("Written to {settings}; correct it there.{open}"),
        (_, true) => format!("{new} written to {settings}; correct it there.{open}"),
        (_, false) => {
            format!(
                "{new}, not written yet. Run it again with --accept to add this to {settings}.{}",
                if open.is_empty() {
                    ""
                } else {
                    " At a terminal, without it, the open questions are asked."
                }
            )
        }
    }
}
