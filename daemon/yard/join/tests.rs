//! Rows of several sheets and a kept history, and the machines that they become.

use std::sync::Arc;

use jiff::civil::{Date, date};

use super::*;
use crate::origin::{Entry, SheetName};
use crate::units::dice::Dice;
use crate::units::{Distance, Speed, SpeedUnit, Volume};
use crate::yard::near_marks::{self, Slip};
use crate::yard::{
    Check, CheckResult, Fill, FrameNumber, Job, Mark, ModelRow, Reading, Ride, SpeaksOf, StockNumber,
    WrittenDistance,
};

/// A row of a sheet; its entries stand in the columns given.
#[derive(Clone, Copy)]
struct Row(&'static str, u32);

impl Row {
    fn entry<T>(self, column: u32, value: T) -> Entry<T> {
        let name = Arc::new(SheetName { file: self.0.to_owned(), sheet: None });
        Entry::new(value, Origin { name, row: self.1, column })
    }

    fn text(self, column: u32, text: &str) -> Option<Entry<String>> {
        Some(self.entry(column, text.to_owned()))
    }

    /// What the row calls its machine: `F…` is a frame number, `S…` a stock number, anything else a mark.
    fn names(self, names: &str) -> Identity {
        let mut identity = Identity::default();
        for name in names.split(' ') {
            match name.as_bytes()[0] {
                b'F' => identity.frame_no = FrameNumber::new(name).map(|name| self.entry(1, name)),
                b'S' => identity.stock_no = StockNumber::new(name).map(|name| self.entry(2, name)),
                _ => identity.mark = Mark::new(name).map(|name| self.entry(0, name)),
            }
        }
        identity
    }

    fn machine(self, names: &str) -> (Identity, Record) {
        self.machine_with(names, MachineRow::default())
    }

    fn machine_with(self, names: &str, row: MachineRow) -> (Identity, Record) {
        (self.names(names), Record::Machine(Box::new(row)))
    }

    fn reading(self, names: &str, day: Date, miles: i64) -> (Identity, Record) {
        let day = self.entry(3, day);
        (self.names(names), Record::Reading(Reading { day, clock: self.entry(4, written(miles)) }))
    }

    fn job(self, names: &str, day: Option<Date>, done: &str, clock: Option<i64>) -> (Identity, Record) {
        let job = Job {
            day: day.map(|day| self.entry(3, day)),
            done: self.entry(5, done.to_owned()),
            clock: clock.map(|clock| self.entry(4, written(clock))),
            oil: None,
            by: None,
            doubt: None,
        };
        (self.names(names), Record::Job(job))
    }

    fn check(self, names: &str, day: Option<Date>, item: &str, result: CheckResult) -> (Identity, Record) {
        let check = Check {
            day: day.map(|day| self.entry(3, day)),
            time: None,
            item: self.entry(6, item.to_owned()),
            result: self.entry(7, result),
            remark: None,
            by: None,
        };
        (self.names(names), Record::Check(check))
    }

    fn ride(self, names: &str, day: Date, miles: i64) -> (Identity, Record) {
        let ride = Ride {
            day: Some(self.entry(3, day)),
            distance: Some(self.entry(8, written(miles))),
            top_speed: Some(self.entry(9, Speed::of(38, SpeedUnit::MilesAnHour))),
            speed_source: None,
            clock: None,
            by: self.text(10, "Ann Example"),
        };
        (self.names(names), Record::Ride(ride))
    }

    fn fill(self, names: &str, day: Date, clock: i64) -> (Identity, Record) {
        let fill = Fill {
            day: Some(self.entry(3, day)),
            clock: Some(self.entry(4, written(clock))),
            volume: Some(self.entry(5, Volume::of_millilitres(4_000))),
            grade: self.text(6, "E5"),
            full: None,
        };
        (self.names(names), Record::Fill(fill))
    }
}

fn written(count: i64) -> WrittenDistance {
    WrittenDistance { tenths: count * 10, unit: None }
}

fn joined(current: Vec<(Identity, Record)>, kept: Vec<(Identity, Record)>) -> (Vec<Machine>, Vec<Problem>) {
    join(
        Records { records: current, ..Records::default() },
        Records { records: kept, ..Records::default() },
        &Handbook::default(),
        DistanceUnit::Miles,
    )
}

/// The machines, each as its id, its names, and how much was recorded of it; then what was told.
#[track_caller]
fn check(current: Vec<(Identity, Record)>, machines: &[&str], told: &[&str]) {
    let (found, problems) = joined(current, Vec::new());
    let shown: Vec<String> = found.iter().map(shown).collect();
    assert_eq!(shown, machines);
    let problems: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(problems, told);
}

fn shown(machine: &Machine) -> String {
    let mark = machine.identity.mark.as_ref().map(|mark| format!(", {}", mark.value)).unwrap_or_default();
    let records = machine.readings.len() + machine.jobs.len() + machine.checks.len() + machine.rides.len();
    format!("{}{mark}: {records}", machine.id.as_str())
}

const DAY: Date = date(2026, 3, 2);
const NEXT: Date = date(2026, 3, 3);

#[test]
fn rows_of_several_sheets_are_one_machine_by_any_name_they_share() {
    check(
        vec![
            Row("a.csv", 2).machine("F1 AB12CDE"),
            Row("a.csv", 3).machine("F2 S7"),
            Row("b.csv", 2).machine("S7 CD34EFG"),
            Row("b.csv", 3).machine("S9"),
            Row("c.csv", 2).machine("CD34EFG"),
            Row("log.csv", 2).reading("AB12CDE", DAY, 10),
            Row("log.csv", 3).reading("F1", NEXT, 20),
            Row("log.csv", 4).reading("CD34EFG", DAY, 30),
            Row("log.csv", 5).reading("S7", NEXT, 40),
            Row("log.csv", 6).reading("F2 XX99XXX", NEXT, 50),
            Row("log.csv", 7).reading("S9", DAY, 60),
        ],
        &["frame F1, AB12 CDE: 2", "frame F2, CD34 EFG: 3", "stock S9: 1"],
        &[],
    );
}

#[test]
fn one_mark_on_two_frames_is_a_clash_and_its_bare_rows_join_neither() {
    check(
        vec![
            Row("a.csv", 2).machine("F1 AB12CDE"),
            Row("a.csv", 3).machine("F2 AB12CDE S7"),
            Row("b.csv", 2).machine("AB12CDE"),
            Row("b.csv", 3).machine("AB12CDE S9"),
            Row("log.csv", 2).reading("AB12CDE", DAY, 10),
            Row("log.csv", 3).reading("AB12CDE", NEXT, 11),
            Row("log.csv", 4).reading("AB12CDE S7", DAY, 20),
            Row("log.csv", 5).reading("AB12CDE F1", DAY, 30),
            Row("log.csv", 6).reading("AB12CDE S9", DAY, 40),
        ],
        &["frame F1, AB12 CDE: 1", "frame F2, AB12 CDE: 1", "stock S9: 1"],
        &[
            "error: 2 machines have the mark AB12 CDE\n  --> a.csv, A3: `AB12 CDE`\nhelp: Correct the wrong one: here it \
             stands for frame number F2, at a.csv, A2 for frame number F1.",
            "error: it cannot be told which machine this row is about: several have its mark or stock number\n  \
             --> b.csv, A2: `AB12 CDE`\nhelp: Add the frame number; until then this row counts for none of them.",
            "error: the mark AB12 CDE is claimed by several machines\n  --> log.csv, A2: `AB12 CDE`\n\
             help: Add the frame number; until then this counts for no machine (2 rows).",
        ],
    );
}

#[test]
fn names_of_different_machines_in_one_row_are_told_and_the_frame_number_decides() {
    check(
        vec![
            Row("a.csv", 2).machine("F1 AB12CDE"),
            Row("a.csv", 3).machine("F2 S7 CD34EFG"),
            Row("log.csv", 2).reading("F1 CD34EFG", DAY, 10),
            Row("log.csv", 3).reading("S7 AB12CDE", DAY, 10),
            Row("log.csv", 4).reading("F3 AB12CDE", DAY, 10),
        ],
        &["frame F1, AB12 CDE: 1", "frame F2, CD34 EFG: 0"],
        &[
            "error: the mark CD34 EFG and frame number F1 belong to different machines\n  --> log.csv, A2: \
             `CD34 EFG`\nhelp: Correct one of them; until then this counts for that of the frame number (1 row).",
            "error: the mark AB12 CDE and stock number S7 belong to different machines\n  --> log.csv, A3: \
             `AB12 CDE`\nhelp: Correct one of them; until then this counts for no machine (1 row).",
            "error: the mark AB12 CDE and frame number F3 belong to different machines\n  --> log.csv, A4: \
             `AB12 CDE`\nhelp: Correct one of them; until then this counts for no machine (1 row).",
        ],
    );
}

#[test]
fn an_unknown_mark_is_told_once_with_its_rows_and_the_mark_one_slip_away() {
    check(
        vec![
            Row("a.csv", 2).machine("AB12CDE"),
            Row("log.csv", 4).reading("AB21CDE", DAY, 10),
            Row("log.csv", 2).reading("AB21CDE", NEXT, 11),
            Row("log.csv", 3).reading("ZZ99ZZZ", DAY, 10),
        ],
        &["mark AB12CDE, AB12 CDE: 0"],
        &[
            "error: no machine that is listed has the mark AB21 CDE\n  --> log.csv, A2: `AB21 CDE`\nhelp: Did you \
             mean AB12 CDE? Correct the cell, or list the machine; until then this counts for none (2 rows).",
            "error: no machine that is listed has the mark ZZ99 ZZZ\n  --> log.csv, A3: `ZZ99 ZZZ`\nhelp: Correct \
             the cell, or list the machine; until then this counts for none (1 row).",
        ],
    );
}

#[test]
fn one_slip_of_the_keyboard_is_known() {
    for (one, other, expected) in [
        ("AB12CDE", "AB12CDF", Some(Slip::Other)),
        ("AB12CDE", "AB12CD", Some(Slip::Other)),
        ("AB12CDE", "AB112CDE", Some(Slip::Other)),
        ("AB12CDE", "BA12CDE", Some(Slip::Usual)),
        ("AB12CDE", "AB12CED", Some(Slip::Usual)),
        ("AB12CDE", "AB12XYE", None),
        ("AB12CDE", "AC12BDE", None),
        ("AB12CDE", "AB12", None),
        ("AB12CDE", "AB12CDE", None),
        ("AB12CDO", "AB12CD0", Some(Slip::Usual)),
        ("A812CDE", "AB12CDE", Some(Slip::Usual)),
        ("AI12CDE", "A112CDE", Some(Slip::Usual)),
        ("AI12CDE", "AL12CDE", Some(Slip::Other)),
    ] {
        assert_eq!(near_marks::slip_between(one.as_bytes(), other.as_bytes()), expected, "{one} {other}");
    }
}

#[test]
fn without_a_sheet_of_machines_the_logs_make_them() {
    check(
        vec![
            Row("log.csv", 2).reading("AB12CDE", DAY, 10),
            Row("log.csv", 3).reading("AB12CDE F1", NEXT, 20),
            Row("jobs.csv", 2).job("CD34EFG", Some(DAY), "first service", None),
        ],
        &["frame F1, AB12 CDE: 2", "mark CD34EFG, CD34 EFG: 1"],
        &[],
    );
}

#[test]
fn without_a_sheet_of_machines_the_kept_history_makes_them_too() {
    let kept =
        vec![Row("log-1.csv", 2).reading("AB12CDE", DAY, 10), Row("log-1.csv", 3).reading("CD34EFG", DAY, 5)];
    let (machines, problems) = joined(vec![Row("log-2.csv", 2).reading("AB12CDE", NEXT, 20)], kept);
    assert_eq!(problems, []);
    let shown: Vec<String> = machines.iter().map(shown).collect();
    assert_eq!(shown, ["mark AB12CDE, AB12 CDE: 2", "mark CD34EFG, CD34 EFG: 1"]);
}

#[test]
fn of_two_different_values_the_later_cell_counts_and_both_are_named() {
    let with = |row: Row, make: &str, handover: Date, note: &str| MachineRow {
        make: row.text(3, make),
        handover: Some(row.entry(4, handover)),
        note: row.text(5, note),
        ..MachineRow::default()
    };
    let (first, last) = (Row("a.csv", 2), Row("b.csv", 2));
    // The later file comes first here: not the order of reading decides, but the cell.
    let records = vec![
        last.machine_with("S7 AB12CDE", with(last, "marlow ", NEXT, "blue")),
        first.machine_with("S7", with(first, "Marlow", DAY, "paid")),
    ];
    let (machines, problems) = joined(records, Vec::new());
    let row = &machines[0].row;
    assert_eq!(row.handover, Some(last.entry(4, NEXT)));
    assert_eq!(row.note, last.text(5, "blue"));
    let told: Vec<String> = problems.iter().map(ToString::to_string).collect();
    let expected = "note: two rows about AB12 CDE give different values for the handover\n  --> b.csv, E2: `2026-03-03`\n\
                    help: This one counts; a.csv, E2 says `2026-03-02`. Correct the wrong one.";
    assert_eq!(told, [expected]);
}

#[test]
fn distances_count_as_the_row_says_else_the_handbook_else_the_shop() {
    let kilometres = |row: Row| MachineRow {
        clock_unit: Some(row.entry(3, DistanceUnit::Kilometres)),
        ..MachineRow::default()
    };
    let of_model = |row: Row, model: &str| MachineRow { model: row.text(4, model), ..MachineRow::default() };
    let (one, two, three) = (Row("a.csv", 2), Row("a.csv", 3), Row("a.csv", 4));
    let handbook_row = Row("handbook/models.csv", 2);
    let speaks_of = SpeaksOf { model: handbook_row.text(0, "Spruce 50"), ..SpeaksOf::default() };
    let clock_unit = Some(handbook_row.entry(3, DistanceUnit::Kilometres));
    let handbook = Handbook {
        models: vec![ModelRow { speaks_of, clock_unit, ..ModelRow::default() }],
        ..Handbook::default()
    };
    let log = Row("log.csv", 2);
    let with_unit = WrittenDistance { tenths: 1_000, unit: Some(DistanceUnit::Miles) };
    let in_miles = Reading { day: log.entry(3, NEXT), clock: log.entry(4, with_unit) };
    let records = vec![
        one.machine_with("S1", kilometres(one)),
        two.machine_with("S2", of_model(two, "spruce50")),
        three.machine_with("S3", of_model(three, "Spruce 125")),
        log.reading("S1", DAY, 100),
        log.reading("S2", DAY, 100),
        log.reading("S3", DAY, 100),
        (log.names("S1"), Record::Reading(in_miles)),
    ];
    let (machines, problems) =
        join(Records { records, ..Records::default() }, Records::default(), &handbook, DistanceUnit::Miles);
    assert_eq!(problems, []);
    let clocks: Vec<Vec<Distance>> = machines
        .iter()
        .map(|machine| machine.readings.iter().map(|reading| reading.clock.value).collect())
        .collect();
    let (hundred_km, hundred_miles) =
        (Distance::of(100, DistanceUnit::Kilometres), Distance::of(100, DistanceUnit::Miles));
    assert_eq!(clocks, [vec![hundred_km, hundred_miles], vec![hundred_km], vec![hundred_miles]]);
}

#[test]
fn jobs_rides_and_fills_carry_readings_and_each_day_and_distance_counts_once() {
    let records = vec![
        Row("a.csv", 2).machine("S1"),
        Row("log.csv", 2).reading("S1", NEXT, 20),
        Row("log.csv", 3).reading("S1", NEXT, 15),
        Row("log.csv", 4).reading("S1", DAY, 10),
        Row("fills.csv", 2).fill("S1", NEXT, 20),
        Row("jobs.csv", 2).job("S1", Some(NEXT), "service", Some(21)),
        Row("jobs.csv", 3).job("S1", None, "service", Some(99)),
    ];
    let (machines, _) = joined(records, Vec::new());
    let readings: Vec<(Date, Distance, &str, u32)> = machines[0]
        .readings
        .iter()
        .map(|reading| {
            let origin = &reading.clock.origin;
            (reading.day.value, reading.clock.value, origin.name.file.as_str(), origin.row)
        })
        .collect();
    let miles = |count| Distance::of(count, DistanceUnit::Miles);
    let expected = [
        (DAY, miles(10), "log.csv", 4),
        (NEXT, miles(15), "log.csv", 3),
        (NEXT, miles(20), "log.csv", 2),
        (NEXT, miles(21), "jobs.csv", 2),
    ];
    assert_eq!(readings, expected);
}

#[test]
fn what_is_undated_comes_last() {
    let records = vec![
        Row("a.csv", 2).machine("S1"),
        Row("jobs.csv", 2).job("S1", None, "undated", None),
        Row("jobs.csv", 3).job("S1", Some(NEXT), "later", None),
        Row("jobs.csv", 4).job("S1", Some(DAY), "earlier", None),
    ];
    let (machines, _) = joined(records, Vec::new());
    let done: Vec<&str> = machines[0].jobs.iter().map(|job| job.done.value.as_str()).collect();
    assert_eq!(done, ["earlier", "later", "undated"]);
}

#[test]
fn a_kept_record_counts_until_its_sheet_says_otherwise() {
    let machine = Row("a.csv", 2).machine("S1");
    let current = vec![
        machine,
        Row("log.csv", 9).reading("S1", DAY, 12),
        Row("jobs.csv", 2).job("S1", Some(DAY), "first service", None),
    ];
    let kept = vec![
        // Corrected since: the same sheet has another reading for that day.
        Row("log.csv", 2).reading("S1", DAY, 1_200),
        // Another sheet said it, and its export was overwritten.
        Row("old.csv", 2).reading("S1", DAY, 11),
        // No longer in the export's window.
        Row("log.csv", 3).reading("S1", date(2026, 2, 1), 5),
        // The same job, from a sheet of another name.
        Row("jobs-february.csv", 2).job("S1", Some(DAY), "first service", None),
        // A machine that no sheet lists any more.
        Row("log.csv", 4).reading("S8", DAY, 7),
        // What a row said of the machine itself does not come back.
        Row("a.csv", 2).machine_with(
            "S1",
            MachineRow { handover: Some(Row("a.csv", 2).entry(5, DAY)), ..MachineRow::default() },
        ),
    ];
    let (machines, problems) = joined(current, kept);
    assert_eq!(problems, []);
    assert_eq!(machines.len(), 1);
    let machine = &machines[0];
    let clocks: Vec<String> =
        machine.readings.iter().map(|reading| reading.clock.value.to_string()).collect();
    assert_eq!(clocks, ["5 miles", "11 miles", "12 miles"]);
    let jobs: Vec<&str> = machine.jobs.iter().map(|job| job.done.origin.name.file.as_str()).collect();
    assert_eq!(jobs, ["jobs.csv"]);
    assert_eq!(machine.row.handover, None);
}

#[test]
fn one_ride_in_two_exports_is_one_and_two_alike_in_one_sheet_are_two() {
    let records = vec![
        Row("a.csv", 2).machine("S1"),
        Row("rides-1.csv", 2).ride("S1", DAY, 5),
        Row("rides-2.csv", 2).ride("S1", DAY, 5),
        Row("rides-2.csv", 3).ride("S1", DAY, 5),
        Row("rides-2.csv", 4).ride("S1", NEXT, 5),
    ];
    let (machines, _) = joined(records, Vec::new());
    let rides: Vec<String> = machines[0]
        .rides
        .iter()
        .map(|ride| ride.distance.as_ref().expect("every ride here has one").origin.to_string())
        .collect();
    assert_eq!(rides, ["rides-2.csv, I2", "rides-2.csv, I3", "rides-2.csv, I4"]);
}

#[test]
fn a_failed_check_stays_beside_a_passed_one() {
    let records = vec![
        Row("a.csv", 2).machine("S1"),
        Row("checks.csv", 2).check("S1", Some(DAY), "brakes", CheckResult::Failed),
        Row("checks.csv", 3).check("S1", Some(DAY), "brakes", CheckResult::Passed),
    ];
    let (machines, _) = joined(records, Vec::new());
    let results: Vec<CheckResult> = machines[0].checks.iter().map(|check| check.result.value).collect();
    assert_eq!(results, [CheckResult::Failed, CheckResult::Passed]);
}

impl Dice {
    fn place_below(&mut self, most: usize) -> usize {
        self.below(most as u64) as usize
    }

    fn shuffle<T>(&mut self, things: &mut [T]) {
        for place in (1..things.len()).rev() {
            things.swap(place, self.place_below(place + 1));
        }
    }

    /// Names out of a small stock, so that many rows share and contradict.
    fn names(&mut self) -> String {
        let kinds = self.place_below(7) + 1;
        let names = [(1, "F"), (2, "S"), (4, "M")].into_iter().filter(|(bit, _)| kinds & bit != 0);
        names.map(|(_, kind)| format!("{kind}{}", self.place_below(6))).collect::<Vec<_>>().join(" ")
    }

    fn record(&mut self, row: Row) -> (Identity, Record) {
        let names = self.names();
        let day = [DAY, NEXT, date(2026, 4, 1)][self.place_below(3)];
        match self.place_below(6) {
            0 => row.machine_with(
                &names,
                MachineRow {
                    customer: row.text(9, ["Ann", "Bob"][self.place_below(2)]),
                    ..MachineRow::default()
                },
            ),
            1 => row.reading(&names, day, self.place_below(4) as i64),
            2 => row.job(
                &names,
                Some(day).filter(|_| self.place_below(2) == 0),
                "service",
                Some(self.place_below(4) as i64),
            ),
            3 => row.check(&names, Some(day), ["brakes", "tyres"][self.place_below(2)], CheckResult::Passed),
            4 => row.ride(&names, day, self.place_below(2) as i64),
            _ => row.fill(&names, day, self.place_below(4) as i64),
        }
    }

    fn records(&mut self) -> Vec<(Identity, Record)> {
        const FILES: [&str; 4] = ["a.csv", "b.csv", "c.csv", "d.csv"];
        let rows = (0..self.place_below(40)).map(|row| Row(FILES[row % 4], row as u32 + 2));
        rows.map(|row| self.record(row)).collect()
    }
}

#[test]
fn the_order_of_rows_and_files_decides_nothing() {
    let mut dice = Dice::of(7);
    let (mut clashing, mut joining) = (0, 0);
    for _ in 0..300 {
        let (mut current, mut kept) = (dice.records(), dice.records());
        let first = joined(current.clone(), kept.clone());
        clashing += usize::from(first.1.iter().any(|problem| problem.what.contains("machines have the")));
        joining += usize::from(first.0.iter().any(|machine| !machine.readings.is_empty()));
        let ids: Vec<&MachineId> = first.0.iter().map(|machine| &machine.id).collect();
        assert!(ids.is_sorted_by(|one, other| one < other), "sorted, and none twice: {ids:?}");
        for _ in 0..3 {
            dice.shuffle(&mut current);
            dice.shuffle(&mut kept);
            assert_eq!(joined(current.clone(), kept.clone()), first);
        }
    }
    // The generator is worth something only if it makes both.
    assert!(clashing > 50 && joining > 200, "{clashing} {joining}");
}

#[test]
fn joining_again_what_was_kept_changes_nothing() {
    let mut dice = Dice::of(11);
    for _ in 0..100 {
        let current = dice.records();
        let (machines, problems) = joined(current.clone(), Vec::new());
        assert_eq!(joined(current.clone(), current), (machines, problems));
    }
}

#[test]
fn no_record_of_a_listed_machine_is_lost() {
    let mut dice = Dice::of(13);
    for _ in 0..100 {
        // One row each, so that nothing is said twice; every name belongs to one machine.
        let listed: Vec<_> =
            (0..6).map(|number| Row("a.csv", number + 2).machine(&format!("F{number} S{number}"))).collect();
        let days = 1 + dice.place_below(50);
        let logs: Vec<_> = (0..days)
            .map(|count| {
                let names = format!("{}{}", ["F", "S"][dice.place_below(2)], dice.place_below(6));
                Row("log.csv", count as u32 + 2).reading(&names, DAY, count as i64)
            })
            .collect();
        let (machines, problems) = joined(listed.into_iter().chain(logs).collect(), Vec::new());
        assert_eq!(problems, []);
        assert_eq!(machines.iter().map(|machine| machine.readings.len()).sum::<usize>(), days);
    }
}

#[test]
fn a_flood_of_unknown_marks_is_cut_off_and_counted() {
    let logs = (0..250).map(|row| Row("log.csv", row + 2).reading(&format!("ZZ{row}"), DAY, 1));
    let records = [Row("a.csv", 2).machine("S1")].into_iter().chain(logs).collect();
    let (_, problems) = joined(records, Vec::new());
    assert_eq!(problems.len(), 201);
    assert_eq!(problems[200].what, "50 more names belong to no machine for sure");
}

/// A clock on a machine's row without a day of its own, as exported on a day.
fn undated(row: Row, day: Date, miles: i64) -> (Identity, Record) {
    let clock = row.entry(4, written(miles));
    let day = Entry::new(day, clock.origin.clone());
    (row.names("F1"), Record::Reading(Reading { day, clock }))
}

#[test]
fn an_undated_clock_counts_only_where_it_tells_something_new() {
    let bike = Row("bikes.csv", 2);
    let dated = |miles| Row("log.csv", miles as u32).reading("F1", DAY, miles);
    let yesterday = date(2026, 3, 1);
    // Today's records, kept ones, and the readings that count.
    let cases = [
        ("ahead of the log", vec![dated(90), undated(bike, NEXT, 120)], vec![], vec![(DAY, 90), (NEXT, 120)]),
        ("behind the log", vec![dated(90), undated(bike, NEXT, 40)], vec![], vec![(DAY, 90)]),
        (
            "the same again",
            vec![undated(bike, NEXT, 40)],
            vec![undated(bike, yesterday, 40)],
            vec![(yesterday, 40)],
        ),
        ("gone on", vec![undated(bike, NEXT, 55)], vec![undated(bike, DAY, 40)], vec![(DAY, 40), (NEXT, 55)]),
    ];
    for (case, mut current, kept, expected) in cases {
        current.push(bike.machine("F1"));
        let (machines, problems) = joined(current, kept);
        let readings: Vec<_> =
            machines[0].readings.iter().map(|reading| (reading.day.value, reading.clock.value)).collect();
        let expected: Vec<_> = expected
            .into_iter()
            .map(|(day, miles)| (day, Distance::of(miles, DistanceUnit::Miles)))
            .collect();
        assert_eq!(readings, expected, "{case}");
        assert!(problems.is_empty(), "{case}: {problems:?}");
    }
}
