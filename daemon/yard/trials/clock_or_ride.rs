//! A log's `Miles`: what the clock showed, how far a ride went, or asked. Each expectation is worked out by hand.

use super::*;

/// Checks the kind and the columns of a log whose name says nothing.
#[track_caller]
fn check_log(lines: &str, expected: &[&str]) {
    assert_eq!(columns_of(&table("log.csv", lines)), owned(expected), "{lines}");
}

const READING: &[&str] = &["reading", "Date: day", "Reg: mark", "Miles: clock"];
const RIDE: &[&str] = &["ride", "Date: day", "Reg: mark", "Miles: distance", "By: by"];

#[test]
fn figures_of_a_clocks_size_are_readings_whoever_signs_for_them() {
    check_log(
        "Date | Reg | Miles | By\n13/04/2026 | AB12CDE | 1200 | Sam\n14/04/2026 | AB13CDE | 1300 | Jo\n\
         20/04/2026 | AB12CDE | 1450 | Sam\n21/04/2026 | AB14CDE | 8210 | Jo",
        READING,
    );
    // Each machine once, in one visit a year.
    check_log(
        "Date | Reg | Miles | By\n13/04/2026 | AB12CDE | 1200 | Sam\n14/04/2026 | AB13CDE | 4300 | Jo",
        READING,
    );
    // Dates of another order make them fall: 12 January to 5 February, read as 1 December to 2 May.
    check_log(
        "Date | Reg | Miles | By\n01/12/26 | AB24CDE | 1204 | Sam\n02/04/26 | AC24KLM | 3310 | Jo\n\
         02/05/26 | AB24CDE | 1302 | Sam\n02/11/26 | AC24KLM | 3555 | Jo",
        READING,
    );
    // In km they are larger still.
    check_log(
        "Date | Reg | KMs | By\n13/04/2026 | AB12CDE | 12,004 | Sam\n14/04/2026 | AB13CDE | 900 | Jo",
        &["reading", "Date: day", "Reg: mark", "KMs: clock"],
    );
}

#[test]
fn small_figures_that_rise_with_the_day_machine_by_machine_are_readings() {
    // New machines: two miles on delivery, then the run-in.
    check_log(
        "Date | Reg | Miles | By\n01/04/2026 | AB12CDE | 2 | Sam\n01/04/2026 | AB13CDE | 3 | Sam\n\
         13/04/2026 | AB12CDE | 41 | Sam\n14/04/2026 | AB13CDE | 66 | Jo\n20/04/2026 | AB12CDE | 97 | Jo\n\
         24/04/2026 | AB13CDE | 150 | Jo",
        READING,
    );
}

#[test]
fn small_figures_that_do_not_rise_are_rides() {
    // Two road tests of about five miles each.
    check_log(
        "Date | Reg | Miles | By\n13/04/2026 | AB12CDE | 5 | Sam\n14/04/2026 | AB12CDE | 6 | Jo\n\
         13/04/2026 | AB13CDE | 6 | Sam\n14/04/2026 | AB13CDE | 4.5 | Jo\n15/04/2026 | AB14CDE | 5.5 | Sam\n\
         16/04/2026 | AB14CDE | 5 | Jo\n16/04/2026 | AB15CDE | 5 | Jo\n17/04/2026 | AB15CDE | 5 | Jo",
        RIDE,
    );
    // The same without anybody's name.
    check_log(
        "Date | Reg | Miles\n13/04/2026 | AB12CDE | 5\n14/04/2026 | AB12CDE | 6\n13/04/2026 | AB13CDE | 6\n\
         14/04/2026 | AB13CDE | 4.5\n15/04/2026 | AB14CDE | 5.5\n16/04/2026 | AB14CDE | 5",
        &RIDE[..4],
    );
    // A rider's name settles it, however few they are.
    check_log(
        "Date | Reg | Miles | Rider\n13/04/2026 | AB12CDE | 5 | Sam",
        &["ride", "Date: day", "Reg: mark", "Miles: distance", "Rider: by"],
    );
}

#[test]
fn what_a_rider_wrote_from_the_clock_is_no_ride_of_a_thousand_miles() {
    check_log(
        "Date | Reg | Rider | Miles | Top speed\n13/04/2026 | AB12CDE | Sam | 1204 | 48\n14/04/2026 | AB12CDE | Sam | 1210 | 52",
        &["ride", "Date: day", "Reg: mark", "Rider: by", "Miles: clock", "Top speed: top speed"],
    );
}

