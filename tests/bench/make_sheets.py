"""Makes one large sheet of an invented workshop in each form that the benchmarks read.

    target/python/bin/python tests/bench/make_sheets.py 100000 target/bench

Each row is a finished job in 25 columns: marks and names that repeat, notes that do not, days, whole and broken figures,
blanks. From a fixed seed, so that a sheet of one size is always the same. A .xls sheet ends at row 65,536; what is more
goes onto a second one. The .ods is written here, in the words of OpenDocument 1.2 with the attributes that LibreOffice
7.4 writes for each cell; the others come from their libraries.
"""

import csv
import datetime as dt
import os
import random
import sys
import zipfile
from xml.sax.saxutils import escape

import openpyxl
import xlwt
from openpyxl.cell import WriteOnlyCell

XLS_ROWS = 65_536
HEADERS = [
    "Job", "Reg No", "Frame No", "Make", "Model", "Colour", "cc", "Registered", "Job date", "Mileage", "Work done",
    "Oil", "Oil litres", "Filter", "Hours", "Labour", "Parts", "Total", "Technician", "Checked by", "Passed",
    "Next service", "Customer", "Phone", "Note",
]  # fmt: skip
MODELS = [f"Model {number}" for number in range(40)]
COLOURS = ["red", "black", "blue", "silver", "green", "white"]
WORK = ["First service", "Annual service", "Oil and filter", "Front tyre", "Brake pads", "Chain and sprockets", "MOT"]
STAFF = ["JB", "KT", "LM", "PW"]
WORDS = "chain adjusted, brake fluid changed, tyre worn on the left, customer waits, parts on order".split(", ")
LETTERS = "ABCDEFGHJKLMNOPRSTUVWXYZ"


def rows(count):
    """The header, then so many rows; a cell is a text, a number, a day or None."""
    figures = random.Random(20_260_302)
    yield HEADERS
    first = dt.date(2022, 1, 1)
    for number in range(count):
        machine = figures.randrange(max(count // 5, 1))
        registered = first + dt.timedelta(days=machine % 900)
        done = registered + dt.timedelta(days=figures.randrange(700))
        hours, parts = figures.randrange(1, 40) / 4, figures.randrange(0, 40_000) / 100
        yield [
            100_000 + number,
            f"AB{2 + machine % 48:02}{LETTERS[machine // 48 % 24]}{LETTERS[machine // 1152 % 24]}C",
            f"ZZTEST{machine:011}",
            "Marlow",
            MODELS[machine % 40],
            COLOURS[machine % 6],
            [50, 125, 300, 650][machine % 4],
            registered,
            done,
            figures.randrange(3, 60_000),
            figures.choice(WORK),
            "10W-40 MA2",
            figures.randrange(8, 40) / 10,
            "yes" if figures.random() < 0.5 else None,
            hours,
            hours * 62.5,
            parts,
            round(hours * 62.5 + parts, 2),
            figures.choice(STAFF),
            figures.choice(STAFF),
            "pass",
            done + dt.timedelta(days=365),
            f"Customer {machine}",
            f"01632 960{machine % 1000:03}",
            f"{figures.choice(WORDS)}; {figures.choice(WORDS)} (job {number})" if figures.random() < 0.4 else None,
        ]


def make_csv(path, count):
    with open(path, "w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        for row in rows(count):
            writer.writerow([cell.strftime("%d/%m/%Y") if isinstance(cell, dt.date) else cell for cell in row])


def make_xlsx(path, count):
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Jobs")

    def day(value):
        cell = WriteOnlyCell(sheet, value)
        cell.number_format = "dd/mm/yyyy"
        return cell

    for row in rows(count):
        sheet.append([day(cell) if isinstance(cell, dt.date) else cell for cell in row])
    book.save(path)


def make_xls(path, count):
    book = xlwt.Workbook()
    day = xlwt.easyxf(num_format_str="dd/mm/yyyy")
    sheet, row = book.add_sheet("Jobs"), 0
    for cells in rows(count):
        if row == XLS_ROWS:
            sheet, row = book.add_sheet("Jobs 2"), 0
        for column, cell in enumerate(cells):
            if isinstance(cell, dt.date):
                sheet.write(row, column, cell, day)
            elif cell is not None:
                sheet.write(row, column, cell)
        row += 1
        if row % 1000 == 0:
            sheet.flush_row_data()
    book.save(path)


def ods_cell(cell):
    if cell is None:
        return "<table:table-cell/>"
    if isinstance(cell, dt.date):
        return (
            f'<table:table-cell table:style-name="ce1" office:value-type="date" office:date-value="{cell.isoformat()}" '
            f'calcext:value-type="date"><text:p>{cell:%d/%m/%Y}</text:p></table:table-cell>'
        )
    if isinstance(cell, str):
        return (
            '<table:table-cell office:value-type="string" calcext:value-type="string">'
            f"<text:p>{escape(cell)}</text:p></table:table-cell>"
        )
    return (
        f'<table:table-cell office:value-type="float" office:value="{cell}" calcext:value-type="float">'
        f"<text:p>{cell}</text:p></table:table-cell>"
    )


def make_ods(path, count):
    media_type = "application/vnd.oasis.opendocument.spreadsheet"
    names = " ".join(
        f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
    )
    names += ' xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    manifest = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{media_type}"/>'
        '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
    )
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", media_type, zipfile.ZIP_STORED)
        archive.writestr("META-INF/manifest.xml", manifest)
        with archive.open("content.xml", "w", force_zip64=True) as part:
            part.write(
                f'<?xml version="1.0" encoding="UTF-8"?><office:document-content {names} office:version="1.2">'
                '<office:body><office:spreadsheet><table:table table:name="Jobs">'.encode()
            )
            for row in rows(count):
                cells = "".join(map(ods_cell, row))
                part.write(f"<table:table-row>{cells}</table:table-row>".encode())
            part.write(
                b"</table:table></office:spreadsheet></office:body></office:document-content>"
            )


def main():
    count, folder = int(sys.argv[1]), sys.argv[2]
    os.makedirs(folder, exist_ok=True)
    for ending, make in {"csv": make_csv, "ods": make_ods, "xlsx": make_xlsx, "xls": make_xls}.items():
        path = os.path.join(folder, f"jobs-{count}.{ending}")
        if not os.path.exists(path):
            # Beside, so that one that is there is whole.
            make(path + ".part", count)
            os.replace(path + ".part", path)


main()
