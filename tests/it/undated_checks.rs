//! Logs of checks of which nobody knows the days, or what their signs mean: what each lets go was worked out by hand.

use serde_json::Value;

use crate::program::{Yard, printed};

/// Machines that go out on 8 February 2027, and their road tests.
const STOCK: &str = "Reg,Model,Registered,Handover,Customer,Tel\n\
    LV76 KAA,Lark,13/01/2027,08/02/2027,Mr A,07700 900601\nLV76 KAB,Lark,13/01/2027,08/02/2027,Mr B,07700 900602\n\
    LV76 KAC,Lark,13/01/2027,08/02/2027,Mr C,07700 900603\n";
const RIDES: &str = "Date,Reg,Miles,Speed\n14/01/2027,LV76 KAA,6.1,38\n15/01/2027,LV76 KAA,6.2,38\n\
    14/01/2027,LV76 KAB,6.1,38\n15/01/2027,LV76 KAB,6.2,38\n14/01/2027,LV76 KAC,6.1,38\n15/01/2027,LV76 KAC,6.2,38\n";

/// A yard with these checks, and what `setup --accept` prints of it.
fn yard_with(checks: &str) -> (Yard, String) {
    let yard = Yard::with(&[("checks.csv", checks), ("stock.csv", STOCK), ("rides.csv", RIDES)]);
    let shown = printed(&yard.run("setup", &["--accept"]));
    (yard, shown)
}

/// Who must stay in the yard, or is told to the bench, for want of checks.
fn kept(run: &Value) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let missed = findings.filter(|it| it["rule"] == "missed-checks" && it["state"] != "settled");
    let mut kept: Vec<String> = missed.map(|it| it["machine"]["mark"].as_str().unwrap().to_owned()).collect();
    kept.sort();
    kept
}

fn with_line(yard: &Yard, open: &str, line: &str) {
    let settings = yard.settings();
    let lines = settings.lines().map(|one| if one.starts_with(open) { line } else { one });
    yard.put("tickover.toml", lines.map(|line| format!("{line}\n")).collect::<String>());
    assert!(yard.settings().contains(line), "{settings}");
}

#[test]
fn checks_whose_day_waits_for_an_answer_let_no_machine_go() {
    // The first machine was checked for an earlier sale, two years before.
    let checks = "Created at,Reg,Item,Result,By\n2025-02-03T10:02:11Z,LV76 KAA,PDI,ok,Kay\n\
        2025-02-03T15:00:00Z,LV76 KAA,QC,ok,Sam\n2027-02-03T10:02:11Z,LV76 KAB,PDI,ok,Kay\n\
        2027-02-03T15:00:00Z,LV76 KAB,QC,ok,Sam\n2027-02-03T10:02:11Z,LV76 KAC,PDI,ok,Kay\n\
        2027-02-03T15:00:00Z,LV76 KAC,QC,FAIL,Sam\n";
    let (yard, _) = yard_with(checks);
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(kept(&run), ["LV76 KAA", "LV76 KAB", "LV76 KAC"]);
    let letter = yard.letter_in_a_line("2027-02-08");
    let (top, _) = letter.split_once("Keep in the yard").unwrap();
    assert!(
        letter.contains("pre-delivery inspection and quality check (passed, on an unknown day)"),
        "{letter}"
    );
    assert!(letter.contains("quality check (failed, on an unknown day)"), "{letter}");
    assert!(top.contains("Nobody has said whether `Created at` is the day of these checks"), "{letter}");
    assert!(top.contains("\"Created at\" = \"day\""), "{letter}");

    with_line(&yard, "# \"Created at\"", "\"Created at\" = \"day\"");
    let (run, _) = yard.kept_morning("2027-02-09");
    assert_eq!(kept(&run), ["LV76 KAA", "LV76 KAC"]);
}

