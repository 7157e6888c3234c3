//! The headers of the columns of each log.

use super::Field;

/// The headers of the day of any log's row, with those of one log behind them.
macro_rules! day_words {
    ($more:literal) => {
        concat!(
            "date, day, on, when, date time, timestamp, entry date, log date, date entered, recorded, ",
            "recorded on, date recorded, dated, ",
            $more
        )
    };
}

/// The headers of the clock in any log, with those of one log behind them.
macro_rules! clock_words {
    ($more:literal) => {
        concat!(
            "mileage, odo, odo reading, clock, clock reading, speedo, speedo reading, current mileage, ",
            "odo miles, mileage reading, mileage in, on the clock, dash mileage, ",
            $more
        )
    };
}

pub(super) fn of_reading(field: Field) -> &'static str {
    match field {
        Field::Day => {
            day_words!(
                "date read, reading date, date of reading, mileage date, odo date, taken on, read on, \
             date taken, taken, date of check, checked on, seen, seen on, date seen, noted, noted on, \
             clocked on, date clocked, read, as at, as of, reading taken, day read, recorded, logged, logged on, taken at"
            )
        }
        Field::Clock => {
            clock_words!(
                "miles, km, reading, latest mileage, distance, total miles, value, odo value, mileage \
             value, current miles, clock value, new mileage, figure, milage, clocked, clock shows, \
             showing, miles shown, mileage shown, mileage at, miles on clock, on clock, mileage read, \
             odo shows, recorded mileage, mileage given, mileage recorded"
            )
        }
        _ => "",
    }
}

pub(super) fn of_job(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "job date, service date, date of service, date done, done on, work date, completed, date \
             completed, completed on, finished, date finished, invoice date, date of work, date out, \
             serviced on, repair date, job done on, completion date, closed, date closed, when done, \
             finished on, worked on, work done on, carried out on, finish date, done, job day, out, \
             work finished, signed off on, wip date, ro date, job closed, went out, collected, picked up, \
             went home, gone, collected by customer, returned to customer, back to owner, back to customer, \
             gone back, went back, date in, job completed, job finished, opened, job done, invoiced, job card date, \
             in, came in, booked in, arrived, dropped off, brought in, visit, visit date, visited, seen, seen on, \
             appointment, appointment date, booked for, booking date"
        ),
        Field::Done => {
            "done, work done, work, job, event, job description, description, service, service type, work carried out, \
             what was done, job done, details, task, operation, labour, type of service, job type, work completed, \
             repair, repairs, job details, service done, type of work, work description, item, action, what, jobs, \
             job title, works, procedure, service item, summary, work performed, services, carried out, \
             service carried out, work details, activity, job text, service job, type, what we did, what did we do, \
             we did, job carried out, work undertaken, undertaken, serviced, repair work, repair details, repaired, \
             fixed, description of work, labour description, what happened, jobs done, spannering, tasks, \
             what was it in for, workshop notes, work notes, job and parts, work on bike, jobs carried out, op, \
             op description, op desc, what done, narrative, line description, work on it, service history, \
             complaint work, complaint and work, work and complaint, complaint, complaints, customer complaint, \
             fault and work, fault work, work required, work requested, work wanted, work needed, jobs required, \
             job required, customer request, instructions, in for, what for, booked in for, reason for visit, \
             nature of work, nature of job"
        }
        Field::Clock => clock_words!(
            "miles, km, mileage at service, miles at service, service mileage, service miles, odo at \
             service, mileage out, reading, job mileage, at miles, mileage at job, mileage when done, \
             odo at job, miles at job, milage, mileage at, clocked, on clock, miles on clock, clock \
             at job, clock at service, odo in, odo out, miles in, miles out, mileage at time, mileage \
             then, bike mileage, recorded mileage, miles then, mileage on day"
        ),
        Field::OilUsed => {
            "oil, oil used, oil grade, oil type, oil put in, oil filled, engine oil, oil fitted, oil \
             spec, oil in, lubricant, oil changed to, engine oil used, oil filled with, what oil, oil \
             added, oil poured, engine oil grade, oil we used, oil poured in, oil went in, went in, \
             oil refilled with, fresh oil, new oil, oil spec used, oil grade used, oil type used, oil \
             put in engine, what oil went in, refilled with, lube, oil visc, oil viscosity, lubricant \
             used, filled with, oil supplied"
        }
        Field::Outcome => {
            "outcome, status, job status, job outcome, result, job result, state, job state, complete, completed, done, \
             job done, work done, done yet, was it done, done or not, done y n, finished, job completed, job finished, \
             attended, turned up, showed up, carried out, progress, work status, booking status, closed, is complete, is done, is closed"
        }
        // What a workshop's book says beside the work of the machine and whose it is.
        Field::Customer => {
            "customer, customer name, owner, owner name, client, client name, keeper, customer surname, \
             customer nm, punter, owned by, belongs to, full name, surname, name"
        }
        Field::Telephone => {
            "telephone, telephone no, mobile, mobile no, customer telephone, contact no, contact \
             telephone, customer mobile, mob, mob no, home telephone, owner telephone, owner mobile, \
             client telephone, customer contact no, telephone mobile, best no, number to ring"
        }
        Field::MotExpiry => {
            "mot due, mot expiry, mot expiry date, mot due date, mot until, mot valid until, mot end, mot \
             ends, mot runs out, mot till, mot expires on, mot valid to, mot due on, mot to, next mot due, next mot"
        }
        Field::By => {
            "by, done by, mechanic, technician, tech, fitter, worked by, carried out by, staff, who, initials, signed, \
             signed by, completed by, engineer, serviced by, operator, worker, done by whom, mechanic name, \
             technician name, worked on by, work done by, job done by, signature, operative, employee, spannered by, \
             who did it, who did the work, job by, work by, mechanic initials, fitted by, who by, by who, by whom, \
             spanner man, whose job, workshop staff, who worked on it, our mechanic, man, init, inits, tech initials, \
             staff member"
        }
        _ => of_a_book(field),
    }
}

