//! A round made in this process, which can be ended at any of its steps as a power cut would end it.

use std::panic::{AssertUnwindSafe, catch_unwind, panic_any, resume_unwind, set_hook, take_hook};
use std::sync::Once;
use std::sync::atomic::AtomicBool;

use tickover::round::{self, Answer, Run, Step};

/// What ends a round in the middle.
struct Killed;

/// Makes a round, and ends it when it reaches the step with a number, the first being 0. `None` for one that was ended.
pub(crate) fn made(run: &Run, kill_at: Option<usize>, step: &mut dyn FnMut(Step)) -> Option<Answer> {
    static QUIET: Once = Once::new();
    QUIET.call_once(|| {
        let hook = take_hook();
        set_hook(Box::new(move |panic| {
            if !panic.payload().is::<Killed>() {
                hook(panic);
            }
        }));
    });
    let mut number = 0;
    let mut killing = |at| {
        step(at);
        if kill_at == Some(number) {
            panic_any(Killed);
        }
        number += 1;
    };
    let ended = catch_unwind(AssertUnwindSafe(|| {
        round::make(run, &AtomicBool::new(false), &mut killing).map(|outcome| outcome.answer)
    }));
    match ended {
        Ok(Ok(answer)) => Some(answer),
        Ok(Err(problems)) => panic!("the round could not be made: {problems:?}"),
        Err(payload) if payload.is::<Killed>() => None,
        Err(payload) => resume_unwind(payload),
    }
}
