//! What can no longer be told without a column.

use crate::yard::Field;

/// What nobody can tell any more where no sheet has the field, as a phrase that follows a colon.
pub(super) fn without(field: Field) -> &'static str {
    match field {
        Field::Mark | Field::FrameNumber | Field::StockNumber => {
            "its rows may not be matched with their machines"
        }
        Field::Make | Field::Model | Field::Kind | Field::EngineCc => {
            "it is not known whose page of the handbook counts"
        }
        Field::ClockUnit => "kilometres may be taken for miles",
        Field::Registered => "when the first MOT is due and whether a machine is registered is not known",
        Field::Built | Field::Arrived => "how long a machine has stood is not known",
        Field::Sold | Field::Handover => {
            "which machines are to be ready, and since when services count, is not known"
        }
        Field::Customer | Field::Telephone => "whom to ring is not known",
        Field::FuelAllowed => "wrong fuel is known by the handbook alone",
        Field::OilAsked => "wrong oil is known by the handbook alone",
        Field::MotExpiry | Field::MotTested => "when an MOT runs out is not known",
        Field::WarrantyEnd => "when a warranty ends is not known",
        Field::Note => "what is noted there is not told",
        Field::Clock | Field::ClockDay => "the newest readings are missing, and services may be told late",
        Field::FirstServiceDay | Field::FirstServiceClock => {
            "a first service that was done may be called due"
        }
        Field::LastServiceDay
        | Field::LastServiceClock
        | Field::LastServiceDone
        | Field::LastServiceOil
        | Field::AnnualServiceDay
        | Field::AnnualServiceClock
        | Field::AnnualServiceOil => "a service that was done may be called due",
        Field::BrakeFluidDay => "brake fluid that was changed may be called old",
        Field::InspectionResult | Field::InspectionDay | Field::InspectionBy => {
            "a new inspection does not count, and its machine stays in the yard"
        }
        Field::QualityResult | Field::QualityDay | Field::QualityBy => {
            "a new quality check does not count, and its machine stays in the yard"
        }
        Field::FirstRideDay
        | Field::FirstRideDistance
        | Field::FirstRideSpeed
        | Field::SecondRideDay
        | Field::SecondRideDistance
        | Field::SecondRideSpeed => "a new road test does not count, and its machine stays in the yard",
        Field::LastFillDay | Field::LastFillGrade | Field::Grade => "wrong fuel in a new fill is not seen",
        Field::Day => "when what its rows tell was is not known",
        Field::Done => "what was done is not known",
        Field::Outcome => "a job that was not done may count as done",
        Field::OilUsed => "wrong oil in a new job is not seen",
        Field::By => "who did it is not known",
        Field::Item | Field::Result | Field::CheckItem => {
            "a new check does not count, and its machine stays in the yard"
        }
        Field::Distance => "how far new rides went is not known",
        Field::TopSpeed | Field::SpeedSource => "running-in broken on new rides is not seen",
        Field::Volume | Field::Full => "consumption of new fills is not known",
    }
}
