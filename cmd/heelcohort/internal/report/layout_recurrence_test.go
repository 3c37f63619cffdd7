package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

// sheetsOfRows lays out the rows of one analysis "a".
func sheetsOfRows(t *testing.T, kind string, rows []result.Row) map[string][]string {
	t.Helper()
	a := result.Analysis{ID: "a", Kind: kind, Title: "T", Unit: "children"}
	res := &result.Results{Analyses: []result.Analysis{a}, Rows: rows}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	out := map[string][]string{}
	for _, s := range sheetsOf(res, a) {
		out[s.ID] = lines(s)
	}
	return out
}

// rowOf is a row with an estimate and, unless they are 0, limits at 95%.
func rowOf(part, term, measure string, estimate, lower, upper result.Number) result.Row {
	r := result.NewRow("a", part, measure)
	r.Term, r.Estimate = term, estimate
	if lower != 0 || upper != 0 {
		r.Lower, r.Upper, r.Level = lower, upper, 0.95
	}
	return r
}

func TestRecurrenceLayout(t *testing.T) {
	size := rowOf("size", "", "children", 5, 0, 0)
	size.Events, size.PersonTime = 6, 450
	at := rowOf("at", "", "mean cumulative count", 1.1, 0.6, 2)
	at.At = 100
	risk, ended := rowOf("risk-table", "", "at risk", 4, 0, 0), rowOf("risk-table", "", "ended for good", 1, 0, 0)
	risk.At, risk.Events, ended.At = 50, 4, 50
	first, later := rowOf("rates", "first", "incidence rate", 27.3, 5.6, 79.7), rowOf("rates", "recurrent", "incidence rate", 13.4, 2.8, 39.1)
	first.Unit, first.N, first.Events, first.PersonTime = "per 1,000 days", 3, 3, 110
	later.Unit, later.N, later.Events, later.PersonTime = "per 1,000 days", 3, 3, 224
	compared := rowOf("ratios", "recurrent vs first", "rate ratio", 0.491, 0.1, 2.4)
	compared.P = 0.38
	rows := []result.Row{size, at, risk, ended, first, later, compared}
	for i, term := range []string{"0", "1", "2", "3 or more"} {
		n := []result.Number{1, 2, 2, 0}[i]
		share := rowOf("spells", term, "percent", 20*n, 0, 0)
		share.N, share.Events = 5, n
		rows = append(rows, rowOf("spells", term, "count", n, 0, 0), share)
	}
	want := map[string][]string{
		"a": {
			"Group | Children | Spells | Days observed | Mean cumulative count (95% CI)/By day 100",
			"All | 5 | 6 | 450 | 1.10 (0.60 to 2.00)",
		},
		"a-at-risk": {
			"Group | Day/50", "[All]", "  At risk | 4", "  Spells so far | 4", "  Ended for good so far | 1",
			"() At risk on the day, before its spells; spells and exits for good up to and including it.",
		},
		"a-rates": {
			"Group | Children at risk | Spells | Person-time, days | Rate per 1,000 days (95% CI) | Rate ratio (95% CI) | P", "[All]",
			"  First spells | 3 | 3 | 110 | 27.3 (5.6 to 79.7) | 1 (reference) | –",
			"  Recurrent spells | 3 | 3 | 224 | 13.4 (2.8 to 39.1) | 0.49 (0.10 to 2.40) | 0.38",
		},
		"a-spells": {
			"Group | Spells, n (%)/0 | Spells, n (%)/1 | Spells, n (%)/2 | Spells, n (%)/3 or more",
			"All | 1 (20%) | 2 (40%) | 2 (40%) | 0 (0%)",
		},
	}
	if d := cmp.Diff(want, sheetsOfRows(t, "recurrence", rows)); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}

func TestBurdenLayout(t *testing.T) {
	lost := rowOf("burden", "", "burden", 241.4, 50, 500)
	lost.N, lost.Events, lost.Censored, lost.PersonTime, lost.Unit = 4, 5, 1, 290, "per 1,000 hours"
	days := rowOf("burden", "", "days lost", 70, 0, 0)
	rate := rowOf("burden", "", "incidence rate", 17.2, 5.6, 40.2)
	rate.Unit = "per 1,000 hours"
	none := rowOf("burden", "", "burden", 0, 0, 0)
	none.Groups = []result.Group{{Variable: "sex", Level: "male"}}
	none.N, none.Events, none.Censored, none.PersonTime, none.Unit = 2, 0, 0, 140, "per 1,000 hours"
	none.Level, none.Reason = 0.95, "no day was lost: limits are not estimable"
	n := rowOf("severity", "1 to 7 days", "count", 2, 0, 0)
	r := rowOf("severity", "1 to 7 days", "incidence rate", 6.9, 0.84, 24.9)
	n.Variable, r.Variable, r.Unit = "bahr-2020", "bahr-2020", "per 1,000 hours"
	want := map[string][]string{
		"a": {
			"Group | Children at risk | Episodes | Not finished | Days lost | Person-time, hours | Days lost per 1,000 hours (95% CI) | Episodes per 1,000 hours (95% CI)",
			"All | 4 | 5 | 1 | 70 | 290 | 241 (50 to 500) | 17.2 (5.6 to 40.2)", "[By sex]",
			"  male | 2 | 0 | 0 | – | 140 | 0 (no limits)^a | –", "(a) No day was lost: limits are not estimable.",
		},
		"a-bahr-2020": {
			"Days lost | Episodes | Episodes per 1,000 hours (95% CI)", "[All]", "  1 to 7 days | 2 | 6.90 (0.84 to 24.90)",
			"() Not finished: the episode may yet come into a higher band.",
		},
	}
	if d := cmp.Diff(want, sheetsOfRows(t, "burden", []result.Row{lost, days, rate, none, n, r})); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
