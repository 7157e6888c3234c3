//! Papers in a book of jobs that are no work done; what is due by each was worked out by hand.

use serde_json::Value;

use crate::program::Yard;

/// A book with one more column. The last annual service of BT19 NAA was on 9 February 2026.
fn book(header: &str, plain: &str, further: &[(&str, &str)]) -> String {
    let mut book = format!("Date,Reg,Customer,Tel,Work done,Miles,{header}\n");
    for row in [
        "09/02/2026,BT19 NAA,Mr A,07700 900601,Annual service,6100",
        "10/09/2026,BT19 NAB,Mr B,07700 900602,Annual service,6100",
        "13/10/2026,BT19 NAB,Mr B,07700 900602,Chain,7100",
        "13/11/2026,BT19 NAC,Mr C,07700 900603,Annual service,7100",
    ] {
        book.push_str(&format!("{row},{plain}\n"));
    }
    for (day, said) in further {
        book.push_str(&format!("{day},BT19 NAA,Mr A,07700 900601,Annual service,9100,{said}\n"));
    }
    book
}

fn yard_with(book: &str) -> Yard {
    let yard = Yard::with(&[("jobs.csv", book)]);
    yard.run("setup", &["--accept"]);
    yard
}

/// What the morning of 8 February 2027 says of a book.
fn morning(book: &str) -> Value {
    yard_with(book).kept_morning("2027-02-08").0
}

#[derive(Debug, PartialEq)]
enum Service {
    Rung,
    CannotTell,
    Done,
}

/// How the annual service of BT19 NAA stands.
fn service(run: &Value) -> Service {
    let is_it = |it: &&Value| it["rule"] == "service-due" && it["machine"]["mark"] == "BT19 NAA";
    let rung = run["findings"].as_array().unwrap().iter().filter(is_it).any(|it| it["state"] != "settled");
    let unknown = run["cannot_tell"].as_array().unwrap().iter().any(|it| is_it(&it));
    match (rung, unknown) {
        (true, _) => Service::Rung,
        (_, true) => Service::CannotTell,
        _ => Service::Done,
    }
}

const DAY: &str = "07/02/2027";

#[test]
fn an_invoice_is_work_done_and_another_paper_is_none_wherever_it_says_so() {
    for header in ["Type", "Doc", "Zk"] {
        for (said, expected) in [
            ("Invoice", Service::Done),
            ("Quote", Service::Rung),
            ("Estimate", Service::Rung),
            ("Credit Memo", Service::Rung),
            ("Credit note", Service::Rung),
            ("Refund", Service::Rung),
            ("Void", Service::Rung),
            ("CANCELLED", Service::Rung),
            ("Draft", Service::Rung),
            ("Pro forma", Service::Rung),
        ] {
            // It stands there already at setup, or comes the day after.
            let yard = yard_with(&book(header, "Invoice", &[(DAY, said)]));
            let (run, _) = yard.kept_morning("2027-02-08");
            assert_eq!(service(&run), expected, "{header} {said}");
            if header == "Type" {
                let yard = yard_with(&book(header, "Invoice", &[]));
                yard.kept_morning("2027-02-07");
                yard.put("sheets/jobs.csv", book(header, "Invoice", &[(DAY, said)]));
                let (run, _) = yard.kept_morning("2027-02-08");
                assert_eq!(service(&run), expected, "{said} the day after");
                let told = run["complaints"].to_string().matches("no work done by the column `Type`").count();
                assert_eq!(told, usize::from(said != "Invoice"), "{said}");
            }
        }
    }
}

#[test]
fn a_column_that_the_shop_leaves_out_says_nothing() {
    let yard = yard_with(&book("Type", "Invoice", &[(DAY, "Quote")]));
    let settings = yard.settings();
    let lines = settings
        .lines()
        .map(|line| if line.starts_with("# \"Type\"") { "\"Type\" = \"nothing\"" } else { line });
    yard.put("tickover.toml", lines.map(|line| format!("{line}\n")).collect::<String>());
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(service(&run), Service::Done);
}

