"""Workbooks put together part by part: the strict variant, name spaces with
prefixes, cells without references, days as texts, and what no program should
write but some do."""
import datetime as dt
import os
import zipfile
from html import escape

from study import COLUMNS, FILES, FIXED, SAME, pack, study

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_MAIN = "http://purl.oclc.org/ooxml/spreadsheetml/main"
STRICT_REL = "http://purl.oclc.org/ooxml/officeDocument/relationships"
PACK = "http://schemas.openxmlformats.org/package/2006"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


STYLES = (
    '<styleSheet><fonts count="1"><font><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill></fills>'
    '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
    '<cellXfs count="2"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    '<xf numFmtId="14" fontId="0" fillId="0" borderId="0" xfId="0" applyNumberFormat="1"/></cellXfs></styleSheet>'
)


def serial(day, epoch=1900):
    return (day - (dt.date(1899, 12, 30) if epoch == 1900 else dt.date(1904, 1, 1))).days


def sheet_data(n=6, refs=True, inline=True, iso=False, epoch=1900, shared=None, prefix="", change=None, top=1):
    x = prefix
    out = []
    rows = [dict(zip(COLUMNS, COLUMNS))] + study(n)
    for i, row in enumerate(rows, top):
        cells = []
        for j, c in enumerate(COLUMNS):
            v = row[c]
            ref = ' r="%s%d"' % ("ABCDEFGHIJ"[j], i) if refs else ""
            if change and change(ref[4:-1]) is not None:
                cells.append(change(ref[4:-1]))
            elif v == "":
                cells.append("" if refs else "<%sc/>" % x)
            elif isinstance(v, bool):
                cells.append('<%sc%s t="b"><%sv>%d</%sv></%sc>' % (x, ref, x, v, x, x))
            elif isinstance(v, dt.date) and iso:
                cells.append('<%sc%s s="1" t="d"><%sv>%s</%sv></%sc>' % (x, ref, x, v.isoformat(), x, x))
            elif isinstance(v, dt.date):
                cells.append('<%sc%s s="1"><%sv>%d</%sv></%sc>' % (x, ref, x, serial(v, epoch), x, x))
            elif isinstance(v, (int, float)):
                cells.append("<%sc%s><%sv>%r</%sv></%sc>" % (x, ref, x, v, x, x))
            elif shared is not None:
                if v not in shared:
                    shared.append(v)
                cells.append('<%sc%s t="s"><%sv>%d</%sv></%sc>' % (x, ref, x, shared.index(v), x, x))
            else:
                cells.append('<%sc%s t="inlineStr"><%sis><%st xml:space="preserve">%s</%st></%sis></%sc>' % (x, ref, x, x, escape(v, False), x, x, x))
        number = ' r="%d"' % i if refs else ""
        out.append("<%srow%s>%s</%srow>" % (x, number, "".join(cells), x))
    return "<%ssheetData>%s</%ssheetData>" % (x, "".join(out), x)


