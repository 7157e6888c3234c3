//! What is new or not taken clears no check before a handover; what is expected is reckoned by hand.

use serde_json::Value;

use crate::changed_sheets::says;
use crate::program::Yard;

/// What keeps a machine in the yard, by its stock number: the open findings about checks before handover.
fn kept_in(run: &Value, stock_no: &str) -> Vec<String> {
    let findings = run["findings"].as_array().unwrap().iter();
    let of_machine = findings.filter(|it| {
        it["rule"] == "missed-checks" && it["machine"]["stock_no"] == stock_no && it["state"] != "settled"
    });
    of_machine.map(|it| it["text"].as_str().unwrap().to_owned()).collect()
}

/// Three machines whose inspections and quality checks are signed by day, the third without a quality check; each with
/// another cell in a further column, which is not there where its header is blank.
fn signed(header: &str, further: [&str; 3]) -> String {
    let rows = [
        "S1,CE75 ABD,Larkspur 400,Ms A Orchard,14/05/2026,04/05/2026,GH,06/05/2026,TR",
        "S2,CE75 ABE,Larkspur 400,Mr B Meadow,15/05/2026,05/05/2026,GH,07/05/2026,TR",
        "S3,CE75 ABF,Larkspur 400,Ms C Hedge,16/05/2026,08/05/2026,GH,,",
    ];
    let comma = if header.is_empty() { "" } else { "," };
    let headers =
        format!("Stock No,Reg,Model,Customer,Handover,PDI date,PDI by,QC date,QC by{comma}{header}\n");
    let rows = rows.iter().zip(further).map(|(row, cell)| format!("{row}{comma}{cell}\n"));
    std::iter::once(headers).chain(rows).collect()
}

#[test]
fn a_new_column_beside_an_agreed_one_of_the_same_check_passes_none_until_it_is_agreed() {
    for (header, looks_like, cells, failures) in [
        ("Final inspection", "quality check", ["yes"; 3], ""),
        // Of one that was blank on its first day it is asked as well.
        ("Final inspection", "quality check", [""; 3], ""),
        ("QC result", "quality check", ["failed", "ok", "ok"], "; in 1 cell it says no or failed"),
    ] {
        let yard = Yard::empty();
        yard.put("sheets/machines.csv", signed("", [""; 3]));
        yard.run("setup", &["--accept"]);
        let (first, _) = yard.kept_morning("2026-05-11");
        let open = kept_in(&first, "S3");
        assert!(open.len() == 1 && open[0].contains("quality check"), "{open:?}");
        for (day, cells) in [
            ("2026-05-12", cells),
            ("2026-05-13", cells.map(|cell| if cell.is_empty() { "yes" } else { cell })),
        ] {
            yard.put("sheets/machines.csv", signed(header, cells));
            let (run, code) = yard.kept_morning(day);
            says(
                &run,
                &[&format!("column J `{header}` is new and looks like the {looks_like}; it is not read")],
            );
            says(&run, &[&format!("what it would settle stays open{failures}.")]);
            assert_eq!((code, kept_in(&run, "S3")), (Some(1), open.clone()), "{header} {day}");
        }
    }
}
