//! A workshop's book: each row a visit, and what it says of the machine beside. What is due was worked out by hand.

use crate::program::{Yard, printed};
use crate::setup::at_a_terminal;

/// Three visits of one machine, whose customer has another number by now, and two of another.
const DIARY: &str = "Date in,Reg,Customer,Phone,Mileage,Complaint / work,MOT due\n\
    14/03/2025,VX21 FAA,K Poole,01632 960112,8120,Annual service,20/03/2026\n\
    02/06/2025,KX24 ABD,T Ash,01632 960113,610,First service,\n\
    20/10/2025,VX21 FAA,K Poole,01632 960142,10010,Front pads,20/03/2026\n\
    13/01/2026,KX24 ABD,T Ash,01632 960113,3900,Annual service,15/01/2027\n";

/// The letter of 9 March 2026 in one line.
fn letter(yard: &Yard) -> String {
    yard.letter_in_a_line("2026-03-09")
}

#[test]
fn a_book_is_a_log_of_visits_and_says_whose_machine_it_is_and_when_its_mot_ends() {
    let yard = Yard::empty();
    yard.put("sheets/book.csv", DIARY);
    let output = yard.run("setup", &["--accept"]);
    // Nothing but whether such a shop hands machines over is open.
    let shown = printed(&output);
    assert!(output.status.code() == Some(1) && shown.contains(" 1 question is open"), "{shown}");
    assert!(shown.contains("Open: Does the shop hand machines over to their owners?"), "{shown}");
    let written = yard.settings();
    assert!(written.contains("\n# hands_over = true  # or false"), "{written}");
    assert!(
        written.contains("\nfile = \"book.csv\"\nrows = \"job\"\n[sheet.columns]\n\"Date in\" = \"day\"\n"),
        "{written}"
    );
    let letter = letter(&yard);
    // Twelve months after 14 March 2025; the newest row has the number to ring and the MOT.
    for said in [
        "Ring K Poole on 01632 960142 The annual service falls due on 14 Mar 2026",
        "Ring K Poole on 01632 960142 The MOT runs out on 20 Mar 2026",
        "MOT expiry 20 Mar 2026 — sheets/book.csv, G4",
    ] {
        assert!(letter.contains(said), "{said}: {letter}");
    }
    // The other one was serviced in January, and its MOT runs until next year.
    assert!(!letter.contains("T Ash") && !letter.contains("two rows about"), "{letter}");
    assert!(!letter.contains("Two rows about"), "{letter}");
}

#[test]
fn what_a_machines_own_row_says_goes_before_the_book_and_its_gaps_are_filled_from_it() {
    let yard = Yard::empty();
    yard.put("sheets/book.csv", DIARY);
    yard.put(
        "sheets/customers.csv",
        "Reg,Model,Registered,Customer,Phone,MOT due\n\
         VX21 FAA,Knot 300,15/03/2021,K Poole,,12/03/2026\n\
         KX24 ABD,Knot 300,10/05/2025,New Owner,,18/03/2026\n",
    );
    yard.run("setup", &["--accept"]);
    let letter = letter(&yard);
    assert!(letter.contains("Ring K Poole on 01632 960142 The MOT runs out on 12 Mar 2026"), "{letter}");
    // The number in the book is that of the customer before.
    assert!(letter.contains("New Owner") && !letter.contains("01632 960113"), "{letter}");
    let told = "The row of VX21 FAA gives an earlier MOT expiry than this one. The machine's row counts; \
                sheets/customers.csv, F2 says `2026-03-12`. Correct the wrong one. sheets/book.csv, G4";
    assert!(letter.contains(told), "{letter}");
}

#[test]
fn a_mistyped_mark_in_a_book_makes_no_machine_where_the_machines_are_listed() {
    let yard = Yard::empty();
    yard.put("sheets/book.csv", DIARY.replace("14/03/2025,VX21 FAA", "14/03/2025,VX21 FFA"));
    yard.put(
        "sheets/customers.csv",
        "Reg,Model,Registered,Customer\nVX21 FAA,Knot 300,15/03/2021,K Poole\nKX24 ABD,Knot 300,10/05/2025,T Ash\n",
    );
    yard.run("setup", &["--accept"]);
    let (run, _) = yard.morning("2026-03-09");
    assert_eq!(run["machines"], 2, "{run}");
    let complaints = run["complaints"].to_string();
    assert!(complaints.contains("no machine that is listed has the mark VX21 FFA"), "{complaints}");
}

