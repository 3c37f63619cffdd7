package report

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

func TestAdjustedLayout(t *testing.T) {
	of := func(level string, r result.Row) result.Row {
		r.At, r.Groups = 28, []result.Group{{Variable: "arch", Level: level}}
		return r
	}
	against := func(r result.Row) result.Row {
		r.At, r.Variable, r.P = 28, "arch", 0.04
		return r
	}
	rows := []result.Row{
		of("normal", rowOf("adjusted", "", "survival", 0.7, 0.6, 0.8)),
		of("pronated", rowOf("adjusted", "", "survival", 0.55, 0.4, 0.65)),
		against(rowOf("adjusted", "pronated vs normal", "survival difference", -0.15, -0.25, -0.05)),
		of("normal", rowOf("adjusted", "", "restricted mean time", 20, 18, 22)),
		of("pronated", rowOf("adjusted", "", "restricted mean time", 17.5, 15, 20)),
		against(rowOf("adjusted", "pronated vs normal", "restricted mean difference", -2.5, -4, -1)),
	}
	want := []string{
		"Group | Adjusted (95% CI) | Difference (95% CI) | P",
		"[Without the event at 28, %]",
		"  normal | 70.0 (60.0 to 80.0) | 0 (reference) | –",
		"  pronated | 55.0 (40.0 to 65.0) | −15.0 (−25.0 to −5.0) | 0.04",
		"[Mean time up to 28]",
		"  normal | 20.0 (18.0 to 22.0) | 0 (reference) | –",
		"  pronated | 17.5 (15.0 to 20.0) | −2.5 (−4.0 to −1.0) | 0.04",
		"() What the Cox model predicts were all its rows in the group, averaged over their other covariates as observed.",
	}
	if d := cmp.Diff(want, sheetsOfRows(t, "time-to-event", rows)["a-adjusted"]); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
	r := result.NewRow("a", "adjusted", "survival")
	r.Reason = "no events in site North"
	if d := cmp.Diff([]string{"() Adjusted curves: no events in site North."}, sheetsOfRows(t, "time-to-event", []result.Row{r})["a-adjusted"][1:]); d != "" {
		t.Errorf("(-want +got):\n%s", d)
	}
}
