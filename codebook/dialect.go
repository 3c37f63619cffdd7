package codebook

import (
	"path"
	"slices"
	"strings"

	"heelcohort/codebook/document"
)

// dialect checks what is said of the file's writing. What says nothing but
// what is done anyway is accepted; all else would be read wrongly and is
// refused.
func (c *checker) dialect(r *Resource, raw *rawResource) {
	d := raw.Dialect
	for _, p := range []struct {
		name string
		node *document.Node
	}{
		{"headerJoin", d.HeaderJoin},
		{"commentRows", d.CommentRows},
		{"commentChar", d.CommentChar},
		{"escapeChar", d.EscapeChar},
		{"property", d.Property},
		{"itemType", d.ItemType},
		{"itemKeys", d.ItemKeys},
		{"table", d.Table},
	} {
		c.unsupported(p.node, p.name, "")
	}
	c.unsupported(d.NullSequence, "nullSequence", "declare missingValues")
	c.unsupported(d.SheetNumber, "sheetNumber", "name the sheet with sheetName")
	delimiter := ","
	if strings.EqualFold(path.Ext(r.Path), ".tsv") {
		delimiter = "\t"
	}
	c.only(d.Delimiter, "delimiter", delimiter)
	c.only(d.QuoteChar, "quoteChar", `"`)
	c.only(d.LineTerminator, "lineTerminator", "\n", "\r\n")
	c.only(d.Header, "header", "true")
	c.only(d.DoubleQuote, "doubleQuote", "true")
	c.only(d.SkipInitialSpace, "skipInitialSpace", "false")
	c.only(d.CaseSensitive, "caseSensitiveHeader", "true")
	c.headerRows(r, raw)
	if s := d.SheetName; s != nil {
		if own := raw.Own.Sheet; own != nil && own.Value != s.Value {
			c.text(*s, own.Value, "sheetName %q does not agree with heelcohort.sheet %q", s.Value, own.Value)
		}
		r.Sheet = s.Value
	}
}

// only refuses every value of a property but those that hold anyway.
func (c *checker) only(n *document.Node, name string, allowed ...string) {
	if n == nil {
		return
	}
	word := allowed[0] == "true" || allowed[0] == "false"
	right := n.Kind == document.Text
	if word {
		right = n.Kind == document.Bool
	}
	if right && (slices.Contains(allowed, n.Text) || word && strings.EqualFold(allowed[0], n.Text)) {
		return
	}
	if word {
		c.add(n.Errorf("%s other than %s is not supported", name, allowed[0]))
		return
	}
	c.add(n.Errorf("%s other than %q is not supported", name, allowed[0]))
}

func (c *checker) headerRows(r *Resource, raw *rawResource) {
	n := raw.Dialect.HeaderRows
	if n == nil {
		return
	}
	var rows []int
	if err := document.Decode(n, &rows); err != nil {
		c.add(err)
		return
	}
	switch {
	case len(rows) != 1 || rows[0] < 1:
		c.add(n.Errorf("found %v as headerRows, expected one row of at least 1", rows))
	case raw.Own.HeaderRow != nil && *raw.Own.HeaderRow != rows[0]:
		c.add(n.Errorf("headerRows [%d] does not agree with heelcohort.header_row %d", rows[0], *raw.Own.HeaderRow))
	default:
		r.HeaderRow = rows[0]
	}
}
