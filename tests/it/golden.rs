//! Units and the calendar against published definitions and a reference library; see `tests/golden`.

use jiff::civil::Date;
use tickover::units::{Distance, DistanceUnit, Months, Volume, months_after};

/// The cells of the rows below a table's header; the tables used here have no comma inside a cell but in the
/// last one.
fn rows(table: &'static str, columns: usize) -> impl Iterator<Item = Vec<&'static str>> {
    assert!(table.lines().count() > 2, "a golden table has rows");
    table.lines().skip(1).map(move |line| line.splitn(columns, ',').collect())
}

fn day(text: &str) -> Date {
    text.parse().expect("a golden table's day is a day")
}

/// Source: python-dateutil's relativedelta, by way of `make_golden.py`.
#[test]
fn months_after_a_day_are_those_of_dateutil() {
    let mut count = 0;
    for row in rows(include_str!("../golden/months_after.csv"), 3) {
        let months = Months(row[1].parse().unwrap());
        assert_eq!(months_after(day(row[0]), months), Some(day(row[2])), "{row:?}");
        count += 1;
    }
    assert_eq!(count, 117);
}

/// Sources: Dodds v Walker [1981] 1 WLR 1027 (House of Lords): four months from 30 September end on 30 January;
/// E J Riley Investments v Eurostile Holdings: two months from 23 March end on 23 May.
#[test]
fn months_after_a_day_are_those_of_the_courts() {
    assert_eq!(months_after(day("1978-09-30"), Months(4)), Some(day("1979-01-30")));
    assert_eq!(months_after(day("1983-03-23"), Months(2)), Some(day("1983-05-23")));
}

/// Property: from one base day, more months never lead to an earlier day, and always to the base's own day of
/// the month or the month's last.
#[test]
fn months_are_counted_from_the_base_day() {
    let base = day("2025-01-31");
    assert_eq!(months_after(base, Months(1)), Some(day("2025-02-28")));
    assert_eq!(months_after(base, Months(2)), Some(day("2025-03-31")));
    let mut last = base;
    for months in 1..=120 {
        let next = months_after(base, Months(months)).unwrap();
        assert!(next > last && (next.day() == 31 || next == next.last_of_month()), "{months} months");
        last = next;
    }
}

/// Source: Units of Measurement Regulations 1995: 1 mile = 1.609344 km, 1 gallon = 4.54609 l, both exact.
#[test]
fn units_convert_as_the_regulations_define_them() {
    for row in rows(include_str!("../golden/units.csv"), 5) {
        let count: i64 = row[0].parse().unwrap();
        let found = match (row[1], row[2]) {
            ("km", "miles") => Distance::of(count, DistanceUnit::Kilometres).count_in(DistanceUnit::Miles),
            ("miles", "km") => Distance::of(count, DistanceUnit::Miles).count_in(DistanceUnit::Kilometres),
            ("gallons", "litres") => Volume::of_gallons(count).litres(),
            ("litres", "gallons") => Volume::of_millilitres(count * 1000).gallons(),
            other => panic!("no conversion {other:?}"),
        };
        let expected: f64 = row[3].parse().unwrap();
        assert!((found - expected).abs() < 1e-6, "{row:?}: {found}");
    }
}
