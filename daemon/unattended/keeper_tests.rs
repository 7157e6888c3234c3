//! The keeper's turns, driven by a clock of the tests' own.

use std::collections::BTreeSet;
use std::time::Duration;

use jiff::civil::{Date, date, time};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::{Ending, Event, Keeper, Order, Shop, Status, Work};
use crate::round::{Answer, NoRound, Tells};
use crate::settings::{BankHolidays, ShopDays};

/// A keeper and its clock. Monday 2 March 2026 is an open day; London's winter time is the universal one.
struct Trial {
    keeper: Keeper,
    now: Timestamp,
    pause: Duration,
}

fn shop() -> Shop {
    let days = ShopDays { bank_holidays: BankHolidays::None, ..ShopDays::default() };
    Shop { days, zone: TimeZone::get("Europe/London").unwrap() }
}

fn moment(text: &str) -> Timestamp {
    text.parse().unwrap()
}

fn answer(today: Date) -> Answer {
    Answer {
        today,
        told: BTreeSet::new(),
        to_tell_anew: BTreeSet::new(),
        told_now: false,
        next_mail: None,
        unsettled: false,
        sheets: 7,
        machines: 12,
        findings: 30,
        complaints: 4,
        trouble: 0,
        wrong: Vec::new(),
        sent: 0,
        kept_nowhere: None,
    }
}

/// How a sound round ends: one that is to tell the morning tells it.
fn well(work: &Work) -> Ending {
    let mut answer = answer(work.day);
    if work.tells == Tells::Morning {
        answer.told.insert(work.day);
        answer.told_now = true;
    }
    Ending::Answered(answer)
}

fn nothing(day: i8) -> Work {
    Work { tells: Tells::Nothing, day: date(2026, 3, day), trouble: Vec::new() }
}

fn morning(day: i8) -> Work {
    Work { tells: Tells::Morning, ..nothing(day) }
}

impl Trial {
    fn starting(now: &str) -> Trial {
        Trial::after(now, None)
    }

    fn after(now: &str, before: Option<&Status>) -> Trial {
        let now = moment(now);
        Trial { keeper: Keeper::new(shop(), now, before), now, pause: Duration::ZERO }
    }

    fn turn(&mut self, events: impl IntoIterator<Item = Event>) -> Order {
        let turn = self.keeper.turn(self.now, events);
        self.pause = turn.again_in;
        turn.order
    }

    /// One turn that must start a round.
    fn starts(&mut self, events: impl IntoIterator<Item = Event>) -> Work {
        match self.turn(events) {
            Order::Start(work) => work,
            order => panic!("{order:?} at {}", self.now),
        }
    }

    fn ends(&mut self, ending: Ending) -> Order {
        self.turn([Event::Ended(ending)])
    }

    fn pass(&mut self, seconds: i64) {
        self.now += SignedDuration::from_secs(seconds);
    }

    /// Turns as the keeper asks for them, up to a moment; every round ends as `end` says, after a second. Gives when
    /// each was started, and what it was to tell.
    fn until(&mut self, end: &str, ending: &mut dyn FnMut(&Work) -> Ending) -> Vec<(String, Work)> {
        let end = moment(end);
        let mut started = Vec::new();
        let mut events = Vec::new();
        while self.now <= end {
            match self.turn(std::mem::take(&mut events)) {
                Order::Start(work) => {
                    events.push(Event::Ended(ending(&work)));
                    started.push((self.now.to_string(), work));
                    self.pass(1);
                }
                Order::Wait => self.now += SignedDuration::try_from(self.pause).unwrap(),
                order => panic!("{order:?} at {}", self.now),
            }
            assert!(self.pause > Duration::ZERO && self.pause <= super::TICK, "{:?}", self.pause);
        }
        started
    }
}

fn at(moments: &[(&str, Work)]) -> Vec<(String, Work)> {
    moments.iter().map(|(moment, work)| ((*moment).to_owned(), work.clone())).collect()
}

