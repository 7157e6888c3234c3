//! A small shop with a bad PC: its sheets, its mail server, its clock, and the long run that lives through all of it.

mod checks;
pub(crate) mod dice;
pub(crate) mod letters;
pub(crate) mod mail;
pub(crate) mod model;
mod plan;
pub(crate) mod rounds;
pub(crate) mod sheets;
pub(crate) mod yard;

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::fs;

use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use tickover::round::Answer;
use tickover::settings;
use tickover::unattended::{Ending, Event, Keeper, Order, Shop, Status, Work};

use self::dice::Dice;
use self::mail::{Handed, Mood};
use self::plan::{Act, Plan};
use self::rounds::{Books, Made};
use self::sheets::{Note, Sheets};

/// A letter that is due must be told within so many minutes of a PC that is awake, has been so for
/// [`SURE_MINUTES`], and has the right time: the pauses after rounds that broke off come to that.
const PROMPT_MINUTES: i64 = 60;

/// So long after a start or a change of its clock nothing is promised: a clock is given a quarter of an hour to be put
/// right.
const SURE_MINUTES: i64 = 20;

/// How far one idle turn goes. The long run turns at least twice as often; time awake counts up to this much a turn.
const TURN: SignedDuration = SignedDuration::from_secs(60);

/// How much of what led to a failure is shown.
const STORY_LINES_MOST: usize = 400;

/// What really happened, so that a trial in which nothing did is seen.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Tally {
    pub(crate) days: usize,
    pub(crate) rounds: usize,
    pub(crate) kills: usize,
    pub(crate) letters: usize,
    pub(crate) at_once: usize,
    pub(crate) messages: usize,
    pub(crate) repeated: usize,
    pub(crate) told_new: usize,
    pub(crate) told_settled: usize,
    pub(crate) starts: usize,
    pub(crate) days_told: usize,
    /// Of these a letter went out before its day, and nothing showed that.
    pub(crate) days_in_doubt: usize,
    pub(crate) broke_off_told: usize,
    pub(crate) bytes_kept: u64,
    pub(crate) wrong_clocks: usize,
}

/// The PC and all around it.
pub(crate) struct World {
    seed: u64,
    dice: Dice,
    books: Books,
    shop: Shop,
    sheets: Sheets,
    plan: Plan,
    zone: TimeZone,
    letter_at: Time,
    /// The true moment.
    now: Timestamp,
    /// How far the PC's clock is ahead.
    ahead: SignedDuration,
    /// Until when the PC sleeps or is off.
    away_until: Option<Timestamp>,
    keeper: Option<Keeper>,
    /// What the file says by which the next start knows of this one.
    status: Option<Status>,
    events: Vec<Event>,
    /// How many minutes the PC has been awake with the same clock.
    sure_minutes: i64,
    /// How many minutes of each day's true time, after its letter's time, the PC was awake and sure.
    minutes_to_tell: BTreeMap<Date, i64>,
    /// On which day, in truth, each letter was kept.
    sent_on: Vec<Date>,
    /// The days on which rounds broke off while the long run looked on, where no letter has been made since.
    broke_off: BTreeSet<Date>,
    /// The letters that must say of such days, by their place among all.
    to_say: BTreeMap<usize, BTreeSet<Date>>,
    /// The days that the PC has taken for today.
    days_seen: BTreeSet<Date>,
    /// Nothing goes wrong any more.
    is_calm: bool,
    /// The last things that happened, for the reader of a failure.
    story: VecDeque<String>,
    pub(crate) tally: Tally,
}

