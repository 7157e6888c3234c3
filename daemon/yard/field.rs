//! The fields that a column can be, what their values look like, and which rows have them.

use super::recognise::spellings;

/// What the rows of a sheet are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum RecordKind {
    /// One row a machine, perhaps with its last service, checks and rides beside it.
    Machine,
    /// One row an odometer reading.
    Reading,
    /// One row a finished job.
    Job,
    /// One row an inspection item, or one row a machine with a column for each item.
    Check,
    /// One row a road test or trip.
    Ride,
    /// One row a fuel fill.
    Fill,
}

impl RecordKind {
    /// Every kind, in the order in which a tie is decided.
    pub const ALL: [RecordKind; 6] = [
        RecordKind::Machine,
        RecordKind::Reading,
        RecordKind::Job,
        RecordKind::Check,
        RecordKind::Ride,
        RecordKind::Fill,
    ];

    /// The word for it in `tickover.toml`.
    pub fn name(self) -> &'static str {
        match self {
            RecordKind::Machine => "machine",
            RecordKind::Reading => "reading",
            RecordKind::Job => "job",
            RecordKind::Check => "check",
            RecordKind::Ride => "ride",
            RecordKind::Fill => "fill",
        }
    }

    /// The kind that a word in `tickover.toml` names; `None` for any other word.
    pub fn named(word: &str) -> Option<RecordKind> {
        let word = word.trim();
        RecordKind::ALL.into_iter().find(|kind| kind.name().eq_ignore_ascii_case(word))
    }
}

/// What the values of a field look like, which a column must bear out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum Shape {
    Mark,
    Frame,
    Stock,
    Telephone,
    Kind,
    Cc,
    Unit,
    Label,
    /// What a pump gives, as a label or in words: `E10`, `super unleaded`.
    Grade,
    Source,
    Day,
    Distance,
    Speed,
    Volume,
    Flag,
    Result,
    /// Whether a job was done, or a sale went through.
    Outcome,
    /// A day, or a word that says whether it was done.
    DayOrFlag,
    /// Words, which figures and dates are not: a name, a make.
    Words,
    /// Anything that can be written.
    Anything,
}

impl Shape {
    /// How many shapes there are.
    pub(super) const COUNT: usize = Shape::Anything as usize + 1;
}

