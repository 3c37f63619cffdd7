package ooxml

import (
	"fmt"
	"strings"
	"testing"
)

// Each workbook is written as some program writes it; the cells were worked out
// by hand.
func TestCells(t *testing.T) {
	for _, c := range []struct{ name, rows, shared, want string }{
		{"shared", `<row r="1"><c r="A1" t="s"><v>1</v></c><c r="C1" t="s"><v> 0 </v></c><c r="D1" t="s"/></row>`, `<si><t>a</t></si><si><t xml:space="preserve"> b </t></si>`, "A1= b  | C1=a"},
		{"rich", `<row><c t="s"><v>0</v></c></row>`, `<si><r><rPr><b/><sz val="11"/></rPr><t xml:space="preserve">left </t></r><r><t>heel</t></r></si>`, "A1=left heel"},
		{"phonetic", `<row><c t="s"><v>0</v></c></row>`, `<si><t>東京</t><rPh sb="0" eb="2"><t>トウキョウ</t></rPh><phoneticPr fontId="1"/></si>`, "A1=東京"},
		{"codes", `<row><c t="s"><v>0</v></c><c t="str"><v>_x000D_</v></c><c t="inlineStr"><is><t>_x005F_x0041_ _x41_ _xD83D__xDE00_ _xD83D_</t></is></c></row>`, `<si><t>a_x0041_b_x000a_c</t></si>`, "A1=aAb\nc | B1=\r | C1=_x0041_ _x41_ 😀 _xD83D_"},
		{"line ends", "<row><c t=\"str\"><v>a\r\nb\rc&#13;d</v></c></row>", "", "A1=a\nb\nc\rd"},
		{"references", `<row><c t="str"><v>&lt;&gt;&amp;&quot;&apos;&#65;&#x1F600;</v></c></row>`, "", `A1=<>&"'A😀`},
		{"section", `<row><c t="inlineStr"><is><t>a<![CDATA[<b> & ]] >]]>c</t></is></c></row>`, "", "A1=a<b> & ]] >c"},
		{"comments", `<!-- x --><?x y?><row><!-- <c> --><c t="str"><v>a<!-- no -->b<?x <v>?></v></c></row>`, "", "A1=ab"},
		{"inline rich", `<row><c t="inlineStr"><is><r><t>a</t></r><r><t> b</t></r><rPh><t>x</t></rPh></is></c></row>`, "", "A1=a b"},
		{"inline as value", `<row><c t="inlineStr"><v>a</v></c></row>`, "", "A1=a"},
		{"inline untyped", `<row><c><is><t>a</t></is></c></row>`, "", "A1=a"},
		{"numbers", `<row><c t="n"><v>9.0999999999999996</v></c><c><v> 12 </v></c><c><v>1.5E-3</v></c><c><v>-0.50</v></c><c><v>007</v></c><c><v>x</v></c><c><v>NaN</v></c><c/><c><v/></c><c><v>0x10</v></c></row>`, "", "A1:n=9.1 | B1:n=12 | C1:n=0.0015 | D1:n=-0.5 | E1:n=7 | F1:n=x | G1:n=NaN | J1:n=0x10"},
		{"booleans", `<row><c t="b"><v>1</v></c><c t="b"><v>false</v></c><c t="b"><v>2</v></c></row>`, "", "A1:b=TRUE | B1:b=FALSE | C1:b=2"},
		{"days", `<row><c t="d"><v>2022-03-01T00:00:00</v></c></row>`, "", "A1:d=2022-03-01T00:00:00"},
		{"errors", `<row><c t="e"><v>#N/A</v></c><c t="e"><f>1/0</f><v>#DIV/0!</v></c><c t="e"><v/></c></row>`, "", "A1:e=#N/A | B1:e=#DIV/0! | C1:e="},
		{"formulas", `<row><c><f>1+1</f><v>2</v></c><c><f>A1&amp;"x"</f></c><c t="str"><f>""</f><v></v></c><c t="str"><f>B1</f></c><c><f t="shared" si="0"/><v/></c><c t="s"><f>x</f><v>0</v></c></row>`, `<si><t>s</t></si>`, `A1:n=2 | B1:f==A1&"x" | D1:f==B1 | E1:f== | F1=s`},
		{"no references", `<row><c><v>1</v></c><c r="D1"><v>2</v></c><c><v>3</v></c></row><row><c><v>4</v></c></row><row r="9"><c><v>5</v></c></row>`, "", "A1:n=1 | D1:n=2 | E1:n=3 | A2:n=4 | A9:n=5"},
		{"attributes", "<row\n r='1'\tspans=\"1:2\" ht=\"15\" ><c  r = 'B1' s=\"0\" cm=\"1\" ><v >1</v ></c ></row >", "", "B1:n=1"},
		{"far", `<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>`, "", "XFD1048576:n=1"},
		{"extensions", `<row><c><v>1</v><extLst><ext uri="x"><y:v xmlns:y="u">2</y:v></ext></extLst></c><extLst><ext/></extLst></row><extLst/>`, "", "A1:n=1"},
		{"blanks only", `<row><c t="str"><v>  </v></c><c t="inlineStr"><is><t/></is></c></row>`, "", "A1=  "},
		{"long", `<row><c t="str"><v>` + strings.Repeat("ä&amp;", 20_000) + `</v></c></row>`, "", "A1=" + strings.Repeat("ä&", 20_000)},
	} {
		t.Run(c.name, func(t *testing.T) {
			wantCells(t, newMade(sheetOf(c.rows)).shared(c.shared), c.want)
		})
	}
}

