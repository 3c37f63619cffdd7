package run

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestFewRows computes every kind on a handful of random rows, where groups are
// empty, events lacking and models without a solution, and wants results that
// can be published: Compute seals them, so each row has a number or a reason.
func TestFewRows(t *testing.T) {
	r := rand.New(rand.NewPCG(1912, 10))
	pick := func(words ...string) string { return words[r.IntN(len(words))] }
	small := []string{
		"{id: a, kind: association, outcome: pain, exposure: arch, reference: normal, adjust: [age, code]}",
		"{id: a, kind: association, outcome: pain, exposure: arch, cluster: club}",
		"{id: a, kind: association, outcome: pain, exposure: age}",
		"{id: a, kind: describe, by: arch, variables: [pain, age, code]}",
	}
	heels := []string{
		"{id: a, kind: time-to-event, start: onset, entry: seen, event: {day: left, when: back}, by: arch, at: [3], cluster: child, model: {terms: [arch, age]}}",
		"{id: a, kind: time-to-event, event: {day: left, when: back}, by: arch, limits: plain, model: {terms: [arch], ties: breslow}}",
	}
	counts := []string{
		"", ", model: {terms: [sport]}", ", model: {terms: [sport], cluster: school}", ", model: {terms: [sport], dispersion: pearson}",
		", model: {terms: [sport], family: negative-binomial, marginal: sport}",
		", model: {terms: [sport], cluster: school, errors: CR2, limits: satterthwaite, marginal: sport, overdispersion_test: true}",
		", model: {terms: [sport], cluster: school, errors: CR3, limits: clusters}",
		", model: {terms: [hours], spline: {hours: {knots: 3}}}",
		", model: {terms: [sport, hours], season: {hours: {period: 30}}, marginal: sport}",
	}
	reasons, numbers := 0, 0
	for n := range 400 {
		var b strings.Builder
		for i := range r.IntN(9) {
			switch n % 3 {
			case 0:
				fmt.Fprintf(&b, "c%d,%s,%s,%s,%s,%s\n", i, pick("normal", "pronated", "supinated", ""), pick("yes", "no", "no", ""),
					pick("8", "9", "10", ""), pick("1000000", "2000000", ""), pick("K", "L", ""))
			case 1:
				fmt.Fprintf(&b, "%s,%s,%s,%s,%d,%s,%s\n", pick("a", "b", ""), pick("normal", "pronated", ""), pick("0", "5", ""),
					pick("0", "7", "-3"), r.IntN(20), pick("yes", "no", ""), pick("8", "9", ""))
			case 2:
				fmt.Fprintf(&b, "%s,%s,%s,%s\n", pick("football", "swimming", ""), pick("A", "B", "C", ""), pick("0", "1", "3", ""), pick("0", "10", "20", ""))
			}
		}
		var f folder
		switch n % 3 {
		case 0:
			f = smallStudy(small[r.IntN(len(small))], b.String())
		case 1:
			f = heelStudy(heels[r.IntN(len(heels))], b.String())
		case 2:
			f = countStudy(counts[r.IntN(len(counts))], b.String())
		}
		for _, row := range f.compute(t).Rows {
			if row.Estimate.Present() || row.P.Present() {
				numbers++
			} else {
				reasons++
			}
		}
	}
	if numbers < 500 || reasons < 500 {
		t.Errorf("%d rows with numbers, %d with reasons only", numbers, reasons)
	}
}
