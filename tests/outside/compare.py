"""Compares every cell that Tickover reads with what an independent reader reads, over the files that other projects ship
as their tests (packages.csv).

    tests/outside/run                 all of it: fetches what is not there yet, writes differences.csv and README.md anew
    tests/outside/run compare FOLDERS the same for any folders, printed and not kept

    compare.py kept [--check]         the same for the sheets that the repository keeps, which other programs have made: writes
                                      kept.csv and README.md anew or, as the test command does, fails where they differ

It fails where a difference has no class that explains it.
"""

import collections
import csv
import datetime as dt
import io
import json
import math
import os
import re
import subprocess
import sys

import corpus
import others
import pages

HERE = os.path.dirname(os.path.abspath(__file__))
DEBUG = os.path.join(HERE, "..", "..", "target", "debug")
UNEXPLAINED = "unexplained"
# Where the sheets lie that the repository keeps and other programs have made.
KEPT = [os.path.join(HERE, "..", folder) for folder in ("../examples/shop/sheets", "sheets", "yards")]

# Each class of difference, and why it is none of ours to mend.
CLASSES = {
    "shown by its format": "a number whose format shows leading zeros or a unit is read as it shows",
    "day that no sheet means": "a date before 1950 or after 2100 is told as a fault",
    "never reckoned": "a formula without a kept value is told as a fault; the other reader has a blank or 0",
    "an empty text": "the formula's kept value is a text without a letter, which is a blank to us",
    "an escape": "a control character written as `_x000F_` stays as it is written",
    "an error, told": "the formula's value is an error, which the other reader takes for 0, a blank or a text",
    "under a merged range": "a cell that a merged range covers still holds a value; the other reader drops it",
    "a length by its format": "`[hh]` and `[ss]` alone are formats of a length of time; the other reader has a number",
    "time of day and day 0": "day 0 and 1 of the calendar are a mere time to us, and a day to the other reader",
    "error written as text": "a text such as #N/A is told as a fault",
    "wrapping taken off": "=\"00123\" and '00123 are read as 00123",
    "a stray quote": "rows that a stray quote swallows are given back; told with a note",
    "longer than a cell": "a text of more characters than a cell may have is told as a fault",
    "hidden": "the sheet is hidden, and left unread with a note",
    "sheet refused": "the sheet was not read, with a reason",
    "file refused": "the file was not read, with a reason",
    "beyond the limits": "cells beyond the limits are told, and not read",
    "the other reader failed": "the other reader cannot read the file; nothing to compare with",
    UNEXPLAINED: "to be looked at",
}


def ours_of(paths):
    """What the program reads of each file; a line a file."""
    cells = [os.path.join(DEBUG, "examples", "cells"), os.path.join(DEBUG, "tickover")]
    done = subprocess.run(cells, input="\n".join(paths), capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"the program that prints cells ended with {done.returncode}: {done.stderr[-2000:]}")
    read = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(read) == len(paths), "a line a file"
    return read


def kind_of(cell):
    """One of our cells as a pair of kind and value."""
    if isinstance(cell, dict):
        (kind, value), = cell.items()
        return (kind, dt.datetime.fromisoformat(value) if kind == "day" else value)
    if isinstance(cell, bool):
        return ("flag", cell)
    return ("number", cell) if isinstance(cell, (int, float)) else ("text", cell)


def serial_day(number, from_1904):
    base = dt.datetime(1904, 1, 1) if from_1904 else dt.datetime(1899, 12, 30)
    try:
        return base + dt.timedelta(seconds=round(number * 86400))
    except OverflowError:
        return None


def same(ours, theirs, sheet):
    """Whether two cells say the same; of days and times to the second."""
    (kind, value), (other, expected) = ours, theirs
    if other == "serial":
        if kind == "day":
            epochs = (False, True) if sheet.from_1904 is None else (sheet.from_1904,)
            return any(value == serial_day(expected, from_1904) for from_1904 in epochs)
        if kind == "seconds":
            return value == round(expected * 86400)
        other = "number"
    if kind == "text" and other == "text":
        return others.tidy(expected) == value
    if kind == "number" and other == "number":
        return value == expected or math.isclose(value, expected, rel_tol=1e-15)
    if kind == "day" and other == "day":
        return abs((value - expected).total_seconds()) <= 0.5
    if kind == "seconds" and other == "seconds":
        return abs(value - expected) <= 0.5
    if kind == "fault" and other == "error":
        return value == expected
    if kind == "fault" and other == "unvalued":
        return value.startswith("formula without a value")
    return kind == other and value == expected


