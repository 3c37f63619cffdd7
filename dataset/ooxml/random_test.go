package ooxml

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

// escape writes a text as XML in one of the ways there are.
func escape(t *rapid.T, s string) string {
	if rapid.IntRange(0, 5).Draw(t, "section") == 0 && !strings.ContainsAny(s, "\r") {
		return "<![CDATA[" + s + "]]>"
	}
	var b strings.Builder
	for _, r := range s {
		switch way := rapid.IntRange(0, 9).Draw(t, "way"); {
		case r == '<':
			b.WriteString("&lt;")
		case r == '&':
			b.WriteString("&amp;")
		case r == '\r' || way == 0:
			fmt.Fprintf(&b, "&#x%X;", r)
		case way == 1:
			fmt.Fprintf(&b, "&#%d;", r)
		case way == 2:
			b.WriteString("<!-- c -->" + string(r))
		default:
			b.WriteString(string(r))
		}
	}
	return b.String()
}

// Sheets made at random, each cell stored in one of the ways there are, with
// references or without, with prefixes or without, read back as what they were
// made from.
func TestRandomSheets(t *testing.T) {
	kinds := []struct {
		id   int
		kind Format
	}{{0, Plain}, {14, Date}, {170, Padded}, {9, Percent}}
	rapid.Check(t, func(rt *rapid.T) {
		x := rapid.SampledFrom([]string{"", "x:"}).Draw(rt, "prefix")
		var sheet, shared strings.Builder
		var want []got
		nShared, row := 0, 0
		for range rapid.IntRange(0, 6).Draw(rt, "rows") {
			step := rapid.IntRange(1, 3).Draw(rt, "row step")
			row += step
			sheet.WriteString("<" + x + "row")
			if step > 1 || rapid.Bool().Draw(rt, "row reference") {
				fmt.Fprintf(&sheet, ` r="%d"`, row)
			}
			sheet.WriteString(">")
			column := 0
			for range rapid.IntRange(0, 6).Draw(rt, "cells") {
				step := rapid.IntRange(1, 3).Draw(rt, "column step")
				column += step
				ref := ""
				if step > 1 || rapid.Bool().Draw(rt, "reference") {
					ref = fmt.Sprintf(` r="%s"`, place(row, column))
				}
				word := rapid.OneOf(
					rapid.SampledFrom([]string{"a", "NA", "007", " x", "ä–", "#N/A", "1e5", "TRUE", "_x", "a\nb", "0", "]]", "a\rb", "😀", "<&>'\""}),
					rapid.StringMatching(`[ -~äß東]{1,20}`)).Draw(rt, "word")
				if strings.Contains(word, "]]>") || hasCode([]byte(word)) {
					word = "x"
				}
				xml := escape(rt, word)
				number := strconv.FormatFloat(float64(rapid.IntRange(-1_000_000, 1_000_000).Draw(rt, "number"))/16, 'f', -1, 64)
				style := rapid.IntRange(0, len(kinds)-1).Draw(rt, "style")
				c := Cell{Column: column}
				attr, body := "", ""
				switch rapid.SampledFrom([]string{"number", "long number", "inline", "shared", "rich", "bool", "error", "formula", "uncached", "str", "iso", "styled"}).Draw(rt, "sort") {
				case "number":
					c.Sort, c.Text, body = Number, number, "<v>"+number+"</v>"
				case "long number":
					f := rapid.Float64().Draw(rt, "float")
					c.Sort, c.Text, body = Number, Shortest(strconv.FormatFloat(f, 'g', -1, 64)), fmt.Sprintf("<v>%.17g</v>", f)
				case "inline":
					c.Text, attr, body = word, ` t="inlineStr"`, "<is><t>"+xml+"</t></is>"
				case "shared":
					c.Text, attr, body = word, ` t="s"`, fmt.Sprintf("<v>%d</v>", nShared)
					shared.WriteString("<si><t>" + xml + "</t></si>")
					nShared++
				case "rich":
					c.Text, attr, body = word+"!", ` t="s"`, fmt.Sprintf("<v>%d</v>", nShared)
					shared.WriteString("<si><r><rPr><b/></rPr><t>" + xml + "</t></r><r><t>!</t></r><rPh><t>no</t></rPh></si>")
					nShared++
				case "bool":
					c.Sort, c.Text, attr, body = Boolean, "FALSE", ` t="b"`, "<v>0</v>"
				case "error":
					c.Sort, c.Text, attr, body = Fault, "#REF!", ` t="e"`, "<v>#REF!</v>"
				case "formula":
					c.Sort, c.Text, body = Number, number, "<f>A1</f><v>"+number+"</v>"
				case "uncached":
					c.Sort, c.Text, body = Uncached, "="+word, "<f>"+xml+"</f>"
				case "str":
					c.Text, attr, body = word, ` t="str"`, "<f>A1</f><v>"+xml+"</v>"
				case "iso":
					c.Sort, c.Text, attr, body = ISODate, "2022-03-01", ` t="d"`, "<v>2022-03-01</v>"
				case "styled":
				}
				if c.Sort == Number {
					c.Format = kinds[style].kind
				}
				for _, name := range []string{"v", "f", "is", "t"} {
					body = strings.NewReplacer("<"+name+">", "<"+x+name+">", "</"+name+">", "</"+x+name+">").Replace(body)
				}
				fmt.Fprintf(&sheet, `<%sc%s s="%d"%s>%s</%sc>`, x, ref, style, attr, body, x)
				if c.Text != "" {
					want = append(want, got{row, c})
				}
			}
			sheet.WriteString("</" + x + "row>")
		}
		m := newMade("").shared(shared.String()).styles(`<numFmts><numFmt numFmtId="170" formatCode="000"/></numFmts><cellXfs><xf/><xf numFmtId="14"/><xf numFmtId="170"/><xf numFmtId="9"/></cellXfs>`)
		bind := "xmlns"
		if x != "" {
			bind = "xmlns:x"
		}
		m.set("xl/worksheets/sheet1.xml", fmt.Sprintf(`<%sworksheet %s="%s"><%ssheetData>%s</%ssheetData></%sworksheet>`, x, bind, mainNS, x, sheet.String(), x, x))
		all, err := readAll(m.bytes())
		if err != nil {
			rt.Fatalf("%v\nfrom %s", err, sheet.String())
		}
		if a, b := show(all["data"]), show(want); a != b {
			rt.Fatalf("read\n\t%s\nwant\n\t%s\nfrom %s\n%s", a, b, sheet.String(), shared.String())
		}
	})
}

