//! The sums against published tables and reference libraries; each row of `tests/golden` names its source.

use super::super::theil_sen::theil_sen;
use super::super::{FuelAnswer, Missing, OilAnswer, RideAnswer};
use super::super::{bank_holidays, consumption, frame_number, fuel, marks, mot, oil, oil_text, speedometer};
use super::day;
use crate::settings::{BankHolidays, Region};
use crate::units::{Speed, SpeedUnit, months_after};
use crate::yard::{EthanolLabel, FrameNumber, MachineKind, Mark, SpeedSource};

/// The rows of a golden table below its header, cell by cell.
fn rows(table: &str) -> Vec<Vec<String>> {
    let rows: Vec<Vec<String>> = table.lines().skip(1).map(cells).collect();
    assert!(rows.len() > 2, "a golden table has rows");
    rows
}

/// The cells of a line, of which some are in double quotes.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cells.last_mut().expect("there is a first cell").push(letter),
        }
    }
    cells
}

/// An answer, or what was missing, as the tables write them.
fn written<T>(answer: Result<T, Missing>, name: impl Fn(T) -> String) -> String {
    answer.map_or_else(|missing| missing.0.join("; "), name)
}

/// Source: `scipy.stats.theilslopes`, of which the first case is the example of Sen (1968).
#[test]
fn the_pace_is_scipys_theil_sen_slope_with_its_interval() {
    for row in rows(include_str!("../../../tests/golden/theil_sen.csv")) {
        let points: Vec<(f64, f64)> = row[3]
            .split(' ')
            .map(|point| {
                let (x, y) = point.split_once(':').unwrap();
                (x.parse().unwrap(), y.parse().unwrap())
            })
            .collect();
        let slope = theil_sen(&points, row[2].parse().unwrap()).unwrap();
        for (found, expected) in [slope.median, slope.lowest, slope.highest].iter().zip(&row[4..7]) {
            let expected: f64 = expected.parse().unwrap();
            let near = (found - expected).abs() <= 1e-12 * expected.abs().max(1.0);
            assert!(near, "{} at {}: {found} instead of {expected}", row[0], row[1]);
        }
    }
}

/// Source: the published interval of Sen (1968), as scipy's own tests hold it.
#[test]
fn sens_own_example_comes_out_as_he_published_it() {
    let points =
        [(1.0, 9.0), (2.0, 15.0), (3.0, 19.0), (4.0, 20.0), (10.0, 45.0), (12.0, 55.0), (18.0, 78.0)];
    let slope = theil_sen(&points, -1.811_910_672_952_598_2).unwrap();
    let shown = format!("{:.2} {:.2} {:.2}", slope.median, slope.lowest, slope.highest);
    assert_eq!(shown, "4.00 3.71 4.38");
}

/// Source: Tukey (1977), with the quartiles of Python's `statistics.quantiles`.
#[test]
fn a_drop_in_consumption_lies_below_tukeys_fence() {
    for row in rows(include_str!("../../../tests/golden/lower_fences.csv")) {
        let values: Vec<f64> = row[0].split(' ').map(|value| value.parse().unwrap()).collect();
        let expected: f64 = row[1].parse().unwrap();
        let found = consumption::lower_fence(&values).unwrap();
        assert!((found - expected).abs() < 1e-9, "{found} instead of {expected}");
        assert_eq!(consumption::lower_fence(&values[..5]), None, "five say nothing");
    }
}

#[test]
fn points_of_one_day_have_no_slope() {
    assert_eq!(theil_sen(&[(3.0, 1.0), (3.0, 2.0)], -1.6), None);
}

#[test]
fn the_earliest_test_that_keeps_the_renewal_date_is_a_month_less_a_day_before() {
    for row in rows(include_str!("../../../tests/golden/mot.csv")) {
        assert_eq!(mot::earliest_test(day(&row[0])), Some(day(&row[1])), "{}", row[2]);
    }
}

