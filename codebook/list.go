package codebook

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"heelcohort/codebook/document"
	"heelcohort/codebook/value"
)

// defaultDelimiter separates the items of a list where the codebook names none,
// as the standard says.
const defaultDelimiter = ","

// list reads the properties of a list: its separator and its legal items.
func (c *checker) list(f *Field, raw *rawField) {
	isList := f.Type == TypeList
	if s := raw.ItemType; s != nil {
		switch {
		case !isList:
			c.text(*s, "", "itemType of %s, expected a list", article(f.Type))
		case s.Value != TypeString:
			c.text(*s, TypeString, "itemType %q is not supported, expected string", s.Value)
		}
	}
	if s := raw.Delimiter; s != nil && !isList {
		c.text(*s, "", "delimiter of %s, expected a list", article(f.Type))
	}
	if raw.Own.Items != nil && !isList {
		c.at(raw.Name.Position, "", "items of %s, expected a list", article(f.Type))
	}
	if !isList {
		return
	}
	f.Delimiter = defaultDelimiter
	if s := raw.Delimiter; s != nil {
		f.Delimiter = s.Value
		if Bare(s.Value) == "" || strings.ContainsFunc(s.Value, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) || r == '"' }) {
			c.text(*s, "", "delimiter %q, expected a mark such as a semicolon", s.Value)
			f.Delimiter = defaultDelimiter
		}
	}
	if raw.Own.Items != nil {
		c.items(f, raw)
	}
}

// items reads the legal items of a list.
func (c *checker) items(f *Field, raw *rawField) {
	if len(*raw.Own.Items) == 0 {
		c.at(raw.Name.Position, "", "items of %s is empty", f.Name)
	}
	values, labels := map[string]document.Position{}, map[string]document.Position{}
	for _, k := range *raw.Own.Items {
		item := k.Value.Text
		place := document.String{Value: item, Position: k.Value.Position}
		switch {
		case k.Value.Kind != document.Text:
			c.add(k.Value.Errorf("", "found %s as item of %s, expected a text: quote it", shown(k.Value), f.Name))
			continue
		case Bare(item) == "" || Bare(item) != item || strings.ContainsFunc(item, unicode.IsControl):
			c.add(k.Value.Errorf("", "item %q is empty, has blanks around it or holds a control character", item))
		case strings.Contains(item, f.Delimiter):
			c.add(k.Value.Errorf("", "item %q holds the delimiter %q", item, f.Delimiter))
		}
		c.unique(values, place, "item")
		if k.Label != "" {
			place.Value = k.Label
			c.unique(labels, place, "label")
		}
		f.Items = append(f.Items, Category{Value: item, Label: k.Label})
	}
}

// itemWords lists the legal items; nil where any item is legal.
func (f *Field) itemWords() []string {
	if f.Items == nil {
		return nil
	}
	words := make([]string, len(f.Items))
	for i, k := range f.Items {
		words[i] = k.Value
	}
	return words
}

// Split gives the items of a list's value, in the order in which they stand.
func (f *Field) Split(text string) []string { return strings.Split(text, f.Delimiter) }

// readList reads a cell of items. Blanks around an item do not count; an item
// stands once, and is one of the legal ones.
func (f *Field) readList(text string) (value.Value, *Fault) {
	if f.Delimiter == "" {
		return value.Value{}, &Fault{Rule: RuleType, Expected: f.Expected()}
	}
	items := f.Split(text)
	words := f.itemWords()
	for i, item := range items {
		item = Bare(item)
		items[i] = item
		switch {
		case item == "":
			return value.Value{}, &Fault{Rule: RuleType, Expected: f.Expected() + "; an item is empty"}
		case slices.Contains(items[:i], item):
			return value.Value{}, &Fault{Rule: RuleCategory, Expected: fmt.Sprintf("%s; %s stands twice", f.Expected(), item)}
		case words != nil && !slices.Contains(words, item):
			return value.Value{}, &Fault{Rule: RuleCategory, Expected: f.Expected(), Nearest: f.nearestItem(item, words)}
		}
	}
	return value.Str(strings.Join(items, f.Delimiter)), nil
}

// nearestItem is the legal item nearest to one that is not. The label of an
// item stands for it.
func (f *Field) nearestItem(item string, words []string) string {
	for _, k := range f.Items {
		if k.Label != "" && strings.EqualFold(k.Label, item) {
			return k.Value
		}
	}
	return document.Nearest(item, words)
}

// expectedList says which cells a list takes.
func (f *Field) expectedList() string {
	if words := f.itemWords(); words != nil {
		return fmt.Sprintf("a list with %q between its items, each %s", f.Delimiter, oneOf(words))
	}
	return fmt.Sprintf("a list with %q between its items", f.Delimiter)
}