impl World {
    /// The shop on its first morning.
    pub(crate) fn begin(seed: u64, first: Date, letter_at: Time) -> World {
        let books = Books::open(letter_at);
        let (settings, problems) = settings::load(&books.yard.settings(), "tickover.toml");
        assert_eq!(problems, [], "the settings of the trial are right");
        let settings = settings.unwrap();
        let zone = TimeZone::get(&settings.zone).unwrap();
        let now = first.at(4, 0, 0, 0).to_zoned_datetime(zone.clone()).unwrap().timestamp();
        let mut sheets = Sheets::in_yard(books.yard.root());
        (0..6).for_each(|_| sheets.add());
        sheets.save(false, now);
        let shop = Shop { days: settings.days.clone(), zone: zone.clone() };
        World {
            seed,
            dice: Dice::of(seed),
            books,
            letter_at,
            shop,
            sheets,
            plan: Plan::default(),
            zone,
            now,
            ahead: SignedDuration::ZERO,
            away_until: None,
            keeper: None,
            status: None,
            events: Vec::new(),
            sure_minutes: 0,
            minutes_to_tell: BTreeMap::new(),
            sent_on: Vec::new(),
            broke_off: BTreeSet::new(),
            to_say: BTreeMap::new(),
            days_seen: BTreeSet::new(),
            is_calm: false,
            story: VecDeque::new(),
            tally: Tally::default(),
        }
    }

    /// Lives through so many days, and checks each of them.
    pub(crate) fn live(&mut self, days: usize) {
        for _ in 0..days {
            let today = self.today();
            let tomorrow = today.tomorrow().unwrap();
            self.plan.draw(&mut self.dice, today, &self.zone, self.is_calm);
            let midnight = tomorrow.at(0, 0, 0, 0).to_zoned_datetime(self.zone.clone()).unwrap().timestamp();
            while self.now < midnight {
                self.go_on(midnight);
            }
            self.tally.days += 1;
            let promise = self.books.check_letters();
            self.held(promise);
            self.check_day(today);
        }
    }

    /// The last days, on which all goes well, so that what waited can come; then everything is checked.
    pub(crate) fn end(&mut self) {
        self.is_calm = true;
        self.plan = Plan::default();
        self.books.server.set(Mood::Good);
        self.sheets.move_folder(false);
        self.block_digests(false);
        self.ahead = SignedDuration::ZERO;
        self.sheets.save(false, self.now);
        self.events.push(Event::Changed);
        self.live(5);
        self.check_all();
    }

    fn today(&self) -> Date {
        self.now.to_zoned_datetime(self.zone.clone()).date()
    }

    /// The place in the trial, and what led there: by seed and day it can be made again.
    fn where_it_is(&self) -> String {
        let story: Vec<&str> = self.story.iter().map(String::as_str).collect();
        format!("seed {}, {:?}\n{}\n{}", self.seed, self.tally, story.join("\n"), self.moment())
    }

    fn moment(&self) -> String {
        let now = self.now.to_zoned_datetime(self.zone.clone());
        format!("{}, the PC's clock {}s ahead", now.strftime("%a %Y-%m-%d %H:%M:%S"), self.ahead.as_secs())
    }

    fn tell(&mut self, what: String) {
        if self.story.len() == STORY_LINES_MOST {
            self.story.pop_front();
        }
        let line = format!("{}: {what}", self.moment());
        self.story.push_back(line);
    }

    /// What happens next: something of the day's plan, or a turn of the long run.
    fn go_on(&mut self, midnight: Timestamp) {
        while let Some(act) = self.plan.take(self.now) {
            self.follow(act);
        }
        if let Some(until) = self.away_until {
            let next = self.plan.next().map_or(midnight, |next| next.min(midnight)).min(until);
            self.now = next.max(self.now);
            if self.now >= until {
                self.away_until = None;
                self.sure_minutes = 0;
            }
            return;
        }
        self.turn();
    }

