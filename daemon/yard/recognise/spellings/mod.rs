//! The headers that shops write, field by field; the same words mean different things in different logs.
//!
//! Common practice, no source. Blanks, dots and case are ignored, and `header` brings the usual short forms (`regn`,
//! `no.`, `svc`) to one word first, so that each line here stands for many.

mod of_logs;
mod of_machine;

use crate::yard::{Field, RecordKind};

/// The headers by which a field is known in rows of a kind; none where such rows do not have the field.
pub(super) fn of(field: Field, kind: RecordKind) -> impl Iterator<Item = &'static str> {
    list(field, kind).split(", ").filter(|spelling| !spelling.is_empty())
}

/// Whether rows of a kind can have a field.
pub(in crate::yard) fn has(kind: RecordKind, field: Field) -> bool {
    !list(field, kind).is_empty()
}

fn list(field: Field, kind: RecordKind) -> &'static str {
    if field.is_identity() || field == Field::ClockUnit {
        return of_every_row(field);
    }
    match kind {
        RecordKind::Machine => of_machine::list(field),
        RecordKind::Reading => of_logs::of_reading(field),
        RecordKind::Job => of_logs::of_job(field),
        RecordKind::Check => of_logs::of_check(field),
        RecordKind::Ride => of_logs::of_ride(field),
        RecordKind::Fill => of_logs::of_fill(field),
    }
}

fn of_every_row(field: Field) -> &'static str {
    match field {
        Field::Mark => {
            "reg, reg no, reg mark, vrm, vrn, plate, number plate, plate no, mark, licence plate, \
             license plate, index mark, vehicle reg, bike reg, machine reg, veh reg no, \
             vehicle reg no, index no, reg plate, bike, machine, vehicle, car reg, current reg, \
             vehicle reg mark, licence no, index, reg vrm, vrm reg, reg frame, frame reg, reg if known, \
             reg new, new reg, bike no, vehicle no, machine no, \
             v5, v5 reg, v5 no, licence, license, motorcycle, motorbike, car bike, bike car, car or bike"
        }
        Field::FrameNumber => {
            "frame, frame no, vin, vin no, chassis, chassis no, frame vin, vin frame, frame id, \
             vehicle identification no, vehicle id no, vin chassis, chassis vin, serial no, \
             frame serial no, full vin, vin code, bike vin, vehicle vin, chassis id, chas no, \
             full vin no, frame no vin, vin frame no, chassis frame no, vehicle id, \
             frame serial, id no, ident, serial, last 17, vin 17, frame chassis no, reg frame, frame reg"
        }
        Field::StockNumber => {
            "stock, stock no, stock id, stk, stk no, stock ref, stock code, our ref, unit no, \
             inventory no, yard no, bike no, machine no, stock book no, shop no, tag no, \
             stock tag, stock reference, our stock no, stock card, dealer stock no, internal no, \
             stk ref, stock book ref, bike id, book no, asset no, sb no, vehicle no, \
             fleet no, stock unit no, tag, job bag no, vehicle id, machine id"
        }
        Field::ClockUnit => {
            "clock unit, odo unit, unit, units, miles or km, km or miles, miles km, km miles, \
             distance unit, mileage unit, clock in, speedo unit, odo units, unit of clock, \
             mph or kmh, mph km h, speedo units, clock units, odo in, reads in, mileage units, m km, m k, uom, odo uom, clock type, m or k"
        }
        _ => "",
    }
}
