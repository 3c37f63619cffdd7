package figure

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
)

var (
	none = result.None()
	inf  = result.Number(math.Inf(1))
)

// in are groups: variable, level, variable, level.
func in(pairs ...string) []result.Group {
	groups := []result.Group{}
	for i := 0; i < len(pairs); i += 2 {
		groups = append(groups, result.Group{Variable: pairs[i], Level: pairs[i+1]})
	}
	return groups
}

// levels are levels with labels: value, label, value, label.
func levels(pairs ...string) []result.Level {
	var list []result.Level
	for i := 0; i < len(pairs); i += 2 {
		list = append(list, result.Level{Value: pairs[i], Label: pairs[i+1]})
	}
	return list
}

// of is a row with an estimate and its limits at 95%.
func of(part, measure string, estimate, lower, upper result.Number) result.Row {
	r := result.NewRow("a", part, measure)
	r.Estimate, r.Lower, r.Upper, r.Level = estimate, lower, upper, 0.95
	return r
}

// without is a row without estimate.
func without(part, measure, reason string) result.Row {
	r := result.NewRow("a", part, measure)
	r.Reason = reason
	return r
}

// sealed are results of one analysis "a", checked as those of a run are.
func sealed(t testing.TB, a result.Analysis, rows []result.Row) *result.Results {
	t.Helper()
	a.ID = "a"
	res := &result.Results{Analyses: []result.Analysis{a}, Rows: rows}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	return res
}

// from is the source of the analysis "a".
func from(t testing.TB, res *result.Results) *source {
	t.Helper()
	a, ok := res.Analysis("a")
	if !ok {
		t.Fatal("no analysis")
	}
	return &source{Analysis: a, rows: res.Of("a", "")}
}

// incidence is an analysis by sport and age of four cells: one with events in
// the usual way, one with none, one suppressed, one without person-time.
func incidence() (result.Analysis, []result.Row) {
	a := result.Analysis{
		Kind: "incidence", Title: "First episodes – größere Kinder ≤ 11",
		Settings: []result.Setting{{Key: "reference.sport", Value: "swimming"}},
		Variables: []result.Variable{
			{Name: "sport", Label: "Sport", Levels: levels("football", "Football", "swimming", "Swimming")},
			{Name: "age", Label: "Current age", Unit: "years", Levels: levels("[6, 9)", "6 to 8", "[9, 12)", "9 to 11")},
		},
	}
	rate := func(groups []result.Group, events, estimate, lower, upper result.Number) result.Row {
		r := of("rates", "incidence rate", estimate, lower, upper)
		r.Groups, r.Events, r.Unit = groups, events, "per 1,000 hours"
		return r
	}
	gap := func(groups []result.Group, reason string) result.Row {
		r := without("rates", "incidence rate", reason)
		r.Groups, r.Unit = groups, "per 1,000 hours"
		return r
	}
	ratio := func(groups []result.Group, term string, events result.Number, row result.Row) result.Row {
		row.Groups, row.Variable, row.Term, row.Events = groups, "sport", term, events
		return row
	}
	zero := of("ratios", "rate ratio", inf, 0.6, inf)
	zero.Reason = "no events in the reference"
	return a, []result.Row{
		rate(in(), 20, 1, 0.5, 2),
		// The swimmers come first: the order of the figure is that of the levels.
		rate(in("sport", "swimming"), 4, 0.5, 0.1, 1.3),
		rate(in("sport", "football"), 16, 1.5, 0.9, 2.4),
		rate(in("age", "[6, 9)"), 9, 0.8, 0.4, 1.5),
		rate(in("age", "[9, 12)"), 11, 1.3, 0.6, 2.3),
		rate(in("sport", "football", "age", "[6, 9)"), 9, 1.25, 0.57, 2.37),
		gap(in("sport", "football", "age", "[9, 12)"), "suppressed: fewer than 5 events"),
		rate(in("sport", "swimming", "age", "[6, 9)"), 0, 0, 0, 0.92),
		gap(in("sport", "swimming", "age", "[9, 12)"), "no person-time"),
		ratio(in(), "football vs swimming", 20, of("ratios", "rate ratio", 3, 1.1, 9)),
		ratio(in("age", "[6, 9)"), "football vs swimming", 9, zero),
		ratio(in("age", "[9, 12)"), "football vs swimming", none, without("ratios", "rate ratio", "suppressed")),
		ratio(in(), "football", none, of("model", "rate ratio", 2.5, 1.05, 7)),
	}
}

