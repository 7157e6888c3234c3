//! Sheets named after what is booked: whether their work was done is asked, and until then it settles nothing. By hand.

use crate::program::{Yard, printed};
use crate::setup::at_a_terminal;

const CUSTOMERS: &str = "Reg,Model,Registered,Customer,Phone,Handover\n\
    VX21 FAA,Knot 300,15/03/2021,K Poole,01632 960112,15/03/2021\n\
    KX24 ABD,Knot 300,10/05/2024,T Ash,01632 960113,10/05/2024\n";

/// What was done a year ago, in a log of its own.
const JOBS: &str = "Date,Reg,Work done,Mileage\n14/03/2025,VX21 FAA,Annual service,8120\n\
    20/03/2025,KX24 ABD,Annual service,610\n";

/// The next services of both: one booked for a day that is past, one for a day to come.
const BOOKED: &str = "Date,Reg,Customer,Job\n02/03/2026,VX21 FAA,K Poole,Annual service\n\
    16/03/2026,KX24 ABD,T Ash,Annual service\n";

fn yard(name: &str, booked: &str) -> Yard {
    let yard = Yard::empty();
    yard.put("sheets/customers.csv", CUSTOMERS);
    yard.put("sheets/jobs.csv", JOBS);
    yard.put(&format!("sheets/{name}.csv"), booked);
    yard
}

/// Which of the two machines the letter of 9 March 2026 has an annual service due for.
fn due(yard: &Yard) -> [bool; 2] {
    let letter = yard.letter_in_a_line("2026-03-09");
    ["14 Mar 2026", "20 Mar 2026"].map(|day| letter.contains(&format!("annual service falls due on {day}")))
}

#[test]
fn what_is_booked_settles_nothing_until_it_is_said_that_it_was_done_and_never_before_its_day() {
    for name in ["Bookings", "Workshop diary 2026", "Calendar", "To do", "planned"] {
        let yard = yard(name, BOOKED);
        let shown = printed(&yard.run("setup", &["--accept"]));
        let asked =
            "This sheet is named after what is booked, and nothing in it says that its work was done.";
        assert!(shown.contains(asked), "{name}: {shown}");
        assert!(yard.settings().contains("# rows = \"job\"\n# or rows = \"nothing\""), "{}", yard.settings());
        assert_eq!(due(&yard), [true, true], "{name}");
        assert!(yard.letter_in_a_line("2026-03-09").contains("named after what is booked"), "{name}");
    }
    let yard = yard("Bookings", BOOKED);
    let (shown, _) = at_a_terminal(&yard, "1\n\n\n");
    assert!(shown.contains("what each says was done on its day, once that is past"), "{shown}");
    assert!(yard.settings().contains("file = \"Bookings.csv\"\nrows = \"job\""), "{}", yard.settings());
    assert_eq!(due(&yard), [false, true], "{}", yard.letter_in_a_line("2026-03-09"));
}

#[test]
fn a_diary_that_says_what_was_done_is_a_log_of_jobs_as_any_other() {
    for done in [
        "Date,Reg,Customer,Job,Miles\n02/03/2026,VX21 FAA,K Poole,Annual service,9120\n",
        "Date,Reg,Customer,Work done\n02/03/2026,VX21 FAA,K Poole,Annual service\n",
        "Date,Reg,Customer,Job,Invoice\n02/03/2026,VX21 FAA,K Poole,Annual service,4711\n",
    ] {
        let yard = yard("Diary", done);
        let shown = printed(&yard.run("setup", &["--accept"]));
        assert!(!shown.contains("named after what is booked"), "{shown}");
        assert_eq!(due(&yard), [false, true], "{done}");
    }
}
