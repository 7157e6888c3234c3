//! The keeper: what is to be done at each turn of the long run, without a thread, a file or a clock of its own.

use std::collections::BTreeSet;
use std::time::Duration;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

use super::awake::{Awake, HOLD_OFF};
use super::decide::{Decision, decide};
use super::notes::Notes;
use super::status::{LastRound, Status};
use crate::reckon::is_open;
use crate::round::{Answer, NoRound, Tells};
use crate::settings::ShopDays;

/// The longest between two turns, so that a sleeping PC or a changed clock is noticed soon after.
pub const TICK: Duration = Duration::from_secs(30);
/// The least between the starts of two rounds that nothing but changes asked for: a person who saves again and again
/// costs a round's time only now and then.
const PACE: Duration = Duration::from_secs(10);
/// A round that takes longer is ended: a large shop's takes seconds, and a mail server that takes its time 20 minutes at
/// the most (`post::SendLimits`).
const ROUND_MOST: Duration = Duration::from_secs(30 * 60);
/// A round is made at least this often, whatever was noticed or missed: four a day cost nothing.
const LOOK_EVERY: SignedDuration = SignedDuration::from_hours(6);
/// So long before a letter is due its sheets are looked at, so that one that has not settled can.
const LOOK_BEFORE_LETTER: SignedDuration = SignedDuration::from_mins(5);
/// The pauses before what broke off is tried again; the last counts from then on. A hiccup is over at once, and what
/// stays wrong must not keep the PC busy.
const RETRY_AFTER: [Duration; 3] =
    [Duration::from_secs(5), Duration::from_secs(30), Duration::from_secs(5 * 60)];
/// The pauses before a file that had not settled is looked at again; the last counts from then on. A share is believed
/// after half a minute at the latest (`watch::whole`).
const SETTLE_AFTER: [Duration; 4] =
    [Duration::from_secs(10), Duration::from_secs(20), Duration::from_secs(40), Duration::from_secs(60)];
/// A mail is not tried again sooner than this after a round: the shortest pause that the outbox itself makes.
const MAIL_PACE: SignedDuration = SignedDuration::from_mins(1);
/// The most told days that are remembered: as many as a letter could be told a second time for.
const TOLD_MOST: usize = 60;

/// What the keeper needs to know of the settings.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// On which days, and when, the letter goes out.
    pub days: ShopDays,
    /// The zone in which the shop's days begin.
    pub zone: TimeZone,
}

/// Something that has happened since the last turn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// Files have changed, and have settled.
    Changed,
    /// A person or the system asks for a look now: settings were changed, or the PC woke.
    LookAgain,
    /// The long run is to end.
    Stop,
    /// The round at work has ended.
    Ended(Ending),
}

/// How a round ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Ending {
    /// With an answer.
    Answered(Answer),
    /// It said why it could not be made.
    NotMade(NoRound),
    /// Without one: what is known of it, as words that fit behind 'a round broke off: '.
    BrokeOff(String),
    /// It was ended because it was told to.
    Stopped,
}

/// A round to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// How much it is to tell.
    pub tells: Tells,
    /// The shop's day that it is made for.
    pub day: Date,
    /// What its letter is to say at its top: what went wrong in the long run, each as `what is wrong; what to do`.
    pub trouble: Vec<String>,
}

/// What is to be done now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Order {
    /// Nothing but wait for an event.
    Wait,
    /// Start this round; its end is told as an event.
    Start(Work),
    /// End the round at work; its end is told as an event.
    EndRound,
    /// Everything has ended; the long run is over.
    Finish,
}

/// One turn's outcome.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turn {
    /// What is to be done.
    pub order: Order,
    /// When the next turn is due at the latest, counted from now; an event makes it come sooner.
    pub again_in: Duration,
}

/// The round at work.
#[derive(Debug, Clone)]
struct AtWork {
    work: Work,
    began: Timestamp,
    since: Duration,
    too_slow: bool,
}

/// Something that is tried again after pauses that grow.
#[derive(Debug, Clone, Copy)]
struct Again {
    times: usize,
    due: Duration,
}

impl Again {
    fn after(earlier: Option<Again>, pauses: &[Duration], awake: Duration) -> Again {
        let times = earlier.map_or(0, |again| again.times);
        Again { times: times + 1, due: awake + pauses[times.min(pauses.len() - 1)] }
    }
}

/// The state of the long run.
#[derive(Debug, Clone)]
pub struct Keeper {
    shop: Shop,
    started: Timestamp,
    awake: Awake,
    /// The last moment at which the clock was believed.
    seen: Option<Timestamp>,
    /// Since when it has not been, in time awake.
    suspect_since: Option<Duration>,
    told: BTreeSet<Date>,
    /// Days later than their telling that were spoken of already.
    told_ahead: BTreeSet<Date>,
    at_work: Option<AtWork>,
    stopping: bool,
    /// Whether something asked for a round that has not been started.
    wanted: bool,
    last_start: Option<Duration>,
    last_round: Option<LastRound>,
    next_mail: Option<Timestamp>,
    next_letter: Option<Timestamp>,
    unsettled: Option<Again>,
    failed: Option<Again>,
    notes: Notes,
}

