//! The MOT: the certificate's last day, or the day by which the first test is needed, and how early to test.

use jiff::civil::Date;

use super::subject::{Subject, day_cell};
use super::{Fact, Missing, Mot, Reckoned};
use crate::origin::{Entry, Evidence};
use crate::settings::Region;
use crate::units::{Days, Months, months_after, months_before, shown_day};

/// A machine built or registered longer ago than this may be exempt (GOV.UK, historic vehicles: MOT exemption
/// criteria; nidirect for Northern Ireland): whether it is turns on changes that no sheet tells of.
const EXEMPT_AFTER: Months = Months(40 * 12);

/// Once the first test is so long past, its own certificate has run out as well: the machine must have had one
/// since that nobody wrote down.
const FIRST_TEST_SPEAKS_FOR: Months = Months(12);

/// How a machine's MOT stands.
pub(super) fn mot(subject: &Subject<'_>) -> Mot {
    let row = &subject.machine.row;
    let (expiry, worked_out) = match &row.mot_expiry {
        Some(expiry) => {
            let cell = day_cell("MOT expiry", expiry);
            (Ok(Reckoned { value: expiry.value, shown_by: vec![cell] }), false)
        }
        None => (first_needed(subject), true),
    };
    let earliest_test = expiry.clone().and_then(|expiry| {
        let value = earliest_test(expiry.value).ok_or_else(|| Missing::fact("mot expiry"))?;
        Ok(Reckoned { value, shown_by: expiry.shown_by })
    });
    Mot { expiry, worked_out, earliest_test }
}

/// The first day on which a test keeps the renewal date: the expiry less a month, and a day.
///
/// Source: GOV.UK, `up to a month (minus a day) before it runs out`; 15 May gives 16 April. The month is taken
/// first, then the day, so that 28 February gives 29 January. `None` before the calendar begins.
pub(super) fn earliest_test(expiry: Date) -> Option<Date> {
    Days(1).after(months_before(expiry, Months(1))?)
}

/// The months from first registration to the first test: Road Traffic Act 1988, section 47, in Great Britain;
/// nidirect, the MOT scheme, in Northern Ireland.
pub(super) fn first_test_after(region: Region) -> Months {
    match region {
        Region::GreatBritain => Months(36),
        Region::NorthernIreland => Months(48),
    }
}

/// The day by which the first test is needed. The law's words need it on the anniversary itself, GOV.UK's by the
/// anniversary; the earlier is taken.
fn first_needed(subject: &Subject<'_>) -> Fact<Date> {
    let row = &subject.machine.row;
    let old = |entry: &Option<Entry<Date>>| {
        entry.as_ref().is_some_and(|entry| {
            months_after(entry.value, EXEMPT_AFTER).is_some_and(|exempt| exempt <= subject.today)
        })
    };
    if old(&row.built) || old(&row.registered) {
        return Err(Missing::fact("whether it is exempt by age").and(Missing::fact("mot expiry")));
    }
    let registered =
        row.registered.as_ref().ok_or_else(|| Missing::fact("mot expiry or registration day"))?;
    let after = first_test_after(subject.practice.region);
    let needed = months_after(registered.value, after)
        .ok_or_else(|| Missing::fact("mot expiry or registration day"))?;
    if months_after(needed, FIRST_TEST_SPEAKS_FOR).is_some_and(|ended| ended < subject.today) {
        return Err(Missing::fact("mot expiry"));
    }
    let shown_by = vec![
        day_cell("registered", registered),
        Evidence::reckoned("first MOT", format!("{after} after, by {}", shown_day(needed))),
    ];
    Ok(Reckoned { value: needed, shown_by })
}
