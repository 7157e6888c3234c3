//! Other people's ways to write a sheet: what is read, asked or said of each. Worked out by hand.

use crate::program::{Yard, printed};

/// A yard with sheets, and what setup printed of them.
fn yard(sheets: &[(&str, &str)]) -> (Yard, String) {
    let yard = Yard::empty();
    for (file, text) in sheets {
        yard.put(&format!("sheets/{file}"), text);
    }
    let shown = printed(&yard.run("setup", &["--accept"]));
    (yard, shown)
}

/// The letter of 9 March 2026 of a shop that hands nothing over.
fn serviced(sheets: &[(&str, &str)]) -> String {
    let (yard, _) = yard(sheets);
    let settings = yard.settings();
    yard.put("tickover.toml", settings.replace("\n# hands_over = true", "\nhands_over = false #"));
    yard.letter_in_a_line("2026-03-09")
}

const SERVICED: &str = "Date,Reg,Customer,Phone,Work done,Mileage";

#[test]
fn an_estimate_is_read_for_its_figure_and_said_to_be_one() {
    for (written, figure) in
        [("\"8,120 (est)\"", "8,120"), ("c. 8120", "8,120"), ("\"approx 8,120\"", "8,120"), ("8k", "8,000")]
    {
        let book = format!(
            "{SERVICED}\n14/03/2025,VX21 FAA,K Poole,01632 960112,Annual service,{written}\n\
             15/03/2025,VX21 FAB,T Ash,01632 960113,Annual service,4120\n\
             16/03/2025,VX21 FAC,N Low,01632 960114,Annual service,5120\n"
        );
        let letter = serviced(&[("book.csv", &book)]);
        assert!(letter.contains(&format!("{figure} miles on 14 Mar 2025")), "{written}: {letter}");
        let said = "The `clock` is an estimate, and is taken for the figure that stands there.";
        assert_eq!(letter.contains(said), written != "8k", "{written}: {letter}");
    }
}

#[test]
fn a_half_mile_behind_a_figure_is_read() {
    let machines = "Reg,Model,Registered,Handover,PDI,QC,Road test 1,RT1 miles,Road test 2,RT2 miles\n\
                    KX75 ABD,Knot 300,01/03/2026,13/03/2026,ok,ok,06/03/2026,5½,07/03/2026,4½\n";
    let (yard, shown) = yard(&[("machines.csv", machines)]);
    let letter = yard.letter_in_a_line("2026-03-09");
    assert!(shown.contains("first ride distance"), "{shown}");
    assert!(!letter.contains("is not a distance") && !letter.contains("road test distance"), "{letter}");
}

#[test]
fn a_plain_number_may_be_that_of_the_stock_and_a_count_of_rows_is_not() {
    let machines = |numbers: [&str; 3]| {
        let [one, two, three] = numbers;
        format!(
            "No.,Reg,Model,Registered,Handover,Customer\n{one},KX75 ABD,Knot 300,01/12/2025,02/12/2025,K Poole\n\
             {two},,Knot 300,,13/03/2026,T Ash\n{three},KX75 ABF,Knot 300,06/03/2026,13/03/2026,N Low\n"
        )
    };
    let log = "Stock No,Date,Miles\n101,15/02/2026,8320\n102,25/02/2026,12\n103,26/02/2026,1200\n";
    let (_, shown) = yard(&[("machines.csv", &machines(["101", "102", "103"])), ("log.csv", log)]);
    assert!(shown.contains("\"No.\" = \"stock number\""), "{shown}");
    let (_, shown) = yard(&[("machines.csv", &machines(["1", "2", "3"]))]);
    assert!(!shown.contains("\"No.\" = \"stock number\""), "{shown}");
}

#[test]
fn a_type_that_names_models_is_asked_about_as_the_model() {
    let machines = "Reg,Make,Type,Registered,Handover\nKX75 ABD,Wrenfold,Teal,01/12/2025,02/12/2025\n\
                    KX75 ABE,Wrenfold,Heron 400,01/12/2025,02/12/2025\n";
    let (_, shown) = yard(&[("machines.csv", machines)]);
    assert!(shown.contains("\"Type\" = \"model\""), "{shown}");
    let kinds = machines.replace("Teal", "scooter").replace("Heron 400", "motorcycle");
    let (_, shown) = yard(&[("machines.csv", &kinds)]);
    assert!(!shown.contains("\"Type\" = \"model\""), "{shown}");
}

#[test]
fn a_remark_beside_a_job_that_calls_it_off_says_that_it_was_not_done() {
    for (header, remark, is_done) in [
        ("Notes", "DNA", false),
        ("Remarks", "no show", false),
        ("Comments", "cancelled by customer", false),
        ("Notes", "new tyres needed soon", true),
        ("Notes", "", true),
    ] {
        let book = format!(
            "{SERVICED},{header}\n14/03/2025,VX21 FAA,K Poole,01632 960112,Annual service,8120,paid\n\
             02/03/2026,VX21 FAA,K Poole,01632 960112,Annual service,9120,{remark}\n\
             16/03/2025,VX21 FAC,N Low,01632 960114,Annual service,5120,front pads low\n"
        );
        let letter = serviced(&[("book.csv", &book)]);
        let is_rung =
            letter.contains("Ring K Poole on 01632 960112 The annual service falls due on 14 Mar 2026");
        assert_eq!(is_rung, !is_done, "{header} {remark}: {letter}");
        assert!(letter.contains("Ring N Low"), "{letter}");
    }
}

