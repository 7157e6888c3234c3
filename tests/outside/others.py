"""Reads files with the readers of others, each cell as a pair of its kind and its value.

The kinds: text, number, serial (a number under a date's format), day (with its time of day), seconds, flag, error, and
unvalued for a formula without a kept value. A blank cell is left out.
"""

import csv
import datetime as dt
import io
import re

import ezodf
import openpyxl
import pyxlsb
import xlrd

# Rows and columns beyond these are blank ones that an .ods repeats to its edge.
ROWS_MAX, COLUMNS_MAX = 400_000, 1_000


class Sheet:
    def __init__(self, name, hidden=False, from_1904=False):
        self.name, self.hidden, self.from_1904 = name, hidden, from_1904
        self.cells = {}
        # The places that a merged range covers, the number format of each cell, and what else tells of a cell.
        self.covered, self.formats, self.formulas = set(), {}, set()

    def put(self, row, column, kind, value):
        """Rows and columns count from 1."""
        if kind != "text" or tidy(value):
            self.cells[row, column] = (kind, value)


def tidy(text):
    """A text as every reader here is compared: without control characters, and blanks at its ends."""
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
    text = "".join(letter for letter in text if letter == "\n" or not (ord(letter) < 32 or 127 <= ord(letter) < 160))
    return text.strip().strip("\ufeff\u200b").strip()


def plain(value):
    if isinstance(value, bool):
        return ("flag", value)
    if isinstance(value, (int, float)):
        return ("number", float(value))
    if isinstance(value, dt.datetime):
        return ("day", value)
    if isinstance(value, dt.date):
        return ("day", dt.datetime.combine(value, dt.time()))
    if isinstance(value, dt.time):
        return ("seconds", value.hour * 3600 + value.minute * 60 + value.second + value.microsecond / 1e6)
    if isinstance(value, dt.timedelta):
        return ("seconds", value.total_seconds())
    return ("text", str(value))


def xlsx(path):
    """openpyxl, once for the kept values and once for the formulas."""
    book, formulas = (openpyxl.load_workbook(path, data_only=data_only) for data_only in (True, False))
    for worksheet in book.worksheets:
        from_1904 = book.epoch == openpyxl.utils.datetime.CALENDAR_MAC_1904
        sheet = Sheet(worksheet.title, worksheet.sheet_state != "visible", from_1904)
        for merged in worksheet.merged_cells.ranges:
            places = [(row, column) for row, column in merged.cells] if merged.size["rows"] < 10_000 else []
            sheet.covered.update(place for place in places if place != (merged.min_row, merged.min_col))
        of_formulas = formulas[worksheet.title]._cells
        for place, cell in worksheet._cells.items():
            sheet.formats[place] = cell.number_format
            is_formula = place in of_formulas and of_formulas[place].data_type == "f"
            if is_formula:
                sheet.formulas.add(place)
            if cell.value is None:
                if is_formula:
                    sheet.put(*place, "unvalued", None)
            elif cell.data_type == "e":
                sheet.put(*place, "error", cell.value)
            elif cell.data_type in ("s", "str", "inlineStr"):
                decoded = re.sub("_x([0-9A-Fa-f]{4})_", lambda code: chr(int(code[1], 16)), str(cell.value))
                sheet.put(*place, "text", decoded)
            else:
                sheet.put(*place, *plain(cell.value))
        yield sheet


def xls(path):
    """xlrd; its dates stay numbers here."""
    book = xlrd.open_workbook(path, logfile=io.StringIO(), formatting_info=True)
    for worksheet in book.sheets():
        sheet = Sheet(worksheet.name, worksheet.visibility != 0, book.datemode == 1)
        for top, bottom, left, right in worksheet.merged_cells:
            places = [(row + 1, column + 1) for row in range(top, bottom) for column in range(left, right)]
            sheet.covered.update(places[1:])
        for row in range(worksheet.nrows):
            for column, cell in enumerate(worksheet.row(row)):
                place = (row + 1, column + 1)
                if cell.ctype not in (xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK):
                    form = book.xf_list[cell.xf_index].format_key if cell.xf_index is not None else None
                    sheet.formats[place] = book.format_map[form].format_str if form in book.format_map else ""
                if cell.ctype == xlrd.XL_CELL_TEXT:
                    sheet.put(*place, "text", cell.value)
                elif cell.ctype == xlrd.XL_CELL_NUMBER:
                    sheet.put(*place, "number", cell.value)
                elif cell.ctype == xlrd.XL_CELL_DATE:
                    sheet.put(*place, "serial", cell.value)
                elif cell.ctype == xlrd.XL_CELL_BOOLEAN:
                    sheet.put(*place, "flag", bool(cell.value))
                elif cell.ctype == xlrd.XL_CELL_ERROR:
                    sheet.put(*place, "error", xlrd.error_text_from_code.get(cell.value, "?"))
        yield sheet


