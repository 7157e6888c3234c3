//! A year in a minute: a shop's PC that sleeps, breaks off, loses its mail server and its time, and still keeps every
//! promise on every day.

use std::io::{self, Write as _};

use jiff::civil::{Date, date, time};

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
    let Tally { rounds, kills, letters, messages, repeated, told_new, told_settled, starts, .. } = tally;
    let is_bad = rounds > 200 && kills > 10 && letters > 25 && messages > 60 && repeated > 0 && starts > 15;
    assert!(is_bad && told_new > 5 && told_settled > 5, "too little went wrong: {tally:?}");
}

#[test]
#[ignore = "still to be mended: not every promise of the model is kept"]
fn a_spring_on_a_bad_pc_with_easter_and_an_hour_less_keeps_every_promise() {
    is_bad(live(1, date(2024, 3, 18), SEASON));
}

#[test]
#[ignore = "still to be mended: not every promise of the model is kept"]
fn an_autumn_on_a_bad_pc_with_an_hour_more_keeps_every_promise() {
    is_bad(live(2, date(2024, 10, 7), SEASON));
}

#[test]
#[ignore = "still to be mended: not every promise of the model is kept"]
fn a_winter_on_a_bad_pc_with_christmas_keeps_every_promise() {
    is_bad(live(3, date(2024, 12, 2), SEASON));
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
