//! The headers of the columns of a machine's row.

use super::Field;

/// What the machine is.
pub(super) fn list(field: Field) -> &'static str {
    match field {
        Field::Make => {
            "make, maker, manufacturer, marque, brand, made by, bike make, vehicle make, make of \
             bike, manufacturer name, vehicle manufacturer, brand name, make brand, marque make, \
             manufactured by, machine make, make name, franchise, make description, make desc"
        }
        Field::Model => {
            "model, model name, bike model, vehicle model, machine model, model description, bike, \
             machine, variant, model variant, type of bike, make and model, make model, vehicle, mdl, \
             model no, model code, derivative, description, vehicle description, bike description, \
             motorcycle, range, unit description, version, model type, mod, model and colour, which bike, which machine"
        }
        Field::Kind => {
            "kind, type, class, category, vehicle type, machine type, bike type, body, body type, veh \
             class, kind of machine, vehicle class, vehicle category, cat, body style, bike or \
             scooter, bike scooter, style, sort, vehicle kind, bike category, m c type, motorcycle \
             scooter, model kind"
        }
        Field::EngineCc => {
            "cc, engine cc, engine, engine size, capacity, cubic capacity, displacement, engine \
             capacity, ccm, size cc, engine size cc, eng size, cylinder capacity, engine \
             displacement, cubic cm, cap, engine cap, cubic cap, cylinder cap, swept volume, bike cc, \
             size, ccs, cc rating"
        }
        _ => of_machine_days(field),
    }
}

/// The days of a machine's life with the shop.
fn of_machine_days(field: Field) -> &'static str {
    match field {
        Field::Registered => {
            "registered, reg date, date reg, date registered, first registered, first reg, registered \
             on, date of reg, date first registered, date of first reg, first reg date, dofr, dor, \
             reg, dofreg, registered date, road registered, registration date, on the road, on road \
             date, dvla registered, registered with dvla, road registered on, dvla reg date, on road, \
             otr date, first used, date first used, date of first use"
        }
        Field::Built => {
            "built, build date, date built, made, date made, manufactured, date manufactured, date of \
             manufacture, manufacture date, production date, built on, dom, date of build, mfg date, \
             manuf date, mfr date, prod date, year built, year of manufacture, mfd, date mfd, build, \
             built in, manufacturing date"
        }
        Field::Arrived => {
            "arrived, arrival, arrival date, date arrived, date in, in date, stocked, stocked date, \
             received, date received, bought, date bought, into stock, in stock since, came in, \
             booked in, stock date, stock in date, arrived on, delivered in, date into stock, booked \
             into stock, goods in, intake date, bought in, delivered to us, delivered to shop, into \
             shop, in shop since, taken in, came in on, arrived in shop, acquired, date acquired, \
             into yard, in yard since, on site since, in, delivered, delivery, delivery date, date \
             delivered, delivered on, into workshop, stock in, in stock, into stock date, received \
             on, landed, uncrated, consigned, consignment date, stocked in, date delivered to us"
        }
        Field::Sold => {
            "sold, sale date, date sold, date of sale, sold on, sold date, sales date, invoiced, \
             invoice date, date invoiced, sale, purchased by customer, day sold, deal \
             date, date of invoice, date of deal, sale completed, sold to customer on, day of sale, \
             retail date, retailed, retailed on, deal done, order taken"
        }
        Field::Handover => {
            "handover, handover date, date of handover, hand over, handed over, handover on, \
             delivered, delivery, delivery date, date delivered, collection, collection date, \
             collected, due out, handover due, collect date, date collected, customer collection, \
             hand over date, handover day, pick up date, delivery due, planned handover, customer \
             handover, handover due date, handover planned, going out, collection due, collection \
             day, pickup, pickup date, customer pick up, delivery to customer, pick up, collected by \
             customer, collected by customer on, picked up, picked up by customer, given to customer, \
             given to customer on, gone to customer, gone to customer on, out to customer, left with \
             customer, delivered to customer, delivered to customer on, customer collects, customer \
             collects on, customer collected, to be collected, collect, collecting, keys handed over, \
             keys given, went out, went to customer, went home, left shop, left yard, ridden away, \
             out, date out, delivered on, with customer since, customer collection on, released to \
             customer, h o, h o date, hover, h over, collect on, collecting on, gone, goes out, rides \
             away, ride away date, release date, released, pu date, date pu, customer collecting, \
             handover booked, booked handover, handover date time, handover booked for, handover planned for, \
             handover agreed, handover expected, expected handover, est handover, estimated handover"
        }
        _ => of_machine_facts(field),
    }
}

