//! Tests of what counts as told: a letter tells once it is accepted, and then for every day after its own.

use std::collections::BTreeSet;

use super::tests::{day, letter, machine, moment};
use super::*;
use crate::findings::{Asked, Finding, Judgement, Lives, Raised, RuleWords, Section, State, Verdict, lives};
use crate::units::Days;

/// One machine under one rule that finds what it is told to, and the ledger that keeps it.
struct Yard {
    ledger: Ledger,
    letters: u32,
}

/// What comes of a round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Letter {
    /// It tells nothing.
    None,
    /// A morning letter, whether it reaches somebody or not.
    Kept,
    /// A letter that tells at once of all that is open.
    AtOnce,
}

impl Yard {
    fn new() -> Yard {
        Yard { ledger: Ledger::in_memory().unwrap(), letters: 0 }
    }

    /// Where the things are in their lives on a day on which the rule finds these of them.
    fn lives(&self, today: Date, found: &BTreeSet<&str>) -> Lives {
        let machine = machine("AB12CDE");
        let words = RuleWords { title: "Wrong oil".to_owned(), caution: None };
        let rules = BTreeMap::from([("wrong-oil".to_owned(), words)]);
        let judgements = found.iter().map(|key| Judgement {
            rule: "wrong-oil".into(),
            machine: machine.id.clone(),
            key: (*key).to_owned(),
            verdict: Verdict::Raised(Raised {
                section: Section::KeepInTheYard,
                text: "car oil in a wet clutch".to_owned(),
                due: None,
                due_range: None,
                at_once: true,
            }),
            evidence: vec![],
        });
        lives(
            judgements.collect(),
            &Asked::of(&rules, [&machine]),
            &self.ledger.kept_findings(today).unwrap(),
            today,
        )
    }

    /// Makes a round, and gives what it found and the letter that it kept.
    fn round(
        &mut self,
        today: Date,
        found: &BTreeSet<&str>,
        told: Letter,
    ) -> (BTreeMap<String, State>, Option<Edition>) {
        let lives = self.lives(today, found);
        self.letters += 1;
        let text = format!("letter {}", self.letters);
        let mut outbox = letter(&self.ledger, &today.to_string(), &text);
        if told == Letter::AtOnce {
            let kind = LetterKind::AtOnce;
            outbox.edition = self.ledger.edition(today, kind, &outbox.words, "a@shop.example").unwrap();
        }
        let tells = if told == Letter::AtOnce { TellsOf::Only(&lives.open) } else { TellsOf::Everything };
        let posting = Posting { letter: &outbox, mails: &[], tells };
        self.ledger
            .keep(&Round {
                today,
                records: &Records::default(),
                lives: &lives,
                rules: &BTreeMap::new(),
                letter: (told != Letter::None).then_some(posting),
            })
            .unwrap();
        let states = lives.open.iter().chain(&lives.settled);
        let states = states.map(|finding| (finding.key.clone(), finding.state)).collect();
        (states, (told != Letter::None).then_some(outbox.edition))
    }

    fn accept(&mut self, edition: &Edition) {
        self.ledger.mark_delivered(edition, moment(&format!("{}T08:00:00Z", edition.day))).unwrap();
    }
}

