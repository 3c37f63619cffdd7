package figure

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// occupied is recurrence with states by sex, in another order than they are
// stacked in; the boys' curve ends before the girls'.
func occupied() (result.Analysis, []result.Row) {
	a, rows := recurrence()
	a.Settings = append(a.Settings,
		result.Setting{Key: "clock of the states", Value: "onset: the first known onset of each child"},
		result.Setting{Key: "share that may be in states without anybody under observation", Value: "0.02"})
	for _, g := range [][]result.Group{in(), in("sex", "male"), in("sex", "female")} {
		for _, state := range []string{"symptomatic", "back", "gave up"} {
			for i, at := range []result.Number{0, 7, 14} {
				if i == 2 && len(g) > 0 && g[0].Level == "male" {
					continue
				}
				r := of("states", "state occupancy", map[string][]result.Number{"symptomatic": {1, 0.5, 0.25}, "back": {0, 0.5, 0.625}, "gave up": {0, 0, 0.125}}[state][i], none, none)
				r.Term, r.Groups, r.At, r.Level, r.Reason = state, g, at, none, "no limits"
				rows = append(rows, r)
			}
		}
		for i, at := range []result.Number{0, 10} {
			r := of("states risk-table", "under observation", []result.Number{40, 31}[i], none, none)
			r.Groups, r.At, r.Level = g, at, none
			rows = append(rows, r)
		}
	}
	return a, rows
}

func TestStates(t *testing.T) {
	a, rows := occupied()
	res := sealed(t, a, rows)
	if ids := IDs(res.Analyses[0], res.Rows); !slices.Equal(ids, []string{"a", "a-states"}) {
		t.Errorf("figures %q", ids)
	}
	f, err := from(t, res).states()
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(f.States, []string{"back", "symptomatic", "gave up"}) || !slices.Equal(f.Ticks, []float64{0, 10}) || f.XLabel != "Days since the first onset" {
		t.Errorf("%+v", f)
	}
	if len(f.Panels) != 2 || f.Panels[0].Name != "Girls" || f.Panels[1].Name != "Boys" {
		t.Fatalf("panels %+v", f.Panels)
	}
	girls, boys := f.Panels[0], f.Panels[1]
	if !same(girls.Time, []float64{0, 7, 14}) || !same(girls.Share[0], []float64{0, 0.5, 0.625}) || !same(girls.Share[2], []float64{0, 0, 0.125}) ||
		!slices.Equal(girls.Observed, []int{40, 31}) || !same(boys.Time, []float64{0, 7}) || !same(boys.Share[1], []float64{1, 0.5}) {
		t.Errorf("girls %+v, boys %+v", girls, boys)
	}
	if !strings.Contains(f.Note, "up to a share of 0.02 together") {
		t.Errorf("note %q", f.Note)
	}
	figure, err := Build(res, "a-states")
	if err != nil {
		t.Fatal(err)
	}
	if text := figure.Text(); !strings.Contains(text, "Boys at 0: back 0.0%, symptomatic 100.0%, gave up 0.0% with 40 under observation; 10: no estimate") {
		t.Errorf("text %s", text)
	}
	a, rows = recurrence()
	if ids := IDs(a, rows); slices.Contains(ids, "-states") {
		t.Errorf("figures without states: %q", ids)
	}
	if _, err := from(t, sealed(t, a, rows)).states(); !errors.Is(err, plots.ErrNoData) {
		t.Errorf("without states: %v", err)
	}
}
