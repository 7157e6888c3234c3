//! How long a rule may be at work: one call, one reading of its file, and its part of a round.

use std::cell::Cell;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

/// The longest that one call may take, on the wall and then once more at work: a rule that is late is wrong, and the
/// letter has to wait for it. On a PC with much else to do most of the time on the wall is waiting, which is not the
/// rule's; and asking for the time at work costs too much to do it of each call.
const CALL: Duration = Duration::from_millis(100);

/// The longest that a file may be at work on its constants and examples: many times what ours take on the slowest PC.
/// Where a system does not tell how long a thread was at work, its waiting counts, too, and it has longer.
const FILE: Duration = if cfg!(unix) { Duration::from_millis(500) } else { Duration::from_secs(5) };

/// The longest that all files of a folder may be at work together, after which no other is begun: a round has to vet
/// them before it can judge, and those that ship take a small part of it.
pub(super) const FOLDER: Duration = if cfg!(unix) { Duration::from_secs(3) } else { Duration::from_secs(30) };

thread_local! {
    /// When the asking under way on this thread must have ended, whatever is called for it.
    static ASKING: Cell<Option<Instant>> = const { Cell::new(None) };
    /// When the call under way on this thread should have ended.
    static CALL_ENDS: Cell<Option<Instant>> = const { Cell::new(None) };
    /// The time at work at which it must have ended, once it should have.
    static CALL_ENDS_AT_WORK: Cell<Option<Duration>> = const { Cell::new(None) };
    /// The time at work at which the reading of the file under way on this thread must have ended.
    static FILE_ENDS_AT_WORK: Cell<Option<Duration>> = const { Cell::new(None) };
}

/// Asks something with no more time for all its calls than is left from now on.
pub(super) fn asked_within(left: Duration, now: Instant, ask: impl FnOnce()) {
    ASKING.set(now.checked_add(left));
    ask();
    ASKING.set(None);
}

/// Does something with the time of one call.
pub(super) fn in_time<T>(call: impl FnOnce() -> T) -> T {
    CALL_ENDS.set(Instant::now().checked_add(CALL));
    CALL_ENDS_AT_WORK.set(None);
    let result = call();
    CALL_ENDS.set(None);
    result
}

/// Reads and tries a file, with the time of one file.
pub(super) fn of_one_file<T>(read: impl FnOnce() -> T) -> T {
    FILE_ENDS_AT_WORK.set(Some(at_work() + FILE));
    let result = read();
    FILE_ENDS_AT_WORK.set(None);
    result
}

/// Reads a file that has taken all of its time.
#[cfg(test)]
pub(super) fn with_none_left<T>(read: impl FnOnce() -> T) -> T {
    FILE_ENDS_AT_WORK.set(Some(Duration::ZERO));
    let result = read();
    FILE_ENDS_AT_WORK.set(None);
    result
}

/// Whether the file under way has taken all of its time.
pub(super) fn file_is_late() -> bool {
    FILE_ENDS_AT_WORK.get().is_some_and(|ends| at_work() > ends)
}

/// Whether the call under way has taken too long.
pub(super) fn is_late() -> bool {
    if file_is_late() {
        return true;
    }
    let now = Instant::now();
    if ASKING.get().is_some_and(|ends| now > ends) {
        return true;
    }
    if CALL_ENDS.get().is_none_or(|ends| now <= ends) {
        return false;
    }
    let at_work = at_work();
    match CALL_ENDS_AT_WORK.get() {
        Some(ends) => at_work > ends,
        None => {
            CALL_ENDS_AT_WORK.set(Some(at_work + CALL));
            false
        }
    }
}

/// How long this thread has been at work; where the system does not tell, how long it has been there.
pub(super) fn at_work() -> Duration {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    #[cfg(unix)]
    {
        let time = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
        if let Ok(time) = Duration::try_from(time) {
            return time;
        }
    }
    START.elapsed()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Works until so much of the thread's time is gone.
    fn work(time: Duration) {
        let ends = at_work() + time;
        while at_work() < ends {
            std::hint::black_box(0);
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_call_that_waits_for_the_processor_is_not_late_and_one_that_works_on_is() {
        in_time(|| {
            assert!(!is_late());
            std::thread::sleep(CALL * 3);
            assert!(!is_late(), "it has waited, and not worked");
            std::thread::sleep(CALL * 3);
            assert!(!is_late(), "nor since");
            work(CALL + Duration::from_millis(5));
            assert!(is_late());
        });
        assert!(!is_late(), "no call is under way");
    }

    #[test]
    fn a_file_has_one_time_for_all_of_its_calls() {
        of_one_file(|| {
            in_time(|| work(FILE / 2));
            assert!(!file_is_late());
            in_time(|| {
                work(FILE / 2 + Duration::from_millis(5));
                assert!(is_late());
            });
            assert!(file_is_late());
        });
        assert!(!file_is_late());
    }
}
