"""Delimited text in every encoding, separator and line end."""
import csv
import io
import os

from study import FILES, SAME, plain, study, table

import datetime as dt


def written(rows, delimiter=",", end="\n", quoting=csv.QUOTE_MINIMAL):
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=quoting).writerows(rows)
    return out.getvalue()


def save(folder, name, text, encoding="utf-8", bom=b""):
    with open(os.path.join(folder, name), "wb") as f:
        f.write(bom + text.encode(encoding))


def shown(**ways):
    """plain, but the given types through other functions."""
    def show(v):
        if isinstance(v, bool):
            return ways.get("bool", plain)(v)
        if isinstance(v, dt.date):
            return ways.get("date", plain)(v)
        if isinstance(v, float):
            return ways.get("float", plain)(v)
        if isinstance(v, int):
            return ways.get("int", plain)(v)
        return plain(v)
    return show


def comma(v):
    return repr(v).replace(".", ",")


def cells(text):
    """Text cut into lines, for the small files with a fault."""
    return text.split("\n")


# The 40 rows.
t = written(table())
save(SAME, "plain.csv", t)
save(SAME, "bom.csv", t, bom=b"\xef\xbb\xbf")
save(SAME, "crlf.csv", written(table(), end="\r\n"))
save(SAME, "cr.csv", written(table(), end="\r"))
save(SAME, "semicolon.csv", written(table(), ";"))
save(SAME, "tab.csv", written(table(), "\t"))
save(SAME, "tab.tsv", written(table(), "\t"))
save(SAME, "pipe.csv", written(table(), "|"))
save(SAME, "quoted.csv", written(table(), quoting=csv.QUOTE_ALL))
save(SAME, "utf16le.csv", t, "utf-16-le", b"\xff\xfe")
save(SAME, "utf16be.csv", t, "utf-16-be", b"\xfe\xff")
save(SAME, "windows-1252.csv", t, "cp1252")
save(SAME, "latin1.csv", t, "latin-1")
save(SAME, "macroman.csv", written(table(), end="\r"), "mac-roman")
save(SAME, "german.csv", written(table(show=shown(float=comma, date=lambda d: d.strftime("%d.%m.%Y"), bool=lambda b: "ja" if b else "nein")), ";", "\r\n"), "cp1252")
save(SAME, "american.csv", written(table(show=shown(date=lambda d: d.strftime("%m/%d/%Y"), bool=lambda b: "Y" if b else "N"))))
save(SAME, "month-names.csv", written(table(show=shown(date=lambda d: d.strftime("%d %b %Y")))))
save(SAME, "thousands.csv", written([r[:9] + [r[9] if i == 0 else "{:,}".format(int(r[9]))] for i, r in enumerate(table())]))
save(SAME, "title-lines.csv", "Saltmarsh Youth Sport Heel Registry\nvisits of 2021 and 2022\n" + t)
save(SAME, "other-order.csv", written(table(columns=["steps", "club", "seen", "id", "limp", "age", "side", "adherence", "pain", "height_cm"])))
rows = table(show=shown(float=lambda v: " " + repr(v) + "\u00a0", int=lambda v: "\u00a0%d " % v))
save(SAME, "blanks.csv", written(rows))
two = table()
save(SAME, "two-rows.csv", written([["visit", "visit", "child", "child", "heel", "heel", "heel", "shoe", "club", "shoe"]] + two))

# Six rows, the reference of files.csv, and small files with one thing each.
t = written(table(6))
save(FILES, "plain.csv", t)
save(FILES, "header-blanks.csv", t.replace("height_cm", "  height_cm ", 1))
save(FILES, "no-last-line-end.csv", t[:-1])
save(FILES, "mixed-line-ends.csv", t.replace("\n", "\r\n", 3))
save(FILES, "empty-lines-at-end.csv", t + "\n\n\n")
save(FILES, "empty-line-between.csv", t.replace("SM-0004", "\nSM-0004", 1))
save(FILES, "separators-at-end.csv", "".join(line + ",,\n" for line in t.splitlines()))
save(FILES, "sep-line.csv", "sep=;\r\n" + written(table(6), ";", "\r\n"))
save(FILES, "semicolon-unsaid.csv", written(table(6), ";"))
save(FILES, "utf16-unsaid.csv", t, "utf-16-le")
save(FILES, "latin1-unsaid.csv", t, "latin-1")
save(FILES, "utf8-said-latin1.csv", t)
save(FILES, "two-encodings.csv", "")
with open(os.path.join(FILES, "two-encodings.csv"), "wb") as f:
    f.write(t.encode("utf-8").replace("Möwen".encode(), "Möwen".encode("latin-1")))
