//! Notices that something in the yard has changed, and has settled again.
//!
//! Looking at names, lengths and times finds every change, on shares and in folders that went and came back, too. The
//! system's own events only make it look sooner: they are lost in silence where there are many, and shares have none.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, Receiver, RecvTimeoutError, SyncSender};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use super::events::Events;
use super::places::{Places, View};

/// What a watch says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// Something changed, and has been left alone since; or it goes on changing, and nobody should wait longer.
    Changed,
    /// The system gives no events, for the reason given; changes are found by looking, half a minute later. Said once.
    NoEvents(String),
}

/// How often to look, and how long to wait.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pace {
    /// How often to look while nothing happens.
    pub(super) sweep: Duration,
    /// How often to look while something changes.
    pub(super) tick: Duration,
    /// How long nothing may have changed before it is said.
    pub(super) quiet: Duration,
    /// How long a change may be kept back while others follow it.
    pub(super) patience: Duration,
}

/// A thousand files are looked at in about ten milliseconds, so half a minute costs nothing that could be measured; two
/// seconds join a hundred saves in one; and after a minute an export that never ends must not keep the rest waiting.
const PACE: Pace = Pace {
    sweep: Duration::from_secs(30),
    tick: Duration::from_millis(500),
    quiet: Duration::from_secs(2),
    patience: Duration::from_secs(60),
};

/// How long the first look is waited for; it takes milliseconds.
const FIRST_LOOK: Duration = Duration::from_secs(2);

/// How long to wait for the thread to end: it may be at a share that gives no answer, and is left to itself then.
const FAREWELL: Duration = Duration::from_millis(100);

/// A thread that watches; it ends when this is dropped.
#[derive(Debug)]
pub struct Watch {
    wake: SyncSender<()>,
    is_over: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Watch {
    /// Begins to watch; what is there now is taken for known. `tell` is called from the watching thread and should
    /// return soon.
    pub fn start(places: Places, tell: impl FnMut(Notice) + Send + 'static) -> Watch {
        Watch::at_pace(PACE, places, tell)
    }

    /// The same at another pace.
    pub(super) fn at_pace(pace: Pace, places: Places, tell: impl FnMut(Notice) + Send + 'static) -> Watch {
        // One waiting call to look is as good as a thousand.
        let (wake, woken) = mpsc::sync_channel(1);
        let is_over = Arc::new(AtomicBool::new(false));
        let (begin, begun) = mpsc::sync_channel(1);
        let mut watching = Watching {
            pace,
            events: Events::new(wake.clone()),
            is_over: Arc::clone(&is_over),
            seen: View::default(),
            told: View::default(),
            places,
            tell,
        };
        let thread = std::thread::Builder::new().name("watch".to_owned()).spawn(move || {
            watching.seen = View::of(&watching.places);
            watching.told = watching.seen.clone();
            // Nobody may wait any more; then what changed before this look was missed.
            if begin.try_send(()).is_err() {
                watching.tell(Notice::Changed);
            }
            watching.run(&woken);
        });
        let thread = thread.expect("the system has room for one thread more");
        // A share that does not answer must not hold whoever starts the watch.
        let _ = begun.recv_timeout(FIRST_LOOK);
        Watch { wake, is_over, thread: Some(thread) }
    }
}

impl Drop for Watch {
    fn drop(&mut self) {
        self.is_over.store(true, Ordering::Release);
        // A full channel wakes it, too.
        let _ = self.wake.try_send(());
        let Some(thread) = self.thread.take() else { return };
        let until = Instant::now() + FAREWELL;
        while !thread.is_finished() && Instant::now() < until {
            std::thread::sleep(FAREWELL / 50);
        }
        // A share that does not answer may hold the thread; it tells nothing more, and ends with the process.
        if thread.is_finished() {
            // A panic of the thread has been printed; there is nothing left to stop.
            let _ = thread.join();
        }
    }
}

/// What the thread knows.
struct Watching<Tell> {
    pace: Pace,
    places: Places,
    events: Events,
    is_over: Arc<AtomicBool>,
    /// What the last look saw.
    seen: View,
    /// What was there when a change was last told.
    told: View,
    tell: Tell,
}

/// A change that has not been told yet, or a sign of one.
struct Stir {
    began: Instant,
    last: Instant,
}

impl<Tell: FnMut(Notice)> Watching<Tell> {
    fn run(&mut self, woken: &Receiver<()>) {
        self.arm();
        // What changed before there were events is found by looking at once.
        let mut stir = self.look(None, true);
        let mut next_look = Instant::now();
        loop {
            let is_woken = match woken.recv_timeout(next_look.saturating_duration_since(Instant::now())) {
                Ok(()) => true,
                Err(RecvTimeoutError::Timeout) => false,
                Err(RecvTimeoutError::Disconnected) => return,
            };
            if self.is_over.load(Ordering::Acquire) {
                return;
            }
            // While something stirs the next look is near, and one at each event would be work for nothing.
            if stir.is_some() && Instant::now() < next_look {
                continue;
            }
            stir = self.look(stir, is_woken);
            next_look = Instant::now() + if stir.is_some() { self.pace.tick } else { self.pace.sweep };
        }
    }

    /// Looks, tells what has settled, and gives the stir that goes on.
    fn look(&mut self, stir: Option<Stir>, is_woken: bool) -> Option<Stir> {
        let now = Instant::now();
        let view = View::of(&self.places);
        let has_changed = view != self.seen;
        self.seen = view;
        self.arm();
        if !has_changed && !is_woken && stir.is_none() {
            return None;
        }
        let mut stir = stir.unwrap_or(Stir { began: now, last: now });
        if has_changed {
            stir.last = now;
        }
        let is_quiet = now - stir.last >= self.pace.quiet;
        if !is_quiet && now - stir.began < self.pace.patience {
            return Some(stir);
        }
        if self.seen != self.told {
            self.told = self.seen.clone();
            self.tell(Notice::Changed);
        }
        (!is_quiet).then_some(Stir { began: now, ..stir })
    }

    /// Asks the system for events of the folders as they are now, which may be others than before.
    fn arm(&mut self) {
        if let Some(why) = self.events.arm(&self.seen.folders(&self.places)) {
            self.tell(Notice::NoEvents(why));
        }
    }

    /// Tells, unless nobody wants to hear it any more.
    fn tell(&mut self, notice: Notice) {
        if !self.is_over.load(Ordering::Acquire) {
            (self.tell)(notice);
        }
    }
}
