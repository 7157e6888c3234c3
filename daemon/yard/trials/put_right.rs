//! Exports of which something was wrong for a day and is put right, and those that another program has saved: what is
//! right again is believed, and what was changed round is not.
//!
//! What each case must come to is reckoned by hand; the thresholds are our decision.

use std::collections::BTreeMap;

use jiff::civil::{Date, date};

use super::*;
use crate::units::Days;
use crate::yard::{Compared, Lasts, Terms, compare};

/// Compares exports of days that follow each other, as the morning does: what was noted of the one before is known, and an
/// export is compared with the last one before something in it was held.
struct Mornings {
    agreed: Option<AgreedSheet>,
    shape: Table,
    is_kept: bool,
    known: BTreeMap<String, Date>,
    today: Date,
}

impl Mornings {
    fn from(sheet: &str) -> Mornings {
        let (shape, today) = (table("sheet.csv", sheet), date(2026, 6, 15));
        Mornings { agreed: None, shape, is_kept: false, known: BTreeMap::new(), today }
    }

    /// Mornings of which the first has passed: nothing was told of the sheet, and it said this.
    fn after_one(sheet: &str, says: &[String]) -> Mornings {
        let mut mornings = Mornings::from(sheet);
        mornings.is_quiet(sheet, says);
        mornings
    }

    /// The next morning tells nothing, and the sheet says this.
    #[track_caller]
    fn is_quiet(&mut self, sheet: &str, says: &[String]) {
        let (told, read) = self.next(sheet);
        assert_eq!(told, [] as [String; 0], "{sheet}");
        assert_eq!(read, says, "{sheet}");
    }

    fn next(&mut self, sheet: &str) -> (Vec<String>, Vec<String>) {
        let now = table("sheet.csv", sheet);
        self.today = self.today.tomorrow().unwrap();
        let terms = Terms {
            agreed: self.agreed.as_ref(),
            shop_order: DateOrder::DayFirst,
            clock_unit: DistanceUnit::Miles,
            known: &self.known,
            before: self.today.yesterday().unwrap(),
            today: self.today,
            heeds_right: true,
            is_kept: self.is_kept,
        };
        let Compared { read_as, changes, stand_in, .. } = compare(&self.shape, &now, &terms);
        let read = records(stand_in.as_ref().unwrap_or(&now), &read_as, self.today).0;
        let is_said =
            |change: &&crate::yard::Change| !matches!(change.lasts, Lasts::SaidRight | Lasts::Unsaid);
        let told = changes.iter().filter(is_said).map(|change| change.problem.what.clone()).collect();
        let lasting = |change: &&crate::yard::Change| !matches!(change.lasts, Lasts::Once);
        let since = |key: &String| self.known.get(key).copied().unwrap_or(self.today);
        self.is_kept = changes.iter().any(|change| !matches!(change.lasts, Lasts::Once | Lasts::SaidRight));
        self.known =
            changes.iter().filter(lasting).map(|change| (change.key.clone(), since(&change.key))).collect();
        if !self.is_kept {
            self.shape = now;
        }
        (told, said(&read))
    }
}

fn clocks_of_log(last: &str) -> String {
    format!(
        "Date|Reg|Mileage\n20/05/2026|AB12 CDE|1100\n20/05/2026|AB13 CDE|1110\n20/05/2026|AB14 CDE|1120\n\
         21/05/2026|AB15 CDE|1130{last}"
    )
}

#[test]
fn a_clock_typed_without_its_last_digit_is_believed_once_it_is_put_right() {
    let mut log = Mornings::from(&clocks_of_log(""));
    assert_eq!(log.next(&clocks_of_log("\n15/06/2026|AB12 CDE|120")).0, [] as [String; 0]);
    // One that is doubted still where readings are was no more believed before.
    assert_eq!(log.next(&clocks_of_log("\n15/06/2026|AB12 CDE|1020")).0, [] as [String; 0]);
    assert_eq!(log.next(&clocks_of_log("\n15/06/2026|AB12 CDE|120")).0, [] as [String; 0]);
    for _ in 0..3 {
        let (told, read) = log.next(&clocks_of_log("\n15/06/2026|AB12 CDE|1200"));
        assert_eq!(told, [] as [String; 0]);
        assert!(read.contains(&"AB12 CDE: reading; on 2026-06-15, clock 1200".to_owned()), "{read:#?}");
    }
}

