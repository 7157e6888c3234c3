"""Makes the small workbooks beside it, one in each form that Tickover reads, with independent writers.

    python3 -m venv venv && venv/bin/pip install -r requirements.txt && venv/bin/python make_workbooks.py

What Tickover must read from them stands in tests/it/sheets.rs, written by hand from this script.

Each `yard.*` holds the sheet `Stock`:

    row 1   Mark | Miles | Sold | Sold at | Hours run | Passed | Checked | Note | Code | Left
    row 2   "  AB12 CDE<nbsp>" | 1234 | 3 April 2026 | 14:30 | 30 h 5 min | TRUE | #N/A | two lines | text 00123 | formula without value
    row 3   nothing
    row 4   XY34 ZZZ | 12.5 | 29 February 2024 09:15:30 | blank | blank | FALSE | blank | "#REF!" as text | blank, in .xlsx the number 123 shown as 00123 | blank

then the sheet `Old`, which is hidden, the sheet `Empty`, and the sheet `Rides` with the one text `GPS` in C5.
`damaged.xlsb` is `yard.xlsb` with a cell A2 in `Stock` that points nowhere.

`clocks.xls` holds the sheet `Clocks`: Mark | Clock | Twice, then AB12 CDE | 1234, shown as `1,234 km` by its
format | formula without value.

`merged.xls` holds the sheet `Jobs`: 1 in A1, merged with A2; 2 in D2; 3 in B3, merged with C3, B4 and C4; 4 in A4.

`desk.ods` holds what only this form has, in the sheet `Desk`:

    row 1   "Jobs done" in A, over A to C, of which B still holds "covered"; D a text of blanks, a tab and a line break, part of
            it in bold and part a link; E a text with an annotation
    row 2   15.5 % | 1,649 pounds | = 1 + 1, kept as 2 | = NA(), kept as an error | = NA(), kept as 0 and shown as #N/A
    row 3   "same" three times; hidden by a filter
    row 4-6 "again" each
    row 9   "end", after two blank rows and eight blank cells
"""

import datetime as dt
import os
import struct
import zipfile

import openpyxl
import pyxlsbwriter
import xlwt
from odf.dc import Date
from odf.office import Annotation
from odf.opendocument import OpenDocumentSpreadsheet
from odf.style import Style, TableProperties, TextProperties
from odf.table import CoveredTableCell, Table, TableCell, TableColumn, TableRow
from odf.text import A, LineBreak, P, S, Span, Tab

HERE = os.path.dirname(os.path.abspath(__file__))
HEADERS = ["Mark", "Miles", "Sold", "Sold at", "Hours run", "Passed", "Checked", "Note", "Code", "Left"]
MARK = "  AB12 CDE\u00a0"
NOTE = "café £5 \U0001f3cd\nsecond line"
SOLD = dt.date(2026, 4, 3)
LEAP = dt.datetime(2024, 2, 29, 9, 15, 30)


def at(name):
    return os.path.join(HERE, name)


def xlsx(name, epoch=None):
    book = openpyxl.Workbook()
    if epoch:
        book.epoch = epoch
    stock = book.active
    stock.title = "Stock"
    stock.append(HEADERS)
    stock.append([MARK, 1234, SOLD, dt.time(14, 30), dt.timedelta(hours=30, minutes=5), True, "#N/A", NOTE, "00123", "=B2*2"])
    stock.append([])
    stock.append(["XY34 ZZZ", 12.5, LEAP, None, None, False, None, "x"])
    stock["H4"].value = "#REF!"
    stock["H4"].data_type = "s"
    stock["E2"].number_format = "[h]:mm"
    stock["I4"] = 123
    stock["I4"].number_format = "00000"
    old = book.create_sheet("Old")
    old["A1"] = "hidden"
    old.sheet_state = "hidden"
    book.create_sheet("Empty")
    book.create_sheet("Rides")["C5"] = "GPS"
    chart = book.create_chartsheet("Graph")
    picture = openpyxl.chart.BarChart()
    picture.add_data(openpyxl.chart.Reference(stock, min_col=2, min_row=2, max_row=4))
    chart.add_chart(picture)
    book.save(at(name))


