//! Whether exports still come: that they have stopped is the commonest fault that nobody notices.

use jiff::civil::Date;

use super::exports::day_in_words;
use crate::problem::{Place, Problem};
use crate::reckon::is_open;
use crate::settings::Settings;
use crate::units::Days;

/// The most days that are looked back over: a year, and the setting allows 60 open days.
const DAYS_MAX: i64 = 366;

/// What to say where the newest of all sheets is older than the shop's setting allows: so many open days have gone by
/// since, today not counted.
pub(super) fn problem(newest: Date, today: Date, settings: &Settings) -> Option<Problem> {
    let days = Days::between(newest, today).0.min(DAYS_MAX);
    let open =
        (1..days).filter_map(|ago| Days(ago).before(today)).filter(|day| is_open(&settings.days, *day));
    let has_stopped = open.count() >= settings.days.stale_after as usize;
    has_stopped.then(|| {
        Problem::error(
            Place::file(settings.folders.join(", ")),
            format!("no new export has come since {}", day_in_words(newest, today)),
            "See that the record program still exports to this folder. Until it does, all is judged by what was \
             known that day.",
        )
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::settings::ShopDays;

    #[test]
    fn exports_that_have_stopped_are_said_after_so_many_open_days() {
        let closed = vec![date(2026, 3, 5)];
        let days = ShopDays { stale_after: 3, closed_on: closed, ..ShopDays::default() };
        let settings = Settings { days, ..Settings::default() };
        let monday = date(2026, 3, 2);
        // Tuesday, Wednesday and Friday are open, Thursday is not, Sunday never is.
        for (today, expected) in [
            (monday, None),
            (date(2026, 3, 1), None),
            (date(2026, 3, 6), None),
            (date(2026, 3, 7), Some("no new export has come since Monday 2 March")),
            (date(2027, 6, 1), Some("no new export has come since Monday 2 March 2026")),
        ] {
            let problem = problem(monday, today, &settings);
            assert_eq!(problem.map(|it| it.what).as_deref(), expected, "{today}");
        }
    }
}
