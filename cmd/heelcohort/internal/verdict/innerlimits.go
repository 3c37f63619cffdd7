package verdict

import (
	"math"
	"math/big"
	"regexp"
	"strconv"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printed"
	"heelcohort/cmd/heelcohort/internal/printedtable"
)

// Words of headings that tell the scale of an estimate.
var (
	ratioWords = regexp.MustCompile(`(?i)\bratios?\b|\brelative risk|\b(?:OR|RR|HR|IRR|SIR|SMR|PR|aOR|aRR|aHR|aIRR)\b`)
	meanWords  = regexp.MustCompile(`(?i)\bmean\b|difference|coefficient|\bbeta\b|β|slope`)
	quartile   = regexp.MustCompile(`(?i)\bmedian\b|\bIQR\b|quartile|\brange\b|q1`)
	pHeading   = regexp.MustCompile(`(?i)^p(?:[ -]?values?)?$`)
	levelWords = regexp.MustCompile(`\b(90|95|98|99)(?:\.0)?\s*%`)
)

// leeway is what limits and P may be off beyond the rounding of their digits,
// because exact, score and profile limits are not symmetric: a part of the
// width for the estimate's place, a factor for P.
const (
	offCentre = 0.15
	factorP   = 3
)

// A span is a range of a number that was rounded.
type span struct{ low, high float64 }

func spanOf(n printedtable.Number) span {
	low, high := n.Range()
	a, _ := low.Float64()
	b, _ := high.Float64()
	return span{a, b}
}

// limits holds estimates against their limits, and both against P.
func (in *inner) limits() {
	for _, e := range in.entries {
		if e.content.Form != printedtable.Limits && e.content.Form != printedtable.LimitsP {
			continue
		}
		n := e.content.Numbers
		x, lower, upper := n[0].Value(), n[1].Value(), n[2].Value()
		switch {
		case lower.Cmp(upper) > 0:
			in.ask(AskLimits, e, "The lower limit %s is above the upper one %s. Were they swapped?", n[1].Text, n[2].Text)
			continue
		case x.Cmp(lower) < 0 || x.Cmp(upper) > 0:
			in.ask(AskLimits, e, "%s does not lie within %s to %s. Do they belong together?", n[0].Text, n[1].Text, n[2].Text)
			continue
		}
		head := e.heading.All()
		if quartile.MatchString(head) || quartile.MatchString(e.cell.Text) {
			continue
		}
		isRatio := ratioWords.MatchString(head)
		if isRatio && lower.Sign() < 0 {
			in.ask(AskLimits, e, "A ratio is not below 0, but its lower limit is %s. Is it on another scale?", n[1].Text)
			continue
		}
		if isRatio && !in.centre(e) {
			continue
		}
		if p, at := in.pOf(e); p != nil && (isRatio || meanWords.MatchString(head)) {
			in.againstP(e, *p, at, isRatio)
		}
	}
}

// centre asks where the middle of a ratio's limits is, on the log scale, and
// reports whether the estimate may be there.
func (in *inner) centre(e entry) bool {
	n := e.content.Numbers
	x, l, u := spanOf(n[0]), spanOf(n[1]), spanOf(n[2])
	if x.low <= 0 || l.low <= 0 || n[1].Value().Sign() == 0 {
		return true
	}
	low, high := math.Sqrt(l.low*u.low), math.Sqrt(l.high*u.high)
	width := math.Log(u.high/l.low) / 2 * offCentre
	if math.Log(x.low)-math.Log(high) > width || math.Log(low)-math.Log(x.high) > width {
		middle := math.Sqrt(value(n[1]) * value(n[2]))
		in.ask(AskLimits, e, "On the log scale, where limits of a ratio are mostly made, the middle of %s to %s is %s, far from %s. Does one of the three have a wrong digit, or are the limits made in another way?",
			n[1].Text, n[2].Text, strconv.FormatFloat(middle, 'f', max(n[0].Decimals, 1), 64), n[0].Text)
		return false
	}
	return true
}

func value(n printedtable.Number) float64 {
	x, _ := n.Value().Float64()
	return x
}

