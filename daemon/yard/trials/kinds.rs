//! What the rows of a sheet are, told by its columns alone: sheets as garages keep them, each with what a person says.

use super::*;

/// Kind and sheet; in a log machines come back.
const SHEETS: &[(&str, &str)] = &[
    (
        "job",
        "Job No | Date In | Date Out | Reg | Customer | Work Carried Out | Mileage | Oil Used | Tech\n\
         J101 | 03/04/2026 | 03/04/2026 | AB26 CDE | J Ashgrove | First service | 412 | 10w40 MA2 | KB\n\
         J102 | 09/04/2026 | 09/04/2026 | AC26 KLM | P Dunmore | Chain adjusted | 1204 |  | MN\n\
         J103 | 20/04/2026 | 20/04/2026 | AB26 CDE | J Ashgrove | Rear tyre | 688 | 10w50 MA2 | KB",
    ),
    (
        "job",
        "Date | Reg | Customer | Phone | Bike | Work | Mileage | Hours | Charge\n\
         03/04/2026 | AB26 CDE | J Ashgrove | 07700 900101 | Fell 400 | First service | 412 | 1.5 | £45.00\n\
         09/04/2026 | AC26 KLM | P Dunmore | 07700 900102 | Moor 650 | Chain adjusted | 1204 | 0.5 | £65.00\n\
         20/04/2026 | AB26 CDE | J Ashgrove | 07700 900101 | Fell 400 | Rear tyre | 688 | 1.0 | £32.50",
    ),
    (
        "job",
        "Inv No | Inv Date | Reg | Model | Customer | Description | Mileage | Net | VAT | Gross\n\
         J101 | 03/04/2026 | AB26 CDE | Fell 400 | J Ashgrove | First service | 412 | £45.00 | £45.00 | £45.00\n\
         J102 | 09/04/2026 | AC26 KLM | Moor 650 | P Dunmore | Chain adjusted | 1204 | £65.00 | £65.00 | £65.00\n\
         J103 | 20/04/2026 | AB26 CDE | Fell 400 | J Ashgrove | Rear tyre | 688 | £32.50 | £32.50 | £32.50",
    ),
    (
        "job",
        "Job Card | Opened | Closed | Reg No | VIN | Mileage In | Mileage Out | Work Required | Work Done | Oil Grade | Technician | Status\n\
         J101 | 03/04/2026 | 03/04/2026 | AB26 CDE | XHRWFL40026000101 | 412 | 412 | First service | First service | 10w40 MA2 | KB | Closed\n\
         J102 | 09/04/2026 | 09/04/2026 | AC26 KLM | XHRWMR65026000102 | 1204 | 1204 | Chain adjusted | Chain adjusted |  | MN | Closed\n\
         J103 | 20/04/2026 | 20/04/2026 | AB26 CDE | XHRWFL40026000101 | 688 | 688 | Rear tyre | Rear tyre | 10w50 MA2 | KB | Closed",
    ),
    (
        "job",
        "Reg | Service Date | Service Type | Service Mileage | Oil | Mechanic\n\
         AB26 CDE | 03/04/2026 | First service | 412 | 10w40 MA2 | KB\n\
         AC26 KLM | 09/04/2026 | Chain adjusted | 1204 |  | MN\n\
         AB26 CDE | 20/04/2026 | Rear tyre | 688 | 10w50 MA2 | KB",
    ),
    (
        "job",
        "VIN | Date of Service | Mileage at Service | Type of Service | Oil | Next Service Due\n\
         XHRWFL40026000101 | 03/04/2026 | 412 | First service | 10w40 MA2 | 20/05/2026\n\
         XHRWMR65026000102 | 09/04/2026 | 1204 | Chain adjusted |  | 21/05/2026\n\
         XHRWFL40026000101 | 20/04/2026 | 688 | Rear tyre | 10w50 MA2 | 22/05/2026",
    ),
    (
        "job",
        "RO No | RO Date | Reg | Odo | Op Code | Op Description | Tech | Hours\n\
         J101 | 03/04/2026 | AB26 CDE | 412 | S1 | First service | KB | 1.5\n\
         J102 | 09/04/2026 | AC26 KLM | 1204 | CH | Chain adjusted | MN | 0.5\n\
         J103 | 20/04/2026 | AB26 CDE | 688 | TY | Rear tyre | KB | 1.0",
    ),
    (
        "job",
        "Date | Reg | Job | Who | Time | Notes\n\
         03/04/2026 | AB26 CDE | First service | KB | 09:30 | see note\n\
         09/04/2026 | AC26 KLM | Chain adjusted | MN | 11:00 | \n\
         20/04/2026 | AB26 CDE | Rear tyre | KB | 14:15 | spongy",
    ),
    (
        "job",
        "Date | Bike | Reg | Mileage | What was done | By | Oil | Parts\n\
         03/04/2026 | Fell 400 | AB26 CDE | 412 | First service | KB | 10w40 MA2 | Filter\n\
         09/04/2026 | Moor 650 | AC26 KLM | 1204 | Chain adjusted | MN |  | \n\
         20/04/2026 | Fell 400 | AB26 CDE | 688 | Rear tyre | KB | 10w50 MA2 | ",
    ),
    (
        "job",
        "Stock No | Job | Date Done | Miles | Fitter\n\
         S1 | First service | 03/04/2026 | 412 | KB\n\
         S2 | Chain adjusted | 09/04/2026 | 1204 | MN\n\
         S1 | Rear tyre | 20/04/2026 | 688 | KB",
    ),
    (
        "machine",
        "Stock No | VIN | Model | PDI Date | PDI By | Battery | Brakes | Chain | Tyres | Lights | Torque | Road Test | Cleaned | Handover Date\n\
         S101 | XHRWFL40026000101 | Fell 400 | 03/04/2026 | KB | ✓ | ✓ | ✓ | ✓ | ✓ | ✓ | 03/04/2026 | ✓ | 20/05/2026\n\
         S102 | XHRWMR65026000102 | Moor 650 | 09/04/2026 | MN | ✗ | ✗ | ✗ | ✗ | ✗ | ✗ | 09/04/2026 | ✗ | 21/05/2026\n\
         S103 | XKSTSC12526000103 | Scoot 125 | 20/04/2026 | KB | ✓ | ✓ | ✓ | ✓ | ✓ | ✓ | 20/04/2026 | ✓ | 22/05/2026",
    ),
    (
        "machine",
        "Reg | Model | PDI | Oil Level | Brake Fluid | Chain | Tyre Pressures | Ride 1 | Ride 2 | QC | QC By | Customer | Collection Date\n\
         AB26 CDE | Fell 400 | Y | ✓ | ✓ | ✓ | ✓ | 03/04/2026 | 03/04/2026 | Y | KB | J Ashgrove | 20/05/2026\n\
         AC26 KLM | Moor 650 | N | ✗ | ✗ | ✗ | ✗ | 09/04/2026 | 09/04/2026 | N | MN | P Dunmore | 21/05/2026\n\
         AE26 PRT | Scoot 125 | Y | ✓ | ✓ | ✓ | ✓ | 20/04/2026 | 20/04/2026 | Y | KB | A Tansley | 22/05/2026",
    ),
    (
        "machine",
        "Frame No | Model | Customer | Handover | Front Brake | Rear Brake | Clutch | Throttle | Steering | Signed\n\
         XHRWFL40026000101 | Fell 400 | J Ashgrove | 20/05/2026 | ✓ | ✓ | ✓ | ✓ | ✓ | KB\n\
         XHRWMR65026000102 | Moor 650 | P Dunmore | 21/05/2026 | ✗ | ✗ | ✗ | ✗ | ✗ | MN\n\
         XKSTSC12526000103 | Scoot 125 | A Tansley | 22/05/2026 | ✓ | ✓ | ✓ | ✓ | ✓ | KB",
    ),
    (
        "machine",
        "Stock No | Make | Model | Colour | Reg | Price | Days in Stock | Location\n\
         S101 | Harrow | Fell 400 | Red | AB26 CDE | £45.00 | 30 | Front\n\
         S102 | Harrow | Moor 650 | Red | AC26 KLM | £65.00 | 40 | Front\n\
         S103 | Harrow | Scoot 125 | Red | AE26 PRT | £32.50 | 50 | Front",
    ),
    (
        "machine",
        "Reg | Customer | Model | Mileage | Last Service | Next Service Due | MOT Due\n\
         AB26 CDE | J Ashgrove | Fell 400 | 412 | 03/04/2026 | 20/05/2026 | 20/05/2026\n\
         AC26 KLM | P Dunmore | Moor 650 | 1204 | 09/04/2026 | 21/05/2026 | 21/05/2026\n\
         AE26 PRT | A Tansley | Scoot 125 | 688 | 20/04/2026 | 22/05/2026 | 22/05/2026",
    ),
    (
        "machine",
        "Reg | VIN | Date | Customer\n\
         AB26 CDE | XHRWFL40026000101 | 03/04/2026 | J Ashgrove\n\
         AC26 KLM | XHRWMR65026000102 | 09/04/2026 | P Dunmore\n\
         AE26 PRT | XKSTSC12526000103 | 20/04/2026 | A Tansley",
    ),
    (
        "machine",
        "Date | Reg | VIN | Model | Customer | Mileage\n\
         03/04/2026 | AB26 CDE | XHRWFL40026000101 | Fell 400 | J Ashgrove | 412\n\
         09/04/2026 | AC26 KLM | XHRWMR65026000102 | Moor 650 | P Dunmore | 1204\n\
         20/04/2026 | AE26 PRT | XKSTSC12526000103 | Scoot 125 | A Tansley | 688",
    ),
    (
        "check",
        "Date | Frame No | Check | Pass/Fail | By | Notes\n\
         03/04/2026 | XHRWFL40026000101 | Front brake | Pass | KB | see note\n\
         09/04/2026 | XHRWMR65026000102 | Lights | Fail | MN | \n\
         20/04/2026 | XHRWFL40026000101 | Chain | Pass | KB | spongy",
    ),
    (
        "check",
        "Frame | PDI Item | Result | Initials | Date\n\
         XHRWFL40026000101 | Front brake | Pass | KB | 03/04/2026\n\
         XHRWMR65026000102 | Lights | Fail | MN | 09/04/2026\n\
         XHRWFL40026000101 | Chain | Pass | KB | 20/04/2026",
    ),
    (
        "check",
        "VIN | Date | Inspection Type | Item | P/F | Inspector | Comments\n\
         XHRWFL40026000101 | 03/04/2026 | PDI | Front brake | P | KB | see note\n\
         XHRWMR65026000102 | 09/04/2026 | PDI | Lights | F | MN | \n\
         XHRWFL40026000101 | 20/04/2026 | PDI | Chain | P | KB | spongy",
    ),
    (
        "check",
        "Reg | Check | Done | Done By | Date Done\n\
         AB26 CDE | PDI | Y | KB | 03/04/2026\n\
         AC26 KLM | QC | N | MN | 09/04/2026\n\
         AB26 CDE | Torque | Y | KB | 20/04/2026",
    ),
    (
        "check",
        "Stock No | Date | Checklist | Item | OK? | Checked By\n\
         S1 | 03/04/2026 | PDI | Front brake | Y | KB\n\
         S1 | 09/04/2026 | PDI | Lights | N | MN\n\
         S2 | 20/04/2026 | PDI | Chain | Y | KB",
    ),
    (
        "check",
        "Stock No | Item | Tick | Tech | Date | Remarks\n\
         S1 | Front brake | ✓ | KB | 03/04/2026 | see note\n\
         S1 | Lights | ✗ | MN | 09/04/2026 | \n\
         S2 | Chain | ✓ | KB | 20/04/2026 | spongy",
    ),
    (
        "check",
        "Date | Reg | Type | Outcome | Signed by\n\
         03/04/2026 | AB26 CDE | PDI | Pass | KB\n\
         09/04/2026 | AC26 KLM | Quality check | Fail | MN\n\
         20/04/2026 | AB26 CDE | PDI | Pass | KB",
    ),
    (
        "ride",
        "Date | Reg | Rider | Miles | Top Speed | Notes\n\
         03/04/2026 | AB26 CDE | KB | 6 | 48 | see note\n\
         09/04/2026 | AC26 KLM | MN | 5 | 52 | \n\
         20/04/2026 | AB26 CDE | KB | 8 | 61 | spongy",
    ),
    (
        "ride",
        "Date | Reg | Rider | Start Miles | End Miles | Comments\n\
         03/04/2026 | AB26 CDE | KB | 412 | 412 | see note\n\
         09/04/2026 | AC26 KLM | MN | 1204 | 1204 | \n\
         20/04/2026 | AB26 CDE | KB | 688 | 688 | spongy",
    ),
    (
        "ride",
        "Road Test Date | Reg | Tester | Distance | Max mph | GPS/Speedo | Faults\n\
         03/04/2026 | AB26 CDE | KB | 6 | 48 | GPS | see note\n\
         09/04/2026 | AC26 KLM | MN | 5 | 52 | speedo | \n\
         20/04/2026 | AB26 CDE | KB | 8 | 61 | GPS | spongy",
    ),
    (
        "ride",
        "VIN | Road Test No | Date | Miles | Tested By | OK\n\
         XHRWFL40026000101 | 1 | 03/04/2026 | 6 | KB | Y\n\
         XHRWMR65026000102 | 1 | 09/04/2026 | 5 | MN | N\n\
         XHRWFL40026000101 | 2 | 20/04/2026 | 8 | KB | Y",
    ),
    (
        "ride",
        "Date | Bike | Odo Start | Odo End | Ridden By | Top Speed (mph)\n\
         03/04/2026 | AB26 CDE | 412 | 412 | KB | 48\n\
         09/04/2026 | AC26 KLM | 1204 | 1204 | MN | 52\n\
         20/04/2026 | AB26 CDE | 688 | 688 | KB | 61",
    ),
    (
        "ride",
        "Stock No | Ride | Date | Rider | Miles\n\
         S1 | 1 | 03/04/2026 | KB | 6\n\
         S2 | 1 | 09/04/2026 | MN | 5\n\
         S1 | 2 | 20/04/2026 | KB | 8",
    ),
    (
        "ride",
        "Trip Date | Reg | Distance (miles) | Duration | Avg Speed | Max Speed | Device\n\
         03/04/2026 | AB26 CDE | 6 | 09:30 | 48 | 48 | GPS\n\
         09/04/2026 | AC26 KLM | 5 | 11:00 | 52 | 52 | GPS\n\
         20/04/2026 | AB26 CDE | 8 | 14:15 | 61 | 61 | GPS",
    ),
    (
        "fill",
        "Date | Reg | Litres | Price per litre | Total | Grade | Mileage | Full?\n\
         03/04/2026 | AB26 CDE | 9.4 | £45.00 | £45.00 | E5 | 412 | Y\n\
         09/04/2026 | AC26 KLM | 10.2 | £65.00 | £65.00 | E10 | 1204 | N\n\
         20/04/2026 | AB26 CDE | 8.1 | £32.50 | £32.50 | E5 | 688 | Y",
    ),
    (
        "fill",
        "Date | Reg | Fuel | Ltrs | Cost | Odo\n\
         03/04/2026 | AB26 CDE | E5 | 9.4 | £45.00 | 412\n\
         09/04/2026 | AC26 KLM | E10 | 10.2 | £65.00 | 1204\n\
         20/04/2026 | AB26 CDE | E5 | 8.1 | £32.50 | 688",
    ),
    (
        "fill",
        "Fill Date | Bike | Pump | Volume | £ | Miles | Brim\n\
         03/04/2026 | AB26 CDE | E5 | 9.4 | £45.00 | 412 | Y\n\
         09/04/2026 | AC26 KLM | E10 | 10.2 | £65.00 | 1204 | N\n\
         20/04/2026 | AB26 CDE | E5 | 8.1 | £32.50 | 688 | Y",
    ),
    (
        "fill",
        "Date | Reg | Site | Product | Qty | Unit Price | Amount | Odometer | Card No\n\
         03/04/2026 | AB26 CDE | Tollgate | E5 | 9.4 | £45.00 | £45.00 | 412 | J101\n\
         09/04/2026 | AC26 KLM | Tollgate | E10 | 10.2 | £65.00 | £65.00 | 1204 | J102\n\
         20/04/2026 | AB26 CDE | Tollgate | E5 | 8.1 | £32.50 | £32.50 | 688 | J103",
    ),
    (
        "fill",
        "Date | Reg | E5/E10 | L | Mls\n\
         03/04/2026 | AB26 CDE | E5 | 9.4 | 412\n\
         09/04/2026 | AC26 KLM | E10 | 10.2 | 1204\n\
         20/04/2026 | AB26 CDE | E5 | 8.1 | 688",
    ),
    (
        "reading",
        "Date | Reg | Mileage\n\
         03/04/2026 | AB26 CDE | 412\n\
         09/04/2026 | AC26 KLM | 1204\n\
         20/04/2026 | AB26 CDE | 688",
    ),
    (
        "reading",
        "Date | Reg | Mileage | Source | Who\n\
         03/04/2026 | AB26 CDE | 412 | MOT | KB\n\
         09/04/2026 | AC26 KLM | 1204 | phone | MN\n\
         20/04/2026 | AB26 CDE | 688 | visit | KB",
    ),
    (
        "reading",
        "Date | Reg | Customer | Mileage | Reason\n\
         03/04/2026 | AB26 CDE | J Ashgrove | 412 | phone call\n\
         09/04/2026 | AC26 KLM | P Dunmore | 1204 | visit\n\
         20/04/2026 | AB26 CDE | J Ashgrove | 688 | visit",
    ),
    (
        "reading",
        "VIN | Odometer Reading | Reading Date | Unit\n\
         XHRWFL40026000101 | 412 | 03/04/2026 | mi\n\
         XHRWMR65026000102 | 1204 | 09/04/2026 | mi\n\
         XHRWFL40026000101 | 688 | 20/04/2026 | mi",
    ),
];

