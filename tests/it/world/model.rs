//! What was promised, in simple code of its own: what each letter must say, who must have had it, and when.

use std::collections::{BTreeMap, BTreeSet};

use jiff::ToSpan as _;
use jiff::civil::Date;

use super::letters::Said;
use super::mail::Handed;
use super::sheets::{Machine, Note};

/// The receivers of the whole letter, and the one who gets the bench's part.
pub(crate) const RECEIVERS: [&str; 3] = ["owner@shop.example", "desk@shop.example", "bench@shop.example"];

/// A letter that was kept.
#[derive(Debug, Clone)]
pub(crate) struct Promised {
    pub(crate) day: Date,
    pub(crate) at_once: bool,
    /// 1 for the first of its kind that day.
    pub(crate) number: u32,
    /// What it must say of each machine.
    pub(crate) says: BTreeMap<String, Said>,
    /// Whether it is known that it reached somebody, or perhaps did.
    pub(crate) accepted: bool,
    /// The receivers that the mail server has it for.
    pub(crate) reached: BTreeSet<String>,
    /// Whether its copy was seen in the folder and says what it must.
    pub(crate) is_checked: bool,
}

impl Promised {
    /// The name of its files, without the ending.
    pub(crate) fn stem(&self) -> String {
        let kind = if self.at_once { "-at-once" } else { "" };
        let number = if self.number == 1 { String::new() } else { format!("-{}", self.number) };
        format!("{}{kind}{number}", self.day)
    }

    /// Who is to get it.
    pub(crate) fn receivers(&self) -> &'static [&'static str] {
        // What must not leave the yard is no business of the bench's part.
        if self.at_once { &RECEIVERS[..2] } else { &RECEIVERS }
    }
}

/// All that is known of letters and machines.
#[derive(Debug, Clone, Default)]
pub(crate) struct Model {
    /// The list of machines as the last round read it, or the copy of one before.
    pub(crate) list: Vec<Machine>,
    /// The day of the first accepted letter that told of a machine's problem.
    told: BTreeMap<String, Date>,
    /// The day of the first accepted letter that told that it is settled.
    told_settled: BTreeMap<String, Date>,
    /// The letters in the order in which they were kept.
    pub(crate) letters: Vec<Promised>,
    /// Every message by its Message-ID.
    messages: BTreeMap<String, Vec<u8>>,
}

impl Model {
    /// A round reads the list of machines, where that can be read.
    pub(crate) fn read(&mut self, list: Option<&[Machine]>) {
        if let Some(list) = list {
            self.list = list.to_vec();
        }
    }

    /// Whether nothing more is to be told of a machine.
    pub(crate) fn is_over(&self, mark: &str) -> bool {
        let is_fine = self.list.iter().any(|machine| machine.mark == mark && machine.note == Note::Fine);
        let later = |at: usize| self.letters[at..].iter().any(|letter| letter.accepted && !letter.at_once);
        let mut of_it = self.letters.iter().enumerate().filter(|(_, letter)| letter.says.contains_key(mark));
        is_fine
            && of_it.all(|(at, letter)| letter.accepted || later(at))
            && (!self.told.contains_key(mark) || self.told_settled.contains_key(mark))
    }

    /// Of how many days in the month before it the letters were kept after a morning letter: then a clock that was ahead
    /// has sent it before its day.
    pub(crate) fn earlier_days_after(&self, at: usize) -> usize {
        let day = self.letters[at].day;
        let month_before = day.saturating_sub(31.days());
        let after = self.letters[at + 1..].iter().filter(|letter| !letter.at_once).map(|letter| letter.day);
        after.filter(|later| (month_before..day).contains(later)).collect::<BTreeSet<Date>>().len()
    }

    /// Whether a day has its morning letter. One that was plainly sent ahead is none: two earlier days came after it.
    fn has_morning(&self, day: Date) -> bool {
        let mut letters = self.letters.iter().enumerate();
        letters.any(|(at, letter)| letter.day == day && !letter.at_once && self.earlier_days_after(at) < 2)
    }

