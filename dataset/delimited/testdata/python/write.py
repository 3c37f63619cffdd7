"""Writes one table with Python's csv module in many encodings and dialects,
and what Python itself reads back from each file (want.json)."""
import csv, itertools, json, os

here = os.path.dirname(os.path.abspath(__file__))
rows = [
    ["participant_id", "club", "height_cm", "note"],
    ["SM-0001", "Münster", "141,5", "plain"],
    ["SM-0002", "Älmhult", "150", 'says "no"'],
    ["SM-0003", "Besançon", "", "two\nlines"],
    ["SM-0004", "Español", "149,25", "comma, semicolon; tab\t'single'"],
    ["SM-0005", "Sønderborg", "NM", " blanks "],
]
want = {}
encodings = [
    ("utf-8", ""), ("utf-8-sig", ""), ("utf-16", ""), ("utf-16-le", ""), ("utf-16-be", ""), ("cp1252", ""),
    ("mac_roman", "macintosh"), ("cp850", "ibm850"), ("iso8859-15", "iso-8859-15"),
]
ends = {"lf": "\n", "crlf": "\r\n", "cr": "\r"}
delimiters = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
quoting = {"minimal": csv.QUOTE_MINIMAL, "all": csv.QUOTE_ALL, "words": csv.QUOTE_NONNUMERIC}
for i, (encoding, pin) in enumerate(encodings):
    # Every encoding with two of the twelve pairs of separator and line end.
    pairs = list(itertools.product(delimiters, ends))
    for k in (i, i + 5):
        d, e = pairs[k % 12]
        q = list(quoting)[k % 3]
        name = f"{encoding}-{d}-{e}-{q}.csv"
        with open(os.path.join(here, name), "w", encoding=encoding, newline="") as f:
            csv.writer(f, delimiter=delimiters[d], lineterminator=ends[e], quoting=quoting[q]).writerows(rows)
        with open(os.path.join(here, name), encoding=encoding, newline="") as f:
            read, places, last = [], [], 0
            reader = csv.reader(f, delimiter=delimiters[d])
            for record in reader:
                places.append(last + 1)
                last = reader.line_num
                read.append(record)
        want[name] = {"encoding": pin, "delimiter": delimiters[d] if d == "bar" else "", "lines": places, "cells": read}
with open(os.path.join(here, "want.json"), "w", encoding="utf-8") as f:
    json.dump(want, f, ensure_ascii=False, indent=1, sort_keys=True)
    f.write("\n")
