//! Fills and oils of a machine, with what they rest on. The answers themselves are held in the golden tables.

use super::super::{FuelAnswer, OilAnswer};
use super::{Given, entry, lacks, told};
use crate::units::{Distance, DistanceUnit};
use crate::yard::{EthanolLabel, ModelRow};

#[test]
fn the_machines_own_row_decides_over_the_handbook() {
    let mut given = Given::on("2026-11-25").fill("2026-11-03", 400, 40, "E10", true);
    let answers = |given: &Given| told(&given.stand().fills[0].answer);
    assert_eq!(answers(&given), lacks("fuel allowed"));
    let fuel_allowed = Some(entry(8, EthanolLabel::E10));
    given.machine.page.model = Some(ModelRow { fuel_allowed, ..ModelRow::default() });
    given.machine.page.model_is_default = true;
    assert_eq!(answers(&given), Ok(FuelAnswer::Right));
    let shown = given.stand().fills.remove(0).answer.unwrap().shown_by;
    let shown: Vec<_> =
        shown.iter().map(|it| (it.what.as_str(), it.value.as_str(), it.common_practice)).collect();
    assert_eq!(shown, [("fill", "E10 on 3 Nov 2026", false), ("fuel allowed", "up to E10", true)]);
    given.machine.row.fuel_allowed = Some(entry(9, EthanolLabel::E5));
    assert_eq!(answers(&given), Ok(FuelAnswer::TooMuchEthanol));
}

/// Source: exact definitions; 6.2 litres over 248 km are 2.5 l/100 km, 112.992375 miles to the gallon.
#[test]
fn a_gallon_is_reckoned_from_full_to_full() {
    let mut given =
        Given::on("2026-11-25").fill("2026-11-01", 0, 40, "E5", true).fill("2026-11-03", 0, 62, "E5", true);
    given.machine.fills[1].clock.as_mut().unwrap().value = Distance::of(248, DistanceUnit::Kilometres);
    let found: Vec<_> = given.stand().fills.iter().map(|fill| fill.miles_a_gallon).collect();
    assert_eq!(found[0], None);
    assert!((found[1].unwrap() - 112.992_375).abs() < 1e-6, "{found:?}");
}

#[test]
fn part_fills_between_are_added_in_and_unknown_ones_end_the_reckoning() {
    let given = |litres: i64| {
        Given::on("2026-11-25")
            .fill("2026-11-01", 100, 40, "E5", true)
            .fill("2026-11-02", 150, litres, "E5", false)
            .fill("2026-11-03", 200, 20, "E5", true)
    };
    let found =
        |given: &Given| given.stand().fills.iter().map(|fill| fill.miles_a_gallon).collect::<Vec<_>>();
    let known = found(&given(25));
    assert_eq!((known[0], known[1]), (None, None));
    // 100 miles on 4.5 litres.
    assert!((known[2].unwrap() - 100.0 / (4.5 / 4.54609)).abs() < 1e-9);
    assert_eq!(found(&given(-1)), [None, None, None]);
    let twice = Given::on("2026-11-25").fill("2026-11-01", 100, 40, "E5", true);
    assert_eq!(found(&twice.fill("2026-11-01", 100, 1, "E5", true)), [None, None]);
    assert_eq!(found(&given(25).fill("", 180, 10, "E5", false)), [None, None, None, None]);
}

#[test]
fn a_drop_is_held_against_the_machines_own_earlier_fills() {
    // 100 miles each time, on 4 litres but for a little more or less, then on 6.
    let litres = [40, 40, 41, 39, 40, 41, 39, 60];
    let given = litres.iter().zip(1_i64..).fold(Given::on("2026-11-25"), |given, (decilitres, count)| {
        given.fill(&format!("2026-11-{count:02}"), 100 * count, *decilitres, "E5", true)
    });
    let fills = given.stand().fills;
    let drops: Vec<Option<bool>> =
        fills.iter().map(|fill| Some(fill.miles_a_gallon? < fill.usually_at_least?)).collect();
    assert_eq!(drops, [None, None, None, None, None, None, None, Some(true)]);
    let usual = given.fill("2026-11-10", 900, 40, "E5", true).stand().fills.remove(8);
    assert!(usual.miles_a_gallon.unwrap() >= usual.usually_at_least.unwrap());
}