#[test]
fn a_day_to_come_on_which_a_job_goes_out_is_planned_and_no_reading_after_today() {
    let book = "Date in,Date out,Reg,Customer,Phone,Work done,Mileage\n\
                13/03/2025,14/03/2025,VX21 FAA,K Poole,01632 960112,Annual service,8120\n\
                06/03/2026,13/03/2026,VX21 FAA,K Poole,01632 960112,Annual service,9900\n";
    let (yard, _) = yard(&[("book.csv", book)]);
    let settings = yard.settings();
    yard.put("tickover.toml", settings.replace("\n# hands_over = true", "\nhands_over = false #"));
    let file = std::fs::File::options().write(true).open(yard.path().join("sheets/book.csv")).unwrap();
    // Noon on 8 March 2026: the job goes out five days after the export.
    let saved = std::time::UNIX_EPOCH + std::time::Duration::from_secs(1_772_971_200);
    file.set_modified(saved).unwrap();
    let letter = yard.letter_in_a_line("2026-03-09");
    assert!(!letter.contains("after today"), "{letter}");
    let said = "The annual service falls due on 14 Mar 2026; 9,900 miles on 6 Mar 2026";
    assert!(letter.contains(said), "{letter}");
}

#[test]
fn make_and_model_in_a_workshops_book_are_those_of_the_machine() {
    let book = "Date,Reg,Make,Model,Customer,Phone,Work done,Mileage\n\
                14/03/2025,VX21 FAA,Wrenfold,Knot 300,K Poole,01632 960112,Annual service,8120\n\
                15/03/2025,VX21 FAC,Wrenfold,Thimble 50,N Low,01632 960114,Annual service,5120\n";
    let letter = serviced(&[("book.csv", book)]);
    assert!(letter.contains("* Wrenfold Knot 300, VX21 FAA Ring K Poole on 01632 960112"), "{letter}");
    // They make no machine of the shop's own of one that only the book names.
    let (yard, _) = yard(&[(
        "book.csv",
        &book
            .replace(",Customer,Phone", "")
            .replace(",K Poole,01632 960112", "")
            .replace(",N Low,01632 960114", ""),
    )]);
    let letter = yard.letter_in_a_line("2026-03-09");
    assert!(
        letter.contains("Wrenfold Knot 300, VX21 FAA") && !letter.contains("stood in the shop"),
        "{letter}"
    );
}

const STOCK: &str = "Stock No,Reg,Model,Registered,Handover,Customer\n\
    0007,KX73 ABD,Lark,12/12/2023,15/12/2023,Mr Ash\n0012,KX24 ABE,Lark,01/05/2024,13/06/2024,Ms Low\n";

#[test]
fn two_lists_of_which_one_has_lost_leading_zeros_are_of_the_same_machines() {
    let customers = "Stock No,Customer,Phone,MOT due\n7,Mr Ash,01632 960112,20/03/2026\n12,Ms Low,01632 960113,22/11/2027\n";
    let (yard, _) = yard(&[("customers.csv", customers), ("stock.csv", STOCK)]);
    let letter = yard.letter_in_a_line("2026-03-09");
    assert!(letter.contains("Ring Mr Ash on 01632 960112 The MOT runs out on 20 Mar 2026"), "{letter}");
    assert!(!letter.contains("stock 7") && letter.contains("What was read: 2 machines"), "{letter}");
    let said = "The stock number 7 is taken for 0007, which another list has and which differs by leading zeros only.";
    assert_eq!(letter.matches(said).count(), 1, "{letter}");
}

#[test]
fn two_stock_numbers_whose_marks_differ_are_two_machines_whatever_their_zeros() {
    let others = "Stock No,Reg,Model,Phone\n7,LM73 ABD,Teal,01632 960112\n12,LM24 ABE,Teal,01632 960113\n";
    let (yard, _) = yard(&[("others.csv", others), ("stock.csv", STOCK)]);
    let letter = yard.letter_in_a_line("2026-03-09");
    assert!(letter.contains("What was read: 4 machines") && !letter.contains("leading zeros"), "{letter}");
}

#[test]
fn an_mot_that_ran_out_long_ago_is_counted_and_named_though_nobody_is_rung_for_it() {
    let machines = "Reg,Model,Registered,Handover,Customer,Phone,MOT due\n\
                    VX21 FAA,Knot 300,15/03/2021,16/03/2021,K Poole,01632 960112,20/05/2025\n";
    let (yard, _) = yard(&[("machines.csv", machines)]);
    let letter = yard.letter_in_a_line("2026-03-09");
    let (_, old) = letter.split_once("Too long ago to be asked for: 4").unwrap_or_else(|| panic!("{letter}"));
    assert!(old.contains("MOT: 1 machine Knot 300, VX21 FAA"), "{letter}");
}

#[test]
fn headers_in_three_rows_of_which_the_upper_two_group_the_lowest_are_read_together() {
    let machines = "Stock,Reg,Model,Customer,Phone,Inspection,,Test rides,,,,Handed over\n\
                    ,,,,,PDI,QC,1st,,2nd,,\n\
                    ,,,,,,,Date,Miles,Date,Miles,\n\
                    1,LR76 HAA,Quill 125,Mr Ash,07700 900301,06/03/2026,07/03/2026,06/03/2026,5.5,07/03/2026,6,13/03/2026\n\
                    2,LR76 HAC,Quill 125,Mr Low,07700 900303,06/03/2026,07/03/2026,06/03/2026,5.5,,,13/03/2026\n";
    let (_, shown) = yard(&[("machines.csv", machines)]);
    assert!(shown.contains("headers in row 3"), "{shown}");
    for field in [
        "first ride day",
        "first ride distance",
        "second ride day",
        "second ride distance",
        "pre-delivery inspection day",
        "quality check day",
        "handover",
    ] {
        assert!(shown.contains(field), "{field}: {shown}");
    }
}
