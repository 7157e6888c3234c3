//! A year in a minute: a shop's PC that sleeps, breaks off, loses its mail server and its time, and still keeps every
//! promise on every day.

use std::fs;
use std::io::{self, Write as _};

use jiff::civil::{Date, date, time};
use jiff::tz::TimeZone;
use tickover::round::Tells;
use tickover::unattended::Work;

use crate::world::rounds::Books;
use crate::world::sheets::{Note, Sheets};
use crate::world::{Tally, World};

/// How many days a season has.
const SEASON: usize = 45;

fn live(seed: u64, first: Date, days: usize) -> Tally {
    let mut world = World::begin(seed, first, time(7, 30, 0, 0));
    world.live(days);
    world.end();
    world.tally
}

/// A season in which nothing went wrong would show nothing.
fn is_bad(tally: Tally) {
    let Tally { rounds, kills, letters, messages, repeated, starts, .. } = tally;
    let is_bad = rounds > 200 && kills > 10 && letters > 25 && messages > 60 && repeated > 0 && starts > 15;
    let Tally { told_new, told_settled, broke_off_told, days_told, days_in_doubt, .. } = tally;
    assert!(days_told > 10 * days_in_doubt, "too much is excused: {tally:?}");
    assert!(
        is_bad && told_new > 5 && told_settled > 5 && broke_off_told > 3,
        "too little went wrong: {tally:?}"
    );
}

#[test]
fn a_spring_on_a_bad_pc_with_easter_and_an_hour_less_keeps_every_promise() {
    is_bad(live(1, date(2024, 3, 18), SEASON));
}

#[test]
fn an_autumn_on_a_bad_pc_with_an_hour_more_keeps_every_promise() {
    is_bad(live(2, date(2024, 10, 7), SEASON));
}

#[test]
fn a_winter_on_a_bad_pc_with_christmas_keeps_every_promise() {
    is_bad(live(3, date(2024, 12, 2), SEASON));
}

#[test]
fn a_day_whose_letter_a_clock_that_was_ahead_has_sent_has_one_of_its_own_that_says_so() {
    let mut books = Books::open(time(7, 30, 0, 0));
    let mut sheets = Sheets::in_yard(books.yard.root());
    (0..3).for_each(|_| sheets.add());
    let mut told = Vec::new();
    // On Monday afternoon the clock goes to Thursday and back; each time one more machine has a problem, while there is one.
    for (day, hour) in [(4, 7), (7, 15), (5, 7), (6, 7), (7, 7), (7, 8)] {
        if let Some(fine) = sheets.machines.iter_mut().find(|machine| machine.note == Note::Fine) {
            fine.note = Note::MirrorWanted;
        }
        let day = date(2024, 3, day);
        let now = day.at(hour, 30, 0, 0).to_zoned_datetime(TimeZone::UTC).unwrap().timestamp();
        sheets.save(false, now);
        let work = Work { tells: Tells::Morning, day, trouble: Vec::new() };
        let answer = books.round(&work, now, sheets.readable(), None).answer.unwrap();
        told.push(answer.told_now);
        books.check_letters().unwrap();
    }
    assert_eq!(told, [true, true, true, true, true, false], "and no day is told a third time");
    let text = |name: &str| fs::read_to_string(books.yard.digests().join(name)).unwrap();
    let words = |name: &str| text(name).split_whitespace().collect::<Vec<_>>().join(" ");
    let note = "A letter of this date went out before that of an earlier day, so this PC's clock was wrong for a while";
    let says = ["2024-03-05.txt", "2024-03-06.txt", "2024-03-07.txt", "2024-03-07-2.txt"]
        .map(|name| words(name).contains(note));
    assert_eq!(says, [false, false, false, true]);
}

/// Whole years, as many as `TICKOVER_YEARS` says, from the seed that `TICKOVER_SEED` says.
#[test]
#[ignore = "minutes for each year: TICKOVER_YEARS=3 cargo test --test it year:: -- --ignored"]
fn whole_years_on_a_bad_pc_keep_every_promise() {
    let number = |name, usual| std::env::var(name).map_or(usual, |number| number.parse().unwrap());
    let (years, first): (u64, u64) = (number("TICKOVER_YEARS", 1), number("TICKOVER_SEED", 100));
    for seed in first..first + years {
        let tally = live(seed, date(2024, 3, 18), 365);
        is_bad(tally);
        writeln!(io::stdout(), "seed {seed}: {tally:?}").unwrap();
    }
}