// Names may carry prefixes, and the strict variant has other name spaces.
func TestNameSpaces(t *testing.T) {
	prefixed := newMade("")
	prefixed.set("xl/worksheets/sheet1.xml", `<?xml version="1.0" encoding="UTF-8" standalone="yes"?><x:worksheet xmlns:x="`+mainNS+`" xmlns="urn:other"><row/><x:sheetData><x:row r="2"><x:c r="B2" t="inlineStr"><x:is><x:t>a</x:t></x:is></x:c></x:row></x:sheetData><x:mergeCells><x:mergeCell ref="A1:B2"/></x:mergeCells></x:worksheet>`)
	prefixed.set("xl/workbook.xml", `<x:workbook xmlns:x="`+mainNS+`" xmlns:q="`+relNS+`"><x:sheets><x:sheet name="data" q:id="r1"/></x:sheets></x:workbook>`)
	wantCells(t, prefixed, "B2=a")

	strict := newMade("")
	strict.set("_rels/.rels", strings.ReplaceAll(strict.parts["_rels/.rels"], relNS, strictR))
	strict.set("xl/_rels/workbook.xml.rels", strings.ReplaceAll(strict.parts["xl/_rels/workbook.xml.rels"], relNS, strictR))
	strict.set("xl/workbook.xml", `<workbook xmlns="`+strictNS+`" xmlns:r="`+strictR+`" conformance="strict"><workbookPr date1904="true"/><sheets><sheet name="data" sheetId="1" r:id="r1"/></sheets></workbook>`)
	strict.set("xl/worksheets/sheet1.xml", `<worksheet xmlns="`+strictNS+`"><sheetData><row r="1"><c r="A1" t="d"><v>2022-03-01</v></c></row></sheetData></worksheet>`)
	wantCells(t, strict, "A1:d=2022-03-01")
	if b, err := Open(strict.bytes()); err != nil || !b.Date1904 {
		t.Errorf("strict: %v, %v", b, err)
	}
}