def xlsb(path):
    """pyxlsb, which knows neither formats nor what is hidden, nor from when days count: any number may be a day."""
    errors = {0x00: "#NULL!", 0x07: "#DIV/0!", 0x0F: "#VALUE!", 0x17: "#REF!", 0x1D: "#NAME?", 0x24: "#NUM!", 0x2A: "#N/A"}
    with pyxlsb.open_workbook(path) as book:
        for name in book.sheets:
            sheet = Sheet(name, from_1904=None)
            with book.get_sheet(name) as worksheet:
                for row in worksheet.rows(sparse=True):
                    for cell in row:
                        place, value = (cell.r + 1, cell.c + 1), cell.v
                        if isinstance(value, bool):
                            sheet.put(*place, "flag", value)
                        elif isinstance(value, (int, float)):
                            sheet.put(*place, "serial", float(value))
                        elif isinstance(value, str) and re.fullmatch("0x[0-9a-f]+", value):
                            sheet.put(*place, "error", errors.get(int(value, 16), value))
                        elif value is not None:
                            sheet.put(*place, "text", value)
            yield sheet


def ods(path):
    """ezodf over lxml."""
    ezodf.config.set_table_expand_strategy("all_less_maxcount", (ROWS_MAX, COLUMNS_MAX))
    for worksheet in ezodf.opendoc(path).sheets:
        sheet = Sheet(worksheet.name)
        for row, cells in enumerate(worksheet.rows(), 1):
            for column, cell in enumerate(cells, 1):
                place = (row, column)
                if cell.formula:
                    sheet.formulas.add(place)
                kind, value = cell.value_type, cell.value
                if kind in ("float", "percentage", "currency"):
                    sheet.put(*place, "number", float(value))
                elif kind == "boolean":
                    sheet.put(*place, "flag", value in (True, "true"))
                elif kind == "date":
                    sheet.put(*place, *iso_day(str(value)))
                elif kind == "time":
                    sheet.put(*place, *iso_length(str(value)))
                elif kind == "string" or (kind is None and cell.plaintext()):
                    sheet.put(*place, "text", str(value) if value is not None else cell.plaintext())
        yield sheet


def iso_day(text):
    try:
        return ("day", dt.datetime.fromisoformat(text.rstrip("Z")))
    except ValueError:
        return ("text", text)


def iso_length(text):
    if re.fullmatch(r"\d\d:\d\d:\d\d", text):
        text = "PT{}H{}M{}S".format(*text.split(":"))
    found = re.fullmatch(r"(-?)P(?:(\d+)D)?T(\d+)H(\d+)M(\d+)(?:[.,](\d+))?S", text)
    if not found:
        return ("text", text)
    days, hours, minutes, seconds = (int(part or 0) for part in found.groups()[1:5])
    length = days * 86400 + hours * 3600 + minutes * 60 + seconds + float("0." + (found[6] or "0"))
    return ("seconds", -length if found[1] else length)


def text(path, delimiter):
    """Python's csv module, with a delimiter that is told it."""
    with open(path, "rb") as file:
        decoded = decode(file.read())
    lines = io.StringIO(decoded.rstrip("\x1a"), newline="")
    sheet, row = Sheet(None), 0
    csv.field_size_limit(1 << 24)
    for record in csv.reader(lines, delimiter=delimiter):
        row += 1
        for column, value in enumerate(record, 1):
            sheet.put(row, column, "text", value)
    return sheet


def decode(content):
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if content.startswith(mark):
            return content.decode(encoding, errors="replace")
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        # The five bytes that Windows-1252 leaves open are control characters to the Encoding Standard.
        return "".join(
            byte.decode("cp1252", errors="ignore") or chr(byte[0])
            for byte in (content[at : at + 1] for at in range(len(content)))
        )


READERS = {".xlsx": xlsx, ".xlsm": xlsx, ".xls": xls, ".xlsb": xlsb, ".ods": ods}