/// What is taken beside the work only, where the plain header stands there: see `visits`.
fn of_a_book(field: Field) -> &'static str {
    match field {
        Field::Make => "make of the machine",
        Field::Model => "model of the machine",
        Field::Note => "note beside the work",
        _ => "",
    }
}

pub(super) fn of_check(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "check date, date checked, inspection date, date of inspection, checked on, inspected on, \
             date done, pdi date, qc date, date of check, completed, date completed, inspected, done \
             on, date inspected, checked, test date, looked at on, looked over on, inspection day, \
             tested on, tested, signed off on, seen on, day checked, checked over on, signed on, done"
        ),
        Field::Item => {
            "item, check, check item, inspection item, inspection, what, checked item, point, check \
             point, component, part checked, task, test, description, check name, checklist item, \
             type of check, inspected item, check description, inspection point, area, what was \
             checked, item description, section, what we checked, what was looked at, looked at, \
             check made, checked what, things checked, pdi item, qc item, what we looked at, item \
             inspected, check type, inspection type, checklist, stage, question, line, test item, \
             operation, form, type, checked, check done, which check, kind of check, inspection \
             stage, work"
        }
        Field::Result => {
            "result, outcome, status, pass fail, pass or fail, passed, ok, check result, inspection \
             result, state, condition, finding, verdict, pass, done, answer, ok not ok, check \
             outcome, pass or not, passed or failed, result of check, p f, result pass fail, test \
             result, complete, how was it, how it went, outcome of check, result of inspection, tick, \
             ticked, good or bad, sound, in order, all ok, pass y n, ok y n, satisfactory, how it \
             came out, checked ok, r, ok or not, test outcome, result p f, mark"
        }
        Field::By => {
            "by, checked by, inspected by, inspector, done by, signed, signed by, initials, mechanic, \
             technician, tech, who, staff, fitter, completed by, checker, pdi by, qc by, signature, \
             carried out by, signed off by, looked over by, examined by, examiner, tester, tested by, \
             checked by whom, passed by, who checked, who by, by who, by whom, person, who looked, \
             who inspected, sign, inspector name, name, initialled by, sign off, qcd by"
        }
        Field::CheckItem => "check item",
        _ => "",
    }
}

