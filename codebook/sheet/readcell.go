package sheet

import (
	"strings"

	"heelcohort/codebook/document"
)

// value reads a cell of a kind; nil for an empty one.
func (r *reader) value(k kind, c Cell, p document.Position, typ string) (*document.Node, error) {
	if c.Text == "" {
		return nil, nil
	}
	switch k {
	case flagKind, noneKind:
		yes, err := r.flag(c, p)
		if err != nil || k == flagKind {
			return yes, err
		}
		if yes.Text == "false" {
			return nil, nil
		}
		return &document.Node{Kind: document.List, Position: p}, nil
	case countKind:
		if err := r.sort(c, p); err != nil {
			return nil, err
		}
		n := &document.Node{Kind: document.Text, Position: p, Text: c.Text}
		if plainNumber.MatchString(c.Text) {
			n.Kind = document.Number
		}
		return n, nil
	case scalarKind:
		return r.scalar(c, p, typ)
	case textsKind, oneOrMore, scalarList:
		return r.list(k, c, p, typ)
	}
	return r.text(c, p)
}

// sort refuses what a spreadsheet program made of a typed text.
func (r *reader) sort(c Cell, p document.Position) error {
	at := &document.Node{}
	switch c.Sort {
	case Boolean:
		return at.ErrorAt(p, "", "found the spreadsheet's own %s, expected a text: format the cell as text and type it again", c.Text)
	case Other:
		return at.ErrorAt(p, "", "found %s, which is stored as a day, a percentage, a formula or an error; expected a text: format the cell as text and type it again", cut(c.Text))
	}
	return nil
}

// flag reads yes or no.
func (r *reader) flag(c Cell, p document.Position) (*document.Node, error) {
	n := &document.Node{Kind: document.Bool, Position: p}
	switch strings.ToLower(c.Text) {
	case "yes", "true":
		n.Text = "true"
	case "no", "false":
		n.Text = "false"
	default:
		return nil, n.ErrorNear(document.Nearest(c.Text, []string{"yes", "no"}), "found %q, expected yes or no", cut(c.Text))
	}
	return n, nil
}

// text reads a text; nil for an empty cell.
func (r *reader) text(c Cell, p document.Position) (*document.Node, error) {
	if c.Text == "" {
		return nil, nil
	}
	if err := r.sort(c, p); err != nil {
		return nil, err
	}
	n := &document.Node{Kind: document.Text, Position: p, Text: c.Text, Quoted: true}
	if c.Text[0] == '"' {
		text, rest, ok := quotedPrefix(c.Text)
		if !ok || rest != "" {
			return nil, n.Errorf("found %s, expected a text that ends with the quotation mark it begins with; one that has quotation marks of its own is written %s",
				cut(c.Text), cut(document.QuoteJSON(c.Text)))
		}
		n.Text = text
	}
	return n, nil
}

// scalar reads a value of a variable.
func (r *reader) scalar(c Cell, p document.Position, typ string) (*document.Node, error) {
	if c.Sort == Boolean && natural(c.Text, typ) == document.Bool {
		c.Sort = Text
	}
	n, err := r.text(c, p)
	if err != nil || c.Text[0] == '"' {
		return n, err
	}
	n.Kind = natural(c.Text, typ)
	if n.Kind == document.Bool {
		n.Text = strings.ToLower(n.Text)
	}
	n.Quoted = n.Kind == document.Text && (typ == "string" || typ == "date")
	return n, nil
}

// list reads a list, or the one item that stands for it.
func (r *reader) list(k kind, c Cell, p document.Position, typ string) (*document.Node, error) {
	if c.Sort == Boolean && k == scalarList && natural(c.Text, typ) == document.Bool {
		c.Sort = Text
	}
	if err := r.sort(c, p); err != nil {
		return nil, err
	}
	n := &document.Node{Kind: document.List, Position: p}
	rest, parted := c.Text, false
	for rest != "" {
		var item string
		if rest[0] == '"' {
			_, after, ok := quotedPrefix(rest)
			after = strings.TrimSpace(after)
			if !ok || after != "" && after[0] != ';' {
				return nil, n.Errorf("found %s, expected a quotation mark and then a semicolon or the end", cut(rest))
			}
			item = strings.TrimSpace(rest[:len(rest)-len(after)])
			rest = after
			if rest != "" {
				rest, parted = strings.TrimSpace(rest[1:]), true
			}
		} else {
			before, after, found := strings.Cut(rest, ";")
			item, rest, parted = strings.TrimSpace(before), strings.TrimSpace(after), parted || found
			if item == "" {
				return nil, n.Errorf("found %s, expected an item before each semicolon; the empty text is written %q", cut(c.Text), `""`)
			}
			if len(n.Items) == 0 && !found && strings.Contains(item, ",") {
				return nil, n.Errorf("found %s, which could be one item or several: put semicolons between items, or quotation marks around one with a comma", cut(c.Text))
			}
		}
		inner := Cell{Text: item}
		var v *document.Node
		var err error
		if k == scalarList {
			v, err = r.scalar(inner, p, typ)
		} else {
			v, err = r.text(inner, p)
		}
		if err != nil {
			return nil, err
		}
		n.Items = append(n.Items, v)
	}
	if k == oneOrMore && !parted {
		return n.Items[0], nil
	}
	return n, nil
}

// quotedPrefix reads the text in double quotes that line begins with, as JSON
// has it, and gives what follows.
func quotedPrefix(line string) (text, rest string, ok bool) {
	if line == "" || line[0] != '"' {
		return "", line, false
	}
	end := 1
	for ; end < len(line) && line[end] != '"'; end++ {
		if line[end] == '\\' {
			end++
		}
	}
	if end >= len(line) {
		return "", line, false
	}
	n, err := document.Parse("text.json", []byte(line[:end+1]))
	if err != nil || n.Kind != document.Text {
		return "", line, false
	}
	return n.Text, line[end+1:], true
}
