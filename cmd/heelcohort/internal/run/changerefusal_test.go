package run

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"heelcohort/codebook/document"
)

// TestChangeRefusals wants analyses that do not fit refused at their place.
func TestChangeRefusals(t *testing.T) {
	const (
		base    = "id: x, kind: change, table: visits, value: pain, subject: [child, heel], day: day"
		named   = base + ", visit: planned, baseline: w0"
		windows = base + ", baseline: a, windows: "
	)
	for _, c := range []struct{ analysis, want string }{
		{strings.Replace(named, "pain", "¦heel", 1), `value "heel" is a text, expected a number`},
		{strings.Replace(named, "heel]", "¦child]", 1), `"child" stands twice in subject`},
		{strings.Replace(named, "heel]", "¦heal]", 1), `did you mean "heel"?`},
		{strings.Replace(named, "planned", "¦day", 1), `"day" is a number without categories`},
		{strings.Replace(named, "w0", "¦w9", 1), `"w9" is no level of "planned"`},
		{strings.Replace(named, "w0", "¦w8", 1), "expected a visit after the baseline"},
		{"¦" + named + ", windows: [{label: a, from: 0, to: 1}]", "has windows and visit, or neither"},
		{"¦" + base + ", baseline: a", "has windows and visit, or neither"},
		{windows + "[¦{label: a, from: 3, to: 2}]", "expected from before to"},
		{windows + "[¦{label: a, from: 0, to: 2, target: 3}]", "expected a day from 0 to 2"},
		{windows + "[{label: a, from: 0, to: 7}, ¦{label: b, from: 7, to: 9}]", "windows in order that share no day"},
		{windows + "[{label: a, from: 0, to: 7}, {label: ¦a, from: 8, to: 9}]", "stands twice among the windows"},
		{base + ", baseline: ¦c, windows: [{label: a, from: 0, to: 7}]", "expected one of a"},
		{base + ", baseline: ¦b, windows: [{label: a, from: 0, to: 7}, {label: b, from: 8, to: 9}]", "is not the first window"},
		{base + ", baseline: ¦a, windows: [{label: a, from: 0, to: 7}]", "expected a visit after the baseline"},
		{base + ", visit: planned, baseline: {value: ¦agee}", `did you mean "age"?`},
		{base + ", visit: planned, baseline: {value: ¦weight}", `"weight" is in kg, but "pain" in mm`},
		{base + ", visit: planned, baseline: {value: ¦faces}", "never pooled"},
		{base + ", visit: planned, baseline: ¦{value: age, label: w0}", "is named \"w0\" as a visit is"},
		{base + ", visit: planned, baseline: {value: age, day: ¦arm}", `"arm" is a text, expected a number`},
		{named + ", reference: ¦wait", "a reference without by"},
		{named + ", adjust: ¦age", "adjust without by"},
		{named + ", model: ¦{working: independence}", "a model without by"},
		{named + ", by: ¦planned", "a name of the analysis itself"},
		{named + ", by: arm, reference: ¦cap", `did you mean "cup"?`},
		{named + ", by: arm, adjust: [age, ¦arm]", `"arm" is in the model already`},
		{named + ", by: arm, adjust: ¦pain", `"pain" is in the model already`},
		{named + ", by: arm, adjust: age, model: {reference: {¦heel: left}}", `reference for "heel", expected one of age`},
		{named + ", threshold: ¦{direction: lower}", "0 of change, percent and value"},
		{named + ", threshold: ¦{direction: lower, change: 20, percent: 30}", "2 of change, percent and value"},
		{named + ", threshold: ¦{direction: lower, change: 20, at: [9, 3]}", "expected ascending times"},
		{"LEVEL" + named + ", threshold: ¦{direction: lower, change: 20}", "500 replicates, expected at least"},
	} {
		analysis, level := strings.CutPrefix(c.analysis, "LEVEL")
		if strings.HasPrefix(analysis, "¦") {
			analysis = "¦{" + strings.TrimPrefix(analysis, "¦") + "}"
		} else {
			analysis = "{" + analysis + "}"
		}
		head := "title: T\ncodebook: codebook.yaml\n"
		if level {
			head += "level: 0.999\n" // asks for more resamples
		}
		head += "derive:\n  visits:\n    - {name: vas, instrument: {name: pain-score, score: pain, scale: vas}}\n    - {name: faces, instrument: {name: pain-score, score: face, scale: faces}}\n"
		text, line, column := unmark(t, head+"analyses:\n  - "+analysis+"\n")
		_, err := Read(folder{"study.yaml": text, "codebook.yaml": strings.Replace(painBook, "-10", "0", 1) + "        - {name: weight, type: number, heelcohort: {unit: kg}}\n        - {name: face, type: integer}\n"}.write(t))
		got := document.Faults(err)
		if len(got) != 1 || got[0].Position.Line != line || got[0].Position.Column != column || !strings.Contains(got[0].Error(), c.want) {
			t.Errorf("%s: %v, want %d:%d %q", c.analysis, err, line, column, c.want)
		}
	}
}