// pOf finds the P value of an estimate: in its cell, or alone in a column of P
// values of the row.
func (in *inner) pOf(e entry) (p *printedtable.Number, where string) {
	if e.content.Form == printedtable.LimitsP {
		return &e.content.Numbers[3], "beside it"
	}
	estimates := 0
	for _, o := range in.entries {
		if o.cell.Where.Row != e.cell.Where.Row {
			continue
		}
		if o.content.Form == printedtable.Limits {
			estimates++
		}
		if len(o.heading.Column) == 0 || o.content.Form != printedtable.One || !pHeading.MatchString(strings.TrimSpace(o.heading.Column[len(o.heading.Column)-1])) {
			continue
		}
		if o.cell.Where.Column > e.cell.Where.Column && p == nil && estimates <= 1 {
			p, where = &o.content.Numbers[0], "of "+o.cell.Where.Cell()
		}
	}
	if estimates > 1 {
		return nil, "" // which of them it tests is not known
	}
	return p, where
}

// levelIn finds the level in headings or cell, 0.95 where none is said.
func levelIn(text string) float64 {
	if m := levelWords.FindStringSubmatch(text); m != nil {
		if x, err := strconv.ParseFloat(m[1], 64); err == nil {
			return x / 100
		}
	}
	return 0.95
}

// againstP holds limits against P by the normal distribution.
func (in *inner) againstP(e entry, p printedtable.Number, where string, isRatio bool) {
	n := e.content.Numbers
	x, l, u := spanOf(n[0]), spanOf(n[1]), spanOf(n[2])
	null := big.NewRat(0, 1)
	if isRatio {
		if x.low <= 0 || l.low <= 0 {
			return
		}
		for _, s := range []*span{&x, &l, &u} {
			s.low, s.high = math.Log(s.low), math.Log(s.high)
		}
		null = big.NewRat(1, 1)
	}
	level := levelIn(e.heading.All() + " " + e.cell.Text)
	outside := n[1].Value().Cmp(null) > 0 || n[2].Value().Cmp(null) < 0
	inside := n[1].Value().Cmp(null) < 0 && n[2].Value().Cmp(null) > 0
	bound := 1 - level
	ps := spanOf(p)
	switch p.Relation {
	case printedtable.Below, printedtable.AtMost:
		ps = span{0, value(p)}
	case printedtable.Above, printedtable.AtLeast:
		ps = span{value(p), 1}
	}
	nullText := null.FloatString(0)
	switch {
	case outside && ps.low > bound:
		in.ask(AskP, e, "The %s leave out %s, but P %s is %s. Are P and limits of the same test, or of the same model?", limitsAt(level), nullText, where, p.Text)
		return
	case inside && ps.high < bound:
		in.ask(AskP, e, "The %s hold %s, but P %s is %s. Are P and limits of the same test, or of the same model?", limitsAt(level), nullText, where, p.Text)
		return
	}
	z := quantile(level)
	least := math.Max(0, math.Min(math.Abs(x.low), math.Abs(x.high)))
	if x.low < 0 && x.high > 0 {
		least = 0
	}
	most := math.Max(math.Abs(x.low), math.Abs(x.high))
	widest, narrowest := (u.high-l.low)/2/z, (u.low-l.high)/2/z
	if narrowest <= 0 {
		return
	}
	high, low := math.Erfc(least/widest/math.Sqrt2), math.Erfc(most/narrowest/math.Sqrt2)
	if ps.high < low/factorP || ps.low > high*factorP && ps.low > high+0.1 {
		in.ask(AskP, e, "By the normal distribution, estimate and %s belong to a P of about %s; P %s is %s. Is it of another test or model, or are the limits of another level?",
			limitsAt(level), printed.P(math.Erfc(math.Abs(middleOf(x))/middleOf(span{narrowest, widest})/math.Sqrt2)), where, p.Text)
	}
}

func middleOf(s span) float64 { return (s.low + s.high) / 2 }

func limitsAt(level float64) string { return strconv.FormatFloat(level*100, 'f', -1, 64) + "% limits" }