save(FILES, "zero-byte.csv", t.replace("Brandg", "Brand\0g", 1))
save(FILES, "ragged-short.csv", t.replace(",both,0.46", ",0.46", 1))
save(FILES, "ragged-long.csv", t.replace("SM-0002,", "SM-0002,,", 1))
save(FILES, "unclosed-quote.csv", t.replace("Möwen Süd", '"Möwen Süd', 1))
save(FILES, "stray-quote.csv", t.replace("Möwen Süd", 'Möwen "Süd"', 1))
save(FILES, "newline-in-quotes.csv", t.replace("SM-0006", '"SM-0006\nagain"', 1))
save(FILES, "header-only.csv", t.splitlines()[0] + "\n")
save(FILES, "empty.csv", "")
save(FILES, "blank.csv", "\n\n \n")
save(FILES, "bom-only.csv", "", bom=b"\xef\xbb\xbf")
save(FILES, "header-twice.csv", t.replace("steps", "age", 1))
save(FILES, "header-misspelt.csv", t.replace("adherence", "adherance", 1))
save(FILES, "header-case.csv", t.replace("pain", "Pain", 1))
save(FILES, "column-too-many.csv", "".join(l + (",name\n" if i == 0 else ",x\n") for i, l in enumerate(t.splitlines())))
save(FILES, "column-untitled.csv", "".join(l + (",\n" if i == 0 else ",x\n") for i, l in enumerate(t.splitlines())))
save(FILES, "header-again-inside.csv", t.replace("SM-0004", t.splitlines()[0] + "\nSM-0004", 1))
save(FILES, "total-row.csv", t + "Total,,,,,,,,,43000\n")
save(FILES, "id-twice.csv", t.replace("SM-0005", "SM-0002", 1))
save(FILES, "id-missing.csv", t.replace("SM-0005", "", 1))
save(FILES, "dates-german.csv", written(table(6, shown(date=lambda d: d.strftime("%d.%m.%Y")))))
save(FILES, "dates-slashed.csv", written(table(6, shown(date=lambda d: d.strftime("%m/%d/%Y")))))
save(FILES, "dates-two-digit-year.csv", written(table(6, shown(date=lambda d: d.strftime("%d.%m.%y")))))
save(FILES, "dates-impossible.csv", t.replace("2021-01-21", "2021-02-30", 1))
save(FILES, "dates-with-time.csv", t.replace("2021-01-21", "2021-01-21T14:30:00", 1))
save(FILES, "dates-as-serials.csv", t.replace("2021-01-21", "44217", 1))
save(FILES, "booleans-in-words.csv", written(table(6, shown(bool=lambda b: "yes" if b else "no"))))
save(FILES, "decimal-commas.csv", written(table(6, shown(float=comma)), ";"))
save(FILES, "decimal-commas-unsaid.csv", written(table(6, shown(float=comma)), ";"))
save(FILES, "thousands-unsaid.csv", t.replace("18364", '"18,364"', 1))
save(FILES, "thousands-wrong-place.csv", t.replace("18364", '"1,8364"', 1))
save(FILES, "percent-sign.csv", t.replace("0.23", "23%", 1))
save(FILES, "percent-number.csv", t.replace("0.23", "23", 1))
save(FILES, "unit-in-cell.csv", t.replace(",141,", ",141 cm,", 1))
save(FILES, "less-than.csv", t.replace(",141,", ",<141,", 1))
save(FILES, "minus-sign.csv", t.replace(",141,", ",\u2212141,", 1))
save(FILES, "digits-arabic.csv", t.replace(",141,", ",١٤١,", 1))
save(FILES, "exponent.csv", t.replace(",18364", ",1.8364E+04", 1))
save(FILES, "missing-code-misspelt.csv", t.replace("NM", "nm", 1))
save(FILES, "missing-code-other-spelling.csv", t.replace("999", "999.0", 1))
save(FILES, "category-misspelt.csv", t.replace("right", "rigth", 1))
save(FILES, "category-trailing-blank.csv", t.replace("right", "right ", 1))
save(FILES, "zero-width-in-id.csv", t.replace("SM-0003", "SM-0003\u200b", 1))
save(FILES, "apostrophe.csv", t.replace(",141,", ",'141,", 1))
save(FILES, "error-text.csv", t.replace(",141,", ",#DIV/0!,", 1))
save(FILES, "html.csv", "<html><body><table><tr><td>id</td></tr></table></body></html>\n")
save(FILES, "json.csv", '{"id": ["SM-0001"]}\n')
save(FILES, "plain.txt", t)
save(FILES, "page.xlsx", "<html><body><table><tr><td>id</td></tr></table></body></html>\n")
save(FILES, "text.xlsx", t)
