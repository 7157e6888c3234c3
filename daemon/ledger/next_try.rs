//! When a mail is tried again, and when it is tried no more: a sum of what happened and when, and nothing else.

use jiff::{SignedDuration, Timestamp};

use super::mails::{MailState, MailVerdict};

/// How long a mail waits after its first, second ... try that came to nothing, in minutes; then always the last.
/// Servers that put strangers off for a while let them in after a few minutes; an outage takes hours.
const WAITS: [i64; 4] = [1, 5, 15, 60];
/// How long a mail waits after nobody knew whether the server had taken it, in minutes: a line that broke is mostly
/// back by then, and the second copy is not wanted sooner.
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

    /// How it stands while its end goes out, when there were so many doubts before this try.
    ///
    /// Should the program end before the verdict is kept, nobody knows whether the server has it. It is sent once more
    /// after a while all the same, however often that was so: only a verdict says that the server perhaps took it.
    pub(super) fn handed_over(self, doubts: u32, now: Timestamp) -> Standing {
        let least = later(now, SignedDuration::from_mins(AFTER_DOUBT));
        let next_try = self.next_try.map(|next_try| next_try.max(least));
        Standing { doubts: doubts.saturating_add(1), next_try, ..self }
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

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(text: &str) -> Timestamp {
        text.parse().unwrap()
    }

    fn verdict(word: &str) -> MailVerdict {
        let words = "as the server said".to_owned();
        match word {
            "sent" => MailVerdict::Sent,
            "refused" => MailVerdict::Refused { words },
            "perhaps" => MailVerdict::PerhapsSent { words },
            "later" => MailVerdict::Later { words },
            other => panic!("{other} is no verdict"),
        }
    }

    /// Tries a mail that was made at 07:30 again and again, each time at the moment it is due, and gives its state and
    /// the minutes until the next try after each verdict.
    fn tried(verdicts: &[&str]) -> Vec<String> {
        let made = moment("2026-03-02T07:30:00Z");
        let mut standing = Standing { state: MailState::Waiting, tries: 0, doubts: 0, next_try: Some(made) };
        let mut shown = Vec::new();
        for word in verdicts {
            let now = standing.next_try.expect("it is tried no more");
            standing = standing.begun(now).after(&verdict(word), made, now);
            let wait = standing.next_try.map_or("over".to_owned(), |next| {
                format!("again in {} minutes", next.duration_since(now).as_mins())
            });
            shown.push(format!("{:?}, {wait}", standing.state));
        }
        shown
    }

    // The waits are our decision. RFC 5321, 4.5.4.1 asks servers for 30 minutes and more between tries; this is a client
    // of the shop's own account, and a morning letter is of little use at noon.
    #[test]
    fn each_verdict_decides_whether_and_when_a_mail_is_tried_again() {
        let again = |minutes: u32| format!("Waiting, again in {minutes} minutes");
        let perhaps = |minutes: u32| format!("PerhapsSent, again in {minutes} minutes");
        let over = |state: &str| format!("{state}, over");
        let cases: [(&[&str], Vec<String>); 7] = [
            (&["sent"], vec![over("Sent")]),
            (&["refused"], vec![over("Refused")]),
            (&["later"; 6], [1, 5, 15, 60, 60, 60].map(again).to_vec()),
            (&["later", "sent"], vec![again(1), over("Sent")]),
            (&["perhaps", "perhaps"], vec![perhaps(15), over("PerhapsSent")]),
            (
                &["perhaps", "later", "later", "sent"],
                vec![perhaps(15), perhaps(5), perhaps(15), over("Sent")],
            ),
            (&["later", "perhaps", "refused"], vec![again(1), perhaps(15), over("Refused")]),
        ];
        for (verdicts, expected) in cases {
            assert_eq!(tried(verdicts), expected, "{verdicts:?}");
        }
    }

    #[test]
    fn a_server_that_never_has_time_is_asked_for_two_days_and_not_longer() {
        // 1 + 5 + 15 minutes, then hours: the try at 47 hours and 21 minutes is the last one before 48.
        let tries = 4 + 47;
        let shown = tried(&vec!["later"; tries]);
        assert!(shown[..tries - 1].iter().all(|shown| shown.starts_with("Waiting, again")), "{shown:?}");
        assert_eq!(shown[tries - 1], "GivenUp, over");
    }

    #[test]
    fn a_mail_that_may_have_been_taken_is_never_called_given_up() {
        let standing =
            |state, doubts| Standing { state, tries: 1, doubts, next_try: Some(Timestamp::UNIX_EPOCH) };
        for (before, doubts, expected) in [
            (MailState::Waiting, 0, MailState::GivenUp),
            (MailState::Waiting, 1, MailState::PerhapsSent),
            (MailState::PerhapsSent, 1, MailState::PerhapsSent),
            (MailState::Sending, 0, MailState::PerhapsSent),
        ] {
            let after = standing(before, doubts).given_up();
            assert_eq!((after.state, after.next_try), (expected, None), "{before:?}");
        }
    }

    #[test]
    fn a_mail_that_ends_the_program_is_due_at_once_and_then_ever_later() {
        let now = moment("2026-03-02T07:30:00Z");
        let mut standing = Standing { state: MailState::Waiting, tries: 0, doubts: 0, next_try: Some(now) };
        for minutes in [0, 1, 5, 15, 60, 60] {
            standing = standing.begun(now);
            let wait = standing.next_try.unwrap().duration_since(now).as_mins();
            assert_eq!((standing.state, wait), (MailState::Sending, minutes), "try {}", standing.tries);
        }
    }

    #[test]
    fn a_mail_at_whose_end_the_program_ends_is_sent_once_more_after_a_quarter_of_an_hour_or_later() {
        let now = moment("2026-03-02T07:30:00Z");
        let mut standing = Standing { state: MailState::Waiting, tries: 0, doubts: 0, next_try: Some(now) };
        for minutes in [15, 15, 15, 15, 60, 60] {
            standing = standing.begun(now).handed_over(standing.doubts, now);
            let wait = standing.next_try.unwrap().duration_since(now).as_mins();
            assert_eq!((standing.state, wait), (MailState::Sending, minutes), "try {}", standing.tries);
        }
        assert_eq!(standing.doubts, 6);
    }

    #[test]
    fn no_moment_is_too_late_to_reckon_with() {
        let standing =
            Standing { state: MailState::Waiting, tries: u32::MAX, doubts: u32::MAX, next_try: None };
        let begun = standing.begun(Timestamp::MAX);
        assert_eq!((begun.tries, begun.next_try), (u32::MAX, Some(Timestamp::MAX)));
        let after = begun.after(&verdict("perhaps"), Timestamp::MIN, Timestamp::MAX);
        assert_eq!((after.state, after.next_try), (MailState::PerhapsSent, None));
    }
}
