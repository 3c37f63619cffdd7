package draft

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// A guess is what the cells of a column suggest of it.
type guess struct {
	typ, format        string
	decimal, groupMark string
	loose              bool
	trues, falses      []string
	categories         []string
	missing            []code
	empty              int // cells without anything
	unit, role         string
	values             int // cells that are neither empty nor a missing code
	low, high          string
	why                []pair   // the reason of each guess
	notes              []string // doubts
}

// A pair is a key of the codebook with a sentence.
type pair struct{ key, text string }

func (g *guess) because(key, format string, args ...any) {
	g.why = append(g.why, pair{key, fmt.Sprintf(format, args...)})
}

func (g *guess) note(format string, args ...any) {
	g.notes = append(g.notes, fmt.Sprintf(format, args...))
}

// profile guesses a column from its title and its cells. workbook says that
// numbers could have been stored as numbers.
func profile(title string, cells []seenCell, workbook bool) guess {
	g := guess{typ: codebook.TypeString}
	filled := g.split(cells)
	codes, rest := wordCodes(filled)
	g.values = total(rest)
	if g.values == 0 {
		g.because("type", "no cell has a value to tell it by")
		g.missing = codes
		g.sayMissing()
		return g
	}
	switch {
	case g.booleans(rest):
	case g.amounts(&codes, &rest, workbook):
	default:
		g.texts(title, rest)
	}
	g.values = total(rest)
	g.missing = codes
	sortCodes(g.missing)
	g.sayMissing()
	if g.typ == codebook.TypeInteger || g.typ == codebook.TypeNumber {
		u := unitOf(title)
		if u == "%" && slices.ContainsFunc(rest, func(c seenCell) bool { return c.Shown == dataset.ShownPercent }) {
			u = "" // the numbers are hundredths, or are meant as such
		}
		if u != "" && g.unit == "" {
			g.unit = u
			g.because("unit", "from the title")
		} else if u != "" && u != g.unit {
			g.note("the title names the unit %s", u)
		}
	}
	role, why := roleOf(title, g.typ, rest, g.categories != nil)
	if g.role = role; role != "" {
		g.because("role", "%s", why)
	}
	g.extremes(rest)
	return g
}

// split takes empty cells and those that no program can read out of the cells.
func (g *guess) split(cells []seenCell) (filled []seenCell) {
	wrong, percent, padded := 0, 0, 0
	for _, c := range cells {
		switch {
		case blank(c.GridCell):
			g.empty += c.count
			continue
		case c.Stored == dataset.StoredError || c.Stored == dataset.StoredFormula:
			wrong += c.count
		}
		switch c.Shown {
		case dataset.ShownPercent:
			percent += c.count
		case dataset.ShownPadded:
			padded += c.count
		case dataset.ShownPlain, dataset.ShownDate:
		}
		filled = append(filled, c)
	}
	if wrong > 0 {
		g.note("%s: an error, or a formula without a stored value", plural(wrong, "cell"))
	}
	if percent > 0 {
		g.note("%s show a percentage, as 45%% for a stored 0.45; which of the two is meant is not chosen: say heelcohort.percent", plural(percent, "cell"))
	}
	if padded > 0 {
		g.note("%s show zeros before the digits that are not stored", plural(padded, "cell"))
	}
	return filled
}

// booleans tries a column as true and false.
func (g *guess) booleans(cells []seenCell) bool {
	trues, falses, hits := truths(cells)
	if !mostly(hits, total(cells)) {
		return false
	}
	g.typ = codebook.TypeBoolean
	if !standardWords(trues, falses) {
		g.trues, g.falses = trues, falses
		for _, c := range cells { // a workbook's own booleans are written as the first word
			if c.Stored == dataset.StoredBoolean {
				g.note("some cells are booleans of the workbook and some are words")
				break
			}
		}
	}
	g.because("type", "boolean in %s", share(hits, total(cells)))
	return true
}

// amounts tries a column as days and as numbers. Words that stand among them
// again and again become suspected codes.
func (g *guess) amounts(codes *[]code, rest *[]seenCell, workbook bool) bool {
	cells := *rest
	d, n := dates(cells), numbers(cells, workbook)
	isDate := d.hits >= n.hits
	words, without := repeatedWords(cells, func(c dataset.GridCell) bool {
		if isDate {
			_, ok := d.of(c)
			return ok
		}
		_, ok := n.of(c)
		return ok
	})
	if len(words) > 0 {
		cells = without
	}
	all := total(cells)
	switch {
	case isDate && mostly(d.hits, all):
		if d.doubt != "" {
			g.because("type", "days, but a doubt must be settled first")
			g.note("%s", d.doubt)
			break
		}
		g.typ, g.format = codebook.TypeDate, d.format
		g.because("type", "date in %s", share(d.hits, all))
		if d.why != "" {
			g.because("format", "%s", d.why)
		}
	case !isDate && n.hits > 0 && mostly(n.hits, all):
		if !g.number(n, cells, workbook) {
			break
		}
		for _, c := range numberCodes(cells, n.reading) {
			*codes = append(*codes, c)
			cells = slices.DeleteFunc(slices.Clone(cells), func(s seenCell) bool { return strings.TrimSpace(s.Text) == c.text })
		}
	default:
		return false
	}
	if g.typ != codebook.TypeString {
		g.notes = append(g.notes, dateDoubts(cells)...)
	}
	*codes, *rest = append(*codes, words...), cells
	return g.typ != codebook.TypeString
}

