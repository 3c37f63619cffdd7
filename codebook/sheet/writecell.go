package sheet

import (
	"regexp"
	"strings"
	"unicode/utf16"

	"heelcohort/codebook/document"
)

// maxCell is the length of a cell's text, in UTF-16 units.
const maxCell = 32767

func units(text string) int {
	n := 0
	for _, r := range text {
		n += max(utf16.RuneLen(r), 1)
	}
	return n
}

// cellOf writes a value into a cell of a kind; false where it cannot stand
// there.
func cellOf(k kind, n *document.Node, typ string) (string, bool) {
	switch k {
	case textKind:
		if n.Kind == document.Text {
			return cellText(n.Text), true
		}
	case flagKind:
		if n.Kind == document.Bool && strings.EqualFold(n.Text, "true") {
			return "yes", true
		}
		return "no", n.Kind == document.Bool
	case countKind:
		if n.Kind == document.Number && plainNumber.MatchString(n.Text) {
			return n.Text, true
		}
	case scalarKind:
		return scalarText(n, typ, cellText)
	case noneKind:
		return "yes", n.Kind == document.List && len(n.Items) == 0
	case textsKind, oneOrMore, scalarList:
		return listText(k, n, typ)
	}
	return "", false
}

// listText writes a list, or the one item that stands for it.
func listText(k kind, n *document.Node, typ string) (string, bool) {
	if k == oneOrMore && n.Kind == document.Text {
		return itemText(n.Text), true
	}
	if n.Kind != document.List || len(n.Items) == 0 {
		return "", false
	}
	items := make([]string, len(n.Items))
	for i, item := range n.Items {
		fits := item.Kind == document.Text
		if k == scalarList {
			items[i], fits = scalarText(item, typ, itemText)
		} else if fits {
			items[i] = itemText(item.Text)
		}
		if !fits {
			return "", false
		}
	}
	if k == oneOrMore && len(items) == 1 {
		return items[0] + ";", true
	}
	return strings.Join(items, "; "), true
}

// scalarText writes a value of a variable; false for one that a cell would be
// read as something else.
func scalarText(n *document.Node, typ string, text func(string) string) (string, bool) {
	switch {
	case n.Kind == document.Text:
		if natural(n.Text, typ) != document.Text {
			return document.QuoteJSON(n.Text), true
		}
		return text(n.Text), true
	case n.Kind == document.Bool:
		word := strings.ToLower(n.Text)
		return word, natural(word, typ) == document.Bool
	}
	return n.Text, n.Kind == document.Number && natural(n.Text, typ) == document.Number
}

// plainNumber is a number as JSON writes it.
var plainNumber = regexp.MustCompile(`^-?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?$`)

// natural is what a cell without quotation marks holds, for a variable of a
// type.
func natural(text, typ string) document.Kind {
	switch typ {
	case "integer", "number":
		if plainNumber.MatchString(text) {
			return document.Number
		}
	case "boolean":
		if strings.EqualFold(text, "true") || strings.EqualFold(text, "false") {
			return document.Bool
		}
	}
	return document.Text
}

// cellText writes a text as it is, or in quotation marks where it would not be
// read back from a cell.
func cellText(text string) string {
	plain := text != "" && text == strings.TrimSpace(text) && text[0] != '"'
	for _, r := range text {
		plain = plain && (r == '\n' || document.Printable(r))
	}
	if plain {
		return text
	}
	return document.QuoteJSON(text)
}

// itemText writes a text within a list.
func itemText(text string) string {
	if strings.ContainsAny(text, ";,\n") {
		return document.QuoteJSON(text)
	}
	return cellText(text)
}

// plainKey matches the keys that stand in a path without quotation marks.
var plainKey = regexp.MustCompile(`^[\p{L}_$][\p{L}\p{N}_$-]*$`)

// pathText writes the way to a property.
func pathText(path []string) string {
	words := make([]string, len(path))
	for i, key := range path {
		if words[i] = key; !plainKey.MatchString(key) {
			words[i] = document.QuoteJSON(key)
		}
	}
	return strings.Join(words, ".")
}
