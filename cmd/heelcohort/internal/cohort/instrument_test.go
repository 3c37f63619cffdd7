package cohort

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/plan"
	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/codebook"
	"heelcohort/codebook/instrument"
	"heelcohort/dataset"
)

const clinicBook = `
name: clinic
resources:
  - name: feet
    path: feet.csv
    schema:
      primaryKey: id
      missingValues: ["", NM, DK]
      fields:
        - {name: id, type: string}
        - {name: sex, type: string, categories: [f, m, x]}
        - {name: heel, type: string, categories: [left, right, both]}
        - {name: age, type: number, heelcohort: {unit: years}}
        - {name: age_months, type: number, heelcohort: {unit: months}}
        - {name: age_whole, type: integer, heelcohort: {unit: years}}
        - {name: height, type: number, heelcohort: {unit: cm}}
        - {name: height_m, type: number, heelcohort: {unit: m}}
        - {name: sitting, type: number, heelcohort: {unit: cm}}
        - {name: weight, type: number, heelcohort: {unit: kg}}
        - {name: r1, type: integer, constraints: {minimum: -2, maximum: 2}}
        - {name: r2, type: integer}
        - {name: r3, type: integer}
        - {name: r4, type: integer}
        - {name: r5, type: integer}
        - {name: r6, type: integer}
        - {name: wide, type: integer, constraints: {minimum: -3, maximum: 3}}
        - {name: decimal, type: number}
        - {name: coded, type: integer, categories: [0, 1]}
        - {name: left_total, type: integer, constraints: {minimum: -12, maximum: 12}}
        - {name: fore, type: number, heelcohort: {unit: cm2}}
        - {name: mid, type: number, heelcohort: {unit: cm2}}
        - {name: rear, type: number, heelcohort: {unit: cm2}}
        - {name: rear_mm, type: number, heelcohort: {unit: mm2}}
        - {name: nav_sit, type: number, heelcohort: {unit: mm}}
        - {name: nav_stand, type: number, heelcohort: {unit: mm}}
        - {name: angle, type: number, heelcohort: {unit: degrees}}
        - {name: vas, type: number, heelcohort: {unit: mm}}
        - {name: vas_plain, type: number}
        - {name: nrs, type: integer}
        - {name: face, type: integer}
        - {name: q1, type: integer, constraints: {enum: [0, 1, 2, 3, 4]}}
        - {name: q2, type: integer}
        - {name: q3, type: integer}
        - {name: q4, type: integer}
        - {name: p1, type: integer}
`

// The children of P-series: 1 is complete; 2 has items missing by code; 3 is
// out of legal values and of ages; 4 is missing nearly everything.
const clinicFeet = `id,sex,heel,age,age_months,age_whole,height,height_m,sitting,weight,r1,r2,r3,r4,r5,r6,wide,decimal,coded,left_total,fore,mid,rear,rear_mm,nav_sit,nav_stand,angle,vas,vas_plain,nrs,face,q1,q2,q3,q4,p1
P1,m,left,12,144,12,150,1.5,78,42,1,1,1,1,1,1,0,0,1,-3,40,18,32,32,42,30,5,3.5,3,3,1,2,3,4,4,1
P2,f,right,11,132,11,146,1.46,76,39,NM,1,1,1,DK,1,0,0,0,9,38,26,30,30,34,36,-4,9.5,DK,7,6,4,NM,2,DK,2
P3,x,both,30,360,30,170,1.7,80,60,2,2,2,2,2,2,0,0,0,12,36,35,30,30,60,20,0,0,4,10,3,0,0,0,0,3
P4,f,,7,84,7,NM,,DK,,0,0,0,0,0,0,0,0,0,,0,0,0,0,,DK,,,,,,,,,,
`

