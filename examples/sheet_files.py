"""Sheets as plain tables: read them from text, write them in four formats, read them back and compare.

A table is written as lines of cells between `|`:

    text            is text, as somebody typed it; "quotes" keep blanks at its edges
    @2026-02-03     is a real date cell
    #412            is a number cell
    #d45992         is a day that the spreadsheet keeps as a bare number (its serial day number)
    (nothing)       is a blank cell
"""

import csv
import datetime
import io
import re
import zipfile
from dataclasses import dataclass, field
from pathlib import Path

import openpyxl
import xlrd
import xlwt
from odf import number as number_style
from odf import opendocument, style, table, text

# Every file carries this moment, so that making the sheets twice gives the same bytes.
MADE = datetime.datetime(2026, 3, 2, 5, 50)


@dataclass
class Sheet:
    """One worksheet, or the only one of a text file."""

    name: str
    rows: list
    merged: list = field(default_factory=list)


@dataclass
class File:
    """A file of sheets; the separator and the encoding matter to text files only."""

    name: str
    sheets: list
    separator: str = ","
    encoding: str = "utf-8"
    line_end: str = "\r\n"


def cell(written):
    """The value that a cell's notation stands for; None is blank."""
    written = written.strip()
    if not written:
        return None
    if written.startswith("@"):
        return datetime.date.fromisoformat(written[1:])
    if written.startswith("#"):
        number = float(written[1:].removeprefix("d"))
        return int(number) if number.is_integer() else number
    if len(written) > 1 and written[0] == written[-1] == '"':
        return written[1:-1]
    return written


def rows(block):
    """The rows of a block of text; a line of nothing but `.` is a blank row."""
    lines = [line for line in block.strip("\n").splitlines() if line.strip()]
    return [[] if line.strip() == "." else [cell(part) for part in line.split("|")] for line in lines]


def trimmed(table_rows):
    """The rows without the blank cells and blank rows at their ends, which no format keeps alike."""
    kept = []
    for row in table_rows:
        row = list(row)
        while row and row[-1] in (None, ""):
            row.pop()
        kept.append([None if value == "" else value for value in row])
    while kept and not kept[-1]:
        kept.pop()
    return kept


# --- writing ---------------------------------------------------------------------------------------------------


def write(file, folder):
    """Write a file into a folder, in the format that its name ends on."""
    path = Path(folder) / file.name
    path.parent.mkdir(parents=True, exist_ok=True)
    writer = {".csv": text_bytes, ".xlsx": xlsx_bytes, ".xls": xls_bytes, ".ods": ods_bytes}[path.suffix]
    path.write_bytes(writer(file))