/// What a machine's row says of its customer, its fuel and oil, and how long its papers run.
fn of_machine_facts(field: Field) -> &'static str {
    match field {
        Field::Customer => {
            "customer, customer name, name, owner, owner name, client, client name, keeper, \
             registered keeper, buyer, sold to, purchaser, rider, contact, contact name, account \
             name, full name, surname, rider name, new owner, belongs to, owned by, \
             customer surname, purchaser name, buyer name, keeper name, customer details, sale \
             customer, sold to customer, for whom, last name, customer last name, for, who for, \
             customer owner, customer nm, punter, owner keeper, whose, whose bike, whose is it"
        }
        Field::Telephone => {
            "telephone, telephone no, mobile, mobile no, customer telephone, contact, contact no, \
             contact telephone, customer mobile, home telephone, cell, call, ring, number to ring, \
             day telephone, owner telephone, daytime telephone, mob, telephone 1, mobile telephone, \
             customer contact no, telephone contact, mob no, customer telephone no, best no, buyer \
             telephone, keeper telephone, rider telephone, owner mobile, contact details, telephone \
             mobile, mobile telephone no, home no, best telephone, best contact no, no to call, \
             landline, evening telephone, text no, keeper mobile, buyer mobile, client telephone, \
             telephone mob, client mobile"
        }
        Field::FuelAllowed => {
            "fuel allowed, fuel, max fuel, fuel grade, petrol, allowed fuel, max ethanol, ethanol, \
             fuel type, permitted fuel, fuel label, highest fuel, fuel max, e5 or e10, e10 ok, petrol \
             grade, fuel spec, max e, e rating, ethanol label, fuel grade allowed, petrol allowed, \
             fuel limit, max label, max petrol, max fuel grade, fuel max ethanol, e5 e10, recommended \
             fuel, fuel required, petrol type, fuel approved, max petrol label, permitted petrol, \
             fuel to use, fuel rec, suitable fuel, fuel to be used, e10 suitable, e10 compatible, \
             pump label allowed, highest label, highest ethanol, petrol to use, fuel ok, takes, pump \
             label, use fuel, highest e label, max ethanol label, ethanol limit, recommended petrol, runs \
             on"
        }
        Field::OilAsked => {
            "oil, oil asked, oil grade, oil spec, oil type, engine oil, oil required, recommended \
             oil, correct oil, oil specification, oil to use, specified oil, oil needed, oil grade \
             required, oil requirement, oil recommended, oil viscosity, recommended oil grade, \
             handbook oil, oil rec, makers oil, engine oil grade, engine oil spec, engine oil type, \
             book oil, oil needs, oil as handbook, specified engine oil, lubricant required, \
             lubricant, lube, rec oil, handbook oil spec"
        }
        Field::MotExpiry => {
            "mot, mot expiry, mot due, mot expiry date, mot due date, mot date, mot until, mot valid \
             until, mot to, mot end, mot ends, mot renewal, mot test due, next mot, mot runs out, mot \
             till, mot ex, mot due on, mot runs to, test expiry, mot expires on, mot valid to, mot \
             valid, mot certificate until, mot certificate expiry, mot cert expiry, mot lasts until, \
             mot good until, mot good to, mot ok until, mot test until, test until, test due, next \
             mot due, current mot, mot expiring, mot due by"
        }
        Field::MotTested => {
            "mot test day, mot tested, mot tested on, last mot, last mot date, last mot test, date of last mot, mot test date, \
             mot done, mot done on, mot passed, mot passed on, mot last done, mot carried out"
        }
        Field::Outcome => {
            "outcome of sale, outcome of the sale, sale outcome, sale went through, sale went ahead, sale fell through, \
             sale called off, deal outcome, outcome of deal, deal went through"
        }
        Field::WarrantyEnd => {
            "warranty, warranty end, warranty expiry, warranty until, warranty ends, warranty to, \
             warranty expiry date, end of warranty, warranty end date, warranty till, guarantee, \
             guarantee until, guarantee end, warranty valid until, warranty valid to, warranty runs \
             to, warranty date, warranty expires on, warranty due, warranty runs out, covered until, \
             warranty cover until, w ty, in warranty to, in warranty until, guarantee ends, guarantee expiry, under warranty until"
        }
        Field::Note => {
            "note, notes, comment, comments, remark, remarks, memo, info, other, details, misc, \
             observations, additional notes, further notes, additional info, free text, \
             further info, notes comments, other notes, general notes, customer notes, other info, any other info, extra info, \
             workshop notes, bike notes"
        }
        _ => of_machine_history(field),
    }
}