func compileClinic(t testing.TB, derive string) (*Model, error) {
	t.Helper()
	text := "title: T\ncodebook: codebook.yaml\nderive:\n  feet:\n" + strings.Trim(derive, "\n") + "\nanalyses: [{id: one, kind: describe, variables: [age]}]\n"
	p, err := plan.Decode("study.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	pkg, err := codebook.Decode("codebook.yaml", []byte(clinicBook))
	if err != nil {
		t.Fatal(err)
	}
	return Compile(p, pkg)
}

func buildClinic(t testing.TB, derive string) (*Cohort, []dataset.Finding) {
	t.Helper()
	m, err := compileClinic(t, derive)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "feet.csv"), []byte(clinicFeet), 0o644); err != nil {
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
	found, err := m.Inspect(d)
	if err != nil {
		t.Fatal(err)
	}
	return c, found
}

// TestInstruments works the instruments out by hand on four children. The first
// operand that is missing gives its code; what is not legal is undefined.
func TestInstruments(t *testing.T) {
	c, findings := buildClinic(t, `
    - {name: right_total, instrument: {name: foot-posture-total, items: [r1, r2, r3, r4, r5, r6]}}
    - {name: larger, instrument: {name: foot-of-child, right: right_total, left: left_total, choose: larger, units: {left_total: points}}}
    - {name: mean, instrument: {name: foot-of-child, right: right_total, left: left_total, choose: mean, units: {left_total: points}}}
    - {name: left_only, instrument: {name: foot-of-child, right: right_total, left: left_total, choose: left, units: {left_total: points}}}
    - {name: sore, instrument: {name: foot-of-child, right: right_total, left: left_total, choose: affected, affected: {variable: heel, right: right, left: left}, units: {left_total: points}}}
    - {name: posture, instrument: {name: foot-posture-class, total: larger, boundaries: adult}}
    - {name: own, instrument: {name: foot-posture-class, total: larger, boundaries: {upper: [5], labels: [other, pronated]}}}
    - {name: of_mean, instrument: {name: foot-posture-class, total: mean, boundaries: adult}}
    - {name: ai, instrument: {name: arch-index, forefoot: fore, midfoot: mid, heel: rear}}
    - {name: arch, instrument: {name: arch-class, index: ai, boundaries: cavanagh-rodgers}}
    - {name: arch_own, instrument: {name: arch-class, index: ai, boundaries: {high: 0.1, flat: 0.3}}}
    - {name: drop, instrument: {name: navicular-drop, sitting: nav_sit, standing: nav_stand}}
    - {name: excessive, instrument: {name: navicular-drop-above, drop: drop, threshold: 10}}
    - {name: valgus, instrument: {name: rearfoot-angle, angle: angle, positive: varus}}
    - {name: pain, instrument: {name: pain-score, score: vas, scale: vas}}
    - {name: rating, instrument: {name: pain-score, score: nrs, scale: nrs}}
    - {name: faces, instrument: {name: pain-score, score: face, scale: faces, recorded: face}}
    - {name: ox, instrument: {name: oxford-foot-score, form: child, domain: school_play, items: [q1, q2, q3, q4]}}
    - {name: ox_half, instrument: {name: oxford-foot-score, form: child, domain: school_play, items: [q1, q2, q3, q4], missing: half}}
    - {name: shoe, instrument: {name: oxford-foot-score, form: parent, domain: footwear, items: [p1]}}
`)
	for _, want := range []struct{ name, values string }{
		{"right_total", "6 (NM) 12 0"},
		{"larger", "6 (NM) 12 ()"},
		{"mean", "1.5 (NM) 12 ()"},
		{"left_only", "-3 9 12 ()"},
		{"sore", "-3 (NM) (undefined) ()"},
		{"posture", "pronated (NM) highly_pronated ()"},
		{"own", "pronated (NM) pronated ()"},
		{"of_mean", "(undefined) (NM) highly_pronated ()"},
		{"ai", "0.2 0.276595744680851 0.346534653465347 (undefined)"}, // 26/94 and 35/101
		{"arch", "high flat flat (undefined)"},
		{"arch_own", "normal normal flat (undefined)"},
		{"drop", "12 -2 40 ()"},
		{"excessive", "true false true ()"},
		{"valgus", "-5 4 0 ()"},
		{"pain", "3.5 9.5 0 ()"},
		{"rating", "3 7 10 ()"},
		{"faces", "0 10 4 ()"},
		{"ox", "81.25 (NM) 0 ()"},
		{"ox_half", "81.25 75 0 ()"},
		{"shoe", "25 50 75 ()"},
	} {
		if got := shown(c, "feet", want.name); got != want.values {
			t.Errorf("%s is %s, want %s", want.name, got, want.values)
		}
	}
	if len(c.Instruments) != 20 {
		t.Fatalf("%d instruments, want 20", len(c.Instruments))
	}
	for _, want := range []struct {
		name, unit, label string
	}{{"right_total", "points", "right_total"}, {"larger", "points", "larger"}, {"ai", "", "Arch index (larger is flatter)"}, {"drop", "mm", "drop"}, {"valgus", "degrees", "valgus"}, {"pain", "mm", "pain"}, {"ox", "%", "ox"}} {
		if v, _ := c.Model.find("feet", want.name); v.Unit != want.unit || v.Label != want.label {
			t.Errorf("%s is %+v, want %+v", want.name, v, want)
		}
	}
	if v, _ := c.Model.find("feet", "posture"); !v.Ordered || len(v.Words) != 5 || v.Labels[0] != "Highly supinated" || len(v.Codes) != 3 {
		t.Errorf("posture is %+v", v)
	}
	note := c.Instruments[0]
	if note.Values != 3 || !slices.Equal(note.Missing, []result.MissingCount{{Code: "NM", N: 1}}) || note.Line != 5 || len(note.References) != 1 || note.Rights == "" {
		t.Errorf("the account of right_total is %+v", note)
	}
	for _, want := range []struct {
		name, warning string
	}{
		{"sore", "the affected foot is neither the right nor the left one (1 row)."},
		{"of_mean", "not a legal value of the instrument (1 row)."},
		{"ai", "not a legal value of the instrument (1 row)."},
		{"drop", "A navicular drop is above 25 mm (1 row)."},
		{"drop", "A navicular drop is negative: the navicular stood higher under load (1 row)."},
		{"excessive", "A navicular drop is above 25 mm (1 row)."},
		{"pain", "they may be in cm"},
	} {
		at := slices.IndexFunc(c.Instruments, func(n result.Instrument) bool { return n.Variable == want.name })
		if !strings.Contains(strings.Join(c.Instruments[at].Warnings, "\n"), want.warning) {
			t.Errorf("%s: %q, want %q", want.name, c.Instruments[at].Warnings, want.warning)
		}
	}
	if len(findings) != 1 || findings[0].Variable != "vas" || findings[0].Severity != dataset.Warning || findings[0].Where.Row != 2 {
		t.Errorf("findings %+v, want one of vas", findings)
	}
}

