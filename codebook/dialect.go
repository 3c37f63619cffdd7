package codebook

import (
	"path"
	"slices"
	"strings"
	"unicode"

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
	c.headerJoin(r, d.HeaderJoin)
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

// mostHeaderRows is how many rows a header may have.
const mostHeaderRows = 20

// headerRows reads the rows of the header.
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
	for i, row := range rows {
		if row < 1 || i > 0 && row != rows[i-1]+1 {
			c.add(n.Errorf("found %v as headerRows, expected rows of at least 1, each right below the one before", rows))
			return
		}
	}
	switch {
	case len(rows) == 0:
		c.add(n.Errorf("headerRows is empty, expected at least one row"))
	case len(rows) > mostHeaderRows:
		c.add(n.Errorf("%d headerRows, expected at most %d", len(rows), mostHeaderRows))
	case raw.Own.HeaderRow != nil && *raw.Own.HeaderRow != rows[0]:
		c.add(n.Errorf("headerRows %v does not agree with heelcohort.header_row %d", rows, *raw.Own.HeaderRow))
	default:
		r.HeaderRow = rows[0]
		if len(rows) > 1 {
			r.HeaderRows, r.HeaderJoin = rows, " "
		}
	}
}

// headerJoin reads what joins the parts of a title.
func (c *checker) headerJoin(r *Resource, n *document.Node) {
	if n == nil {
		return
	}
	var join string
	switch err := document.Decode(n, &join); {
	case err != nil:
		c.add(err)
	case r.HeaderRows == nil:
		c.add(n.Errorf("headerJoin without several headerRows, whose parts it joins"))
	case strings.ContainsFunc(join, unicode.IsControl):
		c.add(n.Errorf("headerJoin %q holds a control character", join))
	default:
		r.HeaderJoin = join
	}
}