#[test]
fn a_day_has_its_letter_at_its_time_and_a_look_shortly_before() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let started = trial.until("2026-03-03T08:00:00Z", &mut well);
    let expected = at(&[
        ("2026-03-02T05:00:00Z", nothing(2)),
        ("2026-03-02T07:25:00Z", nothing(2)),
        ("2026-03-02T07:30:00Z", morning(2)),
        ("2026-03-02T13:30:01Z", nothing(2)),
        ("2026-03-02T19:30:02Z", nothing(2)),
        ("2026-03-03T01:30:03Z", nothing(3)),
        ("2026-03-03T07:25:00Z", nothing(3)),
        ("2026-03-03T07:30:00Z", morning(3)),
    ]);
    for ((moment, work), (expected_moment, expected_work)) in started.iter().zip(&expected) {
        let late = self::moment(moment).duration_since(self::moment(expected_moment));
        assert_eq!(work, expected_work, "{moment}");
        // What no event calls for comes with the tick.
        assert!(late >= SignedDuration::ZERO && late <= SignedDuration::from_secs(120), "{moment} {late}");
    }
    assert_eq!(started.len(), expected.len(), "{started:?}");
    assert_eq!(started[2].0, "2026-03-02T07:30:00Z", "the letter goes out on the second");
}

#[test]
fn a_pc_that_was_off_tells_the_day_late_and_the_missed_days_not_at_all() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    trial.until("2026-03-02T08:00:00Z", &mut well);
    trial.now = moment("2026-03-05T16:10:00Z");
    let started = trial.until("2026-03-05T16:20:00Z", &mut well);
    assert_eq!(started, at(&[("2026-03-05T16:10:00Z", morning(5))]));
    // Sunday is closed; what came up then is told on Monday.
    let started = trial.until("2026-03-09T09:00:00Z", &mut well);
    let told: Vec<Date> =
        started.iter().filter(|(_, work)| work.tells == Tells::Morning).map(|(_, work)| work.day).collect();
    assert_eq!(told, [date(2026, 3, 6), date(2026, 3, 7), date(2026, 3, 9)]);
}

#[test]
fn a_hundred_changes_during_a_round_make_one_more_after_it() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let work = trial.starts([]);
    for _ in 0..100 {
        assert_eq!(trial.turn([Event::Changed]), Order::Wait);
    }
    trial.pass(3);
    assert_eq!(trial.ends(well(&work)), Order::Wait, "a round a few seconds after the last waits");
    assert_eq!(trial.pause, Duration::from_secs(7));
    trial.pass(7);
    let work = trial.starts([]);
    assert_eq!(work, nothing(2));
    trial.pass(20);
    assert_eq!(trial.ends(well(&work)), Order::Wait);
    let started = trial.until("2026-03-02T05:10:00Z", &mut well);
    assert_eq!(started, []);
}

#[test]
fn a_change_after_a_pause_is_looked_at_at_once() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let work = trial.starts([]);
    trial.ends(well(&work));
    trial.pass(25);
    assert_eq!(trial.starts([Event::Changed]), nothing(2));
}

#[test]
fn a_told_day_is_never_asked_for_again_even_when_nothing_could_keep_it() {
    let mut trial = Trial::starting("2026-03-02T07:30:00Z");
    let work = trial.starts([]);
    assert_eq!(work, morning(2));
    trial.ends(well(&work));
    // From here on the ledger knows of no letter at all.
    let mut forgetful = |work: &Work| Ending::Answered(answer(work.day));
    let mut started = Vec::new();
    for hour in 8..24 {
        started.extend(trial.until(&format!("2026-03-02T{hour:02}:30:00Z"), &mut forgetful));
        let work = trial.starts([Event::Changed]);
        trial.ends(forgetful(&work));
        started.push((trial.now.to_string(), work));
    }
    assert!(started.len() > 10);
    assert!(started.iter().all(|(_, work)| work.tells == Tells::Nothing), "{started:?}");
    // Nor after the keeper was started anew.
    let status = trial.keeper.status();
    let mut again = Trial::after("2026-03-02T23:40:00Z", Some(&status));
    assert_eq!(again.starts([]), nothing(2));
}

#[test]
fn a_day_that_the_ledger_knows_as_told_needs_no_second_question() {
    let mut trial = Trial::starting("2026-03-02T09:00:00Z");
    let mut known = |work: &Work| {
        let told = BTreeSet::from([date(2026, 2, 28), date(2026, 3, 2)]);
        Ending::Answered(Answer { told, ..answer(work.day) })
    };
    let started = trial.until("2026-03-02T12:00:00Z", &mut known);
    assert_eq!(started, at(&[("2026-03-02T09:00:00Z", morning(2))]));
}

