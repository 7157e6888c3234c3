//! Jobs that name an item of the plan and say less of it than that it was done. What workshops write; common practice,
//! no source.

use super::{Given, either_way, lacks};

/// Handed over two years and a week ago, so that a brake fluid and an annual service have come due.
fn given(item: &str, months: i64, done: &str) -> Given {
    let given = Given::on("2026-03-09").registered("2024-03-01").handover("2024-03-02");
    given.plan(item, (0, months), (0, months)).job("2026-02-10", done, -1)
}

fn is_done(item: &str, months: i64, done: &str) -> Result<bool, String> {
    either_way(&given(item, months, done), |service| &service.done)
}

fn cannot_tell(done: &str) -> Result<bool, String> {
    lacks(&format!("what was done at `{done}`"))
}

#[test]
fn a_fluid_that_was_changed_or_stands_bare_among_the_works_done_was_changed() {
    for text in [
        "brake fluid",
        "Brake fluid.",
        "BRAKE FLUID DOT 4",
        "brake fluid front and rear",
        "Front & rear brake fluid",
        "brake fluid changed",
        "brake fluid change",
        "changed brake fluid",
        "brake fluid replaced, level checked",
        "brake fluid renewed",
        "brake fluid flushed and bled",
        "new brake fluid",
        "brake fluid: changed",
        "brake fluid dirty, changed",
        "brake fluid - replaced",
        "2 year brake fluid",
        "annual service and brake fluid",
        "annual service incl. brake fluid",
        "Annual service, brake fluid, MOT",
        "oil + filter, brake fluid, chain adjusted, tyres checked",
        "oil, brake fluid & coolant",
        "brake fluid and coolant changed",
        "replaced pads and brake fluid",
        "brake fluid changed, coolant level checked",
        "tyres checked, brake fluid",
        "front brake fluid changed, rear brake fluid changed",
        "brake fluid done",
        "brake fluid leak fixed. Brake fluid changed.",
        "brake fluid, annual service, tyres checked",
        "brake fluid both ends",
        "Brake fluid 1hr labour",
        "Brake fluid replacement",
        "brake fluid chg",
        "brake fluid chge",
        "brake fluid checked and changed",
        "brake fluid under warranty",
        "brake and clutch fluid changed",
        "replaced brake & clutch fluid",
        "brake/clutch fluid changed",
        "brake fluid - customer waited",
        "brake fluid, customer declined new tyres",
        "brake fluid, awaiting collection",
        "brake fluid - invoice 1042",
    ] {
        assert_eq!(is_done("brake fluid", 24, text), Ok(true), "{text}");
    }
}

#[test]
fn a_fluid_that_was_only_looked_at_topped_up_sold_or_advised_was_not_changed() {
    for text in [
        "brake fluid checked",
        "checked brake fluid",
        "brake fluid level ok",
        "brake fluid, level ok",
        "brake fluid (checked)",
        "brake fluid: ok",
        "brake fluid - ok",
        "brake fluid topped up",
        "topped up brake fluid",
        "brake fluid level low, topped up",
        "brake fluid low",
        "brake fluid dirty",
        "brake fluid inspected",
        "brake fluid tested 3% water",
        "brake fluid leak at front hose",
        "brake fluid leak, hose replaced",
        "advised brake fluid",
        "brake fluid advised",
        "MOT, brake fluid advisory",
        "brake fluid, advisory",
        "brake fluid reservoir cap replaced",
        "replace brake fluid hose",
        "brake fluid sold over the counter",
        "brake fluid spilt, cleaned",
        "change brake fluid next time",
        "brake fluid due",
        "brake fluid?",
        "no brake fluid in stock",
        "customer to change brake fluid",
        "brake fluid to change",
        "brake fluid fail",
        "brake fluid - no",
        "brake fluid: x",
        "brake fluid ✗ to do",
        "Brake fluid - customer declined",
        "Brake fluid - cust declined",
        "Brake fluid – customer declined",
        "Brake fluid: customer declined",
        "Brake fluid (customer declined)",
        "Brake fluid, customer declined",
        "Brake fluid change - customer declined",
        "Brake fluid - customer said no",
        "Brake fluid - customer will come back",
        "Brake fluid - will come back",
        "Brake fluid - owner says next time",
        "Brake fluid - Mrs Lane to decide",
        "Brake fluid - next visit",
        "Brake fluid n/d",
        "Brake fluid (N/D)",
        "Brake fluid - n/a",
        "Brake fluid - leave",
        "Brake fluid - not today",
        "Brake fluid - customer to think about it",
        "brake fluid replacement advised",
        "brake fluid checked and topped up",
        "brake and clutch fluid checked",
    ] {
        assert_eq!(is_done("brake fluid", 24, text), Ok(false), "{text}");
    }
}

