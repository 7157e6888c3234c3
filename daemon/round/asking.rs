//! What `setup` asks of one sheet, question by question, and what the answers make of it.

use std::collections::VecDeque;

use crate::problem::Place;
use crate::settings::{self, AgreedColumn, AgreedSheet, Settings, SheetNotes, Under};
use crate::sheets::Table;
use crate::yard::{self, Certainty, Field, Question, ReadAs, Settles};

/// What an answer writes behind a key.
#[derive(Clone, Copy)]
enum Written<'a> {
    /// The field of a column, by its header.
    OfColumn(&'a str),
    /// A word about the sheet.
    OfSheet(&'a str),
    /// Whether something is so of the sheet.
    YesOrNo(bool),
}

/// A sheet that was looked at, with what was answered of it.
#[derive(Debug)]
pub(super) struct SheetAsked {
    pub(super) table: Table,
    pub(super) read_as: ReadAs,
    /// What the settings say of it already.
    known: Option<AgreedSheet>,
    /// What is still to be asked.
    waiting: VecDeque<Question>,
    /// What was asked and left for later.
    pub(super) later: Vec<Question>,
    answers: Vec<Settles>,
    /// The agreement as it stands in the settings, where this sheet had another name then.
    was: Option<AgreedSheet>,
    /// Whether it is open if this is an agreed sheet under another name, so that nothing is written of it.
    is_held: bool,
}

impl SheetAsked {
    pub(super) fn of(table: Table, read_as: ReadAs, known: Option<AgreedSheet>) -> SheetAsked {
        let mut waiting: VecDeque<Question> = yard::questions(&read_as).into();
        // What is there for the other worksheets' sake is mostly nothing of ours.
        let is_aside =
            read_as.kind.is_none() && !read_as.may_name_a_machine() && yard::is_an_aside(&table.name);
        for question in waiting.iter_mut().filter(|_| is_aside) {
            let is_nothing = |answer: &yard::Answer| matches!(answer.settles, Settles::Rows(NOTHING));
            question.usual = question.answers.iter().position(is_nothing);
        }
        SheetAsked {
            table,
            read_as,
            known,
            waiting,
            later: Vec::new(),
            answers: Vec::new(),
            was: None,
            is_held: false,
        }
    }

    /// Whether the settings know it already.
    pub(super) fn is_known(&self) -> bool {
        self.known.is_some()
    }

    /// Whether it is left open if it is one that the settings know.
    pub(super) fn is_held(&self) -> bool {
        self.is_held
    }

    /// Its columns with their values, as much as a question shows.
    pub(super) fn samples(&self) -> Vec<String> {
        /// A few columns show which sheet it is.
        const SHOWN: usize = 3;
        let shown = self.read_as.columns.iter().take(SHOWN);
        shown.map(|column| format!("{}: {}", column.header, column.examples.join(", "))).collect()
    }

    /// Takes the answer whether it is an agreed sheet under another name, or that it is left for later.
    pub(super) fn take_name(
        &mut self,
        question: Question,
        answer: Option<usize>,
        agreed: &AgreedSheet,
        settings: &Settings,
    ) {
        match answer.and_then(|answer| question.answers.get(answer)).map(|answer| &answer.settles) {
            Some(Settles::Renamed(name)) => {
                let text_form = crate::settings::TextForm::default();
                let known = AgreedSheet {
                    file: name.file_name().to_owned(),
                    sheet: name.sheet.clone(),
                    text_form,
                    ..agreed.clone()
                };
                self.read_as = yard::recognise(&self.table, Some(&known), settings.date_order);
                self.waiting = yard::questions(&self.read_as).into();
                self.was = Some(agreed.clone());
                self.known = Some(known);
            }
            Some(_) => {}
            None => {
                self.is_held = true;
                self.waiting.clear();
                self.later.push(question);
            }
        }
    }

    /// Whether another sheet has the same columns in the same file, or in one of another year by its name: a tab or a file
    /// for each year. What is answered of the one is meant of the other.
    pub(super) fn is_of_the_same_columns(&self, other: &SheetAsked) -> bool {
        let bare = |sheet: &SheetAsked| {
            let letters = sheet.table.name.file_name().chars().filter(|letter| !letter.is_ascii_digit());
            letters.collect::<String>()
        };
        let headers = |sheet: &SheetAsked| {
            let row = sheet.table.row(sheet.read_as.header_row?);
            Some(row.cells().map(|cell| cell.shown().trim().to_lowercase()).collect::<Vec<_>>())
        };
        bare(self) == bare(other) && headers(self).is_some() && headers(self) == headers(other)
    }

    /// Whether the same question waits, of which the same answers are free.
    pub(super) fn awaits(&self, question: &Question) -> bool {
        self.place_of(question).is_some()
    }

    fn place_of(&self, question: &Question) -> Option<usize> {
        let settles = |question: &Question| {
            let free = question.answers.iter().map(|answer| &answer.settles);
            free.filter(|settles| self.is_free(settles)).cloned().collect::<Vec<_>>()
        };
        let asked = settles(question);
        self.waiting
            .iter()
            .position(|waiting| asked.len() == question.answers.len() && settles(waiting) == asked)
    }

    /// Takes the answer that was given to the same question of a sheet of the same columns.
    pub(super) fn take_as_well(&mut self, question: &Question, answer: Option<usize>, settings: &Settings) {
        let Some(place) = self.place_of(question) else { return };
        let Some(mut own) = self.waiting.remove(place) else { return };
        own.answers.retain(|answer| self.is_free(&answer.settles));
        self.take(own, answer, settings);
    }

    /// Whether the same question was left for later.
    pub(super) fn has_left(&self, question: &Question) -> bool {
        let settles = |question: &Question| {
            question.answers.iter().map(|answer| answer.settles.clone()).collect::<Vec<_>>()
        };
        self.later.iter().any(|later| settles(later) == settles(question))
    }

    /// How a person calls the sheet.
    pub(super) fn name(&self) -> String {
        self.table.name.without_folders()
    }

    /// The name of its worksheet, or of its file where it has none.
    pub(super) fn short_name(&self) -> String {
        self.table.name.sheet.clone().unwrap_or_else(|| self.name())
    }

    /// The next question, with the answers that are still free; `None` where nothing is open any more.
    pub(super) fn next(&mut self) -> Option<Question> {
        while let Some(mut question) = self.waiting.pop_front() {
            question.answers.retain(|answer| self.is_free(&answer.settles));
            if question.answers.len() > 1 {
                return Some(question);
            }
        }
        None
    }

    /// Takes the answer to the question, or that it is left for later.
    pub(super) fn take(&mut self, question: Question, answer: Option<usize>, settings: &Settings) {
        let Some(answer) = answer.and_then(|answer| question.answers.get(answer)) else {
            self.later.push(question);
            return;
        };
        let settles = answer.settles.clone();
        if let Settles::Rows(rows) = settles {
            let agreed = AgreedSheet { rows: rows.to_owned(), ..self.bare() };
            self.read_as = yard::recognise(&self.table, Some(&agreed), settings.date_order);
            self.waiting = yard::questions(&self.read_as).into();
        }
        self.answers.push(settles);
    }

    /// Whether an answer gives a column no field that another one has.
    fn is_free(&self, settles: &Settles) -> bool {
        let Settles::Columns(columns) = settles else { return true };
        let sure = self.read_as.columns.iter().filter(|column| column.certainty != Certainty::Likely);
        let sure = sure.map(|column| (column.header.as_str(), column.field.name()));
        let answered = self.answers.iter().flat_map(|answer| match answer {
            Settles::Columns(columns) => columns.as_slice(),
            _ => &[],
        });
        let taken: Vec<(&str, &str)> =
            sure.chain(answered.map(|(header, field)| (header.as_str(), *field))).collect();
        columns.iter().all(|(header, field)| {
            *field == NOTHING
                || Field::ALL.iter().any(|many| many.name() == *field && many.may_have_many_columns())
                || !taken.iter().any(|(other, taken)| taken == field && other != header)
        })
    }

    /// An agreement that says which sheet is meant, and nothing of it.
    fn bare(&self) -> AgreedSheet {
        AgreedSheet { columns: Vec::new(), ..yard::agreed(&self.table, &ReadAs::default()) }
    }

    /// A new sheet as it stands in the settings, with what was answered, what was left out, and what a column can be.
    /// Where it is open what its rows are, all of it stands behind `#`.
    pub(super) fn block(&self) -> String {
        if let [first, others @ ..] = &self.read_as.may_be[..] {
            let agreed = AgreedSheet { rows: first.name().to_owned(), ..self.bare() };
            let mut others: Vec<String> =
                others.iter().map(|kind| format!("or rows = \"{}\"", kind.name())).collect();
            if others.is_empty() {
                // What is booked may be nothing at all.
                others.push(format!("or rows = \"{NOTHING}\""));
            }
            let open =
                vec![format!("{}: nothing tells which. Take the # away once you know.", others.join(", "))];
            return settings::behind_a_mark(&settings::render_sheet(
                &agreed,
                &SheetNotes { open, ..SheetNotes::default() },
            ));
        }
        let mut agreed = yard::agreed(&self.table, &self.read_as);
        let mut left_out = yard::not_agreed(&self.read_as);
        let mut open = yard::open_lines(&self.read_as);
        for settles in &self.answers {
            match settles {
                Settles::Rows(rows) => (*rows).clone_into(&mut agreed.rows),
                Settles::Dates(order) => {
                    agreed.date_order = Some(*order);
                    open.retain(|line| !line.starts_with("dates"));
                }
                Settles::Ticks(ticks) => {
                    agreed.ticks = Some(*ticks);
                    open.retain(|line| !line.starts_with("ticks"));
                }
                Settles::UndatedChecksCount(count) => {
                    agreed.undated_checks_count = Some(*count);
                    open.retain(|line| !line.starts_with("undated"));
                }
                Settles::Columns(columns) => {
                    for (header, field) in columns {
                        left_out.retain(|(other, ..)| other != header);
                        agreed.columns.retain(|column| column.header != *header);
                        let place = Place::file("tickover.toml");
                        agreed.columns.push(AgreedColumn::plain(place, header, field));
                    }
                }
                Settles::ClockUnit(_) | Settles::HandsOver(_) | Settles::Renamed(_) | Settles::Another => {}
            }
        }
        let fields = self.read_as.kind.map(|kind| Field::of(kind).map(|field| field.name()).collect());
        let notes = SheetNotes { open, fields: fields.unwrap_or_default(), left_out };
        settings::render_sheet(&agreed, &notes)
    }

    /// The owner's settings with the answers to what was open of a sheet that they know. An answer that cannot be
    /// written is given back as the line that the owner writes himself.
    pub(super) fn amend(&self, mut text: String, by_hand: &mut Vec<String>) -> String {
        let Some(known) = &self.known else { return text };
        if let Some(was) = &self.was {
            let changed = agreed_again(&text, was)
                .map(|sheet| settings::with_sheet_named(&text, &sheet, &self.table.name));
            match changed.filter(|changed| agreed_again(changed, known).is_some()) {
                Some(changed) => text = changed,
                None => {
                    let lines = Settles::Renamed(crate::origin::SheetName::clone(&self.table.name)).lines();
                    by_hand.push(format!("{}: {}", was.file, lines.join(", ")));
                    return text;
                }
            }
        }
        let mut write = |key: &str, value: Written<'_>| {
            let changed = agreed_again(&text, known).map(|sheet| match value {
                Written::OfColumn(field) => settings::with_value(&text, Under::Columns(&sheet), key, field),
                Written::OfSheet(word) => settings::with_value(&text, Under::Sheet(&sheet), key, word),
                Written::YesOrNo(is_so) => settings::with_yes_or_no(&text, Under::Sheet(&sheet), key, is_so),
            });
            let has_it = |changed: &String| {
                agreed_again(changed, known).is_some_and(|sheet| match (value, key) {
                    (Written::OfColumn(field), _) => {
                        sheet.columns.iter().any(|column| column.header == key && column.field == field)
                    }
                    (Written::YesOrNo(_), _) => sheet.undated_checks_count.is_some(),
                    (Written::OfSheet(_), "ticks") => sheet.ticks.is_some(),
                    (Written::OfSheet(_), _) => sheet.date_order.is_some(),
                })
            };
            match (changed.filter(has_it), value) {
                (Some(changed), _) => text = changed,
                (None, Written::YesOrNo(is_so)) => by_hand.push(format!("{}: {key} = {is_so}", self.name())),
                (None, Written::OfColumn(word) | Written::OfSheet(word)) => {
                    by_hand.push(format!("{}: {key} = \"{word}\"", self.name()));
                }
            }
        };
        for settles in &self.answers {
            match settles {
                Settles::UndatedChecksCount(count) => {
                    write("undated_checks_count", Written::YesOrNo(*count));
                }
                Settles::Dates(order) => write("dates", Written::OfSheet(order.written())),
                Settles::Ticks(ticks) => write("ticks", Written::OfSheet(ticks.written())),
                Settles::Columns(columns) => {
                    columns.iter().for_each(|(header, field)| write(header, Written::OfColumn(field)));
                }
                Settles::Rows(_)
                | Settles::ClockUnit(_)
                | Settles::HandsOver(_)
                | Settles::Renamed(_)
                | Settles::Another => {}
            }
        }
        text
    }

    /// Whether no column of it is the day of the handover, as far as that was answered: a column that was said to be anything
    /// else is none.
    pub(super) fn tells_no_handover(&self) -> bool {
        let answered = || {
            let columns = self.answers.iter().filter_map(|answer| match answer {
                Settles::Columns(columns) => Some(columns),
                _ => None,
            });
            columns.flatten()
        };
        let is_handover = |field: &str| field == Field::Handover.name();
        let is_another = |header: &String| answered().any(|(of, field)| of == header && !is_handover(field));
        let read = self.read_as.columns.iter().filter(|column| column.field == Field::Handover);
        let may_be = self.read_as.left_out.iter().filter(|column| column.may_be.contains(&Field::Handover));
        let mut headers = read.map(|column| &column.header).chain(may_be.map(|column| &column.header));
        !answered().any(|(_, field)| is_handover(field)) && headers.all(is_another)
    }

    /// Whether anything was answered.
    pub(super) fn is_answered(&self) -> bool {
        !self.answers.is_empty() || self.was.is_some()
    }
}

/// The word for a sheet or a column that is left unread.
const NOTHING: &str = "nothing";

/// The same agreement as it stands in a text now.
fn agreed_again(text: &str, known: &AgreedSheet) -> Option<AgreedSheet> {
    let (settings, _) = settings::parse(text, "tickover.toml");
    settings?.sheets.into_iter().find(|sheet| sheet.file == known.file && sheet.sheet == known.sheet)
}
