package report

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"heelcohort/cmd/heelcohort/internal/result"
)

// lines shows a sheet as text, a row a line, with footnote signs.
func lines(s Sheet) []string {
	var out []string
	var head []string
	for _, c := range s.Columns {
		label := c.Label
		if c.Group != "" {
			label = c.Group + "/" + label
		}
		head = append(head, label)
	}
	out = append(out, strings.Join(head, " | "))
	for _, row := range s.Rows {
		var cells []string
		for _, c := range row.Cells {
			text := c.Text()
			for _, m := range c.Marks {
				text += "^" + m
			}
			if c.Indent {
				text = "  " + text
			}
			cells = append(cells, text)
		}
		line := strings.Join(cells, " | ")
		if row.Section {
			line = "[" + line + "]"
		}
		out = append(out, line)
	}
	for _, n := range s.Notes {
		out = append(out, "("+n.Mark+") "+textOf(n.Pieces))
	}
	return out
}

// sheetNamed is the sheet of the registry with the given id.
func sheetNamed(t *testing.T, id string) Sheet {
	t.Helper()
	for _, s := range bookSheets(saltmarsh(t)) {
		if s.ID == id {
			return s
		}
	}
	t.Fatalf("no sheet %q", id)
	return Sheet{}
}

// The wanted tables are written by hand from the numbers in saltmarsh.json.
func TestDescribeTable(t *testing.T) {
	want := []string{
		"Characteristic | All | Arch type/Supinated | Arch type/Normal | Arch type/Pronated",
		"Number of participants | 1,190 | 118 | 742 | 287",
		"[Age at enrolment, years]",
		"  Number with a value | 1,190 | 118 | 742 | 287",
		"  Mean (SD) | 10.4 (2.3) | 11.6 (2.4) | 10.6 (2.3) | 9.4 (2.0)",
		"  Median (lower to upper quartile) | 10.4 (8.5 to 12.3) | 11.7 (9.8 to 13.6) | 10.6 (8.8 to 12.4) | 9.3 (7.8 to 10.9)",
		"[Foot posture index total of the more pronated foot, points]",
		"  Number with a value | 1,147 | 118 | 742 | 287",
		"  Mean (SD) | 3.6 (3.3) | −1.9 (1.0) | 2.9 (1.6) | 7.3 (1.3)",
		"  Median (lower to upper quartile) | 4 (1 to 6) | −2 (−3 to −1) | 3 (2 to 4) | 7 (6 to 8)",
		"  Missing: not measured (NM) | 31 | 0 | 0 | 0",
		"  Missing: empty cell | 12 | 0 | 0 | 0",
		"[Sex, n (%)]",
		"  Female | 601 (50.6%) | 58 (49.2%) | 371 (50.1%) | 150 (52.3%)",
		"  Male | 586 (49.4%) | 60 (50.8%) | 369 (49.9%) | 137 (47.7%)",
		"  Missing: refused (RF) | 3 | 0 | 2 | 0",
	}
	got := lines(sheetNamed(t, "table-1"))
	if diff := cmp.Diff(want, got[:len(want)]); diff != "" {
		t.Errorf("table (-want +got):\n%s", diff)
	}
	for _, line := range []string{
		"  Swimming | 1 (0.1%) | 0 (0%) | 0 (0%) | 1 (0.3%)",
		"() SD: standard deviation. Percentages are of those with a value.",
	} {
		if !slices.Contains(got, line) {
			t.Errorf("no line %q in\n%s", line, strings.Join(got, "\n"))
		}
	}
}

func TestIncidenceTable(t *testing.T) {
	got := lines(sheetNamed(t, "table-2"))
	if want := "Group | Participants at risk | Events | Person-time, hours | Rate per 1,000 hours (95% CI) | " +
		"Rate ratio by sport/Ratio (95% CI) | Rate ratio by sport/P"; got[0] != want {
		t.Errorf("head %q, want %q", got[0], want)
	}
	for _, line := range []string{
		"All | 2,383 | 247 | 203,983 | 1.21 (1.06 to 1.37) | – | –",
		"[By current age, years]",
		"[By sport]",
		"  Football | 1,124 | 150 | 103,598 | 1.45 (1.23 to 1.70) | 6.20 (2.74 to 14.01) | <0.001",
		"[Current age, years: 6 to 7; by sport]",
		"  Football | 141 | 9 | 12,310 | 0.73 (0.33 to 1.39) | ∞ (0.64 to ∞)^a | 0.08",
		"  Swimming | 55 | 0 | 4,011 | 0 (0 to 0.92) | 1 (reference) | –",
		"  Swimming | 80 | 2 | 6,120 | 0.33 (0.04 to 1.18)^b | 1 (reference) | –",
		"(a) No events in the reference.",
		"(b) Fewer than 5 events.",
		"() ∞: the data set no limit on this side.",
	} {
		if !slices.Contains(got, line) {
			t.Errorf("no line %q in\n%s", line, strings.Join(got, "\n"))
		}
	}
	want := []string{
		"Term | Rate ratio (95% CI) | P",
		"[Current age, years]",
		"  6 to 7 | 1 (reference) | –",
		"  8 to 9 | 1.84 (1.08 to 3.12) | 0.02", // exp(0.61), exp(0.61 ± 1.96·0.27)
	}
	if diff := cmp.Diff(want, lines(sheetNamed(t, "table-2-model"))[:len(want)]); diff != "" {
		t.Errorf("model (-want +got):\n%s", diff)
	}
}

