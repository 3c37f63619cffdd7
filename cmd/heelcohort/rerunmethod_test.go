package main

import (
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/publish"
	"heelcohort/cmd/heelcohort/internal/rerun"
	"heelcohort/cmd/heelcohort/internal/run"
)

// Results of other methods of one analysis: the analysis is named, and only it
// can have moved by them.
func TestRerunOtherMethod(t *testing.T) {
	dir := smallStudy(t)
	s, err := run.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	o, err := s.Compute(t.Context(), "heelcohort 0.0.9", run.Watch{})
	if err != nil {
		t.Fatal(err)
	}
	for i := range o.Results.Analyses {
		a := &o.Results.Analyses[i]
		for k := range a.Settings {
			if a.ID == "table-2" && a.Settings[k].Key == run.MethodSetting {
				a.Settings[k].Value = "association 0"
			}
		}
	}
	for i := range o.Results.Rows {
		if r := &o.Results.Rows[i]; r.Analysis == "table-2" && r.Measure == "odds ratio" && r.Estimate.Present() {
			r.Upper *= 1.01
		}
	}
	if err := publish.Results(t.Context(), s, o, nil); err != nil {
		t.Fatal(err)
	}
	r := rerunFolder(t, exitReport, unpacked(t, dir))
	i := slices.IndexFunc(r.Changes, func(c rerun.Change) bool { return c.Kind == rerun.MethodVersion })
	if i < 0 || r.Changes[i].Place != "table-2" || !strings.Contains(r.Changes[i].Detail, `"association 0", now "association 1"`) || r.Changes[i].Moved == 0 {
		t.Errorf("%+v", r.Changes)
	}
}
