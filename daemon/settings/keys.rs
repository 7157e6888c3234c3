//! Every key of the settings file, once: its name, its explanation, how it is read and how it is written.

use super::Settings;
use super::day_values::{
    bank_holidays, dates, days_kept, time_of_day, weekdays, written_bank_holidays, written_dates,
    written_days_kept, written_time_of_day, written_weekdays,
};
use super::in_part::IN_PART;
use super::mail::{self, MAIL};
use super::read::SERVICE_WORDS;
use super::text::Fault;
use super::values::{
    Value, address, count, date_order, distance, line, list, quoted, quoted_list, region, size, unit, words,
    written_date_order, written_distance, written_region, written_size, written_unit, yes_or_no, zone,
};

/// One key under a heading.
pub(super) struct Key {
    /// The key as it is written.
    pub(super) name: &'static str,
    /// What it settles and what is allowed, for the comment above it.
    pub(super) explained: &'static str,
    /// Reads its value into the settings; what cannot be used becomes a fault and leaves them as they were.
    pub(super) read: fn(&Value<'_>, &mut Settings, &mut Vec<Fault>),
    /// Its value in the settings, as TOML.
    pub(super) written: fn(&Settings) -> String,
}

/// The keys above the first heading.
pub(super) const TOP: &[Key] = &[Key {
    name: "folders",
    explained: "The folders that exports are dropped in (or single files): below the yard folder, or in full. A Windows path stands \
                in single quotes: 'D:\\exports'. It must stay above the first [heading].",
    read: |value, settings, faults| {
        let folders = list(value, words, faults);
        if folders.as_ref().is_some_and(Vec::is_empty) {
            faults.push(Fault::new(
                value.span(),
                "no folder is named, so nothing would be read",
                "Name the folders that exports are dropped in: [\"sheets\"].",
            ));
        }
        put(&mut settings.folders, folders.filter(|folders| !folders.is_empty()));
    },
    written: |settings| quoted_list(&settings.folders),
}];

/// The keys under `[shop]`.
pub(super) const SHOP: &[Key] = &[
    Key {
        name: "name",
        explained: "The shop's name, as the letter shows it.",
        read: |value, settings, faults| take(&mut settings.shop, line(value), faults),
        written: |settings| quoted(&settings.shop),
    },
    Key {
        name: "zone",
        explained: "The time zone in which the shop's days begin.",
        read: |value, settings, faults| take(&mut settings.zone, zone(value), faults),
        written: |settings| quoted(&settings.zone),
    },
    Key {
        name: "clock_unit",
        explained: "What an odometer counts in where nothing else tells: \"miles\" or \"km\".",
        read: |value, settings, faults| take(&mut settings.clock_unit, unit(value), faults),
        written: |settings| written_unit(settings.clock_unit),
    },
    Key {
        name: "dates",
        explained: "How 03/04/2026 reads where its column does not settle it: \"day first\" or \"month first\".",
        read: |value, settings, faults| take(&mut settings.date_order, date_order(value), faults),
        written: |settings| written_date_order(settings.date_order),
    },
    Key {
        name: "hands_over",
        explained: "true: the shop hands machines over to their owners, and a column should tell when; false: it only \
                    services, and every machine that it lists is a customer's.",
        read: |value, settings, faults| take(&mut settings.practice.hands_over, yes_or_no(value), faults),
        written: |settings| settings.practice.hands_over.to_string(),
    },
    Key {
        name: "gone",
        explained: "The machines that have left for good (sold on, scrapped, sent back), each by its mark, stock number or \
                    frame number: [\"AB12 CDE\", \"F101\"]. Once no sheet lists one, what was open of it is settled and \
                    nothing more is told of it; its history stays.",
        read: |value, settings, faults| put(&mut settings.gone, list(value, words, faults)),
        written: |settings| quoted_list(&settings.gone),
    },
];

/// The keys under `[practice]`; the words of its services stand under a heading of their own.
pub(super) const PRACTICE: &[Key] = &[
    Key {
        name: "region",
        explained: "Whose law the MOT follows: \"Great Britain\" (first one after three years) or \"Northern \
                    Ireland\" (four).",
        read: |value, settings, faults| take(&mut settings.practice.region, region(value), faults),
        written: |settings| written_region(settings.practice.region),
    },
    Key {
        name: "checks_before_handover",
        explained: "The checks that must have passed before a machine is handed over. A blank is never a pass.",
        read: |value, settings, faults| {
            let checks = list(value, words, faults);
            put(&mut settings.practice.checks_before_handover, checks);
        },
        written: |settings| quoted_list(&settings.practice.checks_before_handover),
    },
    Key {
        name: "second_person_check",
        explained: "The one of them that another person must sign than the one who signed the first; \"\" for none.",
        read: |value, settings, faults| take(&mut settings.practice.second_person_check, line(value), faults),
        written: |settings| quoted(&settings.practice.second_person_check),
    },
    Key {
        name: "rides_before_handover",
        explained: "How many road tests before a handover.",
        read: |value, settings, faults| {
            let rides = count(value, 0..=RIDES_MOST).map(whole);
            take(&mut settings.practice.rides_before_handover, rides, faults);
        },
        written: |settings| settings.practice.rides_before_handover.to_string(),
    },
    Key {
        name: "ride_days_before_handover",
        explained: "On how many different days, at least.",
        read: |value, settings, faults| {
            let days = count(value, 0..=RIDES_MOST).map(whole);
            take(&mut settings.practice.ride_days_before_handover, days, faults);
        },
        written: |settings| settings.practice.ride_days_before_handover.to_string(),
    },
    Key {
        name: "ride_distance_before_handover",
        explained: "How far in all, with the unit: \"10 miles\" or \"16 km\".",
        read: |value, settings, faults| {
            take(&mut settings.practice.ride_distance_before_handover, distance(value), faults);
        },
        written: |settings| written_distance(settings.practice.ride_distance_before_handover),
    },
];

/// More road tests than any shop makes before a handover.
const RIDES_MOST: u64 = 20;

/// The keys under `[letter]`.
pub(super) const LETTER: &[Key] = &[
    Key {
        name: "from",
        explained: "The address that the letter comes from.",
        read: |value, settings, faults| {
            // What only shows as a whole: nothing is sent in another's name than the one that was meant.
            take(&mut settings.from, Ok(String::new()), faults);
            take(&mut settings.from, address(value), faults);
        },
        written: |settings| quoted(&settings.from),
    },
    Key {
        name: "to",
        explained: "The addresses that get the whole letter. It is sent once [mail] is filled in; until then it is only \
                    put into digests/, as a copy of every letter is.",
        read: |value, settings, faults| {
            // Never to the example's address instead of the one that was meant.
            settings.to = list(value, address, faults).unwrap_or_default();
        },
        written: |settings| quoted_list(&settings.to),
    },
];

/// The keys under `[days]`.
pub(super) const DAYS: &[Key] = &[
    Key {
        name: "letter_at",
        explained: "When the letter goes out, by the clock on the shop's wall.",
        read: |value, settings, faults| take(&mut settings.days.letter_at, time_of_day(value), faults),
        written: |settings| written_time_of_day(settings.days.letter_at),
    },
    Key {
        name: "open",
        explained: "The days of the week on which the shop is open, and so gets a letter.",
        read: |value, settings, faults| {
            let open = weekdays(value, faults);
            put(&mut settings.days.open, open);
        },
        written: |settings| written_weekdays(&settings.days.open),
    },
    Key {
        name: "bank_holidays",
        explained: "Whose bank holidays it is closed on: \"England and Wales\", \"Scotland\", \"Northern Ireland\" or \
                    \"none\". One on a weekend closes that day and the weekday that is kept for it.",
        read: |value, settings, faults| take(&mut settings.days.bank_holidays, bank_holidays(value), faults),
        written: |settings| written_bank_holidays(settings.days.bank_holidays),
    },
    Key {
        name: "closed_on",
        explained: "Further days on which it is closed, each as \"2026-12-24\" or \"2027-08-02 to 2027-08-14\"; a newly \
                    proclaimed holiday belongs here, too.",
        read: |value, settings, faults| {
            let closed_on = dates(value, faults);
            put(&mut settings.days.closed_on, closed_on);
        },
        written: |settings| written_dates(&settings.days.closed_on),
    },
    Key {
        name: "open_on",
        explained: "Days on which it is open although it would be closed, written in the same way.",
        read: |value, settings, faults| {
            let open_on = dates(value, faults);
            put(&mut settings.days.open_on, open_on);
        },
        written: |settings| written_dates(&settings.days.open_on),
    },
    Key {
        name: "tell_at_once",
        explained: "true tells of a machine that must not leave the yard as soon as it is known, by a letter of its \
                    own, once the morning letter has gone out; false leaves it to the next morning's.",
        read: |value, settings, faults| take(&mut settings.days.tell_at_once, yes_or_no(value), faults),
        written: |settings| settings.days.tell_at_once.to_string(),
    },
    Key {
        name: "stale_after",
        explained: "After how many open days without a fresh export the letter says so at its top.",
        read: |value, settings, faults| {
            let days = count(value, 1..=STALE_MOST.into());
            let days = days.map(|days| u32::try_from(days).unwrap_or(STALE_MOST));
            take(&mut settings.days.stale_after, days, faults);
        },
        written: |settings| settings.days.stale_after.to_string(),
    },
];

/// More open days without an export than anybody would work on: two months.
const STALE_MOST: u32 = 60;

/// The keys under `[kept]`.
pub(super) const KEPT: &[Key] = &[Key {
    name: "forget_machines_after",
    explained: "How long a machine is remembered that no sheet names any more, in days or years: \"400 days\", \
                \"3 years\". Then everything personal about it is removed.",
    read: |value, settings, faults| take(&mut settings.retention.unseen_days, days_kept(value), faults),
    written: |settings| written_days_kept(settings.retention.unseen_days),
}];

/// The keys under `[limits]`, written as comments while they have their usual values.
///
/// The greatest allowed values only keep a slip of the keyboard from asking for more than a PC has.
pub(super) const LIMITS: &[Key] = &[
    Key {
        name: "file_size",
        explained: "The largest file that is read, and the most text that its cells may hold.",
        read: |value, settings, faults| {
            take(&mut settings.limits.file_bytes, size(value, KILOBYTE..=4 * GIGABYTE), faults);
        },
        written: |settings| written_size(settings.limits.file_bytes),
    },
    Key {
        name: "unpacked_size",
        explained: "The largest that a workbook may unpack to.",
        read: |value, settings, faults| {
            take(&mut settings.limits.unpacked_bytes, size(value, KILOBYTE..=16 * GIGABYTE), faults);
        },
        written: |settings| written_size(settings.limits.unpacked_bytes),
    },
    Key {
        name: "rows",
        explained: "The most rows of a sheet.",
        read: |value, settings, faults| {
            take(&mut settings.limits.rows, count(value, 1..=10_000_000).map(whole), faults);
        },
        written: |settings| settings.limits.rows.to_string(),
    },
    Key {
        name: "columns",
        explained: "The most columns of a sheet.",
        read: |value, settings, faults| {
            take(&mut settings.limits.columns, count(value, 1..=16_384).map(whole), faults);
        },
        written: |settings| settings.limits.columns.to_string(),
    },
    Key {
        name: "cells",
        explained: "The most cells of a file.",
        read: |value, settings, faults| {
            take(&mut settings.limits.cells, count(value, 1..=100_000_000).map(whole), faults);
        },
        written: |settings| settings.limits.cells.to_string(),
    },
    Key {
        name: "cell_characters",
        explained: "The most characters of a cell.",
        read: |value, settings, faults| {
            take(&mut settings.limits.cell_characters, count(value, 1..=1_000_000).map(whole), faults);
        },
        written: |settings| settings.limits.cell_characters.to_string(),
    },
    Key {
        name: "reader_memory",
        explained: "The most memory that reading a workbook may take.",
        read: |value, settings, faults| {
            take(&mut settings.limits.reader_bytes, size(value, 64 * MEGABYTE..=16 * GIGABYTE), faults);
        },
        written: |settings| written_size(settings.limits.reader_bytes),
    },
    Key {
        name: "reader_seconds",
        explained: "The longest that reading a workbook may take, in seconds.",
        read: |value, settings, faults| {
            take(&mut settings.limits.reader_seconds, count(value, 1..=3_600), faults);
        },
        written: |settings| settings.limits.reader_seconds.to_string(),
    },
    Key {
        name: "files",
        explained: "The most files of a folder.",
        read: |value, settings, faults| {
            take(&mut settings.limits.files, count(value, 1..=100_000).map(whole), faults);
        },
        written: |settings| settings.limits.files.to_string(),
    },
    Key {
        name: "findings_of_a_rule",
        explained: "The most findings of one rule.",
        read: |value, settings, faults| {
            take(&mut settings.limits.findings_of_a_rule, count(value, 1..=1_000_000).map(whole), faults);
        },
        written: |settings| settings.limits.findings_of_a_rule.to_string(),
    },
];

const KILOBYTE: u64 = 1 << 10;
const MEGABYTE: u64 = 1 << 20;
const GIGABYTE: u64 = 1 << 30;

/// The headings with their keys, in the file's order; those of `[mail]` are read together and stand in `mail`.
pub(super) const HEADINGS: [(&str, &[Key]); 7] = [
    ("shop", SHOP),
    ("practice", PRACTICE),
    ("letter", LETTER),
    ("days", DAYS),
    (MAIL, &[]),
    ("kept", KEPT),
    ("limits", LIMITS),
];

/// Every name that can stand under a heading (`None`: above the first one).
pub(super) fn names_under(heading: Option<&str>) -> Vec<&'static str> {
    let Some(heading) = heading else { return TOP.iter().map(|key| key.name).collect() };
    let keys = HEADINGS.iter().find(|(name, _)| *name == heading).map_or(&[][..], |(_, keys)| keys);
    let names = keys.iter().map(|key| key.name);
    match heading {
        MAIL => mail::KEYS.iter().map(|key| key.name).collect(),
        "practice" => names.chain([SERVICE_WORDS]).collect(),
        "letter" => names.chain([IN_PART]).collect(),
        _ => names.collect(),
    }
}

/// A count that its range keeps far below what any machine counts to.
fn whole(count: u64) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

/// Takes a value over, or notes what is wrong with it.
fn take<T>(setting: &mut T, read: Result<T, Fault>, faults: &mut Vec<Fault>) {
    match read {
        Ok(value) => *setting = value,
        Err(fault) => faults.push(fault),
    }
}

/// Takes a value over where there is one.
fn put<T>(setting: &mut T, value: Option<T>) {
    if let Some(value) = value {
        *setting = value;
    }
}