/// What a machine's row says of its clock and its services.
fn of_machine_history(field: Field) -> &'static str {
    match field {
        Field::Clock => {
            "mileage, miles, odo, odo reading, clock, clock reading, current mileage, km, odo miles, \
             speedo, speedo reading, latest mileage, recorded mileage, mileage now, current odo, \
             reading, distance, present mileage, total miles, last mileage, mileage reading, last \
             reading, miles now, mileage on clock, mlg, current miles, current km, current clock, \
             mileage today, latest miles, last known mileage, last odo, mileage in, current mileage \
             reading, latest odo, clock now, miles on clock, milage, mileage km, on the clock, on \
             clock, clocked, clock shows, clock at, miles so far, miles done, miles to date, mileage \
             to date, mileage last seen, mileage last read, last read mileage, latest reading, last \
             clock, latest clock, odo last seen, clocked mileage, mileage at, miles shown, mileage last known, clocks, present miles, latest km, last km, km now, km today, km to date, present km, last known km"
        }
        Field::ClockDay => {
            "clock day, clock date, mileage date, odo date, reading date, date of reading, date read, \
             date of mileage, mileage as at, mileage taken, mileage taken on, last reading date, \
             clock read on, as at, last seen, odo seen on, odo read on, mileage read on, mileage seen \
             on, mileage last read on, mileage checked on, odo checked on, odo as at, clock as at, \
             mileage when, mileage noted on, date clocked, odo taken on, odo reading date, clock last \
             read, as of, read on, mileage updated, mileage updated on, mileage as of, latest reading date, clock read, \
             clock seen, reading taken, reading taken on, clock taken, clock taken on, odo read, odo seen, clock checked, \
             mileage seen, mileage read, miles seen on, miles taken on"
        }
        Field::FirstServiceDay => {
            "first service, first service date, first service day, first service done, date of first \
             service, running in service, running in service date, first service on, 600 mile \
             service, 500 mile service, initial service, initial service date, first service \
             completed, first service complete, had first service, first service carried out, first \
             serviced on, fs date, f s date, fs done, run in service, r i service, 500 service, 600 \
             service, 600 mile, 600mi, 600m service, 1000km service, 1000 km service, service 1, \
             service 1 date, s1 date, f service, f service date, f service done, svc1, svc 1 date"
        }
        Field::FirstServiceClock => {
            "first service miles, first service mileage, first service clock, first service odo, \
             first service km, mileage at first service, miles at first service, odo at first \
             service, first service at, running in service mileage, first service reading, first \
             service done at, running in service miles, initial service mileage, initial service \
             miles, first serviced at, 600 service miles, fs miles, f s miles, 500 service miles, \
             service 1 miles, service 1 mileage"
        }
        Field::LastServiceDay => {
            "last service, last service date, last service day, service date, date of last service, \
             last serviced, serviced, serviced on, date serviced, service, last service on, previous \
             service date, service done, date of service, latest service, latest service date, last \
             service completed, most recent service, last service done on, date last serviced, \
             previous service, service carried out, service completed, last service carried out, date \
             last service done, l service, previous service on, date last service"
        }
        Field::LastServiceClock => {
            "last service miles, last service mileage, last service clock, last service odo, last \
             service km, service miles, service mileage, mileage at service, miles at service, \
             mileage at last service, miles at last service, odo at service, odo at last service, \
             service odo, service km, last service at, serviced at, last service reading, km at \
             service, km at last service, service clock, service reading, last serviced at, last \
             serviced miles, service at, service done at, last service done at, serviced at miles, \
             mileage when serviced, mileage when last serviced, miles when last serviced, miles when serviced, previous service miles, previous service mileage"
        }
        Field::LastServiceDone => {
            "last service type, last service done, last service work done, last service work, service \
             type, type of service, service done, last service what, last service details, work done, \
             last work done, last job, last service description, service details, service \
             description, last service, service, service work, last work, last service level, what service, what done, what was done, kind of service, service kind, sort of service, which service, last service kind"
        }
        Field::LastServiceOil => {
            "oil used, last oil, last service oil, service oil, oil used at last service, oil put in, \
             oil in engine, oil filled, oil fitted, oil at service, oil used at service, last oil \
             used, oil changed to, oil last used, oil put in at service, oil went in, oil at last \
             service"
        }
        _ => of_other_work(field),
    }
}