#[test]
fn a_clock_that_leaps_where_nothing_was_doubted_is_held_as_before() {
    // The figure that stood there went with that of May.
    let mut log = Mornings::from(&clocks_of_log("\n15/06/2026|AB12 CDE|1200"));
    let (told, read) = log.next(&clocks_of_log("\n15/06/2026|AB12 CDE|12000"));
    assert!(told[0].contains("rose to three times what it was or more"), "{told:#?}");
    assert!(read.contains(&"AB12 CDE: reading; on 2026-06-15, clock 1200".to_owned()), "{read:#?}");
    // What is put right must go with what the machine showed later, too.
    let between =
        |typed: &str| clocks_of_log(&format!("\n01/06/2026|AB12 CDE|{typed}\n15/06/2026|AB12 CDE|1200"));
    let mut log = Mornings::from(&between("115"));
    assert!(log.next(&between("11500")).0[0].contains("rose to three times what it was or more"));
    assert_eq!(log.next(&between("1150")).0, [] as [String; 0]);
}

fn clocks_of_rows(first: (&str, &str)) -> String {
    let (day, clock) = first;
    format!(
        "Reg|Model|Mileage|Mileage date\nAB12 CDE|Wend 125|{clock}|{day}\nAB13 CDE|Wend 125|2110|20/05/2026\n\
         AB14 CDE|Wend 125|3120|21/05/2026\nAB15 CDE|Fell 300|4130|22/05/2026"
    )
}

#[test]
fn a_clock_of_a_machines_row_that_fell_is_believed_once_it_is_put_right_however_late_within_four_weeks() {
    let mut rows = Mornings::from(&clocks_of_rows(("09/06/2026", "1290")));
    for _ in 0..5 {
        assert_eq!(rows.next(&clocks_of_rows(("13/06/2026", "139"))).0, [] as [String; 0]);
    }
    let (told, read) = rows.next(&clocks_of_rows(("13/06/2026", "1390")));
    assert_eq!(told, [] as [String; 0]);
    assert!(read.contains(&"AB12 CDE: reading; on 2026-06-13, clock 1390".to_owned()), "{read:#?}");
    assert!(rows.known.is_empty(), "{:?}", rows.known);
    // What does not go with what it showed before is no correction.
    let mut rows = Mornings::from(&clocks_of_rows(("09/06/2026", "1290")));
    rows.next(&clocks_of_rows(("13/06/2026", "139")));
    let (told, _) = rows.next(&clocks_of_rows(("13/06/2026", "13900")));
    assert!(told[0].contains("rose to three times what it was or more"), "{told:#?}");
}

#[test]
fn figures_that_lost_their_zeros_or_could_not_be_read_are_taken_at_once_when_they_are_right_again() {
    let log = |write: &dyn Fn(usize, u32) -> String| {
        let row = |place: usize| {
            format!(
                "{:02}/05/2026|AB{} CDE|{}",
                1 + place,
                10 + place,
                write(place, 1_000 + 130 * place as u32)
            )
        };
        let rows: Vec<String> = (0..20).map(row).collect();
        format!("Date|Reg|Mileage\n{}", rows.join("\n"))
    };
    let right = log(&|_, clock| clock.to_string());
    let without_zeros = log(&|place, clock| if place % 3 == 0 { clock / 10 } else { clock }.to_string());
    let with_points = log(&|_, clock| format!("{}.{:03}", clock / 1_000, clock % 1_000));
    for wrong in [without_zeros, with_points] {
        let mut mornings = Mornings::from(&right);
        mornings.next(&wrong);
        mornings.next(&wrong);
        let (told, read) = mornings.next(&right);
        assert_eq!(told, [] as [String; 0], "{wrong}");
        assert!(read.contains(&"AB12 CDE: reading; on 2026-05-03, clock 1260".to_owned()), "{read:#?}");
    }
}

