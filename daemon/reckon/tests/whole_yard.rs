//! What only shows over all machines, counted by hand. Our decision.

use super::{Given, entry};
use crate::reckon::{WholeYard, stand_yard};
use crate::yard::CheckResult::{Failed, Passed};
use crate::yard::{Machine, MachineId};

/// A machine of a model, with a mark.
fn of(mark: &str, model: &str) -> Given {
    let mut given = Given::on("2026-03-02").mark(mark);
    given.machine.id = MachineId::kept(mark);
    given.row(|row| row.model = (!model.is_empty()).then(|| entry(1, model.to_owned())))
}

fn yard(given: Vec<Given>) -> WholeYard {
    let machines: Vec<Machine> = given.into_iter().map(|given| given.machine).collect();
    stand_yard(&machines, Vec::new(), Vec::new(), "2026-03-02".parse().unwrap())
}

/// One line a fault.
fn faults(given: Vec<Given>) -> Vec<String> {
    let line = |fault: crate::reckon::Fault| {
        let (model, last) = (fault.model.unwrap_or_default(), fault.last.map(|day| day.to_string()));
        format!("{model}; {}; {}; {}; {}", fault.item, fault.machines, fault.named, last.unwrap_or_default())
    };
    yard(given).faults.into_iter().map(line).collect()
}

#[test]
fn a_check_that_fails_on_one_model_is_counted_by_machine_however_it_is_written() {
    let given = vec![
        of("AB75 CDE", "Spruce 125").check("2026-02-01", "Chain", Failed, "Ann").check(
            "2026-02-02",
            "Chain",
            Passed,
            "Ann",
        ),
        // Twice on one machine is one machine.
        of("AB75 CDF", "spruce 125").check("2026-02-03", "chain", Failed, "Ann").check(
            "2026-02-10",
            "CHAIN",
            Failed,
            "Ann",
        ),
        of("AB75 CDG", "Ridge 400").check("2026-02-04", "chain", Failed, "Ann"),
        of("AB75 CDH", "").check("", "chain", Failed, "Ann"),
        of("AB75 CDJ", "Spruce 125").check("2026-02-05", "lights", Failed, "Ann"),
    ];
    assert_eq!(
        faults(given),
        [
            "; chain; 1; AB75 CDH; ",
            "Ridge 400; chain; 1; AB75 CDG; 2026-02-04",
            "Spruce 125; Chain; 2; AB75 CDE, AB75 CDF; 2026-02-10",
            "Spruce 125; lights; 1; AB75 CDJ; 2026-02-05",
        ]
    );
}

#[test]
fn what_failed_more_than_a_year_ago_or_is_still_to_come_is_no_fault() {
    let on = |day: &str| faults(vec![of("AB75 CDE", "Spruce").check(day, "chain", Failed, "Ann")]).len();
    // 365 days before 2 March 2026 is 2 March 2025.
    assert_eq!([on("2025-03-02"), on("2025-03-01"), on("2026-03-02"), on("2026-03-03")], [1, 0, 1, 0]);
}

#[test]
fn of_many_machines_eight_are_named() {
    let given = (0..10).map(|number| {
        of(&format!("AB75 CD{}", char::from(b'E' + number)), "Spruce").check(
            "2026-02-01",
            "chain",
            Failed,
            "Ann",
        )
    });
    let expected = "Spruce; chain; 10; AB75 CDE, AB75 CDF, AB75 CDG, AB75 CDH, AB75 CDI, AB75 CDJ, AB75 CDK, AB75 CDL, 2 more; 2026-02-01";
    assert_eq!(faults(given.collect()), [expected]);
}

#[test]
fn who_signs_is_counted_over_ninety_days_however_the_name_is_written() {
    let given = vec![
        of("AB75 CDE", "").check("2026-03-02", "chain", Passed, "J. Miller").check(
            "2026-02-01",
            "lights",
            Passed,
            "K. Lane",
        ),
        // 90 days before 2 March 2026 is 2 December 2025.
        of("AB75 CDF", "").check("2025-12-02", "chain", Failed, "j miller").check(
            "2025-12-01",
            "lights",
            Passed,
            "K. Lane",
        ),
        of("AB75 CDG", "")
            .check("2026-03-03", "chain", Passed, "K. Lane")
            .check("", "lights", Passed, "K. Lane"),
        of("AB75 CDH", "").check("2026-02-01", "chain", Passed, ""),
    ];
    let signers: Vec<(String, usize)> =
        yard(given).signers.into_iter().map(|signer| (signer.name, signer.signed)).collect();
    assert_eq!(signers, [("J. Miller".to_owned(), 2), ("K. Lane".to_owned(), 1)]);
}