impl Keeper {
    /// The keeper at its start, with what the run before left; its first turn makes a round, to find what was missed
    /// meanwhile.
    pub fn new(shop: Shop, now: Timestamp, before: Option<&Status>) -> Keeper {
        let told = before.map(|before| before.told.clone()).unwrap_or_default();
        Keeper {
            shop,
            started: now,
            awake: Awake::default(),
            seen: before.map(|before| before.seen),
            suspect_since: None,
            told,
            told_ahead: before.map(|before| before.told_ahead.clone()).unwrap_or_default(),
            at_work: None,
            stopping: false,
            wanted: true,
            last_start: None,
            last_round: before.and_then(|before| before.last_round.clone()),
            next_mail: None,
            next_letter: None,
            unsettled: None,
            failed: None,
            notes: Notes::from(before.map(|before| before.notes.clone()).unwrap_or_default()),
        }
    }

    /// Keeps to changed settings from now on, and has them judged by soon.
    pub fn keep_to(&mut self, shop: Shop) {
        self.shop = shop;
        self.wanted = true;
    }

    /// One turn: takes in what has happened, and says what is to be done. At most one round is at work at a time.
    pub fn turn(&mut self, now: Timestamp, events: impl IntoIterator<Item = Event>) -> Turn {
        let awake = self.awake.turn(now);
        for event in events {
            match event {
                Event::Changed => self.wanted = true,
                Event::LookAgain => {
                    self.wanted = true;
                    self.failed = None;
                }
                Event::Stop => self.stopping = true,
                Event::Ended(ending) => self.take_in(ending, now, awake),
            }
        }
        let order = match &mut self.at_work {
            Some(_) if self.stopping => Order::EndRound,
            Some(at_work) if awake.saturating_sub(at_work.since) >= ROUND_MOST => {
                at_work.too_slow = true;
                Order::EndRound
            }
            Some(_) => Order::Wait,
            None if self.stopping => Order::Finish,
            None => self.next_work(now, awake).map_or(Order::Wait, |work| {
                self.at_work = Some(AtWork { work: work.clone(), began: now, since: awake, too_slow: false });
                self.last_start = Some(awake);
                self.wanted = false;
                Order::Start(work)
            }),
        };
        Turn { order, again_in: self.again_in(now, awake) }
    }

    /// How things stand, for a person who asks.
    pub fn status(&self) -> Status {
        Status {
            started: self.started,
            seen: self.seen.unwrap_or(self.started),
            told: self.told.clone(),
            last_round: self.last_round.clone(),
            at_work: self.at_work.as_ref().map(|at_work| at_work.began),
            next_letter: self.next_letter,
            next_mail: self.next_mail,
            notes: self.notes.all().to_vec(),
            told_ahead: self.told_ahead.clone(),
            clock_suspect: self.suspect_since.is_some(),
        }
    }

    /// The round to be made now, if any.
    fn next_work(&mut self, now: Timestamp, awake: Duration) -> Option<Work> {
        let now = now.to_zoned_datetime(self.shop.zone.clone());
        let due = self.believed(&now, awake)?;
        if self.failed.is_some_and(|again| awake < again.due) {
            return None;
        }
        let today = now.date();
        self.note_letters_ahead(today);
        if let Decision::Tell(day) = due {
            return Some(Work { tells: Tells::Morning, day, trouble: self.notes.all().to_vec() });
        }
        // What is tried again has made its pause.
        let paced =
            self.failed.is_some() || self.last_start.is_none_or(|last| awake.saturating_sub(last) >= PACE);
        if !(paced && self.is_look_due(now.timestamp(), awake)) {
            return None;
        }
        let at_once = self.shop.days.tell_at_once && is_open(&self.shop.days, today);
        let tells = if at_once { Tells::AtOnce } else { Tells::Nothing };
        Some(Work { tells, day: today, trouble: Vec::new() })
    }

    /// What is due by a clock that is believed; `None` while it is given time to be put right.
    fn believed(&mut self, now: &ZonedDateTime, awake: Duration) -> Option<Decision> {
        let mut decision = decide(now, &self.told, &self.shop.days, self.seen);
        if let Decision::ClockSuspect { seen } = decision {
            let since = *self.suspect_since.get_or_insert(awake);
            if awake.saturating_sub(since) < HOLD_OFF {
                return None;
            }
            self.notes.clock_stepped(seen, now);
            decision = decide(now, &self.told, &self.shop.days, None);
        }
        self.suspect_since = None;
        self.seen = Some(now.timestamp());
        self.next_letter = match &decision {
            Decision::Wait(until) => *until,
            Decision::Tell(_) | Decision::ClockSuspect { .. } => Some(now.timestamp()),
        };
        Some(decision)
    }

