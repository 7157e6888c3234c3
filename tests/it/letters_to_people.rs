//! What the letter must not say of people and of machines that need nothing: who is not rung, which machine needs no MOT,
//! and what is said once for all. Common practice, no source, where no other is named.

use crate::program::Yard;

/// The letter of Monday 9 March 2026 of a shop with these machines.
fn letter(machines: &str) -> String {
    let yard = Yard::empty();
    yard.put("sheets/machines.csv", machines);
    yard.run("setup", &["--accept"]);
    yard.letter_in_a_line("2026-03-09")
}

const HEADERS: &str = "Reg,Model,Registered,Customer,Phone,Handover,MOT expiry";

/// A machine whose MOT runs out within the week, with whom to ring.
fn due(customer: &str, telephone: &str) -> String {
    letter(&format!(
        "{HEADERS}\n\
         KX22 ABD,Knot 300,01/03/2022,{customer},{telephone},03/03/2022,13/03/2026\n\
         KX22 ABE,Knot 300,01/03/2022,T Ash,01632 960113,03/03/2022,13/01/2027\n\
         KX22 ABF,Knot 300,01/03/2022,N Low,01632 960114,03/03/2022,14/01/2027\n"
    ))
}

#[test]
fn nobody_is_rung_who_asked_not_to_be() {
    for written in ["NO CALLS", "do not ring", "email only", "01632 960112 (text only)"] {
        let letter = due("K Poole", written);
        let said = format!("Do not ring K Poole: the sheet says `{written}`. Write by post, or as it says");
        assert!(letter.contains(&said) && !letter.contains("Ring K Poole"), "{written}: {letter}");
    }
    let letter = due("K Poole (no calls)", "01632 960112");
    assert!(letter.contains("Do not ring the customer: the sheet says `K Poole (no calls)`"), "{letter}");
    assert!(!letter.contains("960112"), "{letter}");
}

#[test]
fn who_is_not_to_be_rung_at_some_hours_is_rung_at_others() {
    let letter = due("K Poole", "01632 960112 not before 9");
    assert!(letter.contains("Ring K Poole on 01632 960112 not before 9"), "{letter}");
}

#[test]
fn nobody_is_rung_or_written_to_who_is_said_to_have_died_and_the_office_is_told() {
    for (customer, telephone) in [
        ("K Poole", "DECEASED"),
        ("K Poole (deceased)", "01632 960112"),
        ("Exors of K Poole", "01632 960112"),
    ] {
        let letter = due(customer, telephone);
        assert!(letter.contains("Nobody is rung or written to: the sheet says of"), "{letter}");
        assert!(letter.contains("Write down who has the machine now"), "{letter}");
        assert!(!letter.contains("960112") && !letter.contains("Ring K Poole"), "{letter}");
        let office = letter.find("Put the sheet right: ").unwrap_or_else(|| panic!("{letter}"));
        let said = letter.find("Nobody is rung").unwrap();
        assert!(said > office, "it is no call and no visit: {letter}");
    }
}

#[test]
fn words_in_place_of_a_number_are_not_rung() {
    let letter = due("K Poole", "ask at counter");
    assert!(letter.contains("Ring K Poole: no number in the sheets, only `ask at counter`"), "{letter}");
}

/// Source of the forty years: GOV.UK, historic vehicles: MOT exemption criteria.
#[test]
fn a_machine_that_is_said_to_be_exempt_is_not_asked_for_unless_it_is_too_young() {
    let machines = |registered: &str, written: &str| {
        format!(
            "{HEADERS}\n,Knot 300,,,,,\nABC 123K,Knot 300,{registered},K Poole,01632 960112,03/03/2020,{written}\n\
             KX22 ABE,Knot 300,01/03/2022,T Ash,01632 960113,03/03/2022,13/01/2027\n"
        )
    };
    for written in ["exempt", "Exempt (historic)", "n/a - over 40 yrs", "MOT exempt"] {
        for registered in ["01/04/1972", ""] {
            let letter = letter(&machines(registered, written));
            assert!(!letter.contains("exempt") && !letter.contains("is not a day"), "{written}: {letter}");
            assert!(!letter.contains("MOT: 1 machine; not known"), "{written}: {letter}");
        }
        let letter = letter(&machines("01/04/2015", written));
        let said = "The sheet says that it is exempt from the MOT, and it is less than 40 years old.";
        assert!(letter.contains(said), "{written}: {letter}");
    }
    let open = letter(&machines("01/04/1972", "exempt?"));
    assert!(open.contains("is not a day") && open.contains("MOT: 1 machine; not known"), "{open}");
}

/// Source of the three years: Road Traffic Act 1988, section 47.
#[test]
fn a_machine_that_is_too_young_for_its_first_mot_is_asked_for_it_in_time_whatever_stands_there() {
    for written in ["exempt", "not due yet", "New", "not required"] {
        let letter = letter(&format!(
            "{HEADERS}\nKX23 ABD,Knot 300,20/03/2023,K Poole,01632 960112,22/03/2023,{written}\n\
             KX22 ABE,Knot 300,01/03/2022,T Ash,01632 960113,03/03/2022,13/01/2027\n"
        ));
        assert!(letter.contains("The first MOT is needed by 20 Mar 2026"), "{written}: {letter}");
        assert!(!letter.contains("is not a day"), "{written}: {letter}");
    }
}

#[test]
fn that_no_sheet_says_when_stock_came_in_is_said_once_and_of_one_that_lacks_it_by_its_name() {
    let machines = |arrived: [&str; 3]| {
        let rows = arrived
            .iter()
            .zip(1..)
            .map(|(arrived, number)| format!("S10{number},Knot 300,KNT000000000000{number},{arrived}\n"));
        format!("Stock no,Model,Frame no,Arrived\n{}", rows.collect::<String>())
    };
    let none = letter(&machines(["", "", ""]));
    assert!(
        none.contains("No sheet says when machines came into the shop: whether 3 machines stood there too long cannot be told."),
        "{none}"
    );
    assert!(!none.contains("Laid up: "), "{none}");
    let one = letter(&machines(["20/02/2026", "", "21/02/2026"]));
    assert!(
        one.contains("Laid up: 1 machine; not known: arrival") && !one.contains("No sheet says"),
        "{one}"
    );
}