#[test]
fn a_letter_that_found_no_place_is_tried_again_with_growing_pauses() {
    let mut trial = Trial::starting("2026-03-02T07:30:00Z");
    let mut tries = 0;
    let mut ending = |work: &Work| {
        tries += 1;
        if tries < 6 { Ending::Answered(answer(work.day)) } else { well(work) }
    };
    let started = trial.until("2026-03-02T08:30:00Z", &mut ending);
    let moments: Vec<&str> = started.iter().map(|(moment, _)| moment.as_str()).collect();
    // Each try takes a second; then 5 seconds, 30 seconds, and 5 minutes from there on.
    let expected = [
        "2026-03-02T07:30:00Z",
        "2026-03-02T07:30:06Z",
        "2026-03-02T07:30:37Z",
        "2026-03-02T07:35:38Z",
        "2026-03-02T07:40:39Z",
        "2026-03-02T07:45:40Z",
    ];
    assert_eq!(moments, expected);
    assert!(started.iter().all(|(_, work)| *work == morning(2)));
}

#[test]
fn a_round_that_breaks_off_is_tried_again_and_the_letter_says_so() {
    let mut trial = Trial::starting("2026-03-02T06:00:00Z");
    let mut tries = 0;
    let mut ending = |work: &Work| {
        tries += 1;
        if tries < 3 { Ending::BrokeOff("the system ended it with signal 11".to_owned()) } else { well(work) }
    };
    let started = trial.until("2026-03-02T08:00:00Z", &mut ending);
    let note = "a round broke off on 2 March 2026: the system ended it with signal 11; see kept/log, and which \
                sheet or rule was changed before";
    let expected = at(&[
        ("2026-03-02T06:00:00Z", nothing(2)),
        ("2026-03-02T06:00:06Z", nothing(2)),
        ("2026-03-02T06:00:37Z", nothing(2)),
        ("2026-03-02T07:25:08Z", nothing(2)),
        ("2026-03-02T07:30:00Z", Work { trouble: vec![note.to_owned()], ..morning(2) }),
    ]);
    assert_eq!(started, expected);
    assert_eq!(trial.keeper.status().notes, Vec::<String>::new(), "a letter has said it");
}

#[test]
fn a_round_that_could_not_be_made_is_tried_again_and_the_letter_says_why() {
    let mut trial = Trial::starting("2026-03-02T07:30:00Z");
    let no_round =
        NoRound { why: "tickover.toml: no value; or two".to_owned(), help: "Write one value.".to_owned() };
    trial.starts([]);
    trial.ends(Ending::NotMade(no_round));
    assert_eq!(trial.pause, Duration::from_secs(5));
    trial.pass(5);
    let note = "a round could not be made on 2 March 2026 (tickover.toml: no value, or two); Write one value";
    assert_eq!(trial.starts([]), Work { trouble: vec![note.to_owned()], ..morning(2) });
}

#[test]
fn a_note_that_no_letter_has_said_outlives_the_keeper() {
    let mut trial = Trial::starting("2026-03-02T06:00:00Z");
    trial.starts([]);
    trial.ends(Ending::BrokeOff("it ended with exit code 101 and gave no answer".to_owned()));
    let status = trial.keeper.status();
    assert_eq!(status.notes.len(), 1);
    let mut again = Trial::after("2026-03-02T08:00:00Z", Some(&status));
    assert_eq!(again.starts([]).trouble, status.notes);
}

#[test]
fn a_round_that_takes_too_long_is_ended_but_one_that_slept_is_not() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let work = trial.starts([]);
    // The PC sleeps for two hours in the middle of it.
    trial.pass(2 * 3600);
    assert_eq!(trial.turn([]), Order::Wait);
    for _ in 0..57 {
        trial.pass(30);
        assert_eq!(trial.turn([]), Order::Wait);
    }
    trial.pass(30);
    assert_eq!(trial.turn([]), Order::EndRound);
    assert_eq!(trial.ends(Ending::Stopped), Order::Wait);
    assert_eq!(trial.pause, Duration::from_secs(5));
    assert_eq!(
        trial.keeper.status().notes,
        [
            "a round broke off on 2 March 2026: it took longer than half an hour; see kept/log, and which sheet or rule \
          was changed before"
        ]
    );
    trial.pass(5);
    assert_eq!(trial.starts([]), work);
}

