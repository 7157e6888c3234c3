//! Several rows about one machine become one; where they differ the later one counts, and that is told.

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::resale;
use crate::origin::{Entry, Origin};
use crate::problem::Problem;
use crate::units::DistanceUnit;
use crate::yard::handbook::same_name;
use crate::yard::{EthanolLabel, FrameNumber, Identity, MachineKind, MachineRow, Mark, StockNumber};

/// A value that two rows may give differently.
trait Told {
    /// Whether both say the same in a person's eyes.
    fn says_as(&self, other: &Self) -> bool;
    /// Ready to print.
    fn shown(&self) -> String;
}

impl Told for String {
    /// Case and blanks do not count.
    fn says_as(&self, other: &String) -> bool {
        same_name(self, other)
    }
    fn shown(&self) -> String {
        self.clone()
    }
}

/// Values that are the same exactly when they are equal.
macro_rules! told {
    ($($kind:ty: $shown:expr;)*) => {$(
        impl Told for $kind {
            fn says_as(&self, other: &$kind) -> bool {
                self == other
            }
            fn shown(&self) -> String {
                let shown: fn(&$kind) -> String = $shown;
                shown(self)
            }
        }
    )*};
}

told! {
    Date: |day| day.to_string();
    u32: |number| number.to_string();
    Mark: |mark| mark.to_string();
    FrameNumber: |frame_no| frame_no.to_string();
    StockNumber: |stock_no| stock_no.to_string();
    MachineKind: |kind| kind.name().to_owned();
    EthanolLabel: |label| label.name().to_owned();
    DistanceUnit: |unit| unit.plural().to_owned();
}

/// A field that two rows give differently: the cell that counts with its value, and the one that does not.
struct Difference {
    counts: (Origin, String),
    beaten: (Origin, String),
}

/// One machine's rows as one. The rows come in the order of their cells; the last value of a field counts, but that of a
/// machine which was sold again the row of its newest owner does.
pub(super) fn merged(
    mut rows: Vec<(Identity, MachineRow)>,
    problems: &mut Vec<Problem>,
) -> (Identity, MachineRow) {
    problems.extend(resale::settle(&mut rows));
    let mut differences = BTreeMap::new();
    let mut rows = rows.into_iter();
    let (mut identity, mut row) = rows.next().unwrap_or_default();
    for (later_identity, later) in rows {
        settle("mark", &mut identity.mark, later_identity.mark, &mut differences);
        settle("frame number", &mut identity.frame_no, later_identity.frame_no, &mut differences);
        settle("stock number", &mut identity.stock_no, later_identity.stock_no, &mut differences);
        settle_row(&mut row, later, &mut differences);
    }
    for (field, Difference { counts, beaten }) in differences {
        let what = format!("two rows about {} give different values for the {field}", identity.shown());
        let help = format!("This one counts; {} says `{}`. Correct the wrong one.", beaten.0, beaten.1);
        problems.push(Problem::note(&counts.0, what, help).with_value(counts.1));
    }
    (identity, row)
}

fn settle_row(row: &mut MachineRow, later: MachineRow, differences: &mut BTreeMap<&'static str, Difference>) {
    settle("make", &mut row.make, later.make, differences);
    settle("model", &mut row.model, later.model, differences);
    settle("kind", &mut row.kind, later.kind, differences);
    settle("engine cc", &mut row.engine_cc, later.engine_cc, differences);
    settle("clock unit", &mut row.clock_unit, later.clock_unit, differences);
    settle("registration day", &mut row.registered, later.registered, differences);
    settle("day it was built", &mut row.built, later.built, differences);
    settle("day it arrived", &mut row.arrived, later.arrived, differences);
    settle("day it was sold", &mut row.sold, later.sold, differences);
    settle("handover", &mut row.handover, later.handover, differences);
    settle("customer", &mut row.customer, later.customer, differences);
    settle("telephone number", &mut row.telephone, later.telephone, differences);
    settle("fuel allowed", &mut row.fuel_allowed, later.fuel_allowed, differences);
    settle("oil asked", &mut row.oil_asked, later.oil_asked, differences);
    settle("MOT expiry", &mut row.mot_expiry, later.mot_expiry, differences);
    row.mot_exempt = later.mot_exempt.or(row.mot_exempt.take());
    settle("warranty end", &mut row.warranty_end, later.warranty_end, differences);
    // Notes of two sheets are two notes; nobody needs to be told that they differ.
    if later.note.is_some() {
        row.note = later.note;
    }
    row.unread.extend(later.unread);
    // The cell itself is complained of.
    if later.clock_unread.is_some() {
        row.clock_unread = later.clock_unread;
    }
}

/// Lets the later value of a field count, and remembers where it differs from the one before.
fn settle<T: Told>(
    field: &'static str,
    counts: &mut Option<Entry<T>>,
    later: Option<Entry<T>>,
    differences: &mut BTreeMap<&'static str, Difference>,
) {
    let Some(later) = later else { return };
    if let Some(earlier) = counts.take().filter(|earlier| !earlier.value.says_as(&later.value)) {
        let difference = Difference {
            counts: (later.origin.clone(), later.value.shown()),
            beaten: (earlier.origin, earlier.value.shown()),
        };
        differences.insert(field, difference);
    }
    *counts = Some(later);
}
