//! Columns under headers that nobody knows, whose values are plain: they are asked about and never dropped in silence.
//! What each sheet means, and what is due by it, was worked out by hand.

use crate::program::{Yard, printed};
use crate::setup::at_a_terminal;

/// The letter of 9 March 2026 in one line.
fn letter(yard: &Yard) -> String {
    yard.letter_in_a_line("2026-03-09")
}

/// Three bikes of one owner, as he calls their columns.
const BIKES: &str = "Plate,Which bike,Whose,Ring,Got it on,MOT runs out,Miles,Seen,Brake fluid\n\
    WX22 GAA,Heron,Mr A,07700 900701,3/4/2025,12/3/2026,9100,2/3/2026,13/4/2025\n\
    WX75 GAB,Lark,Ms B,07700 900702,20/12/2025,,390,1/3/2026,\n\
    WX24 GAC,Lark,Mr C,07700 900703,1/6/2024,30/5/2027,4000,28/2/2026,\n";

#[test]
fn days_under_unknown_headers_are_asked_about_and_each_answer_counts() {
    let yard = Yard::with(&[("bikes.csv", BIKES)]);
    // The handover, which is free no more for the next; then the day of the clock; then the brake fluid.
    let (shown, code) = at_a_terminal(&yard, "1\n3\n1\n\n");
    assert_eq!(code, 0, "{shown}");
    for asked in [
        "What is column `Got it on`?\n      E Got it on: 3/4/2025, 20/12/2025, 1/6/2024\n  1  the day it goes to the \
         customer (handover)\n  2  the day it came to the shop\n  3  the day of its last service\n  4  the day on which \
         its clock was read\n  5  the day of first registration\n  6  leave it out\n",
        "What is column `Seen`?\n      H Seen: 2/3/2026, 1/3/2026, 28/2/2026\n  1  the day it came to the shop\n",
        "What is column `Brake fluid`?\n      I Brake fluid: 13/4/2025\n  1  the day on which its brake fluid was changed\n",
    ] {
        assert!(shown.contains(asked), "{asked}: {shown}");
    }
    let written = yard.settings();
    let lines =
        "\"Got it on\" = \"handover\"\n\"Seen\" = \"clock day\"\n\"Brake fluid\" = \"brake fluid day\"\n";
    assert!(written.contains(lines) && written.contains("\"Whose\" = \"customer\"\n"), "{written}");
    let letter = letter(&yard);
    // Three months after 1 June 2024 at the latest, by a machine of that year of which nobody wrote a first service down.
    let first = "Ring Mr C on 07700 900703 The first service was due";
    assert!(
        letter.contains(first) && letter.contains("handover 1 Jun 2024 — sheets/bikes.csv, E4"),
        "{letter}"
    );
    assert!(letter.contains("4,000 miles on 28 Feb 2026"), "{letter}");
}

#[test]
fn while_nobody_has_answered_the_letter_says_at_its_top_what_may_be_missed() {
    let yard = Yard::with(&[("bikes.csv", BIKES)]);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(1));
    let letter = letter(&yard);
    let at = |words: &str| {
        letter.find(words).unwrap_or_else(|| panic!("`{words}` is not in the letter: {letter}"))
    };
    let top = at("Look at this first")..at("Book in");
    for open in ["E1: `Got it on`", "H1: `Seen`", "I1: `Brake fluid`"] {
        assert!(top.contains(&at(open)), "{open}: {letter}");
    }
    assert!(letter.contains("it may be the day on which the brake fluid was changed"), "{letter}");
}

#[test]
fn marks_telephone_numbers_and_rising_figures_under_unknown_headers_are_asked_about() {
    let yard = Yard::with(&[
        ("a.csv", "Date,Kennzeichen,Mileage\n20/08/2025,LX25 AAD,790\n21/09/2025,LX20 AAF,21000\n"),
        (
            "b.csv",
            "Reg,Model,Handover,Keeper,Best\nLX25 AAD,Lark,20/05/2025,Mr A,07700 900701\nLX20 AAF,Heron,21/06/2024,Ms B,01632 960112\n",
        ),
        (
            "c.csv",
            "Date,Reg,Work done,Shown\n20/08/2025,LX25 AAD,Chain,790\n21/09/2025,LX20 AAF,Tyre,21000\n\
             20/11/2025,LX25 AAD,Chain,1790\n22/12/2025,LX20 AAF,Bulb,22000\n",
        ),
    ]);
    let output = yard.run("setup", &["--accept"]);
    let shown = printed(&output);
    for line in [
        "  \"Kennzeichen\" = \"mark\"  (the registration mark)\n",
        "  \"Best\" = \"telephone\"  (the customer's telephone number)\n",
        "  \"Shown\" = \"clock\"  (what the clock showed)\n",
    ] {
        assert!(shown.contains(line), "{line}: {shown}");
    }
    let letter = letter(&yard);
    let said = "No column tells which machine a row is about, so the sheet is not read; this one may be the mark — \
                sheets/a.csv: `Kennzeichen`.";
    assert!(letter.contains(said), "{letter}");
    // By the answers nothing is open any more.
    let (shown, code) = at_a_terminal(&yard, "1\n1\n1\n1\n\n");
    assert_eq!(code, 0, "{shown}");
    let (run, _) = yard.morning("2026-03-09");
    let read: Vec<_> =
        run["sheets"].as_array().unwrap().iter().map(|sheet| sheet["records"].as_u64()).collect();
    assert_eq!(read, [Some(2), Some(2), Some(4)], "{run}");
}

