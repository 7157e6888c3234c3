//! The headers that shops write, field by field; the same words mean different things in different logs.
//!
//! Common practice, no source. Blanks, dots and case are ignored, and `header` brings the usual short forms (`regn`,
//! `no.`, `svc`) to one word first, so that each line here stands for many.

use super::{Field, RecordKind};

/// The headers by which a field is known in rows of a kind; none where such rows do not have the field.
pub(super) fn of(field: Field, kind: RecordKind) -> impl Iterator<Item = &'static str> {
    list(field, kind).split(", ").filter(|spelling| !spelling.is_empty())
}

/// Whether rows of a kind can have a field.
pub(super) fn has(kind: RecordKind, field: Field) -> bool {
    !list(field, kind).is_empty()
}

fn list(field: Field, kind: RecordKind) -> &'static str {
    if field.is_identity() || field == Field::ClockUnit {
        return of_every_row(field);
    }
    match kind {
        RecordKind::Machine => of_machine(field),
        RecordKind::Reading => of_reading(field),
        RecordKind::Job => of_job(field),
        RecordKind::Check => of_check(field),
        RecordKind::Ride => of_ride(field),
        RecordKind::Fill => of_fill(field),
    }
}

fn of_every_row(field: Field) -> &'static str {
    match field {
        Field::Mark => {
            "reg, reg no, reg mark, vrm, vrn, plate, number plate, plate no, mark, licence plate, \
             license plate, index mark, vehicle reg, bike reg, machine reg, veh reg no, \
             vehicle reg no, index no, reg plate, bike, machine, vehicle, car reg, current reg, \
             vehicle reg mark, licence no, index"
        }
        Field::FrameNumber => {
            "frame, frame no, vin, vin no, chassis, chassis no, frame vin, vin frame, frame id, \
             vehicle identification no, vehicle id no, vin chassis, chassis vin, serial no, \
             frame serial no, full vin, vin code, bike vin, vehicle vin, chassis id, chas no, \
             full vin no"
        }
        Field::StockNumber => {
            "stock, stock no, stock id, stk, stk no, stock ref, stock code, our ref, unit no, \
             inventory no, yard no, bike no, machine no, stock book no, shop no, tag no, \
             stock tag, stock reference, our stock no, stock card, dealer stock no, internal no, \
             stk ref"
        }
        Field::ClockUnit => {
            "clock unit, odo unit, unit, units, miles or km, km or miles, miles km, km miles, \
             distance unit, mileage unit, clock in, speedo unit, odo units, unit of clock, \
             mph or kmh, mph km h, speedo units, clock units, odo in, reads in"
        }
        _ => "",
    }
}

/// What the machine is.
fn of_machine(field: Field) -> &'static str {
    match field {
        Field::Make => {
            "make, maker, manufacturer, marque, brand, made by, bike make, vehicle make, \
             make of bike, machine make, make name, built by"
        }
        Field::Model => {
            "model, model name, bike model, vehicle model, machine model, model description, bike, \
             machine, variant, model variant, type of bike, make and model, make model, vehicle, \
             mdl, model no, model code, derivative, description"
        }
        Field::Kind => {
            "kind, type, class, category, vehicle type, machine type, bike type, body, body type, \
             veh class, kind of machine, vehicle class, vehicle category, cat"
        }
        Field::EngineCc => {
            "cc, engine cc, engine, engine size, capacity, cubic capacity, displacement, \
             engine capacity, ccm, size cc, engine size cc, eng size, cylinder capacity, \
             engine displacement, cubic cm, cap"
        }
        _ => of_machine_days(field),
    }
}