#[test]
fn what_may_be_a_change_or_not_cannot_be_told_and_is_quoted() {
    for text in [
        "rear brake fluid only",
        "front brake fluid changed",
        "brake fluid changed front only",
        "brake fluid looks strange",
        "oil, brake fluid, coolant checked",
        "checked oil, brake fluid, tyres",
        "levels: oil, brake fluid",
        "brake fluid and tyres checked",
        "brake fluid checked and changed pads",
        "MOT advisories - brake fluid, tyre",
        "MOT fail: brake fluid",
        "PDI: brake fluid, oil, tyres",
        "brake fluid + chain - next service",
        "brake fluid as new",
        "brake fluid ✗",
        "1x brake fluid DOT4 500ml",
        "brake fluid (front)",
        "brake fluid. Level ok.",
        "Brake fluid - left",
        "Brake fluid - customer will do at home",
        "brake fluid, pads - customer declined",
        "Brake fluid. Customer declined.",
        "brake fluid checked and done",
    ] {
        assert_eq!(is_done("brake fluid", 24, text), cannot_tell(text), "{text}");
        assert_eq!(
            either_way(&given("brake fluid", 24, text), |service| &service.due),
            cannot_tell(text),
            "{text}"
        );
    }
    // A change at that time would be due again by now.
    let long_ago = given("brake fluid", 24, "new chain").job("2024-03-05", "rear brake fluid only", -1);
    assert_eq!(either_way(&long_ago, |service| &service.due), Ok(true));
}

#[test]
fn coolant_and_hoses_are_read_like_brake_fluid_and_what_is_a_check_itself_is_not() {
    for (item, text, expected) in [
        ("coolant", "coolant", Ok(true)),
        ("coolant", "coolant flush", Ok(true)),
        ("coolant", "coolant level checked", Ok(false)),
        ("coolant", "coolant topped up", Ok(false)),
        ("coolant", "coolant hose replaced", Ok(false)),
        ("fuel hoses", "fuel hoses replaced", Ok(true)),
        ("fuel hoses", "fuel hoses inspected, ok", Ok(false)),
        ("valve clearance check", "valve clearance check ok", Ok(true)),
    ] {
        assert_eq!(is_done(item, 24, text), expected, "{item}: {text}");
    }
    let by_distance = Given::on("2026-03-09").handover("2024-03-02").reading("2026-03-01", 7_000);
    let by_distance =
        by_distance.plan("coolant", (6_000, 24), (6_000, 24)).job("2026-02-10", "coolant ok", -1);
    assert_eq!(either_way(&by_distance, |service| &service.done), Ok(false));
}

#[test]
fn a_service_that_was_not_finished_is_not_done() {
    for text in [
        "annual service, not finished",
        "annual service not finished",
        "annual service - not completed, no time",
        "part annual service",
        "half of annual service",
        "half of the annual service",
        "annual service (awaiting parts)",
        "annual service, awaiting parts",
        "annual service void",
        "VOID: annual service",
        "advised annual service",
        "annual service advised",
        "recommended annual service",
        "annual service inspection only",
        "annual service to finish",
        "collect parts for annual service",
        "kit for annual service",
        "annual service kit sold",
        "annual service parts collected",
        "annual service light reset",
        "most of annual service",
        "annual service in progress",
        "annual service ongoing",
        "annual service, to finish tomorrow",
        "annual service, part done",
        "annual service / part",
        "annual service, half done",
        "annual service, stopped: no parts",
        "annual service voucher",
        "left for annual service",
        "price for annual service",
    ] {
        assert_eq!(is_done("annual service", 12, text), Ok(false), "{text}");
        assert_eq!(
            either_way(&given("annual service", 12, text), |service| &service.due),
            Ok(true),
            "{text}"
        );
    }
}

