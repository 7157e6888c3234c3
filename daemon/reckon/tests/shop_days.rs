//! The days of a shop: weekdays, bank holidays and the owner's own lists.

use jiff::civil::{Date, Weekday};

use super::super::{bank_holidays, is_open, next_open, open_days_between};
use super::day;
use crate::settings::{BankHolidays, ShopDays};

/// Monday to Saturday with the bank holidays of England and Wales, and what a test changes of it.
fn shop() -> ShopDays {
    ShopDays::default()
}

fn listed(days: impl IntoIterator<Item = Date>) -> String {
    days.into_iter().map(|day| day.to_string()).collect::<Vec<_>>().join(" ")
}

/// Source: GOV.UK's list of bank holidays, from memory; the `holidays` library has the same weekdays.
#[test]
fn bank_holidays_on_weekdays_are_the_published_ones() {
    for (whose, year, expected) in [
        (BankHolidays::EnglandAndWales, 2026, "01-01 04-03 04-06 05-04 05-25 08-31 12-25 12-28"),
        (BankHolidays::EnglandAndWales, 2027, "01-01 03-26 03-29 05-03 05-31 08-30 12-27 12-28"),
        (BankHolidays::Scotland, 2026, "01-01 01-02 04-03 05-04 05-25 06-15 08-03 11-30 12-25 12-28"),
        (BankHolidays::Scotland, 2027, "01-01 01-04 03-26 05-03 05-31 08-02 11-30 12-27 12-28"),
        (BankHolidays::NorthernIreland, 2026, "01-01 03-17 04-03 04-06 05-04 05-25 07-13 08-31 12-25 12-28"),
        (BankHolidays::None, 2026, ""),
    ] {
        let weekdays = bank_holidays(whose, year)
            .into_keys()
            .filter(|day| !matches!(day.weekday(), Weekday::Saturday | Weekday::Sunday))
            .map(|day| day.strftime("%m-%d").to_string())
            .collect::<Vec<_>>();
        assert_eq!(weekdays.join(" "), expected, "{whose:?} {year}");
    }
}

#[test]
fn a_holiday_on_a_weekend_closes_that_day_and_its_substitute() {
    let christmas = bank_holidays(BankHolidays::EnglandAndWales, 2027).into_iter().skip(6);
    let named: Vec<String> = christmas.map(|(day, name)| format!("{day} {name}")).collect();
    assert_eq!(
        named,
        [
            "2027-12-25 Christmas Day",
            "2027-12-26 Boxing Day",
            "2027-12-27 Christmas Day (substitute day)",
            "2027-12-28 Boxing Day (substitute day)",
        ]
    );
    // 24 December 2027 is a Friday.
    let open = open_days_between(&shop(), day("2027-12-23"), day("2027-12-31"));
    assert_eq!(listed(open), "2027-12-24 2027-12-29 2027-12-30 2027-12-31");
}

#[test]
fn no_year_is_without_an_answer() {
    for year in [i16::MIN, -9999, -1, 0, 1, 1582, 9999, i16::MAX] {
        let holidays = bank_holidays(BankHolidays::Scotland, year);
        assert!(holidays.keys().all(|day| day.year() == year), "{year}");
    }
    assert_eq!(bank_holidays(BankHolidays::EnglandAndWales, 2199).len(), 8);
}

#[test]
fn the_owners_own_lists_come_before_weekdays_and_bank_holidays() {
    let days = ShopDays {
        open: vec![Weekday::Tuesday, Weekday::Wednesday, Weekday::Sunday],
        closed_on: vec![day("2026-03-03"), day("2026-03-04")],
        open_on: vec![day("2026-04-03"), day("2026-03-04")],
        ..shop()
    };
    for (date, open, why) in [
        ("2026-03-01", true, "a Sunday on which this shop is open"),
        ("2026-03-02", false, "a Monday on which it is not"),
        ("2026-03-03", false, "a Tuesday of the list"),
        ("2026-03-04", true, "a day of both lists"),
        ("2026-03-10", true, "a Tuesday"),
        ("2026-04-03", true, "Good Friday, open all the same"),
    ] {
        assert_eq!(is_open(&days, day(date)), open, "{why}");
    }
    let bank_holidays_worked = ShopDays { bank_holidays: BankHolidays::None, ..shop() };
    assert!(is_open(&bank_holidays_worked, day("2026-12-25")));
    assert!(!is_open(&shop(), day("2026-12-25")));
}

#[test]
fn the_next_open_day_skips_easter_and_a_works_holiday() {
    assert_eq!(next_open(&shop(), day("2026-03-02")), Some(day("2026-03-03")));
    // Saturday, then Sunday and Easter Monday.
    assert_eq!(next_open(&shop(), day("2026-04-04")), Some(day("2026-04-07")));
    let on_holiday = ShopDays { closed_on: vec![day("2026-04-07"), day("2026-04-08")], ..shop() };
    assert_eq!(next_open(&on_holiday, day("2026-04-04")), Some(day("2026-04-09")));
}

#[test]
fn a_shop_that_never_opens_has_no_next_day_and_the_search_ends() {
    let never = ShopDays { open: Vec::new(), ..shop() };
    assert_eq!(next_open(&never, day("2026-03-02")), None);
    assert_eq!(next_open(&shop(), Date::MAX), None);
}

#[test]
fn open_days_are_counted_after_the_first_and_with_the_last() {
    let between = |after: &str, until: &str| listed(open_days_between(&shop(), day(after), day(until)));
    assert_eq!(between("2026-03-02", "2026-03-02"), "");
    assert_eq!(between("2026-03-02", "2026-03-01"), "");
    assert_eq!(between("2026-02-27", "2026-03-03"), "2026-02-28 2026-03-02 2026-03-03");
    assert_eq!(between("2026-04-02", "2026-04-07"), "2026-04-04 2026-04-07");
    // A file whose time stamp is that of an emptied clock: ten years are 3660 days here, back to 23 February 2016.
    let many = open_days_between(&shop(), day("1970-01-01"), day("2026-03-02"));
    assert_eq!(many.first(), Some(&day("2016-02-24")));
}
