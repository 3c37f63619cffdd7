# Writes a workbook with openpyxl: python3 make.py OUT.xlsx
import datetime
import sys

import openpyxl
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

book = openpyxl.Workbook()
sheet = book.active
sheet.title = "data"
sheet.append(["id", "age", "limp", "seen"])
sheet.append(["a", 0.1 + 0.2, True, datetime.date(2022, 3, 1)])
sheet.append(["b", "ten", False, datetime.datetime(2022, 3, 1, 12, 0)])
sheet.append(["c", "=5+6", None, None])
sheet.append(["d", "#N/A", "perhaps", "2022-03-02"])
sheet["B5"].data_type = "e"
sheet["B3"].font = Font(bold=True)
sheet["B3"].number_format = "0.0"
sheet["D3"].fill = PatternFill("solid", fgColor="DDEBF7")
if len(sys.argv) > 2 and sys.argv[2] == "comment":
    sheet["A2"].comment = Comment("pseudonym", "Registry")
other = book.create_sheet("other")
other["A1"] = "=1+1"
book.save(sys.argv[1])