#[test]
fn work_under_a_header_of_remarks_is_the_job_where_nearly_every_row_names_it() {
    let yard = Yard::empty();
    yard.put(
        "sheets/log.csv",
        "Date,Reg,Notes,Miles\n14/03/2025,VX21 FAA,Annual service,8120\n20/10/2025,VX21 FAA,Front pads worn,9010\n\
         01/11/2025,KX24 ABD,First service,610\n",
    );
    // A remark here and there is none: this is a log of readings.
    yard.put(
        "sheets/clocks.csv",
        "Date,Reg,Mileage,Notes\n21/12/2025,VX21 FAA,9400,\n22/12/2025,KX24 ABD,700,\n\
         15/01/2026,VX21 FAA,9700,in for front brake\n16/01/2026,KX24 ABD,910,\n",
    );
    yard.run("setup", &["--accept"]);
    let written = yard.settings();
    assert!(written.contains("\"Notes\" = \"done\"\n\"Miles\" = \"clock\"\n"), "{written}");
    assert!(written.contains("\nfile = \"clocks.csv\"\nrows = \"reading\"\n"), "{written}");
    let letter = letter(&yard);
    assert!(
        letter.contains("The annual service falls due on 14 Mar 2026; about")
            && letter.contains("9,700 miles on 15 Jan 2026"),
        "{letter}"
    );
}

#[test]
fn work_that_was_only_asked_for_settles_nothing_until_the_owner_says_that_it_was_done() {
    const LOG: &str = "Date,Reg,Work required,Miles\n14/03/2025,VX21 FAA,Annual service,8120\n\
        20/10/2025,VX21 FAA,Front pads worn,9010\n01/11/2025,KX24 ABD,First service,610\n";
    let asked = "Is column `Work required` what was done?";
    let yard = Yard::empty();
    yard.put("sheets/log.csv", LOG);
    let output = yard.run("setup", &["--accept"]);
    assert!(printed(&output).contains(asked) && output.status.code() == Some(1), "{}", printed(&output));
    let open = letter(&yard);
    let at =
        |words: &str| open.find(words).unwrap_or_else(|| panic!("`{words}` is not in the letter: {open}"));
    let point = at("This column is left out: it may be the work that was done");
    assert!(point < at("Could not be told"), "at the top: {open}");
    let (shown, code) = at_a_terminal(&yard, "1\n2\n\n");
    assert!(shown.contains("What is column `Work required`?") && code == 0, "{shown}");
    assert!(letter(&yard).contains("The annual service falls due on 14 Mar 2026"), "{}", letter(&yard));
}

#[test]
fn where_a_row_may_be_a_visit_or_a_machine_it_is_asked() {
    // Bikes in stock with what is to be done to them, or visits.
    let yard = Yard::empty();
    yard.put(
        "sheets/list.csv",
        "Date in,Reg,Model,Mileage,Work required,MOT due\n14/03/2025,VX21 FAA,Knot 300,8120,Annual service,20/03/2026\n\
         20/10/2025,KX24 ABD,Knot 300,9010,Front pads,20/03/2026\n",
    );
    let output = yard.run("setup", &["--accept"]);
    let shown = printed(&output);
    for words in [
        "Open: list.csv: What are the rows of this sheet?\n      A Date in: 14/03/2025, 20/10/2025\n",
        "  rows = \"machine\"  (machines: one row each, with whatever it says of them)\n",
        "  rows = \"job\"  (jobs: a visit each, what was done to a machine, and when)\n",
    ] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    let told = "Nothing tells whether a row of this sheet is a machine or a job, so it is not read";
    assert!(letter(&yard).contains(told), "{}", letter(&yard));
}

