//! Sheets that come to those that were agreed: each is named once, with how it was read and what to write.

use crate::broken_exports::workbook;
use crate::changed_sheets::{
    HEADERS, is_silent, machines, of_sheets, says, sheet, yard, yard_without_agreement,
};
use crate::program::{Yard, printed};

const LOG: &str = "Reg,Date,Mileage\nAB10 CDE,20/02/2026,1300\nAB11 CDE,25/02/2026,1400\n";
/// What is said of it.
const NEW: [&str; 4] = [
    "sheets/clocks.csv: this sheet is new, and nothing was agreed of it: by its looks a row was read as a reading",
    "`Reg` as mark, `Date` as day, `Mileage` as clock",
    "`[[sheet]]`, `file = \"clocks.csv\"` and `rows = \"reading\"`",
    "This is said once.",
];

#[test]
fn a_new_file_is_named_at_the_top_of_one_letter_with_the_lines_to_write() {
    let yard = yard();
    yard.put("sheets/clocks.csv", LOG);
    // A look that tells nothing does not use it up, and the same letter once more says the same.
    let (run, _) = yard.morning("2026-03-03");
    says(&run, &NEW);
    for _ in 0..2 {
        let (run, code) = yard.kept_morning("2026-03-03");
        says(&run, &NEW);
        assert_eq!(code, Some(1));
    }
    let letter = printed(&yard.run("morning", &["--today", "2026-03-03", "--dry-run"]));
    let at = |words: &str| letter.find(words).unwrap_or_else(|| panic!("`{words}` is not in: {letter}"));
    assert!(at("This sheet is new") < at("Keep in the yard"), "{letter}");
    let (run, _) = yard.kept_morning("2026-03-04");
    is_silent(&run);
}

#[test]
fn the_lines_that_the_letter_gives_settle_it() {
    let yard = yard();
    yard.put("sheets/clocks.csv", LOG);
    let settings = std::fs::read_to_string(yard.path().join("tickover.toml")).unwrap();
    for rows in ["reading", "nothing"] {
        let lines = format!("{settings}\n[[sheet]]\nfile = \"clocks.csv\"\nrows = \"{rows}\"\n");
        yard.put("tickover.toml", lines);
        let (run, _) = yard.morning("2026-03-03");
        is_silent(&run);
    }
}

#[test]
fn a_new_worksheet_is_named_and_one_that_stands_where_another_was_agreed_is_said_together_with_that() {
    let yard = Yard::empty();
    let stock = || sheet(&HEADERS, &machines());
    let put = |sheets: &[(&str, String)]| yard.put("sheets/all.xlsx", workbook(sheets));
    put(&[("Stock", stock())]);
    assert_eq!(yard.run("setup", &["--accept"]).status.code(), Some(0));
    yard.kept_morning("2026-03-02");
    put(&[("Stock", stock()), ("Clocks", LOG.to_owned())]);
    let (run, _) = yard.kept_morning("2026-03-03");
    says(
        &run,
        &["this sheet is new", "`file = \"all.xlsx\"`, `sheet = \"Clocks\"` and `rows = \"reading\"`"],
    );
    put(&[("Bikes", stock()), ("Clocks", LOG.to_owned())]);
    let (run, _) = yard.kept_morning("2026-03-04");
    says(
        &run,
        &[
            "the sheet all.xlsx, Stock was agreed, and is not among those that were read",
            "the new sheet sheets/all.xlsx, Bikes looks like it",
            "write `file = \"all.xlsx\"` and `sheet = \"Bikes\"` in its [[sheet]]",
        ],
    );
    assert_eq!(run["machines"], 12);
}

#[test]
fn where_nothing_was_agreed_and_of_the_next_of_a_series_nothing_is_called_new() {
    let yard_without_agreement = yard_without_agreement();
    yard_without_agreement.put("sheets/clocks.csv", LOG);
    let (run, _) = yard_without_agreement.kept_morning("2026-03-03");
    is_silent(&run);
    let yard = yard();
    for (day, said) in [("03", 1), ("04", 0), ("05", 0)] {
        yard.put(&format!("sheets/clocks 2026-03-{day}.csv"), LOG);
        let (run, _) = yard.kept_morning(&format!("2026-03-{day}"));
        assert_eq!(of_sheets(&run).len(), said, "{day}: {:?}", of_sheets(&run));
    }
}