// TestGrowthInstruments takes the offsets of two invented children from the
// exact fractions of the equations (see the package instrument), and z-scores
// from its reference.
func TestGrowthInstruments(t *testing.T) {
	const sex = "sex: {variable: sex, boys: m, girls: f}"
	c, findings := buildClinic(t, `
    - {name: mirwald, instrument: {name: maturity-offset, equation: mirwald-2002, `+sex+`, age: age, height: height, sitting_height: sitting, weight: weight}}
    - {name: moore, instrument: {name: maturity-offset, equation: moore-2015, `+sex+`, age: age_months, height: height}}
    - {name: seated, instrument: {name: maturity-offset, equation: moore-2015-sitting, `+sex+`, age: age, height: height, sitting_height: sitting}}
    - {name: peak, instrument: {name: maturity-offset, equation: mirwald-2002, `+sex+`, age: age, height: height, sitting_height: sitting, weight: weight, give: age-at-peak}}
    - {name: bmi, unit: kg/m2, value: "weight / (height / 100 * height / 100)"}
    - {name: z, instrument: {name: bmi-for-age, reference: cdc-2000, tails: cdc, `+sex+`, age: age, bmi: bmi}}
    - {name: p, instrument: {name: bmi-for-age, reference: cdc-2000, tails: none, `+sex+`, age: age_whole, bmi: bmi, give: percentile}}
    - {name: boy, value: "sex == 'm' ? 'm' : 'f'"}
    - {name: old, instrument: {name: bmi-for-age, reference: cdc-2000, tails: none, sex: {variable: boy, boys: m, girls: f}, age: age, bmi: bmi}}
`)
	number := func(name string, row int) float64 { return c.Data.Table("feet").Column(name).Number[row] }
	for _, want := range []struct {
		name           string
		boy, girl, tol float64
	}{
		{"mirwald", -1.7561, -0.883, 5e-4},
		{"moore", -1.4977, -0.9267, 5e-5},
		{"seated", -1.544, -0.927, 5e-4},
		{"peak", 13.7561, 11.883, 5e-4},
	} {
		if got := number(want.name, 0); math.Abs(got-want.boy) > want.tol {
			t.Errorf("%s of the boy is %v, want %v", want.name, got, want.boy)
		}
		if got := number(want.name, 1); math.Abs(got-want.girl) > want.tol {
			t.Errorf("%s of the girl is %v, want %v", want.name, got, want.girl)
		}
		if got := shown(c, "feet", want.name); !strings.HasSuffix(got, "(undefined) (NM)") {
			t.Errorf("%s is %s", want.name, got)
		}
	}
	z, err := instrument.BMICDC2000().Z(instrument.Boy, 144, 42/2.25, instrument.CDCTails)
	if err != nil || math.Abs(number("z", 0)-z) > 1e-12 {
		t.Errorf("z is %v, want %v, %v", number("z", 0), z, err)
	}
	plain, err := instrument.BMICDC2000().Z(instrument.Girl, 132, 39/1.46/1.46, instrument.PlainTails)
	if err != nil || math.Abs(number("p", 1)-instrument.Percentile(plain)) > 1e-9 {
		t.Errorf("the percentile is %v, want that of %v, %v", number("p", 1), plain, err)
	}
	if got := shown(c, "feet", "old"); !strings.HasSuffix(got, "(outside reference) (NM)") && !strings.HasSuffix(got, "(outside reference) ()") {
		t.Errorf("old is %s", got)
	}
	var told []string
	for _, f := range findings {
		told = append(told, fmt.Sprintf("%s %d %v", f.Variable, f.Where.Row, f.Severity))
	}
	want := []string{"age 4 warning", "age 5 warning", "age_months 4 warning", "age_months 5 warning"}
	if !slices.Equal(told, want) {
		t.Errorf("findings %v, want %v", told, want)
	}
	at := slices.IndexFunc(c.Instruments, func(n result.Instrument) bool { return n.Variable == "p" })
	if w := c.Instruments[at].Warnings; len(w) == 0 || !strings.Contains(w[0], "whole years") {
		t.Errorf("the age in whole years is not doubted: %q", w)
	}
}