#[test]
fn it_ends_when_told_to_at_any_point() {
    let mut idle = Trial::starting("2026-03-02T05:00:00Z");
    let work = idle.starts([]);
    idle.ends(well(&work));
    assert_eq!(idle.turn([Event::Changed, Event::Stop]), Order::Finish);

    let mut busy = Trial::starting("2026-03-02T07:30:00Z");
    let work = busy.starts([]);
    assert_eq!(busy.turn([Event::Stop]), Order::EndRound);
    assert_eq!(busy.ends(Ending::Stopped), Order::Finish);
    assert_eq!(
        busy.keeper.status().notes,
        Vec::<String>::new(),
        "an end that was asked for is nothing wrong"
    );

    let mut just_done = Trial::starting("2026-03-02T07:30:00Z");
    just_done.starts([]);
    assert_eq!(just_done.turn([Event::Stop, Event::Ended(well(&work))]), Order::Finish);
    assert_eq!(just_done.keeper.status().told, BTreeSet::from([date(2026, 3, 2)]));
}

#[test]
fn a_clock_that_is_put_right_within_a_quarter_of_an_hour_leaves_no_trace() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let work = trial.starts([]);
    trial.ends(well(&work));
    trial.now = moment("2099-01-01T12:00:00Z");
    let started = trial.until("2099-01-01T12:10:00Z", &mut well);
    assert_eq!(started, [], "a clock that may be wrong tells nothing");
    trial.now = moment("2026-03-02T07:40:00Z");
    let started = trial.until("2026-03-02T07:50:00Z", &mut well);
    assert_eq!(started, at(&[("2026-03-02T07:40:00Z", morning(2))]));
}

#[test]
fn a_clock_that_stays_is_believed_after_a_quarter_of_an_hour_and_the_letter_says_so() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let work = trial.starts([]);
    trial.ends(well(&work));
    trial.now = moment("2026-05-05T12:00:00Z");
    let started = trial.until("2026-05-05T12:20:00Z", &mut well);
    let note = "this PC's clock went from 2 March 2026, 05:00 to 5 May 2026, 13:15 in one step, or the PC was off \
                meanwhile; see that its date is right";
    let expected = Work { tells: Tells::Morning, day: date(2026, 5, 5), trouble: vec![note.to_owned()] };
    assert_eq!(started.len(), 1, "{started:?}");
    assert_eq!(started[0].1.trouble, expected.trouble);
    assert_eq!(started[0].1, expected);
    assert!(trial.keeper.status().notes.is_empty());
}

#[test]
fn a_day_long_past_is_told_once_too_by_a_clock_that_stays_there() {
    let mut trial = Trial::starting("2001-03-05T12:00:00Z");
    let many: BTreeSet<Date> =
        (0..200).map(|days| date(2026, 1, 1) + SignedDuration::from_hours(24 * days)).collect();
    let mut ending = |work: &Work| {
        let Ending::Answered(mut answer) = well(work) else { unreachable!("a sound round answers") };
        answer.told.extend(&many);
        Ending::Answered(answer)
    };
    let started = trial.until("2001-03-05T23:00:00Z", &mut ending);
    let mornings = started.iter().filter(|(_, work)| work.tells == Tells::Morning).count();
    assert_eq!(mornings, 1, "{started:?}");
    assert!(trial.keeper.status().told.len() <= 61, "few are remembered");
}

#[test]
fn a_keeper_that_starts_after_a_leap_holds_off_too() {
    let mut before = Trial::starting("2026-03-02T05:00:00Z");
    before.starts([]);
    let status = before.keeper.status();
    let mut trial = Trial::after("2030-01-01T12:00:00Z", Some(&status));
    assert_eq!(trial.turn([]), Order::Wait);
    trial.now = moment("2026-03-02T07:30:00Z");
    assert_eq!(trial.starts([]), morning(2));
}

#[test]
fn a_letter_dated_ahead_silences_nobody_and_is_said_once() {
    let mut trial = Trial::starting("2026-03-02T07:30:00Z");
    let mut ahead = |work: &Work| {
        let Ending::Answered(mut answer) = well(work) else { unreachable!("a sound round answers") };
        answer.told.insert(date(2031, 1, 1));
        Ending::Answered(answer)
    };
    let started = trial.until("2026-03-04T08:00:00Z", &mut ahead);
    let mornings: Vec<Work> =
        started.into_iter().map(|(_, work)| work).filter(|work| work.tells == Tells::Morning).collect();
    let note = "a letter dated 1 January 2031 went out already, so this PC's clock was wrong then or is wrong now, and \
                perhaps no further letter comes for that day; see that its date is right";
    assert_eq!(mornings, [morning(2), Work { trouble: vec![note.to_owned()], ..morning(3) }, morning(4)]);
}