#[test]
fn figures_and_days_that_are_something_else_are_not_asked_about() {
    let yard = Yard::with(&[(
        "stock.csv",
        "Reg,Model,Mileage,Handover,Price,Year,Tax due,Deposit paid\n\
         LX25 AAD,Lark,1200,20/05/2025,4995,2025,13/05/2026,14/05/2025\n\
         LX20 AAF,Heron,9200,21/06/2024,3995,2020,14/06/2026,15/06/2024\n",
    )]);
    let output = yard.run("setup", &["--accept"]);
    assert_eq!(output.status.code(), Some(0), "{}", printed(&output));
}

#[test]
fn two_columns_of_miles_belong_to_the_two_road_tests_before_them() {
    for headers in ["Road test 1,Miles 1,Road test 2,Miles 2", "Road test 1,Miles,Road test 2,Miles"] {
        let sheet = format!(
            "Reg,Model,Handover,PDI,PDI by,QC,QC by,{headers}\n\
             KX75 ABD,Sprite 125,13/03/2026,ok,Ann,ok,Bo,07/03/2026,5,08/03/2026,6\n\
             KX75 ABE,Sprite 125,13/03/2026,ok,Ann,ok,Bo,07/03/2026,3,08/03/2026,4\n"
        );
        let yard = Yard::with(&[("bikes.csv", &sheet)]);
        assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0), "{headers}");
        let letter = letter(&yard);
        // Eleven miles are enough, seven are not: ten in all (our decision, in the settings).
        assert!(letter.contains("7 miles of 10") && !letter.contains("0 miles of 10 recorded"), "{letter}");
        assert_eq!(letter.matches("of 10").count(), 1, "{headers}: {letter}");
    }
}

#[test]
fn a_column_a_month_is_said_plainly_not_to_be_read_with_what_to_do() {
    let yard = Yard::with(&[(
        "bikes.csv",
        "Reg,Model,Handover,Owner,Jan 26,Feb 26,Mar 26\nKX75 ABD,Lark,15/12/2025,Mr A,120,250,455\n\
         KX75 ABE,Lark,20/01/2026,Mr B,10,150,240\n",
    )]);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(1));
    let said = "The columns `Jan 26`, `Feb 26`, `Mar 26` are not read: figures a month do not say on which day a clock was \
                read — sheets/bikes.csv. Keep what the clocks showed in a log with a row for each reading";
    let open = letter(&yard);
    assert!(open.contains(said), "{open}");
    // The line that it gives is one that counts.
    let agreed = yard.settings().replace("# \"Mar 26\" = \"\"", "\"Mar 26\" = \"clock\"");
    yard.put("tickover.toml", agreed);
    assert!(letter(&yard).contains("455 miles"), "{}", letter(&yard));
}

#[test]
fn grades_of_fuel_under_an_unknown_header_are_asked_about() {
    for header in ["Juice", "Put in"] {
        let yard = Yard::with(&[
            ("bikes.csv", "Reg,Model,Registered,Handover,Owner\nYT25 OBD,Lark,20/05/2025,20/05/2025,Mr A\n"),
            (
                "fuel.csv",
                &format!(
                    "Date,Reg,Litres,{header}\n22/02/2026,YT25 OBD,8.2,E5\n01/03/2026,YT25 OBD,7.9,Super\n\
                     08/03/2026,YT25 OBD,8.1,Derv\n"
                ),
            ),
        ]);
        let output = yard.run("setup", &["--accept"]);
        let shown = printed(&output);
        assert!(shown.contains(&format!("  \"{header}\" = \"grade\"  (the fuel that went in)\n")), "{shown}");
        let open = letter(&yard);
        let told = open.find("This column is left out: it may be the fuel that went in");
        assert!(told > open.find("Look at this first"), "at the top: {open}");
        assert!(!open.contains("Derv"), "{open}");
        let (shown, code) = at_a_terminal(&yard, "1\n\n");
        assert!(shown.contains(&format!("What is column `{header}`?")) && code == 0, "{shown}");
        // Diesel in the tank of a petrol engine: no rule of ours says that such an engine bears it.
        assert!(letter(&yard).contains("Derv"), "{header}: {}", letter(&yard));
    }
}