// TestInspect finds what is not legal in its cell, once, whichever instruments
// read it.
func TestInspect(t *testing.T) {
	_, findings := buildClinic(t, `
    - {name: a, instrument: {name: pain-score, score: nrs, scale: faces}}
    - {name: b, instrument: {name: pain-score, score: nrs, scale: faces}}
`)
	var told []string
	for _, f := range findings {
		told = append(told, fmt.Sprintf("%v %s %s %s: %s, expected %s", f.Severity, f.Rule, f.Where.Cell(), f.Variable, f.Found, f.Expected))
		if !slices.Equal(f.Fields, []string{"nrs"}) || f.Message == "" {
			t.Errorf("%+v", f)
		}
	}
	want := []string{
		"error instrument line 2, column 30 nrs: 3, expected one of 0, 2, 4, 6, 8, 10",
		"error instrument line 3, column 30 nrs: 7, expected one of 0, 2, 4, 6, 8, 10",
	}
	if !slices.Equal(told, want) {
		t.Errorf("%q, want %q", told, want)
	}
}

// TestInstrumentRefusals wants every fault of an instrument refused before data
// are read, pointing at the plan and naming the codebook's place.
func TestInstrumentRefusals(t *testing.T) {
	const sex = "sex: {variable: sex, boys: m, girls: f}"
	one := func(text string) string { return "    - {name: x, instrument: " + text + "}" }
	for _, c := range []struct{ derive, want string }{
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5]}`), "5 items, expected the 6 of one foot"},
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5, r5]}`), `"r5" stands twice`},
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5, r7]}`), `table "feet" has no variable "r7"; did you mean`},
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5, wide]}`), `study.yaml:5:84: the codebook lets "wide" be -3 (codebook.yaml:26:11), expected a whole number from -2 to 2`},
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5, decimal]}`), `"decimal" is of type number (codebook.yaml:27:11), expected integer`},
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5, coded]}`), `"coded" is a text (codebook.yaml:28:11), expected a whole number from -2 to 2, without categories`},
		{one(`{name: foot-posture-total, items: [r1, r2, r3, r4, r5, vas]}`), `"vas" is in mm`},
		{one(`{name: foot-posture-class, total: left_total, boundaries: {upper: [5, 5], labels: [a, b, c]}}`), "the upper end 5 follows 5, expected ascending ones"},
		{one(`{name: foot-posture-class, total: left_total, boundaries: {upper: [5], labels: [a]}}`), "one label more"},
		{one(`{name: foot-of-child, right: left_total, left: nav_sit, choose: larger}`), `"nav_sit" is in mm and "left_total" in no unit, expected one unit`},
		{one(`{name: foot-of-child, right: left_total, left: nrs, choose: affected}`), "affected belongs to choose: affected, and is needed there"},
		{one(`{name: foot-of-child, right: left_total, left: nrs, choose: mean, affected: {variable: heel, right: right, left: left}}`), "affected belongs to choose: affected"},
		{one(`{name: foot-of-child, right: left_total, left: nrs, choose: affected, affected: {variable: heel, right: rigth, left: left}}`), `"rigth" is no level of "heel", expected one of left, right, both; did you mean "right"?`},
		{one(`{name: foot-of-child, right: left_total, left: nrs, choose: affected, affected: {variable: heel, right: left, left: left}}`), "stands for both feet"},
		{one(`{name: foot-of-child, right: left_total, left: nrs, choose: affected, affected: {variable: age, right: left, left: left}}`), "expected a variable with categories"},
		{one(`{name: arch-index, forefoot: fore, midfoot: mid, heel: rear_mm}`), `"rear_mm" is in mm2 (codebook.yaml:33:11) and "fore" in cm2, expected one unit`},
		{one(`{name: arch-index, forefoot: decimal, midfoot: mid, heel: rear}`), `"decimal" has no unit`},
		{one(`{name: arch-class, index: decimal, boundaries: {high: 0.3, flat: 0.3}}`), "high is 0.3 and flat 0.3, expected high below flat"},
		{one(`{name: navicular-drop, sitting: nav_sit, standing: height}`), `"height" is in cm (codebook.yaml:16:11), expected mm`},
		{one(`{name: navicular-drop, sitting: nav_sit, standing: nav_stand, units: {nav_sit: cm}}`), `the unit "cm" of "nav_sit", which is in mm`},
		{one(`{name: navicular-drop, sitting: nav_sit, standing: nav_stand, units: {height: cm}}`), `the unit of "height", which the instrument does not read`},
		{`    - {name: x, unit: cm, instrument: {name: navicular-drop, sitting: nav_sit, standing: nav_stand}}`, `the unit "cm" of "x", expected mm, which the instrument gives`},
		{one(`{name: pain-score, score: vas_plain, scale: vas}`), `"vas_plain" has no unit (codebook.yaml:38:11), expected mm there, or units: {vas_plain: mm} here`},
		{one(`{name: pain-score, score: nrs, scale: nrs, recorded: face}`), "recorded: face belongs to scale: faces"},
		{one(`{name: oxford-foot-score, form: child, domain: physical, items: [q1]}`), "1 item of the domain physical, expected 6"},
		{one(`{name: maturity-offset, equation: mirwald-2002, ` + sex + `, age: age, height: height, sitting_height: sitting}`), "mirwald-2002 has no weight, expected a variable in kg"},
		{one(`{name: maturity-offset, equation: moore-2015, ` + sex + `, age: age, height: height, weight: weight}`), "moore-2015 does not use weight"},
		{one(`{name: maturity-offset, equation: moore-2015, ` + sex + `, age: age, height: height_m}`), `"height_m" is in m (codebook.yaml:17:11), expected cm`},
		{one(`{name: maturity-offset, equation: moore-2015, ` + sex + `, age: decimal, height: height}`), `expected years or months or days there, or units: {decimal: years} here`},
		{one(`{name: maturity-offset, equation: moore-2015, sex: {variable: sex, boys: m, girls: m}, age: age, height: height}`), "stands for both sexes"},
		{one(`{name: maturity-offset, equation: moore-2015, sex: {variable: sex, boys: m, girls: w}, age: age, height: height}`), `"w" is no level of "sex"`},
		{one(`{name: bmi-for-age, reference: cdc-2000, tails: cdc, ` + sex + `, age: age, bmi: weight}`), `"weight" is in kg (codebook.yaml:19:11), expected kg/m2`},
		{one(`{name: bmi-for-age, reference: {parameters: lms.csv, source: a table, boys: a, girls: b}, tails: who, ` + sex + `, age: age, bmi: weight}`), "lms.csv: the head of the table: EOF"},
	} {
		_, err := compileClinic(t, c.derive)
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.HasPrefix(err.Error(), "study.yaml:5:") {
			t.Errorf("%s: %v, want %q", c.derive, err, c.want)
		}
	}
}

