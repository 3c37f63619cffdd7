# Shows a workbook's cells as openpyxl reads them, one a line:
# python3 show.py IN.xlsx
import sys

import openpyxl

book = openpyxl.load_workbook(sys.argv[1])
for sheet in book.worksheets:
    for row in sheet.iter_rows():
        for cell in row:
            note = cell.comment.text.replace("\n", "/") if cell.comment else ""
            fill = cell.fill.fgColor.rgb if cell.fill.fill_type == "solid" else ""
            if cell.value is None and not note and not fill:
                continue
            print(sheet.title, cell.coordinate, repr(cell.value), cell.number_format, cell.font.b, fill, note, sep="|")