#[test]
fn a_clock_that_falls_behind_many_letters_leaves_room_for_other_news() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    trial.until("2026-03-21T08:00:00Z", &mut well);
    trial.now = moment("2026-03-03T09:00:00Z");
    trial.until("2026-03-03T09:20:00Z", &mut well);
    assert_eq!(
        trial.keeper.status().notes,
        [
            "this PC's clock went from 21 March 2026, 07:59 to 3 March 2026, 09:15 in one step, or the PC was off \
             meanwhile; see that its date is right",
            "letters dated 4 March 2026 to 21 March 2026 went out already, so this PC's clock was wrong then or is \
             wrong now, and perhaps no further letter comes for that day; see that its date is right",
        ]
    );
}

#[test]
fn a_day_that_a_clock_told_ahead_is_told_on_its_day_once_the_ledger_knows() {
    let mut before = Trial::starting("2026-03-02T07:30:00Z");
    let work = before.starts([]);
    let Ending::Answered(mut ahead) = well(&work) else { unreachable!("a sound round answers") };
    ahead.told.insert(date(2026, 3, 4));
    before.ends(Ending::Answered(ahead));
    // The PC is off until that day, and the ledger has learnt meanwhile that the letter was sent ahead.
    let mut trial = Trial::after("2026-03-04T07:30:00Z", Some(&before.keeper.status()));
    let mut is_told = false;
    let mut ending = |work: &Work| {
        is_told |= work.tells == Tells::Morning;
        let Ending::Answered(mut answer) = well(work) else { unreachable!("a sound round answers") };
        answer.to_tell_anew = (!is_told).then_some(date(2026, 3, 4)).into_iter().collect();
        Ending::Answered(answer)
    };
    let started = trial.until("2026-03-04T12:00:00Z", &mut ending);
    let told: Vec<_> = started.into_iter().map(|(at, work)| (at, work.tells)).collect();
    let expected = [("2026-03-04T07:30:00Z", Tells::Nothing), ("2026-03-04T07:30:01Z", Tells::Morning)];
    assert_eq!(told, expected.map(|(at, tells)| (at.to_owned(), tells)));
}

#[test]
fn a_file_that_has_not_settled_is_looked_at_again_ever_less_often() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    let mut looks = 0;
    let mut ending = |work: &Work| {
        looks += 1;
        Ending::Answered(Answer { unsettled: looks < 7, ..answer(work.day) })
    };
    let started = trial.until("2026-03-02T07:00:00Z", &mut ending);
    let moments: Vec<&str> = started.iter().map(|(moment, _)| moment.as_str()).collect();
    let expected = [
        "2026-03-02T05:00:00Z",
        "2026-03-02T05:00:11Z",
        "2026-03-02T05:00:32Z",
        "2026-03-02T05:01:13Z",
        "2026-03-02T05:02:14Z",
        "2026-03-02T05:03:15Z",
        "2026-03-02T05:04:16Z",
    ];
    assert_eq!(moments, expected);
}

#[test]
fn a_mail_is_tried_when_it_is_due_and_never_in_a_rush() {
    let mut trial = Trial::starting("2026-03-02T09:00:00Z");
    let mut tries = 0;
    let mut ending = |work: &Work| {
        tries += 1;
        let next_mail = match tries {
            1 => Some(moment("2026-03-02T09:15:00Z")),
            // One that is due again at once would be tried without a pause.
            2 => Some(moment("2026-03-02T09:00:00Z")),
            _ => None,
        };
        let Ending::Answered(answer) = well(work) else { unreachable!("a sound round answers") };
        Ending::Answered(Answer { next_mail, ..answer })
    };
    let started = trial.until("2026-03-02T12:00:00Z", &mut ending);
    let expected = at(&[
        ("2026-03-02T09:00:00Z", morning(2)),
        ("2026-03-02T09:15:00Z", nothing(2)),
        ("2026-03-02T09:16:01Z", nothing(2)),
    ]);
    assert_eq!(started, expected);
}

#[test]
fn changed_settings_move_the_letter() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    trial.until("2026-03-02T06:00:00Z", &mut well);
    let mut earlier = shop();
    earlier.days.letter_at = time(6, 15, 0, 0);
    earlier.days.closed_on = vec![date(2026, 3, 3)];
    trial.keeper.keep_to(earlier);
    let started = trial.until("2026-03-04T06:20:00Z", &mut well);
    let mornings: Vec<Date> =
        started.iter().filter(|(_, work)| work.tells == Tells::Morning).map(|(_, work)| work.day).collect();
    assert_eq!(mornings, [date(2026, 3, 2), date(2026, 3, 4)]);
}