/// Services of eight machines, every four days of May, as a program writes them that reads the month first.
fn services(write: &dyn Fn(Date) -> String) -> String {
    let day = |number: i8| date(2026, 5, 3 + 4 * number);
    let row = |number: i8| {
        format!("{}|AB{} CDE|First service|{}", write(day(number)), 12 + number, 240 + i32::from(number))
    };
    let rows: Vec<String> = (0..8).map(row).collect();
    format!("Date|Reg|Work done|Mileage\n{}", rows.join("\n"))
}

/// What they say, however they are written.
fn services_said() -> Vec<String> {
    let line = |(machine, day)| {
        format!("AB{} CDE: job; on 2026-05-{day:02}, done First service, clock {}", machine, 228 + machine)
    };
    (12..).zip([3, 7, 11, 15, 19, 23, 27, 31]).map(line).collect()
}

fn british(day: Date) -> String {
    day.strftime("%d/%m/%Y").to_string()
}

fn turned(day: Date, written: &str) -> String {
    match Date::new(day.year(), day.day(), day.month()) {
        Ok(turned) => turned.strftime(written).to_string(),
        Err(_) => british(day),
    }
}

#[test]
fn days_that_another_program_changed_round_in_whatever_writing_stand_as_they_were_until_they_are_right_again()
{
    let right = services(&british);
    for written in ["%Y-%m-%d", "%d-%b-%y", "%d/%m/%Y", "%d %B %Y"] {
        let wrong = services(&|day| turned(day, written));
        let mut mornings = Mornings::after_one(&right, &services_said());
        for _ in 0..2 {
            let (told, read) = mornings.next(&wrong);
            assert!(
                told.iter()
                    .any(|said| said.contains("`Date` are what they were with day and month changed round")),
                "{told:#?}"
            );
            assert_eq!((told.len(), read), (1, services_said()), "{written}");
        }
        for _ in 0..2 {
            mornings.is_quiet(&right, &services_said());
        }
    }
}

#[test]
fn the_other_days_of_such_a_sheet_stand_as_they_were_too() {
    let sheet = |write: &dyn Fn(Date) -> String| {
        let row = |number: i8| {
            let registered = write(date(2024, 5, 3 + 4 * number));
            // Of these one alone may be another day.
            let handover = write(date(2026, 6, 11 + 2 * number));
            let mot = write(date(2027, 5, 2 + 4 * number));
            format!("AB{} CDE|Wend 125|{registered}|{handover}|{mot}", 12 + number)
        };
        let rows: Vec<String> = (0..7).map(row).collect();
        format!("Reg|Model|Registered|Handover|MOT due\n{}", rows.join("\n"))
    };
    let right = sheet(&british);
    let says = owned(&[
        "AB12 CDE: machine; model Wend 125, registered 2024-05-03, handover 2026-06-11, mot 2027-05-02",
        "AB13 CDE: machine; model Wend 125, registered 2024-05-07, handover 2026-06-13, mot 2027-05-06",
        "AB14 CDE: machine; model Wend 125, registered 2024-05-11, handover 2026-06-15, mot 2027-05-10",
        "AB15 CDE: machine; model Wend 125, registered 2024-05-15, handover 2026-06-17, mot 2027-05-14",
        "AB16 CDE: machine; model Wend 125, registered 2024-05-19, handover 2026-06-19, mot 2027-05-18",
        "AB17 CDE: machine; model Wend 125, registered 2024-05-23, handover 2026-06-21, mot 2027-05-22",
        "AB18 CDE: machine; model Wend 125, registered 2024-05-27, handover 2026-06-23, mot 2027-05-26",
    ]);
    let mut mornings = Mornings::after_one(&right, &says);
    let (told, read) = mornings.next(&sheet(&|day| turned(day, "%Y-%m-%d")));
    assert_eq!(
        told.iter().filter(|said| said.contains("with day and month changed round")).count(),
        3,
        "{told:#?}"
    );
    assert_eq!(read, says);
    mornings.is_quiet(&right, &says);
}

