package intake

import (
	"bytes"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A maker puts a hostile file, and what belongs to it, into a fresh folder.
type maker func(t testing.TB, dir string)

// hostileFiles makes the files of hostile.csv that are not committed.
var hostileFiles = joined(hostileWorkbooks, hostileTexts, hostilePaths, hostileDocuments)

func joined(all ...map[string]maker) map[string]maker {
	out := map[string]maker{}
	for _, m := range all {
		maps.Copy(out, m)
	}
	return out
}

// bytesAs makes a maker of a function that gives a file's bytes.
func bytesAs(name string, data func(t testing.TB) []byte) maker {
	return func(t testing.TB, dir string) {
		t.Helper()
		writeFile(t, filepath.Join(dir, name), string(data(t)))
	}
}

// textAs makes a maker of a text.
func textAs(name string, text func() string) maker {
	return bytesAs(name, func(testing.TB) []byte { return []byte(text()) })
}

// workbook makes a maker of changed parts of the plain workbook.
func workbook(name string, change func(t testing.TB, list []member) []member) maker {
	return bytesAs(name, func(t testing.TB) []byte { return archive(t, change(t, members(t))) })
}

// edit makes a maker of a workbook in one part of which texts are replaced.
func edit(name, part string, oldnew ...string) maker {
	return workbook(name, func(_ testing.TB, list []member) []member { return with(list, edited(list, part, oldnew...)) })
}

// long makes a maker of a workbook in whose sheet a text is replaced by a long
// one.
func long(name, old string, text func() string) maker {
	return workbook(name, func(_ testing.TB, list []member) []member { return with(list, edited(list, sheetPart, old, text())) })
}

// filled makes a maker of a workbook in whose sheet n blocks stand before a
// mark.
func filled(name, mark, block string, n int) maker {
	return workbook(name, func(t testing.TB, list []member) []member {
		before, after := aroundCells(t, mark)
		return with(list, repeated(t, sheetPart, before, block, n, after))
	})
}

// plainText is the plain study.
func plainText(t testing.TB) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(folder, "files", "plain.csv"))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

const (
	row3 = `<row r="3">`
	done = `</sheetData>`
)

var blanks = strings.Repeat(" ", 1<<20)