/// What a machine's row says of its annual service and its brake fluid.
fn of_other_work(field: Field) -> &'static str {
    match field {
        Field::AnnualServiceDay => {
            "annual service, annual service date, annual service day, annual service done, last annual \
             service, last annual service date, annual service on, date of annual service, annual \
             serviced on, yearly service, yearly service date, annual service completed"
        }
        Field::AnnualServiceClock => {
            "annual service mileage, annual service miles, annual service clock, annual service odo, \
             annual service km, mileage at annual service, miles at annual service, last annual service \
             miles, last annual service mileage, odo at annual service, annual service at, yearly \
             service mileage, yearly service miles"
        }
        Field::AnnualServiceOil => {
            "annual service oil, oil at annual service, last annual service oil, annual service oil \
             used, oil used at annual service, yearly service oil, annual service engine oil, oil put \
             in at annual service"
        }
        Field::BrakeFluidDay => {
            "brake fluid changed, brake fluid date, last brake fluid, brake fluid change, brake fluid \
             change date, date brake fluid changed, brake fluid changed on, last brake fluid change, \
             brake fluid last changed, brake fluid replaced, brake fluid renewed, last brake fluid date"
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
            "pdi, pdi done, pdi result, pdi ok, pdi status, pdi passed, pdi complete, pdi pass fail, \
             pre delivery inspection, pre delivery check, pre delivery, pre delivery inspection \
             result, pdi pass, predelivery, predelivery inspection, pdi check, pre delivery \
             inspection done, pdi completed, pdi signed off, pdi checked, pdid, pdi outcome, has pdi, \
             pdi y n, pdi sheet, pdi tick, pre del, pre del inspection, pre delivery done, new bike \
             check, pdi p f"
        }
        Field::InspectionDay => {
            "pdi date, pdi day, date of pdi, pre delivery inspection, pdi done on, pdi on, pdi completed on, pre delivery \
             inspection date, pdi, pre delivery inspection day, pre delivery date, date pdi, pdi done \
             date, pdi done, pdi completed, pdid on, pdid, pdi signed off on, pdi carried out, pdi \
             carried out on, pdi passed on, pdi finished, pre delivery done on"
        }
        Field::InspectionBy => {
            "pdi by, pdi done by, pdi mechanic, pdi technician, pdi tech, pdi signed, pdi signed by, \
             pdi initials, pre delivery inspection by, pdi who, pdi fitter, pdi completed by, pdi \
             signature, pdi inspector, pdi checked by, pre delivery inspection done by, pdid by, pdi \
             carried out by, pdi signed off by, pdi inspected by, pdi sign, pdi inits, pre delivery \
             by, pdi signed off, pdi sign off"
        }
        Field::QualityResult => {
            "qc, qc done, qc result, qc ok, qc status, qc passed, qc pass, quality check, quality \
             check done, quality check result, quality control, final check, second check, qc \
             complete, quality, qa, qc pass fail, final inspection, qc completed, qc signed off, qc \
             check, quality checked, qc checked, qcd, qc outcome, has qc, qc y n, double check, \
             second person check, foreman check"
        }
        Field::QualityDay => {
            "qc date, qc day, date of qc, qc done on, qc on, quality check date, quality check day, \
             final check date, qa date, date qc, quality control date, qc, qc done, qc completed, qcd \
             on, qcd, qc signed off on, qc carried out on, qc passed on, qc finished, second check \
             date, double check date, foreman check date"
        }
        Field::QualityBy => {
            "qc by, qc done by, qc mechanic, qc technician, qc signed, qc signed by, qc initials, \
             quality check by, quality checked by, qc who, final check by, qa by, quality control by, \
             qc inspector, qc checked by, quality check done by, qc completed by, qcd by, qc carried \
             out by, qc signed off by, qc passed by, second check by, double checked by, double check \
             by, second checked by, foreman check by, qc checker, qc mechanic, qc sign, qc signed off, qc sign off"
        }
        _ => of_machine_rides(field),
    }
}

