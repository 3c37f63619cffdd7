"""Workbooks written by openpyxl, which stores texts as shared ones."""
import datetime as dt
import os

import openpyxl
from openpyxl.comments import Comment
from openpyxl.styles import Font
from openpyxl.utils.datetime import CALENDAR_MAC_1904
from openpyxl.worksheet.datavalidation import DataValidation

from study import COLUMNS, FILES, SAME, settle, study

LETTER = {c: "ABCDEFGHIJ"[i] for i, c in enumerate(COLUMNS)}


def book(n=6, title="visits", date_format="yyyy-mm-dd", top=1, way=None, columns=COLUMNS):
    """A workbook with the header in row top; way changes single values."""
    wb = openpyxl.Workbook()
    ws = wb.active
    ws.title = title
    for j, c in enumerate(columns, 1):
        ws.cell(top, j, c)
    for i, row in enumerate(study(n), top + 1):
        for j, c in enumerate(columns, 1):
            v = row[c]
            if way:
                v = way(c, v)
            if v == "":
                continue
            cell = ws.cell(i, j, v)
            if isinstance(v, (dt.date, dt.datetime)):
                cell.number_format = date_format
    return wb, ws


def save(folder, name, wb):
    path = os.path.join(folder, name)
    wb.properties.creator = "Saltmarsh"
    wb.save(path)
    settle(path)


def one(name, change, folder=FILES, **more):
    """A workbook of six rows in which change(ws) does one thing."""
    wb, ws = book(**more)
    change(ws)
    save(folder, name, wb)


# The 40 rows.
save(SAME, "openpyxl.xlsx", book(40)[0])
wb, _ = book(40)
wb.epoch = CALENDAR_MAC_1904
for row in wb.active.iter_rows():
    for c in row:
        if c.is_date:
            c.value = c.value  # counted anew when it is written
save(SAME, "openpyxl-1904.xlsx", wb)
for name, code in [("tt-mm-jjjj", "dd\\.mm\\.yyyy"), ("d-mmm-yy", "[$-409]d\\-mmm\\-yy;@"), ("locale", "[$-F800]dddd\\,\\ mmmm\\ dd\\,\\ yyyy"), ("month-only", "mmm\\ yyyy")]:
    save(SAME, "dates-%s.xlsx" % name, book(40, date_format=code)[0])


def cut(_, v):  # a date as a text
    return v.strftime("%d/%m/%Y") if isinstance(v, dt.date) else v


save(SAME, "dates-as-text.xlsx", book(40, way=cut)[0])


def numbers_as_text(c, v):
    if isinstance(v, bool) or not isinstance(v, (int, float)):
        return v
    return str(v)


save(SAME, "numbers-as-text.xlsx", book(40, way=numbers_as_text)[0])
save(SAME, "comma-text.xlsx", book(40, way=lambda c, v: repr(v).replace(".", ",") if isinstance(v, float) else v)[0])
save(SAME, "words-for-booleans.xlsx", book(40, way=lambda c, v: {True: "yes", False: "no"}[v] if isinstance(v, bool) else v)[0])


def percent(ws):
    for row in ws.iter_rows(min_row=2):
        row[7].number_format = "0.00%"


one("percent.xlsx", percent, SAME, n=40)


def titles(ws):
    ws["A1"], ws["A2"] = "Saltmarsh Youth Sport Heel Registry", "visits of 2021 and 2022, one row a visit"
    ws["A1"].font = Font(bold=True, size=14)
    ws.merge_cells("A1:J1")
    ws.merge_cells("A2:J2")


one("title-rows.xlsx", titles, SAME, n=40, top=4)


def over(ws):
    for ref, text in [("A1:B1", "visit"), ("C1:D1", "child"), ("E1:G1", "heel"), ("H1:H1", "shoe"), ("I1:I1", "club"), ("J1:J1", "shoe")]:
        ws[ref.split(":")[0]] = text
        if ref[:2] != ref[3:]:
            ws.merge_cells(ref)


