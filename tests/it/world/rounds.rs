//! Rounds made in this process, which can be ended at any of their steps as a power cut would end them; and whether
//! what they leave is what was promised.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind, panic_any, resume_unwind, set_hook, take_hook};
use std::path::PathBuf;
use std::sync::Once;
use std::sync::atomic::AtomicBool;

use jiff::Timestamp;
use jiff::civil::{Date, Time};
use rusqlite::Connection;
use tempfile::TempDir;
use tickover::post;
use tickover::round::{self, Answer, Run, Step, Tells, YardFolder};
use tickover::unattended::Work;

use super::letters::said_once;
use super::mail::{Handed, Server, message_id};
use super::model::{Model, Promised};
use super::sheets::Machine;
use super::yard;

/// The yard folder and the mail server, with all that was promised of them.
pub(crate) struct Books {
    _folder: TempDir,
    pub(crate) yard: YardFolder,
    pub(crate) server: Server,
    pub(crate) model: Model,
}

/// What became of a round.
pub(crate) struct Made {
    /// `None` for one that was ended in the middle.
    pub(crate) answer: Option<Answer>,
    /// What the mail server heard.
    pub(crate) heard: Vec<Handed>,
}

impl Books {
    /// A new yard folder, whose letter goes out at a time.
    pub(crate) fn open(letter_at: Time) -> Books {
        let server = Server::start();
        let days = format!("letter_at = \"{}\"", letter_at.strftime("%H:%M"));
        let (folder, yard) = yard::new(server.port, &days);
        Books { _folder: folder, yard, server, model: Model::default() }
    }

    /// Makes a round, and ends it at the step with a number, the first being 0. `list` is the list of machines, where
    /// that can be read.
    pub(crate) fn round(
        &mut self,
        work: &Work,
        now: Timestamp,
        list: Option<&[Machine]>,
        kill_at: Option<usize>,
    ) -> Made {
        let run = yard::run(&self.yard, now, work.day, work.tells, &work.trouble);
        let (model, server) = (&mut self.model, &self.server);
        model.read(list);
        let before = server.count();
        let (mut begun, mut to_its_end) = (before, false);
        let answer = made(&run, kill_at, &mut |step| match step {
            Step::Kept => match work.tells {
                Tells::Morning | Tells::MorningAgain => model.keep_morning(work.day),
                Tells::AtOnce => model.keep_at_once(work.day),
                Tells::Nothing => {}
            },
            Step::Begun => (begun, to_its_end) = (server.count(), false),
            Step::Talk(post::Step::BodyEnded) => to_its_end = true,
            Step::Noted => {
                for handed in server.since(begun) {
                    model.handed(&handed);
                    model.noted(&handed, to_its_end);
                }
            }
            _ => {}
        });
        server.settle();
        let heard = server.since(before);
        heard.iter().for_each(|handed| model.handed(handed));
        Made { answer, heard }
    }

    /// Where a file of a letter lies.
    pub(crate) fn copy_of(&self, letter: &Promised, ending: &str) -> PathBuf {
        self.yard.digests().join(format!("{}.{ending}", letter.stem()))
    }

    /// The words of a letter with those of its full list, each parted by one blank from the next.
    pub(crate) fn all_of(&self, letter: &Promised) -> String {
        let text = fs::read_to_string(self.copy_of(letter, "txt")).unwrap();
        let full_list = self.yard.digests().join(format!("{}-full.txt", letter.day));
        let full_list = fs::read_to_string(full_list).unwrap_or_default();
        let both = [text, full_list].join("\n");
        both.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Each letter whose copy has come says what was promised, and is the letter that went out.
    pub(crate) fn check_letters(&mut self) -> Result<(), String> {
        for at in 0..self.model.letters.len() {
            let letter = &self.model.letters[at];
            let read = |ending| fs::read(self.copy_of(letter, ending)).ok();
            let (false, Some(text), Some(eml)) = (letter.is_checked, read("txt"), read("eml")) else {
                continue;
            };
            let (stem, text) = (letter.stem(), String::from_utf8(text).unwrap());
            let said = said_once(&text);
            if said != letter.says {
                return Err(format!("{text}\n{stem} says {said:?}\nand not {:?}", letter.says));
            }
            if self.model.message(&message_id(&eml)).is_some_and(|sent| *sent != eml) {
                return Err(format!("{stem}.eml is not what went out"));
            }
            self.model.letters[at].is_checked = true;
        }
        Ok(())
    }

    /// Each receiver had each letter, or the next one says that it did not, where that is not from before a day.
    pub(crate) fn check_receivers(&self, forgotten_before: Date) -> Result<(), String> {
        let letters = &self.model.letters;
        for (at, letter) in letters.iter().enumerate() {
            let next = letters[at + 1..].iter().find(|next| !next.at_once && next.day > letter.day);
            let Some(next) = next.filter(|next| next.day >= forgotten_before) else { continue };
            let text = self.all_of(next);
            let missed = letter.receivers().iter().filter(|who| !letter.reached.contains(**who));
            if let Some(receiver) = missed.into_iter().find(|receiver| !text.contains(**receiver)) {
                let (stem, next) = (letter.stem(), next.stem());
                return Err(format!(
                    "{text}\n{receiver} has no letter {stem}, and {next} says nothing of it"
                ));
            }
        }
        Ok(())
    }

    /// The ledger is sound.
    pub(crate) fn check_ledger(&self) -> Result<(), String> {
        let ledger = Connection::open(self.yard.ledger()).unwrap();
        let sound: String = ledger.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
        if sound == "ok" { Ok(()) } else { Err(format!("the ledger is {sound}")) }
    }
}

/// What ends a round in the middle.
struct Killed;

/// Makes a round, and ends it when it reaches the step with a number, the first being 0. `None` for one that was ended.
fn made(run: &Run, kill_at: Option<usize>, step: &mut dyn FnMut(Step)) -> Option<Answer> {
    static QUIET: Once = Once::new();
    QUIET.call_once(|| {
        let hook = take_hook();
        set_hook(Box::new(move |panic| {
            if !panic.payload().is::<Killed>() {
                hook(panic);
            }
        }));
    });
    let mut number = 0;
    let mut killing = |at| {
        step(at);
        if kill_at == Some(number) {
            panic_any(Killed);
        }
        number += 1;
    };
    let ended = catch_unwind(AssertUnwindSafe(|| {
        round::make(run, &AtomicBool::new(false), &mut killing).map(|outcome| outcome.answer)
    }));
    match ended {
        Ok(Ok(answer)) => Some(answer),
        Ok(Err(problems)) => panic!("the round could not be made: {problems:?}"),
        Err(payload) if payload.is::<Killed>() => None,
        Err(payload) => resume_unwind(payload),
    }
}
