"""Workbooks written by XlsxWriter: shared texts, inline texts, rich texts,
stored results of formulas."""
import datetime as dt
import os

import xlsxwriter

from study import COLUMNS, FILES, SAME, settle, study


def write(folder, name, n=40, options=None, change=None, formulas=False):
    path = os.path.join(folder, name)
    wb = xlsxwriter.Workbook(path, options or {})
    wb.set_properties({"author": "Saltmarsh", "created": dt.datetime(2022, 1, 1)})
    ws = wb.add_worksheet("visits")
    day = wb.add_format({"num_format": "dd.mm.yyyy"})
    if not (options or {}).get("constant_memory"):
        ws.set_column(1, 1, 12, day)
    for j, c in enumerate(COLUMNS):
        ws.write_string(0, j, c)
    for i, row in enumerate(study(n), 1):
        for j, c in enumerate(COLUMNS):
            v = row[c]
            if v == "":
                continue
            if change and change(wb, ws, i, j, v):
                continue
            if isinstance(v, bool):
                ws.write_boolean(i, j, v)
            elif isinstance(v, dt.date):
                ws.write_datetime(i, j, dt.datetime(v.year, v.month, v.day), day)
            elif formulas and isinstance(v, (int, float)):
                ws.write_formula(i, j, "=%r+0" % v, None, v)
            elif formulas and c == "side":
                ws.write_formula(i, j, '="%s"' % v, None, v)
            elif isinstance(v, (int, float)):
                ws.write_number(i, j, v)
            else:
                ws.write_string(i, j, v)
    wb.close()
    settle(path)


def rich(wb, ws, i, j, v):
    if COLUMNS[j] != "club" or len(v) < 4:
        return False
    bold, red = wb.add_format({"bold": True}), wb.add_format({"font_color": "red"})
    ws.write_rich_string(i, j, bold, v[:2], red, v[2:3], v[3:])
    return True


write(SAME, "xlsxwriter.xlsx")
write(SAME, "xlsxwriter-inline.xlsx", options={"constant_memory": True})
write(SAME, "xlsxwriter-1904.xlsx", options={"date_1904": True})
write(SAME, "xlsxwriter-rich.xlsx", change=rich)
write(SAME, "xlsxwriter-formulas.xlsx", formulas=True)
write(SAME, "xlsxwriter-zip64.xlsx", options={"use_zip64": True})
write(FILES, "xlsxwriter.xlsx", 6)
write(FILES, "xlsxwriter-1904.xlsx", 6, {"date_1904": True})
write(FILES, "xlsxwriter-inline.xlsx", 6, {"constant_memory": True})
