"""The invented study of 40 visits that the files of this folder hold.

Rows come from arithmetic alone, so that making the files again gives the same
ones. settle() takes the clock out of a workbook: times of the archive and the
dates of its properties; all else stays as the program wrote it.
"""
import datetime as dt
import io
import os
import re
import zipfile

HERE = os.path.dirname(os.path.abspath(__file__))
FILES = os.path.join(HERE, "..", "files")
SAME = os.path.join(HERE, "..", "same")

DOCUMENTS = os.path.join(HERE, "..", "documents")

COLUMNS = ["id", "seen", "age", "height_cm", "pain", "limp", "side", "adherence", "club", "steps"]
CLUBS = ["Dünenläufer", "Möwen Süd", "Deich, Nord", 'Die "Robben"', "Ost;West", "Brandgänse", " Priel ", "007"]


def study(n=40):
    rows = []
    for i in range(n):
        rows.append({
            "id": "SM-%04d" % (i + 1),
            "seen": "NM" if i % 13 == 4 else dt.date(2021, 1, 4) + dt.timedelta(days=17 * i),
            "age": "DK" if i % 11 == 3 else (700 + 137 * i % 850) / 100,
            "height_cm": 999 if i % 10 == 5 else 112 + 29 * i % 60,
            "pain": "" if i % 9 == 2 else 3 * i % 11,
            "limp": "NM" if i % 12 == 1 else i % 3 == 0,
            "side": ["left", "right", "both"][i % 3],
            "adherence": "" if i % 7 == 6 else 23 * i % 101 / 100,
            "club": CLUBS[i % len(CLUBS)],
            "steps": 800 + 4391 * i % 21000,
        })
    return rows


def plain(value):
    """A value as plain text: 2021-01-04, 7.3, true."""
    if value is True:
        return "true"
    if value is False:
        return "false"
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, float):
        return repr(value)
    return str(value)


def table(n=40, show=plain, columns=COLUMNS):
    """Header and rows, each value through show."""
    return [list(columns)] + [[show(r[c]) for c in columns] for r in study(n)]




FIXED = (1980, 1, 1, 0, 0, 0)


def settled(data):
    """The archive without times; the order and content of its parts stay."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for info in old.infolist():
            part = old.read(info.filename)
            if info.filename == "docProps/core.xml" or info.filename == "meta.xml":
                part = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z?", b"2022-01-01T00:00:00Z", part)
            fresh = zipfile.ZipInfo(info.filename, FIXED)
            fresh.compress_type = info.compress_type
            new.writestr(fresh, part)
    return out.getvalue()


def settle(path):
    with open(path, "rb") as f:
        data = f.read()
    with open(path, "wb") as f:
        f.write(settled(data))


def pack(path, parts, stored=False):
    """An archive of (name, text) parts."""
    with zipfile.ZipFile(path, "w") as z:
        for name, text in parts:
            info = zipfile.ZipInfo(name, FIXED)
            info.compress_type = zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED
            z.writestr(info, text)