def xls(name, counts_from_1904=False):
    book = xlwt.Workbook()
    book.dates_1904 = counts_from_1904
    day, time, hours, moment = (
        xlwt.easyxf(num_format_str=form) for form in ("dd/mm/yyyy", "hh:mm", "[h]:mm", "dd/mm/yyyy hh:mm:ss")
    )
    stock = book.add_sheet("Stock")
    for column, header in enumerate(HEADERS):
        stock.write(0, column, header)
    stock.write(1, 0, MARK)
    stock.write(1, 1, 1234)
    # xlwt writes day numbers of its own making; these are the ones of the two calendars.
    base = dt.datetime(1904, 1, 1) if counts_from_1904 else dt.datetime(1899, 12, 30)
    stock.write(1, 2, (dt.datetime(2026, 4, 3) - base).days, day)
    stock.write(1, 3, 14.5 / 24, time)
    stock.write(1, 4, (30 * 60 + 5) / (24 * 60), hours)
    stock.write(1, 5, True)
    stock.row(1).set_cell_error(6, 0x2A)  # #N/A
    stock.write(1, 7, NOTE)
    stock.write(1, 8, "00123")
    stock.write(3, 0, "XY34 ZZZ")
    stock.write(3, 1, 12.5)
    stock.write(3, 2, (LEAP - base).total_seconds() / 86400, moment)
    stock.write(3, 5, False)
    stock.write(3, 7, "#REF!")
    old = book.add_sheet("Old")
    old.write(0, 0, "hidden")
    old.visibility = 1
    book.add_sheet("Empty")
    book.add_sheet("Rides").write(4, 2, "GPS")
    book.save(at(name))


def xlsb(name):
    # This writer drops the last letter of a text behind an emoji, so the note goes without one.
    note = NOTE.replace(" \U0001f3cd", "")
    nothing = [None] * len(HEADERS)

    def wide(cells):
        return cells + nothing[len(cells) :]

    with pyxlsbwriter.XlsbWriter(at(name)) as writer:
        writer.add_sheet("Stock")
        writer.write_sheet(
            [
                HEADERS,
                wide([MARK, 1234, SOLD, None, None, True, "#N/A", note, "00123"]),
                nothing,
                wide(["XY34 ZZZ", 12.5, LEAP, None, None, False, None, "#REF!"]),
            ]
        )
        writer.add_sheet("Old", hidden=True)
        writer.write_sheet([["hidden"]])
        writer.add_sheet("Empty")
        writer.write_sheet([])
        writer.add_sheet("Rides")
        writer.write_sheet([[None, None, None]] * 4 + [[None, None, "GPS"]])
    rewrite_records(at(name), "xl/worksheets/sheet1.bin", error_formula)


def error_formula(kind, row, content):
    """The formula =#N/A in place of cell G2, which the writer cannot write: the record BrtFmlaError of MS-XLSB."""
    if 1 <= kind <= 11 and row == 1 and content[:4] == struct.pack("<I", 6):
        error = b"\x2a"
        formula = struct.pack("<I", 2) + b"\x1c" + error + struct.pack("<I", 0)
        return 11, content[:8] + error + b"\0\0" + formula
    return kind, content


def missing_string(kind, row, content):
    """In place of cell A2 a text that the table of texts does not have (BrtCellIsst)."""
    if 1 <= kind <= 11 and row == 1 and content[:4] == struct.pack("<I", 0):
        return 7, content[:8] + struct.pack("<I", 60_000)
    return kind, content