/// One thing over some rounds: each is the day in March, whether the thing is found, which letter tells of it and what
/// becomes of that; and what the round says of the thing.
const CASES: [(&str, &[(&str, &str)]); 13] = [
    (
        "what a clock that was ahead told as settled is not told again on that day",
        &[
            ("05 found morning accepted", "new"),
            ("10 gone morning accepted", "settled"),
            ("06 gone morning accepted", ""),
            ("06 gone none", ""),
            ("07 gone morning accepted", ""),
            ("10 gone morning accepted", ""),
        ],
    ),
    (
        "one letter a day",
        &[
            ("05 found morning accepted", "new"),
            ("06 found morning accepted", "open"),
            ("07 gone morning accepted", "settled"),
            ("08 gone morning accepted", ""),
            ("09 found morning accepted", "new"),
        ],
    ),
    (
        "further rounds of a day say what its first one said",
        &[
            ("05 found morning accepted", "new"),
            ("05 found morning accepted", "new"),
            ("05 found none", "new"),
            ("06 gone morning accepted", "settled"),
            ("06 gone none", "settled"),
            ("06 gone morning accepted", "settled"),
            ("07 gone none", ""),
        ],
    ),
    (
        "a letter that reaches nobody tells nothing",
        &[
            ("05 found morning lost", "new"),
            ("06 found morning lost", "new"),
            ("07 found morning accepted", "new"),
            ("08 found morning accepted", "open"),
            ("09 gone morning lost", "settled"),
            ("10 gone morning accepted", "settled"),
            ("11 gone morning accepted", ""),
        ],
    ),
    (
        "what comes up on a closed day is new on the next open one",
        &[
            ("07 found none", "new"),
            ("08 found none", "new"),
            ("09 found morning accepted", "new"),
            ("10 found morning accepted", "open"),
        ],
    ),
    (
        "what is settled on a closed day is told on the next open one",
        &[
            ("05 found morning accepted", "new"),
            ("06 gone none", "settled"),
            ("07 gone none", "settled"),
            ("08 gone morning accepted", "settled"),
            ("09 gone none", ""),
        ],
    ),
    (
        "what comes and goes between two letters is told by none",
        &[
            ("05 found none", "new"),
            ("05 gone none", ""),
            ("06 gone morning accepted", ""),
            ("07 found morning accepted", "new"),
        ],
    ),
    (
        "what comes and goes with letters that reach nobody, likewise",
        &[("05 found morning lost", "new"), ("06 gone morning accepted", "")],
    ),
    (
        "what is gone for some hours has stood all along",
        &[
            ("05 found morning accepted", "new"),
            ("06 gone none", "settled"),
            ("06 found none", "open"),
            ("07 found morning accepted", "open"),
            ("08 gone morning accepted", "settled"),
        ],
    ),
    (
        "what is found again although a letter of the day has told that it is settled",
        &[
            ("05 found morning accepted", "new"),
            ("06 gone morning accepted", "settled"),
            ("06 found morning accepted", "open"),
            ("07 found morning accepted", "open"),
            ("08 gone morning lost", "settled"),
            ("09 gone morning accepted", "settled"),
            ("10 gone none", ""),
        ],
    ),
    (
        "told at once, and not new to the next morning",
        &[
            ("05 found at-once accepted", "new"),
            ("05 found none", "new"),
            ("06 found morning accepted", "open"),
        ],
    ),
    (
        "told at once to nobody",
        &[
            ("05 found at-once lost", "new"),
            ("06 found morning accepted", "new"),
            ("07 found morning accepted", "open"),
        ],
    ),
    (
        "found again long after it was settled, when nobody had been told",
        &[
            ("05 found none", "new"),
            ("06 gone none", ""),
            ("20 found none", "new"),
            ("21 found morning accepted", "new"),
        ],
    ),
];

#[test]
fn a_finding_is_new_until_a_letter_of_an_earlier_day_was_accepted_and_settled_until_one_told_so() {
    for (case, rounds) in CASES {
        let mut yard = Yard::new();
        for (round, expected) in rounds {
            let words: Vec<&str> = round.split(' ').collect();
            let found = if words[1] == "found" { BTreeSet::from(["k"]) } else { BTreeSet::new() };
            let told = match words[2] {
                "morning" => Letter::Kept,
                "at-once" => Letter::AtOnce,
                _ => Letter::None,
            };
            let (states, edition) = yard.round(day(&format!("2026-03-{}", words[0])), &found, told);
            let state = states.get("k").map_or("", |state| match state {
                State::New => "new",
                State::Open => "open",
                State::Settled => "settled",
                State::PutOff => "put off",
            });
            assert_eq!(state, *expected, "{case}: {round}");
            if let (Some(edition), Some(&"accepted")) = (edition, words.get(3)) {
                yard.accept(&edition);
            }
        }
    }
}