#[test]
fn only_the_oil_that_no_later_job_replaced_is_in_the_engine() {
    let given = Given::on("2026-11-25")
        .row(|row| row.oil_asked = Some(entry(9, "10W-40 MA2".to_owned())))
        .oil_job("2026-09-20", "first service", "10w40 ma2")
        .oil_job("2026-10-20", "oil topped up", "10W-40 MA2")
        .oil_job("2026-11-01", "oil change", "5W30 MB")
        .oil_job("2026-11-02", "topped up", "10W-40 MA2")
        .job("2026-11-03", "fork oil change", -1);
    let found: Vec<_> = given
        .stand()
        .oils
        .into_iter()
        .map(|oil| (oil.key.clone(), oil.in_the_engine, told(&oil.answer)))
        .collect();
    let wrong = OilAnswer::WrongClass("MB where MA2 is asked".to_owned());
    assert_eq!(
        found,
        [
            ("2026-09-20 10w40 ma2".to_owned(), false, Ok(OilAnswer::Right)),
            ("2026-10-20 10W-40 MA2".to_owned(), false, Ok(OilAnswer::Right)),
            ("2026-11-01 5W30 MB".to_owned(), true, Ok(wrong)),
            ("2026-11-02 10W-40 MA2".to_owned(), true, Ok(OilAnswer::Right)),
        ]
    );
}

#[test]
fn an_oil_change_without_its_oil_cannot_be_told() {
    let given = Given::on("2026-11-25")
        .row(|row| row.oil_asked = Some(entry(9, "10W-40 MA2".to_owned())))
        .job("2026-09-20", "first service", 500)
        .job("2026-10-20", "oil and filter", 900)
        .job("2026-10-21", "no oil change", 900)
        .job("2026-10-22", "tyres", 900);
    let found: Vec<_> =
        given.stand().oils.into_iter().map(|oil| (oil.day.unwrap().to_string(), told(&oil.answer))).collect();
    let unknown = || lacks("oil that went in");
    assert_eq!(found, [("2026-09-20".to_owned(), unknown()), ("2026-10-20".to_owned(), unknown())]);
}

#[test]
fn without_an_oil_asked_nothing_is_right() {
    let given = Given::on("2026-11-25").oil_job("2026-09-20", "oil change", "10w40 ma2");
    assert_eq!(told(&given.stand().oils[0].answer), lacks("oil asked"));
}

#[test]
fn a_second_fill_of_the_day_leaves_the_first_ones_key() {
    let keys = |given: &Given| given.stand().fills.into_iter().map(|fill| fill.key).collect::<Vec<_>>();
    let first = Given::on("2026-11-25").fill("2026-02-20", 400, 40, "E10", true);
    assert_eq!(keys(&first), ["2026-02-20 E10"]);
    let mut both = first.fill("2026-02-20", 380, 40, "B7", true).fill("2026-02-20", -1, 50, "", true);
    assert_eq!(keys(&both), ["2026-02-20 E10", "2026-02-20 B7", "2026-02-20 no grade"]);
    both.machine.fills.reverse();
    assert_eq!(keys(&both), ["2026-02-20 no grade", "2026-02-20 B7", "2026-02-20 E10"]);
    let same = Given::on("2026-11-25").fill("2026-02-20", 400, 40, "E10", true).fill(
        "2026-02-20",
        380,
        40,
        "E10",
        true,
    );
    assert_eq!(keys(&same), ["2026-02-20 E10 (2)", "2026-02-20 E10"]);
}

#[test]
fn what_is_dated_after_today_is_no_fact_of_today() {
    let given = Given::on("2026-11-25")
        .fill("2026-11-26", 400, 40, "B7", true)
        .oil_job("2026-11-20", "oil change", "10W-40 MA2")
        .oil_job("2027-11-20", "oil change", "10W-40 MB");
    assert_eq!(given.stand().fills, []);
    let oils: Vec<_> = given.stand().oils.into_iter().map(|oil| (oil.key, oil.in_the_engine)).collect();
    assert_eq!(oils, [("2026-11-20 10W-40 MA2".to_owned(), true)]);
}
