//! What a rule can answer: which section, in which words, by when; or that there is nothing, or that it cannot tell.

use jiff::civil::Date;
use rhai::{Engine, ImmutableString};

use super::quantity::{Given, misuse};
use crate::findings::{Raised, Section, Verdict};

/// The functions that raise something, with the section each names.
pub(super) const RAISING: [(&str, Section); 5] = [
    ("keep_in_yard", Section::KeepInTheYard),
    ("ring", Section::RingToday),
    ("book_in", Section::BookIn),
    ("bench", Section::OnTheBench),
    ("fix_sheet", Section::PutTheSheetRight),
];

/// The longest text of an answer, in characters: several times what a letter shows of one.
pub(super) const LONGEST: usize = 1_000;

/// A rule's answer under construction.
#[derive(Debug, Clone)]
pub(super) enum Answer {
    /// There is nothing to do.
    Clear,
    /// It is too long ago to be asked for.
    TooLongAgo,
    /// Somebody must act.
    Raised(Box<Raised>),
    /// This fact is missing.
    CannotTell(String),
}

impl From<Answer> for Verdict {
    fn from(answer: Answer) -> Verdict {
        match answer {
            Answer::Clear => Verdict::Clear,
            Answer::TooLongAgo => Verdict::TooLongAgo,
            Answer::Raised(raised) => Verdict::Raised(*raised),
            Answer::CannotTell(fact) => Verdict::CannotTell { missing: vec![fact] },
        }
    }
}

impl Answer {
    /// Raises something in a section.
    pub(super) fn raise(section: Section, text: String) -> Given<Answer> {
        let trimmed = text.trim();
        if trimmed.is_empty() {
            return misuse("an answer without a text helps nobody", "write who should do what, and why");
        }
        // No text has more characters than bytes.
        let length = if trimmed.len() > LONGEST { trimmed.chars().count() } else { 0 };
        if length > LONGEST {
            let what = format!("this answer is {length} characters long, and {LONGEST} are the most");
            return misuse(what, "make it shorter: it is read on a telephone");
        }
        let text = if trimmed.len() == text.len() { text } else { trimmed.to_owned() };
        Ok(Answer::Raised(Box::new(Raised { section, text, due: None, due_range: None, at_once: false })))
    }

    /// The day by which somebody must have acted.
    pub(super) fn by(self, day: Date) -> Given<Answer> {
        self.change(|raised| raised.due = Some(day))
    }

    /// It comes first in its section.
    pub(super) fn at_once(self) -> Given<Answer> {
        self.change(|raised| raised.at_once = true)
    }

    /// The days between which it likely falls due.
    pub(super) fn between(self, earliest: Date, latest: Date) -> Given<Answer> {
        // One day is no range, and nothing about it is estimated.
        let range = (earliest != latest).then(|| (earliest.min(latest), earliest.max(latest)));
        self.change(|raised| raised.due_range = range)
    }

    /// A fact that is needed is not on record.
    pub(super) fn cannot_tell(fact: &str) -> Answer {
        Answer::CannotTell(fact.trim().to_owned())
    }

    fn change(mut self, change: impl FnOnce(&mut Raised)) -> Given<Answer> {
        match &mut self {
            Answer::Raised(raised) => change(raised),
            _ => return misuse("only what is raised has a day", "take the day away, or raise something"),
        }
        Ok(self)
    }
}

/// Teaches an engine the answers.
pub(super) fn register(engine: &mut Engine) {
    engine.register_fn("clear", || Answer::Clear);
    engine.register_fn("too_long_ago", || Answer::TooLongAgo);
    engine.register_fn("cannot_tell", |fact: ImmutableString| Answer::cannot_tell(&fact));
    for (name, section) in RAISING {
        engine.register_fn(name, move |text: ImmutableString| Answer::raise(section, text.into_owned()));
    }
    engine.register_fn("by", |answer: &mut Answer, day: Date| answer.clone().by(day));
    engine.register_fn("at_once", |answer: &mut Answer| answer.clone().at_once());
    engine.register_fn("between", |answer: &mut Answer, earliest: Date, latest: Date| {
        answer.clone().between(earliest, latest)
    });
}
