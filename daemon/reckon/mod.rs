//! The sums: calendar, service plan, usage and projection, running-in, fuel, oil, before handover, MOT, marks.
//! Pure: the day comes in as a parameter, and a sum that lacks a fact says which.

mod standing;

pub use standing::{
    BeforeHandover, Clock, Doubt, DueWindow, Fact, FillJudged, FuelAnswer, Missing, Mot, OilAnswer,
    OilJudged, OpenCheck, Reckoned, RideAnswer, RideJudged, RunningIn, Service, Standing, Usage,
};
