//! What a job's free text says was done.

use super::super::job_text::says_done;

#[test]
fn a_text_says_done_only_when_nothing_in_it_takes_that_back() {
    let cases = [
        ("First service", true),
        ("FIRST SERVICE + MOT", true),
        ("1.2 l oil, first service, chain adjusted", true),
        ("First service done, brake fluid due in May", true),
        ("first-service carried out, not washed", true),
        ("in for first service", true),
        ("Fi'rst service", true),
        ("café ride, first service", true),
        ("First service completed no faults", true),
        ("no first service yet", false),
        ("oil topped up - no first service", false),
        ("first service due at 500", false),
        ("First service still outstanding", false),
        ("first service to be done", false),
        ("needs first service", false),
        ("customer declined the first service", false),
        ("torque re-check after first service", false),
        ("first service not done", false),
        ("booked in for first service", false),
        ("first service wasn't done", false),
        ("first service can’t be done, no oil", false),
        ("first service will be done in May", false),
        ("customer wants first service", false),
        ("booked in for her first service", false),
        ("first service booked", false),
        ("first service booked in for 3 May", false),
        ("first service cancelled", false),
        ("cancelled first service", false),
        ("first service (cancelled)", false),
        ("first service, booked", false),
        ("booked: first service", false),
        ("first service - no show", false),
        ("no show for the first service", false),
        ("No show: first service", false),
        ("first service: no-show", false),
        ("first service rebooked", false),
        ("first service, booked in for 3 May", false),
        ("First service, declined new tyres", true),
        ("First service\nbooked in for MOT", true),
        ("first service. Booked for MOT", true),
        ("first service, brake fluid due in May", true),
        ("oil, first service, washed", true),
        ("first service DNA", false),
        ("first service (DNA)", false),
        ("first service (did not attend)", false),
        ("customer failed to attend - first service", false),
        ("FTA first service", false),
        ("CNX: first service", false),
        ("first service (quote only)", false),
        ("first service (est. £90)", false),
        ("first service, parts on order", false),
        ("first service - TBC", false),
        ("first service N/C", true),
        ("first service, quoted for new chain", true),
        ("first service done, est. £90 for pads", true),
        ("First service?", false),
        ("why the squeak? First service", true),
        ("first serviceable part", false),
        ("service", false),
        ("", false),
    ];
    for (text, done) in cases {
        assert_eq!(says_done(text, "first service"), done, "{text}");
    }
}

#[test]
fn what_was_half_done_put_off_waiting_or_only_spoken_of_is_not_done() {
    let cases = [
        ("first service n/a", false),
        ("first service half done", false),
        ("first service started", false),
        ("first service incomplete", false),
        ("first service (unfinished)", false),
        ("first service aborted", false),
        ("skipped: first service", false),
        ("first service on hold", false),
        ("first service WIP", false),
        ("first service - waiting for parts", false),
        ("first service parts ordered", false),
        ("first service reqd", false),
        ("first service stopped no oil", false),
        ("first service reminder sent", false),
        ("first service - ring to arrange", false),
        ("first service when back from holiday", false),
        ("discussed first service", false),
        ("customer to do first service himself", false),
        ("puncture; first service in 200 miles", false),
        ("first service price list given", false),
        ("first service in the morning", true),
        ("first service, chain adjusted", true),
        ("first service done in 2 hours", true),
    ];
    for (text, done) in cases {
        assert_eq!(says_done(text, "first service"), done, "{text}");
    }
}