#[test]
fn a_service_that_was_spoken_of_put_off_or_refused_is_not_done() {
    for text in [
        "Annual service (due)",
        "Annual service: due",
        "Next: annual service",
        "Next service: annual",
        "Next time: annual service",
        "Puncture. Annual service in spring",
        "Puncture, annual service soon",
        "annual service, in spring",
        "told about annual service",
        "Chased about annual service",
        "Rang re annual service",
        "Comeback from annual service",
        "Aborted annual service",
        "Part done annual service",
        "Collect for annual service",
        "Deposit for annual service",
        "Deposit paid for annual service",
        "annual service n/d",
        "annual service: customer declined",
        "annual service - customer said no",
        "annual service - customer to think about it",
        "annual service plan",
    ] {
        assert_eq!(is_done("annual service", 12, text), Ok(false), "{text}");
        assert_eq!(
            either_way(&given("annual service", 12, text), |service| &service.due),
            Ok(true),
            "{text}"
        );
    }
}

#[test]
fn a_service_beside_what_else_was_done_or_is_waited_for_is_done() {
    for text in [
        "annual service",
        "annual service 100%",
        "annual service, fitted new parts",
        "parts fitted and annual service",
        "annual service, advised new tyres",
        "annual service, not washed",
        "annual service incl. oil",
        "annual service no charge",
        "annual service invoiced",
        "in for annual service",
        "annual service, part exchange",
        "annual service, no faults",
        "annual service (no charge)",
        "annual service, awaiting collection",
        "annual service awaiting collection",
        "annual service, waiting for customer to collect",
        "annual service, to be collected",
        "annual service parts and labour",
        "annual service parts & labour",
        "Annual service - plan",
        "annual service - deposit paid",
        "annual service - light reset",
        "annual service, awaiting tyre",
        "annual service - invoice 1042",
        "annual service, customer waited",
        "annual service, customer declined new tyres",
        "annual service, next service: May 2027",
        "brake fluid: customer declined, annual service",
        "annual service, due again 2027",
        "annual service - Ann",
    ] {
        assert_eq!(is_done("annual service", 12, text), Ok(true), "{text}");
    }
}

#[test]
fn a_service_without_a_part_of_it_or_on_an_invoice_cannot_be_told() {
    for text in [
        "annual service excl. oil",
        "annual service (excl. oil)",
        "annual service except plugs",
        "annual service (no oil)",
        "annual service invoice",
        "invoice for annual service",
        "annual service 10% discount",
        "annual service 50%",
        "annual service (50 % done)",
        "Rework of annual service",
        "Collected for annual service",
        "annual service in May",
        "annual service, will come back",
        "annual service. Customer declined.",
        "annual service - customer said brakes squeal",
    ] {
        assert_eq!(is_done("annual service", 12, text), cannot_tell(text), "{text}");
        assert_eq!(
            either_way(&given("annual service", 12, text), |service| &service.due),
            cannot_tell(text),
            "{text}"
        );
    }
}

#[test]
fn a_service_that_may_have_been_of_before_is_no_more_than_one_without_a_name() {
    let unnamed = || lacks("what was done at the last service");
    for text in ["last annual service 2024", "Pre annual service check"] {
        assert_eq!(is_done("annual service", 12, text), unnamed(), "{text}");
    }
    // Nor does a service without a name, of however many years, say that the fluid was changed.
    for text in ["2 year service", "service as per book"] {
        assert_eq!(is_done("brake fluid", 24, text), unnamed(), "{text}");
    }
    assert_eq!(is_done("clutch fluid", 24, "brake and clutch fluid changed"), Ok(true));
    assert_eq!(is_done("clutch fluid", 24, "clutch and brake fluid checked"), Ok(false));
}