// number takes a notation; it reports false where digits are not amounts or
// the notation is in doubt.
func (g *guess) number(n numberGuess, cells []seenCell, workbook bool) bool {
	all := total(cells)
	if why := nameLike(cells); why != "" {
		g.note("digits that are no amounts: %s", why)
		return false
	}
	if n.doubt != "" {
		g.note("numbers in %s, but %s", share(n.hits, all), n.doubt)
		return false
	}
	if slices.Contains(dateDoubts(cells), eightDigits) {
		return false
	}
	g.typ, g.decimal, g.groupMark, g.loose = n.typ, n.decimal, n.groupMark, n.loose
	g.because("type", "%s in %s", n.typ, share(n.hits, all))
	if n.decimal != "" || n.groupMark != "" {
		g.because("marks", "numbers with %s", n.words())
	}
	if n.loose {
		g.because("bareNumber", "%s stands behind numbers", quote(n.unit))
		if g.unit = units[strings.ToLower(n.unit)]; g.unit != "" {
			g.because("unit", "as it stands behind numbers")
		}
	}
	if workbook && n.textsOnly > 0 {
		g.note("%s are stored as text in the workbook", plural(n.textsOnly, "number"))
	}
	var whole []float64
	for _, c := range cells {
		if v, ok := n.of(c.GridCell); ok && !slices.Contains(whole, v.Number) && len(whole) < 3 {
			whole = append(whole, v.Number)
		}
	}
	slices.Sort(whole)
	if n.typ == codebook.TypeInteger && slices.Equal(whole, []float64{0, 1}) {
		g.note("0 and 1 alone: perhaps a boolean, perhaps codes")
	}
	return true
}

// texts takes a column as text, with categories where few words are repeated.
func (g *guess) texts(title string, cells []seenCell) {
	if len(g.why) == 0 {
		g.because("type", "no other type reads nine in ten of %s", plural(total(cells), "cell"))
	}
	g.notes = append(g.notes, dateDoubts(cells)...)
	personal := speaks(title, identifierWords) || speaks(title, placeWords) || speaks(title, noteWords) || speaks(title, birthWords)
	if personal || coded(cells) || long(cells) || nameLike(cells) != "" || len(g.notes) > 0 {
		return
	}
	words, rare := categories(cells)
	if words == nil {
		return
	}
	g.categories = words
	g.because("categories", "%s, each in at least %d cells", plural(len(words), "text"), repeated)
	if rare > 0 {
		g.note("%s hold other texts, which are not repeated here", plural(rare, "cell"))
	}
}

// sayMissing gives the reason of the missing codes.
func (g *guess) sayMissing() {
	var parts []string
	for _, c := range g.missing {
		parts = append(parts, fmt.Sprintf("%s in %s", quote(c.text), plural(c.count, "cell")))
	}
	if len(parts) > 0 {
		g.because("missingValues", "suspected: %s", strings.Join(parts, ", "))
	}
}

// leastForRange is the number of values below which no range is told.
const leastForRange = 20

// extremes notes the smallest and the largest value; of days the year alone,
// and of days of birth nothing.
func (g *guess) extremes(cells []seenCell) {
	amount := g.typ == codebook.TypeInteger || g.typ == codebook.TypeNumber || g.typ == codebook.TypeDate
	if !amount || g.role == identifierRole || g.values < leastForRange {
		return
	}
	r := newReading(reading{typ: g.typ, format: g.format, decimal: g.decimal, groupMark: g.groupMark, loose: g.loose})
	low, high := math.Inf(1), math.Inf(-1)
	for _, c := range cells {
		v, ok := r.of(c.GridCell)
		if !ok {
			continue
		}
		x := v.Number
		if g.typ == codebook.TypeDate {
			x = yearOf(x)
			if year, err := strconv.Atoi(strings.SplitN(c.Day, "-", 2)[0]); err == nil {
				x = float64(year)
			}
		}
		low, high = min(low, x), max(high, x)
	}
	if low > high || g.typ == codebook.TypeDate && g.role == quasiRole {
		return
	}
	g.low, g.high = amountText(low), amountText(high)
}