    /// A round that tells the morning of a day was kept.
    pub(crate) fn keep_morning(&mut self, day: Date) {
        if self.has_morning(day) {
            return;
        }
        let mut says = BTreeMap::new();
        for Machine { mark, note, .. } in &self.list {
            let told = self.told.get(mark);
            let is_open = *note != Note::Fine;
            let to_settle = told.is_some() && self.told_settled.get(mark).is_none_or(|told| *told == day);
            if is_open {
                let said = if told.is_some_and(|told| *told < day) { Said::Open } else { Said::New };
                says.insert(mark.clone(), said);
            } else if to_settle {
                says.insert(mark.clone(), Said::Settled);
            }
        }
        self.push(day, false, says);
    }

    /// A round that tells at once what must not leave the yard was kept. Before the morning letter it waits for that.
    pub(crate) fn keep_at_once(&mut self, day: Date) {
        if !self.has_morning(day) {
            return;
        }
        let waits = |mark: &String| {
            let of_day = self.letters.iter().filter(|letter| letter.day == day && !letter.accepted);
            of_day.into_iter().any(|letter| letter.says.get(mark).is_some_and(|said| *said != Said::Settled))
        };
        let says: BTreeMap<String, Said> = self
            .list
            .iter()
            .filter(|machine| machine.note == Note::BrakesOpen)
            .map(|machine| machine.mark.clone())
            .filter(|mark| !self.told.contains_key(mark) && !waits(mark))
            .map(|mark| (mark, Said::New))
            .collect();
        if !says.is_empty() {
            self.push(day, true, says);
        }
    }

    fn push(&mut self, day: Date, at_once: bool, says: BTreeMap<String, Said>) {
        let of_kind = self.letters.iter().filter(|letter| letter.day == day && letter.at_once == at_once);
        let number = 1 + u32::try_from(of_kind.count()).unwrap();
        self.letters.push(Promised {
            day,
            at_once,
            number,
            says,
            accepted: false,
            reached: BTreeSet::new(),
            is_checked: false,
        });
    }

    /// A server was handed a message.
    pub(crate) fn handed(&mut self, handed: &Handed) {
        if !handed.is_whole {
            return;
        }
        let known = self.messages.entry(handed.message_id.clone()).or_insert_with(|| handed.bytes.clone());
        assert!(*known == handed.bytes, "{} went out with other bytes", handed.message_id);
        if handed.stored {
            let receivers = handed.receivers.iter().cloned();
            self.letter_of(&handed.message_id).reached.extend(receivers);
        }
    }

    /// What became of a message was noted. `to_its_end` says that the round had handed all of it over: where the server
    /// then says nothing, it may have it.
    pub(crate) fn noted(&mut self, handed: &Handed, to_its_end: bool) {
        if handed.denied || !(handed.is_whole || to_its_end) {
            return;
        }
        let letter = self.letter_of(&handed.message_id);
        letter.accepted = true;
        let Promised { day, says, .. } = letter.clone();
        for (mark, said) in says {
            let told = if said == Said::Settled { &mut self.told_settled } else { &mut self.told };
            let first = told.entry(mark).or_insert(day);
            *first = day.min(*first);
        }
    }

    /// The letter that a Message-ID is of: its name begins with the letter's kind, day and number.
    fn letter_of(&mut self, message_id: &str) -> &mut Promised {
        let at_once = message_id.starts_with("<at-once.");
        let mut letters = self.letters.iter_mut();
        let found = letters.find(|letter| {
            letter.at_once == at_once && message_id.contains(&format!(".{}.{}.", letter.day, letter.number))
        });
        found.unwrap_or_else(|| panic!("{message_id} is of no letter that was kept"))
    }

    /// How many different messages went out whole.
    pub(crate) fn messages(&self) -> usize {
        self.messages.len()
    }

    /// The message with a Message-ID, as it went out.
    pub(crate) fn message(&self, message_id: &str) -> Option<&Vec<u8>> {
        self.messages.get(message_id)
    }
}
