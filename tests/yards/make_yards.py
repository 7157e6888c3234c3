"""Make the sheets of the two foreign yards anew, or compare them.

    python tests/yards/make_yards.py              writes both yards' sheets
    python tests/yards/make_yards.py --check      says which cells differ; exit code 1 if any
"""

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent.parent / "examples"))

from sheet_files import File, Sheet, rows, run  # noqa: E402  (the path is set above)

# --- all-logs-csv: every file a log, UTF-16 with semicolons, clocks in km, decimal commas, no kind column ----------

STOCK_LIST = """
Number plate | Chassis number | Maker | Model | Displacement | Registered on | Delivered on | Rider | Contact
JT25 HBA | GX3GN125ASD000301 | Kestermoor | Gantry 125 | 124 cc | 08.05.2025 | 12.05.2025 | D. Imre | 07700 900601
JU75 KCB | GX2SP125ASD000302 | Wrenfold | Spindle 125 | 124 cc | 04.09.2025 | 08.09.2025 | A. Solheim | 07700 900602
TU75 LDC | GX2SP125ASD000303 | Wrenfold | Spindle 125 | 124 cc | 16.10.2025 | 20.10.2025 | M. Varga | 07700 900603
UJ75 MED | GX3GN125ASD000304 | Kestermoor | Gantry 125 | 124 cc | 23.10.2025 | 27.10.2025 | K. Oduya | 07700 900604
JT75 NFE | GX3GN125ASD000305 | Kestermoor | Gantry 125 | 124 cc | 09.10.2025 | 13.10.2025 | P. Lehtinen | 07700 900605
UT74 PGF | GX2SP125ARD000306 | Wrenfold | Spindle 125 | 124 cc | 31.10.2024 | 04.11.2024 | S. Brandao | 07700 900606
JT72 RHG | GX3GN125AND000307 | Kestermoor | Gantry 125 | 124 cc | 14.11.2022 | 18.11.2022 | T. Akintola | 07700 900607
UJ75 SJH | GX2SP125ASD000308 | Wrenfold | Spindle 125 | 124 cc | 13.11.2025 | 19.11.2025 | E. Castro | 07700 900608
"""
ODOMETERS = """
Read on | Number plate | Odometer (km)
12.05.2025 | JT25 HBA | 20
08.09.2025 | JU75 KCB | 18
06.10.2025 | JU75 KCB | 410
13.10.2025 | JT75 NFE | 19
20.10.2025 | TU75 LDC | 19
03.11.2025 | JU75 KCB | 780
03.11.2025 | TU75 LDC | 96
03.11.2025 | JT75 NFE | 240
10.11.2025 | JT25 HBA | 1850
10.11.2025 | UT74 PGF | 2310
10.11.2025 | JT72 RHG | 11900
14.11.2025 | TU75 LDC | 160
15.11.2025 | JU75 KCB | 1005
"""
SPANNERING = """
Finished on | Number plate | Work carried out | Odometer (km) | Oil filled | Fitter
20.01.2023 | JT72 RHG | First service | 990 | 10W-40 MA | RT
15.01.2025 | UT74 PGF | First service | 940 | 10W-40 MB | RT
11.08.2025 | JT72 RHG | Annual service, brake fluid | 11200 | 10W-40 MA2 | LW
08.09.2025 | JT25 HBA | First service | 960 | 10W-40 MB | LW
"""
PRE_DELIVERY = """
Checked on | Number plate | Inspection point | Outcome | Signed by
04.09.2025 | JU75 KCB | Pre-delivery inspection | passed | RT
05.09.2025 | JU75 KCB | Quality check | passed | LW
09.10.2025 | JT75 NFE | Pre-delivery inspection | passed | LW
10.10.2025 | JT75 NFE | Quality check | passed | RT
16.10.2025 | TU75 LDC | Pre-delivery inspection | passed | RT
17.10.2025 | TU75 LDC | Quality check | passed | LW
23.10.2025 | UJ75 MED | Pre-delivery inspection | passed | RT
24.10.2025 | UJ75 MED | Quality check | passed | LW
13.11.2025 | UJ75 SJH | Pre-delivery inspection | passed | LW
14.11.2025 | UJ75 SJH | Quality check | passed | RT
"""
TEST_RIDES = """
Ridden on | Number plate | Distance (km) | Top speed (km/h) | Speed from | Ridden by
04.09.2025 | JU75 KCB | 8,5 | 55 | speedometer | RT
05.09.2025 | JU75 KCB | 9,2 | 57 | speedometer | LW
09.10.2025 | JT75 NFE | 8,8 | 58 | speedometer | LW
10.10.2025 | JT75 NFE | 9,0 | 59 | speedometer | RT
16.10.2025 | TU75 LDC | 8,6 | 56 | speedometer | RT
17.10.2025 | TU75 LDC | 8,4 | 57 | speedometer | LW
23.10.2025 | UJ75 MED | 9,1 | 60 | speedometer | RT
24.10.2025 | UJ75 MED | 8,7 | 58 | speedometer | LW
08.11.2025 | JT75 NFE | 41,3 | 82 | satellite | customer
13.11.2025 | UJ75 SJH | 9,5 | 55 | speedometer | LW
"""
PETROL = """
Filled on | Number plate | Litres | Fuel grade
09.11.2025 | JT75 NFE | 7,9 | E10
11.11.2025 | TU75 LDC | 4,2 | E5
12.11.2025 | JT72 RHG | 9,4 |
"""