#[test]
fn a_log_whose_days_are_all_written_month_first_is_read_so_though_machines_have_several_rows() {
    let log = |written: &str| {
        let row = |number: i8| {
            let (day, item) = (date(2026, 5, 1 + number), ["PDI", "QC"][number as usize % 2]);
            format!("{}|AB{} CDE|{item}|Pass", day.strftime(written), 12 + number / 2)
        };
        let rows: Vec<String> = (0..24).map(row).collect();
        // Two machines have one row each, by which alone nothing is shown.
        let rows = [rows, vec![row(24), row(26)]].concat();
        format!("Date|Reg|Check|Outcome\n{}", rows.join("\n"))
    };
    let line = |number: usize| {
        let item = ["PDI", "QC"][number % 2];
        format!("AB{} CDE: check; on 2026-05-{:02}, item {item}, result Passed", 12 + number / 2, 1 + number)
    };
    let says: Vec<String> = (0..25).chain([26]).map(line).collect();
    let mut mornings = Mornings::after_one(&log("%d/%m/%Y"), &says);
    let (told, read) = mornings.next(&log("%m/%d/%Y"));
    assert!(told[0].contains("the same rows show it, and they are read so"), "{told:#?}");
    assert_eq!(read, says);
}

/// A sheet of machines with these days of handover, PDI and QC by, clock and day of the clock, and with both checks
/// passed: nobody's signature alone is a check.
fn machines(write: &dyn Fn(i8) -> [String; 5]) -> String {
    let row = |number: i8| format!("AB{} CDE|Wend 125|{}|pass|pass", 12 + number, write(number).join("|"));
    let rows: Vec<String> = (0..18).map(row).collect();
    format!("Reg|Model|Handover|PDI by|QC by|Mileage|Mileage date|PDI|QC\n{}", rows.join("\n"))
}

fn as_it_was(number: i8) -> [String; 5] {
    let (handover, read) = (date(2026, 3, 2), date(2026, 5, 2 + 3 * (number % 8)));
    let handover = Days(i64::from(number) * 8).after(handover).unwrap();
    [
        british(handover),
        "L Mudge".to_owned(),
        "K Winsham".to_owned(),
        (1_000 + 37 * i32::from(number)).to_string(),
        british(read),
    ]
}

/// What the sheet says as it was; its clocks were read every three days, again from the second of May after eight.
fn said_as_it_was() -> Vec<String> {
    let handovers = [
        "03-02", "03-10", "03-18", "03-26", "04-03", "04-11", "04-19", "04-27", "05-05", "05-13", "05-21",
        "05-29", "06-06", "06-14", "06-22", "06-30", "07-08", "07-16",
    ];
    let read = [2, 5, 8, 11, 14, 17, 20, 23].into_iter().cycle();
    let lines = |((number, handover), day): ((u32, &str), u32)| {
        let mark = format!("AB{} CDE", 12 + number);
        [
            format!("{mark}: machine; model Wend 125, handover 2026-{handover}"),
            format!("{mark}: reading; on 2026-05-{day:02}, clock {}", 1_000 + 37 * number),
            format!("{mark}: check; item pre-delivery inspection, result Passed, by L Mudge"),
            format!("{mark}: check; item quality check, result Passed, by K Winsham"),
        ]
    };
    (0..).zip(handovers).zip(read).flat_map(lines).collect()
}

/// Holds the sheet as it was for as long as this stands there, says so once with these words, and is silent again.
fn is_held(write: &dyn Fn(i8) -> [String; 5], words: &str) {
    let right = machines(&as_it_was);
    let mut mornings = Mornings::after_one(&right, &said_as_it_was());
    for _ in 0..2 {
        let (told, read) = mornings.next(&machines(write));
        assert!(told.len() == 1 && told[0].contains(words), "{words}: {told:#?}");
        assert_eq!(read, said_as_it_was(), "{words}");
    }
    mornings.is_quiet(&right, &said_as_it_was());
}

