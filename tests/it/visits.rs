//! Habits of shops that no header tells by itself: visits in a diary, groups of columns, a second column of the same.
//! What each sheet means, and what is due by it, was worked out by hand.

use crate::program::{Yard, printed};
use crate::setup::at_a_terminal;
use crate::sheets_made::xlsx_with_formats;

/// The letter of 14 October 2026 in one line.
fn letter(yard: &Yard) -> String {
    yard.letter_in_a_line("2026-10-14")
}

/// What a setup that asks nothing shows.
fn shown(yard: &Yard) -> String {
    printed(&yard.run("setup", &["--accept"]))
}

/// A diary of three visits of two machines; what is due of the first is rung for, by its visit of 20 October 2025.
fn diary(day: &str, work: &str) -> String {
    format!(
        "{day},VRM,Customer,Contact no.,{work},Speedo,MOT expiry\n\
         20/10/2025,KV18 TAA,Mr Arden,07700 900501,Annual service,8020,02/11/2027\n\
         20/11/2025,KV17 TAD,Ms Dunn,07700 900504,Annual service,21010,14/03/2027\n\
         07/04/2026,KV18 TAA,Mr Arden,07700 900501,Rear puncture,10100,02/11/2027\n"
    )
}

/// Twelve months after the visit of 20 October 2025.
const RUNG: &str = "Ring Mr Arden on 07700 900501 The annual service falls due on 20 Oct 2026";

#[test]
fn rows_in_which_machines_come_again_for_work_are_visits_whatever_their_day_is_called() {
    for (day, work) in [
        ("Visit", "Nature of work"),
        ("Seen", "Work"),
        ("In", "Work"),
        ("Date in", "Nature of work"),
        ("Visit date", "Job description"),
    ] {
        let yard = Yard::with(&[("d.csv", &diary(day, work))]);
        let shown = shown(&yard);
        assert!(shown.contains("d.csv: one job a row"), "{day}, {work}: {shown}");
        assert!(yard.settings().contains(&format!("\"{day}\" = \"day\"\n")), "{day}: {}", yard.settings());
        assert!(letter(&yard).contains(RUNG), "{day}, {work}: {}", letter(&yard));
    }
}

#[test]
fn a_day_that_was_booked_and_work_that_was_asked_for_are_asked_about_before_they_count() {
    for day in ["Booked for", "Appointment", "Booking date"] {
        let yard = Yard::with(&[("d.csv", &diary(day, "Reason for visit"))]);
        let (shown, code) = at_a_terminal(&yard, "1\n1\n1\n2\n\n\n\n");
        assert!(shown.contains(&format!("Is column `{day}` the day of the row?")), "{day}: {shown}");
        assert!(shown.contains("it may be when it was only booked"), "{day}: {shown}");
        assert!(shown.contains("Is column `Reason for visit` what was done?") && code == 0, "{day}: {shown}");
        assert!(letter(&yard).contains(RUNG), "{day}: {}", letter(&yard));
    }
}

#[test]
fn rows_of_work_under_a_day_that_nobody_knows_are_asked_about() {
    let yard = Yard::with(&[("d.csv", &diary("Brung", "Reason for visit"))]);
    // The visits; then the work, and the day; the clocks count in miles; the shop only services.
    let (shown, code) = at_a_terminal(&yard, "2\n1\n1\n1\n2\n\n\n\n");
    for asked in ["What are the rows of this sheet?", "What is column `Brung`?"] {
        assert!(shown.contains(asked) && code == 0, "{asked}: {shown}");
    }
    assert!(letter(&yard).contains(RUNG), "{}", letter(&yard));
}