def log(name, block):
    """A log as this yard's program writes it."""
    return File(f"all-logs-csv/sheets/{name}.csv", [Sheet("", rows(block))], separator=";", encoding="utf-16")


# --- one-wide-workbook: one row a machine, two header rows with merged parents ------------------------------------

BIKE_BOOK = """
 | | | | | | | | | | | | Last service | | | | | | | | Ride 1 | | | Ride 2 | | |
Reg no | VIN | Make | Model | Type | CC | Registered | Handed over | Customer | Mobile | Mileage | Mileage date | Work done | Date | Miles | Oil | PDI | PDI by | QC | QC by | Date | Miles | Top mph | Date | Miles | Top mph | MOT due
JT75 VKA | GX1FM125ASD000401 | Tarrowby | Fathom 125 | Motorcycle | #125 | @2025-12-18 | @2025-12-22 | A Merriweather | 07700 900701 | #520 | @2026-02-12 | | | | | Y | Tom | Y | Ines | @2025-12-17 | #5.2 | #36 | @2025-12-18 | #5.3 | #35 |
JU75 WLB | GX1FM125ASD000402 | Tarrowby | Fathom 125 | Motorcycle | #125 | @2026-01-22 | @2026-01-26 | B Castellan | 07700 900702 | #60 | @2026-02-10 | | | | | Y | Tom | | | @2026-01-21 | #5.0 | #35 | @2026-01-22 | #5.4 | #36 |
TU25 XMC | GX1FM125ASD000403 | Tarrowby | Fathom 125 | Motorcycle | #125 | @2025-06-17 | @2025-06-20 | C Rowanhurst | 07700 900703 | #2610 | @2026-02-09 | First service | @2025-09-15 | #505 | 10W-40 MA2 | Y | Ines | Y | Tom | | | | | | |
UJ25 YNB | GX3TR400ASD000404 | Kestermoor | Trestle 400 | Motorcycle | #398 | @2025-07-11 | @2025-07-15 | D Pemberlow | 07700 900704 | #1300 | @2026-02-02 | First service | @2025-10-01 | #600 | 10W-50 MB | Y | Tom | Y | Ines | | | | | | |
JT23 ZPD | GX2TH050APD000405 | Wrenfold | Thimble 50 | Moped | #49 | @2023-03-03 | | E Jarnell | 07700 900705 | #4210 | @2026-01-30 | | | | | | | | | | | | | | | @2026-03-02
JU22 ARE | GX1FM125AND000406 | Tarrowby | Fathom 125 | Motorcycle | #125 | @2022-05-30 | | F Ostrander | 07700 900706 | #9120 | @2026-01-12 | | | | | | | | | | | | | | | @2026-11-30
UT75 BSF | GX2SP125ATD000407 | Wrenfold | Spindle 125 | Scooter | #124 | @2026-02-13 | @2026-02-20 | G Halvorsen | 07700 900707 | | | | | | | Y | Ines | Y | Tom | @2026-02-13 | #5.5 | #34 | | | |
TU75 CTG | GX1FM125ATD000408 | Tarrowby | Fathom 125 | Motorcycle | #125 | @2026-02-12 | @2026-02-19 | H Quennell | 07700 900708 | | | | | | | Y | Tom | Y | Ines | @2026-02-12 | #5.1 | #36 | @2026-02-13 | #5.2 | #36 |
UJ75 FXK | GX1FM125ATD000409 | Tarrowby | Fathom 125 | Motorcycle | #125 | @2026-01-15 | @2026-01-19 | J Amblecote | 07700 900709 | | | | | | | Y | Ines | Y | Tom | @2026-01-14 | #5.0 | #35 | @2026-01-15 | #5.6 | #36 |
"""

FILES = [
    log("stock list", STOCK_LIST),
    log("odometers", ODOMETERS),
    log("spannering", SPANNERING),
    log("pre-delivery", PRE_DELIVERY),
    log("test rides", TEST_RIDES),
    log("petrol", PETROL),
    File(
        "one-wide-workbook/sheets/bike book.xlsx",
        [Sheet("Bikes", rows(BIKE_BOOK), ["M1:P1", "U1:W1", "X1:Z1"])],
    ),
]

if __name__ == "__main__":
    sys.exit(run(FILES, sys.argv[1:], HERE))