#[test]
fn a_log_of_checks_without_days_is_asked_about_and_counts_by_its_line_alone() {
    let checks = "Reg,Item,Result,By\nLV76 KAA,PDI,ok,Kay\nLV76 KAA,QC,ok,Sam\nLV76 KAB,PDI,ok,Kay\nLV76 KAB,QC,ok,Sam\n\
        LV76 KAC,PDI,ok,Kay\nLV76 KAC,QC,FAIL,Sam\n";
    let (yard, shown) = yard_with(checks);
    assert!(shown.contains("No column of this sheet tells on which day a check was done."), "{shown}");
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(kept(&run), ["LV76 KAA", "LV76 KAB", "LV76 KAC"]);
    with_line(&yard, "# undated_checks_count", "undated_checks_count = true");
    let (run, _) = yard.kept_morning("2027-02-09");
    assert_eq!(kept(&run), ["LV76 KAC"]);
}

#[test]
fn a_check_without_a_day_among_others_that_have_one_passes_nothing_and_takes_nothing_back() {
    let checks = "Date,Reg,Item,Result,By\n14/01/2027,LV76 KAA,PDI,ok,Kay\n,LV76 KAA,QC,ok,Sam\n\
        14/01/2027,LV76 KAB,PDI,ok,Kay\n15/01/2027,LV76 KAB,QC,ok,Sam\n,LV76 KAB,QC,ok,Sam\n\
        14/01/2027,LV76 KAC,PDI,ok,Kay\n15/01/2027,LV76 KAC,QC,ok,Sam\n";
    let (yard, _) = yard_with(checks);
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(kept(&run), ["LV76 KAA"]);
}

/// The checks of all three, with one word for each that passed; the third machine's quality check failed.
fn all_say(word: &str, failed: &str) -> String {
    let row = |mark: &str, second: &str| {
        format!("14/01/2027,LV76 {mark},PDI,{word},Kay\n15/01/2027,LV76 {mark},QC,{second},Sam\n")
    };
    format!("Date,Reg,Item,Result,By\n{}{}{}", row("KAA", word), row("KAB", word), row("KAC", failed))
}

#[test]
fn a_picture_in_place_of_a_result_is_asked_about_and_never_makes_the_checks_jobs() {
    for sign in ["👍", "👍🏽", "🟢", "👌", "●", "★"] {
        let (yard, shown) = yard_with(&all_say(sign, sign));
        assert!(shown.contains("checks.csv: one check a row"), "{sign}: {shown}");
        assert!(shown.contains(&format!("What does a bare `{sign}` say of a check here?")), "{shown}");
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(kept(&run), ["LV76 KAA", "LV76 KAB", "LV76 KAC"], "{sign}");
        with_line(&yard, "# ticks", "ticks = \"done\"");
        let (run, _) = yard.kept_morning("2027-02-09");
        assert_eq!(kept(&run), [] as [&str; 0], "{sign}");
    }
    // What no line explains is open all the same.
    let (yard, shown) = yard_with(&all_say("🦄", "🦄"));
    assert!(shown.contains("checks.csv: one check a row"), "{shown}");
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(kept(&run), ["LV76 KAA", "LV76 KAB", "LV76 KAC"]);
}

#[test]
fn a_red_dot_is_passed_by_no_line_for_signs() {
    let (yard, _) = yard_with(&all_say("🟢", "🔴"));
    with_line(&yard, "# ticks", "ticks = \"done\"");
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(kept(&run), ["LV76 KAC"]);
}

#[test]
fn a_tick_and_an_ok_with_a_thumb_are_passes() {
    for word in ["🗸", "OK👍", "ok 👌", "👍 pass"] {
        let (yard, _) = yard_with(&all_say(word, "FAIL"));
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(kept(&run), ["LV76 KAC"], "{word}");
    }
}

