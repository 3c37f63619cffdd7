package run

import (
	"math"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

const painBook = `
name: visits
resources:
  - name: visits
    path: data/visits.csv
    schema:
      fields:
        - {name: child, type: string}
        - {name: heel, type: string, missingValues: [""], categories: [left, right]}
        - {name: arm, type: string, title: Treatment, missingValues: [""], categories: [wait, cup, raise]}
        - {name: day, type: integer, missingValues: [""]}
        - {name: planned, type: string, missingValues: [""], categories: [screening, w0, w4, w8], categoriesOrdered: true}
        - name: pain
          type: number
          title: Pain
          missingValues: [{value: "", label: empty cell}, {value: NM, label: not measured}]
          constraints: {minimum: -10, maximum: 100}
          heelcohort: {unit: mm}
        - {name: age, type: number, missingValues: [""]}
        - {name: phone, type: boolean, trueValues: ["yes"], falseValues: ["no"], missingValues: [""]}
`

func painStudy(analysis, rows string) folder {
	return folder{
		"study.yaml":      "title: Visits\ncodebook: codebook.yaml\nanalyses:\n  - " + analysis + "\n",
		"codebook.yaml":   painBook,
		"data/visits.csv": "child,heel,arm,day,planned,pain,age,phone\n" + strings.TrimLeft(rows, "\n"),
	}
}

// Heels over visits, and what becomes of each row: A has two heels, of which
// the right has two visits about four weeks (28 is the target) and the left one
// without a value before one with; B has a visit outside the windows; C no
// baseline; D a baseline without a value; E no group; F two groups; G no day,
// no heel; H is not of those that count.
const painRows = `
A,right,wait,0,w0,60,9,no
A,right,wait,25,w4,50,9,no
A,right,wait,30,w4,30,9,no
A,right,wait,56,w8,10,9,no
A,left,wait,0,w0,40,9,no
A,left,wait,28,w4,NM,9,no
A,left,wait,34,w4,40,9,no
B,left,cup,2,w0,50,10,no
B,left,cup,10,,20,10,no
B,left,cup,27,w4,35,10,no
B,left,cup,29,w4,45,10,no
C,left,cup,28,w4,10,11,no
D,left,cup,-3,w0,NM,12,no
D,left,cup,28,w4,20,12,no
D,left,cup,57,w8,,12,no
E,left,,0,w0,50,9,no
F,left,wait,0,w0,50,9,no
F,left,cup,28,w4,40,9,no
G,left,cup,,w0,50,9,no
G,,cup,0,w0,50,9,no
H,left,cup,0,w0,50,9,yes
H,left,cup,0,w0,50,9,
I,right,cup,0,w0,80,8,no
I,right,cup,28,w4,50,8,no
I,right,cup,60,w8,30,8,no
`

const painPlan = `{id: p, kind: change, table: visits, value: pain, subject: [child, heel], cluster: child, among: "not phone", day: day,
    windows: [{label: start, from: -7, to: 7, target: 0}, {label: 4 weeks, from: 14, to: 42}, {label: 8 weeks, from: 49, to: 63}],
    baseline: start, by: arm, reference: wait, threshold: {change: 20, direction: lower, at: [28]}}`

// TestChangeByHand holds means, missing values, changes, shares and times
// against the fixture worked out by hand.
func TestChangeByHand(t *testing.T) {
	res := painStudy(painPlan, painRows).compute(t)
	for what, want := range map[string]float64{
		"visits: not among those that count":                               1,
		"visits: not decided whether among those that count":               1,
		"visits: the subject is missing":                                   1,
		"visits: the day is missing":                                       1,
		"subjects: Treatment missing":                                      1,
		"visits: of subjects whose Treatment is missing":                   1,
		"subjects: Treatment differs between the visits":                   1,
		"visits: of subjects whose Treatment differs between the visits":   2,
		"visits: outside every window: in the time to the threshold alone": 1,
		// A right's day 25 against 30, A left's without a value, B's 29 against 27,
		// as near and later.
		"visits: another of the same visit has a value or is nearer its target: in the time to the threshold alone": 3,
		"subjects: no value at the baseline: in the means, not in change":                                           2,
	} {
		thing, reason, _ := strings.Cut(what, ": ")
		if got := removedUnder(res, thing, reason); got != want {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	value := func(id string, want float64) result.Row {
		t.Helper()
		r := row(t, res, id)
		near(t, id, r.Estimate, want)
		return r
	}
	value("p/size/subjects", 6)
	value("p/size/arm=cup/subjects", 4)
	value("p/visits/visit=4 weeks/median day", 28)
	// Four weeks: 30 and 40 of the heels of A, 35 of B, 10, 20 and 50 of C, D and I.
	value("p/values/visit=4 weeks/pain/mean", 185.0/6)
	value("p/values/arm=cup,visit=4 weeks/pain/mean", 115.0/4)
	value("p/missing/arm=cup,visit=start/pain:NM/count", 1)
	value("p/missing/arm=cup,visit=start/pain/no visit", 1)
	value("p/missing/arm=cup,visit=8 weeks/pain/no visit", 2)
	value("p/missing/visit=8 weeks/pain/count", 1) // the empty cell of D
	// Changes: A −30 and 0, B −15, I −30. By child the deviations from −18.75 add
	// up to 7.5, 3.75 and −11.25, and SE² = 3/2 (7.5² + 3.75² + 11.25²)/16.
	r := value("p/change/visit=4 weeks/pain/mean change", -18.75)
	near(t, "error of the change", r.SE, math.Sqrt(1.5*(7.5*7.5+3.75*3.75+11.25*11.25)/16))
	near(t, "changes", r.N, 4)
	value("p/change/arm=wait,visit=4 weeks/pain/mean change", -15)
	value("p/change/visit=4 weeks/pain/standard deviation of the change", math.Sqrt((11.25*11.25+18.75*18.75+3.75*3.75+11.25*11.25)/3))
	// Two of four fell by 20 at four weeks, both that were seen at eight.
	value("p/reached/visit=4 weeks/pain/proportion", 0.5)
	value("p/reached/arm=wait,visit=4 weeks/pain/proportion", 0.5)
	r = value("p/reached/arm=cup,visit=4 weeks/pain:vs wait/risk difference", 0)
	near(t, "rows of the difference", r.N, 4)
	r = value("p/reached/visit=8 weeks/pain/proportion", 1)
	near(t, "events", r.Events, 2)
	// Times: A right in (25, 30], A left not by 34, B in (0, 8], I in (0, 28].
	r = value("p/time/subjects", 4)
	near(t, "reached", r.Events, 3)
	near(t, "not reached", r.Censored, 1)
	// On the day of the visit: events at 8, 28 and 30 of 4, 3 and 2 heels.
	value("p/interval/:on the day of the visit/survival@8", 0.75)
	value("p/interval/:on the day of the visit/survival@28", 0.5)
	value("p/interval/:on the day of the visit/survival@30", 0.25)
	value("p/interval quantile/:on the day of the visit/median time", 28)
	if r := row(t, res, "p/interval quantile/arm=raise/:interval-censored/median time"); r.Reason == "" {
		t.Error("a group without subjects has no reason")
	}
	if r := row(t, res, "p/values/arm=raise,visit=start/pain/mean"); r.Reason == "" || r.Estimate.Present() {
		t.Errorf("a group without subjects: %+v", r)
	}
	warned := strings.Join(res.Analyses[0].Warnings, "\n")
	for _, words := range []string{"no value at the baseline", "completely at random", "different Treatment"} {
		if !strings.Contains(warned, words) {
			t.Errorf("no warning says %q:\n%s", words, warned)
		}
	}
	// Nothing is lost: every row was taken or is accounted for.
	taken := 0.0
	for _, v := range []string{"start", "4 weeks", "8 weeks"} {
		for _, r := range res.Rows {
			if r.Analysis == "p" && len(r.Groups) == 1 && r.Groups[0].Level == v && (r.Measure == "mean" || r.Measure == "count") {
				if r.Measure == "count" {
					taken += float64(r.Estimate)
				} else {
					taken += float64(r.N)
				}
			}
		}
	}
	if removed, read := removedUnder(res, "visits", ""), float64(strings.Count(painRows, "\n")-1); taken+removed != read {
		t.Errorf("%v visits taken and %v removed, read %v", taken, removed, read)
	}
}

// modelRows are six children in each of two arms, one or two heels, two visits
// after the baseline, with gaps.
func modelRows() (rows string, x [][]float64, y []float64, child []int) {
	var b strings.Builder
	for c := range 14 {
		cup := float64(c % 2)
		age := float64(8 + c*5%7)
		for h := range 1 + c%3/2 {
			base := float64(40 + c*13%29 + 3*h)
			line := func(day int, pain string) {
				b.WriteString(strings.Join([]string{string(rune('a' + c)), []string{"left", "right"}[h], []string{"wait", "cup"}[c%2], digits(float64(day)), "", pain, digits(age), "no"}, ",") + "\n")
			}
			line(0, digits(base))
			for v, day := range []int{28, 56} {
				if (c*7+h*3+v*5)%11 == 0 {
					line(day, "NM")
					continue
				}
				pain := base - 10 - 6*cup*float64(v) - float64(c*31%17) + float64(4*v*h)
				line(day, digits(pain))
				x = append(x, []float64{cup, float64(v), base, age, cup * float64(v)})
				y, child = append(y, pain), append(child, c)
			}
		}
	}
	return b.String(), x, y, child
}

// TestChangeModel holds the model against one whose rows are laid out here, and
// what is made of it against other combinations of its coefficients.
func TestChangeModel(t *testing.T) {
	rows, x, y, child := modelRows()
	for _, with := range []struct {
		plan string
		opts stats.GEEOptions
	}{
		{"", stats.GEEOptions{}},
		{", model: {working: independence, errors: bias-reduced, limits: clusters}", stats.GEEOptions{Correlation: stats.Independence, BiasReduced: true, StudentT: true}},
	} {
		res := painStudy(strings.TrimSuffix(strings.Split(painPlan, ", threshold")[0], "}")+", adjust: age"+with.plan+"}", rows).compute(t)
		with.opts.Family, with.opts.Cluster = stats.GEEGaussian, child
		f, err := stats.FitGEE(x, []string{"cup", "late", "base", "age", "cup late"}, y, nil, with.opts)
		if err != nil {
			t.Fatal(err)
		}
		for k, id := range []string{"arm:cup", "visit:8 weeks", "baseline", "age", "arm × visit:cup × 8 weeks"} {
			r := row(t, res, "p/model/"+id+"/coefficient")
			want := f.Coefficient(k+1, 0)
			near(t, id, r.Estimate, want.Value)
			near(t, id+" lower", r.Lower, want.Lower)
			near(t, id+" P", r.P, want.P)
		}
		first := row(t, res, "p/differences/arm=cup,visit=4 weeks/pain:vs wait/difference of change")
		near(t, "first difference", first.Estimate, f.Coefficients[1])
		near(t, "its limit", first.Upper, f.Coefficient(1, 0).Upper)
		last := row(t, res, "p/differences/arm=cup,visit=8 weeks/pain:vs wait/difference of change")
		near(t, "last difference", last.Estimate, f.Coefficients[1]+f.Coefficients[5])
		near(t, "its error", last.SE, math.Sqrt(f.Covariance[1][1]+f.Covariance[5][5]+2*f.Covariance[1][5]))
		near(t, "interaction", row(t, res, "p/model/test of group by visit").P, f.JointTest("", []int{5}).P)
		near(t, "clusters", row(t, res, "p/model size/clusters").Estimate, 14)
		// The groups are as far apart as the difference says, and not by chance of
		// how the means were made: those are at the mean of all subjects.
		cup := row(t, res, "p/adjusted/arm=cup,visit=8 weeks/pain/adjusted mean change")
		wait := row(t, res, "p/adjusted/arm=wait,visit=8 weeks/pain/adjusted mean change")
		near(t, "difference of means", cup.Estimate-wait.Estimate, float64(last.Estimate))
		if cup.P.Present() || !cup.Lower.Present() {
			t.Errorf("adjusted mean %+v", cup)
		}
	}
}

// A value is the same change by any baseline that is added to both, so that the
// model's differences are those of a model of the change itself.
func TestChangeModelIsOfChange(t *testing.T) {
	rows, x, y, child := modelRows()
	res := painStudy(strings.Split(painPlan, ", threshold")[0]+"}", rows).compute(t)
	change := make([]float64, len(y))
	for i := range y {
		change[i] = y[i] - x[i][2]
		x[i] = []float64{x[i][0], x[i][1], x[i][2], x[i][4]}
	}
	f, err := stats.FitGEE(x, []string{"cup", "late", "base", "cup late"}, change, nil, stats.GEEOptions{Family: stats.GEEGaussian, Cluster: child})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", row(t, res, "p/differences/arm=cup,visit=4 weeks/pain:vs wait/difference of change").Estimate, f.Coefficients[1])
	at := 0.0 // mean baseline of the subjects in the model: every one has a value there
	seen := map[float64]bool{}
	for i := range x {
		if key := x[i][2]*100 + float64(child[i]); !seen[key] {
			seen[key] = true
			at += x[i][2]
		}
	}
	at /= float64(len(seen))
	near(t, "mean change of those that wait", row(t, res, "p/adjusted/arm=wait,visit=4 weeks/pain/adjusted mean change").Estimate, f.Coefficients[0]+f.Coefficients[3]*at)
}

// A baseline below 5 has no room for a fall of 15 on a scale that begins at −10,
// and 90 none for a rise; no baseline is below what the percents need.
func TestChangeEndOfScale(t *testing.T) {
	rows := "A,left,wait,0,w0,4,9,no\nA,left,wait,28,w4,-10,9,no\nB,left,cup,0,w0,5,9,no\nC,left,cup,0,w0,90,9,no\n"
	plan := strings.Split(painPlan, ", threshold")[0] + ", threshold: {replicates: 100, "
	for with, want := range map[string]string{
		"change: 15, direction: lower}}":  "1 subjects have a baseline from which the scale, which ends at -10, has no room",
		"change: 15, direction: higher}}": "1 subjects have a baseline from which the scale, which ends at 100, has no room",
		"percent: 50, direction: lower}}": "",
		"value: 0, direction: lower}}":    "",
	} {
		warned := strings.Join(painStudy(plan+with, rows).compute(t).Analyses[0].Warnings, "\n")
		if want == "" && strings.Contains(warned, "no room") || !strings.Contains(warned, want) {
			t.Errorf("%s: %s", with, warned)
		}
	}
}

// A curve goes on to the last visit; where it falls to 0 only because nobody
// was followed beyond without the event, that is said.
func TestIntervalCurveEnds(t *testing.T) {
	const head = "A,left,wait,0,w0,60,9,no\nA,left,wait,28,w4,30,9,no\nB,left,wait,0,w0,60,9,no\nB,left,wait,56,w8,55,9,no\nC,left,wait,0,w0,60,9,no\nC,left,wait,20,w4,59,9,no\n"
	res := painStudy(painPlan, head).compute(t)
	near(t, "the end", row(t, res, "p/interval/:interval-censored/survival@56").Estimate, float64(row(t, res, "p/interval/:interval-censored/survival@28").Estimate))
	const late = "D,left,wait,0,w0,60,9,no\nD,left,wait,57,w8,58,9,no\nD,left,wait,63,w8,10,9,no\n"
	res = painStudy(painPlan, head+late).compute(t)
	if w := strings.Join(res.Analyses[0].Warnings, " "); !strings.Contains(w, "falls to 0 between 57 and 63, since nobody was seen without the event after that; 2 rows") {
		t.Errorf("%s", w)
	}
}

// A baseline outside the visits: five times the age, on the day that is the age
// less ten. A changes from 45 to 30 (its day 28 is nearer than 20), B from 50 to
// 41 and 20, C has none, D two, and E a visit on the very day.
func TestChangeBaselineOutside(t *testing.T) {
	rows := "A,left,wait,20,,12,9,no\nA,left,wait,28,,30,9,no\nB,left,wait,28,,41,10,no\nB,left,wait,56,,20,10,no\n" +
		"C,left,wait,28,,50,,no\nD,left,wait,28,,50,9,no\nD,left,wait,56,,50,8,no\nE,left,wait,14,,10,24,no\nE,left,wait,60,,90,24,no\n"
	plan := strings.Replace(painPlan, "{label: start, from: -7, to: 7, target: 0}, ", "", 1)
	plan = strings.Replace(plan, "baseline: start, by: arm, reference: wait", "baseline: {value: age * 5, day: age - 10, label: onset}", 1)
	plan = strings.Replace(plan, "[28]", "[28], replicates: 100", 1)
	res := painStudy(plan, rows).compute(t)
	for id, want := range map[string]float64{
		"p/size/subjects":                                 4,
		"p/values/visit=onset/pain/mean":                  (45 + 50 + 120) / 3.0,
		"p/visits/visit=onset/median day":                 0, // −1, 0 and 14
		"p/missing/visit=onset/pain/count":                1,
		"p/missing/visit=onset/pain/no visit":             0,
		"p/missing/visit=4 weeks/pain/no visit":           1, // E's is on the day of the baseline
		"p/change/visit=4 weeks/pain/mean change":         -12,
		"p/change/visit=8 weeks/pain/mean change":         -30,
		"p/reached/visit=8 weeks/pain/proportion":         1,
		"p/time/subjects":                                 3,
		"p/interval/:on the day of the visit/survival@21": 2.0 / 3, // A, from day −1 to 20
		"p/interval/:on the day of the visit/survival@56": 0,
	} {
		near(t, id, row(t, res, id).Estimate, want)
	}
	if got := removedUnder(res, "subjects", "the baseline differs between the visits"); got != 1 {
		t.Errorf("%v subjects with two baselines", got)
	}
	if got := removedUnder(res, "visits", "planned after the baseline, but not after its day"); got != 1 {
		t.Errorf("%v visits on the day of the baseline", got)
	}
}