#[test]
fn the_first_mot_is_needed_three_or_four_years_after_registration() {
    for row in rows(include_str!("../../../tests/golden/first_mot.csv")) {
        let region = if row[0] == "NI" { Region::NorthernIreland } else { Region::GreatBritain };
        let needed = months_after(day(&row[1]), mot::first_test_after(region));
        assert_eq!(needed, Some(day(&row[2])), "{}", row[3]);
    }
}

#[test]
fn a_fill_is_judged_by_its_label_alone() {
    for row in rows(include_str!("../../../tests/golden/fuel.csv")) {
        let allowed = [EthanolLabel::E5, EthanolLabel::E10, EthanolLabel::E85]
            .into_iter()
            .find(|label| label.name() == row[0]);
        let kind = [MachineKind::Motorcycle, MachineKind::Car].into_iter().find(|kind| kind.name() == row[1]);
        let answer = written(fuel::answer(&fuel::grade(&row[2]), allowed, kind), |answer| {
            match answer {
                FuelAnswer::Right => "right",
                FuelAnswer::TooMuchEthanol => "too much ethanol",
                FuelAnswer::NotPetrol => "not petrol",
            }
            .to_owned()
        });
        assert_eq!(answer, row[3], "{row:?}");
    }
}

#[test]
fn an_oil_is_read_as_grade_and_class_however_it_is_written() {
    for row in rows(include_str!("../../../tests/golden/oil_text.csv")) {
        let oil = oil_text::oil_text(&row[0]);
        let grades: Vec<String> = oil.viscosities.iter().map(ToString::to_string).collect();
        let grades = if oil.no_such_grade { "no such grade".to_owned() } else { grades.join("/") };
        let classes: Vec<&str> = oil.classes.iter().map(|class| class.name()).collect();
        assert_eq!((grades, classes.join("/")), (row[1].clone(), row[2].clone()), "{}", row[0]);
    }
}

#[test]
fn an_oil_is_right_only_when_class_and_grade_are_those_asked() {
    for row in rows(include_str!("../../../tests/golden/oil.csv")) {
        let kind = Some(MachineKind::Motorcycle);
        let answer = oil::answer(&oil_text::oil_text(&row[0]), &oil_text::oil_text(&row[1]), kind);
        let answer = written(answer, |answer| match answer {
            OilAnswer::Right => "right".to_owned(),
            OilAnswer::WrongClass(words) | OilAnswer::WrongGrade(words) => words,
        });
        assert_eq!(answer, row[2], "{row:?}");
    }
}

#[test]
fn a_speed_is_held_against_what_the_speedometer_may_have_shown() {
    let speed = |text: &str| {
        let tenths: f64 = text.parse::<f64>().unwrap() * 10.0;
        Speed::of_tenths(tenths.round() as i64, SpeedUnit::KilometresAnHour)
    };
    for row in rows(include_str!("../../../tests/golden/speedometer.csv")) {
        let source = match row[2].as_str() {
            "gps" => Some(SpeedSource::Satellite),
            "speedometer" => Some(SpeedSource::Speedometer),
            _ => None,
        };
        let answer = match speedometer::answer(speed(&row[1]), source, speed(&row[0])) {
            Some(RideAnswer::Clear) => "clear",
            Some(RideAnswer::Possible) => "possible",
            Some(RideAnswer::Breach) => "breach",
            Some(RideAnswer::BreachUnsourced) => "breach, true or shown",
            Some(RideAnswer::BeyondDoubt) => "beyond doubt",
            None => "what the top speed was read from",
        };
        assert_eq!(answer, row[3], "{row:?}");
    }
}

