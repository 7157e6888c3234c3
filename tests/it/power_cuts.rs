//! The real program, killed at moments drawn from a seed and at each step of a mail, while sheets change and letters go
//! out: nothing is lost, and what goes out twice is the same letter.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use rusqlite::Connection;
use tempfile::TempDir;
use tickover::round::YardFolder;

use crate::world::dice::Dice;
use crate::world::letters::{Said, said_once};
use crate::world::mail::{Handed, Server, message_id};
use crate::world::sheets::{Note, Sheets};
use crate::world::yard;

/// How long is waited for what takes seconds on a PC with nothing else to do: a mail that was cut off twice waits five
/// minutes for its next try.
const PATIENCE: Duration = Duration::from_mins(7);

/// How often the program is killed at any moment.
const KILLS: usize = 30;

/// The answers of a mail server before which it kills who sends: to the hello, the sender, two receivers, the wish to
/// hand the message over, the message and the goodbye.
const MAIL_STEPS: usize = 7;

/// A shop that is open on every day, and has had its letter's time.
const DAYS: &str = "letter_at = \"00:00\"\nbank_holidays = \"none\"\n\
                    open = [\"Monday\", \"Tuesday\", \"Wednesday\", \"Thursday\", \"Friday\", \"Saturday\", \"Sunday\"]";

/// The yard, its server, and the program while it runs.
struct Shop {
    _folder: TempDir,
    yard: YardFolder,
    sheets: Sheets,
    server: Server,
    keeper: Option<Child>,
    /// The keeper's number for the server's thread; 0 while none runs.
    process: Arc<AtomicU32>,
    planted: usize,
    now: jiff::Timestamp,
}

/// A letter's copy in the folder.
struct Copied {
    says: BTreeMap<String, Said>,
    eml: Vec<u8>,
}

impl Shop {
    fn open() -> Shop {
        let server = Server::start();
        let (folder, yard) = yard::new(server.port, DAYS);
        let sheets = Sheets::in_yard(yard.root());
        // What was saved long ago is not waited for.
        let now = "2024-03-04T05:50:00Z".parse().unwrap();
        Shop { _folder: folder, yard, sheets, server, keeper: None, process: Arc::default(), planted: 0, now }
    }

    /// One more machine that must not leave the yard.
    fn plant(&mut self) {
        self.sheets.add();
        let machine = self.sheets.machines.last_mut().unwrap();
        machine.note = Note::BrakesOpen;
        self.planted += 1;
        self.sheets.save(self.planted.is_multiple_of(2), self.now);
    }

    fn start(&mut self) {
        let child = Command::new(env!("CARGO_BIN_EXE_tickover"))
            .args(["run".as_ref(), "--yard".as_ref(), self.yard.root().as_os_str()])
            .env_remove("NOTIFY_SOCKET")
            .env_remove("JOURNAL_STREAM")
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        self.process.store(child.id(), Ordering::SeqCst);
        self.keeper = Some(child);
    }

    /// Ends the keeper, its round, or both, as the system's or a power cut's whim has it.
    fn kill(&mut self, keeper: bool, round: bool) {
        let Some(mut child) = self.keeper.take() else { return };
        if round {
            kill_children(child.id());
        }
        if keeper {
            child.kill().unwrap();
            child.wait().unwrap();
            self.process.store(0, Ordering::SeqCst);
        } else {
            self.keeper = Some(child);
        }
    }

    /// The letters in the folder, by the name of their files.
    fn letters(&self) -> BTreeMap<String, Copied> {
        let Ok(entries) = fs::read_dir(self.yard.digests()) else { return BTreeMap::new() };
        let names = entries.filter_map(|entry| entry.unwrap().file_name().into_string().ok());
        let stems: BTreeSet<String> =
            names.filter_map(|name| Some(name.strip_suffix(".eml")?.to_owned())).collect();
        let read = |stem: &str, ending: &str| fs::read(self.yard.digests().join(format!("{stem}.{ending}")));
        stems
            .into_iter()
            .filter(|stem| !stem.starts_with('.'))
            .map(|stem| {
                let text = String::from_utf8(read(&stem, "txt").unwrap()).unwrap();
                let eml = read(&stem, "eml").unwrap();
                (stem, Copied { says: said_once(&text), eml })
            })
            .collect()
    }

    /// How many machines some letter tells of as new.
    fn told(&self) -> usize {
        let letters = self.letters();
        let new = letters.values().flat_map(|letter| &letter.says).filter(|(_, said)| **said == Said::New);
        new.map(|(mark, _)| mark).collect::<BTreeSet<_>>().len()
    }