/// The days of a machine's life with the shop.
fn of_machine_days(field: Field) -> &'static str {
    match field {
        Field::Registered => {
            "registered, reg date, date reg, date registered, first registered, first reg, \
             registered on, date of reg, date first registered, date of first reg, first reg date, \
             dofr, dor, reg, dofreg, registered date, road registered"
        }
        Field::Built => {
            "built, build date, date built, made, date made, manufactured, date manufactured, \
             date of manufacture, manufacture date, production date, built on, dom, date of build, \
             mfg date, manuf date, mfr date"
        }
        Field::Arrived => {
            "arrived, arrival, arrival date, date arrived, date in, in date, stocked, \
             stocked date, received, date received, bought, date bought, into stock, \
             in stock since, came in, booked in, stock date, stock in date, arrived on, \
             delivered in, date into stock, booked into stock, goods in, intake date, bought in"
        }
        Field::Sold => {
            "sold, sale date, date sold, date of sale, sold on, sold date, sales date, invoiced, \
             invoice date, date invoiced, sale, purchased by customer, order date, out date, \
             day sold, deal date"
        }
        Field::Handover => {
            "handover, handover date, date of handover, hand over, handed over, handover on, \
             delivered, delivery, delivery date, date delivered, collection, collection date, \
             collected, due out, handover due, collect date, date collected, customer collection, \
             hand over date, handover day, pick up date, delivery due, planned handover, \
             customer handover, handover due date, handover planned, going out, collection due, \
             collection day, pickup, pickup date, customer pick up, delivery to customer, pick up"
        }
        _ => of_machine_facts(field),
    }
}

/// What a machine's row says of its customer, its fuel and oil, and how long its papers run.
fn of_machine_facts(field: Field) -> &'static str {
    match field {
        Field::Customer => {
            "customer, customer name, name, owner, owner name, client, client name, keeper, \
             registered keeper, buyer, sold to, purchaser, rider, contact, contact name, \
             account name, full name, surname, rider name, new owner"
        }
        Field::Telephone => {
            "telephone, telephone no, mobile, mobile no, customer telephone, contact, contact no, \
             contact telephone, customer mobile, home telephone, cell, call, ring, number to ring, \
             day telephone, owner telephone, daytime telephone, mob, telephone 1, \
             mobile telephone, customer contact no, telephone contact, mob no, \
             customer telephone no, best no"
        }
        Field::FuelAllowed => {
            "fuel allowed, fuel, max fuel, fuel grade, petrol, allowed fuel, max ethanol, ethanol, \
             fuel type, permitted fuel, fuel label, highest fuel, fuel max, e5 or e10, e10 ok, \
             petrol grade, fuel spec, max e, e rating, ethanol label, fuel grade allowed, \
             petrol allowed, fuel limit, max label, max petrol, max fuel grade, fuel max ethanol, \
             e5 e10, recommended fuel, fuel required, petrol type, fuel approved, \
             max petrol label, permitted petrol, fuel to use, fuel rec"
        }
        Field::OilAsked => {
            "oil, oil asked, oil grade, oil spec, oil type, engine oil, oil required, \
             recommended oil, correct oil, oil specification, oil to use, specified oil, \
             oil needed, oil grade required, oil requirement, oil recommended, oil viscosity, \
             recommended oil grade, handbook oil, oil rec, makers oil, engine oil grade, \
             engine oil spec, engine oil type"
        }
        Field::MotExpiry => {
            "mot, mot expiry, mot due, mot expiry date, mot due date, mot date, mot until, \
             mot valid until, mot to, mot end, mot ends, mot renewal, mot test due, next mot, \
             mot runs out, mot till, mot ex, mot due on, mot runs to, test expiry, mot expires on, \
             mot valid to"
        }
        Field::WarrantyEnd => {
            "warranty, warranty end, warranty expiry, warranty until, warranty ends, warranty to, \
             warranty expiry date, end of warranty, warranty end date, warranty till, guarantee, \
             guarantee until, guarantee end, warranty valid until, warranty valid to, \
             warranty runs to, warranty date, warranty expires on, warranty due"
        }
        Field::Note => {
            "note, notes, comment, comments, remark, remarks, memo, info, other, details, misc, \
             observations, additional notes, further notes, additional info, free text, \
             further info, notes comments, other notes, general notes, customer notes"
        }
        _ => of_machine_history(field),
    }
}

