package dataset

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Sheets made at random, each cell stored in one of the ways there are, read
// back as what they were made from.
func TestXLSXRandomSheets(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var sheet, shared strings.Builder
		sheet.WriteString(`<sheetData>`)
		type cell struct {
			row, column int
			rawCell
		}
		var want []cell
		nShared, row := 0, 0
		for range rapid.IntRange(0, 8).Draw(rt, "rows") {
			row += rapid.IntRange(1, 3).Draw(rt, "row step")
			fmt.Fprintf(&sheet, `<row r="%d">`, row)
			column := 0
			for range rapid.IntRange(0, 6).Draw(rt, "cells") {
				column += rapid.IntRange(1, 3).Draw(rt, "column step")
				word := rapid.SampledFrom([]string{"a", "NA", "007", " x", "ä–", "#N/A", "1e5", "TRUE", "_x", "a\nb", "0"}).Draw(rt, "word")
				number := strconv.FormatFloat(float64(rapid.IntRange(-1_000_000, 1_000_000).Draw(rt, "number"))/16, 'f', -1, 64)
				c := cell{row, column, rawCell{}}
				attr, body := "", ""
				switch rapid.SampledFrom([]string{"number", "inline", "shared", "rich", "bool", "error", "formula", "uncached", "str", "iso", "styled"}).Draw(rt, "sort") {
				case "number":
					c.rawCell, body = rawCell{text: number, sort: numberCell}, "<v>"+number+"</v>"
				case "inline":
					c.rawCell, attr, body = rawCell{text: word, sort: textCell}, `t="inlineStr"`, "<is><t>"+word+"</t></is>"
				case "shared", "rich":
					c.rawCell, attr, body = rawCell{text: word, sort: textCell}, `t="s"`, fmt.Sprintf("<v>%d</v>", nShared)
					fmt.Fprintf(&shared, "<si><r><t>%s</t></r></si>", word)
					nShared++
				case "bool":
					c.rawCell, attr, body = rawCell{text: "FALSE", sort: booleanCell}, `t="b"`, "<v>0</v>"
				case "error":
					c.rawCell, attr, body = rawCell{text: "#REF!", sort: errorCell}, `t="e"`, "<v>#REF!</v>"
				case "formula":
					c.rawCell, body = rawCell{text: number, sort: numberCell}, "<f>A1</f><v>"+number+"</v>"
				case "uncached":
					c.rawCell, body = rawCell{text: "=A1", sort: uncachedCell}, "<f>A1</f>"
				case "str":
					c.rawCell, attr, body = rawCell{text: word, sort: textCell}, `t="str"`, "<f>A1</f><v>"+word+"</v>"
				case "iso":
					c.rawCell, attr, body = rawCell{text: "2022-03-01", sort: isoDateCell}, `t="d"`, "<v>2022-03-01</v>"
				case "styled":
					attr = `s="0"`
				}
				fmt.Fprintf(&sheet, `<c r="%s%d" %s>%s</c>`, columnLetters(column), row, attr, body)
				if c.text != "" {
					want = append(want, c)
				}
			}
			sheet.WriteString(`</row>`)
		}
		sheet.WriteString(`</sheetData>`)
		w, err := openWorkbook("x.xlsx", sheetXML(t, sheet.String(), "", shared.String()))
		if err != nil {
			rt.Fatal(err)
		}
		source, err := w.rows(0)
		if err != nil {
			rt.Fatal(err)
		}
		defer source.close()
		var got []cell
		for {
			r, err := source.next()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				rt.Fatal(err)
			}
			for i, c := range r.cells {
				if !c.empty() {
					got = append(got, cell{r.number, i + 1, c})
				}
			}
		}
		if x, y := fmt.Sprintf("%+v", got), fmt.Sprintf("%+v", want); x != y {
			rt.Fatalf("read\n\t%s\nwant\n\t%s\nfrom %s", x, y, sheet.String())
		}
	})
}