/// Makes the enum of fields with each one's name in `tickover.toml` and the shape of its values.
macro_rules! fields {
    ($($(#[doc = $doc:literal])+ $field:ident = $name:literal, $shape:ident;)+) => {
        /// What a column can be.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Field {
            $($(#[doc = $doc])+ $field,)+
        }

        impl Field {
            /// Every field.
            pub const ALL: &[Field] = &[$(Field::$field,)+];

            /// Its name in `tickover.toml`.
            pub fn name(self) -> &'static str {
                match self { $(Field::$field => $name,)+ }
            }

            /// What its values look like.
            pub(super) fn shape(self) -> Shape {
                match self { $(Field::$field => Shape::$shape,)+ }
            }
        }
    };
}

fields! {
    /// The registration mark.
    Mark = "mark", Mark;
    /// The frame number (VIN).
    FrameNumber = "frame number", Frame;
    /// The shop's own stock number.
    StockNumber = "stock number", Stock;
    /// The maker.
    Make = "make", Words;
    /// The model.
    Model = "model", Anything;
    /// Motorcycle, moped, scooter, three-wheeler or car.
    Kind = "kind", Kind;
    /// The engine's size in cubic centimetres.
    EngineCc = "engine cc", Cc;
    /// The unit that its clock counts in.
    ClockUnit = "clock unit", Unit;
    /// The day of first registration.
    Registered = "registered", Day;
    /// The day it was made.
    Built = "built", Day;
    /// The day it came into the shop.
    Arrived = "arrived", Day;
    /// The day it was sold.
    Sold = "sold", Day;
    /// The day it was or will be handed over.
    Handover = "handover", Day;
    /// The customer's name.
    Customer = "customer", Words;
    /// The customer's telephone number.
    Telephone = "telephone", Telephone;
    /// The highest ethanol label it may be filled with.
    FuelAllowed = "fuel allowed", Label;
    /// The oil it asks for.
    OilAsked = "oil asked", Words;
    /// The last day of its MOT certificate.
    MotExpiry = "mot expiry", Day;
    /// The day of its last MOT test.
    MotTested = "mot test day", Day;
    /// The last day of its warranty.
    WarrantyEnd = "warranty end", Day;
    /// What somebody noted.
    Note = "note", Anything;
    /// What the clock (the odometer) showed.
    Clock = "clock", Distance;
    /// The day on which the clock of a machine's row was read.
    ClockDay = "clock day", Day;
    /// The day of the first service, or whether it was done.
    FirstServiceDay = "first service day", DayOrFlag;
    /// The clock at the first service.
    FirstServiceClock = "first service clock", Distance;
    /// The day of the last service.
    LastServiceDay = "last service day", DayOrFlag;
    /// The clock at the last service.
    LastServiceClock = "last service clock", Distance;
    /// What was done at the last service.
    LastServiceDone = "last service", Words;
    /// The oil that went in at the last service.
    LastServiceOil = "last service oil", Words;
    /// The day of the last annual service, or whether it was done.
    AnnualServiceDay = "annual service day", DayOrFlag;
    /// The clock at the last annual service.
    AnnualServiceClock = "annual service clock", Distance;
    /// The oil that went in at the last annual service.
    AnnualServiceOil = "annual service oil", Words;
    /// The day on which the brake fluid was changed.
    BrakeFluidDay = "brake fluid day", Day;
    /// How the pre-delivery inspection came out.
    InspectionResult = "pre-delivery inspection", Result;
    /// The day of the pre-delivery inspection.
    InspectionDay = "pre-delivery inspection day", Day;
    /// Who did the pre-delivery inspection.
    InspectionBy = "pre-delivery inspection by", Words;
    /// How the quality check came out.
    QualityResult = "quality check", Result;
    /// The day of the quality check.
    QualityDay = "quality check day", Day;
    /// Who did the quality check.
    QualityBy = "quality check by", Words;
    /// The day of the first road test.
    FirstRideDay = "first ride day", Day;
    /// The length of the first road test.
    FirstRideDistance = "first ride distance", Distance;
    /// The top speed of the first road test.
    FirstRideSpeed = "first ride top speed", Speed;
    /// The day of the second road test.
    SecondRideDay = "second ride day", Day;
    /// The length of the second road test.
    SecondRideDistance = "second ride distance", Distance;
    /// The top speed of the second road test.
    SecondRideSpeed = "second ride top speed", Speed;
    /// The day of the last fill.
    LastFillDay = "last fill day", Day;
    /// The grade of the last fill.
    LastFillGrade = "last fill grade", Grade;
    /// The day of a log's row.
    Day = "day", Day;
    /// What a job did.
    Done = "done", Words;
    /// Whether a job was done.
    Outcome = "outcome", Outcome;
    /// The oil that went in.
    OilUsed = "oil used", Words;
    /// Who did it.
    By = "by", Words;
    /// Which inspection item.
    Item = "item", Words;
    /// How the item came out.
    Result = "result", Result;
    /// A column whose header is an inspection item and whose cells are results; the only field with many columns.
    CheckItem = "check item", Result;
    /// How far a ride went.
    Distance = "distance", Distance;
    /// The highest speed of a ride.
    TopSpeed = "top speed", Speed;
    /// What that speed was read from.
    SpeedSource = "speed source", Source;
    /// How much fuel went in.
    Volume = "litres", Volume;
    /// The grade on the pump.
    Grade = "grade", Grade;
    /// Whether the tank was full afterwards.
    Full = "full", Flag;
}

impl Field {
    /// How many fields there are.
    pub(super) const COUNT: usize = Field::ALL.len();

    /// The field of that name which rows of that kind can have; `None` for any other name.
    pub fn named(name: &str, kind: RecordKind) -> Option<Field> {
        Field::of(kind).find(|field| field.name().eq_ignore_ascii_case(name.trim()))
    }

    /// The fields that rows of a kind can have.
    pub fn of(kind: RecordKind) -> impl Iterator<Item = Field> {
        Field::ALL.iter().copied().filter(move |field| spellings::has(kind, *field))
    }

    /// Of a value on a machine's row what it tells of, together with the others of the same: a reading, a service, a ride.
    pub fn event(self) -> Option<&'static str> {
        Some(match self {
            Field::Clock | Field::ClockDay => "reading",
            Field::FirstServiceDay | Field::FirstServiceClock => "first service",
            Field::LastServiceDay
            | Field::LastServiceClock
            | Field::LastServiceDone
            | Field::LastServiceOil => "last service",
            Field::AnnualServiceDay | Field::AnnualServiceClock | Field::AnnualServiceOil => "annual service",
            Field::BrakeFluidDay => "brake fluid",
            Field::InspectionResult | Field::InspectionDay | Field::InspectionBy => "inspection",
            Field::QualityResult | Field::QualityDay | Field::QualityBy => "quality check",
            Field::FirstRideDay | Field::FirstRideDistance | Field::FirstRideSpeed => "first ride",
            Field::SecondRideDay | Field::SecondRideDistance | Field::SecondRideSpeed => "second ride",
            Field::LastFillDay | Field::LastFillGrade => "last fill",
            Field::CheckItem => "check",
            _ => return None,
        })
    }

    /// Whether a sheet may have several columns of it, each of which counts by itself.
    pub fn may_have_many_columns(self) -> bool {
        matches!(self, Field::CheckItem | Field::Telephone | Field::Done)
    }

    /// Whether it tells which machine the row is about.
    pub(super) fn is_identity(self) -> bool {
        matches!(self, Field::Mark | Field::FrameNumber | Field::StockNumber)
    }

    /// Whether it is a day of a machine's own row on which something due hangs: without it a rule finds nothing to say,
    /// and nobody would miss it.
    pub(super) fn is_what_due_hangs_on(self) -> bool {
        matches!(
            self,
            Field::Registered
                | Field::Sold
                | Field::Handover
                | Field::MotExpiry
                | Field::MotTested
                | Field::FirstServiceDay
                | Field::LastServiceDay
                | Field::AnnualServiceDay
                | Field::BrakeFluidDay
        )
    }

    /// Whether it tells of what a shop does before it hands a machine over.
    pub fn is_before_a_handover(self) -> bool {
        self == Field::Sold || self.is_check_before_a_handover()
    }

    /// Whether it is a check or a road test before that, in a column of its own.
    pub fn is_check_before_a_handover(self) -> bool {
        matches!(
            self,
            Field::InspectionResult
                | Field::InspectionDay
                | Field::QualityResult
                | Field::QualityDay
                | Field::FirstRideDay
                | Field::FirstRideDistance
                | Field::SecondRideDay
                | Field::SecondRideDistance
        )
    }

    /// Whether it says what the machine is. Logs repeat it in their rows, where it is not read: a mistyped mark
    /// beside a model would otherwise be one more machine.
    pub(super) fn is_of_the_machine(self) -> bool {
        matches!(self, Field::Make | Field::Model | Field::Kind | Field::EngineCc)
    }
}
