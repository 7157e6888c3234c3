//! The long run itself: one loop that owns everything, and the threads that tell it what happens.

use std::io;
use std::path::{Path, PathBuf};
use std::sync::mpsc::{self, Receiver, Sender};
use std::thread;
use std::time::{Duration, Instant};

use jiff::tz::TimeZone;

use super::child::RoundProcess;
use super::keeper::{Ending, Event, Keeper, Order, TICK, Turn, Work};
use super::service_manager::ServiceManager;
use super::shop_settings::ShopSettings;
use super::signals;
use super::status::Status;
use crate::problem::{Place, Problem};
use crate::round::{self, Lock, NoRound, YardFolder};
use crate::today;
use crate::watch::{Notice, Watch};

/// The most happenings that are taken in at one turn, so that a turn always ends; the rest waits for the next.
const HAPPENINGS_MOST: usize = 1_000;

/// Something that a thread tells the loop.
#[derive(Debug)]
pub(super) enum Happening {
    Changed,
    LookAgain,
    Stop,
    /// A round has closed its output, after these bytes.
    Answered {
        number: u64,
        answer: Vec<u8>,
    },
}

/// Reaches the long run from another thread, such as that of a service manager.
#[derive(Debug, Clone)]
pub struct Handle {
    tell: Sender<Happening>,
}

impl Handle {
    /// Asks it to end.
    pub fn stop(&self) {
        // One that is over needs no word.
        let _ = self.tell.send(Happening::Stop);
    }

    /// Asks for a look now: the PC woke, its clock was set, a person changed the settings.
    pub fn look_again(&self) {
        let _ = self.tell.send(Happening::LookAgain);
    }

    /// Says that files have changed, and have settled.
    pub(super) fn changed(&self) {
        let _ = self.tell.send(Happening::Changed);
    }
}

/// A long run that holds its yard folder's lock and has not begun.
#[derive(Debug)]
pub struct LongRun {
    folder: YardFolder,
    program: PathBuf,
    handle: Handle,
    happenings: Receiver<Happening>,
    settings: ShopSettings,
    lock: Lock,
}

impl LongRun {
    /// Takes the yard folder for a long run. `program` is this program, which makes the rounds.
    ///
    /// # Errors
    /// Why it cannot be: no yard folder, another long run in it, or a folder that cannot be written.
    pub fn of(folder: YardFolder, program: PathBuf) -> Result<LongRun, Problem> {
        if !folder.is_laid_out() {
            return Err(round::no_yard(&folder));
        }
        folder.make_way_for_kept();
        let path = folder.running_lock();
        let lock = match Lock::try_hold(&path) {
            Ok(Some(lock)) => lock,
            Ok(None) => {
                return Err(Problem::error(
                    Place::file(folder.root().to_string_lossy()),
                    "another long run is at work in this yard folder",
                    "Leave it at work, or end it first; `tickover status` tells how it stands.",
                ));
            }
            Err(cause) => return Err(round::cannot_write(&path, &cause)),
        };
        let (tell, happenings) = mpsc::channel();
        let settings = ShopSettings::of(&folder);
        Ok(LongRun { folder, program, handle: Handle { tell }, happenings, settings, lock })
    }

    /// A handle for other threads.
    pub fn handle(&self) -> Handle {
        self.handle.clone()
    }

    /// Lets the system's signals, or Ctrl-C at a console, end it.
    ///
    /// # Errors
    /// What the system says when it takes no listener.
    pub fn listen_to_signals(&self) -> io::Result<()> {
        signals::listen(self.handle())
    }

    /// The zone in which a shop's days begin; known before anything can fail that its log must tell of.
    pub fn zone_of(folder: &YardFolder) -> TimeZone {
        ShopSettings::of(folder).shop().zone
    }

    /// Runs until it is asked to end.
    pub fn go(self) {
        let LongRun { folder, program, handle, happenings, mut settings, lock } = self;
        let path = folder.status();
        let mut shown = Status::read(&path);
        let mut keeper = Keeper::new(settings.shop(), today::now(), shown.as_ref());
        let manager = ServiceManager::of_environment();
        let tick = manager.wants_word_every().unwrap_or(TICK).min(TICK);
        let mut rounds = Rounds { folder, program, handle, happenings, at_work: None, started: 0 };
        let mut watching = rounds.watch(&settings);
        let mut events = Vec::new();
        let mut is_ready = false;
        tracing::info!(version = env!("CARGO_PKG_VERSION"), "the long run begins");
        loop {
            if settings.have_changed() {
                keeper.keep_to(settings.shop());
                // They may name other folders.
                let_go(std::mem::replace(&mut watching, rounds.watch(&settings)));
            }
            let Turn { order, again_in } = keeper.turn(today::now(), events.drain(..));
            if order == Order::Finish {
                break;
            }
            events.extend(rounds.follow(order));
            manager.alive();
            if !is_ready {
                manager.ready();
                is_ready = true;
            }
            show(&keeper, &mut shown, &path, &manager);
            if events.is_empty() {
                events.extend(rounds.wait(again_in.min(tick)));
            }
        }
        manager.stopping();
        let_go(watching);
        // The moment last seen is worth keeping even when nothing else has changed.
        let _ = keeper.status().write(&path);
        tracing::info!("the long run ends");
        drop(lock);
    }
}