/// What a machine's row says of its clock and its services.
fn of_machine_history(field: Field) -> &'static str {
    match field {
        Field::Clock => {
            "mileage, miles, odo, odo reading, clock, clock reading, current mileage, km, \
             odo miles, speedo, speedo reading, latest mileage, recorded mileage, mileage now, \
             current odo, reading, distance, present mileage, total miles, last mileage, \
             mileage reading, last reading, miles now, mileage on clock, mlg, current miles, \
             current km, current clock, mileage today, latest miles, last known mileage, last odo, \
             mileage in, current mileage reading, latest odo, clock now, miles on clock, milage, \
             mileage km"
        }
        Field::ClockDay => {
            "clock day, clock date, mileage date, odo date, reading date, date of reading, \
             date read, date of mileage, mileage as at, mileage taken, mileage taken on, \
             last reading date, clock read on, as at, last seen"
        }
        Field::FirstServiceDay => {
            "first service, first service date, first service day, first service done, \
             date of first service, running in service, running in service date, first service on, \
             600 mile service, 500 mile service, initial service, initial service date, \
             first service completed, first service complete"
        }
        Field::FirstServiceClock => {
            "first service miles, first service mileage, first service clock, first service odo, \
             first service km, mileage at first service, miles at first service, \
             odo at first service, first service at, running in service mileage, \
             first service reading"
        }
        Field::LastServiceDay => {
            "last service, last service date, last service day, service date, \
             date of last service, last serviced, serviced, serviced on, date serviced, service, \
             last service on, previous service date, service done, date of service, \
             latest service, latest service date, last service completed, most recent service, \
             last service done on, date last serviced, previous service"
        }
        Field::LastServiceClock => {
            "last service miles, last service mileage, last service clock, last service odo, \
             last service km, service miles, service mileage, mileage at service, \
             miles at service, mileage at last service, miles at last service, odo at service, \
             odo at last service, service odo, service km, last service at, serviced at, \
             last service reading, km at service, km at last service, service clock, \
             service reading, last serviced at, last serviced miles"
        }
        Field::LastServiceDone => {
            "last service type, last service done, last service work, service type, type of service, \
             service done, last service what, last service details, work done, last work done, \
             last job, last service description, service details, service description, last service, \
             service, service work"
        }
        Field::LastServiceOil => {
            "oil used, last oil, last service oil, service oil, oil used at last service, \
             oil put in, oil in engine, oil filled, oil fitted, oil at service, oil used at service, \
             last oil used, oil changed to, oil last used"
        }
        _ => of_machine_checks(field),
    }
}

/// What a machine's row says of its checks before handover.
fn of_machine_checks(field: Field) -> &'static str {
    match field {
        Field::CheckItem => {
            "check item, torque check, torque recheck, torque re check, torque, retorque, re torque, \
             torque done, torque recheck done, bolts torqued"
        }
        Field::InspectionResult => {
            "pdi, pdi done, pdi result, pdi ok, pdi status, pdi passed, pdi complete, \
             pdi pass fail, pre delivery inspection, pre delivery check, pre delivery, \
             pre delivery inspection result, pdi pass, predelivery, predelivery inspection, \
             pdi check, pre delivery inspection done, pdi completed, pdi signed off, pdi checked"
        }
        Field::InspectionDay => {
            "pdi date, pdi day, date of pdi, pdi done on, pdi on, pdi completed on, \
             pre delivery inspection date, pdi, pre delivery inspection day, pre delivery date, \
             date pdi, pdi done date, pdi done, pdi completed"
        }
        Field::InspectionBy => {
            "pdi by, pdi done by, pdi mechanic, pdi technician, pdi tech, pdi signed, \
             pdi signed by, pdi initials, pre delivery inspection by, pdi who, pdi fitter, \
             pdi completed by, pdi signature, pdi inspector, pdi checked by, \
             pre delivery inspection done by"
        }
        Field::QualityResult => {
            "qc, qc done, qc result, qc ok, qc status, qc passed, qc pass, quality check, \
             quality check done, quality check result, quality control, final check, second check, \
             qc complete, quality, qa, qc pass fail, final inspection, qc completed, \
             qc signed off, qc check, quality checked, qc checked"
        }
        Field::QualityDay => {
            "qc date, qc day, date of qc, qc done on, qc on, quality check date, \
             quality check day, final check date, qa date, date qc, quality control date, qc, \
             qc done, qc completed"
        }
        Field::QualityBy => {
            "qc by, qc done by, qc mechanic, qc technician, qc signed, qc signed by, qc initials, \
             quality check by, quality checked by, qc who, final check by, qa by, \
             quality control by, qc inspector, qc checked by, quality check done by, \
             qc completed by"
        }
        _ => of_machine_rides(field),
    }
}