#[test]
fn what_passed_stands_when_all_results_say_one_morning_what_nobody_can_read() {
    let failing = |word: &str| format!("{}05/02/2027,LV76 KAB,QC,FAIL,Sam\n", all_say(word, "f"));
    for word in ["t", "gut", "👍"] {
        let (yard, _) = yard_with(&all_say("ok", "FAIL"));
        let (run, _) = yard.kept_morning("2027-02-05");
        assert_eq!(kept(&run), ["LV76 KAC"]);
        yard.put("sheets/checks.csv", all_say(word, "f"));
        let (run, code) = yard.kept_morning("2027-02-06");
        assert_eq!((kept(&run), code), (vec!["LV76 KAC".to_owned()], Some(1)), "{word}: {run:#}");
        let said = run["complaints"].to_string();
        assert!(said.contains(&format!("say `{word}` or the like now")), "{said}");
        // A check that fails now counts at once.
        yard.put("sheets/checks.csv", failing(word));
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(kept(&run), ["LV76 KAB", "LV76 KAC"], "{word}");
        let put_back = format!("{}05/02/2027,LV76 KAB,QC,FAIL,Sam\n", all_say("ok", "FAIL"));
        yard.put("sheets/checks.csv", put_back);
        let (run, code) = yard.kept_morning("2027-02-09");
        assert_eq!(
            (kept(&run), code),
            (vec!["LV76 KAB".to_owned(), "LV76 KAC".to_owned()], Some(0)),
            "{word}"
        );
    }
}

#[test]
fn a_row_of_a_checklist_and_a_job_that_stand_beside_no_day_pass_nothing() {
    let both = all_say("ok", "ok");
    let list = "Date,Reg,Brakes,Tyres,Lights,Checked by\n14/01/2027,LV76 KAA,ok,ok,ok,Kay\n,LV76 KAB,ok,ok,ok,Kay\n\
        14/01/2027,LV76 KAC,ok,ok,ok,Kay\n";
    let jobs = "Date,Reg,Work done,Mileage,Mech\n13/01/2027,LV76 KAA,PDI passed,6,Kay\n14/01/2027,LV76 KAA,QC passed,7,Sam\n\
        ,LV76 KAB,PDI passed,6,Kay\n,LV76 KAB,QC passed,7,Sam\n13/01/2027,LV76 KAC,PDI passed,6,Kay\n\
        14/01/2027,LV76 KAC,QC passed,7,Sam\n";
    for sheets in [&[("checks.csv", both.as_str()), ("list.csv", list)][..], &[("jobs.csv", jobs)]] {
        let yard = Yard::with(&[("stock.csv", STOCK), ("rides.csv", RIDES)]);
        for (file, text) in sheets {
            yard.put(&format!("sheets/{file}"), *text);
        }
        yard.run("setup", &["--accept"]);
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(kept(&run), ["LV76 KAB"], "{sheets:?}");
    }
}

#[test]
fn a_check_without_a_day_that_failed_and_is_put_right_in_its_cell_has_passed() {
    let list = |result: &str| {
        format!(
            "Reg,Model,Registered,Handover,Customer,Tel,PDI,PDI by,QC,QC by\n\
             LV76 KAA,Lark,13/01/2027,08/02/2027,Mr A,07700 900601,ok,Kay,ok,Sam\n\
             LV76 KAB,Lark,13/01/2027,08/02/2027,Mr B,07700 900602,ok,Kay,{result},Sam\n\
             LV76 KAC,Lark,13/01/2027,08/02/2027,Mr C,07700 900603,ok,Kay,ok,Sam\n"
        )
    };
    for put_right in ["ok", "ok after adjustment"] {
        let yard = Yard::with(&[("stock.csv", &list("fail")), ("rides.csv", RIDES)]);
        yard.run("setup", &["--accept"]);
        let (run, _) = yard.kept_morning("2027-02-06");
        assert_eq!(kept(&run), ["LV76 KAB"]);
        yard.put("sheets/stock.csv", list(put_right));
        for day in ["2027-02-07", "2027-02-08"] {
            let (run, _) = yard.kept_morning(day);
            assert_eq!(kept(&run), [] as [String; 0], "{put_right} on {day}");
        }
        yard.put("sheets/stock.csv", list("fail"));
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(kept(&run), ["LV76 KAB"], "{put_right}");
    }
}