#[test]
fn the_rows_of_a_sheet_are_told_by_its_columns_alone() {
    let mut wrong = String::new();
    for (kind, lines) in SHEETS {
        let read_as = recognise(&table("a.csv", lines), None, DateOrder::DayFirst);
        let found = read_as.kind.map_or("nothing", RecordKind::name);
        if found != *kind {
            wrong.push_str(&format!("{kind}, not {found}: {}\n", lines.lines().next().unwrap_or_default()));
        }
    }
    assert_eq!(wrong, "");
}

#[test]
fn a_diary_of_what_is_booked_is_refused_and_told() {
    let diaries = [
        "Date | Time | Reg | Customer | Phone | Job | Booked By | Est Hours\n\
         20/05/2026 | 09:30 | AB26 CDE | J Ashgrove | 07700 900101 | First service | KB | 1.5",
        "Booking Date | Slot | Customer | Mobile | Reg | Work Required | Courtesy Bike\n\
         20/05/2026 | 09:30 | J Ashgrove | 07700 900101 | AB26 CDE | First service | Y",
        "MOT Date | Time | Reg | Customer | Phone | Fee | Result\n\
         03/04/2026 | 09:30 | AB26 CDE | J Ashgrove | 07700 900101 | 29.65 | Pass",
    ];
    for lines in diaries {
        let read_as = recognise(&table("a.csv", lines), None, DateOrder::DayFirst);
        let told = told(&read_as.problems);
        assert_eq!(read_as.kind, None, "{lines}");
        assert_eq!(told, ["A1 `` this looks like a diary of what is booked, so the sheet is not read"]);
    }
    // Where the work is done, or a sale was only booked by somebody, it is no diary.
    for (kind, lines) in [
        (
            "job",
            "Date | Time | Reg | Customer | Booked by | Work done\n20/05/2026 | 09:30 | AB26 CDE | J Ashgrove | KB | Chain",
        ),
        ("machine", "Reg | Model | Customer | Booked by\nAB26 CDE | Heron | J Ashgrove | KB"),
        (
            "machine",
            "Reg | Model | Customer | Handover | Time\nAB26 CDE | Heron | J Ashgrove | 20/05/2026 | 09:30",
        ),
    ] {
        let read_as = recognise(&table("a.csv", lines), None, DateOrder::DayFirst);
        assert_eq!(read_as.kind.map(RecordKind::name), Some(kind), "{lines}");
    }
}

