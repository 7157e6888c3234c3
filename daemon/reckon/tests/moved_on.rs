//! What is said right beside a job's name that moves it to another day, leaves it as it was or only enters it.
//! Made up as a small shop writes; common practice, no source.

use super::super::changed::said_changed;
use super::super::job_text::{Said, said};
use super::super::short_words::in_full;

fn of_service(text: &str) -> Said {
    said(&in_full(text), "annual service")
}

fn of_fluid(text: &str) -> Said {
    said_changed(&in_full(text), "brake fluid")
}

#[test]
fn work_that_was_moved_or_left_as_it_was_is_not_done() {
    for said in [
        "service: N",
        "service - N",
        "service N",
        "service (N)",
        "service [N]",
        "service = N",
        "service / N",
        "service: No",
        "service: none",
        "service - nil",
        "service (0)",
        "service: 0",
        "service x0",
        "service qty 0",
        "service NULL",
        "service: FALSE",
        "service c/f",
        "service - c/f",
        "service carried over",
        "service carried forward",
        "service - carried over to next week",
        "service carry over",
        "service cfwd",
        "service rolled over",
        "service put back to next week",
        "service pushed back a week",
        "service moved to 12/3",
        "service - moved to 12/3",
        "service moved to Thursday",
        "service slipped to Monday",
        "service bumped to 14th",
        "service (see next month)",
        "service, see next month",
        "service → 12/3",
        "service -> 12/3",
        "service => 12/3",
        "service --> Mon",
        "service w/c 16th",
        "service wk commencing 16/3",
        "service on the list",
        "service in queue",
        "service - on backlog",
        "service - diary",
    ] {
        assert_eq!(of_service(&format!("Annual {said}")), Said::Not, "{said}");
        let fluid = said.replacen("service", "Brake fluid", 1);
        assert_eq!(of_fluid(&fluid), Said::Not, "{fluid}");
    }
    for text in [
        "c/f: annual service",
        "Backlog: annual service",
        "carried forward: annual service",
        "Carry over annual service",
        "Moved annual service to April",
    ] {
        assert_eq!(of_service(text), Said::Not, "{text}");
    }
}

#[test]
fn what_speaks_of_the_entry_alone_leaves_open_whether_the_work_was_done() {
    for said in [
        "service b/f",
        "service, b/f",
        "service email sent",
        "service - email sent",
        "service text sent",
        "service - left msg",
        "service letter sent",
        "service credited",
        "service - credited back",
        "service written off",
        "service - error",
        "service (entered in error)",
        "service (duplicate)",
        "service - test entry",
        "service - wrong bike",
        "service - ran out of time",
        "service - short of oil filter",
        "service - no keys",
        "service transferred to other branch",
        "service, none",
    ] {
        assert_eq!(of_service(&format!("Annual {said}")), Said::Unclear, "{said}");
    }
    for text in [
        "CREDIT: annual service",
        "Credit annual service",
        "Credited: annual service",
        "NULL annual service",
        "b/f annual service",
        "Wrong bike - annual service",
        "Brought forward: annual service",
    ] {
        assert_eq!(of_service(text), Said::Unclear, "{text}");
    }
    for text in
        ["Brake fluid change - refund", "CREDIT: brake fluid change", "Brake fluid change - email sent"]
    {
        assert_eq!(of_fluid(text), Said::Unclear, "{text}");
    }
}

#[test]
fn what_is_said_of_another_thing_takes_no_work_back() {
    for text in [
        "Annual service: Y",
        "Annual service - Y",
        "Annual service x1",
        "Annual service (1)",
        "Annual service Y, brake fluid N",
        "Annual service; brake fluid: N",
        "Brake fluid N, annual service Y",
        "Annual service, brake fluid c/f",
        "Annual service, brake fluid carried over",
        "Annual service (brake fluid moved to 12/3)",
        "Annual service, MOT moved to 12/3",
        "Annual service, tyres c/f",
        "Annual service, pads carried over to next month",
        "Annual service, brake fluid - see next month",
        "Annual service, leaks: none",
        "Annual service, faults: 0",
        "Annual service, 0 advisories",
        "Annual service (0 advisories)",
        "Annual service, warning lights: nil",
        "Annual service, faults found: N",
        "Annual service, N/S mirror replaced",
        "Annual service n/s indicator replaced",
        "Annual service N/C",
        "Annual service: 0.5 l oil, filter",
        "Annual service carried out",
        "Annual service carried out at 12,000",
        "Annual service, carried out road test",
        "Annual service done, text sent",
        "Annual service. Email sent",
        "Annual service, text sent ready to collect",
        "Annual service, text sent, paid",
        "Annual service, left msg",
        "Annual service, left message, collected Fri",
        "Annual service, ran out of time for wash",
        "Annual service, see next page",
        "Annual service, invoice emailed",
        "Annual service, email sent to customer when ready",
        "Annual service, seat moved to rear position",
        "Annual service, courtesy bike moved out",
        "Annual service, moved to showroom",
        "Annual service -> all ok",
        "Annual service → done",
        "Annual service, error code P0300 cleared",
        "Annual service, credit to account",
        "Annual service, paid by credit card",
        "Annual service, wrong bulb in tail light replaced",
        "Annual service, put back together",
        "Annual service, see notes",
        "Annual service (see job card)",
    ] {
        assert_eq!(of_service(text), Said::Done, "{text}");
    }
    for text in [
        "Brake fluid: Y",
        "Brake fluid changed, pads c/f",
        "Brake fluid change, MOT moved to 12/3",
        "Brake fluid change, annual service c/f",
        "Brake fluid changed, annual service moved to 12/3",
        "Brake fluid changed, faults: 0",
        "Brake fluid flush done, email sent",
        "Brake fluid → changed",
    ] {
        assert_eq!(of_fluid(text), Said::Done, "{text}");
    }
}

#[test]
fn a_price_of_nought_beside_a_job_takes_no_work_back() {
    for text in [
        "Annual service £0",
        "Annual service £0.00",
        "Annual service - £0",
        "Annual service (£0.00)",
        "Annual service, £ 0",
        "Annual service: £0, chain adjusted",
        "Annual service FOC",
        "Annual service (FOC)",
        "Annual service - F.O.C.",
        "Annual service 0 charge",
        "Annual service, 0 charge",
        "Annual service zero charge",
        "Annual service no charge",
    ] {
        assert_eq!(of_service(text), Said::Done, "{text}");
    }
}

#[test]
fn a_cell_that_is_full_of_arrows_is_read_like_any_other() {
    let text = format!("Annual service {} 12/3", ">".repeat(32_000));
    assert_ne!(of_service(&text), Said::Done);
}
