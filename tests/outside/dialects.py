"""Scores how well the character that parts the cells of a text file is found: by Tickover, by Python's csv.Sniffer and by
clevercsv, each told that it is one of four.

The files as their packages ship them are labelled by eye: labels.csv names those that are not parted by commas. Since they
mostly are, the tables of all workbooks are written anew, too, as programs of other countries export them: by Python's csv
writer, with each delimiter, so that the label is certain. What has one column, or is not read at all, does not count.
"""

import collections
import csv
import datetime as dt
import os
import shutil
import sys

import clevercsv

import compare
import corpus
import others
import pages

HERE = os.path.dirname(os.path.abspath(__file__))
WRITTEN = os.path.join(HERE, "..", "..", "target", "outside", "written")
DELIMITERS = ",;\t|"
# What a detector is given of a file: clevercsv takes minutes over more.
SAMPLE_CHARACTERS = 6_000
ROWS_MAX = 200


def labelled():
    """The text files of the packages with their labels: (path, delimiter)."""
    with open(os.path.join(HERE, "labels.csv")) as labels:
        labels = {(row["package"], row["file"]): row["delimiter"] for row in csv.DictReader(labels)}
    files = [file for file in corpus.fetch_all() if file[2].lower().endswith(corpus.TEXTS)]
    unknown = set(labels) - {(package, name) for package, name, _ in files}
    assert not unknown, f"labels.csv names {unknown}"
    for package, name, path in files:
        delimiter = labels.get((package, name), ",").replace("tab", "\t")
        if delimiter != "none":
            yield path, delimiter


def written_cell(pair, decimal_comma):
    kind, value = pair
    if kind in ("number", "serial"):
        text = str(int(value)) if value == int(value) else repr(value)
        return text.replace(".", ",") if decimal_comma else text
    if kind == "day":
        return value.strftime("%d/%m/%Y" if value.time() == dt.time() else "%d/%m/%Y %H:%M")
    return "" if value is None else str(value)


def tables_of_workbooks():
    """The sheets of all workbooks that have a table to speak of, as rows of cells."""
    for _, _, path in corpus.fetch_all():
        reader = others.READERS.get(os.path.splitext(path)[1].lower())
        if reader is None:
            continue
        try:
            sheets = list(reader(path))
        except Exception:  # The comparison of cells tells of those.
            continue
        for sheet in sheets:
            rows = sorted({row for row, _ in sheet.cells})[:ROWS_MAX]
            width = max((column for row, column in sheet.cells if row in set(rows)), default=0)
            if len(rows) >= 3 and 2 <= width <= 60:
                yield [[sheet.cells.get((row, column)) for column in range(1, width + 1)] for row in rows]


WAYS = {
    "written with `,`": (",", False, csv.QUOTE_MINIMAL),
    "written with `;`": (";", False, csv.QUOTE_MINIMAL),
    "written with `;` and decimal commas": (";", True, csv.QUOTE_MINIMAL),
    "written with tabs": ("\t", False, csv.QUOTE_MINIMAL),
    "written with bars": ("|", False, csv.QUOTE_MINIMAL),
    "written with `;`, all in quotes": (";", False, csv.QUOTE_ALL),
}


def write_anew():
    """Each set of files that is written here, by its name: [(path, delimiter)]."""
    shutil.rmtree(WRITTEN, ignore_errors=True)
    os.makedirs(WRITTEN)
    sets, seen = collections.defaultdict(list), set()
    for number, table in enumerate(tables_of_workbooks()):
        # The same sheet lies in several packages, and in several forms of one workbook.
        key = repr(table)
        if key in seen:
            continue
        seen.add(key)
        for way, (name, (delimiter, decimal_comma, quoting)) in enumerate(WAYS.items()):
            path = os.path.join(WRITTEN, f"{number}-{way}.csv")
            with open(path, "w", newline="", encoding="utf-8", errors="replace") as file:
                writer = csv.writer(file, delimiter=delimiter, quoting=quoting)
                for row in table:
                    writer.writerow([written_cell(cell, decimal_comma) if cell else "" for cell in row])
            sets[name].append((path, delimiter))
    return sets


def ours(files):
    """Of each file whether we read the cells that its label gives; None where we refuse it, or it has one column."""
    for (path, delimiter), read in zip(files, compare.ours_of([path for path, _ in files])):
        sheet = others.text(path, delimiter)
        if not read["tables"] or all(column == 1 for _, column in sheet.cells):
            yield None
            continue
        found = compare.Tally()
        compare.compare_sheet(found, ("", ""), "", read["tables"][0], sheet, [])
        # Under a wrong delimiter hardly a cell is the same.
        otherwise = sum(row[4] for row in found.rows if row[3] == compare.UNEXPLAINED)
        yield otherwise * 20 <= len(sheet.cells)


def by_sniffer(sample):
    return csv.Sniffer().sniff(sample, DELIMITERS).delimiter


def by_clevercsv(sample):
    return clevercsv.Sniffer().sniff(sample, delimiters=list(DELIMITERS)).delimiter


def right(detect, path, delimiter):
    with open(path, "rb") as file:
        sample = others.decode(file.read())[:SAMPLE_CHARACTERS]
    try:
        return detect(sample) == delimiter
    except Exception:  # They tell by an exception that they found none.
        return False


def main():
    sets = {"as shipped": list(labelled()), **write_anew()}
    lines = ["| files | how many | Tickover | `clevercsv` | `csv.Sniffer` |", "|---|---|---|---|---|"]
    for name, files in sets.items():
        found = list(ours(files))
        counted = [file for file, right in zip(files, found) if right is not None]
        scores = [sum(bool(right) for right in found)]
        scores += [sum(right(detect, *file) for file in counted) for detect in (by_clevercsv, by_sniffer)]
        lines.append(f"| {name} | {len(counted)} | " + " | ".join(map(str, scores)) + " |")
        for (path, delimiter), is_right in zip(files, found):
            if is_right is False:
                print(f"missed: {os.path.relpath(path, HERE)} {delimiter!r}", file=sys.stderr)
    print("\n".join(lines))
    pages.put("dialects", lines)


if __name__ == "__main__":
    main()