#[test]
fn a_book_in_which_each_machine_was_once_so_far_is_asked_about_before_its_work_is_taken_for_the_newest() {
    // They are jobs, and the shop only services; of a bare `MOT` two years ahead it is asked, too, when it ends.
    for (headers, answers) in [
        ("Date in,Reg,Customer,Phone,Miles,Work done,MOT expiry", "2\n2\n\n\n"),
        ("Date,Reg,Customer,Phone,Miles,Work done,MOT", "2\n1\n2\n\n\n"),
    ] {
        let yard = Yard::with(&[(
            "b.csv",
            &format!(
                "{headers}\n20/10/2025,KV18 TAA,Mr Arden,07700 900501,8020,Annual service,02/11/2027\n\
                 20/11/2025,KV17 TAD,Ms Dunn,07700 900504,21010,Rear tyre,14/03/2027\n"
            ),
        )]);
        let (shown, code) = at_a_terminal(&yard, answers);
        assert!(shown.contains("What are the rows of this sheet?") && code == 0, "{headers}: {shown}");
        assert!(yard.settings().contains("rows = \"job\""), "{headers}: {}", yard.settings());
        assert!(letter(&yard).contains(RUNG), "{headers}: {}", letter(&yard));
    }
    // These say it themselves.
    for headers in [
        "Service date,Reg,Customer,Phone,Miles,Service type,MOT",
        "Last seen,Reg,Customer,Phone,Miles,Last work done,MOT",
    ] {
        let yard = Yard::with(&[(
            "b.csv",
            &format!("{headers}\n20/10/2025,KV18 TAA,Mr Arden,07700 900501,8020,Annual service,02/11/2027\n"),
        )]);
        assert!(shown(&yard).contains("b.csv: one machine a row"), "{headers}: {}", shown(&yard));
    }
}

#[test]
fn a_day_in_a_row_of_its_own_is_that_of_the_visits_below_it() {
    let rows = "Monday 20 October 2025,,,,,\n09:00,KV18 TAA,Mr Arden,07700 900501,Annual service,8020\n\
        11:00,KV19 TAB,Ms B,07700 900502,Annual service,9020\n\
        Thursday 20 November 2025,,,,,\n09:00,KV20 TAC,Mr C,07700 900503,Annual service,3020\n\
        11:00,KV18 TAA,Mr Arden,07700 900501,Puncture,8030\n";
    let with_date: String = rows
        .lines()
        .map(|row| if row.contains("day 20") { format!("{row},\n") } else { format!(",{row}\n") })
        .collect();
    for text in [
        format!("Time,Reg,Customer,Tel,Work,Miles\n{rows}"),
        format!("Date,Time,Reg,Customer,Tel,Work,Miles\n{with_date}"),
    ] {
        let yard = Yard::with(&[("d.csv", &text)]);
        let shown = shown(&yard);
        assert!(shown.contains("d.csv: one job a row"), "{shown}");
        let letter = letter(&yard);
        assert!(letter.contains(RUNG) && letter.contains("Ring Ms B on 07700 900502"), "{letter}");
        // That one came a month later.
        assert!(
            letter.contains("Ring Mr C on 07700 900503 The annual service falls due on 20 Nov 2026"),
            "{letter}"
        );
        // Nothing but that has a day of its own, and nothing is complained of.
        assert!(!letter.contains("so nothing tells when it was done"), "{letter}");
    }
}

