//! Machines of which no handover is written down, and clocks without a day: what is told of them, worked out by hand.

use crate::program::Yard;

/// The letter of 9 March 2026 on some sheets, in one line.
fn letter(sheets: &[(&str, &str)]) -> String {
    let yard = Yard::empty();
    for (file, text) in sheets {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    yard.letter_in_a_line("2026-03-09")
}

const JOBS: (&str, &str) =
    ("sheets/jobs.csv", "Date,Reg,Work done,Mileage\n14/03/2025,VX21 FAA,Annual service,8120\n");

#[test]
fn a_customer_whose_handover_nobody_wrote_down_is_told_of_the_next_service() {
    let customers = "Reg,Make,Model,Registered,Customer,Phone,MOT due\n\
                     VX21 FAA,Wrenfold,Knot 300,15/03/2021,K Poole,01632 960112,20/09/2026\n";
    let letter = letter(&[("sheets/customers.csv", customers), JOBS]);
    // Twelve months after the last one, within the fortnight in which somebody rings.
    assert!(
        letter.contains("Ring K Poole on 01632 960112 The annual service falls due on 14 Mar 2026"),
        "{letter}"
    );
}

#[test]
fn a_machine_that_only_the_jobs_name_does_not_stand_in_the_shop() {
    let letter = letter(&[JOBS]);
    assert!(letter.contains("The annual service falls due on 14 Mar 2026"), "{letter}");
    assert!(!letter.contains("stood in the shop"), "{letter}");
}

#[test]
fn a_first_service_that_nobody_recorded_is_not_asked_for_once_a_later_one_was_done() {
    let machines = "Reg,Model,Registered,Handover,Customer,Phone\n\
                    KX74 ABD,Knot 300,20/08/2024,25/08/2024,K Poole,01632 960112\n";
    let jobs = "Date,Reg,Work done,Mileage\n20/01/2026,KX74 ABD,Annual service,6010\n";
    let letter = letter(&[("sheets/machines.csv", machines), ("sheets/jobs.csv", jobs)]);
    let told = "No first service is recorded, and Annual service on 20 Jan 2026 was done since.";
    assert!(letter.contains(told), "{letter}");
    assert!(!letter.contains("gentle riding"), "{letter}");
}

#[test]
fn a_clock_without_a_day_neither_moves_a_machine_nor_was_read_on_that_of_the_export() {
    let stock = "Stock No,Reg,Model,Arrived,Mileage\nU41,VX21 FAB,Knot 300,11/07/2025,5000\n";
    let stands = letter(&[("sheets/stock.csv", stock)]);
    assert!(stands.contains("It has stood in the shop since 11 Jul 2025"), "{stands}");
    assert!(!stands.contains("5,000 miles on"), "{stands}");
}

#[test]
fn what_a_shop_lists_that_hands_nothing_over_is_its_customers() {
    const LISTED: &str = "Reg,Model,Registered,In\nVX21 FAA,Knot 300,15/03/2021,14/03/2025\n";
    let yard = Yard::empty();
    yard.put("sheets/bikes.csv", LISTED);
    yard.put(JOBS.0, JOBS.1);
    yard.run("setup", &["--accept"]);
    let letter = |yard: &Yard| yard.letter_in_a_line("2026-03-09");
    let told = "The annual service falls due on 14 Mar 2026";
    let before = letter(&yard);
    assert!(before.contains("stood in the shop") && !before.contains(told), "may be in stock: {before}");
    let settings = yard.settings();
    assert!(settings.contains("\n# hands_over = true"), "{settings}");
    yard.put("tickover.toml", settings.replace("\n# hands_over = true", "\nhands_over = false"));
    let after = letter(&yard);
    assert!(!after.contains("stood in the shop") && after.contains(told), "{after}");
}

#[test]
fn a_first_setup_writes_that_machines_are_handed_over_only_where_the_sheets_show_it() {
    let open = "\n# hands_over = true";
    for (sheet, is_open) in [
        ("Date,Reg,Mileage\n14/03/2025,VX21 FAA,8120\n", true),
        ("Date,Reg,Work done,Mileage\n14/03/2025,VX21 FAA,Annual service,8120\n", true),
        ("Date,Reg,Miles,Top speed,Rider\n14/03/2025,VX21 FAA,8,40,KB\n", false),
        ("Date,Reg,Item,Result\n14/03/2025,VX21 FAA,PDI,pass\n", false),
        ("Reg,Model,Handover\nVX21 FAA,Knot 300,14/03/2025\n", false),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/sheet.csv", sheet);
        yard.run("setup", &["--accept"]);
        let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
        assert_eq!(settings.contains(open), is_open, "{sheet}{settings}");
        assert_eq!(settings.contains("\nhands_over = true"), !is_open, "{sheet}{settings}");
    }
}

/// What the letter of 9 March 2026 finds and cannot tell, in JSON, where the shop hands nothing over.
fn of_a_shop_that_only_services(sheets: &[(&str, &str)]) -> serde_json::Value {
    let yard = Yard::empty();
    for (file, text) in sheets {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    let settings = yard.settings();
    assert!(settings.contains("\n# hands_over = true"), "{settings}");
    yard.put("tickover.toml", settings.replace("\n# hands_over = true", "\nhands_over = false #"));
    yard.morning("2026-03-09").0
}

/// What a rule says of a machine: when it is due and in which section, or what is missing.
fn said(answer: &serde_json::Value, mark: &str, rule: &str) -> String {
    let all = |list: &str| answer[list].as_array().unwrap().clone().into_iter();
    let is_it = |one: &serde_json::Value| one["machine"]["mark"] == mark && one["rule"] == rule;
    let found = all("findings").find(is_it).map(|one| format!("{} {}", one["section"], one["due"]));
    let missing = all("cannot_tell").find(is_it).map(|one| one["missing"].to_string());
    found.or(missing).unwrap_or_default()
}

#[test]
fn where_nothing_is_handed_over_every_machine_is_a_customers_whatever_the_job_was() {
    let jobs = "Date,Reg,Customer,Phone,Job,Miles,MOT due\n\
                14/03/2025,VX21 FAA,K Poole,01632 960112,Annual,8120,20/03/2026\n\
                14/03/2025,VX21 FAB,T Ash,01632 960113,Puncture,8120,20/03/2026\n\
                14/03/2025,VX21 FAC,N Low,01632 960114,12k check over,8120,20/03/2026\n";
    let answer = of_a_shop_that_only_services(&[("sheets/book.csv", jobs)]);
    // Twelve months after the one that was done, which is the fortnight in which somebody rings.
    assert_eq!(said(&answer, "VX21 FAA", "service-due"), "\"ring_today\" \"2026-03-14\"", "{answer}");
    for mark in ["VX21 FAB", "VX21 FAC"] {
        let missing = said(&answer, mark, "service-due");
        assert!(missing.contains("day of the last annual service"), "{mark}: {missing}: {answer}");
    }
    for mark in ["VX21 FAA", "VX21 FAB", "VX21 FAC"] {
        assert_eq!(said(&answer, mark, "mot-due"), "\"ring_today\" \"2026-03-20\"", "{mark}: {answer}");
    }
}

#[test]
fn the_shops_own_words_for_a_service_show_a_customers_machine_as_the_word_service_does() {
    let jobs = "Date,Reg,Customer,Phone,Job,Miles\n14/03/2025,VX21 FAA,K Poole,01632 960112,Annual,8120\n";
    let letter = letter(&[("sheets/book.csv", jobs)]);
    assert!(
        letter.contains("Ring K Poole on 01632 960112 The annual service falls due on 14 Mar 2026"),
        "{letter}"
    );
}

#[test]
fn a_service_that_was_done_without_its_clock_or_put_right_in_its_sheet_is_asked_for_no_more() {
    let machines = "Reg,Model,Registered,Handover,Customer,Phone\n\
                    KX24 ABD,Knot 300,20/04/2024,20/04/2024,K Poole,01632 960112\n";
    let before = "Date,Reg,Work done,Mileage\n20/06/2024,KX24 ABD,First service,600\n\
                  20/05/2025,KX24 ABD,Annual service,\n";
    let without_clock = format!("{before}15/06/2026,KX24 ABD,Annual service,\n");
    let in_code = before.replace("Annual service", "SVC12");
    // Two mornings: a service due and then done; a code of nobody's for one that was done, and then its words again. When
    // the next is due cannot be told either time, for want of readings.
    for (first, then, days) in [
        (before, without_clock.as_str(), ["2026-06-15", "2026-06-16"]),
        (in_code.as_str(), before, ["2026-03-02", "2026-03-03"]),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", machines);
        yard.put("sheets/jobs.csv", first);
        yard.run("setup", &["--accept"]);
        let plan = "model,item,first at,first after months,then every,then every months\n\
                    Knot 300,annual service,6000 miles,12,6000 miles,12\n";
        yard.put("handbook/service.csv", plan);
        let services = |day: &str| -> Vec<String> {
            let (run, _) = yard.kept_morning(day);
            let found = run["findings"].as_array().expect("a run has its findings").iter();
            found.filter(|line| line["rule"] == "service-due").map(|line| line["state"].to_string()).collect()
        };
        assert_eq!(services(days[0]), ["\"new\""], "{then}");
        yard.put("sheets/jobs.csv", then);
        assert_eq!(services(days[1]), ["\"settled\""], "{then}");
        let (run, _) = yard.morning(days[1]);
        let mut untold = run["cannot_tell"].as_array().expect("a run has what it cannot tell").iter();
        assert!(untold.any(|line| line["rule"] == "service-due"), "{then}: {run}");
    }
}
