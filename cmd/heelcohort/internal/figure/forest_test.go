package figure

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/plots"
)

// print lists rows of a forest plot one a line: label | count | text.
func print(rows []plots.ForestRow) []string {
	var list []string
	for _, r := range rows {
		switch {
		case r.Heading:
			list = append(list, "# "+r.Label)
		case r.NoValue != "":
			list = append(list, r.Label+" | "+r.Count+" | "+r.NoValue)
		default:
			list = append(list, r.Label+" | "+r.Count+" | "+r.Text)
		}
	}
	return list
}

func expect(t *testing.T, rows []plots.ForestRow, want ...string) {
	t.Helper()
	if got := print(rows); !slices.Equal(got, want) {
		t.Errorf("rows\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// Each level stands beside its own events, not those of both levels compared;
// a ratio without bounds, and one that is withheld, say so.
func TestRateRatios(t *testing.T) {
	a, rows := incidence()
	f := from(t, sealed(t, a, rows)).rateRatios()
	expect(
		t, f.Rows,
		"# Sport",
		"Football | 16 | 3.00 (1.10 to 9.00)",
		"Swimming | 4 | 1 (reference)",
		"# Sport; Current age (years): 6 to 8",
		"Football | 9 | ∞ (0.60 to ∞)",
		"Swimming | 0 | 1 (reference)",
		"# Sport; Current age (years): 9 to 11",
		"Football | – | suppressed",
		"Swimming | – | 1 (reference)",
		"# Sport, adjusted",
		"Football |  | 2.50 (1.05 to 7.00)",
		"Swimming |  | 1 (reference)",
	)
	if f.Title != a.Title+": rate ratios" || f.TextHead != "Rate ratio (95% CI)" || f.XLabel != f.TextHead || !f.Log || f.Null != 1 || f.CountHead != "Events" {
		t.Errorf("%+v", f)
	}
	if text := mustDraw(t, f).Text(); !strings.Contains(text, "Football unbounded (0.6 to unbounded)") {
		t.Errorf("text %s", text)
	}
}

// Counts are those of the level; the adjusted part names what it rests on.
func TestAssociation(t *testing.T) {
	a, rows := association()
	f := from(t, sealed(t, a, rows)).association()
	expect(
		t, f.Rows,
		"# Arch type, crude",
		"Supinated | –/118 | suppressed",
		"Normal | 103/742 | 1 (reference)",
		"Pronated | 74/287 | 2.16 (1.54 to 3.02)",
		"# Arch type, adjusted",
		"Supinated |  | 0.73 (0.38 to 1.40)",
		"Normal |  | 1 (reference)",
		"Pronated |  | 1.93 (1.36 to 2.75)",
		"# Age (years), adjusted",
		"per unit |  | 0.99 (0.92 to 1.06)",
		"# Brace, adjusted",
		"No |  | 1 (reference)",
		"Yes |  | not estimable",
	)
	if want := "Adjusted model: n = 1,144, events 189."; f.Note != want {
		t.Errorf("note %q, want %q", f.Note, want)
	}
	mustDraw(t, f)
}

// A model that could not be fitted has no rows of ratios; the note says so.
func TestModelNotFitted(t *testing.T) {
	for part, make := range map[string]func() (result.Analysis, []result.Row){"adjusted": association, "model": incidence} {
		a, rows := make()
		rows = slices.DeleteFunc(rows, func(r result.Row) bool { return r.Part == part })
		rows = append(rows, without(part, "log likelihood", "the fit did not converge"))
		s := from(t, sealed(t, a, rows))
		f := s.association()
		if part == "model" {
			f = s.rateRatios()
		}
		if want := "Adjusted model: not estimable."; f.Note != want {
			t.Errorf("%s: note %q, want %q", part, f.Note, want)
		}
		mustDraw(t, f)
	}
}

// A fitted model without likelihood is not called so.
func TestModelWithoutLikelihood(t *testing.T) {
	a, rows := association()
	last := &rows[len(rows)-1]
	last.Estimate, last.Reason = none, "not defined for this model"
	if got, want := from(t, sealed(t, a, rows)).association().Note, "Adjusted model: n = 1,144, events 189."; got != want {
		t.Errorf("note %q, want %q", got, want)
	}
}

// Terms may name the variable as well, or the reference; the reference row is
// left out when it is not known.
func TestTerms(t *testing.T) {
	a, _ := association()
	a.Settings = nil
	for _, c := range []struct {
		terms []string
		want  []string
	}{
		{[]string{"arch=pronated", "arch=supinated"}, []string{"Supinated", "Normal", "Pronated"}},
		{[]string{"pronated vs normal"}, []string{"Normal", "Pronated"}},
		{[]string{"pronated"}, []string{"Pronated"}},
		{[]string{"pronated", "arch squared"}, []string{"Pronated", "arch squared"}},
	} {
		var rows []result.Row
		for _, term := range c.terms {
			r := of("crude", "odds ratio", 2, 1, 4)
			r.Term = term
			rows = append(rows, r)
		}
		s := from(t, sealed(t, a, rows))
		var got []string
		for _, r := range s.ratioBlock("", "arch", rows, nil)[1:] {
			got = append(got, r.Label)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%q: %q, want %q", c.terms, got, c.want)
		}
	}
}

// Where a page would not hold all ratios, those within levels are left to the
// table, and the note says so.
func TestManyRatios(t *testing.T) {
	a, rows := incidence()
	for i := range 20 {
		level := fmt.Sprintf("[%d, %d)", 20+i, 21+i)
		a.Variables[1].Levels = append(a.Variables[1].Levels, result.Level{Value: level})
		r := of("ratios", "rate ratio", 2, 1, 4)
		r.Groups, r.Variable, r.Term = in("age", level), "sport", "football vs swimming"
		rows = append(rows, r)
	}
	f := from(t, sealed(t, a, rows)).rateRatios()
	expect(
		t, f.Rows,
		"# Sport", "Football | 16 | 3.00 (1.10 to 9.00)", "Swimming | 4 | 1 (reference)",
		"# Sport, adjusted", "Football |  | 2.50 (1.05 to 7.00)", "Swimming |  | 1 (reference)",
	)
	if !strings.Contains(f.Note, "see the table") {
		t.Errorf("note %q", f.Note)
	}
}
