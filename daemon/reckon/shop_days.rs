//! On which days the shop is open.

use jiff::civil::Date;

use super::bank_holidays::bank_holidays;
use crate::settings::ShopDays;
use crate::units::Days;

/// The farthest that is looked for an open day: a shop that is closed for longer is closed for good.
const AHEAD_MOST: Days = Days(2 * 366);

/// The longest stretch of which the open days are told.
const STRETCH_MOST: Days = Days(10 * 366);

/// Whether the shop is open on a day: the owner's own lists first, then the days of the week and the bank holidays.
pub fn is_open(days: &ShopDays, day: Date) -> bool {
    if days.open_on.contains(&day) {
        return true;
    }
    !days.closed_on.contains(&day)
        && days.open.contains(&day.weekday())
        && !bank_holidays(days.bank_holidays, day.year()).contains_key(&day)
}

/// The first open day after a day, which does not count itself; `None` where none comes within two years.
pub fn next_open(days: &ShopDays, after: Date) -> Option<Date> {
    (1..=AHEAD_MOST.0).map_while(|ahead| Days(ahead).after(after)).find(|day| is_open(days, *day))
}

/// The open days after a day, up to and with another, in order; of a longer stretch, those of its last ten years.
pub fn open_days_between(days: &ShopDays, after: Date, until: Date) -> Vec<Date> {
    let earliest = STRETCH_MOST.before(until);
    let after = earliest.map_or(after, |earliest| after.max(earliest));
    (1..=STRETCH_MOST.0)
        .map_while(|ahead| Days(ahead).after(after))
        .take_while(|day| *day <= until)
        .filter(|day| is_open(days, *day))
        .collect()
}