#[test]
fn a_group_of_columns_of_unknown_name_keeps_it_and_its_columns_are_asked_about() {
    let yard = Yard::with(&[(
        "b.csv",
        "Machine,,Owner,,PDI,,Second look,,Run out 1,,,Out\nPlate,Model,Name,Phone,On,By,On,By,On,Miles,Max mph,Day\n\
         CA76 RAA,Nib 125,Mr A,07700 900701,10/10/2026,TD,12/10/2026,LM,11/10/2026,6,38,14/10/2026\n\
         CA76 RAB,Nib 125,Mr B,07700 900702,10/10/2026,TD,12/10/2026,LM,11/10/2026,7,41,15/10/2026\n",
    )]);
    let shown = shown(&yard);
    for asked in [
        "What is column `Second look / On`?",
        "What is column `Second look / By`?",
        "What is column `Run out 1 / On`?",
        "What is column `Run out 1 / Miles`?",
        "What is column `Run out 1 / Max mph`?",
        "\"Run out 1 / Max mph\" = \"first ride top speed\"",
    ] {
        assert!(shown.contains(asked), "{asked}: {shown}");
    }
    assert!(!shown.contains("sure: by its header; all 2 values fit  clock"), "{shown}");
    let written = yard.settings();
    assert!(!written.contains("= \"clock\"") && written.contains("\"PDI / On\" = "), "{written}");
    // A line for each can be written, since no two have one header.
    let agreed = written
        .replace("# \"Second look / On\" = \"\"", "\"Second look / On\" = \"quality check day\"")
        .lines()
        .map(|line| match line.trim_start_matches("# ").split_once(" = ") {
            Some(("\"Second look / On\"", _)) => "\"Second look / On\" = \"quality check day\"".to_owned(),
            Some(("\"Second look / By\"", _)) => "\"Second look / By\" = \"quality check by\"".to_owned(),
            Some(("\"Run out 1 / On\"", _)) => "\"Run out 1 / On\" = \"first ride day\"".to_owned(),
            Some(("\"Run out 1 / Miles\"", _)) => {
                "\"Run out 1 / Miles\" = \"first ride distance\"".to_owned()
            }
            _ => line.to_owned(),
        })
        .collect::<Vec<_>>()
        .join("\n");
    yard.put("tickover.toml", agreed);
    let letter = letter(&yard);
    // The second look was there; one road test of the two days is missing, and six of ten miles were ridden.
    assert!(!letter.contains("quality check (not recorded)"), "{letter}");
    assert!(letter.contains("Keep in the yard") && !letter.contains("6 miles on"), "{letter}");
}

#[test]
fn a_title_above_the_headers_groups_nothing() {
    let yard = Yard::with(&[(
        "b.csv",
        "Stock list,,,,\nReg,Date,Mileage,Note,By\nVX21 FAA,14/03/2026,8120,,TD\nKX24 ABD,15/03/2026,610,,TD\n",
    )]);
    let shown = shown(&yard);
    assert!(shown.contains("one reading a row") && !shown.contains("Stock list /"), "{shown}");
}

#[test]
fn the_lines_of_invoices_are_jobs_and_no_fuel() {
    for text in [
        "Date,Reg,Description,Qty\n20/10/2025,KV18 TAA,Annual service,1\n21/10/2025,KV18 TAB,Rear tyre,1\n\
         21/10/2025,KV18 TAB,Annual service,2\n",
        "Inv no,Date,Reg,Customer,Tel,Description,Qty,Net\n\
         1001,20/10/2025,KV18 TAA,Mr A,07700 900501,Annual service,1,120.00\n\
         1002,21/09/2026,KV18 TAB,Mr A,07700 900501,Rear tyre,3,24.00\n",
    ] {
        let yard = Yard::with(&[("i.csv", text)]);
        let shown = shown(&yard);
        assert!(shown.contains("i.csv: one job a row"), "{shown}");
        let written = yard.settings();
        assert!(!written.contains("litres") && written.contains("\"Description\" = \"done\""), "{written}");
    }
    // Litres are no pieces, and a fuel log says so.
    for (file, text) in [
        ("a.csv", "Date,Reg,Qty\n20/10/2025,KV18 TAA,9.41\n21/10/2025,KV18 TAB,11.02\n"),
        ("fuel.csv", "Date,Reg,Qty\n20/10/2025,KV18 TAA,9\n21/10/2025,KV18 TAB,11\n"),
    ] {
        let yard = Yard::with(&[(file, text)]);
        assert!(shown(&yard).contains("one fill a row"), "{file}: {}", shown(&yard));
    }
}

