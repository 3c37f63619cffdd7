package draft

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"sync"

	"heelcohort/codebook"
	"heelcohort/dataset"
)

// notations are the ways of writing a number that are tried, the plain one
// first. Each is tried strictly and, where that fails, with a unit or a percent
// sign around the number.
var notations = sync.OnceValue(func() (list []reading) {
	for _, loose := range []bool{false, true} {
		for _, n := range []struct{ decimal, group string }{
			{"", ""},
			{",", ""},
			{"", ","},
			{",", "."},
			{"", " "},
			{",", " "},
			{"", "\u00a0"},
			{",", "\u00a0"},
			{"", "\u202f"},
			{",", "\u202f"},
			{"", "'"},
			{"", "’"},
			{",", "'"},
			{",", "’"},
		} {
			list = append(list, newReading(reading{typ: codebook.TypeNumber, decimal: n.decimal, groupMark: n.group, loose: loose}))
		}
	}
	return list
})

// A numberGuess is what a column's cells say as numbers.
type numberGuess struct {
	reading
	hits      int
	doubt     string // two readings that the cells cannot decide between
	unit      string // that stands behind numbers, where it does
	textsOnly int    // of the hits, numbers stored as text in a workbook
}

// marked holds every text that some notation reads, and few others: to parse
// what is no number at all in every notation would take long.
var marked = regexp.MustCompile(`^[-+]?[0-9.,][0-9.,'’ \x{00a0}\x{202f}]*(?:[eE][-+]?[0-9]+)?[ \x{00a0}\x{202f}]*[^0-9\s]{0,8}$`)

// onlyDigits holds what all notations read alike.
var onlyDigits = regexp.MustCompile(`^\s*[-+]?[0-9]+\s*$`)

// numbers finds the notation that reads most cells.
func numbers(cells []seenCell, workbook bool) numberGuess {
	var best numberGuess
	var alike []seenCell // read the same way by every notation
	var open []seenCell
	for _, c := range cells {
		if c.Stored == dataset.StoredText && !onlyDigits.MatchString(c.Text) {
			if marked.MatchString(strings.TrimSpace(c.Text)) {
				open = append(open, c)
			}
			continue
		}
		alike = append(alike, c)
	}
	base := notations()[0].hits(alike)
	at := 0
	strict, behind := open, ""
	for i, r := range notations() {
		if i == len(notations())/2 {
			if mostly(best.hits, total(cells)) {
				break
			}
			if open, behind = unitsBehind(strict); behind == "" {
				break
			}
		}
		if hits := base + r.hits(open); hits > best.hits {
			best, at = numberGuess{reading: r, hits: hits}, i
		}
	}
	if best.hits == 0 {
		return best
	}
	if !best.loose {
		open = strict
	} else if best.unit = behind; strings.Contains(behind, " ") {
		best.doubt = "different units stand behind them: " + behind
		return best
	}
	if !mostly(best.hits, total(cells)) {
		// A point here and a comma there is no type and no category either.
		plain, comma := notations()[0].hits(open), notations()[1].hits(open)
		if plain > 0 && comma > 0 && mostly(base+plain+comma, total(cells)) {
			best.hits = base + plain + comma
			best.doubt = fmt.Sprintf("%s have a decimal point and %s a decimal comma", plural(plain, "cell"), plural(comma, "cell"))
			return best
		}
	}
	for _, r := range notations() {
		if r.loose == best.loose && base+r.hits(open) == best.hits && differ(r, best.reading, open) {
			best.doubt = fmt.Sprintf("the marks can be read in two ways: %s, or %s; say decimalChar and groupChar", notations()[at].words(), r.words())
			return best
		}
	}
	whole := best.reading
	whole.typ, whole.decimal = codebook.TypeInteger, ""
	whole = newReading(whole)
	if whole.hits(cells) == best.hits {
		best.reading = whole
	}
	if workbook {
		for _, c := range cells {
			if _, ok := best.of(c.GridCell); ok && c.Stored == dataset.StoredText {
				best.textsOnly += c.count
			}
		}
	}
	return best
}

// differ reports whether two notations give one cell different numbers.
func differ(a, b reading, cells []seenCell) bool {
	for _, c := range cells {
		x, okA := a.of(c.GridCell)
		y, okB := b.of(c.GridCell)
		if okA && okB && x != y {
			return true
		}
	}
	return false
}

// words names the marks of a notation.
func (r reading) words() string {
	mark := "point"
	if r.decimal == "," {
		mark = "comma"
	}
	text := "a decimal " + mark
	switch r.groupMark {
	case "":
		return text
	case ",":
		return text + " with commas between thousands"
	case ".":
		return text + " with points between thousands"
	case "'", "’":
		return text + " with apostrophes between thousands"
	}
	return text + " with spaces between thousands"
}

var numberAndUnit = regexp.MustCompile(`^\s*[-+]?[0-9][0-9.,'’ \x{00a0}\x{202f}]*(\S*)\s*$`)

// unitsBehind keeps the cells that are a number alone or before a unit, and
// names the units.
func unitsBehind(cells []seenCell) (kept []seenCell, names string) {
	var found []string
	for _, c := range cells {
		m := numberAndUnit.FindStringSubmatch(c.Text)
		if m == nil {
			continue
		}
		if _, known := units[strings.ToLower(m[1])]; m[1] != "" && !known {
			continue
		}
		kept = append(kept, c)
		if m[1] != "" && !slices.Contains(found, m[1]) {
			found = append(found, m[1])
		}
	}
	slices.Sort(found)
	return kept, strings.Join(found, " ")
}

var (
	leadingZero = regexp.MustCompile(`^0[0-9]+$`)
	manyDigits  = regexp.MustCompile(`^[-+]?[0-9]{16,}$`)
)

// nameLike says why digits are names and not amounts: zeros before them, or
// more digits than a number keeps.
func nameLike(cells []seenCell) string {
	zeros, long := 0, 0
	for _, c := range cells {
		text := strings.TrimSpace(c.Text)
		if c.Stored == dataset.StoredText && leadingZero.MatchString(text) {
			zeros += c.count
		}
		if manyDigits.MatchString(text) {
			long += c.count
		}
	}
	switch {
	case long > 0:
		return fmt.Sprintf("%s have more digits than a number keeps", plural(long, "cell"))
	case 10*zeros >= total(cells) && zeros > 0:
		return fmt.Sprintf("%s begin with zeros, which a number would lose", plural(zeros, "cell"))
	}
	return ""
}