// TestNeverPooled wants expressions and instruments that mix scales or forms
// refused, also before the line that says what a variable is, also at second
// hand; a score beyond a threshold of its own is no score any more.
func TestNeverPooled(t *testing.T) {
	const scales = `
    - {name: pain, instrument: {name: pain-score, score: vas, scale: vas}}
    - {name: rating, instrument: {name: pain-score, score: nrs, scale: nrs}}
    - {name: ox_child, instrument: {name: oxford-foot-score, form: child, domain: footwear, items: [q1]}}
    - {name: ox_parent, instrument: {name: oxford-foot-score, form: parent, domain: footwear, items: [p1]}}
`
	for _, c := range []struct{ before, after, want string }{
		{"", `    - {name: any, value: "coalesce(pain, rating)"}`, "scores of a different pain scale, which are never pooled"},
		{"", `    - {name: any, value: "coalesce(vas, nrs)"}`, "names vas and nrs"},
		{`    - {name: any, value: "vas / 10 + nrs"}`, "", "never pooled"},
		{"", `    - {name: any, value: "vas > 30 or nrs > 3"}`, "where each has a threshold of its own, make a variable of each"},
		{"", "    - {name: half, value: vas / 2}\n" + `    - {name: any, value: "half + nrs"}`, "names half and nrs"},
		{"", `    - {name: any, value: "coalesce(ox_child, ox_parent)"}`, "form of the Oxford"},
		{"", `    - {name: any, instrument: {name: foot-of-child, right: pain, left: rating, choose: mean}}`, "expected one unit"},
		{"", `    - {name: any, instrument: {name: pain-score, score: vas, scale: nrs}}`, `"vas" is a score of the pain scale vas, expected one scale for a variable`},
		{"", `    - {name: any, instrument: {name: oxford-foot-score, form: parent, domain: footwear, items: [q1]}}`, `"q1" belongs to the child form`},
		{"", "    - {name: worse, value: pain >= 30}\n    - {name: bad, value: rating >= 3}\n" + `    - {name: any, value: "worse or bad"}`, ""},
		{"", `    - {name: both, value: "vas - pain"}`, ""},
		{"", `    - {name: both, value: "vas + ox_child"}`, ""},
	} {
		_, err := compileClinic(t, strings.Trim(c.before+scales+c.after, "\n"))
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s%s: %v, want %q", c.before, c.after, err, c.want)
		}
	}
}

// Every instrument that a plan can name has its sources and rights.
func TestEveryInstrumentIsKnown(t *testing.T) {
	for _, k := range plan.Instruments() {
		if instrument.Find(k.Name).Rights == "" || !strings.HasSuffix(k.Doc, ".") || k.New().Common() == nil {
			t.Errorf("%+v", k)
		}
	}
	if len(plan.Instruments()) != len(instrument.List()) {
		t.Errorf("%d instruments of the plan, %d known", len(plan.Instruments()), len(instrument.List()))
	}
}
