//! `tickover status`: whether the long run is at work, what it did last, what comes next, and what is wrong.

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::arguments::WhichYard;
use super::{COULD_NOT_RUN, DONE, NEEDS_A_PERSON, say};
use crate::problem::counted;
use crate::round::{self, Lock, Tells, YardFolder};
use crate::unattended::{LastRound, Status};

/// Prints how the long run of a yard folder stands.
pub(super) fn run(place: &WhichYard) -> u8 {
    let folder = YardFolder::at(&place.yard);
    if !folder.is_laid_out() {
        say::problems(&[round::no_yard(&folder)]);
        return COULD_NOT_RUN;
    }
    let is_running = Lock::is_held(&folder.running_lock());
    let status = Status::read(&folder.status());
    let settings = round::settings_in_force(&folder, false).map(|(settings, _)| settings).unwrap_or_default();
    let zone = TimeZone::get(&settings.zone).unwrap_or(TimeZone::UTC);
    for line in lines(is_running, status.as_ref(), &zone) {
        say::out(&line);
    }
    let is_well = |status: &Status| {
        !status.clock_suspect
            && status.notes.is_empty()
            && status.last_round.as_ref().is_some_and(|round| round.trouble == 0)
    };
    if is_running && status.is_some_and(|status| is_well(&status)) { DONE } else { NEEDS_A_PERSON }
}

/// What is to be said, line by line.
fn lines(is_running: bool, status: Option<&Status>, zone: &TimeZone) -> Vec<String> {
    let Some(status) = status else {
        let word =
            if is_running { "Running; it has just begun." } else { "Not running, and never was here." };
        return vec![word.to_owned()];
    };
    let shown =
        |moment: Timestamp| moment.to_zoned_datetime(zone.clone()).strftime("%A %-d %B, %H:%M").to_string();
    let mut lines = vec![if is_running {
        format!("Running since {}.", shown(status.started))
    } else {
        format!("Not running. It was last at work on {}.", shown(status.seen))
    }];
    lines.push(match &status.last_round {
        Some(round) => format!("Last round: {}, {}.", shown(round.at), counts(round)),
        None => "Last round: none yet.".to_owned(),
    });
    // A day to come was told by a clock that was ahead.
    let seen = status.seen.to_zoned_datetime(zone.clone()).date();
    lines.push(match status.told.range(..=seen).next_back() {
        Some(day) if day.year() != seen.year() => format!("Last letter: {}.", day.strftime("%A %-d %B %Y")),
        Some(day) => format!("Last letter: {}.", day.strftime("%A %-d %B")),
        None => "Last letter: none yet.".to_owned(),
    });
    if is_running && status.clock_suspect {
        lines.push(format!(
            "Wrong: this PC's clock has leapt from {}; it is given a quarter of an hour to be put right, and nothing is \
             told meanwhile.",
            shown(status.seen)
        ));
    } else if is_running {
        lines.push(match status.next_letter {
            Some(moment) => format!("Next letter: {}.", shown(moment)),
            None => "Next letter: no open day is in sight; see [days] in tickover.toml.".to_owned(),
        });
        lines.extend(status.next_mail.map(|due| format!("A mail waits; it is tried again {}.", shown(due))));
    }
    lines.extend(status.last_round.iter().filter(|round| round.complaints > 0).map(|round| {
        let count = round.complaints;
        format!("Not read in the sheets, or read with a doubt: {count}. The next letter says at its foot what to do.")
    }));
    let wrong = status.last_round.iter().flat_map(|round| &round.wrong);
    lines.extend(wrong.map(|what| format!("Wrong: {what}.")));
    lines.extend(status.notes.iter().map(|note| format!("Wrong: {note}.")));
    lines
}

fn counts(round: &LastRound) -> String {
    let told = match round.tells {
        Tells::Nothing => "",
        Tells::AtOnce => "looking for what cannot wait, ",
        Tells::Morning | Tells::MorningAgain => "for the morning letter, ",
    };
    let wrong = match (round.trouble, round.complaints) {
        (0, 0) => ", nothing wrong".to_owned(),
        (0, _) => String::new(),
        (trouble, _) => format!(", {} wrong", counted(trouble, "thing")),
    };
    format!(
        "{told}{}, {}, {} open{wrong}",
        counted(round.sheets, "sheet"),
        counted(round.machines, "machine"),
        counted(round.findings, "finding"),
    )
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn nothing_is_called_wrong_only_where_the_letter_has_no_complaint_either() {
        let at: Timestamp = "2026-03-02T07:30:00Z".parse().unwrap();
        let told = |complaints, trouble| {
            let wrong = if trouble == 0 { Vec::new() } else { vec!["sheets: none is there".to_owned()] };
            let tells = Tells::Nothing;
            let last =
                LastRound { at, tells, sheets: 2, machines: 3, findings: 4, complaints, trouble, wrong };
            let status = Status {
                started: at,
                seen: at,
                told: BTreeSet::new(),
                last_round: Some(last),
                next_letter: None,
                next_mail: None,
                told_ahead: BTreeSet::new(),
                notes: Vec::new(),
                clock_suspect: false,
            };
            let lines = lines(false, Some(&status), &TimeZone::UTC);
            [lines[1].clone(), lines[3..].join("\n")]
        };
        let round = "Last round: Monday 2 March, 07:30, 2 sheets, 3 machines, 4 findings open";
        let unread =
            "Not read in the sheets, or read with a doubt: 2. The next letter says at its foot what to do.";
        let none = "Wrong: sheets: none is there.";
        assert_eq!(told(0, 0), [format!("{round}, nothing wrong."), String::new()]);
        assert_eq!(told(2, 0), [format!("{round}."), unread.to_owned()]);
        assert_eq!(told(0, 1), [format!("{round}, 1 thing wrong."), none.to_owned()]);
        assert_eq!(told(2, 1), [format!("{round}, 1 thing wrong."), format!("{unread}\n{none}")]);
    }
}
