package dataset

import (
	"strconv"
	"strings"

	"heelcohort/codebook/document"
)

// keyColumns finds the columns of a key. It gives nil where one is not there,
// which a codebook that was checked does not let happen.
func keyColumns(t *Table, names []string) []*Column {
	columns := make([]*Column, 0, len(names))
	for _, name := range names {
		c := t.Column(name)
		if c == nil {
			return nil
		}
		columns = append(columns, c)
	}
	return columns
}

// keyText writes the key of row i so that different keys are different texts:
// each part with its length before it. A key with a missing or invalid part
// gives false.
func keyText(columns []*Column, i int) (string, bool) {
	if len(columns) == 1 {
		if columns[0].State[i] != Present {
			return "", false
		}
		return columns[0].Value(i).String(), true
	}
	var b strings.Builder
	for _, c := range columns {
		if c.State[i] != Present {
			return "", false
		}
		text := c.Value(i).String()
		b.WriteString(strconv.Itoa(len(text)))
		b.WriteByte(':')
		b.WriteString(text)
	}
	return b.String(), true
}

// Key writes the key of row i that the named variables make, so that different
// keys are different texts; ok is false where a part is missing or invalid, or
// the table lacks one of the variables.
func (t *Table) Key(names []string, i int) (text string, ok bool) {
	columns := keyColumns(t, names)
	if columns == nil {
		return "", false
	}
	return keyText(columns, i)
}

// keyShown writes the key of row i for people.
func keyShown(columns []*Column, i int) string {
	parts := make([]string, len(columns))
	for k, c := range columns {
		parts[k] = c.Value(i).String()
	}
	if len(parts) == 1 {
		return parts[0]
	}
	return "(" + strings.Join(parts, ", ") + ")"
}

// A keyIndex finds rows by key.
type keyIndex struct {
	columns []*Column
	rows    map[string]int // first row of each key
	twice   map[string]bool
	words   []string // keys in order of their first row, as shown
}

// indexKeys indexes the rows of a table by the named columns.
func indexKeys(t *Table, names []string) *keyIndex {
	x := &keyIndex{columns: keyColumns(t, names), rows: make(map[string]int, t.Len()), twice: make(map[string]bool)}
	if x.columns == nil {
		return x
	}
	for i := range t.Len() {
		key, ok := keyText(x.columns, i)
		if !ok {
			continue
		}
		if _, seen := x.rows[key]; seen {
			x.twice[key] = true
			continue
		}
		x.rows[key] = i
		x.words = append(x.words, keyShown(x.columns, i))
	}
	return x
}

// nearestBudget bounds the words compared in search of nearest keys, over all
// findings of one foreign key: thousands of unknown keys against thousands of
// known ones would otherwise take longer than everything else together.
const nearestBudget = 2_000_000

// A nearestKey looks for the nearest existing key until its budget is spent.
type nearestKey struct {
	words  []string
	known  map[string]string
	budget int
}

func newNearestKey(words []string) *nearestKey {
	return &nearestKey{words: words, known: make(map[string]string), budget: nearestBudget}
}

// of is the nearest key to word, or "".
func (n *nearestKey) of(word string) string {
	if near, ok := n.known[word]; ok {
		return near
	}
	if n.budget < len(n.words) {
		return ""
	}
	n.budget -= len(n.words)
	near := document.Nearest(word, n.words)
	n.known[word] = near
	return near
}