#[test]
fn a_letter_of_yesterday_that_is_accepted_late_has_told_from_then_on() {
    let (mut yard, found) = (Yard::new(), BTreeSet::from(["k"]));
    let (_, late) = yard.round(day("2026-03-05"), &found, Letter::Kept);
    assert_eq!(yard.round(day("2026-03-06"), &found, Letter::None).0["k"], State::New);
    yard.accept(&late.unwrap());
    let (states, lost) = yard.round(day("2026-03-06"), &found, Letter::Kept);
    assert_eq!(states["k"], State::Open);
    yard.accept(&lost.unwrap());
    assert_eq!(yard.ledger.kept_findings(day("2026-03-07")).unwrap()[0].told, Some(day("2026-03-05")));
}

#[test]
fn a_day_that_a_wrong_date_made_up_is_put_right_by_the_next_letter() {
    let (mut yard, found) = (Yard::new(), BTreeSet::from(["k"]));
    let told = |yard: &mut Yard, date: &str, found: &BTreeSet<&str>| {
        let (states, edition) = yard.round(day(date), found, Letter::Kept);
        yard.accept(&edition.unwrap());
        states.get("k").copied()
    };
    assert_eq!(told(&mut yard, "2099-01-01", &found), Some(State::New));
    assert_eq!(told(&mut yard, "2026-03-05", &found), Some(State::New));
    assert_eq!(told(&mut yard, "2026-03-06", &found), Some(State::Open));
    assert_eq!(told(&mut yard, "2099-01-01", &BTreeSet::new()), Some(State::Settled));
    assert_eq!(told(&mut yard, "2026-03-07", &BTreeSet::new()), None);
    assert_eq!(told(&mut yard, "2026-03-08", &found), Some(State::New));
}

#[test]
fn what_was_told_goes_with_a_finding_to_its_machines_other_name() {
    let mut ledger = Ledger::in_memory().unwrap();
    let told = |ledger: &Ledger, today: &str| -> Vec<String> {
        let kept = ledger.kept_findings(day(today)).unwrap().into_iter();
        kept.map(|kept| format!("{} {:?}", kept.finding.machine.as_str(), kept.told)).collect()
    };
    let keep = |ledger: &mut Ledger, date: &str, lives: &Lives, accepted: bool| {
        let outbox = letter(ledger, date, date);
        let posting = Posting { letter: &outbox, mails: &[], tells: TellsOf::Everything };
        let round = Round {
            today: day(date),
            records: &Records::default(),
            lives,
            rules: &BTreeMap::new(),
            letter: Some(posting),
        };
        ledger.keep(&round).unwrap();
        if accepted {
            ledger.mark_delivered(&outbox.edition, outbox.made).unwrap();
        }
        outbox.edition
    };
    let finding = |machine: &str| super::tests::finding("a", machine, State::New, "2026-03-01");
    let renamed =
        |from: &str, to: &str| crate::findings::Renamed { from: finding(from).id(), to: finding(to).machine };
    let open = |machines: &[&str]| machines.iter().map(|machine| finding(machine)).collect::<Vec<Finding>>();

    let lives = Lives { open: open(&["stock S7"]), ..Lives::default() };
    keep(&mut ledger, "2026-03-01", &lives, true);
    let waiting = keep(
        &mut ledger,
        "2026-03-02",
        &Lives { open: open(&["stock S7", "mark M1"]), ..Lives::default() },
        false,
    );
    let lives = Lives {
        open: open(&["frame F1", "frame F2"]),
        renamed: vec![renamed("stock S7", "frame F1"), renamed("mark M1", "frame F2")],
        ..Lives::default()
    };
    keep(&mut ledger, "2026-03-03", &lives, false);
    assert_eq!(told(&ledger, "2026-03-03"), ["frame F1 Some(2026-03-01)", "frame F2 None"]);
    ledger.mark_delivered(&waiting, moment("2026-03-03T09:00:00Z")).unwrap();
    assert_eq!(told(&ledger, "2026-03-03"), ["frame F1 Some(2026-03-01)", "frame F2 Some(2026-03-02)"]);
    let lives = Lives {
        open: open(&["frame F2"]),
        renamed: vec![renamed("frame F1", "frame F2")],
        ..Lives::default()
    };
    keep(&mut ledger, "2026-03-04", &lives, false);
    assert_eq!(told(&ledger, "2026-03-04"), ["frame F2 Some(2026-03-01)"], "two that become one");
}

