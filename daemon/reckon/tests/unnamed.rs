//! Services of which nobody wrote which they were. Common practice, no source.

use super::{Given, day, told};

#[test]
fn what_a_row_calls_its_last_service_is_the_first_one_where_both_have_one_day() {
    let given = Given::on("2026-10-14").handover("2025-10-15").plan("first service", (500, 2), (0, 0));
    let given = given.plan("annual service", (4000, 12), (4000, 12)).job("2025-11-20", "first service", 510);
    assert!(given.job("2025-11-20", "service", 510).stand().otherwise.is_none());
}

#[test]
fn a_service_without_a_name_that_is_not_the_first_was_the_only_one_that_comes_again() {
    let given = |on: &str| {
        let given = Given::on("2026-10-15").plan("first service", (500, 2), (0, 0));
        given
            .plan("annual service", (4000, 12), (4000, 12))
            .job("2025-10-09", "service", 2000)
            .job(on, "service", 5000)
    };
    let annual = |given: &Given| given.stand().services.unwrap()[1].clone();
    assert_eq!(annual(&given("2026-10-13")).last_done, Some(day("2026-10-13")));
    assert!(
        given("2026-10-13")
            .stand()
            .otherwise
            .is_some_and(|it| told(&it.standing.services.as_ref().unwrap()[1].due) == Ok(false))
    );
    // Two entries of one visit.
    assert_eq!(annual(&given("2025-10-10")).last_done, None);
    // Another one may have been meant.
    let two = given("2026-10-13").plan("major service", (12_000, 36), (12_000, 36));
    assert_eq!(annual(&two).last_done, None);
}
