//! What befalls the shop and its PC on a day, drawn from the dice.

use std::collections::BTreeMap;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::dice::Dice;
use super::mail::Mood;

/// Something that happens.
#[derive(Debug, Clone, Copy)]
pub(super) enum Act {
    /// Something changes in the shop.
    Shop,
    /// Everything true is exported.
    Save { through_another: bool },
    /// The list of machines, or the readings, are half written, and stay so until the next save.
    BeginSaving { list: bool },
    /// It is deleted.
    Lose { list: bool },
    /// It is left empty.
    Empty { list: bool },
    /// It goes by its other name from now on.
    Rename { list: bool },
    /// The folder of sheets goes away or comes back.
    MoveFolder(bool),
    /// The mail server changes its mind.
    Mood(Mood),
    /// Something stands in the way of the folder of letters, or no more.
    BlockDigests(bool),
    /// The PC sleeps or is off.
    Sleep { until: Timestamp, is_off: bool },
    /// The PC's clock is set so far ahead.
    SetClock(SignedDuration),
}

/// What is to come, in order.
#[derive(Debug, Default)]
pub(super) struct Plan {
    acts: BTreeMap<(Timestamp, usize), Act>,
    drawn: usize,
    /// How many rounds of a hundred are ended in the middle today.
    kills: u64,
    /// Until when the clock is wrong, the PC away or the sheets in trouble: one such thing at a time.
    clock_busy: Option<Timestamp>,
    files_busy: Option<Timestamp>,
    mail_busy: Option<Timestamp>,
}

/// The moods in which a server does not take everything.
const MOODS: [Mood; 10] = [
    Mood::HangsUp,
    Mood::Busy,
    Mood::NotNow,
    Mood::Greylists,
    Mood::Refuses("desk"),
    Mood::PutsOff("owner"),
    Mood::DropsInBody,
    Mood::StoresAndDrops,
    Mood::LosesAndDrops,
    Mood::NoRoom,
];

/// How far a clock is wrong, in hours.
const WRONG_HOURS: [i64; 10] = [-30, -20, -3, -1, 1, 5, 26, 75, 24 * 20, -24 * 9];

/// The same for a battery that has died, or a year that was typed wrong.
const WRONG_DAYS: [i64; 4] = [-3 * 365, 366, 2 * 365, 60];

impl Plan {
    /// The next thing whose moment has come.
    pub(super) fn take(&mut self, now: Timestamp) -> Option<Act> {
        let first = self.acts.first_entry().filter(|first| first.key().0 <= now)?;
        Some(first.remove())
    }

    /// When the next thing happens.
    pub(super) fn next(&self) -> Option<Timestamp> {
        self.acts.keys().next().map(|(at, _)| *at)
    }

    /// At which of its steps a round is ended, if it is.
    pub(super) fn kill(&self, dice: &mut Dice) -> Option<usize> {
        // A round that tells nothing has two steps, a morning with two mails almost thirty.
        let steps = dice.one_of(&[2, 6, 30]);
        dice.percent(self.kills).then(|| usize::try_from(dice.below(steps)).unwrap())
    }

    fn at(&mut self, moment: Timestamp, act: Act) {
        self.drawn += 1;
        self.acts.insert((moment, self.drawn), act);
    }

