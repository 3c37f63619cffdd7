package ooxml

import "bytes"

// A Sort says how a cell is stored.
type Sort uint8

// The sorts of cells.
const (
	Text     Sort = iota // shared, inline, or the result of a formula
	Number               // written in its shortest form
	Boolean              // its text is TRUE or FALSE
	ISODate              // a day stored as text, 2022-03-01T00:00:00
	Fault                // an error value such as #N/A
	Uncached             // a formula without a stored value; its text is the formula with =
)

// A Cell is a cell that holds something.
type Cell struct {
	Column int
	Sort   Sort
	Format Format // of a Number
	Text   string
}

// A cellTag is what the attributes of a cell say.
type cellTag struct {
	column int
	sort   Sort
	shared bool // the value is the number of a shared text
	inline bool // t is inlineStr
	typed  bool // t is there
	str    bool // t is str
	style  int
}

// cellTag reads the attributes of a cell, which stands behind the given column.
func (r *Rows) cellTag(behind int) (cellTag, error) {
	tag := cellTag{column: behind + 1, sort: Number}
	s := r.scanner
	for i := range s.attributes {
		a := &s.attributes[i]
		if len(a.name) != 1 {
			continue
		}
		value := a.value
		if a.coded {
			text, err := s.value(*a)
			if err != nil {
				return tag, err
			}
			value = []byte(text)
		}
		switch a.name[0] {
		case 'r':
			row, column, ok := parseCell(value)
			if !ok || row != r.row.Number {
				return tag, r.at(0, refuse("cell reference %s does not fit in row %d", quote(string(value)), r.row.Number))
			}
			tag.column = column
		case 's':
			style, ok := parseIndex(value, maxStyles)
			if !ok {
				return tag, r.at(0, refuse("style %s of a cell, expected a number", quote(string(value))))
			}
			tag.style = style
		case 't':
			tag.typed = true
			switch string(value) {
			case "n":
			case "s":
				tag.sort, tag.shared = Text, true
			case "str":
				tag.sort, tag.str = Text, true
			case "inlineStr":
				tag.sort, tag.inline = Text, true
			case "b":
				tag.sort = Boolean
			case "e":
				tag.sort = Fault
			case "d":
				tag.sort = ISODate
			default:
				return tag, r.at(0, refuse("unknown type %s of a cell", quote(string(value))))
			}
		}
	}
	if tag.column <= behind {
		return tag, r.at(tag.column, refuse("cell %s is out of order", place(r.row.Number, tag.column)))
	}
	if tag.column > MaxColumns {
		return tag, r.at(0, refuse("a cell beyond the %d columns of a sheet", MaxColumns))
	}
	return tag, nil
}

// readCell reads the cell whose start tag was read last. A formula whose
// result is the empty text is stored with type str and an empty value; without
// a value element nothing was computed.
func (r *Rows) readCell(tag cellTag) error {
	s := r.scanner
	depth := s.depth()
	var formula, value, inline bool // elements that are there
	var formulaText string
	begin := len(r.buf)
	for {
		t, err := s.next()
		if err != nil {
			return err
		}
		if t == endTag {
			if s.depth() < depth {
				break
			}
			continue
		}
		if t == charData {
			if !blank(s.text) {
				return s.fail("text stands in a cell outside of its value")
			}
			continue
		}
		name := s.local
		known := len(name) == 1 && (name[0] == 'v' || name[0] == 'f') || string(name) == "is"
		switch {
		case known && !s.ours:
			return s.fail("<%s> of a cell stands in another name space", printable(string(name)))
		case !known:
			if err := s.skip(); err != nil {
				return err
			}
		case name[0] == 'v':
			if value {
				return refuse("two values in one cell")
			}
			value = true
			if err := r.readValue(begin, tag); err != nil {
				return err
			}
		case name[0] == 'f':
			if formula {
				return refuse("two formulas in one cell")
			}
			formula = true
			text, err := s.plainText(nil, 0, maxCellBytes)
			if err != nil {
				return err
			}
			formulaText = string(text)
		default:
			if inline {
				return refuse("two texts in one cell")
			}
			inline = true
			if r.buf, err = s.richText(r.buf, maxCellBytes); err != nil {
				return err
			}
		}
	}
	empty := len(r.buf) == begin
	switch {
	case inline && value:
		return refuse("both a value and a text in one cell")
	case inline && tag.typed && !tag.inline && !empty:
		return refuse("a text of its own in a cell of another type")
	case inline:
		tag.sort, tag.shared = Text, false
	case formula && (!value || empty && !tag.str):
		r.buf = r.buf[:begin]
		r.cells = append(r.cells, Cell{Column: tag.column, Sort: Uncached, Text: "=" + formulaText})
		r.spans = append(r.spans, -1)
		return nil
	}
	return r.keep(tag, begin, empty)
}

// readValue reads <v> behind what buf holds.
func (r *Rows) readValue(begin int, tag cellTag) error {
	s := r.scanner
	if tag.sort == Text && !tag.shared {
		var err error
		r.buf, err = s.plainText(r.buf, begin, maxCellBytes)
		return err
	}
	for {
		t, err := s.next()
		switch {
		case err != nil:
			return err
		case t == endTag:
			trimmed := bytes.Trim(r.buf[begin:], " \t\r\n")
			r.buf = append(r.buf[:begin], trimmed...)
			return nil
		case t == startTag:
			return s.fail("<%s> stands within a value", printable(string(s.local)))
		}
		r.buf = append(r.buf, s.text...)
		if len(r.buf)-begin > maxCellBytes {
			return refuse("a value of more than %d bytes; a cell holds 32767 characters at most", maxCellBytes)
		}
	}
}

// keep takes a cell whose text is buf from begin on. A cell that holds nothing
// is left out, unless it is an error.
func (r *Rows) keep(tag cellTag, begin int, empty bool) error {
	c := Cell{Column: tag.column, Sort: tag.sort}
	if empty && c.Sort != Fault {
		return nil
	}
	text := r.buf[begin:]
	switch {
	case tag.shared:
		n, ok := parseIndex(text, maxSharedTexts)
		if !ok {
			return refuse("index %s of a shared text, expected a number", quote(string(text)))
		}
		r.buf = r.buf[:begin]
		shared, err := r.book.sharedTexts()
		if err != nil {
			return err
		}
		if n >= shared.len() {
			return refuse("cell %s names shared text %d of %d", place(r.row.Number, c.Column), n, shared.len())
		}
		c.Text = shared.text(n)
		if c.Text == "" {
			return nil
		}
		r.cells, r.spans = append(r.cells, c), append(r.spans, -1)
		return nil
	case c.Sort == Number:
		if tag.style < len(r.book.formats) {
			c.Format = r.book.formats[tag.style]
		}
		if !isShortest(text) {
			r.buf = append(r.buf[:begin], Shortest(string(text))...)
		}
	case c.Sort == Boolean:
		r.buf = append(r.buf[:begin], booleanWord(text)...)
	}
	if len(r.buf) > maxRowBytes {
		return refuse("the texts of the row are longer than %d bytes", maxRowBytes)
	}
	r.cells, r.spans = append(r.cells, c), append(r.spans, begin)
	return nil
}

// booleanWord is how a stored boolean is shown in the sheet.
func booleanWord(text []byte) string {
	switch string(text) {
	case "1", "true":
		return "TRUE"
	case "0", "false":
		return "FALSE"
	}
	return string(text)
}
