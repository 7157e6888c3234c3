//! A cell of a sheet is put right between two mornings: the slip must not be told of any more.

use serde_json::Value;

use crate::program::Yard;

/// Two machines that have been at the first service.
const MACHINES: &str = "Reg,Make,Model,Type,cc,Registered,Handover,Customer\n\
    AB12 CDE,Marlow,Spruce,motorcycle,125,10/06/2025,10/06/2025,Ann Other\n\
    AB13 CDE,Marlow,Spruce,motorcycle,125,10/06/2025,10/06/2025,Bob Other\n";
const JOBS: &str = "Reg,Date,Work done,Mileage\nAB12 CDE,01/08/2025,First service,480\n\
    AB13 CDE,01/08/2025,First service,480\n";
const MILEAGES: &str = "Reg,Date,Mileage\nAB12 CDE,01/02/2026,900\nAB13 CDE,01/02/2026,24800\n";

fn yard(sheet: &str, rows: &str) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", MACHINES);
    yard.put("sheets/jobs.csv", JOBS);
    yard.put("sheets/mileages.csv", MILEAGES);
    yard.put(sheet, rows);
    // Nothing in these jobs tells whether 01/08/2025 is in August: that is left open, and the day comes first until then.
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(1));
    yard
}

/// What a run raises of a machine by a rule, as JSON; settled findings are none.
fn raised(run: &Value, rule: &str, mark: &str) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    findings
        .filter(|finding| finding["rule"] == rule && finding["machine"]["mark"] == mark)
        .filter(|finding| finding["state"] != "settled")
        .map(ToString::to_string)
        .collect()
}

/// A slip is told of in the first morning; in none once its cell is put right, be it later that day or the next.
#[track_caller]
fn check(sheet: &str, slip: &str, right: &str, rule: &str, mark: &str, told: &str) {
    for days in [["2026-03-02", "2026-03-02", "2026-03-03"], ["2026-03-02", "2026-03-03", "2026-03-10"]] {
        let yard = yard(sheet, slip);
        let (run, _) = yard.kept_morning(days[0]);
        let found = raised(&run, rule, mark);
        assert!(found.iter().any(|finding| finding.contains(told)), "{days:?}: {found:#?}");
        yard.put(sheet, right);
        for day in &days[1..] {
            let (run, _) = yard.kept_morning(day);
            let found = raised(&run, rule, mark);
            assert!(!found.iter().any(|finding| finding.contains(told)), "{day}: {found:#?}");
        }
    }
}

#[test]
fn a_day_to_come_that_is_put_right_is_doubted_no_more() {
    let slip = format!("{MILEAGES}AB12 CDE,12/12/2026,950\n");
    let right = format!("{MILEAGES}AB12 CDE,12/02/2026,950\n");
    check("sheets/mileages.csv", &slip, &right, "doubtful-reading", "AB12 CDE", "12 Dec");
}

#[test]
fn a_reading_under_the_wrong_mark_leaves_that_machine_when_it_is_put_right() {
    let slip = format!("{MILEAGES}AB12 CDE,20/02/2026,25100\n");
    let right = format!("{MILEAGES}AB13 CDE,20/02/2026,25100\n");
    check("sheets/mileages.csv", &slip, &right, "doubtful-reading", "AB12 CDE", "25,100");
}

#[test]
fn a_fill_under_the_wrong_mark_leaves_that_machine_when_it_is_put_right() {
    let fill = |mark: &str| format!("Reg,Date,Litres,Grade\n{mark},20/02/2026,5,B7\n");
    check("sheets/fuel.csv", &fill("AB12 CDE"), &fill("AB13 CDE"), "wrong-fuel", "AB12 CDE", "B7");
}

#[test]
fn a_job_on_the_wrong_day_counts_on_the_right_one_alone() {
    let job = |day: &str| format!("{JOBS}AB12 CDE,{day},Service,950\n");
    check("sheets/jobs.csv", &job("02/12/2026"), &job("12/02/2026"), "doubtful-reading", "AB12 CDE", "2 Dec");
}

/// Nobody is told that nobody wrote a clock down which stands in a log and cannot be read there.
#[test]
fn a_clock_that_is_refused_in_a_log_is_named_with_its_cell() {
    let yard = Yard::empty();
    yard.put(
        "sheets/machines.csv",
        "Reg,Make,Model,Type,cc,Registered,Handover,Customer\n\
         AB26 CDE,Marlow,Spruce,motorcycle,125,13/12/2025,13/12/2025,Ann Other\n\
         AB26 CDF,Marlow,Spruce,motorcycle,125,13/12/2025,13/12/2025,Bob Other\n\
         AB26 CDG,Marlow,Spruce,motorcycle,125,13/12/2025,13/12/2025,Cat Other\n",
    );
    yard.put(
        "sheets/mileages.csv",
        "Reg,Date,Mileage\nAB26 CDE,20/02/2026,12OO\nAB26 CDF,31/02/2026,120\nAB26 CDG,20/02/2026,tbc\n",
    );
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.morning("2026-03-12");
    let told = |mark: &str| raised(&run, "first-service-due", mark).concat();
    for (mark, said, cell) in [
        ("AB26 CDE", "the clock `12OO` cannot be read", "C2"),
        ("AB26 CDF", "the day `31/02/2026` on which the clock was read cannot be read", "B3"),
    ] {
        assert!(told(mark).contains(said) && told(mark).contains(&format!("\"{cell}\"")), "{}", told(mark));
    }
    assert!(told("AB26 CDG").contains("nobody wrote the clock down"), "{}", told("AB26 CDG"));
}
