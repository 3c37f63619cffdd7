package run

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"heelcohort/cmd/heelcohort/internal/result"
	"heelcohort/stats"
)

const ratedBook = `
name: rated
resources:
  - name: children
    path: data/children.csv
    schema:
      primaryKey: id
      missingValues:
        - ""
        - {value: NM, label: not measured}
        - {value: RF, label: refused}
      fields:
        - {name: id, type: string}
        - {name: band, type: string, title: Band, categories: [low, middle, high], categoriesOrdered: true}
        - {name: band_second, type: string, title: Second band, categories: [low, middle, high], categoriesOrdered: true}
        - {name: band_third, type: string, title: Third band, categories: [low, middle, high], categoriesOrdered: true}
        - {name: loose, type: string, title: Loose, categories: [a, b]}
        - {name: total, type: number, title: Total, heelcohort: {unit: points}}
        - {name: total_second, type: number, title: Second total, heelcohort: {unit: points}}
        - {name: school, type: string}
        - {name: club, type: string}
  - name: views
    path: data/views.csv
    schema:
      missingValues:
        - ""
        - {value: NM, label: not measured}
      foreignKeys: [{fields: child, reference: {resource: children, fields: id}}]
      fields:
        - {name: child, type: string}
        - {name: heel, type: string, categories: [left, right]}
        - {name: rater, type: string}
        - {name: band, type: string, title: Band, categories: [low, high]}
        - {name: total, type: number}
`

const ratedChildren = `
a,low,low,low,a,1,3,k,x
b,low,low,middle,a,3,5,k,x
c,middle,middle,middle,b,5,6,k,x
d,middle,high,middle,b,7,10,l,x
e,high,high,high,b,NM,4,l,x
f,high,middle,high,b,6,RF,l,x
g,NM,low,low,a,,,m,x
h,low,low,low,a,,,m,x
`

const ratedViews = `
a,left,P,low,1
a,left,Q,low,2
a,right,Q,high,5
a,right,P,high,4
b,left,P,low,3
b,left,Q,high,3
b,right,P,high,8
c,left,P,low,2
c,left,P,low,3
c,left,Q,low,2
c,right,P,NM,7
c,right,Q,low,6
,left,P,low,2
d,left,,low,2
`

func ratedStudy(analysis, children, views string) folder {
	return folder{
		"study.yaml":        "title: Rated\ncodebook: codebook.yaml\nanalyses:\n  - " + analysis + "\n",
		"codebook.yaml":     ratedBook,
		"data/children.csv": "id,band,band_second,band_third,loose,total,total_second,school,club\n" + strings.TrimLeft(children, "\n"),
		"data/views.csv":    "child,heel,rater,band,total\n" + strings.TrimLeft(views, "\n"),
	}
}

// TestAgreementOfBands is worked by hand: seven children have both bands; the
// table is 3 0 0 / 0 1 1 / 0 1 1. po = 5/7, pe = (9+4+4)/49 = 17/49, kappa
// (35−17)/(49−17) = 9/16. With linear weights the two that differ by one step
// are half agreements: disagreement 1/7 of 2·(3·2/2+3·2+2·2/2)/49 = 22/49, so
// kappa 1 − (1/7)/(22/49) = 15/22.
func TestAgreementOfBands(t *testing.T) {
	for words, want := range map[string]float64{"": 9.0 / 16, ", weights: unweighted": 9.0 / 16, ", weights: linear": 15.0 / 22} {
		res := ratedStudy("{id: k, kind: agreement, ratings: [band, band_second]"+words+"}", ratedChildren, ratedViews).compute(t)
		r := row(t, res, "k/kappa/:band and band_second/kappa")
		near(t, "kappa"+words, r.Estimate, want)
		near(t, "n", r.N, 7)
		if !r.P.Present() || !r.Lower.Present() {
			t.Errorf("kappa has no P or limits: %+v", r)
		}
	}
	res := ratedStudy("{id: k, kind: agreement, ratings: [band, band_second]}", ratedChildren, ratedViews).compute(t)
	for id, want := range map[string]float64{
		"k/size/subjects": 7,
		"k/size/raters":   2,
		"k/agreement/:band and band_second/proportion of agreement":      5.0 / 7,
		"k/agreement/band=low/:band and band_second/specific agreement":  1,
		"k/agreement/band=high/:band and band_second/specific agreement": 2.0 / 4,
		"k/kappa/:band and band_second/agreement by chance":              17.0 / 49,
		"k/kappa/:band and band_second/largest kappa":                    1,
		"k/table/first=middle,second=high/:band and band_second/count":   1,
		"k/table/first=low,second=high/:band and band_second/count":      0,
		"k/missing/band:NM/count":                                        1,
	} {
		near(t, id, row(t, res, id).Estimate, want)
	}
	if removedUnder(res, "subjects", "a rating is missing") != 1 {
		t.Errorf("accounting %+v", res.Analyses[0].Accounting)
	}
	if len(res.Analyses[0].Figures) != 0 || !strings.Contains(res.Analyses[0].Methods, "Cohen's kappa") {
		t.Errorf("figures %v, methods %s", res.Analyses[0].Figures, res.Analyses[0].Methods)
	}
}