#[test]
fn each_of_several_columns_of_work_is_a_job_of_its_row() {
    let yard = Yard::with(&[(
        "j.csv",
        "Date,Reg,Customer,Tel,Job 1,Job 2,Job 3,Miles\n\
         20/10/2025,BT19 NAA,Mr A,07700 900601,MOT,Annual service,Brake fluid,6100\n\
         14/09/2026,BT19 NAB,Mr B,07700 900602,Tyre,Annual service,,7103\n\
         15/09/2026,BT19 NAA,Mr A,07700 900601,Puncture,,,7103\n",
    )]);
    let shown = shown(&yard);
    let written = yard.settings();
    let lines = "\"Job 1\" = \"done\"\n\"Job 2\" = \"done\"\n\"Job 3\" = \"done\"\n";
    assert!(written.contains(lines), "{written}{shown}");
    let letter = letter(&yard);
    assert!(
        letter.contains("Ring Mr A on 07700 900601 The annual service falls due on 20 Oct 2026"),
        "{letter}"
    );
    assert!(letter.contains("sheets/j.csv, F2") && !letter.contains("Ring Mr B"), "{letter}");
    assert!(!letter.contains("two columns are agreed"), "{letter}");
}

#[test]
fn another_column_of_work_beside_what_was_done_is_asked_about() {
    let yard = Yard::with(&[(
        "j.csv",
        "Date,Reg,Customer,Tel,Work done,Also,Miles\n20/10/2025,BT19 NAA,Mr A,07700 900601,MOT,Annual service,6100\n\
         14/09/2026,BT19 NAB,Mr B,07700 900602,Tyre,Annual service,7103\n",
    )]);
    let (shown, code) = at_a_terminal(&yard, "1\n2\n\n\n\n");
    assert!(shown.contains("What is column `Also`?") && code == 0, "{shown}");
    let said = "Ring Mr A on 07700 900601 The annual service falls due on 20 Oct 2026";
    assert!(letter(&yard).contains(said), "{}", letter(&yard));
}

#[test]
fn of_two_columns_of_telephone_numbers_the_first_that_is_filled_is_rung() {
    for (first, second) in [
        ("Mobile", "Home tel"),
        ("Tel 1", "Tel 2"),
        ("Home no", "Mobile"),
        ("Landline", "Mobile"),
        ("Phone", "Alt phone"),
        ("Work tel", "Home tel"),
    ] {
        let yard = Yard::with(&[(
            "c.csv",
            &format!(
                "Reg,Customer,{first},{second},MOT due\nBT19 NAA,Mr A,07700 900601,,20/10/2026\n\
                 BT19 NAB,Mr B,,01632 960602,21/10/2026\nBT19 NAC,Mr C,07700 900603,01632 960603,22/10/2026\n"
            ),
        )]);
        let shown = shown(&yard);
        let letter = letter(&yard);
        for said in ["Mr A on 07700 900601", "Mr B on 01632 960602", "Mr C on 07700 900603"] {
            assert!(letter.contains(said), "{first}, {second}: {said}: {letter}{shown}");
        }
    }
}

#[test]
fn of_a_machine_that_was_sold_twice_the_newest_handover_counts_whichever_row_stands_first() {
    const ROWS: [&str; 2] = [
        "BT24 NAA,Nib 125,01/05/2024,13/05/2024,Mr A,07700 900601,20/10/2026\n",
        "BT24 NAA,Nib 125,01/05/2024,29/09/2025,Ms B,,20/10/2026\n",
    ];
    for [first, second] in [ROWS, [ROWS[1], ROWS[0]]] {
        let text = format!("Reg,Model,Registered,Handover,Customer,Tel,MOT due\n{first}{second}");
        let yard = Yard::with(&[("c.csv", &text)]);
        shown(&yard);
        let letter = letter(&yard);
        // The number is that of the owner before.
        assert!(
            letter.contains("Ring Ms B: no number in the sheets The MOT runs out on 20 Oct 2026"),
            "{letter}"
        );
        assert!(!letter.contains("Ring Mr A") && !letter.contains("Correct the wrong one"), "{letter}");
        assert!(letter.contains("was handed over to two customers"), "{letter}");
    }
}