#[test]
fn a_machines_row_may_have_its_inspection_point_by_point() {
    let lines = "Stock No | VIN | Model | PDI Date | PDI By | Battery | Brakes | Chain | Road Test | Cleaned | Handover Date\n\
                 S1 | GX3GN125ASD000301 | Heron | 13/04/2026 | KB | \u{2713} | \u{2713} | \u{2717} | 13/04/2026 | \u{2713} | 20/05/2026";
    assert_eq!(
        columns_of(&table("a.csv", lines)),
        [
            "machine",
            "Stock No: stock number",
            "VIN: frame number",
            "Model: model",
            "PDI Date: pre-delivery inspection day",
            "PDI By: pre-delivery inspection by",
            "Battery: check item",
            "Brakes: check item",
            "Chain: check item",
            "Road Test: first ride day",
            "Handover Date: handover",
        ]
    );
}

#[test]
fn a_check_log_is_known_by_its_items_and_results_whatever_they_are_called() {
    for (header, kind) in [
        ("Vehicle Reg | When | Checked | Verdict | Who", "check"),
        ("Reg | Date | Checked | Result | Checked by", "check"),
        ("Reg | Dated | Check done | Result (P/F) | Inspector name", "check"),
        ("Reg | Signed on | Which check | Mark | Initialled by", "check"),
        ("Reg | Date | Kind of check | Outcome | Sign off", "check"),
        ("Reg | Date | Inspection stage | Result | QC'd by", "check"),
        ("Reg | Date | Work | Result | Name", "check"),
    ] {
        let lines = format!(
            "{header}\nAB12CDE | 13/05/2026 | PDI | Pass | SV\nAB13CDE | 14/05/2026 | QC | Fail | MW"
        );
        let headers: Vec<&str> = header.split(" | ").collect();
        let fields = ["mark", "day", "item", "result", "by"];
        let expected: Vec<String> = std::iter::once(kind.to_owned())
            .chain(headers.iter().zip(fields).map(|(header, field)| {
                // A name may be the customer's.
                format!("{header}: {field}{}", if *header == "Name" { "?" } else { "" })
            }))
            .collect();
        assert_eq!(columns_of(&table("a.csv", &lines)), expected);
    }
}