def explained(ours, theirs, sheet, place, told):
    """The class of a difference in one cell."""
    kind, value = ours or (None, None)
    other, expected = theirs or (None, None)
    if kind == "fault":
        if value.startswith("formula without a value"):
            return "never reckoned"
        if value.startswith(("day number", "text of")):
            return "day that no sheet means" if value.startswith("day") else "longer than a cell"
        if value.startswith("formula with an error") or other in ("number", "serial", None):
            return "an error, told"
        if other in ("day", "seconds"):
            return "day that no sheet means"
        if other == "text" and others.tidy(expected) == value:
            return "error written as text"
        if other == "error":
            return "an error, told"
    if kind == "text" and other in ("number", "serial"):
        digits = re.fullmatch(r"0*(\d+)", value)
        if digits and float(digits[1]) == expected and set(sheet.formats.get(place, "0")) == {"0"}:
            return "shown by its format"
        if re.fullmatch(r"[-\d.e]+ \S.*", value) and float(value.split(" ")[0]) == expected:
            return "shown by its format"
    if kind == "seconds" and other == "number" and value == round(expected * 86400):
        return "a length by its format"
    if kind == "seconds" and other == "day" and expected.year < 1901:
        return "time of day and day 0"
    if kind == "text" and other == "text":
        bare = others.tidy(expected)
        if bare in (f'="{value}"', f"'{value}"):
            return "wrapping taken off"
    if kind == "text" and re.search("_x[0-9A-Fa-f]{4}_", value):
        return "an escape"
    if ours is None and other == "unvalued":
        return "an empty text"
    if theirs is None and place in sheet.covered:
        return "under a merged range"
    if any("quote mark" in what for what in told):
        return "a stray quote"
    if ours is None and any(" beyond column " in what for what in told):
        return "beyond the limits"
    return UNEXPLAINED


class Tally:
    """What was compared, and what differed."""

    def __init__(self):
        self.rows, self.forms = [], collections.defaultdict(collections.Counter)
        self.classes = collections.defaultdict(collections.Counter)

    def differs(self, package, name, sheet, place, ours, theirs, why, cells=1):
        self.classes[why]["cells"] += cells
        row = self.rows[-1] if self.rows else None
        key = [package, name, sheet or "", why]
        if row and row[:4] == key:
            row[4] += cells
            return
        self.classes[why]["places"] += 1
        self.rows.append(key + [cells, place, ours, theirs])


def shown(pair):
    if pair is None:
        return "blank"
    text = f"{pair[0]} {pair[1]}".replace("\n", " ")
    return text if len(text) <= 60 else text[:59] + "…"


def cell_name(place):
    row, column = place
    letters = ""
    while column:
        column, letter = divmod(column - 1, 26)
        letters = chr(65 + letter) + letters
    return f"{letters}{row}"


def compare_sheet(tally, where, form, table, sheet, told):
    ours = {
        (number, column): kind_of(cell)
        for number, cells in (table["rows"] if table else [])
        for column, cell in enumerate(cells, 1)
        if cell is not None
    }
    count = tally.forms[form]
    for place in sorted(set(ours) | set(sheet.cells)):
        mine, theirs = ours.get(place), sheet.cells.get(place)
        count["cells"] += 1
        if mine is None or theirs is None or not same(mine, theirs, sheet):
            why = explained(mine, theirs, sheet, place, told)
            tally.differs(*where, sheet.name, cell_name(place), shown(mine), shown(theirs), why)


