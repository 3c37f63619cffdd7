package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

func TestAgreementLayout(t *testing.T) {
	const pair = "one and two"
	with := func(r result.Row, n result.Number, groups ...result.Group) result.Row {
		r.N, r.Groups = n, groups
		return r
	}
	kappa := with(rowOf("kappa", pair, "kappa", 0.5, 0.2, 0.8), 12)
	kappa.P = 0.002
	rows := []result.Row{
		with(rowOf("agreement", pair, "proportion of agreement", 0.75, 0.5, 0.9), 12), kappa,
		with(rowOf("kappa", pair, "largest kappa", 0.9, 0, 0), 12),
		with(rowOf("all raters", "", "kappa", 0.4, 0.1, 0.7), 12),
	}
	for _, first := range []string{"low", "high"} {
		for _, second := range []string{"low", "high"} {
			n := result.Number(3)
			if first != second {
				n = 1
			}
			rows = append(rows, with(rowOf("table", pair, "count", n, 0, 0), 12, result.Group{Variable: "first", Level: first}, result.Group{Variable: "second", Level: second}))
		}
	}
	want := map[string][]string{
		"a": {
			"Measure | Subjects | Estimate (95% CI) | P",
			"[one and two]", "  Proportion of agreement | 12 | 0.75 (0.50 to 0.90) | –",
			"  Kappa | 12 | 0.50 (0.20 to 0.80) | 0.002", "  Largest kappa | 12 | 0.90 | –",
			"[All raters]", "  Kappa | 12 | 0.40 (0.10 to 0.70) | –",
		},
		"a-table": {"one | two/low | two/high", "low | 3 | 1", "high | 1 | 3"},
	}
	if d := cmp.Diff(want, sheetsOfRows(t, "agreement", rows)); d != "" {
		t.Error(d)
	}

	sd := with(rowOf("differences", pair, "standard deviation of the differences", 2.345, 0, 0), 9)
	bias := with(rowOf("differences", pair, "mean difference", -1.234, -2.5, 0.04), 9)
	bias.Unit = "mm"
	few := with(rowOf("cells", "", "pairs in cells of few", 4, 0, 0), 9)
	want = map[string][]string{
		"a": {
			"Measure | Subjects | Estimate (95% CI) | P",
			"[Intraclass correlation, ]", "  One rating | 9 | 0.81 (0.40 to 0.95) | –", "  Standard error of measurement | 9 | 1.6 | –",
			"[Differences: one and two]", "  Mean difference (mm) | 9 | −1.2 (−2.5 to <0.1) | –", "  Standard deviation of the differences | 9 | 2.3 | –",
			"  Slope of the difference on the mean | 9 | 0.12 (−0.30 to 0.54) | –",
			"() Pairs in cells of the figure of fewer than , which it leaves out: 4.",
		},
	}
	got := sheetsOfRows(t, "agreement", []result.Row{
		with(rowOf("correlation", "one rating", "intraclass correlation", 0.81, 0.4, 0.95), 9),
		with(rowOf("correlation", "", "standard error of measurement", 1.61, 0, 0), 9), bias, sd,
		with(rowOf("differences", pair, "slope of the difference on the mean", 0.123, -0.3, 0.54), 9), few,
	})
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}
