"""Intake against readers that others wrote: the same sheets, in turn, in the same run.

    target/python/bin/python -m pip install -r tests/bench/requirements.txt
    cargo bench --bench intake -- outside 20000

Each reader runs in a process of its own, which starts, reads all sheets of one file and ends: with its libraries, as it
would be used. For Tickover that is the benchmark's own program, with its reading process for workbooks. Printed are the
processor's time of all processes (the mean of the runs), how many times Tickover's it is, and the most memory that one
process took.
"""

import os
import subprocess
import sys

RUNS = 3
READERS = {
    "openpyxl": {
        "xlsx": "import openpyxl\nfor row in openpyxl.load_workbook(path, read_only=True, data_only=True).active.iter_rows(values_only=True): pass",
    },
    "pandas": {
        "csv": "import pandas; pandas.read_csv(path)",
        "xlsx": "import pandas; pandas.read_excel(path, sheet_name=None)",
        "xls": "import pandas; pandas.read_excel(path, sheet_name=None)",
    },
    "pandas with calamine": {
        "xlsx": "import pandas; pandas.read_excel(path, sheet_name=None, engine='calamine')",
        "xls": "import pandas; pandas.read_excel(path, sheet_name=None, engine='calamine')",
        "ods": "import pandas; pandas.read_excel(path, sheet_name=None, engine='calamine')",
    },
    "polars": {
        "csv": "import polars; polars.read_csv(path)",
        "xlsx": "import polars; polars.read_excel(path, sheet_id=0)",
        "xls": "import polars; polars.read_excel(path, sheet_id=0)",
        "ods": "import polars; polars.read_excel(path, sheet_id=0)",
    },
}  # fmt: skip


def run(command):
    """The seconds of work and the megabytes that a command took; None where it failed."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        return None
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def main():
    rows, folder, intake = sys.argv[1:]
    print(f"{rows} rows of 25 columns; the mean of {RUNS} runs, in turn")
    print(f"{'':<28} {'work ms':>9} {'times':>7} {'MB':>6}")
    for form in ["csv", "xlsx", "xls", "ods"]:
        path = os.path.join(folder, f"jobs-{rows}.{form}")
        way = "here" if form == "csv" else "child"
        commands = {"tickover": [intake, "measure-memory", way, path]}
        for reader, forms in READERS.items():
            if form in forms:
                commands[reader] = [sys.executable, "-c", f"path = {path!r}\n{forms[form]}"]
        taken = {reader: [] for reader in commands}
        for _ in range(RUNS):
            for reader, command in commands.items():
                taken[reader].append(run(command))
        ours = None
        for reader, runs in taken.items():
            if None in runs:
                print(f"{form:<5} {reader:<22} gave up")
                continue
            work = sum(work for work, _ in runs) / RUNS
            ours = ours or work
            print(f"{form:<5} {reader:<22} {work * 1e3:>9.0f} {work / ours:>7.2f} {max(mb for _, mb in runs):>6.0f}")


main()
