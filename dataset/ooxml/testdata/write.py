# Writes workbooks with openpyxl and XlsxWriter and prints the cells that they
# hold: python3 write.py FOLDER
#
# Each line is file, sheet, cell, sort, kind of number format, text as JSON. The
# texts were set here and not read back.
import datetime
import json
import os
import sys

import openpyxl
import xlsxwriter

folder = sys.argv[1]


def say(file, sheet, cell, sort, kind, text):
    print("\t".join([file, sheet, cell, sort, kind, json.dumps(text)]))


texts = ["left", " blanks ", "a\nb", "=not a formula", "<&>\"'", "äöü – ≤ 東京 😀", "007", "_x0041_", "1e5", "TRUE", "#N/A"]
numbers = [0, 1, -3, 0.1, 0.1 + 0.2, 9.1, 1 / 3, 1e-9, 123456789012, 1e15]
formats = [("0.00", "plain"), ("yyyy-mm-dd", "date"), ("0.0%", "percent"), ("0000", "padded"), ("[h]:mm", "date"), ('0.0" cm"', "plain"), ("[$-407]d. mmm yyyy", "date"), ("TT.MM.JJJJ", "date")]


def shortest(x):
    s = repr(float(x))
    if "e" in s:
        if 1e-6 <= abs(x) < 1e21:
            from decimal import Decimal
            s = format(Decimal(s), "f")
        else:
            mantissa, exponent = s.split("e")
            s = mantissa + "e" + exponent[0] + exponent[1:].zfill(2)
    return s[:-2] if s.endswith(".0") else s


# openpyxl
name = "openpyxl.xlsx"
book = openpyxl.Workbook()
sheet = book.active
sheet.title = "data"
for i, text in enumerate(texts, 1):
    cell = sheet.cell(i, 1)
    cell.value = text
    cell.data_type = "s"
    say(name, "data", f"A{i}", "text", "plain", "A" if text == "_x0041_" else text)
for i, x in enumerate(numbers, 1):
    sheet.cell(i, 2, x)
    # openpyxl writes 16 digits of a number
    say(name, "data", f"B{i}", "number", "plain", shortest(float("%.16g" % x)))
for i, (code, kind) in enumerate(formats, 1):
    sheet.cell(i, 3, 44621.5).number_format = code
    say(name, "data", f"C{i}", "number", kind, "44621.5")
sheet["D1"] = True
say(name, "data", "D1", "boolean", "plain", "TRUE")
sheet["D2"] = datetime.date(2022, 3, 1)
say(name, "data", "D2", "number", "date", "44621")
sheet["D3"] = "=1+1"
say(name, "data", "D3", "formula", "plain", "=1+1")
sheet["D4"] = "#DIV/0!"
sheet["D4"].data_type = "e"
say(name, "data", "D4", "error", "plain", "#DIV/0!")
hidden = book.create_sheet("hidden one")
hidden.sheet_state = "veryHidden"
hidden["XFD1048576"] = 1
say(name, "hidden one", "XFD1048576", "number", "plain", "1")
book.save(os.path.join(folder, name))

# XlsxWriter, with shared texts and, in constant memory, with inline ones
for name, options in [("xlsxwriter.xlsx", {}), ("inline.xlsx", {"constant_memory": True}), ("1904.xlsx", {"date_1904": True})]:
    book = xlsxwriter.Workbook(os.path.join(folder, name), options)
    sheet = book.add_worksheet("data")
    bold = book.add_format({"bold": True})
    for i in range(max(len(texts), len(numbers), len(formats))):
        if i < len(texts):
            sheet.write_string(i, 0, texts[i])
            say(name, "data", f"A{i + 1}", "text", "plain", texts[i])
        if i < len(numbers):
            sheet.write_number(i, 1, numbers[i])
            # XlsxWriter writes 16 digits of a number
            say(name, "data", f"B{i + 1}", "number", "plain", shortest(float("%.16G" % numbers[i])))
        if i < len(formats):
            code, kind = formats[i]
            sheet.write_number(i, 2, 44621.5, book.add_format({"num_format": code}))
            say(name, "data", f"C{i + 1}", "number", kind, "44621.5")
        if i == 0:
            sheet.write_boolean(0, 3, False)
            say(name, "data", "D1", "boolean", "plain", "FALSE")
        if i == 1:
            sheet.write_formula(1, 3, "=1+1", None, 2)
            say(name, "data", "D2", "number", "plain", "2")
        if i == 2:
            # without a type, so that the result is not stored
            sheet.write_formula(2, 3, '=""', None, "")
            say(name, "data", "D3", "formula", "plain", '=""')
        if i == 3:
            sheet.write_rich_string(3, 3, "left ", bold, "heel")
            say(name, "data", "D4", "text", "plain", "left heel")
        if i == 4:
            sheet.write_blank(4, 3, None, bold)
        if i == 5:
            sheet.write_formula(5, 3, "=1/0", None, "#DIV/0!")
            say(name, "data", "D6", "error", "plain", "#DIV/0!")
        if i == 6:
            sheet.write_datetime(6, 3, datetime.datetime(2022, 3, 1), book.add_format({"num_format": 14}))
            say(name, "data", "D7", "number", "date", "43159" if "date_1904" in options else "44621")
    book.close()