var hostileWorkbooks = map[string]maker{
	"hostile/bomb-sheet.xlsx":       filled("bomb-sheet.xlsx", done, blanks, 4096),
	"hostile/bomb-below-limit.xlsx": filled("bomb-below-limit.xlsx", done, blanks, 1000),
	"hostile/bomb-false-size.xlsx": workbook("bomb-false-size.xlsx", func(t testing.TB, list []member) []member {
		before, after := aroundCells(t, done)
		m := repeated(t, sheetPart, before, blanks, 4096, after)
		m.claims = 4000
		return with(list, m)
	}),
	"hostile/bomb-parts.xlsx": workbook("bomb-parts.xlsx", func(t testing.TB, list []member) []member {
		for i := range 1000 {
			list = append(list, repeated(t, fmt.Sprintf("xl/media/image%d.png", i), "", blanks, 10, ""))
		}
		return list
	}),
	"hostile/bomb-overlap.xlsx": bytesAs("bomb-overlap.xlsx", func(t testing.TB) []byte {
		list := append([]member{repeated(t, "xl/media/image.png", "", blanks, 100, "")}, members(t)...)
		return overlapping(t, list, 5000)
	}),
	"hostile/overlap-small.xlsx": bytesAs("overlap-small.xlsx", func(t testing.TB) []byte {
		return overlapping(t, append([]member{{name: "xl/media/image.png", text: "x"}}, members(t)...), 3)
	}),
	"hostile/shared-many.xlsx": workbook("shared-many.xlsx", func(t testing.TB, list []member) []member {
		before, after, _ := strings.Cut(edited(list, "xl/sharedStrings.xml").text, "</sst>")
		return with(list, repeated(t, "xl/sharedStrings.xml", before, strings.Repeat("<si><t/></si>", 10000), 3000, "</sst>"+after))
	}),
	"hostile/shared-long.xlsx": workbook("shared-long.xlsx", func(t testing.TB, list []member) []member {
		before, after, _ := strings.Cut(edited(list, "xl/sharedStrings.xml").text, "</sst>")
		list = with(list, edited(list, sheetPart, `<c r="I3" t="inlineStr"><is><t xml:space="preserve">Möwen Süd</t></is></c>`, `<c r="I3" t="s"><v>0</v></c>`))
		return with(list, repeated(t, "xl/sharedStrings.xml", before+"<si><t>", strings.Repeat("a", 1<<20), 300, "</t></si></sst>"+after))
	}),
	"hostile/cell-million.xlsx":     long("cell-million.xlsx", "Möwen Süd", func() string { return strings.Repeat("ä", 1_000_000) }),
	"hostile/cell-300-million.xlsx": filled("cell-300-million.xlsx", "wen Süd", strings.Repeat("a", 1<<16), 4800),
	"hostile/number-long.xlsx":      long("number-long.xlsx", `<v>141</v>`, func() string { return `<v>` + strings.Repeat("1", 1_000_000) + `</v>` }),
	"hostile/formula-long.xlsx":     long("formula-long.xlsx", `<v>141</v>`, func() string { return `<f>` + strings.Repeat("1+", 1_000_000) + `1</f>` }),
	"hostile/columns-20000.xlsx": long("columns-20000.xlsx", `</row><row r="2">`, func() string {
		return strings.Repeat(`<c t="inlineStr"><is><t>x</t></is></c>`, 20000) + `</row><row r="2">`
	}),
	"hostile/far-cell.xlsx":       edit("far-cell.xlsx", sheetPart, done, `<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>`+done),
	"hostile/rows-beyond.xlsx":    filled("rows-beyond.xlsx", done, strings.Repeat("<row/>", 10000), 200),
	"hostile/rows-empty.xlsx":     filled("rows-empty.xlsx", done, strings.Repeat("<row/>", 10000), 104),
	"hostile/entities.xlsx":       edit("entities.xlsx", sheetPart, "<worksheet", `<!DOCTYPE worksheet [<!ENTITY a "aaaaaaaaaa">`+laughs()+`]><worksheet`, "Möwen Süd", "&j;"),
	"hostile/entity-outside.xlsx": edit("entity-outside.xlsx", sheetPart, "<worksheet", `<!DOCTYPE worksheet [<!ENTITY a SYSTEM "file:///etc/hostname">]><worksheet`, "Möwen Süd", "&a;"),
	"hostile/nested.xlsx":         filled("nested.xlsx", done, strings.Repeat("<a>", 10_000), 1000),
	"hostile/attributes.xlsx":     long("attributes.xlsx", row3, func() string { return `<row r="3" ` + attributes(1_000_000) + `>` }),
	"hostile/comment.xlsx":        filled("comment.xlsx", done, "<!-- "+strings.Repeat("a", 1<<16)+" -->", 4800),
	"hostile/merged-many.xlsx": workbook("merged-many.xlsx", func(t testing.TB, list []member) []member {
		before, after := aroundCells(t, done)
		after = strings.TrimPrefix(after, done)
		return with(list, repeated(t, sheetPart, before+done+"<mergeCells>", strings.Repeat(`<mergeCell ref="A2:J7"/>`, 10_000), 300, "</mergeCells>"+after))
	}),
	"hostile/merged-all.xlsx": edit("merged-all.xlsx", sheetPart, done, done+`<mergeCells><mergeCell ref="A2:XFD1048576"/></mergeCells>`),
	"hostile/sheets-many.xlsx": workbook("sheets-many.xlsx", func(_ testing.TB, list []member) []member {
		var b strings.Builder
		for i := range 50_000 {
			fmt.Fprintf(&b, `<sheet name="s%d" sheetId="%d" r:id="rId1"/>`, i, i+2)
		}
		return with(list, edited(list, "xl/workbook.xml", "</sheets>", b.String()+"</sheets>"))
	}),
	"hostile/relations-many.xlsx": workbook("relations-many.xlsx", func(_ testing.TB, list []member) []member {
		var b strings.Builder
		for i := range 100_000 {
			fmt.Fprintf(&b, `<Relationship Id="x%d" Type="t" Target="../../%d"/>`, i, i)
		}
		return with(list, edited(list, "xl/_rels/workbook.xml.rels", "</Relationships>", b.String()+"</Relationships>"))
	}),
	"hostile/relation-to-itself.xlsx": edit("relation-to-itself.xlsx", "xl/_rels/workbook.xml.rels", "worksheets/sheet1.xml", "workbook.xml"),
	"hostile/styles-many.xlsx": workbook("styles-many.xlsx", func(t testing.TB, list []member) []member {
		before, after, _ := strings.Cut(edited(list, "xl/styles.xml").text, "</cellXfs>")
		return with(list, repeated(t, "xl/styles.xml", before, strings.Repeat(`<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>`, 10_000), 200, "</cellXfs>"+after))
	}),
	"hostile/part-twice.xlsx": workbook("part-twice.xlsx", func(_ testing.TB, list []member) []member {
		return append(list, edited(list, sheetPart, "Möwen", "Robben"))
	}),
	"hostile/part-twice-by-case.xlsx": workbook("part-twice-by-case.xlsx", func(_ testing.TB, list []member) []member {
		m := edited(list, sheetPart, "Möwen", "Robben")
		m.name = strings.ToUpper(m.name)
		return append(list, m)
	}),
	"hostile/names-outside.xlsx": workbook("names-outside.xlsx", func(_ testing.TB, list []member) []member {
		return append(list, member{name: "../../outside.txt", text: "x"}, member{name: "/etc/outside", text: "x"}, member{name: `..\outside`, text: "x"})
	}),
	"hostile/cut-quarter.xlsx":  cut("cut-quarter.xlsx", 0.25),
	"hostile/cut-half.xlsx":     cut("cut-half.xlsx", 0.5),
	"hostile/cut-near-end.xlsx": cut("cut-near-end.xlsx", 0.99),
	"hostile/cut-sheet.xlsx": workbook("cut-sheet.xlsx", func(t testing.TB, list []member) []member {
		before, _ := aroundCells(t, `<row r="5">`)
		return with(list, member{name: sheetPart, text: before})
	}),
	"hostile/damaged.xlsx": bytesAs("damaged.xlsx", func(t testing.TB) []byte {
		list := members(t)
		m := repeated(t, sheetPart, edited(list, sheetPart).text, "", 0, "")
		m.packed[len(m.packed)/2] ^= 0x55
		return archive(t, with(list, m))
	}),
	"hostile/random.xlsx":   bytesAs("random.xlsx", func(testing.TB) []byte { return append([]byte("PK\x03\x04"), random(100_000)...) }),
	"hostile/one-byte.xlsx": textAs("one-byte.xlsx", func() string { return "P" }),
	"hostile/bytes-before.xlsx": bytesAs("bytes-before.xlsx", func(t testing.TB) []byte {
		return append([]byte("PK\x03\x04 some other bytes"), archive(t, members(t))...)
	}),
}

