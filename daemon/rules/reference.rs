//! The words of a rule beside its facts: what it can answer, ask and write.

use std::str::FromStr;

use jiff::civil::Date;
use rhai::{Dynamic, Engine, ImmutableString};

use super::answer;
use super::examples;
use super::facts::Found;
use super::looked_up::{falls_due_within, has_done, service};
use super::machine_in_hand::{self, Thing};
use super::part::Part;
use super::quantity::{self, Given, Misuse, misuse};
use super::sort_of_value::{Kind, Sort};
use super::value::Value;
use crate::units::Days;

/// A function that a rule can call, by itself or on a value.
pub(super) struct Word {
    /// The sort of value it is called on, as in `machine.service("...")`; `None` when it stands by itself.
    pub(super) on: Option<Sort>,
    /// Its name.
    pub(super) name: &'static str,
    /// What stands in its brackets.
    pub(super) takes: &'static [Sort],
    /// What it gives.
    pub(super) gives: Sort,
    /// How it is written, for the reference.
    pub(super) written: &'static str,
    /// What it does.
    pub(super) says: &'static str,
    /// An example that can be run, for the reference.
    pub(super) example: &'static str,
}

const fn word(
    on: Option<Sort>,
    name: &'static str,
    takes: &'static [Sort],
    gives: Sort,
    written: &'static str,
    says: &'static str,
    example: &'static str,
) -> Word {
    Word { on, name, takes, gives, written, says, example }
}

const ANSWER: Option<Sort> = Some(Sort::Answer);
const MACHINE: Option<Sort> = Some(Sort::Thing(Kind::Machine));
const SERVICE: Option<Sort> = Some(Sort::Thing(Kind::Service));

/// All functions, in the order of the reference.
#[rustfmt::skip]
pub(super) const WORDS: &[Word] = &[
    word(None, "keep_in_yard", &[Sort::Text], Sort::Answer,
        "keep_in_yard(`...`)", "the machine must not be ridden away",
        "keep_in_yard(`The brakes are open.`)"),
    word(None, "ring", &[Sort::Text], Sort::Answer, "ring(`...`)", "somebody rings the customer",
        "ring(`The first service is due. Find a day.`)"),
    word(None, "book_in", &[Sort::Text], Sort::Answer, "book_in(`...`)", "a visit is to be arranged",
        "book_in(`The MOT runs out.`)"),
    word(None, "bench", &[Sort::Text], Sort::Answer, "bench(`...`)", "the workshop does it",
        "bench(`Change oil and filter.`)"),
    word(None, "fix_sheet", &[Sort::Text], Sort::Answer,
        "fix_sheet(`...`)", "the office corrects what is written",
        "fix_sheet(`The clock goes down.`)"),
    word(None, "clear", &[], Sort::Answer, "clear()", "there is nothing to do",
        "clear()"),
    word(None, "too_long_ago", &[], Sort::Answer,
        "too_long_ago()", "it is too long ago to be asked for: neither good nor bad",
        "too_long_ago()"),
    word(None, "cannot_tell", &[Sort::Text], Sort::Answer,
        "cannot_tell(\"MOT certificate\")", "a fact that is needed is not on record",
        "cannot_tell(\"MOT certificate\")"),
    word(ANSWER, "by", &[Sort::Day], Sort::Answer, ".by(day)", "the day by which somebody must have acted",
        "ring(`Find a day.`).by(machine.today)"),
    word(ANSWER, "at_once", &[], Sort::Answer,
        ".at_once()", "it comes first in its section: somebody could be hurt, or a machine spoilt, today",
        "keep_in_yard(`Do not start it.`).at_once()"),
    word(ANSWER, "between", &[Sort::Day, Sort::Day], Sort::Answer,
        ".between(earliest, latest)", "the days between which it likely falls due",
        "ring(`Find a day.`).between(machine.today, machine.today + 14.days)"),
    word(MACHINE, "service", &[Sort::Text], Sort::Thing(Kind::Service),
        "machine.service(\"first service\")", "one item of its service plan",
        "machine.service(\"first service\")"),
    word(MACHINE, "has_done", &[Sort::Text], Sort::YesNo,
        "machine.has_done(\"first service\")", "whether that item was ever done; not known where it fell due before the shop had the machine, or where no handover, sale or arrival tells since when that is",
        "machine.has_done(\"first service\")"),
    word(SERVICE, "likely_within", &[Sort::Days], Sort::YesNo,
        "service.likely_within(14.days)", "whether its likeliest day is at most so many days ahead",
        "service.likely_within(14.days)"),
    word(SERVICE, "perhaps_within", &[Sort::Days], Sort::YesNo,
        "service.perhaps_within(14.days)", "whether its earliest day is at most so many days ahead",
        "service.perhaps_within(14.days)"),
    word(None, "date", &[Sort::Text], Sort::Day, "date(\"2026-03-02\")", "a day of the calendar",
        "date(\"2026-03-02\")"),
    word(None, "earlier", &[Sort::Day, Sort::Day], Sort::Day, "earlier(day, day)", "the earlier of two days",
        "earlier(machine.sold, machine.handover)"),
    word(None, "later", &[Sort::Day, Sort::Day], Sort::Day, "later(day, day)", "the later of two days",
        "later(machine.sold, machine.handover)"),
    word(None, "given", &[Sort::Text, Sort::Map], Sort::Example,
        "given(\"...\", #{ ... })", "an example machine, in EXAMPLES only",
        "given(\"nobody wrote it down\", #{ today: \"2026-03-02\" })"),
    word(Some(Sort::Example), "expect", &[Sort::Text], Sort::Example,
        ".expect(\"ring\")", "what the rule must say of it",
        "given(\"nobody wrote it down\", #{ today: \"2026-03-02\" }).expect(\"cannot tell\")"),
];