#[test]
fn what_was_done_at_the_last_service_is_known_or_asked_about() {
    // Its annual service was on 14 March 2025, and the tyres since then are none: due twelve months later.
    let sheet = |header: &str| {
        format!(
            "Reg,Model,Registered,Handover,Owner,Tel,Last serviced,{header}\n\
             WX22 GAA,Heron,20/05/2022,20/05/2022,Mr A,07700 900701,14/03/2025,Annual service\n\
             WX23 GAB,Heron,20/05/2023,20/05/2023,Ms B,07700 900702,02/02/2026,Tyres\n"
        )
    };
    for header in ["What done", "Kind of service", "What was done", "Service type"] {
        let yard = Yard::with(&[("bikes.csv", &sheet(header))]);
        let output = yard.run("setup", &["--accept"]);
        assert_eq!(output.status.code(), Some(0), "{}", printed(&output));
        assert!(yard.settings().contains(&format!("\"{header}\" = \"last service\"")), "{}", yard.settings());
        let letter = letter(&yard);
        assert!(
            letter.contains("Ring Mr A on 07700 900701 The annual service falls due on 14 Mar 2026"),
            "{letter}"
        );
    }
    let yard = Yard::with(&[("bikes.csv", &sheet("Gemacht"))]);
    let (shown, code) = at_a_terminal(&yard, "1\n\n");
    let asked = "What is column `Gemacht`?\n      H Gemacht: Annual service, Tyres\n  1  what was done at its last service\n";
    assert!(shown.contains(asked) && code == 0, "{shown}");
    assert!(yard.settings().contains("\"Gemacht\" = \"last service\""), "{}", yard.settings());
    // Work that is still to be done is no service that was.
    let yard = Yard::with(&[("bikes.csv", &sheet("To do"))]);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
}

#[test]
fn the_day_of_first_registration_is_among_the_choices_for_a_day_under_an_unknown_header() {
    for header in ["First on road", "First licensed", "V5 date"] {
        let sheet = format!(
            "Reg,Model,{header},Handover,Owner,Tel\nWX23 GAA,Heron,13/03/2023,14/03/2023,Mr A,07700 900701\n\
             WX24 GAB,Heron,20/05/2024,21/05/2024,Ms B,07700 900702\n"
        );
        let yard = Yard::with(&[("bikes.csv", &sheet)]);
        let (shown, code) = at_a_terminal(&yard, "1\n\n");
        let asked = format!(
            "What is column `{header}`?\n      C {header}: 13/03/2023, 20/05/2024\n  1  the day of first registration\n  2"
        );
        assert!(shown.contains(&asked) && code == 0, "{shown}");
        // The first MOT is due three years after the first registration (Road Traffic Act 1988, section 47).
        let letter = letter(&yard);
        assert!(
            letter.contains("13 Mar 2026") && letter.contains("registered 13 Mar 2023"),
            "{header}: {letter}"
        );
    }
}

#[test]
fn whether_the_shop_hands_machines_over_is_asked_once_no_column_can_be_the_handover_any_more() {
    let sheet = "Reg,Model,Registered,Owner,Tel,Tested till\nWX22 GAA,Heron,13/04/2022,Mr A,07700 900701,12/03/2026\n\
                 WX23 GAB,Lark,15/05/2022,Ms B,07700 900702,30/05/2026\n";
    let yard = Yard::with(&[("bikes.csv", sheet)]);
    // The day is the end of the MOT; then the shop only services.
    let (shown, _) = at_a_terminal(&yard, "4\n2\n\n");
    assert!(shown.contains("  4  the day its MOT ends\n"), "{shown}");
    assert!(shown.contains("Does the shop hand machines over to their owners?"), "{shown}");
    assert!(yard.settings().contains("\nhands_over = false\n"), "{}", yard.settings());
    assert!(!letter(&yard).contains("no column tells when"), "{}", letter(&yard));
    // Whoever has left it for later is asked again by the next setup.
    let later = Yard::with(&[("bikes.csv", sheet)]);
    at_a_terminal(&later, "4\n0\n\n");
    let (shown, _) = at_a_terminal(&later, "2\n\n");
    assert!(shown.contains("Does the shop hand machines over") && !shown.contains("Nothing new"), "{shown}");
    assert!(later.settings().contains("hands_over = false"), "{}", later.settings());
}
