//! The words of a rule beside its facts: what it can answer, ask and write.

use std::str::FromStr;

use jiff::civil::Date;
use rhai::{Dynamic, Engine, ImmutableString};

use super::answer;
use super::examples;
use super::machine_in_hand::{self, Thing, missing};
use super::quantity::{self, Given, misuse};
use super::sort_of_value::{Kind, Sort};
use crate::reckon::{DueWindow, Missing, Service};
use crate::settings::same_words;
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
        "machine.has_done(\"first service\")", "whether that item was ever done",
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
        misuse(format!("\"{text}\" is not a day"), "write year, month and day in quotes: \"2026-03-02\"")
    })
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
        .register_fn("service", |thing: &mut Thing, item: ImmutableString| service(thing, &item))
        .register_fn("has_done", |thing: &mut Thing, item: ImmutableString| -> Given<bool> {
            Ok(service(thing, &item)?.service().last_done.is_some())
        })
        .register_fn("likely_within", |thing: &mut Thing, days: Days| {
            falls_due_within(thing, days, |window| window.likeliest)
        })
        .register_fn("perhaps_within", |thing: &mut Thing, days: Days| {
            falls_due_within(thing, days, |window| window.earliest)
        });
}

/// Whether a day of the time in which a service falls due is at most so many days ahead.
fn falls_due_within(thing: &Thing, days: Days, day: impl Fn(&DueWindow) -> Date) -> Given<bool> {
    if thing.kind != Kind::Service {
        return misuse("only a service falls due", "ask it of `machine.service(\"...\")`");
    }
    let window = match &thing.service().falls_due {
        Ok(window) => window,
        Err(lacking) => return missing(lacking.clone()),
    };
    thing.subject.note(&window.shown_by);
    Ok(days.after(thing.standing().today).is_none_or(|limit| day(&window.value) <= limit))
}

/// The item of the machine's plan with that name, whatever its capitals and punctuation.
fn service(thing: &Thing, item: &str) -> Given<Thing> {
    if thing.kind != Kind::Machine {
        return misuse("only a machine has a service plan", "ask it of `machine`");
    }
    let services = match &thing.standing().services {
        Ok(services) => services,
        Err(lacking) => return missing(lacking.clone()),
    };
    let same = |service: &Service| same_words(&service.item, item);
    let Some(place) = services.iter().position(same) else {
        return missing(Missing::fact(&format!("`{item}` in the service plan")));
    };
    let found = Thing { subject: thing.subject.clone(), kind: Kind::Service, place };
    found.subject.note(found.shown_by());
    Ok(found)
}

/// The value of a constant that must be a text.
pub(super) fn text_of(value: &Dynamic) -> Option<String> {
    value.clone().into_immutable_string().ok().map(|text| text.to_string())
}
