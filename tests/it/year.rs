//! A year in a minute: a shop's PC that sleeps, breaks off, loses its mail server and its time, and still keeps every
//! promise on every day.

use jiff::civil::date;

use crate::world::World;

#[test]
fn a_year_on_a_bad_pc_keeps_every_promise() {
    let started = std::time::Instant::now();
    let seeds: u64 = std::env::var("SEEDS").map_or(1, |n| n.parse().unwrap());
    let first: u64 = std::env::var("FIRST").map_or(1, |n| n.parse().unwrap());
    let days: usize = std::env::var("DAYS").map_or(40, |n| n.parse().unwrap());
    for seed in first..first + seeds {
        let mut world = World::begin(seed, date(2024, 3, 25), "07:30");
        world.live(days);
        world.end();
        println!("seed {seed}: {:?} {:?}", world.tally, started.elapsed());
    }
}