/// A run of numbers that is the same each time (Knuth's MMIX linear congruence).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end
    }
}

/// What was really read: the day of each accepted letter, what it told of as open, and what as settled.
type Read = (Date, BTreeSet<String>, BTreeSet<String>);

/// What must be said on a day on which the rule finds these things, by what was read.
fn expected(today: Date, found: &BTreeSet<&str>, all: &[&str], read: &[Read]) -> BTreeMap<String, State> {
    let mut states = BTreeMap::new();
    for key in all {
        let settled = read.iter().rposition(|(day, _, settled)| *day < today && settled.contains(*key));
        let in_this_life = &read[settled.map_or(0, |place| place + 1)..];
        let told = |(_, open, _): &&Read| open.contains(*key);
        let is_told_before = in_this_life.iter().filter(told).any(|(day, ..)| *day < today);
        let is_told = in_this_life.iter().any(|read| told(&read));
        let state = match (found.contains(key), is_told_before, is_told) {
            (true, true, _) => State::Open,
            (true, false, _) => State::New,
            (false, _, true) => State::Settled,
            (false, _, false) => continue,
        };
        states.insert((*key).to_owned(), state);
    }
    states
}

#[test]
fn over_a_year_of_letters_kept_lost_and_late_nothing_is_told_twice_and_nothing_is_forgotten() {
    let all = ["a", "b", "c", "d"];
    let (mut yard, mut numbers) = (Yard::new(), Numbers(11));
    let (mut read, mut seen): (Vec<Read>, BTreeSet<State>) = (Vec::new(), BTreeSet::new());
    for number in 0..365 {
        let today = Days(number).after(day("2026-01-01")).unwrap();
        let mut late: Option<(Edition, Read)> = None;
        for _ in 0..numbers.below(4) {
            let found: BTreeSet<&str> = all.into_iter().filter(|_| numbers.below(3) == 0).collect();
            let told = [Letter::None, Letter::Kept, Letter::AtOnce][numbers.below(3) as usize];
            let (states, edition) = yard.round(today, &found, told);
            assert_eq!(states, expected(today, &found, &all, &read), "{today} {found:?}");
            assert_eq!(
                yard.round(today, &found, Letter::None).0,
                states,
                "a second round of {today} that tells nothing"
            );
            seen.extend(states.values());
            // That a thing is settled has not been told once it is found again on that day.
            let read_today = read.iter_mut().chain(late.as_mut().map(|(_, read)| read));
            for (_, _, settled) in read_today.filter(|(day, ..)| *day == today) {
                settled.retain(|key| !found.contains(&**key));
            }
            if let Some((edition, letter)) = late.take() {
                yard.accept(&edition);
                read.push(letter);
            }
            let Some(edition) = edition else { continue };
            let of = |is_settled: bool| {
                let states = states.iter().filter(|(_, state)| (**state == State::Settled) == is_settled);
                states.map(|(key, _)| key.clone()).collect::<BTreeSet<_>>()
            };
            let settled = if told == Letter::AtOnce { BTreeSet::new() } else { of(true) };
            let letter = (today, of(false), settled);
            match numbers.below(3) {
                0 => {
                    yard.accept(&edition);
                    read.push(letter);
                }
                1 => late = Some((edition, letter)),
                _ => {}
            }
        }
    }
    assert!(read.len() > 50, "{} letters were read", read.len());
    assert_eq!(seen, BTreeSet::from([State::New, State::Open, State::Settled]), "each state came about");
}
