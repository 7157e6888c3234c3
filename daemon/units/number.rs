//! Plain numbers as people write them in a sheet, exact to a thousandth.

/// A number in whole thousandths, so that what a sheet says is compared exactly.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Number {
    thousandths: i64,
}

impl Number {
    /// So many thousandths.
    pub const fn of_thousandths(thousandths: i64) -> Number {
        Number { thousandths }
    }

    /// A cell's number, rounded to a thousandth; `None` when it is not finite or beyond 10^12.
    pub fn from_cell(value: f64) -> Option<Number> {
        (value.is_finite() && value.abs() < 1e12)
            .then(|| Number { thousandths: (value * 1000.0).round() as i64 })
    }

    /// The number in thousandths.
    pub const fn thousandths(self) -> i64 {
        self.thousandths
    }

    /// The number in tenths, when it has no finer part.
    pub const fn tenths(self) -> Option<i64> {
        if self.thousandths % 100 == 0 { Some(self.thousandths / 100) } else { None }
    }

    /// The number when it is whole.
    pub const fn whole(self) -> Option<i64> {
        if self.thousandths % 1000 == 0 { Some(self.thousandths / 1000) } else { None }
    }
}