#[test]
fn what_cannot_wait_is_told_at_once_on_open_days_where_the_shop_wants_it() {
    let mut wanting = shop();
    wanting.days.tell_at_once = true;
    for (now, tells) in [
        ("2026-03-02T05:00:00Z", Tells::AtOnce),
        // Sunday: nobody is there to read it.
        ("2026-03-08T12:00:00Z", Tells::Nothing),
    ] {
        let mut keeper = Keeper::new(wanting.clone(), moment(now), None);
        let Order::Start(work) = keeper.turn(moment(now), []).order else {
            panic!("a round is made at the start")
        };
        assert_eq!(work.tells, tells, "{now}");
    }
}

#[test]
fn what_cannot_wait_is_looked_for_where_the_morning_had_been_told_before_a_restart() {
    let mut trial = Trial::starting("2026-03-02T09:00:00Z");
    let days = ShopDays { tell_at_once: true, ..shop().days };
    trial.keeper.keep_to(Shop { days, ..shop() });
    let mut known = |work: &Work| {
        Ending::Answered(Answer { told: BTreeSet::from([date(2026, 3, 2)]), ..answer(work.day) })
    };
    let started = trial.until("2026-03-02T12:00:00Z", &mut known);
    let at_once = Work { tells: Tells::AtOnce, ..nothing(2) };
    assert_eq!(started, at(&[("2026-03-02T09:00:00Z", morning(2)), ("2026-03-02T09:00:10Z", at_once)]));
}

#[test]
fn a_person_who_asks_for_a_look_need_not_wait_for_the_next_try() {
    let mut trial = Trial::starting("2026-03-02T05:00:00Z");
    for pause in [5, 30, 60] {
        trial.starts([]);
        trial.ends(Ending::BrokeOff("it ended with exit code 2 and gave no answer".to_owned()));
        trial.pass(pause);
    }
    assert_eq!(trial.turn([]), Order::Wait, "the third pause is of five minutes");
    assert_eq!(trial.starts([Event::LookAgain]), nothing(2));
}

#[test]
fn a_letter_dated_ahead_is_said_once_however_often_the_pc_restarts() {
    let mut trial = Trial::starting("2026-03-02T07:30:00Z");
    let ahead = |work: &Work| {
        let Ending::Answered(mut answer) = well(work) else { unreachable!("a sound round answers") };
        answer.told.insert(date(2026, 3, 6));
        Ending::Answered(answer)
    };
    let mut said = Vec::new();
    for day in 2..=6 {
        let started = trial.until(&format!("2026-03-0{day}T09:00:00Z"), &mut { ahead });
        said.extend(started.into_iter().flat_map(|(_, work)| work.trouble));
        let text = serde_json::to_string(&trial.keeper.status()).unwrap();
        let status: Status = serde_json::from_str(&text).unwrap();
        trial = Trial::after(&format!("2026-03-0{day}T10:00:00Z"), Some(&status));
    }
    assert_eq!(said.len(), 1, "{said:?}");
    assert!(
        said[0].contains("6 March 2026") && said[0].contains("perhaps no further letter comes for that day")
    );
}

#[test]
fn a_letter_that_was_kept_nowhere_is_made_again_and_said_by_it() {
    let mut trial = Trial::starting("2026-03-02T07:30:00Z");
    let mut rounds = 0;
    let mut nowhere = |work: &Work| {
        rounds += 1;
        let lost = work.tells == Tells::Morning && rounds < 4;
        let note = "the letter could not be kept; see the disk".to_owned();
        match lost {
            true => Ending::Answered(Answer { kept_nowhere: Some(note), ..answer(work.day) }),
            false => well(work),
        }
    };
    let started = trial.until("2026-03-03T08:00:00Z", &mut nowhere);
    let mornings: Vec<Vec<String>> = started
        .into_iter()
        .filter(|(_, work)| work.tells == Tells::Morning)
        .map(|(_, work)| work.trouble)
        .collect();
    let note = vec!["the letter could not be kept; see the disk".to_owned()];
    assert_eq!(mornings, [vec![], note.clone(), note.clone(), note, vec![]]);
}