// Three raters: kappa over all, and of each two.
func TestAgreementOfThree(t *testing.T) {
	res := ratedStudy("{id: k, kind: agreement, ratings: [band, band_second, band_third]}", ratedChildren, ratedViews).compute(t)
	counts := [][]int{{3, 0, 0}, {2, 1, 0}, {0, 3, 0}, {0, 2, 1}, {0, 0, 3}, {0, 1, 2}, {3, 0, 0}}
	want, err := stats.FleissKappa(counts, stats.LimitOptions{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "kappa of three", row(t, res, "k/all raters/kappa").Estimate, want.Estimate.Value)
	r := row(t, res, "k/all raters/band=high/kappa")
	near(t, "kappa of high", r.Estimate, want.Category[2].Value)
	if r.Lower.Present() || !r.P.Present() {
		t.Errorf("kappa of a category: %+v", r)
	}
	row(t, res, "k/kappa/:band_second and band_third/kappa")
}

// TestAgreementOfTotals: the four children with both totals are those worked
// out by hand in package stats: consistency 22/23, agreement 88/115.
func TestAgreementOfTotals(t *testing.T) {
	for model, want := range map[string]float64{"one-way": 51.0 / 69, "two-way-agreement": 44.0 / 3 / (46.0/3 + 23.0/6), "two-way-consistency": 22.0 / 23} {
		res := ratedStudy("{id: i, kind: agreement, ratings: [total, total_second], model: "+model+"}", ratedChildren, ratedViews).compute(t)
		r := row(t, res, "i/correlation/:one rating/intraclass correlation")
		near(t, model, r.Estimate, want)
		near(t, "n", r.N, 4)
		near(t, "of the mean", row(t, res, "i/correlation/:mean of 2 raters/intraclass correlation").Estimate, 2*want/(1+want))
		d := row(t, res, "i/differences/:total and total_second/mean difference")
		near(t, "bias", d.Estimate, -2)
		if d.Unit != "points" {
			t.Errorf("unit %q", d.Unit)
		}
		// Differences −2, −2, −1, −3 have the variance 2/3.
		near(t, "limit", row(t, res, "i/differences/:total and total_second/upper limit of agreement").Estimate, -2+1.959963984540054*math.Sqrt(2.0/3))
		near(t, "missing", row(t, res, "i/missing/total_second:RF/count").Estimate, 1)
		// No cell holds five pairs, and no row a pair.
		near(t, "hidden", row(t, res, "i/cells/pairs in cells of few").Estimate, 4)
		for _, r := range res.Rows {
			if r.Part == "points" || r.Part == "cells" && r.Measure == "pairs" {
				t.Errorf("row %s", r.ID)
			}
		}
	}
	res := ratedStudy("{id: i, kind: agreement, ratings: [total, total_second], model: one-way, points: true}", ratedChildren, ratedViews).compute(t)
	r := row(t, res, "i/points/:pair 2/difference@4")
	near(t, "difference", r.Estimate, -2)
	if f := res.Analyses[0].Figures; len(f) != 1 || f[0] != "i" {
		t.Errorf("figures %v", f)
	}
}

// Of ratings in rows of their own only heel a left, a right and b left enter.
func TestAgreementOfRows(t *testing.T) {
	const long = "{id: v, kind: agreement, table: views, raters: {variable: rater, subject: [child, heel], value: band}"
	res := ratedStudy(long+"}", ratedChildren, ratedViews).compute(t)
	near(t, "subjects", row(t, res, "v/size/subjects").Estimate, 3)
	near(t, "agreement", row(t, res, "v/agreement/:P and Q/proportion of agreement").Estimate, 2.0/3)
	near(t, "missing", row(t, res, "v/missing/rater=P/band:NM/count").Estimate, 1)
	for reason, want := range map[string]float64{
		"rated more than once by one rater": 1, "not rated by every rater": 1, "a rating is missing": 1,
	} {
		if got := removedUnder(res, "subjects", reason); got != want {
			t.Errorf("%s: %v, want %v", reason, got, want)
		}
	}
	if got := removedUnder(res, "rows", "the rater or the subject is missing"); got != 2 {
		t.Errorf("%v rows without rater or subject, want 2", got)
	}
	warned := func(res *result.Results) bool {
		return strings.Contains(strings.Join(res.Analyses[0].Warnings, " "), "are of one child")
	}
	if !warned(res) {
		t.Errorf("warnings %v", res.Analyses[0].Warnings)
	}
	res = ratedStudy(long+", cluster: child, replicates: 100, seed: 3}", ratedChildren, ratedViews).compute(t)
	r := row(t, res, "v/kappa/:P and Q/kappa")
	if r.P.Present() || warned(res) {
		t.Errorf("with a cluster kappa has a P, or there is a warning: %+v", r)
	}
	if a := row(t, res, "v/agreement/:P and Q/proportion of agreement"); a.Lower.Present() || a.Reason != "" {
		t.Errorf("with a cluster agreement has limits: %+v", a)
	}
	if text := res.Settings[len(res.Settings)-1]; !strings.Contains(text.Value, "bootstrap") {
		t.Errorf("randomness: %+v", text)
	}
}

// A subject whose ratings are of two clusters does not enter.
func TestAgreementTorn(t *testing.T) {
	res := ratedStudy("{id: v, kind: agreement, table: views, raters: {variable: rater, subject: child, value: total}, model: one-way, cluster: heel, replicates: 100}", ratedChildren, `
a,left,P,low,1
a,right,Q,low,2
b,left,P,low,1
b,left,Q,low,2
c,right,P,low,1
c,right,Q,low,4
`).compute(t)
	near(t, "subjects", row(t, res, "v/size/subjects").Estimate, 2)
	if got := removedUnder(res, "subjects", "its ratings are of two clusters"); got != 1 {
		t.Errorf("%v subjects of two clusters, want 1", got)
	}
}

// Two heels a child: the limits are those of the bootstrap of package stats.
func TestAgreementByCluster(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 5))
	var children, views strings.Builder
	var first, second []float64
	var cluster []int
	for i := range 40 {
		id := "c" + digits(float64(i))
		children.WriteString(id + ",low,low,low,a,1,1,k,x\n")
		truth := math.Round(10 * r.NormFloat64())
		for _, heel := range []string{"left", "right"} {
			a, b := truth+math.Round(3*r.NormFloat64()), truth+math.Round(3*r.NormFloat64())
			views.WriteString(id + "," + heel + ",P,low," + digits(a) + "\n" + id + "," + heel + ",Q,low," + digits(b) + "\n")
			first, second, cluster = append(first, a), append(second, b), append(cluster, i)
		}
	}
	res := ratedStudy("{id: v, kind: agreement, table: views, raters: {variable: rater, subject: [child, heel], value: total}, model: two-way-agreement, cluster: child, seed: 7, replicates: 200, few: 2}",
		children.String(), views.String()).compute(t)
	boot := stats.BootstrapOptions{Replicates: 200, Seed: 7}
	d, err := stats.BlandAltmanRepeated(first, second, cluster, stats.BlandAltmanOptions{}, boot)
	if err != nil {
		t.Fatal(err)
	}
	lower := row(t, res, "v/differences/:P and Q/lower limit of agreement")
	near(t, "lower limit", lower.Estimate, d.Lower)
	near(t, "its lower limit", lower.Lower, d.LowerLimits.Lower)
	var ratings [][]float64
	for i := range first {
		ratings = append(ratings, []float64{first[i], second[i]})
	}
	b, err := stats.ICCBootstrap(ratings, cluster, stats.TwoWayAgreement, false, boot)
	if err != nil {
		t.Fatal(err)
	}
	c := row(t, res, "v/correlation/:one rating/intraclass correlation")
	near(t, "correlation", c.Lower, b.Lower)
	if c.P.Present() || res.Analyses[0].Figures == nil {
		t.Errorf("%+v, figures %v", c, res.Analyses[0].Figures)
	}
	// The cells and what they leave out are all pairs.
	sum := 0.0
	for _, r := range res.Rows {
		if r.Part == "cells" {
			sum += float64(r.Estimate)
			if r.Measure == "pairs" && r.Estimate < 2 {
				t.Errorf("a cell of one pair: %s", r.ID)
			}
		}
	}
	near(t, "pairs", result.Number(sum), 80)
}

