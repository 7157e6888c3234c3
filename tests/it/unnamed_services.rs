//! Services of which a sheet does not say which they were: what is told of them, worked out by hand.
//!
//! That a year without a service is over, whichever the last one was, is common practice, no source.

use crate::program::Yard;

/// A machine's line in a log of jobs, behind its day.
const OF_BT19: &str = "BT19 NAA,Mr A,07700 900601";

/// The answer of a day to some sheets of a shop that hands machines over, or of one that only services.
fn answer(sheets: &[(&str, &str)], hands_over: bool, day: &str) -> serde_json::Value {
    let yard = Yard::empty();
    for (file, text) in sheets {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    let settings = yard.settings();
    for line in ["\n# hands_over = true", "\nhands_over = true"] {
        yard.put("tickover.toml", settings.replace(line, &format!("\nhands_over = {hands_over} #")));
        if yard.settings() != settings {
            break;
        }
    }
    assert_ne!(yard.settings(), settings, "it says nowhere whether the shop hands machines over");
    yard.morning(day).0
}

/// What a rule says of a machine: the section, the day and the words, or what is missing; nothing where it is clear.
fn said(answer: &serde_json::Value, mark: &str, rule: &str) -> String {
    let all = |list: &str| answer[list].as_array().unwrap().clone().into_iter();
    let is_it = |one: &serde_json::Value| one["machine"]["mark"] == mark && one["rule"] == rule;
    let text = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let found = all("findings")
        .find(is_it)
        .map(|one| format!("{} {}: {}", text(&one["section"]), text(&one["due"]), text(&one["text"])));
    let missing = all("cannot_tell").find(is_it).map(|one| format!("cannot tell: {}", one["missing"]));
    found.or(missing).unwrap_or_default()
}

/// What is said on a day of one machine in a shop that only services, by its log of jobs.
fn of_jobs(rows: &str, rule: &str, day: &str) -> String {
    let log = format!("Date,Reg,Customer,Tel,Work done,Miles\n{rows}\n");
    said(&answer(&[("sheets/jobs.csv", &log)], false, day), "BT19 NAA", rule)
}

#[test]
fn a_service_without_a_name_is_followed_by_the_next_one_whatever_it_was() {
    let job = format!("10/10/2025,{OF_BT19},Service,6100");
    let on = |day: &str| of_jobs(&job, "service-due", day);
    let whichever = "12 months after the last service, of which the sheets do not say which it was";
    assert_eq!(on("2026-08-20"), "", "seven weeks ahead");
    for (day, section, falls) in [
        ("2026-09-10", "book_in 2026-10-10", "falls due"),
        ("2026-10-09", "ring_today 2026-10-10", "falls due"),
        ("2026-10-10", "ring_today 2026-10-10", "is due"),
        ("2026-10-12", "ring_today 2026-10-12", "was due"),
        ("2027-03-01", "ring_today 2027-03-01", "was due"),
    ] {
        let told = on(day);
        let expected =
            format!("{section}: The annual service {falls} at the latest on 10 Oct 2026, {whichever}");
        assert!(told.starts_with(&expected), "{day}: {told}");
    }
}

#[test]
fn what_would_be_due_only_if_the_service_was_another_cannot_be_told() {
    let rows = format!("13/09/2025,{OF_BT19},Annual service,6100\n02/03/2026,{OF_BT19},Service,7900");
    let on = |day: &str| of_jobs(&rows, "service-due", day);
    assert_eq!(on("2026-06-01"), "", "either way it is more than six weeks ahead");
    // It falls due on 13 September where the service of March was another one, and in March where it was this one.
    for day in ["2026-08-20", "2026-09-10", "2026-09-13", "2026-12-01"] {
        assert_eq!(on(day), "cannot tell: [\"what was done at the last service\"]", "{day}");
    }
    let told = on("2027-02-20");
    assert!(
        told.starts_with("ring_today 2027-03-02: The annual service falls due at the latest on 2 Mar 2027"),
        "{told}"
    );
}

#[test]
fn a_wide_sheet_with_a_last_service_is_rung_for_whatever_that_was() {
    let sheet = "Reg,Customer,Tel,Registered,Handover,Last service\n\
                 BT24 NAA,Mr A,07700 900601,10/04/2024,11/04/2024,20/10/2025\n\
                 BT24 NAB,Mr B,07700 900602,11/04/2024,12/04/2024,21/07/2026\n\
                 BT24 NAC,Mr C,07700 900603,12/04/2024,13/04/2024,05/09/2025\n\
                 BT24 NAD,Mr D,07700 900604,12/04/2024,13/04/2024,23/04/2025\n";
    let answer = answer(&[("sheets/customers.csv", sheet)], true, "2026-10-14");
    for (mark, expected) in [
        ("BT24 NAA", "ring_today 2026-10-20: The annual service falls due at the latest on 20 Oct 2026"),
        ("BT24 NAB", "cannot tell: [\"what was done at the last service\"]"),
        ("BT24 NAC", "ring_today 2026-10-14: The annual service was due at the latest on 5 Sep 2026"),
        ("BT24 NAD", "ring_today 2026-10-14: The annual service was due at the latest on 23 Apr 2026"),
    ] {
        let told = said(&answer, mark, "service-due");
        assert!(told.starts_with(expected), "{mark}: {told}");
    }
}

#[test]
fn with_a_last_service_known_the_handover_need_not_be_whatever_the_mark_tells_of_age() {
    let sheet = "Reg,Customer,Tel,Last service\n\
                 NSK 607,Mr A,07700 900601,20/10/2025\n\
                 A606 NSK,Mr B,07700 900602,21/10/2025\n\
                 ANZ 123,Mr C,07700 900603,25/09/2025\n\
                 Q606 NSK,Mr D,07700 900604,25/04/2025\n";
    for hands_over in [false, true] {
        let answer = answer(&[("sheets/customers.csv", sheet)], hands_over, "2026-10-14");
        for (mark, expected) in [
            ("NSK607", "ring_today 2026-10-20: The annual service falls due at the latest on 20 Oct 2026"),
            ("A606NSK", "ring_today 2026-10-21: The annual service falls due at the latest on 21 Oct 2026"),
            ("ANZ123", "ring_today 2026-10-14: The annual service was due at the latest on 25 Sep 2026"),
            ("Q606NSK", "ring_today 2026-10-14: The annual service was due at the latest on 25 Apr 2026"),
        ] {
            let told = said(&answer, mark, "service-due");
            assert!(told.starts_with(expected), "{mark} {hands_over}: {told}");
        }
    }
}

#[test]
fn brake_fluid_that_is_written_down_by_itself_is_not_changed_by_a_service_without_a_name() {
    // A service does not by itself include brake fluid unless the shop's plan says so: common practice, no source.
    let sheet = "Reg,Customer,Tel,Last service,Brake fluid date\n\
                 BT19 NAA,Mr A,07700 900601,10/06/2026,30/09/2024\n\
                 BT19 NAB,Mr B,07700 900602,21/07/2026,21/07/2026\n\
                 BT19 NAC,Mr C,07700 900603,21/04/2026,\n\
                 BT19 NAD,Mr D,07700 900604,21/04/2024,\n";
    let answer = answer(&[("sheets/customers.csv", sheet)], false, "2026-10-14");
    for (mark, expected) in [
        ("BT19 NAA", "ring_today 2026-10-14: The brake fluid was due on 30 Sep 2026"),
        ("BT19 NAB", ""),
        ("BT19 NAC", ""),
        (
            "BT19 NAD",
            "ring_today 2026-10-14: The brake fluid was due at the latest on 21 Apr 2026, 24 months after",
        ),
    ] {
        let told = said(&answer, mark, "brake-fluid-due");
        assert!(told.starts_with(expected) && told.is_empty() == expected.is_empty(), "{mark}: {told}");
    }
}

#[test]
fn a_first_service_that_one_without_a_name_may_have_been_is_not_rung_for() {
    let machines = "Reg,Model,Registered,Handover,Customer,Phone\n\
                    BT26 NAA,Knot 300,20/03/2026,25/03/2026,Mr A,07700 900601\n\
                    BT26 NAB,Knot 300,20/03/2026,25/03/2026,Mr B,07700 900602\n";
    let jobs = "Date,Reg,Work done,Mileage\n02/06/2026,BT26 NAA,Service,505\n";
    let on = |mark: &str, day: &str| {
        let sheets = [("sheets/machines.csv", machines), ("sheets/jobs.csv", jobs)];
        said(&answer(&sheets, true, day), mark, "first-service-due")
    };
    // By its months it is due on 25 June: rung for before that day and on it, unless that service was it.
    for day in ["2026-06-20", "2026-06-25", "2026-07-20"] {
        assert_eq!(on("BT26 NAA", day), "cannot tell: [\"what was done at the last service\"]", "{day}");
        assert!(on("BT26 NAB", day).starts_with("ring_today"), "{day}");
    }
}

#[test]
fn of_a_shop_that_hands_nothing_over_the_first_row_of_a_machine_may_be_a_service_named_or_not() {
    for (done, at_the_latest) in [("Annual service", ""), ("Service", " at the latest")] {
        let rows = format!("04/10/2025,{OF_BT19},{done},6100");
        let told = of_jobs(&rows, "service-due", "2026-10-14");
        let expected =
            format!("ring_today 2026-10-14: The annual service was due{at_the_latest} on 4 Oct 2026");
        assert!(told.starts_with(&expected), "{done}: {told}");
    }
}

#[test]
fn a_clock_far_beyond_what_can_be_ridden_in_three_months_is_doubted() {
    let job = |day: &str, done: &str, clock: u32| format!("{day},{OF_BT19},{done},{clock}");
    let rows = [
        job("13/09/2025", "Annual service", 2900),
        job("13/06/2026", "Puncture", 6100),
        job("13/09/2026", "New chain", 70_200),
    ];
    let told = of_jobs(&rows.join("\n"), "doubtful-reading", "2026-10-14");
    assert!(told.contains("64,100 miles in 92 days are more than can be ridden"), "{told}");
}

/// What the rule for services says on 14 October 2026 of a machine whose annual service was done on 13 September 2025, and
/// which came in on 13 September 2026.
fn after_a_visit(done: &str) -> String {
    let rows = format!("13/09/2025,{OF_BT19},Annual service,6100\n13/09/2026,{OF_BT19},\"{done}\",9100");
    of_jobs(&rows, "service-due", "2026-10-14")
}

#[test]
fn a_visit_that_may_have_been_the_service_is_not_followed_by_a_call_a_month_later() {
    for done in [
        "Service",
        "Service & MOT",
        "Service + MOT",
        "MOT and service",
        "Service, MOT",
        "Service; new tyre",
        "Svc",
        "4000 mile service",
        "6k service",
    ] {
        // A year after the last one and the only one that comes again: it was this one.
        assert_eq!(after_a_visit(done), "", "{done}");
    }
}

#[test]
fn a_service_is_known_by_the_trades_words_for_it_however_short() {
    for done in [
        "Full svc",
        "Full service",
        "Major svc",
        "Ann. service",
        "12mth service",
        "12 month service",
        "Yrly service",
        "Annual service & fluid change (brakes)",
    ] {
        assert_eq!(after_a_visit(done), "", "{done}");
    }
}

#[test]
fn less_than_the_service_is_not_it() {
    for done in ["Interim service", "Minor svc", "Oil + filter", "Fork service", "Service light reset"] {
        let told = after_a_visit(done);
        assert!(
            told.starts_with("ring_today 2026-10-14: The annual service was due on 13 Sep 2026"),
            "{done}: {told}"
        );
    }
}

#[test]
fn a_distance_names_the_service_that_comes_after_it_and_oil_and_filter_that_of_the_oil() {
    let plan = "model,kind,engine cc,item,first at,first after months,then every,then every months\n\
                ,,,annual service,4000 miles,12,4000 miles,12\n\
                ,,,oil change,6000 miles,6,6000 miles,6\n\
                ,,,valve service,12000 miles,,12000 miles,\n";
    let due = |done: &str| {
        let yard = Yard::empty();
        let last = ["annual service", "oil change", "valve service"];
        let last = last.map(|item| format!("13/09/2025,{OF_BT19},{item},6100")).join("\n");
        let log =
            format!("Date,Reg,Customer,Tel,Work done,Miles\n{last}\n13/09/2026,{OF_BT19},\"{done}\",9100\n");
        yard.put("sheets/jobs.csv", log);
        yard.run("setup", &["--accept"]);
        yard.put("handbook/service.csv", plan);
        let answer = yard.morning("2026-10-14").0;
        let findings = answer["findings"].as_array().unwrap().clone();
        let of_services =
            findings.iter().filter(|one| one["rule"] == "service-due" || one["rule"] == "brake-fluid-due");
        of_services.map(|one| one["key"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    assert_eq!(due("New tyre"), ["annual service", "oil change"]);
    assert_eq!(due("4000 mile service"), ["oil change"]);
    assert_eq!(due("4k svc"), ["oil change"]);
    // It says that it was a service, and may have been more than the oil.
    assert_eq!(due("6,000 mile service"), [""; 0]);
    for oil in ["Oil + filter", "Interim service", "Minor svc"] {
        assert_eq!(due(oil), ["annual service"], "{oil}");
    }
}

#[test]
fn bled_brakes_and_short_words_for_brake_fluid_are_a_change_of_it() {
    let told = |done: &str| {
        let rows = format!("13/09/2024,{OF_BT19},Brake fluid,6100\n13/09/2026,{OF_BT19},\"{done}\",9100");
        of_jobs(&rows, "brake-fluid-due", "2026-10-14")
    };
    for done in [
        "Annual service & fluid change (brakes)",
        "Bled brakes",
        "Brakes bled, new fluid",
        "B/fluid & service",
        "DOT4 change",
    ] {
        assert_eq!(told(done), "", "{done}");
    }
    for done in ["New brake pads", "Service", "Bled rear brake", "Brakes to be bled"] {
        assert!(
            told(done).starts_with("ring_today 2026-10-14: The brake fluid was due on 13 Sep 2026"),
            "{done}"
        );
    }
}