// association is an analysis of an exposure of three levels, adjusted for a
// number and a boolean that is not estimable.
func association() (result.Analysis, []result.Row) {
	a := result.Analysis{
		Kind: "association", Title: "Any episode by arch type",
		Settings: []result.Setting{{Key: "exposure", Value: "arch"}, {Key: "reference", Value: "normal"}},
		Variables: []result.Variable{
			{Name: "arch", Label: "Arch type", Levels: levels("supinated", "Supinated", "normal", "Normal", "pronated", "Pronated")},
			{Name: "age", Label: "Age", Unit: "years"},
			{Name: "brace", Label: "Brace", Levels: levels("false", "", "true", "")},
		},
	}
	counted := func(level string, n, events result.Number) result.Row {
		r := result.NewRow("a", "counts", "risk")
		r.Variable, r.Term, r.N, r.Events, r.Estimate = "arch", level, n, events, events/n
		if !events.Present() {
			r.Reason = "suppressed: fewer than 5 events"
		}
		return r
	}
	term := func(variable, term string, r result.Row) result.Row {
		r.Variable, r.Term = variable, term
		return r
	}
	fit := result.NewRow("a", "adjusted", "log likelihood")
	fit.Estimate, fit.N, fit.Events = -487.2, 1144, 189
	both := of("crude", "odds ratio", 2.16, 1.54, 3.02)
	both.N, both.Events = 1029, 177 // of the two levels compared
	return a, []result.Row{
		counted("supinated", 118, none), counted("normal", 742, 103), counted("pronated", 287, 74),
		term("arch", "supinated", without("crude", "odds ratio", "suppressed")),
		term("arch", "pronated", both),
		term("arch", "pronated", of("crude", "risk ratio", 1.86, 1.4, 2.4)),
		term("arch", "supinated", of("adjusted", "odds ratio", 0.73, 0.38, 1.4)),
		term("arch", "pronated", of("adjusted", "odds ratio", 1.93, 1.36, 2.75)),
		term("age", "", of("adjusted", "odds ratio", 0.99, 0.92, 1.06)),
		term("brace", "true", without("adjusted", "odds ratio", "separation: a coefficient has no finite estimate")),
		fit,
	}
}

// survival is a time-to-event analysis of two groups; the second loses its
// limits at 21 and comes down to 0 at 30.
func survival() (result.Analysis, []result.Row) {
	a := result.Analysis{
		Kind: "time-to-event", Title: "Time to match return",
		Variables: []result.Variable{{Name: "arch", Label: "Arch type", Levels: levels("normal", "Normal", "pronated", "Pronated ≥ 6")}},
	}
	step := func(level string, at, n, events, censored, estimate, lower, upper result.Number) result.Row {
		r := of("curve", "survival", estimate, lower, upper)
		r.Groups, r.At, r.N, r.Events, r.Censored = in("arch", level), at, n, events, censored
		if !lower.Present() {
			r.Level = none
		}
		return r
	}
	tick := func(level string, at, n, events, censored result.Number) result.Row {
		r := result.NewRow("a", "risk-table", "at risk")
		r.Groups, r.At, r.Estimate, r.N, r.Events, r.Censored = in("arch", level), at, n, n, events, censored
		if !n.Present() {
			r.Reason = "suppressed: fewer than 5 at risk"
		}
		return r
	}
	median := result.NewRow("a", "quantile", "median time")
	median.Groups, median.Estimate, median.Unit = in("arch", "normal"), 28, "days"
	test := result.NewRow("a", "tests", "log-rank")
	test.Statistic, test.DF, test.P = 1.234, 1, 0.2667
	return a, []result.Row{
		// The second group first, and its times out of order.
		step("pronated", 30, 1, 1, 0, 0, none, none),
		step("pronated", 21, 2, 1, 0, 0.25, none, none),
		step("pronated", 7, 4, 2, 0, 0.5, 0.06, 0.84),
		step("normal", 14, 8, 2, 0, 0.75, 0.31, 0.93),
		step("normal", 28, 6, 2, 4, 0.5, 0.15, 0.77),
		tick("pronated", 0, 4, 0, 0), tick("pronated", 14, none, none, none), tick("pronated", 28, 1, 3, 0),
		tick("normal", 0, 8, 0, 0), tick("normal", 14, 8, 2, 0), tick("normal", 28, 6, 4, 4),
		median, test,
	}
}

// saltmarsh are the results of the invented registry.
func saltmarsh(t testing.TB) *result.Results {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "report", "testdata", "saltmarsh.json"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	res, err := result.ReadJSON(f)
	if err != nil {
		t.Fatal(err)
	}
	return res
}