#[test]
fn a_weekday_beside_a_date_decides_which_of_day_and_month_comes_first_or_is_complained_of() {
    let log = |first: &str, second: &str| {
        format!(
            "Date,Reg,Customer,Tel,Work done,Miles\n{first},BT19 NAA,Mr A,07700 900601,Annual service,6100\n\
             {second},BT19 NAB,Mr B,07700 900602,Annual service,6100\n"
        )
    };
    // 10 November and 11 October 2025 were a Monday and a Saturday, 12 November and 11 December a Wednesday and a Thursday.
    for (first, second, due) in [
        ("Mon 10/11/2025", "Wed 12/11/2025", "10 Nov 2026"),
        ("Sat 10/11/2025", "Thu 12/11/2025", "11 Oct 2026"),
    ] {
        let yard = Yard::with(&[("d.csv", &log(first, second))]);
        let shown = shown(&yard);
        assert!(!shown.contains("Which day is"), "{first}: {shown}");
        let on = if due == "10 Nov 2026" { "2026-11-01" } else { "2026-10-05" };
        let letter = yard.letter_in_a_line(on);
        assert!(letter.contains(&format!("The annual service falls due on {due}")), "{first}: {letter}");
    }
    // 14 November 2025 was a Friday.
    let yard = Yard::with(&[("d.csv", &log("Tue 14/11/2025", "Wed 12/11/2025"))]);
    shown(&yard);
    let letter = letter(&yard);
    let told = "does not fall on the weekday that stands before it";
    assert!(letter.contains(told) && letter.contains("sheets/d.csv, A2"), "{letter}");
}

/// Machines with a day under a header that calls it the MOT's.
fn with_mot(header: &str) -> String {
    format!(
        "Reg,Customer,Tel,First reg,{header}\nBT19 NAA,Mr A,07700 900601,15/05/2019,20/05/2026\n\
         BT19 NAB,Mr B,07700 900602,16/05/2019,21/10/2025\nBT19 NAC,Mr C,07700 900603,15/04/2019,14/04/2026\n"
    )
}

#[test]
fn a_day_of_the_mot_that_may_be_the_tests_or_the_certificates_end_is_asked_about() {
    for header in ["MOT date", "MOT on", "MOT day", "Date of MOT"] {
        let yard = Yard::empty();
        yard.put_saved_on("sheets/c.csv", with_mot(header), "2026-10-14");
        let (shown, code) = at_a_terminal(&yard, "2\n2\n\n\n\n");
        let asked = format!("What is column `{header}`?");
        assert!(shown.contains(&asked) && code == 0, "{header}: {shown}");
        let answers = "  1  the day its MOT ends\n  2  the day of its last MOT test\n";
        assert!(shown.contains(answers), "{header}: {shown}");
        assert!(
            yard.settings().contains(&format!("\"{header}\" = \"mot test day\"\n")),
            "{}",
            yard.settings()
        );
        // Twelve months after 21 October 2025, less a day.
        let letter = letter(&yard);
        assert!(letter.contains("Ring Mr B on 07700 900602 The MOT runs out on 20 Oct 2026"), "{letter}");
        assert!(!letter.contains("Mr A") && !letter.contains("The MOT ran out"), "{letter}");
    }
}

#[test]
fn a_header_that_names_the_last_test_is_its_day() {
    for header in ["Last MOT", "MOT tested", "MOT passed"] {
        let yard = Yard::with(&[("c.csv", &with_mot(header))]);
        shown(&yard);
        let letter = letter(&yard);
        assert!(letter.contains("The MOT runs out on 20 Oct 2026"), "{header}: {letter}");
        assert!(letter.contains("sheets/c.csv, E3"), "{header}: {letter}");
    }
}

#[test]
fn a_sale_that_was_called_off_is_no_handover_once_its_column_is_agreed() {
    for status in ["Cancelled", "Demo", "Courtesy bike"] {
        let yard = Yard::with(&[(
            "b.csv",
            &format!(
                "Reg,Model,Registered,Customer,Tel,Status,Handover\n\
                 CA76 RAA,Nib 125,09/10/2026,Mr A,07700 900601,{status},15/10/2026\n\
                 CA76 RAB,Nib 125,09/10/2026,Mr B,07700 900602,,16/10/2026\n"
            ),
        )]);
        let (shown, code) = at_a_terminal(&yard, "1\n\n\n\n");
        assert!(shown.contains("What is column `Status`?") && code == 0, "{status}: {shown}");
        let letter = letter(&yard);
        let told = "says that the machine was not sold, so that the handover and the customer in its row do not count";
        assert!(letter.contains(told) && letter.contains("sheets/b.csv, F2"), "{status}: {letter}");
        assert!(!letter.contains("Mr A") && letter.contains("Mr B"), "{status}: {letter}");
    }
}

