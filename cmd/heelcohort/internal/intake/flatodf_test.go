package intake

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// An element is one of a document, with its texts and elements in order.
type element struct {
	name     string
	attrs    map[string]string
	children []*element
	text     string // of an element without a name
}

// parseXML reads a document into memory.
func parseXML(t testing.TB, data []byte) *element {
	t.Helper()
	root := &element{}
	open := []*element{root}
	d := xml.NewDecoder(bytes.NewReader(data))
	for {
		token, err := d.RawToken()
		if err == io.EOF {
			return root
		}
		if err != nil {
			t.Fatal(err)
		}
		top := open[len(open)-1]
		switch x := token.(type) {
		case xml.StartElement:
			e := &element{name: full(x.Name), attrs: map[string]string{}}
			for _, a := range x.Attr {
				e.attrs[full(a.Name)] = a.Value
			}
			top.children = append(top.children, e)
			open = append(open, e)
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			top.children = append(top.children, &element{text: string(x)})
		}
	}
}

func full(n xml.Name) string {
	if n.Space == "" {
		return n.Local
	}
	return n.Space + ":" + n.Local
}

// each calls f for every element of a name, at any depth.
func (e *element) each(name string, f func(*element)) {
	for _, c := range e.children {
		if c.name == name {
			f(c)
		}
		c.each(name, f)
	}
}

// words are the texts of an element, those of comments left out.
func (e *element) words() string {
	if e.name == "office:annotation" {
		return ""
	}
	text := e.text
	for _, c := range e.children {
		text += c.words()
		if c.name == "text:s" || c.name == "text:tab" || c.name == "text:line-break" {
			text += "<" + c.name + " " + c.attrs["text:c"] + ">"
		}
	}
	return text
}

// canonical writes an element without its own name among the styles.
func (e *element) canonical() string {
	if e.name == "" {
		return e.text
	}
	var keys []string
	for k := range e.attrs {
		if k != "style:name" && k != "style:volatile" && k != "style:apply-style-name" {
			keys = append(keys, k)
		}
	}
	slices.Sort(keys)
	text := e.name
	for _, k := range keys {
		text += " " + k + "=" + e.attrs[k]
	}
	text += "("
	for _, c := range e.children {
		text += c.canonical()
	}
	return text + ")"
}

// flatCells reads a flat OpenDocument spreadsheet: for each cell that holds
// something, by sheet and place, its type, value, formula, shown text and
// number format.
func flatCells(t testing.TB, name string) map[string]string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	root := parseXML(t, data)
	formats := numberFormats(root)
	cells := map[string]string{}
	root.each("table:table", func(sheet *element) {
		columns := columnStyles(sheet)
		row := 0
		sheet.each("table:table-row", func(r *element) {
			at := 0
			for _, c := range r.children {
				if c.name != "table:table-cell" && c.name != "table:covered-table-cell" {
					continue
				}
				n := repeats(c, "table:number-columns-repeated")
				words := c.words()
				if c.attrs["office:value-type"] == "" && c.attrs["table:formula"] == "" && strings.TrimSpace(words) == "" {
					at += n
					continue
				}
				for range n {
					style := c.attrs["table:style-name"]
					if style == "" {
						style = r.attrs["table:default-cell-style-name"]
					}
					if style == "" && at < len(columns) {
						style = columns[at]
					}
					at++
					cells[fmt.Sprintf("%s!R%dC%d", sheet.attrs["table:name"], row+1, at)] = fmt.Sprintf("%s|%s|%s|%s|%s|%s|%s|%s",
						c.attrs["office:value-type"], c.attrs["office:value"], c.attrs["office:date-value"], c.attrs["office:time-value"],
						c.attrs["office:boolean-value"], c.attrs["table:formula"], strings.TrimSpace(words), formats[style])
				}
			}
			row += repeats(r, "table:number-rows-repeated")
		})
	})
	return cells
}

// columnStyles are the default styles of a sheet's columns, from the left.
func columnStyles(sheet *element) []string {
	var styles []string
	sheet.each("table:table-column", func(c *element) {
		for range min(repeats(c, "table:number-columns-repeated"), 100) {
			styles = append(styles, c.attrs["table:default-cell-style-name"])
		}
	})
	return styles
}

func repeats(e *element, attr string) int {
	n, err := strconv.Atoi(e.attrs[attr])
	if err != nil {
		return 1
	}
	return n
}

// general is the format of cells that have none.
const general = "number:number-style(number:numbernumber:min-integer-digits=1())"

// numberFormats gives the number format of each cell style, written out, since
// the names of styles differ between documents.
func numberFormats(root *element) map[string]string {
	formats := map[string]*element{}
	for _, kind := range []string{"number-style", "date-style", "time-style", "percentage-style", "currency-style", "boolean-style", "text-style"} {
		root.each("number:"+kind, func(e *element) { formats[e.attrs["style:name"]] = e })
	}
	data, parent := map[string]string{}, map[string]string{}
	root.each("style:style", func(e *element) {
		data[e.attrs["style:name"]] = e.attrs["style:data-style-name"]
		parent[e.attrs["style:name"]] = e.attrs["style:parent-style-name"]
	})
	out := map[string]string{}
	for name := range data {
		for at, depth := name, 0; at != "" && depth < 10; at, depth = parent[at], depth+1 {
			if f := formats[data[at]]; f != nil {
				if out[name] = f.canonical(); strings.Join(strings.Fields(out[name]), "") == general {
					out[name] = ""
				}
				break
			}
		}
	}
	return out
}