def parts(data, strict=False, properties="", shared=None, sheet="visits", prefix="", sheet_path="worksheets/sheet1.xml", after="", before=""):
    main, rel = (STRICT_MAIN, STRICT_REL) if strict else (MAIN, REL)
    ns = ' xmlns%s="%s" xmlns:r="%s"' % (":" + prefix[:-1] if prefix else "", main, rel)
    conformance = ' conformance="strict"' if strict else ""
    x = prefix
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml."
    out = [
        ("[Content_Types].xml", HEAD + '<Types xmlns="%s/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="%ssheet.main+xml"/><Override PartName="/xl/worksheets/sheet1.xml" ContentType="%sworksheet+xml"/><Override PartName="/xl/styles.xml" ContentType="%sstyles+xml"/><Override PartName="/xl/sharedStrings.xml" ContentType="%ssharedStrings+xml"/></Types>' % (PACK, kind, kind, kind, kind)),
        ("_rels/.rels", HEAD + '<Relationships xmlns="%s/relationships"><Relationship Id="rId1" Type="%s/officeDocument" Target="xl/workbook.xml"/></Relationships>' % (PACK, rel)),
        ("xl/workbook.xml", HEAD + "<%sworkbook%s%s><%sworkbookPr%s/><%ssheets><%ssheet name=\"%s\" sheetId=\"1\" r:id=\"rId1\"/></%ssheets></%sworkbook>" % (x, ns, conformance, x, properties, x, x, escape(sheet), x, x)),
        ("xl/_rels/workbook.xml.rels", HEAD + '<Relationships xmlns="%s/relationships"><Relationship Id="rId1" Type="%s/worksheet" Target="%s"/><Relationship Id="rId2" Type="%s/styles" Target="styles.xml"/><Relationship Id="rId3" Type="%s/sharedStrings" Target="sharedStrings.xml"/></Relationships>' % (PACK, rel, sheet_path, rel, rel)),
        ("xl/styles.xml", HEAD + STYLES.replace("<styleSheet", "<styleSheet" + ns).replace("</", "</" + x).replace("<", "<" + x).replace("<" + x + "/" + x, "</" + x)),
    ]
    texts = "".join('<%ssi><%st xml:space="preserve">%s</%st></%ssi>' % (x, x, escape(s, False), x, x) for s in shared or [])
    out.append(("xl/sharedStrings.xml", HEAD + "<%ssst%s>%s</%ssst>" % (x, ns, texts, x)))
    out.append(("xl/worksheets/sheet1.xml", HEAD + "<%sworksheet%s>%s%s%s</%sworksheet>" % (x, ns, before, data, after, x)))
    return out


def save(folder, name, *args, stored=False, **more):
    pack(os.path.join(folder, name), parts(*args, **more), stored)


