package draft

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"heelcohort/dataset"
)

const (
	repeated       = 3  // cells that must share a text before it is listed
	mostCategories = 20 // texts that a column's categories may be
	longestWord    = 40 // characters of a category
)

// categories lists the texts of a column that stand in at least three cells,
// if nine in ten cells are among them, in the order of the alphabet with
// numbers by size. The order does not tell where a text stands in the file.
// rare is the number of cells with other texts, none of which is repeated here.
func categories(cells []seenCell) (words []string, rare int) {
	n, hits := 0, 0
	for _, c := range cells {
		n += c.count
		if c.count < repeated || c.Stored != dataset.StoredText && c.Stored != dataset.StoredNumber {
			continue
		}
		if utf8.RuneCountInString(c.Text) > longestWord || strings.ContainsFunc(c.Text, unicode.IsControl) || strings.TrimSpace(c.Text) != c.Text {
			continue
		}
		hits += c.count
		if !slices.Contains(words, c.Text) {
			words = append(words, c.Text)
		}
	}
	if len(words) > mostCategories || !mostly(hits, n) {
		return nil, 0
	}
	slices.SortFunc(words, natural)
	return words, n - hits
}

// natural compares texts by their runs of digits as numbers and all else as
// it stands: R2 is before R10.
func natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		i, j := digitRun(x), digitRun(y)
		if i > 0 && j > 0 {
			m, errA := strconv.Atoi(x[:i])
			n, errB := strconv.Atoi(y[:j])
			if errA == nil && errB == nil && m != n {
				return cmp.Compare(m, n)
			}
			if x[:i] != y[:j] {
				return strings.Compare(x[:i], y[:j])
			}
			x, y = x[i:], y[j:]
			continue
		}
		if x[0] != y[0] {
			return cmp.Compare(x[0], y[0])
		}
		x, y = x[1:], y[1:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(a, b))
}

func digitRun(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}

// yesNo are words for true with those for false, in small letters.
var yesNo = map[string]string{"true": "false", "yes": "no", "y": "n"}

// truths are the words of a boolean, if nine in ten cells are a boolean or one
// of a pair of words; standard words need not be listed.
func truths(cells []seenCell) (trues, falses []string, hits int) {
	for yes, no := range yesNo {
		var t, f []string
		n := 0
		for _, c := range cells {
			text := strings.TrimSpace(c.Text)
			if c.Stored == dataset.StoredBoolean {
				n += c.count
				continue
			}
			if c.Stored != dataset.StoredText {
				continue
			}
			switch strings.ToLower(text) {
			case yes:
				n += c.count
				t = addWord(t, text)
			case no:
				n += c.count
				f = addWord(f, text)
			}
		}
		if n > hits && (yes == "true" || len(t) > 0 && len(f) > 0) {
			trues, falses, hits = t, f, n
		}
	}
	slices.Sort(trues)
	slices.Sort(falses)
	return trues, falses, hits
}

func addWord(list []string, word string) []string {
	if slices.Contains(list, word) {
		return list
	}
	return append(list, word)
}

// standardWords reports whether words need not be said.
func standardWords(trues, falses []string) bool {
	for _, w := range append(slices.Clone(trues), falses...) {
		if !slices.Contains([]string{"true", "True", "TRUE", "false", "False", "FALSE"}, w) {
			return false
		}
	}
	return true
}
