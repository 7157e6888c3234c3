"""Makes the golden tables that come from independent reference libraries.

    pip install -r requirements.txt
    python make_golden.py FOLDER      writes the tables into FOLDER
    python make_golden.py --check     compares them with the committed ones; fails on a difference

months_after.csv   python-dateutil's relativedelta, which clamps to the month's last day
theil_sen.csv      scipy.stats.theilslopes; its first case is the example of Sen (1968), which scipy's own
                   tests hold, and `norris` are the x and y of NIST's certified regression data set
lower_fences.csv   Tukey's lower inner fence from the quartiles of Python's statistics.quantiles
bank_holidays.csv  the holidays library: every day kept in a year, and which of them are substitutes
easter.csv         python-dateutil's easter, Western method
frame_numbers.csv  vininfo's check of the digit that 49 CFR 565.15 asks for
The other tables of this folder are written by hand; each row names its source.
"""

import csv
import datetime
import io
import math
import pathlib
import random
import statistics
import sys
import warnings

import holidays
import scipy
from dateutil.easter import easter
from dateutil.relativedelta import relativedelta
from scipy.stats import norm, theilslopes
from vininfo import Vin

HERE = pathlib.Path(__file__).parent


def table(header, rows):
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    return text.getvalue()


def months_after():
    bases = """2025-01-28 2025-01-29 2025-01-30 2025-01-31 2024-01-31 2025-03-31 2025-08-31
               2024-02-29 2025-02-28 2025-04-30 2025-12-31 2023-10-31 1978-09-30""".split()
    rows = [
        (base, months, datetime.date.fromisoformat(base) + relativedelta(months=months))
        for base in bases
        for months in (1, 2, 3, 4, 6, 12, 24, 36, 48)
    ]
    return table(["start", "months", "end_clamped"], rows)


def norris():
    path = pathlib.Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"
    pairs = [line.split() for line in path.read_text().splitlines()[60:] if line.strip()]
    return [float(x) for _, x in pairs], [float(y) for y, _ in pairs]


def series():
    """Named series of x and y with the confidence asked for."""
    sen = [1, 2, 3, 4, 10, 12, 18], [9, 15, 19, 20, 45, 55, 78]
    yield "Sen 1968", 0.93, *sen
    yield "Sen 1968", 0.90, *sen
    yield "one outlier (Helsel and Hirsch)", 0.90, range(1, 8), [1, 2, 3, 4, 5, 16, 7]
    yield "odometer in km", 0.90, [0, 31, 59, 92, 120, 151], [120, 640, 1015, 1630, 2080, 2610]
    yield "odometer in km", 0.95, [0, 31, 59, 92, 120, 151], [120, 640, 1015, 1630, 2080, 2610]
    yield "three readings", 0.90, [0, 10, 30], [5, 90, 300]
    yield "standing still", 0.90, [0, 10, 30, 44], [412, 412, 412, 412]
    yield "norris", 0.95, *norris()
    chance = random.Random(1968)
    for count in (3, 4, 5, 6, 7, 9, 12, 16, 20, 25, 32, 40):
        day, clock, days, clocks = 0, chance.randrange(10), [], []
        for _ in range(count):
            day += chance.randrange(1, 25)
            # Every third gap stands still, so that there are ties to correct for.
            clock += 0 if chance.randrange(3) == 0 else chance.randrange(1, 300)
            days.append(day)
            clocks.append(clock)
        yield f"by chance, {count} readings", 0.90, days, clocks
        # The same with days that come twice.
        yield f"by chance, {count} readings, days twice", 0.90, [day // 20 for day in days], clocks


def theil_sen():
    rows = []
    for name, confidence, x, y in series():
        x, y = list(x), list(y)
        if len(set(x)) < 2:
            continue
        found = theilslopes(y, x, alpha=confidence)
        if math.isnan(found.low_slope):
            # More ties than the formula can bear: scipy gives no interval.
            continue
        points = " ".join(f"{left!r}:{right!r}" for left, right in zip(x, y))
        z = float(norm.ppf((1 - confidence) / 2))
        slopes = [repr(float(slope)) for slope in (found.slope, found.low_slope, found.high_slope)]
        rows.append((name, confidence, repr(z), points, *slopes))
    return table(["name", "confidence", "z", "points", "median", "lowest", "highest"], rows)


def lower_fences():
    chance = random.Random(1977)
    rows = []
    for count in (6, 7, 8, 9, 13, 30, 50):
        values = [round(chance.gauss(110, 8), 1) for _ in range(count)]
        lower, _, upper = statistics.quantiles(values, n=4, method="inclusive")
        rows.append((" ".join(map(repr, values)), repr(lower - 1.5 * (upper - lower))))
    return table(["values", "fence"], rows)


def frame_numbers():
    # 1G4AH59H45G118341 is the sample of the regulation itself (49 CFR 565.15), 1J9RP1A36A1644345 that of the NHTSA
    # outline of it (page 18). 1T9TK125XKA000004 is invented for a check digit of ten; the last three have one wrong.
    numbers = """1G4AH59H45G118341 1J9RP1A36A1644345 1T9TK125XKA000004 11111111111111111
                 1T9TK1250KA000004 1G4AH59H55G118341 1T9TK125XKA000005""".split()
    rows = [(number, str(Vin(number).verify_checksum()).lower()) for number in numbers]
    return table(["frame_number", "check_digit_fits"], rows)


def bank_holidays():
    rows = []
    for part in ("ENG", "WLS", "SCT", "NIR"):
        # The first year of St Andrew's Day to the last that the library has checked.
        for year in range(2008, 2051):
            kept = sorted(holidays.country_holidays("GB", subdiv=part, years=year).items())
            # A day that is a holiday in its own right, too, has both names.
            substitutes = [day for day, name in kept if all(one.endswith("(observed)") for one in name.split("; "))]
            written = (" ".join(f"{day:%m-%d}" for day in days) for days in ([day for day, _ in kept], substitutes))
            rows.append((part, year, *written))
    return table(["part", "year", "days", "substitutes"], rows)


def easters():
    return table(["year", "easter"], [(year, easter(year)) for year in range(1900, 2200)])


TABLES = {
    "bank_holidays.csv": bank_holidays,
    "easter.csv": easters,
    "months_after.csv": months_after,
    "theil_sen.csv": theil_sen,
    "lower_fences.csv": lower_fences,
    "frame_numbers.csv": frame_numbers,
}


def main(arguments):
    if len(arguments) != 1:
        sys.exit(__doc__)
    warnings.simplefilter("ignore", RuntimeWarning)  # the ties above
    if arguments[0] == "--check":
        differing = [name for name, make in TABLES.items() if (HERE / name).read_text() != make()]
        for name in differing:
            print(f"{name} differs from what the reference library says")
        sys.exit(1 if differing else 0)
    folder = pathlib.Path(arguments[0])
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in TABLES.items():
        (folder / name).write_text(make())


main(sys.argv[1:])