/// What a machine's row says of its road tests and its last fill.
fn of_machine_rides(field: Field) -> &'static str {
    match field {
        Field::FirstRideDay => {
            "first ride, first ride date, first ride day, ride 1, ride 1 date, road test 1, road test \
             1 date, first road test, first road test date, rt1, rt1 date, road test, road test date, \
             test ride 1 date, first test ride, test ride 1, first ridden, first ridden on, first \
             road tested on, t r 1, tr1, tr 1, shakedown 1, shake down ride 1, r t 1, road tested, test 1 date"
        }
        Field::FirstRideDistance => {
            "first ride miles, first ride distance, first ride km, ride 1 miles, ride 1 distance, \
             ride 1 km, road test 1 miles, road test 1 distance, first road test miles, rt1 miles, \
             road test miles, road test distance, first road test distance, test ride 1 miles, first \
             test ride miles, rt1 dist, rt 1 distance, rt1 distance, road test 1 mileage"
        }
        Field::FirstRideSpeed => {
            "first ride top speed, first ride speed, first ride max speed, ride 1 top speed, ride 1 \
             speed, ride 1 max speed, road test 1 top speed, road test 1 speed, rt1 top speed, rt1 \
             speed, road test top speed, first road test top speed, ride 1 mph, road test 1 max \
             speed, road test 1 mph, rt1 max speed, ride 1 top mph, road test 1 top mph, first ride \
             top mph, first ride mph, rt1 top mph, rt1 max mph, rt1 mph, ride 1 max mph"
        }
        Field::SecondRideDay => {
            "second ride, second ride date, second ride day, ride 2, ride 2 date, road test 2, road \
             test 2 date, second road test, second road test date, rt2, rt2 date, test ride 2 date, \
             second test ride, test ride 2, second ridden on, second road tested on, t r 2, tr2, tr \
             2, shakedown 2, shake down ride 2, r t 2, test 2 date"
        }
        Field::SecondRideDistance => {
            "second ride miles, second ride distance, second ride km, ride 2 miles, ride 2 distance, \
             ride 2 km, road test 2 miles, road test 2 distance, second road test miles, rt2 miles, \
             second road test distance, test ride 2 miles, second test ride miles, rt2 dist, rt 2 \
             distance, rt2 distance, road test 2 mileage"
        }
        Field::SecondRideSpeed => {
            "second ride top speed, second ride speed, second ride max speed, ride 2 top speed, ride \
             2 speed, ride 2 max speed, road test 2 top speed, road test 2 speed, rt2 top speed, rt2 \
             speed, second road test top speed, ride 2 mph, road test 2 max speed, road test 2 mph, \
             rt2 max speed, ride 2 top mph, road test 2 top mph, second ride top mph, second ride \
             mph, rt2 top mph, rt2 max mph, rt2 mph, ride 2 max mph"
        }
        Field::LastFillDay => {
            "last fill, last fill date, last fill day, last fuel fill, date of last fill, last filled, \
             last filled on, last fuel date, last fuelled, last fuelled on, fuel last filled, last \
             refuelled, last refuelled on"
        }
        Field::LastFillGrade => {
            "last fill, last fill grade, last fuel, last fuel used, fuel used, fuel put in, last \
             petrol, fuel in tank, petrol used, fuel filled, filled with, fuel last used, last filled \
             with, grade used, fuel grade used, last filled up with, grade last used, petrol in tank"
        }
        _ => "",
    }
}