func TestAssociationTable(t *testing.T) {
	want := []string{
		"Arch type | Participants | Heel pain episode, n (%) | Crude/Odds ratio (95% CI) | Crude/P | " +
			"Crude/Risk ratio (95% CI) | Crude/P | Crude/Risk difference, percentage points (95% CI) | Crude/P | " +
			"Adjusted/Odds ratio (95% CI) | Adjusted/P",
		"Supinated | 118 | 12 (10.2%) | 0.70 (0.37 to 1.32) | 0.27 | 0.73 (0.42 to 1.29) | 0.28 | −3.7 (−9.7 to 2.3) | 0.22 | " +
			"0.73 (0.38 to 1.40) | 0.35",
		"Normal | 742 | 103 (13.9%) | 1 (reference) | – | 1 (reference) | – | 0 (reference) | – | 1 (reference) | –",
		"Pronated | 287 | 74 (25.8%) | 2.16 (1.54 to 3.02) | <0.001 | 1.86 (1.42 to 2.42) | <0.001 | 11.9 (6.3 to 17.5) | " +
			"<0.001 | 1.93 (1.36 to 2.75) | <0.001",
		"() Chi-square test: statistic 25.11, 2 df, P < 0.001, n = 1,147.",
		"() Fisher exact test: not estimable: the table is too large for exact enumeration.",
	}
	if diff := cmp.Diff(want, lines(sheetNamed(t, "table-3"))); diff != "" {
		t.Errorf("table (-want +got):\n%s", diff)
	}
	model := lines(sheetNamed(t, "table-3-adjusted"))
	for _, line := range []string{
		"Age at enrolment, years (per unit) | 0.99 (0.92 to 1.06) | 0.74",
		"<script>alert(1)</script><b> (per unit) | not estimable^a | –",
		"(a) Separation: a coefficient has no finite estimate.",
		"() Log likelihood −487.23, n = 1,144, events 189.",
		"() Likelihood ratio statistic 21.84, 4 df, P < 0.001.",
	} {
		if !slices.Contains(model, line) {
			t.Errorf("no line %q in\n%s", line, strings.Join(model, "\n"))
		}
	}
}

func TestSurvivalTables(t *testing.T) {
	want := []string{
		"Arch type | Heels | Events | Expected events | Censored | Median, days (95% CI) | " +
			"Without the event, % (95% CI)/At 28 days | Without the event, % (95% CI)/At 56 days | " +
			"Without the event, % (95% CI)/At 84 days | Hazard ratio (95% CI) | P",
		"Supinated | 14 | 12 | 10.9 | 2 | 38 (30.5 to 49) | 71 (48 to 95) | 29 (5 to 52)^a | 0 (no limits)^a^b | " +
			"0.90 (0.49 to 1.64) | 0.72",
		"Normal | 131 | 116 | 98.4 | 15 | 41 (37 to 45) | 77 (70 to 84) | 30 (22 to 38) | 7 (3 to 11) | 1 (reference) | –",
		"Pronated | 97 | 71 | 89.7 | 26 | not reached (52 to not reached)^c | 90 (84 to 96) | 62 (52 to 72) | 52 (42 to 61) | " +
			"0.66 (0.49 to 0.89) | 0.006",
		"(a) Fewer than 5 at risk.",
		"(b) No limits: the last child at risk had the event.",
		"(c) The curve does not come down to one half: not reached.",
		"() Log-rank test: statistic 19.40, 2 df, P < 0.001, n = 242.",
	}
	if diff := cmp.Diff(want, lines(sheetNamed(t, "figure-1"))); diff != "" {
		t.Errorf("summary (-want +got):\n%s", diff)
	}
	want = []string{
		"Group | Time, days/0 | Time, days/28 | Time, days/56 | Time, days/84 | Time, days/112 | Time, days/140 | Time, days/168",
		"[Supinated]",
		"  At risk | 14 | 8 | 4 | 3 | 2 | 1 | 0",
		"  Events so far | 0 | 6 | 9 | 10 | 11 | 11 | 12",
		"  Censored so far | 0 | 0 | 1 | 1 | 1 | 2 | 2",
	}
	if diff := cmp.Diff(want, lines(sheetNamed(t, "figure-1-at-risk"))[:len(want)]); diff != "" {
		t.Errorf("risk table (-want +got):\n%s", diff)
	}
}