#[test]
fn of_a_job_that_is_credited_afterwards_nobody_can_tell_whether_it_was_done() {
    for line in ["", "\"Type\" = \"outcome\""] {
        let yard = yard_with(&book("Type", "Invoice", &[("05/02/2027", "Invoice")]));
        if !line.is_empty() {
            let settings = yard.settings();
            let lines = settings.lines().map(|one| if one.starts_with("# \"Type\"") { line } else { one });
            yard.put("tickover.toml", lines.map(|line| format!("{line}\n")).collect::<String>());
            assert!(yard.settings().contains(line), "{settings}");
        }
        let (run, _) = yard.kept_morning("2027-02-07");
        assert_eq!(service(&run), Service::Done, "{line}");
        let further = [("05/02/2027", "Invoice"), (DAY, "Credit Memo")];
        yard.put("sheets/jobs.csv", book("Type", "Invoice", &further));
        for day in ["2027-02-08", "2027-02-09"] {
            let (run, _) = yard.kept_morning(day);
            assert_eq!(service(&run), Service::CannotTell, "{line} {day}");
        }
        // It is put on a paper anew: then it was done.
        let again = [further[0], further[1], (DAY, "Invoice")];
        yard.put("sheets/jobs.csv", book("Type", "Invoice", &again));
        let (run, _) = yard.kept_morning("2027-02-10");
        assert_eq!(service(&run), Service::Done, "{line}");
    }
}

#[test]
fn a_row_that_comes_to_less_than_nothing_shows_no_work_done() {
    for header in ["Invoice total", "Amount"] {
        for sum in ["-180.00", "£-180.00", "(180.00)", "180.00 CR"] {
            let yard = yard_with(&book(header, "180.00", &[(DAY, sum)]));
            let (run, _) = yard.kept_morning("2027-02-08");
            assert_eq!(service(&run), Service::CannotTell, "{header} {sum}");
            // Beside the row that it takes back.
            let yard = yard_with(&book(header, "180.00", &[("05/02/2027", "180.00"), (DAY, sum)]));
            let (run, _) = yard.kept_morning("2027-02-08");
            assert_eq!(service(&run), Service::CannotTell, "{header} {sum}");
        }
    }
}

