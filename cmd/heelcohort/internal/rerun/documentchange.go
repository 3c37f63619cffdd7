package rerun

import (
	"fmt"
	"regexp"
	"strings"

	"heelcohort/codebook/document"
)

// A difference is one value of a document that is not as it was.
type difference struct {
	path          []string          // keys; an item of a list by its name
	at            document.Position // in the document as it is now, or as it was where the value went
	gone          bool              // the place is in the document as it was
	before, after string            // "" where the value was not there
}

// name is the path as a person reads it: analyses[table-1].seed.
func (d difference) name() string {
	text := ""
	for _, p := range d.path {
		if text != "" && !strings.HasPrefix(p, "[") {
			text += "."
		}
		text += p
	}
	return text
}

// text says what was there and what is there now.
func (d difference) text() string {
	switch {
	case d.before == "":
		return fmt.Sprintf("%s: %s added", d.name(), d.after)
	case d.after == "":
		return fmt.Sprintf("%s: %s removed", d.name(), d.before)
	}
	return fmt.Sprintf("%s: %s → %s", d.name(), d.before, d.after)
}

// differences compares two documents value by value. Items of lists are paired
// by the key that names them, scalars by what they say, others by their place.
func differences(before, after *document.Node) []difference {
	c := &documents{}
	c.node(nil, before, after)
	return c.list
}

type documents struct{ list []difference }

func (c *documents) node(path []string, a, b *document.Node) {
	path = path[:len(path):len(path)]
	switch {
	case a == nil && b == nil:
	case a == nil:
		c.list = append(c.list, difference{path: path, at: b.Position, after: brief(b)})
	case b == nil:
		c.list = append(c.list, difference{path: path, at: a.Position, gone: true, before: brief(a)})
	case a.Kind == document.Map && b.Kind == document.Map:
		for _, p := range a.Pairs {
			c.node(append(path, p.Key), p.Value, b.Get(p.Key))
		}
		for _, p := range b.Pairs {
			if a.Get(p.Key) == nil {
				c.node(append(path, p.Key), nil, p.Value)
			}
		}
	case a.Kind == document.List && b.Kind == document.List:
		c.items(path, a.Items, b.Items)
	case a.Kind != b.Kind || a.Text != b.Text || a.Kind == document.Map || a.Kind == document.List:
		c.list = append(c.list, difference{path: path, at: b.Position, before: brief(a), after: brief(b)})
	}
}

// items pairs the items of two lists.
func (c *documents) items(path []string, a, b []*document.Node) {
	names, others := itemNames(a), itemNames(b)
	if names == nil || others == nil {
		for i := range max(len(a), len(b)) {
			var x, y *document.Node
			if i < len(a) {
				x = a[i]
			}
			if i < len(b) {
				y = b[i]
			}
			c.node(append(path, fmt.Sprintf("[%d]", i+1)), x, y)
		}
		return
	}
	at := map[string]*document.Node{}
	for i, name := range others {
		at[name] = b[i]
	}
	had := map[string]bool{}
	var kept []string
	for i, name := range names {
		had[name] = true
		if at[name] != nil {
			kept = append(kept, name)
		}
		c.node(append(path, "["+name+"]"), a[i], at[name])
	}
	var now []string
	for i, name := range others {
		if had[name] {
			now = append(now, name)
			continue
		}
		c.node(append(path, "["+name+"]"), nil, b[i])
	}
	for i := range kept {
		if kept[i] != now[i] {
			c.list = append(c.list, difference{
				path: append(path, "order"), at: at[now[i]].Position,
				before: strings.Join(kept, ", "), after: strings.Join(now, ", "),
			})
			return
		}
	}
}

// itemNames are names of a list's items that tell them apart, or nil.
func itemNames(items []*document.Node) []string {
	names := make([]string, len(items))
	seen := map[string]bool{}
	for i, n := range items {
		switch n.Kind {
		case document.Map:
			for _, key := range []string{"id", "name", "value", "rule"} {
				if v := n.Get(key); v != nil && v.Kind != document.Map && v.Kind != document.List {
					names[i] = v.Text
					break
				}
			}
		case document.List:
			return nil
		default:
			names[i] = n.Text
		}
		if names[i] == "" || seen[names[i]] {
			return nil
		}
		seen[names[i]] = true
	}
	return names
}

// brief is a value in a line.
func brief(n *document.Node) string {
	const longest = 80
	text := ""
	switch n.Kind {
	case document.Map:
		var parts []string
		for _, p := range n.Pairs {
			parts = append(parts, p.Key+": "+brief(p.Value))
		}
		text = "{" + strings.Join(parts, ", ") + "}"
	case document.List:
		var parts []string
		for _, i := range n.Items {
			parts = append(parts, brief(i))
		}
		text = "[" + strings.Join(parts, ", ") + "]"
	case document.Null:
		text = "nothing"
	case document.Text:
		text = fmt.Sprintf("%q", n.Text)
	default:
		text = n.Text
	}
	if runes := []rune(text); len(runes) > longest {
		return string(runes[:longest]) + "…"
	}
	return text
}

// wordKeys are keys whose values are shown and change no number.
var wordKeys = regexp.MustCompile(`^(title|label|description|unit|contributors|licenses|license|date|version|homepage|keywords|sources|about)$`)

// rangeKeys bound what a value may be.
var rangeKeys = regexp.MustCompile(`^(minimum|maximum|exclusiveMinimum|exclusiveMaximum|minLength|maxLength|plausible)$`)

// planChange is the change that a difference of the plan is.
func planChange(file string, d difference) Change {
	c := Change{Kind: PlanOption, Place: place(file, d), Detail: d.text(), group: planGroup}
	last := d.path[len(d.path)-1]
	switch {
	case last == "seed":
		c.Kind = Seed
	case wordKeys.MatchString(last) || d.path[0] == "accept":
		c.Kind, c.wording = PlanWording, true
	}
	if d.path[0] == "analyses" && len(d.path) > 1 && d.path[1] != "order" {
		c.analysis = strings.Trim(d.path[1], "[]")
	}
	return c
}

// codebookChange is the change that a difference of the codebook is.
func codebookChange(file string, d difference) Change {
	c := Change{Kind: CodebookOther, Place: place(file, d), Detail: d.text(), group: codebookGroup}
	last := d.path[len(d.path)-1]
	in := func(pattern *regexp.Regexp) bool {
		for _, p := range d.path {
			if pattern.MatchString(p) {
				return true
			}
		}
		return false
	}
	switch {
	case in(rangeKeys):
		c.Kind = CodebookRange
	case last == "label" && in(regexp.MustCompile(`^categories$`)):
		c.Kind, c.wording = CategoryLabel, true
	case wordKeys.MatchString(last):
		c.Kind, c.wording = CodebookWords, true
	}
	return c
}

// place is where a difference is: file and line, or file, sheet and cell.
func place(file string, d difference) string {
	recorded := ""
	if d.gone {
		recorded = " as recorded"
	}
	switch {
	case d.at.Line > 0:
		return fmt.Sprintf("%s%s, line %d", file, recorded, d.at.Line)
	case d.at.File != "":
		return d.at.File + recorded
	}
	return file + recorded
}