/// What a machine's row says of its road tests and its last fill.
fn of_machine_rides(field: Field) -> &'static str {
    match field {
        Field::FirstRideDay => {
            "first ride, first ride date, first ride day, ride 1, ride 1 date, road test 1, \
             road test 1 date, first road test, first road test date, rt1, rt1 date, road test, \
             road test date, test ride 1 date, first test ride, test ride 1"
        }
        Field::FirstRideDistance => {
            "first ride miles, first ride distance, first ride km, ride 1 miles, ride 1 distance, \
             ride 1 km, road test 1 miles, road test 1 distance, first road test miles, rt1 miles, \
             road test miles, road test distance, first road test distance, test ride 1 miles, \
             first test ride miles"
        }
        Field::FirstRideSpeed => {
            "first ride top speed, first ride speed, first ride max speed, ride 1 top speed, \
             ride 1 speed, ride 1 max speed, road test 1 top speed, road test 1 speed, \
             rt1 top speed, rt1 speed, road test top speed, first road test top speed, ride 1 mph, \
             road test 1 max speed, road test 1 mph, rt1 max speed"
        }
        Field::SecondRideDay => {
            "second ride, second ride date, second ride day, ride 2, ride 2 date, road test 2, \
             road test 2 date, second road test, second road test date, rt2, rt2 date, \
             test ride 2 date, second test ride, test ride 2"
        }
        Field::SecondRideDistance => {
            "second ride miles, second ride distance, second ride km, ride 2 miles, ride 2 distance, \
             ride 2 km, road test 2 miles, road test 2 distance, second road test miles, rt2 miles, \
             second road test distance, test ride 2 miles, second test ride miles"
        }
        Field::SecondRideSpeed => {
            "second ride top speed, second ride speed, second ride max speed, ride 2 top speed, \
             ride 2 speed, ride 2 max speed, road test 2 top speed, road test 2 speed, \
             rt2 top speed, rt2 speed, second road test top speed, ride 2 mph, \
             road test 2 max speed, road test 2 mph, rt2 max speed"
        }
        Field::LastFillGrade => {
            "last fill, last fill grade, last fuel, last fuel used, fuel used, fuel put in, \
             last petrol, fuel in tank, petrol used, fuel filled, filled with, fuel last used, \
             last filled with, grade used, fuel grade used"
        }
        _ => "",
    }
}

/// The headers of the day of any log's row, with those of one log behind them.
macro_rules! day_words {
    ($more:literal) => {
        concat!(
            "date, day, on, when, date time, timestamp, entry date, log date, date entered, recorded, ",
            "recorded on, date recorded, ",
            $more
        )
    };
}

/// The headers of the clock in any log, with those of one log behind them.
macro_rules! clock_words {
    ($more:literal) => {
        concat!(
            "mileage, odo, odo reading, clock, clock reading, speedo, speedo reading, current mileage, ",
            "odo miles, mileage reading, mileage in, on the clock, ",
            $more
        )
    };
}

fn of_reading(field: Field) -> &'static str {
    match field {
        Field::Day => {
            day_words!(
                "date read, reading date, date of reading, mileage date, odo date, taken on, read on, \
             date taken, taken, date of check, checked on"
            )
        }
        Field::Clock => {
            clock_words!(
                "miles, km, reading, latest mileage, distance, total miles, value, odo value, \
             mileage value, current miles, clock value, new mileage, figure, milage"
            )
        }
        _ => "",
    }
}

fn of_job(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "job date, service date, date of service, date done, done on, work date, completed, \
             date completed, completed on, finished, date finished, invoice date, date of work, \
             date out, serviced on, repair date, job done on, completion date, closed, date closed"
        ),
        Field::Done => {
            "done, work done, work, job, job description, description, service, service type, \
             work carried out, what was done, job done, details, task, operation, labour, \
             type of service, job type, work completed, repair, repairs, job details, \
             service done, type of work, work description, item, reason, notes, event, action, \
             what, jobs, job title, works, procedure, service item, summary, work performed, \
             services, carried out, service carried out, work details, activity, job text, \
             service job, type"
        }
        Field::Clock => clock_words!(
            "miles, km, mileage at service, miles at service, service mileage, service miles, \
             odo at service, mileage out, reading, job mileage, at miles, mileage at job, \
             mileage when done, odo at job, miles at job, milage"
        ),
        Field::OilUsed => {
            "oil, oil used, oil grade, oil type, oil put in, oil filled, engine oil, oil fitted, \
             oil spec, oil in, lubricant, oil changed to, engine oil used, oil filled with, \
             what oil, oil added, oil poured, engine oil grade"
        }
        Field::By => {
            "by, done by, mechanic, technician, tech, fitter, worked by, carried out by, staff, \
             who, initials, signed, signed by, completed by, engineer, serviced by, operator, \
             worker, done by whom, mechanic name, technician name, worked on by, work done by, \
             job done by, signature, operative, employee"
        }
        _ => "",
    }
}

