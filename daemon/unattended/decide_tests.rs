//! The decision, on days that have an hour too few or too many, and over two simulated years.

use std::collections::BTreeSet;

use jiff::civil::{Date, DateTime, Time, Weekday, date, time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

use super::{Decision, decide};
use crate::settings::{BankHolidays, ShopDays};
use crate::units::dice::Dice;

fn london() -> TimeZone {
    TimeZone::get("Europe/London").unwrap()
}

fn at(moment: &str) -> ZonedDateTime {
    moment.parse::<Timestamp>().unwrap().to_zoned_datetime(london())
}

fn days_with(letter_at: Time) -> ShopDays {
    ShopDays { letter_at, bank_holidays: BankHolidays::None, ..ShopDays::default() }
}

fn wait(moment: &str) -> Decision {
    Decision::Wait(Some(moment.parse().unwrap()))
}

#[test]
fn a_letter_is_due_from_its_time_to_the_end_of_its_day_and_once() {
    let days = ShopDays {
        closed_on: vec![date(2026, 3, 4)],
        open_on: vec![date(2026, 3, 8)],
        ..days_with(time(7, 30, 0, 0))
    };
    let tell = |day| Decision::Tell(date(2026, 3, day));
    // Monday 2 March 2026; in winter London's time is the universal one.
    let cases = [
        ("2026-03-02T07:29:59Z", vec![], wait("2026-03-02T07:30:00Z")),
        ("2026-03-02T07:30:00Z", vec![], tell(2)),
        ("2026-03-02T23:59:59Z", vec![], tell(2)),
        ("2026-03-02T07:30:00Z", vec![2], wait("2026-03-03T07:30:00Z")),
        // Missed days are not told one by one.
        ("2026-03-03T00:00:00Z", vec![], wait("2026-03-03T07:30:00Z")),
        // Wednesday the 4th is closed, though the shop opens on Wednesdays.
        ("2026-03-03T12:00:00Z", vec![3], wait("2026-03-05T07:30:00Z")),
        ("2026-03-04T12:00:00Z", vec![], wait("2026-03-05T07:30:00Z")),
        // Sunday the 8th is open, though the shop shuts on Sundays; the next one is not.
        ("2026-03-08T07:30:00Z", vec![], tell(8)),
        ("2026-03-14T12:00:00Z", vec![14], wait("2026-03-16T07:30:00Z")),
        // A told day that lies ahead does not silence today.
        ("2026-03-02T07:30:00Z", vec![20], tell(2)),
    ];
    for (now, told, expected) in cases {
        let told = told.into_iter().map(|day| date(2026, 3, day)).collect();
        assert_eq!(decide(&at(now), &told, &days, None), expected, "{now} {told:?}");
    }
}

#[test]
fn a_shop_that_never_opens_has_no_next_letter() {
    let days = ShopDays { open: Vec::new(), ..ShopDays::default() };
    assert_eq!(decide(&at("2026-03-02T08:00:00Z"), &BTreeSet::new(), &days, None), Decision::Wait(None));
}

/// The Summer Time Order 2002: clocks go forward at 01:00 universal time on the last Sunday of March, and back at that
/// moment on the last Sunday of October.
#[test]
fn a_time_that_the_clocks_skip_or_repeat_is_due_once() {
    let days = ShopDays { open: vec![Weekday::Sunday, Weekday::Monday], ..days_with(time(1, 30, 0, 0)) };
    let cases = [
        // 01:30 on 29 March does not exist; the letter is due at 02:30 summer time.
        ("2026-03-29T01:29:59Z", vec![], wait("2026-03-29T01:30:00Z")),
        ("2026-03-29T01:30:00Z", vec![], Decision::Tell(date(2026, 3, 29))),
        // 01:30 on 25 October happens twice; the first counts.
        ("2026-10-25T00:29:59Z", vec![], wait("2026-10-25T00:30:00Z")),
        ("2026-10-25T00:30:00Z", vec![], Decision::Tell(date(2026, 10, 25))),
        ("2026-10-25T01:30:00Z", vec![date(2026, 10, 25)], wait("2026-10-26T01:30:00Z")),
    ];
    for (now, told, expected) in cases {
        let told = told.into_iter().collect();
        assert_eq!(decide(&at(now), &told, &days, None), expected, "{now}");
    }
}

#[test]
fn a_clock_that_leaps_is_suspected() {
    let days = days_with(time(7, 30, 0, 0));
    let seen: Timestamp = "2026-03-02T12:00:00Z".parse().unwrap();
    let cases = [
        ("2026-04-16T12:00:00Z", false),
        ("2026-04-16T12:00:01Z", true),
        ("2026-03-01T12:00:00Z", false),
        ("2026-03-01T11:59:59Z", true),
        ("2099-01-01T00:00:00Z", true),
    ];
    for (now, suspected) in cases {
        let decision = decide(&at(now), &BTreeSet::new(), &days, Some(seen));
        assert_eq!(decision == Decision::ClockSuspect { seen }, suspected, "{now}: {decision:?}");
    }
}

/// London's clock in 2026 and 2027 by the Summer Time Order's own days, worked out by hand and without a zone table.
fn london_by_hand(second: i64) -> DateTime {
    const SUMMERS: [(&str, &str); 2] =
        [("2026-03-29T01:00:00Z", "2026-10-25T01:00:00Z"), ("2027-03-28T01:00:00Z", "2027-10-31T01:00:00Z")];
    let is_summer = SUMMERS.iter().any(|(from, to)| {
        let second_of = |moment: &str| moment.parse::<Timestamp>().unwrap().as_second();
        (second_of(from)..second_of(to)).contains(&second)
    });
    let shift = if is_summer { 3600 } else { 0 };
    date(1970, 1, 1).at(0, 0, 0, 0) + SignedDuration::from_secs(second + shift)
}

/// Days on which a letter must have gone out, from what a PC saw: every open day of which it saw a moment at or after
/// the letter's time.
fn days_due(moments: &[i64], letter_at: Time, closed: &[Date]) -> BTreeSet<Date> {
    let mut due = BTreeSet::new();
    for second in moments {
        let local = london_by_hand(*second);
        let skipped = [date(2026, 3, 29), date(2027, 3, 28)].contains(&local.date()) && letter_at.hour() == 1;
        let from = if skipped { time(letter_at.hour() + 1, letter_at.minute(), 0, 0) } else { letter_at };
        let repeated = [date(2026, 10, 25), date(2027, 10, 31)].contains(&local.date());
        // In the repeated hour's second run every time of its first has gone by.
        let is_second_run = repeated && local.hour() == 1 && london_by_hand(second - 3600).hour() == 1;
        let is_open = !closed.contains(&local.date());
        if is_open && (local.time() >= from || (is_second_run && letter_at < time(2, 0, 0, 0))) {
            due.insert(local.date());
        }
    }
    due
}

/// The days told over two years on a PC that sleeps up to `sleep_most` hours now and then, and whose clock is stepped by
/// up to `step_most` seconds either way.
fn live(
    seed: u64,
    letter_at: Time,
    closed: &[Date],
    sleep_most: u64,
    step_most: u64,
) -> (Vec<Date>, Vec<i64>) {
    let days = ShopDays {
        open: vec![
            Weekday::Monday,
            Weekday::Tuesday,
            Weekday::Wednesday,
            Weekday::Thursday,
            Weekday::Friday,
            Weekday::Saturday,
            Weekday::Sunday,
        ],
        closed_on: closed.to_vec(),
        ..days_with(letter_at)
    };
    let zone = london();
    let mut dice = Dice::of(seed);
    let (mut told, mut in_order, mut moments) = (BTreeSet::new(), Vec::new(), Vec::new());
    let mut second = "2026-01-01T05:00:00Z".parse::<Timestamp>().unwrap().as_second();
    let end = "2027-12-31T12:00:00Z".parse::<Timestamp>().unwrap().as_second();
    let mut seen = None;
    while second < end {
        moments.push(second);
        let now = Timestamp::from_second(second).unwrap();
        // As the long run does, it is asked again when it said so, or sooner.
        let mut wait_most = i64::MAX;
        match decide(&now.to_zoned_datetime(zone.clone()), &told, &days, seen) {
            Decision::Tell(day) => {
                in_order.push(day);
                told.insert(day);
            }
            Decision::Wait(until) => wait_most = until.map_or(i64::MAX, |until| until.as_second() - second),
            Decision::ClockSuspect { .. } => panic!("no step was so large"),
        }
        seen = Some(now);
        second += match dice.below(400) {
            0 => i64::try_from(dice.below(sleep_most * 3600)).unwrap(),
            1 => i64::try_from(dice.below(2 * step_most)).unwrap() - i64::try_from(step_most).unwrap(),
            // A tick of half a minute, or some of them at once, so that two years pass in a second.
            _ => (30 * i64::try_from(1 + dice.below(60)).unwrap()).min(wait_most),
        };
    }
    (in_order, moments)
}

#[test]
fn in_two_years_of_sleeps_and_clock_steps_each_day_is_told_once_if_it_could_be() {
    let closed = [date(2026, 4, 3), date(2026, 12, 25), date(2027, 12, 25)];
    for (seed, letter_at) in
        [time(0, 0, 0, 0), time(1, 30, 0, 0), time(7, 30, 0, 0), time(23, 59, 0, 0)].into_iter().enumerate()
    {
        let (told, moments) = live(seed as u64, letter_at, &closed, 70, 600);
        let once: BTreeSet<Date> = told.iter().copied().collect();
        assert_eq!(told.len(), once.len(), "{letter_at}: a day was told twice");
        assert_eq!(once, days_due(&moments, letter_at, &closed), "{letter_at}");
        assert!(once.len() > 300, "{letter_at}: the PC was awake on most days; told {}", once.len());
    }
}

#[test]
fn whatever_the_seed_no_day_is_missed_or_told_twice() {
    for seed in 100..112 {
        let mut dice = Dice::of(seed);
        let letter_at =
            time(i8::try_from(dice.below(24)).unwrap(), i8::try_from(dice.below(60)).unwrap(), 0, 0);
        let closed: Vec<Date> = (0..40)
            .map(|_| {
                date(2026, 1, 1) + SignedDuration::from_hours(24 * i64::try_from(dice.below(700)).unwrap())
            })
            .collect();
        let (sleep_most, step_most) = (1 + dice.below(200), 1 + dice.below(6 * 3600));
        let (told, moments) = live(seed, letter_at, &closed, sleep_most, step_most);
        let once: BTreeSet<Date> = told.iter().copied().collect();
        assert_eq!(told.len(), once.len(), "seed {seed}: a day was told twice");
        assert_eq!(once, days_due(&moments, letter_at, &closed), "seed {seed}");
    }
}