#[test]
fn days_of_which_several_moved_by_exactly_a_year_or_by_the_same_stand_as_they_were() {
    let some = |number: i8, cell: usize, write: &dyn Fn(Date) -> Date| {
        let mut row = as_it_was(number);
        let day = Date::strptime("%d/%m/%Y", &row[cell]).unwrap();
        row[cell] = british(write(day));
        row
    };
    let year_before = |day: Date| Date::new(day.year() - 1, day.month(), day.day()).unwrap();
    is_held(
        &|number| if number >= 11 { some(number, 0, &year_before) } else { as_it_was(number) },
        "7 of 18 days in column C `Handover` are exactly 1 year earlier than before",
    );
    is_held(
        &|number| some(number, 0, &|day| day.yesterday().unwrap()),
        "18 of 18 days in column C `Handover` are exactly 1 day earlier than before",
    );
}

#[test]
fn three_handovers_that_are_put_off_by_a_week_or_brought_forward_by_one_are_a_days_work() {
    let right = machines(&as_it_was);
    for days in [7, -7, 60] {
        let mut mornings = Mornings::from(&right);
        let now = machines(&|number| {
            let mut row = as_it_was(number);
            if number > 14 {
                let day = Date::strptime("%d/%m/%Y", &row[0]).unwrap();
                row[0] = british(Days(days).after(day).unwrap());
            }
            row
        });
        assert_eq!(mornings.next(&now).0, [] as [String; 0], "{days}");
    }
}

#[test]
fn days_of_a_clock_that_were_filled_down_as_a_series_stand_as_they_were() {
    is_held(
        &|number| {
            let mut row = as_it_was(number);
            row[4] = british(Days(i64::from(number)).after(date(2026, 5, 20)).unwrap());
            row
        },
        "the days in column G `Mileage date` of 18 rows are 1 day apart from row to row now",
    );
    // The clocks of the whole shop read on one day are a day's work.
    let mut mornings = Mornings::from(&machines(&as_it_was));
    let stocktaking = machines(&|number| {
        let mut row = as_it_was(number);
        row[4] = "14/06/2026".to_owned();
        row
    });
    assert_eq!(mornings.next(&stocktaking).0, [] as [String; 0]);
}

#[test]
fn signatures_that_became_somebody_elses_stand_as_they_were_and_those_spelt_otherwise_do_not() {
    let signed = |name: &'static str| {
        move |number: i8| {
            let mut row = as_it_was(number);
            row[2] = name.to_owned();
            row
        }
    };
    is_held(&signed("L Mudge"), "18 of 18 rows have another quality check by");
    for name in ["KW", "Kit Winsham", "K. Winsham", "KWI", "T Rowe"] {
        let mut mornings = Mornings::from(&machines(&as_it_was));
        assert_eq!(mornings.next(&machines(&signed(name))).0, [] as [String; 0], "{name}");
    }
}

#[test]
fn handovers_that_became_yes_and_no_stand_as_they_were() {
    is_held(
        &|number| {
            let mut row = as_it_was(number);
            row[0] = if number < 12 { "yes" } else { "no" }.to_owned();
            row
        },
        "(handover) says no day now in 18 of 18 rows",
    );
}

#[test]
fn a_log_whose_days_were_moved_by_a_year_in_some_rows_stands_as_it_was_and_one_that_rolls_on_does_not() {
    let log = |from: i64, write: &dyn Fn(Date) -> Date| {
        let row = |number: i64| {
            let day = Days(number * 7).after(date(2025, 9, 1)).unwrap();
            format!("{}|AB{} CDE|Annual service|GH", british(write(day)), 12 + number % 6)
        };
        let rows: Vec<String> = (from..from + 24).map(row).collect();
        format!("Date|Reg|Work done|Tech\n{}", rows.join("\n"))
    };
    let right = log(0, &|day| day);
    let mondays = [
        "2025-09-01",
        "2025-09-08",
        "2025-09-15",
        "2025-09-22",
        "2025-09-29",
        "2025-10-06",
        "2025-10-13",
        "2025-10-20",
        "2025-10-27",
        "2025-11-03",
        "2025-11-10",
        "2025-11-17",
        "2025-11-24",
        "2025-12-01",
        "2025-12-08",
        "2025-12-15",
        "2025-12-22",
        "2025-12-29",
        "2026-01-05",
        "2026-01-12",
        "2026-01-19",
        "2026-01-26",
        "2026-02-02",
        "2026-02-09",
    ];
    let line = |(machine, day)| format!("AB{machine} CDE: job; on {day}, done Annual service, by GH");
    let says: Vec<String> = (12..18).cycle().zip(mondays).map(line).collect();
    let mut mornings = Mornings::after_one(&right, &says);
    let wrong = log(0, &|day| {
        if day.year() == 2026 { Date::new(2025, day.month(), day.day()).unwrap() } else { day }
    });
    for _ in 0..2 {
        let (told, read) = mornings.next(&wrong);
        assert!(told.len() == 1 && told[0].contains("are exactly 1 year earlier than before"), "{told:#?}");
        assert_eq!(read, says);
    }
    mornings.is_quiet(&right, &says);
    // Six weeks on, six rows have rolled off, and the new ones say of the same machines the same.
    let mut mornings = Mornings::from(&right);
    assert_eq!(mornings.next(&log(6, &|day| day)).0, [] as [String; 0]);
}