def compare_workbook(tally, where, path, read):
    form = os.path.splitext(path)[1].lower()
    count = tally.forms[form]
    count["files"] += 1
    told = {problem["sheet"]: problem["what"] for problem in read["problems"]}
    tables = {table["sheet"]: table for table in read["tables"]}
    try:
        sheets = list(others.READERS[form](path))
        assert sheets or not tables, "it sees no sheet"
    except Exception as error:  # Whatever the other reader stumbles over.
        why = "the other reader failed" if tables else "file refused"
        ours = f"{len(tables)} sheets" if tables else told.get(None, "nothing told")
        tally.differs(*where, None, "", ours, f"{type(error).__name__}: {error}"[:60], why)
        return
    if not tables and None in told and "no sheet with anything" not in told[None]:
        cells = sum(len(sheet.cells) for sheet in sheets)
        tally.differs(*where, None, "", told[None], f"{cells} cells", "file refused")
        return
    for sheet in sheets:
        count["sheets"] += 1
        if sheet.name not in tables and (sheet.name in told or not sheet.cells):
            if sheet.cells:
                why = "hidden" if "hidden" in told[sheet.name] else "sheet refused"
                tally.differs(*where, sheet.name, "", told[sheet.name], f"{len(sheet.cells)} cells", why)
            continue
        problems = [problem["what"] for problem in read["problems"] if problem["sheet"] in (None, sheet.name)]
        compare_sheet(tally, where, form, tables.pop(sheet.name, None), sheet, problems)
    for name in tables:
        tally.differs(*where, name, "", f"{len(tables[name]['rows'])} rows", "no such sheet", UNEXPLAINED)


def compare_text(tally, where, path, read):
    """A text file, under the delimiter by which the two agree best: whether it is right is dialects.py's to score."""
    tally.forms[".csv"]["files"] += 1
    told = [problem["what"] for problem in read["problems"]]
    if not read["tables"]:
        tally.differs(*where, None, "", told[0] if told else "nothing told", "", "file refused")
        return
    tries = []
    for delimiter in ",;\t|":
        one = Tally()
        compare_sheet(one, where, ".csv", read["tables"][0], others.text(path, delimiter), told)
        tries.append((sum(row[4] for row in one.rows), one))
    best = min(tries, key=lambda found: found[0])[1]
    tally.forms[".csv"]["sheets"] += 1
    tally.forms[".csv"]["cells"] += best.forms[".csv"]["cells"]
    for row in best.rows:
        tally.differs(*where, None, row[5], row[6], row[7], row[3], row[4])


def compare(files):
    tally = Tally()
    reads = ours_of([path for _, _, path in files])
    for (package, name, path), read in zip(files, reads):
        workbook = path.lower().endswith(corpus.WORKBOOKS)
        (compare_workbook if workbook else compare_text)(tally, (package, name), path, read)
    return tally


def tables(tally):
    lines = ["| form | files | sheets | cells | held against |", "|---|---|---|---|---|"]
    readers = {".ods": "ezodf", ".xls": "xlrd", ".xlsb": "pyxlsb", ".csv": "Python's `csv`"}
    for form, count in sorted(tally.forms.items()):
        reader = readers.get(form, "openpyxl")
        lines.append(f"| `{form}` | {count['files']} | {count['sheets']} | {count['cells']:,} | {reader} |")
    lines += ["", "| difference | cells (sheets, files) | why it stays |", "|---|---|---|"]
    for why, explanation in CLASSES.items():
        if why in tally.classes:
            lines.append(f"| {why} | {tally.classes[why]['cells']:,} | {explanation} |")
    return lines


def files_in(folder):
    return [
        ("", os.path.relpath(os.path.join(place, name), folder), os.path.join(place, name))
        for place, _, names in sorted(os.walk(folder))
        for name in sorted(names)
        if name.lower().endswith(corpus.WORKBOOKS + corpus.TEXTS)
    ]


def write(name, rows):
    """The differences as the text of such a file, and where it lies."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["package", "file", "sheet", "difference", "cells", "first", "ours", "theirs"])
    writer.writerows(rows)
    return text.getvalue(), os.path.join(HERE, name)


def main(*arguments):
    is_kept, is_check = arguments[:1] == ("kept",), arguments[1:] == ("--check",)
    folders = KEPT if is_kept else arguments
    files = [file for folder in folders for file in files_in(folder)] if folders else corpus.fetch_all()
    if not files:
        sys.exit("there is nothing to compare")
    tally = compare(files)
    print("\n".join(tables(tally)))
    rows = sorted(tally.rows)
    for row in rows:
        if row[3] == UNEXPLAINED:
            print(*row, sep=" | ")
    if is_kept or not folders:
        name = "kept" if is_kept else "cells"
        text, path = write("kept.csv" if is_kept else "differences.csv", rows)
        if is_check:
            with open(path, newline="") as kept:
                if kept.read() != text or not pages.has(name, tables(tally)):
                    sys.exit(f"{text}this is not what {path} and README.md beside it say; see `compare.py kept`")
        else:
            with open(path, "w", newline="") as kept:
                kept.write(text)
            pages.put(name, tables(tally))
    return UNEXPLAINED in tally.classes


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