// What the data do not bear is a row with a reason.
func TestAgreementNotEstimable(t *testing.T) {
	same := "a,low,low,low,a,4,4,k,x\nb,low,low,low,a,4,4,k,x\n"
	for _, c := range []struct{ analysis, children, id, says string }{
		{"ratings: [band, band_second]", same, "k/kappa/:band and band_second/kappa", "chance agreement is complete"},
		{"ratings: [band, band_second]", "a,,,,,,,k,x\n", "k/kappa/:band and band_second/kappa", "no observations"},
		{"ratings: [band, band_second, band_third]", "a,low,high,low,a,4,4,k,x\n", "k/all raters/kappa", "found 1 subjects, expected at least 2"},
		{"ratings: [total, total_second], model: one-way", same, "k/correlation/:one rating/intraclass correlation", "all ratings are 4"},
		{"ratings: [total, total_second], model: one-way", same, "k/differences/:total and total_second/mean difference", "every difference is 0"},
		{"ratings: [total, total_second], model: one-way", "a,,,,,4,4,k,x\n", "k/correlation/:mean of 2 raters/intraclass correlation", "found 1 subjects"},
		{"ratings: [total, total_second], model: one-way, cluster: school, replicates: 100", "a,,,,,4,5,k,x\nb,,,,,4,7,k,x\n", "k/differences/:total and total_second/mean difference", "found 1, expected at least 2"},
	} {
		res := ratedStudy("{id: k, kind: agreement, "+c.analysis+"}", c.children, "").compute(t)
		r := row(t, res, c.id)
		if r.Estimate.Present() || !strings.Contains(r.Reason, c.says) {
			t.Errorf("%s: %s is %v with the reason %q, want %q", c.analysis, c.id, r.Estimate, r.Reason, c.says)
		}
	}
	one := ratedStudy("{id: v, kind: agreement, table: views, raters: {variable: rater, subject: child, value: band}}", ratedChildren, "a,left,P,low,1\n").compute(t)
	if r := row(t, one, "v/kappa/kappa"); !strings.Contains(r.Reason, "1 raters, expected at least two") {
		t.Errorf("one rater: %+v", r)
	}
}