    /// One turn of the long run, as the real one makes it.
    fn turn(&mut self) {
        let pc_now = self.now + self.ahead;
        let pc_today = pc_now.to_zoned_datetime(self.zone.clone()).date();
        self.days_seen.insert(pc_today);
        if self.events.iter().any(|event| matches!(event, Event::Ended(Ending::BrokeOff(_)))) {
            self.broke_off.insert(pc_today);
        }
        if self.keeper.is_none() {
            self.tell("the long run begins".to_owned());
            self.keeper = Some(Keeper::new(self.shop.clone(), pc_now, self.status.as_ref()));
            self.tally.starts += 1;
            self.sure_minutes = 0;
        }
        let keeper = self.keeper.as_mut().unwrap();
        let turn = keeper.turn(pc_now, self.events.drain(..));
        let mut took = SignedDuration::try_from(turn.again_in).unwrap().max(TURN);
        match turn.order {
            Order::Start(work) => {
                self.write_status();
                took = SignedDuration::from_secs(self.dice.between(1, 40));
                self.make_round(&work);
            }
            Order::Wait => self.write_status(),
            order => panic!("{}: {order:?}", self.where_it_is()),
        }
        self.count_minutes(took);
        self.now += took;
    }

    /// The status is written when more than the moment has changed.
    fn write_status(&mut self) {
        let Some(keeper) = &self.keeper else { return };
        let status = keeper.status();
        let known = self.status.clone().map(|known| Status { seen: status.seen, ..known });
        if known.as_ref() != Some(&status) {
            let text = serde_json::to_string(&status).unwrap();
            self.status = Some(serde_json::from_str(&text).unwrap());
        }
    }

    fn count_minutes(&mut self, took: SignedDuration) {
        let local = self.now.to_zoned_datetime(self.zone.clone());
        if self.sure_minutes >= SURE_MINUTES * 60 && self.ahead.is_zero() && local.time() >= self.letter_at {
            *self.minutes_to_tell.entry(local.date()).or_default() += took.as_secs();
        }
        self.sure_minutes += took.as_secs();
    }

    /// Makes a round, or a part of one.
    fn make_round(&mut self, work: &Work) {
        self.tally.rounds += 1;
        let kill_at = self.plan.kill(&mut self.dice).filter(|_| !self.is_calm);
        let Made { answer, heard } =
            self.books.round(work, self.now + self.ahead, self.sheets.readable(), kill_at);
        for letter in self.sent_on.len()..self.books.model.letters.len() {
            self.sent_on.push(self.today());
            if !self.books.model.letters[letter].at_once {
                self.to_say.insert(letter, std::mem::take(&mut self.broke_off));
            }
        }
        self.tally.messages += heard.iter().filter(|handed| handed.is_whole).count();
        self.tell_of_round(work, kill_at, answer.as_ref(), &heard);
        self.end_round(answer);
        let promise = self.books.check_letters();
        self.held(promise);
    }

    fn tell_of_round(
        &mut self,
        work: &Work,
        kill_at: Option<usize>,
        answer: Option<&Answer>,
        heard: &[Handed],
    ) {
        let problems = self.books.model.list.iter().filter(|machine| machine.note != Note::Fine);
        let problems: Vec<&str> = problems.map(|machine| &machine.mark[5..]).collect();
        let problems = problems.join(" ");
        let mut line = format!("round {:?} of {}, problems {problems}", work.tells, work.day);
        match answer {
            Some(Answer { told_now, sent, trouble, unsettled, .. }) => {
                line += &format!(": told {told_now}, sent {sent}, trouble {trouble}, unsettled {unsettled}");
            }
            None => line += &format!(": ended at its step {kill_at:?}"),
        }
        for Handed { message_id, receivers, is_whole, stored, denied, .. } in heard {
            let of = &message_id[..24];
            line += &format!("; {of} for {receivers:?} whole {is_whole}, stored {stored}, denied {denied}");
        }
        self.tell(line);
    }

