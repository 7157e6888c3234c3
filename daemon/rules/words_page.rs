//! The reference of every word that a rule can use, made from what registers them, each with an example that is run.

use std::fmt::Write;

use rhai::{Dynamic, Scope};

use super::answer::Answer;
use super::example_keys::{Key, Shape, YARD};
use super::examples::{self, Example};
use super::facts::{self, Fact};
use super::frame::{self, FRAME, SMALL_RULE};
use super::glossary::GLOSSARY;
use super::machine_in_hand::{Subject, Thing};
use super::quantity::{self, words_of};
use super::reference::{WORDS, Word};
use super::sandbox::SANDBOX;
use super::sort_of_value::{Kind, Sort};
use super::time_allowed::in_time;
use super::value::Value;
use crate::findings::Verdict;
use crate::units::shown_day;

/// The machines that examples are run on: a new one with its customer, one of some years, one in the shop, one whose first
/// service nobody recorded, and a yard. A fact's example is of the first of them that has it.
const EXAMPLES_OF: [&str; 5] = [
    r#"#{
    today: "2026-03-02", mark: "AB75 CDE", frame_no: "ZZ9AA000X00000001", stock_no: "S41",
    make: "Marlow", model: "Spruce 125", kind: "motorcycle", engine_cc: 125, clock_unit: "miles",
    built: "2025-09-01", arrived: "2025-11-17", registered: "2025-12-30", sold: "2025-12-28", handover: "2026-01-05",
    customer: "K. Lane", telephone: "07700 900123", fuel_allowed: "E5", oil_asked: "10W-40 MA2",
    mot_expiry: "2028-12-29", warranty_end: "2028-01-04", note: "collects at four",
    clock: 412.miles, clock_day: "2026-02-28",
    readings: [["2026-01-05", 3.miles], ["2026-01-26", 160.miles], ["2026-02-02", 16.miles], ["2026-02-09", 270.miles]],
    jobs: [#{ day: "2026-02-10", done: "oil", clock: 280.miles, oil: "10W-40 MB", by: "Ann" }],
    checks: [#{ day: "2026-01-04", item: "torque re-check", result: "passed", by: "Ben" }],
    rides: [#{ day: "2026-01-02", distance: 5.miles, top_speed: 46.mph, source: "speedometer", clock: 3.miles, by: "Ann" }],
    fills: [#{ day: "2026-02-20", grade: "E10", litres: 6.litres, clock: 360.miles, full: true }],
}"#,
    r#"#{
    today: "2026-03-02", handover: "2024-03-04", mark: "AB21 CDG",
    jobs: [#{ day: "2025-03-10", done: "annual service", clock: 2_950.miles }],
    fills: [
        #{ day: "2025-07-01", grade: "E5", litres: 5.litres, clock: 4_000.miles, full: true },
        #{ day: "2025-08-01", grade: "E5", litres: 5.litres, clock: 4_110.miles, full: true },
        #{ day: "2025-09-01", grade: "E5", litres: 5.litres, clock: 4_222.miles, full: true },
        #{ day: "2025-10-01", grade: "E5", litres: 5.litres, clock: 4_331.miles, full: true },
        #{ day: "2025-11-01", grade: "E5", litres: 5.litres, clock: 4_440.miles, full: true },
        #{ day: "2025-12-01", grade: "E5", litres: 5.litres, clock: 4_551.miles, full: true },
        #{ day: "2026-01-01", grade: "E5", litres: 5.litres, clock: 4_661.miles, full: true },
        #{ day: "2026-02-01", grade: "E5", litres: 5.litres, clock: 4_773.miles, full: true },
    ],
}"#,
    r#"#{ today: "2026-03-02", stock_no: "S52", arrived: "2026-02-16", mot_exempt: "exempt" }"#,
    r#"#{
    today: "2026-03-02", mark: "AB25 CDF", handover: "2025-02-03", mot_expiry: "2026-02-20",
    jobs: [#{ day: "2026-01-20", done: "annual service", clock: 3_010.miles }, #{ day: "2026-02-24", done: "MOT" }],
}"#,
    r#"#{
    today: "2026-03-02",
    machines: [#{ mark: "AB75 CDE", model: "Spruce 125", checks: [#{ day: "2026-02-20", item: "chain", result: "failed", by: "Ann" }] }],
    gone: [#{ name: "AB20 CDF", last_named: "2026-02-27", open: 2 }],
    sheets: [#{ name: "sheets/mileages.csv", renewed: "2026-02-26" }],
}"#,
];

/// The signs and small words between values, each with what it does and an example.
const SIGNS: [(&str, &str, &str); 12] = [
    ("and, or, not", "join yes and no", "not machine.has.handover or machine.handover <= machine.today"),
    (
        "==, !=",
        "the same, or not; of texts whatever their capitals and blanks: `AB75 CDE` is `ab75cde`",
        "machine.make == \"marlow\"",
    ),
    ("<, <=, >, >=", "compare two of a sort", "machine.clock >= 400.miles"),
    ("+, -", "add and take away: distances, days to a day, months to a day", "machine.handover + 3.months"),
    ("*", "so many times", "2 * 14.days"),
    ("??", "a fallback for a fact that may be missing", "machine.maybe.stage_top_speed ?? 70.mph"),
    ("has", "whether a fact is known", "machine.has.mot_expiry"),
    ("maybe", "a fact that may be missing; `??` must follow", "machine.maybe.customer ?? \"the customer\""),
    (
        "`${...}`",
        "a value in a text, which then stands in backticks",
        "`${machine.clock} on ${machine.clock_day}`",
    ),
    ("let", "gives a value a name of your own", "let due = machine.handover + 3.months; due"),
    (
        "if, else",
        "one thing or another",
        "if machine.today > machine.handover { \"late\" } else { \"in time\" }",
    ),
    ("return", "ends the function with its answer", "return clear();"),
];

/// One word of the reference.
struct Row {
    word: String,
    is: String,
    unit: &'static str,
    says: String,
    /// How it is written in a rule, and what that gives; the second is empty only where it gives nothing.
    example: (String, String),
}

/// One part of the reference.
struct Part {
    heading: String,
    rows: Vec<Row>,
}

/// What examples are run on.
struct Examples {
    whole: Vec<Thing>,
}

impl Examples {
    fn new() -> Examples {
        let whole = EXAMPLES_OF.map(|facts| {
            let example: Option<Example> = SANDBOX.reader.eval(&format!("given(\"\", {facts})")).ok();
            example.map(|example| Subject::new(example.about).in_hand())
        });
        Examples { whole: whole.into_iter().flatten().collect() }
    }

    /// What an expression gives, with a thing under its kind's name, and its machine or yard beside it.
    fn run(expression: &str, thing: &Thing, whole: &Thing) -> Option<Dynamic> {
        let mut scope = Scope::new();
        scope.push_constant(whole.kind.word(), whole.clone());
        if thing.kind != whole.kind {
            scope.push_constant(thing.kind.word(), thing.clone());
        }
        in_time(|| SANDBOX.reader.eval_with_scope::<Dynamic>(&mut scope, expression)).ok()
    }

    /// The things of a kind, each with its machine or yard.
    fn of(&self, kind: Kind) -> Vec<(Thing, Thing)> {
        let lists = facts::all().filter(|fact| fact.is == Sort::List(kind));
        let listed = lists.flat_map(|list| {
            let of_list = self.whole.iter().filter(move |whole| whole.kind == list.of);
            of_list.filter_map(move |whole| Some((whole, (list.get)(whole.part(), list.trade).ok()?.value)))
        });
        let things = listed.flat_map(|(whole, list)| {
            let Value::List(kind, places) = list else { return Vec::new() };
            let thing = |place| (whole.subject.thing(kind, place), whole.clone());
            places.into_iter().map(thing).collect::<Vec<_>>()
        });
        let whole = self.whole.iter().filter(|whole| whole.kind == kind);
        whole.map(|whole| (whole.clone(), whole.clone())).chain(things).collect()
    }

    /// What an expression gives of the first thing of a kind that has an answer.
    fn first(&self, kind: Kind, expression: &str) -> String {
        let results =
            self.of(kind).into_iter().filter_map(|(thing, whole)| Examples::run(expression, &thing, &whole));
        results.map(|result| shown(&result)).next().unwrap_or_default()
    }
}

/// What an example gave, in words.
fn shown(value: &Dynamic) -> String {
    if let Some(answer) = value.read_lock::<Answer>() {
        return match Verdict::from(answer.clone()) {
            Verdict::Raised(raised) => {
                let by = raised.due.map(|day| format!(", by {}", shown_day(day))).unwrap_or_default();
                let at_once = if raised.at_once { ", first of all" } else { "" };
                let likely = raised
                    .due_range
                    .map(|(from, to)| format!(", likely between {} and {}", shown_day(from), shown_day(to)));
                let heading = raised.section.heading();
                format!("{heading}{at_once}{by}{}: {}", likely.unwrap_or_default(), raised.text)
            }
            Verdict::Clear => "nothing to do".to_owned(),
            Verdict::TooLongAgo => "too long ago".to_owned(),
            Verdict::CannotTell { missing } => format!("cannot tell: {}", missing.join(", ")),
        };
    }
    if let Some(example) = value.read_lock::<Example>() {
        let expects = if example.expected.is_empty() {
            String::new()
        } else {
            format!(" that expects \"{}\"", example.expected)
        };
        return format!("an example{expects}");
    }
    match value.as_array_ref() {
        Ok(list) => format!("a list of {}", list.len()),
        Err(_) => {
            words_of(value).trim_start_matches("the text ").trim_start_matches("the plain number ").to_owned()
        }
    }
}

/// The unit, or units, in which a sort is written.
fn unit(sort: Sort) -> &'static str {
    match sort {
        Sort::Distance => "miles, km",
        Sort::Speed => "mph, kmh",
        Sort::Volume => "litres",
        Sort::Days => "days, weeks",
        Sort::Months => "months, years",
        _ => "",
    }
}

fn fact(fact: &Fact, examples: &Examples) -> Row {
    let written = format!("{}.{}", fact.of.word(), fact.name);
    Row {
        is: fact.is.words(),
        unit: unit(fact.is),
        says: fact.says.to_owned(),
        example: (written.clone(), examples.first(fact.of, &written)),
        word: written,
    }
}

fn word(word: &Word, examples: &Examples) -> Row {
    let kind = match word.on {
        Some(Sort::Thing(kind)) => kind,
        _ => Kind::Machine,
    };
    Row {
        word: word.written.to_owned(),
        is: word.gives.words(),
        unit: unit(word.gives),
        says: word.says.to_owned(),
        example: (word.example.to_owned(), examples.first(kind, word.example)),
    }
}

fn plain_row(word: &str, sort: Option<Sort>, says: &str, example: &str, examples: &Examples) -> Row {
    Row {
        word: word.to_owned(),
        is: sort.map(Sort::words).unwrap_or_default(),
        unit: sort.map(unit).unwrap_or_default(),
        says: says.to_owned(),
        example: (example.to_owned(), examples.first(Kind::Machine, example)),
    }
}

fn key(key: &Key) -> Row {
    let sort = match key.shape {
        Shape::One(sort) => sort,
        Shape::Pairs | Shape::Rows(_) => Sort::Rows,
    };
    let example = EXAMPLES_OF.iter().find_map(|facts| value_in(facts, key.name)).unwrap_or_default();
    Row {
        word: key.name.to_owned(),
        is: sort.words(),
        unit: unit(sort),
        says: key.says.to_owned(),
        example: (format!("{}: {example}", key.name), String::new()),
    }
}

/// A key's value as the examples above have it; only the first of a list.
fn value_in(facts: &str, name: &str) -> Option<String> {
    let at = facts.find(&format!("{name}: "))? + name.len() + 2;
    let mut depth = 0;
    let mut quoted = false;
    let end = facts[at..].char_indices().find(|(_, letter)| {
        match letter {
            '"' => quoted = !quoted,
            '[' | '{' if !quoted => depth += 1,
            ']' | '}' if !quoted => depth -= 1,
            _ => {}
        }
        (*letter == ',' && depth == 0 && !quoted) || depth < 0
    });
    let value = facts[at..].get(..end.map_or(facts.len() - at, |(end, _)| end))?;
    let value = value.split_whitespace().collect::<Vec<_>>().join(" ");
    Some(match value.split_once(" }, ").filter(|_| value.starts_with("[#{")) {
        Some((first, _)) => format!("{first} }}, ...]"),
        None => value,
    })
}

/// All words, part by part.
fn parts() -> Vec<Part> {
    let examples = Examples::new();
    let frame = FRAME.iter().map(|part| Row {
        word: part.written.to_owned(),
        is: part.is.to_owned(),
        unit: "",
        says: part.says.to_owned(),
        example: (frame::in_the_small_rule(part), String::new()),
    });
    let mut parts = vec![Part { heading: THE_FRAME.to_owned(), rows: frame.collect() }];
    for kind in Kind::ALL {
        let rows =
            facts::all().filter(|known| known.of == kind).map(|known| fact(known, &examples)).collect();
        parts.push(Part { heading: format!("Facts of {}", kind.with_article()), rows });
    }
    let rows = WORDS.iter().map(|known| word(known, &examples)).collect();
    parts.push(Part { heading: "Answers, questions and days".to_owned(), rows });
    let units = quantity::UNITS.iter().map(|(unit, sort)| {
        plain_row(
            &format!(".{unit}"),
            Some(*sort),
            "after a number and a dot",
            &format!("2.{unit}"),
            &examples,
        )
    });
    parts.push(Part { heading: "Units".to_owned(), rows: units.collect() });
    let signs = SIGNS.iter().map(|(sign, says, example)| plain_row(sign, None, says, example, &examples));
    parts.push(Part { heading: "Between them".to_owned(), rows: signs.collect() });
    parts.push(Part {
        heading: "What an example machine can be given".to_owned(),
        rows: examples::keys().map(key).collect(),
    });
    parts.push(Part {
        heading: "What an example yard can be given".to_owned(),
        rows: YARD.iter().map(key).collect(),
    });
    parts
}

/// What a missing fact does, for both forms of the reference.
const MISSING: &str = "Where a fact is not known, the rule cannot tell, unless it asks first (`machine.has.handover`) \
                       or gives a fallback (`machine.maybe.customer ?? \"the customer\"`).";

/// The heading of the parts of a rule file, whose examples are lines of the small rule.
const THE_FRAME: &str = "What a rule file holds";

/// The heading of the words that no fact explains.
const IN_PLAIN_WORDS: &str = "Words of the trade, and signs";

/// The reference as plain text, for the terminal.
pub fn words() -> String {
    let mut text = format!("What a rule can say.\n{MISSING}\n");
    for Part { heading, rows } in parts() {
        let _ = writeln!(text, "\n{heading}:");
        for Row { word, is, unit, says, example: (written, gives) } in rows {
            let unit = if unit.is_empty() { String::new() } else { format!(" ({unit})") };
            let is = if is.is_empty() { String::new() } else { format!("{is}{unit}: ") };
            let example = if gives.is_empty() { written } else { format!("{written} -> {gives}") };
            let _ = writeln!(text, "  {word:<30} {is}{says}\n  {:<30}   {example}", "");
        }
    }
    let _ = writeln!(text, "\nWhat an example can expect: {}.", examples::OUTCOMES.join(", "));
    let _ = writeln!(text, "\n{IN_PLAIN_WORDS}:");
    for (word, says) in GLOSSARY {
        let _ = writeln!(text, "  {word:<30} {says}");
    }
    text
}

/// The reference as a page of the repository.
pub fn words_page() -> String {
    let mut page = format!(
        "# The words of a rule\n\nMade from the program by its tests; each example was run, and `->` shows what it gives. \
         `tickover rules words` prints the same.\n\n{MISSING} A rule looks at one machine after another with `fn \
         judge(machine)`, at the things that `fn each(machine)` lists with `fn judge(machine, ride)`, and at the whole yard \
         with `fn judge(yard)`. A whole rule:\n\n```rhai\n{SMALL_RULE}```\n"
    );
    for Part { heading, rows } in parts() {
        let _ = write!(
            page,
            "\n## {heading}\n\n| word | is | unit | meaning | example |\n|---|---|---|---|---|\n"
        );
        for Row { word, is, unit, says, example: (written, gives) } in rows {
            let word = if word.contains('`') { format!("`` {word} ``") } else { format!("`{word}`") };
            let written =
                if written.contains('`') { format!("`` {written} ``") } else { format!("`{written}`") };
            let gives = if gives.is_empty() { String::new() } else { format!(" -> {gives}") };
            let cells = [word, is, unit.to_owned(), says, format!("{written}{gives}")];
            let cells: Vec<String> = cells.iter().map(|cell| cell.replace('|', "\\|")).collect();
            let _ = writeln!(page, "| {} |", cells.join(" | "));
        }
    }
    let outcomes: Vec<String> = examples::OUTCOMES.iter().map(|outcome| format!("`{outcome}`")).collect();
    let _ = writeln!(page, "\nWhat an example can expect: {}.", outcomes.join(", "));
    let _ = write!(page, "\n## {IN_PLAIN_WORDS}\n\n| word | means |\n|---|---|\n");
    for (word, says) in GLOSSARY {
        let _ = writeln!(page, "| `{word}` | {says} |");
    }
    page
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_has_its_meaning_and_an_example_that_gives_something() {
        let mut lacking = Vec::new();
        for Part { heading, rows } in parts() {
            let is_of_keys = heading.starts_with("What an example") || heading == THE_FRAME;
            for Row { word, says, example: (written, gives), .. } in rows {
                if says.is_empty() || written.ends_with(": ") || (gives.is_empty() && !is_of_keys) {
                    lacking.push(format!("{heading}: {word}: `{written}` gives `{gives}`"));
                }
            }
        }
        assert_eq!(lacking, [] as [&str; 0]);
    }

    #[test]
    fn the_machines_that_examples_are_run_on_are_read_whole() {
        assert_eq!(Examples::new().whole.len(), EXAMPLES_OF.len());
    }
}
