//! Marks that were filled down over others in a log: the work stays with the machines that it was done on.
//!
//! The thresholds are our decision; what is expected is reckoned by hand.

use crate::changed_at_once::told;
use crate::changed_sheets::{is_silent, of_sheets, settled};
use crate::program::Yard;

const MARKS: [&str; 6] = ["CE24 AVB", "LB23 BWC", "CE24 CXD", "OV72 DYF", "CE73 EZG", "LF24 FAH"];

/// What was done in two years, by its day, machine and words, the oldest first.
fn work() -> Vec<[String; 3]> {
    let row = |day: String, mark: &str, done: &str| [day, mark.to_owned(), done.to_owned()];
    let of_all = |year: i32, month: i32, done: &'static str| {
        (20..).zip(MARKS).map(move |(day, mark)| row(format!("{day}/{month:02}/{year}"), mark, done))
    };
    let first = of_all(2024, 6, "First service");
    first.chain(of_all(2025, 5, "Annual service")).chain(of_all(2026, 4, "Chain adjusted")).collect()
}

fn jobs(rows: &[[String; 3]]) -> String {
    let rows: String = rows.iter().map(|row| row.join(",") + "\n").collect();
    format!("Date,Reg,Work done\n{rows}")
}

fn machines() -> String {
    let row = |(day, mark): (i32, &str)| {
        format!("{mark},Larkspur 400,Ms {},07700 9007{day:02},{day}/04/2024\n", &mark[5..6])
    };
    let rows: String = (20..).zip(MARKS).map(row).collect();
    format!("Reg,Model,Customer,Phone,Handover\n{rows}")
}

/// A yard with this log, set up and read on Monday 8 June 2026.
fn yard(log: &str) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines());
    yard.put("sheets/jobs.csv", log);
    yard.run("setup", &["--accept"]);
    yard.kept_morning("2026-06-08");
    yard
}

#[test]
fn a_mark_that_was_filled_down_takes_no_work_to_another_machine_and_is_over_once_it_is_put_back() {
    let right = work();
    for filled in [6..10, 0..18] {
        let yard = yard(&jobs(&right));
        let before = told(&yard.kept_morning("2026-06-08").0);
        let mut wrong = right.clone();
        let source = right[filled.start][1].clone();
        for row in &mut wrong[filled.clone()] {
            row[1].clone_from(&source);
        }
        let count = wrong.iter().zip(&right).filter(|(wrong, right)| wrong != right).count();
        let words = format!(
            "{count} of 18 rows name another machine than before in column B `Reg`, as after a fill down"
        );
        for day in ["2026-06-09", "2026-06-10", "2026-06-16"] {
            yard.put("sheets/jobs.csv", jobs(&wrong));
            let (run, code) = yard.kept_morning(day);
            let said = of_sheets(&run);
            assert!(said.iter().any(|said| said.contains(&words)), "{filled:?} on {day}: {said:#?}");
            assert_eq!(
                (told(&run), settled(&run), code),
                (before.clone(), 0, Some(1)),
                "{filled:?} on {day}"
            );
        }
        yard.put("sheets/jobs.csv", jobs(&right));
        for day in ["2026-06-17", "2026-06-18"] {
            let (run, _) = yard.kept_morning(day);
            is_silent(&run);
            assert_eq!((told(&run), settled(&run)), (before.clone(), 0), "{filled:?} on {day}");
        }
    }
}

#[test]
fn rows_of_one_machine_whose_mark_is_put_right_count_at_once() {
    // All rows of one machine had the mark of another one; or its stock number in one row, and its mark with a slip in others.
    for (said, says) in [("OV72 DYF", "CE24 CXD"), ("S3", "CE24 CXD"), ("CE24 CXB", "CE24 CXD")] {
        let right = work();
        let mut wrong = right.clone();
        let rows: Vec<usize> = (0..right.len()).filter(|row| right[*row][1] == says).collect();
        for row in &rows {
            wrong[*row][1] = said.to_owned();
        }
        // A log in the order of its machines, so that the rows that change stand together.
        let by_machine = |rows: &[[String; 3]]| {
            let mut order: Vec<usize> = (0..rows.len()).collect();
            order.sort_by_key(|row| right[*row][1].clone());
            jobs(&order.iter().map(|row| rows[*row].clone()).collect::<Vec<_>>())
        };
        if said == "S3" {
            wrong[rows[1]][1] = "CE24 CXB".to_owned();
        }
        let yard = yard(&by_machine(&wrong));
        yard.put("sheets/jobs.csv", by_machine(&right));
        let (run, _) = yard.kept_morning("2026-06-09");
        let said_of_it = of_sheets(&run);
        assert!(
            !said_of_it.iter().any(|said| said.contains("name another machine")),
            "{said}: {said_of_it:#?}"
        );
    }
}