// TestTerms: the three ways of naming a level, with and without a variable.
func TestTerms(t *testing.T) {
	b := &block{Analysis: result.Analysis{Variables: []result.Variable{{
		Name: "arch", Levels: []result.Level{{Value: "normal"}, {Value: "normal vs x"}, {Value: "x"}, {Value: "pronated"}},
	}}}}
	for _, test := range []struct {
		variable, term, level, reference string
		ok                               bool
	}{
		{"arch", "pronated", "pronated", "", true},
		{"", "pronated", "pronated", "", true},
		{"", "arch=pronated", "pronated", "", true},
		{"sex", "arch=pronated", "pronated", "", true},
		{"arch", "pronated vs normal", "pronated", "normal", true},
		{"arch", "normal vs x", "normal", "x", true}, // the first level that reads so
		{"arch", "arch=pronated vs normal", "pronated", "normal", true},
		{"sex", "pronated", "", "", false},
		{"arch", "flat", "", "", false},
	} {
		r := result.NewRow("a", "crude", "odds ratio")
		r.Variable, r.Term = test.variable, test.term
		level, reference, ok := b.LevelOf(&r, "arch")
		if level != test.level || reference != test.reference || ok != test.ok {
			t.Errorf("%q:%q is %q vs %q, %v", test.variable, test.term, level, reference, ok)
		}
	}
}

// TestEstimateCells: every way in which a number can be absent is said.
func TestEstimateCells(t *testing.T) {
	row := func(change func(r *result.Row)) *result.Row {
		r := result.NewRow("a", "crude", "odds ratio")
		r.ID, r.Estimate, r.Lower, r.Upper, r.Level = "id", 1.5, 1.1, 2.05, 0.95
		change(&r)
		return &r
	}
	x := result.None()
	for _, test := range []struct {
		name string
		row  *result.Row
		want string
	}{
		{"no row", nil, "–"},
		{"plain", row(func(*result.Row) {}), "1.50 (1.10 to 2.05)"},
		{"no limits asked", row(func(r *result.Row) { r.Lower, r.Upper, r.Level = x, x, x }), "1.50"},
		{"unbounded", row(func(r *result.Row) { r.Upper = result.Number(math.Inf(1)) }), "1.50 (1.10 to ∞)"},
		{"one limit", row(func(r *result.Row) { r.Upper, r.Reason = x, "why" }), "1.50 (1.10 to not estimable)^a"},
		{"no limit", row(func(r *result.Row) { r.Lower, r.Upper, r.Reason = x, x, "why" }), "1.50 (no limits)^a"},
		{"nothing", row(func(r *result.Row) { r.Estimate, r.Reason = x, "a cell is zero" }), "not estimable^a"},
		{"suppressed", row(func(r *result.Row) { r.Estimate, r.Reason = x, "suppressed: fewer than 5" }), "suppressed^a"},
		{"another level", row(func(r *result.Row) { r.Level = 0.9 }), "1.50 (1.10 to 2.05)^a"},
		{"warnings", row(func(r *result.Row) { r.Warnings = []string{"one", "two"} }), "1.50 (1.10 to 2.05)^a^b"},
	} {
		s := newSheet("s", "S")
		c := s.estimate(test.row, ratio, 0.95)
		s.Columns = []Column{{}}
		s.add(c)
		if got := lines(s.Sheet)[1]; got != test.want {
			t.Errorf("%s: %q, want %q", test.name, got, test.want)
		}
	}
}

// TestOtherParts: rows that no layout knows are listed, not lost.
func TestOtherParts(t *testing.T) {
	r := result.NewRow("a", "sensitivity", "risk ratio")
	r.Groups, r.Term, r.Estimate, r.P = []result.Group{{Variable: "arch", Level: "normal"}}, "midpoint", 1.25, 0.5
	unknown := r
	unknown.Analysis = "b"
	res := &result.Results{
		Analyses: []result.Analysis{{ID: "a", Kind: "association", Title: "A"}, {ID: "b", Kind: "agreement", Title: "B"}},
		Rows:     []result.Row{r, unknown},
	}
	if err := res.Seal(); err != nil {
		t.Fatal(err)
	}
	for _, a := range res.Analyses {
		sheets := sheetsOf(res, a)
		last := lines(sheets[len(sheets)-1])
		if want := "normal | midpoint | risk ratio | – | 1.25 | 0.50 | – | –"; last[1] != want {
			t.Errorf("analysis %s: %q, want %q", a.ID, last[1], want)
		}
	}
}

// TestFlow: the last box takes the name of what it is for.
func TestFlow(t *testing.T) {
	tables := flowTables(saltmarsh(t).Results)
	var got []string
	for _, table := range tables {
		for _, s := range table.Steps {
			line := table.Table + ": " + s.Left + " " + s.Name
			if s.Takes {
				line += ", " + s.Removed + "+" + s.Missing + " " + s.Step
			}
			got = append(got, line)
		}
	}
	want := []string{
		"participants: 1,231 rows in the data",
		"participants: 1,196 left, 33+2 no consent to research use",
		"participants: 1,190 analysed, 6+0 outside 6 to 16 years",
		"episodes: 402 rows in the data",
		"episodes: 391 analysed, 11+0 of participants left out",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("flow (-want +got):\n%s", diff)
	}
}
