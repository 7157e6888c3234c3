//! What a workshop's book says of a customer and of an MOT, and leaves open. Worked out by hand.

use crate::program::Yard;

/// The letter of 9 March 2026 on a book, in one line, where the shop hands nothing over.
fn letter(book: &str) -> String {
    let yard = Yard::empty();
    yard.put("sheets/book.csv", book);
    yard.run("setup", &["--accept"]);
    let settings = yard.settings();
    yard.put("tickover.toml", settings.replace("\n# hands_over = true", "\nhands_over = false #"));
    yard.letter_in_a_line("2026-03-09")
}

const BOOK: &str = "Date,Reg,Customer,Phone,Work done,Mileage,MOT due\n\
    10/03/2025,VX21 FAA,Mr Old,07700 900111,Annual service,8120,12/09/2026\n\
    11/03/2025,KX24 ABD,K Poole,01632 960112,Annual service,4120,12/09/2026\n";

#[test]
fn a_number_beside_a_blank_is_rung_alone_and_not_under_an_earlier_name() {
    let letter = letter(&format!("{BOOK}20/10/2025,VX21 FAA,,07700 900222,Front pads,10010,\n"));
    assert!(letter.contains("Ring 07700 900222, no name beside it in the sheets"), "{letter}");
    assert!(!letter.contains("Mr Old on 07700 900222"), "{letter}");
}

#[test]
fn the_number_that_stood_beside_a_name_before_is_still_that_customers() {
    let letter = letter(&format!("{BOOK}20/10/2025,VX21 FAA,,07700 900111,Front pads,10010,\n"));
    assert!(letter.contains("Ring Mr Old on 07700 900111"), "{letter}");
}

#[test]
fn an_mot_that_was_done_and_whose_new_end_nobody_wrote_is_asked_for() {
    // Ran out on 1 March and tested on the 3rd: twelve months less a day.
    let ran_out = BOOK.replace("8120,12/09/2026", "8120,01/03/2026");
    let letter_of = |job: &str| letter(&format!("{ran_out}{job}\n"));
    let told = letter_of("03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT,10010,");
    let said = "An MOT test was done on 3 Mar 2026, and its new end is not written down; if it was passed, that is 2 Mar 2027 at the \
                latest. Write down what the certificate says.";
    assert!(told.contains(said), "{told}");
    assert!(!told.contains("The MOT ran out"), "{told}");
    for job in [
        "03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT failed,10010,",
        "03/03/2026,VX21 FAA,Mr Old,07700 900111,Front pads,10010,",
        // What failed then or since takes the test away again.
        "03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT,10010,\n03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT failed: brakes,10010,",
        "03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT,10010,\n07/03/2026,VX21 FAA,Mr Old,07700 900111,MOT failed,10011,",
        "03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT certificate copied,10010,",
        // Older than a month less a day before the end: that is the test which the end rests on.
        "01/03/2025,VX21 FAA,Mr Old,07700 900111,MOT,7900,",
    ] {
        let told = letter_of(job);
        assert!(told.contains("The MOT ran out on 1 Mar 2026"), "{job}: {told}");
    }
    // With the new end beside it nothing is open.
    let told = letter_of("03/03/2026,VX21 FAA,Mr Old,07700 900111,MOT,10010,02/03/2027");
    assert!(!told.contains("An MOT test was done") && !told.contains("The MOT ran out"), "{told}");
}

#[test]
fn a_test_up_to_a_month_less_a_day_early_keeps_the_date() {
    // GOV.UK: 15 May may be renewed from 16 April on, and keeps its day.
    let soon = BOOK.replace("8120,12/09/2026", "8120,15/03/2026");
    let told = letter(&format!("{soon}16/02/2026,VX21 FAA,Mr Old,07700 900111,MOT & service,10010,\n"));
    assert!(told.contains("that is 15 Mar 2027 at the latest"), "{told}");
}
