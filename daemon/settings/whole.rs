//! What only shows when all settings are known: keys that contradict each other.

use std::ops::Range;

use super::mail::is_this_machine;
use super::same::check_key;
use super::text::Fault;
use super::{BankHolidays, Practice, Region, Settings};
use crate::problem::counted;

/// What only shows when all keys are known.
pub(super) fn check_as_a_whole(settings: &mut Settings, text: &str, faults: &mut Vec<Fault>) {
    sender(settings);
    receivers(settings, text, faults);
    shop_days(settings, text, faults);
    checks_once_each(&mut settings.practice, text, faults);
    second_person(&mut settings.practice, text, faults);
    let practice = &mut settings.practice;
    if practice.ride_days_before_handover > practice.rides_before_handover {
        let what = format!(
            "`ride_days_before_handover`: {} cannot be on {}",
            counted(practice.rides_before_handover, "ride"),
            counted(practice.ride_days_before_handover, "different day")
        );
        let help = format!(
            "Lower it, or raise `rides_before_handover`. Until then {} are asked for.",
            counted(practice.ride_days_before_handover, "ride")
        );
        let keys = ["ride_days_before_handover", "rides_before_handover"];
        faults.push(Fault::new(key_span(text, &keys), what, help));
        practice.rides_before_handover = practice.ride_days_before_handover;
    }
}

/// Sees to it that no letter is sent in a name that nobody meant: without a sender the account cannot be used.
fn sender(settings: &mut Settings) {
    if settings.from.is_empty() {
        settings.from = Settings::default().from;
        settings.mail_in_doubt |= settings.mail.take().is_some();
    }
}

/// Sees to it that everybody gets one letter, and somebody does where one is sent.
fn receivers(settings: &mut Settings, text: &str, faults: &mut Vec<Fault>) {
    let mut known: Vec<String> = settings.to.iter().map(|address| address.to_lowercase()).collect();
    settings.in_part.retain(|receiver| {
        let address = receiver.address.to_lowercase();
        if !known.contains(&address) {
            known.push(address);
            return true;
        }
        let what = format!("`in_part`: {} is a receiver already", receiver.address);
        let help =
            "Take one of the two lines out. Until then only the first one counts, and `to` before all.";
        faults.push(Fault::new(key_span(text, &[&format!("\"{}\"", receiver.address), "to"]), what, help));
        false
    });
    if settings.mail.is_some() && known.is_empty() {
        let help =
            "Name at least one address: to = [\"workshop@shop.example\"]. Until then nobody gets the letter.";
        faults.push(Fault::new(
            key_span(text, &["to"]),
            "`to`: nobody is named, so no letter can be sent",
            help,
        ));
    }
    note_examples(settings, text, faults);
}

/// Tells of an address that only an example can have (RFC 2606, section 2), where it would really be sent to.
fn note_examples(settings: &Settings, text: &str, faults: &mut Vec<Fault>) {
    let is_example = |name: &str| name.to_lowercase().ends_with(".example");
    let Some(account) = &settings.mail else { return };
    if is_this_machine(&account.server) || is_example(&account.server) {
        return;
    }
    for (key, mut addresses) in
        [("to", settings.to.iter()), ("from", std::slice::from_ref(&settings.from).iter())]
    {
        if let Some(address) = addresses.find(|address| is_example(address)) {
            let what = format!("`{key}`: {address} is an example, which no mail reaches");
            faults.push(Fault::note(key_span(text, &[key]), what, "Write your own address there."));
        }
    }
}

/// Sees to it that no day is both open and closed, and asks whose bank holidays are meant.
fn shop_days(settings: &mut Settings, text: &str, faults: &mut Vec<Fault>) {
    let days = &mut settings.days;
    if let Some(day) = days.closed_on.iter().find(|day| days.open_on.contains(day)) {
        let what = format!("`closed_on`: {day} stands under `open_on`, too");
        let help = "Take it out of one of the two. Until then the shop is open on such a day.";
        faults.push(Fault::new(key_span(text, &["closed_on"]), what, help));
        days.closed_on.retain(|day| !days.open_on.contains(day));
    }
    let at_home = match settings.practice.region {
        Region::GreatBritain => days.bank_holidays != BankHolidays::NorthernIreland,
        Region::NorthernIreland => {
            matches!(days.bank_holidays, BankHolidays::NorthernIreland | BankHolidays::None)
        }
    };
    if !at_home {
        let keys = ["bank_holidays", "region"];
        let what = "`bank_holidays` are kept elsewhere than where `region` has the shop";
        let help = "Let the two name the same part of the country.";
        faults.push(Fault::note(key_span(text, &keys), what, help));
    }
}

/// Takes a check out that stands in the list twice in two ways of writing: nobody records it twice.
fn checks_once_each(practice: &mut Practice, text: &str, faults: &mut Vec<Fault>) {
    let mut kept: Vec<String> = Vec::new();
    for check in std::mem::take(&mut practice.checks_before_handover) {
        let Some(same) = kept.iter().find(|other| check_key(other) == check_key(&check)) else {
            kept.push(check);
            continue;
        };
        let what = format!("`checks_before_handover`: \"{same}\" and \"{check}\" are the same check");
        let help = format!("Take one of them out. Until then only \"{same}\" is asked for.");
        faults.push(Fault::new(key_span(text, &["checks_before_handover"]), what, help));
    }
    practice.checks_before_handover = kept;
}

/// Sees to it that the second person's check is one of the list, and not the first, whose signer it is held
/// against: else one person could pass a machine alone, with nothing said.
fn second_person(practice: &mut Practice, text: &str, faults: &mut Vec<Fault>) {
    let second = practice.second_person_check.clone();
    if second.is_empty() {
        return;
    }
    let keys = ["second_person_check", "checks_before_handover"];
    let wanted = &practice.checks_before_handover;
    let Some(place) = wanted.iter().position(|check| check_key(check) == check_key(&second)) else {
        let what = format!("`second_person_check`: \"{second}\" is not among `checks_before_handover`");
        let help = "Name one of these checks, or \"\" for none. Until then it is asked for all the same.";
        faults.push(Fault::new(key_span(text, &keys), what, help));
        practice.checks_before_handover.push(second);
        return;
    };
    if place > 0 {
        return;
    }
    let others = wanted.iter().skip(1).rev().cloned().chain(Practice::default().checks_before_handover);
    let other = others.into_iter().find(|other| check_key(other) != check_key(&second));
    let other = other.expect("the usual checks are two");
    let what = format!(
        "`second_person_check`: \"{second}\" is the first of `checks_before_handover`, so that nobody else is asked"
    );
    let help = format!(
        "Name a later one of these checks, or \"\" for none. Until then another person must sign \"{other}\"."
    );
    faults.push(Fault::new(key_span(text, &keys), what, help));
    if wanted.len() == 1 {
        practice.checks_before_handover.push(other.clone());
    }
    practice.second_person_check = other;
}

/// Where the first of some keys that is there stands, at the start of a line; the file's start where none is.
fn key_span(text: &str, keys: &[&str]) -> Range<usize> {
    for key in keys {
        let mut start = 0;
        for line in text.split_inclusive('\n') {
            let indent = line.len() - line.trim_start().len();
            if line.trim_start().strip_prefix(key).is_some_and(|rest| rest.trim_start().starts_with('=')) {
                return start + indent..start + indent + key.len();
            }
            start += line.len();
        }
    }
    0..0
}