// TestChangeEdges wants, at every edge, each row to hold a finite number or a
// reason, and something said of the edge.
func TestChangeEdges(t *testing.T) {
	visit := func(child int, arm string, day int, pain string) string {
		return fmt.Sprintf("%d,left,%s,%d,,%s,9,no", child, arm, day, pain)
	}
	many := func(bend func(child, day int, arm, pain string) (string, string)) (rows []string) {
		for child := range 40 {
			arm := []string{"wait", "cup"}[child%2]
			for v, day := range []int{0, 28, 56} {
				a, p := bend(child, day, arm, fmt.Sprint(60-15*v-child*7%13+child*v%5))
				rows = append(rows, visit(child, a, day, p))
			}
		}
		return rows
	}
	same := func(_, _ int, arm, pain string) (string, string) { return arm, pain }
	for _, e := range []struct {
		name string
		rows []string
		says string
	}{
		{"no edge", many(same), ""},
		{"no visit", nil, "no observations"},
		{"one visit", []string{visit(1, "wait", 0, "50")}, "no observations"},
		{"one child", many(same)[:3], "clusters"},
		{"no value", many(func(_, _ int, arm, _ string) (string, string) { return arm, "NM" }), "no observations"},
		{"no baseline", many(func(_, day int, arm, pain string) (string, string) {
			if day == 0 {
				return arm, ""
			}
			return arm, pain
		}), "no observations"},
		{"one group", many(func(_, _ int, _, pain string) (string, string) { return "cup", pain }), "reference level"},
		{"no change", many(func(child, _ int, arm, _ string) (string, string) { return arm, fmt.Sprint(40 + child*3%7) }), "every outcome exactly"},
		{"one value", many(func(_, _ int, arm, _ string) (string, string) { return arm, "40" }), "all 40 values are"},
		{"a lone child at a visit", many(func(child, day int, arm, pain string) (string, string) {
			if day == 56 && arm == "cup" && child != 1 {
				return arm, "NM"
			}
			return arm, pain
		}), "cup at 8 weeks has values of 1"},
		{"nobody of a group at a visit", many(func(_, day int, arm, pain string) (string, string) {
			if day == 56 && arm == "cup" {
				return arm, "NM"
			}
			return arm, pain
		}), "cup at 8 weeks has values of 0"},
		{"a visit of nobody", many(func(_, day int, arm, pain string) (string, string) {
			if day == 28 {
				return arm, "NM"
			}
			return arm, pain
		}), "no row of the model is in this cell"},
		{"one visit after the baseline", many(func(_, day int, arm, pain string) (string, string) {
			if day == 56 {
				return arm, ""
			}
			return arm, pain
		}), ""},
	} {
		for _, more := range []string{
			"",
			", model: {errors: bias-reduced, limits: clusters, working: independence}, threshold: {value: 30, direction: lower, at: [28], replicates: 100}",
			", threshold: {percent: 10, direction: higher, replicates: 100}",
			", cluster: child, threshold: {change: 5, direction: lower, replicates: 100}",
		} {
			plan := strings.Replace(strings.Split(painPlan, ", threshold")[0], "cluster: child, ", "", 1) + more + "}"
			res := visitsOf(plan, e.rows).compute(t)
			said := e.says == ""
			for _, r := range res.Rows {
				said = said || strings.Contains(strings.ToLower(r.Reason), strings.ToLower(e.says))
				answered(t, e.name, r)
				if r.Lower.Present() && math.IsInf(float64(r.Lower), 0) || r.Measure != "median time" && r.Upper.Present() && math.IsInf(float64(r.Upper), 0) {
					t.Errorf("%s: %s has limits %v to %v", e.name, r.ID, r.Lower, r.Upper)
				}
			}
			if !said {
				t.Errorf("%s%s: no row says %q", e.name, more, e.says)
			}
		}
	}
}

func visitsOf(plan string, rows []string) folder {
	return painStudy(plan, strings.Join(append(rows, ""), "\n"))
}