    fn end_round(&mut self, answer: Option<Answer>) {
        match answer {
            Some(answer) => self.events.push(Event::Ended(Ending::Answered(answer))),
            None => {
                self.tally.kills += 1;
                if self.dice.percent(40) {
                    // The power went, and with it the long run.
                    self.keeper = None;
                    self.events.clear();
                } else {
                    let how = "the system ended it with signal 9".to_owned();
                    self.events.push(Event::Ended(Ending::BrokeOff(how)));
                }
            }
        }
    }

    /// Something of the day's plan.
    fn follow(&mut self, act: Act) {
        self.tell(format!("{act:?}"));
        match act {
            Act::Shop => self.work(),
            Act::Save { through_another } => self.sheets.save(through_another, self.now),
            Act::BeginSaving { list } => self.sheets.begin(list),
            Act::Lose { list } if !self.sheets.is_away => {
                if list {
                    self.sheets.list.lose()
                } else {
                    self.sheets.clocks.lose()
                }
            }
            Act::Empty { list } if !self.sheets.is_away => {
                let now = self.now;
                if list { self.sheets.list.empty(now) } else { self.sheets.clocks.empty(now) }
            }
            Act::Rename { list } if !self.sheets.is_away => {
                if list {
                    self.sheets.list.rename()
                } else {
                    self.sheets.clocks.rename()
                }
            }
            Act::Lose { .. } | Act::Empty { .. } | Act::Rename { .. } => {}
            Act::MoveFolder(is_away) => self.sheets.move_folder(is_away),
            Act::Mood(mood) => self.books.server.set(mood),
            Act::BlockDigests(is_blocked) => self.block_digests(is_blocked),
            Act::Sleep { until, is_off } => {
                self.away_until = Some(until);
                if is_off {
                    self.stop_long_run();
                }
            }
            Act::SetClock(ahead) => {
                self.tally.wrong_clocks += usize::from(!ahead.is_zero());
                self.ahead = ahead;
                self.sure_minutes = 0;
            }
        }
        self.events.push(Event::Changed);
        if self.keeper.is_none() {
            self.events.clear();
        }
    }

    /// The PC is shut down: by the book, or by its switch.
    fn stop_long_run(&mut self) {
        let Some(mut keeper) = self.keeper.take() else { return };
        if self.dice.percent(50) {
            let turn = keeper.turn(self.now + self.ahead, self.events.drain(..).chain([Event::Stop]));
            assert_eq!(turn.order, Order::Finish, "{}", self.where_it_is());
            self.status = Some(keeper.status());
        }
        self.events.clear();
    }

    /// What goes on in the shop: problems come up and are put right, machines come and go.
    fn work(&mut self) {
        let chosen = usize::try_from(self.dice.below(self.sheets.machines.len() as u64)).unwrap();
        let machine = &mut self.sheets.machines[chosen];
        match (machine.note, machine.is_spent) {
            (Note::Fine, false) => {
                machine.note = self.dice.one_of(&[Note::BrakesOpen, Note::MirrorWanted]);
                machine.is_spent = true;
            }
            (Note::Fine, true) => {
                let mark = machine.mark.clone();
                if self.books.model.is_over(&mark) {
                    self.sheets.machines.remove(chosen);
                    self.sheets.add();
                }
            }
            _ => machine.note = Note::Fine,
        }
        if self.sheets.machines.len() < 9 && self.dice.percent(20) {
            self.sheets.add();
        }
        let chosen = usize::try_from(self.dice.below(self.sheets.machines.len() as u64)).unwrap();
        self.sheets.read_clock(chosen, self.now);
    }

    /// Puts something in the way of the folder of letters, or takes it away.
    fn block_digests(&mut self, is_blocked: bool) {
        let (folder, aside) = (self.books.yard.digests(), self.books.yard.root().join("digests aside"));
        if is_blocked && !aside.exists() {
            fs::rename(&folder, aside).unwrap();
            fs::write(folder, "in the way").unwrap();
        } else if !is_blocked && aside.exists() {
            fs::remove_file(&folder).unwrap();
            fs::rename(aside, folder).unwrap();
        }
    }
}
