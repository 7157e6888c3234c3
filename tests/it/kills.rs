//! A morning that is ended at every step, and at pairs of steps, while the mail server does all it can to make it
//! worse: the letter comes, never in other words, and nobody is told anything twice.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use jiff::civil::{Date, date, time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use tickover::round::Tells;
use tickover::unattended::Work;

use crate::world::dice::Dice;
use crate::world::letters::Said;
use crate::world::mail::Mood;
use crate::world::model::{Model, RECEIVERS};
use crate::world::rounds::{Books, Made};
use crate::world::sheets::{Note, Sheets};

const FIRST: Date = date(2024, 3, 4);
const SECOND: Date = date(2024, 3, 5);
const THIRD: Date = date(2024, 3, 6);

/// The steps of a morning with two mails that go out: each is told once just before or after it leaves a trace.
const STEPS: usize = 30;

/// How the mail server treats the first calls of a morning; later ones it treats well.
const MOODS: [Mood; 9] = [
    Mood::Good,
    Mood::HangsUp,
    Mood::NotNow,
    Mood::Refuses("desk"),
    Mood::PutsOff("owner"),
    Mood::DropsInBody,
    Mood::StoresAndDrops,
    Mood::LosesAndDrops,
    Mood::NoRoom,
];

/// A yard in the evening of its first day, to which it goes back for each trial.
struct Evening {
    books: Books,
    sheets: Sheets,
    /// Everything kept then, by name.
    files: BTreeMap<String, Vec<u8>>,
    model: Model,
    rounds: usize,
}

fn moment(day: Date, minutes: i64) -> Timestamp {
    let start = day.at(7, 30, 0, 0).to_zoned_datetime(TimeZone::UTC).unwrap().timestamp();
    start + SignedDuration::from_mins(minutes)
}

impl Evening {
    /// On the first day one problem is told, and after the letter it is put right and another comes up.
    fn falls() -> Evening {
        let mut books = Books::open(time(7, 30, 0, 0));
        let mut sheets = Sheets::in_yard(books.yard.root());
        (0..4).for_each(|_| sheets.add());
        sheets.machines[0].note = Note::MirrorWanted;
        sheets.machines[1].note = Note::BrakesOpen;
        sheets.save(false, moment(FIRST, -100));
        let made = books.round(&morning(FIRST), moment(FIRST, 0), sheets.readable(), None);
        assert!(made.answer.unwrap().told_now);
        books.check_letters().unwrap();
        sheets.machines[1].note = Note::Fine;
        sheets.machines[2].note = Note::BrakesOpen;
        sheets.save(false, moment(FIRST, 600));
        let files = kept(books.yard.root());
        let model = books.model.clone();
        Evening { books, sheets, files, model, rounds: 0 }
    }

    fn goes_back(&mut self) {
        let root = self.books.yard.root();
        for name in kept(root).keys().filter(|name| !self.files.contains_key(*name)) {
            fs::remove_file(root.join(name)).unwrap();
        }
        for (name, bytes) in &self.files {
            fs::write(root.join(name), bytes).unwrap();
        }
        self.books.model = self.model.clone();
        self.books.server.set(Mood::Good);
    }

    fn round(&mut self, day: Date, minutes: i64, kill_at: Option<usize>) -> Made {
        self.rounds += 1;
        let list = self.sheets.readable();
        self.books.round(&morning(day), moment(day, minutes), list, kill_at)
    }

    /// The second morning, ended at these steps one after the other; then it goes on as the long run would make it, and
    /// a third morning comes.
    fn lives_on(&mut self, mood: Mood, kills: &[usize]) -> Result<(), String> {
        self.goes_back();
        self.books.server.set(mood);
        let before = self.books.server.count();
        let mut minutes = 0;
        for kill in kills {
            self.round(SECOND, minutes, Some(*kill));
            minutes += 1;
        }
        self.books.server.set(Mood::Good);
        loop {
            let answer = self.round(SECOND, minutes, None).answer.expect("nothing ends this one");
            let Some(next) = answer.next_mail else { break };
            minutes = (next.duration_since(moment(SECOND, 0)).as_mins() + 1).max(minutes + 1);
            if minutes > 20 * 60 {
                return Err("a mail is still tried in the night".to_owned());
            }
        }
        self.books.check_letters()?;
        let came_twice = self.came_twice_since(before);
        self.round(THIRD, 0, None);
        let third = self.books.all_of(self.books.model.letters.last().unwrap());
        if came_twice && !third.contains("may have come twice") {
            return Err(format!("{third}\nsays nothing of a second copy"));
        }
        self.books.check_letters()?;
        self.books.check_receivers(Date::MIN)?;
        self.is_as_promised(mood)
    }

