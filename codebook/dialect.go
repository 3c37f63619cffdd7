package codebook

import (
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"heelcohort/codebook/document"
)

// dialect checks what is said of the file's writing. What cannot be done would
// be read wrongly and is refused.
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
	c.written(r, d)
	c.only(d.Header, "header", "true")
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

// written reads what is said of a text file's writing. Of a workbook the same
// words say nothing, and are refused unless they are the standard's defaults.
func (c *checker) written(r *Resource, d *rawDialect) {
	delimiters, quotes, ends := []string{",", ";", "\t", "|"}, []string{`"`, "'"}, []string{"\n", "\r\n", "\r"}
	text := textFile(r.Path)
	if !text {
		delimiters, quotes, ends = delimiters[:1], quotes[:1], ends[:2]
	}
	said := Dialect{
		Delimiter:      c.oneOf(d.Delimiter, "delimiter", delimiters),
		QuoteChar:      c.oneOf(d.QuoteChar, "quoteChar", quotes),
		LineTerminator: c.oneOf(d.LineTerminator, "lineTerminator", ends),
	}
	if n := d.DoubleQuote; n != nil {
		var doubled bool
		switch err := document.Decode(n, &doubled); {
		case err != nil:
			c.add(err)
		case !doubled && !text:
			c.add(n.Errorf("doubleQuote is of text files, and %s is none", r.Path))
		}
		said.DoubleQuote = &doubled
	}
	if text {
		r.Dialect = said
	}
}

// textFile reports whether a file's name is that of a text file.
func textFile(name string) bool {
	switch strings.ToLower(path.Ext(name)) {
	case ".csv", ".tsv", ".tab", ".txt":
		return true
	}
	return false
}

// oneOf reads a text that must be one of those allowed.
func (c *checker) oneOf(n *document.Node, name string, allowed []string) string {
	if n == nil {
		return ""
	}
	var s document.String
	if err := document.Decode(n, &s); err != nil {
		c.add(err)
		return ""
	}
	if !slices.Contains(allowed, s.Value) {
		words := make([]string, len(allowed))
		for i, a := range allowed {
			words[i] = strconv.Quote(a)
		}
		c.add(n.Errorf("%s %q is not supported, expected %s", name, s.Value, strings.Join(words, " or ")))
		return ""
	}
	return s.Value
}

// only refuses every value of a property but the truth value that holds
// anyway.
func (c *checker) only(n *document.Node, name, word string) {
	if n != nil && (n.Kind != document.Bool || !strings.EqualFold(word, n.Text)) {
		c.add(n.Errorf("%s other than %s is not supported", name, word))
	}
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
