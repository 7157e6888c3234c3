//! What is asked of the owner where the evidence does not decide: one question at a time, each with its samples.

use std::collections::BTreeSet;

use super::agreement::NOTHING;
use super::proposal::{heading, shown};
use super::whole_file::proving;
use super::{Certainty, ColumnRead, LeftOut, ReadAs, undated};
use crate::origin::SheetName;
use crate::settings::{DateOrder, Ticks};
use crate::sheets::AboutFile;
use crate::units::DistanceUnit;
use crate::yard::field::Shape;
use crate::yard::{Field, RecordKind, is_bare_sign};

/// One question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// What is asked, as a sentence.
    pub asked: String,
    /// What the answer is seen by, a line each: a column with three of its values.
    pub samples: Vec<String>,
    /// What can be answered.
    pub answers: Vec<Answer>,
    /// The answer that is usual and is taken where nobody is there to ask; `None` where none may be taken for granted.
    pub usual: Option<usize>,
}

/// One answer to a question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// It in words.
    pub said: String,
    /// What it settles.
    pub settles: Settles,
}

/// What an answer settles; each is a line of `tickover.toml`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Settles {
    /// What a row of the sheet is, or that the sheet is nothing.
    Rows(&'static str),
    /// What columns are, or that they are nothing: headers with the names of fields.
    Columns(Vec<(String, &'static str)>),
    /// How the sheet's dates of figures read.
    Dates(DateOrder),
    /// What bare signs such as x say of the sheet's checks.
    Ticks(Ticks),
    /// Whether checks of the sheet count that have no day.
    UndatedChecksCount(bool),
    /// What the shop's clocks count in where nothing else tells.
    ClockUnit(DistanceUnit),
    /// Whether the shop hands machines over.
    HandsOver(bool),
    /// That an agreed sheet goes by this name now.
    Renamed(SheetName),
    /// That a sheet is another one than the agreed one that is not there.
    Another,
}

impl Settles {
    /// The line or lines of `tickover.toml`, as a person would write them.
    pub fn lines(&self) -> Vec<String> {
        match self {
            Settles::Rows(rows) => vec![format!("rows = \"{rows}\"")],
            Settles::Columns(columns) => {
                columns.iter().map(|(header, field)| format!("\"{header}\" = \"{field}\"")).collect()
            }
            Settles::Dates(order) => vec![format!("dates = \"{}\"", order.written())],
            Settles::Ticks(ticks) => vec![format!("ticks = \"{}\"", ticks.written())],
            Settles::UndatedChecksCount(count) => vec![format!("undated_checks_count = {count}")],
            Settles::ClockUnit(DistanceUnit::Miles) => vec!["clock_unit = \"miles\"".to_owned()],
            Settles::HandsOver(hands_over) => vec![format!("hands_over = {hands_over}")],
            Settles::ClockUnit(DistanceUnit::Kilometres) => vec!["clock_unit = \"km\"".to_owned()],
            Settles::Renamed(name) => {
                let sheet = name.sheet.as_ref().map(|sheet| format!("sheet = {sheet:?}"));
                [format!("file = {:?}", name.file_name())].into_iter().chain(sheet).collect()
            }
            Settles::Another => vec!["a [[sheet]] of its own".to_owned()],
        }
    }
}

/// What is open of a sheet. While it is open what its rows are, nothing else is asked: the rest hangs on it.
pub fn questions(read_as: &ReadAs) -> Vec<Question> {
    if !read_as.may_be.is_empty() {
        return vec![of_rows(read_as)];
    }
    let likely = read_as.columns.iter().filter(|column| column.certainty == Certainty::Likely);
    let likely = likely.map(|column| of_likely(column, read_as));
    let left_out = read_as.left_out.iter().filter(|column| !column.may_be.is_empty());
    let mut questions: Vec<Question> = likely.chain(left_out.map(of_left_out)).collect();
    questions.extend(of_ticks(read_as));
    questions.extend(undated::question(read_as));
    questions.extend(of_dates(read_as));
    questions
}

/// What bare signs mean in the columns of checks, those among them that may be one; asked once for all.
fn of_ticks(read_as: &ReadAs) -> Option<Question> {
    let read = read_as.columns.iter().filter(|column| !column.unsaid_signs.is_empty());
    let mut samples: Vec<String> =
        read.clone().map(|column| sample(column.index, &column.header, &column.examples)).collect();
    let mut signs: BTreeSet<&str> =
        read.flat_map(|column| &column.unsaid_signs).map(String::as_str).collect();
    let is_result = |column: &&LeftOut| column.may_be.iter().any(|field| field.shape() == Shape::Result);
    for column in read_as.left_out.iter().filter(is_result).filter(|_| !read_as.ticks_are_agreed) {
        let of_column = column.examples.iter().map(|example| example.trim());
        let of_column: Vec<&str> = of_column.filter(|example| is_bare_sign(example)).collect();
        if !of_column.is_empty() {
            samples.push(sample(column.index, &column.header, &column.examples));
            signs.extend(of_column);
        }
    }
    let first = *signs.first()?;
    let named: Vec<String> = signs.iter().map(|sign| format!("`{sign}`")).collect();
    let named = named.join(" or ");
    let answer = |said: String, ticks| Answer { said, settles: Settles::Ticks(ticks) };
    let mut answers = vec![
        answer("it was done, and nothing was found".to_owned(), Ticks::Done),
        answer("it failed: something was found".to_owned(), Ticks::Failed),
    ];
    let is_x = |sign: &&str| sign.eq_ignore_ascii_case("x");
    if signs.iter().any(is_x) && !signs.iter().all(is_x) {
        answers.push(answer("an x: it failed; the others: it was done".to_owned(), Ticks::OnlyXFailed));
    }
    let which = if signs.len() == 1 { format!("a bare `{first}`") } else { format!("a bare {named}") };
    Some(Question { asked: format!("What does {which} say of a check here?"), samples, answers, usual: None })
}

fn of_rows(read_as: &ReadAs) -> Question {
    // Where it is one kind alone, the sheet is named after what is booked.
    let is_of_bookings = read_as.may_be.len() == 1;
    let mut answers: Vec<Answer> = read_as
        .may_be
        .iter()
        .map(|kind| Answer {
            said: match kind {
                RecordKind::Reading => "readings: what the clock showed on that day".to_owned(),
                RecordKind::Ride => "rides: how far a machine was ridden on that day".to_owned(),
                RecordKind::Machine => "machines: one row each, with whatever it says of them".to_owned(),
                RecordKind::Job if is_of_bookings => {
                    "jobs: what each says was done on its day, once that is past".to_owned()
                }
                RecordKind::Job => "jobs: a visit each, what was done to a machine, and when".to_owned(),
                RecordKind::Check => "checks: what was inspected, and how it came out".to_owned(),
                RecordKind::Fill => "fills: how much fuel, or which, went into a machine".to_owned(),
            },
            settles: Settles::Rows(kind.name()),
        })
        .collect();
    let (asked, nothing) = if is_of_bookings {
        (
            "This sheet is named after what is booked, and nothing in it says that its work was done. What are its rows?",
            "nothing for Tickover: what was only booked",
        )
    } else {
        ("What are the rows of this sheet?", "nothing for Tickover")
    };
    answers.push(Answer { said: nothing.to_owned(), settles: Settles::Rows(NOTHING) });
    Question {
        asked: asked.to_owned(),
        samples: read_as
            .left_out
            .iter()
            .map(|column| sample(column.index, &column.header, &column.examples))
            .collect(),
        answers,
        usual: None,
    }
}

/// A column that is likely something, alone or beside others that could be it as well.
fn of_likely(column: &ColumnRead, read_as: &ReadAs) -> Question {
    let (field, meant) = (column.field.name(), in_words(column.field));
    let rivals =
        column.rivals.iter().filter_map(|index| read_as.left_out.iter().find(|other| other.index == *index));
    // A header that stands twice can be agreed once: the first of that name is meant.
    let rivals: Vec<&LeftOut> = rivals.filter(|other| other.header != column.header).collect();
    let mut samples = vec![sample(column.index, &column.header, &column.examples)];
    samples.extend(rivals.iter().map(|other| sample(other.index, &other.header, &other.examples)));
    let headers: Vec<&String> =
        [&column.header].into_iter().chain(rivals.iter().map(|other| &other.header)).collect();
    let only = |chosen: Option<&String>| {
        let settled = headers
            .iter()
            .map(|header| ((*header).clone(), if Some(*header) == chosen { field } else { NOTHING }));
        Settles::Columns(settled.collect())
    };
    let is_alone = headers.len() == 1;
    let mut answers: Vec<Answer> = headers
        .iter()
        .map(|header| Answer {
            said: if is_alone { format!("yes, {meant}") } else { format!("`{header}`") },
            settles: only(Some(header)),
        })
        .collect();
    if let Some(other) = other_than(column, read_as) {
        let settles = Settles::Columns(vec![(column.header.clone(), other.name())]);
        answers.push(Answer { said: in_words(other), settles });
    }
    let said = if is_alone { "leave it out" } else { "none of them" };
    answers.push(Answer { said: said.to_owned(), settles: only(None) });
    Question {
        asked: if is_alone {
            format!("Is column `{}` {meant}? ({})", column.header, column.why)
        } else {
            format!("Which of these columns is {meant}?")
        },
        samples,
        answers,
        usual: None,
    }
}

/// The other field that a column of such a field may be by its header.
fn other_than(column: &ColumnRead, read_as: &ReadAs) -> Option<Field> {
    match column.field {
        Field::OilAsked => Some(Field::LastServiceOil),
        Field::By if read_as.kind == Some(RecordKind::Job) => Some(Field::Customer),
        Field::Customer if read_as.kind == Some(RecordKind::Job) => Some(Field::By),
        _ => None,
    }
}

/// A column that is left out because nothing tells which of its fields it is.
fn of_left_out(column: &LeftOut) -> Question {
    let settles = |field| Settles::Columns(vec![(column.header.clone(), field)]);
    let mut answers: Vec<Answer> = column
        .may_be
        .iter()
        .map(|field| Answer { said: in_words(*field), settles: settles(field.name()) })
        .collect();
    answers.push(Answer { said: "leave it out".to_owned(), settles: settles(NOTHING) });
    // What speaks for it stands behind a colon.
    let why = column.why.split_once(": ").map(|(_, why)| format!(" ({why})")).unwrap_or_default();
    Question {
        asked: format!("What is column `{}`?{why}", column.header),
        samples: vec![sample(column.index, &column.header, &column.examples)],
        answers,
        usual: None,
    }
}

/// A field as a person is asked about it.
fn in_words(field: Field) -> String {
    let words = match field {
        Field::Mark => "the registration mark",
        Field::StockNumber => "the stock number, which a machine keeps and no other one gets",
        Field::Registered => "the day of first registration",
        Field::Arrived => "the day it came to the shop",
        Field::Sold => "the day it was sold",
        Field::Handover => "the day it goes to the customer (handover)",
        Field::MotExpiry => "the day its MOT ends",
        Field::Clock => "what the clock showed",
        Field::ClockDay => "the day on which its clock was read",
        Field::LastServiceDay => "the day of its last service",
        Field::BrakeFluidDay => "the day on which its brake fluid was changed",
        Field::Telephone => "the customer's telephone number",
        Field::Day => "the day of the row",
        Field::Grade => "the fuel that went in",
        Field::By => "who did it",
        Field::Done => "what was done",
        Field::Outcome => "whether it was done, or the sale went through",
        Field::MotTested => "the day of its last MOT test",
        Field::CheckItem => "a check of the machine, and how it came out",
        Field::OilAsked => "the oil that it asks for",
        Field::LastServiceOil => "the oil that went in at the last service",
        Field::LastServiceDone => "what was done at its last service",
        other => return format!("the {}", other.name()),
    };
    words.to_owned()
}

/// The order of day and month, asked once for all columns that leave it open.
fn of_dates(read_as: &ReadAs) -> Option<Question> {
    let open: Vec<&ColumnRead> = read_as.columns.iter().filter(|column| column.undecided.is_some()).collect();
    let text = open.first()?.undecided.as_ref()?;
    let read = crate::yard::days::readings(text);
    let contrary = open.iter().find_map(|column| column.contrary.as_ref());
    let contrary = contrary.map(|text| {
        let first = match crate::yard::days::readings(text).proves() {
            Some(DateOrder::MonthFirst) => "month",
            _ => "day",
        };
        format!(" (`{text}` is a day only with the {first} first, or it was mistyped; nothing else tells)")
    });
    let answer = |order, day: Option<jiff::civil::Date>| {
        let day = day.map(|day| day.strftime("%-d %B %Y").to_string()).unwrap_or_default();
        let first = match order {
            DateOrder::DayFirst => "day",
            DateOrder::MonthFirst => "month",
        };
        Answer { said: format!("{day}: the {first} comes first"), settles: Settles::Dates(order) }
    };
    Some(Question {
        asked: format!("Which day is `{text}` in this sheet?{}", contrary.unwrap_or_default()),
        samples: open.iter().map(|column| sample(column.index, &column.header, &column.examples)).collect(),
        answers: vec![
            answer(DateOrder::DayFirst, read.day_first),
            answer(DateOrder::MonthFirst, read.month_first),
        ],
        usual: None,
    })
}

/// The question with what the dates of other sheets show beside each answer: one program may have written them all, but
/// nobody knows that of files that only lie in one folder.
pub fn as_elsewhere(question: &mut Question, others: impl FnOnce() -> AboutFile) {
    if !question.answers.iter().any(|answer| matches!(answer.settles, Settles::Dates(_))) {
        return;
    }
    let others = others();
    for answer in &mut question.answers {
        let Settles::Dates(order) = answer.settles else { continue };
        if let Some((cell, text)) = &proving(&others, order).first {
            let cell = format!("{}, cell {}", cell.name.without_folders(), cell.cell());
            answer.said = format!("{}, as in {cell}: {text}", answer.said);
        }
    }
}

/// What the shop's clocks count in, asked once for all sheets; `None` where everything says its unit, or a column says
/// it for each machine. Where the headers speak of mileage, miles are usual.
pub fn unit_question<'a>(sheets: impl IntoIterator<Item = (&'a SheetName, &'a ReadAs)>) -> Option<Question> {
    let mut samples = Vec::new();
    let mut is_told = false;
    let mut all_are_mileage = true;
    for (name, read_as) in sheets {
        is_told |= read_as.columns.iter().any(|column| column.field == Field::ClockUnit);
        for column in read_as.columns.iter().filter(|column| column.unit_is_open) {
            all_are_mileage &= column.header.to_lowercase().contains("mileage");
            let file = name.file_name();
            samples.push(format!("{file}: {}", sample(column.index, &column.header, &column.examples)));
        }
    }
    let answer = |said: &str, unit| Answer { said: said.to_owned(), settles: Settles::ClockUnit(unit) };
    (!is_told && !samples.is_empty()).then(|| Question {
        asked: "What do the clocks of your machines count in, where nothing beside a figure says it?"
            .to_owned(),
        samples,
        answers: vec![answer("miles", DistanceUnit::Miles), answer("km", DistanceUnit::Kilometres)],
        usual: all_are_mileage.then_some(0),
    })
}

/// Whether machines are handed over at all, asked once of the sheets of machines where none of them tells when.
pub fn handover_question<'a>(
    sheets: impl IntoIterator<Item = (&'a SheetName, &'a ReadAs)>,
) -> Option<Question> {
    let headers = |read_as: &ReadAs| {
        read_as.columns.iter().map(|column| column.header.clone()).collect::<Vec<_>>().join(", ")
    };
    let samples: Vec<String> = sheets
        .into_iter()
        .map(|(name, read_as)| format!("{}: {}", name.without_folders(), headers(read_as)))
        .collect();
    let answer =
        |said: &str, hands_over| Answer { said: said.to_owned(), settles: Settles::HandsOver(hands_over) };
    (!samples.is_empty()).then(|| Question {
        asked: "Does the shop hand machines over to their owners? No column tells when, so nothing is said of the checks \
                before a handover."
            .to_owned(),
        samples,
        answers: vec![
            answer("yes: the day will stand in a column `Handover`", true),
            answer("no, it only services", false),
        ],
        usual: None,
    })
}

/// A column with three of its values: `B Miles: 12, 14, 9`.
fn sample(index: usize, header: &str, examples: &[String]) -> String {
    format!("{}: {}", heading(index, header), shown(examples))
}