    /// Whether the server stored one mail more than once for somebody.
    fn came_twice_since(&self, count: usize) -> bool {
        let mut had = BTreeSet::new();
        let stored = self.books.server.since(count).into_iter().filter(|handed| handed.stored);
        let mut copies = stored.flat_map(|handed| {
            handed.receivers.into_iter().map(move |receiver| (handed.message_id.clone(), receiver))
        });
        copies.any(|copy| !had.insert(copy))
    }

    fn is_as_promised(&self, mood: Mood) -> Result<(), String> {
        let letters = &self.books.model.letters;
        let days: Vec<Date> = letters.iter().map(|letter| letter.day).collect();
        if days != [FIRST, SECOND, THIRD]
            || !letters.iter().all(|letter| letter.accepted && letter.is_checked)
        {
            return Err(format!("the letters are {letters:?}"));
        }
        let says = |at: usize| letters[at].says.values().copied().collect::<Vec<_>>();
        let expected = [[Said::Open, Said::Settled, Said::New].to_vec(), [Said::Open, Said::Open].to_vec()];
        if [says(1), says(2)] != expected {
            return Err(format!("they say {:?} and {:?}", says(1), says(2)));
        }
        // What a server refused for good, or lost after it had taken it twice, is no fault of the letter's.
        let missing: BTreeSet<&str> =
            RECEIVERS.into_iter().filter(|who| !letters[1].reached.contains(*who)).collect();
        let may_miss = matches!(mood, Mood::Refuses(_) | Mood::LosesAndDrops | Mood::DropsInBody);
        if missing.is_empty() || may_miss { Ok(()) } else { Err(format!("{missing:?} had no letter")) }
    }
}

fn morning(day: Date) -> Work {
    Work { tells: Tells::Morning, day, trouble: Vec::new() }
}

/// The files that change in a round, by name.
fn kept(root: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut files = BTreeMap::new();
    for folder in ["kept", "digests"] {
        for entry in fs::read_dir(root.join(folder)).unwrap() {
            let entry = entry.unwrap();
            let name = entry.file_name().into_string().unwrap();
            // The spare room and the locks are the same at all times.
            let is_kept = name != "spare" && !name.ends_with(".lock");
            if is_kept && entry.metadata().unwrap().is_file() {
                let name = format!("{folder}/{name}");
                files.insert(name, fs::read(entry.path()).unwrap());
            }
        }
    }
    files
}

/// Tries them all, and says of the first that breaks a promise what it was.
fn try_all(cases: &[(Mood, Vec<usize>)]) {
    let mut evening = Evening::falls();
    for (mood, kills) in cases {
        evening.lives_on(*mood, kills).unwrap_or_else(|broken| {
            panic!("ended at {kills:?} while the server is {mood:?}: {broken}");
        });
    }
    assert!(evening.rounds > 3 * cases.len(), "each case is ended once, goes on, and has its third morning");
}

/// Two or three steps one after the other, drawn from a seed.
fn drawn(seed: u64, many: usize) -> Vec<(Mood, Vec<usize>)> {
    let mut dice = Dice::of(seed);
    let case = |_| {
        let (mood, times) = (dice.one_of(&MOODS), 2 + dice.below(2));
        let steps = (0..times).map(|_| usize::try_from(dice.below(STEPS as u64)).unwrap());
        (mood, steps.collect())
    };
    (0..many).map(case).collect()
}

#[test]
fn a_morning_ended_at_any_step_is_told_once_all_the_same() {
    let steps = |mood| (0..STEPS).map(move |step| (mood, vec![step]));
    try_all(&MOODS.into_iter().flat_map(steps).collect::<Vec<_>>());
}

#[test]
fn a_morning_ended_again_and_again_is_told_once_all_the_same() {
    try_all(&drawn(1, 150));
}

#[test]
#[ignore = "minutes: cargo test --test it kills:: -- --ignored"]
fn thousands_of_mornings_ended_again_and_again_are_told_once_all_the_same() {
    try_all(&drawn(2, 3_000));
}
