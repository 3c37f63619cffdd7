package expression

import (
	"slices"
	"strings"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// A ListScope also knows which of its texts are lists of items. A list has no
// order of its own, so it is asked for its items and not compared.
type ListScope interface {
	Scope
	// List gives what separates the items of a variable, "" where it is no
	// list, and its legal items, nil when open.
	List(v Variable) (delimiter string, items []string)
}

// A listing is what is known of a list.
type listing struct {
	delimiter string
	items     []string
}

// listFunctions look into lists.
var listFunctions = []function{
	{Function{"has", `has(treatments, "orthosis")`, "Whether a list has an item; missing where the list is."}, 2, 2, buildHas},
}

func buildHas(c call) (term, error) {
	x, item := c.args[0], c.args[1]
	if x.list == nil {
		return term{}, c.fault(x.at, "found %v as argument 1 of %s, expected a variable of the type list", x, c.signature())
	}
	if item.literal == nil || item.kind != value.Text {
		return term{}, c.fault(item.at, "found %v as argument 2 of %s, expected an item in quotes", item, c.signature())
	}
	word, delimiter := item.literal.Text, x.list.delimiter
	if items := x.list.items; items != nil && !slices.Contains(items, word) {
		return term{}, c.fault(item.at, "found %q, expected an item that %s can have: %s", word, x.name, quoted(items)).near(document.Nearest(word, items))
	}
	return term{kind: value.Bool, truth: func(row Row) (bool, gap) {
		text, g := x.text(row)
		if g.missing {
			return false, g
		}
		for part := range strings.SplitSeq(text, delimiter) {
			if part == word {
				return true, gap{}
			}
		}
		return false, gap{}
	}}, nil
}

// whole refuses a list where the order of its items would matter.
func (c *compiler) whole(t term, at int) error {
	if t.list == nil {
		return nil
	}
	item := `"..."`
	if len(t.list.items) > 0 {
		item = quoted(t.list.items[:1])
	}
	return c.fault(at, "found %s, which is a list, in a comparison, expected has(%s, %s)", t.name, t.name, item)
}
