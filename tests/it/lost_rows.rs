//! Rows that name no machine that can be read: what the letter says of them, worked out by hand.

use crate::program::Yard;

/// The letter of 9 March 2026 on sheets, in one line, and the exit code.
fn letter(sheets: &[(&str, &str)]) -> (String, Option<i32>) {
    let yard = Yard::empty();
    for (file, text) in sheets {
        yard.put(file, text);
    }
    yard.run("setup", &["--accept"]);
    let code = yard.run("morning", &["--today", "2026-03-09", "--dry-run"]).status.code();
    (yard.letter_in_a_line("2026-03-09"), code)
}

const MACHINES: &str = "Reg,Frame,Make,Model,Registered,Handover,Customer,Phone,MOT due\n\
    VX21 FAA,WRNKNT30000000001,Wrenfold,Knot 300,15/03/2021,16/03/2021,K Poole,01632 960112,20/09/2027\n";

#[test]
fn a_machine_whose_mark_and_frame_number_are_both_damaged_stands_at_the_top_and_needs_a_person() {
    for (mark, frame_no) in [("#REF!", "1.2E+16"), ("45992", "1.2E+16"), ("TBA", "n/a"), ("?", ""), ("", "")]
    {
        let row = format!("{mark},{frame_no},Wrenfold,Knot 300,15/03/2021,16/03/2021,N Low,,01/03/2026\n");
        let (letter, code) = letter(&[("sheets/machines.csv", &format!("{MACHINES}{row}"))]);
        assert_eq!(code, Some(1), "{row}{letter}");
        assert!(letter.contains("1 to look at first"), "{row}{letter}");
        let said = "1 row names no machine that can be read, and nothing that it says counts: ";
        assert!(letter.contains(said), "{row}{letter}");
        let cell = if mark.is_empty() { "C3 `Wrenfold`" } else { mark };
        assert!(letter.contains(cell), "{row}{letter}");
    }
}

#[test]
fn rows_without_a_machine_are_counted_once_a_sheet_however_many_there_are() {
    let good: String = (10..20).map(|number| format!("VX{number} FAA,,Wrenfold,Knot 300,,,,,\n")).collect();
    let rows: String = (0..7).map(|_| "#REF!,,Wrenfold,Knot 300,,,N Low,,01/03/2026\n").collect();
    let (letter, _) = letter(&[("sheets/machines.csv", &format!("{MACHINES}{good}{rows}"))]);
    let said = "7 rows name no machine that can be read, and nothing that they say counts: A13 `#REF!`, A14 `#REF!`, A15 `#REF!`, \
                A16 `#REF!` and 3 more";
    assert_eq!(letter.matches("machine that can be read, and nothing").count(), 1, "{letter}");
    assert!(letter.contains(said), "{letter}");
}

#[test]
fn a_count_and_a_drawn_line_below_the_list_are_no_machines_lost() {
    for row in ["8,,Sold this year,,,,,,\n", "---,,,,,,,,\n", "---,---,---,---,---,---,---,---,---\n"] {
        let (letter, _) = letter(&[("sheets/machines.csv", &format!("{MACHINES}{row}"))]);
        assert!(!letter.contains("machine that can be read"), "{row}{letter}");
    }
}

#[test]
fn a_line_of_a_diary_that_is_about_no_machine_is_no_machine_lost() {
    let book =
        "Date,Reg,Work done,Mileage\n14/03/2025,VX21 FAA,Annual service,8120\n16/03/2025,,Swept the floor,\n";
    let quiet = letter(&[("sheets/machines.csv", MACHINES), ("sheets/book.csv", book)]).0;
    assert!(!quiet.contains("machine that can be read"), "{quiet}");
    let damaged = book.replace(",,Swept", ",#REF!,Swept");
    let told = letter(&[("sheets/machines.csv", MACHINES), ("sheets/book.csv", &damaged)]).0;
    let said = "1 row names no machine that can be read, and nothing that it says counts: B3 `#REF!`";
    assert!(told.contains(said), "{told}");
}