#[test]
fn checks_that_all_failed_and_fills_that_are_all_of_another_fuel_at_once_count_and_are_said() {
    let checks = |result: &str| {
        let row = |number: i32| format!("{:02}/05/2026|AB{} CDE|QC|{result}", 1 + number, 12 + number / 2);
        format!("Date|Reg|Check|Outcome\n{}", (0..12).map(row).collect::<Vec<_>>().join("\n"))
    };
    let few = |grade: &str| {
        let row = |number: i32| format!("{:02}/05/2026|AB{} CDE|5.{number}|{grade}", 1 + number, 12 + number);
        format!("Date|Reg|Litres|Petrol\n{}", (0..3).map(row).collect::<Vec<_>>().join("\n"))
    };
    let fills = |grade: &str| {
        let row =
            |number: i32| format!("{:02}/05/2026|AB{} CDE|5.{number}|{grade}", 1 + number, 12 + number / 2);
        format!("Date|Reg|Litres|Petrol\n{}", (0..5).map(row).collect::<Vec<_>>().join("\n"))
    };
    let failed = |number: i32| {
        format!("AB{} CDE: check; on 2026-05-{:02}, item QC, result Failed", 12 + number / 2, 1 + number)
    };
    let filled = [
        "AB12 CDE: fill; on 2026-05-01, volume 5 litres, grade E10",
        "AB12 CDE: fill; on 2026-05-02, volume 5.1 litres, grade E10",
        "AB13 CDE: fill; on 2026-05-03, volume 5.2 litres, grade E10",
        "AB13 CDE: fill; on 2026-05-04, volume 5.3 litres, grade E10",
        "AB14 CDE: fill; on 2026-05-05, volume 5.4 litres, grade E10",
    ];
    let filled_once = [
        "AB12 CDE: fill; on 2026-05-01, volume 5 litres, grade E10",
        "AB13 CDE: fill; on 2026-05-02, volume 5.1 litres, grade E10",
        "AB14 CDE: fill; on 2026-05-03, volume 5.2 litres, grade E10",
    ];
    for (was, is, words, says) in [
        (
            checks("Pass"),
            checks("Fail"),
            "12 of 12 rows in column D `Outcome` say that a check failed which was passed",
            (0..12).map(failed).collect(),
        ),
        (
            fills("E5"),
            fills("E10"),
            "5 of 5 rows in column D `Petrol` say another fuel than before",
            owned(&filled),
        ),
        (
            few("E5"),
            few("E10"),
            "3 of 3 rows in column D `Petrol` say another fuel than before",
            owned(&filled_once),
        ),
    ] {
        let (told, read) = Mornings::from(&was).next(&is);
        assert!(told.len() == 1 && told[0].contains(words), "{told:#?}");
        assert_eq!(read, says);
    }
    let mut mornings = Mornings::from(&fills("E5"));
    // Another name of the same fuel is no other fuel.
    let (told, _) = mornings.next(&fills("Premium E5"));
    assert!(told.iter().all(|said| !said.contains("another fuel")), "{told:#?}");
}