// TestAgreementRefused wants plans that do not fit refused at their place.
func TestAgreementRefused(t *testing.T) {
	const long = "id: x, kind: agreement, table: views, raters: "
	for _, c := range []struct{ analysis, want string }{
		{"¦id: x, kind: agreement", "ratings and raters, or neither"},
		{"id: x, kind: agreement, ratings: [¦band]", "only one variable among ratings"},
		{"id: x, kind: agreement, ratings: [band, ¦band]", `"band" stands twice`},
		{"id: x, kind: agreement, ratings: [band, ¦loose]", "does not have the categories of"},
		{"id: x, kind: agreement, ratings: [band, ¦total]", "does not have the categories of"},
		{"id: x, kind: agreement, ratings: [¦club, school]", "a text without categories"},
		{"id: x, kind: agreement, ratings: [band, ¦band_secnd]", `did you mean "band_second"?`},
		{"¦id: x, kind: agreement, ratings: [total, total_second]", "has no model, expected one-way"},
		{"¦id: x, kind: agreement, ratings: [total, total_second], model: one-way, weights: linear", "has weights, expected them of categories only"},
		{"¦id: x, kind: agreement, ratings: [band, band_second], model: one-way", "expected them of numbers only"},
		{"¦id: x, kind: agreement, ratings: [band, band_second], seed: 3", "without cluster"},
		{"¦id: x, kind: agreement, ratings: [total, total_second], model: one-way, coverage: 95", "has a coverage of 95"},
		{"¦id: x, kind: agreement, ratings: [total, total_second], model: one-way, cluster: school, limits: exact", "limits and cluster"},
		{"id: x, kind: agreement, ratings: [total, total_second], model: ¦oneway", `did you mean "one-way"?`},
		{"¦" + long + "{variable: rater, subject: [child], value: band}, weights: linear", "does not say that the categories of \"band\" are ordered"},
		{long + "{variable: rater, subject: [child, ¦rater], value: band}", `"rater" stands twice`},
		{long + "{variable: rater, subject: [child], value: ¦rater}", `"rater" is the rater and the rating`},
	} {
		study, line, column := unmark(t, "title: Rated\ncodebook: codebook.yaml\nanalyses:\n  - {"+c.analysis+"}\n")
		f := ratedStudy("", "", "")
		f["study.yaml"] = study
		_, err := Read(f.write(t))
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.analysis, err, c.want)
			continue
		}
		if place := "study.yaml:" + digits(float64(line)) + ":"; !strings.Contains(err.Error(), place) {
			t.Errorf("%s: %v, want line %d, column %d", c.analysis, err, line, column)
		}
	}
}