#[test]
fn a_bare_mot_beside_a_visit_is_the_certificates_end_where_its_days_run_ahead_as_one_does() {
    let book = |ends: [&str; 4]| {
        let rows = [
            "09/06/2026,BT19 NAA,Mr A,07700 900601,Annual service,6100",
            "10/07/2026,BT19 NAB,Mr B,07700 900602,Annual service,6100",
            "13/10/2026,BT19 NAB,Mr B,07700 900602,Chain,7100",
            "13/11/2026,BT19 NAC,Mr C,07700 900603,Annual service,7100",
        ];
        rows.iter().zip(ends).map(|(row, end)| format!("{row},{end}\n")).collect::<String>()
    };
    let due = |header: &str, ends: [&str; 4]| {
        let yard = yard_with(&format!("Date,Reg,Customer,Tel,Work done,Miles,{header}\n{}", book(ends)));
        let (run, _) = yard.kept_morning("2027-02-08");
        let findings = run["findings"].as_array().unwrap().iter().filter(|it| it["rule"] == "mot-due");
        findings.map(|it| it["machine"]["mark"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
    };
    // Mr A's runs out in eight days.
    for header in ["MOT", "MOT date", "MOT renewal"] {
        let ends = ["16/02/2027", "20/06/2027", "20/06/2027", "25/08/2027"];
        assert_eq!(due(header, ends), ["BT19 NAA"], "{header}");
    }
    // A new machine's first MOT is three years after its registration, and one came because its own had run out.
    for header in ["MOT", "MOT date"] {
        let first = ["16/02/2027", "20/06/2027", "20/06/2027", "02/11/2029"];
        assert_eq!(due(header, first), ["BT19 NAA"], "{header}");
    }
    // The days of tests that were done, or are booked soon, are no ends.
    assert_eq!(due("MOT", ["09/06/2026", "10/07/2026", "13/10/2026", "13/11/2026"]), [] as [&str; 0]);
    assert_eq!(due("MOT", ["19/06/2026", "12/07/2026", "23/10/2026", "23/11/2026"]), [] as [&str; 0]);
}

#[test]
fn one_visit_after_the_mot_ran_out_hides_no_others() {
    let mut book = "Date,Reg,Customer,Tel,Work done,Miles,MOT\n".to_owned();
    for (row, end) in [
        ("09/06/2026,BT19 NAA,Mr A,07700 900601,Annual service,6100", "16/02/2027"),
        ("10/07/2026,BT19 NAB,Mr B,07700 900602,Annual service,6100", "20/06/2027"),
        ("13/10/2026,BT19 NAB,Mr B,07700 900602,Chain,7100", "20/06/2027"),
        ("13/11/2026,BT19 NAC,Mr C,07700 900603,Annual service,7100", "10/11/2026"),
        ("14/11/2026,BT19 NAD,Mr D,07700 900604,Annual service,7100", "20/08/2027"),
        ("16/11/2026,BT19 NAE,Mr E,07700 900605,Annual service,7100", "22/08/2027"),
    ] {
        book.push_str(&format!("{row},{end}\n"));
    }
    let run = morning(&book);
    let due = run["findings"].as_array().unwrap().iter().filter(|it| it["rule"] == "mot-due");
    assert!(due.clone().any(|it| it["machine"]["mark"] == "BT19 NAA"), "{run}");
}

#[test]
fn a_bare_mot_that_may_be_the_certificates_end_is_asked_for_and_never_left_out_unsaid() {
    let mut book = "Date,Reg,Customer,Tel,Work done,Miles,MOT\n".to_owned();
    for (row, end) in [
        ("09/06/2026,BT19 NAA,Mr A,07700 900601,Annual service,6100", "16/02/2027"),
        ("10/07/2026,BT19 NAB,Mr B,07700 900602,Annual service,6100", "20/07/2026"),
        ("13/10/2026,BT19 NAB,Mr B,07700 900602,Chain,7100", "20/10/2026"),
        ("13/11/2026,BT19 NAC,Mr C,07700 900603,Annual service,7100", "20/08/2027"),
    ] {
        book.push_str(&format!("{row},{end}\n"));
    }
    let yard = Yard::with(&[("jobs.csv", &book)]);
    let ran = yard.run("setup", &["--accept"]);
    assert_eq!(ran.status.code(), Some(1), "a question is open");
    assert!(yard.settings().contains("# \"MOT\" = \"mot expiry\""), "{}", yard.settings());
}

#[test]
fn a_word_with_another_use_takes_work_out_only_of_a_column_of_papers() {
    for (header, plain, said) in [
        ("Payment", "Card", "Credit"),
        ("Paid by", "Cash", "CREDIT"),
        ("Pay type", "Card", "Credit"),
        ("Payment method", "Invoice", "Credit"),
        ("Terms", "Invoice", "Credit"),
        ("Account", "Trade", "Credit"),
        ("Parts", "chain", "draft"),
        ("Town", "Leigh", "Draft"),
        ("Payment", "Card", "Draft"),
        ("Customer type", "Trade", "Credit"),
        ("Account no", "C12", "Credit"),
    ] {
        let run = morning(&book(header, plain, &[(DAY, said)]));
        assert_eq!(service(&run), Service::Done, "{header} {said}");
        assert!(!run["complaints"].to_string().contains("no work done"), "{header} {said}");
    }
    // Where the header speaks of papers, or another cell of the column names one, they say so.
    for (header, plain, said) in [
        ("Type", "Sale", "Credit"),
        ("Doc type", "Sale", "Draft"),
        ("Status", "Posted", "Draft"),
        ("Transaction type", "Debit", "Refund"),
        ("Zk", "Invoice", "Credit"),
        ("Zk", "Invoice", "Draft"),
    ] {
        let run = morning(&book(header, plain, &[(DAY, said)]));
        assert_eq!(service(&run), Service::Rung, "{header} {said}");
        let told = format!("1 row is no work done by the column `{header}`");
        assert!(run["complaints"].to_string().contains(&told), "{header} {said}");
    }
}

#[test]
fn a_sum_below_nothing_speaks_of_the_row_only_where_it_is_its_total() {
    for (header, plain) in
        [("Net profit", "60.00"), ("Amount owed", "0.00"), ("Balance", "0.00"), ("Net", "150.00")]
    {
        let further = [("05/02/2027", plain), (DAY, "-20.00")];
        let run = morning(&book(header, plain, &further));
        assert_eq!(service(&run), Service::Done, "{header}");
    }
    // A book that writes all its sums below nothing tells nothing by one.
    let run = morning(&book("Amount", "-60.00", &[(DAY, "-20.00")]));
    assert_eq!(service(&run), Service::Done);
}

#[test]
fn a_refund_is_no_service_though_no_clock_or_day_stands_beside_it() {
    for (first, refund) in [
        ("05/02/2027,BT19 NAA,Annual service,9100", "07/02/2027,BT19 NAA,Annual service,"),
        ("05/02/2027,BT19 NAA,Annual service,9100", "07/02/2027,BT19 NAA,Annual service,9100"),
        ("05/02/2027,BT19 NAA,Annual service,", ",BT19 NAA,Annual service,"),
        ("05/02/2027,BT19 NAA,Annual service,9100", ",BT19 NAA,Annual service,9100"),
    ] {
        let book = format!(
            "Date,Reg,Work done,Miles,Amount\n09/02/2026,BT19 NAA,Annual service,6100,180.00\n\
             13/11/2026,BT19 NAC,Annual service,7100,180.00\n{first},180.00\n{refund},-180.00\n"
        );
        let run = morning(&book);
        assert_eq!(service(&run), Service::CannotTell, "{refund}");
    }
}

#[test]
fn remarks_short_words_and_numbers_that_take_a_row_back_leave_it_in_doubt_and_are_said() {
    for (header, plain, said) in [
        ("Notes", "chain loose", "VOID"),
        ("Notes", "", "Void"),
        ("Remarks", "chain loose", "Quote only"),
        ("Comments", "chain loose", "REFUNDED"),
        ("Notes", "chain loose", "CREDIT NOTE"),
        ("Remarks", "chain loose", "Draft"),
        ("Comments", "chain loose", "Pro forma"),
        ("Type", "INV", "CN"),
        ("Type", "INV", "EST"),
        ("Type", "INV", "QUO"),
        ("Doc type", "INV", "PF"),
        ("Type", "Sale", "Return"),
        ("Invoice no", "INV1001", "INV1012 (void)"),
        ("Doc no", "INV1001", "VOID1011"),
        ("Invoice", "INV1001", "INV1013 CREDIT"),
    ] {
        let run = morning(&book(header, plain, &[(DAY, said)]));
        assert_eq!(service(&run), Service::CannotTell, "{header} {said}");
        let told = format!("1 row may be no work done by the column `{header}`");
        assert!(run["complaints"].to_string().contains(&told), "{header} {said}: {}", run["complaints"]);
        assert!(run["cannot_tell"].to_string().contains(&format!("`{said}`")), "{header} {said}");
    }
    for (header, plain, said) in [
        ("Notes", "chain loose", "draft excluder"),
        ("Notes", "chain loose", "paid by credit card"),
        ("Notes", "chain loose", "Credit"),
        ("Parts", "chain", "EST"),
        ("Invoice no", "INV1001", "INV1013"),
        ("Job card", "1001", "1013 credit card"),
    ] {
        let run = morning(&book(header, plain, &[(DAY, said)]));
        assert_eq!(service(&run), Service::Done, "{header} {said}");
    }
}

#[test]
fn a_job_that_was_credited_keeps_its_own_words_and_the_credit_note_is_named_beside_them() {
    let further = [("05/02/2027", "Invoice"), (DAY, "Credit Memo")];
    let yard = yard_with(&book("Type", "Invoice", &further));
    let (run, _) = yard.kept_morning("2027-02-08");
    let told = run["cannot_tell"].to_string();
    assert!(told.contains("`Annual service` (see `Credit Memo` in sheets/jobs.csv, G7)"), "{told}");
    assert!(!run.to_string().contains("Annual service (credit note"), "{run}");
}

/// The settings of a yard with the line of a column agreed.
fn agree(yard: &Yard, header: &str, line: &str) {
    let settings = yard.settings();
    let is_it = |one: &str| one.trim_start_matches("# ").starts_with(&format!("\"{header}\""));
    let lines = settings.lines().map(|one| if is_it(one) { line } else { one });
    yard.put("tickover.toml", lines.map(|line| format!("{line}\n")).collect::<String>());
    assert!(yard.settings().contains(line), "{settings}");
}

#[test]
fn a_yes_below_a_header_for_no_work_takes_its_row_out_or_leaves_it_in_doubt_and_a_no_does_not() {
    for (header, expected) in [
        ("Cancelled", Service::Rung),
        ("Void", Service::Rung),
        ("Deleted", Service::Rung),
        ("No show", Service::Rung),
        ("Draft", Service::Rung),
        ("Estimate only", Service::Rung),
        ("Quote only", Service::Rung),
        ("Refund", Service::CannotTell),
        ("Refunded", Service::CannotTell),
        ("Warranty rejected", Service::CannotTell),
    ] {
        for (no, yes) in [("No", "Yes"), ("", "x"), ("FALSE", "TRUE")] {
            let run = morning(&book(header, no, &[(DAY, yes)]));
            assert_eq!(service(&run), expected, "{header} {yes}");
            let told = format!("no work done by the column `{header}`, such as this `{yes}`");
            assert_eq!(run["complaints"].to_string().matches(&told).count(), 1, "{header} {yes}");
            let run = morning(&book(header, no, &[(DAY, no)]));
            assert_eq!(service(&run), Service::Done, "{header} {no}");
            assert!(!run["complaints"].to_string().contains("no work done"), "{header} {no}");
        }
    }
    let run = morning(&book("Cancelled", "", &[(DAY, "06/02/2027")]));
    assert_eq!(service(&run), Service::Rung, "the day of the call");
    let run = morning(&book("Cancelled", "", &[(DAY, "snow")]));
    assert_eq!(service(&run), Service::CannotTell, "a reason");
}

#[test]
fn what_was_refused_or_paid_back_beside_the_work_takes_no_row_out() {
    for (header, no, said) in [
        ("Deposit refunded", "No", "Yes"),
        ("Extras declined", "No", "Yes"),
        ("Declined", "", "new tyres"),
        ("Quote", "180.00", "195.00"),
        ("Estimate date", "01/02/2026", "01/02/2027"),
        ("Credit", "No", "Yes"),
        ("Status", "Live", "Live"),
    ] {
        let run = morning(&book(header, no, &[(DAY, said)]));
        assert!(!run["complaints"].to_string().contains("no work done"), "{header} {said}");
    }
}

#[test]
fn a_header_for_no_work_that_is_agreed_as_the_outcome_says_done_by_a_no() {
    for (said, expected) in [("Yes", Service::Rung), ("No", Service::Done), ("", Service::Done)] {
        let yard = yard_with(&book("Cancelled", "No", &[(DAY, said)]));
        agree(&yard, "Cancelled", "\"Cancelled\" = \"outcome\"");
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(service(&run), expected, "{said}");
    }
    let yard = yard_with(&book("Cancelled", "No", &[(DAY, "Yes")]));
    agree(&yard, "Cancelled", "\"Cancelled\" = \"nothing\"");
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(service(&run), Service::Done, "left out by the shop");
}

#[test]
fn signs_below_done_are_read_where_they_are_plain_and_else_asked_about() {
    for header in ["Done", "Completed", "Finished"] {
        for (done, not_done) in [("👍", "⬜"), ("👍", "👎"), ("👍", ""), ("●", "○"), ("🟢", "🔴")]
        {
            let run = morning(&book(header, done, &[(DAY, not_done)]));
            assert_eq!(service(&run), Service::Rung, "{header} {not_done}");
            let run = morning(&book(header, done, &[(DAY, done)]));
            assert_eq!(service(&run), Service::Done, "{header} {done}");
        }
    }
    let yard = yard_with(&book("Done", "🏁", &[(DAY, "")]));
    assert!(yard.settings().contains("# \"Done\" = \"outcome\""), "{}", yard.settings());
    let (run, _) = yard.kept_morning("2027-02-08");
    assert_eq!(service(&run), Service::CannotTell, "nobody has said what a flag means");
    agree(&yard, "Done", "\"Done\" = \"nothing\"");
    let (run, _) = yard.kept_morning("2027-02-09");
    assert_eq!(service(&run), Service::Done);
}

#[test]
fn papers_in_several_words_are_no_work_whether_the_column_is_agreed_or_not() {
    for said in [
        "Sales Quote",
        "Draft invoice",
        "Proforma invoice",
        "Pro forma",
        "Cancelled by cust",
        "Credit memo",
        "Estimate",
        "Booking",
    ] {
        for line in ["", "\"Type\" = \"outcome\""] {
            let yard = yard_with(&book("Type", "Invoice", &[(DAY, said)]));
            if !line.is_empty() {
                agree(&yard, "Type", line);
            }
            let (run, _) = yard.kept_morning("2027-02-08");
            assert_eq!(service(&run), Service::Rung, "{said} {line}");
        }
    }
    // How a customer came is no paper, and a word that may be one is asked about first.
    let came = book("Type", "Walk-in", &[(DAY, "Booking")]);
    assert_eq!(service(&morning(&came)), Service::Done);
    let may_be = book("Stage", "Completed", &[(DAY, "Waiting")]);
    assert_eq!(service(&morning(&may_be)), Service::CannotTell);
}

#[test]
fn how_a_bill_stands_says_nothing_of_the_work_unless_it_is_none() {
    for (said, expected) in [
        ("Paid", Service::Done),
        ("Unpaid", Service::Done),
        ("Overdue", Service::Done),
        ("Draft", Service::Rung),
        ("Void", Service::Rung),
    ] {
        let yard = yard_with(&book("Inv status", "Paid", &[(DAY, said)]));
        assert!(!yard.settings().contains("\"Inv status\" = \"outcome\""), "{}", yard.settings());
        let (run, _) = yard.kept_morning("2027-02-08");
        assert_eq!(service(&run), expected, "{said}");
    }
}

#[test]
fn a_service_that_says_no_more_and_is_in_doubt_settles_nothing_and_names_what_it_is_in_doubt_by() {
    let book = "Date,Reg,Work done,Miles,Notes\n09/02/2026,BT19 NAA,Annual service,6100,\n\
                13/11/2026,BT19 NAC,Annual service,7100,\n07/02/2027,BT19 NAA,Service,9100,Void\n";
    let run = morning(book);
    assert_eq!(service(&run), Service::CannotTell);
    assert!(run["cannot_tell"].to_string().contains("`Service` (see `Void` in"), "{}", run["cannot_tell"]);
}