pub(super) fn of_ride(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "ride date, date of ride, road test date, test date, date ridden, ridden on, trip date, \
             date of test, ride day, start date, trip day, date of road test, start time, trip start, \
             ride start, started, test ride date, date tested, start, out on, went out on, rode on, \
             taken out on, ridden, date out, ride on, when ridden, rode, day ridden, road tested on, \
             road tested, taken out, taken"
        ),
        Field::Distance => {
            "distance, miles, km, miles ridden, ride miles, test miles, trip, trip miles, trip \
             distance, distance ridden, distance covered, length, how far, road test miles, ride \
             distance, ride km, trip km, miles covered, distance travelled, road test distance, miles \
             done, ride length, miles travelled, distance miles, kilometres ridden, test distance, \
             distance driven, length of ride, length of test, how far ridden, miles on \
             test, miles of ride, trip length, test ride miles, test ride distance, run length, \
             distance out, total miles, run, run miles, mileage covered"
        }
        Field::TopSpeed => {
            "top speed, max speed, highest speed, speed, max mph, top mph, max km h, peak speed, \
             fastest, vmax, speed reached, speed max, max, top speed reached, mph, maximum speed \
             reached, highest mph, max mph seen, fastest speed, fastest mph, best speed, top speed \
             seen, peak mph, top, highest, max speed seen, speed at most, most mph, quickest, top mph \
             seen, max spd, top spd"
        }
        Field::SpeedSource => {
            "speed source, source, measured by, read from, speed from, speed read from, source of \
             speed, device, instrument, gps or speedo, speedo or gps, method, measured with, recorded \
             by, how measured, gps speedo, speedo gps, speed measured by, speed by, from, speed taken \
             from, measurement, recorder, type of speed, read off, speed read off, where from, taken \
             from, logged by, off what, gps or clock, speed seen on, seen on, speed logged by, gps or \
             speedometer, speed taken by, gps, measured from, meter"
        }
        Field::Clock => clock_words!(
            "mileage after, odo after, end mileage, finish mileage, odo end, end odo, mileage at end, \
             end miles, miles at end, mileage end, finish miles, end clock, reading, clock after, odo \
             at end, end reading, milage, clock at end, mileage when back, odo when back, clock when \
             back, clock on return, mileage on return, miles in, end km"
        ),
        Field::By => {
            "by, rider, ridden by, tested by, tester, test rider, road tested by, who, staff, \
             initials, signed, mechanic, technician, name of rider, driver, signed by, done by, \
             ridden, rode by, test ridden by, taken out by, who rode, who rode it, who by, by who, by \
             whom, person, rode, who took it out, road tester, rider name, name"
        }
        _ => "",
    }
}

pub(super) fn of_fill(field: Field) -> &'static str {
    match field {
        Field::Day => day_words!(
            "fill date, fuel date, date filled, filled on, date of fill, fill day, refuel date, date \
             fuelled, receipt date, purchase date, transaction date, fuelled on, filled, when filled, \
             fuel on, topped up on, date topped up, bought on, refuelled, brimmed on, fuelled, fill up date"
        ),
        Field::Clock => {
            clock_words!(
                "miles, km, mileage at fill, miles at fill, odo at fill, reading, fill mileage, milage, at \
                 mileage, mileage when filled, mileage then"
            )
        }
        Field::Volume => {
            "litres, volume, quantity, fuel litres, amount, litres filled, litres put in, fuel, \
             gallons, ml, fuel volume, litres bought, quantity litres, filled, fill, fuel quantity, \
             fuel amount, vol, fuel filled, litres of fuel, litres added, fuel added, litres in, l, \
             how much, put in, fuel in, how many litres, litres drawn, topped up, litres pumped, \
             petrol litres, petrol in, amount filled, how much fuel, how much petrol, how much in, no \
             litres, fuel l, petrol l"
        }
        Field::Grade => {
            "grade, fuel grade, petrol, fuel type, fuel, label, pump label, type, ethanol, e5 e10, \
             product, petrol grade, pump, what fuel, petrol type, e5 or e10, fuel label, grade of \
             fuel, fuel used, e no, pump grade, fuel put in, what went in, petrol used, which fuel, \
             which petrol, label on pump, nozzle, nozzle label, pump nozzle, kind of fuel, which \
             grade, what grade, which pump, kind of petrol, e5 or e10 in, blend, petrol label, ethanol label, e label, pump e label"
        }
        Field::Full => {
            "full, full tank, filled up, to the brim, brimmed, full fill, tank full, full or part, \
             brim, full up, full or not, filled to brim, topped up full, complete fill, full part, \
             fill to full, topped up, filled full, brim fill, full y n, to brim, brimmed y n, filled \
             to the top, to the top, tank brimmed, topped right up, brimful, filled right up, to the \
             top y n, brim y n, was it full, filled to the brim, full to brim, f p, full tank y n, \
             fill type, filled, tank filled, complete, is full"
        }
        _ => "",
    }
}
