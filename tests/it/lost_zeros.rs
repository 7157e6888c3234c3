//! Stock numbers that have lost their leading zeros in one of two sheets. Whose they are was worked out by hand.

use crate::program::Yard;

/// The letter of 9 March 2026 on two sheets, in one line.
fn letter(machines: &str, clocks: &str) -> String {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines);
    yard.put("sheets/clock.csv", clocks);
    yard.run("setup", &["--accept"]);
    yard.letter_in_a_line("2026-03-09")
}

const NUMBERED: &str = "Stock No,Reg,Model,Registered,Handover\n7,KX75 ABD,Lark,12/12/2025,15/12/2025\n\
    12,KX24 ABE,Lark,01/05/2024,13/06/2024\n";
const CLOCKS: &str = "Stock No,Date,Miles\n0007,15/12/2025,4\n0007,02/03/2026,455\n0012,02/03/2026,9100\n";

#[test]
fn a_stock_number_that_has_lost_its_zeros_is_still_its_machines_and_that_is_said_once() {
    let letter = letter(NUMBERED, CLOCKS);
    assert!(letter.contains("455 miles on 2 Mar 2026"), "{letter}");
    let said = "The stock number 0007 is taken for 7, which is listed and differs by leading zeros only. Write it alike in \
                both sheets, in cells of text; 3 rows of this file read so. sheets/clock.csv, A2: `0007`";
    assert_eq!(letter.matches(said).count(), 1, "{letter}");
    assert_eq!(letter.matches("leading zeros").count(), 1, "{letter}");
}

#[test]
fn a_stock_number_without_zeros_that_fits_two_machines_counts_for_neither() {
    let two = format!("{NUMBERED}07,KX24 ABF,Lark,01/05/2024,13/06/2024\n");
    let letter = letter(&two, CLOCKS);
    let said =
        "No machine that is listed has the stock number 0007. Without leading zeros it may be 07 or 7.";
    assert!(letter.contains(said) && !letter.contains("455 miles"), "{letter}");
    // The other one is plain all the same.
    assert!(letter.contains("The stock number 0012 is taken for 12"), "{letter}");
}