    /// Lets it run until all that was planted is told and has come.
    fn comes_to_rest(&mut self) {
        if self.keeper.is_none() {
            self.start();
        }
        let started = Instant::now();
        while self.told() < self.planted || self.missing() > 0 {
            let (told, planted, missing) = (self.told(), self.planted, self.missing());
            assert!(started.elapsed() < PATIENCE, "{told} of {planted} told, {missing} have not come");
            thread::sleep(Duration::from_millis(50));
        }
    }

    /// How many letters a receiver of the whole letter has not had.
    fn missing(&self) -> usize {
        let handed = self.server.since(0);
        let had = |id: &str, who: &str| {
            handed
                .iter()
                .any(|it| it.message_id == id && it.stored && it.receivers.iter().any(|to| to == who))
        };
        let letters = self.letters();
        let ids = letters.values().map(|letter| message_id(&letter.eml));
        ids.map(|id| ["owner@shop.example", "desk@shop.example"].iter().filter(|who| !had(&id, who)).count())
            .sum()
    }

    /// Every letter went out with the bytes that lie in the folder, and each problem was new in one letter.
    fn is_as_promised(&self) {
        let mut messages: BTreeMap<String, Vec<u8>> = BTreeMap::new();
        for Handed { message_id, bytes, .. } in self.server.since(0) {
            let known = messages.entry(message_id.clone()).or_insert_with(|| bytes.clone());
            assert!(*known == bytes, "{message_id} went out with other bytes");
        }
        let mut new: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for (stem, Copied { says, eml }) in self.letters() {
            assert!(messages[&message_id(&eml)] == eml, "{stem}.eml is not what went out");
            for (mark, said) in says {
                if said == Said::New {
                    new.entry(mark).or_default().push(stem.clone());
                }
            }
        }
        assert_eq!(new.len(), self.planted);
        let twice: Vec<_> = new.iter().filter(|(_, letters)| letters.len() != 1).collect();
        assert!(twice.is_empty(), "told as new more than once: {twice:?}");
        let ledger = Connection::open(self.yard.ledger()).unwrap();
        let sound: String = ledger.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
        assert_eq!(sound, "ok");
    }
}

impl Drop for Shop {
    fn drop(&mut self) {
        self.kill(true, true);
    }
}

/// Kills the processes that a process has started.
fn kill_children(process: u32) {
    let tasks = Path::new("/proc").join(process.to_string()).join("task");
    for task in fs::read_dir(tasks).into_iter().flatten().flatten() {
        let children = fs::read_to_string(task.path().join("children")).unwrap_or_default();
        for child in children.split_whitespace() {
            // It may have ended by itself meanwhile.
            let _ = Command::new("kill").args(["-KILL", child]).stderr(Stdio::null()).status();
        }
    }
}

#[test]
fn killed_at_any_moment_it_loses_no_letter_and_tells_nothing_twice() {
    let mut shop = Shop::open();
    let mut dice = Dice::of(7);
    shop.plant();
    let started = Instant::now();
    shop.comes_to_rest();
    let usual = u64::try_from(started.elapsed().as_millis()).unwrap();
    shop.kill(true, true);
    for _ in 0..KILLS {
        shop.plant();
        shop.start();
        thread::sleep(Duration::from_millis(dice.below(usual + usual / 4)));
        let round = dice.percent(70);
        shop.kill(true, round);
    }
    shop.comes_to_rest();
    shop.kill(true, true);
    shop.server.settle();
    shop.is_as_promised();
}

#[test]
fn what_must_not_leave_the_yard_is_told_where_the_status_was_lost_with_the_power() {
    let mut shop = Shop::open();
    shop.plant();
    shop.comes_to_rest();
    shop.kill(true, true);
    // The ledger knows that the day has its letter, and the next long run does not.
    fs::remove_file(shop.yard.status()).unwrap();
    shop.plant();
    shop.comes_to_rest();
    shop.kill(true, true);
    shop.server.settle();
    shop.is_as_promised();
}

#[test]
fn killed_by_its_mail_server_at_each_step_it_sends_the_same_letter_again() {
    let mut shop = Shop::open();
    shop.plant();
    shop.comes_to_rest();
    shop.kill(true, true);
    for step in 1..=MAIL_STEPS {
        let (process, killed) = (Arc::clone(&shop.process), Arc::new(AtomicU32::new(0)));
        let noted = Arc::clone(&killed);
        shop.server.at_step(step, move || {
            kill_children(process.load(Ordering::SeqCst));
            noted.store(1, Ordering::SeqCst);
        });
        shop.plant();
        shop.start();
        let started = Instant::now();
        while killed.load(Ordering::SeqCst) == 0 {
            assert!(started.elapsed() < PATIENCE, "no mail came to step {step}");
            thread::sleep(Duration::from_millis(20));
        }
        shop.comes_to_rest();
        shop.kill(true, true);
    }
    shop.server.settle();
    shop.is_as_promised();
}