one("two-rows-merged.xlsx", over, SAME, n=40, top=2)


def other_titles(ws):
    for j, t in enumerate(["Kennung", "gesehen am", "Alter (Jahre)", "Größe", "Schmerz", "hinkt", "Seite", "Therapietreue", "Verein", "Schritte"], 1):
        ws.cell(1, j, t)


one("other-titles.xlsx", other_titles, SAME, n=40)


def no_titles(ws):
    for j in range(1, 11):
        ws.cell(1, j, "value")


one("by-letter.xlsx", no_titles, SAME, n=40)


def to_the_end(ws):
    for r in (60, 1000, 5000):
        for j in range(1, 30):
            ws.cell(r, j).font = Font(bold=True)


one("formatted-below.xlsx", to_the_end, SAME, n=40)
wb, ws = book(40, title="Besuche – Läufer")
wb.create_sheet("Notizen", 0)["A1"] = "nothing of the study"
wb.create_sheet("データ")["A1"] = "nothing of the study"
save(SAME, "other-sheets.xlsx", wb)
wb, ws = book(40)
ws.freeze_panes = "B2"
ws.auto_filter.ref = "A1:J41"
ws.column_dimensions["E"].hidden = True
ws["A2"].comment = Comment("seen first", "Saltmarsh")
v = DataValidation(type="list", formula1='"left,right,both"')
ws.add_data_validation(v)
v.add("G2:G41")
save(SAME, "furnished.xlsx", wb)
save(SAME, "other-order.xlsx", book(40, columns=["club", "id", "steps", "adherence", "side", "pain", "limp", "height_cm", "age", "seen"])[0])

# Six rows, one thing each. Row 3 is SM-0002: seen 2021-01-21, age 8.37, 141
# cm, pain 3, limp NM, right, 0.23, Möwen Süd, 5191 steps.
save(FILES, "openpyxl.xlsx", book()[0])


def put(ref, value, fmt=None):
    def change(ws):
        ws[ref] = value
        if fmt:
            ws[ref].number_format = fmt
    return change


one("date-as-text.xlsx", put("B3", "21.01.2021"))
one("date-with-time.xlsx", put("B3", dt.datetime(2021, 1, 21, 14, 30), "yyyy-mm-dd hh:mm"))
one("date-with-midnight.xlsx", put("B3", dt.datetime(2021, 1, 21), "yyyy-mm-dd hh:mm"))
one("date-serial-general.xlsx", put("B3", 44217))
one("date-serial-hidden-fraction.xlsx", put("B3", 44217.25, "yyyy-mm-dd"))
one("date-negative.xlsx", put("B3", -5, "yyyy-mm-dd"))
one("date-serial-60.xlsx", put("B3", 60, "yyyy-mm-dd"))
one("date-year-number.xlsx", put("B3", 2021))
one("date-far.xlsx", put("B3", 99999999))
one("date-in-number.xlsx", put("D3", dt.date(2021, 1, 21), "d-mmm"))
one("time-in-number.xlsx", put("C3", dt.time(8, 37), "h:mm"))
one("percent-cell-unsaid.xlsx", put("H3", 0.23, "0%"))
one("padded.xlsx", put("D3", 141, "00000"))
one("currency.xlsx", put("D3", 141, '#,##0.00\\ "€"'))
one("red-negative.xlsx", put("D3", 141, "0;[Red]-0"))
one("error-cells.xlsx", lambda ws: (put("C3", "#DIV/0!")(ws), put("E4", "#N/A")(ws), put("G5", "#REF!")(ws)))
one("formula-without-value.xlsx", lambda ws: (put("D3", "=100+41")(ws), put("J6", "=SUM(J2:J5)")(ws)))
one("apostrophe.xlsx", lambda ws: (put("D3", "141")(ws), setattr(ws["D3"], "quotePrefix", True)))
one("nbsp.xlsx", put("D3", "\u00a0141\u00a0"))
one("thin-space-thousands.xlsx", put("J3", "5\u202f191"))
one("trailing-blanks.xlsx", lambda ws: (put("A3", "SM-0002 ")(ws), put("G4", " both")(ws)))
one("blank-cell.xlsx", put("E4", "   "))
one("zero-width.xlsx", put("G4", "both\u200b"))
one("id-as-number.xlsx", put("A3", 2))
one("boolean-as-number.xlsx", put("F4", 0))
one("boolean-in-words.xlsx", put("F4", "no"))
one("boolean-in-number.xlsx", put("D3", True))
one("missing-code-as-text.xlsx", put("D7", "999 "))
one("text-in-number.xlsx", put("D3", "1,41"))
one("two-values.xlsx", put("D3", "141/142"))
one("question-mark.xlsx", put("D3", "141?"))
one("merged-values.xlsx", lambda ws: ws.merge_cells("G3:G4"))
one("merged-across.xlsx", lambda ws: ws.merge_cells("C3:D3"))