def text_bytes(file):
    """A text file; a cell that is not text has no place in one."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=file.separator, lineterminator=file.line_end)
    for row in file.sheets[0].rows:
        assert all(value is None or isinstance(value, str) for value in row), row
        writer.writerow(["" if value is None else value for value in row])
    return out.getvalue().encode(file.encoding)


def xlsx_bytes(file):
    book = openpyxl.Workbook()
    book.remove(book.active)
    book.properties.creator = "the office"
    book.properties.created = MADE
    for sheet in file.sheets:
        page = book.create_sheet(sheet.name)
        for row_number, row in enumerate(sheet.rows, 1):
            for column, value in enumerate(row, 1):
                if value is None:
                    continue
                place = page.cell(row_number, column, value)
                if isinstance(value, datetime.date):
                    place.number_format = "dd/mm/yyyy"
        for area in sheet.merged:
            page.merge_cells(area)
    out = io.BytesIO()
    book.save(out)
    return at_fixed_time(out.getvalue())


def xls_bytes(file):
    book = xlwt.Workbook(encoding="utf-8")
    day = xlwt.easyxf(num_format_str="DD/MM/YYYY")
    for sheet in file.sheets:
        page = book.add_sheet(sheet.name)
        for row_number, row in enumerate(sheet.rows):
            for column, value in enumerate(row):
                if isinstance(value, datetime.date):
                    page.write(row_number, column, value, day)
                elif value is not None:
                    page.write(row_number, column, value)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def ods_bytes(file):
    book = opendocument.OpenDocumentSpreadsheet()
    day = ods_day_style(book)
    for sheet in file.sheets:
        page = table.Table(name=sheet.name)
        for row in sheet.rows:
            line = table.TableRow()
            for value in row:
                line.addElement(ods_cell(value, day))
            page.addElement(line)
        book.spreadsheet.addElement(page)
    out = io.BytesIO()
    book.save(out)
    return at_fixed_time(out.getvalue())


def ods_day_style(book):
    """The look of a day, without which a spreadsheet program shows its serial number."""
    shape = number_style.DateStyle(name="day")
    for part in [number_style.Day(style="long"), "/", number_style.Month(style="long"), "/", number_style.Year(style="long")]:
        shape.addElement(number_style.Text(text=part) if isinstance(part, str) else part)
    look = style.Style(name="day-cell", family="table-cell", datastylename=shape)
    book.automaticstyles.addElement(shape)
    book.automaticstyles.addElement(look)
    return look


def ods_cell(value, day):
    if value is None:
        return table.TableCell()
    if isinstance(value, datetime.date):
        made = table.TableCell(valuetype="date", datevalue=value.isoformat(), stylename=day)
        made.addElement(text.P(text=value.strftime("%d/%m/%Y")))
    elif isinstance(value, (int, float)):
        made = table.TableCell(valuetype="float", value=str(value))
        made.addElement(text.P(text=str(value)))
    else:
        made = table.TableCell(valuetype="string")
        made.addElement(text.P(text=value))
    return made


def at_fixed_time(packed):
    """The same package with every time in it set to `MADE`."""
    stamp = MADE.strftime("%Y-%m-%dT%H:%M:%S")
    times = re.compile(rb"(<(?:dcterms:modified|dcterms:created|meta:creation-date|dc:date)[^>]*>)[^<]*")
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed)) as old, zipfile.ZipFile(out, "w") as new:
        for entry in old.infolist():
            content = times.sub(lambda found: found.group(1) + stamp.encode() + b"Z", old.read(entry))
            kept = zipfile.ZipInfo(entry.filename, MADE.timetuple()[:6])
            # The first entry of an ods file is its type, which readers expect unpacked.
            kept.compress_type = zipfile.ZIP_STORED if entry.filename == "mimetype" else zipfile.ZIP_DEFLATED
            new.writestr(kept, content)
    return out.getvalue()


# --- reading back ----------------------------------------------------------------------------------------------


def read(file, folder):
    """The sheets of a file as they stand in a folder: sheet name to rows."""
    path = Path(folder) / file.name
    reader = {".csv": read_text, ".xlsx": read_xlsx, ".xls": read_xls, ".ods": read_ods}[path.suffix]
    return {name: trimmed(found) for name, found in reader(path, file).items()}


def read_text(path, file):
    with path.open(encoding=file.encoding, newline="") as stream:
        return {file.sheets[0].name: list(csv.reader(stream, delimiter=file.separator))}


def read_xlsx(path, _file):
    book = openpyxl.load_workbook(path)

    def plain(value):
        return value.date() if isinstance(value, datetime.datetime) else value

    return {page.title: [[plain(value) for value in row] for row in page.values] for page in book}


def read_xls(path, _file):
    book = xlrd.open_workbook(path)

    def plain(place):
        if place.ctype == xlrd.XL_CELL_DATE:
            return xlrd.xldate_as_datetime(place.value, book.datemode).date()
        if place.ctype == xlrd.XL_CELL_NUMBER:
            return int(place.value) if place.value.is_integer() else place.value
        return place.value

    return {page.name: [[plain(place) for place in row] for row in page.get_rows()] for page in book.sheets()}


def read_ods(path, _file):
    book = opendocument.load(path)

    def plain(place):
        kind = place.getAttribute("valuetype")
        if kind == "date":
            return datetime.date.fromisoformat(place.getAttribute("datevalue"))
        if kind == "float":
            number = float(place.getAttribute("value"))
            return int(number) if number.is_integer() else number
        return "".join(str(part) for part in place.getElementsByType(text.P)) or None

    return {
        page.getAttribute("name"): [
            [plain(place) for place in line.getElementsByType(table.TableCell)]
            for line in page.getElementsByType(table.TableRow)
        ]
        for page in book.spreadsheet.getElementsByType(table.Table)
    }


def differences(file, folder):
    """What stands otherwise in a folder's file than in the tables, one sentence a cell."""
    if not (Path(folder) / file.name).exists():
        return [f"{file.name}: missing"]
    found, told = read(file, folder), []
    if list(found) != [sheet.name for sheet in file.sheets]:
        return [f"{file.name}: has the sheets {list(found)}"]
    for sheet in file.sheets:
        wanted, there = trimmed(sheet.rows), found[sheet.name]
        for number in range(max(len(wanted), len(there))):
            left = wanted[number] if number < len(wanted) else []
            right = there[number] if number < len(there) else []
            if left != right:
                told.append(f"{file.name}, {sheet.name}, row {number + 1}: {right!r} where the story has {left!r}")
    return told


def run(files, arguments, default_folder):
    """Write all files into a folder, or with `--check FOLDER` compare; the exit code."""
    if arguments[:1] != ["--check"] and any(argument.startswith("-") for argument in arguments):
        print("usage: [FOLDER] or --check [FOLDER]")
        return 2
    if arguments[:1] == ["--check"]:
        folder = arguments[1] if len(arguments) > 1 else default_folder
        told = [line for file in files for line in differences(file, folder)]
        print("\n".join(told) or f"{folder}: {len(files)} files, every cell as the story has it")
        return 1 if told else 0
    folder = arguments[0] if arguments else default_folder
    for file in files:
        write(file, folder)
    print(f"{folder}: {len(files)} files written")
    return 0
