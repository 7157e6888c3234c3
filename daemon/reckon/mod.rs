//! The sums: calendar, service plan, usage and projection, running-in, fuel, oil, before handover, MOT, marks, the shop's
//! days.
//! Pure: the day comes in as a parameter, and a sum that lacks a fact says which.

mod another_thing;
mod bank_holidays;
mod changed;
mod checks;
mod clock;
mod consumption;
mod covered;
mod customer;
mod days_ahead;
mod denied;
mod done_cell;
mod doubled;
mod doubts;
mod due_window;
mod frame_number;
mod fuel;
mod handover;
mod history;
mod identity_notes;
mod job_text;
mod laid_up;
mod marks;
mod mot;
mod moved_on;
mod oil;
mod oil_text;
mod projection;
mod put_off;
mod ride_clock;
mod row_days;
mod running_in;
mod running_in_oil;
mod service;
mod service_words;
mod shop_days;
mod short_words;
mod slip;
mod speedometer;
mod stages;
mod standing;
mod strokes_and_dots;
mod subject;
#[cfg(test)]
mod tests;
mod theil_sen;
mod torque;
mod unnamed;
mod usage;
mod whichever_first;
mod whole_yard;
mod works;

use std::sync::Arc;

use jiff::civil::Date;

pub use bank_holidays::bank_holidays;
pub use done_cell::day_last_done;
pub use handover::{keeps, not_kept};
pub use shop_days::{is_open, next_open, open_days_between};
pub use standing::{
    BeforeHandover, Clock, Doubt, DueWindow, Exempt, Fact, FillJudged, FuelAnswer, Missing, Mot, Note,
    OilAnswer, OilJudged, OpenCheck, Otherwise, Reckoned, Registration, RideAnswer, RideJudged, RunningIn,
    Service, Standing, Stands, Torque, Usage,
};
pub use whole_yard::{Absentee, Fault, SheetOfYard, Signer, WholeYard, stand_yard};

use crate::settings::Practice;
use crate::yard::Machine;

/// How a machine stands on a day: every sum that a rule may ask for.
pub fn stand(machine: &Machine, practice: &Practice, today: Date) -> Standing {
    let subject = subject::Subject::new(machine, practice, today);
    let plan = service::plan(&subject);
    let standing = Standing {
        today,
        clock: subject.clock.clone(),
        clock_unread: subject.clock_unread(),
        clock_today: projection::clock_today(&subject),
        usage: subject.usage.clone(),
        services: plan.services,
        otherwise: None,
        running_in: running_in::running_in(&subject),
        fills: fuel::fills(&subject),
        oils: oil::oils(&subject),
        customer_since: customer::customer_since(&subject),
        with_customer: customer::with_customer(&subject),
        new_at_handover: customer::new_at_handover(&subject),
        before_handover: handover::before_handover(&subject),
        registration: handover::registration(&subject),
        torque: torque::torque(&subject),
        running_in_oil_out: running_in_oil::running_in_oil_out(&subject),
        stands: laid_up::stands(&subject),
        mot: mot::mot(&subject),
        row_notes: row_days::row_notes(&subject),
        identity_notes: identity_notes::identity_notes(&subject),
        doubts: doubts::all(&subject),
    };
    let otherwise = plan.otherwise.map(|(services, hangs_on)| Otherwise {
        standing: Arc::new(Standing { services: Ok(services), ..standing.clone() }),
        hangs_on,
    });
    Standing { otherwise, ..standing }
}
