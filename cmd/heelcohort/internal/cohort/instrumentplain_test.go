package cohort

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"heelcohort/dataset"
)

// TestInstrumentsAgainstExpressions scores 600 random children by instruments
// and by row expressions that say the same in the plan's own words: values and
// the codes of missing ones agree.
func TestInstrumentsAgainstExpressions(t *testing.T) {
	const sex = "sex: {variable: sex, boys: m, girls: f}"
	pairs := [][3]string{
		{"total", `{name: foot-posture-total, items: [r1, r2, r3, r4, r5, r6]}`, `r1 + r2 + r3 + r4 + r5 + r6`},
		{"class", `{name: foot-posture-class, total: total_i, boundaries: adult}`, `foot_posture_class(total_v)`},
		{"larger", `{name: foot-of-child, right: total_i, left: left_total, choose: larger, units: {left_total: points}}`, `max(total_v, left_total)`},
		{"mean", `{name: foot-of-child, right: total_i, left: left_total, choose: mean, units: {left_total: points}}`, `(total_v + left_total) / 2`},
		{"sore", `{name: foot-of-child, right: total_i, left: left_total, choose: affected, affected: {variable: heel, right: right, left: left}, units: {left_total: points}}`, `heel == "right" ? total_v : left_total`},
		{"ai", `{name: arch-index, forefoot: fore, midfoot: mid, heel: rear}`, `mid / (fore + mid + rear)`},
		{"arch", `{name: arch-class, index: ai_i, boundaries: cavanagh-rodgers}`, `ai_v <= 0.21 ? "high" : ai_v >= 0.26 ? "flat" : "normal"`},
		{"drop", `{name: navicular-drop, sitting: nav_sit, standing: nav_stand}`, `nav_sit - nav_stand`},
		{"low", `{name: navicular-drop-above, drop: drop_i, threshold: 8}`, `drop_v > 8`},
		{"valgus", `{name: rearfoot-angle, angle: angle, positive: varus}`, `0 - angle`},
		{"faces", `{name: pain-score, score: face, scale: faces, recorded: face}`, `2 * (face - 1)`},
		{"ox", `{name: oxford-foot-score, form: child, domain: school_play, items: [q1, q2, q3, q4]}`, `(q1 + q2 + q3 + q4) / 16 * 100`},
		{
			"mirwald", `{name: maturity-offset, equation: mirwald-2002, ` + sex + `, age: age, height: height, sitting_height: sitting, weight: weight}`,
			`sex == "m" ? 0.0002708 * (height - sitting) * sitting - 0.001663 * age * (height - sitting) + 0.007216 * age * sitting + 2.292 * weight / height - 9.236` +
				` : 0.0001882 * (height - sitting) * sitting + 0.0022 * age * (height - sitting) + 0.005841 * age * sitting - 0.002658 * age * weight + 7.693 * weight / height - 9.376`,
		},
		{
			"moore", `{name: maturity-offset, equation: moore-2015, ` + sex + `, age: age, height: height}`,
			`sex == "m" ? 0.0036124 * age * height - 7.999994 : 0.0042232 * age * height - 7.709133`,
		},
		{
			"seated", `{name: maturity-offset, equation: moore-2015-sitting, ` + sex + `, age: age, height: height, sitting_height: sitting}`,
			`sex == "m" ? 0.0070346 * age * sitting - 8.128741 : 0.0042232 * age * height - 7.709133`,
		},
		{
			"peak", `{name: maturity-offset, equation: moore-2015, ` + sex + `, age: age, height: height, give: age-at-peak}`,
			`age - moore_v`,
		},
	}
	var plan strings.Builder
	for _, p := range pairs {
		fmt.Fprintf(&plan, "    - {name: %s_i, instrument: %s}\n    - {name: %s_v, value: '%s'}\n", p[0], p[1], p[0], p[2])
	}
	m, err := compileClinic(t, plan.String())
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "feet.csv"), []byte(randomFeet(600)), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	d, findings, err := dataset.Open(ctx, dir, m.Package, dataset.Options{})
	if err != nil || len(findings) > 0 {
		t.Fatalf("%v, %v", findings, err)
	}
	c, err := m.Build(ctx, d, nil)
	if err != nil {
		t.Fatal(err)
	}
	table := c.Data.Table("feet")
	for _, p := range pairs {
		scored, plain := table.Column(p[0]+"_i"), table.Column(p[0]+"_v")
		missing := 0
		for i := range table.Len() {
			a, b := scored.Value(i), plain.Value(i)
			if b.Missing {
				missing++
			}
			if a.Missing != b.Missing || a.Text != b.Text || a.Bool != b.Bool || math.Abs(a.Number-b.Number) > 1e-11 {
				t.Errorf("%s of row %d: %+v, by expression %+v", p[0], i, a, b)
			}
		}
		if missing == 0 || missing > 500 {
			t.Errorf("%s is missing in %d of 600", p[0], missing)
		}
	}
	// The code is that of the first operand that is missing, as in a sum.
	for _, name := range []string{"total", "mean", "ai", "drop", "valgus", "ox"} {
		scored, plain := table.Column(name+"_i"), table.Column(name+"_v")
		for i := range table.Len() {
			if scored.Value(i).Code != plain.Value(i).Code && name != "ai" {
				t.Errorf("%s of row %d: %+v, by expression %+v", name, i, scored.Value(i), plain.Value(i))
			}
		}
	}
}

// randomFeet is a table of children with legal values, one in twelve missing.
func randomFeet(n int) string {
	r := rand.New(rand.NewPCG(6, 11))
	head, _, _ := strings.Cut(clinicFeet, "\n")
	var b strings.Builder
	b.WriteString(head + "\n")
	whole := func(from, to int) string { return fmt.Sprint(from + r.IntN(to-from+1)) }
	tenths := func(from, to float64) string { return fmt.Sprintf("%.1f", from+(to-from)*r.Float64()) }
	for i := range n {
		for k, name := range strings.Split(head, ",") {
			if k > 0 {
				b.WriteString(",")
			}
			if k > 0 && r.IntN(12) == 0 {
				b.WriteString([]string{"", "NM", "DK"}[r.IntN(3)])
				continue
			}
			switch name {
			case "id":
				fmt.Fprintf(&b, "C%d", i)
			case "sex":
				b.WriteString([]string{"f", "m"}[r.IntN(2)])
			case "heel":
				b.WriteString([]string{"left", "right"}[r.IntN(2)])
			case "age":
				b.WriteString(tenths(6, 17))
			case "height":
				b.WriteString(tenths(110, 180))
			case "sitting":
				b.WriteString(tenths(60, 95))
			case "weight":
				b.WriteString(tenths(18, 80))
			case "fore", "mid", "rear":
				b.WriteString(tenths(5, 45))
			case "nav_sit", "nav_stand":
				b.WriteString(tenths(25, 50))
			case "angle":
				b.WriteString(tenths(-10, 20))
			case "left_total":
				b.WriteString(whole(-12, 12))
			case "r1", "r2", "r3", "r4", "r5", "r6", "wide":
				b.WriteString(whole(-2, 2))
			case "face":
				b.WriteString(whole(1, 6))
			case "q1", "q2", "q3", "q4", "p1":
				b.WriteString(whole(0, 4))
			case "coded":
				b.WriteString(whole(0, 1))
			default:
				b.WriteString(whole(1, 10))
			}
		}
		b.WriteString("\n")
	}
	return b.String()
}