#[test]
fn a_mark_tells_its_style_and_the_first_day_it_was_given() {
    for row in rows(include_str!("../../../tests/golden/marks.csv")) {
        let mark = Mark::new(&row[0]).unwrap();
        let style = match marks::style(&mark) {
            Some(marks::Style::Current) => "current",
            Some(marks::Style::Prefix) => "prefix",
            Some(marks::Style::Suffix) => "suffix",
            Some(marks::Style::Q) => "Q",
            Some(marks::Style::NorthernIreland) => "Northern Ireland",
            Some(marks::Style::Dateless) => "dateless",
            None => "none",
        };
        let from = marks::given_from(&mark).map(|from| from.to_string()).unwrap_or_default();
        assert_eq!((style, &from), (row[1].as_str(), &row[2]), "{}", row[0]);
    }
}

/// Source: 49 CFR 565.15 (its sample and tables) by way of the library vininfo.
#[test]
fn a_north_american_check_digit_fits_or_does_not() {
    for row in rows(include_str!("../../../tests/golden/frame_numbers.csv")) {
        let frame_no = FrameNumber::new(&row[0]).unwrap();
        assert_eq!(frame_number::check_digit_is_wrong(&frame_no), row[1] == "false", "{}", row[0]);
    }
}

/// Source: `1G4AH59H45G118341` is the sample of 49 CFR 565.15 itself (check digit 4), `1J9RP1A36A1644345` that of the
/// NHTSA outline, page 18 (6). The third is invented, its digit worked out by the regulation's tables III and IV:
/// values 1 3 9 3 2 1 2 5 - 2 1 0 0 0 0 0 4 by weights 8 7 6 5 4 3 2 10 - 9 8 7 6 5 4 3 2 give
/// 8 + 21 + 54 + 15 + 8 + 3 + 4 + 50 + 18 + 8 + 8 = 197 = 17 * 11 + 10, and X stands for 10.
#[test]
fn the_check_digits_of_the_regulations_samples_come_out() {
    for (text, digit) in [("1G4AH59H45G118341", '4'), ("1J9RP1A36A1644345", '6'), ("1T9TK125XKA000004", 'X')]
    {
        assert_eq!(frame_number::check_digit(&FrameNumber::new(text).unwrap()), Some(digit), "{text}");
    }
}

/// European makers need not use the ninth character as a check digit, so that it says nothing there.
#[test]
fn a_european_check_digit_is_never_wrong() {
    let frame_no = FrameNumber::new("ZZ9AA000X00000001").unwrap();
    assert!(!frame_number::check_digit_is_wrong(&frame_no));
}

/// Source: the Python library `holidays`, for every part of the United Kingdom and every year from 2008 to 2050.
#[test]
fn bank_holidays_are_those_of_the_holidays_library() {
    let table = rows(include_str!("../../../tests/golden/bank_holidays.csv"));
    assert_eq!(table.len(), 4 * 43);
    for row in table {
        let whose = match row[0].as_str() {
            "ENG" | "WLS" => BankHolidays::EnglandAndWales,
            "SCT" => BankHolidays::Scotland,
            "NIR" => BankHolidays::NorthernIreland,
            other => panic!("no part of the United Kingdom is called {other}"),
        };
        let kept = bank_holidays::bank_holidays(whose, row[1].parse().unwrap());
        let days: Vec<String> = kept.keys().map(|day| day.strftime("%m-%d").to_string()).collect();
        let substitutes: Vec<String> = kept
            .iter()
            .filter(|(_, name)| name.ends_with("(substitute day)"))
            .map(|(day, _)| day.strftime("%m-%d").to_string())
            .collect();
        assert_eq!((days.join(" "), substitutes.join(" ")), (row[2].clone(), row[3].clone()), "{row:?}");
    }
}

/// Source: `dateutil.easter`, for every year from 1900 to 2199.
#[test]
fn easter_is_the_one_of_dateutil() {
    let table = rows(include_str!("../../../tests/golden/easter.csv"));
    assert_eq!(table.len(), 300);
    for row in table {
        assert_eq!(bank_holidays::easter(row[0].parse().unwrap()), Some(day(&row[1])), "{row:?}");
    }
}
