//! What sort of thing a value in a rule is; the checker reasons in these before any rule runs.

/// Which of a machine's things a rule holds in its hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Kind {
    /// The machine itself.
    Machine,
    /// One item of its service plan.
    Service,
    /// One ride.
    Ride,
    /// One fuel fill.
    Fill,
    /// The oil of one job.
    Oil,
    /// One doubtful reading.
    Doubt,
    /// The whole yard.
    Yard,
    /// One check that failed on machines of one model.
    Fault,
    /// One machine that is gone from the sheets.
    Absentee,
    /// Somebody who signs checks.
    Signer,
    /// One sheet that was read.
    Sheet,
}

impl Kind {
    /// All kinds, in the order of the reference.
    pub(super) const ALL: [Kind; 11] = [
        Kind::Machine,
        Kind::Service,
        Kind::Ride,
        Kind::Fill,
        Kind::Oil,
        Kind::Doubt,
        Kind::Yard,
        Kind::Fault,
        Kind::Absentee,
        Kind::Signer,
        Kind::Sheet,
    ];

    /// The kind with its article, for messages: `a service`.
    pub(super) fn with_article(self) -> &'static str {
        match self {
            Kind::Machine => "a machine",
            Kind::Service => "a service",
            Kind::Ride => "a ride",
            Kind::Fill => "a fill",
            Kind::Oil => "an oil",
            Kind::Doubt => "a doubt",
            Kind::Yard => "a yard",
            Kind::Fault => "a fault",
            Kind::Absentee => "an absentee",
            Kind::Signer => "a signer",
            Kind::Sheet => "a sheet",
        }
    }

    /// Whether an empty list of them is an answer: that nothing is in doubt, at fault or gone.
    pub(super) fn none_is_an_answer(self) -> bool {
        matches!(self, Kind::Doubt | Kind::Fault | Kind::Absentee)
    }

    /// The kind that a word is the name of.
    pub(super) fn named(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|kind| kind.word() == word)
    }

    /// The word by itself, as a rule's second parameter is named.
    pub(super) fn word(self) -> &'static str {
        self.with_article().split(' ').next_back().unwrap_or_default()
    }
}

/// What sort of thing a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sort {
    /// No value: what a `let` or an `if` without `else` leaves behind.
    Nothing,
    /// The function has already answered.
    Gone,
    /// Not known before the rule runs; the running rule is checked instead.
    Unknown,
    /// `true` or `false`.
    YesNo,
    /// A whole number.
    Whole,
    /// A number with decimals.
    Decimal,
    /// A text.
    Text,
    /// A text that can only be one of these words.
    OneOf(&'static [&'static str]),
    /// A day of the calendar.
    Day,
    /// A count of days.
    Days,
    /// A count of months.
    Months,
    /// A distance.
    Distance,
    /// A speed.
    Speed,
    /// A volume.
    Volume,
    /// One of the machine's things.
    Thing(Kind),
    /// The view `machine.has`.
    Has(Kind),
    /// The view `machine.maybe`.
    Maybe(Kind),
    /// What a `maybe` gives: a plain value of this sort, or nothing.
    Perhaps(&'static Sort),
    /// A list of the machine's things.
    List(Kind),
    /// Another list, as examples are written in.
    Rows,
    /// A `#{ ... }`, as examples are written in.
    Map,
    /// A rule's answer.
    Answer,
    /// An answer in one branch of an `if`, and nothing in the other.
    Sometimes,
    /// One sort of value in one branch of an `if`, and another in the other.
    Mixed,
    /// An example.
    Example,
}

impl Sort {
    /// The sort in words: `a distance`.
    pub(super) fn words(self) -> String {
        match self {
            Sort::Nothing | Sort::Gone => "nothing",
            Sort::Unknown => "a value",
            Sort::YesNo => "yes or no",
            Sort::Whole | Sort::Decimal => "a plain number",
            Sort::Text | Sort::OneOf(_) => "a text",
            Sort::Day => "a day",
            Sort::Days => "a count of days",
            Sort::Months => "a count of months",
            Sort::Distance => "a distance",
            Sort::Speed => "a speed",
            Sort::Volume => "a volume",
            Sort::Thing(kind) => kind.with_article(),
            Sort::Has(_) => "`has` alone",
            Sort::Maybe(_) => "`maybe` alone",
            Sort::Perhaps(inner) => return format!("{} that may be missing", inner.words()),
            Sort::List(kind) => return format!("a list of {}s", kind.word()),
            Sort::Rows => "a list",
            Sort::Map => "a list of names and values",
            Sort::Answer => "an answer",
            Sort::Sometimes => "an answer in one case only",
            Sort::Mixed => "one sort of value in one case and another in another",
            Sort::Example => "an example",
        }
        .to_owned()
    }

    /// A unit in which this sort is written, for help.
    pub(super) fn unit(self) -> Option<&'static str> {
        match self {
            Sort::Days => Some("days"),
            Sort::Months => Some("months"),
            Sort::Distance => Some("miles"),
            Sort::Speed => Some("mph"),
            Sort::Volume => Some("litres"),
            _ => None,
        }
    }

    /// Whether it is a plain number.
    pub(super) fn is_number(self) -> bool {
        matches!(self, Sort::Whole | Sort::Decimal)
    }

    /// Whether it is a text of either sort.
    pub(super) fn is_text(self) -> bool {
        matches!(self, Sort::Text | Sort::OneOf(_))
    }

    /// Whether nothing more need be said of it: unknown, or already reported.
    pub(super) fn is_open(self) -> bool {
        matches!(self, Sort::Unknown | Sort::Gone)
    }

    /// The sort of a value that comes from one of two branches.
    pub(super) fn or(self, other: Sort) -> Sort {
        match (self, other) {
            (one, other) if one == other => one,
            (Sort::Gone, sort) | (sort, Sort::Gone) => sort,
            (Sort::Unknown, _) | (_, Sort::Unknown) => Sort::Unknown,
            (
                Sort::Answer | Sort::Nothing | Sort::Sometimes,
                Sort::Answer | Sort::Nothing | Sort::Sometimes,
            ) => Sort::Sometimes,
            (Sort::Perhaps(inner), sort) | (sort, Sort::Perhaps(inner)) if sort.fits(*inner) => {
                Sort::Perhaps(inner)
            }
            (one, other) if one.is_text() && other.is_text() => Sort::Text,
            (one, other) if one.is_number() && other.is_number() => Sort::Decimal,
            _ => Sort::Mixed,
        }
    }

    /// Whether a value of this sort may stand where the other is asked.
    pub(super) fn fits(self, asked: Sort) -> bool {
        self == asked
            || self.is_open()
            || asked == Sort::Unknown
            || (self.is_text() && asked.is_text())
            || (self.is_number() && asked.is_number())
    }
}
