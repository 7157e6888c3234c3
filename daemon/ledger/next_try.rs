//! When a mail is tried again, and when it is tried no more: a sum of what happened and when, and nothing else.

use jiff::{SignedDuration, Timestamp};

use super::mails::{MailState, MailVerdict};

/// How long a mail waits after its first, second ... try that came to nothing, in minutes; then always the last.
/// Servers that put strangers off for a while let them in after a few minutes; an outage takes hours.
const WAITS: [i64; 4] = [1, 5, 15, 60];
/// How long a mail waits after nobody knew whether the server had taken it, in minutes.
const AFTER_DOUBT: i64 = 15;
/// How often a mail may end in that doubt: the second copy is sent, a third is not.
const DOUBTS_MAX: u32 = 2;
/// How long after it was composed a letter is still worth sending, in hours: two mornings.
const WORTH_SENDING: i64 = 48;

/// How a mail stands with one receiver.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Standing {
    pub(super) state: MailState,
    /// How often it was begun.
    pub(super) tries: u32,
    /// How often nobody knew afterwards whether the server had taken it.
    pub(super) doubts: u32,
    /// When it is tried next; `None` when it is tried no more.
    pub(super) next_try: Option<Timestamp>,
}

impl Standing {
    /// How it stands once a try has begun.
    ///
    /// Should the program end before the verdict is kept, the mail is due again at once after the first try, and
    /// later after each further one, so that a mail which ends the program does not go round in a circle.
    pub(super) fn begun(self, now: Timestamp) -> Standing {
        let wait = self.tries.checked_sub(1).map_or(SignedDuration::ZERO, wait_after);
        Standing {
            state: MailState::Sending,
            tries: self.tries.saturating_add(1),
            next_try: Some(later(now, wait)),
            ..self
        }
    }

    /// How it stands after the verdict on a try that was begun.
    pub(super) fn after(self, verdict: &MailVerdict, made: Timestamp, now: Timestamp) -> Standing {
        let over = |state| Standing { state, next_try: None, ..self };
        match verdict {
            MailVerdict::Sent => over(MailState::Sent),
            MailVerdict::Refused { .. } => over(MailState::Refused),
            MailVerdict::PerhapsSent { .. } => {
                let doubts = self.doubts.saturating_add(1);
                let once_more = doubts < DOUBTS_MAX;
                let next_try = once_more.then(|| later(now, SignedDuration::from_mins(AFTER_DOUBT)));
                Standing { state: MailState::PerhapsSent, doubts, next_try, ..self }.unless_too_late(made)
            }
            MailVerdict::Later { .. } => {
                let next_try = Some(later(now, wait_after(self.tries.saturating_sub(1))));
                Standing { state: self.unsettled(MailState::Waiting), next_try, ..self }.unless_too_late(made)
            }
        }
    }

    /// How it stands once it is tried no more. What may have been taken is not called given up.
    pub(super) fn given_up(self) -> Standing {
        let state = match self.state {
            MailState::Sending => MailState::PerhapsSent,
            _ => self.unsettled(MailState::GivenUp),
        };
        Standing { state, next_try: None, ..self }
    }

    /// The state of a mail that is not settled; what may have been taken stays so.
    fn unsettled(self, state: MailState) -> MailState {
        if self.doubts > 0 { MailState::PerhapsSent } else { state }
    }

    /// The same, given up where its next try would come too late.
    fn unless_too_late(self, made: Timestamp) -> Standing {
        if self.next_try.is_some_and(|next_try| is_too_late(made, next_try)) { self.given_up() } else { self }
    }
}

/// Whether a letter is no longer worth sending.
pub(super) fn is_too_late(made: Timestamp, now: Timestamp) -> bool {
    now >= later(made, SignedDuration::from_hours(WORTH_SENDING))
}

/// How long to wait after a try that came to nothing; the first is number 0.
fn wait_after(number: u32) -> SignedDuration {
    let last = WAITS.len() - 1;
    SignedDuration::from_mins(WAITS[usize::try_from(number).unwrap_or(last).min(last)])
}

/// A moment that lies later; at the end of all time it stays there.
fn later(moment: Timestamp, wait: SignedDuration) -> Timestamp {
    moment.checked_add(wait).unwrap_or(Timestamp::MAX)
}