func TestBook(t *testing.T) {
	m := newMade(`<dimension ref="A1"/><sheetData><row r="1" hidden="1"><c><v>1</v></c></row><row r="2" hidden="true"/><row r="3"/></sheetData><mergeCells><mergeCell ref="A1:B2"/><mergeCell ref="C3"/></mergeCells>`)
	m.set("xl/workbook.xml", `<workbook xmlns="`+mainNS+`" xmlns:r="`+relNS+`"><workbookPr date1904="0"/><sheets><sheet name="data" r:id="r1"/><sheet name="b &amp; c" state="hidden" r:id="r2"/><sheet name="d" state="veryHidden" r:id="r3"/><sheet name="chart" r:id="r4"/></sheets></workbook>`)
	m.set("xl/_rels/workbook.xml.rels", `<Relationships xmlns="`+packNS+`/relationships"><Relationship Id="r1" Type="`+relNS+`/worksheet" Target="/xl/Worksheets/Sheet1.xml"/><Relationship Id="r2" Type="`+relNS+`/worksheet" Target="../xl/./worksheets/a%20b.xml"/><Relationship Id="r3" Type="`+relNS+`/worksheet" Target="c.xml"/><Relationship Id="r4" Type="`+relNS+`/chartsheet" Target="x.xml"/><Relationship Id="r5" Type="`+relNS+`/hyperlink" Target="http://example.org/" TargetMode="External"/></Relationships>`)
	m.set("xl/worksheets/a b.xml", `<worksheet xmlns="`+mainNS+`"><sheetData/></worksheet>`).set("xl/c.xml", `<worksheet><sheetData><row><c><v>3</v></c></row></sheetData></worksheet>`)
	b, err := Open(m.bytes())
	if err != nil {
		t.Fatal(err)
	}
	want := "[{data 0} {b & c 1} {d 2}]"
	var sheets []string
	for _, s := range b.Sheets {
		sheets = append(sheets, fmt.Sprintf("{%s %d}", s.Name, s.Visibility))
	}
	if got := fmt.Sprint(sheets); got != want || b.Date1904 {
		t.Errorf("sheets %s, want %s; 1904 %v", got, want, b.Date1904)
	}
	r, err := b.Rows(0)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	var rows []string
	for {
		row, err := r.Next()
		if err != nil {
			break
		}
		rows = append(rows, fmt.Sprint(row.Number, row.Hidden, len(row.Cells)))
	}
	if got := fmt.Sprint(rows, r.Merged()); got != "[1 true 1 2 true 0 3 false 0] [{1 1 2 2} {3 3 3 3}]" {
		t.Errorf("rows %s", got)
	}
	if n, total := r.Done(); n != total || total == 0 {
		t.Errorf("read %d of %d bytes", n, total)
	}
	if cells, err := readSheet(b, 2); err != nil || show(cells) != "A1:n=3" {
		t.Errorf("%s, %v", show(cells), err)
	}
}

// Rows that are formatted to the end of the sheet cost next to nothing.
func TestFormattedToTheEnd(t *testing.T) {
	var b strings.Builder
	b.WriteString("<sheetData>" + oneCell)
	for i := 2; i <= MaxRows; i++ {
		fmt.Fprintf(&b, `<row r="%d" s="1" customFormat="1"/>`, i)
	}
	b.WriteString("</sheetData>")
	data := newMade(b.String()).bytes()
	var wide strings.Builder
	wide.WriteString("<sheetData>")
	for i := 1; i <= 100; i++ {
		fmt.Fprintf(&wide, `<row r="%d">`, i)
		for j := 1; j <= MaxColumns; j++ {
			fmt.Fprintf(&wide, `<c r="%s%d" s="1"/>`, ColumnLetters(j), i)
		}
		wide.WriteString("</row>")
	}
	wide.WriteString("</sheetData>")
	for name, data := range map[string][]byte{"long": data, "wide": newMade(wide.String()).bytes()} {
		book, err := Open(data)
		if err != nil {
			t.Fatal(err)
		}
		allocated := testing.AllocsPerRun(1, func() {
			if _, err := readSheet(book, 0); err != nil {
				t.Fatal(err)
			}
		})
		if allocated > 2000 { // most of them by the unpacking
			t.Errorf("%s: %.0f allocations", name, allocated)
		}
	}
}
