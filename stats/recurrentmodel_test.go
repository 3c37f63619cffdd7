package stats

import (
	"errors"
	"slices"
	"testing"

	"heelcohort/stats/internal/published"
)

func TestRecurrentPublished(t *testing.T) {
	p := published.Load(t, "therneau-grambsch-2000-bladder")
	child := p.Ints("patient")
	times := Times{Entry: p.Floats("from"), Exit: p.Floats("to")}
	thiotepa, number, size := p.Floats("thiotepa"), p.Floats("number"), p.Floats("size")
	var x [][]float64
	for i, e := range p.Ints("recurrence") {
		times.Status = append(times.Status, e == 1)
		x = append(x, []float64{thiotepa[i], number[i], size[i]})
	}
	fit := func(layout RecurrentLayout, ties string) Fit {
		f, err := FitRecurrent(times, child, x, []string{"thiotepa", "number", "size"}, RecurrentOptions{Layout: layout, Ties: ties})
		must(t, err)
		return f
	}
	for name, layout := range map[string]RecurrentLayout{"ag": "", "total": PrenticeTotal, "gap": PrenticeGap} {
		f := fit(layout, "")
		p.Check(name, f.Coefficients[0])
		p.Check(name+" se", f.ModelSE[0])
		p.Check(name+" robust se", f.SE[0])
	}
	f := fit(AndersenGill, TiesBreslow)
	p.Check("ag breslow", f.Coefficients[0])
	p.Check("ag breslow robust se", f.SE[0])
}

// A child seen on days 2 to 9, not on 9 to 11, with events on days 4, 9 and 15.
func TestLayOutRecurrentByHand(t *testing.T) {
	times := Times{
		Entry:  []float64{11, 2, 4, 15, 0},
		Exit:   []float64{15, 4, 9, 20, 7},
		Status: []bool{true, true, true, false, false},
	}
	child := []int{1, 1, 1, 1, 2}
	r, err := LayOutRecurrent(times, child, RecurrentOptions{Layout: PrenticeGap, LargestNumber: 3})
	must(t, err)
	for what, pair := range map[string][2][]float64{
		"entry": {r.Entry, {2, 2, 0, 0, 0}},
		"exit":  {r.Exit, {6, 4, 5, 5, 7}},
	} {
		if !slices.Equal(pair[0], pair[1]) {
			t.Errorf("%s %v, want %v", what, pair[0], pair[1])
		}
	}
	if !slices.Equal(r.Number, []int{3, 1, 2, 4, 1}) || !slices.Equal(r.Strata, []int{3, 1, 2, 3, 1}) {
		t.Errorf("numbers %v, strata %v", r.Number, r.Strata)
	}
	total, err := LayOutRecurrent(times, child, RecurrentOptions{Layout: PrenticeTotal})
	must(t, err)
	if !slices.Equal(total.Entry, times.Entry) || !slices.Equal(total.Exit, times.Exit) || !slices.Equal(total.Strata, total.Number) {
		t.Errorf("total time %v", total)
	}
	ag, err := LayOutRecurrent(times, child, RecurrentOptions{})
	must(t, err)
	if ag.Strata != nil || !slices.Equal(ag.Exit, times.Exit) {
		t.Errorf("counting process %v", ag)
	}
	times.Entry[2] = 3
	if _, err := LayOutRecurrent(times, child, RecurrentOptions{}); !errors.Is(err, ErrOverlap) {
		t.Errorf("overlap: %v", err)
	}
}

// Child 1 had an event before its first row, and what its events begin lasts: it
// is at risk again from day 6 on, free since day 5. Child 2 has its first.
func TestLayOutRecurrentWithHistory(t *testing.T) {
	times := Times{Entry: []float64{0, 6, 0, 8}, Exit: []float64{4, 9, 7, 9}, Status: []bool{true, true, true, false}}
	child := []int{1, 1, 2, 2}
	opts := RecurrentOptions{Layout: PrenticeGap, Number: []int{2, 3, 1, 2}, Since: []float64{-3, 5, 0, 8}}
	r, err := LayOutRecurrent(times, child, opts)
	must(t, err)
	if !slices.Equal(r.Entry, []float64{3, 1, 0, 0}) || !slices.Equal(r.Exit, []float64{7, 4, 7, 1}) || !slices.Equal(r.Strata, []int{2, 3, 1, 2}) {
		t.Errorf("%+v", r)
	}
	// Written out, the numbers and clocks that are counted change nothing.
	times = Times{Entry: []float64{0, 3, 0, 5}, Exit: []float64{3, 8, 5, 9}, Status: []bool{true, false, true, true}}
	for _, layout := range []RecurrentLayout{AndersenGill, PrenticeTotal, PrenticeGap} {
		a, err := LayOutRecurrent(times, child, RecurrentOptions{Layout: layout, LargestNumber: 1})
		must(t, err)
		b, err := LayOutRecurrent(times, child, RecurrentOptions{Layout: layout, LargestNumber: 1, Number: []int{1, 2, 1, 2}, Since: []float64{0, 3, 0, 5}})
		must(t, err)
		if !slices.Equal(a.Entry, b.Entry) || !slices.Equal(a.Exit, b.Exit) || !slices.Equal(a.Strata, b.Strata) {
			t.Errorf("%s: counted %v, given %v", layout, a, b)
		}
	}
	for name, opts := range map[string]RecurrentOptions{
		"a number that does not grow": {Number: []int{1, 1, 1, 2}},
		"a clock that starts late":    {Since: []float64{0, 8.5, 0, 5}},
		"too few numbers":             {Number: []int{1}},
		"another layout":              {Layout: "daily"},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", name)
				}
			}()
			_, _ = LayOutRecurrent(times, child, opts)
		}()
	}
}

// Cutting a row changes no estimate in any layout.
func TestRecurrentCutRows(t *testing.T) {
	times := Times{
		Entry:  []float64{0, 3, 0, 5, 0, 2, 0, 1, 0},
		Exit:   []float64{3, 8, 5, 9, 2, 7, 1, 6, 9},
		Status: []bool{true, false, true, true, true, true, true, false, true},
	}
	child := []int{1, 1, 2, 2, 3, 3, 4, 4, 5}
	x := [][]float64{{1}, {1}, {0}, {0}, {1}, {1}, {0.5}, {0.5}, {0}}
	cut := Times{Entry: append(slices.Clone(times.Entry), 6), Exit: append(slices.Clone(times.Exit), 8), Status: append(slices.Clone(times.Status), false)}
	cut.Exit[1] = 6
	for _, layout := range []RecurrentLayout{AndersenGill, PrenticeTotal, PrenticeGap} {
		a, err := FitRecurrent(times, child, x, []string{"a"}, RecurrentOptions{Layout: layout})
		must(t, err)
		b, err := FitRecurrent(cut, append(slices.Clone(child), 1), append(slices.Clone(x), []float64{1}), []string{"a"}, RecurrentOptions{Layout: layout})
		must(t, err)
		if !near(a.Coefficients[0], b.Coefficients[0], 1e-9) || !near(a.SE[0], b.SE[0], 1e-9) {
			t.Errorf("%s: %v (%v), cut %v (%v)", layout, a.Coefficients[0], a.SE[0], b.Coefficients[0], b.SE[0])
		}
	}
}