def merged_header(ws):
    ws.merge_cells("C1:D1")


one("merged-header.xlsx", merged_header)


def hidden(ws):
    ws.row_dimensions[4].hidden = True
    ws.row_dimensions[6].hidden = True


one("hidden-rows.xlsx", hidden)


def filtered(ws):
    ws.auto_filter.ref = "A1:J7"
    ws.auto_filter.add_filter_column(6, ["left"])
    for r in (3, 4, 6, 7):
        ws.row_dimensions[r].hidden = True


one("filtered.xlsx", filtered)
one("hidden-column.xlsx", lambda ws: setattr(ws.column_dimensions["D"], "hidden", True))
one("header-twice.xlsx", put("J1", "pain"))
one("header-misspelt.xlsx", put("H1", "adherance"))
one("header-error.xlsx", put("H1", "#REF!"))
one("header-formula.xlsx", put("H1", '="adher"&"ence"'))
one("header-line-break.xlsx", put("D1", "height\n_cm"))
one("header-blanks.xlsx", put("D1", " height_cm\u00a0"))
one("header-number.xlsx", put("K1", 2021))
one("title-row-unsaid.xlsx", titles, top=4)
one("two-row-header-unsaid.xlsx", over, top=2)
one("lone-cell-right.xlsx", put("T4", "look again"))
one("note-below.xlsx", put("A12", "measured by the coach"))
one("empty-row-between.xlsx", lambda ws: ws.insert_rows(4))
one("header-again-inside.xlsx", lambda ws: (ws.insert_rows(5), [ws.cell(5, j, c) for j, c in enumerate(COLUMNS, 1)]))
one("formatted-to-the-end.xlsx", lambda ws: [setattr(ws.cell(r, c), "font", Font(bold=True)) for r in (1048576, 500000) for c in (1, 16384)])
one("wide-used-range.xlsx", lambda ws: setattr(ws.cell(1, 16384), "font", Font(bold=True)))

wb, _ = book()
wb.create_sheet("second")["A1"] = "x"
save(FILES, "two-sheets-unsaid.xlsx", wb)
save(FILES, "sheet-misspelt.xlsx", book(title="vists")[0])
save(FILES, "sheet-case.xlsx", book(title="Visits")[0])
save(FILES, "sheet-trailing-blank.xlsx", book(title="visits ")[0])
wb, ws = book()
ws.sheet_state = "hidden"
wb.create_sheet("cover")["A1"] = "Saltmarsh"
wb.active = 1
save(FILES, "hidden-sheet.xlsx", wb)
wb = openpyxl.Workbook()
wb.active.title = "visits"
save(FILES, "empty-sheet.xlsx", wb)
wb, ws = book()
wb.create_chartsheet("figure")
save(FILES, "chart-sheet.xlsx", wb)