/// Ends a watch without waiting for it: it may be at a share that gives no answer.
fn let_go(watch: Watch) {
    thread::spawn(move || drop(watch));
}

/// The rounds of a long run, each in a process of its own.
struct Rounds {
    folder: YardFolder,
    program: PathBuf,
    handle: Handle,
    happenings: Receiver<Happening>,
    at_work: Option<(Work, RoundProcess, Instant)>,
    started: u64,
}

impl Rounds {
    /// Watches the places that the settings name.
    fn watch(&self, settings: &ShopSettings) -> Watch {
        let handle = self.handle.clone();
        Watch::start(settings.places(), move |notice| match notice {
            Notice::Changed => handle.changed(),
            Notice::NoEvents(why) => tracing::warn!("changes are found by looking alone: {why}"),
        })
    }

    /// Does what was ordered, and gives what came of it at once.
    fn follow(&mut self, order: Order) -> Option<Event> {
        match order {
            Order::Wait | Order::Finish => None,
            Order::Start(work) => self.start(work),
            Order::EndRound => {
                let (_, at_work, _) = self.at_work.take()?;
                at_work.end();
                Some(Event::Ended(Ending::Stopped))
            }
        }
    }

    fn start(&mut self, work: Work) -> Option<Event> {
        self.started += 1;
        let tell = self.handle.tell.clone();
        match RoundProcess::start(&self.program, &self.folder, &work, self.started, tell) {
            Ok(at_work) => {
                self.at_work = Some((work, at_work, Instant::now()));
                None
            }
            Err(cause) => Some(Event::Ended(Ending::BrokeOff(format!("it could not be started ({cause})")))),
        }
    }

    /// Waits for something to happen, and gives everything that has.
    fn wait(&mut self, most: Duration) -> Vec<Event> {
        let first = self.happenings.recv_timeout(most).ok();
        let further = self.happenings.try_iter().take(HAPPENINGS_MOST);
        let happenings: Vec<Happening> = first.into_iter().chain(further).collect();
        happenings.into_iter().filter_map(|happening| self.event(happening)).collect()
    }

    /// What a happening means; nothing, where it is about a round that was given up.
    fn event(&mut self, happening: Happening) -> Option<Event> {
        match happening {
            Happening::Changed => Some(Event::Changed),
            Happening::LookAgain => Some(Event::LookAgain),
            Happening::Stop => Some(Event::Stop),
            Happening::Answered { number, answer } => {
                let (work, at_work, since) = self.at_work.take_if(|(_, at_work, _)| at_work.is(number))?;
                let ending = at_work.ending(&answer);
                log(&work, &ending, since.elapsed());
                Some(Event::Ended(ending))
            }
        }
    }
}

/// One line for each round: what was read, judged and sent, in numbers.
fn log(work: &Work, ending: &Ending, took: Duration) {
    let tells = work.tells.word();
    let milliseconds = took.as_millis();
    match ending {
        Ending::Answered(answer) => tracing::info!(
            day = %answer.today,
            tells,
            sheets = answer.sheets,
            machines = answer.machines,
            findings = answer.findings,
            complaints = answer.complaints,
            trouble = answer.trouble,
            unsettled = answer.unsettled,
            letter = answer.told_now,
            mails_sent = answer.sent,
            milliseconds,
            "round done"
        ),
        Ending::NotMade(NoRound { why, .. }) => {
            tracing::error!(tells, milliseconds, "a round could not be made: {why}");
        }
        Ending::BrokeOff(how) => tracing::error!(tells, milliseconds, "a round broke off: {how}"),
        Ending::Stopped => {}
    }
}

/// Shows how things stand, where that has changed: in the status file, to the service manager, and what newly went
/// wrong in the log.
fn show(keeper: &Keeper, shown: &mut Option<Status>, path: &Path, manager: &ServiceManager) {
    let status = keeper.status();
    if shown.as_ref().is_some_and(|shown| !status.differs_from(shown)) {
        return;
    }
    let known = shown.as_ref().map(|shown| shown.notes.clone()).unwrap_or_default();
    for note in status.notes.iter().filter(|note| !known.contains(note)) {
        tracing::warn!("{note}");
    }
    if let Err(cause) = status.write(path) {
        tracing::warn!("the status could not be written: {cause}");
    }
    manager.status(&status.line());
    *shown = Some(status);
}