#[test]
fn a_log_keeps_its_day_under_a_header_that_is_also_something_else() {
    let job = "Job done | Reg | What was done | Clock | Oil poured\n\
               13/05/2026 | AB12CDE | first service | 612 | 10W-40\n14/05/2026 | AB13CDE | chain | 900 | ";
    assert_eq!(
        columns_of(&table("a.csv", job)),
        ["job", "Job done: day", "Reg: mark", "What was done: done", "Clock: clock", "Oil poured: oil used"]
    );
    for header in ["Dated", "Reading taken", "As of"] {
        let lines =
            format!("Reg | {header} | Dash mileage\nAB12CDE | 13/05/2026 | 612\nAB13CDE | 14/05/2026 | 900");
        let expected = ["reading", "Reg: mark", &format!("{header}: day"), "Dash mileage: clock"];
        assert_eq!(columns_of(&table("a.csv", &lines)), expected);
    }
    let ride = "Reg | Taken | Mileage covered | Top speed | Meter | Name\n\
                AB12CDE | 13/05/2026 | 12 | 40 mph | GPS | Sam\nAB13CDE | 14/05/2026 | 11 | 41 mph | speedo | Jo";
    assert_eq!(
        columns_of(&table("a.csv", ride)),
        [
            "ride",
            "Reg: mark",
            "Taken: day",
            "Mileage covered: distance",
            "Top speed: top speed",
            "Meter: speed source",
            "Name: by?"
        ]
    );
    let fill = "Reg | Fill up date | Mileage when filled | Litres | E label | Tank filled\n\
                AB12CDE | 13/05/2026 | 612 | 8.1 | E5 | yes\nAB13CDE | 14/05/2026 | 900 | 6.0 | E10 | no";
    assert_eq!(
        columns_of(&table("a.csv", fill)),
        [
            "fill",
            "Reg: mark",
            "Fill up date: day",
            "Mileage when filled: clock",
            "Litres: litres",
            "E label: grade",
            "Tank filled: full"
        ]
    );
}