fn of_check(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "check date, date checked, inspection date, date of inspection, checked on, \
             inspected on, date done, pdi date, qc date, date of check, completed, date completed, \
             inspected, done on, date inspected, checked, test date"
        ),
        Field::Item => {
            "item, check, check item, inspection item, inspection, what, checked item, point, \
             check point, component, part checked, task, test, description, check name, \
             checklist item, type of check, inspected item, check description, inspection point, \
             area, what was checked, item description, section"
        }
        Field::Result => {
            "result, outcome, status, pass fail, pass or fail, passed, ok, check result, \
             inspection result, state, condition, finding, verdict, pass, done, answer, ok not ok, \
             check outcome, pass or not, passed or failed, result of check, p f, result pass fail, \
             test result, complete"
        }
        Field::By => {
            "by, checked by, inspected by, inspector, done by, signed, signed by, initials, \
             mechanic, technician, tech, who, staff, fitter, completed by, checker, pdi by, qc by, \
             signature, carried out by, signed off by"
        }
        Field::CheckItem => "check item",
        _ => "",
    }
}

fn of_ride(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "ride date, date of ride, road test date, test date, date ridden, ridden on, \
             trip date, date of test, ride day, start date, trip day, date of road test, \
             start time, trip start, ride start, started, test ride date, date tested, start"
        ),
        Field::Distance => {
            "distance, miles, km, miles ridden, ride miles, test miles, trip, trip miles, \
             trip distance, distance ridden, distance covered, length, how far, road test miles, \
             ride distance, ride km, trip km, miles covered, distance travelled, \
             road test distance, miles done, ride length, miles travelled, distance miles, \
             kilometres ridden, test distance, distance driven"
        }
        Field::TopSpeed => {
            "top speed, max speed, highest speed, speed, max mph, top mph, max km h, peak speed, \
             fastest, vmax, speed reached, speed max, max, top speed reached, mph, \
             maximum speed reached, highest mph"
        }
        Field::SpeedSource => {
            "speed source, source, measured by, read from, speed from, speed read from, \
             source of speed, device, instrument, gps or speedo, speedo or gps, method, \
             measured with, recorded by, how measured, gps speedo, speedo gps, speed measured by, \
             speed by, from, speed taken from, measurement, recorder, type of speed"
        }
        Field::Clock => clock_words!(
            "mileage after, odo after, end mileage, finish mileage, odo end, end odo, \
             mileage at end, end miles, miles at end, mileage end, finish miles, end clock, \
             reading, clock after, odo at end, end reading, milage"
        ),
        Field::By => {
            "by, rider, ridden by, tested by, tester, test rider, road tested by, who, staff, \
             initials, signed, mechanic, technician, name of rider, driver, signed by, done by, \
             ridden"
        }
        _ => "",
    }
}

fn of_fill(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "fill date, fuel date, date filled, filled on, date of fill, fill day, refuel date, \
             date fuelled, receipt date, purchase date, transaction date, fuelled on"
        ),
        Field::Clock => {
            clock_words!(
                "miles, km, mileage at fill, miles at fill, odo at fill, reading, fill mileage, milage"
            )
        }
        Field::Volume => {
            "litres, volume, quantity, fuel litres, amount, litres filled, litres put in, fuel, \
             gallons, ml, fuel volume, litres bought, quantity litres, filled, fill, \
             fuel quantity, fuel amount, vol, fuel filled, litres of fuel, litres added, \
             fuel added, litres in, l, how much"
        }
        Field::Grade => {
            "grade, fuel grade, petrol, fuel type, fuel, label, pump label, type, ethanol, e5 e10, \
             octane, product, petrol grade, pump, what fuel, petrol type, e5 or e10, fuel label, \
             grade of fuel, fuel used, e no, pump grade"
        }
        Field::Full => {
            "full, full tank, filled up, to the brim, brimmed, full fill, tank full, full or part, \
             brim, full up, full or not, filled to brim, topped up full, complete fill, full part, \
             fill to full, topped up, filled full, brim fill, full y n"
        }
        _ => "",
    }
}