#[test]
fn a_block_that_another_one_keeps_from_ever_counting_is_told() {
    let yard = Yard::empty();
    yard.put("sheets/diary 2026.csv", DIARY);
    yard.run("setup", &["--accept"]);
    let before = yard.settings();
    assert!(!letter(&yard).contains("so that it never does"));
    yard.put("tickover.toml", format!("{before}\n[[sheet]]\nfile = \"diary*.csv\"\nrows = \"machine\"\n"));
    let letter = letter(&yard);
    assert!(
        letter.contains(
            "This [[sheet]] is for `diary*.csv`, of which the one before it counts, so that it never does"
        ),
        "{letter}"
    );
}

#[test]
fn what_has_come_in_and_not_gone_out_is_not_done() {
    let yard = Yard::empty();
    yard.put(
        "sheets/jobs.csv",
        "Date in,Date out,Reg,Miles in,Work\n02/03/2026,,KX24 ABD,455,First service\n\
         13/02/2026,14/02/2026,KX24 ABE,510,First service\n",
    );
    yard.put(
        "sheets/machines.csv",
        "Reg,Model,Registered,Handover,Customer\nKX24 ABD,Lark,10/12/2025,12/12/2025,Mr A\n\
         KX24 ABE,Lark,10/12/2025,12/12/2025,Ms B\n",
    );
    let shown = printed(&yard.run("setup", &["--accept"]));
    assert!(shown.contains("`Date in` is when it came in: until it has gone out it is not done"), "{shown}");
    let letter = letter(&yard);
    // Three months after the handover at the latest; the one that went out has had it.
    assert!(letter.contains("Ring Mr A: no number in the sheets The first service falls due"), "{letter}");
    assert!(letter.contains("at 500 miles or on 12 Mar 2026, whichever comes first"), "{letter}");
    assert!(letter.contains("455 miles on 2 Mar 2026") && !letter.contains("Ring Ms B"), "{letter}");
}

/// Visits of two customers' bikes, by the day on which each came in and the day on which it went out.
fn book_of(came_in: &str, went_out: &str, work: &str) -> String {
    format!(
        "{came_in},{went_out},Reg,Customer,Tel,{work},Miles,MOT due\n\
         10/03/2025,11/03/2025,VX21 FAA,K Poole,01632 960112,Annual service,8120,20/03/2026\n\
         02/06/2025,03/06/2025,VX21 FAA,K Poole,01632 960112,Front pads,9000,20/03/2026\n\
         13/01/2026,14/01/2026,KX24 ABD,T Ash,01632 960113,Annual service,3900,15/01/2027\n\
         05/03/2026,,KX24 ABD,T Ash,01632 960113,Puncture,4000,15/01/2027\n"
    )
}

#[test]
fn the_day_in_and_the_day_out_are_those_of_a_visit_where_machines_come_again() {
    for (came_in, went_out, work) in [
        ("In", "Out", "Work"),
        ("Came in", "Went out", "Work"),
        ("Booked in", "Collected", "Work"),
        ("Arrived", "Collected", "Job"),
        ("In", "Back to owner", "Work carried out"),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/book.csv", book_of(came_in, went_out, work));
        let output = yard.run("setup", &["--accept"]);
        let shown = printed(&output);
        assert!(!shown.contains("Open: book.csv"), "{came_in}: {shown}");
        let written = yard.settings();
        let days = format!("\"{went_out}\" = \"day\"\n");
        assert!(written.contains("rows = \"job\"\n") && written.contains(&days), "{came_in}: {written}");
        let letter = letter(&yard);
        // Twelve months after it went out on 11 March 2025; none of these is the shop's own to keep in the yard.
        let said = "Ring K Poole on 01632 960112 The annual service falls due on 11 Mar 2026";
        assert!(letter.contains(said) && !letter.contains("Keep in the yard"), "{came_in}: {letter}");
    }
}

