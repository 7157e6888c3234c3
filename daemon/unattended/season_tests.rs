//! A season of the long run on a bad PC: it sleeps, restarts, loses rounds in the middle, and still tells each day once.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::{Date, Weekday};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::{Ending, Event, Keeper, Order, Shop, Status, Work};
use crate::round::{Answer, Tells};
use crate::settings::{BankHolidays, ShopDays};
use crate::units::dice::Dice;

/// How long after a letter's time a PC must have been awake for it to be missed: five tries that find no place, with
/// their pauses, and the quarter of an hour in which a clock is not believed.
const SECONDS_ENOUGH: i64 = 3600;

/// What the world outside the keeper knows.
#[derive(Default)]
struct World {
    /// The letters that went out, and with which notes.
    letters: Vec<(Date, Vec<String>)>,
    /// How many seconds the PC was awake on each day after the letter's time.
    awake_after_slot: BTreeMap<Date, i64>,
    /// How many rounds broke off.
    broke_off: usize,
}

impl World {
    /// How a round ends: the ledger tells no day twice.
    fn ending(&mut self, work: &Work, dice: &mut Dice) -> Ending {
        if dice.once_in(12) {
            self.broke_off += 1;
            // Half of them die after the letter was accepted, and the answer is lost.
            if dice.once_in(2) {
                self.tell(work);
            }
            return Ending::BrokeOff("the system ended it with signal 9".to_owned());
        }
        let told_now = !dice.once_in(15) && self.tell(work);
        Ending::Answered(Answer {
            today: work.day,
            told: self.letters.iter().map(|(day, _)| *day).collect(),
            to_tell_anew: BTreeSet::new(),
            told_now,
            next_mail: None,
            unsettled: dice.once_in(20),
            sheets: 1,
            machines: 1,
            findings: 1,
            complaints: 0,
            trouble: 0,
            wrong: Vec::new(),
            sent: 0,
            kept_nowhere: None,
        })
    }

    fn tell(&mut self, work: &Work) -> bool {
        let is_new = work.tells == Tells::Morning && self.letters.iter().all(|(day, _)| *day != work.day);
        if is_new {
            self.letters.push((work.day, work.trouble.clone()));
        }
        is_new
    }
}

fn live(seed: u64) -> World {
    let zone = TimeZone::get("Europe/London").unwrap();
    let days = ShopDays { bank_holidays: BankHolidays::None, ..ShopDays::default() };
    let shop = Shop { days, zone: zone.clone() };
    let mut dice = Dice::of(seed);
    let mut world = World::default();
    // A season with the change to summer time in it.
    let mut now: Timestamp = "2026-02-01T05:00:00Z".parse().unwrap();
    let end: Timestamp = "2026-05-01T20:00:00Z".parse().unwrap();
    let mut keeper = Keeper::new(shop.clone(), now, None);
    let mut events: Vec<Event> = Vec::new();
    while now < end {
        let turn = keeper.turn(now, events.drain(..));
        let mut pause = SignedDuration::try_from(turn.again_in).unwrap();
        if let Order::Start(work) = turn.order {
            events.push(Event::Ended(world.ending(&work, &mut dice)));
            pause = SignedDuration::from_secs(1 + i64::try_from(dice.below(20)).unwrap());
        }
        let local = now.to_zoned_datetime(zone.clone());
        if local.time() >= shop.days.letter_at {
            *world.awake_after_slot.entry(local.date()).or_default() += pause.as_secs().min(60);
        }
        now += pause;
        match dice.below(2_000) {
            0 => now += SignedDuration::from_secs(i64::try_from(dice.below(70 * 3600)).unwrap()),
            1..20 => events.push(Event::Changed),
            20 => {
                // The PC restarts: the round at work is lost, and the keeper knows what its status file says.
                events.clear();
                let text = serde_json::to_string(&keeper.status()).unwrap();
                let before: Status = serde_json::from_str(&text).unwrap();
                now += SignedDuration::from_secs(90);
                keeper = Keeper::new(shop.clone(), now, Some(&before));
            }
            _ => {}
        }
    }
    world
}

#[test]
fn a_season_on_a_bad_pc_tells_each_open_day_once_and_what_went_wrong() {
    for seed in [1, 2, 3] {
        let world = live(seed);
        let told: Vec<Date> = world.letters.iter().map(|(day, _)| *day).collect();
        let once: BTreeSet<Date> = told.iter().copied().collect();
        assert_eq!(told.len(), once.len(), "seed {seed}: a day was told twice");
        assert!(once.iter().all(|day| day.weekday() != Weekday::Sunday), "seed {seed}: {once:?}");
        let missed: Vec<Date> = world
            .awake_after_slot
            .iter()
            .filter(|(day, seconds)| **seconds >= SECONDS_ENOUGH && day.weekday() != Weekday::Sunday)
            .map(|(day, _)| *day)
            .filter(|day| !once.contains(day))
            .collect();
        assert_eq!(missed, [], "seed {seed}");
        assert!(once.len() >= 40, "seed {seed}: {} days", once.len());
        assert!(world.broke_off > 20, "seed {seed}: {}", world.broke_off);
        let noted = world.letters.iter().filter(|(_, notes)| !notes.is_empty()).count();
        assert!(noted > 10, "seed {seed}: {noted} letters say that a round broke off");
    }
}