    /// Whether a round is due that tells no letter.
    fn is_look_due(&self, now: Timestamp, awake: Duration) -> bool {
        let last = self.last_round.as_ref().filter(|_| self.last_start.is_some()).map(|round| round.at);
        let since_last = last.map_or(SignedDuration::MAX, |last| now.duration_since(last).abs());
        let before_letter = self.next_letter.map(|letter| letter - LOOK_BEFORE_LETTER);
        self.wanted
            || since_last >= LOOK_EVERY
            || self.unsettled.is_some_and(|again| awake >= again.due)
            || self.next_mail.is_some_and(|due| now >= due)
            || before_letter.is_some_and(|look| now >= look && last.is_some_and(|last| last < look))
    }

    /// Takes in how the round at work ended.
    fn take_in(&mut self, ending: Ending, now: Timestamp, awake: Duration) {
        let Some(AtWork { work, too_slow, .. }) = self.at_work.take() else { return };
        match ending {
            Ending::Answered(answer) => self.take_in_answer(&work, answer, now, awake),
            Ending::Stopped if !too_slow => {}
            Ending::Stopped => {
                self.try_again(awake);
                self.notes.broke_off("it took longer than half an hour", &self.local(now));
            }
            Ending::BrokeOff(how) => {
                self.try_again(awake);
                self.notes.broke_off(&how, &self.local(now));
            }
            Ending::NotMade(no_round) => {
                self.try_again(awake);
                self.notes.not_made(&no_round, &self.local(now));
            }
        }
    }

    fn local(&self, now: Timestamp) -> ZonedDateTime {
        now.to_zoned_datetime(self.shop.zone.clone())
    }

    fn take_in_answer(&mut self, work: &Work, answer: Answer, now: Timestamp, awake: Duration) {
        self.last_round = Some(LastRound::of(&answer, work.tells, now));
        self.next_mail = answer.next_mail.map(|due| due.max(now + MAIL_PACE));
        let again = |earlier| Again::after(earlier, &SETTLE_AFTER, awake);
        self.unsettled = answer.unsettled.then(|| again(self.unsettled));
        if answer.told_now {
            self.notes.were_told(&work.trouble);
        }
        if let Some(note) = answer.kept_nowhere {
            self.notes.kept_nowhere(note);
        }
        self.told.extend(&answer.told);
        self.told.retain(|day| !answer.to_tell_anew.contains(day));
        // By a clock that is wrong, today may be the oldest of all, and yet must not be told again.
        let past: Vec<Date> = self.told.iter().copied().filter(|day| *day != work.day).collect();
        for day in past.iter().take(self.told.len().saturating_sub(TOLD_MOST)) {
            self.told.remove(day);
        }
        let letter_missing = work.tells == Tells::Morning && !self.told.contains(&work.day);
        if letter_missing {
            // The round has said itself why its letter found no place.
            self.failed = Some(Again::after(self.failed, &RETRY_AFTER, awake));
            return;
        }
        self.failed = None;
        if !answer.told_now && work.tells == Tells::Morning && self.shop.days.tell_at_once {
            // The day had its letter, and nobody has looked yet for what cannot wait until the next.
            self.wanted = true;
        }
    }

    fn try_again(&mut self, awake: Duration) {
        self.wanted = true;
        self.failed = Some(Again::after(self.failed, &RETRY_AFTER, awake));
    }

    /// Letters that are dated later than today show that the clock was or is wrong. They are spoken of once, in one note
    /// however many there are, and today goes on.
    fn note_letters_ahead(&mut self, today: Date) {
        // A day that has come is ahead no more.
        self.told_ahead.retain(|day| *day > today);
        let ahead = |day: &Date| *day > today && !self.told_ahead.contains(day);
        let ahead: BTreeSet<Date> = self.told.iter().copied().filter(ahead).collect();
        if let (Some(first), Some(last)) = (ahead.first(), ahead.last()) {
            self.notes.letters_ahead(*first, *last);
        }
        self.told_ahead.extend(ahead);
    }

    /// How long until something can be due without an event.
    fn again_in(&self, now: Timestamp, awake: Duration) -> Duration {
        let until = |moment: Timestamp| Duration::try_from(moment.duration_since(now)).unwrap_or_default();
        let moments = [self.next_letter, self.next_mail].into_iter().flatten().map(until);
        let pauses = [
            self.unsettled.map(|again| again.due),
            self.failed.map(|again| again.due),
            self.last_start.filter(|_| self.wanted).map(|last| last + PACE),
        ];
        let pauses = pauses.into_iter().flatten().map(|due| due.saturating_sub(awake));
        // What is due already waits for something else, which an event or the tick tells.
        moments.chain(pauses).filter(|pause| !pause.is_zero()).min().map_or(TICK, |least| least.min(TICK))
    }
}