#[test]
fn where_neither_size_nor_rise_tells_nothing_is_read_and_it_is_asked() {
    for lines in [
        "Date | Reg | Miles | By\n13/04/2026 | AB12CDE | 5 | Sam\n14/04/2026 | AB13CDE | 12 | Jo",
        "Date | Reg | Miles\n13/04/2026 | AB12CDE | 10",
        // Two machines, three road tests each, which happen to rise.
        "Date | Reg | Miles | By\n13/04/2026 | AB12CDE | 5 | Sam\n13/04/2026 | AB13CDE | 5 | Jo\n14/04/2026 | AB12CDE | 6 | Sam\n\
         14/04/2026 | AB13CDE | 9 | Jo\n15/04/2026 | AB12CDE | 8 | Sam\n15/04/2026 | AB13CDE | 12 | Jo",
        // Four of them, all longer the second time.
        "Date | Reg | Miles\n13/04/2026 | AB12CDE | 5\n14/04/2026 | AB12CDE | 10\n13/04/2026 | AB13CDE | 4\n14/04/2026 | AB13CDE | 9\n\
         13/04/2026 | AB14CDE | 6\n14/04/2026 | AB14CDE | 12\n13/04/2026 | AB15CDE | 5\n14/04/2026 | AB15CDE | 29",
        "Date | Reg | Miles | By\n13/04/2026 | AB12CDE | 60 | Sam\n14/04/2026 | AB12CDE | 85 | Jo\n14/04/2026 | AB13CDE | 90 | Jo",
    ] {
        let sheet = table("log.csv", lines);
        let read_as = recognise(&sheet, None, DateOrder::DayFirst);
        assert_eq!(
            (read_as.kind, read_as.may_be.clone()),
            (None, vec![RecordKind::Reading, RecordKind::Ride]),
            "{lines}"
        );
        assert_eq!(
            told(&read_as.open),
            ["A1 `` nothing tells whether a row of this sheet is a reading or a ride, so it is not read"]
        );
        assert_eq!(said(&records(&sheet, &read_as, WRITTEN).0), [""; 0]);
        let questions = questions(&read_as);
        assert_eq!(questions.len(), 1, "{lines}");
        let answers: Vec<_> =
            questions[0].answers.iter().map(|answer| answer.settles.lines().concat()).collect();
        assert_eq!(answers, ["rows = \"reading\"", "rows = \"ride\"", "rows = \"nothing\""]);
        assert_eq!(questions[0].usual, None);
        // Its name, or an agreement, settles it.
        assert_eq!(columns_of(&table("mileages.csv", lines))[0], "reading");
        assert_eq!(columns_of(&table("road tests.csv", lines))[0], "ride");
        let agreed = agreement("ride", &[]);
        assert_eq!(recognise(&sheet, Some(&agreed), DateOrder::DayFirst).kind, Some(RecordKind::Ride));
    }
}

#[test]
fn the_miles_of_a_job_or_a_fill_are_the_clock_unless_they_keep_falling() {
    check_log(
        "Date | Reg | Work done | Miles | By\n13/04/2026 | AB12CDE | Oil change | 612 | Sam\n13/04/2026 | AB12CDE | Chain | 612 | Sam\n\
         20/04/2026 | AB12CDE | Rear tyre | 688 | Jo",
        &["job", "Date: day", "Reg: mark", "Work done: done", "Miles: clock", "By: by"],
    );
    check_log(
        "Date | Reg | Litres | Grade | Miles\n13/04/2026 | AB12CDE | 9.4 | E5 | 412\n20/04/2026 | AB12CDE | 8.1 | E5 | 540",
        &["fill", "Date: day", "Reg: mark", "Litres: litres", "Grade: grade", "Miles: clock"],
    );
    // The trip meter, set back at each fill, is no clock; nor are the miles of the road test after a job.
    let trips = "Date | Reg | Litres | Grade | Miles\n13/04/2026 | AB12CDE | 4.4 | E5 | 92\n20/04/2026 | AB12CDE | 4.1 | E5 | 81\n\
                 27/04/2026 | AB12CDE | 4.6 | E5 | 96\n30/04/2026 | AB12CDE | 4.0 | E5 | 77";
    check_log(trips, &["fill", "Date: day", "Reg: mark", "Litres: litres", "Grade: grade"]);
    let problems = recognise(&table("log.csv", trips), None, DateOrder::DayFirst).problems;
    assert_eq!(
        told(&problems),
        [
            "E1 `Miles` this column is left out: by its header it is the clock, but its values do not look like one"
        ]
    );
}

#[test]
fn the_miles_of_a_wide_sheet_go_by_the_whole_of_their_headers() {
    let lines = "Reg | Model | Miles | Miles at service | Service date | Road test miles\n\
                 AB12CDE | Heron | 1204 | 612 | 13/04/2025 | 6\nAB13CDE | Heron | 88 | | | 5";
    let expected = [
        "machine",
        "Reg: mark",
        "Model: model",
        "Miles: clock",
        "Miles at service: last service clock",
        "Service date: last service day",
        "Road test miles: first ride distance",
    ];
    assert_eq!(columns_of(&table("a.csv", lines)), expected);
}
