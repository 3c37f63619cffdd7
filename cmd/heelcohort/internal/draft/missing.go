package draft

import (
	"cmp"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook/expression"
	"heelcohort/codebook/value"
	"heelcohort/dataset"
)

// knownCodes are texts that say that there is no value, in small letters.
var knownCodes = []string{
	"na", "n/a", "n.a.", "n.a", "#n/a", "nan", "null", "nil", "nm", "nd", "n/d", "dk", "rf", "ns", "n/k", "-", "--", "---", "–", "—", "?", "??", ".", "..", "missing",
	"unknown", "not known", "not measured", "not done", "not applicable", "not available", "not recorded", "refused", "declined", "don't know", "dont know",
}

// numericCodes are numbers that often stand for no value.
var numericCodes = []float64{9, 99, 999, 9999, 99999, 88, 888, 8888, 77, 777, 7777, -1, -7, -8, -9, -77, -88, -99, -888, -999, -9999}

// A code is a suspected missing code.
type code struct {
	text  string
	count int
}

// wordCodes takes the cells that are known words for no value out of the
// cells of a column.
func wordCodes(cells []seenCell) (codes []code, rest []seenCell) {
	for _, c := range cells {
		text := strings.TrimSpace(c.Text)
		if c.Stored == dataset.StoredText && slices.Contains(knownCodes, strings.ToLower(text)) {
			codes = addCode(codes, text, c.count)
			continue
		}
		rest = append(rest, c)
	}
	return codes, rest
}

func addCode(codes []code, text string, n int) []code {
	for i := range codes {
		if codes[i].text == text {
			codes[i].count += n
			return codes
		}
	}
	return append(codes, code{text, n})
}

// ownCodes are the codes that the program gives itself; no codebook may declare
// them.
var ownCodes = []string{
	value.CodeFault, value.CodeUndefined, value.CodeNoRow, expression.CodeOutsideBands, expression.CodeNotMissing, expression.CodeWrongKind,
}

// plainWord is a text of letters alone, short enough for a code.
var plainWord = regexp.MustCompile(`^\pL[\pL .-]{0,14}$`)

// repeatedWords takes words that stand three times and more among amounts out
// of the cells: they are no amounts and too frequent for slips. It does so only
// if seven in ten cells are amounts and nearly all the rest such words.
func repeatedWords(cells []seenCell, amounts func(dataset.GridCell) bool) (codes []code, rest []seenCell) {
	n, hits := 0, 0
	for _, c := range cells {
		n += c.count
		switch text := strings.TrimSpace(c.Text); {
		case amounts(c.GridCell):
			hits += c.count
			rest = append(rest, c)
		case c.Stored == dataset.StoredText && c.count >= repeated && plainWord.MatchString(text) && !slices.Contains(ownCodes, text):
			codes = addCode(codes, text, c.count)
		default:
			rest = append(rest, c)
		}
	}
	if len(codes) == 0 || len(codes) > 5 || 10*hits < 7*n || !mostly(hits, total(rest)) {
		return nil, cells
	}
	return codes, rest
}

// numberCodes suspects numbers of the usual kind that lie far outside the
// others: by more than the whole range of the others, or below zero where no
// other is. Fewer than five others bear no suspicion.
func numberCodes(cells []seenCell, read reading) (codes []code) {
	type amount struct {
		x     float64
		text  string
		count int
	}
	var amounts []amount
	for _, c := range cells {
		if v, ok := read.of(c.GridCell); ok {
			amounts = append(amounts, amount{v.Number, strings.TrimSpace(c.Text), c.count})
		}
	}
	suspect := func(a amount) bool { return slices.Contains(numericCodes, a.x) }
	n, low, high := 0, math.Inf(1), math.Inf(-1)
	for _, a := range amounts {
		if !suspect(a) {
			n, low, high = n+a.count, min(low, a.x), max(high, a.x)
		}
	}
	if n < 5 {
		return nil
	}
	// The nearest come first: one that is near the others is one of them.
	slices.SortStableFunc(amounts, func(a, b amount) int {
		return cmp.Or(cmp.Compare(distance(a.x, low, high), distance(b.x, low, high)), cmp.Compare(a.x, b.x))
	})
	for _, a := range amounts {
		if !suspect(a) {
			continue
		}
		d := distance(a.x, low, high)
		if d <= 1 || d <= high-low && (a.x >= 0 || low < 0) {
			low, high = min(low, a.x), max(high, a.x)
			continue
		}
		codes = append(codes, code{a.text, a.count})
	}
	return codes
}

// distance of a number from a range.
func distance(x, low, high float64) float64 { return max(low-x, x-high, 0) }

// sortCodes puts codes into an order of their own: texts, then numbers.
func sortCodes(codes []code) {
	slices.SortFunc(codes, func(a, b code) int {
		x, errA := strconv.ParseFloat(a.text, 64)
		y, errB := strconv.ParseFloat(b.text, 64)
		switch {
		case errA != nil && errB == nil:
			return -1
		case errA == nil && errB != nil:
			return 1
		case errA == nil && x != y:
			return cmp.Compare(x, y)
		}
		return strings.Compare(a.text, b.text)
	})
}