#[test]
fn where_bikes_with_a_model_come_and_go_once_it_is_asked_whether_they_are_visits() {
    let yard = Yard::empty();
    yard.put(
        "sheets/list.csv",
        "In,Out,Reg,Model,Work,Miles\n10/03/2025,11/03/2025,VX21 FAA,Knot 300,Annual service,8120\n\
         13/01/2026,14/01/2026,KX24 ABD,Knot 300,Tyres,3900\n",
    );
    let output = yard.run("setup", &["--accept"]);
    let shown = printed(&output);
    for words in ["Open: list.csv: What are the rows of this sheet?", "rows = \"machine\"", "rows = \"job\""]
    {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    assert!(letter(&yard).contains("whether a row of this sheet is a machine or a job"), "{}", letter(&yard));
}

#[test]
fn the_days_on_which_bikes_in_stock_came_and_go_stay_those_of_a_list_of_machines() {
    let yard = Yard::empty();
    yard.put(
        "sheets/list.csv",
        "Stock No,Reg,Model,Arrived,Collected,Service,Mileage\nU41,VX21 FAA,Knot 300,11/07/2025,,04/03/2026,5000\n\
         U42,KX24 ABD,Knot 300,12/08/2025,14/03/2026,05/03/2026,3900\n",
    );
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    let written = yard.settings();
    for line in ["rows = \"machine\"", "\"Arrived\" = \"arrived\"", "\"Collected\" = \"handover\""] {
        assert!(written.contains(line), "{line}: {written}");
    }
}

#[test]
fn days_without_a_year_are_complained_of_and_their_rows_are_visits() {
    for days in [
        ["10/11", "11/11", "12/11"],
        ["Mon 10 Nov", "Tue 11 Nov", "Wed 12 Nov"],
        ["10-Nov", "11-Nov", "12-Nov"],
    ] {
        let yard = Yard::empty();
        let [first, second, third] = days;
        yard.put(
            "sheets/diary.csv",
            format!(
                "Date,Reg,Customer,Tel,Job,Miles\n{first},VX21 FAA,K Poole,01632 960112,Annual service,8000\n\
                 {second},KX24 ABD,T Ash,01632 960113,Full service,8000\n\
                 {third},VX21 FAA,K Poole,01632 960112,Puncture,8020\n"
            ),
        );
        yard.run("setup", &["--accept"]);
        let written = yard.settings();
        assert!(written.contains("rows = \"job\"") && written.contains("\"Date\" = \"day\""), "{written}");
        let letter = letter(&yard);
        assert!(
            letter.contains("is a day without a year") && letter.contains("Export the column with its year"),
            "{letter}"
        );
    }
}

/// A visit of each of two bikes, and whose they are, or who worked on them.
fn diary_with(name: &str, telephones: bool) -> String {
    let rows = [
        ("10/03/2025", "VX21 FAA", "K Poole", "01632 960112", "Annual service", "8120"),
        ("13/01/2026", "KX24 ABD", "T Ash", "01632 960113", "Annual service", "3900"),
    ];
    let of_row = |(day, mark, name, telephone, job, miles): (&str, &str, &str, &str, &str, &str)| {
        let telephone = if telephones { format!("{telephone},") } else { String::new() };
        format!("{day},{mark},{name},{telephone}{job},{miles}\n")
    };
    let telephone = if telephones { "Tel," } else { "" };
    format!("Date,Reg,{name},{telephone}Job,Miles\n") + rows.map(of_row).concat().as_str()
}

#[test]
fn a_name_beside_a_telephone_number_is_the_customers_and_is_asked_about_without_one() {
    let yard = Yard::empty();
    yard.put("sheets/diary.csv", diary_with("Name", true));
    let output = yard.run("setup", &["--accept"]);
    assert!(!printed(&output).contains("Open: diary.csv"), "{}", printed(&output));
    // Twelve months after 10 March 2025.
    let said = "Ring K Poole on 01632 960112 The annual service falls due on 10 Mar 2026";
    assert!(letter(&yard).contains(said), "{}", letter(&yard));
    for (name, telephones, answer, settled) in [
        ("Name", false, "1", "customer"),
        ("Name", false, "2", "by"),
        ("Who", true, "1", "by"),
        ("Who", true, "2", "customer"),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/diary.csv", diary_with(name, telephones));
        let (shown, _) = at_a_terminal(&yard, &format!("{answer}\n2\n\n"));
        assert!(shown.contains(&format!("Is column `{name}` ")), "{shown}");
        let line = format!("\"{name}\" = \"{settled}\"\n");
        assert!(yard.settings().contains(&line), "{line}: {}", yard.settings());
    }
}

/// A workshop's book with a column that says of each visit whether it took place, the words for that given: a second visit of
/// the first machine that did not, one of the second that did, and one of the third that was called off.
fn book_of_outcomes(header: &str, done: &str, not: &str, called_off: &str) -> String {
    format!(
        "Date,Reg,Customer,Phone,Job,Miles,{header}\n\
     14/03/2025,VX21 FAA,K Poole,01632 960112,Annual service,8120,{done}\n\
     15/03/2025,VX21 FAB,T Ash,01632 960113,Annual service,9120,{done}\n\
     16/03/2025,VX21 FAC,N Low,01632 960114,Annual service,9720,{done}\n\
     02/03/2026,VX21 FAA,K Poole,01632 960112,Annual service,,{not}\n\
     03/03/2026,VX21 FAB,T Ash,01632 960113,Annual service,9700,{done}\n\
     04/03/2026,VX21 FAC,N Low,01632 960114,Annual service,9900,{called_off}\n"
    )
}

#[test]
fn a_visit_of_which_a_column_says_that_it_was_not_done_is_no_service() {
    // Each header with its words for done, for not done, and for not done of the third machine.
    for (header, done, not, called_off) in [
        ("Done", "Y", "N", ""),
        ("Done", "✓", "DNA", "cancelled"),
        ("Status", "Completed", "No show", "Cancelled by customer"),
        ("Outcome", "done", "DNA", ""),
        ("Completed", "x", "", "no"),
        ("Done?", "TRUE", "FALSE", "x"),
        ("Result", "", "Did not attend", "on hold"),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/book.csv", book_of_outcomes(header, done, not, called_off));
        let shown = printed(&yard.run("setup", &["--accept"]));
        assert!(yard.settings().contains("= \"outcome\"\n"), "{header}: {shown}");
        assert!(shown.contains("does not count as done"), "{header}: {shown}");
        let letter = letter(&yard);
        // Twelve months after the last one that was done; the second machine has had its service.
        for due in ["14 Mar 2026", "16 Mar 2026"] {
            let said = format!("The annual service falls due on {due}");
            assert!(letter.contains(&said), "{header}: {said}: {letter}");
        }
        assert!(!letter.contains("Ring T Ash"), "{header}: {letter}");
        // The clock was read all the same.
        assert!(letter.contains("9,900 miles on 4 Mar 2026"), "{header}: {letter}");
    }
}

#[test]
fn a_column_whose_words_say_of_some_rows_that_nothing_was_done_is_asked_about_whatever_its_header() {
    for (header, done, not) in
        [("Type", "Invoice", "Quote"), ("Doc", "Invoice", "Credit note"), ("Stage", "Complete", "Part done")]
    {
        let yard = Yard::empty();
        yard.put("sheets/book.csv", book_of_outcomes(header, done, not, not));
        let (shown, _) = at_a_terminal(&yard, "1\n2\n\n");
        assert!(shown.contains(&format!("`{header}`")), "{shown}");
        let line = format!("\"{header}\" = \"outcome\"\n");
        assert!(yard.settings().contains(&line), "{line}: {shown}: {}", yard.settings());
        let letter = letter(&yard);
        // Twelve months after the one that was done.
        assert!(letter.contains("The annual service falls due on 14 Mar 2026"), "{header}: {letter}");
        assert!(!letter.contains("Ring T Ash"), "{header}: {letter}");
    }
}

#[test]
fn a_word_that_does_not_say_whether_a_job_was_done_is_told_and_the_job_counts_as_not_done() {
    let yard = Yard::empty();
    yard.put(
        "sheets/book.csv",
        "Date,Reg,Customer,Phone,Job,Miles,Status\n14/03/2025,VX21 FAA,K Poole,01632 960112,Annual service,8120,Completed\n\
         15/03/2025,VX21 FAB,T Ash,01632 960113,Annual service,9120,Completed\n\
         02/03/2026,VX21 FAA,K Poole,01632 960112,Annual service,8900,amber\n",
    );
    yard.run("setup", &["--accept"]);
    let letter = letter(&yard);
    assert!(letter.contains("The annual service falls due on 14 Mar 2026"), "{letter}");
    assert!(letter.contains("does not say whether the job was done, and it counts as not done"), "{letter}");
    assert!(letter.contains("sheets/book.csv, G4"), "{letter}");
}

#[test]
fn a_job_whose_own_words_say_that_it_was_not_done_is_no_service() {
    const NOT_DONE: [&str; 12] = [
        "Annual service DNA",
        "Annual service (DNA)",
        "Annual service (did not attend)",
        "Annual service - customer failed to attend",
        "FTA annual service",
        "Annual service CNX",
        "CNX: annual service",
        "Annual service - quote only",
        "Annual service (quote only)",
        "Annual service est. £180",
        "Annual service - parts on order",
        "Annual service TBC",
    ];
    // What is free of charge, or has more beside it that was only asked for, was done.
    const DONE: [&str; 4] = [
        "Annual service N/C",
        "Annual service, quoted for new chain",
        "Annual service, estimate for fork seals given",
        "Annual service carried out, est. next visit £180",
    ];
    for (works, says) in [(&NOT_DONE[..], true), (&DONE[..], false)] {
        let yard = Yard::empty();
        let mut book = "Date,Reg,Customer,Phone,Job,Miles\n".to_owned();
        for (work, letter) in works.iter().zip("ABCDEFGHJKLM".chars()) {
            book += &format!("14/03/2025,VX21 FA{letter},K Poole,01632 960112,Annual service,8120\n");
            book += &format!("02/03/2026,VX21 FA{letter},K Poole,01632 960112,\"{work}\",8200\n");
        }
        yard.put("sheets/book.csv", &book);
        yard.run("setup", &["--accept"]);
        let (findings, _) = yard.morning("2026-03-09");
        for (work, letter) in works.iter().zip("ABCDEFGHJKLM".chars()) {
            let mark = format!("VX21 FA{letter}");
            let is_it = |finding: &&serde_json::Value| {
                finding["rule"] == "service-due" && finding["machine"]["mark"] == mark.as_str()
            };
            let found = findings["findings"].as_array().unwrap().iter().find(is_it);
            // Twelve months after 14 March 2025 is within the fortnight in which somebody rings.
            assert_eq!(found.is_some(), says, "{work}: {findings}");
            assert!(found.is_none_or(|found| found["due"] == "2026-03-14"), "{work}: {found:?}");
        }
    }
}

#[test]
fn a_blank_day_in_a_book_is_told_with_its_cell_and_its_service_cannot_be_told() {
    let book = "Date,Time,Customer,Phone,Reg,Job,Miles\n\
                10/03/2025,09:00,K Poole,01632 960112,VX21 FAA,Annual service,8120\n\
                ,11:00,T Ash,01632 960113,VX21 FAB,Annual service,7120\n\
                11/03/2025,09:00,N Low,01632 960114,VX21 FAC,Front pads,910\n";
    for hands_over in [true, false] {
        let yard = Yard::empty();
        yard.put("sheets/book.csv", book);
        yard.run("setup", &["--accept"]);
        let agreed = format!("\nhands_over = {hands_over} #");
        yard.put("tickover.toml", yard.settings().replace("\n# hands_over = true", &agreed));
        let (answer, _) = yard.morning("2026-03-09");
        let complaints = answer["complaints"].as_array().unwrap();
        let told = complaints.iter().find(|told| told["cell"] == "A3");
        let told = told.unwrap_or_else(|| panic!("{answer}"))["problem"].to_string();
        assert!(told.contains("is blank beside a job, so nothing tells when it was done"), "{told}");
        let cannot_tell = answer["cannot_tell"].as_array().unwrap();
        let is_it =
            |one: &&serde_json::Value| one["machine"]["mark"] == "VX21 FAB" && one["rule"] == "service-due";
        let missing = cannot_tell.iter().find(is_it).map(|one| one["missing"].to_string());
        assert_eq!(missing.as_deref(), Some("[\"day of the last annual service\"]"), "{answer}");
        // Nothing is carried down: the row above is another machine's.
        let findings = answer["findings"].as_array().unwrap();
        assert!(!findings.iter().any(|one| one["machine"]["mark"] == "VX21 FAB"), "{answer}");
    }
}