def main():
    n = 40
    save(SAME, "raw-inline.xlsx", sheet_data(n))
    texts = []
    save(SAME, "raw-shared.xlsx", sheet_data(n, shared=texts), shared=texts)
    texts = []
    save(SAME, "strict-shared.xlsx", sheet_data(n, shared=texts), shared=texts, strict=True)
    save(SAME, "strict-iso-days.xlsx", sheet_data(n, iso=True), strict=True)
    save(SAME, "strict-1904.xlsx", sheet_data(n, epoch=1904), strict=True, properties=' date1904="true"')
    save(SAME, "prefixed.xlsx", sheet_data(n, prefix="x:"), prefix="x:")
    save(SAME, "no-references.xlsx", sheet_data(n, refs=False))
    save(SAME, "stored.xlsx", sheet_data(n), stored=True)
    save(SAME, "absolute-target.xlsx", sheet_data(n), sheet_path="/xl/worksheets/sheet1.xml")

    # Six rows, one thing each.
    save(FILES, "strict.xlsx", sheet_data(), strict=True)
    save(FILES, "no-references.xlsx", sheet_data(refs=False))
    texts = []
    data = sheet_data(shared=texts)
    texts = [t.replace("Brandgänse", "Brand_x0067_änse") for t in texts]
    save(FILES, "escaped-letters.xlsx", data, shared=texts)
    texts = []
    data = sheet_data(shared=texts)
    bad = [p for p in parts(data, shared=texts)]
    i = [p[0] for p in bad].index("xl/sharedStrings.xml")
    bad[i] = (bad[i][0], bad[i][1].replace('<si><t xml:space="preserve">Brandgänse</t></si>', '<si><t>Brand</t><rPh sb="0" eb="1"><t>phonetic</t></rPh></si>').replace(">Brand<", ">Brandgänse<"))
    pack(os.path.join(FILES, "phonetic.xlsx"), bad)
    save(FILES, "shared-index-too-high.xlsx", sheet_data(change=lambda r: '<c r="G3" t="s"><v>500</v></c>' if r == "G3" else None))
    save(FILES, "unknown-cell-type.xlsx", sheet_data(change=lambda r: '<c r="G3" t="q"><v>right</v></c>' if r == "G3" else None))
    save(FILES, "reference-out-of-order.xlsx", sheet_data(change=lambda r: '<c r="B3"><v>141</v></c>' if r == "D3" else None))
    save(FILES, "reference-too-far.xlsx", sheet_data(change=lambda r: '<c r="ZZZZ3"><v>141</v></c>' if r == "D3" else None))
    save(FILES, "reference-lower-case.xlsx", sheet_data(change=lambda r: '<c r="d3"><v>141</v></c>' if r == "D3" else None))
    save(FILES, "reference-of-other-row.xlsx", sheet_data(change=lambda r: '<c r="D9"><v>141</v></c>' if r == "D3" else None))
    save(FILES, "cell-twice.xlsx", sheet_data(change=lambda r: '<c r="D3"><v>141</v></c><c r="D3"><v>142</v></c>' if r == "D3" else None))
    save(FILES, "two-values-in-cell.xlsx", sheet_data(change=lambda r: '<c r="D3"><v>141</v><v>142</v></c>' if r == "D3" else None))
    save(FILES, "style-unknown.xlsx", sheet_data(change=lambda r: '<c r="D3" s="999"><v>141</v></c>' if r == "D3" else None))
    save(FILES, "number-17-digits.xlsx", sheet_data(change=lambda r: '<c r="C3"><v>8.3699999999999992</v></c>' if r == "C3" else None))
    save(FILES, "float-dust.xlsx", sheet_data(change=lambda r: '<c r="D3"><v>141.00000000000003</v></c>' if r == "D3" else None))
    digits = iter(["0.30000000000000004", "1E-300", "123456789012345678", "1.7976931348623157E308", "-0.1", "8.3700000000000010"])
    rows = sheet_data().replace("</row>", '<c r="K1" t="inlineStr"><is><t>raw</t></is></c></row>', 1)
    for i in range(2, 8):
        head, row, tail = rows.partition('<row r="%d">' % i)
        cells, end, rest = tail.partition("</row>")
        rows = head + row + cells + '<c r="K%d"><v>%s</v></c>' % (i, next(digits)) + end + rest
    save(FILES, "many-digits.xlsx", rows)
    save(FILES, "number-garbage.xlsx", sheet_data(change=lambda r: '<c r="D3"><v>1x4</v></c>' if r == "D3" else None))
    save(FILES, "number-hex.xlsx", sheet_data(change=lambda r: '<c r="D3"><v>0x8D</v></c>' if r == "D3" else None))
    save(FILES, "number-infinite.xlsx", sheet_data(change=lambda r: '<c r="C3"><v>INF</v></c>' if r == "C3" else None))
    save(FILES, "iso-day-with-time.xlsx", sheet_data(change=lambda r: '<c r="B3" t="d"><v>2021-01-21T14:30:00</v></c>' if r == "B3" else None))
    save(FILES, "rows-out-of-order.xlsx", sheet_data().replace('<row r="4">', '<row r="9">', 1))
    save(FILES, "row-twice.xlsx", sheet_data().replace('<row r="4">', '<row r="3">', 1))
    save(FILES, "row-number-huge.xlsx", sheet_data().replace('<row r="7">', '<row r="99999999999">', 1))
    save(FILES, "no-cells-section.xlsx", "")
    save(FILES, "two-cell-sections.xlsx", sheet_data() + sheet_data(n=1))
    save(FILES, "doctype.xlsx", "<!DOCTYPE x []>" + sheet_data())
    save(FILES, "sheet-part-missing.xlsx", sheet_data(), sheet_path="worksheets/sheet9.xml")
    save(FILES, "sheet-part-outside.xlsx", sheet_data(), sheet_path="../../../etc/passwd")
    p = parts(sheet_data())
    pack(os.path.join(FILES, "no-workbook.xlsx"), [x for x in p if x[0] != "xl/workbook.xml"])
    pack(os.path.join(FILES, "no-relationships.xlsx"), [x for x in p if x[0] != "_rels/.rels"])
    pack(os.path.join(FILES, "zip-of-text.xlsx"), [("visits.csv", "id,seen\n")])
    pack(os.path.join(FILES, "no-styles.xlsx"), [(n, t.replace('<Relationship Id="rId2" Type="%s/styles" Target="styles.xml"/>' % REL, "")) for n, t in parts(sheet_data(change=lambda r: None)) if n != "xl/styles.xml"])
    with zipfile.ZipFile(os.path.join(FILES, "utf16-parts.xlsx"), "w") as z:
        for name, text in parts(sheet_data()):
            if name == "xl/worksheets/sheet1.xml":
                text = text.replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("utf-16")
            z.writestr(zipfile.ZipInfo(name, FIXED), text)


if __name__ == "__main__":
    main()