#[test]
fn the_shops_own_number_for_a_machine_is_asked_about_whatever_it_is_called() {
    for header in ["Bk no", "Key tag", "Board", "Asset"] {
        let machines = format!(
            "{header},Plate,Model,Registered,Customer,Tel,Handover\n\
             B041,CA76 RAA,Nib 125,09/10/2026,Mr A,07700 900601,15/10/2026\n\
             B043,CA75 RAC,Nib 125,19/10/2025,Mr C,07700 900603,20/10/2025\n"
        );
        let jobs = format!(
            "Date,{header},Work done,Miles\n10/12/2025,B043,First service,500\n13/10/2026,B041,PDI,5\n"
        );
        let yard = Yard::with(&[("b.csv", &machines), ("j.csv", &jobs)]);
        let (shown, code) = at_a_terminal(&yard, "1\n1\n\n\n\n");
        assert!(shown.contains(&format!("What is column `{header}`?")) && code == 0, "{header}: {shown}");
        let settings = yard.settings();
        let line = format!("\"{header}\" = \"stock number\"\n");
        assert_eq!(settings.matches(&line).count(), 2, "{header}: {settings}");
        assert!(!letter(&yard).contains("so the sheet is not read"), "{header}: {}", letter(&yard));
    }
}

#[test]
fn a_bare_at_behind_the_last_service_may_be_the_clock_of_that_day() {
    let yard = Yard::with(&[(
        "c.csv",
        "Reg,Customer,Tel,Handover,Serviced,At\nBT25 NAA,Mr A,07700 900601,20/05/2025,16/10/2025,3900\n\
         BT25 NAB,Mr B,07700 900602,21/05/2025,17/11/2025,4100\n",
    )]);
    let (shown, code) = at_a_terminal(&yard, "1\n1\n\n\n\n");
    assert!(
        shown.contains("  1  the last service clock\n  2  what the clock showed\n") && code == 0,
        "{shown}"
    );
    assert!(yard.settings().contains("\"At\" = \"last service clock\"\n"), "{}", yard.settings());
    assert!(!letter(&yard).contains("3,900 miles today"), "{}", letter(&yard));
}

#[test]
fn one_date_with_its_month_first_beside_real_dates_shows_that_these_were_changed_round() {
    // Serial numbers of 1 May and 11 December 2025 and 2 January 2026; the text is 25 October 2025.
    let cell = |value: &str| match value.parse::<u32>() {
        Ok(serial) => format!("<c s=\"1\"><v>{serial}</v></c>"),
        Err(_) => format!("<c t=\"inlineStr\"><is><t>{value}</t></is></c>"),
    };
    let row = |values: &[&str]| {
        format!("<row>{}</row>", values.iter().map(|value| cell(value)).collect::<String>())
    };
    let mut data = row(&["Reg", "Model", "Customer", "Tel", "MOT due"]);
    for (day, mark) in
        [("45778", "BT19 NAA"), ("10/25/2025", "BT19 NAB"), ("46002", "BT19 NAC"), ("46024", "BT19 NAD")]
    {
        data += &row(&[mark, "Nib 125", "Mr A", "07700 900601", day]);
    }
    let yard = Yard::empty();
    yard.put("sheets/j.xlsx", xlsx_with_formats(&data, &["dd/mm/yyyy"]));
    shown(&yard);
    let letter = letter(&yard);
    assert!(letter.contains("changed round") && letter.contains("sheets/j.xlsx"), "{letter}");
    assert!(!letter.contains("The MOT ran out on 1 May 2025"), "{letter}");
}