def rewrite_records(path, part, change):
    """Changes the records of one part of an .xlsb, all of types and lengths that take one byte each or stay as they are."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    records, row, made, place = parts[part], None, b"", 0
    while place < len(records):
        begins = place
        kind, place = seven_bit_number(records, place, 2)
        length, place = seven_bit_number(records, place, 4)
        content = records[place : place + length]
        place += length
        if kind == 0:  # BrtRowHdr
            (row,) = struct.unpack_from("<I", content)
        new_kind, new_content = change(kind, row, content)
        if (new_kind, new_content) == (kind, content):
            made += records[begins:place]
        else:
            made += bytes([new_kind, len(new_content)]) + new_content
    parts[part] = made
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)


def seven_bit_number(records, place, bytes_max):
    """A number of seven bits a byte, as the record headers of .xlsb have it."""
    value = 0
    for index in range(bytes_max):
        byte = records[place]
        place += 1
        value |= (byte & 0x7F) << (7 * index)
        if byte < 0x80:
            break
    return value, place


def ods(name):
    book = OpenDocumentSpreadsheet()
    unseen = Style(name="unseen", family="table")
    unseen.addElement(TableProperties(display="false"))
    book.automaticstyles.addElement(unseen)

    def text(words, **more):
        cell = TableCell(valuetype="string", **more)
        for line in words.split("\n"):
            cell.addElement(P(text=line))
        return cell

    def number(value):
        return TableCell(valuetype="float", value=value)

    def sheet(name, rows, **more):
        table = Table(name=name, **more)
        for cells in rows:
            row = TableRow()
            for cell in cells:
                row.addElement(cell if cell is not None else TableCell())
            table.addElement(row)
        book.spreadsheet.addElement(table)

    sheet(
        "Stock",
        [
            [text(header) for header in HEADERS],
            [
                text(MARK.replace("  ", "\u00a0\u00a0")),
                number(1234),
                TableCell(valuetype="date", datevalue="2026-04-03"),
                TableCell(valuetype="time", timevalue="PT14H30M00S"),
                TableCell(valuetype="time", timevalue="PT30H05M00S"),
                TableCell(valuetype="boolean", booleanvalue="true"),
                text("#N/A"),
                text(NOTE),
                text("00123"),
                TableCell(formula="of:=[.B2]*2"),
            ],
            [],
            [
                text("XY34 ZZZ"),
                number(12.5),
                TableCell(valuetype="date", datevalue="2024-02-29T09:15:30"),
                None,
                None,
                TableCell(valuetype="boolean", booleanvalue="false"),
                None,
                text("#REF!"),
            ],
        ],
    )
    sheet("Old", [[text("hidden")]], stylename=unseen)
    sheet("Empty", [])
    sheet("Rides", [[], [], [], [], [None, None, text("GPS")]])
    book.save(at(name))


def desk(name):
    book = OpenDocumentSpreadsheet()
    bold = Style(name="bold", family="text")
    bold.addElement(TextProperties(fontweight="bold"))
    book.automaticstyles.addElement(bold)
    table = Table(name="Desk")
    table.addElement(TableColumn(numbercolumnsrepeated=16384))

    def row(cells, **more):
        made = TableRow(**more)
        for cell in cells:
            made.addElement(cell)
        table.addElement(made)

    def text(words, **more):
        cell = TableCell(valuetype="string", **more)
        cell.addElement(P(text=words))
        return cell

    covered = CoveredTableCell(valuetype="string")
    covered.addElement(P(text="covered"))
    words = TableCell(valuetype="string")
    line = P(text="two")
    line.addElement(S(c=2))
    line.addElement(Span(stylename=bold, text="bold"))
    line.addElement(Tab())
    line.addElement(A(href="http://example.com/", text="a link"))
    line.addElement(LineBreak())
    line.addText("below")
    words.addElement(line)
    noted = TableCell(valuetype="string")
    note = Annotation()
    note.addElement(Date(text="2026-03-02T08:00:00"))
    note.addElement(P(text="ring first"))
    noted.addElement(note)
    noted.addElement(P(text="cell"))
    row([text("Jobs done", numbercolumnsspanned=3), covered, CoveredTableCell(), words, noted])

    def kept(formula, shown, **more):
        cell = TableCell(formula=formula, **more)
        cell.addElement(P(text=shown))
        return cell

    row(
        [
            TableCell(valuetype="percentage", value=0.155),
            TableCell(valuetype="currency", currency="GBP", value=1649),
            kept("of:=1+1", "2", valuetype="float", value=2),
            kept("of:=NA()", "#N/A", valuetype="string", stringvalue=""),
            kept("of:=NA()", "#N/A", valuetype="float", value=0),
        ]
    )
    row([text("same", numbercolumnsrepeated=3)], visibility="filter")
    row([text("again"), TableCell(numbercolumnsrepeated=16383)], numberrowsrepeated=3)
    row([TableCell(numbercolumnsrepeated=16384)], numberrowsrepeated=2)
    row([TableCell(numbercolumnsrepeated=8), text("end")])
    row([TableCell(numbercolumnsrepeated=16384)], numberrowsrepeated=1048567)
    book.spreadsheet.addElement(table)
    book.save(at(name))


def clocks(name):
    book = xlwt.Workbook()
    sheet = book.add_sheet("Clocks")
    for column, header in enumerate(["Mark", "Clock", "Twice"]):
        sheet.write(0, column, header)
    sheet.write(1, 0, "AB12 CDE")
    sheet.write(1, 1, 1234, xlwt.easyxf(num_format_str='#,##0" km"'))
    sheet.write(1, 2, xlwt.Formula("B2*2"))
    book.save(at(name))


def merged(name):
    book = xlwt.Workbook()
    sheet = book.add_sheet("Jobs")
    sheet.write_merge(0, 1, 0, 0, 1)
    sheet.write(1, 3, 2)
    sheet.write_merge(2, 3, 1, 2, 3)
    sheet.write(3, 0, 4)
    book.save(at(name))


xlsx("yard.xlsx")
xlsx("yard-1904.xlsx", openpyxl.utils.datetime.CALENDAR_MAC_1904)
xls("yard.xls")
xls("yard-1904.xls", counts_from_1904=True)
xlsb("yard.xlsb")
xlsb("damaged.xlsb")
rewrite_records(at("damaged.xlsb"), "xl/worksheets/sheet1.bin", missing_string)
ods("yard.ods")
desk("desk.ods")
clocks("clocks.xls")
merged("merged.xls")