/// Words of other languages, or of the language beneath, that a rule does without.
pub(super) const REFUSED: [&str; 30] = [
    "loop",
    "while",
    "for",
    "do",
    "until",
    "break",
    "continue",
    "switch",
    "try",
    "catch",
    "throw",
    "eval",
    "import",
    "export",
    "as",
    "private",
    "this",
    "global",
    "Fn",
    "call",
    "curry",
    "is_shared",
    "is_def_fn",
    "is_def_var",
    "type_of",
    "print",
    "debug",
    "in",
    "go",
    "spawn",
];

/// A day written as text.
pub(super) fn day_written(text: &str) -> Given<Date> {
    Date::from_str(text.trim()).or_else(|_| {
        let Misuse { what, help } = not_a_day(text);
        misuse(what, help)
    })
}

/// What is said of a text that is no day.
pub(super) fn not_a_day(text: &str) -> Misuse {
    let help = match month_without(text.trim()) {
        Some((year, month)) => {
            let (month, last) = (month.month(), month.days_in_month());
            format!("that month has {last} days: write \"{year}-{month:02}-{last}\" for its last")
        }
        None => "write year, month and day in quotes: \"2026-03-02\"".to_owned(),
    };
    Misuse { what: format!("\"{text}\" is not a day"), help }
}

/// The month of a day that it does not have: 30 February. A day past 31 is a slip of another sort.
fn month_without(text: &str) -> Option<(i16, Date)> {
    let [year, month, day] = text.split('-').collect::<Vec<_>>()[..] else { return None };
    let (year, month) = (year.parse().ok()?, month.parse().ok()?);
    let day: i8 = day.parse().ok()?;
    (29..=31).contains(&day).then(|| Date::new(year, month, 1).ok()).flatten().map(|first| (year, first))
}

/// Teaches an engine everything that a rule can say.
pub(super) fn register(engine: &mut Engine) {
    quantity::register(engine);
    answer::register(engine);
    machine_in_hand::register(engine);
    examples::register(engine);
    engine
        .register_fn("date", |text: ImmutableString| day_written(&text))
        .register_fn("date", |number: i64| -> Given<Date> {
            misuse(
                format!("a day is asked here, not the plain number {number}"),
                "write the day in quotes: \"2026-03-02\"",
            )
        })
        .register_fn("earlier", |one: Date, other: Date| one.min(other))
        .register_fn("later", |one: Date, other: Date| one.max(other))
        .register_fn("service", |thing: &mut Thing, item: ImmutableString| {
            asked(thing, Question::Service, &item.as_str().into())
        })
        .register_fn("has_done", |thing: &mut Thing, item: ImmutableString| {
            asked(thing, Question::HasDone, &item.as_str().into())
        })
        .register_fn("likely_within", |thing: &mut Thing, days: Days| {
            asked(thing, Question::LikelyWithin, &days.into())
        })
        .register_fn("perhaps_within", |thing: &mut Thing, days: Days| {
            asked(thing, Question::PerhapsWithin, &days.into())
        });
}

/// What is asked of a thing with something in brackets.
#[derive(Debug, Clone, Copy)]
pub(super) enum Question {
    /// `machine.service("...")`
    Service,
    /// `machine.has_done("...")`
    HasDone,
    /// `service.likely_within(...)`
    LikelyWithin,
    /// `service.perhaps_within(...)`
    PerhapsWithin,
}

impl Question {
    /// The answer; `None` where that cannot be asked of this thing, or not with this in the brackets.
    pub(super) fn answer<'a>(self, thing: Part<'a>, with: &Value<'_>) -> Option<Found<'a>> {
        Some(match (self, thing.kind, with) {
            (Question::Service, Kind::Machine, Value::Text(item)) => service(thing, item),
            (Question::HasDone, Kind::Machine, Value::Text(item)) => has_done(thing, item),
            (Question::LikelyWithin, Kind::Service, Value::Days(days)) => {
                falls_due_within(thing, *days, |window| window.likeliest)
            }
            (Question::PerhapsWithin, Kind::Service, Value::Days(days)) => {
                falls_due_within(thing, *days, |window| window.earliest)
            }
            _ => return None,
        })
    }
}

/// The answer to a question, for the language.
fn asked(thing: &Thing, question: Question, with: &Value<'_>) -> Given<Dynamic> {
    match (question.answer(thing.part(), with), question) {
        (Some(found), _) => thing.answered(found),
        (None, Question::Service | Question::HasDone) => {
            misuse("only a machine has a service plan", "ask it of `machine`")
        }
        (None, Question::LikelyWithin | Question::PerhapsWithin) => {
            misuse("only a service falls due", "ask it of `machine.service(\"...\")`")
        }
    }
}

/// The value of a constant that must be a text.
pub(super) fn text_of(value: &Dynamic) -> Option<String> {
    value.clone().into_immutable_string().ok().map(|text| text.to_string())
}
