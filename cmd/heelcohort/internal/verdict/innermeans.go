package verdict

import (
	"math/big"
	"regexp"
	"strings"

	"heelcohort/cmd/heelcohort/internal/printedtable"
)

// wholeLabel are labels of data that are whole numbers.
var wholeLabel = regexp.MustCompile(`(?i)\b(?:score|number of|count|episodes|points|items|sessions|siblings|injuries|days)\b`)

// means asks for means that no whole numbers have: their total, the mean times
// n, must be whole. It can tell only where n is below one unit of the printed
// decimals turned round, 100 for two decimals.
//
// Reference: Brown NJL, Heathers JAJ. The GRIM test: a simple technique detects
// numerous anomalies in the reporting of results in psychology. Soc Psychol
// Personal Sci 2017;8:363-369.
func (in *inner) means() {
	for _, e := range in.entries {
		head := e.heading.All()
		s, known := in.sizes[e.cell.Where.Column]
		if e.content.Form != printedtable.Pair || !known || !in.isWhole(head) || !strings.Contains(strings.ToLower(head+e.cell.Text), "mean") &&
			!strings.Contains(head+e.cell.Text, "SD") && !strings.Contains(e.cell.Text, "±") {
			continue
		}
		mean := e.content.Numbers[0]
		if mean.Percent || mean.Relation != printedtable.Equal || mean.Value().Sign() < 0 || new(big.Rat).SetInt(s.n).Cmp(power(mean.Decimals)) >= 0 {
			continue
		}
		if !meanOfWholes(mean, s.n) {
			total := new(big.Rat).Mul(mean.Value(), new(big.Rat).SetInt(s.n))
			below := new(big.Int).Quo(total.Num(), total.Denom())
			above := new(big.Int).Add(below, big.NewInt(1))
			in.ask(AskMean, e, "If these are whole numbers of n = %s (%s), no total gives the mean %s: %s gives %s and %s gives %s. Is the mean of fewer, or are they no whole numbers?",
				s.n, s.where, mean.Text, below, meanText(below, s.n, mean.Decimals), above, meanText(above, s.n, mean.Decimals))
		}
	}
}

func meanText(total, n *big.Int, decimals int) string {
	return halfUp(new(big.Rat).SetFrac(total, n), decimals).FloatString(decimals)
}

// isWhole reports whether data are said to be whole numbers.
func (in *inner) isWhole(head string) bool {
	for _, w := range in.whole {
		if strings.Contains(strings.ToLower(head), strings.ToLower(w)) {
			return true
		}
	}
	return wholeLabel.MatchString(head)
}

// meanOfWholes reports whether some whole total over n is printed as the mean,
// by any of the rules of rounding.
func meanOfWholes(mean printedtable.Number, n *big.Int) bool {
	low := new(big.Rat).Mul(new(big.Rat).Sub(mean.Value(), mean.Unit()), new(big.Rat).SetInt(n))
	total := new(big.Int).Quo(low.Num(), low.Denom())
	steps := new(big.Rat).Mul(mean.Unit(), new(big.Rat).SetInt(n))
	most := new(big.Int).Quo(steps.Num(), steps.Denom()).Int64()*2 + 4
	for range most {
		x := new(big.Rat).SetFrac(total, n)
		for _, rule := range rules {
			if rule.round(x, mean.Decimals).Cmp(mean.Value()) == 0 {
				return true
			}
		}
		total = new(big.Int).Add(total, big.NewInt(1))
	}
	return false
}