    /// Draws a day.
    pub(super) fn draw(&mut self, dice: &mut Dice, day: Date, zone: &TimeZone, is_calm: bool) {
        let start = day.at(0, 0, 0, 0).to_zoned_datetime(zone.clone()).unwrap().timestamp();
        let minute = |minutes: i64| start + SignedDuration::from_mins(minutes);
        if is_calm {
            self.kills = 0;
            self.at(minute(350), Act::Save { through_another: false });
            return;
        }
        self.kills = if dice.percent(50) { 30 } else { 0 };
        self.draw_pc(dice, minute);
        self.draw_files(dice, minute);
        let is_free = |busy: &Option<Timestamp>| busy.is_none_or(|busy| busy <= start);
        if is_free(&self.mail_busy) && dice.percent(30) {
            let (from, mood) = (dice.between(0, 1_200), dice.one_of(&MOODS));
            let until = minute(from + dice.one_of(&[30, 120, 600, 1_500, 4_000]));
            self.at(minute(from), Act::Mood(mood));
            self.at(until, Act::Mood(Mood::Good));
            self.mail_busy = Some(until);
        }
        if dice.percent(6) {
            let from = dice.between(0, 900);
            self.at(minute(from), Act::BlockDigests(true));
            self.at(minute(from + dice.between(30, 500)), Act::BlockDigests(false));
        }
    }

    /// When the PC sleeps, is off, or has the wrong time.
    fn draw_pc(&mut self, dice: &mut Dice, minute: impl Fn(i64) -> Timestamp) {
        let is_free = |busy: &Option<Timestamp>| busy.is_none_or(|busy| busy <= minute(0));
        // Most evenings the PC is left to itself until the morning.
        let evening = dice.between(17 * 60, 19 * 60);
        let morning = 24 * 60 + dice.between(5 * 60, 8 * 60);
        let is_off = dice.percent(40);
        self.at(minute(evening), Act::Sleep { until: minute(morning), is_off });
        if dice.percent(25) {
            let from = dice.between(0, 20 * 60);
            let minutes = dice.one_of(&[2, 15, 60, 240, 1_000, 3_000, 4_200]);
            let is_off = dice.percent(60);
            self.at(minute(from), Act::Sleep { until: minute(from + minutes), is_off });
        }
        if is_free(&self.clock_busy) && is_free(&self.files_busy) && dice.percent(7) {
            let hours =
                if dice.percent(20) { 24 * dice.one_of(&WRONG_DAYS) } else { dice.one_of(&WRONG_HOURS) };
            let from = dice.between(0, 1_000);
            let until = minute(from + dice.one_of(&[5, 40, 300, 1_600, 3_500]));
            self.at(minute(from), Act::SetClock(SignedDuration::from_hours(hours)));
            self.at(until, Act::SetClock(SignedDuration::ZERO));
            self.clock_busy = Some(until);
        }
    }

    /// What becomes of the sheets.
    fn draw_files(&mut self, dice: &mut Dice, minute: impl Fn(i64) -> Timestamp) {
        let is_free = |busy: &Option<Timestamp>| busy.is_none_or(|busy| busy <= minute(0));
        let through_another = dice.percent(50);
        if dice.percent(90) {
            if dice.percent(30) {
                self.at(minute(350), Act::BeginSaving { list: dice.percent(50) });
                self.at(minute(350 + dice.between(1, 150)), Act::Save { through_another });
            } else {
                self.at(minute(350), Act::Save { through_another });
            }
        }
        for _ in 0..dice.below(4) {
            let at = dice.between(8 * 60, 17 * 60);
            self.at(minute(at), Act::Shop);
            if dice.percent(60) {
                self.at(minute(at + 1), Act::Save { through_another });
            }
        }
        // A copy of what is gone counts for a fortnight of the PC's own days.
        if !is_free(&self.files_busy) || !is_free(&self.clock_busy) || !dice.percent(12) {
            return;
        }
        let (list, from) = (dice.percent(70), dice.between(0, 1_300));
        let until = minute(from + dice.one_of(&[20, 400, 1_500, 3_000]));
        let (act, back) = match dice.below(4) {
            0 => (Act::Lose { list }, Act::Save { through_another }),
            1 => (Act::Empty { list }, Act::Save { through_another }),
            2 => (Act::Rename { list }, Act::Rename { list }),
            _ => (Act::MoveFolder(true), Act::MoveFolder(false)),
        };
        self.at(minute(from), act);
        self.at(until, back);
        self.files_busy = Some(until);
    }
}