// The quick look at a number agrees with the slow rewriting of it.
func TestShortestQuick(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.StringMatching(`-?[0-9]{0,17}[.]?[0-9]{0,9}`), rapid.StringMatching(`-?0[.]0{0,8}[0-9]{1,12}`),
			rapid.Map(rapid.Float64(), func(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) })).Draw(t, "text")
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return
		}
		slow := strconv.FormatFloat(x, 'g', -1, 64)
		if a := max(x, -x); x == 0 || a >= 1e-6 && a < 1e21 {
			slow = strconv.FormatFloat(x, 'f', -1, 64)
		}
		if got := Shortest(text); got != slow {
			t.Fatalf("%q gives %q, want %q", text, got, slow)
		}
	})
}

// No sheet, however damaged, may end the program or lose cells in silence:
// whatever is accepted holds no more cells than tags that may be one, and what
// the standard decoder refuses is refused.
func FuzzSheet(f *testing.F) {
	f.Add(`<sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1"><v>1</v></c></row></sheetData>`)
	f.Add(`<sheetData><row><c t="s"><v>0</v></c><c><f>1</f></c></row><row r="9"/></sheetData><mergeCells><mergeCell ref="A1:B2"/></mergeCells>`)
	f.Add(`<sheetData><row r="1" hidden="1"><c r="A1" t="e"><v>#N/A</v></c></row></sheetData>`)
	f.Add(`<sheetData><row><c t="inlineStr"><is><r><t>a&amp;&#65;<![CDATA[b]]></t></r><rPh/></is></c></row></sheetData><!-- x -->`)
	f.Fuzz(func(t *testing.T, sheet string) {
		all, err := readAll(newMade(sheet).shared("<si><t>x</t></si>").bytes())
		if err != nil {
			return
		}
		if n := strings.Count(sheet, "c"); len(all["data"]) > n {
			t.Fatalf("%d cells from %d", len(all["data"]), n)
		}
		err = wellFormed(`<worksheet xmlns="` + mainNS + `">` + sheet + `</worksheet>`)
		if err != nil && (!utf8.ValidString(sheet) || !strings.Contains(err.Error(), "invalid XML name")) {
			t.Fatalf("accepted, but %v", err)
		}
	})
}

// No bytes may end the program.
func FuzzOpen(f *testing.F) {
	f.Add(newMade(sheetOf(oneCell)).bytes())
	f.Add(newMade(sheetOf(`<row><c t="s" s="1"><v>0</v></c></row>`)).shared("<si><t>a</t></si>").styles(`<cellXfs><xf/><xf numFmtId="14"/></cellXfs>`).bytes())
	f.Add(overlapping())
	f.Add(bomb(1<<20, 1000))
	f.Fuzz(func(t *testing.T, data []byte) {
		all, err := readAll(data)
		if err != nil && all != nil {
			t.Fatal("an error and a result")
		}
	})
}