#[test]
fn checks_with_their_results_are_a_check_log_whatever_their_header_calls_them() {
    for header in ["Event", "Activity", "What happened", "Details", "Task"] {
        let lines = format!(
            "Date | Reg | {header} | Result | By\n15/11/2025 | AB75 CDE | PDI | pass | Sal\n\
             18/11/2025 | AB75 CDE | Quality check | pass | Tam\n16/11/2025 | AB75 CDF | PDI | fail | Sal"
        );
        check(
            &table("log.csv", &lines),
            &[
                "AB75 CDE: check; on 2025-11-15, item PDI, result Passed, by Sal",
                "AB75 CDE: check; on 2025-11-18, item Quality check, result Passed, by Tam",
                "AB75 CDF: check; on 2025-11-16, item PDI, result Failed, by Sal",
            ],
            &[],
        );
    }
}

#[test]
fn checks_and_road_tests_among_jobs_count_where_they_were_passed_and_are_told_of_otherwise() {
    let lines = "When | Reg | What | Miles | Who\n25/11/2025 | AB75 CDE | PDI | 1 | Sal\n\
                 26/11/2025 | AB75 CDE | Road test | 7 | Sal\n28/11/2025 | AB75 CDE | QC passed | 13 | Tam\n\
                 30/11/2025 | AB75 CDF | Mirror | 113 | Tam";
    check(
        &table("log.csv", lines),
        &[
            "AB75 CDE: job; on 2025-11-25, done PDI, clock 1 mi, by Sal",
            "AB75 CDE: job; on 2025-11-26, done Road test, clock 7 mi, by Sal",
            "AB75 CDE: job; on 2025-11-28, done QC passed, clock 13 mi, by Tam",
            "AB75 CDE: check; on 2025-11-28, item QC passed, result Passed, by Tam",
            "AB75 CDF: job; on 2025-11-30, done Mirror, clock 113 mi, by Tam",
        ],
        &[
            "C2 `PDI` 2 of 4 jobs name a check or a road test, which count for none here: a job does not say how a \
             check came out or how far a ride went",
        ],
    );
}