// laughs are entities each of which is ten of the one before.
func laughs() string {
	var b strings.Builder
	for c := 'b'; c <= 'j'; c++ {
		fmt.Fprintf(&b, "<!ENTITY %c %q>", c, strings.Repeat(fmt.Sprintf("&%c;", c-1), 10))
	}
	return b.String()
}

func attributes(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `a%d="" `, i)
	}
	return b.String()
}

// cut is the plain workbook without its end.
func cut(name string, share float64) maker {
	return bytesAs(name, func(t testing.TB) []byte {
		data := archive(t, members(t))
		return data[:int(share*float64(len(data)))]
	})
}

// random gives the same random bytes each time.
func random(n int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	b := make([]byte, n)
	for i := range b {
		b[i] = byte(r.Uint32())
	}
	return b
}

// afterPlain is the plain study with n blocks behind it.
func afterPlain(name, block string, n int) maker {
	return bytesAs(name, func(t testing.TB) []byte {
		return append([]byte(plainText(t)), bytes.Repeat([]byte(block), n)...)
	})
}

var hostileTexts = map[string]maker{
	"hostile/random.csv":          bytesAs("random.csv", func(testing.TB) []byte { return random(100_000) }),
	"hostile/long-line.csv":       textAs("long-line.csv", func() string { return strings.Repeat("a", 100<<20) }),
	"hostile/quotes.csv":          textAs("quotes.csv", func() string { return strings.Repeat(`"`, 50<<20) }),
	"hostile/unclosed-long.csv":   afterPlain("unclosed-long.csv", `"aaaaaaaaa`, 1).with("a\n", 25<<20),
	"hostile/empty-lines.csv":     afterPlain("empty-lines.csv", "\n", 20<<20),
	"hostile/columns-million.csv": textAs("columns-million.csv", func() string { return strings.Repeat(",", 5_000_000) + "\n" }),
	"hostile/columns-20000.csv": bytesAs("columns-20000.csv", func(t testing.TB) []byte {
		var b strings.Builder
		for i, line := range strings.Split(strings.TrimSpace(plainText(t)), "\n") {
			b.WriteString(line)
			for j := range 20_000 {
				if i == 0 {
					fmt.Fprintf(&b, ",x%d", j)
				} else {
					b.WriteString(",1")
				}
			}
			b.WriteString("\n")
		}
		return []byte(b.String())
	}),
	"hostile/ragged-million.csv": afterPlain("ragged-million.csv", "a\n", 1_000_000),
	"hostile/faults-million.csv": afterPlain("faults-million.csv", "x,x,x,x,x,x,x,x,x,x\n", 100_000),
	"hostile/header-long.csv":    textAs("header-long.csv", func() string { return "id," + strings.Repeat("a", 10<<20) + "\n" }),
	"hostile/cell-long.csv": bytesAs("cell-long.csv", func(t testing.TB) []byte {
		return []byte(strings.Replace(plainText(t), "141", strings.Repeat("1", 10<<20), 1))
	}),
	"hostile/zero-bytes.csv":  textAs("zero-bytes.csv", func() string { return strings.Repeat("\x00", 50<<20) }),
	"hostile/utf16-odd.csv":   textAs("utf16-odd.csv", func() string { return "\xff\xfei\x00d\x00," }),
	"hostile/invalid-end.csv": afterPlain("invalid-end.csv", "\xc3", 1),
}

// with adds a text to the file that a maker made alone.
func (m maker) with(block string, n int) maker {
	return func(t testing.TB, dir string) {
		t.Helper()
		m(t, dir)
		files, err := filepath.Glob(filepath.Join(dir, "*"))
		if err != nil || len(files) != 1 {
			t.Fatalf("%d files (%v)", len(files), err)
		}
		data, err := os.ReadFile(files[0])
		if err != nil {
			t.Fatal(err)
		}
		writeFile(t, files[0], string(data)+strings.Repeat(block, n))
	}
}
